import type { Vec3 } from "../geometry/vector.js";
import { isUncertain, type Machine, type Setting } from "./core.js";
import type { OffsetKey } from "./move.js";
import type { FourQuantities } from "./state.js";
import { KNOWN, known, NOTHING, numberOf, type Quantity } from "./symbols.js";

/**
 * What a register holds as the control stores it (contract-details 17): what G10 wrote so far, else the sidecar's values, else
 * its file, else the computed position of its station; what none of them gives is an unknown of its own. Without a sidecar a
 * dialect may say that offsets hold zero.
 */
export function storedOffset(cx: Machine, key: OffsetKey): FourQuantities {
  const written = cx.state.stored.get(key);
  return written ?? startingOffset(cx, key);
}

/** What a register held before the program wrote any. */
export function startingOffset(cx: Machine, key: OffsetKey): FourQuantities {
  let initial = cx.initial.get(key);
  if (initial === undefined) {
    initial = initialOffset(cx, key);
    cx.initial.set(key, initial);
  }
  return initial;
}

function initialOffset(cx: Machine, key: OffsetKey): FourQuantities {
  const { fixture } = cx;
  const unknown = (axis: string): Quantity => ({ value: 0, anchor: cx.symbols.named(`${key} ${axis}`) });
  if (fixture === undefined) {
    if (hasPublishedDefaults(cx)) return [NOTHING, NOTHING, NOTHING, NOTHING];
    return [unknown("X"), unknown("Y"), unknown("Z"), NOTHING];
  }
  const values = fixture.stored.get(key)?.values;
  const station = fixture.stationsOf(key)[0];
  const axis = (letter: "X" | "Y" | "Z"): Quantity => {
    const given = values?.[letter];
    if (given !== undefined) return known(given);
    const computed = station?.computed[letter] ?? Number.NaN;
    if (Number.isNaN(computed)) return unknown(letter);
    return known(computed - (fixture.commonShift[letter] ?? 0) - (letter === "Z" ? fixture.zReference : 0));
  };
  // A rotary value is zero unless somebody gives one (contract-details 4).
  const rotary = values?.rotary ?? (station?.computed.rotary ?? 0) - (fixture.commonShift.rotary ?? 0);
  return [axis("X"), axis("Y"), axis("Z"), known(rotary)];
}

/** Machine position of a work offset's origin: stored + common shift + (Z only) what stored Z counts from. */
export function offsetOrigin(cx: Machine, key: OffsetKey): FourQuantities {
  const { symbols } = cx;
  const stored = storedOffset(cx, key);
  const { common } = cx.state;
  const z = symbols.add(stored[2], common[2]);
  const reference = cx.fixture?.zReference ?? 0;
  return [
    symbols.add(stored[0], common[0]),
    symbols.add(stored[1], common[1]),
    Number.isNaN(reference) ? { value: 0, anchor: symbols.fresh() } : { value: z.value + reference, anchor: z.anchor },
    symbols.add(stored[3], common[3]),
  ];
}

/** Content of length register n, mm, wear included (contract-details 2). */
function lengthRegister(cx: Machine, n: number): Quantity {
  if (n === 0) return NOTHING;
  const wear = cx.state.lengthWear.get(n) ?? 0;
  const written = cx.state.lengths.get(n);
  if (Number.isNaN(wear) || (written !== undefined && Number.isNaN(written))) return { value: 0, anchor: cx.symbols.fresh() };
  if (written !== undefined) return known(written + wear);
  if (hasPublishedDefaults(cx)) return known(wear);
  const tool = toolOfLength(cx, n);
  if (tool !== undefined) {
    return Number.isNaN(tool.LF) ? { value: wear, anchor: cx.symbols.named(`length of tool ${tool.number}`) } : known(tool.LF + wear);
  }
  return { value: wear, anchor: cx.symbols.named(`length register ${n}`) };
}

/** Without a sidecar, RS274/NGC starts from the defaults of its parameter and tool files: every number in them is 0. */
function hasPublishedDefaults(cx: Machine): boolean {
  return cx.fixture === undefined && cx.profile.offsetsDefaultZero;
}

function toolOfLength(cx: Machine, n: number): { readonly number: number; readonly LF: number } | undefined {
  for (const tool of cx.fixture?.tools.values() ?? []) if (tool.H.includes(n)) return tool;
  return undefined;
}

/** Content of radius register n, mm, NaN unknown. Without an entry of its own it holds DC/2 of the tool whose D is n. */
export function radiusRegister(cx: Machine, n: number): number {
  if (n === 0) return 0;
  if (Number.isNaN(n)) return Number.NaN;
  const wear = cx.state.radiusWear.get(n) ?? 0;
  const written = cx.state.radii.get(n);
  if (written !== undefined) return written + wear;
  for (const tool of cx.fixture?.tools.values() ?? []) if (tool.D.includes(n)) return tool.DC / 2 + wear;
  return Number.NaN;
}

