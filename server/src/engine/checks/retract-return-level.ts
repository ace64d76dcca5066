import type { Fix } from "../findings.js";
import { causeOf, incidentsOf } from "./lib/incidents.js";
import { incidentArgs, incidentData, RELATED_TEXTS, stepOf } from "./lib/speak.js";
import { coordinate } from "./lib/words.js";
import { defineRule, type RuleContext } from "./rule.js";

/** From hole to hole the tool is lower than what stands between. */
export const retractReturnLevel = defineRule({
  id: "retract-return-level",
  level: "error",
  summary: "A canned cycle goes from hole to hole, at the R plane or the initial level, lower than what stands between.",
  messages: {
    default: "{station}: from the last hole to {to} {tool} stays at Z{level} ({return}) and goes {depth} into the {solid}; {advice}",
    near: "{station}: from the last hole to {to} {tool} stays at Z{level} ({return}) and passes {distance} from the {solid}, where {clearance} must be kept; {advice}",
    "related.cycle": "the cycle returns to Z{level} here ({return})",
    "fix.initial": "Return to the initial level (G98)",
    ...RELATED_TEXTS,
  },
  docs: `
With G99 the tool goes from hole to hole at the R plane, a few millimetres above the face that is drilled. A jaw, a stop or a step of
the part between two holes is then hit at rapid. The same happens with G98 when the level at which the cycle began is low.

Return to the initial level before the hole behind the obstacle, or begin the cycle higher.

~~~case
The third hole is behind the fixed jaw; R is below its top.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
G0 G54 X-20 Y-30 S2000 M3
G43 H2 Z50
G99 G81 X-20 Y-30 Z-54 R-20 F200
X-20 Y-20
X80
;^^ error retract-return-level: A1: from the last hole to X80 tool 2 (drill 6.8) stays at Z-20
G80
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
The same holes with the initial level.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
G0 G54 X-20 Y-30 S2000 M3
G43 H2 Z50
G98 G81 X-20 Y-30 Z-54 R-20 F200
X-20 Y-20
X80
G80
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
A flat part: the R plane is enough.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
G0 G54 X10 Y10 S2000 M3
G43 H2 Z50
G99 G81 X10 Y10 Z-8 R2 F200
X50
Y30
X10
G80
G0 Z50
G28 G91 Z0
M30
~~~
`,
  *check(cx) {
    const done = new Set<number>();
    const stationOfCause = new Map<string, string | undefined>();
    for (const i of yield* incidentsOf(cx)) {
      const move = cx.run.moves[i.move];
      const step = stepOf(cx.run, i.move);
      if (i.rule !== "retract-return-level" || move === undefined || step === undefined || done.has(i.move)) continue;
      done.add(i.move);
      // The hole before left the tool where it is now; a G98 on this block counts only behind this hole.
      const initial = (cx.run.moves[i.move - 1] ?? move).modal.returnLevel === 98;
      const level = coordinate(cx, Number.isNaN(move.partTo[2]) ? move.to[2] : move.partTo[2]);
      const args = { level, return: initial ? "G98, initial level" : "G99, R plane" };
      const cycle = cycleStep(cx, i.move);
      const cycleBlock = cycle === undefined ? undefined : cx.run.steps[cycle];
      const station = cx.stationOf(move)?.id;
      // One level that is too low, however many holes it is kept for.
      const cause = cycleBlock === undefined ? causeOf(cx.run, i) : `${cycleBlock.source}:${cycleBlock.block.line}|${initial}`;
      const again = stationOfCause.has(cause) && stationOfCause.get(cause) === station;
      if (!stationOfCause.has(cause)) stationOfCause.set(cause, station);
      cx.report({
        at: cx.blockPlace(step),
        ...(i.enters ? {} : { key: "near" }),
        args: { ...incidentArgs(cx, i), ...args, advice: initial ? "begin the cycle higher" : "return to the initial level with G98" },
        ...(station === undefined ? {} : { station }),
        related: cycleBlock === undefined ? [] : [{ place: cx.blockPlace(cycleBlock), message: { key: "related.cycle", args } }],
        fixes: initial ? [] : fixOf(cx, cycle),
        data: incidentData(cx, i),
        step: move.step,
        cause,
        relatedKey: again ? "related.also" : "related.also-at",
      });
    }
  },
});

/** The step that set the level of a traverse: the last one before its block that names a return level, else the cycle itself. */
function cycleStep(cx: RuleContext, index: number): number | undefined {
  const at = cx.run.moves[index]?.step ?? -1;
  for (let s = at - 1; s >= 0; s--) {
    const step = cx.run.steps[s];
    if (step === undefined) return undefined;
    if (cx.word(step, "G99") !== undefined || cx.word(step, "G98") !== undefined) return s;
    if (!step.before.motion.startsWith("G8") && !step.before.motion.startsWith("G7")) return s;
    if (step.before.motion === "G80") return s;
  }
  return undefined;
}

function fixOf(cx: RuleContext, cycle: number | undefined): Fix[] {
  const step = cycle === undefined ? undefined : cx.run.steps[cycle];
  const word = step === undefined ? undefined : cx.word(step, "G99");
  if (step === undefined || word === undefined) return [];
  return [{ title: { key: "fix.initial", args: {} }, changes: [{ place: cx.place(step, word), text: "G98" }], sameMotion: false }];
}
