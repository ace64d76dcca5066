import { describe, expect, it } from "vitest";
import { loadFixture } from "../../server/src/engine/fixture/load.js";
import { fixtureMessages } from "../../server/src/engine/fixture/messages.js";
import { hostOf, load, plate, SIDECAR, textAt, told, tombstone } from "../cases/fixtures/samples.js";

/** The sidecar contract's worked example: base zero (−700, −450, −400), the rest as in its field list. */
function worked(skew: number) {
  const sample = plate();
  sample.bases = { plate: { pitch: 50, columns: 18, rows: 9, zero: { X: -700, Y: -450, Z: -400 }, skew, thickness: 40, border: 25 } };
  return load(sample);
}

describe("positions", () => {
  it("the worked example of the sidecar contract", () => {
    const f = worked(0);
    expect(told(f.notes, "")).toEqual([]);
    const s = f.stations[0];
    expect(s?.zero).toEqual([15, -30, 55]);
    expect(s?.computed).toEqual({ X: -620, Y: -385, Z: -345, rotary: undefined });
  });

  it("the worked example with skew 0.1°, to the five decimals of the contract", () => {
    const s = worked(0.1).stations[0];
    expect(s?.computed.X).toBeCloseTo(-620.11357, 5);
    expect(s?.computed.Y).toBeCloseTo(-384.86047, 5);
    expect(s?.computed.Z).toBe(-345);
  });

  // Worked by hand from the contract's table of clamp directions: station frame (15, −30, 55) at [1, 1].
  it.each([
    ["+X", -700 + 50 + 15, -450 + 50 - 30],
    ["+Y", -700 + 50 + 30, -450 + 50 + 15],
    ["-X", -700 + 50 - 15, -450 + 50 + 30],
    ["-Y", -700 + 50 - 30, -450 + 50 - 15],
  ])("clamp %s", (clamp, x, y) => {
    const sample = plate();
    sample.bases = { plate: { pitch: 50, columns: 18, rows: 9, zero: { X: -700, Y: -450, Z: -400 }, border: 100 } };
    Object.assign(sample.stations[0] ?? {}, { clamp });
    const s = load(sample).stations[0];
    expect(s?.computed).toMatchObject({ X: x, Y: y, Z: -345 });
  });

  // u 41 from face 15, v 60 from −30, w 30 on seat 25.
  it.each([
    [{ u: "fixedJaw", v: "low", w: "top" }, [15, -30, 55]],
    [{ u: "centre", v: "centre", w: "seat" }, [35.5, 0, 25]],
    [{ u: "movingJaw", v: "high", w: 10 }, [56, 30, 35]],
    [{ u: 4, v: 7, w: -5 }, [19, -23, 20]],
  ])("part zero %j", (zero, expected) => {
    const sample = plate();
    Object.assign(sample.stations[0] ?? {}, { zero });
    expect(load(sample).stations[0]?.zero).toEqual(expected);
  });

  it.each([
    [{ element: "es12", side: "high", at: 22 }, -38],
    [{ element: "es12", side: "low", at: 5 }, 5],
    [undefined, -30],
  ])("stock along v with end stop %j", (endStop, low) => {
    const sample = plate();
    Object.assign(sample.stations[0] ?? {}, { endStop });
    const s = load(sample).stations[0];
    expect(s?.stock?.from).toEqual([15, low, 25]);
    expect(s?.stock?.to).toEqual([56, low + 60, 55]);
  });

  it("trim is in the computed position, and the solids do not move", () => {
    const sample = plate();
    const before = load(sample).stations[0];
    sample.offsets = { trim: { "G54.1 P1": { X: 0.015 } } };
    const s = load(sample).stations[0];
    expect(s?.computed.X).toBeCloseTo((before?.computed.X ?? 0) + 0.015, 12);
    expect(s?.untrimmed).toEqual(before?.untrimmed);
    expect(s?.solids.map((x) => x.placed)).toEqual(before?.solids.map((x) => x.placed));
  });

  it("pitch of two numbers", () => {
    const sample = plate();
    sample.bases = { plate: { pitch: { x: 50, y: 60 }, columns: 9, rows: 9, zero: { X: 0, Y: 0, Z: 0 }, border: 100 } };
    Object.assign(sample.stations[0] ?? {}, { at: [2, 3], clamp: "+X" });
    expect(load(sample).stations[0]?.computed).toMatchObject({ X: 115, Y: 150, Z: 55 });
  });
});

