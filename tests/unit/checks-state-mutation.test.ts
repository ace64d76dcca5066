/**
 * State that leaks from block to block, tool to tool and station to station: what each rule says in whole, and what it passes over,
 * worked out by hand from the catalogue of rules. Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { type Setup, tell } from "../support/tell.js";

const two: Setup = { use: "two-stations" };
const HEAD = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3"];
const off = (...rules: string[]): Setup => ({
  use: "two-stations",
  change: (s) => {
    s.levels = Object.fromEntries(rules.map((r) => [r, "off"]));
  },
});

describe("incremental-left and what follows from it", () => {
  // T2 and T3 go down by 300 and 200 from wherever they stand: into the base, were it told.
  const lines = (allow = "") => [
    ...[...HEAD, "G0 G54 X10 Y10", "G43 H1 Z50", "G91 G28 Z0", "G90 G0 X10 Y10", "Z50", "G91 G28 Z0", "T2 M6", `G54 X40 Y10${allow}`],
    ...["G43 H2 Z-330", "T3 M6", "G43 H3 Z-100", "X10", "M30"],
  ];
  const told = (setup: Setup, allow = "") =>
    tell("incremental-left", setup, lines(allow))
      .analysis.findings.filter((f) => f.level === "error" && f.waived === undefined)
      .map((f) => f.rule);
  it("alone, for all tools until G90", () => {
    expect(told(two)).toEqual(["incremental-left"]);
  });
  it("a cause that is switched off or waived hides nothing", () => {
    const follows = told(off("incremental-left"));
    expect(follows.length).toBeGreaterThan(0);
    expect(follows).not.toContain("incremental-left");
    expect(told(two, " (ALLOW incremental-left: meant as distances)")).toEqual(follows);
  });
});

/** The usual head and approach, five lines; what a rule says of the lines behind them, and its fixes. */
const UP = [...HEAD, "G0 G54 X10 Y10", "G43 H1 Z50"];
const T1 = "tool 1 (end mill 10)";
const T2 = "tool 2 (drill 6.8)";
const said = (rule: string, ...lines: string[]): readonly string[] => tell(rule, two, [...UP, ...lines, "M30"]).texts;
const fixed = (rule: string, ...lines: string[]): (readonly string[])[] => [...tell(rule, two, [...UP, ...lines, "M30"]).fixes];

describe("return-through-point", () => {
  const rule = "return-through-point";
  it("down to the point it names: by how much, where to, by which code; any way up is in order", () => {
    expect(said(rule, "G28 Z0")).toEqual([`6 "G28 Z0" default(${T1}, G28, Z, {"mm":50}, 0) at A1`]);
    expect(said(rule, "G30 Z2.5")).toEqual([`6 "G30 Z2.5" default(${T1}, G30, Z, {"mm":47.5}, 2.5) at A1`]);
    expect(tell(rule, two, [...UP, "G28 X0 Y0 Z10", "M30"]).findings[0]?.data).toEqual({ down: 40, tool: 1 });
    expect(tell(rule, {}, [...UP, "G28 Z0", "M30"]).texts).toEqual(['6 "G28 Z0" default(tool 1, G28, Z, {"mm":50}, 0)']);
    for (const fine of ["G28 Z50", "G28 Z50.0000001", "G28 Z100", "G28 X0 Y0", "G91 G28 Z-5", "G28 Z#500"])
      expect(said(rule, fine), fine).toEqual([]);
    expect(said(rule, "G28 Z49.9999")).toHaveLength(1);
  });
  it("on the way, into a clamp or the part, without going down: the fixed jaw stands at Y-40 to 0, up to Z-10", () => {
    const through = (z: string, ...lines: string[]) =>
      tell(rule, two, [...HEAD, "G0 G54 X10 Y-60", "G43 H1 Z50", `Z${z}`, ...lines, "M30"]);
    const t = through("-20", "G28 Y20 Z-15");
    expect(t.findings.map((f) => [f.place.range.line, f.message.key, f.message.args.solid, f.message.args.station, f.station])).toEqual([
      [6, "solid", "fixed jaw", "A1", "A1"],
    ]);
    expect(t.findings[0]?.data).toEqual({ down: 0, tool: 1 });
    expect(t.fixes).toEqual([["from 7", "G91 G28 Y0 Z0", "G90"]]);
    // Over it by 1.9 where 2 is asked for; the part stands up to Z0.
    expect(through("-8.1", "G28 Y-20").findings.map((f) => f.message.args.solid)).toEqual(["fixed jaw"]);
    expect(through("-7.9", "G28 Y-20").findings).toEqual([]);
    expect(through("-5", "G28 Y20").findings.map((f) => f.message.args.solid)).toEqual(["stock"]);
    // Down as well: that is said, with all that is known of the clamp; once for the move.
    expect(through("-20", "G28 Y20 Z-25").texts.map((x) => x.split("(")[0])).toEqual(['7 "G28 Y20 Z-25" default']);
    // Incremental, and back by way of a point that is named in increments.
    expect(through("-20", "G91 G28 Y80").findings).toEqual([]);
  });
  it("the fix names the place where the tool stands, in the program's habit", () => {
    expect(fixed(rule, "G28 Z0")).toEqual([["from 6", "G91 G28 Z0", "G90"]]);
    expect(fixed(rule, "G90 G28 X5 Z0.")).toEqual([["from 6", "G91 G28 X0 Z0", "G90"]]);
    expect(fixed(rule, "G0 G30 Z0")).toEqual([["from 6", "G0 G91 G30 Z0", "G90"]]);
    // Behind the last line there is no room for the G90.
    const last = UP.join("\n").replaceAll(" ", "");
    const [finding] = tell(rule, two, [...UP, "G28 Z0"]).findings;
    expect(finding?.fixes).toHaveLength(1);
    expect(tell(rule, two, [last, "G28Z0", "M30"]).fixes).toEqual([["from 6", "G91G28Z0", "G90"]]);
  });
  it("one block passed at several stations is one finding", () => {
    const t = tell(rule, two, [
      ...UP,
      "M98 P100",
      "G55 X10 Y10 Z50",
      "M98 P100",
      "M30",
      "O100",
      "G0 Z50",
      "G28 Z0",
      "G0 G43 H1 Z60",
      "M99",
    ]);
    expect(t.texts).toEqual([`12 "G28 Z0" default(${T1}, G28, Z, {"mm":50}, 0) at A1; 6 related.called-from(); 8 related.also-at(A2)`]);
    expect(t.findings[0]?.data).toEqual({ down: 50, tool: 1, stations: ["A1", "A2"] });
  });
});

