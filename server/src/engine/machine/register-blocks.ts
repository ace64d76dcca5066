import { registerOfG10 } from "../dialect/offsets.js";
import { axisWords, quantityOf, rotaryBit, rotaryTargets, target } from "./axes.js";
import { change, isPublished, isUncertain, type Machine, noteNotChecked, refuseUnderCompensation, settle, unitScale } from "./core.js";
import { closePipe, index as indexMove, PLANE_AXES, stay, straight } from "./motion.js";
import { offsetOrigin, replaceAxes, settingOf, storedOffset, vectorOf } from "./registers.js";
import { FOUR_ZEROS, type FourQuantities } from "./state.js";
import { KNOWN, known, numberOf, type Quantity } from "./symbols.js";
import { toProgram } from "./transform.js";
import { BIT, type Code, dimension, LINEAR, ROTARY, type Words, wordValue } from "./words.js";

/** Carries out G10, G28, G30, G52, G92 and its like. */
export function executeRegister(cx: Machine, code: Code, words: Words): void {
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

/**
 * A code that may cancel or restore the shift of G92 has run, and what it does on this control is not known: each axis
 * that has such a shift, or had one, is not known from here on.
 */
export function losePreset(cx: Machine): void {
  const { preset, savedPreset } = cx.state;
  const isZero = ({ value, anchor }: Quantity): boolean => value === 0 && anchor === KNOWN;
  const next = preset.map((now, axis): Quantity | undefined => {
    if (isZero(now) && isZero(savedPreset[axis as 0 | 1 | 2 | 3])) return undefined;
    return axis === 3 ? known(Number.NaN) : { value: 0, anchor: cx.symbols.fresh() };
  });
  if (next.some((q) => q !== undefined)) setPreset(cx, replaceAxes(preset, next));
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

/** Carries out polar, rotation, mirror and scaling codes. */
export function setTransform(cx: Machine, code: Code, words: Words): void {
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
