/**
 * `npm test`: every check of the project, one stage after the other, all of them even after a failure. Ends with one
 * line "N passed, N failed" that sums the tests and the stages that have no tests of their own.
 *
 *   node tests/run.mjs                 everything
 *   node tests/run.mjs unit lint       only the stages named
 */
import { spawn } from "node:child_process";
import { existsSync, mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { createInterface } from "node:readline";
import { fileURLToPath } from "node:url";

const root = resolve(dirname(fileURLToPath(import.meta.url)), "..");
const modules = join(root, "node_modules");
const scratch = mkdtempSync(join(tmpdir(), "jawline-test-"));

/** A stage that hangs fails instead of holding up the others. */
const LONGEST_STAGE = 40 * 60 * 1000;

const COUNTS = /^(\d+) passed, (\d+) failed$/;

/**
 * Runs a program of Node's and shows its output. A line "N passed, N failed" is kept back, as only the last line of all
 * may be one. Gives the exit status and the kept counts.
 */
function node(args, env = {}) {
  return new Promise((done) => {
    const child = spawn(process.execPath, args, { cwd: root, env: { ...process.env, ...env }, stdio: ["ignore", "pipe", "pipe"] });
    let counts;
    const show = (line) => {
      const match = COUNTS.exec(line.trim());
      if (match === null) console.log(line);
      else counts = { passed: Number(match[1]), failed: Number(match[2]) };
    };
    createInterface({ input: child.stdout }).on("line", show);
    createInterface({ input: child.stderr }).on("line", (line) => console.error(line));
    const timer = setTimeout(() => {
      console.error(`stopped after ${LONGEST_STAGE / 60000} minutes`);
      child.kill("SIGKILL");
    }, LONGEST_STAGE);
    child.on("error", (error) => {
      clearTimeout(timer);
      console.error(String(error));
      done({ status: 1, counts: undefined });
    });
    child.on("close", (status) => {
      clearTimeout(timer);
      done({ status: status ?? 1, counts });
    });
  });
}

/** A stage that only succeeds or fails. */
async function plain(...args) {
  const { status } = await node(args);
  return status === 0 ? { passed: 1, failed: 0 } : { passed: 0, failed: 1 };
}

/** A stage that ends with its own counts; without them, or with a status that contradicts them, it has failed. */
async function counted(script) {
  const { status, counts } = await node([script]);
  if (counts === undefined) return { passed: 0, failed: 1 };
  if (status !== 0 && counts.failed === 0) return { ...counts, failed: 1 };
  return counts;
}

/** The tests under vitest, counted from its own report: a file that cannot be loaded is one failure. */
async function unit() {
  const report = join(scratch, "vitest.json");
  const args = ["run", "--config", "tests/vitest.config.ts", "--reporter=default", "--reporter=json", `--outputFile.json=${report}`];
  const { status } = await node([join(modules, "vitest/vitest.mjs"), ...args], { JAWLINE_BUILT: "1" });
  if (!existsSync(report)) return { passed: 0, failed: 1 };
  const { numPassedTests, numFailedTests, testResults } = JSON.parse(readFileSync(report, "utf8"));
  const unloaded = testResults.filter(
    (file) => file.status === "failed" && !file.assertionResults.some((test) => test.status === "failed"),
  );
  const failed = numFailedTests + unloaded.length;
  // An error outside every test ends vitest with a failure that no test carries.
  return { passed: numPassedTests, failed: status !== 0 && failed === 0 ? 1 : failed };
}

async function typecheck() {
  const sum = { passed: 0, failed: 0 };
  for (const project of ["server/src/engine", "server", "client", "tests"]) {
    const { passed, failed } = await plain(join(modules, "typescript/bin/tsc"), "-p", project);
    console.log(`  ${project}: ${failed === 0 ? "no errors" : "errors"}`);
    sum.passed += passed;
    sum.failed += failed;
  }
  return sum;
}

const stages = [
  { name: "typecheck", title: "Types (tsc, four projects)", run: typecheck },
  { name: "lint", title: "Lint and format (biome)", run: () => plain(join(modules, "@biomejs/biome/bin/biome"), "check", ".") },
  { name: "generated", title: "Generated files are fresh", run: () => plain("server/build.mjs", "--generate", "--check") },
  { name: "build", title: "Build", run: () => plain("server/build.mjs") },
  { name: "unit", title: "Engine, language server and command line (vitest)", run: unit },
  { name: "editor", title: "The real workbench", script: "tests/editor/run.mjs" },
  { name: "clients", title: "Other editors", script: "tests/clients/run.mjs" },
];

const wanted = process.argv.slice(2);
const unknown = wanted.filter((name) => !stages.some((stage) => stage.name === name));
if (unknown.length > 0) {
  console.error(`There is no stage ${unknown.join(", ")}; there are ${stages.map((stage) => stage.name).join(", ")}.`);
  process.exit(2);
}

const results = [];
for (const stage of stages) {
  if (wanted.length > 0 && !wanted.includes(stage.name)) continue;
  if (stage.script !== undefined && !existsSync(join(root, stage.script))) continue;
  console.log(`\n=== ${stage.title} ===`);
  const start = Date.now();
  const counts = await (stage.script === undefined ? stage.run() : counted(stage.script));
  const seconds = Math.round((Date.now() - start) / 1000);
  results.push({ ...counts, title: stage.title, seconds });
  console.log(
    `--- ${stage.title}: ${counts.failed === 0 ? "passed" : "FAILED"} (${counts.passed} of ${counts.passed + counts.failed}, ${seconds} s)`,
  );
}
rmSync(scratch, { recursive: true, force: true });

console.log("\n=== Summary ===");
for (const { title, passed, failed, seconds } of results) {
  console.log(`${failed === 0 ? "passed" : "FAILED"}  ${title}: ${passed} of ${passed + failed}, ${seconds} s`);
}
const passed = results.reduce((sum, result) => sum + result.passed, 0);
const failed = results.reduce((sum, result) => sum + result.failed, 0);
console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed === 0 ? 0 : 1;
