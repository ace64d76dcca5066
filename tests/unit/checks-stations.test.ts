/**
 * Tools that go to too few stations, too many, or the wrong ones: programs with what the rule says in whole, worked out by
 * hand from the row of the sample fixture (A1 G54, A2 G55 …). Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { type Setup, tell } from "../support/tell.js";

const four: Setup = { use: "four-stations" };
const HEAD = ["O1", "G21 G17 G40 G49 G80 G90"];
const END = ["G28 G91 Z0", "M30"];
const SUB = ["O100", "G90 G0 X10 Y20", "Z2", "G1 Z-3 F300", "X40", "G0 Z50", "M99"];
const LOOPED = ["O100", "G90 G0 X10 Y20", "G43 H1 Z50", "Z2", "G1 Z-3 F300", "X40", "G0 Z50", "M99"];
const T1 = "tool 1 (end mill 10)";
const T2 = "tool 2 (drill 6.8)";

/** A tool that calls O100 at one offset after another: five lines for the first, two for each further. */
const at = (tool: number, ...offsets: number[]): string[] => [
  `T${tool} M6`,
  "S4000 M3",
  `G0 G${offsets[0]} X10 Y20`,
  `G43 H${tool} Z50`,
  "M98 P100",
  ...offsets.slice(1).flatMap((o) => [`G${o}`, "M98 P100"]),
];
const skipped = (setup: Setup, ...tools: string[][]) => tell("station-skipped", setup, [...HEAD, ...tools.flat(), ...END, ...SUB]);

