import { describe, expect, it } from "vitest";
import { zTravelOf } from "../../server/src/engine/fixture/checks.js";
import { fixtureMessages } from "../../server/src/engine/fixture/messages.js";
import { load, plate, told, tombstone } from "../cases/fixtures/samples.js";

type Sample = ReturnType<typeof plate>;
type Entry = Record<string, unknown>;

function first(sample: Sample): Entry {
  const [one] = sample.stations;
  if (one === undefined) throw new Error("the sample has a station");
  return one;
}

/** Notes of a changed sample with the text at their places; every note must have its wording. */
function check(change: (sample: Sample, station: Entry) => void, from: Sample = plate()): string[] {
  change(from, first(from));
  const text = JSON.stringify(from, null, 1);
  const f = load(text);
  for (const n of f.notes) {
    const template = fixtureMessages[n.rule]?.[n.message.key];
    expect(template, `${n.rule} ${n.message.key}`).toBeDefined();
    for (const m of (template ?? "").matchAll(/\{(\w+)\}/g)) expect(n.message.args).toHaveProperty(m[1] ?? "");
    for (const r of n.related) {
      const wording = fixtureMessages[n.rule]?.[r.message.key];
      expect(wording, `${n.rule} ${r.message.key}`).toBeDefined();
      for (const m of (wording ?? "").matchAll(/\{(\w+)\}/g)) expect(r.message.args).toHaveProperty(m[1] ?? "");
    }
  }
  return told(f.notes, text).map((t) => t.replace(/\s+/g, " "));
}

const repeat = (columns: number, rows: number, step: number[]) => ({ columns, rows, step });

it("the sample itself is clean", () => {
  expect(check(() => undefined)).toEqual([]);
  expect(check(() => undefined, tombstone())).toEqual([]);
});

describe("fixture-register-shared", () => {
  it("one offset for two stations", () => {
    expect(check((s, one) => s.stations.push({ ...one, id: "B", at: [10, 1] }))).toEqual(['fixture-register-shared default «"G54.1 P1"»']);
  });
  it("by any spelling, and series that run into each other are one finding", () => {
    expect(
      check((s, one) => {
        one.repeat = repeat(3, 1, [3, 0]);
        s.stations.push({ ...one, id: "B", at: [1, 5], offset: "G54 P2", repeat: repeat(3, 1, [3, 0]) });
      }),
    ).toEqual(['fixture-register-shared several «"G54 P2"»']);
  });
  it("near miss: shared by declaration on every station; one alone is not enough", () => {
    const both = (second: object) =>
      check((s, one) => {
        one.sharesOffset = true;
        s.stations.push({ ...one, id: "B", at: [10, 1], ...second });
      });
    expect(both({})).toEqual([]);
    expect(both({ sharesOffset: false }).length).toBe(1);
  });
  it("a datum belongs to no station", () => {
    expect(check((s) => Object.assign(s, { datums: { "G54.1 P1": "park" } }))).toEqual(['fixture-register-shared datum «"G54.1 P1"»']);
    expect(check((s) => Object.assign(s, { datums: { G59: "park" } }))).toEqual([]);
  });
});

describe("fixture-off-grid", () => {
  it.each([[[18, 1]], [[1, 9]], [[-1, 1]]])("intersection %j is outside 18 × 9", (at) => {
    expect(check((_, one) => Object.assign(one, { at }))).toEqual([`fixture-off-grid default «[ ${at.join(", ")} ]»`]);
  });
  it("between two intersections", () => {
    expect(check((_, one) => Object.assign(one, { at: [1.5, 1] }))).toEqual(["fixture-off-grid between «[ 1.5, 1 ]»"]);
  });
  it("copies of a repeat are told together", () => {
    expect(check((_, one) => Object.assign(one, { repeat: repeat(6, 1, [4, 0]) }))).toEqual(['fixture-off-grid default «"repeat"»']);
  });
  it("a jaw beyond the body: at [0, 1] it stands 30 − 25 beyond the border", () => {
    expect(check((_, one) => Object.assign(one, { at: [0, 1] }))).toEqual(["fixture-off-grid jaw «[ 0, 1 ]»"]);
    const f = load({ ...plate(), stations: [{ ...first(plate()), at: [0, 1] }] });
    expect(f.notes[0]?.data?.distance).toBeCloseTo(5, 9);
  });
  it("near miss: flush with the edge of the body", () => {
    expect(
      check((s, one) => {
        one.at = [0, 1];
        s.bases = { plate: { pitch: 50, columns: 18, rows: 9, zero: { X: -930, Y: -470, Z: -450 }, border: 30 } };
      }),
    ).toEqual([]);
  });
});

