/**
 * The examples on the rule pages run as tests: `~~~case` fences in a rule's docs. `UPDATE=1` rewrites their markers in
 * the rule's file; `RULE=id` runs one rule only.
 */
import { readdirSync, readFileSync, writeFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import { parseCase, runCase, takeMarkers } from "../support/cases.js";

const checks = new URL("../../server/src/engine/checks/", import.meta.url);

/** The bodies of the case fences of a page. */
function fences(docs: string): string[] {
  return [...docs.matchAll(/^~~~case\n([\s\S]*?)^~~~$/gm)].map((m) => m[1] as string);
}

const wanted = process.env.RULE;
for (const rule of rules.filter((r) => wanted === undefined || r.id === wanted)) {
  describe(rule.id, () => {
    const cases = fences(rule.docs);
    // A finding that an allow comment has made information is a near miss: the rule was told to let it be.
    const fires = (text: string): boolean =>
      parseCase(text).sections.some((s) =>
        takeMarkers(s).markers.some((m) => m.rule === rule.id && (m.level !== "information" || rule.level === "information")),
      );
    test("has an example that fires and a near miss", () => {
      expect(cases.some(fires), "fires").toBe(true);
      expect(
        cases.some((c) => !fires(c)),
        "near miss",
      ).toBe(true);
    });
    cases.forEach((text, index) => {
      test(`example ${index + 1}: ${parseCase(text).title.split("\n")[0]}`, () => {
        const outcome = runCase(text, rule.id);
        if (process.env.UPDATE === "1") return update(text, outcome.updated);
        expect({ misses: outcome.misses, extras: outcome.extras, fixes: outcome.fixes }).toEqual({ misses: [], extras: [], fixes: [] });
      });
    });
  });
}

test("the registry holds every rule file", () => {
  const ids = readdirSync(checks)
    .filter((f) => f.endsWith(".ts") && f !== "rule.ts" && /= defineRule\(/.test(readFileSync(new URL(f, checks), "utf8")))
    .map((f) => f.replace(/\.ts$/, ""))
    .sort();
  expect(rules.map((r) => r.id).sort()).toEqual(ids);
});

function update(before: string, after: string): void {
  for (const file of readdirSync(checks)) {
    const url = new URL(file, checks);
    if (!file.endsWith(".ts")) continue;
    const text = readFileSync(url, "utf8");
    if (text.includes(`~~~case\n${before}~~~`))
      writeFileSync(
        url,
        text.replace(`~~~case\n${before}~~~`, () => `~~~case\n${after}~~~`),
      );
  }
}
