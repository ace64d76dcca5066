import type { Contact } from "../engine/checks/rule.js";
import type { Vec3 } from "../engine/geometry/vector.js";
import type { Run } from "../engine/machine/run.js";
import { type CutDepth, cutDepths } from "../engine/material.js";
import type { Analysis } from "../engine/program.js";
import type { Visit } from "../engine/visits.js";
import { stationId } from "./program-report.js";

/** The least clearance of one visit to one kind of solid, and where it occurs. */
export interface LeastClearance {
  readonly solid: string;
  /** Station that the solid belongs to; undefined for bases and obstacles. */
  readonly station: string | undefined;
  /** mm; 0 when they meet. */
  readonly distance: number;
  readonly part: Contact["part"];
  readonly file: string;
  /** Line of the block, from 1. */
  readonly line: number;
  /** Tool point, machine frame, mm. */
  readonly at: Vec3;
}

/** The least clearances of a visit, smallest first; empty where nothing could be measured. */
export function leastClearances(analysis: Analysis, visit: Visit): readonly LeastClearance[] {
  const contacts = analysis.clearances?.least(visit.index) ?? [];
  return contacts
    .map((contact) => {
      const move = analysis.run.moves[contact.move];
      const step = move === undefined ? undefined : analysis.run.steps[move.step];
      const source = step === undefined ? undefined : analysis.run.sources[step.source];
      return {
        solid: contact.solid.name,
        station: stationId(analysis.fixture, contact.solid.station),
        distance: contact.distance,
        part: contact.part,
        file: source?.file ?? analysis.program,
        line: (step?.block.line ?? 0) + 1,
        at: contact.at,
      };
    })
    .sort((a, b) => a.distance - b.distance);
}

/** The greatest depth of cut of one visit along the tool's axis, and where it is taken. */
export interface DeepestCut {
  /** mm; NaN where what was left of the stock is not known. */
  readonly depth: number;
  /** Length of the tool's cutting part, mm; NaN where the fixture does not give it. */
  readonly cuttingPart: number;
  /** Step of the grid on which what is left of the stock is held as heights, mm. */
  readonly grid: number;
  readonly file: string;
  /** Line of the block, from 1. */
  readonly line: number;
}

const depths = new WeakMap<Run, ReadonlyMap<number, CutDepth>>();

/** The deepest cut that a visit takes in its station's stock; undefined where it takes none, or nothing is known of the stock. */
export function deepestCut({ run, fixture, program }: Analysis, visit: Visit): DeepestCut | undefined {
  if (fixture === undefined) return undefined;
  const known = depths.get(run) ?? cutDepths(run, fixture);
  depths.set(run, known);
  const cut = known.get(visit.index);
  const move = cut === undefined ? undefined : run.moves[cut.move];
  const step = move === undefined ? undefined : run.steps[move.step];
  if (cut === undefined || step === undefined) return undefined;
  return {
    depth: cut.depth,
    cuttingPart: fixture.tools.get(visit.tool)?.APMX ?? Number.NaN,
    grid: cut.cell,
    file: run.sources[step.source]?.file ?? program,
    line: step.block.line + 1,
  };
}

/** Moves of a visit that could not be measured: reason key → number of moves, and the line of the first. */
export function uncheckedMoves(analysis: Analysis, visit: Visit): ReadonlyMap<string, { readonly moves: number; readonly line: number }> {
  const out = new Map<string, { moves: number; line: number }>();
  const unchecked = analysis.clearances?.unchecked;
  if (unchecked === undefined) return out;
  for (let i = visit.firstMove; i < visit.endMove; i++) {
    const reason = unchecked.get(i);
    const move = analysis.run.moves[i];
    if (reason === undefined || move === undefined || move.visit !== visit.index) continue;
    const known = out.get(reason);
    if (known !== undefined) known.moves++;
    else out.set(reason, { moves: 1, line: (analysis.run.steps[move.step]?.block.line ?? 0) + 1 });
  }
  return out;
}
