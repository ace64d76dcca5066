/** Programs as lines that know what they are for, so that a fault can be put at a known block; and how they are written out. */
import type { Random } from "./random.js";
import type { Group, Stand } from "./shop.js";

/** What a block is there for. */
export type Tag =
  | "plain"
  | "program"
  | "comment"
  | "units"
  | "change"
  | "staged"
  | "state"
  | "speed"
  | "offset"
  | "length"
  | "start"
  | "down"
  | "plunge"
  | "cut"
  | "compensate"
  | "cycle"
  | "hole"
  | "cancel"
  | "up"
  | "home"
  | "absolute"
  | "call"
  | "index"
  | "g10"
  | "loop"
  | "local"
  | "park"
  | "end"
  | "return";

/** One block. Faults change `text`; the object itself marks the place. */
export class Line {
  tag: Tag;
  text: string;
  tool = 0;
  stand: Stand | undefined;
  group: Group | undefined;
  /** Where the block goes to or stands, part coordinates, mm. */
  at: readonly [number, number, number] = [Number.NaN, Number.NaN, Number.NaN];
  /** Never numbered, joined or otherwise touched: labels, comments. */
  fixed = false;

  constructor(tag: Tag, text: string, about: Partial<Pick<Line, "tool" | "stand" | "group" | "at" | "fixed">> = {}) {
    this.tag = tag;
    this.text = text;
    Object.assign(this, about);
  }

  /** A copy of its own. */
  copy(): Line {
    return new Line(this.tag, this.text, this);
  }
}

/** How numbers are written. */
export interface Numbers {
  readonly units: "mm" | "inch";
  readonly trailing: "point" | "zero" | "bare";
  readonly leading: boolean;
}

/** A length in the program's units. */
export function length(numbers: Numbers, mm: number): string {
  const value = numbers.units === "mm" ? mm : mm / 25.4;
  return decimal(numbers, value, numbers.units === "mm" ? 3 : 4);
}

/** A number with at most so many decimals. */
export function decimal(numbers: Numbers, value: number, digits: number): string {
  let text = value.toFixed(digits).replace(/0+$/, "");
  if (text === "-0." || text === "-0") text = "0.";
  if (text.endsWith(".")) {
    if (numbers.trailing === "bare") text = text.slice(0, -1);
    else if (numbers.trailing === "zero") text += "0";
  }
  if (!numbers.leading) text = text.replace(/^(-?)0\.(\d)/, "$1.$2");
  return text;
}

/** How a file looks. All of it is what shops write; none of it changes what the machine does. */
export interface Look {
  readonly spaces: boolean;
  readonly lower: boolean;
  readonly numbered: 0 | 1 | 5 | 10;
  readonly padded: boolean;
  readonly tape: boolean;
  readonly comments: number;
  readonly crlf: boolean;
}

export function drawLook(rng: Random, mayNumber: boolean): Look {
  return {
    spaces: rng.chance(0.75),
    lower: rng.chance(0.15),
    numbered: mayNumber ? rng.pick([0, 0, 1, 5, 10] as const) : 0,
    padded: rng.chance(0.4),
    tape: rng.chance(0.6),
    comments: rng.pick([0, 0, 0.05, 0.15]),
    crlf: rng.chance(0.15),
  };
}

export interface Written {
  readonly text: string;
  /** Line number, from 0, of every block. */
  readonly lineOf: ReadonlyMap<Line, number>;
}

const REMARKS = ["(CHECK CHIPS)", "(DEBURR)", "( next )", "(---------)", "", "(BLOW OFF)"];

/** Writes blocks out in a look. */
export function write(rng: Random, lines: readonly Line[], look: Look): Written {
  const out: string[] = [];
  const lineOf = new Map<Line, number>();
  if (look.tape) out.push("%");
  let number = look.numbered;
  for (const line of lines) {
    if (look.comments > 0 && line.tag !== "program" && lineOf.size > 0 && rng.chance(look.comments)) out.push(rng.pick(REMARKS));
    lineOf.set(line, out.length);
    let text = line.text;
    if (!line.fixed) {
      text = outsideComments(text, (code) => {
        let c = code;
        if (look.padded) c = c.replace(/\b([GM])(\d)(?![\d.])/g, "$10$2");
        if (!look.spaces) c = c.replace(/ +/g, "");
        if (look.lower) c = c.toLowerCase();
        return c;
      });
      if (look.numbered > 0 && line.tag !== "program" && line.tag !== "comment" && !text.startsWith("/")) {
        text = `${look.lower ? "n" : "N"}${number}${look.spaces ? " " : ""}${text}`;
        number += look.numbered;
      }
    }
    out.push(text);
  }
  if (look.tape) out.push("%");
  const end = look.crlf ? "\r\n" : "\n";
  return { text: out.join(end) + end, lineOf };
}

/** Applies a change to the code, and leaves what stands in parentheses alone. */
function outsideComments(text: string, change: (code: string) => string): string {
  return text
    .split(/(\([^)]*\))/)
    .map((piece) => (piece.startsWith("(") ? piece : change(piece)))
    .join("");
}
