import type { Profile } from "../dialect/profile.js";
import type { Assignment, Block, Comment, Control, Problem, ProgramPart, Source, Word } from "./block.js";
import type { BinaryOp, Expr } from "./expression.js";
import { isBlank, isDigit, isLetter, LETTERS, type NumberRead, readNumber, shown, splitLines, upper } from "./lexer.js";

const NO_WORDS: readonly Word[] = [];
const NO_ASSIGNMENTS: readonly Assignment[] = [];
const NO_COMMENTS: readonly Comment[] = [];
const NO_PROBLEMS: readonly Problem[] = [];

/** Deepest nesting of brackets, signs and `#`, and most parts of one expression: beyond, the expression is not read. */
const DEPTH_LIMIT = 60;
const SIZE_LIMIT = 400;

/** Letters of linear and rotary axes, whose bare names may stand side by side (`G28XYZ`). */
const AXES = "XYZABCUVW";

/** Letters behind which a lone letter O is taken for a zero. */
const BARE_ZERO = "GMXYZABCUVWIJKRHF";

const FUNCTIONS_NIST = ["ABS", "ACOS", "ASIN", "ATAN", "COS", "EXP", "FIX", "FUP", "LN", "ROUND", "SIN", "SQRT", "TAN"];
const FUNCTIONS_MACRO = [...FUNCTIONS_NIST, "ADP", "BCD", "BIN", "POW"];

const WORD_OPERATORS_NIST = ["MOD", "AND", "OR", "XOR"];
const WORD_OPERATORS_MACRO = [...WORD_OPERATORS_NIST, "EQ", "NE", "GT", "GE", "LT", "LE"];

/**
 * Precedence, higher binds tighter. RS274/NGC: NISTIR 6556 §3.3.2.3. Macro form: common practice, no source:
 * multiplication with AND and MOD, addition with OR and XOR, then comparisons.
 */
const LEVELS_NIST: Readonly<Record<string, number>> = { "**": 3, "*": 2, "/": 2, MOD: 2, "+": 1, "-": 1, OR: 1, XOR: 1, AND: 1 };
const LEVELS_MACRO: Readonly<Record<string, number>> = {
  "*": 3,
  "/": 3,
  AND: 3,
  MOD: 3,
  "+": 2,
  "-": 2,
  OR: 2,
  XOR: 2,
  EQ: 1,
  NE: 1,
  GT: 1,
  GE: 1,
  LT: 1,
  LE: 1,
};

/** Words behind an O number that make it flow control of another dialect. */
const O_FLOW = [
  "sub",
  "endsub",
  "if",
  "elseif",
  "else",
  "endif",
  "while",
  "endwhile",
  "do",
  "repeat",
  "endrepeat",
  "call",
  "return",
  "break",
  "continue",
];

/** Thrown nowhere outside this file: an expression that cannot be read, after its problem has been noted. */
const UNREAD = Symbol("unread");

/** Reads one line at a time into a block. One instance is reused for all lines. */
class LineReader {
  private text = "";
  private pos = 0;
  private end = 0;
  private profile: Profile;
  private lenient = true;
  private strict = false;
  private macro = true;
  private expressions = true;
  private functions: readonly string[] = FUNCTIONS_MACRO;
  private operators: readonly string[] = WORD_OPERATORS_MACRO;
  private levels = LEVELS_MACRO;
  private letterOk = new Uint8Array(128);
  private readonly number: NumberRead = { value: 0, point: false, end: 0, digits: 0, sign: false };
  private depth = 0;
  private size = 0;

  private words: Word[] | undefined;
  private assignments: Assignment[] | undefined;
  private comments: Comment[] | undefined;
  private problems: Problem[] | undefined;
  private control: Control | undefined;
  private skip: number | undefined;
  private skipFrom: number | undefined;
  private label: number | undefined;
  private labelSpan: { start: number; end: number } | undefined;
  private program: number | undefined;
  private programSpan: { start: number; end: number } | undefined;
  private percent = false;
  /** Column behind the last word that was read, to recognise arithmetic and assignments written behind it. */
  private wordEnd = -1;

  constructor(profile: Profile) {
    this.profile = profile;
    this.use(profile);
  }

  use(profile: Profile): void {
    this.profile = profile;
    this.strict = profile.strictBlocks;
    this.lenient = !profile.strictBlocks;
    this.macro = profile.expressions === "macro";
    this.expressions = profile.expressions !== "none";
    this.functions = this.macro ? FUNCTIONS_MACRO : FUNCTIONS_NIST;
    this.operators = this.macro ? WORD_OPERATORS_MACRO : WORD_OPERATORS_NIST;
    this.levels = this.macro ? LEVELS_MACRO : LEVELS_NIST;
    this.letterOk = new Uint8Array(128);
    for (const letter of profile.letters) this.letterOk[letter.charCodeAt(0)] = 1;
  }

  uses(profile: Profile): boolean {
    return this.profile === profile;
  }

  read(text: string, line: number): Block {
    this.text = text;
    this.pos = 0;
    this.words = undefined;
    this.assignments = undefined;
    this.comments = undefined;
    this.problems = undefined;
    this.control = undefined;
    this.skip = undefined;
    this.skipFrom = undefined;
    this.label = undefined;
    this.labelSpan = undefined;
    this.program = undefined;
    this.programSpan = undefined;
    this.percent = false;
    this.wordEnd = -1;
    this.depth = 0;
    this.size = 0;

    // A byte order mark and tape fill count as white space at the ends of any line.
    let end = text.length;
    while (end > 0 && isBlank(text.charCodeAt(end - 1), true)) end--;
    this.end = end;
    while (this.pos < end && isBlank(text.charCodeAt(this.pos), true)) this.pos++;
    const start = this.pos;
    if (this.strict && text.length > 256) this.problem("line-long", 256, text.length, { length: text.length, limit: 256 });
    if (start < end) {
      if (text.charCodeAt(start) === 37) this.readPercent();
      else this.readSegments();
    }
    const block: Block = {
      line,
      skip: this.skip,
      label: this.label,
      labelSpan: this.labelSpan,
      program: this.program,
      programSpan: this.programSpan,
      percent: this.percent,
      words: this.words ?? NO_WORDS,
      assignments: this.assignments ?? NO_ASSIGNMENTS,
      control: this.control,
      comments: this.comments ?? NO_COMMENTS,
      problems: this.problems ?? NO_PROBLEMS,
      start,
      end: Math.max(start, end),
    };
    return this.skipFrom === undefined ? block : { ...block, skipFrom: this.skipFrom };
  }

  private problem(key: string, start: number, end: number, args: Readonly<Record<string, string | number>> = {}): void {
    const all = args.text === undefined ? { text: shown(this.text.slice(start, end)), ...args } : args;
    const problem: Problem = { key, args: all, start, end };
    if (this.problems) this.problems.push(problem);
    else this.problems = [problem];
  }

