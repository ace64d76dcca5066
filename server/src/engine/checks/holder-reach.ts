import { RELATED_TEXTS, reportIncidents } from "./lib/speak.js";
import { toolWords } from "./lib/words.js";
import { defineRule } from "./rule.js";

/** The cutting part is where it should be, but shank or holder is not clear. */
export const holderReach = defineRule({
  id: "holder-reach",
  level: "warning",
  summary: "Shank or holder goes into a solid or into the stock while the cutting part is where it should be.",
  messages: {
    default: "{station}: {tool} goes {depth} into the {solid} on the way to {to}; the tool needs more stick-out",
    deep: "{station}: on the way to {to} the {solid} stands {depth} higher than the cutting part of {cutter} reaches, and {tool} runs into it; cut in more steps, or with a longer cutting part",
    ...RELATED_TEXTS,
  },
  docs: `
The cut itself is right, but the tool is too short for it: the shank rubs on the wall or the holder comes down on the jaw. The
stack of the tool is followed from the tool point up; the stock counts with what earlier cuts have left of it. A cut from the side that
is deeper than the cutting part is long (APMX) brings the shank into the stock that still stands above it, however slim it is.

Set the tool with more stick-out, use a longer one or a slimmer holder, or cut from the side where there is room. Without \`shank\` in
the sidecar the cutting diameter is taken to go up to the holder, and this rule has nothing to look at.

~~~case
A stub tool: 12 mm below the top its holder is in the stock beside the pocket.
-- fixture.json --
{
  "format": 1,
  "units": "mm",
  "machine": { "dialect": "iso", "home": { "X": 0, "Y": 0, "Z": 0 } },
  "bases": { "plate": { "pitch": 50, "columns": 6, "rows": 4, "zero": { "X": -700, "Y": -450, "Z": -400 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "parts": { "bracket": { "ops": { "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" }, "reversible": true } } } },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+X", "fixedJaw": "fj", "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
  ],
  "tools": { "1": { "name": "stub 6", "DC": 6, "APMX": 8, "LF": 80, "shank": { "D": 6, "L": 10 }, "holder": [{ "D": 40, "L": 50 }], "H": 1 } }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X20 Y20 S6000 M3
G43 H1 Z50
G0 Z2
G1 Z-12 F300
;^^^^^^^^^^^ warning holder-reach: A1: the holder of tool 1 (stub 6) goes
X25
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
Enough stick-out.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X20 Y20 S6000 M3
G43 H1 Z50
G0 Z2
G1 Z-12 F300
X25
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
A groove 30 deep in one pass, with a cutting part of 20: the shank, as thick as the cutter, comes to 10 mm of stock that nothing has cut.
-- fixture.json --
{
  "format": 1,
  "units": "mm",
  "machine": { "dialect": "iso", "home": { "X": 0, "Y": 0, "Z": 0 } },
  "bases": { "plate": { "pitch": 50, "columns": 6, "rows": 4, "zero": { "X": -700, "Y": -450, "Z": -400 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 60, "v": 60, "w": 60 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" }, "reversible": true } } } },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+X", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54" }
  ],
  "tools": { "1": { "name": "end mill 10", "DC": 10, "APMX": 20, "LF": 120, "shank": { "D": 10, "L": 70 }, "holder": [{ "D": 40, "L": 40 }], "H": 1 } }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X30 Y-20 S6000 M3
G43 H1 Z50
G0 Z-30
G1 Y30 F300
;^^^^^^^^^^ warning holder-reach: A1: on the way to Y30 the stock stands 10 mm higher than the cutting part of tool 1 (end mill 10) reaches
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
The same groove in two steps.
-- fixture.json --
{
  "format": 1,
  "units": "mm",
  "machine": { "dialect": "iso", "home": { "X": 0, "Y": 0, "Z": 0 } },
  "bases": { "plate": { "pitch": 50, "columns": 6, "rows": 4, "zero": { "X": -700, "Y": -450, "Z": -400 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 60, "v": 60, "w": 60 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" }, "reversible": true } } } },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+X", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54" }
  ],
  "tools": { "1": { "name": "end mill 10", "DC": 10, "APMX": 20, "LF": 120, "shank": { "D": 10, "L": 70 }, "holder": [{ "D": 40, "L": 40 }], "H": 1 } }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X30 Y-20 S6000 M3
G43 H1 Z50
G0 Z-15
G1 Y30 F300
G0 Y-20
Z-30
G1 Y30
G0 Z50
G28 G91 Z0
M30
~~~
`,
  check: (cx) =>
    reportIncidents(cx, "holder-reach", (i) => {
      const move = cx.run.moves[i.move];
      return i.tooHigh && move !== undefined ? { key: "deep", args: { cutter: toolWords(cx, move.modal.tool) } } : {};
    }),
});
