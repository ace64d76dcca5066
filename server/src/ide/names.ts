import { offsetOf, registerOfG10 } from "../engine/dialect/offsets.js";
import type { Profile } from "../engine/dialect/profile.js";
import type { Host } from "../engine/host.js";
import type { Block, Source, Word } from "../engine/syntax/block.js";
import type { Expr } from "../engine/syntax/expression.js";
import { codeOf, findLabel, parseSource, partOfLine } from "../engine/syntax/parse.js";
import { baseName, folderOf, joinPath } from "../engine/text/path.js";
import { type Place, placeOf } from "../engine/text/place.js";

/** Something a program names by a number. */
export type Name =
  | { readonly kind: "label"; readonly file: string; readonly part: number; readonly number: number }
  /** `file` is where the program stands; undefined where it was not found. */
  | { readonly kind: "program"; readonly file: string | undefined; readonly number: number }
  /** `part` is -1 for variables that all programs share. */
  | { readonly kind: "variable"; readonly file: string; readonly part: number; readonly number: number }
  | { readonly kind: "offset"; readonly key: string }
  | { readonly kind: "tool"; readonly number: number }
  | { readonly kind: "length register" | "radius register"; readonly number: number };

/** One place where a name is written. */
export interface Occurrence {
  readonly name: Name;
  readonly place: Place;
  /** It is made or set here: an O word, an N word, an assignment, a G10. */
  readonly write: boolean;
  /** The digits alone, for a rename. */
  readonly digits: Place;
  /** What must be kept around a new number, such as the repeats of a packed call. */
  readonly spell?: (number: number) => string;
}

/** Sources that know each other, with where calls lead. Read once, then asked. */
export interface Neighbourhood {
  readonly sources: readonly Source[];
  readonly profile: Profile;
  /** File that holds program `number` as a file would call it; undefined when none does. */
  fileOf(number: number, from: string): string | undefined;
  /** Found by the name of the file rather than by an O word in the calling file. */
  byFileName(file: string): boolean;
}

const PROGRAM_FILE = /^[o:]?0*(\d{1,8})(?:\.([a-z0-9]{1,6}))?$/i;
const PROGRAM_EXTENSION = /\.(?:nc|cnc|tap|eia|iso|ngc|min|ncp|txt)$/i;
/** A folder with more programs than this is read no further. */
const MOST_FILES = 300;
/** Files larger than this (a memory dump, a mould) are not read for names. */
const MOST_CHARACTERS = 4_000_000;

export interface NeighbourhoodOptions {
  /** Folders besides the file's own in which programs are looked for. */
  readonly folders?: readonly string[];
  /** false: only the names of other files are looked at, not what is in them. */
  readonly deep?: boolean;
}

const parses = new Map<string, { readonly text: string; readonly profile: Profile; readonly source: Source }>();

/** A file that is only looked at for its names is parsed once for each text of it. */
function parsed(path: string, text: string, profile: Profile): Source {
  const known = parses.get(path);
  if (known?.text === text && known.profile === profile) return known.source;
  const source = parseSource(path, text, profile);
  if (parses.size > 2 * MOST_FILES) parses.clear();
  parses.set(path, { text, profile, source });
  return source;
}

/**
 * The programs around a file: those that its analysis has read, those of other open programs, and those of its folder and of
 * the configured folders.
 * @param known sources that are parsed already
 */
export function neighbourhood(
  host: Host,
  file: string,
  known: readonly Source[],
  profile: Profile,
  options: NeighbourhoodOptions = {},
): Neighbourhood {
  const { folders = [], deep = true } = options;
  const byFile = new Map(known.map((s) => [s.file, s]));
  const all = [...new Set([folderOf(file), ...folders])];
  const named = new Map<string, Map<number, string>>();
  let read = 0;
  for (const folder of all) {
    const numbers = new Map<number, string>();
    named.set(folder, numbers);
    for (const name of [...(host.list(folder) ?? [])].sort()) {
      const path = joinPath(folder, name);
      const match = PROGRAM_FILE.exec(name);
      const isProgram = PROGRAM_EXTENSION.test(name) || (match !== null && match[2] === undefined);
      if (
        match !== null &&
        (isProgram || !/^(?:json|md|pdf|html?|png|jpg|svg|zip|log|bak)$/i.test(match[2] ?? "")) &&
        !numbers.has(Number(match[1]))
      )
        numbers.set(Number(match[1]), path);
      if (!deep || !isProgram || byFile.has(path) || read >= MOST_FILES) continue;
      const text = host.read(path);
      if (text === undefined || text.length > MOST_CHARACTERS) continue;
      read++;
      byFile.set(path, parsed(path, text, profile));
    }
  }
  const main = known[0]?.file;
  const holds = (path: string | undefined, number: number) =>
    path !== undefined && byFile.get(path)?.parts.some((p) => p.number === number) === true;
  return {
    sources: [...byFile.values()],
    profile,
    fileOf(number, from) {
      if (holds(from, number)) return from;
      if (holds(main, number)) return main;
      for (const folder of new Set([folderOf(from), ...all])) {
        const path = named.get(folder)?.get(number);
        if (path !== undefined) return path;
      }
      return undefined;
    },
    byFileName: (path) => PROGRAM_FILE.test(baseName(path)),
  };
}

