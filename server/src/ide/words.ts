import { told } from "../report/language/say.js";

/** What the words of a block mean beside its codes; their German stands in `report/language/de-data.ts`. */

/** A letter of a cycle, a G10 or a call, with what it holds. */
export interface Parameter {
  readonly letter: string;
  readonly text: string;
}

const IN_PLANE: readonly Parameter[] = [
  { letter: "X", text: "X of the hole" },
  { letter: "Y", text: "Y of the hole" },
];
const DEPTH: readonly Parameter[] = [
  { letter: "Z", text: "bottom of the hole; under G91 counted from R" },
  { letter: "R", text: "level to which the tool goes in rapid; under G91 counted from the initial level" },
];
const PECK: Parameter = { letter: "Q", text: "depth of one step" };
const DWELL: Parameter = { letter: "P", text: "dwell at the bottom" };
const FEED: Parameter = { letter: "F", text: "feed" };

const REPEATS = "number of holes, each a step further under G91";

/** Words of the canned cycles, in the order in which they are usually written (common practice, no source; for G81 to G89 as NISTIR 6556 3.5.16 has them). */
const CYCLES: Readonly<Record<string, readonly Parameter[]>> = {
  G73: [...IN_PLANE, ...DEPTH, PECK, FEED],
  G74: [...IN_PLANE, ...DEPTH, DWELL, FEED],
  G76: [...IN_PLANE, ...DEPTH, { letter: "Q", text: "sideways shift at the bottom" }, DWELL, FEED],
  G81: [...IN_PLANE, ...DEPTH, FEED],
  G82: [...IN_PLANE, ...DEPTH, DWELL, FEED],
  G83: [...IN_PLANE, ...DEPTH, PECK, FEED],
  G84: [...IN_PLANE, ...DEPTH, DWELL, FEED],
  G85: [...IN_PLANE, ...DEPTH, FEED],
  G86: [...IN_PLANE, ...DEPTH, DWELL, FEED],
  G87: [...IN_PLANE, ...DEPTH, { letter: "Q", text: "sideways shift" }, FEED],
  G88: [...IN_PLANE, ...DEPTH, DWELL, FEED],
  G89: [...IN_PLANE, ...DEPTH, DWELL, FEED],
};

/** The words that a cycle takes; undefined for a code that is no cycle. */
export function cycleParameters(code: string, repeatLetters: readonly string[]): readonly Parameter[] | undefined {
  const own = CYCLES[code];
  if (own === undefined) return undefined;
  const repeats = repeatLetters.map((letter) => ({ letter, text: REPEATS }));
  return [...own, ...repeats].map(({ letter, text }) => ({ letter, text: told(text) }));
}

/** What a letter is, in one line, for completion; by the letter alone. */
export const LETTERS: Readonly<Record<string, string>> = {
  X: "position along X",
  Y: "position along Y",
  Z: "position along Z",
  A: "angle about X",
  B: "angle about Y",
  C: "angle about Z",
  I: "centre of the arc along X, from its start",
  J: "centre of the arc along Y, from its start",
  K: "centre of the arc along Z, from its start",
  R: "radius of the arc",
  F: "feed",
  S: "spindle speed",
};
