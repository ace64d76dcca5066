import { standingSolids, turnsUndescribed } from "../../clearances.js";
import type { Fixture, Solid } from "../../fixture/model.js";
import { boundsAt, LINE, solidAt } from "../../fixture/solids.js";
import { gapLine } from "../../geometry/sweep.js";
import { isKnownPoint, type Vec3 } from "../../geometry/vector.js";
import type { Move } from "../../machine/move.js";
import type { Run } from "../../machine/run.js";
import { type MaterialAnswer, type MaterialQuery, materialAnswers } from "../../material.js";
import { programAllows } from "../allow.js";
import type { Clearances, Contact, RuleContext } from "../rule.js";
import { type Blamed, blamedStations } from "./blamed.js";
import { approachesOf, claimsOf, traversesOf } from "./claims.js";
import { findSelections } from "./selection.js";
import { faces, toldDeviation } from "./stations.js";

/** Equal to the clearance within this is clear (contract ruling 44), mm. */
export const TOUCH = 0.001;

export type IncidentRule =
  | "clamp-rapid"
  | "clamp-cut"
  | "clamp-near"
  | "base-drilled"
  | "stock-rapid"
  | "neighbour-cut"
  | "holder-reach"
  | "retract-before-offset"
  | "retract-return-level"
  | "approach-low"
  | "return-through-point";

/** One tool coming too near to one solid on one move, given to the one rule that speaks of it. */
export interface Incident {
  readonly rule: IncidentRule;
  readonly move: number;
  readonly solid: Solid;
  readonly part: Contact["part"];
  /** mm; 0 when they meet. */
  readonly distance: number;
  readonly depth: number;
  readonly at: Vec3;
  /** The tool goes into the solid, rather than coming too near. */
  readonly enters: boolean;
  /** The clearance that it is measured against, mm. */
  readonly clearance: number;
  /** The move before already stood in the same trouble, so this is what follows from it. */
  readonly follows: boolean;
  /** Material stands higher than the cutting part reaches, where the tool cuts into it from the side. */
  readonly tooHigh: boolean;
  /** The tool goes into a solid that it has just left. */
  readonly again: boolean;
}

const known = new WeakMap<Clearances, readonly Incident[]>();

/**
 * Everything that the clearance pass found too near, sorted out by the rule it belongs to (contract rulings 8, 9, 28, 41,
 * 44), in order of moves. Kept for the next rule that asks. Left out: moves at a station that does not face the
 * tool, and what a wrong work offset explains by itself, since other rules report those causes.
 */
export function* incidentsOf(cx: RuleContext): Generator<void, readonly Incident[]> {
  const { run, fixture, clearances } = cx;
  if (fixture === undefined || clearances === undefined) return [];
  const before = known.get(clearances);
  if (before !== undefined) return before;
  // Each of these goes through the whole run and is kept for the next one, so the wait is cut between them.
  yield* findSelections(cx);
  traversesOf(run);
  yield;
  approachesOf(run, fixture.machine.profile.lengthBy === "control");
  yield;
  const claims = claimsOf(run, fixture);
  yield;
  const blamed = blamedStations(cx);
  yield;
  const drafts: Draft[] = [];
  let count = 0;
  for (const contacts of [clearances.contacts, endContacts(cx, fixture)]) {
    for (const contact of contacts) {
      if (++count % 2048 === 0) yield;
      const move = run.moves[contact.move];
      if (move === undefined || Number.isNaN(contact.distance)) continue;
      const draft = judge(run, fixture, claims, move, contact);
      if (draft !== undefined) drafts.push(draft);
    }
  }
  const queries = drafts.flatMap((d) => (d.query === undefined ? [] : [d.query])).sort((a, b) => a.move - b.move);
  const answers = yield* materialAnswers(run, fixture, queries);
  const answerOf = new Map<MaterialQuery, MaterialAnswer>();
  queries.forEach((q, i) => {
    const a = answers[i];
    if (a !== undefined) answerOf.set(q, a);
  });
  const incidents: Incident[] = [];
  for (const d of drafts) {
    const incident = settle(fixture, run, blamed, d, d.query === undefined ? undefined : answerOf.get(d.query));
    if (incident !== undefined) incidents.push(incident);
  }
  const isMeant = meantBy(run, fixture);
  const result = withConsequences(fixture, run, withoutNeighbours(run, withoutOverlaps(run, incidents, isMeant), isMeant), isMeant);
  known.set(clearances, result);
  return result;
}

