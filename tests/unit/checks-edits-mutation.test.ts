/** How a fix is written: words and blocks in the habit of the program they are put into, worked by hand. Asked for by mutation testing. */
import { describe, expect, it } from "vitest";
import { createContext } from "../../server/src/engine/checks/context.js";
import * as edits from "../../server/src/engine/checks/lib/edits.js";
import { defineRule, type RuleContext } from "../../server/src/engine/checks/rule.js";
import type { TextChange } from "../../server/src/engine/findings.js";
import type { Step } from "../../server/src/engine/machine/run.js";
import { analyseNow } from "../../server/src/engine/program.js";
import { memoryHost } from "../support/cases.js";

interface Program {
  readonly cx: RuleContext;
  /** The step of a line, from 1. */
  step(line: number): Step;
  /** The line after a change of it. */
  after(change: TextChange | undefined): string | undefined;
}

function programOf(lines: readonly string[], dialect = "iso"): Program {
  const host = memoryHost(new Map([["/case/part.nc", lines.join("\n")]]));
  const { run, profile } = analyseNow(host, { program: "/case/part.nc", workspaceFolders: ["/case"], dialect });
  const rule = defineRule({ id: "none", level: "error", summary: "", docs: "", messages: {}, check: () => {} });
  const absent = { fixture: undefined, clearances: undefined, skippedRun: undefined };
  const subject = { run, profile, ...absent, blockSkip: false, entry: "main", notes: [] } as const;
  const cx = createContext(rule, subject, { reports: [], notChecked: [] }, () => {});
  return {
    cx,
    step(line) {
      const found = run.steps.find((s) => s.block.line === line - 1);
      if (found === undefined) throw new Error(`no step in line ${line}`);
      return found;
    },
    after(change) {
      if (change === undefined) return undefined;
      const { line, column, endLine, endColumn } = change.place.range;
      expect(endLine).toBe(line);
      const text = lines[line] ?? "";
      return `${line + 1} ${text.slice(0, column)}${change.text}${text.slice(endColumn)}`;
    },
  };
}

describe("in the program's habit", () => {
  const habit = (text: string, ...lines: string[]) => {
    const p = programOf(lines);
    return edits.inHabit(p.cx, p.step(1), text);
  };
  it("codes of one digit: with a zero where most of the program's are", () => {
    expect(habit("G0 X1. M3", "G00 X1.", "M3", "G01 Z1.")).toBe("G00 X1. M03");
    expect(habit("G0 X1.", "G00 X1.", "G1 Z1.")).toBe("G0 X1.");
    expect(habit("G0 X1.", "G0 X1.", "M3 S1")).toBe("G0 X1.");
    // Words of one digit that are no codes tell nothing, nor do codes of two.
    expect(habit("G0 T1 G54 G43.4", "G00", "T1", "T2", "G54", "G17")).toBe("G00 T1 G54 G43.4");
    expect(habit("G0", "G54", "G17")).toBe("G0");
    expect(habit("G0", "N10 G00 G54")).toBe("G00");
  });
  it("lower case", () => {
    expect(habit("G0 X1.", "g0 x1.")).toBe("g0 x1.");
    expect(habit("G0 X1.", "g0 X1.")).toBe("G0 X1.");
    expect(habit("G0 X1.", "G0 X1. y2.", "z3.")).toBe("G0 X1.");
    expect(habit("G0 X1.", "g0 X1. y2.", "z3.")).toBe("g0 x1.");
    // What is no plain word stays as it is.
    expect(habit("G0 X#1 (Up) X[1+2]", "g0 x1.")).toBe("g0 X#1 (Up) X[1+2]");
  });
  it("spaces", () => {
    expect(habit("G0 X1. Y2.", "G0X1.Y2.")).toBe("G0X1.Y2.");
    expect(habit("G0 X1. Y2.", "G0X1. Y2.")).toBe("G0 X1. Y2.");
    expect(habit("G0 X1. Y2.", "G0X1.Y2. Z3.")).toBe("G0X1.Y2.");
    expect(habit("G0 X1.", "M3")).toBe("G0 X1.");
  });
  it("the point of whole coordinates, where the control reads the number the same without", () => {
    expect(habit("G0 X1. Z-2. B90. F300.", "G0 X1 Y2")).toBe("G0 X1 Z-2 B90 F300.");
    expect(habit("X1.5 X.5 X10.", "G0 X1 Y2")).toBe("X1.5 X.5 X10");
    expect(habit("X1.", "G0 X1 Y2.")).toBe("X1.");
    expect(habit("X1.", "G0 X1 Y2. Z-3")).toBe("X1");
    expect(habit("X1.", "G0 X1 Y+2. Z-3. R4. I5 J6. K7")).toBe("X1.");
    expect(habit("X1.", "G0 X1 Y+2 Z-3. R4 I5 J6. K7")).toBe("X1");
    // Other words and broken numbers tell nothing.
    expect(habit("X1.", "G1 X1. F300 S400 T1 P7")).toBe("X1.");
    expect(habit("X1.", "G0 X1 Y2.5 Z3.5")).toBe("X1");
    const p = programOf(["G0 X1 Y2"], "bare");
    expect([p.cx.profile.wholeNumber, edits.inHabit(p.cx, p.step(1), "X1.")]).toEqual(["increment", "X1."]);
  });
});

