/**
 * Tools that work at another side than the station's, run another op's program, or do a path again: programs with what the rule says
 * in whole, worked out by hand from the sample fixtures. Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { type Setup, tell } from "../support/tell.js";

const T1 = "tool 1 (end mill 10)";
const T2 = "tool 2 (drill 6.8)";

/** A sidecar with another machine's dialect. */
const speaking = (use: string, dialect: object): Setup => ({
  use,
  change: (s) => void Object.assign(s.machine as object, { dialect: { extends: "iso", ...dialect } }),
});

describe("station-wrong-face", () => {
  // F1 (G54) stands on the face at 0°, R1 (G55) on the one at 180°. Lines 1 and 2, then those given.
  const tombstone: Setup = { use: "tombstone" };
  const face = (setup: Setup, ...lines: string[]) => {
    const t = tell("station-wrong-face", setup, ["G21 G17 G40 G49 G80 G90", "T1 M6", ...lines, "M30"]);
    return [...t.texts.map((x) => x.replace(/\{"deg":(-?\d+)\}/g, "$1°")), ...t.fixes.map((f) => f.join(" "))];
  };
  const said = (...lines: string[]) => face(tombstone, ...lines);
  const home = "G28 G91 Z0";
  const atFront = [home, "G90 B0", "G0 G54 X10 Y10", "G43 H1 Z50", "G1 Z-2 F300"];
  const front = (angle: number) => `default(F1, 0°, ${angle}°, ${T1}) at F1`;
  const rear = (angle: number, tool = T1) => `default(R1, 180°, ${angle}°, ${tool}) at R1`;

  it("the offset in force from the start, or from before the first tool, is the first tool's own", () => {
    const lines = [home, "G90 B180", "G0 X10 Y10", "G55 X10 Y10"];
    expect(said(...lines)).toEqual([`5 "G0 X10 Y10" ${front(180)}; 4 related.index()`, "from 4 G90 B0"]);
    const t = tell("station-wrong-face", tombstone, ["G21 G17 G40 G49 G80 G90 G54", "T1 M6", ...lines, "M30"]);
    expect(t.findings.map((f) => f.station)).toEqual(["F1"]);
    expect(t.findings[0]?.data).toEqual({ face: 0, angle: 180, tool: 1 });
  });
  it("an offset that the tool before left is that fault alone; one that is stated in the block of the change is not left", () => {
    const back = [...atFront, home, "G90 B180", "G55 X3", home, "G90 B0"];
    expect(said(...back, "T2 M6", "G0 X3 Y3")).toEqual([]);
    expect(said(...back, "T2 M6 G55", "G90 G0 X3 Y3")[0]).toBe(`14 "G90 G0 X3 Y3" ${rear(0, T2)}; 12 related.index()`);
    // Where one offset serves the whole program, nobody states it again.
    const one = ["G55", home, "G90 B180", "G0 X10 Y10", home, "G90 B0", "T2 M6", "G0 X20 Y10"];
    expect(said(...one)).toEqual([`10 "G0 X20 Y10" ${rear(0, T2)}; 8 related.index()`, "from 8 G90 B180"]);
  });
  it("a turn that G91 has made into another one is that fault alone", () => {
    expect(said(home, "G90 B90", home, "G0 B180", "G90 G0 G55 X10 Y10")).toEqual([]);
    expect(said(home, "G90 B90", home, "G90 G0 B90", "G55 X10 Y10")).toHaveLength(2);
  });
  it("an angle that is not known is listed", () => {
    const t = tell("station-wrong-face", tombstone, ["G21 G17 G40 G49 G80 G90", "T1 M6", "G0 G54 X10 Y10", "X11", "G55 X3", "M30"]);
    expect(t.texts).toEqual([]);
    const why = { key: "why.rotary-unknown", args: {} };
    const turned = tell("station-wrong-face", tombstone, ["G21 G17 G40 G49 G80 G90", home, "G90 B180", "T1 M6", "G0 G55 X10 Y10", "M30"]);
    expect(turned.analysis.notChecked.map((n) => n.what.key)).not.toContain("station-wrong-face/what.face");
    for (const station of ["F1", "R1"])
      expect(t.analysis.notChecked).toContainEqual({ what: { key: "station-wrong-face/what.face", args: { station } }, why });
  });
  it("two faces under one turn are two findings, another turn is another one", () => {
    expect(said(home, "G90 B90", "G0 G54 X10 Y10", "G55 X20 Y10", "G54 X3")).toEqual([
      `5 "G0 G54 X10 Y10" ${front(90)}; 4 related.index(); 7 related.also-at(F1, 0°, 90°, ${T1})`,
      `6 "G55 X20 Y10" ${rear(90)}; 4 related.index()`,
      "from 4 G90 B0",
      "from 4 G90 B180",
    ]);
    expect(said(home, "G90 B90", "G0 G55 X10 Y10", home, "G90 B95", "G55 X3").slice(0, 2)).toEqual([
      `5 "G0 G55 X10 Y10" ${rear(90)}; 4 related.index()`,
      `8 "G55 X3" ${rear(95)}; 7 related.index()`,
    ]);
  });
  it("a way in machine coordinates or a rapid between leaves the turn to this visit, an arc does not", () => {
    expect(said(home, "G90 B90", "G53 X0", "G0 G55 X10 Y10")[1]).toBe("from 4 G90 B180");
    expect(said(home, "G90 B0", "G0 G54 X10 Y10", "G55 X20")[1]).toBe("from 4 G90 B180");
    const arc = [...atFront.slice(0, 3), "G43 H1 Z300", "G2 X10 Y10 I5 F300", "G0 Z350"];
    expect(said(...arc, "G55 X20")[1]).toBe("from 9 G0 B180");
  });
  it("no fix where the block goes on in the feed of the block before: a turn of its own would change that", () => {
    const lines = [...atFront.slice(0, 3), "G43 H1 Z300", "G1 X12 F300", "G55 X20 Y10"];
    expect(said(...lines)).toEqual([`8 "G55 X20 Y10" ${rear(0)}; 4 related.index()`]);
  });
  it("no fix: the tool is still down there, G91 is meant, the offset holds the angle", () => {
    expect(said(...atFront, "G0 G55 X20 Y10")).toEqual([`8 "G0 G55 X20 Y10" ${rear(0)}; 4 related.index()`]);
    expect(said(...atFront, home, "G91 G0 G55 X20")).toEqual([`9 "G91 G0 G55 X20" ${rear(0)}; 4 related.index()`]);
    const inOffset: Setup = {
      use: "tombstone",
      change: (s) => {
        ((s.machine as Record<string, unknown>).rotary as Record<string, unknown>).inOffset = true;
      },
    };
    expect(face(inOffset, home, "G90 G55 B90", "G0 X10 Y10")).toHaveLength(1);
  });
});

