/**
 * What every rule stands on: levels, waivers, folding and order of findings, their wording, the context that a rule is given, the
 * pages of the reference. On reports of invented rules and on runs written by hand. Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { covers, fixtureAllows, programAllows } from "../../server/src/engine/checks/allow.js";
import { unusedAllows } from "../../server/src/engine/checks/allow-unused.js";
import { blockPlaceOf, createContext, findWord, type RawReport, sourceOf, wordValue } from "../../server/src/engine/checks/context.js";
import { rulePages } from "../../server/src/engine/checks/generate.js";
import { reportNotes } from "../../server/src/engine/checks/notes.js";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import { finish, finishing, foldByCause, foldNotChecked, sortFindings } from "../../server/src/engine/checks/report.js";
import type { Report, Rule } from "../../server/src/engine/checks/rule.js";
import { samples } from "../../server/src/engine/checks/samples.js";
import {
  addLanguage,
  allTemplates,
  decimal,
  renderArg,
  renderMessage,
  setUsualLocale,
  templateOf,
  usualLanguage,
} from "../../server/src/engine/checks/wording.js";
import type { Finding, Level, LevelSetting, Note } from "../../server/src/engine/findings.js";
import type { Call, Run, Step } from "../../server/src/engine/machine/run.js";
import { parseSource } from "../../server/src/engine/syntax/parse.js";
import { fixture, move, placeAt, profile, run as sample } from "../support/analysis.js";

const rule = (id: string, level: Level = "error"): Rule => ({
  id,
  level,
  summary: "",
  docs: "",
  messages: { default: "text" },
  check() {},
});
const MADE_UP = rule("made-up");
const other: Run = { ...sample };

function at(line: number, more: Partial<Report> = {}, of: Rule = MADE_UP, run: Run = sample): RawReport {
  return { rule: of, run, report: { at: placeAt("/shop/part.nc", line, 0, 3), args: {}, ...more } };
}

function done(raw: readonly RawReport[], level?: LevelSetting, allows: Parameters<typeof finish>[2] = []): Finding[] {
  return finish(raw, () => level, allows, new Set());
}

/** Line, level and related places: `4 error; 5 related.also()`. */
function told(f: Finding): string {
  const also = f.related.map((r) => `; ${r.place.range.line} ${r.message.key}(${Object.values(r.message.args).map(String).join()})`);
  return `${f.place.range.line} ${f.level}${f.waived === undefined ? "" : ` [${f.waived}]`}${also.join("")}`;
}

function iso(text: string) {
  return parseSource("/shop/part.nc", text, profile);
}

describe("levels of reports", () => {
  it("the rule's own, the report's, a setting; off takes it away", () => {
    expect(done([at(0)]).map(told)).toEqual(["0 error"]);
    expect(done([at(0, {}, rule("r", "information"))]).map(told)).toEqual(["0 information"]);
    expect(done([at(0)], "warning").map(told)).toEqual(["0 warning"]);
    expect(done([at(0, { level: "information" })], "error").map(told)).toEqual(["0 information"]);
    expect(done([at(0)], "off")).toEqual([]);
  });
  it("what a report says is in the finding, and what it does not say is empty", () => {
    const [bare] = done([at(0)]);
    expect(bare).toEqual({
      rule: "made-up",
      level: "error",
      message: { key: "default", args: {} },
      place: placeAt("/shop/part.nc", 0, 0, 3),
      station: undefined,
      related: [],
      data: undefined,
      fixes: [],
      waived: undefined,
    });
    const fix = { title: { key: "fix.x", args: {} }, changes: [], sameMotion: true };
    const [full] = done([at(0, { key: "other", args: { a: 1 }, station: "A1", data: { n: 2 }, fixes: [fix] })]);
    expect(full).toMatchObject({ message: { key: "other", args: { a: 1 } }, station: "A1", data: { n: 2 }, fixes: [fix] });
  });
});

