import Module, { type Manifold as Solid } from "manifold-3d";
import { beforeAll, describe, expect, it } from "vitest";
import type { OrientedBox } from "../../server/src/engine/geometry/box.js";
import { gapArc, gapLine } from "../../server/src/engine/geometry/sweep.js";
import type { ToolPart } from "../../server/src/engine/geometry/tool.js";
import type { Vec3 } from "../../server/src/engine/geometry/vector.js";
import { boxOf, cone, cylinder, onArc, random, turned } from "../support/solids.js";

/**
 * The swept tool as a mesh of a general-purpose solid library (manifold-3d, Apache-2.0), against the engine's distances.
 * Its cylinders are inscribed polygons, so its tool is thinner by up to R(1 − cos(π/n)); verdicts are compared only
 * outside that and a band of 0.001 mm, as the library's answers at a touch say nothing (check-values 5.1).
 */
const SIDES = 96;
const BAND = 0.001;
/** The library's share of the work takes its time on a busy machine, ms. */
const LONG = 180_000;

let wasm: Awaited<ReturnType<typeof Module>>;
beforeAll(async () => {
  wasm = await Module();
  wasm.setup();
});

/** The solids made by `work` are freed after it. */
function scoped<T>(work: (own: (s: Solid) => Solid) => T): T {
  const owned: Solid[] = [];
  try {
    return work((s) => {
      owned.push(s);
      return s;
    });
  } finally {
    for (const s of owned) s.delete();
  }
}

type Own = (s: Solid) => Solid;

function toolAt(t: ToolPart, p: Vec3, own: Own, sides = SIDES): Solid {
  // The library wants a lower radius above 0; a tip of a millionth of a millimetre is below every tolerance here.
  const made = own(wasm.Manifold.cylinder(t.to - t.from, Math.max(t.bottomRadius, 1e-6), Math.max(t.topRadius, 1e-6), sides));
  return own(made.translate([p[0], p[1], p[2] + t.from]));
}

function boxSolid(b: OrientedBox, own: Own): Solid {
  const { from, to } = b.box;
  const f = b.frame;
  const cube = own(wasm.Manifold.cube([to[0] - from[0], to[1] - from[1], to[2] - from[2]]));
  const placed = own(cube.translate([from[0], from[1], from[2]]));
  return own(placed.transform([...f.x, 0, ...f.y, 0, ...f.z, 0, ...f.origin, 1]));
}

const polygonError = (t: ToolPart, sides = SIDES): number => Math.max(t.bottomRadius, t.topRadius) * (1 - Math.cos(Math.PI / sides));

interface Case {
  readonly part: ToolPart;
  readonly box: OrientedBox;
  readonly from: Vec3;
  readonly to: Vec3;
}

function caseOf(r: () => number, upright: boolean): Case {
  const u = (a: number, b: number): number => a + (b - a) * r();
  const m = upright ? turned(0, r() < 0.3 ? 90 : 0, u(0, 360)) : turned(u(0, 360), u(0, 360), u(0, 360));
  const part = r() < 0.6 ? cylinder(u(0.5, 10), 0, u(5, 40)) : cone(r() < 0.7 ? 0 : u(0.5, 8), u(0.5, 8), 0, u(2, 12));
  const p = (): Vec3 => [u(-40, 40), u(-40, 40), u(-30, 30)];
  const from = p();
  const kind = r();
  const other = p();
  const to: Vec3 = kind < 0.3 ? [other[0], other[1], from[2]] : kind < 0.5 ? [from[0], from[1], other[2]] : other;
  return {
    part,
    from,
    to,
    box: boxOf([u(-30, -1), u(-30, -1), u(-30, -1)], [u(0, 10), u(0, 10), u(0, 10)], [u(-5, 5), u(-5, 5), u(-5, 5)], m),
  };
}

