/**
 * `jawline trace` as a process against the contract: design.md ("Command line"), sidecar.md and the numbered rulings of
 * contract-details.md. Every expected number was worked out by hand from those pages; A1's part zero is the machine datum.
 */
import { describe, expect, test } from "vitest";
import { Folder } from "../support/command-line.js";
import { HEAD, type Json, plate } from "../support/contract.js";

const folder = new Folder("contract-trace");

interface Line extends Json {
  readonly line: number;
  readonly kind: string;
  readonly from: (number | null)[];
  readonly to: (number | null)[];
}

/** The moves of a program, an error message when the run was not whole. */
function trace(program: string, sidecar: Json | undefined = plate(), ...options: string[]): Line[] {
  folder.put("p.nc", program);
  const args = ["trace", "p.nc", ...options];
  if (sidecar !== undefined) {
    folder.put("p.fixture.json", JSON.stringify(sidecar));
    args.push("--fixture", "p.fixture.json");
  }
  const { out } = folder.jawline(args);
  return out.split("\n").flatMap((text) => (text === "" ? [] : [JSON.parse(text) as Line]));
}

/** The moves after the usual head, as line, kind and end. */
function afterHead(program: string, sidecar?: Json, ...options: string[]): [number, string, (number | null)[]][] {
  return trace(`${HEAD}${program}M30\n`, sidecar, ...options)
    .filter(({ line }) => line > 4)
    .map(({ line, kind, to }) => [line, kind, to]);
}

describe("ruling 30: centre is [X, Y, Z], the third from the start, of the tool point like every number", () => {
  test("in G18 and G19 the centre does not stand LF too high", () => {
    // G18: centre at X10, Z50; the third axis is +Y. From Z towards X is right-handed about +Y: start X-10 is at -90°, end
    // Z-10 at -180°, clockwise.
    const [arc] = trace(`${HEAD}G18 G2 X10. Z40. I10. K0 F100\nM30\n`).slice(2);
    expect(arc).toMatchObject({ kind: "arc", plane: "G18", from: [0, 0, 50], to: [10, 0, 40], centre: [10, 0, 50], sweep: -90, feed: 100 });
    // G19: Y towards Z about +X: start Z-10 is at -90°, end Y10 at 0°, counter-clockwise.
    const [other] = trace(`${HEAD}G19 G3 Y10. Z60. J0 K10. F100\nM30\n`).slice(2);
    expect(other).toMatchObject({ kind: "arc", plane: "G19", to: [0, 10, 60], centre: [0, 0, 60], sweep: 90 });
  });
});

/** Moves as they are expected: line, kind, end. */
type Expected = [number, string, (number | null)[]][];

