import type { Fix } from "../findings.js";
import type { Station } from "../fixture/model.js";
import type { Call, Step } from "../machine/run.js";
import { inHabit } from "./lib/edits.js";
import { type Pass, passesOf } from "./lib/passes.js";
import { type Siblings, siblingsOf } from "./lib/stations.js";
import { toolWords } from "./lib/words.js";
import { foldByCause } from "./report.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** The work of one op is done at a station of another. */
export const stationWrongOp = defineRule({
  id: "station-wrong-op",
  level: "error",
  summary: "The path or subprogram that the siblings of one op use runs at a station of another op.",
  messages: {
    default:
      "{station} holds {part} {op}, but {tool} runs {what} there, which the stations of {otherPart} {otherOp} use; its siblings run {instead}",
    "related.sibling": "{sibling} runs {what} here",
    "related.also-at": "also at {station}",
    "fix.call": "Call {instead}",
  },
  docs: `
First and second op stand side by side on one base, and the programs are copied from station to station. One call left as it was, and
the holes of the first op go into the finished side of a part in its second.

A path or subprogram counts as an op's own when most of its stations use it. One that the siblings of the station use as well (a feature that both
ops share) is in order.

~~~case
The second station of op20 gets the program of op10.
-- use: two-ops --
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
G56
M98 P200
G57
M98 P100
;^^^^^^^ error station-wrong-op: B2 holds bracket op20, but tool 1 (end mill 10) runs O100 there, which the stations of bracket op10 use; its siblings run O200
G28 G91 Z0
M30
O100
G90 G0 X10 Y20
Z2
G1 Z-3 F300
X40
G0 Z50
M99
O200
G90 G0 X30 Y20
Z2
G1 Z-4 F300
Y10
G0 Z50
M99
~~~

~~~case
A feature that both ops share.
-- use: two-ops --
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
G56
M98 P100
G57
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
`,
  *check(cx) {
    const { run, fixture } = cx;
    if (fixture === undefined || cx.blockSkip) return;
    const groups = siblingsOf(fixture);
    const reports: (Report & { cause: string })[] = [];
    for (const tool of new Set(run.visits.map((v) => v.tool))) {
      const users = new Map<string, Map<number, Pass>>();
      const passes: Pass[] = [];
      for (const visit of run.visits) {
        if (visit.tool !== tool || visit.station < 0) continue;
        for (const pass of yield* passesOf(run, visit)) {
          passes.push(pass);
          const key = keyOf(pass);
          const at = users.get(key) ?? new Map<number, Pass>();
          if (!at.has(visit.station)) at.set(visit.station, pass);
          users.set(key, at);
        }
      }
      for (const pass of passes) {
        const report = judge(cx, groups, users, tool, pass);
        if (report !== undefined) reports.push(report);
      }
    }
    for (const report of foldByCause(reports, "related.also-at")) cx.report(report);
  },
});

/** What tells one piece of work from another: the program that is called, else the path itself. */
function keyOf(pass: Pass): string {
  return pass.call === undefined ? pass.path : nameOf(pass.call);
}

/** A program by its number, or lines of one by their label. */
function nameOf(call: Call): string {
  return `${call.kind === "local" ? "N" : "O"}${call.program}`;
}

/** What a pass runs, in words. */
function wordsOf(pass: Pass): string | undefined {
  return pass.call === undefined ? undefined : nameOf(pass.call);
}

/** The block to look at: the call, else the first cut. */
function stepOfPass(cx: RuleContext, pass: Pass): Step {
  const index = pass.call?.caller ?? cx.run.moves[pass.cuts[0] as number]?.step;
  return cx.run.steps[index as number] as Step;
}

function judge(
  cx: RuleContext,
  groups: readonly Siblings[],
  users: ReadonlyMap<string, ReadonlyMap<number, Pass>>,
  tool: number,
  pass: Pass,
): (Report & { cause: string }) | undefined {
  const own = groups.find((g) => g.stations.some((s) => s.index === pass.visit.station));
  if (own === undefined) return undefined;
  const station = own.stations.find((s) => s.index === pass.visit.station) as Station;
  const siblings = own.stations.filter((s) => s !== station);
  const key = keyOf(pass);
  const at = users.get(key) as ReadonlyMap<number, Pass>;
  // Siblings that use it too make it the op's own.
  if (siblings.some((s) => at.has(s.index))) return undefined;
  const other = groups.find((g) => g !== own && g.stations.filter((s) => at.has(s.index)).length * 2 > g.stations.length);
  if (other === undefined) return undefined;
  // What most of the siblings run in its place, and this station does not.
  const instead = [...users.values()].find((by) => {
    const count = siblings.filter((s) => by.has(s.index)).length;
    return !by.has(station.index) && count > 0 && count * 2 >= siblings.length;
  });
  const sibling = siblings.find((s) => instead?.has(s.index) === true);
  const example = sibling === undefined ? undefined : instead?.get(sibling.index);
  if (sibling === undefined || example === undefined) return undefined;
  const step = stepOfPass(cx, pass);
  const insteadWords = wordsOf(example) ?? "another path";
  const message = { key: "related.sibling", args: { sibling: sibling.id, what: insteadWords } };
  return {
    at: cx.blockPlace(step),
    args: {
      station: station.id,
      part: own.part,
      op: own.op,
      otherPart: other.part,
      otherOp: other.op,
      tool: toolWords(cx, tool),
      what: wordsOf(pass) ?? "the path",
      instead: insteadWords,
    },
    station: station.id,
    related: [{ place: cx.blockPlace(stepOfPass(cx, example)), message }],
    fixes: pass.call === undefined || example.call === undefined ? [] : fixOf(cx, step, pass.call, example.call),
    data: { tool, op: own.op, usedBy: other.op },
    step: cx.run.steps.indexOf(step),
    cause: `${tool} ${key} ${station.index}`,
  };
}

/** The P word of a literal call, with the siblings' program. */
function fixOf(cx: RuleContext, step: Step, call: Call, instead: Call): Fix[] {
  const p = cx.word(step, "P");
  // A P that holds the repeats as well is no program's number alone.
  const isNumber = p !== undefined && p.expr === undefined && p.value === call.program;
  if (!isNumber || cx.word(step, "M98") === undefined || instead.kind === "local") return [];
  return [
    {
      title: { key: "fix.call", args: { instead: nameOf(instead) } },
      changes: [{ place: cx.place(step, p), text: inHabit(cx, step, `P${instead.program}`) }],
      sameMotion: false,
    },
  ];
}
