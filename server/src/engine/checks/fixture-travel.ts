import { zTravelOf } from "../fixture/checks.js";
import { fixtureMessages } from "../fixture/messages.js";
import type { Station } from "../fixture/model.js";
import { listArg, toolWords } from "./lib/words.js";
import { reportNotes } from "./notes.js";
import { defineRule, type RuleContext } from "./rule.js";

/** Equal within a micrometre is inside (contract ruling 44), mm. */
const TOUCH = 1e-3;

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

~~~case
The spindle with tool 1, 120 long, would have to stand at Z -425, and the travel ends at -400.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "machine": { "dialect": "iso", "travel": { "X": [-1020, 0], "Y": [-510, 0], "Z": [-400, 0] } },
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -600 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "movingJaws": { "mj": { "gap": 20, "increment": 3, "stroke": 8, "notches": 40, "loading": 1, "reserve": 1, "length": 55, "width": 60, "height": 42 } },
  "parts": {
    "bracket": {
      "ops": {
        "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" } }
      }
    }
  },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
//                                       ^^^^^^ error fixture-travel: A1: with tool 1 (end mill 10) at the part zero the spindle is at Z -425 mm, 25 mm outside the travel -400 mm … 0 mm
  ],
  "tools": { "1": { "name": "end mill 10", "DC": 10, "APMX": 30, "LF": 120, "H": 1 } }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-40 Y-40 S4000 M3
G43 H1 Z300
G28 G91 Z0
M30
~~~

~~~case
The same exactly at the end of the travel.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "machine": { "dialect": "iso", "travel": { "X": [-1020, 0], "Y": [-510, 0], "Z": [-425, 0] } },
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -600 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "movingJaws": { "mj": { "gap": 20, "increment": 3, "stroke": 8, "notches": 40, "loading": 1, "reserve": 1, "length": 55, "width": 60, "height": 42 } },
  "parts": {
    "bracket": {
      "ops": {
        "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" } }
      }
    }
  },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8, "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
  ],
  "tools": { "1": { "name": "end mill 10", "DC": 10, "APMX": 30, "LF": 120, "H": 1 } }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-40 Y-40 S4000 M3
G43 H1 Z300
G28 G91 Z0
M30
~~~
`,
  check(cx) {
    reportNotes(cx, "fixture-travel");
    reportHeights(cx);
  },
});

/** Z, which needs the tool: the spindle's gauge point is LF above the part zero (contract ruling 24). One finding a tool and base. */
function reportHeights(cx: RuleContext): void {
  const { fixture } = cx;
  const range = fixture?.machine.travel.Z;
  if (fixture === undefined || range === undefined) return;
  interface Beyond {
    readonly station: Station;
    readonly tool: number;
    readonly over: number;
    readonly gauge: number;
  }
  const groups = new Map<string, Beyond[]>();
  for (const visit of cx.run.visits) {
    const station = fixture.stations[visit.station];
    if (station === undefined) continue;
    // Without a length it is not known how far out the spindle is.
    const LF = fixture.tools.get(visit.tool)?.LF ?? Number.NaN;
    const over = zTravelOf(fixture, station, LF);
    if (!(over > TOUCH)) continue;
    const key = `${visit.tool} ${station.base.name}`;
    const group = groups.get(key) ?? [];
    if (!group.some((g) => g.station === station)) group.push({ station, tool: visit.tool, over, gauge: station.computed.Z + LF });
    groups.set(key, group);
  }
  for (const group of groups.values()) {
    const worst = group.reduce((a, b) => (b.over > a.over ? b : a));
    const [first = worst] = group;
    const ids = group.map((g) => g.station.id);
    cx.report({
      at: fixture.placeOf(["stations", first.station.source, "at"]),
      key: "height",
      args: {
        stations: listArg(ids),
        tool: toolWords(cx, worst.tool),
        position: { mm: worst.gauge },
        distance: { mm: worst.over },
        low: { mm: range[0] },
        high: { mm: range[1] },
      },
      related: [{ place: fixture.placeOf(["machine", "travel", "Z"]), message: { key: "related.travel", args: {} } }],
      station: first.station.id,
      data: { station: first.station.id, stations: ids, axis: "Z", tool: worst.tool, distance: worst.over },
    });
  }
}
