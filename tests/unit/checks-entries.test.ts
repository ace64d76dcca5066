/**
 * Several entries of one tool into one solid, on the sample fixture with two stations: the stock of A1 reaches 60 in X, 41 in Y and 30
 * down from the part zero, the parallels lie below it, the fixed jaw stands in front of it up to Z-10. Every entry is a place that the
 * programmer has to change, so each is named; a way back into a hole that was just begun is none. Depths by hand: Z of the tip below
 * the top of the solid.
 */
import { describe, expect, it } from "vitest";
import { type Setup, tell } from "../support/tell.js";

const TWO: Setup = { use: "two-stations" };
const HEAD = ["G21 G17 G40 G49 G80 G90", "T2 M6", "G0 G54 X20 Y20 S2000 M3", "G43 H2 Z50"];
const TAIL = ["G0 Z50", "G28 G91 Z0", "M30"];

/** What a rule says, the first line behind the head being line 1. */
function said(rule: string, ...lines: string[]): string[] {
  return tell(rule, TWO, [...HEAD, ...lines, ...TAIL]).findings.map((f) => {
    const depth = f.message.args.depth;
    const mm = typeof depth === "object" && "mm" in depth ? depth.mm : Number.NaN;
    const also = f.related.flatMap((r) => (r.message.key === "related.also" ? [r.place.range.line + 1 - HEAD.length] : []));
    return [f.place.range.line + 1 - HEAD.length, `${mm} deep`, ...also.map((line) => `also ${line}`)].join(", ");
  });
}

describe("a hole into the parallels", () => {
  it("is told as deep as its last peck goes", () => {
    expect(said("base-drilled", "G98 G83 X20 Y20 Z-40 R2 Q5 F200", "G80")).toEqual(["1, 10 deep"]);
    expect(said("base-drilled", "G98 G73 X20 Y20 Z-40 R2 Q5 F200", "G80")).toEqual(["1, 10 deep"]);
  });
  it("has a place of its own for each hole of a row", () => {
    expect(said("base-drilled", "G98 G81 X10 Y20 Z-32 R2 F200", "X20", "X30 Z-33", "G80")).toEqual(["1, 2 deep, also 2, also 3"]);
    expect(said("base-drilled", "G1 Z-32 F200", "G0 Z2", "X30", "G1 Z-32", "G0 Z2")).toEqual(["1, 2 deep, also 4"]);
  });
  it("is entered once where it is pecked by hand", () => {
    const peck = ["G1 Z-32 F200", "G0 Z2", "G0 Z-31", "G1 Z-34", "G0 Z2"];
    expect(said("base-drilled", ...peck)).toEqual(["1, 2 deep"]);
    expect(said("clamp-rapid", ...peck)).toEqual([]);
  });
});

describe("a holder that comes down on several solids", () => {
  it("is one finding for a row of holes, whichever of them each hole meets first", () => {
    // With a stick-out of 16 the holder, 40 wide, ends at Z-12 over a hole that is 28 deep: 12 below the top of the stock at every hole,
    // and 2 below that of the jaw in front at the holes 10 behind it, not at those 30 behind.
    const stub: Setup = {
      use: "two-stations",
      change: (s) => {
        const tool = (s.tools as Record<string, Record<string, unknown>>)["2"];
        if (tool !== undefined) Object.assign(tool, { APMX: 15, shank: { D: 6.8, L: 16 } });
      },
    };
    const { findings } = tell("holder-reach", stub, [...HEAD, "G99 G81 X20 Y30 Z-28 R6 F200", "Y10", "Y30 X30", "Y10", "G80", ...TAIL]);
    expect(findings.map((f) => f.place.range.line + 1 - HEAD.length)).toEqual([1]);
    expect(findings[0]?.related.filter((r) => r.message.key === "related.also").map((r) => r.place.range.line + 1 - HEAD.length)).toEqual([
      2, 3, 4,
    ]);
  });
});

describe("a jaw", () => {
  it("that is cut at several places is told for each of them", () => {
    const row = ["X10 Y-10 Z2", "G1 Z-12 F200", "G0 Z2", "X30", "G1 Z-12", "G0 Z2", "X50", "G1 Z-12", "G0 Z2"];
    expect(said("clamp-cut", ...row)).toEqual(["2, 2 deep, also 5, also 8"]);
    expect(said("clamp-rapid", ...row)).toEqual([]);
  });
  it("through which the tool rapids back after a cut has two faults", () => {
    // In from the side with the feed, out on the other side, and back through it at rapid.
    const there = ["X-20 Y-10", "Z-12", "G1 X80 F500", "G0 X-20"];
    expect(said("clamp-cut", ...there)).toEqual(["3, 2 deep"]);
    expect(said("clamp-rapid", ...there)).toEqual(["4, 2 deep"]);
  });
  it("out of which the tool only comes back has one", () => {
    const back = ["X-20 Y-10", "Z-12", "G1 X30 F500", "G0 X-20"];
    expect(said("clamp-cut", ...back)).toEqual(["3, 2 deep"]);
    expect(said("clamp-rapid", ...back)).toEqual([]);
  });
});

describe("a block that leaves the travel", () => {
  it("on two axes is one finding that names both", () => {
    // By the sidecar: travel X -1020 … 0 and Z -560 … 0; A1 has its part zero at X-680 Z-345, and tool 2 an LF of 140.
    const { findings } = tell("travel-limit", TWO, [...HEAD, "X700 Z210", "X20 Z50", ...TAIL]);
    expect(findings.map((f) => [f.place.range.line + 1, f.message.args.axis, f.message.args.over])).toEqual([[5, "X", { mm: 20 }]]);
    expect(findings[0]?.related.map((r) => [r.message.key, r.place.range.line + 1, r.message.args.axis, r.message.args.over])).toEqual([
      ["related.axis", 5, "Z", { mm: 5 }],
    ]);
  });
});