describe("solids", () => {
  it("boxes of the contract in the station frame", () => {
    const s = load(plate()).stations[0];
    expect(s?.solids.map((x) => [x.kind, x.local.from, x.local.to])).toEqual([
      ["fixed jaw", [-25, -30, 0], [15, 30, 45]],
      ["moving jaw", [56, -30, 0], [111, 30, 42]],
      ["end stop", [15, -42, 0], [45, -30, 30]],
      ["stock", [15, -30, 25], [56, 30, 55]],
      ["parallels", [15, -30, 0], [56, 30, 25]],
    ]);
    expect(s?.grip).toBe(17);
    expect(s?.standing).toBe(13);
    expect(s?.openJaw).toEqual({ from: [59, -30, 0], to: [114, 30, 42] });
  });

  it("parallels of the station, none on seat 0", () => {
    const sample = plate();
    Object.assign(sample.stations[0] ?? {}, {
      parallels: [
        [0, 8],
        [33, 41],
      ],
    });
    const s = load(sample).stations[0];
    expect(s?.solids.filter((x) => x.kind === "parallels").map((x) => [x.local.from[0], x.local.to[0]])).toEqual([
      [15, 23],
      [48, 56],
    ]);
    Object.assign(sample.stations[0] ?? {}, { parallels: undefined, seat: 0 });
    expect(load(sample).stations[0]?.solids.some((x) => x.kind === "parallels")).toBe(false);
  });

  it("an empty station holds no stock; a jaw without sizes is unknown, not absent", () => {
    const sample = plate();
    Object.assign(sample.stations[0] ?? {}, { empty: true });
    sample.fixedJaws = { fj60: { face: 15, height: 45 } };
    const s = load(sample).stations[0];
    expect(s?.solids.map((x) => x.kind)).toEqual(["moving jaw", "end stop", "parallels"]);
    expect(s?.unknownSolids).toEqual(["fixed jaw"]);
  });
});

describe("repeat", () => {
  it("runs along x first, then y; ids and offsets follow", () => {
    const sample = plate();
    Object.assign(sample.stations[0] ?? {}, { repeat: { columns: 3, rows: 2, step: [3, 4] } });
    const f = load(sample);
    expect(f.notes).toEqual([]);
    expect(f.stations.map((s) => [s.id, ...s.at, s.offset, s.offsetName])).toEqual([
      ["A1", 1, 1, "P1", "G54.1 P1"],
      ["A2", 4, 1, "P2", "G54.1 P2"],
      ["A3", 7, 1, "P3", "G54.1 P3"],
      ["A4", 1, 5, "P4", "G54.1 P4"],
      ["A5", 4, 5, "P5", "G54.1 P5"],
      ["A6", 7, 5, "P6", "G54.1 P6"],
    ]);
  });

  it.each(["G58", "G54.1 P299"])("a series from %s past the end of the registers is fixture-format", (offset) => {
    const sample = plate();
    Object.assign(sample.stations[0] ?? {}, { offset, repeat: { columns: 3, rows: 1, step: [3, 0] } });
    const text = JSON.stringify(sample, null, 2);
    const f = load(text);
    expect(told(f.notes, text)).toEqual([`fixture-format series-past-end «"${offset}"»`]);
    expect(f.stations.map((s) => s.offset !== undefined)).toEqual([true, true, false]);
    expect(f.usable).toBe(true);
    expect(f.complete).toBe(false);
  });

  it("a name twice", () => {
    const sample = plate();
    const [one] = sample.stations;
    sample.stations = [
      { ...one, repeat: { columns: 2, rows: 1, step: [3, 0] } },
      { ...one, id: "A2", at: [10, 1], offset: "G54" },
    ];
    const text = JSON.stringify(sample);
    const f = load(text);
    expect(told(f.notes, text)).toEqual(['fixture-format duplicate-id «"A2"»']);
    expect(f.stations.map((s) => s.id)).toEqual(["A1", "A2"]);
    expect(f.unresolved.map((u) => [u.id, u.offset])).toEqual([["A2", "G54"]]);
  });
});

