import { parseOffsetName } from "../engine/dialect/offsets.js";
import type { Fixture, Station } from "../engine/fixture/model.js";
import type { Place } from "../engine/text/place.js";
import { readSidecarText, spotAt, stationsOfEntry, valueAt } from "./sidecar-text.js";
import { type Position, type View, valueIn } from "./view.js";

type Table = "bases" | "fixedJaws" | "movingJaws" | "endStops" | "parts";

/** What a place in a sidecar speaks of, as far as it is used elsewhere. */
export type SidecarSubject =
  /** An entry of `stations`, with a repeat all that it gives. */
  | { readonly kind: "stations"; readonly stations: readonly Station[] }
  | { readonly kind: "offset"; readonly key: string }
  | { readonly kind: "tool"; readonly number: number }
  /** `op` where the operation of a part is meant. */
  | { readonly kind: "element"; readonly table: Table; readonly name: string; readonly op?: string };

const TABLES: readonly string[] = ["bases", "fixedJaws", "movingJaws", "endStops", "parts"] satisfies readonly Table[];

/** The field of a station that names an entry of a table. */
const FIELDS: Readonly<Record<string, Table>> = {
  base: "bases",
  fixedJaw: "fixedJaws",
  movingJaw: "movingJaws",
  endStop: "endStops",
  part: "parts",
  op: "parts",
};

/** What a position in a sidecar, or in a file that it includes, speaks of. */
export function subjectAt(fixture: Fixture, file: string, text: string, position: Position): SidecarSubject | undefined {
  const { path, isKey } = spotAt(text, position);
  const [first, second, third, fourth] = path;
  if (second === undefined) return undefined;
  if (first === "tools") return { kind: "tool", number: Number(second) };
  if (first === "datums" || (first === "offsets" && (second === "values" || second === "trim"))) {
    const key = parseOffsetName(String(first === "datums" ? second : third), fixture.machine.profile);
    return key === undefined ? undefined : { kind: "offset", key };
  }
  if (typeof first === "string" && TABLES.includes(first)) {
    const op = first === "parts" && third === "ops" && fourth !== undefined ? { op: String(fourth) } : {};
    return { kind: "element", table: first as Table, name: String(second), ...op };
  }
  if (first !== "stations" || typeof second !== "number") return undefined;
  const read = readSidecarText(file, text);
  const named = (...at: (string | number)[]): string | undefined => {
    const value = valueAt(read, ["stations", second, ...at])?.content;
    return value?.kind === "scalar" && typeof value.value === "string" ? value.value : undefined;
  };
  const table = FIELDS[String(third)];
  // The name of a jaw asks for the jaw; its key and everything else for the station.
  if (!isKey && table !== undefined) {
    const name = third === "endStop" ? (fourth === "element" ? named("endStop", "element") : undefined) : named(String(third));
    const part = third === "op" ? named("part") : undefined;
    if (third === "op") return name === undefined || part === undefined ? undefined : { kind: "element", table, name: part, op: name };
    if (name !== undefined) return { kind: "element", table, name };
  }
  const stations = stationsOfEntry(fixture, read, second);
  return stations.length === 0 ? undefined : { kind: "stations", stations };
}

/**
 * Where a program uses what a sidecar speaks of: the blocks of the main program that begin the visits of a station or
 * select an offset, the tool words of a tool. Nothing for an element, which a program does not name.
 */
export function usesInProgram(view: View, subject: SidecarSubject): Place[] {
  const { run, fixture } = view.analysis;
  const main = run.sources[0];
  if (main === undefined || subject.kind === "element") return [];
  const out = new Map<string, Place>();
  const add = (file: string, line: number, start: number, end: number): void => {
    out.set(`${file} ${line} ${start}`, { file, range: { line, column: start, endLine: line, endColumn: end } });
  };
  if (subject.kind === "tool") {
    for (const step of run.steps) {
      const source = run.sources[step.source];
      if (source === undefined) continue;
      for (const word of step.block.words)
        if (word.letter === "T" && valueIn(step, step.block, word) === subject.number)
          add(source.file, step.block.line, word.start, word.end);
    }
    return [...out.values()];
  }
  // Indices belong to one reading of the sidecar; the names are what two readings share.
  const ids = subject.kind === "stations" ? new Set(subject.stations.map((s) => s.id)) : undefined;
  for (const visit of run.visits) {
    const id = fixture?.stations[visit.station]?.id;
    if (subject.kind === "offset" ? visit.offset !== subject.key : id === undefined || ids?.has(id) !== true) continue;
    const line = view.mainLine(visit.openedBy >= 0 ? visit.openedBy : visit.firstStep);
    const block = main.blocks[line];
    add(main.file, line, block?.start ?? 0, block?.end ?? 0);
  }
  return [...out.values()];
}

/** Where stations name an element; the stations of an offset; with `declaration` also where a thing itself is described. */
export function usesInSidecar(fixture: Fixture, subject: SidecarSubject, declaration: boolean): Place[] {
  const out: Place[] = [];
  const seen = new Set<string>();
  const add = (path: readonly (string | number)[]): void => {
    const place = fixture.placeOf(path);
    const key = JSON.stringify(place);
    // A value that is not there is answered by what encloses it, which says nothing.
    if (seen.has(key) || key === JSON.stringify(fixture.placeOf(path.slice(0, -1)))) return;
    seen.add(key);
    out.push(place);
  };
  if (subject.kind === "offset") for (const station of fixture.stationsOf(subject.key)) add(["stations", station.source, "offset"]);
  if (subject.kind !== "element") return out;
  const { table, name, op } = subject;
  if (declaration) add(op === undefined ? [table, name] : [table, name, "ops", op]);
  for (const s of fixture.stations) {
    if (table === "bases" && s.base.name === name) add(["stations", s.source, "base"]);
    if (table === "fixedJaws" && s.fixedJaw === name) add(["stations", s.source, "fixedJaw"]);
    if (table === "movingJaws" && s.movingJaw === name) add(["stations", s.source, "movingJaw"]);
    if (table === "endStops" && s.endStop?.element === name) add(["stations", s.source, "endStop", "element"]);
    if (table === "parts" && s.part === name && (op === undefined || s.op === op))
      add(["stations", s.source, op === undefined ? "part" : "op"]);
  }
  return out;
}

/** Blocks whose findings point at one of these places: a jaw that is met leads to the blocks that meet it. */
export function findingsAbout(view: View, places: readonly Place[]): Place[] {
  const keys = new Set(places.map((place) => JSON.stringify(place)));
  return view.analysis.findings
    .filter((f) => !keys.has(JSON.stringify(f.place)) && f.related.some((r) => keys.has(JSON.stringify(r.place))))
    .map((f) => f.place);
}
