/** Faults and near misses of the fixture itself. */
import { CALLING, type Fault, type Job, type NearMiss, type Spot } from "../job.js";
import type { Json, JsonObject } from "../json.js";
import { type Group, inUnits, notchesFor } from "../shop.js";
import { stationsOf } from "./offsets.js";

const styles = CALLING.slice(0, 3);

const object = (value: Json | undefined): JsonObject => value as JsonObject;

/** The sidecar's entry of a group's first station. */
function entryOf(job: Job, group: Group): number {
  return job.shop.stands.find((s) => s.group === group)?.entry ?? 0;
}

function opOf(job: Job, group: Group): JsonObject {
  return object(object(object(object(job.sidecar.parts)[group.part]).ops)[group.op]);
}

/** Groups that are alone with their op, so that a change of the op is a change of them alone. */
function alone(job: Job): Group | undefined {
  return job.rng.maybe(job.shop.groups.filter((g) => job.shop.groups.filter((o) => o.op === g.op).length === 1));
}

function at(...path: readonly (string | number)[]): Spot {
  return { sidecar: path };
}

const format: readonly (Pick<Fault, "name"> & { change(job: Job, station: JsonObject, entry: number): Spot[] })[] = [
  {
    name: "a wrong type",
    change(_, s, e) {
      s.seat = "25";
      return [at("stations", e, "seat")];
    },
  },
  {
    name: "an unknown key",
    change(_, s, e) {
      s.notchs = 8;
      return [at("stations", e, "notchs")];
    },
  },
  {
    name: "a reference to nothing",
    change(job, s, e) {
      const key = job.rng.pick(["fixedJaw", "movingJaw", "base", "op", "part"]);
      s[key] = "nowhere";
      return [at("stations", e, key)];
    },
  },
  {
    name: "an unknown direction",
    change(_, s, e) {
      s.clamp = "Y";
      return [at("stations", e, "clamp")];
    },
  },
  {
    name: "a missing field",
    change(_, s, e) {
      delete s.offset;
      return [at("stations", e)];
    },
  },
  {
    name: "an unreadable include",
    change(job) {
      job.sidecar.include = ["elements/absent.json"];
      return [at("include", 0), at("include")];
    },
  },
];

