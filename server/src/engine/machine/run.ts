import type { NotChecked, Note } from "../findings.js";
import type { Block, Source } from "../syntax/block.js";
import type { Value } from "../syntax/expression.js";
import type { Visit } from "../visits.js";
import type { Modal, Move } from "./move.js";

/** One activation of a program or subprogram; the main program has no caller. */
export interface Call {
  /** Index into Run.sources. */
  readonly source: number;
  /** O number, label (M97) or NaN for the main program without one. */
  readonly program: number;
  /** Index of the step of the calling block; -1 for the main program. */
  readonly caller: number;
  readonly parent: Call | undefined;
  readonly depth: number;
  readonly kind: "main" | "subprogram" | "local" | "macro";
}

/** One block as it was executed once. A block in a loop or called twice has several steps. */
export interface Step {
  readonly block: Block;
  /** Index into Run.sources. */
  readonly source: number;
  readonly call: Call;
  readonly before: Modal;
  readonly after: Modal;
  /** Moves of this step: Run.moves[firstMove … endMove-1]. */
  readonly firstMove: number;
  readonly endMove: number;
  /** Which state of block skip: a step of a `/` block exists only in the run with skip off. */
  readonly skipped: boolean;
  /** Values that words had, in the order of block.words; NaN unknown. Undefined when every word is literal. */
  readonly values: Float64Array | undefined;
}

/** A register written by G10 (or by assignment to a system variable), in mm and degrees, in the order of execution. */
export interface RegisterWrite {
  readonly step: number;
  /** Offset key; "shift" for the common shift (L2 P0); "length:7", "radius:7" for tool registers; "out-of-range" where P names none. */
  readonly register: string;
  /** L as written; NaN for an assignment. */
  readonly l: number;
  readonly p: number;
  /** G10 under G91. */
  readonly incremental: boolean;
  /** Axis letter → value written (mm or degrees) and resulting content; NaN unknown. */
  readonly axes: ReadonlyMap<string, { readonly written: number; readonly result: number; readonly wordIndex: number }>;
}

/** What the variables of one step's block held; NaN unknown, null empty. */
export interface StepVariables {
  /** Number and content of each variable that was read, in that order. */
  readonly read: (readonly [number, Value])[];
  /** What each assignment gave its variable, in the order of block.assignments. */
  readonly given: Value[];
}

/** Everything the machine did. */
export interface Run {
  readonly sources: readonly Source[];
  readonly steps: readonly Step[];
  readonly moves: readonly Move[];
  readonly visits: readonly Visit[];
  readonly writes: readonly RegisterWrite[];
  /** What variables held in the steps that use them, for showing; kept for the first 50,000 of those steps. */
  readonly variables?: ReadonlyMap<number, StepVariables>;
  /** What the machine itself noticed while running (syntax, unknown codes, calls), ready for the rules to report. */
  readonly notes: readonly Note[];
  /** Tool numbers are T words seen; seconds is the sum over moves and changes, NaN terms left out and told in `secondsAssume`. */
  readonly seconds: number;
  readonly assumptions: readonly string[];
  /** False when the run stopped early (a bound was hit). */
  readonly complete: boolean;
  /** What the run could not follow (a program that the control holds, a jump to an unknown place), with the reason. Keys stand in `machineMessages`. */
  readonly notChecked?: readonly NotChecked[];
}
