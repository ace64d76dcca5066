import type { Modal } from "../engine/machine/move.js";
import type { View } from "./view.js";

/** How far above a line the last step is looked for that tells the state there. */
const MOST_LINES = 2000;

/** The modal state behind a line of a file (the first time it ran), or behind the nearest line above that ran. */
export function stateAt(view: View, file: string, line: number): Modal | undefined {
  const { run } = view.analysis;
  for (let at = line; at >= 0 && at > line - MOST_LINES; at--) {
    const index = view.stepsOf(file, at)[0];
    if (index !== undefined) return run.steps[index]?.after;
  }
  return undefined;
}

/** The modal state before a line runs. */
export function stateBefore(view: View, file: string, line: number): Modal | undefined {
  const index = view.stepsOf(file, line)[0];
  return index === undefined ? stateAt(view, file, line - 1) : view.analysis.run.steps[index]?.before;
}
