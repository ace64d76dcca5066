import { describe, expect, it } from "vitest";
import { diagnoseOffset, diagnosisMessages } from "../../server/src/engine/fixture/diagnose.js";
import type { AxisValues, Fixture } from "../../server/src/engine/fixture/model.js";
import { expectedStored, offsetDifference } from "../../server/src/engine/fixture/offsets.js";
import { load, plate, tombstone } from "../cases/fixtures/samples.js";

/** Stations A1 … A6 at columns 1, 4, 7 and rows 1, 5; the part zero of A1 is at (−850, −405, −395), by hand as in the contract's example. */
function grid(more: object = {}, base: object = {}): Fixture {
  const sample = plate();
  Object.assign((sample.bases as Record<string, object>).plate ?? {}, base);
  const [one] = sample.stations;
  sample.stations = [{ ...one, repeat: { columns: 3, rows: 2, step: [3, 4] } }];
  (sample.parts as { bracket: { ops: { op10: object } } }).bracket.ops.op10 = {
    stock: { u: 41, v: 60, w: 30 },
    zero: { u: "fixedJaw", v: "low", w: "top" },
    finishedTop: 27,
  };
  return load({ ...sample, ...more });
}

function why(f: Fixture, station: number, stored: AxisValues) {
  const s = f.stations[station];
  if (s === undefined) throw new Error("the station is there");
  const { key, args } = diagnoseOffset(f, s, stored);
  const template = diagnosisMessages[key];
  expect(template, key).toBeDefined();
  for (const m of (template ?? "").matchAll(/\{(\w+)\}/g)) expect(args).toHaveProperty(m[1] ?? "");
  const axes = args.axes;
  return { key, args, axes: typeof axes === "object" && "list" in axes ? axes.list.join("") : "" };
}

