/**
 * What is one fault and what is told again, of a tool that meets the same solid several times: contacts written by hand, judged as the
 * contract's rulings 8, 9, 28, 41 and 44 and "one cause, one finding" say. Clearances 2 mm (rapid) and 0.5 mm (cut). The fixed jaw
 * of A1 reaches from Y-40 to Y0 and from Z-40 to Z-10. Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { createContext, type RawReport } from "../../server/src/engine/checks/context.js";
import { type Incident, type IncidentRule, incidentsOf } from "../../server/src/engine/checks/lib/incidents.js";
import { reportIncidents } from "../../server/src/engine/checks/lib/speak.js";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import type { Contact } from "../../server/src/engine/checks/rule.js";
import type { Fixture } from "../../server/src/engine/fixture/model.js";
import type { Modal, Move } from "../../server/src/engine/machine/move.js";
import type { Run, Step } from "../../server/src/engine/machine/run.js";
import { fixture, modal, move, profile, run as sample, solid, station } from "../support/analysis.js";

const NAN = Number.NaN;
const [rule] = rules;
const [aStep] = sample.steps;
if (rule === undefined || aStep === undefined) throw new Error("rules and steps");

const jaw = solid("fixed jaw", "fixed jaw", 0, [0, -40, -40], [60, 0, -10]);
const soft = { ...solid("moving jaw", "moving jaw", 0, [0, 41, -40], [60, 90, -13]), machinable: true };
const jaw2 = solid("fixed jaw", "fixed jaw", 1, [150, -40, -40], [210, 0, -10]);
const stock = solid("stock", "stock", 0, [0, 0, -30], [60, 41, 0]);
const stock2 = solid("stock", "stock", 1, [150, 0, -30], [210, 41, 0]);
const plate = solid("base", "plate", -1, [-50, -50, -95], [400, 300, -55]);
const rear = { ...solid("base", "rear plate", -1, [-50, -50, -95], [400, 300, -55]), base: "rear" };
const origin = { X: 0, Y: 0, Z: 0, rotary: undefined };
const A1 = station({ computed: origin, solids: [jaw, soft, stock], stock: { from: [0, 0, -30], to: [60, 41, 0] } });
const A2 = station({
  index: 1,
  id: "A2",
  offset: "G55",
  computed: origin,
  solids: [jaw2, stock2],
  stock: { from: [150, 0, -30], to: [210, 41, 0] },
});
const two = fixture({ bases: [], stations: [A1, A2] });
const stack = [
  { part: "cutting", bottomRadius: 5, topRadius: 5, from: 0, to: 20 },
  { part: "holder", bottomRadius: 20, topRadius: 20, from: 20, to: 60 },
];
const described = fixture({ bases: [], stations: [A1, A2], tools: new Map([[1, { stack, DC: 10 } as never]]) });

type Change = Partial<Omit<Move, "modal">> & { readonly m?: Partial<Modal> };
type Near = Partial<Contact> & Pick<Contact, "move" | "solid">;

/** Moves at A1, each from where the one before ended and each in a block of its own unless it names one. */
function path(...changes: readonly Change[]): Run {
  let at: Move["to"] = [10, 10, 100];
  let state: Partial<Modal> = { length: 49, tool: 1, toolStep: 0, offset: "G54", offsetStep: 0 };
  const moves = changes.map(({ m, ...c }, n) => {
    state = { ...state, ...m };
    const to = c.to ?? at;
    const made = move({ from: at, to, partFrom: c.from ?? at, partTo: to, station: 0, visit: 0, step: n, ...c, modal: modal(state) });
    at = to;
    return made;
  });
  const steps = moves.map((_, n): Step => {
    const own = moves.flatMap((m, i) => (m.step === n ? [i] : []));
    const first = own[0] ?? n;
    const block = { ...(aStep as Step).block, line: n };
    return { ...(aStep as Step), block, firstMove: first, endMove: (own.at(-1) ?? first - 1) + 1 };
  });
  return { ...sample, steps, moves, visits: [] };
}

