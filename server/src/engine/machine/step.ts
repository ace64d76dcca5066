import { offsetOf, registerOfG10 } from "../dialect/offsets.js";
import type { CodeInfo, OrderStep } from "../dialect/profile.js";
import type { Word } from "../syntax/block.js";
import {
  change,
  isPublished,
  isUncertain,
  type Machine,
  note,
  noteNotChecked,
  noteUnknownCode,
  settle,
  unitScale,
  unsettle,
} from "./core.js";
import { type CycleCode, cycleLevels, cyclePositions, expandCycle, isCycleCode, isCycleFailure } from "./cycles.js";
import { arc, closePipe, dwell, index as indexMove, isFlipped, PLANE_AXES, stay, straight } from "./motion.js";
import type { Modal } from "./move.js";
import { offsetOrigin, replaceAxes, settingOf, storedOffset, vectorOf } from "./registers.js";
import { type CycleState, FOUR_ZEROS, type FourQuantities } from "./state.js";
import { KNOWN, known, numberOf, type Quantity } from "./symbols.js";
import { dwellSeconds } from "./times.js";
import { fromProgram, hasTransform, polarPoint, toProgram } from "./transform.js";
import { BIT, CENTRE, type Code, dimension, LINEAR, ROTARY, type Words, wordValue } from "./words.js";

/** What the codes of one block ask for, sorted by what they do. Reused from block to block. */
interface Plan {
  todo: number;
  feedMode: 93 | 94 | 95 | 0;
  spindle: "cw" | "ccw" | undefined;
  spindleOff: boolean;
  change: boolean;
  plane: 17 | 18 | 19 | 0;
  units: "mm" | "inch" | undefined;
  compensation: 40 | 41 | 42 | 0;
  length: 43 | 44 | 49 | 0;
  offset: Code | undefined;
  absolute: boolean | undefined;
  returnLevel: 98 | 99 | 0;
  /** Non-modal code that is not G4, G53 or a call. */
  register: Code | undefined;
  machine: boolean;
  motion: Code | undefined;
  cycleOff: boolean;
  dwell: boolean;
  call: Code | undefined;
  stop: Code | undefined;
  transforms: Code[];
  /** Codes whose effect is not known. */
  opaque: { readonly code: Code; readonly info: CodeInfo | undefined }[];
  modalCall: Code | undefined;
}

const STEP_BITS: Readonly<Record<OrderStep, number>> = {
  comment: 0,
  "feed-mode": 1 << 0,
  feed: 1 << 1,
  speed: 1 << 2,
  tool: 1 << 3,
  change: 1 << 4,
  "spindle-on": 1 << 5,
  "spindle-off": 1 << 6,
  coolant: 0,
  override: 0,
  dwell: 1 << 7,
  plane: 1 << 8,
  units: 1 << 9,
  compensation: 1 << 10,
  length: 1 << 11,
  offset: 1 << 12,
  "path-control": 0,
  distance: 1 << 13,
  "return-level": 1 << 14,
  "reference-and-registers": 1 << 15,
  motion: 1 << 16,
  call: 1 << 17,
  stop: 1 << 18,
};

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

export function createPlan(): Plan {
  return {
    todo: 0,
    feedMode: 0,
    spindle: undefined,
    spindleOff: false,
    change: false,
    plane: 0,
    units: undefined,
    compensation: 0,
    length: 0,
    offset: undefined,
    absolute: undefined,
    returnLevel: 0,
    register: undefined,
    machine: false,
    motion: undefined,
    cycleOff: false,
    dwell: false,
    call: undefined,
    stop: undefined,
    transforms: [],
    opaque: [],
    modalCall: undefined,
  };
}

export type { Plan };

function clear(plan: Plan): void {
  plan.todo = 0;
  plan.feedMode = 0;
  plan.spindle = undefined;
  plan.spindleOff = false;
  plan.change = false;
  plan.plane = 0;
  plan.units = undefined;
  plan.compensation = 0;
  plan.length = 0;
  plan.offset = undefined;
  plan.absolute = undefined;
  plan.returnLevel = 0;
  plan.register = undefined;
  plan.machine = false;
  plan.motion = undefined;
  plan.cycleOff = false;
  plan.dwell = false;
  plan.call = undefined;
  plan.stop = undefined;
  plan.transforms.length = 0;
  plan.opaque.length = 0;
  plan.modalCall = undefined;
}

