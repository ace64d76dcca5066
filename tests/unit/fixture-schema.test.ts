import { readFileSync } from "node:fs";
import { Ajv } from "ajv";
import { describe, expect, it } from "vitest";
import { catalogueIds } from "../../server/src/engine/fixture/catalogue.js";
import { fixtureJsonSchema, isLength, keysAt, sidecarSchema } from "../../server/src/engine/fixture/schema.js";
import { plate, tombstone } from "../cases/fixtures/samples.js";

// The two keywords are VS Code's own and say nothing about validity.
const ajv = new Ajv({ allErrors: true, allowUnionTypes: true });
ajv.addVocabulary(["allowComments", "allowTrailingCommas"]);
const validate = ajv.compile(fixtureJsonSchema());

describe("JSON Schema", () => {
  it("the committed file is what the schema generates", () => {
    const committed = readFileSync(new URL("../../fixtures-config/fixture.schema.json", import.meta.url), "utf8");
    expect(committed).toBe(`${JSON.stringify(fixtureJsonSchema(), undefined, 2)}\n`);
  });

  it("describes every key", () => {
    const undescribed: string[] = [];
    const look = (schema: unknown, path: string): void => {
      if (typeof schema !== "object" || schema === null) return;
      const s = schema as Record<string, unknown>;
      for (const [key, member] of Object.entries((s.properties ?? {}) as Record<string, Record<string, unknown>>)) {
        if (typeof member.description !== "string" || member.description.length < 3) undescribed.push(`${path}.${key}`);
        look(member, `${path}.${key}`);
      }
      look(s.additionalProperties, `${path}.*`);
      if (!Array.isArray(s.items)) look(s.items, `${path}[]`);
      for (const branch of (s.anyOf ?? []) as unknown[]) look(branch, path);
    };
    const { else: _required, ...body } = fixtureJsonSchema() as Record<string, unknown>;
    look(body, "");
    expect(undescribed).toEqual([]);
  });

  const everything = (): Record<string, unknown> => ({
    $schema: "./fixture.schema.json",
    ...plate(),
    machine: {
      name: "vertical 1",
      dialect: { extends: "iso", wholeNumber: "increment", increment: 0.001, offsets: ["G54", { code: "G154", p: [1, 99] }], backOff: 1 },
      travel: { X: [-1020, 0], Y: [-510, 0], Z: [-560, 0], B: [-120, 120] },
      home: { X: 0, Y: 0, Z: 0, B: 0 },
      rapid: { X: 30000, Y: 30000, Z: 24000, B: 7200 },
      acceleration: { X: 3000, Y: 3000, Z: 3000 },
      rapidPath: "either",
      toolChange: { seconds: 4.5 },
      rotary: { axis: "B", centre: { X: -500, Z: -620 }, sense: -1, indexSeconds: 2.5, inOffset: true },
      resident: [9001],
      programFolders: ["../subs"],
    },
    tolerance: { X: 0.02, Y: 0.02, Z: 0.05, rotary: 0.005 },
    clearance: { rapid: 2, cut: 0.5, index: 25 },
    datums: { G59: "park position" },
    obstacles: [{ name: "tool setter", base: null, box: { from: [-80, -500, -450], to: [-20, -440, -300] } }],
    tools: {
      "1": {
        name: "end mill 16",
        kind: "end mill",
        DC: 16,
        RE: 0,
        APMX: 32,
        LF: 120,
        SIG: 180,
        shank: { D: 16, L: 50 },
        holder: [{ D: 40, L: 40 }],
        H: [1, 21],
        D: 1,
      },
    },
    offsets: {
      values: { "G54.1 P1": { X: -880.002, Y: -421.5, Z: -395.01, B: 0 } },
      file: "vertical-1.offsets.nc",
      trim: { "G54.1 P4": { X: 0.015 } },
      commonShift: { X: 0, Y: 0, Z: 0 },
      zFrom: { station: "A1" },
      setAtMachine: ["Z"],
    },
    levels: { "clamp-cut": "warning" },
  });

  /** Puts a value at a path of a copy; undefined takes the key away. */
  const put = (root: Record<string, unknown>, path: string, value: unknown): Record<string, unknown> => {
    const copy = structuredClone(root);
    const keys = path.split(".");
    const last = keys.pop() ?? "";
    let at: Record<string, unknown> = copy;
    for (const key of keys) at = at[key] as Record<string, unknown>;
    if (value === undefined) delete at[last];
    else at[last] = value;
    return copy;
  };

  const good: [string, unknown][] = [
    ["everything", everything()],
    ["the least", plate()],
    ["a tombstone", tombstone()],
    ["dialect by name", put(everything(), "machine.dialect", "g154")],
    ["pitch of two", put(everything(), "bases.plate.pitch", { x: 50, y: 60 })],
    ["zFrom machine", put(everything(), "offsets.zFrom", "machine")],
    ["zFrom base", put(everything(), "offsets.zFrom", { base: "plate" })],
    ["station zero in part", put(everything(), "stations.0.zero", { w: "seat" })],
    ["parallels", put(everything(), "stations.0.parallels", [[0, 8]])],
    ["no tools", put(everything(), "tools", undefined)],
  ];
  it.each(good)("zod and ajv accept: %s", (_, sample) => {
    expect(sidecarSchema.safeParse(sample).error).toBeUndefined();
    expect([validate(sample), validate.errors]).toEqual([true, null]);
  });

  const bad: [string, unknown][] = [
    ["format", 2],
    ["format", "1"],
    ["units", "cm"],
    ["units", undefined],
    ["bases", undefined],
    ["parts", undefined],
    ["stations", undefined],
    ["stations", {}],
    ["extra", 1],
    ["stations.0.seet", 25],
    ["stations.0.seat", undefined],
    ["stations.0.seat", -1],
    ["stations.0.seat", "25"],
    ["stations.0.at", [1]],
    ["stations.0.at", [1, 2, 3]],
    ["stations.0.at", ["1", 2]],
    ["stations.0.clamp", "+Z"],
    ["stations.0.notch", 1.5],
    ["stations.0.id", ""],
    ["stations.0.endStop.side", "left"],
    ["stations.0.repeat", { columns: 0, rows: 1, step: [1, 1] }],
    ["stations.0.repeat", { columns: 2, rows: 1, step: [1.5, 1] }],
    ["stations.0.parallels", [[1]]],
    ["stations.0.zero", { u: "middle" }],
    ["bases.plate.pitch", 0],
    ["bases.plate.pitch", { x: 50 }],
    ["bases.plate.pitch", [50, 50]],
    ["bases.plate.columns", 2.5],
    ["bases.plate.zero.Z", undefined],
    ["bases.plate.colour", "grey"],
    ["fixedJaws.fj60.face", undefined],
    ["parts.bracket.ops.op10.stock.u", 0],
    ["parts.bracket.ops.op10.zero.w", "bottom"],
    ["parts.bracket.ops.op10.zero.w", undefined],
    ["machine.dialect", 7],
    ["machine.dialect", { extends: "iso", wholeNumber: "inch" }],
    ["machine.travel.X", [0]],
    ["machine.rotary.sense", 0],
    ["machine.rotary.axis", "X"],
    ["machine.rapidPath", "curved"],
    ["obstacles.0.base", 3],
    ["obstacles.0.box.to", [1, 2]],
    ["tools.1.DC", -1],
    ["tools.1.H", []],
    ["tools.T1", {}],
    ["tools.1.SIG", 181],
    ["offsets.zFrom", "table"],
    ["offsets.zFrom", {}],
    ["offsets.setAtMachine", ["B"]],
    ["levels", { "clamp-cut": "fatal" }],
    ["datums.G59", 1],
    ["tolerance.X", -0.1],
    ["include", "a.json"],
  ];
  it.each(bad)("zod and ajv refuse: %s = %j", (path, value) => {
    const sample = put(everything(), path, value);
    expect(sidecarSchema.safeParse(sample).success).toBe(false);
    expect(validate(sample)).toBe(false);
  });

  it("a file that includes others may leave to them what they give, but not what its own stations need", () => {
    const part = { format: 1, units: "mm", include: ["a.json"], bases: { plate: { zero: { X: 0, Y: 0, Z: 0 } } } };
    expect([validate(part), validate.errors]).toEqual([true, null]);
    expect(validate({ ...part, stations: [{ id: "A" }] })).toBe(false);
    expect(validate({ ...part, colour: 1 })).toBe(false);
    expect(validate({ include: ["a.json"] })).toBe(false);
    expect(validate({ format: 1, units: "mm" })).toBe(false);
  });
});

