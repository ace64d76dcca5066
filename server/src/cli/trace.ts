import { analyse } from "../engine/program.js";
import { traceLine } from "../report/trace.js";
import type { Arguments } from "./arguments.js";
import { dialectProblem } from "./check.js";
import { drain, offsetSpelling, searchFolders, shownPath } from "./edge.js";
import { enginePath, nodeHost, readFileText, rememberingHost } from "./node-host.js";
import type { Terminal } from "./terminal.js";

/** Lines written at once: large enough that the pipe is not the bottleneck, small enough to stop soon. */
const LINES_AT_ONCE = 2000;

/** `jawline trace`: every move as one JSON object a line. Exit status 0 whole, 2 not. */
export async function trace(args: Arguments, terminal: Terminal): Promise<number> {
  const [program = ""] = args.operands;
  const { options } = args;
  const path = enginePath(program);
  const file = readFileText(path);
  const problem = dialectProblem(options.get("dialect")) ?? ("problem" in file ? `${program}: ${file.problem}` : undefined);
  if (problem !== undefined) {
    await terminal.err(`jawline: ${problem}\n`);
    return 2;
  }
  const fixture = options.get("fixture");
  const dialect = options.get("dialect");
  const analysis = drain(
    analyse(rememberingHost(nodeHost), {
      program: path,
      ...(fixture === undefined ? {} : { fixture: enginePath(fixture) }),
      workspaceFolders: searchFolders(path),
      ...(dialect === undefined ? {} : { dialect }),
      blockSkip: options.get("skip") === "on",
    }),
  );
  const { run } = analysis;
  const cx = {
    program: path,
    shownFile: shownPath,
    stationId: (index: number) => analysis.fixture?.stations[index]?.id,
    spellOffset: offsetSpelling(analysis.fixture, analysis.profile),
    radiusKnown: () => true,
  };
  for (let i = 0; i < run.moves.length; i += LINES_AT_ONCE) {
    const lines = run.moves.slice(i, i + LINES_AT_ONCE).map((move) => JSON.stringify(traceLine(run, move, cx)));
    await terminal.out(`${lines.join("\n")}\n`);
  }
  return analysis.complete ? 0 : 2;
}
