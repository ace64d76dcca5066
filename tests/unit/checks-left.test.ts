/**
 * G91 left by a return, an axis left from the last station, a cut beside the neighbour: programs with what the rule says in
 * whole, worked out by hand from the samples (stock X 0 … 60, Y 0 … 41, Z −30 … 0; stations 150 mm apart). Asked for by
 * mutation testing.
 */
import { describe, expect, it } from "vitest";
import { createContext } from "../../server/src/engine/checks/context.js";
import { countedLoops, uncertainRounds } from "../../server/src/engine/checks/lib/counted.js";
import { incrementalFaults } from "../../server/src/engine/checks/lib/increments.js";
import { selections } from "../../server/src/engine/checks/lib/selection.js";
import { staleAxes } from "../../server/src/engine/checks/lib/stale.js";
import { tallies } from "../../server/src/engine/checks/lib/tally.js";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import { type Setup, tell } from "../support/tell.js";

const two: Setup = { use: "two-stations" };
const T1 = "tool 1 (end mill 10)";
const T2 = "tool 2 (drill 6.8)";
/** Lines 1 to 5. */
const HEAD = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X10 Y10", "G43 H1 Z50"];

describe("G91 left by a reference return", () => {
  const left = (setup: Setup, ...lines: string[]) => tell("incremental-left", setup, [...HEAD, ...lines, "M30"]);
  const said = (...lines: string[]) => left(two, ...lines).texts;
  it("what comes next shows that it is meant as coordinates", () => {
    const t = left(two, "G91 G28 Z0", "T2 M6", "G0 G54 X40 Y10");
    expect(t.texts).toEqual([`8 "G0 G54 X40 Y10" default(${T2}) at A1; 6 related.set()`]);
    expect(t.fixes).toEqual([["from 8", "G90 G0 G54 X40 Y10"]]);
    expect(said("G91 G28 Z0", "X40 Y10")).toEqual([`7 "X40 Y10" default(${T1}) at A1; 6 related.set()`]);
    expect(said("G91 G28 Z0", "G43 H1 Z50")).toEqual([`7 "G43 H1 Z50" default(${T1}) at A1; 6 related.set()`]);
    expect(said("G91 G28 Z0", "G43 H1", "X40")).toEqual([`8 "X40" default(${T1}) at A1; 6 related.set()`]);
    expect(said("G91 G28 Z0", "G55", "Y40")).toEqual([`8 "Y40" default(${T1}) at A2; 6 related.set()`]);
    expect(said("G91 G28 Z0", "T2 M6", "X40")).toEqual([`8 "X40" default(${T2}) at A1; 6 related.set()`]);
    expect(said("G91", "G28 Z0", "X40 Y10")).toEqual([`8 "X40 Y10" default(${T1}) at A1; 6 related.set()`]);
    expect(said("G91 G30 P2 Z0", "X40 Y10")).toHaveLength(1);
    expect(said("G91 G28 Z0", "M8", "S3000", "X40 Y10")).toEqual([`9 "X40 Y10" default(${T1}) at A1; 6 related.set()`]);
  });
  it("to the zero of the part: in G91 that goes nowhere", () => {
    expect(said("G91 G28 Z0", "G54 X0 Y0")).toEqual([`7 "G54 X0 Y0" default(${T1}); 6 related.set()`]);
    expect(said("G91 G28 Z0", "X0 Y0", "X40 Y10")).toEqual([`8 "X40 Y10" default(${T1}) at A1; 6 related.set()`]);
    expect(said("G91 G28 Z0", "G54 X0")).toEqual([]);
  });
  it("not: one axis without a hint, nor what comes after it; G91 stated, G90 stated, increments before the return", () => {
    expect(said("G91 G28 Z0", "X40")).toEqual([]);
    expect(said("G91 G28 Z0", "X40", "G43 H1 Z50")).toEqual([]);
    expect(said("G91 G28 Z0", "G91 X40 Y10", "G54 X10 Y10")).toEqual([]);
    expect(said("G91 G28 Z0", "G90 X40 Y10")).toEqual([]);
    expect(said("G91 G28 Z0", "G90", "X40 Y10")).toEqual([]);
    expect(said("G90 G28 Z50", "X40 Y10")).toEqual([]);
    expect(said("G91 X5", "G28 Z0", "X40 Y10")).toEqual([]);
    expect(said("G91", "X5", "G28 Z0", "X40 Y10")).toEqual([]);
    expect(said("G91 G28 Z0", "G28 X0 Y0")).toEqual([]);
    expect(said("G91 X40 Y10")).toEqual([]);
    expect(said("G91 G28 Z0", "T2 M6")).toEqual([]);
  });
  it("each return has its own; what follows the first block has the same cause", () => {
    expect(said("G91 G28 Z0", "X40 Y10", "X1 Y1", "G54 X3 Y3")).toEqual([`7 "X40 Y10" default(${T1}) at A1; 6 related.set()`]);
    expect(said("G91 G28 Z0", "X40 Y10", "G90", "G91 G28 Z0", "X40 Y10").map((t) => t.split(" ")[0])).toEqual(["7", "10"]);
    expect(said("G91 G28 Z0", "X40 Y10", "G28 Z0", "X40 Y10").map((t) => t.split(" ")[0])).toEqual(["7"]);
  });
  it("left by a called program is that program's fault; set before a call is found in it", () => {
    expect(said("M98 P100", "X40 Y10", "M30", "O100", "G91 G28 Z0", "M99")).toEqual([]);
    // Called twice: once at line 7.
    expect(said("G91 G28 Z0", "M98 P100", "M30", "O100", "G54 X9 Y9", "M99")).toEqual([
      `10 "G54 X9 Y9" default(${T1}) at A1; 6 related.set(); 7 related.called-from()`,
    ]);
  });
  it("a turn to the angle of a face, or to 0, when nothing in X, Y or Z follows", () => {
    const turn = (...lines: string[]) => left({ use: "tombstone" }, "G91 G28 Z0", ...lines).texts.map((t) => t.split(" default")[0]);
    expect(turn("B180")).toEqual(['7 "B180"']);
    expect(turn("B0")).toEqual(['7 "B0"']);
    expect(turn("B-180")).toEqual(['7 "B-180"']);
    expect(turn("B90")).toEqual([]);
    expect(turn("B179")).toEqual([]);
    expect(turn("B180", "G90", "G55 X10 Y10")).toEqual(['7 "B180"']);
    expect(turn("B180", "G55 X10 Y10")).toEqual(['8 "G55 X10 Y10"']);
    expect(turn("B180", "B180")).toEqual(['7 "B180"']);
    expect(turn("B180", "G28 Z0")).toEqual(['7 "B180"']);
    expect(turn("A180")).toEqual([]);
    expect(said("G91 G28 Z0", "A0").map((t) => t.split(" default")[0])).toEqual(['7 "A0"']);
    expect(said("G91 G28 Z0", "A90")).toEqual([]);
  });
});

