import { fixtureMessages } from "../fixture/messages.js";
import { reportNotes } from "./notes.js";
import { defineRule } from "./rule.js";

/** Solids of two stations meet, or there is no room to load. */
export const fixtureOverlap = defineRule({
  id: "fixture-overlap",
  level: "error",
  summary: "Solids of two stations meet, or there is no room to load.",
  onSubprograms: true,
  messages: fixtureMessages["fixture-overlap"] ?? {},
  docs: `
The jaws, stops and stock of two stations cannot be where the sidecar says at once; or the open moving jaw reaches the
neighbour; or the stock cannot be lifted in between the open jaws without touching the neighbour.

~~~case
A2 stands one column beside A1.
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
    { "id": "A2", "base": "plate", "at": [2, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "endStop": { "element": "es", "side": "high", "at": 30 }, "seat": 25, "part": "bracket", "op": "op10", "offset": "G55" }
//                                       ^^^^^^ error fixture-overlap: A1 and A2 meet: parallels and end stop, 22 mm deep
  ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
M30
~~~

~~~case
Three columns on there is room.
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
    { "id": "A2", "base": "plate", "at": [4, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "endStop": { "element": "es", "side": "high", "at": 30 }, "seat": 25, "part": "bracket", "op": "op10", "offset": "G55" }
  ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
M30
~~~
`,
  check(cx) {
    reportNotes(cx, "fixture-overlap");
  },
});
