import fc from "fast-check";
import { describe, expect, it } from "vitest";
import {
  type Arc,
  type ArcFailure,
  arcExtremes,
  arcFromCentre,
  arcFromRadius,
  isArcFailure,
  type PlanePoint3,
  pointOnArc,
} from "../../server/src/engine/machine/arcs.js";
import { createCompensator, type PathElement } from "../../server/src/engine/machine/compensation.js";
import { type CycleInput, cyclePositions, expandCycle, isCycleFailure } from "../../server/src/engine/machine/cycles.js";
import { rapidPolylines } from "../../server/src/engine/machine/rapid.js";
import { rapidSeconds, restToRestSeconds } from "../../server/src/engine/machine/times.js";

const RUNS = { seed: 841, numRuns: 2000 };

const coordinate = fc.integer({ min: -500_000, max: 500_000 }).map((n) => n / 1000);
const point3 = fc.tuple(coordinate, coordinate, coordinate);
const size = fc.integer({ min: 10, max: 300_000 }).map((n) => n / 1000);
const angle = fc.integer({ min: 0, max: 359_999 }).map((n) => n / 1000);
const radians = (degrees: number) => (degrees * Math.PI) / 180;

function good(result: Arc | ArcFailure): Arc {
  if (isArcFailure(result)) throw new Error(result.error);
  return result;
}

/** An arc known by its angles: the oracle is how it was made, not what the code makes of it. */
const made = fc.record({
  centre: fc.tuple(coordinate, coordinate),
  radius: size,
  from: angle,
  by: fc.integer({ min: 100, max: 359_900 }).map((n) => n / 1000),
  clockwise: fc.boolean(),
  low: coordinate,
  rise: coordinate,
});

function ends(m: { centre: [number, number]; radius: number; from: number; by: number; clockwise: boolean; low: number; rise: number }) {
  const at = (degrees: number, w: number): PlanePoint3 => [
    m.centre[0] + m.radius * Math.cos(radians(degrees)),
    m.centre[1] + m.radius * Math.sin(radians(degrees)),
    w,
  ];
  const sweep = m.clockwise ? -m.by : m.by;
  return { start: at(m.from, m.low), end: at(m.from + sweep, m.low + m.rise), sweep };
}

