import type { Step } from "../../machine/run.js";
import type { Expr } from "../../syntax/expression.js";
import type { RuleContext } from "../rule.js";
import { selections } from "./selection.js";
import { type Siblings, siblingsOf } from "./stations.js";

/** A loop or repeated call that goes from station to station by counting up the offset. */
export interface CountedLoop {
  readonly tool: number;
  readonly siblings: Siblings;
  /** Step of the loop's condition or of the repeated call. */
  readonly step: number;
  readonly kind: "loop" | "repeat";
  /** How many stations it goes to. */
  readonly count: number;
  readonly wanted: number;
}

/**
 * Loops and repeats that step the work offset and go to fewer or more stations than there are siblings. Those whose count comes
 * from something that the program does not set (the operator's) are not among them.
 */
export function countedLoops(cx: RuleContext): CountedLoop[] {
  const { run, fixture } = cx;
  if (fixture === undefined) return [];
  const groups = siblingsOf(fixture);
  // The same block selecting one offset after another is a stepping loop.
  const stepping = new Map<string, { tool: number; steps: number[]; keys: string[] }>();
  for (const s of selections(cx)) {
    const computed = s.code.expr !== undefined || s.p?.expr !== undefined;
    if (!computed || s.key === undefined) continue;
    const key = `${s.step.source}:${s.step.block.line}:${s.step.after.toolStep}`;
    const held = stepping.get(key);
    if (held === undefined) stepping.set(key, { tool: s.step.after.tool, steps: [s.index], keys: [s.key] });
    else {
      held.steps.push(s.index);
      held.keys.push(s.key);
    }
  }
  const out: CountedLoop[] = [];
  for (const { tool, steps, keys } of stepping.values()) {
    const distinct = [...new Set(keys)];
    if (distinct.length < 2) continue;
    const group = groups
      .map((g) => ({ g, n: g.stations.filter((s) => s.offset !== undefined && distinct.includes(s.offset)).length }))
      .reduce<{ g: Siblings; n: number } | undefined>((best, x) => (best === undefined || x.n > best.n ? x : best), undefined);
    if (group === undefined || group.n === 0) continue;
    // Stations visited before or after the loop by the same tool count as its own.
    const beside = group.g.stations.filter(
      (s) =>
        s.offset !== undefined &&
        !distinct.includes(s.offset) &&
        run.visits.some((v) => v.tool === tool && v.cuts && v.station === s.index),
    ).length;
    const mixed = distinct.some((k) => groups.some((g) => g !== group.g && g.stations.some((s) => s.offset === k)));
    const wanted = group.g.stations.length - beside;
    // A loop over the stations of several ops counts all of them.
    const all = groups.reduce((n, g) => n + g.stations.length, 0);
    if (distinct.length === wanted || (mixed && distinct.length === all)) continue;
    const control = controlOf(cx, steps);
    if (control !== undefined && !setByProgram(cx, control.step)) continue;
    if (control !== undefined)
      out.push({ tool, siblings: group.g, count: distinct.length, wanted: mixed && distinct.length > wanted ? all : wanted, ...control });
  }
  return out;
}

/** What counts: the repeated call that runs the selecting block, else the loop that it stands in. */
function controlOf(cx: RuleContext, steps: readonly number[]): { readonly step: number; readonly kind: "loop" | "repeat" } | undefined {
  const { run } = cx;
  const first = run.steps[steps[0] ?? -1];
  const second = run.steps[steps[1] ?? -1];
  if (first === undefined || second === undefined) return undefined;
  const from = steps[0] ?? 0;
  const to = steps[1] ?? 0;
  let found: number | undefined;
  for (let s = from; s <= to; s++) {
    const control = run.steps[s]?.block.control;
    if (control?.kind === "while" || control?.kind === "if-goto") {
      if (control.kind === "while" || found === undefined) found = s;
    }
  }
  if (found !== undefined) return { step: firstOf(cx, run.steps[found]), kind: "loop" };
  // Repeats of one call: the same calling block, which says how often.
  const caller = run.steps[first.call.caller];
  if (
    caller !== undefined &&
    first.call.caller === second.call.caller &&
    caller.block.words.some((w) => cx.profile.repeatLetters.includes(w.letter))
  )
    return { step: first.call.caller, kind: "repeat" };
  // A call that is made again and again by a loop of the caller.
  if (first.call.caller >= 0 && second.call.caller >= 0 && first.call.caller !== second.call.caller)
    return controlOf(cx, [first.call.caller, second.call.caller]);
  return undefined;
}

/** Whether the program itself says how often: the condition or the repeat rests on no variable that nothing here sets. */
function setByProgram(cx: RuleContext, index: number): boolean {
  const step = cx.run.steps[index];
  if (step === undefined) return false;
  const { control, words } = step.block;
  const used = new Set<number>();
  if (control !== undefined && "condition" in control) collect(control.condition, used);
  for (const w of words) if (w.expr !== undefined) collect(w.expr, used);
  for (const n of used) {
    const set = cx.run.sources.some((s) =>
      s.blocks.some((b) => b.assignments.some((a) => a.index.kind === "number" && a.index.value === n)),
    );
    // Local variables may come as arguments of the call.
    if (!set && n > 33) return false;
  }
  return true;
}

/** The numbers of the variables in an expression. */
function collect(e: Expr, into: Set<number>): void {
  if (e.kind === "variable") {
    if (e.index.kind === "number") into.add(e.index.value);
    else collect(e.index, into);
  } else if (e.kind === "negate") collect(e.of, into);
  else if (e.kind === "binary") {
    collect(e.left, into);
    collect(e.right, into);
  } else if (e.kind === "call") for (const a of e.args) collect(a, into);
}

/** The first time that a block ran. */
function firstOf(cx: RuleContext, step: Step | undefined): number {
  return cx.run.steps.findIndex((s) => step !== undefined && s.source === step.source && s.block.line === step.block.line);
}
