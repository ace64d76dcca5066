import type { CrossSection, ManifoldToplevel } from "manifold-3d";
import manifoldModule from "manifold-3d";
import { beforeAll, describe, expect, it } from "vitest";
import {
  type CentreElement,
  type CompensationProblem,
  type CompensatorOptions,
  createCompensator,
  type PathElement,
} from "../../server/src/engine/machine/compensation.js";

type Point = readonly [number, number];

interface Ran {
  readonly elements: readonly CentreElement<string>[];
  readonly problems: readonly CompensationProblem<string>[];
  readonly position: readonly [number, number, number];
}

function run(options: CompensatorOptions, path: readonly PathElement<string>[]): Ran {
  const compensator = createCompensator<string>(options);
  const elements: CentreElement<string>[] = [];
  const problems: CompensationProblem<string>[] = [];
  for (const element of path) {
    const result = compensator.push(element);
    elements.push(...result.elements);
    problems.push(...result.problems);
  }
  const rest = compensator.flush();
  elements.push(...rest.elements);
  problems.push(...rest.problems);
  return { elements, problems, position: compensator.position };
}

const line = (x: number, y: number, tag = ""): PathElement<string> => ({ kind: "line", to: [x, y, 0], tag });
const arc = (x: number, y: number, centre: Point, sweep: number, tag = ""): PathElement<string> => ({
  kind: "arc",
  to: [x, y, 0],
  centre,
  sweep,
  tag,
});

/** Each element as "tag x y" or, for an arc, "tag x y about a b by sweep", to six decimals; corners are marked with "+". */
function list(ran: Ran): string[] {
  const short = (v: number) => String(Number(v.toFixed(6)) + 0);
  return ran.elements.map((e) => {
    const tag = `${e.tag}${e.role === "corner" ? "+" : ""}`;
    const end = `${tag} ${short(e.to[0])} ${short(e.to[1])}`;
    return e.kind === "line" ? end : `${end} about ${(e.centre ?? []).map(short).join(" ")} by ${short(e.sweep)}`;
  });
}

function expectContinuous(ran: Ran): void {
  for (const [n, element] of ran.elements.entries()) {
    const before = ran.elements[n - 1];
    if (!before) continue;
    expect(Math.hypot(element.from[0] - before.to[0], element.from[1] - before.to[1])).toBeLessThan(1e-9);
    expect(element.from[2]).toBe(before.to[2]);
  }
}

const NIST: Omit<CompensatorOptions, "radius" | "position"> = { side: "left", style: "rs274ngc" };
const COMMON: Omit<CompensatorOptions, "radius" | "position"> = { side: "left", style: "common" };

/** NISTIR 6556, Table 12: the edge of the material. Sweeps follow from the printed end points and centres. */
const TABLE_12: readonly PathElement<string>[] = [
  line(1, 4, "20"),
  arc(2, 3, [2, 4], 90, "30"),
  arc(3, 2, [2, 2], -90, "40"),
  line(3, -1, "50"),
  arc(2, -2, [2, -1], -90, "60"),
  line(-2, -2, "70"),
  // From straight down to the direction (-0.6, 0.8): 90° + asin(0.8), clockwise.
  arc(-2.6, -0.2, [-2, -1], -(90 + (Math.asin(0.8) * 180) / Math.PI), "80"),
  line(1.4, 2.8, "90"),
  // From the direction (-0.6, 0.8) to straight up.
  arc(2, 3, [2, 2], -(90 - (Math.asin(0.8) * 180) / Math.PI), "100"),
];

/** NISTIR 6556, Table 13: the nominal path of a tool of diameter 1 along that edge, N0030 to N0100: end, and for arcs the centre from the start. */
const TABLE_13: readonly (readonly [tag: string, end: Point, start: Point, offset: Point | undefined])[] = [
  ["30", [2, 3.5], [1.5, 4], [0.5, 0]],
  ["40", [3.5, 2], [2, 3.5], [0, -1.5]],
  ["50", [3.5, -1], [3.5, 2], undefined],
  ["60", [2, -2.5], [3.5, -1], [-1.5, 0]],
  ["70", [-2, -2.5], [2, -2.5], undefined],
  ["80", [-2.9, 0.2], [-2, -2.5], [0, 1.5]],
  ["90", [1.1, 3.2], [-2.9, 0.2], undefined],
  ["100", [2, 3.5], [1.1, 3.2], [0.9, -1.2]],
];

