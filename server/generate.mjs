// Writes what is made from the rules: their registry and the pages of the rule reference.
// `node server/generate.mjs` writes; with `--check` it only says whether a file is stale (exit 1).
import { existsSync, mkdirSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { basename, join } from "node:path";
import { pathToFileURL } from "node:url";
import { build } from "esbuild";

const root = new URL("..", import.meta.url).pathname;
const checks = join(root, "server/src/engine/checks");
const docs = join(root, "server/docs/rules");

/** The registry's text: every file of the folder that exports a rule, in the order of names. */
export function registryText() {
  const imports = [];
  const names = [];
  for (const file of readdirSync(checks).sort()) {
    if (!file.endsWith(".ts") || file === "rule.ts" || file.endsWith(".generated.ts")) continue;
    const match = /^export const (\w+)(?:: Rule)? = defineRule\(/m.exec(readFileSync(join(checks, file), "utf8"));
    if (match === null) continue;
    imports.push(`import { ${match[1]} } from "./${basename(file, ".ts")}.js";`);
    names.push(match[1]);
  }
  return [
    "// Made by server/generate.mjs from the files of this folder; do not edit.",
    ...imports,
    'import type { Rule } from "./rule.js";',
    "",
    "/** Every rule, by name. */",
    `export const rules: readonly Rule[] = [${names.length === 0 ? "" : `\n  ${names.join(",\n  ")},\n`}];`,
    "",
  ].join("\n");
}

/** Name → text of the rule pages, by running the rules' own generator. */
export async function pageTexts() {
  const out = join(root, "node_modules/.cache/jawline/generate.mjs");
  await build({
    entryPoints: [join(checks, "generate.ts")],
    outfile: out,
    bundle: true,
    platform: "node",
    mainFields: ["module", "main"],
    format: "esm",
    logLevel: "error",
  });
  const { rulePages } = await import(`${pathToFileURL(out).href}?${Date.now()}`);
  return rulePages();
}

/** Writes (or, with `check`, compares) everything; gives the names of files that were stale. */
export async function generate({ check = false } = {}) {
  const stale = [];
  const put = (path, text) => {
    if (existsSync(path) && readFileSync(path, "utf8") === text) return;
    stale.push(path.slice(root.length));
    if (!check) writeFileSync(path, text);
  };
  put(join(checks, "registry.generated.ts"), registryText());
  const pages = await pageTexts();
  if (!check) mkdirSync(docs, { recursive: true });
  for (const [name, text] of pages) put(join(docs, name), text);
  for (const name of existsSync(docs) ? readdirSync(docs) : []) {
    if (pages.has(name)) continue;
    stale.push(`server/docs/rules/${name}`);
    if (!check) rmSync(join(docs, name));
  }
  return stale;
}

if (process.argv[1] !== undefined && import.meta.url === pathToFileURL(process.argv[1]).href) {
  const check = process.argv.includes("--check");
  const stale = await generate({ check });
  for (const file of stale) process.stdout.write(`${check ? "stale" : "written"}: ${file}\n`);
  if (check && stale.length > 0) process.exitCode = 1;
}
