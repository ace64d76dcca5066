import type { Fix, Related, TextChange } from "../findings.js";
import type { Station } from "../fixture/model.js";
import type { Modal, Move } from "../machine/move.js";
import type { Run, Step } from "../machine/run.js";
import type { Visit } from "../visits.js";
import { sourceOf } from "./context.js";
import { countedLoops } from "./lib/counted.js";
import { codeText, reselect, type Selection, selections } from "./lib/selection.js";
import { isSameBlock } from "./lib/speak.js";
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
    several: "{tool} visits {visited} of {count} stations for {part} {op} and leaves out {missing}: their visits are missing here",
    fewer: "{tool} visits {missing} less often than the other stations for {part} {op}: a visit to it is missing here",
    "fewer-several": "{tool} visits {missing} less often than the other stations for {part} {op}: a visit to each of them is missing here",
    all: "no tool visits {missing}, though {visited} of {count} stations for {part} {op} are machined; mark it as empty if it is not loaded",
    "all-several":
      "no tool visits {missing}, though {visited} of {count} stations for {part} {op} are machined; mark them as empty if they are not loaded",
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
    const groups = new Map<Tally, Station[]>();
    for (const { tally, station } of skips(all)) {
      // A loop that runs too few times is the loop's own fault.
      if (loops.some((l) => l.tool === tally.tool && l.missing.includes(station.index))) continue;
      groups.set(tally, [...(groups.get(tally) ?? []), station]);
    }
    report(cx, all, groups, chosen);
  },
});

