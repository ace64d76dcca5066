import type { Vec3 } from "../../geometry/vector.js";
import type { Move } from "../../machine/move.js";

/** Indexes of a plane's first, second and third axis: G17 X Y Z, G18 Z X Y, G19 Y Z X. */
export function planeAxes(plane: 17 | 18 | 19): readonly [0 | 1 | 2, 0 | 1 | 2, 0 | 1 | 2] {
  return plane === 18 ? [2, 0, 1] : plane === 19 ? [1, 2, 0] : [0, 1, 2];
}

/** How far a move reaches along each machine axis, tool point, mm: [low, high]. A coordinate not known at an end is NaN. */
export function extentOf(move: Move): readonly (readonly [number, number])[] {
  const out = [0, 1, 2].map((k) => {
    const a = move.from[k] as number;
    const b = move.to[k] as number;
    return [Math.min(a, b), Math.max(a, b)] as [number, number];
  });
  const c = move.centre;
  if (move.kind !== "arc" || c === undefined) return out;
  const [i, j] = planeAxes(move.modal.plane);
  const radius = Math.hypot(move.from[i] - c[i], move.from[j] - c[j]);
  const start = Math.atan2(move.from[j] - c[j], move.from[i] - c[i]);
  const sweep = (move.sweep * Math.PI) / 180;
  // The arc reaches farthest where it passes one of the four quarter points.
  for (let q = 0; q < 4; q++) {
    const angle = (q * Math.PI) / 2;
    if (!within(angle, start, sweep)) continue;
    const axis = q % 2 === 0 ? i : j;
    const value = c[axis] + (q < 2 ? radius : -radius);
    const range = out[axis];
    if (range === undefined) continue;
    range[0] = Math.min(range[0], value);
    range[1] = Math.max(range[1], value);
  }
  return out;
}

/** Whether a direction lies within a sweep that starts at another; radians. */
function within(angle: number, start: number, sweep: number): boolean {
  const turn = 2 * Math.PI;
  const d = sweep >= 0 ? (((angle - start) % turn) + turn) % turn : (((start - angle) % turn) + turn) % turn;
  return d <= Math.abs(sweep);
}

/** A point on a move at t from 0 to 1. */
export function pointAt(move: Move, t: number): Vec3 {
  const line: Vec3 = [0, 1, 2].map(
    (k) => (move.from[k] as number) + t * ((move.to[k] as number) - (move.from[k] as number)),
  ) as unknown as Vec3;
  const c = move.centre;
  if (move.kind !== "arc" || c === undefined) return line;
  const [i, j] = planeAxes(move.modal.plane);
  const radius = Math.hypot(move.from[i] - c[i], move.from[j] - c[j]);
  const angle = Math.atan2(move.from[j] - c[j], move.from[i] - c[i]) + (t * move.sweep * Math.PI) / 180;
  const p: [number, number, number] = [line[0], line[1], line[2]];
  p[i] = c[i] + radius * Math.cos(angle);
  p[j] = c[j] + radius * Math.sin(angle);
  return p;
}
