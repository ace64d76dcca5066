/**
 * Brute force for the geometric rules: solids are built here from the numbers of the sidecar (its page "Solids"), and distances are
 * worked out by elementary geometry. Nothing of the engine's geometry, clearances or remaining material is used for the expected side;
 * only the moves themselves are the engine's.
 */
import { createContext } from "../../server/src/engine/checks/context.js";
import { type Incident, incidentsOf } from "../../server/src/engine/checks/lib/incidents.js";
import { travelLimit } from "../../server/src/engine/checks/travel-limit.js";
import type { Vec3 } from "../../server/src/engine/geometry/vector.js";
import type { Move } from "../../server/src/engine/machine/move.js";
import { type Analysis, analyseNow } from "../../server/src/engine/program.js";
import { memoryHost } from "./cases.js";

/** A small generator of numbers that is the same everywhere (mulberry32). */
export function generator(seed: number): () => number {
  let a = seed;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** An upright box of the test's own: a rectangle turned about machine Z, between two heights. */
export interface Upright {
  readonly name: string;
  readonly station: number;
  readonly centre: readonly [number, number];
  readonly half: readonly [number, number];
  readonly angle: number;
  readonly low: number;
  readonly high: number;
}

/** Cylinder of a tool, above the tool point. */
export interface Cylinder {
  readonly part: "cutting" | "shank" | "holder";
  readonly radius: number;
  readonly from: number;
  readonly to: number;
}

const CLAMPS = ["+X", "+Y", "-X", "-Y"] as const;
const AXES = { "+X": [1, 0, 0, 1], "+Y": [0, 1, -1, 0], "-X": [-1, 0, 0, -1], "-Y": [0, -1, 1, 0] } as const;

export interface World {
  readonly sidecar: string;
  readonly solids: readonly Upright[];
  readonly tool: readonly Cylinder[];
  readonly zeros: readonly Vec3[];
  readonly rapidPath: "straight" | "independent";
}

/** Two stations on one base, with everything that the sidecar can put there. */
export function world(random: () => number, clearance: { readonly rapid: number; readonly cut: number } = { rapid: 2, cut: 0.5 }): World {
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
    clearance,
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
export function distance(c: Cylinder, p: Vec3, s: Upright): number {
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
export function points(move: Move, w: World, step: number): Vec3[] {
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

export function analyse(w: World, program: string): Analysis {
  const files = new Map([
    ["/g/part.nc", program],
    ["/g/part.fixture.json", w.sidecar],
  ]);
  return analyseNow(memoryHost(files), { program: "/g/part.nc", fixture: "/g/part.fixture.json" });
}

export function incidents(a: Analysis): readonly Incident[] {
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
export function wander(random: () => number, moves: number): string {
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

/** Least distance of two convex polygons: 0 when they overlap. */
export function polygons(a: readonly [number, number][], b: readonly [number, number][]): number {
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

/**
 * The least of a function on [0, 1] that changes by no more than `speed` from 0 to 1, as an enclosure narrower than `width`. Where the
 * least is certainly not below `enough`, the search stops, and `low` is at least that.
 */
export function leastOf(
  f: (t: number) => number,
  speed: number,
  width = 0.01,
  enough = Number.POSITIVE_INFINITY,
): { readonly low: number; readonly high: number } {
  let high = Math.min(f(0), f(1));
  let low = Number.POSITIVE_INFINITY;
  const queue: [number, number][] = [[0, 1]];
  for (let next = queue.pop(); next !== undefined; next = queue.pop()) {
    const [a, b] = next;
    const at = f((a + b) / 2);
    high = Math.min(high, at);
    const bound = at - (speed * (b - a)) / 2;
    if (bound >= Math.min(high - width, enough)) low = Math.min(low, bound);
    else queue.push([a, (a + b) / 2], [(a + b) / 2, b]);
  }
  return { low, high };
}

/** A stretch of the tool's way: where it is at t from 0 to 1, and how long it is. */
export interface Stretch {
  readonly length: number;
  at(t: number): Vec3;
}

/** The way of a move in stretches: a line, an arc in the plane of X and Y, or the bends of a rapid. */
export function stretches(move: Move, w: World): Stretch[] {
  const line = (a: Vec3, b: Vec3): Stretch => ({
    length: Math.hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]),
    at: (t) => [a[0] + t * (b[0] - a[0]), a[1] + t * (b[1] - a[1]), a[2] + t * (b[2] - a[2])],
  });
  const c = move.centre;
  if (move.kind === "arc" && c !== undefined) {
    const r = Math.hypot(move.from[0] - c[0], move.from[1] - c[1]);
    const from = Math.atan2(move.from[1] - c[1], move.from[0] - c[0]);
    const sweep = (move.sweep * Math.PI) / 180;
    const rise = move.to[2] - move.from[2];
    return [
      {
        length: Math.hypot(r * sweep, rise),
        at: (t) => [c[0] + r * Math.cos(from + t * sweep), c[1] + r * Math.sin(from + t * sweep), move.from[2] + t * rise],
      },
    ];
  }
  if (move.kind !== "rapid" || w.rapidPath === "straight") return [line(move.from, move.to)];
  const bends = points(move, w, Number.POSITIVE_INFINITY);
  return bends.slice(1).map((b, k) => line(bends[k] as Vec3, b));
}
