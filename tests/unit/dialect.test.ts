import { readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import {
  additionalRange,
  followingOffset,
  offsetKeys,
  offsetOf,
  offsetOfVariable,
  parseOffsetName,
  registerOfG10,
  spellOffset,
} from "../../server/src/engine/dialect/offsets.js";
import { dialectsPage } from "../../server/src/engine/dialect/page.js";
import type { Profile } from "../../server/src/engine/dialect/profile.js";
import { builtInProfiles, extendProfile, profileOf, resolveDialect } from "../../server/src/engine/dialect/profiles.js";
import { parseLine } from "../../server/src/engine/syntax/parse.js";

function profile(name: string): Profile {
  const found = profileOf(name);
  if (found === undefined) throw new Error(`no dialect ${name}`);
  return found;
}

const iso = profile("iso");
const ngc = profile("rs274ngc");
const g154 = profile("g154");
const bare = profile("bare");

describe("codes of the dialects", () => {
  it("iso has those of the contract and no others (contract-details, ruling 39)", () => {
    const g = [
      0, 1, 2, 3, 4, 9, 10, 11, 15, 16, 17, 18, 19, 20, 21, 28, 30, 31, 40, 41, 42, 43, 44, 49, 50, 51, 50.1, 51.1, 52, 53, 54, 55, 56, 57,
      58, 59, 54.1, 61, 64, 65, 66, 67, 68, 69, 73, 74, 76, 80, 81, 82, 83, 84, 85, 86, 87, 88, 89, 90, 91, 92, 93, 94, 95, 96, 97, 98, 99,
    ].map((n) => `G${n}`);
    const m = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 11, 19, 29, 30, 97, 98, 99].map((n) => `M${n}`);
    expect([...iso.codes.keys()].sort()).toEqual([...g, ...m].sort());
  });

  it("rs274ngc has the modal groups of NISTIR 6556, Table 4 (P)", () => {
    const groups = [
      ["G0", "G1", "G2", "G3", "G38.2", "G80", "G81", "G82", "G83", "G84", "G85", "G86", "G87", "G88", "G89"],
      ["G17", "G18", "G19"],
      ["G90", "G91"],
      ["G93", "G94"],
      ["G20", "G21"],
      ["G40", "G41", "G42"],
      ["G43", "G49"],
      ["G98", "G99"],
      ["G54", "G55", "G56", "G57", "G58", "G59", "G59.1", "G59.2", "G59.3"],
      ["G61", "G61.1", "G64"],
      ["G4", "G10", "G28", "G30", "G53", "G92", "G92.1", "G92.2", "G92.3"],
      ["M0", "M1", "M2", "M30", "M60"],
      ["M6"],
      ["M3", "M4", "M5"],
      ["M7", "M8", "M9"],
      ["M48", "M49"],
    ];
    const byGroup = new Map<string, string[]>();
    for (const c of ngc.codes.values()) byGroup.set(c.group, [...(byGroup.get(c.group) ?? []), c.code]);
    expect([...byGroup.values()].map((l) => l.sort().join(" ")).sort()).toEqual(groups.map((l) => l.sort().join(" ")).sort());
  });

  it("rs274ngc executes a block in the order of NISTIR 6556, Table 8 (P)", () => {
    expect(ngc.order.join(" ")).toBe(
      "comment feed-mode feed speed tool change spindle-on spindle-off coolant override dwell plane units compensation length offset path-control distance return-level reference-and-registers motion stop",
    );
  });

  it("rs274ngc has no G70, G71, G95, G96, G97, G33 (check-values 2.1)", () => {
    for (const code of ["G70", "G71", "G95", "G96", "G97", "G33"]) expect([code, ngc.codes.has(code)]).toEqual([code, false]);
  });

  it("bare has what JB 3208-83 (ISO 1056) assigns and none of the extensions (P, check-values 2.1)", () => {
    const assigned = [
      0, 1, 2, 3, 4, 6, 8, 9, 17, 18, 19, 33, 34, 35, 40, 41, 42, 43, 44, 45, 46, 47, 48, 49, 50, 51, 52, 53, 54, 55, 56, 57, 58, 59, 60,
      61, 62, 63, 80, 81, 82, 83, 84, 85, 86, 87, 88, 89, 90, 91, 92, 93, 94, 95, 96, 97,
    ];
    for (const n of assigned) expect([n, bare.codes.has(`G${n}`)]).toEqual([n, true]);
    const extensions = ["G10", "G20", "G21", "G28", "G30", "G98", "G99", "G54.1", "G64", "M98", "M99"];
    for (const code of extensions) expect([code, bare.codes.has(code)]).toEqual([code, false]);
    // EIA RS-274-D alone assigns G70 and G71; without them a program could not state its units.
    const others = [...bare.codes.keys()].filter((c) => c.startsWith("G") && !assigned.includes(Number(c.slice(1))));
    expect(others).toEqual(["G70", "G71"]);
    // An offset of a whole coordinate system is an extension: the axis-wise shift of the standard is not executed.
    expect(bare.codes.get("G54")?.use).toBe("opaque");
    expect(offsetOf("G54", undefined, bare)).toBeUndefined();
  });

  it("name canonical codes, and each code once", () => {
    for (const p of builtInProfiles.values()) {
      for (const [key, c] of p.codes) expect([key, /^[GM](0|[1-9]\d*)(\.[1-9])?$/.test(key)]).toEqual([c.code, true]);
      for (const s of p.offsets) expect([p.name, s.code, p.codes.get(s.code)?.use]).toEqual([p.name, s.code, "executed"]);
      for (const code of [...p.initial, ...p.atEnd]) expect([p.name, code, p.codes.has(code)]).toEqual([p.name, code, true]);
    }
  });
});

