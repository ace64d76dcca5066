import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import type { Run } from "../../server/src/engine/machine/run.js";
import { ends, fixture, last, movesOf, notes, profile, run, tidy, tool } from "./machine-support.js";

/*
 * Everything here is held against NISTIR 6556 (Kramer, Proctor, Messina, "The NIST RS274/NGC Interpreter – Version 3", 2000),
 * a publication of the US government. "published" marks numbers that are printed there; "derived" marks numbers worked out by
 * hand from its rules.
 */
const ngc = profile("rs274ngc");

function nist(text: string, more: Parameters<typeof run>[1] = {}): Run {
  return run(`${text}\nm2`, { profile: ngc, ...more });
}

describe("order of execution in a block (Table 8)", () => {
  test("the offset of a block is in force for its motion", () => {
    const result = nist("g10 l2 p1 x100\ng10 l2 p2 x200\ng55 g0 x1 y0 z0\ng0 x10 g54");
    expect(last(result)).toEqual([110, 0, 0]);
  });
  test("a block moves before it ends the program", () => {
    const result = run("g0 x0 y0 z0\ng1 x5 f100 m30\ng0 x9", { profile: ngc });
    expect(last(result)).toEqual([5, 0, 0]);
  });
  test("tool change and spindle come before the motion, whatever the order of the words", () => {
    const result = nist("g0 x0 y0 z0\nx1 y1 m6 t2 m3 s500");
    const move = result.moves.at(-1);
    expect(move?.modal).toMatchObject({ tool: 2, spindle: "cw", speed: 500 });
    expect(last(result)).toEqual([1, 1, 0]);
  });
  test("the feed of a block counts for its motion", () => {
    expect(nist("g0 x0 y0 z0\ng1 x1 f300").moves.at(-1)?.feed).toBe(300);
  });
});

describe("coordinate systems and parameters (3.2.1, 3.5.5, 3.5.18)", () => {
  test("G92 at X4 with X7 gives the offset -3, then X9 gives -5 (published)", () => {
    const result = nist("g0 x4 y0 z0\ng92 x7\ng92 x9\n#1 = #5211\ng0 x9");
    expect(result.steps[1]?.after.presetShift[0]).toBe(-3);
    expect(result.steps[2]?.after.presetShift[0]).toBe(-5);
    expect(ends(result)).toEqual(["rapid 0 0 0", "rapid 4 0 0"].slice(1));
  });
  test("G92 is not changed by G91", () => {
    const result = nist("g0 x4 y0 z0\ng91 g92 x7\ng90 g0 x7.5");
    expect(last(result)).toEqual([4.5, 0, 0]);
  });
  test("the worked chain of G10, G55, G92, G54, G53, G92.1 to G92.3 (derived)", () => {
    const at = (n: string): number | null => {
      const chain = ["g0 x10 y0 z0", "g10 l2 p2 x100", "g55", "g92 x0", "g54", "g53 g0 x10", "g92.2", "g92.3", "g92.1"];
      const upTo = chain.slice(0, chain.indexOf(n) + 1).join("\n");
      // A motion to program X of 0 shows by how much the program's zero stands off the machine's.
      const result = nist(`${upTo}\ng0 x0.001\n`);
      return tidy(10 - ((last(result)[0] ?? Number.NaN) - 0.001));
    };
    expect(at("g55")).toBe(-90);
    expect(at("g92 x0")).toBe(0);
    expect(at("g54")).toBe(100);
    expect(at("g92.2")).toBe(10);
    expect(at("g92.3")).toBe(100);
    expect(at("g92.1")).toBe(10);
    expect(nist("g0 x10 y0 z0\ng10 l2 p2 x100\ng55\ng92 x0\ng54\ng53 g0 x10").moves).toHaveLength(1);
  });
  test("G92.2 keeps the parameters and G92.1 zeroes them", () => {
    const result = nist("g0 x10 y0 z0\ng92 x100\ng92.2\ng0 x#5211\ng92.1\ng0 x[1+#5211]");
    expect(ends(result)).toEqual(["rapid 10 0 0", "rapid -90 0 0", "rapid 1 0 0"]);
  });
  test("G10 L2 changes only the axes it gives, of any system, and G92 stays (published example: x 3.5 y 17.2)", () => {
    const result = nist("g10 l2 p1 z7\nG10 L2 P1 x 3.5 y 17.2\ng0 x0 y0 z0");
    expect(last(result)).toEqual([3.5, 17.2, 7]);
    expect(result.writes.map((w) => [w.register, w.l, w.p])).toEqual([
      ["G54", 2, 1],
      ["G54", 2, 1],
    ]);
  });
  test("parameters 5221 + 20·(n − 1) + axis hold the systems: G57 Z is 5283, G59.3 Z 5383", () => {
    const result = nist("g10 l2 p4 z3.25\ng10 l2 p9 z1.5\n#1=#5283\ng0 x#1 y[#5383] z0");
    expect(last(result)).toEqual([3.25, 1.5, 0]);
  });
  test("a parameter that is set takes effect after the block is read (3.3.3)", () => {
    expect(last(nist("#3=15\n#3=6 g1 x#3 y0 z0 f10\ng1 y#3"))).toEqual([15, 6, 0]);
    expect(last(nist("#3=15 #3=6\ng0 x#3 y0 z0"))).toEqual([6, 0, 0]);
    expect(last(nist("#3=6 #3=15\ng0 x#3 y0 z0"))).toEqual([15, 0, 0]);
  });
  test("G10 L2 P[…] and computed codes (3.5: G[2*5] L[1+1] is G10 L2)", () => {
    expect(last(nist("G[2*5] L[1+1] P1 X5\ng0 x1 y0 z0"))).toEqual([6, 0, 0]);
  });
  test("G28 goes through the programmed point, then home; without axis words straight home", () => {
    expect(ends(nist("g0 x5 y5 z5\ng28 x1 y5 z9"))).toEqual(["rapid 5 5 5", "rapid 1 5 9", "rapid 0 0 0"]);
    expect(ends(nist("#5161=7\ng0 x5 y5 z5\ng28"))).toEqual(["rapid 5 5 5", "rapid 7 0 0"]);
  });
});

