import type { Vec3 } from "../geometry/vector.js";

/** The working plane by its G code. */
export type Plane = 17 | 18 | 19;

/** Two coordinates in the working plane, mm. */
export type PlanePoint = readonly [a: number, b: number];

/**
 * A point in plane coordinates, mm: the two in-plane axes in right-handed order and then the third axis
 * (G17 X Y Z, G18 Z X Y, G19 Y Z X). Counter-clockwise is positive seen against the third axis.
 */
export type PlanePoint3 = readonly [a: number, b: number, w: number];

/**
 * Two positions nearer to each other than this are one position, mm. Programs are written to three or four
 * decimals, so anything smaller is rounding of sums and of inch conversion; without it, an end point that differs from the
 * start in the fifteenth digit would turn a full circle into no arc at all.
 */
export const SAME_POINT = 1e-6;

const DEGREES = 180 / Math.PI;

/** Takes a point X Y Z to the coordinates of a plane. */
export function intoPlane(plane: Plane, p: Vec3): PlanePoint3 {
  if (plane === 17) return [p[0], p[1], p[2]];
  if (plane === 18) return [p[2], p[0], p[1]];
  return [p[1], p[2], p[0]];
}

/** Takes a point in the coordinates of a plane back to X Y Z. */
export function outOfPlane(plane: Plane, p: PlanePoint3): Vec3 {
  if (plane === 17) return [p[0], p[1], p[2]];
  if (plane === 18) return [p[1], p[2], p[0]];
  return [p[2], p[0], p[1]];
}

/** What is needed to walk along an arc or helix: plane coordinates in mm, sweep in degrees, counter-clockwise positive. */
export interface ArcShape {
  readonly start: PlanePoint3;
  readonly end: PlanePoint3;
  readonly centre: PlanePoint;
  readonly sweep: number;
}

/** An arc, circle or helix that a block asks for. A value that follows from an unknown one is NaN. */
export interface Arc extends ArcShape {
  /** Distance from the centre to the start, mm. */
  readonly radius: number;
  /** Distance from the centre to the end, mm; equal to `radius` but for the tolerance. */
  readonly endRadius: number;
  /** Length in the plane, mm. */
  readonly planeLength: number;
  /** Length along the helix, mm; equal to `planeLength` without motion of the third axis. */
  readonly length: number;
  /**
   * Only in the radius form: the arc lies where a small change of the end point moves the centre far (NISTIR 6556,
   * 3.5.3.1: 165° to 195° "very bad", over 345° "outrageously bad").
   */
  readonly illConditioned: "semicircle" | "near-full" | undefined;
}

export type ArcError =
  /** the end is farther from the circle of the start than the tolerance; data: radius, endRadius, difference, tolerance */
  | "radii-differ"
  /** neither centre offset is given, or the centre is the start point */
  | "no-centre"
  /** the end is the start where that is not a full circle */
  | "end-is-start"
  /** the end lies farther away than twice the radius; data: radius, chord, least (the smallest radius that reaches) */
  | "radius-too-small"
  /** the number of turns is not a whole number from 1; data: turns */
  | "turns-not-whole";

/** Why an arc cannot be made. */
export interface ArcFailure {
  readonly error: ArcError;
  /** Numbers for the message, mm. */
  readonly data: Readonly<Record<string, number>>;
}

/** Tells an arc that cannot be made from one that can. */
export function isArcFailure(result: Arc | ArcFailure): result is ArcFailure {
  return "error" in result;
}

export interface CentreArcInput {
  readonly start: PlanePoint3;
  readonly end: PlanePoint3;
  /** Undefined: the block has no centre offset at all. */
  readonly centre: PlanePoint | undefined;
  readonly clockwise: boolean;
  /** An end point equal to the start means a full circle; otherwise it is an error. */
  readonly fullCircleAllowed: boolean;
  /** Largest difference of the radii at start and end, mm. */
  readonly tolerance: number;
  /** Number of turns begun, where the control has a word for it; absent: 1. With 2, one full turn is added to the sweep. */
  readonly turns?: number;
}

/**
 * The arc from a start point to an end point about a centre. Plane coordinates, mm.
 * The radii may differ by the tolerance and not by more (NISTIR 6556, 3.5.3.2). An unknown coordinate gives no error; what
 * depends on it is NaN.
 */
export function arcFromCentre(input: CentreArcInput): Arc | ArcFailure {
  const { start, end, centre, clockwise, tolerance } = input;
  if (centre === undefined) return { error: "no-centre", data: {} };
  const turnError = checkTurns(input.turns);
  if (turnError) return turnError;
  const startA = start[0] - centre[0];
  const startB = start[1] - centre[1];
  const endA = end[0] - centre[0];
  const endB = end[1] - centre[1];
  const radius = Math.hypot(startA, startB);
  const endRadius = Math.hypot(endA, endB);
  if (radius < SAME_POINT) return { error: "no-centre", data: { radius } };
  const difference = Math.abs(radius - endRadius);
  if (difference > tolerance) return { error: "radii-differ", data: { radius, endRadius, difference, tolerance } };
  let sweep: number;
  if (Math.hypot(end[0] - start[0], end[1] - start[1]) < SAME_POINT) {
    if (!input.fullCircleAllowed) return { error: "end-is-start", data: {} };
    sweep = 360;
  } else {
    // The angle is taken from the cross and dot products of both radii, which keeps full precision for short arcs far
    // from the origin, where the difference of two arc tangents would not.
    const cross = startA * endB - startB * endA;
    const dot = startA * endA + startB * endB;
    const angle = Math.atan2(cross, dot) * DEGREES;
    const along = clockwise ? -angle : angle;
    sweep = along > 0 ? along : along + 360;
  }
  sweep += 360 * ((input.turns ?? 1) - 1);
  return finish(start, end, centre, radius, endRadius, clockwise ? -sweep : sweep, undefined);
}