describe("length-missing", () => {
  const rule = "length-missing";
  /** T2 over the part, lines 1 to 4. */
  const OVER = ["G21 G17 G40 G49 G80 G90", "T2 M6", "S3000 M3", "G0 G54 X30 Y20"];
  const over = (...lines: string[]) => tell(rule, two, [...OVER, ...lines, "M30"]);
  const own = (H: readonly number[], ...lines: string[]) =>
    tell(
      rule,
      {
        use: "two-stations",
        change: (s) => {
          Object.assign((s.tools as Record<string, object>)["2"] ?? {}, { H });
        },
      },
      [...OVER, ...lines, "M30"],
    );
  it("stands on the first Z, names the change and the first cut", () => {
    expect(over("Z20", "G1 Z-5 F200").texts).toEqual(['5 "Z20" default(2, NaN) at A1; 2 related.change(); 6 related.cut()']);
    expect(over("Z20 G1 F200 X3").texts).toEqual(['5 "Z20 G1 F200 X3" default(2, NaN) at A1; 2 related.change()']);
    expect(over("G2 X10 Z-5 I3 F200 G18").texts).toEqual(['5 "G2 X10 Z-5 I3 F200 G18" default(2, NaN) at A1; 2 related.change()']);
    expect(over("G43 H2 Z20", "G49", "G1 Z-5 F200").texts).toEqual(['7 "G1 Z-5 F200" default(2, NaN) at A1; 2 related.change()']);
    expect(over("Z20", "G1 Z-5 F200").findings[0]?.data).toEqual({ tool: 2 });
  });
  it("nothing: no Z, no cut, in machine coordinates or home, a tool that is not there or not known, the control does it", () => {
    for (const lines of [
      ["G1 X50 F200", "Y9"],
      ["G0 Z20", "X3"],
      ["G53 Z0", "G1 X3 F200"],
      ["G28 Z50", "G1 X3 F200"],
      ["G92 Z20", "G1 Z-5 F200"],
      ["G43.4 H2 Z20", "G1 Z-5 F200"],
      ["G44 H2 Z20", "G1 Z-5 F200"],
      ["G234 H2 Z20", "G1 Z-5 F200"],
      ["IF [#500 EQ 1] GOTO 10", "G43 H2", "N10 G0 Z20", "G1 Z-5 F200"],
      ["G43 H2 Z20", "IF [#500 EQ 1] GOTO 10", "G49", "N10 G1 Z-5 F200"],
    ])
      expect(over(...lines).texts, lines.join("|")).toEqual([]);
    for (const change of ["T0 M6", "T#500 M6", "M8"])
      expect(tell(rule, two, ["G21 G90", "G43 H1", "G49", change, "G54 G0 X0 Y0", "Z50", "G1 Z-1 F99", "M30"]).texts, change).toEqual([]);
    // Switched off, an H alone brings it back no more.
    expect(over("G43 H2 Z20", "G49", "H2 Z5", "G1 Z-5 F200").texts.map((x) => x.split(";")[0])).toEqual([
      '7 "H2 Z5" default(2, NaN) at A1',
    ]);
    // Touched off in the block of the change itself.
    expect(tell(rule, two, ["G21 G90", "T2 M6 G92 Z99", "S3 M3", "G54 X30 Y20", "Z20", "G1 Z-5 F9", "M30"]).texts).toEqual([]);
    // A tool of unknown length stands 50 below home and goes across; the next tool stays at the height of the one before.
    for (const lines of [
      ["T9 M6", "S3 M3", "G28 G91 Z0", "G90 G53 Z-50", "G54 X1 Y1", "G1 X5 F9"],
      ["T1 M6", "S3 M3", "G54 X0 Y0", "Z50", "T2 M6", "X1 Y1", "Z50", "G1 X5 F9"],
    ])
      expect(tell(rule, two, ["G21 G90", ...lines, "M30"]).texts, lines.join("|")).toEqual([]);
    // A touched-off Z is one with a Z in it, since the change.
    expect(over("G92 X20", "Z3", "G1 Z-5 F200").texts).toHaveLength(1);
    expect(over("G53 Z0", "G1 X3 F200", "Z-2").texts.map((x) => x.split(" default")[0])).toEqual(['7 "Z-2"']);
  });
  it("H0 is no length, unless the sidecar lists it", () => {
    expect(over("G43 H0 Z20", "G1 Z-5 F200").texts).toEqual(['5 "G43 H0 Z20" zero(2, 0) at A1; 2 related.change(); 6 related.cut()']);
    expect(own([0, 2], "G43 H0 Z20", "G1 Z-5 F200").texts).toEqual([]);
    expect(tell(rule, {}, [...OVER, "G43 H0 Z20", "G1 Z-5 F200", "M30"]).texts.map((x) => x.split(";")[0])).toEqual([
      '5 "G43 H0 Z20" zero(2, 0)',
    ]);
    expect(own([22, 2], "G43 H0 Z20", "G1 Z-5 F200").fixes).toEqual([["from 5", "G43 H22 Z20"]]);
  });
  it("the H of the sidecar is offered before the Z; an H without G43 in force is none and gets it", () => {
    expect(own([22, 2], "G0 Z20", "G1 Z-5 F200").fixes).toEqual([["from 5", "G0 G43 H22 Z20"]]);
    expect(own([22, 2], "G0 Z20", "G1 Z-5 F200").findings[0]?.fixes[0]?.title).toEqual({ key: "fix.add", args: { h: 22 } });
    expect(tell(rule, {}, [...OVER, "Z5 X3", "G1 Z-5 F200", "G43 H2 Z9", "M30"]).fixes).toEqual([["from 5", "G43 H2 Z5 X3"]]);
    const h = over("H0 Z20", "G1 Z-5 F200");
    expect(h.texts).toEqual(['5 "H0 Z20" default(2, NaN) at A1; 2 related.change(); 6 related.cut()']);
    expect(h.fixes).toEqual([["from 5", "G43 H2 Z20"]]);
    expect(h.findings[0]?.fixes[0]?.title).toEqual({ key: "fix.add", args: { h: 2 } });
    expect(over("G43 H0 Z20", "G1 Z-5 F200").findings[0]?.fixes[0]?.title).toEqual({ key: "fix.own", args: { h: 2 } });
    expect(over("G44 H0 Z20", "G1 Z-5 F200").fixes).toEqual([["from 5", "G44 H2 Z20"]]);
    expect(over("G91 G1 Z-20 F200").fixes).toEqual([["from 5", "G91 G1 G43 H2 Z-20 F200"]]);
    // Each of them moves the tool elsewhere.
    for (const z of ["Z20", "H0 Z20", "G43 H0 Z20"])
      expect(
        over(z, "G1 Z-5 F200").findings.flatMap((f) => f.fixes.map((x) => x.sameMotion)),
        z,
      ).toEqual([false]);
  });
  it("of the tool before; an H alone is taken by the G43 that is still in force", () => {
    const next = (...lines: string[]) =>
      tell(rule, two, [...UP, "G1 Z-1 F99", "G0 Z50", "T2 M6", "S9 M3", "G0 X1 Y1", ...lines, "G1 Z-3", "M30"]).texts;
    expect(next("Z10")).toEqual(['11 "Z10" stale(2, 1) at A1; 8 related.change(); 12 related.cut()']);
    expect(next("H2 Z10")).toEqual([]);
    const bare = tell(rule, two, [...UP, "G1 Z-1 F99", "G0 Z50", "T2 M6", "S9 M3", "G0 X1 Y1", "G43 Z10", "G1 Z-3", "M30"]);
    expect(bare.fixes).toEqual([["from 11", "G43 H2 Z10"]]);
    expect(bare.findings[0]?.fixes[0]).toMatchObject({ title: { key: "fix.own", args: { h: 2 } }, sameMotion: false });
    // The H may have been named in the very first block; of a tool that the sidecar does not know it is that of its number.
    const first = (...lines: string[]) =>
      tell(rule, two, ["G43 H1 G90 G21", ...lines, "S3 M3", "G54 X1 Y1", "G43 Z10", "G1 Z-3 F9", "M30"]);
    expect(first("T2 M6").texts.map((x) => x.split(" at ")[0])).toEqual(['5 "G43 Z10" bare(2, 1)']);
    expect(first("T9 M6").fixes).toEqual([["from 5", "G43 H9 Z10"]]);
    expect(tell(rule, two, ["G21 G90", "T2 M6 G43 H2", "S3 M3", "G0 G54 X1 Y1", "Z10", "G1 Z-3 F9", "M30"]).texts).toEqual([]);
    expect(tell(rule, two, ["G21 G90", "T9 M6", "S3 M3", "G54 X1 Y1", "G43 H0 Z10", "G1 Z-3 F9", "M30"]).texts).toHaveLength(1);
    // G43 in the block of the change takes the H of the tool before as well.
    const change = [...UP, "G1 Z-1 F99", "G0 Z50", "T2 M6 G43", "S9 M3", "G0 X1 Y1", "Z10", "G1 Z-3", "M30"];
    expect(tell(rule, two, change).texts).toEqual(['11 "Z10" bare(2, 1) at A1; 8 related.change(); 12 related.cut()']);
    expect(next("H0 Z10")).toEqual(['11 "H0 Z10" zero(2, 0) at A1; 8 related.change(); 12 related.cut()']);
    // An H holds until the next one (common practice, no source), so G43 alone takes that of T1: ruling 41, the H of the last tool.
    expect(next("G43 Z10")).toEqual(['11 "G43 Z10" bare(2, 1) at A1; 8 related.change(); 12 related.cut()']);
    expect(next("G43 H2", "G43 Z10")).toEqual([]);
    expect(next("G43 H0", "G43 Z10")).toEqual(['12 "G43 Z10" zero(2, 0) at A1; 8 related.change(); 13 related.cut()']);
  });
  it("G43 without any H: the control's own number where no block ever names one, else nobody's", () => {
    const down = [...OVER, "G43 Z20", "G1 Z-3 F9", "G0 Z50"];
    expect(tell(rule, two, [...down, "M30"]).texts).toEqual([]);
    const t = tell(rule, two, [...down, "T1 M6", "S9 M3", "G43 H1 Z10", "G1 Z-3", "M30"]);
    expect(t.texts).toEqual(['5 "G43 Z20" bare-none(2, NaN) at A1; 2 related.change(); 6 related.cut()']);
    expect(t.fixes).toEqual([["from 5", "G43 H2 Z20"]]);
  });
  it("a dialect that does not say what G43 does: what is in force is not known", () => {
    const bare = (...lines: string[]) => tell(rule, { dialect: "bare" }, ["N1 G90 G71", "N2 T1 M06", "N3 S900 M03", ...lines, "M30"]).texts;
    expect(bare("N4 G43 H1 Z50.", "N5 G01 Z-2. F300")).toEqual([]);
  });
  it("a program that never states one has one habit that is wrong; without a sidecar it may be the control's", () => {
    const lines = [...HEAD, "G54 G0 X0 Y0", "Z50", "G1 Z-1 F99", "G0 Z50", "T2 M6", "G0 X1 Y1", "Z10", "G1 Z-3", "M30"];
    expect(tell(rule, two, lines).texts).toEqual([
      '5 "Z50" default(1, NaN) at A1; 2 related.change(); 6 related.cut(); 10 related.tool(2, NaN)',
    ]);
    const bare = tell(rule, {}, lines);
    expect(bare.texts).toEqual([]);
    expect(bare.analysis.notChecked.filter((n) => n.what.key === `${rule}/what.length`)).toEqual(
      [1, 2].map((tool) => ({ what: { key: `${rule}/what.length`, args: { tool } }, why: { key: `${rule}/why.never`, args: {} } })),
    );
    // Across alone is no way down.
    expect(tell(rule, {}, [...HEAD, "G54 G0 X0 Y0", "G1 X9 F99", "M30"]).analysis.notChecked.map((n) => n.what.key)).toEqual([
      "what.fixture",
    ]);
    // One G43 anywhere shows that it is asked for, also in the very first block.
    expect(tell(rule, {}, ["G43 H1 G90", ...OVER.slice(1), "Z20", "G1 Z-5 F200", "M30"]).texts).toEqual([
      '5 "Z20" stale(2, 1); 2 related.change(); 6 related.cut()',
    ]);
    expect(tell(rule, {}, [...lines.slice(0, -1), "T3 M6", "G43 H3 Z9", "M30"]).texts.map((x) => x.split(";")[0])).toEqual([
      '5 "Z50" default(1, NaN)',
      '10 "Z10" default(2, NaN)',
    ]);
  });
  it("a program that is not here may set it, where it is called between the change and the cut", () => {
    for (const lines of [
      ["M98 P9", "G0 Z20", "G1 Z-5 F100"],
      ["G65 P9 A1", "G0 Z20", "G1 Z-5 F100"],
      ["G0 Z20", "M98 P9", "G1 Z-5 F100"],
    ]) {
      const t = over(...lines);
      expect(t.texts, lines.join("|")).toEqual([]);
      expect(t.analysis.notChecked.filter((n) => n.why.key === `${rule}/why.called`).map((n) => n.what.args)).toEqual([{ tool: 2 }]);
    }
    expect(over("G0 Z20", "G1 Z-5 F100", "M98 P9").texts).toHaveLength(1);
    expect(over("M98 P100", "G0 Z20", "G1 Z-5 F100", "M30", "O100", "M8", "M99").texts.map((x) => x.split(" default")[0])).toEqual([
      '6 "G0 Z20"',
    ]);
    expect(tell(rule, two, ["G21 G90", "M98 P9", ...OVER.slice(1), "Z20", "G1 Z-5 F1", "M30"]).texts).toHaveLength(1);
  });
});

