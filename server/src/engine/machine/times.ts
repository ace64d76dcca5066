import type { AxisValues } from "../fixture/model.js";
import type { Vec3 } from "../geometry/vector.js";
import type { RapidMode } from "./rapid.js";

/**
 * Seconds of one axis, or of a path, from rest to rest. `distance` in mm or degrees, `rate` per minute, accelerations
 * per second². A distance that is too short to reach the rate gives a triangle: t = √(2·d·(1/a + 1/b)); otherwise
 * t = d/v + v/2·(1/a + 1/b). Without an acceleration it is distance/rate. Nothing to do takes no time, even at an unknown
 * rate; otherwise a rate that is not known or not positive gives NaN.
 */
export function restToRestSeconds(
  distance: number,
  rate: number | undefined,
  acceleration: number | undefined,
  deceleration: number | undefined = acceleration,
): number {
  const d = Math.abs(distance);
  if (d === 0) return 0;
  if (rate === undefined || !(rate > 0)) return Number.NaN;
  const v = rate / 60;
  if (acceleration === undefined || deceleration === undefined) return d / v;
  if (!(acceleration > 0) || !(deceleration > 0)) return Number.NaN;
  const ramps = 1 / acceleration + 1 / deceleration;
  // Both ramps together cover v²/2·(1/a + 1/b) on the way up to the rate and down again.
  return d < (v * v * ramps) / 2 ? Math.sqrt(2 * d * ramps) : d / v + (v * ramps) / 2;
}

export interface RapidTimeInput {
  readonly from: Vec3;
  readonly to: Vec3;
  /** Degrees that the rotary axis turns in the same block; 0 or absent: none. */
  readonly rotary?: number;
  /** mm/min, degrees/min. */
  readonly rates: AxisValues;
  /** mm/s², degrees/s². */
  readonly accelerations: AxisValues;
  readonly mode: RapidMode;
}

/**
 * Seconds of a rapid. "independent": the slowest axis decides. "straight": all axes run in proportion; with one rate v for
 * all axes it takes length/v, and with different rates the rate along the path lies between them by the direction,
 * 1/v = √(Σ (uᵢ/vᵢ)²) with u the unit direction, so that no axis exceeds its own; accelerations likewise. The rotary axis
 * runs beside the linear ones and the longer time counts. "either": the longer of both. NaN where the rate of a moving axis
 * or a coordinate is not known. Source of the straight form: NISTIR 6556, 3.5.1, coordinated motion at one traverse rate; the
 * extension to different rates is ours.
 */
export function rapidSeconds(input: RapidTimeInput): number {
  const { from, to, rates, accelerations } = input;
  const distances = [Math.abs(to[0] - from[0]), Math.abs(to[1] - from[1]), Math.abs(to[2] - from[2])];
  const rate = [rates.X, rates.Y, rates.Z];
  const acceleration = [accelerations.X, accelerations.Y, accelerations.Z];
  const turn = restToRestSeconds(input.rotary ?? 0, rates.rotary, accelerations.rotary);
  let slowest = turn;
  let slowness = 0;
  let sluggishness = 0;
  for (const axis of [0, 1, 2] as const) {
    const d = distances[axis] ?? Number.NaN;
    if (d === 0) continue;
    const v = rate[axis];
    const a = acceleration[axis];
    slowest = Math.max(slowest, restToRestSeconds(d, v, a));
    slowness += (d / (v ?? Number.NaN)) ** 2;
    if (a !== undefined) sluggishness += (d / a) ** 2;
  }
  if (Number.isNaN(slowest)) return Number.NaN;
  if (input.mode === "independent") return slowest;
  // The whole path is taken as the distance 1: its rate is then 1/√Σ(d/v)² and its acceleration 1/√Σ(d/a)².
  const path =
    slowness === 0 ? 0 : restToRestSeconds(1, 1 / Math.sqrt(slowness), sluggishness === 0 ? undefined : 1 / Math.sqrt(sluggishness));
  const straight = Math.max(path, turn);
  return input.mode === "straight" ? straight : Math.max(straight, slowest);
}

export interface FeedInput {
  readonly mode: 93 | 94 | 95;
  /** F as programmed: 1/min (G93), mm/min or degrees/min (G94), mm or degrees per revolution (G95); NaN: never set. */
  readonly feed: number;
  /** Spindle speed in rpm, for G95; NaN: unknown. */
  readonly speed: number;
  /** Length of the path of X, Y, Z in mm, along the helix; 0: no linear motion. */
  readonly length: number;
  /** Degrees by which each rotary axis turns in the block; absent: none. */
  readonly rotary?: readonly number[];
}

/**
 * The distance that a feed counts along: the length of the linear path as if rotary axes did not turn, or, where only rotary
 * axes move, the root of the sum of the squares of their angles (NISTIR 6556, 2.1.2.5).
 */
function feedDistance(length: number, rotary: readonly number[] = []): number {
  return length === 0 ? Math.hypot(...rotary) : length;
}

/**
 * Feed along the path in mm/min, or degrees/min where only rotary axes move. G95: F times the spindle speed. G93: distance times F.
 * NaN where F or the speed is not known or not positive.
 */
export function pathFeed(input: FeedInput): number {
  const { mode, feed } = input;
  if (!(feed > 0)) return Number.NaN;
  if (mode === 94) return feed;
  if (mode === 93) return feed * feedDistance(input.length, input.rotary);
  return input.speed > 0 ? feed * input.speed : Number.NaN;
}

/**
 * Seconds of a feed move or arc without acceleration: distance/feed, and 60/F under G93 whatever the distance
 * (NISTIR 6556, 3.5.19). No motion takes no time; an unknown feed or length gives NaN.
 */
export function feedSeconds(input: FeedInput): number {
  const distance = feedDistance(input.length, input.rotary);
  if (distance === 0) return 0;
  if (input.mode === 93) return input.feed > 0 && !Number.isNaN(distance) ? 60 / input.feed : Number.NaN;
  return (distance / pathFeed(input)) * 60;
}

/** Seconds of a dwell word in the unit it counts in; a negative or unknown value gives NaN. */
export function dwellSeconds(value: number, unit: "s" | "ms"): number {
  if (!(value >= 0)) return Number.NaN;
  return unit === "ms" ? value / 1000 : value;
}

/**
 * Seconds of a rotary index: the stated time of one index, whatever the angle, or else the angle at the rotary axis's rate.
 * `degrees` is the angle turned; 0 takes no time.
 */
export function indexSeconds(
  degrees: number,
  stated: number | undefined,
  rate: number | undefined,
  acceleration: number | undefined,
): number {
  if (degrees === 0) return 0;
  if (stated !== undefined) return stated;
  return restToRestSeconds(degrees, rate, acceleration);
}
