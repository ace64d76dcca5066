import { describe, expect, it } from "vitest";
import type { Clearances } from "../../server/src/engine/checks/rule.js";
import { computeClearances } from "../../server/src/engine/clearances.js";
import { loadFixture } from "../../server/src/engine/fixture/load.js";
import type { Fixture } from "../../server/src/engine/fixture/model.js";
import { allSolids, solidAt } from "../../server/src/engine/fixture/solids.js";
import { gapLine } from "../../server/src/engine/geometry/sweep.js";
import type { Vec3 } from "../../server/src/engine/geometry/vector.js";
import type { Modal, Move } from "../../server/src/engine/machine/move.js";
import type { Run } from "../../server/src/engine/machine/run.js";
import { random } from "../support/solids.js";

/*
 * Expected distances are worked by hand from the solids of sidecar.md: with the base's zero at the machine datum, pitch 100 and
 * clamp +X, station A at [1, 1] has its frame at (100, 100, 0), u = +x, v = +y. So
 *   fixed jaw   x 75 … 115   y 70 … 130   z 0 … 45
 *   stock       x 115 … 156  y 70 … 130   z 25 … 55
 *   moving jaw  x 156 … 211  y 70 … 130   z 0 … 42   (open at notch 8: face at 15 + 20 + 8·3 = 59 → x 159 … 214)
 *   parallels   under the stock, z 0 … 25
 *   base        x −25 … 1025, y −25 … 525, z −40 … 0
 * and station B at [5, 1] the same, 400 farther along x.
 */
interface Options {
  readonly rapidPath?: string;
  readonly empty?: boolean;
  readonly tools?: boolean;
  readonly rotary?: boolean;
  readonly clearance?: string;
}

function fixtureOf(o: Options = {}): Fixture {
  const rotary = o.rotary ? `"rotary": { "axis": "B", "centre": { "X": 500, "Z": -300 }, "sense": 1 },` : "";
  const tools = `"tools": {
    "1": { "DC": 10, "APMX": 20, "LF": 100, "shank": { "D": 10, "L": 40 }, "holder": [ { "D": 40, "L": 30 }, { "D": 60, "L": 30 } ] },
    "2": { "DC": 10, "APMX": 40, "LF": 100, "SIG": 90, "shank": { "D": 10, "L": 60 } } },`;
  const text = `{ "format": 1, "units": "mm",
    "machine": { ${rotary} "rapid": { "X": 30000, "Y": 30000, "Z": 30000 }, "rapidPath": "${o.rapidPath ?? "straight"}" },
    ${o.clearance ?? ""}
    "bases": { "plate": { "pitch": 100, "columns": 11, "rows": 6, "zero": { "X": 0, "Y": 0, "Z": 0 }, "thickness": 40, "border": 25 } },
    "fixedJaws": { "f": { "face": 15, "length": 40, "width": 60, "height": 45 } },
    "movingJaws": { "m": { "gap": 20, "increment": 3, "stroke": 8, "notches": 40, "length": 55, "width": 60, "height": 42 } },
    "parts": { "p": { "ops": { "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" } } } } },
    ${o.tools === false ? "" : tools}
    "obstacles": [ { "name": "probe", "base": null, "box": { "from": [-200, 0, 0], "to": [-150, 50, 300] } } ],
    "stations": [
      { "id": "A", "base": "plate", "at": [1, 1], "clamp": "+X", "fixedJaw": "f", "movingJaw": "m", "notch": 8, "seat": 25, "part": "p", "op": "op10", "offset": "G54"${o.empty ? ', "empty": true' : ""} },
      { "id": "B", "base": "plate", "at": [5, 1], "clamp": "+X", "fixedJaw": "f", "movingJaw": "m", "notch": 8, "seat": 25, "part": "p", "op": "op10", "offset": "G55" }
    ] }`;
  const fixture = loadFixture({ read: (p) => (p === "/f/a.fixture.json" ? text : undefined), list: () => [] }, "/f/a.fixture.json");
  expect(fixture.usable, JSON.stringify(fixture.notes.map((n) => n.message))).toBe(true);
  return fixture;
}

