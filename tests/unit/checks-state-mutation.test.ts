/**
 * State that leaks from block to block, tool to tool and station to station: what each rule says in whole, and what it passes over,
 * worked out by hand from the catalogue of rules. Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { type Setup, tell } from "../support/tell.js";

const two: Setup = { use: "two-stations" };
const HEAD = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3"];
const off = (...rules: string[]): Setup => ({
  use: "two-stations",
  change: (s) => {
    s.levels = Object.fromEntries(rules.map((r) => [r, "off"]));
  },
});

describe("incremental-left and what follows from it", () => {
  // T2 and T3 go down by 300 and 200 from wherever they stand: into the base, were it told.
  const lines = (allow = "") => [
    ...[...HEAD, "G0 G54 X10 Y10", "G43 H1 Z50", "G91 G28 Z0", "G90 G0 X10 Y10", "Z50", "G91 G28 Z0", "T2 M6", `G54 X40 Y10${allow}`],
    ...["G43 H2 Z-330", "T3 M6", "G43 H3 Z-100", "X10", "M30"],
  ];
  const told = (setup: Setup, allow = "") =>
    tell("incremental-left", setup, lines(allow))
      .analysis.findings.filter((f) => f.level === "error" && f.waived === undefined)
      .map((f) => f.rule);
  it("alone, for all tools until G90", () => {
    expect(told(two)).toEqual(["incremental-left"]);
  });
  it("a cause that is switched off or waived hides nothing", () => {
    const follows = told(off("incremental-left"));
    expect(follows.length).toBeGreaterThan(0);
    expect(follows).not.toContain("incremental-left");
    expect(told(two, " (ALLOW incremental-left: meant as distances)")).toEqual(follows);
  });
});
