import type { Profile } from "../dialect/profile.js";
import type { Fixture } from "../fixture/model.js";
import type { Host } from "../host.js";
import type { Block, Control, Source, Word } from "../syntax/block.js";
import { holds } from "../syntax/evaluate.js";
import type { Value } from "../syntax/expression.js";
import { findLabel, linesOfLabel, partOfLine } from "../syntax/parse.js";
import { validateBlock } from "../syntax/validate.js";
import { placeOf } from "../text/place.js";
import { type Callable, findProgram, isResident, noteMissing, noteProblems, secondProgram } from "./calls.js";
import { type Bounds, type Machine, note, noteNotChecked } from "./core.js";
import { loopPartners, meetingLines } from "./flow.js";
import { closePipe, isPiping, settleSteps } from "./motion.js";
import type { Call, Run } from "./run.js";
import { cloneState, type Frame, type ModalMacro, mergeStates, type State, startState } from "./state.js";
import { type After, applyInitial, createPlan, executeWords, type Plan } from "./step.js";
import { Symbols } from "./symbols.js";
import { assignAll, valueOfExpr } from "./variables.js";
import { VisitBuilder } from "./visits.js";
import { BIT, createWords, readWords, type Words, wordValue } from "./words.js";

/** What a run needs. */
export interface RunInput {
  readonly main: Source;
  /** Index into `main.parts` of the program to run; absent: the first one with anything in it. */
  readonly entryPart?: number;
  readonly host: Host;
  readonly profile: Profile;
  readonly fixture?: Fixture;
  /** State of the block-skip switch: on, blocks with `/` are left out. */
  readonly blockSkip: boolean;
  readonly bounds?: Partial<Bounds>;
}

/** Blocks between two yields. */
const SLICE = 200;

/** How often the body of a loop whose end is not known is gone through, each time with less known. */
const PASSES = 3;

/** Things that go with a run but that its functions need no more than its own file. */
interface Engine {
  readonly cx: Machine;
  readonly words: Words;
  readonly plan: Plan;
  readonly validated: WeakSet<Block>;
  readonly partners: Map<string, ReadonlyMap<number, number>>;
  readonly meeting: Map<string, Int32Array>;
  sinceYield: number;
  halted: boolean;
}

/** A place where a branch stops so that it can be merged: a line in the frame of that depth. */
interface Stop {
  readonly depth: number;
  readonly line: number;
}

/**
 * Runs a program block by block and gives every step and every move. It never throws on input and always ends: loops and calls are
 * bounded, and where a bound is hit there is a note of the rule `call-endless` and `complete` is false. A branch on a value
 * that is not known is followed both ways and merged where the ways meet: what they disagree on is unknown from there on.
 * Yields about every 200 blocks.
 */
export function* runProgram(input: RunInput): Generator<void, Run> {
  const cx = createMachine(input);
  const engine: Engine = {
    cx,
    words: createWords(),
    plan: createPlan(),
    validated: new WeakSet(),
    partners: new Map(),
    meeting: new Map(),
    sinceYield: 0,
    halted: false,
  };
  applyInitial(cx, input.profile.initial);
  enterMain(cx, input);
  if (cx.state.frames.length > 0) yield* explore(engine, cx.state, [], 1);
  closePipe(cx);
  settleSteps(cx, cx.steps.length - 1, cx.moves.length);
  let seconds = Number.isNaN(cx.changeSeconds) ? 0 : cx.changeSeconds;
  if (Number.isNaN(cx.changeSeconds)) cx.assumptions.add("change-seconds");
  for (const move of cx.moves) {
    if (Number.isNaN(move.seconds)) cx.assumptions.add(`${move.kind}-seconds`);
    else seconds += move.seconds;
  }
  return {
    sources: cx.sources,
    steps: cx.steps,
    moves: cx.moves,
    visits: cx.visits.visits,
    writes: cx.writes,
    notes: cx.notes,
    seconds,
    assumptions: [...cx.assumptions],
    complete: cx.complete,
    notChecked: cx.notChecked,
  };
}

