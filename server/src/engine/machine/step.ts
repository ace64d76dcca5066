import { isPTaken, offsetOf } from "../dialect/offsets.js";
import type { OrderStep } from "../dialect/profile.js";
import type { Word } from "../syntax/block.js";
import { change, isPublished, type Machine, note, refuseUnderCompensation, settle, unitScale, unsettle } from "./core.js";
import { closePipe, dwell } from "./motion.js";
import { executeMotion } from "./motion-blocks.js";
import type { Modal } from "./move.js";
import { clearPlan, type Plan, STEP_BITS, sortCode } from "./plan.js";
import { executeRegister, setTransform } from "./register-blocks.js";
import { settingOf } from "./registers.js";
import { dwellSeconds } from "./times.js";
import { BIT, CENTRE, type Code, dimension, LINEAR, ROTARY, type Words, wordValue } from "./words.js";

const MOTION_ONLY = STEP_BITS.motion | STEP_BITS.feed;
const MOTION_LETTERS = LINEAR | ROTARY | CENTRE | BIT.R;

/** What comes after a block. */
export type After =
  | { readonly kind: "next" }
  /** M98, M97, G65, and the modal macro call after a motion */
  | { readonly kind: "call"; readonly code: string; readonly word: Word | undefined }
  /** M99 */
  | { readonly kind: "return"; readonly label: number | undefined; readonly word: Word }
  /** M02, M30 */
  | { readonly kind: "end"; readonly word: Word | undefined };

const NEXT: After = { kind: "next" };

/** Carries out the words of the block at hand, in the order of the dialect. Calls and jumps are left to the caller. */
export function executeWords(cx: Machine, words: Words, plan: Plan): After {
  clearPlan(plan);
  for (const code of words.codes) sortCode(cx, code, plan);
  const { mask } = words;
  if (plan.call?.code === "G65" || plan.modalCall?.code === "G66") {
    // Every other word of the block is an argument of the macro.
    return plan.call !== undefined
      ? { kind: "call", code: "G65", word: plan.call.word }
      : { kind: "call", code: "G66", word: plan.modalCall?.word };
  }
  if (plan.modalCall !== undefined) cx.state.modalMacro = undefined;
  if ((mask & BIT.F) !== 0) plan.todo |= STEP_BITS.feed;
  if ((mask & BIT.S) !== 0) plan.todo |= STEP_BITS.speed;
  if ((mask & BIT.T) !== 0) plan.todo |= STEP_BITS.tool;
  if ((mask & BIT.D) !== 0 && cx.state.modal.compensation !== 40) plan.todo |= STEP_BITS.compensation;
  if ((mask & BIT.H) !== 0 && cx.state.modal.length !== 49) plan.todo |= STEP_BITS.length;
  if (plan.motion !== undefined || (mask & MOTION_LETTERS) !== 0 || plan.opaque.length > 0) plan.todo |= STEP_BITS.motion;
  if (cx.state.modal.feedMode === 93 && (mask & BIT.F) === 0 && !Number.isNaN(cx.state.modal.feed)) change(cx, { feed: Number.NaN });
  let moved = false;
  const movesBefore = cx.moves.length;
  if ((plan.todo & ~MOTION_ONLY) === 0) {
    if ((plan.todo & STEP_BITS.feed) !== 0) setFeed(cx, words);
    if ((plan.todo & STEP_BITS.motion) !== 0) moved = executeMotion(cx, words, plan);
  } else {
    for (const step of cx.profile.order) {
      if ((plan.todo & STEP_BITS[step]) === 0) continue;
      if (step === "motion") moved = executeMotion(cx, words, plan);
      else executeStep(cx, step, words, plan);
    }
  }
  if (plan.call !== undefined) {
    if (plan.call.code === "M99") return { kind: "return", label: wordValue(words, BIT.P), word: plan.call.word };
    return { kind: "call", code: plan.call.code, word: plan.call.word };
  }
  if (plan.stop !== undefined) return { kind: "end", word: plan.stop.word };
  if (cx.state.modalMacro !== undefined && moved && cx.moves.length >= movesBefore) return { kind: "call", code: "modal", word: undefined };
  return NEXT;
}