describe("ruling 1: gauge point = tool point + LF; G53, G28 and Z without length compensation speak of the gauge point", () => {
  test("G53, a tool change that jumps by the difference in LF, G28, and Z without G43", () => {
    // Home Z300. LF 120 and 150: the gauge at 300 puts the tool points at 180 and 150; at 0 it puts tool 2's at -150.
    const moves = trace(
      "G21 G90\nT1 M6\nG53 G0 Z300.\nG54 X0 Y0\nG43 H1 Z50.\nG91 G28 Z0\nG90 T2 M6\nX10.\nG43 H2 Z20.\nG49\nX0\nG0 Z0\nM30\n",
    );
    expect(moves.map(({ line, from, to }) => [line, from, to])).toEqual([
      [3, [null, null, null], [null, null, 180]],
      [4, [null, null, 180], [0, 0, 180]],
      [5, [0, 0, 180], [0, 0, 50]],
      [6, [0, 0, 50], [0, 0, 180]],
      [8, [0, 0, 150], [10, 0, 150]],
      [9, [10, 0, 150], [10, 0, 20]],
      [11, [10, 0, 20], [0, 0, 20]],
      [12, [0, 0, 20], [0, 0, -150]],
    ]);
    expect(moves.map(({ tool }) => tool)).toEqual([1, 1, 1, 1, 2, 2, 2, 2]);
  });

  test("without LF the tool point's Z is unknown after such a motion, and known again under G43", () => {
    const moves = trace("G21 G90\nT1 M6\nG53 G0 Z300.\nG54 X0 Y0\nG43 H1 Z50.\nG91 G28 Z0\nM30\n", plate({ tools: undefined }));
    expect(moves.slice(-3).map(({ to }) => to)).toEqual([
      [0, 0, null],
      [0, 0, 50],
      [0, 0, null],
    ]);
  });

  test("ruling 2: with the wrong H the true tool point is commanded Z + LF(H) - LF(tool)", () => {
    // 50 + 150 - 120 = 80; G44 takes it away: 50 - 120 - 120 = -190.
    expect(trace("G21 G90\nT1 M6\nG0 G54 X0 Y0\nG43 H2 Z50.\nM30\n").at(-1)?.to).toEqual([0, 0, 80]);
    expect(trace("G21 G90\nT1 M6\nG0 G54 X0 Y0\nG44 H1 Z50.\nM30\n").at(-1)?.to).toEqual([0, 0, -190]);
  });

  test("ruling 18: tool 0 before the first change, G54 in force, axes unknown", () => {
    expect(trace("G21 G90\nG0 X5.\nM30\n")).toEqual([
      { line: 2, kind: "rapid", tool: 0, offset: "G54", station: "A1", from: [null, null, null], to: [5, null, null] },
    ]);
  });
});

describe("ruling 31: which moves", () => {
  test.each<[string, string, Expected]>([
    ["no move of no length", "X0 Y0 Z50.\nX0\n", []],
    [
      "G28 goes to the intermediate point if it differs, then home",
      "G28 X10. Y10.\nG28 Z60.\n",
      [
        [5, "rapid", [10, 10, 50]],
        [5, "rapid", [0, 0, 50]],
        [6, "rapid", [0, 0, 60]],
        [6, "rapid", [0, 0, 180]],
      ],
    ],
    [
      "G91 G28 X0 Y0 Z0 in one move",
      "X5. Y5.\nG91 G28 X0 Y0 Z0\n",
      [
        [5, "rapid", [5, 5, 50]],
        [6, "rapid", [0, 0, 180]],
      ],
    ],
    [
      "block skip is off",
      "/X5.\nX6.\n",
      [
        [5, "rapid", [5, 0, 50]],
        [6, "rapid", [6, 0, 50]],
      ],
    ],
    [
      "a G53 block counts for itself alone",
      "G1 G53 Z100. F100\nZ0\n",
      [
        [5, "feed", [0, 0, -20]],
        [6, "feed", [0, 0, 0]],
      ],
    ],
    ["a dwell is a move", "G4 P500\n", [[5, "dwell", [0, 0, 50]]]],
    ["the offset of a block counts for its own motion", "G0 X10. G55\n", [[5, "rapid", [210, 0, 50]]]],
  ])("%s", (_, program, expected) => {
    expect(afterHead(program)).toEqual(expected);
  });

  test("--skip on drops blocks that begin with /", () => {
    expect(afterHead("/X5.\n/2 X7.\nX6.\n", plate(), "--skip", "on")).toEqual([[7, "rapid", [6, 0, 50]]]);
  });

  test("a block with a rotary word is one index move, with its linear axes in it", () => {
    const turning = plate({ "machine.rotary": { axis: "B", centre: { X: -500, Z: -600 }, sense: 1 } });
    const moves = trace(`${HEAD}G0 B90.\nX10. B0\nG91 B90.\nG90 G28 B0\nM30\n`, turning).slice(2);
    // Ruling 26: without a home the rotary axis goes to 0.
    expect(moves.map(({ line, kind, to, rotary }) => [line, kind, to, rotary])).toEqual([
      [5, "index", [0, 0, 50], 90],
      [6, "index", [10, 0, 50], 0],
      [7, "index", [10, 0, 50], 90],
      [8, "index", [10, 0, 50], 0],
    ]);
    const stored = `${HEAD}G10 L2 P1 X0 Y0 Z0 B30.\nB0\nM30\n`;
    expect(trace(stored, turning).at(-1)).toMatchObject({ kind: "index", rotary: 30 });
  });
});

