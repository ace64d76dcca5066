import type { Fix, Related } from "../findings.js";
import type { Modal } from "../machine/move.js";
import type { Step } from "../machine/run.js";
import { blockBefore } from "./lib/edits.js";
import { since, unsure } from "./lib/left.js";
import { paced } from "./lib/paced.js";
import { selections } from "./lib/selection.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** A canned cycle is still on where the program goes on to something else. */
export const cycleLeft = defineRule({
  id: "cycle-left",
  level: "warning",
  summary: "A canned cycle is still on when the work offset changes, or where plain moves follow.",
  needs: "program",
  messages: {
    default: "{cycle} is still on when {offset} is selected: the next block with an axis word drills a hole; write G80 first",
    plain: "{cycle} is still on: this block is meant as a plain move, but the control takes it as another hole; write G80 first",
    tool: "{cycle} of the tool before is still on: this block drills a hole with the new tool; write G80 before the tool change",
    "related.cycle": "{cycle} was switched on here",
    "related.again": "here too",
    "fix.cancel": "Cancel the cycle first (G80)",
  },
  docs: `
A canned cycle stays on until G80 or another code of the same group. While it is on, every block with an axis word is a hole: on the way
to the next station, at the retract, under the next tool.

Write G80 after the last hole. \`G0\` or \`G1\` with the next move ends the cycle as well, and is not reported.

~~~case
The cycle is still on when the station changes.
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
S2000 M3
G0 G54 X10 Y10
G43 H2 Z50
G98 G81 X10 Y10 Z-8 R2 F200
X40
G55 X10 Y10
;^^ warning cycle-left: G81 is still on when G55 is selected: the next block with an axis word drills a hole; write G80 first
X40
G80
M30
~~~

~~~case
The retract is taken as a hole.
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
S2000 M3
G0 G54 X10 Y10
G43 H2 Z50
G98 G81 X10 Y10 Z-8 R2 F200
X40
Z100
;^^^ warning cycle-left: G81 is still on: this block is meant as a plain move, but the control takes it as another hole; write G80 first
G80
M30
~~~

~~~case
G0 ends the cycle.
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
S2000 M3
G0 G54 X10 Y10
G43 H2 Z50
G98 G81 X10 Y10 Z-8 R2 F200
X40
G0 G55 X10 Y10
G81 X10 Y10 Z-8 R2 F200
X40
G0 Z100
M30
~~~
`,
  *check(cx) {
    const { run } = cx;
    const chosen = new Map(selections(cx).map((s) => [s.index, s]));
    const reports: (Report & { cause: string })[] = [];
    yield* paced(run.steps, (step, index) => {
      const { before, after } = step;
      if (!isCycle(before.motion) || unsure(before, "motion") || unsure(after, "motion")) return;
      const found = look(cx, index);
      if (found === undefined) return;
      const cause = since(run, index - 1, (a, b) => a.motion === b.motion);
      const by = run.steps[cause];
      if (by === undefined) return;
      const cycle = before.motion;
      const related: Related[] = [{ place: cx.blockPlace(by), message: { key: "related.cycle", args: { cycle } } }];
      const move = run.moves[step.firstMove];
      const station = move === undefined ? undefined : cx.stationOf(move)?.id;
      const fixes: Fix[] = [{ title: { key: "fix.cancel", args: {} }, changes: [blockBefore(cx, step, "G80")], sameMotion: false }];
      reports.push({
        at: (found === "default" ? chosen.get(index)?.place : undefined) ?? cx.blockPlace(step),
        key: found,
        args: { cycle, offset: cx.offsetName(after.offset) },
        ...(station === undefined ? {} : { station }),
        related,
        fixes,
        step: index,
        cause: `${by.source}:${by.block.line}`,
      });
    });
    for (const report of foldByCause(reports, "related.again")) cx.report(report);
  },
});

function isCycle(motion: string): motion is Modal["motion"] {
  return /^G(7[346]|8[1-9])$/.test(motion);
}

/** What is wrong with a step that begins in a cycle, if anything. */
function look(cx: RuleContext, index: number): "default" | "plain" | "tool" | undefined {
  const step = cx.run.steps[index];
  if (step === undefined) return undefined;
  const { before, after } = step;
  // Another code of the group in the same block ends or renews the cycle.
  if (statesMotion(cx, step)) return undefined;
  if (before.offset !== after.offset && isCycle(after.motion) && !unsure(after, "offset"))
    return endsFirst(cx, index) ? undefined : "default";
  const words = step.block.words;
  const has = (letter: string): boolean => words.some((w) => w.letter === letter);
  const onlyZ = before.plane === 17 && has("Z") && !has("R") && !has("X") && !has("Y") && !words.some((w) => w.letter === "G");
  // The machine refuses a hole whose bottom is above R: what was meant is a retract.
  if (step.endMove <= step.firstMove) return onlyZ ? "plain" : undefined;
  const moves = cx.run.moves.slice(step.firstMove, step.endMove);
  if (!moves.some((m) => m.role.startsWith("cycle-"))) return undefined;
  // The first hole of a tool that never asked for a cycle.
  const on = since(cx.run, index - 1, (a, b) => a.motion === b.motion);
  if (on >= before.toolStep) return undefined;
  const earlier = cx.run.moves.slice(0, step.firstMove).some((m) => m.modal.toolStep === before.toolStep && m.role.startsWith("cycle-"));
  return earlier ? undefined : "tool";
}

/**
 * Whether G80 itself comes before anything moves. A G0 or G1 there would end the cycle as well, but it stands for the way to
 * the part and not for the end of the cycle: it is left out wherever the same position is kept.
 */
function endsFirst(cx: RuleContext, index: number): boolean {
  const { steps } = cx.run;
  const next = steps.find((s, i) => i >= index && (statesMotion(cx, s) || s.endMove > s.firstMove));
  return next !== undefined && next.call === steps[index]?.call && codesOf(cx, next).includes(80);
}

/** The codes of the group that a block states. */
function codesOf(cx: RuleContext, step: Step): number[] {
  const codes = [0, 1, 2, 3, 73, 74, 76, 80, 81, 82, 83, 84, 85, 86, 87, 88, 89];
  return step.block.words.flatMap((w) => {
    const code = w.letter === "G" ? Math.round(cx.value(step, w) * 10) / 10 : Number.NaN;
    return codes.includes(code) ? [code] : [];
  });
}

function statesMotion(cx: RuleContext, step: Step): boolean {
  return codesOf(cx, step).length > 0;
}
