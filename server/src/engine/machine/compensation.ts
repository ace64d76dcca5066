import { type PlanePoint, type PlanePoint3, SAME_POINT } from "./arcs.js";

/**
 * The path of the tool's centre under cutter compensation. The programmed path is offset by the tool radius to its left
 * (G41) or right (G42); what happens at corners, at the entry and in places that are too narrow is decided here. All
 * coordinates are plane coordinates in mm (see `PlanePoint3`), angles in degrees, counter-clockwise positive.
 *
 * Two forms exist. "rs274ngc" is NISTIR 6556, appendix B: the entry is tangent to the tool at the first programmed point, an
 * outside corner is rounded by an arc, an inside corner is an error. "common" is that of most other controls (common
 * practice, no source): the entry ends square to the start of the next element and inside corners end where the offset
 * elements meet.
 */
export interface CompensatorOptions {
  readonly side: "left" | "right";
  /** mm; a negative radius works on the other side (NISTIR 6556, appendix B.4). */
  readonly radius: number;
  /** Where the tool's centre is before the entry; it is also the programmed position. */
  readonly position: PlanePoint3;
  readonly style: "rs274ngc" | "common";
  /** How an outside corner is passed: by an arc about it (default), or by going on straight to where both sides meet. */
  readonly corner?: "arc" | "intersection";
  /** An inside corner ends where the offset elements meet, or is an error besides. Default: by `style`. */
  readonly concave?: "intersection" | "error";
}

/** One element of the programmed path, from the end of the one before. `tag` is the caller's and comes back with the centre path. */
export type PathElement<T> =
  | { readonly kind: "line"; readonly to: PlanePoint3; readonly tag: T }
  | { readonly kind: "arc"; readonly to: PlanePoint3; readonly centre: PlanePoint; readonly sweep: number; readonly tag: T };

/** One element of the centre path. An element of the program may give none, or one of no length. */
export interface CentreElement<T> {
  readonly kind: "line" | "arc";
  readonly from: PlanePoint3;
  readonly to: PlanePoint3;
  /** Only for an arc. */
  readonly centre: PlanePoint | undefined;
  /** Degrees; 0 for a line. */
  readonly sweep: number;
  /** "entry": the first element; "corner": stands for no element of the program, its tag is that of the element it leads to. */
  readonly role: "entry" | "plain" | "corner";
  readonly tag: T;
}

export type CompensationError =
  /** inside corner in a form that does not allow it; data: angle (degrees by which the path turns toward the tool) */
  | "concave-corner"
  /** the tool does not fit: entry shorter than the radius, or an element too short between inside corners; data: radius, length */
  | "cutter-gouges"
  /** an arc with the tool inside it is not larger than the tool; data: radius, arcRadius */
  | "radius-not-less-than-arc"
  /** the entry is an arc that the tool does not touch at its present place; data: radius, arcRadius, distance (of the tool from the arc's centre) */
  | "entry-arc";

export interface CompensationProblem<T> {
  readonly error: CompensationError;
  /** Of the element that must change. */
  readonly tag: T;
  readonly data: Readonly<Record<string, number>>;
}

export interface CompensationResult<T> {
  readonly elements: readonly CentreElement<T>[];
  readonly problems: readonly CompensationProblem<T>[];
}

export interface Compensator<T> {
  /**
   * Takes the next element of the programmed path and gives what has become certain of the centre path: the end of an
   * element is only known with the next one, so results lag by one element in the plane. Elements along the third axis alone,
   * and of no length, keep their place in the order. After a problem the path goes on along the best substitute.
   */
  push(element: PathElement<T>): CompensationResult<T>;
  /** The other side or another radius from the next element on, without leaving compensation. */
  change(side: "left" | "right", radius: number): void;
  /**
   * Ends compensation (G40): the last element ends square to itself. The next move starts at `position` and goes
   * straight to its programmed end; there is no exit move of its own.
   */
  flush(): CompensationResult<T>;
  /** Where the tool's centre is at the end of all elements given out so far. */
  readonly position: PlanePoint3;
  /** End of the last element pushed, as programmed. */
  readonly programmed: PlanePoint3;
}

