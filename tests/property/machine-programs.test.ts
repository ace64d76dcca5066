import { existsSync, readdirSync, readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { runNow, uncalledParts } from "../../server/src/engine/machine/machine.js";
import { parseSource } from "../../server/src/engine/syntax/parse.js";
import { slowness } from "../support/slowness.js";
import { profile } from "./../unit/machine-support.js";

/* Programs that people published, which stand beside the checkout where the project is developed and are not part of it. */
const folder = "../shared/programs";
const names = existsSync(folder) ? readdirSync(folder).filter((n) => n.endsWith(".nc")) : [];

describe(names.length > 0 ? `${names.length} public programs` : "public programs: not present here, nothing to run", () => {
  const iso = profile("iso");
  const host = {
    read: (path: string): string | undefined => (existsSync(path) ? readFileSync(path, "latin1") : undefined),
    list: (): readonly string[] => names,
  };
  test.each(["off", "on"])(
    "every one ends with block skip %s, within 2 s of computing, without an endless loop",
    (skip) => {
      const bound = 2_000_000 * slowness();
      const late: string[] = [];
      const endless: string[] = [];
      let moves = 0;
      for (const name of names) {
        const path = `${folder}/${name}`;
        const begun = process.cpuUsage();
        const main = parseSource(path, readFileSync(path, "latin1"), iso);
        const run = runNow({ main, host, profile: iso, blockSkip: skip === "on" });
        const used = process.cpuUsage(begun);
        if (used.user + used.system > bound) late.push(name);
        for (const part of uncalledParts(run)) runNow({ main, host, profile: iso, blockSkip: skip === "on", entryPart: part });
        if (!run.complete || run.notes.some((n) => n.rule === "call-endless")) endless.push(name);
        let at = 0;
        for (const step of run.steps) {
          if (step.firstMove !== at || step.endMove < at) throw new Error(`${name}: moves of line ${step.block.line + 1}`);
          at = step.endMove;
        }
        moves += run.moves.length;
      }
      expect([late, endless]).toEqual([[], []]);
      expect(moves > 0).toBe(names.length > 0);
    },
    120_000,
  );
});
