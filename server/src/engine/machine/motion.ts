import type { Vec3 } from "../geometry/vector.js";
import { type Arc, arcFromCentre, arcFromRadius, isArcFailure, type PlanePoint3, SAME_POINT } from "./arcs.js";
import { type CentreElement, type CompensationResult, type Compensator, createCompensator } from "./compensation.js";
import { isPublished, isUncertain, type Machine, note, type Setting, unitScale } from "./core.js";
import type { Modal, MoveKind, MoveRole } from "./move.js";
import { radiusRegister, settingOf } from "./registers.js";
import { type Anchor, KNOWN } from "./symbols.js";
import { feedSeconds, indexSeconds, pathFeed, rapidSeconds } from "./times.js";

/** In-plane axes in right-handed order and the third axis, by plane. */
export const PLANE_AXES: Readonly<Record<17 | 18 | 19, readonly [number, number, number]>> = {
  17: [0, 1, 2],
  18: [2, 0, 1],
  19: [1, 2, 0],
};

/** What is remembered of a programmed element while its compensated path is not yet known. */
export interface Tag {
  readonly step: number;
  readonly modal: Modal;
  readonly setting: Setting;
  readonly kind: MoveKind;
}

/** Cutter compensation that is under way. */
export interface Pipe {
  readonly compensator: Compensator<Tag>;
  readonly setting: Setting;
  readonly plane: 17 | 18 | 19;
  readonly side: 41 | 42;
  readonly radius: number;
  /** The tool point's height above the gauge point's is not needed inside: the third axis is that of the gauge point. */
  mirrored: boolean;
}

const HERE: Vec3 = [0, 0, 0];

/** The number of a coordinate in the machine frame; NaN where it hangs on an unknown. */
function inMachine(value: number, anchor: Anchor): number {
  return anchor === KNOWN ? value : Number.NaN;
}

/** Tool point in the machine frame and in the part frame, from gauge coordinates under a setting. */
function toolPoint(
  cx: Machine,
  setting: Setting,
  value: readonly number[],
  anchor: readonly number[],
): { readonly machine: Vec3; readonly part: Vec3; readonly gauge: number } {
  const x = value[0] as number;
  const y = value[1] as number;
  const g = value[2] as number;
  const ax = anchor[0] as number;
  const ay = anchor[1] as number;
  const ag = anchor[2] as number;
  const z = g - setting.toolLength;
  const az = setting.toolLengthAnchor === KNOWN ? ag : cx.symbols.minus(ag, setting.toolLengthAnchor);
  const { content, contentAnchor } = setting;
  return {
    machine: [inMachine(x, ax), inMachine(y, ay), inMachine(z, az)],
    part: [
      ax === contentAnchor[0] ? x - content[0] : Number.NaN,
      ay === contentAnchor[1] ? y - content[1] : Number.NaN,
      az === contentAnchor[2] ? z - content[2] : Number.NaN,
    ],
    gauge: inMachine(g, ag),
  };
}

/** The last point given out, so that the next move can share it. */
export interface LastPoint {
  readonly setting: Setting;
  readonly value: number[];
  readonly anchor: number[];
  point: ReturnType<typeof toolPoint>;
}

function pointOf(cx: Machine, setting: Setting, value: readonly number[], anchor: readonly number[]): ReturnType<typeof toolPoint> {
  const last = cx.last;
  if (
    last !== undefined &&
    last.setting === setting &&
    last.value[0] === value[0] &&
    last.value[1] === value[1] &&
    last.value[2] === value[2] &&
    last.anchor[0] === anchor[0] &&
    last.anchor[1] === anchor[1] &&
    last.anchor[2] === anchor[2]
  ) {
    return last.point;
  }
  return toolPoint(cx, setting, value, anchor);
}

/** True for straight and circular motion at feed; the moves of a cycle have kinds of their own. */
function isFeedMotion(modal: Modal): boolean {
  return modal.motion === "G1" || modal.motion === "G2" || modal.motion === "G3";
}

