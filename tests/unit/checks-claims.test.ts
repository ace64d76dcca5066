/**
 * Which moves are the way from station to station, the first way down of a tool, the way from hole to hole; what one pass at a
 * station is; which siblings go without. Moves written by hand, each expectation worked out as at the machine. Asked for by
 * mutation testing.
 */
import { describe, expect, it } from "vitest";
import { approachesOf, claimsOf, traversesOf } from "../../server/src/engine/checks/lib/claims.js";
import { cutText, isCut, type Pass, passesOf } from "../../server/src/engine/checks/lib/passes.js";
import { repeats, skips, type Tally, type Unit } from "../../server/src/engine/checks/lib/tally.js";
import type { Modal, Move } from "../../server/src/engine/machine/move.js";
import type { Call, Run, Step } from "../../server/src/engine/machine/run.js";
import { fixture, modal, move, profile, run as sample, station } from "../support/analysis.js";

const NAN = Number.NaN;
const [firstStep] = sample.steps;
const [firstVisit] = sample.visits;
if (firstStep === undefined || firstVisit === undefined) throw new Error("the sample has a step and a visit");

type Change = Partial<Omit<Move, "modal">> & { readonly m?: Partial<Modal> };

/** A run of moves that each begin where the one before ended, unless they say otherwise; state goes on as well. */
function path(...changes: readonly Change[]): Run {
  let at: Move["to"] = [0, 0, 100];
  let state: Partial<Modal> = { length: 43, tool: 1, toolStep: 0, offset: "G54", offsetStep: 1 };
  const moves = changes.map(({ m, ...c }) => {
    state = { ...state, ...m };
    const to = c.to ?? at;
    const made = move({ from: at, to, partFrom: c.from ?? at, partTo: to, ...c, modal: modal(state) });
    at = to;
    return made;
  });
  return { ...sample, moves };
}
const G55: Partial<Modal> = { offset: "G55", offsetStep: 5 };
const G56: Partial<Modal> = { offset: "G56", offsetStep: 9 };

