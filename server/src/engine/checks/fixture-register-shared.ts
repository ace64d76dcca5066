import { fixtureMessages } from "../fixture/messages.js";
import { reportNotes } from "./notes.js";
import { defineRule } from "./rule.js";

/** One work offset for two stations. */
export const fixtureRegisterShared = defineRule({
  id: "fixture-register-shared",
  level: "error",
  summary: "One work offset for two stations.",
  onSubprograms: true,
  messages: fixtureMessages["fixture-register-shared"] ?? {},
  docs: `
One register cannot hold two positions: one of the two stations is cut where the other one stands. One offset that serves
several nests on purpose is declared by \`"sharesOffset": true\` on each of them.

~~~case
A2 has the offset of A1.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "machine": { "dialect": "iso", "travel": { "X": [-1020, 0], "Y": [-510, 0], "Z": [-560, 0] } },
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "movingJaws": { "mj": { "gap": 20, "increment": 3, "stroke": 8, "notches": 40, "loading": 1, "reserve": 1, "length": 55, "width": 60, "height": 42 } },
  "endStops": { "es": { "thickness": 12, "length": 30, "height": 30 } },
  "parts": {
    "bracket": {
      "ops": {
        "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "stockTolerance": 0.3, "zero": { "u": "fixedJaw", "v": "high", "w": "top" }, "reversible": true }
      }
    }
  },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "endStop": { "element": "es", "side": "high", "at": 30 }, "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" },
    { "id": "A2", "base": "plate", "at": [4, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "endStop": { "element": "es", "side": "high", "at": 30 }, "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
//                                                                                                                                                                                                                                ^^^^^ error fixture-register-shared: G54 belongs to the stations A1 and A2: one register cannot hold two positions
  ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
M30
~~~

~~~case
Two nests of one datum, declared.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "machine": { "dialect": "iso", "travel": { "X": [-1020, 0], "Y": [-510, 0], "Z": [-560, 0] } },
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "movingJaws": { "mj": { "gap": 20, "increment": 3, "stroke": 8, "notches": 40, "loading": 1, "reserve": 1, "length": 55, "width": 60, "height": 42 } },
  "endStops": { "es": { "thickness": 12, "length": 30, "height": 30 } },
  "parts": {
    "bracket": {
      "ops": {
        "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "stockTolerance": 0.3, "zero": { "u": "fixedJaw", "v": "high", "w": "top" }, "reversible": true }
      }
    }
  },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "endStop": { "element": "es", "side": "high", "at": 30 }, "seat": 25, "part": "bracket", "op": "op10", "offset": "G54", "sharesOffset": true },
    { "id": "A2", "base": "plate", "at": [4, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "endStop": { "element": "es", "side": "high", "at": 30 }, "seat": 25, "part": "bracket", "op": "op10", "offset": "G54", "sharesOffset": true }
  ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
M30
~~~
`,
  check(cx) {
    reportNotes(cx, "fixture-register-shared");
  },
});
