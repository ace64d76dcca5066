import { describe, expect, it } from "vitest";
import type { Fixture } from "../../server/src/engine/fixture/model.js";
import { isPresented, pointLength, solidAt, swingRadius, toolStack, turnedFrame } from "../../server/src/engine/fixture/solids.js";
import { bounds } from "../../server/src/engine/geometry/box.js";
import { compose, directionToOuter, toOuter } from "../../server/src/engine/geometry/frame.js";
import { load, plate, tombstone } from "../cases/fixtures/samples.js";

function turning(axis: string, centre: object, zero: object, face: number, sense: number): Fixture {
  const sample = plate();
  sample.machine = { rotary: { axis, centre, sense } };
  sample.bases = { plate: { pitch: 50, columns: 4, rows: 4, zero, face, thickness: 40, border: 60 } };
  return load(sample);
}

/** Where the origin of the base is when the axis reads θ: the body's frame stands there. */
function originAt(f: Fixture, reading: number) {
  const body = f.bases[0]?.body;
  return body === undefined ? [] : solidAt(f, body, reading).frame.origin;
}

describe("a base that is not presented", () => {
  it("the example of contract ruling 3: B, centre X −500 Z −600, face 90", () => {
    const f = turning("B", { X: -500, Z: -600 }, { X: -600, Y: -450, Z: -350 }, 90, 1);
    const body = f.bases[0]?.body;
    if (body === undefined) throw new Error("the base is there");
    const at = solidAt(f, body, 0);
    expect(at.frame.origin).toEqual([-250, -450, -500]);
    expect(directionToOuter(at.frame, [0, 0, 1])).toEqual([1, 0, 0]);
    expect(solidAt(f, body, 90)).toBe(body.placed);
    expect(solidAt(f, body, -270)).toBe(body.placed);
  });

  // Rotation of (−350, −200, −500) about B's centre (−400, ·, −650): literal results computed outside the project
  // (general-purpose geometry libraries and by hand), four decimals. The body turned by +θ, and by −θ as on a table
  // whose axis is named after ISO 841 (NISTIR 6556 §2.1.2.2: a positive table looks clockwise to who stands beside).
  const table: [number, number[], number[]][] = [
    [90, [-250, -200, -700], [-550, -200, -600]],
    [180, [-450, -200, -800], [-450, -200, -800]],
    [270, [-550, -200, -600], [-250, -200, -700]],
    [45, [-258.5786, -200, -579.2893], [-470.7107, -200, -508.5786]],
    [30, [-281.6987, -200, -545.0962], [-431.6987, -200, -495.0962]],
    [12.5, [-318.7193, -200, -514.3776], [-383.6511, -200, -492.7336]],
  ];
  it.each(table)("B %d°, both senses", (reading, plus, minus) => {
    const zero = { X: -350, Y: -200, Z: -500 };
    const iso = turning("B", { X: -400, Z: -650 }, zero, 0, 1);
    const other = turning("B", { X: -400, Z: -650 }, zero, 0, -1);
    for (const [i, v] of originAt(iso, reading).entries()) expect(v).toBeCloseTo(minus[i] ?? Number.NaN, 4);
    for (const [i, v] of originAt(other, reading).entries()) expect(v).toBeCloseTo(plus[i] ?? Number.NaN, 4);
  });

  // Pure rotation of (100, 50, 200) about the origin by +θ, confirmed outside the project four ways; sense −1 turns by +θ.
  it.each([
    [90, [200, 50, -100]],
    [-90, [-200, 50, 100]],
    [180, [-100, 50, -200]],
    [45, [212.132034, 50, 70.710678]],
    [30, [186.60254, 50, 123.205081]],
  ])("(100, 50, 200) about B by %d°", (angle, expected) => {
    const f = turning("B", { X: 0, Z: 0 }, { X: 100, Y: 50, Z: 200 }, 0, -1);
    for (const [i, v] of originAt(f, angle).entries()) expect(v).toBeCloseTo(expected[i] ?? Number.NaN, 6);
  });

  // By hand, right-handed +90°: A takes Y to Z, C takes X to Y.
  it("A uses Y and Z, C uses X and Y", () => {
    const a = turning("A", { Y: 10, Z: 20 }, { X: 5, Y: 11, Z: 20 }, 0, -1);
    expect(originAt(a, 90)).toEqual([5, 10, 21]);
    const c = turning("C", { X: 10, Y: 20 }, { X: 11, Y: 20, Z: 5 }, 0, -1);
    expect(originAt(c, 90)).toEqual([10, 21, 5]);
    expect(originAt(turning("C", { X: 10, Y: 20 }, { X: 11, Y: 20, Z: 5 }, 0, 1), 90)).toEqual([10, 19, 5]);
    // Off the centre in both: (1, 2) goes to (−2, 1).
    expect(originAt(turning("A", { Y: 10, Z: 20 }, { X: 5, Y: 11, Z: 22 }, 0, -1), 90)).toEqual([5, 8, 21]);
    expect(originAt(turning("C", { X: 10, Y: 20 }, { X: 11, Y: 22, Z: 5 }, 0, -1), 90)).toEqual([8, 21, 5]);
  });

  it("a quarter only swaps and negates; skew turns before the rotary axis does", () => {
    const sample = tombstone();
    Object.assign((sample.bases as Record<string, object>).back ?? {}, { skew: 0.2 });
    const f = load(sample);
    const back = f.bases[1];
    if (back === undefined) throw new Error("the base is there");
    const at = compose(turnedFrame(f, back, 0), back.frame);
    // 180° about B: X and Z are negated about the centre, Y stays.
    expect(at.x[0]).toBe(-back.frame.x[0]);
    expect(at.x[1]).toBe(back.frame.x[1]);
    expect(at.z).toEqual([0, 0, -1]);
    expect(isPresented(f, back, -180)).toBe(true);
    expect(isPresented(f, back, 179.999)).toBe(false);
    expect(isPresented(f, back, Number.NaN)).toBe(false);
  });

  it("an unknown reading or centre gives unknown places, never the presented ones", () => {
    const f = load(tombstone());
    const body = f.bases[0]?.body;
    if (body === undefined) throw new Error("the base is there");
    expect(solidAt(f, body, Number.NaN).frame.origin[0]).toBeNaN();
    const g = load({ ...tombstone(), machine: { rotary: { axis: "B" } } });
    const other = g.bases[0]?.body;
    if (other === undefined) throw new Error("the base is there");
    expect(solidAt(g, other, 90).frame.origin[0]).toBeNaN();
    expect(solidAt(g, other, 0)).toBe(other.placed);
  });

  it("obstacles stand in the machine, or turn with their base", () => {
    const box = { from: [0, 0, 0], to: [10, 10, 10] };
    const f = load({
      ...tombstone(),
      obstacles: [
        { name: "probe", base: null, box },
        { name: "riser", base: "front", box },
      ],
    });
    const [fixed, riding] = f.obstacles;
    if (fixed === undefined || riding === undefined) throw new Error("both are there");
    expect(solidAt(f, fixed, 90)).toBe(fixed.placed);
    expect(riding.placed.frame.origin).toEqual([-600, -450, -520]);
    expect(solidAt(f, riding, 180).frame.origin).toEqual([-400, -450, -720]);
  });

  it("stations turn with their base", () => {
    const f = load(tombstone());
    const s = f.stations[1];
    if (s === undefined) throw new Error("the station is there");
    const p = toOuter(compose(turnedFrame(f, s.base, 0), s.frame), s.zero);
    // Presented: (−600 + 80, −450 + 65, −520 + 55); half a turn about (−500, −620).
    expect(p.map((v) => Math.round(v * 1e9) / 1e9)).toEqual([-480, -385, -775]);
  });
});

