import type { Move } from "../machine/move.js";
import type { Step } from "../machine/run.js";
import { inHabit, wordsAfter, wordsBefore } from "./lib/edits.js";
import { paced } from "./lib/paced.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** A tool that works without its length compensation, or with that of the tool before it. */
export const lengthMissing = defineRule({
  id: "length-missing",
  level: "error",
  summary: "A tool works without length compensation after its change.",
  needs: "program",
  messages: {
    default:
      "T{tool} goes to work without length compensation: no G43 since the tool change, so the spindle nose itself is sent to these heights",
    stale: "T{tool} goes to work under H{h} of the tool before it: no G43 since the tool change",
    bare: "G43 names no H here: T{tool} goes to work under H{h}, which was named for an earlier tool",
    "bare-none": "G43 names no H here, and no block before it does: T{tool} goes to work under a length that nobody has chosen",
    zero: "T{tool} goes to work under H0, which is no length: the spindle nose itself is sent to these heights",
    "what.length": "length compensation of tool T{tool}",
    "why.never": "the program never uses G43, and without a sidecar it is not known whether the control compensates by itself",
    "why.called": "a program that is not here is called after the tool change and may set it",
    "related.tool": "T{tool} as well",
    "related.change": "the tool change",
    "related.cut": "the first cut without it",
    "fix.add": "Add G43 H{h}",
    "fix.own": "Write H{h}",
  },
  docs: `
After a tool change nothing tells the control how long the new tool is. Without \`G43 H\` the spindle nose is sent to the
programmed height, so the tool is too deep by its whole length; with the compensation of the tool before, by the difference.

It is not reported where the dialect says that the control compensates by itself (\`lengthBy: "control"\`), or where a called
program sets it.

~~~case
T2 has no G43 at all.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
S3000 M3
G0 G54 X30 Y20
Z20
;^^ error length-missing: T2 goes to work without length compensation
G1 Z-5 F200
G0 Z20
G91 G28 Z0
M30
~~~

~~~case
H1 is still in force when T2 drills.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X30 Y20
G43 H1 Z20
G1 Z-5 F200
G0 Z20
G91 G28 Z0
G90
T2 M6
S3000 M3
G0 G54 X30 Y20
Z20
;^^ error length-missing: T2 goes to work under H1
G1 Z-5 F200
G0 Z20
G91 G28 Z0
M30
~~~

~~~case
H0 holds no length.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
S3000 M3
G0 G54 X30 Y20
G43 H0 Z20
;^^^^^^^^^ error length-missing: T2 goes to work under H0, which is no length
G1 Z-5 F200
G0 Z20
G91 G28 Z0
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
T2 M6
S3000 M3
G0 G54 X30 Y20
G43 H2 Z20
G1 Z-5 F200
G0 Z20
G91 G28 Z0
M30
~~~

~~~case
The called program sets it.
-- use: two-stations --
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T2 M6
S3000 M3
M98 P100
G91 G28 Z0
M30
O100
G0 G54 X30 Y20
G43 H2 Z20
G1 Z-5 F200
G0 Z20
M99
~~~

~~~case
G43 alone: an H holds until the next one, so it is that of T1.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X30 Y20
G43 H1 Z20
G1 Z-1 F200
G0 Z20
G91 G28 Z0
T2 M6
G90 S3000 M3
G0 G54 X30 Y20
G43 Z20
;^^^^^^ error length-missing: G43 names no H here: T2 goes to work under H1, which was named for an earlier tool
G1 Z-5 F200
G0 Z20
G91 G28 Z0
M30
~~~

~~~case
G43 alone again for the tool that H has named.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X30 Y20
G43 H1 Z20
G1 Z-1 F200
G0 Z20
G43 Z10
G1 Z-1
G0 Z20
G91 G28 Z0
M30
~~~

~~~case
A feed in X and Y at the height of the tool change, before G43.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
S3000 M3
G54
G1 X30 Y20 F5000
G0 G43 H2 Z20
G1 Z-5 F200
G0 Z20
G91 G28 Z0
M30
~~~

~~~case
The zero is touched off with every tool: its length is in the G92, which is another matter.
-- use: two-stations --
-- options --
ignore: shift-everywhere
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
S3000 M3
G0 G54 X30 Y20
M0
G92 Z0.1
G0 Z20
G1 Z-5 F200
G0 Z20
M30
~~~

~~~case
The control compensates by itself.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "machine": { "dialect": { "extends": "iso", "lengthBy": "control" } },
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 } } },
  "fixedJaws": { "fj": { "face": 15 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 40, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": true } } } },
  "stations": [ { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54" } ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T2 M6
S3000 M3
G0 G54 X0 Y20
Z20
G1 Z-5 F200
G0 Z20
G91 G28 Z0
M30
~~~
`,
  *check(cx) {
    if (cx.profile.lengthBy === "control") return;
    const { run } = cx;
    const stated = yield* lastSteps(cx, (step) => setsLength(cx, step));
    const touched = yield* lastSteps(cx, (step) => touchesOff(cx, step));
    const chosen = yield* lastSteps(cx, (step) => cx.word(step, "H") !== undefined);
    // Where no block ever names an H, the control takes the one of the tool's number by itself.
    const everChosen = chosen(run.steps.length - 1) >= 0;
    const bare = (m: Move): boolean =>
      everChosen && m.modal.length !== 49 && stated(m.step) >= m.modal.toolStep && chosen(m.step) < m.modal.toolStep;
    const bad = (m: Move): boolean => counts(m) && (bare(m) || isBad(cx, m, stated)) && touched(m.step) < m.modal.toolStep;
    const everUsed = stated(run.steps.length - 1) >= 0;
    for (const section of yield* sectionsByTool(run.moves)) {
      yield;
      // Motion in X and Y at the height of the tool change is not near the work: it begins with the first Z without G43.
      const start = section.findIndex((m) => bad(m) && movesZ(cx, m));
      const below = start < 0 ? [] : section.slice(start);
      const first = below.find((m) => isCut(m) && bad(m));
      if (first === undefined) continue;
      const [down = first] = below;
      const { tool, toolStep, h } = first.modal;
      const what = { key: "what.length", args: { tool } };
      if (cx.fixture === undefined && !everUsed) {
        cx.notChecked(what, { key: "why.never", args: {} });
        continue;
      }
      if (callsAway(cx, toolStep, first.step)) {
        cx.notChecked(what, { key: "why.called", args: {} });
        continue;
      }
      const step = run.steps[down.step] as Step;
      const change = run.steps[toolStep] as Step;
      const cut = run.steps[first.step] as Step;
      const stale = first.modal.length !== 49;
      cx.report({
        at: cx.blockPlace(step),
        key: !stale ? "default" : isZero(cx, first.modal) ? "zero" : !bare(first) ? "stale" : Number.isNaN(h) ? "bare-none" : "bare",
        args: { tool, h },
        step: down.step,
        station: cx.stationOf(first)?.id,
        related: [
          { place: cx.blockPlace(change), message: { key: "related.change", args: {} } },
          ...(cut.block === step.block ? [] : [{ place: cx.blockPlace(cut), message: { key: "related.cut", args: {} } }]),
        ],
        fixes: fix(cx, step, tool),
        data: { tool },
        // A program that never states a length has one habit that is wrong, not one slip for each tool.
        ...(everUsed ? {} : { cause: "never", relatedKey: "related.tool" }),
      });
    }
  },
});