describe("fixture-overlap", () => {
  // Along v the widest are the stop (12 beyond −30) and the jaws (±30): 72 need 2 pitches of 50. Along u a station
  // reaches from −25 to 111 clamped, to 114 open.
  it("clamped solids of two stations meet", () => {
    expect(check((s, one) => s.stations.push({ ...one, id: "B", at: [2, 1], offset: "G55" }))).toEqual([
      "fixture-overlap default «[ 2, 1 ]»",
    ]);
  });
  it("near miss: one pitch farther is clear", () => {
    expect(check((s, one) => s.stations.push({ ...one, id: "B", at: [3, 1], offset: "G55" }))).toEqual([]);
  });
  it("eleven meetings of one repeat are one finding at its step", () => {
    const sample = plate();
    first(sample).repeat = repeat(12, 1, [1, 0]);
    const f = load(sample);
    expect(f.notes.map((n) => n.rule)).toEqual(["fixture-overlap"]);
    expect(f.notes[0]?.data?.pairs).toHaveLength(11);
    expect(f.notes[0]?.related.length).toBe(10);
    expect(check((_, one) => Object.assign(one, { repeat: repeat(12, 1, [1, 0]) }))).toEqual(["fixture-overlap default «[ 1, 0 ]»"]);
  });

  // Two stations one behind the other along u, pitch 137: the next fixed jaw begins at 137 − 25 = 112, the clamped
  // moving jaw ends at 111, the open one at 114.
  const row = (pitchY: number, notch = 8) =>
    check((s, one) => {
      s.bases = { plate: { pitch: { x: 50, y: pitchY }, columns: 5, rows: 5, zero: { X: -800, Y: -450, Z: -450 }, border: 200 } };
      s.machine = {};
      one.notch = notch;
      s.stations.push({ ...one, id: "B", at: [1, 2], offset: "G55" });
    });
  it("the open moving jaw reaches the neighbour, the clamped one does not", () => {
    expect(row(137)).toEqual(["fixture-overlap open «[ 1, 2 ]»"]);
    expect(row(139)).toEqual([]);
    // At notch 9 the jaw opens 3 more.
    expect(row(139, 9)).toEqual(["fixture-overlap open «[ 1, 2 ]»"]);
    // Touching is clear (contract ruling 44).
    expect(row(142, 9)).toEqual([]);
    expect(row(136)).toEqual(["fixture-overlap open «[ 1, 2 ]»"]);
    expect(row(135)).toEqual(["fixture-overlap default «[ 1, 2 ]»"]);
  });

  // Stock wider than the jaws: 100 along v, centred, no stops. Neighbours at 2 pitches of 50 touch; at 50.4 they are
  // 0.8 apart, nearer than the 1 mm that loading needs; at 50.5 they are just clear.
  const wide = (pitchX: number) =>
    check((s, one) => {
      s.bases = { plate: { pitch: { x: pitchX, y: 50 }, columns: 9, rows: 9, zero: { X: -930, Y: -470, Z: -450 }, border: 100 } };
      s.parts = { bracket: { ops: { op10: { stock: { u: 41, v: 100, w: 30 }, zero: { u: "centre", v: "centre", w: "top" } } } } };
      one.endStop = undefined;
      s.stations.push({ ...one, id: "B", at: [3, 1], offset: "G55" });
    });
  it("no room to load", () => {
    expect(wide(50.4)).toEqual(["fixture-overlap loading «[ 3, 1 ]»"]);
    expect(wide(50.5)).toEqual([]);
    expect(wide(49.9)).toEqual(["fixture-overlap default «[ 3, 1 ]»"]);
  });
  it("a part that hangs over the stock from above leaves no room, though nothing meets", () => {
    // The neighbour's stock, 60 high on seat 60, is above this one's; it reaches over it by 5.
    const over = check((s, one) => {
      s.bases = { plate: { pitch: 50, columns: 9, rows: 9, zero: { X: -930, Y: -470, Z: -450 }, border: 100 } };
      s.parts = {
        bracket: { ops: { op10: { stock: { u: 41, v: 60, w: 30 }, zero: { u: "centre", v: "centre", w: "top" } } } },
        plank: { ops: { op10: { stock: { u: 41, v: 150, w: 20 }, zero: { u: "centre", v: "centre", w: "top" } } } },
      };
      Object.assign(one, { endStop: undefined });
      s.fixedJaws = { fj60: { face: 15, length: 40, width: 60, height: 45 }, tall: { face: 15, length: 40, width: 60, height: 75 } };
      s.stations.push({
        ...one,
        id: "B",
        at: [3, 1],
        part: "plank",
        seat: 60,
        parallels: [],
        fixedJaw: "tall",
        movingJaw: undefined,
        notch: undefined,
        offset: "G55",
      });
    });
    expect(over).toEqual(["fixture-overlap loading-meets «[ 3, 1 ]»"]);
  });
  it("faces of one tombstone are compared in the turn they share", () => {
    // Two faces at a right angle, far from the axis: their stations lie back to back unless the plate is too narrow.
    const faces = (distance: number) =>
      check((s, one) => {
        const zero = { X: -600, Y: -450, Z: -620 + distance };
        s.bases = {
          one: { pitch: 50, columns: 5, rows: 7, zero, face: 0, border: 50 },
          two: { pitch: 50, columns: 5, rows: 7, zero, face: 90, border: 50 },
        };
        s.stations = [
          { ...one, id: "P", base: "one", at: [4, 1], offset: "G54" },
          { ...one, id: "Q", base: "two", at: [0, 1], offset: "G55" },
        ];
      }, tombstone());
    // Station P stands at x 70 … 142 (from the centre) and, from the face up, 0 … 55; Q likewise on its face.
    expect(faces(160)).toEqual([]);
    expect(faces(100)).toEqual(["fixture-overlap default «[ 0, 1 ]»"]);
  });
});

