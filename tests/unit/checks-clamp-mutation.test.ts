/**
 * What is offered where a tool comes too near, and where nothing may be: programs on the sample fixtures, whose stock of A1 reaches
 * from the part zero 60 in X, 41 in Y and 30 down, with the fixed jaw up to Z-10 in front of it. Rapids must keep 2 mm, so Z2 is the
 * lowest level above the uncut stock. Machine Z of the tool point is Z-345 at part Z0, and LF of tool 1 is 120. Asked for by mutation
 * testing.
 */
import { describe, expect, it } from "vitest";
import { type Setup, tell } from "../support/tell.js";

const TWO: Setup = { use: "two-stations" };

interface Machine {
  travel: Record<string, [number, number]>;
  home?: Record<string, number>;
  rapidPath: string;
  dialect: unknown;
}

/** The sample with another machine. */
function machine(change: (m: Machine) => void): Setup {
  return { use: "two-stations", change: (s) => change(s.machine as Machine) };
}

/** Travel of the gauge point in Z that ends at a height. With tool 1 at part Z2 it is at -345 + 2 + 120 = -223. */
const travelTo = (z: number): Setup => machine((m) => (m.travel.Z = [-560, z]));

/** Each row: what it is, its lines, and the lines that each fix leaves where it changes something. */
type Row = readonly [title: string, lines: readonly string[], fixes: readonly (readonly string[])[], setup?: Setup];

/** The fixes of the one finding of a rule, without the line numbers. */
function fixesOf(rule: string, setup: Setup, lines: readonly string[]): (readonly string[])[] {
  const { texts, fixes } = tell(rule, setup, lines);
  expect(texts).toHaveLength(1);
  return fixes.map((f) => f.slice(1));
}

describe("approach-low", () => {
  const HEAD = ["G21 G17 G40 G49 G80 G90", "G28 G91 Z0", "G28 X0 Y0", "G90 T1 M6", "S4000 M3"];
  const TAIL = ["G1 X40 F500", "G0 Z50", "G28 G91 Z0", "M30"];
  const program = (lines: readonly string[], tail = TAIL) => [...HEAD, ...lines, ...tail];

  it("says where it goes down, where across, into what or past what", () => {
    expect(tell("approach-low", TWO, program(["G0 G54 G43 H1 Z-5", "X-10 Y20"])).texts).toEqual([
      '6 "G0 G54 G43 H1 Z-5" across(A1, bracket, tool 1 (end mill 10), stock, X-10 Y20, {"mm":5}, {"mm":0}, {"mm":0}, -5) at A1; 7 related.across()',
    ]);
    // 1 mm above the stock of A2 on the way; over the stock at the station itself a rapid may pass at any height.
    expect(tell("approach-low", TWO, program(["G0 G54 G43 H1 Z1", "X-10 Y20"])).texts).toEqual([
      '6 "G0 G54 G43 H1 Z1" near(A1, bracket, tool 1 (end mill 10), stock of A2, X-10 Y20, {"mm":0}, {"mm":1}, {"mm":2}, 1) at A1; 7 related.across()',
    ]);
    expect(tell("approach-low", TWO, program(["G0 G54 X20 Y20", "G43 H1 Z-7", "Z2"])).texts).toEqual([
      '7 "G43 H1 Z-7" default(A1, bracket, tool 1 (end mill 10), stock, Z-7, {"mm":7}, {"mm":0}, {"mm":0}, -7) at A1',
    ]);
    for (const lines of [
      ["G0 G54 G43 H1 Z2", "X-10 Y20"],
      ["G0 G54 X20 Y20", "G43 H1 Z1"],
      // Behind the row first, then across.
      ["G0 G54 G43 H1 Z-5", "X-10", "Y20"],
    ])
      expect(tell("approach-low", TWO, program(lines)).texts).toEqual([]);
  });
  it("the data: which tool, which part of it, how deep, into whose solid", () => {
    const [first] = tell("approach-low", TWO, program(["G0 G54 G43 H1 Z-5", "X-10 Y20"])).findings;
    expect(first?.data).toMatchObject({ tool: 1, solid: "stock", solidStation: "A1", part: "cutting", depth: 5, clearance: 0 });
  });

  const across: readonly Row[] = [
    [
      "nothing between",
      ["G0 G54 G43 H1 Z-5", "X-10 Y20"],
      [
        ["G0 G54 X-10 Y20", "G43 H1 Z-5"],
        ["G0 G54 G43 H1 Z2", "X-10 Y20", "Z-5"],
      ],
    ],
    [
      "an empty line between",
      ["G0 G54 G43 H1 Z-5", "", "X-10 Y20"],
      [
        ["G0 G54 X-10 Y20", "", "G43 H1 Z-5"],
        ["G0 G54 G43 H1 Z2", "", "X-10 Y20", "Z-5"],
      ],
    ],
    ["words between cannot be passed by", ["G0 G54 G43 H1 Z-5", "M8", "X-10 Y20"], [["G0 G54 G43 H1 Z2", "M8", "X-10 Y20", "Z-5"]]],
    ["a dwell between", ["G0 G54 G43 H1 Z-5", "G4 P1.", "X-10 Y20"], []],
    [
      "modes that are in force stay where they stand",
      ["G0 G54 G43 H1 Z-5", "G0 G90 X-10 Y20"],
      [
        ["G0 G54 X-10 Y20", "G0 G90 G43 H1 Z-5"],
        ["G0 G54 G43 H1 Z2", "G0 G90 X-10 Y20", "Z-5"],
      ],
    ],
    ["another mode in the block across", ["G0 G54 G43 H1 Z-5", "G17 X-10 Y20"], [["G0 G54 G43 H1 Z2", "G17 X-10 Y20", "Z-5"]]],
    [
      "M words stay in their blocks",
      ["G0 G54 G43 H1 Z-5 M8", "X-10 Y20 M9"],
      [
        ["G0 G54 X-10 Y20 M8", "G43 H1 Z-5 M9"],
        ["G0 G54 G43 H1 Z2 M8", "X-10 Y20 M9", "Z-5"],
      ],
    ],
    [
      "comments behind",
      ["G0 G54 G43 H1 Z-5 (down)", "X-10 Y20 (over)"],
      [
        ["G0 G54 X-10 Y20 (down)", "G43 H1 Z-5 (over)"],
        ["G0 G54 G43 H1 Z2 (down)", "X-10 Y20 (over)", "Z-5"],
      ],
    ],
    ["a comment among the words down", ["G0 G54 G43 H1 (down) Z-5", "X-10 Y20"], [["G0 G54 G43 H1 (down) Z2", "X-10 Y20", "Z-5"]]],
    ["a comment among the words across", ["G0 G54 G43 H1 Z-5", "X-10 (over) Y20"], [["G0 G54 G43 H1 Z2", "X-10 (over) Y20", "Z-5"]]],
    ["skipped blocks", ["/G0 G54 G43 H1 Z-5", "/X-10 Y20"], [["/G0 G54 G43 H1 Z2", "/X-10 Y20", "/Z-5"]]],
    [
      "a comment between",
      ["G0 G54 G43 H1 Z-5", "(over)", "X-10 Y20"],
      [
        ["G0 G54 X-10 Y20", "(over)", "G43 H1 Z-5"],
        ["G0 G54 G43 H1 Z2", "(over)", "X-10 Y20", "Z-5"],
      ],
    ],
    // What goes down would then be run where the first block is not, or the other way round.
    ["only one of them skipped", ["/G0 G54 G43 H1 Z-5", "X-10 Y20"], []],
    ["only the other skipped", ["G0 G54 G43 H1 Z-5", "/X-10 Y20"], []],
    ["skipped by different switches", ["/G0 G54 G43 H1 Z-5", "/2X-10 Y20"], []],
    ["a computed Z keeps its expression", ["G0 G54 G43 H1 Z[-5]", "X-10 Y20"], [["G0 G54 X-10 Y20", "G43 H1 Z[-5]"]]],
    [
      "words in another order",
      ["G0 G54", "H1 G43 Z-5", "X-10 Y20"],
      [
        ["X-10 Y20", "H1 G43 Z-5"],
        ["H1 G43 Z2", "X-10 Y20", "Z-5"],
      ],
    ],
    // At X30 Y20 the tool stands in the stock at Z-5, however it comes there.
    ["to a place in the stock", ["G0 G54 G43 H1 Z-5", "X30 Y20"], []],
    ["in increments", ["G0 G54 G43 H1 Z-5", "G91 X-690 Y-365", "G90"], []],
    [
      "with a shift the level is named so much lower",
      ["G52 Z1", "G0 G54 G43 H1 Z-5", "X-10 Y20"],
      [
        ["G0 G54 X-10 Y20", "G43 H1 Z-5"],
        ["G0 G54 G43 H1 Z1", "X-10 Y20", "Z-5"],
      ],
    ],
    // LF(H3) - LF(1) = -10: the tool stands 10 lower than the program says, and no level can be named.
    ["with another tool's length", ["G0 G54 G43 H3 Z5", "X-10 Y20"], [["G0 G54 X-10 Y20", "G43 H3 Z5"]]],
    [
      "up to the end of the travel",
      ["G0 G54 G43 H1 Z-5", "X-10 Y20"],
      [
        ["G0 G54 X-10 Y20", "G43 H1 Z-5"],
        ["G0 G54 G43 H1 Z2", "X-10 Y20", "Z-5"],
      ],
      travelTo(-223),
    ],
    ["not beyond it", ["G0 G54 G43 H1 Z-5", "X-10 Y20"], [["G0 G54 X-10 Y20", "G43 H1 Z-5"]], travelTo(-223.1)],
  ];
  for (const [title, lines, fixes, setup = TWO] of across)
    it(`down before across: ${title}`, () => expect(fixesOf("approach-low", setup, program(lines))).toEqual(fixes));

  it("from a height that is not known: as from above everything", () => {
    const lines = program(["G0 G54 G43 H1 Z-5", "X-10 Y20"]).map((l) => (l === "G28 G91 Z0" ? "G28 G91 X0" : l));
    expect(fixesOf("approach-low", TWO, lines)[0]).toEqual(["G0 G54 X-10 Y20", "G43 H1 Z-5"]);
  });
  it("each tool by itself", () => {
    const next = ["G1 X-11 F500", "G0 Z50", "G28 G91 Z0", "G28 X0 Y0", "G90 T3 M6", "S3000 M3", "G0 G54 G43 H3 Z-4", "X-10 Y20"];
    const { findings, fixes } = tell("approach-low", TWO, program(["G0 G54 G43 H1 Z-5", "X-10 Y20", ...next]));
    expect(findings.map((f) => [f.place.range.line + 1, f.message.args.depth])).toEqual([
      [6, { mm: 5 }],
      [14, { mm: 4 }],
    ]);
    expect(fixes.map((f) => f.slice(1))).toEqual([
      ["G0 G54 X-10 Y20", "G43 H1 Z-5"],
      ["G0 G54 G43 H1 Z2", "X-10 Y20", "Z-5"],
      ["G0 G54 X-10 Y20", "G43 H3 Z-4"],
      ["G0 G54 G43 H3 Z2", "X-10 Y20", "Z-4"],
    ]);
  });

  const raise = [["G43 H1 Z2"]];
  const down: readonly Row[] = [
    ["then up at rapid", ["G43 H1 Z-7", "Z2"], raise],
    ["then up at rapid to less than the clearance over its own stock", ["G43 H1 Z-7", "Z1"], raise],
    // From the higher level that would be a rapid into the stock.
    ["then up at rapid within the stock", ["G43 H1 Z-7", "Z-3"], []],
    ["then home through a point in the stock", ["G43 H1 Z-7", "X30", "G28 Z-3"], []],
    ["then fed down", ["G43 H1 Z-7", "G1 Z-9 F300"], raise],
    ["then fed across at that level", ["G43 H1 Z-7", "G1 X40 F300"], []],
    ["then across, a dwell, and fed down", ["G43 H1 Z-7", "X30", "Y30", "G4 P1.", "G1 Z-9 F300"], raise],
    ["then deeper at rapid", ["G43 H1 Z-7", "X30", "Z-9"], []],
    ["then in increments", ["G43 H1 Z-7", "X30", "G91 Z-9", "G90"], []],
    ["then home", ["G43 H1 Z-7", "G53 Z0"], raise],
    ["a computed Z", ["G43 H1 Z[-7]", "Z2"], []],
    ["up to the end of the travel", ["G43 H1 Z-7", "Z2"], raise, travelTo(-223)],
    ["not beyond it", ["G43 H1 Z-7", "Z2"], [], travelTo(-223.1)],
    ["with a shift", ["G52 Z-1", "G43 H1 Z-7", "Z2"], [["G43 H1 Z3"]]],
  ];
  for (const [title, lines, fixes, setup = TWO] of down)
    it(`first Z into the stock: ${title}`, () =>
      expect(fixesOf("approach-low", setup, program(["G0 G54 X20 Y20", ...lines]))).toEqual(fixes));

  it("nothing where the program ends there, or where Z is in the block with X and Y", () => {
    expect(fixesOf("approach-low", TWO, program(["G0 G54 X20 Y20", "G43 H1 Z-7"], ["M30"]))).toEqual([]);
    expect(fixesOf("approach-low", TWO, program(["G0 G54 X20 Y20 Z-7 G43 H1", "Z2"]))).toEqual([["G0 G54 X20 Y20 Z2 G43 H1"]]);
  });
  it("the higher Z serves the rapids across that follow it", () => {
    expect(fixesOf("approach-low", TWO, program(["G0 G54 G43 H1 Z-7", "X20 Y20", "G1 Z-9 F300"]))).toEqual([["G0 G54 G43 H1 Z2"]]);
    expect(fixesOf("approach-low", TWO, program(["G0 G54 G43 H1 Z-7", "X20 Y20", "Z2"]))).toEqual([["G0 G54 G43 H1 Z2"]]);
  });
});

