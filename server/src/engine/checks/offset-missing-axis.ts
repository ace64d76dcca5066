import type { Station } from "../fixture/model.js";
import type { Step } from "../machine/run.js";
import { programAngle, programNumber, wordsAfter } from "./lib/edits.js";
import { isOffsetWrite, wantedContent } from "./lib/stored.js";
import { listArg } from "./lib/words.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** A G10 line that leaves out an axis which the lines of the other stations give. */
export const offsetMissingAxis = defineRule({
  id: "offset-missing-axis",
  level: "warning",
  summary: "A G10 block leaves out an axis that the blocks of the other stations give.",
  needs: "program",
  onSubprograms: true,
  messages: {
    default: "{offset} gets no {axis} here, though the other registers do: it keeps what the last job left in it",
    "related.given": "{offset} gives {axis}",
    "fix.add": "Add {word}, the computed value",
  },
  docs: `
The control keeps the value of an axis that a G10 block does not name. The station then stands where the last job had it in
that axis. Axes that the setter touches off at the machine are declared under \`offsets.setAtMachine\` of the sidecar.

~~~case
The second line has no Z.
-- use: three-stations --
-- part.nc --
G21 G90
G10 L2 P1 X-680. Y-385. Z-345.
G10 L2 P2 X-530. Y-385.
;^^^^^^^^^^^^^^^^^^^^^^ warning offset-missing-axis: G55 gets no Z here
G10 L2 P3 X-380. Y-385. Z-345.
M30
-- part.nc after fix 1 --
G21 G90
G10 L2 P1 X-680. Y-385. Z-345.
G10 L2 P2 X-530. Y-385. Z-345.
G10 L2 P3 X-380. Y-385. Z-345.
M30
~~~

~~~case
The Z of G55 stands in a block of its own.
-- use: three-stations --
-- part.nc --
G21 G90
G10 L2 P1 X-680. Y-385. Z-345.
G10 L2 P2 X-530. Y-385.
G10 L2 P2 Z-345.
G10 L2 P3 X-380. Y-385. Z-345.
M30
~~~

~~~case
Z is declared as set at the machine.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 } } },
  "fixedJaws": { "fj": { "face": 15 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 40, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": true } } } },
  "stations": [ { "id": "A", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54", "repeat": { "columns": 3, "rows": 1, "step": [3, 1] } } ],
  "offsets": { "setAtMachine": ["Z"] }
}
-- part.nc --
G21 G90
G10 L2 P1 X-650. Y-385. Z-345.
G10 L2 P2 X-500. Y-385.
G10 L2 P3 X-350. Y-385. Z-345.
M30
~~~
`,
  check(cx) {
    const registers = new Map<string, { first: number; axes: Set<string> }>();
    for (const write of cx.run.writes) {
      if (!isOffsetWrite(write) || Number.isNaN(write.l) || write.incremental) continue;
      const entry = registers.get(write.register) ?? { first: write.step, axes: new Set<string>() };
      for (const letter of write.axes.keys()) entry.axes.add(letter);
      registers.set(write.register, entry);
    }
    const atMachine: readonly string[] = cx.fixture?.setAtMachine ?? [];
    const letters = new Set([...registers.values()].flatMap((r) => [...r.axes]));
    for (const [register, entry] of registers) {
      const others = siblingRegisters(cx, register, registers.keys());
      const giving = (letter: string): string[] => others.filter((r) => registers.get(r)?.axes.has(letter) === true);
      const missing = [...letters].filter(
        (letter) => !entry.axes.has(letter) && !atMachine.includes(letter) && giving(letter).length * 2 > others.length,
      );
      if (missing.length === 0) continue;
      // The one that gives most of what is missing here.
      const given = (r: string): string[] => missing.filter((letter) => registers.get(r)?.axes.has(letter));
      const like = others.reduce((a, b) => (given(b).length > given(a).length ? b : a));
      const step = cx.run.steps[entry.first] as Step;
      const likeStep = cx.run.steps[registers.get(like)?.first ?? -1] as Step;
      const station = cx.fixture?.stationsOf(register)[0];
      cx.report({
        at: cx.blockPlace(step),
        args: { offset: cx.offsetName(register), axis: listArg(missing) },
        step: entry.first,
        ...(station === undefined ? {} : { station: station.id }),
        related: [
          {
            place: cx.blockPlace(likeStep),
            message: { key: "related.given", args: { offset: cx.offsetName(like), axis: listArg(given(like)) } },
          },
        ],
        fixes: station === undefined ? [] : fix(cx, station, missing, entry.first, step),
      });
    }
  },
});

/** The other registers that are comparable: those of sibling stations, or all where the fixture says nothing. */
function siblingRegisters(cx: RuleContext, register: string, all: Iterable<string>): string[] {
  const own = cx.fixture?.stationsOf(register)[0];
  const others = [...all].filter((r) => r !== register);
  if (own === undefined) return others;
  return others.filter((r) => cx.fixture?.stationsOf(r).some((s) => s.part === own.part && s.op === own.op) === true);
}

function fix(cx: RuleContext, station: Station, letters: readonly string[], index: number, step: Step): NonNullable<Report["fixes"]> {
  const last = step.block.words.findLast((w) => "XYZABC".includes(w.letter));
  const values = letters.map((letter) => wantedContent(cx, station, letter, index) ?? Number.NaN);
  if (last === undefined || values.some(Number.isNaN)) return [];
  const units = step.after.units ?? cx.fixture?.units ?? "mm";
  const word = letters
    .map(
      (letter, k) => `${letter}${"ABC".includes(letter) ? programAngle(values[k] as number) : programNumber(values[k] as number, units)}`,
    )
    .join(" ");
  return [{ title: { key: "fix.add", args: { word } }, changes: [wordsAfter(cx, step, last.end, word)], sameMotion: false }];
}
