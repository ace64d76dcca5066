import { reportSwings, SWING_TEXTS } from "./lib/swings.js";
import { defineRule } from "./rule.js";

/** The work turns while the tool stands within its swing. */
export const retractBeforeIndex = defineRule({
  id: "retract-before-index",
  level: "error",
  summary: "The rotary axis turns while the tool is inside the swing of the work.",
  messages: {
    default: "turning to {angle}, the {solid} swings into {tool}; retract Z before the index",
    near: "turning to {angle}, the {solid} swings past {tool} at {distance}, where {clearance} must be kept; retract Z before the index",
    "related.before": "the last move leaves the tool here",
    ...SWING_TEXTS,
  },
  docs: `
The corners of a tombstone stand farther from the axis than its faces, and so does the part on the next face. A tool that is well clear
of the face it has just left is hit by a corner as the work turns.

Everything on the rotary axis sweeps a cylinder; the whole tool must stay outside it by \`clearance.index\`, or must be clear of what the
solids really sweep on that turn by the same distance. A position in Z that is not known leaves the block unchecked, and the report
says so.

Retract to the reference position, or at least out of the swing, before every index.

The fix retracts in a block before the turn, to the lowest whole level outside the swing; none is offered where the travel ends below it,
or where the swing is about the axis of the spindle.

~~~case
The tool is still at the part when B turns.
-- use: tombstone --
-- part.nc --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G90 B0
T1 M6
G0 G54 X10 Y10 S4000 M3
G43 H1 Z50
G1 Z-2 F300
G0 Z20
B180
;^^^ error retract-before-index: turning to 180°, the base swings past tool 1 (end mill 10) at 15.564 mm, where 25 mm must be kept; retract Z before the index
G28 G91 Z0
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G90 B0
T1 M6
G0 G54 X10 Y10 S4000 M3
G43 H1 Z50
G1 Z-2 F300
G0 Z20
G0 Z31
B180
G28 G91 Z0
M30
~~~

~~~case
Retracted before the turn.
-- use: tombstone --
-- part.nc --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G90 B0
T1 M6
G0 G54 X10 Y10 S4000 M3
G43 H1 Z50
G1 Z-2 F300
G0 Z20
G28 G91 Z0
G90 B180
M30
~~~

~~~case
A short retract that clears the swing by more than the index clearance.
-- use: tombstone --
-- part.nc --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G90 B0
T1 M6
G0 G54 X10 Y10 S4000 M3
G43 H1 Z50
G1 Z-2 F300
G0 Z250
B180
G28 G91 Z0
M30
~~~
`,
  check: (cx) => reportSwings(cx, "turn"),
});
