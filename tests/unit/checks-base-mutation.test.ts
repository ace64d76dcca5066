/**
 * Rules about the sidecar that speak whatever is run beside it, places that they name, and what else the rules stand on: worked out
 * by hand from the sample fixtures. Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { programAllows } from "../../server/src/engine/checks/allow.js";
import { consequencesOf } from "../../server/src/engine/checks/consequences.js";
import type { RawReport } from "../../server/src/engine/checks/context.js";
import { rulePages } from "../../server/src/engine/checks/generate.js";
import { drained } from "../../server/src/engine/checks/lib/paced.js";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import { finish, finishing } from "../../server/src/engine/checks/report.js";
import type { Report } from "../../server/src/engine/checks/rule.js";
import { addLanguage, renderMessage, templateOf } from "../../server/src/engine/checks/wording.js";
import type { Modal } from "../../server/src/engine/machine/move.js";
import type { Run, Step } from "../../server/src/engine/machine/run.js";
import { parseLine, parseSource } from "../../server/src/engine/syntax/parse.js";
import { modal, placeAt, profile, run as sample } from "../support/analysis.js";
import { type Setup, tell } from "../support/tell.js";

type Sidecar = Record<string, unknown>;
type Station = Record<string, unknown>;

const stationsOf = (s: Sidecar): Station[] => s.stations as Station[];
const op10Of = (s: Sidecar): Record<string, unknown> =>
  (s.parts as { bracket: { ops: { op10: Record<string, unknown> } } }).bracket.ops.op10;

/** Each rule about the sidecar with a fault of its kind in the sample of two stations, A1 at [1, 1] and A2 at [4, 1]. */
const FAULTS: readonly (readonly [rule: string, fault: (s: Sidecar) => void])[] = [
  ["fixture-format", (s) => void Object.assign(s, { unit: "mm" })],
  // Both on one register; both halves of the row must be stations of their own for that.
  ["fixture-register-shared", (s) => void Object.assign(s, { stations: two(s, { offset: "G54" }) })],
  // The base has columns 0 to 11.
  ["fixture-off-grid", (s) => void Object.assign(s, { stations: two(s, { at: [12, 1] }) })],
  // One pitch beside A1: 50 mm, where the jaws are 60 wide.
  ["fixture-overlap", (s) => void Object.assign(s, { stations: two(s, { at: [2, 1] }) })],
  // 20 + 20 · 3 = 80 mm open for 41 mm, where the stroke is 8.
  ["fixture-notch", (s) => void Object.assign(stationsOf(s)[0] ?? {}, { notch: 20 })],
  // The lowest jaw is 42 high and the seat 38: 4 mm of 30 are gripped.
  ["fixture-grip", (s) => void Object.assign(stationsOf(s)[0] ?? {}, { seat: 38 })],
  ["fixture-zero-mixed", (s) => void Object.assign(s, { stations: two(s, { zero: { u: "centre", v: "high", w: "top" } }) })],
  // A1 computes to X-680, A2 to X-530.
  ["fixture-travel", (s) => void Object.assign((s.machine as { travel: object }).travel, { X: [-600, 0] })],
  [
    "fixture-reversible",
    (s) => {
      op10Of(s).reversible = false;
      delete stationsOf(s)[0]?.endStop;
    },
  ],
];

/** The row of the sample as two stations written out, the second with a change. */
function two(s: Sidecar, change: Station): Station[] {
  const [row] = stationsOf(s);
  const { repeat: _, ...one } = row ?? {};
  return [
    { ...one, id: "A1" },
    { ...one, id: "A2", at: [4, 1], offset: "G55", ...change },
  ];
}

describe("rules about the sidecar: fixture-format, fixture-off-grid and the others of their name", () => {
  for (const [rule, fault] of FAULTS) {
    it(`${rule}: a fault of the sidecar is told beside a program, and beside a subprogram that nothing here calls`, () => {
      const at = (lines: readonly string[], change: (s: Sidecar) => void) =>
        tell(rule, { use: "two-stations", change }, lines).findings.map((f) => [f.place.file, f.place.range.line]);
      const main = ["G21 G17 G40 G49 G80 G90", "M30"];
      const sub = ["O100", "G1 X5 F100", "M99"];
      const inMain = at(main, fault);
      expect(inMain).toEqual([["/case/fixture.json", expect.any(Number)]]);
      expect(at(sub, fault)).toEqual(inMain);
      expect([...at(main, () => undefined), ...at(sub, () => undefined)]).toEqual([]);
    });
  }
});

