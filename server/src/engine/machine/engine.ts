import type { Block } from "../syntax/block.js";
import type { Value } from "../syntax/expression.js";
import type { Callable } from "./calls.js";
import type { Machine } from "./core.js";
import { loopPartners } from "./flow.js";
import type { Plan } from "./plan.js";
import type { Call } from "./run.js";
import type { Frame, State } from "./state.js";
import type { Words } from "./words.js";

/** Things that go with a run but that its functions need no more than its own file. */
export interface Engine {
  readonly cx: Machine;
  readonly words: Words;
  readonly plan: Plan;
  readonly validated: WeakSet<Block>;
  readonly partners: Map<string, ReadonlyMap<number, number>>;
  readonly meeting: Map<string, Int32Array>;
  sinceYield: number;
  halted: boolean;
}

/** What a line asks for: go on (frames are set), the program has ended, or both of two ways. */
export type Outcome = "on" | "end" | { readonly lines: readonly number[] };

/** A frame that stands at the first line of `at`. */
export function createFrame(
  call: Call,
  at: Callable,
  locals: Map<number, Value>,
  args: ReadonlyMap<number, Value> | undefined,
  remaining: number,
  byModalMacro: boolean,
): Frame {
  return { call, source: at.source, first: at.first, end: at.end, line: at.first, remaining, locals, args, byModalMacro, jumps: new Map() };
}

/** The loops of the program that a frame runs, worked out once. */
export function partnersOf(engine: Engine, frame: Frame): ReadonlyMap<number, number> {
  const key = `${frame.source} ${frame.first} ${frame.end}`;
  let partners = engine.partners.get(key);
  const source = engine.cx.sources[frame.source];
  if (partners === undefined) {
    partners = source === undefined ? new Map<number, number>() : loopPartners(source, frame.first, frame.end);
    engine.partners.set(key, partners);
  }
  return partners;
}

/** Goes on with another state; what was derived from the old one is dropped. */
export function adopt(cx: Machine, state: State): void {
  cx.state = state;
  cx.setting = undefined;
  cx.last = undefined;
}
