import manifest from "../../../package.json" with { type: "json" };
import { slips } from "../engine/fixture/nearest.js";
import { speak } from "../report/language/languages.js";
import { type Arguments, readArguments } from "./arguments.js";
import { check } from "./check.js";
import { type CommandName, commands, helpTexts, isCommand } from "./commands.js";
import { offsets } from "./offsets.js";
import { stations } from "./stations.js";
import { processTerminal, ReaderGone, type Terminal } from "./terminal.js";
import { trace } from "./trace.js";

/** Exit status where nothing could be checked, also for a command line that cannot be understood. */
const COULD_NOT = 2;

const runners: Readonly<Record<CommandName, (args: Arguments, terminal: Terminal) => Promise<number>>> = {
  check: (args, terminal) => check(args, terminal, manifest.version),
  trace,
  stations,
  offsets,
};

/** Runs the command line and gives the exit status. */
async function main(argv: readonly string[], terminal: Terminal): Promise<number> {
  const [name, ...rest] = argv;
  if (name === undefined) {
    await terminal.err(helpTexts.all);
    return COULD_NOT;
  }
  if (name === "--version" || name === "-v") {
    await terminal.out(`${manifest.version}\n`);
    return 0;
  }
  if (name === "--help" || name === "-h" || name === "help") {
    const about = rest[0] !== undefined && isCommand(rest[0]) ? rest[0] : "all";
    await terminal.out(helpTexts[about]);
    return 0;
  }
  if (!isCommand(name)) {
    await terminal.err(`jawline: ${unknownCommand(name)}\n`);
    return COULD_NOT;
  }
  if (rest.includes("--help") || rest.includes("-h")) {
    await terminal.out(helpTexts[name]);
    return 0;
  }
  const args = readArguments(commands[name], rest);
  if ("problem" in args) {
    await terminal.err(`jawline: ${args.problem}. See jawline ${name} --help.\n`);
    return COULD_NOT;
  }
  speak(args.options.get("locale") ?? usualLocale(args.options.get("format")));
  return runners[name](args, terminal);
}

/**
 * The language of the person at the terminal: as POSIX has it, the first of these variables that is set and not empty.
 * What programs read does not change with the person who started them.
 */
function usualLocale(format: string | undefined): string | undefined {
  if (format === "json" || format === "sarif" || format === "g10") return undefined;
  return process.env.LC_ALL || process.env.LC_MESSAGES || process.env.LANG;
}

function unknownCommand(name: string): string {
  const names = Object.keys(commands);
  const near = names.find((known) => slips(known, name) <= 2);
  if (near !== undefined) return `there is no command "${name}"; did you mean ${near}?`;
  if (/[./\\]/.test(name)) return `"${name}" is no command; to check a program: jawline check ${name}`;
  return `there is no command "${name}"; there are ${names.join(", ")}`;
}

/** Runs the command line on this process: its arguments, its streams, its exit status. Never throws. */
export async function runCommandLine(): Promise<void> {
  const terminal = processTerminal();
  try {
    process.exitCode = await main(process.argv.slice(2), terminal);
  } catch (error) {
    // A reader that has seen enough is no failure, but what was not printed was not shown to be clean either.
    process.exitCode = COULD_NOT;
    if (!(error instanceof ReaderGone)) {
      await terminal.err(
        `jawline: internal error, please report it: ${error instanceof Error ? (error.stack ?? error.message) : String(error)}\n`,
      );
    }
  }
}