describe("station-wrong-op", () => {
  // Head 1 to 7; two lines for each visit from 8 on. A1, A2 are G54, G55; the stations of op20 follow from G56 on.
  const head = ["O1", "G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X0 Y0", "G43 H1 Z50", "M9"];
  const END = ["G28 G91 Z0", "M30"];
  const sub = (n: number, x: number) => [`O${n}`, `G90 G0 X${x} Y20`, "Z2", "G1 Z-3 F300", "Y10", "G0 Z50", "M99"];
  const subs = [...sub(100, 10), ...sub(200, 30), ...sub(300, 50)];
  const calls = (...list: [number, number][]) => list.flatMap(([offset, program]) => [`G${offset}`, `M98 P${program}`]);
  const wrong = (setup: Setup, ...lines: string[]) => {
    const t = tell("station-wrong-op", setup, [...head, ...lines, ...END, ...subs]);
    return [...t.texts.map((x) => x.replace("bracket, op10, ", "").replace("bracket, op20, ", "")), ...t.fixes.map((f) => f.join(" "))];
  };
  /** So many stations of op20. */
  const op20 = (count: number): Setup => ({
    use: "two-ops",
    change: (s) => {
      Object.assign((s.stations as object[])[1] ?? {}, { repeat: { columns: count, rows: 1, step: [2, 4] } });
    },
  });
  const B2 = (instead = "O200") => `default(B2, ${T1}, O100, ${instead}) at B2`;

  it("the sibling that is named is one of the station's own op", () => {
    // A1 runs O200 too, before B1 does.
    const lines = calls([54, 100], [54, 200], [55, 100], [56, 200], [57, 100]);
    expect(wrong({ use: "two-ops" }, ...lines)).toEqual([`17 "M98 P100" ${B2()}; 15 related.sibling(B1, O200)`, "from 17 M98 P200"]);
    const t = tell("station-wrong-op", { use: "two-ops" }, [...head, ...lines, ...END, ...subs]);
    expect(t.findings[0]?.data).toEqual({ tool: 1, op: "op20", usedBy: "op10" });
  });
  it("a sibling that runs it as well makes it the op's own, whatever the others run", () => {
    const a: [number, number][] = [
      [54, 100],
      [55, 100],
    ];
    expect(wrong(op20(4), ...calls(...a, [56, 200], [57, 100], [58, 100], [59, 200]))).toEqual([]);
    expect(wrong(op20(4), ...calls(...a, [56, 200], [57, 100], [58, 300], [59, 200]))).toHaveLength(2);
  });
  it("half of the siblings tell what the station should run, fewer do not; one alone tells nothing", () => {
    const a: [number, number][] = [
      [54, 100],
      [55, 100],
    ];
    expect(wrong(op20(3), ...calls(...a, [56, 200], [57, 100], [58, 300]))[0]).toBe(`15 "M98 P100" ${B2()}; 13 related.sibling(B1, O200)`);
    expect(wrong(op20(4), ...calls(...a, [56, 200], [57, 100], [58, 300]))).toEqual([]);
    expect(wrong(op20(1), ...calls([54, 200], ...a, [56, 100]))).toEqual([]);
    // Half of the other op is not most of it.
    expect(wrong(op20(2), ...calls([54, 100], [55, 300], [56, 200], [57, 100]))).toEqual([]);
  });
  it("two stations that run two programs of the other op are two findings", () => {
    const a: [number, number][] = [
      [54, 100],
      [54, 300],
      [55, 100],
      [55, 300],
    ];
    const lines = calls(...a, [56, 200], [57, 100], [58, 300], [59, 200]);
    const { findings } = tell("station-wrong-op", op20(4), [...head, ...lines, ...END, ...subs]);
    expect(findings.map((f) => [f.station, f.message.args.what])).toEqual([
      ["B2", "O100"],
      ["B3", "O300"],
    ]);
  });
  it("a station that is not loaded, and an offset of none", () => {
    expect(wrong({ ...op20(3), empty: ["B2"] }, ...calls([54, 100], [55, 100], [56, 200], [57, 100], [58, 200]))).toEqual([]);
    expect(wrong(op20(2), ...calls([59, 200], [54, 100], [55, 100], [56, 200], [57, 100]))[0]).toBe(
      `17 "M98 P100" ${B2()}; 15 related.sibling(B1, O200)`,
    );
  });
  it("lines of the program itself, by their label: no fix", () => {
    const local = ["N100 G90 G0 X10 Y20", "Z2", "G1 Z-3 F300", "Y10", "G0 Z50", "M99"];
    const other = ["N200 G90 G0 X30 Y20", "Z2", "G1 Z-3 F300", "Y10", "G0 Z50", "M99"];
    const by = (...list: [number, number][]) => list.flatMap(([offset, label]) => [`G${offset}`, `M97 P${label}`]);
    const t = tell("station-wrong-op", { use: "two-ops" }, [
      ...[...head, ...by([54, 100], [55, 100], [56, 200], [57, 100])],
      ...[...END, ...local, ...other],
    ]);
    expect(t.findings.map((f) => [f.station, f.message.args.what, f.message.args.instead, f.fixes.length])).toEqual([
      ["B2", "N100", "N200", 0],
    ]);
    // Program 100 and label 100 are two things.
    const mixed = [...calls([54, 100], [55, 100], [56, 200]), "G57", "M97 P100"];
    expect(tell("station-wrong-op", { use: "two-ops" }, [...head, ...mixed, ...END, ...local, ...subs]).texts).toEqual([]);
  });
  it("no fix: a macro call beside G98, a P that holds the repeats as well", () => {
    const three = calls([54, 100], [55, 100], [56, 200]);
    expect(wrong({ use: "two-ops" }, ...three, "G57", "G98 G65 P100")).toHaveLength(1);
    const packed = speaking("two-ops", { packedRepeat: true });
    expect(wrong(packed, ...three, "G57", "M98 P100")).toHaveLength(2);
    expect(wrong(packed, ...three, "G57", "M98 P20100")).toHaveLength(1);
  });
});

