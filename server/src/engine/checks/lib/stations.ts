import { angleBetween } from "../../fixture/angle.js";
import type { Fixture, Station } from "../../fixture/model.js";
import type { Move } from "../../machine/move.js";
import type { Run } from "../../machine/run.js";

/** Stations that hold the same part in the same operation and are loaded. */
export interface Siblings {
  readonly part: string;
  readonly op: string;
  /** In the order of the sidecar. */
  readonly stations: readonly Station[];
}

/** The loaded stations of a fixture, grouped by part and op. Groups of one are among them. */
export function siblingsOf(fixture: Fixture): Siblings[] {
  const groups = new Map<string, { part: string; op: string; stations: Station[] }>();
  for (const station of fixture.stations) {
    if (station.empty) continue;
    const key = JSON.stringify([station.part, station.op]);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, { part: station.part, op: station.op, stations: [station] });
    else group.stations.push(station);
  }
  return [...groups.values()];
}

/**
 * Whether the face of a station's base looks at the tool at a rotary angle: true without a rotary axis, undefined where
 * the angle is not known.
 */
export function faces(fixture: Fixture, station: Station, rotary: number): boolean | undefined {
  if (fixture.machine.rotary === undefined) return true;
  if (Number.isNaN(rotary)) return undefined;
  return Math.abs(angleBetween(rotary, station.base.face)) <= Math.max(fixture.tolerance.rotary, 1e-6);
}

/**
 * How far the work offset that a move uses stands from where its station is, in mm: 0 where they agree within the
 * tolerance, and where it cannot be told. A fault of the offset itself is reported by the offset rules; what follows from it
 * is not a second fault.
 */
export function offsetDeviation(fixture: Fixture, move: Move): number {
  const station = fixture.stations[move.station];
  if (station === undefined) return 0;
  const computed = [station.computed.X, station.computed.Y, station.computed.Z];
  const tolerance = [fixture.tolerance.X, fixture.tolerance.Y, fixture.tolerance.Z];
  let beyond = false;
  let sum = 0;
  for (let k = 0; k < 3; k++) {
    const start = (move.from[k] as number) - (move.partFrom[k] as number);
    // A move from an unknown place still says by its end where the offset is.
    const d = (Number.isNaN(start) ? (move.to[k] as number) - (move.partTo[k] as number) : start) - (computed[k] as number);
    // A coordinate that is not known says nothing about the offset.
    if (Number.isNaN(d)) continue;
    if (Math.abs(d) > (tolerance[k] as number) + 1e-6) beyond = true;
    sum += d * d;
  }
  return beyond ? Math.sqrt(sum) : 0;
}

/**
 * The same of the station that the tool comes from, for rapids: the height at which it travels, and goes back to between
 * holes, is still that of the visit before.
 */
export function broughtDeviation(fixture: Fixture, run: Run, move: Move): number {
  if (move.kind !== "rapid") return 0;
  const before = run.visits[move.visit - 1];
  const last = before === undefined ? undefined : run.moves[before.endMove - 1];
  return last === undefined || last.modal.toolStep !== move.modal.toolStep ? 0 : offsetDeviation(fixture, last);
}

/**
 * How far the work offsets that a move depends on stand from where their stations are, in mm, as far as that is told of them by
 * itself (`blamed`, by the index of the station).
 */
export function toldDeviation(fixture: Fixture, run: Run, blamed: { has(station: number): boolean }, move: Move): number {
  const own = blamed.has(move.station) ? offsetDeviation(fixture, move) : 0;
  const before = run.moves[(run.visits[move.visit - 1]?.endMove ?? 0) - 1];
  return before !== undefined && blamed.has(before.station) ? Math.max(own, broughtDeviation(fixture, run, move)) : own;
}
