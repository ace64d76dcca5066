import type { Fix, Related, TextChange } from "../findings.js";
import type { Station } from "../fixture/model.js";
import type { Run } from "../machine/run.js";
import { sourceOf } from "./context.js";
import { countedLoops } from "./lib/counted.js";
import { reselect, type Selection, selections } from "./lib/selection.js";
import { skips, type Tally, tallies } from "./lib/tally.js";
import { listArg, toolWords } from "./lib/words.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** A tool visits the siblings but leaves some out. */
export const stationSkipped = defineRule({
  id: "station-skipped",
  level: "error",
  summary: "A tool visits all siblings (stations with the same part and op) but some.",
  messages: {
    default: "{tool} visits {visited} of {count} stations for {part} {op} and leaves out {missing}: its visit is missing here",
    all: "no tool visits {missing}, though {visited} of {count} stations for {part} {op} are machined; mark it as empty if it is not loaded",
    "related.sibling": "the visit to {station}",
    "related.tool": "{tool} leaves out {missing} too",
    "fix.visit": "Insert the visit to {station}, copied from {like}",
  },
  docs: `
One block was deleted, or a row was forgotten: the part at that station comes off without the cut of this tool, or the next tool meets
material that should be gone.

Siblings are the stations that hold the same part for the same op. A tool that only the other op needs is no fault, and neither is a
station that the sidecar marks as \`empty\`. A tool that visits fewer than half of the siblings is taken to do so on purpose.

~~~case
T1 goes from A1 to A3.
-- use: three-stations --
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y20
G43 H1 Z50
M98 P100
G56
;^^ error station-skipped: tool 1 (end mill 10) visits 2 of 3 stations for bracket op10 and leaves out A2
M98 P100
G28 G91 Z0
M30
O100
G90 G0 X10 Y20
Z2
G1 Z-3 F300
X40
G0 Z50
M99
-- part.nc after fix 1 --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y20
G43 H1 Z50
M98 P100
G55
M98 P100
G56
M98 P100
G28 G91 Z0
M30
O100
G90 G0 X10 Y20
Z2
G1 Z-3 F300
X40
G0 Z50
M99
~~~

~~~case
A tool for the first op only.
-- use: two-ops --
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y20
G43 H1 Z50
M98 P100
G55
M98 P100
G28 G91 Z0
M30
O100
G90 G0 X10 Y20
Z2
G1 Z-3 F300
X40
G0 Z50
M99
~~~

~~~case
A2 is not loaded in this run.
-- use: three-stations --
-- options --
empty: A2
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y20
G43 H1 Z50
M98 P100
G56
M98 P100
G28 G91 Z0
M30
O100
G90 G0 X10 Y20
Z2
G1 Z-3 F300
X40
G0 Z50
M99
~~~

~~~case
Part by part, each with all its tools.
-- use: two-stations --
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X10 Y20 S4000 M3
G43 H1 Z50
G1 Z-3 F2000
G0 Z50
T2 M6
G0 G54 X10 Y20 S4000 M3
G43 H2 Z50
G1 Z-5 F2000
G0 Z50
T1 M6
G0 G55 X10 Y20 S4000 M3
G43 H1 Z50
G1 Z-3 F2000
G0 Z50
T2 M6
G0 G55 X10 Y20 S4000 M3
G43 H2 Z50
G1 Z-5 F2000
G0 Z50
G28 G91 Z0
M30
~~~
`,
  *check(cx) {
    // With block skip on, visits are left out on purpose.
    if (cx.fixture === undefined || cx.blockSkip || cx.entry !== "main" || !cx.run.complete) return;
    const all = yield* tallies(cx);
    const chosen = new Map(selections(cx).map((s) => [s.index, s]));
    const loops = countedLoops(cx);
    const groups = new Map<string, { tally: Tally; stations: Station[] }>();
    for (const { tally, station } of skips(all)) {
      // A loop that runs too few times is the loop's own fault.
      if (loops.some((l) => l.tool === tally.tool && l.missing.includes(station.index))) continue;
      const key = `${tally.tool} ${tally.siblings.part} ${tally.siblings.op}`;
      const group = groups.get(key);
      if (group === undefined) groups.set(key, { tally, stations: [station] });
      else group.stations.push(station);
    }
    report(cx, all, [...groups.values()], chosen);
  },
});

