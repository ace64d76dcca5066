import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { OrientedBox } from "../../server/src/engine/geometry/box.js";
import {
  type Arc,
  boundsOfArc,
  gapArc,
  gapIndex,
  gapLine,
  penetration,
  prepare,
  sectionOf,
} from "../../server/src/engine/geometry/sweep.js";
import type { ToolPart } from "../../server/src/engine/geometry/tool.js";
import type { Vec3 } from "../../server/src/engine/geometry/vector.js";
import { boxOf, cone, cylinder, onArc, referenceGap, turned } from "../support/solids.js";

/** One seed for all, so that a failure comes back. */
const seed = 20_240_611;
const runs = (numRuns: number) => ({ seed, numRuns });

const real = (a: number, b: number): fc.Arbitrary<number> => fc.double({ min: a, max: b, noNaN: true });
const point = fc.tuple(real(-50, 50), real(-50, 50), real(-50, 50));
const size = fc.tuple(real(1, 30), real(1, 30), real(1, 30));
const upright = fc.tuple(size, size, point, real(0, 360), fc.constantFrom(0, 90, 180, 270)).map(([a, b, o, z, y]) => box(a, b, o, 0, y, z));
const any = fc.tuple(size, size, point, real(0, 360), real(0, 360), real(0, 360)).map(([a, b, o, x, y, z]) => box(a, b, o, x, y, z));
const bodies = fc.oneof(upright, any);
const parts: fc.Arbitrary<ToolPart> = fc.oneof(
  fc.tuple(real(0, 12), real(-3, 3), real(4, 60)).map(([r, a, b]) => cylinder(r, a, b)),
  fc.tuple(real(0.5, 12), real(0.5, 8)).map(([r, h]) => cone(0, r, 0, h)),
  fc.tuple(real(0, 12), real(0, 12), real(1, 30)).map(([a, b, h]) => cone(a, b, 0, h)),
);
const planes = fc.constantFrom<17 | 18 | 19>(17, 18, 19);
const arcs = fc
  .tuple(point, point, real(-400, 400), planes, fc.oneof(fc.constant(0), real(-30, 30)))
  .map(([from, centre, sweep, plane, rise]) => ({
    arc: { from, to: onArc(from, centre, sweep, plane, rise, 1), centre, sweep, plane } as Arc,
    at: (t: number) => onArc(from, centre, sweep, plane, rise, t),
  }));

function box(a: Vec3, b: Vec3, o: Vec3, x: number, y: number, z: number): OrientedBox {
  return boxOf([-a[0], -a[1], -a[2]], b, o, turned(x, y, z));
}

const mix = (a: Vec3, b: Vec3, t: number): Vec3 => [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), a[2] + t * (b[2] - a[2])];

/** Turns everything about machine Z and shifts it: what the tool axis allows. */
function moved(angle: number, by: Vec3): { p: (v: Vec3) => Vec3; b: (b: OrientedBox) => OrientedBox } {
  const c = Math.cos((angle * Math.PI) / 180);
  const s = Math.sin((angle * Math.PI) / 180);
  const d = (v: Vec3): Vec3 => [c * v[0] - s * v[1], s * v[0] + c * v[1], v[2]];
  const p = (v: Vec3): Vec3 => {
    const q = d(v);
    return [q[0] + by[0], q[1] + by[1], q[2] + by[2]];
  };
  return { p, b: (b) => ({ box: b.box, frame: { origin: p(b.frame.origin), x: d(b.frame.x), y: d(b.frame.y), z: d(b.frame.z) } }) };
}

