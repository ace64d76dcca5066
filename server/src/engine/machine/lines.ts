import type { Block, Control, Source } from "../syntax/block.js";
import { holds } from "../syntax/evaluate.js";
import { validateBlock } from "../syntax/validate.js";
import { type Machine, note, noteNotChecked } from "./core.js";
import { adopt, type Engine, type Outcome, partnersOf } from "./engine.js";
import { goBack, jumpTo, labelValue, lineOfLabel } from "./jumps.js";
import { closePipe, isPiping, settleSteps } from "./motion.js";
import { startingOffset } from "./registers.js";
import { cloneState, type Frame, mergeStates } from "./state.js";
import { executeWords } from "./step.js";
import { executeAfter, leaveProgram } from "./subprograms.js";
import { assignAll, valueOfExpr } from "./variables.js";
import { readWords } from "./words.js";

/** Executes the line at which a frame stands and moves the frame on. */
export function executeLine(engine: Engine, frame: Frame): Outcome {
  const { cx } = engine;
  const source = cx.sources[frame.source] as Source;
  if (frame.line >= frame.end) return leaveProgram(engine, undefined, undefined);
  const block = source.blocks[frame.line] as Block;
  if (block.words.length === 0 && block.assignments.length === 0 && block.control === undefined) {
    frame.line++;
    if (block.problems.length > 0) loseUnread(cx, source, block);
    return "on";
  }
  if (block.skip !== undefined && cx.blockSkip && block.skipFrom === undefined) {
    frame.line++;
    return "on";
  }
  if (cx.steps.length >= cx.bounds.steps) {
    cx.block = block;
    cx.source = source;
    note(cx, "call-endless", "steps", { steps: cx.bounds.steps });
    cx.complete = false;
    engine.halted = true;
    return "end";
  }
  const before = cx.state.modal;
  cx.step = cx.steps.length;
  cx.block = block;
  cx.source = source;
  const step = {
    block,
    source: frame.source,
    call: frame.call,
    before,
    after: before,
    firstMove: -1,
    endMove: -1,
    skipped: block.skip !== undefined,
    values: undefined as Float64Array | undefined,
  };
  cx.steps.push(step);
  frame.line++;
  const outcome = executeBlock(engine, frame, block);
  if (block.problems.length > 0) loseUnread(cx, source, block);
  step.values = engine.words.evaluated;
  step.after = cx.state.modal;
  if (!isPiping(cx)) settleSteps(cx, cx.step, cx.moves.length);
  return outcome;
}

/**
 * What could not be read may have moved an axis: the axes whose letters stand in it are unknown afterwards, and all of them after
 * a call in the manner of another dialect.
 */
function loseUnread(cx: Machine, source: Source, block: Block): void {
  const lost = [false, false, false];
  for (const problem of block.problems) {
    if (problem.key.startsWith("flow-")) lost.fill(true);
    else if (problem.key === "unknown-text" || problem.key === "assignment-form") {
      const text = source.lines[block.line]?.slice(problem.start, problem.end).toUpperCase() ?? "";
      for (let axis = 0; axis < 3; axis++) if (text.includes("XYZ"[axis] as string)) lost[axis] = true;
    }
  }
  if (!lost.includes(true)) return;
  closePipe(cx);
  for (let axis = 0; axis < 3; axis++) {
    if (lost[axis] !== true) continue;
    cx.state.at[axis] = 0;
    cx.state.anchor[axis] = cx.symbols.fresh();
  }
}

function executeBlock(engine: Engine, frame: Frame, block: Block): Outcome {
  const { cx, words } = engine;
  const { control } = block;
  words.evaluated = undefined;
  if (control !== undefined && control.kind !== "if-then") return executeControl(engine, frame, block, control);
  if (control?.kind === "if-then") {
    const condition = holds(valueOfExpr(cx, control.condition));
    if (condition === false) return "on";
    if (condition === undefined) return executeDoubtful(engine, block);
  }
  if (block.words.length > 0) readWords(cx, block, words);
  else {
    words.mask = 0;
    words.whole = 0;
    words.codes.length = 0;
    words.corner = undefined;
  }
  if (block.assignments.length > 0 && assignAll(cx, block) === "alarm") return "end";
  if (block.words.length === 0) return "on";
  validate(engine, block);
  const after = executeWords(cx, words, engine.plan);
  if (after.kind === "next") return "on";
  return executeAfter(engine, frame, after);
}

/** Modal conflicts, ranges and so on: once for a literal block, at every execution for a computed one. */
function validate(engine: Engine, block: Block): void {
  const { cx, words } = engine;
  if (words.evaluated === undefined) {
    if (engine.validated.has(block)) return;
    engine.validated.add(block);
  }
  for (const problem of validateBlock(block, words.evaluated, cx.profile)) note(cx, "syntax", problem.key, problem.args, problem);
}

/**
 * IF … THEN on an unknown condition: what THEN does is done, and merged with its not being done. A call, a return or an end behind
 * THEN is not followed.
 */
function executeDoubtful(engine: Engine, block: Block): Outcome {
  const { cx, words, plan } = engine;
  closePipe(cx);
  const before = cloneState(cx.state);
  readWords(cx, block, words);
  if (assignAll(cx, block) === "alarm") {
    // One way stops the machine; the other goes on.
    adopt(cx, before);
    return "on";
  }
  if (block.words.length > 0) {
    validate(engine, block);
    const after = executeWords(cx, words, plan);
    closePipe(cx);
    if (after.kind !== "next") {
      noteNotChecked(cx, { key: "what.block", args: { line: block.line + 1 } }, { key: "why.condition", args: {} });
    }
  }
  adopt(cx, mergeStates(before, cx.state, cx.symbols, (key) => startingOffset(cx, key)).state);
  // Whether it was given is not known, so what it holds now is not either.
  cx.variables.get(cx.step)?.given.fill(Number.NaN);
  return "on";
}

function executeControl(engine: Engine, frame: Frame, block: Block, control: Exclude<Control, { kind: "if-then" }>): Outcome {
  const { cx } = engine;
  if (block.assignments.length > 0 && assignAll(cx, block) === "alarm") return "end";
  switch (control.kind) {
    case "goto":
      return jumpTo(engine, frame, block, labelValue(cx, control.target), control);
    case "if-goto": {
      const condition = holds(valueOfExpr(cx, control.condition));
      if (condition === false) return "on";
      const label = labelValue(cx, control.target);
      if (condition === true) return jumpTo(engine, frame, block, label, control);
      const target = lineOfLabel(cx, frame, block, label, control);
      if (target === undefined) return "on";
      frame.line = block.line;
      return { lines: [block.line + 1, target] };
    }
    case "while": {
      const partner = partnersOf(engine, frame).get(block.line);
      if (partner === undefined) {
        note(cx, "syntax", "loop-open", { loop: control.loop }, control);
        return "on";
      }
      const condition = holds(valueOfExpr(cx, control.condition));
      if (condition === true) return "on";
      if (condition === false) {
        frame.line = partner + 1;
        return "on";
      }
      frame.line = block.line;
      return { lines: [block.line + 1, partner + 1] };
    }
    case "do":
      if (partnersOf(engine, frame).get(block.line) === undefined) note(cx, "syntax", "loop-open", { loop: control.loop }, control);
      return "on";
    case "end": {
      const partner = partnersOf(engine, frame).get(block.line);
      if (partner === undefined) {
        note(cx, "syntax", "loop-end", { loop: control.loop }, control);
        return "on";
      }
      return goBack(engine, frame, block, partner, control);
    }
  }
}