describe("the calls that led to a block", () => {
  const step = (line: number, call: Partial<Call>, of: Step = sample.steps[0] as Step): Step => ({
    ...of,
    block: { ...of.block, line },
    call: { ...of.call, ...call },
  });
  it("innermost first, up to the main program; a place that is told already is not told again", () => {
    const run = { ...sample, steps: [step(1, {}), step(2, { caller: 0 }), step(3, { caller: 1 })] };
    const report = (more: Partial<Report>) => done([at(3, more, MADE_UP, run)]).map(told);
    expect(report({ step: 2 })).toEqual(["3 error; 2 related.called-from(); 1 related.called-from()"]);
    expect(report({ step: 0 })).toEqual(["3 error"]);
    expect(report({})).toEqual(["3 error"]);
    expect(report({ step: -1 })).toEqual(["3 error"]);
    expect(report({ step: 9 })).toEqual(["3 error"]);
    const cut = { place: blockPlaceOf(run, run.steps[1] as Step), message: { key: "related.cut", args: {} } };
    expect(report({ step: 2, related: [cut] })).toEqual(["3 error; 2 related.cut(); 1 related.called-from()"]);
  });
  it("no more than eight, and none that leads nowhere", () => {
    const deep = { ...sample, steps: Array.from({ length: 12 }, (_, i) => step(i, { caller: i - 1 })) };
    expect(done([at(20, { step: 11 }, MADE_UP, deep)])[0]?.related.map((r) => r.place.range.line)).toEqual([10, 9, 8, 7, 6, 5, 4, 3]);
    expect(done([at(20, { step: 8 }, MADE_UP, deep)])[0]?.related).toHaveLength(8);
    const lost = { ...sample, steps: [step(1, { caller: 7 })] };
    expect(done([at(20, { step: 0 }, MADE_UP, lost)])[0]?.related).toEqual([]);
  });
});

describe("one place, one rule, one finding", () => {
  it("the first of the gravest stands", () => {
    const of = (...levels: Level[]) =>
      done(levels.map((level, n) => at(4, { level, args: { n } }))).map((f) => [f.level, f.message.args.n]);
    expect(of("information", "error")).toEqual([["error", 1]]);
    expect(of("warning", "information")).toEqual([["warning", 0]]);
    expect(of("information", "warning", "error", "error")).toEqual([["error", 2]]);
  });
  it("the others lend their stations, once each, by the block that called; related places, once each, where the station is the same", () => {
    const from = (line: number) => ({ place: placeAt("/shop/part.nc", line, 0, 1), message: { key: "related.called-from", args: {} } });
    const cut = { place: placeAt("/shop/part.nc", 7, 0, 1), message: { key: "related.cut", args: {} } };
    const found = done([
      at(4, { station: "A1", related: [from(1)] }),
      at(4, { station: "A2", related: [cut, from(2)] }),
      at(4, { station: "A2", related: [from(3)] }),
      at(4, { station: "A3" }),
      at(4, { station: "A1", related: [from(1), cut] }),
      at(4, { related: [cut] }),
    ]);
    expect(found.map(told)).toEqual([
      "4 error; 1 related.called-from(); 2 related.also-at(A2); 3 related.called-from(); 4 related.also-at(A3); 7 related.cut()",
    ]);
    expect(found[0]?.data).toEqual({ stations: ["A1", "A2", "A3"] });
  });
  it("one station, or none: no list; what the finding says stays beside the list", () => {
    expect(done([at(4, { station: "A1", data: { n: 1 } }), at(4, { station: "A1" })])[0]?.data).toEqual({ n: 1 });
    expect(done([at(4, { data: { n: 1 } }), at(4, { station: "A1" })])[0]?.data).toEqual({ n: 1 });
    expect(done([at(4, { station: "A1", data: { n: 1 } }), at(4, { station: "A2" })])[0]?.data).toEqual({ n: 1, stations: ["A1", "A2"] });
  });
  it("other rules, other columns and ends are other places; faults of the text are told apart by their words", () => {
    const place = (column: number, endColumn: number, endLine = 4) => placeAt("/shop/part.nc", 4, column, endColumn, endLine);
    expect(
      done([at(4), at(4, {}, rule("b")), at(4, { at: place(1, 3) }), at(4, { at: place(0, 4) }), at(4, { at: place(0, 3, 5) })]),
    ).toHaveLength(5);
    expect(done([at(4), at(4, { at: placeAt("/shop/b.nc", 4, 0, 3) })])).toHaveLength(2);
    for (const id of ["syntax", "fixture-format"]) {
      const of = (key: string, args: Report["args"]) => at(4, { key, args }, rule(id));
      expect(done([of("a", {}), of("b", {}), of("a", { n: 1 }), of("a", {})]), id).toHaveLength(3);
    }
    expect(done([at(4, { key: "a" }), at(4, { key: "b" })])).toHaveLength(1);
  });
});

