import type { Fix, Related, TextChange } from "../findings.js";
import type { Step } from "../machine/run.js";
import type { Word } from "../syntax/block.js";
import { sourceOf } from "./context.js";
import { rewritten } from "./lib/edits.js";
import { paced } from "./lib/paced.js";
import { selections } from "./lib/selection.js";
import { defineRule, type RuleContext } from "./rule.js";

/** G92 moves every work offset at once. */
export const shiftEverywhere = defineRule({
  id: "shift-everywhere",
  level: "error",
  summary: "G92 with axis words in a program that uses station offsets.",
  needs: "program",
  messages: {
    default:
      "G92 {axes} shifts every work offset at once, those of all stations too, and stays after the program ends: write the station's own offset instead",
    "fix.remove": "Take out G92, so that {offset} counts as it stands",
    "related.offset": "{offset} is selected here",
    "related.again": "G92 again",
  },
  docs: `
G92 says that the tool now stands at the given coordinates. What it really does is to shift all coordinate systems together: one station
is set, and all the others are moved by the same amount. On many controls it outlives the program.

Write the station's offset, with G10 or at the control. \`G92 S…\`, which limits the spindle speed, is something else and is not mentioned.

The fix takes out every G92 where the offset in force is that of a station: its own offset then says where the part is. A G10 line with the
shift in it is not offered, since that would move the offset away from where the fixture has the station, and how much of the shift was
meant for this station alone does not follow from the program. Without a fixture G92 is taken out only where it shifts by nothing, and never where its Z stands in for the length of the tool.

~~~case
G92 beside two station offsets.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X0 Y0
G92 X5 Y5
;^^^^^^^^ error shift-everywhere: G92 X5 Y5 shifts every work offset at once, those of all stations too, and stays after the program ends: write the station's own offset instead
G0 G55 X0 Y0
M30
~~~

~~~case
With the fixture it is known where the station is without G92.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X30 Y20
G92 X31 Y20
;^^^^^^^^^^ error shift-everywhere: G92 X31 Y20 shifts every work offset at once, those of all stations too, and stays after the program ends: write the station's own offset instead
G43 H1 Z50
G1 Z-3 F300
G0 Z50
G55 X30 Y20
G1 Z-3 F300
G0 Z50
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X30 Y20
G43 H1 Z50
G1 Z-3 F300
G0 Z50
G55 X30 Y20
G1 Z-3 F300
G0 Z50
M30
~~~

~~~case
A shift by nothing: to take it out changes no motion.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X0 Y0
N20 G92 X0 Y0 F300
;^^^^^^^^^^^^^^^^^ error shift-everywhere: G92 X0 Y0 shifts every work offset at once, those of all stations too, and stays after the program ends: write the station's own offset instead
G0 G55 X0 Y0
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X0 Y0
N20 F300
G0 G55 X0 Y0
M30
~~~

~~~case
The limit of the spindle speed.
-- part.nc --
G21 G17 G40 G49 G80 G90
G92 S6000
T1 M6
S4000 M3
G0 G54 X0 Y0
G0 G55 X0 Y0
M30
~~~

~~~case
The only zero of a program without work offsets.
-- part.nc --
G21 G17 G40 G49 G80 G90
G92 X0 Y0 Z10
G1 X20 F300
M30
~~~
`,
  *check(cx) {
    const { run, fixture } = cx;
    const all = selections(cx).flatMap(({ place, key }) => (key === undefined ? [] : [{ place, key }]));
    const stations = fixture === undefined ? all : all.filter((s) => fixture.stationsOf(s.key).length > 0);
    // By the text alone a program has stations when it selects more than one offset.
    const offsets = new Set(stations.map((s) => s.key));
    if (offsets.size < (fixture === undefined ? 2 : 1)) return;
    const first: { report: Parameters<typeof cx.report>[0]; related: Related[] }[] = [];
    const seen = new Set<string>();
    yield* paced(run.steps, (step, index) => {
      if (cx.word(step, "G92") === undefined) return;
      const axes = axisWords(step);
      if (axes.length === 0) return;
      const key = `${step.source}:${step.block.line}`;
      if (seen.has(key)) return;
      seen.add(key);
      const held = first[0];
      if (held !== undefined) {
        held.related.push({ place: cx.blockPlace(step), message: { key: "related.again", args: {} } });
        return;
      }
      // As the program has them, which may be a variable.
      const line = sourceOf(run, step).lines[step.block.line] ?? "";
      const written = axes.map((w) => line.slice(w.start, w.end)).join(" ");
      const related: Related[] = stations.slice(0, 1).map(({ place, key: offset }) => ({
        place,
        message: { key: "related.offset", args: { offset: cx.offsetName(offset) } },
      }));
      first.push({ report: { at: cx.blockPlace(step), args: { axes: written }, step: index }, related });
    });
    for (const { report, related } of first) cx.report({ ...report, related, fixes: fixOf(cx) });
  },
});

function axisWords(step: Step): Word[] {
  return step.block.words.filter((w) => "XYZ".includes(w.letter));
}

/** Takes out all G92 with axis words, where what then counts is known. */
function fixOf(cx: RuleContext): Fix[] {
  const { run, fixture } = cx;
  const steps = run.steps.filter((s) => cx.word(s, "G92") !== undefined && axisWords(s).length > 0);
  const idle = steps.every((s) => [0, 1, 2].every((k) => s.before.presetShift[k] === s.after.presetShift[k]));
  const placed = steps.every((s) => (fixture?.stationsOf(s.after.offset).length ?? 0) > 0);
  // A Z set without length compensation holds the length of the tool, which nothing else would then bring.
  const length = steps.some((s) => s.after.length === 49 && cx.profile.lengthBy !== "control" && cx.word(s, "Z") !== undefined);
  const first = steps[0];
  if (first === undefined || !(idle || (placed && !length))) return [];
  const done = new Set<string>();
  const changes: TextChange[] = [];
  for (const step of steps) {
    const key = `${step.source}:${step.block.line}`;
    if (done.has(key)) continue;
    done.add(key);
    const source = sourceOf(run, step);
    const { line, words, label, comments } = step.block;
    const out = new Set([cx.word(step, "G92"), ...axisWords(step)]);
    // A block of nothing else goes with its line.
    const alone = words.every((w) => out.has(w)) && label === undefined && comments.length === 0 && line + 1 < source.lines.length;
    const text = source.lines[line] ?? "";
    const change = alone
      ? { place: { file: source.file, range: { line, column: 0, endLine: line + 1, endColumn: 0 } }, text: "" }
      : rewritten(cx, step, (w) => (out.has(w) ? undefined : text.slice(w.start, w.end)));
    if (change === undefined) return [];
    changes.push(change);
  }
  return [{ title: { key: "fix.remove", args: { offset: cx.offsetName(first.after.offset) } }, changes, sameMotion: idle }];
}
