/** Branch and bound over one parameter: the search that arcs and turns share. It ends with a proof, not with a sample. */

/** How close the search comes to the true minimum, mm. */
const EXACT = 1e-7;

/** A distance over t in 0 … 1 that can be bounded from below around a place where it was measured. */
export interface Divided {
  /** The distance at t, mm; 0 when they meet. */
  readonly at: (t: number) => number;
  /** A lower bound of the distance over [a, b] less the distance at m, for the m that `at` was asked for last. */
  readonly growth: (a: number, m: number, b: number) => number;
  /** Number of equal pieces to begin with; less than 1 counts as 1. */
  readonly pieces: number;
  /** Places looked at before the search settles for its lower bound. */
  readonly most: number;
  /** Distances at or above this need not be exact. */
  readonly cutoff: number;
}

/** A distance, mm, and where it was found. */
export interface Place {
  readonly distance: number;
  readonly t: number;
}

/** A piece that may still hold the minimum, in a binary heap by its bound. */
interface Piece {
  readonly a: number;
  readonly b: number;
  readonly bound: number;
}

/**
 * The least distance and where it is. Within 1e-7 mm of the truth; at or above the cutoff, or when `most` places were not
 * enough (a distance that stays the same all along), a lower bound of the truth. NaN where the distance is.
 */
export function divide(d: Divided): Place {
  let best = d.at(0);
  let bestT = 0;
  const end = d.at(1);
  if (end < best) {
    best = end;
    bestT = 1;
  }
  if (best === 0) return { distance: 0, t: bestT };
  // The lowest bound of the pieces that were set aside, for the answer beyond the cutoff.
  let lowest = best;
  const heap: Piece[] = [];
  /** Looks at the middle of a piece; true when they meet there. */
  const look = (a: number, b: number): boolean => {
    const m = (a + b) / 2;
    const f = d.at(m);
    if (f < best) {
      best = f;
      bestT = m;
    }
    if (f === 0) return true;
    const bound = f + d.growth(a, m, b);
    if (bound < best - EXACT && bound < d.cutoff) push(heap, { a, b, bound });
    else lowest = Math.min(lowest, bound);
    return false;
  };
  const first = Math.max(1, d.pieces);
  for (let i = 0; i < first; i++) if (look(i / first, (i + 1) / first)) return { distance: 0, t: bestT };
  for (let budget = d.most; heap.length > 0; budget -= 2) {
    const piece = pop(heap);
    if (piece === undefined || piece.bound >= best - EXACT) break;
    // Not 0, which would say that they meet.
    if (budget <= 0) return { distance: Math.max(piece.bound, Number.MIN_VALUE), t: bestT };
    const m = (piece.a + piece.b) / 2;
    if (look(piece.a, m) || look(m, piece.b)) return { distance: 0, t: bestT };
  }
  return { distance: best >= d.cutoff ? Math.max(d.cutoff, Math.min(lowest, best)) : best, t: bestT };
}

/**
 * The least value over t in [ta, tb] of amplitude·cos(phase + t·sweep) + slope·t (amplitude ≥ 0, angles in radians): at an
 * end, or where the derivative passes zero upward.
 */
export function leastSine(amplitude: number, phase: number, sweep: number, slope: number, ta: number, tb: number): number {
  const value = (t: number): number => amplitude * Math.cos(phase + t * sweep) + slope * t;
  let least = Math.min(value(ta), value(tb));
  // −amplitude·sweep·sin(angle) + slope = 0.
  const s = slope / (amplitude * sweep);
  if (s >= -1 && s <= 1) {
    const base = Math.PI - Math.asin(s);
    const a = phase + ta * sweep;
    const b = phase + tb * sweep;
    const hi = Math.max(a, b);
    for (let q = base + Math.ceil((Math.min(a, b) - base) / (2 * Math.PI)) * 2 * Math.PI; q <= hi; q += 2 * Math.PI) {
      least = Math.min(least, value((q - phase) / sweep));
    }
  }
  return least;
}

function push(heap: Piece[], piece: Piece): void {
  let i = heap.length;
  heap.push(piece);
  while (i > 0) {
    const up = (i - 1) >> 1;
    const parent = heap[up] as Piece;
    if (parent.bound <= piece.bound) break;
    heap[i] = parent;
    i = up;
  }
  heap[i] = piece;
}

function pop(heap: Piece[]): Piece | undefined {
  const top = heap[0];
  const last = heap.pop();
  if (top === undefined || last === undefined || heap.length === 0) return top;
  let i = 0;
  for (;;) {
    let child = 2 * i + 1;
    if (child >= heap.length) break;
    if (child + 1 < heap.length && (heap[child + 1] as Piece).bound < (heap[child] as Piece).bound) child++;
    const other = heap[child] as Piece;
    if (other.bound >= last.bound) break;
    heap[i] = other;
    i = child;
  }
  heap[i] = last;
  return top;
}
