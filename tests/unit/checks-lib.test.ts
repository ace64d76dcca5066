/** The small parts that rules share, worked by hand. Asked for by mutation testing. */
import { describe, expect, it } from "vitest";
import { findWord, wordValue } from "../../server/src/engine/checks/context.js";
import { programAngle, programNumber } from "../../server/src/engine/checks/lib/edits.js";
import { extentOf } from "../../server/src/engine/checks/lib/extent.js";
import { usesOffset } from "../../server/src/engine/checks/lib/left.js";
import { cuttingDistance } from "../../server/src/engine/checks/lib/near.js";
import { period } from "../../server/src/engine/checks/lib/passes.js";
import type { Vec3 } from "../../server/src/engine/geometry/vector.js";
import type { Step } from "../../server/src/engine/machine/run.js";
import { parseLine } from "../../server/src/engine/syntax/parse.js";
import { fixture, modal, move, profile, run, solid } from "../support/analysis.js";

const NAN = Number.NaN;
const near = (v: readonly number[]) => v.map((c) => expect.closeTo(c, 9));

describe("how far a move reaches", () => {
  const arc = (from: Vec3, to: Vec3, centre: Vec3, sweep: number, plane: 17 | 18 | 19) =>
    move({ kind: "arc", from, to, centre, sweep, modal: modal({ plane }) });
  it("a line, an arc that passes no quarter point, and each quarter point alone", () => {
    expect(extentOf(move({ from: [3, -2, 1], to: [-1, 4, 1] }))).toEqual([
      [-1, 3],
      [-2, 4],
      [1, 1],
    ]);
    const h = 5 * Math.SQRT1_2;
    const at = (degrees: number): Vec3 => [10 + 5 * Math.cos((degrees * Math.PI) / 180), 20 + 5 * Math.sin((degrees * Math.PI) / 180), 0];
    // 50° to 80° passes none.
    expect(extentOf(arc(at(50), at(80), [10, 20, 0], 30, 17))[0]).toEqual(near([at(80)[0], at(50)[0]]));
    // 90° wide about east, north, west, south; counter-clockwise and clockwise.
    for (const [middle, axis, end, value] of [
      [0, 0, 1, 15],
      [90, 1, 1, 25],
      [180, 0, 0, 5],
      [270, 1, 0, 15],
    ] as const) {
      for (const sign of [1, -1]) {
        const e = extentOf(arc(at(middle - 45 * sign), at(middle + 45 * sign), [10, 20, 0], 90 * sign, 17));
        const o = axis === 0 ? 10 : 20;
        const inner = end === 1 ? o + h : o - h;
        expect(e[axis]).toEqual(near(end === 1 ? [inner, value] : [value, inner]));
        const other = axis === 0 ? 20 : 10;
        expect(e[1 - axis]).toEqual(near([other - h, other + h]));
      }
    }
    // A whole circle.
    expect(extentOf(arc(at(10), at(10), [10, 20, 0], 360, 17)).slice(0, 2)).toEqual([near([5, 15]), near([15, 25])]);
  });
  it("G18 runs from Z to X, G19 from Y to Z", () => {
    // From +X over +Z to −X is a turn of −180° seen from +Y's back: Z to X is positive, X to Z negative.
    expect(extentOf(arc([5, 0, 0], [-5, 0, 0], [0, 0, 0], -180, 18))).toEqual([near([-5, 5]), [0, 0], near([0, 5])]);
    expect(extentOf(arc([0, 5, 0], [0, -5, 0], [0, 0, 0], 180, 19))).toEqual([[0, 0], near([-5, 5]), near([0, 5])]);
  });
});

describe("which moves go where the offset says", () => {
  it("not a dwell, a reference return or a G53 move", () => {
    expect(usesOffset(move())).toBe(true);
    expect(usesOffset(move({ kind: "dwell" }))).toBe(false);
    for (const role of ["reference", "reference-through", "machine"] as const) expect(usesOffset(move({ role }))).toBe(false);
  });
});

describe("numbers as a program writes them", () => {
  it.each([
    [10, "mm", "10."],
    [10.12349, "mm", "10.123"],
    [-0.5, "mm", "-0.5"],
    [25.4, "inch", "1."],
    [12.7, "inch", "0.5"],
    [1, "inch", "0.0394"],
  ] as const)("%d mm in %s: %s", (mm, units, text) => expect(programNumber(mm, units)).toBe(text));
  it("angles", () => expect([90, -12.5].map(programAngle)).toEqual(["90.", "-12.5"]));
});

