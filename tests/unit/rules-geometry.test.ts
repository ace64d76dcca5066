/**
 * The geometric rules against brute force: solids are built here from the numbers of the sidecar (its page "Solids"), tool positions
 * are sampled densely along every move, and the verdicts must agree outside a band about each threshold. Nothing of the engine's
 * geometry, clearances or remaining material is used for the expected side; only the moves themselves are the engine's.
 */
import { describe, expect, test } from "vitest";
import { createContext } from "../../server/src/engine/checks/context.js";
import { type Incident, incidentsOf } from "../../server/src/engine/checks/lib/incidents.js";
import { swingVerdict } from "../../server/src/engine/checks/lib/index-sweep.js";
import { travelLimit } from "../../server/src/engine/checks/travel-limit.js";
import type { Vec3 } from "../../server/src/engine/geometry/vector.js";
import type { Move } from "../../server/src/engine/machine/move.js";
import { type Analysis, analyseNow } from "../../server/src/engine/program.js";
import { memoryHost } from "../support/cases.js";

/** A small generator of numbers that is the same everywhere (mulberry32). */
function generator(seed: number): () => number {
  let a = seed;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** An upright box of the test's own: a rectangle turned about machine Z, between two heights. */
interface Upright {
  readonly name: string;
  readonly station: number;
  readonly centre: readonly [number, number];
  readonly half: readonly [number, number];
  readonly angle: number;
  readonly low: number;
  readonly high: number;
}

/** Cylinder of a tool, above the tool point. */
interface Cylinder {
  readonly part: "cutting" | "shank" | "holder";
  readonly radius: number;
  readonly from: number;
  readonly to: number;
}

const CLAMPS = ["+X", "+Y", "-X", "-Y"] as const;
const AXES = { "+X": [1, 0, 0, 1], "+Y": [0, 1, -1, 0], "-X": [-1, 0, 0, -1], "-Y": [0, -1, 1, 0] } as const;

interface World {
  readonly sidecar: string;
  readonly solids: readonly Upright[];
  readonly tool: readonly Cylinder[];
  readonly zeros: readonly Vec3[];
  readonly rapidPath: "straight" | "independent";
}

/** Two stations on one base, with everything that the sidecar can put there. */
function world(random: () => number): World {
  const skew = random() < 0.5 ? 0 : (random() - 0.5) * 4;
  const clamp = CLAMPS[Math.floor(random() * 4)] as (typeof CLAMPS)[number];
  const [ux, uy, vx, vy] = AXES[clamp];
  const face = 15;
  const stock = { u: 30 + Math.round(random() * 30), v: 40 + Math.round(random() * 30), w: 20 + Math.round(random() * 20) };
  const seat = 20 + Math.round(random() * 10);
  const zero = { X: -700, Y: -450, Z: -400 };
  const diameter = 4 + Math.round(random() * 12);
  const tool: Cylinder[] = [
    { part: "cutting", radius: diameter / 2, from: 0, to: 15 },
    { part: "shank", radius: diameter / 2 + 1, from: 15, to: 30 },
    { part: "holder", radius: 15, from: 30, to: 70 },
  ];
  const rapidPath = random() < 0.5 ? "straight" : "independent";
  const at = [
    [2, 2],
    [6, 3],
  ];
  const cos = Math.cos((skew * Math.PI) / 180);
  const sin = Math.sin((skew * Math.PI) / 180);
  const solids: Upright[] = [];
  const zeros: Vec3[] = [];
  const turn = (x: number, y: number): [number, number] => [zero.X + x * cos - y * sin, zero.Y + x * sin + y * cos];
  const angle = (Math.atan2(uy, ux) * 180) / Math.PI + skew;
  at.forEach(([column = 0, row = 0], station) => {
    const add = (name: string, u0: number, u1: number, v0: number, v1: number, low: number, high: number): void => {
      const u = (u0 + u1) / 2;
      const v = (v0 + v1) / 2;
      const centre = turn(column * 50 + u * ux + v * vx, row * 50 + u * uy + v * vy);
      solids.push({ name, station, centre, half: [(u1 - u0) / 2, (v1 - v0) / 2], angle, low: zero.Z + low, high: zero.Z + high });
    };
    add("fixed jaw", face - 20, face, -30, 30, 0, 35);
    add("moving jaw", face + stock.u, face + stock.u + 20, -30, 30, 0, 33);
    add("end stop", face, face + 15, -stock.v / 2 - 8, -stock.v / 2, 0, seat + 6);
    add("parallels", face, face + stock.u, -stock.v / 2, stock.v / 2, 0, seat);
    add("stock", face, face + stock.u, -stock.v / 2, stock.v / 2, seat, seat + stock.w);
    const [x, y] = turn(column * 50 + face * ux, row * 50 + face * uy);
    zeros.push([x, y, zero.Z + seat + stock.w]);
  });
  const [bx, by] = turn(5.5 * 50, 3.5 * 50);
  solids.push({
    name: "base",
    station: -1,
    centre: [bx, by],
    half: [5.5 * 50 + 10, 3.5 * 50 + 10],
    angle: skew,
    low: zero.Z - 40,
    high: zero.Z,
  });
  const sidecar = JSON.stringify({
    format: 1,
    units: "mm",
    machine: {
      dialect: "iso",
      rapid: { X: 30000, Y: 20000, Z: 10000 },
      rapidPath,
      travel: { X: [-720, -250], Y: [-455, -200], Z: [-340, -200] },
    },
    clearance: { rapid: 2, cut: 0.5 },
    bases: { plate: { pitch: 50, columns: 12, rows: 8, zero, skew, thickness: 40, border: 10 } },
    fixedJaws: { fj: { face, length: 20, width: 60, height: 35 } },
    movingJaws: { mj: { gap: 5, increment: 3, stroke: 8, notches: 40, length: 20, width: 60, height: 33 } },
    endStops: { es: { thickness: 8, length: 15, height: seat + 6 } },
    parts: { block: { ops: { op10: { stock, zero: { u: "fixedJaw", v: "centre", w: "top" }, reversible: true } } } },
    stations: at.map((where, i) => ({
      id: `A${i + 1}`,
      base: "plate",
      at: where,
      clamp,
      fixedJaw: "fj",
      movingJaw: "mj",
      endStop: { element: "es", side: "low", at: -stock.v / 2 },
      seat,
      part: "block",
      op: "op10",
      offset: `G${54 + i}`,
    })),
    tools: {
      1: { name: "mill", DC: diameter, APMX: 15, LF: 100, shank: { D: diameter + 2, L: 30 }, holder: [{ D: 30, L: 40 }], H: 1, D: 1 },
    },
  });
  return { sidecar, solids, tool, zeros, rapidPath };
}

/** Distance of an upright cylinder to an upright box; how deep one is in the other as a negative number. */
function distance(c: Cylinder, p: Vec3, s: Upright): number {
  const a = (s.angle * Math.PI) / 180;
  const dx = p[0] - s.centre[0];
  const dy = p[1] - s.centre[1];
  const x = Math.abs(dx * Math.cos(a) + dy * Math.sin(a)) - s.half[0];
  const y = Math.abs(-dx * Math.sin(a) + dy * Math.cos(a)) - s.half[1];
  const flat = (x > 0 && y > 0 ? Math.hypot(x, y) : Math.max(x, y)) - c.radius;
  const up = Math.max(p[2] + c.from - s.high, s.low - (p[2] + c.to));
  return flat > 0 && up > 0 ? Math.hypot(flat, up) : Math.max(flat, up);
}

/** Points along a move, at most `step` apart; a rapid bends where axes run each at its own rate. */
function points(move: Move, w: World, step: number): Vec3[] {
  const out: Vec3[] = [];
  const between = (a: Vec3, b: Vec3): void => {
    const n = Math.max(1, Math.ceil(Math.hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]) / step));
    for (let k = 0; k <= n; k++)
      out.push([0, 1, 2].map((i) => (a[i] as number) + (k / n) * ((b[i] as number) - (a[i] as number))) as unknown as Vec3);
  };
  if (move.kind === "arc" && move.centre !== undefined) {
    const c = move.centre;
    const r = Math.hypot(move.from[0] - c[0], move.from[1] - c[1]);
    const from = Math.atan2(move.from[1] - c[1], move.from[0] - c[0]);
    const sweep = (move.sweep * Math.PI) / 180;
    const n = Math.max(1, Math.ceil((Math.abs(sweep) * r) / step));
    for (let k = 0; k <= n; k++) {
      const t = from + (k / n) * sweep;
      out.push([c[0] + r * Math.cos(t), c[1] + r * Math.sin(t), move.from[2] + (k / n) * (move.to[2] - move.from[2])]);
    }
    return out;
  }
  if (move.kind === "rapid" && w.rapidPath === "independent") {
    const rates = [30000, 20000, 10000];
    const minutes = rates.map((rate, i) => Math.abs((move.to[i] as number) - (move.from[i] as number)) / rate);
    const stops = [...new Set([0, ...minutes])].sort((a, b) => a - b);
    const at = (t: number): Vec3 =>
      [0, 1, 2].map((i) => {
        const whole = minutes[i] as number;
        const share = whole === 0 ? 1 : Math.min(1, t / whole);
        return (move.from[i] as number) + share * ((move.to[i] as number) - (move.from[i] as number));
      }) as unknown as Vec3;
    for (let k = 1; k < stops.length; k++) between(at(stops[k - 1] as number), at(stops[k] as number));
    return out.length > 0 ? out : [move.from, move.to];
  }
  between(move.from, move.to);
  return out;
}

