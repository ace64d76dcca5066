/** `jawline stations` and `jawline offsets` as processes. */
import { Ajv } from "ajv";
import { describe, expect, test } from "vitest";
import { Folder, SIDECAR } from "../support/command-line.js";
import { stationsSchema } from "../support/command-line-schemas.js";

const folder = new Folder("fixture");
const isStations = new Ajv({ allErrors: true, allowUnionTypes: true, strictRequired: false, strictTypes: false }).compile(stationsSchema);

describe("stations", () => {
  test("JSON has the contract's shape; the worked example of the sidecar's format page", () => {
    folder.put("plate.fixture.json", SIDECAR);
    const outcome = folder.jawline(["stations", "plate.fixture.json", "--format", "json"]);
    expect(outcome).toMatchObject({ status: 0, err: "" });
    const stations = JSON.parse(outcome.out);
    isStations(stations);
    expect(isStations.errors ?? []).toEqual([]);
    expect(stations).toMatchObject([
      {
        id: "A1",
        base: "plate",
        at: [1, 1],
        offset: "G54",
        part: "bracket",
        op: "op10",
        computed: { X: -620, Y: -385, Z: -345 },
        notch: { chosen: 8, valid: [8, 9], best: 8, travel: 3 },
      },
      { id: "A2", at: [5, 1], offset: "G55", computed: { X: -420, Y: -385, Z: -345 } },
    ]);
    // Station frame at [1,1] of a base with zero X-700 Y-450 Z-400: (-650, -400, -400); clamp +Y: u is +Y, v is -X.
    const solids = Object.fromEntries(stations[0].solids.map((solid: { name: string }) => [solid.name, solid]));
    expect(solids["fixed jaw"]).toMatchObject({ from: [-680, -425, -400], to: [-620, -385, -355] });
    expect(solids["moving jaw"]).toMatchObject({ from: [-680, -344, -400], to: [-620, -289, -358] });
    expect(solids["end stop"]).toMatchObject({ from: [-620, -385, -400], to: [-608, -355, -370] });
    expect(solids.stock).toMatchObject({ from: [-680, -385, -375], to: [-620, -344, -345] });
    expect(solids.parallels).toMatchObject({ from: [-680, -385, -400], to: [-620, -344, -375] });
    expect(Object.keys(solids)).toHaveLength(5);
  });

  test("a skewed base turns positions; bounds hold all corners", () => {
    folder.put("plate.fixture.json", SIDECAR.replace('"thickness": 40', '"skew": 0.1, "thickness": 40'));
    const [first] = JSON.parse(folder.jawline(["stations", "plate.fixture.json", "--format", "json"]).out);
    // The worked example of the format page, which prints five decimals.
    expect(first.computed.X).toBeCloseTo(-620.11357, 5);
    expect(first.computed.Y).toBeCloseTo(-384.86047, 5);
    expect(first.computed.Z).toBe(-345);
    for (const { from, to, corners } of first.solids) {
      for (const axis of [0, 1, 2]) {
        const values = corners.map((corner: number[]) => corner[axis]);
        expect(Math.min(...values)).toBeCloseTo(from[axis], 6);
        expect(Math.max(...values)).toBeCloseTo(to[axis], 6);
      }
    }
  });

  test("JSON is in millimetres for an inch sidecar", () => {
    folder.put("plate.fixture.json", SIDECAR.replace('"units": "mm"', '"units": "inch"'));
    const [first] = JSON.parse(folder.jawline(["stations", "plate.fixture.json", "--format", "json"]).out);
    // 620 inch = 15748 mm, 385 inch = 9779 mm, 345 inch = 8763 mm.
    expect(first.computed).toEqual({ X: -15748, Y: -9779, Z: -8763 });
  });

  test("the table has a row for each station", () => {
    folder.put("plate.fixture.json", SIDECAR);
    const rows = folder
      .jawline(["stations", "plate.fixture.json"])
      .out.split("\n")
      .map((line) => line.trim().split(/\s{2,}/));
    expect(rows[0]).toEqual(["station", "base", "at", "offset", "part", "op", "X", "Y", "Z", "notch", "valid", "best", "travel"]);
    expect(rows).toContainEqual([
      "A2",
      "plate",
      "[5, 1]",
      "G55",
      "bracket",
      "op10",
      "-420.000",
      "-385.000",
      "-345.000",
      "8",
      "8-9",
      "8",
      "3.000",
    ]);
  });

  test("a sidecar that cannot be used gives status 2, the place of the fault, and JSON all the same", () => {
    expect(folder.jawline(["stations", "gone.fixture.json"])).toEqual({
      status: 2,
      out: "",
      err: "jawline: gone.fixture.json: there is no such file\n",
    });
    expect(folder.jawline(["stations", "gone.fixture.json", "--format", "json"])).toMatchObject({ status: 2, out: "[]\n" });
    folder.put("plate.fixture.json", SIDECAR.replace('"clamp": "+Y"', '"clamp": "up"'));
    const wrong = folder.jawline(["stations", "plate.fixture.json", "--format", "json"]);
    expect(wrong.status).toBe(2);
    expect(wrong.err).toMatch(/^plate\.fixture\.json:11:\d+: .*\[fixture-format\]\n/);
    expect(Array.isArray(JSON.parse(wrong.out))).toBe(true);
    folder.put("plate.fixture.json", "\u0000\u0001");
    expect(folder.jawline(["stations", "plate.fixture.json"]).status).toBe(2);
  });
});