/** For each step the last one up to it of a kind; -1 none. */
function* lastSteps(cx: RuleContext, is: (step: Step) => boolean): Generator<void, (step: number) => number, void> {
  const out = new Int32Array(cx.run.steps.length);
  let last = -1;
  yield* paced(cx.run.steps, (step, i) => {
    if (is(step)) last = i;
    out[i] = last;
  });
  return (step) => out[step] as number;
}

/** G92 Z names the height of the tool that is in the spindle, so its length is in it; what else G92 does is told by its own rule. */
function touchesOff(cx: RuleContext, step: Step): boolean {
  return cx.word(step, "G92") !== undefined && cx.word(step, "Z") !== undefined;
}

/** G43, G44 and every relative of theirs (G43.4 …), known to the dialect or not; also H alone, where G43 is still in force and takes it. */
function setsLength(cx: RuleContext, step: Step): boolean {
  const h = cx.word(step, "H");
  if (h !== undefined && step.after.length !== 49 && cx.value(step, h) === step.after.h) return true;
  return step.block.words.some((w) => {
    if (w.letter !== "G") return false;
    const code = Math.round(cx.value(step, w) * 10) / 10;
    return Math.floor(code) === 43 || Math.floor(code) === 44 || code === 234;
  });
}

function isCut(m: Move): boolean {
  return m.kind === "feed" || m.kind === "arc";
}

