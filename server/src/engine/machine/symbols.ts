/**
 * What positions are anchored to. A coordinate that is not known in the machine frame can still be known relative to
 * something: the content of a work offset that nobody has told us, the place where an axis stood at the start, the length
 * of a tool that is not listed. Such a coordinate is a number plus an anchor, and an anchor is a sum of symbols
 * ("+ content of G54 X − length of tool 3"). Two coordinates with the same anchor have a known difference.
 *
 * Anchors are interned, so that comparing two of them is comparing two integers; 0 is the empty sum, which means that the
 * coordinate is known in the machine frame.
 */
export type Anchor = number;

/** The empty sum: known in the machine frame. */
export const KNOWN: Anchor = 0;

/** A number plus an anchor. Lengths in mm, angles in degrees. A NaN value is known relative to nothing. */
export interface Quantity {
  readonly value: number;
  readonly anchor: Anchor;
}

export const NOTHING: Quantity = { value: 0, anchor: KNOWN };

/** A quantity that is known outright. */
export function known(value: number): Quantity {
  return value === 0 ? NOTHING : { value, anchor: KNOWN };
}

/** The number itself, or NaN where it hangs on something that is not known. */
export function numberOf(q: Quantity): number {
  return q.anchor === KNOWN ? q.value : Number.NaN;
}

/** The anchors of one run. */
export class Symbols {
  /** Anchor → its sum, as pairs of symbol and coefficient in ascending order of symbols. */
  private readonly sums: (readonly number[])[] = [[]];
  private readonly byKey = new Map<string, Anchor>([["", KNOWN]]);
  private readonly byName = new Map<string, Anchor>();
  private readonly results = new Map<number, Anchor>();
  /** Symbol → the anchor that is this symbol alone; the sums of single symbols are in no key map, because there can be very many. */
  private readonly single: Anchor[] = [KNOWN];

  /** The anchor of a named unknown; the same name gives the same anchor. */
  named(name: string): Anchor {
    const found = this.byName.get(name);
    if (found !== undefined) return found;
    const anchor = this.fresh();
    this.byName.set(name, anchor);
    return anchor;
  }

  /** An anchor that nothing else is known relative to. */
  fresh(): Anchor {
    const anchor = this.sums.length;
    this.sums.push([this.single.length, 1]);
    this.single.push(anchor);
    return anchor;
  }

  plus(a: Anchor, b: Anchor): Anchor {
    if (b === KNOWN) return a;
    if (a === KNOWN) return b;
    return this.combine(a, b, 1);
  }

  minus(a: Anchor, b: Anchor): Anchor {
    if (b === KNOWN) return a;
    if (a === b) return KNOWN;
    return this.combine(a, b, -1);
  }

  add(a: Quantity, b: Quantity): Quantity {
    return { value: a.value + b.value, anchor: this.plus(a.anchor, b.anchor) };
  }

  subtract(a: Quantity, b: Quantity): Quantity {
    return { value: a.value - b.value, anchor: this.minus(a.anchor, b.anchor) };
  }

  private combine(a: Anchor, b: Anchor, sign: 1 | -1): Anchor {
    // One number per pair and sign; 2^25 anchors are more than any run makes.
    const pair = (a * 33554432 + b) * 2 + (sign === 1 ? 1 : 0);
    const before = this.results.get(pair);
    if (before !== undefined) return before;
    const sum = new Map<number, number>();
    const left = this.sums[a] ?? [];
    const right = this.sums[b] ?? [];
    for (let i = 0; i < left.length; i += 2) sum.set(left[i] as number, left[i + 1] as number);
    for (let i = 0; i < right.length; i += 2) {
      const symbol = right[i] as number;
      sum.set(symbol, (sum.get(symbol) ?? 0) + sign * (right[i + 1] as number));
    }
    const flat = [...sum]
      .filter(([, n]) => n !== 0)
      .sort((x, y) => x[0] - y[0])
      .flat();
    let anchor = flat.length === 2 && flat[1] === 1 ? this.single[flat[0] as number] : undefined;
    if (anchor === undefined) {
      const key = flat.join(",");
      anchor = this.byKey.get(key);
      if (anchor === undefined) {
        anchor = this.sums.length;
        this.sums.push(flat);
        this.byKey.set(key, anchor);
      }
    }
    this.results.set(pair, anchor);
    return anchor;
  }
}