/**
 * The sample tombstone: axis at X-500 Z-650; the bases reach 100 above it and 125 to each side, so their corners swing on a radius of
 * √(100² + 125²) = 160.078; the stock's on √(155² + 30²) = 157.877. Part zero of F1 is X-530 Y-435 Z-495. 25 mm must be kept.
 */
describe("retract-before-index", () => {
  const TOMB: Setup = { use: "tombstone" };
  const HEAD = ["G21 G17 G40 G49 G80 G90", "G28 G91 Z0", "G90 B0", "T1 M6", "G0 G54 X10 Y10 S4000 M3", "G43 H1 Z50", "G1 Z-2 F300"];
  const program = (lines: readonly string[], axis = "B") => [
    ...HEAD.map((l) => l.replace("B0", `${axis}0`)),
    ...lines,
    "G28 G91 Z0",
    "M30",
  ];
  const rotary = (value: unknown): Setup => ({
    use: "tombstone",
    change: (s) => {
      (s.machine as Record<string, unknown>).rotary = value;
    },
  });
  const travel = (z: number): Setup => ({
    use: "tombstone",
    change: (s) => {
      (s.machine as Machine).travel.Z = [-800, z];
    },
  });
  const said = (lines: readonly string[], setup: Setup = TOMB, axis = "B") =>
    tell("retract-before-index", setup, program(lines, axis)).texts;

  it("how near: the edge of the tool to the circle of the corners", () => {
    // At X10 the edge of the tool is 15 beside the axis, at Z20 175 above it: √(15² + 175²) - 160.078 = 15.5636.
    const near = tell("retract-before-index", TOMB, program(["G0 Z20", "B180"]));
    expect(near.texts).toHaveLength(1);
    expect(near.texts[0]).toMatch(
      /^9 "B180" near\(F1, tool 1 \(end mill 10\), base, \{"deg":180\}, \{"mm":15\.5635\d+\}, \{"mm":25\}\) at F1; 8 related\.before\(\)$/,
    );
    expect(near.fixes).toEqual([["from 9", "G0 Z31"]]);
    expect(near.findings[0]?.data).toEqual({
      distance: expect.closeTo(15.5636, 3),
      solid: "base",
      angle: expect.any(Number),
      swingRadius: expect.closeTo(160.0781, 3),
      tool: 1,
    });
    // The work turns toward -X: the corner of the front base, atan(125 / 100) = 51.340° off the vertical, comes to the edge,
    // atan(15 / 175) = 4.899° off it, at 56.239°; that of the rear base at 180 - 51.340 + 4.899 = 133.559°, just as near.
    const angle = Number(near.findings[0]?.data?.angle);
    expect(Math.min(Math.abs(angle - 56.239), Math.abs(angle - 133.559))).toBeLessThan(0.01);
    // In contact: the tool 2 deep in the part while it turns.
    expect(said(["B180"])).toEqual([
      '8 "B180" default(F1, tool 1 (end mill 10), base, {"deg":180}, {"mm":0}, {"mm":25}) at F1; 7 related.before()',
    ]);
    // √(15² + z²) - 160.078 = 25 at z = 184.47, which is part Z29.47.
    expect(said(["G0 Z29.48", "B180"])).toEqual([]);
    expect(said(["G0 Z29.46", "B180"])).toHaveLength(1);
    // The angle already stands there.
    expect(said(["B0"])).toEqual([]);
  });

  const rows: readonly Row[] = [
    // -650 + 160.078 + 25 is part Z30.078.
    ["to the lowest whole level outside the swing", ["G0 Z20", "B180"], [["G0 Z31"]]],
    // Gauge point at -495 + 31 + 120 = -344.
    ["up to the end of the travel", ["G0 Z20", "B180"], [["G0 Z31"]], travel(-344)],
    ["not beyond it", ["G0 Z20", "B180"], [], travel(-344.1)],
    // G1 is in force for what follows, so the retract is fed as well.
    ["in G1", ["B180"], [["Z31"]]],
    ["with a shift the level is named so much lower", ["G0 Z20", "G52 Z1", "B180"], [["G0 Z30"]]],
    ["G91 in the block itself", ["G0 Z20", "G91 B180"], [["G0 Z31"]]],
    ["G91 before it", ["G0 Z20", "G91", "B180"], []],
    ["another offset in the block", ["G0 Z20", "G55 B180"], []],
    ["a skipped block", ["G0 Z20", "/B180"], [["/G0 Z31"]]],
    ["a whole turn", ["G0 Z20", "B360"], [["G0 Z31"]]],
  ];
  for (const [title, lines, fixes, setup = TOMB] of rows)
    it(`the retract: ${title}`, () => expect(fixesOf("retract-before-index", setup, program(lines))).toEqual(fixes));

  it("turns with the tool at one place are one finding, at another place another", () => {
    expect(said(["G0 Z20", "B180", "B0", "B180"]).map((t) => t.replace(/\(F1.*?\)(?=[; ]|$)/g, ""))).toEqual([
      '9 "B180" near at F1; 8 related.before(); 10 related.also-at; 11 related.also-at',
    ]);
    expect(said(["G0 Z20", "B180", "Z18", "B0"])).toHaveLength(2);
  });
  it("a turn in a called program, for every tool that calls it", () => {
    const lines = [
      "O1",
      ...HEAD.slice(0, 6),
      "Z20",
      "M98 P5",
      "G28 G91 Z0",
      "G90 B0",
      "T2 M6",
      "G0 G54 X10 Y10 S4000 M3",
      "G43 H2 Z10",
      "M98 P5",
      "G28 G91 Z0",
      "M30",
      "O5",
      "B180",
      "M99",
    ];
    const { texts, fixes } = tell("retract-before-index", TOMB, lines);
    expect(texts).toHaveLength(1);
    expect(texts[0]).toContain("9 related.called-from(); 14 related.before(); 15 related.called-from()");
    expect(fixes).toEqual([["from 19", "G0 Z31"]]);
    // A second caller in G91 would not go up to it.
    const other = lines.map((l) => (l === "G43 H2 Z10" ? "G43 H2 Z10 G91" : l));
    expect(tell("retract-before-index", TOMB, other).fixes).toEqual([]);
    // Above the swing there is nothing to mend.
    expect(
      tell(
        "retract-before-index",
        TOMB,
        lines.map((l) => l.replace("Z20", "Z100").replace("Z10", "Z100")),
      ).texts,
    ).toEqual([]);
  });
  it("about A the same, seen from the side; about C what stands higher than the tool", () => {
    // The axis at Y-375, 60 behind the part zero; the base reaches from Y-575 to Y-225, 200 before and 150 behind it.
    const a = rotary({ axis: "A", centre: { Y: -375, Z: -650 }, sense: 1 });
    // √(200² + 100²) = 223.607; -650 + 223.607 + 25 is part Z93.607.
    expect(tell("retract-before-index", a, program(["G0 Z20", "A180"], "A")).fixes).toEqual([["from 9", "G0 Z94"]]);
    expect(said(["G0 Z94", "A180"], a, "A")).toEqual([]);
    const c: Setup = {
      use: "tombstone",
      change: (s) => {
        (s.machine as Record<string, unknown>).rotary = { axis: "C", centre: { X: -500, Y: -400 }, sense: 1 };
        (s.bases as Record<string, unknown>).rear = undefined;
        (s.stations as unknown[]).pop();
      },
    };
    // Over the stock it turns under the tool, 20 below it; no retract out of a swing about the spindle's axis is offered.
    const above = tell("retract-before-index", c, program(["G0 Z20", "C180"], "C"));
    expect(above.texts).toEqual([
      '9 "C180" near(F1, tool 1 (end mill 10), stock of F1, {"deg":180}, {"mm":20}, {"mm":25}) at F1; 8 related.before()',
    ]);
    expect(above.fixes).toEqual([]);
    expect(said(["G0 Z25", "C180"], c, "C")).toEqual([]);
    // C0 at home, from a place in X and Y that is not known: above everything all the same.
    expect(above.analysis.notChecked.map((n) => n.what.key).filter((k) => k.endsWith("what.index"))).toEqual([]);
  });
  it("what is not known is said to be so, by what is missing", () => {
    const unknown = (lines: readonly string[], setup: Setup = TOMB) =>
      tell("retract-before-index", setup, program(lines)).analysis.notChecked.flatMap(({ what, why }) =>
        what.key.endsWith("what.index") ? [`${JSON.stringify(what.args)} ${why.key}`] : [],
      );
    expect(unknown(["G0 Z#500", "B180"])).toEqual(['{"line":9} why.position-unknown']);
    expect(unknown(["G0 X#500 Z20", "B180"])).toEqual(['{"line":9} why.position-unknown']);
    expect(unknown(["G0 Z20", "B#500"])).toEqual(['{"line":9} why.rotary-unknown']);
    // Outside the cylinder neither the place nor the angle counts.
    expect(unknown(["G0 X#500 Z40", "B180"])).toEqual([]);
    expect(unknown(["G0 Z40", "B#500"])).toEqual([]);
    expect(unknown(["G0 Z20", "B180"], rotary({ axis: "B", sense: 1 }))).toEqual(['{"line":3} why.no-field', '{"line":9} why.no-field']);
    expect(said(["G0 Z20", "B180"], rotary(undefined))).toEqual([]);
  });
});

