/**
 * Work offsets that are written, selected and skipped: programs with what the rule says in whole, worked out by hand from the
 * sample fixtures. Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { type Setup, tell } from "../support/tell.js";

const T1 = "tool 1 (end mill 10)";
const T2 = "tool 2 (drill 6.8)";

describe("skip-partial: a selection behind the slash on which later blocks rely", () => {
  const HEAD = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X10 Y10", "G43 H1 Z50", "G1 Z-2 F300", "G0 Z50"];
  const END = ["G28 G91 Z0", "M30"];
  /** Lines from 8 on. */
  const skip = (lines: string[], setup: Setup = {}) => tell("skip-partial", setup, [...HEAD, ...lines, ...END]);
  const said = (mark: string, line: number) => `8 "${mark}" default(G55, ${line}, G54); ${line} related.relies()`;

  it("the cut behind it: on the selection, with the station, and the slash on both blocks as a fix", () => {
    const t = skip(["/ G55 X10 Y10", "G1 Z-2 F300", "G0 Z50"], { use: "two-stations" });
    expect(t.texts).toEqual([`8 "/ G55 X10 Y10" default(G55, 9, G54) at A2; 9 related.relies()`]);
    expect(t.fixes).toEqual([["from 9", "/ G1 Z-2 F300", "/ G0 Z50"]]);
    expect(t.findings[0]?.fixes[0]?.title).toEqual({ key: "fix.skip", args: { first: 9, last: 10, slash: "/" } });
  });
  it("without a sidecar; one block to skip; the slash and its space as they are written", () => {
    const t = skip(["/3G55 X10 Y10", "N70 G1 Z-2 F300", "/3G0 Z50"]);
    expect(t.texts).toEqual([said("/3G55 X10 Y10", 9)]);
    expect(t.fixes).toEqual([["from 9", "/3N70 G1 Z-2 F300"]]);
    expect(t.findings[0]?.fixes[0]?.title).toEqual({ key: "fix.skip-one", args: { first: 9, last: 9, slash: "/3" } });
    expect(skip(["  / G55 X10 Y10", "  G1 Z-2 F300", "/ G0 Z50"]).fixes).toEqual([["from 9", "  / G1 Z-2 F300"]]);
  });
  it("empty lines and comments need no slash; an assignment does", () => {
    const t = skip(["/ G55 X10 Y10", "", "(BORE)", "#1=-2", "G1 Z#1 F300", "G0 Z50"]);
    expect(t.fixes).toEqual([["from 11", "/ #1=-2", "/ G1 Z#1 F300", "/ G0 Z50"]]);
  });
  it("not: no slash, all of the visit, a way straight up, the same offset again, nothing that moves, the way home", () => {
    expect(skip(["G55 X10 Y10", "G1 Z-2 F300", "G0 Z50"]).texts).toEqual([]);
    expect(skip(["/ G55 X10 Y10", "/ G1 Z-2 F300", "/ G0 Z50"]).texts).toEqual([]);
    expect(skip(["/ G55 X10 Y10", "/ G1 Z-2 F300", "G0 Z60"]).texts).toEqual([]);
    expect(skip(["/ G54 X20 Y10", "G1 Z-2 F300", "G0 Z50"]).texts).toEqual([]);
    expect(skip(["/ G55", "G4 P1", "G53 Z0"]).texts).toEqual([]);
    expect(skip(["/ G55", "G56 X10 Y10", "G1 Z-2"]).texts).toEqual([]);
    expect(skip(["/ G55 X10 Y10", "G1 Z-2 F300", "G0 Z50"], { blockSkip: true }).texts).toEqual([]);
  });
  it("a way up that also goes aside, down, or feeds means the station", () => {
    expect(skip(["/ G55", "G0 X11 Z60"]).texts).toEqual([said("/ G55", 9)]);
    expect(skip(["/ G55", "G0 Y11 Z60"]).texts).toEqual([said("/ G55", 9)]);
    expect(skip(["/ G55", "G0 Z49"]).texts).toEqual([said("/ G55", 9)]);
    expect(skip(["/ G55", "G1 Z60 F500"]).texts).toEqual([said("/ G55", 9)]);
  });
  it("each selection by itself, once however often it is passed", () => {
    const t = skip(["/ G55 X10 Y10", "G1 Z-2 F300", "G0 Z50", "/ G56 X10 Y10", "G1 Z-2", "G0 Z50"]);
    expect(t.texts).toEqual([said("/ G55 X10 Y10", 9), `11 "/ G56 X10 Y10" default(G56, 12, G55); 12 related.relies()`]);
    const looped = skip(["#1=0", "WHILE [#1 LT 3] DO1", "G54 X10 Y10", "/ G55", "G1 Z-2 F300", "G0 Z50", "#1=#1+1", "END1"]);
    expect(looped.texts).toEqual([`11 "/ G55" default(G55, 12, G54); 12 related.relies()`]);
    expect(looped.fixes).toEqual([]);
  });
  it("a tool: what its blocks do would be done with the one before", () => {
    const t = skip(["/ T2 M6", "/ S1000 M3", "G54 X20 Y10", "/ G43 H2 Z50", "G1 Z-2 F300", "/ G0 Z50"], { use: "two-stations" });
    expect(t.texts).toEqual([`8 "/ T2 M6" tool(${T2}, 10, ${T1}) at A1; 10 related.relies()`]);
    expect(t.fixes).toEqual([["from 10", "/ G54 X20 Y10", "/ G43 H2 Z50", "/ G1 Z-2 F300"]]);
    expect(skip(["/ T2 M6", "/ S1000 M3", "/ G54 X10 Y10", "/ G43 H2 Z50", "/ G1 Z-2 F300", "/ G0 Z50"]).texts).toEqual([]);
  });
  it("a tool whose last offset the next one goes on under: no fix", () => {
    const tool = ["/ T2 M6", "/ S1000 M3", "G55 X10 Y10", "G43 H2 Z50", "G1 Z-2 F300", "G0 Z50"];
    expect(skip([...tool, "T1 M6", "S4000 M3", "G0 X20 Y10", "G43 H1 Z50", "G1 Z-2 F300", "G0 Z50"]).fixes).toEqual([]);
    expect(skip([...tool, "T1 M6", "S4000 M3", "G0 G54 X20 Y10", "G43 H1 Z50", "G1 Z-2 F300", "G0 Z50"]).fixes).toEqual([
      ["from 10", "/ G55 X10 Y10", "/ G43 H2 Z50", "/ G1 Z-2 F300", "/ G0 Z50"],
    ]);
  });
  it("the work is in a called program: the slash goes on the call", () => {
    const t = skip(["/ G55", "M98 P100", ...END, "O100", "G90 G0 X10 Y10", "G1 Z-2 F300", "G0 Z50", "M99"]);
    expect(t.texts).toEqual([`8 "/ G55" default(G55, 13, G54); 13 related.relies()`]);
    expect(t.fixes).toEqual([["from 9", "/ M98 P100"]]);
    // Skipped where the call is, or within the called program.
    expect(skip(["/ G55", "/ M98 P100", ...END, "O100", "G0 X10 Y10", "G1 Z-2 F300", "M99"]).texts).toEqual([]);
    const inner = ["O100", "/ G55", "G90 G0 X10 Y10", "M98 P200", "M99", "O200", "G1 Z-2 F300", "G0 Z50", "M99"];
    expect(skip(["M98 P100", ...END, ...inner]).fixes).toEqual([["from 13", "/ G90 G0 X10 Y10", "/ M98 P200"]]);
  });
  it("all that a tool does is skipped, but for a way up or a turn: none of them means the tool", () => {
    const tool = ["/ T2 M6", "/ G54 X20 Y10", "/ G43 H2 Z50", "/ G1 Z-2 F300", "/ G0 Z50"];
    expect(skip([...tool, "G0 Z100"], { use: "tombstone" }).texts).toEqual([]);
    expect(skip([...tool, "B180"], { use: "tombstone" }).texts).toEqual([]);
    expect(skip([...tool, "G0 X30"], { use: "tombstone" }).texts).toHaveLength(1);
  });
  it("the slash is on the call that selects: no fix", () => {
    const t = skip(["/ M98 P100", "X20 Y10", "G1 Z-2 F300", "G0 Z50", ...END, "O100", "G55", "M99"]);
    expect(t.texts).toEqual([`15 "G55" default(G55, 9, G54); 9 related.relies(); 8 related.called-from()`]);
    expect(t.fixes).toEqual([]);
  });
  it("the called program selects and the caller moves: no fix", () => {
    const t = skip(["M98 P100", "X20 Y10", "G1 Z-2 F300", "G0 Z50", ...END, "O100", "/ G55", "M99"]);
    expect(t.texts).toEqual([`15 "/ G55" default(G55, 9, G54); 9 related.relies(); 8 related.called-from()`]);
    expect(t.fixes).toEqual([]);
  });
  it("a slash within the block leaves out only what stands behind it", () => {
    expect(skip(["G55 / X10 Y10", "G1 Z-2 F300", "G0 Z50"]).texts).toEqual([]);
    const t = skip(["G0 X10 / G55", "G1 Z-2 F300", "G0 Z50"]);
    expect(t.texts).toEqual([said("G0 X10 / G55", 9)]);
    expect(t.fixes).toEqual([]);
    expect(skip(["T2 M6 / S1000", "G54 X10 Y10", "G43 H2 Z50", "G1 Z-2 F300", "G0 Z50"]).texts).toEqual([]);
  });
  describe("no fix where the blocks leave out more than the visit", () => {
    const VISIT = ["/ G55 X10 Y10", "G1 Z-2 F300"];
    /** Behind the visit the tool goes to A1 again, in words that state motion and feed. */
    const offered = (...lines: string[]) => skip([...VISIT, ...lines, "G0 Z50", "G54 G0 X20", "G1 Z-2 F200", "G0 Z50"]).fixes.length;
    it("offered: nothing else, or what the visit itself takes back", () => {
      expect(offered()).toBe(1);
      expect(offered("G91 G1 X5", "G90")).toBe(1);
      expect(offered("G41 D1 X20", "G40 X10")).toBe(1);
    });
    it.each([
      ["stop", ["M0"]],
      ["optional stop", ["M01"]],
      ["data", ["G10 L2 P1 X0"]],
      ["incremental", ["G91"]],
      ["plane", ["G18"]],
      ["compensation", ["G41 D1 X20"]],
      ["feed per revolution", ["G95 G1 X20 F0.1"]],
      ["return level", ["G98 G81 Z-2 R2 F100", "G80", "G99 G81 Z-2 R2", "G80"]],
      ["local shift", ["G52 X5"]],
      ["G92", ["G92 X5"]],
      ["rotation", ["G68 X0 Y0 R90"]],
      ["scaling", ["G51 X0 Y0 P2"]],
      ["spindle", ["M5"]],
      ["speed", ["S1000"]],
      ["length", ["G43 H2 Z60"]],
      ["length off", ["G49 Z60"]],
      ["next tool", ["T2"]],
      ["label and jump", ["IF [#1 EQ 1] GOTO 5", "N5 X11"]],
    ])("%s", (_, lines) => {
      expect(offered(...lines)).toBe(0);
    });
    it("motion or feed that the next blocks do not say themselves", () => {
      // Before the slash G0 and F300 are in force, behind the visit G1 and F250.
      const behind = (...lines: string[]) => skip(["/ G55 X10 Y10", "G1 Z-2 F250", "G54", ...lines]).fixes.length;
      expect(behind("G0 Z50", "G1 X20 F200")).toBe(1);
      expect(behind("G0 Z50", "G1 X20")).toBe(0);
      expect(behind("G0 Z50")).toBe(1);
      expect(behind("G1 X20 F200")).toBe(1);
      expect(behind("Z50 F200")).toBe(0);
      expect(behind("M9", "Z50 F200")).toBe(0);
      expect(behind("G81 Z-2 R2 F100", "G80")).toBe(1);
      expect(behind()).toBe(1);
    });
    it("another slash, the end of the program, a loop", () => {
      expect(skip(["/2 G55 X10 Y10", "G1 Z-2 F300", "/3 X11", "/2 X12", "G0 Z50"]).fixes).toEqual([]);
      expect(skip(["/2 G55 X10 Y10", "G1 Z-2 F300", "/2 X12", "G0 Z50"]).fixes).toHaveLength(1);
      expect(skip(["/ G55 X10 Y10", "#1=0", "WHILE [#1 LT 2] DO1", "G1 Z-2 F300", "#1=#1+1", "END1", "G0 Z50"]).fixes).toEqual([]);
    });
  });
  it("an index under an offset means the station only where the offset holds the angle", () => {
    const turn = [
      "G21 G17 G40 G49 G80 G90",
      "T1 M6",
      "G0 G54 X10 Y10",
      "G43 H1 Z50",
      "G1 Z-2 F300",
      "G0 Z200",
      "/ G55",
      "G0 B180",
      "G54 B0",
      "M30",
    ];
    expect(tell("skip-partial", { use: "tombstone" }, turn).texts).toEqual([]);
    const inOffset: Setup = {
      use: "tombstone",
      change: (s) => {
        ((s.machine as Record<string, unknown>).rotary as Record<string, unknown>).inOffset = true;
      },
    };
    expect(tell("skip-partial", inOffset, turn).texts).toEqual(['7 "/ G55" default(G55, 8, G54) at R1; 8 related.relies()']);
  });
});
