import type { Fixture, Station } from "../../fixture/model.js";
import type { Move } from "../../machine/move.js";
import type { Run } from "../../machine/run.js";
import type { RuleContext } from "../rule.js";
import { inheritedStarts } from "./inherited.js";
import { type Pass, passesOf, period } from "./passes.js";
import { offsetDeviation, type Siblings, siblingsOf } from "./stations.js";

/** One time through a path at a station: a pass, or one of the equal parts that a pass consists of. */
export interface Unit {
  readonly pass: Pass;
  /** Index of its first cutting move. */
  readonly first: number;
  /** Place of that move among the cuts of the pass, and how many of them are the unit's. */
  readonly at: number;
  readonly count: number;
  readonly path: string;
  readonly station: number;
  /** The first unit of its pass: the offset was stated, or the program called, for it. */
  readonly heads: boolean;
}

/** What one tool does at one group of siblings. */
export interface Tally {
  readonly tool: number;
  readonly siblings: Siblings;
  /** Units at the stations of the group, in order. */
  readonly units: readonly Unit[];
  readonly byStation: ReadonlyMap<number, readonly Unit[]>;
  /** Cutting moves by station. */
  readonly cuts: ReadonlyMap<number, number>;
  /** How often the tool cut where it cannot be told for which station: an offset of no station or beside its station, or one left from the tool before. */
  readonly strays: number;
}

/** One time that the tool does the same again while a sibling goes without, or at this station only. */
export interface Repeat {
  readonly tally: Tally;
  /** The one that should be elsewhere. */
  readonly unit: Unit;
  /** The one it repeats. */
  readonly other: Unit;
  /** The sibling that goes without, if any. */
  readonly missing: Station | undefined;
}

/** A sibling that a tool leaves out. */
export interface Skip {
  readonly tally: Tally;
  readonly station: Station;
}

const known = new WeakMap<Run, readonly Tally[]>();

/** What each tool does at each group of siblings it visits, in the order of first use. In slices, and kept for the next rule that asks. */
export function* tallies(cx: RuleContext): Generator<void, readonly Tally[], void> {
  const held = known.get(cx.run);
  if (held !== undefined) return held;
  const found = yield* find(cx);
  known.set(cx.run, found);
  return found;
}

function* find(cx: RuleContext): Generator<void, Tally[], void> {
  const { run, fixture } = cx;
  if (fixture === undefined) return [];
  const groups = siblingsOf(fixture);
  const groupOf = new Map<number, Siblings>();
  for (const g of groups) for (const s of g.stations) groupOf.set(s.index, g);
  const inherits = yield* inheritedStarts(cx);
  const tools = new Map<number, { readonly units: Unit[]; strays: number }>();
  for (const visit of run.visits) {
    if (Number.isNaN(visit.tool)) continue;
    const done = tools.get(visit.tool) ?? { units: [], strays: 0 };
    tools.set(visit.tool, done);
    for (const pass of yield* passesOf(run, visit)) {
      const cut = run.moves[pass.cuts[0] as number] as Move;
      const { modal } = cut;
      // An offset left in force by the tool before belongs to another rule, and so does one of no station.
      const inherited = modal.offsetStep < modal.toolStep && inherits.has(modal.toolStep);
      const elsewhere = isElsewhere(fixture, cut);
      if (visit.station >= 0 && !inherited && !elsewhere) done.units.push(...unitsOf(pass));
      else if (visit.station >= 0 || !fixture.datums.has(visit.offset)) done.strays++;
    }
  }
  const out: Tally[] = [];
  for (const [tool, { units: all, strays }] of tools) {
    for (const siblings of groups) {
      const units = all.filter((u) => groupOf.get(u.station) === siblings);
      if (units.length === 0) continue;
      const byStation = new Map(siblings.stations.map((s) => [s.index, units.filter((u) => u.station === s.index)]));
      const cuts = new Map([...byStation].map(([station, own]) => [station, own.reduce((sum, u) => sum + u.count, 0)]));
      out.push({ tool, siblings, units, byStation, cuts, strays });
    }
  }
  return out;
}

/**
 * Whether the offset stands half a pitch or more beside its station: then the cut is at another place, whichever station the
 * offset is given to. A program may carry one offset from place to place with G10, which `offset-value` speaks of.
 */
function isElsewhere(fixture: Fixture, move: Move): boolean {
  const station = fixture.stations[move.station];
  return station !== undefined && offsetDeviation(fixture, move) >= Math.min(...station.base.pitch) / 2;
}

function unitsOf(pass: Pass): Unit[] {
  const { texts } = pass;
  const n = period(texts);
  const first = n === texts.length ? pass.path : texts.slice(0, n).join(";");
  const out: Unit[] = [];
  // All parts of a pass are equal, so they have one path.
  for (let k = 0; k < texts.length; k += n) {
    out.push({ pass, first: pass.cuts[k] as number, at: k, count: n, path: first, station: pass.visit.station, heads: k === 0 });
  }
  return out;
}

/** How many times each sibling is expected to be done: what most have; where two counts tie, the mean, rounded down. */
function expected(counts: readonly number[]): number {
  const times = new Map<number, number>();
  for (const c of counts) times.set(c, (times.get(c) ?? 0) + 1);
  const most = Math.max(...times.values());
  const modes = [...times].filter(([, t]) => t === most).map(([c]) => c);
  if (modes.length === 1) return modes[0] as number;
  return Math.floor(counts.reduce((a, b) => a + b, 0) / counts.length);
}

