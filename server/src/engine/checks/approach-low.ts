import type { Related } from "../findings.js";
import { approachesOf } from "./lib/claims.js";
import { type Incident, incidentsOf } from "./lib/incidents.js";
import { incidentArgs, incidentData, RELATED_TEXTS, stepOf } from "./lib/speak.js";
import { coordinate } from "./lib/words.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report } from "./rule.js";

/** The first way down of a tool ends too low, or comes before X and Y. */
export const approachLow = defineRule({
  id: "approach-low",
  level: "error",
  summary: "The first Z under length compensation is lower than what stands there, or comes before X and Y.",
  messages: {
    default: "{station}: the first Z of {tool} goes to Z{level}, {depth} into the {solid}; approach to a height above everything first",
    across:
      "{station}: {tool} is sent down to Z{level} before X and Y, and then goes {depth} into the {solid} on the way to {to}; X and Y first, or a higher Z",
    near: "{station}: {tool} is sent down to Z{level} before X and Y, and then passes {distance} from the {solid} on the way to {to}, where {clearance} must be kept; X and Y first, or a higher Z",
    "related.across": "this move goes across",
    ...RELATED_TEXTS,
  },
  docs: `
After a tool change the new tool comes down at rapid for the first time, with a length that has perhaps just been set. If that first Z
goes down to the work, or the tool goes down first and across afterwards, there is no height at which the operator can stop and look.

The first Z under length compensation is compared with what stands under the tool at that place, and the moves across that follow it at
the same height with what stands in their way. An approach in Z before X and Y is in order while it stays above everything on that way.

Send the tool to X and Y first, then to a height above the jaws, then to the R plane.

~~~case
Z comes before X and Y and the stock is in the way.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G28 X0 Y0
G90 T1 M6
S4000 M3
G0 G54 G43 H1 Z-5
;^^^^^^^^^^^^^^^^ error approach-low: A1: tool 1 (end mill 10) is sent down to Z-5 before X and Y, and then goes 5 mm into the stock on the way to X-10 Y20; X and Y first, or a higher Z
X-10 Y20
G1 X40 F500
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
Z first, but high above everything.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G28 X0 Y0
G90 T1 M6
S4000 M3
G0 G54 G43 H1 Z50
X-10 Y20
Z-5
G1 X40 F500
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
Down to 2 mm above the hole at once, where nothing stands higher.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
S2000 M3
G0 G54 X20 Y20
G43 H2 Z2
G99 G81 X20 Y20 Z-8 R2 F200
G80
G0 Z50
G28 G91 Z0
M30
~~~
`,
  *check(cx) {
    const hits = new Map<number, Incident>();
    for (const i of yield* incidentsOf(cx)) if (i.rule === "approach-low" && !hits.has(i.move)) hits.set(i.move, i);
    const reports: (Report & { cause: string })[] = [];
    for (const a of approachesOf(cx.run, cx.profile.lengthBy === "control")) {
      const down = hits.get(a.down);
      const hit = down ?? a.across.map((m) => hits.get(m)).find((i) => i !== undefined);
      const move = cx.run.moves[a.down];
      const step = stepOf(cx.run, a.down);
      if (hit === undefined || move === undefined || step === undefined) continue;
      const across = down === undefined ? stepOf(cx.run, hit.move) : undefined;
      const related: Related[] =
        across === undefined ? [] : [{ place: cx.blockPlace(across), message: { key: "related.across", args: {} } }];
      const at = cx.run.moves[hit.move];
      const station = at === undefined ? undefined : cx.stationOf(at)?.id;
      reports.push({
        at: cx.blockPlace(step),
        ...(down !== undefined ? {} : { key: hit.enters ? "across" : "near" }),
        args: { ...incidentArgs(cx, hit), level: coordinate(cx, Number.isNaN(move.partTo[2]) ? move.to[2] : move.partTo[2]) },
        ...(station === undefined ? {} : { station }),
        related,
        data: incidentData(cx, hit),
        step: move.step,
        cause: `${a.tool}|${move.step}`,
      });
    }
    for (const report of foldByCause(reports, "related.also-at")) cx.report(report);
  },
});
