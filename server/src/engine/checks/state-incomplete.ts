import type { Fix, Related } from "../findings.js";
import type { Modal } from "../machine/move.js";
import type { Step } from "../machine/run.js";
import { actingWords, sourceOf } from "./context.js";
import { inHabit } from "./lib/edits.js";
import { inheritedStarts } from "./lib/inherited.js";
import { unsure } from "./lib/left.js";
import { paced } from "./lib/paced.js";
import { selections } from "./lib/selection.js";
import { listArg, toolWords } from "./lib/words.js";
import { defineRule, type RuleContext } from "./rule.js";

/** A tool cannot be restarted from its change: its head leaves out a state. */
export const stateIncomplete = defineRule({
  id: "state-incomplete",
  level: "warning",
  summary: "A tool's head does not set what a restart there needs: G90, plane, G40, G80, offset, length, speed.",
  needs: "program",
  messages: {
    default: "a restart at {tool} lacks {missing}: no block from its tool change to its first cut states it",
    "related.again": "{tool} too, lacking {missing}",
    "fix.line": "Insert the state line {line}, which restates what is in force",
  },
  docs: `
After a broken tool the operator restarts at a tool change. Whatever the head of that tool does not say is then what the machine happens to
have: G91 from the reference return, the wrong plane, a cycle, the offset of another station.

A head reaches from the tool change to the first cutting block, programs that it calls included; that of the first tool begins with the
program. It should state the distance mode, the plane, G40, that no cycle is on (G80, or any motion code), the work offset, the length
and the speed. A state that the program speaks of nowhere stays as the control begins with it and is not asked for, unless the head says
nothing of G90, plane and G40 at all. What is wrong, and not only unsaid, is left to the rules that speak of it.

One finding stands for all tools of a program.

~~~case
The second tool relies on the head of the first.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G1 Z-2 F300
G0 Z50
T2 M6
;^^^^ warning state-incomplete: a restart at tool 2 lacks G90, plane (G17) and G40
S3000 M3
G0 G54 X10 Y10
G43 H2 Z50
G1 Z-5 F200
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
T2 M6
G90 G17 G40
S3000 M3
G0 G54 X10 Y10
G43 H2 Z50
G1 Z-5 F200
G0 Z50
M30
~~~

~~~case
A called program states it.
-- part.nc --
O1
G21
M98 P8000
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G1 Z-2 F300
G0 Z50
T2 M6
M98 P8000
S3000 M3
G0 G54 X10 Y10
G43 H2 Z50
G1 Z-5 F200
G0 Z50
M30
O8000 (START OF A TOOL)
G17 G40 G80 G90
M99
~~~
`,
  *check(cx) {
    const heads = yield* headsOf(cx);
    const said = yield* saidAnywhere(cx);
    const inherits = yield* inheritedStarts(cx);
    const offsets = new Set(selections(cx).map((s) => s.index));
    const found: { readonly head: Head; readonly missing: string[]; readonly codes: string[] }[] = [];
    const done = new Set<string>();
    for (const head of heads) {
      yield;
      const lacks = missing(cx, head, offsets, said, inherits.has(head.index));
      const key = `${head.step.source}:${head.step.block.line}`;
      if (lacks === undefined || lacks.missing.length === 0 || done.has(key)) continue;
      done.add(key);
      found.push({ head, ...lacks });
    }
    const first = found[0];
    if (first === undefined) return;
    const related: Related[] = found.slice(1).map(({ head, missing: m }) => ({
      place: cx.blockPlace(head.step),
      message: { key: "related.again", args: { tool: toolWords(cx, head.step.after.tool), missing: listArg(m) } },
    }));
    cx.report({
      at: cx.blockPlace(first.head.step),
      args: { tool: toolWords(cx, first.head.step.after.tool), missing: listArg(first.missing) },
      related,
      fixes: fixOf(cx, first.head, first.codes),
      data: { missing: first.missing },
      step: first.head.index,
    });
  },
});

interface Head {
  /** Step of the tool change. */
  readonly index: number;
  readonly step: Step;
  /** First step of the head; before the change for the first tool. */
  readonly from: number;
  /** Step of the first cut. */
  readonly to: number;
}

/** The heads of all tools that cut. */
function* headsOf(cx: RuleContext): Generator<void, Head[], void> {
  const { run } = cx;
  const out: Head[] = [];
  let change = -1;
  yield* paced(run.steps, (step, index) => {
    if (step.before.toolStep !== step.after.toolStep) change = index;
    if (change < 0) return;
    for (let i = step.firstMove; i < step.endMove; i++) {
      const kind = run.moves[i]?.kind;
      if (kind !== "feed" && kind !== "arc") continue;
      const at = run.steps[change];
      // A program that is repeated from its end changes the same tool again; the first time counts.
      // With tool 0 the spindle is empty: there is nothing to restart.
      if (at !== undefined && at.after.tool !== 0) out.push({ index: change, step: at, from: out.length === 0 ? 0 : change, to: index });
      change = -1;
      return;
    }
  });
  return out;
}