/** A call as it is written: M98, M97, G65, G66 with its P, or M99 with a P. */
export interface CallWord {
  readonly code: string;
  readonly codeWord: Word;
  readonly p: Word | undefined;
  /** Number called; NaN where it is computed. */
  readonly number: number;
}

const CALLS = new Set(["M98", "M97", "M99", "G65", "G66"]);

/** The call of a block, if any. */
export function callOf(block: Block, profile: Profile): CallWord | undefined {
  for (const word of block.words) {
    // No call has a smaller number, and most words are motion.
    if ((word.letter !== "M" && word.letter !== "G") || !(word.value > 64)) continue;
    const code = codeOf(word, word.value);
    if (!CALLS.has(code) || !profile.codes.has(code)) continue;
    const p = block.words.find((w) => w.letter === "P");
    if (p === undefined) return { code, codeWord: word, p, number: Number.NaN };
    const number = code === "M98" && profile.packedRepeat && p.value > 9999 ? p.value % 10_000 : p.value;
    return { code, codeWord: word, p, number };
  }
  return undefined;
}

/** A block that calls, with its call. */
export interface Caller {
  readonly block: Block;
  readonly call: CallWord;
}

const callers = new WeakMap<Source, { readonly profile: Profile; readonly list: readonly Caller[] }>();

/** The blocks of a source that call something or return by M99, in their order. Looked for once: questions about calls go through all files. */
export function callsOf(source: Source, profile: Profile): readonly Caller[] {
  const known = callers.get(source);
  if (known?.profile === profile) return known.list;
  const list: Caller[] = [];
  for (const block of source.blocks) {
    const call = block.words.length === 0 ? undefined : callOf(block, profile);
    if (call !== undefined) list.push({ block, call });
  }
  callers.set(source, { profile, list });
  return list;
}

