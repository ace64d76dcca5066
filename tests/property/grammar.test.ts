import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { builtInProfiles, profileOf } from "../../server/src/engine/dialect/profiles.js";
import { evaluate } from "../../server/src/engine/syntax/evaluate.js";
import type { Expr } from "../../server/src/engine/syntax/expression.js";
import { parseLine, parseSource } from "../../server/src/engine/syntax/parse.js";
import { validateBlock } from "../../server/src/engine/syntax/validate.js";

// Fixed seed, so that a failure can be repeated.
const SEED = 20240611;

/*
 * Lines by the production rules of NISTIR 6556, Appendix E. A token is a string; white space and letter case are put
 * in afterward, as §3.3 allows outside comments.
 */
type Tokens = string[];
const concat = (...parts: fc.Arbitrary<Tokens>[]): fc.Arbitrary<Tokens> => fc.tuple(...parts).map((p) => p.flat());
const token = (...choices: string[]): fc.Arbitrary<Tokens> => fc.constantFrom(...choices).map((c) => [c]);
const optional = (part: fc.Arbitrary<Tokens>): fc.Arbitrary<Tokens> => fc.option(part, { nil: [] });
const repeated = (part: fc.Arbitrary<Tokens>, max: number): fc.Arbitrary<Tokens> => fc.array(part, { maxLength: max }).map((p) => p.flat());

const digit = token(..."0123456789");
const realNumber = concat(
  optional(token("+", "-")),
  fc.oneof(concat(digit, repeated(digit, 5), optional(token(".")), repeated(digit, 4)), concat(token("."), digit, repeated(digit, 4))),
);
const unary = token("abs", "acos", "asin", "cos", "exp", "fix", "fup", "ln", "round", "sin", "sqrt", "tan");
const binary = token("**", "/", "mod", "*", "and", "xor", "-", "or", "+");
const { realValue } = fc.letrec<{ realValue: Tokens; expression: Tokens; parameterIndex: Tokens }>((tie) => ({
  realValue: fc.oneof(
    { maxDepth: 3, depthIdentifier: "value" },
    realNumber,
    tie("expression"),
    concat(token("#"), tie("parameterIndex")),
    concat(unary, tie("expression")),
    concat(token("atan"), tie("expression"), token("/"), tie("expression")),
  ),
  // A parameter index is a real value in the grammar; which numbers name a parameter is no matter of syntax.
  parameterIndex: tie("realValue"),
  expression: fc
    .tuple(tie("realValue"), fc.array(concat(binary, tie("realValue")), { maxLength: 2 }))
    .map(([first, rest]) => ["[", ...first, ...rest.flat(), "]"]),
}));
// Literal indexes of a setting are kept to 1…5399, as §3.3.3 demands of the value.
const settingIndex = fc.oneof(
  fc.integer({ min: 1, max: 5399 }).map((n) => [...String(n)]),
  concat(
    token("#"),
    fc.integer({ min: 1, max: 5399 }).map((n) => [...String(n)]),
  ),
);
const setting = concat(token("#"), settingIndex, token("="), realValue);
const word = concat(token(..."abcdfghijklmpqrstxyz"), realValue);
const commentText = fc.string({ unit: fc.constantFrom(..." abcXYZ019#[]=;%/:,.+-*$!?&\t"), maxLength: 12 });
const comment = fc.tuple(fc.constantFrom("", "MSG,", " m s g ,"), commentText).map(([head, text]) => [`(${head}${text})`]);
const segment = fc.oneof({ weight: 4, arbitrary: word }, { weight: 1, arbitrary: comment }, { weight: 1, arbitrary: setting });
const lineNumber = concat(token("n"), fc.array(fc.constantFrom(..."0123456789"), { minLength: 1, maxLength: 5 }));
const line: fc.Arbitrary<Tokens> = fc
  .tuple(optional(token("/")), optional(lineNumber), fc.array(segment, { maxLength: 4 }))
  .map(([skip, n, segments]) => [...skip, ...n, ...segments.flat()]);

/** Writes tokens as a line: blanks and case as the random choices say, comments untouched. */
function written(tokens: Tokens, choices: readonly number[]): string {
  let out = "";
  let k = 0;
  const choice = (): number => choices[k++ % choices.length] ?? 0;
  for (const t of tokens) {
    if (t.startsWith("(")) {
      out += t;
      continue;
    }
    for (const ch of t) {
      const c = choice();
      out += `${c % 7 === 0 ? " " : c % 11 === 0 ? "\t" : ""}${c % 2 === 0 ? ch.toUpperCase() : ch}`;
    }
  }
  return out;
}

const ngc = profileOf("rs274ngc");
const iso = profileOf("iso");
if (ngc === undefined || iso === undefined) throw new Error("built-in dialects are missing");

const choices = fc.array(fc.nat(1000), { minLength: 1, maxLength: 40 });

/** The shape of an expression without its columns. */
function shape(expr: Expr | undefined): unknown {
  if (expr === undefined) return undefined;
  return JSON.parse(JSON.stringify(expr, (key, v: unknown) => (key === "start" || key === "end" ? undefined : v)));
}