function context(run: Run, contacts: readonly Near[], f: Fixture) {
  const all = contacts.map(
    (c): Contact => ({ distance: 0, depth: 0, at: run.moves[c.move]?.to ?? [0, 0, 0], part: "cutting", atStart: false, ...c }),
  );
  const clearances = {
    contacts: all,
    contactsOf: (i: number) => all.filter((c) => c.move === i),
    least: () => [],
    unchecked: new Map<number, string>(),
  };
  const subject = { run, fixture: f, profile, clearances, blockSkip: false, skippedRun: undefined, entry: "main" as const, notes: [] };
  const out = { reports: [] as RawReport[], notChecked: [] };
  return { cx: createContext(rule as NonNullable<typeof rule>, subject, out, () => undefined), out };
}

function judged(run: Run, contacts: readonly Near[], f: Fixture = two): readonly Incident[] {
  const work = incidentsOf(context(run, contacts, f).cx);
  for (;;) {
    const next = work.next();
    if (next.done === true) return next.value;
  }
}

const told = (...args: Parameters<typeof judged>): string[] =>
  judged(...args).map((i) => `${i.move} ${i.rule}${i.enters ? " in" : ""}${i.follows ? " follows" : ""}${i.again ? " again" : ""}`);

const IN = { depth: 1 };