/** The same, all at once. */
export function runNow(input: RunInput): Run {
  const slices = runProgram(input);
  for (;;) {
    const step = slices.next();
    if (step.done === true) return step.value;
  }
}

/** Indices of the parts of the main file that hold anything to run and that no step of the run entered. */
export function uncalledParts(run: Run): number[] {
  const main = run.sources[0];
  if (main === undefined) return [];
  const entered = new Set<number>();
  for (const step of run.steps) if (step.source === 0) entered.add(partOfLine(main, step.block.line));
  const out: number[] = [];
  main.parts.forEach((_, index) => {
    if (!entered.has(index) && hasContent(main, index)) out.push(index);
  });
  return out;
}

function hasContent(source: Source, index: number): boolean {
  const part = source.parts[index];
  if (part === undefined) return false;
  for (let line = part.line; line < part.endLine; line++) {
    const block = source.blocks[line];
    if (block !== undefined && (block.words.length > 0 || block.assignments.length > 0 || block.control !== undefined)) return true;
  }
  return false;
}

function createMachine(input: RunInput): Machine {
  const symbols = new Symbols();
  const state = startState(symbols, input.profile, input.fixture);
  const first = input.main.blocks[0];
  const nowhere: Block = first ?? {
    line: 0,
    skip: undefined,
    label: undefined,
    labelSpan: undefined,
    program: undefined,
    programSpan: undefined,
    percent: false,
    words: [],
    assignments: [],
    control: undefined,
    comments: [],
    problems: [],
    start: 0,
    end: 0,
  };
  const setting = {
    content: [0, 0, 0],
    contentAnchor: [0, 0, 0],
    base: [0, 0, 0],
    baseAnchor: [0, 0, 0],
    toolLength: 0,
    toolLengthAnchor: 0,
    rotaryBase: 0,
    station: -1,
  } as const;
  return {
    host: input.host,
    profile: input.profile,
    fixture: input.fixture,
    blockSkip: input.blockSkip,
    bounds: {
      steps: input.bounds?.steps ?? 300_000 + 2 * input.main.blocks.length,
      rounds: input.bounds?.rounds ?? 10_000,
      depth: input.bounds?.depth ?? 32,
    },
    symbols,
    sources: [input.main],
    steps: [],
    moves: [],
    visits: new VisitBuilder(),
    writes: [],
    notes: [],
    notChecked: [],
    assumptions: new Set(),
    initial: new Map(),
    codeNotes: new Map(),
    noted: new Set(),
    state,
    setting: undefined,
    emission: {
      step: 0,
      kind: "rapid",
      role: "plain",
      modal: state.modal,
      setting,
      from: [0, 0, 0],
      fromAnchor: [0, 0, 0],
      to: [0, 0, 0],
      toAnchor: [0, 0, 0],
      rotaryFrom: Number.NaN,
      rotaryTo: Number.NaN,
      rotaryStep: -1,
      turn: 0,
      centre: undefined,
      sweep: 0,
      length: Number.NaN,
      seconds: Number.NaN,
      manual: false,
    },
    pipe: undefined,
    lag: undefined,
    last: undefined,
    to: [0, 0, 0],
    toAnchor: [0, 0, 0],
    step: -1,
    block: nowhere,
    source: input.main,
    settled: 0,
    rotaryLetter: input.fixture?.machine.rotary?.axis,
    complete: true,
    changeSeconds: 0,
    positionRead: false,
  };
}

