import type { TextChange } from "../engine/findings.js";
import type { Source } from "../engine/syntax/block.js";
import type { Expr } from "../engine/syntax/expression.js";
import { linesOfLabel, partOfLine } from "../engine/syntax/parse.js";
import { baseName } from "../engine/text/path.js";
import { callsOf, type Name, type Neighbourhood, nameAt, type Occurrence, referencesOf, relatives } from "./names.js";
import { say } from "./texts.js";
import type { Position } from "./view.js";

/** Why a rename cannot be done, in plain words; or what it changes. */
export type Renaming = { readonly refused: string } | { readonly changes: readonly TextChange[] };

/** What a rename at a position would rename: the digits; or why it cannot be renamed. */
export function prepareRename(
  near: Neighbourhood,
  file: string,
  position: Position,
): { readonly refused: string } | { readonly at: Occurrence } {
  const at = nameAt(near, file, position);
  const family = relatives(near, file);
  if (at === undefined) return { refused: say("rename.only") };
  const reason = unfit(family, at.name);
  if (reason !== undefined) return { refused: reason };
  return { at };
}

/** Renames a label, an O number or a variable wherever it is written. The new name may be given with or without its letter. */
export function rename(near: Neighbourhood, file: string, position: Position, text: string): Renaming {
  const prepared = prepareRename(near, file, position);
  if ("refused" in prepared) return prepared;
  const { name } = prepared.at;
  const letter = name.kind === "label" ? "N" : name.kind === "program" ? "O" : "#";
  const match = new RegExp(`^\\s*(?:${letter === "#" ? "#" : `${letter}|P`})?\\s*(\\d{1,8})\\s*$`, "i").exec(text);
  if (match?.[1] === undefined) return { refused: say("rename.number", { letter }) };
  const number = Number(match[1]);
  if ("number" in name && number === name.number) return { changes: [] };
  const family = relatives(near, file);
  const reason = collision(family, name, number);
  if (reason !== undefined) return { refused: reason };
  const digits = match[1];
  return {
    changes: referencesOf(family, name).map((o) => ({ place: o.digits, text: o.spell === undefined ? digits : o.spell(number) })),
  };
}

/** Why a name can have no new one, whatever that may be. */
function unfit(near: Neighbourhood, name: Name): string | undefined {
  switch (name.kind) {
    case "label":
      return unfitLabel(near, name);
    case "program":
      return unfitProgram(near, name);
    case "variable":
      return unfitVariable(near, name);
    case "offset":
      return say("rename.offset");
    default:
      return say("rename.tool");
  }
}

function unfitLabel(near: Neighbourhood, name: Name & { kind: "label" }): string | undefined {
  const source = near.sources.find((s) => s.file === name.file);
  if (source === undefined) return say("rename.closed");
  const lines = linesOfLabel(source, name.number).filter((line) => partOfLine(source, line) === name.part);
  if (lines.length === 0) return say("rename.no-label", { number: name.number });
  if (lines.length > 1) return say("rename.label-twice", { number: name.number, count: lines.length });
  for (const block of blocksOf(source, name.part)) {
    const { control } = block;
    if ((control?.kind === "goto" || control?.kind === "if-goto") && control.target.kind !== "number")
      return say("rename.jump-computed", { line: block.line + 1 });
  }
  const called = new Set(
    callsOf(source, near.profile).flatMap(({ block, call }) => (partOfLine(source, block.line) === name.part ? call.number : [])),
  );
  for (const other of near.sources) {
    for (const { block, call } of callsOf(other, near.profile)) {
      if (call.code !== "M99" || call.p === undefined) continue;
      const part = other.parts[partOfLine(other, block.line)];
      if (part === undefined || !called.has(part.number)) continue;
      const marks = { program: part.number, number: name.number, line: block.line + 1 };
      if (Number.isNaN(call.number)) return say("rename.returns-computed", marks);
      if (call.number === name.number) return say("rename.returns", marks);
    }
  }
  return undefined;
}

function unfitProgram(near: Neighbourhood, name: Name & { kind: "program" }): string | undefined {
  if (name.file === undefined) return say("rename.program-away", { number: name.number });
  const source = near.sources.find((s) => s.file === name.file);
  const parts = source?.parts.filter((p) => p.number === name.number) ?? [];
  if (source === undefined || parts.length === 0) return say("rename.program-file", { number: name.number });
  if (parts.length > 1) return say("rename.program-twice", { number: name.number });
  const foreign = near.sources.find(
    (s) =>
      s.file !== name.file &&
      callsOf(s, near.profile).some(({ call }) => call.number === name.number && near.fileOf(name.number, s.file) === name.file),
  );
  if (foreign !== undefined && near.byFileName(name.file)) return say("rename.program-foreign", { number: name.number });
  for (const other of near.sources) {
    for (const { block, call } of callsOf(other, near.profile)) {
      if (call.code === "M99" || call.code === "M97") continue;
      if (call.p !== undefined && Number.isNaN(call.number))
        return say("rename.call-computed", { line: block.line + 1, file: baseName(other.file) });
    }
  }
  return undefined;
}

