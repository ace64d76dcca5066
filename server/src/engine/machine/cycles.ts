import { type PlanePoint, type PlanePoint3, SAME_POINT } from "./arcs.js";
import type { MoveRole } from "./move.js";

export type CycleCode = "G73" | "G74" | "G76" | "G81" | "G82" | "G83" | "G84" | "G85" | "G86" | "G87" | "G88" | "G89";

const CYCLE_CODES: ReadonlySet<string> = new Set(["G73", "G74", "G76", "G81", "G82", "G83", "G84", "G85", "G86", "G87", "G88", "G89"]);

/** True for the drilling cycles, not for G80. */
export function isCycleCode(code: string): code is CycleCode {
  return CYCLE_CODES.has(code);
}

/** One step of a cycle. `to` is in plane coordinates, mm; a dwell stays where it is. */
export interface CycleMove {
  readonly kind: "rapid" | "feed" | "dwell";
  readonly role: MoveRole;
  readonly to: PlanePoint3;
  /** Only for a dwell, seconds; NaN where not known. */
  readonly seconds?: number;
  /** The operator makes this move by hand while the program is stopped (G88), so it has no time of its own. */
  readonly manual?: boolean;
}

export interface CycleInput {
  /** Position before the block, plane coordinates. */
  readonly from: PlanePoint3;
  /** One entry for each time the cycle is done, see `cyclePositions`; empty: the values are only stored and nothing moves. */
  readonly positions: readonly PlanePoint[];
  /** R level, absolute; undefined: never given. */
  readonly r: number | undefined;
  /** Z level (depth), absolute; undefined: never given. */
  readonly z: number | undefined;
  /** Q: depth of one peck (G73, G83), amount of the sideways shift (G76, G87); undefined: not given. */
  readonly q?: number;
  /** Dwell in seconds; undefined: not given. */
  readonly p?: number;
  /** Sideways shift along the two plane axes, mm, always increments (G76, G87); undefined: not given. */
  readonly shift?: readonly [i: number | undefined, j: number | undefined];
  /** Level to which G87 of the rs274ngc form feeds back up, absolute. */
  readonly k?: number;
  readonly returnLevel: 98 | 99;
  /** Level of the third axis before the cycle began, to which G98 returns. */
  readonly initialLevel: number;
  /** G73: how far it draws back; G83: how far above the last depth the rapid re-entry stops. mm. */
  readonly backOff: number;
  /** Where G83 draws back to between pecks: the R level, or the level to which the cycle returns in the end. */
  readonly peckRetract: "R" | "initial";
  /**
   * "rs274ngc": as NISTIR 6556, 3.5.16, with its conditions of error. "common": the form of most other controls (common
   * practice, no source): feed out of a bore or thread ends at R and goes on in rapid, G87 is back boring (R below, Z above),
   * a dwell may be left out, the sign of Q does not count and the spindle's state is not examined.
   */
  readonly style: "rs274ngc" | "common";
  /** State of the spindle before the block; undefined: not known. Only rs274ngc asks for it. */
  readonly spindle?: "cw" | "ccw" | "stopped";
  /** G93 is in force. */
  readonly inverseTime?: boolean;
  /** G41 or G42 is in force. */
  readonly compensation?: boolean;
  /** The block has a rotary word that moves the axis. */
  readonly rotaryMotion?: boolean;
  /** Unit direction of a shift that is given only by Q; undefined: the first plane axis (a machine setting, so it is an assumption). */
  readonly shiftDirection?: PlanePoint;
}

export type CycleError =
  | "not-a-cycle"
  /** no Z, and none retained */
  | "z-missing"
  | "r-missing"
  /** data: r, z */
  | "r-below-z"
  /** G87 as back boring with R above Z; data: r, z */
  | "r-above-z"
  /** data: p */
  | "dwell-negative"
  | "dwell-missing"
  | "peck-missing"
  /** data: q */
  | "peck-not-positive"
  /** G76 or G87 without Q, I or J */
  | "shift-missing"
  | "k-missing"
  | "spindle-not-clockwise"
  | "spindle-stopped"
  | "inverse-time"
  | "compensation-active"
  | "rotary-motion"
  /** data: repeats */
  | "repeats-not-positive"
  /** more moves than a bound against run-away input; data: moves, limit */
  | "too-many-moves";

export interface CycleFailure {
  readonly error: CycleError;
  readonly data: Readonly<Record<string, number>>;
}