describe("NISTIR 6556, appendix B: Table 12 with a tool of diameter 1 runs along Table 13", () => {
  it.each(["rs274ngc", "common"] as const)("in the form %s", (style) => {
    const ran = run({ side: "left", style, radius: 0.5, position: [1, 5, 0] }, TABLE_12);
    expect(ran.problems).toEqual([]);
    expectContinuous(ran);
    const plain = ran.elements.filter((element) => element.role === "plain");
    expect(plain.map((element) => element.tag)).toEqual(TABLE_13.map(([tag]) => tag));
    for (const [n, [, end, start, offset]] of TABLE_13.entries()) {
      const element = plain[n];
      if (!element) throw new Error("missing");
      expect(element.from[0]).toBeCloseTo(start[0], 9);
      expect(element.from[1]).toBeCloseTo(start[1], 9);
      expect(element.to[0]).toBeCloseTo(end[0], 9);
      expect(element.to[1]).toBeCloseTo(end[1], 9);
      expect(element.kind).toBe(offset ? "arc" : "line");
      if (!offset) continue;
      expect(element.centre?.[0]).toBeCloseTo(start[0] + offset[0], 9);
      expect(element.centre?.[1]).toBeCloseTo(start[1] + offset[1], 9);
    }
    // Lengths derived by hand from the printed path: 22.210176 compensated.
    const length = plain.reduce((sum, e) => {
      if (e.kind === "line") return sum + Math.hypot(e.to[0] - e.from[0], e.to[1] - e.from[1]);
      return sum + (Math.hypot(e.from[0] - (e.centre?.[0] ?? 0), e.from[1] - (e.centre?.[1] ?? 0)) * Math.abs(e.sweep) * Math.PI) / 180;
    }, 0);
    expect(length).toBeCloseTo(22.210176, 6);
  });

  it("the published nominal path with a tool of wear 0 is its own centre path", () => {
    const ran = run({ ...NIST, radius: 0, position: [1.5, 5, 0] }, [
      line(1.5, 4),
      arc(2, 3.5, [2, 4], 90),
      arc(3.5, 2, [2, 2], -90),
      line(3.5, -1),
    ]);
    expect(ran.problems).toEqual([]);
    expect(list(ran)).toEqual([" 1.5 4", " 2 3.5 about 2 4 by 90", " 3.5 2 about 2 2 by -90", " 3.5 -1"]);
  });
});

describe("entry of NISTIR 6556, B.6: a right triangle (numbers derived by hand)", () => {
  it("(1,5) to (1,4), radius 0.5, left", () => {
    const ran = run({ ...NIST, radius: 0.5, position: [1, 5, 0] }, TABLE_12.slice(0, 2));
    expect(ran.elements[0]?.to[0]).toBeCloseTo(1.4330127, 7);
    expect(ran.elements[0]?.to[1]).toBeCloseTo(4.25, 9);
    expect(ran.elements[0]?.role).toBe("entry");
    // From there the tool turns 30° about the point until it is square to the arc.
    expect(list(ran)[1]).toBe("30+ 1.5 4 about 1 4 by -30");
  });

  it("(1.5,4) to (3,3), radius 0.5, left", () => {
    const ran = run({ ...NIST, radius: 0.5, position: [1.5, 4, 0] }, [line(3, 3)]);
    expect(ran.elements[0]?.to[0]).toBeCloseTo(3.151085, 6);
    expect(ran.elements[0]?.to[1]).toBeCloseTo(3.476627, 6);
  });

  it("to the right it is the mirror image", () => {
    const ran = run({ ...NIST, side: "right", radius: 0.5, position: [-1, 5, 0] }, [line(-1, 4)]);
    expect(ran.elements[0]?.to[0]).toBeCloseTo(-1.4330127, 7);
    expect(ran.elements[0]?.to[1]).toBeCloseTo(4.25, 9);
  });

  it("a negative radius is the other side (appendix B.4)", () => {
    const ran = run({ ...NIST, side: "right", radius: -0.5, position: [1, 5, 0] }, [line(1, 4)]);
    expect(ran.elements[0]?.to[0]).toBeCloseTo(1.4330127, 7);
  });

  it("an entry shorter than the radius gouges", () => {
    const ran = run({ ...NIST, radius: 0.5, position: [1, 5, 0] }, [line(1, 4.6, "in"), line(1, 0, "on")]);
    expect(ran.problems).toEqual([{ error: "cutter-gouges", tag: "in", data: { radius: 0.5, length: expect.closeTo(0.4, 9) } }]);
    expectContinuous(ran);
  });

  it("an arc as entry keeps its centre where the tool already touches it", () => {
    // Auxiliary circle of radius 10 about the origin, tool of radius 2 outside it, programmed clockwise from the top to the right.
    const ran = run({ ...NIST, radius: 2, position: [0, 12, 0] }, [arc(10, 0, [0, 0], -90, "in"), line(10, -5, "on")]);
    expect(ran.problems).toEqual([]);
    expect(list(ran)).toEqual(["in 12 0 about 0 0 by -90", "on 12 -5"]);
    const off = run({ ...NIST, radius: 2, position: [0, 11, 0] }, [arc(10, 0, [0, 0], -90, "in"), line(10, -5, "on")]);
    expect(off.problems).toEqual([{ error: "entry-arc", tag: "in", data: { radius: 2, arcRadius: 10, distance: 11 } }]);
    expect(list(off)).toEqual(["in 12 0", "on 12 -5"]);
  });
});