describe("a station that a tool leaves out", () => {
  it("none: all four, in any order, or one that is empty", () => {
    expect(skipped(four, at(1, 54, 55, 56, 57)).texts).toEqual([]);
    expect(skipped(four, at(1, 57, 54, 56, 55)).texts).toEqual([]);
    expect(skipped({ ...four, empty: ["A3"] }, at(1, 54, 55, 57)).texts).toEqual([]);
    expect(skipped({ ...four, blockSkip: true }, at(1, 54, 55, 57)).texts).toEqual([]);
  });
  it("in the middle: on the next selection, with the visit before to copy", () => {
    // Lines: T1 3, G54 5, M98 7, G55 8, M98 9, G57 10.
    const t = skipped(four, at(1, 54, 55, 57));
    expect(t.texts).toEqual([`10 "G57" default(${T1}, 3, 4, bracket, op10, A3) at A3; 8 related.sibling(A2)`]);
    expect(t.findings[0]?.data).toEqual({ tool: 1, missing: ["A3"] });
    expect(t.fixes).toEqual([["from 10", "G56", "M98 P100"]]);
  });
  it("the second: the visit before brings the tool to its length, so the next one is copied", () => {
    const t = skipped(four, at(1, 54, 56, 57));
    expect(t.texts).toEqual([`8 "G56" default(${T1}, 3, 4, bracket, op10, A2) at A2; 5 related.sibling(A1)`]);
    expect(t.fixes).toEqual([["from 8", "G55", "M98 P100"]]);
  });
  it("a copy has no block numbers, and nothing of the way home", () => {
    const numbered = at(1, 54, 55, 57).map((text, k) => `N${10 + 10 * k} ${text}`);
    expect(skipped(four, numbered).fixes).toEqual([["from 10", "G56", "M98 P100"]]);
    for (const end of ["M05", "M9", "M5", "M09 M5", "G28 Z50", "G30 Z50"])
      expect(skipped({ use: "three-stations" }, [...at(1, 54, 56), end]).fixes, end).toEqual([["from 8", "G55", "M98 P100"]]);
  });
  it("the first: on the first selection; there is nothing before it to copy", () => {
    const t = skipped(four, at(1, 55, 56, 57));
    expect(t.texts).toEqual([`5 "G55" default(${T1}, 3, 4, bracket, op10, A1) at A1; 5 related.sibling(A2)`]);
    expect(t.fixes).toEqual([]);
  });
  it("the last: on the block that ends the tool's work, the next tool change or the end of the program", () => {
    expect(skipped(four, at(1, 54, 55, 56)).texts).toEqual([
      `13 "M30" default(${T1}, 3, 4, bracket, op10, A4) at A4; 10 related.sibling(A3)`,
    ]);
    // T1 takes lines 3 to 11; T2, which does all four, begins at 12.
    const t = skipped(four, at(1, 54, 55, 56), at(2, 54, 55, 56, 57));
    expect(t.texts).toEqual([`12 "T2 M6" default(${T1}, 3, 4, bracket, op10, A4) at A4; 10 related.sibling(A3)`]);
    expect(t.fixes).toEqual([]);
  });
  it("backwards: between its neighbours of the other direction", () => {
    expect(skipped(four, at(1, 57, 56, 54)).texts).toEqual([
      `10 "G54" default(${T1}, 3, 4, bracket, op10, A2) at A2; 8 related.sibling(A3)`,
    ]);
    expect(skipped(four, at(1, 57, 55, 54)).texts).toEqual([
      `8 "G55" default(${T1}, 3, 4, bracket, op10, A3) at A3; 5 related.sibling(A4)`,
    ]);
  });
  it("in the order of a tool that visits all of them", () => {
    // T1 (lines 3 to 13) goes A1 A3 A2 A4, T2 from 14: G54 16, G56 19, G57 21.
    const t = skipped(four, at(1, 54, 56, 55, 57), at(2, 54, 56, 57));
    expect(t.texts).toEqual([`21 "G57" default(${T2}, 3, 4, bracket, op10, A2) at A2; 19 related.sibling(A3)`]);
    expect(t.fixes).toEqual([["from 21", "G55", "M98 P100"]]);
  });
  it("two beside each other are one finding without a fix, two apart are two", () => {
    const t = skipped(four, at(1, 54, 55, 56, 57), at(2, 54, 57));
    expect(t.texts).toEqual([`19 "G57" several(${T2}, 2, 4, bracket, op10, A2+A3) at A2; 16 related.sibling(A1)`]);
    expect(t.findings[0]?.data).toEqual({ tool: 2, missing: ["A2", "A3"] });
    expect(t.fixes).toEqual([]);
    // T2: G54 16, G56 19, M98 20, G28 21, M30 22.
    expect(skipped(four, at(1, 54, 55, 56, 57), at(2, 54, 56)).texts).toEqual([
      `19 "G56" default(${T2}, 2, 4, bracket, op10, A2) at A2; 16 related.sibling(A1)`,
      `22 "M30" default(${T2}, 2, 4, bracket, op10, A4) at A4; 19 related.sibling(A3)`,
    ]);
  });
  it("that no tool visits: one finding, the other tools are related", () => {
    // T1 lines 3 to 11, T2 from 12: G54 14, G43 15, M98 16, G55 17, M98 18, G57 19.
    const t = skipped(four, at(1, 54, 55, 57), at(2, 54, 55, 57));
    expect(t.texts).toEqual([`10 "G57" all(${T1}, 3, 4, bracket, op10, A3) at A3; 8 related.sibling(A2); 19 related.tool(${T2}, A3)`]);
    expect(t.fixes).toEqual([]);
  });
  it("no tool goes to one of two that a tool leaves out: that one by itself, the other one is the tool's own", () => {
    // T1 lines 3 to 11, T2 from 12: G54 14, G43 15, M98 16, G55 17, M98 18, G28 19, M30 20.
    expect(skipped(four, at(1, 54, 55, 57), at(2, 54, 55)).texts).toEqual([
      `10 "G57" all(${T1}, 3, 4, bracket, op10, A3) at A3; 8 related.sibling(A2); 20 related.tool(${T2}, A3)`,
      `20 "M30" default(${T2}, 2, 4, bracket, op10, A4) at A4; 17 related.sibling(A2)`,
    ]);
  });
  it("the second time round: between its neighbours of that round", () => {
    // First round G54 5, G55 8, G56 10, G57 12; second round from 14, two lines each.
    const fewer = (...second: number[]) => {
      const t = skipped(four, at(1, 54, 55, 56, 57, ...second));
      return [...t.texts.map((x) => x.replace(`${T1}, `, "")), ...t.fixes.map((f) => f.join(" "))];
    };
    expect(fewer(54, 56, 57)).toEqual(['16 "G56" fewer(4, 4, bracket, op10, A2) at A2; 14 related.sibling(A1)', "from 16 G55 M98 P100"]);
    expect(fewer(55, 56, 57)).toEqual(['14 "G55" fewer(4, 4, bracket, op10, A1) at A1; 12 related.sibling(A4)', "from 14 G54 M98 P100"]);
    expect(fewer(54, 55, 56)).toEqual(['21 "M30" fewer(4, 4, bracket, op10, A4) at A4; 18 related.sibling(A3)']);
    // The first round may be the one that is short.
    expect(skipped(four, at(1, 54, 56, 57, 54, 55, 56, 57)).texts).toEqual([
      `8 "G56" fewer(${T1}, 4, 4, bracket, op10, A2) at A2; 5 related.sibling(A1)`,
    ]);
  });
  it("an offset in force from the start: the visit begins with the tool change", () => {
    // G43 5, M98 6, then two lines each.
    const start = (...offsets: number[]) =>
      skipped(four, ["T1 M6", "S4000 M3", "G43 H1 Z50", "M98 P100", ...offsets.flatMap((o) => [`G${o}`, "M98 P100"])]);
    expect(start(55, 57).texts).toEqual([`9 "G57" default(${T1}, 3, 4, bracket, op10, A3) at A3; 7 related.sibling(A2)`]);
    const t = start(56, 57);
    expect(t.texts).toEqual([`7 "G56" default(${T1}, 3, 4, bracket, op10, A2) at A2; 3 related.sibling(A1)`]);
    expect(t.fixes).toEqual([["from 7", "G55", "M98 P100"]]);
    expect(t.findings[0]?.fixes[0]?.title).toEqual({ key: "fix.visit", args: { station: "A2", like: "A3" } });
  });
  it("a tool that is changed in for each visit: on its next visit, with nothing to copy", () => {
    const work = (tool: number, offset: number) => at(tool, offset);
    // Five lines each from 3 on: T1 A1, T2 A1, T2 A2, T1 A3, T2 A3; T2 stays in for A2.
    const t = skipped({ use: "three-stations" }, work(1, 54), work(2, 54), ["G55", "M98 P100"], work(1, 56), work(2, 56));
    expect(t.texts).toEqual([`17 "G56" default(${T1}, 2, 3, bracket, op10, A2) at A2; 5 related.sibling(A1)`]);
    expect(t.fixes).toEqual([]);
  });
  it("a tool that comes back: where its first section ends, if that goes to several", () => {
    // T1 A1 A2 3 to 9, T2 A1 to A4 10 to 20, T1 A4 from 21.
    const t = skipped(four, at(1, 54, 55), at(2, 54, 55, 56, 57), at(1, 57));
    expect(t.texts).toEqual([`10 "T2 M6" default(${T1}, 3, 4, bracket, op10, A3) at A3; 8 related.sibling(A2)`]);
    expect(t.fixes).toEqual([]);
  });
  it("the copy ends where the visit does: before a stop, the next tool or the next selection", () => {
    const next = (...behind: string[]) => skipped({ use: "three-stations" }, at(1, 54, 56), behind, at(2, 54, 55, 56)).fixes;
    expect(next()).toEqual([["from 8", "G55", "M98 P100"]]);
    for (const stop of ["M1", "M00", "G30 G91 Z0"]) expect(next(stop), stop).toEqual([["from 8", "G55", "M98 P100"]]);
    expect(next("(DEBURR BY HAND, G28 FIRST)")).toEqual([["from 8", "G55", "M98 P100", "(DEBURR BY HAND, G28 FIRST)"]]);
  });
  it("no copy: the offset is computed, the visits stand in different programs, or not in the order of the lines", () => {
    const first = ["T1 M6", "S4000 M3", "G0 G54 X10 Y20", "G43 H1 Z50", "M98 P100"];
    expect(skipped(four, [...first, "#1=55", "G#1", "M98 P100", "G57", "M98 P100"]).fixes).toEqual([]);
    const apart = tell("station-skipped", four, [
      ...[...HEAD, ...first, "M98 P201", "M98 P202", ...END, ...SUB],
      ...["O201", "G55", "M98 P100", "M99", "O202", "G57", "M98 P100", "M99"],
    ]);
    expect(apart.texts).toHaveLength(1);
    expect(apart.fixes).toEqual([]);
    const jumps = ["GOTO 20", "N10 G57", "M98 P100", "GOTO 30", "N20 G55", "M98 P100", "GOTO 10", "N30 M9"];
    const t = skipped(four, [...first, ...jumps]);
    expect(t.findings.map((f) => f.station)).toEqual(["A3"]);
    expect(t.fixes).toEqual([]);
  });
  it("a copy behind a slash keeps it, and drops the block number behind it", () => {
    const t = skipped(four, [...at(1, 54), "/2 N50 G55", "/2 N60 M98 P100", "G57", "M98 P100"]);
    expect(t.fixes).toEqual([["from 10", "/2 G56", "/2 M98 P100"]]);
  });
  it("from an additional offset to a plain one: the P goes with the code", () => {
    const mixed: Setup = {
      use: "four-stations",
      change: (s) => {
        const [one] = s.stations as Record<string, unknown>[];
        const { repeat: _, ...rest } = one ?? {};
        s.stations = ["G54", "G54.1 P2", "G56", "G54.1 P4"].map((offset, k) => ({ ...rest, id: `A${k + 1}`, offset, at: [1 + 3 * k, 1] }));
      },
    };
    const visits = [...at(1, 54), "G54.1 G0 X10 P2", "M98 P100", "G54.1 P4", "M98 P100"];
    expect(skipped(mixed, visits).fixes).toEqual([["from 10", "G56 G0 X10 ", "M98 P100"]]);
    const other = [...at(1, 54), "G56", "M98 P100", "G54.1 P4", "M98 P100"];
    expect(skipped(mixed, other).fixes).toEqual([["from 8", "G54.1 P2", "M98 P100"]]);
  });
  it("of the other op is no sibling; less than half is a plan", () => {
    const ops: Setup = { use: "two-ops" };
    expect(skipped(ops, at(1, 54, 55)).texts).toEqual([]);
    expect(skipped(ops, at(1, 54, 55, 56, 57), at(2, 54, 55, 56)).texts).toEqual([
      `24 "M30" default(${T2}, 1, 2, bracket, op20, B2) at B2; 21 related.sibling(B1)`,
    ]);
    expect(skipped(four, at(1, 54, 55, 56, 57), at(2, 54)).texts).toEqual([]);
  });
});

describe("on a tombstone", () => {
  const both = [...at(2, 54), "G0 B180", "G55 X10 Y20", "M98 P100"];
  it("the station on the other face is left out, where another tool goes to it", () => {
    expect(skipped({ use: "tombstone" }, at(1, 54), both).texts).toEqual([
      `8 "T2 M6" default(${T1}, 1, 2, bracket, op10, R1) at R1; 5 related.sibling(F1)`,
    ]);
    expect(skipped({ use: "tombstone" }, at(1, 54), at(2, 54)).texts).toEqual([]);
    expect(skipped({ use: "tombstone", empty: ["R1"] }, at(1, 54), both).texts).toEqual([]);
  });
});