describe("length-mismatch", () => {
  const rule = "length-mismatch";
  it("whose it is, what the tool has, and its own as a fix", () => {
    const t = tell(rule, two, [...UP, "G43 H2 Z50", "G43 H2 Z40", "M30"]);
    expect(t.texts).toEqual([
      expect.stringMatching(/^6 "H2" other\(2, 1, H1, 2\); \d+ related\.tool\(\); 7 related\.more\(2, 1, H1, 2\)$/),
    ]);
    expect(t.findings[0]?.related[0]?.place.file).toBe("/case/fixture.json");
    expect(t.fixes).toEqual([["from 6", "G43 H1 Z50"]]);
    expect(t.findings[0]?.data).toEqual({ tool: 1, h: 2 });
    expect(t.findings[0]?.fixes[0]?.sameMotion).toBe(false);
    expect(said(rule, "G43 H9 Z50").map((x) => x.split(";")[0])).toEqual(['6 "H9" default(9, 1, H1, )']);
    expect(fixed(rule, "#100=2", "G43 H#100 Z50")).toEqual([]);
    expect(said(rule, "#100=2", "G43 H#100 Z50")).toHaveLength(1);
  });
  it("not: cancelled, H0, not known, a register written, no tool", () => {
    for (const line of ["G49 H2", "G43 H0 Z50", "G43 H#500 Z50", "G10 L11 P2 R0 H2", "G43 H1 Z50"])
      expect(said(rule, line), line).toEqual([]);
    expect(tell(rule, two, ["G21 G90", "G43 H2 Z50", "T0 M6", "G43 H2 Z50", "T#500 M6", "G43 H2 Z50", "M30"]).texts).toEqual([]);
  });
  it("a macro that takes the right length for another tool was given the wrong number: told where it is called", () => {
    const macro = (h: string, first: string, second: string, ...before: string[]) =>
      tell(rule, two, [...UP, ...before, `G65 P9 ${first}`, "T2 M6", `G65 P9 ${second}`, "M30", "O9", `G43 H${h} Z50`, "M99"]);
    const t = macro("#11", "H1", "H1");
    expect(t.texts).toEqual([expect.stringMatching(/^8 "H1" other\(1, 2, H2, 1\); \d+ related\.tool\(\); 11 related\.taken\(\)/)]);
    expect(t.fixes).toEqual([["from 8", "G65 P9 H2"]]);
    // By another letter the number may mean something else as well.
    const other = macro("#1", "A1", "A1");
    expect(other.texts.map((x) => x.split(" other")[0])).toEqual(['8 "A1"']);
    expect(other.fixes).toEqual([]);
    // Where it takes the right one for none, the macro itself is at fault, whatever other blocks do.
    const none = macro("[#11+1]", "H1", "H2", "G43 H1 Z50");
    expect(none.texts.map((x) => x.split(" ").slice(0, 2).join(" "))).toEqual(
      ['12 "H[#11+1]"', '12 "H[#11+1]"'].slice(0, none.texts.length),
    );
    expect(none.texts.length).toBeGreaterThan(0);
    expect(none.fixes).toEqual([]);
  });
  it("not: where it is not known whether G43 is in force, and of a tool for which the sidecar lists none", () => {
    expect(said(rule, "IF [#500 EQ 1] GOTO 10", "G49", "N10 X5 H2")).toEqual([]);
    expect(said(rule, "G49", "IF [#500 EQ 1] GOTO 10", "G43 H1", "N10 X5 H2")).toEqual([]);
    expect(said(rule, "IF [#500 EQ 1] GOTO 10", "G40", "N10 X5 H2")).toHaveLength(1);
    const none: Setup = {
      use: "two-stations",
      change: (s) => {
        Object.assign((s.tools as Record<string, object>)["1"] ?? {}, { H: [] });
      },
    };
    expect(tell(rule, none, [...UP, "G43 H2 Z50", "M30"]).texts).toEqual([]);
  });
  it("without the sidecar: where three tools of four or more have the H of their own number", () => {
    const uses = (...pairs: (readonly [number, number])[]) =>
      tell(rule, {}, ["G21 G90", ...pairs.flatMap(([t, h]) => [`T${t} M6`, `G43 H${h} Z50`]), "M30"]).texts;
    expect(uses([1, 1], [2, 2], [3, 3], [4, 5])).toEqual(['9 "H5" convention(5, 4, H4, )']);
    expect(uses([1, 1], [2, 2], [3, 4])).toEqual([]);
    expect(uses([1, 1], [2, 5])).toEqual([]);
    expect(uses([1, 1], [2, 2], [1, 1], [2, 5])).toEqual([]);
    expect(uses([1, 1], [2, 2], [3, 3])).toEqual([]);
  });
});

describe("machine-move-once", () => {
  const rule = "machine-move-once";
  it("the next block with axes that repeats one of the values, whatever stands between", () => {
    const t = tell(rule, two, [...UP, "G53 X1 Y2 Z0", "X3 Y2 Z5", "M30"]);
    expect(t.texts).toEqual(['7 "X3 Y2 Z5" default(Y, 2) at A1; 6 related.machine()']);
    expect(t.fixes).toEqual([["from 7", "G53 X3 Y2 Z5"]]);
    expect(said(rule, "G53 Z0", "M8", "(UP)", "Z0")).toEqual(['9 "Z0" default(Z, 0) at A1; 6 related.machine()']);
    expect(said(rule, "G53 Z0", "G53 Z0", "Z0")).toEqual(['8 "Z0" default(Z, 0) at A1; 7 related.machine()']);
    expect(said(rule, "G53 Z0", "Z0", "Z0")).toHaveLength(1);
    expect(said(rule, "G53 Z-10.5", "G1 Z-10.5 F9")).toEqual(['7 "G1 Z-10.5 F9" default(Z, -10.5) at A1; 6 related.machine()']);
    expect(tell(rule, {}, [...UP, "G53 Z0", "Z0", "M30"]).texts).toEqual(['7 "Z0" default(Z, 0); 6 related.machine()']);
  });
  it("the number as the program has it, in either units", () => {
    const inch = (units: string): Setup => ({ use: "two-stations", change: (s) => void Object.assign(s, { units }) });
    for (const units of ["mm", "inch"])
      expect(
        tell(rule, inch(units), ["G20 G90", "T1 M6", "G54 G43 H1 Z2.", "G53 Z-1.25", "Z-1.25", "M30"]).findings[0]?.message.args,
        units,
      ).toEqual({
        axis: "Z",
        value: "-1.25",
      });
  });
  it("nothing: another value, another offset, tool or mode, another use of the axis words, only the first block counts", () => {
    for (const lines of [
      ["G53 Z0", "Z1"],
      ["G53 Z0", "Z1", "Z0"],
      ["G53 Z0", "X0"],
      ["G53 Z0", "G54", "Z0"],
      ["G53 Z0", "G54 Z0"],
      ["G53 Z0", "T2 M6", "Z0"],
      ["G53 Z0", "G91", "Z0"],
      ["G91", "G53 Z0", "Z0"],
      ["G53 G0", "Z0"],
      ["G53 Z0", "G53 G1", "Z0"],
      ["G53 A0", "A0"],
      ["G53 Z#500", "Z#500"],
      ["G53 Z0", "L2 Z0"],
      ["G53 Z0", "G0 Z0 A"],
    ])
      expect(said(rule, ...lines), lines.join("|")).toEqual([]);
    for (const other of ["G4 X0", "G10 L2 P1 Z0", "G28 Z0", "G30 Z0", "G31 Z0 F9", "G50 Z0", "G51 Z0 P2", "G51.1 Z0", "G50.1 Z0", "G52 Z0"])
      expect(said(rule, "G53 X0 Z0", other), other).toEqual([]);
    for (const other of ["G65 P9 Z0", "G66 P9 Z0", "G68 X0 Y0 R3", "G92 Z0"]) expect(said(rule, "G53 X0 Z0", other), other).toEqual([]);
  });
});

