import type { Profile } from "../dialect/profile.js";
import type { Fixture } from "../fixture/model.js";
import { ZERO } from "../geometry/vector.js";
import type { Value } from "../syntax/expression.js";
import type { CycleCode } from "./cycles.js";
import type { Modal, OffsetKey } from "./move.js";
import type { Call } from "./run.js";
import { KNOWN, NOTHING, type Quantity, type Symbols } from "./symbols.js";

/** X, Y, Z and the rotary axis. */
export type FourQuantities = readonly [Quantity, Quantity, Quantity, Quantity];

export const FOUR_ZEROS: FourQuantities = [NOTHING, NOTHING, NOTHING, NOTHING];

/** A program, subprogram or macro that has been entered and not left. Mutable; a fork of the state copies it. */
export interface Frame {
  readonly call: Call;
  /** Index into the sources of the run. */
  readonly source: number;
  /** First line that is executed, for repeats and for M99 of a main program. */
  readonly first: number;
  /** Line behind the last. */
  readonly end: number;
  /** Line of the block to be executed next. */
  line: number;
  /** How often it is still to be run after this time. */
  remaining: number;
  /** Local variables; shared with the caller where the call opens no level of its own. */
  locals: Map<number, Value>;
  /** Arguments with which the level began, for repeats of a macro call. */
  readonly args: ReadonlyMap<number, Value> | undefined;
  /** Entered by a modal macro call, which therefore is not in force inside. */
  readonly byModalMacro: boolean;
  /** Backward jumps that were taken: line of the jump → how often, and the count of changes to variables at the last time. */
  jumps: Map<number, JumpRecord>;
}

export interface JumpRecord {
  readonly count: number;
  readonly changes: number;
}

/** What a canned cycle retains. Levels and words are in program coordinates (mm). */
export interface CycleState {
  readonly code: CycleCode;
  /** Level of the third axis when the cycle mode began, of the gauge point where that axis is Z. */
  readonly initial: Quantity;
  readonly r: number | undefined;
  readonly z: number | undefined;
  /** The words as last written, for dialects in which they, and not the planes, are retained. */
  readonly rWord: number | undefined;
  readonly zWord: number | undefined;
  readonly q: number | undefined;
  readonly p: number | undefined;
  readonly i: number | undefined;
  readonly j: number | undefined;
  readonly k: number | undefined;
}

/** Rotation, mirror and scaling in program coordinates. Undefined parts are not in force. */
export interface Transform {
  readonly rotationCentre: readonly [number, number];
  readonly mirrorAbout: readonly [number, number, number];
  readonly scalingCentre: readonly [number, number, number];
}

export interface Polar {
  readonly radius: number;
  readonly angle: number;
  /** Pole in plane coordinates of the program. */
  readonly pole: readonly [number, number];
}

/** A modal macro call (G66). */
export interface ModalMacro {
  readonly program: number;
  readonly repeats: number;
  readonly args: ReadonlyMap<number, Value>;
  readonly step: number;
}

/** Everything that the machine remembers from block to block. */
export interface State {
  modal: Modal;
  /** Machine X and Y of the tool and Z of the spindle gauge point: numbers … */
  at: number[];
  /** … and what they are anchored to. */
  anchor: number[];
  /** Machine angles of A, B and C in degrees, NaN unknown. */
  rotary: number[];
  /** Step that last turned the rotary axis. */
  rotaryStep: number;
  /** Registers that the program has written; the others hold what they held at the start. */
  stored: Map<OffsetKey, FourQuantities>;
  /** Common shift, G52 and G92, and the G92 parameters that G92.3 restores. */
  common: FourQuantities;
  local: FourQuantities;
  preset: FourQuantities;
  savedPreset: FourQuantities;
  /** Tool registers that the program has written: geometry and wear, mm; NaN unknown. */
  lengths: Map<number, number>;
  lengthWear: Map<number, number>;
  radii: Map<number, number>;
  radiusWear: Map<number, number>;
  /** Variables that are not local. */
  variables: Map<number, Value>;
  /** Counts changes to variables, so that a loop in which nothing changes is seen to be endless. */
  changes: number;
  frames: Frame[];
  transform: Transform;
  polar: Polar;
  cycle: CycleState | undefined;
  modalMacro: ModalMacro | undefined;
  /** The motion code that comes back when a canned cycle is cancelled. */
  group1: string;
}

