import type { Fixture, Station } from "../engine/fixture/model.js";
import type { Expr } from "../engine/syntax/expression.js";
import { offsetsAt } from "./hover.js";
import { decimal, lengthNumber } from "./text.js";
import { say } from "./texts.js";
import { movesOf, type View, valueIn } from "./view.js";

/** What an inlay hint tells; each kind can be switched off. */
export type HintKind = "offsets" | "machineZ" | "values" | "positions";

/** A short text shown behind something of a line. */
export interface Hint {
  readonly kind: HintKind;
  readonly line: number;
  readonly column: number;
  readonly label: string;
  readonly tooltip: string;
}

/** Hints of some lines of a program (both ends included), in the order of the text. */
export function hintsOf(view: View, file: string, from: number, to: number, kinds: ReadonlySet<HintKind>): Hint[] {
  const source = view.sourceOf(file);
  if (source === undefined) return [];
  const out: Hint[] = [];
  for (let line = from; line <= Math.min(to, source.blocks.length - 1); line++) {
    if (kinds.has("offsets")) out.push(...offsetHints(view, file, line));
    if (kinds.has("values")) out.push(...valueHints(view, file, line));
    if (kinds.has("machineZ")) out.push(...retractHints(view, file, line));
  }
  return out.sort((a, b) => a.line - b.line || a.column - b.column);
}

function offsetHints(view: View, file: string, line: number): Hint[] {
  const block = view.sourceOf(file)?.blocks[line];
  const { fixture } = view.analysis;
  if (block === undefined || fixture?.usable !== true) return [];
  const out: Hint[] = [];
  const seen = new Set<string>();
  for (const word of block.words) {
    if (word.letter !== "G" && word.letter !== "P") continue;
    const keys = offsetsAt(view, file, block, word);
    const key = keys[0];
    if (key === undefined || seen.has(key)) continue;
    seen.add(key);
    const p = block.words.find((w) => w.letter === "P");
    // With "G54.1 P4" the hint stands behind the P, which completes the name of the offset.
    const column = /^P\d/.test(key) && p !== undefined ? p.end : word.end;
    const stations = keys.flatMap((k) => fixture.stationsOf(k));
    if (keys.length > 1) {
      if (stations.length === 0) continue;
      const tooltip = say("hint.many", { count: keys.length, stations: stations.map((s) => s.id).join(", ") });
      out.push({ kind: "offsets", line, column, label: shortList(stations), tooltip });
    } else if (stations.length > 0) {
      const label = stations.map((s) => `${s.id} ${s.partName ?? s.part} ${s.op}`).join(", ");
      out.push({ kind: "offsets", line, column, label, tooltip: say("hint.belongs", { offset: view.offsetName(key), stations: label }) });
    } else if (fixture.datums.has(key)) {
      const label = fixture.datums.get(key) ?? say("datum");
      out.push({ kind: "offsets", line, column, label, tooltip: say("hint.datum", { offset: view.offsetName(key) }) });
    }
  }
  return out;
}

/** Stations that a block in a loop goes to: their names, shortened from five on, and the part where it is the same at all. */
function shortList(stations: readonly Station[]): string {
  const ids = stations.map((s) => s.id);
  const names = ids.length > 4 ? `${ids.slice(0, 2).join(", ")} … ${ids.at(-1)}` : ids.join(", ");
  const parts = new Set(stations.map((s) => `${s.partName ?? s.part} ${s.op}`));
  return parts.size === 1 ? `${names} ${[...parts][0]}` : names;
}

/** Value of each word that is computed; where the block ran several times with different values, the first few of them. */
function valueHints(view: View, file: string, line: number): Hint[] {
  const block = view.sourceOf(file)?.blocks[line];
  if (block === undefined) return [];
  const indices = view.stepsOf(file, line);
  const steps = indices.map((s) => view.analysis.run.steps[s]);
  if (steps.length === 0) return [];
  const out: Hint[] = [];
  const add = (letter: string, column: number, all: readonly number[]): void => {
    const values = [...new Set(all)];
    const known = values.filter((v) => !Number.isNaN(v));
    const first = known[0];
    const label =
      first === undefined
        ? say("hint.unknown")
        : values.length === 1
          ? `= ${decimal(first, 4)}`
          : `= ${known
              .slice(0, 3)
              .map((v) => decimal(v, 4))
              .join(", ")}${values.length > 3 || known.length < values.length ? " …" : ""}`;
    const tooltip =
      values.length === 1 ? say("hint.value", { letter }) : say("hint.values", { letter, count: values.length, runs: steps.length });
    out.push({ kind: "values", line, column, label, tooltip });
  };
  for (const word of block.words) {
    if (word.expr === undefined || literal(word.expr)) continue;
    add(
      word.letter,
      word.end,
      steps.map((s) => valueIn(s, block, word)),
    );
  }
  block.assignments.forEach((assignment, at) => {
    const { index, value } = assignment;
    if (literal(value) || index.kind !== "number") return;
    // Rounds of a loop beyond the first many keep no values, and an empty one has none to show.
    const given = indices.flatMap((s) => view.analysis.run.variables?.get(s)?.given[at] ?? []);
    if (given.length > 0) add(`#${index.value}`, assignment.end, given);
  });
  return out;
}

