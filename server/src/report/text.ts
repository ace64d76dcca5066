import type { Finding, Level } from "../engine/findings.js";
import type { Analysis } from "../engine/program.js";
import { deepestCut, leastClearances, uncheckedMoves } from "./certificates.js";
import { lengthText, tableText } from "./plain-table.js";
import type { ProgramReport, ReportContext } from "./program-report.js";
import { countedFromOne, isComplete, isUnreadable, relatedOf, sortedFindings, stationId, visitOpening } from "./program-report.js";
import { reportTexts, say, solidName } from "./texts.js";

/** What the reader of `check`'s text wants. */
export interface TextOptions {
  readonly colour: boolean;
  /** Adds the least clearances of every visit. */
  readonly explain: boolean;
  spellOffset(analysis: Analysis, key: string): string;
}

/** Said in every report, since people act on it. */
export const CAUTION = reportTexts.caution[0];

/** Places that belong to a finding and are shown at most: more than the stations of a large fixture. */
const SHOWN_PLACES = 50;

/** Columns of a source line that are shown at most. */
const SHOWN_COLUMNS = 110;

type Paint = (style: Level | "quiet" | "strong" | "good", text: string) => string;

const STYLES = { error: "31;1", warning: "33;1", information: "36;1", quiet: "2", strong: "1", good: "32;1" } as const;

/** The answer of `check` for a person. Ends with a line that counts, and says whether everything was looked at. */
export function checkText(reports: readonly ProgramReport[], cx: ReportContext, options: TextOptions): string {
  const paint: Paint = (style, text) => (options.colour ? `\u001b[${STYLES[style]}m${text}\u001b[0m` : text);
  const parts = reports.map((report) => programText(report, cx, options, paint));
  return `${parts.join("\n")}${parts.length === 0 ? "" : "\n"}${closingText(reports, paint)}\n${paint("quiet", say("caution"))}\n`;
}

function programText(report: ProgramReport, cx: ReportContext, options: TextOptions, paint: Paint): string {
  const { result } = report;
  if (isUnreadable(result))
    return `${paint("strong", printable(report.program))}: ${paint("error", say("not-checked"))}: ${result.problem}\n`;
  const findings = sortedFindings(result);
  const open = findings.filter((finding) => finding.waived === undefined);
  const waived = findings.filter((finding) => finding.waived !== undefined);
  const sections = [headText(report, result, cx, paint)];
  for (const finding of open) sections.push(findingText(finding, result, cx, paint));
  if (waived.length > 0) {
    const lines = waived.map((finding) => waivedText(finding, result, cx));
    sections.push(`${paint("strong", say("waived-head"))}\n${lines.join("")}`);
  }
  if (options.explain) sections.push(explainText(result, cx, options, paint));
  if (result.notChecked.length > 0) sections.push(notCheckedText(result, cx, paint));
  return sections.join("\n");
}

/** Which program beside which sidecar. */
function headText(report: ProgramReport, analysis: Analysis, cx: ReportContext, paint: Paint): string {
  const dialect = analysis.profile.name;
  const beside =
    analysis.fixtureFile === undefined
      ? say("without-sidecar", { dialect })
      : say("with-sidecar", { file: printable(cx.shownFile(analysis.fixtureFile)), dialect });
  return `${paint("strong", printable(report.program))} ${beside}\n`;
}

/** A finding with its source line, the places that belong to it below. */
function findingText(finding: Finding, analysis: Analysis, cx: ReportContext, paint: Paint): string {
  const words = cx.wordsOf(analysis);
  const place = countedFromOne(finding.place.range);
  const head = `${printable(cx.shownFile(finding.place.file))}:${place.line}:${place.column}: `;
  const message = printable(words.finding(finding));
  let text = `${head}${paint(finding.level, finding.level)}: ${message} ${paint("quiet", `[${finding.rule}]`)}\n`;
  text += sourceText(finding, cx, paint);
  const places = relatedOf(finding);
  const shown = places.length > SHOWN_PLACES + 1 ? places.slice(0, SHOWN_PLACES) : places;
  for (const related of shown) {
    const at = countedFromOne(related.place.range);
    text += `    ${printable(cx.shownFile(related.place.file))}:${at.line}:${at.column}: ${printable(words.related(finding, related))}\n`;
  }
  if (shown.length < places.length) text += `    ${say("more-places", { count: places.length - shown.length })}\n`;
  return text;
}

