import { readFileSync } from "node:fs";
import { join, resolve } from "node:path";
import { describe, expect, it } from "vitest";
import { nodeHost } from "../../server/src/cli/node-host.js";
import { analyseNow } from "../../server/src/engine/program.js";

const demo = resolve(import.meta.dirname, "../../fixtures-config/demo");

/** Rule and text of the block of every finding of a demo program. */
function found(name: string): string[] {
  const program = join(demo, name);
  const lines = readFileSync(program, "utf8").split("\n");
  const analysis = analyseNow(nodeHost, { program, workspaceFolders: [demo] });
  expect(analysis.complete).toBe(true);
  return analysis.findings.map((f) => `${f.rule}: ${lines[f.place.range.line]}`);
}

// The faults were put in by hand, one of each of twenty rules; the blocks are those that a colleague would have to change.
describe("the demo", () => {
  it.each(["plate/lever.nc", "tombstone/end-cap.nc"])("%s is silent", (name) => {
    expect(found(name)).toEqual([]);
  });

  it("plate: ten slips, each found once, at its block", () => {
    expect(found("plate/lever-faulty.nc")).toEqual([
      "return-through-point: G90 G28 Z0. M05",
      "station-repeated: G54.1 P3",
      "retract-before-offset: G54.1 P5",
      "length-mismatch: G43 H2 Z50. M08",
      "offset-unmapped: G54.1 P19",
      "length-missing: Z50. M08",
      "call-target: M98 P2520",
      "offset-value: G10 L20 P8 X-652. Y-237. Z-384.",
      "base-drilled: G98 G83 Z-59. R3. Q8. F540.",
      "feed-unset: G98 G83 Z-59. R3. Q8. F540.",
    ]);
  });

  it("tombstone: ten slips, each found once, at its block", () => {
    expect(found("tombstone/end-cap-faulty.nc")).toEqual([
      "station-wrong-face: G00 G54.1 P5 X65. Y25.",
      "retract-before-index: G00 B180.",
      "station-wrong-op: M98 P3202",
      "cycle-left: G54.1 P10",
      "station-skipped: G54.1 P15",
      "offset-inherited: G00 X-27. Y8.",
      "offset-register: G10 L2 P13 X-574.99 Y-535. Z-504.005",
      "offset-missing-axis: G10 L20 P15 X-574.99 Y-335.",
      "retract-return-level: X27.",
      "clamp-cut: Y62.",
    ]);
  });
});
