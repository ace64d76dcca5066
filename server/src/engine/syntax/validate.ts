import type { CodeInfo, Profile } from "../dialect/profile.js";
import type { Block, Problem, Word } from "./block.js";
import { codeOf } from "./parse.js";

const NONE: readonly Problem[] = [];
const AXES = "XYZABCUVW";
/** Codes whose words are arguments, so that a letter may come more than once. */
const ARGUMENTS = new Set(["G65", "G66", "G66.1"]);

/**
 * Groups in which two codes of one block cannot both be meant. In others a control takes the last (common practice,
 * no source), as in `G90 G28 G91 Z0`.
 */
const EXCLUSIVE = new Set(["motion", "plane", "units", "compensation", "offset"]);

/** The value of a word: as computed, where `values` gives it, else as written. */
function wordValue(words: readonly Word[], values: ArrayLike<number> | undefined, i: number): number {
  return values?.[i] ?? words[i]?.value ?? Number.NaN;
}

/**
 * What is wrong with the words of a block as a whole: codes of one modal group, letters given twice, values out of
 * range, words that are missing. `values` are the values of the words in their order, NaN where not known; undefined
 * when every word is literal. A value that is not known is never complained about.
 *
 * Where the profile has strict blocks the rules are those of NISTIR 6556 (§3.3.5, §3.4, §3.5, §3.7), except what needs
 * the state before the block: modal arcs and cycles, G53, inverse-time feed, compensation. Elsewhere only what no
 * control could carry out as written is a problem (common practice, no source).
 */
export function validateBlock(block: Block, values: ArrayLike<number> | undefined, profile: Profile): readonly Problem[] {
  const { words } = block;
  if (words.length < 2 && !profile.strictBlocks) return NONE;
  if (words.length === 0) return NONE;
  return profile.strictBlocks ? new Strict(words, values, profile).run() : lenient(words, values, profile);
}

function problem(key: string, at: Word, args: Readonly<Record<string, string | number>>): Problem {
  return { key, args, start: at.start, end: at.end };
}

function lenient(words: readonly Word[], values: ArrayLike<number> | undefined, profile: Profile): readonly Problem[] {
  // First a pass without any allocation: most blocks have neither two G words nor a letter twice.
  let seen = 0;
  let codes = 0;
  let twice = false;
  for (const word of words) {
    const c = word.letter.charCodeAt(0);
    if (c === 71) codes++;
    else if (c !== 77 && c !== 44 && c !== 78) {
      const bit = 1 << (c - 65);
      if (seen & bit) twice = true;
      seen |= bit;
    }
  }
  if (codes < 2 && !twice) return NONE;
  const out: Problem[] = [];
  let takesArguments = false;
  const groups = new Map<string, { code: string; word: Word }>();
  let claims: string | undefined;
  words.forEach((word, i) => {
    if (word.letter !== "G") return;
    const value = wordValue(words, values, i);
    if (Number.isNaN(value)) return;
    const code = codeOf(word, value);
    if (ARGUMENTS.has(code)) takesArguments = true;
    const info = profile.codes.get(code);
    if (info === undefined) return;
    if (info.group === "0" && info.takesAxes && !ARGUMENTS.has(code)) {
      if (claims !== undefined && claims !== code) out.push(problem("axes-conflict", word, { first: claims, second: code }));
      claims = code;
    }
    if (!EXCLUSIVE.has(info.group)) return;
    const before = groups.get(info.group);
    if (before !== undefined && before.code !== code) {
      out.push(problem("group-conflict", word, { first: before.code, second: code }));
    }
    groups.set(info.group, { code, word });
  });
  if (twice && !takesArguments) {
    const first = new Map<string, number>();
    words.forEach((word, i) => {
      if (word.letter === "G" || word.letter === "M" || word.letter === "N" || word.letter.length > 1) return;
      const value = wordValue(words, values, i);
      const before = first.get(word.letter);
      // The same value twice, or values that are not known, contradict nothing.
      if (before !== undefined && before !== value && !Number.isNaN(before) && !Number.isNaN(value)) {
        out.push(problem("letter-repeated", word, { letter: word.letter }));
      }
      first.set(word.letter, value);
    });
  }
  return out;
}

/** NISTIR 6556. */
class Strict {
  private readonly out: Problem[] = [];
  private readonly g: { code: string; info: CodeInfo | undefined; word: Word }[] = [];
  private readonly m: { code: string; info: CodeInfo | undefined; word: Word }[] = [];
  private readonly byLetter = new Map<string, { word: Word; value: number }>();

  constructor(
    private readonly words: readonly Word[],
    private readonly values: ArrayLike<number> | undefined,
    private readonly profile: Profile,
  ) {}

  run(): readonly Problem[] {
    this.collect();
    this.groups(this.g);
    this.groups(this.m);
    // §3.3.5: up to four M words.
    const fifth = this.m[4];
    if (fifth !== undefined) this.say("m-words", fifth.word, { count: this.m.length, limit: 4 });
    this.axes();
    this.integers();
    this.needed();
    return this.out;
  }

  private say(key: string, at: Word, args: Readonly<Record<string, string | number>>): void {
    this.out.push(problem(key, at, args));
  }