function waivedText(finding: Finding, analysis: Analysis, cx: ReportContext): string {
  const { line, column } = countedFromOne(finding.place.range);
  const message = printable(cx.wordsOf(analysis).finding(finding));
  const reason = printable(finding.waived ?? "");
  return `    ${printable(cx.shownFile(finding.place.file))}:${line}:${column}: ${message} [${finding.rule}] ${say("waived", { reason })}\n`;
}

/** The line of the finding with the place underlined; a long line is cut around the place. */
function sourceText(finding: Finding, cx: ReportContext, paint: Paint): string {
  const { range } = finding.place;
  const full = cx.linesOf(finding.place.file)?.[range.line];
  if (full === undefined || full.trim() === "") return "";
  const endOfSpan = range.endLine > range.line ? full.length : range.endColumn;
  const from = range.column > SHOWN_COLUMNS - 20 ? range.column - 20 : 0;
  const to = Math.min(full.length, from + SHOWN_COLUMNS);
  const before = full.slice(from, Math.max(from, Math.min(range.column, to)));
  const span = full.slice(from + before.length, Math.max(from + before.length, Math.min(endOfSpan, to)));
  const after = full.slice(from + before.length + span.length, to);
  const number = String(range.line + 1).padStart(6);
  const lead = from > 0 ? "…" : "";
  const tail = to < full.length ? "…" : "";
  const shown = `${lead}${printable(before)}${printable(span)}${printable(after)}${tail}`;
  // A tab stays a tab below a tab, so that the underline stands where the terminal puts the text.
  const under = `${lead === "" ? "" : " "}${columnsOf(before)}`;
  const mark = "^".repeat(Math.max(1, columnsOf(span).length));
  return `${paint("quiet", `${number} |`)} ${shown}\n${paint("quiet", "       |")} ${under}${paint(finding.level, mark)}\n`;
}

/** Blanks as wide as the text, one for each character as a terminal counts them, tabs kept. */
function columnsOf(text: string): string {
  let out = "";
  for (const character of printable(text)) {
    if (character === "\t") out += "\t";
    else if (!/\p{Mark}/u.test(character)) out += isWide(character) ? "  " : " ";
  }
  return out;
}

/** East Asian wide and emoji characters take two columns of a terminal. */
function isWide(character: string): boolean {
  return /[\u1100-\u115f\u2e80-\ua4cf\uac00-\ud7a3\uf900-\ufaff\ufe30-\ufe6f\uff00-\uff60\uffe0-\uffe6]|\p{Emoji_Presentation}/u.test(
    character,
  );
}

/** Text without control characters other than the tab, which in a terminal could do anything. */
export function printable(text: string): string {
  return text.replace(/[\p{Cc}\u2028\u2029\u202a-\u202e\u2066-\u2069]/gu, (c) => (c === "\t" ? "\t" : "\ufffd"));
}

