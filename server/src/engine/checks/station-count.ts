import type { Fix } from "../findings.js";
import type { Step } from "../machine/run.js";
import type { Word } from "../syntax/block.js";
import type { Expr } from "../syntax/expression.js";
import { type CountedLoop, countedLoops, repeatWord } from "./lib/counted.js";
import { inHabit } from "./lib/edits.js";
import { listArg, toolWords } from "./lib/words.js";
import { defineRule, type RuleContext } from "./rule.js";
import { decimal } from "./wording.js";

/** A loop goes to more or fewer stations than there are. */
export const stationCount = defineRule({
  id: "station-count",
  level: "warning",
  summary: "The count of a loop or repeat differs from the number of siblings.",
  messages: {
    default: "this loop takes {tool} to {count} of {wanted} stations for {work}: it leaves out {missing}",
    past: "this loop takes {tool} to {count} stations instead of {wanted} for {work}: it goes to {past} too, where there is none",
    both: "this loop takes {tool} to {past}, where there is no station, and leaves out {missing} for {work}",
    repeat: "this repeat takes {tool} to {count} of {wanted} stations for {work}: it leaves out {missing}",
    "repeat-past":
      "this repeat takes {tool} to {count} stations instead of {wanted} for {work}: it goes to {past} too, where there is none",
    "repeat-both": "this repeat takes {tool} to {past}, where there is no station, and leaves out {missing} for {work}",
    "fix.loop": "Let the loop end at {value}, after {wanted} stations",
    "fix.repeat": "Repeat {wanted} times",
  },
  docs: `
A loop counts the work offset up or down and calls the path once for each station. When stations are added or taken away, the count stays as
it was: parts are left out, or the tool goes on to offsets that hold another job's values.

A count that the program does not set itself (a variable of the operator) is not judged.

~~~case
The loop ends one station too early.
-- use: four-stations --
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
#100=54
WHILE [#100 LE 56] DO1
;^^^^^^^^^^^^^^^^^^^^^ warning station-count: this loop takes tool 1 (end mill 10) to 3 of 4 stations for bracket op10: it leaves out A4
G#100
M98 P100
#100=#100+1
END1
G28 G91 Z0
M30
O100
G90 G0 X10 Y20
G43 H1 Z50
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
#100=54
WHILE [#100 LE 57] DO1
G#100
M98 P100
#100=#100+1
END1
G28 G91 Z0
M30
O100
G90 G0 X10 Y20
G43 H1 Z50
Z2
G1 Z-3 F300
X40
G0 Z50
M99
~~~

~~~case
All four.
-- use: four-stations --
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
#100=54
WHILE [#100 LE 57] DO1
G#100
M98 P100
#100=#100+1
END1
G28 G91 Z0
M30
O100
G90 G0 X10 Y20
G43 H1 Z50
Z2
G1 Z-3 F300
X40
G0 Z50
M99
~~~

~~~case
The operator says how many.
-- use: four-stations --
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
#100=54
WHILE [#100 LE #500] DO1
G#100
M98 P100
#100=#100+1
END1
G28 G91 Z0
M30
O100
G90 G0 X10 Y20
G43 H1 Z50
Z2
G1 Z-3 F300
X40
G0 Z50
M99
~~~
`,
  check(cx) {
    if (cx.fixture === undefined || cx.blockSkip) return;
    for (const loop of countedLoops(cx)) {
      const step = cx.run.steps[loop.step];
      if (step === undefined) continue;
      const { control } = step.block;
      const repeat = loop.kind === "loop" ? undefined : repeatWord(cx, step);
      const fault = loop.past.length === 0 ? "" : loop.missing.length === 0 ? "past" : "both";
      cx.report({
        at: repeat !== undefined ? cx.place(step, repeat) : control !== undefined ? cx.place(step, control) : cx.blockPlace(step),
        key: [...(loop.kind === "repeat" ? ["repeat"] : []), ...(fault === "" ? [] : [fault])].join("-") || "default",
        args: {
          tool: toolWords(cx, loop.tool),
          count: loop.count,
          wanted: loop.wanted,
          work: listArg(loop.work.map((w) => `${w.part} ${w.op}`)),
          missing: listArg(loop.missing.map((s) => cx.fixture?.stations[s]?.id ?? "")),
          past: listArg(loop.past.map((key) => cx.offsetName(key))),
        },
        fixes: loop.kind === "loop" ? loopFix(cx, step, loop) : repeatFix(cx, step, repeat, loop),
        data: { tool: loop.tool, count: loop.count, wanted: loop.wanted, past: loop.past.length },
        step: loop.step,
      });
    }
  },
});

