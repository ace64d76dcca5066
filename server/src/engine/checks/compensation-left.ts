import type { Related } from "../findings.js";
import { since, unsure } from "./lib/left.js";
import { paced } from "./lib/paced.js";
import { selections } from "./lib/selection.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report } from "./rule.js";

/** Cutter compensation still in force when the station, the tool or the face changes. */
export const compensationLeft = defineRule({
  id: "compensation-left",
  level: "error",
  summary: "G41 or G42 is in force when the work offset, the tool or the rotary angle changes.",
  needs: "program",
  messages: {
    default:
      "{code} is still in force when {what} changes: the control offsets the way there as if it were part of the contour; G40 on a lead-out first",
    "related.on": "{code} was switched on here",
    "related.again": "here too",
  },
  docs: `
With cutter compensation on, the control looks ahead and joins the last contour with whatever moves next: with the way to the next
station, or with the first move of the next tool and its other radius. It alarms, or it gouges the part on the way out.

Cancel with G40 on a lead-out of at least the radius before anything changes.

~~~case
No G40 before the next station.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X-20 Y-20
G43 H1 Z5
G1 Z-3 F300
G41 D1 X0 Y-10
Y40
G0 Z50
G55 X-20 Y-20
;^^ error compensation-left: G41 is still in force when the work offset changes
G40
M30
~~~

~~~case
Cancelled on the lead-out.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X-20 Y-20
G43 H1 Z5
G1 Z-3 F300
G41 D1 X0 Y-10
Y40
G40 X-20 Y50
G0 Z50
G55 X-20 Y-20
M30
~~~
`,
  *check(cx) {
    const chosen = new Map(selections(cx).map((s) => [s.index, s]));
    const reports: (Report & { cause: string })[] = [];
    yield* paced(cx.run.steps, (step, index) => {
      const { before, after } = step;
      if (before.compensation === 40 || after.compensation === 40) return;
      if (unsure(before, "compensation") || unsure(after, "compensation")) return;
      const offset = before.offset !== after.offset && !unsure(before, "offset") && !unsure(after, "offset");
      const tool = before.toolStep !== after.toolStep;
      const rotary = before.rotary !== after.rotary && !Number.isNaN(before.rotary) && !Number.isNaN(after.rotary);
      if (!offset && !tool && !rotary) return;
      const what = offset ? "the work offset" : tool ? "the tool" : "the rotary angle";
      const code = `G${after.compensation}`;
      const cause = since(cx.run, index - 1, (a, b) => a.compensation === b.compensation);
      const by = cx.run.steps[cause];
      if (by === undefined) return;
      const related: Related[] = [{ place: cx.blockPlace(by), message: { key: "related.on", args: { code } } }];
      const move = cx.run.moves[step.firstMove];
      const station = move === undefined ? undefined : cx.stationOf(move)?.id;
      reports.push({
        at: (offset ? chosen.get(index)?.place : undefined) ?? cx.blockPlace(step),
        args: { code, what },
        ...(station === undefined ? {} : { station }),
        related,
        step: index,
        cause: `${by.source}:${by.block.line}`,
      });
    });
    for (const report of foldByCause(reports, "related.again")) cx.report(report);
  },
});