/** The least clearances and the deepest cut of every visit: a clean result is a table of numbers. */
function explainText(analysis: Analysis, cx: ReportContext, options: TextOptions, paint: Paint): string {
  const units = analysis.fixture?.units ?? "mm";
  const text = `${paint("strong", say("least-head", { units }))}\n`;
  if (analysis.run.visits.length === 0) return `${text}    ${say("no-visit")}\n`;
  if (analysis.clearances === undefined) return `${text}    ${say("no-sidecar")}\n`;
  const lineAt = (at: { readonly file: string; readonly line: number }): string =>
    at.file === analysis.program ? say("line", { line: at.line }) : `${cx.shownFile(at.file)}:${at.line}`;
  const rows: string[][] = [];
  const cuts: string[][] = [];
  for (const visit of analysis.run.visits) {
    const tool = Number.isFinite(visit.tool) ? `T${visit.tool}` : "T?";
    const station = stationId(analysis.fixture, visit.station) ?? "-";
    const lead = [lineAt(visitOpening(analysis, visit)), tool, options.spellOffset(analysis, visit.offset), station];
    let first = true;
    const row = (...cells: string[]) => {
      rows.push([...(first ? lead : ["", "", "", ""]), ...cells]);
      first = false;
    };
    for (const least of leastClearances(analysis, visit)) {
      const name = solidName(least.solid);
      const solid = least.station === undefined ? name : say("of-station", { solid: name, station: least.station });
      row(solid, lengthText(least.distance, units), say(`part.${least.part}`), lineAt(least));
    }
    for (const [reason, { moves, line: at }] of uncheckedMoves(analysis, visit)) {
      const count = say(moves === 1 ? "move-unchecked" : "moves-unchecked", { count: moves });
      row(count, "-", "-", say("from-line", { line: at, reason: cx.wordsOf(analysis).reason(reason) }));
    }
    if (first) row(say("no-measure"), "-", "-", "-");
    const cut = deepestCut(analysis, visit);
    if (cut !== undefined)
      cuts.push([...lead, lengthText(cut.depth, units), lengthText(cut.cuttingPart, units), lengthText(cut.grid, units), lineAt(cut)]);
  }
  const visitHead = [say("head.visit"), say("head.tool"), say("head.offset"), say("head.station")];
  const table = (head: readonly string[], cells: readonly (readonly string[])[]): string =>
    tableText(
      [...visitHead, ...head],
      cells.map((row) => row.map(printable)),
    )
      .split("\n")
      .map((l) => (l === "" ? "" : `    ${l}`))
      .join("\n");
  const clearances = text + table([say("head.nearest"), say("head.least"), say("head.part-of-tool"), say("head.block")], rows);
  if (cuts.length === 0) return clearances;
  const head = `${paint("strong", say("deepest-head", { units }))}\n`;
  const note = `    ${say("deepest-note")}\n`;
  return `${clearances}\n${head}${table([say("head.depth"), say("head.cutting-part"), say("head.grid"), say("head.block")], cuts)}${note}`;
}

function notCheckedText(analysis: Analysis, cx: ReportContext, paint: Paint): string {
  const words = cx.wordsOf(analysis);
  const lines = analysis.notChecked.map((item) => {
    const { what, why } = words.notChecked(item);
    return `    ${printable(what)}: ${printable(why)}\n`;
  });
  return `${paint("strong", say("not-checked-head"))}\n${lines.join("")}`;
}

/** How many programs, visits and findings, and whether everything was looked at. Never a clean bill for half a look. */
function closingText(reports: readonly ProgramReport[], paint: Paint): string {
  const analyses = reports.flatMap((report) => (isUnreadable(report.result) ? [] : [report.result]));
  const findings = analyses.flatMap((analysis) => analysis.findings);
  const open = findings.filter((finding) => finding.waived === undefined);
  const waived = findings.length - open.length;
  const notChecked = analyses.reduce((sum, analysis) => sum + analysis.notChecked.length, 0);
  const visits = analyses.reduce((sum, analysis) => sum + analysis.run.visits.length, 0);
  const incomplete = reports.filter((report) => !isComplete(report)).length;
  const levels = (["error", "warning", "information"] as const)
    .map((level) => ({ level, count: open.filter((finding) => finding.level === level).length }))
    .filter(({ count }) => count > 0)
    .map(({ level, count }) => paint(level, say(count === 1 ? `one.${level}` : `${level}s`, { count })));
  const everything = incomplete === 0 && notChecked === 0;
  const nothing = everything ? paint("good", say("no-findings")) : say("no-findings-so-far");
  const programs = say(reports.length === 1 ? "one.program" : "programs", { count: reports.length });
  const parts = [
    programs,
    say(visits === 1 ? "one.visit" : "visits", { count: visits }),
    levels.length === 0 ? nothing : levels.join(", "),
  ];
  if (waived > 0) parts.push(say("waived-count", { count: waived }));
  if (notChecked > 0) parts.push(paint("warning", say(notChecked === 1 ? "thing-unchecked" : "things-unchecked", { count: notChecked })));
  const state =
    incomplete > 0
      ? paint("error", reports.length === 1 ? say("incomplete") : say("incomplete-of", { count: incomplete, all: reports.length }))
      : say("complete");
  return `${parts.join(", ")}; ${state}.`;
}
