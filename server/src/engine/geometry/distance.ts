import type { Box, OrientedBox } from "./box.js";
import { bounds } from "./box.js";
import type { ToolPart } from "./tool.js";
import type { Vec3 } from "./vector.js";

/**
 * Distance between one part of a tool, standing still, and one box; with the direction in which it grows.
 *
 * All moving queries (`gapLine`, `gapArc`, `gapIndex`) rest on one fact: the distance between two convex bodies is a
 * convex function of how one of them is displaced. So the distance D at one position p and the unit vector n from the
 * nearest point of the box to the nearest point of the tool give a bound for every other position x at once,
 * D(x) ≥ D(p) + n·(x − p), which lets a search stop with a proof instead of with a sample.
 *
 * A tool part is a body of revolution, so the distance of a point to it depends on two numbers only: how far the point
 * is from the axis and at which height. An upright box (one of its axes vertical) is the same at every height, so there
 * too two numbers do: the distance in plan and the interval of height. Any other box is looked at feature by feature.
 */

/** How far an infinite body is followed where nothing nearer bounds it, mm. A hundred metres: beyond any machine. */
const FAR = 1e5;

/** Plan distances below this have no direction (dividing by them would overflow), mm. */
const TINY = 1e-100;

/** An axis counts as vertical when its horizontal components are below this: 1e-9 mm on a body of a metre. */
const VERTICAL = 1e-12;

/** A box prepared for many queries. Made by `prepare`, which keeps one per box. */
export interface Body {
  readonly bounds: Box;
  /** False when a number of the box is NaN: every distance to it is NaN then. */
  readonly known: boolean;
  /** One axis of the box is parallel to machine Z. */
  readonly upright: boolean;
  readonly source: OrientedBox;
  /** Upright only: origin and the two horizontal axes of the frame, with the extents along them and in machine Z. */
  readonly ox: number;
  readonly oy: number;
  readonly ux: number;
  readonly uy: number;
  readonly vx: number;
  readonly vy: number;
  readonly u0: number;
  readonly u1: number;
  readonly v0: number;
  readonly v1: number;
  readonly z0: number;
  readonly z1: number;
}

const prepared = new WeakMap<OrientedBox, Body>();

/** Prepares a box (machine frame) for distance queries. The answer is kept with the box object, which must not change afterwards. */
export function prepare(box: OrientedBox): Body {
  const old = prepared.get(box);
  if (old !== undefined) return old;
  const body = unprepared(box);
  prepared.set(box, body);
  return body;
}

/** A box prepared for a single query, not kept. */
export function unprepared(b: OrientedBox): Body {
  const f = b.frame;
  const numbers = [...f.origin, ...f.x, ...f.y, ...f.z, ...b.box.from, ...b.box.to];
  const known = numbers.every((n) => !Number.isNaN(n));
  const axes = [f.x, f.y, f.z] as const;
  const k = axes.findIndex((a) => Math.abs(a[0]) < VERTICAL && Math.abs(a[1]) < VERTICAL);
  const lo = (i: number): number => Math.min(b.box.from[i] as number, b.box.to[i] as number);
  const hi = (i: number): number => Math.max(b.box.from[i] as number, b.box.to[i] as number);
  if (k < 0) {
    const none = {
      ox: 0,
      oy: 0,
      ux: 1,
      uy: 0,
      vx: 0,
      vy: 1,
      u0: 0,
      u1: 0,
      v0: 0,
      v1: 0,
      z0: 0,
      z1: 0,
    };
    return { bounds: bounds(b), known, upright: false, source: b, ...none };
  }
  const i = k === 0 ? 1 : 0;
  const j = k === 2 ? 1 : 2;
  const up = (axes[k] as Vec3)[2] > 0;
  const u = axes[i] as Vec3;
  const v = axes[j] as Vec3;
  const z0 = f.origin[2] + (up ? lo(k) : -hi(k));
  const z1 = f.origin[2] + (up ? hi(k) : -lo(k));
  const plan = bounds(b);
  return {
    // The rounding of a turn by 90° must not make an infinite extent leak into another axis.
    bounds: planBounds(plan, f.origin, u, v, [lo(i), lo(j)], [hi(i), hi(j)], z0, z1),
    known,
    upright: true,
    source: b,
    ox: f.origin[0],
    oy: f.origin[1],
    ux: u[0],
    uy: u[1],
    vx: v[0],
    vy: v[1],
    u0: lo(i),
    u1: hi(i),
    v0: lo(j),
    v1: hi(j),
    z0,
    z1,
  };
}

