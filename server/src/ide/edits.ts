import type { TextChange } from "../engine/findings.js";

/** Offsets at which the lines of a text begin. */
function lineStarts(text: string): number[] {
  const starts = [0];
  for (let i = 0; i < text.length; i++) {
    const c = text.charCodeAt(i);
    if (c === 10 || (c === 13 && text.charCodeAt(i + 1) !== 10)) starts.push(i + 1);
  }
  return starts;
}

/** The text after some changes of it, which must not overlap; places beyond its end count as its end. */
export function applyChanges(text: string, changes: readonly TextChange[]): string {
  const starts = lineStarts(text);
  const offset = (line: number, column: number): number => {
    const start = starts[line];
    if (start === undefined) return text.length;
    return Math.min(start + column, starts[line + 1] ?? text.length);
  };
  const edits = changes
    .map(({ place: { range }, text: put }, index) => ({
      from: offset(range.line, range.column),
      to: offset(range.endLine, range.endColumn),
      put,
      index,
    }))
    .sort((a, b) => b.from - a.from || b.to - a.to || b.index - a.index);
  let out = text;
  for (const { from, to, put } of edits) out = out.slice(0, from) + put + out.slice(to);
  return out;
}

/** True when two sets of changes touch the same stretch of a file, so that both cannot be made at once. */
export function collide(a: readonly TextChange[], b: readonly TextChange[]): boolean {
  return a.some((x) =>
    b.some((y) => {
      if (x.place.file !== y.place.file) return false;
      const p = x.place.range;
      const q = y.place.range;
      const before = (l: number, c: number, l2: number, c2: number) => l < l2 || (l === l2 && c < c2);
      // Two insertions at one place collide too: their order would matter.
      return (
        !(before(p.endLine, p.endColumn, q.line, q.column) || before(q.endLine, q.endColumn, p.line, p.column)) ||
        (p.line === q.line && p.column === q.column)
      );
    }),
  );
}

/**
 * How lines of an older text stand in a newer one, found by what both have alike at the beginning and at the end: one
 * edited stretch between them is followed exactly, of several only the lines outside all of them.
 */
export interface LineMap {
  /** Nothing changed. */
  readonly same: boolean;
  /** Line of the older text; undefined inside of the edit. */
  toOld(line: number): number | undefined;
  /** Line of the newer text; undefined inside of the edit. */
  toNew(line: number): number | undefined;
  /** Line of the newer text; inside of the edit its first line. */
  newNear(line: number): number;
  /** The nearest line of the older text at or above, for what holds "so far". */
  oldAbove(line: number): number;
}

/** How the lines of a text went into a newer one, taken as one edit: equal lines at the head and at the end keep each other. */
export function mapLines(older: readonly string[], newer: readonly string[]): LineMap {
  const most = Math.min(older.length, newer.length);
  let head = 0;
  while (head < most && older[head] === newer[head]) head++;
  let tail = 0;
  while (tail < most - head && older[older.length - 1 - tail] === newer[newer.length - 1 - tail]) tail++;
  const shift = newer.length - older.length;
  const toOld = (line: number) => (line < head ? line : line >= newer.length - tail && line < newer.length ? line - shift : undefined);
  const toNew = (line: number) => (line < head ? line : line >= older.length - tail && line < older.length ? line + shift : undefined);
  return {
    same: shift === 0 && head === older.length,
    toOld,
    toNew,
    newNear: (line) => toNew(line) ?? Math.min(head, Math.max(0, newer.length - 1)),
    oldAbove: (line) => toOld(line) ?? (line < newer.length - tail ? Math.max(0, head - 1) : older.length - 1),
  };
}
