import type { Related } from "../../findings.js";
import type { Modal, Move } from "../../machine/move.js";
import type { Run, Step } from "../../machine/run.js";
import { foldByCause } from "../report.js";
import type { Report, RuleContext } from "../rule.js";
import { drained, paced } from "./paced.js";
import { type Selection, selections } from "./selection.js";

/** A change of the work offset, with the first motion that is made under the new one. */
export interface OffsetChange {
  /** Index of the step that changes it. */
  readonly index: number;
  readonly step: Step;
  readonly selection: Selection | undefined;
  /** The first move that means the new station; undefined when there is none before the next change. */
  readonly move: Move | undefined;
}

/** Moves that go where the work offset says: not to the reference position, not in machine coordinates, not a dwell. */
export function usesOffset(move: Move): boolean {
  return move.kind !== "dwell" && move.role !== "reference" && move.role !== "reference-through" && move.role !== "machine";
}

const known = new WeakMap<Run, readonly OffsetChange[]>();

/** Every change of the work offset in a run, in order. Offsets that are only restated are not among them. Kept for the next rule that asks. */
export function offsetChanges(cx: RuleContext): readonly OffsetChange[] {
  const held = known.get(cx.run);
  if (held !== undefined) return held;
  const found = drained(find(cx));
  known.set(cx.run, found);
  return found;
}

/** Looks for them in slices, for a rule that is the first to ask; the others then find them. */
export function* findOffsetChanges(cx: RuleContext): Generator<void, void, void> {
  if (!known.has(cx.run)) known.set(cx.run, yield* find(cx));
}

function* find(cx: RuleContext): Generator<void, OffsetChange[], void> {
  const { run } = cx;
  const chosen = new Map(selections(cx).map((s) => [s.index, s]));
  const first = new Map<number, Move>();
  // Moves under one offset stand behind each other, so most of them are known to be no first one without looking it up.
  let latest = Number.NaN;
  yield* paced(run.moves, (m) => {
    const { offsetStep } = m.modal;
    if (offsetStep === latest || !usesOffset(m) || m.kind === "index") return;
    if (!first.has(offsetStep)) first.set(offsetStep, m);
    latest = offsetStep;
  });
  const out: OffsetChange[] = [];
  yield* paced(run.steps, (step, index) => {
    if (step.after.offset === step.before.offset || unsure(step.before, "offset") || unsure(step.after, "offset")) return;
    out.push({ index, step, selection: chosen.get(index), move: first.get(index) });
  });
  return out;
}

/** Whether a modal state is not known. */
export function unsure(modal: Modal, field: NonNullable<Modal["uncertain"]>[number]): boolean {
  return modal.uncertain?.includes(field) === true;
}

/** Index of the step, at or before `index`, that last brought about a state; -1 if it was so from the start. */
export function since(run: Run, index: number, same: (a: Modal, b: Modal) => boolean): number {
  for (let s = index; s >= 0; s--) {
    const step = run.steps[s];
    if (step !== undefined && !same(step.before, step.after)) return s;
  }
  return -1;
}

/** Reports what is left in force at changes of the offset: one finding for each block that brought it about. */
export function reportLeft(
  cx: RuleContext,
  found: readonly { readonly at: OffsetChange; readonly cause: number; readonly report: Omit<Report, "at" | "step"> }[],
  causeKey: string,
): void {
  const reports: (Report & { cause: string })[] = [];
  for (const { at, cause, report } of found) {
    const by = cx.run.steps[cause];
    const related: Related[] = by === undefined ? [] : [{ place: cx.blockPlace(by), message: { key: causeKey, args: report.args } }];
    reports.push({
      ...report,
      at: at.selection?.place ?? cx.blockPlace(at.step),
      station: at.move === undefined ? undefined : cx.stationOf(at.move)?.id,
      related: [...related, ...(report.related ?? [])],
      step: at.index,
      ...(by === undefined ? {} : { declared: cx.blockPlace(by) }),
      cause: by === undefined ? String(cause) : `${by.source}:${by.block.line}`,
    });
  }
  for (const report of foldByCause(reports, "related.again")) cx.report(report);
}
