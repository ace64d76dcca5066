import type { Arg, Fix, TextChange } from "../findings.js";
import type { Block } from "../syntax/block.js";
import { reselect, type Selection, selections, seriesShift } from "./lib/selection.js";
import { defineRule, type RuleContext } from "./rule.js";

/** The program's whole series of offsets lies one register beside the fixture's. */
export const offsetSeries = defineRule({
  id: "offset-series",
  level: "warning",
  summary: "The whole series of work offsets is the fixture's, shifted by one register.",
  messages: {
    default: "the program uses {used}, the stations have {wanted}: the whole series is shifted by one register",
    "related.more": "{offset}",
    "fix.shift": "Shift every offset of the series by one register",
  },
  docs: `
The program counts its stations from another register than the fixture does. Every part but one is cut at its neighbour's
place, and the last offset belongs to nobody. The usual cause is a series written from P1 while the first register was kept
for something else, or the other way round.

A register that is kept on purpose stands under \`datums\` of the sidecar.

~~~case
The stations have G54 to G56, the program G55 to G57.
-- use: three-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G90 G55 X0 Y0
;      ^^^ warning offset-series: the whole series is shifted by one register
G43 H1 Z50
G0 G56 X0 Y0
G0 G57 X0 Y0
G28 G91 Z0
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G90 G54 X0 Y0
G43 H1 Z50
G0 G55 X0 Y0
G0 G56 X0 Y0
G28 G91 Z0
M30
~~~

~~~case
G54 is reserved by declaration, so the series begins at G55.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 } } },
  "fixedJaws": { "fj": { "face": 15 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 40, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": true } } } },
  "stations": [ { "id": "A", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G55", "repeat": { "columns": 3, "rows": 1, "step": [3, 1] } } ],
  "datums": { "G54": "probing" }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G90 G55 X0 Y0
G43 H1 Z50
G0 G56 X0 Y0
G0 G57 X0 Y0
G28 G91 Z0
M30
~~~
`,
  check(cx) {
    const all = selections(cx);
    const series = seriesShift(cx, all);
    if (series === undefined) return;
    const { wanted, targets } = series;
    const own = all.flatMap((selection) => {
      const target = selection.key === undefined ? undefined : targets.get(selection.key);
      return target === undefined ? [] : [{ selection, target }];
    });
    const seen = new Set<Block>();
    const places = own.filter(({ selection: { step } }) => !seen.has(step.block) && seen.add(step.block));
    const [first, ...others] = places.map((p) => p.selection) as [Selection, ...Selection[]];
    const named = (keys: Iterable<string>): Arg => ({ list: [...keys].map((k) => cx.offsetName(k)) });
    cx.report({
      at: first.place,
      args: { used: named(targets.keys()), wanted: named(wanted) },
      step: first.index,
      related: others.map((s) => ({ place: s.place, message: { key: "related.more", args: { offset: cx.offsetName(s.key as string) } } })),
      fixes: fixes(cx, places),
    });
  },
});

/** Every selection with the register that is meant. */
function fixes(cx: RuleContext, places: readonly { readonly selection: Selection; readonly target: string }[]): Fix[] {
  const changes: TextChange[] = [];
  for (const { selection, target } of places) {
    const change = reselect(cx, selection, target);
    if (change === undefined) return [];
    changes.push(...change);
  }
  return [{ title: { key: "fix.shift", args: {} }, changes, sameMotion: false }];
}
