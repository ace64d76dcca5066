import type { Related } from "../findings.js";
import type { Move } from "../machine/move.js";
import { approachesOf } from "./lib/claims.js";
import { offsetChanges, usesOffset } from "./lib/left.js";
import { coordinate, toolWords } from "./lib/words.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** After a change of the offset the tool goes down while an axis still stands where the last station had it. */
export const approachStaleAxis = defineRule({
  id: "approach-stale-axis",
  level: "error",
  summary: "After an offset change Z goes down before both X and Y are restated.",
  messages: {
    default:
      "{tool} goes down at {station} without {axes}: it still stands where {from} had it, {off} from {axis}{value} of {station}; restate {axes}",
    same: "{tool} goes down at {station} without {axes}; it happens to be the same row, so {axis}{value} is right all the same",
    "related.down": "it goes down here",
    "related.also-at": "also at {station}",
  },
  docs: `
A new offset moves nothing. An axis that the program does not name stays where the last station left it: the hole or pocket is in the
wrong place, or in a jaw.

Where the stations stand in one row the axis may happen to be right; that is mentioned only as information, since it ends when a
station is moved.

Name both X and Y in the first block under every offset.

~~~case
Y is left out, and A2 stands in the next row.
-- fixture.json --
{
  "format": 1,
  "units": "mm",
  "machine": { "dialect": "iso", "home": { "X": 0, "Y": 0, "Z": 0 } },
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "parts": { "bracket": { "ops": { "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "high", "w": "top" }, "reversible": true } } } },
  "stations": [
    { "id": "A", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "bracket", "op": "op10", "offset": "G54",
      "repeat": { "columns": 1, "rows": 2, "step": [3, 3] } }
  ],
  "tools": { "2": { "name": "drill 6.8", "DC": 6.8, "LF": 140, "SIG": 118, "H": 2 } }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
G0 G54 X20 Y20 S2000 M3
G43 H2 Z50
G98 G81 X20 Y20 Z-8 R2 F200
G80
G0 G55 X20
;  ^^^ error approach-stale-axis: tool 2 (drill 6.8) goes down at A2 without Y
G98 G81 X20 Z-8 R2 F200
G80
G28 G91 Z0
M30
~~~

~~~case
Both are restated.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
G0 G54 X20 Y20 S2000 M3
G43 H2 Z50
G98 G81 X20 Y20 Z-8 R2 F200
G80
G0 G55 X20 Y20
G98 G81 X20 Y20 Z-8 R2 F200
G80
G28 G91 Z0
M30
~~~

~~~case
The same row: mentioned, no more.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
G0 G54 X20 Y20 S2000 M3
G43 H2 Z50
G98 G81 X20 Y20 Z-8 R2 F200
G80
G0 G55 X20
;  ^^^ information approach-stale-axis: tool 2 (drill 6.8) goes down at A2 without Y
G98 G81 X20 Z-8 R2 F200
G80
G28 G91 Z0
M30
~~~
`,
  check(cx) {
    const { run, fixture } = cx;
    if (fixture === undefined) return;
    const reports: (Report & { cause: string })[] = [];
    const approaches = new Set(approachesOf(run, cx.profile.lengthBy === "control").map((a) => a.down));
    for (const change of offsetChanges(cx)) {
      const opening = change.move;
      if (opening === undefined) continue;
      const found = look(cx, change.index, approaches);
      if (found === undefined) continue;
      const before = run.moves[run.moves.indexOf(opening) - 1];
      const station = cx.stationOf(opening)?.id ?? cx.offsetName(opening.modal.offset);
      const down = run.steps[found.down.step];
      if (before === undefined || down === undefined) continue;
      const stale = found.axes.map((axis) => {
        const k = axis === "X" ? 0 : 1;
        return { axis, was: before.partTo[k], off: Math.abs(found.down.partTo[k] - before.partTo[k]) };
      });
      const worst = stale.reduce((a, b) => (b.off > a.off ? b : a));
      // Where the axis stands under the new offset is not known: nothing can be said about it.
      if (stale.some((s) => Number.isNaN(s.off))) continue;
      const same = worst.off <= fixture.tolerance[worst.axis] + 1e-6;
      const related: Related[] = down === change.step ? [] : [{ place: cx.blockPlace(down), message: { key: "related.down", args: {} } }];
      reports.push({
        at: change.selection?.place ?? cx.blockPlace(change.step),
        ...(same ? { key: "same", level: "information" as const } : {}),
        args: {
          tool: toolWords(cx, found.down.modal.tool),
          station,
          from: cx.stationOf(before)?.id ?? cx.offsetName(before.modal.offset),
          axes: found.axes.join(" and "),
          axis: worst.axis,
          value: coordinate(cx, worst.was),
          off: { mm: worst.off },
        },
        station,
        related,
        data: { axes: found.axes, off: worst.off },
        step: change.index,
        cause: `${found.down.modal.tool}|${found.axes.join()}|${same}|${stale.map((s) => Math.round(s.was * 100)).join()}`,
      });
    }
    for (const report of foldByCause(reports, "related.also-at")) cx.report(report);
  },
});

/** The first move down into the work under an offset, with the axes that no block has named since the offset changed. */
function look(
  cx: RuleContext,
  offsetStep: number,
  approaches: ReadonlySet<number>,
): { readonly axes: ("X" | "Y")[]; readonly down: Move } | undefined {
  const { run, fixture } = cx;
  const named = new Set<string>();
  const first = run.steps[offsetStep]?.firstMove ?? run.moves.length;
  let last = offsetStep - 1;
  for (let i = first; i < run.moves.length; i++) {
    const move = run.moves[i];
    if (move === undefined || move.modal.offsetStep !== offsetStep) return undefined;
    for (; last < move.step; last++) note(cx, last + 1, named);
    if (named.has("X") && named.has("Y")) return undefined;
    if (!usesOffset(move) || move.kind === "index") continue;
    const cuts = move.kind === "feed" || move.kind === "arc";
    const station = fixture?.stations[move.station];
    // Down to a height above everything is only an approach: the axes may still come.
    const top =
      station === undefined
        ? Number.NEGATIVE_INFINITY
        : station.computed.Z + ((station.stock?.to[2] ?? Number.NaN) - station.seat - zeroHeight(station));
    const low = move.to[2] < move.from[2] - 1e-9 && move.to[2] < top + (fixture?.clearance.rapid ?? 0);
    // How a new tool comes down before X and Y is the matter of approach-low; here it counts when they never come.
    if (!cuts && (!low || approaches.has(i))) continue;
    const axes = (["X", "Y"] as const).filter((a) => !named.has(a));
    return axes.length === 0 ? undefined : { axes, down: move };
  }
  return undefined;
}

/** Height of the part zero above the seat, mm. */
function zeroHeight(station: { readonly zero: readonly [number, number, number]; readonly seat: number }): number {
  return station.zero[2] - station.seat;
}

/** Notes the axes that a step restates in the coordinates of the offset. */
function note(cx: RuleContext, index: number, named: Set<string>): void {
  const step = cx.run.steps[index];
  if (step === undefined) return;
  const moves = cx.run.moves.slice(step.firstMove, step.endMove);
  if (moves.length > 0 && moves.every((m) => !usesOffset(m))) return;
  for (const letter of ["X", "Y"]) if (step.block.words.some((w) => w.letter === letter)) named.add(letter);
  if (step.after.polar && step.block.words.some((w) => w.letter === "X" || w.letter === "Y")) {
    named.add("X");
    named.add("Y");
  }
}