/** What a head leaves out, in the order of the page; `codes` are those that can be restated as they are in force. */
function missing(
  cx: RuleContext,
  head: Head,
  offsets: ReadonlySet<number>,
  anywhere: ReadonlySet<string>,
  inherits: boolean,
): { readonly missing: string[]; readonly codes: string[] } | undefined {
  const { run } = cx;
  const cut = run.steps[head.to];
  if (cut === undefined) return undefined;
  const said = new Set<string>();
  for (let s = head.from; s <= head.to; s++) {
    const step = run.steps[s];
    if (step === undefined) continue;
    // A jump or a program that is not known may say anything.
    if (step.after.uncertain !== undefined) return undefined;
    if (offsets.has(s)) said.add("offset");
    for (const state of statedBy(cx, step)) said.add(state);
  }
  // A state that the program never speaks of stays as the control begins with it; one that it does speak of needs saying. A head
  // that says nothing at all of the three that every head begins with is incomplete in any case.
  const bare = !said.has("distance") && !said.has("plane") && !said.has("compensation");
  const lacks = (state: string): boolean => !said.has(state) && (bare || anywhere.has(state));
  const modal: Modal = cut.before;
  const out: string[] = [];
  const codes: string[] = [];
  // G91 still in force at the cut is told by the rules of increments.
  if (lacks("distance") && modal.absolute) {
    out.push("G90");
    codes.push("G90");
  }
  if (lacks("plane")) {
    out.push(`plane (G${modal.plane})`);
    codes.push(`G${modal.plane}`);
  }
  if (lacks("compensation")) {
    out.push("G40");
    if (head.step.after.compensation === 40) codes.push("G40");
  }
  if (lacks("motion")) {
    out.push("G80");
    if (!/^G[78]/.test(head.step.after.motion)) codes.push(head.step.after.motion);
  }
  // Where the offset is inherited from another station, that is the graver fault and told by its own rule.
  if (lacks("offset") && !inherits && !unsure(modal, "offset") && !otherOffsets(cx, head.to)) out.push("offset");
  if (lacks("length") && modal.length !== 49 && modal.h === headH(cx, head)) out.push("length (G43 H)");
  if (lacks("speed") && modal.spindle !== "stopped") out.push("speed (S)");
  return { missing: out, codes };
}

/** The states that a step says something about. */
function statedBy(cx: RuleContext, step: Step): string[] {
  const out: string[] = [];
  for (const w of actingWords(step.block)) {
    if (w.letter === "S") out.push("speed");
    if (w.letter !== "G") continue;
    const value = Math.round(cx.value(step, w) * 10) / 10;
    if ([0, 1, 2, 3, 73, 74, 76, 80, 81, 82, 83, 84, 85, 86, 87, 88, 89].includes(value)) out.push("motion");
    if (value === 90 || value === 91) out.push("distance");
    if (value >= 17 && value <= 19) out.push("plane");
    if (value >= 40 && value < 43) out.push("compensation");
    if (value === 43 || value === 44 || value === 49) out.push("length");
  }
  return out;
}

/** The states that the program says anything about, wherever it is. */
function* saidAnywhere(cx: RuleContext): Generator<void, ReadonlySet<string>, void> {
  const out = new Set<string>();
  yield* paced(cx.run.steps, (step) => {
    for (const state of statedBy(cx, step)) out.add(state);
    if (step.after.offsetStep >= 0) out.add("offset");
  });
  return out;
}

/** Whether the program has used more than one offset up to a step. */
function otherOffsets(cx: RuleContext, to: number): boolean {
  const seen = new Set<string>();
  for (let s = 0; s <= to; s++) {
    const step = cx.run.steps[s];
    if (step !== undefined && step.after.offsetStep >= 0) seen.add(step.after.offset);
  }
  return seen.size > 1;
}

/** H that belongs to the tool; another H in force is told by the rules of length compensation. */
function headH(cx: RuleContext, head: Head): number {
  const tool = head.step.after.tool;
  return cx.fixture?.tools.get(tool)?.H[0] ?? tool;
}

/** A block behind the tool change that restates what is in force: it changes no motion. */
function fixOf(cx: RuleContext, head: Head, codes: readonly string[]): Fix[] {
  if (codes.length === 0) return [];
  const line = codes.join(" ");
  const at = head.step.block.line + 1;
  const place = { file: sourceOf(cx.run, head.step).file, range: { line: at, column: 0, endLine: at, endColumn: 0 } };
  return [
    { title: { key: "fix.line", args: { line } }, changes: [{ place, text: `${inHabit(cx, head.step, line)}\n` }], sameMotion: true },
  ];
}
