/** Longest stretch of work before messages of the editor are looked at, in milliseconds. */
const SLICE = 8;

/** Lets the event loop turn once. `setImmediate` is Node's; a browser's worker has message channels. */
function turn(): Promise<void> {
  return new Promise((resolve) => {
    if (typeof setImmediate === "function") setImmediate(resolve);
    else setTimeout(resolve, 0);
  });
}

/**
 * Drains a generator in slices. Answers undefined as soon as `abandoned` says so: the work is then thrown away.
 */
export async function drain<T>(work: Generator<void, T, void>, abandoned: () => boolean): Promise<T | undefined> {
  let start = performance.now();
  for (;;) {
    const step = work.next();
    if (step.done === true) return abandoned() ? undefined : step.value;
    if (performance.now() - start < SLICE) continue;
    await turn();
    if (abandoned()) {
      work.return(undefined as T);
      return undefined;
    }
    start = performance.now();
  }
}
