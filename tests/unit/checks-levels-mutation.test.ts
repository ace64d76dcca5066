/**
 * Heights that fixes of several rules name and the moves that they ask about, worked by hand on solids and modes written here: the
 * rapid clearance is 2 mm, that of a cut 0.5 mm. Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { createContext } from "../../server/src/engine/checks/context.js";
import {
  clearLevel,
  keepClear,
  motionBefore,
  programmedLess,
  roundedUp,
  unitsOf,
  withinTravel,
} from "../../server/src/engine/checks/lib/levels.js";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import type { RuleContext } from "../../server/src/engine/checks/rule.js";
import type { Fixture } from "../../server/src/engine/fixture/model.js";
import type { Vec3 } from "../../server/src/engine/geometry/vector.js";
import type { Modal, Move } from "../../server/src/engine/machine/move.js";
import type { Run, Step } from "../../server/src/engine/machine/run.js";
import { parseLine } from "../../server/src/engine/syntax/parse.js";
import { fixture, modal, move, profile, run as sample, solid, station } from "../support/analysis.js";

const NAN = Number.NaN;
const [rule] = rules;
const [aStep] = sample.steps;
if (rule === undefined || aStep === undefined) throw new Error("rules and steps");

const jaw = solid("fixed jaw", "fixed jaw", 0, [0, -40, -40], [60, 0, -10]);
const stock = solid("stock", "stock", 0, [0, 0, -30], [60, 41, 0]);
const stock2 = solid("stock", "stock", 1, [150, 0, -30], [210, 41, 0]);
const post = solid("obstacle", "probe", -1, [300, 0, -55], [320, 20, 30]);
const A1 = station({ solids: [jaw, stock], stock: { from: [0, 0, -30], to: [60, 41, 0] } });
const A2 = station({ index: 1, id: "A2", offset: "G55", solids: [stock2], stock: { from: [150, 0, -30], to: [210, 41, 0] } });
/** A cutter of radius 5 and 20 long under a holder of radius 20; a cone of radius 6 and its shank. */
const tools = new Map([
  [
    1,
    {
      number: 1,
      LF: 120,
      H: [1, 21],
      stack: [
        { part: "cutting", bottomRadius: 5, topRadius: 5, from: 0, to: 20 },
        { part: "holder", bottomRadius: 20, topRadius: 20, from: 20, to: 60 },
      ],
    },
  ],
  [2, { number: 2, LF: NAN, H: [2], stack: [{ part: "cutting", bottomRadius: 0, topRadius: 6, from: 0, to: 20 }] }],
]) as never;
const two = fixture({ bases: [], stations: [A1, A2], obstacles: [post], tools });

function context(change: { run?: Run; fixture?: Fixture | undefined; control?: boolean } = {}): RuleContext {
  const subject = {
    run: change.run ?? sample,
    fixture: "fixture" in change ? change.fixture : two,
    profile: change.control === true ? { ...profile, lengthBy: "control" as const } : profile,
    clearances: undefined,
    blockSkip: false,
    skippedRun: undefined,
    entry: "main" as const,
    notes: [],
  };
  return createContext(rule as NonNullable<typeof rule>, subject, { reports: [], notChecked: [] }, () => undefined);
}

/** A rapid from one machine point to another; without a tool number it is a line without width. */
const rapid = (from: Vec3, to: Vec3, tool = 9, more: Partial<Move> = {}): Move =>
  move({ from, to, partFrom: from, partTo: to, station: 0, visit: 0, modal: modal({ tool }), ...more });
const across = (y: number, tool?: number, x = 10): Move => rapid([x, y, 50], [x + 20, y, 50], tool);

