/** Longest stretch of work before messages of the editor are looked at, in milliseconds. */
const SLICE = 8;

/** Lets the event loop turn once. `setImmediate` is Node's; in a browser a timer would wait four milliseconds, a message does not. */
function turn(): Promise<void> {
  return new Promise((resolve) => {
    if (typeof setImmediate === "function") {
      setImmediate(resolve);
      return;
    }
    const { port1, port2 } = new MessageChannel();
    port1.addEventListener("message", () => {
      port1.close();
      resolve();
    });
    port1.start();
    port2.postMessage(undefined);
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