/** Puts the move that `cx.emission` describes at the end of the run, and gives the steps before it their ranges. */
function emit(cx: Machine): void {
  const e = cx.emission;
  const { setting, modal } = e;
  const from = pointOf(cx, setting, e.from, e.fromAnchor);
  const to = toolPoint(cx, setting, e.to, e.toAnchor);
  cx.last = { setting, value: [...e.to], anchor: [...e.toAnchor], point: to };
  let linear = false;
  let d0 = 0;
  let d1 = 0;
  let d2 = 0;
  if (e.fromAnchor[0] !== e.toAnchor[0]) d0 = Number.NaN;
  else d0 = (e.to[0] as number) - (e.from[0] as number);
  if (e.fromAnchor[1] !== e.toAnchor[1]) d1 = Number.NaN;
  else d1 = (e.to[1] as number) - (e.from[1] as number);
  if (e.fromAnchor[2] !== e.toAnchor[2]) d2 = Number.NaN;
  else d2 = (e.to[2] as number) - (e.from[2] as number);
  linear = !(Math.abs(d0) < SAME_POINT && Math.abs(d1) < SAME_POINT && Math.abs(d2) < SAME_POINT);
  if (e.kind === "arc") linear = true;
  const angle = e.rotaryTo - e.rotaryFrom;
  const turned = e.kind === "index" ? Math.hypot(Number.isNaN(angle) && Object.is(e.rotaryTo, e.rotaryFrom) ? 0 : angle, e.turn) : 0;
  let feed = Number.NaN;
  let seconds = e.seconds;
  const length = Number.isNaN(e.length) && e.kind !== "arc" ? Math.hypot(d0, d1, d2) : e.length;
  const machine = cx.fixture?.machine;
  if (e.kind === "feed" || e.kind === "arc" || (e.kind === "index" && e.role === "plain" && isFeedMotion(modal))) {
    const known = isUncertain(modal, "feedMode") ? Number.NaN : modal.feed;
    const input = { mode: modal.feedMode, feed: known, speed: modal.speed, length, rotary: [turned] };
    if (e.kind !== "index" || linear) feed = pathFeed(input);
    seconds = feedSeconds(input);
  } else if (e.kind === "rapid" || e.kind === "index") {
    if (machine === undefined) seconds = Number.NaN;
    else {
      const straight = linear
        ? rapidSeconds({ from: HERE, to: [d0, d1, d2], rates: machine.rapid, accelerations: machine.acceleration, mode: machine.rapidPath })
        : 0;
      const index =
        e.kind === "index" ? indexSeconds(turned, machine.rotary?.indexSeconds, machine.rapid.rotary, machine.acceleration.rotary) : 0;
      seconds = Math.max(straight, index);
    }
  }
  if (e.manual) seconds = Number.NaN;
  const index = cx.moves.length;
  const move = {
    step: e.step,
    kind: e.kind,
    role: e.role,
    from: from.machine,
    to: to.machine,
    partFrom: from.part,
    partTo: to.part,
    gaugeFrom: from.gauge,
    gaugeTo: to.gauge,
    rotaryFrom: e.rotaryFrom,
    rotaryTo: e.rotaryTo,
    // In G18 and G19 the centre has a height too, and it is that of the tool point like the ends of the move.
    centre: e.centre === undefined ? undefined : toolPoint(cx, setting, e.centre, e.fromAnchor).machine,
    sweep: e.sweep,
    feed,
    seconds,
    modal,
    station: setting.station,
    visit: -1,
  };
  move.visit = cx.visits.place(move, index, linear, e.rotaryStep);
  settleSteps(cx, e.step, index);
  cx.moves.push(move);
  const step = cx.steps[e.step];
  if (step !== undefined) step.endMove = index + 1;
}

/** Steps up to and including `step` that have no moves yet begin and end at `index`. */
export function settleSteps(cx: Machine, step: number, index: number): void {
  while (cx.settled <= step) {
    const open = cx.steps[cx.settled];
    if (open !== undefined && open.firstMove < 0) {
      open.firstMove = index;
      open.endMove = index;
    }
    cx.settled++;
  }
}

/** True while moves are held back because their compensated ends are not yet known. */
export function isPiping(cx: Machine): boolean {
  return cx.pipe !== undefined;
}

