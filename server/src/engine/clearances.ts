import type { Clearances, Contact } from "./checks/rule.js";
import type { Fixture, Solid, SolidKind, Station } from "./fixture/model.js";
import { LINE, solidAt, swingRadius } from "./fixture/solids.js";
import type { Box, OrientedBox } from "./geometry/box.js";
import type { Arc, Body, Gap, Section } from "./geometry/sweep.js";
import { boundsOfArc, gapArcBody, gapLineBody, prepare, sectionOf, unknownGap } from "./geometry/sweep.js";
import type { ToolPart, ToolStack } from "./geometry/tool.js";
import type { Vec3 } from "./geometry/vector.js";
import { isKnownPoint } from "./geometry/vector.js";
import type { Move } from "./machine/move.js";
import { type Polyline, rapidPolylines } from "./machine/rapid.js";
import type { Run } from "./machine/run.js";

/** Moves, and exact queries, between two yields: a few milliseconds of work. */
const SLICE_MOVES = 128;
const SLICE_QUERIES = 1000;
/** Rotary angles whose solids are kept placed at the same time. */
const ANGLES = 64;
/** Contacts are kept a little beyond the largest clearance, so that "equal" is decided by the rules and not by rounding. */
const MARGIN = 1e-3;
/** Degrees below which a rotary axis has not turned. */
const SAME_ANGLE = 1e-9;
/** Two distances that differ by less count as one when it is asked where along a path the least is, mm. */
const SAME = 1e-6;

const KINDS: readonly SolidKind[] = ["fixed jaw", "moving jaw", "end stop", "stock", "parallels", "base", "obstacle"];
/** The station's own stock has a slot of its own: a cut meets it, which would hide how near the others come. */
const OWN_STOCK = KINDS.length;
const SLOTS = KINDS.length + 1;

const NO_GAP: Gap = { ...unknownGap(), distance: Number.POSITIVE_INFINITY };

/** A solid where it stands. */
interface Placed {
  readonly solid: Solid;
  readonly body: Body;
  readonly kind: number;
}

/** Solids that are passed over together: those of one station, a base, an obstacle. */
interface Group {
  readonly station: number;
  readonly bounds: Box;
  readonly placed: readonly Placed[];
}

/** Everything at one rotary angle. */
interface Scene {
  readonly groups: readonly Group[];
  /** False when a solid's place cannot be computed. */
  readonly known: boolean;
}

interface StackPart {
  readonly part: ToolPart["part"];
  readonly section: Section;
}

/** A tool, ready for queries. */
interface Stack {
  readonly parts: readonly StackPart[];
  readonly radius: number;
  readonly low: number;
  readonly high: number;
  readonly known: boolean;
}

/** What is queried: a standing tool or a straight feed (one line), a rapid (the forms its path may take), an arc. */
interface Path {
  readonly lines: readonly Polyline[];
  readonly arc: Arc | undefined;
  readonly rapid: boolean;
}

/**
 * Least distances of the tool to everything that stands on the machine, for every move of a run (mm, machine frame).
 * Rapids are taken along every form their path may have on the machine, arcs as arcs, the solids at the rotary angle in
 * force. Stations marked empty have no stock and their moving jaw open. A tool that the fixture does not describe is a
 * line with no width. Unknown positions are never guessed: a move is either proved clear by what is known of it, or
 * listed in `unchecked`. A block that turns the work is measured against what stands still only. Never throws; a generator that yields every few milliseconds.
 * `memory`, where one is given, changes the time and nothing else.
 */
