import { RELATED_TEXTS, reportIncidents } from "./lib/speak.js";
import { defineRule } from "./rule.js";

/** A cutting move that enters what belongs to another station. */
export const neighbourCut = defineRule({
  id: "neighbour-cut",
  level: "error",
  summary: "A cutting move goes into the stock, jaws or stop of another station.",
  messages: {
    default: "{station}: {tool} cuts {depth} into the {solid} on the way to {to}; check the offset and the path",
    ...RELATED_TEXTS,
  },
  docs: `
Stations stand close together. A lead-out that is too long, a face mill that overhangs, or the offset of the wrong station, and the
cutter is in the part next door, which nobody is looking at.

Shorten the way out, change the side from which the cut begins, or correct the offset. A cut that is meant for several parts at
once (a slot through a whole row) is allowed where it stands, with its reason.

~~~case
The slot runs on through the neighbour.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-20 Y20 S4000 M3
G43 H1 Z50
G0 Z2
G1 Z-5 F500
X160
;^^^ error neighbour-cut: A1: tool 1 (end mill 10) cuts 5 mm into the stock of A2 on the way to X160; check the offset and the path
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
One slot through both parts, declared.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-20 Y20 S4000 M3
G43 H1 Z50
G0 Z2
G1 Z-5 F500
X230 (ALLOW neighbour-cut: one slot through the whole row)
;^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ information neighbour-cut: A1: tool 1 (end mill 10) cuts 5 mm into the stock of A2 on the way to X230; check the offset and the path [allowed: one slot through the whole row]
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
The lead-out ends before the neighbour.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-20 Y20 S4000 M3
G43 H1 Z50
G0 Z2
G1 Z-5 F500
X80
G0 Z50
G28 G91 Z0
M30
~~~
`,
  check: (cx) => reportIncidents(cx, "neighbour-cut", () => ({})),
});
