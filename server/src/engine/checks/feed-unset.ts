import type { Modal, Move } from "../machine/move.js";
import type { Step } from "../machine/run.js";
import type { Block } from "../syntax/block.js";
import { unsure } from "./lib/left.js";
import { paced } from "./lib/paced.js";
import { toolWords } from "./lib/words.js";
import { defineRule, type RuleContext } from "./rule.js";

/** A cut without a feed, or with the spindle standing still. */
export const feedUnset = defineRule({
  id: "feed-unset",
  level: "error",
  summary: "A cutting move with no feed, with feed zero, or with the spindle not turning.",
  needs: "program",
  messages: {
    default: "{tool} cuts here, but no F has been set: the control stops, or uses a feed that is left from another job",
    mode: "{tool} cuts here, but no F has been set since {code}: the number from before means another thing now",
    zero: "{tool} cuts here with F0: the control stops and waits",
    spindle: "{tool} cuts here with the spindle standing still: it was not switched on since {since}",
    speed: "{tool} cuts here with S0",
  },
  docs: `
A tool that is fed into the work without turning breaks at once. Without a feed the control alarms, or goes on with whatever feed is left.

A tool change stops the spindle (NISTIR 6556, 3.6.3), so every tool needs its own M03 or M04. A tapping cycle starts the spindle by itself on
many controls, and a probe does not turn; they are left alone. A program that never starts a spindle and has no sidecar leaves it
to something else (a router, a laser), and only its feed is looked at; so is one that speaks neither of a spindle nor of a tool, such as
a run that warms the axes up.

~~~case
M3 was forgotten for the second tool.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G1 Z-2 F300
G0 Z50
T2 M6
G0 G54 X10 Y10
G43 H2 Z50
G1 Z-5 F200
;^^^^^^^^^^ error feed-unset: tool 2 cuts here with the spindle standing still
M30
~~~

~~~case
No F before the first cut.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G1 Z-2
;^^^^^ error feed-unset: tool 1 cuts here, but no F has been set
X40
M30
~~~

~~~case
A tap: the cycle turns the spindle itself.
-- part.nc --
G21 G17 G40 G49 G80 G90
T4 M6
G0 G54 X10 Y10
G43 H4 Z50
M29 S500
G98 G84 X10 Y10 Z-12 R5 F500
G80
M30
~~~

~~~case
Up to a height above the part at a feed, from wherever the tool is; the spindle is switched on there.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G54
G1 G43 H1 Z30 F2000
G0 X10 Y10
S4000 M3
G1 Z-2 F300
G0 Z50
M30
~~~

~~~case
The axes are run warm: neither spindle nor tool is spoken of.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
G91 G28 Z0
G28 X0 Y0
G1 X-300 F2000
Y-200
X300
Y200
M30
~~~

~~~case
A probe does not turn.
-- part.nc --
G21 G17 G40 G49 G80 G90
T9 M6
G0 G54 X10 Y10
G43 H9 Z50
G31 Z-5 F100
G0 Z50
M30
~~~
`,
  *check(cx) {
    const { run } = cx;
    let feedSaid = false;
    let spindleSaid = -2;
    let feedSeen = false;
    let modeStep = -1;
    let unread = false;
    let lowered = false;
    const spindleNamed = run.steps.some((s) =>
      s.block.words.some((w) => w.letter === "S" || (w.letter === "M" && [3, 4].includes(w.value))),
    );
    yield;
    const unreadable = run.sources.map((s) => s.blocks.find((b) => mayHide(s.lines[b.line] ?? "", b))?.line);
    // A block that the dialect finds at fault is told by that; what it does is not sure.
    const faulty = new Set(cx.notes.filter((n) => n.rule === "syntax").map((n) => `${n.place.file}:${n.place.range.line}`));
    yield;
    const toolNamed = run.steps.some((s) => s.after.toolStep >= 0 || s.block.words.some((w) => w.letter === "T"));
    const spindleCounts = spindleNamed || (cx.fixture !== undefined && toolNamed);
    yield* paced(run.steps, (step, index) => {
      if (step.before.feedMode !== step.after.feedMode) {
        modeStep = index;
        feedSeen = false;
      }
      if (cx.word(step, "F") !== undefined) feedSeen = true;
      // What the dialect could not read may have held the F or the M03; it may not even be among the steps.
      if (step.block.line > (unreadable[step.source] ?? Number.POSITIVE_INFINITY)) unread = true;
      if (step.block.words.some((w) => w.expr?.kind === "absent")) unread = true;
      if (step.before.toolStep !== step.after.toolStep) lowered = false;
      const cut = cutOf(cx, step);
      if (unread || cut === undefined) return;
      const at = cx.blockPlace(step);
      if (faulty.has(`${at.file}:${at.range.line}`)) return;
      const modal = step.after;
      const tool = toolWords(cx, modal.tool);
      const station = cx.stationOf(cut)?.id;
      const say = (key: string, args: Record<string, string> = {}): void =>
        cx.report({ at, key, args: { tool, ...args }, station, step: index });
      if (!feedSaid && !unsure(modal, "feedMode")) {
        // A feed that is computed from something unknown has been set all the same. Under G93 the machine asks for F itself.
        if (Number.isNaN(modal.feed) && !feedSeen && modal.feedMode !== 93) {
          feedSaid = true;
          if (modeStep < 0) say("default");
          else say("mode", { code: `G${modal.feedMode}` });
        } else if (modal.feed === 0) {
          feedSaid = true;
          say("zero");
        }
      }
      lowered ||= goesDown(cx, step);
      if (!lowered && !meetsStock(cx, step)) return;
      if (!spindleCounts || spindleSaid === modal.toolStep || unsure(modal, "spindle") || ownSpindle(modal)) return;
      if (modal.spindle === "stopped") {
        spindleSaid = modal.toolStep;
        say("spindle", {
          since: modal.toolStep >= 0 && neverOn(cx, modal.toolStep, index) ? "the tool change" : "it was stopped, or at all",
        });
      } else if (modal.speed === 0) {
        spindleSaid = modal.toolStep;
        say("speed");
      }
    });
  },
});