describe("places of faults", () => {
  const base = JSON.stringify(plate(), null, 2);
  const cases: [string, (t: string) => string, string[]][] = [
    ["an unknown key", (t) => t.replace('"seat": 25', '"seat": 25, "colour": 3'), ['fixture-format unknown-key «"colour"»']],
    ["a misspelt required key", (t) => t.replace('"seat"', '"seet"'), ['fixture-format unknown-key «"seet"»']],
    ["a wrong type", (t) => t.replace('"seat": 25', '"seat": "25"'), ['fixture-format wrong-type «"25"»']],
    ["a wrong word", (t) => t.replace('"+Y"', '"+Z"'), ['fixture-format wrong-value «"+Z"»']],
    ["a missing field", (t) => t.replace('"seat": 25,', ""), ["fixture-format missing-key «{»"]],
    ["a missing jaw", (t) => t.replace('"fixedJaw": "fj60"', '"fixedJaw": "fj50"'), ['fixture-format missing-reference «"fj50"»']],
    ["a wrong tuple", (t) => t.replace(/"at": \[\s*1,\s*1\s*\]/, '"at": [1]'), ["fixture-format wrong-count «[1]»"]],
    ["a pitch of nothing", (t) => t.replace('"pitch": 50', '"pitch": 0'), ["fixture-format too-small «0»"]],
    ["an offset of no dialect", (t) => t.replace("G54.1 P1", "G54.1 P301"), ['fixture-format offset-unknown «"G54.1 P301"»']],
    ["a dialect that is none", (t) => t.replace('"iso"', '"isso"'), ['fixture-format dialect-unknown «"isso"»']],
    ["a key twice", (t) => t.replace('"seat": 25', '"seat": 20, "seat": 25'), ['fixture-format duplicate-key «"seat"»']],
    ["units that are none", (t) => t.replace('"units": "mm"', '"units": "cm"'), ['fixture-format wrong-value «"cm"»']],
    ["a format to come", (t) => t.replace('"format": 1', '"format": 2'), ["fixture-format wrong-type «2»"]],
    ["a number out of all bounds", (t) => t.replace('"seat": 25', '"seat": 1e999'), ["fixture-format wrong-type «1e999»"]],
  ];
  it.each(cases)("%s", (_, change, expected) => {
    const text = change(base);
    expect(text).not.toBe(base);
    const f = load(text);
    expect(told(f.notes, text)).toEqual(expected);
    expect(f.complete).toBe(false);
  });

  it("an object that lacks several keys is one finding that names them", () => {
    const text = JSON.stringify({ ...plate(), stations: [...plate().stations, { id: "B", base: "plate", at: [9, 1] }] });
    const f = load(text);
    expect(f.notes.map((n) => [n.message.key, n.message.args])).toEqual([
      ["missing-key", { path: "stations[1]", name: { list: ["clamp", "fixedJaw", "seat", "part", "op", "offset"] } }],
    ]);
    expect(load(base.replace('"seat": 25', '"seat": 1e999')).notes[0]?.message.args.found).toBe("Infinity");
  });

  it("names the nearest key", () => {
    const f = load(base.replace('"notch"', '"nothc"'));
    expect(f.notes[0]?.message.args).toMatchObject({ name: "nothc", nearest: "notch", path: "stations[0]" });
  });

  it("units that are not known make the sidecar unusable", () => {
    expect(load(base.replace('"units": "mm",', "")).usable).toBe(false);
    expect(load(base).usable).toBe(true);
  });

  it("one bad station leaves the others, and keeps its offset", () => {
    const sample = plate();
    const [one] = sample.stations;
    sample.stations = [
      one ?? {},
      { ...one, id: "B", at: [10, 1], clamp: "up", offset: "G55" },
      { ...one, id: "C", at: [14, 1], offset: "G56" },
    ];
    const f = load(sample);
    expect(f.stations.map((s) => s.id)).toEqual(["A", "C"]);
    expect(f.unresolved.map((u) => [u.id, u.offset])).toEqual([["B", "G55"]]);
    expect(f.notes.length).toBe(1);
    expect(f.usable).toBe(true);
  });

  it("a faulty base is one finding, not one for every station on it", () => {
    const sample = plate();
    Object.assign(sample.stations[0] ?? {}, { repeat: { columns: 3, rows: 2, step: [3, 4] } });
    const text = JSON.stringify(sample, null, 2).replace('"pitch": 50', '"pitch": "50"');
    const f = load(text);
    expect(told(f.notes, text)).toEqual(['fixture-format wrong-type «"50"»']);
    expect(f.unresolved.length).toBe(6);
    expect(f.usable).toBe(false);
  });

  it("half a file still gives what it says", () => {
    const half = base.slice(0, base.indexOf('"parts"'));
    const f = load(half);
    expect(f.notes.every((n) => n.rule === "fixture-format")).toBe(true);
    expect(f.notes.length).toBeGreaterThan(0);
    expect(f.bases.map((b) => b.name)).toEqual(["plate"]);
    expect(f.usable).toBe(false);
  });

  it("a stray character costs nothing but its finding", () => {
    const text = base.replace('"seat": 25', '"seat": 25 ;');
    const f = load(text);
    expect(f.stations.length).toBe(1);
    expect(f.notes[0]?.message.key).toBe("broken-json");
    expect(textAt(text, f.notes[0]?.place.range ?? { line: 0, column: 0, endLine: 0, endColumn: 0 })).toBe(";");
  });

  it("a text that is not closed is one finding, and what seems wrong behind it is none", () => {
    const text = base.replace('"seat": 25', '"seat": 25, "empty": "').replace("{", '{ "colour": 1,');
    const f = load(text);
    // The key before the slip is wrong whatever stands behind it.
    expect(f.notes.map((n) => [n.message.key, textAt(text, n.place.range)[0]]).sort()).toEqual([
      ["broken-json", '"'],
      ["unknown-key", '"'],
    ]);
    expect(f.complete).toBe(false);
  });

  it("two slips that have nothing to do with each other are both told", () => {
    const text = base.replace('"seat": 25', '"seat": 25 ;').replace("{", "{ ;");
    expect(load(text).notes.map((n) => n.message.key)).toEqual(["broken-json", "broken-json"]);
  });

  it.each([
    ["", "broken-json"],
    ["[]", "wrong-type"],
    ["[".repeat(200_000), "too-deep"],
    ['{"a":'.repeat(5000), "too-deep"],
    ["\uFEFF", "broken-json"],
    ["null", "wrong-type"],
  ])("what is no sidecar at all is told (case %#)", (text, key) => {
    const f = load(text);
    expect(f.notes.map((n) => n.message.key)).toContain(key);
    expect(f.usable).toBe(false);
    expect(f.stations).toEqual([]);
  });

  it("a missing sidecar is told at its first line", () => {
    const f = loadFixture(hostOf({}), SIDECAR);
    expect(f.notes.map((n) => [n.message.key, n.place.file, n.place.range.line])).toEqual([["unreadable", SIDECAR, 0]]);
    expect(f.usable).toBe(false);
    expect(f.dependencies).toEqual([SIDECAR]);
  });

  it("levels name rules of the catalogue", () => {
    const sample = plate();
    sample.levels = { "clamp-cut": "warning", "clamp-cutt": "off" };
    const text = JSON.stringify(sample);
    const f = load(text);
    expect([...f.levels]).toEqual([["clamp-cut", "warning"]]);
    expect(told(f.notes, text)).toEqual(['fixture-format rule-unknown «"clamp-cutt"»']);
    expect(f.notes[0]?.message.args.nearest).toBe("clamp-cut");
  });

  it("a dialect of one's own, with its slips at their places", () => {
    const sample = plate();
    sample.machine = { dialect: { extends: "iso", wholeNumber: "increment", packedRepeet: true } };
    const text = JSON.stringify(sample);
    const f = load(text);
    expect(f.machine.profile.wholeNumber).toBe("increment");
    expect(told(f.notes, text)).toEqual(['fixture-format dialect «"packedRepeet"»']);
  });

  it("every note has its wording, and every argument that the wording names", () => {
    const seen = [...cases.map(([, change]) => change(base)), "", "[]", base].flatMap((t) => load(t).notes);
    for (const n of seen) {
      const template = fixtureMessages[n.rule]?.[n.message.key];
      expect(template, `${n.rule} ${n.message.key}`).toBeDefined();
      for (const m of (template ?? "").matchAll(/\{(\w+)\}/g))
        expect(n.message.args, `${n.message.key} {${m[1]}}`).toHaveProperty(m[1] ?? "");
    }
  });
});