/** What had to be supposed, for the list of what is not known. */
export type CycleAssumption =
  /** Q is unknown: one feed to the depth stands for all pecks, so the path is right and its time is not known */
  | "pecks-unknown"
  /** the direction of a shift by Q is a setting of the machine */
  | "shift-direction"
  /** the tool is drawn back by hand */
  | "manual-retract";

/** What one block of a cycle makes the machine do. */
export interface CycleExpansion {
  readonly moves: readonly CycleMove[];
  /** Position after the block. */
  readonly end: PlanePoint3;
  readonly assumptions: readonly CycleAssumption[];
}

/** Tells a cycle that the control would refuse from one that runs. */
export function isCycleFailure(result: object): result is CycleFailure {
  return "error" in result;
}

/** The most moves one block may give. A Q of a few nanometres would otherwise fill the memory. */
export const CYCLE_MOVE_LIMIT = 200_000;

/**
 * Where a repeated cycle is done. Absolute (G90): every time at the target. Incremental (G91): `target` is the increment, added
 * once for each repeat (NISTIR 6556, 3.5.16). `repeats` is the value of L or K, 1 without one; an unknown value counts as
 * one cycle at an unknown position when incremental, as one at the target otherwise.
 */
export function cyclePositions(input: {
  readonly from: PlanePoint;
  readonly target: PlanePoint;
  readonly incremental: boolean;
  readonly repeats: number;
  /** Zero repeats store the values without any motion; otherwise zero is an error. */
  readonly zeroAllowed: boolean;
}): readonly PlanePoint[] | CycleFailure {
  const { from, target, incremental, repeats } = input;
  if (Number.isNaN(repeats)) return [incremental ? [Number.NaN, Number.NaN] : target];
  if (repeats === 0 && input.zeroAllowed) return [];
  const count = Math.round(repeats);
  if (Math.abs(repeats - count) > 1e-4 || count < 1) return { error: "repeats-not-positive", data: { repeats } };
  if (count > CYCLE_MOVE_LIMIT) return { error: "too-many-moves", data: { moves: count, limit: CYCLE_MOVE_LIMIT } };
  const positions: PlanePoint[] = [];
  for (let n = 1; n <= count; n++) positions.push(incremental ? [from[0] + n * target[0], from[1] + n * target[1]] : target);
  return positions;
}

/**
 * Absolute R and Z levels of a cycle block. Absolute words are taken as they are. Incremental (G91): R counts from the level
 * before the cycle and Z from R (NISTIR 6556, 3.5.16 and its example 2).
 */
export function cycleLevels(input: {
  readonly level: number;
  readonly incremental: boolean;
  readonly r: number | undefined;
  readonly z: number | undefined;
}): { readonly r: number | undefined; readonly z: number | undefined } {
  const { level, incremental, r, z } = input;
  if (!incremental) return { r, z };
  const absoluteR = r === undefined ? undefined : level + r;
  return { r: absoluteR, z: z === undefined ? undefined : (absoluteR ?? level) + z };
}

/**
 * The levels at which each peck ends, from the R level down to Z: every peck is Q deep, the last one what remains. A remainder
 * of rounding is no peck of its own. Undefined where Q, R or Z is not known or Q is not positive.
 */
export function peckLevels(r: number, z: number, q: number): Float64Array | undefined {
  const count = Math.max(1, Math.ceil((r - z - SAME_POINT) / q));
  if (!(q > 0) || !Number.isFinite(count) || count > CYCLE_MOVE_LIMIT) return undefined;
  const levels = new Float64Array(count);
  for (let n = 1; n < count; n++) levels[n - 1] = r - n * q;
  levels[count - 1] = z;
  return levels;
}

const NEEDS_DWELL: ReadonlySet<CycleCode> = new Set<CycleCode>(["G82", "G86", "G88", "G89"]);

/**
 * All primitive moves of a drilling cycle, at every position of the block, in order. Levels and positions are absolute plane
 * coordinates in mm. Moves of no length are left out; a coordinate that is not known is NaN and its move is kept.
 * Source of the motions: NISTIR 6556, 3.5.16; for G73, G74, G76 and for `style` "common": common practice, no source.
 */
