import { describe, expect, it } from "vitest";
import { gapArc, gapIndex, gapLine } from "../../server/src/engine/geometry/sweep.js";
import type { Vec3 } from "../../server/src/engine/geometry/vector.js";
import { boxOf, cone, cylinder, turned } from "../support/solids.js";

/** Touch rule of the project (contract-details 44): a finding needs a distance below the clearance by more than this, mm. */
const TOUCH = 1e-3;

describe("table 5.1 of check-values (manifold-3d 3.5.4, with the exact values beside it)", () => {
  // Flat end mill R 5, from (0,0) to (40,0), z −2 … 30.
  const mill = cylinder(5, -2, 30);
  const from: Vec3 = [0, 0, 0];
  const to: Vec3 = [40, 0, 0];
  const jaw = (x: number, y: number, length = 10) => boxOf([x, y, -5], [x + length, y + 10, 0]);

  it("∩ jaw box x 20..30, y 4..14, z −5..0 has volume 20: they meet, 1 mm in plan, 2 mm in height", () => {
    const gap = gapLine(mill, from, to, jaw(20, 4));
    expect(gap.distance).toBe(0);
    expect(gap.depth).toBeCloseTo(1, 9);
  });
  it("jaw at y ≥ 5: a touch, neither a gap nor an overlap", () => {
    const gap = gapLine(mill, from, to, jaw(20, 5));
    expect(gap.distance).toBeLessThan(1e-9);
    expect(gap.depth).toBeLessThan(1e-9);
  });
  it("jaw at y ≥ 5.1: minGap 0.1", () => expect(gapLine(mill, from, to, jaw(20, 5.1)).distance).toBeCloseTo(0.1, 9));
  it("corner at (42.9, 3.9): corner distance 4.860041 < 5, so they meet", () => {
    const gap = gapLine(mill, from, to, jaw(42.9, 3.9));
    expect(gap.distance).toBe(0);
    expect(gap.depth).toBeCloseTo(5 - 4.860041, 5);
  });
  it("corner at (43, 4): an exact touch, 3-4-5", () => {
    const gap = gapLine(mill, from, to, jaw(43, 4));
    expect(gap.distance).toBeLessThan(1e-9);
    expect(gap.depth).toBeLessThan(1e-9);
  });
  it("corner at (43.1, 4.1): 0.140039", () => {
    const gap = gapLine(mill, from, to, jaw(43.1, 4.1));
    expect(gap.distance).toBeCloseTo(0.140039, 6);
    expect(gap.t).toBe(1);
    expect(gap.at).toEqual([40, 0, 0]);
  });
  it("the same cases with the jaw turned a little, so that the other method answers", () => {
    // A turn about Y by 1e-9 rad moves nothing by more than 1e-7 mm, but no axis is vertical any more.
    const tilt = turned(0, (1e-9 * 180) / Math.PI, 0);
    const tilted = (x: number, y: number) => boxOf([x, y, -5], [x + 10, y + 10, 0], [0, 0, 0], tilt);
    expect(gapLine(mill, from, to, tilted(20, 5.1)).distance).toBeCloseTo(0.1, 6);
    expect(gapLine(mill, from, to, tilted(43.1, 4.1)).distance).toBeCloseTo(0.140039, 6);
    expect(gapLine(mill, from, to, tilted(42.9, 3.9)).distance).toBe(0);
    const touch = gapLine(mill, from, to, tilted(43, 4));
    expect(touch.distance).toBeLessThan(1e-6);
    expect(touch.depth).toBeLessThan(TOUCH);
  });
});

