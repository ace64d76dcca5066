import type { OffsetKey } from "../../machine/move.js";
import type { Run, Step } from "../../machine/run.js";
import type { RuleContext } from "../rule.js";
import { usesOffset } from "./left.js";
import { paced } from "./paced.js";

const known = new WeakMap<Run, ReadonlyMap<number, number>>();

/**
 * Tool changes behind which the first motion in X or Y runs under the offset that the tool before left in force: the step of the
 * change, with the step of that motion. In slices, and kept for the next rule that asks.
 *
 * Not among them is a tool that takes its turn at the station where the one before did all of its work, is there for the first
 * time and stays there, and has its turn at other stations as well: a part that is machined by one tool after another under an
 * offset that is stated once.
 */
export function* inheritedStarts(cx: RuleContext): Generator<void, ReadonlyMap<number, number>, void> {
  const held = known.get(cx.run);
  if (held !== undefined) return held;
  const found = yield* find(cx);
  known.set(cx.run, found);
  return found;
}

/** From one tool change to the next. */
interface Section {
  readonly change: number;
  readonly tool: number;
  readonly used: Set<OffsetKey>;
  /** Step of the first motion in X or Y. */
  first: number | undefined;
}

function* find(cx: RuleContext): Generator<void, Map<number, number>, void> {
  const { run, fixture } = cx;
  const sections: Section[] = [{ change: -1, tool: 0, used: new Set(), first: undefined }];
  let section = sections[0] as Section;
  let moveIndex = 0;
  yield* paced(run.steps, (step, index) => {
    const { toolStep, tool } = step.after;
    if (toolStep !== section.change) {
      section = { change: toolStep, tool, used: new Set(), first: undefined };
      sections.push(section);
    }
    for (let move = run.moves[moveIndex]; move !== undefined && move.step <= index; move = run.moves[++moveIndex]) {
      if (usesOffset(move)) section.used.add(move.modal.offset);
    }
    if (section.first === undefined && isPlaneMotion(cx, step)) section.first = index;
  });
  const out = new Map<number, number>();
  const all = new Set(run.visits.map((v) => v.offset));
  sections.forEach(({ change, tool, used, first }, k) => {
    const before = sections[k - 1]?.used;
    if (first === undefined || before === undefined) return;
    const { offset, offsetStep, uncertain } = (run.steps[first] as Step).after;
    if (offsetStep >= change || uncertain?.includes("offset") === true || !before.has(offset)) return;
    // One offset for the whole program is no series of stations; without a fixture only a tool that went round tells of one.
    if ((fixture === undefined ? before : all).size < 2) return;
    const stays = before.size === 1 && used.size === 1 && used.has(offset);
    const wasHere = sections.slice(0, k).some((s) => s.tool === tool && s.used.has(offset));
    const isElsewhere = sections.some((s) => s.tool === tool && [...s.used].some((other) => other !== offset));
    if (!stays || wasHere || !isElsewhere) out.set(change, first);
  });
  return out;
}

/** Codes whose X and Y the work offset has no say in, or that make no motion of them. */
const OTHER_AXES = ["G4", "G10", "G28", "G30", "G52", "G53", "G92"];

/** A block with X or Y under the work offset, also one that goes nowhere because the tool stands there already. */
function isPlaneMotion(cx: RuleContext, step: Step): boolean {
  if (cx.word(step, "X") === undefined && cx.word(step, "Y") === undefined) return false;
  return !OTHER_AXES.some((code) => cx.word(step, code) !== undefined);
}
