import { rules } from "../engine/checks/registry.generated.js";
import { offsetKeys, spellOffset } from "../engine/dialect/offsets.js";
import { builtInProfiles } from "../engine/dialect/profiles.js";
import { catalogueIds } from "../engine/fixture/catalogue.js";
import type { Fixture } from "../engine/fixture/model.js";
import type { Completions, Entry } from "./completion.js";
import { isRequired, type JsonSchema, sidecarSchemaAt } from "./sidecar-schema.js";
import { readSidecarText, type SidecarSpot, type SidecarText, spotAt, valueAt } from "./sidecar-text.js";
import { say, told } from "./texts.js";
import type { Position } from "./view.js";

/** What completion in a sidecar may name. */
export interface SidecarNames {
  readonly fixture: Fixture | undefined;
  /** The files that it includes, as text. */
  readonly included: readonly SidecarText[];
  /** Files beside the sidecar, for includes and the offset file. */
  files(): readonly string[];
}

/**
 * What may be written at a position of a sidecar: keys by the schema with their descriptions, and the names that the sidecar
 * and its includes give. Columns are those of the position's line.
 */
export function sidecarCompletionsAt(text: string, position: Position, names: SidecarNames): Completions {
  const spot = spotAt(text, position);
  const lineStart = spot.offset - position.column;
  const token = spot.token;
  const start = token === undefined ? wordStart(text, spot.offset, lineStart) : Math.max(token.offset, lineStart);
  const end = token === undefined ? spot.offset : Math.max(spot.offset, token.offset + token.length);
  const entries = spot.isKey ? keys(text, spot, names) : values(text, spot, names);
  return { start: start - lineStart, end: end - lineStart, entries };
}

function wordStart(text: string, offset: number, lineStart: number): number {
  const word = /"?[\w.-]*$/.exec(text.slice(lineStart, offset));
  return offset - (word?.[0].length ?? 0);
}

function keys(text: string, spot: SidecarSpot, names: SidecarNames): Entry[] {
  const parent = spot.path.slice(0, -1);
  const own = spot.path.at(-1);
  const read = readSidecarText("", text);
  const members = valueAt(read, parent)?.content;
  const present = new Set(members?.kind === "object" ? members.members.keys() : []);
  present.delete(String(own ?? ""));
  // A colon behind the key means that its value is there already.
  const hasValue = /^[\w.-]*"?\s*:/.test(text.slice(spot.offset));
  const out: Entry[] = [];
  for (const schema of sidecarSchemaAt(parent)) {
    for (const [name, member] of Object.entries(schema.properties ?? {})) {
      if (present.has(name) || out.some((e) => e.filter === JSON.stringify(name))) continue;
      const required = isRequired(parent, name);
      out.push({
        label: name,
        kind: "key",
        detail: required ? say("key.needed") : "",
        documentation: told(member.description ?? ""),
        insert: hasValue ? JSON.stringify(name) : `${JSON.stringify(name)}: ${empty(member)}`,
        filter: JSON.stringify(name),
        sort: `${required ? 0 : 1}${String(out.length).padStart(3, "0")}`,
      });
    }
  }
  for (const [name, detail, documentation] of freeKeysAt(parent, names)) {
    if (present.has(name)) continue;
    const label = JSON.stringify(name);
    out.push({
      label: name,
      kind: "key",
      detail,
      documentation,
      insert: hasValue ? label : `${label}: `,
      filter: label,
      sort: `2${name}`,
    });
  }
  return out;
}

/** The shortest value of a schema that is not wrong in kind. */
function empty(schema: JsonSchema): string {
  if (schema.type === "object") return "{}";
  if (schema.type === "array") return "[]";
  if (schema.type === "string" && schema.enum === undefined) return '""';
  return "";
}

function values(text: string, spot: SidecarSpot, names: SidecarNames): Entry[] {
  const { path } = spot;
  const out: Entry[] = [];
  const add = (value: unknown, kind: Entry["kind"], detail: string, documentation = ""): void => {
    const label = JSON.stringify(value);
    if (!out.some((e) => e.label === label)) out.push({ label, kind, detail, documentation, sort: String(out.length).padStart(4, "0") });
  };
  for (const [name, detail] of namesAt(text, path, names)) add(name, "value", detail);
  for (const schema of sidecarSchemaAt(path)) {
    for (const value of schema.enum ?? (schema.const === undefined ? [] : [schema.const]))
      add(value, "value", "", told(schema.description ?? ""));
    if (schema.type === "boolean") {
      add(true, "value", "", told(schema.description ?? ""));
      add(false, "value", "", told(schema.description ?? ""));
    }
  }
  return out;
}

