import type { Finding } from "../engine/findings.js";
import type { Visit } from "../engine/visits.js";
import { renderLength, renderSeconds } from "./text.js";
import { say, solidName } from "./texts.js";
import type { View } from "./view.js";

/** A line of text above a block. */
export interface Lens {
  readonly line: number;
  readonly kind: "visit" | "tool";
  readonly title: string;
  /** Places that the lens leads to: the findings it counts. */
  readonly findings: readonly Finding[];
}

const known = new WeakMap<View, readonly Lens[]>();

/** Above each visit its station, part, time, least clearance and findings; above each tool its visits and time. Main program only. */
export function lensesOf(view: View, file: string): readonly Lens[] {
  const { run } = view.analysis;
  if (run.sources[0]?.file !== file) return [];
  const before = known.get(view);
  if (before !== undefined) return before;
  const lenses = [...toolLenses(view), ...visitLenses(view)].sort((a, b) => a.line - b.line || (a.kind === "tool" ? -1 : 1));
  known.set(view, lenses);
  return lenses;
}

/** Visits by the line of the main program that begins them: a loop gives several at one line. */
function byLine(view: View): Map<number, Visit[]> {
  const { run } = view.analysis;
  const out = new Map<number, Visit[]>();
  for (const visit of run.visits) {
    const opened = view.mainLine(visit.openedBy >= 0 ? visit.openedBy : visit.firstStep);
    const line = Math.min(opened, view.mainLine(visit.firstStep));
    const list = out.get(line);
    if (list === undefined) out.set(line, [visit]);
    else list.push(visit);
  }
  return out;
}

function visitLenses(view: View): Lens[] {
  const { fixture } = view.analysis;
  const out: Lens[] = [];
  const findings = findingsByVisit(view);
  for (const [line, visits] of byLine(view)) {
    const own = [...new Set(visits.flatMap((v) => findings.get(v.index) ?? []))];
    const names = [
      ...new Set(
        visits.map((v) => {
          const s = v.station < 0 ? undefined : fixture?.stations[v.station];
          return s === undefined ? view.offsetName(v.offset) : visits.length === 1 ? `${s.id} · ${s.partName ?? s.part} ${s.op}` : s.id;
        }),
      ),
    ];
    const shown = names.length > 4 ? `${names.slice(0, 2).join(", ")} … ${names.at(-1)}` : names.join(", ");
    const parts = [
      visits.length === 1 ? shown : say("lens.visits", { count: visits.length, stations: shown }),
      timeText(visits),
      clearanceText(view, visits),
      findingsText(own),
    ];
    out.push({ line, kind: "visit", title: parts.filter((p) => p !== "").join(" · "), findings: own });
  }
  return out;
}

function toolLenses(view: View): Lens[] {
  const { run, fixture } = view.analysis;
  const groups = new Map<number, Visit[]>();
  for (const visit of run.visits) {
    const change = run.steps[visit.firstStep]?.before.toolStep ?? -1;
    if (change < 0) continue;
    const line = view.mainLine(change);
    const list = groups.get(line);
    if (list === undefined) groups.set(line, [visit]);
    else list.push(visit);
  }
  return [...groups].map(([line, visits]): Lens => {
    const number = visits[0]?.tool ?? Number.NaN;
    const tool = fixture?.tools.get(number);
    const name = `T${Number.isNaN(number) ? "?" : number}${tool?.name === undefined ? "" : ` ${tool.name}`}`;
    const parts = [
      name,
      visits.length === 1 ? say("lens.visit-count-one") : say("lens.visit-count", { count: visits.length }),
      timeText(visits),
    ];
    return { line, kind: "tool", title: parts.filter((p) => p !== "").join(" · "), findings: [] };
  });
}

