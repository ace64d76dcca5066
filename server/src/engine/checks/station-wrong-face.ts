import type { Fix, Related } from "../findings.js";
import type { Move } from "../machine/move.js";
import type { Step } from "../machine/run.js";
import { uncertainRounds } from "./lib/counted.js";
import { blockBefore, inHabit, programAngle } from "./lib/edits.js";
import { incrementalFaults } from "./lib/increments.js";
import { swingVerdict } from "./lib/index-sweep.js";
import { motionBefore } from "./lib/levels.js";
import { faces } from "./lib/stations.js";
import { toolWords } from "./lib/words.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** Motion at a station that does not look at the tool. */
export const stationWrongFace = defineRule({
  id: "station-wrong-face",
  level: "error",
  summary: "Motion at a station whose face does not look at the tool (modulo 360°).",
  messages: {
    default:
      "{station} stands on the face at {face}, but the rotary axis is at {angle}: {tool} works at another side of the base; index to {face} first",
    "fix.angle": "Turn to {face}",
    "related.index": "the rotary axis was turned here",
    "related.also-at": "also at {station}",
    "what.face": "whether {station} looks at the tool",
  },
  docs: `
On a tombstone every offset belongs to one face. With the wrong face in front, the tool goes where the station would be: into another part,
or into the tombstone itself.

Angles count modulo 360°, so B-90 and B270 are the same face. Where the work offset holds the angle (\`"inOffset": true\` under \`rotary\`),
the program's own number is 0.

~~~case
R1 stands on the face at 180°; the index is missing.
-- use: tombstone --
-- part.nc --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G90 B0
T1 M6
G0 G54 X10 Y10 S4000 M3
G43 H1 Z50
G1 Z-2 F300
G28 G91 Z0
G90 G0 G55 X20 Y10
;^^^^^^^^^^^^^^^^^ error station-wrong-face: R1 stands on the face at 180°, but the rotary axis is at 0°: tool 1 (end mill 10) works at another side of the base; index to 180° first
G43 H1 Z50
G1 Z-2 F300
G28 G91 Z0
M30
~~~

~~~case
-180 is the same face.
-- use: tombstone --
-- part.nc --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G90 B-180
T1 M6
G0 G55 X10 Y10 S4000 M3
G43 H1 Z50
G1 Z-2 F300
G28 G91 Z0
M30
~~~

~~~case
-90 and 270 are one face.
-- fixture.json --
{
  "format": 1,
  "units": "mm",
  "machine": { "dialect": "iso", "home": { "X": 0, "Y": 0, "Z": 0 }, "rotary": { "axis": "B", "centre": { "X": -500, "Z": -650 }, "sense": 1 } },
  "bases": {
    "left": { "pitch": 50, "columns": 5, "rows": 7, "zero": { "X": -600, "Y": -550, "Z": -550 }, "face": 270, "thickness": 100, "border": 25 }
  },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "parts": { "bracket": { "ops": { "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" }, "reversible": true } } } },
  "stations": [
    { "id": "L1", "base": "left", "at": [2, 2], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
  ]
}
-- part.nc --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G90 B-90
T1 M6
G0 G54 X-10 Y10 S4000 M3
G43 H1 Z50
G1 Z-2 F300
G28 G91 Z0
M30
~~~

~~~case
The work offset holds the angle, so the program says B0.
-- fixture.json --
{
  "format": 1,
  "units": "mm",
  "machine": {
    "dialect": "iso", "home": { "X": 0, "Y": 0, "Z": 0 },
    "rotary": { "axis": "B", "centre": { "X": -500, "Z": -650 }, "sense": 1, "inOffset": true }
  },
  "bases": {
    "left": { "pitch": 50, "columns": 5, "rows": 7, "zero": { "X": -600, "Y": -550, "Z": -550 }, "face": 270, "thickness": 100, "border": 25 }
  },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "parts": { "bracket": { "ops": { "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" }, "reversible": true } } } },
  "stations": [
    { "id": "L1", "base": "left", "at": [2, 2], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "bracket", "op": "op10", "offset": "G54" }
  ],
  "offsets": { "values": { "G54": { "X": -470, "Y": -435, "Z": -495, "B": 270 } } }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
G28 G91 Z0
G90 G54 B0
T1 M6
G0 X-10 Y10 S4000 M3
G43 H1 Z50
G1 Z-2 F300
G28 G91 Z0
M30
~~~
`,
  check(cx) {
    const { run, fixture } = cx;
    if (fixture?.machine.rotary === undefined) return;
    const reports: (Report & { cause: string })[] = [];
    let last = "";
    let turned = -1;
    const perhaps = uncertainRounds(cx);
    const increments = incrementalFaults(cx).map((f) => f.step);
    const several = new Set(run.visits.map((v) => v.offset)).size > 1;
    run.moves.forEach((move) => {
      const station = cx.stationOf(move);
      if (move.kind === "index") {
        turned = move.step;
        return;
      }
      // A way home says nothing about the work at the station.
      if (station === undefined || move.kind === "dwell" || !works(move)) return;
      const key = `${move.modal.toolStep} ${station.index} ${move.rotaryTo}`;
      if (key === last) return;
      const looks = faces(fixture, station, move.rotaryTo);
      if (looks === undefined) cx.notChecked({ key: "what.face", args: { station: station.id } }, { key: "why.rotary-unknown", args: {} });
      last = key;
      const step = run.steps[move.step];
      if (looks !== false || step === undefined) return;
      if (perhaps.has(move.modal.offsetStep)) return;
      // A turn that G91 has made into another one is that fault.
      if (increments.some((s) => s > turned && s <= move.step)) return;
      // The offset of the tool before, still in force: that is the fault, and the face only shows it.
      if (several && move.modal.toolStep >= 0 && move.modal.offsetStep < move.modal.toolStep) return;
      const index = run.steps[turned];
      const related: Related[] = index === undefined ? [] : [{ place: cx.blockPlace(index), message: { key: "related.index", args: {} } }];
      reports.push({
        at: cx.blockPlace(step),
        args: {
          station: station.id,
          face: { deg: station.base.face },
          angle: { deg: move.rotaryTo },
          tool: toolWords(cx, move.modal.tool),
        },
        station: station.id,
        related,
        fixes: fixOf(cx, index, step, station.base.face),
        data: { face: station.base.face, angle: move.rotaryTo, tool: move.modal.tool },
        step: move.step,
        // Until the axis turns again, the stations of one face have one cause.
        cause: `${turned} ${station.base.name}`,
      });
    });
    for (const report of foldByCause(reports, "related.also-at")) cx.report(report);
  },
});