describe("units by field", () => {
  it.each([
    [["bases", "plate", "pitch"], true],
    [["bases", "plate", "pitch", "x"], true],
    [["bases", "plate", "skew"], false],
    [["bases", "plate", "columns"], false],
    [["stations", 0, "at", 0], false],
    [["stations", 3, "seat"], true],
    [["stations", 0, "repeat", "step", 0], false],
    [["machine", "rapid", "X"], true],
    [["machine", "rapid", "B"], false],
    [["machine", "travel", "X", 1], true],
    [["machine", "travel", "B", 1], false],
    [["machine", "dialect", "backOff"], true],
    [["machine", "dialect", "increment"], false],
    [["machine", "toolChange", "seconds"], false],
    [["parts", "p", "ops", "o", "zero", "u"], true],
    [["offsets", "values", "G54", "X"], true],
    [["offsets", "values", "G54", "B"], false],
    [["offsets", "trim", "G54", "Z"], true],
    [["tools", "1", "SIG"], false],
    [["tools", "1", "holder", 0, "D"], true],
    [["tools", "1", "D"], false],
    [["tolerance", "rotary"], false],
    [["nothing", "here"], false],
  ] as [(string | number)[], boolean][])("%j is a length: %s", (path, expected) => {
    expect(isLength(path)).toBe(expected);
  });

  it("knows the keys of a place", () => {
    expect(keysAt(["bases", "plate"])).toContain("thickness");
    expect(keysAt(["bases", "plate", "pitch"])).toEqual(["x", "y"]);
    expect(keysAt([])).toContain("stations");
  });

  it("the catalogue has every id once", () => {
    expect(new Set(catalogueIds).size).toBe(catalogueIds.length);
  });
});