describe("arcs", () => {
  it("the centre form gives the sweep the arc was made with, and its lengths", () => {
    fc.assert(
      fc.property(made, (m) => {
        const { start, end, sweep } = ends(m);
        const arc = good(
          arcFromCentre({ start, end, centre: m.centre, clockwise: m.clockwise, fullCircleAllowed: true, tolerance: 0.002 }),
        );
        expect(arc.sweep).toBeCloseTo(sweep, 4);
        expect(arc.radius).toBeCloseTo(m.radius, 9);
        expect(arc.endRadius).toBeCloseTo(m.radius, 9);
        expect(arc.planeLength).toBeCloseTo(m.radius * radians(m.by), 5);
        expect(arc.length).toBeCloseTo(Math.hypot(m.radius * radians(m.by), m.rise), 5);
      }),
      RUNS,
    );
  });

  it("the radius form finds the centre the arc was made with, away from the semicircle", () => {
    fc.assert(
      fc.property(made, (m) => {
        fc.pre(m.by > 5 && m.by < 355 && Math.abs(m.by - 180) > 1 && m.radius > 1);
        const { start, end, sweep } = ends(m);
        const radius = m.by > 180 ? -m.radius : m.radius;
        const arc = good(arcFromRadius({ start, end, radius, clockwise: m.clockwise, tolerance: 0.002 }));
        expect(Math.hypot(arc.centre[0] - m.centre[0], arc.centre[1] - m.centre[1])).toBeLessThan(1e-6);
        expect(arc.sweep).toBeCloseTo(sweep, 4);
      }),
      RUNS,
    );
  });

  it("every point lies on the circle and the ends are met", () => {
    fc.assert(
      fc.property(made, fc.double({ min: 0, max: 1, noNaN: true }), (m, t) => {
        const { start, end } = ends(m);
        const arc = good(
          arcFromCentre({ start, end, centre: m.centre, clockwise: m.clockwise, fullCircleAllowed: true, tolerance: 0.002 }),
        );
        const p = pointOnArc(arc, t);
        expect(Math.hypot(p[0] - m.centre[0], p[1] - m.centre[1])).toBeCloseTo(m.radius, 6);
        expect(p[2]).toBeCloseTo(m.low + t * m.rise, 6);
        expect(pointOnArc(arc, 0)).toEqual(start);
        expect(pointOnArc(arc, 1)).toEqual(end);
        // Near the end the walk must arrive there, whichever way round it went.
        const almost = pointOnArc(arc, 1 - 1e-9);
        expect(Math.hypot(almost[0] - end[0], almost[1] - end[1])).toBeLessThan(1e-4);
      }),
      RUNS,
    );
  });

  it("walked backward it is the same arc with the other sign", () => {
    fc.assert(
      fc.property(made, (m) => {
        const { start, end } = ends(m);
        const common = { centre: m.centre, fullCircleAllowed: true, tolerance: 0.002 };
        const there = good(arcFromCentre({ ...common, start, end, clockwise: m.clockwise }));
        const back = good(arcFromCentre({ ...common, start: end, end: start, clockwise: !m.clockwise }));
        expect(back.sweep).toBeCloseTo(-there.sweep, 9);
        expect(back.length).toBeCloseTo(there.length, 6);
      }),
      RUNS,
    );
  });

  it("the box holds every point and is touched on all sides", () => {
    fc.assert(
      fc.property(made, (m) => {
        const { start, end, sweep } = ends(m);
        const { min, max } = arcExtremes({ start, end, centre: m.centre, sweep });
        const seen: { low: [number, number]; high: [number, number] } = {
          low: [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY],
          high: [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY],
        };
        const steps = 720;
        for (let n = 0; n <= steps; n++) {
          const degrees = m.from + (sweep * n) / steps;
          const p = [m.centre[0] + m.radius * Math.cos(radians(degrees)), m.centre[1] + m.radius * Math.sin(radians(degrees))] as const;
          for (const axis of [0, 1] as const) {
            expect(p[axis]).toBeGreaterThanOrEqual(min[axis] - 1e-6);
            expect(p[axis]).toBeLessThanOrEqual(max[axis] + 1e-6);
            seen.low[axis] = Math.min(seen.low[axis], p[axis]);
            seen.high[axis] = Math.max(seen.high[axis], p[axis]);
          }
        }
        // A step of at most half a degree misses a summit by no more than R(1 - cos 0.25°).
        const missed = m.radius * 1e-5 + 1e-6;
        for (const axis of [0, 1] as const) {
          expect(seen.low[axis] - min[axis]).toBeLessThan(missed);
          expect(max[axis] - seen.high[axis]).toBeLessThan(missed);
        }
      }),
      { seed: RUNS.seed, numRuns: 200 },
    );
  });

  it("any numbers at all give an arc or an error, never an exception", () => {
    const wild = fc.oneof(fc.double(), fc.constant(Number.NaN), fc.constant(0), coordinate);
    const wild3 = fc.tuple(wild, wild, wild);
    fc.assert(
      fc.property(wild3, wild3, fc.tuple(wild, wild), wild, fc.boolean(), (start, end, centre, radius, clockwise) => {
        const one = arcFromCentre({ start, end, centre, clockwise, fullCircleAllowed: true, tolerance: 0.002 });
        const two = arcFromRadius({ start, end, radius, clockwise, tolerance: 0.002 });
        for (const result of [one, two]) {
          if (isArcFailure(result)) continue;
          arcExtremes(result);
          pointOnArc(result, 0.5);
        }
      }),
      RUNS,
    );
  });
});