describe("an axis left from the last station", () => {
  /** A2 stands behind A1, not beside it: X agrees, Y is 150 mm off. */
  const rows: Setup = {
    use: "two-stations",
    change: (s) => {
      const [one] = s.stations as Record<string, unknown>[];
      if (one !== undefined) one.repeat = { columns: 1, rows: 2, step: [3, 3] };
    },
  };
  /** Lines 1 to 7: a hole at A1. */
  const WORK = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X20 Y20", "G43 H1 Z50", "G1 Z-3 F300", "G0 Z50"];
  const stale = (setup: Setup, ...lines: string[]) => tell("approach-stale-axis", setup, [...WORK, ...lines, "M30"]);
  const heads = (setup: Setup, ...lines: string[]) =>
    stale(setup, ...lines).findings.map((f) => {
      const axes = f.message.args.axes;
      return `${f.place.range.line + 1} ${f.message.key} ${f.level} ${typeof axes === "object" && "list" in axes ? axes.list.join("+") : String(axes)} down ${f.related.map((r) => r.place.range.line + 1).join()} ${f.station}`;
    });
  it("by hand: Y stands where A1 had it, 150 mm off", () => {
    const t = stale(rows, "G55 X20", "G1 Z-3");
    expect(heads(rows, "G55 X20", "G1 Z-3")).toEqual(["8 default error Y down 9 A2"]);
    expect(t.findings[0]?.message.args).toMatchObject({
      tool: T1,
      station: "A2",
      from: "A1",
      axis: "Y",
      off: { mm: expect.closeTo(150, 6) },
    });
    expect(t.fixes).toEqual([["from 8", "G55 X20 Y20"]]);
  });
  it("the axis that agrees is information; both are told by the worse", () => {
    expect(heads(rows, "G55 Y20", "G1 Z-3")).toEqual(["8 same information X down 9 A2"]);
    expect(heads(rows, "G55", "G1 Z-3")[0]).toMatch(/^8 default error X.*Y down 9 A2$/);
    expect(stale(rows, "G55", "G1 Z-3").findings[0]?.message.args).toMatchObject({ axis: "Y" });
    expect(heads(two, "G55 Y20", "G1 Z-3")).toEqual(["8 default error X down 9 A2"]);
    expect(stale(two, "G55 Y20", "G1 Z-3").findings[0]?.message.args).toMatchObject({ axis: "X", off: { mm: expect.closeTo(150, 6) } });
  });
  it("down to a height above everything is only an approach: below 2 mm over the part it counts", () => {
    expect(heads(rows, "G55 X20", "Z2", "Y20", "G1 Z-3")).toEqual([]);
    expect(heads(rows, "G55 X20", "Z1.9", "Y20", "G1 Z-3")).toEqual(["8 default error Y down 9 A2"]);
    // Up is not down.
    expect(heads(rows, "G0 Z1", "G55 X20", "Z1.5", "Y20", "G1 Z-3")).toEqual([]);
    // A cut counts at any height.
    expect(heads(rows, "G55 X20", "G1 Z45 F300", "Y20")).toEqual(["8 default error Y down 9 A2"]);
  });
  it("not: both named, in whichever blocks; never down; the same offset again; home in between", () => {
    expect(heads(rows, "G55 X20 Y20", "G1 Z-3")).toEqual([]);
    expect(heads(rows, "G55", "X20", "Y20", "G1 Z-3")).toEqual([]);
    expect(heads(rows, "G55 X20", "G54 X20 Y20", "G1 Z-3")).toEqual([]);
    expect(heads(rows, "G54 X25", "G1 Z-3")).toEqual([]);
    expect(heads(rows, "G55 X20", "G28 G91 Z0")).toEqual([]);
    expect(heads({}, "G55 X20", "G1 Z-3")).toEqual([]);
    // An axis that goes home is not named for the station.
    expect(heads(rows, "G55 X20", "G91 G28 Y0", "G90", "G1 Z-3").length).toBeLessThanOrEqual(1);
  });
  it("how a new tool comes down before X and Y is another rule's, unless they never come", () => {
    const next = ["T2 M6", "S2000 M3", "G0 G55", "G43 H2 Z1"];
    expect(heads(rows, ...next, "X20 Y20", "G1 Z-3")).toEqual([]);
    expect(heads(rows, ...next, "X20", "G1 Z-3")).toEqual(["10 default error Y down 13 A2"]);
  });
  it("in inches: 150 mm off, and restated as the program writes numbers", () => {
    const t = tell("approach-stale-axis", rows, [
      ...[
        "G20 G17 G40 G49 G80 G90",
        "T1 M6",
        "S4000 M3",
        "G0 G54 X1. Y0.5",
        "G43 H1 Z2.",
        "G1 Z-.1 F12.",
        "G0 Z2.",
        "G55 X1.",
        "G1 Z-.1",
        "M30",
      ],
    ]);
    expect(t.findings[0]?.message.args).toMatchObject({ axis: "Y", off: { mm: expect.closeTo(150, 6) } });
    expect(t.fixes).toEqual([["from 8", "G55 X1. Y0.5"]]);
  });
  it("in increments an axis that is not named stands as well", () => {
    expect(heads(rows, "G55 X20", "G91 G1 Z-53", "G90")).toEqual(["8 default error Y down 9 A2"]);
  });
  it("within the tolerance of the fixture it agrees", () => {
    const trimmed = (y: number): Setup => ({
      use: "two-stations",
      change: (s) => {
        s.offsets = { trim: { G55: { Y: y } } };
      },
    });
    expect(heads(trimmed(0.02), "G55 X20", "G1 Z-3")).toEqual(["8 same information Y down 9 A2"]);
    expect(heads(trimmed(0.03), "G55 X20", "G1 Z-3")).toEqual(["8 default error Y down 9 A2"]);
  });
});