/** Enters the program that is to be run: the part asked for, or the first with anything in it. */
function enterMain(cx: Machine, input: RunInput): void {
  const { main } = input;
  const index = input.entryPart ?? main.parts.findIndex((_, i) => hasContent(main, i));
  const part = main.parts[Math.max(index, 0)];
  if (part === undefined) return;
  let end = part.endLine;
  // Blocks before the first O word that do not end the program run on into it.
  if (Number.isNaN(part.number)) {
    const next = main.parts[index + 1];
    if (next !== undefined && !endsSomewhere(main, part.line, part.endLine)) end = next.endLine;
  }
  noteProblems(cx, 0, part.line, end);
  const call: Call = { source: 0, program: part.number, caller: -1, parent: undefined, depth: 0, kind: "main" };
  cx.state.frames.push(createFrame(call, { source: 0, first: part.line, end }, new Map(), undefined, 0, false));
}

function endsSomewhere(source: Source, first: number, end: number): boolean {
  for (let line = first; line < end; line++) {
    for (const word of source.blocks[line]?.words ?? []) {
      if (word.letter === "M" && (word.value === 2 || word.value === 30 || word.value === 99)) return true;
    }
  }
  return false;
}

function createFrame(
  call: Call,
  at: Callable,
  locals: Map<number, Value>,
  args: ReadonlyMap<number, Value> | undefined,
  remaining: number,
  byModalMacro: boolean,
): Frame {
  return { call, source: at.source, first: at.first, end: at.end, line: at.first, remaining, locals, args, byModalMacro, jumps: new Map() };
}

// ---------------------------------------------------------------------------------------------------------------------
// Branches

function adopt(cx: Machine, state: State): void {
  cx.state = state;
  cx.setting = undefined;
  cx.last = undefined;
}

/**
 * Follows a state until it ends, reaches one of `stops`, or leaves the frame of `depth`; answers the states that stand at such
 * places. States that ended with the program are gone.
 */
function* explore(engine: Engine, start: State, stops: readonly Stop[], depth: number): Generator<void, State[]> {
  const { cx } = engine;
  const work: State[] = [start];
  const out: State[] = [];
  while (work.length > 0 && !engine.halted) {
    adopt(cx, work.pop() as State);
    for (;;) {
      const { frames } = cx.state;
      const frame = frames.at(-1);
      if (frame === undefined) break;
      if (frames.length < depth || stops.some((s) => s.depth === frames.length && s.line === frame.line)) {
        out.push(cx.state);
        break;
      }
      if (++engine.sinceYield >= SLICE) {
        engine.sinceYield = 0;
        yield;
      }
      const result = executeLine(engine, frame);
      if (engine.halted) return [];
      if (result === "on") continue;
      if (result === "end") break;
      const merged = yield* branch(engine, frame.line, result.lines, stops, depth);
      for (const state of merged) {
        const top = state.frames.at(-1);
        const stopped =
          top === undefined || state.frames.length < depth || stops.some((s) => s.depth === state.frames.length && s.line === top.line);
        if (stopped) out.push(state);
        else work.push(state);
      }
      break;
    }
  }
  return out;
}

/** Follows both ways from a branch at `line` and merges what meets. */
function* branch(engine: Engine, line: number, ways: readonly number[], stops: readonly Stop[], depth: number): Generator<void, State[]> {
  const { cx } = engine;
  closePipe(cx);
  cx.lag = undefined;
  const here = cx.state.frames.length;
  const frame = cx.state.frames.at(-1);
  if (frame === undefined) return [];
  const meets = meetingLine(engine, frame, line);
  const inner: Stop[] = [...stops, { depth: here, line }, ...(meets < frame.end ? [{ depth: here, line: meets }] : [])];
  let entry = cx.state;
  let groups: State[] = [];
  for (let pass = 0; pass < PASSES && !engine.halted; pass++) {
    const ends: State[] = [];
    for (const way of ways) {
      const state = cloneState(entry);
      const top = state.frames.at(-1);
      if (top === undefined) continue;
      top.line = way;
      ends.push(...(yield* explore(engine, state, inner, Math.max(here, depth))));
    }
    const grouped = new Map<string, State>();
    for (const state of ends) {
      const top = state.frames.at(-1);
      const key = `${state.frames.length} ${top?.line}`;
      const before = grouped.get(key);
      grouped.set(key, before === undefined ? state : mergeStates(before, state, cx.symbols).state);
    }
    const back = grouped.get(`${here} ${line}`);
    grouped.delete(`${here} ${line}`);
    groups = [...grouped.values()];
    if (back === undefined) break;
    const widened = mergeStates(entry, back, cx.symbols);
    if (!widened.changed) break;
    entry = widened.state;
  }
  return groups;
}

