import { followingOffset, isPTaken, offsetOf } from "../../dialect/offsets.js";
import type { TextChange } from "../../findings.js";
import type { OffsetKey } from "../../machine/move.js";
import type { Run, Step } from "../../machine/run.js";
import type { Word } from "../../syntax/block.js";
import type { Place } from "../../text/place.js";
import type { RuleContext } from "../rule.js";
import { inHabit } from "./edits.js";
import { drained, paced } from "./paced.js";

/** A block that selects a work offset. */
export interface Selection {
  /** Index of the step. */
  readonly index: number;
  readonly step: Step;
  /** Undefined where the block names none (see `problem`) or the value is not known. */
  readonly key: OffsetKey | undefined;
  readonly problem: "absent-p" | "out-of-range" | undefined;
  readonly code: Word;
  /** "G54", "G54.1" … */
  readonly codeText: string;
  /** The P word that counts, if any. */
  readonly p: Word | undefined;
  /** The code with its P where they stand together, else the word that tells. */
  readonly place: Place;
}

/** A code as profiles spell it: "G54.1", without leading zeros. */
export function codeText(letter: string, value: number): string {
  return `${letter}${Math.round(value * 10) / 10}`;
}

/** Many rules ask; the answer is the same for one run. */
const known = new WeakMap<Run, readonly Selection[]>();

/** Every selection of a work offset, in the order of execution. */
export function selections(cx: RuleContext): readonly Selection[] {
  const held = known.get(cx.run);
  if (held !== undefined) return held;
  const found = drained(find(cx));
  known.set(cx.run, found);
  return found;
}

/** Looks for them in slices, so that the next one who asks need not wait. */
export function* findSelections(cx: RuleContext): Generator<void, void, void> {
  if (!known.has(cx.run)) known.set(cx.run, yield* find(cx));
}

function* find(cx: RuleContext): Generator<void, Selection[], void> {
  // In tenths, as codes are told apart: G54.1 is 541. Most blocks select nothing, so the look at them is kept short.
  const codes = new Set(cx.profile.offsets.map((o) => Math.round(Number(o.code.slice(1)) * 10)));
  const out: Selection[] = [];
  yield* paced(cx.run.steps, (step, index) => {
    const words = step.block.words;
    const code = words.find((w) => w.letter === "G" && codes.has(Math.round(cx.value(step, w) * 10)));
    if (code === undefined) return;
    const text = codeText("G", cx.value(step, code));
    const withP = cx.profile.offsets.some((o) => o.code === text && o.p !== undefined);
    const blockCodes = words.filter((w) => w.letter === "G" || w.letter === "M").map((w) => codeText(w.letter, cx.value(step, w)));
    const taken = isPTaken(text, blockCodes, cx.profile);
    const p = withP && !taken ? words.find((w) => w.letter === "P") : undefined;
    const found = offsetOf(text, p === undefined ? undefined : cx.value(step, p), cx.profile);
    const problem = found === "absent-p" || found === "out-of-range" ? found : undefined;
    // After a selection that names nothing the machine does not know the offset either; that is told by `problem`.
    const unread = p !== undefined && Number.isNaN(cx.value(step, p));
    const uncertain = unread || (problem === undefined && step.after.uncertain?.includes("offset") === true);
    // The machine's own reading counts; what it could not read is told by the dialect.
    const stated = step.after.offsetStep === index ? step.after.offset : undefined;
    const key = uncertain || problem !== undefined ? undefined : (stated ?? found);
    out.push({
      index,
      step,
      key,
      problem: uncertain ? undefined : problem,
      code,
      codeText: text,
      p,
      place: selectionPlace(cx, step, code, p),
    });
  });
  return out;
}

function selectionPlace(cx: RuleContext, step: Step, code: Word, p: Word | undefined): Place {
  if (p === undefined) return cx.place(step, code);
  const line = cx.run.sources[step.source]?.lines[step.block.line] ?? "";
  const together = p.start >= code.end && line.slice(code.end, p.start).trim() === "";
  return cx.place(step, together ? { start: code.start, end: p.end } : p);
}

/** The change that makes a selection name another offset; undefined where the block computes it. */
export function reselect(cx: RuleContext, s: Selection, key: OffsetKey): TextChange[] | undefined {
  if (s.code.expr !== undefined || s.p?.expr !== undefined) return undefined;
  const text = cx.offsetName(key);
  const register = /^P(\d+)$/.exec(key)?.[1];
  // The program's own spelling of the code stays where another P is all that it takes.
  if (s.p !== undefined && register !== undefined && offsetOf(s.codeText, Number(register), cx.profile) === key)
    return [{ place: cx.place(s.step, s.p), text: inHabit(cx, s.step, `P${register}`) }];
  if (s.p === undefined || s.place.range.column === s.code.start) return [{ place: s.place, text }];
  return [
    { place: cx.place(s.step, s.code), text },
    { place: cx.place(s.step, s.p), text: "" },
  ];
}

/** A series of offsets that lies one register beside the fixture's. */
export interface SeriesShift {
  /** Offsets of the loaded stations, in their order. */
  readonly wanted: readonly OffsetKey[];
  /** The station's offset for each that the program selects, in the order of first selection. */
  readonly targets: ReadonlyMap<OffsetKey, OffsetKey>;
}

/**
 * Where each offset of a program belongs, when the whole sequence is that of the fixture's stations moved by one register; else
 * undefined. Datums are left out of both sides.
 */
export function seriesShift(cx: RuleContext, all: readonly Selection[]): SeriesShift | undefined {
  const { fixture } = cx;
  if (fixture === undefined) return undefined;
  const used = new Set(all.flatMap((s) => (s.key === undefined || fixture.datums.has(s.key) ? [] : [s.key])));
  const wanted = [...new Set(fixture.stations.flatMap((s) => (s.empty || s.offset === undefined ? [] : [s.offset])))];
  if (used.size < 2 || used.size !== wanted.length) return undefined;
  const follows = (a: OffsetKey, b: OffsetKey): boolean => followingOffset(b, 1, cx.profile) === a;
  for (const isFor of [(key: OffsetKey, w: OffsetKey) => follows(w, key), (key: OffsetKey, w: OffsetKey) => follows(key, w)]) {
    const targets = new Map([...used].flatMap((key) => wanted.filter((w) => isFor(key, w)).map((w) => [key, w] as const)));
    if (targets.size === used.size) return isOneSlip(used, wanted, targets) ? undefined : { wanted, targets };
  }
  return undefined;
}

/**
 * Whether the one offset that is no station's, written in place of the station's that is not selected, makes the program go along the
 * row, which it does not do where all are moved by one: then that one offset is wrong, and not the series.
 */
function isOneSlip(used: ReadonlySet<OffsetKey>, wanted: readonly OffsetKey[], targets: ReadonlyMap<OffsetKey, OffsetKey>): boolean {
  const left = wanted.filter((w) => !used.has(w));
  const moved = [...used].map((key) => wanted.indexOf(targets.get(key) ?? key));
  const mended = [...used].map((key) => wanted.indexOf(wanted.includes(key) ? key : (left[0] ?? key)));
  return left.length === 1 && goesOneWay(mended) && !goesOneWay(moved);
}

function goesOneWay(places: readonly number[]): boolean {
  const steps = places.slice(1).map((p, i) => Math.sign(p - (places[i] as number)));
  return steps.every((s) => s === steps[0]);
}
