import { followingOffset, parseOffsetName, registerOfG10 } from "../dialect/offsets.js";
import type { Fix } from "../findings.js";
import type { Step } from "../machine/run.js";
import type { Word } from "../syntax/block.js";
import { inHabit } from "./lib/edits.js";
import { paced } from "./lib/paced.js";
import { isUnmapped } from "./offset-unmapped.js";
import { defineRule, type RuleContext } from "./rule.js";

/** A G10 block that writes another register than it means. */
export const offsetRegister = defineRule({
  id: "offset-register",
  level: "error",
  summary: "A G10 block writes another register than the one that is meant.",
  needs: "program",
  onSubprograms: true,
  messages: {
    default: "G10 L{l} P{p} is no register of this dialect",
    "out-of-range": "L{l} P{p} is no work offset of this dialect: additional offsets are written with L20",
    "other-kind": "L{l} P{p} writes {register}, which belongs to no station; {wanted} is written with L{right}",
    comment: "the comment says {wanted}, but L{l} P{p} writes {register}",
    order: "{register} is written a second time where {wanted} comes next in the order of these blocks",
    "related.before": "{register} is written here",
    "fix.register": "Write L{l} P{p} ({offset})",
  },
  docs: `
\`L2\` numbers the plain offsets from P1, \`L20\` the additional ones; P0 of L2 is the common shift. With the wrong L or P
the values land in another station's register, or nowhere, and the station keeps what the last job left.

~~~case
Additional offsets need L20.
-- use: two-stations --
-- part.nc --
G90 G10 L2 P7 X-680. Y-385. Z-345.
;       ^^^^^ error offset-register: additional offsets are written with L20
M30
~~~

~~~case
The comment and the register disagree.
-- use: two-stations --
-- part.nc --
G90 G10 L2 P1 X-680. Y-385. Z-345. (A1)
G90 G10 L2 P1 X-530. Y-385. Z-345. (A2)
;       ^^^^^ error offset-register: the comment says A2
M30
~~~

~~~case
The third block repeats P2 where P3 comes next.
-- use: four-stations --
-- part.nc --
G90
G10 L2 P1 X-680. Y-385. Z-345.
G10 L2 P2 X-530. Y-385. Z-345.
G10 L2 P2 X-380. Y-385. Z-345.
;   ^^^^^ error offset-register: written a second time where G56 comes next
G10 L2 P4 X-230. Y-385. Z-345.
M30
-- part.nc after fix 1 --
G90
G10 L2 P1 X-680. Y-385. Z-345.
G10 L2 P2 X-530. Y-385. Z-345.
G10 L2 P3 X-380. Y-385. Z-345.
G10 L2 P4 X-230. Y-385. Z-345.
M30
~~~

~~~case
The comment above names the station; one that speaks of another offset in passing does not.
-- use: two-stations --
-- part.nc --
G90
(STATION A2)
G10 L2 P1 X-680. Y-385. Z-345.
;   ^^^^^ error offset-register: the comment says A2
G10 L2 P2 X-530. Y-385. Z-345. (G54 + 150)
M30
~~~

~~~case
P0 of L2 is the common shift.
-- use: two-stations --
-- part.nc --
G90 G10 L2 P0 X0 Y0 Z0 (COMMON SHIFT)
G90 G10 L2 P1 X-680. Y-385. Z-345. (G54, A1)
G90 G10 L2 P2 X-530. Y-385. Z-345. (G55, A2)
M30
~~~
`,
  *check(cx) {
    for (const slip of yield* slipsOf(cx)) report(cx, slip);
  },
});

/** A block that writes another register than it means. */
interface Slip {
  readonly block: G10;
  readonly key: string;
  readonly args: Record<string, string | number>;
  /** The register that may be meant. */
  readonly wanted: string | undefined;
  readonly before?: G10;
}

/** Indexes of the steps whose values are for another register than they write: to compare them with its station tells nothing. */
export function* misaddressedSteps(cx: RuleContext): Generator<void, Set<number>, void> {
  return new Set((yield* slipsOf(cx)).map((s) => s.block.index));
}

const known = new WeakMap<RuleContext["run"], readonly Slip[]>();