  private at(p: number): number {
    return p < this.end ? this.text.charCodeAt(p) : -1;
  }

  private blank(p: number): number {
    let q = p;
    while (q < this.end && isBlank(this.text.charCodeAt(q), this.lenient)) q++;
    return q;
  }

  private readPercent(): void {
    this.percent = true;
    const rest = this.blank(this.pos + 1);
    // Text behind the first % is the header of a tape; ISO-type controls pass over it.
    if (rest < this.end && this.strict) this.problem("percent-text", rest, this.end);
    this.pos = this.end;
  }

  private readSegments(): void {
    for (;;) {
      this.pos = this.blank(this.pos);
      if (this.pos >= this.end) return;
      const before = this.pos;
      const c = this.text.charCodeAt(this.pos);
      if (isLetter(c)) this.readLetter(upper(c));
      else if (c === 40) this.readComment();
      else if (c === 59 && this.profile.comments.semicolon) this.readLineComment();
      else if (c === 35) this.readAssignment();
      else if (c === 47) this.readSlash();
      else if (c === 44 && this.profile.cornerWords && this.isCorner(this.pos)) this.readCorner();
      else if (c === 58) this.readColon();
      else if (c === 41) this.single("paren-close");
      else if (c === 93) this.single("bracket-close");
      else this.readGarbage(this.pos);
      // Every branch consumes something; this holds the loop to it whatever the input.
      if (this.pos <= before) this.pos = before + 1;
    }
  }

  private single(key: string): void {
    this.problem(key, this.pos, this.pos + 1);
    this.pos++;
  }

  // --- comments -------------------------------------------------------------------------------------------------

  private addComment(text: string, start: number, end: number): void {
    const comment: Comment = { text, start, end };
    if (this.comments) this.comments.push(comment);
    else this.comments = [comment];
  }

  private readComment(): void {
    const start = this.pos;
    const { nested, unclosedIsError } = this.profile.comments;
    let close = this.text.indexOf(")", start + 1);
    const inner = this.text.indexOf("(", start + 1);
    if (close >= 0 && inner >= 0 && inner < close) {
      // There is a ( inside. Where it has its own ) on the line, the writer meant a nested comment.
      let depth = 1;
      let p = start + 1;
      for (; p < this.end && depth > 0; p++) {
        const c = this.text.charCodeAt(p);
        if (c === 40) depth++;
        else if (c === 41) depth--;
      }
      if (depth === 0) {
        close = p - 1;
        if (!nested) this.problem("comment-nested", inner, inner + 1);
      } else if (this.strict) this.problem("comment-nested", inner, inner + 1);
    }
    if (close < 0) {
      if (unclosedIsError) this.problem("comment-open", start, this.end);
      this.addComment(this.text.slice(start + 1, this.end), start, this.end);
      this.pos = this.end;
      return;
    }
    this.addComment(this.text.slice(start + 1, close), start, close + 1);
    this.pos = close + 1;
  }

  private readLineComment(): void {
    const start = this.pos;
    // A bare ; is only the end of the block as some people print it.
    if (this.end > start + 1) this.addComment(this.text.slice(start + 1, this.end), start, this.end);
    this.pos = this.end;
  }

  // --- block skip -----------------------------------------------------------------------------------------------

  private readSlash(): void {
    const start = this.pos;
    const nothingYet = !this.words && !this.assignments && !this.control && this.program === undefined;
    if (nothingYet && this.skip === undefined && !(this.strict && this.label !== undefined)) {
      this.pos++;
      this.skip = 0;
      const d = this.at(this.pos);
      if (this.profile.numberedSkip && d >= 49 && d <= 57 && !isDigit(this.at(this.pos + 1))) {
        this.skip = d - 48;
        this.pos++;
      }
      return;
    }
    if (this.wordEnd >= 0 && this.wordEnd === start && this.words?.at(-1)?.expr) {
      this.readOperatorOutside(start);
      return;
    }
    if (this.profile.numberedSkip && this.skip === undefined) {
      this.pos++;
      this.skip = 0;
      const d = this.at(this.pos);
      if (d >= 49 && d <= 57 && !isDigit(this.at(this.pos + 1))) {
        this.skip = d - 48;
        this.pos++;
      }
      this.skipFrom = this.words?.length ?? 0;
      return;
    }
    this.single("skip-inside");
  }

  // --- text that is nothing -------------------------------------------------------------------------------------

  /** A word or statement begins at p: the place where reading may go on behind garbage. */
  private resumes(p: number): boolean {
    const c = this.at(p);
    if (c === 40 || (c === 59 && this.profile.comments.semicolon)) return true;
    if (c === 35) return this.expressions && (isDigit(this.at(p + 1)) || this.at(p + 1) === 35 || this.at(p + 1) === 91);
    if (!isLetter(c)) return false;
    const u = upper(c);
    if (this.letterOk[u] !== 1 && u !== 78) return false;
    const d = this.at(p + 1);
    if (isDigit(d) || ((d === 35 || d === 91) && this.expressions)) return true;
    if (d === 46 || d === 45 || d === 43) {
      const e = this.at(p + 2);
      return isDigit(e) || (d !== 46 && (e === 46 || e === 35 || e === 91));
    }
    return false;
  }

  private readGarbage(start: number, key = "unknown-text"): void {
    let p = this.pos;
    let last = p;
    let previousLetter = false;
    while (p < this.end) {
      const c = this.text.charCodeAt(p);
      if (p > start && (c === 40 || (c === 59 && this.profile.comments.semicolon))) break;
      if (c === 91 && p === start) {
        // Text in square brackets is one piece whatever it looks like.
        const close = this.text.indexOf("]", p);
        if (close > 0 && close < this.end) {
          p = close + 1;
          last = p;
          continue;
        }
      }
      if (isBlank(c, this.lenient)) {
        const q = this.blank(p);
        if (q >= this.end || this.resumes(q)) break;
        p = q;
        previousLetter = false;
        continue;
      }
      const letter = isLetter(c);
      if (letter && !previousLetter && p > start && this.resumes(p)) break;
      previousLetter = letter || c === 95;
      p++;
      last = p;
    }
    const text = this.text.slice(start, last);
    let only = key;
    if (key === "unknown-text" && isDigit(text.charCodeAt(0)) && !/[^0-9.+\-\s]/.test(text)) only = "number-alone";
    else if (key === "unknown-text" && text.includes("%")) only = text.trim() === "%" ? "percent-inside" : key;
    this.problem(only, start, last);
    this.pos = Math.max(p, start + 1);
    this.wordEnd = -1;
  }

