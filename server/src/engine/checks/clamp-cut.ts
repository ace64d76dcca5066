import { RELATED_TEXTS, reportIncidents } from "./lib/speak.js";
import { defineRule } from "./rule.js";

/** A cutting move that enters something of the fixture. */
export const clampCut = defineRule({
  id: "clamp-cut",
  level: "error",
  summary: "A cutting move goes into a jaw, stop, parallel, base or obstacle.",
  messages: {
    default: "{station}: {tool} cuts {depth} into the {solid} on the way to {to}; change the path or the depth",
    machinable: "{station}: {tool} cuts {depth} into the {solid} on the way to {to}; the jaw is marked as machinable",
    ...RELATED_TEXTS,
  },
  docs: `
The cutter goes into hardened steel: it breaks, pulls the part, and leaves a step in the jaw that holds the next part badly.

Change the path or the depth, turn the part in the nest, or use a jaw that leaves room. A jaw that may be cut (a soft jaw) is
marked \`"machinable": true\` in the sidecar; the cut is then only mentioned. A single cut that is meant can be allowed where it
stands, with its reason.

~~~case
The contour runs along the fixed jaw, 5 mm below its top.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-20 Y3 S4000 M3
G43 H1 Z50
G0 Z2
G1 Z-15 F500
X80
;^^ error clamp-cut: A1: tool 1 (end mill 10) cuts
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
The same contour above the jaw.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-20 Y3 S4000 M3
G43 H1 Z50
G0 Z2
G1 Z-9 F500
X80
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
A soft jaw, which may be cut.
-- fixture.json --
{
  "format": 1,
  "units": "mm",
  "machine": { "dialect": "iso", "home": { "X": 0, "Y": 0, "Z": 0 }, "rapidPath": "straight" },
  "bases": { "plate": { "pitch": 50, "columns": 6, "rows": 4, "zero": { "X": -700, "Y": -450, "Z": -400 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45, "machinable": true } },
  "parts": { "bracket": { "ops": { "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "high", "w": "top" }, "reversible": true } } } },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
  ],
  "tools": { "1": { "name": "end mill 10", "DC": 10, "APMX": 30, "LF": 120, "H": 1 } }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-20 Y3 S4000 M3
G43 H1 Z50
G0 Z2
G1 Z-15 F500
X80
;^^ information clamp-cut: A1: tool 1 (end mill 10) cuts
G0 Z50
G28 G91 Z0
M30
~~~
`,
  check: (cx) => reportIncidents(cx, "clamp-cut", (i) => (i.solid.machinable ? { key: "machinable", level: "information" } : {})),
});
