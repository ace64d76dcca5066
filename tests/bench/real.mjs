/**
 * Programs of others beside drawn fixtures: `node tests/bench/real.mjs FOLDER [--dialect iso] [--list 5] [--rule ID] [--only NAME]`.
 * For each program it prints what is said, at most `--list` alike; sums by rule at the end. Nothing is written.
 */
import { readdirSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { parseArgs } from "node:util";
import * as esbuild from "esbuild";

const here = dirname(fileURLToPath(import.meta.url));
const { values: option, positionals } = parseArgs({
  allowPositionals: true,
  options: {
    dialect: { type: "string", default: "iso" },
    list: { type: "string", default: "5" },
    rule: { type: "string" },
    only: { type: "string" },
    sidecar: { type: "boolean", default: false },
  },
});
const folder = positionals[0];
if (folder === undefined) {
  console.error("which folder?");
  process.exit(2);
}

const bundle = join(tmpdir(), `real-programs-${process.pid}.mjs`);
await esbuild.build({
  entryPoints: [resolve(here, "real.ts")],
  outfile: bundle,
  bundle: true,
  platform: "node",
  format: "esm",
  target: "node20",
  mainFields: ["module", "main"],
  logLevel: "warning",
});
const { checkReal } = await import(pathToFileURL(bundle).href);
rmSync(bundle, { force: true });

const sums = new Map();
let [drawn, moves, silent] = [0, 0, 0];
for (const name of readdirSync(folder).sort()) {
  if (!/\.(nc|ngc|tap|cnc|min)$/i.test(name) || (option.only !== undefined && !name.includes(option.only))) continue;
  const answer = checkReal(name, readFileSync(join(folder, name), "latin1"), option.dialect);
  if (answer === undefined) continue;
  drawn++;
  moves += answer.moves;
  if (option.sidecar) console.log(answer.sidecar);
  const told = answer.told.filter((t) => option.rule === undefined || t.rule === option.rule);
  if (!answer.told.some((t) => t.level !== "information")) silent++;
  const counts = new Map();
  if (told.length > 0) console.log(`${name}: ${answer.moves} moves, ${answer.stations} stations, ${answer.seconds.toFixed(2)} s`);
  for (const t of told) {
    counts.set(t.rule, (counts.get(t.rule) ?? 0) + 1);
    if (counts.get(t.rule) <= Number(option.list)) console.log(`  ${t.line}: ${t.level} ${t.rule}: ${t.text}\n      ${t.source}`);
  }
  for (const [rule, n] of counts) {
    const sum = sums.get(rule) ?? { findings: 0, files: 0 };
    sums.set(rule, { findings: sum.findings + n, files: sum.files + 1 });
  }
}
console.log(`${drawn} programs, ${moves} moves; ${silent} without an error or warning`);
for (const [rule, { findings, files }] of [...sums].sort((a, b) => b[1].findings - a[1].findings))
  console.log(`${rule}: ${findings} in ${files} programs`);
