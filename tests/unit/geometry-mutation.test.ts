import { describe, expect, it } from "vitest";
import { bounds, corners, type OrientedBox } from "../../server/src/engine/geometry/box.js";
import { leastConvex } from "../../server/src/engine/geometry/convex.js";
import { greatest, penetration, prepare, sectionOf, standingGap } from "../../server/src/engine/geometry/distance.js";
import { divide, leastSine } from "../../server/src/engine/geometry/divide.js";
import { compose, directionToOuter, type Frame, IDENTITY, toInner, toOuter } from "../../server/src/engine/geometry/frame.js";
import { type Arc, boundsOfArc, gapArc, gapIndex, gapLine } from "../../server/src/engine/geometry/sweep.js";
import type { ToolPart } from "../../server/src/engine/geometry/tool.js";
import { add, dot, isKnownPoint, length, scale, subtract, type Vec3, ZERO } from "../../server/src/engine/geometry/vector.js";
import { boxOf, cone, cylinder, type Matrix, onArc, random, referenceGap, turned } from "../support/solids.js";

/**
 * Tests that mutation testing asked for: each pins down a line of the geometry that could be broken unseen. What is expected
 * is worked by hand or looked at point by point by formulas that are written here again.
 */

const INF = Number.POSITIVE_INFINITY;
const NAN = Number.NaN;
const radians = (degrees: number): number => (degrees * Math.PI) / 180;

describe("bounds", () => {
  it("of a box turned by 30° about Z: the extents are sums of |component| · size", () => {
    // 20 × 10 turned by 30° is 20·cos 30° + 10·sin 30° wide and 20·sin 30° + 10·cos 30° deep.
    const b = bounds(boxOf([-10, -5, 1], [10, 5, 4], [100, 200, 300], turned(0, 0, 30)));
    const w = 10 * Math.cos(radians(30)) + 5 * Math.sin(radians(30));
    const d = 10 * Math.sin(radians(30)) + 5 * Math.cos(radians(30));
    [100 - w, 200 - d, 301].forEach((v, k) => {
      expect(b.from[k]).toBeCloseTo(v, 12);
    });
    [100 + w, 200 + d, 304].forEach((v, k) => {
      expect(b.to[k]).toBeCloseTo(v, 12);
    });
  });
  it("are those of the corners, for any turn", () => {
    const r = random(7);
    for (let n = 0; n < 100; n++) {
      const u = (a: number, b: number): number => a + (b - a) * r();
      const box = boxOf(
        [u(-9, 0), u(-9, 0), u(-9, 0)],
        [u(1, 9), u(1, 9), u(1, 9)],
        [u(-50, 50), 0, 3],
        turned(u(0, 360), u(0, 360), u(0, 360)),
      );
      const b = bounds(box);
      for (const k of [0, 1, 2] as const) {
        expect(b.from[k]).toBeCloseTo(Math.min(...corners(box).map((c) => c[k])), 10);
        expect(b.to[k]).toBeCloseTo(Math.max(...corners(box).map((c) => c[k])), 10);
      }
    }
  });
  it("of a body without end: only along its own axis", () => {
    const b = bounds(boxOf([0, 0, -INF], [20, 10, 0], [1, 2, 3]));
    expect(b).toEqual({ from: [1, 2, -INF], to: [21, 12, 3] });
    // Turned by a quarter about Y, z lies along +X.
    const quarter: Frame = { origin: [1, 2, 3], x: [0, 0, -1], y: [0, 1, 0], z: [1, 0, 0] };
    const side = bounds({ frame: quarter, box: { from: [0, 0, -INF], to: [20, 10, 0] } });
    expect([side.from, side.to]).toEqual([
      [-INF, 2, -17],
      [1, 12, 3],
    ]);
  });
  it("of a body prepared for queries: the same, and free of the rounding of a quarter turn", () => {
    const r = random(8);
    const u = (a: number, b: number): number => a + (b - a) * r();
    for (let n = 0; n < 60; n++) {
      const m = n % 2 === 0 ? turned(0, [0, 90, 180, 270][n % 4] as number, u(0, 360)) : turned(u(0, 360), u(0, 360), 0);
      const box = boxOf([u(-9, 0), u(-9, 0), u(-9, 0)], [u(1, 9), u(1, 9), u(1, 9)], [u(-50, 50), u(-50, 50), 3], m);
      const b = prepare(box).bounds;
      for (const k of [0, 1, 2] as const) {
        expect(b.from[k]).toBeCloseTo(Math.min(...corners(box).map((c) => c[k])), 9);
        expect(b.to[k]).toBeCloseTo(Math.max(...corners(box).map((c) => c[k])), 9);
      }
    }
    // Turned about X by a quarter in floating point, −∞ along z lies along one of ±Y only.
    const lying = prepare(boxOf([0, 0, -INF], [20, 10, 0], [1, 2, 3], turned(90, 0, 0))).bounds;
    expect([lying.from[0], lying.to[0], lying.from[2], lying.to[2]]).toEqual([1, 21, 3, 13].map((v) => expect.closeTo(v, 9)));
    expect([lying.from[1], lying.to[1]]).toEqual([expect.closeTo(2, 9), INF]);
    const deep = prepare(boxOf([0, 0, -INF], [20, 10, 0], [1, 2, 3], turned(0, 0, 90))).bounds;
    expect(deep.from).toEqual([expect.closeTo(-9, 9), expect.closeTo(2, 9), -INF]);
    expect(deep.to).toEqual([expect.closeTo(1, 9), expect.closeTo(22, 9), 3]);
  });
  it("corners are numbered by bits", () => {
    expect(corners(boxOf([0, 0, 0], [1, 2, 4], [10, 20, 40]))).toEqual([
      [10, 20, 40],
      [11, 20, 40],
      [10, 22, 40],
      [11, 22, 40],
      [10, 20, 44],
      [11, 20, 44],
      [10, 22, 44],
      [11, 22, 44],
    ]);
  });
});

describe("frames", () => {
  // x of the frame points to outer Y, y to outer Z, z to outer X.
  const f: Frame = { origin: [10, 20, 30], x: [0, 1, 0], y: [0, 0, 1], z: [1, 0, 0] };
  it("the identity changes nothing, on either side", () => {
    expect(compose(IDENTITY, f)).toEqual(f);
    expect(compose(f, IDENTITY)).toEqual(f);
    expect(toOuter(IDENTITY, [1, 2, 3])).toEqual([1, 2, 3]);
  });
  it("out, in, directions", () => {
    expect(toOuter(f, [1, 2, 3])).toEqual([13, 21, 32]);
    expect(directionToOuter(f, [1, 2, 3])).toEqual([3, 1, 2]);
    expect(toInner(f, [13, 21, 32])).toEqual([1, 2, 3]);
  });
  it("with every component in play: a right angle stays one, in and out cancel", () => {
    // Columns of the rotation with the quaternion (1, 2, 3, 4)/√30, worked by hand: rows (−20, 4, 22), (20, −10, 20), (10, 28, 4), all / 30.
    const g: Frame = { origin: [1, 2, 3], x: [-20 / 30, 20 / 30, 10 / 30], y: [4 / 30, -10 / 30, 28 / 30], z: [22 / 30, 20 / 30, 4 / 30] };
    const near = (v: number[]) => v.map((c) => expect.closeTo(c, 12));
    // (3, 6, 9): −20·3 + 4·6 + 22·9 = 162; 20·3 − 10·6 + 20·9 = 180; 10·3 + 28·6 + 4·9 = 234; over 30.
    expect(directionToOuter(g, [3, 6, 9])).toEqual(near([5.4, 6, 7.8]));
    expect(toOuter(g, [3, 6, 9])).toEqual(near([6.4, 8, 10.8]));
    expect(toInner(g, [6.4, 8, 10.8])).toEqual(near([3, 6, 9]));
    const both = compose(g, g);
    expect(toOuter(both, [3, 6, 9])).toEqual([...toOuter(g, [6.4, 8, 10.8])].map((c) => expect.closeTo(c, 12)));
    expect(toInner(both, toOuter(both, [3, 6, 9]))).toEqual(near([3, 6, 9]));
  });
  it("one in another", () => {
    const both = compose(f, { origin: [1, 2, 3], x: [0, 0, 1], y: [0, 1, 0], z: [-1, 0, 0] });
    expect(both).toEqual({ origin: [13, 21, 32], x: [1, 0, 0], y: [0, 0, 1], z: [0, -1, 0] });
    expect(toOuter(both, [4, 5, 6])).toEqual(toOuter(f, [1 - 6, 2 + 5, 3 + 4]));
  });
});

/** Standing on one spot. */
const standing = (part: ToolPart, at: Vec3, box: OrientedBox): number => gapLine(part, at, at, box).distance;

describe("a tapered part against an edge, by plane geometry", () => {
  // The block's top edge runs along Y at x 0, z 0; the tool stands left of it, so only (x, z) count.
  const block = boxOf([0, -500, -100], [200, 500, 0]);
  // Narrow end R 2 at the tip, wide end R 8 at 8 up: flank direction (6, 8)/10, its outward normal below (8, −6)/10.
  const opening = cone(2, 8, 0, 8);
  it("beside the flank: distance square to it", () => {
    // The edge seen from the tool: 12 out, 3 up. From the narrow corner (2, 0): (10, 3)·(8, −6)/10 = 6.2.
    expect(standing(opening, [-12, 0, -3], block)).toBeCloseTo(6.2, 12);
  });
  it("beyond the wide end: from its corner, or straight above it", () => {
    // The tool hangs over nothing: its wide rim is below the bottom of an overhead block.
    const above = boxOf([0, -500, 0], [200, 500, 100]);
    // Rim at (8, 8); the edge 11 out, 12 up: hypot(3, 4).
    expect(standing(opening, [-11, 0, -12], above)).toBeCloseTo(5, 12);
    expect(standing(opening, [-6, 0, -12], above)).toBeCloseTo(4, 12);
  });
  it("below the narrow end: from its corner, or straight below", () => {
    // Corner (2, 0); the edge 5 out and 4 down: hypot(3, 4).
    expect(standing(opening, [-5, 0, 4], block)).toBeCloseTo(5, 12);
    expect(standing(opening, [-1, 0, 4], block)).toBeCloseTo(4, 12);
  });
  // Upside down: wide end R 8 at the tip, narrow end R 2 at 8 up.
  const closing = cone(8, 2, 0, 8);
  it("a part that narrows upward: beside the flank, beyond both ends", () => {
    const above = boxOf([0, -500, 0], [200, 500, 100]);
    // Overhead edge 12 out, 5 up; from the wide corner (8, 0): (4, 5)·(8, 6)/10 = 6.2.
    expect(standing(closing, [-12, 0, -5], above)).toBeCloseTo(6.2, 12);
    // Narrow corner (2, 8); the edge 5 out, 12 up: hypot(3, 4).
    expect(standing(closing, [-5, 0, -12], above)).toBeCloseTo(5, 12);
    expect(standing(closing, [-1, 0, -12], above)).toBeCloseTo(4, 12);
    // Below the wide end: corner (8, 0), the edge 11 out, 4 down.
    expect(standing(closing, [-11, 0, 4], block)).toBeCloseTo(5, 12);
  });
  it("inside the flank they meet, a hair outside they do not", () => {
    // On the flank of the opening cone at 4 up it is R 5.
    expect(standing(opening, [-4.9, 0, -4], block)).toBe(0);
    expect(standing(opening, [-5.1, 0, -4], block)).toBeCloseTo(0.08, 12);
  });
  it("a cone that never ends or has no height counts as its wider cylinder; a negative radius as none", () => {
    expect(standing(cone(2, 8, 0, INF), [-12, 0, -3], block)).toBeCloseTo(4, 12);
    expect(standing(cone(2, 8, 0, 0), [-12, 0, 5], block)).toBeCloseTo(Math.hypot(4, 5), 12);
    expect(standing(cone(-3, -3, 0, 5), [-12, 0, -3], block)).toBeCloseTo(12, 12);
    expect(standing(cylinder(2, 5, 3), [-12, 0, -3], block)).toBeCloseTo(Math.hypot(10, 2), 12);
  });
});

