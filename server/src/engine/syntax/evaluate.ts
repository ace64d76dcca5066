import type { Profile } from "../dialect/profile.js";
import type { Problem } from "./block.js";
import type { BinaryOp, Expr, Value } from "./expression.js";

/** Result of an evaluation. With a problem the value is NaN. */
export interface Evaluated {
  readonly value: Value;
  readonly problem?: Problem;
}

const DEGREE = Math.PI / 180;

/**
 * Value of an expression. `read` gives the content of a variable: a number, NaN where it is not known, null where it
 * is empty. Angles are in degrees.
 *
 * `rs274ngc` (NISTIR 6556 §3.3.2): AND, OR, XOR are logical on reals, FIX rounds toward −∞ and FUP toward +∞, variable
 * numbers are 1 to 5399. Macro form (common practice, no source): AND, OR, XOR work on the bits of whole numbers, FIX
 * drops the decimals, FUP rounds away from zero, an empty variable counts as 0 in arithmetic and in order comparisons
 * but equals only another empty one.
 *
 * Never throws; a value that does not exist (division by zero, root of a negative number) is NaN with a problem.
 */
export function evaluate(expr: Expr, read: (index: number) => Value, profile: Profile): Evaluated {
  if (expr.kind === "number") return { value: expr.value };
  const run = new Evaluation(read, profile);
  const value = run.value(expr);
  return run.problem === undefined ? { value } : { value: Number.NaN, problem: run.problem };
}

/** True when a condition's value holds; undefined when it is not known. An empty value does not hold. */
export function holds(value: Value): boolean | undefined {
  if (value === null) return false;
  return Number.isNaN(value) ? undefined : value !== 0;
}

/** Value of an expression with literal numbers only; NaN when it has variables or no value. */
export function constantOf(expr: Expr, profile: Profile): number {
  return evaluate(expr, () => Number.NaN, profile).value ?? Number.NaN;
}

class Evaluation {
  problem: Problem | undefined;
  private readonly macro: boolean;

  constructor(
    private readonly read: (index: number) => Value,
    private readonly profile: Profile,
  ) {
    this.macro = profile.expressions === "macro";
  }

  value(expr: Expr): Value {
    switch (expr.kind) {
      case "number":
        return expr.value;
      case "absent":
        return Number.NaN;
      case "variable":
        return this.variable(expr);
      case "negate":
        return 0 - this.real(expr.of);
      case "binary":
        return this.binary(expr.op, expr.left, expr.right, expr);
      case "call":
        return this.call(expr.name, expr.args, expr);
    }
  }

  /** As an operand of arithmetic: empty counts as 0. */
  private real(expr: Expr): number {
    return this.value(expr) ?? 0;
  }

  private fail(key: string, at: Expr, args: Readonly<Record<string, string | number>>): number {
    this.problem ??= { key, args, start: at.start, end: at.end };
    return Number.NaN;
  }

  private variable(expr: Expr & { kind: "variable" }): Value {
    const index = this.real(expr.index);
    if (Number.isNaN(index)) return Number.NaN;
    const whole = Math.round(index);
    const from = this.macro ? 0 : 1;
    if (Math.abs(index - whole) > 0.0001 || whole < from || whole > this.profile.parameterCount) {
      return this.fail("variable-range", expr, { index, from: 1, to: this.profile.parameterCount });
    }
    return whole === 0 ? null : this.read(whole);
  }

  private binary(op: BinaryOp, left: Expr, right: Expr, at: Expr): number {
    const l = this.value(left);
    const r = this.value(right);
    if (op === "EQ" || op === "NE") {
      if (l === null || r === null) {
        // Whether an unknown variable is empty is unknown too.
        if (Number.isNaN(l) || Number.isNaN(r)) return Number.NaN;
        return (l === r) === (op === "EQ") ? 1 : 0;
      }
    }
    return this.combine(op, l ?? 0, r ?? 0, at);
  }

  private combine(op: BinaryOp, a: number, b: number, at: Expr): number {
    if (Number.isNaN(a) || Number.isNaN(b)) return Number.NaN;
    switch (op) {
      case "+":
        return a + b;
      case "-":
        return a - b;
      case "*":
        return a * b;
      case "/":
        return b === 0 ? this.fail("divide-zero", at, { name: `${a} / ${b}` }) : a / b;
      case "MOD": {
        if (b === 0) return this.fail("divide-zero", at, { name: `${a} MOD ${b}` });
        const rest = a % b;
        // NISTIR 6556 leaves negative operands open; the remainder never is negative here, as in a clock.
        return rest < 0 ? rest + Math.abs(b) : rest + 0;
      }
      case "**": {
        const power = a ** b;
        return Number.isFinite(power) ? power : this.fail("power-range", at, { left: a, right: b });
      }
      case "AND":
        return this.macro ? bits(a, b, (x, y) => x & y) : Number(a !== 0 && b !== 0);
      case "OR":
        return this.macro ? bits(a, b, (x, y) => x | y) : Number(a !== 0 || b !== 0);
      case "XOR":
        return this.macro ? bits(a, b, (x, y) => x ^ y) : Number((a !== 0) !== (b !== 0));
      case "EQ":
        return Number(alike(a, b));
      case "NE":
        return Number(!alike(a, b));
      case "GT":
        return Number(a > b && !alike(a, b));
      case "GE":
        return Number(a > b || alike(a, b));
      case "LT":
        return Number(a < b && !alike(a, b));
      case "LE":
        return Number(a < b || alike(a, b));
    }
  }

