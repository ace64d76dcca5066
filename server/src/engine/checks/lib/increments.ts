import { angleBetween } from "../../fixture/angle.js";
import type { Run, Step } from "../../machine/run.js";
import type { Block } from "../../syntax/block.js";
import { actingWords } from "../context.js";
import type { RuleContext } from "../rule.js";
import { since, unsure, usesOffset } from "./left.js";
import { drained, paced } from "./paced.js";
import { selections } from "./selection.js";
import { faces } from "./stations.js";

/** A block that looks absolute while G91 of a reference return is still in force. */
export interface IncrementalFault {
  /** Index of the step. */
  readonly step: number;
  /** Step that set G91; -1 if it was so from the start. */
  readonly set: number;
}

const known = new WeakMap<Run, readonly IncrementalFault[]>();

/** All of them in a run, one for each reference return. */
export function incrementalFaults(cx: RuleContext): readonly IncrementalFault[] {
  const held = known.get(cx.run);
  if (held !== undefined) return held;
  const found = drained(find(cx));
  known.set(cx.run, found);
  return found;
}

/** Looks for them in slices, for a rule that is the first to ask; the others then find them. */
export function* findIncrementalFaults(cx: RuleContext): Generator<void, void, void> {
  if (!known.has(cx.run)) known.set(cx.run, yield* find(cx));
}

function* find(cx: RuleContext): Generator<void, IncrementalFault[], void> {
  const { run } = cx;
  const offsets = new Set(selections(cx).map((s) => s.index));
  const out: IncrementalFault[] = [];
  let returned = -1;
  let hint = false;
  // A turn alone is told when nothing in X, Y or Z follows under the same G91.
  let turned: IncrementalFault | undefined;
  const settle = (): void => {
    if (turned !== undefined) out.push(turned);
    turned = undefined;
  };
  const steps = new Set<Block>();
  // Once a block has stepped from face to face, it does so behind the last of them too.
  const stepsOn = (step: Step, index: number): boolean => {
    if (bringsFace(cx, index)) steps.add(step.block);
    return steps.has(step.block);
  };
  yield* paced(run.steps, (step, index) => {
    const { after } = step;
    if (after.absolute || unsure(after, "absolute")) {
      settle();
      returned = -1;
      hint = false;
      return;
    }
    if (isReturn(cx, step)) {
      settle();
      const set = since(run, index, (a, b) => a.absolute === b.absolute);
      returned = meantForReturn(cx, set, index) ? index : -1;
      hint = false;
      return;
    }
    if (returned < 0) return;
    if (cx.word(step, "G91") !== undefined) {
      returned = -1;
      return;
    }
    const has = (letter: string): boolean => actingWords(step.block).some((w) => w.letter === letter);
    if (offsets.has(index) || cx.word(step, "G43") !== undefined || step.before.toolStep !== after.toolStep) hint = true;
    if (!has("X") && !has("Y") && !has("Z")) {
      if (turned !== undefined || !absoluteTurn(cx, step) || stepsOn(step, index)) return;
    } else {
      const moves = run.moves.slice(step.firstMove, step.endMove);
      // X0 Y0 under G91 goes nowhere, where it was meant to go to the zero of the part.
      const nowhere = moves.length === 0 && has("X") && has("Y") && offsets.has(index);
      if (!nowhere && !moves.some((m) => usesOffset(m))) return;
      if (!hint && !(has("X") && has("Y"))) {
        returned = -1;
        return;
      }
    }
    const set = since(run, index, (a, b) => a.absolute === b.absolute);
    const by = run.steps[set];
    // G91 that a called program leaves on is that program's fault.
    if (by !== undefined && by.call.depth > step.call.depth) return;
    if (!has("X") && !has("Y") && !has("Z")) {
      turned = { step: index, set };
      return;
    }
    turned = undefined;
    out.push({ step: index, set });
    // What follows has the same cause.
    returned = -1;
  });
  settle();
  return out;
}

/** A rotary word alone: a turn by nothing makes no sense, and on a fixture with faces an angle of one of them is meant as such. */
function absoluteTurn(cx: RuleContext, step: Step): boolean {
  const word = actingWords(step.block).find((w) => w.letter === (cx.fixture?.machine.rotary?.axis ?? w.letter) && "ABC".includes(w.letter));
  if (word === undefined) return false;
  const value = cx.value(step, word);
  if (value === 0) return true;
  return cx.fixture?.machine.rotary !== undefined && cx.fixture.bases.some((b) => Math.abs(angleBetween(b.face, value)) < 1e-6);
}

/** Whether a turn ends with the face towards the tool at whose station the next work is: then it is the step from face to face that is meant. */
function bringsFace(cx: RuleContext, index: number): boolean {
  const { fixture, run } = cx;
  const turn = run.moves[(run.steps[index] as Step).endMove - 1];
  const next = run.moves.find((m) => m.step > index && usesOffset(m) && m.kind !== "index");
  const station = next === undefined ? undefined : cx.stationOf(next);
  if (fixture === undefined || turn?.step !== index || next === undefined || station === undefined) return false;
  return next.rotaryFrom === turn.rotaryTo && faces(fixture, station, next.rotaryFrom) === true;
}

/** A block that sends axes to a reference position. */
function isReturn(cx: RuleContext, step: Step): boolean {
  return cx.word(step, "G28") !== undefined || cx.word(step, "G30") !== undefined;
}

/** Whether the block that set G91 did it for a return: in the same block, or with nothing but returns moving since. */
function meantForReturn(cx: RuleContext, set: number, index: number): boolean {
  if (set < 0) return false;
  for (let s = set; s <= index; s++) {
    const step = cx.run.steps[s];
    if (step === undefined || isReturn(cx, step)) continue;
    if (step.endMove > step.firstMove && cx.run.moves.slice(step.firstMove, step.endMove).some((m) => usesOffset(m))) return false;
  }
  return true;
}
