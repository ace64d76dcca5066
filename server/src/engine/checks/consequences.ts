import type { Modal } from "../machine/move.js";
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

/** Reports of some rules that only tell what follows from one fault. */
interface Reach {
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
  const reaches = standing.flatMap((cause) => reachOf(cause) ?? []);
  return (item) => reaches.some((r) => r.rules.has(item.rule.id) && r.covers(item));
}

function reach(rules: readonly string[], covers: (item: RawReport) => boolean): Reach {
  return { rules: new Set(rules), covers };
}

/** What follows from a fault; undefined where nothing does. */
function reachOf(cause: RawReport): Reach | undefined {
  const { run } = cause;
  const inRun = (item: RawReport): boolean => item.run === run;
  switch (cause.rule.id) {
    case "station-wrong-op":
      return reach(["station-drift"], inRun);
    case "fixture-notch":
      // Where the jaw cannot be as it is set, its open position meets nothing.
      return reach(["fixture-overlap"], (item) => item.report.key === "open");
    case "offset-series":
      return reach([...WHERE_THE_TOOL_IS, ...COMPARED, "station-wrong-face"], (item) => item.run === run && item.report.step !== undefined);
    case "call-endless":
      return reach(COMPARED, inRun);
    case "skip-partial":
      // With the switch on, everything behind the slash is done with the wrong tool or at the wrong station.
      return reach(
        [...WHERE_THE_TOOL_IS, "length-mismatch", "length-missing", "station-wrong-face", "offset-inherited"],
        (item) => item.run !== run && item.run.steps[0]?.block === run.steps[0]?.block,
      );
    default:
      return reachOfStep(cause);
  }
}

/** What follows from a fault because of the state behind its step. */
function reachOfStep({ rule, run, report }: RawReport): Reach | undefined {
  const step = report.step ?? -1;
  const after = run.steps[step]?.after;
  if (after === undefined) return undefined;
  const within = (rules: readonly string[], test: (state: Modal, index: number) => boolean): Reach =>
    reach(rules, (item) => {
      const index = item.report.step ?? -1;
      const state = run.steps[index]?.after;
      return item.run === run && state !== undefined && test(state, index);
    });
  const sameTool = (state: Modal): boolean => state.toolStep === after.toolStep;
  switch (rule.id) {
    case "length-missing":
      return within(WHERE_THE_TOOL_IS, sameTool);
    case "incremental-left": {
      // The tools behind are in the wrong place too, until one says G90.
      const next = run.steps.findIndex((s, i) => i >= step && s.after.absolute);
      const end = next < 0 ? run.steps.length : next;
      return within(
        [...WHERE_THE_TOOL_IS, ...COMPARED, "station-wrong-face", "syntax"],
        (state, i) => i >= step && (i < end || sameTool(state)),
      );
    }
    case "approach-stale-axis":
      // Where the axis happens to be right it is information, and nothing follows from it.
      return report.level !== undefined ? undefined : within([...WHERE_THE_TOOL_IS, "syntax"], (state) => state.offsetStep === step);
    case "offset-inherited":
      return within([...WHERE_THE_TOOL_IS, "station-wrong-face"], (state) => sameTool(state) && state.offsetStep === after.offsetStep);
    case "retract-return-level":
      // The way down to a plane that is too low meets what the way across meets.
      return within(["stock-rapid", "clamp-rapid"], (state) => sameTool(state) && state.motion === after.motion);
    case "station-count":
      // A loop that goes on past the last station selects an offset of none.
      return goesPast(report.data) ? within(["offset-unmapped"], sameTool) : undefined;
    case "call-target":
      return reach(["station-skipped", "station-count"], (item) => item.run === run && item.report.data?.tool === after.tool);
    default:
      return undefined;
  }
}

function goesPast(data: RawReport["report"]["data"]): boolean {
  return typeof data?.past === "number" && data.past > 0;
}