function planBounds(
  plan: Box,
  o: Vec3,
  u: Vec3,
  v: Vec3,
  low: readonly [number, number],
  high: readonly [number, number],
  z0: number,
  z1: number,
): Box {
  const finite = low.every(Number.isFinite) && high.every(Number.isFinite);
  if (!finite)
    return {
      from: [plan.from[0], plan.from[1], z0],
      to: [plan.to[0], plan.to[1], z1],
    };
  const from: [number, number] = [o[0], o[1]];
  const to: [number, number] = [o[0], o[1]];
  for (const axis of [0, 1] as const) {
    const a = [low[0] * u[axis], high[0] * u[axis]] as const;
    const b = [low[1] * v[axis], high[1] * v[axis]] as const;
    from[axis] += Math.min(a[0], a[1]) + Math.min(b[0], b[1]);
    to[axis] += Math.max(a[0], a[1]) + Math.max(b[0], b[1]);
  }
  return { from: [from[0], from[1], z0], to: [to[0], to[1], z1] };
}

/**
 * A tool part with its degenerate forms put right: negative radii are 0, a height below zero is zero, and a cone that
 * never ends or has no height is the cylinder of its larger radius (which contains it).
 */
export interface Section {
  readonly r0: number;
  readonly r1: number;
  readonly h0: number;
  readonly h1: number;
  /** The larger radius. */
  readonly r: number;
  readonly known: boolean;
}

const sections = new WeakMap<ToolPart, Section>();

/** The section of a part, kept with the part object. */
export function sectionOf(part: ToolPart): Section {
  const old = sections.get(part);
  if (old !== undefined) return old;
  const known = ![part.bottomRadius, part.topRadius, part.from, part.to].some(Number.isNaN);
  const h0 = part.from;
  const h1 = Math.max(part.from, part.to);
  let r0 = Math.max(0, part.bottomRadius);
  let r1 = Math.max(0, part.topRadius);
  const r = Math.max(r0, r1);
  if (h1 === Number.POSITIVE_INFINITY || h1 === h0) {
    r0 = r;
    r1 = r;
  }
  const made: Section = { r0, r1, h0, h1, r, known };
  sections.set(part, made);
  return made;
}

/**
 * Where a static query leaves its answer: the distance, and its gradient with respect to the tool position (a unit
 * vector where the distance is above 0, else zero). One object is reused by all queries, so that the millions of them
 * that a long program needs allocate nothing; read it before the next query.
 */
export interface Answer {
  distance: number;
  nx: number;
  ny: number;
  nz: number;
}

/** Internal to the two-number query: distance, slope over the plan distance, slope over the tool's height. */
let gap = 0;
let slopeRadial = 0;
let slopeUp = 0;

/**
 * Distance of a vertical segment to a tool part standing at height 0: the segment is `d` away from the axis and reaches
 * from zl to zu. Leaves gap, slopeRadial (per mm of d) and slopeUp (per mm of the tool being raised). The part's half
 * section is a convex polygon; the cases below are its corners and sides.
 */
