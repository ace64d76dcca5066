import { describe, expect, it } from "vitest";
import {
  type Arc,
  type ArcFailure,
  arcExtremes,
  arcFromCentre,
  arcFromRadius,
  type CentreArcInput,
  intoPlane,
  isArcFailure,
  outOfPlane,
  type PlanePoint3,
  pointOnArc,
  type RadiusArcInput,
} from "../../server/src/engine/machine/arcs.js";

function good(result: Arc | ArcFailure): Arc {
  if (isArcFailure(result)) throw new Error(`${result.error} ${JSON.stringify(result.data)}`);
  return result;
}

function errorOf(result: Arc | ArcFailure): string {
  return isArcFailure(result) ? result.error : "accepted";
}

/** Largest difference of the radii in millimetres and, for inch programs, 0.0002 inch (NISTIR 6556, 3.5.3.2). */
const MM = 0.002;
const INCH = 0.0002 * 25.4;

function centre(input: Partial<CentreArcInput> & Pick<CentreArcInput, "start" | "end" | "centre">): Arc | ArcFailure {
  return arcFromCentre({ clockwise: true, fullCircleAllowed: true, tolerance: MM, ...input });
}

function radius(input: Partial<RadiusArcInput> & Pick<RadiusArcInput, "start" | "end" | "radius">): Arc | ArcFailure {
  return arcFromRadius({ clockwise: true, tolerance: MM, ...input });
}

describe("planes", () => {
  it("takes the axes in right-handed order (NISTIR 6556, 3.5.2: G17 X Y, G18 Z X, G19 Y Z)", () => {
    expect(intoPlane(17, [1, 2, 3])).toEqual([1, 2, 3]);
    expect(intoPlane(18, [1, 2, 3])).toEqual([3, 1, 2]);
    expect(intoPlane(19, [1, 2, 3])).toEqual([2, 3, 1]);
    for (const plane of [17, 18, 19] as const) expect(outOfPlane(plane, intoPlane(plane, [1, 2, 3]))).toEqual([1, 2, 3]);
  });
});