/** Contacts of the tool where it arrives, for moves that come from an unknown place: whatever the way, the end is certain. */
function endContacts(cx: RuleContext, fixture: Fixture): Contact[] {
  const out: Contact[] = [];
  const limit = Math.max(fixture.clearance.rapid, fixture.clearance.cut);
  for (const index of cx.clearances?.unchecked.keys() ?? []) {
    const move = cx.run.moves[index];
    if (move === undefined || move.kind === "index" || move.kind === "dwell" || isKnownPoint(move.from) || !isKnownPoint(move.to)) continue;
    if ((fixture.machine.rotary !== undefined && Number.isNaN(move.rotaryTo)) || turnsUndescribed(fixture, move)) continue;
    for (const solid of standingSolids(fixture)) {
      const box = solidAt(fixture, solid, fixture.machine.rotary === undefined ? 0 : move.rotaryTo);
      for (const part of fixture.tools.get(move.modal.tool)?.stack ?? LINE) {
        const { distance, depth } = gapLine(part, move.to, move.to, box, limit);
        if (distance < limit) out.push({ move: index, solid, distance, depth, at: move.to, part: part.part, atStart: false });
      }
    }
  }
  return out;
}

/** A contact with the rule it would belong to, before it is known what is left of the stock. */
interface Draft {
  readonly rule: IncidentRule;
  readonly move: Move;
  readonly contact: Contact;
  readonly clearance: number;
  /** Only a real overlap counts. */
  readonly onlyEntering: boolean;
  readonly query: MaterialQuery | undefined;
}

function judge(run: Run, fixture: Fixture, claims: ReadonlyMap<number, IncidentRule>, move: Move, contact: Contact): Draft | undefined {
  if (move.kind === "dwell" || move.kind === "index") return undefined;
  const station = fixture.stations[move.station];
  if (station !== undefined && faces(fixture, station, move.rotaryTo) === false) return undefined;
  return move.kind === "rapid" ? judgeRapid(run, fixture, claims, move, contact) : judgeCut(fixture, move, contact);
}

function judgeRapid(
  run: Run,
  fixture: Fixture,
  claims: ReadonlyMap<number, IncidentRule>,
  move: Move,
  contact: Contact,
): Draft | undefined {
  const { solid } = contact;
  const claimed = claims.get(contact.move);
  const { from, to } = move;
  const vertical = from[0] === to[0] && from[1] === to[1];
  if (solid.kind === "stock" && solid.station === move.station) {
    // Straight up out of what was cut there is nothing to meet.
    if (contact.distance > 0 || (vertical && to[2] >= from[2])) return undefined;
    const query: MaterialQuery = { move: contact.move, station: solid.station, limit: 0, parts: "all" };
    return { rule: claimed ?? "stock-rapid", move, contact, clearance: 0, onlyEntering: true, query };
  }
  const leaves = leavesFrom(move, contact);
  // A cut may pass a soft jaw as near as it likes, so the way from there back out is no fault either.
  if (solid.machinable && leaves && contact.distance > 0) return undefined;
  const clearance = leaves || isReentry(run, contact.move) ? fixture.clearance.cut : fixture.clearance.rapid;
  const draft = { move, contact, clearance, onlyEntering: false };
  if (solid.kind === "stock") {
    // The offset may change before the tool comes out of what it has cut: the stock that it stands in is still that of the station it leaves.
    if (vertical && to[2] >= from[2] && run.moves[contact.move - 1]?.station === solid.station) return undefined;
    const query: MaterialQuery = { move: contact.move, station: solid.station, limit: clearance, parts: "all" };
    return { ...draft, rule: claimed ?? "clamp-rapid", query };
  }
  // A first approach that comes straight down on a clamp is the clamp's own rule, whatever its level.
  return { ...draft, rule: claimed === "approach-low" && vertical ? "clamp-rapid" : (claimed ?? "clamp-rapid"), query: undefined };
}

