/**
 * Work offsets that are written, selected and skipped: programs with what the rule says in whole, worked out by hand from the
 * sample fixtures. Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { samples } from "../../server/src/engine/checks/samples.js";
import { analyseNow } from "../../server/src/engine/program.js";
import { memoryHost } from "../support/cases.js";
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

const HEAD = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X0 Y0", "G43 H1 Z50"];
/** X of A1 to A4, Y and Z of all of them, as samples.ts gives them: X-680 and 150 mm on for each, Y-385, Z-345. */
const X = ["", "X-680.", "X-530.", "X-380.", "X-230."];
const g10 = (p: number, words: string): string => `G10 L2 P${p} ${words}`;
const xyz = (p: number): string => g10(p, `${X[p]} Y-385. Z-345.`);
const xy = (p: number): string => g10(p, `${X[p]} Y-385.`);
const three: Setup = { use: "three-stations" };
const two: Setup = { use: "two-stations" };
const inOffset: Setup = {
  use: "tombstone",
  change: (s) => {
    ((s.machine as Record<string, unknown>).rotary as Record<string, unknown>).inOffset = true;
  },
};

describe("offset-missing-axis", () => {
  const missing = (setup: Setup, ...lines: string[]) => {
    const t = tell("offset-missing-axis", setup, ["G21 G90", ...lines, "M30"]);
    return [...t.texts, ...t.fixes.map((f) => f.join(" "))];
  };
  it("an axis that most of the other registers have, on the first block of the register, with the computed value", () => {
    expect(missing(two, xyz(1), xy(2))).toEqual([
      '3 "G10 L2 P2 X-530. Y-385." default(G55, Z) at A2; 2 related.given(G54, Z)',
      "from 3 G10 L2 P2 X-530. Y-385. Z-345.",
    ]);
    expect(missing(three, xy(1), xyz(2), xyz(3))).toEqual([
      '2 "G10 L2 P1 X-680. Y-385." default(G54, Z) at A1; 3 related.given(G55, Z)',
      "from 2 G10 L2 P1 X-680. Y-385. Z-345.",
    ]);
  });
  it("two axes are one finding; a register written in several blocks is looked at as a whole", () => {
    expect(missing(three, xyz(1), g10(2, "X-530."), xyz(3))).toEqual([
      '3 "G10 L2 P2 X-530." default(G55, Y+Z) at A2; 2 related.given(G54, Y+Z)',
      "from 3 G10 L2 P2 X-530. Y-385. Z-345.",
    ]);
    expect(missing(three, xyz(1), g10(2, "X-530."), g10(2, "Y-385."), xyz(3))).toEqual([
      '3 "G10 L2 P2 X-530." default(G55, Z) at A2; 2 related.given(G54, Z)',
      "from 3 G10 L2 P2 X-530. Z-345.",
    ]);
    // One has X and Y, the other X and Z: none gives both that the first lacks.
    expect(missing(three, g10(1, "X-680."), xy(2), g10(3, "X-380. Z-345."))).toEqual([]);
    expect(missing({ use: "four-stations" }, g10(1, "X-680."), xyz(2), xy(3), g10(4, "X-230. Z-345.")).slice(0, 1)).toEqual([
      '2 "G10 L2 P1 X-680." default(G54, Y+Z) at A1; 3 related.given(G55, Y+Z)',
    ]);
  });
  it("behind the last axis of the block, before what follows it; in the units of the program", () => {
    expect(missing(two, xyz(1), "G10 X-530. Y-385. L2 P2 (A2)")[1]).toBe("from 3 G10 X-530. Y-385. Z-345. L2 P2 (A2)");
    // -345 / 25.4 = -13.58268
    expect(missing(two, "G20", g10(1, "X-26.7717 Y-15.1575 Z-13.5827"), g10(2, "X-20.8661 Y-15.1575"))[1]).toBe(
      "from 4 G10 L2 P2 X-20.8661 Y-15.1575 Z-13.5827",
    );
  });
  it("without a sidecar or a station: no value to offer", () => {
    expect(missing({}, xyz(1), xy(2))).toEqual(['3 "G10 L2 P2 X-530. Y-385." default(G55, Z); 2 related.given(G54, Z)']);
    expect(missing(two, xyz(1), xyz(2), g10(5, "X1. Y2."))).toEqual(['4 "G10 L2 P5 X1. Y2." default(G58, Z); 2 related.given(G54, Z)']);
  });
  it("an axis of which the sidecar knows nothing, or a block without any: no value to offer, or no place for it", () => {
    expect(missing(two, g10(1, "X-680. A0."), g10(2, "X-530."))).toEqual([
      '3 "G10 L2 P2 X-530." default(G55, A) at A2; 2 related.given(G54, A)',
    ]);
    expect(missing(two, g10(1, "X-680. Z-345. A0."), g10(2, "X-530."))).toEqual([
      '3 "G10 L2 P2 X-530." default(G55, Z+A) at A2; 2 related.given(G54, Z+A)',
    ]);
    expect(missing(two, xyz(1), "G10 L2 P2")).toEqual(['3 "G10 L2 P2" default(G55, X+Y+Z) at A2; 2 related.given(G54, X+Y+Z)']);
    // Each axis is given by two of three, none of which gives all.
    const rest = [g10(2, "X-530. Y-385."), g10(3, "Y-385. Z-345."), g10(4, "X-230. Z-345.")];
    expect(missing({ use: "four-stations" }, "G10 L2 P1", ...rest)[0]).toBe(
      '2 "G10 L2 P1" default(G54, X+Y+Z) at A1; 3 related.given(G55, X+Y)',
    );
  });
  it("not: all of them or half, one alone, another op, a register of no station that gives more, increments, variables", () => {
    expect(missing(three, xyz(1), xyz(2), xyz(3))).toEqual([]);
    expect(missing(three, xyz(1), xy(2), xy(3))).toEqual([]);
    expect(missing(two, xy(1))).toEqual([]);
    expect(missing({ use: "two-ops" }, xyz(1), xyz(2), g10(3, "X-680. Y-185."), g10(4, "X-530. Y-185."))).toEqual([]);
    expect(missing(two, xy(1), g10(5, "X1. Y2. Z3."))).toEqual([]);
    expect(missing(three, xyz(1), xyz(2), "G91", g10(3, "X1. Y1."), "G90")).toEqual([]);
    expect(missing({}, xy(1), "G10 L2 P9 X1. Y2. Z3.")).toEqual([]);
    expect(missing(two, "#5221=-680", "#5222=-385", "#5223=-345", "#5241=-530")).toEqual([]);
    expect(missing(two, xyz(1), g10(0, "X0 Y0"), "G10 L10 P2 R100", xyz(2))).toEqual([]);
  });
  it("the rotary axis: the face's angle where the offset holds it, else 0", () => {
    // F1 stands on the face at 0°, R1 on the one at 180°.
    const lines = [g10(1, "X1. Y1. Z1. B0."), g10(2, "X1. Y1. Z1.")];
    expect(missing(inOffset, ...lines)[1]).toBe("from 3 G10 L2 P2 X1. Y1. Z1. B180.");
    expect(missing({ use: "tombstone" }, ...lines)[1]).toBe("from 3 G10 L2 P2 X1. Y1. Z1. B0.");
  });
});

