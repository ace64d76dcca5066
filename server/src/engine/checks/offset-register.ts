import { followingOffset, parseOffsetName, registerOfG10 } from "../dialect/offsets.js";
import type { Fix, TextChange } from "../findings.js";
import type { Step } from "../machine/run.js";
import type { Block, Word } from "../syntax/block.js";
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
    code: "L{l} P{p} is no work offset of this dialect: P counts the offsets from 1, and {wanted} is P{right}",
    "other-kind": "L{l} P{p} writes {register}, which belongs to no station; {wanted} is written with L{right}",
    comment: "the comment says {wanted}, but L{l} P{p} writes {register}",
    order: "{register} is written a second time where {wanted} comes next in the order of these blocks",
    "related.before": "{register} is written here",
    "related.more": "L{l} P{p} too",
    "fix.register": "Write L{l} P{p} ({offset})",
    "fix.all": "Write L{l} P{p} ({offset}), and the others alike",
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
    const slips = yield* slipsOf(cx);
    for (const slip of slips) report(cx, slip, slips);
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
    const code = l === 2 && named === undefined ? codeMeant(cx, p) : undefined;
    if (code !== undefined)
      return { block, key: "code", args: { ...args, wanted: cx.offsetName(code), right: addressOf(cx, code)?.[1] ?? "" }, wanted: code };
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

/** The plain offset whose code somebody wrote as its P: L2 P55 for G55. */
function codeMeant(cx: RuleContext, p: number): string | undefined {
  const code = parseOffsetName(`G${p}`, cx.profile);
  const isStations = (key: string): boolean => (cx.fixture?.stationsOf(key).length ?? 0) > 0;
  if (code === undefined || isStations(`P${p}`)) return undefined;
  return cx.fixture === undefined || isStations(code) ? code : undefined;
}

/** What blocks have in common that have the same slip: one address, or one way of writing all addresses. */
function causeOf({ block, key }: Slip): string | undefined {
  if (key === "order" || key === "comment") return undefined;
  if (key === "default") return `${key} ${block.l} ${block.p}`;
  return `${key === "code" ? key : "kind"} ${block.l}`;
}

function report(cx: RuleContext, slip: Slip, all: readonly Slip[]): void {
  const { block, key, args, wanted, before } = slip;
  const { step, lWord, pWord } = block;
  const cause = causeOf(slip);
  const alike = cause === undefined ? [slip] : all.filter((s) => causeOf(s) === cause);
  const together = pWord.start >= lWord.end && pWord.start - lWord.end <= 2;
  cx.report({
    at: cx.place(step, together ? { start: lWord.start, end: pWord.end } : pWord),
    key,
    args,
    step: block.index,
    ...(cause === undefined ? {} : { cause, relatedKey: "related.more" }),
    related: before === undefined ? [] : [{ place: cx.blockPlace(before.step), message: { key: "related.before", args } }],
    fixes: wanted === undefined ? [] : fix(cx, wanted, alike),
  });
}

/** Writes the right address, in every block that has the same slip. */
function fix(cx: RuleContext, key: string, alike: readonly Slip[]): Fix[] {
  const own = addressOf(cx, key);
  if (own === undefined) return [];
  const changes: TextChange[] = [];
  const done = new Set<Block>();
  for (const { block: other, wanted } of alike) {
    const { step, lWord, pWord } = other;
    const address = wanted === undefined ? undefined : addressOf(cx, wanted);
    if (address === undefined || lWord.expr !== undefined || pWord.expr !== undefined) return [];
    if (done.has(step.block)) continue;
    done.add(step.block);
    const [l, p] = address;
    changes.push({ place: cx.place(step, lWord), text: inHabit(cx, step, `L${l}`) });
    changes.push({ place: cx.place(step, pWord), text: inHabit(cx, step, `P${p}`) });
  }
  const title = { key: done.size > 1 ? "fix.all" : "fix.register", args: { l: own[0], p: own[1], offset: cx.offsetName(key) } };
  return [{ title, changes, sameMotion: false }];
}

/** L and P under which G10 writes a register. */
function addressOf(cx: RuleContext, key: string): readonly [number, number] | undefined {
  const plain = Array.from({ length: 9 }, (_, n) => [2, n + 1] as const);
  return [...plain, [20, Number(key.slice(1))] as const].find(([l, p]) => registerOfG10(l, p, cx.profile) === key);
}