describe("index-combined", () => {
  const TOMB: Setup = { use: "tombstone" };
  const HEAD = ["G21 G17 G40 G49 G80 G90", "G28 G91 Z0", "G90 B0", "T1 M6", "G0 G54 X10 Y10 S4000 M3", "G43 H1 Z50", "G1 Z-2 F300"];
  const program = (lines: readonly string[]) => [...HEAD, ...lines, "G28 G91 Z0", "M30"];
  const rows: readonly Row[] = [
    ["up first, then the turn", ["G0 Z250 B180"], [["G0 Z250", "B180"]]],
    ["the turn's word first", ["G0 B180 Z250"], [["G0 Z250", "B180"]]],
    ["the turn's word first of all", ["G0", "B180 Z250"], [["Z250", "B180"]]],
    ["a comment behind", ["G0 Z250 B180 (turn)"], [["G0 Z250 (turn)", "B180"]]],
    ["a comment before the word", ["G0 (up) Z250 B180"], []],
    ["the word twice", ["G0 Z250 B90 B180"], []],
    ["in increments", ["G0 G91 Z250 B180"], [["G0 G91 Z250", "B180"]]],
    ["to the side first", ["G0 Z20", "X300 B180"], [["X300", "B180"]]],
    // At X30 Z20 the work could not turn under the tool: the turn comes first.
    ["the turn first, then down", ["G0 Z200", "X30 Z20 B180"], [["B180", "X30 Z20"]]],
    ["the turn first, with what its block states", ["G0 Z200", "G90 X30 Z20 B180"], [["G90 B180", "G90 X30 Z20"]]],
    ["the turn first, in increments", ["G0 Z200", "G91 X20 Z-180 B180"], [["G91 B180", "G91 X20 Z-180"]]],
    ["the turn first, behind G1", ["G0 Z200", "G1 X20 F100", "G0 X30 Z20 B180"], [["G0 B180", "G0 X30 Z20"]]],
    // In neither order: the retract comes before, where the block itself does not move Z.
    ["the retract before", ["G0 Z20", "X30 B180"], [["G0 Z31"]]],
    ["none where its block moves Z", ["G0 Z20", "X30 Z15 B180"], []],
    ["none for a machine position", ["G0 G53 Z0 B180"], []],
  ];
  for (const [title, lines, fixes] of rows)
    it(`the split: ${title}`, () => expect(fixesOf("index-combined", TOMB, program(lines))).toEqual(fixes));
  it("what is said: in it, or past it; a cut that turns is told as a turn", () => {
    expect(tell("index-combined", TOMB, program(["G0 Z250 B180"])).texts).toEqual([
      '8 "G0 Z250 B180" default(F1, tool 1 (end mill 10), stock of F1, {"deg":180}, {"mm":0}, {"mm":25}) at F1; 7 related.before()',
    ]);
    // At its end the tool stands 20 above the stock that has come under it.
    expect(tell("index-combined", TOMB, program(["G0 Z200", "X30 Z20 B180"])).texts).toEqual([
      '9 "X30 Z20 B180" near(F1, tool 1 (end mill 10), stock of R1, {"deg":180}, {"mm":20}, {"mm":25}) at F1; 8 related.before()',
    ]);
    expect(tell("index-combined", TOMB, program(["G1 Z250 B180 F100"])).texts).toEqual([]);
    expect(tell("retract-before-index", TOMB, program(["G1 Z250 B180 F100"])).texts).toHaveLength(1);
    expect(tell("retract-before-index", TOMB, program(["G0 Z250 B180"])).texts).toEqual([]);
  });
});

/**
 * Holes before the fixed jaw, Y-40 … 0 in front of A1 and up to Z-10, and beside it. The drill is tool 2, LF 140: at part Z-8 its gauge
 * point is at -345 - 8 + 140 = -213.
 */