describe("quick cases by hand: standing parts, the distance and the direction in which it grows", () => {
  const told = { distance: 0, nx: 0, ny: 0, nz: 0 };
  /** Distance and direction, which is where the tool is seen from the nearest point of the box. */
  const look = (part: ToolPart, at: Vec3, box: OrientedBox): number[] => {
    standingGap(sectionOf(part), at[0], at[1], at[2], prepare(box), told);
    return [told.distance, told.nx, told.ny, told.nz];
  };
  const near = (v: readonly number[]) => v.map((c) => expect.closeTo(c, 9));
  // Columns of the rotation with the quaternion (1, 2, 3, 4)/√30, as above; every component differs.
  const askew: Matrix = [
    [-20 / 30, 20 / 30, 10 / 30],
    [4 / 30, -10 / 30, 28 / 30],
    [22 / 30, 20 / 30, 4 / 30],
  ];
  /** A point of a frame, outside. */
  const place = (m: Matrix, o: Vec3, q: Vec3): Vec3 => {
    const c = (k: 0 | 1 | 2): number => o[k] + q[0] * m[0][k] + q[1] * m[1][k] + q[2] * m[2][k];
    return [c(0), c(1), c(2)];
  };
  const point = cylinder(0, 0, 0);

  // A point off a box −2 … 3, −4 … 5, −6 … 7 by 3, 4 and 12 along its axes, or level with it: every face, edge and corner.
  for (const [name, m] of [
    ["upright", turned(0, 0, 0)],
    ["turned in plan", turned(0, 0, 30)],
    ["on its side", turned(90, 0, 0)],
    ["on its head", turned(180, 0, 20)],
    ["askew", askew],
    ["askew to one side", turned(0, 30, 0)],
  ] as const)
    it(`a point off each face, edge and corner of a box that is ${name}`, () => {
      const o: Vec3 = [10, 20, 30];
      const box = boxOf([-2, -4, -6], [3, 5, 7], o, m);
      const steps = (low: number, high: number, by: number) =>
        [
          [low - by, -by],
          [(low + high) / 2, 0],
          [high + by, by],
        ] as const;
      for (const [x, dx] of steps(-2, 3, 3))
        for (const [y, dy] of steps(-4, 5, 4))
          for (const [z, dz] of steps(-6, 7, 12)) {
            // 3, 4, 5, 12 and 13 are sides of right triangles.
            const d = Math.hypot(dx, dy, dz);
            const n = d === 0 ? ([0, 0, 0] as const) : place(m, [0, 0, 0], [dx / d, dy / d, dz / d]);
            expect(look(point, place(m, o, [x, y, z]), box), `${dx} ${dy} ${dz}`).toEqual(near([d, ...n]));
          }
    });

  // Upright block 0 … 20, 0 … 10, −10 … 0; the part stands at heights 2 … 52 above its tool point.
  const block = boxOf([0, 0, -10], [20, 10, 0]);
  const mill = cylinder(4, 2, 52);
  for (const [name, at, distance, ...n] of [
    ["over the face", [10, 5, 1], 3, 0, 0, 1],
    ["under it", [10, 5, -64], 2, 0, 0, -1],
    ["beside −X", [-7, 5, -20], 3, -1, 0, 0],
    ["beside +X", [27, 5, -20], 3, 1, 0, 0],
    ["beside −Y", [10, -6, -20], 2, 0, -1, 0],
    ["beside +Y", [10, 16, -20], 2, 0, 1, 0],
    // 7 off, 3 beyond the radius, and 4 above: 3-4-5.
    ["off an edge, above", [27, 5, 2], 5, 0.6, 0, 0.8],
    ["off an edge, below", [27, 5, -66], 5, 0.6, 0, -0.8],
    // The corner is 3 and 4 off in plan, so 5 − 4.
    ["off a corner", [-3, -4, -20], 1, -0.6, -0.8, 0],
    // 6 and 8 in plan, so 6 beyond the radius, and 8 above.
    ["off a corner, above", [26, 18, 6], 10, 0.6 * 0.6, 0.6 * 0.8, 0.8],
    ["touching a side", [-4, 5, -20], 0, 0, 0, 0],
    ["touching the top", [10, 5, -2], 0, 0, 0, 0],
    ["inside", [10, 5, -20], 0, 0, 0, 0],
  ] as const)
    it(`a cylinder ${name}`, () => {
      expect(look(mill, at, block)).toEqual(near([distance, ...n]));
      // The same where the box is tilted by less than a micrometre, which takes the other way.
      const tilted = boxOf([0, 0, -10], [20, 10, 0], [0, 0, 0], turned(1e-8, 1e-8, 0));
      expect(look(mill, at, tilted)[0]).toBeCloseTo(distance, 6);
    });

  // Opening from R 2 at 10 to R 8 at 18: the flank runs (6, 8)/10, so square to it is (8, −6)/10. Closing: the same on its head.
  const opening = cone(2, 8, 10, 18);
  const closing = cone(8, 2, 10, 18);
  for (const [name, part, at, distance, ...n] of [
    // The top edge x 0 lies 12 out and 3 above the foot: (10, 3)·(8, −6)/10 = 6.2.
    ["opening, beside its flank", opening, [-12, 5, -13], 6.2, -0.8, 0, 0.6],
    ["opening, beyond its foot", opening, [-5, 5, -6], 5, -0.6, 0, 0.8],
    ["opening, over the face", opening, [10, 5, -6], 4, 0, 0, 1],
    // 11 out of the side, from the rim at the top, whose height is level with the block.
    ["opening, its rim beside the side", opening, [-11, 5, -20], 3, -1, 0, 0],
    // Rim 8 at 18 over tool point −40: 12 below the block's foot, 11 out: hypot(3, 12).
    ["opening, under the edge", opening, [-11, 5, -40], Math.hypot(3, 12), -3 / Math.hypot(3, 12), 0, -12 / Math.hypot(3, 12)],
    ["opening, under the face", opening, [10, 5, -40], 12, 0, 0, -1],
    // The foot edge at z −10 lies 12 out and 5 above the foot of the part: (4, 5)·(8, 6)/10 = 6.2.
    ["closing, beside its flank", closing, [-12, 5, -25], 6.2, -0.8, 0, -0.6],
    ["closing, beyond its tip", closing, [-5, 5, -32], 5, -0.6, 0, -0.8],
    ["closing, under the face", closing, [10, 5, -32], 4, 0, 0, -1],
    ["closing, its rim beside the side", closing, [-11, 5, -15], 3, -1, 0, 0],
    ["closing, over the edge", closing, [-11, 5, -6], 5, -0.6, 0, 0.8],
    ["opening, its flank in the edge", opening, [-4.9, 5, -14], 0, 0, 0, 0],
  ] as const)
    it(`a cone ${name}`, () => {
      expect(look(part, at, block)).toEqual(near([distance, ...n]));
      // Seen from the other side, and along Y.
      expect(look(part, [20 - at[0], at[1], at[2]], block)).toEqual(near([distance, -n[0], n[1], n[2]]));
      const along = boxOf([0, 0, -10], [10, 20, 0]);
      expect(look(part, [at[1], at[0], at[2]], along)).toEqual(near([distance, n[1], n[0], n[2]]));
      const tilted = boxOf([0, 0, -10], [20, 10, 0], [0, 0, 0], turned(0, 1e-8, 0));
      expect(look(part, at, tilted)[0]).toBeCloseTo(distance, 6);
    });

  // A bar along Y with a square of 20 × 20 as its section, on its edge: corners at (±10√2, 0) and (0, ±10√2) in X and Z.
  const bar = boxOf([-10, -50, -10], [10, 50, 10], [0, 0, 0], turned(0, 45, 0));
  const h = Math.SQRT1_2;
  const c = 10 * Math.SQRT2;
  for (const [name, part, at, distance, ...n] of [
    ["a mill beside its edge", mill, [c + 7, 3, -20], 3, 1, 0, 0],
    ["a mill beside its other edge", mill, [-c - 7, 3, -20], 3, -1, 0, 0],
    ["a mill over its upper edge", mill, [1, 3, c + 1], 3, 0, 0, 1],
    ["a mill under its lower edge", mill, [1, 3, -c - 55], 3, 0, 0, -1],
    // The rim's lowest point is 4 nearer: (x − 4, z + 2) against x + z = 10√2.
    ["a mill's rim over its face", mill, [13, 3, 15], (13 - 4 + 15 + 2 - c) * h, h, 0, h],
    ["a mill's rim over its other face", mill, [-13, 3, 15], (13 - 4 + 15 + 2 - c) * h, -h, 0, h],
    ["a mill's rim under its face", mill, [13, 3, -70], (13 - 4 + 18 - c) * h, h, 0, -h],
    ["a drill's tip over its face", cone(0, 3, 0, 4), [10, 3, 15], (25 - c) * h, h, 0, h],
    // The end of the bar is at Y 50.
    ["a mill beside its end", mill, [3, 56, -20], 2, 0, 1, 0],
    ["a mill beside its other end", mill, [3, -56, -20], 2, 0, -1, 0],
    // The corner of the bar is 3 and 4 off in plan.
    ["a mill off its corner", mill, [c + 6, 58, -20], 6, 0.6, 0.8, 0],
    ["an endless line beside it", cylinder(0, 0, INF), [c + 3, 3, -500], 3, 1, 0, 0],
    ["an endless line over it", cylinder(0, 0, INF), [0, 3, c + 3], 3, 0, 0, 1],
    ["a line through it", cylinder(0, -50, 50), [1, 2, 3], 0, 0, 0, 0],
    ["a pin in it", cylinder(1, 0, 2), [0, 3, 0], 0, 0, 0, 0],
    ["a pin that comes out of it on top", cylinder(1, 0, 20), [0, 3, 0], 0, 0, 0, 0],
    ["a pin that comes in through a face from below", cylinder(0.5, 0, 20), [8, 3, -20], 0, 0, 0, 0],
    ["a disc that holds all of its edge", cylinder(90, -1, 1), [0, 0, 0], 0, 0, 0, 0],
    ["a mill in its edge", mill, [c + 3.9, 3, -20], 0, 0, 0, 0],
  ] as const)
    it(`a bar on its edge: ${name}`, () => {
      expect(look(part, at, bar)).toEqual(near([distance, ...n]));
    });

  // A block whose outermost edge runs at 45° through the origin: no point of it has a Y above 0.
  const ridge: Matrix = [
    [h, 0, h],
    [-0.5, h, 0.5],
    [-0.5, -h, 0.5],
  ];
  it("beside a slanting edge: along the common normal of edge and axis", () => {
    // Its edges run along (1, 0, 1); the third axis points down and in, so the outermost edge is at y 0, z −0 of the frame.
    const slanting = boxOf([-100, -100, 0], [100, 0, 100], [0, 0, 0], ridge);
    expect(look(cylinder(3, -30, 30), [5, 7, 2], slanting)).toEqual(near([4, 0, 1, 0]));
    expect(look(cylinder(3, -30, 30), [-5, 7, 2], slanting)).toEqual(near([4, 0, 1, 0]));
    expect(look(cylinder(3, -30, INF), [5, 2.9, 2], slanting)[0]).toBe(0);
    // The edge leaves at height 100/√2 at x 100/√2, 3 and 4 away in plan from there.
    expect(look(cylinder(0, -300, 300), [100 * h + 3, 4, 0], slanting)).toEqual(near([5, 0.6, 0.8, 0]));
  });
  it("a body without end, askew: the plane of its face, from either side of its frame", () => {
    const m = turned(0, 45, 0);
    const down = boxOf([-100, -100, -INF], [100, 100, 0], [0, 0, 0], m);
    const up = boxOf([-100, -100, 0], [100, 100, INF], [0, 0, 0], m);
    // The face's normal is (1, 0, 1)/√2.
    expect(look(point, [10, 3, 0], down)).toEqual(near([10 * h, h, 0, h]));
    expect(look(point, [-10, 3, 0], down)).toEqual(near([0, 0, 0, 0]));
    expect(look(point, [-10, 3, 0], up)).toEqual(near([10 * h, -h, 0, -h]));
    expect(look(point, [10, 3, 0], up)).toEqual(near([0, 0, 0, 0]));
    // Far over the face, and far down beside a flank 100 out.
    expect(look(point, [500, 3, 500], down)).toEqual(near([1000 * h, h, 0, h]));
    expect(look(point, [(103 - 900) * h, 3, (-103 - 900) * h], down)).toEqual(near([3, h, 0, -h]));
    expect(look(cylinder(5, 0, INF), [10, 3, 0], down)).toEqual(near([5 * h, h, 0, h]));
  });
});

