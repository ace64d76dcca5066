import type { OrientedBox } from "./box.js";
import type { Answer, Body, Section } from "./distance.js";
import { greatest, penetration, prepare, sectionOf, signedDepth, standingGap } from "./distance.js";
import type { ToolPart } from "./tool.js";
import type { Vec3 } from "./vector.js";

/**
 * Least distance of a moving tool part to a box. The caller compares it with a clearance; equal within 1 µm counts as
 * clear (ruling 44), so a finding needs `distance < clearance − 0.001`.
 */
export interface Gap {
  /** mm; 0 when they meet, NaN when a number of the input is or is infinite where it may not be (positions). Exact within 1e-9 on lines, 1e-7 on arcs. */
  readonly distance: number;
  /** Where along the move it occurs, 0 start … 1 end (on a stretch of equal distance: somewhere on it); when they meet: where contact begins. */
  readonly t: number;
  /** The tool point there. */
  readonly at: Vec3;
  /**
   * Only when they meet, else 0: how deep the part gets into the box along the move, as the least shift that would free it
   * there, mm. A touch has no depth. Close, not exact, on arcs and in turned boxes.
   */
  readonly depth: number;
  /**
   * The least distance is at the start and the tool leaves from there (it does not run alongside); when they meet: they
   * met at the start already, the move enters nothing anew.
   */
  readonly atStart: boolean;
}

/** How close the search comes to the true minimum on lines, mm. */
const EXACT = 1e-10;
/** Growth that counts as leaving, mm, and the travel within which it must show, mm. */
const LEAVES = 1e-6;
const LEAVES_WITHIN = 0.5;

const here: Answer = { distance: 0, nx: 0, ny: 0, nz: 0 };

/** The answer where nothing is known. */
export function unknownGap(): Gap {
  return {
    distance: Number.NaN,
    t: Number.NaN,
    at: [Number.NaN, Number.NaN, Number.NaN],
    depth: 0,
    atStart: false,
  };
}

/**
 * Least distance between a tool part whose tool point runs straight from `from` to `to` (mm, machine frame) and a box.
 * The distance is convex along the line, so two positions on either side of the minimum with their slopes enclose it:
 * the search ends when the enclosure is narrower than 1e-10 mm. A move of no length is a standing tool.
 *
 * @param cutoff when the distance is certainly not below it, the search stops and `distance` is some lower bound of the
 * true distance that is not below `cutoff`. Default: always exact.
 */
export function gapLine(part: ToolPart, from: Vec3, to: Vec3, box: OrientedBox, cutoff = Number.POSITIVE_INFINITY): Gap {
  return gapLineBody(sectionOf(part), from, to, prepare(box), cutoff);
}

