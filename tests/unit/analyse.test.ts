/** The whole analysis: bad input, what is not checked, switches, fixes that change no motion, and rules that fail. */
import * as fc from "fast-check";
import { describe, expect, test } from "vitest";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import type { Rule } from "../../server/src/engine/checks/rule.js";
import { samples } from "../../server/src/engine/checks/samples.js";
import { templateOf } from "../../server/src/engine/checks/wording.js";
import { type AnalyseOptions, type Analysis, analyse, analyseNow } from "../../server/src/engine/program.js";
import { applyFix, memoryHost } from "../support/cases.js";

const CLEAN = `O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X30 Y20
G43 H1 Z50
G91 G28 Z0
G90
M30
`;

function run(program: string, options: Partial<AnalyseOptions> = {}, files: Record<string, string> = {}): Analysis {
  const host = memoryHost(
    new Map(Object.entries({ "/w/p.nc": program, "/w/s.fixture.json": samples["two-stations"]?.text ?? "", ...files })),
  );
  return analyseNow(host, { program: "/w/p.nc", workspaceFolders: ["/w"], ...options });
}

function gaps(a: Analysis): string[] {
  return a.notChecked.map((n) => `${n.what.key} ${n.why.key}`);
}

describe("input that is not right", () => {
  test("a program that cannot be read", () => {
    const a = analyseNow(memoryHost(new Map()), { program: "/w/none.nc" });
    expect(a.complete).toBe(false);
    expect(gaps(a)).toContain("what.program why.unreadable");
    expect(a.dependencies).toContain("/w/none.nc");
  });
  test("no sidecar at all is told, and is complete", () => {
    const a = analyseNow(memoryHost(new Map([["/w/p.nc", CLEAN]])), { program: "/w/p.nc" });
    expect(gaps(a)).toContain("what.fixture why.no-fixture");
    expect(a.fixture).toBeUndefined();
    expect(a.complete).toBe(true);
  });
  test("two sidecars side by side: none is taken, both are named", () => {
    const a = run(CLEAN, {}, { "/w/t.fixture.json": "{}" });
    expect(a.fixtureFile).toBeUndefined();
    expect(a.findings.map((f) => f.rule)).toContain("fixture-format");
    expect(a.complete).toBe(false);
  });
  test("a broken sidecar is a finding, and the program is still read", () => {
    const a = run("G0 X\nM30\n", {}, { "/w/s.fixture.json": "{ nonsense" });
    expect(a.findings.map((f) => f.rule)).toEqual(expect.arrayContaining(["fixture-format", "syntax"]));
    expect(a.complete).toBe(false);
    expect(gaps(a)).toContain("what.fixture why.fixture-unusable");
  });
  test("any bytes: nothing is thrown, and every place lies in its file", () => {
    const words = fc.constantFrom(
      "G0",
      "G1",
      "G54",
      "G54.1",
      "P3",
      "X10",
      "Y-5.5",
      "Z[#1+2]",
      "#1=3",
      "M98",
      "P100",
      "M99",
      "T2 M6",
      "G43 H2",
      "/",
      "%",
      "O100",
      "(ALLOW syntax: x)",
      "IF[#1EQ2]GOTO5",
      "N5",
      "G10 L2 P1",
      "G91",
      "G81 R2 Z-3 F50",
      "\n",
      "\r\n",
      ";",
    );
    const noise = fc.oneof({ weight: 8, arbitrary: words }, { weight: 1, arbitrary: fc.string({ maxLength: 6 }) });
    fc.assert(
      fc.property(fc.array(noise, { maxLength: 60 }), (parts) => {
        const text = parts.join(" ");
        const a = run(text);
        const lines = text.split(/\r\n|\n|\r/).length;
        for (const f of a.findings) {
          if (f.place.file !== "/w/p.nc") continue;
          expect(f.place.range.line).toBeLessThan(lines);
          const messages = [f.message, ...f.related.map((r) => r.message), ...f.fixes.map((x) => x.title)];
          for (const { key, args } of messages) {
            const marks = [...(templateOf(f.rule, key) ?? "{no-template}").matchAll(/\{([A-Za-z0-9_-]+)\}/g)].map((m) => m[1] as string);
            expect(`${f.rule} ${key} lacks ${marks.filter((m) => args[m] === undefined).join()}`).toMatch(/lacks $/);
          }
        }
        expect(gaps(a).filter((g) => g.endsWith("why.internal"))).toEqual([]);
      }),
      { numRuns: 300, seed: 20 },
    );
  });
});