function setFeed(cx: Machine, words: Words): void {
  const value = wordValue(words, BIT.F) ?? Number.NaN;
  const feed = cx.state.modal.feedMode === 93 ? value : value * unitScale(cx);
  if (!Object.is(feed, cx.state.modal.feed)) change(cx, { feed });
}

function executeStep(cx: Machine, step: OrderStep, words: Words, plan: Plan): void {
  const { state } = cx;
  switch (step) {
    case "feed-mode":
      settle(cx, "feedMode");
      if (plan.feedMode !== 0 && plan.feedMode !== state.modal.feedMode) change(cx, { feedMode: plan.feedMode, feed: Number.NaN });
      return;
    case "feed":
      // A unit code of the same block counts for its F word: whoever writes G20 F10 means inches.
      if (plan.units !== undefined) setUnits(cx, plan.units);
      setFeed(cx, words);
      return;
    case "speed":
      setSpeed(cx, words, plan);
      return;
    case "tool":
      change(cx, { nextTool: wordValue(words, BIT.T) ?? Number.NaN });
      return;
    case "change":
      changeTool(cx);
      return;
    case "spindle-on":
      settle(cx, "spindle");
      if (plan.spindle !== undefined && state.modal.spindle !== plan.spindle) change(cx, { spindle: plan.spindle });
      return;
    case "spindle-off":
      settle(cx, "spindle");
      if (state.modal.spindle !== "stopped") change(cx, { spindle: "stopped" });
      return;
    case "dwell":
      executeDwell(cx, words);
      return;
    case "plane":
      if (plan.plane !== 0) {
        settle(cx, "plane");
        if (state.modal.plane !== plan.plane) {
          refuseUnderCompensation(cx, "compensation-plane");
          closePipe(cx);
          change(cx, { plane: plan.plane });
        }
      }
      return;
    case "units":
      if (plan.units !== undefined) setUnits(cx, plan.units);
      return;
    case "compensation":
      setCompensation(cx, words, plan);
      return;
    case "length":
      setLength(cx, words, plan);
      return;
    case "offset":
      if (plan.offset !== undefined) setOffset(cx, plan.offset, words);
      return;
    case "distance":
      settle(cx, "absolute");
      if (plan.absolute !== undefined && plan.absolute !== state.modal.absolute) change(cx, { absolute: plan.absolute });
      return;
    case "return-level":
      settle(cx, "returnLevel");
      if (plan.returnLevel !== 0 && plan.returnLevel !== state.modal.returnLevel) change(cx, { returnLevel: plan.returnLevel });
      return;
    case "reference-and-registers":
      for (const code of plan.transforms) setTransform(cx, code, words);
      if (plan.register !== undefined) executeRegister(cx, plan.register, words);
      return;
    default:
      return;
  }
}

function setUnits(cx: Machine, units: "mm" | "inch"): void {
  settle(cx, "units");
  if (cx.state.modal.units === units) return;
  refuseUnderCompensation(cx, "compensation-units");
  change(cx, { units });
}

function setSpeed(cx: Machine, words: Words, plan: Plan): void {
  // G92 and G50 with S limit the speed and do not set it.
  const limit = plan.register?.code === "G92" || plan.transforms.some((c) => c.code === "G50");
  if (limit && (words.mask & LINEAR) === 0) return;
  const surface = plan.opaque.some((o) => o.info?.group === "speed");
  const speed = surface ? Number.NaN : (wordValue(words, BIT.S) ?? Number.NaN);
  if (!Object.is(speed, cx.state.modal.speed)) change(cx, { speed });
}

function changeTool(cx: Machine): void {
  closePipe(cx);
  const { modal } = cx.state;
  change(cx, {
    // A change without any T waiting loads what the control has ready, which is not known.
    tool: modal.nextTool,
    nextTool: Number.NaN,
    toolStep: cx.step,
    // NISTIR 6556, 3.6.3: the spindle stands still after a change.
    spindle: "stopped",
  });
  cx.setting = undefined;
  cx.changeSeconds += cx.fixture?.machine.toolChangeSeconds ?? Number.NaN;
}