function literal(expr: Expr): boolean {
  return expr.kind === "number" || expr.kind === "absent" || (expr.kind === "negate" && literal(expr.of));
}

/**
 * Machine Z behind the Z word of a block that goes up without cutting: where the spindle is then, on the machine's own
 * scale. With several stations at different heights the lowest and the highest are shown.
 */
function retractHints(view: View, file: string, line: number): Hint[] {
  const block = view.sourceOf(file)?.blocks[line];
  const { run, fixture } = view.analysis;
  if (block === undefined) return [];
  const word = block.words.find((w) => w.letter === "Z");
  if (word === undefined) return [];
  let low = Number.POSITIVE_INFINITY;
  let high = Number.NEGATIVE_INFINITY;
  let count = 0;
  let pointOnly = false;
  let tip = Number.NaN;
  for (const index of view.stepsOf(file, line)) {
    const step = run.steps[index];
    if (step === undefined) continue;
    const moves = movesOf(run, step);
    const first = moves[0];
    const last = moves.at(-1);
    if (first === undefined || last === undefined || moves.some((m) => m.kind !== "rapid")) continue;
    // A rise from an unknown height (the first Z of a tool) is a rise too where it comes from the reference position.
    if (!(last.to[2] > first.from[2] + 1e-6) && last.role === "plain") continue;
    // What the machine's display shows is the spindle; without a known length only the tool point is left to show.
    const z = Number.isNaN(last.gaugeTo) ? last.to[2] : last.gaugeTo;
    if (Number.isNaN(z)) continue;
    if (Number.isNaN(last.gaugeTo)) pointOnly = true;
    low = Math.min(low, z);
    high = Math.max(high, z);
    tip = last.to[2];
    count++;
  }
  if (count === 0) return [];
  const units = fixture?.units ?? "mm";
  const z = Math.abs(high - low) < 1e-6 ? lengthNumber(high, units) : `${lengthNumber(low, units)} … ${lengthNumber(high, units)}`;
  const label = say(pointOnly ? "hint.point-z" : "hint.spindle-z", { z });
  const tooltip = pointOnly
    ? say("hint.point-z-text", { units })
    : Number.isNaN(tip)
      ? say("hint.spindle-z-text", { units })
      : say("hint.spindle-and-point", { units, z: lengthNumber(tip, units) });
  return [{ kind: "machineZ", line, column: word.end, label, tooltip }];
}

/** Computed positions behind the offset (or the id) of each station of a sidecar file, within some lines. */
export function sidecarHints(fixture: Fixture, file: string, from: number, to: number, places: StationPlaces): Hint[] {
  const out: Hint[] = [];
  const seen = new Set<number>();
  for (const station of fixture.stations) {
    if (station.place.file !== file || seen.has(station.source)) continue;
    seen.add(station.source);
    const range = places(station.source);
    if (range === undefined || range.line < from || range.line > to) continue;
    const { X, Y, Z, rotary } = station.computed;
    if (Number.isNaN(X) && Number.isNaN(Y) && Number.isNaN(Z)) continue;
    const units = fixture.units;
    const values = [`X ${lengthNumber(X, units)}`, `Y ${lengthNumber(Y, units)}`, `Z ${lengthNumber(Z, units)}`];
    if (rotary !== undefined && fixture.machine.rotary !== undefined) values.push(`${fixture.machine.rotary.axis} ${decimal(rotary, 4)}°`);
    const copies = fixture.stations.filter((s) => s.source === station.source);
    const more =
      copies.length > 1 ? ` ${say("hint.copies", { first: station.id, count: copies.length - 1, last: copies.at(-1)?.id ?? "" })}` : "";
    out.push({
      kind: "positions",
      line: range.line,
      column: range.column,
      label: `${values.join(" ")}${more}`,
      tooltip: say("hint.position", { units }),
    });
  }
  return out;
}

/** The end of a station's offset value in its file; of its id where it names no offset. */
export type StationPlaces = (source: number) => { readonly line: number; readonly column: number } | undefined;

/** Places of stations by the fixture's own record of where values stand. */
export function stationPlaces(fixture: Fixture, file: string): StationPlaces {
  return (source) => {
    for (const key of ["offset", "id"]) {
      const place = fixture.placeOf(["stations", source, key]);
      if (place.file === file && place.range.line === place.range.endLine && place.range.endColumn > place.range.column + 1)
        return { line: place.range.endLine, column: place.range.endColumn };
    }
    return undefined;
  };
}
