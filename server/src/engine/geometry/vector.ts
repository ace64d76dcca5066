/** Points and directions are triples X, Y, Z in millimetres. A NaN coordinate means: not known. */
export type Vec3 = readonly [number, number, number];

export const ZERO: Vec3 = [0, 0, 0];
/** A point of which nothing is known. */
export const UNKNOWN_POINT: Vec3 = [Number.NaN, Number.NaN, Number.NaN];

export function add(a: Vec3, b: Vec3): Vec3 {
  return [a[0] + b[0], a[1] + b[1], a[2] + b[2]];
}

export function subtract(a: Vec3, b: Vec3): Vec3 {
  return [a[0] - b[0], a[1] - b[1], a[2] - b[2]];
}

export function scale(a: Vec3, k: number): Vec3 {
  return [a[0] * k, a[1] * k, a[2] * k];
}

export function dot(a: Vec3, b: Vec3): number {
  return a[0] * b[0] + a[1] * b[1] + a[2] * b[2];
}

export function length(a: Vec3): number {
  return Math.hypot(a[0], a[1], a[2]);
}

/** True when all three coordinates are known. */
export function isKnownPoint(a: Vec3): boolean {
  return a[0] === a[0] && a[1] === a[1] && a[2] === a[2];
}