describe("rulings 17 and 40: what moves the tool", () => {
  test.each<[string, string, Expected]>([
    [
      "G10 executed so far goes before what is computed",
      "G10 L2 P1 X5. Y6. Z7.\nX0 Y0\nZ50.\n",
      [
        [6, "rapid", [5, 6, 50]],
        [7, "rapid", [5, 6, 57]],
      ],
    ],
    ["G10 under G91 adds", "G91 G10 L2 P1 X5. Y0 Z0\nG90 X0\n", [[6, "rapid", [5, 0, 50]]]],
    [
      "G10 L2 P0 sets the common shift of every offset",
      "G10 L2 P0 X3. Y0 Z0\nX0 Y0\nG55 X0 Y0\n",
      [
        [6, "rapid", [3, 0, 50]],
        [7, "rapid", [203, 0, 50]],
      ],
    ],
    ["G10 L20 sets an additional offset", "G10 L20 P1 X1. Y2. Z3.\nG54.1 P1 X0 Y0 Z60.\n", [[6, "rapid", [1, 2, 63]]]],
    [
      "G52 shifts every offset until zeroed, and absent axes keep theirs",
      "G52 X10.\nX0\nG52 Y5.\nX0 Y0\nG55 X0 Y0\nG52 X0 Y0\nX0 Y0\n",
      [
        [6, "rapid", [10, 0, 50]],
        [8, "rapid", [10, 5, 50]],
        [9, "rapid", [210, 5, 50]],
        [11, "rapid", [200, 0, 50]],
      ],
    ],
    [
      "G92 gives the present point new coordinates in every offset",
      "G92 X100.\nX110.\nG55 X110.\n",
      [
        [6, "rapid", [10, 0, 50]],
        [7, "rapid", [210, 0, 50]],
      ],
    ],
  ])("%s", (_, program, expected) => {
    expect(afterHead(program)).toEqual(expected);
  });

  test("a code that iso does not know and that may cancel G92 makes what G92 had shifted unknown, and nothing else", () => {
    expect(afterHead("G92 X100.\nG92.1\nX10. Y5.\nG53 G0 X7.\n")).toEqual([
      [7, "rapid", [null, 5, 50]],
      [8, "rapid", [7, 5, 50]],
    ]);
    expect(afterHead("G92.1\nX10. Y5.\n")).toEqual([[6, "rapid", [10, 5, 50]]]);
  });

  test("`values` before `file` before computed", () => {
    folder.put("table.nc", "G21 G90\nG10 L2 P1 X1. Y1. Z1.\nG10 L2 P2 X201. Y1. Z1.\n");
    const sidecar = plate({ offsets: { values: { G54: { X: 9, Y: 9, Z: 9 } }, file: "table.nc" } });
    const ends = trace("G21 G90\nG0 G54 X0 Y0\nG55 X0 Y0\nG56 X0 Y0\nM30\n", sidecar).map(({ to }) => to.slice(0, 2));
    expect(ends).toEqual([
      [9, 9],
      [201, 1],
      [400, 0],
    ]);
  });

  test("an offset without a known value makes positions unknown, and its station null", () => {
    const moves = trace(`${HEAD}G54.1 P7 X5.\nG55 X5.\nM30\n`, plate({ datums: { "G54.1 P7": "park" } })).slice(2);
    expect(moves.map(({ offset, station, to }) => [offset, station, to])).toEqual([
      ["G54.1 P7", null, [null, 0, 50]],
      ["G55", "A2", [205, 0, 50]],
    ]);
  });
});

