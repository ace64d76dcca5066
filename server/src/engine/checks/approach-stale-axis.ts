import type { Fix, Related } from "../findings.js";
import type { Step } from "../machine/run.js";
import { actingWords } from "./context.js";
import { blockAfter, fixesByBlock, inHabit, programNumber, wordsAfter, wordsBefore } from "./lib/edits.js";
import { findOffsetChanges, unsure } from "./lib/left.js";
import { unitsOf } from "./lib/levels.js";
import { isSameBlock } from "./lib/speak.js";
import { type StaleAxis, staleAxes } from "./lib/stale.js";
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
    same: "{tool} goes down at {station} without {axes}; {axis}{value} happens to be right there too",
    "fix.restate": "Restate {words} at {station}, as it was at {from}",
    "related.down": "it goes down here",
    "related.also-at": "also at {station}",
  },
  docs: `
A new offset moves nothing. An axis that the program does not name stays where the last station left it: the hole or pocket is in the
wrong place, or in a jaw.

Where the stations stand in one row the axis may happen to be right; that is mentioned only as information, since it ends when a
station is moved.

Name both X and Y in the first block under every offset.

The fix restates what the axis had at the last station, in the block that names the other one. It changes no motion only where the two
stations agree exactly.

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
;  ^^^ error approach-stale-axis: tool 2 (drill 6.8) goes down at A2 without Y: it still stands where A1 had it, 150 mm from Y20 of A2; restate Y
G98 G81 X20 Z-8 R2 F200
G80
G28 G91 Z0
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
T2 M6
G0 G54 X20 Y20 S2000 M3
G43 H2 Z50
G98 G81 X20 Y20 Z-8 R2 F200
G80
G0 G55 X20 Y20
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
;  ^^^ information approach-stale-axis: tool 2 (drill 6.8) goes down at A2 without Y; Y20 happens to be right there too
G98 G81 X20 Z-8 R2 F200
G80
G28 G91 Z0
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
T2 M6
G0 G54 X20 Y20 S2000 M3
G43 H2 Z50
G98 G81 X20 Y20 Z-8 R2 F200
G80
G0 G55 X20 Y20
G98 G81 X20 Z-8 R2 F200
G80
G28 G91 Z0
M30
~~~
`,
  *check(cx) {
    const { run } = cx;
    // Looked for by themselves first, so that the wait is cut into pieces.
    yield* findOffsetChanges(cx);
    yield;
    const fixes = fixesByBlock();
    const reports: (Report & { cause: string })[] = [];
    for (const stale of staleAxes(cx)) {
      const { change, down, before, axes, worst, same } = stale;
      const opening = change.move ?? down;
      const station = cx.stationOf(opening)?.id ?? cx.offsetName(opening.modal.offset);
      const step = run.steps[down.step];
      const related: Related[] =
        step === undefined || step === change.step ? [] : [{ place: cx.blockPlace(step), message: { key: "related.down", args: {} } }];
      reports.push({
        at: change.selection?.place ?? cx.blockPlace(change.step),
        ...(same ? { key: "same", level: "information" as const } : {}),
        args: {
          tool: toolWords(cx, down.modal.tool),
          station,
          from: cx.stationOf(before)?.id ?? cx.offsetName(before.modal.offset),
          axes: axes.join(" and "),
          axis: worst.axis,
          value: coordinate(cx, worst.was),
          off: { mm: worst.off },
        },
        station,
        related,
        fixes: fixes(change.step, () => fixOf(cx, stale)),
        data: { axes, off: worst.off },
        step: change.index,
        cause: `${down.modal.tool}|${axes.join()}|${same}|${Math.round(worst.was * 100)}`,
      });
    }
    for (const report of foldByCause(reports, "related.also-at")) cx.report(report);
  },
});

/** Restates the coordinates that the last station had, where they can be named exactly. */
function fixOf(cx: RuleContext, stale: StaleAxis): Fix[] {
  const place = whereOf(cx, stale);
  if (place === undefined) return [];
  const { run } = cx;
  const { index, words, station, from } = place;
  const step = run.steps[index];
  if (step === undefined) return [];
  // The block may be passed at other stations too: what it then names must be the same.
  let off = 0;
  for (const other of staleAxes(cx)) {
    const at = whereOf(cx, other);
    const its = at === undefined ? undefined : run.steps[at.index];
    if (at === undefined || its === undefined || !isSameBlock(its, step)) continue;
    if (at.words !== words) return [];
    off = Math.max(off, other.worst.off);
  }
  const targets = new Set(staleAxes(cx).map((s) => whereOf(cx, s)?.index));
  const others = run.steps.some((s, n) => {
    if (!isSameBlock(s, step) || targets.has(n)) return false;
    const last = run.moves[s.endMove - 1];
    return (
      s.endMove === s.firstMove ||
      last === undefined ||
      stale.axes.some((a) => Math.abs(was(stale, a) - last.partTo[a === "X" ? 0 : 1]) > 1e-6)
    );
  });
  if (others) return [];
  const named = actingWords(step.block).find((w) => w.letter === "X" || w.letter === "Y");
  const change =
    named === undefined
      ? blockAfter(cx, step, words)
      : named.letter === "X"
        ? wordsAfter(cx, step, named.end, words)
        : wordsBefore(cx, step, named.start, words);
  if (change === undefined) return [];
  return [
    {
      title: { key: "fix.restate", args: { words: inHabit(cx, step, words), station, from } },
      changes: [change],
      sameMotion: named !== undefined && off < 1e-9,
    },
  ];
}

function was(stale: StaleAxis, axis: "X" | "Y"): number {
  return stale.before.partTo[axis === "X" ? 0 : 1];
}

/** The step that is to name the axes, and the words; undefined where they would not plainly mean coordinates. */
function whereOf(
  cx: RuleContext,
  stale: StaleAxis,
): { readonly index: number; readonly words: string; readonly station: string; readonly from: string } | undefined {
  const { run } = cx;
  const { change, down, before, axes } = stale;
  let index = change.index;
  if (axes.length === 1) {
    while (index <= down.step && !namesXY(run.steps[index])) index++;
    if (index > down.step) return undefined;
  } else if (change.step.after.motion !== "G0" || change.step.endMove > change.step.firstMove) return undefined;
  const step = run.steps[index];
  const { after } = step ?? change.step;
  const turned = after.rotation !== undefined || after.scaling !== undefined || after.mirror !== undefined || after.polar;
  if (step === undefined || !after.absolute || turned) return undefined;
  if (step.block.words.some((w) => w.letter === "G" && [28, 30, 53].includes(cx.value(step, w)))) return undefined;
  if ((["absolute", "units", "transform", "offset"] as const).some((f) => unsure(after, f))) return undefined;
  const units = unitsOf(cx, after);
  const words: string[] = [];
  for (const axis of axes) {
    const k = axis === "X" ? 0 : 1;
    const value = was(stale, axis) - after.localShift[k] - after.presetShift[k];
    const text = programNumber(value, units);
    // A number that the program could not name exactly would move the work by what is left out.
    if (!(Math.abs(Number(text) * (units === "mm" ? 1 : 25.4) - value) < 1e-6)) return undefined;
    words.push(`${axis}${text}`);
  }
  const name = (m: typeof down): string => cx.stationOf(m)?.id ?? cx.offsetName(m.modal.offset);
  return { index, words: words.join(" "), station: name(change.move ?? down), from: name(before) };
}

function namesXY(step: Step | undefined): boolean {
  return step !== undefined && actingWords(step.block).some((w) => w.letter === "X" || w.letter === "Y");
}
