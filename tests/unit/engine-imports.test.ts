/**
 * The engine stands on nothing but itself: it runs in Node, in a browser's worker and in the command line alike. Two
 * things hold that: its imports, read here from the files, and its own compiler project without types of Node or the
 * DOM.
 */
import { spawnSync } from "node:child_process";
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve, sep } from "node:path";
import { fileURLToPath } from "node:url";
import { describe, expect, test } from "vitest";

const root = resolve(dirname(fileURLToPath(import.meta.url)), "../..");
const engine = join(root, "server/src/engine");
const tsc = join(root, "node_modules/typescript/bin/tsc");

/** Packages that the engine may use: both are plain data in, plain data out. */
const ALLOWED = ["zod", "jsonc-parser"];

const files = readdirSync(engine, { recursive: true, encoding: "utf8" })
  .filter((name) => name.endsWith(".ts"))
  .map((name) => join(engine, name));

/** Every module that a text names in an import, an export or a require. */
function importsOf(text: string): string[] {
  const statements = /^(?:import|export)\b(?:[^"'`;]*?\bfrom)?\s*(["'])([^"'\n]+)\1|\b(?:import|require)\s*\(\s*(["'`])([^"'`\n]+)\3/gm;
  return [...text.matchAll(statements)].map((match) => match[2] ?? match[4] ?? "");
}

/** What an engine file may not import. */
function strangers(file: string, text: string): string[] {
  return importsOf(text).filter((name) => {
    if (ALLOWED.includes(name)) return false;
    return !(name.startsWith(".") && name.endsWith(".js") && resolve(dirname(file), name).startsWith(engine + sep));
  });
}

describe("imports of the engine", () => {
  test("are found in every form they can take", () => {
    const text = [
      'import { a } from "./a.js";',
      "import type { B } from '../b.js'",
      'import "node:fs";',
      'export * from "vscode-languageserver";',
      'const c = await import("./c.js");',
      'const d = require("d");',
      'type E = import("e").E;',
    ].join("\n");
    expect(importsOf(text)).toEqual(["./a.js", "../b.js", "node:fs", "vscode-languageserver", "./c.js", "d", "e"]);
    expect(strangers(join(engine, "program.ts"), text)).toEqual(["../b.js", "node:fs", "vscode-languageserver", "d", "e"]);
  });

  test("stay inside", () => {
    expect(files.length).toBeGreaterThan(20);
    const found = files.flatMap((file) =>
      strangers(file, readFileSync(file, "utf8")).map((name) => `${file.slice(root.length + 1)}: ${name}`),
    );
    expect(found).toEqual([]);
  });
});

describe("the engine's compiler project", () => {
  test("knows no types of Node, the DOM, the protocol or the editor", () => {
    const listed = spawnSync(process.execPath, [tsc, "-p", engine, "--listFilesOnly"], { encoding: "utf8" });
    expect(listed.status).toBe(0);
    const names = listed.stdout
      .trim()
      .split(/\r?\n/)
      .map((name) => name.replace(/\\/g, "/"));
    expect(names.some((name) => name.endsWith("server/src/engine/program.ts"))).toBe(true);
    expect(names.filter((name) => /@types\/|lib\.(dom|webworker|scripthost)|vscode/.test(name))).toEqual([]);
    expect(names.filter((name) => !/\/(server\/src\/engine|node_modules\/(zod|jsonc-parser|typescript|@typescript))\//.test(name))).toEqual(
      [],
    );
  });

  test("refuses a file that uses them", () => {
    const folder = mkdtempSync(join(tmpdir(), "jawline-engine-"));
    try {
      writeFileSync(join(folder, "tsconfig.json"), JSON.stringify({ extends: join(engine, "tsconfig.json"), include: ["./*.ts"] }));
      writeFileSync(join(folder, "node.ts"), "export const name: string = process.argv[0];\n");
      writeFileSync(join(folder, "dom.ts"), "export const title: string = document.title;\n");
      writeFileSync(join(folder, "plain.ts"), "export const half: number = Math.sqrt(0.25);\n");
      const { stdout } = spawnSync(process.execPath, [tsc, "-p", folder, "--pretty", "false"], { encoding: "utf8" });
      const places = stdout.split(/\r?\n/).flatMap((line) => /([a-z]+)\.ts\(\d+,\d+\): error/.exec(line)?.[1] ?? []);
      expect([...new Set(places)].sort()).toEqual(["dom", "node"]);
    } finally {
      rmSync(folder, { recursive: true, force: true });
    }
  });
});
