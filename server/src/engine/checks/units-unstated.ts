import type { Fix, TextChange } from "../findings.js";
import type { Step } from "../machine/run.js";
import type { Word } from "../syntax/block.js";
import { inHabit, wordsBefore } from "./lib/edits.js";
import { defineRule, type RuleContext } from "./rule.js";

/** A program that does not say its units, or says others than the sidecar's. */
export const unitsUnstated = defineRule({
  id: "units-unstated",
  level: "error",
  summary: "The program does not state its units, or states others than the sidecar's.",
  needs: "program",
  messages: {
    default: "no {inch} or {mm} before the first coordinate: the control uses whatever the last program left",
    mismatch: "the program is in {stated}, the sidecar in {wanted}",
    "related.stated": "stated here",
    "fix.own": "Write {code}, if the numbers of the program are meant in {wanted}",
    "fix.state": "State {code}",
  },
  docs: `
A program without G20 or G21 runs in whatever units the last one left. Inch for millimetre puts every position 25.4 times
too far or too near. A program in other units than the sidecar of its fixture was mostly written for another machine.

It is not reported where the dialect itself brings a unit into force at the start. Where the control's default has been
verified, an allow comment says so.

~~~case
No units are stated.
-- use: two-stations --
-- part.nc --
G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X0 Y0
;^^^^^^^^^^^ error units-unstated: no G20 or G21 before the first coordinate
G43 H1 Z50
G91 G28 Z0
M30
-- part.nc after fix 1 --
G17 G40 G49 G80 G90
T1 M6
S4000 M3
G21 G0 G54 X0 Y0
G43 H1 Z50
G91 G28 Z0
M30
~~~

~~~case
The fixture is in millimetres.
-- use: two-stations --
-- part.nc --
G20 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X0 Y0
;^^^^^^^^^^^ error units-unstated: the program is in inch, the sidecar in mm
G43 H1 Z2.
G91 G28 Z0
M30
~~~

~~~case
The default has been verified, and says so.
-- use: two-stations --
-- part.nc --
G17 G40 G49 G80 G90
T1 M6
S4000 M3
(ALLOW units-unstated: control starts in G21, parameter verified)
G0 G54 X0 Y0
;^^^^^^^^^^^ information units-unstated: no G20 or G21
G43 H1 Z50
G91 G28 Z0
M30
~~~

~~~case
A reference return to zero before the units harms nothing.
-- use: two-stations --
-- part.nc --
G91 G28 Z0
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X0 Y0
G43 H1 Z50
G91 G28 Z0
M30
~~~
`,
  check(cx) {
    const { steps } = cx.run;
    let first = -1;
    for (const [index, step] of steps.entries()) {
      if (cx.word(step, "G4") !== undefined) continue;
      const coordinates = step.block.words.filter((w) => "XYZIJKR".includes(w.letter));
      // Other dialects' codes for units, which this one does not know: that they state something is all that is known.
      if (step.block.words.some((w) => w.letter === "G" && FOREIGN.has(cx.value(step, w)) && !cx.profile.codes.has(`G${w.value}`))) return;
      if (coordinates.length === 0) continue;
      if (first < 0 && coordinates.some((w) => "XYZ".includes(w.letter))) first = index;
      // Zero is the same in both units: nothing can have gone wrong up to here.
      if (coordinates.every((w) => cx.value(step, w) === 0) && step.after.units === undefined) continue;
      if (step.after.uncertain?.includes("units") === true) return;
      judge(cx, step.after.units, step.after.units === undefined && first >= 0 ? first : index);
      return;
    }
  },
});

/** Numbers of G codes that state units in other dialects. */
const FOREIGN: ReadonlySet<number> = new Set([70, 71, 700, 710]);

/** The codes that state the units in the dialect: G20 and G21, or those of EIA RS-274-D where it has them. */
function codesOf(cx: RuleContext): Readonly<Record<"mm" | "inch", string>> {
  return cx.profile.codes.has("G71") ? { inch: "G70", mm: "G71" } : { inch: "G20", mm: "G21" };
}

function judge(cx: RuleContext, stated: "mm" | "inch" | undefined, at: number): void {
  const wanted = cx.fixture?.units;
  const step = cx.run.steps[at] as Step;
  if (stated === undefined) {
    const codes = codesOf(cx);
    const code = codes[wanted ?? "mm"];
    const [{ start }] = step.block.words as [Word];
    cx.report({
      at: cx.blockPlace(step),
      args: codes,
      step: at,
      fixes:
        wanted === undefined
          ? []
          : [{ title: { key: "fix.state", args: { code } }, changes: [wordsBefore(cx, step, start, code)], sameMotion: false }],
    });
    return;
  }
  if (wanted === undefined || stated === wanted) return;
  const where = cx.run.steps.find((s) => cx.word(s, codesOf(cx)[stated]) !== undefined);
  cx.report({
    at: cx.blockPlace(step),
    key: "mismatch",
    args: { stated, wanted },
    step: at,
    fixes: mismatchFix(cx, stated, wanted),
    related: where === undefined ? [] : [{ place: cx.blockPlace(where), message: { key: "related.stated", args: {} } }],
  });
}

/** The fixture's unit in every block that states the other one. */
function mismatchFix(cx: RuleContext, stated: "mm" | "inch", wanted: "mm" | "inch"): Fix[] {
  const codes = codesOf(cx);
  const code = codes[wanted];
  const changes = new Map<string, TextChange>();
  for (const step of cx.run.steps) {
    const word = cx.word(step, codes[stated]);
    if (word === undefined) continue;
    // A computed code may state either.
    if (word.expr !== undefined) return [];
    changes.set(`${step.source}:${step.block.line}`, { place: cx.place(step, word), text: inHabit(cx, step, code) });
  }
  return changes.size === 0
    ? []
    : [{ title: { key: "fix.own", args: { code, wanted } }, changes: [...changes.values()], sameMotion: false }];
}
