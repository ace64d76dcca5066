import type { Finding, Message, NotChecked, Note, Related } from "../engine/findings.js";
import type { Fixture } from "../engine/fixture/model.js";
import type { Analysis } from "../engine/program.js";
import type { Range } from "../engine/text/place.js";
import type { Visit } from "../engine/visits.js";

/** One program of a check as the reports show it. */
export interface ProgramReport {
  /** As the person named it. */
  readonly program: string;
  readonly result: Analysis | Unreadable;
}

/** A program that could not be read at all, with the reason in words. */
export interface Unreadable {
  readonly problem: string;
}

/** How engine messages become text: lengths in the units of the sidecar at hand. */
export interface Words {
  finding(finding: Finding): string;
  related(finding: Finding, related: Related): string;
  note(note: Note): string;
  notChecked(item: NotChecked): { readonly what: string; readonly why: string };
  /** The reason why a move was not checked, by the key that the clearance pass gives. */
  reason(key: string): string;
}

/** What every report is given beside the programs. */
export interface ReportContext {
  /** How a file is named in the report, from the engine's absolute path. */
  shownFile(file: string): string;
  /** The lines of a file, to show the place of a finding; undefined where it cannot be read. */
  linesOf(file: string): readonly string[] | undefined;
  wordsOf(analysis: Analysis): Words;
}

export type { Message };

/** True for a program of which nothing is known. */
export function isUnreadable(result: Analysis | Unreadable): result is Unreadable {
  return "problem" in result;
}

/** True when everything that was asked for was looked at. */
export function isComplete(report: ProgramReport): boolean {
  return !isUnreadable(report.result) && report.result.complete;
}

/** Findings in the order in which a person reads them: the program itself first, then other files; by place within each. */
export function sortedFindings(analysis: Analysis): readonly Finding[] {
  const rank = (file: string) => (file === analysis.program ? "" : file);
  return [...analysis.findings].sort((a, b) => {
    const fileA = rank(a.place.file);
    const fileB = rank(b.place.file);
    if (fileA !== fileB) return fileA < fileB ? -1 : 1;
    return a.place.range.line - b.place.range.line || a.place.range.column - b.place.range.column;
  });
}

/** The places that belong to a finding, each said once: a recursion calls from one place many times. */
export function relatedOf(finding: Finding): readonly Related[] {
  const seen = new Set<string>();
  return finding.related.filter((related) => {
    const key = JSON.stringify(related);
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
}

/** A range as people and JSON count: lines and columns from 1, columns in UTF-16 units, the end exclusive. */
export function countedFromOne(range: Range): { line: number; column: number; endLine: number; endColumn: number } {
  return { line: range.line + 1, column: range.column + 1, endLine: range.endLine + 1, endColumn: range.endColumn + 1 };
}

/** A number for JSON: six decimals, no negative zero, null where it is not known or has no bound. */
export function jsonNumber(value: number | undefined): number | null {
  if (value === undefined || !Number.isFinite(value)) return null;
  const rounded = Math.round(value * 1e6) / 1e6;
  return rounded === 0 ? 0 : rounded;
}

/** Station id of an index, undefined for -1. */
export function stationId(fixture: Fixture | undefined, index: number): string | undefined {
  return fixture?.stations[index]?.id;
}

/** Line, from 1, of the block with which a visit's motion begins, and its file. */
export function visitPlace(analysis: Analysis, visit: Visit): { readonly file: string; readonly line: number } {
  const step = analysis.run.steps[visit.firstStep];
  const source = step === undefined ? undefined : analysis.run.sources[step.source];
  return { file: source?.file ?? analysis.program, line: (step?.block.line ?? 0) + 1 };
}

/** The main program's block that leads to a visit, line from 1: where a person looks for it when subprograms do the moving. */
export function visitOpening(analysis: Analysis, visit: Visit): { readonly file: string; readonly line: number } {
  const { steps, sources } = analysis.run;
  let step = steps[visit.openedBy >= 0 ? visit.openedBy : visit.firstStep];
  while (step !== undefined && step.call.caller >= 0) step = steps[step.call.caller];
  const source = step === undefined ? undefined : sources[step.source];
  return { file: source?.file ?? analysis.program, line: (step?.block.line ?? 0) + 1 };
}