describe("in, out, and in again", () => {
  /** Two moves that both go into the jaw, the second from where the first ends. */
  const twice = (first: Change, second: Change, f?: Fixture): string | undefined =>
    told(
      path(first, second),
      [
        { move: 0, solid: jaw, ...IN },
        { move: 1, solid: jaw, ...IN },
      ],
      f,
    )[1];
  it("by another block from outside: told again; from inside, or by the same block, it goes on", () => {
    const feed = { kind: "feed" } as const;
    expect(twice({ ...feed, to: [20, 10, 5] }, { ...feed, to: [30, 10, 5] })).toBe("1 clamp-cut in again");
    expect(twice({ ...feed, to: [20, 10, 5], step: 0 }, { ...feed, to: [30, 10, 5], step: 0 })).toBe("1 clamp-cut in follows");
    expect(twice({ ...feed, to: [20, -10, -20] }, { ...feed, to: [30, -10, -20] })).toBe("1 clamp-cut in follows");
    // On top of it is not outside; a trace above it is.
    expect(twice({ ...feed, to: [20, -10, -10] }, { ...feed, to: [30, -10, -20] })).toBe("1 clamp-cut in follows");
    expect(twice({ ...feed, to: [20, -10, -9.9995] }, { ...feed, to: [30, -10, -20] })).toBe("1 clamp-cut in again");
    expect(twice({ ...feed, to: [20, 10, 5] }, { ...feed, from: [NAN, 10, 5], to: [30, 10, 5] })).toBe("1 clamp-cut in follows");
    // Rapids alike.
    expect(twice({ to: [20, 10, 5] }, { to: [30, 10, 5] })).toBe("1 clamp-rapid in again");
  });
  it("outside with every part of the tool: the holder, 20 up and 20 in radius, stands 1 above the jaw or 1 in it", () => {
    const at = (z: number) => twice({ kind: "feed", to: [30, 15, z] }, { kind: "feed", to: [40, 15, z] }, described);
    expect([at(-29), at(-31)]).toEqual(["1 clamp-cut in again", "1 clamp-cut in follows"]);
  });
  it("as the work stood where the move began", () => {
    const rotary = { axis: "B", centre: [0, 0, 0], sense: 1, indexSeconds: undefined, inOffset: false } as const;
    const base = { ...A1.base, body: solid("base", "plate", -1, [500, 500, -40], [501, 501, 0]) };
    const turned: Fixture = { ...two, bases: [base], machine: { ...two.machine, rotary: { ...rotary, centre: [0, 0, 0] } } };
    const from = (rotaryFrom: number) =>
      twice({ kind: "feed", to: [20, -10, -20], rotaryTo: 0 }, { kind: "feed", to: [30, -10, -20], rotaryFrom, rotaryTo: 0 }, turned);
    // Half a turn about Y takes the jaw to X-60 to 0 and Z10 to 40.
    expect([from(0), from(180)]).toEqual(["1 clamp-cut in follows", "1 clamp-cut in again"]);
  });
  it("down once more where it has just gone down is the same hole; beside it, or on a slant, it is none", () => {
    const holes = (first: Change[], ...second: Change[]): string | undefined => {
      const run = path({ to: [20, -10, 50] }, ...first, { to: [20, -10, 50] }, ...second);
      const down = first.length;
      const last = run.moves.length - 1;
      return told(run, [
        { move: down, solid: jaw, ...IN },
        { move: last, solid: jaw, ...IN },
      ])[1];
    };
    const down: Change = { kind: "feed", to: [20, -10, -15] };
    expect(holes([down], down)).toBe("3 clamp-cut in follows");
    expect(holes([down], { kind: "feed", to: [20, -10, -25] })).toBe("3 clamp-cut in follows");
    expect(holes([down], { to: [30, -10, 50] }, { kind: "feed", to: [30, -10, -15] })).toBe("4 clamp-cut in again");
    expect(holes([down], { to: [20, -20, 50] }, { kind: "feed", to: [20, -20, -15] })).toBe("4 clamp-cut in again");
    expect(holes([down], { to: [30, -10, 50] }, down)).toBe("4 clamp-cut in again");
    expect(holes([{ to: [30, -10, 50] }, down], down)).toBe("4 clamp-cut in again");
  });
  it("what it compares with is the last entry, not the first", () => {
    const at = (x: number, z: number): Change => ({ kind: "feed", to: [x, -10, z] });
    const row = (...holes: readonly (readonly [number, number])[]) => {
      const changes: Change[] = [];
      const downs: number[] = [];
      let x = 20;
      for (const [next, z] of holes) {
        changes.push({ to: [x, -10, 50] }, { to: [next, -10, 50] }, at(next, z));
        downs.push(changes.length - 1);
        x = next;
      }
      return told(
        path(...changes),
        downs.map((move): Near => ({ move, solid: jaw, ...IN })),
      ).map((t) => t.split(" ").at(-1));
    };
    expect(row([20, -15], [30, -15], [20, -15])).toEqual(["in", "again", "again"]);
    expect(row([20, -15], [30, -15], [30, -20])).toEqual(["in", "again", "follows"]);
    expect(row([20, -15], [20, -20], [20, -25])).toEqual(["in", "follows", "follows"]);
  });
  it("two sides of a tombstone, and two obstacles of one name, met by one move or by two", () => {
    const one = path({ kind: "feed", to: [20, 10, -60] }, { kind: "feed", to: [30, 10, -60] });
    expect(
      told(one, [
        { move: 0, solid: plate, ...IN },
        { move: 0, solid: rear, ...IN },
      ]),
    ).toEqual(["0 clamp-cut in", "0 clamp-cut in"]);
    const probe = (base: string) => ({ ...solid("obstacle", "probe", -1, [0, 0, -90], [60, 60, -50]), base });
    expect(
      told(one, [
        { move: 0, solid: probe("front"), ...IN },
        { move: 1, solid: probe("rear"), ...IN },
      ]),
    ).toEqual(["0 clamp-cut in", "1 clamp-cut in"]);
    const twin = probe("front");
    expect(
      told(one, [
        { move: 0, solid: twin, ...IN },
        { move: 1, solid: twin, ...IN },
      ]),
    ).toEqual(["0 clamp-cut in", "1 clamp-cut in follows"]);
  });
  it("only what goes in after it has been in: near is no entry", () => {
    const pair = (a: Partial<Near>, b: Partial<Near>) =>
      told(path({ to: [20, 10, 5] }, { to: [30, 10, 5] }), [
        { move: 0, solid: jaw, ...a },
        { move: 1, solid: jaw, ...b },
      ]);
    expect(pair({ distance: 1 }, IN)).toEqual(["0 clamp-rapid", "1 clamp-rapid in"]);
    expect(pair(IN, { distance: 1 })).toEqual(["0 clamp-rapid in", "1 clamp-rapid follows"]);
    expect(pair({ distance: 1 }, { distance: 1 })).toEqual(["0 clamp-rapid", "1 clamp-rapid follows"]);
  });
});

