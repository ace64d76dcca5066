/**
 * Which rule speaks of a tool that comes too near, and of how much: contacts written by hand at and about each boundary, judged
 * as the contract's rulings 8, 9, 28, 41 and 44 say. Clearances 2 mm (rapid) and 0.5 mm (cut). Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { createContext } from "../../server/src/engine/checks/context.js";
import { causeOf, type Incident, incidentsOf } from "../../server/src/engine/checks/lib/incidents.js";
import { broughtDeviation, faces, offsetDeviation } from "../../server/src/engine/checks/lib/stations.js";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import type { Contact } from "../../server/src/engine/checks/rule.js";
import type { Fixture } from "../../server/src/engine/fixture/model.js";
import type { Modal, Move } from "../../server/src/engine/machine/move.js";
import type { Run } from "../../server/src/engine/machine/run.js";
import { fixture, modal, move, profile, run as sample, solid, station } from "../support/analysis.js";

const NAN = Number.NaN;
const [rule] = rules;
const [aStep] = sample.steps;
const [aVisit] = sample.visits;
if (rule === undefined || aStep === undefined || aVisit === undefined) throw new Error("rules, steps, visits");

const jaw = solid("fixed jaw", "fixed jaw", 0, [0, -40, -40], [60, 0, -10]);
const soft = { ...solid("moving jaw", "moving jaw", 0, [0, 41, -40], [60, 90, -13]), machinable: true };
const jaw2 = solid("fixed jaw", "fixed jaw", 1, [150, -40, -40], [210, 0, -10]);
const bars = solid("parallels", "parallels", 0, [0, 0, -55], [60, 41, -30]);
const bars2 = solid("parallels", "parallels", 1, [150, 0, -55], [210, 41, -30]);
const stock = solid("stock", "stock", 0, [0, 0, -30], [60, 41, 0]);
const stock2 = solid("stock", "stock", 1, [150, 0, -30], [210, 41, 0]);
const plate = solid("base", "plate", -1, [-50, -50, -95], [400, 300, -55]);
const plate2 = { ...solid("base", "rear plate", -1, [-50, -50, -95], [400, 300, -55]), base: "rear" };
const post = solid("obstacle", "probe", -1, [300, 0, -55], [320, 20, 30]);

const box = { from: [0, 0, -30], to: [60, 41, 0] } as const;
const origin = { X: 0, Y: 0, Z: 0, rotary: undefined };
const A1 = station({
  index: 0,
  id: "A1",
  computed: origin,
  solids: [jaw, soft, bars, stock],
  stock: { from: [...box.from], to: [...box.to] },
});
const A2 = station({
  index: 1,
  id: "A2",
  offset: "G55",
  computed: origin,
  solids: [jaw2, bars2, stock2],
  stock: { from: [150, 0, -30], to: [210, 41, 0] },
});
const two = fixture({ bases: [], stations: [A1, A2] });

type Change = Partial<Omit<Move, "modal">> & { readonly m?: Partial<Modal> };

/** Moves at station A1, each from where the one before ended. X and Y were gone to before: nothing is a first approach. */
function path(...changes: readonly Change[]): Run {
  let at: Move["to"] = [10, 10, 100];
  let state: Partial<Modal> = { length: 49, tool: 1, toolStep: 0, offset: "G54", offsetStep: 0 };
  const moves = changes.map(({ m, ...c }) => {
    state = { ...state, ...m };
    const to = c.to ?? at;
    const made = move({ from: at, to, partFrom: c.from ?? at, partTo: to, station: 0, visit: 0, ...c, modal: modal(state) });
    at = to;
    return made;
  });
  return { ...sample, steps: [0, 1, 2, 3, 4, 5].map(() => aStep as NonNullable<typeof aStep>), moves, visits: [] };
}

type Near = Partial<Contact> & Pick<Contact, "move" | "solid">;

function judged(run: Run, contacts: readonly Near[], f: Fixture = two, unchecked: ReadonlyMap<number, string> = new Map()): Incident[] {
  const all = contacts.map(
    (c): Contact => ({ distance: 0, depth: 0, at: run.moves[c.move]?.to ?? [0, 0, 0], part: "cutting", atStart: false, ...c }),
  );
  const clearances = { contacts: all, contactsOf: (i: number) => all.filter((c) => c.move === i), least: () => [], unchecked };
  const subject = { run, fixture: f, profile, clearances, blockSkip: false, skippedRun: undefined, entry: "main" as const, notes: [] };
  const it = incidentsOf(createContext(rule as NonNullable<typeof rule>, subject, { reports: [], notChecked: [] }, () => undefined));
  for (;;) {
    const next = it.next();
    if (next.done === true) return [...next.value];
  }
}
const told = (...args: Parameters<typeof judged>) =>
  judged(...args).map(
    (i) =>
      `${i.move} ${i.rule} ${i.solid.name}${i.solid.station < 0 ? "" : i.solid.station + 1}${i.enters ? " in" : ""}${i.follows ? " follows" : ""}`,
  );

const ACROSS = path({ to: [100, 10, 100] });

