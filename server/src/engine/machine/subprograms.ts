import type { Block, Source, Word } from "../syntax/block.js";
import type { Value } from "../syntax/expression.js";
import { findLabel, partOfLine } from "../syntax/parse.js";
import { placeOf } from "../text/place.js";
import { type Callable, findProgram, isResident, noteMissing, noteProblems, secondProgram } from "./calls.js";
import { type Machine, note, noteNotChecked } from "./core.js";
import { createFrame, type Engine, type Outcome } from "./engine.js";
import { goBack, lineOfLabel, noteSecondLabel } from "./jumps.js";
import { closePipe } from "./motion.js";
import type { Call } from "./run.js";
import type { Frame, ModalMacro } from "./state.js";
import type { After } from "./step.js";
import { valueOfExpr } from "./variables.js";
import { BIT, wordValue } from "./words.js";

/** Carries out what a block asks for behind its words: a call, a return, the end. */
export function executeAfter(engine: Engine, frame: Frame, after: After): Outcome {
  switch (after.kind) {
    case "next":
      return "on";
    case "call":
      return executeCall(engine, frame, after.code, after.word);
    case "return":
      return leaveProgram(engine, after.word, after.label);
    case "end":
      return endProgram(engine, after.word);
  }
}

function executeCall(engine: Engine, frame: Frame, code: string, word: Word | undefined): Outcome {
  const { cx, words } = engine;
  const span = word ?? { start: cx.block.start, end: cx.block.end };
  if (code === "modal") return callModalMacro(engine, frame);
  const p = wordValue(words, BIT.P);
  if (p === undefined) {
    note(cx, "call-target", "no-program", { code }, span);
    return "on";
  }
  let program = Math.round(p);
  let repeats = wordValue(words, BIT.L) ?? 1;
  if (code === "M98" && cx.profile.packedRepeat && p > 9999) {
    program = p % 10000;
    repeats = Math.floor(p / 10000);
  }
  if (code === "G66") {
    cx.state.modalMacro = { program, repeats, args: argumentsOf(engine), step: cx.step };
    return "on";
  }
  if (Number.isNaN(p)) {
    loseAfterCall(cx, { key: "what.call", args: { line: cx.block.line + 1 } }, { key: "why.call-value", args: {} });
    return "on";
  }
  if (Number.isNaN(repeats)) {
    noteNotChecked(cx, { key: "what.repeats", args: { line: cx.block.line + 1 } }, { key: "why.repeats-value", args: {} });
    repeats = 1;
  }
  if (repeats < 1) return "on";
  const pWord = cx.block.words[words.index[15] as number] ?? span;
  if (code === "M97") return callLocal(engine, frame, program, repeats, pWord);
  const args = code === "G65" ? argumentsOf(engine) : undefined;
  return enter(engine, frame, program, repeats, args, code === "G65" ? "macro" : "subprogram", pWord, false);
}

function callLocal(
  engine: Engine,
  frame: Frame,
  label: number,
  repeats: number,
  span: { readonly start: number; readonly end: number },
): Outcome {
  const { cx } = engine;
  const source = cx.sources[frame.source] as Source;
  const part = partOfLine(source, cx.block.line);
  const line = findLabel(source, part, label, cx.block.line);
  const range = source.parts[part];
  if (line === undefined || range === undefined) {
    noteMissing(cx, "label-missing", label, span);
    return "on";
  }
  noteSecondLabel(cx, source, part, label, line);
  return push(engine, frame, { source: frame.source, first: line, end: range.endLine }, label, repeats, undefined, "local", span, false);
}

function callModalMacro(engine: Engine, frame: Frame): Outcome {
  const macro = engine.cx.state.modalMacro as ModalMacro;
  if (frame.byModalMacro || macro.repeats < 1) return "on";
  if (Number.isNaN(macro.program)) {
    loseAfterCall(engine.cx, { key: "what.call", args: { line: engine.cx.block.line + 1 } }, { key: "why.call-value", args: {} });
    return "on";
  }
  return enter(engine, frame, macro.program, macro.repeats, macro.args, "macro", engine.cx.block, true);
}