  /** Takes everything up to a comment as one problem. */
  private swallow(key: string, start: number, pastParens: boolean): void {
    let p = this.pos;
    while (p < this.end) {
      const c = this.text.charCodeAt(p);
      if ((c === 40 && !pastParens) || (c === 59 && this.profile.comments.semicolon)) break;
      p++;
    }
    let last = p;
    while (last > start && isBlank(this.text.charCodeAt(last - 1), true)) last--;
    this.problem(key, start, last);
    this.pos = p;
    this.wordEnd = -1;
  }

  private readOperatorOutside(at: number): void {
    const start = this.words?.at(-1)?.start ?? at;
    this.pos = at + 1;
    // What is computed outside brackets has no value that a control would agree on.
    const word = this.words?.pop();
    if (word) this.words?.push({ ...word, value: Number.NaN, expr: this.unknown(word.start, word.end) });
    this.readGarbage(start, "operator-outside");
  }

  // --- letters --------------------------------------------------------------------------------------------------

  private matches(p: number, word: string, gaps: boolean): number {
    let q = p;
    for (let i = 0; i < word.length; i++) {
      if (gaps && i > 0) q = this.blank(q);
      const c = this.at(q);
      if (c < 0 || upper(c) !== word.charCodeAt(i)) return -1;
      q++;
    }
    return q;
  }

  private runEnd(p: number): number {
    let q = p;
    while (q < this.end && isLetter(this.text.charCodeAt(q))) q++;
    return q;
  }

  private readLetter(letter: number): void {
    const start = this.pos;
    const next = this.at(start + 1);
    if (this.macro && isLetter(next) && this.readKeyword(start)) return;
    if (letter === 79) {
      if (this.readProgram(start)) return;
    }
    if (next === 79 || next === 111) {
      // Letter O directly behind a letter: a zero was meant where the rest looks like a number.
      const q = this.numberLike(start + 1);
      // A bare `XO` is a zero; a bare `DO` or `TO` is more likely a word.
      if (q > start + 2 || (q > 0 && BARE_ZERO.includes(LETTERS[letter] as string))) {
        this.letterO(start, q, letter);
        return;
      }
    }
    if (letter === 78) {
      this.readLabel(start);
      return;
    }
    if (isLetter(next) && !(this.expressions && this.functionAt(start + 1) !== undefined)) {
      const runEnd = this.runEnd(start);
      let axes = true;
      for (let i = start; i < runEnd; i++) {
        const l = LETTERS[this.text.charCodeAt(i)] as string;
        const twice = i > start && upper(this.text.charCodeAt(i - 1)) === l.charCodeAt(0);
        if (twice || !AXES.includes(l) || this.letterOk[l.charCodeAt(0)] !== 1) axes = false;
      }
      if (!axes) {
        this.pos = runEnd;
        this.readGarbage(start);
        return;
      }
    }
    if (this.letterOk[letter] !== 1) {
      this.pos = start + 1;
      const q = this.blank(this.pos);
      if (readNumber(this.text, q, this.end, true, this.lenient, this.number)) {
        this.pos = this.number.end;
        this.problem("letter-unknown", start, this.pos, { letter: LETTERS[letter] as string });
        this.wordEnd = -1;
      } else this.readGarbage(start);
      return;
    }
    this.readWord(start, start + 1, LETTERS[letter] as string);
  }

  /** Column behind a run of digits, points and letters O from p that ends like a number; 0 when it does not. */
  private numberLike(p: number): number {
    let q = p;
    const sign = this.at(q);
    if (sign === 45 || sign === 43) q++;
    const first = q;
    while (q < this.end) {
      const c = this.text.charCodeAt(q);
      if (!(isDigit(c) || c === 46 || c === 79 || c === 111)) break;
      q++;
    }
    const c = this.at(q);
    return q > first && !isLetter(c) && c !== 60 && c !== 95 && c !== 61 ? q : q > first && isLetter(c) && isDigit(this.at(q + 1)) ? q : 0;
  }

  private letterO(start: number, end: number, letter: number): void {
    const text = this.text.slice(start, end);
    this.problem("letter-o", start, end, { text: shown(text), meant: text.slice(0, 1) + text.slice(1).replace(/[oO]/g, "0") });
    this.pos = end;
    if (letter === 78 || letter === 79 || this.letterOk[letter] !== 1) return;
    this.addWord(LETTERS[letter] as string, Number.NaN, false, this.unknown(start + 1, end), start, end);
  }

  private unknown(start: number, end: number): Expr {
    return { kind: "number", value: Number.NaN, point: false, start, end };
  }

  private addWord(letter: string, value: number, point: boolean, expr: Expr | undefined, start: number, end: number): void {
    const word: Word = { letter, value, point, expr, start, end };
    if (this.words) this.words.push(word);
    else this.words = [word];
    this.wordEnd = end;
  }

  private readWord(start: number, behind: number, letter: string): void {
    const p = this.blank(behind);
    const c = this.at(p);
    const n = this.number;
    if (isDigit(c) || c === 46 || c === 43 || c === 45) {
      if (readNumber(this.text, p, this.end, true, this.lenient, n)) {
        const d = this.at(n.end);
        if (d === 79 || d === 111) {
          const q = this.numberLike(p);
          if (q > n.end) {
            this.letterO(start, q, letter.charCodeAt(letter.length - 1));
            return;
          }
        }
        if (d === 46) {
          let q = n.end;
          while (q < this.end && (isDigit(this.text.charCodeAt(q)) || this.text.charCodeAt(q) === 46)) q++;
          this.numberPoints(letter, start, p, q);
          return;
        }
        this.pos = n.end;
        this.addWord(letter, n.value, n.point, undefined, start, n.end);
        this.afterWord();
        return;
      }
      if (c === 46) {
        const q = this.numberLike(p);
        if (/[oO]/.test(this.text.slice(p, q))) {
          this.letterO(start, q, letter.charCodeAt(letter.length - 1));
          return;
        }
        if (q > p + 1) {
          this.numberPoints(letter, start, p, q);
          return;
        }
      } else {
        const q = this.blank(p + 1);
        const d = this.at(q);
        if (this.macro && (d === 35 || d === 91)) {
          this.readComputed(start, p, letter);
          return;
        }
        if (d === 43 || d === 45) {
          let r = q;
          while (r < this.end && (this.at(r) === 43 || this.at(r) === 45 || this.at(r) === 46 || isDigit(this.at(r)))) r++;
          this.problem("number-sign", start, r);
          this.addWord(letter, Number.NaN, false, this.unknown(p, r), start, r);
          this.pos = r;
          return;
        }
      }
      this.absent(letter, start, p + 1);
      return;
    }
    if (c === 35 || c === 91) {
      if (this.expressions) {
        this.readComputed(start, p, letter);
        return;
      }
      this.pos = p;
      this.readGarbage(start, c === 35 ? "variables-none" : "unknown-text");
      return;
    }
    if (this.expressions && isLetter(c)) {
      const name = this.functionAt(p);
      if (name !== undefined) {
        this.readComputed(start, p, letter);
        return;
      }
    }
    if (c === 61) {
      this.pos = p;
      this.swallow("assignment-form", start, true);
      return;
    }
    if (
      c >= 0 &&
      !isLetter(c) &&
      c !== 40 &&
      c !== 41 &&
      c !== 47 &&
      c !== 44 &&
      c !== 37 &&
      !(c === 59 && this.profile.comments.semicolon)
    ) {
      this.pos = p;
      this.readGarbage(start);
      return;
    }
    this.absent(letter, start, behind);
  }