/** The face's angle in the block that turned the axis last, if the visit has one of its own; else a turn before its first block. */
function fixOf(cx: RuleContext, index: Step | undefined, step: Step, face: number): Fix[] {
  const rotary = cx.fixture?.machine.rotary;
  if (rotary === undefined || rotary.inOffset) return [];
  const title = { key: "fix.angle", args: { face: { deg: face } } };
  const text = `${rotary.axis}${programAngle(face)}`;
  const word = index === undefined || index.call !== step.call ? undefined : index.block.words.find((w) => w.letter === rotary.axis);
  // An angle that other stations were visited under is theirs; only one between the two blocks can be meant for this visit.
  const own = index !== undefined && word?.expr === undefined && !visitedBetween(cx, index, step);
  if (word !== undefined && index !== undefined && own)
    return [{ title, changes: [{ place: cx.place(index, word), text: inHabit(cx, index, text) }], sameMotion: false }];
  // A block of its own must leave the modes as they are, and the tool must be out of the way where it turns the work.
  const at = cx.run.steps.indexOf(step);
  const move = cx.run.moves[step.firstMove];
  const says = (...codes: string[]): boolean => codes.some((code) => cx.word(step, code) !== undefined);
  const absolute = step.before.absolute || says("G90");
  const motion = motionBefore(cx, at) === "G0 " || says("G0", "G1", "G2", "G3");
  if (cx.fixture === undefined || move === undefined || !absolute || !motion) return [];
  const turn = swingVerdict(cx.fixture, { ...move, kind: "index", to: move.from, rotaryTo: face });
  return turn.kind === "inside"
    ? []
    : [{ title, changes: [blockBefore(cx, step, `${step.before.absolute ? "" : "G90 "}G0 ${text}`)], sameMotion: false }];
}

/** Whether anything was cut between two steps. */
function visitedBetween(cx: RuleContext, a: Step, b: Step): boolean {
  return cx.run.moves.slice(a.endMove, b.firstMove).some((m) => m.kind === "feed" || m.kind === "arc");
}

/** Moves that mean the station: not those to the reference position or in machine coordinates. */
function works(move: Move): boolean {
  return move.role !== "reference" && move.role !== "reference-through" && move.role !== "machine";
}
