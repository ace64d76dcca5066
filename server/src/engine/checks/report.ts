import type { Finding, Level, LevelSetting, NotChecked, Related } from "../findings.js";
import type { Run, Step } from "../machine/run.js";
import type { Place } from "../text/place.js";
import { type Allow, covers } from "./allow.js";
import { consequencesOf } from "./consequences.js";
import { blockPlaceOf, type RawReport } from "./context.js";
import { drained } from "./lib/paced.js";
import { withoutRepeats } from "./repeats.js";
import type { Report } from "./rule.js";

const WEIGHT: Readonly<Record<Level, number>> = { error: 3, warning: 2, information: 1 };

/** Rules that gather faults of many kinds, of which one place can have several. */
const SEVERAL: ReadonlySet<string> = new Set(["syntax", "fixture-format"]);

/** Reports between two yields: a few milliseconds of work. */
const SLICE = 250;

/** Level of a rule: its own, else the editor's, else the sidecar's, the later winning. */
export type LevelOf = (rule: string) => LevelSetting | undefined;

/** A finding on its way: what may still be folded into it. */
interface Item {
  readonly finding: Finding;
  readonly cause: string | undefined;
  readonly relatedKey: string;
  readonly run: Run;
  readonly step: number | undefined;
}

/**
 * Turns what the rules reported into findings: applies levels, adds the calls that led to a block of a called program,
 * lets ALLOW comments waive, leaves out what only follows from another report, folds repeats at one place, then reports of
 * one cause, then what is said in the same words all over a file. Marks the allows it used. Sorted.
 */
export function finish(raw: readonly RawReport[], levelOf: LevelOf, allows: readonly Allow[], used: Set<Allow>): Finding[] {
  return drained(finishing(raw, levelOf, allows, used));
}

/** The same in slices. `switched` is the run with block skip on beside the one with it off: what only that run meets is told so. */
export function* finishing(
  raw: readonly RawReport[],
  levelOf: LevelOf,
  allows: readonly Allow[],
  used: Set<Allow>,
  switched?: Run,
): Generator<void, Finding[], void> {
  const byFile = new Map<string, Allow[]>();
  for (const allow of allows) push(byFile, allow.place.file, allow);
  const places = new Map<string, Item[]>();
  const allowOf = (item: RawReport): Allow | undefined => {
    const { at: stands, declared } = item.report;
    const at = (declared === undefined ? [stands] : [stands, declared]).flatMap((place) =>
      (byFile.get(place.file) ?? []).filter((a) => a.rules.includes(item.rule.id) && covers(a, place)),
    );
    return at.find((a) => a.reason !== undefined) ?? at[0];
  };
  const follows = consequencesOf(raw.filter((item) => levelOf(item.rule.id) !== "off" && allowOf(item)?.reason === undefined));
  yield;
  let count = 0;
  for (const item of raw) {
    if (++count % SLICE === 0) yield;
    const setting = levelOf(item.rule.id);
    const allow = allowOf(item);
    if (allow !== undefined) used.add(allow);
    if (setting === "off" || follows(item)) continue;
    const finding = toFinding(item, setting);
    const waived = allow?.reason === undefined ? finding : { ...finding, level: "information" as const, waived: allow.reason };
    const { cause, relatedKey } = item.report;
    const text = SEVERAL.has(waived.rule) ? `\n${waived.message.key} ${JSON.stringify(waived.message.args)}` : "";
    push(places, `${waived.rule}\n${placeKey(waived.place)}${text}`, {
      finding: waived,
      cause,
      relatedKey: relatedKey ?? "related.also",
      run: item.run,
      step: item.report.step,
    });
  }
  const causes = new Map<string, Item[]>();
  // A cause is named by its rule within one run; blocks seen in several runs have already become one above.
  const runs = new Map<Run, number>();
  for (const [key, group] of places) {
    if (++count % SLICE === 0) yield;
    const folded = foldPlace(group.map((item) => item.finding));
    const finding = group.every(({ run }) => run === switched) ? withSkipped(folded, group[0] as Item) : folded;
    const item = group.find((i) => i.cause !== undefined) ?? (group[0] as Item);
    const { cause } = item;
    if (!runs.has(item.run)) runs.set(item.run, runs.size);
    // What an allow comment waives must not hide the same fault elsewhere, so the two do not fold.
    push(causes, cause === undefined ? key : `${finding.rule}\ncause ${cause}\n${runs.get(item.run)}\n${finding.waived ?? ""}`, {
      ...item,
      finding,
    });
  }
  const told = withoutRetold([...causes.values()].map((group) => ({ run: (group[0] as Item).run, finding: foldCause(group) })));
  return withoutRepeats(sortFindings(told));
}

/**
 * A run with the other state of block skip begins a list of its own where the first place of the list is skipped. What the
 * earlier run has listed as a further place of the same fault is not told a second time.
 */
function withoutRetold(items: readonly { readonly run: Run; readonly finding: Finding }[]): Finding[] {
  const listed = new Map<string, Run>();
  const out: Finding[] = [];
  for (const { run, finding } of items) {
    const by = listed.get(`${finding.rule}\n${placeKey(finding.place)}\n${finding.waived ?? ""}`);
    if (by !== undefined && by !== run) continue;
    for (const { place, message } of finding.related) {
      const key = `${finding.rule}\n${placeKey(place)}\n${finding.waived ?? ""}`;
      if (message.key === "related.again" && !listed.has(key)) listed.set(key, run);
    }
    out.push(finding);
  }
  return out;
}

