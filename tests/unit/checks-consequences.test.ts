/**
 * One cause, one finding: which reports follow from which. Runs written by hand; the expectations are the sentences of the
 * catalogue of rules, read for each step of the run. Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { consequencesOf } from "../../server/src/engine/checks/consequences.js";
import type { RawReport } from "../../server/src/engine/checks/context.js";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import type { Report } from "../../server/src/engine/checks/rule.js";
import type { Run, Step } from "../../server/src/engine/machine/run.js";
import { modal, placeAt, run as sample } from "../support/analysis.js";

const [one] = sample.steps;
if (one === undefined) throw new Error("the sample has a step");

function stepWith(after: Partial<Step["after"]>, like: Step = one as Step): Step {
  return { ...like, before: modal(after), after: modal(after) };
}

/**
 * T1 changed in step 0, T2 in step 4. G54 by step 1, G55 by step 3, G56 by step 5. A drilling cycle in step 2, plain moves else.
 * Step 6 is T2 again, still under G56, in another motion.
 */
const run: Run = {
  ...sample,
  steps: [
    stepWith({ tool: 1, toolStep: 0, offsetStep: -1 }),
    stepWith({ tool: 1, toolStep: 0, offsetStep: 1 }),
    stepWith({ tool: 1, toolStep: 0, offsetStep: 1, motion: "G81" }),
    stepWith({ tool: 1, toolStep: 0, offsetStep: 3 }),
    stepWith({ tool: 2, toolStep: 4, offsetStep: 3 }),
    stepWith({ tool: 2, toolStep: 4, offsetStep: 5 }),
    stepWith({ tool: 2, toolStep: 4, offsetStep: 5, motion: "G1" }),
  ],
};
/** The same program with the switch on: it begins with the very block. */
const skipped: Run = { ...run, steps: run.steps.slice(0, 5) };
/** Another program. */
const other: Run = { ...run, steps: run.steps.map((s) => ({ ...s, block: { ...s.block } })) };

function item(id: string, change: Partial<Report> = {}, of: Run = run): RawReport {
  const rule = rules.find((r) => r.id === id);
  if (rule === undefined) throw new Error(`no rule ${id}`);
  return { rule, run: of, report: { at: placeAt("/p.nc", 0, 0, 1), args: {}, ...change } };
}

/** The steps at which a report of a rule follows from a cause. */
function reach(cause: RawReport, id: string, of: Run = run, change: Partial<Report> = {}): number[] {
  const follows = consequencesOf([cause]);
  return [...of.steps.keys()].filter((step) => follows(item(id, { ...change, step }, of)));
}

/** The rules of which a report on a step follows from a cause. */
function followers(cause: RawReport, step: number | undefined, of: Run = run, change: Partial<Report> = {}): string[] {
  const follows = consequencesOf([cause]);
  return rules.map((r) => r.id).filter((id) => follows(item(id, { ...change, ...(step === undefined ? {} : { step }) }, of)));
}

const PLACE = [
  "approach-low",
  "base-drilled",
  "clamp-cut",
  "clamp-near",
  "clamp-rapid",
  "holder-reach",
  "neighbour-cut",
  "retract-before-index",
  "retract-before-offset",
  "retract-return-level",
  "station-outside-part",
  "stock-rapid",
  "travel-limit",
];
const COMPARED = ["station-count", "station-drift", "station-repeated", "station-skipped", "station-wrong-op"];
const sorted = (...lists: readonly (readonly string[])[]): string[] => lists.flat().sort();

