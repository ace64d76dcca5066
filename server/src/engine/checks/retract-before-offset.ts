import type { Fix, Related } from "../findings.js";
import type { Move } from "../machine/move.js";
import { type Traverse, traversesOf } from "./lib/claims.js";
import { blockBefore, fixesByBlock, inHabit, programNumber } from "./lib/edits.js";
import { gravestOf, gravestOfMoves, type Incident, incidentsOf } from "./lib/incidents.js";
import { clearLevel, keepClear, motionBefore, programmedLess, roundedUp, unitsOf, withinTravel } from "./lib/levels.js";
import { incidentArgs, incidentData, isSameBlock, RELATED_TEXTS, stepOf } from "./lib/speak.js";
import { coordinate } from "./lib/words.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** On the way to the next station the tool is lower than what stands between. */
export const retractBeforeOffset = defineRule({
  id: "retract-before-offset",
  level: "error",
  summary: "The offset changes and X or Y move while the tool is lower than what stands in the way.",
  messages: {
    default:
      "on the way from {from} to {station} {tool} stays at Z{level} and goes {depth} into the {solid}; raise Z before the offset changes",
    near: "on the way from {from} to {station} {tool} stays at Z{level} and passes {distance} from the {solid}; a rapid must keep {clearance}: raise Z before the offset changes",
    "related.left": "the last move at {from} leaves the tool at Z{level}",
    "related.across": "this move goes across",
    "fix.raise": "Raise to {level} before the offset changes",
    ...RELATED_TEXTS,
  },
  docs: `
A work offset moves no axis: the tool stays as low as the last cut left it, and the next X or Y takes it straight through whatever
stands between the two stations: walls of the part, jaws, the stop next door.

Clear is the highest solid in the corridor that the tool sweeps, with the rapid clearance. A low way through an open channel is
therefore in order. What earlier cuts have taken away no longer stands in the way.

Retract in Z as the last block of every visit.

The fix raises Z in a block before the change, to the lowest whole level that is clear on every way which begins there, the stock taken
as uncut. What follows is not touched: where the next block cuts without naming Z, it then cuts at that level, and Z is to be written
there. No fix is offered where the way itself goes down as it goes across, or where Z does not plainly mean a coordinate.

~~~case
The retract is missing at A1.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X30 Y-20 S4000 M3
G43 H1 Z50
G0 Z5
Y20
G1 Z-3 F300
X40
G0 G55 X30 Y20
;^^^^^^^^^^^^^ error retract-before-offset: on the way from A1 to A2 tool 1 (end mill 10) stays at Z-3 and goes 3 mm into the stock of A1; raise Z before the offset changes
G1 X40 F300
G0 Z50
G28 G91 Z0
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X30 Y-20 S4000 M3
G43 H1 Z50
G0 Z5
Y20
G1 Z-3 F300
X40
G0 Z2
G0 G55 X30 Y20
G1 X40 F300
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
With the retract.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X30 Y20 S4000 M3
G43 H1 Z50
G0 Z2
G1 Z-3 F300
X40
G0 Z5
G55 X30 Y20
G1 Z-3 F300
X40
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
Low, along the open channel behind the row.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X30 Y130 S4000 M3
G43 H1 Z50
G0 Z-20
G55 X30
Z50
G28 G91 Z0
M30
~~~
`,
  *check(cx) {
    const incidents = gravestOfMoves(yield* incidentsOf(cx), "retract-before-offset");
    const fixes = fixesByBlock();
    const reports: (Report & { cause: string })[] = [];
    for (const traverse of traversesOf(cx.run)) {
      const hit = gravestOf(incidents, traverse.moves);
      const by = cx.run.steps[traverse.offsetStep];
      if (hit !== undefined)
        reports.push({ ...describe(cx, traverse, hit), fixes: by === undefined ? [] : fixes(by, () => fixOf(cx, traverse)) });
    }
    // The first report of a cause stands: to go into something before to come near it.
    const graveFirst = [...reports.filter((r) => r.key === undefined), ...reports.filter((r) => r.key !== undefined)];
    for (const report of foldByCause(graveFirst, "related.also-at")) cx.report(report);
  },
});