describe("centre form", () => {
  it("NISTIR 6556, 3.5.3.2: G17 G2 x10 y16 i3 j4 z9 from (7,7) has centre (10,11) and radius 5", () => {
    const arc = good(centre({ start: [7, 7, 9], end: [10, 16, 9], centre: [7 + 3, 7 + 4] }));
    expect(arc.centre).toEqual([10, 11]);
    expect(arc.radius).toBe(5);
    expect(arc.endRadius).toBe(5);
    // Derived by hand from the published rule.
    expect(arc.sweep).toBeCloseTo(-143.130102, 6);
    expect(arc.planeLength).toBeCloseTo(12.490458, 6);
    expect(arc.length).toBe(arc.planeLength);
  });

  it("the same with a start at another height is a helix", () => {
    const arc = good(centre({ start: [7, 7, 4], end: [10, 16, 9], centre: [10, 11] }));
    expect(arc.sweep).toBeCloseTo(-143.130102, 6);
    // √(12.490458² + 5²), by hand.
    expect(arc.length).toBeCloseTo(13.454053, 6);
  });

  it("NISTIR 6556, C.1 n0320: an end point equal to the start is a full circle", () => {
    const arc = good(centre({ start: [32.5, 0, -0.5], end: [32.5, 0, -0.5], centre: [32.5, 2.5] }));
    expect(arc.sweep).toBe(-360);
    expect(arc.radius).toBe(2.5);
    // Published sample, length derived by hand: 5π.
    expect(arc.planeLength).toBeCloseTo(15.708, 3);
  });

  it("NISTIR 6556, C.1: the other arcs of the sample, derived by hand", () => {
    const n0190 = good(centre({ start: [13.5, 0, 0], end: [11, 2.5, 0], centre: [13.5, 2.5], clockwise: false }));
    expect(n0190.sweep).toBeCloseTo(270, 9);
    expect(n0190.planeLength).toBeCloseTo(11.781, 3);
    const n0490 = good(radius({ start: [64, 4, 0], end: [69, 4, 0], radius: 4 }));
    expect(n0490.centre[0]).toBeCloseTo(66.5, 4);
    expect(n0490.centre[1]).toBeCloseTo(0.8775, 4);
    expect(n0490.sweep).toBeCloseTo(-77.3644, 4);
    expect(n0490.planeLength).toBeCloseTo(5.4011, 4);
  });

  it("rounding of sums does not turn a full circle into nothing", () => {
    const arc = good(centre({ start: [0.1 + 0.2, 0, 0], end: [0.3, 0, 0], centre: [10, 0] }));
    expect(arc.sweep).toBe(-360);
  });

  it("a full circle is an error where the dialect has none", () => {
    expect(errorOf(centre({ start: [1, 2, 3], end: [1, 2, 5], centre: [4, 2], fullCircleAllowed: false }))).toBe("end-is-start");
  });

  it("NISTIR 6556, 3.5.3.2: radii may differ by 0.002 mm or 0.0002 inch and not by more", () => {
    const mm = (x: number) => errorOf(centre({ start: [0, 0, 0], end: [x, 0, 0], centre: [10, 0] }));
    expect(mm(20.0019)).toBe("accepted");
    expect(mm(20.0021)).toBe("radii-differ");
    expect(mm(19.9979)).toBe("radii-differ");
    const inch = (x: number) => errorOf(centre({ start: [0, 0, 0], end: [x * 25.4, 0, 0], centre: [25.4, 0], tolerance: INCH }));
    expect(inch(2.00019)).toBe("accepted");
    expect(inch(2.00021)).toBe("radii-differ");
  });

  it("tells both radii and their difference", () => {
    const result = centre({ start: [0, 0, 0], end: [21, 0, 0], centre: [10, 0] });
    expect(result).toEqual({ error: "radii-differ", data: { radius: 10, endRadius: 11, difference: 1, tolerance: MM } });
  });

  it("needs a centre that is not the start", () => {
    expect(errorOf(centre({ start: [0, 0, 0], end: [5, 0, 0], centre: undefined }))).toBe("no-centre");
    expect(errorOf(centre({ start: [0, 0, 0], end: [5, 0, 0], centre: [0, 0] }))).toBe("no-centre");
  });

  it("turns the right way in all quadrants", () => {
    const quarter = (clockwise: boolean, end: PlanePoint3) => good(centre({ start: [5, 0, 0], end, centre: [0, 0], clockwise })).sweep;
    expect(quarter(false, [0, 5, 0])).toBeCloseTo(90, 9);
    expect(quarter(false, [-5, 0, 0])).toBeCloseTo(180, 9);
    expect(quarter(false, [0, -5, 0])).toBeCloseTo(270, 9);
    expect(quarter(true, [0, 5, 0])).toBeCloseTo(-270, 9);
    expect(quarter(true, [-5, 0, 0])).toBeCloseTo(-180, 9);
    expect(quarter(true, [0, -5, 0])).toBeCloseTo(-90, 9);
  });

  it("adds whole turns", () => {
    const arc = good(centre({ start: [5, 0, 0], end: [0, 5, -3], centre: [0, 0], clockwise: false, turns: 3 }));
    expect(arc.sweep).toBeCloseTo(90 + 720, 9);
    // √((5·810°)² + 3²), by hand: 5·14.137167 = 70.685835.
    expect(arc.length).toBeCloseTo(70.749468, 5);
    expect(errorOf(centre({ start: [5, 0, 0], end: [0, 5, 0], centre: [0, 0], turns: 0 }))).toBe("turns-not-whole");
    expect(errorOf(centre({ start: [5, 0, 0], end: [0, 5, 0], centre: [0, 0], turns: 1.5 }))).toBe("turns-not-whole");
  });

  it("an unknown coordinate is no error and no zero", () => {
    const arc = good(centre({ start: [Number.NaN, 0, 0], end: [20, 0, 0], centre: [10, 0] }));
    expect(arc.radius).toBeNaN();
    expect(arc.sweep).toBeNaN();
    expect(arc.length).toBeNaN();
    const unknownLevel = good(centre({ start: [0, 0, Number.NaN], end: [20, 0, 0], centre: [10, 0] }));
    expect(unknownLevel.sweep).toBeCloseTo(-180, 9);
    expect(unknownLevel.length).toBeNaN();
  });
});