describe("a cut behind a rapid, a rapid behind a cut", () => {
  const behind = (solids: Contact["solid"], first: Change, second: Change, more: Partial<Near> = IN): string | undefined =>
    told(path(first, second), [
      { move: 0, solid: solids, ...IN },
      { move: 1, solid: solids, ...more },
    ])[1];
  it("a cut that begins where a rapid went in is a fault of its own, unless one block of a cycle does both", () => {
    expect(behind(jaw, { to: [20, 10, 5] }, { kind: "feed", to: [30, 10, 5] })).toBe("1 clamp-cut in");
    const cycle = (step: number, role: Move["role"]) =>
      behind(jaw, { to: [20, -10, -15], role: "cycle-approach", step: 0 }, { kind: "feed", role, to: [20, -10, -20], step });
    expect(cycle(0, "cycle-feed")).toBe("1 clamp-cut in follows");
    expect(cycle(1, "cycle-feed")).toBe("1 clamp-cut in");
    expect(cycle(0, "plain")).toBe("1 clamp-cut in");
  });
  it("a rapid on from a cut into a soft jaw is a fault of its own, back out of it is none", () => {
    const cut: Change = { kind: "feed", to: [20, 50, -20] };
    const on = (second: Change, more?: Partial<Near>) => behind(soft, cut, second, more);
    expect(on({ to: [30, 60, -20] })).toBe("1 clamp-rapid in");
    // Straight up; back along the cut, whole or part of the way; not beyond its beginning, which was X10 Y10 Z100.
    expect(on({ to: [20, 50, 50] })).toBe("1 clamp-rapid in follows");
    expect(on({ to: [10, 10, 100] })).toBe("1 clamp-rapid in follows");
    expect(on({ to: [15, 30, 40] })).toBe("1 clamp-rapid in follows");
    expect(on({ to: [5, -10, 160] })).toBe("1 clamp-rapid in");
    expect(on({ to: [20, 50, -25] })).toBe("1 clamp-rapid in");
    // Beside the line of the cut, 30 of 40 back in Y.
    expect(on({ to: [20, 20, 70] })).toBe("1 clamp-rapid in");
    // Away from a near cut it may go as it came; a hard jaw keeps the clearance of a cut.
    const away = (solids: Contact["solid"]) =>
      told(path(cut, { to: [30, 60, 50] }), [{ move: 1, solid: solids, distance: 0.3, atStart: true }]);
    expect([away(soft), away(jaw)]).toEqual([[], ["1 clamp-rapid"]]);
    // Into a hard one it only goes on.
    expect(behind(jaw, { kind: "feed", to: [20, -10, -20] }, { to: [30, -20, -20] })).toBe("1 clamp-rapid in follows");
    // Unless the cut is switched off, so that nobody tells of it.
    const off: Fixture = { ...two, levels: new Map([["clamp-cut", "off"]]) };
    const onward = path({ kind: "feed", to: [20, -10, -20] }, { to: [30, -20, -20] });
    const both: Near[] = [
      { move: 0, solid: jaw, ...IN },
      { move: 1, solid: jaw, ...IN },
    ];
    expect([told(onward, both)[1], told(onward, both, off)[1]]).toEqual(["1 clamp-rapid in follows", "1 clamp-rapid in"]);
    // A cut, a rapid on, a cut on: all of one fault.
    const three = path({ kind: "feed", to: [20, -10, -20] }, { to: [30, -10, -20] }, { kind: "feed", to: [40, -10, -20] });
    expect(told(three, [...both, { move: 2, solid: jaw, ...IN }])).toEqual([
      "0 clamp-cut in",
      "1 clamp-rapid in follows",
      "2 clamp-cut in follows",
    ]);
    // And so it does behind a rapid.
    expect(behind(soft, { to: [20, 50, -20] }, { to: [30, 60, -20] })).toBe("1 clamp-rapid in follows");
  });
});

