import { describe, expect, it } from "vitest";
import type { Note } from "../../server/src/engine/findings.js";
import { fixtureAllows } from "../../server/src/engine/fixture/allows.js";
import { angleBetween, turn } from "../../server/src/engine/fixture/angle.js";
import { distanceOf, separation } from "../../server/src/engine/fixture/boxes.js";
import { zTravelOf } from "../../server/src/engine/fixture/checks.js";
import { diagnoseOffset } from "../../server/src/engine/fixture/diagnose.js";
import { discoverFixture, globPattern } from "../../server/src/engine/fixture/discover.js";
import { pathText } from "../../server/src/engine/fixture/gather.js";
import { withEmpty } from "../../server/src/engine/fixture/load.js";
import type { AxisValues, Fixture } from "../../server/src/engine/fixture/model.js";
import { chooseNotch } from "../../server/src/engine/fixture/notch.js";
import { expectedStored, offsetDifference } from "../../server/src/engine/fixture/offsets.js";
import { solidAt, swingRadius, turnedFrame, turningBox, turnOf } from "../../server/src/engine/fixture/solids.js";
import { readOffsetLines } from "../../server/src/engine/fixture/stored.js";
import type { OrientedBox } from "../../server/src/engine/geometry/box.js";
import { compose, type Frame } from "../../server/src/engine/geometry/frame.js";
import { nearest } from "../../server/src/engine/text/nearest.js";
import { hostOf, load, plate, SIDECAR, textAt, tombstone } from "../cases/fixtures/samples.js";
import { boxOf, random, turned } from "../support/solids.js";

/** Tests that mutation testing asked for: each pins down a line that could be broken unseen. Numbers are worked by hand. */

type Sample = ReturnType<typeof plate>;
const NAN = Number.NaN;
const repeat = (columns: number, rows: number, step: number[]) => ({ columns, rows, step });

/** A changed sample: its text and what it loads as. */
function changed(change: (sample: Sample, station: Record<string, unknown>) => void, from: Sample = plate()): { f: Fixture; text: string } {
  const station = from.stations[0];
  if (station === undefined) throw new Error("the sample has a station");
  change(from, station);
  const text = JSON.stringify(from, null, 1);
  return { f: load(text), text };
}

/** Places of a note and its related ones as the text that stands there, white space folded. */
function at(note: Note | undefined, text: string): string[] {
  if (note === undefined) return [];
  return [note.place, ...note.related.map((r) => r.place)].map((p) => textAt(text, p.range).replace(/\s+/g, " ").slice(0, 40));
}

function only(notes: readonly Note[], rule: string): Note {
  const [one, ...rest] = notes.filter((n) => n.rule === rule);
  if (one === undefined || rest.length > 0) throw new Error(`${rule}: ${rest.length + 1} or none`);
  return one;
}

describe("angles", () => {
  it.each([
    [0, 10, 10],
    [350, 10, 20],
    [10, 350, -20],
    [0, 180, 180],
    [0, -180, 180],
    [0, 190, -170],
    [0, 370, 10],
    [720, -10, -10],
    [-90, 270, 0],
  ])("from %d to %d is %d", (from, to, d) => expect(angleBetween(from, to)).toBe(d));
  it("unknown stays unknown", () => expect(angleBetween(0, NAN)).toBeNaN());
  it("quarters are exact, whatever the turn", () => {
    expect([0, 90, 180, 270, 360, -90, -180, 450].map((a) => turn(a))).toEqual([
      { sin: 0, cos: 1 },
      { sin: 1, cos: 0 },
      { sin: 0, cos: -1 },
      { sin: -1, cos: 0 },
      { sin: 0, cos: 1 },
      { sin: -1, cos: 0 },
      { sin: 0, cos: -1 },
      { sin: 1, cos: 0 },
    ]);
    expect(turn(30).sin).toBeCloseTo(0.5, 12);
    expect(turn(-60).cos).toBeCloseTo(0.5, 12);
  });
});

describe("two boxes, by hand", () => {
  const cube = (o: [number, number, number], m = turned(0, 0, 0)) => boxOf([-5, -5, -5], [5, 5, 5], o, m);
  const edge = 5 * Math.SQRT2;
  it("edge over edge, crossing: only the direction square to both edges parts them", () => {
    // Below, a cube on its edge along X; above, one on its edge along Y; 3 between the edges.
    const below = cube([0, 0, 0], turned(45, 0, 0));
    const above = cube([0, 0, 2 * edge + 3], turned(0, 45, 0));
    expect(separation(below, above)).toBeCloseTo(3, 9);
    expect(distanceOf(below, above)).toBeCloseTo(3, 9);
    // The two edges 1 into each other.
    const into = cube([0, 0, 2 * edge - 1], turned(0, 45, 0));
    expect(separation(below, into)).toBeCloseTo(-1, 9);
    expect(distanceOf(below, into)).toBe(0);
  });
  it("the same with both turned and shifted together, any way", () => {
    const r = random(31);
    for (let n = 0; n < 40; n++) {
      const m = turned(360 * r(), 360 * r(), 360 * r());
      const all: Frame = { origin: [9 * r(), -9 * r(), 5 * r()], x: m[0], y: m[1], z: m[2] };
      const moved = (b: OrientedBox): OrientedBox => ({ box: b.box, frame: compose(all, b.frame) });
      // Edges at 20° and −35° in plan, so that no component of their directions is nothing; 3 apart, then 1 into each other.
      const below = moved(cube([0, 0, 0], turned(45, 0, 20)));
      const above = (gap: number) => moved(cube([0, 0, 2 * edge + gap], turned(45, 0, -35)));
      expect(separation(below, above(3))).toBeCloseTo(3, 9);
      expect(distanceOf(below, above(3))).toBeCloseTo(3, 9);
      expect(separation(below, above(-1))).toBeCloseTo(-1, 9);
      expect(distanceOf(above(3), below)).toBeCloseTo(3, 9);
    }
  });
  it("parallel edges, corner to corner, corner to face, face to face", () => {
    expect(distanceOf(cube([0, 0, 0]), cube([13, 14, 0]))).toBeCloseTo(5, 12);
    expect(distanceOf(cube([0, 0, 0]), cube([12, 13, 16]))).toBeCloseTo(7, 12);
    expect(distanceOf(cube([0, 0, 0]), cube([0, 0, 5 + edge + 2], turned(45, 0, 0)))).toBeCloseTo(2, 9);
    expect(distanceOf(cube([0, 0, 0]), cube([0, 0, 12]))).toBeCloseTo(2, 12);
    // An edge beside the end of another: the nearest pair is an end of one and the inside of the other.
    expect(distanceOf(cube([0, 0, 0]), cube([14, 0, 0], turned(0, 0, 45)))).toBeCloseTo(9 - edge, 9);
  });
  it("one in the other, and touching", () => {
    expect(distanceOf(cube([0, 0, 0]), boxOf([-1, -1, -1], [1, 1, 1]))).toBe(0);
    expect(separation(cube([0, 0, 0]), boxOf([-1, -1, -1], [1, 1, 1]))).toBeCloseTo(-6, 12);
    expect(distanceOf(cube([0, 0, 0]), cube([10, 0, 0]))).toBe(0);
    expect(separation(cube([NAN, 0, 0]), cube([0, 0, 0]))).toBeNaN();
  });
});