export interface RadiusArcInput {
  readonly start: PlanePoint3;
  readonly end: PlanePoint3;
  /** Negative: the arc of more than 180°. */
  readonly radius: number;
  readonly clockwise: boolean;
  /** By how much the chord may be longer than twice the radius, mm; the arc is then the semicircle over the chord. */
  readonly tolerance: number;
  /** As in `CentreArcInput`. */
  readonly turns?: number;
}

/**
 * The arc of a given radius from a start point to an end point: up to 180° for a positive radius, more for a negative one
 * (NISTIR 6556, 3.5.3.1). Plane coordinates, mm. An unknown coordinate gives no error; what depends on it is NaN.
 */
export function arcFromRadius(input: RadiusArcInput): Arc | ArcFailure {
  const { start, end, clockwise, tolerance } = input;
  const turnError = checkTurns(input.turns);
  if (turnError) return turnError;
  const chordA = end[0] - start[0];
  const chordB = end[1] - start[1];
  const chord = Math.hypot(chordA, chordB);
  if (chord < SAME_POINT) return { error: "end-is-start", data: {} };
  const given = Math.abs(input.radius);
  if (given === 0 || chord > 2 * given + tolerance) {
    return { error: "radius-too-small", data: { radius: given, chord, least: chord / 2 } };
  }
  const radius = chord > 2 * given ? chord / 2 : given;
  const half = chord / 2;
  const height = Math.sqrt(Math.max(0, (radius - half) * (radius + half)));
  const minor = 2 * Math.asin(Math.min(1, half / radius)) * DEGREES;
  const long = input.radius < 0;
  // A clockwise arc of less than 180° has its centre to the right of the chord.
  const side = clockwise === long ? 1 : -1;
  const centre: PlanePoint = [
    (start[0] + end[0]) / 2 - (side * height * chordB) / chord,
    (start[1] + end[1]) / 2 + (side * height * chordA) / chord,
  ];
  const plain = long ? 360 - minor : minor;
  const ill = plain > 345 ? "near-full" : plain > 165 && plain < 195 ? "semicircle" : undefined;
  const sweep = plain + 360 * ((input.turns ?? 1) - 1);
  return finish(start, end, centre, radius, radius, clockwise ? -sweep : sweep, ill);
}

function checkTurns(turns: number | undefined): ArcFailure | undefined {
  if (turns === undefined || Number.isNaN(turns)) return undefined;
  return Number.isInteger(turns) && turns >= 1 ? undefined : { error: "turns-not-whole", data: { turns } };
}

function finish(
  start: PlanePoint3,
  end: PlanePoint3,
  centre: PlanePoint,
  radius: number,
  endRadius: number,
  sweep: number,
  illConditioned: Arc["illConditioned"],
): Arc {
  const planeLength = (radius * Math.abs(sweep)) / DEGREES;
  const rise = end[2] - start[2];
  const length = rise === 0 ? planeLength : Math.hypot(planeLength, rise);
  return { start, end, centre, sweep, radius, endRadius, planeLength, length, illConditioned };
}

/**
 * The point of an arc at the fraction t of its sweep, 0 the start and 1 the end. The third axis runs evenly, and so does the
 * small difference between the radii of start and end, so that both ends are met.
 */
export function pointOnArc(arc: ArcShape, t: number): PlanePoint3 {
  if (t === 0) return arc.start;
  if (t === 1) return arc.end;
  const { start, end, centre } = arc;
  const a = start[0] - centre[0];
  const b = start[1] - centre[1];
  const radius = Math.hypot(a, b);
  const endRadius = Math.hypot(end[0] - centre[0], end[1] - centre[1]);
  const stretch = 1 + (t * (endRadius - radius)) / radius;
  const angle = (arc.sweep * t) / DEGREES;
  const cos = Math.cos(angle) * stretch;
  const sin = Math.sin(angle) * stretch;
  return [centre[0] + a * cos - b * sin, centre[1] + a * sin + b * cos, start[2] + (end[2] - start[2]) * t];
}

/** The smallest box in plane coordinates that holds an arc; a coordinate that is not known is NaN in both corners. */
export function arcExtremes(arc: ArcShape): { readonly min: PlanePoint3; readonly max: PlanePoint3 } {
  const { start, end, centre, sweep } = arc;
  const radius = Math.hypot(start[0] - centre[0], start[1] - centre[1]);
  const a = [start[0], end[0]];
  const b = [start[1], end[1]];
  if (Number.isNaN(sweep) || Number.isNaN(radius)) {
    a.push(Number.NaN);
    b.push(Number.NaN);
  } else {
    const from = Math.atan2(start[1] - centre[1], start[0] - centre[0]) * DEGREES;
    for (let quarter = 0; quarter < 4; quarter++) {
      const ahead = sweep >= 0 ? quarter * 90 - from : from - quarter * 90;
      const turned = ((ahead % 360) + 360) % 360;
      if (turned >= Math.abs(sweep)) continue;
      if (quarter === 0) a.push(centre[0] + radius);
      else if (quarter === 1) b.push(centre[1] + radius);
      else if (quarter === 2) a.push(centre[0] - radius);
      else b.push(centre[1] - radius);
    }
  }
  return {
    min: [Math.min(...a), Math.min(...b), Math.min(start[2], end[2])],
    max: [Math.max(...a), Math.max(...b), Math.max(start[2], end[2])],
  };
}
