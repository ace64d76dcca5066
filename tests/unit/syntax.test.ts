import { describe, expect, it } from "vitest";
import type { Profile } from "../../server/src/engine/dialect/profile.js";
import { builtInProfiles, profileOf } from "../../server/src/engine/dialect/profiles.js";
import type { Block } from "../../server/src/engine/syntax/block.js";
import { evaluate } from "../../server/src/engine/syntax/evaluate.js";
import type { Value } from "../../server/src/engine/syntax/expression.js";
import { splitLines } from "../../server/src/engine/syntax/lexer.js";
import { syntaxMessages } from "../../server/src/engine/syntax/messages.js";
import { codeOf, findLabel, messageOf, parseLine, parseSource, partOfLine } from "../../server/src/engine/syntax/parse.js";
import { validateBlock } from "../../server/src/engine/syntax/validate.js";
import { slowness } from "../support/slowness.js";

function profile(name: string): Profile {
  const found = profileOf(name);
  if (found === undefined) throw new Error(`no dialect ${name}`);
  return found;
}

const iso = profile("iso");
const ngc = profile("rs274ngc");
const bare = profile("bare");

/** Keys of everything that is wrong with a line, with variables as given. */
function wrong(line: string, dialect: Profile, variables: ReadonlyMap<number, Value> = new Map()): string[] {
  const block = parseLine(line, 0, dialect);
  const keys = block.problems.map((p) => p.key);
  const read = (i: number): Value => variables.get(i) ?? 0;
  const values = block.words.map((w) => {
    if (w.expr === undefined) return w.value;
    const { value, problem } = evaluate(w.expr, read, dialect);
    if (problem !== undefined) keys.push(problem.key);
    return value ?? Number.NaN;
  });
  for (const p of validateBlock(block, values, dialect)) keys.push(p.key);
  return keys;
}

function words(block: Block): [string, number][] {
  return block.words.map((w) => [w.letter, w.value]);
}

// NISTIR 6556 §3.3 and Appendix E; grade in the second place: P published text, R its rule applied to a case chosen here.
const accepted: readonly (readonly [string, string, [string, number][]])[] = [
  [
    "g0x +0. 12 34y 7",
    "P §3.3",
    [
      ["G", 0],
      ["X", 0.1234],
      ["Y", 7],
    ],
  ],
  [
    "N99999 G0 X1",
    "R §3.3.1",
    [
      ["G", 0],
      ["X", 1],
    ],
  ],
  [
    "n0 g0 x1",
    "R §3.3.1",
    [
      ["G", 0],
      ["X", 1],
    ],
  ],
  ["x.5", "R App. E", [["X", 0.5]]],
  ["x5.", "R App. E", [["X", 5]]],
  ["x-.5", "R App. E", [["X", -0.5]]],
  ["x+005.500", "R App. E", [["X", 5.5]]],
  ["(MSG,hi)", "R §3.3.4", []],
  ["( m s G , hi)", "R §3.3.4", []],
  [
    "g0 x1 (one) (MSG,two)",
    "R §3.3.5",
    [
      ["G", 0],
      ["X", 1],
    ],
  ],
  [
    "/n1 g0 x1",
    "R App. E",
    [
      ["G", 0],
      ["X", 1],
    ],
  ],
  [
    "m7 m8",
    "P §2.1.2.7",
    [
      ["M", 7],
      ["M", 8],
    ],
  ],
];

