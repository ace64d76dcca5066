import type { Fixture, Solid } from "../../fixture/model.js";
import { LINE, solidAt } from "../../fixture/solids.js";
import { gapArc, gapLine } from "../../geometry/sweep.js";
import { isKnownPoint } from "../../geometry/vector.js";
import type { Move } from "../../machine/move.js";

/**
 * Least distance in mm between the cutting part of a tool on a straight move or an arc and a solid, machine frame; 0 when they
 * meet, NaN where a position is not known. At or above `cutoff` any lower bound not below it may be given.
 */
export function cuttingDistance(fixture: Fixture, move: Move, solid: Solid, cutoff = Number.POSITIVE_INFINITY): number {
  if (!isKnownPoint(move.from) || !isKnownPoint(move.to)) return Number.NaN;
  const box = solidAt(fixture, solid, fixture.machine.rotary === undefined ? 0 : move.rotaryTo);
  let least = Number.POSITIVE_INFINITY;
  for (const part of fixture.tools.get(move.modal.tool)?.stack ?? LINE) {
    if (part.part !== "cutting") continue;
    const { from, to, centre } = move;
    const gap =
      centre !== undefined
        ? gapArc(part, { from, to, centre, sweep: move.sweep, plane: move.modal.plane }, box, Math.min(cutoff, least))
        : gapLine(part, from, to, box, Math.min(cutoff, least));
    if (Number.isNaN(gap.distance)) return Number.NaN;
    least = Math.min(least, gap.distance);
  }
  return least;
}
