import type { Vec3 } from "../geometry/vector.js";

/**
 * A work offset by its register, whatever its spelling: "G54" … "G59" for the six base registers, "P1" … for the
 * additional ones, "G53" never. The fixture's `offsetName` gives the sidecar's spelling.
 */
export type OffsetKey = string;

/** The modal state that was in force while a move ran. Immutable; one object is shared by all moves under it. */
export interface Modal {
  readonly motion: string; // "G0" "G1" "G2" "G3" "G80" or the cycle "G81" …; the group-1 code in force
  readonly plane: 17 | 18 | 19;
  /** undefined while the program has not stated them (the sidecar's are assumed). */
  readonly units: "mm" | "inch" | undefined;
  readonly absolute: boolean; // G90
  readonly feedMode: 93 | 94 | 95;
  readonly compensation: 40 | 41 | 42;
  readonly d: number; // NaN: none
  readonly length: 43 | 44 | 49;
  /** The H in force; NaN: none. */
  readonly h: number;
  readonly offset: OffsetKey;
  /** Index of the step that last stated the offset; -1 for the initial state. */
  readonly offsetStep: number;
  readonly returnLevel: 98 | 99;
  /** G52 in mm, as it adds to every work offset; NaN where not known. */
  readonly localShift: Vec3;
  /** G92 in mm. */
  readonly presetShift: Vec3;
  /** Rotation (G68), mirror, scaling, polar (G16) in force. */
  readonly rotation: number | undefined; // degrees, undefined: none
  readonly mirror: readonly [boolean, boolean, boolean] | undefined;
  readonly scaling: Vec3 | undefined;
  readonly polar: boolean;
  readonly spindle: "cw" | "ccw" | "stopped";
  readonly speed: number; // rpm, NaN unknown or never set
  /** Programmed F in mm/min (G94), mm per revolution (G95) or 1/min (G93); NaN: never set. */
  readonly feed: number;
  /** T of the tool in the spindle, 0 before the first change, NaN unknown. */
  readonly tool: number;
  /** Index of the step of the last tool change; -1: none yet. */
  readonly toolStep: number;
  /** The T word waiting for M06; NaN: none. */
  readonly nextTool: number;
  /** Rotary axis in force, degrees as programmed (not reduced); NaN unknown. */
  readonly rotary: number;
  /**
   * Names of the fields above whose value is not known, because branches disagree or a code was not understood; what they
   * hold is then only the last value. Undefined: all are known.
   */
  readonly uncertain?: readonly UncertainField[];
}

/** A modal state that can become unknown. "motion": axis words no longer say what kind of motion they mean. */
export type UncertainField =
  | "motion"
  | "plane"
  | "units"
  | "absolute"
  | "feedMode"
  | "compensation"
  | "length"
  | "offset"
  | "returnLevel"
  | "transform"
  /** what I, J and K of an arc count from */
  | "centre"
  | "spindle";

export type MoveKind = "rapid" | "feed" | "arc" | "dwell" | "index";

/** What a move is for, where the kind does not say it. */
export type MoveRole =
  | "plain"
  /** to the intermediate point of a reference return */
  | "reference-through"
  /** from there to the reference position */
  | "reference"
  /** G53 */
  | "machine"
  /** cycle: traverse in the plane, hole to hole */
  | "cycle-traverse"
  /** cycle: rapid toward R, peck re-entry */
  | "cycle-approach"
  | "cycle-feed"
  /** cycle: out of the hole, within or at its end */
  | "cycle-retract"
  /** cycle: sideways shift of G76 and G87 */
  | "cycle-shift"
  /** lead-in, lead-out or corner arc of cutter compensation */
  | "compensation";

/** One primitive move of the tool. Positions in mm, machine frame, of the tool point. */
export interface Move {
  readonly step: number;
  readonly kind: MoveKind;
  readonly role: MoveRole;
  readonly from: Vec3;
  readonly to: Vec3;
  /** The same end points relative to the origin of the active work offset (no G52, G92): the part frame before rotation, for comparing stations. NaN where unknown. */
  readonly partFrom: Vec3;
  readonly partTo: Vec3;
  /** Machine Z of the spindle gauge point at both ends; NaN where LF is unknown. X and Y are those of the tool point. */
  readonly gaugeFrom: number;
  readonly gaugeTo: number;
  readonly rotaryFrom: number;
  readonly rotaryTo: number;
  /** Only for "arc": centre in the machine frame (third coordinate from the start), sweep in degrees, positive counter-clockwise seen against the plane's third axis. */
  readonly centre: Vec3 | undefined;
  readonly sweep: number;
  /** mm/min along the path; NaN for rapids and where unknown. */
  readonly feed: number;
  /** NaN where it cannot be known. */
  readonly seconds: number;
  readonly modal: Modal;
  /** Index of the fixture's station, -1 where the active offset belongs to none. */
  readonly station: number;
  /** Index of the visit, -1 for moves that belong to none (before the first tool, in reference moves …). */
  readonly visit: number;
}