describe("what the findings say", () => {
  it("register shared: every station, every place, once", () => {
    const { f, text } = changed((s, one) => {
      s.stations.push({ ...one, id: "B", at: [5, 1], offset: "G55" }, { ...one, id: "C", at: [10, 1], offset: "g54 p1" });
    });
    const n = only(f.notes, "fixture-register-shared");
    expect(n.message.args).toEqual({ offset: { list: ["G54.1 P1"] }, stations: { list: ["A", "C"] } });
    expect(at(n, text)).toEqual(['"g54 p1"', '"G54.1 P1"']);
    expect(n.related[0]?.message).toEqual({ key: "related.other", args: { station: { list: ["A"] } } });
    expect(n.data).toEqual({ offsets: ["G54.1 P1"], station: "A", stations: ["A", "C"] });
  });
  it("register shared within one repeat names no other place", () => {
    // P300 is the last register, so nothing follows: here a datum instead.
    const { f, text } = changed((s, one) => {
      one.repeat = repeat(2, 1, [4, 0]);
      s.datums = { "G54 P2": "park" };
    });
    const n = only(f.notes, "fixture-register-shared");
    expect([n.message.key, n.message.args]).toEqual(["datum", { offset: "G54.1 P2", stations: { list: ["A2"] } }]);
    expect(at(n, text)[0]).toBe('"G54.1 P1"');
  });
  it("off grid: a moving jaw beyond the body, by how much, and the worst stands for its entry", () => {
    // Row 8 is at y 400, the body ends at 425; the clamped moving jaw reaches to 111 along u = y: 86 beyond.
    const { f, text } = changed((_, one) => Object.assign(one, { at: [2, 8] }));
    const n = only(f.notes, "fixture-off-grid");
    expect(n.message).toEqual({
      key: "jaw",
      args: { stations: { list: ["A"] }, jaw: "moving jaw", distance: { mm: expect.closeTo(86, 9) }, base: "plate" },
    });
    expect(at(n, text)).toEqual(["[ 2, 8 ]", '"plate"', '"mj60"']);
    expect(n.data).toEqual({ station: "A", stations: ["A"], distance: expect.closeTo(86, 9) });
    // Two entries are two findings; copies of one are one, at the worst.
    const two = changed((s, one) => {
      Object.assign(one, { at: [2, 7], repeat: repeat(1, 2, [0, 1]), movingJaw: undefined, notch: undefined, clamp: "-Y" });
      s.stations.push({ ...plate().stations[0], id: "Z", at: [10, 8], offset: "G54" });
    });
    const jaws = two.f.notes.filter((x) => x.rule === "fixture-off-grid");
    expect(jaws.map((x) => x.message.args.stations)).toEqual([{ list: ["Z"] }]);
  });
  it("off grid: the intersection, its base, and where a repeat leaves", () => {
    const { f, text } = changed((_, one) => Object.assign(one, { at: [14, 1], repeat: repeat(3, 1, [3, 0]) }));
    const n = only(f.notes, "fixture-off-grid");
    expect(n.message).toEqual({
      key: "default",
      args: { stations: { list: ["A3"] }, column: 20, row: 1, base: "plate", columns: 18, rows: 9 },
    });
    expect(at(n, text)).toEqual(['"repeat"', '"plate"']);
    expect(n.data).toEqual({ station: "A3", stations: ["A3"] });
    const two = changed((s, one) => {
      one.at = [20, 1];
      s.stations.push({ ...one, id: "B", at: [1, 20], offset: "G55" });
    });
    expect(two.f.notes.filter((x) => x.rule === "fixture-off-grid").map((x) => at(x, two.text)[0])).toEqual(["[ 20, 1 ]", "[ 1, 20 ]"]);
  });

  // One pitch apart along x: jaws are ±30 wide, the stop of the left one reaches to 92, the parallels of the right one from
  // 70 to 130: 22 is the shortest way out of them, and no other pair is deeper.
  it("overlap: the deepest pair, where, and how deep", () => {
    const { f, text } = changed((s, one) => s.stations.push({ ...one, id: "B", at: [2, 1], offset: "G55" }));
    const n = only(f.notes, "fixture-overlap");
    expect(n.message.args).toEqual({
      first: "A",
      second: "B",
      solid: "parallels",
      solids: "end stop and parallels",
      depth: { mm: expect.closeTo(22, 9) },
      distance: { mm: expect.closeTo(22, 9) },
      loading: { mm: 1 },
    });
    expect(at(n, text)).toEqual(["[ 2, 1 ]", '"A"']);
    expect(n.related.map((r) => r.message)).toEqual([{ key: "related.other", args: { station: "A" } }]);
    expect(n.data).toEqual({ station: "A", pairs: [["A", "B"]], depth: expect.closeTo(22, 9) });
  });
  it("overlap: of several pairs of two entries the worst stands, the others are related", () => {
    // A1, A2 at columns 1 and 4; B1 at 3 meets A2 as above; B2 at 4 stands on A2: 42 is the least size of the moving jaws.
    const { f } = changed((s, one) => {
      one.repeat = repeat(2, 1, [3, 0]);
      s.stations.push({ ...one, id: "B", at: [3, 1], offset: "G54.1 P11", repeat: repeat(2, 1, [1, 0]) });
    });
    const [ab, bb, ...rest] = f.notes.filter((n) => n.rule === "fixture-overlap");
    expect(rest).toEqual([]);
    expect(ab?.message.args).toMatchObject({ first: "A2", second: "B2", depth: { mm: expect.closeTo(42, 9) }, solid: "moving jaw" });
    expect(ab?.data?.pairs).toEqual([
      ["A2", "B1"],
      ["A2", "B2"],
    ]);
    expect(ab?.related.map((r) => r.message.args)).toEqual([{ station: "A2" }, { first: "A2", second: "B1" }]);
    expect(bb?.message.args).toMatchObject({ first: "B1", second: "B2" });
  });
  it("overlap: in whatever order the stations stand", () => {
    const { f } = changed((s, one) => {
      s.stations.push({ ...one, id: "B", at: [10, 1], offset: "G55" }, { ...one, id: "C", at: [2, 1], offset: "G56" });
      s.stations.push({ ...one, id: "D", at: [9, 1], offset: "G57" }, { ...one, id: "E", at: [14, 1], offset: "G58" });
    });
    // A meets C, B meets D; told in the order of the later station.
    expect(f.notes.map((n) => n.data?.pairs)).toEqual([[["A", "C"]], [["B", "D"]]]);
    const back = changed((s, one) => {
      one.at = [10, 1];
      s.stations.push({ ...one, id: "B", at: [11, 1], offset: "G55" });
      s.stations.push({ ...one, id: "C", at: [1, 1], offset: "G56" }, { ...one, id: "D", at: [2, 1], offset: "G57" });
    });
    expect(back.f.notes.map((n) => n.data?.pairs)).toEqual([[["A", "B"]], [["C", "D"]]]);
  });
  it("room to load: the nearest of the neighbour's solids, how near, and how near is allowed", () => {
    const wide = (pitch: number, loading: number, third = false) =>
      changed((s, one) => {
        s.bases = { plate: { pitch: { x: pitch, y: 50 }, columns: 9, rows: 9, zero: { X: -930, Y: -470, Z: -450 }, border: 100 } };
        s.parts = { bracket: { ops: { op10: { stock: { u: 41, v: 100, w: 30 }, zero: { u: "centre", v: "centre", w: "top" } } } } };
        s.movingJaws = { mj60: { gap: 20, increment: 3, stroke: 8, notches: 40, loading, length: 55, width: 60, height: 42 } };
        one.endStop = undefined;
        s.stations.push({ ...one, id: "B", at: [3, 1], offset: "G55" });
        if (third) s.stations.push({ ...one, id: "C", at: [5, 1], offset: "G56" });
      }).f;
    // Stocks 100 wide, 2 pitches apart.
    const n = only(wide(50.4, 1).notes, "fixture-overlap");
    expect(n.message).toMatchObject({
      key: "loading",
      args: { first: "A", solid: "stock", distance: { mm: expect.closeTo(0.8, 9) }, loading: { mm: 1 } },
    });
    expect(n.data?.pairs).toEqual([
      ["A", "B"],
      ["B", "A"],
    ]);
    expect(wide(50.4, 0.8).notes).toEqual([]);
    expect(wide(50.001, 0).notes).toEqual([]);
    expect(wide(50, 0.001).notes).toEqual([]);
    // Three in a row: each pair of neighbours is its own finding.
    expect(wide(50.4, 1, true).notes.map((x) => x.data?.pairs)).toEqual([
      [
        ["A", "B"],
        ["B", "A"],
      ],
      [
        ["B", "C"],
        ["C", "B"],
      ],
    ]);
  });

  it("notch: what is in the jaw, and where else", () => {
    const { f, text } = changed((s, one) => {
      one.notch = 7;
      s.stations.push({ ...one, id: "B", at: [5, 1], offset: "G55" }, { ...one, id: "C", at: [10, 1], offset: "G56", notch: 10 });
    });
    const [seven, ten] = f.notes.filter((n) => n.rule === "fixture-notch");
    expect(seven?.message.args).toEqual({
      stations: { list: ["A", "B"] },
      jaw: "mj60",
      notch: 7,
      last: 39,
      gap: { mm: 41 },
      stock: { mm: 41 },
      tolerance: { mm: 0.3 },
      travel: { mm: 0 },
      valid: { list: [8, 9] },
      best: 8,
    });
    expect(at(seven, text)).toEqual(["7", '"mj60"', "7"]);
    expect(seven?.related.map((r) => r.message)).toEqual([
      { key: "related.jaw", args: {} },
      { key: "related.other", args: { station: { list: ["B"] } } },
    ]);
    expect(ten?.message.args).toMatchObject({ stations: { list: ["C"] }, notch: 10, gap: { mm: 50 } });
  });
  it("near miss: no notch chosen where one would do; a station that is not loaded", () => {
    expect(changed((_, one) => Object.assign(one, { notch: undefined })).f.notes).toEqual([]);
    expect(changed((_, one) => Object.assign(one, { notch: 7, empty: true })).f.notes).toEqual([]);
    expect(changed((_, one) => Object.assign(one, { notch: 39 })).f.notes.map((n) => n.message.key)).toEqual(["default"]);
  });

  const tall = { endStops: { es12: { thickness: 12, length: 30, height: 90 } } };
  it("grip: how much, how much above, one finding for each seat", () => {
    const { f, text } = changed((s, one) => {
      Object.assign(s, tall);
      one.seat = 36.6;
      s.stations.push({ ...one, id: "B", at: [5, 1], offset: "G55" }, { ...one, id: "C", at: [10, 1], offset: "G56", seat: 40 });
    });
    const [low, high] = f.notes.filter((n) => n.rule === "fixture-grip");
    expect(low?.message.args).toMatchObject({
      stations: { list: ["A", "B"] },
      grip: { mm: expect.closeTo(5.4, 9) },
      standing: { mm: expect.closeTo(24.6, 9) },
    });
    expect(at(low, text)).toEqual(["36.6", "36.6"]);
    expect(high?.message.args).toMatchObject({ stations: { list: ["C"] }, grip: { mm: expect.closeTo(2, 9) } });
  });
  it("grip: beside the jaws on either side; a jaw narrower than the other", () => {
    const keys = (change: (s: Sample, one: Record<string, unknown>) => void) =>
      changed((s, one) => {
        one.at = [6, 1];
        change(s, one);
      }).f.notes.flatMap((n) => (n.rule === "fixture-grip" ? [n.message.key] : []));
    expect(keys((_, one) => Object.assign(one, { endStop: { element: "es12", side: "high", at: -30 } }))).toEqual(["beside"]);
    expect(keys((_, one) => Object.assign(one, { endStop: { element: "es12", side: "low", at: 30 } }))).toEqual(["beside"]);
    expect(keys((_, one) => Object.assign(one, { endStop: { element: "es12", side: "low", at: 29 } }))).toEqual([]);
    // Only the moving jaw, 20 wide, is missed.
    expect(
      keys((s, one) => {
        s.movingJaws = { mj60: { gap: 20, increment: 3, stroke: 8, notches: 40, length: 55, width: 20, height: 42 } };
        one.endStop = { element: "es12", side: "low", at: 15 };
      }),
    ).toEqual(["beside"]);
  });

  it("zero mixed: the minority is told, wherever it stands", () => {
    const { f, text } = changed((s, one) => {
      one.zero = { w: "seat" };
      for (const [i, id] of ["B", "C"].entries()) s.stations.push({ ...plate().stations[0], id, at: [5 + 5 * i, 1], offset: `G5${5 + i}` });
    });
    const n = only(f.notes, "fixture-zero-mixed");
    expect(n.message.args).toEqual({
      stations: { list: ["A"] },
      part: "bracket",
      op: "op10",
      axis: "w",
      kind: "seat",
      others: { list: ["B", "C"] },
      other: "top",
    });
    expect(at(n, text)).toEqual(['"seat"', '"top"']);
    expect(n.related[0]?.message.args).toEqual({ other: "top" });
    expect(n.data).toEqual({ station: "A", stations: ["A"] });
  });
  it("zero mixed: numbers are compared in the stock, whatever it stands on", () => {
    const number = (w: number) =>
      changed((s, one) => {
        one.seat = 20;
        s.stations.push({ ...plate().stations[0], id: "B", at: [5, 1], offset: "G55", zero: { w } });
      }).f.notes.filter((n) => n.rule === "fixture-zero-mixed");
    expect(number(30)).toEqual([]);
    expect(number(29).map((n) => n.message.args.kind)).toEqual(["a number"]);
  });

  it("travel: the first place, the farthest value, the limits", () => {
    const { f, text } = changed((s, one) => {
      s.machine = { travel: { X: [-845, 0] } };
      one.at = [1, 1];
      s.stations.unshift({ ...one, id: "B", at: [1, 5], offset: "G55", endStop: { element: "es12", side: "low", at: -33 } });
    });
    // v = −x: B's zero is at v −33, 3 farther along +X: −847, 2 outside; A's −850 is 5 outside.
    const n = only(f.notes, "fixture-travel");
    expect(n.message.args).toEqual({
      stations: { list: ["B", "A"] },
      axis: "X",
      position: { mm: -850 },
      distance: { mm: 5 },
      low: { mm: -845 },
      high: { mm: 0 },
    });
    expect(at(n, text)).toEqual(["[ 1, 5 ]", "[ -845, 0 ]", "[ 1, 1 ]"]);
    const rotary = changed((s) => Object.assign(s, { machine: { ...(s.machine as object), travel: { B: [-120, 120] } } }), tombstone());
    const b = only(rotary.f.notes, "fixture-travel");
    expect(b.message.args).toEqual({ base: "back", angle: { deg: 180 }, low: { deg: -120 }, high: { deg: 120 } });
    expect(at(b, rotary.text)).toEqual(["180", "[ -120, 120 ]"]);
    const s = f.stations[0];
    if (s === undefined) throw new Error("the station is there");
    expect(zTravelOf(f, s, NAN)).toBe(0);
  });
  it("reversible: one finding for each operation, with where it says so", () => {
    const { f, text } = changed((s, one) => {
      const op = { stock: { u: 41, v: 60, w: 30 }, zero: { u: "centre", v: "centre", w: "top" }, reversible: false };
      s.parts = { bracket: { ops: { op10: op, op20: op } } };
      one.endStop = undefined;
      s.stations.push({ ...one, id: "B", at: [5, 1], offset: "G55" }, { ...one, id: "C", at: [10, 1], offset: "G56", op: "op20" });
      s.stations.push({ ...one, id: "D", at: [14, 1], offset: "G57", empty: true });
    });
    const found = f.notes.filter((n) => n.rule === "fixture-reversible");
    expect(found.map((n) => n.message.args)).toEqual([
      { stations: { list: ["A", "B"] }, part: "bracket", op: "op10" },
      { stations: { list: ["C"] }, part: "bracket", op: "op20" },
    ]);
    expect(at(found[0], text)).toEqual(['"A"', "false", '"B"']);
  });
});