describe("quick cases by hand: depth", () => {
  const depth = (part: ToolPart, at: Vec3, box: OrientedBox): number => penetration(sectionOf(part), at[0], at[1], at[2], prepare(box));
  const h = Math.SQRT1_2;
  it("in a slanting edge: out along the common normal of edge and axis, which no face has", () => {
    const slanting = boxOf(
      [-100, -100, 0],
      [100, 0, 100],
      [0, 0, 0],
      [
        [h, 0, h],
        [-0.5, h, 0.5],
        [-0.5, -h, 0.5],
      ],
    );
    // Thinned by d the edge is d·√2 further in: 1.4 is freed by a millimetre, 0.1 by a tenth …
    for (const deep of [1.4, 0.14, 0.014, 0.0014])
      for (const x of [-5, 0, 7]) expect(depth(cylinder(3, -30, 30), [x, 3 - deep, 2], slanting), `${deep}`).toBeCloseTo(deep, 8);
    // Deeper than that it is no more than the shift along Y that surely frees it.
    expect(depth(cylinder(3, -30, 30), [5, 0, 2], slanting)).toBeGreaterThanOrEqual(3 - 1e-9);
    expect(depth(cylinder(3, -30, 30), [5, 3.001, 2], slanting)).toBe(0);
  });
  it("in a thin plate askew: half its thickness is more than it is thinned by", () => {
    // 2 thick, at 45°; a point in its middle gets out by 1 either way.
    const plate = boxOf([-50, -50, -1], [50, 50, 1], [0, 0, 0], turned(0, 45, 0));
    expect(depth(cylinder(0, 0, 0), [0, 0, 0], plate)).toBeCloseTo(1, 12);
    expect(depth(cylinder(0, 0, 0), [0.5 * h, 0, 0.5 * h], plate)).toBeCloseTo(0.5, 12);
    expect(depth(cylinder(0, 0, 0), [-0.5 * h, 0, -0.5 * h], plate)).toBeCloseTo(0.5, 12);
    // By its ends: 3 from the one at +x, 2 from the one at −y.
    expect(depth(cylinder(0, 0, 0), [47 * h, 0, -47 * h], boxOf([-50, -50, -9], [50, 50, 9], [0, 0, 0], turned(0, 45, 0)))).toBeCloseTo(
      3,
      12,
    );
    expect(depth(cylinder(0, 0, 0), [0, -48, 0], boxOf([-50, -50, -9], [50, 50, 9], [0, 0, 0], turned(0, 45, 0)))).toBeCloseTo(2, 12);
  });
  it("straight up and straight down out of a bar on its edge", () => {
    // The upper edge is at 10√2: a line whose tip is 1 below it gets out upward by 1, and by 1/√2 square to a face.
    const bar = boxOf([-10, -50, -10], [10, 50, 10], [0, 0, 0], turned(0, 45, 0));
    const c = 10 * Math.SQRT2;
    expect(depth(cylinder(0, 0, 0), [0, 3, c - 1], bar)).toBeCloseTo(h, 12);
    // A disc R 30 can only go up or down: square to a face it would have to go (30 + 1)/√2.
    expect(depth(cylinder(30, 0, 5), [0, 3, c - 1], bar)).toBeCloseTo(1, 12);
    expect(depth(cylinder(30, -5, 0), [0, 3, 1 - c], bar)).toBeCloseTo(1, 12);
  });
  it("in bodies without end: along what bounds them; where nothing does there is no depth", () => {
    const askew = boxOf([-INF, -INF, -INF], [INF, INF, 0], [0, 0, 0], turned(0, 45, 0));
    expect(depth(cylinder(0, 0, 0), [-2 * h, 5, -2 * h], askew)).toBeCloseTo(2, 9);
    expect(depth(cylinder(0, 0, INF), [-2 * h, 5, -2 * h], askew)).toBeCloseTo(2, 9);
    const all = boxOf([-INF, -INF, -INF], [INF, INF, INF], [0, 0, 0], turned(0, 45, 0));
    expect(depth(cylinder(0, 0, 0), [1, 2, 3], all)).toBe(0);
    expect(depth(cylinder(0, 0, 0), [1, 2, 3], boxOf([-INF, -INF, -INF], [INF, INF, INF]))).toBe(0);
    expect(depth(cylinder(0, 0, INF), [1, 2, -3], boxOf([-INF, -INF, -INF], [INF, INF, 0]))).toBeCloseTo(3, 9);
  });
  it("of every side of a turned block, each the nearest once", () => {
    const o: Vec3 = [10, 20, 30];
    for (const m of [turned(0, 0, 30), turned(0, 0, 130)]) {
      const box = boxOf([-20, -30, -40], [20, 30, 40], o, m);
      for (const [q, deep] of [
        [[-19, 0, 0], 1],
        [[18, 0, 0], 2],
        [[0, -27, 0], 3],
        [[0, 26, 0], 4],
        [[0, 0, -35], 5],
        [[0, 0, 34], 6],
        // Off a corner by 1 and 1 in plan, the axis outside.
        [[21, 31, 0], 3 - Math.SQRT2],
        [[-21, -31, 0], 3 - Math.SQRT2],
      ] as const) {
        const at = [0, 1, 2].map(
          (k) => (o[k] as number) + q[0] * (m[0][k] as number) + q[1] * (m[1][k] as number) + q[2] * (m[2][k] as number),
        );
        const part = deep < 3 && q[1] > 30 ? cylinder(3, -60, 60) : q[1] < -30 ? cylinder(3, -60, 60) : cylinder(0, 0, 0);
        expect(depth(part, at as unknown as Vec3, box)).toBeCloseTo(deep, 9);
      }
    }
  });
});

describe("the search on a convex function", () => {
  /** A function with its slope, how often it was asked, and what the search says. */
  const search = (f: (t: number) => number, slope: (t: number) => number, enough = INF, exact = 1e-10) => {
    let asked = 0;
    const convex = {
      slope: 0,
      place: NAN,
      at(t: number): number {
        asked++;
        this.slope = slope(t);
        return f(t);
      },
    };
    const least = leastConvex(convex, enough, exact);
    return { least, place: convex.place, asked };
  };
  it("rising, falling, met at either end: one look or two", () => {
    expect(
      search(
        (t) => 3 + t,
        () => 1,
      ),
    ).toEqual({ least: 3, place: 0, asked: 1 });
    expect(
      search(
        () => 3,
        () => 0,
      ),
    ).toEqual({ least: 3, place: 0, asked: 1 });
    expect(
      search(
        (t) => t,
        () => 1,
      ),
    ).toEqual({ least: 0, place: 0, asked: 1 });
    // Where they meet nothing changes.
    expect(
      search(
        () => 0,
        () => 0,
      ),
    ).toEqual({ least: 0, place: 0, asked: 1 });
    expect(
      search(
        (t) => 3 - t,
        () => -1,
      ),
    ).toEqual({ least: 2, place: 1, asked: 2 });
    expect(
      search(
        (t) => Math.max(0, 0.9 - t),
        (t) => (t < 0.9 ? -1 : 0),
      ),
    ).toEqual({ least: 0, place: 1, asked: 2 });
    expect(
      search(
        (t) => (1 - t) ** 2 + 1,
        (t) => 2 * t - 2,
      ),
    ).toEqual({ least: 1, place: 1, asked: 2 });
  });
  it("a corner lies where the two tangents meet", () => {
    // Slopes −2 and 5 with the corner at 0.3.
    const found = search(
      (t) => 1 + Math.max(-2 * (t - 0.3), 5 * (t - 0.3)),
      (t) => (t < 0.3 ? -2 : 5),
    );
    expect(found.least).toBeCloseTo(1, 9);
    expect(found.place).toBeCloseTo(0.3, 9);
    expect(found.asked).toBeLessThanOrEqual(5);
  });
  it("a smooth valley, steep or shallow, at either end: the secant homes in", () => {
    for (const at of [0.003, 0.3, 0.5, 0.97])
      for (const steep of [1, 30, 1000]) {
        // The distance of a point that passes at 2.
        const found = search(
          (t) => Math.hypot(2, steep * (t - at)),
          (t) => (steep * steep * (t - at)) / Math.hypot(2, steep * (t - at)),
        );
        expect(found.least).toBeCloseTo(2, 9);
        expect(Math.abs(found.place - at) * steep).toBeLessThan(1e-4);
        expect(found.asked).toBeLessThanOrEqual(16);
      }
    // A parabola's slope is a straight line, which one secant finds.
    const parabola = search(
      (t) => 1 + (t - 0.3) ** 2,
      (t) => 2 * (t - 0.3),
    );
    expect(parabola.least).toBe(1);
    expect(parabola.asked).toBeLessThanOrEqual(5);
  });
  it("a valley with a corner and a curved side", () => {
    const f = (t: number): number => 1 + Math.max((t - 0.2) * -3, (t - 0.2) * 0.01 + (t - 0.2) ** 2);
    const found = search(f, (t) => (t < 0.2 ? -3 : 0.01 + 2 * (t - 0.2)));
    expect(found.least).toBeCloseTo(1, 9);
    expect(found.asked).toBeLessThanOrEqual(40);
  });
  it("contact on the way ends it", () => {
    const found = search(
      (t) => Math.max(0, Math.abs(t - 0.5) - 0.1),
      (t) => (t < 0.4 ? -1 : t > 0.6 ? 1 : 0),
    );
    expect(found.least).toBe(0);
    expect(Math.abs(found.place - 0.5)).toBeLessThanOrEqual(0.1);
    expect(found.asked).toBe(3);
  });
  it("where enough is known it stops with a bound between that and the truth", () => {
    const f = (t: number): number => 3 + Math.abs(t - 0.3);
    const slope = (t: number): number => (t < 0.3 ? -1 : 1);
    // The first tangent alone bounds it by 3.3 − 1.
    expect(search(f, slope, 2.3)).toEqual({ least: expect.closeTo(2.3, 12), place: 1, asked: 1 });
    expect(search(f, slope, 2.29).asked).toBe(1);
    // Both tangents bound it by 3.
    const both = search(f, slope, 2.31);
    expect(both.asked).toBe(2);
    expect(both.least).toBeCloseTo(3, 12);
    // The truth is below: it is found.
    expect(search(f, slope, 3.01).least).toBeCloseTo(3, 9);
    const smooth = search(
      (t) => Math.hypot(2, 9 * (t - 0.4)),
      (t) => (81 * (t - 0.4)) / Math.hypot(2, 9 * (t - 0.4)),
      1.9,
    );
    expect(smooth.least).toBeGreaterThanOrEqual(1.9);
    expect(smooth.least).toBeLessThanOrEqual(2);
    expect(smooth.asked).toBeLessThanOrEqual(7);
  });
  it("is the nearer end where nothing between is nearer yet", () => {
    // Ends 1.8 and 1.2 with the valley between, asked with a bound that stops after both.
    const f = (t: number): number => 1 + 2 * Math.abs(t - 0.9);
    const found = search(f, (t) => (t < 0.9 ? -2 : 2), 0.9);
    expect(found.place).toBe(1);
    const other = search(
      (t) => 1 + 2 * Math.abs(t - 0.1),
      (t) => (t < 0.1 ? -2 : 2),
      0.9,
    );
    expect(other.place).toBe(0);
  });
});