/** The right number of repeats, where each goes to a station of its own and only the last are too many or too few. */
function repeatFix(cx: RuleContext, step: Step, repeat: Word | undefined, loop: CountedLoop): Fix[] {
  if (repeat === undefined || repeat.expr !== undefined || !loop.atEnd) return [];
  // In the packed form the last four digits are the program.
  const packed = repeat.letter === "P";
  const value = cx.value(step, repeat);
  if ((packed ? Math.floor(value / 10000) : value) !== loop.count) return [];
  const program = packed ? String(value % 10000).padStart(4, "0") : "";
  const text = inHabit(cx, step, `${repeat.letter}${loop.wanted}${program}`);
  const changes = [{ place: cx.place(step, repeat), text }];
  return [{ title: { key: "fix.repeat", args: { wanted: loop.wanted } }, changes, sameMotion: false }];
}

/** Moves the end that the condition compares with, where the variable goes on by the same literal number in every round. */
function loopFix(cx: RuleContext, step: Step, loop: CountedLoop): Fix[] {
  const { control } = step.block;
  if (control === undefined || !("condition" in control) || control.condition.kind !== "binary" || !loop.atEnd) return [];
  const { op, left, right } = control.condition;
  const [variable, end] = left.kind === "variable" ? [left, right] : [right, left];
  if (!["EQ", "NE", "GT", "GE", "LT", "LE"].includes(op) || variable.kind !== "variable" || end.kind !== "number") return [];
  const { index } = variable;
  if (index.kind !== "number") return [];
  const { steps } = cx.run;
  const next = steps.findIndex((s, n) => n > loop.step && s.source === step.source && s.block === step.block);
  const set = steps.slice(loop.step + 1, next).flatMap((s) => s.block.assignments);
  // An assignment to a variable that is itself computed may be one to this.
  if (next < 0 || set.some((a) => a.index.kind !== "number")) return [];
  const own = set.filter((a) => a.index.kind === "number" && a.index.value === index.value);
  const by = own.length === 1 && own[0] !== undefined ? strideOf(own[0].value, index.value) : undefined;
  // Of a loop with a single round the offsets do not tell which way it goes, nor how far.
  if (by === undefined || by === 0 || (loop.count === 1 && by !== 1)) return [];
  const value = decimal(end.value + by * (loop.wanted - loop.count), 4);
  const changes = [
    { place: cx.place(step, { start: end.start, end: end.end }), text: end.point && !value.includes(".") ? `${value}.` : value },
  ];
  return [{ title: { key: "fix.loop", args: { value, wanted: loop.wanted } }, changes, sameMotion: false }];
}

/** What `#n=#n+1` adds; undefined for anything else. */
function strideOf(value: Expr, index: number): number | undefined {
  if (value.kind !== "binary" || (value.op !== "+" && value.op !== "-")) return undefined;
  const isIt = (e: Expr): boolean => e.kind === "variable" && e.index.kind === "number" && e.index.value === index;
  if (isIt(value.left) && value.right.kind === "number") return value.op === "+" ? value.right.value : -value.right.value;
  return value.op === "+" && isIt(value.right) && value.left.kind === "number" ? value.left.value : undefined;
}