describe("cycles", () => {
  const input = fc.record({
    from: point3,
    positions: fc.array(fc.tuple(coordinate, coordinate), { minLength: 1, maxLength: 4 }),
    r: coordinate,
    depth: fc.integer({ min: 1, max: 100_000 }).map((n) => n / 1000),
    q: fc.integer({ min: 500, max: 50_000 }).map((n) => n / 1000),
    p: fc.constantFrom(0, 0.5),
    returnLevel: fc.constantFrom<98 | 99>(98, 99),
    backOff: fc.integer({ min: 1, max: 2000 }).map((n) => n / 1000),
    peckRetract: fc.constantFrom<"R" | "initial">("R", "initial"),
    style: fc.constantFrom<"rs274ngc" | "common">("rs274ngc", "common"),
  });
  const plain = ["G73", "G74", "G76", "G81", "G82", "G83", "G84", "G85", "G86", "G88", "G89"] as const;

  const build = (v: typeof input extends fc.Arbitrary<infer T> ? T : never): CycleInput & { r: number; z: number } => ({
    from: v.from,
    positions: v.positions,
    r: v.r,
    z: v.r - v.depth,
    q: v.q,
    p: v.p,
    shift: [0.25, undefined],
    returnLevel: v.returnLevel,
    initialLevel: v.from[2],
    backOff: v.backOff,
    peckRetract: v.peckRetract,
    style: v.style,
    spindle: "cw",
  });

  it("end over the last hole at the clear level, touch each depth once, and leave no gap", () => {
    fc.assert(
      fc.property(input, fc.constantFrom(...plain), (values, code) => {
        const given = build(values);
        const result = expandCycle(code, given);
        if (isCycleFailure(result)) throw new Error(result.error);
        const last = given.positions.at(-1);
        const clear = given.returnLevel === 99 ? given.r : Math.max(given.r, given.from[2]);
        expect(result.end[0]).toBeCloseTo(last?.[0] ?? Number.NaN, 6);
        expect(result.end[1]).toBeCloseTo(last?.[1] ?? Number.NaN, 6);
        expect(result.end[2]).toBeCloseTo(clear, 6);
        let at: PlanePoint3 = given.from;
        let bottoms = 0;
        for (const move of result.moves) {
          if (move.kind === "dwell") {
            expect(move.to).toEqual(at);
            continue;
          }
          const across = Math.hypot(move.to[0] - at[0], move.to[1] - at[1]);
          const along = Math.abs(move.to[2] - at[2]);
          expect(across + along).toBeGreaterThan(0);
          // No move is both across and along, and none cuts across.
          expect(Math.min(across, along)).toBe(0);
          if (move.kind === "feed") expect(across).toBe(0);
          // Nothing is below R but the hole itself, and nothing goes below Z.
          expect(move.to[2]).toBeGreaterThanOrEqual(given.z);
          if (move.kind === "feed" && move.to[2] === given.z) bottoms++;
          // A rapid never goes down into material: only to R, or back down to where the tool has been.
          if (move.kind === "rapid" && move.to[2] < at[2]) expect(move.to[2]).toBeGreaterThan(given.z);
          at = move.to;
        }
        expect(bottoms).toBe(given.positions.length);
        expect(at).toEqual(result.end);
      }),
      RUNS,
    );
  });

  it("pecks are at most Q deep, all but the last exactly Q, and sum up to the depth", () => {
    fc.assert(
      fc.property(input, fc.constantFrom("G73" as const, "G83" as const), (values, code) => {
        const given = { ...build(values), positions: values.positions.slice(0, 1) };
        const result = expandCycle(code, given);
        if (isCycleFailure(result)) throw new Error(result.error);
        let reached = given.r;
        const pecks: number[] = [];
        for (const move of result.moves) {
          if (move.kind !== "feed") continue;
          pecks.push(reached - move.to[2]);
          reached = move.to[2];
        }
        expect(reached).toBe(given.z);
        expect(pecks.length).toBe(Math.ceil(Number((values.depth / values.q).toFixed(9))));
        for (const peck of pecks.slice(0, -1)) expect(peck).toBeCloseTo(values.q, 6);
        expect(pecks.at(-1)).toBeLessThan(values.q + 1e-6);
        expect(pecks.at(-1)).toBeGreaterThan(0);
      }),
      RUNS,
    );
  });

  it("increments add up", () => {
    fc.assert(
      fc.property(point3, point3, fc.integer({ min: 1, max: 50 }), (from, target, repeats) => {
        const positions = cyclePositions({
          from: [from[0], from[1]],
          target: [target[0], target[1]],
          incremental: true,
          repeats,
          zeroAllowed: true,
        });
        if (isCycleFailure(positions)) throw new Error(positions.error);
        expect(positions).toHaveLength(repeats);
        expect(positions.at(-1)?.[0]).toBeCloseTo(from[0] + repeats * target[0], 6);
        expect(positions.at(-1)?.[1]).toBeCloseTo(from[1] + repeats * target[1], 6);
      }),
      RUNS,
    );
  });

  it("any numbers at all give moves or an error, never an exception or an endless list", () => {
    const wild = fc.oneof(fc.double(), fc.constant(Number.NaN), coordinate, fc.constant(undefined));
    const number = fc.oneof(fc.double(), fc.constant(Number.NaN), coordinate);
    fc.assert(
      fc.property(
        fc.constantFrom(...plain, "G87", "G80"),
        fc.record({
          from: fc.tuple(number, number, number),
          positions: fc.array(fc.tuple(number, number), { maxLength: 3 }),
          r: wild,
          z: wild,
          q: wild,
          p: wild,
          k: wild,
          shift: fc.tuple(wild, wild),
          returnLevel: fc.constantFrom<98 | 99>(98, 99),
          initialLevel: number,
          backOff: number,
          peckRetract: fc.constantFrom<"R" | "initial">("R", "initial"),
          style: fc.constantFrom<"rs274ngc" | "common">("rs274ngc", "common"),
        }),
        (code, given) => {
          const result = expandCycle(code, given);
          if (!isCycleFailure(result)) expect(result.moves.length).toBeLessThanOrEqual(200_100);
        },
      ),
      { seed: RUNS.seed, numRuns: 500 },
    );
  });
});