describe("quick cases by hand: lines", () => {
  const block = boxOf([0, 0, -10], [20, 10, 0]);
  const mill = cylinder(2, 0, 50);
  // Past the block along each axis, 3 off it, from well before to well behind; and toward each side, to 3 before it.
  for (const [name, from, to, distance] of [
    ["along X before −Y", [-30, -5, -5], [50, -5, -5], 3],
    ["along −X behind +Y", [50, 15, -5], [-30, 15, -5], 3],
    ["along Y beside −X", [-5, -30, -5], [-5, 40, -5], 3],
    ["along −Y beside +X", [25, 40, -5], [25, -30, -5], 3],
    ["along X over the top", [-30, 5, 3], [50, 5, 3], 3],
    ["along Y over the top", [10, -30, 3], [10, 40, 3], 3],
    ["down beside it", [-5, 5, 40], [-5, 5, -90], 3],
    ["up beside it", [25, 5, -90], [25, 5, 40], 3],
    ["up to it from −X", [-30, 5, -5], [-5, 5, -5], 3],
    ["up to it from +X", [50, 5, -5], [25, 5, -5], 3],
    ["up to it from −Y", [10, -30, -5], [10, -5, -5], 3],
    ["up to it from +Y", [10, 40, -5], [10, 15, -5], 3],
    ["down to it", [10, 5, 40], [10, 5, 3], 3],
    ["up to it from below", [10, 5, -99], [10, 5, -63], 3],
  ] as const)
    it(name, () => {
      const gap = gapLine(mill, from, to, block);
      expect(gap.distance).toBeCloseTo(distance, 9);
      expect(gap.depth).toBe(0);
      for (const k of [0, 1, 2] as const) expect(gap.at[k]).toBeCloseTo(from[k] + gap.t * (to[k] - from[k]), 9);
      expect(gapLine(mill, gap.at, gap.at, block).distance).toBeCloseTo(distance, 9);
      // A millimetre to the other side of it in all three axes and they meet or pass by 3 as before.
      expect(gapLine(mill, to, from, block).distance).toBeCloseTo(distance, 9);
      expect(gapLine(mill, from, to, block, 2.9).distance).toBeGreaterThanOrEqual(2.9);
      expect(gapLine(mill, from, to, block, 2.9).distance).toBeLessThanOrEqual(3 + 1e-9);
    });
  it("leaving is a growth within half a millimetre; alongside there is none", () => {
    for (const to of [
      [-9, 5, -5],
      [-5.6, 5, -5],
      [-5.01, 5, -5],
      [-50, 5, -5],
    ] as const)
      expect(gapLine(mill, [-5, 5, -5], to, block).atStart, `${to}`).toBe(true);
    expect(gapLine(mill, [-5, 5, -5], [-5, 9, -5], block).atStart).toBe(false);
    // Alongside for a hundred millimetres, then past the end of the block: not leaving.
    expect(gapLine(mill, [10, -5, -5], [500, -5, -5], block).atStart).toBe(false);
    expect(gapLine(mill, [-5, 5, -5], [-5, 5, -5], block).atStart).toBe(false);
    // From 3 away at 45°, and at a slope of 1 in 1000, which is half a micrometre within half a millimetre: alongside.
    expect(gapLine(mill, [-5, 5, -5], [-15, -5, -5], block).atStart).toBe(true);
    expect(gapLine(mill, [-5, 2, -5], [-5.000005, 7, -5], block).atStart).toBe(false);
    expect(gapLine(mill, [-5, 2, -5], [-5.05, 7, -5], block).atStart).toBe(true);
    // Exactly at the cutoff nobody asks.
    expect(gapLine(mill, [-5, 5, -5], [-50, 5, -5], block, 3).atStart).toBe(false);
    expect(gapLine(mill, [-5, 5, -5], [-50, 5, -5], block, 3.1).atStart).toBe(true);
  });
  it("contact begins on the first side, from each direction, at any speed", () => {
    for (const [from, to, t] of [
      [[-12, 5, -5], [8, 5, -5], 0.5],
      [[32, 5, -5], [12, 5, -5], 0.5],
      [[10, -12, -5], [10, 8, -5], 0.5],
      [[10, 22, -5], [10, 2, -5], 0.5],
      [[10, 5, 5], [10, 5, -5], 0.5],
      [[10, 5, 9000], [10, 5, -3000], 0.75],
      // A quarter of the way through the whole block and far beyond.
      [[-252, 5, -5], [748, 5, -5], 0.25],
    ] as const) {
      const gap = gapLine(mill, from, to, block);
      expect(gap.distance).toBe(0);
      expect(gap.t).toBeCloseTo(t, 8);
      expect(gap.atStart).toBe(false);
    }
    // Into the corner (0, 0) along the diagonal: 2 off it, at (−√2, −√2), of a way from (−10, −10) to (10, 10).
    const corner = gapLine(mill, [-10, -10, -5], [10, 10, -5], block);
    expect(corner.t).toBeCloseTo((10 - Math.SQRT2) / 20, 8);
    // Into it from the start.
    expect(gapLine(mill, [10, 5, -5], [60, 5, -5], block)).toMatchObject({ distance: 0, t: 0, at: [10, 5, -5], atStart: true });
  });
  it("the depth of a move: at its start, at its end, in between, the same all along", () => {
    const deep = (from: Vec3, to: Vec3): number => gapLine(mill, from, to, block).depth;
    expect(deep([5, 5, -3], [15, 5, -3])).toBeCloseTo(3, 12);
    expect(deep([5, 5, -3], [15, 5, -1])).toBeCloseTo(3, 7);
    expect(deep([5, 5, -1], [15, 5, -3])).toBeCloseTo(3, 7);
    // Across, from outside to outside, the deepest is in the middle of the block: 5 to either side and 2 of radius.
    expect(deep([10, -20, -8], [10, 30, -8])).toBeCloseTo(7, 6);
    // The same at both ends and deeper between: 1 in at the ends, on a corner; by the middle it is 2·√2 … less.
    expect(deep([-1, 5, -9], [21, 5, -9])).toBeCloseTo(7, 6);
    expect(deep([10, 5, -3], [10, 5, -3])).toBeCloseTo(3, 12);
    expect(deep([10, 5, 3], [10, 5, 40])).toBe(0);
  });
});

describe("quick cases by hand: arcs", () => {
  const block = boxOf([0, 0, -10], [20, 10, 0]);
  const pin = cylinder(0, 0, 0);
  /** A level arc about a centre by its radius, start and sweep in degrees. */
  const level = (centre: Vec3, radius: number, start: number, sweep: number): Arc => {
    const on = (a: number): Vec3 => [centre[0] + radius * Math.cos(radians(a)), centre[1] + radius * Math.sin(radians(a)), centre[2]];
    return { from: on(start), to: on(start + sweep), centre, sweep, plane: 17 };
  };
  // A wall 0.2 thick and 200 long whose middle is 10 from the centre of a quarter R 20, which crosses it 60° off its normal: no end,
  // no corner (84.3° off) and no direction of a side lies in it, nor does the middle of any two of these.
  for (const turn of [0, 40, 90, 180, 270])
    for (const sweep of [90, -90])
      for (const lying of [false, true])
        it(`through a thin wall at ${turn}°, by ${sweep}°${lying ? ", the wall numbered otherwise" : ""}`, () => {
          const m = turned(0, 0, lying ? turn - 90 : turn);
          const centre: Vec3 = [3, 4, -5];
          const wall = lying
            ? boxOf([-100, 9.9, -10], [100, 10.1, 0], [3, 4, 0], m)
            : boxOf([9.9, -100, -10], [10.1, 100, 0], [3, 4, 0], m);
          const gap = gapArc(pin, level(centre, 20, sweep > 0 ? turn : turn + 90, sweep), wall);
          expect(gap.distance).toBe(0);
          // It gets in at 10.1 from the centre when it comes from the side of the normal, else at 9.9.
          const into = sweep > 0 ? (Math.acos(10.1 / 20) * 180) / Math.PI / 90 : 1 - (Math.acos(9.9 / 20) * 180) / Math.PI / 90;
          expect(gap.t).toBeCloseTo(into, 5);
          // In the middle of the wall it is 0.1 from either side.
          expect(gap.depth).toBeCloseTo(0.1, 6);
        });
  it("whole circles and more see the same", () => {
    const wall = boxOf([9.9, -100, -10], [10.1, 100, 0]);
    for (const sweep of [360, -360, 1000])
      expect(gapArc(pin, level([0, 0, -5], 20, 100, sweep), wall)).toMatchObject({ distance: 0, depth: expect.closeTo(0.1, 6) });
    expect(gapArc(pin, level([0, 0, -5], 9, 100, 360), wall).distance).toBeCloseTo(0.9, 9);
  });
  it("standing upright past an edge: nearest in the direction of the edge, which a level arc would not look at", () => {
    // The edge is 6 across and 8 up from the centre: 10 away, the circle R 5 comes within 5 of it.
    for (const [plane, edge] of [
      [18, boxOf([6, -50, 8], [90, 50, 90])],
      [19, boxOf([-50, 6, 8], [50, 90, 90])],
    ] as const) {
      // G18 counts from Z to X, G19 from Y to Z.
      const on = (a: number): Vec3 =>
        plane === 18 ? [5 * Math.sin(radians(a)), 0, 5 * Math.cos(radians(a))] : [0, 5 * Math.cos(radians(a)), 5 * Math.sin(radians(a))];
      const toward = plane === 18 ? (Math.atan2(6, 8) * 180) / Math.PI : (Math.atan2(8, 6) * 180) / Math.PI;
      for (const [start, sweep] of [
        [toward - 31, 100],
        [toward + 43, -100],
      ] as const) {
        const gap = gapArc(pin, { from: on(start), to: on(start + sweep), centre: [0, 0, 0], sweep, plane }, edge);
        expect(gap.distance).toBeCloseTo(5, 6);
        expect(gap.at).toEqual((plane === 18 ? [3, 0, 4] : [0, 3, 4]).map((v) => expect.closeTo(v, 3)));
      }
    }
  });
  it("a helix down past an upright edge: as near as the nearest of many places", () => {
    // R 5 about the Z axis, from 8 above the top of a wall at x 8 to 2 below it: distance hypot(8 − 5·cos θ, z).
    const wall = boxOf([8, -50, -50], [90, 50, 0]);
    for (const [start, sweep] of [
      [-100, 180],
      [140, -170],
    ] as const) {
      const at = (t: number): Vec3 => [5 * Math.cos(radians(start + t * sweep)), 5 * Math.sin(radians(start + t * sweep)), 8 - 10 * t];
      let least = INF;
      for (let n = 0; n <= 20_000; n++) {
        const [x, , z] = at(n / 20_000);
        least = Math.min(least, Math.hypot(8 - x, Math.max(0, z)));
      }
      const gap = gapArc(pin, { from: at(0), to: at(1), centre: [0, 0, 0], sweep, plane: 17 }, wall);
      expect(gap.distance).toBeCloseTo(least, 6);
      expect(gap.at).toEqual(at(gap.t).map((v) => expect.closeTo(v, 9)));
    }
  });
  it("without sweep or radius it is a line, into the block as well", () => {
    const mill = cylinder(1, 0, 20);
    const gap = gapArc(mill, { from: [-9, 5, -5], to: [11, 5, -3], centre: [0, 5, 0], sweep: 0, plane: 17 }, block);
    // The rim meets the side when the axis is at x −1: 8 of 20; it goes in to the height of its end, 3 … 4.2 deep at x −1.
    expect(gap).toMatchObject({ distance: 0, t: expect.closeTo(0.4, 5) });
    // 5 − 2·t deep from above, 1 + 20·t − 9 from the side: equal at t 13/22, which is 5 − 26/22.
    expect(gap.depth).toBeCloseTo(5 - 26 / 22, 5);
    const none = gapArc(mill, { from: [-9, 5, -5], to: [11, 5, -3], centre: [-9, 5, 0], sweep: 90, plane: 17 }, block);
    expect(none.depth).toBeCloseTo(5 - 26 / 22, 5);
    expect(none.t).toBeCloseTo(0.4, 5);
  });
  it("the depth of an arc is that of its deepest place, wherever that is", () => {
    // A half turn R 3 that dips into the side y 0 from below: deepest at its top, where the rim is 1 + 2 inside.
    const mill = cylinder(1, -20, 20);
    expect(gapArc(mill, level([10, -1, -5], 3, 20, 140), block).depth).toBeCloseTo(3, 6);
    expect(gapArc(mill, level([10, -1, -5], 3, 160, -140), block).depth).toBeCloseTo(3, 6);
    // Deepest at its start, at its end.
    expect(gapArc(mill, level([10, -1, -5], 3, 90, 100), block).depth).toBeCloseTo(3, 6);
    expect(gapArc(mill, level([10, -1, -5], 3, -10, 100), block).depth).toBeCloseTo(3, 6);
    // Through two blocks' corners: twice round, in by one rim only.
    expect(gapArc(mill, level([10, -4, -5], 4.5, -70, 720), block).depth).toBeCloseTo(1.5, 6);
    // A pin that passes the corner (0, 0) at 0.01 inside: a touch of half a degree, which the even looks pass over.
    const corner = gapArc(pin, level([-3, -4, -5], 5.01, 0, 90), boxOf([0, 0, -10], [20, 10, 0], [0, 0, 0], turned(0, 0, 0)));
    expect(corner.distance).toBe(0);
    expect(corner.depth).toBeGreaterThan(0.005);
    expect(corner.depth).toBeLessThanOrEqual(0.01);
  });
});

