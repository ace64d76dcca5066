/** What is made from the rules is as the rules are now: the registry and the pages of the rule reference. */
import { execFileSync } from "node:child_process";
import { expect, test } from "vitest";
import { rulePages, rules } from "../../server/src/engine/checks/generate.js";

test("the registry and the rule pages are not stale", () => {
  let out = "";
  try {
    out = execFileSync(process.execPath, ["server/generate.mjs", "--check"], { encoding: "utf8" });
  } catch (error) {
    out = error instanceof Error && "stdout" in error ? String(error.stdout) : String(error);
  }
  expect(out).toBe("");
});

test("the rule pages show programs as they stand in a file, and beside them what is said of which line", () => {
  const pages = rulePages();
  expect(pages.size).toBe(rules.length + 1);
  const marks = [...pages].filter(([, text]) => /\^\^|^-- .+ --$|~~~/m.test(text));
  expect(marks.map(([name]) => name)).toEqual([]);
  const page = pages.get("base-drilled.md") ?? "";
  const firing = page.split("**Example.** ")[1] ?? "";
  // Line 5 of the program, counted by hand.
  expect(firing).toContain("Fixture: [two-stations](README.md#two-stations).\n\n```nc\nG21 G17 G40 G49 G80 G90\nT2 M6\n");
  expect(firing).toContain(
    "- line 5, `G98 G81 X20 Y20 Z-32 R2 F200`: error base-drilled: A1: tool 2 (drill 6.8) drills 2 mm into the parallels\n",
  );
  expect(page.split("**Example.** ")[2]).toMatch(/```\n\nNothing is said\.\n$/);
  // A mark below some of the words quotes these alone.
  expect(pages.get("offset-unmapped.md")).toMatch(/^- line \d+, `G57`: error offset-unmapped: no station uses G57/m);
  expect(pages.get("station-skipped.md")).toContain("Station A2 is marked empty for the run.");
});
