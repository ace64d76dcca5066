/**
 * What a work offset must hold, as table, G10 blocks and JSON, and the comparison with a file. The position is the
 * worked example of the sidecar's format page (X-620 Y-385 Z-345); everything else is its arithmetic by hand:
 * register = position - common shift - (Z only) the position that stored values count from.
 */
import { describe, expect, test } from "vitest";
import { addressOf } from "../../server/src/cli/offsets.js";
import { builtInProfiles } from "../../server/src/engine/dialect/profiles.js";
import type { Fixture } from "../../server/src/engine/fixture/model.js";
import { readOffsetLines } from "../../server/src/engine/fixture/stored.js";
import { offsetBlock, offsetsJson, offsetsTable, requiredOffsets } from "../../server/src/report/offset-block.js";
import { compareOffsets, comparisonJson, comparisonText, type Registers } from "../../server/src/report/offset-comparison.js";
import { fixture, placeAt, profile, SIDECAR, station } from "../support/analysis.js";

const second = station({
  index: 1,
  id: "A2",
  offset: "P12",
  offsetName: "G54.1 P12",
  computed: { X: -420.11357, Y: -384.86047, Z: -345, rotary: undefined },
});
const two = (change: Partial<Fixture> = {}) => fixture({ stations: [station(), second], ...change });
const rotary = { axis: "B", centre: [-500, 0, -600], sense: 1, indexSeconds: undefined, inOffset: true } as const;

/** The blocks without comments and the lines that set modes. */
function blocks(text: string): string[] {
  return text
    .split("\n")
    .map((line) => line.replace(/\(.*?\)/g, "").trim())
    .filter((line) => line.startsWith("G10"));
}

function registers(text: string, f: Fixture): Registers {
  const read = readOffsetLines("/shop/table.nc", text, f.machine.profile, f.units, f.machine.rotary);
  expect(read.notes).toEqual([]);
  return {
    values: new Map([...read.stored].map(([key, { values, place }]) => [key, { values, line: place.range.line }])),
    commonShift: read.commonShift,
  };
}

describe("what a register must hold", () => {
  test("is the position where nothing is shifted", () => {
    expect(requiredOffsets(two()).map(({ offset, X, Y, Z }) => [offset, X, Y, Z])).toEqual([
      ["G54", -620, -385, -345],
      ["P12", -420.11357, -384.86047, -345],
    ]);
  });

  test("is less the common shift, and Z less what it counts from", () => {
    const [first] = requiredOffsets(two({ commonShift: { X: 1, Z: -10 }, zFrom: { kind: "base", base: "plate" }, zReference: -400 }));
    expect(first).toMatchObject({ X: -621, Y: -385, Z: 65 });
  });

  test("is left out for a station without an offset", () => {
    expect(requiredOffsets(fixture({ stations: [station({ offset: undefined, offsetName: undefined })] }))).toEqual([]);
  });
});

describe("the table", () => {
  test("has a row for each station, in the sidecar's units, and says what the values count from", () => {
    const lines = offsetsTable(two())
      .split("\n")
      .map((line) => line.trim().split(/\s{2,}/));
    expect(lines[0]).toEqual(["offset", "station", "X", "Y", "Z"]);
    expect(lines).toContainEqual(["G54", "A1", "-620.000", "-385.000", "-345.000"]);
    expect(lines).toContainEqual(["G54.1 P12", "A2", "-420.114", "-384.860", "-345.000"]);
    expect(offsetsTable(two())).toContain("Lengths in mm; Z counts from the machine datum; no common shift.");
    // 620 mm are 24.4094 inch.
    expect(offsetsTable(two({ units: "inch" }))).toContain("-24.4094");
    expect(offsetsTable(two({ commonShift: { Y: 0.5 }, zFrom: { kind: "station", station: "A1" }, zReference: -345 }))).toContain(
      "Z counts from station A1 at Z -345.000; with a common shift of Y 0.500.",
    );
  });
});

describe("JSON", () => {
  test("is in millimetres whatever the units, null where a value is not known", () => {
    const unknown = station({ computed: { X: Number.NaN, Y: -385, Z: -345, rotary: 90 } });
    expect(JSON.parse(JSON.stringify(offsetsJson(fixture({ units: "inch", stations: [unknown] }))))).toEqual([
      { offset: "G54", station: "A1", required: { X: null, Y: -385, Z: -345, rotary: 90 } },
    ]);
  });

  test("shows what is known to be stored", () => {
    const stored = new Map([["P12", { values: { X: -420.1, Z: -345 }, place: placeAt(SIDECAR, 0, 0, 1), source: "values" as const }]]);
    expect(JSON.parse(JSON.stringify(offsetsJson(two({ stored }))))[1]).toMatchObject({
      offset: "G54.1 P12",
      stored: { X: -420.1, Z: -345 },
    });
  });
});