describe("arcs through programs (3.5.3)", () => {
  test("ARC-1: centre (10, 11), radius 5 (published), sweep 143.130102° clockwise (derived)", () => {
    const result = nist("g0 x7 y7 z9\nG17 G2 x 10 y 16 i 3 j 4 z 9 f100");
    const move = result.moves.at(-1);
    expect(move?.centre?.map(tidy)).toEqual([10, 11, 9]);
    expect(move?.sweep).toBeCloseTo(-143.130102, 6);
    expect(last(result)).toEqual([10, 16, 9]);
    // Plane length 12.490458 (derived) at 100 mm/min.
    expect((move?.seconds ?? 0) / 60).toBeCloseTo(0.12490458, 8);
  });
  test("ARC-2b: the radius form (derived)", () => {
    const cw = nist("g0 x0 y0 z5\nG17 G2 x 10 y 15 r 20 z 5 f100").moves.at(-1);
    expect(cw?.centre?.[0]).toBeCloseTo(19.855069, 6);
    expect(cw?.centre?.[1]).toBeCloseTo(-2.403379, 6);
    const ccw = nist("g0 x0 y0 z5\nG17 G3 x 10 y 15 r 20 z 5 f100").moves.at(-1);
    expect(ccw?.centre?.[0]).toBeCloseTo(-9.855069, 6);
    expect(ccw?.centre?.[1]).toBeCloseTo(17.403379, 6);
  });
  test("ARC-4: full circle of C.1", () => {
    const move = nist("g0 x32.5 y0 z0\ng2 x32.5 j2.5 f20").moves.at(-1);
    expect(move?.sweep).toBe(-360);
    expect(move?.centre?.map(tidy)).toEqual([32.5, 2.5, 0]);
  });
  test("ARC-5: 60° and 300° (derived)", () => {
    expect(nist("g0 x0 y0 z0\ng2 x10 y0 r10 f9").moves.at(-1)?.sweep).toBeCloseTo(-60, 9);
    expect(nist("g0 x0 y0 z0\ng2 x10 y0 r-10 f9").moves.at(-1)?.sweep).toBeCloseTo(-300, 9);
  });
  test.each([
    ["g21", "G2 X20.0019 Y0 I10 J0", 0],
    ["g21", "G2 X20.0021 Y0 I10 J0", 1],
    ["g20", "G2 X2.0002 Y0 I1", 0],
    ["g20", "G2 X2.0003 Y0 I1", 1],
  ])("ARC-6 and 7: %s %s gives %i finding", (units, block, count) => {
    const found = notes(nist(`${units}\ng0 x0 y0 z0\n${block} f9`));
    expect(found).toEqual(count === 0 ? [] : ["syntax arc-radii-differ 3"]);
  });
  test("an arc in three planes: G18 has Z first, G19 Y (right-handed)", () => {
    // Derived: from (0,0,0) a quarter turn counter-clockwise seen from the third axis, about one unit along the first axis.
    const at = (text: string): (number | null)[] => {
      const move = nist(`g0 x0 y0 z0\n${text} f9`).moves.at(-1);
      return [...(move?.to ?? []), move?.sweep ?? Number.NaN].map(tidy);
    };
    expect(at("g17 g3 x1 y-1 i1")).toEqual([1, -1, 0, 90]);
    expect(at("g18 g3 z1 x-1 k1")).toEqual([-1, 0, 1, 90]);
    expect(at("g19 g3 y1 z-1 j1")).toEqual([0, 1, -1, 90]);
  });
});

