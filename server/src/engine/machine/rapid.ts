import type { AxisValues } from "../fixture/model.js";
import type { Vec3 } from "../geometry/vector.js";

export type RapidMode = "straight" | "independent" | "either";

/** A path of straight segments through at least two points, mm. */
export type Polyline = readonly Vec3[];

/**
 * The paths a rapid may take, each as a polyline from `from` to `to`. "straight": one segment. "independent": all axes start
 * together, each at its own rate until it is done, which gives up to three segments. "either": both, or one where they agree.
 * Where the rate of a moving axis is not stated, or a coordinate is not known, only the straight path is given. A rotary
 * axis does not bend a path. Rates in mm/min; only their ratios count here.
 */
export function rapidPolylines(from: Vec3, to: Vec3, rates: AxisValues, mode: RapidMode): readonly Polyline[] {
  const straight: Polyline = [from, to];
  if (mode === "straight") return [straight];
  const bent = independentPath(from, to, [rates.X, rates.Y, rates.Z]);
  if (bent === undefined || bent.length === 2) return [straight];
  return mode === "independent" ? [bent] : [straight, bent];
}

/** The polyline of axes that run independently; undefined where it cannot be known. */
function independentPath(from: Vec3, to: Vec3, rates: readonly (number | undefined)[]): Polyline | undefined {
  const minutes: [number, number, number] = [0, 0, 0];
  for (const axis of [0, 1, 2] as const) {
    const distance = Math.abs(to[axis] - from[axis]);
    if (distance === 0) continue;
    const rate = rates[axis];
    if (rate === undefined || !(rate > 0) || Number.isNaN(distance)) return undefined;
    minutes[axis] = distance / rate;
  }
  const points: Vec3[] = [from];
  const last = Math.max(...minutes);
  for (const stop of [...minutes].sort((a, b) => a - b)) {
    // Axes that are done within a billionth of the whole time of each other are done together; otherwise rounding would
    // add a segment of no length.
    const slack = last * 1e-9;
    if (stop <= slack || stop >= last - slack) continue;
    const at = (axis: 0 | 1 | 2): number =>
      minutes[axis] <= stop + slack ? to[axis] : from[axis] + ((to[axis] - from[axis]) * stop) / minutes[axis];
    const point: Vec3 = [at(0), at(1), at(2)];
    const before = points[points.length - 1];
    if (before === undefined || before[0] !== point[0] || before[1] !== point[1] || before[2] !== point[2]) points.push(point);
  }
  points.push(to);
  return points;
}