describe("why an offset differs: more slips", () => {
  /** A1 … A6 as in the diagnosis tests: A1 at (−850, −405, −395); u = +y, v = −x. */
  const grid = (more: object = {}, others: object[] = []): Fixture => {
    const sample = plate();
    const [one] = sample.stations;
    sample.stations = [{ ...one, repeat: { columns: 3, rows: 2, step: [3, 4] } }, ...others.map((o) => ({ ...one, ...o }))];
    return load({ ...sample, ...more });
  };
  const why = (f: Fixture, stored: AxisValues, station = 0) => {
    const s = f.stations[station];
    if (s === undefined) throw new Error("the station is there");
    const { key, args } = diagnoseOffset(f, s, stored);
    const axes = args.axes;
    return { key, args, axes: typeof axes === "object" && "list" in axes ? axes.list.join("") : "" };
  };
  const f = grid();
  it.each([
    // Part zero at the centre of the stock, at the moving jaw (41 along +y), at the high edge (60 along −x).
    [{ X: -880, Y: -405, Z: -395 }, "zero-at", { u: "fixedJaw", v: "centre" }],
    [{ X: -910, Y: -405, Z: -395 }, "zero-at", { u: "fixedJaw", v: "high" }],
    [{ X: -850, Y: -364, Z: -395 }, "zero-at", { u: "movingJaw", v: "low" }],
    [{ X: -880, Y: -384.5, Z: -395 }, "zero-at", { u: "centre", v: "centre" }],
    [{ X: -910, Y: -364, Z: -395 }, "zero-at", { u: "movingJaw", v: "high" }],
    // As many pitches as the base has columns or rows is no place on it.
    [{ X: 0, Y: -405 }, "pitch-x", { x: 17, y: 0 }],
    [{ X: 50, Y: -405 }, "none", {}],
    [{ X: -850, Y: -5 }, "pitch-y", { x: 0, y: 8 }],
    [{ X: -850, Y: 45 }, "none", {}],
    // One axis alone names no station.
    [{ X: -700 }, "pitch-x", { x: 3, y: 0 }],
    [{ Y: -205 }, "pitch-y", { x: 0, y: 4 }],
    [{ X: -850, Y: -205, Z: -395 }, "station-pitch-y", { station: "A4", x: 0, y: 4 }],
  ] as [AxisValues, string, object][])("%j is %s", (stored, key, args) => {
    const told = why(f, stored);
    expect(told.key).toBe(key);
    expect(told.args).toMatchObject(args);
  });
  it("a station that is no whole pitches away, and one of another height", () => {
    const g = grid({}, [
      { id: "B", at: [10, 1], offset: "G55", zero: { u: "centre" } },
      { id: "C", at: [14, 1], offset: "G56", seat: 30 },
    ]);
    expect(why(g, { X: -400, Y: -384.5, Z: -395 })).toMatchObject({ key: "station", axes: "XY", args: { station: "B" } });
    expect(why(g, { X: -200, Y: -405, Z: -390 })).toMatchObject({ key: "station-pitch-x", axes: "XZ", args: { station: "C", x: 13 } });
    // The place of C with a height of nobody: the place is told, Z is not.
    expect(why(g, { X: -200, Y: -405, Z: -333 })).toMatchObject({ key: "station-pitch-x", axes: "X", args: { station: "C" } });
  });
  it("what the part zero or the reference should be", () => {
    const number = grid({}, []);
    expect(why(number, { Z: -450 }).args.should).toBe("top");
    const w = load({ ...plate(), stations: [{ ...plate().stations[0], zero: { w: 28 } }] });
    // Zero 28 above the seat: Z −450 + 25 + 28 = −397.
    expect(why(w, { X: -850, Y: -405, Z: -425 })).toMatchObject({ key: "z-at-seat", args: { should: { mm: 28 } } });
    expect(why(w, { X: -850, Y: -405, Z: -395 })).toMatchObject({ key: "z-at-top", args: { should: { mm: 28 } } });
    expect(why(f, { Z: 55 }).args).toMatchObject({ from: "plate", should: "the machine datum" });
    expect(why(grid({ offsets: { zFrom: { base: "plate" } } }), { Z: -395 }).args).toMatchObject({ should: "base plate" });
    expect(why(grid({ offsets: { zFrom: { station: "A2" } } }), { Z: -395 }).args).toMatchObject({ should: "station A2" });
    const other = grid({ offsets: { zFrom: { base: "plate" } } }, [{ id: "B", at: [10, 1], offset: "G55", seat: 30 }]);
    // Counted from B's zero (−390) instead of the base: −395 + 390.
    expect(why(other, { Z: -5 })).toMatchObject({ key: "z-from-station", args: { from: "B", should: "base plate" } });
  });
  it("the skew is named", () => {
    const sample = plate();
    sample.bases = { plate: { pitch: 50, columns: 18, rows: 9, zero: { X: -700, Y: -450, Z: -400 }, skew: 0.1, border: 25 } };
    expect(why(load(sample), { X: -620, Y: -385, Z: -345 })).toMatchObject({ key: "skew", args: { skew: { deg: 0.1 } } });
  });
  it("the rotary value under a common shift; a value where nothing turns", () => {
    const held = load({ ...tombstone(true), offsets: { commonShift: { B: 10 } } });
    const xyz = { X: held.stations[1]?.computed.X, Y: held.stations[1]?.computed.Y, Z: held.stations[1]?.computed.Z };
    expect(why(held, { ...xyz, rotary: 170 }, 1)).toMatchObject({ key: "none", axes: "" });
    expect(why(held, { ...xyz, rotary: -10 }, 1)).toMatchObject({ key: "rotary-zero", args: { angle: { deg: 180 } } });
    expect(why(held, { ...xyz, rotary: 77 }, 1)).toMatchObject({ key: "none", axes: "B" });
    const free = load({ ...tombstone(), offsets: { commonShift: { B: 10 } } });
    expect(why(free, { ...xyz, rotary: 170 }, 1)).toMatchObject({ key: "rotary-face", args: { angle: { deg: 180 } } });
    expect(why(f, { X: -850, Y: -405, Z: -395, rotary: 5 })).toMatchObject({ key: "none", axes: "" });
  });
  it("what an unknown reference leaves open is not judged", () => {
    const g = grid({ offsets: { zFrom: { station: "gone" } } });
    expect(why(g, { X: -850, Y: -405, Z: 12 })).toMatchObject({ key: "none", axes: "" });
    expect(why(g, { X: -800, Y: -405, Z: 12 })).toMatchObject({ key: "pitch-x", axes: "X" });
  });
});