describe("arcs and transformations", () => {
  test.each<[string, string, Json]>([
    ["a full circle without end words in iso", "G2 I5. F100\n", { to: [0, 0, 50], centre: [5, 0, 50], sweep: -360 }],
    // Check value ARC-5: R10 gives centre (5, -8.660254) and 60°, R-10 gives (5, 8.660254) and 300°.
    ["R", "G2 X10. R10. F100\n", { to: [10, 0, 50], centre: [5, -8.660254, 50], sweep: -60 }],
    ["negative R", "G2 X10. R-10. F100\n", { to: [10, 0, 50], centre: [5, 8.660254, 50], sweep: -300 }],
    ["a helix is an arc", "G3 X0 Y0 I10. Z40. F100\n", { to: [0, 0, 40], centre: [10, 0, 50], sweep: 360 }],
    ["in increments", "G91 G3 X10. Y10. I0 J10. F100\n", { to: [10, 10, 50], centre: [0, 10, 50], sweep: 90 }],
    [
      "a mirror image turns the sense of an arc",
      "G51.1 X0\nG1 F100 X10. Y0\nG3 X20. Y10. I0 J10.\n",
      { from: [-10, 0, 50], to: [-20, 10, 50], centre: [-10, 10, 50], sweep: -90 },
    ],
  ])("%s", (_, program, expected) => {
    expect(trace(`${HEAD}${program}M30\n`).at(-1)).toMatchObject({ kind: "arc", plane: "G17", ...expected });
  });

  test.each<[string, string, number[]]>([
    // Check values of section 4.2: G68 R30 about (10, 5) takes (20, 5) to (18.660254, 10); polar 50 at 30° is (43.301270, 25).
    ["G68", "G68 X10. Y5. R30.\nX20. Y5.\n", [18.660254, 10, 50]],
    ["G69", "G68 X10. Y5. R30.\nX20. Y5.\nG69\nX20. Y5.\n", [20, 5, 50]],
    ["G16", "G16\nX50. Y30.\nG15\n", [43.30127, 25, 50]],
    ["G51.1", "G51.1 X5.\nX10. Y1.\n", [0, 1, 50]],
    ["G51", "G51 X10. Y0 P2.\nX20. Y5.\n", [30, 10, 50]],
    ["G20, decimals in inches", "G20 G53 G0 X1. Y1.\n", [25.4, 25.4, 50]],
  ])("%s", (_, program, expected) => {
    expect(trace(`${HEAD}${program}M30\n`).at(-1)?.to).toEqual(expected);
  });
});

describe("feeds are in mm/min in every mode", () => {
  test("G93, G94, G95", () => {
    // 10 mm in 1/2 min is 20 mm/min; 0.2 mm × 800 1/min is 160 mm/min (check values of section 4.1).
    const moves = trace(`${HEAD}G93 G1 X10. F2.\nG94 X20. F100.\nG95 S800 M3 X30. F0.2\nM30\n`).slice(2);
    expect(moves.map(({ feed }) => feed)).toEqual([20, 100, 160]);
  });
});

describe("ruling 32: cutter compensation", () => {
  const square = "G1 Z0 F100\nG41 D1 X10. Y0\nX10. Y20.\nX30.\nG40 Y30.\n";

  test("with DC known it is the path of the tool's centre, DC/2 beside", () => {
    // DC 10, left of +Y is -X: (5, 0), (5, 20), round the corner (10, 20) to (10, 25), then along Y25.
    const moves = trace(`${HEAD}${square}M30\n`).slice(2);
    expect(moves.map(({ kind, to }) => [kind, to])).toEqual([
      ["feed", [0, 0, 0]],
      ["feed", [5, 0, 0]],
      ["feed", [5, 20, 0]],
      ["arc", [10, 25, 0]],
      ["feed", [30, 25, 0]],
      ["feed", [30, 30, 0]],
    ]);
    expect(moves[3]).toMatchObject({ centre: [10, 20, 0], sweep: -90 });
    for (const move of moves) expect(move).not.toHaveProperty("compensation");
  });

  test("register D holds DC/2 of the tool whose D it is (ruling 2); an inside corner", () => {
    // D2 belongs to the drill of 8: 4 mm to the right of +Y is +X, of +X is -Y.
    expect(afterHead("G1 Z0 F100\nG42 D2 X10. Y0\nX10. Y20.\nX30.\nG40 Y30.\n")).toEqual([
      [5, "feed", [0, 0, 0]],
      [6, "feed", [14, 0, 0]],
      [7, "feed", [14, 16, 0]],
      [8, "feed", [30, 16, 0]],
      [9, "feed", [30, 30, 0]],
    ]);
  });

  test("without DC it is the programmed path, marked", () => {
    const moves = trace(`${HEAD}${square}M30\n`, plate({ tools: undefined })).slice(2);
    expect(moves.map(({ to, compensation }) => [to, compensation])).toEqual([
      [[0, 0, 0], undefined],
      [[10, 0, 0], 41],
      [[10, 20, 0], 41],
      [[30, 20, 0], 41],
      [[30, 30, 0], undefined],
    ]);
  });
});