describe("swing radius", () => {
  it("the farthest corner of any solid on any base, by hand", () => {
    const f = load({ ...tombstone(), stations: [] });
    // Body of either face: x −25 … 225 from −600 → −625 … −375; z −100 … 0 from −520; centre (−500, −620): 125 and 100.
    expect(swingRadius(f)).toBeCloseTo(Math.hypot(125, 100), 9);
    // The moving jaw 42 high stands at w 0 … 42 and x −600 + 50 ± 30; the stock is 55 high over the same x.
    expect(swingRadius(load(tombstone()))).toBeCloseTo(Math.max(Math.hypot(125, 100), Math.hypot(80, 155)), 9);
    expect(swingRadius(load(plate()))).toBeUndefined();
    expect(swingRadius(load({ ...tombstone(), machine: { rotary: { axis: "B" } } }))).toBeNaN();
  });

  it("a body without thickness does not reach beyond the axis once it is turned", () => {
    const sample = tombstone();
    sample.bases = { front: { pitch: 50, columns: 5, rows: 7, zero: { X: -600, Y: -450, Z: -520 } } };
    sample.stations = [];
    const f = load(sample);
    const body = f.bases[0]?.body;
    if (body === undefined) throw new Error("the base is there");
    expect(solidAt(f, body, 0).box.from[2]).toBe(-Infinity);
    expect(solidAt(f, body, 90).box.from[2]).toBe(-100);
    expect(swingRadius(f)).toBeCloseTo(Math.hypot(100, 100), 9);
    // Without a thickness everything below the face is solid (contract ruling 7).
    expect(bounds(body.placed).from[2]).toBe(-Infinity);
    expect(bounds(body.placed).to[2]).toBe(-520);
  });
});

