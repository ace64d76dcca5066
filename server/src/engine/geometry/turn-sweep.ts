import { corners, type OrientedBox } from "./box.js";
import type { Answer } from "./distance.js";
import { sectionOf, standingGap, unprepared } from "./distance.js";
import { divide, leastSine, type Place } from "./divide.js";
import type { ToolPart } from "./tool.js";
import type { Vec3 } from "./vector.js";

/** How a box turns with a rotary axis. */
export interface Turn {
  /** The machine axis that the turn is about: 0 X (A), 1 Y (B), 2 Z (C). */
  readonly axis: 0 | 1 | 2;
  /** A point of the rotary axis, machine frame, mm. */
  readonly centre: Vec3;
  /** Degrees, right-handed about the machine axis, from where `box` stands to where it stops. */
  readonly angle: number;
}

const MOST = 20_000;
/** A thousand turns: more is a wrong number, and nothing is said about it. */
const MOST_ANGLE = 360_000;

const here: Answer = { distance: 0, nx: 0, ny: 0, nz: 0 };

/**
 * Least distance between a tool part and a box that turns with a rotary axis while the tool point runs straight from `from`
 * to `to` (the same point: a standing tool), both in step. The true sweep, not the cylinder around it. At every position
 * looked at, the plane that parts tool and box bounds what the corners of the box can do around it; the search divides until
 * nothing can be nearer than 1e-7 mm.
 *
 * @param box where it stands at the start, finite in every direction (NaN otherwise)
 * @param cutoff as for `gapLine`
 * @returns `t` runs with the turn, 0 … 1; when they meet it is some place of contact
 */
export function gapIndex(part: ToolPart, from: Vec3, to: Vec3, box: OrientedBox, turn: Turn, cutoff = Number.POSITIVE_INFINITY): Place {
  const p = sectionOf(part);
  const d: Vec3 = [to[0] - from[0], to[1] - from[1], to[2] - from[2]];
  const { axis, centre } = turn;
  const i = ((axis + 1) % 3) as 0 | 1 | 2;
  const j = ((axis + 2) % 3) as 0 | 1 | 2;
  const sweep = (turn.angle * Math.PI) / 180;
  const points = corners(box);
  const known = [...points.flat(), ...from, ...to, centre[i], centre[j]].every(Number.isFinite);
  if (!known || !(Math.abs(turn.angle) <= MOST_ANGLE)) return { distance: Number.NaN, t: Number.NaN };
  const radii = points.map((c) => Math.hypot(c[i] - centre[i], c[j] - centre[j]));
  const angles = points.map((c) => Math.atan2(c[j] - centre[j], c[i] - centre[i]));
  const turned = (v: Vec3, t: number, about: Vec3): Vec3 => {
    const cos = Math.cos(t * sweep);
    const sin = Math.sin(t * sweep);
    const out: [number, number, number] = [v[0], v[1], v[2]];
    const x = v[i] - about[i];
    const y = v[j] - about[j];
    out[i] = about[i] + cos * x - sin * y;
    out[j] = about[j] + sin * x + cos * y;
    return out;
  };
  const origin: Vec3 = [0, 0, 0];
  const boxAt = (t: number): OrientedBox => {
    const f = box.frame;
    const frame = { origin: turned(f.origin, t, centre), x: turned(f.x, t, origin), y: turned(f.y, t, origin), z: turned(f.z, t, origin) };
    return { frame, box: box.box };
  };
  const pointAt = (t: number): Vec3 => [from[0] + t * d[0], from[1] + t * d[1], from[2] + t * d[2]];
  const at = (t: number): number => {
    const q = pointAt(t);
    standingGap(p, q[0], q[1], q[2], unprepared(boxAt(t)), here);
    return here.distance;
  };
  return divide({
    at,
    // Along n the tool moves straight and each corner of the box on a circle; the nearest corner decides.
    growth: (a, m, b) => {
      const n: Vec3 = [here.nx, here.ny, here.nz];
      const across = Math.hypot(n[i], n[j]);
      const phase = Math.atan2(n[j], n[i]);
      const slope = n[0] * d[0] + n[1] * d[1] + n[2] * d[2];
      let least = Number.POSITIVE_INFINITY;
      let now = Number.POSITIVE_INFINITY;
      for (let k = 0; k < 8; k++) {
        const c = points[k] as Vec3;
        const fixed = n[axis] * c[axis];
        const amplitude = across * (radii[k] as number);
        const angle = (angles[k] as number) - phase;
        least = Math.min(least, leastSine(amplitude, angle + Math.PI, sweep, slope, a, b) - fixed);
        now = Math.min(now, slope * m - amplitude * Math.cos(angle + m * sweep) - fixed);
      }
      return least - now;
    },
    pieces: Math.ceil(Math.abs(sweep) / 0.6),
    most: MOST,
    cutoff,
  });
}