function prepare(cx: Machine, kind: MoveKind, role: MoveRole): void {
  const e = cx.emission;
  e.step = cx.step;
  e.kind = kind;
  e.role = role;
  e.modal = cx.state.modal;
  e.setting = settingOf(cx);
  const angle = rotaryAngle(cx);
  e.rotaryFrom = angle;
  e.rotaryTo = angle;
  e.rotaryStep = cx.state.rotaryStep;
  e.turn = 0;
  e.centre = undefined;
  e.sweep = 0;
  e.length = Number.NaN;
  e.seconds = Number.NaN;
  e.manual = false;
}

/** Machine angle of the rotary axis that moves speak of; NaN unknown. */
export function rotaryAngle(cx: Machine): number {
  if (cx.rotaryLetter === undefined) return cx.state.rotary[0] as number;
  return cx.state.rotary[cx.rotaryLetter.charCodeAt(0) - 65] as number;
}

/** Makes the target the present position: call, then set the axes that move. */
export function stay(cx: Machine): void {
  for (let axis = 0; axis < 3; axis++) {
    cx.to[axis] = cx.state.at[axis] as number;
    cx.toAnchor[axis] = cx.state.anchor[axis] as number;
  }
}

function arrive(cx: Machine): void {
  for (let axis = 0; axis < 3; axis++) {
    cx.state.at[axis] = cx.to[axis] as number;
    cx.state.anchor[axis] = cx.toAnchor[axis] as number;
  }
}

function setFrom(cx: Machine): void {
  const e = cx.emission;
  const lag = cx.lag;
  for (let axis = 0; axis < 3; axis++) {
    e.from[axis] = (cx.state.at[axis] as number) + (lag?.[axis] ?? 0);
    e.fromAnchor[axis] = cx.state.anchor[axis] as number;
    e.to[axis] = cx.to[axis] as number;
    e.toAnchor[axis] = cx.toAnchor[axis] as number;
  }
}

/** True where the target is known to be the present position. */
function isHere(cx: Machine): boolean {
  const e = cx.emission;
  for (let axis = 0; axis < 3; axis++) {
    if (e.fromAnchor[axis] !== e.toAnchor[axis]) return false;
    if (!(Math.abs((e.to[axis] as number) - (e.from[axis] as number)) < SAME_POINT)) return false;
  }
  return true;
}

/** Straight motion of the linear axes to `cx.to`; nothing where it is the present position. */
export function straight(cx: Machine, kind: "rapid" | "feed", role: MoveRole, manual = false): void {
  const pipe = role === "plain" ? openPipe(cx) : undefined;
  if (pipe !== undefined) {
    const [a, b, w] = PLANE_AXES[pipe.plane];
    const to: PlanePoint3 = [inPipe(cx, pipe, a), inPipe(cx, pipe, b), inPipe(cx, pipe, w)];
    const tag: Tag = { step: cx.step, modal: cx.state.modal, setting: pipe.setting, kind };
    drain(cx, pipe, pipe.compensator.push({ kind: "line", to, tag }));
    arrive(cx);
    return;
  }
  prepare(cx, kind, role);
  setFrom(cx);
  const lag = cx.lag;
  if (lag !== undefined) {
    const [a, b] = PLANE_AXES[cx.state.modal.plane];
    const inPlane = [a, b].some((axis) => cx.to[axis] !== cx.state.at[axis] || cx.toAnchor[axis] !== cx.state.anchor[axis]);
    if (inPlane) cx.lag = undefined;
    else for (let axis = 0; axis < 3; axis++) cx.emission.to[axis] = (cx.emission.to[axis] as number) + (lag[axis] ?? 0);
  }
  cx.emission.manual = manual;
  if (!isHere(cx)) emit(cx);
  arrive(cx);
}

/** A dwell at the present position. `seconds` NaN where not known. */
export function dwell(cx: Machine, seconds: number): void {
  // The dwell of a held-back path stands behind it; the corner before a dwell is an end like any other.
  if (isPiping(cx)) closePipe(cx);
  stay(cx);
  prepare(cx, "dwell", "plain");
  setFrom(cx);
  const lag = cx.lag;
  if (lag !== undefined) for (let axis = 0; axis < 3; axis++) cx.emission.to[axis] = cx.emission.from[axis] as number;
  cx.emission.seconds = seconds;
  emit(cx);
}

