import type { Modal } from "../machine/move.js";
import type { Run } from "../machine/run.js";
import { actingWords, findWord, type RawReport, wordValue } from "./context.js";

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
        [...WHERE_THE_TOOL_IS, "length-mismatch", "length-missing", "station-wrong-face", "offset-inherited", "offset-unmapped"],
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
  const within = (rules: readonly string[], test: (state: Modal, index: number, id: string) => boolean): Reach =>
    reach(rules, (item) => {
      const index = item.report.step ?? -1;
      const state = run.steps[index]?.after;
      return item.run === run && state !== undefined && test(state, index, item.rule.id);
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
    case "neighbour-cut":
      // Work on a part under the offset of another one is the visit that its own offset lacks.
      return report.data?.solid === "stock"
        ? reach(["station-skipped"], (item) => item.run === run && isVisitTo(item.report.data, after.tool, report.data?.solidStation))
        : undefined;
    case "approach-stale-axis": {
      // Where the axis happens to be right it is information, and nothing follows from it.
      if (report.level !== undefined) return undefined;
      const end = restatedAt(run, step, report.data?.axes);
      // What is cut beside the place is left where it should have been cut.
      const covers = (i: number, id: string): boolean => i <= end || id === "stock-rapid";
      return within([...WHERE_THE_TOOL_IS, "syntax"], (state, i, id) => state.offsetStep === step && covers(i, id));
    }
    case "offset-inherited":
      return within([...WHERE_THE_TOOL_IS, "station-wrong-face"], (state) => sameTool(state) && state.offsetStep === after.offsetStep);
    case "retract-return-level":
      // The way down to a plane that is too low meets what the way across meets, as long as that plane is in force.
      // The way across runs at the plane of the block before.
      return within(["stock-rapid", "clamp-rapid"], (state, i) => {
        if (!sameTool(state) || state.motion !== after.motion) return false;
        const plane = planesOf(run)[i];
        return plane === planesOf(run)[step] || plane === planesOf(run)[step - 1];
      });
    case "station-count":
      // A loop that goes on past the last station selects an offset of none.
      return goesPast(report.data) ? within(["offset-unmapped"], sameTool) : undefined;
    case "call-target":
      return reach(["station-skipped", "station-count"], (item) => item.run === run && item.report.data?.tool === after.tool);
    default:
      return undefined;
  }
}

/** Whether it is one visit that a tool lacks, to the station named. */
function isVisitTo(data: RawReport["report"]["data"], tool: number, station: unknown): boolean {
  const missing = data?.missing;
  return data?.tool === tool && Array.isArray(missing) && missing.length === 1 && missing[0] === station;
}

/** The step from which on all axes that were left from the last station have been named again; past the end where they never are. */
function restatedAt(run: Run, step: number, axes: unknown): number {
  const missing = new Set(Array.isArray(axes) ? axes : []);
  for (let i = step + 1; missing.size > 0 && i < run.steps.length; i++) {
    const by = run.steps[i];
    if (by === undefined || !by.after.absolute || MACHINE_MOVES.some((code) => findWord(by, code) !== undefined)) continue;
    for (const word of actingWords(by.block)) missing.delete(word.letter);
    if (missing.size === 0) return i;
  }
  return run.steps.length;
}

/** Codes whose axis words name no place in the part. */
const MACHINE_MOVES: readonly string[] = ["G28", "G30", "G53", "G10", "G52", "G92"];

const planes = new WeakMap<Run, readonly string[]>();

/**
 * For each step the canned cycle that is in force at it: the step at which it began, and the R plane as it is written. Blocks that
 * name the same R again go on with the same plane.
 */
function planesOf(run: Run): readonly string[] {
  const before = planes.get(run);
  if (before !== undefined) return before;
  let begin = 0;
  let plane: number | undefined;
  const out = run.steps.map((step, i) => {
    if (step.after.motion !== run.steps[i - 1]?.after.motion) {
      begin = i;
      plane = undefined;
    }
    const word = findWord(step, "R");
    if (word !== undefined) plane = wordValue(step, word);
    return `${begin} ${plane}`;
  });
  planes.set(run, out);
  return out;
}

function goesPast(data: RawReport["report"]["data"]): boolean {
  return typeof data?.past === "number" && data.past > 0;
}