export function* computeClearances(run: Run, fixture: Fixture, memory?: ClearanceMemory): Generator<void, Clearances> {
  const pass = new Pass(run, fixture);
  const held = memory?.fixture === fixture ? memory.stretches : undefined;
  const stretches = new Map<string, Stretch[]>();
  let sliceStart = 0;
  for (let from = 0; from < run.moves.length; ) {
    const to = stretchEnd(run.moves, from);
    const fresh = memory !== undefined && pass.isFresh(from);
    const key = fresh ? stretchKey(run.moves, from, to) : "";
    const known = held?.get(key)?.find((s) => isSameStretch(s, run.moves, from, pass.stated));
    const stated: Stated = [...pass.stated];
    if (fresh && known !== undefined) {
      pass.copy(known, from);
      yield;
    } else {
      for (let i = from; i < to; i++) {
        pass.look(i);
        if (i - sliceStart >= SLICE_MOVES || pass.queries >= SLICE_QUERIES) {
          sliceStart = i;
          pass.queries = 0;
          yield;
        }
      }
    }
    if (fresh) {
      const made = pass.stretch(from, to, stated);
      const list = stretches.get(key);
      if (list === undefined) stretches.set(key, [made]);
      else list.push(made);
    }
    from = to;
  }
  if (memory !== undefined) {
    memory.fixture = fixture;
    memory.stretches = stretches;
  }
  return pass.result();
}

/**
 * What the clearances of one run leave for those of the next run of the same program. The work at a station that an edit leaves as
 * it was, move for move, comes as near to everything as before: its distances are taken over. A fixture that was loaded anew is another one, for
 * which nothing is taken over.
 */
export interface ClearanceMemory {
  fixture?: Fixture;
  stretches?: ReadonlyMap<string, readonly Stretch[]>;
}

type Stated = [boolean, boolean, boolean];

/** The moves of one visit, or between two visits, with all that came of them. Indexes of moves are those of its own run. */
interface Stretch {
  readonly moves: readonly Move[];
  readonly from: number;
  readonly to: number;
  /** Axes whose position had been known before and behind it: what is said of an unknown position depends on them. */
  readonly before: Stated;
  readonly after: Stated;
  readonly contacts: readonly Contact[];
  readonly firstOf: Int32Array;
  readonly least: readonly (Contact | undefined)[] | undefined;
  readonly unchecked: readonly (readonly [number, string])[];
}

/** Index behind the last move in a row of the same visit. */
function stretchEnd(moves: readonly Move[], from: number): number {
  const visit = moves[from]?.visit;
  let to = from + 1;
  while (to < moves.length && moves[to]?.visit === visit) to++;
  return to;
}

/** Stretches with different keys differ. */
function stretchKey(moves: readonly Move[], from: number, to: number): string {
  const first = moves[from];
  const last = moves[to - 1];
  return `${to - from} ${first?.modal.tool} ${first?.station} ${first?.to.join()} ${last?.to.join()}`;
}

/** Whether a stretch consists of the same moves in everything that a distance depends on. */
function isSameStretch(held: Stretch, moves: readonly Move[], from: number, stated: Stated): boolean {
  for (const k of [0, 1, 2] as const) if (held.before[k] !== stated[k]) return false;
  for (let i = held.from; i < held.to; i++) {
    const a = held.moves[i];
    const b = moves[from + i - held.from];
    if (a === undefined || b === undefined || !isSameMove(a, b)) return false;
  }
  return true;
}

function isSameMove(a: Move, b: Move): boolean {
  return (
    a.kind === b.kind &&
    isSamePoint(a.from, b.from) &&
    isSamePoint(a.to, b.to) &&
    (a.centre === undefined ? b.centre === undefined : b.centre !== undefined && isSamePoint(a.centre, b.centre)) &&
    Object.is(a.sweep, b.sweep) &&
    Object.is(a.rotaryFrom, b.rotaryFrom) &&
    Object.is(a.rotaryTo, b.rotaryTo) &&
    a.station === b.station &&
    a.visit < 0 === b.visit < 0 &&
    Object.is(a.modal.tool, b.modal.tool) &&
    a.modal.motion === b.modal.motion &&
    a.modal.plane === b.modal.plane
  );
}

function isSamePoint(a: Vec3, b: Vec3): boolean {
  return Object.is(a[0], b[0]) && Object.is(a[1], b[1]) && Object.is(a[2], b[2]);
}

