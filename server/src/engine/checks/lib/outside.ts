import type { Fixture, Solid, Station } from "../../fixture/model.js";
import type { Move } from "../../machine/move.js";
import type { Run } from "../../machine/run.js";
import type { Clearances, RuleContext } from "../rule.js";
import { incidentsOf } from "./incidents.js";
import { cuttingDistance } from "./near.js";
import { isCut } from "./passes.js";
import { faces, offsetDeviation } from "./stations.js";

/** A cut away from the station's own stock and within reach of a neighbour's. */
export interface OutsideCut extends Found {
  readonly station: Station;
  /** Index of the first move of the cut, and of the one behind its last. */
  readonly first: number;
  readonly end: number;
}

const known = new WeakMap<Clearances, readonly OutsideCut[]>();

/** All of them in a run, one for each visit and neighbour, in order. Cuts that go into the neighbour are not among them (contract ruling 41). */
export function* outsideCuts(cx: RuleContext): Generator<void, readonly OutsideCut[]> {
  const { run, fixture, clearances } = cx;
  if (fixture === undefined || clearances === undefined) return [];
  const held = known.get(clearances);
  if (held !== undefined) return held;
  const entered = new Set<string>();
  for (const i of yield* incidentsOf(cx)) if (i.rule === "neighbour-cut") entered.add(`${run.moves[i.move]?.visit} ${i.solid.station}`);
  const out: OutsideCut[] = [];
  const done = new Set<string>();
  for (const [first, end] of sequences(run)) {
    yield;
    const move = run.moves[first] as Move;
    const station = cx.stationOf(move);
    if (station === undefined || faces(fixture, station, move.rotaryTo) !== true) continue;
    const found = yield* look(fixture, run.moves.slice(first, end), station);
    if (found === undefined || offsetDeviation(fixture, move) > 0) continue;
    const key = `${move.visit} ${found.neighbour.index}`;
    if (entered.has(key) || done.has(key)) continue;
    done.add(key);
    out.push({ station, first, end, ...found });
  }
  known.set(clearances, out);
  return out;
}

/** Cutting moves without a rapid between them, as [first, end) of moves. */
function sequences(run: Run): [number, number][] {
  const out: [number, number][] = [];
  let first = -1;
  for (let i = 0; i <= run.moves.length; i++) {
    const visit = run.moves[i]?.visit;
    const goesOn = isCut(run, i) || (first >= 0 && run.moves[i]?.kind === "dwell");
    if (first >= 0 && (!goesOn || visit !== run.moves[first]?.visit)) {
      out.push([first, i]);
      first = -1;
    }
    if (first < 0 && isCut(run, i)) first = i;
  }
  return out;
}

/** Moves between two yields: a millisecond or two of measuring. */
const SLICE = 200;

/** What a sequence is near to. */
interface Found {
  readonly own: number;
  readonly neighbour: Station;
  readonly distance: number;
}

function stockOf(station: Station): Solid | undefined {
  return station.solids.find((s) => s.kind === "stock");
}

/** The neighbour that a sequence is within reach of, while it stays away from its own stock. */
function* look(fixture: Fixture, sequence: readonly Move[], station: Station): Generator<void, Found | undefined, void> {
  const own = stockOf(station);
  if (own === undefined) return undefined;
  const [opening] = sequence as readonly [Move];
  const moves = sequence.filter((m) => m.kind !== "dwell");
  const diameter =
    2 * Math.max(0, ...(fixture.tools.get(opening.modal.tool)?.stack ?? []).filter((p) => p.part === "cutting").map((p) => p.topRadius));
  const reach = Math.max(diameter, 5 * fixture.clearance.rapid) + fixture.clearance.cut;
  let away = Number.POSITIVE_INFINITY;
  for (const [i, move] of moves.entries()) {
    if (i % SLICE === SLICE - 1) yield;
    const d = cuttingDistance(fixture, move, own);
    // Nearer than a rapid may come is no longer away from it.
    if (!(d > fixture.clearance.rapid)) return undefined;
    away = Math.min(away, d);
  }
  let best: Found | undefined;
  for (const other of fixture.stations) {
    const stock = stockOf(other);
    if (other === station || other.empty || stock === undefined || faces(fixture, other, opening.rotaryTo) !== true) continue;
    for (const [i, move] of moves.entries()) {
      if (i % SLICE === SLICE - 1) yield;
      const limit = Math.min(best?.distance ?? away, reach);
      const d = cuttingDistance(fixture, move, stock, limit);
      if (d < limit) best = { own: away, neighbour: other, distance: d };
    }
  }
  return best;
}
