import type { Modal } from "../machine/move.js";
import type { Call, Step } from "../machine/run.js";
import { actingWords } from "./context.js";
import { wordsBefore } from "./lib/edits.js";
import { paced } from "./lib/paced.js";
import { codeText } from "./lib/selection.js";
import { defineRule, type RuleContext } from "./rule.js";

/** A modal state that a subprogram may leave behind. */
interface Mode {
  readonly name: "distance" | "plane" | "feed" | "units" | "level" | "motion";
  /** What is in force, as a code. */
  readonly code: (m: Modal) => string;
  /** Codes that state it. */
  readonly states: readonly string[];
  /** A block that acts by it without stating it. */
  readonly relies: (cx: RuleContext, step: Step) => boolean;
}

const MOTION = ["G0", "G1", "G2", "G3"];
const OWN_AXES = ["G4", "G10", "G28", "G30", "G52", "G53", "G92"];

const MODES: readonly Mode[] = [
  {
    name: "distance",
    code: (m) => (m.absolute ? "G90" : "G91"),
    states: ["G90", "G91"],
    relies: (cx, s) => (hasAxis(s) || hasRotary(s)) && !says(cx, s, ["G4", "G53"]),
  },
  {
    name: "plane",
    code: (m) => `G${m.plane}`,
    states: ["G17", "G18", "G19"],
    relies: (cx, s) => (hasAxis(s) && isCycleOrArc(s.after)) || says(cx, s, ["G41", "G42", "G68"]),
  },
  {
    name: "feed",
    code: (m) => `G${m.feedMode}`,
    states: ["G93", "G94", "G95"],
    relies: (_, s) => actingWords(s.block).some((w) => w.letter === "F"),
  },
  {
    name: "units",
    code: (m) => (m.units === undefined ? "" : m.units === "mm" ? "G21" : "G20"),
    states: ["G20", "G21"],
    relies: (_, s) => hasAxis(s),
  },
  {
    name: "level",
    code: (m) => `G${m.returnLevel}`,
    states: ["G98", "G99"],
    relies: (_, s) => /^G(7|8[1-9])/.test(s.after.motion) && actingWords(s.block).some((w) => w.letter === "X" || w.letter === "Y"),
  },
  {
    name: "motion",
    code: (m) => (m.motion === "G0" ? "G0" : MOTION.includes(m.motion) ? "G1" : ""),
    states: [...MOTION, "G73", "G74", "G76", "G80", "G81", "G82", "G83", "G84", "G85", "G86", "G87", "G88", "G89"],
    relies: (cx, s) => hasAxis(s) && !says(cx, s, OWN_AXES),
  },
];

/** What a control starts with: going back to it is what a start-of-tool program is for, and leaves nothing to be undone. */
const HOME: Readonly<Record<Mode["name"], readonly string[]>> = {
  distance: ["G90"],
  plane: ["G17"],
  feed: ["G94"],
  level: ["G98"],
  units: [],
  motion: [],
};

/** How many blocks behind the return are looked at for the one that relies on the state. */
const REACH = 2000;

/** A subprogram that ends in other modes than it began, where its caller goes on as if nothing had changed. */
export const subLeavesState = defineRule({
  id: "sub-leaves-state",
  level: "warning",
  summary: "A subprogram ends in other modes than it began, and the caller relies on them.",
  needs: "program",
  messages: {
    default: "{program} begins in {before} and ends in {after}, and line {line} of its caller goes on in it without stating {before}",
    "related.set": "{after} is set here",
    "related.relies": "this block relies on {before}",
    "fix.restore": "Write {before} before the return",
  },
  docs: `
The block behind the call was written for the modes in force before it. A subprogram that returns in G91 makes its absolute
coordinate a distance; one that returns in G1 makes a rapid a cut.

A subprogram that goes back to what the control starts with (G90, G17, G94, G98) is a restoring one and is not reported.
One that is meant to step, each call from where the last one ended, says so in an allow comment.

~~~case
O100 returns in G91; the caller means X40 as a coordinate.
-- use: two-stations --
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X0 Y0
G43 H1 Z50
M98 P100
G0 X40 Y0
M98 P100
G91 G28 Z0
M30
O100
G91
G1 X10 F500
M99
;^^ warning sub-leaves-state: O100 begins in G90 and ends in G91, and line 8 of its caller goes on in it without stating G90
-- part.nc after fix 1 --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X0 Y0
G43 H1 Z50
M98 P100
G0 X40 Y0
M98 P100
G91 G28 Z0
M30
O100
G91
G1 X10 F500
G90 M99
~~~

~~~case
A declared stepping program, and a caller that states G90 itself.
-- use: two-stations --
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X0 Y0
G43 H1 Z50
M98 P100
G90 G0 X40 Y0
M98 P200
G0 X10
G91 G28 Z0
M30
O100
G91
G1 X10 F500
M99
O200
G91
G0 Y5
M99 (ALLOW sub-leaves-state: steps on from where it stands, the caller goes on in G91)
;^^ information sub-leaves-state: O200 begins in G90 and ends in G91, and line 10 of its caller goes on in it without stating G90 [allowed: steps on from where it stands, the caller goes on in G91]
~~~

~~~case
A start-of-tool program restores what the control starts with.
-- use: two-stations --
-- part.nc --
O1
G21 G17 G40 G49 G80 G91 G28 Z0
M98 P900
T1 M6
S4000 M3
G0 G54 X0 Y0
G43 H1 Z50
G91 G28 Z0
M30
O900
G90 G94 G98
M99
~~~
`,
  *check(cx) {
    yield* paced(yield* activations(cx.run.steps), (a) => judge(cx, a));
  },
});