describe("quick cases by hand: bounds of arcs", () => {
  /** About (10, 20, 30), R 5: the bounds of the two coordinates of the plane, from a start to a sweep in degrees. */
  const planes = { 17: [0, 1, 2], 18: [2, 0, 1], 19: [1, 2, 0] } as const;
  for (const plane of [17, 18, 19] as const)
    for (const [start, sweep, west, east, south, north] of [
      // In fifths of the radius: 3-4-5 at 36.87°.
      [0, 90, 0, 1, 0, 1],
      [0, -90, 0, 1, -1, 0],
      [90, 90, -1, 0, 0, 1],
      [180, 90, -1, 0, -1, 0],
      [45, 90, -Math.SQRT1_2, Math.SQRT1_2, Math.SQRT1_2, 1],
      [135, 90, -1, -Math.SQRT1_2, -Math.SQRT1_2, Math.SQRT1_2],
      [225, 90, -Math.SQRT1_2, Math.SQRT1_2, -1, -Math.SQRT1_2],
      [-45, 90, Math.SQRT1_2, 1, -Math.SQRT1_2, Math.SQRT1_2],
      [45, -90, Math.SQRT1_2, 1, -Math.SQRT1_2, Math.SQRT1_2],
      [30, 30, 0.5, Math.sqrt(3) / 2, 0.5, Math.sqrt(3) / 2],
      [60, -30, 0.5, Math.sqrt(3) / 2, 0.5, Math.sqrt(3) / 2],
      [30, 180, -1, Math.sqrt(3) / 2, -0.5, 1],
      [30, -180, -Math.sqrt(3) / 2, 1, -1, 0.5],
      [30, 359, -1, 1, -1, 1],
      [30, 360, -1, 1, -1, 1],
      [30, -720, -1, 1, -1, 1],
      [170, 20, -1, Math.cos(radians(170)), -Math.sin(radians(170)), Math.sin(radians(170))],
    ] as const)
      it(`G${plane} from ${start}° by ${sweep}°`, () => {
        const [i, j, k] = planes[plane];
        const centre: Vec3 = [10, 20, 30];
        const on = (a: number, third: number): Vec3 => {
          const p: [number, number, number] = [0, 0, 0];
          p[i] = centre[i] + 5 * Math.cos(radians(a));
          p[j] = centre[j] + 5 * Math.sin(radians(a));
          p[k] = third;
          return p;
        };
        const b = boundsOfArc({ from: on(start, 7), to: on(start + sweep, 9), centre, sweep, plane });
        expect([b.from[i], b.to[i], b.from[j], b.to[j], b.from[k], b.to[k]]).toEqual(
          [centre[i] + 5 * west, centre[i] + 5 * east, centre[j] + 5 * south, centre[j] + 5 * north, 7, 9].map((v) => expect.closeTo(v, 9)),
        );
      });
  it("hold an arc whose end is off its circle, in steps along it, and are wider by no more than that", () => {
    for (const off of [0.4, -0.4])
      for (const [start, sweep] of [
        [0, 180],
        [10, -75],
        [-80, 79],
        [20, 300],
        [200, 68],
      ] as const) {
        const at = (t: number): Vec3 => {
          const a = radians(start + t * sweep);
          return [5 * Math.cos(a) + t * off, 5 * Math.sin(a) - t * off, t * 3];
        };
        const b = boundsOfArc({ from: at(0), to: at(1), centre: [0, 0, 0], sweep, plane: 17 });
        const seen = Array.from({ length: 1001 }, (_, n) => at(n / 1000));
        for (const k of [0, 1, 2] as const) {
          const [lo, hi] = [Math.min(...seen.map((p) => p[k])), Math.max(...seen.map((p) => p[k]))];
          expect(b.from[k]).toBeLessThanOrEqual(lo + 1e-9);
          expect(b.to[k]).toBeGreaterThanOrEqual(hi - 1e-9);
          expect(b.from[k]).toBeGreaterThanOrEqual(lo - 0.8 - 1e-4);
          expect(b.to[k]).toBeLessThanOrEqual(hi + 0.8 + 1e-4);
        }
      }
  });
});

describe("close by: standing and moving parts against boxes of any turn, enclosed by projections", () => {
  const r = random(20_250_102);
  const u = (a: number, b: number): number => a + (b - a) * r();
  interface Close {
    readonly part: ToolPart;
    readonly at: Vec3;
    readonly box: OrientedBox;
  }
  /** A part whose middle is in or a little outside a box: small parts pierce faces, big ones ride on edges and corners. */
  const close = (n: number): Close => {
    const big = n % 2 === 0 ? 8 : 1;
    const half: Vec3 = [u(1, 5) * big, u(1, 5) * big, u(1, 5) * big];
    const m = turned(n % 7 === 0 ? 90 : u(0, 360), u(0, 360), u(0, 360));
    const [a, b] = [u(0, 6), u(0, 6)];
    const h = u(1, 14);
    const from = n % 3 === 0 ? u(-4, 4) : 0;
    const part = n % 4 === 0 ? cylinder(a, from, from + h) : n % 4 === 1 ? cone(0, b, from, from + h) : cone(a, b, from, from + h);
    const reach = 1 + 6 / Math.min(...half);
    const q: Vec3 = [u(-reach, reach) * half[0], u(-reach, reach) * half[1], u(-reach, reach) * half[2]];
    const box = boxOf([-half[0], -half[1], -half[2]], half, [u(-9, 9), u(-9, 9), u(-9, 9)], m);
    const p = toOuter(box.frame, q);
    return { part, at: [p[0], p[1], p[2] - from - h / 2], box };
  };
  it("standing", () => {
    let met = 0;
    for (let n = 0; n < 200; n++) {
      const { part, at, box } = close(n);
      const ours = standing(part, at, box);
      const { lower, upper } = referenceGap(part, at, box, 400);
      const told = JSON.stringify({ part, at, box });
      expect(ours, told).toBeLessThanOrEqual(upper + 1e-9);
      expect(ours, told).toBeGreaterThanOrEqual(lower - 1e-9);
      if (ours === 0) met++;
    }
    expect(met).toBeGreaterThan(40);
    expect(met).toBeLessThan(160);
  });
  it("an endless part is as far as one that ends high above; an endless box as one that ends far below", () => {
    for (let n = 0; n < 60; n++) {
      const { part, at, box } = close(n);
      const endless = cylinder(part.bottomRadius, 0, INF);
      expect(standing(endless, at, box)).toBeCloseTo(standing(cylinder(part.bottomRadius, 0, 500), at, box), 7);
      const deep: OrientedBox = { frame: box.frame, box: { from: [box.box.from[0], box.box.from[1], -800], to: box.box.to } };
      const bottomless: OrientedBox = { frame: box.frame, box: { from: [box.box.from[0], box.box.from[1], -INF], to: box.box.to } };
      expect(standing(part, at, bottomless)).toBeCloseTo(standing(part, at, deep), 7);
    }
  });
  it("moving: nothing on the way is nearer, and the place is as near as told", () => {
    for (let n = 0; n < 50; n++) {
      const { part, at, box } = close(n);
      const way: Vec3 = [u(-12, 12), u(-12, 12), u(-12, 12)];
      const along = (t: number): Vec3 => [at[0] + t * way[0], at[1] + t * way[1], at[2] + t * way[2]];
      const gap = gapLine(part, at, along(1), box);
      const told = JSON.stringify({ part, at, way, box });
      for (let i = 0; i <= 20; i++)
        expect(referenceGap(part, along(i / 20), box, 60).upper, told).toBeGreaterThanOrEqual(gap.distance - 1e-9);
      expect(referenceGap(part, along(gap.t), box, 400).lower, told).toBeLessThanOrEqual(gap.distance + 1e-7);
    }
  });
  it("a helix: likewise", () => {
    for (let n = 0; n < 30; n++) {
      const { part, at, box } = close(n);
      const plane = ([17, 18, 19] as const)[n % 3] as 17 | 18 | 19;
      const centre: Vec3 = [at[0] + u(-8, 8), at[1] + u(-8, 8), at[2] + u(-8, 8)];
      const sweep = u(-400, 400);
      const rise = n % 2 === 0 ? 0 : u(-9, 9);
      const along = (t: number): Vec3 => onArc(at, centre, sweep, plane, rise, t);
      const gap = gapArc(part, { from: at, to: along(1), centre, sweep, plane }, box);
      const told = JSON.stringify({ part, at, centre, sweep, plane, rise, box });
      for (let i = 0; i <= 40; i++)
        expect(referenceGap(part, along(i / 40), box, 60).upper, told).toBeGreaterThanOrEqual(gap.distance - 1e-6);
      expect(referenceGap(part, along(gap.t), box, 400).lower, told).toBeLessThanOrEqual(gap.distance + 2e-6);
    }
  });
  it("an upright box answers as the same box tilted by a hair, which takes the other way", () => {
    for (let n = 0; n < 80; n++) {
      const { part, at, box } = close(n);
      const level = turned(0, [0, 90, 180, 270][n % 4] as number, u(0, 360));
      const upright: OrientedBox = { box: box.box, frame: { origin: box.frame.origin, x: level[0], y: level[1], z: level[2] } };
      const a = (1e-9 * Math.PI) / 180;
      const tip = (v: Vec3): Vec3 => [v[0] + a * v[2], v[1], v[2] - a * v[0]];
      const tilted: OrientedBox = {
        box: box.box,
        frame: { origin: box.frame.origin, x: tip(level[0]), y: tip(level[1]), z: tip(level[2]) },
      };
      expect(standing(part, at, tilted)).toBeCloseTo(standing(part, at, upright), 6);
    }
  });
});