describe("what cannot be told for which station it was", () => {
  const T2_LATE = ["T2 M6", "S4000 M3", "G43 H2 Z50", "M98 P100", "G55", "M98 P100", "G56", "M98 P100", "G57", "M98 P100"];
  it("an offset left by the tool before, or one of no station, speaks for one that is left out", () => {
    expect(skipped(four, at(1, 54, 55, 56, 57), T2_LATE).texts).toEqual([]);
    expect(skipped(four, at(1, 54, 55, 58, 57)).texts).toEqual([]);
    // One of two is still left out.
    expect(skipped(four, at(1, 54, 55, 56, 57), at(2, 54, 58)).texts).toEqual([]);
    expect(skipped(four, at(1, 54, 55, 56, 57), at(2, 54, 58, 57)).texts).toHaveLength(1);
  });
  it("a datum of the sidecar does not", () => {
    const datum: Setup = {
      ...four,
      change: (s) => {
        s.datums = { G58: "probing" };
      },
    };
    expect(skipped(datum, at(1, 54, 55, 58, 57)).findings.map((f) => f.station)).toEqual(["A3"]);
  });
  it("an offset in force from the start is the first tool's own", () => {
    expect(
      skipped(four, ["T1 M6", "S4000 M3", "G43 H1 Z50", "M98 P100", "G55", "M98 P100", "G57", "M98 P100"]).findings.map((f) => f.station),
    ).toEqual(["A3"]);
  });
});

describe("the same station twice", () => {
  const twice = (...lines: string[]) => tell("station-repeated", four, [...HEAD, ...lines, ...END, ...SUB]);
  it("where the next one should be: on its selection, with that offset as a fix", () => {
    const t = twice(...at(1, 54, 55, 55, 57));
    expect(t.texts).toEqual([`10 "G55" default(A2, ${T1}, A3, G56) at A2; 8 related.first()`]);
    expect(t.findings[0]?.data).toEqual({ tool: 1, missing: "A3" });
    expect(t.fixes).toEqual([["from 10", "G56"]]);
    expect(twice(...at(1, 54, 56, 56, 57)).texts).toEqual([`8 "G56" default(A3, ${T1}, A2, G55) at A3; 10 related.first()`]);
  });
  it("once too often with all of them done", () => {
    const t = twice(...at(1, 54, 55, 55, 56, 57));
    expect(t.texts).toEqual([`10 "G55" again(A2, ${T1}, , ) at A2; 8 related.first()`]);
    expect(t.findings[0]?.data).toEqual({ tool: 1, missing: null });
    expect(t.fixes).toEqual([]);
  });
  it("the same call twice without an offset between: on the second call", () => {
    const t = twice(...at(1, 54, 55), "M98 P100", "G57", "M98 P100");
    expect(t.texts).toEqual([`10 "M98 P100" default(A2, ${T1}, A3, G56) at A2; 8 related.first()`]);
    expect(t.fixes).toEqual([]);
  });
  it("not: twice at all of them, two different paths, with the switch on", () => {
    expect(twice(...at(1, 54, 54, 55, 55, 56, 56, 57, 57)).texts).toEqual([]);
    expect(twice(...at(1, 54, 55), "G1 X33 F99", "G0 Z50", "G56", "M98 P100", "G57", "M98 P100").texts).toEqual([]);
    expect(tell("station-repeated", { ...four, blockSkip: true }, [...HEAD, ...at(1, 54, 55, 55, 57), ...END, ...SUB]).texts).toEqual([]);
  });
});

