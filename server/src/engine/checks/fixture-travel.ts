import { fixtureMessages } from "../fixture/messages.js";
import { reportNotes } from "./notes.js";
import { defineRule } from "./rule.js";

/** A station's part zero lies outside the travel of the machine. */
export const fixtureTravel = defineRule({
  id: "fixture-travel",
  level: "error",
  summary: "A station's part zero lies outside the travel of the machine.",
  onSubprograms: true,
  messages: fixtureMessages["fixture-travel"] ?? {},
  docs: `
The spindle cannot get there. X and Y are looked at always; Z with the length of each tool that visits the station.

~~~case
X ends at -650 on this machine.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "machine": { "dialect": "iso", "travel": { "X": [-650, 0], "Y": [-510, 0], "Z": [-560, 0] } },
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
//                                       ^^^^^^ error fixture-travel: A1: the part zero at X -680 mm is 30 mm outside the travel -650 mm … 0 mm
  ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
M30
~~~

~~~case
Within the travel.
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
    reportNotes(cx, "fixture-travel");
  },
});