function enter(
  engine: Engine,
  frame: Frame,
  program: number,
  repeats: number,
  args: ReadonlyMap<number, Value> | undefined,
  kind: "subprogram" | "macro",
  span: { readonly start: number; readonly end: number },
  byModalMacro: boolean,
): Outcome {
  const { cx } = engine;
  const found = findProgram(cx, program, frame.source);
  if (found === undefined) {
    if (isResident(cx, program)) {
      loseAfterCall(cx, { key: "what.resident", args: { program } }, { key: "why.resident", args: {} });
      return "on";
    }
    noteMissing(cx, "missing", program, span);
    loseAfterCall(cx, { key: "what.resident", args: { program } }, { key: "why.call-missing", args: {} });
    return "on";
  }
  const second = secondProgram(cx, found, program);
  if (second !== undefined) noteSecondProgram(cx, found, second, program);
  noteProblems(cx, found.source, found.first, found.end);
  return push(engine, frame, found, program, repeats, args, kind, span, byModalMacro);
}

function noteSecondProgram(
  cx: Machine,
  found: Callable,
  second: { readonly source: Source; readonly line: number },
  program: number,
): void {
  const id = `program-twice ${second.source.file} ${program}`;
  if (cx.noted.has(id)) return;
  cx.noted.add(id);
  const spanOf = (line: number): { readonly line: number; readonly start: number; readonly end: number } => {
    const block = second.source.blocks[line];
    const span = block?.programSpan ?? { start: block?.start ?? 0, end: block?.end ?? 0 };
    return { line, start: span.start, end: span.end };
  };
  cx.notes.push({
    rule: "call-target",
    message: { key: "twice", args: { program } },
    place: placeOf(second.source.file, spanOf(second.line)),
    related: [
      { place: placeOf(second.source.file, spanOf(found.first)), message: { key: "related.first", args: {} } },
      {
        place: placeOf(cx.source.file, { line: cx.block.line, start: cx.block.start, end: cx.block.end }),
        message: { key: "related.call", args: {} },
      },
    ],
    step: cx.step,
  });
}

function push(
  engine: Engine,
  frame: Frame,
  at: Callable,
  program: number,
  repeats: number,
  args: ReadonlyMap<number, Value> | undefined,
  kind: Call["kind"],
  span: { readonly start: number; readonly end: number },
  byModalMacro: boolean,
): Outcome {
  const { cx } = engine;
  const { frames } = cx.state;
  if (frames.length > cx.bounds.depth) {
    note(cx, "call-endless", "depth", { depth: cx.bounds.depth, program }, span);
    cx.complete = false;
    return "end";
  }
  const call: Call = { source: at.source, program, caller: cx.step, parent: frame.call, depth: frame.call.depth + 1, kind };
  // A subprogram works with the variables of its caller; a macro has a level of its own (common practice, no source).
  const locals = args === undefined ? frame.locals : new Map(args);
  frames.push(createFrame(call, at, locals, args, Math.round(repeats) - 1, byModalMacro || frame.byModalMacro));
  return "on";
}

/** After a program that cannot be looked into, the tool can stand anywhere; the modes are taken as they were. */
function loseAfterCall(cx: Machine, what: Parameters<typeof noteNotChecked>[1], why: Parameters<typeof noteNotChecked>[2]): void {
  closePipe(cx);
  noteNotChecked(cx, what, why);
  cx.assumptions.add("modes-kept");
  for (let axis = 0; axis < 3; axis++) {
    cx.state.at[axis] = 0;
    cx.state.anchor[axis] = cx.symbols.fresh();
  }
}

/**
 * Arguments of a macro call. Each letter has its variable (I); where I, J or K are repeated, they come in groups of three from #4
 * on (II) and the last one wins (common practice, no source). Values are as programmed, in program units.
 */
