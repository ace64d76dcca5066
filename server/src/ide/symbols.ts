import { renderSeconds } from "./text.js";
import { say } from "./texts.js";
import type { View } from "./view.js";

/** An entry of the outline: lines of the file, with children. */
export interface Symbol {
  readonly name: string;
  readonly detail: string;
  readonly kind: "program" | "tool" | "visit";
  readonly line: number;
  readonly endLine: number;
  readonly children: Symbol[];
}

/** The outline of a program file: each O program, within the main one its tools, within a tool its visits. */
export function symbolsOf(view: View, file: string): Symbol[] {
  const { run, fixture } = view.analysis;
  const source = view.sourceOf(file);
  if (source === undefined) return [];
  const out: Symbol[] = [];
  for (const part of source.parts) {
    const named = !Number.isNaN(part.number);
    out.push({
      name: named ? `O${part.number}` : say("symbol.program"),
      detail: part.title ?? "",
      kind: "program",
      line: part.line,
      endLine: Math.max(part.line, part.endLine - 1),
      children: [],
    });
  }
  if (run.sources[0]?.file !== file) return out;
  const parent = (line: number): Symbol | undefined => out.find((s) => line >= s.line && line <= s.endLine);
  let tool:
    | { symbol: { name: string; detail: string; kind: "tool"; line: number; endLine: number; children: Symbol[] }; number: number }
    | undefined;
  for (const visit of run.visits) {
    const opened = view.mainLine(visit.firstStep);
    const change = run.steps[visit.firstStep]?.before.toolStep ?? -1;
    const changeLine = change < 0 ? opened : view.mainLine(change);
    const end = Math.max(opened, view.mainLine(visit.lastStep));
    if (tool === undefined || tool.number !== visit.tool || changeLine > tool.symbol.endLine) {
      const known = fixture?.tools.get(visit.tool);
      const name =
        visit.tool === 0
          ? say("symbol.no-tool")
          : `T${Number.isNaN(visit.tool) ? "?" : visit.tool}${known?.name === undefined ? "" : ` ${known.name}`}`;
      tool = {
        symbol: { name, detail: "", kind: "tool", line: Math.min(changeLine, opened), endLine: end, children: [] },
        number: visit.tool,
      };
      (parent(tool.symbol.line)?.children ?? out).push(tool.symbol);
    }
    tool.symbol.endLine = Math.max(tool.symbol.endLine, end);
    const station = visit.station < 0 ? undefined : fixture?.stations[visit.station];
    const line = Math.min(view.mainLine(visit.openedBy >= 0 ? visit.openedBy : visit.firstStep), opened);
    tool.symbol.children.push({
      name: station === undefined ? view.offsetName(visit.offset) : `${station.id} ${station.part} ${station.op}`,
      detail: [view.offsetName(visit.offset), Number.isNaN(visit.seconds) ? "" : renderSeconds(visit.seconds)]
        .filter((t) => t !== "")
        .join(" · "),
      kind: "visit",
      line: Math.max(line, tool.symbol.line),
      endLine: end,
      children: [],
    });
  }
  return out;
}