describe("shift-left", () => {
  const rule = "shift-left";
  it("the offset that finds the shift, where it was set, and every further one", () => {
    const t = tell(rule, two, [...UP, "G52 X30 Y-5 Z.5", "X1", "G55 X1 Y1", "G54 X1", "M30"]);
    const shift = "X30 Y-5 Z0.5";
    expect(t.texts).toEqual([`8 "G55" default(G55, ${shift}) at A2; 6 related.shift(G55, ${shift}); 9 related.again(G54, ${shift})`]);
    expect(t.findings[0]?.data).toEqual({ shift: [30, -5, 0.5], stations: ["A2", "A1"] });
    expect(t.fixes).toEqual([["from 8", "G52 X0 Y0 Z0"]]);
    expect(said(rule, "G52 X30 Y0", "G52 X5", "G55 X1")).toEqual(['8 "G55" default(G55, X5) at A2; 7 related.shift(G55, X5)']);
    expect(said(rule, "G52 X#500 Y3", "G55 X1")).toEqual(['7 "G55" default(G55, Y3) at A2; 6 related.shift(G55, Y3)']);
    // The shift of a called program, in both its calls.
    expect(said(rule, "M98 P100", "G55 X1", "G52 X0", "M98 P100", "G54 X1", "M30", "O100", "G52 X30", "X1", "M99")).toEqual([
      '7 "G55" default(G55, X30) at A2; 13 related.shift(G55, X30); 10 related.again(G54, X30)',
    ]);
  });
  it("the zeroing goes before the block, indented and skipped as it is", () => {
    expect(fixed(rule, "G52 X30", "  G55 X1")).toEqual([["from 7", "  G52 X0 Y0 Z0"]]);
    expect(fixed(rule, "G52 X30", "/ G55 X1")).toEqual([["from 7", "/ G52 X0 Y0 Z0"]]);
  });
  it("nothing: zeroed, set anew before anything moves, no motion there, not known, next to nothing, the offset restated", () => {
    for (const lines of [
      ["G52 X30", "X1", "G52 X0", "G55 X1"],
      ["G52 X30", "G55", "G52 X0", "X1"],
      ["G52 X30", "G55", "G52 X31", "X1"],
      ["G52 X30", "G55"],
      ["G52 X30", "G55", "G28 G91 Z0"],
      ["G52 X#500", "G55 X1"],
      ["G52 X0.0000000001", "G55 X1"],
      ["G52 X30", "G54 X1"],
    ])
      expect(said(rule, ...lines), lines.join("|")).toEqual([]);
    const own: Setup = {
      use: "two-stations",
      change: (s) => void Object.assign(s.machine ?? {}, { dialect: { extends: "iso", g52Reach: "none" } }),
    };
    expect(tell(rule, own, [...UP, "G52 X30", "G55 X1", "M30"]).texts).toEqual([]);
  });
  it("declared where it was set", () => {
    const t = tell(rule, two, [...UP, "G52 X30 (ALLOW shift-left: meant)", "X1", "G55 X1", "M30"]);
    expect(t.findings.map((f) => f.waived)).toEqual(["meant"]);
  });
});

describe("transform-left", () => {
  const rule = "transform-left";
  it.each([
    ["G68 X0 Y0 R30", "the rotation (G68)", "G69"],
    ["G51.1 X0", "the mirror image", "G50.1 X0 Y0"],
    ["G51 X0 Y0 P2", "the scaling (G51)", "G50"],
    ["G16", "the polar mode (G16)", "G15"],
  ])("%s: what it is, where it was switched on, how to cancel it", (on, what, off) => {
    const t = tell(rule, two, [...UP, on, "X1 Y9", "G55 X1 Y9", "G54 X2 Y9", "M30"]);
    expect(t.texts).toEqual([`8 "G55" default(G55, ${what}) at A2; 6 related.set(G55, ${what}); 9 related.again(G54, ${what})`]);
    expect(t.fixes).toEqual([["from 8", off]]);
    // Cancelled; at the new station before it moves; switched on there; switched off and on there; never moves there.
    for (const lines of [
      [on, "X1 Y9", off, "G55 X1 Y9"],
      [on, "X1 Y9", "G55", off, "X1 Y9"],
      ["G55", on, "X1 Y9"],
      [on, "X1 Y9", "G55", off, on, "X1 Y9"],
      [on, "X1 Y9", "G55", "G28 G91 Z0"],
    ])
      expect(said(rule, ...lines), lines.join("|")).toEqual([]);
  });
  it("the last block that brought it about; of two the rotation first, the mirror before the scaling, both before polar", () => {
    expect(said(rule, "G68 X0 Y0 R30", "G68 X0 Y0 R40", "X1", "G55 X1").map((x) => x.split(";")[1])).toEqual([
      " 7 related.set(G55, the rotation (G68))",
    ]);
    expect(said(rule, "G51.1 X0", "G51.1 Y0", "X1", "G55 X1").map((x) => x.split(";")[1])).toEqual([
      " 7 related.set(G55, the mirror image)",
    ]);
    expect(said(rule, "G51 X0 Y0 P2", "G51 X0 Y0 P3", "X1", "G55 X1").map((x) => x.split(";")[1])).toEqual([
      " 7 related.set(G55, the scaling (G51))",
    ]);
    const first = (...on: string[]) =>
      tell(rule, two, [...UP, ...on, "X1 Y9", "G55 X1 Y9", "M30"]).findings.map((f) => f.message.args.what);
    expect(first("G16", "G68 X0 Y0 R30")).toEqual(["the rotation (G68)"]);
    expect(first("G51 X0 Y0 P2", "G51.1 X0")).toEqual(["the mirror image"]);
    expect(first("G16", "G51 X0 Y0 P2")).toEqual(["the scaling (G51)"]);
  });
  it("nothing: by nothing, or not known", () => {
    for (const on of ["G68 X0 Y0 R0", "G51 X0 Y0 P1", "G68 X0 Y0 R#500"]) expect(said(rule, on, "X1", "G55 X1"), on).toEqual([]);
    expect(said(rule, "IF [#500 EQ 1] GOTO 10", "G68 X0 Y0 R30", "N10 X1", "G55 X1")).toEqual([]);
  });
});

describe("compensation-left", () => {
  const rule = "compensation-left";
  const ON = ["G1 Z-3 F300", "G41 D1 X0 Y-10", "Y40"];
  it("at the offset, the tool or the face, the first of them; where it was switched on", () => {
    const left = (...lines: string[]) => said(rule, ...ON, ...lines);
    expect(left("G0 Z50", "G55 X-20")).toEqual(['10 "G55" default(G41, the work offset) at A2; 7 related.on(G41)']);
    expect(left("T2 M6", "X1")).toEqual(['9 "T2 M6" default(G41, the tool) at A1; 7 related.on(G41)']);
    expect(left("G55 T2 M6", "X1").map((x) => x.split(" at ")[0])).toEqual(['9 "G55" default(G41, the work offset)']);
    expect(left("G55 X1", "G54 X1")).toEqual([
      '9 "G55" default(G41, the work offset) at A2; 7 related.on(G41); 10 related.again(G41, the work offset)',
    ]);
    expect(said(rule, "G1 Z-3 F300", "G42 D1 X0 Y-10", "G55 X5")).toEqual([
      '8 "G55" default(G42, the work offset) at A2; 7 related.on(G42)',
    ]);
  });
  it("a turn to another angle, known before and after", () => {
    const turned = (...lines: string[]) =>
      tell(rule, { use: "tombstone" }, [...HEAD, ...lines, "M30"]).texts.map((x) => x.split(" at ")[0]);
    const cut = ["G0 G54 X10 Y10", "G43 H1 Z50", ...ON];
    expect(turned("B0", ...cut, "B180")).toEqual(['10 "B180" default(G41, the rotary angle)']);
    expect(turned("B0", ...cut, "B0")).toEqual([]);
    expect(turned(...cut, "B180")).toEqual([]);
    expect(turned("B0", ...cut, "B#500", "B90")).toEqual([]);
  });
  it("nothing: cancelled, in the same block, the same offset, none switched on, not known", () => {
    for (const lines of [
      [...ON, "G40 X-20", "G55 X1"],
      [...ON, "G40 G55 X1"],
      [...ON, "G54 X1"],
      ["G55", "G41 D1 X0 Y-10"],
      ["IF [#500 EQ 1] GOTO 10", ...ON, "N10 X1", "G55 X1"],
    ])
      expect(said(rule, ...lines), lines.join("|")).toEqual([]);
  });
});

describe("cycle-left", () => {
  const rule = "cycle-left";
  /** T2 drills at A1; the cycle is switched on in line 6. */
  const DRILL = ["G21 G17 G40 G49 G80 G90", "T2 M6", "S2000 M3", "G0 G54 X10 Y10", "G43 H2 Z50", "G98 G81 X10 Y10 Z-8 R2 F200"];
  const on = (...lines: string[]) => tell(rule, two, [...DRILL, ...lines, "M30"]);
  const left = (...lines: string[]) => on(...lines).texts;
  it("at the next offset, each one after the other; G80 before it", () => {
    const t = on("G55 X10", "G54 X20");
    expect(t.texts).toEqual(['7 "G55" default(G81, G55) at A2; 6 related.cycle(G81); 8 related.again(G81, G54)']);
    expect(t.fixes).toEqual([["from 7", "G80"]]);
    expect(on("/ G55 X10", "X20").fixes).toEqual([["from 7", "/ G80"]]);
    expect(left("M98 P100", "X3", "M30", "O100", "G55 X10", "M99")).toEqual([
      '11 "G55" default(G81, G55) at A2; 6 related.cycle(G81); 7 related.called-from()',
    ]);
    expect(left("X40", "G82 X50", "G55 X10").map((x) => x.split(";")[1])).toEqual([" 8 related.cycle(G82)"]);
  });
  it.each(["G73", "G74", "G76", "G81", "G82", "G83", "G84", "G85", "G86", "G87", "G88", "G89"])("%s is one", (code) => {
    const t = tell(rule, two, [...DRILL.slice(0, 5), `${code} X10 Y10 Z-8 R2 Q2 F200`, "G55 X1", "M30"]);
    expect(t.findings.map((f) => [f.message.key, f.message.args.cycle])).toEqual([["default", code]]);
  });
  it("another code of the group in that block ends it or is another, and G80 does before anything moves", () => {
    for (const code of ["G0", "G1 F9", "G2 X11 R9", "G3 X11 R9", "G73 Q1", "G80", "G82", "G00"]) {
      expect(left(`G55 ${code}`), code).toEqual([]);
      // The catalogue: still on at an offset change. What comes later is the way to the next part, unless it is G80 itself.
      expect(left("G55", "M8", code, "X20"), code).toHaveLength(code === "G80" ? 0 : 1);
    }
    expect(left("G55", "M8", "X20", "G80")).toHaveLength(1);
    expect(left("G55", "M98 P100", "M30", "O100", "G0 X20", "M99")).toHaveLength(1);
    expect(left("G55", "M8")).toHaveLength(1);
    expect(left("G80", "G55 X10")).toEqual([]);
    expect(left("G54 X20", "G90 X30")).toEqual([]);
  });
  it("Z alone, to where it came from or above, is a retract; R, X, Y or a code make it a hole, and so does a Z below R", () => {
    const plain = (line: string) => [`7 "${line}" plain(G81, G54); 6 related.cycle(G81)`];
    for (const line of ["Z100", "Z50", "Z2.5"]) expect(left(line), line).toEqual(plain(line));
    expect(on("Z100").fixes).toEqual([["from 7", "G80"]]);
    for (const line of [
      "Z-2",
      "Z1.5",
      "Z100 R5",
      "X1 Z100",
      "Y1 Z100",
      "G99 Z100",
      "X40",
      "M8",
      "G28 G91 Z0",
      "G53 Z0",
      "G4 P1",
      "G0 Z100",
    ])
      expect(left(line), line).toEqual([]);
    // A hole that is bored from below ends above where it begins.
    const back = tell(rule, two, [...DRILL.slice(0, 5), "G87 X10 Y10 Z-8 R-40 Q1 F200", "Z-6", "G80", "M30"]);
    expect(back.texts).toEqual([]);
    // Y is the tool's axis in G18.
    expect(left("G18 Z100")).toEqual([]);
  });
  it("the first hole of a tool that asked for none", () => {
    expect(left("T1 M6", "X30", "X40")).toEqual(['8 "X30" tool(G81, G54) at A1; 6 related.cycle(G81)']);
    expect(on("T1 M6", "X30").fixes).toEqual([["from 8", "G80"]]);
    expect(left("T1 M6", "X30", "X40", "Z100").map((x) => x.split("; ").slice(2))).toEqual([["10 related.again(G81, G54)"]]);
    for (const lines of [
      ["T1 M6", "G81 X30 Z-2 R2", "X3"],
      ["G80 T1 M6", "X30"],
      ["T1 M6", "G0 X30"],
      ["T1 M6", "M8"],
    ])
      expect(left(...lines), lines.join("|")).toEqual([]);
  });
  it("nothing where the cycle or the offset is not known for certain", () => {
    expect(left("IF [#500 EQ 1] GOTO 10", "G80", "N10 M8", "G55 X10")).toEqual([]);
    expect(left("IF [#500 EQ 1] GOTO 10", "G55", "N10 G55 X10").map((x) => x.split(" default")[0])).toEqual(['8 "G55"']);
  });
});