class Pass {
  queries = 0;
  /** The nearest form of the path looked at last. */
  private nearest: Gap = NO_GAP;
  private readonly contacts: Contact[] = [];
  /** Index of the first contact of each move, and one more. */
  private readonly firstOf: Int32Array;
  private readonly least = new Map<number, (Contact | undefined)[]>();
  private readonly unchecked = new Map<number, string>();
  private readonly withoutWidth = new Set<number>();
  private readonly stacks = new Map<number, Stack>();
  private readonly scenes = new Map<number, Scene>();
  private readonly solids: readonly { readonly station: number; readonly solids: readonly Solid[] }[];
  /** Axes whose position has been known at some time of the run. */
  readonly stated: Stated = [false, false, false];
  /** What no rotary axis turns; made when it is first asked for. */
  private still: Scene | undefined;
  private readonly limit: number;
  private readonly swing: number | undefined;
  private readonly axis: OrientedBox | undefined;
  private readonly none: (Contact | undefined)[] = new Array<Contact | undefined>(SLOTS).fill(undefined);

  constructor(
    private readonly run: Run,
    private readonly fixture: Fixture,
  ) {
    this.firstOf = new Int32Array(run.moves.length + 1);
    this.limit = Math.max(fixture.clearance.rapid, fixture.clearance.cut) + MARGIN;
    this.solids = [
      ...fixture.stations.map((s) => ({ station: s.index, solids: s.empty ? emptySolids(s) : s.solids })),
      ...fixture.bases.map((b) => ({ station: -1, solids: [b.body] })),
      ...fixture.obstacles.map((o) => ({ station: -1, solids: [o] })),
    ];
    this.swing = swingRadius(fixture);
    this.axis = axisOf(fixture);
  }

  result(): Clearances {
    const { contacts, firstOf, least, unchecked, withoutWidth } = this;
    return {
      contacts,
      contactsOf: (move) => contacts.slice(firstOf[move] ?? 0, firstOf[move + 1] ?? 0),
      least: (visit) => (least.get(visit) ?? []).filter((c) => c !== undefined),
      unchecked,
      withoutWidth,
    };
  }

  /** Whether nothing that was seen so far bears on the distances of a move's visit. */
  isFresh(index: number): boolean {
    return !this.least.has(this.run.moves[index]?.visit ?? -1);
  }

  /** What came of the moves from `from` up to `to`, which are one stretch. */
  stretch(from: number, to: number, before: Stated): Stretch {
    const { run, contacts, firstOf, least, unchecked, stated } = this;
    const visit = run.moves[from]?.visit ?? -1;
    const open: [number, string][] = [];
    for (let i = from; i < to; i++) {
      const why = unchecked.get(i);
      if (why !== undefined) open.push([i, why]);
    }
    return {
      moves: run.moves,
      from,
      to,
      before,
      after: [...stated],
      contacts: contacts.slice(firstOf[from], firstOf[to]),
      firstOf: firstOf.slice(from, to + 1),
      least: least.get(visit)?.slice(),
      unchecked: open,
    };
  }

  /** Takes over what came of a stretch for the equal one that begins at `from`. */
  copy(held: Stretch, from: number): void {
    const { run, contacts, firstOf, least, unchecked, stated } = this;
    const shift = from - held.from;
    const moved = (c: Contact): Contact => (shift === 0 ? c : { ...c, move: c.move + shift });
    const base = contacts.length - (held.firstOf[0] ?? 0);
    for (const contact of held.contacts) contacts.push(moved(contact));
    for (let k = 0; k < held.firstOf.length; k++) firstOf[from + k] = base + (held.firstOf[k] ?? 0);
    if (held.least !== undefined)
      least.set(
        run.moves[from]?.visit ?? -1,
        held.least.map((c) => (c === undefined ? c : moved(c))),
      );
    for (const [index, why] of held.unchecked) unchecked.set(index + shift, why);
    for (const k of [0, 1, 2] as const) stated[k] = held.after[k];
    // A tool that the fixture does not describe is noted where it is met.
    for (let i = from; i < from + held.to - held.from; i++) {
      const move = run.moves[i];
      if (move !== undefined && move.kind !== "dwell") this.stackOf(move.modal.tool);
    }
  }

  /** Computes one move. */
  look(index: number): void {
    const move = this.run.moves[index];
    if (move !== undefined) {
      for (const k of [0, 1, 2] as const) if (!Number.isNaN(move.from[k])) this.stated[k] = true;
      if (move.kind !== "dwell") this.move(index, move);
    }
    this.firstOf[index + 1] = this.contacts.length;
  }

