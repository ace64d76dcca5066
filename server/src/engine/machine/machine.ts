import type { Profile } from "../dialect/profile.js";
import type { Fixture } from "../fixture/model.js";
import type { Host } from "../host.js";
import type { Block, Source } from "../syntax/block.js";
import type { Value } from "../syntax/expression.js";
import { partOfLine } from "../syntax/parse.js";
import { noteProblems } from "./calls.js";
import type { Bounds, Machine } from "./core.js";
import { adopt, createFrame, type Engine, partnersOf } from "./engine.js";
import { meetingLines } from "./flow.js";
import { executeLine } from "./lines.js";
import { closePipe, settleSteps } from "./motion.js";
import { createPlan } from "./plan.js";
import { startingOffset } from "./registers.js";
import type { Call, Run } from "./run.js";
import { cloneState, type Frame, mergeStates, type State, startState } from "./state.js";
import { applyInitial } from "./step.js";
import { Symbols } from "./symbols.js";
import { VisitBuilder } from "./visits.js";
import { createWords } from "./words.js";

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

/** Lines between two yields where they are only looked through. */
const LINES = 8192;

/** How often the body of a loop whose end is not known is gone through, each time with less known. */
const PASSES = 3;

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
  yield;
  yield* enterMain(cx, input);
  yield;
  if (cx.state.frames.length > 0) yield* explore(engine, cx.state, [], 1);
  closePipe(cx);
  settleSteps(cx, cx.steps.length - 1, cx.moves.length);
  yield;
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
    variables: cx.variables,
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
      rounds: input.bounds?.rounds ?? 50_000,
      depth: input.bounds?.depth ?? 32,
    },
    symbols,
    sources: [input.main],
    steps: [],
    moves: [],
    visits: new VisitBuilder(),
    writes: [],
    variables: new Map(),
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
function* enterMain(cx: Machine, input: RunInput): Generator<void, void> {
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
  yield;
  noteProblems(cx, 0, part.line, end);
  yield;
  const call: Call = { source: 0, program: part.number, caller: -1, parent: undefined, depth: 0, kind: "main" };
  const locals = new Map<number, Value>();
  const range = cx.profile.variables?.local;
  // What is run here on its own may be called by others, who then give it arguments that are not known.
  if (range !== undefined && (yield* isSubprogram(main, part.line, end)))
    for (let n = range[0]; n <= range[1]; n++) locals.set(n, Number.NaN);
  cx.state.frames.push(createFrame(call, { source: 0, first: part.line, end }, locals, undefined, 0, false));
}

/** True for lines that return and never end, or that are written with calls of another dialect. */
function* isSubprogram(source: Source, first: number, end: number): Generator<void, boolean> {
  let returns = false;
  for (let line = first; line < end; line++) {
    if ((line - first) % LINES === LINES - 1) yield;
    const block = source.blocks[line];
    for (const word of block?.words ?? []) {
      if (word.letter !== "M") continue;
      if (word.value === 2 || word.value === 30)
        return source.blocks.slice(first, end).some((b) => b.problems.some((p) => p.key === "flow-by-o"));
      if (word.value === 99) returns = true;
    }
  }
  return returns;
}

function endsSomewhere(source: Source, first: number, end: number): boolean {
  for (let line = first; line < end; line++) {
    for (const word of source.blocks[line]?.words ?? []) {
      if (word.letter === "M" && (word.value === 2 || word.value === 30 || word.value === 99)) return true;
    }
  }
  return false;
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
      grouped.set(key, before === undefined ? state : mergeStates(before, state, cx.symbols, (key) => startingOffset(cx, key)).state);
    }
    const back = grouped.get(`${here} ${line}`);
    grouped.delete(`${here} ${line}`);
    groups = [...grouped.values()];
    if (back === undefined) break;
    const widened = mergeStates(entry, back, cx.symbols, (key) => startingOffset(cx, key));
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
