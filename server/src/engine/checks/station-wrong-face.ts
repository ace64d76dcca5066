import type { Fix, Related } from "../findings.js";
import type { Fixture } from "../fixture/model.js";
import type { Move } from "../machine/move.js";
import type { Step } from "../machine/run.js";
import { uncertainRounds } from "./lib/counted.js";
import { blockBefore, inHabit, programAngle } from "./lib/edits.js";
import { swingVerdict } from "./lib/index-sweep.js";
import { usesOffset } from "./lib/left.js";
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
    run.moves.forEach((move) => {
      const station = cx.stationOf(move);
      if (move.kind === "index") {
        turned = move.step;
        return;
      }
      // A way home says nothing about the work at the station.
      if (station === undefined || !usesOffset(move)) return;
      const key = `${move.modal.toolStep} ${station.index} ${move.rotaryTo}`;
      if (key === last) return;
      const looks = faces(fixture, station, move.rotaryTo);
      if (looks === undefined) cx.notChecked({ key: "what.face", args: { station: station.id } }, { key: "why.rotary-unknown", args: {} });
      last = key;
      if (looks !== false || perhaps.has(move.modal.offsetStep)) return;
      const step = run.steps[move.step] as Step;
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
        fixes: fixOf(cx, fixture, index, step, station.base.face),
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
function fixOf(cx: RuleContext, fixture: Fixture, index: Step | undefined, step: Step, face: number): Fix[] {
  const { rotary } = fixture.machine;
  if (rotary === undefined || rotary.inOffset) return [];
  const title = { key: "fix.angle", args: { face: { deg: face } } };
  const text = `${rotary.axis}${programAngle(face)}`;
  if (index !== undefined && index.call === step.call && !cutBetween(cx, index, step)) {
    // An angle that other stations were visited under is theirs; only one between the two blocks can be meant for this visit.
    const word = index.block.words.find((w) => w.letter === rotary.axis);
    if (word !== undefined && word.expr === undefined)
      return [{ title, changes: [{ place: cx.place(index, word), text: inHabit(cx, index, text) }], sameMotion: false }];
  }
  // A block of its own must leave the modes as they are, and the tool must be out of the way where it turns the work.
  const absolute = step.before.absolute || cx.word(step, "G90") !== undefined;
  if (!absolute || motionBefore(cx, cx.run.steps.indexOf(step)) !== "G0 ") return [];
  const move = cx.run.moves[step.firstMove] as Move;
  const turn = swingVerdict(fixture, { ...move, kind: "index", to: move.from, rotaryTo: face });
  if (turn.kind === "inside") return [];
  return [{ title, changes: [blockBefore(cx, step, `${step.before.absolute ? "" : "G90 "}G0 ${text}`)], sameMotion: false }];
}

/** Whether anything was cut between two steps. */
function cutBetween(cx: RuleContext, a: Step, b: Step): boolean {
  return cx.run.moves.slice(a.endMove, b.firstMove).some((m) => m.kind === "feed" || m.kind === "arc");
}