describe("retract-return-level", () => {
  const HEAD = ["G21 G17 G40 G49 G80 G90", "T2 M6", "G0 G54 X-20 Y-30 S2000 M3", "G43 H2 Z50"];
  const TAIL = ["G80", "G0 Z50", "G28 G91 Z0", "M30"];
  const program = (lines: readonly string[]) => [...HEAD, ...lines, ...TAIL];
  const said = (lines: readonly string[]) => tell("retract-return-level", TWO, program(lines)).texts;
  const at = (level: number, depth: number, advice: string) =>
    `{"mm":${depth}}, {"mm":0}, {"mm":2}, ${level}, ${level === -15 ? "G98, initial level" : "G99, R plane"}, ${advice}`;
  const JAW = "A1, bracket, tool 2 (drill 6.8), fixed jaw";
  const LOW = "return to the initial level with G98";

  it("at the R plane: in the jaw, near it, clear of it by 2 mm", () => {
    expect(said(["G99 G81 Z-54 R-20 F200", "X80"])).toEqual([
      `6 "X80" default(${JAW}, X80, ${at(-20, 10, LOW)}) at A1; 5 related.cycle(-20, G99, R plane)`,
    ]);
    expect(said(["G99 G81 Z-54 R-9 F200", "X80"])).toEqual([
      `6 "X80" near(${JAW}, X80, {"mm":0}, {"mm":1}, {"mm":2}, -9, G99, R plane, ${LOW}) at A1; 5 related.cycle(-9, G99, R plane)`,
    ]);
    expect(said(["G99 G81 Z-54 R-8 F200", "X80"])).toEqual([]);
    // Between the two holes before the jaw nothing stands.
    expect(said(["G99 G81 Z-54 R-20 F200", "Y-25"])).toEqual([]);
  });
  it("at the initial level", () => {
    expect(said(["Z-15", "G98 G81 Z-54 R-20 F200", "X80"])).toEqual([
      `7 "X80" default(${JAW}, X80, ${at(-15, 5, "begin the cycle higher")}) at A1; 6 related.cycle(-15, G98, initial level)`,
    ]);
    expect(said(["Z-8", "G98 G81 Z-54 R-20 F200", "X80"])).toEqual([]);
  });
  it("the level is that of the hole before: what its block states counts from its own hole on", () => {
    const cycles = (lines: readonly string[]) => said(lines).map((t) => t.replace(/.*; (\d+ related\.cycle\([^)]*\)).*/, "$1"));
    expect(cycles(["G99 G81 Z-54 R-20 F200", "G98 X80"])).toEqual(["5 related.cycle(-20, G99, R plane)"]);
    expect(cycles(["G99 G81 Z-54 R-20 F200", "G98 Y-25", "X80"])).toEqual([]);
    expect(cycles(["G98 G81 Z-54 R-20 F200", "G99 Y-25", "X80"])).toEqual(["6 related.cycle(-20, G99, R plane)"]);
    expect(cycles(["G99", "G81 Z-54 R-20 F200", "X80"])).toEqual(["6 related.cycle(-20, G99, R plane)"]);
    expect(cycles(["G99 G81 Z-54 R-20 F200 L0", "X-20 Y-30", "X80"])).toEqual(["5 related.cycle(-20, G99, R plane)"]);
  });
  it("one level that is too low is one finding, however many holes it is kept for and however often it is begun", () => {
    const also = (lines: readonly string[]) => said(lines).map((t) => [...t.matchAll(/(\d+) related\.also/g)].map((m) => Number(m[1])));
    expect(also(["G99 G81 Z-54 R-20 F200", "X80", "X-20 Y-25", "X80 Y-30"])).toEqual([[7, 8]]);
    const loop = ["#1=0", "WHILE [#1 LT 3] DO1", "#1=#1+1", "G98 G81 X-20 Y-30 Z-54 R-20 F200", "X80", "G80", "END1"];
    expect(also(["Z-15", ...loop])).toEqual([[9]]);
    // The R plane is one level, the initial level another.
    expect(also(["Z-15", "G99 G81 Z-54 R-20 F200", "X80", "G98 X-20 Y-25", "X80"])).toEqual([[8], []]);
  });

  const first = "G98 G81 Z-54 R-20 F200";
  const rows: readonly Row[] = [
    ["G98 for G99", ["G99 G81 Z-54 R-20 F200", "X80"], [[first]]],
    ["where it stands", ["G81 G99 Z-54 R-20 F200", "X80"], [["G81 G98 Z-54 R-20 F200"]]],
    ["in the block that states it", ["G98 G81 Z-54 R-20 F200", "G99 Y-25", "X80"], [["G98 Y-25"]]],
    ["not where another block states it", ["G99", "G81 Z-54 R-20 F200", "X80"], []],
    ["in a skipped block", ["/G99 G81 Z-54 R-20 F200", "/X80"], [[`/${first}`]]],
    ["and higher, where the initial level is too low", ["Z-15", "G99 G81 Z-54 R-20 F200", "X80"], [["G0 Z-8", first]]],
    ["higher alone", ["Z-15", first, "X80"], [["G0 Z-8"]]],
    ["for a cycle with pecks", ["Z-15", "G98 G83 Z-54 R-20 Q10 F200", "X80"], [["G0 Z-8"]]],
    ["for a cycle with chip breaks", ["Z-15", "G98 G73 Z-54 R-20 Q10 F200", "X80"], [["G0 Z-8"]]],
    ["behind G1", ["G0 Z-15", "G1 X-19 F900", first, "X80"], [["G0 Z-8"]]],
    ["before the block that begins, not that which goes on", ["Z-15", first, "(side)", "Y-25 M8", "X80"], [["G0 Z-8"]]],
    ["not before the first cycle, which G80 ended", ["Z-15", first, "G80", "Z-16", "G82 Y-25 Z-54 R-20 P100", "X80"], [["G0 Z-8"]]],
    ["in a skipped block, skipped", ["Z-15", `/${first}`, "/X80"], [["/G0 Z-8"]]],
    ["with a shift the level is named so much lower", ["G52 Z1", "Z-15", first, "X80"], [["G0 Z-9"]]],
    ["up to the end of the travel", ["Z-15", first, "X80"], [["G0 Z-8"]], travelTo(-213)],
    ["not beyond it", ["Z-15", first, "X80"], [], travelTo(-213.1)],
    // R and Z count from the level in increments, and the offset of the block is not yet in force before it.
    ["not in increments", ["Z-15", "G91 G98 G81 Z-34 R-5 F200", "X100", "G90"], []],
    ["not where the block changes the offset", ["Z-15", `G55 ${first.replace("Z", "X-20 Y-30 Z")}`, "X80"], []],
  ];
  for (const [title, lines, fixes, setup = TWO] of rows)
    it(`the fix: ${title}`, () => expect(fixesOf("retract-return-level", setup, program(lines))).toEqual(fixes));

  it("begun from several levels, all of them known", () => {
    const sub = (lines: readonly string[]) => [
      "O1",
      ...HEAD,
      ...lines,
      ...TAIL,
      "O7",
      "G98 G81 X-20 Y-30 Z-54 R-20 F200",
      "X80",
      "G80",
      "M99",
    ];
    const fixes = (lines: readonly string[]) => tell("retract-return-level", TWO, sub(lines)).fixes;
    expect(fixes(["M98 P7", "Z-15", "M98 P7"])).toEqual([["from 14", "G0 Z-8"]]);
    expect(fixes(["Z#500", "M98 P7", "Z-15", "M98 P7"])).toEqual([]);
    expect(fixes(["M98 P7", "G91", "Z-65", "M98 P7"])).toEqual([]);
  });
});

