import type { Move } from "../machine/move.js";
import { blockBefore } from "./lib/edits.js";
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

It is not reported while a program has used only one work offset so far, or where a called program selects the offset
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
  check(cx) {
    const { run, fixture } = cx;
    const sections = toolSections(run.moves);
    const used = new Set<string>();
    for (const [n, section] of sections.entries()) {
      const before = sections[n - 1];
      const usedBefore = new Set(before?.moves.filter((m) => m.visit >= 0).map((m) => m.modal.offset) ?? []);
      for (const key of usedBefore) used.add(key);
      if (before === undefined || section.toolStep < 0) continue;
      const move = section.moves.find((m) => isPlaneMotion(cx, m));
      if (move === undefined || move.modal.offsetStep >= section.toolStep || move.modal.uncertain?.includes("offset") === true) continue;
      // One offset for the whole program is no series of stations; without a fixture only a tool that went round tells of one.
      const several = fixture === undefined ? usedBefore.size > 1 : new Set([...used, ...run.visits.map((v) => v.offset)]).size > 1;
      if (!several || !usedBefore.has(move.modal.offset)) continue;
      report(cx, move, section.toolStep);
    }
  },
});

function report(cx: RuleContext, move: Move, toolStep: number): void {
  const { run, fixture } = cx;
  const change = run.steps[toolStep];
  let index = move.step;
  let step = run.steps[index];
  if (step === undefined || change === undefined) return;
  // The block to change stands beside the tool change: a called program may serve other callers.
  while (step.call !== change.call && step.call.caller > toolStep) {
    index = step.call.caller;
    const caller = run.steps[index];
    if (caller === undefined) break;
    step = caller;
  }
  const station = fixture?.stations[move.station];
  const offset = cx.offsetName(move.modal.offset);
  const stated = run.steps[move.modal.offsetStep];
  const moving = run.steps[move.step];
  const args = { tool: move.modal.tool, offset, ...(station === undefined ? {} : { station: station.id }) };
  cx.report({
    at: cx.blockPlace(step),
    key: station === undefined ? "default" : "station",
    args,
    step: index,
    ...(station === undefined ? {} : { station: station.id }),
    related: [
      ...(stated === undefined ? [] : [{ place: cx.blockPlace(stated), message: { key: "related.stated", args } }]),
      ...(moving === undefined || moving === step ? [] : [{ place: cx.blockPlace(moving), message: { key: "related.motion", args } }]),
    ],
    fixes: [{ title: { key: "fix.restate", args }, changes: [blockBefore(cx, step, offset)], sameMotion: true }],
    data: { tool: move.modal.tool, offset },
  });
}

/** Moves between tool changes, in order. */
function toolSections(moves: readonly Move[]): { readonly toolStep: number; readonly moves: Move[] }[] {
  const out: { toolStep: number; moves: Move[] }[] = [];
  for (const move of moves) {
    const last = out[out.length - 1];
    if (last === undefined || last.toolStep !== move.modal.toolStep) out.push({ toolStep: move.modal.toolStep, moves: [move] });
    else last.moves.push(move);
  }
  return out;
}

/** A motion in X or Y that the work offset has a say in. */
function isPlaneMotion(cx: RuleContext, move: Move): boolean {
  if (move.kind === "dwell" || move.kind === "index" || move.role === "machine" || move.role.startsWith("reference")) return false;
  const step = cx.run.steps[move.step];
  return step !== undefined && (cx.word(step, "X") !== undefined || cx.word(step, "Y") !== undefined);
}