describe("rapids", () => {
  const rates = fc.record({
    X: fc.integer({ min: 1000, max: 60_000 }),
    Y: fc.integer({ min: 1000, max: 60_000 }),
    Z: fc.integer({ min: 1000, max: 60_000 }),
  });

  it("every path begins and ends where it should, and no axis ever turns back", () => {
    fc.assert(
      fc.property(
        point3,
        point3,
        rates,
        fc.constantFrom<"straight" | "independent" | "either">("straight", "independent", "either"),
        (from, to, rate, mode) => {
          const paths = rapidPolylines(from, to, rate, mode);
          expect(paths.length).toBeLessThanOrEqual(mode === "either" ? 2 : 1);
          for (const path of paths) {
            expect(path[0]).toEqual(from);
            expect(path.at(-1)).toEqual(to);
            expect(path.length).toBeLessThanOrEqual(4);
            for (const axis of [0, 1, 2] as const) {
              const way = Math.sign(to[axis] - from[axis]);
              for (let n = 1; n < path.length; n++) {
                const step = (path[n]?.[axis] ?? Number.NaN) - (path[n - 1]?.[axis] ?? Number.NaN);
                expect(step * way).toBeGreaterThanOrEqual(way === 0 ? 0 : -1e-9);
              }
            }
          }
        },
      ),
      RUNS,
    );
  });

  it("on an independent path each axis is at its rate times the time, or done", () => {
    fc.assert(
      fc.property(point3, point3, rates, (from, to, rate) => {
        const [path] = rapidPolylines(from, to, rate, "independent");
        const v = [rate.X, rate.Y, rate.Z] as const;
        let time = 0;
        for (let n = 1; n < (path?.length ?? 0); n++) {
          const before = path?.[n - 1] ?? from;
          const after = path?.[n] ?? to;
          // A segment lasts as long as its slowest axis; all others move at their rate meanwhile, or stand still at the end.
          const lasts = Math.max(...([0, 1, 2] as const).map((axis) => Math.abs(after[axis] - before[axis]) / v[axis]));
          time += lasts;
          for (const axis of [0, 1, 2] as const) {
            const due = Math.min(Math.abs(to[axis] - from[axis]), v[axis] * time);
            expect(Math.abs(after[axis] - from[axis])).toBeCloseTo(due, 3);
          }
        }
        expect(time * 60).toBeCloseTo(rapidSeconds({ from, to, rates: rate, accelerations: {}, mode: "independent" }), 5);
      }),
      RUNS,
    );
  });

  it("together the axes are never faster than alone, and no axis exceeds its rate on the straight path", () => {
    fc.assert(
      fc.property(point3, point3, rates, (from, to, rate) => {
        const move = { from, to, rates: rate, accelerations: {} };
        const straight = rapidSeconds({ ...move, mode: "straight" });
        const independent = rapidSeconds({ ...move, mode: "independent" });
        expect(straight).toBeGreaterThanOrEqual(independent * (1 - 1e-12));
        // √3: three axes of the same share.
        expect(straight).toBeLessThanOrEqual(independent * Math.sqrt(3) * (1 + 1e-12));
        expect(rapidSeconds({ ...move, mode: "either" })).toBe(Math.max(straight, independent));
      }),
      RUNS,
    );
  });
});

