import type { CodeInfo, CodeUse } from "./profile.js";

/** One row of a code table: code, modal group, use, meaning, and "axes" where the code takes the axis words of its block. */
type Row = readonly [code: string, group: string, use: CodeUse, meaning: string, axes?: "axes"];

function table(rows: readonly Row[]): ReadonlyMap<string, CodeInfo> {
  return new Map(rows.map(([code, group, use, meaning, axes]) => [code, { code, group, use, takesAxes: axes === "axes", meaning }]));
}

const MOTION: readonly Row[] = [
  ["G0", "motion", "executed", "Rapid positioning", "axes"],
  ["G1", "motion", "executed", "Straight line at feed", "axes"],
  ["G2", "motion", "executed", "Arc clockwise, seen against the third axis of the plane", "axes"],
  ["G3", "motion", "executed", "Arc counter-clockwise, seen against the third axis of the plane", "axes"],
];

const PLANES: readonly Row[] = [
  ["G17", "plane", "executed", "Plane XY; arcs and compensation there, holes along Z"],
  ["G18", "plane", "executed", "Plane ZX; arcs and compensation there, holes along Y"],
  ["G19", "plane", "executed", "Plane YZ; arcs and compensation there, holes along X"],
];

function cycles(group: string): readonly Row[] {
  return [
    ["G81", group, "executed", "Cycle: drill; feed to Z, rapid out", "axes"],
    ["G82", group, "executed", "Cycle: drill with dwell P at the bottom", "axes"],
    ["G83", group, "executed", "Cycle: deep hole in steps of Q, out of the hole after each", "axes"],
    ["G84", group, "executed", "Cycle: tap; feed to Z, reverse, feed out", "axes"],
    ["G85", group, "executed", "Cycle: bore; feed to Z, feed out", "axes"],
    ["G86", group, "executed", "Cycle: bore; feed to Z, stop the spindle, rapid out", "axes"],
    ["G87", group, "executed", "Cycle: back boring from below", "axes"],
    ["G88", group, "executed", "Cycle: bore; dwell, spindle stop, retract by hand", "axes"],
    ["G89", group, "executed", "Cycle: bore with dwell P at the bottom, feed out", "axes"],
  ];
}

const SPINDLE_AND_STOPS: readonly Row[] = [
  ["M0", "stop", "executed", "Program stop"],
  ["M1", "stop", "executed", "Optional stop"],
  ["M2", "stop", "executed", "End of program"],
  ["M30", "stop", "executed", "End of program and rewind"],
  ["M3", "spindle", "executed", "Spindle on, clockwise"],
  ["M4", "spindle", "executed", "Spindle on, counter-clockwise"],
  ["M5", "spindle", "executed", "Spindle stop"],
  ["M6", "change", "executed", "Tool change"],
  ["M7", "coolant", "ignored", "Coolant on, second kind (mist)"],
  ["M8", "coolant", "ignored", "Coolant on, first kind (flood)"],
  ["M9", "coolant", "ignored", "Coolant off"],
];

function workOffsets(use: CodeUse): readonly Row[] {
  return [1, 2, 3, 4, 5, 6].map((n): Row => [`G${53 + n}`, "offset", use, `Work offset ${n}`]);
}