/** Stations that no tool at all visits are one fault; the rest is told tool by tool. */
function report(
  cx: RuleContext,
  all: readonly Tally[],
  groups: ReadonlyMap<Tally, readonly Station[]>,
  chosen: ReadonlyMap<number, Selection>,
): void {
  const visited = new Set(cx.run.visits.filter((v) => v.cuts).map((v) => v.station));
  const never = new Map<string, { report: Report; related: Related[] }>();
  for (const [tally, stations] of groups) {
    const unseen = stations.filter((s) => !visited.has(s.index));
    if (unseen.length > 0) {
      const several = all.filter((t) => t.siblings === tally.siblings).length > 1;
      const ids = unseen.map((s) => s.id);
      const own = describe(cx, tally, unseen, chosen, several);
      const held = never.get(ids.join());
      if (held === undefined) never.set(ids.join(), { report: own, related: [...(own.related ?? [])] });
      else
        held.related.push({
          place: own.at,
          message: { key: "related.tool", args: { tool: toolWords(cx, tally.tool), missing: listArg(ids) } },
        });
    }
    // Each gap of its own is one finding: neighbours in one gap go together.
    const gaps = new Map<number, Station[]>();
    for (const s of stations.filter((s) => visited.has(s.index))) {
      const { step } = placeFor(cx.run, tally, s);
      gaps.set(step, [...(gaps.get(step) ?? []), s]);
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
  const { run } = cx;
  const first = missing[0] as Station;
  const gap = placeFor(run, tally, first);
  const step = run.steps[gap.step] as Step;
  const { stations } = tally.siblings;
  return {
    at: chosen.get(gap.step)?.place ?? cx.blockPlace(step),
    key: keyOf(noTool ? "all" : tally.byStation.get(first.index)?.length === 0 ? "default" : "fewer", missing.length > 1),
    args: {
      tool: toolWords(cx, tally.tool),
      visited: stations.filter((s) => tally.byStation.get(s.index)?.length !== 0).length,
      count: stations.length,
      part: tally.siblings.part,
      op: tally.siblings.op,
      missing: listArg(missing.map((s) => s.id)),
    },
    station: first.id,
    related: [
      {
        place: cx.blockPlace(run.steps[offsetStepOf(run, gap.like)] as Step),
        message: { key: "related.sibling", args: { station: stationId(cx, gap.like) } },
      },
    ],
    fixes: noTool || missing.length > 1 ? [] : fixOf(cx, first, gap, chosen),
    data: { tool: tally.tool, missing: missing.map((s) => s.id) },
    step: gap.step,
  };
}

/** The wording for one station, or for several that are left out at one place. */
function keyOf(kind: "all" | "default" | "fewer", several: boolean): string {
  if (!several) return kind;
  return kind === "default" ? "several" : `${kind}-several`;
}

function stationId(cx: RuleContext, visit: Visit): string {
  return cx.fixture?.stations[visit.station]?.id ?? "";
}

interface Gap {
  /** Step on which the finding stands: the next visit's offset block, or the block that ends the tool's section. */
  readonly step: number;
  /** That next visit, in the same section. */
  readonly next: Visit | undefined;
  /** A sibling's visit to copy: the one before, else the next one. */
  readonly like: Visit;
}

/** The visits of a tool to stations, in order. */
function visitsOf(run: Run, tool: number): Visit[] {
  return run.visits.filter((v) => v.tool === tool && v.cuts && v.station >= 0);
}

function modalOf(run: Run, visit: Visit): Modal {
  return (run.moves[visit.firstMove] as Move).modal;
}

/** The step that selected the offset of a visit; where none did, the one that began it. */
function offsetStepOf(run: Run, visit: Visit): number {
  const step = modalOf(run, visit).offsetStep;
  return step >= 0 ? step : visit.openedBy;
}

/** Where the visit to a station belongs: before the next visit's offset block, or before the block that ends the tool's section. */
function placeFor(run: Run, tally: Tally, station: Station): Gap {
  const visits = visitsOf(run, tally.tool);
  const rank = orderOf(run, tally);
  const own = rank(station.index);
  // The place in the tool's sequence that leaves the fewest stations out of order.
  const wrongAt = (place: number): number => visits.filter((v, k) => (k < place ? rank(v.station) > own : rank(v.station) < own)).length;
  const places = Array.from({ length: visits.length + 1 }, (_, k) => k);
  // Of a station that is done less often than the others, the time that is missing.
  const again = visits.some((v) => v.station === station.index)
    ? places.filter((k) => isBetween(own, visits[k - 1]?.station, visits[k]?.station, rank))
    : [];
  const best = (again.length > 0 ? again : places).reduce((a, b) => (wrongAt(b) < wrongAt(a) ? b : a));
  const before = visits[best - 1];
  const next = visits[best];
  if (before === undefined) return { step: offsetStepOf(run, next as Visit), next, like: next as Visit };
  const section = modalOf(run, before).toolStep;
  const inSection = (v: Visit): boolean => modalOf(run, v).toolStep === section;
  // A tool that is changed in for each single visit has no section to which one more would belong.
  if (next !== undefined && (inSection(next) || visits.filter(inSection).length < 2))
    return { step: offsetStepOf(run, next), next, like: before };
  return { step: ownCallOf(run, sectionEnd(run, before.lastStep)), next: undefined, like: before };
}

/** Whether a rank fits between those of two neighbours, of which the second may begin the round anew. */
function isBetween(own: number, before: number | undefined, next: number | undefined, rank: (station: number) => number): boolean {
  const low = before === undefined ? Number.NEGATIVE_INFINITY : rank(before);
  const high = next === undefined ? Number.POSITIVE_INFINITY : rank(next);
  return low < high ? low < own && own < high : own > low || own < high;
}

/** The step that ends a tool's section: the next tool change, else the end of the program. */
function sectionEnd(run: Run, from: number): number {
  const tool = run.steps[from]?.after.toolStep;
  const change = run.steps.findIndex((s, k) => k > from && s.after.toolStep !== tool);
  // Empty lines and a tape mark behind the end are no blocks to point at.
  return change >= 0 ? change : run.steps.findLastIndex((s) => s.block.words.length > 0);
}

/** Of a block in a program that several calls share, as one that changes tools, the call: the block itself serves the others too. */
function ownCallOf(run: Run, index: number): number {
  const step = run.steps[index] as Step;
  const isShared = step.call.caller >= 0 && run.steps.some((s, k) => k !== index && isSameBlock(s, step));
  return isShared ? ownCallOf(run, step.call.caller) : index;
}

/**
 * The rank of a station in the order of visiting: that of a tool that visits every sibling, else that of the sidecar; turned round
 * where this tool goes the other way.
 */
function orderOf(run: Run, tally: Tally): (station: number) => number {
  const own = visitsOf(run, tally.tool).map((v) => v.station);
  const wanted = [...tally.siblings.stations.map((s) => s.index), ...own];
  const others = [...new Set(run.visits.map((v) => v.tool))].filter((tool) => tool !== tally.tool);
  // The order of another tool says something only when it goes to every station that is to be put in order.
  const order = others.map((tool) => visitsOf(run, tool).map((v) => v.station)).find((seen) => wanted.every((s) => seen.includes(s)));
  const rank = (station: number): number => order?.indexOf(station) ?? station;
  const ways = own.reduce((sum, s, k) => sum + Math.sign(rank(s) - rank(own[k - 1] ?? s)), 0);
  return (s) => (ways < 0 ? -rank(s) : rank(s));
}

/** Copies the blocks of a sibling's visit, with the missing station's offset, where they stand in one piece before the place. */
function fixOf(cx: RuleContext, station: Station, gap: Gap, chosen: ReadonlyMap<number, Selection>): Fix[] {
  const { run } = cx;
  const index = offsetStepOf(run, gap.like);
  const from = run.steps[index];
  const to = run.steps[gap.step];
  if (gap.next === undefined || from === undefined || to === undefined || from.call !== to.call || from.block.line >= to.block.line)
    return [];
  const steps = run.steps.slice(index, gap.step).filter((s) => s.call === from.call);
  if (steps.some((s) => s.after.toolStep !== from.after.toolStep)) return [];
  // The first visit of a tool also brings the tool to its length; a copy of that is no plain visit, so the next one is copied.
  const startsLength = steps.some((s) => s.block.words.some((w) => w.letter === "G" && (w.value === 43 || w.value === 44)));
  const [first, end, source] = startsLength ? [gap.step, visitEnd(run, gap.step, chosen), gap.next] : [index, gap.step, gap.like];
  const copied = copyOf(cx, first, end, station, chosen);
  if (copied === undefined) return [];
  const { line } = to.block;
  const place = { file: sourceOf(run, to).file, range: { line, column: 0, endLine: line, endColumn: 0 } };
  return [
    {
      title: { key: "fix.visit", args: { station: station.id, like: stationId(cx, source) } },
      changes: [{ place, text: `${copied.join("\n")}\n` }],
      sameMotion: false,
    },
  ];
}

/** Where the visit that a step selects is over: at the next selection, or where the tool's section ends. */
function visitEnd(run: Run, index: number, chosen: ReadonlyMap<number, Selection>): number {
  const next = [...chosen.keys()].find((s) => s > index && run.steps[s]?.call === run.steps[index]?.call);
  return Math.min(next ?? Number.POSITIVE_INFINITY, sectionEnd(run, index));
}

/** The lines of a visit with another station's offset and without block numbers; undefined where they stand in no one piece or compute the offset. */
function copyOf(
  cx: RuleContext,
  index: number,
  end: number,
  station: Station,
  chosen: ReadonlyMap<number, Selection>,
): string[] | undefined {
  const { run } = cx;
  const selection = chosen.get(index);
  const to = run.steps[end];
  if (selection === undefined || to === undefined || station.offset === undefined) return undefined;
  const from = selection.step;
  const changes = reselect(cx, selection, station.offset);
  if (changes === undefined || to.call !== from.call || to.block.line <= from.block.line) return undefined;
  const source = sourceOf(run, from);
  // What follows the last visit (a stop, going home) is no part of a visit.
  const home = source.blocks.findIndex(
    (b) => b.line > from.block.line && b.words.some((w) => NO_VISIT.includes(codeText(w.letter, w.value))),
  );
  const last = home < 0 ? to.block.line : Math.min(home, to.block.line);
  const [head = "", ...rest] = source.lines.slice(from.block.line, last);
  return [applied(head, changes), ...rest].map(unnumbered);
}

/** Codes of blocks that stand behind a tool's visits. */
const NO_VISIT = ["G28", "G30", "M0", "M1", "M2", "M5", "M6", "M9", "M30"];

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
