import type { OrientedBox } from "./box.js";
import { type Convex, leastConvex } from "./convex.js";
import type { Answer, Body, Section } from "./distance.js";
import { depthOf, greatest, NO_BODY, NO_SECTION, prepare, sectionOf, signedDepth, standingGap } from "./distance.js";
import type { ToolPart } from "./tool.js";
import type { Vec3 } from "./vector.js";

/**
 * Least distance of a moving tool part to a box. The caller compares it with a clearance; equal within 1 µm counts as
 * clear (ruling 44), so a finding needs `distance < clearance − 0.001`.
 */
export interface Gap {
  /** mm; 0 when they meet, NaN when a number of the input is or is infinite where it may not be (positions). Exact within 1e-9 on lines, 1e-7 on arcs. */
  readonly distance: number;
  /** Where along the move it occurs, 0 start … 1 end (on a stretch of equal distance: somewhere on it); when they meet: where contact begins. */
  readonly t: number;
  /** The tool point there. */
  readonly at: Vec3;
  /**
   * Only when they meet, else 0: how deep the part gets into the box along the move, as the least shift that would free it
   * there, mm. A touch has no depth. Close, not exact, on arcs and in turned boxes.
   */
  readonly depth: number;
  /**
   * The least distance is at the start and the tool leaves from there (it does not run alongside); when they meet: they
   * met at the start already, the move enters nothing anew. Of straight moves only: an arc is a cut, for which it makes no difference.
   */
  readonly atStart: boolean;
}

/** How close the search comes to the true minimum on lines, mm. */
const EXACT = 1e-10;
/** Growth that counts as leaving, mm, and the travel within which it must show, mm. */
const LEAVES = 1e-6;
const LEAVES_WITHIN = 0.5;

const here: Answer = { distance: 0, nx: 0, ny: 0, nz: 0 };

/** The answer where nothing is known. */
export function unknownGap(): Gap {
  return {
    distance: Number.NaN,
    t: Number.NaN,
    at: [Number.NaN, Number.NaN, Number.NaN],
    depth: 0,
    atStart: false,
  };
}

/**
 * Least distance between a tool part whose tool point runs straight from `from` to `to` (mm, machine frame) and a box.
 * The distance is convex along the line, so two positions on either side of the minimum with their slopes enclose it:
 * the search ends when the enclosure is narrower than 1e-10 mm. A move of no length is a standing tool.
 *
 * @param cutoff when the distance is certainly not below it, the search stops and `distance` is some lower bound of the
 * true distance that is not below `cutoff`. Default: always exact.
 */
export function gapLine(part: ToolPart, from: Vec3, to: Vec3, box: OrientedBox, cutoff = Number.POSITIVE_INFINITY): Gap {
  return gapLineBody(sectionOf(part), from, to, prepare(box), cutoff);
}

/** `gapLine` on prepared arguments, for inner loops. */
export function gapLineBody(p: Section, from: Vec3, to: Vec3, body: Body, cutoff: number): Gap {
  line.set(p, from, to, body);
  const distance = leastConvex(line, cutoff, EXACT);
  if (!Number.isFinite(distance + line.dx + line.dy + line.dz)) return unknownGap();
  const atStart = line.place === 0;
  if (distance === 0) {
    const t = contactOnLine();
    return { distance, t, at: line.point(t), depth: depthOf(depthOnLine()), atStart };
  }
  const t = line.place;
  return { distance, t, at: line.point(t), depth: 0, atStart: atStart && distance < cutoff && leaves(distance) };
}

/** The distance of a tool part that moves straight, along its way. One object is reused by all queries. */
class Line implements Convex {
  slope = 0;
  place = 0;
  dx = 0;
  dy = 0;
  dz = 0;
  private x = 0;
  private y = 0;
  private z = 0;
  constructor(
    private section: Section,
    private body: Body,
  ) {}
  set(section: Section, from: Vec3, to: Vec3, body: Body): void {
    this.section = section;
    this.body = body;
    this.x = from[0];
    this.y = from[1];
    this.z = from[2];
    this.dx = to[0] - this.x;
    this.dy = to[1] - this.y;
    this.dz = to[2] - this.z;
  }
  at(t: number): number {
    const { dx, dy, dz } = this;
    standingGap(this.section, this.x + t * dx, this.y + t * dy, this.z + t * dz, this.body, here);
    this.slope = here.nx * dx + here.ny * dy + here.nz * dz;
    return here.distance;
  }
  point(t: number): Vec3 {
    return [this.x + t * this.dx, this.y + t * this.dy, this.z + t * this.dz];
  }
  length(): number {
    return Math.hypot(this.dx, this.dy, this.dz);
  }
  depth(t: number): number {
    return signedDepth(this.section, this.x + t * this.dx, this.y + t * this.dy, this.z + t * this.dz, this.body);
  }
}

const line = new Line(NO_SECTION, NO_BODY);

/** Whether the distance grows right behind the start, where it is known to be least; of a move that runs alongside it stays the same. */
function leaves(start: number): boolean {
  return line.at(Math.min(1, LEAVES_WITHIN / line.length())) > start + LEAVES;
}

/** They meet on the line: contact begins where Newton's steps, which never overshoot on a convex function, end. */
function contactOnLine(): number {
  let t = 0;
  for (let n = 0; n < 60; n++) {
    const distance = line.at(t);
    if (distance <= 1e-9 || line.slope >= 0) break;
    t = Math.min(t - distance / line.slope, 1);
  }
  return t;
}

/** The depth rises and then falls along a line. */
function depthOnLine(): number {
  const first = line.depth(0);
  // A cut through a solid block is as deep at both ends and in between, which is most of what a program does.
  if (Math.abs(first - line.depth(1)) < 1e-9 && Math.abs(first - line.depth(0.5)) < 1e-9) return first;
  return greatest((t) => line.depth(t), 0, 1);
}
