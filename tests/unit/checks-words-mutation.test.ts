/** How rules call tools, solids, places and points, and which blocks select a work offset: worked by hand. Asked for by mutation testing. */
import { describe, expect, it } from "vitest";
import { createContext } from "../../server/src/engine/checks/context.js";
import { reselect, selections } from "../../server/src/engine/checks/lib/selection.js";
import * as words from "../../server/src/engine/checks/lib/words.js";
import { defineRule, type RuleContext } from "../../server/src/engine/checks/rule.js";
import type { Vec3 } from "../../server/src/engine/geometry/vector.js";
import type { Move } from "../../server/src/engine/machine/move.js";
import { modal, move } from "../support/analysis.js";
import { type Setup, tell } from "../support/tell.js";

const NAN = Number.NaN;

/** What a rule is given for a program. */
function contextOf(setup: Setup, lines: readonly string[]): RuleContext {
  const { run, profile, fixture } = tell("none", setup, lines).analysis;
  const rule = defineRule({ id: "none", level: "error", summary: "", docs: "", messages: {}, check: () => {} });
  const rest = { clearances: undefined, skippedRun: undefined, blockSkip: false, entry: "main", notes: [] } as const;
  return createContext(rule, { run, profile, fixture, ...rest }, { reports: [], notChecked: [] }, () => {});
}

const two: Setup = { use: "two-stations" };
const cx = contextOf(two, ["M30"]);
const bare = contextOf({}, ["M30"]);
const inch = contextOf({ ...two, change: (s) => void Object.assign(s, { units: "inch" }) }, ["M30"]);

describe("words of the shop floor", () => {
  it("a tool: its name where the sidecar has one", () => {
    const nameless = contextOf(
      { ...two, change: (s) => void Object.assign((s.tools as Record<string, object>)["3"] ?? {}, { name: "" }) },
      ["M30"],
    );
    expect([1, 9, 0, NAN].map((t) => words.toolWords(cx, t))).toEqual([
      "tool 1 (end mill 10)",
      "tool 9",
      "the spindle without a tool",
      "the tool in the spindle",
    ]);
    expect([words.toolWords(bare, 1), words.toolWords(nameless, 3)]).toEqual(["tool 1", "tool 3"]);
  });
  it("a solid: of another station with its owner; one of no station by its name alone", () => {
    const jaw = cx.fixture?.stations[1]?.solids.find((s) => s.kind === "moving jaw");
    if (jaw === undefined) throw new Error("the sample has a moving jaw");
    expect([1, 0, -1].map((station) => words.solidWords(cx, jaw, station))).toEqual(["moving jaw", "moving jaw of A2", "moving jaw of A2"]);
    expect(words.solidWords(cx, { ...jaw, name: "tool setter", station: -1 }, 0)).toBe("tool setter");
  });
  it("a place: the station, else the offset", () => {
    const at = (station: number, offset: string) => words.placeWords(cx, move({ station, modal: modal({ offset }) }));
    expect([at(1, "G55"), at(-1, "G57"), at(-1, "P7")]).toEqual(["A2", "G57", "G54.1 P7"]);
  });
  it("a coordinate in the sidecar's units: three decimals of a millimetre, four of an inch", () => {
    const all = [0, 10, -12.3456, 0.0004, -0.0004, NAN];
    expect(all.map((v) => words.coordinate(cx, v))).toEqual(["0", "10", "-12.346", "0", "0", "?"]);
    expect(all.map((v) => words.coordinate(bare, v))).toEqual(["0", "10", "-12.346", "0", "0", "?"]);
    expect([25.4, -12.7, 1, 0.001].map((v) => words.coordinate(inch, v))).toEqual(["1", "-0.5", "0.0394", "0"]);
  });
  it("a point: the coordinates that are known", () => {
    expect(words.pointWords(cx, [1, -2.5, 300])).toBe("X1 Y-2.5 Z300");
    expect(words.pointWords(cx, [NAN, 0, NAN])).toBe("Y0");
    expect(words.pointWords(cx, [NAN, NAN, NAN])).toBe("");
  });
  it("where a move ends: in the part, the axes that it moves; in the machine where the part is not known", () => {
    const to = (change: Partial<Move>) => words.targetWords(cx, move(change));
    const unknown: Vec3 = [NAN, NAN, NAN];
    expect(to({ partFrom: [0, 0, 5], partTo: [0, 20, -3], from: [9, 9, 9], to: [8, 8, 8] })).toBe("Y20 Z-3");
    expect(to({ partFrom: [1, 2, 3], partTo: [1, 2, 3] })).toBe("X1 Y2 Z3");
    expect(to({ partFrom: [1, 2, 3], partTo: [1, 2, 3 + 2e-9] })).toBe("Z3");
    expect(to({ partFrom: unknown, partTo: unknown, from: [0, 0, 0], to: [-7, 0, 0] })).toBe("X-7");
    expect(to({ partFrom: unknown, partTo: [NAN, NAN, 4], from: [0, 0, 0], to: [-7, 0, 0] })).toBe("Z4");
    expect(to({ partFrom: unknown, partTo: [4, 5, NAN] })).toBe("X4 Y5");
  });
  it("a list of one is the one", () => {
    expect([words.listArg(["A1"]), words.listArg(["A1", "A2"]), words.listArg([])]).toEqual(["A1", { list: ["A1", "A2"] }, { list: [] }]);
  });
});