const rejected: readonly (readonly [string, string, string])[] = [
  ["n000009 g0 x1", "P §3.3.1", "label-long"],
  ["n-5 g0 x1", "R App. E", "label-form"],
  ["n1.5 g0 x1", "R App. E", "label-form"],
  ["x.", "R App. E", "number-missing"],
  ["x+", "R App. E", "number-missing"],
  ["x", "R App. E", "number-missing"],
  ["x--3", "R App. E", "number-sign"],
  ["(a (b) c)", "R §3.3.4", "comment-nested"],
  ["g0 x1 (abc", "R §3.3.4", "comment-open"],
  ["x1 x2", "R §3.3.5", "letter-repeated"],
  ["g0 g1 x1", "R §3.3.5", "group-conflict"],
  ["g17 g18", "R §3.3.5", "group-conflict"],
  ["g54 g55", "R §3.3.5", "group-conflict"],
  ["m3 m5", "R §3.3.5", "group-conflict"],
  ["m0 m3 m6 m8 m48", "R §3.3.5", "m-words"],
  ["u1", "R App. E.3", "letter-unknown"],
  ["e2", "R App. E.3", "letter-unknown"],
  ["o100", "R App. E.3", "letter-unknown"],
  ["v3", "R App. E.3", "letter-unknown"],
  ["w4", "R App. E.3", "letter-unknown"],
  ["#0=1", "R §3.3.3", "variable-range"],
  ["#5400=1", "R §3.3.3", "variable-range"],
  ["#1.5=1", "R §3.3.3", "variable-range"],
  ["x sin30", "R App. E", "bracket-needed"],
  ["x atan[1]", "R App. E", "atan-pair"],
  ["g1 x asim[0.5]", "P Table 10", "unknown-text"],
  ["x-#1", "R App. E", "number-missing"],
  ["if [1] goto 5", "R §3.3.2", "unknown-text"],
  ["x [1 EQ 1]", "R §3.3.2.3", "unknown-text"],
  [`g0 x1 (${"a".repeat(250)})`, "P §3.3", "line-long"],
  // Appendix A and §3.5, conditions of the words of one block.
  ["G1 F100", "P §3.5.2", "axes-missing"],
  ["G2 I5", "P §3.5.3.2", "axes-missing"],
  ["G2 X5", "P §3.5.3.2", "word-needed"],
  ["G4 P-1", "P §3.5.4", "word-negative"],
  ["G10 L2 P0 X1", "P §3.5.5", "word-range"],
  ["G10 L2 P10 X1", "P §3.5.5", "word-range"],
  ["G10 L2 P1.5 X1", "P §3.5.5", "word-whole"],
  ["G10 L20 P1 X1", "P §3.5.5", "register-kind"],
  ["G43 H1.5", "P §3.5.11", "word-whole"],
  ["G43 H-1", "P §3.5.11", "word-range"],
  ["G43 H69", "P §3.5.11", "word-range"],
  ["G80 X1", "P §3.5.15", "axes-with-g80"],
  ["G81 X1 Z1 R2 L0", "P §3.5.16", "word-range"],
  ["G81 X1 Z1 R2 L1.5", "P §3.5.16", "word-whole"],
  ["G82 X1 Z1 R2 P-1", "P §3.5.16", "word-negative"],
  ["G83 X1 Z1 R2 Q0", "P §3.5.16.4", "word-positive"],
  ["G92", "P §3.5.18", "axes-missing"],
  ["S-1", "P §3.7.2", "word-negative"],
  ["T-1", "P §3.7.3", "word-range"],
  ["T69", "P §3.7.3", "word-range"],
  ["G1 G10 L2 P1 X1", "P §3.4", "axes-conflict"],
  ["D1 G0 X1", "P App. B.5", "word-stray"],
  ["G2 X1 Y1 I1 R1", "R §3.5.3", "arc-mixed"],
];

/** Processor time, which other processes on the machine do not lengthen. */
function millisecondsSince(before: NodeJS.CpuUsage): number {
  const { user, system } = process.cpuUsage(before);
  return (user + system) / 1000;
}