/** Ends of neighbouring offset elements nearer than this are joined as they are, mm: the least increment of a control. */
const JOIN = 0.001;

/** Below this an inside corner of the rs274ngc form is rounding and not an error, radians (0.01 from memory of that interpreter). */
const CONCAVE_TOLERANCE = 0.01;

/** By how much the distance of the tool from the arc of an entry may differ from touching it, mm. */
const ENTRY_TOLERANCE = 0.002;

const DEGREES = 180 / Math.PI;

/** An offset element that still waits for its end. `reach` counts in fractions of the offset element, 0 its start and 1 its end. */
interface Piece<T> {
  readonly kind: "line" | "arc";
  readonly tag: T;
  readonly role: "entry" | "plain";
  readonly side: number;
  readonly radius: number;
  readonly start: PlanePoint3;
  readonly end: PlanePoint3;
  readonly tangentIn: PlanePoint;
  readonly tangentOut: PlanePoint;
  readonly centre: PlanePoint;
  readonly sweep: number;
  /** Of the offset element. */
  readonly length: number;
  readonly offsetRadius: number;
  /** Ends of the whole offset element, before trimming. */
  readonly wholeFrom: PlanePoint;
  readonly wholeTo: PlanePoint;
  /** Has no offset element of its own (an arc smaller than the tool): not trimmed and not extended. */
  readonly rigid: boolean;
  /** The entry of the common form: its end is where the next element starts. */
  readonly open: boolean;
  from: PlanePoint;
  to: PlanePoint;
  reachFrom: number;
  reachTo: number;
}

interface Output<T> {
  readonly elements: CentreElement<T>[];
  readonly problems: CompensationProblem<T>[];
}

/** Starts cutter compensation; the first element in the plane is the entry. */
export function createCompensator<T>(options: CompensatorOptions): Compensator<T> {
  const strict = options.style === "rs274ngc";
  const concaveIsError = (options.concave ?? (strict ? "error" : "intersection")) === "error";
  const corner = options.corner ?? "arc";
  let side = 0;
  let radius = 0;
  let position = options.position;
  let programmed = options.position;
  let pending: Piece<T> | undefined;
  /** Elements outside the plane that follow `pending`. */
  let held: { readonly tag: T; readonly fromLevel: number; readonly toLevel: number }[] = [];
  change(options.side, options.radius);

  function change(newSide: "left" | "right", newRadius: number): void {
    side = (newSide === "left") === newRadius >= 0 ? 1 : -1;
    radius = Math.abs(newRadius);
  }

  function emit(out: Output<T>, element: CentreElement<T>): void {
    out.elements.push(element);
    position = element.to;
  }

  function release(out: Output<T>): void {
    if (pending) emit(out, finished(pending));
    for (const { tag, fromLevel, toLevel } of held) {
      const from: PlanePoint3 = [position[0], position[1], fromLevel];
      emit(out, { kind: "line", from, to: [position[0], position[1], toLevel], centre: undefined, sweep: 0, role: "plain", tag });
    }
    pending = undefined;
    held = [];
  }

  function push(element: PathElement<T>): CompensationResult<T> {
    const out: Output<T> = { elements: [], problems: [] };
    const start = programmed;
    programmed = element.to;
    if (element.kind === "line" && Math.hypot(element.to[0] - start[0], element.to[1] - start[1]) < SAME_POINT) {
      held.push({ tag: element.tag, fromLevel: start[2], toLevel: element.to[2] });
      if (!pending) release(out);
      return out;
    }
    if (!pending) {
      pending =
        strict || element.kind === "arc" ? tangentEntry(position, element, side, radius, out) : openEntry(position, element, side, radius);
      return out;
    }
    const next = offsetPiece(start, element, side, radius, strict, out);
    const corners = join(pending, next, { corner, concaveIsError }, out);
    release(out);
    for (const part of corners) emit(out, part);
    pending = next;
    return out;
  }

  return {
    push,
    change,
    flush() {
      const out: Output<T> = { elements: [], problems: [] };
      release(out);
      return out;
    },
    get position() {
      return position;
    },
    get programmed() {
      return programmed;
    },
  };
}