describe("a loop that goes to fewer or more stations than there are", () => {
  const loop = (from: number, condition: string, step = "#100=#100+1"): string[] => [
    `#100=${from}`,
    `WHILE [${condition}] DO1`,
    "G#100",
    "M98 P100",
    step,
    "END1",
  ];
  const counted = (setup: Setup, ...body: string[]) =>
    tell("station-count", setup, [...HEAD, "T1 M6", "S4000 M3", ...body, ...END, ...LOOPED]);
  /** Stations A… that it leaves out, offsets G… to which it goes for nothing. */
  const few = (count: number, wanted: number, what: string, line = 6, mark = "WHILE [#100 LE 56] DO1", work = "bracket op10") => {
    const past = what.startsWith("G");
    return `${line} "${mark}" ${past ? "past" : "default"}(${T1}, ${count}, ${wanted}, ${work}, ${past ? ", " : ""}${what}${past ? "" : ", "})`;
  };

  it("as many as there are; one that is not loaded does not count", () => {
    expect(counted(four, ...loop(54, "#100 LE 57")).texts).toEqual([]);
    expect(counted({ ...four, empty: ["A4"] }, ...loop(54, "#100 LE 56")).texts).toEqual([]);
    expect(counted({ ...four, empty: ["A1"] }, ...loop(55, "#100 LE 57")).texts).toEqual([]);
    expect(counted({ ...four, blockSkip: true }, ...loop(54, "#100 LE 56")).texts).toEqual([]);
  });
  it("one too few at the end, at the start, at both; one round only", () => {
    const t = counted(four, ...loop(54, "#100 LE 56"));
    expect(t.texts).toEqual([few(3, 4, "A4")]);
    expect(t.findings[0]?.data).toEqual({ tool: 1, count: 3, wanted: 4, past: 0 });
    expect(t.fixes).toEqual([["from 6", "WHILE [#100 LE 57] DO1"]]);
    expect(t.analysis.findings.filter((f) => f.rule === "station-skipped")).toEqual([]);
    expect(counted(four, ...loop(55, "#100 LE 57")).texts).toEqual([few(3, 4, "A1", 6, "WHILE [#100 LE 57] DO1")]);
    expect(counted(four, ...loop(55, "#100 LE 56")).texts).toEqual([few(2, 4, "A1+A4")]);
    expect(counted(four, ...loop(54, "#100 LE 54")).texts).toEqual([few(1, 4, "A2+A3+A4", 6, "WHILE [#100 LE 54] DO1")]);
  });
  it("where only the end is wrong, it is offered: as the condition is written, by as much as a round adds", () => {
    const fixes = (from: number, condition: string, step?: string) => counted(four, ...loop(from, condition, step)).fixes.flat();
    expect(fixes(54, "#100 LT 57")).toEqual(["from 6", "WHILE [#100 LT 58] DO1"]);
    expect(fixes(54, "56 GE #100")).toEqual(["from 6", "WHILE [57 GE #100] DO1"]);
    expect(fixes(54, "#100 LE 54")).toEqual(["from 6", "WHILE [#100 LE 57] DO1"]);
    expect(fixes(54, "#100 LE 55", "#100=1+#100")).toEqual(["from 6", "WHILE [#100 LE 57] DO1"]);
    expect(fixes(54, "#100 LE 58")).toEqual(["from 6", "WHILE [#100 LE 57] DO1"]);
    // It begins too late; the end is computed; what a round adds is.
    expect(fixes(55, "#100 LE 57")).toEqual([]);
    expect(fixes(55, "#100 LE 56")).toEqual([]);
    expect(counted(four, "#101=56", ...loop(54, "#100 LE #101")).fixes).toEqual([]);
    expect(counted(four, "#101=1", ...loop(54, "#100 LE 56", "#100=#100+#101")).fixes).toEqual([]);
    expect(fixes(54, "#100 LE 56", "#100=[#100+3]-2")).toEqual([]);
    expect(fixes(54, "#100 LE 56.")).toEqual(["from 6", "WHILE [#100 LE 57.] DO1"]);
    expect(counted(four, "#101=1", ...loop(54, "#100 LE 56", "#100=#101+#100")).fixes).toEqual([]);
    expect(counted(four, "#101=54", ...loop(54, "#100 LE 56", "#100=1+#101"), "#101=#101+1").fixes).toEqual([]);
  });
  it("one too many: past the last; not where the sidecar keeps that register as a datum", () => {
    const t = counted(four, ...loop(54, "#100 LE 58"));
    expect(t.texts).toEqual([few(5, 4, "G58", 6, "WHILE [#100 LE 58] DO1")]);
    const datum: Setup = {
      use: "three-stations",
      change: (s) => {
        s.datums = { G57: "probing" };
      },
    };
    expect(counted(datum, ...loop(54, "#100 LE 57")).texts).toEqual([]);
    expect(counted({ use: "three-stations" }, ...loop(54, "#100 LE 57")).texts).toEqual([few(4, 3, "G57", 6, "WHILE [#100 LE 57] DO1")]);
  });
  it("counted by a jump back: on the jump", () => {
    const jump = (last: number) => ["#100=54", "N10 G#100", "M98 P100", "#100=#100+1", `IF [#100 LE ${last}] GOTO 10`];
    expect(counted(four, ...jump(56)).texts).toEqual([few(3, 4, "A4", 9, "IF [#100 LE 56] GOTO 10")]);
    expect(counted(four, ...jump(54)).texts).toEqual([few(1, 4, "A2+A3+A4", 9, "IF [#100 LE 54] GOTO 10")]);
    expect(counted(four, ...jump(57)).texts).toEqual([]);
  });
  it("loops in loops and jumps in loops: the one that counts", () => {
    const inner = ["#102=0", "WHILE [#102 LT 2] DO2", "#102=#102+1", "END2"];
    const round = (last: number, before: string[], after: string[]) => [
      ...["#100=54", `WHILE [#100 LE ${last}] DO1`, ...before, "G#100", "M98 P100", ...after, "#100=#100+1", "END1"],
    ];
    for (const [before, after] of [
      [inner, []],
      [[], inner],
      [[], ["IF [#100 EQ 99] GOTO 20", "M8", "N20 M9"]],
    ] as const) {
      expect(counted(four, ...round(54, [...before], [...after])).texts).toEqual([few(1, 4, "A2+A3+A4", 6, "WHILE [#100 LE 54] DO1")]);
      expect(counted(four, ...round(56, [...before], [...after])).texts).toEqual([few(3, 4, "A4")]);
      expect(counted(four, ...round(57, [...before], [...after])).texts).toEqual([]);
    }
  });
  it("counted by a repeated call: on its count, with the right one as a fix", () => {
    const sub = ["O100", "#100=#100+1", "G#100 G90 G0 X10 Y20", "G43 H1 Z50", "Z2", "G1 Z-3 F300", "X40", "G0 Z50", "M99"];
    const repeat = (n: string) => tell("station-count", four, [...HEAD, "T1 M6", "S4000 M3", "#100=53", `M98 P100 ${n}`, ...END, ...sub]);
    const t = repeat("L3");
    expect(t.texts).toEqual([`6 "L3" repeat(${T1}, 3, 4, bracket op10, A4, )`]);
    expect(t.fixes).toEqual([["from 6", "M98 P100 L4"]]);
    expect(repeat("L5").texts).toEqual([`6 "L5" repeat-past(${T1}, 5, 4, bracket op10, , G58)`]);
    expect(repeat("L5").fixes).toEqual([["from 6", "M98 P100 L4"]]);
    expect(repeat("L4").texts).toEqual([]);
    expect(repeat("L[1+2]").fixes).toEqual([]);
    expect(repeat("L#500").texts).toEqual([]);
  });
  it("how often is the operator's where the condition rests on what the program does not set", () => {
    for (const last of ["#500", "[50+#500]", "[#500+50]", "ABS[#500]", "[-#500]"])
      expect(counted(four, ...loop(54, `#100 LE ${last}`)).texts).toEqual([]);
    expect(counted(four, "#500=56", ...loop(54, "#100 LE #500")).texts).toEqual([few(3, 4, "A4", 7, "WHILE [#100 LE #500] DO1")]);
    expect(counted(four, "#101=50", ...loop(54, "#100 LE [#101+6]")).texts).toEqual([few(3, 4, "A4", 7, "WHILE [#100 LE [#101+6]] DO1")]);
  });
  it("of the operator's loop the first round is certain, the others are not", () => {
    const unmapped = (from: number) =>
      tell("offset-unmapped", four, [...HEAD, "T1 M6", "S4000 M3", ...loop(from, "#100 LE #500"), ...END, ...LOOPED]).findings.map(
        (f) => f.place.range.line + 1,
      );
    expect(unmapped(57)).toEqual([]);
    expect(unmapped(58)).toEqual([7]);
  });
  it("an argument of the call counts as set", () => {
    const lines = [...HEAD, "T1 M6", "S4000 M3", "G65 P200 A56", ...END, "O200", ...loop(54, "#100 LE #1"), "M99", ...LOOPED];
    const t = tell("station-count", four, lines);
    expect(t.texts.map((x) => x.replace(/; .*/, ""))).toEqual([few(3, 4, "A4", 10, "WHILE [#100 LE #1] DO1")]);
  });
  it("each tool by itself; two loops of one tool, the first ends short: its fault alone", () => {
    const second = ["T2 M6", "S4000 M3", ...loop(54, "#100 LE 56")];
    expect(counted(four, ...loop(54, "#100 LE 57"), ...second).texts).toEqual([few(3, 4, "A4", 14).replace(T1, T2)]);
    expect(counted(four, ...loop(54, "#100 LE 55"), ...loop(57, "#100 LE 57")).texts).toEqual([
      few(2, 3, "A3", 6, "WHILE [#100 LE 55] DO1"),
    ]);
    expect(counted(four, ...loop(54, "#100 LE 55"), ...loop(56, "#100 LE 57")).texts).toEqual([]);
  });
  it("only the first op", () => {
    expect(counted({ use: "two-ops" }, ...loop(54, "#100 LE 55")).texts).toEqual([]);
    expect(counted({ use: "two-ops" }, ...loop(54, "#100 LE 57")).texts).toEqual([]);
    expect(counted({ use: "two-ops" }, ...loop(54, "#100 LE 54")).texts).toEqual([few(1, 2, "A2", 6, "WHILE [#100 LE 54] DO1")]);
  });
  it("additional offsets, by P", () => {
    const more: Setup = {
      use: "four-stations",
      change: (s) => {
        for (const station of s.stations as Record<string, unknown>[]) station.offset = "G54.1 P1";
      },
    };
    const by = (last: number) => ["#100=1", `WHILE [#100 LE ${last}] DO1`, "G54.1 P#100", "M98 P100", "#100=#100+1", "END1"];
    expect(counted(more, ...by(4)).texts).toEqual([]);
    expect(counted(more, ...by(3)).texts).toEqual([few(3, 4, "A4", 6, "WHILE [#100 LE 3] DO1")]);
    expect(counted(more, ...by(5)).texts).toEqual([few(5, 4, "G54.1 P5", 6, "WHILE [#100 LE 5] DO1")]);
  });
});

