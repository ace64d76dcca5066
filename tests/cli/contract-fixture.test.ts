/**
 * `jawline stations` and `jawline offsets` as processes against sidecar.md and the numbered rulings of contract-details.md.
 * Every expected number was worked out by hand from those pages; A1's part zero is the machine datum (tests/support/contract.ts).
 */
import { describe, expect, test } from "vitest";
import { Folder } from "../support/command-line.js";
import { type Json, plate } from "../support/contract.js";

const folder = new Folder("contract-fixture");

interface Listed extends Json {
  readonly id: string;
  readonly computed: Json;
  readonly notch: Json;
  readonly solids: readonly { readonly name: string; readonly from: number[]; readonly to: number[]; readonly corners: number[][] }[];
}

function stations(sidecar: Json, files: Readonly<Record<string, string>> = {}): Listed[] {
  for (const [name, content] of Object.entries(files)) folder.put(name, content);
  folder.put("p.fixture.json", JSON.stringify(sidecar));
  const { out } = folder.jawline(["stations", "p.fixture.json", "--format", "json"]);
  return JSON.parse(out) as Listed[];
}

function offsets(sidecar: Json, ...options: string[]): string {
  folder.put("p.fixture.json", JSON.stringify(sidecar));
  return folder.jawline(["offsets", "p.fixture.json", ...options]).out;
}

const spans = (listed: Listed | undefined, name: string) =>
  (listed?.solids ?? []).filter((solid) => solid.name === name).map(({ from, to }) => [from, to]);

describe("ruling 5: the notch", () => {
  test("the example: valid [8, 9], best 8, travel 3", () => {
    expect(stations(plate())[0]?.notch).toEqual({ chosen: 8, valid: [8, 9], best: 8, travel: 3 });
  });

  test.each([
    // u 39.7: t7 = 20 + 21 - 39.7 = 1.3; 1.3 - 0.3 is the loading of 1 exactly. t8 = 4.3 leaves 7 - 4.6 = 2.4, more than 0.
    [39.7, [7, 8], 8, 4.3],
    // u 37.3: t8 = 6.7; 6.7 + 0.3 is the stroke less the reserve exactly. t7 = 3.7 leaves 2.4 on its tighter side.
    [37.3, [7, 8], 7, 6.7],
  ])("a limit that is met exactly will do: stock u %s", (u, valid, best, travel) => {
    const listed = stations(plate({ "parts.bracket.ops.op10.stock": { u, v: 60, w: 30 } }));
    expect(listed[0]?.notch).toMatchObject({ chosen: 8, valid, best });
    expect(listed[0]?.notch.travel).toBeCloseTo(travel, 9);
  });

  test("of equal ones the lowest is best; absent loading, reserve and stockTolerance count as 0", () => {
    // Stroke 7, u 43, increment 3, gap 20: t8 = 1, t9 = 4, t10 = 7. Margins 1, 3, 0. With increment 1: t = k - 23, margins
    // min(t, 7 - t): t 3 and 4 are equal at 3, k 26 and 27.
    const jaw = { gap: 20, increment: 1, stroke: 7, notches: 40, length: 55, width: 60, height: 35 };
    const op = { stock: { u: 43, v: 60, w: 30 }, zero: { u: "fixedJaw", v: "low", w: "top" } };
    const listed = stations(plate({ "movingJaws.mj": jaw, "parts.bracket.ops.op10": op, "stations.0.notch": 27 }));
    expect(listed[0]?.notch).toEqual({ chosen: 27, valid: [23, 24, 25, 26, 27, 28, 29, 30], best: 26, travel: 4 });
  });
});

describe("ruling 6: parallels are [from, to] along u from the fixed jaw's face", () => {
  // A1: the fixed jaw's face is at Y0, the stock along v is X-60 … 0, the locating face is at Z-55, the seat at Z-30.
  const strip = (from: number, to: number) => [
    [-60, from, -55],
    [0, to, -30],
  ];

  test("absent: the whole footprint; seat 0: none", () => {
    expect(spans(stations(plate())[0], "parallels")).toEqual([strip(0, 41)]);
    expect(spans(stations(plate({ "stations.0.seat": 0 }))[0], "parallels")).toEqual([]);
  });

  test("on a station; on an operation for all its stations; the station's own wins", () => {
    const pair = [
      [2, 8],
      [33, 39],
    ];
    const both = [strip(2, 8), strip(33, 39)];
    expect(spans(stations(plate({ "stations.0.parallels": pair }))[0], "parallels")).toEqual(both);
    expect(spans(stations(plate({ "parts.bracket.ops.op10.parallels": pair }))[0], "parallels")).toEqual(both);
    const own = plate({ "parts.bracket.ops.op10.parallels": pair, "stations.0.parallels": [[0, 10]] });
    expect(spans(stations(own)[0], "parallels")).toEqual([strip(0, 10)]);
  });

  test("a reversed span on an operation is said once, at its place", () => {
    folder.put("p.fixture.json", JSON.stringify(plate({ "parts.bracket.ops.op10.parallels": [[9, 3]] }), undefined, 1));
    const { err, status } = folder.jawline(["stations", "p.fixture.json"]);
    expect(status).toBe(2);
    expect(err.trimEnd().split("\n")).toHaveLength(1);
    expect(err).toContain("parts.bracket.ops.op10.parallels[0]");
  });
});

