import { describe, expect, it } from "vitest";
import {
  CYCLE_MOVE_LIMIT,
  type CycleExpansion,
  type CycleInput,
  cycleLevels,
  cyclePositions,
  expandCycle,
  isCycleFailure,
  peckLevels,
} from "../../server/src/engine/machine/cycles.js";

const NIST: Omit<CycleInput, "from" | "positions" | "r" | "z"> = {
  returnLevel: 98,
  initialLevel: 3,
  backOff: 0.254,
  peckRetract: "initial",
  style: "rs274ngc",
};

/** The form of most other controls; common practice, no source. */
const COMMON: typeof NIST = { returnLevel: 98, initialLevel: 10, backOff: 1, peckRetract: "R", style: "common" };

const HOLE: Pick<CycleInput, "from" | "positions" | "r" | "z"> = { from: [0, 0, 10], positions: [[30, 20]], r: 2, z: -12 };

function failureOf(code: string, input: CycleInput): string {
  const result = expandCycle(code, input);
  return isCycleFailure(result) ? result.error : "accepted";
}

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

  it("example 3: NISTIR 6556, Table 10, lines 16 to 23", () => {
    const positions = cyclePositions({ from: [30, 1], target: [3, 2], incremental: true, repeats: 2, zeroAllowed: false });
    if (isCycleFailure(positions)) throw new Error(positions.error);
    const levels = cycleLevels({ level: -0.5, incremental: true, r: 1.5, z: -0.8 });
    for (const returnLevel of [98, 99] as const) {
      const result = expand("G81", { ...NIST, from: [30, 1, -0.5], positions, ...levels, initialLevel: -0.5, returnLevel });
      expect(list(result)).toEqual(["r 30 1 1", "r 33 3 1", "f 33 3 0.2", "r 33 3 1", "r 36 5 1", "f 36 5 0.2", "r 36 5 1"]);
    }
  });

  it("example 1 with G99 ends at R (derived from the rule)", () => {
    const result = expand("G81", { ...NIST, returnLevel: 99, from: [1, 2, 3], positions: [[4, 5]], r: 2.8, z: 1.5 });
    expect(list(result)).toEqual(["r 4 5 3", "r 4 5 2.8", "f 4 5 1.5", "r 4 5 2.8"]);
  });

  it("an absolute repeat drills in the same place: seven moves that are not of zero length (derived)", () => {
    const positions = cyclePositions({ from: [1, 2], target: [4, 5], incremental: false, repeats: 2, zeroAllowed: false });
    if (isCycleFailure(positions)) throw new Error(positions.error);
    const result = expand("G81", { ...NIST, from: [1, 2, 3], positions, r: 2.8, z: 1.5 });
    expect(list(result)).toEqual(["r 4 5 3", "r 4 5 2.8", "f 4 5 1.5", "r 4 5 3", "r 4 5 2.8", "f 4 5 1.5", "r 4 5 3"]);
  });
});