function describe(
  cx: RuleContext,
  traverse: { readonly before: number; readonly offsetStep: number },
  hit: Incident,
): Report & { cause: string } {
  const { run } = cx;
  const move = run.moves[hit.move];
  const before = run.moves[traverse.before];
  const offsetStep = run.steps[traverse.offsetStep] ?? stepOf(run, hit.move);
  if (move === undefined || before === undefined || offsetStep === undefined) throw new Error(`a traverse without moves at ${hit.move}`);
  const from = cx.stationOf(before)?.id ?? cx.offsetName(before.modal.offset);
  // The level is told as the program of the station left behind sees it.
  const level = coordinate(cx, Number.isNaN(before.partTo[2]) ? before.to[2] : before.partTo[2]);
  const last = stepOf(run, traverse.before);
  const across = stepOf(run, hit.move);
  const related: Related[] = [];
  if (last !== undefined) related.push({ place: cx.blockPlace(last), message: { key: "related.left", args: { from, level } } });
  if (across !== undefined && across !== offsetStep)
    related.push({ place: cx.blockPlace(across), message: { key: "related.across", args: {} } });
  const station = cx.stationOf(move)?.id;
  const at = before.partTo.map((v) => (Number.isNaN(v) ? "?" : Math.round(v * 100))).join(",");
  return {
    at: cx.blockPlace(offsetStep),
    ...(hit.enters ? {} : { key: "near" }),
    args: { ...incidentArgs(cx, hit), from, level },
    ...(station === undefined ? {} : { station }),
    related,
    data: incidentData(cx, hit),
    step: run.steps[traverse.offsetStep] === undefined ? move.step : traverse.offsetStep,
    cause: `${move.modal.tool}|${at}`,
  };
}

/** Raises Z before the block that changes the offset, to a level that is clear on every way that begins with that block. */
function fixOf(cx: RuleContext, traverse: Traverse): Fix[] {
  const { run, fixture } = cx;
  const step = run.steps[traverse.offsetStep];
  const prefix = motionBefore(cx, traverse.offsetStep);
  if (fixture === undefined || step === undefined || prefix === undefined) return [];
  const ways = traversesOf(run).filter((t) => {
    const other = run.steps[t.offsetStep];
    return other !== undefined && isSameBlock(other, step);
  });
  // One block may begin the way to several stations; the highest level serves them all.
  let highest = Number.NEGATIVE_INFINITY;
  const less: number[] = [];
  for (const way of ways) {
    const before = run.moves[way.before];
    if (before === undefined || motionBefore(cx, way.offsetStep) !== prefix) return [];
    const { modal } = run.moves[way.before] as Move;
    const state = run.steps[way.offsetStep]?.before ?? modal;
    const add = programmedLess(cx, state, before.to[2], before.partTo[2]);
    const level = clearLevel(
      fixture,
      way.moves.flatMap((i) => run.moves[i] ?? []),
    );
    if (add === undefined || Number.isNaN(level)) return [];
    less.push(add);
    highest = Math.max(highest, Math.max(level, before.to[2]) + add);
  }
  const units = unitsOf(cx, step.before);
  const programmed = roundedUp(highest, units);
  const clear = ways.every((way, n) => {
    const level = programmed - (less[n] as number);
    const before = run.moves[way.before];
    return before !== undefined && withinTravel(fixture, before.modal.tool, level) && keepClear(cx, raised(run.moves, way, level));
  });
  if (!Number.isFinite(programmed) || !clear) return [];
  const level = `Z${programNumber(programmed, units)}`;
  return [
    {
      title: { key: "fix.raise", args: { level: inHabit(cx, step, level) } },
      changes: [blockBefore(cx, step, `${prefix}${level}`)],
      sameMotion: false,
    },
  ];
}

/** The moves of a way, with Z as it would be had it been raised before: until the program names it again. */
function raised(moves: readonly Move[], way: Traverse, level: number): Move[] {
  const out: Move[] = [];
  let kept = true;
  for (let i = way.before + 1; i <= (way.moves.at(-1) ?? way.before); i++) {
    const move = moves[i];
    if (move === undefined) continue;
    const from = kept ? level : move.from[2];
    kept = kept && move.to[2] === move.from[2];
    const to = kept ? level : move.to[2];
    out.push({ ...move, from: [move.from[0], move.from[1], from], to: [move.to[0], move.to[1], to] });
  }
  return out;
}