function executeDwell(cx: Machine, words: Words): void {
  const { profile } = cx;
  let seconds = Number.NaN;
  const p = profile.dwellLetters.includes("P") ? wordValue(words, BIT.P) : undefined;
  if (p !== undefined) {
    const written = (words.whole & BIT.P) !== 0 || (words.evaluated !== undefined && Number.isInteger(p));
    seconds = dwellSeconds(p, written ? profile.dwellWhole : profile.dwellPoint);
  } else {
    for (const letter of profile.dwellLetters) {
      if (letter === "P") continue;
      const value = dimension(cx, words, 1 << (letter.charCodeAt(0) - 65));
      if (value !== undefined) seconds = dwellSeconds(value, "s");
    }
  }
  dwell(cx, seconds);
}

function setCompensation(cx: Machine, words: Words, plan: Plan): void {
  const { modal } = cx.state;
  const d = wordValue(words, BIT.D);
  const code = plan.compensation;
  if (code === 40) {
    closePipe(cx);
    settle(cx, "compensation");
    if (modal.compensation !== 40) change(cx, { compensation: 40 });
    return;
  }
  if (code !== 0) {
    refuseUnderCompensation(cx, "compensation-again");
    if (isPublished(cx) && modal.plane !== 17) note(cx, "syntax", "compensation-not-xy", {});
    settle(cx, "compensation");
  }
  const next = code === 0 ? modal.compensation : code;
  const number = d ?? modal.d;
  if (modal.compensation !== next || !Object.is(number, modal.d)) change(cx, { compensation: next, d: number });
}

function setLength(cx: Machine, words: Words, plan: Plan): void {
  const { modal } = cx.state;
  const code = plan.length;
  // An H that belongs to another code of the block (G10, a macro argument) does not come here.
  const h = wordValue(words, BIT.H);
  if (code !== 0) settle(cx, "length");
  if (code === 49) change(cx, { length: 49, h: Number.NaN });
  else if (code === 0) {
    if (plan.register?.code === "G10" || h === undefined) return;
    change(cx, { h });
  } else change(cx, { length: code, h: h ?? modal.h });
  cx.setting = undefined;
}

function setOffset(cx: Machine, code: Code, words: Words): void {
  const taken = isPTaken(
    code.code,
    words.codes.map((c) => c.code),
    cx.profile,
  );
  const key = offsetOf(code.code, taken ? undefined : wordValue(words, BIT.P), cx.profile);
  refuseUnderCompensation(cx, "compensation-offset");
  closePipe(cx);
  cx.setting = undefined;
  if (key === undefined || key === "absent-p" || key === "out-of-range") {
    // The rule offset-unmapped says what is wrong; where the program goes from here is not known.
    change(cx, { offsetStep: cx.step });
    unsettle(cx, "offset");
    return;
  }
  settle(cx, "offset");
  change(cx, { offset: key, offsetStep: cx.step });
  const { rotaryBase } = settingOf(cx);
  const rotary =
    (cx.rotaryLetter === undefined ? Number.NaN : (cx.state.rotary[cx.rotaryLetter.charCodeAt(0) - 65] as number)) - rotaryBase;
  if (!Object.is(rotary, cx.state.modal.rotary) && cx.rotaryLetter !== undefined) change(cx, { rotary });
}

/** Brings codes into force that a profile names, without any motion: at the start of a program. */
export function applyInitial(cx: Machine, codes: readonly string[]): void {
  const changes: { -readonly [K in keyof Modal]?: Modal[K] } = {};
  for (const code of codes) {
    const n = Number(code.slice(1));
    if (code === "G17" || code === "G18" || code === "G19") changes.plane = n as 17 | 18 | 19;
    else if (code === "G20" || code === "G70") changes.units = "inch";
    else if (code === "G21" || code === "G71") changes.units = "mm";
    else if (code === "G90" || code === "G91") changes.absolute = code === "G90";
    else if (code === "G93" || code === "G94" || code === "G95") changes.feedMode = n as 93 | 94 | 95;
    else if (code === "G98" || code === "G99") changes.returnLevel = n as 98 | 99;
    else if (code === "G0" || code === "G1" || (code === "G80" && cx.profile.codes.get("G80")?.group === "motion")) {
      changes.motion = code;
      if (code !== "G80") cx.state.group1 = code;
    } else {
      const key = offsetOf(code, undefined, cx.profile);
      if (key !== undefined && key !== "absent-p" && key !== "out-of-range") changes.offset = key;
    }
  }
  change(cx, changes);
}