/** What the control adds to a programmed Z to get the gauge point. */
function lengthCompensation(cx: Machine): Quantity {
  const { modal } = cx.state;
  if (isUncertain(modal, "length")) return { value: 0, anchor: cx.symbols.fresh() };
  if (cx.profile.lengthBy === "control" && modal.length === 49) return modal.tool > 0 ? lengthRegister(cx, modal.tool) : NOTHING;
  if (modal.length === 49) return NOTHING;
  if (Number.isNaN(modal.h)) return { value: 0, anchor: cx.symbols.named("length register not stated") };
  const content = lengthRegister(cx, modal.h);
  return modal.length === 44 ? cx.symbols.subtract(NOTHING, content) : content;
}

/**
 * Gauge point − tool point of what is in the spindle. The tool's LF where the sidecar gives it; none is loaded at the start
 * and has length 0. Where LF is not known and length compensation is in force, the tool point is taken to be where the
 * program says, which means that the register holds the tool's length, unless the register belongs to another tool or holds
 * the negative of a touch-off.
 */
function toolLength(cx: Machine, compensation: Quantity): Quantity {
  const { tool, length, h } = cx.state.modal;
  const own = tool > 0 ? (cx.fixture?.tools.get(tool)?.LF ?? Number.NaN) : Number.NaN;
  if (!Number.isNaN(own)) return known(own);
  if (hasPublishedDefaults(cx)) return NOTHING;
  const inForce = (length !== 49 && !(h === 0)) || (cx.profile.lengthBy === "control" && tool > 0);
  if (inForce) {
    const holder = cx.profile.lengthBy === "control" && length === 49 ? undefined : toolOfLength(cx, h);
    const foreign = holder !== undefined && tool !== 0 && holder.number !== tool;
    const touchOff = compensation.anchor === KNOWN && compensation.value < 0;
    if (!foreign && !touchOff && !Number.isNaN(tool)) return compensation;
  }
  if (tool === 0) return NOTHING;
  return { value: 0, anchor: Number.isNaN(tool) ? cx.symbols.fresh() : cx.symbols.named(`length of tool ${tool}`) };
}

/** The setting in force, rebuilt when it was invalidated. */
export function settingOf(cx: Machine): Setting {
  if (cx.setting !== undefined) return cx.setting;
  const { state, symbols } = cx;
  const { modal } = state;
  const lost = isUncertain(modal, "offset");
  const fresh = (): Quantity => ({ value: 0, anchor: symbols.fresh() });
  const content: FourQuantities = lost ? [fresh(), fresh(), fresh(), known(Number.NaN)] : offsetOrigin(cx, modal.offset);
  const reach = (axis: 0 | 1 | 2 | 3): Quantity => symbols.add(symbols.add(content[axis], state.local[axis]), state.preset[axis]);
  const compensation = lengthCompensation(cx);
  const length = toolLength(cx, compensation);
  const x = reach(0);
  const y = reach(1);
  const z = symbols.add(reach(2), compensation);
  const nest = lost ? NO_NEST : nestOf(cx, modal.offset, [x, y, reach(2)]);
  const setting: Setting = {
    content: [content[0].value + nest.from[0], content[1].value + nest.from[1], content[2].value + nest.from[2]],
    contentAnchor: [content[0].anchor, content[1].anchor, content[2].anchor],
    base: [x.value, y.value, z.value],
    baseAnchor: [x.anchor, y.anchor, z.anchor],
    toolLength: length.value,
    toolLengthAnchor: length.anchor,
    rotaryBase: numberOf(reach(3)),
    station: nest.station,
  };
  cx.setting = setting;
  return setting;
}

/** A station that an offset means, and how far its part zero is from that of the first station of the offset. */
interface Nest {
  readonly station: number;
  readonly from: Vec3;
}

const NO_NEST: Nest = { station: -1, from: [0, 0, 0] };

/**
 * The station that the active offset means. Where one register serves several nests by declaration, the shifts lead from one
 * nest to the other, and it is the one whose part zero is nearest to the program's.
 */
function nestOf(cx: Machine, offset: OffsetKey, zero: readonly [Quantity, Quantity, Quantity]): Nest {
  const stations = cx.fixture?.stationsOf(offset) ?? [];
  const first = stations[0];
  if (first === undefined) return NO_NEST;
  const alone: Nest = { station: first.index, from: [0, 0, 0] };
  if (stations.length === 1 || !first.sharesOffset) return alone;
  let best = alone;
  let nearest = Number.POSITIVE_INFINITY;
  for (const s of stations) {
    const distance = Math.hypot(numberOf(zero[0]) - s.computed.X, numberOf(zero[1]) - s.computed.Y, numberOf(zero[2]) - s.computed.Z);
    if (!(distance < nearest - 1e-6)) continue;
    nearest = distance;
    const { X, Y, Z } = first.computed;
    best = { station: s.index, from: [s.computed.X - X, s.computed.Y - Y, s.computed.Z - Z] };
  }
  return best.from.some(Number.isNaN) ? alone : best;
}

/** The three linear components as a vector; NaN where not known. */
export function vectorOf(q: FourQuantities): Vec3 {
  return [numberOf(q[0]), numberOf(q[1]), numberOf(q[2])];
}

/** The quantities with some axes replaced. */
export function replaceAxes(q: FourQuantities, values: readonly (Quantity | undefined)[]): FourQuantities {
  return [values[0] ?? q[0], values[1] ?? q[1], values[2] ?? q[2], values[3] ?? q[3]];
}
