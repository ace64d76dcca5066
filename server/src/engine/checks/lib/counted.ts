import { followingOffset } from "../../dialect/offsets.js";
import type { Station } from "../../fixture/model.js";
import type { Run, Step } from "../../machine/run.js";
import type { Word } from "../../syntax/block.js";
import type { Expr } from "../../syntax/expression.js";
import type { RuleContext } from "../rule.js";
import { selections } from "./selection.js";
import { type Siblings, siblingsOf } from "./stations.js";

/** A loop or repeated call that goes from station to station by counting the offset up or down. */
export interface CountedLoop {
  readonly tool: number;
  /** What is machined where it goes and where it should go: a part and its op, in the order of first use. */
  readonly work: readonly Pick<Siblings, "part" | "op">[];
  /** Step of the loop's condition or of the repeated call. */
  readonly step: number;
  readonly kind: "loop" | "repeat";
  /** How many offsets it goes to. */
  readonly count: number;
  readonly wanted: number;
  /** Stations that it leaves out. */
  readonly missing: readonly number[];
  /** Offsets of no station that it goes to. */
  readonly past: readonly string[];
  /** All that is missing or too much follows its last station, so that only its end is wrong. */
  readonly atEnd: boolean;
}

/**
 * Loops and repeats that step the work offset and go to fewer or more stations than there are siblings. Those whose count comes
 * from something that the program does not set (the operator's) are not among them.
 */
export function countedLoops(cx: RuleContext): readonly CountedLoop[] {
  const held = known.get(cx.run);
  if (held !== undefined) return held;
  const found = find(cx);
  known.set(cx.run, found);
  return found;
}

const known = new WeakMap<Run, readonly CountedLoop[]>();

function find(cx: RuleContext): CountedLoop[] {
  const { run, fixture } = cx;
  if (fixture === undefined) return [];
  const groups = siblingsOf(fixture);
  // Of a station that is loaded, and so one of a group.
  const groupOf = (station: Station): Siblings => groups.find((g) => g.stations.includes(station)) as Siblings;
  const loadedAt = (key: string | undefined): Station | undefined =>
    key === undefined ? undefined : fixture.stationsOf(key).find((s) => !s.empty);
  const drafts: Draft[] = [];
  for (const { tool, steps, keys } of steppingBlocks(cx).values()) {
    const visited = new Set(run.visits.filter((v) => v.tool === tool && v.cuts).map((v) => v.station));
    // The stations that come next in the series, hold a part the tool works on, and are not gone to.
    const onward = (from: string, by: 1 | -1): Station[] => {
      const out: Station[] = [];
      for (let n = 1; n <= fixture.stations.length; n++) {
        const next = loadedAt(followingOffset(from, n * by, cx.profile));
        if (next === undefined || visited.has(next.index)) break;
        if (!groupOf(next).stations.some((s) => visited.has(s.index))) break;
        out.push(next);
      }
      return out;
    };
    for (const part of inRuns(cx, steps, keys)) {
      const control = controlOf(cx, part.turns);
      if (control === undefined || !setByProgram(cx, control.step)) continue;
      const [first = "", second] = part.keys;
      const by = second !== undefined && followingOffset(first, -1, cx.profile) === second ? -1 : 1;
      const draft = {
        ...control,
        tool,
        keys: part.keys,
        ahead: onward(part.keys.at(-1) ?? "", by),
        behind: onward(first, by === 1 ? -1 : 1),
      };
      const held = drafts.findIndex((d) => d.tool === tool && d.step === control.step);
      const same = drafts[held];
      if (same === undefined) drafts.push(draft);
      else if (same.keys.join() !== draft.keys.join()) drafts[held] = joined(same, draft);
    }
  }
  return drafts.flatMap((draft, i) => {
    const { ahead, behind, keys, ...rest } = draft;
    // What a loop that ends short leaves out is that loop's fault alone.
    const others = drafts.flatMap((d, k) => (d.tool !== draft.tool || k === i ? [] : d.ahead.map((s) => ({ s, earlier: k < i }))));
    const after = ahead.filter((s) => !others.some((o) => o.earlier && o.s === s));
    const before = behind.filter((s) => !others.some((o) => o.s === s));
    const gone = new Set(keys);
    const between = (s: Station): boolean =>
      gone.has(followingOffset(s.offset ?? "", 1, cx.profile) ?? "") && gone.has(followingOffset(s.offset ?? "", -1, cx.profile) ?? "");
    const left = [...new Set([...after, ...before])].sort((a, b) => a.index - b.index);
    // A loop that makes a round for each station counts right: in one of them it jumps over the station.
    const jumps = left.length > 0 && left.every(between) && roundsOf(cx, draft) === keys.length + left.length;
    const missing = jumps ? [] : left;
    const visited = keys.flatMap((key) => loadedAt(key) ?? []);
    const past = keys.filter((k) => fixture.stationsOf(k).length === 0 && !fixture.datums.has(k));
    if (visited.length === 0 || (missing.length === 0 && past.length === 0)) return [];
    const lastPast = keys.slice(keys.length - past.length);
    return [
      {
        ...rest,
        work: [...new Set([...visited, ...missing].map(groupOf))],
        count: keys.length,
        wanted: keys.length + missing.length - past.length,
        missing: missing.map((s) => s.index),
        past,
        atEnd: past.length === 0 ? before.length === 0 : missing.length === 0 && past.every((k) => lastPast.includes(k)),
      },
    ];
  });
}