/** The unit vector square to a direction, toward the tool. */
function toward(tangent: PlanePoint, side: number): PlanePoint {
  return [-side * tangent[1], side * tangent[0]];
}

function along(p: PlanePoint | PlanePoint3, direction: PlanePoint, distance: number): PlanePoint {
  // A distance of nothing keeps the point also where the direction is not known.
  return distance === 0 ? [p[0], p[1]] : [p[0] + direction[0] * distance, p[1] + direction[1] * distance];
}

function distanceOf(p: PlanePoint | PlanePoint3, q: PlanePoint | PlanePoint3): number {
  return Math.hypot(q[0] - p[0], q[1] - p[1]);
}

function directionOf(p: PlanePoint | PlanePoint3, q: PlanePoint | PlanePoint3): PlanePoint {
  const length = distanceOf(p, q);
  return [(q[0] - p[0]) / length, (q[1] - p[1]) / length];
}

/** A straight piece between two points of the centre path. */
function straightPiece<T>(
  from: PlanePoint,
  to: PlanePoint,
  tangentIn: PlanePoint,
  tangentOut: PlanePoint,
  rest: Pick<Piece<T>, "tag" | "role" | "side" | "radius" | "start" | "end" | "rigid" | "open">,
): Piece<T> {
  return {
    ...rest,
    kind: "line",
    tangentIn,
    tangentOut,
    centre: [Number.NaN, Number.NaN],
    sweep: 0,
    length: distanceOf(from, to),
    offsetRadius: Number.NaN,
    wholeFrom: from,
    wholeTo: to,
    from,
    to,
    reachFrom: 0,
    reachTo: 1,
  };
}

function offsetPiece<T>(
  start: PlanePoint3,
  element: PathElement<T>,
  side: number,
  radius: number,
  strict: boolean,
  out: Output<T>,
): Piece<T> {
  const end = element.to;
  const rest = { tag: element.tag, role: "plain", side, radius, start, end, open: false } as const;
  if (element.kind === "line") {
    const tangent = directionOf(start, end);
    const normal = toward(tangent, side);
    return straightPiece(along(start, normal, radius), along(end, normal, radius), tangent, tangent, { ...rest, rigid: false });
  }
  const { centre, sweep } = element;
  const turn = Math.sign(sweep);
  const outIn = directionOf(centre, start);
  const outOut = directionOf(centre, end);
  const arcRadius = distanceOf(centre, start);
  const offsetRadius = arcRadius - turn * side * radius;
  const from = along(start, outIn, -turn * side * radius);
  const to = along(end, outOut, -turn * side * radius);
  const tangentIn: PlanePoint = [-turn * outIn[1], turn * outIn[0]];
  const tangentOut: PlanePoint = [-turn * outOut[1], turn * outOut[0]];
  // The tool as large as the arc turns about one point; RS274/NGC calls that an error already ("not less than").
  if (offsetRadius < (strict ? SAME_POINT : -SAME_POINT)) {
    out.problems.push({ error: "radius-not-less-than-arc", tag: element.tag, data: { radius, arcRadius } });
  }
  if (offsetRadius < SAME_POINT) return straightPiece(from, to, tangentIn, tangentOut, { ...rest, rigid: true });
  return {
    ...rest,
    kind: "arc",
    tangentIn,
    tangentOut,
    centre,
    sweep,
    length: (offsetRadius * Math.abs(sweep)) / DEGREES,
    offsetRadius,
    wholeFrom: from,
    wholeTo: to,
    rigid: false,
    from,
    to,
    reachFrom: 0,
    reachTo: 1,
  };
}

/**
 * The entry of NISTIR 6556, B.6. A line ends where the tool touches the programmed point with its side: present position,
 * programmed point and end form a right triangle with the right angle at the end. An arc keeps its centre, and the tool must
 * already touch it.
 */