describe("the way from one station to the next", () => {
  const ways = (...c: readonly Change[]) => traversesOf(path(...c)).map((t) => [t.before, t.offsetStep, ...t.moves]);
  it("across and down: what moves X or Y after the change, up to the first way down", () => {
    expect(ways({ to: [0, 0, 50] }, { to: [150, 0, 50], m: G55 }, { to: [150, 0, 2] }, { to: [160, 0, 2] })).toEqual([[0, 5, 1]]);
    // In Y alone, and two ways across.
    expect(ways({ to: [0, 0, 50] }, { to: [0, 200, 50], m: G55 }, { to: [9, 200, 50] }, { to: [9, 200, 2] })).toEqual([[0, 5, 1, 2]]);
    // Down and across in one is the way, too.
    expect(ways({ to: [0, 0, 50] }, { to: [150, 0, 40], m: G55 }, { to: [160, 0, 40] })).toEqual([[0, 5, 1]]);
  });
  it("up first goes on; a way that stays in X and Y is none", () => {
    expect(ways({ to: [0, 0, 5] }, { to: [0, 0, 50], m: G55 }, { to: [150, 0, 50] })).toEqual([[0, 5, 2]]);
    expect(ways({ to: [0, 0, 50] }, { to: [0, 0, 2], m: G55 }, { to: [150, 0, 2] })).toEqual([]);
  });
  it("a feed across begins no longer way, one behind a rapid is no part of it", () => {
    expect(ways({ to: [0, 0, 50] }, { kind: "feed", to: [150, 0, 50], m: G55 }, { to: [160, 0, 50] })).toEqual([[0, 5, 1]]);
    expect(ways({ to: [0, 0, 50] }, { kind: "arc", to: [150, 0, 50], m: G55 })).toEqual([[0, 5, 1]]);
    expect(ways({ to: [0, 0, 50] }, { to: [150, 0, 50], m: G55 }, { kind: "feed", to: [160, 0, 50] }, { to: [170, 0, 50] })).toEqual([
      [0, 5, 1],
    ]);
    // Straight down in feed: there was no way across.
    expect(ways({ to: [0, 0, 50] }, { kind: "feed", to: [0, 0, -1], m: G55 }, { to: [9, 0, -1] })).toEqual([]);
  });
  it("a dwell is passed over, a turn ends it", () => {
    expect(ways({ to: [0, 0, 50] }, { kind: "dwell", m: G55 }, { to: [150, 0, 50] })).toEqual([[0, 5, 2]]);
    expect(ways({ to: [0, 0, 50] }, { to: [150, 0, 50], m: G55 }, { kind: "index" }, { to: [160, 0, 50] })).toEqual([[0, 5, 1]]);
    expect(ways({ to: [0, 0, 50] }, { kind: "index", m: G55 }, { to: [160, 0, 50] })).toEqual([]);
  });
  it("three stations are two ways, also without a move down between", () => {
    expect(ways({ to: [0, 0, 50] }, { to: [150, 0, 50], m: G55 }, { to: [300, 0, 50], m: G56 })).toEqual([
      [0, 5, 1],
      [1, 9, 2],
    ]);
    expect(ways({ to: [0, 0, 50] }, { to: [10, 0, 50] })).toEqual([]);
  });
  it("from an unknown height Z is taken to go down; an unknown place counts as moving", () => {
    expect(ways({ to: [0, 0, NAN] }, { to: [150, 0, 50], m: G55 }, { to: [160, 0, 50] })).toEqual([[0, 5, 1]]);
    expect(ways({ to: [0, 0, NAN] }, { to: [150, 0, NAN], m: G55 }, { to: [160, 0, NAN] })).toEqual([[0, 5, 1, 2]]);
    expect(ways({ to: [NAN, 0, 50] }, { to: [NAN, 0, 50], m: G55 })).toEqual([[0, 5, 1]]);
  });
  it("is kept for the next rule that asks", () => {
    const run = path({ to: [0, 0, 50] }, { to: [150, 0, 50], m: G55 });
    expect(traversesOf(run)).toBe(traversesOf(run));
  });
});

