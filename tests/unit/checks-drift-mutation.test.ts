/**
 * Copies of one path that differ in a word: programs with what station-drift says of them, worked out by hand from the row of the
 * sample fixture (A1 G54, A2 G55, A3 G56 …). Asked for by mutation testing.
 */
import { describe, expect, it } from "vitest";
import { type Setup, tell } from "../support/tell.js";

const three: Setup = { use: "three-stations" };
const four: Setup = { use: "four-stations" };
const T1 = "tool 1 (end mill 10)";
const HEAD = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X10 Y20", "G43 H1 Z50"];
const END = ["G28 G91 Z0", "M30"];

/** What the rule says of lines behind the five of the head: line, station, word and what the others have. */
const drift = (setup: Setup, ...lines: string[]) =>
  tell("station-drift", setup, [...HEAD, ...lines, ...END]).texts.map((x) =>
    x.replace(/^(\d+) ".*?" default\((\w+), (.*?), (.*?), (\d), tool.*$/, "$1 $2 $3 for $4 of $5"),
  );
/** The same lines at A1, A2 and A3, those of A2 changed. A1 begins at line 6. */
const second = (lines: string[], changed: string[], setup = three) =>
  drift(setup, ...lines, "G55 X10 Y20", ...changed, "G56 X10 Y20", ...lines);
/** The first station of the sample and others like it, each with something of its own. */
const apart = (...own: Record<string, unknown>[]): Setup => ({
  use: "three-stations",
  change: (s) => {
    const { repeat: _, ...one } = (s.stations as Record<string, unknown>[])[0] ?? {};
    s.stations = own.map((o, k) => ({ ...one, id: `A${k + 1}`, offset: `G${54 + k}`, at: [1 + 3 * k, 1], ...o }));
    s.fixedJaws = { ...(s.fixedJaws as object), fj22: { face: 22, length: 40, width: 60, height: 45 } };
  },
});

describe("what makes two copies differ", () => {
  it("the height of a rapid between two cuts", () => {
    const path = (z: string) => ["Z2", "G1 Z-3 F300", `G0 Z${z}`, "X40", "G1 Z-3", "G0 Z50"];
    expect(second(path("5"), path("4"))).toEqual(["15 A2 Z4 for Z5 of 2"]);
  });
  it("the plane from which a cycle feeds; the radius of an arc with the same ends; a code", () => {
    const holes = (r: string) => [`G98 G81 X10 Y20 Z-3 R${r} F300`, "X40", "G80"];
    expect(second(holes("2"), holes("3"))).toEqual(["10 A2 R3 for R2 of 2"]);
    const arc = (r: string, g = "G2") => ["Z2", "G1 Z-3 F300", "X40", `${g} X50 Y30 R${r}`, "X60", "G0 Z50"];
    expect(second(arc("10"), arc("12"))).toEqual(["16 A2 R12 for R10 of 2"]);
    expect(second(arc("10"), arc("10", "G3"))).toEqual(["16 A2 G3 for G2 of 2"]);
  });
  it("a code that the others have in other words or in another order", () => {
    const pecks = (codes: string) => [`${codes} X10 Y20 Z-9 R2 Q3 F300`, "X40", "G80"];
    expect(second(pecks("G83 G98"), pecks("G98 G73"))).toEqual(["10 A2 G73 for G83 of 2"]);
    expect(second(pecks("G83 G98"), pecks("G98 G83"))).toEqual([]);
    // Two codes for two others, or one that the others have not at all, are no word in the place of another.
    expect(second(pecks("G83 G98"), pecks("G73 G99"))).toEqual([]);
    expect(second(pecks("G83 G98 G90"), pecks("G73 G98"))).toEqual([]);
    expect(second(pecks("G83 G98"), pecks("G73 G98 G90"))).toEqual([]);
  });
  it("where a cycle came from is none of the path, nor how high a way is that names no Z, nor a dwell there", () => {
    // A1 comes from Z50, the others from Z60; the boring cycle goes back up to there.
    const path = (z: string) => ["G98 G85 X10 Y20 Z-3 R2 F300", "X20", "G80", "G4 P500", "G0 X40", `G1 Z${z}`, "G0 Z60"];
    const others = (z: string) => ["G55", ...path(z), "G56", ...path("-4")];
    expect(drift(three, ...path("-4"), ...others("-4.5"))).toEqual(["19 A2 Z-4.5 for Z-4 of 2"]);
  });
  it("not what selects the offset in a block that cuts", () => {
    const more: Setup = {
      use: "three-stations",
      change: (s) => {
        for (const station of s.stations as Record<string, unknown>[]) station.offset = "G54.1 P1";
      },
    };
    const rest = ["X40", "G80"];
    const lines = ["G54.1 P1 G0 X0 Y0", "G81 G54.1 P1 X10 Y20 Z-3 R2 F300", ...rest];
    const at = (p: number, z: string) => [`G0 X0 Y0 G54.1 P${p}`, `G81 G54.1 P${p} X10 Y20 Z${z} R2 F300`, ...rest];
    expect(drift(more, ...lines, ...at(2, "-4"), ...at(3, "-3"))).toEqual(["11 A2 Z-4 for Z-3 of 2"]);
    const mixed = apart({}, {}, {});
    const plain = (g: number, z: string) => [`G0 X0 Y0 G${g}`, `G81 G${g} X10 Y20 Z${z} R2 F300`, ...rest];
    expect(drift(mixed, ...plain(54, "-3"), ...plain(55, "-4"), ...plain(56, "-3"))).toEqual(["11 A2 Z-4 for Z-3 of 2"]);
  });
});

describe("which copies are compared", () => {
  const path = (z = "-3", ...more: string[]) => ["Z2", `G1 Z${z} F300`, "X40", ...more, "Y30", "G0 Z50"];
  it("a comment or an empty line makes no other path", () => {
    expect(second(path("-3"), path("-3.2", "(SECOND SIDE)", ""))).toEqual(["13 A2 Z-3.2 for Z-3 of 2"]);
  });
  it("a second round that one of four does not get", () => {
    const round = (offset: number, z: string) => [`G${offset} X10 Y20`, ...path(z)];
    const lines = [...path(), ...round(55, "-3"), ...round(56, "-3"), ...round(57, "-3")];
    // The second round begins at line 29, six lines each; its second cuts in 37.
    expect(drift(four, ...lines, ...round(54, "-5"), ...round(55, "-5.2"), ...round(56, "-5"))).toEqual(["37 A2 Z-5.2 for Z-5 of 2"]);
    // The first of the row is the one that gets none.
    expect(drift(four, ...lines, ...round(55, "-5"), ...round(56, "-5"), ...round(57, "-5.2"))).toEqual(["43 A4 Z-5.2 for Z-5 of 2"]);
  });
  it("of a longer path one word in eight", () => {
    // 23 blocks and the cut to depth: three words are a few, four are another path.
    const long = (...changed: number[]) => [
      ...["Z2", "G1 Z-3 F300"],
      ...Array.from({ length: 23 }, (_, k) => `X${20 + k + (changed.includes(k) ? 0.5 : 0)} Y${10 + (k % 2)}`),
      "G0 Z50",
    ];
    expect(second(long(), long(3, 9, 15))).toEqual(["38 A2 X23.5 for X23 of 2"]);
    expect(second(long(), long(3, 9, 15, 20))).toEqual([]);
  });
  it("one that is written out beside calls of one program", () => {
    const sub = ["O100", ...path(), "M99"];
    const lines = [...path("-3.2"), "G55 X10 Y20", "M98 P100", "G56 X10 Y20", "M98 P100", ...END, ...sub];
    expect(tell("station-drift", three, [...HEAD, ...lines]).texts.map((x) => x.slice(0, 9))).toEqual(['7 "Z-3.2"']);
  });
  it("stations that stand alike on other parallels, at another stop, in another jaw", () => {
    const own = { seat: 28, endStop: { element: "es", side: "high", at: 33 }, fixedJaw: "fj22" };
    expect(second(path(), path("-3.2"), apart({}, {}, own))).toEqual(["13 A2 Z-3.2 for Z-3 of 2"]);
    expect(second(path(), path("-3.2"), apart({}, {}, { seat: 28 }))).toEqual(["13 A2 Z-3.2 for Z-3 of 2"]);
    expect(second(path(), path("-3.2"), apart({}, {}, { endStop: own.endStop }))).toEqual(["13 A2 Z-3.2 for Z-3 of 2"]);
    expect(second(path(), path("-3.2"), apart({}, {}, { fixedJaw: "fj22" }))).toEqual(["13 A2 Z-3.2 for Z-3 of 2"]);
  });
  it("not one that has its zero elsewhere or is turned: its path is another one by rights", () => {
    const two = apart({}, {}, {}, { zero: { u: "fixedJaw", v: "high", w: 28 } });
    const at = (offset: number, z: string) => [`G${offset} X10 Y20`, ...path(z)];
    expect(drift(two, ...path(), ...at(55, "-3"), ...at(56, "-3"), ...at(57, "-1"))).toEqual([]);
    for (const zero of [
      { u: "centre", v: "high", w: "top" },
      { u: "fixedJaw", v: "centre", w: "top" },
    ])
      expect(drift(apart({}, {}, {}, { zero }), ...path(), ...at(55, "-3"), ...at(56, "-3"), ...at(57, "-1")), zero.u).toEqual([]);
    expect(drift(apart({}, {}, {}, { clamp: "-Y" }), ...path(), ...at(55, "-3"), ...at(56, "-3"), ...at(57, "-1"))).toEqual([]);
    expect(drift(apart({}, {}, {}, {}), ...path(), ...at(55, "-3"), ...at(56, "-3"), ...at(57, "-1"))).toHaveLength(1);
  });
  it("not two ways through one text, which branches by the station on purpose", () => {
    const branch = ["Z2", "IF [#1 EQ 55] GOTO 10", "G1 Z-3 F300", "GOTO 20", "N10 G1 Z-3.2 F300", "N20 X40", "Y30", "G0 Z50"];
    const loop = ["#1=54", "WHILE [#1 LE 56] DO1", "G#1 X10 Y20", ...branch, "#1=#1+1", "END1"];
    expect(drift(three, ...loop)).toEqual([]);
    const calls = [54, 55, 56].flatMap((g) => [`G${g} X10 Y20`, `G65 P100 A${g}`]);
    expect(drift(three, ...calls, ...END, "O100", ...branch, "M99")).toEqual([]);
    // A program that the copies call makes them no one text.
    const hole = ["O900", "G1 Y25", "Y20", "M99"];
    const own = (z: string) => ["Z2", `G1 Z${z} F300`, "M98 P900", "X40", "G0 Z50"];
    const each = (n: number, z: string) => [`O${n}`, ...own(z), "M99"];
    const subs = ["M98 P101", "G55 X10 Y20", "M98 P102", "G56 X10 Y20", "M98 P103"];
    const found = tell("station-drift", three, [
      ...[...HEAD, ...subs, ...END],
      ...[...each(101, "-3"), ...each(102, "-3.2"), ...each(103, "-3"), ...hole],
    ]);
    expect(found.findings.map((f) => [f.station, f.message.args.word])).toEqual([["A2", "Z-3.2"]]);
  });
});

describe("a fault that the word leads to stands for both", () => {
  it("into the jaw, which stands at Y-40 … 0 up to Z-10", () => {
    const path = (y: string) => ["Z2", "G1 Z-12 F300", "X40", `Y${y}`, "G0 Z50"];
    const lines = [...HEAD, ...path("30"), "G55 X10 Y20", ...path("3"), "G56 X10 Y20", ...path("30"), ...END];
    expect(tell("clamp-cut", three, lines).findings.map((f) => f.station)).toEqual(["A2"]);
    expect(tell("station-drift", three, lines).texts).toEqual([]);
    // Where the other word comes behind it, the two are two faults.
    const both = (y: string, x: string) => ["Z2", "G1 Z-12 F300", "X40", `Y${y}`, "Y20", `X${x}`, "G0 Z50"];
    const later = [...HEAD, ...both("3", "20"), "G55 X10 Y20", ...both("3", "21"), "G56 X10 Y20", ...both("3", "20"), ...END];
    expect(tell("station-drift", three, later).texts.map((x) => x.slice(0, 8))).toEqual(['19 "X21"']);
  });
  it("its data name the tool and the siblings", () => {
    const path = (z: string) => ["Z2", `G1 Z${z} F300`, "X40", "G0 Z50"];
    const t = tell("station-drift", three, [...HEAD, ...path("-3"), "G55 X10 Y20", ...path("-3.2"), "G56 X10 Y20", ...path("-3"), ...END]);
    expect(t.findings.map((f) => [f.data, f.message.args.tool])).toEqual([[{ tool: 1, siblings: ["A1", "A3"] }, T1]]);
  });
});
