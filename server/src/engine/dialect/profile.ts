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

/**
 * The steps in which the words of one block take effect, whatever order they are written in. "spindle-on" is M3 and
 * M4, "spindle-off" M5 and M19; "reference-and-registers" is G10, G28, G30, G52, G92 and its like; "call" is M97 to
 * M99 and G65 to G67.
 */
export type OrderStep =
  | "comment"
  | "feed-mode"
  | "feed"
  | "speed"
  | "tool"
  | "change"
  | "spindle-on"
  | "spindle-off"
  | "coolant"
  | "override"
  | "dwell"
  | "plane"
  | "units"
  | "compensation"
  | "length"
  | "offset"
  | "path-control"
  | "distance"
  | "return-level"
  | "reference-and-registers"
  | "motion"
  | "call"
  | "stop";

/**
 * Variables that hold work offsets: the one of axis i (0 to 5: X Y Z, then the rotary axes) of the n-th register of
 * the run (from 0) is `first + stride·n + i`.
 */
export interface OffsetVariables {
  readonly first: number;
  readonly stride: number;
  /** Keys in order; "shift" is the common shift. A run of additional registers gives `count` and key "P1" alone. */
  readonly keys: readonly OffsetKey[];
  readonly count: number;
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

  /** One line that says what the profile is. */
  readonly summary: string;
  /** `,R` and `,C` behind a motion (corner rounding and chamfer) are read as words. */
  readonly cornerWords: boolean;
  /** What `:` with a number is: another spelling of the O word, of the N word (the alignment block of ISO 6983-1), or nothing. */
  readonly colon: "program" | "label" | "none";
  /** `/1` to `/9`, and a `/` inside a block. */
  readonly numberedSkip: boolean;
  /** Depth to which WHILE … DO may be nested, which is also the highest loop number; 0 without loops. */
  readonly loopDepth: number;
  /** Statements with text behind them that have no bearing on motion; read over without a finding. */
  readonly ignoredStatements: readonly string[];
  /** Letters whose numbers are lengths or angles, so that `wholeNumber` and `increment` apply to them. */
  readonly incrementLetters: string;
  /** Letters that name a dwell time beside G04. */
  readonly dwellLetters: string;
  /** Places in the tool table: the highest T, H and D; undefined where the profile does not limit them. */
  readonly toolSlots: number | undefined;
  /** M98 with M99; M97 (a label of the same file); G65; G66 with G67. */
  readonly calls: { readonly subprogram: boolean; readonly local: boolean; readonly macro: boolean; readonly modalMacro: boolean };
  /** Letter of a macro call → local variable (arguments I); empty where there is no G65. */
  readonly macroArguments: Readonly<Record<string, number>>;
  /** Ranges of variables; undefined without any. `local` belong to one call level. */
  readonly variables:
    | {
        readonly local: readonly [number, number] | undefined;
        readonly common: readonly [number, number] | undefined;
        readonly persistent: readonly [number, number] | undefined;
      }
    | undefined;
  /** `G10 L2 P0` writes a shift that is common to all work offsets. */
  readonly commonShift: boolean;
  readonly offsetVariables: readonly OffsetVariables[];
  /** First variables of the end of the last block, of the machine position and of the program position, X first. */
  readonly positionVariables: { readonly blockEnd: number; readonly machine: number; readonly program: number } | undefined;
  /** Order in which the words of a block act. */
  readonly order: readonly OrderStep[];
  /** Codes in force when a program starts. */
  readonly initial: readonly string[];
  /** Codes that M02 and M30 bring into force where `resetAtEnd` holds. */
  readonly atEnd: readonly string[];
  /** `(MSG, …)` is a message to the operator. */
  readonly messages: boolean;
  /** F along the helix itself, or along its circle in the plane. */
  readonly helixFeed: "helix" | "plane";
}
