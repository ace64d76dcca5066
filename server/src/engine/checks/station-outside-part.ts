import type { Fix, Related } from "../findings.js";
import type { Fixture, Solid, Station } from "../fixture/model.js";
import { bounds } from "../geometry/box.js";
import type { Move } from "../machine/move.js";
import type { Step } from "../machine/run.js";
import { type OutsideCut, outsideCuts } from "./lib/outside.js";
import { reselect, selections } from "./lib/selection.js";
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
    "no-offset":
      "{tool} cuts under the offset of {station}, but {own} away from its stock and {distance} from that of {neighbour}, whose offset the sidecar does not say",
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

The fix selects the neighbour's offset, and is offered only where the same coordinates then meet the neighbour's stock. Between like
stations they never do: what lies beside one part under its offset lies as far beside the other under the other's, so that the
coordinates are to be looked at as well.

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
    const { fixture } = cx;
    if (fixture === undefined) return;
    const reports: (Report & { cause: string })[] = [];
    for (const found of yield* outsideCuts(cx)) reports.push(describe(cx, fixture, found));
    for (const report of foldByCause(reports, "related.also-at")) cx.report(report);
  },
});

function describe(cx: RuleContext, fixture: Fixture, found: OutsideCut): Report & { cause: string } {
  const { station, neighbour } = found;
  const move = cx.run.moves[found.first] as Move;
  const chosen = selections(cx).find((s) => s.index === move.modal.offsetStep);
  const related: Related[] =
    chosen === undefined ? [] : [{ place: chosen.place, message: { key: "related.offset", args: { station: station.id } } }];
  const offset = neighbour.offset === undefined ? "" : cx.offsetName(neighbour.offset);
  const fixes: Fix[] = [];
  if (chosen !== undefined && neighbour.offset !== undefined && meetsNeighbour(cx, fixture, move.visit, station, neighbour)) {
    const changes = reselect(cx, chosen, neighbour.offset);
    if (changes !== undefined)
      fixes.push({ title: { key: "fix.offset", args: { offset, neighbour: neighbour.id } }, changes, sameMotion: false });
  }
  return {
    at: cx.blockPlace(cx.run.steps[move.step] as Step),
    ...(neighbour.offset === undefined ? { key: "no-offset" } : {}),
    args: {
      tool: toolWords(cx, move.modal.tool),
      station: station.id,
      neighbour: neighbour.id,
      own: { mm: found.own },
      distance: { mm: found.distance },
      offset,
    },
    station: station.id,
    related,
    fixes,
    data: { tool: move.modal.tool, own: found.own, distance: found.distance, neighbour: neighbour.id },
    step: move.step,
    cause: `${move.modal.tool}|${move.partTo.map((v) => Math.round(v * 100)).join()}`,
  };
}

/** Whether the cuts of the visit, with the same coordinates under the neighbour's offset, reach the neighbour's stock in X and Y. */
function meetsNeighbour(cx: RuleContext, fixture: Fixture, visit: number, station: Station, neighbour: Station): boolean {
  // Both look at the tool, so they are where they are placed.
  const stock = neighbour.solids.find((s) => s.kind === "stock") as Solid;
  const box = bounds(stock.placed);
  const by = [neighbour.computed.X - station.computed.X, neighbour.computed.Y - station.computed.Y] as const;
  return cx.run.moves.some((m) => {
    if (m.visit !== visit || (m.kind !== "feed" && m.kind !== "arc")) return false;
    const radius = (fixture.tools.get(m.modal.tool)?.DC ?? 0) / 2;
    return ([0, 1] as const).every((k) => {
      const low = Math.min(m.from[k], m.to[k]) + by[k] - radius;
      const high = Math.max(m.from[k], m.to[k]) + by[k] + radius;
      return low < box.to[k] && high > box.from[k];
    });
  });
}
