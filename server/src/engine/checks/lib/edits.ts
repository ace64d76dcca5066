import type { Fix, TextChange } from "../../findings.js";
import type { Step } from "../../machine/run.js";
import type { Source, Word } from "../../syntax/block.js";
import { sourceOf } from "../context.js";
import type { RuleContext } from "../rule.js";
import { decimal } from "../wording.js";

/** How a program is written, as its own blocks show. */
interface Habits {
  /** G00 and M03 rather than G0 and M3. */
  readonly padded: boolean;
  readonly lowerCase: boolean;
  /** A space between words. */
  readonly spaced: boolean;
  /** Whole coordinates have their decimal point. */
  readonly point: boolean;
}

const habitsKnown = new WeakMap<Source, Habits>();

/** The majority decides; where nothing tells, the form that this project's own texts have. */
function habitsOf(source: Source): Habits {
  const held = habitsKnown.get(source);
  if (held !== undefined) return held;
  const votes = { padded: 0, lowerCase: 0, spaced: 0, point: 0 };
  source.blocks.forEach((block, n) => {
    const line = source.lines[n] as string;
    block.words.forEach((word, k) => {
      const text = line.slice(word.start, word.end);
      if (/^[GM]0\d$/i.test(text)) votes.padded++;
      else if (/^[GM]\d$/i.test(text)) votes.padded--;
      votes.lowerCase += /^[a-z]/.test(text) ? 1 : -1;
      const next = block.words[k + 1];
      if (next !== undefined) votes.spaced += next.start > word.end ? 1 : -1;
      if (/^[XYZIJKR][-+]?\d+\.?$/i.test(text)) votes.point += text.endsWith(".") ? 1 : -1;
    });
  });
  const habits = { padded: votes.padded > 0, lowerCase: votes.lowerCase > 0, spaced: votes.spaced >= 0, point: votes.point >= 0 };
  habitsKnown.set(source, habits);
  return habits;
}

/** Words, one space between them, in the form that the program of a step has: case, leading zeros, spaces, points. */
export function inHabit(cx: RuleContext, step: Step, text: string): string {
  const habits = habitsOf(sourceOf(cx.run, step));
  const words = text.split(" ").map((word) => {
    if (!/^[A-Z][-+]?(?:\d+\.?\d*|\.\d+)$/.test(word)) return word;
    let out = habits.padded ? word.replace(/^([GM])(\d)$/, "$10$2") : word;
    // A whole number without its point is the same number only where the control counts in units.
    if (!habits.point && cx.profile.wholeNumber === "unit" && /^[XYZABCIJKR]/.test(out)) out = out.replace(/\.$/, "");
    return habits.lowerCase ? out.toLowerCase() : out;
  });
  return words.join(habits.spaced ? " " : "");
}

/** A length as a program writes it: with a decimal point always, three decimals in mm, four in inch. */
export function programNumber(mm: number, units: "mm" | "inch"): string {
  return withPoint(units === "mm" ? decimal(mm, 3) : decimal(mm / 25.4, 4));
}

/** An angle as a program writes it. */
export function programAngle(degrees: number): string {
  return withPoint(decimal(degrees, 3));
}

function withPoint(text: string): string {
  return text.includes(".") ? text : `${text}.`;
}

/** The line in which the block of a step stands. */
function lineOf(cx: RuleContext, step: Step): string {
  return sourceOf(cx.run, step).lines[step.block.line] as string;
}

/** What stands before the words of a block that is put beside the block of a step: its indent and its block skip. */
function leadOf(cx: RuleContext, step: Step): string {
  const line = lineOf(cx, step);
  const { skip, skipFrom, start } = step.block;
  const indent = line.slice(0, start);
  if (skip === undefined || skipFrom !== undefined) return indent;
  return indent + (/^\/[1-9]?[ \t]*/.exec(line.slice(start))?.[0] ?? `/${skip === 0 ? "" : skip} `);
}

/** A block of its own before the block of a step, in the program's habit, skipped where that block is. */
export function blockBefore(cx: RuleContext, step: Step, text: string): TextChange {
  const { line } = step.block;
  const place = { file: sourceOf(cx.run, step).file, range: { line, column: 0, endLine: line, endColumn: 0 } };
  return { place, text: `${leadOf(cx, step)}${inHabit(cx, step, text)}\n` };
}

/** A block of its own behind the block of a step, in the program's habit; undefined behind the last line. */
export function blockAfter(cx: RuleContext, step: Step, text: string): TextChange | undefined {
  const source = sourceOf(cx.run, step);
  const line = step.block.line + 1;
  if (line >= source.lines.length) return undefined;
  const place = { file: source.file, range: { line, column: 0, endLine: line, endColumn: 0 } };
  return { place, text: `${leadOf(cx, step)}${inHabit(cx, step, text)}\n` };
}

/** Text put into the block of a step at a column, as it is. */
export function insertAt(cx: RuleContext, step: Step, column: number, text: string): TextChange {
  return { place: cx.place(step, { start: column, end: column }), text };
}

/** Words put into the block of a step before the word that begins at a column, in the program's habit. */
export function wordsBefore(cx: RuleContext, step: Step, column: number, text: string): TextChange {
  const { spaced } = habitsOf(sourceOf(cx.run, step));
  return insertAt(cx, step, column, `${inHabit(cx, step, text)}${spaced ? " " : ""}`);
}

/** Words put into the block of a step behind the word that ends at a column, in the program's habit. */
export function wordsAfter(cx: RuleContext, step: Step, column: number, text: string): TextChange {
  const { spaced } = habitsOf(sourceOf(cx.run, step));
  return insertAt(cx, step, column, `${spaced ? " " : ""}${inHabit(cx, step, text)}`);
}

/** Takes a word out of the block of a step, with the space before it, or behind it where it is the first of its block. */
export function without(cx: RuleContext, step: Step, word: Word): TextChange {
  const line = lineOf(cx, step);
  const isFirst = step.block.words[0] === word;
  const start = isFirst ? word.start : line.slice(0, word.start).trimEnd().length;
  const end = isFirst ? line.length - line.slice(word.end).trimStart().length : word.end;
  return { place: cx.place(step, { start, end }), text: "" };
}

/** The words of a block anew, each as `text` gives it or left out where that is undefined; what stands between kept words stays. Undefined where a comment stands among them. */
export function rewritten(cx: RuleContext, step: Step, text: (word: Word) => string | undefined): TextChange | undefined {
  const { words, comments } = step.block;
  const [first] = words;
  const last = words.at(-1);
  if (first === undefined || last === undefined || comments.some((c) => c.start > first.start && c.start < last.end)) return undefined;
  const line = lineOf(cx, step);
  let out = "";
  words.forEach((word, n) => {
    const put = text(word);
    if (put === undefined) return;
    if (out !== "") out += line.slice((words[n - 1] as Word).end, word.start);
    out += put;
  });
  return { place: cx.place(step, { start: first.start, end: last.end }), text: out };
}

/** Remembers what a rule offers at a block, which is the same however often the block is passed and found at fault. */
export function fixesByBlock(): (step: Step, make: () => Fix[], variant?: string) => readonly Fix[] {
  const known = new Map<string, readonly Fix[]>();
  return (step, make, variant = "") => {
    const key = `${step.source}:${step.block.line} ${variant}`;
    const held = known.get(key);
    if (held !== undefined) return held;
    const made = make();
    known.set(key, made);
    return made;
  };
}