describe("blocks and words beside others", () => {
  const p = programOf(["G0 X1.", "  /2 G1 Y2. F9", "/X3.", "\tM9", "X4. / Y5.", "N7 X6. (SIX) Y7.", "X8."]);
  it("a block before or behind: the line of its own, with indent and slash", () => {
    const ahead = (line: number) => edits.blockBefore(p.cx, p.step(line), "G0 Z9.");
    const leads = ["", "  /2 ", "/", "\t", ""];
    expect([1, 2, 3, 4, 5].map((line) => ahead(line).text)).toEqual(leads.map((lead) => `${lead}G0 Z9.\n`));
    expect(ahead(2).place).toEqual({ file: "/case/part.nc", range: { line: 1, column: 0, endLine: 1, endColumn: 0 } });
    const behind = edits.blockAfter(p.cx, p.step(2), "G0 Z9.");
    expect(behind?.text).toBe("  /2 G0 Z9.\n");
    expect(behind?.place).toEqual({ file: "/case/part.nc", range: { line: 2, column: 0, endLine: 2, endColumn: 0 } });
    expect(edits.blockAfter(p.cx, p.step(6), "G0 Z9.")?.place.range.line).toBe(6);
    expect(edits.blockAfter(p.cx, p.step(7), "G0 Z9.")).toBeUndefined();
  });
  it("words before or behind others, with a space where the program has them", () => {
    expect(p.after(edits.wordsBefore(p.cx, p.step(1), 3, "G90"))).toBe("1 G0 G90 X1.");
    expect(p.after(edits.wordsAfter(p.cx, p.step(1), 6, "Z9."))).toBe("1 G0 X1. Z9.");
    expect(p.after(edits.insertAt(p.cx, p.step(1), 2, "g90"))).toBe("1 G0g90 X1.");
    const tight = programOf(["G0X1.", "G1Y2.F9"]);
    expect(tight.after(edits.wordsBefore(tight.cx, tight.step(1), 2, "G90 G17"))).toBe("1 G0G90G17X1.");
    expect(tight.after(edits.wordsAfter(tight.cx, tight.step(1), 5, "Z9."))).toBe("1 G0X1.Z9.");
  });
  it("without a word: its space goes with it", () => {
    const q = programOf(["G0  X1.   Y2.  (END)", "X3.", "N5 \tG1 Z3. F9"]);
    const without = (line: number, k: number) => {
      const step = q.step(line);
      const word = step.block.words[k];
      return word === undefined ? "no word" : q.after(edits.without(q.cx, step, word));
    };
    expect([without(1, 0), without(1, 1), without(1, 2)]).toEqual(["1 X1.   Y2.  (END)", "1 G0   Y2.  (END)", "1 G0  X1.  (END)"]);
    expect(without(2, 0)).toBe("2 ");
    expect([without(3, 0), without(3, 1)]).toEqual(["3 N5 \tZ3. F9", "3 N5 \tG1 F9"]);
  });
  it("all words anew: what stands between those that are kept stays; not around a comment", () => {
    const q = programOf(["N5 G0  X1.\tY2.   Z3. (END)", "(A) X1. Y2.", "X1. (A) Y2.", "(ONLY)", "Y2. ( A)"]);
    const keep = (line: number, ...kept: string[]) =>
      q.after(edits.rewritten(q.cx, q.step(line), (w) => (kept.includes(w.letter) ? `${w.letter}9` : undefined)));
    expect(keep(1, "G", "X", "Y", "Z")).toBe("1 N5 G9  X9\tY9   Z9 (END)");
    expect(keep(1, "X", "Z")).toBe("1 N5 X9   Z9 (END)");
    expect(keep(1, "G", "Y")).toBe("1 N5 G9\tY9 (END)");
    expect(keep(1)).toBe("1 N5  (END)");
    expect([keep(2, "X", "Y"), keep(3, "X", "Y"), keep(5, "Y")]).toEqual(["2 (A) X9 Y9", undefined, "5 Y9 ( A)"]);
    const empty = { ...q.step(1), block: { ...q.step(1).block, words: [] } };
    expect(edits.rewritten(q.cx, empty, () => "X9")).toBeUndefined();
  });
  it("what is offered at a block is made once for each way of asking", () => {
    const known = edits.fixesByBlock();
    let made = 0;
    const make = () => [{ title: { key: String(++made), args: {} }, changes: [], sameMotion: false }];
    const asked = [known(p.step(1), make), known(p.step(1), make), known(p.step(2), make), known(p.step(1), make, "b")];
    expect(asked.map((f) => f[0]?.title.key)).toEqual(["1", "1", "2", "3"]);
    expect(known({ ...p.step(1), source: 1 }, make)[0]?.title.key).toBe("4");
  });
});