/** Whether a rapid is nearest where it starts: it goes away from there, or straight up along what it stood beside. */
function leavesFrom({ from, to }: Move, contact: Contact): boolean {
  const up = from[0] === to[0] && from[1] === to[1] && to[2] > from[2];
  return contact.atStart || (up && contact.distance > 0 && Math.abs(contact.at[2] - from[2]) <= 1e-6);
}

/** The rapid of a cycle back into the hole that it has begun: it ends short of where the feed has been. */
function isReentry(run: Run, index: number): boolean {
  const move = run.moves[index];
  if (move?.role !== "cycle-approach") return false;
  for (let k = index - 1; k >= 0; k--) {
    const m = run.moves[k];
    if (m === undefined || m.step !== move.step || m.role === "cycle-traverse") return false;
    if (m.role === "cycle-feed") return true;
  }
  return false;
}

function judgeCut(fixture: Fixture, move: Move, contact: Contact): Draft | undefined {
  const { solid, part } = contact;
  const own = solid.station === move.station;
  const other = solid.station >= 0 && !own;
  const upper = part !== "cutting";
  const enters = contact.distance === 0 && contact.depth > TOUCH;
  const draft = (rule: IncidentRule, clearance: number, onlyEntering: boolean, query?: MaterialQuery): Draft => ({
    rule,
    move,
    contact,
    clearance,
    onlyEntering,
    query,
  });
  if (solid.kind === "stock") {
    if (contact.distance > 0) return undefined;
    if (upper) return draft("holder-reach", 0, true, { move: contact.move, station: solid.station, limit: 0, parts: "upper" });
    // A neighbour's stock counts whole: even where it has been cut before, this tool has no business there.
    return own || !enters ? undefined : draft("neighbour-cut", 0, true);
  }
  if (enters) {
    if (upper) return draft("holder-reach", 0, true);
    const drilling = move.role === "cycle-feed" || (move.kind === "feed" && move.to[0] === move.from[0] && move.to[1] === move.from[1]);
    if (drilling && move.to[2] < move.from[2] && (solid.kind === "base" || (solid.kind === "parallels" && !other)))
      return draft("base-drilled", 0, true);
    if (other) return draft("neighbour-cut", 0, true);
    return draft("clamp-cut", 0, true);
  }
  if (solid.machinable) return undefined;
  return draft("clamp-near", fixture.clearance.cut, false);
}

/** Decides a draft, now that it is known what is left of the stock. */
function settle(fixture: Fixture, run: Run, blamed: Blamed, d: Draft, answer: MaterialAnswer | undefined): Incident | undefined {
  const { contact, move } = d;
  let distance = contact.distance;
  let depth = contact.depth;
  let part = contact.part;
  let tooHigh = false;
  if (d.query !== undefined) {
    // An untouched stock is the whole box, of which the exact distance is known already.
    if (answer === undefined || (Number.isNaN(answer.distance) && !answer.untouched)) return unknownMaterial(fixture, run, blamed, d);
    if (!answer.untouched) {
      distance = answer.distance;
      depth = answer.depth;
      part = answer.part;
      tooHigh = answer.tooHigh;
    }
  }
  const enters = distance === 0 && depth > TOUCH;
  // A hole is as deep in a parallel or a base as its tip is below the top of it.
  if (enters && d.rule === "base-drilled") {
    const top = boundsAt(fixture, contact.solid, fixture.machine.rotary === undefined ? 0 : move.rotaryTo).to[2];
    depth = Math.max(TOUCH, top - Math.min(move.from[2], move.to[2]));
  }
  if (d.onlyEntering ? !enters : !(distance < d.clearance - TOUCH) && !enters) return undefined;
  const deviation = toldDeviation(fixture, run, blamed, move);
  if (deviation > 0 && d.clearance - distance + depth <= deviation + TOUCH) return undefined;
  return {
    rule: d.rule,
    move: contact.move,
    solid: contact.solid,
    part,
    distance,
    depth,
    at: contact.at,
    enters,
    clearance: d.clearance,
    tooHigh,
    follows: false,
    again: false,
  };
}

/**
 * What is left of the stock cannot be known (a tool of no known width has cut there). Another station's stock is then
 * judged as if it were whole, which is what the corridor must stay clear of; the station's own is not judged.
 */