describe("depth of a standing part, worked by hand", () => {
  // 100 × 100 × 50, top at 0.
  const block = boxOf([0, 0, -50], [100, 100, 0]);
  const depth = (part: ToolPart, at: Vec3, box: OrientedBox = block): number =>
    penetration(sectionOf(part), at[0], at[1], at[2], prepare(box));
  it("the nearest way out: up, sideways, down, off a corner", () => {
    const mill = cylinder(5, 0, 200);
    expect(depth(mill, [50, 50, -7])).toBeCloseTo(7, 12);
    // 3 in from the side x = 0: the axis is outside, the rim 2 inside.
    expect(depth(mill, [-3, 50, -30])).toBeCloseTo(2, 12);
    expect(depth(mill, [4, 50, -30])).toBeCloseTo(9, 12);
    expect(depth(mill, [50, 97, -30])).toBeCloseTo(8, 12);
    expect(depth(mill, [-3, -3, -30])).toBeCloseTo(5 - Math.hypot(3, 3), 12);
    // A disc 2 high that reaches 1 up into the bottom.
    expect(depth(cylinder(5, 0, 2), [50, 50, -51])).toBeCloseTo(1, 12);
    expect(depth(mill, [-5, 50, -30])).toBe(0);
    expect(depth(mill, [50, 50, 1])).toBe(0);
  });
  it("a drill point: square to its flank", () => {
    // SIG 90°, R 5: the edge x = 0 is 3 out from the axis and the tip 4 below the top: (4 − 3)/√2.
    expect(depth(cone(0, 5, 0, 5), [-3, 50, -4])).toBeCloseTo(1 / Math.SQRT2, 12);
    // Upside down, into an overhead block.
    const above = boxOf([0, 0, 0], [100, 100, 50]);
    expect(depth(cone(5, 0, 0, 5), [-3, 50, -1], above)).toBeCloseTo(1 / Math.SQRT2, 12);
  });
  it("a truncated cone: square to its flank, either way up", () => {
    // R 2 to R 8 over 8: 5 up it is R 5.75, 1.75 beyond the edge 4 out; square to the flank (8, −6)/10 that is 1.4.
    expect(depth(cone(2, 8, 0, 8), [-4, 50, -5])).toBeCloseTo(1.4, 12);
    const above = boxOf([0, 0, 0], [100, 100, 50]);
    expect(depth(cone(8, 2, 0, 8), [-4, 50, -3], above)).toBeCloseTo(1.4, 12);
    // With its foot 10 above the tool point the same 10 lower.
    expect(depth(cone(2, 8, 10, 18), [-4, 50, -15])).toBeCloseTo(1.4, 12);
  });
  it("in a block that is turned, along its own normals", () => {
    // Turned by 45° about Y its top face has the normal (1, 0, 1)/√2; a line whose tip is 2 under it gets out by 2.
    const askew = boxOf([-100, -100, -100], [100, 100, 0], [0, 0, 0], turned(0, 45, 0));
    const tip: Vec3 = [-2 / Math.SQRT2, 0, -2 / Math.SQRT2];
    expect(depth(cylinder(0, 0, 0), tip, askew)).toBeCloseTo(2, 9);
    // A flat mill R 5 there reaches 5/√2 deeper with its rim.
    expect(depth(cylinder(5, 0, 500), tip, askew)).toBeCloseTo(2 + 5 / Math.SQRT2, 9);
    expect(depth(cylinder(0, 0, 0), [2, 0, 2], askew)).toBe(0);
  });
  it("unknown is no depth", () => {
    expect(depth(cylinder(NAN, 0, 5), [50, 50, -5])).toBe(0);
    expect(depth(cylinder(1, 0, 5), [50, 50, -5], boxOf([0, 0, NAN], [100, 100, 0]))).toBe(0);
    expect(depth(cylinder(1, 0, 5), [50, 50, NAN])).toBe(0);
  });
  it("along a cut through a block of constant depth, and where it is deepest", () => {
    const mill = cylinder(5, 0, 200);
    expect(gapLine(mill, [10, 50, -7], [90, 50, -7], block).depth).toBeCloseTo(7, 9);
    // Slanting down from 2 to 9 deep.
    expect(gapLine(mill, [30, 50, -2], [70, 50, -9], block).depth).toBeCloseTo(9, 7);
    // Past a corner: nearest to the middle of the move, at (−2, −2).
    expect(gapLine(mill, [-14, 10, -30], [10, -14, -30], block).depth).toBeCloseTo(5 - 2 * Math.SQRT2, 7);
    expect(gapLine(mill, [50, 50, -7], [50, 50, -7], block).depth).toBeCloseTo(7, 12);
  });
});

describe("level arcs against upright boxes, looked at point by point", () => {
  const r = random(20_250_101);
  const u = (a: number, b: number): number => a + (b - a) * r();
  interface Sample {
    readonly box: OrientedBox;
    readonly arc: Arc;
    readonly radius: number;
  }
  const samples = Array.from({ length: 80 }, (_, n): Sample => {
    // Turned about Z by anything, and now and then on its head or its side, which makes the plan left-handed.
    const m = turned(0, [0, 90, 180, 270][n % 4] as number, n % 5 === 0 ? 0 : u(0, 360));
    const box = boxOf([u(-30, -5), u(-30, -5), u(-30, -5)], [u(5, 30), u(5, 30), u(5, 30)], [u(-50, 50), u(-50, 50), u(-5, 5)], m);
    const centre: Vec3 = [u(-60, 60), u(-60, 60), 0];
    const from: Vec3 = [centre[0] + u(-40, 40), centre[1] + u(-40, 40), u(-3, 3)];
    const sweep = n % 3 === 0 ? u(-360, 360) : n % 3 === 1 ? u(-90, 90) : u(-800, 800);
    return { box, arc: { from, to: onArc(from, centre, sweep, 17, 0, 1), centre, sweep, plane: 17 }, radius: u(0, 6) };
  });
  /** Signed distance of a point to the box in plan; the vertical axis of the box is the one with a Z component. */
  const plan = (b: OrientedBox, p: Vec3): number => {
    const d: Vec3 = [p[0] - b.frame.origin[0], p[1] - b.frame.origin[1], 0];
    const out: number[] = [];
    for (const [k, a] of [b.frame.x, b.frame.y, b.frame.z].entries()) {
      if (Math.abs(a[2]) > 0.5) continue;
      const c = d[0] * a[0] + d[1] * a[1];
      out.push(Math.max((b.box.from[k] as number) - c, c - (b.box.to[k] as number)));
    }
    const [e, f] = out as [number, number];
    return e > 0 && f > 0 ? Math.hypot(e, f) : Math.max(e, f);
  };
  const STEPS = 1000;
  it("distance, place and first contact", () => {
    let met = 0;
    for (const { box, arc, radius } of samples) {
      // The tool is taller than every box here is deep, so only the plan counts.
      const gap = gapArc(cylinder(radius, -80, 80), arc, box);
      const at = (t: number): number => plan(box, onArc(arc.from, arc.centre, arc.sweep, 17, 0, t)) - radius;
      let least = INF;
      let first = INF;
      for (let n = 0; n <= STEPS; n++) {
        const d = at(n / STEPS);
        least = Math.min(least, d);
        if (d < 0 && first === INF) first = n / STEPS;
      }
      const told = JSON.stringify({ box, arc, radius });
      if (gap.distance === 0) {
        met++;
        expect(least, told).toBeLessThan(0.02);
        expect(at(gap.t), told).toBeLessThan(1e-5);
        expect(gap.t, told).toBeLessThanOrEqual(first + 1e-9);
      } else {
        expect(gap.distance, told).toBeLessThanOrEqual(least + 1e-9);
        expect(gap.distance, told).toBeGreaterThan(least - 0.02);
        expect(at(gap.t), told).toBeCloseTo(gap.distance, 7);
      }
      expect(gap.at, told).toEqual(onArc(arc.from, arc.centre, arc.sweep, 17, 0, gap.t).map((v) => expect.closeTo(v, 6)));
    }
    expect(met).toBeGreaterThan(15);
    expect(met).toBeLessThan(65);
  });
  it("depth: as deep as the deepest of the points", () => {
    for (const { box, arc, radius } of samples) {
      const part = cylinder(radius, -80, 80);
      const gap = gapArc(part, arc, box);
      let deepest = 0;
      for (let n = 0; n <= STEPS; n++)
        deepest = Math.max(deepest, radius - plan(box, onArc(arc.from, arc.centre, arc.sweep, 17, 0, n / STEPS)));
      expect(gap.depth).toBeGreaterThan(deepest - 1e-6);
      expect(gap.depth).toBeLessThan(deepest + 0.2);
    }
  });
  it("tangent to a side, in the direction of an axis or a corner, exactly", () => {
    const block = boxOf([0, 0, -10], [20, 10, 0]);
    const mill = cylinder(1, 0, 30);
    const turn = (centre: Vec3, start: number, radius: number, sweep: number, box = block): number => {
      const from: Vec3 = [centre[0] + radius * Math.cos(radians(start)), centre[1] + radius * Math.sin(radians(start)), -5];
      return gapArc(mill, { from, to: onArc(from, centre, sweep, 17, 0, 1), centre, sweep, plane: 17 }, box).distance;
    };
    // Below the block, beside it, above it, on the far side: nearest where the arc runs parallel to the side.
    expect(turn([10, -20, 0], 45, 12, 90)).toBeCloseTo(20 - 12 - 1, 9);
    expect(turn([10, 30, 0], -135, 12, 90)).toBeCloseTo(20 - 12 - 1, 9);
    expect(turn([-20, 5, 0], -45, 12, 90)).toBeCloseTo(20 - 12 - 1, 9);
    expect(turn([40, 5, 0], 225, 12, -90)).toBeCloseTo(20 - 12 - 1, 9);
    // Round each corner, from a centre 3 and 4 off it.
    for (const [x, y, dx, dy] of [
      [0, 0, -3, -4],
      [20, 0, 3, -4],
      [0, 10, -3, 4],
      [20, 10, 3, 4],
    ] as const) {
      const toward = (Math.atan2(-dy, -dx) * 180) / Math.PI;
      expect(turn([x + dx, y + dy, 0], toward - 50, 2, 100)).toBeCloseTo(5 - 2 - 1, 9);
      expect(turn([x + dx, y + dy, 0], toward + 50, 2, -100)).toBeCloseTo(5 - 2 - 1, 9);
    }
    // The arc stops short of the corner's direction, by 20°: the end is nearest.
    const end = Math.hypot(-3 + 2 * Math.cos(Math.atan2(4, 3) - radians(20)), -4 + 2 * Math.sin(Math.atan2(4, 3) - radians(20)));
    expect(turn([-3, -4, 0], (Math.atan2(4, 3) * 180) / Math.PI - 60, 2, 40)).toBeCloseTo(end - 1, 9);
    // Around the block with all of it inside.
    expect(turn([10, 5, 0], 10, 40, 360)).toBeCloseTo(40 - Math.hypot(10, 5) - 1, 9);
    // A slab without end to the side: only its straight side is there.
    const slab = boxOf([0, -INF, -10], [INF, INF, 0]);
    expect(turn([-20, 5, 0], -45, 12, 90, slab)).toBeCloseTo(20 - 12 - 1, 9);
  });
});

describe("a flat arc through a thin wall, steeply", () => {
  // R 1000, so nearly a straight line, from 60 before to 17 behind the middle of a wall 10 × 100, at tan 3 to its short side: it
  // comes in through one long side and leaves through the other. No corner's direction and no axis direction lies in the wall,
  // nor does the middle of the way.
  const way = Math.atan2(30, 10);
  const [before, behind] = [Math.asin(60 / 1000), Math.asin(17 / 1000)];
  for (const quarter of [0, 90])
    for (const sign of [1, -1])
      for (const mirrored of [1, -1]) {
        it(`wall turned ${quarter}°, ${sign > 0 ? "counter-clockwise" : "clockwise"}, ${mirrored > 0 ? "rising" : "falling"}`, () => {
          const along = mirrored * way + radians(quarter);
          // The centre is 1000 to the left of the way (to the right when clockwise), so that the arc passes the origin.
          const toCentre = along + (sign * Math.PI) / 2;
          const centre: Vec3 = [1000 * Math.cos(toCentre), 1000 * Math.sin(toCentre), 0];
          const begin = toCentre + Math.PI - sign * before;
          const from: Vec3 = [centre[0] + 1000 * Math.cos(begin), centre[1] + 1000 * Math.sin(begin), -5];
          const sweep = (sign * (before + behind) * 180) / Math.PI;
          const wall = boxOf([-5, -50, -10], [5, 50, 0], [0, 0, 0], turned(0, 0, quarter));
          const gap = gapArc(cylinder(0, 0, 30), { from, to: onArc(from, centre, sweep, 17, 0, 1), centre, sweep, plane: 17 }, wall);
          expect(gap.distance).toBe(0);
          expect(gap.depth).toBeCloseTo(5, 2);
          // Contact begins 5 short of the middle across the wall, which is 5·√10 along the way.
          expect(Math.abs(gap.t - (60 - 5 * Math.sqrt(10)) / 77)).toBeLessThan(0.02);
        });
      }
});