describe("radius form", () => {
  it("NISTIR 6556, 3.5.3.1 x10 y15 r20 z5, centres for a start at the origin derived by hand", () => {
    const clockwise = good(radius({ start: [0, 0, 5], end: [10, 15, 5], radius: 20 }));
    expect(clockwise.centre[0]).toBeCloseTo(19.855069, 6);
    expect(clockwise.centre[1]).toBeCloseTo(-2.403379, 6);
    const counter = good(radius({ start: [0, 0, 5], end: [10, 15, 5], radius: 20, clockwise: false }));
    expect(counter.centre[0]).toBeCloseTo(-9.855069, 6);
    expect(counter.centre[1]).toBeCloseTo(17.403379, 6);
  });

  it("NISTIR 6556, Table 10: g2 x0 r7.01 z0.5 from (3,1,0) is ARC_FEED(0, 1, 1.5000, 7.8476, -1, 0.5)", () => {
    const arc = good(radius({ start: [3, 1, 0], end: [0, 1, 0.5], radius: 7.01 }));
    expect(arc.centre[0]).toBeCloseTo(1.5, 4);
    expect(arc.centre[1]).toBeCloseTo(7.8476, 4);
    // Derived by hand from the published transcript; the sweep is 2·asin(1.5 / 7.01).
    expect(arc.sweep).toBeCloseTo(-24.711389, 6);
    expect(arc.planeLength).toBeCloseTo(3.023379, 6);
    expect(arc.length).toBeCloseTo(3.064444, 6);
  });

  it("the sign of R chooses the side (rule of 3.5.3.1, numbers by hand)", () => {
    const short = good(radius({ start: [0, 0, 0], end: [10, 0, 0], radius: 10 }));
    expect(short.centre[1]).toBeCloseTo(-8.660254, 6);
    expect(short.sweep).toBeCloseTo(-60, 9);
    const long = good(radius({ start: [0, 0, 0], end: [10, 0, 0], radius: -10 }));
    expect(long.centre[1]).toBeCloseTo(8.660254, 6);
    expect(long.sweep).toBeCloseTo(-300, 9);
  });

  it("a chord longer than the diameter by the tolerance is a semicircle, by more an error", () => {
    const arc = good(radius({ start: [0, 0, 0], end: [20.0019, 0, 0], radius: 10 }));
    expect(arc.sweep).toBeCloseTo(-180, 6);
    expect(arc.centre).toEqual([10.00095, 0]);
    expect(radius({ start: [0, 0, 0], end: [20.0021, 0, 0], radius: 10 })).toEqual({
      error: "radius-too-small",
      data: { radius: 10, chord: 20.0021, least: 10.00105 },
    });
    expect(errorOf(radius({ start: [0, 0, 0], end: [1, 0, 0], radius: 0 }))).toBe("radius-too-small");
  });

  it("an end point equal to the start is an error (3.5.3.1)", () => {
    expect(errorOf(radius({ start: [0, 0, 0], end: [0, 0, 4], radius: 5 }))).toBe("end-is-start");
  });

  it("marks the ranges that 3.5.3.1 calls bad: 165° to 195° and over 345°", () => {
    // Chord of a circle of radius 10 that spans the angle: 20·sin(angle/2).
    const marked = (angle: number, sign: 1 | -1) =>
      good(radius({ start: [0, 0, 0], end: [20 * Math.sin((angle * Math.PI) / 360), 0, 0], radius: sign * 10 })).illConditioned;
    expect(marked(164, 1)).toBeUndefined();
    expect(marked(166, 1)).toBe("semicircle");
    expect(marked(166, -1)).toBe("semicircle"); // 194°
    expect(marked(164, -1)).toBeUndefined(); // 196°
    expect(marked(16, -1)).toBeUndefined(); // 344°
    expect(marked(14, -1)).toBe("near-full"); // 346°
  });

  it("an unknown radius is no error", () => {
    const arc = good(radius({ start: [0, 0, 0], end: [10, 0, 0], radius: Number.NaN }));
    expect(arc.centre[1]).toBeNaN();
    expect(arc.length).toBeNaN();
  });
});

describe("points and extremes", () => {
  it("walks a helix evenly", () => {
    const arc = good(centre({ start: [5, 0, 0], end: [-5, 0, -4], centre: [0, 0], clockwise: false }));
    const half = pointOnArc(arc, 0.5);
    expect(half[0]).toBeCloseTo(0, 9);
    expect(half[1]).toBeCloseTo(5, 9);
    expect(half[2]).toBe(-2);
    expect(pointOnArc(arc, 1)).toEqual([-5, 0, -4]);
  });

  it("spreads a difference of the radii over the arc", () => {
    // From radius 10 to radius 10.0018 over half a turn: 10.0009 half way, by hand.
    const arc = good(centre({ start: [0, 0, 0], end: [20.0018, 0, 0], centre: [10, 0], clockwise: false }));
    expect(pointOnArc(arc, 0.5)[1]).toBeCloseTo(-10.0009, 9);
  });

  it("knows the box of arcs by hand", () => {
    const box = (start: PlanePoint3, end: PlanePoint3, clockwise: boolean) =>
      arcExtremes(good(centre({ start, end, centre: [10, 20], clockwise })));
    // A quarter without a quadrant point inside it, from 0° to 90°.
    expect(box([15, 20, 1], [10, 25, 3], false)).toEqual({ min: [10, 20, 1], max: [15, 25, 3] });
    // The other three quarters reach every quadrant point.
    expect(box([15, 20, 1], [10, 25, 3], true)).toEqual({ min: [5, 15, 1], max: [15, 25, 3] });
    // From 3-4-5 at 53° over 90° to the mirror point at 127°: only the top is passed.
    expect(box([13, 24, 0], [7, 24, 0], false)).toEqual({ min: [7, 24, 0], max: [13, 25, 0] });
    expect(box([13, 24, 0], [7, 24, 0], true)).toEqual({ min: [5, 15, 0], max: [15, 24, 0] });
    expect(box([13, 24, 0], [13, 24, 0], true)).toEqual({ min: [5, 15, 0], max: [15, 25, 0] });
  });

  it("knows nothing of an unknown arc", () => {
    const { min, max } = arcExtremes({ start: [0, 0, 1], end: [1, 1, 2], centre: [Number.NaN, 0], sweep: Number.NaN });
    expect([min[0], min[1], max[0], max[1]]).toEqual([Number.NaN, Number.NaN, Number.NaN, Number.NaN]);
    expect([min[2], max[2]]).toEqual([1, 2]);
  });
});