describe("the first way down of a tool", () => {
  const found = (always: boolean, ...c: readonly Change[]) => approachesOf(path(...c), always).map((a) => [a.tool, a.down, ...a.across]);
  const T2: Partial<Modal> = { tool: 2, toolStep: 7 };
  it("X and Y first, then down: only the way down", () => {
    expect(found(false, { to: [9, 9, 100] }, { to: [9, 9, 2] }, { to: [20, 9, 2] })).toEqual([[1, 1]]);
  });
  it("down first: the ways across at that level belong to it, up to the next move in Z or the first cut", () => {
    expect(found(false, { to: [0, 0, 50] }, { to: [9, 0, 50] }, { to: [9, 9, 50] }, { to: [9, 9, 2] }, { to: [0, 9, 2] })).toEqual([
      [1, 0, 1, 2],
    ]);
    expect(found(false, { to: [0, 0, 50] }, { to: [9, 0, 50] }, { kind: "feed", to: [9, 9, 50] }, { to: [0, 9, 50] })).toEqual([[1, 0, 1]]);
    expect(found(false, { to: [0, 0, 50] }, { kind: "arc", to: [9, 0, 50] }, { to: [9, 9, 50] })).toEqual([[1, 0]]);
    // A move that stands still between is none across.
    expect(found(false, { to: [0, 0, 50] }, {}, { to: [9, 0, 50] })).toEqual([[1, 0, 2]]);
  });
  it("each tool has one; dwells and turns are passed over", () => {
    expect(
      found(
        false,
        { to: [0, 0, 50] },
        { kind: "dwell" },
        { to: [9, 0, 50] },
        { to: [0, 0, 60], m: T2 },
        { kind: "index" },
        { to: [1, 0, 60] },
      ),
    ).toEqual([
      [1, 0, 2],
      [2, 3, 5],
    ]);
  });
  it("after a cut there is none, after the way home there is one again", () => {
    expect(found(false, { kind: "feed", to: [9, 0, 100] }, { to: [9, 0, 50] })).toEqual([]);
    expect(found(false, { to: [0, 0, 50] }, { role: "reference", to: [0, 0, 300] }, { to: [0, 0, 50] }, { to: [9, 0, 50] })).toEqual([
      [1, 0],
      [1, 2, 3],
    ]);
    expect(found(false, { to: [0, 0, 50] }, { role: "machine", to: [0, 0, 300] }, { to: [0, 0, 40] })).toEqual([
      [1, 0],
      [1, 2],
    ]);
    // Home in X and Y alone is no way up.
    expect(found(false, { to: [0, 0, 50] }, { role: "reference", to: [900, 0, 50] }, { to: [0, 0, 50] }, { to: [0, 0, 10] })).toEqual([
      [1, 0, 2],
    ]);
    // Home forgets that X and Y had been gone to.
    expect(found(false, { to: [9, 0, 100] }, { role: "reference", to: [9, 0, 300] }, { to: [9, 0, 50] }, { to: [0, 0, 50] })).toEqual([
      [1, 2, 3],
    ]);
  });
  it("needs the length compensation, unless the control has it always", () => {
    const G49: Partial<Modal> = { length: 49 };
    expect(found(false, { to: [0, 0, 50], m: G49 }, { to: [9, 0, 50] })).toEqual([]);
    expect(found(true, { to: [0, 0, 50], m: G49 }, { to: [9, 0, 50] })).toEqual([[1, 0, 1]]);
    expect(found(false, { to: [0, 0, 50], m: { length: 44 } })).toEqual([[1, 0]]);
  });
  it("the move must be a plain one and change Z; an unknown height changes", () => {
    expect(found(false, { role: "cycle-approach", to: [0, 0, 50] })).toEqual([]);
    expect(found(false, { role: "reference-through", to: [0, 0, 50] }, { to: [9, 0, 50] }, { to: [9, 0, 40] })).toEqual([[1, 2]]);
    expect(found(false, { from: [0, 0, NAN], to: [0, 0, 50] })).toEqual([[1, 0]]);
    expect(found(false, { to: [0, 0, 100 + 1e-10] })).toEqual([]);
    // Up is a first move in Z, too.
    expect(found(false, { to: [0, 0, 110] })).toEqual([[1, 0]]);
  });
});

describe("from hole to hole, and who speaks of what", () => {
  it("the traverse of a cycle behind another hole of the same tool at the same station", () => {
    const hole = (x: number, m?: Partial<Modal>): Change[] => [
      { role: "cycle-traverse", to: [x, 0, 50], ...(m === undefined ? {} : { m }) },
      { role: "cycle-feed", kind: "feed", to: [x, 0, -5] },
      { role: "cycle-retract", to: [x, 0, 50] },
    ];
    const holeToHole = (run: Run) => [...claimsOf(run, fixture())].filter(([, rule]) => rule === "retract-return-level").map(([i]) => i);
    expect(holeToHole(path({ to: [0, 0, 50] }, ...hole(10), ...hole(20)))).toEqual([4]);
    // The first of all, one behind a plain move, one at another station, one by another tool.
    expect(holeToHole(path(...hole(10)))).toEqual([]);
    expect(holeToHole(path(...hole(10), { to: [15, 0, 50] }, ...hole(20)))).toEqual([]);
    expect(holeToHole(path(...hole(10), ...hole(20, G55)))).toEqual([]);
    expect(holeToHole(path(...hole(10), ...hole(20, { toolStep: 8 })))).toEqual([]);
  });
  it("approach, intermediate point, hole to hole, station to station", () => {
    const run = path(
      { to: [0, 0, 50] },
      { to: [9, 0, 50] },
      { role: "cycle-feed", kind: "feed", to: [9, 0, -5] },
      { role: "cycle-traverse", to: [20, 0, 5] },
      { role: "reference-through", to: [30, 0, 5] },
      { role: "reference-through", to: [40, 0, 5], m: { absolute: false } },
      { role: "reference", to: [40, 0, 300] },
      { to: [150, 0, 300], m: { ...G55, absolute: true } },
      { role: "reference-through", to: [160, 0, 300] },
      { to: [170, 0, 2] },
    );
    expect([...claimsOf(run, fixture())].sort(([a], [b]) => a - b)).toEqual([
      [0, "approach-low"],
      [1, "approach-low"],
      [3, "retract-return-level"],
      [4, "return-through-point"],
      [7, "retract-before-offset"],
      [8, "return-through-point"],
      [9, "retract-before-offset"],
    ]);
  });
  it("a control that has the length always has its approach without G43", () => {
    const run = path({ to: [0, 0, 50], m: { length: 49 } });
    const by = (lengthBy: "control" | "program") => {
      const f = fixture();
      return [...claimsOf(run, { ...f, machine: { ...f.machine, profile: { ...profile, lengthBy } as typeof profile } })];
    };
    expect(by("control")).toEqual([[0, "approach-low"]]);
    expect([...claimsOf(run, fixture())]).toEqual([]);
  });
  it("a way from station to station in G91 through an intermediate point is the way's", () => {
    const run = path({ to: [0, 0, 50] }, { role: "reference-through", to: [150, 0, 50], m: { ...G55, absolute: false } });
    expect(claimsOf(run, fixture()).get(1)).toBe("retract-before-offset");
  });
});