describe("errors of NISTIR 6556, B.5, that the path decides", () => {
  it("Concave corner with cutter radius comp", () => {
    const ran = run({ ...NIST, radius: 1, position: [0, 0, 0] }, [
      line(10, 0, "a"),
      line(20, 0, "b"),
      line(20, 10, "c"),
      line(10, 20, "d"),
    ]);
    expect(ran.problems).toEqual([
      { error: "concave-corner", tag: "c", data: { angle: expect.closeTo(90, 9) } },
      { error: "concave-corner", tag: "d", data: { angle: expect.closeTo(45, 9) } },
    ]);
    expectContinuous(ran);
  });

  it("a corner that is tangent but for rounding is none", () => {
    const ran = run({ ...NIST, radius: 1, position: [0, 0, 0] }, [line(10, 0), line(20, 0), line(30, 0.001)]);
    expect(ran.problems).toEqual([]);
    // From memory of that interpreter: a hundredth of a radian is let pass.
    const under = run({ ...NIST, radius: 1, position: [0, 0, 0] }, [line(10, 0), line(20, 0), line(30, 0.05)]);
    expect(under.problems).toEqual([]);
    expectContinuous(under);
    const over = run({ ...NIST, radius: 1, position: [0, 0, 0] }, [line(10, 0), line(20, 0), line(30, 0.2)]);
    expect(over.problems.map((p) => p.error)).toEqual(["concave-corner"]);
  });

  it("Tool radius not less than arc radius with comp: at equality here, above it in the common form", () => {
    const path = [line(10, 0, "a"), line(20, 0, "b"), arc(25, 5, [20, 5], 90, "c"), line(25, 20, "d")];
    const strict = run({ ...NIST, radius: 5, position: [0, 0, 0] }, path);
    expect(strict.problems).toEqual([{ error: "radius-not-less-than-arc", tag: "c", data: { radius: 5, arcRadius: 5 } }]);
    const equal = run({ ...COMMON, radius: 5, position: [0, 0, 0] }, path);
    expect(equal.problems).toEqual([]);
    expectContinuous(equal);
    const larger = run({ ...COMMON, radius: 6, position: [0, 0, 0] }, path);
    expect(larger.problems.map((p) => `${p.error} ${p.tag}`)).toEqual(["radius-not-less-than-arc c"]);
    expectContinuous(larger);
    const smaller = run({ ...NIST, radius: 4, position: [0, 0, 0] }, path);
    expect(smaller.problems).toEqual([]);
  });
});

