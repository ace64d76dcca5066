import type { Move } from "../../machine/move.js";
import type { Call, Run, Step } from "../../machine/run.js";
import type { Visit } from "../../visits.js";

/**
 * One time through the work of a tool at a station: what lies between two statements of the offset, or one activation of a
 * called program. A visit has one pass or several.
 */
export interface Pass {
  readonly visit: Visit;
  /** Indexes of the moves that cut, in order. */
  readonly cuts: readonly number[];
  /** Step that stated the offset. */
  readonly offsetStep: number;
  /** The activation that makes this pass, undefined for blocks beside the offset. */
  readonly call: Call | undefined;
  /** Each of these moves as text. */
  readonly texts: readonly string[];
  /** The path in the part frame, these texts in one; equal for equal paths whatever the offset, block numbers and comments. */
  readonly path: string;
}

/**
 * True for moves that remove material: feeds and arcs, the feeds of cycles among them. A cycle that feeds out of the hole goes up to
 * where it began, which differs a little from station to station and is no part of the path.
 */
export function isCut(run: Run, index: number): boolean {
  const m = run.moves[index];
  return m !== undefined && (m.kind === "feed" || m.kind === "arc") && m.role !== "cycle-retract";
}

function rounded(v: number): string {
  if (Number.isNaN(v)) return "?";
  const r = Math.round(v * 1000);
  return String(r === 0 ? 0 : r);
}

/** A cutting move as text, for comparing stations: kind, ends in the part frame to a micrometre, compensation and its D. */
export function cutText(run: Run, index: number): string {
  const m = run.moves[index];
  if (m === undefined) return "";
  const [from, to] = [m.partFrom, m.partTo];
  const ends = `${rounded(from[0])},${rounded(from[1])},${rounded(from[2])},${rounded(to[0])},${rounded(to[1])},${rounded(to[2])}`;
  const arc = m.kind === "arc" ? `a${rounded(m.sweep)}` : "l";
  const side = m.modal.compensation === 40 ? "" : `c${m.modal.compensation}d${rounded(m.modal.d)}`;
  return `${arc}(${ends})${side}`;
}

/**
 * The activation below the program that stated the offset, in which a step runs; undefined when it runs beside it. Where that program
 * is not among those that led to the step, the one below the main program counts.
 */
function activation(step: Step, offset: Step | undefined): Call | undefined {
  let below: Call | undefined;
  let first: Call | undefined;
  for (let call: Call | undefined = step.call; call !== undefined; call = call.parent) {
    if (call === offset?.call) return below;
    first = below;
    below = call;
  }
  return first;
}

/** Moves between two yields: about a millisecond of work. */
const SLICE = 1000;

const known = new WeakMap<Run, Map<Visit, readonly Pass[]>>();

/** The passes of a visit, in order; those without a cut are left out. In slices, and kept for the next rule that asks. */
export function* passesOf(run: Run, visit: Visit): Generator<void, readonly Pass[], void> {
  let ofRun = known.get(run);
  if (ofRun === undefined) {
    ofRun = new Map();
    known.set(run, ofRun);
  }
  const held = ofRun.get(visit);
  if (held !== undefined) return held;
  const found = yield* findPasses(run, visit);
  ofRun.set(visit, found);
  return found;
}

function* findPasses(run: Run, visit: Visit): Generator<void, Pass[], void> {
  const out: Pass[] = [];
  let cuts: number[] = [];
  let texts: string[] = [];
  let offsetStep = -2;
  let call: Call | undefined;
  const close = () => {
    if (cuts.length > 0) out.push({ visit, cuts, texts, offsetStep, call, path: texts.join(";") });
    cuts = [];
    texts = [];
  };
  for (let i = visit.firstMove; i < visit.endMove; i++) {
    if (i % SLICE === 0) yield;
    if (!isCut(run, i)) continue;
    const move = run.moves[i] as Move;
    if (move.visit !== visit.index) continue;
    const now = activation(run.steps[move.step] as Step, run.steps[move.modal.offsetStep]);
    if (move.modal.offsetStep !== offsetStep || now !== call) {
      close();
      offsetStep = move.modal.offsetStep;
      call = now;
    }
    cuts.push(i);
    texts.push(cutText(run, i));
  }
  close();
  return out;
}

/** The shortest pattern that, repeated, gives the sequence; the sequence's own length when it repeats nothing. */
export function period(items: readonly string[]): number {
  for (let n = 1; n <= items.length / 2; n++) {
    if (items.length % n !== 0) continue;
    let same = true;
    for (let i = n; i < items.length && same; i++) same = items[i] === items[i - n];
    if (same) return n;
  }
  return items.length;
}