describe("station-count: loops that do not simply count up to the last", () => {
  const loop = (from: number, condition: string, step = "#100=#100+1", select = "G#100"): string[] => [
    `#100=${from}`,
    `WHILE [${condition}] DO1`,
    select,
    "M98 P100",
    step,
    "END1",
  ];
  /** What the rule says, its fix, and what station-skipped says of the same lines: nothing, since the loop is the fault. */
  const counted = (setup: Setup, ...body: string[]) => {
    const lines = [...HEAD, "T1 M6", "S4000 M3", ...body, ...END, ...LOOPED];
    expect(tell("station-skipped", setup, lines).texts).toEqual([]);
    const t = tell("station-count", setup, lines);
    return [...t.texts.map((x) => x.replace(/^(\d+) ".*" (\S+?)\(.*?\), /, "$1 $2(")), ...t.fixes.map((x) => x.join(" "))];
  };
  const down = "#100=#100-1";

  it("counted down: all of them; the end left out, with the end a round lower as a fix; the start left out", () => {
    expect(counted(four, ...loop(57, "#100 GE 54", down))).toEqual([]);
    expect(counted(four, ...loop(57, "#100 GE 55", down))).toEqual([
      "6 default(3, 4, bracket op10, A1, )",
      "from 6 WHILE [#100 GE 54] DO1",
    ]);
    expect(counted(four, ...loop(57, "#100 GT 55", down))).toEqual([
      "6 default(2, 4, bracket op10, A1+A2, )",
      "from 6 WHILE [#100 GT 53] DO1",
    ]);
    // It must begin at G57 as well, which the condition does not say.
    expect(counted(four, ...loop(56, "#100 GE 54", down))).toEqual(["6 default(3, 4, bracket op10, A4, )"]);
    expect(counted(four, ...loop(56, "#100 GE 55", down))).toEqual(["6 default(2, 4, bracket op10, A1+A4, )"]);
  });
  it("one round only: which way it would go on is not known, unless it counts up by one", () => {
    expect(counted(four, ...loop(57, "#100 GE 57", down))).toEqual(["6 default(1, 4, bracket op10, A1+A2+A3, )"]);
    expect(counted(four, ...loop(54, "#100 GE 54", down))).toEqual(["6 default(1, 4, bracket op10, A2+A3+A4, )"]);
    expect(counted(four, ...loop(54, "#100 LE 55", "#100=#100+2"))).toEqual(["6 default(1, 4, bracket op10, A2+A3+A4, )"]);
  });
  it("it begins at an offset of no station: another end would not help", () => {
    expect(counted(four, ...loop(58, "#100 GE 54", down))).toEqual(["6 past(5, 4, bracket op10, , G58)"]);
    const later: Setup = {
      use: "three-stations",
      change: (s) => {
        for (const station of s.stations as Record<string, unknown>[]) station.offset = "G55";
      },
    };
    expect(counted(later, ...loop(54, "#100 LE 57"))).toEqual(["6 past(4, 3, bracket op10, , G54)"]);
    expect(counted(later, ...loop(54, "#100 LE 58"))).toEqual(["6 past(5, 3, bracket op10, , G54+G58)"]);
  });
  it("it leaves out the first and goes on past the last, further than the whole series beside", () => {
    // G55 … G59 for A1 to A4 at G54 … G57: A1 is left out, G58 and G59 are of no station.
    expect(counted(four, ...loop(55, "#100 LE 59"))).toEqual(["6 both(5, 4, bracket op10, A1, G58+G59)"]);
    // G55 … G58 is the whole series beside: offset-series alone.
    expect(counted(four, ...loop(55, "#100 LE 58"))).toEqual([]);
  });
  it("every other station: one finding with all that it leaves out", () => {
    expect(counted(four, ...loop(54, "#100 LE 57", "#100=#100+2"))).toEqual(["6 default(2, 4, bracket op10, A2+A4, )"]);
    expect(counted(four, ...loop(54, "#100 LE 57", "#100=#100+2"), ...loop(55, "#100 LE 57", "#100=#100+2"))).toEqual([]);
  });
  it("a called program selects, and the loop of its caller counts", () => {
    const sub = ["O300", "G#100", "M98 P100", "M99"];
    const by = (last: number) => [...["#100=54", `WHILE [#100 LE ${last}] DO1`, "M98 P300", "#100=#100+1", "END1"], ...[...END, ...sub]];
    expect(counted(four, ...by(56))).toEqual(["6 default(3, 4, bracket op10, A4, )", "from 6 WHILE [#100 LE 57] DO1"]);
    expect(counted(four, ...by(57))).toEqual([]);
    // Called by one block after another, nothing counts.
    const call = ["M98 P300", "#100=#100+1"];
    expect(tell("station-count", four, [...HEAD, "T1 M6", "#100=54", ...call, ...call, ...call, ...END, ...sub, ...LOOPED]).texts).toEqual(
      [],
    );
  });
  it("every other one from the second on; every other register, of which the stations have the first two", () => {
    expect(counted(four, ...loop(55, "#100 LE 57", "#100=#100+2"))).toEqual(["6 default(2, 4, bracket op10, A1+A3, )"]);
    const sparse: Setup = {
      use: "two-stations",
      change: (s) => {
        const [one] = s.stations as Record<string, unknown>[];
        const { repeat: _, ...rest } = one ?? {};
        s.stations = ["G54", "G56"].map((offset, k) => ({ ...rest, id: `A${k + 1}`, offset, at: [1 + 3 * k, 1] }));
      },
    };
    expect(counted(sparse, ...loop(54, "#100 LE 56", "#100=#100+2"))).toEqual([]);
    expect(counted(sparse, ...loop(54, "#100 LE 58", "#100=#100+2"))).toEqual([
      "6 past(3, 2, bracket op10, , G58)",
      "from 6 WHILE [#100 LE 56] DO1",
    ]);
  });
  it("a loop that goes to no station at all is told by its offsets alone", () => {
    const lines = [...HEAD, "T1 M6", "S4000 M3", ...loop(58, "#100 LE 59"), ...END, ...LOOPED];
    expect(tell("station-count", four, lines).texts).toEqual([]);
    expect(tell("offset-unmapped", four, lines).texts).toHaveLength(1);
  });
  it("two tools that leave out the same are two findings", () => {
    const one = loop(54, "#100 LE 56");
    expect(counted(four, ...one, "T2 M6", "S4000 M3", ...one).filter((x) => x.includes("default"))).toEqual([
      "6 default(3, 4, bracket op10, A4, )",
      "14 default(3, 4, bracket op10, A4, )",
    ]);
  });
  it("every depth goes to the stations again: the fix stays", () => {
    const depths = ["#101=0", "WHILE [#101 LT 2] DO2", ...loop(54, "#100 LE 56"), "#101=#101+1", "END2"];
    expect(counted(four, ...depths)).toEqual(["8 default(3, 4, bracket op10, A4, )", "from 8 WHILE [#100 LE 57] DO1"]);
  });
  it("over two ops: the count is that of both", () => {
    const ops: Setup = { use: "two-ops" };
    expect(counted(ops, ...loop(54, "#100 LE 56"))).toEqual([
      "6 default(3, 4, bracket op10+bracket op20, B2, )",
      "from 6 WHILE [#100 LE 57] DO1",
    ]);
    expect(counted(ops, ...loop(54, "#100 LE 58"))).toEqual([
      "6 past(5, 4, bracket op10+bracket op20, , G58)",
      "from 6 WHILE [#100 LE 57] DO1",
    ]);
  });
  it("two loops of one tool that leave out what lies between: the first that ends short", () => {
    // 57 56 and then 54: A2 lies behind the first; 54 and then 57 counted down: A2 and A3.
    expect(counted(four, ...loop(57, "#100 GE 56", down), ...loop(54, "#100 LE 54"))).toEqual([
      "6 default(2, 3, bracket op10, A2, )",
      "from 6 WHILE [#100 GE 55] DO1",
    ]);
    expect(counted(four, ...loop(54, "#100 LE 54"), ...loop(57, "#100 GE 57", down)).slice(0, 1)).toEqual([
      "6 default(1, 3, bracket op10, A2+A3, )",
    ]);
  });
  it("a repeat whose number is not that of the stations, or that begins too late, has no number to offer", () => {
    const repeat = (from: number, call: string, ...sub: string[]) => {
      const t = tell("station-count", four, [
        ...HEAD,
        "T1 M6",
        "S4000 M3",
        `#100=${from}`,
        call,
        ...END,
        "O100",
        ...sub,
        ...LOOPED.slice(1),
      ]);
      return [...t.texts.map((x) => x.replace(/^(\d+) "(.*)" (\S+?)\(.*?\), /, "$1 $2 $3(")), ...t.fixes.map((x) => x.join(" "))];
    };
    expect(repeat(53, "M98 P100 L3", "#100=#100+1", "G#100")).toEqual(["6 L3 repeat(3, 4, bracket op10, A4, )", "from 6 M98 P100 L4"]);
    expect(repeat(54, "M98 P100 L3", "#100=#100+1", "G#100")).toEqual(["6 L3 repeat(3, 4, bracket op10, A1, )"]);
    expect(repeat(58, "M98 P100 L3", "#100=#100-1", "G#100")).toEqual(["6 L3 repeat(3, 4, bracket op10, A1, )", "from 6 M98 P100 L4"]);
    // Twice at each of two stations.
    expect(repeat(54, "M98 P100 L4", "G[FIX[#100]]", "#100=#100+0.5")).toEqual(["6 L4 repeat(2, 4, bracket op10, A3+A4, )"]);
    expect(repeat(53, "M98 P100 L[1+2]", "#100=#100+1", "G#100")).toEqual(["6 L[1+2] repeat(3, 4, bracket op10, A4, )"]);
    expect(repeat(54, "M98 P100 L5", "#100=#100+1", "G#100")).toEqual(["6 L5 repeat-both(5, 4, bracket op10, A1, G58+G59)"]);
  });
});