  /** A word whose number, from p to q, has several points. */
  private numberPoints(letter: string, start: number, p: number, q: number): void {
    this.problem("number-points", start, q);
    this.addWord(letter, Number.NaN, true, this.unknown(p, q), start, q);
    this.pos = q;
  }

  private absent(letter: string, start: number, end: number): void {
    const last = this.problems?.at(-1);
    if (last?.key === "number-missing" && last.end === start) {
      this.problems?.pop();
      this.problem("number-missing", last.start, end);
    } else this.problem("number-missing", start, end);
    this.addWord(letter, Number.NaN, false, { kind: "absent", start: end, end }, start, end);
    this.pos = end;
  }

  /** What stands behind a word and shows that it was meant as a formula or an assignment. */
  private afterWord(): void {
    const p = this.blank(this.pos);
    const c = this.at(p);
    if (c === 43 || c === 45 || c === 42) this.readOperatorOutside(p);
    else if (c === 61) {
      const word = this.words?.pop();
      this.pos = p;
      this.swallow("assignment-form", word?.start ?? p, true);
    }
  }

  private readComputed(start: number, p: number, letter: string): void {
    this.pos = p;
    const expr = this.tryExpression(() => this.value());
    if (expr === undefined) {
      this.addWord(letter, Number.NaN, false, this.unknown(p, this.pos), start, Math.max(this.pos, p));
      return;
    }
    this.addWord(letter, Number.NaN, false, expr, start, this.pos);
    this.afterWord();
  }

  private isCorner(p: number): boolean {
    const c = upper(this.at(p + 1));
    return (c === 82 || c === 67 || c === 65) && !isLetter(this.at(p + 2));
  }

  private readCorner(): void {
    const start = this.pos;
    this.readWord(start, start + 2, `,${LETTERS[this.text.charCodeAt(start + 1)]}`);
  }

  private readLabel(start: number): void {
    const p = this.blank(start + 1);
    const n = this.number;
    const c = this.at(p);
    if (!isDigit(c)) {
      let q = p;
      while (q < this.end && (this.at(q) === 43 || this.at(q) === 45 || this.at(q) === 46 || isDigit(this.at(q)))) q++;
      if (q > p) {
        this.problem("label-form", start, q);
        this.pos = q;
      } else if (c === 35 || c === 91) {
        this.pos = p;
        this.readGarbage(start, "label-form");
      } else {
        this.problem("number-missing", start, start + 1);
        this.pos = start + 1;
      }
      return;
    }
    // White space inside a line number is only read over where the dialect reads over it everywhere: `N10 21 G40`
    // is far more often a G that was forgotten.
    readNumber(this.text, p, this.end, this.strict, this.lenient, n);
    let end = n.end;
    const d = this.at(end);
    if (d === 79 || d === 111) {
      const q = this.numberLike(p);
      if (q > end) {
        this.letterO(start, q, 78);
        return;
      }
    }
    if (n.point) {
      while (end < this.end && (isDigit(this.at(end)) || this.at(end) === 46)) end++;
      this.problem("label-form", start, end);
      this.pos = end;
      return;
    }
    this.pos = end;
    const behind = this.words !== undefined || this.assignments !== undefined || this.control !== undefined;
    if (this.label !== undefined || (behind && !this.strict)) {
      // An N behind other words is data (of G10, or an argument), not the number of the block.
      if (this.label === undefined && !this.words?.some((w) => w.letter === "G" || w.letter === "M")) this.setLabel(n.value, start, end);
      else if (this.strict) this.problem("label-late", start, end);
      else this.addWord("N", n.value, false, undefined, start, end);
      return;
    }
    if (this.strict) {
      if (behind || this.comments) this.problem("label-late", start, end);
      if (n.digits > 5) {
        this.problem("label-long", start, end);
        return;
      }
    }
    this.setLabel(n.value, start, end);
  }

  private setLabel(value: number, start: number, end: number): void {
    this.label = value;
    this.labelSpan = { start, end };
  }

  /** O words. Returns false where the O is to be treated like any other letter. */
  private readProgram(start: number): boolean {
    const p = this.blank(start + 1);
    const c = this.at(p);
    if (c === 60) {
      this.pos = p;
      this.swallow("flow-by-o", start, false);
      return true;
    }
    if (!isDigit(c)) {
      if (!this.profile.programWords) return false;
      if (isLetter(c)) {
        const q = p === start + 1 ? this.numberLike(start + 1) : 0;
        if (q > 0) this.letterO(start, q, 79);
        else {
          this.pos = this.runEnd(p);
          this.readGarbage(start);
        }
      } else {
        this.pos = p;
        this.readGarbage(start, c === 35 || c === 91 ? "program-form" : c < 0 || c === 40 ? "number-missing" : "unknown-text");
      }
      return true;
    }
    readNumber(this.text, p, this.end, false, this.lenient, this.number);
    const { value, point, end } = this.number;
    const q = this.blank(end);
    if (isLetter(this.at(q))) {
      const word = this.text.slice(q, this.runEnd(q)).toLowerCase();
      if (O_FLOW.includes(word)) {
        this.pos = q;
        this.swallow("flow-by-o", start, false);
        return true;
      }
    }
    if (!this.profile.programWords) return false;
    this.pos = end;
    if (point) {
      this.problem("program-form", start, end);
      return true;
    }
    if (this.words || this.assignments || this.control || this.program !== undefined) this.problem("program-late", start, end);
    else this.setProgram(value, start, end);
    return true;
  }

  private setProgram(value: number, start: number, end: number): void {
    this.program = value;
    this.programSpan = { start, end };
  }

  private readColon(): void {
    const start = this.pos;
    const p = this.blank(start + 1);
    const early = !this.words && !this.assignments && !this.control && this.program === undefined;
    if (!early || this.profile.colon === "none" || !isDigit(this.at(p))) {
      this.readGarbage(start);
      return;
    }
    readNumber(this.text, p, this.end, false, this.lenient, this.number);
    const { value, point, end } = this.number;
    this.pos = end;
    if (point) this.problem("program-form", start, end);
    else if (this.profile.colon === "program") this.setProgram(value, start, end);
    else this.setLabel(value, start, end);
  }

  // --- flow control ---------------------------------------------------------------------------------------------

