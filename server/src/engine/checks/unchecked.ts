import type { NotChecked } from "../findings.js";
import type { Fixture, Station } from "../fixture/model.js";
import type { Run } from "../machine/run.js";
import { baseName } from "../text/path.js";
import { sourceOf } from "./context.js";
import type { Clearances } from "./rule.js";

/** What a run under a fixture leaves unchecked, apart from what single rules say themselves. */
export function gapsOf(run: Run, fixture: Fixture | undefined, clearances: Clearances | undefined): NotChecked[] {
  const out: NotChecked[] = [];
  const add = (what: string, why: string, args: NotChecked["what"]["args"] = {}, whyArgs: NotChecked["why"]["args"] = {}): void => {
    out.push({ what: { key: `what.${what}`, args }, why: { key: `why.${why}`, args: whyArgs } });
  };
  if (!run.complete) add("rest", "bound");
  if (fixture === undefined) return out;
  const moved = run.visits.length > 0;
  // Times are sums of what is known: without rates, and for moves from an unknown start, they are too short.
  const rates = fixture.machine.rapid;
  const without = (["X", "Y", "Z"] as const).filter((axis) => rates[axis] === undefined);
  if (moved && without.length > 0) add("time", "no-rapid", {}, { axes: { list: without } });
  if (!fixture.hasTools && moved) add("holders", "no-tools");
  const travel = fixture.machine.travel;
  if (travel.X === undefined && travel.Y === undefined && travel.Z === undefined) add("travel", "no-travel");
  else for (const axis of ["X", "Y", "Z"] as const) if (travel[axis] === undefined) add("travel", "no-travel-axis", {}, { axis });
  const tools = new Set<number>();
  for (const visit of run.visits) if (visit.tool > 0) tools.add(visit.tool);
  for (const tool of [...tools].sort((a, b) => a - b)) {
    const known = fixture.tools.get(tool);
    if (known === undefined) {
      if (fixture.hasTools) add("tool", "no-tool", { tool });
      continue;
    }
    if (Number.isNaN(known.LF)) add("length-of-tool", "no-length", { tool });
    if (Number.isNaN(known.DC)) add("width-of-tool", "no-diameter", { tool });
    if (!known.hasHolder) add("holder-of-tool", "no-holder", { tool });
  }
  // A tool can meet the clamps of a station that it never works at, so all of them count.
  const missing = new Map<string, string[]>();
  for (const station of fixture.stations) {
    if (moved) for (const kind of station.unknownSolids) push(missing, kind, station.id);
  }
  for (const [solid, ids] of missing) add("solid", "no-size", { solid, stations: { list: ids } });
  const open = moved ? fixture.stations.filter((s) => s.movingJaw === undefined).map((s) => s.id) : [];
  if (open.length > 0) add("solid", "no-element", { solid: "moving jaw", stations: { list: open } });
  const stations = new Set<number>();
  for (const visit of run.visits) if (visit.station >= 0) stations.add(visit.station);
  for (const index of stations) {
    const { id, computed } = fixture.stations[index] as Station;
    if ([computed.X, computed.Y, computed.Z].some(Number.isNaN)) add("station-position", "no-field", { station: id });
  }
  if (fixture.stored.size === 0 && !run.writes.some((w) => /^(G5\d|P\d)/.test(w.register))) add("offsets-stored", "no-stored");
  out.push(...uncheckedMoves(run, clearances));
  return out;
}

function push(lists: Map<string, string[]>, key: string, value: string): void {
  const list = lists.get(key);
  if (list === undefined) lists.set(key, [value]);
  else list.push(value);
}

/** Moves whose clearance could not be computed: one entry for each reason and program, with the first line and the count. */
function uncheckedMoves(run: Run, clearances: Clearances | undefined): NotChecked[] {
  if (clearances === undefined) return [];
  const groups = new Map<string, { count: number; line: number; file: string; why: string }>();
  for (const [index, why] of clearances.unchecked) {
    const step = run.steps[run.moves[index]?.step ?? -1];
    if (step === undefined) continue;
    const { file } = sourceOf(run, step);
    const key = `${why}\n${file}`;
    const group = groups.get(key);
    if (group === undefined) groups.set(key, { count: 1, line: step.block.line + 1, file: baseName(file), why });
    else {
      group.count++;
      group.line = Math.min(group.line, step.block.line + 1);
    }
  }
  return [...groups.values()].map(({ count, line, file, why }) => ({
    what: { key: count === 1 ? "what.move" : "what.moves", args: { count, line, file } },
    why: { key: why, args: {} },
  }));
}

/** Whether a condition or a jump of the run hung on a value that is not known: what never ended in it might have ended otherwise. */
export function hangsOnUnknown(run: Run): boolean {
  return (run.notChecked ?? []).some((n) => n.why.key === "why.condition" || n.why.key === "why.jump-value");
}
