import { expect, it } from "vitest";
import { loadFixture } from "../../server/src/engine/fixture/load.js";

it("the worked example of the sidecar contract, station A1", () => {
  const text = `{ "format": 1, "units": "mm",
  "bases": { "plate": { "pitch": 50, "columns": 18, "rows": 9, "zero": { "X": -700, "Y": -450, "Z": -400 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj60": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "movingJaws":  { "mj60": { "gap": 20, "increment": 3, "stroke": 8, "notches": 40, "loading": 1, "reserve": 1, "length": 55, "width": 60, "height": 42 } },
  "endStops":   { "es12": { "thickness": 12, "length": 30, "height": 30 } },
  "parts": { "bracket": { "ops": { "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "stockTolerance": 0.3, "zero": { "u": "fixedJaw", "v": "low", "w": "top" } } } } },
  "stations": [ { "id": "A", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj60", "movingJaw": "mj60", "notch": 8, "endStop": { "element": "es12", "side": "low", "at": -30 }, "seat": 25, "part": "bracket", "op": "op10", "offset": "G54.1 P1", "repeat": {"columns": 6, "rows": 2, "step": [3, 4]} } ] }`;
  const f = loadFixture({ read: (p) => (p === "/a/b.fixture.json" ? text : undefined), list: () => [] }, "/a/b.fixture.json");
  expect(f.stations[0]?.computed.X).toBe(-620);
});
