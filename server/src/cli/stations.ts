import type { Note } from "../engine/findings.js";
import { loadFixture } from "../engine/fixture/load.js";
import type { Fixture } from "../engine/fixture/model.js";
import type { Host } from "../engine/host.js";
import { countedFromOne } from "../report/program-report.js";
import { stationsJson, stationsTable } from "../report/stations.js";
import { printable } from "../report/text.js";
import { say } from "../report/texts.js";
import type { Arguments } from "./arguments.js";
import { shownPath } from "./edge.js";
import { enginePath, nodeHost, readFileText, rememberingHost } from "./node-host.js";
import type { Terminal } from "./terminal.js";
import { wordsIn } from "./words.js";

/** `jawline stations`: where every station stands. Exit status 0 whole, 2 where the sidecar cannot be used. */
export async function stations(args: Arguments, terminal: Terminal): Promise<number> {
  const [name = ""] = args.operands;
  const fixture = await openFixture(name, rememberingHost(nodeHost), terminal);
  const json = args.options.get("format") === "json";
  if (fixture === undefined) {
    if (json) await terminal.out("[]\n");
    return 2;
  }
  await terminal.out(json ? `${JSON.stringify(stationsJson(fixture))}\n` : stationsTable(fixture));
  return fixture.usable && fixture.complete ? 0 : 2;
}

/** Loads a sidecar and says beside the answer what is wrong with it; undefined where there is none. */
export async function openFixture(name: string, host: Host, terminal: Terminal): Promise<Fixture | undefined> {
  const path = enginePath(name);
  const file = readFileText(path);
  if ("problem" in file) {
    await terminal.err(`jawline: ${name}: ${file.problem}\n`);
    return undefined;
  }
  const fixture = loadFixture(host, path);
  await terminal.err(noteLines(fixture.notes, fixture.units, (at) => (at === path ? name : shownPath(at))));
  if (!fixture.usable) await terminal.err(`jawline: ${name}: ${say("sidecar-unusable")}\n`);
  return fixture;
}

/** What was noticed while reading, a line each, with its place. */
export function noteLines(notes: readonly Note[], units: "mm" | "inch", shownFile: (file: string) => string): string {
  const words = wordsIn(units);
  const lines = notes.map((note) => {
    const { line, column } = countedFromOne(note.place.range);
    return `${printable(`${shownFile(note.place.file)}:${line}:${column}: ${words.note(note)} [${note.rule}]`)}\n`;
  });
  return lines.join("");
}