const NO_TRANSFORM: Transform = { rotationCentre: [0, 0], mirrorAbout: [0, 0, 0], scalingCentre: [0, 0, 0] };

/** State at power-on with a program just started (contract-details 18): axes unknown, no tool, units not stated. */
export function startState(symbols: Symbols, profile: Profile, fixture: Fixture | undefined): State {
  const modal: Modal = {
    motion: "G0",
    plane: 17,
    units: undefined,
    absolute: true,
    feedMode: 94,
    compensation: 40,
    d: Number.NaN,
    length: 49,
    h: Number.NaN,
    offset: "G54",
    offsetStep: -1,
    returnLevel: profile.returnDefault === "R" ? 99 : 98,
    localShift: ZERO,
    presetShift: ZERO,
    rotation: undefined,
    mirror: undefined,
    scaling: undefined,
    polar: false,
    spindle: "stopped",
    speed: Number.NaN,
    feed: Number.NaN,
    tool: 0,
    toolStep: -1,
    nextTool: Number.NaN,
    rotary: fixture !== undefined && fixture.machine.rotary === undefined ? 0 : Number.NaN,
  };
  const turned = fixture !== undefined && fixture.machine.rotary === undefined ? 0 : Number.NaN;
  const shift = fixture?.commonShift;
  const zero = (n: number | undefined): Quantity => (n === undefined || n === 0 ? NOTHING : { value: n, anchor: KNOWN });
  return {
    modal,
    at: [0, 0, 0],
    anchor: [symbols.named("start X"), symbols.named("start Y"), symbols.named("start Z")],
    rotary: [turned, turned, turned],
    rotaryStep: -1,
    stored: new Map(),
    common: [zero(shift?.X), zero(shift?.Y), zero(shift?.Z), zero(shift?.rotary)],
    local: FOUR_ZEROS,
    preset: FOUR_ZEROS,
    savedPreset: FOUR_ZEROS,
    lengths: new Map(),
    lengthWear: new Map(),
    radii: new Map(),
    radiusWear: new Map(),
    variables: new Map(),
    changes: 0,
    frames: [],
    transform: NO_TRANSFORM,
    polar: { radius: Number.NaN, angle: Number.NaN, pole: [0, 0] },
    cycle: undefined,
    modalMacro: undefined,
    group1: "G0",
  };
}

/** A copy that can go its own way. Immutable parts are shared. */
export function cloneState(s: State): State {
  const levels = new Map<Map<number, Value>, Map<number, Value>>();
  const level = (locals: Map<number, Value>): Map<number, Value> => {
    let copy = levels.get(locals);
    if (copy === undefined) {
      copy = new Map(locals);
      levels.set(locals, copy);
    }
    return copy;
  };
  return {
    ...s,
    at: [...s.at],
    anchor: [...s.anchor],
    rotary: [...s.rotary],
    stored: new Map(s.stored),
    lengths: new Map(s.lengths),
    lengthWear: new Map(s.lengthWear),
    radii: new Map(s.radii),
    radiusWear: new Map(s.radiusWear),
    variables: new Map(s.variables),
    frames: s.frames.map((f) => ({ ...f, locals: level(f.locals), jumps: new Map(f.jumps) })),
  };
}

const same = Object.is;

function sameQuantity(a: Quantity, b: Quantity): boolean {
  return a === b || (same(a.value, b.value) && a.anchor === b.anchor);
}

/**
 * Merges two ends of branches, of which one was taken and nobody knows which: what they agree on stays, the rest is unknown.
 * Answers the merged state and whether it differs from `a`.
 */