  private move(index: number, move: Move): void {
    const stack = this.stackOf(move.modal.tool);
    if (Number.isNaN(move.modal.tool) || !stack.known) this.unchecked.set(index, "why.tool-unknown");
    if (move.kind === "index" && this.fixture.machine.rotary !== undefined && !(Math.abs(move.rotaryTo - move.rotaryFrom) < SAME_ANGLE)) {
      this.turning(index, move, stack);
      return;
    }
    const angle = this.fixture.machine.rotary === undefined ? 0 : move.rotaryTo;
    if (turnsUndescribed(this.fixture, move)) {
      this.unchecked.set(index, "why.rotary-undescribed");
      return;
    }
    if (Number.isNaN(angle)) {
      // Outside everything that turns, the angle does not matter.
      if (this.clearAtAnyAngle(stack, move)) return;
      this.unchecked.set(index, "why.rotary-unknown");
      return;
    }
    const scene = this.sceneAt(angle);
    if (!scene.known) this.unchecked.set(index, "why.no-field");
    const rapid = move.kind === "rapid" || (move.kind === "index" && move.modal.motion === "G0");
    const { from, to } = move;
    if (!isKnownPoint(from) || !isKnownPoint(to)) {
      const clearance = rapid ? this.fixture.clearance.rapid : this.fixture.clearance.cut;
      if (move.kind !== "arc" && clearWhateverUnknown(scene, stack, unknownBounds(from, to), clearance)) return;
      this.unchecked.set(index, isKnownPoint(to) || !this.lost(to) ? "why.unknown-start" : "why.position-unknown");
      // What can be said is that the tool stands at the end point.
      if (isKnownPoint(to)) this.against(index, move, scene, stack, { lines: [[to, to]], arc: undefined, rapid }, { from: to, to });
      return;
    }
    if (move.kind === "arc" && move.centre !== undefined) {
      const arc: Arc = { from, to, centre: move.centre, sweep: move.sweep, plane: move.modal.plane };
      const box = boundsOfArc(arc);
      if (!isKnownPoint(box.from) || !isKnownPoint(box.to) || Number.isNaN(move.sweep)) {
        this.unchecked.set(index, "why.position-unknown");
        return;
      }
      this.against(index, move, scene, stack, { lines: [], arc, rapid }, box);
      return;
    }
    const { rapid: rates, rapidPath } = this.fixture.machine;
    const lines = rapid ? rapidPolylines(from, to, rates, move.kind === "index" ? "straight" : rapidPath) : [[from, to]];
    this.against(index, move, scene, stack, { lines, arc: undefined, rapid }, unknownBounds(from, to));
  }

  /** Whether an axis that is unknown at this point has ever been known: if not, it still stands where the program found it. */
  private lost(point: Vec3): boolean {
    return ([0, 1, 2] as const).some((k) => Number.isNaN(point[k]) && this.stated[k]);
  }

  /** Queries every solid that may matter, with the path's bounds given. */
  private against(index: number, move: Move, scene: Scene, stack: Stack, path: Path, box: Box): void {
    let least = this.none;
    if (move.visit >= 0) {
      const known = this.least.get(move.visit);
      least = known ?? new Array<Contact | undefined>(SLOTS).fill(undefined);
      if (known === undefined) this.least.set(move.visit, least);
    }
    for (const group of scene.groups) {
      const groupBound = bound(box, group.bounds, stack.radius, stack.low, stack.high);
      if (groupBound >= this.limit && (least === this.none || !this.mayLower(group, move, least, groupBound))) continue;
      for (const placed of group.placed) {
        const slot = slotOf(placed, move);
        const whole = bound(box, placed.body.bounds, stack.radius, stack.low, stack.high);
        if (whole >= this.cutoff(least, slot)) continue;
        this.solid(index, stack, path, box, placed, least, slot);
      }
    }
  }

  /** The distance from which on nothing needs to be known exactly. */
  private cutoff(least: readonly (Contact | undefined)[], slot: number): number {
    if (least === this.none) return this.limit;
    const held = least[slot];
    return held === undefined ? Number.POSITIVE_INFINITY : Math.max(this.limit, held.distance);
  }

