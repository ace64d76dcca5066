import { describe, expect, it } from "vitest";
import type { Profile } from "../../server/src/engine/dialect/profile.js";
import { profileOf } from "../../server/src/engine/dialect/profiles.js";
import { constantOf, evaluate, holds } from "../../server/src/engine/syntax/evaluate.js";
import type { Value } from "../../server/src/engine/syntax/expression.js";
import { parseLine } from "../../server/src/engine/syntax/parse.js";

function profile(name: string): Profile {
  const found = profileOf(name);
  if (found === undefined) throw new Error(`no dialect ${name}`);
  return found;
}

const ngc = profile("rs274ngc");
const iso = profile("iso");

/** Value of the expression written behind `x`. */
function value(text: string, dialect: Profile, variables: Readonly<Record<number, Value>> = {}): Value {
  const block = parseLine(`x ${text}`, 0, dialect);
  expect([text, block.problems]).toEqual([text, []]);
  const word = block.words[0];
  if (word === undefined) throw new Error(`no word in ${text}`);
  if (word.expr === undefined) return word.value;
  const result = evaluate(word.expr, (i) => (i in variables ? (variables[i] ?? null) : Number.NaN), dialect);
  expect([text, result.problem]).toEqual([text, undefined]);
  return result.value;
}

/** Key of the problem that evaluation finds. */
function problem(text: string, dialect: Profile): string | undefined {
  const expr = parseLine(`x ${text}`, 0, dialect).words[0]?.expr;
  return expr && evaluate(expr, () => 0, dialect).problem?.key;
}

// NISTIR 6556, Appendix C.2: program text and answers as published (public domain). The number after each line is the
// answer of its comment; the tolerance is 1e-9 where the comment is exact, 5e-5 where it is rounded to four decimals,
// and 1e-3 where its argument is rounded (atan, acos, exp), as check-values 1.3 states.
const C2: readonly (readonly [string, number, number])[] = [
  ["n0020 x [1 + 2] (x should be 3)", 3, 1e-9],
  ["n0030 x [1 - 2] (x should be -1)", -1, 1e-9],
  ["n0040 x [1 --3] (x should be 4)", 4, 1e-9],
  ["n0050 x [2/5] (x should be 0.40)", 0.4, 1e-9],
  ["n0060 x [3.0 * 5] (x should be 15)", 15, 1e-9],
  ["n0070 x [0 OR 0] (x should be 0)", 0, 1e-9],
  ["n0080 x [0 OR 1] (x should be 1)", 1, 1e-9],
  ["n0090 x [2 or 2] (x should be 1)", 1, 1e-9],
  ["n0100 x [0 AND 0] (x should be 0)", 0, 1e-9],
  ["n0110 x [0 AND 1] (x should be 0)", 0, 1e-9],
  ["n0120 x [2 and 2] (x should be 1)", 1, 1e-9],
  ["n0130 x [0 XOR 0] (x should be 0)", 0, 1e-9],
  ["n0140 x [0 XOR 1] (x should be 1)", 1, 1e-9],
  ["n0150 x [2 xor 2] (x should be 0)", 0, 1e-9],
  ["n0160 x [15 MOD 4.0] (x should be 3)", 3, 1e-9],
  ["n0170 x [1 + 2 * 3 - 4 / 5] (x should be 6.2)", 6.2, 1e-9],
  ["n0180 x sin[30] (x should be 0.5)", 0.5, 1e-9],
  ["n0190 x cos[0.0] (x should be 1.0)", 1, 1e-9],
  ["n0200 x tan[60.0] (x should be 1.7321)", 1.7321, 5e-5],
  ["n0210 x sqrt[3] (x should be 1.7321)", 1.7321, 5e-5],
  ["n0220 x atan[1.7321]/[1.0] (x should be 60.0)", 60, 1e-3],
  ["n0230 x asin[1.0] (x should be 90.0)", 90, 1e-9],
  ["n0240 x acos[0.707107] (x should be 45.0000)", 45, 1e-3],
  ["n0250 x abs[20.0] (x should be 20)", 20, 1e-9],
  ["n0260 x abs[-1.23] (x should be 1.23)", 1.23, 1e-9],
  ["n0270 x round[-0.499] (x should be 0)", 0, 1e-9],
  ["n0280 x round[-0.5001] (x should be -1.0)", -1, 1e-9],
  ["n0290 x round[2.444] (x should be 2)", 2, 1e-9],
  ["n0300 x round[9.975] (x should be 10)", 10, 1e-9],
  ["n0310 x fix[-0.499] (x should be -1.0)", -1, 1e-9],
  ["n0320 x fix[-0.5001] (x should be -1.0)", -1, 1e-9],
  ["n0330 x fix[2.444] (x should be 2)", 2, 1e-9],
  ["n0340 x fix[9.975] (x should be 9)", 9, 1e-9],
  ["n0350 x fup[-0.499] (x should be 0.0)", 0, 1e-9],
  ["n0360 x fup[-0.5001] (x should be 0.0)", 0, 1e-9],
  ["n0370 x fup[2.444] (x should be 3)", 3, 1e-9],
  ["n0380 x fup[9.975] (x should be 10)", 10, 1e-9],
  ["n0390 x exp[2.3026] (x should be 10)", 10, 1e-3],
  ["n0400 x ln[10.0] (x should be 2.3026)", 23026 / 10_000, 5e-5],
  ["n0410 x [2 ** 3.0] #1=2.0 (x should be 8.0)", 8, 1e-9],
  ["n0430 x #2 (x should be 0.375) #3=7.0", 0.375, 1e-9],
  ["n0440 #3=5.0 x #3 (parameters set in parallel, so x should be 7, not 5)", 7, 1e-9],
  ["n0450 x #3 #3=1.1 (parameters set in parallel, so x should be 5, not 1.1)", 5, 1e-9],
  ["n0470 x sqrt[3**2 + 4**2] (x should be 5.0)", 5, 1e-9],
];