describe("arcs: bounds, the start, the end, the other planes", () => {
  it("bounds of a quarter in each plane, worked by hand", () => {
    // From east to north about (10, 20), R 5.
    expect(boundsOfArc({ from: [15, 20, 1], to: [10, 25, 3], centre: [10, 20, 0], sweep: 90, plane: 17 })).toEqual({
      from: [expect.closeTo(10, 9), expect.closeTo(20, 9), 1],
      to: [expect.closeTo(15, 9), expect.closeTo(25, 9), 3],
    });
    // From −45° to 45°: past east.
    const h = 5 * Math.SQRT1_2;
    expect(boundsOfArc({ from: [10 + h, 20 - h, 0], to: [10 + h, 20 + h, 0], centre: [10, 20, 0], sweep: 90, plane: 17 })).toEqual({
      from: [expect.closeTo(10 + h, 9), expect.closeTo(20 - h, 9), 0],
      to: [expect.closeTo(15, 9), expect.closeTo(20 + h, 9), 0],
    });
    // G18 runs from Z to X, G19 from Y to Z: half turns over the top.
    expect(boundsOfArc({ from: [5, 0, 0], to: [-5, 0, 0], centre: [0, 0, 0], sweep: -180, plane: 18 })).toEqual({
      from: [-5, 0, expect.closeTo(0, 9)],
      to: [5, 0, expect.closeTo(5, 9)],
    });
    expect(boundsOfArc({ from: [0, 5, 0], to: [0, -5, 0], centre: [0, 0, 0], sweep: 180, plane: 19 })).toEqual({
      from: [0, -5, expect.closeTo(0, 9)],
      to: [0, 5, expect.closeTo(5, 9)],
    });
  });
  it("bounds hold an arc whose end is off its circle", () => {
    // Half a turn R 5 that ends 0.4 too far out: half way it is 0.2 off at most.
    const b = boundsOfArc({ from: [5, 0, 0], to: [-5.4, 0.3, 0], centre: [0, 0, 0], sweep: 180, plane: 17 });
    expect(b.to[1]).toBeGreaterThanOrEqual(5.15 - 1e-9);
    expect(b.to[1]).toBeLessThanOrEqual(5.6);
    expect(b.from[0]).toBeCloseTo(-5.4, 0);
    expect(b.from[0]).toBeLessThanOrEqual(-5.4);
  });
  it("ends off the circle are met, in any plane and by any method", () => {
    const block = boxOf([0, -50, -50], [50, 50, 50]);
    const askew = boxOf([0, -50, -50], [50, 50, 50], [0, 0, 0], turned(0, 1e-7, 0));
    const line = cylinder(0, 0, 0);
    for (const box of [block, askew]) {
      // Half a turn about (−20, 0), R 5, told to end at x −14.7 instead of −15: that is the nearest.
      for (const plane of [17, 18, 19] as const) {
        if (plane === 19) continue;
        const arc: Arc = { from: [-25, 0, 0], to: [-14.7, 0, 0], centre: [-20, 0, 0], sweep: plane === 17 ? 180 : -180, plane };
        const gap = gapArc(line, arc, box);
        expect(gap.distance).toBeCloseTo(14.7, 4);
        expect(gap.t).toBe(1);
      }
    }
  });
  it("a helix goes its way in the three planes: nearest at its end", () => {
    const line = cylinder(0, 0, 0);
    // One turn that advances 7 along the third axis toward a wall 10 away.
    const wall = {
      17: boxOf([-50, -50, -90], [50, 50, -10]),
      18: boxOf([-50, 10, -50], [50, 90, 50]),
      19: boxOf([10, -50, -50], [90, 50, 50]),
    };
    expect(gapArc(line, { from: [5, 0, 0], to: [5, 0, -7], centre: [0, 0, 0], sweep: 360, plane: 17 }, wall[17]).distance).toBeCloseTo(
      3,
      6,
    );
    expect(gapArc(line, { from: [5, 0, 0], to: [5, 7, 0], centre: [0, 0, 0], sweep: 360, plane: 18 }, wall[18]).distance).toBeCloseTo(3, 6);
    expect(gapArc(line, { from: [0, 5, 0], to: [7, 5, 0], centre: [0, 0, 0], sweep: 360, plane: 19 }, wall[19]).distance).toBeCloseTo(3, 6);
  });
  it("in it from the start: met at the start, and as deep as the deepest of the arc", () => {
    const block = boxOf([-100, 0, -100], [100, 100, 100]);
    const inside: Arc = { from: [0, 5, 0], to: [20, -15, 0], centre: [0, -15, 0], sweep: -90, plane: 17 };
    const gap = gapArc(cylinder(1, 0, 10), inside, block);
    expect(gap).toMatchObject({ distance: 0, t: 0, at: [expect.closeTo(0, 12), expect.closeTo(5, 12), 0] });
    expect(gap.depth).toBeCloseTo(6, 6);
  });
  it("contact begins where the rim gets there, on an arc too", () => {
    // R 20 about (0, −25), from west over the top: y reaches −6 where sin = 19/20; the mill's R 1 … the wall is at 0.
    const block = boxOf([-100, -5, -100], [100, 100, 100]);
    const mill = cylinder(1, 0, 10);
    const gap = gapArc(mill, { from: [-20, -25, 0], to: [20, -25, 0], centre: [0, -25, 0], sweep: -180, plane: 17 }, block);
    expect(gap.distance).toBe(0);
    expect(gap.t).toBeCloseTo(Math.asin(19 / 20) / Math.PI, 4);
    expect(gap.depth).toBeCloseTo(1, 6);
    // The same with a climb of 2, by the other method.
    const climbing = gapArc(mill, { from: [-20, -25, 0], to: [20, -25, 2], centre: [0, -25, 0], sweep: -180, plane: 17 }, block);
    expect(climbing.distance).toBe(0);
    expect(climbing.t).toBeCloseTo(Math.asin(19 / 20) / Math.PI, 4);
    expect(climbing.depth).toBeCloseTo(1, 6);
  });
  it("a number that is not known, or out of all bounds, gives NaN", () => {
    const block = boxOf([0, 0, 0], [1, 1, 1]);
    const good = { from: [-5, 0, 0], to: [-7, 0, 0], centre: [-6, 0, 0], sweep: 180, plane: 17 } as const;
    const line = cylinder(0, 0, 5);
    expect(gapArc(line, good, block).distance).toBeGreaterThan(4);
    for (const bad of [
      { from: [NAN, 0, 0] },
      { from: [-5, NAN, 0] },
      { from: [-5, 0, NAN] },
      { to: [NAN, 0, 0] },
      { to: [-7, NAN, 0] },
      { to: [-7, 0, NAN] },
      { to: [-7, 0, INF] },
      { centre: [NAN, 0, 0] },
      { centre: [-6, NAN, 0] },
      { sweep: NAN },
      { sweep: 360_001 },
    ] as Partial<Arc>[]) {
      const gap = gapArc(line, { ...good, ...bad }, block);
      expect([gap.distance, gap.t, ...gap.at], JSON.stringify(bad)).toEqual([NAN, NAN, NAN, NAN, NAN]);
      expect([gap.depth, gap.atStart]).toEqual([0, false]);
    }
    expect(gapArc(line, { ...good, sweep: 359_999 }, block).distance).toBeGreaterThan(3);
    expect(gapArc(cylinder(NAN, 0, 5), good, block).distance).toBeNaN();
    expect(gapArc(line, good, boxOf([0, 0, 0], [1, NAN, 1])).distance).toBeNaN();
    for (const k of [0, 1, 2]) {
      const to = [-7, 0, 0].map((v, i) => (i === k ? INF : v)) as unknown as Vec3;
      expect(gapLine(line, [-5, 0, 0], to, block).distance).toBeNaN();
      const from = [-5, 0, 0].map((v, i) => (i === k ? NAN : v)) as unknown as Vec3;
      expect(gapLine(line, from, [-7, 0, 0], block).distance).toBeNaN();
    }
  });
});

describe("lines: the start, the end, the cutoff", () => {
  const block = boxOf([0, 0, -10], [20, 10, 0]);
  const mill = cylinder(2, 0, 50);
  it("the end of a move that comes nearer all the way", () => {
    const gap = gapLine(mill, [-40, 5, -5], [-6, 5, -5], block);
    expect(gap).toMatchObject({ t: 1, at: [-6, 5, -5], depth: 0, atStart: false });
    expect(gap.distance).toBeCloseTo(4, 12);
  });
  it("the start of one that leaves", () => {
    const gap = gapLine(mill, [-6, 5, -5], [-40, 5, -5], block);
    expect(gap).toMatchObject({ t: 0, at: [-6, 5, -5], depth: 0, atStart: true });
    expect(gap.distance).toBeCloseTo(4, 12);
    // Nobody asks beyond the cutoff.
    expect(gapLine(mill, [-6, 5, -5], [-40, 5, -5], block, 3).atStart).toBe(false);
    expect(gapLine(mill, [-6, 5, -5], [-6, 5, -5], block).atStart).toBe(false);
    // A hundredth of a millimetre away is away.
    expect(gapLine(mill, [-6, 5, -5], [-6.01, 5, -5], block).atStart).toBe(true);
  });
  it("past a corner: the foot of the corner on the line", () => {
    // Line x + y = −10 in plan; the corner (0, 0) is 10/√2 from it, at (−5, −5), which is 3/8 of the way.
    const gap = gapLine(mill, [-20, 10, -5], [20, -30, -5], block);
    expect(gap.distance).toBeCloseTo(10 / Math.SQRT2 - 2, 9);
    expect(gap.t).toBeCloseTo(3 / 8, 4);
    expect(gap.at[0]).toBeCloseTo(-5, 3);
    expect(gap.atStart).toBe(false);
  });
  it("with a cutoff: a bound between it and the truth, wherever the search stops", () => {
    const truth = 10 / Math.SQRT2 - 2;
    for (const cutoff of [0.5, 1, 2, 3, 4, 5, 5.07]) {
      const gap = gapLine(mill, [-20, 10, -5], [20, -30, -5], block, cutoff);
      expect(gap.distance).toBeGreaterThanOrEqual(cutoff);
      expect(gap.distance).toBeLessThanOrEqual(truth + 1e-9);
      expect(gap.depth).toBe(0);
      expect(gap.atStart).toBe(false);
    }
    expect(gapLine(mill, [-20, 10, -5], [20, -30, -5], block, 5.08).distance).toBeCloseTo(truth, 9);
  });
  it("through a body and out again: contact begins at the first side", () => {
    const gap = gapLine(mill, [-22, 5, -5], [42, 5, -5], block);
    expect(gap.distance).toBe(0);
    expect(gap.t).toBeCloseTo(20 / 64, 8);
    expect(gap.depth).toBeCloseTo(5, 6);
    // Across a corner, entering where the rim touches it: the axis is 2 from (0, 0) on the line y = x − … at −45°.
    const graze = gapLine(mill, [-20, 18, -5], [20, -22, -5], block);
    expect(graze.distance).toBe(0);
    const at = graze.at;
    expect(Math.hypot(Math.max(0, -at[0]), Math.max(0, -at[1]))).toBeCloseTo(2, 6);
  });
});