  /** Statements of the macro form. Returns false where the letters are none. */
  private readKeyword(start: number): boolean {
    switch (upper(this.at(start))) {
      case 73: {
        const p = this.matches(start, "IF", false);
        if (p < 0 || !this.opens(p)) return false;
        this.readIf(start, p);
        return true;
      }
      case 71: {
        let p = this.matches(start, "GOTO", false);
        if (p < 0) {
          const q = this.matches(start, "GO", false);
          if (q > 0) p = this.matches(this.blank(q), "TO", false);
        }
        if (p < 0 || isLetter(this.at(p))) return false;
        this.pos = p;
        const target = this.gotoTarget(start);
        if (target) this.setControl({ kind: "goto", target, start, end: this.pos });
        return true;
      }
      case 87: {
        const p = this.matches(start, "WHILE", false);
        if (p < 0) return false;
        this.readWhile(start, p);
        return true;
      }
      case 68: {
        const p = this.matches(start, "DO", false);
        if (p > 0) {
          const q = this.blank(p);
          // `DO` with a whole number behind it and nothing else adjacent; `DO.5` and `DOO` are a D word with letter O.
          if (isDigit(this.at(q)) || this.at(q) === 35 || this.at(q) === 91 || q >= this.end) {
            this.pos = p;
            const loop = this.loopNumber("DO", start);
            this.setControl({ kind: "do", loop, start, end: this.pos });
            return true;
          }
        }
        return this.readIgnored(start);
      }
      case 69: {
        const p = this.matches(start, "END", false);
        if (p < 0 || isLetter(this.at(p))) return false;
        this.pos = p;
        const loop = this.loopNumber("END", start);
        this.setControl({ kind: "end", loop, start, end: this.pos });
        return true;
      }
      default:
        return this.readIgnored(start);
    }
  }

  private opens(p: number): boolean {
    const q = this.blank(p);
    const c = this.at(q);
    return c === 91 || c === 35;
  }

  private readIgnored(start: number): boolean {
    for (const name of this.profile.ignoredStatements) {
      let p = this.matches(start, name, false);
      if (p < 0 || isLetter(this.at(p))) continue;
      // A number, then text in brackets that may hold anything.
      p = this.blank(p);
      while (isDigit(this.at(p))) p++;
      p = this.blank(p);
      if (this.at(p) === 91) {
        let depth = 0;
        for (; p < this.end; p++) {
          const c = this.text.charCodeAt(p);
          if (c === 91) depth++;
          else if (c === 93 && --depth === 0) {
            p++;
            break;
          }
        }
      }
      this.pos = p;
      return true;
    }
    return false;
  }

  private setControl(control: Control): void {
    if (this.control) this.problem("control-twice", control.start, control.end);
    else this.control = control;
  }

  private condition(name: string, start: number, p: number): Expr | undefined {
    const q = this.blank(p);
    if (this.at(q) !== 91) {
      this.problem("condition-missing", start, Math.max(p, start + 1), { name, text: name });
      if (this.at(q) !== 35) {
        this.pos = p;
        return undefined;
      }
    }
    this.pos = q;
    return this.tryExpression(() => this.expression(1));
  }

  private readIf(start: number, p: number): void {
    const condition = this.condition("IF", start, p);
    this.pos = this.blank(this.pos);
    const at = this.pos;
    let q = this.matches(at, "THEN", false);
    let end = at;
    if (q > 0) {
      this.pos = q;
      end = q;
      const r = this.blank(q);
      const go = this.matches(r, "GOTO", false);
      if (go < 0) {
        this.setControl({ kind: "if-then", condition: condition ?? this.unknown(start, end), start, end });
        return;
      }
      q = go;
    } else {
      q = this.matches(at, "GOTO", false);
      if (q < 0) {
        const r = this.matches(at, "GO", false);
        if (r > 0) q = this.matches(this.blank(r), "TO", false);
      }
    }
    if (q < 0) {
      if (condition !== undefined || !this.problems) this.problem("if-incomplete", start, Math.max(at, start + 2));
      // What follows is not known to belong to the condition: it is taken as governed by one that is unknown.
      this.setControl({ kind: "if-then", condition: this.unknown(start, at), start, end: at });
      return;
    }
    this.pos = q;
    const target = this.gotoTarget(at);
    if (target) this.setControl({ kind: "if-goto", condition: condition ?? this.unknown(start, at), target, start, end: this.pos });
  }

  private readWhile(start: number, p: number): void {
    const condition = this.condition("WHILE", start, p);
    const at = this.blank(this.pos);
    const q = this.matches(at, "DO", false);
    if (q < 0) {
      if (condition !== undefined || !this.problems) this.problem("while-incomplete", start, Math.max(this.pos, start + 5));
      return;
    }
    this.pos = q;
    const loop = this.loopNumber("DO", at);
    this.setControl({ kind: "while", condition: condition ?? this.unknown(start, at), loop, start, end: this.pos });
  }

  private gotoTarget(start: number): Expr | undefined {
    const p = this.blank(this.pos);
    const c = this.at(p);
    if (isDigit(c) || c === 35 || c === 91) {
      this.pos = p;
      return this.tryExpression(() => this.value());
    }
    if (upper(c) === 78 && isDigit(this.at(p + 1))) {
      // `GOTO N10` is what people write who think of the label; the number is clear, the N is not allowed.
      readNumber(this.text, p + 1, this.end, false, this.lenient, this.number);
      this.pos = this.number.end;
      this.problem("goto-target", p, this.pos);
      return { kind: "number", value: this.number.value, point: this.number.point, start: p + 1, end: this.pos };
    }
    this.problem("goto-target", start, Math.max(this.pos, start + 1));
    return undefined;
  }

  private loopNumber(name: string, start: number): number {
    const p = this.blank(this.pos);
    if (readNumber(this.text, p, this.end, false, this.lenient, this.number) && !this.number.sign) {
      this.pos = this.number.end;
      const { value, point } = this.number;
      if (point || value < 1 || value > this.profile.loopDepth) {
        this.problem("loop-number", start, this.pos, { name, text: name, to: this.profile.loopDepth });
      }
      return value;
    }
    this.problem("loop-number", start, this.pos, { name, text: name, to: this.profile.loopDepth });
    return Number.NaN;
  }

  // --- assignments ----------------------------------------------------------------------------------------------