describe("the cycles of NISTIR 6556, C.3, in inch as written (moves derived by hand from 3.5.16)", () => {
  const at = (x: number, y: number, from: readonly [number, number, number]) =>
    ({ ...NIST, from, positions: [[x, y]], r: 0.2, z: -1.1, initialLevel: from[2] }) as const;

  it("n0030: below R first, then across", () => {
    expect(list(expand("G81", at(3, 4, [0, 0, -2])))).toEqual(["r 0 0 0.2", "r 3 4 0.2", "f 3 4 -1.1", "r 3 4 0.2"]);
  });

  it("n0040: three increments, bottom -0.9, clear 0.2", () => {
    const positions = cyclePositions({ from: [3, 4], target: [1, 0], incremental: true, repeats: 3, zeroAllowed: false });
    if (isCycleFailure(positions)) throw new Error(positions.error);
    const levels = cycleLevels({ level: 0.2, incremental: true, r: 0, z: -1.1 });
    expect(list(expand("G81", { ...NIST, from: [3, 4, 0.2], positions, ...levels, initialLevel: 0.2 }))).toEqual([
      "r 4 4 0.2",
      "f 4 4 -0.9",
      "r 4 4 0.2",
      "r 5 4 0.2",
      "f 5 4 -0.9",
      "r 5 4 0.2",
      "r 6 4 0.2",
      "f 6 4 -0.9",
      "r 6 4 0.2",
    ]);
  });

  it("n0060: the old Z 0.3 is above R, so G98 clears at 0.3 and G99 at 0.2", () => {
    const input = { ...at(4, 5, [6, 2, 0.3]), p: 0.6 };
    expect(list(expand("G82", input))).toEqual(["r 4 5 0.3", "r 4 5 0.2", "f 4 5 -1.1", "d 0.6", "r 4 5 0.3"]);
    expect(list(expand("G82", { ...input, returnLevel: 99 })).at(-1)).toBe("r 4 5 0.2");
  });

  it("n0090: G83 draws back to the clear level and comes back to the back-off above the last depth", () => {
    const result = list(expand("G83", { ...at(5, 6, [1, 1, 0.5]), q: 0.21, backOff: 0.01 }));
    expect(result.slice(0, 6)).toEqual(["r 5 6 0.5", "r 5 6 0.2", "f 5 6 -0.01", "r 5 6 0.5", "r 5 6 0", "f 5 6 -0.22"]);
    expect(result.filter((line) => line.startsWith("f")).map((line) => Number(line.split(" ")[3]))).toEqual([
      -0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1,
    ]);
    expect(result.at(-1)).toBe("r 5 6 0.5");
  });

  it("n0100 and n0110: G84 and G85 feed out to the clear level", () => {
    const out = ["r 6 7 0.5", "r 6 7 0.2", "f 6 7 -1.1", "f 6 7 0.5"];
    expect(list(expand("G84", { ...at(6, 7, [1, 1, 0.5]), spindle: "cw" }))).toEqual(out);
    expect(list(expand("G85", at(6, 7, [1, 1, 0.5])))).toEqual(out);
  });

  it("n0120: G86 dwells and leaves in rapid", () => {
    expect(list(expand("G86", { ...at(8, 9, [1, 1, 0.5]), p: 902.61, spindle: "cw" }))).toEqual([
      "r 8 9 0.5",
      "r 8 9 0.2",
      "f 8 9 -1.1",
      "d 902.61",
      "r 8 9 0.5",
    ]);
  });

  it("n0130: G87 goes down beside the hole, feeds up to K and back, and leaves beside the hole; K below Z is no error", () => {
    expect(list(expand("G87", { ...at(9, 10, [8, 9, 0.5]), shift: [0.231, 0], k: -3 }))).toEqual([
      "r 9 10 0.5",
      "r 9 10 0.2",
      "r 9.231 10 0.2",
      "r 9.231 10 -1.1",
      "r 9 10 -1.1",
      "f 9 10 -3",
      "f 9 10 -1.1",
      "r 9.231 10 -1.1",
      "r 9.231 10 0.5",
      "r 9 10 0.5",
    ]);
  });

  it("n0140: G88 dwells, stops, and is drawn back by hand", () => {
    const result = expand("G88", { ...at(10, 11, [9, 10, 0.5]), p: 0.3333 });
    expect(list(result)).toEqual(["r 10 11 0.5", "r 10 11 0.2", "f 10 11 -1.1", "d 0.3333", "r 10 11 0.5"]);
    expect(result.moves.map((move) => move.manual ?? false)).toEqual([false, false, false, false, true]);
    expect(result.assumptions).toEqual(["manual-retract"]);
  });

  it("n0150: G89 dwells and feeds out", () => {
    expect(list(expand("G89", { ...at(11, 12, [10, 11, 0.5]), p: 1.272 }))).toEqual([
      "r 11 12 0.5",
      "r 11 12 0.2",
      "f 11 12 -1.1",
      "d 1.272",
      "f 11 12 0.5",
    ]);
  });
});

