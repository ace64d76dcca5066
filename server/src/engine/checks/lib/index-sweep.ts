import type { Fixture, Solid } from "../../fixture/model.js";
import { LINE, solidAt, swingRadius, turningSolids } from "../../fixture/solids.js";
import { corners } from "../../geometry/box.js";
import { gapLine } from "../../geometry/sweep.js";
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
 * `clearance.index`, or shown clear of the true sweep by that distance. The true sweep is bounded exactly: between two angles no
 * point of a solid moves farther than its distance from the axis times the angle.
 */
export function swingVerdict(fixture: Fixture, move: Move): SwingVerdict {
  const rotary = fixture.machine.rotary;
  if (rotary === undefined) return { kind: "clear" };
  const radius = swingRadius(fixture);
  if (radius === undefined || Number.isNaN(radius)) return { kind: "unknown", why: "why.no-field" };
  const stack = fixture.tools.get(move.modal.tool)?.stack ?? LINE;
  const axis = rotary.axis === "A" ? 0 : rotary.axis === "B" ? 1 : 2;
  const clearance = fixture.clearance.index;
  if (axis !== 2 && outsideCylinder(move, stack, axis, rotary.centre, radius + clearance - TOUCH)) return { kind: "clear" };
  if ([...move.from, ...move.to].some((v) => Number.isNaN(v))) return { kind: "unknown", why: "why.position-unknown" };
  if (Number.isNaN(move.rotaryFrom) || Number.isNaN(move.rotaryTo)) return { kind: "unknown", why: "why.rotary-unknown" };
  if (move.rotaryFrom === move.rotaryTo) return { kind: "clear" };
  const nearest = trueSweep(fixture, move, stack, axis, clearance - TOUCH);
  return nearest === undefined ? { kind: "clear" } : { kind: "inside", radius, ...nearest };
}

/** Whether the stack keeps outside a cylinder about the axis; an unknown coordinate counts as the worst there is. */
function outsideCylinder(move: Move, stack: ToolStack, axis: 0 | 1, centre: Vec3, radius: number): boolean {
  const across = axis === 0 ? 1 : 0;
  const distanceAt = (t: number): number => {
    const a = move.from[across] + t * (move.to[across] - move.from[across]) - centre[across];
    const z = move.from[2] + t * (move.to[2] - move.from[2]) - centre[2];
    if (Number.isNaN(z)) return 0;
    let least = Number.POSITIVE_INFINITY;
    for (const part of stack) {
      const side = Number.isNaN(a) ? 0 : Math.max(0, Math.abs(a) - part.topRadius);
      const low = z + part.from;
      const high = z + part.to;
      const up = low > 0 ? low : high < 0 ? -high : 0;
      least = Math.min(least, Math.hypot(side, up));
    }
    return least;
  };
  // The distance of a point to a moving stack of boxes is convex only box by box; the ends and thirds bracket what matters, and
  // anything that is not clearly outside goes on to the true sweep.
  const length = Math.hypot(move.to[across] - move.from[across], move.to[2] - move.from[2]);
  const steps = Number.isNaN(length) ? 1 : Math.min(256, Math.max(1, Math.ceil(length)));
  const slack = Number.isNaN(length) ? 0 : length / steps / 2;
  for (let n = 0; n <= steps; n++) {
    const d = distanceAt(n / steps);
    if (d - (length > 0 ? slack : 0) < radius) return false;
  }
  return true;
}

interface Nearest {
  readonly distance: number;
  readonly solid: Solid;
  readonly part: ToolPart["part"];
  readonly angle: number;
}

/** The least distance below `limit` between the stack and what turns, by branch and bound; undefined when there is none. */
function trueSweep(fixture: Fixture, move: Move, stack: ToolStack, axis: 0 | 1 | 2, limit: number): Nearest | undefined {
  const centre = fixture.machine.rotary?.centre ?? [0, 0, 0];
  const [i, j] = axis === 0 ? [1, 2] : axis === 1 ? [0, 2] : [0, 1];
  const linear = Math.hypot(move.to[0] - move.from[0], move.to[1] - move.from[1], move.to[2] - move.from[2]);
  const turn = move.rotaryTo - move.rotaryFrom;
  let best: Nearest | undefined;
  let least = limit;
  for (const solid of turningSolids(fixture)) {
    // The farthest point of the solid from the axis; an endless extent along the axis does not move.
    const away = solidAt(fixture, solid, move.rotaryFrom + 90);
    const reaches = [...corners(away), ...corners(solidAt(fixture, solid, move.rotaryFrom))]
      .map((p) => Math.hypot((p[i] as number) - (centre[i] as number), (p[j] as number) - (centre[j] as number)))
      .filter((r) => Number.isFinite(r));
    const reach = Math.max(0, ...reaches);
    const speed = linear + (reach * Math.abs(turn) * Math.PI) / 180;
    for (const part of stack) {
      const queue: [number, number][] = [[0, 1]];
      while (queue.length > 0) {
        const [a, b] = queue.pop() as [number, number];
        const t = (a + b) / 2;
        const at: Vec3 = [
          move.from[0] + t * (move.to[0] - move.from[0]),
          move.from[1] + t * (move.to[1] - move.from[1]),
          move.from[2] + t * (move.to[2] - move.from[2]),
        ];
        const angle = move.rotaryFrom + t * turn;
        const { distance } = gapLine(part, at, at, solidAt(fixture, solid, angle));
        if (Number.isNaN(distance)) break;
        if (distance < least - 1e-9) {
          least = distance;
          best = { distance, solid, part: part.part, angle };
        }
        const half = (speed * (b - a)) / 2;
        if (distance - half >= least || half < 0.002) continue;
        queue.push([t, b], [a, t]);
      }
      if (least === 0) return best;
    }
  }
  return best;
}
