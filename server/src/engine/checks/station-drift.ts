import type { Fix, Related } from "../findings.js";
import type { Station } from "../fixture/model.js";
import type { Move } from "../machine/move.js";
import type { Call, Run, Step } from "../machine/run.js";
import type { Word } from "../syntax/block.js";
import { incidentsOf } from "./lib/incidents.js";
import { outsideCuts } from "./lib/outside.js";
import { selections } from "./lib/selection.js";
import { AXES } from "./lib/stored.js";
import { type Tally, tallies, type Unit } from "./lib/tally.js";
import { toolWords } from "./lib/words.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** Copies of one path that no longer agree. */
export const stationDrift = defineRule({
  id: "station-drift",
  level: "warning",
  summary: "Copies of the same path differ in a few words; the minority is named.",
  messages: {
    default:
      "{station}: {word} for {tool} here, but {wanted} at the same place of the path at {count} siblings: one copy was changed and the others were not",
    "related.sibling": "the same block at {sibling}",
    "fix.word": "Write {wanted} as the others have it",
  },
  docs: `
The path of a tool is written out once for every station, and one day a depth is corrected, at eleven of twelve. The part from the
twelfth has the old depth, and nobody knows until it is measured.

Copies are compared in the part frame: block numbers, comments and offsets do not count. Where all but a few words agree, the
station that stands alone is named with the word. A correction that is meant for one station is allowed where it stands, with its
reason.

~~~case
The depth was changed at A1 and A3.
-- use: three-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y20
G43 H1 Z50
Z2
G1 Z-3.2 F300
X40
Y30
G0 Z50
G55 X10 Y20
Z2
G1 Z-3 F300
;  ^^^ warning station-drift: A2: Z-3 for tool 1 (end mill 10) here, but Z-3.2 at the same place of the path at 2 siblings: one copy was changed and the others were not
X40
Y30
G0 Z50
G56 X10 Y20
Z2
G1 Z-3.2 F300
X40
Y30
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
A correction, declared.
-- use: three-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y20
G43 H1 Z50
Z2
G1 Z-3.2 F300
X40
Y30
G0 Z50
G55 X10 Y20
Z2
G1 Z-3.15 F300 (ALLOW station-drift: the seat of A2 is ground 0.05 deeper)
;  ^^^^^^ information station-drift: A2: Z-3.15 for tool 1 (end mill 10) here, but Z-3.2 at the same place of the path at 2 siblings: one copy was changed and the others were not [allowed: the seat of A2 is ground 0.05 deeper]
X40
Y30
G0 Z50
G56 X10 Y20
Z2
G1 Z-3.2 F300
X40
Y30
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
All copies agree.
-- use: three-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y20
G43 H1 Z50
Z2
G1 Z-3 F300
X40
G0 Z50
G55 X10 Y20
Z2
G1 Z-3 F300
X40
G0 Z50
G56 X10 Y20
Z2
G1 Z-3 F300
X40
G0 Z50
G28 G91 Z0
M30
~~~
`,
  *check(cx) {
    const { fixture } = cx;
    if (fixture === undefined || cx.blockSkip) return;
    // What the changed word leads to is the graver fault, and stands for both.
    const graver = new Set<number>();
    for (const i of yield* incidentsOf(cx)) graver.add(i.move);
    for (const o of yield* outsideCuts(cx)) for (let m = o.first; m < o.end; m++) graver.add(m);
    for (const tally of yield* tallies(cx)) {
      // Only stations that stand alike can have copies of one path: a part turned in its nest has another one.
      for (const alike of alikeStations(tally)) {
        const rounds = Math.max(...alike.map((s) => tally.byStation.get(s.index)?.length ?? 0));
        for (let k = 0; k < rounds; k++) yield* compare(cx, tally, alike, k, graver);
      }
    }
  },
});

function alikeStations(tally: Tally): Station[][] {
  const groups = new Map<string, Station[]>();
  for (const s of tally.siblings.stations) {
    const key = `${s.clamp} ${s.base.skew} ${s.zero[0] - (s.stock?.from[0] ?? 0)} ${s.zero[1] - (s.stock?.from[1] ?? 0)} ${s.zero[2] - s.seat}`;
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [s]);
    else group.push(s);
  }
  // Of two copies that differ neither is the one that was changed; to write out the moves of long programs for nothing takes time.
  return [...groups.values()].filter((g) => g.length > 2);
}

/** One unit: its moves as text, to see whether copies differ, and its blocks, to see where. */
interface Copy {
  readonly unit: Unit;
  readonly station: Station;
  readonly texts: string;
  readonly steps: readonly Step[];
}

/** Moves between two yields: about a millisecond of work. */
const SLICE = 1000;

