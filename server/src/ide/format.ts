import type { Profile } from "../engine/dialect/profile.js";
import type { TextChange } from "../engine/findings.js";
import type { Host } from "../engine/host.js";
import { runProgram } from "../engine/machine/machine.js";
import type { Run } from "../engine/machine/run.js";
import type { Block } from "../engine/syntax/block.js";
import { parseLine, parseSource } from "../engine/syntax/parse.js";
import { applyChanges } from "./edits.js";
import { callOf } from "./names.js";
import { sameMotion } from "./preview.js";
import { say } from "./texts.js";
import type { View } from "./view.js";

/** What formatting would change, or why it is not done. */
export type Formatting = { readonly refused: string } | { readonly changes: readonly TextChange[] };

/** Tidies white space of some lines. Each line must read the same before and after, else it is left as it is. */
export function spaceChanges(profile: Profile, file: string, lines: readonly string[], from: number, to: number): TextChange[] {
  const out: TextChange[] = [];
  for (let line = from; line <= Math.min(to, lines.length - 1); line++) {
    const text = lines[line] ?? "";
    const block = parseLine(text, line, profile);
    const tidy = tidied(text, block);
    if (tidy === text || !readsSame(block, parseLine(tidy, line, profile))) continue;
    out.push({ place: { file, range: { line, column: 0, endLine: line, endColumn: text.length } }, text: tidy });
  }
  return out;
}

/** The line with one space between its words. Comments, expressions and what is not understood stay letter for letter. */
function tidied(text: string, block: Block): string {
  if (block.problems.length > 0 || block.control !== undefined) return text.trimEnd();
  const pieces: { start: number; end: number }[] = [...block.words, ...block.comments];
  if (block.labelSpan !== undefined) pieces.push(block.labelSpan);
  if (block.programSpan !== undefined) pieces.push(block.programSpan);
  if (pieces.length === 0 || block.assignments.length > 0) return text.trimEnd();
  pieces.sort((a, b) => a.start - b.start);
  const first = pieces[0]?.start ?? 0;
  // What stands before the first word (block skip, white space) is kept but for the white space around it.
  let out = text.slice(0, first).trim();
  if (out !== "") out += " ";
  let end = first;
  for (const [i, piece] of pieces.entries()) {
    const between = text.slice(end, piece.start);
    if (i > 0) out += between.trim() === "" ? " " : between;
    const own = text.slice(piece.start, piece.end);
    const word = block.words.find((w) => w.start === piece.start && w.end === piece.end);
    // White space inside a plain word ("X 10.") goes; in an expression or comment it stays.
    out += word !== undefined && word.expr === undefined ? own.replace(/[ \t]+/g, "") : own;
    end = piece.end;
  }
  out += text.slice(end).trimEnd();
  return out;
}

/** True when two lines mean the same to the machine: everything but where it stands. */
function readsSame(a: Block, b: Block): boolean {
  const strip = (block: Block): string =>
    JSON.stringify(block, (key, value: unknown) =>
      key === "start" || key === "end" || key === "labelSpan" || key === "programSpan"
        ? undefined
        : typeof value === "number" && Number.isNaN(value)
          ? "NaN"
          : value,
    );
  return strip(a) === strip(b);
}

/** New N numbers for the blocks that have one, in each program of the file, and for the jumps to them. */
export function numberChanges(profile: Profile, file: string, text: string, step: number): Formatting {
  const source = parseSource(file, text, profile);
  const changes: TextChange[] = [];
  const back = source.blocks.find((b) => {
    const call = callOf(b, profile);
    return call?.code === "M99" && call.p !== undefined;
  });
  if (back !== undefined) return { refused: say("format.returns", { line: back.line + 1 }) };
  for (let part = 0; part < source.parts.length; part++) {
    const range = source.parts[part];
    if (range === undefined) continue;
    const blocks = source.blocks.slice(range.line, range.endLine);
    const labels = blocks.filter((b) => b.label !== undefined);
    const fresh = new Map<number, number>();
    let next = step;
    for (const block of labels) {
      if (block.label === undefined) continue;
      if (fresh.has(block.label)) return { refused: say("format.twice", { number: block.label, line: block.line + 1 }) };
      fresh.set(block.label, next);
      next += step;
    }
    if (fresh.size === 0) continue;
    if (next - step > 99_999) return { refused: say("format.too-many") };
    const digits = (line: number, start: number, end: number, number: number): void => {
      const own = (source.lines[line] ?? "").slice(start, end);
      const at = own.search(/\d/);
      if (at >= 0 && own.slice(at) !== String(number))
        changes.push({ place: { file, range: { line, column: start + at, endLine: line, endColumn: end } }, text: String(number) });
    };
    for (const block of blocks) {
      if (block.label !== undefined && block.labelSpan !== undefined)
        digits(block.line, block.labelSpan.start, block.labelSpan.end, fresh.get(block.label) ?? 0);
      const { control } = block;
      if (control?.kind === "goto" || control?.kind === "if-goto") {
        if (control.target.kind !== "number") return { refused: say("format.jump", { line: block.line + 1 }) };
        const to = fresh.get(control.target.value);
        if (to !== undefined) digits(block.line, control.target.start, control.target.end, to);
      }
      const call = callOf(block, profile);
      if (call?.p !== undefined && call.code === "M97") {
        if (Number.isNaN(call.number)) return { refused: say("format.call", { line: block.line + 1 }) };
        const to = fresh.get(call.number);
        if (to !== undefined) digits(block.line, call.p.start, call.p.end, to);
      }
    }
  }
  return { changes };
}

/**
 * Proves that a changed file moves the machine as before: the program is run both ways, with block skip off and on, and every
 * move compared. A generator, since the program may be long. Answers why not, or undefined where it is the same.
 */
export function* motionProof(view: View, host: Host, file: string, changes: readonly TextChange[]): Generator<void, string | undefined> {
  const { program, profile, fixture } = view.analysis;
  const before = host.read(file);
  if (before === undefined) return say("format.file");
  const after = applyChanges(before, changes);
  const changed: Host = { read: (path) => (path === file ? after : host.read(path)), list: (folder) => host.list(folder) };
  const main = host.read(program);
  const mainAfter = changed.read(program);
  if (main === undefined || mainAfter === undefined) return say("format.program");
  const parts = parseSource(program, main, profile).parts.length;
  for (let entryPart = 0; entryPart < Math.max(1, parts); entryPart++) {
    for (const blockSkip of /^\s*\/|\s\/\d?\s*[A-Z]/m.test(main) ? [false, true] : [false]) {
      const input = (text: string, files: Host) => ({
        main: parseSource(program, text, profile),
        host: files,
        profile,
        entryPart,
        blockSkip,
        ...(fixture?.usable === true ? { fixture } : {}),
      });
      const a: Run = yield* runProgram(input(main, host));
      const b: Run = yield* runProgram(input(mainAfter, changed));
      if (!sameMotion(a, b)) return say("format.motion");
    }
  }
  return undefined;
}
