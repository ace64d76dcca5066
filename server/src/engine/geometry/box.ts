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

/** The axis-parallel bounds of an oriented box in the outer frame. */
export function bounds(b: OrientedBox): Box {
  const lo = [Infinity, Infinity, Infinity];
  const hi = [-Infinity, -Infinity, -Infinity];
  for (let axis = 0; axis < 3; axis++) {
    let low = b.frame.origin[axis] as number;
    let high = low;
    const axes = [b.frame.x, b.frame.y, b.frame.z];
    for (let k = 0; k < 3; k++) {
      const c = (axes[k] as Vec3)[axis] as number;
      // An infinite extent must not meet a zero component: 0 · ∞ is NaN.
      if (c === 0) continue;
      const a = (b.box.from[k] as number) * c;
      const d = (b.box.to[k] as number) * c;
      low += Math.min(a, d);
      high += Math.max(a, d);
    }
    lo[axis] = low;
    hi[axis] = high;
  }
  return { from: lo as unknown as Vec3, to: hi as unknown as Vec3 };
}