// Common practice, no source; positions by hand.
describe("the common form", () => {
  const start: CompensatorOptions = { ...COMMON, radius: 5, position: [-20, -20, 0] };

  it("the entry ends square to the first element, outside corners are rounded, the last element ends square to itself", () => {
    // Clockwise round a square of 40 with the tool on its left, from the lower left corner.
    const ran = run(start, [line(0, 0, "in"), line(0, 40, "a"), line(40, 40, "b"), line(40, 0, "c"), line(0, 0, "d")]);
    expect(ran.problems).toEqual([]);
    expect(list(ran)).toEqual([
      "in -5 0",
      "a -5 40",
      "b+ 0 45 about 0 40 by -90",
      "b 40 45",
      "c+ 45 40 about 40 40 by -90",
      "c 45 0",
      "d+ 40 -5 about 40 0 by -90",
      "d 0 -5",
    ]);
    expect(ran.position).toEqual([0, -5, 0]);
    expectContinuous(ran);
  });

  it("outside corners by intersection, cut short where they are sharper than a right angle", () => {
    const square = run({ ...start, corner: "intersection" }, [line(0, 0, "in"), line(0, 40, "a"), line(40, 40, "b")]);
    expect(list(square)).toEqual(["in -5 0", "a -5 45", "b 40 45"]);
    expectContinuous(square);
    // The path turns by 135°; both sides go on by one radius.
    const sharp = run({ ...start, corner: "intersection" }, [line(0, 0, "in"), line(0, 40, "a"), line(40, 0, "b")]);
    const h = Math.SQRT1_2;
    const cut: Point = [5 * h - 5 * h, 40 + 5 * h + 5 * h];
    expect(list(sharp).slice(0, 2)).toEqual(["in -5 0", "a -5 45"]);
    expect(sharp.elements[2]?.role).toBe("corner");
    expect(sharp.elements[2]?.to[0]).toBeCloseTo(cut[0], 9);
    expect(sharp.elements[2]?.to[1]).toBeCloseTo(cut[1], 9);
    expectContinuous(sharp);
  });

  it("outside corner by intersection at an arc goes on along its tangent", () => {
    // A quarter of radius 10 outside, then a right-angled outside corner.
    const ran = run({ ...start, corner: "intersection" }, [line(0, 0, "in"), arc(10, 10, [10, 0], -90, "a"), line(10, -30, "b")]);
    expect(list(ran)).toEqual(["in -5 0", "a 10 15 about 10 0 by -90", "b+ 15 15", "b 15 -30"]);
    expectContinuous(ran);
  });

  it("inside corners end where the offset elements meet: two lines", () => {
    const ran = run({ ...start, side: "right" }, [line(0, 0, "in"), line(0, 40, "a"), line(40, 40, "b"), line(40, 0, "c")]);
    expect(ran.problems).toEqual([]);
    expect(list(ran)).toEqual(["in 5 0", "a 5 35", "b 35 35", "c 35 0"]);
  });

  it("inside corners: line and arc, arc and line, by a 3-4-5 triangle", () => {
    // Line along y = 0 into the outside of a circle of radius 10 about (30, 0), tool of radius 5 above: the offset line y = 5
    // meets the offset circle of radius 15 at x = 30 - √(15² - 5²).
    const ran = run({ ...COMMON, radius: 5, position: [-20, 20, 0] }, [
      line(0, 0, "in"),
      line(20, 0, "a"),
      arc(40, 0, [30, 0], -180, "b"),
      line(70, 0, "c"),
    ]);
    expect(ran.problems).toEqual([]);
    const meet = Math.sqrt(200);
    expect(ran.elements.map((e) => e.kind)).toEqual(["line", "line", "arc", "line"]);
    expect(ran.elements[1]?.to[0]).toBeCloseTo(30 - meet, 9);
    expect(ran.elements[1]?.to[1]).toBeCloseTo(5, 9);
    expect(ran.elements[2]?.to[0]).toBeCloseTo(30 + meet, 9);
    expect(ran.elements[2]?.sweep).toBeCloseTo(-(180 - (2 * Math.asin(1 / 3) * 180) / Math.PI), 9);
    expectContinuous(ran);
  });

  it("inside corners: two arcs", () => {
    // Two circles of radius 10 about (0,0) and (16,0) meet at (8,6); with a tool of radius 5 outside, the offset circles of
    // radius 15 meet at (8, √(225 - 64)).
    const ran = run({ ...COMMON, radius: 5, position: [-30, 0, 0] }, [
      line(-10, 0, "in"),
      arc(8, 6, [0, 0], -(180 - (Math.asin(0.6) * 180) / Math.PI), "a"),
      arc(26, 0, [16, 0], -(180 - (Math.asin(0.6) * 180) / Math.PI), "b"),
    ]);
    expect(ran.problems).toEqual([]);
    expect(ran.elements[1]?.to[0]).toBeCloseTo(8, 9);
    expect(ran.elements[1]?.to[1]).toBeCloseTo(Math.sqrt(161), 9);
    expect(ran.elements[2]?.from).toEqual(ran.elements[1]?.to);
    expectContinuous(ran);
  });

  it("inside corners: of two places where the offsets meet, the one at the corner", () => {
    // Across a bore of radius 20 and round its wall: the offset line y = 5 meets the offset circle of radius 15 at x = ±√200.
    const ran = run({ ...COMMON, radius: 5, position: [-19, -10, 0] }, [
      line(-19, 0, "in"),
      line(20, 0, "a"),
      arc(20 * Math.cos(-Math.PI / 18), 20 * Math.sin(-Math.PI / 18), [0, 0], 350, "b"),
    ]);
    expect(ran.problems).toEqual([]);
    expect(ran.elements[1]?.to[0]).toBeCloseTo(Math.sqrt(200), 9);
    expect(ran.elements[2]?.sweep).toBeCloseTo(350 - (Math.asin(1 / 3) * 180) / Math.PI, 9);
  });

  it("a full circle inside a bore closes on itself", () => {
    const ran = run({ ...COMMON, radius: 4, position: [0, 0, 0] }, [line(10, 0, "in"), arc(10, 0, [0, 0], 360, "a")]);
    expect(list(ran)).toEqual(["in 6 0", "a 6 0 about 0 0 by 360"]);
  });

  it("turning back on the same line goes round its end", () => {
    const ran = run(start, [line(0, 0, "in"), line(0, 40, "a"), line(0, 0, "b")]);
    expect(ran.problems).toEqual([]);
    expect(list(ran)).toEqual(["in -5 0", "a -5 40", "b+ 5 40 about 0 40 by -180", "b 5 0"]);
    for (const [side, sign] of [
      ["left", -1],
      ["right", 1],
    ] as const) {
      const along = run({ ...start, side }, [line(0, 0, "in"), line(40, 0, "a"), line(0, 0, "b")]);
      expect(along.problems).toEqual([]);
      expect(along.elements[2]?.sweep).toBe(sign * 180);
    }
  });

  it("a slot narrower than the tool gouges, at the element that is too short", () => {
    const ran = run({ ...start, side: "right" }, [line(0, 0, "in"), line(0, 40, "a"), line(8, 40, "b"), line(8, 0, "c")]);
    expect(ran.problems).toEqual([{ error: "cutter-gouges", tag: "b", data: { radius: 5, length: 8 } }]);
    expectContinuous(ran);
    const wide = run({ ...start, side: "right" }, [line(0, 0, "in"), line(0, 40, "a"), line(10.1, 40, "b"), line(10.1, 0, "c")]);
    expect(wide.problems).toEqual([]);
  });

  it("a step smaller than the tool gouges", () => {
    // Up a step of 2 with an inside corner: the offset line of the step would start beyond its end.
    const ran = run({ ...COMMON, radius: 5, position: [-20, 20, 0] }, [
      line(0, 0, "in"),
      line(20, 0, "a"),
      line(20, 2, "b"),
      line(60, 2, "c"),
    ]);
    expect(ran.problems.map((p) => `${p.error} ${p.tag}`)).toEqual(["cutter-gouges b"]);
  });

  it("motion of the third axis alone keeps its place, and levels run along with the elements", () => {
    const ran = run({ ...COMMON, radius: 5, position: [-20, -20, 10] }, [
      { kind: "line", to: [-20, -20, 5], tag: "down" },
      { kind: "line", to: [0, 0, 5], tag: "in" },
      { kind: "line", to: [0, 40, 2], tag: "a" },
      { kind: "line", to: [0, 40, -3], tag: "plunge" },
      { kind: "line", to: [0, 40, -3], tag: "nothing" },
      { kind: "line", to: [40, 40, -3], tag: "b" },
    ]);
    expect(ran.elements.map((e) => [e.tag, e.role, ...e.to])).toEqual([
      ["down", "plain", -20, -20, 5],
      ["in", "entry", -5, 0, 5],
      ["a", "plain", -5, 40, 2],
      ["plunge", "plain", -5, 40, -3],
      ["nothing", "plain", -5, 40, -3],
      ["b", "corner", 0, 45, -3],
      ["b", "plain", 40, 45, -3],
    ]);
    expectContinuous(ran);
  });

  it("an entry without a following element ends square to itself", () => {
    const ran = run({ ...COMMON, radius: 5, position: [0, 0, 0] }, [line(0, 40, "in")]);
    expect(list(ran)).toEqual(["in -5 40"]);
  });

  it("another side or radius goes over in a straight line", () => {
    const compensator = createCompensator<string>(start);
    compensator.push(line(0, 0, "in"));
    compensator.push(line(0, 40, "a"));
    compensator.change("right", 3);
    const over = compensator.push(line(0, 80, "b"));
    expect(over.elements.map((e) => [e.tag, e.role, e.to[0], e.to[1]])).toEqual([
      ["a", "plain", -5, 40],
      ["b", "corner", 3, 40],
    ]);
    expect(compensator.flush().elements.map((e) => [e.tag, e.to[0], e.to[1]])).toEqual([["b", 3, 80]]);
    expect(compensator.programmed).toEqual([0, 80, 0]);
  });

  it("an unknown coordinate leaves its corners unknown and the rest known", () => {
    const ran = run(start, [line(0, 0, "in"), line(0, 40, "a"), line(Number.NaN, 40, "b"), line(80, 0, "c"), line(80, -40, "d")]);
    expect(ran.problems).toEqual([]);
    const ends = ran.elements.map((e) => [e.tag, e.to[0], e.to[1]]);
    expect(ends[0]).toEqual(["in", -5, 0]);
    expect(ends[1]).toEqual(["a", Number.NaN, Number.NaN]);
    expect(ends.at(-1)).toEqual(["d", 85, -40]);
  });
});