describe("canned cycles (3.5.16)", () => {
  test("worked example 1 (published)", () => {
    const result = nist("g0 x1 y2 z3\nG90 G81 G98 X4 Y5 Z1.5 R2.8 f9");
    expect(ends(result).slice(1)).toEqual(["rapid 4 5 3", "rapid 4 5 2.8", "feed 4 5 1.5", "rapid 4 5 3"]);
  });
  test("worked example 1 with G99 ends at R (derived)", () => {
    expect(last(nist("g0 x1 y2 z3\nG90 G81 G99 X4 Y5 Z1.5 R2.8 f9"))).toEqual([4, 5, 2.8]);
  });
  test("worked example 2 (published)", () => {
    const result = nist("g0 x1 y2 z3\nG91 G81 G98 X4 Y5 Z-0.6 R1.8 L3 f9");
    expect(ends(result).slice(1)).toEqual([
      "rapid 1 2 4.8",
      ...["5 7", "9 12", "13 17"].flatMap((xy) => [`rapid ${xy} 4.8`, `feed ${xy} 4.2`, `rapid ${xy} 4.8`]),
    ]);
  });
  test("example 3 (Table 10, published)", () => {
    const result = nist("g0 x30 y1 z-0.5\ng91 g81 x3 y2 z-0.8 r1.5 l2 f9");
    expect(ends(result).slice(1)).toEqual([
      "rapid 30 1 1",
      "rapid 33 3 1",
      "feed 33 3 0.2",
      "rapid 33 3 1",
      "rapid 36 5 1",
      "feed 36 5 0.2",
      "rapid 36 5 1",
    ]);
  });
  test("repeats in absolute mode stay at the place: 7 moves (derived)", () => {
    expect(nist("g0 x1 y2 z3\nG90 G98 G81 X4 Y5 Z1.5 R2.8 L2 f9").moves).toHaveLength(8);
  });
  test("pecks of C.3 n0090: bottoms (derived)", () => {
    const result = nist("g0 x0 y0 z0.2\ng83 g90 x5 y6 r0.2 z-1.1 q0.21 f9");
    const bottoms = result.moves.filter((m) => m.kind === "feed").map((m) => tidy(m.to[2]));
    expect(bottoms).toEqual([-0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1]);
  });

  /** C.3, first block, and the same set in the other planes, with the axes turned. */
  const c3 = (plane: number, a: string, b: string, w: string): string =>
    [
      "g20",
      `g${plane} g43 h1 m3 s1234 f16`,
      `g81 ${a}3 ${b}4 r0.2 ${w}-1.1`,
      `${a}1 ${b}0 r0 g91 l3`,
      `${b}-2 r0.1`,
      `g82 g90 ${a}4 ${b}5 r0.2 ${w}-1.1 p0.6`,
      `${a}2 ${w}-3.0`,
      `g91 ${a}-2 ${b}2 r0 l4`,
    ].join("\n");

  test.each([
    [17, "x", "y", "z", [0, 1, 2]],
    [18, "z", "x", "y", [2, 0, 1]],
    [19, "y", "z", "x", [1, 2, 0]],
  ] as const)("C.3 in G%i: holes and levels (derived)", (plane, a, b, w, order) => {
    // The report starts with the tool's length set against Z: a length of 2 puts Z at -2 in the XY plane; the other planes
    // start their third axis at 0.
    const start = plane === 17 ? "g20\ng0 x0 y0 z-2" : "g20\ng0 x0 y0 z0";
    const result = nist(`${start}\n${c3(plane, a, b, w)}`);
    const holes = result.moves.filter((m) => m.kind === "feed").map((m) => order.map((axis) => tidy((m.to[axis] as number) / 25.4)));
    expect(holes.slice(0, 6)).toEqual([
      [3, 4, -1.1],
      [4, 4, -0.9],
      [5, 4, -0.9],
      [6, 4, -0.9],
      [6, 2, -0.8],
      [4, 5, -1.1],
    ]);
    const level = (line: number): number | null => {
      const move = movesOf(result, line).at(-1);
      return tidy((move?.to[order[2]] ?? Number.NaN) / 25.4);
    };
    // n0030 to n0050, and the clear level that n0050 leaves for n0060: 0.3.
    const first = 3;
    if (plane === 17) expect([level(first + 2), level(first + 3), level(first + 4), level(first + 5)]).toEqual([0.2, 0.2, 0.3, 0.3]);
  });

  test("C.3, the first block of cycles, whole: no finding (the report gives no check of K in G87)", () => {
    const text = [
      "n0010 g20 (cycle test)",
      "n0020 g17 g43 h1 m3 s1234 f16 (start in XY-plane)",
      "n0030 g81 x3 y4 r0.2 z-1.1",
      "n0040 x1 y0 r0 g91 l3 (three more g81's an inch apart)",
      "n0050 y-2 r0.1 (one more g81)",
      "n0060 g82 g90 x4 y5 r0.2 z-1.1 p0.6",
      "n0070 x2 z-3.0 (one more G82)",
      "n0080 g91 x-2 y2 r0 l4 (four more g82's)",
      "n0090 g83 g90 x5 y6 r0.2 z-1.1 q0.21",
      "n0100 g84 x6 y7 r0.2 z-1.1",
      "n0110 g85 x7 y8 r0.2 z-1.1",
      "n0120 g86 x8 y9 r0.2 z-1.1 p902.61",
      "n0130 g87 x9 y10 r0.2 z-1.1 i0.231 j-0 k-3",
      "n0135 g91 x1 r0.2 z-1.1 i0.231 j-0 k-3",
      "n0140 g88 x10 y11 r0.2 z-1.1 p0.3333",
      "n0150 g89 x11 y12 r0.2 z-1.1 p1.272",
      "n0160 m4 (run spindle counterclockwise)",
    ].join("\n");
    const result = nist(`g20\ng0 x0 y0 z-2\n${text}`);
    expect(notes(result)).toEqual([]);
    const dwells = result.moves.filter((m) => m.kind === "dwell").map((m) => m.seconds);
    expect(dwells).toEqual([0.6, 0.6, 0.6, 0.6, 0.6, 0.6, 902.61, 0.3333, 1.272]);
  });

  test("n0060 of C.3 under G99 ends at its R of 0.2, under G98 at the 0.3 before it (derived)", () => {
    const level = (code: string): number | null => last(nist(`g0 x6 y2 z0.3\n${code} g82 x4 y5 r0.2 z-1.1 p0.6 f9`))[2] ?? null;
    expect([level("g98"), level("g99")]).toEqual([0.3, 0.2]);
  });

  test.each([
    ["no depth on first use", "G81 X1 Y1 R1", "cycle-z-missing"],
    ["R below Z", "G81 X1 Y1 Z1 R0.5", "cycle-r-below-z"],
    ["L0", "G81 X1 Y1 Z0 R1 L0", "cycle-repeats-not-positive"],
    ["L1.5", "G81 X1 Y1 Z0 R1 L1.5", "cycle-repeats-not-positive"],
    ["negative dwell", "G82 X1 Y1 Z0 R1 P-1", "cycle-dwell-negative"],
    ["Q0", "G83 X1 Y1 Z0 R1 Q0", "cycle-peck-not-positive"],
    ["G84 without clockwise spindle", "M4\nG84 X1 Y1 Z0 R1", "cycle-spindle-not-clockwise"],
    ["G86 without spindle", "M5\nG86 X1 Y1 Z0 R1 P1", "cycle-spindle-stopped"],
  ])("error: %s", (_name, block, key) => {
    const result = nist(`g0 x0 y0 z5\nf9\n${block}`);
    expect(result.notes.map((n) => n.message.key).some((k) => k === key || /^(word|letter)/.test(k))).toBe(true);
    expect(result.moves.filter((m) => m.kind === "feed")).toEqual([]);
  });
});

