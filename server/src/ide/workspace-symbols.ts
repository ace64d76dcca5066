import { baseName } from "../engine/text/path.js";
import type { View } from "./view.js";

/** Something with a name anywhere in the open programs and sidecars. */
export interface Found {
  readonly name: string;
  readonly container: string;
  readonly kind: "program" | "tool" | "visit" | "station";
  readonly file: string;
  readonly line: number;
  readonly start: number;
  readonly end: number;
}

const MOST = 500;

/** Programs, tools, visits and stations whose name holds the letters of a query in their order; those that hold it whole come first. */
export function findSymbols(views: readonly View[], query: string): Found[] {
  const out: Found[] = [];
  const seen = new Set<string>();
  const add = (found: Found): void => {
    const key = `${found.file} ${found.line} ${found.start} ${found.kind} ${found.name}`;
    if (out.length >= MOST || seen.has(key) || !matches(found.name, query)) return;
    seen.add(key);
    out.push(found);
  };
  for (const view of views) {
    const { run, fixture } = view.analysis;
    for (const source of run.sources) {
      for (const part of source.parts) {
        if (Number.isNaN(part.number)) continue;
        const name = `O${part.number}${part.title === undefined ? "" : ` ${part.title}`}`;
        add({
          name,
          container: baseName(source.file),
          kind: "program",
          file: source.file,
          line: part.line,
          start: 0,
          end: source.lines[part.line]?.length ?? 0,
        });
      }
    }
    const main = run.sources[0];
    for (const visit of run.visits) {
      if (main === undefined) break;
      const tool = fixture?.tools.get(visit.tool);
      const toolName = `T${Number.isNaN(visit.tool) ? "?" : visit.tool}${tool?.name === undefined ? "" : ` ${tool.name}`}`;
      const change = run.steps[visit.firstStep]?.before.toolStep ?? -1;
      if (change >= 0) {
        const line = view.mainLine(change);
        add({
          name: toolName,
          container: baseName(main.file),
          kind: "tool",
          file: main.file,
          line,
          start: 0,
          end: main.lines[line]?.length ?? 0,
        });
      }
      const line = view.mainLine(visit.openedBy >= 0 ? visit.openedBy : visit.firstStep);
      const station = visit.station < 0 ? undefined : fixture?.stations[visit.station];
      const where =
        station === undefined ? view.offsetName(visit.offset) : `${station.id} ${station.partName ?? station.part} ${station.op}`;
      add({
        name: `${where}, ${toolName}`,
        container: baseName(main.file),
        kind: "visit",
        file: main.file,
        line,
        start: 0,
        end: main.lines[line]?.length ?? 0,
      });
    }
    for (const s of fixture?.stations ?? []) {
      const { range, file } = s.place;
      const name = `${s.id} ${s.partName ?? s.part} ${s.op}${s.offsetName === undefined ? "" : `, ${s.offsetName}`}`;
      add({
        name,
        container: baseName(file),
        kind: "station",
        file,
        line: range.line,
        start: range.column,
        end: range.endLine === range.line ? range.endColumn : range.column + 1,
      });
    }
  }
  const whole = query.toLowerCase();
  const at = (f: Found) => (f.name.toLowerCase().includes(whole) ? 0 : 1);
  return out.sort((a, b) => at(a) - at(b));
}

function matches(name: string, query: string): boolean {
  const letters = name.toLowerCase();
  let at = 0;
  for (const c of query.toLowerCase()) {
    if (/\s/.test(c)) continue;
    at = letters.indexOf(c, at) + 1;
    if (at === 0) return false;
  }
  return true;
}
