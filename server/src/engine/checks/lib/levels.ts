import { computeClearances } from "../../clearances.js";
import type { Fixture } from "../../fixture/model.js";
import { allSolids, boundsAt, LINE } from "../../fixture/solids.js";
import type { Box } from "../../geometry/box.js";
import type { Modal, Move } from "../../machine/move.js";
import type { Run, Step } from "../../machine/run.js";
import type { RuleContext } from "../rule.js";
import { TOUCH } from "./incidents.js";
import { unsure } from "./left.js";
import { drained } from "./paced.js";

/**
 * The least machine Z of the tool point, mm, at which a tool passes over everything that stands within the corridor of
 * some moves, by the rapid clearance and with all stock whole; minus infinity where nothing stands there, NaN where it
 * cannot be told.
 */
export function clearLevel(fixture: Fixture, moves: readonly Move[]): number {
  const { rapid } = fixture.clearance;
  let level = Number.NEGATIVE_INFINITY;
  for (const move of moves) {
    const angle = fixture.machine.rotary === undefined ? 0 : move.rotaryTo;
    const solids = allSolids(fixture).map((solid) => boundsAt(fixture, solid, angle));
    // A shank or holder that is wider than the cutting part stands higher, too.
    for (const part of fixture.tools.get(move.modal.tool)?.stack ?? LINE) {
      const reach = Math.max(part.bottomRadius, part.topRadius) + rapid;
      const beside = (box: Box): boolean =>
        ([0, 1] as const).some(
          (k) => box.to[k] < Math.min(move.from[k], move.to[k]) - reach || box.from[k] > Math.max(move.from[k], move.to[k]) + reach,
        );
      // Where it is not known whether a solid stands beside it, none of these comparisons holds, and it counts.
      for (const box of solids) if (!beside(box)) level = Math.max(level, box.to[2] + rapid - part.from);
    }
  }
  return level;
}

/** Whether the spindle with its tool still is within the travel with the tool point at a machine Z. */
export function withinTravel(fixture: Fixture, tool: number, level: number): boolean {
  const end = fixture.machine.travel.Z?.[1];
  const gauge = level + (tool === 0 ? 0 : (fixture.tools.get(tool)?.LF ?? Number.NaN));
  return end === undefined || Number.isNaN(gauge) || gauge <= end + TOUCH;
}

/**
 * What a program adds to a machine Z of the tool point to name it, mm: coordinates of the work offset with its shifts.
 * Undefined where a Z word does not plainly mean a coordinate of the tool point.
 */
export function programmedLess(cx: RuleContext, modal: Modal, machine: number, part: number): number | undefined {
  if (!modal.absolute || modal.scaling !== undefined || modal.mirror?.[2] === true) return undefined;
  if (modal.plane !== 17 && (modal.rotation !== undefined || modal.polar)) return undefined;
  if (["absolute", "units", "length", "offset", "transform"].some((f) => unsure(modal, f as "absolute"))) return undefined;
  const tool = cx.fixture?.tools.get(modal.tool);
  if (cx.profile.lengthBy !== "control" && (modal.length !== 43 || (tool !== undefined && !tool.H.includes(modal.h)))) return undefined;
  const less = part - machine - modal.localShift[2] - modal.presetShift[2];
  return Number.isNaN(less) ? undefined : less;
}

/** The units that numbers of the program have. */
export function unitsOf(cx: RuleContext, modal: Modal): "mm" | "inch" {
  return modal.units ?? cx.fixture?.units ?? "mm";
}

/** A level rounded up to what a programmer writes: whole millimetres, tenths of an inch. */
export function roundedUp(mm: number, units: "mm" | "inch"): number {
  const grid = units === "mm" ? 1 : 2.54;
  return Math.ceil(mm / grid - 1e-6) * grid;
}

/**
 * Whether moves as a fix would make them keep the rapid clearance to everything, the stock whole, and are known
 * throughout. Straight up out of a cut the stock does not count, and the clearance of a cut is enough. `own`: what they must keep
 * to the stock of their own station, mm; default the rapid clearance.
 */
export function keepClear(cx: RuleContext, moves: readonly Move[], own?: number): boolean {
  const { fixture, run } = cx;
  if (fixture === undefined) return false;
  const { contacts, unchecked } = drained(computeClearances({ ...run, moves } satisfies Run, fixture));
  if (unchecked.size > 0) return false;
  return contacts.every(({ move: index, solid, distance, depth }) => {
    const move = moves[index] as Move;
    const up = move.from[0] === move.to[0] && move.from[1] === move.to[1] && move.to[2] > move.from[2];
    const isOwn = solid.kind === "stock" && solid.station === move.station;
    if (up && isOwn) return true;
    const { rapid, cut } = fixture.clearance;
    return depth <= TOUCH && distance >= (up ? cut : isOwn ? (own ?? rapid) : rapid) - TOUCH;
  });
}

const GROUP_ONE = [0, 1, 2, 3, 73, 74, 76, ...Array.from({ length: 10 }, (_, n) => 80 + n)];

/**
 * How a block put before a step begins that is to move Z at rapid and leave the motion of what follows as it is: "G0 "
 * where the next move says itself what it is, "" where the rest relies on G1, which then moves Z too; undefined where it
 * cannot be.
 */
export function motionBefore(cx: RuleContext, index: number): string | undefined {
  const { run } = cx;
  const { motion } = (run.steps[index] as Step).before;
  if (motion === "G0") return "G0 ";
  for (const step of run.steps.slice(index, index + 200)) {
    if (step.block.words.some((w) => w.letter === "G" && GROUP_ONE.includes(cx.value(step, w)))) return "G0 ";
    if (step.endMove > step.firstMove) break;
  }
  return motion === "G1" ? "" : undefined;
}
