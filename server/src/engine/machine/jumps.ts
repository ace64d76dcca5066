import type { Block, Control, Source } from "../syntax/block.js";
import { findLabel, linesOfLabel, partOfLine } from "../syntax/parse.js";
import { placeOf } from "../text/place.js";
import { noteMissing } from "./calls.js";
import { type Machine, note, noteNotChecked } from "./core.js";
import type { Engine, Outcome } from "./engine.js";
import type { Frame } from "./state.js";
import { valueOfExpr } from "./variables.js";

/** Number of the label a jump names; NaN where it is not known. */
export function labelValue(cx: Machine, target: Extract<Control, { kind: "goto" }>["target"]): number {
  const value = valueOfExpr(cx, target);
  return value === null ? Number.NaN : Math.round(value);
}

/** Line of a label, searched as a control searches. Undefined where it is not there or not known, which is noted. */
export function lineOfLabel(
  cx: Machine,
  frame: Frame,
  block: Block,
  label: number,
  span: { readonly start: number; readonly end: number },
): number | undefined {
  const source = cx.sources[frame.source] as Source;
  if (Number.isNaN(label)) {
    noteNotChecked(cx, { key: "what.rest-after", args: { line: block.line + 1 } }, { key: "why.jump-value", args: {} });
    return undefined;
  }
  const part = partOfLine(source, block.line);
  const line = findLabel(source, part, label, block.line);
  if (line === undefined) {
    noteMissing(cx, "label-missing", label, span);
    return undefined;
  }
  noteSecondLabel(cx, source, part, label, line);
  return line;
}

/** A label that stands twice in its program: which one is meant depends on where the search begins. */
export function noteSecondLabel(cx: Machine, source: Source, part: number, label: number, found: number): void {
  const range = source.parts[part];
  if (range === undefined) return;
  const lines = linesOfLabel(source, label).filter((l) => l >= range.line && l < range.endLine);
  const second = lines[1];
  if (second === undefined) return;
  const id = `label-twice ${source.file} ${range.line} ${label}`;
  if (cx.noted.has(id)) return;
  cx.noted.add(id);
  const block = source.blocks[second];
  const span = block?.labelSpan ?? { start: 0, end: 0 };
  const first = source.blocks[lines[0] as number];
  const firstSpan = first?.labelSpan ?? { start: 0, end: 0 };
  cx.notes.push({
    rule: "call-target",
    message: { key: "label-twice", args: { label, line: found + 1 } },
    place: placeOf(source.file, { line: second, ...span }),
    related: [
      { place: placeOf(source.file, { line: lines[0] as number, ...firstSpan }), message: { key: "related.first", args: {} } },
      {
        place: placeOf(cx.source.file, { line: cx.block.line, start: cx.block.start, end: cx.block.end }),
        message: { key: "related.jump", args: {} },
      },
    ],
    step: cx.step,
  });
}

/** Carries out a GOTO. */
export function jumpTo(
  engine: Engine,
  frame: Frame,
  block: Block,
  label: number,
  span: { readonly start: number; readonly end: number },
): Outcome {
  const { cx } = engine;
  const line = lineOfLabel(cx, frame, block, label, span);
  if (line === undefined) {
    if (Number.isNaN(label)) {
      cx.complete = false;
      return "end";
    }
    return "on";
  }
  if (line > block.line) {
    frame.line = line;
    return "on";
  }
  return goBack(engine, frame, block, line, span);
}

/** A jump backward: bounded, and seen to be endless where nothing has changed since the last time. */
export function goBack(
  engine: Engine,
  frame: Frame,
  block: Block,
  line: number,
  span: { readonly start: number; readonly end: number },
): Outcome {
  const { cx } = engine;
  const record = frame.jumps.get(block.line);
  const count = (record?.count ?? 0) + 1;
  const still = record !== undefined && record.changes === cx.state.changes && !cx.positionRead;
  if (still && block.skip !== undefined) {
    // The operator leaves this loop by the block-skip switch.
    return "on";
  }
  if (still || count > cx.bounds.rounds) {
    note(cx, "call-endless", still ? "loop" : "rounds", { rounds: cx.bounds.rounds }, span);
    cx.complete = false;
    return "end";
  }
  frame.jumps.set(block.line, { count, changes: cx.state.changes });
  frame.line = line;
  return "on";
}