describe("the level above everything that stands in a corridor", () => {
  const level = (...moves: Move[]) => clearLevel(two, moves);
  it("the top and the clearance of what is nearer than the clearance to the side, and minus infinity where nothing is", () => {
    expect(level(across(-20))).toBe(-8);
    // The stock begins at Y0: at 2 it counts, beyond it does not.
    expect([-2.1, -2, -1.9].map((y) => level(across(y)))).toEqual([-8, 2, 2]);
    expect([43, 43.1].map((y) => level(across(y)))).toEqual([2, Number.NEGATIVE_INFINITY]);
    // In X the stock reaches from 0 to 60, the way from x to x + 20.
    expect([-22.1, -22, 62, 62.1].map((x) => level(across(20, 9, x)))).toEqual([Number.NEGATIVE_INFINITY, 2, 2, Number.NEGATIVE_INFINITY]);
    expect(level(rapid([30, 20, 50], [10, 20, 50]))).toBe(2);
    expect(level(rapid([30, 60, 50], [30, 45, 50]))).toBe(Number.NEGATIVE_INFINITY);
    expect(level()).toBe(Number.NEGATIVE_INFINITY);
  });
  it("the highest of all moves; what is not known to be beside the way counts", () => {
    expect(level(across(-20), rapid([310, 5, 50], [310, 10, 50]))).toBe(32);
    expect(level(rapid([310, 5, 50], [310, 10, 50]), across(-20))).toBe(32);
    expect(level(rapid([NAN, NAN, 50], [1000, 1000, 50]))).toBe(32);
  });
  it("by the widest radius of each part of the tool, which stands as much higher as it begins", () => {
    // At X-20 the holder is over the stock: 0 + 2 - 20.
    expect(level(rapid([-20, 20, 50], [-20, 21, 50], 1))).toBe(-18);
    expect(level(rapid([-22.1, 20, 50], [-22.1, 21, 50], 1))).toBe(Number.NEGATIVE_INFINITY);
    expect(level(rapid([-7, 20, 50], [-7, 21, 50], 1))).toBe(2);
    expect([-8.1, -8].map((x) => level(rapid([x, 20, 50], [x, 21, 50], 2)))).toEqual([Number.NEGATIVE_INFINITY, 2]);
  });
  it("as the work stands at the angle of the move", () => {
    const rotary = { axis: "B", centre: [0, 0, 0], sense: 1, indexSeconds: undefined, inOffset: false } as const;
    // The body of the base stands elsewhere.
    const plate = { ...A1.base, body: solid("base", "plate", -1, [500, 500, -40], [501, 501, 0]) };
    const turned: Fixture = {
      ...two,
      bases: [plate],
      obstacles: [],
      machine: { ...two.machine, rotary: { ...rotary, centre: [0, 0, 0] } },
    };
    const at = (x: number, rotaryTo: number) => clearLevel(turned, [rapid([x, -20, 50], [x, -20, 60], 9, { rotaryTo })]);
    // Half a turn about Y: the jaw then stands at X-60 to 0 and Z10 to 40.
    expect([at(30, 0), at(-30, 0), at(-30, 180), at(30, 180)]).toEqual([-8, Number.NEGATIVE_INFINITY, 42, Number.NEGATIVE_INFINITY]);
  });
});

describe("whether the spindle gets up to a level", () => {
  it("the gauge point LF above the tool point, to a micrometre; what is not known is not refused", () => {
    const f = { ...two, machine: { ...two.machine, travel: { Z: [-560, 0] as const } } } as Fixture;
    expect([-121, -120, -119.9995, -119.998].map((z) => withinTravel(f, 1, z))).toEqual([true, true, true, false]);
    expect([0, 0.0005, 1].map((z) => withinTravel(f, 0, z))).toEqual([true, true, false]);
    expect([2, 7].map((tool) => withinTravel(f, tool, 500))).toEqual([true, true]);
    expect(withinTravel(two, 1, 500)).toBe(true);
  });
});

describe("what a Z word says of the tool point", () => {
  const less = (change: Partial<Modal> = {}, options: Parameters<typeof context>[0] = {}) =>
    programmedLess(context(options), modal(change), -345, 0);
  it("the way from machine to part, without the shifts that the control adds", () => {
    expect(less()).toBe(345);
    expect(less({ localShift: [9, 9, 1] })).toBe(344);
    expect(less({ presetShift: [9, 9, 2], localShift: [0, 0, 1] })).toBe(342);
    expect(programmedLess(context(), modal(), NAN, 0)).toBeUndefined();
    expect(programmedLess(context(), modal(), 0, NAN)).toBeUndefined();
  });
  it("nothing in increments, scaled, mirrored in Z, or where something turns Z", () => {
    const scaling = { centre: [0, 0, 0], factors: [2, 2, 2] } as never;
    const rotation = { angle: 30, centre: [0, 0] } as never;
    expect(less({ absolute: false })).toBeUndefined();
    expect(less({ scaling })).toBeUndefined();
    expect(less({ mirror: [false, false, true] as never })).toBeUndefined();
    expect(less({ mirror: [true, true, false] as never })).toBe(345);
    expect([less({ rotation }), less({ polar: true }), less({ plane: 18 })]).toEqual([345, 345, 345]);
    expect([less({ plane: 18, rotation }), less({ plane: 19, polar: true })]).toEqual([undefined, undefined]);
  });
  it("nothing where a mode that it rests on is not known; another one is of no account", () => {
    for (const field of ["absolute", "units", "length", "offset", "transform"] as const)
      expect(less({ uncertain: [field] }), field).toBeUndefined();
    expect(less({ uncertain: ["spindle"] as never })).toBe(345);
  });
  it("only with the tool's own length, unless the control has it always", () => {
    expect([less({ h: 21 }), less({ h: 2 }), less({ h: 2, tool: 7 }), less({ length: 49 }), less({ length: 44 })]).toEqual([
      345,
      undefined,
      345,
      undefined,
      undefined,
    ]);
    expect(less({ length: 49, h: NAN }, { control: true })).toBe(345);
    expect(less({ h: 2 }, { fixture: undefined })).toBe(345);
  });
});