describe("a rapid near something", () => {
  it("nearer than the clearance, not at it", () => {
    expect(told(ACROSS, [{ move: 0, solid: jaw2, distance: 1.9985 }])).toEqual(["0 clamp-rapid fixed jaw2"]);
    expect(told(ACROSS, [{ move: 0, solid: jaw2, distance: 1.9995 }])).toEqual([]);
    expect(told(ACROSS, [{ move: 0, solid: jaw2, distance: NAN }])).toEqual([]);
    expect(
      told(ACROSS, [
        { move: 0, solid: plate, distance: 1.5 },
        { move: 0, solid: post, depth: 3 },
      ]),
    ).toEqual(["0 clamp-rapid plate", "0 clamp-rapid probe in"]);
    // Touching is too near, but not in.
    expect(told(ACROSS, [{ move: 0, solid: jaw, depth: 0.001 }])).toEqual(["0 clamp-rapid fixed jaw1"]);
    expect(told(ACROSS, [{ move: 0, solid: jaw, depth: 0.0011 }])).toEqual(["0 clamp-rapid fixed jaw1 in"]);
    expect(judged(ACROSS, [{ move: 0, solid: jaw2, distance: 1 }])[0]).toMatchObject({
      clearance: 2,
      distance: 1,
      depth: 0,
      part: "cutting",
      at: [100, 10, 100],
    });
  });
  it("away from a cut: the cut's clearance where it begins", () => {
    expect(told(ACROSS, [{ move: 0, solid: jaw, distance: 0.6, atStart: true }])).toEqual([]);
    expect(told(ACROSS, [{ move: 0, solid: jaw, distance: 0.4, atStart: true }])).toEqual(["0 clamp-rapid fixed jaw1"]);
    expect(told(ACROSS, [{ move: 0, solid: stock2, distance: 0.6, atStart: true }])).toEqual([]);
    expect(judged(ACROSS, [{ move: 0, solid: stock2, distance: 0.4, atStart: true }])[0]).toMatchObject({
      rule: "clamp-rapid",
      clearance: 0.5,
    });
    const up = path({ to: [10, 10, 5] }, { to: [10, 10, 50] });
    expect(told(up, [{ move: 1, solid: jaw, distance: 0.6, at: [10, 10, 5] }])).toEqual([]);
    expect(told(up, [{ move: 1, solid: jaw, distance: 0.6, at: [10, 10, 20] }])).toEqual(["1 clamp-rapid fixed jaw1"]);
    expect(told(up, [{ move: 1, solid: jaw, distance: 0, at: [10, 10, 5] }])).toEqual(["1 clamp-rapid fixed jaw1"]);
    const slanted = path({ to: [10, 10, 5] }, { to: [10, 12, 50] });
    expect(told(slanted, [{ move: 1, solid: jaw, distance: 0.6, at: [10, 10, 5] }])).toEqual(["1 clamp-rapid fixed jaw1"]);
    const slantedX = path({ to: [10, 10, 5] }, { to: [12, 10, 50] });
    expect(told(slantedX, [{ move: 1, solid: jaw, distance: 0.6, at: [10, 10, 5] }])).toEqual(["1 clamp-rapid fixed jaw1"]);
  });
  it("a cycle's rapid back into its hole has the cut's clearance, the first into it the rapid's", () => {
    const peck = path(
      { to: [20, 20, 50], role: "cycle-traverse", step: 3 },
      { to: [20, 20, 2], role: "cycle-approach", step: 3 },
      { to: [20, 20, -5], role: "cycle-feed", kind: "feed", step: 3 },
      { to: [20, 20, 2], role: "cycle-retract", step: 3 },
      { to: [20, 20, -4], role: "cycle-approach", step: 3 },
    );
    expect(told(peck, [{ move: 1, solid: jaw, distance: 0.6 }])).toEqual(["1 clamp-rapid fixed jaw1"]);
    expect(told(peck, [{ move: 4, solid: jaw, distance: 0.6 }])).toEqual([]);
    expect(told(peck, [{ move: 4, solid: stock2, distance: 0.6 }])).toEqual([]);
    expect(told(peck, [{ move: 4, solid: jaw, distance: 0.4 }])).toEqual(["4 clamp-rapid fixed jaw1"]);
    // The hole before is no hole of this block.
    const next = { ...peck, moves: peck.moves.map((m, i) => (i === 4 ? { ...m, step: 4 } : m)) };
    expect(told(next, [{ move: 4, solid: jaw, distance: 0.6 }])).toEqual(["4 clamp-rapid fixed jaw1"]);
    const second = { ...peck, moves: peck.moves.map((m, i) => (i === 3 ? { ...m, role: "cycle-traverse" as const } : m)) };
    expect(told(second, [{ move: 4, solid: jaw, distance: 0.6 }])).toEqual(["4 clamp-rapid fixed jaw1"]);
  });
  it("its own stock only where it goes in, and not straight up out of it", () => {
    const down = path({ to: [10, 10, 5] }, { to: [10, 10, -3] }, { to: [10, 10, 20] });
    expect(told(down, [{ move: 1, solid: stock, depth: 3 }])).toEqual(["1 stock-rapid stock1 in"]);
    expect(told(down, [{ move: 1, solid: stock, depth: 0.001 }])).toEqual([]);
    expect(told(down, [{ move: 1, solid: stock, distance: 0.5 }])).toEqual([]);
    expect(told(down, [{ move: 2, solid: stock, depth: 3 }])).toEqual([]);
    const level = path({ to: [10, 10, -3] }, { to: [12, 10, -3] });
    expect(told(level, [{ move: 1, solid: stock, depth: 3 }])).toEqual(["1 stock-rapid stock1 in"]);
    const levelY = path({ to: [10, 10, -3] }, { to: [10, 12, 3] });
    expect(told(levelY, [{ move: 1, solid: stock, depth: 3 }])).toEqual(["1 stock-rapid stock1 in"]);
  });
  it("a neighbour's stock like a clamp", () => {
    expect(told(ACROSS, [{ move: 0, solid: stock2, distance: 1.5 }])).toEqual(["0 clamp-rapid stock2"]);
    expect(told(ACROSS, [{ move: 0, solid: stock2, distance: 1.9995 }])).toEqual([]);
    expect(told(ACROSS, [{ move: 0, solid: stock2, depth: 1 }])).toEqual(["0 clamp-rapid stock2 in"]);
  });
  it("a first approach is approach-low across, and the clamp's own rule straight down", () => {
    const run = path({ to: [10, 10, 20], m: { length: 43 } }, { to: [100, 10, 20] });
    expect(
      told(run, [
        { move: 0, solid: jaw, distance: 1 },
        { move: 1, solid: jaw, distance: 1 },
      ]),
    ).toEqual(["0 clamp-rapid fixed jaw1", "1 approach-low fixed jaw1 follows"]);
    const slanted = path({ to: [40, 10, 20], m: { length: 43 } });
    expect(told(slanted, [{ move: 0, solid: jaw, distance: 1 }])).toEqual(["0 approach-low fixed jaw1"]);
    // Into the stock it stays an approach, however it comes down.
    expect(told(path({ to: [10, 10, -3], m: { length: 43 } }), [{ move: 0, solid: stock, depth: 3 }])).toEqual([
      "0 approach-low stock1 in",
    ]);
  });
  it("the way to an intermediate point straight down on a clamp stays the return's", () => {
    const run = path({ role: "reference-through", to: [10, 10, 20], m: { absolute: true } });
    expect(told(run, [{ move: 0, solid: jaw, distance: 1 }])).toEqual(["0 return-through-point fixed jaw1"]);
  });
  it("the way between stations", () => {
    const run = path({ to: [10, 10, 20] }, { to: [160, 10, 20], m: { offset: "G55", offsetStep: 2 }, station: 1 });
    expect(told(run, [{ move: 1, solid: jaw, distance: 1 }])).toEqual(["1 retract-before-offset fixed jaw1"]);
    expect(told(run, [{ move: 1, solid: stock, distance: 1 }])).toEqual(["1 retract-before-offset stock1"]);
  });
  it("turns and dwells are none", () => {
    for (const kind of ["index", "dwell"] as const) expect(told(path({ kind }), [{ move: 0, solid: jaw, depth: 2 }])).toEqual([]);
    expect(told(ACROSS, [{ move: 5, solid: jaw, depth: 2 }])).toEqual([]);
  });
});