describe("lines of NISTIR 6556, Appendix E", () => {
  it("lex and parse in rs274ngc without a syntax problem, whatever their white space and case", () => {
    fc.assert(
      fc.property(line, choices, (tokens, spread) => {
        const text = written(tokens, spread);
        fc.pre(text.length <= 256); // §3.3: longest line
        const block = parseLine(text, 0, ngc);
        expect(block.problems).toEqual([]);
        // White space and case outside comments mean nothing: the same line written plainly reads the same.
        const plain = parseLine(written(tokens, [1]), 0, ngc);
        expect(block.words.map((w) => [w.letter, w.value, shape(w.expr)])).toEqual(
          plain.words.map((w) => [w.letter, w.value, shape(w.expr)]),
        );
        expect(block.assignments.map((a) => [shape(a.index), shape(a.value)])).toEqual(
          plain.assignments.map((a) => [shape(a.index), shape(a.value)]),
        );
        expect([block.label, block.skip, block.comments.map((c) => c.text)]).toEqual([
          plain.label,
          plain.skip,
          plain.comments.map((c) => c.text),
        ]);
        // As many words, settings and comments as were written.
        expect(block.words.length + block.assignments.length + block.comments.length).toBe(countSegments(tokens));
      }),
      { seed: SEED, numRuns: 3000 },
    );
  });

  it("keep the same verdict and the same tree in the macro form, where it has the same signs", () => {
    fc.assert(
      fc.property(realNumber, realNumber, token("+", "-", "*"), (a, b, op) => {
        const text = `x[${[...a, ...op, ...b].join("")}]`;
        const [n, m] = [parseLine(text, 0, ngc), parseLine(text, 0, iso)];
        expect(m.problems).toEqual([]);
        const expr = (block: typeof n): Expr => block.words[0]?.expr ?? { kind: "absent", start: 0, end: 0 };
        expect(evaluate(expr(m), () => 0, iso).value).toBe(evaluate(expr(n), () => 0, ngc).value);
      }),
      { seed: SEED, numRuns: 500 },
    );
  });
});

/** Segments of a token list: a letter or an = outside brackets begins or marks one, a comment is one. */
function countSegments(tokens: Tokens): number {
  let count = 0;
  let depth = 0;
  for (const t of tokens) {
    if (t === "[") depth++;
    else if (t === "]") depth--;
    else if (t.startsWith("(") || (depth === 0 && (t === "=" || /^[a-mo-z]$/.test(t)))) count++;
  }
  return count;
}

const anyText = fc.oneof(
  fc.string({ unit: "binary", maxLength: 80 }),
  fc.string({ unit: "grapheme", maxLength: 40 }),
  // Random bytes as Latin-1.
  fc.uint8Array({ maxLength: 120 }).map((bytes) => String.fromCharCode(...bytes)),
  // Pieces of real blocks in any order: the text that comes nearest to code without being any.
  fc
    .array(
      fc.constantFrom(
        "G",
        "X",
        "N10",
        "O",
        "#",
        "[",
        "]",
        "(",
        ")",
        "=",
        "1",
        ".",
        "-",
        "+",
        "*",
        "/",
        " ",
        "IF",
        "GOTO",
        "THEN",
        "WHILE",
        "DO1",
        "END1",
        "SIN",
        "ATAN",
        "EQ",
        "AND",
        "%",
        ";",
        ":",
        ",R",
        "<",
        ">",
        "O1",
        "DPRNT",
        "M98",
        "\t",
        "\u0000",
        "é",
      ),
      { maxLength: 30 },
    )
    .map((parts) => parts.join("")),
);

describe("any text in any dialect", () => {
  it("parses without failing, with every column inside its line and every word where it was written", () => {
    fc.assert(
      fc.property(anyText, fc.constantFrom(...builtInProfiles.values()), (text, profile) => {
        const source = parseSource("any", text, profile);
        expect(source.lines.join("\n").length).toBeLessThanOrEqual(text.length);
        expect(source.blocks).toHaveLength(source.lines.length);
        source.blocks.forEach((block, i) => {
          const own = source.lines[i] ?? "";
          expect(block.line).toBe(i);
          const spans = [
            ...block.words,
            ...block.assignments,
            ...block.comments,
            ...block.problems,
            ...validateBlock(block, undefined, profile),
          ];
          for (const s of [...spans, ...(block.control ? [block.control] : [])]) {
            expect([own, s, s.start >= 0 && s.start < s.end && s.end <= own.length]).toEqual([own, s, true]);
          }
          let before = 0;
          for (const w of block.words) {
            // In written order, without overlap, the letter at its beginning and the number as it stands.
            expect(w.start).toBeGreaterThanOrEqual(before);
            before = w.end;
            const slice = own.slice(w.start, w.end);
            expect(slice.toUpperCase().startsWith(w.letter)).toBe(true);
            if (w.expr === undefined) {
              const digits = [...slice.slice(w.letter.length)].filter((c) => "0123456789.+-".includes(c)).join("");
              expect(w.value).toBe(Number(digits) + 0);
            } else evaluate(w.expr, () => 1, profile);
          }
          for (const c of block.comments) expect(own.slice(c.start, c.end)).toContain(c.text);
          for (const a of block.assignments) evaluate(a.value, () => null, profile);
        });
      }),
      { seed: SEED, numRuns: 4000 },
    );
  });
});