/** Names that a value may take, with a word on each, by where it stands. */
function namesAt(
  text: string,
  path: readonly (string | number)[],
  { fixture, files, included }: SidecarNames,
): [string | number, string][] {
  const [first, second, third] = path;
  const read = readSidecarText("", text);
  const keysOf = (...at: string[]): string[] =>
    [read, ...included].flatMap((file) => {
      const content = valueAt(file, at)?.content;
      return content?.kind === "object" ? [...content.members.keys()] : [];
    });
  const tell = (list: readonly string[], what: string): [string, string][] => [...new Set(list)].map((n) => [n, what]);
  if (first === "stations" && typeof second === "number") {
    const station = fixture?.stations ?? [];
    switch (third) {
      case "base":
        return tell([...keysOf("bases"), ...(fixture?.bases.map((b) => b.name) ?? [])], say("value.base"));
      case "fixedJaw":
        return tell([...keysOf("fixedJaws"), ...station.map((s) => s.fixedJaw)], say("value.fixed-jaw"));
      case "movingJaw":
        return tell([...keysOf("movingJaws"), ...station.flatMap((s) => s.movingJaw ?? [])], say("value.moving-jaw"));
      case "endStop":
        return path[3] === "element"
          ? tell([...keysOf("endStops"), ...station.flatMap((s) => s.endStop?.element ?? [])], say("value.end-stop"))
          : [];
      case "part":
        return tell([...keysOf("parts"), ...station.map((s) => s.part)], say("value.part"));
      case "op": {
        const part = valueAt(read, ["stations", second, "part"])?.content;
        const name = part?.kind === "scalar" && typeof part.value === "string" ? part.value : undefined;
        return tell(
          name === undefined
            ? station.map((s) => s.op)
            : [...keysOf("parts", name, "ops"), ...station.filter((s) => s.part === name).map((s) => s.op)],
          say("value.operation"),
        );
      }
      case "offset":
        return free(fixture);
      case "notch": {
        const id = valueAt(read, ["stations", second, "id"])?.content;
        const own = fixture?.stations.find((s) => id?.kind === "scalar" && (s.id === id.value || s.id === `${id.value}1`));
        return (own?.notch?.valid ?? []).map((n) => [n, say(n === own?.notch?.best ? "value.notch-best" : "value.notch-fits")]);
      }
      default:
        return [];
    }
  }
  if (first === "obstacles" && third === "base")
    return tell([...keysOf("bases"), ...(fixture?.bases.map((b) => b.name) ?? [])], say("value.base"));
  if (first === "machine" && second === "dialect" && (path.length === 2 || third === "extends"))
    return [...builtInProfiles.values()].map((p) => [p.name, told(p.summary)]);
  if (first === "offsets" && second === "zFrom" && third === "base")
    return tell(fixture?.bases.map((b) => b.name) ?? [], say("value.base"));
  if (first === "offsets" && second === "zFrom" && third === "station")
    return tell(fixture?.stations.map((s) => s.id) ?? [], say("value.station"));
  if (first === "include")
    return files()
      .filter((f) => /\.json$/i.test(f))
      .map((f) => [f, say("value.file")]);
  if (first === "offsets" && second === "file")
    return files()
      .filter((f) => !/\.json$/i.test(f))
      .map((f) => [f, say("value.file")]);
  return [];
}

/** Registers that no station and no datum has, the nearest ones of the dialect first. */
function free(fixture: Fixture | undefined): [string, string][] {
  if (fixture === undefined) return [];
  const taken = new Set([
    ...fixture.stations.flatMap((s) => s.offset ?? []),
    ...fixture.unresolved.flatMap((s) => s.offset ?? []),
    ...fixture.datums.keys(),
  ]);
  const { profile } = fixture.machine;
  return offsetKeys(profile)
    .filter((k) => !taken.has(k))
    .slice(0, 24)
    .map((k) => [spellOffset(k, profile), say("value.register")]);
}

/** Tables whose entries a sidecar may give anew, member by member, over those that it includes. */
const TABLES: readonly (string | number)[] = ["tools", "fixedJaws", "movingJaws", "endStops", "bases", "parts"];

/**
 * Keys of tables whose keys are free, with a word on each: rules under `levels`, offsets under `offsets.values`, and in the
 * tables of elements what the included files hold.
 */
function freeKeysAt(path: readonly (string | number)[], { fixture, included }: SidecarNames): (readonly [string, string, string])[] {
  const [table, second] = path;
  if (table === "levels") return catalogueIds.map((id) => [id, "", told(rules.find((rule) => rule.id === id)?.summary ?? "")]);
  if (table === "datums" || (table === "offsets" && (second === "values" || second === "trim")))
    return fixture?.stations.flatMap((s) => (s.offsetName === undefined ? [] : [[s.offsetName, s.id, ""] as const])) ?? [];
  if (table === undefined || !TABLES.includes(table) || path.length > 1) return [];
  return included.flatMap((file) => {
    const content = valueAt(file, path)?.content;
    if (content?.kind !== "object") return [];
    return [...content.members.keys()].map((key) => {
      const name = valueAt(file, [table, key, "name"])?.content;
      return [key, name?.kind === "scalar" && typeof name.value === "string" ? name.value : say("value.included"), ""] as const;
    });
  });
}