describe("what several rules ask for", () => {
  it("is looked for once a run", () => {
    const { analysis } = tell("incremental-left", two, [...HEAD, "G55 X20", "G1 Z-3 F300", "M30"]);
    const [rule] = rules;
    if (rule === undefined) throw new Error("there are rules");
    const subject = { ...analysis, fixture: analysis.fixture, blockSkip: false, skippedRun: undefined, entry: "main" as const, notes: [] };
    const cx = createContext(rule, subject, { reports: [], notChecked: [] }, () => undefined);
    const all = () => {
      const it = tallies(cx);
      for (;;) {
        const next = it.next();
        if (next.done === true) return next.value;
      }
    };
    for (const ask of [staleAxes, incrementalFaults, selections, countedLoops, uncertainRounds]) expect(ask(cx)).toBe(ask(cx));
    expect(all()).toBe(all());
    expect(staleAxes(cx)).toHaveLength(1);
    expect(staleAxes({ ...cx, run: { ...cx.run }, fixture: undefined })).toEqual([]);
    expect(countedLoops({ ...cx, run: { ...cx.run }, fixture: undefined })).toEqual([]);
  });
});

describe("a cut beside the neighbour", () => {
  const beside = (setup: Setup, x: number, z = -5, more: string[] = []) =>
    tell("station-outside-part", setup, [
      "G21 G17 G40 G49 G80 G90",
      "T1 M6",
      "S4000 M3",
      `G0 G54 X${x} Y-15`,
      "G43 H1 Z50",
      "G0 Z2",
      `G1 Z${z} F500`,
      "Y60",
      ...more,
      "G0 Z50",
      "G28 G91 Z0",
      "M30",
    ]);
  it("by hand: 5.4 from A2 at X150, 74.6 from its own at X60, with a radius of 5", () => {
    const t = beside(two, 139.6);
    expect(t.findings[0]?.data).toEqual({ tool: 1, own: expect.closeTo(74.6, 6), distance: expect.closeTo(5.4, 6), neighbour: "A2" });
    expect(t.texts.map((x) => x.replace(/\{"mm":([\d.]+)\}/g, (_, n) => Number(n).toFixed(2)))).toEqual([
      `7 "G1 Z-5 F500" default(${T1}, A1, A2, 74.60, 5.40, G55) at A1; 4 related.offset(A1)`,
    ]);
    // Under G55 the same coordinates are as far beside A2: its offset is not offered.
    expect(t.fixes).toEqual([]);
  });
  it("in inches: 5.496063 is 139.6", () => {
    const t = tell("station-outside-part", two, [
      ...[
        "G20 G17 G40 G49 G80 G90",
        "T1 M6",
        "S4000 M3",
        "G0 G54 X5.496063 Y-.6",
        "G43 H1 Z2.",
        "G0 Z.08",
        "G1 Z-.2 F20.",
        "Y2.4",
        "G0 Z2.",
        "M30",
      ],
    ]);
    expect(t.findings[0]?.data).toEqual({ tool: 1, own: expect.closeTo(74.6, 4), distance: expect.closeTo(5.4, 4), neighbour: "A2" });
  });
  it("in increments", () => {
    const t = tell("station-outside-part", two, [
      ...[
        "G21 G17 G40 G49 G80 G90",
        "T1 M6",
        "S4000 M3",
        "G0 G54 X139.6 Y-15",
        "G43 H1 Z50",
        "G91 G0 Z-48",
        "G1 Z-7 F500",
        "Y75",
        "G0 Z60",
        "G90",
        "M30",
      ],
    ]);
    expect(t.findings[0]?.data).toEqual({ tool: 1, own: expect.closeTo(74.6, 6), distance: expect.closeTo(5.4, 6), neighbour: "A2" });
  });
  it("within reach: the diameter and the clearance of a cut, 10.5", () => {
    expect(beside(two, 134.6).texts).toHaveLength(1);
    expect(beside(two, 134.4).texts).toEqual([]);
    // Touching is not going in.
    expect(beside(two, 145).texts).toHaveLength(1);
    expect(beside(two, 146).texts).toEqual([]);
  });
  it("a longer clearance for rapids reaches further", () => {
    const wide: Setup = {
      use: "two-stations",
      change: (s) => {
        s.clearance = { rapid: 4 };
      },
    };
    expect(beside(wide, 125).texts).toHaveLength(1);
    expect(beside(wide, 124).texts).toEqual([]);
  });
  it("not while any of it is at its own part, nor where the neighbour is not loaded", () => {
    expect(beside(two, 139.6, -5, ["Y20", "X64"]).texts).toEqual([]);
    // Nearer than a rapid may come (2) is no longer away from it.
    expect(beside(two, 145, -5, ["Y20", "X66.9"]).texts).toEqual([]);
    expect(beside(two, 145, -5, ["Y20", "X67.1"]).texts).toHaveLength(1);
    // Farther from the neighbour (5.4) than from its own (2.1).
    expect(beside(two, 139.6, -5, ["Y20", "X67.1"]).texts).toEqual([]);
    expect(beside({ ...two, empty: ["A2"] }, 139.6).texts).toEqual([]);
    expect(beside({}, 139.6).texts).toEqual([]);
    // From one rapid to the next: the first of two cuts stands alone.
    expect(beside(two, 139.6, -5, ["G0 Z50", "X64 Y-15", "Z2", "G1 Z-5", "Y60"]).texts).toHaveLength(1);
    // A dwell does not part it.
    expect(beside(two, 139.6, -5, ["G4 P1", "Y20", "X64"]).texts).toEqual([]);
  });
  it("once for a visit and neighbour, however often", () => {
    const again = ["G0 Z50", "Y-15", "Z2", "G1 Z-4", "Y60"];
    const t = beside(two, 139.6, -5, again);
    expect(t.texts).toHaveLength(1);
    expect(t.findings[0]?.related).toHaveLength(1);
  });
  it("the nearer of two neighbours, on either side", () => {
    const three: Setup = { use: "three-stations" };
    const t = tell("station-outside-part", three, [
      ...["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G55 X-84.6 Y-15", "G43 H1 Z50", "G0 Z2", "G1 Z-5 F500", "Y60"],
      ...["G0 Z50", "X144.6 Y-15", "Z2", "G1 Z-5", "Y60", "G0 Z50", "M30"],
    ]);
    expect(t.findings.map((f) => f.data)).toEqual([
      { tool: 1, own: expect.closeTo(79.6, 6), distance: expect.closeTo(0.4, 6), neighbour: "A1" },
      { tool: 1, own: expect.closeTo(79.6, 6), distance: expect.closeTo(0.4, 6), neighbour: "A3" },
    ]);
  });
});