describe("against alternating projections, which enclose the truth from both sides", () => {
  it("a standing tool", () => {
    fc.assert(
      fc.property(parts, point, bodies, (part, p, b) => {
        const ours = gapLine(part, p, p, b).distance;
        const { lower, upper } = referenceGap(part, p, b);
        expect(ours).toBeLessThanOrEqual(upper + 1e-9);
        expect(ours).toBeGreaterThanOrEqual(lower - 1e-9);
      }),
      runs(4000),
    );
  });
  it("a straight move: nothing sampled along it is nearer, and the place named is as near as it says", () => {
    fc.assert(
      fc.property(parts, point, point, bodies, (part, a, c, b) => {
        const gap = gapLine(part, a, c, b);
        for (let i = 0; i <= 24; i++)
          expect(referenceGap(part, mix(a, c, i / 24), b, 200).upper).toBeGreaterThanOrEqual(gap.distance - 1e-9);
        const there = referenceGap(part, gap.at, b);
        expect(there.lower).toBeLessThanOrEqual(gap.distance + 1e-7);
        expect(there.upper).toBeGreaterThanOrEqual(gap.distance - 1e-9);
        expect(Math.hypot(...mix(a, c, gap.t).map((v, k) => v - (gap.at[k] as number)))).toBeLessThan(1e-9);
      }),
      runs(400),
    );
  });
  it("an arc or helix in any plane likewise", () => {
    fc.assert(
      fc.property(parts, arcs, bodies, (part, { arc, at }, b) => {
        const gap = gapArc(part, arc, b);
        for (let i = 0; i <= 60; i++) expect(referenceGap(part, at(i / 60), b, 200).upper).toBeGreaterThanOrEqual(gap.distance - 1e-6);
        const there = referenceGap(part, gap.at, b);
        expect(there.lower).toBeLessThanOrEqual(gap.distance + 2e-6);
        expect(Math.hypot(...at(gap.t).map((v, k) => v - (gap.at[k] as number)))).toBeLessThan(1e-6);
      }),
      runs(250),
    );
  });
  it("a box that turns under a standing or moving tool", () => {
    const axes = fc.constantFrom<0 | 1 | 2>(0, 1, 2);
    fc.assert(
      fc.property(parts, point, point, fc.boolean(), bodies, axes, point, real(-400, 400), (part, a, c, stands, b, axis, centre, angle) => {
        const end = stands ? a : c;
        const gap = gapIndex(part, a, end, b, { axis, centre, angle });
        const boxAt = (t: number): OrientedBox => {
          // The rotation matrices about X, Y and Z, right-handed.
          const m = turned(axis === 0 ? t * angle : 0, axis === 1 ? t * angle : 0, axis === 2 ? t * angle : 0);
          const d = (v: Vec3): Vec3 =>
            [0, 1, 2].map((k) => m[0][k as 0] * v[0] + m[1][k as 0] * v[1] + m[2][k as 0] * v[2]) as unknown as Vec3;
          const o = b.frame.origin;
          const q = d([o[0] - centre[0], o[1] - centre[1], o[2] - centre[2]]);
          return {
            box: b.box,
            frame: { origin: [centre[0] + q[0], centre[1] + q[1], centre[2] + q[2]], x: d(b.frame.x), y: d(b.frame.y), z: d(b.frame.z) },
          };
        };
        for (let i = 0; i <= 60; i++) {
          expect(referenceGap(part, mix(a, end, i / 60), boxAt(i / 60), 200).upper).toBeGreaterThanOrEqual(gap.distance - 1e-6);
        }
        expect(referenceGap(part, mix(a, end, gap.t), boxAt(gap.t)).lower).toBeLessThanOrEqual(gap.distance + 1e-6);
      }),
      runs(200),
    );
  });
  it("the bounds of an arc hold it, tightly", () => {
    fc.assert(
      fc.property(arcs, ({ arc, at }) => {
        const bounds = boundsOfArc(arc);
        const lo = [Infinity, Infinity, Infinity];
        const hi = [-Infinity, -Infinity, -Infinity];
        for (let i = 0; i <= 720; i++) {
          at(i / 720).forEach((v, k) => {
            lo[k] = Math.min(lo[k] as number, v);
            hi[k] = Math.max(hi[k] as number, v);
          });
        }
        for (const k of [0, 1, 2] as const) {
          expect(bounds.from[k]).toBeLessThanOrEqual((lo[k] as number) + 1e-9);
          expect(bounds.to[k]).toBeGreaterThanOrEqual((hi[k] as number) - 1e-9);
          expect((lo[k] as number) - bounds.from[k]).toBeLessThan(0.01);
          expect(bounds.to[k] - (hi[k] as number)).toBeLessThan(0.01);
        }
      }),
      runs(300),
    );
  });
});

