/**
 * Stryker plugins of this project.
 *
 * `in-process` runs the tests of one folder in the worker itself. Stryker's runner for vitest starts a fresh vitest worker per
 * mutant (0.7 s and more here), which is hours for the engine. Here the test files and the engine are one bundle, compiled
 * once; for every mutant the bundle is evaluated anew with the mutant switched on (so nothing kept by a module outlives it,
 * and mutants of module constants count too) and the tests that reach the mutant run in turn, until one fails.
 *
 * A rule of the checks is met by nearly every test, since every analysis asks every rule. The tests that name the rule (its
 * examples, its fixes, its faults in the bench) run first, then the quick ones. Fixes and faults of other rules are left out,
 * which can only lower the score. `NEAR=1` stops after the tests that name the rule: a quick look while tests are written.
 *
 * `wording` leaves out plain texts that are not compared with anything: messages, keys and rule pages.
 */
import { createHash } from "node:crypto";
import { appendFileSync, existsSync, readFileSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, relative, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import vm from "node:vm";
import { INSTRUMENTER_CONSTANTS } from "@stryker-mutator/api/core";
import { commonTokens, declareClassPlugin, declareValuePlugin, PluginKind, tokens } from "@stryker-mutator/api/plugin";
import { DryRunStatus, determineHitLimitReached, MutantRunStatus, TestStatus, toMutantRunResult } from "@stryker-mutator/api/test-runner";
import { build } from "esbuild";
import { globSync } from "tinyglobby";
import * as shim from "./vitest-shim.mjs";

const here = dirname(fileURLToPath(import.meta.url));
const suites = JSON.parse(readFileSync(resolve(here, "suites.json"), "utf8"));

/**
 * `SAMPLE=0.2` tests one mutant in five, `SAMPLE=0.2-0.4` the next fifth: a mutant's draw is a hash of what and where it is, so
 * samples repeat. The others come back as errors, which Stryker leaves out of the score. `MUTATION_LOG` takes each result at once.
 */
const sample = (process.env.SAMPLE ?? "1").includes("-")
  ? process.env.SAMPLE.split("-").map(Number)
  : [0, Number(process.env.SAMPLE ?? "1")];

/** How long each test took, in the copy of the project that the workers share. */
const TIMES = "mutation-times.json";

/** A number of 0 … 1 that depends on the text only. */
function drawOf(text) {
  return createHash("sha256").update(text).digest().readUInt32BE(0) / 2 ** 32;
}

class InProcess {
  static inject = tokens(commonTokens.options);

  constructor() {
    const name = INSTRUMENTER_CONSTANTS.NAMESPACE;
    globalThis[name] ??= {};
    this.space = globalThis[name];
  }

  capabilities() {
    return { reloadEnvironment: true };
  }

  async init() {
    const root = process.cwd();
    // A worker that takes the place of one whose mutant never ended has made no dry run of its own.
    if (existsSync(TIMES)) this.took = new Map(JSON.parse(readFileSync(TIMES, "utf8")));
    const wanted = process.env.FOLDER;
    const patterns = wanted === undefined ? [...new Set(Object.values(suites).flat())] : suites[wanted];
    if (patterns === undefined) throw new Error(`FOLDER is one of ${Object.keys(suites).join(", ")}`);
    // In the order of suites.json: what is quick and near the mutants comes first.
    const files = [...new Set(patterns.flatMap((p) => globSync(p, { cwd: root }).sort()))];
    // Modules come before tests, so that what they do while they are read is known as theirs; rules by their registry.
    const registry = "server/src/engine/checks/registry.generated.ts";
    const sources = wanted === "checks" ? [registry] : globSync(`server/src/engine/${wanted ?? "nothing"}/**/*.ts`, { cwd: root }).sort();
    const imports = [
      ...sources.map((f) => `require(${JSON.stringify(`./${f}`)});`),
      ...files.map((f) => `if (__file(${JSON.stringify(f)})) require(${JSON.stringify(`./${f}`)});`),
    ].join("\n");
    const out = await build({
      stdin: { contents: imports, resolveDir: root, loader: "js" },
      bundle: true,
      write: false,
      platform: "node",
      format: "cjs",
      target: "node20",
      packages: "external",
      logLevel: "silent",
      metafile: true,
      plugins: [
        {
          name: "tests",
          setup(b) {
            b.onLoad({ filter: /\.ts$/ }, ({ path }) => {
              let text = readFileSync(path, "utf8")
                .replaceAll("import.meta.url", JSON.stringify(pathToFileURL(path).href))
                .replaceAll("import.meta.dirname", JSON.stringify(dirname(path)));
              // A property that needs hundreds of runs to find the last odd case needs few to find a broken line.
              if (/\.test\.ts$/.test(path))
                text = text
                  .replace(/(numRuns: |const RUNS = )(\d+)/g, (_, head, n) => `${head}${few(n)}`)
                  .replace(/\bruns\((\d[\d_]*)\)/g, (_, n) => `runs(${few(n)})`);
              return { contents: text, loader: "ts" };
            });
          },
        },
      ],
    });
    this.rulesOf = rulesBehind(out.metafile.inputs);
    // Compiled once, as a function of what a module sees.
    this.script = new vm.Script(`(function (require, module, exports, __file) {${out.outputFiles[0].text}\n})`, {
      filename: "bundle.cjs",
    });
    const native = createRequire(resolve(root, "package.json"));
    this.require = (name) => {
      if (name === "vitest") return shim;
      this.modules[name] ??= native(name);
      return this.modules[name];
    };
    this.modules = {};
    // Packages that are ES modules only come in by import().
    for (const [, name] of out.outputFiles[0].text.matchAll(/require\("([^"]+)"\)/g)) {
      if (name !== "vitest" && !name.startsWith(".") && !name.startsWith("node:")) this.modules[name] = await load(name);
    }
  }

  /** Evaluates the bundle and returns its tests, of some files only. */
  collect(ids) {
    let file = "";
    shim.restart();
    const all = [];
    // Called before each test file; false leaves it out.
    const next = (name) => {
      all.push(...shim.collected.tests.map((t) => ({ ...t, id: `${file} ${t.name}`, file })));
      shim.restart();
      file = name;
      // What a test file does while it is read counts for each of its tests; what the modules themselves do is static.
      this.space.currentTestId = `@${name}`;
      return ids === undefined || ids.some((id) => id.startsWith(`${name} `));
    };
    this.space.currentTestId = undefined;
    this.script.runInThisContext()(this.require, { exports: {} }, {}, next);
    next("");
    this.space.currentTestId = undefined;
    return all;
  }

  async run(tests, disableBail) {
    const results = [];
    for (const t of tests) {
      const start = performance.now();
      const common = { id: t.id, name: t.name, fileName: t.file };
      this.space.currentTestId = t.id;
      try {
        for (const b of t.before) await b();
        await t.body();
        results.push({ ...common, status: TestStatus.Success, timeSpentMs: performance.now() - start });
      } catch (error) {
        const failureMessage = String(error?.message ?? error).slice(0, 500);
        results.push({ ...common, status: TestStatus.Failed, failureMessage, timeSpentMs: performance.now() - start });
        if (!disableBail) break;
      }
    }
    this.space.currentTestId = undefined;
    return { status: DryRunStatus.Complete, tests: results };
  }

  async dryRun() {
    this.space.activeMutant = undefined;
    this.space.hitCount = undefined;
    this.space.mutantCoverage = undefined;
    const collected = this.collect();
    // A quick look at single files needs to know only what the tests near them reach.
    const rules =
      process.env.NEAR === "1" ? (process.env.FILES ?? "").split(",").map((f) => this.rulesOf(`server/src/engine/checks/${f}`)) : [[]];
    const tests = rules.some((r) => r.length === 0) ? collected : collected.filter((t) => nearness(t.id, rules.flat()) < 2);
    const result = await this.run(tests, true);
    this.took = new Map(result.tests.map((t) => [t.id, t.timeSpentMs]));
    writeFileSync(TIMES, JSON.stringify([...this.took]));
    const coverage = this.space.mutantCoverage;
    for (const t of tests) {
      const own = { ...coverage?.perTest[t.id] };
      for (const [id, hits] of Object.entries(coverage?.perTest[`@${t.file}`] ?? {})) own[id] = (own[id] ?? 0) + hits;
      if (coverage !== undefined) coverage.perTest[t.id] = own;
    }
    for (const t of tests) delete coverage?.perTest[`@${t.file}`];
    return { ...result, mutantCoverage: coverage };
  }

  async mutantRun(options) {
    const { fileName, location, mutatorName, replacement } = options.activeMutant;
    // The tests run in a copy of the project, below the project itself.
    const file = relative(process.cwd(), fileName).replace(/^(\.\.\/)+/, "");
    const draw = drawOf(JSON.stringify([file, location, mutatorName, replacement]));
    if (draw < sample[0] || draw >= sample[1]) return { status: MutantRunStatus.Error, errorMessage: "not in the sample" };
    const result = await this.test(options, this.rulesOf(file));
    const log = process.env.MUTATION_LOG;
    if (log !== undefined) {
      const told = { file, line: location.start.line, column: location.start.column, mutatorName, replacement, ...result };
      appendFileSync(log, `${JSON.stringify(told)}\n`);
    }
    return result;
  }

  /** The tests to run, in order, of those that reach a mutant of a file on which only these rules stand. */
  order(ids, rules) {
    const far = (id) => nearness(id, rules);
    const wanted = ids.filter((id) => rules.length === 0 || far(id) === 0 || !perRule.some((f) => id.startsWith(`${f} `)));
    const near = rules.length > 0 && process.env.NEAR === "1" ? wanted.filter((id) => far(id) < 2) : wanted;
    return near.sort((a, b) => far(a) - far(b) || this.took.get(a) - this.took.get(b));
  }

  async test({ activeMutant, testFilter, hitLimit, disableBail }, rules) {
    this.space.activeMutant = activeMutant.id;
    this.space.hitLimit = hitLimit;
    this.space.hitCount = hitLimit === undefined ? undefined : 0;
    const wanted = this.order(testFilter ?? [...this.took.keys()], rules);
    let result;
    try {
      const all = new Map(this.collect(wanted).map((t) => [t.id, t]));
      const tests = wanted.flatMap((id) => all.get(id) ?? []);
      if (tests.length === 0) throw new Error("none of the tests is there any more");
      result = await this.run(tests, disableBail);
    } catch (error) {
      // The mutant breaks the loading of the modules: every test file fails with it.
      const message = String(error?.message ?? error);
      result = { status: DryRunStatus.Complete, tests: [failed(message)] };
    }
    return toMutantRunResult(determineHitLimitReached(this.space.hitCount, hitLimit) ?? result);
  }
}

/** Test files with a test for each rule, named by it, that are too slow to run whole for every mutant. */
const perRule = ["tests/bench/bench.test.ts", "tests/cases/fixes.test.ts"];

/** 0 for a test that names one of the rules, 1 for a unit test of the checks, 2 for any other. */
function nearness(id, rules) {
  if (rules.some((r) => id.includes(r))) return 0;
  return /unit\/checks-/.test(id) ? 1 : 2;
}

/** Which rules stand on a file: those whose file it is or that import it. None where that is nearly all of them. */
function rulesBehind(inputs) {
  const checks = "server/src/engine/checks/";
  const importers = new Map();
  for (const [from, { imports }] of Object.entries(inputs))
    for (const { path } of imports) importers.set(path, [...(importers.get(path) ?? []), from]);
  return (file) => {
    if (!file.startsWith(checks)) return [];
    const rules = new Set();
    const seen = new Set();
    const climb = (at) => {
      if (seen.has(at) || !at.startsWith(checks)) return;
      seen.add(at);
      if (/= defineRule\(/.test(readFileSync(at, "utf8"))) rules.add(at.slice(checks.length, -".ts".length));
      else for (const by of importers.get(at) ?? []) climb(by);
    };
    climb(file);
    return rules.size > 20 ? [] : [...rules];
  };
}

function failed(failureMessage) {
  return { id: "loading", name: "loading", status: TestStatus.Failed, failureMessage, timeSpentMs: 0 };
}

function few(n) {
  return Math.max(10, Math.ceil(Number(n.replaceAll("_", "")) / 20));
}

/** A package as `require` gives it to code that was compiled from `import`: a default that is called must be callable itself. */
async function load(name) {
  const made = await import(name);
  if (made.default === undefined) return made;
  const whole = { __esModule: true, ...made };
  return typeof made.default === "function" ? Object.assign((...args) => made.default(...args), whole) : whole;
}

const wording = {
  shouldIgnore(path) {
    const plain = path.isStringLiteral() || (path.isTemplateLiteral() && path.node.expressions.length === 0);
    if (plain && !path.parentPath.isBinaryExpression() && !path.parentPath.isSwitchCase()) return "wording";
    return undefined;
  },
};

export const strykerPlugins = [
  declareClassPlugin(PluginKind.TestRunner, "in-process", InProcess),
  declareValuePlugin(PluginKind.Ignore, "wording", wording),
];
