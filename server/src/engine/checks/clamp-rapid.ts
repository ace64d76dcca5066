import { RELATED_TEXTS, reportIncidents } from "./lib/speak.js";
import { defineRule } from "./rule.js";

/** A rapid that enters something fixed, or comes too near to it. */
export const clampRapid = defineRule({
  id: "clamp-rapid",
  level: "error",
  summary: "A rapid goes into a jaw, stop, parallel, base or obstacle, or closer than the rapid clearance.",
  messages: {
    default: "{station}: {tool} goes {depth} into the {solid} on the rapid to {to}; raise Z first, or go round",
    near: "{station}: {tool} passes {distance} from the {solid} on the rapid to {to}; a rapid must keep {clearance}",
    ...RELATED_TEXTS,
  },
  docs: `
At rapid the tool hits the jaw, the stop, the parallel or the plate with the full rate of the axes: the tool breaks, the jaw is
marked, and the station may no longer stand where its work offset says.

The whole tool is followed, with shank and holder, along every way that the control may take: where the sidecar's \`rapidPath\`
is \`either\`, the straight line and the way of axes that run independently must both be clear. The least distance must be at least
\`clearance.rapid\`; a rapid that starts nearer (out of a hole beside a jaw) and leaves is judged by \`clearance.cut\`. The stock of
another station counts like a jaw; for the stock at the station itself see \`stock-rapid\`.

Raise the tool before it crosses, or go round in two blocks whose order keeps clear.

~~~case
The tool crosses the fixed jaw below its top.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-10 Y-20 S4000 M3
G43 H1 Z50
G0 Z-15
X70
;^^ error clamp-rapid: A1: tool 1 (end mill 10) goes
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
The same crossing above the jaw.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-10 Y-20 S4000 M3
G43 H1 Z50
G0 Z5
X70
Z50
G28 G91 Z0
M30
~~~

~~~case
Round the corner of the fixed jaw in two blocks; the straight way would go through it.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-30 Y50 S4000 M3
G43 H1 Z50
G0 Z-9
Y-60
X70
Z50
G28 G91 Z0
M30
~~~

~~~case
Past the corner of the fixed jaw on the slant, where the control goes straight.
-- fixture.json --
{
  "format": 1,
  "units": "mm",
  "machine": { "dialect": "iso", "home": { "X": 0, "Y": 0, "Z": 0 }, "rapid": { "X": 30000, "Y": 30000, "Z": 24000 }, "rapidPath": "straight" },
  "bases": { "plate": { "pitch": 50, "columns": 6, "rows": 4, "zero": { "X": -700, "Y": -450, "Z": -400 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "parts": { "bracket": { "ops": { "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "high", "w": "top" }, "reversible": true } } } },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
  ],
  "tools": { "1": { "name": "end mill 10", "DC": 10, "APMX": 30, "LF": 120, "H": 1 } }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-30 Y-20 S4000 M3
G43 H1 Z50
G0 Z-15
X30 Y-100
Z50
G28 G91 Z0
M30
~~~

~~~case
The same, where each axis runs at its own rate: X is done long before Y, and that is in the jaw.
-- fixture.json --
{
  "format": 1,
  "units": "mm",
  "machine": { "dialect": "iso", "home": { "X": 0, "Y": 0, "Z": 0 }, "rapid": { "X": 30000, "Y": 5000, "Z": 24000 }, "rapidPath": "independent" },
  "bases": { "plate": { "pitch": 50, "columns": 6, "rows": 4, "zero": { "X": -700, "Y": -450, "Z": -400 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "parts": { "bracket": { "ops": { "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "high", "w": "top" }, "reversible": true } } } },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
  ],
  "tools": { "1": { "name": "end mill 10", "DC": 10, "APMX": 30, "LF": 120, "H": 1 } }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-30 Y-20 S4000 M3
G43 H1 Z50
G0 Z-15
X30 Y-100
;^^^^^^^^ error clamp-rapid: A1: tool 1 (end mill 10) goes
Z50
G28 G91 Z0
M30
~~~
`,
  check: (cx) => reportIncidents(cx, "clamp-rapid", (i) => (i.enters ? {} : { key: "near" })),
});