function sectionGap(p: Section, d: number, zl: number, zu: number): void {
  let r = p.r1;
  if (p.r1 > p.r0) {
    if (zu < p.h1) {
      taper(p.r1, p.r0, p.h1 - p.h0, d, p.h1 - zu);
      return;
    }
  } else if (p.r0 > p.r1) {
    if (zl > p.h0) {
      taper(p.r0, p.r1, p.h1 - p.h0, d, zl - p.h0);
      slopeUp = -slopeUp;
      return;
    }
    r = p.r0;
  }
  const radial = d > r ? d - r : 0;
  const above = p.h0 - zu;
  const below = zl - p.h1;
  const z = above > 0 ? above : Math.max(below, 0);
  if (z === 0) {
    gap = radial;
    slopeRadial = radial > 0 ? 1 : 0;
    slopeUp = 0;
    return;
  }
  if (radial === 0) {
    gap = z;
    slopeRadial = 0;
    slopeUp = above > 0 ? 1 : -1;
    return;
  }
  gap = Math.sqrt(radial * radial + z * z);
  slopeRadial = radial / gap;
  slopeUp = above > 0 ? z / gap : -z / gap;
}

/**
 * The tapered side: seen from its wide end, which is `y` away along the axis, toward the narrow end at `height`.
 * (d, y) lies beyond the wide end's corner (wide, 0), beside the slanted side, or beyond the narrow end.
 */
function taper(wide: number, narrow: number, height: number, d: number, y: number): void {
  const dr = wide - narrow;
  const l2 = dr * dr + height * height;
  const x = d - wide;
  const along = height * y - dr * x;
  let gx = x;
  let gy = y;
  if (along >= l2) {
    gx = d > narrow ? d - narrow : 0;
    gy = y - height;
    if (gx === 0 && gy <= 0) gy = 0;
  } else if (along > 0) {
    const l = Math.sqrt(l2);
    const s = (height * x + dr * y) / l;
    gap = Math.max(s, 0);
    slopeRadial = s > 0 ? height / l : 0;
    slopeUp = s > 0 ? dr / l : 0;
    return;
  }
  gap = Math.sqrt(gx * gx + gy * gy);
  slopeRadial = gap > 0 ? gx / gap : 0;
  slopeUp = gap > 0 ? gy / gap : 0;
}

/**
 * Least distance of a tool part standing with its tool point at (px, py, pz) to a body, all in mm and machine frame; 0
 * when they meet. NaN anywhere gives NaN, never a verdict.
 */
export function standingGap(p: Section, px: number, py: number, pz: number, body: Body, out: Answer): void {
  if (!body.known || !p.known || Number.isNaN(px + py + pz)) {
    out.distance = Number.NaN;
    out.nx = 0;
    out.ny = 0;
    out.nz = 0;
    return;
  }
  if (!body.upright) {
    turnedGap(p, px, py, pz, body, out);
    return;
  }
  const dx = px - body.ox;
  const dy = py - body.oy;
  const u = dx * body.ux + dy * body.uy;
  const v = dx * body.vx + dy * body.vy;
  const du = u < body.u0 ? u - body.u0 : u > body.u1 ? u - body.u1 : 0;
  const dv = v < body.v0 ? v - body.v0 : v > body.v1 ? v - body.v1 : 0;
  const d = du === 0 ? Math.abs(dv) : dv === 0 ? Math.abs(du) : Math.sqrt(du * du + dv * dv);
  sectionGap(p, d, body.z0 - pz, body.z1 - pz);
  out.distance = gap;
  if (d > TINY) {
    const k = slopeRadial / d;
    out.nx = k * (du * body.ux + dv * body.vx);
    out.ny = k * (du * body.uy + dv * body.vy);
  } else {
    out.nx = 0;
    out.ny = 0;
  }
  out.nz = slopeUp;
}

// Scratch of the query below: the low and high extents, the axes (row-wise) and the centre of the frame relative to the tool point.
const low = new Float64Array(3);
const high = new Float64Array(3);
const axis = new Float64Array(9);
const origin = new Float64Array(3);

/** The lowest value over the tool part (at the origin) of the linear form (x, y, z)·q, and at which rim it is taken. */
let supportRim = 0;
function support(p: Section, top: number, x: number, y: number, z: number): number {
  const h = Math.sqrt(x * x + y * y);
  const a = z * p.h0 - h * p.r0;
  const b = z * top - h * p.r1;
  supportRim = a <= b ? 0 : 1;
  return Math.min(a, b);
}

