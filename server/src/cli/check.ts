import { rules } from "../engine/checks/registry.generated.js";
import { builtInProfiles } from "../engine/dialect/profiles.js";
import type { Host } from "../engine/host.js";
import { type Analysis, analyse } from "../engine/program.js";
import { checkJson } from "../report/check-json.js";
import type { ProgramReport, ReportContext } from "../report/program-report.js";
import { isComplete, isUnreadable } from "../report/program-report.js";
import { checkSarif } from "../report/sarif.js";
import { checkText } from "../report/text.js";
import { say } from "../report/texts.js";
import type { Arguments } from "./arguments.js";
import { drain, internalError, offsetSpelling, reportContext, searchFolders } from "./edge.js";
import { enginePath, nodeHost, readFileText, rememberingHost } from "./node-host.js";
import type { Terminal } from "./terminal.js";

/** `jawline check`: exit status 0 clean, 1 findings at or above --fail-on, 2 could not check. */
export async function check(args: Arguments, terminal: Terminal, version: string): Promise<number> {
  const options = args.options;
  const problem = dialectProblem(options.get("dialect"));
  if (problem !== undefined) {
    await terminal.err(`jawline: ${problem}\n`);
    return 2;
  }
  const host = rememberingHost(nodeHost);
  const empty = listOf(options.get("empty"));
  const reports = args.operands.map((program) => checkProgram(program, host, options, empty));
  const cx = reportContext(reports, host);
  const explain = options.has("explain");
  await terminal.out(shown(reports, cx, { format: options.get("format") ?? "text", explain, colour: terminal.colour, version }));
  const unknown = unknownStations(reports, empty);
  for (const line of unknown) await terminal.err(`jawline: ${line}\n`);
  if (unknown.length > 0) return 2;
  return exitStatus(reports, options.get("fail-on") ?? "error");
}

function checkProgram(program: string, host: Host, options: Arguments["options"], empty: readonly string[]): ProgramReport {
  const path = enginePath(program);
  const file = readFileText(path);
  if ("problem" in file) return { program, result: file };
  const fixture = options.get("fixture");
  const dialect = options.get("dialect");
  try {
    const result = drain(
      analyse(host, {
        program: path,
        ...(fixture === undefined ? {} : { fixture: enginePath(fixture) }),
        workspaceFolders: searchFolders(path),
        ...(dialect === undefined ? {} : { dialect }),
        blockSkip: options.get("skip") === "on",
        empty,
      }),
    );
    return { program, result };
  } catch (error) {
    // The engine does not throw on input; if it does, that is a fault of ours, and the other programs are still checked.
    return { program, result: { problem: internalError(error) } };
  }
}

function shown(
  reports: readonly ProgramReport[],
  cx: ReportContext,
  { format, explain, colour, version }: { format: string; explain: boolean; colour: boolean; version: string },
): string {
  const spellOffset = (analysis: Analysis, key: string) => offsetSpelling(analysis.fixture, analysis.profile)(key);
  if (format === "json") return `${JSON.stringify(checkJson(reports, cx, { explain, spellOffset }))}\n`;
  if (format === "sarif") return `${JSON.stringify(checkSarif(reports, cx, { version, rules }), undefined, 2)}\n`;
  return checkText(reports, cx, { colour, explain, spellOffset });
}

/** 2 where anything was not checked to its end, 1 for findings that fail, else 0. */
function exitStatus(reports: readonly ProgramReport[], failOn: string): 0 | 1 | 2 {
  if (!reports.every(isComplete)) return 2;
  const failing = failOn === "never" ? [] : failOn === "warning" ? ["error", "warning"] : ["error"];
  const findings = reports.flatMap((report) => (isUnreadable(report.result) ? [] : report.result.findings));
  return findings.some((finding) => finding.waived === undefined && failing.includes(finding.level)) ? 1 : 0;
}

/** Stations of --empty that no sidecar in force has: a slip there would check the wrong load. */
function unknownStations(reports: readonly ProgramReport[], empty: readonly string[]): string[] {
  const fixtures = reports.flatMap((report) =>
    isUnreadable(report.result) || report.result.fixture === undefined ? [] : [report.result.fixture],
  );
  const ids = [...new Set(fixtures.flatMap((fixture) => fixture.stations.map((station) => station.id)))];
  return empty
    .filter((id) => !ids.includes(id))
    .map((id) => say(ids.length === 0 ? "empty.no-sidecar" : "empty.no-station", { id, list: ids.join(", ") }));
}

/** What is wrong with the name of a dialect. */
export function dialectProblem(name: string | undefined): string | undefined {
  if (name === undefined || builtInProfiles.has(name)) return undefined;
  return say("no-dialect", { name, list: [...builtInProfiles.keys()].join(", ") });
}

function listOf(text: string | undefined): readonly string[] {
  return (text ?? "")
    .split(",")
    .map((item) => item.trim())
    .filter((item) => item !== "");
}
