import type { OrientedBox } from "../../server/src/engine/geometry/box.js";
import type { ToolPart } from "../../server/src/engine/geometry/tool.js";
import type { Vec3 } from "../../server/src/engine/geometry/vector.js";

/** Geometry for tests, written apart from the engine: random cases, and a slow reference by alternating projections. */

/** A small generator with a recorded seed (mulberry32), so that a failing case can be had again. */
export function random(seed: number): () => number {
  let a = seed >>> 0;
  return () => {
    a = (a + 0x6d2b79f5) >>> 0;
    let t = a;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

export type Matrix = readonly [Vec3, Vec3, Vec3];

/** Rotation about X, then Y, then Z, degrees; its three columns are the turned axes. */
export function turned(ax: number, ay: number, az: number): Matrix {
  const r = Math.PI / 180;
  const [ca, sa, cb, sb, cc, sc] = [
    Math.cos(ax * r),
    Math.sin(ax * r),
    Math.cos(ay * r),
    Math.sin(ay * r),
    Math.cos(az * r),
    Math.sin(az * r),
  ];
  return [
    [cb * cc, cb * sc, -sb],
    [sa * sb * cc - ca * sc, sa * sb * sc + ca * cc, sa * cb],
    [ca * sb * cc + sa * sc, ca * sb * sc - sa * cc, ca * cb],
  ];
}

export function boxOf(from: Vec3, to: Vec3, origin: Vec3 = [0, 0, 0], m: Matrix = turned(0, 0, 0)): OrientedBox {
  return { frame: { origin, x: m[0], y: m[1], z: m[2] }, box: { from, to } };
}

export function cylinder(r: number, from: number, to: number, part: ToolPart["part"] = "cutting"): ToolPart {
  return { part, bottomRadius: r, topRadius: r, from, to };
}

export function cone(bottom: number, top: number, from: number, to: number): ToolPart {
  return { part: "cutting", bottomRadius: bottom, topRadius: top, from, to };
}

function nearestInBox(b: OrientedBox, p: Vec3): Vec3 {
  const f = b.frame;
  const axes = [f.x, f.y, f.z];
  const out: [number, number, number] = [f.origin[0], f.origin[1], f.origin[2]];
  for (let k = 0; k < 3; k++) {
    const a = axes[k] as Vec3;
    const c = a[0] * (p[0] - f.origin[0]) + a[1] * (p[1] - f.origin[1]) + a[2] * (p[2] - f.origin[2]);
    const q = Math.min(Math.max(c, b.box.from[k] as number), b.box.to[k] as number);
    for (let i = 0; i < 3; i++) out[i] = (out[i] as number) + q * (a[i] as number);
  }
  return out;
}

/** Nearest point of a polygon in the half plane (rho, z), by all its sides. */
function nearestInSection(t: ToolPart, rho: number, z: number): [number, number] {
  const pts: [number, number][] = [
    [0, t.from],
    [t.bottomRadius, t.from],
    [t.topRadius, t.to],
    [0, t.to],
  ];
  const s = t.to > t.from ? Math.min(1, Math.max(0, (z - t.from) / (t.to - t.from))) : 0;
  if (z >= t.from && z <= t.to && rho <= t.bottomRadius + s * (t.topRadius - t.bottomRadius)) return [rho, z];
  let best: [number, number] = [0, t.from];
  let least = Number.POSITIVE_INFINITY;
  for (let i = 0; i < 3; i++) {
    const a = pts[i] as [number, number];
    const b = pts[i + 1] as [number, number];
    const d = [b[0] - a[0], b[1] - a[1]] as const;
    const l = d[0] * d[0] + d[1] * d[1];
    const k = l > 0 ? Math.min(1, Math.max(0, ((rho - a[0]) * d[0] + (z - a[1]) * d[1]) / l)) : 0;
    const q: [number, number] = [a[0] + k * d[0], a[1] + k * d[1]];
    const e = Math.hypot(rho - q[0], z - q[1]);
    if (e < least) {
      least = e;
      best = q;
    }
  }
  return best;
}

function nearestInPart(t: ToolPart, at: Vec3, p: Vec3): Vec3 {
  const x = p[0] - at[0];
  const y = p[1] - at[1];
  const rho = Math.hypot(x, y);
  const [r, z] = nearestInSection(t, rho, p[2] - at[2]);
  const k = rho > 1e-200 ? r / rho : 0;
  return [at[0] + k * x, at[1] + k * y, at[2] + z];
}

/**
 * The distance of a standing part to a box, enclosed from both sides, by alternating projections: the pair found is an upper
 * bound, the slab square to it that parts the two bodies is a lower bound (0 where it does not part them).
 */
export function referenceGap(t: ToolPart, at: Vec3, b: OrientedBox, rounds = 3000): { readonly upper: number; readonly lower: number } {
  let p: Vec3 = [at[0], at[1], at[2] + t.from];
  let q: Vec3 = p;
  let upper = Number.POSITIVE_INFINITY;
  for (let n = 0; n < rounds; n++) {
    q = nearestInBox(b, p);
    p = nearestInPart(t, at, q);
    const d = Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
    const settled = upper - d < 1e-14;
    upper = Math.min(upper, d);
    if (upper === 0 || (settled && n > 20)) break;
  }
  if (upper === 0) return { upper, lower: 0 };
  const d = Math.hypot(p[0] - q[0], p[1] - q[1], p[2] - q[2]);
  const n: Vec3 = [(p[0] - q[0]) / d, (p[1] - q[1]) / d, (p[2] - q[2]) / d];
  const h = Math.hypot(n[0], n[1]);
  const tool =
    n[0] * at[0] + n[1] * at[1] + Math.min(n[2] * (at[2] + t.from) - h * t.bottomRadius, n[2] * (at[2] + t.to) - h * t.topRadius);
  const f = b.frame;
  let box = n[0] * f.origin[0] + n[1] * f.origin[1] + n[2] * f.origin[2];
  [f.x, f.y, f.z].forEach((a, k) => {
    const c = n[0] * a[0] + n[1] * a[1] + n[2] * a[2];
    box += Math.max(c * (b.box.from[k] as number), c * (b.box.to[k] as number));
  });
  return { upper, lower: Math.max(0, tool - box) };
}

/** The position of an arc at t, by its definition; written here again so that tests do not ask the code under test. */
export function onArc(from: Vec3, centre: Vec3, sweep: number, plane: 17 | 18 | 19, rise: number, t: number): Vec3 {
  const [i, j, k] = plane === 17 ? [0, 1, 2] : plane === 18 ? [2, 0, 1] : [1, 2, 0];
  const a = (t * sweep * Math.PI) / 180;
  const x = (from[i as number] as number) - (centre[i as number] as number);
  const y = (from[j as number] as number) - (centre[j as number] as number);
  const out: [number, number, number] = [0, 0, 0];
  out[i as number] = (centre[i as number] as number) + x * Math.cos(a) - y * Math.sin(a);
  out[j as number] = (centre[j as number] as number) + x * Math.sin(a) + y * Math.cos(a);
  out[k as number] = (from[k as number] as number) + t * rise;
  return out;
}