describe("Table 10 (published transcript)", () => {
  test("positions, arc and tool length", () => {
    const tools = [tool(1, 2), tool(2, 1)];
    const text = [
      "g1 x3 y1 f20.0",
      "g2 x[6-[4*3/2]] r 7.01 z0.5",
      "(that was a helical arc)",
      "t2",
      "m6 g43 h2",
      "g1 x asin[0.5]",
      "g91 g81 x3 y2 z-0.8 r1.5 l2",
    ].join("\n");
    const result = run(`g0 x0 y0 z0\n${text}\nm2`, { fixture: fixture({ profile: ngc, tools, stored: { G54: [0, 0, 0] } }) });
    expect(ends(result)).toEqual([
      "rapid 0 0 0",
      "feed 3 1 0",
      "arc 0 1 0.5",
      "feed 30 1 -0.5",
      "rapid 30 1 1",
      "rapid 33 3 1",
      "feed 33 3 0.2",
      "rapid 33 3 1",
      "rapid 36 5 1",
      "feed 36 5 0.2",
      "rapid 36 5 1",
    ]);
    const arc = result.moves[2];
    expect(arc?.centre?.[0]).toBeCloseTo(1.5, 4);
    expect(arc?.centre?.[1]).toBeCloseTo(7.8476, 4);
    expect(arc?.sweep).toBeLessThan(0);
    // Derived: 2·asin(1.5/7.01) is 24.7114°, and the length along the helix.
    expect(arc?.sweep).toBeCloseTo(-24.7114, 4);
    expect(((arc?.seconds ?? 0) / 60) * 20).toBeCloseTo(3.064445, 5);
    expect(result.moves[3]?.modal.tool).toBe(2);
  });
});