describe("against CrossSection.offset of manifold-3d 3.5.4 (round joins)", () => {
  let wasm: ManifoldToplevel;
  beforeAll(async () => {
    wasm = await manifoldModule();
    wasm.setup();
  });

  /** Pseudo-random numbers with a stated seed, so that a failure can be repeated. */
  function randoms(seed: number): () => number {
    let state = seed;
    return () => {
      state = (Math.imul(state, 1664525) + 1013904223) >>> 0;
      return state / 2 ** 32;
    };
  }

  /** A closed counter-clockwise polygon about the origin, with inside corners as well as outside ones. */
  function polygon(random: () => number, corners: number, least: number, most: number): Point[] {
    const points: Point[] = [];
    for (let n = 0; n < corners; n++) {
      const angle = ((n + 0.3 * random()) * 2 * Math.PI) / corners;
      const radius = least + (most - least) * random();
      points.push([radius * Math.cos(angle), radius * Math.sin(angle)]);
    }
    return points;
  }

  /** Area inside the centre path by Green's theorem: the polygon of its ends plus the segment of each arc. */
  function area(elements: readonly CentreElement<string>[]): number {
    let sum = 0;
    for (const e of elements) {
      sum += (e.from[0] * e.to[1] - e.from[1] * e.to[0]) / 2;
      if (e.kind === "line" || !e.centre) continue;
      const radius = Math.hypot(e.from[0] - e.centre[0], e.from[1] - e.centre[1]);
      const angle = (e.sweep * Math.PI) / 180;
      sum += (radius * radius * (angle - Math.sin(angle))) / 2;
    }
    return sum;
  }

  /** Once round the polygon from the middle of its last side, where entry and exit are square to the path. */
  function round(points: readonly Point[], side: "left" | "right", radius: number): Ran {
    const first = points[0];
    const last = points.at(-1);
    if (!first || !last) throw new Error("empty");
    const middle: Point = [(first[0] + last[0]) / 2, (first[1] + last[1]) / 2];
    const path = [line(middle[0], middle[1], "in"), ...points.map((p, n) => line(p[0], p[1], `${n}`)), line(middle[0], middle[1], "end")];
    const ran = run({ side, style: "common", radius, position: [0, 0, 0] }, path);
    return { ...ran, elements: ran.elements.filter((e) => e.role !== "entry") };
  }

  interface Outline {
    readonly area: number;
    readonly polygons: readonly (readonly Point[])[];
  }

  function libraryOffset(points: readonly Point[], delta: number): Outline {
    let section: CrossSection | undefined;
    let moved: CrossSection | undefined;
    try {
      section = new wasm.CrossSection([points.map((p): [number, number] => [p[0], p[1]])]);
      moved = section.offset(delta, "Round", 2, 4096);
      return { area: moved.area(), polygons: moved.toPolygons() };
    } finally {
      section?.delete();
      moved?.delete();
    }
  }

  it("the published library value: a rectangle of 40 by 20, 5 outside", () => {
    const ran = round(
      [
        [20, 10],
        [-20, 10],
        [-20, -10],
        [20, -10],
      ],
      "right",
      5,
    );
    expect(ran.problems).toEqual([]);
    // 40·20 + 2·60·5 + 25π; the library gives 1478.5319 for its polygon of 256 sides.
    expect(area(ran.elements)).toBeCloseTo(1478.5398, 4);
  });

  it("random polygons, outside and inside, have the library's area", () => {
    const random = randoms(20240611);
    let outside = 0;
    let inside = 0;
    let concave = 0;
    for (let n = 0; n < 400; n++) {
      const points = polygon(random, 3 + Math.floor(random() * 6), 25, 80);
      const radius = 1 + random() * 4;
      for (const [side, delta] of [
        ["right", radius],
        ["left", -radius],
      ] as const) {
        const ran = round(points, side, radius);
        expectContinuous(ran);
        const library = libraryOffset(points, delta);
        if (ran.problems.length > 0) continue;
        if (ran.elements.filter((e) => e.role === "corner").length < points.length && side === "right") concave++;
        if (side === "right") outside++;
        else inside++;
        expect(library.polygons).toHaveLength(1);
        // The library keeps integers of small steps and polygons for arcs; 1e-3 mm over the outline is the bound used.
        expect(Math.abs(area(ran.elements) - library.area) / 400).toBeLessThan(1e-3);
      }
    }
    // The comparison must not have been empty.
    expect(outside).toBeGreaterThan(300);
    expect(inside).toBeGreaterThan(200);
    expect(concave).toBeGreaterThan(100);
  });

  /** Whether every side of the polygon, moved inward, still has a part in the library's outline. */
  function allSidesLeft(points: readonly Point[], radius: number, outline: Outline): boolean {
    return points.every((p, n) => {
      const q = points[(n + 1) % points.length] ?? p;
      const side = Math.hypot(q[0] - p[0], q[1] - p[1]);
      const [ta, tb] = [(q[0] - p[0]) / side, (q[1] - p[1]) / side];
      const isOn = (x: Point) => Math.abs((x[1] - p[1]) * ta - (x[0] - p[0]) * tb - radius) < 0.005;
      return outline.polygons.some((polygon) =>
        polygon.some((a, k) => {
          const b = polygon[(k + 1) % polygon.length] ?? a;
          return isOn(a) && isOn(b) && (b[0] - a[0]) * ta + (b[1] - a[1]) * tb > 0.01;
        }),
      );
    });
  }

  it("from inside, a problem is told exactly where the library's outline loses a side", () => {
    const random = randoms(7);
    let told = 0;
    let silent = 0;
    for (let n = 0; n < 1000; n++) {
      // Convex enough that a side can only be lost to its neighbours, with tools up to the size of the sides.
      const points = polygon(random, 5 + Math.floor(random() * 4), 34, 40);
      const radius = 5 + random() * 25;
      const library = libraryOffset(points, -radius);
      const ran = round(points, "left", radius);
      if (ran.problems.length > 0) {
        // The round begins and ends within one side; its halves may be too short where the side as a whole is not.
        if (ran.problems.every((problem) => problem.tag === "0" || problem.tag === "end")) continue;
        told++;
        expect(allSidesLeft(points, radius, library)).toBe(false);
        for (const problem of ran.problems) expect(problem.error).toBe("cutter-gouges");
      } else {
        silent++;
        expect(library.polygons).toHaveLength(1);
        expect(Math.abs(area(ran.elements) - library.area) / 200).toBeLessThan(1e-3);
      }
    }
    expect(told).toBeGreaterThan(50);
    expect(silent).toBeGreaterThan(50);
  });
});