describe("repetition", () => {
  it.each([
    ["abab", 2],
    ["aaa", 1],
    ["aba", 3],
    ["abcabc", 3],
    ["aab", 3],
    ["abaaba", 3],
    ["abababab", 2],
    ["abababba", 8],
    ["a", 1],
    ["", 0],
  ])("%s repeats every %d", (text, n) => expect(period([...text])).toBe(n));
});

describe("words of a block", () => {
  const stepOf = (text: string, values?: Float64Array): Step => {
    const [one] = run.steps;
    if (one === undefined) throw new Error("the sample has a step");
    return { ...one, block: parseLine(text, 0, profile), values };
  };
  it("by letter, by code, by code with a decimal, by a value that the run computed", () => {
    const step = stepOf("G0 G54.1 P7 X1. G43 H2");
    expect(findWord(step, "X")?.value).toBe(1);
    expect(findWord(step, "G")?.value).toBe(0);
    expect(findWord(step, "G54.1")?.value).toBe(54.1);
    expect(findWord(step, "G43")?.letter).toBe("G");
    expect(findWord(step, "G54")).toBeUndefined();
    expect(findWord(step, "G5")).toBeUndefined();
    expect(findWord(step, "Y")).toBeUndefined();
    const computed = stepOf("G#1 X#2", Float64Array.of(43, NAN));
    expect(findWord(computed, "G43")).toBeDefined();
    const [g, x] = computed.block.words;
    if (g === undefined || x === undefined) throw new Error("two words");
    expect(wordValue(computed, g)).toBe(43);
    expect(wordValue(computed, x)).toBeNaN();
    const other = stepOf("X5.").block.words[0];
    if (other === undefined) throw new Error("a word");
    expect(wordValue(computed, other)).toBe(5);
  });
});

describe("distance of the cutting part alone", () => {
  const tool = (stack: object[]) => new Map([[1, { stack } as never]]);
  const body = solid("fixed jaw", "fixed jaw", 0, [0, 0, -10], [20, 10, 0]);
  const f = (stack: object[]) => fixture({ tools: tool(stack) });
  const cutting = { part: "cutting", bottomRadius: 5, topRadius: 5, from: 0, to: 20 };
  const holder = { part: "holder", bottomRadius: 30, topRadius: 30, from: 20, to: 60 };
  it("beside the jaw by hand; the holder does not count", () => {
    const beside = move({ kind: "feed", from: [-9, 5, -5], to: [-8, 5, -5] });
    expect(cuttingDistance(f([cutting, holder]), beside, body)).toBeCloseTo(3, 9);
    expect(
      cuttingDistance(
        f([
          { ...cutting, to: 4 },
          { ...cutting, bottomRadius: 6, topRadius: 6, from: 4 },
        ]),
        beside,
        body,
      ),
    ).toBeCloseTo(2, 9);
    expect(cuttingDistance(f([]), beside, body)).toBe(Number.POSITIVE_INFINITY);
    expect(cuttingDistance(fixture(), beside, body)).toBeCloseTo(8, 9);
  });
  it("an arc counts as one: half a turn that comes nearest in its middle", () => {
    const arc = move({ kind: "arc", from: [-20, 0, -5], to: [-20, 10, -5], centre: [-20, 5, 0], sweep: 180, modal: modal({ plane: 17 }) });
    // R 5 about (−20, 5): nearest at x −15, the tool's R 5 short of the jaw by 10.
    expect(cuttingDistance(f([cutting]), arc, body)).toBeCloseTo(10, 6);
  });
  it("unknown ends are unknown", () => {
    expect(cuttingDistance(f([cutting]), move({ from: [NAN, 0, 0], to: [0, 0, 0] }), body)).toBeNaN();
    expect(cuttingDistance(f([cutting]), move({ from: [0, 0, 0], to: [0, NAN, 0] }), body)).toBeNaN();
    expect(cuttingDistance(f([{ ...cutting, to: NAN }]), move({ from: [9, 9, 9], to: [9, 9, 9] }), body)).toBeNaN();
  });
});