describe("C.1 (program text published; totals derived)", () => {
  const text = readFileSync(new URL("../cases/published/nist-c1.ngc", import.meta.url), "utf8");
  const result = run(text, { profile: ngc });

  test("no finding", () => {
    expect(notes(result)).toEqual([]);
  });
  test("25 rapids, 29 straight feeds, 5 arcs", () => {
    const count = (kind: string): number => result.moves.filter((m) => m.kind === kind).length;
    expect([count("rapid"), count("feed"), count("arc")]).toEqual([25, 29, 5]);
  });
  test("feed length 183.430466 mm at F20: 9.171523 min", () => {
    const seconds = result.moves.filter((m) => m.kind !== "rapid").reduce((sum, m) => sum + m.seconds, 0);
    expect(seconds / 60).toBeCloseTo(9.171523, 6);
    expect((seconds / 60) * 20).toBeCloseTo(183.430466, 5);
  });
  test("rapid length 252.052801 mm from (0, 0, 0)", () => {
    const lengths = result.moves
      .filter((m) => m.kind === "rapid")
      .map((m, i) => {
        const from = i === 0 ? [0, 0, 0] : m.from;
        return Math.hypot(m.to[0] - (from[0] as number), m.to[1] - (from[1] as number), m.to[2] - (from[2] as number));
      });
    expect(lengths.reduce((a, b) => a + b, 0)).toBeCloseTo(252.052801, 5);
  });
  test("extents X 0 to 81, Y 0 to 10, Z -0.5 to 50", () => {
    const extent = (axis: 0 | 1 | 2): number[] => {
      const all = result.moves.map((m) => m.to[axis]);
      return [Math.min(...all), Math.max(...all)];
    };
    expect([extent(0), extent(1), extent(2)]).toEqual([
      [0, 81],
      [0, 10],
      [-0.5, 50],
    ]);
  });
  test("the arcs: n0190 and n0490", () => {
    const arcs = result.moves.filter((m) => m.kind === "arc");
    expect(arcs[0]?.centre?.slice(0, 2).map(tidy)).toEqual([13.5, 2.5]);
    expect(arcs[0]?.sweep).toBeCloseTo(270, 6);
    expect(arcs[3]?.centre?.[0]).toBeCloseTo(66.5, 4);
    expect(arcs[3]?.centre?.[1]).toBeCloseTo(0.8775, 4);
    expect(arcs[3]?.sweep).toBeCloseTo(-77.3644, 4);
  });
});

