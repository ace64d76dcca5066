import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { fixtureAllows } from "../../server/src/engine/fixture/allows.js";
import { discoverFixture } from "../../server/src/engine/fixture/discover.js";
import type { Fixture } from "../../server/src/engine/fixture/model.js";
import { allSolids, solidAt, swingRadius } from "../../server/src/engine/fixture/solids.js";
import { corners } from "../../server/src/engine/geometry/box.js";
import { hostOf, isInside, load, plate, SIDECAR, tombstone } from "../cases/fixtures/samples.js";

/** Every sidecar gives these, whatever is in it. */
function look(f: Fixture, text: string): void {
  for (const n of f.notes) {
    if (n.place.file === SIDECAR) expect(isInside(text, n.place), `${n.message.key} ${JSON.stringify(n.place.range)}`).toBe(true);
    for (const r of n.related) if (r.place.file === SIDECAR) expect(isInside(text, r.place)).toBe(true);
  }
  swingRadius(f);
  for (const s of allSolids(f)) solidAt(f, s, 45);
  for (const s of f.stations) f.offsetName(s.offset ?? "G54");
  expect(f.complete).toBe(!f.notes.some((n) => n.rule === "fixture-format"));
}

/** Sorted keys of every place in a value, as paths. */
function paths(value: unknown, at: (string | number)[] = []): (string | number)[][] {
  if (Array.isArray(value)) return [at, ...value.flatMap((v, i) => paths(v, [...at, i]))];
  if (typeof value !== "object" || value === null) return [at];
  return [at, ...Object.entries(value).flatMap(([k, v]) => (v === undefined ? [] : paths(v, [...at, k])))];
}

function put(root: unknown, path: readonly (string | number)[], value: unknown): void {
  const last = path[path.length - 1];
  if (last === undefined) return;
  let at = root as Record<string | number, unknown>;
  for (const key of path.slice(0, -1)) at = at[key] as Record<string | number, unknown>;
  if (value === undefined && !Array.isArray(at)) delete at[last];
  else at[last] = value;
}

const full = () => ({
  ...tombstone(),
  tools: { "1": { DC: 16, APMX: 32, LF: 120, shank: { D: 16, L: 50 }, holder: [{ D: 40, L: 40 }], H: 1, D: 1 } },
  offsets: { values: { G54: { X: -520, Y: -385 } }, trim: { G55: { X: 0.01 } }, zFrom: { base: "front" } },
  obstacles: [{ name: "probe", base: null, box: { from: [0, 0, 0], to: [1, 2, 3] } }],
  datums: { G59: "park" },
  levels: { "clamp-cut": "warning" },
});