describe("defaults of iso and rs274ngc", () => {
  it("are those of the contract (contract-details, rulings 18, 33, 38)", () => {
    expect(iso).toMatchObject({
      wholeNumber: "unit",
      increment: 0.001,
      l20: "additional",
      g52Reach: "all",
      peckRetract: "R",
      backOff: 1,
      repeatLetters: ["L", "K"],
      returnDefault: "initial",
      fullCircle: true,
      resetAtEnd: true,
      dwellWhole: "ms",
      packedRepeat: false,
      lengthBy: "G43",
      g10Incremental: true,
      rapidPath: "either",
    });
    expect([...iso.initial].sort()).toEqual("G0 G17 G90 G94 G40 G49 G80 G98 G54".split(" ").sort());
    expect(ngc.backOff).toBe(0.254);
  });

  it("are those of NISTIR 6556 (P: §3.5.3.2, §3.5.4, §3.5.5, §3.6.1, Table 2)", () => {
    expect(ngc).toMatchObject({
      arcTolerance: { mm: 0.002, inch: 0.0002 },
      fullCircle: false,
      dwellWhole: "s",
      g10Incremental: false,
      offsetsDefaultZero: true,
      parameterCount: 5399,
    });
    expect(ngc.atEnd).toEqual(["G92.2", "G54", "G17", "G90", "G94", "M48", "G40", "M5", "G1", "M9"]);
  });
});