describe("distances worked by hand (plane geometry)", () => {
  const block = boxOf([0, 0, -10], [20, 10, 0]);

  it("a flat tool over a face, beside it, and off its edge", () => {
    expect(gapLine(cylinder(4, 0, 50), [10, 5, 3], [10, 5, 3], block).distance).toBeCloseTo(3, 12);
    expect(gapLine(cylinder(4, 0, 50), [10, -6, -5], [10, -6, -5], block).distance).toBeCloseTo(2, 12);
    // 3 beyond the side less radius … and 4 above: hypot(3, 4) = 5.
    expect(gapLine(cylinder(4, 0, 50), [27, 5, 4], [27, 5, 4], block).distance).toBeCloseTo(5, 12);
  });
  it("a holder above a face counts from its own lower face", () => {
    expect(gapLine(cylinder(20, 50, 90, "holder"), [10, 5, -40], [10, 5, -40], block).distance).toBeCloseTo(10, 12);
  });
  it("a drill point: SIG 90°, R 5, over the edge; the flank is at 45°", () => {
    // Seen from the tip the top edge is 6 across and 3 up; square to the flank (radius = height) that is (6 − 3)/√2.
    const gap = gapLine(cone(0, 5, 0, 5), [-6, 5, -3], [-6, 5, -3], block);
    expect(gap.distance).toBeCloseTo(3 / Math.SQRT2, 12);
  });
  it("a ramp down past an edge: the least distance to a line in the section", () => {
    // Line with no width from (−8, 5, 0) to (0, 5, 8): the edge (0, ·, 0) is 8/√2 from it, at the middle.
    const gap = gapLine(cylinder(0, 0, 0), [-8, 5, 0], [0, 5, 8], block);
    expect(gap.distance).toBeCloseTo(8 / Math.SQRT2, 9);
    expect(gap.t).toBeCloseTo(0.5, 6);
  });
  it("contact begins where the rim reaches the side", () => {
    const gap = gapLine(cylinder(5, 0, 40), [-25, 5, -5], [15, 5, -5], block);
    expect(gap.distance).toBe(0);
    expect(gap.t).toBeCloseTo(0.5, 8);
    expect(gap.at[0]).toBeCloseTo(-5, 7);
    expect(gap.atStart).toBe(false);
  });
  it("a quarter turn past a corner: nearest on the line from the centre to the corner", () => {
    // Centre (−3, −4), R 2, from the east side to the north side; the corner (0, 0) is 5 away in direction (3, 4)/5.
    const gap = gapArc(cylinder(1, 0, 30), { from: [-1, -4, -5], to: [-3, -2, -5], centre: [-3, -4, 0], sweep: 90, plane: 17 }, block);
    expect(gap.distance).toBeCloseTo(5 - 2 - 1, 9);
    expect(gap.t).toBeCloseTo(Math.atan2(4, 3) / (Math.PI / 2), 9);
    expect(gap.at[0]).toBeCloseTo(-3 + 2 * 0.6, 9);
    expect(gap.at[1]).toBeCloseTo(-4 + 2 * 0.8, 9);
  });
  it("an arc in ZX that dips to its lowest point over the face", () => {
    // Centre 12 above, R 10, from −X over the bottom to +X: lowest 2 above the face. G18 runs from Z to X.
    const gap = gapArc(cylinder(0.5, 0, 30), { from: [0, 5, 12], to: [20, 5, 12], centre: [10, 5, 12], sweep: -180, plane: 18 }, block);
    expect(gap.distance).toBeCloseTo(2, 6);
    expect(gap.at[0]).toBeCloseTo(10, 2);
  });
  it("an arc in YZ likewise", () => {
    const gap = gapArc(cylinder(0.5, 0, 30), { from: [5, -5, 12], to: [5, 15, 12], centre: [0, 5, 12], sweep: 180, plane: 19 }, block);
    expect(gap.distance).toBeCloseTo(2, 6);
  });
  it("a helix that ends 1 mm above the face, the face under all of it", () => {
    const gap = gapArc(cylinder(1, 0, 30), { from: [12, 5, 6], to: [12, 5, 1], centre: [10, 5, 6], sweep: 720, plane: 17 }, block);
    expect(gap.distance).toBeCloseTo(1, 7);
    expect(gap.t).toBeCloseTo(1, 6);
  });
  it("a full circle around the block at constant distance from nothing but its corners", () => {
    // Centre (10, 5): corners are hypot(10, 5) away.
    const r = 20;
    const gap = gapArc(cylinder(3, 0, 30), { from: [30, 5, -5], to: [30, 5, -5], centre: [10, 5, 0], sweep: -360, plane: 17 }, block);
    expect(gap.distance).toBeCloseTo(r - Math.hypot(10, 5) - 3, 9);
  });
});