/** Carries out the words of the block at hand, in the order of the dialect. Calls and jumps are left to the caller. */
export function executeWords(cx: Machine, words: Words, plan: Plan): After {
  clear(plan);
  for (const code of words.codes) sort(cx, code, plan);
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

/** Puts one code where it belongs. */
function sort(cx: Machine, code: Code, plan: Plan): void {
  const info = cx.profile.codes.get(code.code);
  if (info === undefined) {
    const offset = offsetOf(code.code, undefined, cx.profile);
    if (offset !== undefined) {
      plan.offset = code;
      plan.todo |= STEP_BITS.offset;
      return;
    }
    if (!code.code.endsWith("?")) noteUnknownCode(cx, code.code, code.word);
    else
      noteNotChecked(
        cx,
        { key: "what.code", args: { line: cx.block.line + 1, letter: code.word.letter } },
        { key: "why.code-value", args: {} },
      );
    if (code.word.letter === "G") plan.opaque.push({ code, info });
    return;
  }
  if (info.use === "ignored") return;
  if (info.use === "opaque") {
    plan.opaque.push({ code, info });
    return;
  }
  switch (code.code) {
    case "G0":
    case "G1":
    case "G2":
    case "G3":
      // A cycle that stands in the same block is the motion of the block.
      if (plan.motion === undefined || !isCycleCode(plan.motion.code)) plan.motion = code;
      return;
    case "G80":
      plan.cycleOff = true;
      plan.todo |= STEP_BITS.motion;
      return;
    case "G4":
      plan.dwell = true;
      plan.todo |= STEP_BITS.dwell;
      return;
    case "G10":
    case "G28":
    case "G30":
    case "G52":
    case "G92":
    case "G92.1":
    case "G92.2":
    case "G92.3":
      plan.register = code;
      plan.todo |= STEP_BITS["reference-and-registers"];
      return;
    case "G15":
    case "G16":
    case "G50":
    case "G51":
    case "G50.1":
    case "G51.1":
    case "G68":
    case "G69":
      plan.transforms.push(code);
      plan.todo |= STEP_BITS["reference-and-registers"];
      return;
    case "G17":
    case "G18":
    case "G19":
      plan.plane = Number(code.code.slice(1)) as 17 | 18 | 19;
      plan.todo |= STEP_BITS.plane;
      return;
    case "G20":
    case "G70":
      plan.units = "inch";
      plan.todo |= STEP_BITS.units;
      return;
    case "G21":
    case "G71":
      plan.units = "mm";
      plan.todo |= STEP_BITS.units;
      return;
    case "G40":
    case "G41":
    case "G42":
      plan.compensation = Number(code.code.slice(1)) as 40 | 41 | 42;
      plan.todo |= STEP_BITS.compensation;
      return;
    case "G43":
    case "G44":
    case "G49":
      plan.length = Number(code.code.slice(1)) as 43 | 44 | 49;
      plan.todo |= STEP_BITS.length;
      return;
    case "G53":
      plan.machine = true;
      plan.todo |= STEP_BITS.motion;
      return;
    case "G65":
    case "M97":
    case "M98":
    case "M99":
      plan.call = code;
      return;
    case "G66":
    case "G67":
      plan.modalCall = code;
      return;
    case "G90":
    case "G91":
      plan.absolute = code.code === "G90";
      plan.todo |= STEP_BITS.distance;
      return;
    case "G93":
    case "G94":
    case "G95":
      plan.feedMode = Number(code.code.slice(1)) as 93 | 94 | 95;
      plan.todo |= STEP_BITS["feed-mode"];
      return;
    case "G97":
      return;
    case "G98":
    case "G99":
      plan.returnLevel = Number(code.code.slice(1)) as 98 | 99;
      plan.todo |= STEP_BITS["return-level"];
      return;
    case "M0":
    case "M1":
    case "M60":
      return;
    case "M2":
    case "M30":
      plan.stop = code;
      return;
    case "M3":
    case "M13":
      plan.spindle = "cw";
      plan.todo |= STEP_BITS["spindle-on"];
      return;
    case "M4":
    case "M14":
      plan.spindle = "ccw";
      plan.todo |= STEP_BITS["spindle-on"];
      return;
    case "M5":
    case "M19":
      plan.spindleOff = true;
      plan.todo |= STEP_BITS["spindle-off"];
      return;
    case "M6":
      plan.change = true;
      plan.todo |= STEP_BITS.change;
      return;
    default:
      if (isCycleCode(code.code)) {
        plan.motion = code;
        return;
      }
      if (info.group === "offset") {
        plan.offset = code;
        plan.todo |= STEP_BITS.offset;
        return;
      }
      // A profile of the user's may call a code executed that nothing here executes.
      if (code.word.letter === "G") plan.opaque.push({ code, info });
  }
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

/** NISTIR 6556, appendix B.5: what is not allowed while cutter compensation is in force. Elsewhere it is suspended for a while. */
function refuseUnderCompensation(cx: Machine, key: string, args: Readonly<Record<string, string>> = {}): void {
  if (isPublished(cx) && cx.state.modal.compensation !== 40) note(cx, "syntax", key, args);
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
  const key = offsetOf(code.code, wordValue(words, BIT.P), cx.profile);
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

// ---------------------------------------------------------------------------------------------------------------------
// Registers and references

function rotaryBit(cx: Machine, words: Words): number {
  if (cx.rotaryLetter !== undefined) {
    const bit = 1 << (cx.rotaryLetter.charCodeAt(0) - 65);
    return (words.mask & bit) !== 0 ? bit : 0;
  }
  for (const bit of [BIT.A, BIT.B, BIT.C]) if ((words.mask & bit) !== 0) return bit;
  return 0;
}

/** Values of X, Y, Z (mm) and the rotary axis (degrees) of a block; undefined where absent. */
function axisWords(cx: Machine, words: Words): readonly [number | undefined, number | undefined, number | undefined, number | undefined] {
  const scale = unitScale(cx);
  const mm = (bit: number): number | undefined => {
    const value = dimension(cx, words, bit);
    return value === undefined ? undefined : value * scale;
  };
  const rotary = rotaryBit(cx, words);
  return [mm(BIT.X), mm(BIT.Y), mm(BIT.Z), rotary === 0 ? undefined : dimension(cx, words, rotary)];
}

function quantityOf(cx: Machine, value: number): Quantity {
  return Number.isNaN(value) ? { value: 0, anchor: cx.symbols.fresh() } : known(value);
}

function executeRegister(cx: Machine, code: Code, words: Words): void {
  switch (code.code) {
    case "G10":
      writeRegister(cx, words);
      return;
    case "G28":
    case "G30":
      returnToReference(cx, code.code, words);
      return;
    case "G52":
      setLocalShift(cx, words);
      return;
    case "G92":
      presetPosition(cx, words);
      return;
    case "G92.1":
      cx.state.savedPreset = FOUR_ZEROS;
      setPreset(cx, FOUR_ZEROS);
      return;
    case "G92.2":
      setPreset(cx, FOUR_ZEROS);
      return;
    default:
      setPreset(cx, cx.state.savedPreset);
  }
}

const LETTERS = ["X", "Y", "Z"] as const;

function writeRegister(cx: Machine, words: Words): void {
  const l = wordValue(words, BIT.L) ?? Number.NaN;
  const p = wordValue(words, BIT.P) ?? Number.NaN;
  if (writeToolRegister(cx, words, l, p)) return;
  const register = registerOfG10(l, p, cx.profile);
  if (register === undefined) {
    if (!Number.isNaN(l) && !Number.isNaN(p)) {
      const word = cx.block.words[words.index[11] as number];
      noteNotChecked(cx, { key: "what.register", args: { line: cx.block.line + 1, l } }, { key: "why.register-kind", args: { l } });
      if (word === undefined) return;
    }
    return;
  }
  const values = axisWords(cx, words);
  const incremental = !cx.state.modal.absolute && cx.profile.g10Incremental;
  const doubtful = isUncertain(cx.state.modal, "absolute") && cx.profile.g10Incremental;
  const axes = new Map<string, { readonly written: number; readonly result: number; readonly wordIndex: number }>();
  const before: FourQuantities =
    register === "shift" ? cx.state.common : register === "out-of-range" ? FOUR_ZEROS : storedOffset(cx, register);
  const next: (Quantity | undefined)[] = [undefined, undefined, undefined, undefined];
  const rotary = rotaryBit(cx, words);
  for (let axis = 0; axis < 4; axis++) {
    const written = values[axis as 0 | 1 | 2 | 3];
    if (written === undefined) continue;
    const bit = axis < 3 ? 1 << (23 + axis) : rotary;
    const letter = axis < 3 ? (LETTERS[axis] as string) : String.fromCharCode(96 - Math.clz32(bit));
    let quantity = quantityOf(cx, doubtful ? Number.NaN : written);
    if (l === 20 && cx.profile.l20 === "current") quantity = readingAs(cx, axis, written);
    else if (incremental && !doubtful) quantity = cx.symbols.add(before[axis as 0 | 1 | 2 | 3], quantity);
    next[axis] = quantity;
    axes.set(letter, {
      written,
      result: register === "out-of-range" ? Number.NaN : numberOf(quantity),
      wordIndex: words.index[31 - Math.clz32(bit)] as number,
    });
  }
  cx.writes.push({ step: cx.step, register, l, p, incremental, axes });
  if (register === "out-of-range") return;
  closePipe(cx);
  if (register === "shift") cx.state.common = replaceAxes(cx.state.common, next);
  else cx.state.stored.set(register, replaceAxes(before, next));
  cx.state.changes++;
  cx.setting = undefined;
}

/** What a register must hold so that the present position reads `value` under it (L20 of some controls). */
function readingAs(cx: Machine, axis: number, value: number): Quantity {
  const { state, symbols } = cx;
  if (axis === 3) return known((state.rotary[(cx.rotaryLetter ?? "A").charCodeAt(0) - 65] as number) - value);
  const { base, baseAnchor } = settingOf(cx);
  const active = offsetOrigin(cx, state.modal.offset)[axis as 0 | 1 | 2];
  // Everything but the content of the active register stays: shifts, compensation.
  const rest = symbols.subtract({ value: base[axis] as number, anchor: baseAnchor[axis] as number }, active);
  const here: Quantity = { value: (state.at[axis] as number) - value, anchor: state.anchor[axis] as number };
  const position = symbols.subtract(here, rest);
  const common = symbols.subtract(position, state.common[axis as 0 | 1 | 2]);
  return axis === 2 ? { value: common.value - (cx.fixture?.zReference ?? 0), anchor: common.anchor } : common;
}

/** G10 L10 to L13: length, length wear, radius, radius wear (common practice, no source). True where L is one of them. */
function writeToolRegister(cx: Machine, words: Words, l: number, p: number): boolean {
  if (l !== 10 && l !== 11 && l !== 12 && l !== 13) return false;
  if (!cx.profile.calls.subprogram) return false;
  const r = dimension(cx, words, BIT.R);
  if (r === undefined || Number.isNaN(p)) return true;
  const mm = r * unitScale(cx);
  const { state } = cx;
  const map = l === 10 ? state.lengths : l === 11 ? state.lengthWear : l === 12 ? state.radii : state.radiusWear;
  const incremental = !state.modal.absolute && cx.profile.g10Incremental;
  const before = map.get(p) ?? (l === 11 || l === 13 ? 0 : Number.NaN);
  const result = incremental ? before + mm : mm;
  map.set(p, result);
  state.changes++;
  const register = `${l < 12 ? "length" : "radius"}:${p}`;
  cx.writes.push({
    step: cx.step,
    register,
    l,
    p,
    incremental,
    axes: new Map([["R", { written: mm, result, wordIndex: words.index[17] as number }]]),
  });
  cx.setting = undefined;
  return true;
}

function setLocalShift(cx: Machine, words: Words): void {
  closePipe(cx);
  const values = axisWords(cx, words);
  const next = values.map((v) => (v === undefined ? undefined : quantityOf(cx, v)));
  cx.state.local = replaceAxes(cx.state.local, next);
  change(cx, { localShift: vectorOf(cx.state.local) });
  cx.setting = undefined;
}

/** G92: the present position is given the values of the block, by a shift that every work offset has from then on. */
function presetPosition(cx: Machine, words: Words): void {
  const values = axisWords(cx, words);
  if (values.every((v) => v === undefined)) return;
  closePipe(cx);
  const { state, symbols } = cx;
  const { base, baseAnchor, rotaryBase } = settingOf(cx);
  const next = values.map((value, axis): Quantity | undefined => {
    if (value === undefined) return undefined;
    if (Number.isNaN(value)) return quantityOf(cx, value);
    if (axis === 3) {
      const angle = state.rotary[(cx.rotaryLetter ?? "A").charCodeAt(0) - 65] as number;
      return known(angle - rotaryBase - value + numberOf(state.preset[3]));
    }
    const reading = symbols.subtract(
      { value: state.at[axis] as number, anchor: state.anchor[axis] as number },
      { value: base[axis] as number, anchor: baseAnchor[axis] as number },
    );
    const more: Quantity = { value: reading.value - value, anchor: reading.anchor };
    return symbols.add(state.preset[axis as 0 | 1 | 2], more);
  });
  setPreset(cx, replaceAxes(state.preset, next));
  cx.state.savedPreset = cx.state.preset;
}

function setPreset(cx: Machine, preset: FourQuantities): void {
  refuseUnderCompensation(cx, "compensation-offset");
  closePipe(cx);
  cx.state.preset = preset;
  change(cx, { presetShift: vectorOf(preset) });
  cx.setting = undefined;
}

/** G28 and G30: through the programmed point, if it is another than the present one, to the reference position (contract-details 31). */
function returnToReference(cx: Machine, code: "G28" | "G30", words: Words): void {
  refuseUnderCompensation(cx, "compensation-reference", { code });
  closePipe(cx);
  const published = isPublished(cx);
  const turning = (words.mask & ROTARY) !== 0;
  const all = (words.mask & (LINEAR | ROTARY)) === 0;
  const angles = turning ? rotaryTargets(cx, words) : [];
  target(cx, words);
  if (turning) indexMove(cx, angles, "reference-through");
  else straight(cx, "rapid", "reference-through");
  stay(cx);
  const place = code === "G28" ? 1 : (wordValue(words, BIT.P) ?? 2);
  const home = cx.fixture?.machine.home;
  for (let axis = 0; axis < 3; axis++) {
    // RS274/NGC: the home move is of all axes; elsewhere of those that are named (a choice of the report's reading).
    if (!all && !published && (words.mask & (1 << (23 + axis))) === 0) continue;
    const letter = LETTERS[axis] as "X" | "Y" | "Z";
    const given = code === "G28" ? home?.[letter] : undefined;
    const parameter = published && cx.fixture === undefined ? homeParameter(cx, code, axis) : undefined;
    const at = given ?? parameter;
    if (at !== undefined && !Number.isNaN(at)) {
      cx.to[axis] = at;
      cx.toAnchor[axis] = KNOWN;
    } else {
      cx.to[axis] = 0;
      cx.toAnchor[axis] = cx.symbols.named(`reference ${place} ${letter}`);
    }
  }
  if (turning) {
    const homes = angles.map((angle, axis) => {
      if (angle === undefined) return undefined;
      const letter = String.fromCharCode(65 + axis);
      const known = cx.fixture !== undefined && cx.fixture.machine.rotary?.axis === letter && code === "G28";
      return known ? (home?.rotary ?? 0) : published && cx.fixture === undefined ? 0 : Number.NaN;
    });
    indexMove(cx, homes, "reference");
  } else straight(cx, "rapid", "reference");
}

function homeParameter(cx: Machine, code: "G28" | "G30", axis: number): number {
  const value = cx.state.variables.get((code === "G28" ? 5161 : 5181) + axis);
  return value === undefined || value === null ? 0 : value * unitScale(cx);
}

// ---------------------------------------------------------------------------------------------------------------------
// Transforms

function setTransform(cx: Machine, code: Code, words: Words): void {
  closePipe(cx);
  const { state } = cx;
  const { modal } = state;
  const values = axisWords(cx, words);
  const here = toProgram(cx);
  const axes = PLANE_AXES[modal.plane];
  settle(cx, "transform");
  switch (code.code) {
    case "G15":
      change(cx, { polar: false });
      return;
    case "G16":
      change(cx, { polar: true });
      state.polar = { radius: Number.NaN, angle: Number.NaN, pole: [0, 0] };
      return;
    case "G68": {
      const r = dimension(cx, words, BIT.R);
      const centre = (k: 0 | 1): number => values[axes[k] as 0 | 1 | 2] ?? (here[axes[k] as number] as number);
      state.transform = { ...state.transform, rotationCentre: [centre(0), centre(1)] };
      change(cx, { rotation: r ?? Number.NaN });
      return;
    }
    case "G69":
      change(cx, { rotation: undefined });
      return;
    case "G51.1": {
      const mirror = [0, 1, 2].map((a) => values[a as 0 | 1 | 2] !== undefined || modal.mirror?.[a] === true);
      const about = [0, 1, 2].map((a) => values[a as 0 | 1 | 2] ?? (state.transform.mirrorAbout[a] as number));
      state.transform = { ...state.transform, mirrorAbout: [about[0] as number, about[1] as number, about[2] as number] };
      change(cx, { mirror: [mirror[0] === true, mirror[1] === true, mirror[2] === true] });
      return;
    }
    case "G50.1": {
      const some = (words.mask & LINEAR) !== 0;
      const mirror = [0, 1, 2].map((a) => modal.mirror?.[a] === true && some && values[a as 0 | 1 | 2] === undefined);
      change(cx, { mirror: mirror.some(Boolean) ? [mirror[0] === true, mirror[1] === true, mirror[2] === true] : undefined });
      return;
    }
    case "G51": {
      const p = dimension(cx, words, BIT.P);
      const each = [BIT.I, BIT.J, BIT.K].map((bit) => dimension(cx, words, bit));
      const factor = (a: number): number => each[a] ?? p ?? (each.some((v) => v !== undefined) ? 1 : Number.NaN);
      const centre = [0, 1, 2].map((a) => values[a as 0 | 1 | 2] ?? (here[a] as number));
      state.transform = { ...state.transform, scalingCentre: [centre[0] as number, centre[1] as number, centre[2] as number] };
      change(cx, { scaling: [factor(0), factor(1), factor(2)] });
      return;
    }
    default:
      // G50 with an S word limits the spindle's speed.
      if ((words.mask & BIT.S) === 0) change(cx, { scaling: undefined });
  }
}

// ---------------------------------------------------------------------------------------------------------------------
// Motion

function makeUnknown(cx: Machine, axis: number): void {
  cx.to[axis] = 0;
  cx.toAnchor[axis] = cx.symbols.fresh();
}

/** Puts the programmed target into `cx.to`: absolute or incremental, polar, transformed, shifted. */
function target(cx: Machine, words: Words): void {
  stay(cx);
  const { state } = cx;
  const { modal } = state;
  const lost = isUncertain(modal, "absolute") || isUncertain(modal, "units");
  if (isUncertain(modal, "transform")) {
    for (let axis = 0; axis < 3; axis++) if ((words.mask & LINEAR) !== 0) makeUnknown(cx, axis);
    return;
  }
  if (hasTransform(modal)) {
    transformedTarget(cx, words, lost);
    return;
  }
  const setting = settingOf(cx);
  const scale = unitScale(cx);
  for (let axis = 0; axis < 3; axis++) {
    const bit = 1 << (23 + axis);
    if ((words.mask & bit) === 0) continue;
    const value = (dimension(cx, words, bit) as number) * scale;
    if (Number.isNaN(value) || lost) makeUnknown(cx, axis);
    else if (modal.absolute) {
      cx.to[axis] = value + (setting.base[axis] as number);
      cx.toAnchor[axis] = setting.baseAnchor[axis] as number;
    } else cx.to[axis] = (cx.to[axis] as number) + value;
  }
}

function transformedTarget(cx: Machine, words: Words, lost: boolean): void {
  const { state } = cx;
  const { modal } = state;
  const scale = unitScale(cx);
  const here = toProgram(cx);
  const point = [here[0], here[1], here[2]];
  const given = [false, false, false];
  const axes = PLANE_AXES[modal.plane];
  const value = (axis: number): number | undefined => {
    const v = dimension(cx, words, 1 << (23 + axis));
    return v === undefined ? undefined : lost ? Number.NaN : v;
  };
  for (let axis = 0; axis < 3; axis++) {
    const v = value(axis);
    if (v === undefined || (modal.polar && axis !== axes[2])) continue;
    given[axis] = true;
    point[axis] = modal.absolute ? v * scale : (here[axis] as number) + v * scale;
  }
  if (modal.polar) {
    const radius = value(axes[0]);
    const angle = value(axes[1]);
    if (radius !== undefined || angle !== undefined) {
      const [a, b] = polarPoint(cx, radius === undefined ? undefined : radius * scale, angle, [
        here[axes[0]] as number,
        here[axes[1]] as number,
      ]);
      point[axes[0]] = a;
      point[axes[1]] = b;
      given[axes[0]] = true;
      given[axes[1]] = true;
    }
  }
  fromProgram(cx, point, given);
}

/** Machine angles of A, B, C after the block; undefined where an axis has no word. */
function rotaryTargets(cx: Machine, words: Words): (number | undefined)[] {
  const { modal, rotary } = cx.state;
  const angles: (number | undefined)[] = [undefined, undefined, undefined];
  for (let axis = 0; axis < 3; axis++) {
    const bit = 1 << axis;
    if ((words.mask & bit) === 0) continue;
    const letter = String.fromCharCode(65 + axis) as "A" | "B" | "C";
    cx.rotaryLetter ??= letter;
    const value = dimension(cx, words, bit) as number;
    if (isUncertain(modal, "absolute")) angles[axis] = Number.NaN;
    else if (!modal.absolute) angles[axis] = (rotary[axis] as number) + value;
    else angles[axis] = value + (letter === cx.rotaryLetter ? settingOf(cx).rotaryBase : 0);
  }
  return angles;
}

/** True where the block made, or could have made, a motion. */
function executeMotion(cx: Machine, words: Words, plan: Plan): boolean {
  const { mask } = words;
  if (plan.cycleOff) cancelCycle(cx);
  let code = plan.motion?.code;
  const taken =
    plan.register !== undefined ||
    plan.dwell ||
    plan.call !== undefined ||
    plan.transforms.some((t) => t.code !== "G15" && t.code !== "G16" && t.code !== "G69");
  const axes = taken ? 0 : mask & (LINEAR | ROTARY);
  for (const { code: opaque, info } of plan.opaque) executeOpaque(cx, words, opaque, info, axes);
  if (plan.opaque.some((o) => o.info === undefined || o.info.takesAxes) && axes !== 0 && (code === undefined || !isCycleCode(code))) {
    if (code !== undefined && code !== "G80" && !plan.opaque.some((o) => o.info === undefined || o.info.group === "motion"))
      setMotion(cx, code);
    return true;
  }
  if (words.corner !== undefined) noteUnknownCode(cx, words.corner.letter, words.corner);
  if (code !== undefined) {
    settle(cx, "motion");
    if (isCycleCode(code)) {
      executeCycle(cx, words, code, axes, taken);
      return true;
    }
    setMotion(cx, code);
  } else {
    code = cx.state.modal.motion;
  }
  if (plan.machine) {
    machineMove(cx, words);
    return axes !== 0;
  }
  if (isUncertain(cx.state.modal, "motion") && axes !== 0) {
    stay(cx);
    for (let axis = 0; axis < 3; axis++) if ((axes & (1 << (23 + axis))) !== 0) makeUnknown(cx, axis);
    for (let axis = 0; axis < 3; axis++) if ((axes & (1 << axis)) !== 0) cx.state.rotary[axis] = Number.NaN;
    cx.state.at = [...cx.to];
    cx.state.anchor = [...cx.toAnchor];
    noteNotChecked(cx, { key: "what.motion", args: { line: cx.block.line + 1 } }, { key: "why.motion-code", args: {} });
    return true;
  }
  if (cx.state.cycle !== undefined && isCycleCode(code)) {
    if (axes === 0 && (mask & BIT.R) === 0) return false;
    if (taken) return false;
    executeCycle(cx, words, code, axes, taken);
    return true;
  }
  if (code === "G2" || code === "G3") {
    if (taken || (mask & (LINEAR | ROTARY | CENTRE | BIT.R)) === 0) return false;
    if ((mask & ROTARY) === 0) {
      if (isPublished(cx) && cx.state.modal.feedMode === 93 && (mask & BIT.F) === 0) note(cx, "syntax", "feed-inverse-missing", {});
      executeArc(cx, words, code === "G2");
      return true;
    }
  }
  if (axes === 0) return false;
  if (isPublished(cx) && cx.state.modal.feedMode === 93 && code === "G1" && (mask & BIT.F) === 0)
    note(cx, "syntax", "feed-inverse-missing", {});
  if (code === "G80") {
    note(cx, "syntax", "axes-without-motion", {});
    target(cx, words);
    for (let axis = 0; axis < 3; axis++) if ((axes & (1 << (23 + axis))) !== 0) makeUnknown(cx, axis);
    cx.state.at = [...cx.to];
    cx.state.anchor = [...cx.toAnchor];
    return true;
  }
  const angles = (axes & ROTARY) !== 0 ? rotaryTargets(cx, words) : undefined;
  target(cx, words);
  if (angles !== undefined) indexMove(cx, angles, "plain");
  else straight(cx, code === "G0" ? "rapid" : "feed", "plain");
  if (words.corner !== undefined) {
    // A rounded or broken corner ends the move before the programmed point; by how much is not worked out here.
    for (let axis = 0; axis < 2; axis++) cx.state.anchor[axis] = cx.symbols.fresh();
  }
  return true;
}

function setMotion(cx: Machine, code: string): void {
  const { state } = cx;
  if (code !== "G80") state.group1 = code;
  state.cycle = undefined;
  if (state.modal.motion !== code) change(cx, { motion: code });
}

function cancelCycle(cx: Machine): void {
  const { state } = cx;
  state.cycle = undefined;
  // Where G80 is a motion code of its own, it stands until another is given; elsewhere the one before comes back.
  const published = cx.profile.codes.get("G80")?.group === "motion";
  const motion = published ? "G80" : state.group1;
  if (state.modal.motion !== motion) change(cx, { motion });
}

/** A code whose effect is not known: what it names is not known afterwards. */
function executeOpaque(cx: Machine, words: Words, code: Code, info: CodeInfo | undefined, axes: number): void {
  const group = info?.group;
  if (group === "offset" || group === "tool-offset") {
    closePipe(cx);
    unsettle(cx, "offset");
    cx.setting = undefined;
  } else if (group === "length") {
    unsettle(cx, "length");
    cx.setting = undefined;
  } else if (group === "speed") {
    if ((words.mask & BIT.S) === 0) change(cx, { speed: Number.NaN });
    return;
  } else if (group === "plane" || group === "feed" || group === "distance" || group === "compensation") {
    unsettle(cx, group === "feed" ? "feedMode" : group === "distance" ? "absolute" : group);
  }
  if (axes === 0 || (info !== undefined && !info.takesAxes && group !== "motion")) return;
  closePipe(cx);
  stay(cx);
  for (let axis = 0; axis < 3; axis++) if ((axes & (1 << (23 + axis))) !== 0) makeUnknown(cx, axis);
  for (let axis = 0; axis < 3; axis++) if ((axes & (1 << axis)) !== 0) cx.state.rotary[axis] = Number.NaN;
  cx.state.at = [...cx.to];
  cx.state.anchor = [...cx.toAnchor];
  if (info === undefined || group === "motion" || group === "cycle") {
    cx.state.cycle = undefined;
    unsettle(cx, "motion");
  }
  noteNotChecked(
    cx,
    { key: "what.motion-of", args: { line: cx.block.line + 1, code: code.code } },
    { key: "why.opaque", args: { code: code.code } },
  );
}

function machineMove(cx: Machine, words: Words): void {
  const { modal } = cx.state;
  const scale = unitScale(cx);
  refuseUnderCompensation(cx, "compensation-reference", { code: "G53" });
  closePipe(cx);
  if (modal.motion !== "G0" && modal.motion !== "G1" && isPublished(cx)) note(cx, "syntax", "machine-motion", {});
  const kind = modal.motion === "G0" ? "rapid" : "feed";
  stay(cx);
  const angles: (number | undefined)[] = [0, 1, 2].map((a) => ((words.mask & (1 << a)) === 0 ? undefined : dimension(cx, words, 1 << a)));
  for (let axis = 0; axis < 3; axis++) {
    const value = dimension(cx, words, 1 << (23 + axis));
    if (value === undefined) continue;
    if (Number.isNaN(value) || isUncertain(modal, "units")) makeUnknown(cx, axis);
    else {
      cx.to[axis] = value * scale;
      cx.toAnchor[axis] = KNOWN;
    }
  }
  if ((words.mask & ROTARY) !== 0) {
    for (let axis = 0; axis < 3; axis++)
      if (angles[axis] !== undefined) cx.rotaryLetter ??= String.fromCharCode(65 + axis) as "A" | "B" | "C";
    indexMove(cx, angles, "machine");
  } else if ((words.mask & LINEAR) !== 0) straight(cx, kind, "machine");
}

function executeArc(cx: Machine, words: Words, clockwise: boolean): void {
  const { modal } = cx.state;
  const scale = unitScale(cx);
  const axes = PLANE_AXES[modal.plane];
  target(cx, words);
  const mm = (bit: number): number | undefined => {
    const value = dimension(cx, words, bit);
    return value === undefined ? undefined : value * scale;
  };
  let offsets: [number | undefined, number | undefined, number | undefined] = [mm(BIT.I), mm(BIT.J), mm(BIT.K)];
  let radius = mm(BIT.R);
  const flipped = isFlipped(cx);
  if (modal.rotation !== undefined || modal.mirror !== undefined || modal.scaling !== undefined) {
    const [a, b] = axes;
    const factor = modal.scaling ?? [1, 1, 1];
    if (modal.scaling !== undefined && Math.abs(factor[a] as number) !== Math.abs(factor[b] as number)) {
      note(cx, "syntax", "arc-scaled", {});
      offsets = [undefined, undefined, undefined];
      radius = Number.NaN;
    } else {
      const sign = (axis: number): number => (modal.mirror?.[axis] === true ? -1 : 1) * (factor[axis] as number);
      const i = offsets[a] === undefined ? undefined : offsets[a] * sign(a);
      const j = offsets[b] === undefined ? undefined : offsets[b] * sign(b);
      const angle = ((modal.rotation ?? 0) * Math.PI) / 180;
      if (i !== undefined || j !== undefined) {
        offsets[a] = (i ?? 0) * Math.cos(angle) - (j ?? 0) * Math.sin(angle);
        offsets[b] = (i ?? 0) * Math.sin(angle) + (j ?? 0) * Math.cos(angle);
      }
      if (radius !== undefined) radius *= Math.abs(factor[a] as number);
    }
  }
  const planeBits = (1 << (23 + axes[0])) | (1 << (23 + axes[1]));
  arc(cx, { offsets, radius, hasEnd: (words.mask & planeBits) !== 0, clockwise: clockwise !== flipped, turns: undefined });
}

// ---------------------------------------------------------------------------------------------------------------------
// Canned cycles

function executeCycle(cx: Machine, words: Words, code: CycleCode, axes: number, taken: boolean): void {
  const { state } = cx;
  closePipe(cx);
  const published = isPublished(cx);
  if (state.modal.motion !== code) change(cx, { motion: code });
  const { modal } = state;
  const planeAxes = PLANE_AXES[modal.plane];
  const w = planeAxes[2];
  const before = state.cycle;
  const scale = unitScale(cx);
  const mm = (bit: number): number | undefined => {
    const value = dimension(cx, words, bit);
    return value === undefined ? undefined : value * scale;
  };
  const setting = settingOf(cx);
  const here = toProgram(cx);
  const level = here[w] as number;
  const inForce = before !== undefined && (!published || before.code === code);
  const initial: Quantity = inForce && !published ? before.initial : { value: state.at[w] as number, anchor: state.anchor[w] as number };
  const initialLevel = hasTransform(modal)
    ? level
    : initial.anchor === setting.baseAnchor[w]
      ? initial.value - (setting.base[w] as number)
      : Number.NaN;
  const retained = inForce ? before : undefined;
  const rWord = mm(BIT.R) ?? retained?.rWord;
  const zWord = mm(1 << (23 + w)) ?? retained?.zWord;
  const incremental = !modal.absolute;
  let r: number | undefined;
  let z: number | undefined;
  if (published) {
    // NISTIR 6556, C.3: the words stay and are read again in the mode in force.
    ({ r, z } = cycleLevels({ level, incremental, r: rWord, z: zWord }));
  } else {
    // Contract-details 34: the planes first computed stay.
    const rGiven = mm(BIT.R);
    const zGiven = mm(1 << (23 + w));
    r = rGiven === undefined ? retained?.r : incremental ? initialLevel + rGiven : rGiven;
    z = zGiven === undefined ? retained?.z : incremental ? (r ?? initialLevel) + zGiven : zGiven;
  }
  if (!published && r === undefined && (axes & LINEAR) !== 0) {
    // Some controls begin where the tool is, some are told in another word, some refuse.
    noteNotChecked(cx, { key: "what.r-plane", args: { line: cx.block.line + 1, code } }, { key: "why.no-r", args: {} });
    r = Number.NaN;
  }
  const pWord = wordValue(words, BIT.P);
  const p =
    pWord === undefined ? retained?.p : dwellSeconds(pWord, (words.whole & BIT.P) !== 0 ? cx.profile.dwellWhole : cx.profile.dwellPoint);
  const repeats = repeatsOf(cx, words, code);
  const k = code === "G87" && published ? mm(BIT.K) : undefined;
  const next: CycleState = {
    code,
    initial,
    r,
    z,
    rWord,
    zWord,
    q: mm(BIT.Q) ?? retained?.q,
    p: pWord !== undefined && pWord < 0 ? pWord : p,
    i: mm(BIT.I) ?? retained?.i,
    j: mm(BIT.J) ?? retained?.j,
    k: k === undefined ? retained?.k : incremental && z !== undefined ? z + k : k,
  };
  state.cycle = next;
  if (taken) return;
  const moves = (axes & LINEAR) !== 0 || (words.mask & BIT.R) !== 0;
  if ((axes & LINEAR) === 0 && published) {
    note(cx, "syntax", "cycle-axes-missing", { code });
    return;
  }
  if (!moves) return;
  if (
    isUncertain(modal, "returnLevel") ||
    isUncertain(modal, "absolute") ||
    isUncertain(modal, "plane") ||
    isUncertain(modal, "units") ||
    isUncertain(modal, "transform")
  ) {
    loseCycle(cx);
    return;
  }
  if ((axes & ROTARY) !== 0) {
    const angles = rotaryTargets(cx, words);
    stay(cx);
    indexMove(cx, angles, "plain");
  }
  const at = toProgram(cx);
  const positions = cycleTargets(cx, words, at, repeats);
  if (isCycleFailure(positions)) {
    note(cx, "syntax", `cycle-${positions.error}`, { ...positions.data, code });
    return;
  }
  const spindle = isUncertain(modal, "spindle") ? {} : { spindle: modal.spindle };
  const expansion = expandCycle(code, {
    from: [at[planeAxes[0]] as number, at[planeAxes[1]] as number, at[w] as number],
    positions,
    r,
    z,
    ...(next.q === undefined ? {} : { q: next.q }),
    ...(next.p === undefined ? {} : { p: next.p }),
    ...(next.i === undefined && next.j === undefined ? {} : { shift: shiftWords(next, planeAxes, published) }),
    ...(next.k === undefined ? {} : { k: next.k }),
    returnLevel: modal.returnLevel,
    initialLevel,
    backOff: cx.profile.backOff,
    peckRetract: cx.profile.peckRetract,
    style: published ? "rs274ngc" : "common",
    ...spindle,
    inverseTime: modal.feedMode === 93,
    compensation: modal.compensation !== 40,
    rotaryMotion: (axes & ROTARY) !== 0,
  });
  if (isCycleFailure(expansion)) {
    const args = Object.fromEntries(
      Object.entries(expansion.data).map(([key, value]) => [
        key,
        key === "p" ? { seconds: value } : key === "moves" || key === "limit" || key === "repeats" ? value : { mm: value },
      ]),
    );
    note(cx, "syntax", `cycle-${expansion.error}`, { ...args, code });
    // The position of the hole is known all the same; at what height the tool then stands is not.
    loseCycle(cx);
    return;
  }
  for (const assumption of expansion.assumptions) cx.assumptions.add(`cycle-${assumption}`);
  const known = [0, 1, 2].map((axis) => !Number.isNaN(at[axis] as number));
  for (const move of expansion.moves) {
    if (move.kind === "dwell") {
      dwell(cx, move.seconds ?? Number.NaN);
      continue;
    }
    const point = [0, 0, 0];
    const given = [false, false, false];
    for (let n = 0; n < 3; n++) {
      const axis = planeAxes[n] as number;
      point[axis] = move.to[n] as number;
      // A coordinate that was not known before and that no word gives stays where it is.
      given[axis] = known[axis] === true || (axes & (1 << (23 + axis))) !== 0 || axis === w || Number.isFinite(point[axis]);
    }
    stay(cx);
    fromProgram(cx, point, given);
    straight(cx, move.kind, move.role, move.manual === true);
  }
}

function shiftWords(
  cycle: CycleState,
  axes: readonly [number, number, number],
  published: boolean,
): readonly [number | undefined, number | undefined] {
  // I, J (and K in the other planes) go with X, Y, Z; G87 of RS274/NGC is written in XY only.
  const words = [cycle.i, cycle.j, published ? undefined : cycle.k];
  return [words[axes[0]], words[axes[1]]];
}

/** The axes that a cycle would have moved are not known any more. */
function loseCycle(cx: Machine): void {
  stay(cx);
  for (let axis = 0; axis < 3; axis++) makeUnknown(cx, axis);
  cx.state.at = [...cx.to];
  cx.state.anchor = [...cx.toAnchor];
}

function repeatsOf(cx: Machine, words: Words, code: CycleCode): number {
  for (const letter of cx.profile.repeatLetters) {
    if (letter === "K" && code === "G87" && isPublished(cx)) continue;
    const value = wordValue(words, 1 << (letter.charCodeAt(0) - 65));
    if (value !== undefined) return value;
  }
  return 1;
}

function cycleTargets(cx: Machine, words: Words, at: readonly number[], repeats: number): ReturnType<typeof cyclePositions> {
  const { modal } = cx.state;
  const [a, b] = PLANE_AXES[modal.plane];
  const scale = unitScale(cx);
  const mm = (axis: number): number | undefined => {
    const value = dimension(cx, words, 1 << (23 + axis));
    return value === undefined ? undefined : value * scale;
  };
  const zeroAllowed = cx.profile.repeatZero === "store";
  const from: readonly [number, number] = [at[a] as number, at[b] as number];
  if (modal.polar) {
    const count = Number.isNaN(repeats) ? 1 : repeats;
    const positions: (readonly [number, number])[] = [];
    const first = cyclePositions({ from, target: [0, 0], incremental: false, repeats: count, zeroAllowed });
    if (isCycleFailure(first)) return first;
    let place = from;
    for (let n = 0; n < first.length; n++) {
      const radius = mm(a);
      const angle = dimension(cx, words, 1 << (23 + b));
      if (radius !== undefined || angle !== undefined) place = polarPoint(cx, radius, angle, place);
      positions.push(place);
    }
    return positions;
  }
  const incremental = !modal.absolute;
  const targetPoint: readonly [number, number] = incremental ? [mm(a) ?? 0, mm(b) ?? 0] : [mm(a) ?? from[0], mm(b) ?? from[1]];
  return cyclePositions({ from, target: targetPoint, incremental, repeats, zeroAllowed });
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