  private mayLower(group: Group, move: Move, least: readonly (Contact | undefined)[], groupBound: number): boolean {
    for (const placed of group.placed) {
      const held = least[slotOf(placed, move)];
      if (held === undefined || groupBound < held.distance) return true;
    }
    return false;
  }

  private solid(index: number, stack: Stack, path: Path, box: Box, placed: Placed, least: (Contact | undefined)[], slot: number): void {
    const { solid, body } = placed;
    let kept: Contact | undefined;
    for (const { part, section } of stack.parts) {
      if (kept !== undefined && kept.part !== part) {
        this.contacts.push(kept);
        kept = undefined;
      }
      const cutoff = this.cutoff(least, slot);
      if (bound(box, body.bounds, section.r, section.h0, section.h1) >= cutoff) continue;
      // A box of any orientation is the dearer query, and an arc dearer than a line.
      this.queries += (body.upright ? 1 : 20) * (path.arc === undefined ? 1 : 5);
      const gap = path.arc !== undefined ? gapArcBody(section, path.arc, body, cutoff) : this.alongLines(section, path, body, cutoff);
      if (Number.isNaN(gap.distance)) continue;
      const contact: Contact = {
        move: index,
        solid,
        distance: gap.distance,
        depth: gap.depth,
        at: gap.at,
        part,
        atStart: gap.atStart && path.rapid,
      };
      if (least !== this.none) {
        const near = path.arc === undefined ? this.nearest : gap;
        const held = least[slot];
        if (near.distance < cutoff && (held === undefined || near.distance < held.distance)) {
          least[slot] =
            near === gap ? contact : { ...contact, distance: near.distance, depth: near.depth, at: near.at, atStart: near.atStart };
        }
      }
      if (gap.distance >= this.limit) continue;
      if (kept === undefined || gap.distance < kept.distance || (gap.distance === kept.distance && gap.depth > kept.depth)) kept = contact;
    }
    if (kept !== undefined) this.contacts.push(kept);
  }

  /**
   * The least over the forms that a path may take. Of two forms the one that is nearer to breaking its clearance counts:
   * one that only leaves is judged by the clearance of a cut (ruling 9).
   */
  private alongLines(section: Section, path: Path, body: Body, cutoff: number): Gap {
    let worst: Gap | undefined;
    this.nearest = NO_GAP;
    let worstMargin = Number.POSITIVE_INFINITY;
    for (const line of path.lines) {
      const gap = alongLine(section, line, body, cutoff);
      const margin = gap.distance - (gap.atStart ? this.fixture.clearance.cut : this.fixture.clearance.rapid);
      if (gap.distance < this.nearest.distance) this.nearest = gap;
      if (worst === undefined || margin < worstMargin) {
        worst = gap;
        worstMargin = margin;
      }
    }
    return worst ?? unknownGap();
  }

  /**
   * A block that turns the work: only what stands still is measured here, along the straight path. What turns is a matter of
   * the whole sweep and of the index clearance, which the rules for indexing look at and report on by themselves.
   */
  private turning(index: number, move: Move, stack: Stack): void {
    if (!isKnownPoint(move.from) || !isKnownPoint(move.to)) return;
    this.still ??= this.place(
      this.solids.map(({ station, solids }) => ({ station, solids: solids.filter((s) => s.base === undefined) })),
      0,
    );
    const path: Path = { lines: [[move.from, move.to]], arc: undefined, rapid: move.modal.motion === "G0" };
    this.against(index, move, this.still, stack, path, unknownBounds(move.from, move.to));
  }