describe("G10 blocks", () => {
  test("set base registers by L2 and additional ones by L20, always with a decimal point", () => {
    const { text, missing } = offsetBlock(two(), addressOf);
    expect(missing).toEqual([]);
    expect(text).toMatch(/^G21$/m);
    expect(text).toMatch(/^G90$/m);
    expect(blocks(text)).toEqual(["G10 L2 P1 X-620. Y-385. Z-345.", "G10 L20 P12 X-420.1136 Y-384.8605 Z-345."]);
  });

  test("are in inch in an inch sidecar", () => {
    const { text } = offsetBlock(fixture({ units: "inch" }), addressOf);
    expect(text).toMatch(/^G20$/m);
    // 620 / 25.4 = 24.409448…, 385 / 25.4 = 15.157480…, 345 / 25.4 = 13.582677…
    expect(blocks(text)).toEqual(["G10 L2 P1 X-24.40945 Y-15.15748 Z-13.58268"]);
  });

  test("hold the angle where there is a rotary axis, and no negative zero", () => {
    const one = station({ computed: { X: -0.00001, Y: 0, Z: -345, rotary: 90 } });
    const { text } = offsetBlock(fixture({ stations: [one], machine: { ...fixture().machine, rotary } }), addressOf);
    expect(blocks(text)).toEqual(["G10 L2 P1 X0. Y0. Z-345. B90."]);
  });

  test("leave out what is not known, and say so", () => {
    const one = station({ computed: { X: Number.NaN, Y: -385, Z: -345, rotary: undefined } });
    expect(offsetBlock(fixture({ stations: [one] }), addressOf)).toMatchObject({ missing: ["A1: X of G54 is not known"] });
    expect(blocks(offsetBlock(fixture({ stations: [one] }), addressOf).text)).toEqual(["G10 L2 P1 Y-385. Z-345."]);
  });

  test("name a register that the dialect cannot write", () => {
    const bare = builtInProfiles.get("bare");
    if (bare === undefined) throw new Error("there is no dialect bare");
    const { missing } = offsetBlock(fixture({ stations: [second], machine: { ...fixture().machine, profile: bare } }), addressOf);
    expect(missing).toEqual(["A2: dialect bare has no G10 block for G54.1 P12"]);
  });

  test("are written once for stations that share a register, and never two ways", () => {
    const twin = station({ index: 1, id: "A2" });
    const other = station({ index: 2, id: "A3", computed: { X: 0, Y: 0, Z: 0, rotary: undefined } });
    const { text, missing } = offsetBlock(fixture({ stations: [station(), twin, other] }), addressOf);
    expect(blocks(text)).toHaveLength(1);
    expect(missing).toEqual(["A3: shares G54 with a station that needs other values"]);
  });

  test("comments hold only what every control reads", () => {
    const odd = station({ id: "Größe (1)\n" });
    const { text } = offsetBlock(fixture({ stations: [odd] }), addressOf);
    expect(text).toMatch(/^[A-Z0-9 .,:;+\-/()\n]*$/);
    expect(text.split("\n").every((line) => (line.match(/[()]/g) ?? []).length % 2 === 0)).toBe(true);
  });

  test("read back, they are equal to what was asked for", () => {
    for (const units of ["mm", "inch"] as const) {
      const f = two({ units, commonShift: { X: 0.25, Z: -3 }, zFrom: { kind: "base", base: "plate" }, zReference: -400 });
      const comparison = compareOffsets(f, registers(offsetBlock(f, addressOf).text, f));
      expect(comparison).toMatchObject({ equal: true, complete: true, strangers: [] });
      for (const { difference } of comparison.entries) {
        // Half of the last decimal: 0.00005 mm, or 0.000005 inch = 0.000127 mm.
        for (const value of Object.values(difference)) expect(Math.abs(value)).toBeLessThanOrEqual(0.000128);
        expect(Object.keys(difference)).toEqual(["X", "Y", "Z"]);
      }
    }
  });
});