/**
 * A box of any orientation. With n the outward normal of a face, the nearest pair is either (tool rim, inside of a
 * face), found by the support of the tool, or it lies on an edge of the box, where the distance is a convex function of
 * one number. If no edge meets the tool and yet they overlap, the tool pierces a face or lies inside.
 */
function turnedGap(p: Section, px: number, py: number, pz: number, body: Body, out: Answer): void {
  const b = body.source;
  const fx = b.frame.x;
  const fy = b.frame.y;
  const fz = b.frame.z;
  axis[0] = fx[0];
  axis[1] = fx[1];
  axis[2] = fx[2];
  axis[3] = fy[0];
  axis[4] = fy[1];
  axis[5] = fy[2];
  axis[6] = fz[0];
  axis[7] = fz[1];
  axis[8] = fz[2];
  origin[0] = b.frame.origin[0] - px;
  origin[1] = b.frame.origin[1] - py;
  origin[2] = b.frame.origin[2] - pz;
  // An infinite tool ends a little above the box, an infinite box a little beyond the tool: nearest points stay inside.
  let top = p.h1;
  if (top === Number.POSITIVE_INFINITY) top = Math.max(p.h0, Math.min(body.bounds.to[2] - pz, FAR)) + 1;
  out.nx = 0;
  out.ny = 0;
  out.nz = 0;
  let faceBound = -1;
  let faceX = 0;
  let faceY = 0;
  let faceZ = 0;
  for (let k = 0; k < 3; k++) {
    const ax = axis[3 * k] as number;
    const ay = axis[3 * k + 1] as number;
    const az = axis[3 * k + 2] as number;
    const o = ax * (origin[0] as number) + ay * (origin[1] as number) + az * (origin[2] as number);
    // Tool extents along this axis, counted from the frame's origin.
    const toolLow = support(p, top, ax, ay, az) - o;
    const toolHigh = -support(p, top, -ax, -ay, -az) - o;
    let a = Math.min(b.box.from[k] as number, b.box.to[k] as number);
    let c = Math.max(b.box.from[k] as number, b.box.to[k] as number);
    if (a === Number.NEGATIVE_INFINITY) a = Math.min(toolLow, c) - 1;
    if (c === Number.POSITIVE_INFINITY) c = Math.max(toolHigh, a) + 1;
    low[k] = a;
    high[k] = c;
    if (toolLow - c > faceBound) {
      faceBound = toolLow - c;
      faceX = ax;
      faceY = ay;
      faceZ = az;
    }
    if (a - toolHigh > faceBound) {
      faceBound = a - toolHigh;
      faceX = -ax;
      faceY = -ay;
      faceZ = -az;
    }
  }
  if (faceBound > 0) {
    // The face that parts them most: if the tool's nearest rim point stands over it, that is the answer.
    support(p, top, faceX, faceY, faceZ);
    const first = supportRim;
    for (let i = 0; i < 2; i++) {
      const rim = i === 0 ? first : 1 - first;
      const r = rim === 0 ? p.r0 : p.r1;
      const z = rim === 0 ? p.h0 : top;
      const h = Math.sqrt(faceX * faceX + faceY * faceY);
      const x = h > 0 ? (-faceX / h) * r : 0;
      const y = h > 0 ? (-faceY / h) * r : 0;
      if (i === 1 && x * faceX + y * faceY + z * faceZ > support(p, top, faceX, faceY, faceZ) + 1e-12) break;
      // The foot of the rim point on the face.
      if (insideBox(x - faceX * faceBound, y - faceY * faceBound, z - faceZ * faceBound, 1e-12)) {
        out.distance = faceBound;
        out.nx = faceX;
        out.ny = faceY;
        out.nz = faceZ;
        return;
      }
    }
  } else if (pierces(p, top)) {
    out.distance = 0;
    return;
  }
  edgesGap(p, out);
  // Edges found positive, no face separates, nothing pierced: the edge value stands. Rounding may leave a face bound above it.
  if (faceBound > out.distance) {
    out.distance = faceBound;
    out.nx = faceX;
    out.ny = faceY;
    out.nz = faceZ;
  }
}