describe("NISTIR 6556, Appendix C.2", () => {
  it("gives all 44 published answers, run in order with parameters set behind the line", () => {
    expect(C2).toHaveLength(44);
    const parameters = new Map<number, number>();
    const run = (line: string): number => {
      const block = parseLine(line, 0, ngc);
      expect([line, block.problems]).toEqual([line, []]);
      const read = (i: number): number => parameters.get(i) ?? 0;
      const number = (expr: Parameters<typeof evaluate>[0]): number => {
        const result = evaluate(expr, read, ngc);
        expect([line, result.problem]).toEqual([line, undefined]);
        return result.value ?? Number.NaN;
      };
      const word = block.words.find((w) => w.letter === "X");
      const x = word?.expr === undefined ? (word?.value ?? Number.NaN) : number(word.expr);
      // §3.3.3: parameter settings act after every value of the line has been read.
      const settings = block.assignments.map((a) => [number(a.index), number(a.value)] as const);
      for (const [i, v] of settings) parameters.set(i, v);
      return x;
    };
    for (const [line, answer, tolerance] of C2) {
      if (line.startsWith("n0430")) run("n0420 ##1 = 0.375 (#1 is 2, so parameter 2 is set to 0.375)");
      const x = run(line);
      expect([line, Math.abs(x - answer) <= tolerance]).toEqual([line, true]);
    }
  });

  it("n0460, which has no published answer: 2.0005450779 by its rules (R)", () => {
    const x = value("[2 + asin[1/2.1+-0.345] / [atan[fix[4.4] * 2.1 * sqrt[16.8]] /[-18]]**2]", ngc) ?? 0;
    expect(x).toBeCloseTo(2.0005450779, 9);
  });
});

describe("NISTIR 6556 §3.3.2", () => {
  it.each([
    ["[2.0 / 3 * 1.5 - 5.5 / 11.0]", 0.5], // P §3.3.2.3
    ["FIX[2.8]", 2], // P §3.3.2.4
    ["FIX[-2.8]", -3], // P §3.3.2.4
    ["FUP[2.8]", 3], // P §3.3.2.4
    ["FUP[-2.8]", -2], // P §3.3.2.4
    ["[ 1 + acos[0] - [#3 ** [4.0/2]]]", -134], // R, with #3 = 15
    ["[6-[4*3/2]]", 0], // P Table 10
    ["asin[0.5]", 30], // P Table 10
    ["sin[30]", 0.5], // P C.2
    ["atan[1]/[1]", 45], // R App. E
    ["##2", 15], // R §3.3.2.2, with #2 = 3
    ["[#3+2]", 17], // R: #3+2 is (#3)+2
    ["#[1+2]", 15], // R: #[1+2] is #3
    ["[2 ** 3 ** 2]", 64], // R: equal precedence, left first
    ["[1 OR 0 AND 0]", 0], // R: OR and AND in one group, left first
    ["[2.5 AND 0.1]", 1], // R: logical on reals
  ])("%s is %d", (text, expected) => {
    expect(value(text, ngc, { 2: 3, 3: 15 })).toBeCloseTo(expected, 9);
  });

  it("refuses what has no value and numbers that name no parameter", () => {
    expect(problem("[1/0]", ngc)).toBe("divide-zero");
    expect(problem("[1 MOD 0]", ngc)).toBe("divide-zero");
    expect(problem("sqrt[-1]", ngc)).toBe("function-range");
    expect(problem("acos[1.1]", ngc)).toBe("function-range");
    expect(problem("ln[0]", ngc)).toBe("function-range");
    expect(problem("[0-8 ** 0.5]", ngc)).toBeUndefined();
    expect(problem("[-8 ** 0.5]", ngc)).toBe("power-range");
    expect(problem("#5400", ngc)).toBe("variable-range");
    expect(problem("#0", ngc)).toBe("variable-range");
    expect(problem("#1.5", ngc)).toBe("variable-range");
    expect(problem("#5399", ngc)).toBeUndefined();
  });
});