const NaN3: Vec3 = [Number.NaN, Number.NaN, Number.NaN];

function modal(tool: number, motion: string): Modal {
  return {
    motion,
    plane: 17,
    units: "mm",
    absolute: true,
    feedMode: 94,
    compensation: 40,
    d: Number.NaN,
    length: 49,
    h: Number.NaN,
    offset: "G54",
    offsetStep: -1,
    returnLevel: 98,
    localShift: [0, 0, 0],
    presetShift: [0, 0, 0],
    rotation: undefined,
    mirror: undefined,
    scaling: undefined,
    polar: false,
    spindle: "cw",
    speed: 1000,
    feed: 100,
    tool,
    toolStep: 0,
    nextTool: Number.NaN,
    rotary: 0,
  };
}

function move(kind: Move["kind"], from: Vec3, to: Vec3, more: Partial<Move> & { tool?: number } = {}): Move {
  const { tool = 1, ...rest } = more;
  return {
    step: 0,
    kind,
    role: "plain",
    from,
    to,
    partFrom: NaN3,
    partTo: NaN3,
    gaugeFrom: Number.NaN,
    gaugeTo: Number.NaN,
    rotaryFrom: 0,
    rotaryTo: 0,
    centre: undefined,
    sweep: Number.NaN,
    feed: Number.NaN,
    seconds: Number.NaN,
    modal: modal(tool, kind === "rapid" ? "G0" : "G1"),
    station: 0,
    visit: 0,
    ...rest,
  };
}

function clearancesOf(fixture: Fixture, moves: readonly Move[]): Clearances & { readonly slices: number } {
  const run: Run = { sources: [], steps: [], moves, visits: [], writes: [], notes: [], seconds: 0, assumptions: [], complete: true };
  const work = computeClearances(run, fixture);
  let slices = 0;
  for (;;) {
    const next = work.next();
    if (next.done) return { ...next.value, slices };
    slices++;
  }
}

/** Contacts as "part solid@station" → distance. */
function near(c: Clearances, index = 0): Record<string, number> {
  return Object.fromEntries(c.contactsOf(index).map((k) => [`${k.part} ${k.solid.name}@${k.solid.station}`, k.distance]));
}

