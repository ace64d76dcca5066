import type { Fix, Related } from "../../findings.js";
import type { Fixture, Rotary } from "../../fixture/model.js";
import { LINE, swingRadius } from "../../fixture/solids.js";
import type { Vec3 } from "../../geometry/vector.js";
import type { Move } from "../../machine/move.js";
import type { Step } from "../../machine/run.js";
import { foldByCause } from "../report.js";
import type { Report, RuleContext } from "../rule.js";
import { blockAfter, blockBefore, fixesByBlock, inHabit, programNumber, without } from "./edits.js";
import { swingVerdict } from "./index-sweep.js";
import { keepClear, motionBefore, programmedLess, roundedUp, unitsOf, withinTravel } from "./levels.js";
import { isSameBlock, stepOf } from "./speak.js";
import { solidWords, toolWords } from "./words.js";

/** Texts of related places and of what was not checked that both index rules share. */
export const SWING_TEXTS = {
  "related.also-at": "also here",
  "fix.retract": "Retract to {level} before the turn",
  "fix.turn-after": "Turn in a block of its own behind this one: {word}",
  "fix.turn-before": "Turn in a block of its own before this one: {word}",
  "what.index": "the swing of the work at line {line}",
} as const;

/** Reports the turns of the work with the tool inside the swing: those of the rotary axis alone, or those combined with a rapid. */
export function* reportSwings(cx: RuleContext, which: "turn" | "combined"): Generator<void, void, void> {
  const { run, fixture } = cx;
  const rotary = fixture?.machine.rotary;
  if (fixture === undefined || rotary === undefined) return;
  const work: Turning = { fixture, rotary };
  const fixes = fixesByBlock();
  const reports: (Report & { cause: string })[] = [];
  for (let n = 0; n < run.moves.length; n++) {
    const move = run.moves[n];
    if (move === undefined || move.kind !== "index") continue;
    const shifts = move.from.some((v, k) => Math.abs(v - (move.to[k] as number)) > 1e-9);
    const combined = shifts && move.modal.motion === "G0";
    if (combined !== (which === "combined")) continue;
    yield;
    const verdict = swingVerdict(fixture, move);
    const step = run.steps[move.step];
    if (step === undefined || verdict.kind === "clear") continue;
    if (verdict.kind === "unknown") {
      cx.notChecked({ key: "what.index", args: { line: step.block.line + 1 } }, { key: verdict.why, args: {} });
      continue;
    }
    const before = stepOf(run, n - 1);
    const related: Related[] =
      before === undefined || before === step ? [] : [{ place: cx.blockPlace(before), message: { key: "related.before", args: {} } }];
    const station = cx.stationOf(move)?.id;
    const from = move.partFrom.map((v) => (Number.isNaN(v) ? "?" : Math.round(v * 100))).join(",");
    reports.push({
      at: cx.blockPlace(step),
      ...(verdict.distance === 0 ? {} : { key: "near" }),
      args: {
        station: station ?? cx.offsetName(move.modal.offset),
        tool: toolWords(cx, move.modal.tool),
        solid: solidWords(cx, verdict.solid, -1),
        angle: { deg: move.rotaryTo },
        distance: { mm: verdict.distance },
        clearance: { mm: fixture.clearance.index },
      },
      ...(station === undefined ? {} : { station }),
      related,
      fixes: fixes(step, () => {
        const split = combined ? splitFix(cx, work, move, step) : [];
        return split.length > 0 ? split : retractFix(cx, work, step);
      }),
      data: {
        distance: verdict.distance,
        solid: verdict.solid.name,
        angle: verdict.angle,
        swingRadius: verdict.radius,
        tool: move.modal.tool,
      },
      step: move.step,
      cause: `${move.modal.tool}|${from}`,
    });
  }
  for (const report of foldByCause(reports, "related.also-at")) cx.report(report);
}

/** What is turned, and about what. */
interface Turning {
  readonly fixture: Fixture;
  readonly rotary: Rotary;
}

/** All turns that a block makes, in whatever calls and loops. */
function turnsOf(cx: RuleContext, step: Step): Move[] {
  return cx.run.moves.filter((m) => {
    const other = cx.run.steps[m.step];
    return m.kind === "index" && other !== undefined && isSameBlock(other, step);
  });
}