describe("the macro form (common practice, no source)", () => {
  it.each([
    ["FIX[2.8]", 2],
    ["FIX[-2.8]", -2], // toward zero
    ["FUP[2.2]", 3],
    ["FUP[-2.2]", -3], // away from zero
    ["ROUND[2.5]", 3],
    ["ROUND[-2.5]", -3],
    ["[1+2*3]", 7],
    ["[5 AND 3]", 1],
    ["[5 OR 3]", 7],
    ["[5 XOR 3]", 6],
    ["[4 + 6 AND 3]", 6], // AND binds like multiplication
    ["[2 GT 1]", 1],
    ["[1 + 1 EQ 2]", 1], // comparisons bind loosest
    ["[[1 EQ 1] AND [2 LT 1]]", 0],
    ["ATAN[1]/[-1]", 135],
    ["ATAN[1,-1]", 135],
    ["ATAN[1]", 45],
    ["POW[2,10]", 1024],
    ["BCD[12]", 18],
    ["BIN[18]", 12],
    ["-#1", -4],
    ["-[2+3]", -5],
    ["[2*-#1]", -8],
    ["ABS[-3.5]", 3.5],
  ])("%s is %d", (text, expected) => {
    expect(value(text, iso, { 1: 4 })).toBeCloseTo(expected, 9);
  });

  it("lets an empty variable count as 0 in arithmetic and equal only another empty one", () => {
    const v = { 1: null, 2: 0, 3: 5 };
    expect(value("#1", iso, v)).toBeNull();
    expect(value("#0", iso, v)).toBeNull();
    expect(value("[#1+3]", iso, v)).toBe(3);
    expect(value("[#1 EQ #0]", iso, v)).toBe(1);
    expect(value("[#2 EQ #0]", iso, v)).toBe(0);
    expect(value("[#2 NE #0]", iso, v)).toBe(1);
    expect(value("[#1 EQ 0]", iso, v)).toBe(0);
    expect(value("[#1 LT 1]", iso, v)).toBe(1);
    expect(value("[#1 GE 0]", iso, v)).toBe(1);
  });

  it("never takes an unknown for a number", () => {
    for (const text of ["[#9+1]", "[#9*0]", "[#9 EQ #0]", "[#9 LT 5]", "SIN[#9]", "##9", "-#9"])
      expect([text, value(text, iso, {})]).toEqual([text, Number.NaN]);
    expect(holds(Number.NaN)).toBeUndefined();
    expect([holds(1), holds(0), holds(null)]).toEqual([true, false, false]);
  });

  it("compares computed values as a control with decimals of limited length would", () => {
    let sum = 0;
    for (let i = 0; i < 10; i++) sum += 0.1;
    expect(sum).not.toBe(1);
    expect(value("[#1 EQ 1]", iso, { 1: sum })).toBe(1);
    expect(value("[#1 LT 1]", iso, { 1: sum })).toBe(0);
    expect(value("FIX[#1]", iso, { 1: sum })).toBe(1);
    expect(value("[#1 LT 1]", iso, { 1: 0.999 })).toBe(1);
  });

  it("gives constants without variables", () => {
    const expr = (text: string) => parseLine(`x ${text}`, 0, iso).words[0]?.expr;
    const [a, b] = [expr("[2*3]"), expr("[2*#1]")];
    expect(a && constantOf(a, iso)).toBe(6);
    expect(b && constantOf(b, iso)).toBeNaN();
  });
});
