import type { Fix, Related } from "../findings.js";
import type { Fixture, Solid, Station } from "../fixture/model.js";
import type { Run } from "../machine/run.js";
import { incidentsOf } from "./lib/incidents.js";
import { cuttingDistance } from "./lib/near.js";
import { isCut } from "./lib/passes.js";
import { reselect, selections } from "./lib/selection.js";
import { stepOf } from "./lib/speak.js";
import { faces, offsetDeviation } from "./lib/stations.js";
import { toolWords } from "./lib/words.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** A cut beside the neighbour's part, away from the station's own. */
export const stationOutsidePart = defineRule({
  id: "station-outside-part",
  level: "error",
  summary: "A tool cuts away from the station's stock and within reach of a neighbour's: the wrong offset is active.",
  messages: {
    default:
      "{tool} cuts under the offset of {station}, but {own} away from its stock and {distance} from that of {neighbour}: select {offset} if {neighbour} is meant",
    "related.offset": "the offset of {station} was selected here",
    "related.also-at": "also at {station}",
    "fix.offset": "Select {offset}, station {neighbour}",
  },
  docs: `
The motion is right, but for another station: the tool works beside the part next door. What it meets there was never looked at for this
path.

A path is judged from one rapid to the next. While any of it touches the station's own stock, its lead-in and lead-out may begin and
end wherever there is room. Within reach means nearer than to the own stock and no farther than the tool's diameter (or five times the
rapid clearance, if that is more). A cut that goes into the neighbour's stock or jaws is \`neighbour-cut\`.

~~~case
The edge of A2 is chamfered from the wrong offset.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X145 Y-15
G43 H1 Z50
G0 Z2
G1 Z-5 F500
;^^^^^^^^^^ error station-outside-part: tool 1 (end mill 10) cuts under the offset of A1
Y60
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
Lead-in and lead-out beside the part.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X85 Y-15
G43 H1 Z50
G0 Z2
G1 Z-5 F500
X65
Y55
X85
G0 Z50
G28 G91 Z0
M30
~~~
`,
  *check(cx) {
    const { run, fixture } = cx;
    if (fixture === undefined) return;
    // A cut that enters the neighbour is the graver fault, and alone (contract ruling 41).
    const entered = new Set<string>();
    for (const i of yield* incidentsOf(cx)) if (i.rule === "neighbour-cut") entered.add(`${run.moves[i.move]?.visit} ${i.solid.station}`);
    const reports: (Report & { cause: string })[] = [];
    const reported = new Set<string>();
    for (const [first, end] of sequences(run)) {
      yield;
      const move = run.moves[first];
      const station = move === undefined ? undefined : cx.stationOf(move);
      if (move === undefined || station === undefined || faces(fixture, station, move.rotaryTo) !== true) continue;
      const found = look(fixture, run, first, end, station);
      if (found === undefined || entered.has(`${move.visit} ${found.neighbour.index}`)) continue;
      if (offsetDeviation(fixture, move) > 0 || reported.has(`${move.visit} ${found.neighbour.index}`)) continue;
      reported.add(`${move.visit} ${found.neighbour.index}`);
      const report = describe(cx, first, station, found);
      if (report !== undefined) reports.push(report);
    }
    for (const report of foldByCause(reports, "related.also-at")) cx.report(report);
  },
});

/** Cutting moves without a rapid between them, as [first, end) of moves. */
function sequences(run: Run): [number, number][] {
  const out: [number, number][] = [];
  let first = -1;
  for (let i = 0; i <= run.moves.length; i++) {
    const visit = run.moves[i]?.visit;
    const goesOn = isCut(run, i) || (first >= 0 && run.moves[i]?.kind === "dwell");
    if (first >= 0 && (!goesOn || visit !== run.moves[first]?.visit)) {
      out.push([first, i]);
      first = -1;
    }
    if (first < 0 && isCut(run, i)) first = i;
  }
  return out;
}

interface Found {
  readonly own: number;
  readonly neighbour: Station;
  readonly distance: number;
}

function stockOf(station: Station): Solid | undefined {
  return station.solids.find((s) => s.kind === "stock");
}

/** The neighbour that a sequence is within reach of, while it stays away from its own stock. */
function look(fixture: Fixture, run: Run, first: number, end: number, station: Station): Found | undefined {
  const own = stockOf(station);
  const opening = run.moves[first];
  if (own === undefined || opening === undefined) return undefined;
  const diameter =
    2 * Math.max(0, ...(fixture.tools.get(opening.modal.tool)?.stack ?? []).filter((p) => p.part === "cutting").map((p) => p.topRadius));
  const reach = Math.max(diameter, 5 * fixture.clearance.rapid) + fixture.clearance.cut;
  let away = Number.POSITIVE_INFINITY;
  for (let i = first; i < end; i++) {
    const move = run.moves[i];
    if (move === undefined || move.kind === "dwell") continue;
    const d = cuttingDistance(fixture, move, own);
    if (!(d > reach)) return undefined;
    away = Math.min(away, d);
  }
  let best: Found | undefined;
  for (const other of fixture.stations) {
    const stock = stockOf(other);
    if (other === station || other.empty || stock === undefined || faces(fixture, other, opening.rotaryTo) !== true) continue;
    for (let i = first; i < end; i++) {
      const move = run.moves[i];
      if (move === undefined || move.kind === "dwell") continue;
      const limit = Math.min(best?.distance ?? away, reach);
      const d = cuttingDistance(fixture, move, stock, limit);
      if (d < limit) best = { own: away, neighbour: other, distance: d };
    }
  }
  return best;
}

function describe(cx: RuleContext, first: number, station: Station, found: Found): (Report & { cause: string }) | undefined {
  const { run } = cx;
  const move = run.moves[first];
  const step = stepOf(run, first);
  if (move === undefined || step === undefined) return undefined;
  const chosen = selections(cx).find((s) => s.index === move.modal.offsetStep);
  const related: Related[] =
    chosen === undefined ? [] : [{ place: chosen.place, message: { key: "related.offset", args: { station: station.id } } }];
  const offset = found.neighbour.offset === undefined ? "" : cx.offsetName(found.neighbour.offset);
  const fixes: Fix[] = [];
  if (chosen !== undefined && found.neighbour.offset !== undefined) {
    const changes = reselect(cx, chosen, found.neighbour.offset);
    if (changes !== undefined)
      fixes.push({ title: { key: "fix.offset", args: { offset, neighbour: found.neighbour.id } }, changes, sameMotion: false });
  }
  const at = move.partTo.map((v) => (Number.isNaN(v) ? "?" : Math.round(v * 100))).join(",");
  return {
    at: cx.blockPlace(step),
    args: {
      tool: toolWords(cx, move.modal.tool),
      station: station.id,
      neighbour: found.neighbour.id,
      own: { mm: found.own },
      distance: { mm: found.distance },
      offset,
    },
    station: station.id,
    related,
    fixes,
    data: { tool: move.modal.tool, own: found.own, distance: found.distance, neighbour: found.neighbour.id },
    step: move.step,
    cause: `${move.modal.tool}|${at}`,
  };
}