describe("work offsets", () => {
  it("are selected by code and P", () => {
    expect(offsetOf("G54", undefined, iso)).toBe("G54");
    expect(offsetOf("G54", 3, iso)).toBe("P3");
    expect(offsetOf("G54.1", 3, iso)).toBe("P3");
    expect(offsetOf("G54.1", 300, iso)).toBe("P300");
    expect(offsetOf("G54.1", 301, iso)).toBe("out-of-range");
    expect(offsetOf("G54.1", 0, iso)).toBe("out-of-range");
    expect(offsetOf("G54.1", 1.5, iso)).toBe("out-of-range");
    expect(offsetOf("G54.1", undefined, iso)).toBe("absent-p");
    expect(offsetOf("G54.1", Number.NaN, iso)).toBeUndefined();
    expect(offsetOf("G55", 3, iso)).toBe("G55");
    expect(offsetOf("G53", undefined, iso)).toBeUndefined();
    expect(offsetOf("G154", 99, g154)).toBe("P99");
    expect(offsetOf("G154", 100, g154)).toBe("out-of-range");
    expect(offsetOf("G54.1", 1, g154)).toBeUndefined();
    expect(offsetOf("G154", 1, iso)).toBeUndefined();
    expect(offsetOf("G59.3", undefined, ngc)).toBe("G59.3");
    expect(offsetOf("G59.3", undefined, iso)).toBeUndefined();
  });

  it("are read and spelled as people write them", () => {
    for (const text of ["G54.1 P7", "g54.1p07", " G54.1  P 7 ", "G54 P7", "G054P7"])
      expect([text, parseOffsetName(text, iso)]).toEqual([text, "P7"]);
    expect(parseOffsetName("G054", iso)).toBe("G54");
    for (const text of ["G54.1", "G54.1 P0", "G55 P1", "G60", "P7", "", "G54.1 P1 X0", "G154 P1"])
      expect([text, parseOffsetName(text, iso)]).toEqual([text, undefined]);
    expect(spellOffset("P7", iso)).toBe("G54.1 P7");
    expect(spellOffset("P7", g154)).toBe("G154 P7");
    expect(spellOffset("G54", iso)).toBe("G54");
    expect(spellOffset("P400", iso)).toBe("P400");
  });

  it("follow one another within their series (contract-details, ruling 12)", () => {
    expect(followingOffset("P1", 11, iso)).toBe("P12");
    expect(followingOffset("P295", 6, iso)).toBeUndefined();
    expect(followingOffset("G54", 5, iso)).toBe("G59");
    expect(followingOffset("G54", 6, iso)).toBeUndefined();
    expect(followingOffset("G54", 6, ngc)).toBeUndefined();
    expect(followingOffset("G59.1", 2, ngc)).toBe("G59.3");
    expect(additionalRange(iso)).toEqual([1, 300]);
    expect(additionalRange(ngc)).toBeUndefined();
    expect(offsetKeys(ngc)).toHaveLength(9);
  });

  it("are written by G10", () => {
    // P §3.5.5: L2 P1 to P9 in RS274/NGC.
    expect([0, 1, 6, 7, 9, 10, 1.5].map((p) => registerOfG10(2, p, ngc))).toEqual([
      "out-of-range",
      "G54",
      "G59",
      "G59.1",
      "G59.3",
      "out-of-range",
      "out-of-range",
    ]);
    expect(registerOfG10(20, 1, ngc)).toBeUndefined();
    // Common practice, no source.
    expect([0, 1, 6, 7].map((p) => registerOfG10(2, p, iso))).toEqual(["shift", "G54", "G59", "out-of-range"]);
    expect([0, 1, 300, 301].map((p) => registerOfG10(20, p, iso))).toEqual(["out-of-range", "P1", "P300", "out-of-range"]);
    expect(registerOfG10(10, 1, iso)).toBeUndefined();
    expect(registerOfG10(2, Number.NaN, iso)).toBeUndefined();
    expect(registerOfG10(20, 2, extendProfile(iso, { l20: "current" }).profile)).toBe("G55");
  });

  it("have variables with a stride of 20 (NISTIR 6556 Table 2 P; test data of check-values 6.1 R)", () => {
    // G54 X 5221, G55 Y 5242, G57 Z 5283, G59 C 5326; G59.3 C 5386.
    expect(offsetOfVariable(5221, ngc)).toEqual({ register: "G54", axis: 0 });
    expect(offsetOfVariable(5242, ngc)).toEqual({ register: "G55", axis: 1 });
    expect(offsetOfVariable(5283, ngc)).toEqual({ register: "G57", axis: 2 });
    expect(offsetOfVariable(5326, ngc)).toEqual({ register: "G59", axis: 5 });
    expect(offsetOfVariable(5386, ngc)).toEqual({ register: "G59.3", axis: 5 });
    expect(offsetOfVariable(5220, ngc)).toBeUndefined();
    expect(offsetOfVariable(5227, ngc)).toBeUndefined();
    // Common practice, no source: P1 X 7001, P2 Z 7023, P48 X 7941, and 14001 for the block of 300.
    expect(offsetOfVariable(7001, iso)).toEqual({ register: "P1", axis: 0 });
    expect(offsetOfVariable(7023, iso)).toEqual({ register: "P2", axis: 2 });
    expect(offsetOfVariable(7941, iso)).toEqual({ register: "P48", axis: 0 });
    expect(offsetOfVariable(14001 + 20 * 299, iso)).toEqual({ register: "P300", axis: 0 });
    expect(offsetOfVariable(5201, iso)).toEqual({ register: "shift", axis: 0 });
    expect(offsetOfVariable(100, iso)).toBeUndefined();
  });
});