/** How often a loop goes round; NaN for the repeats of a call. */
function roundsOf(cx: RuleContext, { kind, step }: Draft): number {
  const control = cx.run.steps[step] as Step;
  if (kind === "repeat") return Number.NaN;
  const asked = cx.run.steps.filter((s) => s.block === control.block && s.call === control.call).length;
  // The last time that a WHILE is asked no round follows.
  return control.block.control?.kind === "while" ? asked - 1 : asked;
}

/** A loop with the offsets that it goes to and the stations that it leaves out, behind its last and before its first. */
interface Draft extends Pick<CountedLoop, "tool" | "step" | "kind"> {
  readonly keys: readonly string[];
  readonly ahead: readonly Station[];
  readonly behind: readonly Station[];
}

/** One loop that goes on in steps of more than one, or that runs several times from different offsets on. */
function joined(a: Draft, b: Draft): Draft {
  return {
    ...a,
    keys: [...new Set([...a.keys, ...b.keys])],
    ahead: [...a.ahead, ...b.ahead],
    behind: [...a.behind, ...b.behind],
  };
}

/**
 * Steps that select an offset in a round of a loop of which nobody here knows whether it is made: the count is the operator's. The first
 * round is certain, the others are looked at only because they may be.
 */
export function uncertainRounds(cx: RuleContext): ReadonlySet<number> {
  const held = rounds.get(cx.run);
  if (held !== undefined) return held;
  const out = new Set<number>();
  for (const { steps, keys } of steppingBlocks(cx).values()) {
    for (const part of inRuns(cx, steps, keys)) {
      const control = controlOf(cx, part.turns);
      if (control !== undefined && !setByProgram(cx, control.step)) for (const s of part.steps.slice(1)) out.add(s);
    }
  }
  rounds.set(cx.run, out);
  return out;
}

const rounds = new WeakMap<Run, ReadonlySet<number>>();

interface Stepping {
  readonly tool: number;
  readonly steps: number[];
  readonly keys: string[];
}

/** Blocks that select one computed offset after another, by source, line and tool. */
function steppingBlocks(cx: RuleContext): Map<string, Stepping> {
  // The same block selecting one offset after another is a stepping loop.
  const stepping = new Map<string, Stepping>();
  for (const s of selections(cx)) {
    const computed = s.code.expr !== undefined || s.p?.expr !== undefined;
    if (!computed || s.key === undefined) continue;
    const key = `${s.step.source}:${s.step.block.line}:${s.step.after.toolStep}`;
    const held = stepping.get(key);
    if (held === undefined) stepping.set(key, { tool: s.step.after.tool, steps: [s.index], keys: [s.key] });
    else {
      held.steps.push(s.index);
      held.keys.push(s.key);
    }
  }
  return stepping;
}

/**
 * The offsets of one selecting block, cut where another loop begins: the same called program is used by several. `turns` are the
 * steps that select another one than the step before.
 */
function inRuns(
  cx: RuleContext,
  steps: readonly number[],
  keys: readonly string[],
): { readonly steps: number[]; readonly turns: number[]; readonly keys: string[] }[] {
  const out: { steps: number[]; turns: number[]; keys: string[] }[] = [];
  steps.forEach((step, i) => {
    const key = keys[i] ?? "";
    const held = out[out.length - 1];
    const before = held?.keys[held.keys.length - 1];
    const goesOn =
      before !== undefined &&
      (before === key || followingOffset(before, 1, cx.profile) === key || followingOffset(key, 1, cx.profile) === before);
    if (held === undefined || !goesOn) out.push({ steps: [step], turns: [step], keys: [key] });
    else {
      held.steps.push(step);
      if (before === key) return;
      held.turns.push(step);
      held.keys.push(key);
    }
  });
  return out;
}

/** What counts: the repeated call that runs the selecting block, else the loop that it stands in. */
function controlOf(cx: RuleContext, steps: readonly number[]): { readonly step: number; readonly kind: "loop" | "repeat" } | undefined {
  const { run } = cx;
  const [from, to] = steps as readonly [number, number?];
  const first = run.steps[from] as Step;
  if (to === undefined) return around(cx, from);
  const second = run.steps[to] as Step;
  let found: Step | undefined;
  for (const loop of run.steps.slice(from, to + 1)) {
    // A loop that only stands on the way counts no stations, and one within another, as over depths, does so at each of them.
    if (loop.call !== first.call || !encloses(cx, loop, first)) continue;
    if (found === undefined || encloses(cx, loop, found)) found = loop;
  }
  if (found !== undefined) return { step: firstOf(cx, found), kind: "loop" };
  // Repeats of one call: the same calling block, which says how often.
  const caller = run.steps[first.call.caller];
  if (caller !== undefined && first.call.caller === second.call.caller && saysHowOften(cx, caller))
    return { step: first.call.caller, kind: "repeat" };
  // A call that is made again and again by a loop of the caller.
  if (first.call.caller >= 0 && second.call.caller >= 0 && first.call.caller !== second.call.caller)
    return controlOf(cx, [first.call.caller, second.call.caller]);
  return undefined;
}