describe("any text", () => {
  it("any characters give a fixture and findings, never an error", () => {
    const jsonish = fc.stringMatching(/^[{}[\]",:0-9a-z\s/*\\.+-]{0,80}$/);
    fc.assert(
      fc.property(fc.oneof(fc.string({ unit: "binary" }), jsonish), (text) => {
        look(load(text), text);
        fixtureAllows(text);
        discoverFixture(hostOf({ [SIDECAR]: text }), "/shop/a.nc", text);
      }),
      { numRuns: 1500, seed: 20260105 },
    );
  });
  it("any JSON value", () => {
    fc.assert(
      fc.property(fc.json({ maxDepth: 5 }), (text) => {
        const f = load(text);
        look(f, text);
        expect(f.notes.length).toBeGreaterThan(0);
      }),
      { numRuns: 400, seed: 20260106 },
    );
  });
  it("a good sidecar cut anywhere is a finding inside the file", () => {
    const text = JSON.stringify(full(), null, 1);
    fc.assert(
      fc.property(fc.integer({ min: 0, max: text.length - 1 }), (end) => {
        const cut = text.slice(0, end);
        const f = load(cut);
        look(f, cut);
        expect(f.complete).toBe(false);
      }),
      { numRuns: 300, seed: 20260107 },
    );
  });
});

describe("a good sidecar, broken in one place", () => {
  const good = full();
  it("is good to begin with", () => expect(load(good).notes).toEqual([]));

  const all = paths(JSON.parse(JSON.stringify(good))).filter((p) => p.length > 0);
  it("a value of another kind is always a finding", () => {
    fc.assert(
      fc.property(fc.constantFrom(...all), fc.constantFrom<unknown>({ what: 1 }, [[]]), (path, wrong) => {
        const sample: unknown = JSON.parse(JSON.stringify(good));
        put(sample, path, wrong);
        const text = JSON.stringify(sample, null, 1);
        const f = load(text);
        look(f, text);
        expect(
          f.notes.some((n) => n.rule === "fixture-format"),
          `${path.join(".")} = ${JSON.stringify(wrong)}`,
        ).toBe(true);
      }),
      { numRuns: 600, seed: 20260108 },
    );
  });
  it("a misspelt key is always a finding, and names a key of the format", () => {
    const keyed = all.filter((p) => typeof p[p.length - 1] === "string");
    fc.assert(
      fc.property(fc.constantFrom(...keyed), (path) => {
        const sample: unknown = JSON.parse(JSON.stringify(good));
        const parent = path.slice(0, -1).reduce<unknown>((at, k) => (at as Record<string | number, unknown>)[k], sample) as Record<
          string,
          unknown
        >;
        const key = String(path[path.length - 1]);
        parent[`${key}q`] = parent[key];
        delete parent[key];
        const text = JSON.stringify(sample, null, 1);
        const f = load(text);
        look(f, text);
        // The names of elements are the user's own: renamed, it is the reference that finds nothing, if there is one.
        const named = ["bases", "fixedJaws", "movingJaws", "endStops", "parts", "ops", "levels", "values", "trim", "datums", "tools"];
        const free = named.includes(String(path[path.length - 2]));
        if (!free) expect(f.notes.some((n) => n.message.key === "unknown-key")).toBe(true);
      }),
      { numRuns: 300, seed: 20260109 },
    );
  });
});

const number = (min: number, max: number) => fc.double({ min, max, noNaN: true, noDefaultInfinity: true });

describe("frames", () => {
  const reading = number(-720, 720);
  it("a whole turn more changes nothing, and presented is presented", () => {
    const f = load(tombstone());
    fc.assert(
      fc.property(reading, fc.constantFrom(-720, -360, 360, 1080), (at, turns) => {
        for (const s of allSolids(f)) {
          const one = corners(solidAt(f, s, at)).flat();
          const two = corners(solidAt(f, s, at + turns)).flat();
          one.forEach((v, i) => {
            expect(Math.abs(v - (two[i] ?? Number.NaN))).toBeLessThan(1e-8);
          });
        }
      }),
      { numRuns: 100, seed: 20260110 },
    );
    for (const s of f.stations.flatMap((x) => x.solids))
      expect(solidAt(f, s, f.bases[s.base === "back" ? 1 : 0]?.face ?? 0)).toBe(s.placed);
  });
  it("turning keeps the distance from the axis", () => {
    const f = load(tombstone());
    fc.assert(
      fc.property(reading, (at) => {
        const radius = (p: readonly number[]) => Math.hypot((p[0] ?? 0) + 500, (p[2] ?? 0) + 620);
        for (const s of f.stations.flatMap((x) => x.solids)) {
          const before = corners(s.placed);
          corners(solidAt(f, s, at)).forEach((p, i) => {
            expect(Math.abs(radius(p) - radius(before[i] ?? []))).toBeLessThan(1e-9);
          });
        }
      }),
      { numRuns: 100, seed: 20260111 },
    );
  });
});

describe("positions", () => {
  const shapes = fc.record({
    clamp: fc.constantFrom("+X", "+Y", "-X", "-Y"),
    at: fc.tuple(fc.integer({ min: 0, max: 17 }), fc.integer({ min: 0, max: 8 })),
    skew: fc.oneof(fc.constant(0), number(-2, 2)),
    pitch: fc.record({ x: number(10, 120), y: number(10, 120) }),
    step: fc.tuple(fc.integer({ min: -3, max: 3 }), fc.integer({ min: -3, max: 3 })),
  });
  const sampleOf = (s: { clamp: string; at: [number, number]; skew: number; pitch: { x: number; y: number } }) => {
    const sample = plate();
    sample.bases = { plate: { pitch: s.pitch, columns: 18, rows: 9, zero: { X: -930, Y: -470, Z: -450 }, skew: s.skew } };
    Object.assign(sample.stations[0] ?? {}, { clamp: s.clamp, at: s.at });
    return sample;
  };
  it("a station that moves by intersections moves its offset by as many pitches, turned by the skew", () => {
    fc.assert(
      fc.property(shapes, (s) => {
        const here = load(sampleOf(s)).stations[0]?.computed;
        const there = load(sampleOf({ ...s, at: [s.at[0] + s.step[0], s.at[1] + s.step[1]] })).stations[0]?.computed;
        const x = s.step[0] * s.pitch.x;
        const y = s.step[1] * s.pitch.y;
        const a = (s.skew * Math.PI) / 180;
        expect((there?.X ?? 0) - (here?.X ?? 0)).toBeCloseTo(x * Math.cos(a) - y * Math.sin(a), 8);
        expect((there?.Y ?? 0) - (here?.Y ?? 0)).toBeCloseTo(x * Math.sin(a) + y * Math.cos(a), 8);
        expect(there?.Z).toBe(here?.Z);
      }),
      { numRuns: 150, seed: 20260112 },
    );
  });
  it("the same fixture written in inches is the same fixture", () => {
    // Keys whose numbers are counts, indices, angles or times; everything else in the sample is a length.
    const notLengths = new Set(["columns", "rows", "at", "notch", "notches", "skew", "format"]);
    const toInch = (value: unknown, key: string): unknown => {
      if (Array.isArray(value)) return notLengths.has(key) ? value : value.map((v) => toInch(v, key));
      if (typeof value === "object" && value !== null) {
        return Object.fromEntries(Object.entries(value).map(([k, v]) => [k, k === "endStop" ? endStopInInch(v) : toInch(v, k)]));
      }
      return typeof value === "number" && !notLengths.has(key) ? value / 25.4 : value;
    };
    // The end stop's `at` is a length, the station's is not.
    const endStopInInch = (v: unknown): unknown => ({ ...(v as object), at: (v as { at: number }).at / 25.4 });
    fc.assert(
      fc.property(shapes, (s) => {
        const mm = load(sampleOf(s));
        const inch = load({ ...(toInch(sampleOf(s), "") as object), units: "inch" });
        const [a, b] = [mm.stations[0], inch.stations[0]];
        for (const axis of ["X", "Y", "Z"] as const) expect(b?.computed[axis]).toBeCloseTo(a?.computed[axis] ?? Number.NaN, 9);
        expect(b?.notch?.valid).toEqual(a?.notch?.valid);
        expect(b?.solids.map((x) => x.kind)).toEqual(a?.solids.map((x) => x.kind));
        a?.solids.forEach((x, i) => {
          const other = b?.solids[i]?.local;
          for (const k of [0, 1, 2] as const) {
            expect(other?.from[k]).toBeCloseTo(x.local.from[k], 9);
            expect(other?.to[k]).toBeCloseTo(x.local.to[k], 9);
          }
        });
        expect(inch.notes.map((n) => n.message.key)).toEqual(mm.notes.map((n) => n.message.key));
      }),
      { numRuns: 100, seed: 20260113 },
    );
  });
});