function analyse(w: World, program: string): Analysis {
  const files = new Map([
    ["/g/part.nc", program],
    ["/g/part.fixture.json", w.sidecar],
  ]);
  return analyseNow(memoryHost(files), { program: "/g/part.nc", fixture: "/g/part.fixture.json" });
}

function incidents(a: Analysis): readonly Incident[] {
  const cx = createContext(
    travelLimit,
    {
      run: a.run,
      fixture: a.fixture,
      profile: a.profile,
      clearances: a.clearances,
      blockSkip: false,
      skippedRun: undefined,
      entry: "main",
      notes: [],
    },
    { reports: [], notChecked: [] },
    () => {},
  );
  const slices = incidentsOf(cx);
  for (;;) {
    const { done, value } = slices.next();
    if (done === true) return value;
  }
}

/** A program that wanders about a station at random, low enough to meet everything. */
function wander(random: () => number, moves: number): string {
  const lines = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X0 Y0", "G43 H1 Z60"];
  const number = (v: number): string => v.toFixed(3);
  for (let k = 0; k < moves; k++) {
    const x = (random() - 0.4) * 160;
    const y = (random() - 0.4) * 160;
    const z = random() < 0.3 ? 5 + random() * 20 : -random() * 75;
    const kind = random();
    if (kind < 0.45) lines.push(`G0 X${number(x)} Y${number(y)} Z${number(z)}`);
    else if (kind < 0.8) lines.push(`G1 X${number(x)} Y${number(y)} Z${number(z)} F500`);
    else if (kind < 0.9) lines.push(`G1 Z${number(z)} F200`);
    else lines.push(`G2 X${number(x)} Y${number(y)} R${number(400 + random() * 200)} F400`);
  }
  lines.push("M30");
  return lines.join("\n");
}

