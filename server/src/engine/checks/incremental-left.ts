import type { Fix, Related } from "../findings.js";
import type { Step } from "../machine/run.js";
import { actingWords } from "./context.js";
import { wordsBefore } from "./lib/edits.js";
import { findIncrementalFaults, incrementalFaults } from "./lib/increments.js";
import { usesOffset } from "./lib/left.js";
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
offset is selected, length compensation is switched on, the tool is changed, or X and Y are named together. A rotary word looks absolute
when it is 0, or when it is the angle of a face. An incremental passage that sets G91 for itself is left alone.

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
  *check(cx) {
    const { run } = cx;
    yield* findIncrementalFaults(cx);
    const reports: (Report & { cause: string })[] = [];
    for (const fault of incrementalFaults(cx)) {
      const step = run.steps[fault.step];
      if (step === undefined) continue;
      const by = run.steps[fault.set];
      const related: Related[] = by === undefined ? [] : [{ place: cx.blockPlace(by), message: { key: "related.set", args: {} } }];
      const back = backAt(cx, fault.set, fault.step, step);
      const first = back.block.words[0];
      const fixes: Fix[] =
        first === undefined
          ? []
          : [{ title: { key: "fix.absolute", args: {} }, changes: [wordsBefore(cx, back, first.start, "G90")], sameMotion: false }];
      const move = run.moves.slice(step.firstMove, step.endMove).find((m) => usesOffset(m));
      const station = move === undefined ? undefined : cx.stationOf(move)?.id;
      reports.push({
        at: cx.blockPlace(step),
        args: { tool: toolWords(cx, step.after.tool) },
        ...(station === undefined ? {} : { station }),
        related,
        fixes,
        step: fault.step,
        cause: by === undefined ? "start" : `${by.source}:${by.block.line}`,
      });
    }
    for (const report of foldByCause(reports, "related.again")) cx.report(report);
  },
});

/** Codes whose axis words are not read as a way to go under G90 or G91, or that go to the reference position. */
const OTHER = ["G4", "G10", "G28", "G30", "G52", "G53", "G92"];

/** The block that G90 belongs to: the first one with an axis after the return, be it only the rotary one, up to the one at fault. */
function backAt(cx: RuleContext, set: number, to: number, fault: Step): Step {
  for (let s = Math.max(set + 1, 0); s < to; s++) {
    const step = cx.run.steps[s];
    if (step === undefined || step.call !== fault.call || OTHER.some((code) => cx.word(step, code) !== undefined)) continue;
    if (step.block.skip === undefined && actingWords(step.block).some((w) => "XYZABC".includes(w.letter))) return step;
  }
  return fault;
}