  private readAssignment(): void {
    const start = this.pos;
    if (!this.expressions) {
      this.pos++;
      this.swallow("variables-none", start, false);
      return;
    }
    if (this.at(this.blank(start + 1)) === 60) {
      this.pos = start + 1;
      this.swallow("variable-named", start, false);
      return;
    }
    this.pos = start + 1;
    const index = this.tryExpression(() => this.index(start));
    if (index === undefined) return;
    const p = this.blank(this.pos);
    if (this.at(p) !== 61) {
      this.problem("assignment-expected", start, this.pos);
      return;
    }
    this.pos = this.blank(p + 1);
    if (this.pos >= this.end || this.at(this.pos) === 40 || (this.at(this.pos) === 59 && this.profile.comments.semicolon)) {
      this.problem("assignment-value", start, p + 1);
      return;
    }
    const from = this.pos;
    const value = this.tryExpression(() => (this.macro ? this.expression(1) : this.value())) ?? this.unknown(from, this.pos);
    if (index.kind === "number") {
      const { from: low, to } = { from: this.macro ? 0 : 1, to: this.profile.parameterCount };
      if (!(index.value >= low && index.value <= to) || Math.abs(index.value - Math.round(index.value)) > 0.0001) {
        this.problem("variable-range", start, p, { index: index.value, from: this.macro ? 1 : low, to });
        return;
      }
      if (index.value === 0) {
        this.problem("variable-zero", start, p);
        return;
      }
    }
    const assignment: Assignment = { index, value, start, end: this.pos };
    if (this.assignments) this.assignments.push(assignment);
    else this.assignments = [assignment];
    if (!this.macro) {
      const q = this.blank(this.pos);
      const c = this.at(q);
      if (c === 43 || c === 45 || c === 42 || c === 47) {
        this.assignments.pop();
        this.assignments.push({ ...assignment, value: this.unknown(from, this.pos) });
        this.pos = q + 1;
        this.readGarbage(start, "operator-outside");
      }
    }
    this.wordEnd = -1;
  }

  // --- expressions ----------------------------------------------------------------------------------------------

  /** Runs a reader; when it gives up, goes on behind the brackets that the expression opened. */
  private tryExpression(read: () => Expr): Expr | undefined {
    const start = this.pos;
    this.depth = 0;
    this.size = 0;
    this.opened = -1;
    try {
      return read();
    } catch (e) {
      if (e !== UNREAD) throw e;
      this.recover(start);
      return undefined;
    }
  }

  /** Column of the innermost bracket that is open while an expression is read; -1 outside. */
  private opened = -1;

  /** Gives up where the open bracket is the fault of what stands at p: no bracket closes behind it. */
  private needsClosing(p: number): void {
    const close = this.text.indexOf("]", p);
    if (this.opened < 0 || (close >= 0 && close < this.end)) return;
    const read = this.text.slice(this.opened, Math.min(p, this.end)).trimEnd();
    this.fail("bracket-open", this.opened, this.opened + read.length);
  }

  private fail(key: string, start: number, end: number, args?: Readonly<Record<string, string | number>>): never {
    this.problem(key, start, end, args);
    throw UNREAD;
  }

  /** Behind the bracket that closes the outermost one since `start`, or at the next comment, or at the line's end. */
  private recover(start: number): void {
    let depth = 0;
    let p = start;
    for (; p < this.end; p++) {
      const c = this.text.charCodeAt(p);
      if (c === 91) depth++;
      else if (c === 93) {
        depth--;
        if (depth <= 0) {
          p++;
          break;
        }
      } else if (c === 40) {
        // A comment inside the brackets, if it is closed; else the rest of the line is one.
        const close = this.text.indexOf(")", p);
        if (depth === 0 || close < 0) break;
        p = close;
      } else if (depth === 0 && p >= this.pos) break;
    }
    this.pos = Math.max(p, this.pos);
  }

  private grow(start: number): void {
    if (++this.size > SIZE_LIMIT || this.depth > DEPTH_LIMIT) this.fail("expression-size", start, this.end);
  }

  /** The operator at the position, without moving; its end is left in `opEnd`. */
  private opEnd = 0;
  private operator(): BinaryOp | undefined {
    const p = this.blank(this.pos);
    const c = this.at(p);
    switch (c) {
      case 42:
        if (!this.macro) {
          const q = this.lenient ? p + 1 : this.blank(p + 1);
          if (this.at(q) === 42) {
            this.opEnd = q + 1;
            return "**";
          }
        }
        this.opEnd = p + 1;
        return "*";
      case 43:
        this.opEnd = p + 1;
        return "+";
      case 45:
        this.opEnd = p + 1;
        return "-";
      case 47:
        this.opEnd = p + 1;
        return "/";
    }
    if (!isLetter(c)) return undefined;
    for (const name of this.operators) {
      const q = this.matches(p, name, this.strict);
      if (q > 0) {
        this.opEnd = q;
        return name as BinaryOp;
      }
    }
    return undefined;
  }

  private expression(level: number): Expr {
    let left = this.primary();
    for (;;) {
      const op = this.operator();
      if (op === undefined) return left;
      const binding = this.levels[op] ?? 0;
      if (binding < level) return left;
      this.pos = this.opEnd;
      this.grow(left.start);
      this.depth++;
      const right = this.expression(binding + 1);
      this.depth--;
      left = { kind: "binary", op, left, right, start: left.start, end: right.end };
    }
  }

  /** A value outside brackets: number, variable, bracketed expression or function. */
  private value(): Expr {
    return this.primary();
  }

  private primary(): Expr {
    const p = this.blank(this.pos);
    const c = this.at(p);
    this.grow(p);
    if (isDigit(c) || c === 46) {
      const n = this.number;
      if (!readNumber(this.text, p, this.end, true, this.lenient, n)) {
        this.pos = p + 1;
        this.fail("value-expected", p, p + 1);
      }
      this.pos = n.end;
      if (this.at(this.pos) === 46) {
        while (isDigit(this.at(this.pos)) || this.at(this.pos) === 46) this.pos++;
        this.fail("number-points", p, this.pos);
      }
      return { kind: "number", value: n.value, point: n.point, start: p, end: n.end };
    }
    if (c === 91) {
      const outer = this.opened;
      this.opened = p;
      this.pos = p + 1;
      this.depth++;
      const inner = this.expression(1);
      this.depth--;
      const q = this.blank(this.pos);
      if (this.at(q) !== 93) {
        if (this.at(q) === 40) this.fail("paren-in-expression", q, q + 1);
        this.pos = q;
        this.needsClosing(q);
        this.fail("unknown-text", q, this.stray(q));
      }
      this.opened = outer;
      this.pos = q + 1;
      return inner;
    }
    if (c === 35) {
      this.pos = p + 1;
      if (this.at(this.blank(this.pos)) === 60) {
        const close = this.text.indexOf(">", p);
        const end = close < 0 ? this.end : Math.min(close + 1, this.end);
        this.problem("variable-named", p, end);
        this.pos = end;
        return this.unknown(p, end);
      }
      const index = this.index(p);
      return { kind: "variable", index, start: p, end: this.pos };
    }
    if (c === 43 || c === 45) {
      const n = this.number;
      if (readNumber(this.text, p, this.end, true, this.lenient, n)) {
        this.pos = n.end;
        return { kind: "number", value: n.value, point: n.point, start: p, end: n.end };
      }
      if (!this.macro) this.fail("value-expected", p, p + 1);
      this.pos = p + 1;
      this.depth++;
      const of = this.primary();
      this.depth--;
      return c === 45 ? { kind: "negate", of, start: p, end: of.end } : of;
    }
    const name = isLetter(c) ? this.functionAt(p) : undefined;
    if (name !== undefined) return this.call(p, name);
    if (c === 40) this.fail("paren-in-expression", p, p + 1);
    this.needsClosing(p);
    if (isLetter(c)) this.fail("unknown-text", p, this.stray(p));
    this.fail("value-expected", Math.min(p, Math.max(this.end - 1, 0)), Math.max(Math.min(p + 1, this.end), 0), {
      text: shown(this.text.slice(Math.max(0, p - 20), Math.min(p + 1, this.end)).trim()),
    });
  }

