import type { Fix, Related, TextChange } from "../findings.js";
import type { Modal } from "../machine/move.js";
import type { Run, Step } from "../machine/run.js";
import { sourceOf } from "./context.js";
import { usesOffset } from "./lib/left.js";
import { paced } from "./lib/paced.js";
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
    for (const [what, stepOf] of [
      ["offset", (m: Run["moves"][number]) => m.modal.offsetStep],
      ["tool", (m: Run["moves"][number]) => m.modal.toolStep],
    ] as const) {
      for (const [n, move] of run.moves.entries()) {
        if (n % 4096 === 4095) yield;
        const by = stepOf(move);
        const step = run.steps[by];
        if (by < 0 || step === undefined || skipped[by] !== true || skipped[move.step] === true || !usesOffset(move)) continue;
        // An index does not mean the station, unless its offset holds the angle.
        if (what === "offset" && move.kind === "index" && cx.fixture?.machine.rotary?.inOffset !== true) continue;
        // Straight up and out of the way: at which station the program means that does not matter.
        if (what === "offset" && isRetract(move)) continue;
        if (what === "offset" ? step.before.offset === step.after.offset : step.before.tool === step.after.tool) continue;
        const key = `${what} ${step.source}:${step.block.line}`;
        if (reported.has(key)) continue;
        reported.add(key);
        report(cx, what, by, step, move.step);
      }
    }
  },
});

/** A rapid that goes up in Z and nowhere else. */
function isRetract(move: Run["moves"][number]): boolean {
  // Relative to the offset, since without a sidecar the machine's positions are not known.
  const { partFrom: from, partTo: to } = move;
  return move.kind === "rapid" && from[0] === to[0] && from[1] === to[1] && to[2] >= from[2];
}

/** A block behind a slash, or one of a program that such a block calls. */
function isSkipped(run: Run, step: Step): boolean {
  let at: Step | undefined = step;
  for (let depth = 0; at !== undefined && depth < 64; depth++) {
    if (at.block.skip !== undefined) return true;
    at = at.call.caller < 0 ? undefined : run.steps[at.call.caller];
  }
  return false;
}

function report(cx: RuleContext, what: "offset" | "tool", by: number, step: Step, relies: number): void {
  const next = cx.run.steps[relies];
  if (next === undefined) return;
  const related: Related[] = [{ place: cx.blockPlace(next), message: { key: "related.relies", args: {} } }];
  const line = next.block.line + 1;
  const first = cx.run.moves.find((m) => m.step === relies);
  const station = first === undefined ? undefined : cx.stationOf(first)?.id;
  cx.report({
    at: cx.blockPlace(step),
    ...(what === "tool" ? { key: "tool" } : {}),
    args:
      what === "tool"
        ? { tool: toolWords(cx, step.after.tool), line, instead: toolWords(cx, step.before.tool) }
        : { offset: cx.offsetName(step.after.offset), line, instead: cx.offsetName(step.before.offset) },
    ...(station === undefined ? {} : { station }),
    related,
    fixes: fixOf(cx, what, by),
    step: by,
  });
}

