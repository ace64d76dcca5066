/**
 * The swing of the work with a coordinate that is not known, and the registers that a comment names: what mutation testing found
 * nobody looking at. Expectations by hand from the sample fixtures and the catalogue.
 */
import { describe, expect, it } from "vitest";
import { type Setup, tell } from "../support/tell.js";

describe("the swing with a place that is not known along the axis", () => {
  /** The tombstone about A: its axis 60 behind the part zero, the circle of the corners √(200² + 100²) = 223.607 about it. */
  const A: Setup = {
    use: "tombstone",
    change: (s) => {
      (s.machine as Record<string, unknown>).rotary = { axis: "A", centre: { Y: -375, Z: -650 }, sense: 1 };
    },
  };
  const unknown = (...lines: string[]): string[] =>
    tell("retract-before-index", A, [
      "G21 G17 G40 G49 G80 G90",
      "T1 M6",
      "G0 A0",
      "G54 X10 Y10 S4000 M3",
      "G43 H1 Z50",
      ...lines,
    ]).analysis.notChecked.flatMap(({ what, why }) => (what.key.endsWith("what.index") && what.args.line === 7 ? [why.key] : []));

  it("counts beside the axis where it is known", () => {
    // The tool 340 before the axis, with a holder of no more than 31.5 about it: out of 223.607 + 25 wherever it stands along A.
    expect(unknown("G0 X#500 Y400 Z20", "A180")).toEqual([]);
    expect(unknown("G0 X#500 Y20 Z20", "A180")).toEqual(["why.position-unknown"]);
    expect(unknown("G0 X10 Y#500 Z20", "A180")).toEqual(["why.position-unknown"]);
  });
});

describe("a comment above a G10 line", () => {
  /** The two stations on additional offsets of two digits, from P12 on. */
  const TWELVE: Setup = {
    use: "two-stations",
    change: (s) => {
      s.stations = (s.stations as object[]).map((station) => ({ ...station, offset: "G54.1 P12" }));
    },
  };
  const said = (setup: Setup, ...lines: string[]): readonly string[] =>
    tell("offset-register", setup, ["G21 G17 G40 G49 G80 G90", ...lines, "M30"]).texts;

  it("names the register also by two digits, and only where it says nothing else", () => {
    // L20 P1 is the first additional offset, not the twelfth.
    expect(said(TWELVE, "(G54.1 P12)", "G10 L20 P1 X-520. Y-385. Z-345.").map((t) => t.replace(/\(.*/, ""))).toEqual([
      '3 "L20 P1" comment',
    ]);
    expect(said(TWELVE, "(G54.1 P12)", "G10 L20 P12 X-520. Y-385. Z-345.")).toEqual([]);
    expect(said(TWELVE, "(LIKE G54.1 P12)", "G10 L20 P1 X-520. Y-385. Z-345.")).toEqual([]);
    // Nothing stands above the first line of a file.
    expect(tell("offset-register", TWELVE, ["G10 L20 P12 X-520. Y-385. Z-345.", "M30"]).texts).toEqual([]);
  });
});

describe("down under a new offset before X and Y are named", () => {
  /** The part zero on the seat, 30 below the top of the stock. */
  const SEAT: Setup = {
    use: "two-stations",
    change: (s) => {
      const op = (s.parts as { bracket: { ops: { op10: { zero: { w: string } } } } }).bracket.ops.op10;
      op.zero.w = "seat";
    },
  };
  const said = (z: number): readonly string[] =>
    tell("approach-stale-axis", SEAT, [
      "G21 G17 G40 G49 G80 G90",
      "T1 M6",
      "G0 G54 X10 Y20 S4000 M3",
      "G43 H1 Z80",
      "G1 Z27 F500",
      "G0 Z80",
      "G55",
      `G0 Z${z}`,
      "X12 Y20",
      "G1 Z27",
      "G0 Z80",
      "G28 G91 Z0",
      "M30",
    ]).texts.map((t) => t.replace(/\(.*/, ""));

  it("counts from the top of the stock and the clearance of rapids on, wherever the part zero is", () => {
    // 30 and 2 above the seat a rapid is above everything, and the axes may still come.
    expect(said(32)).toEqual([]);
    expect(said(31.9)).toEqual(['7 "G55" default']);
    expect(said(25)).toEqual(['7 "G55" default']);
  });
});