describe("cutter compensation (3.5.10, appendix B)", () => {
  const table12 = [
    "G1 X1 Y5 F100",
    "G41 G1 Y4 D1",
    "G3 X2 Y3 I1",
    "G2 X3 Y2 J-1",
    "G1 Y-1",
    "G2 X2 Y-2 I-1",
    "G1 X-2",
    "G2 X-2.6 Y-0.2 J1",
    "G1 X1.4 Y2.8",
    "G2 X2 Y3 I0.6 J-0.8",
    "G40",
  ].join("\n");

  test("Table 12 with a tool of diameter 1 runs along Table 13 (published pair)", () => {
    const tools = [tool(1, 0, { DC: 1 })];
    const result = run(`g0 x1 y5 z0\n${table12}\nm2`, { fixture: fixture({ profile: ngc, tools, stored: { G54: [0, 0, 0] } }) });
    const after = (line: number): (number | null)[] => movesOf(result, line).at(-1)?.to.slice(0, 2).map(tidy) ?? [];
    // End points of Table 13, N0030 to N0100; blocks begin at line 2 with N0010.
    expect([4, 5, 6, 7, 8, 9, 10, 11].map(after)).toEqual([
      [2, 3.5],
      [3.5, 2],
      [3.5, -1],
      [2, -2.5],
      [-2, -2.5],
      [-2.9, 0.2],
      [1.1, 3.2],
      [2, 3.5],
    ]);
    // Entry: right angle at the destination (rule B.6, derived).
    expect(after(3)).toEqual([1.433013, 4.25]);
    expect(movesOf(result, 3)[0]?.role).toBe("compensation");
    expect(notes(result)).toEqual([]);
    const moves = [4, 5, 6, 7, 8, 9, 10, 11].flatMap((line) => movesOf(result, line));
    // The corner between entry and first arc is rounded by an arc of its own (B.6); all others are tangent.
    expect(moves.filter((m) => m.role === "compensation").map((m) => [m.kind, tidy(m.sweep)])).toEqual([["arc", -30]]);
    const length = moves.filter((m) => m.role === "plain").reduce((sum, m) => sum + (m.seconds / 60) * 100, 0);
    expect(length).toBeCloseTo(22.210176, 5);
  });

  test("the second entry example (derived from B.3.1.2)", () => {
    const tools = [tool(1, 0, { DC: 1 })];
    const text = "g0 x1.5 y4 z0\ng1 f9\nG1 X1.5 Y4\nG41 D1 G1 X3 Y3\ng1 x5 y3\ng40";
    const result = run(`${text}\nm2`, { fixture: fixture({ profile: ngc, tools, stored: { G54: [0, 0, 0] } }) });
    const entry = movesOf(result, 4)[0];
    expect(entry?.to[0]).toBeCloseTo(3.151085, 6);
    expect(entry?.to[1]).toBeCloseTo(3.476627, 6);
  });

  test("without a radius the programmed path is shown (contract-details 32)", () => {
    const result = run(`g0 x1 y5 z0\n${table12}\nm2`, { profile: ngc });
    expect(movesOf(result, 5).at(-1)?.to.slice(0, 2)).toEqual([3, 2]);
    expect(movesOf(result, 5).at(-1)?.modal.compensation).toBe(41);
  });
});

describe("what is refused while compensation is in force (B.5, published messages)", () => {
  test.each([
    ["G20", "compensation-units"],
    ["G18", "compensation-plane"],
    ["G55", "compensation-offset"],
    ["G92 X1", "compensation-offset"],
    ["G28 X0", "compensation-reference"],
    ["G0 G53 X1", "compensation-reference"],
    ["G42 D1", "compensation-again"],
  ])("%s", (block, key) => {
    const result = nist(`g21 g0 x0 y0 z0\ng41 d1 g1 x5 f9\nx9\n${block}`);
    expect(notes(result)).toEqual([`syntax ${key} 4`]);
  });
  test("G18 G41", () => {
    expect(notes(nist("g18\ng41 d1"))).toEqual(["syntax compensation-not-xy 2"]);
  });
});

describe("feed (2.1.2.5, 3.5.19)", () => {
  test("G93 F2 is half a minute (published)", () => {
    expect(nist("g0 x0 y0 z0\ng93 g1 x5 f2").moves.at(-1)?.seconds).toBe(30);
  });
  test("G93 needs F in every block", () => {
    const result = nist("g0 x0 y0 z0\ng93 g1 x5 f2\nx7");
    expect(result.notes.map((n) => n.message.key)).toContain("feed-inverse-missing");
    expect(result.moves.at(-1)?.seconds).toBeNaN();
  });
});
