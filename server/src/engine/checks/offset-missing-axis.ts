import { programAngle, programNumber, wordsAfter } from "./lib/edits.js";
import { isOffsetWrite, wantedContent } from "./lib/stored.js";
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
    const registers = new Map<string, { first: number; last: number; axes: Set<string> }>();
    for (const write of cx.run.writes) {
      if (!isOffsetWrite(write) || Number.isNaN(write.l) || write.incremental) continue;
      const entry = registers.get(write.register) ?? { first: write.step, last: write.step, axes: new Set<string>() };
      entry.last = write.step;
      for (const letter of write.axes.keys()) entry.axes.add(letter);
      registers.set(write.register, entry);
    }
    if (registers.size < 2) return;
    const letters = new Set([...registers.values()].flatMap((r) => [...r.axes]));
    for (const [register, entry] of registers) {
      for (const letter of letters) {
        if (entry.axes.has(letter) || cx.fixture?.setAtMachine.some((a) => a === letter) === true) continue;
        const others = siblingRegisters(cx, register, registers.keys());
        const giving = others.filter((r) => registers.get(r)?.axes.has(letter) === true);
        if (others.length === 0 || giving.length * 2 <= others.length) continue;
        const step = cx.run.steps[entry.first];
        const sample = registers.get(giving[0] as string);
        const sampleStep = sample === undefined ? undefined : cx.run.steps[sample.first];
        if (step === undefined) continue;
        const args = { offset: cx.offsetName(register), axis: letter };
        cx.report({
          at: cx.blockPlace(step),
          args,
          step: entry.first,
          ...stationOf(cx, register),
          related:
            sampleStep === undefined
              ? []
              : [
                  {
                    place: cx.blockPlace(sampleStep),
                    message: { key: "related.given", args: { offset: cx.offsetName(giving[0] as string), axis: letter } },
                  },
                ],
          fixes: fix(cx, register, letter, entry.first),
        });
      }
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

function stationOf(cx: RuleContext, register: string): { station?: string } {
  const station = cx.fixture?.stationsOf(register)[0];
  return station === undefined ? {} : { station: station.id };
}

function fix(cx: RuleContext, register: string, letter: string, index: number): NonNullable<Report["fixes"]> {
  const station = cx.fixture?.stationsOf(register)[0];
  const step = cx.run.steps[index];
  const value = station === undefined ? undefined : wantedContent(cx, station, letter, index);
  const last = step?.block.words.findLast((w) => "XYZABC".includes(w.letter));
  if (step === undefined || last === undefined || value === undefined || Number.isNaN(value)) return [];
  const units = step.after.units ?? cx.fixture?.units ?? "mm";
  const word = `${letter}${"ABC".includes(letter) ? programAngle(value) : programNumber(value, units)}`;
  return [{ title: { key: "fix.add", args: { word } }, changes: [wordsAfter(cx, step, last.end, word)], sameMotion: false }];
}
