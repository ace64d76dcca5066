/**
 * Builds Jawline.
 *
 *   node server/build.mjs              development build: source maps, nothing shortened
 *   node server/build.mjs --generate   writes the files that come from the code (add --check to compare only)
 *   node server/build.mjs --package    production build and dist/jawline.vsix
 *   node server/build.mjs --watch      development build, again at every change
 *   node server/build.mjs --into DIR   development build into another folder, for tests that must not meet other builds;
 *                                      with --only PART just the bundles whose path holds PART
 */
import { spawnSync } from "node:child_process";
import { chmodSync, existsSync, mkdirSync, readFileSync, rmSync, statSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join, relative, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import { parseArgs } from "node:util";
import * as esbuild from "esbuild";

const root = resolve(dirname(fileURLToPath(import.meta.url)), "..");
const at = (path) => resolve(root, path);

/** Largest size of the package, in bytes. */
const LARGEST_PACKAGE = 1_000_000;

/**
 * What Node starts. The bundle is a classic script, since a browser's worker can load nothing else; it asks for Node's own
 * modules by `require`, which Node gives to a module only on request.
 */
const loader = (start, head = "") => `${head}import { createRequire } from "node:module";
globalThis.require = createRequire(import.meta.url);
await import("./jawline.js");
await globalThis.jawline.${start}();
`;

/**
 * The transports of the protocol's libraries for a browser stand behind a condition that a build for Node does not set.
 * Each importer gets its own copy's transport, where several versions are installed.
 */
const browserTransports = {
  name: "browser-transports",
  setup(build) {
    build.onResolve({ filter: /^vscode-(languageserver|languageserver-protocol|jsonrpc)\/browser$/ }, ({ path, resolveDir }) => ({
      path: resolve(dirname(createRequire(join(resolveDir, "importer")).resolve(dirname(path))), "../browser/main.js"),
    }));
  },
};

/** What is built. `from` is the entry, `to` the bundle, `loaders` small files beside it that start a part of it. */
const bundles = [
  {
    from: "server/src/main.ts",
    to: "server/dist/jawline.js",
    loaders: {
      "server/dist/cli.js": { text: loader("startCommandLine", "#!/usr/bin/env node\n"), executable: true },
      "server/dist/server.js": { text: loader("startServer") },
    },
    options: { platform: "node", target: ["node20", "es2022"], format: "iife" },
  },
  {
    from: "client/src/extension.ts",
    to: "client/dist/extension.cjs",
    options: { platform: "node", target: "node20", format: "cjs", external: ["vscode"] },
  },
  {
    from: "client/src/web.ts",
    to: "client/dist/web.js",
    options: { platform: "browser", target: "es2022", format: "cjs", external: ["vscode"] },
  },
];

/**
 * The schema library brings the wording of its own errors in some fifty languages, a fifth of the bundle. Ours come
 * from our own tables, so only the one that it falls back to is kept.
 */
const oneLocale = {
  name: "one-locale",
  setup(build) {
    build.onLoad({ filter: /[\\/]zod[\\/]v4[\\/]locales[\\/]index\.js$/ }, () => ({
      contents: 'export { default as en } from "./en.js";',
    }));
  },
};

/** Where the bundles go; each keeps its path below this folder. */
let outFolder = root;

/** Absolute path of a bundle. */
const outFile = (bundle) => resolve(outFolder, bundle.to);

/** Everything that a bundle puts into the package. */
const filesOf = (bundle) => [bundle.to, ...Object.keys(bundle.loaders ?? {})];

/** Writes the files that start a part of a bundle. */
function writeLoaders(bundle) {
  for (const [name, { text, executable }] of Object.entries(bundle.loaders ?? {})) {
    const file = resolve(outFolder, name);
    mkdirSync(dirname(file), { recursive: true });
    writeFileSync(file, text);
    if (executable) chmodSync(file, 0o755);
  }
}

/** Options of esbuild for one bundle. */
function optionsOf(bundle, production) {
  return {
    absWorkingDir: root,
    entryPoints: [bundle.from],
    outfile: outFile(bundle),
    bundle: true,
    charset: "utf8",
    // Libraries publish a UMD build under "main" that hides its requires from the bundler; the ES build does not.
    mainFields: bundle.options.platform === "browser" ? ["browser", "module", "main"] : ["module", "main"],
    sourcemap: production ? false : "linked",
    minify: production,
    legalComments: production ? "none" : "inline",
    plugins: [oneLocale, ...(bundle.options.platform === "node" ? [browserTransports] : [])],
    logLevel: "warning",
    ...bundle.options,
  };
}

/** Entries that exist; an entry that git knows and that is missing from the folder is an error. */
function presentBundles() {
  return bundles.filter((bundle) => {
    if (option.only !== undefined && !filesOf(bundle).some((name) => name.includes(option.only))) return false;
    if (existsSync(at(bundle.from))) return true;
    const known = spawnSync("git", ["ls-files", "--error-unmatch", bundle.from], { cwd: root, stdio: "ignore" });
    if (known.status === 0) throw new Error(`${bundle.from} is missing`);
    console.log(`  ${bundle.to}: not built, there is no ${bundle.from}`);
    return false;
  });
}

/** Builds every bundle and says its size. */
async function build(production) {
  for (const bundle of presentBundles()) {
    await esbuild.build(optionsOf(bundle, production));
    writeLoaders(bundle);
    // A production build has no source maps, so one that a development build left behind would be wrong.
    if (production) rmSync(`${outFile(bundle)}.map`, { force: true });
    console.log(`  ${bundle.to}: ${Math.ceil(statSync(outFile(bundle)).size / 1000)} kB`);
  }
}

/** Builds at every change until the process is ended. */
async function watch() {
  for (const bundle of presentBundles()) {
    writeLoaders(bundle);
    const context = await esbuild.context({ ...optionsOf(bundle, false), logLevel: "info" });
    await context.watch();
  }
}

/**
 * Loads modules of the engine into this process. They are bundled in memory first, since Node 20 reads no TypeScript.
 * `exports` is the text of a module that exports what is wanted.
 */
async function loadSources(exports) {
  const result = await esbuild.build({
    absWorkingDir: root,
    stdin: { contents: exports, resolveDir: root, sourcefile: "generate.ts", loader: "ts" },
    bundle: true,
    write: false,
    platform: "neutral",
    mainFields: ["module", "main"],
    format: "esm",
    target: "node20",
    logLevel: "warning",
  });
  const file = at("server/dist/generate.mjs");
  mkdirSync(dirname(file), { recursive: true });
  writeFileSync(file, result.outputFiles[0].contents);
  try {
    return await import(`${pathToFileURL(file).href}?${process.hrtime.bigint()}`);
  } finally {
    rmSync(file, { force: true });
  }
}

/** Files that come from the code, by path. The registry of rules comes first: all others may rest on it. */
async function generate(checkOnly) {
  const stale = [];
  const put = (path, text) => {
    const file = at(path);
    if (existsSync(file) && readFileSync(file, "utf8") === text) return;
    stale.push(path);
    if (checkOnly) return;
    mkdirSync(dirname(file), { recursive: true });
    writeFileSync(file, text);
  };
  if (existsSync(at("server/generate.mjs"))) {
    const { generate: generateRules } = await import(pathToFileURL(at("server/generate.mjs")).href);
    stale.push(...(await generateRules({ check: checkOnly })));
  }
  if (existsSync(at("server/src/engine/fixture/schema.ts"))) {
    const { fixtureJsonSchema } = await loadSources('export { fixtureJsonSchema } from "./server/src/engine/fixture/schema.ts";');
    put("fixtures-config/fixture.schema.json", `${JSON.stringify(fixtureJsonSchema(), undefined, 2)}\n`);
  }
  if (existsSync(at("server/src/engine/dialect/page.ts"))) {
    const { dialectsPage } = await loadSources('export { dialectsPage } from "./server/src/engine/dialect/page.ts";');
    put("server/docs/dialects.md", dialectsPage());
  }
  return stale;
}

/** The production build as one .vsix that carries no node_modules. */
async function makePackage() {
  await build(true);
  mkdirSync(at("dist"), { recursive: true });
  const file = at("dist/jawline.vsix");
  rmSync(file, { force: true });
  const vsce = (args, output) =>
    spawnSync(process.execPath, [at("node_modules/@vscode/vsce/vsce"), ...args, "--no-dependencies"], {
      cwd: root,
      encoding: "utf8",
      stdio: ["ignore", output, "inherit"],
    });
  const listed = vsce(["ls"], "pipe");
  const names = listed.stdout.split("\n").filter((name) => name !== "");
  // What .vscodeignore lets in is small and known; a slip there would ship sources or libraries.
  const strange = names.filter((name) => /(^|\/)node_modules\/|\.(ts|map|test\.\w+)$|^(tests|\.)/.test(name));
  if (listed.status !== 0 || strange.length > 0) throw new Error(`these do not belong into the package: ${strange.join(", ")}`);
  for (const bundle of bundles.filter((b) => existsSync(at(b.from)))) {
    for (const name of filesOf(bundle)) if (!names.includes(name)) throw new Error(`the package lacks ${name}`);
  }
  if (vsce(["package", "--no-rewrite-relative-links", "--out", file], "inherit").status !== 0)
    throw new Error("vsce could not make the package");
  const size = statSync(file).size;
  console.log(`  ${relative(root, file)}: ${Math.ceil(size / 1000)} kB`);
  if (size > LARGEST_PACKAGE) throw new Error(`the package has ${size} bytes, more than ${LARGEST_PACKAGE}`);
}

const { values: option } = parseArgs({
  options: {
    generate: { type: "boolean", default: false },
    check: { type: "boolean", default: false },
    package: { type: "boolean", default: false },
    watch: { type: "boolean", default: false },
    into: { type: "string" },
    only: { type: "string" },
  },
});

if (option.into !== undefined) {
  outFolder = resolve(option.into);
  // Bundles are ES modules, which Node knows from the nearest package.json.
  mkdirSync(outFolder, { recursive: true });
  writeFileSync(resolve(outFolder, "package.json"), '{ "type": "module" }\n');
}

try {
  if (option.generate) {
    const stale = await generate(option.check);
    if (option.check && stale.length > 0) {
      console.error(`Not up to date, run npm run generate:\n${stale.map((path) => `  ${path}`).join("\n")}`);
      process.exitCode = 1;
    } else {
      console.log(stale.length === 0 ? "Generated files are up to date." : `Written:\n${stale.map((path) => `  ${path}`).join("\n")}`);
    }
  } else if (option.package) {
    await makePackage();
  } else if (option.watch) {
    await watch();
  } else {
    await build(false);
  }
} catch (error) {
  console.error(`Build failed: ${error instanceof Error ? error.message : String(error)}`);
  process.exitCode = 1;
}
