import { fixtureMessages } from "../fixture/messages.js";
import { reportNotes } from "./notes.js";
import { defineRule } from "./rule.js";

/** A station stands on an intersection that the base does not have, or a jaw beyond its body. */
export const fixtureOffGrid = defineRule({
  id: "fixture-off-grid",
  level: "error",
  summary: "A station stands on an intersection that the base does not have, or a jaw beyond its body.",
  onSubprograms: true,
  messages: fixtureMessages["fixture-off-grid"] ?? {},
  docs: `
The tenon finds no hole there, or the jaw stands half in the air.

~~~case
The base has columns 0 to 11.
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
    { "id": "A1", "base": "plate", "at": [12, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "endStop": { "element": "es", "side": "high", "at": 30 }, "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
//                                       ^^^^^^^ error fixture-off-grid: A1: intersection [12, 1] is not on base plate, which has 12 × 8
  ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
M30
~~~

~~~case
The moving jaw hangs over the edge.
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
    { "id": "A1", "base": "plate", "at": [1, 7], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "endStop": { "element": "es", "side": "high", "at": 30 }, "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
//                                       ^^^^^^ error fixture-off-grid: A1: the moving jaw stands 86 mm beyond the body of base plate
  ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
M30
~~~

~~~case
The last column there is.
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
    { "id": "A1", "base": "plate", "at": [10, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "endStop": { "element": "es", "side": "high", "at": 30 }, "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
  ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
M30
~~~
`,
  check(cx) {
    reportNotes(cx, "fixture-off-grid");
  },
});
