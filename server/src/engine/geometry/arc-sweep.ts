import type { Box, OrientedBox } from "./box.js";
import type { Answer, Body, Section } from "./distance.js";
import { greatest, prepare, sectionOf, signedDepth, standingGap } from "./distance.js";
import { divide, leastSine } from "./divide.js";
import { type Gap, gapLineBody, unknownGap } from "./line-sweep.js";
import type { ToolPart } from "./tool.js";
import type { Vec3 } from "./vector.js";

/** An arc or helix of the tool point, machine frame, mm. */
export interface Arc {
  readonly from: Vec3;
  readonly to: Vec3;
  /** Only the two coordinates of the plane matter. */
  readonly centre: Vec3;
  /** Degrees, positive counter-clockwise seen against the plane's third axis. */
  readonly sweep: number;
  readonly plane: 17 | 18 | 19;
}

/** Positions looked at before the search settles for its lower bound (a distance that stays the same along a whole arc needs many). */
const MOST_UPRIGHT = 20_000;
const MOST_TURNED = 3_000;

/** A thousand turns, radians: more is no arc but a wrong number, and nothing is said about it. */
const MOST_SWEEP = 2000 * Math.PI;

const here: Answer = { distance: 0, nx: 0, ny: 0, nz: 0 };

/**
 * The curve: centre + radius·(cos θ, sin θ) in the plane, θ = a0 + t·sweep, plus t·drift. The drift carries the third
 * axis of a helix and whatever the end point is off the circle (programs round it), so that both ends are met exactly.
 */
interface Curve {
  readonly i: 0 | 1 | 2;
  readonly j: 0 | 1 | 2;
  readonly centre: readonly [number, number, number];
  readonly radius: number;
  readonly a0: number;
  /** Radians. */
  readonly sweep: number;
  readonly drift: readonly [number, number, number];
  readonly to: Vec3;
}

function curveOf(arc: Arc): Curve {
  // The plane's first and second axis: XY, ZX, YZ.
  const [i, j, k] = arc.plane === 17 ? ([0, 1, 2] as const) : arc.plane === 18 ? ([2, 0, 1] as const) : ([1, 2, 0] as const);
  const centre: [number, number, number] = [0, 0, 0];
  centre[i] = arc.centre[i];
  centre[j] = arc.centre[j];
  centre[k] = arc.from[k];
  const a0 = Math.atan2(arc.from[j] - centre[j], arc.from[i] - centre[i]);
  const radius = Math.hypot(arc.from[i] - centre[i], arc.from[j] - centre[j]);
  const sweep = (arc.sweep * Math.PI) / 180;
  const drift: [number, number, number] = [0, 0, 0];
  drift[i] = arc.to[i] - (centre[i] + radius * Math.cos(a0 + sweep));
  drift[j] = arc.to[j] - (centre[j] + radius * Math.sin(a0 + sweep));
  drift[k] = arc.to[k] - arc.from[k];
  // Rounding of the trigonometric functions is no drift; without it a level arc has a closed form.
  for (const a of [i, j]) if (Math.abs(drift[a]) < 1e-9) drift[a] = 0;
  return { i, j, centre, radius, a0, sweep, drift, to: arc.to };
}

/** The axis-parallel bounds of an arc of the tool point; at most wider than the truth by what its end point is off the circle. */
export function boundsOfArc(arc: Arc): Box {
  const c = curveOf(arc);
  const from: [number, number, number] = [0, 0, 0];
  const to: [number, number, number] = [0, 0, 0];
  for (const k of [0, 1, 2] as const) {
    from[k] = Math.min(arc.from[k], arc.to[k]);
    to[k] = Math.max(arc.from[k], arc.to[k]);
  }
  const lo = Math.min(c.a0, c.a0 + c.sweep);
  const hi = Math.max(c.a0, c.a0 + c.sweep);
  const quarter = Math.PI / 2;
  for (let q = Math.ceil(lo / quarter); q <= hi / quarter && q - lo / quarter < 5; q++) {
    const t = c.sweep === 0 ? 0 : (q * quarter - c.a0) / c.sweep;
    for (const [axis, value] of [
      [c.i, Math.cos(q * quarter)],
      [c.j, Math.sin(q * quarter)],
    ] as const) {
      const at = c.centre[axis] + c.radius * value + t * c.drift[axis];
      from[axis] = Math.min(from[axis], at - Math.abs(c.drift[axis]));
      to[axis] = Math.max(to[axis], at + Math.abs(c.drift[axis]));
    }
  }
  return { from, to };
}

const point: [number, number, number] = [0, 0, 0];

/** The position at t, left in `point`. */
function positionAt(c: Curve, t: number): void {
  const a = c.a0 + t * c.sweep;
  point[0] = c.centre[0] + t * c.drift[0];
  point[1] = c.centre[1] + t * c.drift[1];
  point[2] = c.centre[2] + t * c.drift[2];
  point[c.i] += c.radius * Math.cos(a);
  point[c.j] += c.radius * Math.sin(a);
}