describe("who speaks", () => {
  it("of a control that has the length always every first way down is an approach", () => {
    const control: Fixture = { ...two, machine: { ...two.machine, profile: { ...profile, lengthBy: "control" } } };
    const run = path({ to: [40, 10, 20] });
    expect(told(run, [{ move: 0, solid: jaw, distance: 1 }], control)).toEqual(["0 approach-low"]);
    expect(told(run, [{ move: 0, solid: jaw, distance: 1 }])).toEqual(["0 clamp-rapid"]);
  });
  it("at the clearance less the micrometre it is clear", () => {
    expect(told(path({ to: [100, 10, 100] }), [{ move: 0, solid: jaw2, distance: 1.999 }])).toEqual([]);
  });
  it("what is left of the stock is asked for in the order of the moves, however the contacts come", () => {
    const run = path({ to: [0, 20, 5] }, { to: [0, 20, -4] }, { kind: "feed", to: [50, 20, -4] }, { to: [0, 20, -4] });
    const late: Near = { move: 3, solid: stock, depth: 4 };
    const early: Near = { move: 1, solid: stock, depth: 4 };
    expect([told(run, [late, early], described), told(run, [early, late], described)]).toEqual([
      ["1 stock-rapid in"],
      ["1 stock-rapid in"],
    ]);
  });
  it("straight up out of the stock of the station that is left, though the offset is already the next one's", () => {
    const out = (change: Change, station = 0) =>
      told(path({ to: [30, 20, -3], kind: "feed", station }, { to: [30, 20, 50], station: 1, ...change }), [
        { move: 1, solid: stock, depth: 3 },
      ]);
    expect(out({})).toEqual([]);
    expect(out({ to: [30, 20, -9] })).toEqual(["1 clamp-rapid in"]);
    expect(out({ to: [31, 20, 50] })).toEqual(["1 clamp-rapid in"]);
    expect(out({ to: [30, 21, 50] })).toEqual(["1 clamp-rapid in"]);
    expect(out({}, 1)).toEqual(["1 clamp-rapid in"]);
  });
  it("down is no way out, wherever it is nearest", () => {
    const down = path({ to: [10, 10, 5] }, { to: [10, 10, -30] });
    expect(told(down, [{ move: 1, solid: jaw, distance: 0.6, at: [10, 10, 5] }])).toEqual(["1 clamp-rapid"]);
  });
  it("back into a hole: from the very first move on, and only behind a feed of the same block", () => {
    const hole = (first: Change) =>
      told(path({ to: [20, 20, -5], step: 0, ...first }, { to: [20, 20, -4], role: "cycle-approach", step: 0 }), [
        { move: 1, solid: jaw, distance: 0.6 },
      ]);
    expect(hole({ role: "cycle-feed", kind: "feed" })).toEqual([]);
    expect(hole({ role: "cycle-retract" })).toEqual(["1 clamp-rapid"]);
    expect(hole({ role: "cycle-traverse" })).toEqual(["1 clamp-rapid"]);
  });
  it("a cut into a hard jaw is that fault, and not the holder that goes into something with it", () => {
    const cut = path({ kind: "feed", to: [20, 10, 5] });
    const holder: Near = { move: 0, solid: jaw2, depth: 1, part: "holder" };
    expect(told(cut, [{ move: 0, solid: jaw, ...IN }, holder])).toEqual(["0 clamp-cut in"]);
    expect(told(cut, [{ move: 0, solid: soft, ...IN }, holder])).toEqual(["0 clamp-cut in", "0 holder-reach in"]);
  });
  it("the holder that comes near on the way across to its hole is told, in X as in Y, and by any other rule too", () => {
    const short = (at: number): Near => ({ move: at, solid: jaw, depth: 1, part: "holder" });
    for (const from of [
      [10, 20, 2],
      [20, 10, 2],
    ] as const) {
      const run = path({ to: [...from] }, { to: [20, 20, 2] }, { kind: "feed", to: [20, 20, -30] });
      expect(told(run, [{ move: 1, solid: soft, distance: 1, part: "holder" }, short(2)])).toEqual(["1 clamp-rapid", "2 holder-reach in"]);
    }
    const first = path({ from: [20, 20, 100], to: [20, 20, 2], m: { length: 43 } }, { kind: "feed", to: [20, 20, -30] });
    expect(told(first, [{ move: 0, solid: stock2, distance: 1, part: "holder" }, short(1)])).toEqual([
      "0 approach-low",
      "1 holder-reach in",
    ]);
  });
  it("a near pass just before a cut goes in follows from it, also behind an earlier cut into something else", () => {
    const cuts = path(
      { kind: "feed", to: [20, 10, 5] },
      { kind: "feed", to: [25, 10, 5] },
      { kind: "feed", to: [30, 10, 5] },
      { kind: "feed", to: [40, 10, 5] },
    );
    expect(
      told(cuts, [
        { move: 0, solid: jaw2, ...IN },
        { move: 2, solid: jaw, distance: 0.2 },
        { move: 3, solid: jaw, ...IN },
      ]),
    ).toEqual(["0 neighbour-cut in", "2 clamp-near follows", "3 clamp-cut in"]);
    // Into something else first; four moves on, and five.
    expect(
      told(cuts, [
        { move: 1, solid: jaw, distance: 0.2 },
        { move: 2, solid: soft, ...IN },
        { move: 3, solid: jaw, ...IN },
      ])[0],
    ).toBe("1 clamp-near follows");
    const later = (n: number) => {
      const run = path(...Array.from({ length: n + 1 }, (_, k): Change => ({ kind: "feed", to: [20 + k, 10, 5] })));
      return told(run, [
        { move: 0, solid: jaw, distance: 0.2 },
        { move: n, solid: jaw, ...IN },
      ])[0];
    };
    expect([later(4), later(5)]).toEqual(["0 clamp-near follows", "0 clamp-near"]);
  });
});