describe("peck levels (derived by hand from NISTIR 6556, 3.5.16.4)", () => {
  const levels = (r: number, z: number, q: number) => [...(peckLevels(r, z, q) ?? [])].map((v) => Number(v.toFixed(9)));

  it("ends with what remains, and never twice at the depth", () => {
    expect(levels(2, -30, 5)).toEqual([-3, -8, -13, -18, -23, -28, -30]);
    expect(levels(2, -28, 5)).toEqual([-3, -8, -13, -18, -23, -28]);
    expect(levels(0.2, -1.1, 0.21)).toEqual([-0.01, -0.22, -0.43, -0.64, -0.85, -1.06, -1.1]);
    expect(levels(2, -1, 50)).toEqual([-1]);
    // Ten pecks of a tenth, where sums of a tenth are not exact.
    expect(levels(0, -1, 0.1)).toHaveLength(10);
    expect(levels(0.1 + 0.2, 0, 0.1)).toEqual([0.2, 0.1, 0]);
  });
});

describe("roles", () => {
  it("name what each move is for", () => {
    expect(expand("G83", { ...COMMON, ...HOLE, q: 8 }).moves.map((move) => `${move.kind} ${move.role}`)).toEqual([
      "rapid cycle-traverse",
      "rapid cycle-approach",
      "feed cycle-feed",
      "rapid cycle-retract",
      "rapid cycle-approach",
      "feed cycle-feed",
      "rapid cycle-retract",
    ]);
    expect(expand("G76", { ...COMMON, ...HOLE, q: 0.2 }).moves.map((move) => `${move.kind} ${move.role}`)).toEqual([
      "rapid cycle-traverse",
      "rapid cycle-approach",
      "feed cycle-feed",
      "rapid cycle-shift",
      "rapid cycle-retract",
      "rapid cycle-shift",
    ]);
  });
});

// The forms below are common practice, no source.
describe("the common form", () => {
  it("G83 draws back to R between pecks", () => {
    expect(list(expand("G83", { ...COMMON, ...HOLE, q: 6, p: 0.5 }))).toEqual([
      "r 30 20 10",
      "r 30 20 2",
      "f 30 20 -4",
      "r 30 20 2",
      "r 30 20 -3",
      "f 30 20 -10",
      "r 30 20 2",
      "r 30 20 -9",
      "f 30 20 -12",
      "d 0.5",
      "r 30 20 10",
    ]);
  });

  it("G83 with a back-off longer than the peck goes no higher than it drew back", () => {
    expect(list(expand("G83", { ...COMMON, ...HOLE, z: -2, q: 2, backOff: 5 }))).toEqual([
      "r 30 20 10",
      "r 30 20 2",
      "f 30 20 0",
      "r 30 20 2",
      "f 30 20 -2",
      "r 30 20 10",
    ]);
  });

  it("G83 of a profile that draws back to the initial level", () => {
    expect(list(expand("G83", { ...COMMON, ...HOLE, q: 8, peckRetract: "initial" }))).toEqual([
      "r 30 20 10",
      "r 30 20 2",
      "f 30 20 -6",
      "r 30 20 10",
      "r 30 20 -5",
      "f 30 20 -12",
      "r 30 20 10",
    ]);
  });

  it("G73 draws back by the back-off only, and not above R", () => {
    expect(list(expand("G73", { ...COMMON, ...HOLE, q: 6, backOff: 0.5, returnLevel: 99 }))).toEqual([
      "r 30 20 10",
      "r 30 20 2",
      "f 30 20 -4",
      "r 30 20 -3.5",
      "f 30 20 -10",
      "r 30 20 -9.5",
      "f 30 20 -12",
      "r 30 20 2",
    ]);
    const shallow = list(expand("G73", { ...COMMON, ...HOLE, z: -1, q: 2, backOff: 5 }));
    expect(shallow).toEqual(["r 30 20 10", "r 30 20 2", "f 30 20 0", "r 30 20 2", "f 30 20 -1", "r 30 20 10"]);
  });

  it("the sign of Q does not count", () => {
    expect(list(expand("G83", { ...COMMON, ...HOLE, q: -6 }))).toEqual(list(expand("G83", { ...COMMON, ...HOLE, q: 6 })));
  });

  it.each(["G74", "G84", "G85", "G89"])("%s feeds in and out to R, and goes on in rapid", (code) => {
    expect(list(expand(code, { ...COMMON, ...HOLE, p: 1 }))).toEqual([
      "r 30 20 10",
      "r 30 20 2",
      "f 30 20 -12",
      "d 1",
      "f 30 20 2",
      "r 30 20 10",
    ]);
  });

  it("G76 shifts by I, J at the bottom and back at the top", () => {
    const result = expand("G76", { ...COMMON, ...HOLE, shift: [undefined, -0.3], p: 0.2 });
    expect(list(result)).toEqual(["r 30 20 10", "r 30 20 2", "f 30 20 -12", "d 0.2", "r 30 19.7 -12", "r 30 19.7 10", "r 30 20 10"]);
    expect(result.assumptions).toEqual([]);
  });

  it("a shift by Q alone has a direction that only the machine knows, and says so", () => {
    const supposed = expand("G76", { ...COMMON, ...HOLE, q: 0.2 });
    expect(list(supposed)).toContain("r 30.2 20 -12");
    expect(supposed.assumptions).toEqual(["shift-direction"]);
    const stated = expand("G76", { ...COMMON, ...HOLE, q: 0.2, shiftDirection: [0, -1] });
    expect(list(stated)).toContain("r 30 19.8 -12");
    expect(stated.assumptions).toEqual([]);
  });

  it("G87 is back boring: beside the bore down to R, feed up to Z, out beside the bore to the initial level", () => {
    expect(list(expand("G87", { ...COMMON, ...HOLE, r: -25, z: -18, q: 4, shiftDirection: [1, 0], p: 0.5, returnLevel: 99 }))).toEqual([
      "r 30 20 10",
      "r 34 20 10",
      "r 34 20 -25",
      "r 30 20 -25",
      "f 30 20 -18",
      "d 0.5",
      "r 34 20 -18",
      "r 34 20 10",
      "r 30 20 10",
    ]);
  });

  it("a dwell may be left out", () => {
    expect(list(expand("G82", { ...COMMON, ...HOLE }))).toEqual(["r 30 20 10", "r 30 20 2", "f 30 20 -12", "r 30 20 10"]);
  });
});