describe("include", () => {
  const main = (include: string[]) => {
    const sample = plate();
    delete sample.fixedJaws;
    delete sample.movingJaws;
    return JSON.stringify({ ...sample, include }, null, 2);
  };
  const jaws = (face: number, gap: number) =>
    JSON.stringify({
      units: "mm",
      fixedJaws: { fj60: { face, length: 40, width: 60, height: 45 } },
      movingJaws: { mj60: { gap, increment: 3, stroke: 8, notches: 40, length: 55, width: 60, height: 42 } },
    });

  it("takes elements from another folder; later ones win; this file wins over all", () => {
    const files = { "/elements/a.json": jaws(15, 20), "/elements/b.json": '{"fixedJaws": {"fj60": {"face": 18}}}' };
    const f = load(main(["../elements/a.json", "../elements/b.json"]), files);
    expect(f.notes).toEqual([]);
    expect(f.stations[0]?.zero[0]).toBe(18);
    expect(f.stations[0]?.solids[0]?.local.to[0]).toBe(18);
    expect(f.dependencies).toEqual([SIDECAR, "/elements/a.json", "/elements/b.json"]);
    const own = main(["../elements/a.json"]).replace('"endStops"', '"fixedJaws": {"fj60": {"face": 12}}, "endStops"');
    expect(load(own, files).stations[0]?.zero[0]).toBe(12);
  });

  it("stations of all files are joined, and a value keeps the place of its file", () => {
    const files = {
      "/shop/more.json": JSON.stringify({ stations: [{ ...plate().stations[0], id: "Z", at: [9, 1], offset: "G54.1 P400" }] }),
    };
    const f = load(JSON.stringify({ ...plate(), include: ["more.json"] }), files);
    expect(f.stations.map((s) => s.id)).toEqual(["Z", "A"]);
    expect(f.notes.map((n) => [n.message.key, n.place.file])).toEqual([["offset-unknown", "/shop/more.json"]]);
    expect(f.placeOf(["stations", 0, "offset"]).file).toBe("/shop/more.json");
    expect(f.placeOf(["stations", 1, "offset"]).file).toBe(SIDECAR);
  });

  it("an inch file in a millimetre sidecar is converted, and the other way round", () => {
    // 15 mm = 0.590551181102362 in (25.4 mm per inch by definition).
    const inch = jaws(15 / 25.4, 20 / 25.4).replace('"units":"mm"', '"units":"inch"');
    const f = load(main(["../elements/inch.json"]), { "/elements/inch.json": inch });
    expect(f.stations[0]?.zero[0]).toBeCloseTo(15, 9);
    // Face and gap mean the same; increment 3 is now 76.2 mm and stroke 8 is 203.2 mm: travel −21, 55.2, 131.4, 207.6.
    expect(f.stations[0]?.notch?.valid).toEqual([1, 2]);
  });

  it("a cycle is told at the string that closes it", () => {
    const text = main(["a.json"]);
    const files = { "/shop/a.json": '{"include": ["b.json"]}', "/shop/b.json": '{"include": ["plate.fixture.json"]}' };
    const f = load(text, files);
    const cycle = f.notes.find((n) => n.message.key === "include-cycle");
    expect(cycle?.place.file).toBe("/shop/b.json");
    expect(textAt(files["/shop/b.json"], cycle?.place.range ?? { line: 9, column: 0, endLine: 9, endColumn: 0 })).toBe(
      '"plate.fixture.json"',
    );
    expect(cycle?.message.args.chain).toBe("plate.fixture.json → a.json → b.json → plate.fixture.json");
  });

  it("a file that includes itself, and one that is not there", () => {
    const text = JSON.stringify({ ...plate(), include: ["plate.fixture.json", "gone.json"] });
    const f = load(text);
    expect(told(f.notes, text)).toEqual([
      'fixture-format include-cycle «"plate.fixture.json"»',
      'fixture-format include-missing «"gone.json"»',
    ]);
    expect(f.stations.length).toBe(1);
    expect(f.dependencies).toContain("/shop/gone.json");
  });

  it("a file that two others include adds its stations once", () => {
    const files = {
      "/shop/a.json": '{"include": ["s.json"]}',
      "/shop/b.json": '{"include": ["s.json"]}',
      "/shop/s.json": JSON.stringify({ stations: [{ ...plate().stations[0], id: "Z", at: [9, 1], offset: "G55" }] }),
    };
    const f = load(JSON.stringify({ ...plate(), include: ["a.json", "b.json"] }), files);
    expect(f.stations.map((s) => s.id)).toEqual(["Z", "A"]);
    expect(f.notes).toEqual([]);
  });
});

