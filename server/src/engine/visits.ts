import type { OffsetKey } from "./machine/move.js";

/**
 * A visit: one tool at one station, from the first X, Y or Z motion under the offset to the change (tool, offset or
 * rotary angle) that ends it.
 */
export interface Visit {
  readonly index: number;
  readonly tool: number;
  readonly offset: OffsetKey;
  /** Index of the fixture's station, -1 if none. */
  readonly station: number;
  readonly rotary: number;
  /** Step whose block selected the offset, the tool or the angle and so began the visit. */
  readonly openedBy: number;
  /** First and last step that moved within the visit. */
  readonly firstStep: number;
  readonly lastStep: number;
  readonly firstMove: number;
  readonly endMove: number;
  /** Sum of the known durations; NaN if none is known. */
  readonly seconds: number;
  /** Number of moves. */
  readonly moves: number;
  /** True when at least one feed or arc move belongs to it. */
  readonly cuts: boolean;
}