/** In slices, and kept for the next rule that asks. */
function* slipsOf(cx: RuleContext): Generator<void, readonly Slip[], void> {
  const held = known.get(cx.run);
  if (held !== undefined) return held;
  const blocks: G10[] = [];
  yield* paced(cx.run.steps, (step, index) => {
    const g10 = readG10(cx, step, index);
    if (g10 !== undefined) blocks.push(g10);
  });
  const found = blocks.flatMap((block, n) => judge(cx, block, blocks, n) ?? []);
  known.set(cx.run, found);
  return found;
}

interface G10 {
  readonly step: Step;
  readonly index: number;
  readonly lWord: Word;
  readonly pWord: Word;
  readonly l: number;
  readonly p: number;
  readonly register: string | "shift" | "out-of-range";
}

function readG10(cx: RuleContext, step: Step, index: number): G10 | undefined {
  if (cx.word(step, "G10") === undefined) return undefined;
  const lWord = cx.word(step, "L");
  const pWord = cx.word(step, "P");
  if (lWord === undefined || pWord === undefined) return undefined;
  const l = cx.value(step, lWord);
  const p = cx.value(step, pWord);
  const register = registerOfG10(l, p, cx.profile);
  return register === undefined ? undefined : { step, index, lWord, pWord, l, p, register };
}

function judge(cx: RuleContext, block: G10, all: readonly G10[], n: number): Slip | undefined {
  const { l, p, register } = block;
  if (register === "shift") return undefined;
  const args = { l, p, register: cx.offsetName(register) };
  const named = namedInComment(cx, block.step);
  if (register === "out-of-range") {
    const additional = l === 2 && p > 0 && cx.profile.l20 === "additional";
    return { block, key: additional ? "out-of-range" : "default", args, wanted: named ?? (additional ? `P${p}` : undefined) };
  }
  if (named === register) return undefined;
  if (named !== undefined) return { block, key: "comment", args: { ...args, wanted: wantedName(cx, block.step, named) }, wanted: named };
  const order = expectedByOrder(cx, all, n);
  if (order !== undefined) return { block, key: "order", args: { ...args, wanted: cx.offsetName(order.wanted) }, ...order };
  // The register of nobody, where the same P under the other L is a station's.
  const right = l === 2 ? 20 : 2;
  const twin = registerOfG10(right, p, cx.profile);
  if (twin === undefined || !isUnmapped(cx, register) || cx.fixture?.stationsOf(twin).length === 0) return undefined;
  return { block, key: "other-kind", args: { ...args, wanted: cx.offsetName(twin), right }, wanted: twin };
}

/** Where the block belongs by the order of its neighbours: after n and before n + 2 stands n + 1, and it repeats n. */
function expectedByOrder(cx: RuleContext, all: readonly G10[], n: number): { wanted: string; before: G10 } | undefined {
  const block = all[n] as G10;
  const before = all[n - 1];
  if (before?.register !== block.register || before.step.block === block.step.block) return undefined;
  // An increment comes on top of what its own register was given before.
  if (cx.profile.g10Incremental && !block.step.after.absolute) return undefined;
  const wanted = followingOffset(block.register, 1, cx.profile);
  if (wanted === undefined || all.some((b) => b.register === wanted)) return undefined;
  // Two blocks may share a register, one axis each; the same axis twice is what gives the slip away.
  const axes = (b: G10): string[] => b.step.block.words.map((w) => w.letter).filter((letter) => "XYZ".includes(letter));
  if (!axes(before).some((letter) => axes(block).includes(letter))) return undefined;
  const next = all[n + 1];
  const follows = next !== undefined && next.register === followingOffset(block.register, 2, cx.profile);
  const isLast = next === undefined && n >= 2 && followingOffset(all[n - 2]?.register ?? "", 1, cx.profile) === block.register;
  const mapped = cx.fixture === undefined || !isUnmapped(cx, wanted);
  return (follows || (isLast && cx.fixture !== undefined)) && mapped ? { wanted, before } : undefined;
}

/** Comments that speak of a register in passing: "G54 + 150", "copy of A1". */
const IN_PASSING = /[+*=]|\b(?:FROM|COPY|AS|LIKE|THAN|NOT|WAS|OLD|INSTEAD|ALSO|BEFORE|AFTER|TO)\b/i;

