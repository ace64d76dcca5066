/**
 * Every fix that any example offers, of the rule pages and of the marker cases, is applied and the program looked at
 * again: what it mends must be gone, nothing graver may have come, and a fix that claims to change no motion must not.
 */
import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import { renderMessage } from "../../server/src/engine/checks/wording.js";
import type { Finding } from "../../server/src/engine/findings.js";
import { sameMotion } from "../../server/src/ide/preview.js";
import { parseCase, type Tried, tryFixes } from "../support/cases.js";

const folder = new URL("./data/", import.meta.url);
const cases: readonly (readonly [string, string])[] = [
  ...rules.flatMap((rule) =>
    [...rule.docs.matchAll(/^~~~case\n([\s\S]*?)^~~~$/gm)].map(
      (m) => [`${rule.id}: ${parseCase(m[1] as string).title.split("\n")[0]}`, m[1] as string] as const,
    ),
  ),
  ...readdirSync(folder)
    .filter((f) => f.endsWith(".case"))
    .sort()
    .map((f) => [f, readFileSync(new URL(f, folder), "utf8")] as const),
];

/** How often a rule speaks: places that stand for the same cause count too, as a fix may mend one of them. */
function weight(findings: readonly Finding[], rule: string): number {
  return findings.filter((f) => f.rule === rule && f.waived === undefined).reduce((sum, f) => sum + 1 + f.related.length, 0);
}

/**
 * What a register is given can be judged only once it is known which register a line writes, and whether it adds to it; that a tool
 * is at a station for the second time, or not at another, only once the program says that it is meant to be there. Of an offset that no station uses the
 * station is chosen from a list, and only one of them is the one that was meant.
 */
const UNCOVERS: Readonly<Record<string, readonly string[]>> = {
  "offset-register": ["offset-value"],
  "offset-incremental": ["offset-value"],
  "offset-inherited": ["station-repeated", "station-skipped"],
  "offset-value": ["station-repeated"],
  "offset-unmapped": ["station-repeated"],
};

/** What is wrong with the outcome of a fix, one line each. */
function faults({ finding, fix, before, after, files }: Tried): string[] {
  const style = { units: before.fixture?.units ?? "mm" } as const;
  const out: string[] = [];
  if (weight(after.findings, finding.rule) >= weight(before.findings, finding.rule)) out.push("the finding is still there");
  for (const rule of new Set(after.findings.filter((f) => f.level === "error" && f.waived === undefined).map((f) => f.rule))) {
    const count = (all: readonly Finding[]): number =>
      all.filter((f) => f.rule === rule && f.level === "error" && f.waived === undefined).length;
    if (count(after.findings) <= count(before.findings) || UNCOVERS[finding.rule]?.includes(rule) === true) continue;
    out.push(
      `new errors: ${after.findings.filter((f) => f.rule === rule).map((f) => `${f.place.range.line + 1} ${f.rule} ${renderMessage(f.rule, f.message, style)}`)}`,
    );
  }
  if (fix.sameMotion && !sameMotion(before.run, after.run)) out.push("the motion is not the same");
  if (out.length > 0 && process.env.SHOW === "1")
    out.push(
      [...files]
        .filter(([f]) => f.endsWith(".nc"))
        .map(([f, t]) => `${f}\n${t}`)
        .join("\n"),
    );
  return out.map((line) => `${finding.rule}: ${renderMessage(finding.rule, fix.title, style)}: ${line}`);
}

describe("fixes", () => {
  for (const [name, text] of cases) {
    test(name, () => expect(tryFixes(text).flatMap(faults)).toEqual([]));
  }
});