describe("feed-unset", () => {
  const rule = "feed-unset";
  const feed = (setup: Setup, ...lines: string[]) => tell(rule, setup, [...lines, "M30"]).texts;
  const BEFORE = ["G21 G17 G40 G49 G80 G90", "T1 M6"];
  const OVER = ["G0 G54 X10 Y10", "G43 H1 Z50"];
  const run = (...lines: string[]) => feed(two, ...BEFORE, "S4000 M3", ...OVER, ...lines);
  it("no F, F0, none since the mode changed; once a program", () => {
    expect(run("G1 Z-2", "X40")).toEqual([`6 "G1 Z-2" default(${T1}) at A1`]);
    expect(run("G2 X20 R20")).toEqual([`6 "G2 X20 R20" default(${T1}) at A1`]);
    expect(run("G1 Z-2 F0", "X40 F0")).toEqual([`6 "G1 Z-2 F0" zero(${T1}) at A1`]);
    expect(run("G1 Z-2 F300", "G95 X40", "X50")).toEqual([`7 "G95 X40" mode(${T1}, G95) at A1`]);
    expect(run("G1 Z-2 F300", "G95 X40 F.1", "G94 X50")).toEqual([`8 "G94 X50" mode(${T1}, G94) at A1`]);
    expect(run("M98 P100", "M30", "O100", "G1 Z-2", "M99")).toEqual([`9 "G1 Z-2" default(${T1}) at A1; 6 related.called-from()`]);
    for (const fine of ["G1 Z-2 F300", "G1 Z-2 F#500", "G93 G1 Z-2", "G31 Z-2", "G31.1 Z-2", "G38.2 Z-2", "G53 G1 Z0", "G0 Z-2", "G1 M8"])
      expect(run(fine), fine).toEqual([]);
    expect(run("G95 F0.1", "G1 Z-2")).toEqual([]);
    expect(run("IF [#500 EQ 1] GOTO 10", "G95", "N10 G1 Z-2")).toEqual([]);
    // Also where the mode changes in the very first block.
    expect(feed(two, "G95 G21 G90", "T1 M6", "S4000 M3", ...OVER, "G1 Z-2")).toEqual([`6 "G1 Z-2" mode(${T1}, G95) at A1`]);
  });
  it("the spindle was never switched on since the change, or was stopped, or turns at S0; once a tool", () => {
    const still = (...lines: string[]) => feed(two, ...BEFORE, ...lines);
    expect(still("S4000", ...OVER, "G1 Z-2 F300", "X40")).toEqual([`6 "G1 Z-2 F300" spindle(${T1}, the tool change) at A1`]);
    expect(still("S4000 M3", ...OVER, "G1 Z-2 F300", "M5", "X40", "X50")).toEqual([
      `8 "X40" spindle(${T1}, it was stopped, or at all) at A1`,
    ]);
    expect(still("S0 M3", ...OVER, "G1 Z-2 F300")).toEqual([`6 "G1 Z-2 F300" speed(${T1}) at A1`]);
    expect(still("M3", ...OVER, "G1 Z-2 F300")).toEqual([]);
    expect(still("S4000 M4", ...OVER, "G1 Z-2 F300")).toEqual([]);
    expect(still("S4000 M3", ...OVER, "G1 Z-2 F300", "G0 Z50", "T2 M6", "G43 H2 Z30", "G1 Z-3", "Z-4")).toEqual([
      `10 "G1 Z-3" spindle(${T2}, the tool change) at A1`,
    ]);
    expect(still("S4000 M3", ...OVER, "IF [#500 EQ 1] GOTO 10", "M5", "N10 G1 Z-2 F300")).toEqual([]);
    for (const tap of ["G84", "G74"]) expect(still(...OVER, `${tap} Z-2 R2 F300`), tap).toEqual([]);
    expect(still(...OVER, "G81 Z-2 R2 F300")).toHaveLength(1);
    // Wherever the tool is changed: in the first block, in the third.
    expect(feed(two, "G21 G90 T1 M6", "S4000", ...OVER, "G1 Z-2 F9")).toEqual([`5 "G1 Z-2 F9" spindle(${T1}, the tool change) at A1`]);
    expect(feed(two, "G21 G90", "S4000", "T1 M6", ...OVER, "G1 Z-2 F9")).toEqual([`6 "G1 Z-2 F9" spindle(${T1}, the tool change) at A1`]);
    // Without one there is no change since which it stands.
    expect(feed(two, "G21 G90 T1", "S4000", ...OVER, "G1 Z-2 F9")).toEqual([
      '5 "G1 Z-2 F9" spindle(the spindle without a tool, it was stopped, or at all) at A1',
    ]);
  });
  it("before it goes down or meets the part it need not turn", () => {
    const still = (...lines: string[]) => feed(two, ...BEFORE, ...lines).map((x) => x.split(" spindle")[0]);
    expect(still(...OVER, "G1 X20 F100")).toEqual([]);
    expect(still(...OVER, "G1 X20 F100", "Z-2")).toEqual(['6 "Z-2"']);
    expect(still(...OVER, "G1 Z60 F100")).toEqual([]);
    // The part begins at X0, the tool has a radius of 5: at X-6 it is beside it.
    expect(still(...OVER, "G0 X-30", "Z-5", "G1 X-6 F100", "X-4")).toEqual(['8 "X-4"']);
    expect(still("G54 G1 G43 H1 Z30 F100", "X10")).toEqual([]);
    expect(still("G54 G1 G43 H1 Z-3 F100")).toEqual(['3 "G54 G1 G43 H1 Z-3 F100"']);
    // Across into the side of the part on an arc; into the jaw alone, which stands at Y-40 to 0, is another matter.
    expect(still("G0 G54 X-20 Y20", "G43 H1 Z50", "Z-5", "G2 X20 R20 F300")).toEqual(['6 "G2 X20 R20 F300"']);
    expect(still("G0 G54 X10 Y-60", "G43 H1 Z50", "Z-20", "G1 Y-30 F300")).toEqual([]);
    // From a height that is not known: to the top of the part it may go down, across it does not.
    expect(still("G54 G1 G43 H1 Z0 F100")).toEqual(['3 "G54 G1 G43 H1 Z0 F100"']);
    expect(still("G54 G1 X10 F100")).toEqual([]);
    // Under an offset of nobody the height in the part is not known, but the way from home is.
    const away = ["G28 G91 Z0", "G90 G58 G0 X10 Y10 G43 H1"];
    expect(still(...away, "G91 G1 Z5 F9")).toEqual([]);
    expect(still(...away, "G91 G1 Z-5 F9")).toEqual(['5 "G91 G1 Z-5 F9"']);
    // Once it has gone down it is in the work, wherever that is.
    expect(feed({}, ...BEFORE, "S4000 M3", ...OVER, "G1 Z-2 F9", "M5", "X40")).toEqual([
      '8 "X40" spindle(tool 1, it was stopped, or at all)',
    ]);
    // A new tool begins anew.
    expect(still("M3 S9", ...OVER, "G1 Z-5 F9", "G0 Z50", "T2 M6", "G43 H2 Z40", "G1 X20", "Z30")).toEqual(['11 "Z30"']);
  });
  it("where nothing speaks of a spindle it turns by something else, unless a sidecar has a tool for it", () => {
    const cut = [...OVER, "G1 Z-2 F300"];
    expect(feed({}, ...BEFORE, ...cut)).toEqual([]);
    for (const spindle of ["M3", "M4", "S100"]) expect(feed({}, ...BEFORE, ...cut, "T2 M6", spindle), spindle).toHaveLength(1);
    for (const spindle of ["T2 M6 S100", "M8 M3"]) expect(feed({}, ...BEFORE, ...cut, spindle), spindle).toHaveLength(1);
    for (const other of ["M5", "M8", "F9", "X4"]) expect(feed({}, ...BEFORE, ...cut, "T2 M6", other), other).toEqual([]);
    expect(feed(two, ...BEFORE, ...cut)).toHaveLength(1);
    expect(feed(two, "G21 G90 T1", ...cut)).toHaveLength(1);
    expect(feed(two, "G21 G90", ...cut)).toEqual([]);
    // A tool change by the control alone.
    expect(feed(two, "G21 G90 M6", ...cut)).toHaveLength(1);
  });
  it("behind what could not be read the F or the M3 may have been lost", () => {
    for (const lost of ["!!! F300", "!!! S4", "!!! f300", "IF [#1 EQ"]) expect(run(lost, "G1 Z-2"), lost).toEqual([]);
    const still = (line: string) => feed(two, ...BEFORE, "S4000", ...OVER, line, "G1 Z-2 F3");
    for (const lost of ["!!! M3", "!!! M03", "!!! m 4"]) expect(still(lost), lost).toEqual([]);
    // What is wrong with the M is its number; or it has none.
    for (const lost of ["M3.5.2", "M", "G40 M"]) expect(still(lost), lost).toEqual([]);
    // Another dialect's jumps and calls.
    for (const lost of ["O101 DO", "X1..2 o101 if"]) expect(run(lost, "G1 Z-2"), lost).toEqual([]);
    for (const none of ["!!!", "!!! M31", "!!! M5", "!!! (M3)", "!!! (F", "!!! ; S4000 M3", "!!! (TO M3)"]) {
      expect(still(none), none).toHaveLength(1);
      expect(run(none, "G1 Z-2"), none).toHaveLength(1);
    }
    // Before it nothing was lost.
    expect(run("G1 Z-2", "!!! F300")).toHaveLength(1);
    expect(run("G1 Z-2 F", "X40")).toEqual([]);
    // The block itself is told for what is wrong with it; the next one that cuts has no feed either.
    expect(run("G1 Z-2 !!!", "X40")).toEqual([`7 "X40" default(${T1}) at A1`]);
  });
});