describe("station-repeated", () => {
  const HEAD = ["O1", "G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X10 Y20", "G43 H1 Z50", "M98 P100"];
  const END = ["G28 G91 Z0", "M30"];
  const SUB = ["O100", "G90 G0 X10 Y20", "Z2", "G1 Z-3 F300", "X40", "G0 Z50", "M99"];
  const twice = (setup: Setup, lines: string[], sub = SUB) => {
    const t = tell("station-repeated", setup, [...HEAD, ...lines, ...END, ...sub]);
    return [...t.texts, ...t.fixes.map((f) => f.join(" "))];
  };
  const three: Setup = { use: "three-stations" };
  it("repeated by the call's letter or by its P: on the call", () => {
    expect(twice(three, ["G55", "M98 P100 L2"])).toEqual([`9 "M98 P100 L2" default(A2, ${T1}, A3, G56) at A2; 8 related.first()`]);
    const packed = speaking("three-stations", { packedRepeat: true });
    expect(twice(packed, ["G55", "M98 P20100"])).toEqual([`9 "M98 P20100" default(A2, ${T1}, A3, G56) at A2; 8 related.first()`]);
    // Three times by two calls.
    expect(twice(three, ["G55", "M98 P100", "M98 P100 L2"])[0]).toContain(`10 "M98 P100 L2" default(A2, ${T1}, A3, G56)`);
  });
  it("the called program does it twice itself: on its cut", () => {
    const again = ["O200", ...SUB.slice(1, -1), ...SUB.slice(1)];
    expect(twice(three, ["G55", "M98 P200"], [...SUB, ...again])).toEqual([
      `27 "G1 Z-3 F300" default(A2, ${T1}, A3, G56) at A2; 8 related.first(); 9 related.called-from()`,
    ]);
    // As a number of its own, not two times program 100.
    const high = ["O20100", ...again.slice(1)];
    expect(twice(three, ["G55", "M98 P20100"], [...SUB, ...high])[0]).toContain('27 "G1 Z-3 F300"');
  });
  it("written out: on the selection, or on the first cut where nothing is selected between", () => {
    const path = ["G0 X10 Y20", "Z2", "G1 Z-3 F300", "X40", "G0 Z50"];
    const lines = ["O1", "G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X10 Y20", "G43 H1 Z50"];
    const t = (...more: string[]) => tell("station-repeated", three, [...lines, ...path, ...more, ...END]).texts;
    expect(t("G55", ...path, ...path)).toEqual([`20 "G1 Z-3 F300" default(A2, ${T1}, A3, G56) at A2; 12 related.first()`]);
    // The first under the offset in force from the start has no selection to point at.
    const start = [...lines.slice(0, 4), "G43 H1 Z50", ...path, ...path, "G55", ...path, ...END];
    expect(tell("station-repeated", three, start).texts).toEqual([`13 "G1 Z-3 F300" default(A1, ${T1}, A3, G56) at A1; 8 related.first()`]);
  });
  it("computed by the block: no fix", () => {
    expect(twice(three, ["G55", "M98 P100", "#1=55", "G#1", "M98 P100"])).toEqual([
      `11 "G#1" default(A2, ${T1}, A3, G56) at A2; 8 related.first()`,
    ]);
  });
});

