/** A convex function of one number over 0 … 1, such as the distance of two convex bodies of which one moves straight. */
export interface Convex {
  /** Its value at t, never below 0; also leaves its slope there in `slope`, which is 0 where the value is. */
  at(t: number): number;
  slope: number;
  /** Where `leastConvex` found its answer. */
  place: number;
}

/**
 * The least value of a convex function. Two places on either side of it with their tangents enclose it,
 * so the search ends with a proof: when the enclosure is narrower than `exact`.
 *
 * @param enough where the function is certainly not below this, the search stops and the answer is some lower bound that is not
 * below `enough`
 */
export function leastConvex(f: Convex, enough: number, exact: number): number {
  let t0 = 0;
  let f0 = f.at(0);
  let g0 = f.slope;
  f.place = 0;
  if (g0 >= 0) return f0;
  f.place = 1;
  // One tangent may bound all of it.
  if (f0 + g0 >= enough) return f0 + g0;
  let t1 = 1;
  let f1 = f.at(1);
  let g1 = f.slope;
  if (g1 <= 0) return f1;
  let best = f1;
  if (f0 < f1) {
    best = f0;
    f.place = 0;
  }
  for (let n = 0; n < 100; n++) {
    const w = t1 - t0;
    const meet = (f1 - f0 - g1 * w) / (g0 - g1);
    const bound = f0 + g0 * meet;
    if (bound >= enough) return bound;
    if (best - bound <= exact) return best;
    // A secant of the slope homes in on smooth stretches, the meeting of the tangents finds corners, halving always ends.
    const way = n % 3;
    const t = t0 + (way === 0 ? (w * g0) / (g0 - g1) : way === 1 ? meet : w / 2);
    const value = f.at(t);
    if (value < best) {
      best = value;
      f.place = t;
    }
    if (f.slope < 0) {
      t0 = t;
      f0 = value;
      g0 = f.slope;
    } else {
      t1 = t;
      f1 = value;
      g1 = f.slope;
    }
  }
  return best;
}
