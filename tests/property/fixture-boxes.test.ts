import fc from "fast-check";
import Module from "manifold-3d";
import { beforeAll, expect, it } from "vitest";
import { distanceOf, meet, separation } from "../../server/src/engine/fixture/boxes.js";
import type { OrientedBox } from "../../server/src/engine/geometry/box.js";
import type { Frame } from "../../server/src/engine/geometry/frame.js";

let Manifold: Awaited<ReturnType<typeof Module>>["Manifold"];
beforeAll(async () => {
  const wasm = await Module();
  wasm.setup();
  Manifold = wasm.Manifold;
});

/** Verdicts are compared outside this band around touch, mm: the library works in triangles and its own tolerance. */
const BAND = 0.001;
const RUNS = 1500;

interface Sample {
  readonly size: readonly [number, number, number];
  readonly angles: readonly [number, number, number];
  readonly at: readonly [number, number, number];
}

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true, noDefaultInfinity: true });
/** Whole quarters as often as other angles, since on a tombstone they are the rule. */
const angle = fc.oneof(fc.constantFrom(0, 90, 180, 270), number(-180, 180));
const sample: fc.Arbitrary<Sample> = fc.record({
  size: fc.tuple(number(1, 40), number(1, 40), number(1, 40)),
  angles: fc.tuple(angle, angle, angle),
  at: fc.tuple(number(-30, 30), number(-30, 30), number(-30, 30)),
});

/** Axes of the library's rotate(): about X, then Y, then Z, degrees. Written here on its own, apart from the engine. */
function frameOf(s: Sample): Frame {
  const [a, b, c] = s.angles.map((d) => (d * Math.PI) / 180) as [number, number, number];
  const turned = (p: readonly [number, number, number]): [number, number, number] => {
    const y1 = p[1] * Math.cos(a) - p[2] * Math.sin(a);
    const z1 = p[1] * Math.sin(a) + p[2] * Math.cos(a);
    const x2 = p[0] * Math.cos(b) + z1 * Math.sin(b);
    const z2 = -p[0] * Math.sin(b) + z1 * Math.cos(b);
    return [x2 * Math.cos(c) - y1 * Math.sin(c), x2 * Math.sin(c) + y1 * Math.cos(c), z2];
  };
  return { origin: s.at, x: turned([1, 0, 0]), y: turned([0, 1, 0]), z: turned([0, 0, 1]) };
}

function oriented(s: Sample): OrientedBox {
  const [x, y, z] = s.size;
  return { frame: frameOf(s), box: { from: [-x / 2, -y / 2, -z / 2], to: [x / 2, y / 2, z / 2] } };
}

function solid(s: Sample) {
  return Manifold.cube([...s.size], true)
    .rotate([...s.angles])
    .translate([...s.at]);
}

it("two boxes of any orientation meet exactly where the solid library finds a common volume", () => {
  let met = 0;
  let compared = 0;
  fc.assert(
    fc.property(sample, sample, (p, q) => {
      const ours = separation(oriented(p), oriented(q));
      if (Math.abs(ours) < BAND) return;
      const a = solid(p);
      const b = solid(q);
      const common = a.intersect(b);
      const volume = common.volume();
      for (const m of [a, b, common]) m.delete();
      compared++;
      if (ours < 0) met++;
      expect(volume > 0, `separation ${ours}, common volume ${volume}`).toBe(ours < 0);
      expect(meet(oriented(p), oriented(q))).toBe(ours < 0);
    }),
    { numRuns: RUNS, seed: 20260103 },
  );
  // Both verdicts must have been looked at, or the test says nothing.
  expect(met).toBeGreaterThan(RUNS / 5);
  expect(compared - met).toBeGreaterThan(RUNS / 5);
});

it("their distance is the library's least gap", () => {
  let apart = 0;
  fc.assert(
    fc.property(sample, sample, (p, q) => {
      const ours = distanceOf(oriented(p), oriented(q));
      if (ours < BAND || ours > 50) return;
      const a = solid(p);
      const b = solid(q);
      const theirs = a.minGap(b, 60);
      for (const m of [a, b]) m.delete();
      apart++;
      expect(Math.abs(ours - theirs), `ours ${ours}, theirs ${theirs}`).toBeLessThan(BAND);
    }),
    { numRuns: RUNS, seed: 20260104 },
  );
  expect(apart).toBeGreaterThan(RUNS / 5);
});

it("touching boxes neither meet nor are apart", () => {
  const box = (x: number): OrientedBox => ({
    frame: { origin: [x, 0, 0], x: [1, 0, 0], y: [0, 1, 0], z: [0, 0, 1] },
    box: { from: [0, 0, 0], to: [10, 10, 10] },
  });
  expect(meet(box(0), box(10))).toBe(false);
  expect(distanceOf(box(0), box(10))).toBe(0);
  expect(meet(box(0), box(9.9995))).toBe(false);
  expect(meet(box(0), box(9.9985))).toBe(true);
  expect(distanceOf(box(0), box(12.5))).toBe(2.5);
});