describe("the clearance pass, one move at a time", () => {
  it("a traverse over the lower jaw: only what is nearer than the largest clearance is kept", () => {
    // Along y at x = 185 (radius 5: x 180 … 190), 43.5 high: 1.5 above the moving jaw; the stock is 29 − 5 = 24 away.
    const c = clearancesOf(fixtureOf(), [move("rapid", [185, 0, 43.5], [185, 200, 43.5])]);
    expect(near(c)).toEqual({ "cutting moving jaw@0": expect.closeTo(1.5, 9) });
    // All along the jaw's width, the radius more at both ends.
    expect(c.contacts[0]?.at[1]).toBeGreaterThan(65 - 1e-6);
    expect(c.contacts[0]?.at[1]).toBeLessThan(135 + 1e-6);
    expect(c.unchecked.size).toBe(0);
  });
  it("equal to the clearance is kept for the rules to judge, a little above it is not", () => {
    const at = (z: number) => clearancesOf(fixtureOf(), [move("rapid", [185, 0, z], [185, 200, z])]).contacts;
    expect(at(44)[0]?.distance).toBeCloseTo(2, 12);
    expect(at(44.01)).toHaveLength(0);
  });
  it("holder and cutting part are told apart, each with its own distance", () => {
    // Beside the moving jaw, cutting part (R 5, up to 20) and shank (R 5, up to 40) 1 away in y; the holder (R 20, from 40 up) 1 above its top.
    const c = clearancesOf(fixtureOf(), [move("feed", [185, 136, 3], [185, 136, 3.5])]);
    expect(near(c)).toEqual({
      "cutting moving jaw@0": expect.closeTo(1, 9),
      "shank moving jaw@0": expect.closeTo(1, 9),
      "holder moving jaw@0": expect.closeTo(1, 9),
    });
  });
  it("a drill point reaches less far than its cylinder", () => {
    // SIG 90°, DC 10: 5 high. Tip at the height of the jaw's top, 6 beside its side: on the flank 6/√2; the cylinder 5 above the edge, 1 beside: √26.
    const c = clearancesOf(fixtureOf({ clearance: `"clearance": { "rapid": 6, "cut": 0.5, "index": 25 },` }), [
      move("rapid", [185, 136, 42], [185, 136, 42], { tool: 2 }),
    ]);
    expect(near(c)["cutting moving jaw@0"]).toBeCloseTo(6 / Math.SQRT2, 9);
  });
  it("the stock of the own station and of another are both contacts", () => {
    const c = clearancesOf(fixtureOf(), [move("feed", [120, 100, 50], [150, 100, 50]), move("feed", [520, 100, 50], [550, 100, 50])]);
    expect(near(c, 0)["cutting stock@0"]).toBe(0);
    expect(near(c, 1)["cutting stock@1"]).toBe(0);
    expect(c.contactsOf(0).find((k) => k.solid.kind === "stock")?.depth).toBeCloseTo(5, 9);
  });
  it("through the stock into a parallel and the base", () => {
    const c = clearancesOf(fixtureOf(), [move("feed", [135, 100, 60], [135, 100, -1])]);
    expect(near(c)).toMatchObject({ "cutting parallels@0": 0, "cutting base@-1": 0 });
    expect(c.contacts.find((k) => k.solid.kind === "base")?.depth).toBeCloseTo(1, 9);
  });
  it("arcs are arcs: a half circle round the corner that its chord would cut", () => {
    // Centre (75, 130) is the fixed jaw's corner; from (75, 137) over the outside to (68, 130): radius 7 less 5 leaves 2 all along; the chord comes within 7/√2 − 5 < 0.
    const c = clearancesOf(fixtureOf(), [move("arc", [75, 137, 10], [68, 130, 10], { centre: [75, 130, 10], sweep: 90 })]);
    expect(near(c)["cutting fixed jaw@0"]).toBeCloseTo(2, 6);
  });
  it("a rapid is taken along every form its path may have", () => {
    // From (50, 65) to (69, 200): straight it passes the corner (75, 130) at 15.7 …; axis by axis it first runs 19 at 45° and then along x = 69, 1 beside the jaw.
    const m = move("rapid", [50, 65, 10], [69, 200, 10]);
    expect(clearancesOf(fixtureOf({ rapidPath: "straight" }), [m]).contacts).toHaveLength(0);
    for (const rapidPath of ["independent", "either"]) {
      expect(near(clearancesOf(fixtureOf({ rapidPath }), [m]))["cutting fixed jaw@0"]).toBeCloseTo(1, 9);
    }
    // A feed goes straight on every machine.
    expect(clearancesOf(fixtureOf({ rapidPath: "either" }), [{ ...m, kind: "feed" }]).contacts).toHaveLength(0);
  });
  it("where a rapid's least distance is at its start, it says so (ruling 9)", () => {
    const up = move("rapid", [185, 100, 43], [185, 100, 200]);
    const along = move("rapid", [185, 100, 43], [190, 100, 43]);
    const c = clearancesOf(fixtureOf({ rapidPath: "either" }), [up, along, { ...up, kind: "feed" }]);
    expect(c.contactsOf(0)[0]).toMatchObject({ distance: 1, atStart: true });
    expect(c.contactsOf(1)[0]).toMatchObject({ distance: 1, atStart: false });
    expect(c.contactsOf(2)[0]).toMatchObject({ distance: 1, atStart: false });
  });
  it("up and then sideways in one rapid of independent axes is still leaving", () => {
    const c = clearancesOf(fixtureOf({ rapidPath: "independent" }), [move("rapid", [185, 100, 43], [300, 100, 63])]);
    expect(c.contactsOf(0)[0]).toMatchObject({ distance: 1, atStart: true });
  });
  it("away from a corner at 45° and then past it: leaving only if it does not come as near again", () => {
    // A line with no width, 1 and 1 off the fixed jaw's corner (75, 70): √2 away. It runs off by s in both axes, then along y, 1 + s from the side.
    const past = (s: number) =>
      clearancesOf(fixtureOf({ rapidPath: "independent" }), [move("rapid", [74, 69, 10], [74 - s, 100, 10], { tool: 77 })]);
    expect(past(0.5).contactsOf(0)[0]).toMatchObject({ distance: expect.closeTo(Math.SQRT2, 9), atStart: true });
    expect(past(Math.SQRT2 - 1).contactsOf(0)[0]).toMatchObject({ distance: expect.closeTo(Math.SQRT2, 9), atStart: false });
    expect(past(0.3).contactsOf(0)[0]).toMatchObject({ distance: expect.closeTo(1.3, 9), atStart: false });
  });
  it("dwells are no motion", () => {
    expect(clearancesOf(fixtureOf(), [move("dwell", [135, 100, 10], [135, 100, 10])]).contacts).toHaveLength(0);
  });
});

