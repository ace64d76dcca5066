import { spellOffset } from "../dialect/offsets.js";
import type { Profile } from "../dialect/profile.js";
import type { Message, NotChecked, Note } from "../findings.js";
import type { Fixture } from "../fixture/model.js";
import type { Run, Step } from "../machine/run.js";
import type { Block, Source, Word } from "../syntax/block.js";
import type { Place } from "../text/place.js";
import type { Clearances, Report, Rule, RuleContext } from "./rule.js";

/** What a rule reported, with the run it looked at. */
export interface RawReport {
  readonly rule: Rule;
  readonly report: Report;
  readonly run: Run;
}

/** One run and what goes with it, as the rules see it. */
export interface Subject {
  readonly run: Run;
  readonly fixture: Fixture | undefined;
  readonly profile: Profile;
  readonly clearances: Clearances | undefined;
  readonly blockSkip: boolean;
  readonly skippedRun: Run | undefined;
  readonly entry: "main" | "part" | "subprogram";
  readonly notes: readonly Note[];
}

/** The source a step's block stands in. */
export function sourceOf(run: Run, step: Step): Source {
  const source = run.sources[step.source];
  if (source === undefined) throw new Error(`step names source ${step.source} of ${run.sources.length}`);
  return source;
}

/** The whole block of a step without leading and trailing white space. */
export function blockPlaceOf(run: Run, step: Step): Place {
  const { line, start, end } = step.block;
  return { file: sourceOf(run, step).file, range: { line, column: start, endLine: line, endColumn: end } };
}

/** The value that a word had when its step ran; NaN unknown. */
export function wordValue(step: Step, word: Word): number {
  if (step.values === undefined) return word.value;
  const index = step.block.words.indexOf(word);
  return index < 0 ? word.value : (step.values[index] ?? Number.NaN);
}

/** Codes such as "G54.1" as letter and number; asked for at every block, so they are taken apart once. */
const codes = new Map<string, { readonly letter: string; readonly value: number } | undefined>();

function codeParts(text: string): { readonly letter: string; readonly value: number } | undefined {
  if (text.length === 1) return undefined;
  const held = codes.get(text);
  if (held !== undefined || codes.has(text)) return held;
  const match = /^([A-Z])(\d+(?:\.\d+)?)$/.exec(text);
  const parts = match === null ? undefined : { letter: match[1] as string, value: Number(match[2]) };
  codes.set(text, parts);
  return parts;
}

/** Addresses that hand nothing to a macro: with them a block that calls one says what is called, and how often. */
const NO_ARGUMENT = "GLNOP";

/** Whether a block calls a macro, so that most of its words are arguments: they move nothing and set no state by themselves. */
function callsMacro(block: Block): boolean {
  return block.words.some((w) => w.letter === "G" && (w.value === 65 || Math.floor(w.value) === 66));
}

/** The words of a block that the control itself acts on: all but the arguments of a macro (G65, G66). */
export function actingWords(block: Block): readonly Word[] {
  return callsMacro(block) ? block.words.filter((w) => NO_ARGUMENT.includes(w.letter)) : block.words;
}

/**
 * The first word of a block with a letter, or with a code such as "G54.1" (no leading zeros). The arguments of a macro are not
 * among them: the H of `G65 P9 H3` is a number for the macro and selects no length.
 */
export function findWord(step: Step, letterOrCode: string): Word | undefined {
  const code = codeParts(letterOrCode);
  for (const word of step.block.words) {
    // A code is compared with a little room, since 54.1 may come out of an expression.
    const found =
      code === undefined
        ? word.letter === letterOrCode
        : word.letter === code.letter && Math.abs(wordValue(step, word) - code.value) < 1e-6;
    if (found) return NO_ARGUMENT.includes(word.letter) || !callsMacro(step.block) ? word : undefined;
  }
  return undefined;
}

/** A context for one rule over one run. `seen` is told of each step the rule asks about, for the internal error report. */
export function createContext(
  rule: Rule,
  subject: Subject,
  out: { reports: RawReport[]; notChecked: NotChecked[] },
  seen: (step: Step) => void,
): RuleContext {
  const { run, fixture, profile } = subject;
  const own = (message: Message): Message =>
    rule.messages[message.key] === undefined ? message : { key: `${rule.id}/${message.key}`, args: message.args };
  return {
    ...subject,
    report(report) {
      out.reports.push({ rule, report, run });
    },
    notChecked(what, why) {
      out.notChecked.push({ what: own(what), why: own(why) });
    },
    place(step, span) {
      seen(step);
      if (span === undefined) return blockPlaceOf(run, step);
      const { line } = step.block;
      return { file: sourceOf(run, step).file, range: { line, column: span.start, endLine: line, endColumn: span.end } };
    },
    blockPlace(step) {
      seen(step);
      return blockPlaceOf(run, step);
    },
    word(step, letter) {
      seen(step);
      return findWord(step, letter);
    },
    value: wordValue,
    stationOf(move) {
      return fixture?.stations[move.station];
    },
    offsetName(key) {
      return fixture?.offsetName(key) ?? spellOffset(key, profile);
    },
  };
}
