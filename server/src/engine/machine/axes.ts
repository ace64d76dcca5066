import { isUncertain, type Machine, unitScale } from "./core.js";
import { PLANE_AXES, stay } from "./motion.js";
import { settingOf } from "./registers.js";
import { known, type Quantity } from "./symbols.js";
import { fromProgram, hasTransform, polarPoint, toProgram } from "./transform.js";
import { BIT, dimension, LINEAR, type Words } from "./words.js";

/** Bit of the rotary word of a block that speaks of the axis in `rotaryLetter`; 0 for none. */
export function rotaryBit(cx: Machine, words: Words): number {
  if (cx.rotaryLetter !== undefined) {
    const bit = 1 << (cx.rotaryLetter.charCodeAt(0) - 65);
    return (words.mask & bit) !== 0 ? bit : 0;
  }
  for (const bit of [BIT.A, BIT.B, BIT.C]) if ((words.mask & bit) !== 0) return bit;
  return 0;
}

/** Values of X, Y, Z (mm) and the rotary axis (degrees) of a block; undefined where absent. */
export function axisWords(
  cx: Machine,
  words: Words,
): readonly [number | undefined, number | undefined, number | undefined, number | undefined] {
  const scale = unitScale(cx);
  const mm = (bit: number): number | undefined => {
    const value = dimension(cx, words, bit);
    return value === undefined ? undefined : value * scale;
  };
  const rotary = rotaryBit(cx, words);
  return [mm(BIT.X), mm(BIT.Y), mm(BIT.Z), rotary === 0 ? undefined : dimension(cx, words, rotary)];
}

/** A value as a quantity; what is not known hangs on a symbol of its own. */
export function quantityOf(cx: Machine, value: number): Quantity {
  return Number.isNaN(value) ? { value: 0, anchor: cx.symbols.fresh() } : known(value);
}

/** The target on that axis is not known. */
export function makeUnknown(cx: Machine, axis: number): void {
  cx.to[axis] = 0;
  cx.toAnchor[axis] = cx.symbols.fresh();
}

/** Puts the programmed target into `cx.to`: absolute or incremental, polar, transformed, shifted. */
export function target(cx: Machine, words: Words): void {
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
export function rotaryTargets(cx: Machine, words: Words): (number | undefined)[] {
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
