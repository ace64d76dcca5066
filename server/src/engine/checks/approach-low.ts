import type { Fix, Related } from "../findings.js";
import type { Vec3 } from "../geometry/vector.js";
import type { Move } from "../machine/move.js";
import type { Step } from "../machine/run.js";
import type { Word } from "../syntax/block.js";
import { sourceOf } from "./context.js";
import { type Approach, approachesOf } from "./lib/claims.js";
import { blockAfter, fixesByBlock, inHabit, programNumber, rewritten } from "./lib/edits.js";
import { gravestOf, gravestOfMoves, incidentsOf } from "./lib/incidents.js";
import { clearLevel, keepClear, programmedLess, roundedUp, unitsOf, withinTravel } from "./lib/levels.js";
import { incidentArgs, incidentData, isSameBlock, RELATED_TEXTS, stepOf } from "./lib/speak.js";
import { coordinate } from "./lib/words.js";
import { defineRule, type RuleContext } from "./rule.js";

/** The first way down of a tool ends too low, or comes before X and Y. */
export const approachLow = defineRule({
  id: "approach-low",
  level: "error",
  summary: "The first Z under length compensation is lower than what stands there, or comes before X and Y.",
  messages: {
    default: "{station}: with its first Z, to Z{level}, {tool} goes {depth} into the {solid}; approach to a height above everything first",
    "down-near":
      "{station}: with its first Z, to Z{level}, {tool} passes {distance} from the {solid}, where {clearance} must be kept; approach to a height above everything first",
    across:
      "{station}: {tool} is sent down to Z{level} before X and Y, and then goes {depth} into the {solid} on the way to {to}; X and Y first, or a higher Z",
    near: "{station}: {tool} is sent down to Z{level} before X and Y, and then passes {distance} from the {solid} on the way to {to}, where {clearance} must be kept; X and Y first, or a higher Z",
    "fix.reorder": "Go to {across} first, then to {down}",
    "fix.raise": "Approach to {level} only; what follows goes down by itself",
    "fix.higher": "Go across at {level}, then down to {down}",
    "related.across": "this move goes across",
    ...RELATED_TEXTS,
  },
  docs: `
After a tool change the new tool comes down at rapid for the first time, with a length that has perhaps just been set. If that first Z
goes down to the work, or the tool goes down first and across afterwards, there is no height at which the operator can stop and look.

The first Z under length compensation is compared with what stands under the tool at that place, and the moves across that follow it at
the same height with what stands in their way. An approach in Z before X and Y is in order while it stays above everything on that way.

Send the tool to X and Y first, then to a height above the jaws, then to the R plane.

Where Z comes before X and Y, one fix exchanges the two blocks, and another goes across at the lowest whole level that is clear there and
then down; each is offered where its moves keep the rapid clearance. Where the program names Z again before it feeds across, the first Z
may simply be higher. A first Z from which it cuts at once gets no fix: whether the rest of the way is to be fed or the place is wrong does
not follow from the program.

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
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G28 X0 Y0
G90 T1 M6
S4000 M3
G0 G54 X-10 Y20
G43 H1 Z-5
G1 X40 F500
G0 Z50
G28 G91 Z0
M30
-- part.nc after fix 2 --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G28 X0 Y0
G90 T1 M6
S4000 M3
G0 G54 G43 H1 Z2
X-10 Y20
Z-5
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
    const hits = gravestOfMoves(yield* incidentsOf(cx), "approach-low");
    const fixes = fixesByBlock();
    for (const a of approaches(cx)) {
      const down = hits.get(a.down);
      const hit = down ?? gravestOf(hits, a.across);
      const move = cx.run.moves[a.down];
      const step = stepOf(cx.run, a.down);
      if (hit === undefined || move === undefined || step === undefined) continue;
      const across = down === undefined ? stepOf(cx.run, hit.move) : undefined;
      const related: Related[] =
        across === undefined ? [] : [{ place: cx.blockPlace(across), message: { key: "related.across", args: {} } }];
      const station = cx.stationOf(cx.run.moves[hit.move] ?? move)?.id;
      cx.report({
        at: cx.blockPlace(step),
        ...keyOf(down !== undefined, hit.enters),
        args: { ...incidentArgs(cx, hit), level: coordinate(cx, Number.isNaN(move.partTo[2]) ? move.to[2] : move.partTo[2]) },
        ...(station === undefined ? {} : { station }),
        related,
        fixes: fixes(step, () => [...(down === undefined ? fixesOf(cx, a) : []), ...raise(cx, a)]),
        data: incidentData(cx, hit),
        step: move.step,
      });
    }
  },
});

function keyOf(isDown: boolean, enters: boolean): { readonly key?: string } {
  if (isDown) return enters ? {} : { key: "down-near" };
  return { key: enters ? "across" : "near" };
}

/** The first way down of each tool. */
function approaches(cx: RuleContext): readonly Approach[] {
  return approachesOf(cx.run, cx.profile.lengthBy === "control");
}

/** One passing of the approach: the step down, the move down, the step of the moves across and the moves. */
interface Passing {
  readonly down: Move;
  readonly downStep: Step;
  readonly across: readonly Move[];
  /** The last step that goes across. */
  readonly last: Step;
  readonly single: boolean;
}

/** Both ways to mend an approach that goes down before it goes across, as far as they are clear wherever its blocks are passed. */
function fixesOf(cx: RuleContext, approach: Approach): Fix[] {
  const first = passingOf(cx, approach);
  if (first === undefined) return [];
  const { downStep, last } = first;
  const all: Passing[] = [];
  for (const other of approaches(cx)) {
    const passing = passingOf(cx, other);
    if (passing !== undefined && isSameBlock(passing.downStep, downStep)) all.push(passing);
  }
  const passes = cx.run.steps.filter((s) => isSameBlock(s, downStep)).length;
  if (passes !== all.length || !all.every((p) => isSameBlock(p.last, last))) return [];
  // Skipped apart from each other they cannot lend each other words.
  if (last.block.skip !== downStep.block.skip) return [];
  return [...reordered(cx, first, all), ...higher(cx, first, all)];
}

function passingOf(cx: RuleContext, approach: Approach): Passing | undefined {
  const { run } = cx;
  const down = run.moves[approach.down];
  const across = approach.across.flatMap((i) => run.moves[i] ?? []);
  const end = across.at(-1);
  const downStep = down === undefined ? undefined : run.steps[down.step];
  const last = end === undefined ? undefined : run.steps[end.step];
  if (down === undefined || end === undefined || downStep === undefined || last === undefined || last.call !== downStep.call)
    return undefined;
  // Only rapids in absolute coordinates, with nothing else between them, can change places.
  const span = run.steps.slice(down.step, end.step + 1);
  if (span.some((s) => !s.after.absolute || s.after.motion !== "G0" || s.block.control !== undefined)) return undefined;
  const between = run.moves.slice(approach.down + 1, (approach.across.at(-1) ?? 0) + 1);
  if (between.length !== across.length) return undefined;
  return { down, downStep, across, last, single: end.step === down.step + 1 };
}

const AXES = new Set(["X", "Y"]);

/** The two blocks exchange their axes: X and Y go where Z was, Z and its length compensation where they were. */
function reordered(cx: RuleContext, { downStep, last, single }: Passing, all: readonly Passing[]): Fix[] {
  const { fixture } = cx;
  if (fixture === undefined) return [];
  const axes = last.block.words.filter((w) => AXES.has(w.letter));
  const z = cx.word(downStep, "Z");
  const plain =
    last.block.words.every((w) => w.letter !== "Z" && (w.letter !== "G" || [0, 90].includes(cx.value(last, w)))) &&
    downStep.block.words.every((w) => !AXES.has(w.letter));
  const firstAxis = axes[0];
  if (!single || z === undefined || firstAxis === undefined || !plain || last.block.skip !== undefined) return [];
  const clear = all.every(({ down, across }) => {
    const to = across.at(-1)?.to;
    if (to === undefined) return false;
    const high: Vec3 = [to[0], to[1], down.from[2]];
    const unknown = Number.isNaN(down.from[2]);
    const above: Vec3 = [to[0], to[1], clearLevel(fixture, [{ ...down, from: to, to }])];
    // From a height that is not known the tool comes from above everything, as after every change.
    const start = unknown ? above : high;
    const ways: Move[] = [{ ...down, from: start, to }];
    if (!unknown) ways.push({ ...down, from: down.from, to: high });
    return Number.isFinite(start[2]) && keepClear(cx, ways);
  });
  if (!clear) return [];
  const moved = downStep.block.words.filter(
    (w) => w === z || w.letter === "H" || (w.letter === "G" && [43, 44].includes(cx.value(downStep, w))),
  );
  const text = (step: Step, words: readonly Word[]): string => {
    const line = sourceOf(cx.run, step).lines[step.block.line] ?? "";
    return words.map((w) => line.slice(w.start, w.end)).join(" ");
  };
  const across = text(last, axes);
  const down = text(downStep, moved);
  const changes = [
    rewritten(cx, downStep, (w) => (w === z ? inHabit(cx, downStep, across) : moved.includes(w) ? undefined : text(downStep, [w]))),
    rewritten(cx, last, (w) => (w === firstAxis ? inHabit(cx, last, down) : axes.includes(w) ? undefined : text(last, [w]))),
  ].filter((c) => c !== undefined);
  if (changes.length < 2) return [];
  return [{ title: { key: "fix.reorder", args: { across, down } }, changes, sameMotion: false }];
}

/** Across at a level that is clear, and only then down to where the first Z went. */
function higher(cx: RuleContext, { downStep, last }: Passing, all: readonly Passing[]): Fix[] {
  const { fixture } = cx;
  const z = cx.word(downStep, "Z");
  if (fixture === undefined || z === undefined || z.expr !== undefined) return [];
  const units = unitsOf(cx, downStep.after);
  const less = all.map(({ down }) => programmedLess(cx, down.modal, down.to[2], down.partTo[2]));
  let highest = Number.NEGATIVE_INFINITY;
  all.forEach(({ down, across }, n) => {
    const standing: Move = { ...down, from: [down.to[0], down.to[1], down.to[2]] };
    highest = Math.max(highest, clearLevel(fixture, [standing, ...across]) + (less[n] ?? Number.NaN));
  });
  const programmed = roundedUp(highest, units);
  const clear = all.every(({ down, across }, n) => {
    const level = programmed - (less[n] ?? Number.NaN);
    const at = (p: Vec3): Vec3 => [p[0], p[1], level];
    const end = across.at(-1);
    if (end === undefined || !(level > down.to[2]) || level > down.from[2] || !withinTravel(fixture, down.modal.tool, level)) return false;
    return keepClear(cx, [
      { ...down, to: at(down.to) },
      ...across.map((m) => ({ ...m, from: at(m.from), to: at(m.to) })),
      { ...end, from: at(end.to) },
    ]);
  });
  const line = sourceOf(cx.run, downStep).lines[downStep.block.line] ?? "";
  const down = line.slice(z.start, z.end);
  const level = `Z${programNumber(programmed, units)}`;
  const after = blockAfter(cx, last, down);
  if (!clear || after === undefined) return [];
  return [
    {
      title: { key: "fix.higher", args: { level: inHabit(cx, downStep, level), down } },
      changes: [{ place: cx.place(downStep, z), text: inHabit(cx, downStep, level) }, after],
      sameMotion: false,
    },
  ];
}

/** A higher first Z, where the program goes on to another Z before it feeds in the plane. */
function raise(cx: RuleContext, approach: Approach): Fix[] {
  const { run, fixture } = cx;
  const step = stepOf(run, approach.down);
  const z = step === undefined ? undefined : cx.word(step, "Z");
  if (fixture === undefined || step === undefined || z === undefined || z.expr !== undefined) return [];
  const all = approaches(cx).filter((a) => {
    const other = stepOf(run, a.down);
    return other !== undefined && isSameBlock(other, step);
  });
  if (all.length !== run.steps.filter((s) => isSameBlock(s, step)).length) return [];
  const units = unitsOf(cx, step.after);
  const less: number[] = [];
  let highest = Number.NEGATIVE_INFINITY;
  const ways = all.flatMap((a) => goingOn(cx, a.down) ?? []);
  if (ways.length < all.length) return [];
  for (const { down, across } of ways) {
    const add = programmedLess(cx, down.modal, down.to[2], down.partTo[2]) ?? Number.NaN;
    less.push(add);
    highest = Math.max(highest, clearLevel(fixture, [{ ...down, from: down.to }, ...across]) + add);
  }
  const programmed = roundedUp(highest, units);
  const clear = ways.every(({ down, across, next }, n) => {
    const level = programmed - (less[n] as number);
    const at = (p: Vec3): Vec3 => [p[0], p[1], level];
    const from: Vec3 = Number.isNaN(down.from[2]) ? at(down.from) : down.from;
    const moved = [{ ...down, from, to: at(down.to) }, ...across.map((m): Move => ({ ...m, from: at(m.from), to: at(m.to) }))];
    if (!(level > down.to[2]) || level > from[2] + 1e-9 || !withinTravel(fixture, down.modal.tool, level) || !keepClear(cx, moved))
      return false;
    // What the program then does by itself must not go down into something at rapid; over its own stock any height will do.
    return next.kind !== "rapid" || keepClear(cx, [{ ...next, from: at(next.from) }], 0);
  });
  if (!clear) return [];
  const level = inHabit(cx, step, `Z${programNumber(programmed, units)}`);
  return [{ title: { key: "fix.raise", args: { level } }, changes: [{ place: cx.place(step, z), text: level }], sameMotion: false }];
}

/**
 * A move down with the rapids across that keep its level and the next one that changes Z; undefined where the program feeds at
 * that level, or goes on in increments.
 */
function goingOn(
  cx: RuleContext,
  index: number,
): { readonly down: Move; readonly across: readonly Move[]; readonly next: Move } | undefined {
  const { run } = cx;
  const [down, ...rest] = run.moves.slice(index);
  const across: Move[] = [];
  for (const move of rest) {
    const step = run.steps[move.step];
    if (down === undefined || step === undefined || !step.after.absolute) return undefined;
    if (move.kind === "dwell") continue;
    if (move.to[2] !== move.from[2]) return cx.word(step, "Z") === undefined ? undefined : { down, across, next: move };
    if (move.kind !== "rapid") return undefined;
    across.push(move);
  }
  return undefined;
}