describe("errors (conditions of NISTIR 6556, 3.5.16)", () => {
  const nist = { ...NIST, ...HOLE };

  it("Z and R must be known to the cycle, R not below Z", () => {
    expect(failureOf("G81", { ...nist, z: undefined })).toBe("z-missing");
    expect(failureOf("G81", { ...nist, r: undefined })).toBe("r-missing");
    expect(expandCycle("G81", { ...nist, r: 0.5, z: 1 })).toEqual({ error: "r-below-z", data: { r: 0.5, z: 1 } });
    expect(failureOf("G81", { ...nist, r: 1, z: 1 })).toBe("accepted");
  });

  it("dwell", () => {
    expect(failureOf("G82", { ...nist, p: -1 })).toBe("dwell-negative");
    expect(failureOf("G82", { ...nist, p: 0 })).toBe("accepted");
    for (const code of ["G82", "G86", "G88", "G89"]) expect(failureOf(code, nist)).toBe("dwell-missing");
  });

  it("peck", () => {
    expect(failureOf("G83", { ...nist, q: 0 })).toBe("peck-not-positive");
    expect(failureOf("G83", { ...nist, q: -1 })).toBe("peck-not-positive");
    expect(failureOf("G83", nist)).toBe("peck-missing");
    expect(failureOf("G73", { ...COMMON, ...HOLE, q: 0 })).toBe("peck-not-positive");
  });

  it("spindle", () => {
    expect(failureOf("G84", { ...nist, spindle: "ccw" })).toBe("spindle-not-clockwise");
    expect(failureOf("G84", { ...nist, spindle: "stopped" })).toBe("spindle-not-clockwise");
    expect(failureOf("G84", { ...nist, spindle: "cw" })).toBe("accepted");
    expect(failureOf("G86", { ...nist, p: 1, spindle: "stopped" })).toBe("spindle-stopped");
    expect(failureOf("G86", { ...nist, p: 1, spindle: "ccw" })).toBe("accepted");
    expect(failureOf("G84", { ...COMMON, ...HOLE, spindle: "stopped" })).toBe("accepted");
  });

  it("G93, compensation and rotary motion", () => {
    expect(failureOf("G81", { ...nist, inverseTime: true })).toBe("inverse-time");
    expect(failureOf("G81", { ...nist, compensation: true })).toBe("compensation-active");
    expect(failureOf("G81", { ...nist, rotaryMotion: true })).toBe("rotary-motion");
  });

  it("shift and K", () => {
    expect(failureOf("G76", { ...COMMON, ...HOLE })).toBe("shift-missing");
    expect(failureOf("G87", { ...nist, k: 1 })).toBe("shift-missing");
    expect(failureOf("G87", { ...nist, shift: [1, 0] })).toBe("k-missing");
    expect(failureOf("G87", { ...COMMON, ...HOLE, q: 1 })).toBe("r-above-z");
  });

  it("repeats: a whole number from 1; zero stores only where the dialect allows it", () => {
    const count = (repeats: number, zeroAllowed: boolean) => {
      const result = cyclePositions({ from: [0, 0], target: [1, 0], incremental: true, repeats, zeroAllowed });
      return isCycleFailure(result) ? result.error : result.length;
    };
    expect(count(0, false)).toBe("repeats-not-positive");
    expect(count(0, true)).toBe(0);
    expect(count(-1, true)).toBe("repeats-not-positive");
    expect(count(1.5, true)).toBe("repeats-not-positive");
    expect(count(2.00001, false)).toBe(2);
    expect(count(1e12, true)).toBe("too-many-moves");
    expect(list(expand("G81", { ...COMMON, ...HOLE, positions: [] }))).toEqual([]);
  });

  it("G80 and others are no cycle", () => {
    expect(failureOf("G80", nist)).toBe("not-a-cycle");
    expect(failureOf("G1", nist)).toBe("not-a-cycle");
  });

  it("a Q of nanometres does not fill the memory", () => {
    const result = expandCycle("G83", { ...COMMON, ...HOLE, q: 1e-9 });
    expect(result).toMatchObject({ error: "too-many-moves", data: { limit: CYCLE_MOVE_LIMIT } });
  });
});

