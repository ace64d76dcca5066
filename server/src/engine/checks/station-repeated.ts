import type { Fix } from "../findings.js";
import type { Move } from "../machine/move.js";
import type { Step } from "../machine/run.js";
import { selectingArgument } from "./lib/arguments.js";
import { reselect, type Selection, selections } from "./lib/selection.js";
import { type Repeat, repeats, tallies, type Unit } from "./lib/tally.js";
import { toolWords } from "./lib/words.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** A tool does the same path at the same station again, and a sibling goes without. */
export const stationRepeated = defineRule({
  id: "station-repeated",
  level: "error",
  summary: "A tool does the same path twice at one station while a sibling goes without.",
  messages: {
    default: "{station} is machined a second time by {tool} with the same path, and {missing} not at all: select {offset} here",
    "no-offset":
      "{station} is machined a second time by {tool} with the same path, and {missing}, whose offset the sidecar does not say, not at all",
    again:
      "{tool} does the same path at {station} a second time, and not at its siblings: the second time is too much, or belongs to another station",
    "related.first": "the first time",
    "related.selected": "the offset is selected here",
    "related.also-at": "also at {station}",
    "fix.offset": "Select {offset}, station {missing}",
  },
  docs: `
One digit of the offset is wrong or was not changed after copying: the tool cuts air at a part that is done, and the part next to it is
left without that cut. It is found at inspection, or when the next tool meets the material.

Roughing and finishing are different paths, a spring pass is made at every sibling, and a repeat with a shift cuts somewhere else each
time; they are not reported.

~~~case
The third offset was copied and not changed.
-- use: three-stations --
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y20
G43 H1 Z50
M98 P100
G55
M98 P100
G55
;^^ error station-repeated: A2 is machined a second time by tool 1 (end mill 10) with the same path, and A3 not at all: select G56 here
M98 P100
G28 G91 Z0
M30
O100
G90 G0 X10 Y20
Z2
G1 Z-3 F300
X40
G0 Z50
M99
-- part.nc after fix 1 --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y20
G43 H1 Z50
M98 P100
G55
M98 P100
G56
M98 P100
G28 G91 Z0
M30
O100
G90 G0 X10 Y20
Z2
G1 Z-3 F300
X40
G0 Z50
M99
~~~

~~~case
A spring pass at every sibling.
-- use: two-stations --
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y20
G43 H1 Z50
M98 P100 L2
G55
M98 P100 L2
G28 G91 Z0
M30
O100
G90 G0 X10 Y20
Z2
G1 Z-3 F300
X40
G0 Z50
M99
~~~

~~~case
Roughing at both, then finishing at both.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y20
G43 H1 Z50
Z2
G1 Z-3 F300
X40
G0 Z50
G55 X10 Y20
Z2
G1 Z-3 F300
X40
G0 Z50
G54 X10 Y20
Z2
G1 Z-3.2 F200
X40
G0 Z50
G55 X10 Y20
Z2
G1 Z-3.2 F200
X40
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
Two times at one station, with a shift between: two cuts side by side.
-- use: two-stations --
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G0 Z2
M98 P100 L2
G0 Z50
G55 X10 Y10
Z2
M98 P100 L2
G0 Z50
G28 G91 Z0
M30
O100
G91 G1 Z-5 F300
X30
G0 Z5
X-30 Y15
G90
M99
~~~
`,
  *check(cx) {
    if (cx.fixture === undefined || cx.blockSkip) return;
    const chosen = new Map(selections(cx).map((s) => [s.index, s]));
    for (const r of repeats(yield* tallies(cx))) cx.report(describe(cx, r, chosen));
  },
});

/** The step of the call that makes the second time: a call of its own, or the repeats of one. */
function callOf(cx: RuleContext, { unit, other }: Repeat): number | undefined {
  const { call } = unit.pass;
  if (call === undefined) return undefined;
  if (unit.heads && call !== other.pass.call) return call.caller;
  const { words } = (cx.run.steps[call.caller] as Step).block;
  // How often stands in a letter of its own, or in the P before the program's number.
  const isRepeated = words.some(
    (w) => cx.profile.repeatLetters.includes(w.letter) || (w.letter === "P" && cx.profile.packedRepeat && w.value > 9999),
  );
  return isRepeated ? call.caller : undefined;
}

function describe(cx: RuleContext, r: Repeat, chosen: ReadonlyMap<number, Selection>): Report {
  const { run } = cx;
  const { unit, other, missing, tally } = r;
  const station = cx.fixture?.stations[unit.station]?.id ?? "";
  const selection = unit.heads && unit.pass.offsetStep !== other.pass.offsetStep ? chosen.get(unit.pass.offsetStep) : undefined;
  const cutAt = (u: Unit): number => (run.moves[u.first] as Move).step;
  const argument = selection === undefined ? undefined : selectingArgument(cx, selection, (o) => o !== selection);
  const index = argument?.index ?? selection?.index ?? callOf(cx, r) ?? cutAt(unit);
  const first = run.steps[other.pass.offsetStep] ?? (run.steps[cutAt(other)] as Step);
  const offset = missing?.offset === undefined ? "" : cx.offsetName(missing.offset);
  const fixes: Fix[] = [];
  if (selection !== undefined && missing?.offset !== undefined) {
    const changes = reselect(cx, selection, missing.offset);
    if (changes !== undefined)
      fixes.push({ title: { key: "fix.offset", args: { offset, missing: missing.id } }, changes, sameMotion: false });
  }
  return {
    at: argument?.place ?? selection?.place ?? cx.blockPlace(run.steps[index] as Step),
    ...(missing === undefined ? { key: "again" } : missing.offset === undefined ? { key: "no-offset" } : {}),
    args: { station, tool: toolWords(cx, tally.tool), missing: missing?.id ?? "", offset },
    station,
    related: [
      { place: cx.blockPlace(first), message: { key: "related.first", args: {} } },
      ...(argument === undefined || selection === undefined
        ? []
        : [{ place: selection.place, message: { key: "related.selected", args: {} } }]),
    ],
    fixes,
    data: { tool: tally.tool, missing: missing?.id ?? null },
    step: index,
  };
}