describe("state-incomplete", () => {
  const rule = "state-incomplete";
  /** T1 with a whole head, lines 1 to 7. */
  const ONE = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X10 Y10", "G43 H1 Z50", "G1 Z-2 F300", "G0 Z50"];
  const more = (...lines: string[]) => tell(rule, two, [...ONE, ...lines, "M30"]);
  const lacks = (...lines: string[]) => more(...lines).findings.map((f) => f.data?.missing);
  const CUT = ["S3 M3", "G0 G54 X1 Y1", "G43 H2 Z50", "G1 Z-5"];
  it("each state that the head leaves out; those in force are offered behind the change", () => {
    const t = more("T2 M6", ...CUT);
    expect(t.texts).toEqual([`8 "T2 M6" default(${T2}, G90+plane (G17)+G40)`]);
    expect(t.fixes).toEqual([["from 9", "G90 G17 G40"]]);
    expect(t.findings[0]?.fixes[0]?.sameMotion).toBe(true);
    expect(lacks("T2 M6", "G90", ...CUT)).toEqual([["plane (G17)", "G40"]]);
    expect(lacks("T2 M6", "G91", "G90", ...CUT)).toEqual([["plane (G17)", "G40"]]);
    expect(lacks("T2 M6", "G17", ...CUT)).toEqual([["G90", "G40"]]);
    expect(lacks("T2 M6", "G19", ...CUT)).toEqual([["G90", "G40"]]);
    expect(lacks("T2 M6", "G40", ...CUT)).toEqual([["G90", "plane (G17)"]]);
    const STATE = "G90 G17 G40";
    expect(lacks("T2 M6", STATE, "S3 M3", "G0 X1 Y1", "G43 H2 Z50", "G1 Z-5")).toEqual([["offset"]]);
    expect(lacks("T2 M6", STATE, "M3", "G0 G54 X1 Y1", "G43 H2 Z50", "G1 Z-5")).toEqual([["speed (S)"]]);
    expect(lacks("T1 M6", STATE, "S3 M3", "G0 G54 X1 Y1", "Z50", "G1 Z-5")).toEqual([["length (G43 H)"]]);
    for (const length of ["G43 H1", "G44 H1"]) expect(lacks("T1 M6", STATE, "S3 M3", "G0 G54 X1 Y1", length, "G1 Z-5"), length).toEqual([]);
    expect(more("T2 M6", STATE, "S3 M3", "G0 X1 Y1", "G43 H2 Z50", "G1 Z-5").fixes).toEqual([]);
    expect(lacks("T2 M6", STATE, ...CUT)).toEqual([]);
  });
  it("a motion code of any kind says that no cycle is on; G80 is what lacks where none does", () => {
    const STATE = "G90 G17 G40 G54";
    const first = ["X1 Y1 S3 M3", "G43 H2", "X5"];
    expect(more("G1 Z60", "T2 M6", STATE, ...first).texts).toEqual([`9 "T2 M6" default(${T2}, G80)`]);
    expect(more("G1 Z60", "T2 M6", STATE, ...first).fixes).toEqual([["from 10", "G1"]]);
    const cycle = more("G81 Z-3 R2", "T2 M6", "S3 M3", "G54", "G43 H2", "X5");
    expect(cycle.findings[0]?.data).toEqual({ missing: ["G90", "plane (G17)", "G40", "G80"] });
    expect(cycle.fixes).toEqual([["from 10", "G90 G17 G40"]]);
    for (const code of ["G0", "G1", "G2 R9", "G3 R9", "G80", "G81 Z-3 R2", "G89 Z-3 R2", "G73 Z-3 R2 Q1"])
      expect(lacks("G1 Z60", "T2 M6", STATE, "S3 M3 G43 H2", `${code} X5`, "G1 X6"), code).toEqual([]);
  });
  it("what is wrong, and not only unsaid, is left to the rules that speak of it", () => {
    expect(lacks("G91", "T2 M6", "S3 M3", "G54", "G43 H2", "G1 X5")).toEqual([["plane (G17)", "G40"]]);
    expect(more("G42 D1 X40", "T2 M6", ...CUT).fixes).toEqual([["from 10", "G90 G17"]]);
    expect(lacks("T2 M6", "G90 G17 G40 S3 M3", "G0 G54 X1 Y1", "Z50", "G1 Z-5")).toEqual([]);
    // The offset of another station is inherited.
    expect(lacks("G0 G55 X1 Y1", "T2 M6", "G90 G17 G40 S3 M3", "G0 X1 Y1", "G43 H2 Z50", "G1 Z-5")).toEqual([]);
  });
  it("one finding for all tools; each block once; an empty spindle needs no restart; a jump may say anything", () => {
    const t = more("T2 M6", ...CUT, "T1 M6", "G90", "S3 M3", "G0 G54 X1", "G43 H1 Z5", "G1 Z-1", "T0 M6", "G1 X3");
    expect(t.texts).toEqual([`8 "T2 M6" default(${T2}, G90+plane (G17)+G40); 13 related.again(${T1}, plane (G17)+G40)`]);
    expect(more("M98 P100", "M98 P100", "M30", "O100", "T2 M6", ...CUT, "M99").texts).toEqual([
      `12 "T2 M6" default(${T2}, G90+plane (G17)+G40); 8 related.called-from()`,
    ]);
    expect(lacks("T2 M6", "IF [#500 EQ 1] GOTO 10", "G91", "N10", ...CUT)).toEqual([]);
    expect(lacks("T2 M6", "M8", "G0 X5")).toEqual([]);
  });
  it("a state that the program speaks of nowhere is not asked for, unless the head is bare; the first head begins with the program", () => {
    const of = (...lines: string[]) => tell(rule, two, [...lines, "S4000 M3", "G0 X10 Y10", "G43 H1 Z50", "G1 Z-2 F300", "M30"]).findings;
    expect(of("T1 M6").map((f) => f.data?.missing)).toEqual([["G90", "plane (G17)", "G40", "offset"]]);
    for (const line of ["G40", "G17", "G90"]) {
      expect(of(line, "T1 M6"), line).toEqual([]);
      expect(of("T1 M6", line), line).toEqual([]);
    }
    expect(tell(rule, {}, ["g21 g17", "t1 m6", "g0 g54 x1", "g1 x2 f9", "t2 m6", "g0 x1", "g1 x3", "m30"]).fixes).toEqual([
      ["from 6", "g90 g17 g40"],
    ]);
  });
});

