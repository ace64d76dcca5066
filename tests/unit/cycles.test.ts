import { describe, expect, it } from "vitest";
import {
  type CycleExpansion,
  type CycleInput,
  cycleLevels,
  cyclePositions,
  expandCycle,
  isCycleFailure,
} from "../../server/src/engine/machine/cycles.js";

const NIST: Omit<CycleInput, "from" | "positions" | "r" | "z"> = {
  returnLevel: 98,
  initialLevel: 3,
  backOff: 0.254,
  peckRetract: "initial",
  style: "rs274ngc",
};

function expand(code: string, input: CycleInput): CycleExpansion {
  const result = expandCycle(code, input);
  if (isCycleFailure(result)) throw new Error(result.error);
  return result;
}

/** Each move as "r x y z", "f x y z" or "d seconds", rounded to six decimals. */
function list(result: CycleExpansion): string[] {
  return result.moves.map((move) =>
    move.kind === "dwell" ? `d ${move.seconds}` : `${move.kind[0]} ${move.to.map((v) => Number(v.toFixed(6))).join(" ")}`,
  );
}

describe("G81 as published", () => {
  it("example 1: NISTIR 6556, 3.5.16.2, the move list", () => {
    const result = expand("G81", { ...NIST, from: [1, 2, 3], positions: [[4, 5]], r: 2.8, z: 1.5 });
    expect(list(result)).toEqual(["r 4 5 3", "r 4 5 2.8", "f 4 5 1.5", "r 4 5 3"]);
    expect(result.end).toEqual([4, 5, 3]);
  });

  it("example 2: NISTIR 6556, 3.5.16.2, three increments", () => {
    const positions = cyclePositions({ from: [1, 2], target: [4, 5], incremental: true, repeats: 3, zeroAllowed: false });
    if (isCycleFailure(positions)) throw new Error(positions.error);
    const levels = cycleLevels({ level: 3, incremental: true, r: 1.8, z: -0.6 });
    const result = expand("G81", { ...NIST, from: [1, 2, 3], positions, ...levels });
    expect(list(result)).toEqual([
      "r 1 2 4.8",
      "r 5 7 4.8",
      "f 5 7 4.2",
      "r 5 7 4.8",
      "r 9 12 4.8",
      "f 9 12 4.2",
      "r 9 12 4.8",
      "r 13 17 4.8",
      "f 13 17 4.2",
      "r 13 17 4.8",
    ]);
  });
});