describe("a box that turns with a rotary axis, worked by hand", () => {
  const mill = cylinder(5, 0, 100);
  // A block 100 wide and 40 high over the axis: its top corners are hypot(50, 40) = 64.03 from it.
  const block = boxOf([-50, -10, 0], [50, 10, 40]);
  it("a quarter turn about B lifts a corner over the face: the true sweep reaches the corner's circle", () => {
    const gap = gapIndex(mill, [0, 0, 80], [0, 0, 80], block, { axis: 1, centre: [0, 0, 0], angle: 90 });
    expect(gap.distance).toBeCloseTo(80 - Math.hypot(50, 40), 5);
    // The corner (−50, 40) comes to the top at atan(50/40) = 51.34°.
    expect(gap.t).toBeLessThan(51.34 / 90 + 0.1);
  });
  it("a turn that ends before the corner comes up stays farther away", () => {
    // By 10° the corner (−50, 40) is at height 50·sin 10° + 40·cos 10°, off to the side by −50·cos 10° + 40·sin 10°; the tool's rim is at x −5.
    const a = (10 * Math.PI) / 180;
    const gap = gapIndex(cylinder(60, 0, 100), [0, 0, 80], [0, 0, 80], block, { axis: 1, centre: [0, 0, 0], angle: 10 });
    expect(gap.distance).toBeCloseTo(80 - (50 * Math.sin(a) + 40 * Math.cos(a)), 5);
  });
  it("about C nothing comes higher", () => {
    const gap = gapIndex(mill, [0, 0, 80], [0, 0, 80], block, { axis: 2, centre: [0, 0, 0], angle: 360 });
    expect(gap.distance).toBeCloseTo(40, 6);
  });
  it("retracting while it turns, and meeting when it does not", () => {
    const turn = { axis: 1, centre: [0, 0, 0], angle: 90 } as const;
    expect(gapIndex(mill, [0, 0, 50], [0, 0, 50], block, turn).distance).toBe(0);
    expect(gapIndex(mill, [0, 0, 50], [0, 0, 500], block, turn).distance).toBeGreaterThan(5);
  });
  it("an endless or unknown body gives NaN", () => {
    const endless = boxOf([-50, -10, Number.NEGATIVE_INFINITY], [50, 10, 40]);
    expect(gapIndex(mill, [0, 0, 80], [0, 0, 80], endless, { axis: 1, centre: [0, 0, 0], angle: 90 }).distance).toBeNaN();
    expect(gapIndex(mill, [0, 0, 80], [0, 0, 80], block, { axis: 1, centre: [Number.NaN, 0, 0], angle: 90 }).distance).toBeNaN();
  });
});

describe("where the least is: leaving, entering, alongside (ruling 9)", () => {
  const block = boxOf([0, 0, -10], [20, 10, 0]);
  const mill = cylinder(2, 0, 50);
  it("straight up is leaving", () => expect(gapLine(mill, [10, 5, 1], [10, 5, 80], block).atStart).toBe(true));
  it("sideways at the same height is not, though nothing is nearer than the start", () => {
    const gap = gapLine(mill, [5, 5, 1], [15, 5, 1], block);
    expect(gap.distance).toBeCloseTo(1, 12);
    expect(gap.atStart).toBe(false);
  });
  it("coming down is not", () => {
    const gap = gapLine(mill, [10, 5, 80], [10, 5, 1], block);
    expect(gap.atStart).toBe(false);
    expect(gap.t).toBe(1);
  });
  it("square away from a corner, where the growth begins at nothing, is", () => {
    expect(gapLine(mill, [-3, 0, -5], [-3, -40, -5], block).atStart).toBe(true);
  });
  it("out of a body it stood in: they met at the start, nothing is entered anew", () => {
    expect(gapLine(mill, [10, 5, -5], [10, 5, 80], block).atStart).toBe(true);
    expect(gapLine(mill, [10, 5, 80], [10, 5, -5], block).atStart).toBe(false);
  });
});