describe("a cut near something", () => {
  const cut = path({ kind: "feed", to: [40, 10, 100] });
  it("near a clamp: its own, not at the clearance, not a machinable one", () => {
    expect(told(cut, [{ move: 0, solid: jaw, distance: 0.4985 }])).toEqual(["0 clamp-near fixed jaw1"]);
    expect(told(cut, [{ move: 0, solid: jaw, distance: 0.4995 }])).toEqual([]);
    expect(told(cut, [{ move: 0, solid: soft, distance: 0.2 }])).toEqual([]);
    expect(told(cut, [{ move: 0, solid: jaw, distance: 0.2, part: "holder" }])).toEqual(["0 clamp-near fixed jaw1"]);
    expect(told(cut, [{ move: 0, solid: jaw, depth: 0.001 }])).toEqual(["0 clamp-near fixed jaw1"]);
    expect(judged(cut, [{ move: 0, solid: jaw, distance: 0.2 }])[0]).toMatchObject({ clearance: 0.5, enters: false });
  });
  it("into a clamp of its own, of a neighbour; with the shank", () => {
    expect(told(cut, [{ move: 0, solid: jaw, depth: 0.0011 }])).toEqual(["0 clamp-cut fixed jaw1 in"]);
    expect(told(cut, [{ move: 0, solid: soft, depth: 1 }])).toEqual(["0 clamp-cut moving jaw1 in"]);
    expect(told(cut, [{ move: 0, solid: jaw2, depth: 1 }])).toEqual(["0 neighbour-cut fixed jaw2 in"]);
    const second = path({ kind: "feed", to: [40, 10, 100], station: 1 });
    expect(told(second, [{ move: 0, solid: jaw, depth: 1 }])).toEqual(["0 neighbour-cut fixed jaw1 in"]);
    expect(told(cut, [{ move: 0, solid: post, depth: 1 }])).toEqual(["0 clamp-cut probe in"]);
    expect(told(cut, [{ move: 0, solid: jaw, depth: 1, part: "shank" }])).toEqual(["0 holder-reach fixed jaw1 in"]);
    expect(told(cut, [{ move: 0, solid: jaw2, depth: 1, part: "holder" }])).toEqual(["0 holder-reach fixed jaw2 in"]);
  });
  it("stock: its own is there to be cut, a neighbour's is not", () => {
    expect(told(cut, [{ move: 0, solid: stock, depth: 3 }])).toEqual([]);
    expect(told(cut, [{ move: 0, solid: stock2, depth: 3 }])).toEqual(["0 neighbour-cut stock2 in"]);
    expect(told(cut, [{ move: 0, solid: stock2, depth: 0.001 }])).toEqual([]);
    expect(told(cut, [{ move: 0, solid: stock2, distance: 0.1 }])).toEqual([]);
  });
  it("drilling into what is under the part: as deep as the tip is below its top", () => {
    const drill = path({ to: [10, 10, 2] }, { kind: "feed", to: [10, 10, -58] });
    expect(judged(drill, [{ move: 1, solid: plate, depth: 0.4 }])[0]).toMatchObject({ rule: "base-drilled", depth: 3 });
    expect(judged(drill, [{ move: 1, solid: bars, depth: 0.4 }])[0]).toMatchObject({ rule: "base-drilled", depth: 28 });
    expect(told(drill, [{ move: 1, solid: bars2, depth: 1 }])).toEqual(["1 neighbour-cut parallels2 in"]);
    expect(told(drill, [{ move: 1, solid: jaw, depth: 1 }])).toEqual(["1 clamp-cut fixed jaw1 in"]);
    expect(told(drill, [{ move: 1, solid: plate, distance: 0.3 }])).toEqual(["1 clamp-near plate"]);
    // By a cycle, though it also goes across; but not on the way up, nor with a cutter sideways.
    const cycle = path({ to: [10, 10, 2] }, { kind: "feed", role: "cycle-feed", to: [10, 11, -58] });
    expect(told(cycle, [{ move: 1, solid: plate, depth: 1 }])).toEqual(["1 base-drilled plate in"]);
    const up = path({ to: [10, 10, -58] }, { kind: "feed", to: [10, 10, 2] });
    expect(told(up, [{ move: 1, solid: plate, depth: 1 }])).toEqual(["1 clamp-cut plate in"]);
    for (const to of [
      [11, 10, -58],
      [10, 11, -58],
    ] as const) {
      const slope = path({ to: [10, 10, 2] }, { kind: "feed", to: [...to] });
      expect(told(slope, [{ move: 1, solid: plate, depth: 1 }])).toEqual(["1 clamp-cut plate in"]);
    }
    const arc = path({ to: [10, 10, 2] }, { kind: "arc", to: [10, 10, -58] });
    expect(told(arc, [{ move: 1, solid: plate, depth: 1 }])).toEqual(["1 clamp-cut plate in"]);
  });
});

