import type { Finding } from "../engine/findings.js";
import type { Move } from "../engine/machine/move.js";
import type { Run, Step } from "../engine/machine/run.js";
import type { Analysis } from "../engine/program.js";
import type { Block, Source, Word } from "../engine/syntax/block.js";
import type { Visit } from "../engine/visits.js";

/** A position in a file: line and column from 0, columns in UTF-16 units. */
export interface Position {
  readonly line: number;
  readonly column: number;
}

/** One analysis, indexed by lines, for answering questions about places. Built once for each analysis. */
export interface View {
  readonly analysis: Analysis;
  /** Indices of the steps of a line, in order of execution. */
  stepsOf(file: string, line: number): readonly number[];
  sourceOf(file: string): Source | undefined;
  /** Line of the main program whose block led to this step (its own where it stands there). */
  mainLine(step: number): number;
  visitsOf(station: number): readonly Visit[];
  findingsAt(file: string, line: number): readonly Finding[];
  readonly offsetName: (key: string) => string;
}

const views = new WeakMap<Analysis, View>();

/** The view of an analysis; the same analysis gives the same view. */
export function viewOf(analysis: Analysis, spell: (key: string) => string): View {
  const known = views.get(analysis);
  if (known !== undefined) return known;
  const view = createView(analysis, spell);
  views.set(analysis, view);
  return view;
}

function createView(analysis: Analysis, spell: (key: string) => string): View {
  const { run } = analysis;
  const stepsOfLine = stepsByLine(run);
  const sourceIndex = new Map(run.sources.map((source, index) => [source.file, index]));
  return {
    analysis,
    stepsOf: (file, line) => stepsOfLine(sourceIndex.get(file) ?? -1, line),
    sourceOf: (file) => run.sources[sourceIndex.get(file) ?? -1],
    mainLine: (step) => mainLine(run, step),
    visitsOf: (station) => run.visits.filter((visit) => visit.station === station),
    findingsAt: (file, line) => analysis.findings.filter((f) => f.place.file === file && f.place.range.line === line),
    offsetName: (key) => analysis.fixture?.offsetName(key) ?? spell(key),
  };
}

const NONE: readonly number[] = [];

/**
 * The steps of each line. A long program has as many lines as steps, and a list for each of them would keep the first question after
 * a check waiting: the steps are counted out into one array, from which a line's own are cut when they are asked for.
 */
function stepsByLine(run: Run): (source: number, line: number) => readonly number[] {
  // Place of a source's first line among the lines of all sources.
  const bases: number[] = [];
  let lines = 0;
  for (const source of run.sources) {
    bases.push(lines);
    lines += source.blocks.length;
  }
  const ends = new Int32Array(lines + 1);
  for (const step of run.steps) {
    const at = (bases[step.source] ?? Number.NaN) + step.block.line;
    if (at < lines) ends[at + 1] = (ends[at + 1] as number) + 1;
  }
  for (let at = 0; at < lines; at++) ends[at + 1] = (ends[at + 1] as number) + (ends[at] as number);
  const order = new Int32Array(run.steps.length);
  const next = ends.slice();
  run.steps.forEach((step, index) => {
    const at = (bases[step.source] ?? Number.NaN) + step.block.line;
    if (!(at < lines)) return;
    const place = next[at] as number;
    order[place] = index;
    next[at] = place + 1;
  });
  const cut = new Map<number, readonly number[]>();
  return (source, line) => {
    const base = bases[source];
    if (base === undefined || line < 0 || line >= (run.sources[source]?.blocks.length ?? 0)) return NONE;
    const from = ends[base + line] as number;
    const to = ends[base + line + 1] as number;
    if (from === to) return NONE;
    let own = cut.get(base + line);
    if (own === undefined) {
      own = Array.from(order.subarray(from, to));
      cut.set(base + line, own);
    }
    return own;
  };
}

function mainLine(run: Run, index: number): number {
  let step = run.steps[index];
  // Every call has its caller before it, so this ends.
  while (step !== undefined && step.call.caller >= 0) step = run.steps[step.call.caller];
  return step?.block.line ?? 0;
}

/** The block of a line and the word under a column, if any. The column behind a word's last character still counts as the word. */
export function wordAt(source: Source, position: Position): { readonly block: Block; readonly word: Word | undefined } | undefined {
  const block = source.blocks[position.line];
  if (block === undefined) return undefined;
  const inside = block.words.find((w) => position.column >= w.start && position.column < w.end);
  return { block, word: inside ?? block.words.find((w) => position.column === w.end) };
}

/** Value that a word had in a step; NaN unknown. */
export function valueIn(step: Step | undefined, block: Block, word: Word): number {
  if (step?.values === undefined || step.block !== block) return word.value;
  return step.values[block.words.indexOf(word)] ?? word.value;
}

/** The moves of a step. */
export function movesOf(run: Run, step: Step): readonly Move[] {
  return run.moves.slice(step.firstMove, step.endMove);
}