describe("offset-value-overwritten", () => {
  /** Trims of G55: what A2 must hold is Z-345.02. The tolerance is 0.02. */
  const written = (...lines: string[]) => {
    const trim = { G55: { X: 0.015, Z: -0.02 } };
    const setup: Setup = { ...two, change: (s) => void Object.assign(s, { offsets: { trim } }) };
    const t = tell("offset-value-overwritten", setup, ["G21 G90", ...lines, "M30"]);
    return [...t.texts.map((x) => x.replace(/; \d+ related.trim\(\)$/, "; trim")), ...t.fixes.map((f) => f.join(" "))];
  };
  it("each axis whose value is the one without its trim", () => {
    expect(written(xyz(1), xyz(2))).toEqual([
      '3 "X-530." default(G55, X, {"mm":0.015}) at A2; trim',
      '3 "Z-345." default(G55, Z, {"mm":-0.02}) at A2; trim',
      "from 3 G10 L2 P2 X-529.985 Y-385. Z-345.",
      "from 3 G10 L2 P2 X-530. Y-385. Z-345.02",
    ]);
  });
  it("nearer to the value without than to the one with it", () => {
    // The middle between them is X-529.9925.
    expect(written(g10(2, "X-529.994"))).toHaveLength(2);
    expect(written(g10(2, "X-529.991"))).toEqual([]);
    expect(written(g10(2, "X-529.985 Z-345.02"))).toEqual([]);
    // Beyond the tolerance it is another fault: 0.025 and more beside.
    expect(written(g10(2, "X-530.01"))).toEqual([]);
    expect(written(g10(2, "X-530.004"))).toHaveLength(2);
  });
  it("the trim is related where the sidecar gives it; the fix changes the motion", () => {
    const trim = { G55: { X: 0.015, Z: -0.02 } };
    const change = (s: Record<string, unknown>) => void Object.assign(s, { offsets: { trim } });
    const t = tell("offset-value-overwritten", { ...two, change }, ["G21 G90", g10(2, "X-530."), "M30"]);
    const sidecar = JSON.parse(samples["two-stations"]?.text ?? "") as Record<string, unknown>;
    change(sidecar);
    const lines = JSON.stringify(sidecar, undefined, 2).split("\n");
    const [place] = t.findings.flatMap((f) => f.related.map((x) => x.place));
    expect(place?.file).toBe("/case/fixture.json");
    expect(lines[place?.range.line ?? 0]).toBe('        "X": 0.015,');
    expect(t.findings[0]?.fixes.map((x) => [x.sameMotion, x.title.args])).toEqual([[false, { word: "X-529.985" }]]);
    expect(t.findings[0]?.data).toEqual({ axis: "X", trim: 0.015 });
  });
  it("a program that states no units has the sidecar's: 0.015 in of trim", () => {
    const change = (s: Record<string, unknown>) => void Object.assign(s, { units: "inch", offsets: { trim: { G55: { X: 0.015 } } } });
    const inch = (x: string) => tell("offset-value-overwritten", { ...two, change }, ["G90", g10(2, x), "M30"]).fixes;
    // The tolerance of 0.02 mm is 0.0008 in: the value without the trim is another fault, offset-value.
    expect(inch("X-530.")).toEqual([]);
    const wide = (s: Record<string, unknown>) => void Object.assign(s, { tolerance: { X: 1 } });
    const both = { ...two, change: (s: Record<string, unknown>) => [change(s), wide(s)] };
    expect(tell("offset-value-overwritten", both as Setup, ["G90", g10(2, "X-530."), "M30"]).fixes).toEqual([
      ["from 2", "G10 L2 P2 X-529.985"],
    ]);
  });
  it("computed or set as a variable: no fix", () => {
    expect(written("#1=-530", g10(2, "X#1"))).toEqual(['3 "X#1" default(G55, X, {"mm":0.015}) at A2; trim']);
    expect(written("#5241=-530.")).toEqual(['2 "#5241=-530." default(G55, X, {"mm":0.015}) at A2; trim']);
  });
  it("in inches", () => {
    // -530 / 25.4 = -20.866142; -529.985 / 25.4 = -20.86555
    expect(written("G20", g10(2, "X-20.866142"))).toEqual([
      '3 "X-20.866142" default(G55, X, {"mm":0.015}) at A2; trim',
      "from 3 G10 L2 P2 X-20.8656",
    ]);
  });
  it("not: no trim, an increment, not known", () => {
    expect(written(xyz(1), g10(2, "Y-385."))).toEqual([]);
    expect(written("G91", g10(2, "X-530."))).toEqual([]);
    expect(written(g10(2, "X#500"))).toEqual([]);
    expect(written(g10(1, "X-530."), "G10 L10 P2 R-530.")).toEqual([]);
  });
});

