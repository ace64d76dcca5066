import type { Source } from "../engine/syntax/block.js";
import type { Place } from "../engine/text/place.js";
import { placeOf } from "../engine/text/place.js";
import { offsetsAt } from "./hover.js";
import { labelPlace, type Name, type Neighbourhood, nameAt, occurrencesIn, programPlace, referencesOf, sameName } from "./names.js";
import { type Position, type View, valueIn, wordAt } from "./view.js";

/** Where a word leads, with the columns it stands in. */
export interface Definition {
  readonly from: { readonly start: number; readonly end: number };
  readonly to: readonly Place[];
}

/**
 * Where a word leads: an offset to its station, a tool and its registers to the entry in the sidecar, a call to its program,
 * a jump to its label, a variable to where it was last set before the block ran.
 */
export function definitionAt(view: View, near: Neighbourhood, file: string, position: Position): Definition | undefined {
  const source = near.sources.find((s) => s.file === file);
  if (source === undefined) return undefined;
  return fromCall(view, source, position) ?? fromName(view, near, source, position) ?? fromWord(view, file, position);
}

/** The call as it was run: computed numbers and files of other folders are then known too. */
function fromCall(view: View, source: Source, position: Position): Definition | undefined {
  const at = wordAt(source, position);
  const own = view.sourceOf(source.file);
  if (at?.word === undefined || own === undefined) return undefined;
  const { block, word } = at;
  const { run } = view.analysis;
  const isCall = (letter: string, value: number) =>
    (letter === "M" && (value === 98 || value === 97)) || (letter === "G" && (value === 65 || value === 66));
  const callWord = block.words.find((w) => isCall(w.letter, w.value));
  if (callWord === undefined || (word !== callWord && word.letter !== "P")) return undefined;
  for (const index of view.stepsOf(source.file, block.line)) {
    const callee = run.steps[index + 1];
    if (callee === undefined || callee.call.caller !== index) continue;
    const target = run.sources[callee.source];
    if (target === undefined) continue;
    const part = target.parts.find((p) => p.number === callee.call.program);
    const line = callee.call.kind === "local" ? callee.block.line : (part?.line ?? callee.block.line);
    return {
      from: { start: word.start, end: word.end },
      to: [placeOf(target.file, { line, start: 0, end: target.lines[line]?.length ?? 0 })],
    };
  }
  return undefined;
}

function fromName(view: View, near: Neighbourhood, source: Source, position: Position): Definition | undefined {
  const at = nameAt(near, source.file, position);
  if (at === undefined) return undefined;
  const from = { start: at.place.range.column, end: at.place.range.endColumn };
  const { name } = at;
  if (name.kind === "label") {
    const to = labelPlace(source, name.part, name.number, position.line);
    return to === undefined ? undefined : { from, to: [to] };
  }
  if (name.kind === "program") return name.file === undefined ? undefined : { from, to: [programPlace(near, name.file, name.number)] };
  if (name.kind === "variable") {
    const to = lastAssignment(view, near, source, position.line, name);
    return to === undefined ? undefined : { from, to: [to] };
  }
  return undefined;
}

/** The assignment that was run last before the block; of a block that was not run, the last one above it or the first at all. */
function lastAssignment(
  view: View,
  near: Neighbourhood,
  source: Source,
  line: number,
  name: Name & { kind: "variable" },
): Place | undefined {
  const { run } = view.analysis;
  const first = view.stepsOf(source.file, line)[0];
  const seen = new Set<string>();
  for (let i = first ?? -1; i >= 0; i--) {
    const step = run.steps[i];
    const own = step === undefined ? undefined : run.sources[step.source];
    if (step === undefined || own === undefined || step.block.assignments.length === 0) continue;
    const key = `${step.source} ${step.block.line}`;
    if (seen.has(key)) continue;
    seen.add(key);
    const made = occurrencesIn(own, step.block, near).find((o) => o.write && sameName(o.name, name));
    if (made !== undefined) return made.place;
  }
  const all = referencesOf(near, name).filter((o) => o.write);
  return (all.filter((o) => o.place.file === source.file && o.place.range.line <= line).at(-1) ?? all[0])?.place;
}

function fromWord(view: View, file: string, position: Position): Definition | undefined {
  const source = view.sourceOf(file);
  const at = source === undefined ? undefined : wordAt(source, position);
  const { run, fixture } = view.analysis;
  if (at?.word === undefined || fixture === undefined) return undefined;
  const { block, word } = at;
  const from = { start: word.start, end: word.end };
  const offsets = offsetsAt(view, file, block, word);
  if (offsets.length > 0) {
    const stations = offsets.flatMap((offset) => fixture.stationsOf(offset));
    // Copies of one entry of the sidecar stand at one place.
    const places = new Map(stations.map((s) => [`${s.place.file} ${s.place.range.line} ${s.place.range.column}`, s.place]));
    if (places.size > 0) return { from, to: [...places.values()] };
    const stored = offsets.flatMap((offset) => fixture.stored.get(offset)?.place ?? []);
    return stored.length === 0 ? undefined : { from, to: stored };
  }
  const value = valueIn(run.steps[view.stepsOf(file, block.line)[0] ?? -1], block, word);
  if (word.letter === "T") {
    const tool = fixture.tools.get(value);
    return tool === undefined ? undefined : { from, to: [tool.place] };
  }
  if (word.letter === "H" || word.letter === "D") {
    const letter = word.letter;
    const to = [...fixture.tools.values()].filter((t) => t[letter].includes(value)).map((t) => t.place);
    return to.length === 0 ? undefined : { from, to };
  }
  return undefined;
}
