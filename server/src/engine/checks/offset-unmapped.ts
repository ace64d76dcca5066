import type { Fix } from "../findings.js";
import type { Move } from "../machine/move.js";
import type { Step } from "../machine/run.js";
import { selectingArgument } from "./lib/arguments.js";
import { uncertainRounds } from "./lib/counted.js";
import { blockBefore } from "./lib/edits.js";
import { unsure, usesOffset } from "./lib/left.js";
import { reselect, type Selection, selections, seriesShift } from "./lib/selection.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** A work offset that the fixture gives to no station. */
export const offsetUnmapped = defineRule({
  id: "offset-unmapped",
  level: "error",
  summary: "The selected work offset belongs to no station and no declared datum.",
  needs: "program",
  onSubprograms: true,
  messages: {
    default: "no station uses {offset}, and it is no declared datum: what the block cuts there is not known to the fixture",
    initial: "no work offset has been selected yet; {offset} is in force from the start, and no station uses it",
    "absent-p": "{code} needs a P word that says which additional work offset is meant",
    "out-of-range": "{code} P{p}: the dialect has no such work offset",
    "related.selected": "{offset} is selected here",
    "related.again": "{offset} again",
    "fix.station": "Select {offset}, station {station}",
  },
  docs: `
The block selects a register that no station of the fixture owns. Whatever it holds from an earlier job is where the
tool goes: beside the part, into the base, or into a neighbour. The usual cause is a mistyped digit or a P word left out.

Declare an offset that belongs to no station on purpose under \`datums\` of the sidecar.

~~~case
The stations are G54 and G55; the program selects G57.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G90 G57 X0 Y0
;      ^^^ error offset-unmapped: no station uses G57, and it is no declared datum: what the block cuts there is not known to the fixture
G43 H1 Z50
G28 G91 Z0
M30
~~~

~~~case
The P word is missing.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G90 G54.1 X0 Y0
;      ^^^^^ error offset-unmapped: G54.1 needs a P word that says which additional work offset is meant
M30
~~~

~~~case
No control of this dialect has that many registers.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G90 G54.1 P999 X0 Y0
;      ^^^^^^^^^^ error offset-unmapped: G54.1 P999: the dialect has no such work offset
M30
~~~

~~~case
G59 is a declared datum; G54.1 P1 is spelt as G54 P1 once.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 } } },
  "fixedJaws": { "fj": { "face": 15 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 40, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": true } } } },
  "stations": [ { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54.1 P1" } ],
  "datums": { "G59": "park position" }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54.1 P1 X0 Y0
G43 H1 Z50
G0 G54 P1 X10 Y0
G0 G59 X0 Y0
M30
~~~
`,
  check(cx) {
    // A round of the operator's loop that perhaps never comes selects nothing for certain.
    const perhaps = uncertainRounds(cx);
    const all = selections(cx);
    const series = seriesShift(cx, all);
    const reports: (Report & { cause: string })[] = [];
    for (const s of all) {
      if (s.problem !== undefined) {
        const args = { code: s.codeText, p: s.p === undefined ? "" : cx.value(s.step, s.p), offset: s.codeText };
        reports.push({
          at: s.place,
          key: s.problem,
          args,
          step: s.index,
          cause: `${s.problem} ${s.codeText} ${args.p}`,
          fixes: fixes(cx, s),
        });
      } else if (series === undefined && s.key !== undefined && isUnmapped(cx, s.key) && !perhaps.has(s.index)) {
        const args = { offset: cx.offsetName(s.key) };
        const by = selectingArgument(cx, s, (o) => o.key !== undefined && !isUnmapped(cx, o.key));
        reports.push({
          at: by?.place ?? s.place,
          args,
          step: by?.index ?? s.index,
          cause: s.key,
          related: by === undefined ? [] : [{ place: s.place, message: { key: "related.selected", args } }],
          fixes: fixes(cx, s),
          data: { offset: args.offset },
        });
      }
    }
    for (const report of foldByCause(reports, "related.again")) cx.report(report);
    if (series === undefined) initial(cx);
  },
});

/** True where the fixture knows nothing of an offset. A station that could not be resolved still owns its offset. */
export function isUnmapped(cx: RuleContext, key: string): boolean {
  const { fixture } = cx;
  if (fixture === undefined) return false;
  // A station whose offset could not be read may own any.
  const taken =
    fixture.unresolved.some((u) => u.offset === key || u.offset === undefined) || fixture.stations.some((s) => s.offset === undefined);
  return fixture.stationsOf(key).length === 0 && !fixture.datums.has(key) && !taken;
}

/** A cut under the offset that the control starts with, which no block has selected. */
function initial(cx: RuleContext): void {
  if (cx.entry === "subprogram") return;
  for (const move of cx.run.moves) {
    if (move.kind !== "feed" && move.kind !== "arc") continue;
    if (move.modal.offsetStep >= 0 || unsure(move.modal, "offset") || !isUnmapped(cx, move.modal.offset)) return;
    cx.report({
      at: cx.blockPlace(cx.run.steps[move.step] as Step),
      key: "initial",
      args: { offset: cx.offsetName(move.modal.offset) },
      step: move.step,
      fixes: initialFixes(cx),
    });
    return;
  }
}

/** The stations to choose from: those that the tool has not been to first. */
function fixes(cx: RuleContext, s: Selection): Fix[] {
  const { fixture, run } = cx;
  if (fixture === undefined) return [];
  const been = new Set(run.visits.filter((v) => v.tool === s.step.after.tool).map((v) => v.station));
  const stations = fixture.stations.filter((st) => st.offset !== undefined && !st.empty);
  const ordered = [...stations.filter((st) => !been.has(st.index)), ...stations.filter((st) => been.has(st.index))];
  const out: Fix[] = [];
  for (const station of ordered) {
    const offset = station.offset as string;
    const changes = reselect(cx, s, offset);
    if (changes === undefined) continue;
    out.push({
      title: { key: "fix.station", args: { offset: cx.offsetName(offset), station: station.id } },
      changes,
      sameMotion: false,
    });
  }
  return out;
}

/** The station's offset before the first block that goes where an offset says; every station has one where the other is unmapped. */
function initialFixes(cx: RuleContext): Fix[] {
  const { fixture, run } = cx;
  const first = run.moves.find((m) => usesOffset(m) && m.kind !== "index") as Move;
  const step = run.steps[first.step] as Step;
  const stations = (fixture?.stations ?? []).filter((s) => !s.empty);
  return stations.map((station) => {
    const offset = cx.offsetName(station.offset as string);
    const title = { key: "fix.station", args: { offset, station: station.id } };
    return { title, changes: [blockBefore(cx, step, offset)], sameMotion: false };
  });
}
