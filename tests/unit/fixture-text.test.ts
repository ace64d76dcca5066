import { describe, expect, it } from "vitest";
import { type Answers, fixtureText } from "../../client/src/fixture-text.js";
import { loadFixture } from "../../server/src/engine/fixture/load.js";

const answers: Answers = {
  units: "mm",
  pitch: 50,
  columns: 12,
  rows: 10,
  zero: [-700, -450, -400],
  clamp: "+Y",
  across: 3,
  up: 2,
  step: [3, 4],
  firstOffset: "G54.1 P1",
};

function load(a: Answers) {
  const text = fixtureText(a);
  return loadFixture({ read: () => text, list: () => [] }, "/part.fixture.json");
}

describe("the sidecar that the assistant writes", () => {
  it("is understood without a finding, with its stations and offsets in order", () => {
    const fixture = load(answers);
    expect(fixture.notes).toEqual([]);
    expect(fixture.stations.map((s) => `${s.id} ${s.offsetName}`)).toEqual([
      "A1 G54.1 P1",
      "A2 G54.1 P2",
      "A3 G54.1 P3",
      "A4 G54.1 P4",
      "A5 G54.1 P5",
      "A6 G54.1 P6",
    ]);
    // By hand: intersection [1, 1] is at 50, 50; u points to +Y: centre of the stock at 15 + 20; top at 25 + 30.
    expect(fixture.stations[0]?.computed).toMatchObject({ X: -700 + 50, Y: -450 + 50 + 35, Z: -400 + 55 });
  });

  it("is understood for one station, every clamping direction and in inches", () => {
    for (const clamp of ["+X", "-X", "+Y", "-Y"] as const) {
      expect(load({ ...answers, clamp, across: 1, up: 1, firstOffset: "G54" }).notes).toEqual([]);
    }
    const inch = load({ ...answers, units: "inch", pitch: 2, zero: [-20, -16, -18], across: 1, up: 1, firstOffset: "G55" });
    expect(inch.notes).toEqual([]);
    expect(inch.units).toBe("inch");
  });

  it("says so when the answers do not fit the grid", () => {
    expect(load({ ...answers, columns: 3 }).notes.map((n) => n.rule)).toContain("fixture-off-grid");
  });
});