describe("rulings 33, 34, 38: canned cycles of iso", () => {
  test.each<[string, string, (number | null)[][]]>([
    [
      "G98 returns to the initial level, G91 counts from it",
      "G91 G98 G81 X10. R-48. Z-7. L2 F100\n",
      [
        [10, 0, 50],
        [10, 0, 2],
        [10, 0, -5],
        [10, 0, 50],
        [20, 0, 50],
        [20, 0, 2],
        [20, 0, -5],
        [20, 0, 50],
      ],
    ],
    [
      "K repeats too; planes stay the ones first computed when G91 is set within a cycle",
      "G90 G99 G81 X0 Y10. R2. Z-5. F100\nG91 X10. K2\n",
      [
        [0, 10, 50],
        [0, 10, 2],
        [0, 10, -5],
        [0, 10, 2],
        [10, 10, 2],
        [10, 10, -5],
        [10, 10, 2],
        [20, 10, 2],
        [20, 10, -5],
        [20, 10, 2],
      ],
    ],
    [
      "G73 backs off 1 mm",
      "G99 G73 X0 Y5. R2. Z-5. Q3. F100\n",
      [
        [0, 5, 50],
        [0, 5, 2],
        [0, 5, -1],
        [0, 5, 0],
        [0, 5, -4],
        [0, 5, -3],
        [0, 5, -5],
        [0, 5, 2],
      ],
    ],
    [
      "G83 goes to R between pecks, also under G98, and comes back to 1 mm above",
      "G98 G83 X0 Y5. R2. Z-5. Q4. F100\n",
      [
        [0, 5, 50],
        [0, 5, 2],
        [0, 5, -2],
        [0, 5, 2],
        [0, 5, -1],
        [0, 5, -5],
        [0, 5, 50],
      ],
    ],
    [
      "in G18 the cycle runs along Y",
      "G18 G99 G81 X5. Z45. R-2. Y-9. F100\n",
      [
        [5, 0, 45],
        [5, -2, 45],
        [5, -9, 45],
        [5, -2, 45],
      ],
    ],
  ])("%s", (_, program, ends) => {
    expect(afterHead(`${program}G80\n`).map(([, , to]) => to)).toEqual(ends);
  });

  test("G82 dwells at the bottom", () => {
    expect(afterHead("G98 G82 X5. R2. Z-5. P500 F100\nG80\n").map(([, kind]) => kind)).toEqual([
      "rapid",
      "rapid",
      "feed",
      "dwell",
      "rapid",
    ]);
  });
});