const BAND = 0.02;
const STEP = 0.05;

describe("clamp zone against sampling", () => {
  test("every move of random programs", () => {
    const random = generator(20240611);
    let judged = 0;
    let inside = 0;
    const wrong: string[] = [];
    for (let n = 0; n < 12; n++) {
      const w = world(random);
      const a = analyse(w, wander(random, 22));
      const found = incidents(a);
      a.run.moves.forEach((move, index) => {
        if (move.kind === "dwell" || [...move.from, ...move.to].some((v) => Number.isNaN(v))) return;
        const way = points(move, w, STEP);
        for (const solid of w.solids) {
          if (solid.name === "stock") continue;
          // Per part of the tool: the least distance, whether it is at the very start.
          for (const part of ["cutting", "shank", "holder"] as const) {
            let least = Number.POSITIVE_INFINITY;
            let first = 0;
            way.forEach((p, k) => {
              for (const c of w.tool) {
                if (c.part !== part) continue;
                const d = distance(c, p, solid);
                if (d < least - 1e-9) {
                  least = d;
                  first = k;
                }
              }
            });
            const hit = found.some((i) => i.move === index && i.solid.kind === solid.name && i.solid.station === solid.station);
            const rapid = move.kind === "rapid";
            // A rapid that is nearest where it starts has another threshold; the two verdicts are compared only where both agree.
            const limit = rapid ? 2 : 0.5;
            const atStart = rapid && first <= 2;
            const threshold = atStart ? 0.5 : limit;
            if (Math.abs(least - 2) < BAND || Math.abs(least - 0.5) < BAND || Math.abs(least) < BAND) continue;
            if (atStart && least > 0.5 && least < 2) continue;
            judged++;
            if (least < threshold) {
              inside++;
              // A shank that follows a cutting part into the same trouble is not told twice.
              const told = hit || found.some((i) => i.move === index && i.enters);
              if (!told)
                wrong.push(`${n}/${index} ${move.kind} ${part} ${solid.name} of ${solid.station}: ${least.toFixed(3)} not reported`);
            } else if (hit && part === "cutting") {
              const any = w.tool.some((c) => way.some((p) => distance(c, p, solid) < limit + BAND));
              if (!any) wrong.push(`${n}/${index} ${move.kind} ${solid.name} of ${solid.station}: ${least.toFixed(3)} reported`);
            }
          }
        }
      });
    }
    expect(judged).toBeGreaterThan(3000);
    expect(inside).toBeGreaterThan(100);
    expect(wrong).toEqual([]);
  });

  test("which rule speaks of a cut", () => {
    const random = generator(7);
    const wrong: string[] = [];
    let cuts = 0;
    for (let n = 0; n < 12; n++) {
      const w = world(random);
      const a = analyse(w, wander(random, 22));
      const found = incidents(a);
      a.run.moves.forEach((move, index) => {
        if ((move.kind !== "feed" && move.kind !== "arc") || [...move.from, ...move.to].some((v) => Number.isNaN(v))) return;
        const way = points(move, w, STEP);
        const cutting = w.tool.filter((c) => c.part === "cutting");
        for (const solid of w.solids) {
          if (solid.name === "stock") continue;
          const least = Math.min(...cutting.map((c) => Math.min(...way.map((p) => distance(c, p, solid)))));
          if (Math.abs(least) < BAND || Math.abs(least - 0.5) < BAND) continue;
          cuts++;
          const vertical = move.from[0] === move.to[0] && move.from[1] === move.to[1];
          const drilled =
            vertical && move.to[2] < move.from[2] && (solid.name === "base" || (solid.name === "parallels" && solid.station === 0));
          const entering = drilled ? "base-drilled" : solid.station === 1 ? "neighbour-cut" : "clamp-cut";
          const mine = found.filter((i) => i.move === index && i.solid.kind === solid.name && i.solid.station === solid.station);
          const rules = new Set<string>(mine.map((i) => i.rule));
          if (least < 0) {
            const replaced =
              drilled ||
              !found.some((i) => i.move === index && i.rule === "base-drilled") ||
              (solid.name !== "base" && solid.name !== "parallels");
            if (replaced && !rules.has(entering))
              wrong.push(`${n}/${index} ${solid.name}: ${least.toFixed(3)} wanted ${entering}, got ${[...rules].join()}`);
          } else if (rules.has("clamp-cut") || rules.has("base-drilled") || rules.has("neighbour-cut")) {
            wrong.push(`${n}/${index} ${solid.name}: ${least.toFixed(3)} clear, got ${[...rules].join()}`);
          }
        }
      });
    }
    expect(cuts).toBeGreaterThan(500);
    expect(wrong).toEqual([]);
  });
});

