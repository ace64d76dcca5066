import type { Word } from "../../syntax/block.js";
import type { Expr } from "../../syntax/expression.js";
import type { Place } from "../../text/place.js";
import type { RuleContext } from "../rule.js";
import type { Selection } from "./selection.js";
import { selections } from "./selection.js";

/** A word of a macro call that decides a value in the macro. */
export interface ArgumentWord {
  /** Step of the calling block. */
  readonly index: number;
  readonly word: Word;
}

/**
 * The argument on which alone a computed value rests, through variables that the macro sets from it; where that is itself computed
 * from an argument of the calling macro, the outer one. Undefined where the value rests on anything else as well.
 */
export function argumentBehind(cx: RuleContext, index: number, value: Expr): ArgumentWord | undefined {
  const { run, profile } = cx;
  const variables = new Set<number>();
  if (!collect(value, variables) || variables.size !== 1) return undefined;
  const [variable] = variables;
  const call = run.steps[index]?.call;
  const caller = call === undefined ? undefined : run.steps[call.caller];
  if (call?.kind !== "macro" || caller === undefined) return undefined;
  for (let s = index - 1; s > call.caller; s--) {
    const step = run.steps[s];
    if (step?.call !== call) continue;
    // A variable whose number is computed may be this one.
    if (step.block.assignments.some((a) => a.index.kind !== "number")) return undefined;
    const set = step.block.assignments.findLast((a) => a.index.kind === "number" && a.index.value === variable);
    if (set !== undefined) return argumentBehind(cx, s, set.value);
  }
  const letters = Object.entries(profile.macroArguments).flatMap(([letter, n]) => (n === variable ? [letter] : []));
  const words = caller.block.words.filter((w) => letters.includes(w.letter));
  const [word] = words;
  if (word === undefined || words.length > 1) return undefined;
  return (word.expr === undefined ? undefined : argumentBehind(cx, call.caller, word.expr)) ?? { index: call.caller, word };
}

/**
 * Where a computed selection of a work offset is decided: the argument of the call, where another call of the same macro selects
 * something that `isRight`; the macro itself does right then.
 */
export function selectingArgument(
  cx: RuleContext,
  s: Selection,
  isRight: (other: Selection) => boolean,
): (ArgumentWord & { readonly place: Place }) | undefined {
  const expr = s.code.expr ?? s.p?.expr;
  if (expr === undefined || !selections(cx).some((o) => o.step.block === s.step.block && isRight(o))) return undefined;
  const found = argumentBehind(cx, s.index, expr);
  const caller = found === undefined ? undefined : cx.run.steps[found.index];
  return found === undefined || caller === undefined ? undefined : { ...found, place: cx.place(caller, found.word) };
}

/** Collects the numbers of the variables in an expression; false where one is itself computed. */
function collect(e: Expr, into: Set<number>): boolean {
  switch (e.kind) {
    case "variable":
      if (e.index.kind !== "number") return false;
      into.add(e.index.value);
      return true;
    case "negate":
      return collect(e.of, into);
    case "binary":
      return collect(e.left, into) && collect(e.right, into);
    case "call":
      return e.args.every((a) => collect(a, into));
    default:
      return true;
  }
}
