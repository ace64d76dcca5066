import type { Fix, TextChange } from "../findings.js";
import type { Modal, Move } from "../machine/move.js";
import type { Call, Run, Step } from "../machine/run.js";
import { actingWords, sourceOf } from "./context.js";
import { usesOffset } from "./lib/left.js";
import { paced } from "./lib/paced.js";
import { selections } from "./lib/selection.js";
import { toolWords } from "./lib/words.js";
import { defineRule, type RuleContext } from "./rule.js";

/** With block skip on, an offset or tool is dropped on which later blocks rely. */
export const skipPartial = defineRule({
  id: "skip-partial",
  level: "error",
  summary: "With block skip on, a / block drops an offset or tool that later blocks rely on.",
  needs: "program",
  messages: {
    default:
      "with block skip on, {offset} is not selected here, but line {line} moves all the same, under {instead}: skip that block too, or this one never",
    tool: "with block skip on, {tool} is not changed in here, but line {line} moves all the same, with {instead}: skip that block too, or this one never",
    "fix.skip": "Skip lines {first} to {last} too, with {slash}",
    "fix.skip-one": "Skip line {first} too, with {slash}",
    "related.relies": "this block is not skipped",
  },
  docs: `
The slash leaves out the block that goes to the station, but not those that work there. With the switch on, the tool does the work of this
station at the one before it, or the last tool does the work of the next.

Put the slash on every block of the visit, or on the call that makes it.

The fix puts the same slash on all blocks up to the last that relies on this one. None is offered where these would leave out something
else that is needed afterwards: a state that only they set, a tool, the end of the program or of a loop.

~~~case
The cut at A2 is not skipped with its offset.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G1 Z-2 F300
G0 Z50
/ G55 X10 Y10
;^^^^^^^^^^^^ error skip-partial: with block skip on, G55 is not selected here, but line 9 moves all the same, under G54: skip that block too, or this one never
G1 Z-2 F300
G0 Z50
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G1 Z-2 F300
G0 Z50
/ G55 X10 Y10
/ G1 Z-2 F300
/ G0 Z50
M30
~~~

~~~case
The whole visit is skipped.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G1 Z-2 F300
G0 Z50
/ G55 X10 Y10
/ G1 Z-2 F300
/ G0 Z50
G28 G91 Z0
M30
~~~

~~~case
The whole visit is skipped; the retract behind it belongs to both.
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
M98 P100
/ G55
/ M98 P100
G0 Z60
G28 G91 Z0
M30
O100
G90 G0 X10 Y10
Z2
G1 Z-2 F300
G0 Z50
M99
~~~

~~~case
The call is skipped, and with it all that it does.
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
M98 P100
/ G55
/ M98 P100
G28 G91 Z0
M30
O100
G90 G0 X10 Y10
Z2
G1 Z-2 F300
G0 Z50
M99
~~~
`,
  *check(cx) {
    // The run with block skip off sees every block; it is looked at for what would be missing.
    if (cx.blockSkip) return;
    const { run } = cx;
    if (!run.steps.some((s) => s.block.skip !== undefined)) return;
    const skipped: boolean[] = [];
    yield* paced(run.steps, (s) => skipped.push(isSkipped(run, s)));
    // The first plain move that relies on each selection, and what else is skipped in between.
    const reported = new Set<string>();
    for (const what of ["offset", "tool"] as const) {
      for (const [n, move] of run.moves.entries()) {
        if (n % 4096 === 4095) yield;
        const by = setterOf(what, move);
        const step = run.steps[by];
        if (step === undefined || skipped[by] !== true || skipped[move.step] === true || !usesOffset(move)) continue;
        // A turn means no tool, and no station unless its offset holds the angle.
        if (move.kind === "index" && (what === "tool" || cx.fixture?.machine.rotary?.inOffset !== true)) continue;
        // Straight up and out of the way: at which station and with which tool does not matter.
        if (isRetract(move)) continue;
        if (step.before[what] === step.after[what] || !isBehindSlash(cx, what, step)) continue;
        const key = `${what} ${step.source}:${step.block.line}`;
        if (reported.has(key)) continue;
        reported.add(key);
        report(cx, what, by, step, move);
      }
    }
  },
});

type What = "offset" | "tool";

/** The step that selected the offset or the tool of a move; -1 where none did. */
function setterOf(what: What, move: Move): number {
  return what === "offset" ? move.modal.offsetStep : move.modal.toolStep;
}

/** A rapid that goes up in Z and nowhere else. */
function isRetract(move: Move): boolean {
  // Relative to the offset, since without a sidecar the machine's positions are not known.
  const { partFrom: from, partTo: to } = move;
  return move.kind === "rapid" && from[0] === to[0] && from[1] === to[1] && to[2] >= from[2];
}

/** A block behind a slash, or one of a program that such a block calls. */
function isSkipped(run: Run, step: Step): boolean {
  for (let at: Step | undefined = step; at !== undefined; at = run.steps[at.call.caller]) if (at.block.skip !== undefined) return true;
  return false;
}

/** Whether the words that select stand behind the slash; in front of one within the block they stay. */
function isBehindSlash(cx: RuleContext, what: What, step: Step): boolean {
  const { skipFrom, words } = step.block;
  if (skipFrom === undefined) return true;
  const word = what === "tool" ? cx.word(step, "M6") : selections(cx).find((s) => s.step === step)?.code;
  return word === undefined || words.indexOf(word) >= skipFrom;
}