describe("units-unstated", () => {
  const rule = "units-unstated";
  const units = (setup: Setup, ...lines: string[]) => tell(rule, setup, [...lines, "M30"]);
  const inches: Setup = { use: "two-stations", change: (s) => void Object.assign(s, { units: "inch" }) };
  it("on the first block with a coordinate, with the fixture's unit before its first word", () => {
    expect(units(two, "T1 M6", "G0 G54 X0 Y0", "Z5").texts).toEqual(['2 "G0 G54 X0 Y0" default(G20, G21)']);
    expect(units(two, "N5 G0 X1").fixes).toEqual([["from 1", "N5 G21 G0 X1"]]);
    expect(units(inches, "N5 G0 X1").fixes).toEqual([["from 1", "N5 G20 G0 X1"]]);
    expect(units(two, "G0X5").fixes).toEqual([["from 1", "G21G0X5"]]);
    expect(units({}, "N5 G0 X1").fixes).toEqual([]);
    expect(units({}, "N5 G0 X1").texts).toEqual(['1 "N5 G0 X1" default(G20, G21)']);
    for (const line of ["G0 X5", "Y5", "Z5", "G0 I5", "J5", "K5", "G2 I0 R5"])
      expect(
        units(two, line, "X1").texts.map((x) => x.split(" default")[0]),
        line,
      ).toEqual([`1 "${line}"`]);
    expect(units(two, "G0 X5", "G21", "X1").texts).toHaveLength(1);
    // Zeros may come before the number with which it counts, in the very first block.
    expect(units(two, "G0 X0", "X5").texts).toEqual(['1 "G0 X0" default(G20, G21)']);
    expect(units(two, "G2 X0 I0", "X5").texts.map((x) => x.split(" default")[0])).toEqual(['1 "G2 X0 I0"']);
    // A number beside another letter is no code for units.
    expect(units(two, "S71 M3", "X5").texts.map((x) => x.split(" default")[0])).toEqual(['2 "X5"']);
    expect(units(two, "G0 X1").findings[0]?.fixes[0]).toMatchObject({
      title: { key: "fix.state", args: { code: "G21" } },
      sameMotion: false,
    });
    expect(units(two, "M98 P100", "M30", "O100", "G0 X3", "M99").texts).toEqual(['4 "G0 X3" default(G20, G21); 1 related.called-from()']);
  });
  it("another than the fixture's: where it is stated, and every statement changed", () => {
    const t = units(inches, "G21", "N10 G0 X1", "G20", "G21 X3");
    expect(t.texts).toEqual(['2 "N10 G0 X1" mismatch(mm, inch); 1 related.stated()']);
    expect(t.fixes).toEqual([["from 1", "G20", "N10 G0 X1", "G20", "G20 X3"]]);
    expect(t.findings[0]?.fixes[0]?.title).toEqual({ key: "fix.own", args: { code: "G20", wanted: "inch" } });
    expect(units(two, "g20", "g0 x1").texts).toEqual(['2 "g0 x1" mismatch(inch, mm); 1 related.stated()']);
    expect(units(two, "g20", "g0 x1").fixes).toEqual([["from 1", "g21"]]);
    expect(units(two, "G0 X0", "G20", "X1").texts).toEqual(['3 "X1" mismatch(inch, mm); 2 related.stated()']);
    expect(t.findings[0]?.fixes[0]?.sameMotion).toBe(false);
    // A computed code may state either.
    expect(units(two, "G[20]", "X1").fixes).toEqual([]);
    expect(units(two, "G[20]", "X1").texts).toHaveLength(1);
  });
  it("nothing: stated in time, only zeros before it, a dwell, a turn, codes of other dialects, not known", () => {
    for (const lines of [
      ["G21", "X1"],
      ["G21 X1"],
      ["G0 X0", "G21", "X1"],
      ["G0 X0 Y0"],
      ["G4 X1", "G21", "G0 X1"],
      ["G0 A5"],
      ["G71", "X5"],
      ["G71 G90", "X5"],
      ["G70", "X5"],
      ["G700", "X5"],
      ["G710", "X5"],
      ["M98 P100", "M30", "O100", "G21", "X2", "M99"],
      ["IF [#500 EQ 1] GOTO 5", "G20", "N5 G0 X1"],
    ])
      expect(units(two, ...lines).texts, lines.join("|")).toEqual([]);
    expect(units(inches, "G20", "X1").texts).toEqual([]);
    expect(units({}, "G20", "X1").texts).toEqual([]);
  });
  it("with the codes of EIA RS-274-D where the dialect has these", () => {
    const bare = (base: Setup): Setup => ({
      ...base,
      change: (s) => {
        base.change?.(s);
        Object.assign(s.machine as object, { dialect: "bare" });
      },
    });
    expect(units(bare(two), "G0 X5").texts).toEqual(['1 "G0 X5" default(G70, G71)']);
    expect(units(bare(two), "G0 X5").fixes).toEqual([["from 1", "G71 G0 X5"]]);
    expect(units(bare(inches), "G0 X5").fixes).toEqual([["from 1", "G70 G0 X5"]]);
    expect(units(bare(two), "G71", "G0 X5").texts).toEqual([]);
    expect(units(bare(two), "G70", "G0 X5").texts).toEqual(['2 "G0 X5" mismatch(inch, mm); 1 related.stated()']);
    expect(units(bare(two), "G70", "G0 X5").fixes).toEqual([["from 1", "G71"]]);
    expect(units(bare(inches), "G71", "G0 X5").fixes).toEqual([["from 1", "G70"]]);
    // Those of other dialects state something there, of which no more is known.
    expect(units(bare(two), "G700", "G0 X5").texts).toEqual([]);
  });
});

describe("point-missing", () => {
  const rule = "point-missing";
  const counts = (units = "mm"): Setup => ({
    use: "two-stations",
    change: (s) => {
      s.units = units;
      Object.assign(s.machine as object, { dialect: { extends: "iso", wholeNumber: "increment" } });
    },
  });
  const point = (...lines: string[]) => tell(rule, counts(), ["G21 G17 G90", ...lines, "M30"]);
  const words = (...lines: string[]) => point(...lines).findings.map((f) => f.message.args.word);
  it("each number without one, as the control reads it, with the point as a fix", () => {
    const t = point("X1. Y50");
    expect(t.texts).toEqual(['2 "Y50" default(Y50, {"mm":0.05})']);
    expect(t.fixes).toEqual([["from 2", "X1. Y50."]]);
    expect(t.findings[0]?.fixes[0]).toMatchObject({ title: { key: "fix.point", args: { text: "Y50." } }, sameMotion: false });
    // Without a sidecar, and before any units are stated: as millimetres.
    expect(tell(rule, { dialect: "bare" }, ["X1. Y50", "M30"]).texts).toEqual(['1 "Y50" default(Y50, {"mm":0.05})']);
    expect(words("X1.", "X0 Y5 I3 J-2 K1 R9 Z0 A90 C0")).toEqual(["Y5", "I3", "J-2", "K1", "R9", "A90"]);
    expect(point("X1. A90").texts).toEqual(['2 "A90" default(A90, {"deg":0.09})']);
    // A ten-thousandth of an inch would be 0.00254 mm; the increment here is a thousandth: 50 are 1.27 mm.
    expect(tell(rule, counts(), ["G20", "X1. Y50", "M30"]).texts).toEqual(['2 "Y50" default(Y50, {"mm":1.27})']);
    expect(tell(rule, counts("inch"), ["X1. Y50", "G21", "Y40", "M30"]).texts.map((x) => x.split(" default")[1])).toEqual([
      '(Y50, {"mm":1.27})',
      '(Y40, {"mm":0.04})',
    ]);
    expect(point("X1.", "M98 P100", "M98 P100", "M30", "O100", "Y5", "M99").texts).toEqual([
      '7 "Y5" default(Y5, {"mm":0.005}); 3 related.called-from()',
    ]);
  });
  it("not: no point anywhere, zero, a dwell, a feed, a repeat, a value that is computed, another dialect", () => {
    expect(words("X10", "Y9")).toEqual([]);
    expect(words("F1.", "X5")).toEqual([]);
    expect(words("G4 X1.", "X5")).toEqual([]);
    expect(words("X1.", "G4 X5", "G4 P3", "F500", "X#1", "X[5]", "S5 T5 M5")).toEqual([]);
    expect(words("X1.", "G83 X5. Z-9 R2 Q3 K2 F100")).toEqual(["Z-9", "R2", "Q3"]);
    expect(words("X1.", "G83 X5. Z-9. R2. Q3. K2 F100")).toEqual([]);
    expect(words("X1.", "G1 K2 F9")).toEqual(["K2"]);
    expect(tell(rule, two, ["X1. Y50", "M30"]).texts).toEqual([]);
  });
  it("more than twenty are one habit", () => {
    const lines = (n: number) => Array.from({ length: n }, (_, i) => `Y${i + 1}`);
    expect(point("X1.", ...lines(20)).findings).toHaveLength(20);
    const t = point("X1.", ...lines(21));
    expect(t.findings.map((f) => f.related.length)).toEqual([20]);
    expect(t.findings[0]?.related[0]?.message.key).toBe("related.more");
  });
});

describe("incremental-left", () => {
  const rule = "incremental-left";
  it("G90 goes to the first block with an axis behind the return, not to one that reads its words otherwise, is skipped, or is in another program", () => {
    const fix = (...lines: string[]) => fixed(rule, "G91 G28 Z0", ...lines, "G54 X5 Y5");
    expect(fix("B0")).toEqual([["from 7", "G90 B0"]]);
    expect(fix("A90")).toEqual([["from 7", "G90 A90"]]);
    expect(fix("M8", "C90")).toEqual([["from 8", "G90 C90"]]);
    for (const other of ["G4 X1", "G10 L2 P1 X0", "G30 X0", "G53 X0", "G52 X0", "G92 X0", "/ X5", "M8"])
      expect(fix(other), other).toEqual([["from 8", "G90 G54 X5 Y5"]]);
    expect(fixed(rule, "G91 G28 Z0", "/ X5 Y5")).toEqual([["from 7", "/ G90 X5 Y5"]]);
  });
  it("a program that is called twice has one fault; another return has another", () => {
    expect(said(rule, "M98 P100", "G0 X1 Y1", "M98 P100", "M30", "O100", "G91 G28 Z0", "T1 M6", "G54 X1 Y1", "G90", "M99")).toEqual([
      `13 "G54 X1 Y1" default(${T1}) at A1; 11 related.set(); 6 related.called-from(); 8 related.called-from()`,
    ]);
    expect(said(rule, "G91 G28 Z0", "X9 Y9", "G90 X9 Y9", "G91 G28 Z0", "X9 Y9")).toHaveLength(2);
    // Left on, and found again by the next block: told once, at the first.
    expect(said(rule, "G91 G28 Z0", "X9 Y9", "X9 Y9")).toHaveLength(1);
  });
});