describe("the search by pieces", () => {
  /** A distance whose growth is bounded by its steepest slope. */
  const steep = (f: (t: number) => number, slope: number, more: object = {}) => {
    let asked = 0;
    const found = divide({
      at: (t) => {
        asked++;
        return f(t);
      },
      growth: (a, m, b) => -slope * Math.max(m - a, b - m),
      pieces: 1,
      most: 20_000,
      cutoff: INF,
      ...more,
    });
    return { ...found, asked };
  };
  it("finds the lowest of many valleys", () => {
    // Valleys of different depth; the lowest is at 0.7.
    const f = (t: number): number => 3 + Math.min(2 * Math.abs(t - 0.2), 0.5 + Math.abs(t - 0.45), 2 * Math.abs(t - 0.7) - 0.25);
    for (const pieces of [0, 1, 2, 3, 7]) {
      const found = steep(f, 2, { pieces });
      expect(found.distance).toBeCloseTo(2.75, 6);
      expect(found.t).toBeCloseTo(0.7, 6);
    }
  });
  it("the end, the start, and contact", () => {
    expect(steep((t) => 3 - t, 1)).toMatchObject({ distance: 2, t: 1 });
    expect(steep((t) => 3 + t, 1)).toMatchObject({ distance: 3, t: 0 });
    expect(steep((t) => 1 - t, 1)).toMatchObject({ distance: 0, t: 1 });
    const met = steep((t) => Math.max(0, Math.abs(t - 0.37) - 0.01), 1);
    expect(met.distance).toBe(0);
    expect(Math.abs(met.t - 0.37)).toBeLessThanOrEqual(0.01);
  });
  it("many valleys in any order of depth: pieces come out of the heap lowest first", () => {
    const r = random(5);
    for (let n = 0; n < 40; n++) {
      const depths = Array.from({ length: 16 }, () => 1 + r());
      const f = (t: number): number => Math.min(...depths.map((d, i) => d + 4 * Math.abs(t - (i + 0.37) / 16)));
      const found = steep(f, 4, { pieces: 16 });
      const best = Math.min(...depths);
      expect(found.distance).toBeGreaterThan(best - 1e-6);
      expect(found.distance).toBeLessThan(best + 1e-6);
      expect(found.t).toBeCloseTo((depths.indexOf(best) + 0.37) / 16, 6);
      // Lowest first looks at few places: the other valleys are set aside soon.
      expect(found.asked).toBeLessThan(700);
    }
  });
  it("at or above the cutoff a bound between it and the truth is enough, and cheap", () => {
    const f = (t: number): number => 3 + Math.abs(t - 0.3);
    const found = steep(f, 1, { cutoff: 1 });
    expect(found.distance).toBeGreaterThanOrEqual(1);
    expect(found.distance).toBeLessThanOrEqual(3);
    expect(found.asked).toBeLessThan(5);
    expect(steep(f, 1, { cutoff: 2.9 }).distance).toBeGreaterThanOrEqual(2.9);
    expect(steep(f, 1, { cutoff: 3.1 }).distance).toBeCloseTo(3, 6);
  });
  it("a distance that stays the same ends with a bound below it, above 0", () => {
    const found = steep(() => 2, 1, { most: 50 });
    expect(found.distance).toBeLessThan(2);
    expect(found.distance).toBeGreaterThan(0);
    expect(found.asked).toBeLessThan(60);
    expect(steep(() => 2, 100, { most: 10 }).distance).toBeGreaterThan(0);
  });
  it("the least value of a sine and a slope, against looking everywhere", () => {
    const r = random(11);
    const u = (a: number, b: number): number => a + (b - a) * r();
    for (let n = 0; n < 300; n++) {
      const [amplitude, phase, sweep, slope] = [u(0, 5), u(-7, 7), u(-15, 15), n % 3 === 0 ? 0 : u(-40, 40)];
      const ta = u(0, 0.6);
      const tb = ta + u(0, 0.4);
      let least = INF;
      for (let i = 0; i <= 2000; i++) {
        const t = ta + ((tb - ta) * i) / 2000;
        least = Math.min(least, amplitude * Math.cos(phase + t * sweep) + slope * t);
      }
      const ours = leastSine(amplitude, phase, sweep, slope, ta, tb);
      expect(ours).toBeLessThanOrEqual(least + 1e-9);
      expect(ours).toBeGreaterThan(least - 1e-4);
    }
    expect(leastSine(2, 0, Math.PI, 0, 0, 1)).toBeCloseTo(-2, 12);
    expect(leastSine(2, Math.PI, 0.5, 0, 0, 1)).toBeCloseTo(-2, 12);
  });
  it("the greatest value by golden section", () => {
    expect(greatest((t) => 5 - (t - 0.3) ** 2, 0, 1)).toBeCloseTo(5, 9);
    expect(greatest((t) => 5 - Math.abs(t - 0.81), 0, 1)).toBeCloseTo(5, 7);
    expect(greatest((t) => t, 0, 1)).toBe(1);
    expect(greatest((t) => 2 - t, 0, 1)).toBe(2);
    expect(greatest((t) => -1 - t, 0, 1)).toBe(-1);
  });
});

describe("turning boxes close by, looked at point by point", () => {
  const r = random(20_250_103);
  const u = (a: number, b: number): number => a + (b - a) * r();
  it("nothing on the way is nearer, and the place is as near as told", () => {
    for (let n = 0; n < 12; n++) {
      const axis = (n % 3) as 0 | 1 | 2;
      const centre: Vec3 = [u(-20, 20), u(-20, 20), u(-20, 20)];
      const angle = u(-300, 300);
      const box = boxOf(
        [-u(1, 9), -u(1, 9), -u(1, 9)],
        [u(1, 9), u(1, 9), u(1, 9)],
        [u(-15, 15), u(-15, 15), u(-15, 15)],
        turned(u(0, 360), u(0, 360), u(0, 360)),
      );
      const part = n % 2 === 0 ? cylinder(u(0, 5), 0, u(1, 20)) : cone(0, u(1, 5), 0, u(1, 8));
      const from: Vec3 = [u(-40, 40), u(-40, 40), u(-40, 40)];
      const to: Vec3 = n % 4 === 0 ? from : [from[0] + u(-30, 30), from[1] + u(-30, 30), from[2] + u(-30, 30)];
      const gap = gapIndex(part, from, to, box, { axis, centre, angle });
      const point = (t: number): Vec3 => [
        from[0] + t * (to[0] - from[0]),
        from[1] + t * (to[1] - from[1]),
        from[2] + t * (to[2] - from[2]),
      ];
      // Right-handed about the axis: the matrices of the support file turn about X, then Y, then Z.
      const boxAt = (t: number): OrientedBox => {
        const m = turned(axis === 0 ? t * angle : 0, axis === 1 ? t * angle : 0, axis === 2 ? t * angle : 0);
        const about: Frame = { origin: centre, x: m[0], y: m[1], z: m[2] };
        const f = box.frame;
        const o = f.origin;
        const inner: Frame = { ...f, origin: [o[0] - centre[0], o[1] - centre[1], o[2] - centre[2]] };
        return { box: box.box, frame: compose(about, inner) };
      };
      const told = JSON.stringify({ part, from, to, box, axis, centre, angle });
      for (let i = 0; i <= 30; i++)
        expect(referenceGap(part, point(i / 30), boxAt(i / 30), 60).upper, told).toBeGreaterThanOrEqual(gap.distance - 1e-6);
      expect(referenceGap(part, point(gap.t), boxAt(gap.t), 400).lower, told).toBeLessThanOrEqual(gap.distance + 1e-6);
    }
  });
});

describe("turning boxes, worked by hand", () => {
  const line = cylinder(0, 0, 0);
  // A bar from 10 to 30 along one axis, thin across, about the machine's origin; the point stands where a turn of 90° brings its end.
  it("each axis turns right-handed", () => {
    const about = (axis: 0 | 1 | 2, from: Vec3, to: Vec3, point: Vec3, angle: number): number =>
      gapIndex(line, point, point, boxOf(from, to), { axis, centre: [0, 0, 0], angle }).distance;
    // About X: Y goes to Z. About Y: Z goes to X. About Z: X goes to Y. The end (30) passes 5 short of a point 35 out.
    expect(about(0, [-1, 10, -1], [1, 30, 1], [0, 0, 35], 80)).toBeGreaterThan(5);
    expect(about(0, [-1, 10, -1], [1, 30, 1], [0, 0, 35], 100)).toBeCloseTo(35 - Math.hypot(30, 1), 5);
    expect(about(0, [-1, 10, -1], [1, 30, 1], [0, 0, 35], -100)).toBeGreaterThan(30);
    expect(about(1, [-1, -1, 10], [1, 1, 30], [35, 0, 0], 100)).toBeCloseTo(35 - Math.hypot(30, 1), 5);
    expect(about(1, [-1, -1, 10], [1, 1, 30], [35, 0, 0], -100)).toBeGreaterThan(30);
    expect(about(2, [10, -1, -1], [30, 1, 1], [0, 35, 0], 100)).toBeCloseTo(35 - Math.hypot(30, 1), 5);
    expect(about(2, [10, -1, -1], [30, 1, 1], [0, 35, 0], -100)).toBeGreaterThan(30);
  });
  it("about a centre elsewhere, and with the point moving along", () => {
    const box = boxOf([110, 199, -1], [130, 201, 1]);
    const turn = { axis: 2, centre: [100, 200, 0], angle: 90 } as const;
    const still: Vec3 = [100, 235, 0];
    expect(gapIndex(line, still, still, box, { ...turn, angle: 100 }).distance).toBeCloseTo(35 - Math.hypot(30, 1), 5);
    // The point runs away straight up from where the bar arrives: at the end it is 10 above the bar's top.
    const up = gapIndex(line, [100, 220, 400], [100, 220, 11], box, turn);
    expect(up.distance).toBeCloseTo(10, 5);
    expect(up.t).toBeCloseTo(1, 4);
    // Down between the turns into where the bar is: they meet.
    expect(gapIndex(line, [100, 220, 400], [100, 220, 0], box, turn).distance).toBe(0);
  });
  it("no turn, but a move along one axis: the nearest of the move", () => {
    const box = boxOf([0, 0, -10], [20, 10, 0]);
    const still = { axis: 2, centre: [0, 0, 0], angle: 0 } as const;
    expect(gapIndex(line, [-7, 5, -5], [-3, 5, -5], box, still).distance).toBeCloseTo(3, 6);
    expect(gapIndex(line, [5, 19, -5], [5, 14, -5], box, still).distance).toBeCloseTo(4, 6);
    expect(gapIndex(line, [5, 5, 9], [5, 5, 2], box, still).distance).toBeCloseTo(2, 6);
  });
  it("no turn at all is a move past a standing box; no move either is standing", () => {
    const box = boxOf([0, 0, -10], [20, 10, 0]);
    const still = { axis: 2, centre: [0, 0, 0], angle: 0 } as const;
    expect(gapIndex(line, [-7, 5, -5], [-7, 5, -5], box, still)).toEqual({ distance: 7, t: 0 });
    expect(gapIndex(line, [5, 5, -5], [5, 5, -5], box, still)).toEqual({ distance: 0, t: 0 });
  });
  it("numbers that are not known, and more than a thousand turns", () => {
    const box = boxOf([0, 0, -10], [20, 10, 0]);
    const p: Vec3 = [-7, 5, -5];
    const turn = { axis: 2, centre: [0, 0, 0], angle: 90 } as const;
    expect(gapIndex(line, p, p, box, { ...turn, angle: 360_001 }).distance).toBeNaN();
    expect(gapIndex(line, p, p, box, { ...turn, angle: -360_001 }).distance).toBeNaN();
    expect(gapIndex(line, p, p, box, { ...turn, angle: NAN }).distance).toBeNaN();
    expect(gapIndex(line, p, p, box, { ...turn, centre: [0, NAN, 0] }).distance).toBeNaN();
    // Along the axis the centre does not count.
    expect(gapIndex(line, p, p, box, { ...turn, centre: [0, 0, NAN] }).distance).toBeGreaterThanOrEqual(0);
    expect(gapIndex(cylinder(NAN, 0, 5), p, p, box, turn).distance).toBeNaN();
    expect(gapIndex(line, [NAN, 0, 0], p, box, turn).distance).toBeNaN();
    expect(gapIndex(line, p, [-7, 5, INF], box, turn).distance).toBeNaN();
    expect(gapIndex(line, p, p, boxOf([0, 0, -INF], [20, 10, 0]), turn).distance).toBeNaN();
  });
});

describe("triples, by hand", () => {
  it("sum, difference, multiple, scalar product, length", () => {
    expect(add([1, 2, 3], [4, -5, 7])).toEqual([5, -3, 10]);
    expect(subtract([1, 2, 3], [4, -5, 7])).toEqual([-3, 7, -4]);
    expect(scale([1, -2, 3], 2)).toEqual([2, -4, 6]);
    // 4 − 10 + 21
    expect(dot([1, 2, 3], [4, -5, 7])).toBe(15);
    // 4 + 9 + 36 = 49
    expect(length([2, -3, 6])).toBe(7);
    expect(ZERO).toEqual([0, 0, 0]);
  });
  it("a point is known where all three are", () => {
    expect(isKnownPoint([1, 2, 3])).toBe(true);
    for (const p of [
      [NAN, 2, 3],
      [1, NAN, 3],
      [1, 2, NAN],
    ] as Vec3[])
      expect(isKnownPoint(p)).toBe(false);
  });
  it("one number of a tool that is not known leaves every distance unknown", () => {
    const block = boxOf([0, 0, 0], [1, 1, 1]);
    const tool = cylinder(2, 0, 5);
    expect(gapLine(tool, [10, 0, 0], [20, 0, 0], block).distance).toBe(7);
    for (const key of ["bottomRadius", "topRadius", "from", "to"] as const)
      expect(gapLine({ ...tool, [key]: NAN }, [10, 0, 0], [20, 0, 0], block).distance, key).toBeNaN();
  });
});