describe("a user's dialect", () => {
  it("states its differences and keeps the rest", () => {
    const { profile: p, problems } = extendProfile(iso, {
      extends: "iso",
      wholeNumber: "increment",
      increment: 0.0001,
      repeatLetters: "L",
      backOff: 0.5,
      offsets: ["G54.1 P1-P48"],
      l20: "current",
      packedRepeat: true,
      comments: { semicolon: false },
    });
    expect(problems).toEqual([]);
    expect(p).toMatchObject({
      extends: "iso",
      wholeNumber: "increment",
      increment: 0.0001,
      repeatLetters: ["L"],
      backOff: 0.5,
      l20: "current",
      packedRepeat: true,
      dwellWhole: "ms",
    });
    expect(p.comments).toEqual({ semicolon: false, nested: false, unclosedIsError: true });
    expect(offsetOf("G54.1", 48, p)).toBe("P48");
    expect(offsetOf("G54.1", 49, p)).toBe("out-of-range");
    expect(offsetOf("G55", undefined, p)).toBe("G55");
    expect(iso.wholeNumber).toBe("unit");
  });

  it("accepts every key of the contract with every value it names (contract-details, ruling 38)", () => {
    const values: Record<string, unknown[]> = {
      wholeNumber: ["unit", "increment"],
      increment: [0.001],
      offsets: [[{ code: "G54.1", p: [1, 48] }, "G55", "G54.1 P1-P300", { code: "G59", remove: true }, { code: "G505", key: "P1" }]],
      l20: ["additional", "current"],
      g52Reach: ["all"],
      peckRetract: ["R", "initial"],
      backOff: [1],
      repeatLetters: [["L", "K"], "K"],
      returnDefault: ["initial", "R"],
      fullCircle: [true, false],
      resetAtEnd: [true, false],
      dwellWhole: ["ms", "s"],
      packedRepeat: [true, false],
      lengthBy: ["G43", "control"],
      g10Incremental: [true, false],
      rapidPath: ["straight", "independent", "either"],
    };
    for (const base of builtInProfiles.values()) {
      for (const [key, list] of Object.entries(values)) {
        for (const v of list) expect([key, v, extendProfile(base, { [key]: v }).problems]).toEqual([key, v, []]);
      }
    }
  });

  it("adds and removes offsets, which become codes", () => {
    const { profile: p } = extendProfile(bare, { offsets: ["G54", { code: "G505", key: "P1" }, "G54.1 P1-P9"] });
    expect(offsetOf("G54", undefined, p)).toBe("G54");
    expect(offsetOf("G505", undefined, p)).toBe("P1");
    expect(p.codes.get("G54")?.use).toBe("executed");
    expect(p.codes.get("G54.1")?.group).toBe("offset");
    expect(offsetOf("G59", undefined, extendProfile(iso, { offsets: [{ code: "G59", remove: true }] }).profile)).toBeUndefined();
  });

  it("states uses of codes, but cannot teach what a code does", () => {
    const { profile: p, problems } = extendProfile(iso, {
      codes: {
        M71: "ignored",
        G61: "unknown",
        M088: { use: "opaque", meaning: "Parts catcher" },
        M48: "executed",
        M13: "executed",
        M72: "executed",
      },
    });
    expect(p.codes.get("M71")).toMatchObject({ use: "ignored" });
    expect(p.codes.has("G61")).toBe(false);
    expect(p.codes.get("M88")).toMatchObject({ use: "opaque", meaning: "Parts catcher" });
    expect(p.codes.get("M13")?.use).toBe("executed"); // bare executes it
    expect(problems).toHaveLength(2);
    expect(problems.join()).toContain("M72");
  });

  it("names the nearest key or value of a wrong one and stays usable", () => {
    const cases: [object, string, string[]][] = [
      [{ wholenumbers: "unit" }, '"wholeNumber"', ["wholenumbers"]],
      [{ peckRetrat: "R" }, '"peckRetract"', ["peckRetrat"]],
      [{ wholeNumber: "incremnt" }, '"increment"', ["wholeNumber"]],
      [{ rapidPath: "strait" }, '"straight"', ["rapidPath"]],
      [{ backOff: -1 }, "number", ["backOff"]],
      [{ fullCircle: "yes" }, "true nor false", ["fullCircle"]],
      [{ comments: { semicolons: true } }, '"semicolon"', ["comments", "semicolons"]],
      [{ offsets: ["G54.1 P9-P1"] }, "backward", ["offsets", "0"]],
      [{ offsets: [{ code: "G54.1", range: [1, 2] }] }, "nearest", ["offsets", "0"]],
      [{ codes: { T1: "ignored" } }, "no code", ["codes", "T1"]],
      [{ toString: "x" }, "unknown key", ["toString"]],
      [{ __proto__x: 1 }, "unknown key", ["__proto__x"]],
    ];
    for (const [overrides, part, path] of cases) {
      const { profile: p, details } = extendProfile(iso, overrides);
      expect([overrides, details[0]?.path]).toEqual([overrides, path]);
      expect(details[0]?.text).toContain(part);
      expect(parseLine("G0 X1", 0, p).problems).toEqual([]);
    }
  });

  it("is found by name or by extension", () => {
    expect(resolveDialect("g154").profile).toBe(g154);
    expect(resolveDialect({ extends: "rs274ngc", fullCircle: true }).profile).toMatchObject({ extends: "rs274ngc", fullCircle: true });
    expect(resolveDialect({ dwellWhole: "s" }).profile).toMatchObject({ extends: "iso", dwellWhole: "s" });
    expect(resolveDialect("rs274").problems[0]).toMatchObject({ path: [], text: expect.stringContaining('"rs274ngc"') });
    expect(resolveDialect({ extends: "izo" }).problems[0]).toMatchObject({ path: ["extends"], text: expect.stringContaining('"iso"') });
    for (const odd of [null, 5, [], undefined, { extends: 5 }]) expect(resolveDialect(odd).problems.length).toBeGreaterThan(0);
  });

  it("can give a dialect without expressions the macro form", () => {
    const { profile: p } = extendProfile(bare, { expressions: "macro" });
    expect(parseLine("WHILE[#100LT5]DO1", 0, p).problems).toEqual([]);
    expect(parseLine("#100=5 G1 X#100", 0, p).problems).toEqual([]);
  });
});

describe("the dialects page", () => {
  it("is what the profiles say now", () => {
    const file = readFileSync(new URL("../../server/docs/dialects.md", import.meta.url), "utf8");
    expect(file).toBe(dialectsPage());
  });
});