/** The least value over t in [ta, tb] of n·(position(t) − position(tm)). */
function leastAlong(c: Curve, n: readonly [number, number, number], ta: number, tm: number, tb: number): number {
  const amplitude = c.radius * Math.hypot(n[c.i], n[c.j]);
  const phase = Math.atan2(n[c.j], n[c.i]);
  const slope = n[0] * c.drift[0] + n[1] * c.drift[1] + n[2] * c.drift[2];
  const at = amplitude * Math.cos(c.a0 + tm * c.sweep - phase) + slope * tm;
  return leastSine(amplitude, c.a0 - phase, c.sweep, slope, ta, tb) - at;
}

/**
 * Least distance between a tool part whose tool point runs along an arc or helix and a box. A level arc in the XY plane
 * against an upright box is solved in closed form; every other by dividing the arc, each piece bounded from below by the
 * plane that parts tool and box at its middle, until what is left cannot be nearer than 1e-7 mm. When the distance stays
 * (almost) the same along the whole arc and the pieces run out, the lower bound is returned: never more than the truth.
 *
 * @param cutoff as for `gapLine`
 */
export function gapArc(part: ToolPart, arc: Arc, box: OrientedBox, cutoff = Number.POSITIVE_INFINITY): Gap {
  return gapArcBody(sectionOf(part), arc, prepare(box), cutoff);
}

/** `gapArc` on prepared arguments, for inner loops. */
export function gapArcBody(p: Section, arc: Arc, body: Body, cutoff: number): Gap {
  const c = curveOf(arc);
  const sum = c.radius + c.a0 + c.sweep + c.drift[0] + c.drift[1] + c.drift[2] + arc.from[0] + arc.from[1] + arc.from[2];
  if (!Number.isFinite(sum) || Math.abs(c.sweep) > MOST_SWEEP || !body.known || !p.known) return unknownGap();
  if (c.sweep === 0 || c.radius === 0) return gapLineBody(p, arc.from, arc.to, body, cutoff);
  standingGap(p, arc.from[0], arc.from[1], arc.from[2], body, here);
  const f0 = here.distance;
  if (f0 === 0)
    return {
      distance: 0,
      t: 0,
      at: arc.from,
      depth: depthOnArc(p, c, body, 0),
      atStart: true,
    };
  const level = arc.plane === 17 && c.drift[0] === 0 && c.drift[1] === 0 && c.drift[2] === 0;
  return level && body.upright ? levelArc(p, c, body, f0, cutoff) : dividedArc(p, c, body, f0, cutoff);
}

function done(p: Section, c: Curve, body: Body, f0: number, distance: number, t: number, cutoff: number): Gap {
  if (distance === 0) {
    const first = firstContact(p, c, body, t);
    positionAt(c, first);
    return {
      distance: 0,
      t: first,
      at: [point[0], point[1], point[2]],
      depth: depthOnArc(p, c, body, t),
      atStart: false,
    };
  }
  positionAt(c, t);
  const at: Vec3 = [point[0], point[1], point[2]];
  const atStart = t <= 1e-9 && distance < cutoff && leaves(p, c, body, f0);
  return { distance, t, at, depth: 0, atStart };
}

function leaves(p: Section, c: Curve, body: Body, f0: number): boolean {
  const l = speedOf(c);
  positionAt(c, Math.min(1, 0.5 / l));
  standingGap(p, point[0], point[1], point[2], body, here);
  return here.distance > f0 + Math.min(1e-6, 1e-4 * l);
}

// --- level arc, upright box -----------------------------------------------------------------------------------------

/**
 * At constant height only the distance in plan matters. It is least at an end, where the arc runs parallel to a side or in the
 * direction of a corner; or the arc gets inside, which it does between two places where it crosses the line of a side. So these
 * places are looked at, eighteen at most, and the middles between them: a crossing itself is at distance 0 only but for rounding.
 */
