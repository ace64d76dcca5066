/** Processor time in ms of the fixed work below on the machine that the bounds of the tests were set on, when it was quiet. */
const REFERENCE = 300;

/** Some arithmetic, some objects, a map: the kinds of work that an analysis does. */
function work(): number {
  const field = new Float64Array(4096);
  let s = 1;
  for (let round = 0; round < 1500; round++) {
    for (let i = 0; i < field.length; i++) {
      s = (s * 1103515245 + 12345) % 2147483648;
      field[i] = Math.hypot(field[(i * 7) & 4095] as number, s / 2147483648);
    }
  }
  const sums = new Map<string, number>();
  for (let i = 0; i < 200_000; i++) sums.set(`x${i % 977}`, (sums.get(`x${i % 977}`) ?? 0) + i);
  return sums.size + (field[5] as number);
}

/**
 * How many times slower this machine is at the moment than the one that bounds were set on; never below 1. A bound on a time
 * is multiplied by it, since the same machine has been met at half its speed. The best of three counts.
 */
export function slowness(): number {
  let best = Number.POSITIVE_INFINITY;
  for (let k = 0; k < 3; k++) {
    const begun = process.cpuUsage();
    if (!(work() > 0)) throw new Error("no work");
    const used = process.cpuUsage(begun);
    best = Math.min(best, (used.user + used.system) / 1000);
  }
  return Math.max(1, best / REFERENCE);
}