describe("remaining material against sampling", () => {
  /** Columns of the stock of station A1, finer than the engine's and cut by sampled positions. */
  function columnsOf(
    w: World,
    cell: number,
  ): { readonly s: Upright; readonly at: readonly (readonly [number, number])[]; readonly height: Float64Array } {
    const s = w.solids.find((x) => x.name === "stock" && x.station === 0) as Upright;
    const a = (s.angle * Math.PI) / 180;
    const at: [number, number][] = [];
    for (let u = -s.half[0] + cell / 2; u < s.half[0]; u += cell) {
      for (let v = -s.half[1] + cell / 2; v < s.half[1]; v += cell) {
        at.push([s.centre[0] + u * Math.cos(a) - v * Math.sin(a), s.centre[1] + u * Math.sin(a) + v * Math.cos(a)]);
      }
    }
    return { s, at, height: new Float64Array(at.length).fill(s.high) };
  }

  test("rapids into what is left, at random", () => {
    const random = generator(99);
    const wrong: string[] = [];
    let hits = 0;
    let clear = 0;
    for (let n = 0; n < 5; n++) {
      const w = world(random);
      const lines = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X0 Y0", "G43 H1 Z60"];
      const a0 = analyse(w, `${lines.join("\n")}\nM30`);
      const station = a0.fixture?.stations[0];
      const box = station?.stock;
      if (station === undefined || box === undefined) throw new Error("no stock");
      // Cuts and rapids over the middle of the stock, above the holder's reach of the jaws.
      const [cu, cv] = [(box.from[0] + box.to[0]) / 2, 0];
      const place = (): [number, number] => {
        const u = cu + (random() - 0.5) * (box.to[0] - box.from[0]) - station.zero[0];
        const v = cv + (random() - 0.5) * (box.to[1] - box.from[1]) - station.zero[1];
        const f = station.frame;
        return [u * f.x[0] + v * f.y[0], u * f.x[1] + v * f.y[1]];
      };
      let z = 60;
      for (let k = 0; k < 26; k++) {
        const [x, y] = place();
        const depth = 1 + random() * 8;
        if (random() < 0.5) {
          lines.push(`G0 Z5`, `X${x.toFixed(3)} Y${y.toFixed(3)}`, `G1 Z-${depth.toFixed(3)} F300`);
          const [x2, y2] = place();
          lines.push(`X${x2.toFixed(3)} Y${y2.toFixed(3)} Z-${(depth * random() + 0.5).toFixed(3)}`);
        } else {
          lines.push(`G0 Z5`, `X${x.toFixed(3)} Y${y.toFixed(3)}`, `Z-${depth.toFixed(3)}`);
          z = -depth;
        }
      }
      expect(z).toBeLessThanOrEqual(60);
      const a = analyse(w, `${lines.join("\n")}\nG0 Z60\nM30`);
      const found = incidents(a);
      const cutter = w.tool[0] as Cylinder;
      const material = columnsOf(w, 1);
      a.run.moves.forEach((move, index) => {
        if (move.kind === "dwell" || [...move.from, ...move.to].some((v) => Number.isNaN(v))) return;
        const way = points(move, w, 0.2);
        if (move.kind === "rapid") {
          // How much of the material is met, and by how much: a sliver between grid lines is in the band.
          let area = 0;
          let deepest = 0;
          material.at.forEach(([x, y], c) => {
            const height = material.height[c] as number;
            let low = Number.POSITIVE_INFINITY;
            for (const p of way) if (Math.hypot(p[0] - x, p[1] - y) <= cutter.radius - 0.05) low = Math.min(low, p[2]);
            if (height - low > 0.05) {
              area++;
              deepest = Math.max(deepest, height - low);
            }
          });
          const up = move.from[0] === move.to[0] && move.from[1] === move.to[1] && move.to[2] >= move.from[2];
          const told = found.some((i) => i.move === index && i.solid.kind === "stock" && i.solid.station === 0);
          if (!up && area > 4 && deepest > 0.2) {
            hits++;
            if (!told) wrong.push(`${n}/${index} ${deepest.toFixed(3)} deep in ${area} columns, not reported`);
          } else if (area === 0) {
            clear++;
            if (told) {
              // Shank and holder may meet what the cutter does not.
              const upper = found.find((i) => i.move === index && i.solid.kind === "stock");
              if (upper?.part === "cutting" && (upper?.depth ?? 0) > 0.1)
                wrong.push(`${n}/${index} clear, reported ${upper.depth.toFixed(3)}`);
            }
          }
          return;
        }
        material.at.forEach(([x, y], c) => {
          if (Math.min(...[move.from, move.to].map((p) => p[2])) >= (material.height[c] as number)) return;
          for (const p of way) {
            if (p[2] < (material.height[c] as number) && Math.hypot(p[0] - x, p[1] - y) <= cutter.radius) material.height[c] = p[2];
          }
        });
      });
    }
    expect(hits).toBeGreaterThan(15);
    expect(clear).toBeGreaterThan(100);
    expect(wrong).toEqual([]);
  });
});