describe("what a cut is, and as text", () => {
  const run = path(
    { to: [0, 0, 0] },
    { kind: "feed", to: [10.0004, -0.0004, -1] },
    { kind: "arc", sweep: -90, to: [20, 0, NAN] },
    { kind: "feed", role: "cycle-retract", to: [0, 0, 5] },
    { kind: "dwell" },
    { kind: "feed", from: [1, 2, 3], to: [4, 5, 6], m: { compensation: 41, d: 7 } },
    { kind: "feed", from: [1, 2, 3], to: [4, 5, 6], m: { compensation: 42, d: 7.5 } },
  );
  it("feeds and arcs, but not the feed out of a hole", () => {
    expect(run.moves.map((_, i) => isCut(run, i))).toEqual([false, true, true, false, false, true, true]);
    expect(isCut(run, 7)).toBe(false);
    expect(isCut(run, -1)).toBe(false);
  });
  it("to a micrometre, in the part's coordinates, with compensation and D", () => {
    expect([1, 2, 5, 6, 7].map((i) => cutText(run, i))).toEqual([
      "l(0,0,0,10000,0,-1000)",
      "a-90000(10000,0,-1000,20000,0,?)",
      "l(1000,2000,3000,4000,5000,6000)c41d7000",
      "l(1000,2000,3000,4000,5000,6000)c42d7500",
      "",
    ]);
  });
});