describe("offsets", () => {
  test("the table and JSON give what every register must hold", () => {
    folder.put(
      "plate.fixture.json",
      SIDECAR.replace('"tools"', '"offsets": { "commonShift": { "X": 1 }, "zFrom": { "base": "plate" } },\n  "tools"'),
    );
    const table = folder.jawline(["offsets", "plate.fixture.json"]);
    expect(table.status).toBe(0);
    expect(table.out.split("\n").map((line) => line.trim().split(/\s{2,}/))).toContainEqual([
      "G55",
      "A2",
      "-421.000",
      "-385.000",
      "55.000",
    ]);
    expect(table.out).toContain("Z counts from base plate at Z -400.000; with a common shift of X 1.000.");
    expect(JSON.parse(folder.jawline(["offsets", "plate.fixture.json", "--format", "json"]).out)).toEqual([
      { offset: "G54", station: "A1", required: { X: -621, Y: -385, Z: 55 } },
      { offset: "G55", station: "A2", required: { X: -421, Y: -385, Z: 55 } },
    ]);
  });

  test("G10 blocks read back without a difference", () => {
    folder.put("plate.fixture.json", SIDECAR.replace('"thickness": 40', '"skew": 0.1, "thickness": 40'));
    const { out, status } = folder.jawline(["offsets", "plate.fixture.json", "--format", "g10"]);
    expect(status).toBe(0);
    expect(out).toContain("G10 L2 P1 X-620.1136 Y-384.8605 Z-345.");
    folder.put("table.nc", out);
    const back = folder.jawline(["offsets", "plate.fixture.json", "--against", "table.nc"]);
    expect(back).toMatchObject({ status: 0, err: "" });
    expect(back.out.trimEnd().split("\n").at(-1)).toBe("2 of 2 offsets within the tolerance.");
    const differences = JSON.parse(folder.jawline(["offsets", "plate.fixture.json", "--against", "table.nc", "--format", "json"]).out);
    for (const { difference, beyond } of differences) {
      expect(beyond).toEqual([]);
      for (const value of Object.values<number>(difference)) expect(Math.abs(value)).toBeLessThanOrEqual(0.00005);
    }
  });

  test("a difference beyond the tolerance gives status 1 and its diagnosis", () => {
    folder.put("plate.fixture.json", SIDECAR);
    folder.put("table.nc", "G21\nG10 L2 P1 X-570. Y-385. Z-345.\nG10 L2 P2 X-420.01 Y-385. Z-345.\n");
    const { out, status } = folder.jawline(["offsets", "plate.fixture.json", "--against", "table.nc"]);
    expect(status).toBe(1);
    expect(out).toMatch(/table\.nc:2: G54 of A1: X holds -570\.000, must hold -620\.000: .*pitch/);
    expect(out).toContain("1 of 2 offsets within the tolerance, 1 not.");
  });

  test("a file that lacks a register gives 1; one that sets none, or cannot be read, gives 2", () => {
    folder.put("plate.fixture.json", SIDECAR);
    folder.put("half.nc", "G21\nG10 L2 P1 X-620. Y-385. Z-345.\n");
    folder.put("none.nc", "(NOTHING HERE)\n");
    const status = (file: string) => folder.jawline(["offsets", "plate.fixture.json", "--against", file]).status;
    expect([status("half.nc"), status("none.nc"), status("gone.nc")]).toEqual([1, 2, 2]);
    expect(folder.jawline(["offsets", "plate.fixture.json", "--against", "gone.nc"]).err).toBe("jawline: gone.nc: there is no such file\n");
  });

  test("a line that cannot be read is named, and the answer is not called whole", () => {
    folder.put("plate.fixture.json", SIDECAR);
    folder.put("table.nc", "G21\nG10 L2 P1 X-620. Y-385. Z-345.\nG10 L2 P9 X0\nG10 L2 P2 X-420. Y-385. Z-345.\n");
    const { err, status } = folder.jawline(["offsets", "plate.fixture.json", "--against", "table.nc"]);
    expect(err).toMatch(/^table\.nc:3:\d+: /);
    expect(status).toBe(2);
  });
});
