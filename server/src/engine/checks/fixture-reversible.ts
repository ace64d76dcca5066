import { fixtureMessages } from "../fixture/messages.js";
import { reportNotes } from "./notes.js";
import { defineRule } from "./rule.js";

/** A part that fits its nest the wrong way round. */
export const fixtureReversible = defineRule({
  id: "fixture-reversible",
  level: "information",
  summary: "A part that fits its nest the wrong way round.",
  onSubprograms: true,
  messages: fixtureMessages["fixture-reversible"] ?? {},
  docs: `
The stock fits turned by 180°, and nothing in the nest decides. Put the right way on the setup sheet, or let an end stop
decide. Parts for which both ways are right are declared by \`"reversible": true\`.

~~~case
No end stop, and the part has a right way round.
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
        "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "stockTolerance": 0.3, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": false }
      }
    }
  },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
//          ^^^^ information fixture-reversible: A1: bracket op10 fits its nest the wrong way round and nothing stops it; put it on the setup sheet
  ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
M30
~~~

~~~case
Both ways are right.
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
        "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "stockTolerance": 0.3, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": true }
      }
    }
  },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
  ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
M30
~~~
`,
  check(cx) {
    reportNotes(cx, "fixture-reversible");
  },
});
