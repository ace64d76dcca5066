/** Points and directions are triples X, Y, Z in millimetres. A NaN coordinate means: not known. */
export type Vec3 = readonly [number, number, number];

/** The origin, or no shift at all. */
export const ZERO: Vec3 = [0, 0, 0];

/** a + b. Like all of these, NaN where a coordinate that counts is not known. */
export function add(a: Vec3, b: Vec3): Vec3 {
  return [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
}

/** a − b: from b to a. */
export function subtract(a: Vec3, b: Vec3): Vec3 {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
}

/** k · a. */
export function scale(a: Vec3, k: number): Vec3 {
  return [a[0] * k, a[1] * k, a[2] * k];
}

/** Scalar product. */
export function dot(a: Vec3, b: Vec3): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

/** Euclidean length, in the unit of the coordinates. */
export function length(a: Vec3): number {
  return Math.hypot(a[0], a[1], a[2]);
}

/** True when all three coordinates are known. */
export function isKnownPoint(a: Vec3): boolean {
  return a[0] === a[0] && a[1] === a[1] && a[2] === a[2];
}
