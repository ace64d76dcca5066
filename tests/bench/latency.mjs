/**
 * How long the language server lets an editor wait: `npm run bench:latency`.
 *
 *   --write        writes the tables to server/docs/latency.md instead of showing them
 *   --blocks N     size of the large program (100000); 0: the demo alone
 *   --large        the large program alone
 *   --cycles N     cycles for each request of the large program (5); the demo gets four times as many
 *   --only TEXT    requests whose name matches
 *   --server FILE  a built server to measure instead of one that is built now
 */
import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { cpus, loadavg, tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { parseArgs } from "node:util";
import * as esbuild from "esbuild";

const here = dirname(fileURLToPath(import.meta.url));
const root = resolve(here, "../..");
const { values: option } = parseArgs({
  options: {
    write: { type: "boolean", default: false },
    blocks: { type: "string", default: "100000" },
    large: { type: "boolean", default: false },
    cycles: { type: "string", default: "5" },
    only: { type: "string" },
    server: { type: "string" },
  },
});
for (const name of ["blocks", "cycles"]) {
  if (!/^\d+$/.test(option[name])) {
    console.error(`--${name} wants a whole number, not ${option[name]}`);
    process.exit(2);
  }
}

/** What else the computer has to do: the times on the clock hang on it. */
const busy = loadavg()[0] ?? 0;
const scratch = mkdtempSync(join(tmpdir(), "jawline-latency-"));
try {
  // Node 20 reads no TypeScript, so what measures is bundled first; and the server is built as it is now.
  const bundle = join(scratch, "latency.cjs");
  await esbuild.build({
    entryPoints: [resolve(here, "latency.ts")],
    outfile: bundle,
    bundle: true,
    platform: "node",
    format: "cjs",
    mainFields: ["module", "main"],
    target: "node20",
    logLevel: "warning",
  });
  const { measure, section, largeSubject, demoSubject } = (await import(pathToFileURL(bundle).href)).default;
  let server = option.server;
  if (server === undefined) {
    execFileSync(process.execPath, [join(root, "server/build.mjs"), "--into", scratch, "--only", "server/dist"], { stdio: "ignore" });
    server = join(scratch, "server/dist/server.js");
  }

  const only = option.only === undefined ? undefined : new RegExp(option.only);
  const cycles = Number(option.cycles);
  const log = (text) => process.stderr.write(`${text}\n`);
  const demo = demoSubject((name) => readFileSync(join(root, "fixtures-config", name), "utf8"));
  const sections = [];
  if (!option.large) {
    const amount = { cycles: 4 * cycles, waitingCycles: 2 * cycles, atRest: 4, keys: 4 * cycles };
    sections.push(section(await measure(server, demo, amount, only, log)));
  }
  if (Number(option.blocks) > 0) {
    const large = largeSubject(Number(option.blocks));
    const amount = { cycles, waitingCycles: Math.ceil(cycles / 2), atRest: 4, keys: 2 * cycles };
    sections.push(section(await measure(server, large, amount, only, log)));
  }
  const text = sections.join("\n\n");
  if (option.write) writeFileSync(join(root, "server/docs/latency.md"), `${head()}\n\n${text}\n`);
  else console.log(text);
} finally {
  rmSync(scratch, { recursive: true, force: true });
}

/** What the page says before its tables. */
function head() {
  const model = cpus()[0]?.model.trim() ?? "unknown processor";
  return `# How long an editor waits

Written by \`npm run bench:latency -- --write\` on ${new Date().toISOString().slice(0, 10)}: ${model}, ${cpus().length} cores, ${process.platform}, Node ${process.versions.node}.${busy > 0.5 * cpus().length ? ` **The computer was busy (load ${busy.toFixed(1)}): only the processor times tell anything, and they are high too.**` : ""} Repeat it on a quiet computer; it takes about a quarter of an hour.

The server runs as a process of its own and is spoken to over its pipes, as by an editor. Every request that it offers is asked about the faulty demo program and about a large one at twelve stations, which calls a subprogram every fifty blocks and has one block that collides.

* *At rest*: the check is done and nothing else goes on. *First after a check*: nothing of the answer is there from an earlier one.
* *Right after a key*: the request is sent directly behind the edit of one character in the middle of the program; the time runs from the edit. *While checking*: sent 0.2 s after it, when the check of the large program runs.
* *Processor*: processor time of the server, all its threads together, median. It hangs less on what else the computer does than the time on the clock.
* *× trivial*: the median as a multiple of a round trip that the server answers with nothing, measured in the same run. With it figures of two computers can be compared.
* The check begins 60 ms after the last key, 120 ms where the last check took long; that wait is part of *a key to new diagnostics*.`;
}
