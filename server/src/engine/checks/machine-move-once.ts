import type { Fix, Related } from "../findings.js";
import type { Step } from "../machine/run.js";
import { wordsBefore } from "./lib/edits.js";
import { paced } from "./lib/paced.js";
import { selections } from "./lib/selection.js";
import { coordinate } from "./lib/words.js";
import { defineRule, type RuleContext } from "./rule.js";

/** The block after G53 repeats its coordinate as if G53 were still in force. */
export const machineMoveOnce = defineRule({
  id: "machine-move-once",
  level: "warning",
  summary: "The block after G53 repeats its coordinate as if G53 were modal.",
  needs: "program",
  messages: {
    default: "G53 holds for one block only: this {axis}{value} is a coordinate of the work offset, not of the machine",
    "related.machine": "the machine coordinate of the block before",
    "fix.repeat": "Add G53",
  },
  docs: `
G53 is not modal. The block behind it is back in the work offset, and the same number means another place: instead of staying at the top
of the machine the tool goes to the top of the part, or wherever that number lies.

Repeat G53 in every block that means the machine. Another number, or a block that selects a work offset, is plainly meant for the part
and not reported.

~~~case
Z0 was meant in machine coordinates.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G53 Z0
X100 Z0
;^^^^^^ warning machine-move-once: G53 holds for one block only: this Z0 is a coordinate of the work offset
M30
~~~

~~~case
A coordinate of the part, plainly.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G53 Z0
X100 Y20
Z2
M30
~~~

~~~case
The next station is selected, so the same number is meant for it.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G53 X0 Y0
G54 X0 Y0
G43 H1 Z50
M30
~~~
`,
  *check(cx) {
    const { run } = cx;
    const offsets = new Set(selections(cx).map((s) => s.index));
    let machine: Step | undefined;
    yield* paced(run.steps, (step, index) => {
      const axisWords = step.block.words.filter((w) => "XYZ".includes(w.letter));
      if (cx.word(step, "G53") !== undefined) {
        machine = axisWords.length > 0 ? step : undefined;
        return;
      }
      if (machine === undefined) return;
      // A new offset or a new tool begins something else; so does a block that takes its axis words for another purpose.
      if (offsets.has(index) || step.before.toolStep !== step.after.toolStep || step.before.absolute !== step.after.absolute) {
        machine = undefined;
        return;
      }
      if (axisWords.length === 0) return;
      const before = machine;
      machine = undefined;
      if (takesAxes(cx, step) || !step.after.absolute || step.block.problems.length > 0) return;
      const again = axisWords.find((w) => {
        const old = before.block.words.find((o) => o.letter === w.letter);
        return old !== undefined && cx.value(before, old) === cx.value(step, w);
      });
      if (again === undefined) return;
      const related: Related[] = [{ place: cx.blockPlace(before), message: { key: "related.machine", args: {} } }];
      const first = step.block.words[0];
      const fixes: Fix[] =
        first === undefined
          ? []
          : [{ title: { key: "fix.repeat", args: {} }, changes: [wordsBefore(cx, step, first.start, "G53")], sameMotion: false }];
      const move = run.moves[step.firstMove];
      const station = move === undefined ? undefined : cx.stationOf(move)?.id;
      const value = cx.value(step, again);
      cx.report({
        at: cx.blockPlace(step),
        args: { axis: again.letter, value: Number.isNaN(value) ? "" : coordinateAsWritten(cx, value) },
        ...(station === undefined ? {} : { station }),
        related,
        fixes,
        step: index,
      });
    });
  },
});

/** A number as the program has it, whatever the units. */
function coordinateAsWritten(cx: RuleContext, value: number): string {
  return coordinate(cx, cx.fixture?.units === "inch" ? value * 25.4 : value);
}

/** Codes that use the axis words of their block for something that is no plain move. */
function takesAxes(cx: RuleContext, step: Step): boolean {
  return step.block.words.some((w) => {
    // An L says that the block is a call or something of the control's own.
    if (w.letter === "L") return true;
    if (w.letter !== "G") return false;
    const value = Math.round(cx.value(step, w) * 10) / 10;
    return [4, 10, 28, 30, 31, 50, 51, 51.1, 50.1, 52, 65, 66, 68, 92].includes(value);
  });
}
