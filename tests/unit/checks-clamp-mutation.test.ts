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
