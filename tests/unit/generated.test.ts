/** What is made from the rules is as the rules are now: the registry and the pages of the rule reference. */
import { execFileSync } from "node:child_process";
import { expect, test } from "vitest";

test("the registry and the rule pages are not stale", () => {
  let out = "";
  try {
    out = execFileSync(process.execPath, ["server/generate.mjs", "--check"], { encoding: "utf8" });
  } catch (error) {
    out = error instanceof Error && "stdout" in error ? String(error.stdout) : String(error);
  }
  expect(out).toBe("");
});
