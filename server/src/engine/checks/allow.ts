import { fixtureAllows as readFixtureAllows } from "../fixture/allows.js";
import type { Block, Source } from "../syntax/block.js";
import type { Place, Range } from "../text/place.js";

/** `(ALLOW rule-id: reason)`: a comment that waives a rule on its block or the next. Several ids may be listed with commas. */
export interface Allow {
  readonly rules: readonly string[];
  /** Undefined when none is given; such an allow waives nothing. */
  readonly reason: string | undefined;
  /** The comment. */
  readonly place: Place;
  /** What goes with the comment when it is taken away: its line where it stands alone, else the blanks before it. */
  readonly removal: Place;
  /** Lines of the same file on which findings are waived. */
  readonly lines: readonly number[];
  /** In a sidecar: the key and value that it speaks for. */
  readonly target?: Range;
  readonly kind: "program" | "fixture";
}

const ALLOW = /^\s*\(?\s*ALLOW\s+([A-Za-z][\w-]*(?:\s*,\s*[A-Za-z][\w-]*)*)\s*(?::\s*([^)]*?)\s*\)?)?\s*\)?\s*$/i;

function parse(text: string): { rules: string[]; reason: string | undefined } | undefined {
  const match = ALLOW.exec(text);
  if (match === null) return undefined;
  const rules = (match[1] as string).split(",").map((id) => id.trim().toLowerCase());
  return { rules, reason: match[2] === "" ? undefined : match[2] };
}

/** The allow comments of a program file. One alone on its line speaks for the next block that has words. */
export function programAllows(source: Source): Allow[] {
  const out: Allow[] = [];
  source.blocks.forEach((block, index) => {
    for (const comment of block.comments) {
      const parsed = parse(comment.text);
      if (parsed === undefined) continue;
      const next = nextWithContent(source.blocks, index);
      const place = { file: source.file, range: { line: block.line, column: comment.start, endLine: block.line, endColumn: comment.end } };
      out.push({
        ...parsed,
        place,
        removal: removalOf(place, source.lines[block.line] ?? "", source.lines.length),
        lines: next === undefined ? [block.line] : [block.line, next.line],
        kind: "program",
      });
    }
  });
  return out;
}

function nextWithContent(blocks: readonly Block[], index: number): Block | undefined {
  for (let i = index + 1; i < blocks.length; i++) {
    const b = blocks[i] as Block;
    if (b.words.length > 0 || b.assignments.length > 0 || b.control !== undefined || b.program !== undefined || b.problems.length > 0)
      return b;
  }
  return undefined;
}

/** The allow comments of a sidecar: `// ALLOW fixture-grip: reason` above a key or behind its value. */
export function fixtureAllows(file: string, text: string): Allow[] {
  const lines = text.split("\n");
  return readFixtureAllows(text).map(({ rule, reason, range, target }) => ({
    rules: [rule],
    reason: reason === "" ? undefined : reason,
    place: { file, range },
    removal: removalOf({ file, range }, lines[range.line] ?? "", lines.length),
    lines: [],
    target,
    kind: "fixture",
  }));
}

/** The place of a comment with what would be left of it: an empty line, or blanks at the end of one. */
function removalOf({ file, range }: Place, text: string, lineCount: number): Place {
  const before = text.slice(0, range.column);
  const after = text.slice(range.endColumn).trim();
  if (before.trim() === "" && after === "" && range.endLine === range.line && range.line + 1 < lineCount)
    return { file, range: { line: range.line, column: 0, endLine: range.line + 1, endColumn: 0 } };
  return { file, range: { ...range, column: before.trimEnd().length } };
}

/** True when an allow speaks for a place. */
export function covers(allow: Allow, place: Place): boolean {
  if (allow.place.file !== place.file) return false;
  const { line, column } = place.range;
  if (allow.target === undefined) return allow.lines.includes(line);
  const { target } = allow;
  const after = line > target.line || (line === target.line && column >= target.column);
  const before = line < target.endLine || (line === target.endLine && column < target.endColumn);
  return after && before;
}