/**
 * A block with a rotary word: one index move, with whatever linear axes move in it (contract-details 31). `angles` are the
 * machine angles of A, B, C afterwards; undefined: does not turn.
 */
export function index(cx: Machine, angles: readonly (number | undefined)[], role: MoveRole): void {
  closePipe(cx);
  prepare(cx, "index", role);
  setFrom(cx);
  cx.lag = undefined;
  const { rotary } = cx.state;
  let turns = false;
  let other = 0;
  const main = cx.rotaryLetter === undefined ? -1 : cx.rotaryLetter.charCodeAt(0) - 65;
  for (let axis = 0; axis < 3; axis++) {
    const angle = angles[axis];
    if (angle === undefined) continue;
    const before = rotary[axis] as number;
    if (!(Math.abs(angle - before) < 1e-9)) turns = true;
    if (axis !== main) other = Math.hypot(other, angle - before);
    rotary[axis] = angle;
  }
  if (turns) cx.state.rotaryStep = cx.step;
  cx.emission.rotaryTo = rotaryAngle(cx);
  cx.emission.turn = other;
  const before = cx.state.modal.rotary;
  const programmed = cx.emission.rotaryTo - settingOf(cx).rotaryBase;
  if (!Object.is(before, programmed)) {
    cx.state.modal = { ...cx.state.modal, rotary: programmed };
    cx.emission.modal = cx.state.modal;
  }
  cx.emission.rotaryStep = cx.state.rotaryStep;
  if (turns || !isHere(cx)) emit(cx);
  arrive(cx);
}

/** Words of an arc block in mm and machine directions; undefined where a word is absent. */
export interface ArcWords {
  /** Offsets of the centre from the start by machine axis. */
  readonly offsets: readonly [number | undefined, number | undefined, number | undefined];
  readonly radius: number | undefined;
  /** An end point word of the plane is given. */
  readonly hasEnd: boolean;
  readonly clockwise: boolean;
  readonly turns: number | undefined;
}

/** Circular motion to `cx.to`. */
export function arc(cx: Machine, words: ArcWords): void {
  const { modal } = cx.state;
  const [a, b, w] = PLANE_AXES[modal.plane];
  const delta = (axis: number): number =>
    cx.toAnchor[axis] === cx.state.anchor[axis] ? (cx.to[axis] as number) - (cx.state.at[axis] as number) : Number.NaN;
  // Plane coordinates count from the start: an arc needs only differences, and they may be known where positions are not.
  const start: PlanePoint3 = [0, 0, 0];
  const rise = delta(w);
  const end: PlanePoint3 = [delta(a), delta(b), Number.isNaN(rise) ? 0 : rise];
  // The profile gives the tolerance of inch programs in inches.
  const tolerance = unitScale(cx) === 1 ? cx.profile.arcTolerance.mm : cx.profile.arcTolerance.inch * 25.4;
  const lost = isUncertain(modal, "plane") || (words.radius === undefined && isUncertain(modal, "centre"));
  const { radius, clockwise } = words;
  const turns = words.turns === undefined ? {} : { turns: words.turns };
  let result: Arc | undefined;
  if (!lost) {
    const i = words.offsets[a];
    const j = words.offsets[b];
    const shaped =
      radius !== undefined
        ? arcFromRadius({ start, end, radius, clockwise, tolerance, ...turns })
        : arcFromCentre({
            start,
            end,
            centre: i === undefined && j === undefined ? undefined : [i ?? 0, j ?? 0],
            clockwise,
            fullCircleAllowed: words.hasEnd || cx.profile.fullCircle,
            tolerance,
            ...turns,
          });
    if (isArcFailure(shaped)) {
      const args = Object.fromEntries(Object.entries(shaped.data).map(([k, v]) => [k, k === "turns" ? v : { mm: v }]));
      note(cx, "syntax", `arc-${shaped.error}`, args);
    } else {
      result = shaped;
    }
  }
  const centre: readonly [number, number] | undefined = result?.centre;
  const sweep = result?.sweep ?? Number.NaN;
  const length = result === undefined ? Number.NaN : Number.isNaN(rise) ? Number.NaN : result.length;
  const pipe = result === undefined ? undefined : openPipe(cx);
  if (pipe !== undefined && centre !== undefined) {
    const tag: Tag = { step: cx.step, modal, setting: pipe.setting, kind: "arc" };
    const to: PlanePoint3 = [inPipe(cx, pipe, a), inPipe(cx, pipe, b), inPipe(cx, pipe, w)];
    const about: readonly [number, number] = [(cx.state.at[a] as number) + centre[0], (cx.state.at[b] as number) + centre[1]];
    drain(cx, pipe, pipe.compensator.push({ kind: "arc", to, centre: about, sweep, tag }));
    arrive(cx);
    return;
  }
  closePipe(cx);
  prepare(cx, "arc", "plain");
  setFrom(cx);
  cx.lag = undefined;
  const point: [number, number, number] = [Number.NaN, Number.NaN, Number.NaN];
  if (centre !== undefined) {
    point[a] = (cx.state.at[a] as number) + centre[0];
    point[b] = (cx.state.at[b] as number) + centre[1];
  }
  point[w] = cx.emission.from[w] as number;
  cx.emission.centre = point;
  cx.emission.sweep = sweep;
  cx.emission.length = length;
  emit(cx);
  arrive(cx);
}

