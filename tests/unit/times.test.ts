import { describe, expect, it } from "vitest";
import {
  dwellSeconds,
  type FeedInput,
  feedSeconds,
  indexSeconds,
  pathFeed,
  rapidSeconds,
  restToRestSeconds,
} from "../../server/src/engine/machine/times.js";

describe("from rest to rest", () => {
  // Rule published at tech-champion.com/mathematics/velocity-time-profiles…, example-a.com/answer/52803142 and
  // linearmotiontips.com (trapezoid, or triangle where the distance is short); the numbers are worked by hand from it.
  // Rates are per minute here: 500 mm/s is 30000 mm/min.
  it.each([
    [100, 30000, 5000, 0.3],
    [500, 30000, 5000, 1.1],
    [50, 30000, 5000, 0.2], // the boundary between both forms
    [25, 30000, 5000, 0.141421],
    [300, 36000, 3000, 0.7],
    [10, 30, 0.3, 21.66667], // published problem: 10 m at 0.5 m/s and 0.3 m/s²
  ])("%d at %d/min with %d/s² takes %d s", (distance, rate, acceleration, seconds) => {
    expect(restToRestSeconds(distance, rate, acceleration)).toBeCloseTo(seconds, 5);
  });

  it("two different accelerations: published formula (tech-champion.com), 100 m with 2 and 4 m/s²", () => {
    expect(restToRestSeconds(100, 1e9, 2, 4)).toBeCloseTo(12.24745, 5);
    expect(restToRestSeconds(100, 600, 2, 4)).toBeCloseTo(13.75, 5);
  });

  it("without an acceleration it is distance over rate; direction does not matter", () => {
    expect(restToRestSeconds(-100, 30000, undefined)).toBe(0.2);
  });

  it("an unknown or impossible rate is unknown, unless there is nothing to do", () => {
    expect(restToRestSeconds(100, undefined, 5000)).toBeNaN();
    expect(restToRestSeconds(100, 0, 5000)).toBeNaN();
    expect(restToRestSeconds(100, 30000, 0)).toBeNaN();
    expect(restToRestSeconds(Number.NaN, 30000, 5000)).toBeNaN();
    expect(restToRestSeconds(0, undefined, undefined)).toBe(0);
  });
});

describe("rapids", () => {
  const rates = { X: 30000, Y: 30000, Z: 24000, rotary: 7200 };
  const none = {};

  it("dx 300, dy 400 at 500 mm/s: independent 0.8 s, coordinated 1.0 s (plain arithmetic)", () => {
    const move = { from: [0, 0, 0], to: [300, 400, 0], rates, accelerations: none } as const;
    expect(rapidSeconds({ ...move, mode: "independent" })).toBeCloseTo(0.8, 12);
    expect(rapidSeconds({ ...move, mode: "straight" })).toBeCloseTo(1, 12);
    expect(rapidSeconds({ ...move, mode: "either" })).toBeCloseTo(1, 12);
  });

  it("one axis goes at its own rate in every mode: Z 100 mm at 400 mm/s", () => {
    for (const mode of ["straight", "independent", "either"] as const) {
      expect(rapidSeconds({ from: [0, 0, 0], to: [0, 0, -100], rates, accelerations: none, mode })).toBeCloseTo(0.25, 12);
    }
  });

  it("with accelerations, by the table above: 100 mm at 500 mm/s and 5000 mm/s²", () => {
    const accelerations = { X: 5000, Y: 5000, Z: 5000 };
    const move = { from: [0, 0, 0], to: [60, 80, 0], rates, accelerations } as const;
    expect(rapidSeconds({ ...move, mode: "straight" })).toBeCloseTo(0.3, 9);
    // The slower axis alone: 80/500 + 500/5000, by hand.
    expect(rapidSeconds({ ...move, mode: "independent" })).toBeCloseTo(0.26, 9);
  });

  it("a rotary axis runs beside: 90° at 120°/s", () => {
    const move = { from: [0, 0, 0], to: [300, 400, 0], rotary: 90, rates, accelerations: none } as const;
    expect(rapidSeconds({ ...move, mode: "straight" })).toBeCloseTo(1, 12);
    expect(rapidSeconds({ ...move, mode: "independent" })).toBeCloseTo(0.8, 12);
    expect(rapidSeconds({ ...move, rotary: -180, mode: "straight" })).toBeCloseTo(1.5, 12);
  });

  it("the rate of a moving axis must be known", () => {
    const move = { from: [0, 0, 0], to: [300, 400, 0], accelerations: none } as const;
    for (const mode of ["straight", "independent", "either"] as const) {
      expect(rapidSeconds({ ...move, rates: { X: 30000 }, mode })).toBeNaN();
      expect(rapidSeconds({ ...move, rates: { X: 30000, Y: 30000 }, mode })).toBeGreaterThan(0);
      expect(rapidSeconds({ ...move, rates, to: [Number.NaN, 0, 0], mode })).toBeNaN();
      expect(rapidSeconds({ ...move, rates: { X: 30000, Y: 30000 }, rotary: 5, mode })).toBeNaN();
    }
  });

  it("no motion takes no time", () => {
    expect(rapidSeconds({ from: [1, 2, 3], to: [1, 2, 3], rates: {}, accelerations: {}, mode: "either" })).toBe(0);
  });
});