describe("one cause, one finding", () => {
  const cause = (line: number, more: Partial<Report> = {}) =>
    at(line, { cause: "c", relatedKey: "related.again", args: { n: line }, ...more });
  it("the first stands, the others are related in their own words, and the gravest level counts", () => {
    expect(done([cause(1), cause(5), cause(9)]).map(told)).toEqual(["1 error; 5 related.again(5); 9 related.again(9)"]);
    expect(
      done([cause(1, { level: "information" }), cause(5, { level: "warning" }), cause(9, { level: "information" })]).map(told),
    ).toEqual(["1 warning; 5 related.again(5); 9 related.again(9)"]);
    expect(done([at(1, { cause: "c" }), at(2, { cause: "c" })]).map(told)).toEqual(["1 error; 2 related.also()"]);
    expect(done([cause(1), cause(5, { cause: "d" })])).toHaveLength(2);
    expect(done([cause(1), { ...cause(5), rule: rule("b") }])).toHaveLength(2);
  });
  it("with the stations of all, each once", () => {
    const stations = (...ids: (string | undefined)[]) =>
      done(ids.map((station, n) => cause(n, station === undefined ? {} : { station })))[0]?.data;
    expect(stations("A1", "A2", "A1", "A3")).toEqual({ stations: ["A1", "A2", "A3"] });
    expect(stations("A1", "A1")).toBeUndefined();
    expect(stations(undefined, "A1")).toBeUndefined();
    // Two at one place are two already.
    expect(done([cause(1, { station: "A1" }), cause(1, { station: "A2" }), cause(3, { station: "A3" })])[0]?.data).toEqual({
      stations: ["A1", "A2", "A3"],
    });
    expect(done([cause(1, { data: { stations: ["B1", 2, "B2"] } }), cause(3, { station: "A3" })])[0]?.data).toEqual({
      stations: ["B1", "B2", "A3"],
    });
  });
  it("causes are named within one run; a block that both runs pass is one place", () => {
    const two = (line: number) => ({ ...cause(line), run: other });
    expect(done([cause(1), two(5)])).toHaveLength(2);
    expect(done([cause(1), two(1)])).toHaveLength(1);
    // A report without a cause at a place that has one in the other run.
    expect(done([cause(1), cause(3), { ...at(3), run: other }]).map(told)).toEqual(["1 error; 3 related.again(3)"]);
    expect(done([at(3), cause(3), cause(5)]).map(told)).toEqual(["3 error; 5 related.again(5)"]);
  });
  it("a place that the first run has listed as the same fault again is not told by the second", () => {
    const again = (line: number, key = "related.again") => ({ place: placeAt("/shop/part.nc", line, 0, 3), message: { key, args: {} } });
    const one = at(1, { related: [again(5), again(9)] });
    expect(
      done([one, at(5, {}, MADE_UP, other), at(9, {}, MADE_UP, other), at(12, {}, MADE_UP, other)]).map((f) => f.place.range.line),
    ).toEqual([1, 12]);
    // By the run itself, under another word, by another rule, at another place, and where one of the two is waived.
    expect(done([one, at(5)])).toHaveLength(2);
    expect(done([at(1, { related: [again(5, "related.also")] }), at(5, {}, MADE_UP, other)])).toHaveLength(2);
    expect(done([one, at(5, {}, rule("b"), other)])).toHaveLength(2);
    expect(done([one, at(6, {}, MADE_UP, other)])).toHaveLength(2);
    const list = programAllows(iso("\n\n\n\n\nG0 (ALLOW made-up: why)\n"));
    expect(done([one, at(5, {}, MADE_UP, other)], undefined, list)).toHaveLength(2);
    // The first run that lists it counts.
    expect(done([one, at(2, { related: [again(5)] }, MADE_UP, other), at(5, {}, MADE_UP, other)]).map((f) => f.place.range.line)).toEqual([
      1, 2,
    ]);
  });
  it("foldByCause words the places that follow, unless a report words its own", () => {
    expect(foldByCause([{ at: placeAt("/f", 1, 0, 1), args: {}, cause: "c" }], "related.x")).toEqual([
      { at: placeAt("/f", 1, 0, 1), args: {}, cause: "c", relatedKey: "related.x" },
    ]);
    expect(foldByCause([{ at: placeAt("/f", 1, 0, 1), args: {}, cause: "c", relatedKey: "own" }], "related.x")[0]?.relatedKey).toBe("own");
  });
});

