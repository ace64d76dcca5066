import type { Frame } from "./frame.js";
import { toOuter } from "./frame.js";
import type { Vec3 } from "./vector.js";

/** An axis-parallel box of its own frame; `from` is the low corner. Coordinates may be infinite (a body with no known thickness). */
export interface Box {
  readonly from: Vec3;
  readonly to: Vec3;
}

/** A box that stands somewhere: its extents in its own frame, and that frame in the machine frame. */
export interface OrientedBox {
  readonly frame: Frame;
  readonly box: Box;
}

/** The eight corners in the outer frame; bit 0 of the index picks x, bit 1 y, bit 2 z. */
export function corners(b: OrientedBox): Vec3[] {
  const out: Vec3[] = [];
  for (let i = 0; i < 8; i++) {
    const p: Vec3 = [i & 1 ? b.box.to[0] : b.box.from[0], i & 2 ? b.box.to[1] : b.box.from[1], i & 4 ? b.box.to[2] : b.box.from[2]];
    out.push(toOuter(b.frame, p));
  }
  return out;
}

/** Two directions whose scalar product is below this are square to each other: 1e-9 mm on a body of a metre. */
export const SQUARE = 1e-12;

/** The axis-parallel bounds of an oriented box in the outer frame. */
export function bounds({ frame, box }: OrientedBox): Box {
  const from: [number, number, number] = [...frame.origin];
  const to: [number, number, number] = [...frame.origin];
  for (const axis of [0, 1, 2] as const) {
    for (const [k, direction] of [frame.x, frame.y, frame.z].entries()) {
      const c = direction[axis];
      // An infinite extent must not meet a component that is zero but for the rounding of a turn.
      if (Math.abs(c) < SQUARE) continue;
      const a = (box.from[k] as number) * c;
      const b = (box.to[k] as number) * c;
      from[axis] += Math.min(a, b);
      to[axis] += Math.max(a, b);
    }
  }
  return { from, to };
}