/** Every name that a block writes, with where. */
export function occurrencesIn(source: Source, block: Block, near: Neighbourhood): Occurrence[] {
  const { profile } = near;
  const out: Occurrence[] = [];
  const { file } = source;
  const { line } = block;
  const at = (start: number, end: number): Place => placeOf(file, { line, start, end });
  const text = source.lines[line] ?? "";
  const part = partOfLine(source, line);
  const digitsOf = (start: number, end: number): Place => {
    const first = text.slice(start, end).search(/\d/);
    return at(first < 0 ? start : start + first, end);
  };
  if (block.label !== undefined && block.labelSpan !== undefined) {
    const { start, end } = block.labelSpan;
    out.push({
      name: { kind: "label", file, part, number: block.label },
      place: at(start, end),
      write: true,
      digits: digitsOf(start, end),
    });
  }
  if (block.program !== undefined && block.programSpan !== undefined) {
    const { start, end } = block.programSpan;
    out.push({ name: { kind: "program", file, number: block.program }, place: at(start, end), write: true, digits: digitsOf(start, end) });
  }
  const { control } = block;
  if (control?.kind === "goto" || control?.kind === "if-goto") {
    const { target } = control;
    if (target.kind === "number")
      out.push({
        name: { kind: "label", file, part, number: target.value },
        place: at(target.start, target.end),
        write: false,
        digits: digitsOf(target.start, target.end),
      });
    else variables(target);
  }
  if (control?.kind === "if-goto" || control?.kind === "if-then" || control?.kind === "while") variables(control.condition);
  for (const { index, value, start } of block.assignments) {
    if (index.kind === "number") out.push(variable(index.value, start, index.end, true));
    else variables(index);
    variables(value);
  }
  for (const word of block.words) if (word.expr !== undefined) variables(word.expr);

  const call = callOf(block, profile);
  if (call?.p !== undefined && !Number.isNaN(call.number)) {
    const { p, number } = call;
    const span = { place: at(p.start, p.end), write: false, digits: digitsOf(p.start, p.end) };
    if (call.code === "M97") out.push({ name: { kind: "label", file, part, number }, ...span });
    else if (call.code !== "M99") {
      const packed = number !== p.value ? Math.floor(p.value / 10_000) : undefined;
      const spell = packed === undefined ? {} : { spell: (n: number) => `${packed}${String(n).padStart(4, "0")}` };
      out.push({ name: { kind: "program", file: near.fileOf(number, file), number }, ...span, ...spell });
    }
  }
  const offset = offsetWords(block, profile);
  if (offset !== undefined) {
    const digits = digitsOf(offset.start, offset.end);
    out.push({ name: { kind: "offset", key: offset.key }, place: at(offset.start, offset.end), write: offset.write, digits });
  }
  for (const word of block.words) {
    if (Number.isNaN(word.value)) continue;
    const span = { place: at(word.start, word.end), write: false, digits: digitsOf(word.start, word.end) };
    if (word.letter === "T") out.push({ name: { kind: "tool", number: word.value }, ...span });
    else if (word.letter === "H") out.push({ name: { kind: "length register", number: word.value }, ...span });
    else if (word.letter === "D" && call?.code !== "G65" && call?.code !== "G66")
      out.push({ name: { kind: "radius register", number: word.value }, ...span });
  }
  return out;

  function variable(number: number, start: number, end: number, write: boolean): Occurrence {
    const local = profile.variables?.local;
    const isLocal = local !== undefined && number >= local[0] && number <= local[1];
    const name: Name = { kind: "variable", file: isLocal ? file : "", part: isLocal ? part : -1, number };
    return { name, place: at(start, end), write, digits: digitsOf(start, end) };
  }

  function variables(expr: Expr): void {
    if (expr.kind === "variable") {
      if (expr.index.kind === "number") out.push(variable(expr.index.value, expr.start, expr.index.end, false));
      else variables(expr.index);
    } else if (expr.kind === "negate") variables(expr.of);
    else if (expr.kind === "binary") {
      variables(expr.left);
      variables(expr.right);
    } else if (expr.kind === "call") for (const arg of expr.args) variables(arg);
  }
}

/** The work offset that a block states in literal words: its register and the columns from the code to its P. */
function offsetWords(
  block: Block,
  profile: Profile,
): { readonly key: string; readonly start: number; readonly end: number; readonly write: boolean } | undefined {
  const p = block.words.find((w) => w.letter === "P");
  for (const word of block.words) {
    if (word.letter !== "G" || Number.isNaN(word.value)) continue;
    const code = codeOf(word, word.value);
    if (code === "G10") {
      const l = block.words.find((w) => w.letter === "L");
      if (p === undefined || l === undefined) return undefined;
      const key = registerOfG10(l.value, p.value, profile);
      if (key === undefined || key === "shift" || key === "out-of-range") return undefined;
      return { key, start: p.start, end: p.end, write: true };
    }
    const key = offsetOf(code, p?.value, profile);
    if (key === undefined || key === "absent-p" || key === "out-of-range") continue;
    const numbered = /^P\d+$/.test(key) && p !== undefined;
    // Something may stand between the code and its P; then the P alone tells the register.
    const behind = numbered && p.start >= word.end && !block.words.some((w) => w.start >= word.end && w.end <= p.start);
    if (!numbered) return { key, start: word.start, end: word.end, write: false };
    return { key, start: behind ? word.start : p.start, end: p.end, write: false };
  }
  return undefined;
}

const cache = new WeakMap<Source, { readonly near: Neighbourhood; readonly list: readonly Occurrence[] }>();

/** Every name of a source; kept as long as the same neighbourhood asks. */
export function occurrencesOf(source: Source, near: Neighbourhood): readonly Occurrence[] {
  const known = cache.get(source);
  if (known?.near === near) return known.list;
  const list: Occurrence[] = [];
  for (const block of source.blocks) if (mayWrite(block)) list.push(...occurrencesIn(source, block, near));
  cache.set(source, { near, list });
  return list;
}

/** Letters of words that can be a name or a part of one. */
const NAMING = new Set(["G", "M", "T", "H", "D"]);

