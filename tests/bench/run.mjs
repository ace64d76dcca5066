/**
 * The fault bench: `npm run bench:faults`, or `node tests/bench/run.mjs --seed 1 --cases 2000`.
 *
 *   --seed N      which cases are drawn; the same seed gives the same cases (1)
 *   --cases N     how many in all: a third clean programs, half of them faults, the rest near misses (2000)
 *   --rule ID     cases of one rule only
 *   --keep DIR    writes the files of every case that went otherwise than it should into a folder of its own
 *   --list N      examples shown of each kind of trouble (3)
 *
 * Ends with status 1 when a fault was missed or told at another block, a clean program or a near miss was not let pass,
 * or anything was said on top.
 */
import { mkdirSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { parseArgs } from "node:util";
import * as esbuild from "esbuild";

const here = dirname(fileURLToPath(import.meta.url));
const { values: option } = parseArgs({
  options: {
    seed: { type: "string", default: "1" },
    cases: { type: "string", default: "2000" },
    rule: { type: "string" },
    keep: { type: "string" },
    list: { type: "string", default: "3" },
  },
});
for (const name of ["seed", "cases", "list"]) {
  if (!/^\d+$/.test(option[name])) {
    console.error(`--${name} wants a whole number, not ${option[name]}`);
    process.exit(2);
  }
}

// Node 20 reads no TypeScript, so the bench and the engine are bundled first.
const bundle = join(tmpdir(), `fault-bench-${process.pid}.mjs`);
await esbuild.build({
  entryPoints: [resolve(here, "bench.ts")],
  outfile: bundle,
  bundle: true,
  platform: "node",
  format: "esm",
  target: "node20",
  mainFields: ["module", "main"],
  logLevel: "warning",
});
const { runBench, table, listing } = await import(pathToFileURL(bundle).href);
rmSync(bundle, { force: true });

const shows = process.stderr.isTTY === true;
const begun = performance.now();
const result = runBench({
  seed: Number(option.seed),
  cases: Number(option.cases),
  ...(option.rule === undefined ? {} : { rule: option.rule }),
  progress: (done, of) => {
    if (shows && done % 20 === 0) process.stderr.write(`\r${done} of ${of}`);
  },
});
if (shows) process.stderr.write("\r");
console.log(table(result));
console.log(`seed ${option.seed}, ${result.cases} cases, ${((performance.now() - begun) / 1000).toFixed(0)} s`);
if (result.troubles.length > 0) {
  console.log(`\nWhat went otherwise:\n${listing(result, Number(option.list))}`);
  process.exitCode = 1;
}
if (option.keep !== undefined) {
  for (const trouble of result.troubles) {
    const folder = resolve(option.keep, `${trouble.rule}-${trouble.seed}`);
    mkdirSync(folder, { recursive: true });
    for (const [name, text] of trouble.files) writeFileSync(join(folder, name), text);
  }
}