  private stray(p: number): number {
    let q = this.runEnd(p);
    if (q === p) q = p + 1;
    while (q < this.end && isDigit(this.text.charCodeAt(q))) q++;
    return q;
  }

  /** Index of a variable: number, further variable or bracketed expression; in RS274/NGC any real value. */
  private index(start: number): Expr {
    const p = this.blank(this.pos);
    const c = this.at(p);
    if (isDigit(c) || c === 35 || c === 91 || c === 46) {
      this.depth++;
      this.pos = p;
      const expr = this.primary();
      this.depth--;
      return expr;
    }
    if (!this.macro && (c === 43 || c === 45 || (isLetter(c) && this.functionAt(p) !== undefined))) {
      this.pos = p;
      return this.primary();
    }
    this.fail("variable-index", start, Math.min(p + 1, this.end));
  }

  /** The function whose name stands at p. A name without its bracket counts only where nothing else could be meant. */
  private functionAt(p: number): string | undefined {
    const first = upper(this.at(p));
    for (const name of this.functions) {
      if (name.charCodeAt(0) !== first) continue;
      const q = this.matches(p, name, this.strict);
      if (q < 0) continue;
      const c = this.at(this.blank(q));
      if (c === 91) return name;
      if (name.length > 2 && (isDigit(c) || c === 35 || c === 46 || c === 45 || c === 40)) return name;
    }
    return undefined;
  }

  private call(start: number, name: string): Expr {
    const q = this.matches(start, name, this.strict);
    const p = this.blank(q);
    if (this.at(p) !== 91) {
      this.pos = p;
      const n = this.number;
      if (readNumber(this.text, p, this.end, true, this.lenient, n)) this.pos = n.end;
      else this.pos = Math.min(p + 1, this.end);
      this.fail("bracket-needed", start, this.pos, { name });
    }
    const args: Expr[] = [];
    const outer = this.opened;
    this.opened = p;
    this.pos = p + 1;
    this.depth++;
    this.grow(start);
    args.push(this.expression(1));
    let r = this.blank(this.pos);
    while (this.macro && this.at(r) === 44 && args.length < 2) {
      this.pos = r + 1;
      args.push(this.expression(1));
      r = this.blank(this.pos);
    }
    this.depth--;
    if (this.at(r) !== 93) {
      if (this.at(r) === 40) this.fail("paren-in-expression", r, r + 1);
      this.pos = r;
      this.needsClosing(r);
      this.fail("unknown-text", r, this.stray(r));
    }
    this.opened = outer;
    this.pos = r + 1;
    if (name === "ATAN" && args.length === 1) {
      const slash = this.blank(this.pos);
      const open = this.blank(slash + 1);
      if (this.at(slash) === 47 && this.at(open) === 91) {
        this.pos = open;
        args.push(this.primary());
      } else if (!this.macro) this.fail("atan-pair", start, this.pos);
    } else if (args.length > 1 && name !== "POW" && name !== "ATAN") this.fail("unknown-text", start, this.pos);
    if (name === "POW" && args.length < 2) this.fail("value-expected", start, this.pos);
    return { kind: "call", name, args, start, end: this.pos };
  }
}

let reader: LineReader | undefined;

function readerFor(profile: Profile): LineReader {
  if (reader === undefined) reader = new LineReader(profile);
  else if (!reader.uses(profile)) reader.use(profile);
  return reader;
}

/**
 * Reads one line. Never fails: what the dialect cannot read becomes a problem of the block, one for each run of text
 * that means nothing, and the rest of the line is still read. Columns are UTF-16 units of the line.
 */
export function parseLine(text: string, line: number, profile: Profile): Block {
  return readerFor(profile).read(text, line);
}

function emptyBlock(block: Block): Block {
  return {
    line: block.line,
    skip: undefined,
    label: undefined,
    labelSpan: undefined,
    program: undefined,
    programSpan: undefined,
    percent: false,
    words: NO_WORDS,
    assignments: NO_ASSIGNMENTS,
    control: undefined,
    comments: block.comments,
    problems: NO_PROBLEMS,
    start: block.start,
    end: block.end,
  };
}

/** The block does something or is meant to: more than comments, a label or a %. */
function isActive(block: Block): boolean {
  return block.words.length > 0 || block.assignments.length > 0 || block.control !== undefined;
}

/** Lines between two yields: about a millisecond of reading. */
const SLICE = 1000;

/** What came of reading a file, kept so that the next reading of it need not read again the lines that are still the same. */
export interface Reading {
  readonly source: Source;
  /** The text and the profile that it was read with. */
  readonly text: string;
  readonly profile: Profile;
  /** The block of every line as it was read, before what stands outside the tape was emptied. */
  readonly read: readonly Block[];
}

/**
 * Reads a whole file. Lines are those of an editor (CR LF, LF and CR each end one; the last is empty when the text
 * ends with one). Text outside the `%` of a tape is blank to the machine and gives empty blocks, comments kept.
 */
export function parseSource(file: string, text: string, profile: Profile): Source {
  const slices = readSource(file, text, profile);
  for (;;) {
    const step = slices.next();
    if (step.done === true) return step.value.source;
  }
}

/**
 * The same in slices: a generator that yields every thousand lines. With `before`, an earlier reading of the file, the lines
 * at its beginning and at its end that are still the same keep their blocks, as a block depends on nothing but the text of its line, its number and the
 * profile; the answer is equal to that of a reading from scratch.
 */