describe("what is not known is not guessed", () => {
  const unknownXY: Vec3 = [Number.NaN, Number.NaN, 400];
  it("a start of which only Z is known, above everything: clear, and nothing to list", () => {
    const c = clearancesOf(fixtureOf(), [move("rapid", unknownXY, [185, 100, 400])]);
    expect(c.unchecked.size).toBe(0);
    expect(c.contacts).toHaveLength(0);
  });
  it("the same below the obstacle's top: listed, and the end point measured", () => {
    const c = clearancesOf(fixtureOf(), [move("rapid", [Number.NaN, Number.NaN, 43], [185, 100, 43])]);
    expect(c.unchecked.get(0)).toBe("why.unknown-start");
    expect(near(c)["cutting moving jaw@0"]).toBeCloseTo(1, 9);
  });
  it("axes that no block has placed yet stand where the program found them", () => {
    const c = clearancesOf(fixtureOf(), [move("rapid", NaN3, [Number.NaN, Number.NaN, 20])]);
    expect([...c.unchecked]).toEqual([[0, "why.unknown-start"]]);
  });
  it("an unknown end is listed, whatever is known of the start", () => {
    const c = clearancesOf(fixtureOf(), [move("feed", [185, 100, 43], [185, 100, Number.NaN]), move("rapid", NaN3, NaN3)]);
    expect([...c.unchecked]).toEqual([
      [0, "why.position-unknown"],
      [1, "why.position-unknown"],
    ]);
    expect(c.contacts).toHaveLength(0);
  });
  it("an unknown rotary angle: clear only outside the circle that everything swings through", () => {
    // The rotary axis at x 500, z −300: the farthest corner of the plate is hypot(525, 340) from it, of the jaws hypot(425, 345), so 625.5 in all.
    const unknown = { rotaryFrom: Number.NaN, rotaryTo: Number.NaN };
    const swing = Math.hypot(525, 300);
    const fixture = fixtureOf({ rotary: true });
    const at = (z: number) => clearancesOf(fixture, [move("rapid", [500, 100, z], [500, 200, z], unknown)]).unchecked.get(0);
    expect(at(-300 + swing + 100)).toBeUndefined();
    expect(at(-300 + swing - 10)).toBe("why.rotary-unknown");
  });
  it("a tool that is not described is a line with no width, and said to be", () => {
    const fixture = fixtureOf({ tools: false });
    const c = clearancesOf(fixture, [move("rapid", [185, 131, 10], [185, 131, 20])]);
    expect(near(c)["cutting moving jaw@0"]).toBeCloseTo(1, 9);
    expect(c.withoutWidth).toEqual(new Set([1]));
    const other = clearancesOf(fixtureOf(), [move("rapid", [185, 131, 10], [185, 131, 20], { tool: 77 })]);
    expect(other.withoutWidth).toEqual(new Set([77]));
  });
  it("an unknown tool number is listed", () => {
    const c = clearancesOf(fixtureOf(), [move("rapid", [185, 131, 10], [185, 131, 20], { tool: Number.NaN })]);
    expect(c.unchecked.get(0)).toBe("why.tool-unknown");
  });
});