describe("retract-before-offset", () => {
  const HEAD = ["G21 G17 G40 G49 G80 G90", "T1 M6", "G0 G54 X30 Y-20 S4000 M3", "G43 H1 Z50", "G0 Z5", "Y20", "G1 Z-3 F300", "X40"];
  const TAIL = ["G1 X40 F300", "G0 Z50", "G28 G91 Z0", "M30"];
  const ACROSS = "G0 G55 X30 Y20";
  const program = (lines: readonly string[], tail: readonly string[] = TAIL) => [...HEAD, ...lines, ...tail];

  it("what it meets, what it passes, where it was left and where it goes across", () => {
    const said = (lines: readonly string[]) => tell("retract-before-offset", TWO, program(lines)).texts;
    const args = "A2, bracket, tool 1 (end mill 10), stock of A1, X30";
    expect(said([ACROSS])).toEqual([
      `9 "${ACROSS}" default(${args}, {"mm":3}, {"mm":0}, {"mm":0.5}, A1, -3) at A2; 8 related.left(A1, -3)`,
    ]);
    expect(said(["G0 Z1", ACROSS])).toEqual([
      `10 "${ACROSS}" near(${args}, {"mm":0}, {"mm":1}, {"mm":2}, A1, 1) at A2; 9 related.left(A1, 1)`,
    ]);
    expect(said(["G0 Z2", ACROSS])).toEqual([]);
    // The offset in a block of its own, and Y before X.
    expect(said(["G0 G55", "X30 Y20"])).toEqual([
      `9 "G0 G55" default(${args}, {"mm":3}, {"mm":0}, {"mm":0.5}, A1, -3) at A2; 8 related.left(A1, -3); 10 related.across()`,
    ]);
    expect(said(["G0 G55 Y20", "X30"])).toEqual([
      `9 "G0 G55 Y20" default(${args}, {"mm":3}, {"mm":0}, {"mm":0.5}, A1, -3) at A2; 8 related.left(A1, -3); 10 related.across()`,
    ]);
    const [data] = tell("retract-before-offset", TWO, program([ACROSS])).findings.map((f) => f.data);
    expect(data).toMatchObject({ tool: 1, solid: "stock", solidStation: "A1", part: "cutting", depth: 3 });
  });

  const rows: readonly Row[] = [
    ["before the change", [ACROSS], [["G0 Z2"]]],
    ["before a change in a block of its own", ["G55", "G0 X30 Y20"], [["G0 Z2"]]],
    ["from near, too", ["G0 Z1", ACROSS], [["G0 Z2"]]],
    ["up to the end of the travel", [ACROSS], [["G0 Z2"]], travelTo(-223)],
    ["equal to it within a micrometre", [ACROSS], [["G0 Z2"]], travelTo(-223.0005)],
    ["not beyond it", [ACROSS], [], travelTo(-223.002)],
    ["without a travel in Z", [ACROSS], [["G0 Z2"]], machine((m) => delete m.travel.Z)],
    ["named lower by G52", ["G52 Z1", ACROSS], [["G0 Z1"]]],
    ["rounded up", ["G52 Z.4", ACROSS], [["G0 Z2"]]],
    ["named higher by G92", ["G92 Z-2", ACROSS], [["G0 Z3"]]],
    ["turned about Z", ["G68 X0 Y0 R0", ACROSS], [["G0 Z2"]]],
    ["mirrored in X", ["G51.1 X0", ACROSS], [["G0 Z2"]]],
    ["polar in the plane of X and Y", ["G16", ACROSS], [["G0 Z2"]]],
    ["another plane alone", ["G18", ACROSS], [["G0 Z2"]]],
    // Where a Z word does not plainly mean a height of the tool point nothing is offered.
    ["in increments", ["G91", ACROSS], []],
    ["mirrored in Z", ["G51.1 Z0", ACROSS], []],
    ["scaled", ["G51 X0 Y0 Z0 P2", ACROSS], []],
    ["polar in a plane with Z", ["G18", "G16", ACROSS], []],
    ["turned in a plane with Z", ["G18", "G68 X0 Z0 R10", ACROSS], []],
    ["without length compensation", ["G49", ACROSS], []],
    ["with the length subtracted", ["G44 H1", ACROSS], []],
    ["with another tool's length", ["G43 H3 Z-3", ACROSS], []],
    ["perhaps without length compensation", ["IF [#500 EQ 1] GOTO 5", "G49", "N5", ACROSS], []],
    ["perhaps shifted", ["IF [#500 EQ 1] GOTO 5", "G52 Z1", "N5", ACROSS], []],
    ["perhaps under another offset", ["IF [#500 EQ 1] GOTO 5", "G56", "N5", ACROSS], []],
    ["with a tool that the sidecar does not describe", [ACROSS], [["G0 Z2"]], { use: "two-stations", change: (s) => (s.tools = {}) }],
    // The way itself goes down, up, or goes on lower.
    ["down as it goes across", [`${ACROSS} Z-4`], []],
    ["up as it goes across", [`${ACROSS} Z4`], [["G0 Z2"]]],
    ["across, then down", [ACROSS, "Z-5"], [["G0 Z2"]]],
    ["across, then up, then across", [ACROSS, "Z5", "X40"], [["G0 Z2"]]],
    // What follows relies on G1, so the retract is fed; G2 cannot move Z alone.
    ["fed where a return follows in G1", ["G55", "", "(home)", "M8", "G28 G91 X0", "G28 Z0"], [["Z2"]]],
    ["none in G2", ["G2 X30 Y20 R100", "G55", "G28 G91 X0", "G28 Z0"], []],
    ["G0 where the next block says what it is", ["G2 X30 Y20 R100", "G55", "M8", "G0 X30 Y20"], [["G0 Z2"]]],
    ["G0 in G0", ["G0", "G55", "X30 Y20"], [["G0 Z2"]]],
    ["G0 behind G80", ["G80", "G55", "G0 X30 Y20"], [["G0 Z2"]]],
  ];
  for (const [title, lines, fixes, setup = TWO] of rows)
    it(`the retract: ${title}`, () => expect(fixesOf("retract-before-offset", setup, program(lines))).toEqual(fixes));

  it("a control that has the length always needs no G43 for it", () => {
    const always = machine((m) => (m.dialect = { extends: "iso", lengthBy: "control" }));
    const lines = program([ACROSS]).map((l) => l.replace("G43 H1 ", ""));
    expect(fixesOf("retract-before-offset", always, lines)).toEqual([["G0 Z2"]]);
  });
  it("in a called program: one level that serves every caller, never lower than a caller stands", () => {
    const sub = (again: readonly string[], change = ["G0 G55 X30 Y20"], once: readonly string[] = []) => [
      "O1",
      ...HEAD,
      ...once,
      "M98 P9",
      "G0 Z50",
      "G54 X30 Y20",
      ...again,
      "M98 P9",
      "G90 G0 Z50",
      "G28 G91 Z0",
      "M30",
      "O9",
      ...change,
      "G1 X40 F300",
      "M99",
    ];
    const fixes = (...args: Parameters<typeof sub>) => tell("retract-before-offset", TWO, sub(...args)).fixes.map((f) => f.slice(1));
    expect(fixes(["G1 Z-3 F300"])).toEqual([["G0 Z2"]]);
    expect(fixes([])).toEqual([["G0 Z50"]]);
    expect(fixes(["G52 Z1", "G1 Z-3 F300"])).toEqual([["G0 Z2"]]);
    expect(fixes(["G52 Z-3", "G1 Z-1 F300"])).toEqual([["G0 Z5"]]);
    expect(fixes(["G1 Z-3 F300", "G91"])).toEqual([]);
    // Fed for one caller and at rapid for the other it cannot be.
    const home = ["G55", "G28 G91 X0", "G90"];
    expect(fixes(["G1 Z-3 F300"], home)).toEqual([["Z2"]]);
    expect(fixes(["G1 Z-3 F300", "G0"], home)).toEqual([]);
  });
});

describe("approach-low in a called program", () => {
  const HEAD = ["O1", "G21 G17 G40 G49 G80 G90", "G28 G91 Z0", "G28 X0 Y0", "G90 T1 M6", "S4000 M3"];
  const BACK = ["G28 G91 Z0", "G28 X0 Y0", "G90"];
  const sub = (lines: readonly string[], again: readonly string[], tail: readonly string[] = []) => [
    ...HEAD,
    "G0 G54",
    "M98 P9",
    ...BACK,
    ...again,
    "M98 P9",
    ...BACK,
    "M30",
    "O9",
    ...lines,
    "G1 X40 F500",
    "G0 Z50",
    "M99",
    ...tail,
  ];
  const told = (lines: readonly string[], again: readonly string[]) => tell("approach-low", TWO, sub(lines, again));
  const DOWN = ["G0 G43 H1 Z-5", "X-10 Y20"];
  const both = [
    ["G0 X-10 Y20", "G43 H1 Z-5"],
    ["G0 G43 H1 Z2", "X-10 Y20", "Z-5"],
  ];
  it("one finding with both stations, and fixes that serve both", () => {
    const { texts, fixes } = told(DOWN, ["G55"]);
    expect(texts).toHaveLength(1);
    expect(texts[0]).toContain("related.also-at(A2)");
    expect(fixes.map((f) => f.slice(1))).toEqual(both);
    // With a shift at A2 the level there is named 3 higher, and serves A1 too.
    expect(told(DOWN, ["G55", "G52 Z-3"]).fixes.map((f) => f.slice(1))).toEqual([both[0], ["G0 G43 H1 Z5", "X-10 Y20", "Z-5"]]);
  });
  it("no other order where a caller comes from a cut, and no approach is what its blocks then are", () => {
    // The second call comes from X20 Y20 at Z50 without a change of the tool or a way home: a plain move down.
    const other = [...HEAD, "G0 G54", "M98 P9", "G55 X-10 Y20", "M98 P9", ...BACK, "M30", "O9", ...DOWN, "G1 X40 F500", "G0 Z50", "M99"];
    const { texts, fixes } = tell("approach-low", TWO, other);
    expect(texts).toHaveLength(1);
    expect(fixes).toEqual([]);
  });
  it("no fix where the way across ends in another block for another caller", () => {
    const calls = (home: string) => [
      ...HEAD,
      "M98 P9",
      "G28 G91 Z0",
      home,
      "G90",
      "M98 P9",
      "G28 G91 Z0",
      "M30",
      "O9",
      "G0 G54 G43 H1 Z-5",
      "X-10",
      "Y20",
      "G1 X40 F500",
      "G0 Z50",
      "M99",
    ];
    // From Y home it goes behind the row, then to Y20. From Y20 the block with Y moves nothing, and that with X goes through the stock.
    expect(tell("approach-low", TWO, calls("G28 X0 Y0")).texts).toEqual([]);
    const { texts, fixes } = tell("approach-low", TWO, calls("G28 X0"));
    expect(texts).toHaveLength(1);
    expect(fixes).toEqual([]);
  });
  it("a higher first Z, where every caller goes on to another", () => {
    const into = ["G0 X20 Y20", "G43 H1 Z-5", "Z2"];
    expect(told(into, ["G55"]).fixes.map((f) => f.slice(1))).toEqual([["G43 H1 Z2"]]);
    // With the shift at A2 the Z2 that follows would be a rapid into the stock there.
    expect(told(into, ["G55", "G52 Z-3"]).fixes).toEqual([]);
    expect(told(["G0 X20 Y20", "G43 H1 Z-5", "Z6"], ["G55", "G52 Z-3"]).fixes.map((f) => f.slice(1))).toEqual([["G43 H1 Z5"]]);
    expect(told(["G0 X20 Y20", "G43 H1 Z-5"], ["G55"]).fixes).toEqual([]);
  });
  it("a control that has the length always", () => {
    const always = machine((m) => (m.dialect = { extends: "iso", lengthBy: "control" }));
    const lines = [...HEAD.slice(1), "G0 G54 Z-5", "X-10 Y20", "G1 X40 F500", "G0 Z50", "M30"];
    expect(fixesOf("approach-low", always, lines)).toEqual([
      ["G0 G54 X-10 Y20", "Z-5"],
      ["G0 G54 Z2", "X-10 Y20", "Z-5"],
    ]);
    expect(tell("approach-low", TWO, lines).texts).toEqual([]);
  });
});

