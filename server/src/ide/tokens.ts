import type { Profile } from "../engine/dialect/profile.js";
import type { Block, Word } from "../engine/syntax/block.js";
import type { Expr } from "../engine/syntax/expression.js";
import { codeOf, parseLine } from "../engine/syntax/parse.js";
import { callOf } from "./names.js";
import { stateBefore } from "./state.js";
import type { View } from "./view.js";

/** Standard token types of the protocol that are used, in the order of the legend. */
export const TOKEN_TYPES = ["comment", "keyword", "number", "function", "label", "variable", "class", "property", "parameter"] as const;
/** What a word does at the machine, as modifiers of our own behind the standard ones. */
export const TOKEN_MODIFIERS = ["declaration", "rapid", "cut", "cycle", "offset", "compensation", "call", "reference", "skipped"] as const;

export type TokenType = (typeof TOKEN_TYPES)[number];
export type TokenModifier = (typeof TOKEN_MODIFIERS)[number];

export interface Token {
  readonly line: number;
  readonly start: number;
  readonly length: number;
  readonly type: TokenType;
  readonly modifiers: readonly TokenModifier[];
}

/** How axis words move under a motion code. */
function motionModifier(code: string | undefined): TokenModifier | undefined {
  if (code === undefined) return undefined;
  if (code === "G0") return "rapid";
  if (code === "G1" || code === "G2" || code === "G3") return "cut";
  return /^G(?:73|74|76|8[1-9])$/.test(code) ? "cycle" : undefined;
}

/**
 * Tokens of some lines as they are now. The text is read line by line, so that no answer waits for an analysis; what a bare
 * axis word does is taken from the state of the last analysis.
 * @param old line of the analysed text for a line of this one
 */
export function tokensOf(
  profile: Profile,
  view: View | undefined,
  file: string,
  lines: readonly string[],
  from: number,
  to: number,
  old: (line: number) => number | undefined,
): Token[] {
  const out: Token[] = [];
  const read = view?.analysis.profile === profile ? view.sourceOf(file)?.blocks : undefined;
  for (let line = from; line <= Math.min(to, lines.length - 1); line++) {
    const text = lines[line] ?? "";
    if (text === "") continue;
    const at = old(line);
    // A line that the analysis has read need not be read again, but for one that is blank to the machine and not to a person.
    const known = at === undefined ? undefined : read?.[at];
    const block = known === undefined || known.words.length === 0 ? parseLine(text, line, profile) : known;
    blockTokens(profile, line, block, view === undefined || at === undefined ? undefined : stateBefore(view, file, at)?.motion, out);
  }
  return out;
}

function blockTokens(profile: Profile, line: number, block: Block, motionBefore: string | undefined, out: Token[]): void {
  const own: Token[] = [];
  const skipped: TokenModifier[] = block.skip === undefined ? [] : ["skipped"];
  const add = (start: number, end: number, type: TokenType, ...modifiers: (TokenModifier | undefined)[]): void => {
    if (end <= start) return;
    own.push({ line, start, length: end - start, type, modifiers: [...modifiers.filter((m) => m !== undefined), ...skipped] });
  };
  for (const c of block.comments) add(c.start, c.end, "comment");
  if (block.labelSpan !== undefined) add(block.labelSpan.start, block.labelSpan.end, "label", "declaration");
  if (block.programSpan !== undefined) add(block.programSpan.start, block.programSpan.end, "function", "declaration");
  const codes = block.words.filter((w) => w.letter === "G").map((w) => codeOf(w, w.value));
  const motion = codes.filter((c) => motionModifier(c) !== undefined).at(-1) ?? motionBefore;
  const takesAxes = codes.find((c) => profile.codes.get(c)?.takesAxes === true && motionModifier(c) === undefined);
  const axes = takesAxes === undefined ? motionModifier(motion) : ["G28", "G30", "G53"].includes(takesAxes) ? "reference" : undefined;
  const call = callOf(block, profile);
  const offsetCode = block.words.find((w) => w.letter === "G" && isOffset(profile, codeOf(w, w.value)));
  for (const word of block.words)
    wordToken(profile, word, { axes: codes.includes("G53") ? "reference" : axes, call: call?.p, offsetCode }, add);
  for (const a of block.assignments) {
    if (a.index.kind === "number") add(a.start, a.index.end, "variable", "declaration");
    else expression(a.index, add);
    expression(a.value, add);
  }
  const { control } = block;
  if (control !== undefined) {
    // The keywords are what stands in the control's stretch before its expression.
    const first = "condition" in control ? control.condition.start : "target" in control ? control.target.start : control.end;
    add(control.start, Math.min(first, control.end), "keyword");
    if ("condition" in control) expression(control.condition, add);
    if ("target" in control) {
      if (control.target.kind === "number") add(control.target.start, control.target.end, "label");
      else expression(control.target, add);
    }
  }
  own.sort((a, b) => a.start - b.start || b.length - a.length);
  let end = 0;
  for (const token of own) {
    // Tokens may not overlap; the keyword of a condition may reach into its brackets.
    if (token.start < end) continue;
    out.push(token);
    end = token.start + token.length;
  }
}