describe("properties of a distance", () => {
  it("does not change when everything is turned about Z and shifted", () => {
    fc.assert(
      fc.property(parts, point, point, bodies, real(0, 360), point, (part, a, c, b, angle, by) => {
        const m = moved(angle, by);
        expect(gapLine(part, m.p(a), m.p(c), m.b(b)).distance).toBeCloseTo(gapLine(part, a, c, b).distance, 8);
      }),
      runs(1500),
    );
  });
  it("is the same the other way round", () => {
    fc.assert(
      fc.property(parts, point, point, bodies, (part, a, c, b) => {
        expect(gapLine(part, c, a, b).distance).toBeCloseTo(gapLine(part, a, c, b).distance, 8);
      }),
      runs(1500),
    );
    fc.assert(
      fc.property(parts, arcs, bodies, (part, { arc }, b) => {
        const rise = arc.plane === 17 ? 2 : arc.plane === 18 ? 1 : 0;
        const centre: [number, number, number] = [arc.centre[0], arc.centre[1], arc.centre[2]];
        centre[rise] = arc.to[rise];
        const back = gapArc(part, { from: arc.to, to: arc.from, centre, sweep: -arc.sweep, plane: arc.plane }, b);
        expect(Math.abs(back.distance - gapArc(part, arc, b).distance)).toBeLessThan(3e-7);
      }),
      runs(400),
    );
  });
  it("is that of the nearer half when a move is cut in two", () => {
    fc.assert(
      fc.property(parts, point, point, bodies, real(0, 1), (part, a, c, b, t) => {
        const m = mix(a, c, t);
        const halves = Math.min(gapLine(part, a, m, b).distance, gapLine(part, m, c, b).distance);
        expect(halves).toBeCloseTo(gapLine(part, a, c, b).distance, 8);
      }),
      runs(1500),
    );
  });
  it("never grows with the radius or with the box", () => {
    fc.assert(
      fc.property(real(0, 12), real(0, 6), point, point, bodies, size, (r, more, a, c, b, grow) => {
        const before = gapLine(cylinder(r, 0, 40), a, c, b).distance;
        expect(gapLine(cylinder(r + more, 0, 40), a, c, b).distance).toBeLessThanOrEqual(before + 1e-9);
        const { from, to } = b.box;
        const grown = { frame: b.frame, box: { from: [from[0] - grow[0], from[1] - grow[1], from[2] - grow[2]] as Vec3, to } };
        expect(gapLine(cylinder(r, 0, 40), a, c, grown).distance).toBeLessThanOrEqual(before + 1e-9);
      }),
      runs(1500),
    );
  });
  it("with a cutoff: exact below it, a true lower bound above", () => {
    fc.assert(
      fc.property(parts, point, point, arcs, bodies, real(0, 40), (part, a, c, { arc }, b, cutoff) => {
        for (const [cut, full] of [
          [gapLine(part, a, c, b, cutoff).distance, gapLine(part, a, c, b).distance],
          [gapArc(part, arc, b, cutoff).distance, gapArc(part, arc, b).distance],
        ] as const) {
          expect(cut).toBeLessThanOrEqual(full + 2e-7);
          if (full < cutoff - 1e-6) expect(Math.abs(cut - full)).toBeLessThan(2e-7);
          else if (full > cutoff + 1e-6) expect(cut).toBeGreaterThanOrEqual(cutoff - 1e-9);
        }
      }),
      runs(600),
    );
  });
});

describe("depth", () => {
  it("is the gap closed, for a tool pushed past its nearest point by a little", () => {
    fc.assert(
      fc.property(parts, point, bodies, real(0.0005, 0.3), (part, p, b, push) => {
        const gap = gapLine(part, p, p, b).distance;
        fc.pre(gap > 0.05);
        // The direction of nearest approach, by differences.
        const h = 1e-4;
        const d = (v: Vec3): number => gapLine(part, v, v, b).distance;
        const n: Vec3 = [
          (d([p[0] + h, p[1], p[2]]) - d([p[0] - h, p[1], p[2]])) / (2 * h),
          (d([p[0], p[1] + h, p[2]]) - d([p[0], p[1] - h, p[2]])) / (2 * h),
          (d([p[0], p[1], p[2] + h]) - d([p[0], p[1], p[2] - h])) / (2 * h),
        ];
        const l = Math.hypot(...n);
        fc.pre(Math.abs(l - 1) < 1e-6);
        const s = (gap + push) / l;
        const q: Vec3 = [p[0] - s * n[0], p[1] - s * n[1], p[2] - s * n[2]];
        const depth = penetration(sectionOf(part), q[0], q[1], q[2], prepare(b));
        // Backing out by `push` frees it, so the depth cannot be more, but for the method's own slack on thin overlaps.
        expect(depth).toBeLessThanOrEqual(push * 1.25 + 2e-5);
      }),
      runs(1500),
    );
  });
  it("is above 0 exactly where they overlap, on a line too", () => {
    fc.assert(
      fc.property(parts, point, point, bodies, (part, a, c, b) => {
        const gap = gapLine(part, a, c, b);
        if (gap.distance > 0) expect(gap.depth).toBe(0);
        const standing = penetration(sectionOf(part), a[0], a[1], a[2], prepare(b));
        if (standing > 1e-6) expect(gapLine(part, a, a, b).distance).toBeLessThan(standing);
        expect(gap.depth).toBeGreaterThanOrEqual((gap.distance === 0 && gap.t === 0 ? standing : 0) - 1e-9);
      }),
      runs(1500),
    );
  });
});
