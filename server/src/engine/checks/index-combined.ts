import { reportSwings, SWING_TEXTS } from "./lib/swings.js";
import { defineRule } from "./rule.js";

/** Rotary and linear axes start together in a rapid, inside the swing. */
export const indexCombined = defineRule({
  id: "index-combined",
  level: "error",
  summary: "Rotary and linear axes move in one rapid block inside the swing of the work.",
  messages: {
    default: "the work turns to {angle} while {tool} moves, and the {solid} swings into it; index in a block of its own, after the retract",
    near: "the work turns to {angle} while {tool} moves, and the {solid} swings past it at {distance}, where {clearance} must be kept; index in a block of its own, after the retract",
    "related.before": "the last move leaves the tool here",
    ...SWING_TEXTS,
  },
  docs: `
In one block all axes start together. The retract and the turn race each other, and which of them wins depends on rates, overrides and the
length of the way; inside the swing of the work that is not a matter for chance.

Split the block: retract, then index, then go on. A move that is meant to cut with the rotary axis is allowed where it stands, with its
reason.

The fix splits the block in the order in which both halves are clear. Where neither order is, it retracts in a block before, to the lowest
whole level outside the swing, where that is within the travel.

~~~case
Retract and turn in one block.
-- use: tombstone --
-- part.nc --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G90 B0
T1 M6
G0 G54 X10 Y10 S4000 M3
G43 H1 Z50
G1 Z-2 F300
G0 Z250 B180
;^^^^^^^^^^^ error index-combined: the work turns to 180° while tool 1 (end mill 10) moves, and the stock of F1 swings into it; index in a block of its own, after the retract
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
G0 Z250
B180
G28 G91 Z0
M30
~~~

~~~case
First the retract, then the turn.
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

~~~case
Cutting with the rotary axis on purpose, declared.
-- use: tombstone --
-- part.nc --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G90 B0
T1 M6
G0 G54 X10 Y10 S4000 M3
G43 H1 Z50
G1 Z-2 F300
G0 X12 B1 (ALLOW index-combined: the draft of one degree is cut with the table)
;^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ information index-combined: the work turns to 1° while tool 1 (end mill 10) moves, and the stock of F1 swings into it; index in a block of its own, after the retract [allowed: the draft of one degree is cut with the table]
G28 G91 Z0
M30
~~~
`,
  check: (cx) => reportSwings(cx, "combined"),
});