/** The same slash on every block from the skipped one to the last that relies on it. */
function fixOf(cx: RuleContext, what: "offset" | "tool", by: number): Fix[] {
  const { run } = cx;
  const step = run.steps[by];
  if (step === undefined || step.block.skip === undefined || step.block.skipFrom !== undefined) return [];
  const source = sourceOf(run, step);
  const slash = /\/[1-9]?/.exec((source.lines[step.block.line] ?? "").slice(step.block.start))?.[0];
  // The last step of this program, not of one it calls, whose moves are made under what would be missing.
  let end = by;
  for (const move of run.moves) {
    if ((what === "offset" ? move.modal.offsetStep : move.modal.toolStep) !== by || !usesOffset(move)) continue;
    let at: number = move.step;
    for (let depth = 0; run.steps[at] !== undefined && run.steps[at]?.call !== step.call && depth < 64; depth++)
      at = run.steps[at]?.call.caller ?? -1;
    if (run.steps[at]?.call !== step.call) return [];
    end = Math.max(end, at);
  }
  const last = run.steps[end];
  if (slash === undefined || last === undefined || last.block.line <= step.block.line) return [];
  const lines = source.blocks.slice(step.block.line + 1, last.block.line + 1);
  // Blocks that are passed more than once, or that the order of the program hangs on, are no single visit.
  const passes = run.steps.filter((s) => s.call === step.call && s.block.line >= step.block.line && s.block.line <= last.block.line);
  const once = new Set(passes.map((s) => s.block.line)).size === passes.length;
  const flow = lines.some((b) => b.control !== undefined || b.program !== undefined || b.percent || b.skipFrom !== undefined);
  const ends = passes.some(
    (s) =>
      s !== step &&
      s.block.words.some(
        (w) => (w.letter === "M" && [0, 1, 2, 6, 30, 97, 99].includes(cx.value(s, w))) || (w.letter === "G" && cx.value(s, w) === 10),
      ),
  );
  if (!once || flow || ends || lines.some((b) => b.skip !== undefined && b.skip !== step.block.skip)) return [];
  const after = lastStepOf(run, end).after;
  if (!leavesAlike(cx, what, step.before, after, run.steps.slice(end + 1))) return [];
  const style = /^([ \t]*)(\/[1-9]?[ \t]*)/.exec(source.lines[step.block.line] ?? "")?.[2] ?? `${slash} `;
  const changes: TextChange[] = lines
    .filter((b) => b.skip === undefined && b.words.length + b.assignments.length > 0)
    .map((b) => ({
      place: { file: source.file, range: { line: b.line, column: b.start, endLine: b.line, endColumn: b.start } },
      text: style,
    }));
  const first = changes[0]?.place.range.line;
  const final = changes.at(-1)?.place.range.line;
  if (first === undefined || final === undefined) return [];
  const key = first === final ? "fix.skip-one" : "fix.skip";
  return [{ title: { key, args: { first: first + 1, last: final + 1, slash } }, changes, sameMotion: false }];
}

/** The last step that belongs to a step: of a call, the last one of what it calls. */
function lastStepOf(run: Run, index: number): Step {
  let out = run.steps[index] as Step;
  const { call } = out;
  for (let s = index + 1; s < run.steps.length && run.steps[s]?.call !== call && (run.steps[s]?.call.depth ?? 0) > call.depth; s++)
    out = run.steps[s] as Step;
  return out;
}

/** Whether what comes behind the skipped blocks finds the states it relies on, or says them itself. */
function leavesAlike(cx: RuleContext, what: "offset" | "tool", before: Modal, after: Modal, rest: readonly Step[]): boolean {
  const numbers = (["rotary"] as const).every((f) => Object.is(before[f], after[f]));
  const modes = (["absolute", "plane", "units", "compensation", "feedMode", "returnLevel"] as const).every((f) => before[f] === after[f]);
  const shifts = [0, 1, 2].every(
    (k) => Object.is(before.localShift[k], after.localShift[k]) && Object.is(before.presetShift[k], after.presetShift[k]),
  );
  if (!numbers || !modes || !shifts || after.rotation !== before.rotation || after.polar !== before.polar) return false;
  const next = rest.find((s) => s.endMove > s.firstMove);
  const says = (letter: string, codes: readonly number[]): boolean =>
    next?.block.words.some((w) => w.letter === letter && (codes.length === 0 || codes.includes(cx.value(next, w)))) === true;
  if (
    next !== undefined &&
    before.motion !== after.motion &&
    !says("G", [0, 1, 2, 3, 28, 30, 53, 73, 74, 76, 80, 81, 82, 83, 84, 85, 86, 87, 88, 89])
  )
    return false;
  const cuts = rest.find((s) => cx.run.moves.slice(s.firstMove, s.endMove).some((m) => m.kind === "feed" || m.kind === "arc"));
  if (cuts !== undefined && !Object.is(before.feed, after.feed) && !cuts.block.words.some((w) => w.letter === "F")) return false;
  // With a tool go its length and its speed, up to the next tool.
  if (what === "tool") return true;
  return (
    Object.is(before.h, after.h) &&
    before.length === after.length &&
    before.spindle === after.spindle &&
    Object.is(before.speed, after.speed)
  );
}