describe("what an allow comment waives", () => {
  const allows = (text: string) => programAllows(iso(text));
  it("with a reason its block and the next, as information with the reason; it counts as used with and without one", () => {
    const list = allows("G0 X1 (ALLOW made-up: why)\n\nG0 X2\nG0 X3\n");
    expect(done([at(0), at(1), at(2), at(3)], undefined, list).map(told)).toEqual([
      "0 information [why]",
      "1 error",
      "2 information [why]",
      "3 error",
    ]);
    for (const text of ["(ALLOW made-up)\nG0", "(ALLOW made-up: )\nG0", "(ALLOW made-up:)\nG0", "(allow MADE-UP)\nG0"]) {
      const silent = allows(text);
      const used = new Set<(typeof silent)[number]>();
      expect(finish([at(1)], () => undefined, silent, used).map(told), text).toEqual(["1 error"]);
      expect(used.size, text).toBe(1);
    }
  });
  it("of two the one with a reason counts; one for another rule, or in another file, does not", () => {
    const both = allows("(ALLOW made-up)\nG0 X1 (ALLOW made-up: why)\n");
    expect(done([at(1)], undefined, both).map(told)).toEqual(["1 information [why]"]);
    expect(done([at(1)], undefined, allows("(ALLOW other-rule: why)\nG0\n")).map(told)).toEqual(["1 error"]);
    expect(done([at(1, { at: placeAt("/shop/b.nc", 1, 0, 1) })], undefined, allows("(ALLOW made-up: why)\nG0\n")).map(told)).toEqual([
      "1 error",
    ]);
  });
  it("declared where the state was brought about", () => {
    const list = allows("G52 X1 (ALLOW made-up: why)\nG0 X1\nG0 X2\nG55\n");
    expect(done([at(3, { declared: placeAt("/shop/part.nc", 0, 0, 1) }), at(2)], undefined, list).map(told)).toEqual([
      "2 error",
      "3 information [why]",
    ]);
  });
  it("waived and not waived of one cause are two; off is not counted as a cause", () => {
    const list = allows("G0 X1 (ALLOW made-up: why)\n\n\nG0 X3\n");
    const cause = (line: number) => at(line, { cause: "c" });
    expect(done([cause(0), cause(2), cause(4)], undefined, list).map(told)).toEqual(["0 information [why]", "2 error; 4 related.also()"]);
  });
  it("a fault that only follows from one that stands is left out; from one that is waived or switched off it is not", () => {
    const step = 0;
    const cut = at(5, { step }, rule("clamp-rapid"));
    const length = at(0, { step }, rule("length-missing"));
    const rulesOf = (list: Finding[]) => list.map((f) => f.rule);
    expect(rulesOf(done([length, cut]))).toEqual(["length-missing"]);
    expect(rulesOf(done([length, cut], undefined, allows("G0 (ALLOW length-missing: why)\n")))).toEqual(["length-missing", "clamp-rapid"]);
    expect(rulesOf(done([length, cut], undefined, allows("G0 (ALLOW length-missing)\n")))).toEqual(["length-missing"]);
    expect(rulesOf(finish([length, cut], (id) => (id === "length-missing" ? "off" : undefined), [], new Set()))).toEqual(["clamp-rapid"]);
  });
  it.each([
    ["(ALLOW a)", ["a"], undefined],
    ["(ALLOW A-B : why not )", ["a-b"], "why not"],
    ["( ALLOW a , b-c,d: x: y )", ["a", "b-c", "d"], "x: y"],
    ["(ALLOW a: cut", ["a"], "cut"],
    ["(allow a:why)", ["a"], "why"],
    ["; ALLOW a: why", ["a"], "why"],
  ])("%s", (text, ids, reason) => {
    expect(allows(`G0 ${text}`).map(({ rules: r, reason: why }) => [r, why])).toEqual([[ids, reason]]);
  });
  it.each(["(ALLOWED a: x)", "(ALLOW: x)", "(ALLOW 1: x)", "(WE ALLOW a: x)", "(ALLOW a b: x)", "(ALLOW a,: x)", "(ALLOWa: x)"])(
    "%s is none",
    (text) => {
      expect(allows(`G0 ${text}`)).toEqual([]);
    },
  );
  it("what is a block: words, assignments, control, a program number, a problem", () => {
    for (const next of ["G0", "#1=2", "GOTO 5", "O5", "!!!"])
      expect(
        allows(`(ALLOW a: x)\n\n(c)\nN5\n${next}\n`).map((a) => a.lines),
        next,
      ).toEqual([[0, 4]]);
    expect(allows("(ALLOW a: x)\n\n").map((a) => a.lines)).toEqual([[0]]);
    expect(allows("G0 (ALLOW a: x) X1").map((a) => [a.kind, a.place])).toEqual([["program", placeAt("/shop/part.nc", 0, 3, 15)]]);
  });
  it("in a sidecar: from the key to the end of its value", () => {
    const text = '{\n  // ALLOW r: rough\n  "a": [1,\n    2], "b": 3\n}';
    const [allow] = fixtureAllows("/f.json", text);
    if (allow === undefined) throw new Error("there is an allow");
    expect([allow.rules, allow.reason, allow.kind, allow.lines]).toEqual([["r"], "rough", "fixture", []]);
    const at = (line: number, column: number, file = "/f.json") => covers(allow, placeAt(file, line, column, column + 1));
    const { target } = allow;
    expect(target).toMatchObject({ line: 2, endLine: 3, endColumn: 6 });
    const start = target?.column ?? 0;
    expect([at(2, start - 1), at(2, start), at(2, 9), at(3, 0), at(3, 5), at(3, 6), at(4, 0), at(1, 9), at(2, start, "/g.json")]).toEqual([
      false,
      true,
      true,
      true,
      true,
      false,
      false,
      false,
      false,
    ]);
    expect(fixtureAllows("/f.json", '{\n  // ALLOW r\n  "a": 1\n}').map((a) => a.reason)).toEqual([undefined]);
  });
  it("unused: no reason, no such rule, not needed where it was looked at", () => {
    const say = (text: string, used: boolean, looked = (_: string) => true) => {
      const list = allows(text);
      return unusedAllows(list, new Set(used ? list : []), ["clamp-cut", "clamp-near"], looked).map(
        (r) => `${r.key ?? "default"} ${Object.values(r.args).join()} ${r.fixes?.length ?? 0}`,
      );
    };
    expect(say("G0 (ALLOW clamp-cut: x)", false)).toEqual(["default clamp-cut 1"]);
    expect(say("G0 (ALLOW clamp-cut, clamp-near: x)", false)).toEqual(["default clamp-cut, clamp-near 1"]);
    expect(say("G0 (ALLOW clamp-cut: x)", true)).toEqual([]);
    expect(say("G0 (ALLOW clamp-cut: x)", false, () => false)).toEqual([]);
    expect(say("G0 (ALLOW clamp-cut, clamp-near: x)", false, (id) => id === "clamp-cut")).toEqual([]);
    expect(say("G0 (ALLOW clamp-cut)", true)).toEqual(["reason clamp-cut 0"]);
    expect(say("G0 (ALLOW clamp-cut, clamp-neer: x)", true)).toEqual(["near clamp-neer,clamp-near 0"]);
    const [comment] = allows("G0 (ALLOW clamp-cut: x)");
    const [report] = unusedAllows(comment === undefined ? [] : [comment], new Set(), ["clamp-cut"], () => true);
    expect(report?.at).toEqual(comment?.place);
    expect(report?.fixes).toEqual([
      { title: { key: "fix.remove", args: {} }, changes: [{ place: comment?.removal, text: "" }], sameMotion: true },
    ]);
  });
  it("is taken away with the blanks before it, or with its line where it stands alone", () => {
    const removed = (text: string) => allows(text).map(({ removal: { range: r } }) => [r.line, r.column, r.endLine, r.endColumn]);
    expect(removed("G0 X1  (ALLOW clamp-cut: x)\nM30")).toEqual([[0, 5, 0, 27]]);
    expect(removed("G0 (ALLOW clamp-cut: x) X1")).toEqual([[0, 2, 0, 23]]);
    expect(removed("G0\n  (ALLOW clamp-cut: x) \nM30")).toEqual([[1, 0, 2, 0]]);
    expect(removed("N10 (ALLOW clamp-cut: x)\nM30")).toEqual([[0, 3, 0, 24]]);
    // The last line of a text has no line behind it to close up to.
    expect(removed("G0\n (ALLOW clamp-cut: x)")).toEqual([[1, 0, 1, 21]]);
    const sidecar = (text: string) =>
      fixtureAllows("/f.json", text).map(({ removal: { range: r } }) => [r.line, r.column, r.endLine, r.endColumn]);
    expect(sidecar('{\n  // ALLOW r: x\n  "a": 1\n}')).toEqual([[1, 0, 2, 0]]);
    expect(sidecar('{\n  "a": 1 // ALLOW r: x\n}')).toEqual([[1, 8, 1, 22]]);
    expect(sidecar('{\n  /* ALLOW r: x\n   y */ "a": 1\n}')).toEqual([[1, 0, 2, 7]]);
  });
});

