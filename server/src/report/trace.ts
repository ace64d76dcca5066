import type { Vec3 } from "../engine/geometry/vector.js";
import type { Move } from "../engine/machine/move.js";
import type { Run } from "../engine/machine/run.js";
import { jsonNumber } from "./program-report.js";

/** What a trace needs beside the run. */
export interface TraceContext {
  /** Engine path of the main program. */
  readonly program: string;
  shownFile(file: string): string;
  /** Station id by its index; undefined for none. */
  stationId(index: number): string | undefined;
  spellOffset(key: string): string;
  /** The angle is told: the machine has a rotary axis, or the program turns one. */
  readonly rotary: boolean;
  /** True when the radius register in force while the move ran is known, so that the path is that of the tool's centre. */
  radiusKnown(move: Move): boolean;
}

/**
 * One line of a trace: a move of the tool point in the machine frame, mm and mm/min, six decimals. What is not known
 * is null (a coordinate) or left out (feed, angle).
 */
export function traceLine(run: Run, move: Move, cx: TraceContext): object {
  const step = run.steps[move.step];
  const file = step === undefined ? undefined : run.sources[step.source]?.file;
  const { modal } = move;
  const feed = move.kind === "feed" || move.kind === "arc" ? jsonNumber(move.feed) : null;
  const rotary = cx.rotary ? jsonNumber(move.rotaryTo) : null;
  // Where the radius is not known the path is the programmed one and not that of the tool's centre.
  const programmedPath = modal.compensation !== 40 && !cx.radiusKnown(move);
  return {
    line: (step?.block.line ?? 0) + 1,
    ...(file === undefined || file === cx.program ? {} : { file: cx.shownFile(file) }),
    kind: move.kind,
    tool: jsonNumber(modal.tool),
    offset: cx.spellOffset(modal.offset),
    station: cx.stationId(move.station) ?? null,
    from: point(move.from),
    to: point(move.to),
    ...(rotary === null ? {} : { rotary }),
    ...(feed === null ? {} : { feed }),
    ...(move.kind === "arc"
      ? { plane: `G${modal.plane}`, centre: move.centre === undefined ? null : point(move.centre), sweep: jsonNumber(move.sweep) }
      : {}),
    ...(programmedPath ? { compensation: modal.compensation } : {}),
  };
}

function point(p: Vec3): readonly (number | null)[] {
  return p.map(jsonNumber);
}