describe("one fault, one incident", () => {
  const drill = path({ to: [10, 10, 2] }, { kind: "feed", to: [10, 10, -58] });
  it("on one move: drilled before cut, the cutting part before the holder, in before near", () => {
    expect(
      told(drill, [
        { move: 1, solid: plate, depth: 1 },
        { move: 1, solid: jaw, depth: 1, part: "holder" },
        { move: 1, solid: jaw2, distance: 0.2 },
      ]),
    ).toEqual(["1 base-drilled plate in", "1 clamp-near fixed jaw2"]);
    const cut = path({ kind: "feed", to: [40, 10, 100] });
    expect(
      told(cut, [
        { move: 0, solid: jaw, depth: 1 },
        { move: 0, solid: jaw, distance: 0.1, part: "shank" },
      ]),
    ).toEqual(["0 clamp-cut fixed jaw1 in"]);
    expect(
      told(cut, [
        { move: 0, solid: jaw2, depth: 1 },
        { move: 0, solid: jaw, depth: 1, part: "shank" },
      ]),
    ).toEqual(["0 neighbour-cut fixed jaw2 in"]);
    expect(
      told(cut, [
        { move: 0, solid: jaw, depth: 1, part: "shank" },
        { move: 0, solid: soft, depth: 1, part: "holder" },
      ]),
    ).toHaveLength(2);
    expect(
      told(cut, [
        { move: 0, solid: plate, depth: 1 },
        { move: 0, solid: plate2, distance: 0.1 },
      ]),
    ).toEqual(["0 clamp-cut plate in"]);
  });
  it("a rapid into a clamp and the stock is the clamp's; near it, both", () => {
    const down = path({ to: [10, 10, 5] }, { to: [10, 10, -3] });
    const own: Near = { move: 1, solid: stock, depth: 3 };
    expect(told(down, [own, { move: 1, solid: soft, depth: 1 }])).toEqual(["1 clamp-rapid moving jaw1 in"]);
    expect(told(down, [own, { move: 1, solid: soft, distance: 1 }])).toHaveLength(2);
    expect(told(down, [own, { move: 0, solid: soft, depth: 1 }])).toHaveLength(2);
  });
  it("of one solid the part that is nearest, of those that are in the deepest", () => {
    const parts = (...c: readonly (readonly [number, number, Contact["part"]])[]) =>
      judged(
        ACROSS,
        c.map(([distance, depth, part]) => ({ move: 0, solid: jaw2, distance, depth, part })),
      ).map((i) => i.part);
    expect(parts([1.5, 0, "cutting"], [1, 0, "holder"])).toEqual(["holder"]);
    expect(parts([1, 0, "cutting"], [1.5, 0, "holder"])).toEqual(["cutting"]);
    expect(parts([0, 1, "cutting"], [0, 2, "shank"])).toEqual(["shank"]);
    expect(parts([0, 2, "cutting"], [0, 1, "shank"])).toEqual(["cutting"]);
    expect(parts([1, 0, "cutting"], [1, 0, "shank"])).toEqual(["cutting"]);
  });
  it("in order of moves, whatever the order of the contacts", () => {
    const run = path({ to: [20, 10, 100] }, { to: [30, 10, 100] });
    expect(
      told(run, [
        { move: 1, solid: jaw, distance: 1 },
        { move: 0, solid: jaw2, distance: 1 },
      ]),
    ).toEqual(["0 clamp-rapid fixed jaw2", "1 clamp-rapid fixed jaw1"]);
  });
  it("a visit that cuts into a neighbour: near its jaws follows, into them does not", () => {
    const run = path({ kind: "feed", to: [160, 10, -3] }, { to: [160, 10, 50] }, { to: [10, 10, 50], visit: 1 });
    const near: Near[] = [{ move: 0, solid: stock2, depth: 1 }];
    expect(told(run, [...near, { move: 1, solid: jaw2, distance: 1 }])).toEqual(["0 neighbour-cut stock2 in"]);
    expect(told(run, [...near, { move: 1, solid: jaw2, depth: 1 }])).toEqual(["0 neighbour-cut stock2 in", "1 clamp-rapid fixed jaw2 in"]);
    expect(told(run, [...near, { move: 1, solid: jaw, distance: 1 }])).toEqual(["0 neighbour-cut stock2 in", "1 clamp-rapid fixed jaw1"]);
    expect(told(run, [...near, { move: 2, solid: jaw2, distance: 1 }])).toEqual(["0 neighbour-cut stock2 in", "2 clamp-rapid fixed jaw2"]);
    expect(told(run, [...near, { move: 0, solid: jaw2, distance: 0.2 }])).toEqual(["0 neighbour-cut stock2 in"]);
  });
  it("too little stick-out: the holder near a jaw on the way to the same hole", () => {
    const run = path(
      { to: [20, 20, 50] },
      { to: [20, 20, 2] },
      { kind: "feed", to: [20, 20, -30] },
      { to: [20, 20, 50] },
      {},
      {},
      {},
      { to: [20, 20, 2] },
    );
    const short: Near = { move: 2, solid: jaw, depth: 1, part: "holder" };
    const also = (c: Partial<Near> & { move: number }) => told(run, [short, { solid: soft, distance: 1, part: "holder", ...c }]);
    expect(also({ move: 1 })).toEqual(["2 holder-reach fixed jaw1 in"]);
    expect(also({ move: 1, part: "cutting" })).toHaveLength(2);
    expect(also({ move: 1, distance: 0, depth: 1 })).toHaveLength(2);
    expect(also({ move: 6 })).toHaveLength(1);
    // Across to it, and five moves later.
    expect(also({ move: 0 })).toHaveLength(2);
    expect(also({ move: 7 })).toHaveLength(2);
    // In the cut itself as well.
    expect(told(run, [short, { move: 2, solid: jaw2, distance: 0.2, part: "holder" }])).toHaveLength(1);
    for (const [x, y] of [
      [30, 20],
      [20, 30],
    ] as const) {
      const other = path({ to: [x, y, 50] }, { to: [x, y, 2] }, { to: [20, 20, 2] }, { kind: "feed", to: [20, 20, -30] });
      expect(
        told(other, [
          { ...short, move: 3 },
          { move: 1, solid: soft, distance: 1, part: "holder" },
        ]),
      ).toHaveLength(2);
    }
  });
});