function timeText(visits: readonly Visit[]): string {
  const seconds = visits.map((v) => v.seconds).filter((s) => !Number.isNaN(s));
  if (seconds.length === 0) return say("lens.no-time");
  const sum = renderSeconds(seconds.reduce((a, b) => a + b, 0));
  return seconds.length < visits.length ? say("lens.at-least", { time: sum }) : sum;
}

/** The nearest jaw, stop, base or obstacle over the visits. The stock is what the tool cuts, so it does not count. */
function clearanceText(view: View, visits: readonly Visit[]): string {
  const { clearances, fixture, run } = view.analysis;
  if (clearances === undefined || fixture === undefined) return say("lens.no-clearance");
  let best: { distance: number; name: string } | undefined;
  for (const visit of visits) {
    for (const contact of clearances.least(visit.index)) {
      // Stock is measured whole, though earlier tools may have cut it away; what rests on that would not be exact.
      if (contact.solid.kind === "stock") continue;
      if (best !== undefined && contact.distance >= best.distance) continue;
      const solid = solidName(contact.solid.name);
      const own = contact.solid.station < 0 || contact.solid.station === visit.station;
      const name = own ? solid : say("of-station", { solid, station: fixture.stations[contact.solid.station]?.id ?? "?" });
      best = { distance: contact.distance, name };
    }
  }
  let unchecked = false;
  if (clearances.unchecked.size > 0)
    for (const visit of visits)
      for (let m = visit.firstMove; m < visit.endMove && !unchecked; m++)
        unchecked = clearances.unchecked.has(m) && run.moves[m]?.visit === visit.index;
  const partly = unchecked ? say("lens.partly") : "";
  if (best === undefined) return unchecked ? say("lens.no-clearance") : "";
  const solid = best.name;
  const nearest =
    best.distance <= 0
      ? say("lens.touches", { solid })
      : say("lens.distance", { distance: renderLength(best.distance, fixture.units), solid });
  return `${nearest}${partly}`;
}

function findingsText(findings: readonly Finding[]): string {
  if (findings.length === 0) return say("lens.no-findings");
  return findings.length === 1 ? say("lens.finding") : say("lens.findings", { count: findings.length });
}

/** Findings by visit: those that name its station or none, on a line that the visit runs. */
function findingsByVisit(view: View): Map<number, Finding[]> {
  const { run, findings } = view.analysis;
  const out = new Map<number, Finding[]>();
  const open = findings.filter((f) => f.waived === undefined);
  if (open.length === 0) return out;
  // The steps that stand on a line with a finding, in their order, so that a visit need not be gone through step by step.
  const marked = new Map<number, Finding[]>();
  for (const f of open) {
    for (const step of view.stepsOf(f.place.file, f.place.range.line)) {
      const list = marked.get(step);
      if (list === undefined) marked.set(step, [f]);
      else list.push(f);
    }
  }
  const steps = [...marked].sort(([a], [b]) => a - b);
  for (const visit of run.visits) {
    const own = new Set<Finding>();
    const id = visit.station < 0 ? undefined : view.analysis.fixture?.stations[visit.station]?.id;
    const first = visit.openedBy >= 0 ? Math.min(visit.openedBy, visit.firstStep) : visit.firstStep;
    for (let at = firstAtOrBehind(steps, first); (steps[at]?.[0] ?? Number.POSITIVE_INFINITY) <= visit.lastStep; at++) {
      for (const f of steps[at]?.[1] ?? []) {
        const stations = f.data?.stations;
        const named = f.station === undefined || f.station === id || (Array.isArray(stations) && stations.includes(id));
        if (named) own.add(f);
      }
    }
    if (own.size > 0) out.set(visit.index, [...own]);
  }
  return out;
}

/** Index of the first entry whose step is at or behind one; the entries stand in the order of their steps. */
function firstAtOrBehind(steps: readonly (readonly [number, unknown])[], step: number): number {
  let low = 0;
  let high = steps.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((steps[middle]?.[0] ?? 0) < step) low = middle + 1;
    else high = middle;
  }
  return low;
}
