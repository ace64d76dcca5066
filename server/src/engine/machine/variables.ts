import { offsetOfVariable } from "../dialect/offsets.js";
import type { Block } from "../syntax/block.js";
import { evaluate } from "../syntax/evaluate.js";
import type { Expr, Value } from "../syntax/expression.js";
import { isPublished, type Machine, note, unitScale } from "./core.js";
import { rotaryAngle } from "./motion.js";
import type { OffsetKey } from "./move.js";
import { replaceAxes, settingOf, storedOffset } from "./registers.js";
import type { StepVariables } from "./run.js";
import { KNOWN, known, numberOf, type Quantity } from "./symbols.js";

/** Value of an expression of the block at hand; a problem is noted and gives NaN. */
export function valueOfExpr(cx: Machine, expr: Expr): Value {
  const read = (index: number): Value => {
    const value = readVariable(cx, index);
    variablesOf(cx)?.read.push([index, value]);
    return value;
  };
  const result = evaluate(expr, read, cx.profile);
  if (result.problem !== undefined) note(cx, "syntax", result.problem.key, result.problem.args, result.problem);
  return result.value;
}

/** A loop may run a hundred thousand times; nobody looks at what its variables held in each round. */
const MOST_KEPT = 50_000;

/** Where the step at hand keeps what its variables held; undefined when enough is kept. */
function variablesOf(cx: Machine): StepVariables | undefined {
  const own = cx.variables.get(cx.step);
  if (own !== undefined || cx.variables.size >= MOST_KEPT) return own;
  const fresh: StepVariables = { read: [], given: [] };
  cx.variables.set(cx.step, fresh);
  return fresh;
}

function isLocal(cx: Machine, index: number): boolean {
  const range = cx.profile.variables?.local;
  return range !== undefined && index >= range[0] && index <= range[1];
}

/**
 * Content of a variable. A local one that was never set is empty; any other that this program has not set holds what earlier
 * programs or the operator left there, so it is not known. System variables: work offsets, positions (in program units), and
 * the common modal ones (common practice, no source, but for the numbers that NISTIR 6556, Table 2 gives).
 */
function readVariable(cx: Machine, index: number): Value {
  const { state } = cx;
  if (isLocal(cx, index)) return state.frames.at(-1)?.locals.get(index) ?? null;
  const offset = offsetOfVariable(index, cx.profile);
  if (offset !== undefined) return readOffset(cx, offset.register, offset.axis);
  const written = state.variables.get(index);
  if (written !== undefined) return written;
  if (index >= 3000) cx.positionRead = true;
  return readSystem(cx, index);
}

function readOffset(cx: Machine, register: OffsetKey | "shift", axis: number): number {
  const values = register === "shift" ? cx.state.common : storedOffset(cx, register);
  if (axis > 3) return Number.NaN;
  const value = numberOf(values[axis as 0 | 1 | 2 | 3]);
  return axis < 3 ? value / unitScale(cx) : value;
}

function readSystem(cx: Machine, index: number): number {
  const { profile, state } = cx;
  const { modal } = state;
  const positions = profile.positionVariables;
  if (positions !== undefined) {
    const axisOf = (first: number): number => (index >= first && index < first + 6 ? index - first : -1);
    const blockEnd = axisOf(positions.blockEnd);
    const program = axisOf(positions.program);
    const machine = axisOf(positions.machine);
    const axis = Math.max(blockEnd, program, machine);
    if (axis > 3) return Number.NaN;
    if (axis === 3) return machine === 3 ? rotaryAngle(cx) : modal.rotary;
    if (axis >= 0) {
      const value = state.at[axis] as number;
      const anchor = state.anchor[axis] as number;
      if (machine >= 0) return anchor === KNOWN ? value / unitScale(cx) : Number.NaN;
      const { base, baseAnchor } = settingOf(cx);
      return anchor === baseAnchor[axis] ? (value - (base[axis] as number)) / unitScale(cx) : Number.NaN;
    }
  }
  if (profile.expressions === "rs274ngc") return readPublished(cx, index);
  const p = /^P(\d+)$/.exec(modal.offset);
  switch (index) {
    case 4001:
      return Number(state.group1.slice(1));
    case 4002:
      return modal.plane;
    case 4003:
      return modal.absolute ? 90 : 91;
    case 4005:
      return modal.feedMode;
    case 4006:
      return modal.units === undefined ? Number.NaN : modal.units === "inch" ? 20 : 21;
    case 4007:
      return modal.compensation;
    case 4008:
      return modal.length;
    case 4010:
      return modal.returnLevel;
    case 4014:
      return p === null ? Number(modal.offset.slice(1)) : 54.1;
    case 4107:
      return modal.d;
    case 4109:
      return modal.feed / unitScale(cx);
    case 4111:
      return modal.h;
    case 4119:
      return modal.speed;
    case 4120:
      return modal.tool;
    case 4130:
      return p === null ? 0 : Number(p[1]);
    default:
      return Number.NaN;
  }
}

