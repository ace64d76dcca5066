/**
 * State that is written to the wrong register, dropped by a slash, left by a called program, by a return or by the last station:
 * programs with what the rule says in whole, worked out by hand. Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { gapsOf, hangsOnUnknown } from "../../server/src/engine/checks/unchecked.js";
import type { Fixture } from "../../server/src/engine/fixture/model.js";
import type { Run } from "../../server/src/engine/machine/run.js";
import { fixture, run as sample, station } from "../support/analysis.js";
import { type Setup, tell } from "../support/tell.js";

const two: Setup = { use: "two-stations" };
const three: Setup = { use: "three-stations" };
const HEAD = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3"];
const T1 = "tool 1 (end mill 10)";
const T2 = "tool 2 (drill 6.8)";

describe("a register that is written for another", () => {
  const g10 = (setup: Setup, ...lines: string[]) => tell("offset-register", setup, ["G21 G17 G40 G49 G80 G90", ...lines, "M30"]);
  it("L2 beyond the plain offsets: what the comment names, else the additional one of that number", () => {
    const t = g10(two, "G10 L2 P7 X-680.");
    expect(t.texts).toEqual(['2 "L2 P7" out-of-range(2, 7, out-of-range)']);
    expect(t.fixes).toEqual([["from 2", "G10 L20 P7 X-680."]]);
    expect(g10(two, "G10 L2 P7 X-530. (A2)").fixes).toEqual([["from 2", "G10 L2 P2 X-530. (A2)"]]);
    expect(g10(two, "G10 L20 P0 X-680.").texts.map((x) => x.split("(")[0])).toEqual(['2 "L20 P0" default']);
    expect(g10(two, "G10 L20 P0 X-680.").fixes).toEqual([]);
  });
  it("below the first there is nothing to offer", () => {
    const t = g10(two, "G10 L2 P-1 X-680.");
    expect(t.texts.map((x) => x.split("(")[0])).toEqual(['2 "L2 P-1" default']);
    expect(t.fixes).toEqual([]);
  });
  it("marks the two words where they stand together, else the P", () => {
    const marked = (text: string) => g10(two, text).texts.map((x) => /"(.*?)"/.exec(x)?.[1]);
    expect(marked("G10 L2P7 X-680.")).toEqual(["L2P7"]);
    expect(marked("G10 L2  P7 X-680.")).toEqual(["L2  P7"]);
    expect(marked("G10 L2   P7 X-680.")).toEqual(["P7"]);
    expect(marked("G10 L2 X-680. P7")).toEqual(["P7"]);
    expect(marked("G10 P7 L2 X-680.")).toEqual(["P7"]);
    expect(g10(two, "G10 P7 L2 X-680.").fixes).toEqual([["from 2", "G10 P7 L20 X-680."]]);
  });
  it("one way of writing the addresses is one finding, whatever the registers; its fix writes them all", () => {
    const t = g10(two, "G10 L2 P7 X-680.", "G10 L2 P7 Y-385.", "G10 L2 P8 X0");
    expect(t.texts.map((x) => x.split(";")[0])).toEqual(['2 "L2 P7" out-of-range(2, 7, out-of-range)']);
    expect(t.findings[0]?.related.map((r) => r.place.range.line)).toEqual([2, 3]);
    expect(t.fixes).toEqual([["from 2", "G10 L20 P7 X-680.", "G10 L20 P7 Y-385.", "G10 L20 P8 X0"]]);
    // A register of nobody and one beyond the plain offsets: L2 was written for L20 in both.
    const additional: Setup = {
      use: "two-stations",
      change: (s) => {
        Object.assign((s.stations as Record<string, unknown>[])[0] ?? {}, { offset: "G54.1 P6" });
      },
    };
    const mixed = g10(additional, "G10 L2 P6 X-680.", "G10 L2 P7 X-530.");
    expect(mixed.texts.map((x) => x.split("(")[0])).toEqual(['2 "L2 P6" other-kind']);
    expect(mixed.findings[0]?.related.map((r) => r.place.range.line)).toEqual([2]);
    expect(mixed.fixes).toEqual([["from 2", "G10 L20 P6 X-680.", "G10 L20 P7 X-530."]]);
    // No register at all is one address each.
    expect(g10(two, "G10 L20 P0 X0", "G10 L20 P-1 X0").texts).toHaveLength(2);
  });
  it("the number of the code for its P, where the code is a station's", () => {
    const t = g10(two, "G10 L2 P54 X-680.", "G10 L2 P55 X-530.");
    expect(t.texts).toEqual(['2 "L2 P54" code(2, 54, out-of-range, G54, 1); 3 related.more(2, 55, out-of-range, G55, 2)']);
    expect(t.fixes).toEqual([["from 2", "G10 L2 P1 X-680.", "G10 L2 P2 X-530."]]);
    expect(g10({}, "G10 L2 P54 X-680.").texts.map((x) => x.split("(")[0])).toEqual(['2 "L2 P54" code']);
    // G59 is nobody's here, so nothing speaks for it; and a comment counts more than the number.
    expect(g10(two, "G10 L2 P59 X0").texts.map((x) => x.split("(")[0])).toEqual(['2 "L2 P59" out-of-range']);
    expect(g10(two, "G10 L2 P54 X-530. (A2)").fixes).toEqual([["from 2", "G10 L2 P2 X-530. (A2)"]]);
  });
  it("the register of nobody, where the other kind is a station's", () => {
    const t = g10(two, "G10 L20 P2 X-530.");
    expect(t.texts).toEqual(['2 "L20 P2" other-kind(20, 2, G54.1 P2, G55, 2)']);
    expect(t.fixes).toEqual([["from 2", "G10 L2 P2 X-530."]]);
    // P3 is of no station in either kind; G56 neither.
    expect(g10(two, "G10 L20 P3 X-530.").texts).toEqual([]);
    expect(g10(two, "G10 L2 P3 X-530.").texts).toEqual([]);
    expect(g10(two, "G10 L2 P2 X-530.").texts).toEqual([]);
    expect(g10({}, "G10 L20 P2 X-530.").texts).toEqual([]);
  });
  it("the comment names a station or an offset, in the block or alone above it", () => {
    const said = (...lines: string[]) => g10(two, ...lines).texts;
    expect(said("G10 L2 P1 X-530. (A2)")).toEqual(['2 "L2 P1" comment(2, 1, G54, A2 (G55))']);
    expect(said("G10 L2 P1 X-530. (G55)")).toEqual(['2 "L2 P1" comment(2, 1, G54, G55)']);
    expect(said("(G55)", "G10 L2 P1 X-530.")).toEqual(['3 "L2 P1" comment(2, 1, G54, G55)']);
    expect(said("(WORK OFFSET A2)", "G10 L2 P1 X-530.")).toEqual(['3 "L2 P1" comment(2, 1, G54, A2 (G55))']);
    expect(g10(two, "G10 L2 P1 X-530. (a2)").fixes).toEqual([["from 2", "G10 L2 P2 X-530. (a2)"]]);
  });
  it("not: in passing, two names, a remark above that says more, an allow comment, the right one", () => {
    for (const comment of ["COPY OF A2", "G55 + 150", "AS A2", "A1 A2", "ALLOW offset-value: A2 IS OLD", "A1", "A22", "XA2", "G54"])
      expect(g10(two, `G10 L2 P1 X-680. (${comment})`).texts, comment).toEqual([]);
    expect(g10(two, "(A2 IS SET BY HAND)", "G10 L2 P1 X-680.").texts).toEqual([]);
    expect(g10(two, "(A2)(B)", "G10 L2 P1 X-680.").texts).toEqual([]);
    expect(g10(two, "M0 (A2)", "G10 L2 P1 X-680.").texts).toEqual([]);
    expect(g10(two, "(A2)", "", "G10 L2 P1 X-680.").texts).toEqual([]);
    expect(g10(two, "G10 L2 P0 X0 (A2)").texts).toEqual([]);
  });
  it("a bare letter or number is a name only behind STATION", () => {
    const bare: Setup = {
      use: "two-stations",
      change: (s) => {
        const [one] = s.stations as Record<string, unknown>[];
        const { repeat: _, ...rest } = one ?? {};
        s.stations = [
          { ...rest, id: "1", offset: "G54", at: [1, 1] },
          { ...rest, id: "2", offset: "G55", at: [4, 1] },
        ];
      },
    };
    expect(g10(bare, "G10 L2 P1 X-530. (2)").texts).toEqual([]);
    expect(g10(bare, "G10 L2 P1 X-530. (PART 2)").texts).toEqual([]);
    expect(g10(bare, "G10 L2 P1 X-530. (STATION 2)").texts).toEqual(['2 "L2 P1" comment(2, 1, G54, 2 (G55))']);
    expect(g10(bare, "G10 L2 P1 X-530. (ST 2)").texts).toHaveLength(1);
  });
  it("a second time where the next comes in the order", () => {
    const order = (setup: Setup, ...p: string[]) => g10(setup, ...p.map((x) => `G10 L2 ${x}`));
    const t = order(three, "P1 X1.", "P1 X2.", "P3 X3.");
    expect(t.texts).toEqual(['3 "L2 P1" order(2, 1, G54, G55); 2 related.before(2, 1, G54, G55)']);
    expect(t.fixes).toEqual([["from 3", "G10 L2 P2 X2."]]);
    // The last of three.
    expect(order(three, "P1 X1.", "P2 X2.", "P2 X3.").texts).toEqual(['4 "L2 P2" order(2, 2, G55, G56); 3 related.before(2, 2, G55, G56)']);
    // Two of two only; one axis each; the wanted one is written elsewhere, or of no station; the order does not go on.
    expect(order(three, "P2 X2.", "P2 X3.").texts).toEqual([]);
    expect(order(three, "P1 X1.", "P1 Y2.", "P3 X3.").texts).toEqual([]);
    expect(order(three, "P2 X9.", "P1 X1.", "P1 X2.", "P3 X3.").texts).toEqual([]);
    expect(order(two, "P1 X1.", "P2 X2.", "P2 X3.").texts).toEqual([]);
    expect(order(three, "P1 X1.", "P1 X2.").texts).toEqual([]);
    expect(order(three, "P3 X1.", "P1 X2.", "P1 X2.").texts).toEqual([]);
    // Without a sidecar the next one must show it.
    expect(order({}, "P1 X1.", "P1 X2.", "P3 X3.").texts).toHaveLength(1);
    expect(order({}, "P1 X1.", "P2 X2.", "P2 X3.").texts).toEqual([]);
    // The comment says that it is meant.
    expect(order(three, "P1 X1.", "P1 X2. (A1)", "P3 X3.").texts).toEqual([]);
  });
  it("not for an increment, and without L or P", () => {
    expect(g10(three, "G10 L2 P1 X1.", "G91", "G10 L2 P1 X2.", "G90", "G10 L2 P3 X3.").texts).toEqual([]);
    expect(g10(three, "G10 L2 X1.", "G10 P7 X1.", "G10 L10 P7 R1.", "G10 L99 P7 X1.").texts).toEqual([]);
  });
  it("P computed: no fix", () => {
    const t = g10(two, "#1=7", "G10 L2 P#1 X-680.");
    expect(t.texts).toHaveLength(1);
    expect(t.fixes).toEqual([]);
  });
});

describe("block skip that drops a part of a visit", () => {
  const skip = (setup: Setup, ...lines: string[]) =>
    tell("skip-partial", setup, [...HEAD, "G0 G54 X10 Y10", "G43 H1 Z50", ...lines, "M30"]).texts;
  it("the offset: the first block that moves under it, its station, and under what it moves instead", () => {
    expect(skip(two, "/ G55", "G0 X10 Y10", "G1 Z-2 F300")).toEqual(['6 "/ G55" default(G55, 7, G54) at A2; 7 related.relies()']);
    expect(skip({}, "/ G55", "G0 X10 Y10")).toEqual(['6 "/ G55" default(G55, 7, G54); 7 related.relies()']);
  });
  it("the tool; both of them are two", () => {
    expect(skip(two, "/ T2 M6", "G0 X20 Y10")).toEqual([`6 "/ T2 M6" tool(${T2}, 7, ${T1}) at A1; 7 related.relies()`]);
    expect(skip(two, "/ T2 M6", "/ G55", "G0 X20 Y10")).toEqual([
      `6 "/ T2 M6" tool(${T2}, 8, ${T1}) at A2; 8 related.relies()`,
      '7 "/ G55" default(G55, 8, G54) at A2; 8 related.relies()',
    ]);
  });
  it("not: the same again, all of it skipped, only home or in machine coordinates, the next offset comes first, with the switch on", () => {
    expect(skip(two, "/ G54", "G0 X20 Y10")).toEqual([]);
    expect(skip(two, "/ T1 M6", "G0 X20 Y10")).toEqual([]);
    expect(skip(two, "/ G55", "/ G0 X10 Y10")).toEqual([]);
    expect(skip(two, "/ G55", "G28 G91 Z0", "G90 G53 G0 X0", "G4 P1")).toEqual([]);
    expect(skip(two, "/ G55", "/ X20", "G54 X0")).toEqual([]);
    expect(skip(two, "G55", "/ X20", "X0")).toEqual([]);
    expect(skip({ ...two, blockSkip: true }, "/ G55", "G0 X10 Y10")).toEqual([]);
  });
  it("by a call behind the slash: told at its block", () => {
    const t = skip(two, "/ M98 P100", "G0 X20 Y10", "M30", "O100", "G55", "X10", "M99");
    expect(t).toEqual(['10 "G55" default(G55, 7, G54) at A2; 7 related.relies(); 6 related.called-from()']);
  });
  it("once for a block, however often it runs", () => {
    expect(skip(two, "M98 P100 L2", "M30", "O100", "/ G55", "G0 X10", "G54", "M99")).toHaveLength(1);
  });
  it("the same slash on all that relies on it, as the program writes it, is offered; not over a stop or a tool change", () => {
    const fixes = (...lines: string[]) =>
      tell("skip-partial", two, [...HEAD, "G0 G54 X10 Y10", "G43 H1 Z50", ...lines, "G28 G91 Z0", "M30"]).fixes;
    const work = ["G0 X20 Y10", "G1 Z-2 F300", "G0 Z50"];
    expect(fixes("/ G55", ...work)).toEqual([["from 7", "/ G0 X20 Y10", "/ G1 Z-2 F300", "/ G0 Z50"]]);
    expect(fixes("/2 G55", ...work)).toEqual([["from 7", "/2 G0 X20 Y10", "/2 G1 Z-2 F300", "/2 G0 Z50"]]);
    expect(fixes("/G55", ...work)).toEqual([["from 7", "/G0 X20 Y10", "/G1 Z-2 F300", "/G0 Z50"]]);
    expect(fixes("/ G55", "G0 X20 Y10", "(CUT)", "#1=2", "G1 Z-2 F300", "/ G0 Z50")).toEqual([
      ["from 7", "/ G0 X20 Y10", "(CUT)", "/ #1=2", "/ G1 Z-2 F300"],
    ]);
    for (const stop of ["M0", "M1", "T2 M6", "G10 L2 P1 X0", "/3 M8"])
      expect(fixes("/ G55", "G0 X20 Y10", stop, "G1 Z-2 F300", "G0 Z50"), stop).toEqual([]);
  });
  it("the slash is offered only where what follows finds the modes it had", () => {
    const fixes = (...lines: string[]) =>
      tell("skip-partial", three, [...HEAD, "G0 G54 X10 Y10", "G43 H1 Z50", "/ G55", ...lines, "M30"]).fixes;
    expect(fixes("G0 X20 Y10", "G1 Z-2 F300", "G0 Z50", "G0 G56 X10 Y10")).toHaveLength(1);
    for (const left of ["G91", "G18", "G20", "G99", "G95", "G41 D1 X30", "G52 X5", "G68 X0 Y0 R30", "G16"])
      expect(fixes("G0 X20 Y10", `${left} G1 Z-2 F300`, "G0 X21", "G0 G56 X10 Y10"), left).toEqual([]);
    // It ends in G1: the next block must say how it moves.
    expect(fixes("G1 X20 Y10 F300", "X30", "G0 G56 X10 Y10")).toHaveLength(1);
    expect(fixes("G1 X20 Y10 F300", "X30", "G56 X10 Y10")).toEqual([]);
    // A block that runs twice is no single visit.
    expect(fixes("M98 P100 L2", "G28 G91 Z0", "M30", "O100", "G0 X20", "G0 X30", "M99")).toHaveLength(1);
    expect(
      tell("skip-partial", three, [
        ...HEAD,
        "G0 G54 X10 Y10",
        "G43 H1 Z50",
        "M98 P100 L2",
        "M30",
        "O100",
        "/ G55",
        "G0 X20",
        "X30",
        "G54 X10",
        "M99",
      ]).fixes,
    ).toEqual([]);
  });
  it("a turn alone does not mean the station", () => {
    const t = skip({ use: "tombstone" }, "G0 Z400", "/ G55", "B180", "X20 Y10");
    expect(t).toEqual(['7 "/ G55" default(G55, 9, G54) at R1; 9 related.relies()']);
  });
});

describe("modes that a called program leaves", () => {
  const main = (call: string[], sub: string[], before: string[] = []) =>
    tell("sub-leaves-state", two, ["O1", ...HEAD, "G0 G54 X0 Y0", "G43 H1 Z50", ...before, "M98 P100", ...call, "M30", "O100", ...sub]);
  const said = (call: string[], sub: string[], before: string[] = []) => main(call, sub, before).texts;
  // Head 1 to 6, the call 7, one block 8, M30 9, O100 10, the program from 11.
  it.each([
    ["distance", "G91", "G90", "G0 X40"],
    ["plane", "G18", "G17", "G2 X10 Z40 R9"],
    ["plane", "G19", "G17", "G41 D1"],
    ["units", "G20", "G21", "G0 X1"],
    ["feed", "G95", "G94", "G0 F0.2"],
    ["motion", "G1 X5 F300", "G0", "X40"],
    ["level", "G99", "G98", "G81 X9 Z-5 R2 F100"],
  ])("%s: set, left, relied on", (_, sets, before, relies) => {
    const after = sets.split(" ")[0];
    const texts = said([relies], [sets, "M99"]);
    const args = `(O100, ${before}, ${after}, 8)`;
    expect(texts).toEqual([`12 "M99" default${args}; 11 related.set${args}; 8 related.relies${args}; 7 related.called-from()`]);
    expect(main([relies], [sets, "M99"]).findings[0]?.data).toEqual({ before, after });
    expect(main([relies], [sets, "M99"]).fixes).toEqual([["from 12", `${before} M99`]]);
  });
  it.each([
    ["distance stated", "G90 G0 X40", "G91"],
    ["distance, machine coordinates", "G53 X0", "G91"],
    ["distance, a dwell", "G4 X1", "G91"],
    ["distance, no axis", "M8", "G91"],
    ["plane stated", "G17 G2 X10 Y4 R9", "G18"],
    ["plane, a line", "G1 X10 F300", "G18"],
    ["feed, none stated", "G1 X10", "G95"],
    ["feed stated", "G94 G1 X10 F300", "G95"],
    ["units stated", "G21 G0 X1", "G20"],
    ["units, no axis", "M8", "G20"],
    ["level, no cycle", "G0 X1", "G99"],
    ["level stated", "G98 G81 X9 Z-5 R2 F100", "G99"],
    ["motion stated", "G0 X40", "G1 X5 F300"],
    ["motion, home", "G28 Z0", "G1 X5 F300"],
    ["motion, machine coordinates", "G53 X0", "G1 X5 F300"],
    ["motion, another stated", "G2 X20 R20", "G1 X5 F300"],
    ["motion, a cut as before", "X9", "G0 X5"],
  ])("%s: nothing", (_, relies, sets) => {
    expect(said([relies], [sets, "M99"], sets === "G0 X5" ? ["G0 X1"] : [])).toEqual([]);
  });
  it("back to what the control starts with is nothing left", () => {
    expect(said(["X40"], ["G90", "M99"], ["G91"])).toEqual([]);
    expect(said(["G2 X10 Z40 R9"], ["G17", "M99"], ["G18"])).toEqual([]);
    expect(said(["G1 X9 F300"], ["G94", "M99"], ["G95"])).toEqual([]);
    expect(said(["G81 X9 Z-5 R2 F100"], ["G98", "M99"], ["G99"])).toEqual([]);
    expect(said(["X9"], ["G91", "G90", "M99"])).toEqual([]);
  });
  it("the first block that relies counts, behind others that do not; not behind one that states it", () => {
    expect(said(["M8", "X9"], ["G91", "M99"])[0]).toMatch(/^13 "M99" default\(O100, G90, G91, 9\)/);
    expect(said(["G90", "X9"], ["G91", "M99"])).toEqual([]);
  });
  it("what a program called from there has set is that program's", () => {
    // Main 1 to 9, O100 10, M98 P200 11, M99 12, O200 13, G91 14, M99 15: O100's return relies on nothing.
    const t = said(["G0 X40"], ["M98 P200", "M99", "O200", "G91", "M99"]);
    expect(t.map((x) => x.split(";")[0])).toEqual(['15 "M99" default(O200, G90, G91, 8)']);
  });
  it("one finding for a return, and the last block that set it", () => {
    const t = said(["G0 X40"], ["G91", "G90", "G91", "G20", "M99"]);
    expect(t).toHaveLength(1);
    expect(t[0]).toMatch(/^15 "M99" default\(O100, G90, G91, 8\); 13 related\.set/);
  });
});

describe("what is not checked", () => {
  const visited = (n: Partial<Fixture>, change: Partial<Run> = {}): string[] =>
    gapsOf({ ...sample, ...change }, fixture(n), undefined).map(
      (g) =>
        `${g.what.key}(${Object.values(g.what.args)
          .map((a) => JSON.stringify(a))
          .join()}) ${g.why.key}(${Object.values(g.why.args)
          .map((a) => JSON.stringify(a))
          .join()})`,
    );
  const whole = fixture();
  const travel = { X: [0, 1], Y: [0, 1], Z: [0, 1] } as const;
  const known = {
    machine: { ...whole.machine, rapid: { X: 1, Y: 1, Z: 1 }, travel: { X: [...travel.X], Y: [...travel.Y], Z: [...travel.Z] } },
    stored: new Map([["G54", {}]]),
    hasTools: true,
  } as unknown as Partial<Fixture>;
  const tool = { LF: 100, DC: 10, hasHolder: true };
  const T = (change: object) => ({ ...known, tools: new Map([[1, { ...tool, ...change } as never]]) });
  it("nothing where all is given; all of it where nothing is", () => {
    expect(visited(T({}))).toEqual([]);
    expect(visited({})).toEqual([
      'what.time() why.no-rapid({"list":["X","Y","Z"]})',
      "what.holders() why.no-tools()",
      "what.travel() why.no-travel()",
      "what.offsets-stored() why.no-stored()",
    ]);
    expect(gapsOf(sample, undefined, undefined)).toEqual([]);
    expect(gapsOf({ ...sample, complete: false }, undefined, undefined).map((g) => [g.what.key, g.why.key])).toEqual([
      ["what.rest", "why.bound"],
    ]);
  });
  it("axes one by one", () => {
    const m = { ...whole.machine, rapid: { X: 1, Z: 1 }, travel: { Y: [0, 1] } } as unknown as Fixture["machine"];
    expect(visited({ ...T({}), machine: m })).toEqual([
      'what.time() why.no-rapid({"list":["Y"]})',
      'what.travel() why.no-travel-axis("X")',
      'what.travel() why.no-travel-axis("Z")',
    ]);
  });
  it("one axis of travel is enough to tell of the others", () => {
    for (const [axis, left] of [
      ["X", ["Y", "Z"]],
      ["Y", ["X", "Z"]],
      ["Z", ["X", "Y"]],
    ] as const) {
      const machine = { ...whole.machine, rapid: { X: 1, Y: 1, Z: 1 }, travel: { [axis]: [0, 1] } } as unknown as Fixture["machine"];
      expect(visited({ ...T({}), machine })).toEqual(left.map((a) => `what.travel() why.no-travel-axis("${a}")`));
    }
  });
  it("of a tool: not described, no length, no width, no holder", () => {
    expect(visited({ ...known, tools: new Map() })).toEqual(["what.tool(1) why.no-tool()"]);
    expect(visited(T({ LF: Number.NaN }))).toEqual(["what.length-of-tool(1) why.no-length()"]);
    expect(visited(T({ DC: Number.NaN }))).toEqual(["what.width-of-tool(1) why.no-diameter()"]);
    expect(visited(T({ hasHolder: false }))).toEqual(["what.holder-of-tool(1) why.no-holder()"]);
    const of = (t: number) => sample.visits.map((v) => ({ ...v, tool: t }));
    expect(visited(T({}), { visits: of(0) })).toEqual([]);
    const visits = [...of(7), ...of(2)];
    expect(visited(T({}), { visits })).toEqual(["what.tool(2) why.no-tool()", "what.tool(7) why.no-tool()"]);
  });
  it("of stations: unknown solids of any, no moving jaw, a position that misses a field where one goes", () => {
    const list = (...s: ReturnType<typeof station>[]) => ({ ...T({}), stations: s });
    const B = station({ index: 1, id: "B", offset: "G55", unknownSolids: ["stock", "fixed jaw"] as never });
    expect(visited(list(station({ unknownSolids: ["stock"] as never }), B))).toEqual([
      'what.solid("stock",{"list":["A1","B"]}) why.no-size()',
      'what.solid("fixed jaw",{"list":["B"]}) why.no-size()',
    ]);
    expect(visited(list(station(), station({ index: 1, id: "B", movingJaw: undefined })))).toEqual([
      'what.solid("moving jaw",{"list":["B"]}) why.no-element()',
    ]);
    for (const axis of ["X", "Y", "Z"]) {
      const lost = { X: 0, Y: 0, Z: 0, rotary: undefined, [axis]: Number.NaN };
      expect(visited(list(station({ computed: lost })))).toEqual(['what.station-position("A1") why.no-field()']);
      expect(visited(list(station(), station({ index: 1, id: "B", computed: lost })))).toEqual([]);
    }
  });
  it("nothing moved: only what holds for any program", () => {
    const still = { visits: [], moves: [] };
    expect(visited({ stations: [station({ movingJaw: undefined, unknownSolids: ["stock"] as never })] }, still)).toEqual([
      "what.travel() why.no-travel()",
      "what.offsets-stored() why.no-stored()",
    ]);
  });
  it("the program writes the offsets itself", () => {
    const write = (register: string) =>
      visited({ ...T({}), stored: new Map() }, { writes: [{ step: 0, register, l: 2, p: 1, incremental: false, axes: new Map() }] });
    expect(write("G54")).toEqual([]);
    expect(write("P12")).toEqual([]);
    expect(write("shift")).toEqual(["what.offsets-stored() why.no-stored()"]);
    expect(write("length:1")).toEqual(["what.offsets-stored() why.no-stored()"]);
  });
  it("moves without a clearance: by reason and program, the first line, how many", () => {
    const unchecked = new Map([
      [2, "why.start"],
      [0, "why.start"],
      [1, "why.start"],
      [9, "why.start"],
    ]);
    const c = { contacts: [], contactsOf: () => [], least: () => [], unchecked };
    expect(gapsOf(sample, fixture(T({})), c)).toEqual([
      { what: { key: "what.moves", args: { count: 2, line: 3, file: "part.nc" } }, why: { key: "why.start", args: {} } },
      { what: { key: "what.move", args: { count: 1, line: 2, file: "O200.nc" } }, why: { key: "why.start", args: {} } },
    ]);
  });
  it("whether a condition or a jump hung on the unknown", () => {
    const run = (key: string) => ({ ...sample, notChecked: [{ what: { key: "what.rest", args: {} }, why: { key, args: {} } }] });
    expect(["why.condition", "why.jump-value", "why.bound"].map((k) => hangsOnUnknown(run(k)))).toEqual([true, true, false]);
    expect(hangsOnUnknown(sample)).toBe(false);
  });
});