describe("options", () => {
  test("levels of the editor: unknown rules and levels are told", () => {
    const a = run(CLEAN, { levels: { "no-such-rule": "off", "clamp-cut": "loud" as "off" } });
    expect(gaps(a)).toEqual(expect.arrayContaining(["what.level why.unknown-rule", "what.level why.unknown-level"]));
  });
  test("the sidecar's level wins over the editor's", () => {
    const text = (samples["two-stations"]?.text ?? "").replace(
      '"units": "mm",',
      '"units": "mm", "levels": { "offset-unmapped": "information" },',
    );
    const program = CLEAN.replace("G54", "G58");
    expect(run(program, { levels: { "offset-unmapped": "warning" } }).findings.find((f) => f.rule === "offset-unmapped")?.level).toBe(
      "warning",
    );
    const both = run(program, { levels: { "offset-unmapped": "warning" } }, { "/w/s.fixture.json": text });
    expect(both.findings.find((f) => f.rule === "offset-unmapped")?.level).toBe("information");
  });
  test("stations that are not loaded", () => {
    const a = run(CLEAN, { empty: ["A2", "Z9"] });
    expect(a.fixture?.stations.map((s) => s.empty)).toEqual([false, true]);
    expect(gaps(a)).toContain("what.empty why.unknown-station");
  });
  test("block skip on by request: only that run is made", () => {
    const program = CLEAN.replace("G0 G54", "/G0 G58 X0\nG0 G54");
    expect(run(program).findings.map((f) => f.rule)).toContain("offset-unmapped");
    expect(run(program, { blockSkip: true }).findings.map((f) => f.rule)).not.toContain("offset-unmapped");
  });
  test("what only the run with block skip on meets names what the switch leaves out", () => {
    // By hand: line 7 goes down to Z-15, 5 mm under the top of the fixed jaw (Z-10); line 8 lifts the tool, unless it is skipped.
    const told = (lift: string, options: Partial<AnalyseOptions> = {}) =>
      run(CLEAN.replace("X30 Y20", "X-10 Y-20").replace("G91 G28", `Z-15\n${lift}\n\n(across)\nX70\nZ50\nG91 G28`), options)
        .findings.filter((f) => f.rule === "clamp-rapid")
        .map((f) => [
          f.place.range.line + 1,
          f.data?.blockSkip,
          f.related.filter((r) => r.message.key === "related.skip-on").map((r) => r.place.range.line + 1),
        ]);
    expect(told("Z50")).toEqual([]);
    expect(told("/Z50")).toEqual([[11, "on", [8]]]);
    expect(told("F100 /Z50")).toEqual([[11, "on", [8]]]);
    // With it off as well, and where the state was asked for, there is nothing to add.
    expect(told("/F100")).toEqual([[11, undefined, []]]);
    expect(told("/Z50", { blockSkip: true })).toEqual([[11, undefined, []]]);
  });
  test("a sidecar by glob", () => {
    const a = run(CLEAN, { mappings: { "*.nc": "other.json" } }, { "/w/other.json": samples["three-stations"]?.text ?? "" });
    expect(a.fixture?.stations).toHaveLength(3);
  });
});

