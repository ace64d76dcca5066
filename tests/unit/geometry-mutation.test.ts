import { describe, expect, it } from "vitest";
import { bounds, corners, type OrientedBox } from "../../server/src/engine/geometry/box.js";
import { greatest, penetration, prepare, sectionOf } from "../../server/src/engine/geometry/distance.js";
import { divide, leastSine } from "../../server/src/engine/geometry/divide.js";
import { compose, directionToOuter, type Frame, IDENTITY, toInner, toOuter } from "../../server/src/engine/geometry/frame.js";
import { type Arc, boundsOfArc, gapArc, gapIndex, gapLine } from "../../server/src/engine/geometry/sweep.js";
import type { ToolPart } from "../../server/src/engine/geometry/tool.js";
import type { Vec3 } from "../../server/src/engine/geometry/vector.js";
import { boxOf, cone, cylinder, onArc, random, referenceGap, turned } from "../support/solids.js";

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
    for (let n = 0; n < 900; n++) {
      const { part, at, box } = close(n);
      const ours = standing(part, at, box);
      const { lower, upper } = referenceGap(part, at, box, 400);
      const told = JSON.stringify({ part, at, box });
      expect(ours, told).toBeLessThanOrEqual(upper + 1e-9);
      expect(ours, told).toBeGreaterThanOrEqual(lower - 1e-9);
      if (ours === 0) met++;
    }
    expect(met).toBeGreaterThan(200);
    expect(met).toBeLessThan(700);
  });
  it("an endless part is as far as one that ends high above; an endless box as one that ends far below", () => {
    for (let n = 0; n < 200; n++) {
      const { part, at, box } = close(n);
      const endless = cylinder(part.bottomRadius, 0, INF);
      expect(standing(endless, at, box)).toBeCloseTo(standing(cylinder(part.bottomRadius, 0, 500), at, box), 7);
      const deep: OrientedBox = { frame: box.frame, box: { from: [box.box.from[0], box.box.from[1], -800], to: box.box.to } };
      const bottomless: OrientedBox = { frame: box.frame, box: { from: [box.box.from[0], box.box.from[1], -INF], to: box.box.to } };
      expect(standing(part, at, bottomless)).toBeCloseTo(standing(part, at, deep), 7);
    }
  });
  it("moving: nothing on the way is nearer, and the place is as near as told", () => {
    for (let n = 0; n < 150; n++) {
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
    for (let n = 0; n < 80; n++) {
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
    for (let n = 0; n < 300; n++) {
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
  const samples = Array.from({ length: 160 }, (_, n): Sample => {
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
  const STEPS = 2000;
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
        expect(gap.atStart, told).toBe(at(0) <= 0);
      } else {
        expect(gap.distance, told).toBeLessThanOrEqual(least + 1e-9);
        expect(gap.distance, told).toBeGreaterThan(least - 0.02);
        expect(at(gap.t), told).toBeCloseTo(gap.distance, 7);
      }
      expect(gap.at, told).toEqual(onArc(arc.from, arc.centre, arc.sweep, 17, 0, gap.t).map((v) => expect.closeTo(v, 6)));
    }
    expect(met).toBeGreaterThan(30);
    expect(met).toBeLessThan(120);
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
  it("leaving, staying alongside, and coming near again", () => {
    const block = boxOf([-100, 0, -100], [100, 100, 100]);
    const mill = cylinder(1, 0, 10);
    // From 3 in front of the wall away from it on a quarter; the same way back; a whole circle that comes back.
    const away = (sweep: number, plane: 17 | 19 = 17): Arc => {
      const from: Vec3 = [0, -3, 0];
      const centre: Vec3 = [0, -23, 0];
      return { from, to: onArc(from, centre, sweep, plane, 0, 1), centre, sweep, plane };
    };
    expect(gapArc(mill, away(90), block).atStart).toBe(true);
    expect(gapArc(mill, away(90, 19), block).atStart).toBe(true);
    const back = away(90);
    expect(gapArc(mill, { ...back, from: back.to, to: back.from, sweep: -90 }, block)).toMatchObject({ atStart: false, t: 1 });
    // Beyond the cutoff nobody asks whether it leaves.
    expect(gapArc(mill, away(90), block, 1.5).atStart).toBe(false);
    // Level round the axis of a wall below: the distance stays the same.
    const floor = boxOf([-100, -100, -100], [100, 100, -5]);
    expect(gapArc(mill, away(90), floor).atStart).toBe(false);
    // In it from the start: met at the start.
    const inside: Arc = { from: [0, 5, 0], to: [20, -15, 0], centre: [0, -15, 0], sweep: -90, plane: 17 };
    expect(gapArc(mill, inside, block)).toMatchObject({ distance: 0, t: 0, atStart: true });
    expect(gapArc(mill, inside, block).depth).toBeCloseTo(6, 6);
    // A tiny arc, away: it grows by nearly its own length.
    const tiny: Arc = { from: [0, -3, 0], to: [0.01, -3.01, 0], centre: [0.01, -3, 0], sweep: 90, plane: 17 };
    expect(gapArc(mill, tiny, block).atStart).toBe(true);
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
      start: f(0),
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
    expect(greatest((t) => -1 - t, 0, 1)).toBe(0);
    expect(greatest(() => INF, 0, 1)).toBe(0);
  });
});

describe("turning boxes close by, looked at point by point", () => {
  const r = random(20_250_103);
  const u = (a: number, b: number): number => a + (b - a) * r();
  it("nothing on the way is nearer, and the place is as near as told", () => {
    for (let n = 0; n < 90; n++) {
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
      for (let i = 0; i <= 60; i++)
        expect(referenceGap(part, point(i / 60), boxAt(i / 60), 60).upper, told).toBeGreaterThanOrEqual(gap.distance - 1e-6);
      expect(referenceGap(part, point(gap.t), boxAt(gap.t), 400).lower, told).toBeLessThanOrEqual(gap.distance + 1e-6);
      expect(gap.at, told).toEqual(point(gap.t).map((v) => expect.closeTo(v, 9)));
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
    expect(up.atStart).toBe(false);
    // Down between the turns into where the bar is: they meet, at depth 1 from its top and sides.
    const met = gapIndex(line, [100, 220, 400], [100, 220, 0], box, turn);
    expect(met.distance).toBe(0);
    expect(met.depth).toBeGreaterThan(0);
    expect(met.depth).toBeLessThanOrEqual(1 + 1e-9);
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
    expect(gapIndex(line, [-7, 5, -5], [-7, 5, -5], box, still)).toMatchObject({ distance: 7, t: 0, atStart: true });
    expect(gapIndex(line, [5, 5, -5], [5, 5, -5], box, still)).toMatchObject({ distance: 0, t: 0, depth: 5, atStart: true });
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
