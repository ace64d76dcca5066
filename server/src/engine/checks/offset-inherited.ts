import type { Step } from "../machine/run.js";
import { blockBefore } from "./lib/edits.js";
import { usesOffset } from "./lib/left.js";
import { paced } from "./lib/paced.js";
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

It is not reported in a program that uses only one work offset, or where a called program selects the offset
before it moves.

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
`,
  *check(cx) {
    const { run, fixture } = cx;
    const used = new Set(run.visits.map((v) => v.offset));
    let moveIndex = 0;
    let usedBefore = new Set<string>();
    let usedNow = new Set<string>();
    let toolStep = -1;
    let open = false;
    yield* paced(run.steps, (step, index) => {
      if (step.after.toolStep !== toolStep) {
        toolStep = step.after.toolStep;
        usedBefore = usedNow;
        usedNow = new Set();
        open = true;
      }
      for (; moveIndex < run.moves.length && (run.moves[moveIndex]?.step ?? 0) <= index; moveIndex++) {
        const move = run.moves[moveIndex];
        if (move !== undefined && usesOffset(move)) usedNow.add(move.modal.offset);
      }
      if (open && toolStep >= 0 && isPlaneMotion(cx, step)) {
        open = false;
        const { offset, offsetStep, uncertain } = step.after;
        // One offset for the whole program is no series of stations; without a fixture only a tool that went round tells of one.
        const several = fixture === undefined ? usedBefore.size > 1 : used.size > 1;
        const known = offsetStep < toolStep && uncertain?.includes("offset") !== true;
        if (known && several && usedBefore.has(offset)) report(cx, index, toolStep);
      }
    });
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

/** Codes whose X and Y the work offset has no say in, or that make no motion of them. */
const OTHER_AXES = ["G4", "G10", "G28", "G30", "G52", "G53", "G92"];

/** A block with X or Y under the work offset, also one that goes nowhere because the tool stands there already. */
function isPlaneMotion(cx: RuleContext, step: Step): boolean {
  if (cx.word(step, "X") === undefined && cx.word(step, "Y") === undefined) return false;
  return !OTHER_AXES.some((code) => cx.word(step, code) !== undefined);
}