describe("offsets with a rotary shift", () => {
  const f = load({ ...tombstone(true), offsets: { commonShift: { Y: 5, B: 10 } } });
  const s = f.stations[1];
  if (s === undefined) throw new Error("the station is there");
  it("expected, difference", () => {
    // The face angle 180 less the shift; X −520, Y −385, Z −465 (see the solids tests) less 5 in Y.
    expect(expectedStored(f, s)).toEqual({ X: -520, Y: -390, Z: -465, rotary: 170 });
    expect(offsetDifference(f, s, { rotary: 171 })).toEqual({ rotary: 1 });
    expect(offsetDifference(f, s, { X: -519, Z: -465 })).toEqual({ X: 1, Z: 0 });
    const flat = load(plate());
    const a = flat.stations[0];
    if (a === undefined) throw new Error("the station is there");
    expect(offsetDifference(flat, a, { X: -850, rotary: 3 })).toEqual({ X: 0 });
  });
});

describe("solids that turn", () => {
  it("without a rotary axis nothing turns; with one by −sense·(θ − β)", () => {
    const still = load(plate());
    const turning = load(tombstone());
    expect(turnOf(still, 90, 30)).toBe(0);
    expect(turnOf(turning, 90, 30)).toBe(60);
    expect(
      turnOf(
        { machine: { ...turning.machine, rotary: { axis: "B", centre: [0, 0, 0], sense: -1, indexSeconds: undefined, inOffset: false } } },
        90,
        30,
      ),
    ).toBe(-60);
  });
  it("along the axis nothing moves, whatever the centre says there", () => {
    for (const [axis, along] of [
      ["A", 0],
      ["B", 1],
      ["C", 2],
    ] as const) {
      const centre: [number, number, number] = [10, 20, 30];
      centre[along] = NAN;
      const machine = { ...load(plate()).machine, rotary: { axis, centre, sense: 1, indexSeconds: undefined, inOffset: false } as const };
      const t = turnedFrame({ machine }, { face: 0 }, 90);
      expect(t.origin[along]).toBe(0);
      expect(t.origin.every((v) => !Number.isNaN(v))).toBe(true);
    }
  });
  it("swing radius about A and C, with an obstacle on a base and one that stands", () => {
    const of = (axis: string, centre: object, obstacles: object[] = []) => {
      const sample = plate();
      sample.machine = { rotary: { axis, centre, sense: 1 } };
      sample.bases = { plate: { pitch: 50, columns: 3, rows: 3, zero: { X: 0, Y: 0, Z: 0 }, thickness: 40, border: 0 } };
      return swingRadius(load({ ...sample, stations: [], obstacles }));
    };
    // The body is 100 × 100 × 40 below Z 0. About A through (y 0, z −100): the top edge y 100, z 0 is the farthest.
    expect(of("A", { Y: 0, Z: -100 })).toBeCloseTo(Math.hypot(100, 100), 9);
    expect(of("B", { X: 20, Z: -100 })).toBeCloseTo(Math.hypot(80, 100), 9);
    expect(of("C", { X: -30, Y: 40 })).toBeCloseTo(Math.hypot(130, 60), 9);
    const post = { name: "post", box: { from: [0, 0, 0], to: [10, 10, 300] } };
    expect(of("B", { X: 20, Z: -100 }, [{ ...post, base: "plate" }])).toBeCloseTo(Math.hypot(20, 400), 9);
    expect(of("B", { X: 20, Z: -100 }, [{ ...post, base: null }])).toBeCloseTo(Math.hypot(80, 100), 9);
    expect(of("C", { X: -30 })).toBeNaN();
  });
});

describe("notch, nearest", () => {
  const jaw = { gap: 20, increment: 3, stroke: 8, notches: 40, loading: 1, reserve: 1, gripped: 41, tolerance: 0.3, chosen: 8 };
  it("the window of valid notches, wide, far out and narrow", () => {
    // Gap 0, 1 per notch, no allowance: travel k − 5 from 0 to 6.
    const wide = { ...jaw, gap: 0, increment: 1, stroke: 6, loading: 0, reserve: 0, tolerance: 0, gripped: 5 };
    expect(chooseNotch(wide)).toMatchObject({ valid: [5, 6, 7, 8, 9, 10, 11], best: 8 });
    expect(chooseNotch({ ...wide, gap: -100, notches: 200 }).valid).toEqual([105, 106, 107, 108, 109, 110, 111]);
    expect(chooseNotch({ ...wide, reserve: 2, loading: 1, tolerance: 0.5 }).valid).toEqual([7, 8]);
    expect(chooseNotch({ ...wide, notches: undefined }).valid).toEqual([5, 6, 7, 8, 9, 10, 11]);
    expect(chooseNotch({ ...wide, gap: 3, gripped: 1 })).toMatchObject({ valid: [0, 1, 2, 3, 4], best: 1 });
  });
  it.each([
    ["ab", ["abc", "ba"], "abc"],
    ["nothc", ["north", "notch"], "notch"],
    ["Seat", ["seat", "Seat"], "Seat"],
    ["seat", ["Seats", "SEAT"], "SEAT"],
    ["xy", ["yx", "zz"], "yx"],
    ["", ["a", "bc"], "a"],
    ["abcd", ["badc", "wxyz"], "badc"],
    ["width", ["wdith", "widt", "wide"], "wdith"],
  ])("%s is nearest in %j to %s", (word, candidates, expected) => expect(nearest(word, candidates)).toBe(expected));
  it("nothing to choose from", () => expect(nearest("a", [])).toBeUndefined());
});