describe("what follows from a fault", () => {
  it("nothing follows from nothing, nor from a rule that is no cause", () => {
    expect(consequencesOf([])(item("clamp-rapid", { step: 1 }))).toBe(false);
    expect(followers(item("clamp-rapid", { step: 1 }), 1)).toEqual([]);
  });

  it("a tool without its length: where it is, until the next tool change", () => {
    const cause = item("length-missing", { step: 1 });
    expect(followers(cause, 3).sort()).toEqual(PLACE);
    expect(reach(cause, "clamp-rapid")).toEqual([0, 1, 2, 3]);
    expect(reach(item("length-missing", { step: 5 }), "clamp-rapid")).toEqual([4, 5, 6]);
    // In another run, on no step, and from a cause that stands on none.
    expect(reach(cause, "clamp-rapid", other)).toEqual([]);
    expect(followers(cause, undefined)).toEqual([]);
    expect(followers(item("length-missing"), 1)).toEqual([]);
    expect(followers(item("length-missing", { step: 99 }), 1)).toEqual([]);
  });

  it("G91 left on: from there on, the same tool; also how the stations compare", () => {
    const cause = item("incremental-left", { step: 1 });
    expect(followers(cause, 2).sort()).toEqual(sorted(PLACE, COMPARED, ["station-wrong-face", "syntax"]));
    expect(reach(cause, "syntax")).toEqual([1, 2, 3]);
    expect(reach(item("incremental-left"), "syntax")).toEqual([]);
  });

  it("G91 left on: the next tools too, until one says G90, and the first of them to its end", () => {
    const said = (from: number, to: number): Run => ({
      ...run,
      steps: run.steps.map((s, i) => ({ ...s, after: { ...s.after, absolute: i < from || i >= to } })),
    });
    // T1 in steps 0 to 3, T2 from 4 on.
    const steps = (from: number, to: number, at: number): number[] => {
      const of = said(from, to);
      return reach(item("incremental-left", { step: at }, of), "clamp-rapid", of);
    };
    expect(steps(1, 6, 1)).toEqual([1, 2, 3, 4, 5]);
    expect(steps(1, 7, 2)).toEqual([2, 3, 4, 5, 6]);
    expect(steps(0, 3, 2)).toEqual([2, 3]);
  });

  it("an axis left from the last station: until the next offset; as information nothing", () => {
    const cause = item("approach-stale-axis", { step: 1 });
    expect(followers(cause, 2).sort()).toEqual(sorted(PLACE, ["syntax"]));
    expect(reach(cause, "clamp-cut")).toEqual([1, 2]);
    expect(reach(item("approach-stale-axis", { step: 5 }), "clamp-cut")).toEqual([5, 6]);
    expect(reach(item("approach-stale-axis", { step: 1, level: "information" }), "clamp-cut")).toEqual([]);
    // The step after the offset does not begin the reach.
    expect(reach(item("approach-stale-axis", { step: 2 }), "clamp-cut")).toEqual([]);
  });

  it("an offset inherited by the next tool: that tool under that offset", () => {
    const cause = item("offset-inherited", { step: 4 });
    expect(followers(cause, 4).sort()).toEqual([...PLACE, "station-wrong-face"].sort());
    expect(reach(cause, "travel-limit")).toEqual([4]);
    expect(reach(item("offset-inherited", { step: 6 }), "travel-limit")).toEqual([5, 6]);
    expect(reach(item("offset-inherited"), "travel-limit")).toEqual([]);
  });

  it("the wrong op: that the path differs from its siblings, anywhere in the run", () => {
    const cause = item("station-wrong-op", { step: 1 });
    expect(followers(cause, 6)).toEqual(["station-drift"]);
    expect(followers(cause, undefined)).toEqual(["station-drift"]);
    expect(reach(cause, "station-drift", other)).toEqual([]);
  });

  it("a jaw that cannot be as it is set: only its open position meets nothing", () => {
    const cause = item("fixture-notch");
    expect(followers(cause, undefined, run, { key: "open" })).toEqual(["fixture-overlap"]);
    expect(followers(cause, undefined, run, { key: "default" })).toEqual([]);
    expect(followers(cause, undefined)).toEqual([]);
  });

  it("a return plane that is too low: the rapids of the same tool in the same cycle", () => {
    const cause = item("retract-return-level", { step: 2 });
    expect(followers(cause, 2).sort()).toEqual(["clamp-rapid", "stock-rapid"]);
    expect(reach(cause, "stock-rapid")).toEqual([2]);
    expect(reach(item("retract-return-level", { step: 5 }), "clamp-rapid")).toEqual([4, 5]);
  });

  it("the whole series beside: everything that is said of places and stations in that run", () => {
    const cause = item("offset-series", { step: 1 });
    expect(followers(cause, 6).sort()).toEqual(sorted(PLACE, COMPARED, ["station-wrong-face"]));
    expect(reach(cause, "station-drift", other)).toEqual([]);
    expect(followers(cause, undefined)).toEqual([]);
  });

  it("a loop that goes on past the last station: the offsets of none, of that tool", () => {
    const cause = item("station-count", { step: 1, data: { past: 1 } });
    expect(followers(cause, 3)).toEqual(["offset-unmapped"]);
    expect(reach(cause, "offset-unmapped")).toEqual([0, 1, 2, 3]);
    for (const data of [{ past: 0 }, { past: "1" }, { count: 5, wanted: 4 }, undefined])
      expect(followers(item("station-count", { step: 1, ...(data === undefined ? {} : { data }) }), 3)).toEqual([]);
    expect(followers(item("station-count", { data: { past: 1 } }), 3)).toEqual([]);
  });

  it("a call without end: how the stations compare in that run", () => {
    const cause = item("call-endless", { step: 1 });
    expect(followers(cause, 6).sort()).toEqual(COMPARED);
    expect(followers(cause, undefined).sort()).toEqual(COMPARED);
    expect(reach(cause, "station-skipped", other)).toEqual([]);
  });

  it("a called program that is not there: stations that its tool leaves out", () => {
    const cause = item("call-target", { step: 1 });
    expect(followers(cause, 6, run, { data: { tool: 1 } })).toEqual(["station-count", "station-skipped"]);
    expect(followers(cause, 6, run, { data: { tool: 2 } })).toEqual([]);
    expect(followers(cause, 6)).toEqual([]);
    expect(reach(cause, "station-skipped", other, { data: { tool: 1 } })).toEqual([]);
    expect(followers(item("call-target"), 6, run, { data: { tool: 1 } })).toEqual([]);
  });

  it("a slash on the offset alone: the run with the switch on, of the same program", () => {
    const cause = item("skip-partial", { step: 1 });
    const list = sorted(PLACE, ["length-mismatch", "length-missing", "offset-inherited", "offset-unmapped", "station-wrong-face"]);
    expect(followers(cause, 2, skipped).sort()).toEqual(list);
    expect(followers(cause, undefined, skipped).sort()).toEqual(list);
    expect(followers(cause, 2)).toEqual([]);
    expect(followers(cause, 2, other)).toEqual([]);
  });

  it("a part that is machined under the offset of another one: the visit that it lacks, and no other", () => {
    const cause = item("neighbour-cut", { step: 1, data: { solid: "stock", solidStation: "A2" } });
    const lacks = (missing: unknown, tool: number): string[] => followers(cause, 6, run, { data: { missing, tool } });
    expect(lacks(["A2"], 1)).toEqual(["station-skipped"]);
    expect([...lacks(["A2"], 2), ...lacks(["A3"], 1), ...lacks(["A2", "A3"], 1), ...lacks(undefined, 1)]).toEqual([]);
    expect(reach(cause, "station-skipped", other, { data: { missing: ["A2"], tool: 1 } })).toEqual([]);
    const jaw = item("neighbour-cut", { step: 1, data: { solid: "fixed jaw", solidStation: "A2" } });
    expect(followers(jaw, 6, run, { data: { missing: ["A2"], tool: 1 } })).toEqual([]);
  });

  it("one of several causes is enough, and a cause is none of its own consequences", () => {
    const follows = consequencesOf([item("length-missing", { step: 5 }), item("call-endless", { step: 1 })]);
    expect(follows(item("clamp-rapid", { step: 4 }))).toBe(true);
    expect(follows(item("clamp-rapid", { step: 3 }))).toBe(false);
    expect(follows(item("station-skipped", { step: 3 }))).toBe(true);
    expect(follows(item("length-missing", { step: 5 }))).toBe(false);
  });
});