/**
 * The offset that a comment names, by its own spelling or by the station's id: a comment in the block, or one that
 * stands alone on the line above and says nothing else.
 */
function namedInComment(cx: RuleContext, step: Step): string | undefined {
  const own = step.block.comments.map((c) => c.text).filter((t) => !/^\s*ALLOW\b/i.test(t) && !IN_PASSING.test(t));
  const found = new Set(own.flatMap((text) => namesIn(cx, text)));
  if (found.size > 0) return found.size === 1 ? [...found][0] : undefined;
  const above = cx.run.sources[step.source]?.blocks[step.block.line - 1];
  if (above === undefined || above.words.length > 0 || above.comments.length !== 1) return undefined;
  const text = above.comments[0]?.text ?? "";
  const names = namesIn(cx, text);
  const bare = text.replace(/\b(?:STATION|OFFSET|WORK|ST|NO)\b/gi, "").trim();
  const alone = /^(?:G\s*\d{2,3}(?:\.\d)?(?:\s*P\s*\d+)?|[A-Z0-9_-]+)$/i.test(bare);
  return alone && names.length === 1 ? names[0] : undefined;
}

function namesIn(cx: RuleContext, text: string): string[] {
  const out = new Set<string>();
  for (const match of text.matchAll(/\bG\s*\d{2,3}(?:\.\d)?(?:\s*P\s*\d+)?/gi)) {
    const key = parseOffsetName(match[0], cx.profile);
    if (key !== undefined) out.add(key);
  }
  const words = text.toUpperCase().split(/[^A-Z0-9_-]+/);
  for (const station of cx.fixture?.stations ?? []) {
    const id = station.id.toUpperCase();
    const at = words.indexOf(id);
    if (station.offset === undefined || at < 0) continue;
    // A bare letter or number is a name only where the word before it says so.
    const plain = (/[A-Z]/.test(id) && /\d/.test(id)) || id.length > 3;
    if (plain || /^(?:STATION|ST)$/.test(words[at - 1] ?? "")) out.add(station.offset);
  }
  return [...out];
}

function wantedName(cx: RuleContext, step: Step, key: string): string {
  const station = cx.fixture?.stationsOf(key).find((s) => {
    const above = cx.run.sources[step.source]?.blocks[step.block.line - 1];
    return [...step.block.comments, ...(above?.comments ?? [])].some((c) => c.text.toUpperCase().includes(s.id.toUpperCase()));
  });
  return station === undefined ? cx.offsetName(key) : `${station.id} (${cx.offsetName(key)})`;
}

function report(cx: RuleContext, { block, key, args, wanted, before }: Slip): void {
  const { step, lWord, pWord } = block;
  const together = pWord.start >= lWord.end && pWord.start - lWord.end <= 2;
  cx.report({
    at: cx.place(step, together ? { start: lWord.start, end: pWord.end } : pWord),
    key,
    args,
    step: block.index,
    // One address written wrong in every block of a file is one cause.
    ...(key === "order" || key === "comment" ? {} : { cause: `${key} ${block.l} ${block.p}` }),
    related: before === undefined ? [] : [{ place: cx.blockPlace(before.step), message: { key: "related.before", args } }],
    fixes: wanted === undefined ? [] : fix(cx, block, wanted),
  });
}

function fix(cx: RuleContext, { step, lWord, pWord }: G10, key: string): Fix[] {
  const address = addressOf(cx, key);
  if (address === undefined || lWord.expr !== undefined || pWord.expr !== undefined) return [];
  const [l, p] = address;
  return [
    {
      title: { key: "fix.register", args: { l, p, offset: cx.offsetName(key) } },
      changes: [
        { place: cx.place(step, lWord), text: inHabit(cx, step, `L${l}`) },
        { place: cx.place(step, pWord), text: inHabit(cx, step, `P${p}`) },
      ],
      sameMotion: false,
    },
  ];
}

/** L and P under which G10 writes a register. */
function addressOf(cx: RuleContext, key: string): readonly [number, number] | undefined {
  const plain = Array.from({ length: 9 }, (_, n) => [2, n + 1] as const);
  return [...plain, [20, Number(key.slice(1))] as const].find(([l, p]) => registerOfG10(l, p, cx.profile) === key);
}