/** Whether a point, relative to the tool point, lies in the box of the scratch arrays, `slack` mm allowed. */
function insideBox(x: number, y: number, z: number, slack: number): boolean {
  const dx = x - (origin[0] as number);
  const dy = y - (origin[1] as number);
  const dz = z - (origin[2] as number);
  for (let k = 0; k < 3; k++) {
    const c = dx * (axis[3 * k] as number) + dy * (axis[3 * k + 1] as number) + dz * (axis[3 * k + 2] as number);
    if (c < (low[k] as number) - slack || c > (high[k] as number) + slack) return false;
  }
  return true;
}

/**
 * Whether a chord of the tool part through the plane of a face goes through that face, or the part's lower centre lies
 * in the box. Together with the edges this decides overlap: a section of the tool that touches no edge of a face lies
 * wholly inside the face or wholly outside, so any one of its points tells.
 */
function pierces(p: Section, top: number): boolean {
  if (insideBox(0, 0, p.h0, 0)) return true;
  for (let k = 0; k < 3; k++) {
    const ax = axis[3 * k] as number;
    const ay = axis[3 * k + 1] as number;
    const az = axis[3 * k + 2] as number;
    const o = ax * (origin[0] as number) + ay * (origin[1] as number) + az * (origin[2] as number);
    const h = Math.sqrt(ax * ax + ay * ay);
    const ex = h > 0 ? ax / h : 0;
    const ey = h > 0 ? ay / h : 0;
    const toolLow = support(p, top, ax, ay, az) - o;
    const rLow = supportRim === 0 ? p.r0 : p.r1;
    const zLow = supportRim === 0 ? p.h0 : top;
    const toolHigh = -support(p, top, -ax, -ay, -az) - o;
    const rHigh = supportRim === 0 ? p.r0 : p.r1;
    const zHigh = supportRim === 0 ? p.h0 : top;
    if (!(toolHigh > toolLow)) continue;
    for (let side = 0; side < 2; side++) {
      const plane = (side === 0 ? low[k] : high[k]) as number;
      if (plane < toolLow || plane > toolHigh) continue;
      const s = (plane - toolLow) / (toolHigh - toolLow);
      const r = -rLow + s * (rHigh + rLow);
      if (insideBox(ex * r, ey * r, zLow + s * (zHigh - zLow), 1e-12)) return true;
    }
  }
  return false;
}

/** The least distance over the twelve edges, left in `out`. */
function edgesGap(p: Section, out: Answer): void {
  let best = Number.POSITIVE_INFINITY;
  for (let k = 0; k < 3; k++) {
    const i = (k + 1) % 3;
    const j = (k + 2) % 3;
    const l = (high[k] as number) - (low[k] as number);
    const dx = (axis[3 * k] as number) * l;
    const dy = (axis[3 * k + 1] as number) * l;
    const dz = (axis[3 * k + 2] as number) * l;
    for (let m = 0; m < 4; m++) {
      const a = (m & 1 ? high[i] : low[i]) as number;
      const b = (m & 2 ? high[j] : low[j]) as number;
      const c = low[k] as number;
      const x = (origin[0] as number) + c * (axis[3 * k] as number) + a * (axis[3 * i] as number) + b * (axis[3 * j] as number);
      const y = (origin[1] as number) + c * (axis[3 * k + 1] as number) + a * (axis[3 * i + 1] as number) + b * (axis[3 * j + 1] as number);
      const z = (origin[2] as number) + c * (axis[3 * k + 2] as number) + a * (axis[3 * i + 2] as number) + b * (axis[3 * j + 2] as number);
      best = edgeGap(p, x, y, z, dx, dy, dz, best, out);
      if (best === 0) return;
    }
  }
}

