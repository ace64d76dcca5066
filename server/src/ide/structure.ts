import { loopPartners } from "../engine/machine/flow.js";
import type { Source } from "../engine/syntax/block.js";
import { type Symbol as OutlineEntry, symbolsOf } from "./symbols.js";
import type { Position, View } from "./view.js";

/** Lines that fold together, both ends included. */
export interface Fold {
  readonly line: number;
  readonly endLine: number;
  readonly kind: "program" | "tool" | "visit" | "loop" | "comment";
}

const known = new WeakMap<View, Map<string, readonly Fold[]>>();

/** What folds in a file: programs, tools, visits, loops, and runs of lines that are only comments. */
export function foldsOf(view: View, file: string): readonly Fold[] {
  const before = known.get(view)?.get(file);
  if (before !== undefined) return before;
  const source = view.sourceOf(file);
  if (source === undefined) return [];
  const out: Fold[] = [];
  const seen = new Set<string>();
  const add = (line: number, endLine: number, kind: Fold["kind"]): void => {
    const end = lastFull(source, line, endLine);
    const key = `${line} ${end}`;
    if (end <= line || seen.has(key)) return;
    seen.add(key);
    out.push({ line, endLine: end, kind });
  };
  const loops = source.parts.flatMap((part) => [...loopPartners(source, part.line, part.endLine)]).filter(([start, end]) => end > start);
  const walk = (s: OutlineEntry): void => {
    // A visit that begins before a loop and ends within it, or the other way round, is cut there: of two that cross an editor
    // keeps only one, and the loop could not be folded any more.
    const end = s.kind === "visit" ? cutAtLoops(s.line, s.endLine, loops) : s.endLine;
    add(s.line, end, s.kind);
    s.children.forEach(walk);
  };
  symbolsOf(view, file).forEach(walk);
  for (const [start, end] of loops) add(start, end, "loop");
  let first = -1;
  for (let line = 0; line <= source.blocks.length; line++) {
    const block = source.blocks[line];
    const only =
      block !== undefined &&
      block.comments.length > 0 &&
      block.words.length === 0 &&
      block.program === undefined &&
      block.control === undefined &&
      block.assignments.length === 0;
    if (only && first < 0) first = line;
    if (!only && first >= 0) {
      add(first, line - 1, "comment");
      first = -1;
    }
  }
  const sorted = out.sort((a, b) => a.line - b.line || b.endLine - a.endLine);
  const files = known.get(view) ?? new Map<string, readonly Fold[]>();
  files.set(file, sorted);
  known.set(view, files);
  return sorted;
}

/** Where a stretch of lines has to end so that it crosses no loop: before one that it enters, at the end of one that it leaves. */
function cutAtLoops(line: number, endLine: number, loops: readonly (readonly [number, number])[]): number {
  let cut = endLine;
  for (const [start, end] of loops) {
    if (line < start && start <= endLine && endLine < end) cut = Math.min(cut, start - 1);
    else if (start <= line && line <= end && end < endLine) cut = Math.min(cut, end);
  }
  return cut;
}

/** The last line of a stretch that holds anything. */
function lastFull(source: Source, line: number, endLine: number): number {
  let end = Math.min(endLine, source.lines.length - 1);
  while (end > line && (source.lines[end] ?? "").trim() === "") end--;
  return end;
}

/** One step of growing a selection. */
export interface Selection {
  readonly line: number;
  readonly start: number;
  readonly endLine: number;
  readonly end: number;
}

/** From the word under a position outward: word, block, loop, visit, tool, program, file. */
export function selectionsAt(view: View, file: string, position: Position): Selection[] {
  const source = view.sourceOf(file);
  const block = source?.blocks[position.line];
  if (source === undefined || block === undefined) return [];
  const out: Selection[] = [];
  const add = (s: Selection): void => {
    const last = out.at(-1);
    const inside =
      last === undefined ||
      ((s.line < last.line || (s.line === last.line && s.start <= last.start)) &&
        (s.endLine > last.endLine || (s.endLine === last.endLine && s.end >= last.end)));
    const same = last !== undefined && s.line === last.line && s.start === last.start && s.endLine === last.endLine && s.end === last.end;
    if (inside && !same) out.push(s);
  };
  const inLine = (start: number, end: number): Selection => ({ line: block.line, start, endLine: block.line, end });
  const spans = [
    ...block.words,
    ...block.comments,
    ...block.assignments,
    ...(block.control === undefined ? [] : [block.control]),
    ...(block.labelSpan === undefined ? [] : [block.labelSpan]),
    ...(block.programSpan === undefined ? [] : [block.programSpan]),
  ];
  const word = spans
    .filter((s) => position.column >= s.start && position.column <= s.end)
    .sort((a, b) => a.end - a.start - (b.end - b.start))[0];
  if (word !== undefined) add(inLine(word.start, word.end));
  if (block.end > block.start) add(inLine(block.start, block.end));
  const folds = foldsOf(view, file)
    .filter((f) => f.kind !== "comment" && position.line >= f.line && position.line <= f.endLine)
    .sort((a, b) => a.endLine - a.line - (b.endLine - b.line));
  for (const f of folds) add({ line: f.line, start: 0, endLine: f.endLine, end: source.lines[f.endLine]?.length ?? 0 });
  const last = source.lines.length - 1;
  add({ line: 0, start: 0, endLine: last, end: source.lines[last]?.length ?? 0 });
  return out;
}
