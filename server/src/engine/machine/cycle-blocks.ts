import { makeUnknown, rotaryTargets } from "./axes.js";
import { change, isPublished, isUncertain, type Machine, note, noteNotChecked, unitScale } from "./core.js";
import { type CycleCode, cycleLevels, cyclePositions, expandCycle, isCycleFailure } from "./cycles.js";
import { closePipe, dwell, index as indexMove, PLANE_AXES, stay, straight } from "./motion.js";
import { settingOf } from "./registers.js";
import type { CycleState } from "./state.js";
import type { Quantity } from "./symbols.js";
import { dwellSeconds } from "./times.js";
import { fromProgram, hasTransform, polarPoint, toProgram } from "./transform.js";
import { BIT, dimension, LINEAR, ROTARY, type Words, wordValue } from "./words.js";

/** Carries out a block under a canned cycle: what it gives is retained, and where it names a place a hole is made. `taken`: another code has the axis words. */
export function executeCycle(cx: Machine, words: Words, code: CycleCode, axes: number, taken: boolean): void {
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
