import { relative } from "node:path";
import { spellOffset } from "../engine/dialect/offsets.js";
import type { Profile } from "../engine/dialect/profile.js";
import type { Fixture } from "../engine/fixture/model.js";
import type { Host } from "../engine/host.js";
import type { Analysis } from "../engine/program.js";
import { folderOf } from "../engine/text/path.js";
import type { ProgramReport, ReportContext } from "../report/program-report.js";
import { say } from "../report/texts.js";
import { enginePath } from "./node-host.js";
import { wordsIn } from "./words.js";

/** Runs a sliced computation to its end. */
export function drain<T>(slices: Generator<void, T, void>): T {
  for (;;) {
    const { done, value } = slices.next();
    if (done) return value;
  }
}

/** How work offsets are written: by the sidecar, or where there is none by the dialect. */
export function offsetSpelling(fixture: Fixture | undefined, profile: Profile): (key: string) => string {
  return fixture === undefined ? (key) => spellOffset(key, profile) : (key) => fixture.offsetName(key);
}

/**
 * The folder above which a program's sidecar is not looked for: the working directory where the program lies in it,
 * else the program's own folder.
 */
export function searchFolders(program: string): readonly string[] {
  const here = enginePath(".");
  return [program.startsWith(here === "/" ? "/" : `${here}/`) ? here : folderOf(program)];
}

/** An engine path as it is shown: relative within the working directory, else absolute; always with slashes. */
export function shownPath(file: string): string {
  const path = relative(enginePath("."), file).replace(/\\/g, "/");
  return path === "" || path.startsWith("../") || path === ".." || /^[A-Za-z]:/.test(path) ? file : path;
}

/** What the reports of `check` need: programs are named as the person named them. */
export function reportContext(reports: readonly ProgramReport[], host: Host): ReportContext {
  const given = new Map(reports.map((report) => [enginePath(report.program), report.program]));
  const lines = new Map<string, readonly string[] | undefined>();
  return {
    shownFile: (file) => given.get(file) ?? shownPath(file),
    linesOf(file) {
      if (!lines.has(file)) lines.set(file, host.read(file)?.split(/\r\n|\r|\n/));
      return lines.get(file);
    },
    wordsOf: (analysis) => wordsIn(unitsOf(analysis)),
  };
}

/** Units in which lengths are told: the sidecar's, else those the program ends in. */
function unitsOf(analysis: Analysis): "mm" | "inch" {
  return analysis.fixture?.units ?? analysis.run.steps.at(-1)?.after.units ?? "mm";
}

/** What is said when the engine fails where it must not. */
export function internalError(error: unknown): string {
  const text = error instanceof Error ? (error.stack ?? error.message).split("\n").slice(0, 3).join(" ") : String(error);
  return say("internal", { error: text });
}