describe("feeds", () => {
  const g94 = (feed: number, length: number, rotary?: number[]): FeedInput => ({ mode: 94, feed, speed: Number.NaN, length, rotary });

  it("path length over feed (plain arithmetic)", () => {
    expect(feedSeconds(g94(500, 157.0796))).toBeCloseTo(18.84956, 4); // full circle R25
    expect(feedSeconds(g94(300, 5 * Math.PI))).toBeCloseTo(Math.PI, 12); // quarter R10
  });

  it("a feed runs along the helix (NISTIR 6556, 2.1.2.5): R10, one turn, pitch 2, F300", () => {
    expect(feedSeconds(g94(300, 62.863676))).toBeCloseTo(12.572735, 6);
  });

  it("tapping M8x1.25 at 600 rpm from 2 to -20 and back: 44 mm at 750 mm/min, 3.52 s (derived)", () => {
    // midnightcoderlab.com/articles/tapping-basics-feed publishes the 750 mm/min.
    const perRevolution: FeedInput = { mode: 95, feed: 1.25, speed: 600, length: 44 };
    expect(pathFeed(perRevolution)).toBe(750);
    expect(feedSeconds(perRevolution)).toBeCloseTo(3.52, 12);
    expect(feedSeconds(g94(750, 44))).toBeCloseTo(3.52, 12);
  });

  it("G95: 0.2 mm a revolution at 800 rpm is 160 mm/min", () => {
    expect(pathFeed({ mode: 95, feed: 0.2, speed: 800, length: 10 })).toBeCloseTo(160, 9);
    expect(pathFeed({ mode: 95, feed: 0.2, speed: Number.NaN, length: 10 })).toBeNaN();
  });

  it("G93 F2 is half a minute whatever the length (NISTIR 6556, 3.5.19)", () => {
    expect(feedSeconds({ mode: 93, feed: 2, speed: Number.NaN, length: 10 })).toBe(30);
    expect(feedSeconds({ mode: 93, feed: 2, speed: Number.NaN, length: 1000 })).toBe(30);
    expect(pathFeed({ mode: 93, feed: 2, speed: Number.NaN, length: 10 })).toBe(20);
  });

  it("rotary axes (NISTIR 6556, 2.1.2.5): one axis by its angle, several by the root of squares, none beside linear motion", () => {
    expect(feedSeconds(g94(360, 0, [90]))).toBe(15);
    expect(feedSeconds(g94(100, 0, [30, 40]))).toBe(30);
    expect(feedSeconds(g94(100, 50, [30, 40]))).toBe(30);
    expect(feedSeconds(g94(100, 100, [9999]))).toBe(60);
  });

  it("what is not known stays so", () => {
    expect(feedSeconds(g94(Number.NaN, 10))).toBeNaN();
    expect(feedSeconds(g94(0, 10))).toBeNaN();
    expect(feedSeconds(g94(100, Number.NaN))).toBeNaN();
    expect(feedSeconds({ mode: 93, feed: Number.NaN, speed: 1, length: 10 })).toBeNaN();
    expect(feedSeconds(g94(Number.NaN, 0))).toBe(0);
  });
});

describe("dwell and index", () => {
  it("counts in its unit", () => {
    expect(dwellSeconds(500, "ms")).toBe(0.5);
    expect(dwellSeconds(0.5, "s")).toBe(0.5);
    expect(dwellSeconds(-1, "s")).toBeNaN();
    expect(dwellSeconds(Number.NaN, "s")).toBeNaN();
  });

  it("takes the stated time, else the rate: 90° at 360°/min is 15 s (plain arithmetic)", () => {
    expect(indexSeconds(90, 2.5, 360, undefined)).toBe(2.5);
    expect(indexSeconds(-90, undefined, 360, undefined)).toBe(15);
    expect(indexSeconds(90, undefined, undefined, undefined)).toBeNaN();
    expect(indexSeconds(0, 2.5, undefined, undefined)).toBe(0);
    expect(indexSeconds(Number.NaN, undefined, 360, undefined)).toBeNaN();
  });
});