/** Compares the k-th time of a tool at each station. */
function* compare(
  cx: RuleContext,
  tally: Tally,
  stations: readonly Station[],
  k: number,
  graver: ReadonlySet<number>,
): Generator<void, void, void> {
  const copies: Copy[] = [];
  for (const station of stations) {
    const unit = tally.byStation.get(station.index)?.[k];
    if (unit === undefined) continue;
    const texts: string[] = [];
    const moves = cx.run.moves.slice(unit.first, (unit.pass.cuts[unit.at + unit.count - 1] as number) + 1);
    for (const [i, move] of moves.entries()) {
      if (i % SLICE === 0) yield;
      texts.push(moveText(cx.run, move));
    }
    const steps = cx.run.steps.slice(moves[0]?.step, (moves.at(-1) as Move).step + 1).filter((s) => s.block.words.length > 0);
    copies.push({ unit, station, texts: texts.join(";"), steps });
  }
  const kinds = new Map<string, Copy[]>();
  for (const c of copies) {
    const group = kinds.get(c.texts);
    if (group === undefined) kinds.set(c.texts, [c]);
    else group.push(c);
  }
  const most = [...kinds.values()].find((g) => g.length * 2 > copies.length);
  if (most === undefined) return;
  for (const group of kinds.values()) {
    if (group === most) continue;
    for (const copy of group) {
      const report = differing(cx, tally, copy, most, graver);
      if (report !== undefined) cx.report(report);
    }
  }
}

/**
 * A move in the part frame with its kind and feed. Of a rapid only what its block names counts, and the rapids that a cycle makes by
 * itself not at all: where they come from differs from station to station, since a change of the offset moves nothing.
 */
function moveText(run: Run, m: Move): string {
  if (m.kind === "dwell" || m.role === "cycle-retract") return "";
  const round = (v: number): string => (Number.isNaN(v) ? "?" : String(Math.round(v * 1000) || 0));
  if (m.kind === "rapid") {
    if (m.role !== "plain") return "";
    const { words } = (run.steps[m.step] as Step).block;
    return `r${AXES.map((axis, k) => (words.some((w) => w.letter === axis) ? round(m.partTo[k] as number) : "")).join()}`;
  }
  const from = m.role === "cycle-feed" ? round(m.partFrom[2]) : "";
  return `${m.kind}${from} ${m.partTo.map(round).join()} ${round(m.sweep)} ${round(m.feed)}`;
}

/** The word in which a copy stands alone; undefined where it differs in more than a few words, or is another path altogether. */
function differing(cx: RuleContext, tally: Tally, copy: Copy, most: readonly Copy[], graver: ReadonlySet<number>): Report | undefined {
  const other = most[0] as Copy;
  const words = argumentDifferences(cx, tally, copy, most) ?? wordDifferences(cx, tally, copy, other);
  const [first] = words;
  if (first === undefined || words.length > Math.max(2, copy.steps.length / 8)) return undefined;
  // F0 has a rule of its own.
  if (first.word.letter === "F" && cx.value(first.step, first.word) === 0) return undefined;
  const last = copy.steps.at(-1) as Step;
  const from = first.step.call === copy.steps[0]?.call ? first.step : (copy.steps[0] as Step);
  for (let m = from.firstMove; m < last.endMove; m++) if (graver.has(m)) return undefined;
  const wanted = spell(cx, first.otherStep, first.otherWord);
  const related: Related[] = [
    { place: cx.place(first.otherStep, first.otherWord), message: { key: "related.sibling", args: { sibling: other.station.id } } },
  ];
  const fixes: Fix[] =
    first.word.expr === undefined
      ? [
          {
            title: { key: "fix.word", args: { wanted } },
            changes: [{ place: cx.place(first.step, first.word), text: wanted }],
            sameMotion: false,
          },
        ]
      : [];
  return {
    at: cx.place(first.step, first.word),
    args: {
      station: copy.station.id,
      word: spell(cx, first.step, first.word),
      wanted,
      count: most.length,
      tool: toolWords(cx, tally.tool),
    },
    station: copy.station.id,
    related,
    fixes,
    data: { tool: tally.tool, siblings: most.map((c) => c.station.id) },
    step: cx.run.steps.indexOf(first.step),
  };
}

/** The words in which the blocks of two copies differ; none where they are no copies of one text. */
function wordDifferences(cx: RuleContext, tally: Tally, copy: Copy, other: Copy): readonly Difference[] {
  if (copy.steps.length !== other.steps.length || shared(tally, copy, other) || isOneText(copy, other)) return [];
  const selecting = new Set(selections(cx).flatMap((s) => [s.code, ...(s.p === undefined ? [] : [s.p])]));
  return copy.steps.flatMap((step, i) => differences(cx, step, other.steps[i] as Step, selecting));
}