describe("travel against sampling", () => {
  test("arcs, lines and rapids", () => {
    const random = generator(4711);
    let over = 0;
    for (let n = 0; n < 40; n++) {
      const w = world(random);
      const a = analyse(w, wander(random, 6));
      const travel = { 0: [-720, -250], 1: [-455, -200], 2: [-340, -200] } as const;
      let outside = false;
      let near = false;
      a.run.moves.forEach((move) => {
        for (const p of points(move, w, 0.05)) {
          [p[0], p[1], p[2] + 100].forEach((v, k) => {
            const [low, high] = travel[k as 0 | 1 | 2];
            if (v < low - BAND || v > high + BAND) outside = true;
            else if (v < low + BAND || v > high - BAND) near = true;
          });
        }
      });
      const told = a.findings.some((f) => f.rule === "travel-limit");
      if (outside) {
        over++;
        expect(told, `program ${n}`).toBe(true);
      } else if (!near) expect(told, `program ${n}`).toBe(false);
    }
    expect(over).toBeGreaterThan(5);
  });
});

describe("the swing of the work against sampling", () => {
  test("a tool beside a turning tombstone", () => {
    const random = generator(31);
    const wrong: string[] = [];
    let inside = 0;
    let clear = 0;
    for (let n = 0; n < 120; n++) {
      const sense = random() < 0.5 ? 1 : -1;
      const centre = { X: -500, Z: -650 };
      const depth = 60 + random() * 60;
      const zero = { X: -560 - random() * 80, Y: -550, Z: -650 + depth };
      const columns = 3 + Math.floor(random() * 3);
      const clearance = 5 + random() * 20;
      const sidecar = JSON.stringify({
        format: 1,
        units: "mm",
        machine: { dialect: "iso", home: { X: 0, Y: 0, Z: 0 }, rotary: { axis: "B", centre, sense } },
        clearance: { index: clearance },
        bases: { front: { pitch: 50, columns, rows: 5, zero, face: 0, thickness: 40, border: 20 } },
        fixedJaws: { fj: { face: 15 } },
        parts: {
          block: { ops: { op10: { stock: { u: 30, v: 30, w: 30 }, zero: { u: "fixedJaw", v: "centre", w: "top" }, reversible: true } } },
        },
        stations: [
          { id: "F1", base: "front", at: [1, 1], clamp: "+Y", fixedJaw: "fj", seat: 20, part: "block", op: "op10", offset: "G54" },
        ],
        tools: { 1: { name: "mill", DC: 10, APMX: 20, LF: 100, shank: { D: 10, L: 40 }, holder: [{ D: 40, L: 60 }], H: 1 } },
      });
      const x = (random() - 0.5) * 300;
      const z = 2 + random() * 70;
      const to = Math.round((random() - 0.5) * 400);
      const program = `G21 G90\nG28 G91 Z0\nG90 B0\nT1 M6\nG0 G54 X${x.toFixed(2)} Y20\nG43 H1 Z${z.toFixed(2)}\nB${to}\nM30`;
      const a = analyseNow(
        memoryHost(
          new Map([
            ["/g/part.nc", program],
            ["/g/part.fixture.json", sidecar],
          ]),
        ),
        { program: "/g/part.nc", fixture: "/g/part.fixture.json" },
      );
      const move = a.run.moves.filter((m) => m.kind === "index").at(-1);
      if (move === undefined || a.fixture === undefined || Number.isNaN(move.from[2]) || move.rotaryFrom === move.rotaryTo) continue;
      // In the plane across the axis everything is a rectangle; the tool is rectangles standing upright. Along the axis all of it
      // overlaps (the base is longer than any tool is wide), but for the stock, whose extent there is told apart.
      const rectangles = [
        { x: [zero.X - 20, zero.X + (columns - 1) * 50 + 20], z: [zero.Z - 40, zero.Z], y: [zero.Y - 20, zero.Y + 4 * 50 + 20] },
        { x: [zero.X + 50 - 15, zero.X + 50 + 15], z: [zero.Z, zero.Z + 20], y: [zero.Y + 50 + 15, zero.Y + 50 + 45] },
        { x: [zero.X + 50 - 15, zero.X + 50 + 15], z: [zero.Z + 20, zero.Z + 50], y: [zero.Y + 50 + 15, zero.Y + 50 + 45] },
      ];
      const tool = [
        { r: 5, from: 0, to: 40 },
        { r: 20, from: 40, to: 100 },
      ];
      let least = Number.POSITIVE_INFINITY;
      const steps = Math.max(1, Math.ceil(Math.abs(move.rotaryTo - move.rotaryFrom) / 0.25));
      for (let k = 0; k <= steps; k++) {
        const reading = move.rotaryFrom + (k / steps) * (move.rotaryTo - move.rotaryFrom);
        // Right-handed about +Y by -sense·θ (contract ruling 3): x' = x cos + z sin, z' = -x sin + z cos.
        const t = (-sense * reading * Math.PI) / 180;
        for (const rect of rectangles) {
          const corner = [0, 1, 2, 3].map((c): [number, number] => {
            const px = (rect.x[c & 1] as number) - centre.X;
            const pz = (rect.z[c >> 1] as number) - centre.Z;
            return [centre.X + px * Math.cos(t) + pz * Math.sin(t), centre.Z - px * Math.sin(t) + pz * Math.cos(t)];
          });
          for (const part of tool) {
            // Across the axis a cylinder is as wide as where the solid cuts it; the axis lies inside the solid's extent along Y here.
            const inner = move.from[1] >= (rect.y[0] as number) && move.from[1] <= (rect.y[1] as number);
            if (!inner) continue;
            const upright: [number, number][] = [
              [move.from[0] - part.r, move.from[2] + part.from],
              [move.from[0] + part.r, move.from[2] + part.from],
              [move.from[0] + part.r, move.from[2] + part.to],
              [move.from[0] - part.r, move.from[2] + part.to],
            ];
            least = Math.min(least, polygons([corner[0], corner[1], corner[3], corner[2]] as [number, number][], upright));
          }
        }
      }
      const verdict = swingVerdict(a.fixture, move);
      if (Math.abs(least - clearance) < 0.6) continue;
      if (least < clearance) {
        inside++;
        if (verdict.kind !== "inside") wrong.push(`${n}: ${least.toFixed(2)} < ${clearance.toFixed(2)}, said ${verdict.kind}`);
      } else {
        clear++;
        if (verdict.kind !== "clear") wrong.push(`${n}: ${least.toFixed(2)} > ${clearance.toFixed(2)}, said ${verdict.kind}`);
      }
    }
    expect(inside).toBeGreaterThan(8);
    expect(clear).toBeGreaterThan(8);
    expect(wrong).toEqual([]);
  });
});