export function* readSource(file: string, text: string, profile: Profile, before?: Reading): Generator<void, Reading, void> {
  const held = before !== undefined && before.profile === profile && before.source.file === file ? before : undefined;
  if (held !== undefined && held.text === text) return held;
  const lines = splitLines(text);
  yield;
  const blocks: Block[] = new Array(lines.length);
  const old = held?.source.lines ?? [];
  const most = Math.min(old.length, lines.length);
  let head = 0;
  while (head < most && old[head] === lines[head]) head++;
  let tail = 0;
  while (tail < most - head && old[old.length - 1 - tail] === lines[lines.length - 1 - tail]) tail++;
  const shift = lines.length - old.length;
  const percents: number[] = [];
  const starts: number[] = [];
  let firstText = -1;
  for (let i = 0; i < lines.length; i++) {
    if (i % SLICE === SLICE - 1) yield;
    // Another file may have been read while this one waited, so the reader is asked for each time.
    const block = blockAt(i);
    blocks[i] = block;
    if (firstText < 0 && block.end > block.start) firstText = i;
    if (block.percent) percents.push(i);
    if (block.program !== undefined) starts.push(i);
  }
  const read = [...blocks];
  yield;
  const problems: (Problem & { readonly line: number })[] = [];
  blankOutside(blocks, percents, firstText, profile);
  if (profile.strictBlocks && firstText >= 0) checkEnd(blocks, percents, firstText, problems);
  yield;
  return { source: { file, lines, blocks, parts: partsOf(blocks, starts), problems }, text, profile, read };

  function blockAt(i: number): Block {
    const line = lines[i] as string;
    if (held === undefined) return readerFor(profile).read(line, i);
    if (i < head) return held.read[i] as Block;
    if (i < lines.length - tail) return readerFor(profile).read(ownCopy(line), i);
    const block = held.read[i - shift] as Block;
    return shift === 0 ? block : { ...block, line: i };
  }
}

/**
 * The same text by itself. A piece of a long text keeps the whole of it in memory, and a comment that outlives many edits would so
 * keep the file as it was before each of them.
 */
function ownCopy(line: string): string {
  return ` ${line}`.slice(1);
}

function blankOutside(blocks: Block[], percents: readonly number[], firstText: number, profile: Profile): void {
  const first = percents[0];
  const last = percents.at(-1);
  if (first === undefined || last === undefined || percents.length < 2) return;
  // Before the first % a tape has its header, which no control reads.
  if (!profile.strictBlocks) for (let i = firstText; i < first; i++) blocks[i] = emptyBlock(blocks[i] as Block);
  const end = profile.strictBlocks ? (first === firstText ? (percents[1] as number) : blocks.length) : last;
  for (let i = end + 1; i < blocks.length; i++) {
    if (!profile.strictBlocks && blocks[i]?.program !== undefined) return;
  }
  for (let i = end + 1; i < blocks.length; i++) blocks[i] = emptyBlock(blocks[i] as Block);
}

/** NISTIR 6556 §3.1: a % at the beginning needs one at the end; without either there must be an M2 or M30. */
function checkEnd(
  blocks: readonly Block[],
  percents: readonly number[],
  firstText: number,
  problems: (Problem & { line: number })[],
): void {
  const begins = percents[0] === firstText;
  if (begins && percents.length < 2) {
    const b = blocks[firstText] as Block;
    problems.push({ key: "percent-end-missing", args: {}, start: b.start, end: b.end, line: firstText });
    return;
  }
  if (begins) return;
  const ends = blocks.some(
    (b) => b.percent || b.words.some((w) => w.letter === "M" && (w.value === 2 || w.value === 30 || Number.isNaN(w.value))),
  );
  if (ends) return;
  let line = blocks.length - 1;
  while (line > 0 && (blocks[line] as Block).end === (blocks[line] as Block).start) line--;
  const b = blocks[line] as Block;
  problems.push({ key: "end-missing", args: {}, start: b.start, end: b.end, line });
}

/** The programs of a file; `starts` are the lines that have a program number, some of which may have been emptied. */
function partsOf(blocks: readonly Block[], starts: readonly number[]): ProgramPart[] {
  const parts: ProgramPart[] = [];
  const numbered = starts.filter((line) => blocks[line]?.program !== undefined);
  const first = blocks.findIndex(isActive);
  const active = first >= 0 && first < (numbered[0] ?? blocks.length);
  let started: { number: number; line: number; title: string | undefined } | undefined;
  for (const line of numbered) {
    const block = blocks[line];
    if (block?.program === undefined) continue;
    if (started) parts.push({ ...started, endLine: block.line });
    else if (active) parts.push({ number: Number.NaN, line: 0, endLine: block.line, title: undefined });
    started = { number: block.program, line: block.line, title: block.comments[0]?.text.trim() };
  }
  if (started) parts.push({ ...started, endLine: blocks.length });
  else parts.push({ number: Number.NaN, line: 0, endLine: blocks.length, title: undefined });
  return parts;
}

/** Index into `source.parts` of the program that a line belongs to; -1 for lines before the first one. */
export function partOfLine(source: Source, line: number): number {
  let low = 0;
  let high = source.parts.length - 1;
  while (low <= high) {
    const mid = (low + high) >> 1;
    const part = source.parts[mid] as ProgramPart;
    if (line < part.line) high = mid - 1;
    else if (line >= part.endLine) low = mid + 1;
    else return mid;
  }
  return -1;
}

const labelIndex = new WeakMap<Source, Map<number, number[]>>();

/** Lines of the file that carry a label, in ascending order. */
export function linesOfLabel(source: Source, label: number): readonly number[] {
  let index = labelIndex.get(source);
  if (index === undefined) {
    index = new Map();
    for (const block of source.blocks) {
      if (block.label === undefined) continue;
      const lines = index.get(block.label);
      if (lines) lines.push(block.line);
      else index.set(block.label, [block.line]);
    }
    labelIndex.set(source, index);
  }
  return index.get(label) ?? [];
}

/**
 * Line of label `n` within a program of the file, searched as a control searches: from behind `fromLine` to the end
 * of the program, then from its beginning (common practice, no source). Undefined when there is none.
 * `part` is an index into `source.parts`.
 */
export function findLabel(source: Source, part: number, n: number, fromLine: number): number | undefined {
  const range = source.parts[part];
  if (range === undefined) return undefined;
  let first: number | undefined;
  for (const line of linesOfLabel(source, n)) {
    if (line < range.line || line >= range.endLine) continue;
    if (line > fromLine) return line;
    first ??= line;
  }
  return first;
}

/**
 * Canonical name of a code: "G54.1", "G0", "M6", without leading zeros. NISTIR 6556 §3.3.2.1 takes a number within
 * 0.0001 of a tenth as that tenth. "G?" when the value is not known.
 */
export function codeOf(word: { readonly letter: string }, value: number): string {
  if (Number.isNaN(value)) return `${word.letter}?`;
  const tenth = Math.round(value * 10) / 10;
  return `${word.letter}${Math.abs(tenth - value) <= 0.0001 ? tenth : value}`;
}

/** Text of an operator message `(MSG, …)` in a dialect that has them (NISTIR 6556 §3.3.4), else undefined. */
export function messageOf(comment: Comment, profile: Profile): string | undefined {
  if (!profile.messages) return undefined;
  const m = /^[ \t]*m[ \t]*s[ \t]*g[ \t]*,/i.exec(comment.text);
  return m ? comment.text.slice(m[0].length) : undefined;
}
