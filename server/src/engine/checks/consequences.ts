import type { Run } from "../machine/run.js";
import type { RawReport } from "./context.js";

/** What a tool meets, or leaves, when it is somewhere else than the program means. */
const WHERE_THE_TOOL_IS: readonly string[] = [
  "clamp-rapid",
  "clamp-cut",
  "clamp-near",
  "base-drilled",
  "stock-rapid",
  "neighbour-cut",
  "holder-reach",
  "retract-before-offset",
  "retract-return-level",
  "retract-before-index",
  "approach-low",
  "station-outside-part",
  "travel-limit",
];

/** What is said of stations by comparing them. */
const COMPARED: readonly string[] = ["station-skipped", "station-repeated", "station-wrong-op", "station-drift", "station-count"];

/** A stretch of a run in which reports of some rules only tell what follows from one fault. */
interface Reach {
  readonly run: Run;
  readonly rules: ReadonlySet<string>;
  covers(item: RawReport): boolean;
}

/**
 * Tells which reports only follow from another one: one cause, one finding. A program that never brings a tool to its length
 * drives it into everything; the fault is the missing length alone. Give it the reports that stand, so that a cause which is
 * switched off or waived hides nothing.
 *
 * Returned is a test on reports; a cause itself is never a consequence of its own kind.
 */
export function consequencesOf(standing: readonly RawReport[]): (item: RawReport) => boolean {
  const reaches = standing.flatMap(reachesOf);
  if (reaches.length === 0) return () => false;
  return (item) => reaches.some((r) => r.rules.has(item.rule.id) && r.covers(item));
}

function reachesOf(cause: RawReport): Reach[] {
  const { run, report } = cause;
  const { step } = report;
  const reach = (rules: readonly string[], covers: (item: RawReport) => boolean): Reach[] => [{ run, rules: new Set(rules), covers }];
  const within = (rules: readonly string[], test: (index: number) => boolean): Reach[] =>
    reach(rules, (item) => item.run === run && item.report.step !== undefined && test(item.report.step));
  const after = step === undefined ? undefined : run.steps[step]?.after;
  const sameTool = (index: number): boolean => run.steps[index]?.after.toolStep === after?.toolStep;
  switch (cause.rule.id) {
    case "length-missing":
      return after === undefined ? [] : within(WHERE_THE_TOOL_IS, sameTool);
    case "incremental-left": {
      if (after === undefined || step === undefined) return [];
      // The tools behind are in the wrong place too, until one says G90.
      const next = run.steps.findIndex((s, i) => i >= step && s.after.absolute);
      const end = next < 0 ? run.steps.length : next;
      return within([...WHERE_THE_TOOL_IS, ...COMPARED, "station-wrong-face", "syntax"], (i) => i >= step && (i < end || sameTool(i)));
    }
    case "approach-stale-axis":
      // Where the axis happens to be right it is information, and nothing follows from it.
      return report.level !== undefined
        ? []
        : within([...WHERE_THE_TOOL_IS, "syntax"], (i) => i >= (step ?? 0) && run.steps[i]?.after.offsetStep === step);
    case "offset-inherited":
      return after === undefined
        ? []
        : within([...WHERE_THE_TOOL_IS, "station-wrong-face"], (i) => sameTool(i) && run.steps[i]?.after.offsetStep === after.offsetStep);
    case "station-wrong-op":
      return reach(["station-drift"], (item) => item.run === run);
    case "fixture-notch":
      // Where the jaw cannot be as it is set, its open position meets nothing.
      return reach(["fixture-overlap"], (item) => item.report.key === "open");
    case "retract-return-level":
      // The way down to a plane that is too low meets what the way across meets.
      return within(["stock-rapid", "clamp-rapid"], (i) => sameTool(i) && run.steps[i]?.after.motion === after?.motion);
    case "offset-series":
      return within([...WHERE_THE_TOOL_IS, ...COMPARED, "station-wrong-face"], () => true);
    case "station-count":
      // A loop that goes on past the last station selects an offset of none.
      return after === undefined || !goesPast(report.data) ? [] : within(["offset-unmapped"], sameTool);
    case "call-endless":
      return reach(COMPARED, (item) => item.run === run);
    case "call-target":
      return after === undefined
        ? []
        : reach(["station-skipped", "station-count"], (item) => item.run === run && item.report.data?.tool === after.tool);
    case "skip-partial":
      // With the switch on, everything behind the slash is done with the wrong tool or at the wrong station.
      return reach(
        [...WHERE_THE_TOOL_IS, "length-mismatch", "length-missing", "station-wrong-face", "offset-inherited"],
        (item) => item.run !== run && item.run.steps[0]?.block === run.steps[0]?.block,
      );
    default:
      return [];
  }
}

function goesPast(data: RawReport["report"]["data"]): boolean {
  return typeof data?.past === "number" && data.past > 0;
}