/** A block that retracts Z out of the swing, before the block that turns. */
function retractFix(cx: RuleContext, { fixture, rotary }: Turning, step: Step): Fix[] {
  // About C nothing swings any higher than it stands.
  if (rotary.axis === "C") return [];
  const { run } = cx;
  const radius = swingRadius(fixture) ?? Number.NaN;
  const units = unitsOf(cx, step.before);
  const prefixes = new Set<string | undefined>();
  const less: number[] = [];
  const turns = turnsOf(cx, step);
  let highest = Number.NEGATIVE_INFINITY;
  for (const turn of turns) {
    prefixes.add(motionBefore(cx, turn.step));
    const low = Math.min(...(fixture.tools.get(turn.modal.tool)?.stack ?? LINE).map((p) => p.from));
    // The block's own state may have another offset already; the retract is read under the one before it.
    const before = run.steps[turn.step]?.before;
    const add = before === undefined ? undefined : programmedLess(cx, before, turn.from[2], turn.partFrom[2]);
    if (before?.offset !== turn.modal.offset || add === undefined) return [];
    less.push(add);
    highest = Math.max(highest, rotary.centre[2] + radius + fixture.clearance.index - low + add);
  }
  const programmed = roundedUp(highest, units);
  const prefix = [...prefixes][0];
  if (prefixes.size !== 1 || prefix === undefined || !Number.isFinite(programmed)) return [];
  const clear = turns.every((turn, n) => {
    const level = programmed - (less[n] as number);
    const at = (p: Vec3): Vec3 => [p[0], p[1], level];
    const still = turn.from[2] === turn.to[2];
    const verdict = still ? swingVerdict(fixture, { ...turn, from: at(turn.from), to: at(turn.to) }) : undefined;
    return verdict?.kind === "clear" && level > turn.from[2] && withinTravel(fixture, turn.modal.tool, level);
  });
  if (!clear) return [];
  const level = `Z${programNumber(programmed, units)}`;
  const changes = [blockBefore(cx, step, `${prefix}${level}`)];
  return [{ title: { key: "fix.retract", args: { level: inHabit(cx, step, level) } }, changes, sameMotion: false }];
}

/** Two blocks instead of one: what moves the linear axes and what turns, in the order in which both are clear. */
function splitFix(cx: RuleContext, { fixture, rotary }: Turning, move: Move, step: Step): Fix[] {
  const words = step.block.words.filter((w) => w.letter === rotary.axis);
  const word = words[0];
  const special = step.block.words.some((w) => w.letter === "G" && [28, 30, 53, 10, 52, 92].includes(cx.value(step, w)));
  if (word === undefined || words.length > 1 || special || step.block.comments.some((c) => c.start < word.end)) return [];
  const turns = turnsOf(cx, step);
  const linearFirst = turns.every((t) => turnClear(fixture, t, t.to) && keepClear(cx, [{ ...t, kind: "rapid", rotaryTo: t.rotaryFrom }]));
  const turnFirst = turns.every((t) => turnClear(fixture, t, t.from) && keepClear(cx, [{ ...t, kind: "rapid", rotaryFrom: t.rotaryTo }]));
  if (!linearFirst && !turnFirst) return [];
  const line = cx.run.sources[step.source]?.lines[step.block.line] ?? "";
  const text = line.slice(word.start, word.end);
  const other = linearFirst ? blockAfter(cx, step, text) : blockBefore(cx, step, `${motionCode(cx, step)}${text}`);
  if (other === undefined) return [];
  const title = { key: linearFirst ? "fix.turn-after" : "fix.turn-before", args: { word: text.toUpperCase() } };
  return Number.isNaN(move.rotaryTo) ? [] : [{ title, changes: [without(cx, step, word), other], sameMotion: false }];
}

/** The turn before its block is a rapid of its own: G0 unless that is in force, G90 or G91 as the block itself says. */
function motionCode(cx: RuleContext, step: Step): string {
  const distance = cx.word(step, "G90") !== undefined ? "G90 " : cx.word(step, "G91") !== undefined ? "G91 " : "";
  return `${distance}${step.before.motion === "G0" ? "" : "G0 "}`;
}

/** Whether the work may turn with the tool standing at a point. */
function turnClear(fixture: Fixture, turn: Move, at: Vec3): boolean {
  return swingVerdict(fixture, { ...turn, from: at, to: at }).kind === "clear";
}