describe("the order of findings", () => {
  const f = (file: string, line: number, column: number, level: Level, id: string): Finding => ({
    ...(done([at(0)])[0] as Finding),
    rule: id,
    level,
    place: placeAt(file, line, column, column + 1),
  });
  it("by file, line, column, level and rule", () => {
    const right = [
      f("/a", 9, 9, "information", "z"),
      f("/b", 1, 9, "information", "z"),
      f("/b", 2, 3, "information", "z"),
      f("/b", 2, 4, "error", "z"),
      f("/b", 2, 4, "warning", "y"),
      f("/b", 2, 4, "information", "a"),
      f("/b", 2, 4, "information", "b"),
    ];
    expect(sortFindings([...right].reverse())).toEqual(right);
    expect(sortFindings(right)).toEqual(right);
  });
  it("what is not checked is told once, in its order", () => {
    const n = (what: string, why: string) => ({ what: { key: what, args: {} }, why: { key: why, args: {} } });
    expect(foldNotChecked([n("a", "x"), n("b", "x"), n("a", "x"), n("a", "y")])).toEqual([n("a", "x"), n("b", "x"), n("a", "y")]);
  });
  it("many reports in slices are the same as few", () => {
    const many = Array.from({ length: 600 }, (_, n) => at(n, { args: { n } }));
    expect(done(many)).toHaveLength(600);
    // An editor waits between two yields: one behind the search for causes, and one for each 250 of the 600 reports and 600 places.
    const slices = (raw: readonly RawReport[]): number => {
      const it = finishing(raw, () => undefined, [], new Set());
      let n = 0;
      while (it.next().done !== true) n++;
      return n;
    };
    expect([slices(many), slices([]), slices(many.slice(0, 3))]).toEqual([5, 1, 1]);
  });
});