describe("finding the sidecar", () => {
  const find = (files: string[], text: string, options: object = {}) =>
    discoverFixture(hostOf(Object.fromEntries(files.map((f) => [f, "{}"]))), "/shop/jobs/a.nc", text, options);
  it("an empty name in the comment names nothing; the next comment counts", () => {
    expect(find(["/shop/jobs/b.json"], "(FIXTURE: )\n(FIXTURE: b.json)").file).toBe("/shop/jobs/b.json");
  });
  it("a named file that is not there", () => {
    const found = find([], "%\n(FIXTURE: gone.json)");
    expect(found.notes.map((n) => [n.message, n.place.range])).toEqual([
      [
        { key: "discover-missing", args: { name: "gone.json" } },
        { line: 1, column: 10, endLine: 1, endColumn: 19 },
      ],
    ]);
  });
  it("up to the workspace folder, written with or without a slash at its end, and up to the root", () => {
    const above = ["/shop/x.fixture.json"];
    expect(find(above, "", { workspaceFolders: ["/shop/"] }).file).toBe("/shop/x.fixture.json");
    expect(find(above, "", { workspaceFolders: ["/"] }).file).toBe("/shop/x.fixture.json");
    expect(find(["/x.fixture.json"], "", { workspaceFolders: ["/"] }).file).toBe("/x.fixture.json");
    expect(find(["/x.fixture.json"], "", { workspaceFolders: ["/shop"] }).file).toBeUndefined();
    expect(find(above, "", { workspaceFolders: ["/other"] }).file).toBeUndefined();
  });
  it("globs: a comma outside braces, an open brace, dots", () => {
    expect(globPattern("a,b.nc").test("a,b.nc")).toBe(true);
    expect(globPattern("a}b.nc").test("a}b.nc")).toBe(true);
    expect(globPattern("{a,b").test("b")).toBe(true);
    expect(globPattern("a.nc").test("abnc")).toBe(false);
    expect(globPattern("dir/?.nc").test("dir//.nc")).toBe(false);
  });
});

describe("reading and joining files", () => {
  const faults = (text: string, more: Record<string, string> = {}) =>
    load(text, more).notes.map((n) => [n.message.key, n.message.args] as const);
  const base = JSON.stringify(plate(), null, 1);
  it("a path as people read it", () => {
    expect(pathText([])).toBe("the sidecar");
    expect(pathText(["stations", 3, "at", 0])).toBe("stations[3].at[0]");
  });
  it.each([
    ['"seat": 25', '"seat": [1]', "wrong-type", { path: "stations[0].seat", expected: "a number", found: "a list" }],
    ['"seat": 25', '"seat": {}', "wrong-type", { path: "stations[0].seat", expected: "a number", found: "an object" }],
    ['"seat": 25', '"seat": "25"', "wrong-type", { path: "stations[0].seat", expected: "a number", found: '"25"' }],
    ['"seat": 25', '"seat": null', "wrong-type", { path: "stations[0].seat", expected: "a number", found: "null" }],
    ['"clamp": "+Y"', '"clamp": "Y"', "wrong-value", { path: "stations[0].clamp", expected: '"+X", "+Y", "-X", "-Y"', found: '"Y"' }],
    ['"pitch": 50', '"pitch": 0', "too-small", { path: "bases.plate.pitch", bound: "more than 0", found: "0" }],
    ['"columns": 18', '"columns": 0', "too-small", { path: "bases.plate.columns", bound: "at least 1", found: "0" }],
    ['"columns": 18', '"columns": 20000', "too-large", { path: "bases.plate.columns", bound: "at most 10000", found: "20000" }],
    ['"dialect": "iso"', '"dialect": "isso"', "dialect-unknown", { name: "isso", nearest: "iso" }],
    ['"columns": 18', '"columns": 1.5', "wrong-type", { path: "bases.plate.columns", expected: "a whole number", found: "1.5" }],
    ['"pitch": 50', '"pitch": { "x": 50, "y": "60" }', "wrong-type", { path: "bases.plate.pitch.y", expected: "a number", found: '"60"' }],
  ])("%s as %s", (from, to, key, args) => {
    expect(faults(base.replace(from, to))[0]).toEqual([key, args]);
  });
  it("a tool that is no number names the table", () => {
    expect(faults(JSON.stringify({ ...plate(), tools: { T3: { DC: 6 } } }))[0]).toEqual([
      "wrong-key",
      { name: "T3", path: "tools", expected: "a tool number is expected" },
    ]);
  });
  it("lists of the machine are joined, other lists and kinds are replaced; format and units are each file's own", () => {
    const more = JSON.stringify({
      $schema: "x",
      format: 1,
      units: "inch",
      machine: { resident: [9001], programFolders: ["subs"], travel: { Z: [-20, 0] }, dialect: "bare" },
      tools: { "1": { DC: 1, H: [1, 21] } },
    });
    const sample = {
      ...plate(),
      include: ["../lib/more.json"],
      machine: { resident: [9002], programFolders: ["own"], travel: { Z: [-400, 0] }, dialect: { extends: "iso" } },
      tools: { "1": { LF: 100, H: 5 } },
    };
    const f = load(sample, { "/lib/more.json": more });
    expect(f.notes).toEqual([]);
    expect(f.units).toBe("mm");
    expect(f.machine.resident).toEqual([9001, 9002]);
    expect(f.machine.programFolders).toEqual(["/lib/subs", "/shop/own"]);
    expect(f.machine.travel.Z).toEqual([-400, 0]);
    expect(f.machine.profile.name).toContain("iso");
    expect(f.tools.get(1)).toMatchObject({ H: [5], LF: 100 });
    expect(f.tools.get(1)?.DC).toBeCloseTo(25.4, 12);
  });
  it("nothing of the machine given", () => {
    const f = load({ ...plate(), machine: {} });
    expect([f.machine.resident, f.machine.programFolders, f.machine.home, f.machine.travel]).toEqual([[], [], {}, {}]);
  });
  it("a file that is only white space, and a file named twice", () => {
    expect(faults(base.replace('"units": "mm",', '"units": "mm", "include": ["e.json"],'), { "/shop/e.json": " " }).length).toBe(1);
    const twice = load(base.replace('"units": "mm",', '"units": "mm", "include": ["e.json", "e.json"],'), { "/shop/e.json": "{}" });
    expect(twice.dependencies).toEqual([SIDECAR, "/shop/e.json"]);
    expect(twice.notes).toEqual([]);
  });
  it("what is missing at the root is told, one by one", () => {
    expect(faults('{"format": 1, "units": "mm"}').filter(([k]) => k === "missing-key")).toEqual([
      ["missing-key", { path: "the sidecar", name: { list: ["bases"] } }],
      ["missing-key", { path: "the sidecar", name: { list: ["parts"] } }],
      ["missing-key", { path: "the sidecar", name: { list: ["stations"] } }],
    ]);
  });
  it("a misspelt key beside the right one is only unknown", () => {
    expect(faults(base.replace('"seat": 25', '"seat": 25, "seet": 3')).map(([k]) => k)).toEqual(["unknown-key"]);
    const f = load(base.replace('"seat": 25', '"seat": 25, "seet": 3'));
    expect(f.stations.length).toBe(1);
  });
});