describe("fixture-travel", () => {
  it("the travel that the height leaves is the related place", () => {
    const setup: Setup = {
      use: "two-stations",
      change: (s) => void Object.assign((s.machine as { travel: object }).travel, { Z: [-224, 0] }),
    };
    const lines = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X1 Y1", "G43 H1 Z50", "M30"];
    const [finding] = tell("fixture-travel", setup, lines).findings;
    const [travel] = finding?.related ?? [];
    // The sidecar is printed with one item a line: "Z": [ in the third level, three lines of it, below X and Y.
    const text = ["{", '  "format": 1,', '  "units": "mm",', '  "machine": {', '    "name": "vertical 1",', '    "dialect": "iso",'];
    const first = text.length + 1 + 2 * 4;
    expect([travel?.place.file, travel?.place.range.line, travel?.place.range.endLine]).toEqual(["/case/fixture.json", first, first + 3]);
  });
  it("each tool by itself, where it is out at a station of its own; the farthest out is told, also where it comes first", () => {
    const setup = (low: number, trim: object): Setup => ({
      use: "two-stations",
      change: (s) => {
        Object.assign((s.machine as { travel: object }).travel, { Z: [low, 0] });
        s.stations = two(s, {});
        s.offsets = { trim };
      },
    });
    const visit = (tool: number, offset: number) => [`T${tool} M6`, `G0 G${offset} X1 Y1`, `G43 H${tool} Z50`];
    const told = (of: Setup, ...lines: string[]) =>
      tell("fixture-travel", of, ["G21 G17 G40 G49 G80 G90", "S4000 M3", ...lines, "M30"]).findings.map((f) => [
        f.data?.stations,
        f.data?.tool,
        f.data?.distance,
      ]);
    // LF 120 and 140: at Z-345 the spindle is at -225 and -205.
    expect(told(setup(-204, {}), ...visit(1, 54), ...visit(2, 55))).toEqual([
      [["A1"], 1, 21],
      [["A2"], 2, 1],
    ]);
    expect(told(setup(-224, { G54: { Z: -3 } }), ...visit(1, 54), "G55 X1")).toEqual([[["A1", "A2"], 1, 4]]);
    expect(told(setup(-224, { G55: { Z: -3 } }), ...visit(1, 54), "G55 X1")).toEqual([[["A1", "A2"], 1, 4]]);
  });
  it("stands where the first station is placed that is out", () => {
    const setup: Setup = {
      use: "two-stations",
      change: (s) => {
        Object.assign((s.machine as { travel: object }).travel, { Z: [-226, 0] });
        s.stations = two(s, {});
        // A1 stands at -345 + 120 = -225, A2 3 lower.
        s.offsets = { trim: { G55: { Z: -3 } } };
      },
    };
    const lines = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X1 Y1", "G43 H1 Z50", "G55 X1", "M30"];
    const { findings, analysis } = tell("fixture-travel", setup, lines);
    expect(findings.map((f) => [f.station, f.data])).toEqual([
      ["A2", { station: "A2", stations: ["A2"], axis: "Z", tool: 1, distance: 2 }],
    ]);
    // The place of a station is that of its id, which stands before the place on the base.
    const last = analysis.fixture?.stations.at(-1)?.place.range.line ?? Number.NaN;
    expect(findings[0]?.place.range.line).toBeGreaterThan(last);
  });
});