describe("offset-value", () => {
  const value = (setup: Setup, ...lines: string[]) => tell("offset-value", setup, ["G21 G90", ...lines, "M30"]);
  /** Without the place in the sidecar of the station. */
  const said = (setup: Setup, ...lines: string[]) => {
    const t = value(setup, ...lines);
    return [...t.texts.map((x) => x.replace(/; \d+ related.station\((\w+)\)/, "; station $1")), ...t.fixes.map((f) => f.join(" "))];
  };
  it("one to three axes: the words from the first to the last that is off, each with what it is off by", () => {
    expect(said(two, g10(1, "Y-385. X-681."))).toEqual([
      '2 "X-681." 1 none(A1, G54, X, {"mm":-1}, {"mm":-680}, X) at A1; station A1',
      "from 2 G10 L2 P1 Y-385. X-680.",
    ]);
    expect(said(two, g10(1, "X-681. (A) Z-345. Y-386."))).toEqual([
      '2 "X-681. (A) Z-345. Y-386." 2 none(A1, G54, X, {"mm":-1}, {"mm":-680}, Y, {"mm":-1}, {"mm":-385}, X+Y) at A1; station A1',
      "from 2 G10 L2 P1 X-680. (A) Z-345. Y-385.",
    ]);
    const t = value(two, g10(1, "X-680.5 Y-385.25 Z-346."));
    expect(t.texts[0]).toMatch(/^2 "X-680.5 Y-385.25 Z-346." 3 none\(A1, G54, X, \{"mm":-0.5\}, .*Y, \{"mm":-0.25\}, .*Z, \{"mm":-1\}/);
    expect(t.findings[0]?.data).toEqual({
      offset: "G54",
      reason: "none",
      axes: {
        X: { found: -680.5, computed: -680, difference: -0.5 },
        Y: { found: -385.25, computed: -385, difference: -0.25 },
        Z: { found: -346, computed: -345, difference: -1 },
      },
    });
  });
  it("within the tolerance of 0.02, exactly at it, and beyond", () => {
    expect(said(two, g10(1, "X-680.019"), g10(1, "X-679.98"), g10(1, "X-680.02"))).toEqual([]);
    expect(said(two, g10(1, "X-680.021"))).toHaveLength(2);
    expect(said(two, g10(1, "X-679.979"))).toHaveLength(2);
  });
  it("stations of one base that are off alike are one finding", () => {
    const t = value(two, g10(1, "X-681."), g10(2, "X-531."));
    expect(t.findings).toHaveLength(1);
    expect(t.texts[0]).toContain('; 3 related.same(A2, G55, X, {"mm":-1}, {"mm":-530}, X)');
    expect(value(two, g10(1, "X-681."), g10(2, "X-532.")).findings).toHaveLength(2);
    expect(value(two, g10(1, "X-681."), g10(2, "Y-386.")).findings).toHaveLength(2);
  });
  it("why: one pitch of 50, several, another station's, another's with its distance", () => {
    const why = (...lines: string[]) => value(two, ...lines).findings.map((f) => f.message.key);
    expect(why(g10(1, "X-630."))).toEqual(["1 pitch-x single"]);
    expect(why(g10(1, "X-730."))).toEqual(["1 pitch-x single"]);
    expect(why(g10(1, "X-580."))).toEqual(["1 pitch-x"]);
    expect(why(g10(1, "Y-335."))).toEqual(["1 pitch-y single"]);
    expect(why(g10(1, "Y-285."))).toEqual(["1 pitch-y"]);
    const t = value(two, g10(1, "X-530. Y-385."));
    expect(t.findings[0]?.message).toMatchObject({ key: "1 station-pitch-x", args: { station: "A1", other: "A2", x: 3 } });
  });
  it("computed or not known: no fix; what is not known is listed", () => {
    expect(said(two, "#1=-681", g10(1, "X#1 Y-386."))).toEqual([
      '3 "X#1 Y-386." 2 none(A1, G54, X, {"mm":-1}, {"mm":-680}, Y, {"mm":-1}, {"mm":-385}, X+Y) at A1; station A1',
    ]);
    const t = value(two, g10(1, "X#500 Y-386."));
    expect(t.texts).toHaveLength(1);
    expect(t.fixes).toEqual([["from 2", "G10 L2 P1 X#500 Y-385."]]);
    expect(t.analysis.notChecked).toContainEqual({
      what: { key: "offset-value/what.offset", args: { offset: "G54", line: 2 } },
      why: { key: "offset-value/why.computed", args: {} },
    });
    // Both in one block: the register holds what it must under the shift beside it.
    expect(said(two, "#5201=10. #5221=-690.")).toEqual([]);
    expect(said(two, "#5201=10. #5221=-680.")).toHaveLength(1);
    expect(said(two, "#5221=-681.")).toEqual(['2 "#5221=-681." 1 none(A1, G54, X, {"mm":-1}, {"mm":-680}, X) at A1; station A1']);
  });
  it("the common shift that the program writes counts from there on", () => {
    // With 10 mm of common shift the registers hold 10 less.
    expect(said(two, g10(0, "X10. Y0 Z0"), g10(1, "X-690. Y-385. Z-345."))).toEqual([]);
    expect(said(two, g10(1, "X-680."), g10(0, "X10. Y0 Z0"))).toEqual([]);
    expect(said(two, g10(0, "X10. Y0 Z0"), xyz(2))).toEqual([
      '3 "X-530." 1 none(A2, G55, X, {"mm":10}, {"mm":-540}, X) at A2; station A2',
      "from 3 G10 L2 P2 X-540. Y-385. Z-345.",
    ]);
  });
  it("in inches", () => {
    // -13.5 × 25.4 = -342.9, which is 2.1 above -345 = -13.58268 in.
    expect(said(two, "G20", g10(1, "X-26.7717 Y-15.1575 Z-13.5"))[1]).toBe("from 3 G10 L2 P1 X-26.7717 Y-15.1575 Z-13.5827");
  });
  it("a program that states no units has the sidecar's: the sample in inches", () => {
    const inch: Setup = { ...two, change: (s) => void Object.assign(s, { units: "inch" }) };
    const t = tell("offset-value", inch, ["G90", g10(1, "X-681."), "M30"]);
    expect(t.findings[0]?.message.args.off1).toEqual({ mm: expect.closeTo(-25.4, 9) });
    expect(t.fixes).toEqual([["from 2", "G10 L2 P1 X-680."]]);
  });
  it("Z counted from the base: -345 is 55 above its -400", () => {
    const based: Setup = { ...two, change: (s) => void Object.assign(s, { offsets: { zFrom: { base: "plate" } } }) };
    expect(value(based, g10(1, "X-680. Y-385. Z55.")).texts).toEqual([]);
    expect(value(based, xyz(1)).findings.map((f) => f.message.args.off1)).toEqual([{ mm: -400 }]);
  });
  it("Z from the seat, 30 below the top", () => {
    expect(value(two, g10(1, "X-680. Y-385. Z-375.")).findings.map((f) => f.message.key)).toEqual(["1 z-at-seat"]);
  });
  it("under a common shift that is not known nothing can be compared", () => {
    const t = value(two, g10(0, "X#500"), g10(1, "X-681. Y-386."));
    expect(t.texts).toHaveLength(1);
    expect(t.findings[0]?.data?.axes).toEqual({ Y: { found: -386, computed: -385, difference: -1 } });
    expect(t.analysis.notChecked).toContainEqual({
      what: { key: "offset-value/what.offset", args: { offset: "G54", line: 3 } },
      why: { key: "offset-value/why.shift", args: {} },
    });
  });
  it("not: an increment, a register that is meant for another station, a station that is not loaded", () => {
    expect(said(two, "G91", g10(1, "X1."))).toEqual([]);
    expect(said(two, `${xyz(1)} (A1)`, g10(1, "X-530. Y-385. Z-345. (A2)"))).toEqual([]);
    expect(said({ ...two, empty: ["A1"] }, g10(1, "X0 Y0 Z0"))).toEqual([]);
    expect(said({}, g10(1, "X0 Y0 Z0"))).toEqual([]);
    expect(said(two, g10(5, "X0 Y0 Z0"))).toEqual([]);
  });
  it("the angle, modulo 360", () => {
    expect(said(inOffset, g10(2, "B-180."), g10(1, "B360."))).toEqual([]);
    expect(said(inOffset, g10(1, "B90."))).toEqual([
      '2 "B90." 1 none(F1, G54, B, {"deg":90}, {"deg":0}, B) at F1; station F1',
      "from 2 G10 L2 P1 B0.",
    ]);
    expect(said(inOffset, g10(2, "B0."))[0]).toMatch(/^2 "B0." 1 rotary-zero\(R1, G55, B, \{"deg":-?180\}, \{"deg":180\}/);
  });
  describe("as the sidecar stores it", () => {
    const stored = (use: string, values: unknown, ...lines: string[]) =>
      value({ use, change: (s) => void Object.assign(s, { offsets: { values } }) }, ...lines);
    const off = { G55: { X: -531, Y: -386, Z: -345 } };
    it("on the entry, with a change of each value", () => {
      const t = stored("two-stations", { G54: { X: -680, Y: -385, Z: -345 }, ...off });
      expect(t.findings.map((f) => f.message.key)).toEqual(["2 none"]);
      expect(t.findings[0]?.station).toBe("A2");
      expect(t.findings[0]?.fixes[0]?.title.args).toEqual({ words: "X-530. Y-385." });
      // JSON has no number that ends in a point.
      expect(t.findings[0]?.fixes[0]?.changes.map((c) => c.text)).toEqual(["-530", "-385"]);
    });
    it("not an axis that the program writes before it goes there", () => {
      const go = ["T1 M6", "G0 G55 X0 Y0"];
      const axes = (...lines: string[]) =>
        stored("two-stations", off, ...lines).findings.map((f) => Object.keys(f.data?.axes ?? {}).join(""));
      expect(axes(xy(2), ...go)).toEqual([]);
      expect(axes(g10(2, "X-530."), ...go)).toEqual(["Y"]);
      expect(axes(xy(1), ...go)).toEqual(["XY"]);
      expect(axes(...go, xy(2), "X1.")).toEqual(["XY"]);
      expect(axes("G91", g10(2, "X1. Y1."), "G90", ...go)).toEqual(["XY"]);
      expect(axes(xy(2))).toEqual([]);
    });
    it("an angle by the name that all machines share", () => {
      const t = stored("tombstone", { G54: { rotary: 10 } });
      expect(t.findings[0]?.fixes[0]?.changes.map((c) => c.text)).toEqual(["0"]);
    });
    it("under another spelling than the station's", () => {
      const change = (s: Record<string, unknown>) => {
        for (const station of s.stations as Record<string, unknown>[]) station.offset = "g54";
        s.offsets = { values: { G54: { X: -681 } } };
      };
      expect(value({ use: "two-stations", change }).findings.map((f) => f.fixes.length)).toEqual([1]);
    });
    it("in the file that holds it, where two files give an axis each", () => {
      const values = (axis: string, v: number) => ({ offsets: { values: { G55: { [axis]: v } } } });
      const sidecar = { ...(JSON.parse(samples["two-stations"]?.text ?? "") as object), ...values("Y", -386), include: ["x.json"] };
      const files = new Map([
        ["/case/part.nc", "M30\n"],
        ["/case/fixture.json", JSON.stringify(sidecar, undefined, 2)],
        ["/case/x.json", JSON.stringify(values("X", -531))],
      ]);
      const options = { program: "/case/part.nc", fixture: "/case/fixture.json", workspaceFolders: ["/case"] };
      const [found] = analyseNow(memoryHost(files), options).findings.filter((f) => f.rule === "offset-value");
      expect(found?.fixes[0]?.changes.map((c) => [c.place.file, c.text])).toEqual([
        ["/case/x.json", "-530"],
        ["/case/fixture.json", "-385"],
      ]);
    });
    it("an angle; within the tolerance; a station that is not loaded", () => {
      const t = stored("tombstone", { G54: { B: 10 } });
      expect(t.findings.map((f) => f.message.args.off1)).toEqual([{ deg: 10 }]);
      expect(t.findings[0]?.fixes[0]?.changes.map((c) => c.text)).toEqual(["0"]);
      expect(stored("two-stations", { G55: { X: -530.02, Y: -384.98 } }).findings).toEqual([]);
    });
  });
});

describe("offset-incremental", () => {
  const inc = (setup: Setup, ...lines: string[]) => {
    const t = tell("offset-incremental", setup, ["G21 G17 G40 G49 G80 G90", ...lines, "M30"]);
    return [...t.texts, ...t.fixes.map((f) => f.join(" "))];
  };
  it("G91 in the block itself is changed; one before it is overridden in the block", () => {
    expect(inc(two, "G91 G10 L2 P1 X1.")).toEqual(['2 "G91 G10 L2 P1 X1." default(G54)', "from 2 G90 G10 L2 P1 X1."]);
    expect(inc(two, "G91", "M9", "N5 X1. G10 L2 P1")).toEqual([
      '4 "N5 X1. G10 L2 P1" default(G54); 2 related.mode()',
      "from 4 N5 X1. G90 G10 L2 P1",
    ]);
  });
  it("from the first block on", () => {
    expect(tell("offset-incremental", two, ["G91 G21", "G10 L2 P1 X1.", "M30"]).texts).toEqual([
      '2 "G10 L2 P1 X1." default(G54); 1 related.mode()',
    ]);
  });
  it("one G91 is one finding, whatever the registers; two are two", () => {
    expect(inc(two, "G91", "G10 L2 P1 X1.", "G10 L2 P2 X1.", "G10 L10 P3 R1.", "G10 L12 P3 R1.", "G10 L2 P0 X1.").slice(0, 1)).toEqual([
      '3 "G10 L2 P1 X1." default(G54); 2 related.mode(); 4 related.more(G55); 5 related.more(length H3); 6 related.more(radius D3); 7 related.more(common shift)',
    ]);
    expect(inc(two, "G91", "G10 L2 P1 X1.", "G90", "G91 G28 Z0", "G10 L2 P2 X1.").slice(0, 2)).toEqual([
      '3 "G10 L2 P1 X1." default(G54); 2 related.mode()',
      '6 "G10 L2 P2 X1." default(G55); 5 related.mode()',
    ]);
  });
  it("not: G90 in the block, an assignment, a register that does not exist, a dialect that replaces all the same", () => {
    expect(inc(two, "G91", "G90 G10 L2 P1 X1.")).toEqual([]);
    expect(inc(two, "G91", "#5221=1")).toEqual([]);
    expect(inc(two, "G91", "G10 L2 P7 X1.")).toEqual([]);
    // RS274/NGC version 3 (NISTIR 6556, 3.5.5) knows no increments in G10; from memory.
    expect(inc({ dialect: "rs274ngc" }, "G91", "G10 L2 P1 X1.")).toEqual([]);
    expect(inc({}, "G91", "G10 L2 P1 X1.")).toHaveLength(2);
  });
});

describe("offset-inherited", () => {
  const inherited = (setup: Setup, ...lines: string[]) => {
    const t = tell("offset-inherited", setup, [...HEAD, ...lines, "M30"]);
    return [...t.texts, ...t.fixes.map((f) => f.join(" "))];
  };
  it("the first block with X or Y behind the change, also one that goes nowhere", () => {
    expect(inherited(two, "G55 X0", "T2 M6", "G43 H2 Z50", "G0 X10 Y10", "X20")).toEqual([
      '9 "G0 X10 Y10" station(2, G55, A2) at A2; 6 related.stated(2, G55, A2)',
      "from 9 G55",
    ]);
    expect(inherited(two, "G55 X0", "T2 M6", "Y3")).toHaveLength(2);
    expect(inherited(two, "G55 X0", "T2 M6", "X0")).toHaveLength(2);
    const t = tell("offset-inherited", two, [...HEAD, "G55 X0", "T2 M6", "X0", "M30"]);
    expect(t.findings.map((f) => [f.data, f.fixes[0]?.sameMotion])).toEqual([[{ tool: 2, offset: "G55" }, true]]);
  });
  it("without a sidecar: where the tool before went to several offsets", () => {
    expect(inherited({}, "G55 X0", "T2 M6", "X10")).toEqual(['8 "X10" default(2, G55); 6 related.stated(2, G55)', "from 8 G55"]);
    expect(inherited({}, "X5", "T2 M6", "X10", "G55 X1")).toEqual([]);
    // With it, where the program does.
    expect(inherited(two, "X5", "T2 M6", "X10", "G55 X1")).toHaveLength(2);
    expect(inherited(two, "X5", "T2 M6", "X10")).toEqual([]);
  });
  it("not: a way home, a dwell, data, shifts and machine coordinates; an offset that the tool before did not go to", () => {
    expect(inherited(two, "G55 X0", "T2 M6", "G28 X0", "G53 X0", "G4 X1", "G10 L2 P1 X0", "G30 X0", "G52 X0", "G92 X0", "G54 X1")).toEqual(
      [],
    );
    expect(inherited(two, "G55 X0", "T2 M6", "G53 X0", "X1")[0]).toMatch(/^9 "X1" station/);
    expect(inherited(two, "G55", "T2 M6", "X1")).toEqual([]);
    expect(inherited(two, "G55 X0", "T2 M6 G55", "X1")).toEqual([]);
    for (const home of ["G53 Z0", "G91 G28 Z0", "G4 P1"]) expect(inherited(two, "G55", home, "G90", "T2 M6", "X1"), home).toEqual([]);
    // Which offset it is is not known.
    expect(inherited(two, "G55 X0", "G54.1 P#500 X0", "T2 M6", "X1")).toEqual([]);
  });
  it("each tool by itself", () => {
    expect(inherited(two, "G55 X0", "T2 M6", "G54 X0", "G55 X1", "T3 M6", "X1", "G54 X1", "T1 M6", "X3")).toEqual([
      '11 "X1" station(3, G55, A2) at A2; 9 related.stated(3, G55, A2)',
      '14 "X3" station(1, G54, A1) at A1; 12 related.stated(1, G54, A1)',
      "from 11 G55",
      "from 14 G54",
    ]);
  });
  it("a called program moves: told on the call beside the tool change, which is where the offset belongs", () => {
    expect(inherited(two, "G55 X0", "T2 M6", "M98 P100", "M30", "O100", "G0 X10", "M99")).toEqual([
      '8 "M98 P100" station(2, G55, A2) at A2; 6 related.stated(2, G55, A2); 11 related.motion(2, G55, A2)',
      "from 8 G55",
    ]);
    expect(inherited(two, "G55 X0", "M98 P200", "M30", "O200", "T2 M6", "M98 P100", "M99", "O100", "G0 X10", "M99")).toEqual([
      '11 "M98 P100" station(2, G55, A2) at A2; 6 related.stated(2, G55, A2); 14 related.motion(2, G55, A2); 7 related.called-from()',
      "from 11 G55",
    ]);
    expect(inherited(two, "G55 X0", "M98 P200", "X10", "M30", "O200", "T2 M6", "M99")).toEqual([
      '8 "X10" station(2, G55, A2) at A2; 6 related.stated(2, G55, A2)',
      "from 8 G55",
    ]);
  });
  it("behind a slash the new block is, too", () => {
    expect(inherited(two, "G55 X0", "T2 M6", "/ X1")[1]).toBe("from 8 / G55");
  });
});

describe("offset-unmapped", () => {
  const unmapped = (setup: Setup, ...lines: string[]) => {
    const t = tell("offset-unmapped", setup, [...HEAD, ...lines, "M30"]);
    return [...t.texts, ...t.fixes.map((f) => f.join(" "))];
  };
  /** A fourth station Z of the same part, on the row behind. */
  const plus = (own: Record<string, unknown>): Setup => ({
    use: "three-stations",
    change: (s) => {
      const stations = s.stations as Record<string, unknown>[];
      const { repeat: _, offset: __, ...rest } = stations[0] ?? {};
      stations.push({ ...rest, id: "Z", at: [1, 5], ...own });
    },
  });
  it("on the selection; of the stations that are loaded those first to which the tool has not been", () => {
    expect(unmapped(three, "G57 X0", "G1 Z-1 F100")).toEqual(['6 "G57" default(G57)', "from 6 G55 X0", "from 6 G56 X0", "from 6 G54 X0"]);
    expect(unmapped({ ...three, empty: ["A2"] }, "G57 X0")).toEqual(['6 "G57" default(G57)', "from 6 G56 X0", "from 6 G54 X0"]);
    expect(tell("offset-unmapped", three, [...HEAD, "G57 X0", "M30"]).findings[0]?.data).toEqual({ offset: "G57" });
    expect(unmapped(three, "G54.1 X0 P7")).toEqual(['6 "P7" default(G54.1 P7)', "from 6 G55 X0 ", "from 6 G56 X0 ", "from 6 G54 X0 "]);
    expect(unmapped(three, "#1=57", "G#1 X0")).toEqual(['7 "G#1" default(G57)']);
  });
  it("the stations to which another tool has been count as free", () => {
    // T1 was at A1, T2 at A2.
    const t = tell("offset-unmapped", three, [...HEAD, "T2 M6", "G0 G55 X0", "G57 X1", "M30"]);
    expect(t.fixes.map((f) => f[1])).toEqual(["G54 X1", "G56 X1", "G55 X1"]);
  });
  it("again is related, another one is not", () => {
    expect(unmapped(three, "G57 X0", "T2 M6", "G57 X1").slice(0, 1)).toEqual(['6 "G57" default(G57); 8 related.again(G57)']);
    expect(unmapped(three, "G57 X0", "G58 X1").filter((x) => x.includes("default"))).toHaveLength(2);
  });
  it("a station that could not be placed owns its offset all the same; one whose offset is not known may own any", () => {
    expect(unmapped(plus({ base: "nowhere", offset: "G57" }), "G57 X0", "G58 X0")[0]).toBe('7 "G58" default(G58)');
    expect(unmapped(plus({ base: "nowhere" }), "G57 X0")).toEqual([]);
    expect(unmapped(plus({ offset: "G99" }), "G57 X0")).toEqual([]);
    expect(unmapped(plus({}), "G57 X0")).toEqual([]);
    expect(unmapped(plus({ offset: "G57" }), "G57 X0")).toEqual([]);
  });
  it("a code without the P that it needs, and a P that the dialect does not have", () => {
    expect(unmapped(three, "G54.1 X0").slice(0, 2)).toEqual(['6 "G54.1" absent-p(G54.1, , G54.1)', "from 6 G55 X0"]);
    // The dialect has P1 to P300.
    expect(unmapped(three, "G54.1 P301 X0", "G54.1 P301 X1", "G54.1 P302 X1").filter((x) => x.includes("out-of-range"))).toEqual([
      '6 "G54.1 P301" out-of-range(G54.1, 301, G54.1); 7 related.again(G54.1, 301, G54.1)',
      '8 "G54.1 P302" out-of-range(G54.1, 302, G54.1)',
    ]);
    expect(unmapped({}, "G54.1 X0")).toEqual(['6 "G54.1" absent-p(G54.1, , G54.1)']);
  });
  it("the offset in force from the start: on the first cut, with a selection before the first block that moves", () => {
    const start = (first: string, ...lines: string[]) => {
      const setup: Setup = {
        use: "three-stations",
        change: (s) => {
          for (const station of s.stations as Record<string, unknown>[]) station.offset = first;
        },
      };
      const t = tell("offset-unmapped", setup, ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 X0 Y0", "G43 H1 Z50", ...lines, "M30"]);
      return [...t.texts, ...t.fixes.map((f) => f.join(" "))];
    };
    expect(start("G55", "G1 Z-1 F100", "X9")).toEqual(['6 "G1 Z-1 F100" initial(G54)', "from 4 G55", "from 4 G56", "from 4 G57"]);
    expect(start("G55", "G2 X10 I5 F100")[0]).toBe('6 "G2 X10 I5 F100" initial(G54)');
    expect(start("G54", "G1 Z-1 F100")).toEqual([]);
    expect(start("G55", "G55", "G1 Z-1 F100")).toEqual([]);
    expect(start("G55", "G0 X9")).toEqual([]);
    // Where the program's branches disagree, the offset is not known.
    expect(start("G55", "IF [#500 EQ 1] GOTO 10", "G55", "N10 G1 Z-1 F100")).toEqual([]);
    // The whole series beside is one fault, which offset-series tells.
    expect(start("G55", "G1 Z-1 F100", "G54 X9", "G55 X9", "G56 X9")).toEqual([]);
    const emptied: Setup = {
      use: "three-stations",
      empty: ["A2"],
      change: (s) => void Object.assign((s.stations as object[])[0] ?? {}, { offset: "G55" }),
    };
    const lines = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 X0 Y0", "G43 H1 Z50", "G1 Z-1 F100", "M30"];
    const t = tell("offset-unmapped", emptied, lines);
    expect(t.fixes).toEqual([
      ["from 4", "G55"],
      ["from 4", "G57"],
    ]);
    expect(t.findings[0]?.fixes.map((f) => f.sameMotion)).toEqual([false, false]);
    // The work may be turned before: that goes by no offset.
    const turned: Setup = {
      use: "tombstone",
      change: (s) => {
        for (const [k, station] of (s.stations as Record<string, unknown>[]).entries()) station.offset = `G${55 + k}`;
      },
    };
    const index = ["G21 G17 G40 G49 G80 G90", "G28 G91 Z0", "G90 G0 B0", "T1 M6", "S4000 M3", "X0 Y0", "G43 H1 Z50", "G1 Z-1 F100", "M30"];
    expect(tell("offset-unmapped", turned, index).fixes.map((f) => f.join(" "))).toEqual(["from 6 G55", "from 6 G56"]);
    // A program that only others call is under the offset of its caller.
    const called = ["O100", "G90 G0 X0 Y0", "G1 Z-1 F100", "M99"];
    const later: Setup = { use: "three-stations", change: (s) => void Object.assign((s.stations as object[])[0] ?? {}, { offset: "G55" }) };
    expect(tell("offset-unmapped", later, called).texts).toEqual([]);
  });
});
