import { boundsOfArc } from "../../geometry/sweep.js";
import type { Move } from "../../machine/move.js";

/** How far a move reaches along each machine axis, tool point, mm: [low, high]. A coordinate not known at an end is NaN. */
export function extentOf(move: Move): readonly (readonly [number, number])[] {
  const { from, to, centre, sweep } = move;
  const ends = [0, 1, 2].map((k) => [Math.min(from[k] as number, to[k] as number), Math.max(from[k] as number, to[k] as number)] as const);
  if (centre === undefined) return ends;
  const bounds = boundsOfArc({ from, to, centre, sweep, plane: move.modal.plane });
  return bounds.from.map((low, k) => [low, bounds.to[k] as number] as const);
}
