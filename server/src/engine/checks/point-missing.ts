import type { Step } from "../machine/run.js";
import type { Word } from "../syntax/block.js";
import { sourceOf } from "./context.js";
import { insertAt } from "./lib/edits.js";
import { defineRule, type RuleContext } from "./rule.js";

/** A number without a decimal point where the dialect counts increments. */
export const pointMissing = defineRule({
  id: "point-missing",
  level: "error",
  summary: "A number without a decimal point where the dialect counts it in increments.",
  needs: "program",
  onSubprograms: true,
  messages: {
    default: "{word} has no decimal point, so this control reads it as {read}",
    "related.more": "{word} is read as {read}",
    "fix.point": "Write {text}",
  },
  docs: `
On a control that counts increments, \`X50\` is fifty thousandths. A number that lost its point moves the tool next to
nowhere, or a feed-in of \`Z-5\` becomes a scratch.

It is reported only in dialects with \`wholeNumber: "increment"\`, and only where the program writes other coordinates with a
point: one that never does means its increments.

~~~case
Z lost its point.
-- options --
ignore: offset-unmapped
-- fixture.json --
{
  "format": 1, "units": "mm",
  "machine": { "dialect": { "extends": "iso", "wholeNumber": "increment" } },
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 } } },
  "fixedJaws": { "fj": { "face": 15 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 40, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": true } } } },
  "stations": [ { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54" } ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10.5 Y0
G43 H1 Z50
;      ^^^ error point-missing: Z50 has no decimal point, so this control reads it as 0.05 mm
G91 G28 Z0
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10.5 Y0
G43 H1 Z50.
G91 G28 Z0
M30
~~~

~~~case
This dialect reads a whole number as the unit itself; T, S, P and N never take a point.
-- use: two-stations --
-- part.nc --
N10 G21 G17 G40 G49 G80 G90
N20 T1 M6
N30 S4000 M3
N40 G0 G54 X10.5 Y0
N50 G43 H1 Z50
N60 G4 P500
N70 G91 G28 Z0
N80 M30
~~~
`,
  check(cx) {
    const { profile, run } = cx;
    if (profile.wholeNumber !== "increment") return;
    const seen = new Set<Step["block"]>();
    const bare: { step: Step; index: number; word: Word }[] = [];
    let pointed = false;
    run.steps.forEach((step, index) => {
      if (seen.has(step.block)) return;
      seen.add(step.block);
      for (const word of step.block.words) {
        if (!isLength(cx, step, word)) continue;
        if (word.point) pointed = true;
        else if (word.expr === undefined && word.value !== 0) bare.push({ step, index, word });
      }
    });
    if (!pointed) return;
    for (const { step, index, word } of bare) {
      const text = sourceText(cx, step, word);
      const inch = (step.after.units ?? cx.fixture?.units) === "inch";
      const amount = word.value * profile.increment;
      const read = "ABC".includes(word.letter) ? { deg: amount } : { mm: amount * (inch ? 25.4 : 1) };
      cx.report({
        at: cx.place(step, word),
        args: { word: text, read },
        step: index,
        ...(bare.length > 20 ? { cause: "many", relatedKey: "related.more" } : {}),
        fixes: [
          { title: { key: "fix.point", args: { text: `${text}.` } }, changes: [insertAt(cx, step, word.end, ".")], sameMotion: false },
        ],
      });
    }
  },
});

/** A word whose number is a length or an angle here: not a dwell time and not a repeat. */
function isLength(cx: RuleContext, step: Step, word: Word): boolean {
  if (!cx.profile.incrementLetters.includes(word.letter)) return false;
  if (cx.word(step, "G4") !== undefined) return false;
  const repeats = cx.profile.repeatLetters.includes(word.letter) && /^G(7[346]|8[1-9])$/.test(step.after.motion);
  return !repeats;
}

function sourceText(cx: RuleContext, step: Step, word: Word): string {
  return (sourceOf(cx.run, step).lines[step.block.line] as string).slice(word.start, word.end);
}