describe("what a rule is given", () => {
  const source = iso("N10 G54.1 P3 X1. (c)\nG[53+1] Y#1\n  G0 X2  \n");
  const blocks = source.blocks;
  const stepOf = (n: number, values?: number[]): Step => ({
    ...(sample.steps[0] as Step),
    block: blocks[n] as Step["block"],
    values: values === undefined ? undefined : Float64Array.from(values),
  });
  const run: Run = { ...sample, sources: [source] };
  const subject = {
    run,
    fixture: fixture({ offsetName: (key: string) => (key === "G54" ? "54" : undefined) } as never),
    profile,
    clearances: undefined,
    blockSkip: false,
    skippedRun: undefined,
    entry: "main" as const,
    notes: [] as Note[],
  };
  const given = (change: object = {}, messages: Rule["messages"] = { "what.own": "x" }) => {
    const out = { reports: [] as RawReport[], notChecked: [] as never[] };
    const seen: Step[] = [];
    const of = { ...MADE_UP, messages };
    return { cx: createContext(of, { ...subject, ...change }, out, (s) => seen.push(s)), out, seen, of };
  };
  it("words by letter and by code, with the values they had", () => {
    const plain = stepOf(0);
    expect(findWord(plain, "P")?.value).toBe(3);
    expect(findWord(plain, "G54.1")?.letter).toBe("G");
    for (const none of ["G54", "P3.1", "M54.1", "Z", "g54.1", "G54.10x", "G"])
      expect(findWord(plain, none) === undefined, none).toBe(none !== "G");
    const computed = stepOf(1, [54, Number.NaN]);
    expect(findWord(computed, "G54")?.letter).toBe("G");
    expect(findWord(computed, "G53")).toBeUndefined();
    expect(findWord(stepOf(1, [54.0000001, 0]), "G54")?.letter).toBe("G");
    expect(findWord(stepOf(1, [54.1, 0]), "G54")).toBeUndefined();
    const [g, y] = computed.block.words;
    if (g === undefined || y === undefined) throw new Error("there are two words");
    expect([wordValue(computed, g), wordValue(computed, y), wordValue(stepOf(1, []), g)]).toEqual([54, Number.NaN, Number.NaN]);
    expect(wordValue(computed, { ...g, value: 7 })).toBe(7);
    expect(wordValue(stepOf(0), plain.block.words[1] ?? g)).toBe(3);
  });
  it("places: the block without the space around it, a word, and which steps it asked about", () => {
    const { cx, seen } = given();
    const step = stepOf(2);
    expect(cx.blockPlace(step)).toEqual(placeAt("/shop/part.nc", 2, 2, 7));
    expect(cx.place(step)).toEqual(placeAt("/shop/part.nc", 2, 2, 7));
    expect(cx.place(step, { start: 5, end: 7 })).toEqual(placeAt("/shop/part.nc", 2, 5, 7));
    expect(cx.word(step, "X")?.value).toBe(2);
    expect(seen).toEqual([step, step, step, step]);
    expect(sourceOf(run, step)).toBe(source);
    expect(() => sourceOf(run, { ...step, source: 4 })).toThrow("source 4 of 1");
  });
  it("stations and offsets by the sidecar's names, else by the dialect's", () => {
    const { cx } = given();
    expect(cx.stationOf(move({ station: 0 }))?.id).toBe("A1");
    expect(cx.stationOf(move({ station: -1 }))).toBeUndefined();
    expect([cx.offsetName("G54"), cx.offsetName("G55"), cx.offsetName("P7")]).toEqual(["54", "G55", "G54.1 P7"]);
    const bare = given({ fixture: undefined }).cx;
    expect(bare.stationOf(move({ station: 0 }))).toBeUndefined();
    expect(bare.offsetName("G54")).toBe("G54");
  });
  it("reports with the run; what it could not look at in its own words, else in the common ones", () => {
    const { cx, out, of } = given();
    const report = at(1).report;
    cx.report(report);
    expect(out.reports).toEqual([{ rule: of, report, run }]);
    cx.notChecked({ key: "what.own", args: { n: 1 } }, { key: "why.bound", args: {} });
    expect(out.notChecked).toEqual([{ what: { key: "made-up/what.own", args: { n: 1 } }, why: { key: "why.bound", args: {} } }]);
  });
  it("notes of lower layers under its own name, with step, station, data, fixes and cause", () => {
    const note = (change: Partial<Note>): Note => ({
      rule: "made-up",
      place: placeAt("/shop/part.nc", 1, 0, 1),
      message: { key: "k", args: { n: 1 } },
      related: [],
      step: -1,
      ...change,
    });
    const reported = (n: Note, ...more: unknown[]) => {
      const { cx, out } = given({ notes: [note({ rule: "another" }), n] });
      (reportNotes as (...args: unknown[]) => void)(cx, "made-up", ...more);
      return out.reports.map((r) => r.report);
    };
    const bare = { at: placeAt("/shop/part.nc", 1, 0, 1), key: "k", args: { n: 1 }, related: [], fixes: [] };
    expect(reported(note({}))).toEqual([bare]);
    expect(reported(note({ step: 0 }))).toEqual([{ ...bare, step: 0 }]);
    expect(reported(note({ data: { station: "A2", n: 3 } }))).toEqual([{ ...bare, data: { station: "A2", n: 3 }, station: "A2" }]);
    expect(reported(note({ data: { station: 4 } }))).toEqual([{ ...bare, data: { station: 4 } }]);
    const fix = { title: { key: "fix", args: {} }, changes: [], sameMotion: false };
    expect(
      reported(
        note({}),
        () => [fix],
        () => ({ cause: "c", relatedKey: "r" }),
      ),
    ).toEqual([{ ...bare, fixes: [fix], cause: "c", relatedKey: "r" }]);
  });
});