export function expandCycle(code: string, input: CycleInput): CycleExpansion | CycleFailure {
  if (!isCycleCode(code)) return { error: "not-a-cycle", data: {} };
  if (input.positions.length === 0) return { moves: [], end: input.from, assumptions: [] };
  const failure = checkCycle(code, input);
  if (failure) return failure;
  const { r, z } = input;
  if (r === undefined || z === undefined) return { error: r === undefined ? "r-missing" : "z-missing", data: {} };

  const peck = code === "G73" || code === "G83";
  const q = input.style === "common" ? Math.abs(input.q ?? Number.NaN) : (input.q ?? Number.NaN);
  let pecks: Float64Array | undefined;
  if (peck && !Number.isNaN(q) && !Number.isNaN(r - z)) {
    const moves = (Math.ceil((r - z) / q) * 3 + 3) * input.positions.length;
    if (moves > CYCLE_MOVE_LIMIT) return { error: "too-many-moves", data: { moves, limit: CYCLE_MOVE_LIMIT } };
    pecks = peckLevels(r, z, q);
  }
  const most = 12 * input.positions.length;
  if (!peck && most > CYCLE_MOVE_LIMIT) return { error: "too-many-moves", data: { moves: most, limit: CYCLE_MOVE_LIMIT } };

  const path = new CyclePath(input.from);
  const assumptions = new Set<CycleAssumption>();
  const backBore = code === "G87" && input.style === "common";
  const shift = code === "G76" || code === "G87" ? shiftOf(input, assumptions) : ([0, 0] as const);
  // "Old Z if above R, else R" (3.5.16). With an unknown initial level the comparison is not known either.
  const clear = input.returnLevel === 99 ? r : Math.max(input.initialLevel, r);
  if (peck && pecks === undefined) assumptions.add("pecks-unknown");
  if (code === "G88") assumptions.add("manual-retract");

  if (backBore) {
    for (const hole of input.positions) {
      path.traverse(hole, "cycle-traverse");
      path.sideways([hole[0] + shift[0], hole[1] + shift[1]]);
      path.axial("rapid", r, "cycle-approach");
      path.sideways(hole);
      path.axial("feed", z, "cycle-feed");
      path.dwell(input.p);
      path.sideways([hole[0] + shift[0], hole[1] + shift[1]]);
      // Back boring leaves through the bore, so it always returns to the initial level.
      path.axial("rapid", input.initialLevel, "cycle-retract");
      path.sideways(hole);
    }
    return { moves: path.moves, end: path.at, assumptions: [...assumptions] };
  }

  // The preliminary move is made once, whatever the number of repeats.
  if (path.at[2] < r) path.axial("rapid", r, "cycle-approach");
  for (const hole of input.positions) {
    path.traverse(hole, "cycle-traverse");
    path.axial("rapid", r, "cycle-approach");
    switch (code) {
      case "G73":
      case "G83":
        drillPecks(path, code, input, pecks ?? [z], r, code === "G83" && input.peckRetract === "initial" ? clear : r);
        // RS274/NGC knows no dwell here; elsewhere a P is one at the bottom of the hole.
        if (input.style === "common") path.dwell(input.p);
        path.axial("rapid", clear, "cycle-retract");
        break;
      case "G81":
        path.axial("feed", z, "cycle-feed");
        path.axial("rapid", clear, "cycle-retract");
        break;
      case "G82":
      case "G86":
        path.axial("feed", z, "cycle-feed");
        path.dwell(input.p);
        path.axial("rapid", clear, "cycle-retract");
        break;
      case "G74":
      case "G84":
      case "G85":
      case "G89":
        path.axial("feed", z, "cycle-feed");
        // G84 and G85 of RS274/NGC have no dwell; elsewhere a P is a dwell at the bottom.
        if (code === "G89" || input.style === "common") path.dwell(input.p);
        if (input.style === "common") {
          path.axial("feed", r, "cycle-retract");
          path.axial("rapid", clear, "cycle-retract");
        } else {
          path.axial("feed", clear, "cycle-retract");
        }
        break;
      case "G76":
        path.axial("feed", z, "cycle-feed");
        path.dwell(input.p);
        path.sideways([hole[0] + shift[0], hole[1] + shift[1]]);
        path.axial("rapid", clear, "cycle-retract");
        path.sideways(hole);
        break;
      case "G87":
        path.sideways([hole[0] + shift[0], hole[1] + shift[1]]);
        path.axial("rapid", z, "cycle-approach");
        path.sideways(hole);
        path.axial("feed", input.k ?? Number.NaN, "cycle-feed");
        path.axial("feed", z, "cycle-feed");
        path.sideways([hole[0] + shift[0], hole[1] + shift[1]]);
        path.axial("rapid", clear, "cycle-retract");
        path.sideways(hole);
        break;
      case "G88":
        path.axial("feed", z, "cycle-feed");
        path.dwell(input.p);
        path.axial("rapid", clear, "cycle-retract", true);
        break;
    }
  }
  return { moves: path.moves, end: path.at, assumptions: [...assumptions] };
}