/**
 * Where one macro makes all the copies, its calls are what was copied: the arguments that only this call has otherwise. What is
 * another one at each station (its number, its offset) tells the stations apart and counts as none. Undefined where the copies are
 * not made by calls of one macro.
 */
function argumentDifferences(cx: RuleContext, tally: Tally, copy: Copy, most: readonly Copy[]): readonly Difference[] | undefined {
  const [own, ...others] = [copy, ...most].map((c) => macroCallOf(cx, c)) as [Step | undefined, ...(Step | undefined)[]];
  const [other] = others;
  if (own === undefined || other === undefined || own.block === other.block) return undefined;
  const said = (step: Step | undefined, letter: string): number => {
    const word = step?.block.words.find((w) => w.letter === letter);
    return step === undefined || word === undefined ? Number.NaN : cx.value(step, word);
  };
  if (others.some((o) => said(o, "P") !== said(own, "P"))) return undefined;
  // The same calls in another order, as a way there and back has them.
  const stations = most.map((c) => c.station.index);
  if (stations.some((s) => tally.byStation.get(s)?.some((u) => u.path === copy.unit.path))) return [];
  return own.block.words.flatMap((word) => {
    const otherWord = other.block.words.find((w) => w.letter === word.letter);
    const wanted = said(other, word.letter);
    if (otherWord === undefined || word.letter === "G" || cx.value(own, word) === wanted) return [];
    return others.every((o) => said(o, word.letter) === wanted) ? [{ step: own, word, otherStep: other, otherWord }] : [];
  });
}

/** The block that calls the macro in which a copy begins; undefined where it begins in none. */
function macroCallOf(cx: RuleContext, copy: Copy): Step | undefined {
  for (let call: Call | undefined = copy.steps[0]?.call; call !== undefined; call = call.parent) {
    const caller = cx.run.steps[call.caller];
    if (caller !== undefined && cx.word(caller, "G65") !== undefined) return caller;
  }
  return undefined;
}

/** Two programs of which one is used at several stations are no copies of one path. */
function shared(tally: Tally, a: Copy, b: Copy): boolean {
  const [one, two] = [a.unit.pass.call?.program, b.unit.pass.call?.program];
  if (one === undefined || two === undefined) return false;
  const users = (p: number): number => new Set(tally.units.filter((u) => u.pass.call?.program === p).map((u) => u.station)).size;
  return users(one) > 1 || users(two) > 1;
}

/** Whether two copies pass the same block, programs that they call aside: then it is one text that goes two ways on purpose. */
function isOneText(a: Copy, b: Copy): boolean {
  const depth = Math.min(...a.steps.map((s) => s.call.depth));
  const blocks = new Set(a.steps.filter((s) => s.call.depth === depth).map((s) => s.block));
  return b.steps.some((s) => blocks.has(s.block));
}

interface Difference {
  readonly step: Step;
  readonly word: Word;
  readonly otherStep: Step;
  readonly otherWord: Word;
}

/** The words in which two blocks of different copies differ. What selects the offset is each station's own. */
function differences(cx: RuleContext, step: Step, otherStep: Step, selecting: ReadonlySet<Word>): Difference[] {
  if (step.block === otherStep.block) return [];
  const wordsOf = (s: Step): Word[] => s.block.words.filter((w) => !selecting.has(w));
  const [own, others] = [wordsOf(step), wordsOf(otherStep)];
  const out: Difference[] = [];
  for (const word of own) {
    if (word.letter === "G" || word.letter === "M") continue;
    const otherWord = others.find((w) => w.letter === word.letter);
    if (otherWord !== undefined && cx.value(step, word) !== cx.value(otherStep, otherWord)) out.push({ step, word, otherStep, otherWord });
  }
  // Of its G codes a block can have several, in any order: one that the other block has not, for one that this has not.
  const only = (a: readonly Word[], s: Step, b: readonly Word[], t: Step): Word[] =>
    a.filter((w) => w.letter === "G" && !b.some((v) => v.letter === "G" && cx.value(t, v) === cx.value(s, w)));
  const [word, second] = only(own, step, others, otherStep);
  const [otherWord, otherSecond] = only(others, otherStep, own, step);
  if (word !== undefined && otherWord !== undefined && second === undefined && otherSecond === undefined)
    out.unshift({ step, word, otherStep, otherWord });
  return out;
}

/** A word as it is written. */
function spell(cx: RuleContext, step: Step, word: Word): string {
  return (cx.run.sources[step.source]?.lines[step.block.line] ?? "").slice(word.start, word.end);
}