describe("rulings 4, 15, 16: what a work offset must hold", () => {
  test("stored + commonShift + (Z only) reference = position, trim within the position once", () => {
    const table = plate({
      offsets: { trim: { G55: { X: 0.015 } }, commonShift: { X: 1, Y: 2, Z: 3 }, zFrom: { base: "plate" } },
    });
    // A1 at (0, 0, 0), base zero Z-55: X 0 - 1, Y 0 - 2, Z 0 - 3 + 55. A2 at X200 with its trim.
    expect(JSON.parse(offsets(table, "--format", "json"))).toEqual([
      { offset: "G54", station: "A1", required: { X: -1, Y: -2, Z: 52 } },
      { offset: "G55", station: "A2", required: { X: 199.015, Y: -2, Z: 52 } },
      { offset: "G56", station: "A3", required: { X: 399, Y: -2, Z: 52 } },
    ]);
    expect(offsets(table, "--format", "g10")).toContain("G10 L2 P2 X199.015 Y-2. Z52.");
    // Solids do not move with the trim: A2's stock begins four pitches from A1's.
    const listed = stations(table);
    expect(listed[1]?.computed).toEqual({ X: 200.015, Y: 0, Z: 0 });
    expect(spans(listed[1], "stock")).toEqual([
      [
        [140, 0, -30],
        [200, 41, 0],
      ],
    ]);
  });

  test("zFrom a station: that station's computed Z counts as 0", () => {
    expect(JSON.parse(offsets(plate({ offsets: { zFrom: { station: "A1" } } }), "--format", "json"))[2]).toEqual({
      offset: "G56",
      station: "A3",
      required: { X: 400, Y: 0, Z: 0 },
    });
  });

  test("a series of additional offsets runs on and is written with L20", () => {
    const g10 = offsets(plate({ "stations.0.offset": "G54.1 P47" }), "--format", "g10");
    for (const line of ["G10 L20 P47 X0. Y0. Z0.", "G10 L20 P48 X200. Y0. Z0.", "G10 L20 P49 X400. Y0. Z0."]) expect(g10).toContain(line);
  });

  test.each([
    [false, 0],
    [true, 90],
  ])("rotary.inOffset %s: a work offset on the face at 90° must hold %s", (inOffset, held) => {
    const turning = plate({
      "machine.rotary": { axis: "B", centre: { X: -500, Z: -600 }, sense: 1, inOffset },
      "bases.plate.face": 90,
      "offsets.values": { G54: { X: 0, Y: 0, Z: 0, rotary: held }, G55: { X: 200, Y: 0, Z: 0, B: held } },
    });
    const listed = stations(turning);
    expect(listed[0]).toMatchObject({ computed: { X: 0, Y: 0, Z: 0, rotary: held }, stored: { rotary: held } });
    expect(listed[1]).toMatchObject({ stored: { rotary: held } });
    expect(offsets(turning, "--format", "g10")).toContain(`G10 L2 P1 X0. Y0. Z0. B${held}.`);
  });
});

describe("ruling 3: a base that is not presented is turned with everything on it", () => {
  test("the numbers are those with the base presented, whatever its face", () => {
    // Zero (-600, -450, -350), [2, 1], clamp +Y: base (130, 65, 55) → machine (-470, -385, -295).
    const turning = plate({
      "machine.rotary": { axis: "B", centre: { X: -500, Z: -600 }, sense: 1 },
      "bases.plate.face": 90,
      "bases.plate.zero": { X: -600, Y: -450, Z: -350 },
    });
    const [first] = stations(turning);
    expect(first?.computed).toEqual({ X: -470, Y: -385, Z: -295, rotary: 0 });
    expect(spans(first, "fixed jaw")).toEqual([
      [
        [-530, -425, -350],
        [-470, -385, -315],
      ],
    ]);
  });
});