// ---------------------------------------------------------------------------------------------------------------------
// Cutter compensation

/** The target's coordinate on a machine axis as the compensator sees it: NaN where it does not hang on the same unknown. */
function inPipe(cx: Machine, pipe: Pipe, axis: number): number {
  return cx.toAnchor[axis] === pipe.setting.baseAnchor[axis] ? (cx.to[axis] as number) : Number.NaN;
}

/** The radius by which the path is offset, NaN where it is not known (contract-details 32: then the programmed path is shown). */
function radiusInForce(cx: Machine): number {
  const { modal } = cx.state;
  if (!Number.isNaN(modal.d)) return radiusRegister(cx, modal.d);
  // NISTIR 6556, 3.5.10: without a D word the number of the tool in the spindle is used.
  return isPublished(cx) && modal.tool > 0 ? radiusRegister(cx, modal.tool) : Number.NaN;
}

/** The compensation under way, started where it is due; undefined where the programmed path is the path. */
function openPipe(cx: Machine): Pipe | undefined {
  const { modal } = cx.state;
  const before = cx.pipe;
  if (modal.compensation === 40 || isUncertain(modal, "compensation") || isUncertain(modal, "plane")) {
    if (before !== undefined) closePipe(cx);
    return undefined;
  }
  const setting = settingOf(cx);
  const radius = radiusInForce(cx);
  if (before !== undefined) {
    if (before.setting === setting && before.plane === modal.plane && !Number.isNaN(radius)) {
      const flipped = isFlipped(cx);
      if (before.side === modal.compensation && before.radius === radius && before.mirrored === flipped) return before;
      before.compensator.change(sideOf(modal.compensation, flipped), radius);
      const next: Pipe = { ...before, side: modal.compensation, radius, mirrored: flipped };
      cx.pipe = next;
      return next;
    }
    closePipe(cx);
  }
  if (Number.isNaN(radius)) return undefined;
  const lag = cx.lag;
  const axes = PLANE_AXES[modal.plane];
  const at = (axis: number): number =>
    cx.state.anchor[axis] === setting.baseAnchor[axis] ? (cx.state.at[axis] as number) + (lag?.[axis] ?? 0) : Number.NaN;
  const flipped = isFlipped(cx);
  const pipe: Pipe = {
    compensator: createCompensator<Tag>({
      side: sideOf(modal.compensation, flipped),
      radius,
      position: [at(axes[0]), at(axes[1]), at(axes[2])],
      style: isPublished(cx) ? "rs274ngc" : "common",
    }),
    setting,
    plane: modal.plane,
    side: modal.compensation,
    radius,
    mirrored: flipped,
  };
  cx.lag = undefined;
  cx.pipe = pipe;
  return pipe;
}

function sideOf(code: 41 | 42, flipped: boolean): "left" | "right" {
  return (code === 41) !== flipped ? "left" : "right";
}