/** A2 stands 150 mm behind A1, in another row; in the sample 150 mm beside it, in the same row. */
describe("approach-stale-axis", () => {
  interface Plate {
    bases: { plate: { skew?: number } };
    stations: { repeat: unknown }[];
  }
  const sidecar = (change: (s: Plate) => void): Setup => ({ use: "two-stations", change: (s) => change(s as unknown as Plate) });
  const COLUMN = sidecar((s) => {
    for (const one of s.stations) one.repeat = { columns: 1, rows: 2, step: [3, 3] };
  });
  const skewed = (degrees: number): Setup =>
    sidecar((s) => {
      s.bases.plate.skew = degrees;
    });
  const HEAD = ["G21 G17 G40 G49 G80 G90", "T2 M6", "G0 G54 X20 Y20 S2000 M3", "G43 H2 Z50", "G98 G81 X20 Y20 Z-8 R2 F200", "G80"];
  const HOLE = ["G98 G81 Z-8 R2 F200", "G80"];
  const TAIL = ["G28 G91 Z0", "M30"];
  const look = (lines: readonly string[], setup: Setup = COLUMN) => tell("approach-stale-axis", setup, [...HEAD, ...lines, ...TAIL]);
  const said = (lines: readonly string[], setup?: Setup) => look(lines, setup).texts;
  const text = (axes: string, axis: string, value: number, off: string, line = 8) =>
    `7 "G55" default(tool 2 (drill 6.8), A2, A1, ${axes}, ${axis}, ${value}, {"mm":${off}}) at A2; ${line} related.down()`;

  it("which axis is stale, by how much, and where it goes down", () => {
    expect(said(["G0 G55 X20", ...HOLE])).toEqual([text("Y", "Y", 20, "150")]);
    expect(said(["G0 G55 Y20", ...HOLE], TWO)).toEqual([text("X", "X", 20, "150")]);
    // Both: the one that is farther off is named.
    expect(said(["G0 G55", ...HOLE])).toEqual([text("X and Y", "Y", 20, "150")]);
    expect(said(["G0 G55", ...HOLE], TWO)).toEqual([text("X and Y", "X", 20, "150")]);
    expect(said(["G0 G55 X20", "Z2", "G1 Z-3 F100", "G0 Z50"])).toEqual([text("Y", "Y", 20, "150", 9)]);
    expect(said(["G0 G55 X20", "G1 X40 F100", "G0 Z50"])).toEqual([text("Y", "Y", 20, "150")]);
    expect(look(["G0 G55 X20", ...HOLE]).findings[0]?.data).toEqual({ axes: ["Y"], off: 150 });
  });
  it("where the axis agrees within the tolerance it is mentioned", () => {
    const same = look(["G0 G55 X20", ...HOLE], TWO);
    expect(same.texts).toEqual(['7 "G55" same(tool 2 (drill 6.8), A2, A1, Y, Y, 20, {"mm":0}) at A2; 8 related.down()']);
    expect(same.findings[0]?.level).toBe("information");
    expect(same.findings[0]?.fixes[0]?.sameMotion).toBe(true);
    // 150·sin 0.005° = 0.0131, within 0.02; naming Y then moves it by that much. 150·sin 1° = 2.618.
    const near = look(["G0 G55 X20", ...HOLE], skewed(0.005));
    expect(near.findings.map((f) => [f.level, f.fixes[0]?.sameMotion])).toEqual([["information", false]]);
    const off = look(["G0 G55 X20", ...HOLE], skewed(1));
    expect(off.findings.map((f) => [f.level, Number(f.data?.off).toFixed(3)])).toEqual([["error", "2.618"]]);
  });
  it("restated in time, or only on the way to a height above everything", () => {
    for (const lines of [
      ["G0 G55 X20 Y20", ...HOLE],
      ["G0 G55 X20", "Y20", ...HOLE],
      ["G0 G55", "Y20", "X20", ...HOLE],
      ["G0 G55 X20", "Z40", "Y20", ...HOLE],
      ["G0 G55 X20", "G1 Y20 F100", "G0 Z50"],
      // A polar radius is both axes.
      ["G16", "G0 G55 X30", ...HOLE, "G15"],
      // Nothing goes down there.
      ["G0 G55 X20"],
      ["G0 G55 X20", "G0 G54 X30 Y20", ...HOLE],
    ])
      expect(said(lines)).toEqual([]);
    // Home and machine positions name no place at the station.
    expect(said(["G0 G55 X20", "G28 Y0", ...HOLE])).toHaveLength(1);
    expect(said(["G0 G55 X20", "G53 Y-100", ...HOLE])).toHaveLength(1);
  });
  it("a new tool: before X and Y it is the matter of approach-low, where they never come of this rule", () => {
    const tool = ["T1 M6", "S3000 M3", "G0 G55 X20", "G43 H1 Z-3"];
    expect(said([...tool, "Y20", "G1 X40 F300", "G0 Z50"])).toEqual([]);
    expect(said([...tool, "G1 X40 F300", "G0 Z50"])).toEqual([
      '9 "G55" default(tool 1 (end mill 10), A2, A1, Y, Y, 20, {"mm":150}) at A2; 11 related.down()',
    ]);
  });
  const rows: readonly Row[] = [
    ["behind X", ["G0 G55 X20", ...HOLE], [["G0 G55 X20 Y20"]]],
    ["before Y", ["G0 G55 Y20", ...HOLE], [["G0 G55 X20 Y20"]], TWO],
    ["behind X, whatever follows it", ["G0 X20 G55 (row)", ...HOLE], [["G0 X20 Y20 G55 (row)"]]],
    ["in the block that names the other axis", ["G55", "G0 X20", ...HOLE], [["G0 X20 Y20"]]],
    ["both in a block of their own behind the change", ["G0 G55", ...HOLE], [["X20 Y20"]]],
    ["in a skipped block", ["/G0 G55 X20", `/${HOLE[0]}`, "/G80"], [["/G0 G55 X20 Y20"]]],
    ["less the shift", ["G52 Y1", "G0 G55 X20", ...HOLE], [["G0 G55 X20 Y19"]]],
    ["beside a computed value", ["G0 G55 X[20]", ...HOLE], [["G0 G55 X[20] Y20"]]],
    ["not where the axes are turned", ["G68 X0 Y0 R10", "G0 G55 X20", ...HOLE], []],
    ["not where they are mirrored", ["G51.1 X0", "G0 G55 X20", ...HOLE], []],
    ["not where they are scaled", ["G51 X0 Y0 Z0 P2", "G0 G55 X20", ...HOLE], []],
    ["not both where the next block would feed to them", ["G1 Z40 F900", "G55", ...HOLE], []],
    ["not in increments", ["G91 G0 G55 X5", "G90", ...HOLE], []],
  ];
  for (const [title, lines, fixes, setup = COLUMN] of rows)
    it(`the fix: ${title}`, () => expect(fixesOf("approach-stale-axis", setup, [...HEAD, ...lines, ...TAIL])).toEqual(fixes));

  it("in a called program: offered where every caller means the same", () => {
    const sub = (lines: readonly string[]) =>
      tell("approach-stale-axis", COLUMN, ["O1", ...HEAD, ...lines, ...TAIL, "O9", "G0 G55 X20", ...HOLE, "M99"]).fixes.map((f) =>
        f.slice(1),
      );
    expect(sub(["M98 P9"])).toEqual([["G0 G55 X20 Y20"]]);
    expect(sub(["M98 P9", "G0 G54 X30 Y20", "M98 P9"])).toEqual([["G0 G55 X20 Y20"]]);
    expect(sub(["M98 P9", "G0 G54 X30 Y21", "M98 P9"])).toEqual([]);
    expect(sub(["M98 P9", "G0 G55 X30 Y20", "M98 P9"])).toEqual([["G0 G55 X20 Y20"]]);
    // A block that moved nothing there is not looked into.
    expect(sub(["M98 P9", "G0 G55 X20 Y20", "M98 P9"])).toEqual([]);
    // Where the program has named another Y at the station before, the block would move it.
    expect(sub(["M98 P9", "G0 G55 X30 Y25", "M98 P9"])).toEqual([]);
  });
});