/** Whether a move is one of a known tool for which the length counts: not one in machine coordinates. */
function counts({ modal, role }: Move): boolean {
  if (modal.toolStep < 0 || modal.tool === 0 || Number.isNaN(modal.tool) || modal.uncertain?.includes("length") === true) return false;
  return role !== "machine" && !role.startsWith("reference");
}

function isBad(cx: RuleContext, m: Move, stated: (step: number) => number): boolean {
  const { modal } = m;
  const last = stated(m.step);
  if (last >= modal.toolStep) return modal.length === 49 ? !saidSo(cx, last) : isZero(cx, modal);
  return true;
}

/** H0 is no length, unless the sidecar lists it for the tool. */
function isZero(cx: RuleContext, modal: Move["modal"]): boolean {
  return modal.h === 0 && cx.fixture?.tools.get(modal.tool)?.H.includes(0) !== true;
}

/** The step that last stated it did so in a form that the dialect does not know: what is in force is not known. */
function saidSo(cx: RuleContext, index: number): boolean {
  const step = cx.run.steps[index] as Step;
  return !["G43", "G44"].some((code) => cx.word(step, code) !== undefined && cx.profile.codes.get(code)?.use === "executed");
}

function movesZ(cx: RuleContext, m: Move): boolean {
  // Without a length the tool point is not known where the tool's own is not; the spindle has moved all the same.
  const part = m.partTo[2] - m.partFrom[2];
  const d = Number.isNaN(part) ? m.gaugeTo - m.gaugeFrom : part;
  if (!Number.isNaN(d)) return Math.abs(d) > 1e-9;
  return cx.word(cx.run.steps[m.step] as Step, "Z") !== undefined;
}

/** Whether a program that could not be followed is called between a tool change and a step. */
function callsAway(cx: RuleContext, from: number, to: number): boolean {
  const { steps } = cx.run;
  return steps.slice(from, to).some((step, i) => {
    const calls = ["M97", "M98", "G65"].some((code) => cx.word(step, code) !== undefined);
    return calls && (steps[from + i + 1] as Step).call.depth <= step.call.depth;
  });
}

function* sectionsByTool(moves: readonly Move[]): Generator<void, Move[][], void> {
  const out: Move[][] = [];
  let toolStep = Number.NaN;
  yield* paced(moves, (m) => {
    if (m.modal.toolStep !== toolStep) out.push([]);
    toolStep = m.modal.toolStep;
    out[out.length - 1]?.push(m);
  });
  return out;
}

function fix(cx: RuleContext, step: Step, tool: number): NonNullable<Report["fixes"]> {
  const h = cx.fixture?.tools.get(tool)?.H[0] ?? tool;
  const z = cx.word(step, "Z");
  const written = cx.word(step, "H");
  // An H by itself, without G43 in force, is none.
  const stated = cx.word(step, "G43") ?? cx.word(step, "G44");
  if (written !== undefined) {
    return [
      {
        title: { key: stated === undefined ? "fix.add" : "fix.own", args: { h } },
        changes: [{ place: cx.place(step, written), text: inHabit(cx, step, stated === undefined ? `G43 H${h}` : `H${h}`) }],
        sameMotion: false,
      },
    ];
  }
  if (stated !== undefined)
    return [{ title: { key: "fix.own", args: { h } }, changes: [wordsAfter(cx, step, stated.end, `H${h}`)], sameMotion: false }];
  if (z === undefined) return [];
  return [{ title: { key: "fix.add", args: { h } }, changes: [wordsBefore(cx, step, z.start, `G43 H${h}`)], sameMotion: false }];
}
