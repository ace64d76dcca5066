import type { Fix } from "../findings.js";
import type { Step } from "../machine/run.js";
import { blockAfter, inHabit, wordsBefore } from "./lib/edits.js";
import { gravestOfMoves, incidentsOf } from "./lib/incidents.js";
import { incidentArgs, stepOf } from "./lib/speak.js";
import { coordinate, toolWords } from "./lib/words.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** An absolute reference return goes through its intermediate point, which is in the work. */
export const returnThroughPoint = defineRule({
  id: "return-through-point",
  level: "error",
  summary: "An absolute reference return passes a point inside a solid or below the tool.",
  needs: "program",
  messages: {
    default:
      "in absolute mode the return first goes to the point it names: {tool} goes down {down} to {axis}{level} before it goes home; write G91 {code} {axis}0 and G90 after it",
    solid:
      "in absolute mode the return first goes to the point it names: on that way {tool} comes to the {solid} of {station}; write G91 {code} and G90 after it",
    "related.also-at": "also here",
    "fix.incremental": "Return without an intermediate point (G91), then G90",
  },
  docs: `
\`G28 Z0\` does not mean "home in Z". The axis goes to the named point first, in the coordinates in force, and from there home. In G90 the
point Z0 is the top of the part: the tool plunges to it at rapid before it goes up.

Write \`G91 G28 Z0\`, which names the place where the tool already stands, and G90 after it. An intermediate point above the tool is in
order.

~~~case
Down to the top of the part at rapid.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G28 Z0
;^^^^^ error return-through-point: in absolute mode the return first goes to the point it names: tool 1 goes down 50 mm to Z0
M30
~~~

~~~case
The intermediate point is above.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G28 Z100
M30
~~~

~~~case
Incremental, as it should be.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G91 G28 Z0
G90
M30
~~~
`,
  *check(cx) {
    const hits = gravestOfMoves(yield* incidentsOf(cx), "return-through-point");
    const reports: (Report & { cause: string })[] = [];
    cx.run.moves.forEach((move, n) => {
      if (move.role !== "reference-through" || !move.modal.absolute) return;
      const step = stepOf(cx.run, n);
      if (step === undefined) return;
      const down = move.partFrom[2] - move.partTo[2];
      const below = down > 1e-6;
      const hit = hits.get(n);
      if (!below && hit === undefined) return;
      const p = cx.word(step, "P");
      // Without its P G30 would go to the second reference position, whichever was meant.
      const which = p === undefined || p.expr !== undefined ? "" : ` P${p.value}`;
      const code = cx.word(step, "G30") === undefined ? "G28" : `G30${which}`;
      const station = cx.stationOf(move)?.id;
      reports.push({
        at: cx.blockPlace(step),
        ...(below ? {} : { key: "solid" }),
        args: {
          ...(hit === undefined ? {} : incidentArgs(cx, hit)),
          tool: toolWords(cx, move.modal.tool),
          code,
          axis: "Z",
          down: { mm: down },
          level: coordinate(cx, move.partTo[2]),
        },
        ...(station === undefined ? {} : { station }),
        fixes: fixOf(cx, step),
        data: { down: below ? down : 0, tool: move.modal.tool },
        step: move.step,
        cause: `${step.source}:${step.block.line}`,
      });
    });
    for (const report of foldByCause(reports, "related.also-at")) cx.report(report);
  },
});

/** G91 before the return, its axis words at 0, and G90 in a block behind it. */
function fixOf(cx: RuleContext, step: Step): Fix[] {
  const code = cx.word(step, "G28") ?? cx.word(step, "G30");
  if (code === undefined) return [];
  const axes = step.block.words.filter((w) => "XYZ".includes(w.letter));
  const absolute = cx.word(step, "G90");
  const changes = [
    absolute === undefined ? wordsBefore(cx, step, code.start, "G91") : { place: cx.place(step, absolute), text: inHabit(cx, step, "G91") },
    ...axes.map((w) => ({ place: cx.place(step, w), text: inHabit(cx, step, `${w.letter}0`) })),
  ];
  const after = blockAfter(cx, step, "G90");
  if (after === undefined) return [];
  changes.push(after);
  return [{ title: { key: "fix.incremental", args: {} }, changes, sameMotion: false }];
}
