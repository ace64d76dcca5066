/** Expression trees. Columns are those of the line. */
export type Expr =
  | { readonly kind: "number"; readonly value: number; readonly point: boolean; readonly start: number; readonly end: number }
  /** `#i`; the index is an expression of its own. */
  | { readonly kind: "variable"; readonly index: Expr; readonly start: number; readonly end: number }
  | { readonly kind: "negate"; readonly of: Expr; readonly start: number; readonly end: number }
  | {
      readonly kind: "binary";
      readonly op: BinaryOp;
      readonly left: Expr;
      readonly right: Expr;
      readonly start: number;
      readonly end: number;
    }
  /** Upper-case function name; ATAN has one or two arguments. */
  | { readonly kind: "call"; readonly name: string; readonly args: readonly Expr[]; readonly start: number; readonly end: number }
  /** A letter with nothing behind it. */
  | { readonly kind: "absent"; readonly start: number; readonly end: number };

export type BinaryOp = "**" | "*" | "/" | "MOD" | "+" | "-" | "AND" | "OR" | "XOR" | "EQ" | "NE" | "GT" | "GE" | "LT" | "LE";

/**
 * The value of a variable or expression: a number; NaN where it is not known (or two branches disagree); null where
 * it is known to be empty ("#0").
 */
export type Value = number | null;