/** Value and slope of the distance at one place of an edge; also leaves the gradient for `out`. */
let edgeSlope = 0;
let gradX = 0;
let gradY = 0;
let gradZ = 0;
function atEdge(p: Section, x: number, y: number, z: number, dx: number, dy: number, dz: number): number {
  const d = Math.sqrt(x * x + y * y);
  sectionGap(p, d, z, z);
  const k = d > TINY ? slopeRadial / d : 0;
  // The gradient with respect to the tool is opposite to that with respect to the point.
  gradX = -k * x;
  gradY = -k * y;
  gradZ = slopeUp;
  edgeSlope = -(gradX * dx + gradY * dy + gradZ * dz);
  return gap;
}

/** Improves `best` by the least distance of the tool part to one edge, by halving and secants on its rising slope. */
function edgeGap(p: Section, x: number, y: number, z: number, dx: number, dy: number, dz: number, best: number, out: Answer): number {
  let s0 = 0;
  let f0 = atEdge(p, x, y, z, dx, dy, dz);
  let g0 = edgeSlope;
  if (f0 < best) best = keep(f0, out);
  if (best === 0 || g0 >= 0) return best;
  let s1 = 1;
  let f1 = atEdge(p, x + dx, y + dy, z + dz, dx, dy, dz);
  let g1 = edgeSlope;
  if (f1 < best) best = keep(f1, out);
  if (best === 0 || g1 <= 0) return best;
  for (let n = 0; n < 100; n++) {
    // Where the two tangents meet the distance cannot be lower.
    const w = s1 - s0;
    const tangent = (f1 - f0 - g1 * w) / (g0 - g1);
    if (f0 + g0 * tangent >= best) return best;
    // A secant of the slope homes in fast; every third step halves, so that it always ends.
    let s = n % 3 === 2 ? s0 + w / 2 : s0 + (w * g0) / (g0 - g1);
    if (!(s > s0 && s < s1)) s = s0 + w / 2;
    if (s === s0 || s === s1) return best;
    const f = atEdge(p, x + s * dx, y + s * dy, z + s * dz, dx, dy, dz);
    const g = edgeSlope;
    if (f <= best) best = keep(f, out);
    if (f === 0 || Math.abs(g) < 1e-13) return best;
    if (g < 0) {
      s0 = s;
      f0 = f;
      g0 = g;
    } else {
      s1 = s;
      f1 = f;
      g1 = g;
    }
  }
  return best;
}

function keep(f: number, out: Answer): number {
  out.distance = f;
  out.nx = gradX;
  out.ny = gradY;
  out.nz = gradZ;
  return f;
}

/** The least way out of the section, for a vertical segment `d` from the axis (negative: inside a body) over the heights zl to zu. */
function sectionDepth(p: Section, d: number, zl: number, zu: number): number {
  let depth = Math.min(p.r - d, zu - p.h0, p.h1 - zl);
  if (p.r0 !== p.r1) {
    // Square to the slanted side; `y` counts from the wide end toward the narrow one.
    const height = p.h1 - p.h0;
    const slant = Math.abs(p.r1 - p.r0);
    const y = p.r1 > p.r0 ? p.h1 - zu : zl - p.h0;
    depth = Math.min(depth, -(height * (d - p.r) + slant * y) / Math.sqrt(height * height + slant * slant));
  }
  return depth;
}

/** By how much a turned box is thinned, mm, to find the direction in which a tool that barely enters it gets out. */
const THINNED = [1, 0.1, 0.01, 0.001] as const;

/**
 * How deep a tool part standing with its tool point at (x, y, z) reaches into a body: the least shift that frees it, mm;
 * 0 when it is free. Exact for upright boxes (where no side is infinite); for others an upper bound that is close for shallow
 * overlaps and along the normals of the box's faces, the axis of the tool and whatever direction parts it from a thinned box.
 */
export function penetration(p: Section, x: number, y: number, z: number, body: Body): number {
  const depth = signedDepth(p, x, y, z, body);
  return depth > 0 && Number.isFinite(depth) ? depth : 0;
}