function meetingLine(engine: Engine, frame: Frame, line: number): number {
  const { cx } = engine;
  const source = cx.sources[frame.source];
  if (source === undefined) return frame.end;
  const key = `${frame.source} ${frame.first} ${frame.end}`;
  let lines = engine.meeting.get(key);
  if (lines === undefined) {
    lines = meetingLines(source, frame.first, frame.end, partnersOf(engine, frame), cx.profile);
    engine.meeting.set(key, lines);
  }
  return lines[line - frame.first] ?? frame.end;
}

function partnersOf(engine: Engine, frame: Frame): ReadonlyMap<number, number> {
  const key = `${frame.source} ${frame.first} ${frame.end}`;
  let partners = engine.partners.get(key);
  const source = engine.cx.sources[frame.source];
  if (partners === undefined) {
    partners = source === undefined ? new Map<number, number>() : loopPartners(source, frame.first, frame.end);
    engine.partners.set(key, partners);
  }
  return partners;
}

// ---------------------------------------------------------------------------------------------------------------------
// Lines

/** What a line asks for: go on (frames are set), the program has ended, or both of two ways. */
type Outcome = "on" | "end" | { readonly lines: readonly number[] };

function executeLine(engine: Engine, frame: Frame): Outcome {
  const { cx } = engine;
  const source = cx.sources[frame.source] as Source;
  if (frame.line >= frame.end) return leaveProgram(engine, undefined, undefined);
  const block = source.blocks[frame.line] as Block;
  if (block.words.length === 0 && block.assignments.length === 0 && block.control === undefined) {
    frame.line++;
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
  step.values = engine.words.evaluated;
  step.after = cx.state.modal;
  if (!isPiping(cx)) settleSteps(cx, cx.step, cx.moves.length);
  return outcome;
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

/** IF … THEN on an unknown condition: what THEN assigns is unknown unless it changes nothing. */
function executeDoubtful(engine: Engine, block: Block): Outcome {
  const { cx } = engine;
  const before = cloneState(cx.state);
  if (assignAll(cx, block) === "alarm") {
    // One way stops the machine; the other goes on.
    adopt(cx, before);
    return "on";
  }
  const merged = mergeStates(before, cx.state, cx.symbols).state;
  adopt(cx, merged);
  if (block.words.length > 0) {
    noteNotChecked(cx, { key: "what.block", args: { line: block.line + 1 } }, { key: "why.condition", args: {} });
  }
  return "on";
}

function labelValue(cx: Machine, target: Extract<Control, { kind: "goto" }>["target"]): number {
  const value = valueOfExpr(cx, target);
  return value === null ? Number.NaN : Math.round(value);
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

function lineOfLabel(
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
function noteSecondLabel(cx: Machine, source: Source, part: number, label: number, found: number): void {
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

function jumpTo(
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
function goBack(engine: Engine, frame: Frame, block: Block, line: number, span: { readonly start: number; readonly end: number }): Outcome {
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

// ---------------------------------------------------------------------------------------------------------------------
// Calls

function executeAfter(engine: Engine, frame: Frame, after: After): Outcome {
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
    loseAfterCall(cx, { key: "what.call", args: { line: cx.block.line + 1 } }, { key: "why.call-missing", args: {} });
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
function leaveProgram(engine: Engine, word: Word | undefined, label: number | undefined): Outcome {
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
