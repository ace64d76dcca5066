import type { Fixture } from "../../fixture/model.js";
import type { Move } from "../../machine/move.js";
import type { Run } from "../../machine/run.js";
import type { IncidentRule } from "./incidents.js";

/** The way from one station to the next: from the change of the offset to the first move down or cut. */
export interface Traverse {
  /** Indexes of its moves that shift X or Y. */
  readonly moves: readonly number[];
  /** Last move before the offset changed. */
  readonly before: number;
  /** Step that states the new offset. */
  readonly offsetStep: number;
}

/** The first way down of a tool under length compensation, and what moves in X and Y before it goes up again or cuts. */
export interface Approach {
  readonly tool: number;
  /** The first move in Z under length compensation after the tool change. */
  readonly down: number;
  /** Moves in X or Y that follow at that level. */
  readonly across: readonly number[];
}

function shifts(m: Move): boolean {
  // An unknown coordinate counts as moving: it may well.
  return !(m.from[0] === m.to[0] && m.from[1] === m.to[1]);
}

const traverses = new WeakMap<Run, readonly Traverse[]>();

/** All ways from station to station of a run, in order. */
export function traversesOf(run: Run): readonly Traverse[] {
  const held = traverses.get(run);
  if (held !== undefined) return held;
  const out: Traverse[] = [];
  let open: { moves: number[]; before: number; offsetStep: number } | undefined;
  const close = (): void => {
    if (open !== undefined && open.moves.length > 0) out.push(open);
    open = undefined;
  };
  for (let i = 1; i < run.moves.length; i++) {
    const m = run.moves[i];
    const p = run.moves[i - 1];
    if (m === undefined || p === undefined) continue;
    if (m.modal.offset !== p.modal.offset) {
      close();
      open = { moves: [], before: i - 1, offsetStep: m.modal.offsetStep };
    }
    if (open === undefined || m.kind === "dwell") continue;
    if (m.kind === "index") {
      close();
      continue;
    }
    const across = shifts(m);
    if (m.kind === "feed" || m.kind === "arc") {
      if (across && open.moves.length === 0) open.moves.push(i);
      close();
      continue;
    }
    if (across) open.moves.push(i);
    // Down again: the way is over. From a height that is not known, Z is taken to go down.
    if (m.to[2] < m.from[2] - 1e-9 || (Number.isNaN(m.from[2]) && !Number.isNaN(m.to[2]))) close();
  }
  close();
  traverses.set(run, out);
  return out;
}

const approaches = new WeakMap<Run, { readonly always: boolean; readonly found: readonly Approach[] }>();

/** The first approach of each tool, and those after each way home, in order. `always`: the control compensates the length by itself, without G43. */
export function approachesOf(run: Run, always: boolean): readonly Approach[] {
  const held = approaches.get(run);
  if (held?.always === always) return held.found;
  const found = findApproaches(run, always);
  approaches.set(run, { always, found });
  return found;
}

function findApproaches(run: Run, always: boolean): Approach[] {
  const out: Approach[] = [];
  let toolStep = -1;
  let open: { tool: number; down: number; across: number[] } | undefined;
  let wanted = false;
  let moved = false;
  const close = (): void => {
    if (open !== undefined) out.push(open);
    open = undefined;
  };
  run.moves.forEach((m, i) => {
    if (m.modal.toolStep !== toolStep) {
      close();
      toolStep = m.modal.toolStep;
      wanted = true;
      moved = false;
    }
    if (m.kind === "dwell" || m.kind === "index") return;
    if (m.role === "reference" || m.role === "machine") {
      // Back from home the tool comes down for the first time again.
      if (!(m.from[2] === m.to[2])) {
        close();
        wanted = true;
        moved = false;
      }
      return;
    }
    if (m.kind === "feed" || m.kind === "arc") {
      close();
      wanted = false;
      return;
    }
    if (m.role === "reference-through") return;
    const z = Math.abs(m.to[2] - m.from[2]) > 1e-9 || Number.isNaN(m.from[2]);
    if (wanted && z && (always || m.modal.length !== 49) && m.role === "plain") {
      open = { tool: m.modal.tool, down: i, across: [] };
      wanted = false;
      // Once X and Y have been gone to, further ways across are no part of the approach.
      if (moved) close();
      return;
    }
    if (shifts(m)) moved = true;
    if (open === undefined) return;
    if (z) close();
    else if (shifts(m)) open.across.push(i);
  });
  close();
  return out;
}

/** Moves of canned cycles from one hole to the next. */
function holeToHole(run: Run): number[] {
  const out: number[] = [];
  for (let i = 1; i < run.moves.length; i++) {
    const m = run.moves[i];
    const p = run.moves[i - 1];
    if (m === undefined || p === undefined || m.role !== "cycle-traverse" || !p.role.startsWith("cycle-")) continue;
    if (m.modal.offset === p.modal.offset && m.modal.toolStep === p.modal.toolStep) out.push(i);
  }
  return out;
}

/**
 * Which rule speaks of a rapid that comes too near, where it is not the plain clamp rule: ways between stations, hole-to-hole
 * traverses, first approaches.
 */
export function claimsOf(run: Run, fixture: Fixture): ReadonlyMap<number, IncidentRule> {
  const out = new Map<number, IncidentRule>();
  for (const a of approachesOf(run, fixture.machine.profile.lengthBy === "control")) {
    out.set(a.down, "approach-low");
    for (const i of a.across) out.set(i, "approach-low");
  }
  // The way to the intermediate point of an absolute return; other rules speak of where it starts from.
  run.moves.forEach((m, i) => {
    if (m.role === "reference-through" && m.modal.absolute) out.set(i, "return-through-point");
  });
  for (const i of holeToHole(run)) out.set(i, "retract-return-level");
  for (const t of traversesOf(run))
    for (const i of t.moves) if (!out.has(i) || run.moves[i]?.role !== "reference-through") out.set(i, "retract-before-offset");
  return out;
}