/** The word of a call that says how often: a letter of its own, or in the packed form the P with the repeats before the program's number. */
export function repeatWord(cx: RuleContext, step: Step): Word | undefined {
  const { words } = step.block;
  const own = words.find((w) => cx.profile.repeatLetters.includes(w.letter) && !Number.isNaN(cx.value(step, w)));
  if (own !== undefined || !cx.profile.packedRepeat || cx.word(step, "M98") === undefined) return own;
  return words.find((w) => w.letter === "P" && cx.value(step, w) > 9999);
}

/** Whether a call has a word for its repeats. */
function saysHowOften(cx: RuleContext, step: Step): boolean {
  return step.block.words.some((w) => cx.profile.repeatLetters.includes(w.letter)) || repeatWord(cx, step) !== undefined;
}

/** Whether a block stands between a WHILE and its END, or between a label and the IF … GOTO that jumps back to it. */
function encloses(cx: RuleContext, loop: Step, inner: Step): boolean {
  const { control, line } = loop.block;
  const blocks = cx.run.sources[loop.source]?.blocks ?? [];
  const at = inner.block.line;
  if (control?.kind === "while") {
    const end = blocks.find((b) => b.line > line && b.control?.kind === "end" && b.control.loop === control.loop);
    return line < at && end !== undefined && at < end.line;
  }
  if (control?.kind !== "if-goto") return false;
  const label = control.target.kind === "number" ? control.target.value : Number.NaN;
  return blocks.some((b) => b.label === label && b.line <= at) && at <= line;
}

/** What a block that ran once stands in: a loop, by the condition before it or the jump back behind it, or a call that says how often. */
function around(cx: RuleContext, index: number): { readonly step: number; readonly kind: "loop" | "repeat" } | undefined {
  const { steps } = cx.run;
  const step = steps[index] as Step;
  const loopsAround = (s: Step, kind: "while" | "if-goto"): boolean => s.call === step.call && s.block.control?.kind === kind;
  const whiles = steps.slice(0, index).filter((s) => loopsAround(s, "while") && encloses(cx, s, step));
  // Of loops in each other that one which asks for what the offset is computed from.
  const before = whiles.findLast((s) => steers(s, step)) ?? whiles.at(-1);
  if (before !== undefined) return { step: firstOf(cx, before), kind: "loop" };
  const jump = steps.slice(index + 1).find((s) => loopsAround(s, "if-goto"));
  if (jump !== undefined && encloses(cx, jump, step)) return { step: firstOf(cx, jump), kind: "loop" };
  const caller = steps[step.call.caller];
  if (caller === undefined) return undefined;
  return saysHowOften(cx, caller) ? { step: step.call.caller, kind: "repeat" } : around(cx, step.call.caller);
}

/** Whether the condition of a loop asks for a variable from which a block computes. */
function steers(loop: Step, inner: Step): boolean {
  const asked = new Set<number>();
  const { control } = loop.block;
  if (control !== undefined && "condition" in control) collect(control.condition, asked);
  const used = new Set<number>();
  for (const w of inner.block.words) if (w.expr !== undefined) collect(w.expr, used);
  return [...used].some((n) => asked.has(n));
}

/** Whether the program itself says how often: the condition or the repeat rests on no variable that nothing here sets. */
function setByProgram(cx: RuleContext, index: number): boolean {
  const { control, words } = (cx.run.steps[index] as Step).block;
  const used = new Set<number>();
  if (control !== undefined && "condition" in control) collect(control.condition, used);
  for (const w of words) if (w.expr !== undefined) collect(w.expr, used);
  for (const n of used) {
    const set = cx.run.sources.some((s) =>
      s.blocks.some((b) => b.assignments.some((a) => a.index.kind === "number" && a.index.value === n)),
    );
    // Local variables may come as arguments of the call.
    if (!set && n > 33) return false;
  }
  return true;
}

/** The numbers of the variables in an expression. */
function collect(e: Expr, into: Set<number>): void {
  if (e.kind === "variable") {
    if (e.index.kind === "number") into.add(e.index.value);
    else collect(e.index, into);
  } else if (e.kind === "negate") collect(e.of, into);
  else if (e.kind === "binary") {
    collect(e.left, into);
    collect(e.right, into);
  } else if (e.kind === "call") for (const a of e.args) collect(a, into);
}

/** The first time that a block ran. */
function firstOf(cx: RuleContext, step: Step): number {
  return cx.run.steps.findIndex((s) => s.source === step.source && s.block.line === step.block.line);
}