  /** Whether the move keeps the larger clearance to the cylinder of all that turns and to what stands still. */
  private clearAtAnyAngle(stack: Stack, move: Move): boolean {
    const { axis, swing } = this;
    if (axis === undefined || swing === undefined || Number.isNaN(swing) || move.kind === "arc" || !stack.known) return false;
    const path = unknownBounds(move.from, move.to);
    const clearance = this.limit - MARGIN;
    const grown = (k: 0 | 1 | 2, sign: 1 | -1): number => (sign < 0 ? axis.box.from[k] : axis.box.to[k]) + sign * swing;
    const cylinder: Box = { from: [grown(0, -1), grown(1, -1), grown(2, -1)], to: [grown(0, 1), grown(1, 1), grown(2, 1)] };
    if (!stack.parts.every(({ section }) => bound(path, cylinder, section.r, section.h0, section.h1) >= clearance)) return false;
    return this.fixture.obstacles
      .filter((o) => o.base === undefined)
      .every((o) => {
        const { known, bounds } = prepare(o.placed);
        return known && stack.parts.every(({ section }) => bound(path, bounds, section.r, section.h0, section.h1) >= clearance);
      });
  }

  private stackOf(tool: number): Stack {
    const old = this.stacks.get(tool);
    if (old !== undefined) return old;
    const described = this.fixture.tools.get(tool)?.stack;
    const stack = described !== undefined && described.length > 0 ? described : LINE;
    if (stack === LINE && tool !== 0) this.withoutWidth.add(tool);
    const made = prepareStack(stack);
    this.stacks.set(tool, made);
    return made;
  }

  private sceneAt(angle: number): Scene {
    const old = this.scenes.get(angle);
    if (old !== undefined) return old;
    if (this.scenes.size >= ANGLES) this.scenes.clear();
    const scene = this.place(this.solids, angle);
    this.scenes.set(angle, scene);
    return scene;
  }

  private place(all: Pass["solids"], angle: number): Scene {
    const groups: Group[] = [];
    let known = true;
    for (const { station, solids } of all) {
      const placed: Placed[] = [];
      for (const solid of solids) {
        const body = prepare(solidAt(this.fixture, solid, angle));
        if (body.known) placed.push({ solid, body, kind: KINDS.indexOf(solid.kind) });
        else known = false;
      }
      if (placed.length > 0) groups.push({ station, bounds: union(placed.map((p) => p.body.bounds)), placed });
    }
    return { groups, known };
  }
}

/** Solids are told apart by identity, so those of an empty station stay the same ones from run to run. */
const emptied = new WeakMap<Station, readonly Solid[]>();

/** Every solid as it stands in this run: base bodies, those of stations, of an empty one without stock and with its jaw open, obstacles. */
export function standingSolids(fixture: Fixture): Solid[] {
  return [
    ...fixture.bases.map((b) => b.body),
    ...fixture.stations.flatMap((s) => (s.empty ? emptySolids(s) : s.solids)),
    ...fixture.obstacles,
  ];
}

/** What stands at a station that is not loaded: no stock, and the moving jaw open, where its notch is known. */
function emptySolids(station: Station): readonly Solid[] {
  const held = emptied.get(station);
  if (held !== undefined) return held;
  const made = makeEmptySolids(station);
  emptied.set(station, made);
  return made;
}

function makeEmptySolids(station: Station): readonly Solid[] {
  const { openJaw } = station;
  const out: Solid[] = [];
  for (const solid of station.solids) {
    if (solid.kind === "stock") continue;
    const open = solid.kind === "moving jaw" && openJaw !== undefined;
    out.push(open ? { ...solid, local: openJaw, placed: { frame: station.frame, box: openJaw } } : solid);
  }
  return out;
}

/**
 * Whether the program has turned a rotary axis that the sidecar does not describe. Where the stations are then cannot be
 * known; at 0 they stand as the sidecar says, and so does what the program never turned.
 */
export function turnsUndescribed(fixture: Fixture, move: Move): boolean {
  if (fixture.machine.rotary !== undefined || Number.isNaN(move.rotaryTo)) return false;
  return Math.abs(move.rotaryTo - 360 * Math.round(move.rotaryTo / 360)) >= SAME_ANGLE;
}