describe("degenerate and unknown input", () => {
  const block = boxOf([0, 0, -10], [20, 10, 0]);
  const slab = boxOf([0, 0, Number.NEGATIVE_INFINITY], [20, 10, 0]);
  const line = cylinder(0, 0, Number.POSITIVE_INFINITY);
  it("a line with no width and no end", () => {
    expect(gapLine(line, [-3, 5, -5], [-3, 5, -5], block).distance).toBeCloseTo(3, 12);
    expect(gapLine(line, [10, 5, -50], [10, 5, -50], block).distance).toBe(0);
    expect(gapLine(line, [-3, 14, 5], [-3, 14, 5], block).distance).toBeCloseTo(Math.hypot(3, 4, 5), 12);
  });
  it("a body without thickness: nothing passes beneath it", () => {
    expect(gapLine(cylinder(2, 0, 5), [10, 5, -5000], [10, 5, -5000], slab).distance).toBe(0);
    expect(gapLine(cylinder(2, 0, 5), [25, 5, -5000], [25, 5, -5000], slab).distance).toBeCloseTo(3, 9);
    expect(gapLine(line, [25, 5, -70], [25, 5, 70], slab).distance).toBeCloseTo(5, 9);
  });
  it("such a body lying on its side or askew, with an endless tool", () => {
    // Turned by 90° about Y the body reaches toward −X without end, from x = 0.
    const side = boxOf([-10, -10, Number.NEGATIVE_INFINITY], [10, 10, 0], [0, 0, 0], turned(0, 90, 0));
    expect(gapLine(line, [7, 0, -30], [7, 0, -30], side).distance).toBeCloseTo(7, 9);
    expect(gapLine(line, [-500, 0, 13], [-500, 0, 13], side).distance).toBeCloseTo(3, 9);
    // At 45° the face's normal is (1, 0, 1)/√2: a tool point 10 along +X is 10/√2 away from the face.
    const askew = boxOf([-100, -100, Number.NEGATIVE_INFINITY], [100, 100, 0], [0, 0, 0], turned(0, 45, 0));
    expect(gapLine(line, [10, 0, 0], [10, 0, 0], askew).distance).toBeCloseTo(10 / Math.SQRT2, 9);
    expect(gapLine(line, [-10, 0, 0], [-10, 0, 0], askew).distance).toBe(0);
  });
  it("NaN anywhere gives NaN, never a verdict", () => {
    const n = Number.NaN;
    expect(gapLine(line, [n, 0, 0], [0, 0, 0], block).distance).toBeNaN();
    expect(gapLine(line, [100, 0, 0], [0, n, 0], block).distance).toBeNaN();
    expect(gapLine(cylinder(n, 0, 5), [10, 5, -5], [10, 5, -5], block).distance).toBeNaN();
    expect(gapLine(line, [10, 5, -5], [10, 5, -5], boxOf([0, n, 0], [1, 1, 1])).distance).toBeNaN();
    expect(gapArc(line, { from: [10, 5, -5], to: [10, 5, -5], centre: [n, 0, 0], sweep: 360, plane: 17 }, block).distance).toBeNaN();
    expect(gapArc(line, { from: [10, 5, -5], to: [10, 5, -5], centre: [0, 0, 0], sweep: n, plane: 17 }, block).distance).toBeNaN();
  });
  it("an arc without radius or sweep is the line between its ends", () => {
    const mill = cylinder(1, 0, 20);
    expect(gapArc(mill, { from: [-9, 5, -5], to: [-4, 5, -5], centre: [-9, 5, 0], sweep: 90, plane: 17 }, block).distance).toBeCloseTo(
      3,
      9,
    );
    expect(gapArc(mill, { from: [-9, 5, -5], to: [-4, 5, -5], centre: [0, 5, 0], sweep: 0, plane: 17 }, block).distance).toBeCloseTo(3, 9);
  });
  it("an arc whose end is a little off its circle still ends where it is told", () => {
    const gap = gapArc(cylinder(1, 0, 20), { from: [-14, 5, -5], to: [-4.004, 5, -5], centre: [-9, 5, 0], sweep: 180, plane: 17 }, block);
    expect(gap.distance).toBeCloseTo(3.004, 6);
    expect(gap.at[0]).toBeCloseTo(-4.004, 6);
  });
  it("beyond the cutoff a lower bound is enough, and it is one", () => {
    const gap = gapLine(cylinder(2, 0, 50), [-40, 5, 30], [60, 5, 30], block, 10);
    expect(gap.distance).toBeGreaterThanOrEqual(10);
    expect(gap.distance).toBeLessThanOrEqual(30 + 1e-9);
  });
});
