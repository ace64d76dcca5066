/** Numbers that come out the same for the same seed on every machine (the generator is the public-domain mulberry32). */
export class Random {
  private state: number;

  constructor(seed: number) {
    this.state = seed >>> 0;
  }

  /** The next number, 0 ≤ n < 1. */
  next(): number {
    this.state = (this.state + 0x6d2b79f5) >>> 0;
    let t = this.state;
    t = Math.imul(t ^ (t >>> 15), t | 1);
    t ^= t + Math.imul(t ^ (t >>> 7), t | 61);
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  }

  /** A whole number, both ends included. */
  int(from: number, to: number): number {
    return from + Math.floor(this.next() * (to - from + 1));
  }

  chance(probability: number): boolean {
    return this.next() < probability;
  }

  pick<T>(items: readonly T[]): T {
    const item = items[Math.floor(this.next() * items.length)];
    if (item === undefined) throw new Error("nothing to pick from");
    return item;
  }

  /** One of the items, or undefined where there is none. */
  maybe<T>(items: readonly T[]): T | undefined {
    return items.length === 0 ? undefined : this.pick(items);
  }

  shuffle<T>(items: readonly T[]): T[] {
    const out = [...items];
    for (let i = out.length - 1; i > 0; i--) {
      const j = this.int(0, i);
      const a = out[i] as T;
      out[i] = out[j] as T;
      out[j] = a;
    }
    return out;
  }
}

/** Mixes numbers into one seed, so that case 7 of rule 3 is the same whatever else is run. */
export function seedOf(...parts: readonly (number | string)[]): number {
  let h = 2166136261;
  for (const c of parts.join("/")) h = Math.imul(h ^ c.charCodeAt(0), 16777619);
  return h >>> 0;
}
