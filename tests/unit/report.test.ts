/** Levels, allow comments and folding, on reports of an invented rule. */
import { describe, expect, test } from "vitest";
import { fixtureAllows, programAllows } from "../../server/src/engine/checks/allow.js";
import type { RawReport } from "../../server/src/engine/checks/context.js";
import { finish, foldByCause } from "../../server/src/engine/checks/report.js";
import type { Report, Rule } from "../../server/src/engine/checks/rule.js";
import { profileOf } from "../../server/src/engine/dialect/profiles.js";
import type { Finding, LevelSetting } from "../../server/src/engine/findings.js";
import type { Run } from "../../server/src/engine/machine/run.js";
import { parseSource } from "../../server/src/engine/syntax/parse.js";
import { placeOf } from "../../server/src/engine/text/place.js";

const run: Run = { sources: [], steps: [], moves: [], visits: [], writes: [], notes: [], seconds: 0, assumptions: [], complete: true };
const rule: Rule = { id: "made-up", level: "error", summary: "", docs: "", messages: { default: "text" }, check() {} };

function at(line: number, more: Partial<Report> = {}): RawReport {
  return { rule, run, report: { at: placeOf("/p.nc", { line, start: 0, end: 3 }), args: {}, ...more } };
}

function level(setting?: LevelSetting) {
  return () => setting;
}

function allows(text: string) {
  const profile = profileOf("iso");
  if (profile === undefined) throw new Error("iso is a built-in dialect");
  return programAllows(parseSource("/p.nc", text, profile));
}

function shape(f: Finding) {
  return { line: f.place.range.line, level: f.level, waived: f.waived, related: f.related.map((r) => r.place.range.line) };
}

describe("levels", () => {
  test("the rule's own, a setting, off", () => {
    expect(finish([at(0)], level(), [], new Set())[0]?.level).toBe("error");
    expect(finish([at(0)], level("warning"), [], new Set())[0]?.level).toBe("warning");
    expect(finish([at(0)], level("off"), [], new Set())).toEqual([]);
  });
  test("a level that the rule chose for the case is not raised", () => {
    expect(finish([at(0, { level: "information" })], level("error"), [], new Set())[0]?.level).toBe("information");
  });
});

describe("allow comments", () => {
  const text = "G0 X1\n(ALLOW made-up: the reason)\nG0 X2\nG0 X3\n";
  test("one alone on its line speaks for the next block only", () => {
    const list = allows(text);
    const used = new Set<(typeof list)[number]>();
    const found = finish([at(0), at(2), at(3)], level(), list, used);
    expect(found.map(shape)).toEqual([
      { line: 0, level: "error", waived: undefined, related: [] },
      { line: 2, level: "information", waived: "the reason", related: [] },
      { line: 3, level: "error", waived: undefined, related: [] },
    ]);
    expect(used.size).toBe(1);
  });
  test("beside a block it speaks for that block and the next", () => {
    const found = finish([at(0), at(1), at(2)], level(), allows("G0 X1 (ALLOW MADE-UP: WHY)\nG0 X2\nG0 X3\n"), new Set());
    expect(found.map((f) => f.waived)).toEqual(["WHY", "WHY", undefined]);
  });
  test("blank lines and comments between it and its block do not matter", () => {
    const found = finish([at(3)], level(), allows("(ALLOW made-up: why)\n\n(drill)\nG0 X2\n"), new Set());
    expect(found[0]?.waived).toBe("why");
  });
  test("without a reason it waives nothing, and counts as used", () => {
    const list = allows("(ALLOW made-up)\nG0 X2\n");
    const used = new Set<(typeof list)[number]>();
    expect(finish([at(1)], level(), list, used)[0]?.level).toBe("error");
    expect(used.size).toBe(1);
  });
  test("several rules in one comment; another rule is not waived", () => {
    expect(finish([at(1)], level(), allows("(ALLOW other, made-up: why)\nG0 X2\n"), new Set())[0]?.waived).toBe("why");
    expect(finish([at(1)], level(), allows("(ALLOW other: why)\nG0 X2\n"), new Set())[0]?.waived).toBeUndefined();
  });
  test("in a sidecar it speaks for the value below it", () => {
    const text = '{\n  // ALLOW made-up: rough blanks\n  "a": {\n    "b": 1\n  },\n  "c": 2\n}';
    const list = fixtureAllows("/f.json", text);
    const report = (line: number): RawReport => ({ rule, run, report: { at: placeOf("/f.json", { line, start: 4, end: 5 }), args: {} } });
    expect(finish([report(3), report(5)], level(), list, new Set()).map((f) => f.waived)).toEqual(["rough blanks", undefined]);
  });
});

describe("folding", () => {
  test("one place is one finding, its stations related", () => {
    const found = finish([at(4, { station: "A1" }), at(4, { station: "A2" }), at(4, { station: "A2" })], level(), [], new Set());
    expect(found).toHaveLength(1);
    expect(found[0]?.data).toEqual({ stations: ["A1", "A2"] });
    expect(found[0]?.related).toHaveLength(1);
  });
  test("the gravest of one place stands", () => {
    const found = finish([at(4, { level: "information" }), at(4)], level(), [], new Set());
    expect(found.map((f) => f.level)).toEqual(["error"]);
  });
  test("reports of one cause are one finding with related places", () => {
    const reports = [1, 5, 9].map((line) => ({ ...at(line).report, cause: "same" }));
    const found = finish(
      foldByCause(reports, "related.also").map((report) => ({ rule, run, report })),
      level(),
      [],
      new Set(),
    );
    expect(found.map(shape)).toEqual([{ line: 1, level: "error", waived: undefined, related: [5, 9] }]);
  });
  test("an allowed place does not hide the same fault at the others", () => {
    const list = allows("G0 X1 (ALLOW made-up: why)\nG0 X1\nG0 X3\nG0 X4\n");
    const found = finish([at(0, { cause: "same" }), at(2, { cause: "same" }), at(3, { cause: "same" })], level(), list, new Set());
    expect(found.map(shape)).toEqual([
      { line: 0, level: "information", waived: "why", related: [] },
      { line: 2, level: "error", waived: undefined, related: [3] },
    ]);
  });
  test("sorted by file, line and column", () => {
    const found = finish([at(9), at(2), at(5)], level(), [], new Set());
    expect(found.map((f) => f.place.range.line)).toEqual([2, 5, 9]);
  });
});