describe("calls, variables and loops", () => {
  test.each<[string, string, [number, number][]]>([
    [
      "M98 P L",
      "M98 P1001 L3\nM30\nO1001\nG91 X1.\nG90\nM99\n",
      [
        [8, 1],
        [8, 2],
        [8, 3],
      ],
    ],
    [
      "WHILE DO END",
      "#1=0\nWHILE[#1LT3]DO1\n#1=#1+1\nX#1\nEND1\n",
      [
        [8, 1],
        [8, 2],
        [8, 3],
      ],
    ],
    [
      "IF GOTO and IF THEN",
      "#1=0\nN10 #1=#1+1\nX#1\nIF[#1LT3]GOTO10\nIF[#1EQ3]THEN#2=7\nX#2\nGOTO20\nX99.\nN20 X50.\n",
      [
        [7, 1],
        [7, 2],
        [7, 3],
        [10, 7],
        [13, 50],
      ],
    ],
    [
      "M99 P returns to a block",
      "M98 P1001\nX50.\nN30 X60.\nM30\nO1001\nX1.\nM99 P30\n",
      [
        [10, 1],
        [7, 60],
      ],
    ],
    [
      "M97 calls a label of the same file",
      "M97 P100\nX9.\nM30\nN100 X1.\nM99\n",
      [
        [8, 1],
        [6, 9],
      ],
    ],
    [
      "G65 with lettered arguments",
      "G65 P1001 A1. B2. C3. X24.\nM30\nO1001\nX[#1*100+#2*10+#3]\nX#24\nM99\n",
      [
        [8, 123],
        [9, 24],
      ],
    ],
    [
      "G65 with groups of I J K",
      "G65 P1002 A1 I4 J5 K6 I7 J8 K9\nM30\nO1002\nX[#4*100+#5*10+#6]\nX[#7*100+#8*10+#9]\nM99\n",
      [
        [8, 456],
        [9, 789],
      ],
    ],
    [
      "offset registers are variables",
      "X#5241\n#5221=5.\nX0\n",
      [
        [5, 200],
        [7, 5],
      ],
    ],
    [
      "an empty variable leaves the word out",
      "X#33 Y3.\nX4.\n",
      [
        [5, 0],
        [6, 4],
      ],
    ],
  ])("%s", (_, program, expected) => {
    expect(afterHead(program).map(([line, , to]) => [line, to[0]])).toEqual(expected);
  });

  test("G66 runs its macro after every motion block until G67", () => {
    const program = "G66 P1001 Z-3.\nX5.\nX6.\nG67\nX7.\nM30\nO1001\nG1 Z#26 F100\nG0 Z5.\nM99\n";
    expect(afterHead(program)).toEqual([
      [6, "rapid", [5, 0, 50]],
      [12, "feed", [5, 0, -3]],
      [13, "rapid", [5, 0, 5]],
      [7, "rapid", [6, 0, 5]],
      [12, "feed", [6, 0, -3]],
      [13, "rapid", [6, 0, 5]],
      [9, "rapid", [7, 0, 5]],
    ]);
  });

  test("line is that of the block in its own file (ruling 30)", () => {
    folder.put("O1001.nc", "O1001\nX1.\nM99\n");
    folder.put("1002.nc", "X2.\nM99\n");
    folder.put("O1003", "O1003\nX3.\nM99\n");
    const moves = trace(`${HEAD}M98 P1001\nM98 P1002\nM98 P1003\nX4.\nM30\n`).slice(2);
    expect(moves.map(({ file, line, to }) => [file, line, to[0]])).toEqual([
      ["O1001.nc", 2, 1],
      ["1002.nc", 1, 2],
      ["O1003", 2, 3],
      [undefined, 8, 4],
    ]);
  });

  test("a branch on what is not known is taken both ways, and what differs is unknown", () => {
    expect(afterHead("IF[#500EQ1]GOTO10\nX5.\nN10 Y5.\nX7.\n").slice(-2)).toEqual([
      [7, "rapid", [null, 5, 50]],
      [8, "rapid", [7, 5, 50]],
    ]);
  });

  test("an endless loop ends at a bound with status 2", () => {
    folder.put("p.nc", `${HEAD}#1=0\nWHILE[1EQ1]DO1\nX#1\n#1=1-#1\nEND1\nM30\n`);
    expect(folder.jawline(["trace", "p.nc"]).status).toBe(2);
  });
});