  private call(name: string, args: readonly Expr[], at: Expr): number {
    const first = args[0];
    if (first === undefined) return Number.NaN;
    const a = this.real(first);
    const second = args[1];
    const b = second === undefined ? 1 : this.real(second);
    if (Number.isNaN(a) || Number.isNaN(b)) return Number.NaN;
    const outside = (): number => this.fail("function-range", at, { name, value: a });
    switch (name) {
      case "SIN":
        return sine(a);
      case "COS":
        return sine(a + 90);
      case "TAN": {
        const c = sine(a + 90);
        return c === 0 ? outside() : sine(a) / c;
      }
      case "ASIN":
        return Math.abs(a) > 1 ? outside() : Math.asin(a) / DEGREE;
      case "ACOS":
        return Math.abs(a) > 1 ? outside() : Math.acos(a) / DEGREE;
      case "ATAN":
        // Two values: the angle of the point (b, a), -180 to 180; some controls count from 0 to 360 (common practice).
        return second === undefined ? Math.atan(a) / DEGREE : Math.atan2(a, b) / DEGREE;
      case "SQRT":
        return a < 0 ? outside() : Math.sqrt(a);
      case "ABS":
        return Math.abs(a);
      case "ROUND":
        return (a < 0 ? -Math.floor(0.5 - a) : Math.floor(a + 0.5)) + 0;
      case "FIX":
        return (this.macro ? Math.trunc(steady(a)) : Math.floor(a)) + 0;
      case "FUP":
        return (this.macro ? Math.sign(a) * Math.ceil(Math.abs(steady(a))) : Math.ceil(a)) + 0;
      case "LN":
        return a <= 0 ? outside() : Math.log(a);
      case "EXP": {
        const e = Math.exp(a);
        return Number.isFinite(e) ? e : outside();
      }
      case "POW": {
        const power = a ** b;
        return Number.isFinite(power) ? power : this.fail("power-range", at, { left: a, right: b });
      }
      case "BIN":
        return decimalOfPacked(a) ?? outside();
      case "BCD":
        return packedOfDecimal(a) ?? outside();
      case "ADP":
        // Adds a decimal point to a number that was passed without one: nothing to do where such a number counts units.
        return this.profile.wholeNumber === "unit" ? a : Number.NaN;
      default:
        return this.fail("operator-none", at, { name });
    }
  }
}

/**
 * Comparison of computed values. Controls compare decimals of limited length, so sums such as ten times 0.1 are equal
 * to 1 there; binary doubles are not. A relative band of 1e-9 stands for that (common practice, no source).
 */
function alike(a: number, b: number): boolean {
  return a === b || Math.abs(a - b) <= 1e-9 * Math.max(1, Math.abs(a), Math.abs(b));
}

/** The whole number that a computed value stands for when only rounding of binary fractions keeps it off it. */
function steady(a: number): number {
  const whole = Math.round(a);
  return Math.abs(a - whole) <= 1e-9 * Math.max(1, Math.abs(a)) ? whole : a;
}

/** Sine of degrees, exact at multiples of 30 where it is rational. */
function sine(degrees: number): number {
  const turn = degrees % 360;
  const d = turn < 0 ? turn + 360 : turn;
  switch (d) {
    case 0:
    case 180:
      return 0;
    case 30:
    case 150:
      return 0.5;
    case 90:
      return 1;
    case 210:
    case 330:
      return -0.5;
    case 270:
      return -1;
    default:
      return Math.sin(d * DEGREE);
  }
}

function bits(a: number, b: number, combine: (x: number, y: number) => number): number {
  return combine(Math.round(a), Math.round(b));
}

function decimalOfPacked(a: number): number | undefined {
  let rest = Math.round(a);
  if (rest < 0) return undefined;
  let value = 0;
  for (let place = 1; rest > 0; place *= 10) {
    const digit = rest % 16;
    if (digit > 9) return undefined;
    value += digit * place;
    rest = Math.floor(rest / 16);
  }
  return value;
}

function packedOfDecimal(a: number): number | undefined {
  let rest = Math.round(a);
  if (rest < 0) return undefined;
  let value = 0;
  for (let place = 1; rest > 0; place *= 16) {
    value += (rest % 10) * place;
    rest = Math.floor(rest / 10);
  }
  return value;
}
