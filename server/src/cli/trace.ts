import { profileOf } from "../engine/dialect/profiles.js";
import type { Note } from "../engine/findings.js";
import { discoverFixture } from "../engine/fixture/discover.js";
import { loadFixture } from "../engine/fixture/load.js";
import type { Fixture } from "../engine/fixture/model.js";
import { runProgram } from "../engine/machine/machine.js";
import type { Move } from "../engine/machine/move.js";
import type { Run } from "../engine/machine/run.js";
import { parseSource } from "../engine/syntax/parse.js";
import { say } from "../report/texts.js";
import { traceLine } from "../report/trace.js";
import type { Arguments } from "./arguments.js";
import { dialectProblem } from "./check.js";
import { drain, offsetSpelling, searchFolders, shownPath } from "./edge.js";
import { enginePath, nodeHost, readFileText, rememberingHost } from "./node-host.js";
import { noteLines } from "./stations.js";
import type { Terminal } from "./terminal.js";

/** Lines written at once: large enough that the pipe is not the bottleneck, small enough to stop soon. */
const LINES_AT_ONCE = 2000;

/** `jawline trace`: every move as one JSON object a line. Exit status 0 whole, 2 not. */
export async function trace(args: Arguments, terminal: Terminal): Promise<number> {
  const [program = ""] = args.operands;
  const { options } = args;
  const path = enginePath(program);
  const file = readFileText(path);
  const dialect = options.get("dialect");
  const problem = dialectProblem(dialect) ?? ("problem" in file ? `${program}: ${file.problem}` : undefined);
  if (problem !== undefined || "problem" in file) {
    await terminal.err(`jawline: ${problem}\n`);
    return 2;
  }
  const host = rememberingHost(nodeHost);
  const named = options.get("fixture");
  const found = discoverFixture(host, path, file.text, {
    ...(named === undefined ? {} : { explicit: enginePath(named) }),
    workspaceFolders: searchFolders(path),
  });
  const fixture = found.file === undefined ? undefined : loadFixture(host, found.file, dialect);
  const notes: readonly Note[] = [...found.notes, ...(fixture?.notes ?? []).filter((note) => note.rule === "fixture-format")];
  await terminal.err(noteLines(notes, fixture?.units ?? "mm", (at) => (at === path ? program : shownPath(at))));

  const profile = fixture?.machine.profile ?? profileOf(dialect ?? "iso");
  if (profile === undefined) throw new Error("there is no dialect iso");
  const main = parseSource(path, file.text, profile);
  const usable = fixture?.usable === true ? fixture : undefined;
  const run = drain(
    runProgram({ main, host, profile, blockSkip: options.get("skip") === "on", ...(usable === undefined ? {} : { fixture: usable }) }),
  );
  const cx = {
    program: path,
    shownFile: shownPath,
    stationId: (index: number) => usable?.stations[index]?.id,
    spellOffset: offsetSpelling(fixture, profile),
    rotary: usable?.machine.rotary !== undefined || run.moves.some((move) => move.kind === "index"),
    radiusKnown: (move: Move) => radiusKnown(move, run, usable),
  };
  for (let i = 0; i < run.moves.length; i += LINES_AT_ONCE) {
    const lines = run.moves.slice(i, i + LINES_AT_ONCE).map((move) => JSON.stringify(traceLine(run, move, cx)));
    await terminal.out(`${lines.join("\n")}\n`);
  }
  if (!run.complete) await terminal.err(`jawline: ${say("trace-stopped")}\n`);
  const whole = run.complete && found.candidates === undefined && (fixture === undefined || (fixture.usable && fixture.complete));
  return whole ? 0 : 2;
}

/** True where the control knows the cutter's radius: from the sidecar's tools or written by the program before. */
function radiusKnown(move: Move, run: Run, fixture: Fixture | undefined): boolean {
  const { d } = move.modal;
  if (d === 0) return true;
  const register = `radius:${d}`;
  const written = run.writes.findLast((write) => write.register === register && write.step <= move.step);
  if (written !== undefined) return [...written.axes.values()].every((axis) => Number.isFinite(axis.result));
  return [...(fixture?.tools.values() ?? [])].some((tool) => tool.D.includes(d) && Number.isFinite(tool.DC));
}
