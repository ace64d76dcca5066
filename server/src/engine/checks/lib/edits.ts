import type { TextChange } from "../../findings.js";
import type { Step } from "../../machine/run.js";
import { sourceOf } from "../context.js";
import type { RuleContext } from "../rule.js";
import { decimal } from "../wording.js";

/** A length as a program writes it: with a decimal point always, three decimals in mm, four in inch. */
export function programNumber(mm: number, units: "mm" | "inch"): string {
  const text = units === "mm" ? decimal(mm, 3) : decimal(mm / 25.4, 4);
  return text.includes(".") ? text : `${text}.`;
}

/** An angle as a program writes it. */
export function programAngle(degrees: number): string {
  const text = decimal(degrees, 3);
  return text.includes(".") ? text : `${text}.`;
}

/** A block of its own before the block of a step. */
export function blockBefore(cx: RuleContext, step: Step, text: string): TextChange {
  const { line } = step.block;
  const place = { file: sourceOf(cx.run, step).file, range: { line, column: 0, endLine: line, endColumn: 0 } };
  return { place, text: `${text}\n` };
}

/** Text put into the block of a step at a column. */
export function insertAt(cx: RuleContext, step: Step, column: number, text: string): TextChange {
  return { place: cx.place(step, { start: column, end: column }), text };
}
