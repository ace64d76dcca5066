import type { Profile } from "../dialect/profile.js";
import type { Args, NotChecked, Note, Related } from "../findings.js";
import type { Fixture } from "../fixture/model.js";
import type { Host } from "../host.js";
import type { Block, Source } from "../syntax/block.js";
import { placeOf } from "../text/place.js";
import type { LastPoint, Pipe } from "./motion.js";
import type { Modal, Move, UncertainField } from "./move.js";
import type { RegisterWrite, Step, StepVariables } from "./run.js";
import type { FourQuantities, State } from "./state.js";
import type { Anchor, Symbols } from "./symbols.js";
import type { VisitBuilder } from "./visits.js";

export type Mutable<T> = { -readonly [K in keyof T]: T[K] };

/** How far a run may go. */
export interface Bounds {
  /** Blocks that are executed, comments and repeats included. */
  readonly steps: number;
  /** How often one loop is gone round while something changes. */
  readonly rounds: number;
  /** Calls within calls. */
  readonly depth: number;
}

/**
 * Where program coordinates stand in the machine while nothing about offsets, shifts and tool length changes. Rebuilt
 * when something does. Index 2 of `base` speaks of the spindle gauge point.
 */
export interface Setting {
  /** Part zero of the station that is meant: the origin of the active work offset, without G52 and G92; of the nest that a shared one has been shifted to. */
  readonly content: readonly [number, number, number];
  readonly contentAnchor: readonly [Anchor, Anchor, Anchor];
  /** Machine position of the program's zero. */
  readonly base: readonly [number, number, number];
  readonly baseAnchor: readonly [Anchor, Anchor, Anchor];
  /** Gauge point − tool point. */
  readonly toolLength: number;
  readonly toolLengthAnchor: Anchor;
  /** What is added to a programmed rotary angle. */
  readonly rotaryBase: number;
  readonly station: number;
}

/** One primitive move as it is handed over, in machine coordinates of the gauge point. Reused from move to move. */
export interface Emission {
  step: number;
  kind: Move["kind"];
  role: Move["role"];
  modal: Modal;
  setting: Setting;
  readonly from: number[];
  readonly fromAnchor: number[];
  readonly to: number[];
  readonly toAnchor: number[];
  rotaryFrom: number;
  rotaryTo: number;
  rotaryStep: number;
  /** Degrees that other rotary axes turn. */
  turn: number;
  /** For arcs: the centre, the third coordinate from the start, in machine coordinates of the gauge point and of the start's anchors. */
  centre: readonly [number, number, number] | undefined;
  sweep: number;
  /** Length of the path of an arc; NaN: take the straight distance. */
  length: number;
  /** Given by a dwell; NaN: compute. */
  seconds: number;
  /** The operator makes this move, so it has no time of its own. */
  manual: boolean;
}

/** One run of a program. Data only; the functions of this folder take it as their first argument. */
export interface Machine {
  readonly host: Host;
  readonly profile: Profile;
  readonly fixture: Fixture | undefined;
  readonly blockSkip: boolean;
  readonly bounds: Bounds;
  readonly symbols: Symbols;
  readonly sources: Source[];
  readonly steps: Mutable<Step>[];
  readonly moves: Move[];
  readonly visits: VisitBuilder;
  readonly writes: RegisterWrite[];
  readonly variables: Map<number, StepVariables>;
  readonly notes: Note[];
  readonly notChecked: NotChecked[];
  readonly assumptions: Set<string>;
  readonly initial: Map<string, FourQuantities>;
  readonly codeNotes: Map<string, Related[]>;
  readonly noted: Set<string>;
  state: State;
  setting: Setting | undefined;
  readonly emission: Emission;
  /** Cutter compensation that is under way. */
  pipe: Pipe | undefined;
  /** By how much the tool still stands beside the programmed position after compensation ended, machine axes, mm. */
  lag: readonly number[] | undefined;
  /** The last point given out, so that the next move can share it. */
  last: LastPoint | undefined;
  /** Target of the motion at hand, gauge point. */
  readonly to: number[];
  readonly toAnchor: number[];
  /** Index of the step at hand and its block. */
  step: number;
  block: Block;
  source: Source;
  /** Steps before this index have their moves. */
  settled: number;
  /** Letter of the rotary axis that moves speak of: the fixture's, else the first one the program uses. */
  rotaryLetter: "A" | "B" | "C" | undefined;
  complete: boolean;
  changeSeconds: number;
  /** A variable that tells a position or a mode has been read, so that a loop can end though no variable changes. */
  positionRead: boolean;
}