/** `gapLine` on prepared arguments, for inner loops. */
export function gapLineBody(p: Section, from: Vec3, to: Vec3, body: Body, cutoff: number): Gap {
  const x = from[0];
  const y = from[1];
  const z = from[2];
  const dx = to[0] - x;
  const dy = to[1] - y;
  const dz = to[2] - z;
  standingGap(p, x, y, z, body, here);
  let t0 = 0;
  let f0 = here.distance;
  let g0 = here.nx * dx + here.ny * dy + here.nz * dz;
  if (!Number.isFinite(f0 + dx + dy + dz)) return unknownGap();
  if (f0 === 0)
    return {
      distance: 0,
      t: 0,
      at: from,
      depth: depthOnLine(p, from, dx, dy, dz, body),
      atStart: true,
    };
  if (g0 >= 0)
    return {
      distance: f0,
      t: 0,
      at: from,
      depth: 0,
      atStart: f0 < cutoff && leavesLine(p, from, dx, dy, dz, body, f0),
    };
  // The tangent at the start already bounds the whole line.
  if (f0 + g0 >= cutoff) return { distance: f0 + g0, t: 1, at: to, depth: 0, atStart: false };
  standingGap(p, to[0], to[1], to[2], body, here);
  let t1 = 1;
  let f1 = here.distance;
  let g1 = here.nx * dx + here.ny * dy + here.nz * dz;
  if (f1 === 0) return contactOnLine(p, from, dx, dy, dz, body, f0, g0);
  if (g1 <= 0) return { distance: f1, t: 1, at: to, depth: 0, atStart: false };
  let best = Math.min(f0, f1);
  let bestT = f0 < f1 ? 0 : 1;
  for (let n = 0; n < 100; n++) {
    const w = t1 - t0;
    const tangent = (f1 - f0 - g1 * w) / (g0 - g1);
    const bound = f0 + g0 * tangent;
    if (bound >= cutoff)
      return {
        distance: bound,
        t: bestT,
        at: pointOn(from, dx, dy, dz, bestT),
        depth: 0,
        atStart: false,
      };
    if (best - bound <= EXACT) break;
    // A secant of the slope homes in on smooth stretches, the meeting of the tangents finds corners, halving always ends.
    const pick = n % 3;
    let t = pick === 0 ? t0 + tangent : pick === 1 ? t0 + (w * g0) / (g0 - g1) : t0 + w / 2;
    if (!(t > t0 && t < t1)) t = t0 + w / 2;
    if (t === t0 || t === t1) break;
    standingGap(p, x + t * dx, y + t * dy, z + t * dz, body, here);
    const f = here.distance;
    const g = here.nx * dx + here.ny * dy + here.nz * dz;
    if (f === 0) return contactOnLine(p, from, dx, dy, dz, body, f0, g0, t0);
    if (f < best) {
      best = f;
      bestT = t;
    }
    if (g === 0) break;
    if (g < 0) {
      t0 = t;
      f0 = f;
      g0 = g;
    } else {
      t1 = t;
      f1 = f;
      g1 = g;
    }
  }
  return {
    distance: best,
    t: bestT,
    at: pointOn(from, dx, dy, dz, bestT),
    depth: 0,
    atStart: false,
  };
}

function pointOn(from: Vec3, dx: number, dy: number, dz: number, t: number): Vec3 {
  return [from[0] + t * dx, from[1] + t * dy, from[2] + t * dz];
}

/** Whether the distance grows from the start on; it is known to be least there. */
function leavesLine(p: Section, from: Vec3, dx: number, dy: number, dz: number, body: Body, f0: number): boolean {
  const l = Math.sqrt(dx * dx + dy * dy + dz * dz);
  if (l === 0) return false;
  const t = Math.min(1, LEAVES_WITHIN / l);
  standingGap(p, from[0] + t * dx, from[1] + t * dy, from[2] + t * dz, body, here);
  return here.distance > f0 + Math.min(LEAVES, 1e-4 * l);
}

/** They meet somewhere after the start: contact begins where Newton's steps, which never overshoot on a convex function, end. */
function contactOnLine(p: Section, from: Vec3, dx: number, dy: number, dz: number, body: Body, f0: number, g0: number, t0 = 0): Gap {
  let t = t0;
  let f = f0;
  let g = g0;
  for (let n = 0; n < 60 && f > 1e-9 && g < 0; n++) {
    const next = t - f / g;
    if (!(next > t) || next > 1) break;
    t = next;
    standingGap(p, from[0] + t * dx, from[1] + t * dy, from[2] + t * dz, body, here);
    f = here.distance;
    g = here.nx * dx + here.ny * dy + here.nz * dz;
  }
  return {
    distance: 0,
    t,
    at: pointOn(from, dx, dy, dz, t),
    depth: depthOnLine(p, from, dx, dy, dz, body),
    atStart: false,
  };
}

/** The depth is concave along a line, so its greatest value is found by golden section. */
function depthOnLine(p: Section, from: Vec3, dx: number, dy: number, dz: number, body: Body): number {
  const at = (t: number): number => signedDepth(p, from[0] + t * dx, from[1] + t * dy, from[2] + t * dz, body);
  const first = at(0);
  if (dx === 0 && dy === 0 && dz === 0) return penetration(p, from[0], from[1], from[2], body);
  const last = at(1);
  // A cut through a solid block is as deep at both ends and in between.
  const middle = at(0.5);
  if (first > 0 && Number.isFinite(first) && Math.abs(first - last) < 1e-9 && Math.abs(first - middle) < 1e-9) return first;
  return greatest(at, 0, 1);
}