/** Codes of `iso`: ruling 39 of the project's contract; groups and meanings are common practice (no source). */
export const isoCodes = table([
  ...MOTION,
  ["G4", "0", "executed", "Dwell: P, X or U", "axes"],
  ["G9", "0", "ignored", "Exact stop, this block"],
  ["G10", "0", "executed", "Write data: work offsets (L2, L20), tool registers (L10 to L13)", "axes"],
  ["G11", "0", "ignored", "End of data input"],
  ["G15", "polar", "executed", "Polar coordinates off"],
  ["G16", "polar", "executed", "Polar coordinates: radius and angle"],
  ...PLANES,
  ["G20", "units", "executed", "Inch"],
  ["G21", "units", "executed", "Millimetre"],
  ["G28", "0", "executed", "Return to the reference point through an intermediate point", "axes"],
  ["G30", "0", "executed", "Return to a further reference point (P2 to P4) through an intermediate point", "axes"],
  ["G31", "0", "opaque", "Feed until a skip signal: where it ends is not known here", "axes"],
  ["G40", "compensation", "executed", "Cutter compensation off"],
  ["G41", "compensation", "executed", "Cutter compensation, tool to the left of the path"],
  ["G42", "compensation", "executed", "Cutter compensation, tool to the right of the path"],
  ["G43", "length", "executed", "Tool length compensation H, added"],
  ["G44", "length", "executed", "Tool length compensation H, subtracted"],
  ["G49", "length", "executed", "Tool length compensation off"],
  ["G50", "scaling", "executed", "Scaling off"],
  ["G51", "scaling", "executed", "Scaling about a centre", "axes"],
  ["G50.1", "mirror", "executed", "Mirror image off", "axes"],
  ["G51.1", "mirror", "executed", "Mirror image about the given positions", "axes"],
  ["G52", "0", "executed", "Local shift on top of every work offset", "axes"],
  ["G53", "0", "executed", "Machine coordinates, this block"],
  ...workOffsets("executed"),
  ["G54.1", "offset", "executed", "Additional work offset P"],
  ["G61", "path", "ignored", "Exact stop at the end of every block"],
  ["G64", "path", "ignored", "Continuous path"],
  ["G65", "0", "executed", "Macro call with arguments", "axes"],
  ["G66", "modal-call", "executed", "Macro call after every motion until G67", "axes"],
  ["G67", "modal-call", "executed", "End of the modal macro call"],
  ["G68", "rotation", "executed", "Rotate coordinates by R about X, Y", "axes"],
  ["G69", "rotation", "executed", "Rotation off"],
  ["G73", "cycle", "executed", "Cycle: deep hole in steps of Q, chip broken in the hole", "axes"],
  ["G74", "cycle", "executed", "Cycle: left-hand tap", "axes"],
  ["G76", "cycle", "executed", "Cycle: fine bore; oriented stop, shift Q off the wall, rapid out", "axes"],
  ["G80", "cycle", "executed", "Cycle off"],
  ...cycles("cycle"),
  ["G90", "distance", "executed", "Absolute positions"],
  ["G91", "distance", "executed", "Incremental distances"],
  ["G92", "0", "executed", "The present position is given new coordinates; or a limit of spindle speed with S", "axes"],
  ["G93", "feed", "executed", "Feed as the inverse of time"],
  ["G94", "feed", "executed", "Feed per minute"],
  ["G95", "feed", "executed", "Feed per revolution"],
  ["G96", "speed", "opaque", "Constant surface speed: revolutions are not known here"],
  ["G97", "speed", "executed", "Constant revolutions"],
  ["G98", "return", "executed", "Cycles return to the initial level"],
  ["G99", "return", "executed", "Cycles return to the R plane"],
  ...SPINDLE_AND_STOPS,
  ["M10", "clamp", "ignored", "Clamp a rotary axis"],
  ["M11", "clamp", "ignored", "Unclamp a rotary axis"],
  ["M19", "spindle", "executed", "Spindle stop in its oriented position"],
  ["M29", "tapping", "ignored", "Rigid tapping"],
  ["M97", "call", "executed", "Call of a label in this file"],
  ["M98", "call", "executed", "Call of a subprogram P, repeated L times"],
  ["M99", "call", "executed", "Return from a subprogram; in a main program back to its beginning"],
]);

/** Codes of `g154`: those of `iso` with G154 Pn in place of G54.1 Pn (common practice, no source). */
export const g154Codes: ReadonlyMap<string, CodeInfo> = new Map([
  ...[...isoCodes].filter(([code]) => code !== "G54.1"),
  ["G154", { code: "G154", group: "offset", use: "executed", takesAxes: false, meaning: "Additional work offset P" }],
]);

/** Codes of RS274/NGC: NISTIR 6556, Table 4 (modal groups) and §3.5, §3.6. */
export const rs274ngcCodes = table([
  ...MOTION,
  ["G38.2", "motion", "opaque", "Straight probe: where it ends is not known here", "axes"],
  ["G80", "motion", "executed", "Motion mode off"],
  ...cycles("motion"),
  ...PLANES,
  ["G90", "distance", "executed", "Absolute positions"],
  ["G91", "distance", "executed", "Incremental distances"],
  ["G93", "feed", "executed", "Feed as the inverse of time"],
  ["G94", "feed", "executed", "Feed per minute"],
  ["G20", "units", "executed", "Inch"],
  ["G21", "units", "executed", "Millimetre"],
  ["G40", "compensation", "executed", "Cutter compensation off"],
  ["G41", "compensation", "executed", "Cutter compensation, tool to the left of the path"],
  ["G42", "compensation", "executed", "Cutter compensation, tool to the right of the path"],
  ["G43", "length", "executed", "Tool length offset H"],
  ["G49", "length", "executed", "Tool length offset off"],
  ["G98", "return", "executed", "Cycles return to the initial level"],
  ["G99", "return", "executed", "Cycles return to the R plane"],
  ...workOffsets("executed"),
  ["G59.1", "offset", "executed", "Work offset 7"],
  ["G59.2", "offset", "executed", "Work offset 8"],
  ["G59.3", "offset", "executed", "Work offset 9"],
  ["G61", "path", "ignored", "Exact path"],
  ["G61.1", "path", "ignored", "Exact stop"],
  ["G64", "path", "ignored", "Continuous path"],
  ["G4", "0", "executed", "Dwell of P seconds"],
  ["G10", "0", "executed", "Set the origin of work offset P (L2)", "axes"],
  ["G28", "0", "executed", "Through the programmed point to the first home position", "axes"],
  ["G30", "0", "executed", "Through the programmed point to the second home position", "axes"],
  ["G53", "0", "executed", "Machine coordinates, this block"],
  ["G92", "0", "executed", "The present position is given new coordinates", "axes"],
  ["G92.1", "0", "executed", "Axis offsets to zero, their parameters too"],
  ["G92.2", "0", "executed", "Axis offsets to zero, their parameters kept"],
  ["G92.3", "0", "executed", "Axis offsets from their parameters"],
  ...SPINDLE_AND_STOPS,
  ["M48", "override", "ignored", "Speed and feed overrides enabled"],
  ["M49", "override", "ignored", "Speed and feed overrides disabled"],
  ["M60", "stop", "executed", "Program stop with pallet change"],
]);

