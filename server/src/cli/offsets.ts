import { registerOfG10 } from "../engine/dialect/offsets.js";
import type { Profile } from "../engine/dialect/profile.js";
import { readOffsetLines } from "../engine/fixture/stored.js";
import type { OffsetKey } from "../engine/machine/move.js";
import { offsetBlock, offsetsJson, offsetsTable, type RegisterAddress } from "../report/offset-block.js";
import { compareOffsets, comparisonJson, comparisonText } from "../report/offset-comparison.js";
import { say } from "../report/texts.js";
import type { Arguments } from "./arguments.js";
import { enginePath, nodeHost, readFileText, rememberingHost } from "./node-host.js";
import { noteLines, openFixture } from "./stations.js";
import type { Terminal } from "./terminal.js";

/** Highest P word that is tried: no dialect here counts further. */
const HIGHEST_P = 999;

/**
 * `jawline offsets`: what every register must hold, or how a file of G10 blocks differs from that. Exit status 0 whole
 * and equal, 1 different, 2 where the sidecar or the file cannot be used.
 */
export async function offsets(args: Arguments, terminal: Terminal): Promise<number> {
  const [name = ""] = args.operands;
  const format = args.options.get("format") ?? "table";
  const against = args.options.get("against");
  if (against !== undefined && format === "g10") {
    await terminal.err(`jawline: ${say("arguments.against")}\n`);
    return 2;
  }
  const host = rememberingHost(nodeHost);
  const fixture = await openFixture(name, host, terminal);
  if (fixture === undefined) {
    if (format === "json") await terminal.out("[]\n");
    return 2;
  }
  const unusable = fixture.usable && fixture.complete ? 0 : 2;
  if (against !== undefined) {
    const file = readFileText(enginePath(against));
    if ("problem" in file) {
      await terminal.err(`jawline: ${against}: ${file.problem}\n`);
      if (format === "json") await terminal.out("[]\n");
      return 2;
    }
    const path = enginePath(against);
    const read = readOffsetLines(path, file.text, fixture.machine.profile, fixture.units, fixture.machine.rotary);
    await terminal.err(noteLines(read.notes, fixture.units, (at) => (at === path ? against : at)));
    const values = new Map([...read.stored].map(([key, { values: axes, place }]) => [key, { values: axes, line: place.range.line }]));
    const comparison = compareOffsets(fixture, { values, commonShift: read.commonShift });
    await terminal.out(format === "json" ? `${JSON.stringify(comparisonJson(comparison))}\n` : comparisonText(comparison, against));
    if (unusable !== 0 || !comparison.complete || read.notes.length > 0) return 2;
    return comparison.equal ? 0 : 1;
  }
  if (format === "g10") {
    const { text, missing } = offsetBlock(fixture, addressOf);
    await terminal.out(text);
    for (const line of missing) await terminal.err(`jawline: ${line}\n`);
    return missing.length > 0 ? 2 : unusable;
  }
  await terminal.out(format === "json" ? `${JSON.stringify(offsetsJson(fixture))}\n` : offsetsTable(fixture));
  return unusable;
}

/** The L and P words by which a dialect writes a register: the inverse of what it reads. */
export function addressOf(key: OffsetKey, profile: Profile): RegisterAddress | undefined {
  for (const l of [2, 20]) {
    for (let p = 1; p <= HIGHEST_P; p++) if (registerOfG10(l, p, profile) === key) return { l, p };
  }
  return undefined;
}