describe("fixture-notch", () => {
  it("a notch that cannot clamp names the valid ones and the best", () => {
    expect(check((_, one) => Object.assign(one, { notch: 7 }))).toEqual(["fixture-notch default «7»"]);
    const f = load({ ...plate(), stations: [{ ...first(plate()), notch: 7 }] });
    expect(f.notes[0]?.data).toMatchObject({ chosen: 7, valid: [8, 9], best: 8 });
    expect(f.notes[0]?.message.args).toMatchObject({ gap: { mm: 41 }, travel: { mm: 0 } });
  });
  it("near miss: a valid notch that is not the best", () => {
    expect(check((_, one) => Object.assign(one, { notch: 9 }))).toEqual([]);
  });
  it("a notch that is not there", () => {
    expect(check((_, one) => Object.assign(one, { notch: 40 }))).toEqual(["fixture-notch no-such «40»"]);
    expect(check((_, one) => Object.assign(one, { notch: -1 }))).toEqual(["fixture-notch no-such «-1»"]);
  });
  it("no notch at all will do", () => {
    const narrow = { gap: 20, increment: 30, stroke: 2, notches: 4, loading: 1, reserve: 1, length: 55, width: 60, height: 42 };
    expect(check((s) => Object.assign(s, { movingJaws: { mj60: narrow } }))).toEqual(["fixture-notch no-such-none «8»"]);
    expect(
      check((s, one) => {
        s.movingJaws = { mj60: narrow };
        one.notch = undefined;
      }),
    ).toEqual(['fixture-notch none-unset «"mj60"»']);
  });
  it("twelve stations with the same notch are one finding", () => {
    expect(check((_, one) => Object.assign(one, { notch: 7, repeat: repeat(3, 2, [3, 4]) }))).toEqual(["fixture-notch default «7»"]);
  });
});

describe("fixture-grip", () => {
  // A stop that is high enough for every seat here, so that only the grip is in question.
  const tall = { endStops: { es12: { thickness: 12, length: 30, height: 90 } } };
  const seat = (height: number) =>
    check((s, one) => {
      Object.assign(s, tall);
      one.seat = height;
    });
  // Lowest jaw 42. Seat 36.6: grip 5.4, standing 24.6, a third is 8.2.
  it("less than a third of what stands above", () => {
    expect(seat(36.6)).toEqual(["fixture-grip default «36.6»"]);
  });
  it("near miss: exactly a third (seat 34.5: grip 7.5, standing 22.5)", () => {
    expect(seat(34.5)).toEqual([]);
  });
  it("stock above the jaws is not gripped at all", () => {
    expect(seat(42)).toEqual(["fixture-grip short «42»"]);
  });
  it("stock beside the jaws", () => {
    expect(
      check((_, one) => {
        one.at = [4, 1];
        one.endStop = { element: "es12", side: "low", at: 31 };
      }),
    ).toEqual(["fixture-grip beside «[ 4, 1 ]»"]);
  });
  it("unknown heights are not judged", () => {
    expect(
      check((s, one) => {
        Object.assign(s, tall, { fixedJaws: { fj60: { face: 15 } } });
        one.seat = 60;
      }),
    ).toEqual([]);
  });
});

