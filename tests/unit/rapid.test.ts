import { describe, expect, it } from "vitest";
import { rapidPolylines } from "../../server/src/engine/machine/rapid.js";

describe("rapid paths", () => {
  const equal = { X: 30000, Y: 30000, Z: 24000 };

  it("independent axes at 500 mm/s over dx 300, dy 400: 45° until X is done, then Y alone", () => {
    expect(rapidPolylines([0, 0, 5], [300, 400, 5], equal, "independent")).toEqual([
      [
        [0, 0, 5],
        [300, 300, 5],
        [300, 400, 5],
      ],
    ]);
  });

  it("straight is one segment, either is both", () => {
    const straight = [
      [0, 0, 5],
      [300, 400, 5],
    ];
    expect(rapidPolylines([0, 0, 5], [300, 400, 5], equal, "straight")).toEqual([straight]);
    const both = rapidPolylines([0, 0, 5], [300, 400, 5], equal, "either");
    expect(both).toHaveLength(2);
    expect(both[0]).toEqual(straight);
    expect(both[1]).toHaveLength(3);
  });

  it("three axes give three segments, each at its own rate (by hand: 0.2 s, 0.5 s, 0.6 s)", () => {
    // X 100 mm at 500 mm/s, Z -200 mm at 400 mm/s, Y -300 mm at 500 mm/s.
    const [path] = rapidPolylines([0, 0, 0], [100, -300, -200], equal, "independent");
    expect(path?.map((point) => point.map((v) => Number(v.toFixed(9))))).toEqual([
      [0, 0, 0],
      [100, -100, -80],
      [100, -250, -200],
      [100, -300, -200],
    ]);
  });

  it("one axis, or axes that are done together, go straight in every mode", () => {
    for (const mode of ["straight", "independent", "either"] as const) {
      expect(rapidPolylines([0, 0, 0], [0, 0, -90], equal, mode)).toEqual([
        [
          [0, 0, 0],
          [0, 0, -90],
        ],
      ]);
      expect(rapidPolylines([0, 0, 0], [50, -50, 40], equal, mode)).toEqual([
        [
          [0, 0, 0],
          [50, -50, 40],
        ],
      ]);
    }
  });

  it("goes straight where a moving axis has no rate; a resting axis needs none", () => {
    expect(rapidPolylines([0, 0, 0], [300, 400, 0], { X: 30000 }, "independent")).toHaveLength(1);
    expect(rapidPolylines([0, 0, 0], [300, 400, 0], { X: 30000 }, "independent")[0]).toHaveLength(2);
    expect(rapidPolylines([0, 0, 0], [300, 400, 0], { X: 30000, Y: 30000 }, "independent")[0]).toHaveLength(3);
    expect(rapidPolylines([0, 0, 0], [300, 400, 0], { X: 30000, Y: 0 }, "either")).toHaveLength(1);
    expect(rapidPolylines([0, 0, 0], [300, 400, 0], { X: 30000, Y: Number.NaN }, "either")).toHaveLength(1);
  });

  it("an unknown coordinate stays unknown", () => {
    expect(rapidPolylines([Number.NaN, 0, 0], [300, 400, 0], equal, "either")).toEqual([
      [
        [Number.NaN, 0, 0],
        [300, 400, 0],
      ],
    ]);
  });
});
