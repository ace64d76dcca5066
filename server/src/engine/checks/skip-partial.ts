import type { Related } from "../findings.js";
import type { Run, Step } from "../machine/run.js";
import { usesOffset } from "./lib/left.js";
import { toolWords } from "./lib/words.js";
import { defineRule, type RuleContext } from "./rule.js";

/** With block skip on, an offset or tool is dropped on which later blocks rely. */
export const skipPartial = defineRule({
  id: "skip-partial",
  level: "error",
  summary: "With block skip on, a / block drops an offset or tool that later blocks rely on.",
  needs: "program",
  messages: {
    default:
      "with block skip on, {offset} is not selected here, but line {line} moves all the same, under {instead}: skip that block too, or this one never",
    tool: "with block skip on, {tool} is not changed in here, but line {line} moves all the same, with {instead}: skip that block too, or this one never",
    "related.relies": "this block is not skipped",
  },
  docs: `
The slash leaves out the block that goes to the station, but not those that work there. With the switch on, the tool does the work of this
station at the one before it, or the last tool does the work of the next.

Put the slash on every block of the visit, or on the call that makes it.

~~~case
The cut at A2 is not skipped with its offset.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G1 Z-2 F300
G0 Z50
/ G55 X10 Y10
;^^^^^^^^^^^^ error skip-partial: with block skip on, G55 is not selected here, but line 9 moves all the same, under G54
G1 Z-2 F300
G0 Z50
M30
~~~

~~~case
The whole visit is skipped.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G1 Z-2 F300
G0 Z50
/ G55 X10 Y10
/ G1 Z-2 F300
/ G0 Z50
G28 G91 Z0
M30
~~~

~~~case
The call is skipped, and with it all that it does.
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
M98 P100
/ G55
/ M98 P100
G28 G91 Z0
M30
O100
G90 G0 X10 Y10
Z2
G1 Z-2 F300
G0 Z50
M99
~~~
`,
  check(cx) {
    // The run with block skip off sees every block; it is looked at for what would be missing.
    if (cx.blockSkip) return;
    const { run } = cx;
    const skipped = run.steps.map((s) => isSkipped(run, s));
    if (!skipped.includes(true)) return;
    // The first plain move that relies on each selection, and what else is skipped in between.
    const reported = new Set<string>();
    for (const [what, stepOf] of [
      ["offset", (m: Run["moves"][number]) => m.modal.offsetStep],
      ["tool", (m: Run["moves"][number]) => m.modal.toolStep],
    ] as const) {
      for (const move of run.moves) {
        const by = stepOf(move);
        const step = run.steps[by];
        if (by < 0 || step === undefined || skipped[by] !== true || skipped[move.step] === true || !usesOffset(move)) continue;
        // An index does not mean the station, unless its offset holds the angle.
        if (what === "offset" && move.kind === "index" && cx.fixture?.machine.rotary?.inOffset !== true) continue;
        if (what === "offset" ? step.before.offset === step.after.offset : step.before.tool === step.after.tool) continue;
        const key = `${what} ${step.source}:${step.block.line}`;
        if (reported.has(key)) continue;
        reported.add(key);
        report(cx, what, by, step, move.step);
      }
    }
  },
});

/** A block behind a slash, or one of a program that such a block calls. */
function isSkipped(run: Run, step: Step): boolean {
  let at: Step | undefined = step;
  for (let depth = 0; at !== undefined && depth < 64; depth++) {
    if (at.block.skip !== undefined) return true;
    at = at.call.caller < 0 ? undefined : run.steps[at.call.caller];
  }
  return false;
}

function report(cx: RuleContext, what: "offset" | "tool", by: number, step: Step, relies: number): void {
  const next = cx.run.steps[relies];
  if (next === undefined) return;
  const related: Related[] = [{ place: cx.blockPlace(next), message: { key: "related.relies", args: {} } }];
  const line = next.block.line + 1;
  const first = cx.run.moves.find((m) => m.step === relies);
  const station = first === undefined ? undefined : cx.stationOf(first)?.id;
  cx.report({
    at: cx.blockPlace(step),
    ...(what === "tool" ? { key: "tool" } : {}),
    args:
      what === "tool"
        ? { tool: toolWords(cx, step.after.tool), line, instead: toolWords(cx, step.before.tool) }
        : { offset: cx.offsetName(step.after.offset), line, instead: cx.offsetName(step.before.offset) },
    ...(station === undefined ? {} : { station }),
    related,
    step: by,
  });
}
