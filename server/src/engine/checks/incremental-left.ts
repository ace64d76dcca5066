import type { Fix, Related } from "../findings.js";
import type { Step } from "../machine/run.js";
import { insertAt } from "./lib/edits.js";
import { since, unsure, usesOffset } from "./lib/left.js";
import { selections } from "./lib/selection.js";
import { toolWords } from "./lib/words.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** G91 of a reference return is still on where absolute coordinates follow. */
export const incrementalLeft = defineRule({
  id: "incremental-left",
  level: "error",
  summary: "A move that looks absolute while G91 is still in force after a reference return.",
  needs: "program",
  messages: {
    default: "G91 from the reference return is still in force: {tool} moves by these amounts from where it stands, not to them; write G90",
    "related.set": "G91 was set for this return",
    "related.again": "here too",
    "fix.absolute": "Add G90",
  },
  docs: `
\`G91 G28 Z0\` is the usual way home, and G91 stays on. The next coordinates are then taken as distances from the reference position: the
tool runs off into a limit switch, or somewhere else altogether.

It is reported where the block that moves, or one between it and the return, shows that coordinates of a station are meant: a work
offset is selected, length compensation is switched on, the tool is changed, or X and Y are named together. An incremental passage
that sets G91 for itself is left alone.

Write G90 after every reference return.

~~~case
G90 is missing after the return.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G91 G28 Z0
T2 M6
G0 G54 X40 Y10
;^^^^^^^^^^^^^ error incremental-left: G91 from the reference return is still in force
M30
~~~

~~~case
G90 comes back.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G91 G28 Z0
G90 T2 M6
G0 G54 X40 Y10
M30
~~~

~~~case
A pattern in increments, with G90 after it.
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
S2000 M3
G0 G54 X10 Y10
G43 H2 Z50
G98 G81 Z-8 R2 F200
G91 X10
X10
Y10
G90 G80
G91 G28 Z0
M30
~~~
`,
  check(cx) {
    const { run } = cx;
    const offsets = new Set(selections(cx).map((s) => s.index));
    const reports: (Report & { cause: string })[] = [];
    let returned = -1;
    let hint = false;
    run.steps.forEach((step, index) => {
      const { after } = step;
      if (after.absolute || unsure(after, "absolute")) {
        returned = -1;
        hint = false;
        return;
      }
      const moves = run.moves.slice(step.firstMove, step.endMove);
      if (isReturn(cx, step)) {
        const set = since(run, index, (a, b) => a.absolute === b.absolute);
        returned = meantForReturn(cx, set, index) ? index : -1;
        hint = false;
        return;
      }
      if (returned < 0) return;
      if (cx.word(step, "G91") !== undefined) {
        returned = -1;
        return;
      }
      const has = (letter: string): boolean => step.block.words.some((w) => w.letter === letter);
      if (offsets.has(index) || cx.word(step, "G43") !== undefined || step.before.toolStep !== after.toolStep) hint = true;
      // A turn by an amount is what G91 is for; only places in X, Y or Z look absolute.
      if (!has("X") && !has("Y") && !has("Z")) return;
      if (!moves.some((m) => usesOffset(m))) return;
      if (!hint && !(has("X") && has("Y"))) {
        returned = -1;
        return;
      }
      const set = since(run, index, (a, b) => a.absolute === b.absolute);
      const by = run.steps[set];
      // G91 that a called program leaves on is that program's fault.
      if (by !== undefined && by.call.depth > step.call.depth) return;
      const related: Related[] = by === undefined ? [] : [{ place: cx.blockPlace(by), message: { key: "related.set", args: {} } }];
      const first = step.block.words[0];
      const fixes: Fix[] =
        first === undefined
          ? []
          : [{ title: { key: "fix.absolute", args: {} }, changes: [insertAt(cx, step, first.start, "G90 ")], sameMotion: false }];
      const move = moves.find((m) => usesOffset(m));
      const station = move === undefined ? undefined : cx.stationOf(move)?.id;
      reports.push({
        at: cx.blockPlace(step),
        args: { tool: toolWords(cx, after.tool) },
        ...(station === undefined ? {} : { station }),
        related,
        fixes,
        step: index,
        cause: by === undefined ? "start" : `${by.source}:${by.block.line}`,
      });
      // What follows has the same cause.
      returned = -1;
    });
    for (const report of foldByCause(reports, "related.again")) cx.report(report);
  },
});

/** A block that sends axes to a reference position. */
function isReturn(cx: RuleContext, step: Step): boolean {
  return cx.word(step, "G28") !== undefined || cx.word(step, "G30") !== undefined;
}

/** Whether the block that set G91 did it for a return: in the same block, or with nothing but returns moving since. */
function meantForReturn(cx: RuleContext, set: number, index: number): boolean {
  if (set < 0) return false;
  for (let s = set; s <= index; s++) {
    const step = cx.run.steps[s];
    if (step === undefined || isReturn(cx, step)) continue;
    if (step.endMove > step.firstMove && cx.run.moves.slice(step.firstMove, step.endMove).some((m) => usesOffset(m))) return false;
  }
  return true;
}
