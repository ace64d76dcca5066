/**
 * What holds for every finding, over all examples of the rule pages and all marker cases: its texts are complete, its places
 * exist, it names stations of the sidecar, and a fix takes its finding away. Asked for by mutation testing: the markers compare
 * rule, level, place and text, and nothing of the rest.
 */
import { readdirSync, readFileSync } from "node:fs";
import { describe, expect, it } from "vitest";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import { samples } from "../../server/src/engine/checks/samples.js";
import { renderMessage } from "../../server/src/engine/checks/wording.js";
import type { Finding } from "../../server/src/engine/findings.js";
import { isInside } from "../cases/fixtures/samples.js";
import { applyFix, parseCase, runCase, takeMarkers } from "../support/cases.js";

const FOLDER = "/case/";
const data = new URL("../cases/data/", import.meta.url);

interface Named {
  readonly name: string;
  readonly text: string;
}

const cases: readonly Named[] = [
  ...rules.flatMap((rule) =>
    [...rule.docs.matchAll(/^~~~case\n([\s\S]*?)^~~~$/gm)].map((m, i) => ({ name: `${rule.id} ${i + 1}`, text: m[1] as string })),
  ),
  ...readdirSync(data)
    .filter((f) => f.endsWith(".case"))
    .map((f) => ({ name: f, text: readFileSync(new URL(f, data), "utf8") })),
];

/** The files of a case without their markers. */
function filesOf(text: string): Map<string, string> {
  const files = new Map<string, string>();
  for (const section of parseCase(text).sections) {
    if (section.name === "options" || / after fix \d+$/.test(section.name)) continue;
    const used = section.name.startsWith("use: ") ? samples[section.name.slice(5).trim()]?.text : undefined;
    if (used !== undefined) files.set(`${FOLDER}sample.fixture.json`, used);
    else files.set(FOLDER + section.name, takeMarkers(section).text);
  }
  return files;
}

/** The case with other files. */
function caseWith(text: string, files: ReadonlyMap<string, string>): string {
  return parseCase(text)
    .sections.filter((s) => !/ after fix \d+$/.test(s.name))
    .map((s) => {
      const sample = s.name.startsWith("use: ") ? files.get(`${FOLDER}sample.fixture.json`) : undefined;
      if (sample !== undefined) return `-- fixture.json --\n${sample}`;
      return `-- ${s.name} --\n${files.get(FOLDER + s.name) ?? s.text}`;
    })
    .join("\n");
}

/** Places that a rule finds fault with; several with one cause are one finding with related places. */
function count(findings: readonly Finding[], rule: string): number {
  return findings.filter((f) => f.rule === rule).reduce((sum, f) => sum + 1 + f.related.length, 0);
}

describe("every finding of every case", () => {
  for (const { name, text } of cases) {
    it(name, () => {
      const files = filesOf(text);
      const { analysis } = runCase(text);
      const ids = new Set(analysis.fixture?.stations.map((s) => s.id));
      const units = analysis.fixture?.units ?? "mm";
      for (const f of analysis.findings) {
        const told = `${f.rule} ${f.message.key}`;
        for (const message of [f.message, ...f.related.map((r) => r.message), ...f.fixes.map((x) => x.title)]) {
          const shown = renderMessage(f.rule, message, { units });
          expect(shown, told).not.toMatch(/[{}]|undefined|NaN|^$/);
          expect(shown, told).not.toBe(message.key);
        }
        for (const place of [f.place, ...f.related.map((r) => r.place), ...f.fixes.flatMap((x) => x.changes.map((c) => c.place))]) {
          const file = files.get(place.file);
          expect(file, `${told} ${place.file}`).toBeDefined();
          expect(isInside(file ?? "", place), `${told} ${JSON.stringify(place)}`).toBe(true);
        }
        if (f.station !== undefined && ids.size > 0) expect(ids, told).toContain(f.station);
        expect(JSON.parse(JSON.stringify(f.data ?? {})), told).toEqual(f.data === undefined ? {} : expect.any(Object));
        for (const fix of f.fixes) {
          const after = applyFix(fix, files);
          expect([...after], told).not.toEqual([...files]);
          const left = runCase(caseWith(text, after)).analysis.findings;
          expect(count(left, f.rule), `${told}: ${renderMessage(f.rule, fix.title, { units })}`).toBeLessThan(
            count(analysis.findings, f.rule),
          );
        }
      }
    });
  }
});

/**
 * Rules of the catalogue with a fix in its column "fix offered" that offer one in their examples: they must go on doing so.
 * station-outside-part offers its fix only where the same coordinates then meet the neighbour's stock, which no example does.
 */
const PROMISED: readonly string[] = [
  "offset-unmapped",
  "offset-value",
  "offset-register",
  "offset-incremental",
  "offset-missing-axis",
  "offset-series",
  "offset-inherited",
  "offset-value-overwritten",
  "station-skipped",
  "station-repeated",
  "station-wrong-op",
  "station-drift",
  "station-wrong-face",
  "retract-return-level",
  "length-missing",
  "length-mismatch",
  "incremental-left",
  "return-through-point",
  "machine-move-once",
  "shift-left",
  "transform-left",
  "cycle-left",
  "state-incomplete",
  "sub-leaves-state",
  "units-unstated",
  "point-missing",
  "call-target",
  "station-count",
  "skip-partial",
  "retract-before-offset",
  "retract-before-index",
  "approach-low",
  "approach-stale-axis",
  "index-combined",
  "shift-everywhere",
];

describe("fixes that the catalogue promises", () => {
  for (const id of PROMISED) {
    it(id, () => {
      const own = cases.filter((c) => c.name.startsWith(`${id} `));
      const fixes = own.flatMap((c) =>
        runCase(c.text, id)
          .analysis.findings.filter((f) => f.rule === id)
          .flatMap((f) => f.fixes),
      );
      expect(fixes.length).toBeGreaterThan(0);
      for (const fix of fixes) expect(fix.changes.length).toBeGreaterThan(0);
    });
  }
});