describe("RS274/NGC lines (NISTIR 6556)", () => {
  it.each(accepted)("accepts %s (%s)", (line, _grade, expected) => {
    expect(wrong(line, ngc)).toEqual([]);
    expect(words(parseLine(line, 0, ngc))).toEqual(expected);
  });

  it.each(rejected)("rejects %s (%s)", (line, _grade, key) => {
    expect(wrong(line, ngc)).toContain(key);
  });

  it("takes the longest label of five digits and no more (P §3.3.1)", () => {
    expect(parseLine("N99999 G0 X1", 0, ngc).label).toBe(99999);
    expect(parseLine("n000009 g0 x1", 0, ngc).label).toBeUndefined();
  });

  it("reads computed words as the numbers they stand for (P §3.5, §3.5.5)", () => {
    const value = (line: string, i: number, read: (n: number) => Value): Value => {
      const expr = parseLine(line, 0, ngc).words[i]?.expr;
      return expr === undefined ? Number.NaN : evaluate(expr, read, ngc).value;
    };
    expect(wrong("G[2*5] L[1+1] P1 X0", ngc)).toEqual([]);
    expect(value("G[2*5] L[1+1] P1 X0", 0, () => 0)).toBe(10);
    expect(value("G[2*5] L[1+1] P1 X0", 1, () => 0)).toBe(2);
    expect(wrong("G10 L#100 P1 X0", ngc, new Map([[100, 2]]))).toEqual([]);
    expect(wrong("G10 L#100 P1 X0", ngc, new Map([[100, 3]]))).toEqual(["register-kind"]);
  });

  it("does not read # inside a comment (P App. C.2 n0420)", () => {
    const block = parseLine("##1 = 0.375 (#1 is 2, so parameter 2 is set to 0.375)", 0, ngc);
    expect(block.problems).toEqual([]);
    expect(block.assignments).toHaveLength(1);
    expect(block.comments[0]?.text).toBe("#1 is 2, so parameter 2 is set to 0.375");
  });

  it("tells messages from comments (§3.3.4)", () => {
    const texts = ["(MSG,hi)", "( m s G , hi)", "(msg hi)"].map((line) => {
      const comment = parseLine(line, 0, ngc).comments[0];
      return comment && messageOf(comment, ngc);
    });
    expect(texts).toEqual(["hi", " hi", undefined]);
  });

  it("needs the second % where there is a first, or an end (P §3.1)", () => {
    const keys = (text: string): string[] => parseSource("f", text, ngc).problems.map((p) => p.key);
    expect(keys("%\ng0 x1\n%\nthis is no code")).toEqual([]);
    expect(parseSource("f", "%\ng0 x1\n%\nthis is no code", ngc).blocks.flatMap((b) => b.problems)).toEqual([]);
    expect(keys("%\ng0 x1\nm2")).toEqual(["percent-end-missing"]);
    expect(keys("g0 x1\nm2")).toEqual([]);
    expect(keys("g0 x1\nm30")).toEqual([]);
    expect(keys("g0 x1")).toEqual(["end-missing"]);
  });

  it("means the same in all 120 orders of a line (P §3.3.6)", () => {
    const segments = ["g40", "g1", "#3=15", "(foo)", "#4=-7.0"];
    const orders = permutations(segments);
    expect(orders).toHaveLength(120);
    for (const order of orders) {
      const block = parseLine(order.join(" "), 0, ngc);
      expect(block.problems).toEqual([]);
      expect(block.words.map((w) => codeOf(w, w.value)).sort()).toEqual(["G1", "G40"]);
      expect(block.comments.map((c) => c.text)).toEqual(["foo"]);
      const set = block.assignments.map((a) => [evaluate(a.index, () => 0, ngc).value, evaluate(a.value, () => 0, ngc).value]);
      expect(new Map(set as [number, number][])).toEqual(
        new Map([
          [3, 15],
          [4, -7],
        ]),
      );
    }
  });

  it("keeps parameter settings in written order, so that the last one wins (P §3.3.3)", () => {
    const values = (line: string): unknown[] => parseLine(line, 0, ngc).assignments.map((a) => evaluate(a.value, () => 15, ngc).value);
    expect(values("#3=15 #3=6")).toEqual([15, 6]);
    expect(values("#3=6 #3=15")).toEqual([6, 15]);
    const block = parseLine("#3=6 G1 x#3", 0, ngc);
    const x = block.words[1]?.expr;
    // The word is read before the setting acts: with #3 = 15 the line moves to X15.
    expect(x && evaluate(x, (i) => (i === 3 ? 15 : 0), ngc).value).toBe(15);
  });

  it("finds nothing in the canned-cycle program C.3, XY part (P)", () => {
    const program = `n0010 g20 (cycle test)
n0020 g17 g43 h1 m3 s1234 f16 (start in XY-plane)
n0030 g81 x3 y4 r0.2 z-1.1
n0040 x1 y0 r0 g91 l3 (three more g81's an inch apart)
n0050 y-2 r0.1 (one more g81)
n0060 g82 g90 x4 y5 r0.2 z-1.1 p0.6
n0070 x2 z-3.0 (one more G82)
n0080 g91 x-2 y2 r0 l4 (four more g82's)
n0090 g83 g90 x5 y6 r0.2 z-1.1 q0.21
n0100 g84 x6 y7 r0.2 z-1.1
n0110 g85 x7 y8 r0.2 z-1.1
n0120 g86 x8 y9 r0.2 z-1.1 p902.61
n0130 g87 x9 y10 r0.2 z-1.1 i0.231 j-0 k-3
n0135 g91 x1 r0.2 z-1.1 i0.231 j-0 k-3
n0140 g88 x10 y11 r0.2 z-1.1 p0.3333
n0150 g89 x11 y12 r0.2 z-1.1 p1.272
n0160 m4 (run spindle counterclockwise)`;
    for (const line of program.split("\n")) expect([line, wrong(line, ngc)]).toEqual([line, []]);
  });
});