describe("messages in words", () => {
  const mm = { units: "mm" } as const;
  it("numbers, with the decimals that they need", () => {
    expect([1, 0.5, 1 / 3, -0, 1e-9, -1e-9, 1200].map((n) => decimal(n, 3))).toEqual(["1", "0.5", "0.333", "0", "0", "0", "1200"]);
    expect([decimal(10, 0), decimal(0.4, 0)]).toEqual(["10", "0"]);
    expect([Number.NaN, Infinity, -Infinity].map((n) => decimal(n, 1))).toEqual(["unknown", "infinite", "-infinite"]);
    expect([0.12345, Number.NaN].map((n) => renderArg(n, mm))).toEqual(["0.1235", "unknown"]);
    expect(renderArg({ deg: Number.NaN }, mm)).toBe("an unknown angle");
    expect(renderArg({ deg: 0.00005 }, mm)).toBe("0.0001°");
    expect([254, 300.04].map((rate) => renderArg({ rate }, mm))).toEqual(["254 mm/min", "300 mm/min"]);
    expect(renderArg({ rate: 300 }, { units: "inch" })).toBe("11.81 inch/min");
  });
  it("times: seconds, minutes, hours", () => {
    const words = [0, 59.94, 59.99, 60, 61.4, 3599.4, 3600, 3629, 3630, 7200, 7320].map((seconds) => renderArg({ seconds }, mm));
    expect(words).toEqual(["0 s", "59.9 s", "60 s", "1 min", "1 min 1 s", "59 min 59 s", "1 h", "1 h", "1 h 1 min", "2 h", "2 h 2 min"]);
    expect(renderArg({ seconds: Number.NaN }, mm)).toBe("an unknown time");
  });
  it("a message begins small, but for a code", () => {
    addLanguage("yy", { "made-up": { k: "Nur So" } });
    const say = (key: string, args = {}) => renderMessage("call-target", { key, args }, mm);
    expect(say("fix.return")).toBe("write M99, which returns");
    expect(renderMessage("shift-everywhere", { key: "default", args: { axes: "X5" } }, mm)).toMatch(/^G92 X5 shifts/);
    expect(renderMessage("length-mismatch", { key: "default", args: {} }, mm)).toMatch(/^H\{h\} is not/);
    // Another language keeps its capitals.
    expect(renderMessage("made-up", { key: "k", args: {} }, { units: "mm", locale: "yy" })).toBe("Nur So");
    expect(renderMessage("no-rule", { key: "k", args: { a: { mm: 2 }, b: "x" } }, mm)).toBe("k 2 mm x");
    expect(renderMessage("no-rule", { key: "k", args: {} }, mm)).toBe("k");
  });
  it("texts: the rule's, the common ones, those of what is not checked, a rule's own among them", () => {
    expect(templateOf("clamp-cut", "related.called-from")).toBe("called from here");
    expect(templateOf("not-checked", "related.called-from")).toBeUndefined();
    expect(templateOf("not-checked", "what.holders")).toBe("holders, drill points and the width of the tool");
    expect(templateOf("not-checked", "length-missing/what.length")).toBe("length compensation of tool T{tool}");
    expect(templateOf("not-checked", "/what.length")).toBeUndefined();
    expect(templateOf("clamp-cut", "length-missing/what.length")).toBeUndefined();
    expect(templateOf("no-rule", "k")).toBeUndefined();
    const all = allTemplates();
    expect(Object.keys(all).sort()).toEqual([...rules.map((r) => r.id), "common", "not-checked"].sort());
    expect(all["call-target"]).toBe(rules.find((r) => r.id === "call-target")?.messages);
  });
  it("a language by its tag or by the first part of it, else by what the process speaks", () => {
    const words = {
      and: "und",
      unknown: "?",
      unknownLength: "?mm",
      unknownAngle: "?deg",
      unknownTime: "?s",
      phrase: (argument: string, text: string) => `${argument}=${text}`,
    };
    addLanguage(
      "ZZ",
      { common: { "related.also": "auch" }, "clamp-cut": { default: "da" }, "not-checked": { "what.holders": "h" } },
      words,
    );
    const inZz = (locale: string) => templateOf("clamp-cut", "default", locale);
    for (const locale of ["zz", "ZZ", "zz-AT", "zz_AT.UTF-8", "zz.UTF-8"]) expect(inZz(locale), locale).toBe("da");
    expect(inZz("zzz")).toBe(templateOf("clamp-cut", "default"));
    expect(templateOf("clamp-cut", "related.also", "zz")).toBe("auch");
    expect(templateOf("not-checked", "what.holders", "zz")).toBe("h");
    expect(templateOf("not-checked", "related.also", "zz")).toBeUndefined();
    expect(templateOf("not-checked", "clamp-cut/default", "zz")).toBe("da");
    const zz = { units: "mm", locale: "zz" } as const;
    expect(renderArg({ list: ["a", Number.NaN, { mm: Number.NaN }] }, zz, "n")).toBe("n=a, ? und ?mm");
    expect([renderArg({ deg: Number.NaN }, zz), renderArg({ seconds: Number.NaN }, zz), renderArg("t", zz)]).toEqual(["?deg", "?s", "=t"]);
    expect(usualLanguage()).toBeUndefined();
    setUsualLocale("zz");
    expect([usualLanguage(), renderArg({ mm: Number.NaN }, mm), templateOf("clamp-cut", "default")]).toEqual(["zz", "?mm", "da"]);
    setUsualLocale(undefined);
    expect(renderArg({ mm: Number.NaN }, mm)).toBe("an unknown length");
  });
});