describe("what only follows from the move before", () => {
  const rapids = path(
    { to: [20, 10, 5] },
    { to: [30, 10, 5] },
    { to: [40, 10, 5] },
    { kind: "feed", to: [50, 10, 5] },
    { to: [50, 10, 50] },
  );
  it("further through the same solid follows; a cut behind a rapid does not, out again does", () => {
    expect(
      told(rapids, [
        { move: 1, solid: jaw, depth: 1 },
        { move: 2, solid: jaw, depth: 1 },
        { move: 3, solid: jaw, depth: 1 },
        { move: 4, solid: jaw, depth: 1 },
      ]),
    ).toEqual([
      "1 clamp-rapid fixed jaw1 in",
      "2 clamp-rapid fixed jaw1 in follows",
      "3 clamp-cut fixed jaw1 in",
      "4 clamp-rapid fixed jaw1 in follows",
    ]);
  });
  it("near, then near: one; near, then in: two; in, then near: one; another solid: its own", () => {
    const two2 = (a: Partial<Near>, b: Partial<Near>) =>
      told(rapids, [
        { move: 1, solid: jaw, ...a },
        { move: 2, solid: jaw, ...b },
      ]).map((t) => t.endsWith("follows"));
    expect(two2({ distance: 1 }, { distance: 1 })).toEqual([false, true]);
    expect(two2({ distance: 1 }, { depth: 1 })).toEqual([false, false]);
    expect(two2({ depth: 1 }, { distance: 1 })).toEqual([false, true]);
    expect(two2({ depth: 1 }, { solid: soft, depth: 1 })).toEqual([false, false]);
    expect(two2({ solid: plate, depth: 1 }, { solid: plate2, depth: 1 })).toEqual([false, true]);
    expect(two2({ solid: post, depth: 1 }, { solid: jaw2, depth: 1 })).toEqual([false, false]);
  });
  it("in, near, and in again is one; near from a cut and then in at rapid, the rapid is told", () => {
    const all = (from: number, ...near: Partial<Near>[]) =>
      told(
        path({ to: [20, 10, 5] }, { kind: "feed", to: [25, 10, 5] }, { to: [30, 10, 5] }, { to: [40, 10, 5] }, { to: [50, 10, 5] }),
        near.map((c, k): Near => ({ move: from + k, solid: jaw, ...c })),
      ).map((t) => t.endsWith("follows"));
    expect(all(2, { depth: 1 }, { distance: 1 }, { depth: 1 })).toEqual([false, true, true]);
    expect(all(1, { depth: 1 }, { distance: 1 }, { depth: 1 })).toEqual([false, true, true]);
    expect(all(1, { distance: 0.2 }, { depth: 1 })).toEqual([true, false]);
    expect(all(1, { distance: 0.2 }, { distance: 0.2 }, { depth: 1 })).toEqual([true, true, false]);
  });
  it("only in one piece: the same tool, visit and place, at most four moves on", () => {
    const gap = (n: number, last: Change) => {
      const run = path({ to: [20, 10, 5] }, ...Array.from({ length: n - 1 }, (): Change => ({})), last);
      return told(run, [
        { move: 0, solid: jaw, depth: 1 },
        { move: n, solid: jaw, depth: 1 },
      ]).map((t) => t.endsWith("follows"))[1];
    };
    expect(gap(1, { to: [30, 10, 5] })).toBe(true);
    expect(gap(4, { to: [30, 10, 5] })).toBe(true);
    expect(gap(5, { to: [30, 10, 5] })).toBe(false);
    expect(gap(1, { to: [30, 10, 5], visit: 1 })).toBe(false);
    // Straight up is the way out, whatever offset has been selected in between and whether at rapid or at feed.
    expect(gap(1, { to: [20, 10, 50], visit: 1 })).toBe(true);
    expect(gap(1, { kind: "feed", to: [20, 10, 50] })).toBe(true);
    expect(gap(1, { kind: "feed", to: [20, 10, 5] })).toBe(false);
    expect(gap(1, { to: [20, 10.1, 50], visit: 1 })).toBe(false);
    expect(gap(1, { to: [20, 10, 50], m: { toolStep: 3 } })).toBe(false);
    expect(gap(1, { to: [30, 10, 5], m: { toolStep: 3 } })).toBe(false);
    for (const from of [
      [21, 10, 5],
      [20, 11, 5],
      [20, 10, 6],
    ] as const)
      expect(gap(1, { from: [...from], to: [30, 10, 5] })).toBe(false);
    expect(gap(1, { from: [20, 10, 5 + 1e-7], to: [30, 10, 5] })).toBe(true);
  });
  it("a near pass just before the same tool cuts in", () => {
    const cuts = path({ kind: "feed", to: [20, 10, 5] }, { kind: "feed", to: [30, 10, 5] }, { kind: "feed", to: [30, 10, 5], visit: 1 });
    expect(
      told(cuts, [
        { move: 0, solid: jaw, distance: 0.2 },
        { move: 1, solid: jaw, depth: 1 },
      ]),
    ).toEqual(["0 clamp-near fixed jaw1 follows", "1 clamp-cut fixed jaw1 in"]);
    expect(
      told(cuts, [
        { move: 0, solid: jaw, distance: 0.2 },
        { move: 1, solid: soft, depth: 1 },
      ]),
    ).toEqual(["0 clamp-near fixed jaw1", "1 clamp-cut moving jaw1 in"]);
    expect(
      told(cuts, [
        { move: 0, solid: jaw, distance: 0.2 },
        { move: 2, solid: jaw, depth: 1 },
      ]),
    ).toEqual(["0 clamp-near fixed jaw1", "2 clamp-cut fixed jaw1 in"]);
    expect(
      told(cuts, [
        { move: 0, solid: jaw, depth: 1 },
        { move: 1, solid: jaw, distance: 0.2 },
      ]),
    ).toEqual(["0 clamp-cut fixed jaw1 in", "1 clamp-near fixed jaw1 follows"]);
  });
});