describe("numbers of the program", () => {
  it("its units, else the sidecar's, else millimetres", () => {
    const inch = context({ fixture: { ...two, units: "inch" } });
    expect([unitsOf(inch, modal({ units: "mm" })), unitsOf(inch, modal({ units: undefined }))]).toEqual(["mm", "inch"]);
    expect(unitsOf(context({ fixture: undefined }), modal({ units: undefined }))).toBe("mm");
  });
  it("up to whole millimetres or tenths of an inch, not for a rest that is none", () => {
    expect([2, 2.0000001, 2.001, -7.5].map((z) => roundedUp(z, "mm"))).toEqual([2, 2, 3, -7]);
    // 25.4 is ten tenths; 25.5 is a little more.
    expect([25.4, 25.5, -1].map((z) => roundedUp(z, "inch"))).toEqual([25.4, 27.94, 0].map((z) => expect.closeTo(z, 9)));
  });
});

describe("moves as a fix would make them", () => {
  const clear = (from: Vec3, to: Vec3, own?: number, more: Partial<Move> = {}) => keepClear(context(), [rapid(from, to, 9, more)], own);
  it("keep the rapid clearance to all that stands there, to a micrometre, or what is asked to their own stock", () => {
    const over = (z: number, own?: number) => clear([10, 20, 50], [20, 20, z], own);
    expect([2, 1.9995, 1.998].map((z) => over(z))).toEqual([true, true, false]);
    expect([1, 0.9995, 0.998].map((z) => over(z, 1))).toEqual([true, true, false]);
    expect(over(-1, -10)).toBe(false);
    // The other's stock and the jaw keep the whole of it.
    expect([2, 1.998].map((z) => clear([160, 20, 50], [170, 20, z], 1))).toEqual([true, false]);
    expect([-8, -8.002].map((z) => clear([10, -20, 50], [20, -20, z], 1))).toEqual([true, false]);
  });
  it("straight up out of the stock nothing is asked of it, and of the rest the clearance of a cut", () => {
    // 0.6 and 0.4 beside the jaw, in the stock.
    expect(clear([10, 0.6, -20], [10, 0.6, 50])).toBe(true);
    expect(clear([10, 0.4, -20], [10, 0.4, 50])).toBe(false);
    // Down, and up on a slant.
    expect(clear([10, 0.6, 50], [10, 0.6, -20])).toBe(false);
    expect(clear([10, 20, -20], [11, 20, 50])).toBe(false);
    expect(clear([10, 20, -20], [10, 21, 50])).toBe(false);
    expect(clear([10, 20, -20], [11, 20, -20])).toBe(false);
    // Out of the other's stock it is no way of its own.
    expect(clear([160, 20, -20], [160, 20, 50])).toBe(false);
    expect(clear([160, 20, -20], [160, 20, 50], undefined, { station: 1 })).toBe(true);
  });
  it("each of them, known throughout, with a sidecar", () => {
    const good = rapid([10, 20, 50], [20, 20, 40]);
    const bad = rapid([10, 20, 50], [20, 20, 1]);
    expect([keepClear(context(), [good, good]), keepClear(context(), [good, bad]), keepClear(context(), [bad, good])]).toEqual([
      true,
      false,
      false,
    ]);
    expect(clear([10, NAN, 1], [20, 20, 1])).toBe(false);
    // Higher than everything it does not matter where.
    expect(clear([10, NAN, 50], [20, 20, 50])).toBe(true);
    expect(keepClear(context({ fixture: undefined }), [good])).toBe(false);
  });
});

describe("what moves Z before a block", () => {
  /** A run of blocks; those with axis words move. The mode before the first is given. */
  const put = (motion: string, ...texts: string[]) => {
    const steps = texts.map(
      (text, n): Step => ({
        ...(aStep as NonNullable<typeof aStep>),
        block: parseLine(text, n, profile),
        values: undefined,
        before: modal({ motion }),
        firstMove: n,
        endMove: /[XYZ]/.test(text) ? n + 1 : n,
      }),
    );
    return motionBefore(context({ run: { ...sample, steps } }), 0);
  };
  it("G0 where that is in force, or where a motion code follows before anything moves", () => {
    expect(put("G0", "X5")).toBe("G0 ");
    for (const code of ["G0", "G1", "G2", "G3", "G73", "G74", "G76", "G80", "G81", "G89"]) {
      expect(put("G1", `${code} X5`), code).toBe("G0 ");
      expect(put("G1", "M8", `${code} X5`), code).toBe("G0 ");
    }
    for (const other of ["G4", "G72", "G75", "G79", "G90", "S80", "M3"]) expect(put("G1", other, "X5"), other).toBe("");
  });
  it("the feed where the rest relies on G1, and none where it relies on an arc or a cycle", () => {
    expect(put("G1", "X5", "G0 X6")).toBe("");
    expect(put("G1", "M8")).toBe("");
    expect(put("G2", "X5")).toBeUndefined();
    expect(put("G81", "X5")).toBeUndefined();
    expect(put("G81", "G0 X5")).toBe("G0 ");
  });
  it("within two hundred blocks", () => {
    const waiting = (n: number) => put("G1", ...Array.from({ length: n }, () => "M8"), "G0 X5");
    expect([waiting(199), waiting(200)]).toEqual(["G0 ", ""]);
  });
});
