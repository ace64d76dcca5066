#!/usr/bin/env node
// A stand-in for desktop VS Code's executable: @vscode/test-electron's runTests takes it as `vscodeExecutablePath` and the
// same runner and suites work with it and with the desktop. It understands what runTests passes, and nothing more.
import * as path from "node:path";
import { fileURLToPath } from "node:url";
import { runExtensionTests } from "./host.mjs";

const options = new Map();
const rest = [];
for (const argument of process.argv.slice(2)) {
  const found = /^--([^=]+)(?:=([\s\S]*))?$/.exec(argument);
  if (found) options.set(found[1], found[2] ?? "true");
  else rest.push(argument);
}
const toPath = (text) => (text.startsWith("file:") ? fileURLToPath(text) : path.resolve(text));
const development = options.get("extensionDevelopmentPath");
const tests = options.get("extensionTestsPath");
if (!development || !tests) {
  console.error("the workbench stand-in needs --extensionDevelopmentPath and --extensionTestsPath");
  process.exit(2);
}
const abort = new AbortController();
for (const signal of ["SIGINT", "SIGTERM", "SIGHUP"]) process.on(signal, () => abort.abort());
try {
  process.exitCode = await runExtensionTests({
    extensionDevelopmentPath: toPath(development),
    extensionTestsPath: toPath(tests),
    folder: rest[0] ? toPath(rest[0]) : undefined,
    disableExtensions: options.has("disable-extensions"),
    signal: abort.signal,
  });
} catch (error) {
  console.error(`the workbench stand-in: ${error instanceof Error ? error.message : error}`);
  process.exitCode = abort.signal.aborted ? 130 : 71;
}
