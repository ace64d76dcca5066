/**
 * Programs that leave other modes than they met: what sub-leaves-state says of them, worked out by hand. The modes are those of
 * ISO 6983-1 as RS274/NGC groups them (NISTIR 6556, table 4, modal groups; from memory). Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { tell } from "../support/tell.js";

// Head 1 to 5, the call 6, then what the caller goes on with, M30, and the program.
const HEAD = ["G21 G17 G40 G49 G80 G90 G94 G98", "T1 M6", "S4000 M3", "G0 G54 X0 Y0", "G43 H1 Z50"];
const left = (on: string[], ...sub: string[]) => {
  const t = tell("sub-leaves-state", { use: "two-stations" }, [...HEAD, "M98 P100", ...on, "M30", "O100", ...sub]);
  return [...t.texts.map((x) => x.split(";")[0]), ...t.fixes.map((f) => f.join(" "))];
};

describe("what relies on a mode", () => {
  it("the return level: a cycle at a new X or Y, none without", () => {
    const level = (block: string) => left(["G81 Z-5 R2 F100", block], "G99", "M99").length;
    expect([level("X9"), level("Y9"), level("Z-6"), level("M8")]).toEqual([2, 2, 0, 0]);
    expect(left(["G0 X9"], "G99", "M99")).toEqual([]);
    // Cycles from G73 to G89, but no G80.
    for (const cycle of ["G73 Q1", "G76 Q1", "G82 P1", "G83 Q1", "G85", "G89"])
      expect(left([`${cycle} X9 Y9 Z-5 R2 F100`], "G99", "M99"), cycle).toHaveLength(2);
  });
  it("the plane: an arc either way round, a cycle, compensation, a rotation", () => {
    for (const block of ["G2 X10 Y10 R9", "G3 X10 Y10 R9", "G81 X9 Z-5 R2", "G73 X9 Z-5 R2 Q1", "G42 D1", "G68 R30 X0 Y0"])
      expect(left(["F300", block], "G18", "M99"), block).toHaveLength(2);
    for (const block of ["G1 X10", "G0 X10", "G80", "M8"]) expect(left(["F300", block], "G18", "M99"), block).toEqual([]);
    // The caller's own arc in force, gone on with in a block without a code.
    expect(left(["X10 Y10 R9"], "G18 G2 X10 Z50 R9 F300", "M99")[0]).toBe('11 "M99" default(O100, G17, G18, 7)');
  });
  it("the motion: axis words, but not those of a home, a shift, a dwell or data", () => {
    for (const block of ["G10 L2 P1 X0", "G92 X0", "G52 X0", "G30 Z0", "G4 X1"])
      expect(left([block], "G1 X5 F300", "M99"), block).toEqual([]);
    for (const block of ["X9", "Y9", "Z9", "G54 X9"]) expect(left([block], "G1 X5 F300", "M99"), block).toHaveLength(2);
  });
  it("a mode in which both are the same to the caller is no other one", () => {
    // G2 cuts as G1 does; after a cycle it is not known which the caller means.
    expect(left(["X9"], "G1 X5 F300", "G0 X0", "M99")).toEqual([]);
    expect(
      tell("sub-leaves-state", { use: "two-stations" }, [
        ...[...HEAD, "G1 X1 F300", "M98 P100", "X9", "M30"],
        ...["O100", "G2 X5 R9", "M99"],
      ]).texts,
    ).toEqual([]);
  });
  it("two thousand blocks behind the return, no further", () => {
    const far = (n: number) => left([...Array.from({ length: n }, () => "M8"), "X9"], "G91", "M99").length;
    expect([far(1999), far(2000)]).toEqual([2, 0]);
  });
});

describe("where a program ends", () => {
  it("units that nothing had stated before are not changed", () => {
    const t = tell("sub-leaves-state", { use: "two-stations" }, ["G90", "M98 P100", "G0 X9", "M30", "O100", "G21", "M99"]);
    expect(t.texts).toEqual([]);
  });
  it("by its label where it is lines of the program itself", () => {
    const t = tell("sub-leaves-state", { use: "two-stations" }, [...HEAD, "M97 P70", "X9", "M30", "N70 G91", "M99"]);
    expect(t.texts.map((x) => x.split(";")[0])).toEqual(['10 "M99" default(N70, G90, G91, 7)']);
  });
  it("without a return, at the end of its lines: on its last block", () => {
    // Lines: call 6, X9 7, M30 8, O100 9.
    expect(left(["X9"], "G91", "M8")).toEqual(['11 "M8" default(O100, G90, G91, 7)']);
    expect(left(["X9"], "G91", "M98 P200", "O200", "M8", "M99")).toEqual(['11 "M98 P200" default(O100, G90, G91, 7)']);
  });
  it("the end of the program in place of a return is another fault", () => {
    expect([left(["X9"], "G91", "M30"), left(["X9"], "G91", "M02")]).toEqual([[], []]);
  });
  it("the first block of the program may be the one that sets it, or the only one", () => {
    expect(left(["X9"], "G91 M99")).toEqual(['10 "M99" default(O100, G90, G91, 7)', "from 10 G91 G90 M99"]);
  });
  it("what it calls and takes back itself is its own affair", () => {
    expect(left(["X9"], "M98 P200", "G90", "M99", "O200", "G91", "M99")).toEqual([]);
    const both = tell("sub-leaves-state", { use: "two-stations" }, [
      ...[...HEAD, "M98 P100", "X9", "M30"],
      ...["O100", "M98 P200", "X5", "M99", "O200", "G91", "M99"],
    ]);
    // O200 leaves it to O100, which relies on it in line 11; that O100 hands it on is the same fault.
    expect(both.texts.map((x) => x.split(";")[0])).toEqual(['15 "M99" default(O200, G90, G91, 11)']);
  });
  it("branches that disagree leave nothing certain", () => {
    expect(left(["X9"], "IF [#500 EQ 1] GOTO 10", "G91", "N10 M8", "M99")).toEqual([]);
  });
});