function unknownMaterial(fixture: Fixture, run: Run, blamed: Blamed, d: Draft): Incident | undefined {
  const { contact, move } = d;
  const enters = contact.distance === 0 && contact.depth > TOUCH;
  if (d.onlyEntering || !(contact.distance < d.clearance - TOUCH)) return undefined;
  if (toldDeviation(fixture, run, blamed, move) > 0) return undefined;
  const { move: index, solid, part, distance, depth, at } = contact;
  return {
    rule: d.rule,
    move: index,
    solid,
    part,
    distance,
    depth,
    at,
    enters,
    clearance: d.clearance,
    tooHigh: false,
    follows: false,
    again: false,
  };
}

/** Whether what happens is meant: then it hides nothing beside it, and nothing behind it that is another fault. */
type IsMeant = (i: Incident) => boolean;

/** A cut into a soft jaw is meant, and so is what an ALLOW comment with its reason waives or the sidecar switches off. */
function meantBy(run: Run, fixture: Fixture): IsMeant {
  const allowed = run.sources.map((source) => {
    const lines = new Set<string>();
    for (const { rules, reason, lines: at } of programAllows(source))
      if (reason !== undefined) for (const rule of rules) for (const line of at) lines.add(`${rule} ${line}`);
    return lines;
  });
  return (i) => {
    if (fixture.levels.get(i.rule) === "off" || (i.rule === "clamp-cut" && i.solid.machinable)) return true;
    const step = run.steps[run.moves[i.move]?.step ?? -1];
    return step !== undefined && allowed[step.source]?.has(`${i.rule} ${step.block.line}`) === true;
  };
}

/** Contract ruling 41 within one move: holders only where the cutting part is right, and the clamp before the stock. */
function withoutOverlaps(run: Run, incidents: readonly Incident[], isMeant: IsMeant): Incident[] {
  const byMove = new Map<number, Incident[]>();
  for (const i of incidents) {
    const list = byMove.get(i.move);
    if (list === undefined) byMove.set(i.move, [i]);
    else list.push(i);
  }
  const out: Incident[] = [];
  for (const list of byMove.values()) {
    const struck = list.some((i) => i.rule === "clamp-rapid" && i.enters && !isMeant(i));
    // A cut that is meant does not mean the holder that goes with it.
    const wrong = list.some((i) => (i.rule === "clamp-cut" || i.rule === "base-drilled" || i.rule === "neighbour-cut") && !isMeant(i));
    const kept = list.filter((i) => {
      if (wrong && i.rule === "holder-reach") return false;
      // A rapid that runs into a clamp is told by that; the stock that it meets on the same way is of the same fault.
      if (struck && i.rule === "stock-rapid") return false;
      // Where the tool goes into a solid, that another part of it is near the same one says nothing more.
      // (The bodies of a tombstone's bases lie in each other.)
      const same = (j: Incident): boolean => j.solid === i.solid || (j.solid.kind === "base" && i.solid.kind === "base");
      if (i.rule === "clamp-near" && list.some((j) => j !== i && same(j) && j.enters)) return false;
      return true;
    });
    // One solid, one rule, one move: the part that is nearest or deepest speaks.
    const best = new Map<string, Incident>();
    for (const i of kept) {
      const key = `${i.rule} ${i.solid.station} ${i.solid.name}`;
      const held = best.get(key);
      if (held === undefined || i.distance < held.distance || (i.distance === held.distance && i.depth > held.depth)) best.set(key, i);
    }
    out.push(...best.values());
  }
  return withoutStickOut(
    run,
    out.sort((a, b) => a.move - b.move),
  );
}

/** A visit that cuts into a neighbour is that fault; that its rapids come near the neighbour's jaws follows from it. */
function withoutNeighbours(run: Run, incidents: readonly Incident[], isMeant: IsMeant): Incident[] {
  const visitOf = (i: Incident): string => `${run.moves[i.move]?.visit} ${i.solid.station}`;
  const cut = new Set(incidents.filter((i) => i.rule === "neighbour-cut" && !isMeant(i)).map(visitOf));
  return incidents.filter((i) => (i.rule !== "clamp-rapid" && i.rule !== "clamp-near") || i.enters || !cut.has(visitOf(i)));
}