/** Stations that no tool at all visits are one fault; the rest is told tool by tool. */
function report(
  cx: RuleContext,
  all: readonly Tally[],
  groups: readonly { readonly tally: Tally; readonly stations: readonly Station[] }[],
  chosen: ReadonlyMap<number, Selection>,
): void {
  const visited = new Set(cx.run.visits.filter((v) => v.cuts).map((v) => v.station));
  const never = new Map<string, { report: Report; related: Related[] }>();
  for (const { tally, stations } of groups) {
    const unseen = stations.filter((s) => !visited.has(s.index));
    const seen = stations.filter((s) => visited.has(s.index));
    const tools = all.filter(
      (t) => t.siblings === tally.siblings || (t.siblings.part === tally.siblings.part && t.siblings.op === tally.siblings.op),
    );
    if (unseen.length > 0) {
      const key = JSON.stringify([tally.siblings.part, tally.siblings.op, unseen.map((s) => s.id)]);
      const held = never.get(key);
      const own = describe(cx, tally, unseen, chosen, tools.length > 1);
      if (held === undefined) never.set(key, { report: own, related: [...(own.related ?? [])] });
      else
        held.related.push({
          place: own.at,
          message: { key: "related.tool", args: { tool: toolWords(cx, tally.tool), missing: listArg(unseen.map((s) => s.id)) } },
        });
    }
    // Each gap of its own is one finding: neighbours in one gap go together.
    const gaps = new Map<string, Station[]>();
    for (const s of seen) {
      const at = placeFor(cx.run, tally, s);
      const key = `${at.kind} ${at.step}`;
      const gap = gaps.get(key);
      if (gap === undefined) gaps.set(key, [s]);
      else gap.push(s);
    }
    for (const gap of gaps.values()) cx.report(describe(cx, tally, gap, chosen, false));
  }
  for (const { report: r, related } of never.values()) cx.report({ ...r, related });
}

function describe(
  cx: RuleContext,
  tally: Tally,
  missing: readonly Station[],
  chosen: ReadonlyMap<number, Selection>,
  noTool: boolean,
): Report {
  const first = missing[0];
  if (first === undefined) throw new Error("no station is missing");
  const place = placeFor(cx.run, tally, first);
  const step = cx.run.steps[place.step];
  if (step === undefined) throw new Error(`no step ${place.step}`);
  const selection = chosen.get(place.step);
  const { stations } = tally.siblings;
  const visited = stations.filter((s) => (tally.byStation.get(s.index)?.length ?? 0) > 0);
  const related: Related[] = [];
  const like = place.like === undefined ? undefined : cx.run.steps[place.like];
  const likeStation = place.likeStation === undefined ? undefined : cx.fixture?.stations[place.likeStation]?.id;
  if (like !== undefined && likeStation !== undefined)
    related.push({ place: cx.blockPlace(like), message: { key: "related.sibling", args: { station: likeStation } } });
  return {
    at: selection?.place ?? cx.blockPlace(step),
    ...(noTool ? { key: "all" } : {}),
    args: {
      tool: toolWords(cx, tally.tool),
      visited: visited.length,
      count: stations.length,
      part: tally.siblings.part,
      op: tally.siblings.op,
      missing: listArg(missing.map((s) => s.id)),
    },
    station: first.id,
    related,
    fixes: noTool || missing.length > 1 ? [] : fixOf(cx, first, place, chosen),
    data: { tool: tally.tool, missing: missing.map((s) => s.id) },
    step: place.step,
  };
}

interface Gap {
  readonly kind: "next" | "end";
  /** Step on which the finding stands. */
  readonly step: number;
  /** Offset step of a sibling's visit to copy, with that sibling. */
  readonly like: number | undefined;
  readonly likeStation: number | undefined;
}

/** Where the visit to a station belongs: before the next visit's offset block, or before the block that ends the tool's section. */
function placeFor(run: Run, tally: Tally, station: Station): Gap {
  const visits = run.visits.filter((v) => v.tool === tally.tool && v.cuts && v.station >= 0);
  const order = orderOf(run, tally);
  const rank = (s: number): number => order.get(s) ?? s;
  // The place in the tool's sequence that leaves the fewest stations out of order.
  let best = 0;
  let fewest = Number.POSITIVE_INFINITY;
  for (let g = 0; g <= visits.length; g++) {
    let wrong = 0;
    visits.forEach((v, k) => {
      if (k < g ? rank(v.station) > rank(station.index) : rank(v.station) < rank(station.index)) wrong++;
    });
    if (wrong < fewest) {
      fewest = wrong;
      best = g;
    }
  }
  const before = visits[best - 1];
  const next = visits[best];
  const sectionOf = (v: (typeof visits)[number] | undefined): number =>
    v === undefined ? -2 : (run.moves[v.firstMove]?.modal.toolStep ?? -1);
  const offsetOf = (v: (typeof visits)[number]): number => {
    const step = run.moves[v.firstMove]?.modal.offsetStep ?? -1;
    return step >= 0 ? step : v.openedBy;
  };
  const alone = before === undefined || visits.filter((v) => sectionOf(v) === sectionOf(before)).length < 2;
  const copy = before ?? next;
  const like = copy === undefined ? undefined : offsetOf(copy);
  if (next !== undefined && (before === undefined || sectionOf(next) === sectionOf(before) || alone))
    return { kind: "next", step: offsetOf(next), like, likeStation: copy?.station };
  return { kind: "end", step: sectionEnd(run, before?.lastStep ?? run.steps.length - 1), like, likeStation: copy?.station };
}

/** The step that ends a tool's section: the next tool change, else the end of the program. */
function sectionEnd(run: Run, from: number): number {
  const tool = run.steps[from]?.after.toolStep;
  for (let s = from + 1; s < run.steps.length; s++) if (run.steps[s]?.after.toolStep !== tool) return s;
  let last = run.steps.length - 1;
  // Empty lines and a tape mark behind the end are no blocks to point at.
  while (last > from && run.steps[last]?.block.words.length === 0) last--;
  return last;
}