describe("stations that are not loaded, and bases that are turned", () => {
  it("an empty station has no stock, and its moving jaw stands open", () => {
    // Open, the moving jaw's face is at 159 instead of 156: a tool of radius 5 at x = 153 is 1 from it and meets nothing.
    const m = move("feed", [153, 100, 30], [153, 100, 40]);
    expect(near(clearancesOf(fixtureOf(), [m]))).toMatchObject({ "cutting stock@0": 0, "cutting moving jaw@0": 0 });
    const c = clearancesOf(fixtureOf({ empty: true }), [m]);
    expect(near(c)).toEqual({ "cutting moving jaw@0": expect.closeTo(1, 9) });
  });
  it("a base turned by 90° stands where ruling 3 puts it", () => {
    // B reads 90, face 0, sense 1: turned by −90° about y through (500, ·, −300): (x, z) ↦ the face at z = 0 comes to lie across x, at 500 − 300 = 200, its z toward −X.
    const c = clearancesOf(fixtureOf({ rotary: true }), [
      move("rapid", [194, 300, -300], [194, 310, -300], { rotaryFrom: 90, rotaryTo: 90 }),
    ]);
    expect(near(c)["cutting base@-1"]).toBeCloseTo(1, 9);
    const presented = clearancesOf(fixtureOf({ rotary: true }), [move("rapid", [194, 300, 1], [194, 310, 1])]);
    expect(near(presented)["cutting base@-1"]).toBeCloseTo(1, 9);
  });
  it("a whole turn away is presented again", () => {
    const c = clearancesOf(fixtureOf({ rotary: true }), [move("rapid", [194, 300, 1], [194, 310, 1], { rotaryFrom: 360, rotaryTo: 360 })]);
    expect(near(c)["cutting base@-1"]).toBeCloseTo(1, 9);
  });
  it("a block that turns is measured against what stands still; one that keeps its angle like any other", () => {
    const fixture = fixtureOf({ rotary: true });
    const turning = move("index", [-144, 25, 1], [-144, 30, 1], { rotaryFrom: 0, rotaryTo: 90 });
    expect(near(clearancesOf(fixture, [turning]))).toEqual({
      "cutting probe@-1": expect.closeTo(1, 9),
      "shank probe@-1": expect.closeTo(1, 9),
      "holder probe@-1": 0,
    });
    const keeping = move("index", [185, 100, 43], [185, 110, 43]);
    expect(near(clearancesOf(fixture, [keeping]))["cutting moving jaw@0"]).toBeCloseTo(1, 9);
  });
});