/** A tool with too little stick-out is that fault; that its holder comes near a jaw on the way to the same cut follows from it. */
function withoutStickOut(run: Run, incidents: readonly Incident[]): Incident[] {
  const short = incidents.filter((i) => i.rule === "holder-reach");
  const straight = (index: number): Move | undefined => {
    const m = run.moves[index];
    return m !== undefined && m.from[0] === m.to[0] && m.from[1] === m.to[1] ? m : undefined;
  };
  return incidents.filter((i) => {
    const down = straight(i.move);
    if ((i.rule !== "clamp-rapid" && i.rule !== "clamp-near") || i.enters || i.part === "cutting" || down === undefined) return true;
    return !short.some((h) => {
      const hole = straight(h.move);
      return hole !== undefined && Math.abs(h.move - i.move) <= 4 && hole.from[0] === down.to[0] && hole.from[1] === down.to[1];
    });
  });
}

/** A key of a solid. The bodies of a tombstone's bases lie in each other: they are one. */
export function bodyOf(solid: Solid): string {
  return solid.kind === "base" ? "base" : `${solid.station} ${solid.name} ${solid.base ?? ""}`;
}

/** Marks what only follows: the next move starts where the one before ended, in the same solid. */
function withConsequences(fixture: Fixture, run: Run, incidents: readonly Incident[], isMeant: IsMeant): Incident[] {
  const last = new Map<string, { move: number; entry: number; entered: boolean; rapid: boolean; meant: boolean }>();
  const out: Incident[] = [];
  for (const i of incidents) {
    const move = run.moves[i.move];
    if (move === undefined) continue;
    const key = bodyOf(i.solid);
    const held = last.get(key);
    const rapid = move.kind === "rapid";
    let follows = false;
    let again = false;
    const up = isStraightUp(move);
    if (held !== undefined && held.move !== i.move && contiguous(run, held.move, i.move, up)) {
      // A cut that begins where a rapid went in is a fault of its own, unless one block of a cycle does both; out again is not.
      // A rapid that goes on from a cut which is meant is a fault of its own too.
      const beginsAnew = rapid
        ? !held.rapid && held.meant && i.enters && !goesBack(run, i.move)
        : held.rapid && !up && !(move.role === "cycle-feed" && run.moves[held.move]?.step === move.step);
      again = !beginsAnew && i.enters && held.entered && comesBack(fixture, run, held.entry, i);
      follows = !beginsAnew && !again && (!i.enters || held.entered);
    }
    out.push(follows || again ? { ...i, follows, again } : i);
    last.set(key, {
      move: i.move,
      entry: follows && held !== undefined ? held.entry : i.move,
      entered: i.enters || (follows && held?.entered === true),
      rapid: follows && held !== undefined ? held.rapid : rapid,
      meant: follows && held !== undefined ? held.meant : isMeant(i),
    });
  }
  return markNear(run, out);
}

/**
 * Whether the tool has left the solid since the move that went in (`entry`), and goes in again: a row of entries is as many
 * places to change. Back down in a hole that it has just begun is none.
 */
function comesBack(fixture: Fixture, run: Run, entry: number, i: Incident): boolean {
  const before = run.moves[entry];
  const move = run.moves[i.move];
  if (before === undefined || move === undefined || !isKnownPoint(move.from)) return false;
  if (before.step === move.step || (isStraightDown(before) && isStraightDown(move) && sameSpot(before.to, move.to))) return false;
  const box = solidAt(fixture, i.solid, fixture.machine.rotary === undefined ? 0 : move.rotaryFrom);
  return (fixture.tools.get(move.modal.tool)?.stack ?? LINE).every((part) => gapLine(part, move.from, move.from, box, TOUCH).distance > 0);
}

/** Whether a rapid leaves where a cut has been: straight up, or along the line that the tool has just cut. */
function goesBack(run: Run, index: number): boolean {
  const move = run.moves[index];
  if (move === undefined || !isKnownPoint(move.from)) return false;
  if (isStraightUp(move)) return true;
  for (let k = index - 1; k >= 0; k--) {
    const cut = run.moves[k];
    if (cut === undefined || cut.kind !== "feed" || cut.visit !== move.visit || cut.modal.toolStep !== move.modal.toolStep) return false;
    if (isKnownPoint(cut.from) && liesOn(cut.from, cut.to, move.from) && liesOn(cut.from, cut.to, move.to)) return true;
  }
  return false;
}

