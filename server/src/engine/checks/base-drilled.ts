import { RELATED_TEXTS, reportIncidents } from "./lib/speak.js";
import { defineRule } from "./rule.js";

/** A hole that goes on into the parallel or the base. */
export const baseDrilled = defineRule({
  id: "base-drilled",
  level: "error",
  summary: "A hole, measured to the tip of the drill, reaches the parallel or the base.",
  messages: {
    default: "{station}: {tool} drills {depth} into the {solid} at {to}, measured to the tip; make the hole shallower or give it room",
    ...RELATED_TEXTS,
  },
  docs: `
The depth of a hole is programmed at the full diameter or at the tip, and a through hole goes on below the part. What lies there is
a hardened parallel or the plate itself. Depth is counted to the tip of the drill: the tool point of a drill is the tip of its cone.

Stop above the seat, put the parallels beside the hole (the sidecar's \`parallels\` say where they lie), or drill after the part is
turned over.

~~~case
The tip goes 2 mm below the part, into the parallels.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
G0 G54 X20 Y20 S2000 M3
G43 H2 Z50
G98 G81 X20 Y20 Z-32 R2 F200
;^^^^^^^^^^^^^^^^^^^^^^^^^^^ error base-drilled: A1: tool 2 (drill 6.8) drills 2 mm into the parallels
G80
G28 G91 Z0
M30
~~~

~~~case
The parallels leave a channel under the hole.
-- fixture.json --
{
  "format": 1,
  "units": "mm",
  "machine": { "dialect": "iso", "home": { "X": 0, "Y": 0, "Z": 0 } },
  "bases": { "plate": { "pitch": 50, "columns": 6, "rows": 4, "zero": { "X": -700, "Y": -450, "Z": -400 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "parts": { "bracket": { "ops": { "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" }, "reversible": true } } } },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+X", "fixedJaw": "fj", "seat": 25, "parallels": [[0, 10], [31, 41]],
      "part": "bracket", "op": "op10", "offset": "G54" }
  ],
  "tools": { "2": { "name": "drill 6.8", "DC": 6.8, "APMX": 50, "LF": 140, "SIG": 118, "H": 2 } }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
G0 G54 X20 Y20 S2000 M3
G43 H2 Z50
G98 G81 X20 Y20 Z-32 R2 F200
G80
G28 G91 Z0
M30
~~~
`,
  check: (cx) => reportIncidents(cx, "base-drilled", () => ({})),
});