describe("ruling 38: every key of a dialect changes what it says", () => {
  const dialect = (keys: Json) => plate({ "machine.dialect": { extends: "iso", ...keys } });

  test.each<[string, Json, string, (number | null)[]]>([
    ["wholeNumber", { wholeNumber: "increment" }, "X10\n", [0.01, 0, 50]],
    ["wholeNumber with a point", { wholeNumber: "increment" }, "X10.\n", [10, 0, 50]],
    ["increment", { wholeNumber: "increment", increment: 0.01 }, "X10\n", [0.1, 0, 50]],
    ["l20 current", { l20: "current" }, "G10 L20 P1 X5.\nX0\n", [-5, 0, 50]],
    ["returnDefault R", { returnDefault: "R" }, "G81 X5. R2. Z-5. F100\nG80\n", [5, 0, 2]],
    ["returnDefault initial", {}, "G81 X5. R2. Z-5. F100\nG80\n", [5, 0, 50]],
    ["g10Incremental", { g10Incremental: false }, "G10 L2 P1 X3.\nG91 G10 L2 P1 X5.\nG90 X0\n", [5, 0, 50]],
    ["packedRepeat", { packedRepeat: true }, "M98 P31001\nM30\nO1001\nG91 X1.\nG90 M99\n", [3, 0, 50]],
    ["backOff, the last but one move", { backOff: 2 }, "G73 X0 Y5. R2. Z-5. Q4. F100\nG80\nX9.\n", [9, 5, 50]],
    ["offsets", { offsets: ["G54-G56", "G54.1 P1-P48"] }, "G55 X0\n", [200, 0, 50]],
  ])("%s", (_, keys, program, end) => {
    expect(afterHead(program, dialect(keys)).at(-1)?.[2]).toEqual(end);
  });

  test("peckRetract and backOff", () => {
    const drill = "G98 G83 X0 Y5. R2. Z-5. Q4. F100\nG80\n";
    const levels = (keys: Json) => afterHead(drill, dialect(keys)).map(([, , to]) => to[2]);
    expect(levels({})).toEqual([50, 2, -2, 2, -1, -5, 50]);
    expect(levels({ peckRetract: "initial" })).toEqual([50, 2, -2, 50, -1, -5, 50]);
    expect(levels({ backOff: 2 })).toEqual([50, 2, -2, 2, 0, -5, 50]);
  });

  test("repeatLetters", () => {
    const holes = (keys: Json) =>
      afterHead("G91 G99 G81 X1. R-48. Z-5. K2 F100\nG80\n", dialect(keys)).filter(([, kind]) => kind === "feed").length;
    expect([holes({}), holes({ repeatLetters: ["L"] })]).toEqual([2, 1]);
  });

  test("fullCircle", () => {
    expect(trace(`${HEAD}G2 I5. F100\nM30\n`, dialect({ fullCircle: false })).at(-1)?.sweep).not.toBe(-360);
  });

  test("lengthBy control: Z is that of the tool point without G43", () => {
    const program = "G21 G90\nT1 M6\nG0 G54 X0 Y0\nZ50.\nM30\n";
    expect(trace(program, dialect({ lengthBy: "control" })).at(-1)?.to).toEqual([0, 0, 50]);
    expect(trace(program, dialect({})).at(-1)?.to).toEqual([0, 0, -70]);
  });

  test("rs274ngc: back-off 0.254 mm", () => {
    const moves = afterHead("G99 G83 X0 Y5. R2. Z-5. Q4. F100\nG80\n", plate({ "machine.dialect": "rs274ngc" }));
    expect(moves.map(([, , to]) => to[2])).toEqual([50, 2, -2, 2, -1.746, -5, 2]);
  });

  test("g154: G154 P, and M97 with repeats", () => {
    const own = plate({ "machine.dialect": "g154", "stations.0.offset": "G154 P3" });
    const moves = trace("G21 G90 G17 G40 G80\nT1 M6\nG0 G154 P4 X0 Y0\nM97 P100 L2\nM30\nN100 G91 X1.\nG90\nM99\n", own);
    expect(moves.map(({ offset, station, to }) => [offset, station, to[0]])).toEqual([
      ["G154 P4", "A2", 200],
      ["G154 P4", "A2", 201],
      ["G154 P4", "A2", 202],
    ]);
  });
});