interface Activation {
  readonly call: Call;
  readonly first: number;
  /** The last step of the activation, those of what it called among them. */
  last: number;
  /** The last step of its own: the return, or the last block of a program that ends without one. */
  own: number;
}

/** Every time a subprogram was run. */
function* activations(steps: readonly Step[]): Generator<void, readonly Activation[], void> {
  const found = new Map<Call, Activation>();
  yield* paced(steps, (step, index) => {
    for (let call: Call | undefined = step.call; call !== undefined && call.caller >= 0; call = call.parent) {
      const entry = found.get(call) ?? { call, first: index, last: index, own: index };
      entry.last = index;
      if (call === step.call) entry.own = index;
      found.set(call, entry);
    }
  });
  return [...found.values()];
}

function judge(cx: RuleContext, a: Activation): void {
  const entered = (cx.run.steps[a.first] as Step).before;
  const left = (cx.run.steps[a.last] as Step).after;
  const end = cx.run.steps[a.own] as Step;
  // The end of the program in place of a return is another fault.
  if (left.uncertain !== undefined || ["M2", "M30"].some((code) => cx.word(end, code) !== undefined)) return;
  for (const mode of MODES) {
    const before = mode.code(entered);
    const after = mode.code(left);
    if (before === after || before === "" || after === "" || HOME[mode.name].includes(after)) continue;
    const setter = setterOf(cx, a, mode);
    // What a program called from here has set is that program's finding.
    if (setter.call !== a.call) continue;
    const relying = relyingStep(cx, a.last + 1, mode);
    if (relying === undefined) continue;
    report(cx, a, end, setter, relying, before, after);
    return;
  }
}

/** The last step of the activation that changed the mode. */
function setterOf(cx: RuleContext, a: Activation, mode: Mode): Step {
  let i = a.last;
  for (; i > a.first; i--) {
    const step = cx.run.steps[i] as Step;
    if (mode.code(step.before) !== mode.code(step.after)) break;
  }
  return cx.run.steps[i] as Step;
}

/** The first step behind the return that acts by the mode, unless one states it first. */
function relyingStep(cx: RuleContext, from: number, mode: Mode): Step | undefined {
  for (const step of cx.run.steps.slice(from, from + REACH)) {
    if (says(cx, step, mode.states)) return undefined;
    if (mode.relies(cx, step)) return step;
  }
  return undefined;
}

function report(cx: RuleContext, a: Activation, end: Step, setter: Step, relying: Step, before: string, after: string): void {
  const program = `${a.call.kind === "local" ? "N" : "O"}${a.call.program}`;
  const args = { program, before, after, line: relying.block.line + 1 };
  const m99 = cx.word(end, "M99");
  cx.report({
    at: cx.place(end, m99),
    args,
    step: a.own,
    related: [
      { place: cx.blockPlace(setter), message: { key: "related.set", args } },
      { place: cx.blockPlace(relying), message: { key: "related.relies", args } },
    ],
    fixes:
      m99 === undefined
        ? []
        : [{ title: { key: "fix.restore", args }, changes: [wordsBefore(cx, end, m99.start, before)], sameMotion: false }],
    data: { before, after },
  });
}

function says(cx: RuleContext, step: Step, codes: readonly string[]): boolean {
  return step.block.words.some((w) => w.letter === "G" && codes.includes(codeText("G", cx.value(step, w))));
}

function hasRotary(step: Step): boolean {
  return actingWords(step.block).some((w) => "ABC".includes(w.letter));
}

function hasAxis(step: Step): boolean {
  return actingWords(step.block).some((w) => "XYZ".includes(w.letter));
}

function isCycleOrArc(m: Modal): boolean {
  return m.motion === "G2" || m.motion === "G3" || /^G(7|8[1-9])/.test(m.motion);
}