/** A row of two of which the second has an offset that the dialect does not know. */
const nameless = (use: string, count: number): Setup => ({
  use,
  change: (s) => {
    const { repeat: _, ...one } = (s.stations as Record<string, unknown>[])[0] ?? {};
    s.stations = Array.from({ length: count }, (__, k) => ({
      ...one,
      id: `A${k + 1}`,
      at: [1 + 3 * k, 1],
      offset: k === count - 1 ? "G999" : `G${54 + k}`,
    }));
  },
});

describe("where the sidecar does not say the offset that is meant", () => {
  it("station-repeated names the station, and offers nothing", () => {
    const cut = ["X10 Y20", "Z2", "G1 Z-3 F300", "X40", "G0 Z50"];
    const t = tell("station-repeated", nameless("three-stations", 3), [
      ...["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X0 Y0", "G43 H1 Z50"],
      ...[...cut, "G55", ...cut, "G55", ...cut, "G28 G91 Z0", "M30"],
    ]);
    expect(t.texts).toEqual([`17 "G55" no-offset(A2, ${T1}, A3, ) at A2; 11 related.first()`]);
    expect(t.fixes).toEqual([]);
  });
  it("station-outside-part", () => {
    const lines = ["G0 G54 X10 Y20", "G43 H1 Z50", "Z2", "G1 Z-3 F300", "G0 Z50", "X144", "G1 Z-3", "G0 Z50"];
    const t = tell("station-outside-part", nameless("two-stations", 2), ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", ...lines, "M30"]);
    expect(t.texts).toEqual([`10 "G1 Z-3" no-offset(${T1}, A1, A2, {"mm":79}, {"mm":1}, ) at A1; 4 related.offset(A1)`]);
    expect(t.fixes).toEqual([]);
  });
});

describe("station-outside-part", () => {
  // The stock is 60 by 41 from the part zero on; A2 stands 150 on in X. At X144 the tool of 10 is 79 from A1's stock and 1 from A2's.
  const START = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3"];
  const AWAY = ["G0 Z50", "X144 Y20", "G1 Z-3 F300", "G0 Z50"];
  const outside = (...lines: string[]) => {
    const t = tell("station-outside-part", { use: "two-stations" }, [...START, ...lines, ...AWAY, "G28 G91 Z0", "M30"]);
    return { ...t, offered: t.fixes.map((f) => f.join(" ")) };
  };
  const cut = (x: number, y: number, ...rest: string[]) => [`G0 G54 X${x} Y${y}`, "G43 H1 Z50", "G1 Z-3 F300", ...rest];

  it("in whole", () => {
    const t = outside(...cut(10, 20));
    expect(t.texts).toEqual([`9 "G1 Z-3 F300" default(${T1}, A1, A2, {"mm":79}, {"mm":1}, G55) at A1; 4 related.offset(A1)`]);
    expect(t.offered).toEqual(["from 4 G0 G55 X10 Y20"]);
    expect(t.findings[0]?.data).toEqual({ tool: 1, own: 79, distance: 1, neighbour: "A2" });
    expect(t.findings[0]?.fixes.map((f) => [f.sameMotion, f.title.args])).toEqual([[false, { offset: "G55", neighbour: "A2" }]]);
  });
  it("the neighbour's offset is offered where a cut of the visit then reaches the neighbour's stock", () => {
    const offered = (x: number, y: number, ...rest: string[]) => outside(...cut(x, y, ...rest)).offered.length;
    // The radius of 5 beside 0 … 60 and 0 … 41.
    expect([-5.1, -4.9, 64.9, 65.1].map((x) => offered(x, 20))).toEqual([0, 1, 1, 0]);
    expect([-5.1, -4.9, 45.9, 46.1].map((y) => offered(30, y))).toEqual([0, 1, 1, 0]);
    // A way that begins or ends there.
    expect([offered(-8, 20, "X-6"), offered(-8, 20, "X-4"), offered(-4, 20, "X-8")]).toEqual([0, 1, 1]);
    expect([offered(68, 20, "X66"), offered(68, 20, "X64"), offered(64, 20, "X68")]).toEqual([0, 1, 1]);
  });
  it("a rapid is no cut, an arc is one, and what another tool has cut there is another visit", () => {
    const up = ["G0 G54 X30 Y20", "G43 H1 Z50", "X40"];
    expect(outside(...up).offered).toEqual([]);
    expect(outside(...up, "G2 X40 Y20 I-5 F300").offered).toHaveLength(1);
    const by = ["T2 M6", "G0 G54 X30 Y20", "G43 H2 Z50", "G1 Z-3 F300", "G28 G91 Z0", "T1 M6", "G90 G0 G54 X144 Y20", "G43 H1 Z50"];
    expect(outside(...by).findings).toHaveLength(1);
    expect(outside(...by).offered).toEqual([]);
  });
  it("no fix where nothing or a computed word selects the offset", () => {
    const t = outside("G0 X30 Y20", "G43 H1 Z50", "G1 Z-3 F300");
    expect(t.texts).toEqual([`9 "G1 Z-3 F300" default(${T1}, A1, A2, {"mm":79}, {"mm":1}, G55) at A1`]);
    expect(t.offered).toEqual([]);
    const computed = outside("#1=54", "G0 G#1 X30 Y20", "G43 H1 Z50", "G1 Z-3 F300");
    expect(computed.findings).toHaveLength(1);
    expect(computed.offered).toEqual([]);
  });
  it("a tool that the sidecar does not describe has no width: exactly the stock", () => {
    const bare = (x: number) => {
      const lines = ["T9 M6", `G0 G54 X${x} Y20`, "G43 H9 Z50", "G1 Z-3 F300", ...AWAY, "G28 G91 Z0", "M30"];
      return tell("station-outside-part", { use: "two-stations" }, [...START, ...lines]).fixes.length;
    };
    expect([-0.1, 0.1, 59.9, 60.1].map(bare)).toEqual([0, 1, 1, 0]);
  });
  it("the same place again by one tool is one finding, by another tool or at another place another one", () => {
    const at = (x: number, tool: number) => [
      `T${tool} M6`,
      "S4000 M3",
      `G0 G54 X${x} Y20`,
      `G43 H${tool} Z50`,
      "G1 Z-3 F300",
      "G28 G91 Z0",
      "G90",
    ];
    const count = (...visits: string[][]) => {
      const found = tell("station-outside-part", { use: "two-stations" }, ["G21 G17 G40 G49 G80 G90", ...visits.flat(), "M30"]).findings;
      return found.map((f) => f.related.filter((r) => r.message.key === "related.also-at").length);
    };
    expect(count(at(144, 1), at(30, 2), at(144, 1))).toEqual([1]);
    expect(count(at(144, 1), at(30, 2), at(144.02, 1))).toEqual([0, 0]);
    expect(count(at(144, 1), at(144, 2))).toEqual([0, 0]);
  });
});
