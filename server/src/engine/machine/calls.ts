import type { Source } from "../syntax/block.js";
import { parseSource, partOfLine } from "../syntax/parse.js";
import { folderOf } from "../text/path.js";
import { placeOf } from "../text/place.js";
import { type Machine, note } from "./core.js";

/** A program that can be called: a part of a source, by its lines. */
export interface Callable {
  /** Index into the sources of the run. */
  readonly source: number;
  readonly first: number;
  readonly end: number;
}

/** Name of a file that can hold a program: the number, with or without O and zeros before it, and at most one extension. */
const FILE = /^[o:]?0*(\d{1,8})(?:\.([a-z0-9]{1,6}))?$/i;

/** Extensions that hold no programs. */
const NOT_PROGRAMS = new Set(["json", "md", "pdf", "htm", "html", "png", "jpg", "svg", "zip", "log", "bak"]);

const callables = new WeakMap<Machine, Map<string, Callable | undefined>>();
const folders = new WeakMap<Machine, Map<string, Map<number, string[]>>>();

/**
 * Finds program `number`, called from source `from`: in that file, then in the file that runs, then in the folders of both
 * and the folders of the sidecar, where a file is named after its program. The first that has it wins.
 */
export function findProgram(cx: Machine, number: number, from: number): Callable | undefined {
  const known = callables.get(cx) ?? new Map<string, Callable | undefined>();
  callables.set(cx, known);
  const key = `${from} ${number}`;
  if (known.has(key)) return known.get(key);
  const found = inSource(cx, from, number) ?? (from === 0 ? undefined : inSource(cx, 0, number)) ?? inFolders(cx, number, from);
  known.set(key, found);
  return found;
}

/** The second program of that number in the file where it was found, which makes the call ambiguous. */
export function secondProgram(
  cx: Machine,
  found: Callable,
  number: number,
): { readonly source: Source; readonly line: number } | undefined {
  const source = cx.sources[found.source];
  const twice = source?.parts.filter((p) => p.number === number)[1];
  return source === undefined || twice === undefined ? undefined : { source, line: twice.line };
}

function inSource(cx: Machine, index: number, number: number): Callable | undefined {
  const part = cx.sources[index]?.parts.find((p) => p.number === number);
  return part === undefined ? undefined : { source: index, first: part.line, end: part.endLine };
}

function inFolders(cx: Machine, number: number, from: number): Callable | undefined {
  const searched = new Set<string>();
  for (const source of [cx.sources[from], cx.sources[0]]) if (source !== undefined) searched.add(folderOf(source.file));
  for (const folder of cx.fixture?.machine.programFolders ?? []) searched.add(folder);
  for (const folder of searched) {
    for (const path of filesOf(cx, folder).get(number) ?? []) {
      const index = load(cx, path);
      if (index === undefined) continue;
      const inside = inSource(cx, index, number);
      if (inside !== undefined) return inside;
      const part = cx.sources[index]?.parts[0];
      if (part !== undefined) return { source: index, first: part.line, end: part.endLine };
    }
  }
  return undefined;
}

function filesOf(cx: Machine, folder: string): Map<number, string[]> {
  const all = folders.get(cx) ?? new Map<string, Map<number, string[]>>();
  folders.set(cx, all);
  let files = all.get(folder);
  if (files !== undefined) return files;
  files = new Map();
  for (const name of [...(cx.host.list(folder) ?? [])].sort()) {
    const match = FILE.exec(name);
    if (match === null || NOT_PROGRAMS.has(match[2]?.toLowerCase() ?? "")) continue;
    const number = Number(match[1]);
    const path = folder === "/" ? `/${name}` : `${folder}/${name}`;
    const paths = files.get(number);
    if (paths === undefined) files.set(number, [path]);
    else paths.push(path);
  }
  all.set(folder, files);
  return files;
}

function load(cx: Machine, path: string): number | undefined {
  const before = cx.sources.findIndex((s) => s.file === path);
  if (before >= 0) return before;
  const text = cx.host.read(path);
  if (text === undefined) return undefined;
  cx.sources.push(parseSource(path, text, cx.profile));
  return cx.sources.length - 1;
}

const touched = new WeakMap<Machine, Set<string>>();

/** Reports what the parser found in the program that is entered, once for each program and for the file it stands in. */
export function noteProblems(cx: Machine, source: number, first: number, end: number): void {
  const seen = touched.get(cx) ?? new Set<string>();
  touched.set(cx, seen);
  const from = cx.sources[source];
  if (from === undefined || seen.has(`${source} ${first}`)) return;
  seen.add(`${source} ${first}`);
  const report = (
    line: number,
    p: { readonly key: string; readonly args: Readonly<Record<string, string | number>>; readonly start: number; readonly end: number },
  ): void => {
    cx.notes.push({
      rule: "syntax",
      message: { key: p.key, args: p.args },
      place: placeOf(from.file, { line, start: p.start, end: p.end }),
      related: [],
      step: -1,
    });
  };
  if (!seen.has(`${source}`)) {
    seen.add(`${source}`);
    for (const problem of from.problems) report(problem.line, problem);
  }
  // What stands before the first program of a file belongs to the program that is entered first.
  const start = partOfLine(from, first) === 0 ? 0 : first;
  for (let line = start; line < end; line++) {
    const block = from.blocks[line];
    if (block === undefined || block.problems.length === 0) continue;
    for (const problem of block.problems) report(line, problem);
  }
}

/** True for a program that the control holds (contract-details 23), so that its absence is no fault. */
export function isResident(cx: Machine, number: number): boolean {
  return cx.fixture?.machine.resident.includes(number) === true;
}

/** Notes that the called program or label is not there. */
export function noteMissing(
  cx: Machine,
  key: "missing" | "label-missing",
  number: number,
  span: { readonly start: number; readonly end: number },
): void {
  note(cx, "call-target", key, { program: number, label: number }, span);
}