/** The order in which stations are visited: that of a tool that visits every sibling, else that of the sidecar, turned round where this tool goes the other way. */
function orderOf(run: Run, tally: Tally): Map<number, number> {
  const order = new Map<number, number>();
  const tools = [...new Set(run.visits.map((v) => v.tool))].filter((t) => t !== tally.tool);
  for (const tool of tools) {
    const seen = [...new Set(run.visits.filter((v) => v.tool === tool && v.cuts && v.station >= 0).map((v) => v.station))];
    const visited = run.visits.filter((v) => v.tool === tally.tool && v.cuts && v.station >= 0).map((v) => v.station);
    // Its order says something only when it goes to every station that is to be put in order.
    if (![...tally.siblings.stations.map((s) => s.index), ...visited].every((s) => seen.includes(s))) continue;
    seen.forEach((s, k) => {
      order.set(s, k);
    });
    return order;
  }
  const own = tally.units.map((u) => u.station);
  let up = 0;
  let down = 0;
  own.forEach((s, k) => {
    const p = own[k - 1];
    if (p !== undefined && s > p) up++;
    if (p !== undefined && s < p) down++;
  });
  const sign = down > up ? -1 : 1;
  for (const s of new Set(run.visits.map((v) => v.station))) order.set(s, sign * s);
  for (const s of tally.siblings.stations) order.set(s.index, sign * s.index);
  return order;
}

/** Copies the blocks of a sibling's visit, with the missing station's offset, where they stand in one piece before the place. */
function fixOf(cx: RuleContext, station: Station, gap: Gap, chosen: ReadonlyMap<number, Selection>): Fix[] {
  const { run } = cx;
  if (gap.like === undefined || station.offset === undefined || gap.kind !== "next") return [];
  const from = run.steps[gap.like];
  const to = run.steps[gap.step];
  const selection = chosen.get(gap.like);
  if (from === undefined || to === undefined || selection === undefined || from.call !== to.call || from.block.line >= to.block.line)
    return [];
  const source = sourceOf(run, from);
  const changes = reselect(cx, selection, station.offset);
  if (changes === undefined) return [];
  let copied = source.lines.slice(from.block.line, to.block.line);
  // The first visit of a tool also brings the tool to its length; a copy of that is no plain visit.
  const steps = run.steps.slice(gap.like, gap.step).filter((s) => s.call === from.call);
  if (steps.some((s) => s.after.toolStep !== from.after.toolStep)) return [];
  const startsLength = steps.some((s) => s.block.words.some((w) => w.letter === "G" && (w.value === 43 || w.value === 44)));
  if (startsLength) {
    const simple = simplest(cx, gap, chosen, station);
    if (simple === undefined) return [];
    copied = simple;
  } else copied = [applied(copied[0] ?? "", changes), ...copied.slice(1)];
  const line = to.block.line;
  const place = { file: source.file, range: { line, column: 0, endLine: line, endColumn: 0 } };
  const like = gap.likeStation === undefined ? "" : (cx.fixture?.stations[gap.likeStation]?.id ?? "");
  return [
    {
      title: { key: "fix.visit", args: { station: station.id, like } },
      changes: [{ place, text: `${copied.map(unnumbered).join("\n")}\n` }],
      sameMotion: false,
    },
  ];
}

/** The blocks of the next visit instead, up to the one behind it. */
function simplest(cx: RuleContext, gap: Gap, chosen: ReadonlyMap<number, Selection>, station: Station): string[] | undefined {
  const { run } = cx;
  const selection = chosen.get(gap.step);
  const from = run.steps[gap.step];
  if (selection === undefined || from === undefined || station.offset === undefined) return undefined;
  const next = [...chosen.keys()].find((s) => s > gap.step && run.steps[s]?.call === from.call);
  const end = next ?? sectionEnd(run, gap.step);
  const to = run.steps[end];
  if (to === undefined || to.call !== from.call || to.block.line <= from.block.line) return undefined;
  const changes = reselect(cx, selection, station.offset);
  if (changes === undefined) return undefined;
  const lines = sourceOf(run, from).lines.slice(from.block.line, to.block.line);
  // What follows the last visit (going home) is no part of a visit.
  const kept: string[] = [];
  for (const [k, text] of lines.entries()) {
    if (k > 0 && /G\s*28|G\s*30|M\s*0?[569]\b|M\s*30/i.test(text)) break;
    kept.push(text);
  }
  return [applied(kept[0] ?? "", changes), ...kept.slice(1)];
}

/** A line with changes applied, last first. */
function applied(line: string, changes: readonly TextChange[]): string {
  let out = line;
  for (const c of [...changes].sort((a, b) => b.place.range.column - a.place.range.column))
    out = out.slice(0, c.place.range.column) + c.text + out.slice(c.place.range.endColumn);
  return out;
}

/** A copied block without its N number, which must not stand twice. */
function unnumbered(line: string): string {
  return line.replace(/^([ \t]*(?:\/[1-9]?[ \t]*)?)N\d+[ \t]*/i, "$1");
}