describe("the pages of the reference", () => {
  const pages = rulePages();
  it("an index and a page for each rule", () => {
    expect([...pages.keys()]).toEqual(["README.md", ...rules.map((r) => `${r.id}.md`)]);
    const index = pages.get("README.md") ?? "";
    for (const r of rules) expect(index).toContain(`\n| [${r.id}](${r.id}.md) | ${r.level} | ${r.summary} |\n`);
    for (const [name, s] of Object.entries(samples))
      expect(index).toContain(`### ${name}\n\n${s.title}\n\n\`\`\`jsonc\n${s.text.trimEnd()}\n\`\`\`\n`);
    expect(index.startsWith("# Rules\n\n")).toBe(true);
  });
  it("a page: name, summary, level, and its examples in fences", () => {
    const page = pages.get("return-through-point.md") ?? "";
    expect(page).toMatch(/^# return-through-point\n\nAn absolute reference return [^\n]+\n\nLevel: error\.\n\n`G28 Z0` does not mean/);
    expect(page.match(/^\*\*Example\.\*\* /gm)).toHaveLength(3);
    expect(page.match(/^```nc$/gm)).toHaveLength(page.match(/^```$/gm)?.length ?? 0);
    for (const [name, text] of pages) expect(text, name).not.toMatch(/^~~~/m);
  });
});