/** The rotary axis as a box with no width, so that the same query measures the distance to it. */
function axisOf(fixture: Fixture): OrientedBox | undefined {
  const rotary = fixture.machine.rotary;
  if (rotary === undefined) return undefined;
  const k = rotary.axis === "A" ? 0 : rotary.axis === "B" ? 1 : 2;
  const from: [number, number, number] = [rotary.centre[0], rotary.centre[1], rotary.centre[2]];
  const to: [number, number, number] = [from[0], from[1], from[2]];
  from[k] = Number.NEGATIVE_INFINITY;
  to[k] = Number.POSITIVE_INFINITY;
  return { frame: { origin: [0, 0, 0], x: [1, 0, 0], y: [0, 1, 0], z: [0, 0, 1] }, box: { from, to } };
}

function prepareStack(stack: ToolStack): Stack {
  const parts = stack.map((p) => ({ part: p.part, section: sectionOf(p) }));
  return {
    parts,
    radius: Math.max(...parts.map((p) => p.section.r)),
    low: Math.min(...parts.map((p) => p.section.h0)),
    high: Math.max(...parts.map((p) => p.section.h1)),
    known: parts.every((p) => p.section.known),
  };
}

function slotOf(placed: Placed, move: Move): number {
  const { solid } = placed;
  return solid.kind === "stock" && solid.station >= 0 && solid.station === move.station ? OWN_STOCK : placed.kind;
}

/** The bounds of a straight move; an axis of which either end is not known is unbounded. */
function unknownBounds(a: Vec3, b: Vec3): Box {
  const lo = (k: 0 | 1 | 2): number => (Number.isNaN(a[k] + b[k]) ? Number.NEGATIVE_INFINITY : Math.min(a[k], b[k]));
  const hi = (k: 0 | 1 | 2): number => (Number.isNaN(a[k] + b[k]) ? Number.POSITIVE_INFINITY : Math.max(a[k], b[k]));
  return { from: [lo(0), lo(1), lo(2)], to: [hi(0), hi(1), hi(2)] };
}

/** Whether a tool anywhere within the bounds keeps the clearance to everything. */
function clearWhateverUnknown(scene: Scene, stack: Stack, box: Box, clearance: number): boolean {
  if (!scene.known || !stack.known) return false;
  for (const group of scene.groups) {
    if (bound(box, group.bounds, stack.radius, stack.low, stack.high) >= clearance) continue;
    for (const { body } of group.placed) {
      for (const { section } of stack.parts) if (bound(box, body.bounds, section.r, section.h0, section.h1) < clearance) return false;
    }
  }
  return true;
}

/** A lower bound of the distance of a tool part, whose tool point stays within `path`, to whatever lies within `solid`. */
function bound(path: Box, solid: Box, radius: number, low: number, high: number): number {
  const x = Math.max(solid.from[0] - path.to[0], path.from[0] - solid.to[0], 0);
  const y = Math.max(solid.from[1] - path.to[1], path.from[1] - solid.to[1], 0);
  const z = Math.max(solid.from[2] - path.to[2] - high, path.from[2] + low - solid.to[2], 0);
  const plan = Math.max(Math.sqrt(x * x + y * y) - radius, 0);
  return plan === 0 ? z : Math.sqrt(plan * plan + z * z);
}

function union(boxes: readonly Box[]): Box {
  const lo = (k: 0 | 1 | 2): number => Math.min(...boxes.map((b) => b.from[k]));
  const hi = (k: 0 | 1 | 2): number => Math.max(...boxes.map((b) => b.to[k]));
  return { from: [lo(0), lo(1), lo(2)], to: [hi(0), hi(1), hi(2)] };
}

/** The least along one polyline; at the start only if it grows from there and no later segment comes as near again. */
function alongLine(section: Section, line: Polyline, body: Body, cutoff: number): Gap {
  let best: Gap | undefined;
  let depth = 0;
  let again = false;
  for (let i = 1; i < line.length; i++) {
    const gap = gapLineBody(section, line[i - 1] as Vec3, line[i] as Vec3, body, cutoff);
    depth = Math.max(depth, gap.depth);
    if (best === undefined) best = gap;
    else if (gap.distance < best.distance) {
      best = { ...gap, atStart: false };
      again = false;
    } else if (gap.distance <= best.distance + SAME && !gap.atStart) again = true;
  }
  if (best === undefined) return unknownGap();
  return depth === best.depth && !again ? best : { ...best, depth, atStart: best.atStart && !again };
}