/** The same fixture where both work offsets are stored 9 mm beside their stations, which offset-value tells. */
const slip = { values: { X: 9 }, place: A1.place, source: "values" } as const;
const slipped: Fixture = {
  ...two,
  stored: new Map([
    ["G54", slip],
    ["G55", slip],
  ]),
  stationsOf: (key) => two.stations.filter((s) => s.offset === key),
};

describe("what an offset beside its station explains", () => {
  /** The offset stands 5 mm in X beside the station. */
  const beside = (dx: number, dy = 0, dz = 0): Run =>
    path({ from: [0, 0, 50], partFrom: [-dx, -dy, 50 - dz], to: [40, 0, 50], partTo: [40 - dx, -dy, 50 - dz] });
  it("as much as it stands beside, not more", () => {
    const deep = (run: Run, depth: number, f = slipped) => told(run, [{ move: 0, solid: jaw, depth }], f).length;
    // Where the offset is not told, or that is switched off, what the tool meets is the only thing that is.
    expect(deep(beside(5), 3, two)).toBe(1);
    expect(deep(beside(5), 3, { ...slipped, levels: new Map([["offset-value", "off"]]) })).toBe(1);
    expect(deep(beside(5), 3, { ...slipped, stored: new Map([["G55", slip]]) })).toBe(1);
    expect(deep(beside(5), 3, { ...slipped, stored: new Map([["G54", slip]]) })).toBe(0);
    expect(deep(beside(5), 3)).toBe(0);
    expect(deep(beside(5), 3.0005)).toBe(0);
    expect(deep(beside(5), 3.002)).toBe(1);
    expect(deep(beside(-5), 3)).toBe(0);
    expect(deep(beside(0.02), 1)).toBe(1);
    expect(deep(beside(3, 4), 3)).toBe(0);
    expect(deep(beside(0, 0, 5), 3)).toBe(0);
    // 1 mm where 2 mm must be kept is 1 mm too near.
    const near = (run: Run) => told(run, [{ move: 0, solid: jaw, distance: 1 }], slipped).length;
    expect(near(beside(1.2))).toBe(0);
    expect(near(beside(0.8))).toBe(1);
  });
  it("by hand: the way in space, 0 within the tolerance of each axis, unknown coordinates left out", () => {
    const d = (run: Run, f = two) => offsetDeviation(f, run.moves[0] as Move);
    expect(d(beside(3, 4))).toBeCloseTo(5, 9);
    expect(d(beside(2, 3, 6))).toBeCloseTo(7, 9);
    expect(d(beside(0.02, 0.02, 0.05))).toBe(0);
    expect(d(beside(0.03))).toBeCloseTo(0.03, 9);
    expect(d(beside(0, 0.03))).toBeCloseTo(0.03, 9);
    expect(d(beside(0, 0, 0.06))).toBeCloseTo(0.06, 9);
    expect(d(path({ from: [NAN, NAN, NAN], partFrom: [NAN, NAN, NAN], to: [5, 0, 0], partTo: [0, 0, 0] }))).toBeCloseTo(5, 9);
    expect(d(path({ from: [NAN, 0, 0], partFrom: [NAN, 0, 0], to: [NAN, 0, 0], partTo: [NAN, 0, 0] }))).toBe(0);
    expect(d({ ...beside(5), moves: [{ ...(beside(5).moves[0] as Move), station: -1 }] })).toBe(0);
  });
  it("the height that a rapid brings from the visit before; not across a tool change, not for a cut", () => {
    const run = path(
      { from: [0, 0, 50], partFrom: [0, 0, 45], to: [9, 0, 50], partTo: [9, 0, 45] },
      { to: [150, 0, 50], station: 1, visit: 1 },
    );
    const visits = [{ ...(aVisit as NonNullable<typeof aVisit>), index: 0, firstMove: 0, endMove: 1 }];
    const now = run.moves[1] as Move;
    expect(broughtDeviation(two, { ...run, visits }, now)).toBeCloseTo(5, 9);
    expect(broughtDeviation(two, { ...run, visits }, { ...now, kind: "feed" })).toBe(0);
    expect(broughtDeviation(two, { ...run, visits }, { ...now, modal: modal({ toolStep: 4 }) })).toBe(0);
    expect(broughtDeviation(two, { ...run, visits }, { ...now, visit: 0 })).toBe(0);
    expect(told({ ...run, visits }, [{ move: 1, solid: jaw, depth: 2 }], slipped)).toEqual([]);
    expect(told({ ...run, visits }, [{ move: 1, solid: jaw, depth: 2 }])).toHaveLength(1);
    expect(told({ ...run, visits }, [{ move: 1, solid: jaw, depth: 4 }], slipped)).toHaveLength(1);
  });
});