describe("why a stored offset differs", () => {
  const f = grid();
  it("the right value has nothing to explain", () => {
    expect(why(f, 0, { X: -850, Y: -405, Z: -395 })).toMatchObject({ key: "none", axes: "" });
    expect(why(f, 0, { X: -850.015, Y: -405, Z: -395.04 })).toMatchObject({ key: "none", axes: "" });
  });
  it.each([
    [{ X: -800, Y: -405, Z: -395 }, "pitch-x", { x: 1, y: 0 }, "X"],
    [{ X: -900, Y: -405, Z: -395 }, "pitch-x", { x: -1, y: 0 }, "X"],
    [{ X: -850, Y: -305, Z: -395 }, "pitch-y", { x: 0, y: 2 }, "Y"],
    [{ X: -750.01, Y: -355, Z: -395 }, "pitch-xy", { x: 2, y: 1 }, "XY"],
    [{ X: -800 }, "pitch-x", { x: 1, y: 0 }, "X"],
    [{ X: -700, Y: -405, Z: -395 }, "station-pitch-x", { station: "A2", x: 3 }, "X"],
    [{ X: -550, Y: -205, Z: -395 }, "station-pitch-xy", { station: "A6", x: 6, y: 4 }, "XY"],
    [{ X: -405, Y: -850, Z: -395 }, "swapped", {}, "XY"],
    [{ X: 850, Y: -405, Z: -395 }, "sign", {}, "X"],
    [{ X: 850, Y: 405, Z: 395 }, "sign", {}, "XYZ"],
    // 850 mm = 33.4646 in, 405 mm = 15.9449 in, 395 mm = 15.5512 in (25.4 mm per inch).
    [{ X: -33.4646, Y: -15.9449, Z: -15.5512 }, "inch-for-mm", {}, "XYZ"],
    [{ X: -21590, Y: -10287, Z: -10033 }, "mm-for-inch", {}, "XYZ"],
    [{ X: -850, Y: -405, Z: -425 }, "z-at-seat", { should: "top" }, "Z"],
    [{ X: -850, Y: -405, Z: -398 }, "z-at-finished-top", {}, "Z"],
    [{ X: -850, Y: -405, Z: -450 }, "z-at-face", {}, "Z"],
    [{ X: -850, Y: -384.5, Z: -395 }, "zero-at", { u: "centre", v: "low" }, "Y"],
    [{ X: -850, Y: -405, Z: 55 }, "z-from-base", { from: "plate" }, "Z"],
    [{ X: -842.3, Y: -405, Z: -395 }, "none", {}, "X"],
  ] as [AxisValues, string, object, string][])("%j: %s", (stored, key, args, axes) => {
    const told = why(f, 0, stored);
    expect(told).toMatchObject({ key, axes });
    expect(told.args).toMatchObject(args);
  });
  it("of two slips the one that explains more is told, with its axes", () => {
    expect(why(f, 0, { X: -700, Y: -405, Z: -388.8 })).toMatchObject({ key: "station-pitch-x", axes: "X" });
  });
  it("seat for top where the part zero is the seat", () => {
    const g = grid({ stations: [{ ...plate().stations[0], zero: { w: "seat" } }] });
    expect(why(g, 0, { X: -850, Y: -405, Z: -395 })).toMatchObject({ key: "z-at-top", axes: "Z" });
  });
  it("skew ignored, or taken the wrong way round", () => {
    const g = grid({}, { skew: 0.1, zero: { X: -700, Y: -450, Z: -400 } });
    // The contract's example: −620.11357, −384.86047 with the skew, −620, −385 without.
    expect(why(g, 0, { X: -620.114, Y: -384.86, Z: -345 })).toMatchObject({ key: "none", axes: "" });
    expect(why(g, 0, { X: -620, Y: -385, Z: -345 })).toMatchObject({ key: "skew", axes: "XY" });
    // X = −700 + 80·cos 0.1° + 65·sin 0.1° = −619.88667, Y = −450 − 80·sin 0.1° + 65·cos 0.1° = −385.13973.
    expect(why(g, 0, { X: -619.8867, Y: -385.1397, Z: -345 })).toMatchObject({ key: "skew-reversed" });
    // One pitch along the skewed columns: 50·cos 0.1° = 49.99992, 50·sin 0.1° = 0.08727.
    expect(why(g, 0, { X: -570.1137, Y: -384.7732, Z: -345 })).toMatchObject({ key: "pitch-x", axes: "XY" });
  });
  it("trim left out or counted twice", () => {
    const g = grid({ offsets: { trim: { "G54.1 P1": { X: 0.05, Z: -0.2 } } } });
    expect(why(g, 0, { X: -849.95, Y: -405, Z: -395.2 })).toMatchObject({ key: "none", axes: "" });
    expect(why(g, 0, { X: -850, Y: -405, Z: -395 })).toMatchObject({ key: "trim-missing", axes: "XZ" });
    expect(why(g, 0, { X: -849.9, Y: -405, Z: -395.4 })).toMatchObject({ key: "trim-twice", axes: "XZ" });
  });
  it("the common shift counted twice", () => {
    const g = grid({ offsets: { commonShift: { X: 12, Z: -3 } } });
    expect(why(g, 0, { X: -862, Y: -405, Z: -392 })).toMatchObject({ key: "none", axes: "" });
    expect(why(g, 0, { X: -850, Y: -405, Z: -395 })).toMatchObject({ key: "shift-twice", axes: "XZ" });
  });
  it("Z counted from the wrong thing", () => {
    const g = grid({ offsets: { zFrom: { base: "plate" } } });
    expect(why(g, 0, { Z: 55 })).toMatchObject({ key: "none", axes: "" });
    expect(why(g, 0, { X: -850, Y: -405, Z: -395 })).toMatchObject({ key: "z-from-machine", axes: "Z" });
    const h = grid({ offsets: { zFrom: { station: "A2" } } });
    expect(why(h, 0, { Z: 0 })).toMatchObject({ key: "none", axes: "" });
    expect(why(h, 0, { Z: 55 })).toMatchObject({ key: "z-from-base", axes: "Z" });
  });
  it("the rotary value", () => {
    const t = load(tombstone());
    const xyz = { X: t.stations[1]?.computed.X, Y: t.stations[1]?.computed.Y, Z: t.stations[1]?.computed.Z };
    expect(why(t, 1, { ...xyz, rotary: 180 })).toMatchObject({ key: "rotary-face", axes: "B" });
    expect(why(t, 1, { ...xyz, rotary: 360 })).toMatchObject({ key: "none", axes: "" });
    const held = load(tombstone(true));
    expect(why(held, 1, { ...xyz, rotary: 0 })).toMatchObject({ key: "rotary-zero" });
    expect(why(held, 1, { ...xyz, rotary: -180 })).toMatchObject({ key: "none", axes: "" });
    expect(why(held, 0, { ...xyz, X: -520, rotary: 180 }).key).toBe("rotary-base");
  });
  it("unknown values are not judged", () => {
    expect(why(f, 0, { X: Number.NaN, Y: -405 })).toMatchObject({ key: "none", axes: "" });
    expect(why(f, 0, {})).toMatchObject({ key: "none", axes: "" });
  });
});

describe("what an offset must hold", () => {
  it("position − common shift − reference (contract ruling 16)", () => {
    const f = grid({ offsets: { commonShift: { X: 12, Z: -3 }, zFrom: { base: "plate" } } });
    const s = f.stations[0];
    if (s === undefined) throw new Error("the station is there");
    expect(expectedStored(f, s)).toEqual({ X: -862, Y: -405, Z: 58 });
    expect(offsetDifference(f, s, { X: -861, Y: -405 })).toEqual({ X: 1, Y: 0 });
  });
});