/** A finding of the run with block skip on alone: the block that the switch leaves out last before it is related. */
function withSkipped(finding: Finding, { run, step }: Item): Finding {
  const place = step === undefined ? undefined : skippedBefore(run, step);
  const related: Related[] = place === undefined ? [] : [{ place, message: { key: "related.skip-on", args: {} } }];
  return { ...finding, related: [...related, ...finding.related], data: { ...finding.data, blockSkip: "on" } };
}

/** The block that the switch left out last before a step; undefined where none was. */
function skippedBefore(run: Run, step: number): Place | undefined {
  for (let k = step; k >= 0; k--) {
    const by = run.steps[k];
    const source = by === undefined ? undefined : run.sources[by.source];
    if (by === undefined || source === undefined) return undefined;
    // A slash inside a block leaves out the words behind it.
    if (by.block.skipFrom !== undefined) return blockPlaceOf(run, by);
    for (let line = by.block.line - 1; line >= 0; line--) {
      const block = source.blocks[line];
      if (block?.skip !== undefined) {
        const { start, end } = block;
        return { file: source.file, range: { line, column: start, endLine: line, endColumn: end } };
      }
      if (block !== undefined && (block.words.length > 0 || block.assignments.length > 0 || block.control !== undefined)) break;
    }
  }
  return undefined;
}

function push<K, V>(map: Map<K, V[]>, key: K, value: V): void {
  const list = map.get(key);
  if (list === undefined) map.set(key, [value]);
  else list.push(value);
}

function toFinding({ rule, report, run }: RawReport, setting: Level | undefined): Finding {
  const own = report.level ?? rule.level;
  // A level that the rule itself chose for the case at hand (a cut into a soft jaw) is not raised by a setting.
  const level = setting === undefined || report.level !== undefined ? own : setting;
  const given = report.related ?? [];
  const told = new Set(given.map((r) => placeKey(r.place)));
  return {
    rule: rule.id,
    level,
    message: { key: report.key ?? "default", args: report.args },
    place: report.at,
    station: report.station,
    related: [...given, ...callers(run, report).filter((r) => !told.has(placeKey(r.place)))],
    data: report.data,
    fixes: report.fixes ?? [],
    waived: undefined,
  };
}

/** The calls that led to the reported step, innermost first. */
function callers(run: Run, report: Report): Related[] {
  const out: Related[] = [];
  const callerOf = (step: Step | undefined): Step | undefined => (step === undefined ? undefined : run.steps[step.call.caller]);
  for (let by = callerOf(run.steps[report.step ?? -1]); by !== undefined && out.length < 8; by = callerOf(by)) {
    out.push({ place: blockPlaceOf(run, by), message: { key: "related.called-from", args: {} } });
  }
  return out;
}

/** One place, one rule, one finding: the gravest stands, the others lend their stations and calling places. */
function foldPlace(group: readonly Finding[]): Finding {
  const first = group.reduce((best, f) => (WEIGHT[f.level] > WEIGHT[best.level] ? f : best));
  const related: Related[] = [...first.related];
  const seen = new Set(related.map(relatedKey));
  const stations = first.station === undefined ? [] : [first.station];
  for (const other of group) {
    if (other === first) continue;
    if (other.station !== undefined && !stations.includes(other.station)) {
      stations.push(other.station);
      const call = other.related.find((r) => r.message.key === "related.called-from");
      related.push({ place: call?.place ?? other.place, message: { key: "related.also-at", args: { station: other.station } } });
      // What leads to the other station's own jaw or call would bury the list under repeats.
      continue;
    }
    for (const r of other.related) {
      if (seen.has(relatedKey(r))) continue;
      seen.add(relatedKey(r));
      related.push(r);
    }
  }
  const data = stations.length > 1 ? { ...first.data, stations } : first.data;
  return { ...first, related, data };
}

/** One cause, one finding: the first place in the order of reports stands, the others are related to it. */
function foldCause(group: readonly Item[]): Finding {
  const first = group[0] as Item;
  const { finding } = first;
  const related: Related[] = [...finding.related];
  const stations = stationsOf(finding);
  const level = group.reduce((best, item) => (WEIGHT[item.finding.level] > WEIGHT[best] ? item.finding.level : best), finding.level);
  for (const { finding: other, relatedKey } of group.slice(1)) {
    related.push({ place: other.place, message: { key: relatedKey, args: other.message.args } });
    for (const station of stationsOf(other)) if (!stations.includes(station)) stations.push(station);
  }
  return { ...finding, level, related, data: stations.length > 1 ? { ...finding.data, stations } : finding.data };
}

function stationsOf(f: Finding): string[] {
  const listed = f.data?.stations;
  if (Array.isArray(listed)) return listed.filter((s) => typeof s === "string");
  return f.station === undefined ? [] : [f.station];
}

/**
 * For rules that find the same fault at many places: gives each report its cause, by which they become one finding once
 * the allow comments have had their say. `relatedKey` words the places that are then related ones; it gets the arguments
 * of its own report.
 */
export function foldByCause(reports: readonly (Report & { readonly cause: string })[], relatedKey: string): Report[] {
  return reports.map((report) => ({ relatedKey, ...report }));
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

function placeKey({ file, range }: Place): string {
  return `${file}:${range.line}:${range.column}:${range.endLine}:${range.endColumn}`;
}

function relatedKey(r: Related): string {
  return `${placeKey(r.place)} ${r.message.key} ${JSON.stringify(r.message.args)}`;
}

function compareText(a: string, b: string): number {
  return a < b ? -1 : a > b ? 1 : 0;
}