describe("faces of a tombstone", () => {
  const rotary = { axis: "B", centre: [0, 0, 0], sense: 1, indexSeconds: undefined, inOffset: false } as const;
  const turned: Fixture = { ...two, machine: { ...two.machine, rotary: { ...rotary, centre: [0, 0, 0] } } };
  it("within the tolerance of the rotary; unknown angles are neither", () => {
    expect([0, 360, 0.005, -0.005, 0.006, 180, NAN].map((r) => faces(turned, A1, r))).toEqual([
      true,
      true,
      true,
      true,
      false,
      false,
      undefined,
    ]);
    expect(faces(two, A1, 90)).toBe(true);
  });
  it("a rapid at a station that looks away is told by another rule", () => {
    const at = (rotaryTo: number) => path({ to: [40, 10, 100], rotaryTo, rotaryFrom: rotaryTo });
    expect(told(at(0), [{ move: 0, solid: post, depth: 1 }], turned)).toHaveLength(1);
    expect(told(at(180), [{ move: 0, solid: post, depth: 1 }], turned)).toEqual([]);
    expect(told(at(NAN), [{ move: 0, solid: post, depth: 1 }], turned)).toHaveLength(1);
  });
});

describe("from an unknown place: the end is certain", () => {
  const why = new Map([[0, "why.start"]]);
  const arrive = (to: Move["to"], change: Change = {}) =>
    path({ from: [NAN, NAN, NAN], to, partFrom: [NAN, NAN, NAN], partTo: to, ...change });
  it("a line with no width that ends in or near a clamp, a base, an obstacle", () => {
    expect(told(arrive([10, -10, -20]), [], two, why)).toEqual(["0 clamp-rapid fixed jaw1 in"]);
    expect(told(arrive([10, -10, -8.5]), [], two, why)).toEqual(["0 clamp-rapid fixed jaw1"]);
    expect(told(arrive([10, -10, -7.9]), [], two, why)).toEqual([]);
    const posted = fixture({ bases: [], stations: [A1, A2], obstacles: [post] });
    expect(told(arrive([310, 10, 0]), [], posted, why)).toEqual(["0 clamp-rapid probe in"]);
    expect(told(arrive([160, -10, -20]), [], two, why)).toEqual(["0 clamp-rapid fixed jaw2 in"]);
    // Nothing that is not among the moves left unchecked, and none whose way is known.
    expect(told(arrive([10, -10, -20]), [], two)).toEqual([]);
    expect(told(path({ to: [10, -10, -20] }), [], two, why)).toEqual([]);
    expect(told(arrive([10, NAN, -20]), [], two, why)).toEqual([]);
    expect(told(arrive([10, -10, -20], { kind: "dwell" }), [], two, why)).toEqual([]);
    expect(told(arrive([10, -10, -20], { kind: "index" }), [], two, why)).toEqual([]);
  });
  it("at an angle of the work that is known", () => {
    const rotary = { axis: "B", centre: [0, 0, 0], sense: 1, indexSeconds: undefined, inOffset: false } as const;
    const turned: Fixture = { ...two, machine: { ...two.machine, rotary: { ...rotary, centre: [0, 0, 0] } } };
    const at = (rotaryTo: number) => arrive([10, -10, -20], { rotaryTo, rotaryFrom: rotaryTo });
    expect(told(at(0), [], turned, why)).toEqual(["0 clamp-rapid fixed jaw1 in"]);
    expect(told(at(NAN), [], turned, why)).toEqual([]);
  });
  it("an empty station has its jaws but no stock", () => {
    const empty = fixture({ bases: [], stations: [A1, { ...A2, empty: true }] });
    expect(told(arrive([160, 20, -5]), [], two, why)).toEqual(["0 clamp-rapid stock2 in"]);
    expect(told(arrive([160, 20, -5]), [], empty, why)).toEqual([]);
    expect(told(arrive([160, -10, -20]), [], empty, why)).toEqual(["0 clamp-rapid fixed jaw2 in"]);
  });
  it("with the tool's own parts: the holder over the jaw", () => {
    const stack = [
      { part: "cutting", bottomRadius: 5, topRadius: 5, from: 0, to: 20 },
      { part: "holder", bottomRadius: 20, topRadius: 20, from: 20, to: 60 },
    ];
    const f = fixture({ bases: [], stations: [{ ...A1, solids: [jaw] }], tools: new Map([[1, { stack } as never]]) });
    // The tip is 19 mm below the jaw's top and 15 beside it: the cutter is 10 away, the holder 1 above.
    expect(judged(arrive([30, 15, -29]), [], f, why)[0]).toMatchObject({ part: "holder", distance: expect.closeTo(1, 6) });
    expect(judged(arrive([30, 15, -26.5]), [], f, why)).toEqual([]);
  });
});

