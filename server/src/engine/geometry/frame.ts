import type { Vec3 } from "./vector.js";

/**
 * A rigid frame: where its origin stands in the outer frame and where its three unit axes point there.
 * A point p of the frame is `origin + p[0]·x + p[1]·y + p[2]·z` outside.
 */
export interface Frame {
  readonly origin: Vec3;
  readonly x: Vec3;
  readonly y: Vec3;
  readonly z: Vec3;
}

export const IDENTITY: Frame = {
  origin: [0, 0, 0],
  x: [1, 0, 0],
  y: [0, 1, 0],
  z: [0, 0, 1],
};

/** Takes a point of the frame to the outer frame. */
export function toOuter(f: Frame, p: Vec3): Vec3 {
  return [
    f.origin[0] + p[0] * f.x[0] + p[1] * f.y[0] + p[2] * f.z[0],
    f.origin[1] + p[0] * f.x[1] + p[1] * f.y[1] + p[2] * f.z[1],
    f.origin[2] + p[0] * f.x[2] + p[1] * f.y[2] + p[2] * f.z[2],
  ];
}

/** Takes a direction of the frame to the outer frame. */
export function directionToOuter(f: Frame, d: Vec3): Vec3 {
  return [
    d[0] * f.x[0] + d[1] * f.y[0] + d[2] * f.z[0],
    d[0] * f.x[1] + d[1] * f.y[1] + d[2] * f.z[1],
    d[0] * f.x[2] + d[1] * f.y[2] + d[2] * f.z[2],
  ];
}

/** Takes a point of the outer frame into the frame. */
export function toInner(f: Frame, p: Vec3): Vec3 {
  const d: Vec3 = [p[0] - f.origin[0], p[1] - f.origin[1], p[2] - f.origin[2]];
  return [
    d[0] * f.x[0] + d[1] * f.x[1] + d[2] * f.x[2],
    d[0] * f.y[0] + d[1] * f.y[1] + d[2] * f.y[2],
    d[0] * f.z[0] + d[1] * f.z[1] + d[2] * f.z[2],
  ];
}

/** The frame `inner` given in `outer`, as one frame of what `outer` stands in. */
export function compose(outer: Frame, inner: Frame): Frame {
  return {
    origin: toOuter(outer, inner.origin),
    x: directionToOuter(outer, inner.x),
    y: directionToOuter(outer, inner.y),
    z: directionToOuter(outer, inner.z),
  };
}
