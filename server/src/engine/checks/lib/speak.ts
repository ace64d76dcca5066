import type { Args, Related } from "../../findings.js";
import type { Move } from "../../machine/move.js";
import type { Run, Step } from "../../machine/run.js";
import type { Report, RuleContext } from "../rule.js";
import { bodyOf, causeOf, graver, type Incident, type IncidentRule, incidentsOf, sameSpot } from "./incidents.js";
import { placeWords, solidWords, targetWords, toolWords } from "./words.js";

/** The tool, or the part of it that is meant: "the holder of tool 2 (drill 6.8)". */
function partWords(cx: RuleContext, i: Incident): string {
  const tool = toolWords(cx, cx.run.moves[i.move]?.modal.tool ?? Number.NaN);
  return i.part === "cutting" ? tool : `the ${i.part} of ${tool}`;
}

/** The arguments that all messages of the clamp zone share. */
export function incidentArgs(cx: RuleContext, i: Incident): Args {
  const move = cx.run.moves[i.move];
  if (move === undefined) return {};
  return {
    station: placeWords(cx, move),
    part: cx.stationOf(move)?.part ?? "",
    tool: partWords(cx, i),
    solid: solidWords(cx, i.solid, move.station),
    to: targetWords(cx, move),
    depth: { mm: i.depth },
    distance: { mm: i.distance },
    clearance: { mm: i.clearance },
  };
}

/** Numbers for programs that read the report. */
export function incidentData(cx: RuleContext, i: Incident): Record<string, unknown> {
  return {
    tool: cx.run.moves[i.move]?.modal.tool,
    solid: i.solid.name,
    solidStation: cx.fixture?.stations[i.solid.station]?.id ?? null,
    part: i.part,
    distance: i.distance,
    depth: i.depth,
    at: i.at,
    clearance: i.clearance,
  };
}

/** Whether two steps are passes of the same block. */
export function isSameBlock(a: Step, b: Step): boolean {
  return a.source === b.source && a.block === b.block;
}

/** The step of a move. */
export function stepOf(run: Run, move: number): Step | undefined {
  const m = run.moves[move];
  return m === undefined ? undefined : run.steps[m.step];
}

/** The solid's own place in the sidecar, as a related place. */
function solidRelated(i: Incident): Related {
  return { place: i.solid.place, message: { key: "related.solid", args: { solid: i.solid.name } } };
}

/**
 * Reports the incidents of a rule at the blocks that move, one finding for each cause: the same fault at other stations is
 * related. `describe` picks the message, adds what it says besides, and may change the level.
 */
export function* reportIncidents(
  cx: RuleContext,
  rule: IncidentRule,
  describe: (i: Incident) => Pick<Report, "key" | "level"> & { readonly args?: Args },
): Generator<void, void, void> {
  // What each solid was last met for, with the visit and the step.
  const met = new Map<string, { readonly visit: number; readonly step: number; readonly cause: string }>();
  const told: { readonly incident: Incident; readonly step: Step; readonly move: Move; readonly cause: string }[] = [];
  for (const { worst: incident, solids, again: returns } of worstOfSteps(cx.run, yield* incidentsOf(cx), rule)) {
    const step = stepOf(cx.run, incident.move);
    const move = cx.run.moves[incident.move];
    if (step === undefined || move === undefined) continue;
    // What meets the same solid in the next block, or goes into it again at once, has the same cause: a row of holes keeps the
    // coordinate that is wrong.
    const last = [...solids]
      .map((key) => met.get(key))
      .find((m) => m?.visit === move.visit && (returns || movingStepAfter(cx.run, m.step) === move.step));
    const cause = last?.cause ?? causeOf(cx.run, incident);
    for (const key of solids) met.set(key, { visit: move.visit, step: move.step, cause });
    told.push({ incident, step, move, cause });
  }
  const stationOfCause = new Map<string, string | undefined>();
  // The first report of a cause stands: where the tool comes near to a solid and then goes into it, that is to go in.
  for (const { incident: i, step, move, cause } of [...told.filter((t) => t.incident.enters), ...told.filter((t) => !t.incident.enters)]) {
    const station = cx.stationOf(move)?.id;
    const again = stationOfCause.get(cause) === station;
    const { args, ...chosen } = describe(i);
    if (!stationOfCause.has(cause)) stationOfCause.set(cause, station);
    cx.report({
      at: cx.blockPlace(step),
      args: { ...incidentArgs(cx, i), ...args },
      ...(station === undefined ? {} : { station }),
      related: [solidRelated(i)],
      data: incidentData(cx, i),
      step: move.step,
      cause,
      relatedKey: again ? "related.also" : "related.also-at",
      ...chosen,
    });
  }
}

/** What a block meets, in the words of one rule. */
interface Met {
  readonly worst: Incident;
  /** Keys of all the solids that it meets. */
  readonly solids: Set<string>;
  /** It goes into one of them that the tool has just left. */
  readonly again: boolean;
}

/**
 * One incident of a rule for each step: several solids met by one block are one fault, of which the gravest speaks (what it goes
 * into before what it comes near to, a hard one before a soft jaw that may be cut, then the first), as deep as the block goes into it (the last peck of a hole).
 */
function worstOfSteps(run: Run, incidents: readonly Incident[], rule: IncidentRule): Iterable<Met> {
  const steps = new Map<number, Met>();
  for (const i of incidents) {
    const move = i.rule === rule ? run.moves[i.move] : undefined;
    if (move === undefined) continue;
    const held = steps.get(move.step);
    if (held === undefined) {
      if (!i.follows) steps.set(move.step, { worst: i, solids: new Set([bodyOf(i.solid)]), again: i.again });
      continue;
    }
    const { worst, solids } = held;
    solids.add(bodyOf(i.solid));
    // A cut into a soft jaw is only mentioned: it must not stand before a jaw that is hard.
    const harder = rule === "clamp-cut" && worst.solid.machinable && !i.solid.machinable && !i.follows;
    // The way up starts where the feed has ended; what goes wrong on the way down is what the block is told for.
    const up = move.kind === "rapid" && sameSpot(move.from, move.to) && move.to[2] > move.from[2];
    const worse =
      !up && (worst.solid === i.solid ? i.depth > worst.depth || i.distance < worst.distance : !i.follows && graver(worst, i) === i);
    steps.set(move.step, { worst: harder || worse ? i : worst, solids, again: held.again || i.again });
  }
  return steps.values();
}

/** The next step after one that moves anything. */
function movingStepAfter(run: Run, step: number): number {
  const end = run.steps[step]?.endMove ?? run.moves.length;
  return run.moves[end]?.step ?? -1;
}

/** Texts of related places that these rules share. */
export const RELATED_TEXTS = {
  "related.solid": "the sidecar describes the {solid} here",
  "related.also-at": "also at {station}",
  "related.also": "also here",
} as const;
