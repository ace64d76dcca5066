import { describe, expect, it } from "vitest";
import { chooseNotch, margin } from "../../server/src/engine/fixture/notch.js";

const jaw = { gap: 20, increment: 3, stroke: 8, notches: 40, loading: 1, reserve: 1, gripped: 41, tolerance: 0.3, chosen: 8 };

describe("notch", () => {
  it("the example of contract ruling 5", () => {
    expect(chooseNotch(jaw)).toEqual({ chosen: 8, valid: [8, 9], best: 8, travel: 3, notches: 40 });
  });

  // Gap 20 + 3k − 41: k 7 → 0, k 8 → 3, k 9 → 6, k 10 → 9. By hand against loading 1, reserve 1, stroke 8, ±0.3.
  it("what each notch leaves on its tighter side, by hand", () => {
    expect([7, 8, 9, 10].map((k) => Math.round(margin(jaw, k) * 1e9) / 1e9)).toEqual([-1.3, 1.7, 0.7, -2.3]);
  });

  it("of equal ones the lowest is best", () => {
    // Travel 1.5 and 4.5 in a window of 0 … 6, no tolerance: both leave 1.5.
    expect(chooseNotch({ ...jaw, gripped: 42.5, tolerance: 0, stroke: 6, loading: 0, reserve: 0 })).toMatchObject({
      valid: [8, 9],
      best: 8,
    });
  });

  it("the bounds themselves will do, decimals and all", () => {
    // t − τ = 1 exactly and t + τ = 7 exactly; 0.1 steps are not exact in binary.
    expect(chooseNotch({ ...jaw, gripped: 40.7, tolerance: 0.3 + 2, increment: 3, chosen: 8 }).valid).toEqual([8]);
    expect(
      chooseNotch({ ...jaw, gap: 0.1, increment: 0.1, stroke: 0.2, gripped: 0.3, tolerance: 0, loading: 0, reserve: 0, chosen: 2 }).valid,
    ).toEqual([2, 3, 4]);
  });

  it("counts from 0 and ends before the number of notches", () => {
    expect(chooseNotch({ ...jaw, notches: 9 }).valid).toEqual([8]);
    expect(chooseNotch({ ...jaw, notches: 8 })).toMatchObject({ valid: [], best: undefined });
    expect(chooseNotch({ ...jaw, gripped: 17 }).valid).toEqual([0, 1]);
  });

  it("without a chosen notch there is no travel", () => {
    expect(chooseNotch({ ...jaw, chosen: undefined }).travel).toBeNaN();
  });
});