describe("calls", () => {
  test("a fault in a called program names its caller", () => {
    const a = run("O1\nG21 G90\nM98 P100\nM30\nO100\nG0 G58 X1\nM99\n");
    const f = a.findings.find((x) => x.rule === "offset-unmapped");
    expect(f?.place.range.line).toBe(5);
    expect(f?.related.map((r) => [r.message.key, r.place.range.line])).toEqual([["related.called-from", 2]]);
  });
  test("a subprogram by itself is not judged by a start state that nobody knows", () => {
    const a = run("O100\nX10 Y10\nG1 Z-5\nM99\n");
    expect(a.findings.map((f) => f.rule)).toEqual([]);
  });
});

describe("slices", () => {
  test("the answer does not depend on where it was interrupted, and there are interruptions", () => {
    const long = CLEAN.replace("G91 G28", `${"X10 Y10\nX20 Y20\n".repeat(600)}G91 G28`);
    const host = memoryHost(
      new Map([
        ["/w/p.nc", long],
        ["/w/s.fixture.json", samples["two-stations"]?.text ?? ""],
      ]),
    );
    const slices = analyse(host, { program: "/w/p.nc" });
    let count = 0;
    let result = slices.next();
    while (result.done !== true) {
      count++;
      result = slices.next();
    }
    expect(count).toBeGreaterThan(10);
    expect(result.value.findings).toEqual(analyseNow(host, { program: "/w/p.nc" }).findings);
  });
});

describe("rules", () => {
  test("one that throws is told as not checked, the others go on", () => {
    const broken: Rule = {
      id: "made-up",
      level: "error",
      summary: "",
      docs: "",
      messages: {},
      check(cx) {
        const step = cx.run.steps[4];
        if (step !== undefined) cx.blockPlace(step);
        throw new Error("on purpose");
      },
    };
    const list = rules as Rule[];
    list.push(broken);
    try {
      const a = run(CLEAN.replace("G54", "G58"));
      expect(a.complete).toBe(false);
      const told = a.notChecked.find((n) => n.why.key === "why.internal");
      expect(told?.what.args).toEqual({ rule: "made-up" });
      expect(told?.why.args).toEqual({ line: 6, error: "on purpose" });
      expect(a.findings.map((f) => f.rule)).toContain("offset-unmapped");
    } finally {
      list.pop();
    }
  });
  test("ids are unique and every rule has its page's parts", () => {
    expect(new Set(rules.map((r) => r.id)).size).toBe(rules.length);
    for (const rule of rules) expect(`${rule.id} ${rule.summary}`).toMatch(/^[a-z-]+ [A-Z].+\.$/s);
  });
});

/** Everything about the motion but block numbers. */
function motion(a: Analysis): unknown {
  return a.run.moves.map((m) => [m.kind, m.role, m.from, m.to, m.rotaryTo, m.centre, m.sweep, m.feed, m.modal.tool, m.modal.offset]);
}

describe("fixes that may be applied without looking", () => {
  test("change no motion", () => {
    const program = `O1
G21 G17 G40 G49 G80 G90
(ALLOW clamp-cut: left from the old jaws)
T1 M6
S4000 M3
G0 G54 X30 Y20
G43 H1 Z50
G1 Z5 F500
G0 Z50
G55 X30 Y20
G1 Z5
G0 Z50
G91 G28 Z0
G90
T2 M6
S3000 M3
G0 X10 Y10
G43 H2 Z50
G1 Z5 F200
G91 G28 Z0
M30
`;
    const before = run(program);
    const fixes = before.findings.flatMap((f) => f.fixes.filter((x) => x.sameMotion).map((fix) => ({ rule: f.rule, fix })));
    expect(fixes.map((f) => f.rule)).toEqual(expect.arrayContaining(["allow-unused", "offset-inherited"]));
    for (const { rule, fix } of fixes) {
      const files = applyFix(fix, new Map([["/w/p.nc", program]]));
      const after = run(files.get("/w/p.nc") ?? "");
      expect([rule, motion(after)]).toEqual([rule, motion(before)]);
      expect(after.findings.filter((f) => f.rule === rule)).toEqual([]);
    }
  });
});
