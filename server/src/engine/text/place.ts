/**
 * Places in text. Everything inside the engine counts lines and columns from 0, columns in UTF-16 units, ends
 * exclusive; the edges (command line, SARIF) add 1.
 */

/** A stretch of one line of one file. */
export interface Span {
  readonly line: number;
  readonly start: number;
  readonly end: number;
}

/** A stretch of text that may cross lines (a sidecar value, for example). */
export interface Range {
  readonly line: number;
  readonly column: number;
  readonly endLine: number;
  readonly endColumn: number;
}

/** A range in a named file. `file` is an absolute, slash-separated path as the Host knows it. */
export interface Place {
  readonly file: string;
  readonly range: Range;
}

/** The place of a span of one line. */
export function placeOf(file: string, span: Span): Place {
  return { file, range: { line: span.line, column: span.start, endLine: span.line, endColumn: span.end } };
}