describe("the comparison", () => {
  const table = "G10 L2 P1 X-620.01 Y-385.03 Z-345.\nG10 L20 P12 X-420.114 Y-384.86\nG10 L20 P40 X1. Y1. Z1.\n";

  test("finds what is beyond the tolerance, what is left out, and what belongs to nobody", () => {
    const f = two();
    const comparison = compareOffsets(f, registers(table, f));
    expect(comparison).toMatchObject({ equal: false, complete: true, strangers: ["G54.1 P40"] });
    expect(comparison.entries).toMatchObject([
      { line: 1, beyond: ["Y"], absent: [], diagnosis: undefined },
      { line: 2, beyond: [], absent: ["Z"], diagnosis: undefined },
    ]);
    expect(comparison.entries[0]?.difference.Y).toBeCloseTo(-0.03, 9);
    const text = comparisonText(comparison, "table.nc");
    expect(text).toContain("table.nc:1: G54 of A1: Y holds -385.030, must hold -385.000\n");
    expect(text).toContain("table.nc:2: G54.1 P12 of A2: Z left out\n");
    expect(text).toContain("table.nc also sets G54.1 P40, which belongs to no station and no datum\n");
    expect(text.trimEnd().split("\n").at(-1)).toBe("0 of 2 offsets within the tolerance, 2 not.");
    expect(JSON.parse(JSON.stringify(comparisonJson(comparison)))).toEqual([
      {
        offset: "G54",
        station: "A1",
        required: { X: -620, Y: -385, Z: -345 },
        stored: { X: -620.01, Y: -385.03, Z: -345 },
        line: 1,
        difference: { X: -0.01, Y: -0.03, Z: 0 },
        beyond: ["Y"],
        absent: [],
      },
      expect.objectContaining({ offset: "G54.1 P12", line: 2, beyond: [], absent: ["Z"] }),
    ]);
  });

  test("says why, where a known slip explains it", () => {
    const f = two();
    const swapped = compareOffsets(f, registers("G10 L2 P1 X-385. Y-620. Z-345.\n", f));
    expect(swapped.entries[0]).toMatchObject({ beyond: ["X", "Y"], diagnosis: "X and Y are swapped" });
    expect(comparisonText(swapped, "t.nc")).toContain("must hold -385.000: X and Y are swapped\n");
  });

  test("takes a difference of the tolerance itself as within it", () => {
    const f = fixture();
    expect(compareOffsets(f, registers("G10 L2 P1 X-620.02 Y-384.98 Z-345.05\n", f)).equal).toBe(true);
    expect(compareOffsets(f, registers("G10 L2 P1 X-620.021 Y-385. Z-345.\n", f)).equal).toBe(false);
  });

  test("an axis that is set at the machine may be left out", () => {
    const f = fixture({ setAtMachine: ["Z"] });
    expect(compareOffsets(f, registers("G10 L2 P1 X-620. Y-385.\n", f)).equal).toBe(true);
  });

  test("a common shift in the file stands for the sidecar's", () => {
    const f = fixture({ commonShift: { X: 5 } });
    expect(compareOffsets(f, registers("G10 L2 P0 X10.\nG10 L2 P1 X-630. Y-385. Z-345.\n", f)).equal).toBe(true);
    expect(compareOffsets(f, registers("G10 L2 P1 X-625. Y-385. Z-345.\n", f)).equal).toBe(true);
  });

  test("a rotary value that is left out counts as zero", () => {
    const at = (angle: number) =>
      fixture({
        machine: { ...fixture().machine, rotary },
        stations: [station({ computed: { X: -620, Y: -385, Z: -345, rotary: angle } })],
      });
    const text = "G10 L2 P1 X-620. Y-385. Z-345.\n";
    expect(compareOffsets(at(0), registers(text, at(0))).equal).toBe(true);
    expect(compareOffsets(at(90), registers(text, at(90))).entries[0]).toMatchObject({ absent: ["rotary"] });
  });

  test("a register that the file lacks is a difference, a file with none at all could not be compared", () => {
    const f = two();
    const lacking = compareOffsets(f, registers("G10 L2 P1 X-620. Y-385. Z-345.\n", f));
    expect(lacking).toMatchObject({ equal: false, complete: true });
    expect(comparisonText(lacking, "t.nc")).toMatch(/G54\.1 P12 +A2 .*not in the file/);
    const nothing = compareOffsets(f, registers("(NOTHING)\n", f));
    expect(nothing).toMatchObject({ equal: false, complete: false });
    expect(comparisonText(nothing, "t.nc")).toContain("INCOMPLETE: t.nc sets no offset of any station.");
  });

  test("what the sidecar cannot compute is not called equal", () => {
    const f = fixture({ stations: [station({ computed: { X: Number.NaN, Y: -385, Z: -345, rotary: undefined } })] });
    const comparison = compareOffsets(f, registers("G10 L2 P1 X-620. Y-385. Z-345.\n", f));
    expect(comparison.complete).toBe(false);
    expect(comparisonText(comparison, "t.nc")).toContain(
      "INCOMPLETE: 0 of 1 offset within the tolerance, not everything could be compared.",
    );
  });
});

test("every register of every dialect that G10 can write has an address", () => {
  expect(addressOf("G54", profile)).toEqual({ l: 2, p: 1 });
  expect(addressOf("G59", profile)).toEqual({ l: 2, p: 6 });
  expect(addressOf("P300", profile)).toEqual({ l: 20, p: 300 });
  expect(addressOf("P301", profile)).toBeUndefined();
  const nist = builtInProfiles.get("rs274ngc");
  // NISTIR 6556, 3.5.5 and Table 2: G10 L2 P1 to P9 set coordinate systems 1 to 9; G59.3 is the ninth.
  expect(nist === undefined ? undefined : addressOf("G59.3", nist)).toEqual({ l: 2, p: 9 });
});
