import { countedLoops } from "./lib/counted.js";
import { toolWords } from "./lib/words.js";
import { defineRule } from "./rule.js";

/** A loop goes to more or fewer stations than there are. */
export const stationCount = defineRule({
  id: "station-count",
  level: "warning",
  summary: "The count of a loop or repeat differs from the number of siblings.",
  messages: {
    default: "this loop takes {tool} to {count} stations, but there are {wanted} for {part} {op}: {what}",
    repeat: "this repeat takes {tool} to {count} stations, but there are {wanted} for {part} {op}: {what}",
    "fix.repeat": "Repeat {wanted} times",
  },
  docs: `
A loop counts up the work offset and calls the path once for each station. When stations are added or taken away, the count stays as
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
;^^^^^^^^^^^^^^^^^^^^^ warning station-count: this loop takes tool 1 (end mill 10) to 3 stations, but there are 4 for bracket op10
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
      const repeat = step.block.words.find((w) => cx.profile.repeatLetters.includes(w.letter) && w.expr === undefined);
      const control = step.block.control;
      const fewer = loop.count < loop.wanted;
      cx.report({
        at:
          loop.kind === "repeat" && repeat !== undefined
            ? cx.place(step, repeat)
            : control !== undefined
              ? cx.place(step, { start: control.start, end: control.end })
              : cx.blockPlace(step),
        ...(loop.kind === "repeat" ? { key: "repeat" } : {}),
        args: {
          tool: toolWords(cx, loop.tool),
          count: loop.count,
          wanted: loop.wanted,
          part: loop.siblings.part,
          op: loop.siblings.op,
          what: fewer ? "some are left out" : "it goes on past the last",
        },
        fixes:
          loop.kind === "repeat" && repeat !== undefined
            ? [
                {
                  title: { key: "fix.repeat", args: { wanted: loop.wanted } },
                  changes: [{ place: cx.place(step, repeat), text: `${repeat.letter}${loop.wanted}` }],
                  sameMotion: false,
                },
              ]
            : [],
        data: { tool: loop.tool, count: loop.count, wanted: loop.wanted },
        step: loop.step,
      });
    }
  },
});
