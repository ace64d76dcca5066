import type { OffsetKey } from "../machine/move.js";

/** One way to spell work offsets. `code` alone (no P) names `key(first)`; with `p` the P word counts from the range. */
export interface OffsetSpelling {
  /** "G54" … or "G54.1", "G154", "G59.1" */
  readonly code: string;
  /** Undefined: the code alone is the offset `key`. */
  readonly p: readonly [number, number] | undefined;
  /** Key of the offset, or of P1 when `p` is given ("P" followed by the P number is then the key). */
  readonly key: OffsetKey;
}

/** What happens to a code that is read. */
export type CodeUse =
  /** has a meaning that is executed */
  | "executed"
  /** read, has no bearing on motion (coolant, overrides …) */
  | "ignored"
  /** read, but what it does is not known here: what depends on it becomes unknown */
  | "opaque";

export interface CodeInfo {
  readonly code: string;
  /** Modal group name: "motion", "plane", …, "0" for the non-modal ones. */
  readonly group: string;
  readonly use: CodeUse;
  /** Takes the axis words of its block (G10, G28, G92, G4 …). */
  readonly takesAxes: boolean;
  /** One line for hover and completion. */
  readonly meaning: string;
}

/** A dialect as data. Everything that differs between controls is stated here and nowhere else. Lengths in mm. */
export interface Profile {
  readonly name: string;
  readonly extends: string | undefined;
  readonly codes: ReadonlyMap<string, CodeInfo>;
  readonly letters: string;
  readonly offsets: readonly OffsetSpelling[];
  /** A number without a decimal point in an axis word: the unit itself, or `increment` (in program units). */
  readonly wholeNumber: "unit" | "increment";
  readonly increment: number;
  readonly l20: "additional" | "current" | "none";
  readonly g52Reach: "all" | "none";
  readonly g92: "all";
  readonly peckRetract: "R" | "initial";
  /** Back-off of G73/G83 in mm. */
  readonly backOff: number;
  readonly repeatLetters: readonly string[];
  /** L0 / K0 on a cycle: "store" (no hole) or "error". */
  readonly repeatZero: "store" | "error";
  readonly returnDefault: "initial" | "R";
  readonly fullCircle: boolean;
  readonly resetAtEnd: boolean;
  /** A whole number P of G04. */
  readonly dwellWhole: "ms" | "s";
  readonly dwellPoint: "s" | "ms";
  readonly packedRepeat: boolean;
  readonly lengthBy: "G43" | "control";
  readonly g10Incremental: boolean;
  readonly rapidPath: "straight" | "independent" | "either";
  /** Largest difference of the two radii of a centre-format arc, mm and inch files. */
  readonly arcTolerance: { readonly mm: number; readonly inch: number };
  readonly comments: { readonly semicolon: boolean; readonly nested: boolean; readonly unclosedIsError: boolean };
  /** "rs274ngc": no comparison, no control flow, no O words; "macro": the common form. */
  readonly expressions: "rs274ngc" | "macro" | "none";
  readonly programWords: boolean;
  /** Longest line, N digits and so on are errors (rs274ngc) or not. */
  readonly strictBlocks: boolean;
  readonly parameterCount: number;
  /** Offsets that hold 0 until told otherwise (rs274ngc, Table 2), rather than an unknown value. */
  readonly offsetsDefaultZero: boolean;
}