/** Whether a point lies on the line from a to b. */
function liesOn(a: Vec3, b: Vec3, p: Vec3): boolean {
  const along = Math.hypot(b[0] - a[0], b[1] - a[1], b[2] - a[2]);
  const there = Math.hypot(p[0] - a[0], p[1] - a[1], p[2] - a[2]);
  return there + Math.hypot(b[0] - p[0], b[1] - p[1], b[2] - p[2]) <= along + 1e-6;
}

function isStraightDown(move: Move): boolean {
  return sameSpot(move.from, move.to) && move.to[2] < move.from[2];
}

function isStraightUp(move: Move): boolean {
  return sameSpot(move.from, move.to) && move.to[2] > move.from[2];
}

/** At the same X and Y. */
export function sameSpot(a: Vec3, b: Vec3): boolean {
  return a[0] === b[0] && a[1] === b[1];
}

/** A near pass just before or after the same tool goes into the same solid is part of that fault. */
function markNear(run: Run, incidents: readonly Incident[]): Incident[] {
  // In order of moves, so that those a few moves on are looked for from where the last search began.
  const entering = incidents.filter((i) => i.enters);
  let from = 0;
  return incidents.map((i) => {
    if (i.rule !== "clamp-near" || i.follows) return i;
    while ((entering[from]?.move ?? Number.POSITIVE_INFINITY) <= i.move) from++;
    for (let k = from; (entering[k]?.move ?? Number.POSITIVE_INFINITY) <= i.move + NEAR_MOVES; k++) {
      const e = entering[k];
      if (e !== undefined && e.solid === i.solid && contiguous(run, i.move, e.move)) return { ...i, follows: true };
    }
    return i;
  });
}

/** How many moves on something may follow from a fault. */
const NEAR_MOVES = 4;

/**
 * Whether every move from a to b is by the same tool and in one piece, with no more than a few moves between. `anyVisit`: the offset
 * may have changed, as for the way out of what went in under the offset before.
 */
function contiguous(run: Run, a: number, b: number, anyVisit = false): boolean {
  if (b - a > NEAR_MOVES) return false;
  for (let k = a + 1; k <= b; k++) {
    const before = run.moves[k - 1];
    const now = run.moves[k];
    if (before === undefined || now === undefined) return false;
    if (before.modal.toolStep !== now.modal.toolStep || (!anyVisit && before.visit !== now.visit)) return false;
    if (!isKnownPoint(before.to) || Math.hypot(before.to[0] - now.from[0], before.to[1] - now.from[1], before.to[2] - now.from[2]) > 1e-6)
      return false;
  }
  return true;
}

/** The graver of two things that are met on one way: to go in before to come near, then the nearer, then the first. */
export function graver(held: Incident, other: Incident): Incident {
  if (held.enters !== other.enters) return held.enters ? held : other;
  return !held.enters && other.distance < held.distance - TOUCH ? other : held;
}

/** The gravest incident of a rule on each move that has one, in order of moves. */
export function gravestOfMoves(incidents: readonly Incident[], rule: IncidentRule): ReadonlyMap<number, Incident> {
  const out = new Map<number, Incident>();
  for (const i of incidents) {
    if (i.rule !== rule) continue;
    const held = out.get(i.move);
    out.set(i.move, held === undefined ? i : graver(held, i));
  }
  return out;
}

/** The gravest of what several moves meet. */
export function gravestOf(hits: ReadonlyMap<number, Incident>, moves: readonly number[]): Incident | undefined {
  const met = moves.flatMap((m) => hits.get(m) ?? []);
  return met.length === 0 ? undefined : met.reduce(graver);
}

/** A key that is the same for the same fault at several stations: rule, tool, kind of solid and the place in the part. */
export function causeOf(run: Run, i: Incident): string {
  const move = run.moves[i.move];
  if (move === undefined) return String(i.move);
  const own = i.solid.station >= 0 && i.solid.station === move.station;
  const at = move.partTo.map((v) => (Number.isNaN(v) ? "?" : Math.round(v * 100))).join(",");
  const kind = i.solid.kind === "obstacle" ? i.solid.name : i.solid.kind;
  return `${i.rule}|${move.modal.tool}|${kind}|${own ? "own" : i.solid.station < 0 ? "fixed" : "other"}|${at}`;
}