/** Every repeat (contract ruling 45): a sibling goes without, or the second time is not at every sibling. */
export function repeats(all: readonly Tally[]): Repeat[] {
  const out: Repeat[] = [];
  for (const tally of all) {
    const { stations } = tally.siblings;
    if (stations.length < 2) continue;
    const counts = stations.map((s) => tally.byStation.get(s.index)?.length ?? 0);
    const normal = expected(counts);
    const without = stations.filter((_, k) => (counts[k] as number) < Math.max(normal, 1));
    let next = 0;
    stations.forEach((s, k) => {
      const units = tally.byStation.get(s.index) ?? [];
      let extra = (counts[k] as number) - normal;
      const done = new Set<Unit>();
      while (extra > 0) {
        const again = units.filter((u) => !done.has(u) && units.some((v) => v !== u && !done.has(v) && v.path === u.path));
        if (again.length < 2) break;
        const lacking = without[next];
        const unit = misplaced(all, tally, again, lacking);
        const other = again.find((u) => u !== unit && u.path === unit.path) ?? unit;
        out.push({ tally, unit, other, missing: lacking });
        done.add(unit);
        next++;
        extra--;
      }
    });
  }
  return out;
}

/**
 * Which of equal units stands where the missing sibling would be: by the order in which the other tools go, else by its neighbours in
 * the tool's own order, else the last.
 */
function misplaced(all: readonly Tally[], tally: Tally, again: readonly Unit[], missing: Station | undefined): Unit {
  let best = again[again.length - 1] as Unit;
  if (missing === undefined) return best;
  const [first, second] = again as readonly [Unit, Unit];
  const later = again.length === 2 ? others(all, tally, first.station, missing.index) : 0;
  if (later !== 0) return later > 0 ? second : first;
  // More ways back than on; a repeat is neither.
  const ways = (sign: number): number =>
    tally.units.filter((u, i) => sign * (u.station - (tally.units[i - 1]?.station ?? u.station)) > 0).length;
  const descending = ways(-1) > ways(1);
  const before = (a: number, b: number): boolean => (descending ? a > b : a < b);
  let bestScore = -1;
  for (const unit of again) {
    const at = tally.units.indexOf(unit);
    const prev = tally.units[at - 1];
    const next = tally.units[at + 1];
    // A row may be gone through the other way than the rest: between its neighbours the missing one fits either way round.
    const between =
      prev !== undefined &&
      next !== undefined &&
      prev.station !== next.station &&
      (prev.station - missing.index) * (missing.index - next.station) > 0;
    const score = between
      ? 3
      : (prev === undefined || before(prev.station, missing.index) ? 1 : 0) +
        (next === undefined || before(missing.index, next.station) ? 1 : 0);
    if (score >= bestScore) {
      best = unit;
      bestScore = score;
    }
  }
  return best;
}

/** How many more of the other tools go to one station after another than before it; they may go round the other way than this tool. */
function others(all: readonly Tally[], tally: Tally, station: number, missing: number): number {
  const firstPlaces = (t: Tally): Map<number, number> => {
    const places = new Map<number, number>();
    t.units.forEach((u, i) => {
      if (!places.has(u.station)) places.set(u.station, i);
    });
    return places;
  };
  const ours = [...firstPlaces(tally).keys()].filter((s) => s !== station);
  let votes = 0;
  for (const t of all) {
    if (t === tally || t.siblings !== tally.siblings) continue;
    const theirs = firstPlaces(t);
    const at = theirs.get(station);
    const there = theirs.get(missing);
    if (at === undefined || there === undefined) continue;
    const shared = ours.flatMap((s) => theirs.get(s) ?? []);
    const way = shared.reduce((sum, place, i) => sum + Math.sign(place - (shared[i - 1] ?? place)), 0);
    votes += Math.sign(way) * Math.sign(there - at);
  }
  return votes;
}

/**
 * Every sibling that a tool leaves out although it visits at least as many of them. Not those that another fault explains: a
 * repeat at a sibling, an offset of no station.
 */
export function skips(all: readonly Tally[]): Skip[] {
  const out: Skip[] = [];
  const machined = new Set(all.flatMap((t) => t.units.map((u) => u.station)));
  const explained = new Set(repeats(all).flatMap((r) => (r.missing === undefined ? [] : [`${r.tally.tool} ${r.missing.index}`])));
  for (const tally of all) {
    const { stations } = tally.siblings;
    const counts = stations.map((s) => tally.byStation.get(s.index)?.length ?? 0);
    const visited = counts.filter((c) => c > 0).length;
    const mode = expected(counts);
    const typical = stations.filter((_, k) => counts[k] === mode);
    const fewest = Math.min(...typical.map((s) => tally.cuts.get(s.index) ?? 0));
    const missing = stations.filter((s, k) => {
      const count = counts[k] as number;
      if (count === 0) return true;
      // Done less often than at most of the siblings, and with less cut in all: one of the times is missing.
      return count < mode && typical.length * 2 > stations.length && (tally.cuts.get(s.index) ?? 0) < fewest;
    });
    const open = missing.filter((s) => !explained.has(`${tally.tool} ${s.index}`));
    if (open.length === 0 || visited < missing.length || tally.strays >= open.length) continue;
    // One of two, and nobody goes to the other: it is more likely not loaded than forgotten.
    if (visited === missing.length && !missing.some((s) => machined.has(s.index))) continue;
    for (const station of open) out.push({ tally, station });
  }
  return out;
}