function argumentsOf(engine: Engine): ReadonlyMap<number, Value> {
  const { cx, words } = engine;
  const letters = cx.profile.macroArguments;
  const args = new Map<number, Value>();
  const { block } = cx;
  let repeated = false;
  const seen = new Set<string>();
  for (let i = 0; i < words.count; i++) {
    const letter = block.words[i]?.letter ?? "";
    if ((letter === "I" || letter === "J" || letter === "K") && seen.has(letter)) repeated = true;
    seen.add(letter);
  }
  let group = 0;
  let last = -1;
  for (let i = 0; i < words.count; i++) {
    const word = block.words[i] as Word;
    const variable = letters[word.letter];
    if (variable === undefined) continue;
    let value: Value = word.value;
    if (word.expr !== undefined) {
      value = word.expr.kind === "absent" ? null : valueOfExpr(cx, word.expr);
      if (value === null) continue;
    }
    const place = repeated ? "IJK".indexOf(word.letter) : -1;
    if (place < 0) {
      args.set(variable, value);
      continue;
    }
    if (place <= last) group++;
    last = place;
    if (group < 10) args.set(4 + 3 * group + place, value);
  }
  return args;
}

/** M99, or the end of the lines of a program. */
export function leaveProgram(engine: Engine, word: Word | undefined, label: number | undefined): Outcome {
  const { cx } = engine;
  const { frames } = cx.state;
  const frame = frames.at(-1) as Frame;
  if (frames.length === 1) {
    if (word === undefined) return "end";
    if (label !== undefined) {
      // M99 P in a main program goes to that label; a second time round is the same again.
      const record = frame.jumps.get(cx.block.line);
      frame.jumps.set(cx.block.line, { count: 1, changes: cx.state.changes });
      if (record !== undefined) return "end";
      const line = lineOfLabel(cx, frame, cx.block, Math.round(label), word);
      if (line === undefined) return "end";
      frame.line = line;
      return "on";
    }
    // The program would begin again; once round is what there is to see.
    return "end";
  }
  if (frame.remaining > 0) {
    frame.remaining--;
    frame.line = frame.first;
    frame.jumps.clear();
    if (frame.args !== undefined) frame.locals = new Map(frame.args);
    return "on";
  }
  frames.pop();
  if (label === undefined) return "on";
  const caller = frames.at(-1) as Frame;
  const source = cx.sources[caller.source] as Source;
  const at = Math.max(caller.line - 1, 0);
  const line = Number.isNaN(label) ? undefined : findLabel(source, partOfLine(source, at), Math.round(label), at);
  if (line === undefined) {
    if (Number.isNaN(label)) {
      noteNotChecked(cx, { key: "what.rest-after", args: { line: cx.block.line + 1 } }, { key: "why.jump-value", args: {} });
      cx.complete = false;
      return "end";
    }
    noteMissing(cx, "label-missing", Math.round(label), word ?? cx.block);
    return "on";
  }
  if (line > at) {
    caller.line = line;
    return "on";
  }
  const callBlock = source.blocks[at] as Block;
  return goBack(engine, caller, callBlock, line, word ?? cx.block);
}

/** M02 or M30. In a called program it ends everything at the machine; what would follow is looked at as if it returned. */
function endProgram(engine: Engine, word: Word | undefined): Outcome {
  const { cx } = engine;
  const { frames } = cx.state;
  if (frames.length === 1) return "end";
  const frame = frames.at(-1) as Frame;
  const caller = cx.steps[frame.call.caller];
  const source = caller === undefined ? undefined : cx.sources[caller.source];
  const related =
    caller === undefined || source === undefined
      ? []
      : [
          {
            place: placeOf(source.file, { line: caller.block.line, start: caller.block.start, end: caller.block.end }),
            message: { key: "related.call", args: {} },
          },
        ];
  note(cx, "call-target", "ends", { program: frame.call.program }, word, related);
  return leaveProgram(engine, undefined, undefined);
}