function permutations<T>(items: readonly T[]): T[][] {
  if (items.length === 0) return [[]];
  return items.flatMap((item, i) => permutations([...items.slice(0, i), ...items.slice(i + 1)]).map((rest) => [item, ...rest]));
}

describe("lines of a file", () => {
  it("are those of an editor: CR LF, LF and CR each end one", () => {
    expect(splitLines("a\r\nb\nc\rd\n")).toEqual(["a", "b", "c", "d", ""]);
    expect(splitLines("")).toEqual([""]);
    expect(splitLines("\r\n\r\r\n")).toEqual(["", "", "", ""]);
    expect(splitLines("G0\u2028X1\u000bY1")).toEqual(["G0\u2028X1\u000bY1"]);
  });
});

describe("lines of the macro form (common practice, no source)", () => {
  it("reads words without blanks and in lower case, with exact columns", () => {
    const block = parseLine("N10 g0X1.5y-2", 3, iso);
    expect(block.problems).toEqual([]);
    expect(block.line).toBe(3);
    expect(block.label).toBe(10);
    expect(block.words.map((w) => [w.letter, w.value, w.point, w.start, w.end])).toEqual([
      ["G", 0, false, 4, 6],
      ["X", 1.5, true, 6, 10],
      ["Y", -2, false, 10, 13],
    ]);
    expect([block.start, block.end]).toEqual([0, 13]);
  });

  it("reads numbers with all their digits", () => {
    expect(parseLine("X123456.789012345", 0, iso).words[0]?.value).toBe(123456.789012345);
    expect(parseLine("X0.1234567890123456789", 0, iso).words[0]?.value).toBe(0.12345678901234568);
    expect(parseLine("X00000000000000000000000000000001.5", 0, iso).words[0]?.value).toBe(1.5);
    expect(parseLine("X-0", 0, iso).words[0]?.value).toBe(0);
  });

  it("reads block skip, plain, numbered and inside the block", () => {
    expect(parseLine("/G0 X1", 0, iso).skip).toBe(0);
    expect(parseLine("/3 N10 G0 X1", 0, iso)).toMatchObject({ skip: 3, label: 10, problems: [] });
    expect(parseLine("N10 /G0", 0, iso)).toMatchObject({ skip: 0, label: 10, problems: [] });
    expect(parseLine("G0 X1 /2 Y2", 0, iso)).toMatchObject({ skip: 2, skipFrom: 2, problems: [] });
    expect(parseLine("G0 X1 / Y2", 0, bare).problems.map((p) => p.key)).toEqual(["skip-inside"]);
  });

  it("reads program numbers by O and by :", () => {
    expect(parseLine("O0012 (PLATE)", 0, iso)).toMatchObject({ program: 12, programSpan: { start: 0, end: 5 }, problems: [] });
    expect(parseLine(":12", 0, iso)).toMatchObject({ program: 12, problems: [] });
    expect(parseLine(":12 G0", 0, bare)).toMatchObject({ label: 12, problems: [] });
    expect(parseLine("G0 O12", 0, iso).problems.map((p) => p.key)).toEqual(["program-late"]);
  });

  it("reads comments of both forms and says where one is not closed", () => {
    expect(parseLine("G0 (a) X1 ; b (c", 0, iso).comments.map((c) => [c.text, c.start, c.end])).toEqual([
      ["a", 3, 6],
      [" b (c", 10, 16],
    ]);
    const open = parseLine("G0 X1 (left open", 0, iso);
    expect(open.problems.map((p) => [p.key, p.start, p.end])).toEqual([["comment-open", 6, 16]]);
    expect(open.words).toHaveLength(2);
  });

  it("takes one problem for a run of garbage and reads on", () => {
    const block = parseLine("G1 $$hello world?? X1 Y2", 0, iso);
    expect(block.problems.map((p) => [p.key, p.start, p.end])).toEqual([["unknown-text", 3, 18]]);
    // Digits within a name are no words.
    for (const name of ["ST4", "TURN80_B5=-3.", "_B_HOME=2.", "[G54 IS NOT CODE HERE]", "$AC[5]"]) {
      const line = parseLine(`${name} X1`, 0, iso);
      expect([name, line.problems.length, words(line)]).toEqual([name, 1, [["X", 1]]]);
    }
    expect(words(block)).toEqual([
      ["G", 1],
      ["X", 1],
      ["Y", 2],
    ]);
  });

  it("says that a letter O was typed for a zero and makes the word unknown", () => {
    for (const [line, meant] of [
      ["GOO Z5", "G00"],
      ["MO6 T1", "M06"],
      ["X1O.5", "X10.5"],
      ["Z.O5", "Z.05"],
      ["NO10 G0", "N010"],
      ["G1OO", "G100"],
    ] as const) {
      const block = parseLine(line, 0, iso);
      expect(block.problems.map((p) => [p.key, p.args.meant])).toEqual([["letter-o", meant]]);
      for (const w of block.words) if (w.start === 0) expect(w.value).toBeNaN();
    }
  });

  it("names a letter that has no number", () => {
    const block = parseLine("G28 XYZ", 0, iso);
    expect(block.problems.map((p) => [p.key, p.args.text])).toEqual([["number-missing", "XYZ"]]);
    expect(block.words.map((w) => w.expr?.kind)).toEqual([undefined, "absent", "absent", "absent"]);
  });

  it("reads corner words with their comma", () => {
    expect(words(parseLine("G1 X10,R2 ,C1.5", 0, iso))).toEqual([
      ["G", 1],
      ["X", 10],
      [",R", 2],
      [",C", 1.5],
    ]);
  });

  it("does not take a forgotten letter for a longer line number", () => {
    const block = parseLine("N10 21 G40", 0, iso);
    expect(block.label).toBe(10);
    expect(block.problems.map((p) => [p.key, p.args.text])).toEqual([["number-alone", "21"]]);
  });

  it("reads flow control", () => {
    const kind = (line: string): string | undefined => {
      const b = parseLine(line, 0, iso);
      expect([line, b.problems]).toEqual([line, []]);
      return b.control?.kind;
    };
    expect(kind("IF[#1EQ2]GOTO10")).toBe("if-goto");
    expect(kind("if [[#1 gt 2] and [#2 lt 3]] goto #5")).toBe("if-goto");
    expect(kind("IF [#1 LT 5] THEN #2=3 #4=5")).toBe("if-then");
    expect(kind("N5 WHILE[#1LE10]DO2")).toBe("while");
    expect(kind("DO 1")).toBe("do");
    expect(kind("END1")).toBe("end");
    expect(kind("GOTO[#1+10]")).toBe("goto");
    expect(kind("GO TO 10")).toBe("goto");
    const then = parseLine("IF [#1 LT 5] THEN #2=3 #4=5", 0, iso);
    expect(then.assignments).toHaveLength(2);
  });

  it("says which bracket is open where none closes it, and of points that there are several", () => {
    const told = (line: string): string[] => parseLine(line, 0, iso).problems.map((p) => `${p.key} ${line.slice(p.start, p.end)}`);
    expect(told("X[1+ Y0")).toEqual(["bracket-open [1+"]);
    expect(told("X[1+2 Y0")).toEqual(["bracket-open [1+2"]);
    expect(told("X[")).toEqual(["bracket-open ["]);
    expect(told("X[2*[3+1] F100")).toEqual(["bracket-open [2*[3+1]"]);
    expect(told("X[2*[3+1 F100")).toEqual(["bracket-open [3+1"]);
    expect(told("XSIN[30 Y1")).toEqual(["bracket-open [30"]);
    // A bracket that closes later leaves the fault where reading stopped.
    expect(told("X[1+] Y0").map((t) => t.split(" ")[0])).toEqual(["value-expected"]);
    expect(told("X[1+ Y0] Z1").map((t) => t.split(" ")[0])).toEqual(["unknown-text"]);
    // The bracket of the expression before does not stay open.
    expect(told("X[1+2] Y[]").map((t) => t.split(" ")[0])).toEqual(["value-expected"]);
    expect(told("Y..")).toEqual(["number-points Y.."]);
    expect(told("Y..5")).toEqual(["number-points Y..5"]);
    expect(told("Y.O5")).toEqual(["letter-o Y.O5"]);
  });

  it("says what flow control lacks", () => {
    const keys = (line: string): string[] => parseLine(line, 0, iso).problems.map((p) => p.key);
    expect(keys("IF[#1EQ2] X1")).toEqual(["if-incomplete"]);
    expect(keys("IF[#1EQ2 GOTO10")).toEqual(["bracket-open"]);
    expect(keys("WHILE[#1LT3]")).toEqual(["while-incomplete"]);
    expect(keys("WHILE #1 LT 3 DO1")).toEqual(["condition-missing"]);
    expect(keys("DO4")).toEqual(["loop-number"]);
    expect(keys("GOTO")).toEqual(["goto-target"]);
    expect(keys("GOTO N10")).toEqual(["goto-target"]);
    expect(keys("o100 while [#1 LT 5]")).toEqual(["flow-by-o"]);
    expect(keys("#<depth> = 5")).toEqual(["variable-named"]);
    expect(keys("G1 X#<depth> Y5")).toEqual(["variable-named"]);
    expect(keys("R1 = R2 * 3")).toEqual(["assignment-form"]);
    expect(keys("G1 X#1+5")).toEqual(["operator-outside"]);
    expect(keys("#1=[2*(3+4)]")).toContain("paren-in-expression");
  });

  it("reads texts of program stops and passes over output statements", () => {
    const stop = parseLine("#3000=1(TOOL WORN)", 0, iso);
    expect(stop.problems).toEqual([]);
    expect(stop.comments[0]?.text).toBe("TOOL WORN");
    expect(parseLine("DPRNT[X#100[53]*Y#101[53] ANY (TEXT)]", 0, iso)).toMatchObject({ problems: [], words: [] });
    expect(parseLine("POPEN", 0, iso).problems).toEqual([]);
    expect(parseLine("SETVN 510[TOOLNO,DEPTH]", 0, iso).problems).toEqual([]);
  });

  it("keeps what precedes and follows the % of a tape out of the program", () => {
    const s = parseSource("f", "leader text\n%\nO1\nG0X1\nM30\n%\ntrailing text", iso);
    expect(s.blocks.flatMap((b) => b.problems)).toEqual([]);
    expect(s.parts).toEqual([{ number: 1, line: 2, endLine: 7, title: undefined }]);
    // A single % at the end does not hide what stands before it.
    expect(parseSource("f", "G21\nG0 X1\nM30\n%", iso).blocks[0]?.words).toHaveLength(1);
    // Programs behind the last % are still programs.
    expect(parseSource("f", "%\nO1\nM98 P2\nM30\n%\nO2\nM99", iso).parts.map((p) => p.number)).toEqual([1, 2]);
  });

  it("divides a file into its programs and finds labels as a control searches", () => {
    const s = parseSource("f", "(head)\nO1(first)\nN10 G0\nN20\nN10 G1\nM30\nO2\nN10\nM99", iso);
    expect(s.parts).toEqual([
      { number: 1, line: 1, endLine: 6, title: "first" },
      { number: 2, line: 6, endLine: 9, title: undefined },
    ]);
    expect([0, 1, 5, 6, 8, 9].map((l) => partOfLine(s, l))).toEqual([-1, 0, 0, 1, 1, -1]);
    expect(findLabel(s, 0, 10, 1)).toBe(2);
    expect(findLabel(s, 0, 10, 2)).toBe(4);
    expect(findLabel(s, 0, 10, 4)).toBe(2);
    expect(findLabel(s, 1, 10, 7)).toBe(7);
    expect(findLabel(s, 1, 20, 6)).toBeUndefined();
    expect(parseSource("f", "G0 X1\nO5\nM30", iso).parts.map((p) => p.number)).toEqual([Number.NaN, 5]);
  });

  it("complains of codes that contradict each other and not of those that controls carry out", () => {
    expect(wrong("G0 G1 X1", iso)).toEqual(["group-conflict"]);
    expect(wrong("G17 G18", iso)).toEqual(["group-conflict"]);
    expect(wrong("G54 G55 X0", iso)).toEqual(["group-conflict"]);
    expect(wrong("G28 G92 X0", iso)).toEqual(["axes-conflict"]);
    expect(wrong("X1 X2", iso)).toEqual(["letter-repeated"]);
    for (const line of [
      "G80 G0 X1",
      "G90 G28 G91 Z0",
      "G0 G40 G49 G80 G40 G90",
      "M3 M8 S100",
      "X1 X1",
      "G65 P1 I1 J2 I3 J4",
      "G0 G28 Z0",
      "G53 G0 Z0",
    ]) {
      expect([line, wrong(line, iso)]).toEqual([line, []]);
    }
  });

  it("names codes without leading zeros", () => {
    expect(["G00", "G054", "G54.1", "G54.10", "M06", "G59.3"].map((t) => codeOf({ letter: t.charAt(0) }, Number(t.slice(1))))).toEqual([
      "G0",
      "G54",
      "G54.1",
      "G54.1",
      "M6",
      "G59.3",
    ]);
    expect(codeOf({ letter: "G" }, 54.099999)).toBe("G54.1"); // NISTIR 6556 §3.3.2.1: within 0.0001
    expect(codeOf({ letter: "G" }, Number.NaN)).toBe("G?");
  });
});