/** Travel X-1020 … 0, Y-510 … 0, Z-560 … 0; part zero of A1 at X-680 Y-385 Z-345, of A2 150 mm on in X. */
describe("travel-limit", () => {
  const HEAD = ["G21 G17 G40 G49 G80 G90", "T1 M6", "G0 G54 X10 Y10 S4000 M3", "G43 H1 Z50"];
  const TAIL = ["G0 Z50", "G28 G91 Z0", "M30"];
  const said = (lines: readonly string[], setup: Setup = TWO, tail = TAIL) =>
    tell("travel-limit", setup, [...HEAD, ...lines, ...tail]).texts;
  const travel = (change: Record<string, readonly [number, number]>): Setup => machine((m) => Object.assign(m.travel, change));
  const line = (n: number, text: string, axis: string, to: string, value: number, over: number, end: string, limit: number) =>
    `${n} "${text}" default(A1, tool 1 (end mill 10), ${axis}, ${to}, {"mm":${value}}, {"mm":${over}}, ${end}, {"mm":${limit}}) at A1`;

  it("each end of each axis, not at the end nor a micrometre beyond it", () => {
    expect(said(["G0 X-341"])).toEqual([line(5, "G0 X-341", "X", "X-341", -1021, 1, "lower", -1020)]);
    expect(said(["G0 X681"])).toEqual([line(5, "G0 X681", "X", "X681", 1, 1, "upper", 0)]);
    expect(said(["G0 Y-126"])).toEqual([line(5, "G0 Y-126", "Y", "Y-126", -511, 1, "lower", -510)]);
    expect(said(["G0 Y386"])).toEqual([line(5, "G0 Y386", "Y", "Y386", 1, 1, "upper", 0)]);
    // Gauge point -345 + 235 + 120 = 10; -345 - 100 + 120 = -325.
    expect(said(["G0 Z235"])).toEqual([line(5, "G0 Z235", "Z", "Z235", 10, 10, "upper", 0)]);
    expect(said(["G0 Z-100"], travel({ Z: [-324, 0] }))).toEqual([line(5, "G0 Z-100", "Z", "Z-100", -325, 1, "lower", -324)]);
    for (const inside of ["X-340", "X-340.0005", "X680", "Y-125", "Y385", "Z225"]) expect(said([`G0 ${inside}`])).toEqual([]);
    const [first] = tell("travel-limit", TWO, [...HEAD, "G0 X-341", ...TAIL]).findings;
    expect(first?.data).toEqual({ axis: "X", value: -1021, over: expect.closeTo(1, 9), limit: -1020, tool: 1 });
  });
  it("one block is told once, whatever the axes; without travel, or without LF for Z, there is none", () => {
    expect(tell("travel-limit", TWO, [...HEAD, "G0 X-341 Z235", ...TAIL]).texts).toHaveLength(1);
    expect(
      said(
        ["G0 X-341"],
        machine((m) => (m.travel = {})),
      ),
    ).toEqual([]);
    expect(
      said(
        ["G0 Z300"],
        machine((m) => delete m.travel.Z),
      ),
    ).toEqual([]);
    const noLength: Setup = {
      use: "two-stations",
      change: (s) => {
        (s.tools as Record<string, Record<string, unknown>>)["1"] = { name: "end mill 10", DC: 10, H: 1 };
      },
    };
    expect(said(["G0 Z300"], noLength)).toEqual([]);
    expect(said(["G0 X-341"], noLength)).toHaveLength(1);
  });
  it("the block that leads out is told, not what goes on outside, nor the way back; out again is", () => {
    const also = (texts: readonly string[]) =>
      texts.map((t) => [Number.parseInt(t, 10), ...[...t.matchAll(/(\d+) related/g)].map((m) => Number(m[1]))]);
    expect(also(said(["G0 X-341", "X-345", "X-341", "X0"]))).toEqual([[5]]);
    expect(also(said(["G0 X-341", "X-345", "X-341", "X0", "X-342"]))).toEqual([[5, 9]]);
    // At another station, or by another height, it is another fault.
    expect(also(said(["G0 X681", "X0", "G55 X531"]))).toEqual([[5], [7]]);
    expect(also(said(["G0 X681", "G55 X531"]))).toEqual([[5]]);
    expect(also(said(["G0 Z235", "Z50", "Z236"]))).toEqual([[5], [7]]);
    expect(also(said(["G0 Z235", "Z50", "G55 X0 Y0", "Z235"]))).toEqual([[5, 8]]);
    // Straight across outside, and out at the other end.
    expect(also(said(["G0 X-341", "X681"]))).toEqual([[5]]);
    // A longer tool reaches out on its own.
    expect(also(said(["G0 Z235", "T2 M6", "G0 G54 X10 Y10 S4000 M3", "G43 H2 Z216"]))).toEqual([[5], [8]]);
  });
  it("arcs bulge: about Z to the side, in the plane of Z and X up and down", () => {
    // Half a circle of radius 100 about X600 Y110, counter-clockwise from its south: east of it at X700 = machine X20.
    const east = ["G0 X600", "G3 X600 Y210 I0 J100 F500", "G0 X0"];
    expect(said(east, travel({ X: [-1020, 19] }))).toEqual([line(6, "G3 X600 Y210 I0 J100 F500", "X", "Y210", 20, 1, "upper", 19)]);
    expect(said(east, travel({ X: [-1020, 20] }))).toEqual([]);
    // Clockwise it bulges to the west, X500 = machine X-180.
    expect(
      said(
        east.map((l) => l.replace("G3", "G2")),
        travel({ X: [-1020, -50] }),
      ).filter((t) => t.startsWith("6")),
    ).toEqual([]);
    // Z to X is the positive sense of G18: G3 from X0 to X100 goes over Z50, gauge -345 + 50 + 120 = -175; G2 goes under, to -275.
    const over = ["G18 G0 X0 Z0", "G3 X100 Z0 I50 K0 F500", "G17 G0 Z10"];
    const tail = ["M30"];
    expect(said([...over], travel({ Z: [-560, -176] }), tail).map((t) => Number.parseInt(t, 10))).toEqual([4]);
    const low = HEAD.map((l) => l.replace("Z50", "Z10"));
    const at = (lines: readonly string[], z: readonly [number, number]) =>
      tell("travel-limit", travel({ Z: z }), [...low, ...lines, ...tail]).findings.map((f) => [f.place.range.line + 1, f.data?.value]);
    expect(at(over, [-560, -176])).toEqual([[6, expect.closeTo(-175, 6)]]);
    expect(at(over, [-560, -174])).toEqual([]);
    const under = over.map((l) => l.replace("G3", "G2"));
    expect(at(under, [-274, 0])).toEqual([[6, expect.closeTo(-275, 6)]]);
    expect(at(under, [-276, 0])).toEqual([]);
  });
  it("machine positions, and from a place that is not known: the end counts", () => {
    expect(said(["G53 X1"])).toEqual([line(5, "G53 X1", "X", "X681", 1, 1, "upper", 0)]);
    expect(tell("travel-limit", TWO, [...HEAD.slice(0, 2), "G0 G54 X700 Y10 S4000 M3", "M30"]).texts).toEqual([
      line(3, "G0 G54 X700 Y10 S4000 M3", "X", "X700 Y10", 20, 20, "upper", 0),
    ]);
  });
  it("the rotary axis in degrees", () => {
    const setup: Setup = {
      use: "tombstone",
      change: (s) => {
        (s.machine as Machine).travel.B = [-10, 200];
      },
    };
    const lines = ["G21 G17 G40 G49 G80 G90", "G28 G91 Z0", "G90 B0", "T1 M6", "G0 G54 X10 Y10 S4000 M3", "B201", "B200", "B-11", "M30"];
    const { findings } = tell("travel-limit", setup, lines);
    expect(
      findings.map((f) => [f.message.key, f.message.args.value, f.message.args.over, f.message.args.end, f.message.args.limit]),
    ).toEqual([["rotary", { deg: 201 }, { deg: 1 }, "upper", { deg: 200 }]]);
    expect(findings[0]?.related.map((r) => [r.place.range.line + 1, r.message.args.end])).toEqual([[8, "lower"]]);
  });
  it("an offset that stands beside its station explains as much as it stands beside", () => {
    // G54 holds X 10 mm beyond the station: what is 5 mm over follows from it, 15 mm does not.
    const stored: Setup = {
      use: "two-stations",
      change: (s) => {
        s.offsets = { values: { G54: { X: -670, Y: -385, Z: -345 } } };
      },
    };
    expect(said(["G0 X675"], stored)).toEqual([]);
    expect(said(["G0 X685"], stored)).toHaveLength(1);
  });
});

/**
 * The stock of A1 ends at X60, that of A2 begins at X150. With the end mill of 10 mm a cut is within reach of a neighbour nearer than
 * the greater of its diameter and five rapid clearances, and the cut clearance: 10 + 0.5.
 */