describe("tool stack", () => {
  const none = { DC: undefined, APMX: undefined, LF: undefined, SIG: undefined, shank: undefined, holder: undefined };

  // Drill point length (D/2)/tan(σ/2): 0.2629 in for 7/8 in at 118° is published at rose-training.com/tandp/solution3.htm;
  // the others were worked from the formula outside the project, to six digits.
  it.each([
    [1, 60, 0.866025],
    [1, 82, 0.575184],
    [1, 90, 0.5],
    [1, 118, 0.30043],
    [1, 120, 0.288675],
    [1, 135, 0.207107],
    [1, 140, 0.181985],
    [8.5, 118, 2.55366],
    [6.8, 140, 1.2375],
    [0.875, 118, 0.2629],
  ])("point of D %d at %d° is %d long", (d, sigma, expected) => {
    expect(pointLength(d, sigma)).toBeCloseTo(expected, expected > 1 ? 4 : expected === 0.2629 ? 4 : 6);
  });

  it("end mill with shank and holder", () => {
    const stack = toolStack({
      ...none,
      DC: 16,
      APMX: 32,
      LF: 120,
      SIG: 180,
      shank: { D: 16, L: 50 },
      holder: [
        { D: 40, L: 40 },
        { D: 63, L: 30 },
      ],
    });
    expect(stack.map((p) => [p.part, p.bottomRadius, p.topRadius, p.from, p.to])).toEqual([
      ["cutting", 8, 8, 0, 32],
      ["shank", 8, 8, 32, 50],
      ["holder", 20, 20, 50, 90],
      ["holder", 31.5, 31.5, 90, 120],
    ]);
  });

  it("the point is a part of APMX; without shank DC goes up to LF and there is no holder", () => {
    const stack = toolStack({ ...none, DC: 10, APMX: 40, LF: 90, SIG: 90, holder: [{ D: 40, L: 40 }] });
    expect(stack.map((p) => [p.part, p.bottomRadius, p.topRadius, p.from, p.to])).toEqual([
      ["cutting", 0, 5, 0, 5.000000000000001],
      ["cutting", 5, 5, 5.000000000000001, 90],
    ]);
  });

  it("nothing known: a line with no width, without end", () => {
    expect(toolStack(none)).toEqual([{ part: "cutting", bottomRadius: 0, topRadius: 0, from: 0, to: Infinity }]);
  });

  it("APMX beyond the shank's length ends at the holder", () => {
    const stack = toolStack({ ...none, DC: 10, APMX: 80, LF: 90, shank: { D: 12, L: 50 }, holder: [{ D: 40, L: 40 }] });
    expect(stack.map((p) => [p.part, p.from, p.to])).toEqual([
      ["cutting", 0, 50],
      ["holder", 50, 90],
    ]);
  });
});
