import type { Block, Word } from "../syntax/block.js";
import { codeOf } from "../syntax/parse.js";
import type { Machine } from "./core.js";
import { valueOfExpr } from "./variables.js";

/** A G or M code of a block with the word it stands in. */
export interface Code {
  readonly code: string;
  readonly word: Word;
}

/**
 * The words of one block, read once: a value for every letter that has one (as programmed, NaN where it is not known) and the
 * codes in written order. One object serves all blocks of a run, one after the other.
 */
export interface Words {
  /** Bit n for the n-th letter of the alphabet. */
  mask: number;
  /** Letters that were written as a whole number. */
  whole: number;
  readonly values: Float64Array;
  /** Index of the word in the block. */
  readonly index: Int16Array;
  readonly codes: Code[];
  /** Values of all words in the order of the block; undefined when every word is literal. */
  evaluated: Float64Array | undefined;
  /** Corner words ",R" and ",C" are present. */
  corner: Word | undefined;
  /** How many words the block has that are executed (block skip can govern the rest). */
  count: number;
}

/** An empty set of words. */
export function createWords(): Words {
  return {
    mask: 0,
    whole: 0,
    values: new Float64Array(26),
    index: new Int16Array(26),
    codes: [],
    evaluated: undefined,
    corner: undefined,
    count: 0,
  };
}

/** The bit of a letter in `mask` and `whole`. */
export const BIT = {
  A: 1 << 0,
  B: 1 << 1,
  C: 1 << 2,
  D: 1 << 3,
  E: 1 << 4,
  F: 1 << 5,
  H: 1 << 7,
  I: 1 << 8,
  J: 1 << 9,
  K: 1 << 10,
  L: 1 << 11,
  P: 1 << 15,
  Q: 1 << 16,
  R: 1 << 17,
  S: 1 << 18,
  T: 1 << 19,
  U: 1 << 20,
  V: 1 << 21,
  W: 1 << 22,
  X: 1 << 23,
  Y: 1 << 24,
  Z: 1 << 25,
} as const;

export const LINEAR = BIT.X | BIT.Y | BIT.Z;
export const ROTARY = BIT.A | BIT.B | BIT.C;
export const CENTRE = BIT.I | BIT.J | BIT.K;

const gNames = new Map<number, string>();
const mNames = new Map<number, string>();

function nameOf(word: Word, value: number): string {
  const names = word.letter === "G" ? gNames : mNames;
  let name = names.get(value);
  if (name === undefined) {
    name = codeOf(word, value);
    // Computed codes could be anything; only so many names are worth keeping.
    if (names.size < 2000) names.set(value, name);
  }
  return name;
}

/** Reads the words of a block. A word whose value is an empty variable is left out, as if it were not written (common practice, no source). */
export function readWords(cx: Machine, block: Block, words: Words): void {
  words.mask = 0;
  words.whole = 0;
  words.codes.length = 0;
  words.evaluated = undefined;
  words.corner = undefined;
  const list = block.words;
  const count = block.skipFrom !== undefined && cx.blockSkip ? block.skipFrom : list.length;
  words.count = count;
  for (let i = 0; i < count; i++) {
    const word = list[i] as Word;
    let value = word.value;
    if (word.expr !== undefined) {
      words.evaluated ??= Float64Array.from(list, (w) => w.value);
      const computed = word.expr.kind === "absent" ? Number.NaN : valueOfExpr(cx, word.expr);
      words.evaluated[i] = computed ?? Number.NaN;
      if (computed === null) continue;
      value = computed;
    }
    const { letter } = word;
    if (letter.length > 1) {
      words.corner = word;
      continue;
    }
    if (letter === "G" || letter === "M") {
      words.codes.push({ code: nameOf(word, value), word });
      continue;
    }
    const n = letter.charCodeAt(0) - 65;
    if (n < 0 || n > 25) continue;
    const bit = 1 << n;
    words.mask |= bit;
    if (word.expr === undefined && !word.point) words.whole |= bit;
    words.values[n] = value;
    words.index[n] = i;
  }
}

/** Value of a letter as programmed; undefined when the block has none. */
export function wordValue(words: Words, bit: number): number | undefined {
  if ((words.mask & bit) === 0) return undefined;
  return words.values[31 - Math.clz32(bit)];
}

/** Value of a word that is a length or angle, in program units: a whole number can count increments. */
export function dimension(cx: Machine, words: Words, bit: number): number | undefined {
  const value = wordValue(words, bit);
  if (value === undefined) return undefined;
  if (cx.profile.wholeNumber === "increment" && (words.whole & bit) !== 0) {
    if (cx.profile.incrementLetters.includes(String.fromCharCode(96 - Math.clz32(bit)))) return value * cx.profile.increment;
  }
  return value;
}
