/**
 * Characters and numbers. Everything here works on UTF-16 units of one line by index, without regular expressions and
 * without an object per character, so that a file of several megabytes is read in a fraction of a second whatever
 * bytes it holds.
 */

const KIND = new Uint8Array(128);
const LETTER = 1;
const DIGIT = 2;
const BLANK = 4;
const CONTROL = 8;
for (let c = 0; c < 128; c++) {
  if ((c >= 65 && c <= 90) || (c >= 97 && c <= 122)) KIND[c] = LETTER;
  else if (c >= 48 && c <= 57) KIND[c] = DIGIT;
  else if (c === 32 || c === 9) KIND[c] = BLANK;
  else if (c < 32 || c === 127) KIND[c] = CONTROL;
}

/** A letter A to Z of either case, by its UTF-16 code unit: addresses of words are ASCII (ISO 6983-1). */
export function isLetter(c: number): boolean {
  return c < 128 && KIND[c] === LETTER;
}

/** A digit 0 to 9, by its UTF-16 code unit. */
export function isDigit(c: number): boolean {
  return c >= 48 && c <= 57;
}

/** Space and tab; with `lenient` also the fill and control characters of paper tape and serial lines, and a byte order mark. */
export function isBlank(c: number, lenient: boolean): boolean {
  return c < 128 ? KIND[c] === BLANK || (lenient && KIND[c] === CONTROL) : c === 0xfeff;
}

/** Upper-case code of an ASCII letter; other codes unchanged. */
export function upper(c: number): number {
  return c >= 97 && c <= 122 ? c - 32 : c;
}

/** One-letter strings by code, so that no word allocates its letter. */
export const LETTERS: readonly string[] = Array.from({ length: 128 }, (_, c) => String.fromCharCode(upper(c)));

const POWERS = Array.from({ length: 23 }, (_, i) => 10 ** i);

/** The result of the last `readNumber`; one instance is reused so that numbers cost no object. */
export interface NumberRead {
  value: number;
  point: boolean;
  /** Column behind the last character that belongs to the number. */
  end: number;
  digits: number;
  sign: boolean;
}

/**
 * Reads an optional sign, digits and at most one point from `pos`, with blanks inside it when `joined` holds (as
 * NISTIR 6556 §3.3 allows: `+0. 12 34` is 0.1234). Returns false, with nothing of use in `out`, when there is no digit.
 * Values of up to 15 digits are exact quotients of two integers and so correctly rounded.
 */
export function readNumber(text: string, pos: number, end: number, joined: boolean, lenient: boolean, out: NumberRead): boolean {
  let p = pos;
  let negative = false;
  out.sign = false;
  if (p < end) {
    const c = text.charCodeAt(p);
    if (c === 45 || c === 43) {
      negative = c === 45;
      out.sign = true;
      p++;
    }
  }
  const first = p;
  let mantissa = 0;
  let digits = 0;
  let significant = 0;
  let decimals = 0;
  let point = false;
  let last = p;
  while (p < end) {
    const c = text.charCodeAt(p);
    if (c >= 48 && c <= 57) {
      digits++;
      if (mantissa > 0 || c > 48) significant++;
      if (significant <= 15) mantissa = mantissa * 10 + (c - 48);
      if (point) decimals++;
      p++;
      last = p;
    } else if (c === 46 && !point) {
      point = true;
      p++;
      last = p;
    } else if (joined && isBlank(c, lenient)) {
      p++;
    } else break;
  }
  if (digits === 0) return false;
  let value: number;
  if (significant <= 15 && decimals <= 22) value = mantissa / (POWERS[decimals] as number);
  else {
    // Rare: more digits than a quotient of integers can hold. The platform's own conversion rounds correctly.
    let plain = "";
    for (let i = first; i < last; i++) {
      const c = text.charCodeAt(i);
      if (isDigit(c) || c === 46) plain += LETTERS[c];
    }
    value = Number(plain);
  }
  out.value = negative && value !== 0 ? -value : value;
  out.point = point;
  out.end = last;
  out.digits = digits;
  return true;
}

/** The lines of a text as an editor counts them: CR LF, LF and a lone CR each end one, and nothing else does. */
export function splitLines(text: string): string[] {
  const lines: string[] = [];
  const n = text.length;
  let start = 0;
  let cr = text.indexOf("\r");
  let lf = text.indexOf("\n");
  for (;;) {
    if (cr < 0 && lf < 0) break;
    if (cr >= 0 && (lf < 0 || cr < lf)) {
      lines.push(text.slice(start, cr));
      start = cr + 1;
      if (lf === start) {
        start++;
        lf = text.indexOf("\n", start);
      }
      cr = text.indexOf("\r", start);
    } else {
      lines.push(text.slice(start, lf));
      start = lf + 1;
      lf = text.indexOf("\n", start);
    }
  }
  lines.push(text.slice(start, n));
  return lines;
}

/** Source text for a message: at most 40 characters, control and invisible characters by their code point. */
export function shown(text: string): string {
  const cut = text.length > 40 ? `${text.slice(0, 40)}…` : text;
  let out = "";
  for (const ch of cut) {
    const c = ch.codePointAt(0) ?? 0;
    const invisible = c < 32 || (c >= 127 && c <= 160) || (c >= 0x2000 && c <= 0x200f) || c === 0x3000 || c === 0xfffd || c === 0xfeff;
    out += invisible ? `U+${c.toString(16).toUpperCase().padStart(4, "0")}` : ch;
  }
  return out;
}
