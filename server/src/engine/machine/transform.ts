import type { Machine } from "./core.js";
import { PLANE_AXES } from "./motion.js";
import type { Modal } from "./move.js";
import { settingOf } from "./registers.js";

/*
 * Program coordinates pass through mirror, then scaling, then rotation (common practice, no source); polar words are turned
 * into plane coordinates before that. All of it happens in the coordinates of the active work offset, shifts included.
 */

/** True where program coordinates are more than shifted. */
export function hasTransform(modal: Modal): boolean {
  return modal.polar || modal.rotation !== undefined || modal.mirror !== undefined || modal.scaling !== undefined;
}

/** The present position in program coordinates, mm, gauge point with length compensation taken off; NaN where not known. */
export function toProgram(cx: Machine): [number, number, number] {
  const { state } = cx;
  const { modal } = state;
  const setting = settingOf(cx);
  const point: [number, number, number] = [0, 0, 0];
  for (let axis = 0; axis < 3; axis++) {
    point[axis] =
      state.anchor[axis] === setting.baseAnchor[axis] ? (state.at[axis] as number) - (setting.base[axis] as number) : Number.NaN;
  }
  if (!hasTransform(modal)) return point;
  const { transform } = state;
  if (modal.rotation !== undefined) rotate(modal, transform.rotationCentre, point, -modal.rotation);
  for (let axis = 0; axis < 3; axis++) {
    const factor = modal.scaling?.[axis];
    const centre = transform.scalingCentre[axis] as number;
    if (factor !== undefined) point[axis] = centre + ((point[axis] as number) - centre) / factor;
    const about = transform.mirrorAbout[axis] as number;
    if (modal.mirror?.[axis] === true) point[axis] = 2 * about - (point[axis] as number);
  }
  return point;
}

/** Puts a point in program coordinates into `cx.to`. Axes that are not `given` stay unless a rotation moves them. */
export function fromProgram(cx: Machine, program: readonly (number | undefined)[], given: readonly boolean[]): void {
  const { state } = cx;
  const { modal, transform } = state;
  const setting = settingOf(cx);
  const point: [number, number, number] = [program[0] ?? Number.NaN, program[1] ?? Number.NaN, program[2] ?? Number.NaN];
  const moved = [given[0] === true, given[1] === true, given[2] === true];
  for (let axis = 0; axis < 3; axis++) {
    const about = transform.mirrorAbout[axis] as number;
    if (modal.mirror?.[axis] === true) point[axis] = 2 * about - (point[axis] as number);
    const factor = modal.scaling?.[axis];
    const centre = transform.scalingCentre[axis] as number;
    if (factor !== undefined) point[axis] = centre + ((point[axis] as number) - centre) * factor;
  }
  if (modal.rotation !== undefined) {
    const [a, b] = PLANE_AXES[modal.plane];
    rotate(modal, transform.rotationCentre, point, modal.rotation);
    const either = moved[a] === true || moved[b] === true;
    moved[a] = either;
    moved[b] = either;
  }
  for (let axis = 0; axis < 3; axis++) {
    if (!moved[axis]) continue;
    const value = (point[axis] as number) + (setting.base[axis] as number);
    if (Number.isNaN(value)) {
      cx.to[axis] = 0;
      cx.toAnchor[axis] = cx.symbols.fresh();
    } else {
      cx.to[axis] = value;
      cx.toAnchor[axis] = setting.baseAnchor[axis] as number;
    }
  }
}

function rotate(modal: Modal, centre: readonly [number, number], point: [number, number, number], degrees: number): void {
  const [a, b] = PLANE_AXES[modal.plane] as readonly [0 | 1 | 2, 0 | 1 | 2, 0 | 1 | 2];
  const angle = (degrees * Math.PI) / 180;
  const cos = Math.cos(angle);
  const sin = Math.sin(angle);
  const x = point[a] - centre[0];
  const y = point[b] - centre[1];
  point[a] = centre[0] + x * cos - y * sin;
  point[b] = centre[1] + x * sin + y * cos;
}

/**
 * A polar position in plane coordinates of the program: radius in mm, angle in degrees from the first plane axis. Absolute: about
 * the program's zero. Incremental: a radius counts from the present position, an angle is added to the last one (common
 * practice, no source).
 */
export function polarPoint(
  cx: Machine,
  radius: number | undefined,
  angle: number | undefined,
  here: readonly [number, number],
): readonly [number, number] {
  const { state } = cx;
  const before = state.polar;
  const incremental = !state.modal.absolute;
  let pole = before.pole;
  let r = radius ?? before.radius;
  let a = angle ?? before.angle;
  // What was not programmed yet under G16 is read from the present position.
  if (Number.isNaN(r) && radius === undefined) r = Math.hypot(here[0] - pole[0], here[1] - pole[1]);
  if (Number.isNaN(a) && angle === undefined) a = (Math.atan2(here[1] - pole[1], here[0] - pole[0]) * 180) / Math.PI;
  if (incremental) {
    if (radius !== undefined) pole = here;
    if (angle !== undefined) {
      const last = Number.isNaN(before.angle)
        ? (Math.atan2(here[1] - before.pole[1], here[0] - before.pole[0]) * 180) / Math.PI
        : before.angle;
      a = last + angle;
    }
  } else pole = [0, 0];
  state.polar = { radius: r, angle: a, pole };
  const turn = (a * Math.PI) / 180;
  return [pole[0] + r * Math.cos(turn), pole[1] + r * Math.sin(turn)];
}
