import type { RuleContext } from "../rule.js";
import type { Siblings } from "./stations.js";

/** A loop or repeated call that visits one station after another a fixed number of times. */
export interface CountedLoop {
  readonly tool: number;
  readonly siblings: Siblings;
  /** Step of the condition or the repeated call. */
  readonly step: number;
  readonly count: number;
  readonly wanted: number;
}

/** Loops whose count differs from the number of siblings they step through. */
export function countedLoops(_cx: RuleContext): CountedLoop[] {
  return [];
}