/** As `penetration`, but below 0 where the part is free, so that a search along a move sees which way it gets deeper. */
export function signedDepth(p: Section, x: number, y: number, z: number, body: Body): number {
  if (!body.known || !p.known) return Number.NEGATIVE_INFINITY;
  if (body.upright) {
    const dx = x - body.ox;
    const dy = y - body.oy;
    const u = dx * body.ux + dy * body.uy;
    const v = dx * body.vx + dy * body.vy;
    const eu = Math.max(body.u0 - u, u - body.u1);
    const ev = Math.max(body.v0 - v, v - body.v1);
    const d = eu > 0 && ev > 0 ? Math.sqrt(eu * eu + ev * ev) : Math.max(eu, ev);
    return sectionDepth(p, d, body.z0 - z, body.z1 - z);
  }
  const f = body.source.frame;
  let least = Math.min(alongNormal(p, x, y, z, body, 0, 0, 1), alongNormal(p, x, y, z, body, 0, 0, -1));
  for (const a of [f.x, f.y, f.z]) {
    least = Math.min(least, alongNormal(p, x, y, z, body, a[0], a[1], a[2]), alongNormal(p, x, y, z, body, -a[0], -a[1], -a[2]));
  }
  for (const by of least > 0 ? THINNED : []) {
    const b = body.source.box;
    const thin = (k: 0 | 1 | 2): number => Math.min(by, Math.abs(b.to[k] - b.from[k]) / 4);
    const lo = (k: 0 | 1 | 2): number => Math.min(b.from[k], b.to[k]) + thin(k);
    const hi = (k: 0 | 1 | 2): number => Math.max(b.from[k], b.to[k]) - thin(k);
    const thinned: OrientedBox = { frame: f, box: { from: [lo(0), lo(1), lo(2)], to: [hi(0), hi(1), hi(2)] } };
    standingGap(p, x, y, z, unprepared(thinned), inner);
    // What still meets the thinned box meets every thicker one.
    if (inner.distance === 0) break;
    least = Math.min(least, alongNormal(p, x, y, z, body, inner.nx, inner.ny, inner.nz));
  }
  return least;
}

const inner: Answer = { distance: 0, nx: 0, ny: 0, nz: 0 };

/** The shift along the unit vector n that takes the tool part out of the body: how far the body reaches along n, less where the tool begins. */
function alongNormal(p: Section, x: number, y: number, z: number, body: Body, nx: number, ny: number, nz: number): number {
  const { frame, box } = body.source;
  const o = frame.origin;
  let reach = nx * (o[0] - x) + ny * (o[1] - y) + nz * (o[2] - z);
  const axes = [frame.x, frame.y, frame.z] as const;
  for (const k of [0, 1, 2] as const) {
    const c = nx * axes[k][0] + ny * axes[k][1] + nz * axes[k][2];
    // The rounding of a turn must not make an infinite extent count where the axis is square to n.
    if (Math.abs(c) > VERTICAL) reach += Math.max(c * box.from[k], c * box.to[k]);
  }
  const top = p.h1 === Number.POSITIVE_INFINITY ? FAR : p.h1;
  return reach - support(p, top, nx, ny, nz);
}

/** The greatest value above 0 of a function of one number between a and b that rises and then falls, by golden section. */
export function greatest(f: (t: number) => number, a: number, b: number): number {
  const g = (Math.sqrt(5) - 1) / 2;
  let lo = a;
  let hi = b;
  let s = hi - g * (hi - lo);
  let t = lo + g * (hi - lo);
  let fs = f(s);
  let ft = f(t);
  let best = Math.max(f(a), f(b), fs, ft);
  for (let n = 0; n < 40 && hi - lo > 1e-9; n++) {
    if (fs >= ft) {
      hi = t;
      t = s;
      ft = fs;
      s = hi - g * (hi - lo);
      fs = f(s);
    } else {
      lo = s;
      s = t;
      fs = ft;
      t = lo + g * (hi - lo);
      ft = f(t);
    }
    best = Math.max(best, fs, ft);
  }
  return best > 0 && Number.isFinite(best) ? best : 0;
}
