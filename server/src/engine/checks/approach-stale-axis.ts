import type { Related } from "../findings.js";
import { staleAxes } from "./lib/stale.js";
import { coordinate, toolWords } from "./lib/words.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report } from "./rule.js";

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
    const { run } = cx;
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
        data: { axes, off: worst.off },
        step: change.index,
        cause: `${down.modal.tool}|${axes.join()}|${same}|${Math.round(worst.was * 100)}`,
      });
    }
    for (const report of foldByCause(reports, "related.also-at")) cx.report(report);
  },
});