describe("loading, in detail", () => {
  it("obstacles: corners in any order, in the machine or on a base; a base that is not there", () => {
    const box = { from: [10, 5, 9], to: [0, 7, -3] };
    const f = load({
      ...plate(),
      obstacles: [
        { name: "probe", base: null, box },
        { name: "riser", base: "plate", box },
      ],
    });
    expect(f.obstacles.map((o) => [o.kind, o.name, o.station, o.base, o.local])).toEqual([
      ["obstacle", "probe", -1, undefined, { from: [0, 5, -3], to: [10, 7, 9] }],
      ["obstacle", "riser", -1, "plate", { from: [0, 5, -3], to: [10, 7, 9] }],
    ]);
    expect(f.obstacles[0]?.placed.frame).toEqual({ origin: [0, 0, 0], x: [1, 0, 0], y: [0, 1, 0], z: [0, 0, 1] });
    expect(f.bases[0]?.body.station).toBe(-1);
    const { f: g, text } = changed((s) => Object.assign(s, { obstacles: [{ name: "riser", base: "plat", box }] }));
    expect(g.obstacles).toEqual([]);
    expect(g.notes.map((n) => n.message)).toEqual([{ key: "missing-reference", args: { kind: "base", name: "plat", nearest: "plate" } }]);
    expect(at(g.notes[0], text)).toEqual(['"plat"']);
  });
  it("tools: holder, reach and stack", () => {
    const holder = [{ D: 40, L: 40 }];
    const f = load({
      ...plate(),
      tools: {
        "1": { DC: 10, APMX: 20, LF: 90, SIG: 90, shank: { D: 12, L: 50 }, holder },
        "2": { DC: 10, shank: { D: 12, L: 50 }, holder: [] },
        "3": { DC: 10, holder },
      },
    });
    expect([1, 2, 3].map((n) => [f.tools.get(n)?.hasHolder, f.tools.get(n)?.reach])).toEqual([
      [true, 50],
      [false, NAN],
      [false, NAN],
    ]);
    expect(f.tools.get(1)?.stack.map((p) => [p.part, p.bottomRadius, p.topRadius, p.from, p.to])).toEqual([
      ["cutting", 0, 5, 0, expect.closeTo(5, 9)],
      ["cutting", 5, 5, expect.closeTo(5, 9), 20],
      ["shank", 6, 6, 20, 50],
      ["holder", 20, 20, 50, 90],
    ]);
  });
  it("spellings: the first that the sidecar uses, stations before datums; a following offset in the manner of the first", () => {
    const f = changed((s, one) => {
      Object.assign(one, { offset: "G54 P7", repeat: repeat(2, 1, [4, 0]) });
      s.datums = { "G54.1 P20": "park" };
      s.offsets = { values: { "G54 P30": { X: 0 } } };
    }).f;
    expect(["P7", "P8", "P20", "P30", "P40"].map((k) => f.offsetName(k as "P7"))).toEqual([
      "G54 P7",
      "G54 P8",
      "G54.1 P20",
      "G54 P30",
      "G54.1 P40",
    ]);
    expect(f.stations.map((s) => s.offsetName)).toEqual(["G54 P7", "G54 P8"]);
  });
  it("two stations of one register are both found by it", () => {
    const f = changed((s, one) => {
      one.sharesOffset = true;
      s.stations.push({ ...one, id: "B", at: [10, 1] });
    }).f;
    expect(f.stationsOf("P1").map((s) => s.id)).toEqual(["A", "B"]);
    expect(f.stationsOf("G59")).toEqual([]);
  });
  it("zFrom says what it is", () => {
    expect(load({ ...plate(), offsets: { zFrom: { base: "plate" } } }).zFrom).toEqual({ kind: "base", base: "plate" });
    expect(load({ ...plate(), offsets: { zFrom: { station: "A" } } }).zFrom).toEqual({ kind: "station", station: "A" });
    expect(load(plate()).zFrom).toEqual({ kind: "machine" });
  });
  it("offsets: two spellings of one register, where the first stands", () => {
    const { f, text } = changed((s) => Object.assign(s, { offsets: { values: { "G54 P1": { X: 1 }, "G54.1 P1": { X: 2 } } } }));
    const n = only(f.notes, "fixture-format");
    expect(n.message).toEqual({ key: "offset-twice", args: { name: "G54.1 P1", other: "G54 P1" } });
    expect(at(n, text)).toEqual(['"G54.1 P1"', '"G54 P1"']);
    const twice = changed((s) => Object.assign(s, { datums: { "G54 P9": "a", "G54.1 P9": "b" } }));
    expect(at(only(twice.f.notes, "fixture-format"), twice.text)).toEqual(['"G54.1 P9"', '"G54 P9"']);
  });
  it("a repeat over an existing name is one finding, and each copy stays known", () => {
    const { f, text } = changed((s, one) => {
      one.repeat = repeat(3, 1, [4, 0]);
      s.stations.push({ ...one, at: [1, 5], offset: "G54.1 P10", repeat: repeat(3, 1, [4, 0]) });
    });
    const n = only(f.notes, "fixture-format");
    expect(n.message).toEqual({ key: "duplicate-id", args: { name: "A1" } });
    expect(at(n, text)).toEqual(['"A"', '"A"']);
    expect(f.unresolved.map((u) => [u.id, u.offset])).toEqual([
      ["A1", "P10"],
      ["A2", "P11"],
      ["A3", "P12"],
    ]);
  });
  it("a series past its end says which station, and where it repeats", () => {
    const { f, text } = changed((_, one) => Object.assign(one, { offset: "G58", repeat: repeat(3, 1, [4, 0]) }));
    const n = only(f.notes, "fixture-format");
    expect(n.message.args).toMatchObject({ station: "A3", count: 3, name: "G58" });
    expect(at(n, text)).toEqual(['"G58"', "{"]);
    const none = changed((_, one) => Object.assign(one, { offset: "G99", repeat: repeat(2, 1, [4, 0]) })).f;
    expect(none.stations.map((s) => [s.id, s.offset])).toEqual([
      ["A1", undefined],
      ["A2", undefined],
    ]);
  });
  it("more stations than a table holds: all entries together", () => {
    // 1998 in one entry and 3 in the next are 2001.
    const { f, text } = changed((s, one) => {
      s.machine = { dialect: "iso" };
      one.repeat = repeat(500, 2, [0, 0]);
      s.stations.push({ ...one, id: "B", repeat: repeat(499, 2, [0, 0]) }, { ...one, id: "C", repeat: repeat(3, 1, [0, 0]) });
    });
    const n = f.notes.filter((x) => x.message.key === "too-many");
    expect(n.map((x) => x.message.args)).toEqual([{ path: "stations[2].repeat", count: 2001, most: 2000 }]);
    expect(at(n[0], text)).toEqual(["{"]);
    expect(f.stations.length).toBe(1998);
    // All of them on one spot: told, with some of the pairs, and soon.
    expect(f.notes.filter((x) => x.rule === "fixture-overlap").map((x) => Object(x.data?.pairs).length)).toEqual([200, 200, 200]);
  });
  it("names that are not there: kind, nearest, place", () => {
    const cases: [string, string, object, string][] = [
      ['"movingJaw": "mj60"', '"movingJaw": "mj6"', { kind: "moving jaw", name: "mj6", nearest: "mj60" }, '"mj6"'],
      ['"element": "es12"', '"element": "es1"', { kind: "end stop", name: "es1", nearest: "es12" }, '"es1"'],
      ['"part": "bracket"', '"part": "braket"', { kind: "part", name: "braket", nearest: "bracket" }, '"braket"'],
      ['"op": "op10"', '"op": "op11"', { kind: "operation of bracket", name: "op11", nearest: "op10" }, '"op11"'],
      ['"base": "plate"', '"base": "pl"', { kind: "base", name: "pl", nearest: "plate" }, '"pl"'],
    ];
    for (const [from, to, args, place] of cases) {
      const text = JSON.stringify(plate(), null, 1).replace(from, to);
      const f = load(text);
      const n = only(f.notes, "fixture-format");
      expect(n.message).toEqual({ key: "missing-reference", args });
      expect(at(n, text)).toEqual([place]);
    }
    const none = load({ ...plate(), endStops: {} });
    expect(none.notes.map((n) => n.message)).toEqual([{ key: "missing-reference-none", args: { kind: "end stop", name: "es12" } }]);
  });
  it("parallels: of the station before those of the operation, each at its place; reversed ones are told once", () => {
    const spans = (own: unknown, ofOp: unknown) =>
      changed((s, one) => {
        one.parallels = own;
        one.repeat = repeat(2, 1, [5, 0]);
        const op = { stock: { u: 41, v: 60, w: 30 }, zero: { u: "fixedJaw", v: "low", w: "top" }, parallels: ofOp };
        s.parts = { bracket: { ops: { op10: op } } };
      });
    const box = (f: Fixture) => f.stations[0]?.solids.filter((x) => x.kind === "parallels");
    const own = spans([[2, 9]], [[5, 6]]);
    expect(box(own.f)?.map((x) => [x.local.from[0], x.local.to[0], textAt(own.text, x.place.range).replace(/\s/g, "")])).toEqual([
      [17, 24, "[2,9]"],
    ]);
    const op = spans(undefined, [[5, 6]]);
    expect(box(op.f)?.map((x) => [x.local.from[0], x.local.to[0], textAt(op.text, x.place.range).replace(/\s/g, "")])).toEqual([
      [20, 21, "[5,6]"],
    ]);
    const whole = spans(undefined, undefined);
    expect(box(whole.f)?.map((x) => [x.local.from[0], x.local.to[0], textAt(whole.text, x.place.range)])).toEqual([[15, 56, "25"]]);
    const reversed = spans([[9, 2]], undefined);
    expect(reversed.f.notes.map((n) => n.message)).toEqual([{ key: "range-reversed", args: { path: "stations[0].parallels[0]" } }]);
    expect(box(reversed.f)).toEqual([]);
    const ofOp = spans(undefined, [[3, 3]]);
    expect(ofOp.f.notes.map((n) => n.message)).toEqual([{ key: "range-reversed", args: { path: "parts.bracket.ops.op10.parallels[0]" } }]);
  });
  it("the lower of two jaws grips; where one height is not known neither is the grip", () => {
    const grip = (fixed: number | undefined, moving: number | undefined) => {
      const s = changed((x) => {
        x.fixedJaws = { fj60: { face: 15, length: 40, width: 60, height: fixed } };
        x.movingJaws = { mj60: { length: 55, width: 60, height: moving } };
      }).f.stations[0];
      return [s?.grip, s?.standing];
    };
    expect(grip(45, 42)).toEqual([17, 13]);
    expect(grip(40, 42)).toEqual([15, 15]);
    expect(grip(45, undefined)).toEqual([NAN, NAN]);
    expect(grip(undefined, 42)).toEqual([NAN, NAN]);
  });
  it("a sidecar with a warning only is complete; one with a fault is not", () => {
    expect(changed((_, one) => Object.assign(one, { notch: 7 })).f.complete).toBe(true);
    expect(load(plate()).complete).toBe(true);
  });
  it("an end stop without sizes is unknown, and its side counts", () => {
    const stop = (side: string, element: object) =>
      changed((s, one) => {
        s.endStops = { es12: element };
        one.endStop = { element: "es12", side, at: -30 };
      }).f.stations[0];
    const sizes = { thickness: 12, length: 30, height: 30 };
    expect(stop("low", sizes)?.solids.find((x) => x.kind === "end stop")?.local).toEqual({ from: [15, -42, 0], to: [45, -30, 30] });
    expect(stop("high", sizes)?.solids.find((x) => x.kind === "end stop")?.local).toEqual({ from: [15, -30, 0], to: [45, -18, 30] });
    for (const key of ["thickness", "length", "height"] as const) {
      expect(stop("low", { ...sizes, [key]: undefined })?.unknownSolids).toEqual(["end stop"]);
    }
  });
  it("stations that are not loaded this time: their stock is away, all else stays", () => {
    const { f } = changed((_, one) => Object.assign(one, { repeat: repeat(3, 1, [4, 0]) }));
    const g = withEmpty(f, ["A2", "nobody"]);
    expect(g.stations.map((s) => s.empty)).toEqual([false, true, false]);
    expect(g.stations.map((s) => s.solids.some((x) => x.kind === "stock"))).toEqual([true, false, true]);
    expect(g.stations[1]?.solids.map((x) => x.kind)).toEqual(["fixed jaw", "moving jaw", "end stop", "parallels"]);
    expect(g.stations[0]).toBe(f.stations[0]);
    expect(g.stationsOf("P2").map((s) => [s.id, s.empty])).toEqual([["A2", true]]);
    expect(g.stationsOf("P1").map((s) => [s.id, s.empty])).toEqual([["A1", false]]);
    expect(withEmpty(f, [])).toBe(f);
    expect(f.stations.map((s) => s.empty)).toEqual([false, false, false]);
  });
  it("travel of a rotary axis that the machine does not have means nothing", () => {
    const machine = { ...(tombstone().machine as object), travel: { A: [-1, 1], B: [-200, 200], C: [-2, 2] } };
    expect(load({ ...tombstone(), machine }).machine.travel).toEqual({ rotary: [-200, 200] });
    expect(load({ ...plate(), machine: { travel: { B: [-1, 1] } } }).machine.travel).toEqual({});
  });
  it("a datum of no dialect is told, and the others stay", () => {
    const { f, text } = changed((s) => Object.assign(s, { datums: { G99: "nowhere", G59: "park" } }));
    const n = only(f.notes, "fixture-format");
    expect(n.message).toMatchObject({ key: "offset-unknown", args: { name: "G99" } });
    expect(at(n, text)).toEqual(['"G99"']);
    expect([...f.datums]).toEqual([["G59", "park"]]);
  });
  it("travel the wrong way round is told, and then not judged", () => {
    const { f, text } = changed((s) => Object.assign(s, { machine: { travel: { X: [0, -1020] } } }));
    expect(only(f.notes, "fixture-format").message).toEqual({ key: "range-reversed", args: { path: "machine.travel.X" } });
    expect(at(f.notes[0], text)).toEqual(["[ 0, -1020 ]"]);
    expect(f.machine.travel).toEqual({});
  });
  it("a rotary centre that lacks a coordinate", () => {
    const f = load({ ...tombstone(), machine: { rotary: { axis: "B", centre: { X: -500 } } } });
    expect(f.notes.map((n) => n.message.args)).toEqual([{ path: "machine.rotary.centre", name: { list: ["Z"] } }]);
    expect(f.machine.rotary).toMatchObject({ centre: [-500, 0, NAN], inOffset: false, sense: 1 });
  });
});

