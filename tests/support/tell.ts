/** A program under a sample fixture, and what one rule says of it, whole: place, wording's arguments, station, related places, data, fixes. */
import { samples } from "../../server/src/engine/checks/samples.js";
import type { Finding } from "../../server/src/engine/findings.js";
import { type Analysis, analyseNow } from "../../server/src/engine/program.js";
import { applyFix, memoryHost } from "./cases.js";

const PROGRAM = "/case/part.nc";
const SIDECAR = "/case/fixture.json";

export interface Setup {
  /** Name of a sample fixture; without it, the program stands alone. */
  readonly use?: string;
  /** Changes the parsed sidecar. */
  readonly change?: (sidecar: Record<string, unknown>) => void;
  readonly empty?: readonly string[];
  readonly blockSkip?: boolean;
  readonly dialect?: string;
}

interface Told {
  readonly analysis: Analysis;
  readonly findings: readonly Finding[];
  /**
   * One text each: line (from 1) and marked text; key and arguments; the station; related places as line, key and arguments.
   * `3 "G56" default(tool 1, A2) at A2; 5 related.sibling(A1)`
   */
  readonly texts: readonly string[];
  /** The lines, from 1, that each fix changes, as they are after it. */
  readonly fixes: readonly (readonly string[])[];
}

/** Analyses lines of a program and tells what a rule says. */
export function tell(rule: string, setup: Setup, lines: readonly string[]): Told {
  const files = new Map([[PROGRAM, `${lines.join("\n")}\n`]]);
  if (setup.use !== undefined) {
    const sidecar = JSON.parse(samples[setup.use]?.text ?? "null") as Record<string, unknown> | null;
    if (sidecar === null) throw new Error(`no sample ${setup.use}`);
    setup.change?.(sidecar);
    files.set(SIDECAR, JSON.stringify(sidecar, undefined, 2));
  }
  const analysis = analyseNow(memoryHost(files), {
    program: PROGRAM,
    ...(setup.use === undefined ? {} : { fixture: SIDECAR }),
    workspaceFolders: ["/case"],
    ...(setup.dialect === undefined ? {} : { dialect: setup.dialect }),
    ...(setup.blockSkip === undefined ? {} : { blockSkip: setup.blockSkip }),
    empty: [...(setup.empty ?? [])],
  });
  // A rule that throws is told among what is not checked, and its silence would pass for an answer.
  const broken = analysis.notChecked.find((n) => n.why.key === "why.internal");
  if (broken !== undefined) throw new Error(JSON.stringify(broken));
  const findings = analysis.findings.filter((f) => f.rule === rule);
  const shown = (args: Finding["message"]["args"]): string =>
    Object.values(args)
      .map((a) => (typeof a === "object" && "list" in a ? a.list.join("+") : typeof a === "object" ? JSON.stringify(a) : String(a)))
      .join(", ");
  const texts = findings.map((f) => {
    const { line, column, endColumn } = f.place.range;
    const text = files.get(f.place.file)?.split("\n")[line]?.slice(column, endColumn) ?? "";
    const also = f.related.map((r) => `; ${r.place.range.line + 1} ${r.message.key}(${shown(r.message.args)})`);
    return `${line + 1} "${text}" ${f.message.key}(${shown(f.message.args)})${f.station === undefined ? "" : ` at ${f.station}`}${also.join("")}`;
  });
  const fixes = findings.flatMap((f) =>
    f.fixes.map((fix) => {
      const before = (files.get(PROGRAM) ?? "").split("\n");
      const after = (applyFix(fix, files).get(PROGRAM) ?? "").split("\n");
      // What stays at the start and at the end is left out.
      let start = 0;
      while (start < before.length && before[start] === after[start]) start++;
      let end = 0;
      while (end < before.length - start && before[before.length - 1 - end] === after[after.length - 1 - end]) end++;
      return [`from ${start + 1}`, ...after.slice(start, after.length - end)];
    }),
  );
  return { analysis, findings, texts, fixes };
}
