import type { Finding, Level, LevelSetting, NotChecked, Related } from "../findings.js";
import type { Run } from "../machine/run.js";
import type { Place } from "../text/place.js";
import type { Allow } from "./allow.js";
import { blockPlaceOf, type RawReport } from "./context.js";
import type { Report } from "./rule.js";

const WEIGHT: Readonly<Record<Level, number>> = { error: 3, warning: 2, information: 1 };

/** Level of a rule: its own, else the editor's, else the sidecar's, the later winning. */
export type LevelOf = (rule: string) => LevelSetting | undefined;

/**
 * Turns what the rules reported into findings: applies levels, adds the calls that led to a block of a called program,
 * folds repeats at one place into one, and lets ALLOW comments waive. Marks the allows it used. Sorted.
 */
export function finish(raw: readonly RawReport[], levelOf: LevelOf, allows: readonly Allow[], used: Set<Allow>): Finding[] {
  const groups = new Map<string, Finding[]>();
  for (const item of raw) {
    const setting = levelOf(item.rule.id);
    const finding = toFinding(item, setting);
    const allow = allows.find((a) => a.rules.includes(finding.rule) && covers(a, finding.place));
    if (allow !== undefined) used.add(allow);
    if (setting === "off") continue;
    const waived = allow?.reason === undefined ? finding : { ...finding, level: "information" as const, waived: allow.reason };
    const key = `${waived.rule}\n${placeKey(waived.place)}`;
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [waived]);
    else group.push(waived);
  }
  return sortFindings([...groups.values()].map(foldGroup));
}

function toFinding({ rule, report, run }: RawReport, setting: LevelSetting | undefined): Finding {
  const own = report.level ?? rule.level;
  // A level that the rule itself chose for the case at hand (a cut into a soft jaw) is not raised by a setting.
  const level = setting === undefined || setting === "off" || report.level !== undefined ? own : setting;
  return {
    rule: rule.id,
    level,
    message: { key: report.key ?? "default", args: report.args },
    place: report.at,
    station: report.station,
    related: [...(report.related ?? []), ...callers(run, report)],
    data: report.data,
    fixes: report.fixes ?? [],
    waived: undefined,
  };
}

/** The calls that led to the reported step, innermost first. */
function callers(run: Run, report: Report): Related[] {
  const out: Related[] = [];
  let step = report.step === undefined || report.step < 0 ? undefined : run.steps[report.step];
  while (step !== undefined && step.call.caller >= 0 && out.length < 8) {
    const caller = run.steps[step.call.caller];
    if (caller === undefined || caller === step) break;
    out.push({ place: blockPlaceOf(run, caller), message: { key: "related.called-from", args: {} } });
    step = caller;
  }
  return out;
}

/** One place, one rule, one finding: the gravest stands, the others lend their stations and calling places. */
function foldGroup(group: readonly Finding[]): Finding {
  const first = group.reduce((best, f) => (WEIGHT[f.level] > WEIGHT[best.level] ? f : best));
  if (group.length === 1) return first;
  const related: Related[] = [...first.related];
  const seen = new Set(related.map(relatedKey));
  const stations = first.station === undefined ? [] : [first.station];
  const fixes = [...first.fixes];
  for (const other of group) {
    if (other === first) continue;
    const isNew = other.station !== undefined && !stations.includes(other.station);
    if (isNew && other.station !== undefined) {
      stations.push(other.station);
      const call = other.related.find((r) => r.message.key === "related.called-from");
      const also: Related = { place: call?.place ?? other.place, message: { key: "related.also-at", args: { station: other.station } } };
      if (!seen.has(relatedKey(also))) related.push(also);
      seen.add(relatedKey(also));
    }
    for (const r of other.related) {
      if (seen.has(relatedKey(r))) continue;
      seen.add(relatedKey(r));
      related.push(r);
    }
  }
  const data = stations.length > 1 ? { ...first.data, stations } : first.data;
  return { ...first, related, data, fixes };
}

/**
 * For rules that find the same fault at many places: keeps the first report of each cause and makes the others related
 * places of it. `relatedKey` names the wording of a related place, which gets the arguments of its own report.
 */
export function foldByCause(reports: readonly (Report & { readonly cause: string })[], relatedKey: string): Report[] {
  const out = new Map<string, { report: Report; related: Related[]; stations: string[] }>();
  for (const { cause, ...report } of reports) {
    const group = out.get(cause);
    if (group === undefined) {
      out.set(cause, { report, related: [...(report.related ?? [])], stations: report.station === undefined ? [] : [report.station] });
      continue;
    }
    group.related.push({ place: report.at, message: { key: relatedKey, args: report.args } });
    if (report.station !== undefined && !group.stations.includes(report.station)) group.stations.push(report.station);
  }
  return [...out.values()].map(({ report, related, stations }) => ({
    ...report,
    related,
    ...(stations.length > 1 ? { data: { ...report.data, stations } } : {}),
  }));
}

/** Sorted by file, line, column; at one place the graver first. */
export function sortFindings(findings: readonly Finding[]): Finding[] {
  return [...findings].sort(
    (a, b) =>
      compareText(a.place.file, b.place.file) ||
      a.place.range.line - b.place.range.line ||
      a.place.range.column - b.place.range.column ||
      WEIGHT[b.level] - WEIGHT[a.level] ||
      compareText(a.rule, b.rule),
  );
}

/** Repeats out, order kept. */
export function foldNotChecked(list: readonly NotChecked[]): NotChecked[] {
  const seen = new Set<string>();
  return list.filter((item) => {
    const key = JSON.stringify(item);
    if (seen.has(key)) return false;
    seen.add(key);
    return true;
  });
}

function covers(allow: Allow, place: Place): boolean {
  return allow.place.file === place.file && allow.lines.includes(place.range.line);
}

function placeKey({ file, range }: Place): string {
  return `${file}:${range.line}:${range.column}:${range.endLine}:${range.endColumn}`;
}

function relatedKey(r: Related): string {
  return `${placeKey(r.place)} ${r.message.key} ${JSON.stringify(r.message.args)}`;
}

function compareText(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