function unfitVariable(near: Neighbourhood, name: Name & { kind: "variable" }): string | undefined {
  const { variables, macroArguments } = near.profile;
  const inside = (range: readonly [number, number] | undefined) =>
    range !== undefined && name.number >= range[0] && name.number <= range[1];
  if (!inside(variables?.local) && !inside(variables?.common) && !inside(variables?.persistent))
    return say("rename.system-variable", { number: name.number });
  if (name.number === 0) return say("rename.empty-variable");
  for (const source of near.sources) {
    if (name.part >= 0 && source.file !== name.file) continue;
    for (const block of name.part >= 0 ? blocksOf(source, name.part) : source.blocks) {
      if (computedIndex(block)) return say("rename.variable-computed", { line: block.line + 1, file: baseName(source.file) });
    }
  }
  if (name.part < 0) return undefined;
  const own = near.sources.find((s) => s.file === name.file)?.parts[name.part];
  const letters = Object.entries(macroArguments)
    .filter(([, n]) => n === name.number)
    .map(([letter]) => letter);
  for (const source of near.sources) {
    for (const { block, call } of callsOf(source, near.profile)) {
      if ((call.code !== "G65" && call.code !== "G66") || call.number !== own?.number) continue;
      const letter = letters.find((l) => block.words.some((w) => w.letter === l));
      if (letter !== undefined)
        return say("rename.argument", { number: name.number, letter, line: block.line + 1, file: baseName(source.file) });
    }
  }
  return undefined;
}

/** Why the new number is taken. */
function collision(near: Neighbourhood, name: Name, number: number): string | undefined {
  if (name.kind === "label") {
    const source = near.sources.find((s) => s.file === name.file);
    const line = source === undefined ? undefined : linesOfLabel(source, number).find((l) => partOfLine(source, l) === name.part);
    return line === undefined ? undefined : say("rename.label-taken", { number, line: line + 1 });
  }
  if (name.kind === "program") {
    for (const source of near.sources) {
      const calls = source.file === name.file || callsOf(source, near.profile).some(({ call }) => call.number === name.number);
      if (!calls) continue;
      const taken = near.fileOf(number, source.file);
      if (taken !== undefined) return say("rename.program-taken", { number, file: baseName(taken) });
      const called = callsOf(source, near.profile).find(({ call }) => call.number === number);
      if (called !== undefined) return say("rename.program-called", { line: called.block.line + 1, file: baseName(source.file), number });
    }
    return undefined;
  }
  if (name.kind === "variable") {
    const other: Name = { ...name, number };
    const local = near.profile.variables?.local;
    const isLocal = local !== undefined && number >= local[0] && number <= local[1];
    if (isLocal !== name.part >= 0) return say(isLocal ? "rename.local" : "rename.shared", { number, old: name.number });
    const reason = unfitVariable(near, other as Name & { kind: "variable" });
    if (reason !== undefined) return reason;
    const taken = referencesOf(near, other)[0];
    return taken === undefined
      ? undefined
      : say("rename.variable-taken", { number, line: taken.place.range.line + 1, file: baseName(taken.place.file) });
  }
  return undefined;
}

function blocksOf(source: Source, part: number): Source["blocks"] {
  const range = source.parts[part];
  return range === undefined ? [] : source.blocks.slice(range.line, range.endLine);
}

function computedIndex(block: Source["blocks"][number]): boolean {
  const deep = (e: Expr): boolean => {
    if (e.kind === "variable") return e.index.kind !== "number" || deep(e.index);
    if (e.kind === "negate") return deep(e.of);
    if (e.kind === "binary") return deep(e.left) || deep(e.right);
    return e.kind === "call" && e.args.some(deep);
  };
  const { control } = block;
  return (
    block.assignments.some((a) => a.index.kind !== "number" || deep(a.value)) ||
    block.words.some((w) => w.expr !== undefined && deep(w.expr)) ||
    (control !== undefined && "condition" in control && deep(control.condition)) ||
    (control !== undefined && "target" in control && deep(control.target))
  );
}
