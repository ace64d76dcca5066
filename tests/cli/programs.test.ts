/**
 * Every program of the shared collection through the command line, in one process: the shape of the answer holds and
 * nothing is said beside it. Where that folder is absent there is nothing to do.
 */
import { existsSync, readdirSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { Ajv } from "ajv";
import { expect, test } from "vitest";
import { Folder } from "../support/command-line.js";
import { checkSchema, traceSchema } from "../support/command-line-schemas.js";

const programs = resolve(dirname(fileURLToPath(import.meta.url)), "../../../shared/programs");
const names = existsSync(programs)
  ? readdirSync(programs)
      .filter((name) => name.endsWith(".nc"))
      .sort()
  : [];
const folder = new Folder("programs");
const ajv = new Ajv({ allErrors: true, allowUnionTypes: true, strictRequired: false, strictTypes: false });
const isCheck = ajv.compile(checkSchema);
const isTrace = ajv.compile(traceSchema);

test(`${names.length} programs are checked`, () => {
  if (names.length === 0) return;
  const files = names.map((name) => join(programs, name));
  const { out, err, status } = folder.jawline(["check", "--format", "json", ...files]);
  expect(err).toBe("");
  expect(status).toBeLessThan(2);
  const answer = JSON.parse(out);
  isCheck(answer);
  expect(isCheck.errors ?? []).toEqual([]);
  expect(answer.programs.map((p: { program: string }) => p.program)).toEqual(files);
  expect(folder.jawline(["check", ...files]).out).toContain(`\n${names.length} programs, `);
}, 120_000);

test("and one in ten is traced", () => {
  for (const name of names.filter((_, i) => i % 10 === 0)) {
    const { out, err } = folder.jawline(["trace", join(programs, name)]);
    expect(err, name).toBe("");
    const lines = out.split("\n").filter((line) => line !== "");
    const bad = lines.find((line) => !isTrace(JSON.parse(line)));
    expect(bad, name).toBeUndefined();
  }
}, 120_000);
