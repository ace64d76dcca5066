import type { Fix } from "../findings.js";
import type { Fixture } from "../fixture/model.js";
import type { Step } from "../machine/run.js";
import type { Word } from "../syntax/block.js";
import type { Place } from "../text/place.js";
import { inHabit, programNumber } from "./lib/edits.js";
import { AXES, stationsOfRegister, toleranceOf, wantedContent } from "./lib/stored.js";
import { defineRule, type RuleContext } from "./rule.js";

/** A G10 line that writes over a correction which was measured at the first article. */
export const offsetValueOverwritten = defineRule({
  id: "offset-value-overwritten",
  level: "warning",
  summary: "A G10 block overwrites a station that carries a trim with the value without it.",
  messages: {
    default: "{offset} carries a trim of {trim} in {axis}; this block writes the value without it, so the correction is lost",
    "related.trim": "the trim",
    "fix.add": "Add the trim: {word}",
  },
  docs: `
A trim is what the first article showed to be missing. A G10 block in the cycle puts the register back to the drawing's
value, and the next parts are off by the trim again.

~~~case
The trim of G55 X is not in the value.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 } } },
  "fixedJaws": { "fj": { "face": 15 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 40, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": true } } } },
  "stations": [ { "id": "A", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54", "repeat": { "columns": 2, "rows": 1, "step": [3, 1] } } ],
  "offsets": { "trim": { "G55": { "X": 0.015 } } }
}
-- part.nc --
G21 G90
G10 L2 P1 X-650. Y-385. Z-345.
G10 L2 P2 X-500. Y-385. Z-345.
;         ^^^^^^ warning offset-value-overwritten: G55 carries a trim of 0.015 mm in X
M30
-- part.nc after fix 1 --
G21 G90
G10 L2 P1 X-650. Y-385. Z-345.
G10 L2 P2 X-499.985 Y-385. Z-345.
M30
~~~

~~~case
The value holds the trim already.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 } } },
  "fixedJaws": { "fj": { "face": 15 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 40, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": true } } } },
  "stations": [ { "id": "A", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54", "repeat": { "columns": 2, "rows": 1, "step": [3, 1] } } ],
  "offsets": { "trim": { "G55": { "X": 0.015 } } }
}
-- part.nc --
G21 G90
G10 L2 P1 X-650. Y-385. Z-345.
G10 L2 P2 X-499.985 Y-385. Z-345.
M30
~~~
`,
  check(cx) {
    const { fixture } = cx;
    if (fixture === undefined) return;
    for (const write of cx.run.writes) {
      if (write.incremental && cx.profile.g10Incremental) continue;
      const step = cx.run.steps[write.step] as Step;
      for (const station of stationsOfRegister(cx, write.register)) {
        for (const letter of AXES) {
          const trim = station.trim[letter] ?? 0;
          const axis = write.axes.get(letter);
          const wanted = wantedContent(cx, station, letter, write.step);
          if (axis === undefined || wanted === undefined || Math.abs(trim) < 1e-9) continue;
          const off = axis.result - wanted;
          // Beyond the tolerance it is another fault; nearer to the trimmed value the trim is in it.
          if (Number.isNaN(off) || Math.abs(off) > toleranceOf(fixture, letter) || Math.abs(off) <= Math.abs(off + trim)) continue;
          const word = step.block.words[axis.wordIndex];
          cx.report({
            at: cx.place(step, word),
            args: { offset: cx.offsetName(write.register), axis: letter, trim: { mm: trim } },
            station: station.id,
            step: write.step,
            related: [{ place: trimPlace(fixture, write.register, letter), message: { key: "related.trim", args: {} } }],
            fixes: word === undefined || word.expr !== undefined ? [] : [fix(cx, step, word, letter, wanted)],
            data: { axis: letter, trim },
          });
        }
      }
    }
  },
});

/** Where the sidecar gives the trim of an axis. */
function trimPlace(fixture: Fixture, register: string, letter: string): Place {
  return fixture.placeOf(["offsets", "trim", fixture.offsetName(register), letter]);
}

/** The word with the value that the trim is in. */
function fix(cx: RuleContext, step: Step, word: Word, letter: string, wanted: number): Fix {
  const text = `${letter}${programNumber(wanted, step.after.units ?? cx.fixture?.units ?? "mm")}`;
  return {
    title: { key: "fix.add", args: { word: text } },
    changes: [{ place: cx.place(step, word), text: inHabit(cx, step, text) }],
    sameMotion: false,
  };
}