/** Whether a block that could not be read may set a feed or start the spindle, or may be a jump or a call. */
function mayHide(text: string, block: Block): boolean {
  if (block.problems.length === 0) return false;
  return block.problems.some((p) => p.key === "flow-by-o") || /[FS]|M\s*0?[34](?!\d)/i.test(text.replace(/\([^)]*\)?|;.*/g, ""));
}

/** The first move of a step that feeds into the work. (Where a probe ends is not known, so it is no move.) */
function cutOf(cx: RuleContext, step: Step): Move | undefined {
  // A move in machine coordinates goes to a place of the machine, not into the work.
  return movesOf(cx, step).find((m) => (m.kind === "feed" || m.kind === "arc") && m.role !== "machine");
}

function movesOf(cx: RuleContext, step: Step): readonly Move[] {
  return cx.run.moves.slice(step.firstMove, step.endMove);
}

/** Tapping cycles drive the spindle. */
function ownSpindle(modal: Modal): boolean {
  return modal.motion === "G84" || modal.motion === "G74";
}

function neverOn(cx: RuleContext, from: number, to: number): boolean {
  return cx.run.steps.slice(from, to).every((s) => s.after.spindle === "stopped");
}

/** Whether a step that cuts goes down: what comes before that is a way through the air, for which the spindle need not turn. */
function goesDown(cx: RuleContext, step: Step): boolean {
  return movesOf(cx, step).some((m) => {
    const part = m.partFrom[2] - m.partTo[2];
    const down = Number.isNaN(part) ? m.from[2] - m.to[2] : part;
    if (!Number.isNaN(down)) return down > 1e-9;
    // From a height that is not known a Z word may well go down; to one above the part zero it is rather a way up to begin with.
    return !(m.partTo[2] > 0) && step.block.words.some((w) => w.letter === "Z");
  });
}

/** Whether a step that cuts meets stock, where that is known. */
function meetsStock({ clearances }: RuleContext, step: Step): boolean {
  if (clearances === undefined) return false;
  for (let i = step.firstMove; i < step.endMove; i++)
    if (clearances.contactsOf(i).some((c) => c.solid.kind === "stock" && c.distance === 0)) return true;
  return false;
}