function isOffset(profile: Profile, code: string): boolean {
  return profile.offsets.some((s) => s.code === code);
}

function wordToken(
  profile: Profile,
  word: Word,
  block: { readonly axes: TokenModifier | undefined; readonly call: Word | undefined; readonly offsetCode: Word | undefined },
  add: (start: number, end: number, type: TokenType, ...modifiers: (TokenModifier | undefined)[]) => void,
): void {
  const { letter, start, end } = word;
  if (word.expr !== undefined && word.expr.kind !== "number" && word.expr.kind !== "absent") {
    const type: TokenType =
      letter === "T" ? "class" : letter === "G" || letter === "M" ? "keyword" : letter === "H" || letter === "D" ? "property" : "number";
    add(start, Math.min(start + letter.length, end), type, "XYZABCUVWIJKRQ".includes(letter) ? block.axes : undefined);
    expression(word.expr, add);
    return;
  }
  switch (letter) {
    case "G":
    case "M": {
      const code = codeOf(word, word.value);
      if (isOffset(profile, code)) add(start, end, "keyword", "offset");
      else if (/^G4[0-4]$|^G49$/.test(code)) add(start, end, "keyword", "compensation");
      else if (/^M9[789]$|^G6[567]$/.test(code)) add(start, end, "keyword", "call");
      else if (/^G(?:28|30|53)$/.test(code)) add(start, end, "keyword", "reference");
      else add(start, end, "keyword", code === "G80" ? "cycle" : motionModifier(code));
      return;
    }
    case "P":
      if (word === block.call) add(start, end, "function", "call");
      else if (block.offsetCode !== undefined) add(start, end, "keyword", "offset");
      else add(start, end, "parameter");
      return;
    case "T":
      add(start, end, "class");
      return;
    case "H":
    case "D":
      add(start, end, "property", "compensation");
      return;
    case "F":
    case "S":
    case "L":
      add(start, end, "parameter");
      return;
    default:
      add(start, end, "number", "XYZABCUVWIJKRQ".includes(letter) ? block.axes : undefined);
  }
}

function expression(e: Expr, add: (start: number, end: number, type: TokenType) => void): void {
  switch (e.kind) {
    case "number":
      add(e.start, e.end, "number");
      return;
    case "variable":
      if (e.index.kind === "number") add(e.start, e.index.end, "variable");
      else expression(e.index, add);
      return;
    case "negate":
      expression(e.of, add);
      return;
    case "binary":
      expression(e.left, add);
      expression(e.right, add);
      return;
    case "call":
      add(e.start, Math.min(e.start + e.name.length, e.end), "function");
      for (const arg of e.args) expression(arg, add);
      return;
    default:
  }
}