describe("lines that no test reached", () => {
  it("an ALLOW in brackets loses its closing one; without, it keeps it; a blank behind the colon is no must", () => {
    const reason = (comment: string) => fixtureAllows(`{\n// ${comment}\n"a": 1}`).map((a) => [a.rule, a.reason]);
    expect(reason("(ALLOW fixture-grip: rough blanks )")).toEqual([["fixture-grip", "rough blanks"]]);
    expect(reason("(ALLOW fixture-grip: as agreed (see 3))")).toEqual([["fixture-grip", "as agreed (see 3)"]]);
    expect(reason("(ALLOW fixture-grip: a) b)")).toEqual([["fixture-grip", "a) b"]]);
    expect(reason("ALLOW fixture-grip: as agreed (see 3)")).toEqual([["fixture-grip", "as agreed (see 3)"]]);
    expect(reason("ALLOW fixture-grip:light cuts")).toEqual([["fixture-grip", "light cuts"]]);
    expect(reason("(ALLOW fixture-grip)")).toEqual([["fixture-grip", ""]]);
  });
  it("off grid: of copies that reach beyond the body by different lengths the farthest is told", () => {
    // The jaw reaches to 111 along Y, the body ends at 425: from row 7 (350) it is 36 beyond, from row 8 86.
    for (const [row, step] of [
      [7, 1],
      [8, -1],
    ] as const) {
      const { f } = changed((_, one) => Object.assign(one, { at: [2, row], repeat: repeat(1, 2, [0, step]) }));
      expect(only(f.notes, "fixture-off-grid").message.args).toMatchObject({
        stations: { list: ["A1", "A2"] },
        distance: { mm: expect.closeTo(86, 9) },
      });
    }
  });
  it("room to load: of two entries that come near in one place and hang over in another the latter is told", () => {
    // Seats 25 + 30 against a plank of 150 at seat 60: stock and plank overlap in plan where their middles are nearer than 30 + 75.
    // Seven pitches of 15.057 are 105.399, which is near; six are 90.342, which is 14.658 over.
    for (const [at, step, second] of [
      [7, 31, "B1"],
      [8, 29, "B2"],
    ] as const) {
      const { f } = changed((s, one) => {
        s.bases = { plate: { pitch: { x: 15.057, y: 50 }, columns: 60, rows: 9, zero: { X: -930, Y: -470, Z: -450 }, border: 100 } };
        s.parts = {
          bracket: { ops: { op10: { stock: { u: 41, v: 60, w: 30 }, zero: { u: "centre", v: "centre", w: "top" } } } },
          plank: { ops: { op10: { stock: { u: 41, v: 150, w: 20 }, zero: { u: "centre", v: "centre", w: "top" } } } },
        };
        Object.assign(one, { endStop: undefined, repeat: repeat(2, 1, [30, 0]) });
        s.fixedJaws = { fj60: { face: 15, length: 40, width: 60, height: 45 }, tall: { face: 15, length: 40, width: 60, height: 75 } };
        const plank = { part: "plank", seat: 60, parallels: [], fixedJaw: "tall", movingJaw: undefined, notch: undefined };
        s.stations.push({ ...one, ...plank, id: "B", at: [at, 1], repeat: repeat(2, 1, [step, 0]), offset: "G54.1 P11" });
      });
      const n = only(f.notes, "fixture-overlap");
      expect(n.message.key).toBe("loading-meets");
      expect(n.message.args).toMatchObject({
        first: second === "B1" ? "A1" : "A2",
        second,
        solid: "stock",
        depth: { mm: expect.closeTo(14.658, 9) },
      });
      expect(n.data?.pairs).toEqual([
        ["A1", "B1"],
        ["A2", "B2"],
      ]);
    }
  });
  it("datums: each register that a station has as well is a finding", () => {
    const { f } = changed((s, one) => {
      s.datums = { G55: "park", G56: "probe" };
      one.offset = "G55";
      s.stations.push({ ...one, id: "B", at: [10, 1], offset: "G56" });
    });
    const told = f.notes.filter((n) => n.rule === "fixture-register-shared");
    expect(told.map((n) => [n.message.key, n.message.args.offset])).toEqual([
      ["datum", "G55"],
      ["datum", "G56"],
    ]);
  });
  it("zero mixed: the usual one and the other odd ones are named; an operation that counts otherwise than the first", () => {
    const odd = changed((s, one) => {
      for (const [i, w] of ["top", "top", "seat", "seat"].entries())
        s.stations.push({ ...one, id: `B${i}`, at: [5 + 3 * (i % 2), 1 + 4 * (i >> 1)], offset: `G5${5 + i}`, zero: { w } });
    });
    const n = only(odd.f.notes, "fixture-zero-mixed");
    expect(n.message.args).toMatchObject({ stations: { list: ["B2", "B3"] }, kind: "seat", other: "top" });
    expect(at(n, odd.text)).toEqual(['"seat"', '"top"', '"seat"']);
    expect(n.related.map((r) => r.message)).toEqual([
      { key: "related.other", args: { other: "top" } },
      { key: "related.other", args: { other: "seat" } },
    ]);
    const ops = changed((s, one) => {
      const stock = { u: 41, v: 60, w: 30 };
      s.parts = {
        bracket: {
          ops: {
            op10: { stock, zero: { u: "fixedJaw", v: "low", w: "top" } },
            op20: { stock, zero: { u: "fixedJaw", v: "low", w: "seat" } },
          },
        },
      };
      s.stations.push({ ...one, id: "B", at: [10, 1], offset: "G55", op: "op20" });
    });
    const m = only(ops.f.notes, "fixture-zero-mixed");
    expect(m.message).toEqual({ key: "ops", args: { part: "bracket", op: "op20", kind: "seat", otherOp: "op10", other: "top" } });
    expect(at(m, ops.text)).toEqual(['"seat"', '"top"']);
    expect(m.related.map((r) => r.message)).toEqual([{ key: "related.other", args: { other: "top" } }]);
  });
  it("of nested workspace folders the inner one ends the search", () => {
    const find = (workspaceFolders: string[]) =>
      discoverFixture(hostOf({ "/shop/x.fixture.json": "{}" }), "/shop/jobs/day/a.nc", "", { workspaceFolders }).file;
    expect(find(["/shop"])).toBe("/shop/x.fixture.json");
    expect(find(["/shop", "/shop/jobs"])).toBeUndefined();
    expect(find(["/shop/jobs", "/shop"])).toBeUndefined();
  });
  it("more files than any shop shares: 200 are read, the sidecar's own among them", () => {
    const names = Array.from({ length: 203 }, (_, i) => `${i}.json`);
    const f = load({ ...plate(), include: names }, Object.fromEntries(names.map((n) => [`/shop/${n}`, "{}"])));
    expect(f.dependencies.length).toBe(200);
    expect(f.notes.map((n) => n.message)).toEqual(
      ["199.json", "200.json", "201.json", "202.json"].map((name) => ({ key: "include-missing", args: { name } })),
    );
    expect(f.stations.map((s) => s.id)).toEqual(["A"]);
  });
  it("what an included file gives wrongly is told there, and not as missing again", () => {
    const { parts: _, ...rest } = plate();
    const keys = (more: string) => load({ ...rest, include: ["m.json"] }, { "/shop/m.json": more }).notes.map((n) => n.message);
    expect(keys('{"parts": 5}').filter((m) => m.key === "missing-key")).toEqual([]);
    expect(keys('{"parts": 5}')[0]).toEqual({ key: "wrong-type", args: { path: "parts", expected: "an object", found: "5" } });
    expect(keys("{}").filter((m) => m.key === "missing-key").length).toBe(1);
    // Given rightly by another file, nothing is missing.
    expect(load({ ...plate(), include: ["m.json"] }, { "/shop/m.json": '{"parts": 5}' }).stations.map((s) => s.id)).toEqual(["A"]);
  });
  it("what may be one of several kinds names them; a letter that is none is a wrong text", () => {
    const fault = (change: (s: Sample) => void) => changed(change).f.notes.filter((n) => n.rule === "fixture-format")[0]?.message;
    const pitch = (v: unknown) => fault((s) => Object.assign((s.bases as { plate: object }).plate, { pitch: v }));
    expect(pitch("wide")).toEqual({
      key: "wrong-type",
      args: { path: "bases.plate.pitch", expected: "a number or an object", found: '"wide"' },
    });
    expect(pitch([50])?.args).toMatchObject({ expected: "a number or an object", found: "a list" });
    expect(fault((s) => Object.assign(s, { machine: { dialect: { extends: "iso", repeatLetters: ["KL"] } } }))?.key).toBe("wrong-text");
  });
  it("a sidecar that begins with a byte order mark is the same sidecar, place for place", () => {
    const text = JSON.stringify({ ...plate(), units: "furlong" });
    const marked = `\ufeff${text}`;
    const [plain, bom] = [load(text), load(marked)];
    expect(bom.stations.map((s) => s.id)).toEqual(["A"]);
    expect(bom.notes.map((n) => [n.message, textAt(marked, n.place.range)])).toEqual(
      plain.notes.map((n) => [n.message, textAt(text, n.place.range)]),
    );
  });
  it("a station that cannot be understood is known by name and register, with all its copies", () => {
    const ids = (station: object) =>
      changed((_, one) => Object.assign(one, { at: "nowhere" }, station)).f.unresolved.map((u) => [u.id, u.offset]);
    expect(ids({})).toEqual([["A", "P1"]]);
    expect(ids({ offset: "G54.1 P4", repeat: repeat(2, 3, [1, 0]) })).toEqual([4, 5, 6, 7, 8, 9].map((p, n) => [`A${n + 1}`, `P${p}`]));
    // A repeat that is none is left out, and told.
    for (const columns of ["2", 0, -3, 2.9, null]) expect(ids({ repeat: { ...repeat(1, 2, [1, 0]), columns } })).toEqual([["A", "P1"]]);
    expect(ids({ repeat: repeat(500, 3, [1, 0]) }).length).toBe(1500);
    expect(ids({ repeat: repeat(500, 5, [1, 0]) }).length).toBe(2000);
    expect(ids({ id: 7, offset: "G99" })).toEqual([["?", undefined]]);
    // Z that counts from it: nothing says that it is not there.
    const { f } = changed((s, one) => {
      one.at = "nowhere";
      s.offsets = { zFrom: { station: "A" } };
    });
    expect(f.notes.map((n) => n.message.key)).toEqual(["wrong-type"]);
  });
  it("one entry that repeats more often than a table holds", () => {
    const { f } = changed((_, one) => Object.assign(one, { repeat: repeat(100, 30, [0, 0]) }));
    expect(only(f.notes, "fixture-format").message).toEqual({
      key: "too-many",
      args: { path: "stations[0].repeat", count: 3000, most: 2000 },
    });
    expect(f.stations).toEqual([]);
  });
  it("about C a body of unknown thickness is a hundred metres deep on its way", () => {
    const sample = plate();
    sample.machine = { rotary: { axis: "C", centre: { X: -500, Y: -300 } } };
    sample.bases = { plate: { pitch: 50, columns: 18, rows: 9, zero: { X: -930, Y: -470, Z: -450 }, border: 25 } };
    const f = load(sample);
    const body = f.bases[0]?.body;
    if (body === undefined) throw new Error("the base is there");
    expect(turningBox(f, body, 30).box.from[2]).toBe(-100_000);
    expect(solidAt(f, body, 0).box.from[2]).toBe(Number.NEGATIVE_INFINITY);
  });
  it("an offset file: what each fault says, where, and no more than ten of them", () => {
    const profile = load(plate()).machine.profile;
    const read = (text: string) => readOffsetLines("/t.nc", text, profile, "mm", undefined);
    const faults = (text: string) => read(text).notes.map((n) => [n.message.key, n.message.args, n.place.range.line, n.related]);
    expect(faults("G10 L2 P1 X#1\nG10 L2 P1 X5")).toEqual([["offset-file-value", { letter: "X" }, 0, []]]);
    expect(faults("G91 G10 L2 P1 X5")).toEqual([["offset-file-incremental", { letter: "X" }, 0, []]]);
    expect(faults("G10 L2 P1 X1\nG91 G10 L2 P1 X5 Y2")).toEqual([["offset-file-incremental", { letter: "Y" }, 1, []]]);
    expect(read("G10 L2 P1 X1\nG91 G10 L2 P1 X5").stored.get("G54")?.values).toEqual({ X: 6 });
    expect(faults("G10 L2 P999 X1")).toEqual([["offset-file-register", { l: 2, p: 999 }, 0, []]]);
    expect(faults("G10 L2 X1")).toEqual([["offset-file-register", { l: 2, p: "" }, 0, []]]);
    expect(faults("G91 G10 L2 P1 X5\n".repeat(12)).length).toBe(10);
    // Named by a sidecar, the finding says where.
    const f = load({ ...plate(), offsets: { file: "t.nc" } }, { "/shop/t.nc": "G10 L2 P999 X1" });
    expect(f.notes.map((n) => n.related.map((r) => r.message.key))).toEqual([["related.named"]]);
  });
});
