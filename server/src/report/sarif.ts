import type { Level } from "../engine/findings.js";
import type { Range } from "../engine/text/place.js";
import type { ProgramReport, ReportContext } from "./program-report.js";
import { countedFromOne, isComplete, isUnreadable, relatedOf, sortedFindings } from "./program-report.js";
import { say, told } from "./texts.js";

/** What SARIF wants to know of a rule. */
export interface SarifRule {
  readonly id: string;
  readonly level: Level;
  readonly summary: string;
}

/** Who made the report. */
export interface SarifTool {
  readonly version: string;
  /** In the order in which results point to them. */
  readonly rules: readonly SarifRule[];
}

/** Levels as OASIS SARIF 2.1.0, 3.27.10, names them. */
const LEVELS = { error: "error", warning: "warning", information: "note" } as const;

/**
 * One run of SARIF 2.1.0 (OASIS Standard, 27 March 2020) with the findings of all programs. Columns count UTF-16 code
 * units, as everywhere else. What was not checked is told as notifications of the invocation.
 */
export function checkSarif(reports: readonly ProgramReport[], cx: ReportContext, tool: SarifTool): object {
  const indexOf = new Map(tool.rules.map((rule, i) => [rule.id, i]));
  return {
    $schema: "https://docs.oasis-open.org/sarif/sarif/v2.1.0/errata01/os/schemas/sarif-schema-2.1.0.json",
    version: "2.1.0",
    runs: [
      {
        tool: {
          driver: {
            name: "Jawline",
            version: tool.version,
            rules: tool.rules.map((rule) => ({
              id: rule.id,
              shortDescription: { text: told(rule.summary) },
              defaultConfiguration: { level: LEVELS[rule.level] },
            })),
          },
        },
        columnKind: "utf16CodeUnits",
        invocations: [{ executionSuccessful: reports.every(isComplete), toolExecutionNotifications: notifications(reports, cx) }],
        artifacts: reports.map((report) => ({ location: { uri: uriOf(report.program) } })),
        results: reports.flatMap((report) => results(report, cx, indexOf)),
      },
    ],
  };
}

function results(report: ProgramReport, cx: ReportContext, indexOf: ReadonlyMap<string, number>): object[] {
  const analysis = report.result;
  if (isUnreadable(analysis)) return [];
  const words = cx.wordsOf(analysis);
  return sortedFindings(analysis).map((finding) => {
    const ruleIndex = indexOf.get(finding.rule);
    return {
      ruleId: finding.rule,
      ...(ruleIndex === undefined ? {} : { ruleIndex }),
      level: LEVELS[finding.level],
      message: { text: words.finding(finding) },
      locations: [location(cx.shownFile(finding.place.file), finding.place.range)],
      ...(finding.related.length === 0
        ? {}
        : {
            relatedLocations: relatedOf(finding).map((related, id) => ({
              id,
              ...location(cx.shownFile(related.place.file), related.place.range),
              message: { text: words.related(finding, related) },
            })),
          }),
      ...(finding.waived === undefined ? {} : { suppressions: [{ kind: "inSource", justification: finding.waived }] }),
      ...(finding.station === undefined ? {} : { properties: { station: finding.station } }),
    };
  });
}

function notifications(reports: readonly ProgramReport[], cx: ReportContext): object[] {
  return reports.flatMap((report) => {
    const locations = [{ physicalLocation: { artifactLocation: { uri: uriOf(report.program) } } }];
    const { result } = report;
    if (isUnreadable(result)) return [{ level: "error", message: { text: say("sarif.not-checked", { why: result.problem }) }, locations }];
    const words = cx.wordsOf(result);
    const items = result.notChecked.map((item) => {
      const { what, why } = words.notChecked(item);
      return { level: "warning", message: { text: say("sarif.not-checked", { why: `${what}: ${why}` }) }, locations };
    });
    if (result.complete) return items;
    return [{ level: "error", message: { text: say("sarif.no-end") }, locations }, ...items];
  });
}

function location(file: string, range: Range): object {
  const { line, column, endLine, endColumn } = countedFromOne(range);
  return {
    physicalLocation: {
      artifactLocation: { uri: uriOf(file) },
      region: { startLine: line, startColumn: column, endLine, endColumn },
    },
  };
}

/** A URI reference of a shown path (RFC 3986): relative paths stay relative, absolute ones become file URIs. */
export function uriOf(path: string): string {
  const encoded = path
    .replace(/\\/g, "/")
    .split("/")
    .map((part) => encodeURIComponent(part))
    .join("/");
  if (/^[A-Za-z]%3A\//.test(encoded)) return `file:///${encoded.replace("%3A", ":")}`;
  return encoded.startsWith("/") ? `file://${encoded}` : encoded;
}