function tangentEntry<T>(position: PlanePoint3, element: PathElement<T>, side: number, radius: number, out: Output<T>): Piece<T> {
  const from: PlanePoint = [position[0], position[1]];
  const rest = { tag: element.tag, role: "entry", side, radius, start: position, end: element.to, open: false } as const;
  if (element.kind === "line") {
    const reach = distanceOf(from, element.to);
    const straight = directionOf(from, element.to);
    if (reach <= radius) {
      out.problems.push({ error: "cutter-gouges", tag: element.tag, data: { radius, length: reach } });
      const to = along(element.to, toward(straight, side), radius);
      return straightPiece(from, to, straight, straight, { ...rest, rigid: true });
    }
    const leg = Math.sqrt((reach - radius) * (reach + radius));
    const cos = leg / reach;
    const sin = (side * radius) / reach;
    const tangent: PlanePoint = [straight[0] * cos - straight[1] * sin, straight[0] * sin + straight[1] * cos];
    return straightPiece(from, along(from, tangent, leg), tangent, tangent, { ...rest, rigid: true });
  }
  const { centre, sweep } = element;
  const turn = Math.sign(sweep);
  const arcRadius = distanceOf(centre, element.to);
  const offsetRadius = arcRadius - turn * side * radius;
  const distance = distanceOf(centre, from);
  const outward = directionOf(centre, element.to);
  const to = along(element.to, outward, -turn * side * radius);
  const tangentOut: PlanePoint = [-turn * outward[1], turn * outward[0]];
  if (offsetRadius < SAME_POINT) out.problems.push({ error: "radius-not-less-than-arc", tag: element.tag, data: { radius, arcRadius } });
  else if (Math.abs(distance - offsetRadius) > ENTRY_TOLERANCE) {
    out.problems.push({ error: "entry-arc", tag: element.tag, data: { radius, arcRadius, distance } });
  } else {
    const outIn = directionOf(centre, from);
    return {
      ...rest,
      kind: "arc",
      tangentIn: [-turn * outIn[1], turn * outIn[0]],
      tangentOut,
      centre,
      sweep: sweepBetween(centre, from, to, turn, Math.abs(sweep)),
      length: (offsetRadius * Math.abs(sweep)) / DEGREES,
      offsetRadius,
      wholeFrom: from,
      wholeTo: to,
      rigid: true,
      from,
      to,
      reachFrom: 0,
      reachTo: 1,
    };
  }
  return straightPiece(from, to, directionOf(from, to), tangentOut, { ...rest, rigid: true });
}

/** The entry of the common form: a line whose end waits for the next element. Without one it ends square to itself. */
function openEntry<T>(position: PlanePoint3, element: PathElement<T>, side: number, radius: number): Piece<T> {
  const from: PlanePoint = [position[0], position[1]];
  const tangent = directionOf(from, element.to);
  const to = along(element.to, toward(tangent, side), radius);
  return straightPiece(from, to, tangent, tangent, {
    tag: element.tag,
    role: "entry",
    side,
    radius,
    start: position,
    end: element.to,
    rigid: true,
    open: true,
  });
}

