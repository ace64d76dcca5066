import type { Step } from "../machine/run.js";
import { blockBefore } from "./lib/edits.js";
import { inheritedStarts } from "./lib/inherited.js";
import { defineRule, type RuleContext } from "./rule.js";

/** A tool that starts under the offset at which the one before it ended. */
export const offsetInherited = defineRule({
  id: "offset-inherited",
  level: "error",
  summary: "The first motion in X or Y after a tool change runs under the last station's offset, which is not restated.",
  needs: "program",
  messages: {
    default: "T{tool} starts under {offset} only because the tool before it ended there: no block since the change selects a work offset",
    station:
      "T{tool} starts at {station} under {offset} only because the tool before it ended there: no block since the change selects a work offset",
    "related.stated": "{offset} was selected here",
    "related.motion": "first motion of T{tool}",
    "fix.restate": "Select {offset} again, which changes no motion",
  },
  docs: `
After a tool change the program moves in X or Y without saying at which station. The work offset of the tool before is
still in force: the new tool starts at the last station instead of the first. It also cannot be restarted from its change.

It is not reported in a program that uses only one work offset, where a called program selects the offset before it
moves, or where a part is machined by one tool after another under an offset that is stated once for all of them.

~~~case
T2 was meant to start at A1; G55 is still in force.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G90 G54 X0 Y0
G43 H1 Z50
G55 X0 Y0
G91 G28 Z0
G90
T2 M6
S3000 M3
G0 X10 Y10
;^^^^^^^^^ error offset-inherited: T2 starts at A2 under G55
G43 H2 Z50
G91 G28 Z0
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G90 G54 X0 Y0
G43 H1 Z50
G55 X0 Y0
G91 G28 Z0
G90
T2 M6
S3000 M3
G55
G0 X10 Y10
G43 H2 Z50
G91 G28 Z0
M30
~~~

~~~case
The called program selects the offset before it moves.
-- use: two-stations --
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G90 G54 X0 Y0
G43 H1 Z50
G55 X0 Y0
G91 G28 Z0
G90
T2 M6
S3000 M3
M98 P100
G91 G28 Z0
M30
O100
G0 G90 G54 X10 Y10
G43 H2 Z50
M99
~~~

~~~case
Part by part: both tools at A1, then both at A2. What a restart at T2 needs is another matter.
-- use: two-stations --
-- options --
ignore: state-incomplete
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
G54
M98 P100
G55
M98 P100
M30
O100
T1 M6
G17 G40 G80 S4000 M3
G90 G0 X10 Y10
G43 H1 Z50
G1 Z-1 F200
G0 Z50
G91 G28 Z0
T2 M6
G17 G40 G80 S3000 M3
G90 G0 X10 Y10
G43 H2 Z50
G1 Z-3 F200
G0 Z50
G91 G28 Z0
M99
~~~
`,
  *check(cx) {
    for (const [change, motion] of yield* inheritedStarts(cx)) report(cx, motion, change);
  },
});

function report(cx: RuleContext, motion: number, toolStep: number): void {
  const { run, fixture } = cx;
  const moving = run.steps[motion] as Step;
  let index = motion;
  let step = moving;
  // The block to change stands beside the tool change: a called program may serve other callers.
  while (step.call.caller > toolStep) {
    index = step.call.caller;
    step = run.steps[index] as Step;
  }
  const { tool, offset: key, offsetStep } = moving.after;
  const station = fixture?.stationsOf(key)[0];
  const offset = cx.offsetName(key);
  const stated = run.steps[offsetStep];
  const args = { tool, offset, ...(station === undefined ? {} : { station: station.id }) };
  cx.report({
    at: cx.blockPlace(step),
    key: station === undefined ? "default" : "station",
    args,
    step: index,
    ...(station === undefined ? {} : { station: station.id }),
    related: [
      ...(stated === undefined ? [] : [{ place: cx.blockPlace(stated), message: { key: "related.stated", args } }]),
      ...(moving === step ? [] : [{ place: cx.blockPlace(moving), message: { key: "related.motion", args } }]),
    ],
    fixes: [{ title: { key: "fix.restate", args }, changes: [blockBefore(cx, step, offset)], sameMotion: true }],
    data: { tool, offset },
  });
}
