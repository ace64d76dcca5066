import type { Move } from "../../machine/move.js";
import type { Run } from "../../machine/run.js";
import { actingWords } from "../context.js";
import type { RuleContext } from "../rule.js";
import { approachesOf } from "./claims.js";
import { type OffsetChange, offsetChanges, usesOffset } from "./left.js";

/** A change of the offset after which the tool goes down while an axis still stands where the last station had it. */
export interface StaleAxis {
  readonly change: OffsetChange;
  /** The axes that no block has named. */
  readonly axes: readonly ("X" | "Y")[];
  /** The move down, and its index. */
  readonly down: Move;
  readonly downMove: number;
  /** The last move before the change. */
  readonly before: Move;
  /** The axis that is farthest off: where the last station had it, and by how much that differs now, mm. */
  readonly worst: { readonly axis: "X" | "Y"; readonly was: number; readonly off: number };
  /** The two stations agree in it within the tolerance. */
  readonly same: boolean;
}

const known = new WeakMap<Run, readonly StaleAxis[]>();

/** All of them in a run, in order. Where it is not known how the offsets differ, nothing is said. */
export function staleAxes(cx: RuleContext): readonly StaleAxis[] {
  const held = known.get(cx.run);
  if (held !== undefined) return held;
  const found = find(cx);
  known.set(cx.run, found);
  return found;
}

function find(cx: RuleContext): StaleAxis[] {
  const { run, fixture } = cx;
  if (fixture === undefined) return [];
  const out: StaleAxis[] = [];
  const approaches = new Set(approachesOf(run, cx.profile.lengthBy === "control").map((a) => a.down));
  const firstUnder = new Map<number, number>();
  let latest = Number.NaN;
  run.moves.forEach(({ modal: { offsetStep } }, i) => {
    // Moves under one offset stand behind each other.
    if (offsetStep === latest) return;
    if (!firstUnder.has(offsetStep)) firstUnder.set(offsetStep, i);
    latest = offsetStep;
  });
  for (const change of offsetChanges(cx)) {
    if (change.move === undefined) continue;
    const found = look(cx, change.index, approaches);
    const before = run.moves[(firstUnder.get(change.index) ?? 0) - 1];
    if (found === undefined || before === undefined) continue;
    const stale = found.axes.map((axis) => {
      const k = axis === "X" ? 0 : 1;
      return { axis, was: before.partTo[k], off: Math.abs(found.down.partTo[k] - before.partTo[k]) };
    });
    if (stale.some((s) => Number.isNaN(s.off))) continue;
    const worst = stale.reduce((a, b) => (b.off > a.off ? b : a));
    const same = worst.off <= fixture.tolerance[worst.axis] + 1e-6;
    out.push({ change, ...found, before, worst, same });
  }
  return out;
}

/** The first move down into the work under an offset, with the axes that no block has named since the offset changed. */
function look(
  cx: RuleContext,
  offsetStep: number,
  approaches: ReadonlySet<number>,
): { readonly axes: ("X" | "Y")[]; readonly down: Move; readonly downMove: number } | undefined {
  const { run, fixture } = cx;
  const named = new Set<string>();
  const first = run.steps[offsetStep]?.firstMove ?? run.moves.length;
  let last = offsetStep - 1;
  for (let i = first; i < run.moves.length; i++) {
    const move = run.moves[i];
    if (move === undefined || move.modal.offsetStep !== offsetStep) return undefined;
    for (; last < move.step; last++) note(cx, last + 1, named);
    if (named.has("X") && named.has("Y")) return undefined;
    if (!usesOffset(move) || move.kind === "index") continue;
    const cuts = move.kind === "feed" || move.kind === "arc";
    const station = fixture?.stations[move.station];
    // Down to a height above everything is only an approach: the axes may still come.
    const top =
      station === undefined
        ? Number.NEGATIVE_INFINITY
        : station.computed.Z + ((station.stock?.to[2] ?? Number.NaN) - station.seat - zeroHeight(station));
    const low = move.to[2] < move.from[2] - 1e-9 && move.to[2] < top + (fixture?.clearance.rapid ?? 0);
    // How a new tool comes down before X and Y is the matter of approach-low; here it counts when they never come.
    if (!cuts && (!low || approaches.has(i))) continue;
    const axes = (["X", "Y"] as const).filter((a) => !named.has(a));
    return axes.length === 0 ? undefined : { axes, down: move, downMove: i };
  }
  return undefined;
}

/** Height of the part zero above the seat, mm. */
function zeroHeight(station: { readonly zero: readonly [number, number, number]; readonly seat: number }): number {
  return station.zero[2] - station.seat;
}

/** Notes the axes that a step restates in the coordinates of the offset. */
function note(cx: RuleContext, index: number, named: Set<string>): void {
  const step = cx.run.steps[index];
  if (step === undefined) return;
  const moves = cx.run.moves.slice(step.firstMove, step.endMove);
  if (moves.length > 0 && moves.every((m) => !usesOffset(m))) return;
  for (const letter of ["X", "Y"]) if (actingWords(step.block).some((w) => w.letter === letter)) named.add(letter);
  if (step.after.polar && actingWords(step.block).some((w) => w.letter === "X" || w.letter === "Y")) {
    named.add("X");
    named.add("Y");
  }
}
