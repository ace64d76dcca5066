import type { Expr } from "./expression.js";

/**
 * One word: an address letter with its value. A literal number is kept in `value` directly; anything computed is in
 * `expr` and `value` is NaN. A letter with nothing behind it has `expr` of kind "absent".
 */
export interface Word {
  /** Upper case. Multi-letter addresses (",R" and ",C" for corners) keep their comma. */
  readonly letter: string;
  readonly value: number;
  /** The number as written had a decimal point. */
  readonly point: boolean;
  readonly expr: Expr | undefined;
  readonly start: number;
  readonly end: number;
}

/** `#100 = …` */
export interface Assignment {
  readonly index: Expr;
  readonly value: Expr;
  readonly start: number;
  readonly end: number;
}

export type Control =
  | { readonly kind: "goto"; readonly target: Expr; readonly start: number; readonly end: number }
  | { readonly kind: "if-goto"; readonly condition: Expr; readonly target: Expr; readonly start: number; readonly end: number }
  | { readonly kind: "if-then"; readonly condition: Expr; readonly start: number; readonly end: number }
  | { readonly kind: "while"; readonly condition: Expr; readonly loop: number; readonly start: number; readonly end: number }
  | { readonly kind: "do"; readonly loop: number; readonly start: number; readonly end: number }
  | { readonly kind: "end"; readonly loop: number; readonly start: number; readonly end: number };

export interface Comment {
  /** Text without the delimiters. */
  readonly text: string;
  readonly start: number;
  readonly end: number;
}

/** Something on the line that the dialect cannot read. `key` picks a message of the rule `syntax`. */
export interface Problem {
  readonly key: string;
  readonly args: Readonly<Record<string, string | number>>;
  readonly start: number;
  readonly end: number;
}

/** One line of a program. Every line of the file gives exactly one block, if only an empty one. */
export interface Block {
  readonly line: number;
  /** Block skip: 0 is a plain `/`, 1 to 9 a numbered one; undefined when there is none. */
  readonly skip: number | undefined;
  /**
   * Index of the first word that a `/` inside the block governs; absent when the skip governs the whole block. The
   * words before it are executed always.
   */
  readonly skipFrom?: number;
  /** N number. */
  readonly label: number | undefined;
  readonly labelSpan: { readonly start: number; readonly end: number } | undefined;
  /** O number (or `:` number) that begins a program here. */
  readonly program: number | undefined;
  readonly programSpan: { readonly start: number; readonly end: number } | undefined;
  /** A lone `%`. */
  readonly percent: boolean;
  /** Words in written order, N and O not among them. With an "if-then" these are what THEN governs. */
  readonly words: readonly Word[];
  /** Assignments in written order. With an "if-then" these are what THEN governs. */
  readonly assignments: readonly Assignment[];
  readonly control: Control | undefined;
  readonly comments: readonly Comment[];
  readonly problems: readonly Problem[];
  /** Columns of the first and behind the last character that is not white space; equal on an empty line. */
  readonly start: number;
  readonly end: number;
}

/** A program number within a file and the lines that belong to it. */
export interface ProgramPart {
  /** NaN for what stands before the first O word. */
  readonly number: number;
  readonly line: number;
  /** First line behind it. */
  readonly endLine: number;
  /** The comment beside the O word, if any. */
  readonly title: string | undefined;
}

/** One file of blocks. */
export interface Source {
  readonly file: string;
  /** The lines as written, without their ends. */
  readonly lines: readonly string[];
  readonly blocks: readonly Block[];
  readonly parts: readonly ProgramPart[];
  /** Problems that belong to the file rather than to one line (a missing second `%`). */
  readonly problems: readonly (Problem & { readonly line: number })[];
}