describe("from rest to rest", () => {
  const rate = fc.integer({ min: 60, max: 60_000 });
  const acceleration = fc.integer({ min: 100, max: 20_000 });

  it("lies between no ramps at all and both ramps in full, and grows with the distance", () => {
    fc.assert(
      fc.property(size, rate, acceleration, acceleration, (d, v, a, b) => {
        const time = restToRestSeconds(d, v, a, b);
        const bare = (d * 60) / v;
        expect(time).toBeGreaterThanOrEqual(bare);
        expect(time).toBeLessThanOrEqual(bare + (v / 60 / 2) * (1 / a + 1 / b) + 1e-9);
        expect(restToRestSeconds(d * 1.01, v, a, b)).toBeGreaterThan(time);
        expect(restToRestSeconds(-d, v, a, b)).toBe(time);
      }),
      RUNS,
    );
  });

  it("both forms agree where they meet", () => {
    fc.assert(
      fc.property(rate, acceleration, (v, a) => {
        const meet = (v / 60) ** 2 / a;
        const below = restToRestSeconds(meet * (1 - 1e-9), v, a);
        const above = restToRestSeconds(meet * (1 + 1e-9), v, a);
        expect(Math.abs(above - below)).toBeLessThan(1e-6 * above);
        // At the meeting place the mean speed is half the rate: t = 2·d/v.
        expect(above).toBeCloseTo((2 * meet) / (v / 60), 6);
      }),
      RUNS,
    );
  });
});

describe("cutter compensation", () => {
  const element = fc.oneof(
    fc.record({ kind: fc.constant("line" as const), to: point3, tag: fc.constant(0) }),
    fc.record({
      kind: fc.constant("arc" as const),
      to: point3,
      centre: fc.tuple(coordinate, coordinate),
      sweep: fc.double({ min: -720, max: 720, noNaN: true }),
      tag: fc.constant(0),
    }),
  );

  it("any path at all gives a continuous centre path, in the order of its elements, without an exception", () => {
    fc.assert(
      fc.property(
        fc.array(element, { maxLength: 12 }),
        point3,
        fc.constantFrom<"left" | "right">("left", "right"),
        fc.double({ min: -30, max: 30, noNaN: true }),
        fc.constantFrom<"rs274ngc" | "common">("rs274ngc", "common"),
        fc.constantFrom<"arc" | "intersection">("arc", "intersection"),
        (path, position, side, radius, style, corner) => {
          const compensator = createCompensator<number>({ side, radius, position, style, corner });
          const out = path.flatMap((part, n) => compensator.push({ ...part, tag: n } as PathElement<number>).elements);
          out.push(...compensator.flush().elements);
          let at = position;
          let tag = -1;
          for (const part of out) {
            for (const axis of [0, 1, 2] as const) {
              if (!Number.isNaN(at[axis])) expect(part.from[axis]).toBeCloseTo(at[axis], 6);
            }
            expect(part.tag).toBeGreaterThanOrEqual(tag);
            at = [...part.to];
            tag = part.tag;
          }
          // Every element of the program has given at least one of the centre path.
          expect(new Set(out.map((part) => part.tag)).size).toBe(path.length);
        },
      ),
      RUNS,
    );
  });

  it("the tool never leaves the distance of one radius from a corner it goes round", () => {
    fc.assert(
      fc.property(fc.array(point3, { minLength: 3, maxLength: 10 }), size, (points, radius) => {
        const compensator = createCompensator<number>({ side: "left", radius, position: [0, 0, 0], style: "common" });
        const out = points.flatMap((to, n) => compensator.push({ kind: "line", to, tag: n }).elements);
        out.push(...compensator.flush().elements);
        for (const part of out) {
          if (part.kind !== "arc" || !part.centre) continue;
          for (const end of [part.from, part.to]) {
            expect(Math.hypot(end[0] - part.centre[0], end[1] - part.centre[1])).toBeCloseTo(radius, 6);
          }
        }
      }),
      RUNS,
    );
  });
});
