import manifest from "../../../package.json" with { type: "json" };
import { slips } from "../engine/text/nearest.js";
import { speak } from "../report/language/languages.js";
import { say } from "../report/texts.js";
import { type Arguments, readArguments } from "./arguments.js";
import { check } from "./check.js";
import { type CommandName, commands, helpText, isCommand } from "./commands.js";
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
  // What is wrong with the arguments and the help are told in the person's language too.
  speak(localeIn(rest) ?? usualLocale(undefined));
  if (name === undefined) {
    await terminal.err(helpText("all"));
    return COULD_NOT;
  }
  if (name === "--version" || name === "-v") {
    await terminal.out(`${manifest.version}\n`);
    return 0;
  }
  if (name === "--help" || name === "-h" || name === "help") {
    const about = rest[0] !== undefined && isCommand(rest[0]) ? rest[0] : "all";
    await terminal.out(helpText(about));
    return 0;
  }
  if (!isCommand(name)) {
    await terminal.err(`jawline: ${unknownCommand(name)}\n`);
    return COULD_NOT;
  }
  if (rest.includes("--help") || rest.includes("-h")) {
    await terminal.out(helpText(name));
    return 0;
  }
  const args = readArguments(commands[name], rest);
  if ("problem" in args) {
    await terminal.err(`jawline: ${say("arguments.see", { problem: args.problem, command: name })}\n`);
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

/** The value of --locale in arguments that are not understood yet. */
function localeIn(args: readonly string[]): string | undefined {
  const at = args.findIndex((arg) => arg === "--locale" || arg.startsWith("--locale="));
  return at < 0 ? undefined : args[at] === "--locale" ? args[at + 1] : args[at]?.slice("--locale=".length);
}

function unknownCommand(name: string): string {
  const names = Object.keys(commands);
  const near = names.find((known) => slips(known, name) <= 2);
  if (near !== undefined) return say("arguments.near-command", { name, near });
  if (/[./\\]/.test(name)) return say("arguments.file", { name });
  return say("arguments.no-command", { name, list: names.join(", ") });
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
        `jawline: ${say("internal", { error: error instanceof Error ? (error.stack ?? error.message) : String(error) })}\n`,
      );
    }
  }
}