/** Least distance of two convex polygons: 0 when they overlap. */
function polygons(a: readonly [number, number][], b: readonly [number, number][]): number {
  const contains = (poly: readonly [number, number][], p: readonly [number, number]): boolean => {
    let sign = 0;
    for (let k = 0; k < poly.length; k++) {
      const [x0, y0] = poly[k] as [number, number];
      const [x1, y1] = poly[(k + 1) % poly.length] as [number, number];
      const cross = (x1 - x0) * (p[1] - y0) - (y1 - y0) * (p[0] - x0);
      if (cross === 0) continue;
      if (sign === 0) sign = Math.sign(cross);
      else if (Math.sign(cross) !== sign) return false;
    }
    return true;
  };
  if (a.some((p) => contains(b, p)) || b.some((p) => contains(a, p))) return 0;
  let least = Number.POSITIVE_INFINITY;
  for (const [one, two] of [
    [a, b],
    [b, a],
  ] as const) {
    for (const p of one) {
      for (let k = 0; k < two.length; k++) {
        const [x0, y0] = two[k] as [number, number];
        const [x1, y1] = two[(k + 1) % two.length] as [number, number];
        const l = (x1 - x0) ** 2 + (y1 - y0) ** 2;
        const t = Math.min(1, Math.max(0, ((p[0] - x0) * (x1 - x0) + (p[1] - y0) * (y1 - y0)) / l));
        least = Math.min(least, Math.hypot(p[0] - x0 - t * (x1 - x0), p[1] - y0 - t * (y1 - y0)));
      }
    }
  }
  // Edges that cross without a corner inside are found by their crossing.
  for (let i = 0; i < a.length; i++) {
    for (let j = 0; j < b.length; j++) {
      const [ax, ay] = a[i] as [number, number];
      const [bx, by] = a[(i + 1) % a.length] as [number, number];
      const [cx, cy] = b[j] as [number, number];
      const [dx, dy] = b[(j + 1) % b.length] as [number, number];
      const side = (px: number, py: number, qx: number, qy: number, rx: number, ry: number): number =>
        Math.sign((qx - px) * (ry - py) - (qy - py) * (rx - px));
      if (side(ax, ay, bx, by, cx, cy) !== side(ax, ay, bx, by, dx, dy) && side(cx, cy, dx, dy, ax, ay) !== side(cx, cy, dx, dy, bx, by))
        return 0;
    }
  }
  return least;
}