/** An odd number of mirrored plane axes turns left into right and clockwise into counter-clockwise. */
export function isFlipped(cx: Machine): boolean {
  const { mirror, scaling, plane } = cx.state.modal;
  if (mirror === undefined && scaling === undefined) return false;
  const [a, b] = PLANE_AXES[plane];
  const flip = (axis: number): boolean => (mirror?.[axis] === true) !== (scaling?.[axis] ?? 1) < 0;
  return flip(a) !== flip(b);
}

function drain(cx: Machine, pipe: Pipe, result: CompensationResult<Tag>): void {
  for (const problem of result.problems) {
    const step = cx.steps[problem.tag.step];
    const { block, source, step: now } = cx;
    if (step !== undefined) {
      cx.block = step.block;
      cx.source = cx.sources[step.source] ?? cx.source;
      cx.step = problem.tag.step;
    }
    const args = Object.fromEntries(Object.entries(problem.data).map(([k, v]) => [k, k === "angle" ? { deg: v } : { mm: v }]));
    note(cx, "syntax", `compensation-${problem.error}`, args);
    cx.block = block;
    cx.source = source;
    cx.step = now;
  }
  for (const element of result.elements) emitElement(cx, pipe, element);
}

function emitElement(cx: Machine, pipe: Pipe, element: CentreElement<Tag>): void {
  const { tag } = element;
  const axes = PLANE_AXES[pipe.plane];
  const e = cx.emission;
  const kind: MoveKind = element.kind === "arc" ? "arc" : tag.kind === "arc" ? "feed" : tag.kind;
  prepare(cx, kind, element.role === "plain" ? "plain" : "compensation");
  e.step = tag.step;
  e.modal = tag.modal;
  e.setting = tag.setting;
  let moves = element.kind === "arc" && element.sweep !== 0;
  let same = true;
  for (let k = 0; k < 3; k++) {
    const axis = axes[k] as number;
    e.from[axis] = element.from[k] as number;
    e.to[axis] = element.to[k] as number;
    e.fromAnchor[axis] = tag.setting.baseAnchor[axis] as number;
    e.toAnchor[axis] = tag.setting.baseAnchor[axis] as number;
    if (!(Math.abs((e.to[axis] as number) - (e.from[axis] as number)) < SAME_POINT)) same = false;
  }
  if (!same) moves = true;
  if (!moves) return;
  if (element.kind === "arc") {
    const [a, b, w] = axes;
    const centre: [number, number, number] = [Number.NaN, Number.NaN, Number.NaN];
    if (element.centre !== undefined) {
      centre[a] = element.centre[0];
      centre[b] = element.centre[1];
      const radius = Math.hypot(element.from[0] - element.centre[0], element.from[1] - element.centre[1]);
      e.length = Math.hypot((radius * Math.abs(element.sweep) * Math.PI) / 180, element.to[2] - element.from[2]);
    }
    centre[w] = e.from[w] as number;
    e.centre = centre;
    e.sweep = element.sweep;
  }
  emit(cx);
}

/**
 * Ends the compensation under way, if any: what was held back is given out, and the tool stands beside the programmed
 * position until the next move in the plane.
 */
export function closePipe(cx: Machine): void {
  const pipe = cx.pipe;
  if (pipe === undefined) return;
  cx.pipe = undefined;
  drain(cx, pipe, pipe.compensator.flush());
  const lag = [0, 0, 0];
  const axes = PLANE_AXES[pipe.plane];
  for (let k = 0; k < 2; k++) {
    const axis = axes[k] as number;
    const d = (pipe.compensator.position[k] as number) - (cx.state.at[axis] as number);
    lag[axis] = Number.isNaN(d) ? 0 : d;
  }
  if (lag.every((d) => Math.abs(d) < SAME_POINT)) return;
  if (isPublished(cx)) {
    // NISTIR 6556, B: there is no exit move; the position that is read from now on is where the tool is.
    for (let axis = 0; axis < 3; axis++) cx.state.at[axis] = (cx.state.at[axis] as number) + (lag[axis] as number);
    return;
  }
  cx.lag = lag;
}