describe("swept tools against manifold-3d", () => {
  for (const upright of [true, false]) {
    it(
      `straight moves, ${upright ? "upright" : "turned"} boxes: the same verdict, the same gap`,
      () => {
        const r = random(upright ? 101 : 102);
        const seen = { free: 0, met: 0, band: 0 };
        for (let i = 0; i < 2000; i++) {
          const c = caseOf(r, upright);
          const gap = gapLine(c.part, c.from, c.to, c.box);
          const error = polygonError(c.part) + BAND;
          scoped((own) => {
            const sweep = own(wasm.Manifold.hull([toolAt(c.part, c.from, own), toolAt(c.part, c.to, own)]));
            const box = boxSolid(c.box, own);
            const meets = own(sweep.intersect(box)).volume() > 0;
            if (gap.distance > BAND) {
              seen.free++;
              expect(meets, JSON.stringify(c)).toBe(false);
              if (gap.distance < 60) {
                const theirs = sweep.minGap(box, 100);
                expect(theirs, JSON.stringify(c)).toBeGreaterThan(gap.distance - 1e-4);
                expect(theirs, JSON.stringify(c)).toBeLessThan(gap.distance + error);
              }
            } else if (gap.distance === 0 && gap.depth > error) {
              seen.met++;
              expect(meets, JSON.stringify(c)).toBe(true);
            } else {
              seen.band++;
            }
          });
        }
        // The cases must really be of both sorts.
        expect(seen.free).toBeGreaterThan(300);
        expect(seen.met).toBeGreaterThan(300);
        expect(seen.band).toBeLessThan(60);
      },
      LONG,
    );
  }

  it(
    "near a touch: moves shifted so that the gap is a few hundredths either way",
    () => {
      const r = random(103);
      let compared = 0;
      for (let i = 0; i < 1000; i++) {
        const c = caseOf(r, i % 2 === 0);
        const first = gapLine(c.part, c.from, c.to, c.box).distance;
        if (first === 0) continue;
        // Shift the box toward the tool along the direction of approach, found by differences.
        const h = 1e-5;
        const at = (d: Vec3): number => gapLine(c.part, c.from, c.to, shifted(c.box, d)).distance;
        const g: Vec3 = [(at([h, 0, 0]) - first) / h, (at([0, h, 0]) - first) / h, (at([0, 0, h]) - first) / h];
        const l = Math.hypot(...g);
        if (Math.abs(l - 1) > 1e-3) continue;
        const wanted = (r() - 0.5) * 0.4;
        const s = (first - wanted) / l;
        const box = shifted(c.box, [-g[0] * s, -g[1] * s, -g[2] * s]);
        const gap = gapLine(c.part, c.from, c.to, box);
        const error = polygonError(c.part) + BAND;
        scoped((own) => {
          const sweep = own(wasm.Manifold.hull([toolAt(c.part, c.from, own), toolAt(c.part, c.to, own)]));
          const meets = own(sweep.intersect(boxSolid(box, own))).volume() > 0;
          if (gap.distance > BAND) expect(meets, JSON.stringify({ ...c, box })).toBe(false);
          else if (gap.distance === 0 && wanted < -2 * error) expect(meets, JSON.stringify({ ...c, box })).toBe(true);
          else return;
          compared++;
        });
      }
      expect(compared).toBeGreaterThan(400);
    },
    LONG,
  );

  it(
    "arcs and helices in the three planes, cut in chords: R(1 − cos(Δ/2)) is all they may be off",
    () => {
      const r = random(104);
      const u = (a: number, b: number): number => a + (b - a) * r();
      const seen = { free: 0, met: 0 };
      const chords = 24;
      for (let i = 0; i < 240; i++) {
        const { part, box } = caseOf(r, i % 2 === 0);
        const plane = ([17, 18, 19] as const)[i % 3] as 17 | 18 | 19;
        const centre: Vec3 = [u(-40, 40), u(-40, 40), u(-40, 40)];
        const [a, b] = plane === 17 ? [0, 1] : plane === 18 ? [2, 0] : [1, 2];
        const radius = u(2, 25);
        const begin = u(0, 2 * Math.PI);
        const from: [number, number, number] = [centre[0], centre[1], centre[2]];
        from[a as number] = (centre[a as number] as number) + radius * Math.cos(begin);
        from[b as number] = (centre[b as number] as number) + radius * Math.sin(begin);
        const sweep = u(-360, 360);
        const rise = r() < 0.5 ? 0 : u(-20, 20);
        const at = (t: number): Vec3 => onArc(from, centre, sweep, plane, rise, t);
        const gap = gapArc(part, { from, to: at(1), centre, sweep, plane }, box);
        const sagitta = radius * (1 - Math.cos((Math.abs(sweep) * Math.PI) / 180 / chords / 2));
        const sides = 48;
        const error = polygonError(part, sides) + sagitta + BAND;
        scoped((own) => {
          const solid = boxSolid(box, own);
          let theirs = Number.POSITIVE_INFINITY;
          let meets = false;
          for (let k = 0; k < chords; k++) {
            const piece = own(
              wasm.Manifold.hull([toolAt(part, at(k / chords), own, sides), toolAt(part, at((k + 1) / chords), own, sides)]),
            );
            if (own(piece.intersect(solid)).volume() > 0) {
              meets = true;
              break;
            }
            theirs = Math.min(theirs, piece.minGap(solid, 120));
          }
          const told = JSON.stringify({ part, box, from, centre, sweep, plane, rise });
          if (gap.distance > error) {
            seen.free++;
            expect(meets, told).toBe(false);
            expect(Math.abs(theirs - gap.distance), told).toBeLessThan(error);
          } else if (gap.distance === 0 && gap.depth > error) {
            seen.met++;
            expect(meets, told).toBe(true);
          }
        });
      }
      expect(seen.free).toBeGreaterThan(25);
      expect(seen.met).toBeGreaterThan(25);
    },
    LONG,
  );
});

function shifted(b: OrientedBox, d: Vec3): OrientedBox {
  const o = b.frame.origin;
  return { box: b.box, frame: { ...b.frame, origin: [o[0] + d[0], o[1] + d[1], o[2] + d[2]] } };
}
