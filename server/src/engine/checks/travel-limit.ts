import type { Axis } from "../fixture/model.js";
import type { Move } from "../machine/move.js";
import { blamedStations } from "./lib/blamed.js";
import { extentOf } from "./lib/extent.js";
import { TOUCH } from "./lib/incidents.js";
import { RELATED_TEXTS } from "./lib/speak.js";
import { toldDeviation } from "./lib/stations.js";
import { placeWords, targetWords, toolWords } from "./lib/words.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report } from "./rule.js";

/** The spindle gauge point leaves the travel of an axis. */
export const travelLimit = defineRule({
  id: "travel-limit",
  level: "error",
  summary: "The spindle gauge point leaves the travel of the machine.",
  messages: {
    default: "{station}: {axis} of the spindle goes to {value} with {tool}, {over} beyond the {end} end of the travel ({limit})",
    rotary: "{station}: the rotary axis goes to {value}, {over} beyond the {end} end of its travel ({limit})",
    "related.axis": "{axis} too: to {value}, {over} beyond the {end} end ({limit})",
    ...RELATED_TEXTS,
  },
  docs: `
The control stops with an overtravel alarm in the middle of the program, with the tool in the work; the stations at the edge of the
plate and the long tools meet it first. X and Y are those of the tool point; in Z the gauge point stands higher than the tool point by
the tool's functional length LF.

Move the station, use a shorter tool, or turn the way of the approach. Without \`travel\` in the sidecar, or without LF for Z, limits are
not checked.

~~~case
Home is 0; the retract goes 10 mm above it.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X10 Y10 S4000 M3
G43 H1 Z235
;^^^^^^^^^^ error travel-limit: A1: Z of the spindle goes to 10 mm with tool 1 (end mill 10), 10 mm beyond the upper end
Z50
G28 G91 Z0
M30
~~~

~~~case
Exactly to the end of the travel.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X10 Y10 S4000 M3
G43 H1 Z225
Z50
G28 G91 Z0
M30
~~~
`,
  *check(cx) {
    const travel = cx.fixture?.machine.travel;
    if (travel === undefined || cx.fixture === undefined) return;
    const blamed = blamedStations(cx);
    yield;
    const reports: (Report & { cause: string })[] = [];
    const outside = new Set<string>();
    for (let n = 0; n < cx.run.moves.length; n++) {
      if (n % 1024 === 1023) yield;
      const move = cx.run.moves[n];
      if (move === undefined || move.kind === "dwell") continue;
      const ofMove: (Report & { cause: string })[] = [];
      for (const axis of ["X", "Y", "Z", "rotary"] as const) {
        const limits = travel[axis];
        if (limits === undefined) continue;
        const [low, high] = reach(move, axis);
        const under = limits[0] - low;
        const above = high - limits[1];
        const key = axis === "Z" ? `Z ${move.modal.tool}` : axis;
        const end = overAt(move, axis, limits, "to");
        // While it stays outside, the block that led there is the one to change; not known is neither inside nor outside.
        const entering = !outside.has(key);
        if (end > TOUCH) outside.add(key);
        else if (end <= TOUCH) outside.delete(key);
        if (!(under > TOUCH) && !(above > TOUCH)) continue;
        const upper = above > TOUCH;
        const over = upper ? above : under;
        // A move that starts outside and comes no farther out is on its way back, or runs alongside.
        if (over <= overAt(move, axis, limits, "from") + TOUCH) continue;
        if (!entering) continue;
        if (toldDeviation(cx.fixture, cx.run, blamed, move) >= over) continue;
        const step = cx.run.steps[move.step];
        if (step === undefined) continue;
        const angle = axis === "rotary";
        const length = (v: number) => (angle ? { deg: v } : { mm: v });
        const station = cx.stationOf(move)?.id;
        ofMove.push({
          at: cx.blockPlace(step),
          ...(angle ? { key: "rotary" } : {}),
          args: {
            station: station ?? placeWords(cx, move),
            tool: toolWords(cx, move.modal.tool),
            axis: angle ? (cx.fixture.machine.rotary?.axis ?? axis) : axis,
            to: targetWords(cx, move),
            value: length(upper ? high : low),
            over: length(over),
            end: upper ? "upper" : "lower",
            limit: length(upper ? limits[1] : limits[0]),
          },
          ...(station === undefined ? {} : { station }),
          data: { axis, value: upper ? high : low, over, limit: upper ? limits[1] : limits[0], tool: move.modal.tool },
          step: move.step,
          // Without a station each block is its own cause. Stations stand beside each other, so that X and Y differ, but one
          // height that is too high is the same mistake at all of them.
          cause:
            station === undefined
              ? `${step.source}:${step.block.line}|${axis}`
              : axis === "Z"
                ? `Z|${move.modal.tool}|${over.toFixed(3)}`
                : `${axis}|${station}`,
        });
      }
      const [first, ...others] = ofMove;
      if (first === undefined) continue;
      // A block is one place to change, whichever axes leave with it.
      const related = others.map(({ at, args }) => ({ place: at, message: { key: "related.axis", args } }));
      reports.push(related.length === 0 ? first : { ...first, related });
    }
    for (const report of foldByCause(reports, "related.also-at")) cx.report(report);
  },
});

/** How far outside a move begins or ends, mm or degrees; 0 inside, NaN where it is not known. */
function overAt(move: Move, axis: Axis | "rotary", limits: readonly [number, number], end: "from" | "to"): number {
  const [rotary, gauge] = end === "from" ? [move.rotaryFrom, move.gaugeFrom] : [move.rotaryTo, move.gaugeTo];
  const at = axis === "rotary" ? rotary : axis === "Z" ? gauge : move[end][axis === "X" ? 0 : 1];
  return Math.max(0, limits[0] - at, at - limits[1]);
}

/** How far the gauge point goes along an axis; NaN where it is not known. */
function reach(move: Move, axis: Axis | "rotary"): readonly [number, number] {
  if (axis === "rotary") return [Math.min(move.rotaryFrom, move.rotaryTo), Math.max(move.rotaryFrom, move.rotaryTo)];
  const k = axis === "X" ? 0 : axis === "Y" ? 1 : 2;
  const [low, high] = extentOf(move)[k] ?? [Number.NaN, Number.NaN];
  if (axis !== "Z") {
    // From a place that is not known, the end alone can be judged.
    const to = move.to[k] as number;
    return Number.isNaN(low) ? [to, to] : [low, high];
  }
  // The gauge point follows the tool point; within an arc it rises by the same amount.
  const above = low - Math.min(move.from[2], move.to[2]);
  const below = high - Math.max(move.from[2], move.to[2]);
  const from = Number.isNaN(move.gaugeFrom) ? move.gaugeTo : move.gaugeFrom;
  const a = Math.min(from, move.gaugeTo);
  const b = Math.max(from, move.gaugeTo);
  return [a + (Number.isNaN(above) ? 0 : above), b + (Number.isNaN(below) ? 0 : below)];
}