/**
 * Codes that ISO 6983-1 itself assigns, after JB 3208-83 (its restatement of ISO 1056) and EIA RS-274-D for G70 and
 * G71; miscellaneous functions from memory of ISO 6983-1. What a control does behind an assignment such as "linear
 * shift" is not in the standard, so those are opaque.
 */
export const bareCodes = table([
  ...MOTION,
  ["G4", "0", "executed", "Dwell", "axes"],
  ["G6", "motion", "opaque", "Parabola", "axes"],
  ["G8", "0", "ignored", "Accelerate"],
  ["G9", "0", "ignored", "Decelerate"],
  ...PLANES,
  ["G33", "motion", "opaque", "Thread, constant lead", "axes"],
  ["G34", "motion", "opaque", "Thread, increasing lead", "axes"],
  ["G35", "motion", "opaque", "Thread, decreasing lead", "axes"],
  ["G40", "compensation", "executed", "Tool compensation off"],
  ["G41", "compensation", "executed", "Tool compensation, left"],
  ["G42", "compensation", "executed", "Tool compensation, right"],
  ["G43", "tool-offset", "opaque", "Tool offset, positive"],
  ["G44", "tool-offset", "opaque", "Tool offset, negative"],
  ["G45", "tool-offset", "opaque", "Tool offset +/+"],
  ["G46", "tool-offset", "opaque", "Tool offset +/-"],
  ["G47", "tool-offset", "opaque", "Tool offset -/-"],
  ["G48", "tool-offset", "opaque", "Tool offset -/+"],
  ["G49", "tool-offset", "opaque", "Tool offset 0/+"],
  ["G50", "tool-offset", "opaque", "Tool offset 0/-"],
  ["G51", "tool-offset", "opaque", "Tool offset +/0"],
  ["G52", "tool-offset", "opaque", "Tool offset -/0"],
  ["G53", "offset", "opaque", "Linear shift off"],
  ["G54", "offset", "opaque", "Linear shift of X"],
  ["G55", "offset", "opaque", "Linear shift of Y"],
  ["G56", "offset", "opaque", "Linear shift of Z"],
  ["G57", "offset", "opaque", "Linear shift of X and Y"],
  ["G58", "offset", "opaque", "Linear shift of X and Z"],
  ["G59", "offset", "opaque", "Linear shift of Y and Z"],
  ["G60", "path", "ignored", "Positioning, fine"],
  ["G61", "path", "ignored", "Positioning, medium"],
  ["G62", "path", "ignored", "Positioning, coarse"],
  ["G63", "0", "opaque", "Tapping", "axes"],
  ["G70", "units", "executed", "Inch"],
  ["G71", "units", "executed", "Millimetre"],
  ["G80", "cycle", "executed", "Fixed cycle off"],
  ...[1, 2, 3, 4, 5, 6, 7, 8, 9].map(
    (n): Row => [`G8${n}`, "cycle", "opaque", `Fixed cycle ${n}: its moves are the control's own`, "axes"],
  ),
  ["G90", "distance", "executed", "Absolute dimensions"],
  ["G91", "distance", "executed", "Incremental dimensions"],
  ["G92", "0", "executed", "Preload of registers: the present position is given new coordinates", "axes"],
  ["G93", "feed", "executed", "Feed as the inverse of time"],
  ["G94", "feed", "executed", "Feed per minute"],
  ["G95", "feed", "executed", "Feed per revolution"],
  ["G96", "speed", "opaque", "Constant surface speed: revolutions are not known here"],
  ["G97", "speed", "executed", "Constant revolutions"],
  ...SPINDLE_AND_STOPS,
  ["M10", "clamp", "ignored", "Clamp"],
  ["M11", "clamp", "ignored", "Unclamp"],
  ["M13", "spindle", "executed", "Spindle on clockwise, coolant on"],
  ["M14", "spindle", "executed", "Spindle on counter-clockwise, coolant on"],
  ["M15", "sense", "opaque", "Motion in the positive sense"],
  ["M16", "sense", "opaque", "Motion in the negative sense"],
  ["M19", "spindle", "executed", "Spindle stop in its oriented position"],
  ["M48", "override", "ignored", "Overrides enabled"],
  ["M49", "override", "ignored", "Overrides disabled"],
  ["M60", "stop", "executed", "Workpiece change"],
]);