export function mergeStates(
  a: State,
  b: State,
  symbols: Symbols,
  initial: (key: OffsetKey) => FourQuantities,
): { readonly state: State; readonly changed: boolean } {
  const out = cloneState(a);
  let changed = false;
  const quantity = (x: Quantity, y: Quantity): Quantity => {
    if (sameQuantity(x, y)) return x;
    changed = true;
    return { value: 0, anchor: symbols.fresh() };
  };
  const four = (x: FourQuantities, y: FourQuantities): FourQuantities =>
    x === y ? x : [quantity(x[0], y[0]), quantity(x[1], y[1]), quantity(x[2], y[2]), quantity(x[3], y[3])];
  for (let axis = 0; axis < 3; axis++) {
    if (a.anchor[axis] !== b.anchor[axis] || !same(a.at[axis], b.at[axis])) {
      changed = true;
      out.at[axis] = 0;
      out.anchor[axis] = symbols.fresh();
    }
    if (!same(a.rotary[axis], b.rotary[axis])) {
      changed = changed || !Number.isNaN(a.rotary[axis]);
      out.rotary[axis] = Number.NaN;
    }
  }
  out.common = four(a.common, b.common);
  out.local = four(a.local, b.local);
  out.preset = four(a.preset, b.preset);
  out.savedPreset = four(a.savedPreset, b.savedPreset);
  for (const key of new Set([...a.stored.keys(), ...b.stored.keys()])) {
    // A register that only one branch wrote holds what it held at the start in the other.
    out.stored.set(key, four(a.stored.get(key) ?? initial(key), b.stored.get(key) ?? initial(key)));
  }
  const mergeMap = <T>(x: Map<number, T>, y: Map<number, T>, unknown: T): Map<number, T> => {
    const merged = new Map(x);
    for (const key of new Set([...x.keys(), ...y.keys()])) {
      if (x.has(key) && y.has(key) && same(x.get(key), y.get(key))) continue;
      if (!same(x.get(key), unknown)) changed = true;
      merged.set(key, unknown);
    }
    return merged;
  };
  out.lengths = mergeMap(a.lengths, b.lengths, Number.NaN);
  out.lengthWear = mergeMap(a.lengthWear, b.lengthWear, Number.NaN);
  out.radii = mergeMap(a.radii, b.radii, Number.NaN);
  out.radiusWear = mergeMap(a.radiusWear, b.radiusWear, Number.NaN);
  out.variables = mergeMap<Value>(a.variables, b.variables, Number.NaN);
  const levels = new Map<Map<number, Value>, Map<number, Value>>();
  out.frames.forEach((frame, i) => {
    const mine = a.frames[i];
    const theirs = b.frames[i];
    if (mine === undefined || theirs === undefined) return;
    let merged = levels.get(mine.locals);
    if (merged === undefined) {
      const x = new Map(mine.locals);
      const y = new Map(theirs.locals);
      // A local variable that was never set is known to be empty.
      for (const key of x.keys()) if (!y.has(key)) y.set(key, null);
      for (const key of y.keys()) if (!x.has(key)) x.set(key, null);
      merged = mergeMap<Value>(x, y, Number.NaN);
      levels.set(mine.locals, merged);
    }
    frame.locals = merged;
    if (mine.remaining !== theirs.remaining) frame.remaining = Math.max(mine.remaining, theirs.remaining);
    for (const [line, record] of theirs.jumps) {
      const before = frame.jumps.get(line);
      if (before === undefined || before.count < record.count) frame.jumps.set(line, record);
    }
  });
  const modal = mergeModal(a.modal, b.modal);
  if (modal !== a.modal) changed = true;
  out.modal = modal;
  if (a.transform !== b.transform && !same(JSON.stringify(a.transform), JSON.stringify(b.transform))) {
    out.transform = {
      rotationCentre: [Number.NaN, Number.NaN],
      mirrorAbout: [Number.NaN, Number.NaN, Number.NaN],
      scalingCentre: [Number.NaN, Number.NaN, Number.NaN],
    };
  }
  if (a.polar.radius !== b.polar.radius || a.polar.angle !== b.polar.angle) {
    out.polar = { radius: Number.NaN, angle: Number.NaN, pole: [Number.NaN, Number.NaN] };
  }
  out.cycle = mergeCycle(a.cycle, b.cycle, quantity);
  out.changes = Math.max(a.changes, b.changes) + 1;
  out.rotaryStep = Math.max(a.rotaryStep, b.rotaryStep);
  return { state: out, changed };
}