describe("unknown values", () => {
  it("an unknown Q keeps the path and says that the pecks are not known", () => {
    const result = expand("G83", { ...COMMON, ...HOLE, q: Number.NaN });
    expect(list(result)).toEqual(["r 30 20 10", "r 30 20 2", "f 30 20 -12", "r 30 20 10"]);
    expect(result.assumptions).toEqual(["pecks-unknown"]);
  });

  it("an unknown depth or initial level is kept as unknown", () => {
    expect(list(expand("G81", { ...COMMON, ...HOLE, z: Number.NaN }))).toEqual(["r 30 20 10", "r 30 20 2", "f 30 20 NaN", "r 30 20 10"]);
    expect(list(expand("G83", { ...COMMON, ...HOLE, z: Number.NaN, q: 3 }))).toEqual([
      "r 30 20 10",
      "r 30 20 2",
      "f 30 20 NaN",
      "r 30 20 10",
    ]);
    const start = { ...HOLE, from: [0, 0, Number.NaN], initialLevel: Number.NaN } as const;
    expect(list(expand("G81", { ...COMMON, ...start }))).toEqual(["r 30 20 NaN", "r 30 20 2", "f 30 20 -12", "r 30 20 NaN"]);
    expect(list(expand("G81", { ...COMMON, ...start, returnLevel: 99 })).at(-1)).toBe("r 30 20 2");
    expect(list(expand("G85", { ...COMMON, ...start })).slice(-2)).toEqual(["f 30 20 2", "r 30 20 NaN"]);
  });

  it("an unknown number of increments is one hole somewhere", () => {
    const unknown = { from: [0, 0], target: [1, 0], repeats: Number.NaN, zeroAllowed: true } as const;
    expect(cyclePositions({ ...unknown, incremental: true })).toEqual([[Number.NaN, Number.NaN]]);
    expect(cyclePositions({ ...unknown, incremental: false })).toEqual([[1, 0]]);
  });

  it("an unknown dwell is a dwell of unknown length", () => {
    expect(list(expand("G82", { ...COMMON, ...HOLE, p: Number.NaN }))).toContain("d NaN");
  });
});