/** Parameters of NISTIR 6556, Table 2, which have defaults. */
function readPublished(cx: Machine, index: number): number {
  if (index === 5220) {
    const plain = cx.profile.offsets.filter((o) => o.p === undefined).map((o) => o.key);
    return plain.indexOf(cx.state.modal.offset) + 1;
  }
  if (index >= 5211 && index <= 5214) {
    const axis = index - 5211;
    const value = numberOf(cx.state.savedPreset[axis as 0 | 1 | 2 | 3]);
    return axis < 3 ? value / unitScale(cx) : value;
  }
  if ((index >= 5161 && index <= 5166) || (index >= 5181 && index <= 5186) || (index >= 5211 && index <= 5216)) return 0;
  return Number.NaN;
}

/** The rest of the program is not executed: the assignment raises an alarm. */
export type AssignResult = "done" | "alarm";

/** Assigns to a variable; a work offset is written as if by G10. `span` for what is noted. */
function assignVariable(cx: Machine, index: number, value: Value): AssignResult {
  const { state } = cx;
  if (isLocal(cx, index)) {
    const locals = state.frames.at(-1)?.locals;
    if (locals !== undefined && !Object.is(locals.get(index) ?? null, value)) {
      locals.set(index, value);
      state.changes++;
    }
    return "done";
  }
  const offset = offsetOfVariable(index, cx.profile);
  if (offset !== undefined) {
    assignOffset(cx, offset.register, offset.axis, value);
    return "done";
  }
  if (cx.profile.expressions === "macro") loseToolRegister(cx, index);
  if (index === 3000 && cx.profile.expressions === "macro") return "alarm";
  if (!Object.is(state.variables.get(index), value)) {
    state.variables.set(index, value);
    state.changes++;
  }
  return "done";
}

/**
 * Tool registers are variables too, but which of length, radius and wear a number means depends on how the control's memory is
 * divided; what the tool's registers hold is unknown after such an assignment (common practice, no source).
 */
function loseToolRegister(cx: Machine, index: number): void {
  const base = index > 2000 && index <= 2400 ? 2000 : index > 10000 && index < 14000 ? Math.floor(index / 1000) * 1000 : undefined;
  if (base === undefined) return;
  const n = base === 2000 ? (index - 2000) % 200 || 200 : index - base;
  cx.state.lengths.set(n, Number.NaN);
  cx.state.radii.set(n, Number.NaN);
  cx.setting = undefined;
}

function assignOffset(cx: Machine, register: OffsetKey | "shift", axis: number, value: Value): void {
  if (axis > 3) return;
  const number = value ?? 0;
  const mm = axis < 3 ? number * unitScale(cx) : number;
  const quantity: Quantity = Number.isNaN(mm) ? { value: 0, anchor: cx.symbols.fresh() } : known(mm);
  const values: (Quantity | undefined)[] = [undefined, undefined, undefined, undefined];
  values[axis] = quantity;
  if (register === "shift") cx.state.common = replaceAxes(cx.state.common, values);
  else cx.state.stored.set(register, replaceAxes(storedOffset(cx, register), values));
  cx.state.changes++;
  cx.setting = undefined;
  const letter = axis < 3 ? (["X", "Y", "Z"][axis] as string) : (cx.rotaryLetter ?? "A");
  cx.writes.push({
    step: cx.step,
    register,
    l: Number.NaN,
    p: Number.NaN,
    incremental: false,
    axes: new Map([[letter, { written: mm, result: mm, wordIndex: -1 }]]),
  });
}

/**
 * Carries out the assignments of a block. RS274/NGC reads every value before any variable changes (NISTIR 6556, 3.3.3); the macro
 * form goes from left to right (common practice, no source).
 */
export function assignAll(cx: Machine, block: Block): AssignResult {
  let result: AssignResult = "done";
  const parallel = isPublished(cx);
  const waiting: { readonly index: number; readonly value: Value }[] = [];
  for (const assignment of block.assignments) {
    const index = valueOfExpr(cx, assignment.index);
    const value = valueOfExpr(cx, assignment.value);
    variablesOf(cx)?.given.push(value);
    if (index === null) continue;
    if (Number.isNaN(index)) {
      // Which variable changes is not known, so none of them is known any more.
      for (const key of cx.state.variables.keys()) cx.state.variables.set(key, Number.NaN);
      const locals = cx.state.frames.at(-1)?.locals;
      const range = cx.profile.variables?.local;
      if (locals !== undefined && range !== undefined) for (let i = range[0]; i <= range[1]; i++) locals.set(i, Number.NaN);
      cx.state.changes++;
      continue;
    }
    const whole = Math.round(index);
    if (Math.abs(whole - index) > 1e-4 || whole < 1) continue;
    if (parallel) waiting.push({ index: whole, value });
    else if (assignVariable(cx, whole, value) === "alarm") result = "alarm";
  }
  for (const { index, value } of waiting) assignVariable(cx, index, value);
  return result;
}