describe("one finding for a block, one cause for what goes on", () => {
  interface Said {
    readonly line: number;
    readonly solid: unknown;
    readonly depth: unknown;
    readonly distance: unknown;
    readonly cause: string | undefined;
    readonly related: string | undefined;
  }
  const said = (id: IncidentRule, run: Run, contacts: readonly Near[], f: Fixture = two): Said[] => {
    const { cx, out } = context(run, contacts, f);
    const work = reportIncidents(cx, id, () => ({}));
    while (work.next().done !== true);
    return out.reports.map(({ report: r }) => ({
      line: r.at.range.line,
      solid: r.data?.solid,
      depth: r.data?.depth,
      distance: r.data?.distance,
      cause: r.cause,
      related: r.relatedKey,
    }));
  };
  const block = (...changes: Change[]) => path(...changes.map((c) => ({ ...c, step: 0 })));
  it("as deep as the block goes, or as near as it comes; the way straight up does not count", () => {
    const depths = (second: Change, a: Partial<Near>, b: Partial<Near>, solids: Contact["solid"] = jaw) =>
      said("clamp-rapid", block({ to: [20, -10, -20] }, second), [
        { move: 0, solid: jaw, ...a },
        { move: 1, solid: solids, ...b },
      ]).map((s) => [s.line, s.solid, s.depth, s.distance]);
    const on: Change = { to: [30, -10, -20] };
    expect(depths(on, { depth: 1 }, { depth: 3 })).toEqual([[0, "fixed jaw", 3, 0]]);
    expect(depths(on, { depth: 3 }, { depth: 1 })).toEqual([[0, "fixed jaw", 3, 0]]);
    expect(depths(on, { distance: 1.5 }, { distance: 1 })).toEqual([[0, "fixed jaw", 0, 1]]);
    expect(depths(on, { distance: 1 }, { distance: 1.5 })).toEqual([[0, "fixed jaw", 0, 1]]);
    expect(depths({ to: [20, -10, 50] }, { depth: 1 }, { depth: 3 })).toEqual([[0, "fixed jaw", 1, 0]]);
    expect(depths({ to: [21, -10, 50] }, { depth: 1 }, { depth: 3 })).toEqual([[0, "fixed jaw", 3, 0]]);
    expect(depths({ to: [20, -10, -30] }, { depth: 1 }, { depth: 3 })).toEqual([[0, "fixed jaw", 3, 0]]);
    // Another solid on the same way: the first speaks.
    expect(depths(on, { depth: 1 }, { depth: 3 }, soft)).toEqual([[0, "fixed jaw", 1, 0]]);
    // A feed straight up is no way out at rapid.
    const fed = said("clamp-cut", block({ kind: "feed", to: [20, -10, -20] }, { kind: "feed", to: [20, -10, 50] }), [
      { move: 0, solid: jaw, depth: 1 },
      { move: 1, solid: jaw, depth: 3 },
    ]);
    expect(fed.map((s) => s.depth)).toEqual([3]);
  });
  it("a hard jaw speaks before a soft one that may be cut", () => {
    const cut = (...solids: Contact["solid"][]) =>
      said(
        "clamp-cut",
        block(...solids.map((_, n): Change => ({ kind: "feed", to: [20 + n, 10, 5] }))),
        solids.map((s, move): Near => ({ move, solid: s, depth: 1 })),
      ).map((s) => s.solid);
    expect([cut(soft, jaw), cut(jaw, soft), cut(soft, soft)]).toEqual([["fixed jaw"], ["fixed jaw"], ["moving jaw"]]);
    // A rapid may go into neither.
    const rapids = said("clamp-rapid", block({ to: [20, 10, 5] }, { to: [30, 10, 5] }), [
      { move: 0, solid: soft, depth: 1 },
      { move: 1, solid: jaw, depth: 1 },
    ]);
    expect(rapids.map((s) => s.solid)).toEqual(["moving jaw"]);
  });
  it("what follows is not told; what goes in again at once, or in the next block that moves, has the same cause", () => {
    const causes = (run: Run, ...contacts: Near[]) => said("clamp-rapid", run, contacts).map((s) => [s.line, s.cause, s.related]);
    const inside = causes(
      path({ to: [20, -10, -20] }, { to: [30, -10, -20] }),
      { move: 0, solid: jaw, ...IN },
      { move: 1, solid: jaw, ...IN },
    );
    expect(inside).toHaveLength(1);
    const row = path({ to: [20, 10, 5] }, { to: [30, 10, 5] }, { to: [40, 10, 5] });
    const [first] = causes(row, { move: 0, solid: jaw, ...IN });
    const cause = first?.[1];
    expect(cause).toBe("clamp-rapid|1|fixed jaw|own|2000,1000,500");
    expect(causes(row, { move: 0, solid: jaw, ...IN }, { move: 1, solid: jaw, ...IN }, { move: 2, solid: jaw, ...IN })).toEqual([
      [0, cause, "related.also-at"],
      [1, cause, "related.also"],
      [2, cause, "related.also"],
    ]);
    // Near, and in by the next block: one cause. With a block between that meets nothing, into another solid, on another visit: two.
    const distinct = (...args: Parameters<typeof causes>) => new Set(causes(...args).map((c) => c[1])).size;
    const near: Near = { move: 0, solid: jaw, distance: 1 };
    expect(distinct(row, near, { move: 1, solid: jaw, ...IN })).toBe(1);
    expect(distinct(row, near, { move: 2, solid: jaw, ...IN })).toBe(2);
    expect(distinct(row, near, { move: 1, solid: soft, ...IN })).toBe(2);
    const other = path({ to: [20, 10, 5] }, { to: [30, 10, 5], visit: 1 });
    expect(distinct(other, near, { move: 1, solid: jaw, ...IN })).toBe(2);
    // Again after a block between: one.
    expect(causes(row, { move: 0, solid: jaw, ...IN }, { move: 2, solid: jaw, ...IN }).map((c) => c[1])).toEqual([cause, cause]);
    const apart = causes(row, { move: 0, solid: plate, distance: 1 }, { move: 1, solid: jaw, ...IN }).map((c) => c[1]);
    expect(apart[1]).not.toBe(apart[0]);
    // The bodies of a tombstone's bases lie in each other.
    const bodies = causes(row, { move: 0, solid: plate, distance: 1 }, { move: 1, solid: rear, ...IN }).map((c) => c[1]);
    expect(bodies[1]).toBe(bodies[0]);
  });
});
