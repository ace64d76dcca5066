/** Items between two yields: a millisecond or two of work for what a rule does with a step or a move. */
const SLICE = 1000;

/** Does something with each item in order, as `forEach` does, in slices: an editor stays responsive while a rule goes through a large program. */
export function* paced<T>(items: readonly T[], act: (item: T, index: number) => void): Generator<void, void, void> {
  for (let i = 0; i < items.length; i++) {
    act(items[i] as T, i);
    if (i % SLICE === SLICE - 1) yield;
  }
}

/** Goes through work in slices all at once, for a caller that cannot wait. */
export function drained<T>(work: Generator<void, T, void>): T {
  for (;;) {
    const step = work.next();
    if (step.done === true) return step.value;
  }
}
