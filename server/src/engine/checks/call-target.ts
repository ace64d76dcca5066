import { machineMessages } from "../machine/messages.js";
import type { Step } from "../machine/run.js";
import { inHabit } from "./lib/edits.js";
import { reportNotes } from "./notes.js";
import { defineRule } from "./rule.js";

/** A call of a program or label that is not there, is there twice, or does not come back. */
export const callTarget = defineRule({
  id: "call-target",
  level: "error",
  summary: "The called program or label is absent, there twice, or ends in M30 instead of returning.",
  needs: "program",
  onSubprograms: true,
  messages: { ...machineMessages["call-target"], "fix.return": "Write M99, which returns" },
  docs: `
The control stops with an alarm in the middle of the cycle, or runs the wrong one of two programs, or ends after the first
part. Programs that the control holds itself are listed under \`machine.resident\` of the sidecar.

~~~case
O200 is nowhere.
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
M98 P200
;   ^^^^ error call-target: program O200 is called and is not there
M30
~~~

~~~case
O100 ends the program instead of returning.
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
M98 P100
M30
O100
G91 G28 Z0
M30
;^^ error call-target: the program ends here, at the machine, although O100 was called: M99 returns
~~~

~~~case
Two programs of one number.
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
M98 P100
M30
O100
G91 G28 Z0
M99
O100
;^^^ error call-target: program O100 stands here a second time: which one is called depends on the control
G91 G28 Y0
M99
~~~

~~~case
O9001 is resident at the control.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "machine": { "dialect": "iso", "resident": [9001] },
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 } } },
  "fixedJaws": { "fj": { "face": 15 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 40, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": true } } } },
  "stations": [ { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54" } ]
}
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
M98 P9001
M30
~~~
`,
  check(cx) {
    reportNotes(
      cx,
      "call-target",
      (note) => {
        if (note.message.key !== "ends") return [];
        const text = inHabit(cx, cx.run.steps[note.step] as Step, "M99");
        return [{ title: { key: "fix.return", args: {} }, changes: [{ place: note.place, text }], sameMotion: false }];
      },
      // Half a program lacks its subprograms: each is one thing that is missing, however often it is called.
      (note) =>
        note.message.key === "missing" ? { cause: `missing ${String(note.message.args.program)}`, relatedKey: "related.call" } : undefined,
    );
  },
});
