import type { Fixture, Rotary, Solid } from "../../fixture/model.js";
import { LINE, swingRadius, turningBox, turningSolids } from "../../fixture/solids.js";
import { type Box, bounds, type OrientedBox } from "../../geometry/box.js";
import { IDENTITY } from "../../geometry/frame.js";
import { gapIndex, gapLine } from "../../geometry/sweep.js";
import type { ToolPart, ToolStack } from "../../geometry/tool.js";
import type { Vec3 } from "../../geometry/vector.js";
import type { Move } from "../../machine/move.js";
import { TOUCH } from "./incidents.js";

/** What a turn of the work means for the tool. */
export type SwingVerdict =
  | { readonly kind: "clear" }
  /** Why it could not be looked at: a key of the not-checked texts. */
  | { readonly kind: "unknown"; readonly why: string }
  | {
      readonly kind: "inside";
      /** Least distance of the tool to what turns, mm; 0 when they meet. */
      readonly distance: number;
      readonly solid: Solid;
      readonly part: ToolPart["part"];
      /** Reading of the rotary axis there, degrees. */
      readonly angle: number;
      /** Radius of the cylinder that everything on the rotary axis sweeps, mm. */
      readonly radius: number;
    };

/**
 * Whether the tool is out of the way while the work turns (contract ruling 29): outside the cylinder of the swing radius by
 * `clearance.index`, or shown clear of the true sweep by that distance.
 */
export function swingVerdict(fixture: Fixture, move: Move): SwingVerdict {
  const rotary = fixture.machine.rotary;
  const radius = swingRadius(fixture);
  if (rotary === undefined || radius === undefined) return { kind: "clear" };
  if (Number.isNaN(radius)) return { kind: "unknown", why: "why.no-field" };
  const stack = fixture.tools.get(move.modal.tool)?.stack ?? LINE;
  const limit = fixture.clearance.index - TOUCH;
  if (isOutside(fixture, rotary, move, stack, radius, limit)) return { kind: "clear" };
  if ([...move.from, ...move.to].some((v) => Number.isNaN(v))) return { kind: "unknown", why: "why.position-unknown" };
  if (Number.isNaN(move.rotaryFrom) || Number.isNaN(move.rotaryTo)) return { kind: "unknown", why: "why.rotary-unknown" };
  const angle = move.rotaryTo - move.rotaryFrom;
  if (angle === 0) return { kind: "clear" };
  const turn = { axis: axisOf(rotary), centre: rotary.centre, angle: -rotary.sense * angle };
  let found: (SwingVerdict & { readonly kind: "inside" }) | undefined;
  for (const solid of turningSolids(fixture)) {
    const box = turningBox(fixture, solid, move.rotaryFrom);
    for (const part of stack) {
      const least = found?.distance ?? limit;
      const { distance, t } = gapIndex(part, move.from, move.to, box, turn, least);
      if (distance < least) found = { kind: "inside", distance, solid, part: part.part, angle: move.rotaryFrom + t * angle, radius };
    }
  }
  return found ?? { kind: "clear" };
}

/** The index of the coordinate along the rotary axis. */
function axisOf(rotary: Rotary): 0 | 1 | 2 {
  return rotary.axis === "A" ? 0 : rotary.axis === "B" ? 1 : 2;
}

/**
 * Whether the stack stays outside of what can turn by a distance: outside the cylinder of the swing radius, about C above the
 * highest solid. A coordinate across the axis that is not known counts as the worst there is.
 */
function isOutside(fixture: Fixture, { axis, centre }: Rotary, move: Move, stack: ToolStack, radius: number, limit: number): boolean {
  if (Number.isNaN(move.from[2]) || Number.isNaN(move.to[2])) return false;
  const across = axis === "A" ? 1 : 0;
  const known = axis !== "C" && ![move.from, move.to].some((p) => Number.isNaN(p[across]));
  // Along the axis, and for C in the plane, nothing depends on the place.
  const at = (p: Vec3): Vec3 => [across === 0 && known ? p[0] : centre[0], across === 1 && known ? p[1] : centre[1], p[2]];
  const top = Math.max(...turningSolids(fixture).map((s) => bounds(turningBox(fixture, s, 0)).to[2]));
  const inner: OrientedBox =
    axis === "C"
      ? { frame: IDENTITY, box: { from: [-Infinity, -Infinity, -Infinity], to: [Infinity, Infinity, top] } }
      : { frame: { ...IDENTITY, origin: centre }, box: axis === "A" ? ALONG_X : ALONG_Y };
  const least = axis === "C" ? limit : radius + limit;
  return stack.every((part) => gapLine(part, at(move.from), at(move.to), inner, least).distance >= least);
}

/** A line along an axis through the origin. */
const ALONG_X: Box = { from: [-Infinity, 0, 0], to: [Infinity, 0, 0] };
const ALONG_Y: Box = { from: [0, -Infinity, 0], to: [0, Infinity, 0] };
