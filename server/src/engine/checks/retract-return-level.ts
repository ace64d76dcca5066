import type { Fix } from "../findings.js";
import type { Move } from "../machine/move.js";
import type { Step } from "../machine/run.js";
import { blockBefore, fixesByBlock, inHabit, programNumber } from "./lib/edits.js";
import { causeOf, gravestOfMoves, incidentsOf } from "./lib/incidents.js";
import { clearLevel, keepClear, programmedLess, roundedUp, unitsOf, withinTravel } from "./lib/levels.js";
import { incidentArgs, incidentData, isSameBlock, RELATED_TEXTS, stepOf } from "./lib/speak.js";
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
    "fix.higher": "Begin the cycle at {level}, to which it returns (G98)",
    ...RELATED_TEXTS,
  },
  docs: `
With G99 the tool goes from hole to hole at the R plane, a few millimetres above the face that is drilled. A jaw, a stop or a step of
the part between two holes is then hit at rapid. The same happens with G98 when the level at which the cycle began is low.

Return to the initial level before the hole behind the obstacle, or begin the cycle higher.

The fix returns to the initial level, and where that is too low itself, it begins the cycle at the lowest whole level that is clear on every
way from hole to hole.

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
;^^ error retract-return-level: A1: from the last hole to X80 tool 2 (drill 6.8) stays at Z-20 (G99, R plane) and goes 10 mm into the fixed jaw; return to the initial level with G98
G80
G0 Z50
G28 G91 Z0
M30
-- part.nc after fix 1 --
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
The initial level is too low as well.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
G0 G54 X-20 Y-30 S2000 M3
G43 H2 Z50
Z-15
G98 G81 X-20 Y-30 Z-54 R-20 F200
X-20 Y-20
X80
;^^ error retract-return-level: A1: from the last hole to X80 tool 2 (drill 6.8) stays at Z-15 (G98, initial level) and goes 5 mm into the fixed jaw; begin the cycle higher
G80
G0 Z50
G28 G91 Z0
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
T2 M6
G0 G54 X-20 Y-30 S2000 M3
G43 H2 Z50
Z-15
G0 Z-8
G98 G81 X-20 Y-30 Z-54 R-20 F200
X-20 Y-20
X80
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
    const fixes = fixesByBlock();
    const stationOfCause = new Map<string, string | undefined>();
    const hits = [...gravestOfMoves(yield* incidentsOf(cx), "retract-return-level").values()];
    // The first report of a cause stands: to go into something before to come near it.
    for (const i of [...hits.filter((h) => h.enters), ...hits.filter((h) => !h.enters)]) {
      const move = cx.run.moves[i.move];
      const step = stepOf(cx.run, i.move);
      if (move === undefined || step === undefined) continue;
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
        fixes: fixes(cycleBlock ?? step, () => fixOf(cx, move.step, initial, cycle), String(initial)),
        data: incidentData(cx, i),
        step: move.step,
        cause,
        relatedKey: again ? "related.also" : "related.also-at",
      });
    }
  },
});

/** The step that set the level of a traverse: the last one before its block that names a return level, or at which a cycle began. */
function cycleStep(cx: RuleContext, index: number): number | undefined {
  const at = cx.run.moves[index]?.step ?? -1;
  for (let s = at - 1; s >= 0; s--) {
    const step = cx.run.steps[s];
    if (step === undefined) return undefined;
    if (cx.word(step, "G99") !== undefined || cx.word(step, "G98") !== undefined) return s;
    if (!isCycle(step.before.motion) && isCycle(step.after.motion)) return s;
  }
  return undefined;
}

/** G98 instead of G99, and a higher level to begin with where that alone would not do. */
function fixOf(cx: RuleContext, at: number, initial: boolean, cycle: number | undefined): Fix[] {
  const step = cycle === undefined ? undefined : cx.run.steps[cycle];
  const word = step === undefined ? undefined : cx.word(step, "G99");
  if (!initial && (step === undefined || word === undefined)) return [];
  const changes = step === undefined || word === undefined ? [] : [{ place: cx.place(step, word), text: inHabit(cx, step, "G98") }];
  const start = startOf(cx, at);
  const begun = start === undefined ? undefined : activations(cx, start);
  const same = begun?.every((a) => keepClear(cx, a.ways));
  if (!initial && same !== false) return [{ title: { key: "fix.initial", args: {} }, changes, sameMotion: false }];
  if (start === undefined || begun === undefined) return [];
  const raised = higher(cx, start, begun);
  if (raised === undefined) return [];
  const title = { key: "fix.higher", args: { level: raised.level } };
  return [{ title, changes: [...changes, raised.change], sameMotion: false }];
}

const isCycle = (motion: string): boolean => /^G(?:7[346]|8[1-9])$/.test(motion);

/** Index of the step at which the cycle of a step began. */
function startOf(cx: RuleContext, at: number): number | undefined {
  for (let s = at; s >= 0; s--) {
    const step = cx.run.steps[s];
    if (step === undefined) return undefined;
    if (!isCycle(step.before.motion)) return isCycle(step.after.motion) ? s : undefined;
  }
  return undefined;
}

/** One begin of a cycle: its step, and the ways from hole to hole as they are at the level at which it began. */
interface Begun {
  readonly step: Step;
  readonly first: Move;
  readonly ways: readonly Move[];
}

/** Every begin of the cycle by the same block; undefined where the level at one of them is not known. */
function activations(cx: RuleContext, start: number): Begun[] | undefined {
  const { run } = cx;
  const like = run.steps[start];
  const out: Begun[] = [];
  for (const [s, step] of run.steps.entries()) {
    if (like === undefined || !isSameBlock(step, like)) continue;
    let end = s;
    while (end < run.steps.length && isCycle(run.steps[end]?.after.motion ?? "")) end++;
    const moves = run.moves.slice(step.firstMove, run.steps[end - 1]?.endMove ?? step.endMove);
    const first = moves[0];
    if (first === undefined || Number.isNaN(first.from[2])) return undefined;
    const level = first.from[2];
    const ways = moves.slice(1).filter((m) => m.role === "cycle-traverse");
    out.push({ step, first, ways: ways.map((m) => ({ ...m, from: [m.from[0], m.from[1], level], to: [m.to[0], m.to[1], level] })) });
  }
  return out;
}

/** A block that raises Z before the cycle begins. */
function higher(
  cx: RuleContext,
  start: number,
  begun: readonly Begun[],
): { readonly level: string; readonly change: ReturnType<typeof blockBefore> } | undefined {
  const { fixture, run } = cx;
  const step = run.steps[start];
  // In increments R and Z count from the level at which the cycle begins.
  if (fixture === undefined || step === undefined || cx.word(step, "G91") !== undefined) return undefined;
  const units = unitsOf(cx, step.before);
  const less = begun.map((b) => programmedLess(cx, b.step.before, b.first.from[2], b.first.partFrom[2]) ?? Number.NaN);
  const programmed = roundedUp(Math.max(...begun.map((b, n) => clearLevel(fixture, b.ways) + (less[n] as number))), units);
  if (!Number.isFinite(programmed)) return undefined;
  const clear = begun.every((b, n) => {
    const level = programmed - (less[n] as number);
    const ways = b.ways.map((m): Move => ({ ...m, from: [m.from[0], m.from[1], level], to: [m.to[0], m.to[1], level] }));
    return b.step.before.offset === b.first.modal.offset && withinTravel(fixture, b.first.modal.tool, level) && keepClear(cx, ways);
  });
  if (!clear) return undefined;
  const level = `Z${programNumber(programmed, units)}`;
  return { level: inHabit(cx, step, level), change: blockBefore(cx, step, `G0 ${level}`) };
}