describe("shift-everywhere", () => {
  const rule = "shift-everywhere";
  const g92 = (setup: Setup, ...lines: string[]) => tell(rule, setup, [...HEAD, ...lines, "M30"]);
  it("as the program has it, with an offset that it shifts; every further one beside", () => {
    const t = g92(two, "G0 G54 X0 Y0", "G43 H1 Z50", "G92 Z51", "G92 Y3 X#500 (SET)", "G92 S500", "G92 X2");
    expect(t.texts).toEqual(['6 "G92 Z51" default(Z51); 4 related.offset(G54); 7 related.again(); 9 related.again()']);
    expect(g92(two, "G0 G54 X0 Y0", "G92 Y3 X#500").findings[0]?.message.args).toEqual({ axes: "Y3 X#500" });
    expect(g92(two, "G54", "M98 P100", "M98 P100", "M30", "O100", "G92 X5", "M99").texts).toEqual([
      '9 "G92 X5" default(X5); 4 related.offset(G54); 5 related.called-from()',
    ]);
    expect(g92({}, "G0 G54 X0 Y0", "G92 X5 Y5", "G55 X0").texts).toEqual(['5 "G92 X5 Y5" default(X5 Y5); 4 related.offset(G54)']);
  });
  it("nothing: no station's offset, one offset without a sidecar, no axis", () => {
    expect(g92(two, "G0 X0 Y0", "G92 X5").texts).toEqual([]);
    expect(g92(two, "G0 G58 X0 Y0", "G92 X5").texts).toEqual([]);
    expect(g92({}, "G0 G54 X0 Y0", "G92 X5", "G54 X0").texts).toEqual([]);
    expect(g92(two, "G0 G54 X0 Y0", "G92 S5").texts).toEqual([]);
  });
  it("it is taken out whole, where the station's own offset then counts", () => {
    expect(g92(two, "G0 G54 X0 Y0", "G92 X5 Y5").fixes).toEqual([["from 5"]]);
    expect(g92(two, "G0 G54 X0 Y0", "N5 G92 X5 F3").fixes).toEqual([["from 5", "N5 F3"]]);
    expect(g92(two, "G0 G54 X0 Y0", "M8 G92 X5 F#500").fixes).toEqual([["from 5", "M8 F#500"]]);
    expect(g92(two, "G0 G54 X0 Y0", "G92 X2 (SET)").fixes).toEqual([["from 5", " (SET)"]]);
    expect(g92(two, "G0 G54 X0 Y0", "G92 X5", "G92 Y5").fixes).toEqual([["from 5"]]);
    expect(g92(two, "G54", "M98 P100", "M98 P100", "M30", "O100", "G92 X5", "M99").fixes).toEqual([["from 9"]]);
    expect(g92(two, "G0 G54 X0 Y0", "G92 X5").findings[0]?.fixes[0]).toMatchObject({
      title: { key: "fix.remove", args: { offset: "G54" } },
      sameMotion: false,
    });
    // A comment among its words; an offset of no station; the length of the tool in it.
    expect(g92(two, "G0 G54 X0 Y0", "G92 X5 (A) Y3").fixes).toEqual([]);
    expect(g92(two, "G0 G54 X0 Y0", "G58 X0", "G92 X5").fixes).toEqual([]);
    expect(g92(two, "G0 G54 X0 Y0", "G92 X5", "G92 Z5").fixes).toEqual([]);
    expect(g92(two, "G0 G54 X0 Y0", "G43 H1 Z50", "G92 Z5").fixes).toEqual([["from 6"]]);
    const control: Setup = {
      use: "two-stations",
      change: (s) => void Object.assign(s.machine as object, { dialect: { extends: "iso", lengthBy: "control" } }),
    };
    expect(g92(control, "G0 G54 X0 Y0", "Z50", "G92 Z5").fixes).toEqual([["from 6"]]);
  });
  it("without a sidecar only where it shifts by nothing", () => {
    const idle = g92({}, "G0 G54 X0 Y0", "G92 X0 Y0", "G55 X0");
    expect(idle.fixes).toEqual([["from 5"]]);
    expect(idle.findings[0]?.fixes[0]?.sameMotion).toBe(true);
    expect(g92({}, "G0 G54 X0 Y0", "G92 X0 Y1", "G55 X0").fixes).toEqual([]);
    expect(g92({}, "G0 G54 X0 Y0", "G92 X0 Y0", "G55 X0", "G92 X1").fixes).toEqual([]);
  });
});

describe("what lower layers noticed", () => {
  const of = (rule: string, ...lines: string[]) => tell(rule, {}, lines);
  it("call-target: each missing program once; M99 for M30 in the program's habit", () => {
    expect(of("call-target", "O1", "M98 P200", "M98 P200", "M98 P300", "M30").texts).toEqual([
      '2 "P200" missing(200, 200); 3 related.call(200, 200)',
      '4 "P300" missing(300, 300)',
    ]);
    expect(of("call-target", "o1", "m98 p100", "m30", "o100", "m30").texts).toEqual(['5 "m30" ends(100); 2 related.call()']);
    expect(of("call-target", "o1", "m98 p100", "m30", "o100", "m30").fixes).toEqual([["from 5", "m99"]]);
    expect(of("call-target", "o1", "m98 p100", "m30", "o100", "m30").findings[0]?.fixes[0]?.sameMotion).toBe(false);
    // Two labels are two things that are missing.
    expect(of("call-target", "O1", "IF [1 EQ 1] GOTO 5", "GOTO 6", "M30").findings).toHaveLength(2);
    // In a subprogram that nothing calls, too.
    expect(of("call-target", "O100", "M98 P9", "M99").texts).toEqual(['2 "P9" missing(9, 9)']);
    expect(of("call-target", "O1", "GOTO 5", "GOTO 5", "M30").fixes).toEqual([]);
    expect(of("call-target", "O1", "M98 P100", "M30", "O100", "M99", "O100", "M99").texts).toEqual([
      '6 "O100" twice(100); 4 related.first(); 2 related.call()',
    ]);
  });
  it("call-endless: of a subprogram by itself only what hangs on none of its arguments", () => {
    expect(of("call-endless", "O1", "N5 G4 P1", "GOTO 5", "M30").findings).toHaveLength(1);
    expect(of("call-endless", "O100", "N5 G4 P1", "GOTO 5", "M99").findings).toHaveLength(1);
    expect(of("call-endless", "O100", "WHILE [#1 GT 0] DO1", "G4 P1", "END1", "M99").findings).toEqual([]);
    // Whether it returns hangs on #500, which a caller may have set.
    const round = (then: string) => [`IF [#500 GT 0] THEN ${then}`, "N5 G4 P1", "GOTO 5"];
    expect(of("call-endless", "O100", ...round("M99"), "M99").findings).toEqual([]);
    expect(of("call-endless", "O100", ...round("#501=1"), "M99").findings).toHaveLength(1);
    expect(of("call-endless", "O1", ...round("M99"), "M30").findings).toHaveLength(1);
    // The same in a program that is run as it stands.
    expect(of("call-endless", "O1", "#1=1", "WHILE [#1 GT 0] DO1", "G4 P1", "END1", "M30").findings).toHaveLength(1);
  });
  it("syntax: up to ten alike each for itself, more are one; of a subprogram by itself nothing that hangs on values", () => {
    const lines = (n: number, text = "!!!") => Array.from({ length: n }, () => text);
    expect(of("syntax", ...lines(10), "M30").findings).toHaveLength(10);
    expect(of("syntax", ...lines(11), "M30").findings.map((f) => f.related.length)).toEqual([10]);
    expect(of("syntax", ...lines(11), ...lines(2, "???"), "M30").findings.map((f) => f.related.length)).toEqual([10, 0, 0]);
    const called = of("syntax", "O1", "M98 P100", "M30", "O100", "#1=1/0", "M99");
    expect(called.findings.map((f) => f.related.map((r) => `${r.place.range.line + 1} ${r.message.key}`))).toEqual([
      ["2 related.called-from"],
    ]);
    // What is told of a call is no fault of the text.
    expect(of("syntax", "O1", "M98 P200", "M30").findings).toEqual([]);
    const wrong = ["#2=SQRT[0-1]", "#1=1/0"];
    expect(of("syntax", "O1", ...wrong, "M30").findings).toHaveLength(2);
    expect(of("syntax", "O1", "M98 P100", "M30", "O100", ...wrong, "M99").findings).toHaveLength(2);
    expect(of("syntax", "O1", "M30", "O100", ...wrong, "M99").findings).toEqual([]);
    expect(of("syntax", "O1", "M30", "O100", "X1..2", "M99").findings).toHaveLength(1);
    // An arc whose radius is too small, with numbers and with arguments.
    expect(of("syntax", "O1", "M30", "O100", "G90 G0 X0 Y0", "G2 X9 Y0 R1 F9", "M99").findings).toHaveLength(1);
    expect(of("syntax", "O1", "M30", "O100", "G90 G0 X0 Y0", "G2 X9 Y0 R[0+1] F9", "M99").findings).toEqual([]);
  });
});

describe("sub-leaves-state", () => {
  const rule = "sub-leaves-state";
  it("a program that is called by the very first block", () => {
    const t = tell(rule, two, ["M98 P100", "G0 X40", "M30", "O100", "G91", "M99"]);
    expect(t.texts.map((x) => x.split(";")[0])).toEqual(['6 "M99" default(O100, G90, G91, 2)']);
  });
  it("units that were never stated, and a cycle that is cancelled, are nothing that was changed for another", () => {
    expect(tell(rule, two, ["G90", "M98 P100", "G0 X40", "M30", "O100", "G20", "M99"]).texts).toEqual([]);
    expect(said(rule, "G1 X5 F9", "M98 P100", "X40", "M30", "O100", "G80", "M99")).toEqual([]);
    expect(said(rule, "G81 Z-3 R2 F9", "M98 P100", "X40", "M30", "O100", "G0 Z50", "M99")).toEqual([]);
  });
  it("a program that ends in M30 does not return", () => {
    expect(said(rule, "M98 P100", "G0 X40", "M30", "O100", "G91", "M30")).toEqual([]);
  });
});