export const fixtureFaults: readonly Fault[] = [
  ...format.map(
    (f): Fault => ({
      rule: "fixture-format",
      name: f.name,
      styles,
      make(job) {
        const entry = job.rng.int(0, stationsOf(job.shop).length - 1);
        const station = stationsOf(job.shop)[entry];
        if (station === undefined) return undefined;
        // What the broken part makes impossible is not checked; what the program does is unknown there.
        return { at: f.change(job, station, entry) };
      },
    }),
  ),
  {
    rule: "fixture-format",
    name: "not JSON",
    styles,
    make(job) {
      const at0 = stationsOf(job.shop).length - 1;
      return {
        at: [at("stations", at0, "id"), at("stations", at0, "base")],
        spoil: (text) => text.replace(/("id": "[^"]*"),(?![\s\S]*"id")/, "$1"),
      };
    },
  },
  {
    rule: "fixture-format",
    name: "includes go round",
    styles,
    make(job) {
      job.sidecar.include = ["elements.json"];
      return {
        at: [{ file: "elements.json", line: 3 }],
        files: { "elements.json": '{\n  "format": 1,\n  "units": "mm",\n  "include": ["part.fixture.json"]\n}\n' },
      };
    },
  },
  {
    rule: "fixture-register-shared",
    name: "one offset twice",
    styles,
    wish: { least: 3, zFrom: false },
    make(job) {
      const list = stationsOf(job.shop);
      if (list.length < 2 || job.shop.stored !== "none" || job.find("g10").length > 0) return undefined;
      const e = job.rng.int(1, list.length - 1);
      const before = list[e - 1] as JsonObject;
      const own = list[e] as JsonObject;
      if (own.repeat !== undefined || job.sidecar.offsets !== undefined) return undefined;
      own.offset = before.offset as Json;
      // The register that is now without a station is a fault of the program's that follows from this one.
      return { at: [at("stations", e, "offset")], also: ["offset-unmapped"] };
    },
  },
  {
    rule: "fixture-off-grid",
    name: "an intersection beyond the base",
    styles,
    make(job) {
      const e = job.rng.int(0, stationsOf(job.shop).length - 1);
      const s = stationsOf(job.shop)[e] as JsonObject;
      const base = job.shop.bases.find((b) => b.name === s.base);
      if (s.repeat !== undefined || base === undefined || job.find("g10").length > 0 || job.shop.stored !== "none") return undefined;
      s.at = [base.columns + 1, (s.at as number[])[1] ?? 0];
      // The program goes where the station now is.
      return { at: [at("stations", e, "at")], also: GEOMETRY };
    },
  },
  {
    rule: "fixture-off-grid",
    name: "a jaw beyond the body",
    styles,
    wish: { kind: "plate" },
    make(job) {
      const base = job.shop.bases[0];
      const last = [...job.shop.stands].sort((a, b) => a.at[1] - b.at[1]).at(-1);
      if (base === undefined || last === undefined || last.group.asRepeat) return undefined;
      // The row in which the tenon stands becomes the last one, and the border is next to nothing.
      const spec = object(object(job.sidecar.bases)[base.name]);
      spec.rows = last.at[1] + 1;
      spec.border = inUnits(job.shop, 5);
      return { at: job.shop.stands.filter((s) => s.at[1] === last.at[1]).map((s) => at("stations", s.entry, "at")) };
    },
  },
  {
    rule: "fixture-overlap",
    name: "two stations meet",
    styles,
    wish: { least: 3, kind: "plate", groups: 1 },
    make(job) {
      const stands = job.shop.stands.filter((s) => !s.group.asRepeat);
      if (stands.length < 2 || job.shop.stored !== "none" || job.find("g10").length > 0) return undefined;
      const a = stands[0];
      const b = stands[1];
      if (a === undefined || b === undefined || b.at[1] !== a.at[1]) return undefined;
      // Jaws side by side that only touch each other do not meet.
      const across = b.group.alongX ? Number.POSITIVE_INFINITY : Math.max(b.group.fixedJaw.width, b.group.stock[1]);
      if (Math.abs((job.shop.bases[0]?.pitch[0] ?? 0) - across) < 1e-6) return undefined;
      const s = stationsOf(job.shop)[b.entry] as JsonObject;
      s.at = [a.at[0] + 1, a.at[1]];
      // The program goes where the station now is, among jaws that stand in each other's way.
      return { at: [at("stations", b.entry, "at")], also: GEOMETRY };
    },
  },
  {
    rule: "fixture-notch",
    name: "a notch that cannot clamp",
    styles,
    make(job) {
      const e = job.rng.int(0, stationsOf(job.shop).length - 1);
      const s = stationsOf(job.shop)[e] as JsonObject;
      const g = job.shop.stands.find((x) => x.entry === e)?.group;
      if (g === undefined) return undefined;
      const valid = notchesFor(g.stock[0], g.tolerance);
      const wrong = job.rng.maybe([Math.min(...valid) - 1, Math.max(...valid) + 1].filter((k) => !edge(g, k)));
      if (wrong === undefined) return undefined;
      s.notch = wrong;
      return { at: [at("stations", e, "notch")] };
    },
  },
  {
    rule: "fixture-grip",
    name: "too little in the jaws",
    styles,
    wish: { zFrom: false },
    make(job) {
      const g = job.rng.pick(job.shop.groups);
      if (job.shop.stored !== "none" || job.find("g10").length > 0) return undefined;
      // The parallels are changed for higher ones at every station of the group.
      const seat = Math.min(g.fixedJaw.height, g.movingJaw.height) - Math.floor(g.stock[2] * 0.2);
      const entries = [...new Set(job.shop.stands.filter((s) => s.group === g).map((s) => s.entry))];
      for (const e of entries) (stationsOf(job.shop)[e] as JsonObject).seat = inUnits(job.shop, seat);
      const fixed = object(job.sidecar.endStops);
      for (const stop of Object.values(fixed)) object(stop).height = inUnits(job.shop, seat + 3);
      return { at: entries.map((e) => at("stations", e, "seat")), also: GEOMETRY };
    },
  },
  {
    rule: "fixture-zero-mixed",
    name: "one station has another zero",
    styles,
    wish: { least: 3, kind: "plate", groups: 1, zFrom: false },
    make(job) {
      const stands = job.shop.stands.filter((s) => !s.group.asRepeat);
      if (stands.length < 3 || job.shop.stored !== "none" || job.find("g10").length > 0) return undefined;
      const s = job.rng.pick(stands);
      const axis = job.rng.pick(["u", "v"] as const);
      const now = s.group.zero[axis];
      const other = job.rng.pick((axis === "u" ? ["fixedJaw", "centre", "movingJaw"] : ["low", "centre", "high"]).filter((k) => k !== now));
      (stationsOf(job.shop)[s.entry] as JsonObject).zero = { [axis]: other };
      return { at: [at("stations", s.entry, "zero", axis)], also: GEOMETRY };
    },
  },
  {
    rule: "fixture-zero-mixed",
    name: "two ops of one part count Z from different faces",
    styles,
    wish: { kind: "two plates", zFrom: false },
    make(job) {
      if (job.shop.stored !== "none" || job.find("g10").length > 0 || new Set(job.shop.groups.map((g) => g.op)).size < 2) return undefined;
      const g = job.shop.groups[1] as Group;
      const zero = object(opOf(job, g).zero);
      if (typeof g.zero.w === "number") return undefined;
      // The same height by another word: the program stays right.
      zero.w = inUnits(job.shop, g.zero.w === "top" ? g.stock[2] : 0);
      return { at: [at("parts", g.part, "ops", g.op, "zero", "w")] };
    },
  },
  {
    rule: "fixture-travel",
    name: "a part zero out of reach",
    styles,
    wish: { travel: true, obstacle: false },
    make(job) {
      const machine = object(job.sidecar.machine);
      const { shop } = job;
      const far = Math.min(...shop.stands.map((s) => s.position[0]));
      const travel = object(machine.travel);
      travel.X = [inUnits(shop, Math.ceil(far) + 5), 0];
      const entries = [...new Set(shop.stands.filter((s) => s.position[0] < Math.ceil(far) + 5).map((s) => s.entry))];
      return {
        at: entries.flatMap((e) => {
          const s = stationsOf(shop)[e];
          return [at("stations", e, "at"), ...(s?.repeat === undefined ? [] : [at("stations", e, "repeat")])];
        }),
        also: ["travel-limit"],
      };
    },
  },
  {
    rule: "fixture-reversible",
    name: "nothing says which way round",
    styles,
    wish: { stop: false },
    make(job) {
      const g = alone(job);
      if (g === undefined) return undefined;
      opOf(job, g).reversible = false;
      return { at: [at("stations", entryOf(job, g)), at("stations", entryOf(job, g), "id")], level: "information" };
    },
  },
];

/** Rules that may speak when the geometry itself has been moved under a program. */
export const GEOMETRY: readonly string[] = [
  "clamp-cut",
  "clamp-near",
  "clamp-rapid",
  "neighbour-cut",
  "stock-rapid",
  "holder-reach",
  "base-drilled",
  "retract-before-offset",
  "retract-return-level",
  "approach-low",
  "station-outside-part",
  "travel-limit",
  "fixture-overlap",
  "fixture-off-grid",
];

/** A notch that this file's arithmetic puts so near to the edge that rounding would decide. */
function edge(g: Group, k: number): boolean {
  const t = 20 + k * 3 - g.stock[0];
  return t - g.tolerance >= 0.95 && t + g.tolerance <= 7.05;
}

export const fixtureNearMisses: readonly NearMiss[] = [
  {
    rule: "fixture-register-shared",
    name: "one datum serves several nests by declaration",
    styles,
    wish: { least: 2, most: 2, zFrom: false },
    make(job) {
      const list = stationsOf(job.shop);
      if (list.length !== 2 || job.sidecar.offsets !== undefined || job.find("g10").length > 0) return undefined;
      for (const s of list) {
        s.sharesOffset = true;
        s.offset = (list[0] as JsonObject).offset as Json;
      }
      job.main.splice(0, job.main.length, ...job.main.filter((l) => ["program", "units", "state", "end"].includes(l.tag)));
      return {};
    },
  },
  {
    rule: "fixture-format",
    name: "comments, trailing commas, tools of an included file",
    styles,
    make(job) {
      const tools = job.sidecar.tools;
      if (tools === undefined) return undefined;
      delete job.sidecar.tools;
      job.sidecar.include = ["elements.json"];
      return {
        files: { "elements.json": `// tools\n{ "format": 1, "units": "${job.shop.units}", "tools": ${JSON.stringify(tools)}, }\n` },
      };
    },
  },
  {
    rule: "fixture-notch",
    name: "every notch that will do",
    styles,
    make(job) {
      for (const [e, s] of stationsOf(job.shop).entries()) {
        const g = job.shop.stands.find((x) => x.entry === e)?.group;
        if (g !== undefined) s.notch = job.rng.pick(notchesFor(g.stock[0], g.tolerance));
      }
      return {};
    },
  },
  {
    rule: "fixture-reversible",
    name: "an end stop at one end decides",
    styles,
    wish: { stop: true },
    make(job) {
      const g = alone(job);
      // The stop is 30 long and meets the stock over less than its whole size u.
      if (g === undefined || g.stop === undefined) return undefined;
      opOf(job, g).reversible = false;
      return {};
    },
  },
];