describe("the whole series beside", () => {
  const series = (setup: Setup, ...lines: string[]) =>
    tell("offset-series", setup, ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", ...lines, "M30"]);
  const three: Setup = { use: "three-stations" };
  const from = (offset: string, change?: (s: Record<string, unknown>) => void): Setup => ({
    use: "three-stations",
    change: (s) => {
      for (const station of s.stations as Record<string, unknown>[]) station.offset = offset;
      change?.(s);
    },
  });
  it("one too high: every selection is named and changed", () => {
    const t = series(three, "G0 G55 X0 Y0", "G43 H1 Z50", "G56 X0 Y0", "G57 X0 Y0", "G55 X1");
    expect(t.texts).toEqual(['4 "G55" default(G55+G56+G57, G54+G55+G56); 6 related.more(G56); 7 related.more(G57); 8 related.more(G55)']);
    expect(t.fixes).toEqual([["from 4", "G0 G54 X0 Y0", "G43 H1 Z50", "G55 X0 Y0", "G56 X0 Y0", "G54 X1"]]);
    // That G57 is of no station is the same fault.
    expect(t.analysis.findings.filter((f) => f.rule === "offset-unmapped")).toEqual([]);
  });
  it("one too low", () => {
    const t = series(from("G55"), "G0 G54 X0 Y0", "G43 H1 Z50", "G55 X0 Y0", "G56 X0 Y0");
    expect(t.texts).toEqual(['4 "G54" default(G54+G55+G56, G55+G56+G57); 6 related.more(G55); 7 related.more(G56)']);
    expect(t.fixes).toEqual([["from 4", "G0 G55 X0 Y0", "G43 H1 Z50", "G56 X0 Y0", "G57 X0 Y0"]]);
  });
  it("in P", () => {
    const t = series(from("G54.1 P1"), "G0 G54.1 P2 X0 Y0", "G43 H1 Z50", "G54.1 P3 X0", "G54.1 P4 X0");
    expect(t.texts).toHaveLength(1);
    expect(t.fixes).toEqual([["from 4", "G0 G54.1 P1 X0 Y0", "G43 H1 Z50", "G54.1 P2 X0", "G54.1 P3 X0"]]);
  });
  it("not: the right ones, fewer, more, two beside, one of them a datum, no sidecar", () => {
    expect(series(three, "G0 G54 X0 Y0", "G55 X0", "G56 X0").texts).toEqual([]);
    expect(series(three, "G0 G55 X0 Y0", "G56 X0").texts).toEqual([]);
    expect(series(three, "G0 G55 X0 Y0", "G56 X0", "G57 X0", "G58 X0").texts).toEqual([]);
    expect(series(three, "G0 G56 X0 Y0", "G57 X0", "G58 X0").texts).toEqual([]);
    expect(series(three, "G0 G54 X0 Y0", "G55 X0", "G57 X0").texts).toEqual([]);
    expect(
      series(
        from("G54", (s) => void Object.assign(s, { datums: { G57: "probing" } })),
        "G0 G55 X0 Y0",
        "G56 X0",
        "G57 X0",
      ).texts,
    ).toEqual([]);
    expect(series({}, "G0 G55 X0 Y0", "G56 X0", "G57 X0").texts).toEqual([]);
    expect(series({ use: "two-stations", empty: ["A2"] }, "G0 G55 X0 Y0").texts).toEqual([]);
  });
  it("two of three loaded: those two count", () => {
    expect(series({ ...three, empty: ["A3"] }, "G0 G55 X0 Y0", "G56 X0").texts).toEqual([
      '4 "G55" default(G55+G56, G54+G55); 5 related.more(G56)',
    ]);
  });
  it("a selection that names no register is none of the series", () => {
    const t = series(three, "G0 G54.1 X1", "G55 X0 Y0", "G56 X0", "G57 X0");
    expect(t.texts).toEqual(['5 "G55" default(G55+G56+G57, G54+G55+G56); 6 related.more(G56); 7 related.more(G57)']);
  });
  it("a datum that the program goes to before is none of the series", () => {
    const datum = from("G54", (s) => void Object.assign(s, { datums: { G59: "probing" } }));
    const t = series(datum, "G0 G59 X0 Y0", "G55 X0 Y0", "G56 X0", "G57 X0", "G59 X0");
    expect(t.texts).toEqual(['5 "G55" default(G55+G56+G57, G54+G55+G56); 6 related.more(G56); 7 related.more(G57)']);
    expect(t.fixes).toEqual([["from 5", "G54 X0 Y0", "G55 X0", "G56 X0"]]);
  });
  it("a block in a loop is one place; a station that is not loaded is not where an offset belongs", () => {
    const t = series(three, "#1=0", "WHILE [#1 LT 2] DO1", "G0 G55 X0 Y0", "G56 X0", "G57 X0", "#1=#1+1", "END1");
    expect(t.texts).toEqual(['6 "G55" default(G55+G56+G57, G54+G55+G56); 7 related.more(G56); 8 related.more(G57)']);
    expect(series({ ...three, empty: ["A1"] }, "G0 G54 X0 Y0", "G55 X0").fixes).toEqual([["from 4", "G0 G55 X0 Y0", "G56 X0"]]);
  });
  it("computed by the block: no fix", () => {
    const t = series(three, "#1=55", "G0 G#1 X0 Y0", "#1=56", "G#1 X0", "#1=57", "G#1 X0");
    expect(t.texts).toHaveLength(1);
    expect(t.fixes).toEqual([]);
  });
});

describe("station-wrong-op: a program or path of the other op", () => {
  // A1, A2 (G54, G55) hold op10, B1, B2 (G56, G57) op20. Head 1 to 7; two lines for each station from 8 on.
  const head = [...HEAD, "T1 M6", "S4000 M3", "G0 G54 X0 Y0", "G43 H1 Z50"];
  const OTHER = ["O200", "G90 G0 X30 Y20", "Z2", "G1 Z-4 F300", "Y10", "G0 Z50", "M99"];
  const wrong = (setup: Setup, ...lines: string[]) => {
    const t = tell("station-wrong-op", setup, [...head, ...lines, ...END, ...SUB, ...OTHER]);
    return [...t.texts, ...t.fixes.map((f) => f.join(" "))];
  };
  const calls = (...list: [number, number][]) => list.flatMap(([offset, program]) => [`G${offset}`, `M98 P${program}`]);
  const ops: Setup = { use: "two-ops" };
  const said = (station: string, own: string, other: string, runs: string, instead: string) =>
    `default(${station}, bracket, ${own}, bracket, ${other}, ${T1}, ${runs}, ${instead}) at ${station}`;

  it("on the call, with a sibling's call related and its program as a fix", () => {
    expect(wrong(ops, ...calls([54, 100], [55, 100], [56, 200], [57, 100]))).toEqual([
      `14 "M98 P100" ${said("B2", "op20", "op10", "O100", "O200")}; 12 related.sibling(B1, O200)`,
      "from 14 M98 P200",
    ]);
    expect(wrong(ops, ...calls([54, 200], [55, 100], [56, 200], [57, 200]))).toEqual([
      `8 "M98 P200" ${said("A1", "op10", "op20", "O200", "O100")}; 10 related.sibling(A2, O100)`,
      "from 8 M98 P100",
    ]);
  });
  it("twice there is one finding", () => {
    expect(wrong(ops, ...calls([54, 100], [55, 100], [56, 200], [57, 100], [57, 100]))).toHaveLength(2);
  });
  it("the call is computed, or no M98: no fix", () => {
    const three = calls([54, 100], [55, 100], [56, 200]);
    expect(wrong(ops, ...three, "#1=100", "G57", "M98 P#1")).toEqual([
      `15 "M98 P#1" ${said("B2", "op20", "op10", "O100", "O200")}; 12 related.sibling(B1, O200)`,
    ]);
    expect(wrong(ops, ...three, "G57", "G65 P100")).toHaveLength(1);
    expect(wrong(ops, ...three, "G57", "P100 M98")[1]).toBe("from 14 P200 M98");
  });
  it("written out without programs: on the first cut", () => {
    const own = ["G0 X10 Y20", "Z2", "G1 Z-3 F300", "X40", "G0 Z50"];
    const other = ["G0 X30 Y20", "Z2", "G1 Z-4 F300", "Y10", "G0 Z50"];
    // Six lines for each station from 7 on: G54 7, G55 13, G56 19, G57 25; the cut is the fourth of them.
    expect(wrong(ops, "G54", ...own, "G55", ...own, "G56", ...other, "G57", ...own)).toEqual([
      `28 "G1 Z-3 F300" ${said("B2", "op20", "op10", "the path", "another path")}; 22 related.sibling(B1, another path)`,
    ]);
    expect(wrong(ops, "G54", ...own, "G55", ...own, "G56", "M98 P200", "G57", ...own)).toEqual([
      `24 "G1 Z-3 F300" ${said("B2", "op20", "op10", "the path", "O200")}; 20 related.sibling(B1, O200)`,
    ]);
  });
  it("not: both ops share it, the station has its own as well, half of the other op, each tool by itself, one op", () => {
    expect(wrong(ops, ...calls([54, 100], [55, 100], [56, 100], [57, 100]))).toEqual([]);
    expect(wrong(ops, ...calls([54, 100], [55, 100], [56, 200], [57, 200]))).toEqual([]);
    expect(wrong(ops, ...calls([54, 100], [55, 100], [56, 200], [57, 200], [57, 100]))).toEqual([]);
    expect(wrong(ops, ...calls([54, 100], [55, 100], [56, 200], [57, 100], [57, 200]))).toEqual([]);
    expect(wrong(ops, ...calls([54, 100], [56, 200], [57, 100]))).toEqual([]);
    expect(wrong(ops, ...calls([54, 100], [55, 100], [57, 100]))).toEqual([]);
    expect(wrong(ops, ...calls([54, 100], [55, 100]), "T2 M6", "G43 H2 Z50", ...calls([56, 200], [57, 100]))).toEqual([]);
    expect(wrong(four, ...calls([54, 100], [55, 100], [56, 200], [57, 100]))).toEqual([]);
    expect(wrong({ ...ops, blockSkip: true }, ...calls([54, 100], [55, 100], [56, 200], [57, 100]))).toEqual([]);
    expect(wrong({ ...ops, empty: ["B1", "B2"] }, ...calls([54, 100], [55, 100], [56, 200], [57, 100]))).toEqual([]);
  });
});

describe("station-drift: copies that differ in a word", () => {
  const three: Setup = { use: "three-stations" };
  const cut = (z = "-3", x = "40", y = "30", f = "300") => ["Z2", `G1 Z${z} F${f}`, `X${x}`, `Y${y}`, "G0 Z50"];
  const copy = (offset: number, lines = cut()) => [`G${offset} X10 Y20`, ...lines];
  // Head 1 to 5; A1's blocks 6 to 10 (its cut is 7); six lines for each further: A2 11 (cut 13), A3 17 (19), A4 23 (25).
  const drift = (setup: Setup, ...lines: string[]) => {
    const t = tell("station-drift", setup, [
      "G21 G17 G40 G49 G80 G90",
      "T1 M6",
      "S4000 M3",
      "G0 G54 X10 Y20",
      "G43 H1 Z50",
      ...lines,
      ...END,
    ]);
    return [...t.texts, ...t.fixes.map((f) => f.join(" "))];
  };
  it("one of three, one of four: on the word, with the others' as a fix", () => {
    expect(drift(three, ...cut("-3.2"), ...copy(55), ...copy(56, cut("-3.2")))).toEqual([
      `13 "Z-3" default(A2, Z-3, Z-3.2, 2, ${T1}) at A2; 7 related.sibling(A1)`,
      "from 13 G1 Z-3.2 F300",
    ]);
    expect(drift(three, ...cut("-3.2"), ...copy(55), ...copy(56))).toEqual([
      `7 "Z-3.2" default(A1, Z-3.2, Z-3, 2, ${T1}) at A1; 13 related.sibling(A2)`,
      "from 7 G1 Z-3 F300",
    ]);
    expect(drift(four, ...cut(), ...copy(55), ...copy(56), ...copy(57, cut("-3", "41")))).toEqual([
      `26 "X41" default(A4, X41, X40, 3, ${T1}) at A4; 8 related.sibling(A1)`,
      "from 26 X40",
    ]);
  });
  it("the feed counts; F0 has a rule of its own", () => {
    expect(drift(three, ...cut(), ...copy(55, cut("-3", "40", "30", "200")), ...copy(56))).toEqual([
      `13 "F200" default(A2, F200, F300, 2, ${T1}) at A2; 7 related.sibling(A1)`,
      "from 13 G1 Z-3 F300",
    ]);
    expect(drift(three, ...cut(), ...copy(55, cut("-3", "40", "30", "0")), ...copy(56))).toEqual([]);
  });
  it("two words are a few, three another path; the first is named", () => {
    expect(drift(three, ...cut(), ...copy(55), ...copy(56, cut("-3.2", "41")))).toEqual([
      `19 "Z-3.2" default(A3, Z-3.2, Z-3, 2, ${T1}) at A3; 7 related.sibling(A1)`,
      "from 19 G1 Z-3 F300",
    ]);
    expect(drift(three, ...cut(), ...copy(55), ...copy(56, cut("-3.2", "41", "31")))).toEqual([]);
  });
  it("computed by the block: no fix", () => {
    expect(drift(three, "#1=-3.2", ...cut(), ...copy(55, cut("#1")), ...copy(56))).toEqual([
      `14 "Z#1" default(A2, Z#1, Z-3, 2, ${T1}) at A2; 8 related.sibling(A1)`,
    ]);
  });
  it("the last cut counts too; a fix changes the motion", () => {
    expect(drift(three, ...cut(), ...copy(55, cut("-3", "40", "31")), ...copy(56))).toEqual([
      `15 "Y31" default(A2, Y31, Y30, 2, ${T1}) at A2; 9 related.sibling(A1)`,
      "from 15 Y30",
    ]);
    const lines = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X10 Y20", "G43 H1 Z50", ...cut()];
    const t = tell("station-drift", three, [...lines, ...copy(55, cut("-3.2")), ...copy(56), ...END]);
    expect(t.findings.flatMap((f) => f.fixes.map((x) => x.sameMotion))).toEqual([false]);
  });
  it("a program for each station is a copy; one that several stations use is meant", () => {
    const program = (n: number, z: string) => [`O${n}`, "G0 X10 Y20", ...cut(z), "M99"];
    const calls = (...list: number[]) => list.flatMap((n, k) => [`G${54 + k}`, `M98 P${n}`]);
    // Calls 6 to 11, the end 12 and 13, eight lines for each program: O101 14 (cut 17), O102 22 (cut 25).
    const each = drift(three, ...calls(101, 102, 103), ...END, ...program(101, "-3"), ...program(102, "-3.2"), ...program(103, "-3"));
    expect(each).toEqual([
      `25 "Z-3.2" default(A2, Z-3.2, Z-3, 2, ${T1}) at A2; 17 related.sibling(A1); 9 related.called-from()`,
      "from 25 G1 Z-3 F300",
    ]);
    expect(drift(three, ...calls(101, 102, 101), ...END, ...program(101, "-3"), ...program(102, "-3.2"))).toEqual([]);
  });
  it("each time that a tool comes again is compared by itself", () => {
    const again = (z: string, second: string) => [
      ...[...cut(), ...copy(55), ...copy(56)],
      ...[...copy(54, cut("-5")), ...copy(55, cut(z)), ...copy(56, cut(second))],
    ];
    expect(drift(three, ...again("-5", "-5"))).toEqual([]);
    // The second round begins at 23: A1 23 (cut 25), A2 29 (31), A3 35 (37).
    expect(drift(three, ...again("-5.5", "-5"))[0]).toBe(`31 "Z-5.5" default(A2, Z-5.5, Z-5, 2, ${T1}) at A2; 25 related.sibling(A1)`);
  });
  it("not: no majority, two stations, other blocks, the spelling alone, the way there and back, one that is turned", () => {
    expect(drift(three, ...cut(), ...copy(55, cut("-3.1")), ...copy(56, cut("-3.2")))).toEqual([]);
    expect(drift(four, ...cut(), ...copy(55), ...copy(56, cut("-3.2")), ...copy(57, cut("-3.2")))).toEqual([]);
    expect(drift({ use: "two-stations" }, ...cut(), ...copy(55, cut("-3.2")))).toEqual([]);
    expect(drift({ ...three, empty: ["A3"] }, ...cut(), ...copy(55, cut("-3.2")), ...copy(56))).toEqual([]);
    expect(drift(three, ...cut(), ...copy(55, ["Z2", "G1 Z-3 F300", "X20", "X40", "Y30", "G0 Z50"]), ...copy(56))).toEqual([]);
    expect(drift(three, ...cut(), ...copy(55, ["N5 Z2.", "G01 Z-3. F300 (X)", "X40.0", "Y30", "G00 Z50"]), ...copy(56))).toEqual([]);
    expect(drift(three, ...cut(), ...copy(55, ["Z3", ...cut().slice(1)]), ...copy(56))).toEqual([]);
    expect(drift(three, ...cut(), ...copy(55, [...cut().slice(0, 4), "G0 Z60"]), ...copy(56))).toEqual([]);
    expect(drift({ ...three, blockSkip: true }, ...cut(), ...copy(55, cut("-3.2")), ...copy(56))).toEqual([]);
  });
});

describe("station-wrong-face", () => {
  // F1 (G54) stands on the face at 0°, R1 (G55) on the one at 180°. Lines 1 and 2, then those given.
  const face = (...lines: string[]) =>
    tell("station-wrong-face", { use: "tombstone" }, ["G21 G17 G40 G49 G80 G90", "T1 M6", ...lines, "M30"]);
  const said = (...lines: string[]) => {
    const t = face(...lines);
    return [...t.texts, ...t.fixes.map((f) => f.join(" "))];
  };
  const home = "G28 G91 Z0";
  const atFront = [home, "G90 B0", "G0 G54 X10 Y10", "G43 H1 Z50", "G1 Z-2 F300", home];
  const wrong = (angle: number, tool = T1) => `default(R1, {"deg":180}, {"deg":${angle}}, ${tool}) at R1`;

  it("nothing was cut since the turn: its angle is changed", () => {
    expect(said(home, "G90 B90", "G0 G55 X10 Y10")).toEqual([`5 "G0 G55 X10 Y10" ${wrong(90)}; 4 related.index()`, "from 4 G90 B180"]);
  });
  it("another station was cut since: a turn of its own before the block, in absolute words and rapid", () => {
    expect(said(...atFront, "G90 G0 G55 X20 Y10")).toEqual([`9 "G90 G0 G55 X20 Y10" ${wrong(0)}; 4 related.index()`, "from 9 G90 G0 B180"]);
    expect(said(...atFront, "G90", "G0", "G55 X20 Y10")[1]).toBe("from 11 G0 B180");
    expect(said(...atFront, "G55 G90 G1 X20 Y10 F100")[1]).toBe("from 9 G90 G0 B180");
  });
  it("computed, or turned by a called program: the same", () => {
    expect(said("#1=90", home, "G90 B#1", "G0 G55 X10 Y10")).toEqual([
      `6 "G0 G55 X10 Y10" ${wrong(90)}; 5 related.index()`,
      "from 6 G0 B180",
    ]);
    expect(said(home, "G90", "M98 P100", "G0 G55 X10 Y10", "M30", "O100", "B90", "M99")[1]).toBe("from 6 G0 B180");
  });
  it("no fix where the tool is still down there", () => {
    expect(said(...atFront.slice(0, -1), "G55 X20 Y10")).toEqual([`8 "G55 X20 Y10" ${wrong(0)}; 4 related.index()`]);
  });
  it("one turn is one cause: again there, and with the next tool", () => {
    expect(said(...atFront, "G90 G0 G55 X20 Y10", "X30", "G54 X1", "G55 X2").slice(0, 1)).toEqual([
      `9 "G90 G0 G55 X20 Y10" ${wrong(0)}; 4 related.index(); 12 related.also-at(R1, {"deg":180}, {"deg":0}, ${T1})`,
    ]);
    expect(said(home, "G90 B0", "G0 G55 X20 Y10", "G43 H1 Z50", "T2 M6", "G55 X3", "G43 H2 Z50").slice(0, 1)).toEqual([
      `5 "G0 G55 X20 Y10" ${wrong(0)}; 4 related.index(); 8 related.also-at(R1, {"deg":180}, {"deg":0}, ${T2})`,
    ]);
  });
  it("modulo 360; not the way home or in machine coordinates, no turn known, the operator's loop, the offset of the tool before", () => {
    expect(said(home, "G90 B540", "G0 G55 X10 Y10")).toEqual([]);
    expect(said(home, "G90 B-180", "G0 G55 X10 Y10")).toEqual([]);
    expect(said(...atFront, "G55", home, "G90 G53 X0", "G4 P1")).toEqual([]);
    const unknown = face("G0 G54 X10 Y10");
    expect(unknown.texts).toEqual([]);
    expect(unknown.analysis.notChecked.map((n) => n.what.key)).toContain("station-wrong-face/what.face");
    expect(said(home, "G90 B0", "#100=54", "WHILE [#100 LE #500] DO1", "G#100 X1 Y1", "#100=#100+1", "END1")).toEqual([]);
    expect(said(...atFront, "G90 B180", "G55 X3", home, "G90 B0", "T2 M6", "G0 X3 Y3")).toEqual([]);
    expect(said(...atFront, "G55 X20 Y10")).toEqual([]);
  });
});