function mergeCycle(
  a: CycleState | undefined,
  b: CycleState | undefined,
  quantity: (x: Quantity, y: Quantity) => Quantity,
): CycleState | undefined {
  if (a === undefined || b === undefined || a === b) return a ?? b;
  const pick = (x: number | undefined, y: number | undefined): number | undefined => (same(x, y) ? x : Number.NaN);
  return {
    code: a.code,
    initial: quantity(a.initial, b.initial),
    r: pick(a.r, b.r),
    z: pick(a.z, b.z),
    rWord: pick(a.rWord, b.rWord),
    zWord: pick(a.zWord, b.zWord),
    q: pick(a.q, b.q),
    p: pick(a.p, b.p),
    i: pick(a.i, b.i),
    j: pick(a.j, b.j),
    k: pick(a.k, b.k),
  };
}

/** Merges modal states; a state on which the branches disagree is listed in `uncertain`. */
function mergeModal(a: Modal, b: Modal): Modal {
  if (a === b) return a;
  const uncertain = new Set([...(a.uncertain ?? []), ...(b.uncertain ?? [])]);
  const before = uncertain.size === (a.uncertain ?? []).length;
  let equal = before;
  for (const field of [
    "motion",
    "plane",
    "units",
    "absolute",
    "feedMode",
    "compensation",
    "length",
    "offset",
    "returnLevel",
    "spindle",
  ] as const) {
    if (a[field] !== b[field] && !uncertain.has(field)) {
      uncertain.add(field);
      equal = false;
    }
  }
  if (
    (a.rotation !== b.rotation || a.polar !== b.polar || !sameList(a.mirror, b.mirror) || !sameList(a.scaling, b.scaling)) &&
    !uncertain.has("transform")
  ) {
    uncertain.add("transform");
    equal = false;
  }
  const number = (x: number, y: number): number => {
    if (same(x, y)) return x;
    if (!Number.isNaN(x)) equal = false;
    return Number.NaN;
  };
  const merged = {
    d: number(a.d, b.d),
    h: number(a.h, b.h),
    speed: number(a.speed, b.speed),
    feed: number(a.feed, b.feed),
    tool: number(a.tool, b.tool),
    nextTool: number(a.nextTool, b.nextTool),
    rotary: number(a.rotary, b.rotary),
  };
  const steps = { offsetStep: Math.max(a.offsetStep, b.offsetStep), toolStep: Math.max(a.toolStep, b.toolStep) };
  const shifts = {
    localShift: mergeVector(a.localShift, b.localShift, number),
    presetShift: mergeVector(a.presetShift, b.presetShift, number),
  };
  if (equal && steps.offsetStep === a.offsetStep && steps.toolStep === a.toolStep) return a;
  const { uncertain: _before, ...rest } = a;
  return { ...rest, ...merged, ...steps, ...shifts, ...(uncertain.size === 0 ? {} : { uncertain: [...uncertain] }) };
}

function mergeVector(a: Modal["localShift"], b: Modal["localShift"], number: (x: number, y: number) => number): Modal["localShift"] {
  if (a === b) return a;
  return [number(a[0], b[0]), number(a[1], b[1]), number(a[2], b[2])];
}

function sameList(a: readonly unknown[] | undefined, b: readonly unknown[] | undefined): boolean {
  return a === b || (a !== undefined && b !== undefined && a.every((x, i) => same(x, b[i])));
}