function levelArc(p: Section, c: Curve, body: Body, f0: number, cutoff: number): Gap {
  const dx = c.centre[0] - body.ox;
  const dy = c.centre[1] - body.oy;
  const cu = dx * body.ux + dy * body.uy;
  const cv = dx * body.vx + dy * body.vy;
  // The box's u, v may be left-handed in plan; angles are measured in u, v and turned into the curve's own afterwards.
  const su = body.ux;
  const sv = body.uy;
  const hand = body.ux * body.vy - body.uy * body.vx > 0 ? 1 : -1;
  const turn = Math.atan2(sv, su);
  let least = Number.POSITIVE_INFINITY;
  let leastT = 0;
  const look = (t: number): void => {
    const a = hand * (c.a0 + t * c.sweep - turn);
    const u = cu + c.radius * Math.cos(a);
    const v = cv + c.radius * Math.sin(a);
    const du = Math.max(body.u0 - u, u - body.u1);
    const dv = Math.max(body.v0 - v, v - body.v1);
    // Below 0 inside: the deepest place is no touch.
    const d = du > 0 && dv > 0 ? Math.hypot(du, dv) : Math.max(du, dv);
    if (d < least - 1e-12 || (d < least + 1e-12 && t < leastT)) {
      least = Math.min(d, least);
      leastT = t;
    }
  };
  const times = [0, 1];
  /** The first time the arc passes the direction `a` (radians, in u, v); on a level arc later turns show nothing new. */
  const pass = (a: number): void => {
    const whole = 2 * Math.PI;
    const ahead = ((hand * a + turn - c.a0) * Math.sign(c.sweep)) % whole;
    const t = (ahead < 0 ? ahead + whole : ahead) / Math.abs(c.sweep);
    if (t <= 1) times.push(t);
  };
  for (const a of [0, Math.PI / 2, Math.PI, -Math.PI / 2]) pass(a);
  for (const u of [body.u0, body.u1]) {
    const k = (u - cu) / c.radius;
    if (k >= -1 && k <= 1) {
      pass(Math.acos(k));
      pass(-Math.acos(k));
    }
    for (const v of [body.v0, body.v1]) {
      if (!Number.isFinite(u) || !Number.isFinite(v) || (u === cu && v === cv)) continue;
      pass(Math.atan2(v - cv, u - cu));
    }
  }
  for (const v of [body.v0, body.v1]) {
    const k = (v - cv) / c.radius;
    if (k >= -1 && k <= 1) {
      pass(Math.asin(k));
      pass(Math.PI - Math.asin(k));
    }
  }
  times.sort((a, b) => a - b);
  times.forEach((t, k) => {
    look(t);
    if (k > 0) look((t + (times[k - 1] as number)) / 2);
  });
  positionAt(c, leastT);
  standingGap(p, point[0], point[1], point[2], body, here);
  const found = here.distance;
  return done(p, c, body, f0, found, leastT, cutoff);
}

// --- any arc, any box -----------------------------------------------------------------------------------------------

function dividedArc(p: Section, c: Curve, body: Body, f0: number, cutoff: number): Gap {
  const normal: [number, number, number] = [0, 0, 0];
  const found = divide({
    at: (t) => {
      positionAt(c, t);
      if (t === 1) standingGap(p, c.to[0], c.to[1], c.to[2], body, here);
      else standingGap(p, point[0], point[1], point[2], body, here);
      normal[0] = here.nx;
      normal[1] = here.ny;
      normal[2] = here.nz;
      return here.distance;
    },
    growth: (a, m, b) => leastAlong(c, normal, a, m, b),
    start: f0,
    pieces: Math.ceil(Math.abs(c.sweep) / 1.2),
    most: body.upright ? MOST_UPRIGHT : MOST_TURNED,
    cutoff,
  });
  return done(p, c, body, f0, found.distance, found.t, cutoff);
}

// --- contact --------------------------------------------------------------------------------------------------------

/** The first contact not after `known`: the tool can travel at least the distance itself before it touches. */
function firstContact(p: Section, c: Curve, body: Body, known: number): number {
  const speed = speedOf(c);
  let t = 0;
  for (let n = 0; n < 200 && t < known; n++) {
    positionAt(c, t);
    standingGap(p, point[0], point[1], point[2], body, here);
    if (here.distance <= 1e-6) return t;
    t += here.distance / speed;
  }
  return Math.min(t, known);
}

/** Places along a turn where the depth is looked at, and the most of them. */
const PER_TURN = 64;
const MOST_LOOKS = 400;

/**
 * The greatest depth: looked at at the ends, at the contact found and evenly between, then refined wherever it is deeper than at
 * both neighbours and could still be deeper than what is known.
 */
function depthOnArc(p: Section, c: Curve, body: Body, contact: number): number {
  const even = Math.min(MOST_LOOKS, Math.ceil((PER_TURN * Math.abs(c.sweep)) / (2 * Math.PI)));
  const times = [contact];
  for (let n = 0; n <= even; n++) times.push(n / even);
  times.sort((a, b) => a - b);
  const at = (t: number): number => {
    positionAt(c, t);
    return signedDepth(p, point[0], point[1], point[2], body);
  };
  const depths = times.map(at);
  const speed = speedOf(c);
  let best = Math.max(...depths);
  depths.forEach((depth, k) => {
    const before = Math.max(0, k - 1);
    const after = Math.min(times.length - 1, k + 1);
    if (depth < (depths[before] as number) || depth < (depths[after] as number)) return;
    const a = times[before] as number;
    const b = times[after] as number;
    // The depth grows by no more than the tool travels, and from both neighbours.
    if (depth + (speed * (b - a)) / 2 > best) best = Math.max(best, greatest(at, a, b));
  });
  return best > 0 && Number.isFinite(best) ? best : 0;
}

/** No position of the curve moves faster than this, mm per unit of t. */
function speedOf(c: Curve): number {
  return Math.abs(c.sweep) * c.radius + Math.hypot(c.drift[0], c.drift[1], c.drift[2]);
}
