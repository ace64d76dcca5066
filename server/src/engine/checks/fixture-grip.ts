import { fixtureMessages } from "../fixture/messages.js";
import { reportNotes } from "./notes.js";
import { defineRule } from "./rule.js";

/** The jaws grip less than a third of what stands above them, or do not reach the stock. */
export const fixtureGrip = defineRule({
  id: "fixture-grip",
  level: "warning",
  summary: "The jaws grip less than a third of what stands above them, or do not reach the stock.",
  onSubprograms: true,
  messages: fixtureMessages["fixture-grip"] ?? {},
  docs: `
A part held low tips out of the jaws under a side load. The third is common practice (no source).

~~~case
A tall part on tall parallels.
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
        "op10": { "stock": { "u": 41, "v": 60, "w": 60 }, "stockTolerance": 0.3, "zero": { "u": "fixedJaw", "v": "high", "w": "top" }, "reversible": true }
      }
    }
  },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "endStop": { "element": "es", "side": "high", "at": 30 }, "seat": 38, "part": "bracket", "op": "op10", "offset": "G54" }
//                                                                                                                                                                                 ^^ warning fixture-grip: A1: the lowest jaw grips 4 mm of the stock and 56 mm stand above it
  ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
M30
~~~

~~~case
17 mm of grip for 13 mm above.
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
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "endStop": { "element": "es", "side": "high", "at": 30 }, "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
  ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
M30
~~~
`,
  check(cx) {
    reportNotes(cx, "fixture-grip");
  },
});