describe("one time through the work at a station", () => {
  const main: Call = { source: 0, program: 1, caller: -1, parent: undefined, depth: 0, kind: "main" };
  const call = (program: number, parent: Call = main): Call => ({
    ...main,
    program,
    parent,
    depth: parent.depth + 1,
    caller: 0,
    kind: "subprogram",
  });
  const step = (c: Call): Step => ({ ...(firstStep as Step), call: c });
  const drain = (r: Run, v = firstVisit): readonly Pass[] => {
    const it = passesOf(r, v as NonNullable<typeof firstVisit>);
    for (;;) {
      const next = it.next();
      if (next.done === true) return next.value;
    }
  };
  const visit = { ...firstVisit, index: 0, firstMove: 0, endMove: 8 };
  const cuts = (steps: readonly Step[], at: readonly (readonly [number, number])[]): Run => ({
    ...path(...at.map(([s, o], k): Change => ({ kind: "feed", step: s, visit: 0, to: [k + 1, 0, 0], m: { offsetStep: o } }))),
    steps,
  });
  it("beside the offset is one; each call is one; a call made by a call belongs to it", () => {
    const [a, b] = [call(100), call(100)];
    const inner = call(200, a);
    const steps = [step(main), step(main), step(a), step(inner), step(b)];
    const r = cuts(steps, [
      [1, 0],
      [2, 0],
      [3, 0],
      [2, 0],
      [4, 0],
      [1, 0],
    ]);
    expect(drain(r, visit).map((p) => [p.call?.program, ...p.cuts])).toEqual([
      [undefined, 0],
      [100, 1, 2, 3],
      [100, 4],
      [undefined, 5],
    ]);
    expect(drain(r, visit)[1]?.path).toBe("l(1000,0,0,2000,0,0);l(2000,0,0,3000,0,0);l(3000,0,0,4000,0,0)");
    expect(drain(r, visit)).toBe(drain(r, visit));
  });
  it("a statement of the offset begins another, also inside a call that states it itself", () => {
    const a = call(100);
    const steps = [step(main), step(a), step(a), step(main)];
    const r = cuts(steps, [
      [3, 0],
      [2, 1],
      [2, 1],
      [2, 2],
    ]);
    expect(drain(r, visit).map((p) => [p.call, p.offsetStep, ...p.cuts])).toEqual([
      [undefined, 0, 0],
      [undefined, 1, 1, 2],
      [undefined, 2, 3],
    ]);
  });
  it("an offset that a program called before has stated: the call below the main program counts", () => {
    const sets = call(900);
    const a = call(100);
    const inner = call(200, a);
    const steps = [step(sets), step(inner), step(main)];
    const r = cuts(steps, [
      [1, 0],
      [2, 0],
    ]);
    expect(drain(r, visit).map((p) => [p.call?.program, ...p.cuts])).toEqual([
      [100, 0],
      [undefined, 1],
    ]);
  });
  it("only cuts of the visit itself, within its moves", () => {
    const r = cuts(
      [step(main)],
      [
        [0, 0],
        [0, 0],
        [0, 0],
      ],
    );
    const moves = r.moves.map((m, i) => (i === 1 ? { ...m, visit: 7 } : m));
    expect(drain({ ...r, moves }, visit).map((p) => p.cuts)).toEqual([[0, 2]]);
    expect(drain({ ...r, moves: [...moves] }, { ...visit, firstMove: 1, endMove: 2 })).toEqual([]);
    expect(drain({ ...r, moves: moves.map((m) => ({ ...m, kind: "rapid" as const })) }, visit)).toEqual([]);
  });
});

