/** Every `*.case` file of this folder, compared 1:1. `UPDATE=1` rewrites the markers; read what it wrote. */
import { existsSync, readdirSync, readFileSync, writeFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { runCase } from "../support/cases.js";

const folder = new URL("./data/", import.meta.url);
const files = existsSync(folder) ? readdirSync(folder, { recursive: true, encoding: "utf8" }).filter((f) => f.endsWith(".case")) : [];

describe("marker cases", () => {
  test("there are some", () => expect(files.length).toBeGreaterThan(0));
  for (const file of files.sort()) {
    test(file, () => {
      const url = new URL(file, folder);
      const outcome = runCase(readFileSync(url, "utf8"));
      if (process.env.UPDATE === "1") {
        writeFileSync(url, outcome.updated);
        return;
      }
      expect({ misses: outcome.misses, extras: outcome.extras, fixes: outcome.fixes }).toEqual({ misses: [], extras: [], fixes: [] });
    });
  }
});