function report(cx: RuleContext, what: What, by: number, step: Step, relies: Move): void {
  const next = cx.run.steps[relies.step] as Step;
  const line = next.block.line + 1;
  const station = cx.stationOf(relies)?.id;
  cx.report({
    at: cx.blockPlace(step),
    ...(what === "tool" ? { key: "tool" } : {}),
    args:
      what === "tool"
        ? { tool: toolWords(cx, step.after.tool), line, instead: toolWords(cx, step.before.tool) }
        : { offset: cx.offsetName(step.after.offset), line, instead: cx.offsetName(step.before.offset) },
    ...(station === undefined ? {} : { station }),
    related: [{ place: cx.blockPlace(next), message: { key: "related.relies", args: {} } }],
    fixes: fixOf(cx, what, by, step),
    step: by,
  });
}

/** Words that a skipped visit must not contain: stops, ends, tool changes, local calls, values written. */
const NEEDED = ["M0", "M1", "M2", "M6", "M30", "M97", "M99", "G10"];

/** The same slash on every block from the skipped one to the last that relies on it. */
function fixOf(cx: RuleContext, what: What, by: number, step: Step): Fix[] {
  const { run } = cx;
  const { skip, skipFrom, line: from } = step.block;
  // The slash is on the call that led here, or within the block.
  if (skip === undefined || skipFrom !== undefined) return [];
  // The last step of this program, not of one it calls, whose moves are made under what would be missing.
  let end = by;
  for (const move of run.moves) {
    if (setterOf(what, move) !== by || !usesOffset(move)) continue;
    const at = stepIn(run, step.call, move.step);
    if (at === undefined) return [];
    end = Math.max(end, at);
  }
  const to = (run.steps[end] as Step).block.line;
  if (to <= from) return [];
  const source = sourceOf(run, step);
  const blocks = source.blocks.slice(from + 1, to + 1);
  // Blocks that are passed more than once, or that the order of the program hangs on, are no single visit.
  const passes = run.steps.filter((s) => s.call === step.call && s.block.line >= from && s.block.line <= to);
  const once = new Set(passes.map((s) => s.block.line)).size === passes.length;
  const flow = blocks.some((b) => b.control !== undefined || b.program !== undefined || b.percent || b.skipFrom !== undefined);
  const needed = passes.some((s) => s !== step && NEEDED.some((code) => cx.word(s, code) !== undefined));
  if (!once || flow || needed || blocks.some((b) => b.skip !== undefined && b.skip !== skip)) return [];
  if (!leavesAlike(cx, what, by, lastOf(run, end))) return [];
  const slash = /\/[1-9]?[ \t]*/.exec((source.lines[from] ?? "").slice(step.block.start))?.[0] ?? "/";
  const marked = blocks.filter((b) => b.skip === undefined && b.words.length + b.assignments.length > 0);
  const args = { first: (marked[0]?.line ?? from) + 1, last: (marked.at(-1)?.line ?? to) + 1, slash: slash.trim() };
  const changes = marked.map((b): TextChange => {
    const range = { line: b.line, column: b.start, endLine: b.line, endColumn: b.start };
    return { place: { file: source.file, range }, text: slash };
  });
  return [{ title: { key: marked.length === 1 ? "fix.skip-one" : "fix.skip", args }, changes, sameMotion: false }];
}

/** The step of a call that ran a step or called the program that did; undefined where it was another one. */
function stepIn(run: Run, call: Call, index: number): number | undefined {
  let at = index;
  for (let s = run.steps[at]; s !== undefined; s = run.steps[at]) {
    if (s.call === call) return at;
    at = s.call.caller;
  }
  return undefined;
}

/** The last step that belongs to a step: of a call, the last one of what it calls. */
function lastOf(run: Run, index: number): number {
  const { call } = run.steps[index] as Step;
  const next = run.steps.findIndex((s, n) => n > index && s.call.depth <= call.depth);
  return (next < 0 ? run.steps.length : next) - 1;
}

/** States that what follows relies on, whatever is skipped, and those that go with a tool up to the next one. */
const OF_ALL = [
  "rotary",
  "absolute",
  "plane",
  "units",
  "compensation",
  "feedMode",
  "returnLevel",
  "localShift",
  "presetShift",
  "rotation",
  "mirror",
  "scaling",
  "polar",
  "nextTool",
] as const;
const OF_TOOL = ["h", "length", "spindle", "speed"] as const;

const MOTIONS = [0, 1, 2, 3, 28, 30, 53, 73, 74, 76, 80, 81, 82, 83, 84, 85, 86, 87, 88, 89].map((n) => `G${n}`);

/** Whether what comes behind the skipped blocks finds the states it relies on, or says them itself. */
function leavesAlike(cx: RuleContext, what: What, by: number, end: number): boolean {
  const { run } = cx;
  const { before } = run.steps[by] as Step;
  const { after } = run.steps[end] as Step;
  const differs = (f: keyof Modal): boolean => String(before[f]) !== String(after[f]);
  if (OF_ALL.some(differs) || (what === "offset" && OF_TOOL.some(differs))) return false;
  // A tool that is left out has gone to offsets, of which the last may be that of the next one.
  if (run.moves.some((m) => m.step > end && usesOffset(m) && m.modal.offsetStep > by && m.modal.offsetStep <= end && differs("offset")))
    return false;
  const rest = run.steps.slice(end + 1);
  const next = rest.find((s) => s.endMove > s.firstMove);
  if (next !== undefined && differs("motion") && !MOTIONS.some((code) => cx.word(next, code) !== undefined)) return false;
  const cuts = rest.find((s) => run.moves.slice(s.firstMove, s.endMove).some((m) => m.kind === "feed" || m.kind === "arc"));
  return cuts === undefined || !differs("feed") || actingWords(cuts.block).some((w) => w.letter === "F");
}
