import { describe, expect, it } from "vitest";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import { catalogueIds } from "../../server/src/engine/fixture/catalogue.js";
import { listing, runBench } from "./bench.js";
import { faults, nearMisses } from "./faults/all.js";
import { printJson } from "./json.js";
import { Random } from "./random.js";
import { drawShop, positionAt, turn } from "./shop.js";

describe("what the bench holds the engine to", () => {
  it("has a fault for every rule of the catalogue", () => {
    const without = catalogueIds.filter((id) => !faults.some((f) => f.rule === id));
    expect(without).toEqual([]);
    expect(rules.map((r) => r.id).filter((id) => !catalogueIds.includes(id))).toEqual([]);
  });

  it("names no fault or near miss twice", () => {
    for (const list of [faults, nearMisses]) {
      const names = list.map((f) => `${f.rule}: ${f.name}`);
      expect(new Set(names).size).toBe(names.length);
    }
  });

  // The worked example of the sidecar's format page, by hand: station frame (15, -30, 55), base (80, 65, 55).
  it("works positions out as the format page does", () => {
    const shop = drawShop(new Random(1), { kind: "plate", groups: 1, most: 1, clamp: "+Y" });
    const drawn = shop.groups[0];
    if (drawn === undefined) throw new Error("a shop without stations");
    const group = {
      ...drawn,
      clamp: "+Y" as const,
      stock: [41, 60, 30] as const,
      zero: { u: "fixedJaw", v: "low", w: "top" },
      seat: 25,
      stop: { side: "low", at: -30 } as const,
      fixedJaw: { ...drawn.fixedJaw, face: 15 },
      base: { ...drawn.base, pitch: [50, 50] as const, zero: [-700, -450, -400] as const, skew: 0 },
    };
    expect(positionAt(group, [1, 1])).toEqual([-620, -385, -345]);
    const skewed = positionAt({ ...group, base: { ...group.base, skew: 0.1 } }, [1, 1]);
    expect(skewed[0]).toBeCloseTo(-620.11357, 5);
    expect(skewed[1]).toBeCloseTo(-384.86047, 5);
  });

  it("turns station directions as the format page does", () => {
    expect([turn("+X", 1, 0), turn("+Y", 1, 0), turn("-X", 1, 0), turn("-Y", 1, 0)].map((p) => p.map((x) => x + 0))).toEqual([
      [1, 0],
      [0, 1],
      [-1, 0],
      [0, -1],
    ]);
    expect([turn("+X", 0, 1), turn("+Y", 0, 1), turn("-X", 0, 1), turn("-Y", 0, 1)].map((p) => p.map((x) => x + 0))).toEqual([
      [0, 1],
      [-1, 0],
      [0, -1],
      [1, 0],
    ]);
  });

  it("knows on which line of a sidecar a value stands", () => {
    const printed = printJson({ a: [1, 2], b: [{ c: "x" }, { c: "y" }] });
    expect(printed.text.split("\n")[printed.lineOf(["b", 1, "c"])]?.trim()).toBe('"c": "y"');
  });

  it("draws the same cases for the same seed", () => {
    const text = (): string => JSON.stringify(drawShop(new Random(7)).sidecar);
    expect(text()).toBe(text());
  });
});

describe("the bench with a fixed seed", () => {
  it("is silent on clean programs", { timeout: 180_000 }, () => {
    const result = runBench({ seed: 20, cases: 100, clean: true });
    expect(listing(result, 4)).toBe("");
    expect(result.clean).toBe(100);
  });

  for (const rule of catalogueIds) {
    it(`finds each fault of ${rule} at its block, says nothing on top, and lets its near misses be`, { timeout: 60_000 }, () => {
      const result = runBench({ seed: 20, cases: 4, rule });
      expect(listing(result, 4)).toBe("");
      expect(result.rows.find((r) => r.rule === rule)?.cases).toBeGreaterThan(0);
      expect(result.rows.flatMap((r) => r.idle)).toEqual([]);
    });
  }
});
