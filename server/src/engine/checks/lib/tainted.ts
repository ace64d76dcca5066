import type { Run } from "../../machine/run.js";
import type { RuleContext } from "../rule.js";
import { incrementalFaults } from "./increments.js";
import { staleAxes } from "./stale.js";

const known = new WeakMap<Run, ReadonlySet<number>>();

/**
 * Moves that are in the wrong place for a reason that another finding names: G91 left on, an axis left from the last station. What
 * they come near to follows from that and is no fault of its own.
 */
export function taintedMoves(cx: RuleContext): ReadonlySet<number> {
  const held = known.get(cx.run);
  if (held !== undefined) return held;
  const { run } = cx;
  const out = new Set<number>();
  for (const fault of incrementalFaults(cx)) {
    for (let i = run.steps[fault.step]?.firstMove ?? run.moves.length; i < run.moves.length; i++) {
      if (run.moves[i]?.modal.absolute !== false) break;
      out.add(i);
    }
  }
  for (const stale of staleAxes(cx)) {
    if (stale.same) continue;
    for (let i = stale.downMove; i < run.moves.length; i++) {
      const move = run.moves[i];
      if (move === undefined || move.modal.offsetStep !== stale.change.index) break;
      const words = run.steps[move.step]?.block.words ?? [];
      if (stale.axes.every((axis) => words.some((w) => w.letter === axis))) break;
      out.add(i);
    }
  }
  known.set(run, out);
  return out;
}
