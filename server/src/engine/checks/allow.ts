import { createScanner } from "jsonc-parser";
import type { Block, Source } from "../syntax/block.js";
import type { Place } from "../text/place.js";

/** `(ALLOW rule-id: reason)`: a comment that waives a rule on its block or the next. Several ids may be listed with commas. */
export interface Allow {
  readonly rules: readonly string[];
  /** Undefined when none is given; such an allow waives nothing. */
  readonly reason: string | undefined;
  /** The comment. */
  readonly place: Place;
  /** Lines of the same file on which findings are waived. */
  readonly lines: readonly number[];
  readonly kind: "program" | "fixture";
}

const ALLOW = /^\s*\(?\s*ALLOW\s+([A-Za-z][\w-]*(?:\s*,\s*[A-Za-z][\w-]*)*)\s*(?::\s*([^)]*?)\s*\)?)?\s*\)?\s*$/i;

function parse(text: string): { rules: string[]; reason: string | undefined } | undefined {
  const match = ALLOW.exec(text);
  if (match === null) return undefined;
  const rules = (match[1] as string).split(",").map((id) => id.trim().toLowerCase());
  return { rules, reason: match[2] === undefined || match[2] === "" ? undefined : match[2] };
}

/** The allow comments of a program file. One alone on its line speaks for the next block that has words. */
export function programAllows(source: Source): Allow[] {
  const out: Allow[] = [];
  source.blocks.forEach((block, index) => {
    for (const comment of block.comments) {
      const parsed = parse(comment.text);
      if (parsed === undefined) continue;
      const next = nextWithContent(source.blocks, index);
      out.push({
        ...parsed,
        place: { file: source.file, range: { line: block.line, column: comment.start, endLine: block.line, endColumn: comment.end } },
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

const LINE_COMMENT = 12;
const BLOCK_COMMENT = 13;
const TRIVIA = 15;
const LINE_BREAK = 14;
const END = 17;

/** The allow comments of a sidecar: `// ALLOW fixture-grip: reason` above a key or behind it. */
export function fixtureAllows(file: string, text: string): Allow[] {
  const out: Allow[] = [];
  const scanner = createScanner(text, false);
  const waiting: number[] = [];
  const tokenLines: number[] = [];
  const found: { at: number; line: number; column: number; endColumn: number; rules: string[]; reason: string | undefined }[] = [];
  for (let kind: number = scanner.scan(); kind !== END; kind = scanner.scan()) {
    const line = scanner.getTokenStartLine();
    if (kind === LINE_COMMENT || kind === BLOCK_COMMENT) {
      const value = scanner.getTokenValue();
      const body = kind === LINE_COMMENT ? value.replace(/^\/\/+/, "") : value.replace(/^\/\*+/, "").replace(/\*+\/$/, "");
      const parsed = parse(body);
      if (parsed === undefined) continue;
      const column = scanner.getTokenStartCharacter();
      waiting.push(found.length);
      found.push({ at: line, line, column, endColumn: column + scanner.getTokenLength(), ...parsed });
    } else if (kind !== TRIVIA && kind !== LINE_BREAK) {
      tokenLines.push(line);
    }
  }
  for (const a of found) {
    const next = tokenLines.find((line) => line > a.line);
    const lines = next === undefined ? [a.line] : [a.line, next];
    out.push({
      rules: a.rules,
      reason: a.reason,
      place: { file, range: { line: a.line, column: a.column, endLine: a.line, endColumn: a.endColumn } },
      lines,
      kind: "fixture",
    });
  }
  return out;
}