describe("the whole against the plain way: every part, every solid, every move, nothing passed over", () => {
  it("contacts and least clearances are the same", () => {
    const fixture = fixtureOf();
    const limit = 2 + 1e-3;
    const r = random(55);
    const u = (a: number, b: number): number => a + (b - a) * r();
    const moves: Move[] = [];
    let at: Vec3 = [185, 100, 100];
    for (let i = 0; i < 600; i++) {
      const kind = r();
      const to: Vec3 =
        kind < 0.3 ? [at[0], at[1], u(0, 80)] : kind < 0.6 ? [u(50, 650), u(50, 150), at[2]] : [u(50, 650), u(50, 150), u(5, 90)];
      const visit = Math.floor(i / 20);
      moves.push(move(r() < 0.5 ? "rapid" : "feed", at, to, { visit, station: visit % 2, tool: 1 + (visit % 2) }));
      at = to;
    }
    const c = clearancesOf(fixture, moves);
    const plainLeast = new Map<string, number>();
    let kept = 0;
    moves.forEach((m, i) => {
      const stack = fixture.tools.get(m.modal.tool)?.stack ?? [];
      const plain: Record<string, number> = {};
      for (const solid of allSolids(fixture)) {
        for (const part of stack) {
          const { distance } = gapLine(part, m.from, m.to, solidAt(fixture, solid, 0));
          const own = solid.kind === "stock" && solid.station === m.station ? "own " : "";
          const slot = `${m.visit} ${own}${solid.kind}`;
          plainLeast.set(slot, Math.min(plainLeast.get(slot) ?? Number.POSITIVE_INFINITY, distance));
          if (distance >= limit) continue;
          const key = `${part.part} ${solid.name}@${solid.station}`;
          plain[key] = Math.min(plain[key] ?? Number.POSITIVE_INFINITY, distance);
        }
      }
      const ours = near(c, i);
      kept += Object.keys(ours).length;
      expect(Object.keys(ours).sort()).toEqual(Object.keys(plain).sort());
      for (const [key, distance] of Object.entries(plain)) expect(ours[key]).toBeCloseTo(distance, 8);
    });
    expect(kept).toBeGreaterThan(300);
    expect(c.contacts.map((k) => k.move)).toEqual([...c.contacts.map((k) => k.move)].sort((a, b) => a - b));
    for (let visit = 0; visit < 30; visit++) {
      for (const k of c.least(visit)) {
        const own = k.solid.kind === "stock" && k.solid.station === visit % 2 ? "own " : "";
        expect(k.distance, `${visit} ${own}${k.solid.kind}`).toBeCloseTo(plainLeast.get(`${visit} ${own}${k.solid.kind}`) ?? Number.NaN, 7);
        expect(moves[k.move]?.visit).toBe(visit);
      }
      // fixed jaw, moving jaw, parallels, base, obstacle, stock of the own and of the other station
      expect(c.least(visit)).toHaveLength(7);
    }
    expect(c.least(99)).toEqual([]);
    expect(c.slices).toBeGreaterThan(1);
  });
  it("never throws, whatever the numbers", () => {
    const fixture = fixtureOf({ rotary: true });
    const values = [Number.NaN, Number.POSITIVE_INFINITY, Number.NEGATIVE_INFINITY, 0, 1e308, -1e308, 5e-324, 100, 185];
    const r = random(77);
    const v = (): number => values[Math.floor(r() * values.length)] as number;
    const kinds = ["rapid", "feed", "arc", "dwell", "index"] as const;
    const moves: Move[] = [];
    for (let i = 0; i < 3000; i++) {
      const p: Vec3 = [v(), v(), v()];
      const more = {
        centre: [v(), v(), v()] as Vec3,
        sweep: v(),
        rotaryFrom: r() < 0.5 ? 0 : v(),
        rotaryTo: r() < 0.5 ? 0 : v(),
        tool: r() < 0.8 ? 1 : v(),
      };
      moves.push(move(kinds[Math.floor(r() * 5)] as Move["kind"], p, [v(), v(), v()], more));
    }
    // Arcs that are well formed but for a sweep no machine runs.
    for (const sweep of [1e5, -1e12, 1e308, 5e-324, -720, 1e-12]) {
      for (const to of [140, 140.001]) moves.push(move("arc", [140, 100, 60], [to, 100, 60], { centre: [150, 100, 0], sweep }));
    }
    const c = clearancesOf(fixture, moves);
    for (const k of c.contacts) expect(k.distance).toBeGreaterThanOrEqual(0);
  });
});