/** Settles the end of one piece and the start of the next; gives the elements that go between them. */
function join<T>(
  prev: Piece<T>,
  next: Piece<T>,
  rules: { readonly corner: "arc" | "intersection"; readonly concaveIsError: boolean },
  out: Output<T>,
): CentreElement<T>[] {
  const level = next.start[2];
  const lines = (...points: readonly PlanePoint[]): CentreElement<T>[] => {
    const parts: CentreElement<T>[] = [];
    for (let n = 1; n < points.length; n++) {
      const from = points[n - 1];
      const to = points[n];
      if (from === undefined || to === undefined || distanceOf(from, to) < SAME_POINT) continue;
      parts.push({
        kind: "line",
        from: [from[0], from[1], level],
        to: [to[0], to[1], level],
        centre: undefined,
        sweep: 0,
        role: "corner",
        tag: next.tag,
      });
    }
    return parts;
  };

  if (prev.open) {
    prev.to = next.from;
    return [];
  }
  const gap = distanceOf(prev.to, next.from);
  if (Number.isNaN(gap)) {
    // Where one side of the corner is not known, neither is the place at which the tool passes it.
    prev.to = [Number.NaN, Number.NaN];
    next.from = [Number.NaN, Number.NaN];
    return [];
  }
  if (gap <= JOIN) {
    next.from = prev.to;
    return [];
  }
  if (prev.side !== next.side || prev.radius !== next.radius) return lines(prev.to, next.from);

  const [a, b] = [prev.tangentOut, next.tangentIn];
  const turn = prev.side * Math.atan2(a[0] * b[1] - a[1] * b[0], a[0] * b[0] + a[1] * b[1]);
  // A path that turns back on itself goes round its end, whichever way rounding has it.
  if (turn > 0 && turn < Math.PI - 1e-6) {
    const isError = rules.concaveIsError && turn > CONCAVE_TOLERANCE;
    if (isError) out.problems.push({ error: "concave-corner", tag: next.tag, data: { angle: turn * DEGREES } });
    if (meet(prev, next)) return [];
    // A rigid piece has had its own problem told, or is an entry that ends a rounding error away from its neighbour.
    if (!isError && !prev.rigid && !next.rigid) {
      const short = prev.length * (1 - prev.reachFrom) < next.length ? prev : next;
      out.problems.push({ error: "cutter-gouges", tag: short.tag, data: { radius: next.radius, length: short.length } });
    }
    // The substitute goes to the end of the one and on to the start of the other, into the material.
    return lines(prev.to, next.from);
  }

  const radius = prev.radius;
  const angle = turn > 0 ? 2 * Math.PI - turn : -turn;
  if (rules.corner === "arc") {
    return [
      {
        kind: "arc",
        from: [prev.to[0], prev.to[1], level],
        to: [next.from[0], next.from[1], level],
        centre: [next.start[0], next.start[1]],
        sweep: -prev.side * angle * DEGREES,
        role: "corner",
        tag: next.tag,
      },
    ];
  }
  // Sharper than a right angle the sides meet far away; the way is cut short at one radius on either side.
  const reach = angle > Math.PI / 2 + 1e-9 ? radius : radius * Math.tan(angle / 2);
  const leave = along(prev.to, a, reach);
  const arrive = along(next.from, b, -reach);
  const before = prev.to;
  const after = next.from;
  const extendPrev = prev.kind === "line" && !prev.rigid;
  const extendNext = next.kind === "line" && !next.rigid;
  if (extendPrev) {
    prev.to = leave;
    prev.reachTo = 1 + reach / prev.length;
  }
  if (extendNext) {
    next.from = arrive;
    next.reachFrom = -reach / next.length;
  }
  const between = lines(extendPrev ? leave : before, leave, arrive, extendNext ? arrive : after);
  if (between.length === 0 && extendNext) next.from = prev.to;
  return between;
}

/**
 * Ends both pieces of an inside corner where their offset elements meet, the nearest place to the corner that lies on what is
 * left of both; false where there is none, which means that the tool does not fit.
 */
function meet<T>(prev: Piece<T>, next: Piece<T>): boolean {
  if (prev.rigid || next.rigid) return false;
  const slackPrev = JOIN / prev.length;
  const slackNext = JOIN / next.length;
  let nearest = Number.POSITIVE_INFINITY;
  for (const point of intersections(prev, next)) {
    const to = reachBackward(prev, point);
    const from = reachForward(next, point);
    const onBoth = to >= prev.reachFrom - slackPrev && to <= 1 + slackPrev && from >= -slackNext && from <= 1 + slackNext;
    const far = distanceOf(next.start, point);
    if (!onBoth || far >= nearest) continue;
    nearest = far;
    prev.to = point;
    prev.reachTo = to;
    next.from = point;
    next.reachFrom = from;
  }
  return nearest < Number.POSITIVE_INFINITY;
}

function intersections<T>(p: Piece<T>, q: Piece<T>): PlanePoint[] {
  if (p.kind === "line" && q.kind === "line") {
    const cross = p.tangentIn[0] * q.tangentIn[1] - p.tangentIn[1] * q.tangentIn[0];
    const a = q.wholeFrom[0] - p.wholeFrom[0];
    const b = q.wholeFrom[1] - p.wholeFrom[1];
    return [along(p.wholeFrom, p.tangentIn, (a * q.tangentIn[1] - b * q.tangentIn[0]) / cross)];
  }
  if (p.kind === "line") return lineCircle(p.wholeFrom, p.tangentIn, q.centre, q.offsetRadius);
  if (q.kind === "line") return lineCircle(q.wholeFrom, q.tangentIn, p.centre, p.offsetRadius);
  const apart = distanceOf(p.centre, q.centre);
  if (apart < SAME_POINT) return [];
  const axis = directionOf(p.centre, q.centre);
  const foot = (apart * apart + (p.offsetRadius - q.offsetRadius) * (p.offsetRadius + q.offsetRadius)) / (2 * apart);
  return across(along(p.centre, axis, foot), [-axis[1], axis[0]], (p.offsetRadius - foot) * (p.offsetRadius + foot));
}