/** False for a block that writes no name of a kind (or none at all), told at a glance: most blocks of a long program are motion. */
function mayWrite(block: Block, kind?: Name["kind"]): boolean {
  const { words, control, assignments } = block;
  const any = kind === undefined;
  if ((any || kind === "label") && (block.label !== undefined || control !== undefined)) return true;
  if ((any || kind === "program") && block.program !== undefined) return true;
  const variable = any || kind === "variable";
  if (variable && (assignments.length > 0 || control !== undefined)) return true;
  for (const { letter, expr, value } of words) {
    if (variable && expr !== undefined) return true;
    // G0 to G3 move, in every dialect.
    if (!NAMING.has(letter) || (letter === "G" && value < 4)) continue;
    if (any) return true;
    if (letter === "T" ? kind === "tool" : letter === "H" ? kind === "length register" : letter === "D" && kind === "radius register")
      return true;
    if (letter === "M" && (kind === "label" || kind === "program")) return true;
    if (letter === "G" && (kind === "offset" || kind === "program")) return true;
  }
  return false;
}

/** The name under a position of a file. Of several that overlap the shortest is meant. */
export function nameAt(
  near: Neighbourhood,
  file: string,
  position: { readonly line: number; readonly column: number },
): Occurrence | undefined {
  const source = near.sources.find((s) => s.file === file);
  const block = source?.blocks[position.line];
  if (source === undefined || block === undefined) return undefined;
  const width = (o: Occurrence) => o.place.range.endColumn - o.place.range.column;
  const inside = occurrencesIn(source, block, near).filter(
    ({ place: { range } }) => position.column >= range.column && position.column <= range.endColumn,
  );
  const strictly = inside.filter(({ place: { range } }) => position.column < range.endColumn);
  return (strictly.length > 0 ? strictly : inside).sort((a, b) => width(a) - width(b))[0];
}

/** True when two names are one. */
export function sameName(a: Name, b: Name): boolean {
  if (a.kind !== b.kind) return false;
  if (a.kind === "offset" || b.kind === "offset") return a.kind === "offset" && b.kind === "offset" && a.key === b.key;
  if (a.number !== b.number) return false;
  if (a.kind === "program" && b.kind === "program") return a.file === b.file;
  if ((a.kind === "label" || a.kind === "variable") && a.kind === b.kind) return a.file === b.file && a.part === b.part;
  return true;
}

/** Where a name is written in the neighbourhood, in the order of files and lines; `within` limits the search to one file. */
export function referencesOf(near: Neighbourhood, name: Name, within?: string): Occurrence[] {
  const only = within ?? (name.kind === "label" || (name.kind === "variable" && name.part >= 0) ? name.file : undefined);
  return near.sources.filter((s) => only === undefined || s.file === only).flatMap((s) => namesLike(s, near, name));
}

/** Where one source writes a name. */
function namesLike(source: Source, near: Neighbourhood, name: Name): Occurrence[] {
  const known = cache.get(source);
  if (known?.near === near) return known.list.filter((o) => sameName(o.name, name));
  const out: Occurrence[] = [];
  for (const block of source.blocks) {
    if (!mayWrite(block, name.kind)) continue;
    for (const o of occurrencesIn(source, block, near)) if (sameName(o.name, name)) out.push(o);
  }
  return out;
}

/** The same neighbourhood with only those files that a file calls or is called by, over any number of steps. */
export function relatives(near: Neighbourhood, file: string): Neighbourhood {
  const links = new Map<string, Set<string>>();
  const link = (a: string, b: string): void => {
    const list = links.get(a);
    if (list === undefined) links.set(a, new Set([b]));
    else list.add(b);
  };
  for (const source of near.sources) {
    for (const { call } of callsOf(source, near.profile)) {
      if (call.p === undefined || Number.isNaN(call.number) || call.code === "M97" || call.code === "M99") continue;
      const target = near.fileOf(call.number, source.file);
      if (target === undefined || target === source.file) continue;
      link(source.file, target);
      link(target, source.file);
    }
  }
  const family = new Set([file]);
  for (const member of family) for (const other of links.get(member) ?? []) family.add(other);
  return { ...near, sources: near.sources.filter((s) => family.has(s.file)) };
}

/** The place a label stands at, as seen from a line of its file. */
export function labelPlace(source: Source, part: number, number: number, from: number): Place | undefined {
  const line = findLabel(source, part, number, from);
  const block = line === undefined ? undefined : source.blocks[line];
  return block?.labelSpan === undefined ? undefined : placeOf(source.file, { line: block.line, ...block.labelSpan });
}

/** The place of the O word of a program, or the first line of a file that is found by its name. */
export function programPlace(near: Neighbourhood, file: string, number: number): Place {
  const source = near.sources.find((s) => s.file === file);
  const part = source?.parts.find((p) => p.number === number) ?? source?.parts[0];
  const line = part?.line ?? 0;
  const span = source?.blocks[line]?.programSpan ?? { start: 0, end: source?.lines[line]?.length ?? 0 };
  return placeOf(file, { line, ...span });
}