describe("which blocks select a work offset", () => {
  /** Line, register, problem, code, P, and the text that names it. */
  const chosen = (...lines: string[]) => {
    const c = contextOf(two, lines);
    return selections(c).map((s) => {
      const { line, column, endColumn } = s.place.range;
      const mark = lines[line]?.slice(column, endColumn);
      return [s.index, s.key, s.problem, s.codeText, s.p === undefined ? undefined : c.value(s.step, s.p), mark];
    });
  };
  it("the base registers, the additional ones in either form, restated or not", () => {
    expect(chosen("G54 X0", "G0 X1", "G55", "G54.1 P7 X1", "G54P8X1", "G54 P9", "G54", "M30")).toEqual([
      [0, "G54", undefined, "G54", undefined, "G54"],
      [2, "G55", undefined, "G55", undefined, "G55"],
      [3, "P7", undefined, "G54.1", 7, "G54.1 P7"],
      [4, "P8", undefined, "G54", 8, "G54P8"],
      [5, "P9", undefined, "G54", 9, "G54 P9"],
      [6, "G54", undefined, "G54", undefined, "G54"],
    ]);
  });
  it("a P apart or before is the word that tells", () => {
    expect(chosen("G54.1 X1 P7", "P8 G54.1", "G54.1 (A) P9").map((s) => s.slice(1))).toEqual([
      ["P7", undefined, "G54.1", 7, "P7"],
      ["P8", undefined, "G54.1", 8, "P8"],
      ["P9", undefined, "G54.1", 9, "P9"],
    ]);
  });
  it("a P that is another code's", () => {
    expect(chosen("G54 M98 P100", "M30", "O100", "G55 G4 P7", "M99").map((s) => s.slice(1))).toEqual([
      ["G54", undefined, "G54", undefined, "G54"],
      ["G55", undefined, "G55", undefined, "G55"],
    ]);
  });
  it("no P, one out of range, one that is not known, branches that disagree", () => {
    expect(chosen("G54.1 X1", "G54.1 P301", "G54.1 P0", "G54.1 P1.5", "G54.1 P#500", "G#501").map((s) => s.slice(1))).toEqual([
      [undefined, "absent-p", "G54.1", undefined, "G54.1"],
      [undefined, "out-of-range", "G54.1", 301, "G54.1 P301"],
      [undefined, "out-of-range", "G54.1", 0, "G54.1 P0"],
      [undefined, "out-of-range", "G54.1", 1.5, "G54.1 P1.5"],
      [undefined, undefined, "G54.1", NAN, "G54.1 P#500"],
    ]);
    // A selection behind branches that disagree says again which it is.
    expect(chosen("IF [#500 EQ 1] GOTO 10", "G55", "N10 G0 X1", "G54 X2").map((s) => s[1])).toEqual(["G55", "G54"]);
  });
  it("a code that is computed, and codes that are none of offsets", () => {
    expect(chosen("#1=55", "G#1 X1", "G53 X1", "G5.4", "M54", "G540").map((s) => s.slice(0, 4))).toEqual([[1, "G55", undefined, "G55"]]);
  });
  it("asked again, the same answer", () => {
    const c = contextOf(two, ["G54"]);
    expect(selections(c)).toBe(selections(c));
  });
});

describe("another offset in a selection", () => {
  const other = (line: string, key: string, ...before: string[]) => {
    const lines = [...before, line];
    const c = contextOf(two, lines);
    const [selection] = selections(c).slice(-1);
    if (selection === undefined) throw new Error("no selection");
    const changes = reselect(c, selection, key);
    if (changes === undefined) return undefined;
    return [...changes]
      .sort((a, b) => b.place.range.column - a.place.range.column)
      .reduce((text, { place, text: put }) => text.slice(0, place.range.column) + put + text.slice(place.range.endColumn), line);
  };
  it("the program's own spelling of the code stays where another P is all that it takes", () => {
    expect(other("G54 P7 X1", "P12")).toBe("G54 P12 X1");
    expect(other("G0 G54.1 X1 P7", "P12")).toBe("G0 G54.1 X1 P12");
    expect(other("P7 G54.1", "P12")).toBe("P12 G54.1");
  });
  it("from one kind to the other, the P comes and goes", () => {
    expect(other("G0 G55 X1", "G56")).toBe("G0 G56 X1");
    expect(other("G0 G55 X1", "P3")).toBe("G0 G54.1 P3 X1");
    expect(other("G0 G54.1 P7 X1", "G56")).toBe("G0 G56 X1");
    expect(other("G0 G54.1 X1 P7", "G56")).toBe("G0 G56 X1 ");
    expect(other("G54.1 P301 X1", "P3")).toBe("G54.1 P3 X1");
    expect(other("G54.1 X1", "P3")).toBe("G54.1 P3 X1");
  });
  it("not where the block computes it", () => {
    expect(other("G#1", "G56", "#1=55")).toBeUndefined();
    expect(other("G54.1 P#1", "P9", "#1=5")).toBeUndefined();
  });
});