function lineCircle(point: PlanePoint, direction: PlanePoint, centre: PlanePoint, radius: number): PlanePoint[] {
  const foot = along(point, direction, (centre[0] - point[0]) * direction[0] + (centre[1] - point[1]) * direction[1]);
  const away = distanceOf(centre, foot);
  return across(foot, direction, (radius - away) * (radius + away));
}

/** The two points at ±√square along a direction; one where they coincide, none where the square is negative beyond rounding. */
function across(foot: PlanePoint, direction: PlanePoint, square: number): PlanePoint[] {
  if (!(square > -JOIN * JOIN)) return [];
  const half = Math.sqrt(Math.max(0, square));
  return half === 0 ? [foot] : [along(foot, direction, half), along(foot, direction, -half)];
}

/** How far along an offset element a point lies, as a fraction counted back from its end. */
function reachBackward<T>(piece: Piece<T>, point: PlanePoint): number {
  if (piece.kind === "line") return lineReach(piece, point);
  const whole = Math.abs(piece.sweep);
  const back = around(turned(piece.centre, point, piece.wholeTo) * Math.sign(piece.sweep), whole);
  return 1 - back / whole;
}

/** The same, counted from its start. */
function reachForward<T>(piece: Piece<T>, point: PlanePoint): number {
  if (piece.kind === "line") return lineReach(piece, point);
  const whole = Math.abs(piece.sweep);
  return around(turned(piece.centre, piece.wholeFrom, point) * Math.sign(piece.sweep), whole) / whole;
}

function lineReach<T>(piece: Piece<T>, point: PlanePoint): number {
  const a = point[0] - piece.wholeFrom[0];
  const b = point[1] - piece.wholeFrom[1];
  return (a * piece.tangentIn[0] + b * piece.tangentIn[1]) / piece.length;
}

/** Angle in degrees from one point to another about a centre, -180 … 180. */
function turned(centre: PlanePoint, from: PlanePoint, to: PlanePoint): number {
  const [a, b, c, d] = [from[0] - centre[0], from[1] - centre[1], to[0] - centre[0], to[1] - centre[1]];
  return Math.atan2(a * d - b * c, a * c + b * d) * DEGREES;
}

/**
 * An angle of -180 … 180 as one along an arc of `whole` degrees: negative angles are taken forward round the circle where
 * that lands on the arc or nearer to its far end than to its near one.
 */
function around(angle: number, whole: number): number {
  if (angle >= 0) return angle;
  const forward = angle + 360;
  if (forward <= whole) return angle > -1e-6 ? angle : forward;
  return forward - whole < -angle ? forward : angle;
}

/** The sweep from one point to another about a centre in the sense of `turn`, with the number of turns nearest to `about`. */
function sweepBetween(centre: PlanePoint, from: PlanePoint, to: PlanePoint, turn: number, about: number): number {
  const angle = turned(centre, from, to) * turn;
  const turns = Math.round((about - angle) / 360);
  const sweep = angle + 360 * turns;
  return turn * (sweep > 0 ? sweep : sweep + 360);
}

function finished<T>(piece: Piece<T>): CentreElement<T> {
  const span = piece.reachTo - piece.reachFrom;
  const from: PlanePoint3 = [piece.from[0], piece.from[1], piece.start[2]];
  const to: PlanePoint3 = [piece.to[0], piece.to[1], piece.end[2]];
  // What is left of an arc may be nothing, or less by rounding.
  if (piece.kind === "line" || span <= 0) {
    return { kind: "line", from, to, centre: undefined, sweep: 0, role: piece.role, tag: piece.tag };
  }
  return { kind: "arc", from, to, centre: piece.centre, sweep: piece.sweep * span, role: piece.role, tag: piece.tag };
}