describe("units", () => {
  it("defaults are converted, not reinterpreted (2 mm stays 2 mm in an inch file)", () => {
    const f = load({ ...plate(), units: "inch" });
    expect(f.units).toBe("inch");
    expect(f.clearance).toEqual({ rapid: 2, cut: 0.5, index: 25 });
    expect(f.tolerance).toEqual({ X: 0.02, Y: 0.02, Z: 0.05, rotary: 0.005 });
    expect(f.bases[0]?.pitch).toEqual([1270, 1270]);
    const own = load({ ...plate(), units: "inch", clearance: { rapid: 0.1 }, tolerance: { rotary: 0.01, X: 0.001 } });
    expect(own.clearance.rapid).toBeCloseTo(2.54, 12);
    expect(own.tolerance).toMatchObject({ X: 0.0254, rotary: 0.01 });
  });
});

describe("machine and offsets", () => {
  it("what the machine is", () => {
    const f = load(tombstone());
    expect(f.machine.rotary).toEqual({ axis: "B", centre: [-500, 0, -620], sense: 1, indexSeconds: undefined, inOffset: false });
    expect(f.machine.home.rotary).toBe(0);
    expect(f.machine.rapidPath).toBe("either");
    expect(load(plate()).machine.rotary).toBeUndefined();
  });

  it.each([
    [false, [0, 0]],
    [true, [0, 180]],
  ])("the rotary value of an offset (inOffset %s)", (inOffset, expected) => {
    expect(load(tombstone(inOffset)).stations.map((s) => s.computed.rotary)).toEqual(expected);
  });

  it("zFrom: machine, a base, a station", () => {
    const at = (zFrom: unknown) => load({ ...plate(), offsets: { zFrom } });
    expect(at("machine").zReference).toBe(0);
    expect(at({ base: "plate" }).zReference).toBe(-450);
    expect(at({ station: "A" }).zReference).toBe(-395);
    const text = JSON.stringify({ ...plate(), offsets: { zFrom: { station: "B" } } });
    const missing = load(text);
    expect(missing.zReference).toBeNaN();
    expect(told(missing.notes, text)).toEqual(['fixture-format missing-reference «"B"»']);
  });

  it("stored values by register, whatever the spelling; two spellings of one are a finding", () => {
    const text = JSON.stringify({
      ...plate(),
      offsets: { values: { "g54 p1": { X: -880, Y: -421.5, B: 5 }, "G54.1 P1": { X: 1 }, G99: { X: 0 } } },
    });
    const f = load(text);
    expect(f.stored.get("P1")?.values).toEqual({ X: 1 });
    expect(told(f.notes, text)).toEqual(['fixture-format offset-twice «"G54.1 P1"»', 'fixture-format offset-unknown «"G99"»']);
    expect(f.offsetName("P1")).toBe("G54.1 P1");
    expect(f.offsetName("P2")).toBe("G54.1 P2");
    expect(f.stationsOf("P1").map((s) => s.id)).toEqual(["A"]);
  });

  it("a file of G10 lines", () => {
    const file =
      "%\nO9000 (OFFSETS)\nG21 G90\nG10 L2 P0 X1. Y0 Z-2.\nG10 L2 P1 X-100.5 Y-200 Z-300\nG10 L20 P1 X-880.002 Y-421.5 Z-395.01 B90\nG20 G10 L20 P2 X-1. Y-2.\nG21 G91 G10 L20 P1 X.5\nG90 G10 L20 P301 X0\nG10 L12 P1 R5\nM30\n%\n";
    const sample = { ...tombstone(), offsets: { file: "table.nc", values: { "G54.1 P2": { X: 7 } } } };
    const f = load(sample, { "/shop/table.nc": file });
    expect(f.stored.get("G54")).toMatchObject({ values: { X: -100.5, Y: -200, Z: -300 }, source: "file" });
    expect(f.stored.get("G54")?.place).toMatchObject({ file: "/shop/table.nc", range: { line: 4 } });
    expect(f.stored.get("P1")?.values).toEqual({ X: -880.002 + 0.5, Y: -421.5, Z: -395.01, rotary: 90 });
    // The sidecar's own values win over the file's.
    expect(f.stored.get("P2")).toMatchObject({ values: { X: 7 }, source: "values" });
    expect(f.commonShift).toEqual({ X: 1, Y: 0, Z: -2 });
    expect(f.notes.map((n) => [n.message.key, n.place.file, n.place.range.line])).toEqual([["offset-file-register", "/shop/table.nc", 8]]);
    expect(f.dependencies).toContain("/shop/table.nc");
  });

  it("the G10 example of NISTIR 6556 §3.5.5: only the axes given change", () => {
    const sample = { ...plate(), offsets: { file: "t.nc" } };
    const f = load(sample, { "/shop/t.nc": "G10 L2 P1 X1 Y1 Z9\nG10 L2 P1 x 3.5 y 17.2\n" });
    expect(f.stored.get("G54")?.values).toEqual({ X: 3.5, Y: 17.2, Z: 9 });
    expect(f.notes).toEqual([]);
  });

  it("numbers without a point count increments where the dialect says so", () => {
    const sample = { ...plate(), machine: { dialect: { extends: "iso", wholeNumber: "increment" } }, offsets: { file: "t.nc" } };
    const f = load(sample, { "/shop/t.nc": "G10 L2 P1 X-1500 Y-2.\n" });
    expect(f.stored.get("G54")?.values).toEqual({ X: -1.5, Y: -2 });
  });

  it("an offset file that cannot be read is told at its string", () => {
    const text = JSON.stringify({ ...plate(), offsets: { file: "gone.nc" } });
    expect(told(load(text).notes, text)).toEqual(['fixture-format offset-file-missing «"gone.nc"»']);
  });

  it("tools by number, registers as one or many", () => {
    const f = load({ ...plate(), tools: { "12": { DC: 16, LF: 120, H: [1, 21], D: 5 }, "3": { DC: 6 } } });
    expect(f.hasTools).toBe(true);
    expect(f.tools.get(12)).toMatchObject({ H: [1, 21], D: [5], hasHolder: false, LF: 120 });
    expect(f.tools.get(3)?.H).toEqual([]);
    const text = JSON.stringify({ ...plate(), tools: { T3: { DC: 6 } } });
    expect(told(load(text).notes, text)).toEqual(['fixture-format wrong-key «"T3"»']);
    expect(load(plate()).hasTools).toBe(false);
  });
});