describe("any text", () => {
  const nasty = [
    "\u0000\u0000G0X1\u0000",
    "\ufeff%",
    "%%%",
    "[".repeat(100_000),
    `X${"[".repeat(100_000)}`,
    "#".repeat(100_000),
    `#1=${"-".repeat(100_000)}1`,
    `X[${"1+".repeat(100_000)}1]`,
    `X[${"SIN[".repeat(50_000)}`,
    "(".repeat(100_000),
    "G".repeat(100_000),
    "O".repeat(100_000),
    "X1 ".repeat(100_000),
    "=".repeat(100_000),
    `${" ".repeat(100_000)}G0`,
    "X1".concat(" ".repeat(100_000), "2"),
    "IF[".repeat(30_000),
    "é€😀G1X1",
  ];
  it.each([...builtInProfiles.keys()])("is read by %s without failing and without delay", (name) => {
    const dialect = profile(name);
    const before = process.cpuUsage();
    for (const text of nasty) {
      const block = parseLine(text, 0, dialect);
      validateBlock(block, undefined, dialect);
      for (const w of block.words) if (w.expr) evaluate(w.expr, () => 1, dialect);
      for (const p of block.problems) {
        expect(syntaxMessages[p.key]).toBeDefined();
        expect(p.start >= 0 && p.start < p.end && p.end <= text.length).toBe(true);
      }
    }
    expect(millisecondsSince(before)).toBeLessThan(5000 * slowness());
  });

  it("of four megabytes is read in a second or so", () => {
    const text = "N10 G1 X123.456 Y-78.9 F1200\n".repeat(150_000);
    const before = process.cpuUsage();
    const s = parseSource("f", text, iso);
    expect(millisecondsSince(before)).toBeLessThan(2500 * slowness());
    expect(s.blocks).toHaveLength(150_001);
  });
});

describe("messages", () => {
  it("have an argument for every brace they hold", () => {
    const samples = [...rejected.map(([line]) => [line, ngc] as const), ["N10 21 o100 while #<a> GOO X. IF[1 GOTO", iso] as const];
    for (const [line, dialect] of samples) {
      const block = parseLine(line, 0, dialect);
      for (const p of [...block.problems, ...validateBlock(block, undefined, dialect)]) {
        const template = syntaxMessages[p.key] ?? "";
        for (const [, name] of template.matchAll(/\{(\w+)\}/g))
          expect([p.key, Object.keys(p.args)]).toEqual([p.key, expect.arrayContaining([name])]);
      }
    }
  });
});