describe("fixture-zero-mixed", () => {
  const three = (zero: object) =>
    check((s, one) => {
      one.repeat = repeat(2, 1, [3, 0]);
      s.stations.push({ ...one, id: "B", at: [10, 1], offset: "G55", zero, repeat: undefined });
    });
  it("siblings whose part zeros differ in kind", () => {
    expect(three({ w: "seat" })).toEqual(['fixture-zero-mixed default «"seat"»']);
    expect(three({ u: "centre" })).toEqual(['fixture-zero-mixed default «"centre"»']);
  });
  it("near miss: another word for the same point, or the same kind", () => {
    expect(three({ w: 30 })).toEqual([]);
    expect(three({ w: "top" })).toEqual([]);
  });
  it("ops of one part are compared for w only", () => {
    const ops = (zero: object) =>
      check((s, one) => {
        const stock = { u: 41, v: 60, w: 30 };
        s.parts = { bracket: { ops: { op10: { stock, zero: { u: "fixedJaw", v: "low", w: "top" } }, op20: { stock, zero } } } };
        s.stations.push({ ...one, id: "B", at: [10, 1], offset: "G55", op: "op20" });
      });
    expect(ops({ u: "centre", v: "high", w: "top" })).toEqual([]);
    expect(ops({ u: "fixedJaw", v: "low", w: "seat" })).toEqual(['fixture-zero-mixed ops «"seat"»']);
  });
});

describe("fixture-travel", () => {
  // The part zero is at X −930 + 80 = −850, Y −470 + 65 = −405.
  it("X and Y of the part zero, with by how much", () => {
    expect(check((s) => Object.assign(s, { machine: { travel: { X: [-849.5, 0] } } }))).toEqual(["fixture-travel default «[ 1, 1 ]»"]);
    const f = load({ ...plate(), machine: { travel: { Y: [-510, -406] } } });
    expect(f.notes[0]?.data).toMatchObject({ axis: "Y", stations: ["A"] });
    expect(f.notes[0]?.data?.distance).toBeCloseTo(1, 9);
  });
  it("near miss: on the limit", () => {
    expect(check((s) => Object.assign(s, { machine: { travel: { X: [-850, 0], Y: [-405, 0] } } }))).toEqual([]);
  });
  it("Z needs the tool: the gauge point is LF above the tool point", () => {
    const f = load(plate());
    const s = f.stations[0];
    if (s === undefined) throw new Error("the station is there");
    // Part zero at Z −450 + 55 = −395; travel −560 … 0.
    expect(zTravelOf(f, s, 120)).toBe(0);
    expect(zTravelOf(f, s, 400)).toBeCloseTo(5, 9);
    expect(zTravelOf(f, s, Number.NaN)).toBeNaN();
    expect(zTravelOf(load({ ...plate(), machine: {} }), s, 400)).toBe(0);
  });
  it("a face that the rotary axis cannot present", () => {
    const limited = (range: number[]) =>
      check((s) => Object.assign(s, { machine: { ...(s.machine as object), travel: { B: range } } }), tombstone());
    expect(limited([-120, 120])).toEqual(["fixture-travel rotary «180»"]);
    expect(limited([-190, 120])).toEqual([]);
    expect(limited([0, 180])).toEqual([]);
  });
});

describe("fixture-reversible", () => {
  // The stop covers u 15 … 45 of an end that reaches from 15 to 56.
  it("nothing decides the way round", () => {
    expect(check((_, one) => Object.assign(one, { endStop: undefined }))).toEqual(['fixture-reversible default «"A"»']);
  });
  it("a stop that covers the whole end, or that the stock passes over, is met alike by both ends", () => {
    expect(check((s) => Object.assign(s, { endStops: { es12: { thickness: 12, length: 41, height: 30 } } }))).toEqual([
      'fixture-reversible stop-alike «"A"»',
    ]);
    expect(check((s) => Object.assign(s, { endStops: { es12: { thickness: 12, length: 30, height: 25 } } }))).toEqual([
      'fixture-reversible stop-alike «"A"»',
    ]);
  });
  it("near miss: a stop at one corner; reversible true; not stated", () => {
    const op = (reversible?: boolean) =>
      check((s, one) => {
        one.endStop = undefined;
        s.parts = {
          bracket: { ops: { op10: { stock: { u: 41, v: 60, w: 30 }, zero: { u: "centre", v: "centre", w: "top" }, reversible } } },
        };
      });
    expect(check(() => undefined)).toEqual([]);
    expect(op(true)).toEqual([]);
    expect(op()).toEqual([]);
    expect(op(false)).toEqual(['fixture-reversible default «"A"»']);
  });
});