describe("station-outside-part", () => {
  const HEAD = ["G21 G17 G40 G49 G80 G90", "T1 M6"];
  const TAIL = ["G0 Z50", "G28 G91 Z0", "M30"];
  const cut = (x: number, y = 10, to = 30) => [`G0 G54 X${x} Y${y} S4000 M3`, "G43 H1 Z50", "G0 Z2", "G1 Z-5 F500", `Y${to}`];
  const findings = (lines: readonly string[], setup: Setup = TWO) =>
    tell("station-outside-part", setup, [...HEAD, ...lines, ...TAIL]).findings.map((f) => [
      f.place.range.line + 1,
      ...["own", "distance"].flatMap((key) => {
        const arg = f.message.args[key];
        return typeof arg === "object" && "mm" in arg ? [Math.round(arg.mm * 1000) / 1000] : [];
      }),
    ]);
  const clearance = (rapid: number, own: number): Setup => ({
    use: "two-stations",
    change: (s) => {
      s.clearance = { rapid, cut: own };
    },
  });
  it("within reach of the neighbour and away from its own stock, to a tenth", () => {
    const [first] = tell("station-outside-part", TWO, [...HEAD, ...cut(134.6), ...TAIL]).texts;
    expect(first).toMatch(/^6 "G1 Z-5 F500" default\(tool 1 \(end mill 10\), A1, A2, \{"mm":69\.6\d*\}, \{"mm":10\.39\d*\}, G55\) at A1/);
    const told = (x: number, setup?: Setup) => findings(cut(x), setup).length;
    // 150 - 5 - 134.4 = 10.6.
    expect([134.4, 134.6, 139, 144.9].map((x) => told(x))).toEqual([0, 1, 1, 1]);
    // Into the neighbour it is neighbour-cut.
    expect(told(146)).toBe(0);
    // Five times 3 and 1.
    expect([128.9, 129.1].map((x) => told(x, clearance(3, 1)))).toEqual([0, 1]);
    // Beside both, in front of the row.
    expect(findings(cut(134.6, -90, -80))).toEqual([]);
    // The drill of 6.8: 150 - 3.4 - 136 = 10.6.
    const drill = (x: number) => ["T2 M6", `G0 G54 X${x} Y10 S4000 M3`, "G43 H2 Z50", `G81 X${x} Y10 Z-8 R2 F100`, "G80"];
    expect(findings(drill(136))).toEqual([]);
    expect(findings(drill(136.2))).toHaveLength(1);
    // A tool that the sidecar does not describe has no width.
    const bare = (x: number) => ["T9 M6", `G0 G54 X${x} Y10 S4000 M3`, "G43 H9 Z50", "G1 Z-5 F100", "Y30"];
    expect(findings(bare(139))).toEqual([]);
    expect(findings(bare(140))).toHaveLength(1);
  });
  it("the least of the whole cut counts, with dwells in it and arcs", () => {
    expect(findings([...cut(134.6), "X140", "Y10"]).map((f) => f[0])).toEqual([6]);
    const data = (lines: readonly string[]) =>
      tell("station-outside-part", TWO, [...HEAD, ...lines, ...TAIL]).texts.map((t) => /\{"mm":([\d.]+)\}, G55/.exec(t)?.[1]?.slice(0, 5));
    expect(data([...cut(134.6), "X140", "Y10"])).toEqual(["5"]);
    expect(data([...cut(134.6), "G4 P1.", "X136"])).toEqual(["9"]);
    // Half a circle about X132 of radius 4, from the west by the north to the east: X136 + 5 is 9 from X150.
    expect(data(["G0 G54 X128 Y20 S4000 M3", "G43 H1 Z50", "G0 Z2", "G1 Z-5 F500", "G2 X136 Y20 I4 J0"])).toEqual(["9"]);
    // On into its own stock, it is a long way in.
    expect(findings([...cut(134.6), "X20"])).toEqual([]);
    // Nearer to its own stock than to the neighbour's it is a lead-out: 75.5 - 5 - 60 = 10.5, and 10.3.
    expect(findings([...cut(134.6), "X75.5"])).toHaveLength(1);
    expect(findings([...cut(134.6), "X75.3"])).toEqual([]);
    // Away is farther than a rapid must keep: 116 - 5 - 60 = 51, and 49.
    expect(findings(cut(116), clearance(50, 0.5))).toHaveLength(1);
    expect(findings(cut(114), clearance(50, 0.5))).toEqual([]);
  });
  it("once for a visit and neighbour, whatever else the visit cuts", () => {
    const again = ["G0 Z50", "X134.6 Y10", "Z2", "G1 Z-5", "Y30"];
    expect(findings([...cut(134.6), ...again])).toHaveLength(1);
    expect(findings([...cut(134.6), "G0 Z50", "X20 Y20", "Z2", "G1 Z-5", "X30"])).toHaveLength(1);
    // One of the cuts goes into the neighbour: that is told instead.
    expect(findings([...cut(134.6), "G0 Z50", "X146 Y10", "Z2", "G1 Z-5", "Y30"])).toEqual([]);
  });
  it("not beside a station that is empty, nor where the offset stands beside its station", () => {
    const empty: Setup = {
      use: "two-stations",
      change: (s) => {
        const [one] = s.stations as Record<string, unknown>[];
        const { repeat: _, ...rest } = one as Record<string, unknown>;
        s.stations = [
          { ...rest, id: "A1" },
          { ...rest, id: "A2", at: [4, 1], offset: "G55", empty: true },
        ];
      },
    };
    expect(findings(cut(139), empty)).toEqual([]);
    const beside: Setup = {
      use: "two-stations",
      change: (s) => {
        s.offsets = { values: { G54: { X: -670, Y: -385, Z: -345 } } };
      },
    };
    expect(findings(cut(129), beside)).toEqual([]);
  });
});

describe("a fix is written as the program is (retract-before-offset, approach-stale-axis)", () => {
  const BASE = [
    "G21 G17 G40 G49 G80 G90",
    "T1 M6",
    "G0 G54 X30 Y-20 S4000 M3",
    "G43 H1 Z50",
    "G0 Z5",
    "Y20",
    "G1 Z-3 F300",
    "X40",
    "G0 G55 X30 Y20",
    "G1 X40 F300",
    "G0 Z50",
    "G28 G91 Z0",
    "M30",
  ];
  const pad = (l: string) => l.replace(/\b([GM])(\d)\b/g, "$10$2");
  const point = (l: string) => l.replace(/([XYZ]-?\d+)\b/g, "$1.");
  const close = (l: string) => l.replaceAll(" ", "");
  const lower = (l: string) => l.toLowerCase();
  const written = (lines: readonly string[], setup: Setup = TWO) => fixesOf("retract-before-offset", setup, lines)[0];
  const first = (n: number, f: (l: string) => string) => BASE.map((l, i) => (i < n ? f(l) : l));
  const change = (f: (l: string) => string) => BASE.map((l, i) => (i === 8 ? f(l) : l));

  it("the majority of its words decides about zeros, case, spaces and points", () => {
    expect(written(BASE)).toEqual(["G0 Z2"]);
    expect(written(BASE.map(pad))).toEqual(["G00 Z2"]);
    expect(written(BASE.map(lower))).toEqual(["g0 z2"]);
    expect(written(BASE.map(close))).toEqual(["G0Z2"]);
    expect(written(BASE.map(point))).toEqual(["G0 Z2."]);
    // Of eight codes with one digit, five; of 37 words, 20 and 17; of 24 gaps, 13 and 11; of twelve coordinates, seven and five.
    expect(written(first(7, pad))).toEqual(["G00 Z2"]);
    expect(written(first(6, lower))).toEqual(["g0 z2"]);
    expect(written(first(4, lower))).toEqual(["G0 Z2"]);
    expect(written(first(4, close))).toEqual(["G0Z2"]);
    expect(written(first(3, close))).toEqual(["G0 Z2"]);
    expect(written(first(8, point))).toEqual(["G0 Z2."]);
    expect(written(first(6, point))).toEqual(["G0 Z2"]);
  });
  it("where neither is in the majority: no zeros, upper case, spaces, points", () => {
    expect(written(first(5, pad))).toEqual(["G0 Z2"]);
    expect(written(["M8", ...first(5, lower)])).toEqual(["G0 Z2"]);
    expect(written(BASE.map((l, i) => ([0, 1, 2, 4].includes(i) ? close(l) : l)))).toEqual(["G0 Z2"]);
    expect(written(first(7, point))).toEqual(["G0 Z2."]);
    // No whole coordinate shows how they are written.
    expect(written(BASE.map((l) => l.replace(/([XYZ]-?\d+)\b/g, "$1.5")))?.[0]).toMatch(/^G0 Z\d\.$/);
  });
  it("a control that counts whole numbers in increments gets the point in any case", () => {
    const increments = machine((m) => (m.dialect = { extends: "iso", wholeNumber: "increment" }));
    expect(
      written(
        BASE.map((l) => l.replace(/([XYZ]-?\d+)\b/g, "$1000")),
        increments,
      ),
    ).toEqual(["G0 Z2."]);
  });
  it("indent and block skip of the block that it stands before, without its number", () => {
    expect(written(change((l) => `  ${l}`))).toEqual(["  G0 Z2"]);
    expect(written(change((l) => `\t/ ${l}`))).toEqual(["\t/ G0 Z2"]);
    expect(written(change((l) => `/2${l}`))).toEqual(["/2G0 Z2"]);
    expect(written(change((l) => `N9${l}`))).toEqual(["G0 Z2"]);
    expect(written(change((l) => `N9/${l}`))).toEqual(["/ G0 Z2"]);
    expect(written(change((l) => `N9 /3 ${l}`))).toEqual(["/3 G0 Z2"]);
    // Only the end of the block is skipped: its beginning is run, and so is the retract.
    expect(written(change((l) => l.replace("X30", "/X30")))).toEqual(["G0 Z2"]);
  });
  it("words within a block", () => {
    const COLUMN: Setup = {
      use: "two-stations",
      change: (s) => {
        for (const one of s.stations as { repeat: unknown }[]) one.repeat = { columns: 1, rows: 2, step: [3, 3] };
      },
    };
    const hole = (f: (l: string) => string, axis = "X") =>
      fixesOf(
        "approach-stale-axis",
        COLUMN,
        [
          "G21 G17 G40 G49 G80 G90",
          "T2 M6",
          "G0 G54 X20 Y20 S2000 M3",
          "G43 H2 Z50",
          "G98 G81 X20 Y20 Z-8 R2 F200",
          "G80",
          `G0 G55 ${axis}20`,
          "G98 G81 Z-8 R2 F200",
          "G80",
          "G28 G91 Z0",
          "M30",
        ].map(f),
      )[0];
    expect(hole(close)).toEqual(["G0G55X20Y20"]);
    expect(hole((l) => point(lower(l).toUpperCase()))).toEqual(["G0 G55 X20. Y20."]);
    expect(hole(close, "Y")).toEqual(["G0G55X20Y20"]);
    expect(hole((l) => lower(close(l)))).toEqual(["g0g55x20y20"]);
  });
});
