import { codeOf } from "../engine/syntax/parse.js";
import type { Place } from "../engine/text/place.js";
import { offsetAt } from "./hover.js";
import { type Position, type View, valueIn, wordAt } from "./view.js";

/** Where a word leads: an offset to its station, a tool to its entry in the sidecar, a call or GOTO to its block. */
export function definitionAt(
  view: View,
  file: string,
  position: Position,
): { readonly from: { readonly start: number; readonly end: number }; readonly to: readonly Place[] } | undefined {
  const source = view.sourceOf(file);
  if (source === undefined) return undefined;
  const at = wordAt(source, position);
  if (at?.word === undefined) return undefined;
  const { block, word } = at;
  const { run, fixture } = view.analysis;
  const from = { start: word.start, end: word.end };
  const indices = view.stepsOf(file, block.line);
  const step = run.steps[indices[0] ?? -1];
  const code = (w: typeof word) => codeOf(w, valueIn(step, block, w));

  const call = block.words.find((w) => w.letter === "M" || w.letter === "G");
  const callWord = block.words.find((w) => ["M98", "M97", "G65", "G66"].includes(w.letter === "M" || w.letter === "G" ? code(w) : ""));
  if (callWord !== undefined && (word === callWord || word.letter === "P")) {
    // The call as it was run: the step behind one of this block's steps that it is the caller of.
    for (const index of indices) {
      const callee = run.steps[index + 1];
      if (callee === undefined || callee.call.caller !== index) continue;
      const target = run.sources[callee.source];
      if (target === undefined) continue;
      const part = target.parts.find((p) => p.number === callee.call.program);
      const line = part?.line ?? callee.block.line;
      const text = target.lines[line] ?? "";
      return { from, to: [{ file: target.file, range: { line, column: 0, endLine: line, endColumn: text.length } }] };
    }
    return undefined;
  }
  void call;
  if (fixture === undefined) return undefined;
  const offset = offsetAt(view, file, block, word);
  if (offset !== undefined) {
    const stations = fixture.stationsOf(offset);
    if (stations.length > 0) return { from, to: stations.map((s) => s.place) };
    const stored = fixture.stored.get(offset);
    return stored === undefined ? undefined : { from, to: [stored.place] };
  }
  const value = valueIn(step, block, word);
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
