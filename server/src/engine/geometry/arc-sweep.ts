import type { Box, OrientedBox } from "./box.js";
import type { Answer, Body, Plan, Section } from "./distance.js";
import { depthOf, greatest, prepare, sectionOf, signedDepth, standingGap } from "./distance.js";
import { divide, leastSine, type Place } from "./divide.js";
import { type Gap, unknownGap } from "./line-sweep.js";
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

/** An arc that rises or misses its circle by less is level, mm. */
const LEVEL = 1e-9;
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
  return { i, j, centre, radius, a0, sweep, drift };
}

/** The first t at which the curve runs in the direction `a` from its centre, radians; above 1 or NaN where it never does. */
function passes(c: Curve, a: number): number {
  const whole = 2 * Math.PI;
  const ahead = ((a - c.a0) * Math.sign(c.sweep)) % whole;
  return (ahead < 0 ? ahead + whole : ahead) / Math.abs(c.sweep);
}

/** The axis-parallel bounds of an arc of the tool point; wider than the truth by what its end point is off the circle. */
export function boundsOfArc(arc: Arc): Box {
  const c = curveOf(arc);
  const from: [number, number, number] = [0, 0, 0];
  const to: [number, number, number] = [0, 0, 0];
  for (const k of [0, 1, 2] as const) {
    from[k] = Math.min(arc.from[k], arc.to[k]);
    to[k] = Math.max(arc.from[k], arc.to[k]);
  }
  for (const [axis, east] of [
    [c.i, 0],
    [c.j, Math.PI / 2],
  ] as const) {
    const off = Math.abs(c.drift[axis]);
    if (passes(c, east) <= 1) to[axis] = Math.max(to[axis], c.centre[axis] + c.radius);
    if (passes(c, east + Math.PI) <= 1) from[axis] = Math.min(from[axis], c.centre[axis] - c.radius);
    from[axis] -= off;
    to[axis] += off;
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

/** A tool part on its way along a curve past a body. */
class Sweep {
  constructor(
    readonly section: Section,
    readonly curve: Curve,
    readonly body: Body,
  ) {}
  /** The distance at t; its gradient is left in `here`. */
  at(t: number): number {
    positionAt(this.curve, t);
    standingGap(this.section, point[0], point[1], point[2], this.body, here);
    return here.distance;
  }
  depth(t: number): number {
    positionAt(this.curve, t);
    return signedDepth(this.section, point[0], point[1], point[2], this.body);
  }
  /** No position of the curve moves faster than this, mm per unit of t. */
  speed(): number {
    const { sweep, radius, drift } = this.curve;
    return Math.abs(sweep) * radius + Math.hypot(...drift);
  }
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
  if (Math.abs(c.sweep) > MOST_SWEEP) return unknownGap();
  const s = new Sweep(p, c, body);
  const level = arc.plane === 17 && Math.hypot(...c.drift) < LEVEL;
  const { distance, t } = level && body.upright !== undefined ? levelArc(s, body.upright) : dividedArc(s, cutoff);
  if (!Number.isFinite(distance)) return unknownGap();
  const first = distance === 0 ? firstContact(s, t) : t;
  positionAt(c, first);
  const at: Vec3 = [point[0], point[1], point[2]];
  return { distance, t: first, at, depth: distance === 0 ? depthOf(depthOnArc(s, t)) : 0, atStart: false };
}

/**
 * At constant height only the distance in plan matters. It is least at an end, where the arc runs parallel to a side or in the
 * direction of a corner; or the arc gets inside, which it does between two places where it crosses the line of a side. So these
 * places are looked at, eighteen at most, and the middles between them: a crossing itself is at distance 0 only but for rounding.
 * On a level arc later turns show nothing new.
 */
function levelArc(s: Sweep, plan: Plan): Place {
  const c = s.curve;
  const x = plan.ox - c.centre[0];
  const y = plan.oy - c.centre[1];
  const times = [0, 1];
  const look = (angle: number): void => {
    const t = passes(c, angle);
    if (t <= 1) times.push(t);
  };
  for (const [ax, ay, ends] of [
    [plan.ux, plan.uy, [plan.u0, plan.u1]],
    [plan.vx, plan.vy, [plan.v0, plan.v1]],
  ] as const) {
    const along = Math.atan2(ay, ax);
    look(along);
    look(Math.atan2(-ay, -ax));
    for (const end of ends) {
      const crossing = Math.acos((end + ax * x + ay * y) / c.radius);
      look(along + crossing);
      look(along - crossing);
    }
  }
  for (const u of [plan.u0, plan.u1])
    for (const v of [plan.v0, plan.v1]) look(Math.atan2(y + u * plan.uy + v * plan.vy, x + u * plan.ux + v * plan.vx));
  times.sort((a, b) => a - b);
  let best: Place = { distance: Number.POSITIVE_INFINITY, t: 0 };
  times.forEach((t, k) => {
    for (const at of [(t + (times[k - 1] ?? t)) / 2, t]) {
      const distance = s.at(at);
      if (distance < best.distance) best = { distance, t: at };
    }
  });
  return best;
}

/** Any arc, any box. */
function dividedArc(s: Sweep, cutoff: number): Place {
  const c = s.curve;
  return divide({
    at: (t) => s.at(t),
    growth: (a, m, b) => leastAlong(c, [here.nx, here.ny, here.nz], a, m, b),
    pieces: Math.ceil(Math.abs(c.sweep) / 1.2),
    most: s.body.upright === undefined ? MOST_TURNED : MOST_UPRIGHT,
    cutoff,
  });
}

/** The first contact not after `known`: the tool can travel at least the distance itself before it touches. */
function firstContact(s: Sweep, known: number): number {
  let t = 0;
  for (let n = 0; n < 200 && t < known; n++) {
    const distance = s.at(t);
    if (distance <= 1e-6) return t;
    t += distance / s.speed();
  }
  return Math.min(t, known);
}

/** Places along a turn where the depth is looked at. */
const PER_TURN = 64;

/**
 * The greatest depth: looked at evenly from end to end, then refined around the contact found and wherever it is not less deep than
 * at both neighbours.
 */
function depthOnArc(s: Sweep, contact: number): number {
  const even = Math.max(1, Math.ceil((PER_TURN * Math.abs(s.curve.sweep)) / (2 * Math.PI)));
  const around = (t: number): number => greatest((at) => s.depth(at), Math.max(0, t - 1 / even), Math.min(1, t + 1 / even));
  const depths = Array.from({ length: even + 1 }, (_, k) => s.depth(k / even));
  let best = around(contact);
  depths.forEach((depth, k) => {
    const neighbours = [depths[k - 1] ?? depth, depths[k + 1] ?? depth];
    if (depth >= Math.max(...neighbours)) best = Math.max(best, depth, around(k / even));
  });
  return best;
}