describe("the same fault at several stations", () => {
  const one = (change: Partial<Incident>, run = path({ to: [40.004, 10, NAN], m: { tool: 3 } })) =>
    causeOf(run, {
      rule: "clamp-rapid",
      move: 0,
      solid: jaw,
      part: "cutting",
      distance: 1,
      depth: 0,
      at: [0, 0, 0],
      enters: false,
      again: false,
      tooHigh: false,
      clearance: 2,
      follows: false,
      ...change,
    });
  it("is known by rule, tool, kind of solid, whose it is, and the place in the part", () => {
    expect(one({})).toBe("clamp-rapid|3|fixed jaw|own|4000,1000,?");
    expect(one({ solid: jaw2 })).toBe("clamp-rapid|3|fixed jaw|other|4000,1000,?");
    expect(one({ solid: post, rule: "clamp-cut" })).toBe("clamp-cut|3|probe|fixed|4000,1000,?");
    expect(one({ solid: plate })).toBe("clamp-rapid|3|base|fixed|4000,1000,?");
    expect(one({ move: 9 })).toBe("9");
  });
});

describe("what is left of the stock", () => {
  const stack = [
    { part: "cutting", bottomRadius: 5, topRadius: 5, from: 0, to: 20 },
    { part: "holder", bottomRadius: 20, topRadius: 20, from: 20, to: 60 },
  ];
  const known = fixture({ bases: [], stations: [A1, A2], tools: new Map([[1, { stack, DC: 10 } as never]]) });
  /** A slot 10 wide and 5 deep along Y 20, from outside; then up, across and on. */
  const slot = (...more: Change[]): Run => path({ to: [-10, 20, -5] }, { kind: "feed", to: [50, 20, -5] }, ...more);
  it("a rapid back through the slot meets nothing, one beside it does", () => {
    expect(told(slot({ to: [0, 20, -5] }), [{ move: 2, solid: stock, depth: 5 }], known)).toEqual([]);
    expect(told(slot({ to: [50, 30, 5] }, { to: [0, 30, -5] }), [{ move: 3, solid: stock, depth: 5 }], known)).toEqual([
      "3 stock-rapid stock1 in",
    ]);
    expect(told(slot({ to: [0, 20, -6] }), [{ move: 2, solid: stock, depth: 6 }], known)).toEqual(["2 stock-rapid stock1 in"]);
  });
  it("a neighbour that comes back through the slot stands beside its walls, not in them", () => {
    const back = slot({ to: [0, 20, -5], station: 1, visit: 1 });
    expect(told(back, [{ move: 2, solid: stock, depth: 5 }], known)).toEqual(["2 clamp-rapid stock1"]);
  });
  it("before the cut is made it is all there", () => {
    const early = path({ to: [0, 20, 5] }, { to: [0, 20, -4] }, { kind: "feed", to: [50, 20, -4] });
    expect(told(early, [{ move: 1, solid: stock, depth: 4 }], known)).toEqual(["1 stock-rapid stock1 in"]);
  });
  it("the holder, after the move's own cut", () => {
    const deep = (z: number) => path({ to: [-60, 20, z] }, { kind: "feed", to: [30, 20, z] });
    const holder: Near = { move: 1, solid: stock, depth: 1, part: "holder" };
    expect(told(deep(-25), [holder], known)).toEqual(["1 holder-reach stock1 in"]);
    expect(told(deep(-20), [holder], known)).toEqual([]);
    expect(told(deep(-19), [holder], known)).toEqual([]);
    expect(told(deep(-25), [{ ...holder, distance: 0.1, depth: 0 }], known)).toEqual([]);
  });
  it("a tool of no known width has cut: the own stock is not judged, a neighbour's as if it were whole", () => {
    const later = (station: number, change: Change = {}): Run =>
      slot({ to: [50, 20, 50] }, { to: [0, 30, 50], station, visit: 1, ...change });
    expect(told(later(0), [{ move: 3, solid: stock, depth: 5 }])).toEqual([]);
    expect(told(later(1), [{ move: 3, solid: stock, depth: 5 }])).toEqual(["3 clamp-rapid stock1 in"]);
    expect(judged(later(1), [{ move: 3, solid: stock, distance: 1.5 }])[0]).toMatchObject({
      rule: "clamp-rapid",
      distance: 1.5,
      depth: 0,
      enters: false,
      clearance: 2,
      move: 3,
    });
    expect(told(later(1), [{ move: 3, solid: stock, distance: 1.9995 }])).toEqual([]);
    // What the offset beside its station may explain is not told.
    const aside = later(1, { partFrom: [45, 20, 50], partTo: [-5, 30, 50] });
    expect(told(aside, [{ move: 3, solid: stock, distance: 1.5 }], slipped)).toEqual([]);
    expect(told(aside, [{ move: 3, solid: stock, distance: 1.5 }])).toHaveLength(1);
  });
});

describe("once for all rules", () => {
  it("the same answer for the same clearances, nothing without a sidecar or clearances", () => {
    const all: Contact[] = [{ move: 0, solid: jaw2, distance: 1, depth: 0, at: [0, 0, 0], part: "cutting", atStart: false }];
    const clearances = { contacts: all, contactsOf: () => all, least: () => [], unchecked: new Map<number, string>() };
    const subject = {
      run: ACROSS,
      fixture: two,
      profile,
      clearances,
      blockSkip: false,
      skippedRun: undefined,
      entry: "main" as const,
      notes: [],
    };
    const ask = (change: object) => {
      const it = incidentsOf(
        createContext(rule as NonNullable<typeof rule>, { ...subject, ...change }, { reports: [], notChecked: [] }, () => undefined),
      );
      for (;;) {
        const next = it.next();
        if (next.done === true) return next.value;
      }
    };
    expect(ask({})).toHaveLength(1);
    expect(ask({})).toBe(ask({}));
    expect(ask({ fixture: undefined })).toEqual([]);
    expect(ask({ clearances: undefined })).toEqual([]);
  });
});
