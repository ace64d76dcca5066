import type { Box, OrientedBox } from "./box.js";
import { bounds, SQUARE } from "./box.js";
import { type Convex, leastConvex } from "./convex.js";
import { IDENTITY } from "./frame.js";
import type { ToolPart } from "./tool.js";
import { dot, type Vec3, ZERO } from "./vector.js";

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

/** A box prepared for many queries. Made by `prepare`, which keeps one per box. */
export interface Body {
  readonly bounds: Box;
  /** False when a number of the box is NaN: every distance to it is NaN then. */
  readonly known: boolean;
  /** The plan of a box of which one axis is parallel to machine Z; no other box has one. */
  readonly upright: Plan | undefined;
  readonly source: OrientedBox;
}

/** An upright box seen from above: its origin, its two horizontal axes and its extents along them. */
export interface Plan {
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
export function unprepared(source: OrientedBox): Body {
  const { frame, box } = source;
  const numbers = [...frame.origin, ...frame.x, ...frame.y, ...frame.z, ...box.from, ...box.to];
  return { bounds: bounds(source), known: !numbers.some(Number.isNaN), upright: planOf(source), source };
}

/** A point, for what is reused to begin with. */
export const NO_BODY: Body = unprepared({ frame: IDENTITY, box: { from: ZERO, to: ZERO } });

function planOf({ frame, box }: OrientedBox): Plan | undefined {
  const axes = [frame.x, frame.y, frame.z] as const;
  const k = axes.findIndex((a) => Math.abs(a[0]) < SQUARE && Math.abs(a[1]) < SQUARE);
  if (k < 0) return undefined;
  const i = ((k + 1) % 3) as 0 | 1 | 2;
  const j = ((k + 2) % 3) as 0 | 1 | 2;
  const [u, v] = [axes[i], axes[j]];
  return {
    ox: frame.origin[0],
    oy: frame.origin[1],
    ux: u[0],
    uy: u[1],
    vx: v[0],
    vy: v[1],
    u0: box.from[i],
    u1: box.to[i],
    v0: box.from[j],
    v1: box.to[j],
  };
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

/** A point, for what is reused to begin with. */
export const NO_SECTION: Section = { r0: 0, r1: 0, h0: 0, h1: 0, r: 0, known: true };

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
  const height = p.h1 - p.h0;
  if (p.r1 > p.r0 && zu < p.h1) taper(p.r1, p.r0, height, d, p.h1 - zu, 1);
  else if (p.r0 > p.r1 && zl > p.h0) taper(p.r0, p.r1, height, d, zl - p.h0, -1);
  else {
    const above = p.h0 - zu;
    apart(Math.max(d - p.r, 0), above > 0 ? above : -Math.max(zl - p.h1, 0));
  }
}

/**
 * The tapered side: seen from its wide end, which is `y` away along the axis, toward the narrow end at `height`. The point (d, y)
 * lies beyond the corner of the wide end, beyond the narrow end, or beside the slanted side; `up` is 1 where the wide end is the top.
 */
function taper(wide: number, narrow: number, height: number, d: number, y: number, up: 1 | -1): void {
  const slant = wide - narrow;
  const l2 = slant * slant + height * height;
  const x = d - wide;
  const along = height * y - slant * x;
  if (along <= 0) apart(x, up * y);
  else if (along >= l2) apart(Math.max(d - narrow, 0), up * Math.max(y - height, 0));
  else {
    const out = Math.max(height * x + slant * y, 0) / l2;
    apart(out * height, up * out * slant);
  }
}

/** The nearest points are so far apart, outward and upward. */
function apart(outward: number, upward: number): void {
  gap = Math.sqrt(outward * outward + upward * upward);
  slopeRadial = gap > 0 ? outward / gap : 0;
  slopeUp = gap > 0 ? upward / gap : 0;
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
  const plan = body.upright;
  if (plan === undefined) {
    turnedGap(p, px, py, pz, body, out);
    return;
  }
  const dx = px - plan.ox;
  const dy = py - plan.oy;
  const u = dx * plan.ux + dy * plan.uy;
  const v = dx * plan.vx + dy * plan.vy;
  const du = u < plan.u0 ? u - plan.u0 : Math.max(u - plan.u1, 0);
  const dv = v < plan.v0 ? v - plan.v0 : Math.max(v - plan.v1, 0);
  const d = Math.sqrt(du * du + dv * dv);
  sectionGap(p, d, body.bounds.from[2] - pz, body.bounds.to[2] - pz);
  const k = d > 0 ? slopeRadial / d : 0;
  out.distance = gap;
  out.nx = k * (du * plan.ux + dv * plan.vx);
  out.ny = k * (du * plan.uy + dv * plan.vy);
  out.nz = slopeUp;
}

/** The lowest value over the tool part (its tool point at 0) of the linear form (x, y, z)·q; leaves the point where it is taken in `lowest`. */
function support(p: Section, top: number, x: number, y: number, z: number): number {
  const h = Math.sqrt(x * x + y * y);
  const bottom = z * p.h0 - h * p.r0;
  const upper = z * top - h * p.r1;
  const k = h > 0 ? (bottom <= upper ? p.r0 : p.r1) / h : 0;
  lowest[0] = -k * x;
  lowest[1] = -k * y;
  lowest[2] = bottom <= upper ? p.h0 : top;
  return Math.min(bottom, upper);
}
const lowest: [number, number, number] = [0, 0, 0];

// The turned box that is looked at: its axes, its extents along them (no longer infinite), and where its frame stands as seen from the tool point.
let axes: readonly [Vec3, Vec3, Vec3] = [ZERO, ZERO, ZERO];
const low: [number, number, number] = [0, 0, 0];
const high: [number, number, number] = [0, 0, 0];
const origin: [number, number, number] = [0, 0, 0];

/**
 * A box of any orientation. With n the outward normal of a face, the nearest pair is either (tool rim, inside of a
 * face), found by the support of the tool, or it lies on an edge of the box, where the distance is a convex function of
 * one number. If no edge meets the tool and yet they overlap, the tool pierces a face or lies inside.
 */
function turnedGap(p: Section, px: number, py: number, pz: number, body: Body, out: Answer): void {
  const { frame, box } = body.source;
  axes = [frame.x, frame.y, frame.z];
  origin[0] = frame.origin[0] - px;
  origin[1] = frame.origin[1] - py;
  origin[2] = frame.origin[2] - pz;
  const top = Math.min(p.h1, FAR);
  // The face that parts them most.
  let parted = 0;
  let face: 0 | 1 | 2 = 0;
  let side = 0;
  for (const k of [0, 1, 2] as const) {
    const [x, y, z] = axes[k];
    const o = dot(axes[k], origin);
    const toolLow = support(p, top, x, y, z) - o;
    // The part is round, so of the opposite direction only the height differs.
    const toolHigh = -support(p, top, x, y, -z) - o;
    // An infinite box ends a little beyond the tool: the nearest points stay inside.
    low[k] = Math.max(box.from[k], Math.min(toolLow, box.to[k]) - 1);
    high[k] = Math.min(box.to[k], Math.max(toolHigh, box.from[k]) + 1);
    if (toolLow - high[k] > parted) {
      parted = toolLow - high[k];
      face = k;
      side = 1;
    }
    if (low[k] - toolHigh > parted) {
      parted = low[k] - toolHigh;
      face = k;
      side = -1;
    }
  }
  out.nx = side * axes[face][0];
  out.ny = side * axes[face][1];
  out.nz = side * axes[face][2];
  out.distance = parted;
  if (parted > 0) {
    // If the tool's nearest rim point stands over that face, that is the answer.
    support(p, top, out.nx, out.ny, out.nz);
    if (!isInside(lowest[0], lowest[1], lowest[2], face)) edgesGap(p, out);
  } else if (!pierces(p, top)) edgesGap(p, out);
}

/** Whether a point, seen from the tool point, lies between the sides of the box, those square to the axis `except` left out. */
function isInside(x: number, y: number, z: number, except: number): boolean {
  for (const k of [0, 1, 2] as const) {
    const a = axes[k];
    const c = (x - origin[0]) * a[0] + (y - origin[1]) * a[1] + (z - origin[2]) * a[2];
    if (k !== except && !(c >= low[k] && c <= high[k])) return false;
  }
  return true;
}

/**
 * Whether a chord of the tool part through the plane of a face goes through that face, or the part's lower centre lies
 * in the box. Together with the edges this decides overlap: a section of the tool that touches no edge of a face lies
 * wholly inside the face or wholly outside, so any one of its points tells.
 */
function pierces(p: Section, top: number): boolean {
  if (isInside(0, 0, p.h0, -1)) return true;
  for (const k of [0, 1, 2] as const) {
    const [x, y, z] = axes[k];
    const o = dot(axes[k], origin);
    const toolLow = support(p, top, x, y, z) - o;
    const [ax, ay, az] = lowest;
    const toolHigh = -support(p, top, -x, -y, -z) - o;
    const [bx, by, bz] = lowest;
    for (const plane of [low[k], high[k]]) {
      const s = (plane - toolLow) / (toolHigh - toolLow);
      if (s >= 0 && s <= 1 && isInside(ax + s * (bx - ax), ay + s * (by - ay), az + s * (bz - az), k)) return true;
    }
  }
  return false;
}

/** The distance of a place of one edge of the box to the tool part, along that edge. */
class Edge implements Convex {
  slope = 0;
  place = 0;
  nx = 0;
  ny = 0;
  nz = 0;
  section: Section = NO_SECTION;
  from: [number, number, number] = [0, 0, 0];
  way: [number, number, number] = [0, 0, 0];
  at(t: number): number {
    const { from, way } = this;
    const x = from[0] + t * way[0];
    const y = from[1] + t * way[1];
    const z = from[2] + t * way[2];
    const d = Math.sqrt(x * x + y * y);
    sectionGap(this.section, d, z, z);
    const k = d > 0 ? slopeRadial / d : 0;
    // The gradient with respect to the tool is opposite to that with respect to the place.
    this.nx = -k * x;
    this.ny = -k * y;
    this.nz = slopeUp;
    this.slope = -(this.nx * way[0] + this.ny * way[1] + this.nz * way[2]);
    return gap;
  }
}
const edge = new Edge();

/** The least distance over the twelve edges. */
function edgesGap(p: Section, out: Answer): void {
  out.distance = Number.POSITIVE_INFINITY;
  edge.section = p;
  for (const k of [0, 1, 2] as const) {
    const i = ((k + 1) % 3) as 0 | 1 | 2;
    const j = ((k + 2) % 3) as 0 | 1 | 2;
    for (const a of [low[i], high[i]])
      for (const b of [low[j], high[j]]) {
        for (const c of [0, 1, 2] as const) {
          edge.from[c] = origin[c] + low[k] * axes[k][c] + a * axes[i][c] + b * axes[j][c];
          edge.way[c] = (high[k] - low[k]) * axes[k][c];
        }
        const least = leastConvex(edge, out.distance, 0);
        if (least >= out.distance) continue;
        out.distance = edge.at(edge.place);
        out.nx = edge.nx;
        out.ny = edge.ny;
        out.nz = edge.nz;
      }
  }
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
  return depthOf(signedDepth(p, x, y, z, body));
}

/** The depth that a signed depth stands for: none where the part is free, nor where nothing frees it or nothing is known. */
export function depthOf(signed: number): number {
  return signed > 0 && Number.isFinite(signed) ? signed : 0;
}

/** As `penetration`, but below 0 where the part is free, so that a search along a move sees which way it gets deeper. */
export function signedDepth(p: Section, x: number, y: number, z: number, body: Body): number {
  const plan = body.upright;
  if (plan !== undefined) {
    const dx = x - plan.ox;
    const dy = y - plan.oy;
    const u = dx * plan.ux + dy * plan.uy;
    const v = dx * plan.vx + dy * plan.vy;
    const eu = Math.max(plan.u0 - u, u - plan.u1);
    const ev = Math.max(plan.v0 - v, v - plan.v1);
    const d = eu > 0 && ev > 0 ? Math.sqrt(eu * eu + ev * ev) : Math.max(eu, ev);
    return sectionDepth(p, d, body.bounds.from[2] - z, body.bounds.to[2] - z);
  }
  const { frame, box } = body.source;
  let least = Number.POSITIVE_INFINITY;
  for (const [nx, ny, nz] of [frame.x, frame.y, frame.z, UP]) {
    least = Math.min(least, alongNormal(p, x, y, z, body, nx, ny, nz), alongNormal(p, x, y, z, body, -nx, -ny, -nz));
  }
  for (const by of least > 0 ? THINNED : []) {
    const thin = (k: 0 | 1 | 2): number => Math.min(by, (box.to[k] - box.from[k]) / 4);
    const from: Vec3 = [box.from[0] + thin(0), box.from[1] + thin(1), box.from[2] + thin(2)];
    const to: Vec3 = [box.to[0] - thin(0), box.to[1] - thin(1), box.to[2] - thin(2)];
    standingGap(p, x, y, z, unprepared({ frame, box: { from, to } }), inner);
    // What still meets the thinned box meets every thicker one.
    if (inner.distance === 0) break;
    least = Math.min(least, alongNormal(p, x, y, z, body, inner.nx, inner.ny, inner.nz));
  }
  return least;
}

const UP: Vec3 = [0, 0, 1];
const inner: Answer = { distance: 0, nx: 0, ny: 0, nz: 0 };

/** The shift along the unit vector n that takes the tool part out of the body: how far the body reaches along n, less where the tool begins. */
function alongNormal(p: Section, x: number, y: number, z: number, body: Body, nx: number, ny: number, nz: number): number {
  const { frame, box } = body.source;
  const o = frame.origin;
  let reach = nx * (o[0] - x) + ny * (o[1] - y) + nz * (o[2] - z);
  for (const [k, a] of [frame.x, frame.y, frame.z].entries()) {
    const c = nx * a[0] + ny * a[1] + nz * a[2];
    // The rounding of a turn must not make an infinite extent count where the axis is square to n.
    if (Math.abs(c) > SQUARE) reach += Math.max(c * (box.from[k] as number), c * (box.to[k] as number));
  }
  return reach - support(p, Math.min(p.h1, FAR), nx, ny, nz);
}

/** The greatest value of a function of one number between a and b that rises and then falls, by golden section. */
export function greatest(f: (t: number) => number, a: number, b: number): number {
  const g = (Math.sqrt(5) - 1) / 2;
  let lo = a;
  let hi = b;
  let s = hi - g * (hi - lo);
  let t = lo + g * (hi - lo);
  let fs = f(s);
  let ft = f(t);
  for (let n = 0; n < 40; n++) {
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
  }
  return Math.max(f(a), f(b), fs, ft);
}