function drillPecks(path: CyclePath, code: CycleCode, input: CycleInput, levels: ArrayLike<number>, r: number, retract: number): void {
  for (let n = 0; n < levels.length; n++) {
    const level = levels[n];
    if (level === undefined) break;
    path.axial("feed", level, "cycle-feed");
    if (n === levels.length - 1) return;
    if (code === "G73") {
      path.axial("rapid", Math.min(level + input.backOff, r), "cycle-retract");
    } else {
      path.axial("rapid", retract, "cycle-retract");
      path.axial("rapid", Math.min(level + input.backOff, retract), "cycle-approach");
    }
  }
}

function shiftOf(input: CycleInput, assumptions: Set<CycleAssumption>): PlanePoint {
  const [i, j] = input.shift ?? [undefined, undefined];
  if (i !== undefined || j !== undefined) return [i ?? 0, j ?? 0];
  const amount = Math.abs(input.q ?? Number.NaN);
  if (input.shiftDirection === undefined) assumptions.add("shift-direction");
  const direction = input.shiftDirection ?? [1, 0];
  return [amount * direction[0], amount * direction[1]];
}

function checkCycle(code: CycleCode, input: CycleInput): CycleFailure | undefined {
  const strict = input.style === "rs274ngc";
  if (input.rotaryMotion && strict) return { error: "rotary-motion", data: {} };
  if (input.inverseTime && strict) return { error: "inverse-time", data: {} };
  if (input.compensation && strict) return { error: "compensation-active", data: {} };
  if (input.z === undefined) return { error: "z-missing", data: {} };
  if (input.r === undefined) return { error: "r-missing", data: {} };
  const levels = { r: input.r, z: input.z };
  if (code === "G87" && !strict) {
    if (input.r > input.z) return { error: "r-above-z", data: levels };
  } else if (input.r < input.z) {
    return { error: "r-below-z", data: levels };
  }
  if (input.p !== undefined && input.p < 0) return { error: "dwell-negative", data: { p: input.p } };
  if (strict && input.p === undefined && NEEDS_DWELL.has(code)) return { error: "dwell-missing", data: {} };
  if (code === "G73" || code === "G83") {
    if (input.q === undefined) return { error: "peck-missing", data: {} };
    if (input.q === 0 || (strict && input.q < 0)) return { error: "peck-not-positive", data: { q: input.q } };
  }
  if (code === "G76" || code === "G87") {
    const [i, j] = input.shift ?? [undefined, undefined];
    const byQ = !strict && input.q !== undefined;
    if (i === undefined && j === undefined && !byQ) return { error: "shift-missing", data: {} };
    if (code === "G87" && strict && input.k === undefined) return { error: "k-missing", data: {} };
  }
  if (strict && code === "G84" && input.spindle !== undefined && input.spindle !== "cw")
    return { error: "spindle-not-clockwise", data: {} };
  if (strict && code === "G86" && input.spindle === "stopped") return { error: "spindle-stopped", data: {} };
  return undefined;
}

/** Collects moves and leaves out those of no length. */
class CyclePath {
  readonly moves: CycleMove[] = [];
  at: PlanePoint3;

  constructor(from: PlanePoint3) {
    this.at = from;
  }

  traverse(to: PlanePoint, role: MoveRole): void {
    // An unknown coordinate is equal to nothing, not even to another unknown one, so its move is kept.
    if (near(this.at[0], to[0]) && near(this.at[1], to[1])) return;
    this.at = [to[0], to[1], this.at[2]];
    this.moves.push({ kind: "rapid", role, to: this.at });
  }

  sideways(to: PlanePoint): void {
    this.traverse(to, "cycle-shift");
  }

  axial(kind: "rapid" | "feed", level: number, role: MoveRole, manual = false): void {
    if (near(this.at[2], level)) return;
    this.at = [this.at[0], this.at[1], level];
    this.moves.push(manual ? { kind, role, to: this.at, manual } : { kind, role, to: this.at });
  }

  dwell(seconds: number | undefined): void {
    if (seconds === undefined || seconds === 0) return;
    this.moves.push({ kind: "dwell", role: "plain", to: this.at, seconds });
  }
}

function near(a: number, b: number): boolean {
  return Math.abs(a - b) < SAME_POINT;
}
