import type { RegisterWrite, Step } from "../machine/run.js";
import { inHabit, wordsBefore } from "./lib/edits.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** G10 under G91: the control adds instead of setting. */
export const offsetIncremental = defineRule({
  id: "offset-incremental",
  level: "error",
  summary: "A G10 block under G91, where the control adds to what the register holds.",
  needs: "program",
  onSubprograms: true,
  messages: {
    default: "G91 is in force, so the control adds these values to what the register {register} holds instead of setting it",
    "related.mode": "G91 is set here",
    "related.more": "{register} too",
    "fix.absolute": "Write G90 in this block",
  },
  docs: `
Under G91 this control adds the values of a G10 block to the register. Run twice, the offset stands twice as far away. It
mostly happens where a reference return \`G91 G28 Z0\` stands before the block of offsets.

An increment that is meant is declared by an allow comment with its reason.

~~~case
G91 is left from the reference return.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
G91 G28 Z0
G10 L2 P1 X-680. Y-385. Z-345.
;^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ error offset-incremental: G91 is in force, so the control adds these values to what the register G54 holds instead of setting it
G10 L2 P2 X-530. Y-385. Z-345.
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
G91 G28 Z0
G90 G10 L2 P1 X-680. Y-385. Z-345.
G10 L2 P2 X-530. Y-385. Z-345.
M30
~~~

~~~case
A declared increment, and a block that says G90 itself.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
G91 G28 Z0
G10 L2 P1 Z0.02 (ALLOW offset-incremental: worn parallels, added once a shift by the setter)
;^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ information offset-incremental: G91 is in force, so the control adds these values to what the register G54 holds instead of setting it [allowed: worn parallels, added once a shift by the setter]
G90 G10 L2 P2 X-530. Y-385. Z-345.
M30
~~~
`,
  check(cx) {
    if (!cx.profile.g10Incremental) return;
    const reports: (Report & { cause: string })[] = [];
    for (const write of cx.run.writes) {
      if (!write.incremental || Number.isNaN(write.l) || write.register === "out-of-range") continue;
      const step = cx.run.steps[write.step] as Step;
      const mode = setAt(cx, write.step);
      const modeStep = cx.run.steps[mode] as Step;
      reports.push({
        at: cx.blockPlace(step),
        args: { register: registerName(cx, write) },
        step: write.step,
        cause: String(mode),
        related: mode === write.step ? [] : [{ place: cx.blockPlace(modeStep), message: { key: "related.mode", args: {} } }],
        fixes: fixes(cx, step),
      });
    }
    for (const report of foldByCause(reports, "related.more")) cx.report(report);
  },
});

/** G90 in the place of the block's own G91, else before its G10. */
function fixes(cx: RuleContext, step: Step): NonNullable<Report["fixes"]> {
  const own = cx.word(step, "G91");
  const column = cx.word(step, "G10")?.start ?? step.block.start;
  const change = own === undefined ? wordsBefore(cx, step, column, "G90") : { place: cx.place(step, own), text: inHabit(cx, step, "G90") };
  return [{ title: { key: "fix.absolute", args: {} }, changes: [change], sameMotion: false }];
}

/** The step that brought G91 into force for this one. */
function setAt(cx: RuleContext, index: number): number {
  let i = index;
  while (cx.run.steps[i]?.before.absolute === false) i--;
  return i;
}

/** A register as it is shown. */
function registerName(cx: RuleContext, write: RegisterWrite): string {
  const [kind, number] = write.register.split(":");
  if (kind === "shift") return "common shift";
  if (kind === "length") return `length H${number}`;
  if (kind === "radius") return `radius D${number}`;
  return cx.offsetName(write.register);
}
