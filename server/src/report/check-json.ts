import type { Finding } from "../engine/findings.js";
import type { Analysis } from "../engine/program.js";
import type { Visit } from "../engine/visits.js";
import { deepestCut, leastClearances } from "./certificates.js";
import type { ProgramReport, ReportContext } from "./program-report.js";
import { countedFromOne, isUnreadable, jsonNumber, relatedOf, sortedFindings, stationId, visitPlace } from "./program-report.js";
import { say } from "./texts.js";

/** What else `check --format json` shows. */
export interface CheckJsonOptions {
  /** Adds `least` to every visit, the least clearance to each kind of solid, and `deepest`, the greatest depth of cut, where it cuts. */
  readonly explain: boolean;
  spellOffset(analysis: Analysis, key: string): string;
}

/** The answer of `check --format json` as a value; version 1 of the shape. Lengths in mm, times in seconds. */
export function checkJson(reports: readonly ProgramReport[], cx: ReportContext, options: CheckJsonOptions): object {
  return { version: 1, programs: reports.map((report) => programJson(report, cx, options)) };
}

function programJson(report: ProgramReport, cx: ReportContext, options: CheckJsonOptions): object {
  const { program, result } = report;
  if (isUnreadable(result)) {
    const notChecked = [{ what: say("whole-program"), why: result.problem }];
    return { program, fixture: null, complete: false, findings: [], visits: [], notChecked };
  }
  const words = cx.wordsOf(result);
  return {
    program,
    fixture: result.fixtureFile === undefined ? null : cx.shownFile(result.fixtureFile),
    complete: result.complete,
    findings: sortedFindings(result).map((finding) => findingJson(finding, result, cx)),
    visits: result.run.visits.map((visit) => visitJson(visit, result, cx, options)),
    notChecked: result.notChecked.map((item) => words.notChecked(item)),
  };
}

function findingJson(finding: Finding, analysis: Analysis, cx: ReportContext): object {
  const words = cx.wordsOf(analysis);
  return {
    rule: finding.rule,
    level: finding.level,
    message: words.finding(finding),
    file: cx.shownFile(finding.place.file),
    ...countedFromOne(finding.place.range),
    ...(finding.station === undefined ? {} : { station: finding.station }),
    related: relatedOf(finding).map((related) => {
      const { line, column } = countedFromOne(related.place.range);
      return { file: cx.shownFile(related.place.file), line, column, message: words.related(finding, related) };
    }),
    ...(finding.data === undefined ? {} : { data: finding.data }),
    ...(finding.waived === undefined ? {} : { waived: finding.waived }),
  };
}

function visitJson(visit: Visit, analysis: Analysis, cx: ReportContext, options: CheckJsonOptions): object {
  const { file, line } = visitPlace(analysis, visit);
  return {
    tool: jsonNumber(visit.tool),
    offset: options.spellOffset(analysis, visit.offset),
    station: stationId(analysis.fixture, visit.station) ?? null,
    ...(file === analysis.program ? {} : { file: cx.shownFile(file) }),
    line,
    seconds: jsonNumber(visit.seconds),
    moves: visit.moves,
    ...(options.explain ? explainJson(visit, analysis, cx) : {}),
  };
}

function explainJson(visit: Visit, analysis: Analysis, cx: ReportContext): object {
  const cut = deepestCut(analysis, visit);
  const deepest =
    cut === undefined
      ? {}
      : {
          deepest: {
            depth: jsonNumber(cut.depth),
            grid: jsonNumber(cut.grid),
            ...(cut.file === analysis.program ? {} : { file: cx.shownFile(cut.file) }),
            line: cut.line,
          },
        };
  return { least: leastClearances(analysis, visit).map((c) => leastJson(c, analysis, cx)), ...deepest };
}

function leastJson(least: ReturnType<typeof leastClearances>[number], analysis: Analysis, cx: ReportContext): object {
  return {
    solid: least.solid,
    station: least.station ?? null,
    distance: jsonNumber(least.distance),
    part: least.part,
    ...(least.file === analysis.program ? {} : { file: cx.shownFile(least.file) }),
    line: least.line,
    at: least.at.map(jsonNumber),
  };
}