describe("station-count: which loop counts the stations", () => {
  const four: Setup = { use: "four-stations" };
  const HEAD = ["O1", "G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "#100=54"];
  const TAIL = ["G28 G91 Z0", "M30", "O100", "G90 G0 X10 Y20", "G43 H1 Z50", "Z2", "G1 Z-3 F300", "X40", "G0 Z50", "M99"];
  const counted = (...lines: string[]) =>
    tell("station-count", four, [...HEAD, ...lines, ...TAIL]).texts.map((t) => t.replace(/ (\w+)\(.*?\), /, " $1("));
  it("counted by a jump back, with another one between the stations that goes round by itself", () => {
    const depths = ["#101=0", "N20 #101=#101+1", "IF [#101 LT 2] GOTO 20"];
    const round = (last: number) => ["N10 G#100", "M98 P100", ...depths, "#100=#100+1", `IF [#100 LE ${last}] GOTO 10`];
    expect(counted(...round(56))).toEqual(['12 "IF [#100 LE 56] GOTO 10" default(3, 4, bracket op10, A4, )']);
    expect(counted(...round(57))).toEqual([]);
    // Before the selection, too.
    const inside = (last: number) => ["N10 #101=0", ...depths.slice(1), "G#100", "M98 P100", "#100=#100+1", `IF [#100 LE ${last}] GOTO 10`];
    expect(counted(...inside(56))).toEqual(['12 "IF [#100 LE 56] GOTO 10" default(3, 4, bracket op10, A4, )']);
    expect(counted(...inside(57))).toEqual([]);
  });
  it("depths at each station, in a loop within the one that counts or around it", () => {
    const at = (condition: string, ...body: string[]) => [`WHILE [${condition}] DO1`, ...body, "#100=#100+1", "END1"];
    const whiles = (last: number) => [
      "#101=0",
      ...at(`#100 LE ${last}`, "#101=0", "WHILE [#101 LT 2] DO2", "G#100", "M98 P100", "#101=#101+1", "END2"),
    ];
    expect(counted(...whiles(54))).toEqual(['7 "WHILE [#100 LE 54] DO1" default(1, 4, bracket op10, A2+A3+A4, )']);
    expect(counted(...whiles(56))).toEqual(['7 "WHILE [#100 LE 56] DO1" default(3, 4, bracket op10, A4, )']);
    expect(counted(...whiles(57))).toEqual([]);
    const jumps = (last: number) => at(`#100 LE ${last}`, "#101=0", "N20 G#100", "M98 P100", "#101=#101+1", "IF [#101 LT 2] GOTO 20");
    expect(counted(...jumps(56))).toEqual(['6 "WHILE [#100 LE 56] DO1" default(3, 4, bracket op10, A4, )']);
    expect(counted(...jumps(57))).toEqual([]);
    const around = (last: number) => [
      ...["#101=0", "WHILE [#101 LT 2] DO2", "#100=54"],
      ...at(`#100 LE ${last}`, "G#100", "M98 P100"),
      ...["#101=#101+1", "END2"],
    ];
    expect(counted(...around(54))).toEqual(['9 "WHILE [#100 LE 54] DO1" default(1, 4, bracket op10, A2+A3+A4, )']);
    expect(counted(...around(56))).toEqual(['9 "WHILE [#100 LE 56] DO1" default(3, 4, bracket op10, A4, )']);
    expect(counted(...around(57))).toEqual([]);
  });
  it("offsets that are written out in a loop over depths are not counted by it", () => {
    const round = ["G54", "M98 P100", "G55", "M98 P100"];
    expect(counted("#101=0", "WHILE [#101 LT 3] DO1", ...round, "#101=#101+1", "END1")).toEqual([]);
  });
  it("two loops of one tool, between which nothing is left out: each lacks its own", () => {
    const six: Setup = {
      use: "four-stations",
      change: (s) => {
        for (const row of stationsOf(s)) row.repeat = { columns: 6, rows: 1, step: [2, 4] };
      },
    };
    const loop = (from: number, last: number) => [
      `#100=${from}`,
      `WHILE [#100 LE ${last}] DO1`,
      "G#100",
      "M98 P100",
      "#100=#100+1",
      "END1",
    ];
    const lines = [...HEAD, ...loop(56, 57), ...loop(58, 58), ...TAIL];
    expect(tell("station-count", six, lines).findings.map((f) => [f.place.range.line + 1, f.message.args.missing])).toEqual([
      [7, { list: ["A1", "A2"] }],
      [13, "A6"],
    ]);
  });
  it("a loop that is over before the stations begin counts nothing", () => {
    const over = ["#102=0", "WHILE [#102 LT 2] DO1", "#102=#102+1", "END1"];
    const round = (last: number) => [...over, `WHILE [#100 LE ${last}] DO1`, "G#100", "M98 P100", "#100=#100+1", "END1"];
    // One round, and several.
    expect(counted(...round(54))).toEqual(['10 "WHILE [#100 LE 54] DO1" default(1, 4, bracket op10, A2+A3+A4, )']);
    expect(counted(...round(56))).toEqual(['10 "WHILE [#100 LE 56] DO1" default(3, 4, bracket op10, A4, )']);
    expect(counted(...over, "G#100", "M98 P100")).toEqual([]);
  });
});

describe("the pages of the reference show each example as a reader needs it", () => {
  const pages = rulePages();
  const page = (rule: string): string => pages.get(`${rule}.md`) ?? "";
  it("a sidecar with what is said of its lines, and a program of which nothing is said", () => {
    const text = page("fixture-travel");
    expect(text).toContain('**Example.** X ends at -650 on this machine.\n\n```jsonc\n{\n  "format": 1, "units": "mm",\n  "machine": {');
    // The station stands in line 16, counted by hand.
    expect(text).toContain(
      "\n  ]\n}\n```\n\n- line 16, `[1, 1]`: error fixture-travel: A1: the part zero at X -680 mm is 30 mm outside the travel -650 mm … 0 mm\n\n" +
        "```nc\nG21 G17 G40 G49 G80 G90\nM30\n```\n\nNothing is said.\n\n**Example.** Within the travel.\n\n```jsonc\n",
    );
    // Of a sidecar that is in order nothing is said before the program is shown.
    expect(text).toContain("\n  ]\n}\n```\n\n```nc\nG21 G17 G40 G49 G80 G90\nM30\n```\n\nNothing is said.\n");
  });
  it("the sample that it stands on, a block that is meant whole, the program after a fix", () => {
    const text = page("length-missing");
    expect(text).toContain("**Example.** H0 holds no length.\n\nFixture: [two-stations](README.md#two-stations).\n\n```nc\nG21 G17");
    expect(text).toContain(
      "G28 Z0\nM30\n```\n\n- line 5, `G43 H0 Z20`: error length-missing: T2 goes to work under H0, which is no length\n\n" +
        "After a proposed change:\n\n```nc\nG21 G17 G40 G49 G80 G90\nT2 M6\nS3000 M3\nG0 G54 X30 Y20\nG43 H2 Z20\nG1 Z-5 F200\nG0 Z20\nG91 G28 Z0\nM30\n```\n\n**Example.**",
    );
    // A mark below some words of a block.
    expect(page("length-mismatch")).toContain("\n- line 5, `H2`: warning length-mismatch: H2 belongs to T2\n");
  });
  it("what is left out and what is set", () => {
    expect(page("length-missing")).toContain(
      "which is another matter.\n\nFixture: [two-stations](README.md#two-stations).\n\nWhat shift-everywhere says of it is left out here.\n\n```nc\n",
    );
    expect(page("station-skipped")).toContain("\n\nStation A2 is marked empty for the run.\n\n");
  });
});

describe("words about the reports", () => {
  it("an allow comment may have any blanks between its words", () => {
    const allows = (text: string) => programAllows(parseSource("/p.nc", text, profile)).map((a) => [a.rules, a.reason]);
    const one = [[["clamp-cut"], "step in the jaw"]];
    for (const text of [
      "(ALLOW clamp-cut: step in the jaw)",
      "(ALLOW   clamp-cut  :  step in the jaw )",
      "( allow\tclamp-cut:step in the jaw)",
    ])
      expect(allows(`G0 ${text}`), text).toEqual(one);
    expect(allows("G0 (ALLOWclamp-cut: x)")).toEqual([]);
    expect(allows("G0 (XALLOW clamp-cut: x)")).toEqual([]);
  });
  it("the same cause waived for two reasons is told with both", () => {
    const rule = rules.find((r) => r.id === "clamp-cut");
    if (rule === undefined) throw new Error("there is a rule clamp-cut");
    const at = (line: number): RawReport => ({
      rule,
      run: sample,
      report: { at: placeAt("/p.nc", line, 0, 1), args: {}, cause: "c" },
    });
    const allows = programAllows(
      parseSource("/p.nc", "G0 (ALLOW clamp-cut: a)\nM8\nG1 (ALLOW clamp-cut: b)\nM8\nG2 (ALLOW clamp-cut: b)\n", profile),
    );
    const found = finish([at(0), at(2), at(4)], () => undefined, allows, new Set());
    expect(found.map((f) => [f.place.range.line, f.waived, f.related.length])).toEqual([
      [0, "a", 0],
      [2, "b", 1],
    ]);
  });
  it("what only the run with block skip on meets is told so, with the block that the switch leaves out", () => {
    const [rule] = rules;
    if (rule === undefined) throw new Error("there are rules");
    const source = parseSource("/shop/part.nc", "G0 X1\n/ G0 X2\n(A)\nG0 X3\nG0 X4\n", profile);
    const runs = [
      [0, 1, 3, 4],
      [0, 3, 4],
    ].map(
      (lines): Run => ({
        ...sample,
        sources: [source],
        steps: lines.map((n): Step => ({ ...(sample.steps[0] as Step), block: source.blocks[n] as Step["block"] })),
      }),
    );
    const [whole, switched] = runs as [Run, Run];
    const item = (run: Run, step: number): RawReport => {
      const line = run.steps[step]?.block.line ?? -1;
      return { rule, run, report: { at: placeAt("/shop/part.nc", line, 0, 5), args: {}, step } };
    };
    const told = (...items: RawReport[]) =>
      drained(finishing(items, () => undefined, [], new Set(), switched)).map((f) => [
        f.place.range.line,
        f.data?.blockSkip,
        ...f.related.map((r) => `${r.place.range.line} ${r.message.key}`),
      ]);
    expect(told(item(switched, 1))).toEqual([[3, "on", "1 related.skip-on"]]);
    expect(told(item(switched, 2))).toEqual([[4, "on", "1 related.skip-on"]]);
    // Before the slash nothing is left out; what both runs meet does not hang on the switch.
    expect(told(item(switched, 0))).toEqual([[0, "on"]]);
    expect(told(item(whole, 2), item(switched, 1))).toEqual([[3, undefined]]);
    expect(told(item(switched, 1), item(whole, 2))).toEqual([[3, undefined]]);
  });
  it("a language that lacks a rule is shown in the rule's own words", () => {
    addLanguage("qq", { "clamp-cut": { default: "da" } });
    expect(templateOf("neighbour-cut", "default", "qq")).toBe(templateOf("neighbour-cut", "default"));
    expect(templateOf("clamp-cut", "related.also", "qq")).toBe(templateOf("clamp-cut", "related.also"));
    expect(templateOf("not-checked", "what.holders", "qq")).toBe(templateOf("not-checked", "what.holders"));
  });
  it("only the first letter of a message is made small, and not that of a code", () => {
    const say = (rule: string, key: string, args = {}) => renderMessage(rule, { key, args }, { units: "mm" });
    // A single capital with a small word behind it stands in the middle.
    expect(say("length-missing", "bare", { tool: 2, h: 1 })).toMatch(/^G43 names no H here: T2 /);
    expect(say("units-unstated", "fix.state", { code: "G21" })).toBe("state G21");
    expect(say("point-missing", "fix.point", { text: "X5." })).toBe("write X5.");
  });
});

describe("how far what follows from a fault reaches", () => {
  const [aStep] = sample.steps;
  /** Blocks with what is different in the state behind each; all by T1 of step 0, under the offset of step 0. */
  const runOf = (...blocks: readonly (readonly [text: string, after?: Partial<Modal>])[]): Run => ({
    ...sample,
    steps: blocks.map(([text, after], n): Step => {
      const state = modal({ tool: 1, toolStep: 0, offsetStep: 0, ...after });
      return { ...(aStep as Step), block: parseLine(text, n, profile), values: undefined, before: state, after: state };
    }),
  });
  const report = (id: string, run: Run, change: Partial<Report>): RawReport => {
    const rule = rules.find((r) => r.id === id);
    if (rule === undefined) throw new Error(`no rule ${id}`);
    return { rule, run, report: { at: placeAt("/p.nc", 0, 0, 1), args: {}, ...change } };
  };
  const reached = (cause: RawReport, id: string, change: Partial<Report> = {}): number[] => {
    const follows = consequencesOf([cause]);
    return [...cause.run.steps.keys()].filter((step) => follows(report(id, cause.run, { ...change, step })));
  };

  it("retract-return-level: its own cycle while the plane is the one that was too low, or that of the block before", () => {
    const on = { motion: "G81" };
    const run = runOf(
      ["T1 M6"],
      ["G81 X0 Z-5 R2", on],
      ["X5", on],
      ["X6 R2", on],
      ["X7 R9", on],
      ["X8", on],
      ["G80"],
      ["G81 X9 Z-5 R2", on],
      ["X10", { ...on, toolStep: 6 }],
    );
    const low = (step: number) => reached(report("retract-return-level", run, { step }), "clamp-rapid");
    expect(low(2)).toEqual([1, 2, 3]);
    // The way across is made at the plane of the block before, here R2; the hole itself is left at R9.
    expect(low(4)).toEqual([1, 2, 3, 4, 5]);
    expect(low(5)).toEqual([4, 5]);
    expect(low(7)).toEqual([7]);
  });

  it("approach-stale-axis: to the block that has named the last of the axes, which still comes from the wrong place", () => {
    const blocks = (...more: string[]) => runOf(["T1 M6 G54"], ...more.map((text): readonly [string] => [text]), ["G1 Z-9"]);
    const stale = (run: Run, ...axes: string[]) => reached(report("approach-stale-axis", run, { step: 0, data: { axes } }), "clamp-rapid");
    expect(stale(blocks("Z5", "X5", "Y5", "X6"), "X")).toEqual([0, 1, 2]);
    expect(stale(blocks("Z5", "X5", "Y5", "X6"), "X", "Y")).toEqual([0, 1, 2, 3]);
    expect(stale(blocks("Z5", "X5", "Z6"), "X", "Y")).toEqual([0, 1, 2, 3, 4]);
    // Home, in machine coordinates, a register: no place in the part. Arguments of a macro move nothing.
    for (const other of ["G28 X0", "G30 X0", "G53 X0", "G10 L2 P1 X0", "G52 X0", "G92 X0", "G65 P9 X3"])
      expect(stale(blocks(other, "X5", "Y5"), "X"), other).toEqual([0, 1, 2]);
    // An increment is one from the wrong place.
    expect(stale(runOf(["T1 M6"], ["G91 X5", { absolute: false }], ["G90 X5"], ["Y5"]), "X")).toEqual([0, 1, 2]);
    // Where no axis is told of it holds until the next offset.
    expect(stale(runOf(["T1 M6"], ["X5"], ["G55", { offsetStep: 2 }]))).toEqual([0, 1]);
  });

  it("neighbour-cut in another's stock: the one visit to that station that the tool lacks", () => {
    const run = runOf(["T1 M6"], ["X5"]);
    const cut = (data: object) => report("neighbour-cut", run, { step: 1, data: { solid: "stock", solidStation: "A2", ...data } });
    const lacks = (cause: RawReport, data: object) => reached(cause, "station-skipped", { data: { ...data } }).length > 0;
    expect(lacks(cut({}), { tool: 1, missing: ["A2"] })).toBe(true);
    for (const data of [
      { tool: 2, missing: ["A2"] },
      { tool: 1, missing: ["A3"] },
      { tool: 1, missing: ["A2", "A3"] },
      { tool: 1, missing: "A2" },
      {},
    ])
      expect(lacks(cut({}), data), JSON.stringify(data)).toBe(false);
    expect(lacks(cut({ solid: "fixed jaw" }), { tool: 1, missing: ["A2"] })).toBe(false);
    expect(reached(cut({}), "clamp-rapid")).toEqual([]);
  });
});