  private collect(): void {
    this.words.forEach((word, i) => {
      const value = wordValue(this.words, this.values, i);
      if (word.letter === "G" || word.letter === "M") {
        if (Number.isNaN(value)) return;
        const code = codeOf(word, value);
        (word.letter === "G" ? this.g : this.m).push({ code, info: this.profile.codes.get(code), word });
        return;
      }
      if (this.byLetter.has(word.letter)) this.say("letter-repeated", word, { letter: word.letter });
      else this.byLetter.set(word.letter, { word, value });
    });
  }

  /** §3.3.5: no two codes of one modal group; the non-modal ones count as a group. M7 and M8 may be on together (§2.1.2.7). */
  private groups(list: readonly { code: string; info: CodeInfo | undefined; word: Word }[]): void {
    const seen = new Map<string, string>();
    for (const { code, info, word } of list) {
      if (info === undefined) continue;
      const before = seen.get(info.group);
      const coolant = (before === "M7" && code === "M8") || (before === "M8" && code === "M7");
      if (before !== undefined && !coolant) this.say("group-conflict", word, { first: before, second: code });
      seen.set(info.group, code);
    }
  }

  private has(code: string): Word | undefined {
    return this.g.find((c) => c.code === code)?.word;
  }

  private axisWord(): Word | undefined {
    return this.words.find((w) => AXES.includes(w.letter));
  }

  private axes(): void {
    const axis = this.axisWord();
    const motion = this.g.find((c) => c.info?.group === "motion");
    const claim = this.g.find((c) => c.info?.group === "0" && c.info.takesAxes && c.code !== "G4");
    if (axis !== undefined) {
      // §3.4 and §3.5.15.
      if (motion !== undefined && claim !== undefined && motion.code !== "G80") {
        this.say("axes-conflict", claim.word, { first: motion.code, second: claim.code });
      }
      if (motion?.code === "G80" && claim === undefined) this.say("axes-with-g80", axis, {});
      return;
    }
    // §3.5.1, §3.5.2, §3.5.3, §3.5.16, §3.5.18: these need an axis word of their own.
    if (motion !== undefined && motion.code !== "G80") this.say("axes-missing", motion.word, { code: motion.code });
    const preset = this.has("G92");
    if (preset !== undefined) this.say("axes-missing", preset, { code: "G92" });
  }

  private whole(letter: string, from: number, to: number): void {
    const found = this.byLetter.get(letter);
    if (found === undefined || Number.isNaN(found.value)) return;
    const { word, value } = found;
    if (Math.abs(value - Math.round(value)) > 0.0001) this.say("word-whole", word, { letter, value });
    else if (value < from || value > to) this.say("word-range", word, { letter, value, from, to });
  }

  private integers(): void {
    const slots = this.profile.toolSlots ?? 9999;
    this.whole("H", 0, slots); // §3.5.11
    this.whole("D", 0, slots); // §3.5.10
    this.whole("T", 0, slots); // §3.7.3
    const cycle = this.g.some((c) => /^G8[1-9]$/.test(c.code));
    if (cycle) this.whole("L", 1, Number.POSITIVE_INFINITY); // §3.5.16
    const speed = this.byLetter.get("S");
    if (speed !== undefined && speed.value < 0) this.say("word-negative", speed.word, { letter: "S", value: speed.value }); // §3.7.2
    const p = this.byLetter.get("P");
    if (p !== undefined && p.value < 0 && !this.has("G10")) this.say("word-negative", p.word, { letter: "P", value: p.value }); // §3.5.4, §3.5.16
    if (this.has("G10")) {
      this.whole("P", 1, 9); // §3.5.5
      const l = this.byLetter.get("L");
      if (l !== undefined && !Number.isNaN(l.value) && Math.abs(l.value - 2) > 0.0001)
        this.say("register-kind", l.word, { value: l.value });
    }
  }

  private needed(): void {
    const need = (code: string, letter: string): void => {
      const word = this.has(code);
      if (word !== undefined && !this.byLetter.has(letter)) this.say("word-needed", word, { code, letter });
    };
    need("G4", "P"); // §3.5.4
    need("G10", "L"); // §3.5.5
    need("G10", "P");
    // App. B.5: D word with no G41 or G42.
    const d = this.byLetter.get("D");
    if (d !== undefined && !this.has("G41") && !this.has("G42")) this.say("word-stray", d.word, { letter: "D", codes: "G41, G42" });
    const q = this.byLetter.get("Q");
    if (q !== undefined && this.has("G83") && q.value <= 0) this.say("word-positive", q.word, { letter: "Q", value: q.value }); // §3.5.16.4
    // §3.5.3 knows the radius format and the centre format, and no third.
    if (this.has("G2") || this.has("G3")) {
      const r = this.byLetter.get("R");
      const centre = this.byLetter.has("I") || this.byLetter.has("J") || this.byLetter.has("K");
      if (r !== undefined && centre) this.say("arc-mixed", r.word, {});
      const arc = this.has("G2") ?? this.has("G3");
      if (r === undefined && !centre && arc !== undefined)
        this.say("word-needed", arc, { code: this.has("G2") ? "G2" : "G3", letter: "I, J, K or R" });
    }
  }
}