/** Notes something about a stretch of the block at hand. */
export function note(
  cx: Machine,
  rule: string,
  key: string,
  args: Args,
  span?: { readonly start: number; readonly end: number },
  related: readonly Related[] = [],
): void {
  const { block } = cx;
  // What follows from text that could not be read is no finding of its own.
  if (rule === "syntax" && block.problems.length > 0) return;
  const at = { line: block.line, start: span?.start ?? block.start, end: span?.end ?? block.end };
  // A block in a loop says a thing once.
  const id = `${rule} ${key} ${cx.source.file} ${at.line} ${at.start}`;
  if (cx.noted.has(id)) return;
  cx.noted.add(id);
  cx.notes.push({ rule, message: { key, args }, place: placeOf(cx.source.file, at), related, step: cx.step });
}

/** A code that the profile does not know, told once for each file; the other places are related. */
export function noteUnknownCode(cx: Machine, code: string, span: { readonly start: number; readonly end: number }): void {
  const id = `${cx.source.file}\n${code}`;
  const place = placeOf(cx.source.file, { line: cx.block.line, start: span.start, end: span.end });
  const related = cx.codeNotes.get(id);
  if (related === undefined) {
    const others: Related[] = [];
    cx.codeNotes.set(id, others);
    cx.notes.push({ rule: "code-unknown", message: { key: "code", args: { code } }, place, related: others, step: cx.step });
    return;
  }
  // A block that is executed again is no other place, and a list of a hundred places tells nothing more.
  if (related.length >= 50 || cx.noted.has(`${id} ${place.range.line}`)) return;
  cx.noted.add(`${id} ${place.range.line}`);
  const first = cx.notes.find((n) => n.related === related);
  if (first?.place.range.line === place.range.line) return;
  related.push({ place, message: { key: "related.also", args: { code } } });
}

/** Lists something that was not looked at, once for each block. */
export function noteNotChecked(cx: Machine, what: NotChecked["what"], why: NotChecked["why"]): void {
  const id = `not-checked ${what.key} ${why.key} ${cx.source.file} ${cx.block.line}`;
  if (cx.noted.has(id)) return;
  cx.noted.add(id);
  cx.notChecked.push({ what, why });
}

/** Puts changes into the modal state; the old one stays as it is for those who hold it. */
export function change(cx: Machine, changes: Partial<Modal>): void {
  cx.state.modal = { ...cx.state.modal, ...changes };
}

/** A state has been restated, so it is known again. */
export function settle(cx: Machine, field: UncertainField): void {
  const { uncertain } = cx.state.modal;
  if (uncertain?.includes(field) !== true) return;
  const rest = uncertain.filter((f) => f !== field);
  const { uncertain: _before, ...modal } = cx.state.modal;
  cx.state.modal = rest.length === 0 ? modal : { ...modal, uncertain: rest };
}

/** A state is no longer known. */
export function unsettle(cx: Machine, field: UncertainField): void {
  const uncertain = cx.state.modal.uncertain ?? [];
  if (!uncertain.includes(field)) change(cx, { uncertain: [...uncertain, field] });
}

/** True where the field's value is not known. */
export function isUncertain(modal: Modal, field: UncertainField): boolean {
  return modal.uncertain?.includes(field) === true;
}

/** mm in one programmed unit. What the program has not stated is taken from the sidecar, or is mm. */
export function unitScale(cx: Machine): number {
  const { units } = cx.state.modal;
  if (units === undefined) return cx.fixture?.units === "inch" ? 25.4 : 1;
  return units === "inch" ? 25.4 : 1;
}

/** True for the dialect as NISTIR 6556 publishes it, whose conditions of error are stricter than common practice. */
export function isPublished(cx: Machine): boolean {
  return cx.profile.expressions === "rs274ngc";
}

/** NISTIR 6556, appendix B.5: what is not allowed while cutter compensation is in force. Elsewhere it is suspended for a while. */
export function refuseUnderCompensation(cx: Machine, key: string, args: Readonly<Record<string, string>> = {}): void {
  if (isPublished(cx) && cx.state.modal.compensation !== 40) note(cx, "syntax", key, args);
}