describe("which sibling goes without", () => {
  const stations = [0, 1, 2, 3].map((index) => station({ index, id: `A${index + 1}`, offset: `G${54 + index}` }));
  /** What a tool does in order: "0a 1a" is path a at station 0 and at 1. A unit has one cut for each letter. */
  function tally(tool: number, work: string, change: { count?: number; strays?: number } = {}): Tally {
    const own = stations.slice(0, change.count ?? 4);
    const units = (work === "" ? [] : work.split(" ")).map((text, k): Unit => {
      const at = Number(text[0]);
      const pathText = text.slice(1);
      const pass: Pass = {
        visit: { ...(firstVisit as NonNullable<typeof firstVisit>), station: at },
        cuts: [k],
        offsetStep: k,
        call: undefined,
        texts: [pathText],
        path: pathText,
      };
      return { pass, first: k, at: 0, count: pathText.length, path: pathText, station: at, heads: true };
    });
    const byStation = new Map(own.map((s) => [s.index, units.filter((u) => u.station === s.index)]));
    const cuts = new Map(own.map((s) => [s.index, units.filter((u) => u.station === s.index).reduce((n, u) => n + u.count, 0)]));
    return { tool, siblings: { part: "bracket", op: "op10", stations: own }, units, byStation, cuts, strays: change.strays ?? 0 };
  }
  const again = (...all: Tally[]) => repeats(all).map((r) => `${r.unit.first} like ${r.other.first} instead of ${r.missing?.id ?? "-"}`);
  const left = (...all: Tally[]) => skips(all).map((s) => `T${s.tally.tool} ${s.station.id}`);

  it("all done once, twice, or one station alone: nothing", () => {
    for (const t of [tally(1, "0a 1a 2a 3a"), tally(1, "0a 0a 1a 1a 2a 2a 3a 3a"), tally(1, "0a 0a", { count: 1 })]) {
      expect(again(t)).toEqual([]);
      expect(left(t)).toEqual([]);
    }
  });
  it("the second where the third should be: it stands between its neighbours", () => {
    const t = tally(1, "0a 1a 1a 3a");
    expect(again(t)).toEqual(["2 like 1 instead of A3"]);
    // The repeat explains why A3 goes without.
    expect(left(t)).toEqual([]);
    expect(again(tally(1, "0a 2a 2a 3a"))).toEqual(["1 like 2 instead of A2"]);
    expect(again(tally(1, "3a 2a 2a 0a"))).toEqual(["2 like 1 instead of A2"]);
    expect(again(tally(1, "3a 1a 1a 0a"))).toEqual(["1 like 2 instead of A3"]);
  });
  it("the first and the last of the row", () => {
    expect(again(tally(1, "1a 1a 2a 3a"))).toEqual(["0 like 1 instead of A1"]);
    expect(again(tally(1, "0a 1a 2a 2a"))).toEqual(["3 like 2 instead of A4"]);
    expect(again(tally(1, "3a 2a 1a 1a"))).toEqual(["3 like 2 instead of A1"]);
    expect(again(tally(1, "2a 2a 1a 0a"))).toEqual(["0 like 1 instead of A4"]);
  });
  it("once too often with every sibling done: a repeat that nobody lacks", () => {
    expect(again(tally(1, "0a 1a 2a 2a 3a"))).toEqual(["3 like 2 instead of -"]);
    expect(left(tally(1, "0a 1a 2a 2a 3a"))).toEqual([]);
  });
  it("twice at one station is none where the paths differ: another pass", () => {
    expect(again(tally(1, "0a 1a 1b 3a"))).toEqual([]);
    expect(left(tally(1, "0a 1a 1b 3a"))).toEqual(["T1 A3"]);
  });
  it("three times at one, two go without", () => {
    expect(again(tally(1, "0a 0a 0a 3a"))).toHaveLength(2);
    expect(repeats([tally(1, "0a 0a 0a 3a")]).map((r) => r.missing?.id)).toEqual(["A2", "A3"]);
  });
  it("left out: one of four, two of four that others go to, not three of four", () => {
    expect(left(tally(1, "0a 1a 3a"))).toEqual(["T1 A3"]);
    expect(left(tally(1, "0a 1a"))).toEqual([]);
    expect(left(tally(1, "0a 1a"), tally(2, "0a 1a 2a"))).toEqual(["T1 A3", "T1 A4", "T2 A4"]);
    expect(left(tally(1, "0a"), tally(2, "0a 1a 2a 3a"))).toEqual([]);
    expect(left(tally(1, ""), tally(2, "0a 1a 2a 3a"))).toEqual([]);
  });
  it("of two: only where somebody goes to the other", () => {
    expect(left(tally(1, "0a", { count: 2 }))).toEqual([]);
    expect(left(tally(1, "0a", { count: 2 }), tally(2, "0b 1b", { count: 2 }))).toEqual(["T1 A2"]);
  });
  it("a tool that cut somewhere unknown as often is not said to have left any out", () => {
    expect(left(tally(1, "0a 1a 3a", { strays: 1 }))).toEqual([]);
    expect(left(tally(1, "0a 1a", { count: 3, strays: 1 }))).toEqual([]);
    expect(left(tally(1, "0a 1a", { strays: 1 }), tally(2, "0b 1b 2b 3b"))).toEqual(["T1 A3", "T1 A4"]);
  });
  it("done once where the others are done twice: one of the times is missing, if less is cut in all", () => {
    expect(left(tally(1, "0a 0b 1a 1b 2a 3a 3b"))).toEqual(["T1 A3"]);
    // Both passes in one go: as much is cut.
    expect(left(tally(1, "0a 0b 1a 1b 2ab 3a 3b"))).toEqual([]);
    // Half of them twice and half once is a plan.
    expect(left(tally(1, "0a 0b 1a 1b 2a 3a"))).toEqual([]);
  });
});
