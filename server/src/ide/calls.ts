import type { Source } from "../engine/syntax/block.js";
import { partOfLine } from "../engine/syntax/parse.js";
import { baseName } from "../engine/text/path.js";
import { type Place, placeOf } from "../engine/text/place.js";
import { type Caller, callsOf, type Neighbourhood, nameAt, programPlace } from "./names.js";
import { say } from "./texts.js";
import type { Position } from "./view.js";

/** A program in the hierarchy of calls. */
export interface ProgramItem {
  readonly name: string;
  readonly detail: string;
  readonly file: string;
  readonly number: number;
  /** The whole of the program, and its O word. */
  readonly range: Place;
  readonly selection: Place;
}

/** The program that a position speaks of: the one that is called there, else the one that it stands in. */
export function programItemAt(near: Neighbourhood, file: string, position: Position): ProgramItem | undefined {
  const name = nameAt(near, file, position)?.name;
  if (name?.kind === "program") return name.file === undefined ? undefined : itemOf(near, name.file, name.number);
  const source = near.sources.find((s) => s.file === file);
  const part = source?.parts[partOfLine(source, position.line)];
  return part === undefined ? undefined : itemOf(near, file, part.number);
}

/** The item of a program by file and number (NaN: what has no O word). */
export function itemOf(near: Neighbourhood, file: string, number: number): ProgramItem | undefined {
  const source = near.sources.find((s) => s.file === file);
  const part = source?.parts.find((p) => p.number === number || (Number.isNaN(number) && Number.isNaN(p.number))) ?? source?.parts[0];
  if (source === undefined || part === undefined) return undefined;
  const end = Math.max(part.line, part.endLine - 1);
  return {
    name: Number.isNaN(part.number) ? baseName(file) : `O${part.number}`,
    detail: part.title ?? "",
    file,
    number: part.number,
    range: { file, range: { line: part.line, column: 0, endLine: end, endColumn: source.lines[end]?.length ?? 0 } },
    selection: Number.isNaN(part.number)
      ? placeOf(file, { line: part.line, start: 0, end: source.lines[part.line]?.length ?? 0 })
      : programPlace(near, file, part.number),
  };
}

/** One program at the other end of calls, with the blocks that call. */
export interface CallEdge {
  readonly item: ProgramItem;
  readonly places: readonly Place[];
}

/** What a program calls. */
export function outgoing(near: Neighbourhood, file: string, number: number): CallEdge[] {
  const source = near.sources.find((s) => s.file === file);
  const part = itemOf(near, file, number);
  if (source === undefined || part === undefined) return [];
  const { line, endLine } = part.range.range;
  const edges = new Map<string, { item: ProgramItem; places: Place[] }>();
  for (const caller of callsOf(source, near.profile))
    if (caller.block.line >= line && caller.block.line <= endLine) add(near, source, caller, edges, (target) => target);
  return [...edges.values()];
}

/** What calls a program. */
export function incoming(near: Neighbourhood, file: string, number: number): CallEdge[] {
  const own = itemOf(near, file, number);
  const edges = new Map<string, { item: ProgramItem; places: Place[] }>();
  for (const source of near.sources) {
    for (const caller of callsOf(source, near.profile)) {
      add(near, source, caller, edges, (target) => {
        if (own === undefined || target.file !== own.file || target.number !== own.number) return undefined;
        const part = source.parts[partOfLine(source, caller.block.line)];
        return itemOf(near, source.file, part?.number ?? Number.NaN);
      });
    }
  }
  return [...edges.values()];
}

function add(
  near: Neighbourhood,
  source: Source,
  { block: { line }, call }: Caller,
  edges: Map<string, { item: ProgramItem; places: Place[] }>,
  end: (target: ProgramItem) => ProgramItem | undefined,
): void {
  if (call.p === undefined || Number.isNaN(call.number) || call.code === "M97" || call.code === "M99") return;
  const target = near.fileOf(call.number, source.file);
  const item = target === undefined ? undefined : itemOf(near, target, call.number);
  const other = item === undefined ? undefined : end(item);
  if (other === undefined) return;
  const place = placeOf(source.file, { line, start: call.p.start, end: call.p.end });
  const key = `${other.file} ${other.number}`;
  const edge = edges.get(key);
  if (edge === undefined) edges.set(key, { item: other, places: [place] });
  else edge.places.push(place);
}

/** A place in a text that leads to another file. */
export interface Link {
  readonly place: Place;
  readonly file: string;
  readonly tooltip: string;
}

/** Links of a program: calls into other files, and the comment that names the sidecar. */
export function programLinks(near: Neighbourhood, file: string, sidecar: (name: string) => string): Link[] {
  const source = near.sources.find((s) => s.file === file);
  if (source === undefined) return [];
  const out: Link[] = [];
  for (const { block, call } of callsOf(source, near.profile)) {
    if (call.p === undefined || Number.isNaN(call.number) || call.code === "M97" || call.code === "M99") continue;
    const target = near.fileOf(call.number, file);
    if (target !== undefined && target !== file)
      out.push({
        place: placeOf(file, { line: block.line, start: call.p.start, end: call.p.end }),
        file: target,
        tooltip: say("link.program", { program: call.number }),
      });
  }
  for (const block of source.blocks.slice(0, 30)) {
    for (const comment of block.comments) {
      const m = /^\s*FIXTURE\s*:\s*(\S.*?)\s*$/i.exec(comment.text);
      const name = m?.[1];
      if (name === undefined) continue;
      const text = source.lines[block.line] ?? "";
      const start = text.indexOf(name, comment.start);
      if (start >= 0)
        out.push({
          place: placeOf(file, { line: block.line, start, end: start + name.length }),
          file: sidecar(name),
          tooltip: say("link.sidecar"),
        });
    }
  }
  return out.sort((a, b) => a.place.range.line - b.place.range.line);
}
