import { blockBefore } from "./lib/edits.js";
import { offsetChanges, reportLeft, since } from "./lib/left.js";
import { pointWords } from "./lib/words.js";
import { defineRule } from "./rule.js";

/** G52 still shifts when the next station is selected. */
export const shiftLeft = defineRule({
  id: "shift-left",
  level: "error",
  summary: "A G52 shift is not zero when the work offset changes.",
  needs: "program",
  messages: {
    default: "{offset} is selected while G52 {shift} is still in force: everything at the new station stands off by that much",
    "related.shift": "G52 was set here",
    "related.again": "{offset} too",
    "fix.zero": "Zero the shift first (G52 X0 Y0 Z0)",
  },
  docs: `
G52 shifts every work offset until it is zeroed; a new offset does not end it. The next station is machined beside itself by the amount
of the last shift.

A shift that is set anew before anything moves at the new station (a nest of parts at each of several offsets) is in order.

Zero the shift (\`G52 X0 Y0 Z0\`) as the last block of every shifted passage.

~~~case
The shift of the second hole is still in force at G55.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G52 X30 Y0
G0 X10 Y10
G55 X10 Y10
;^^ error shift-left: G55 is selected while G52 X30 is still in force
M30
~~~

~~~case
Zeroed before the change.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G52 X30 Y0
G0 X10 Y10
G52 X0 Y0
G55 X10 Y10
M30
~~~

~~~case
The nest begins anew at every offset.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G54
G52 X0 Y0
G0 X10 Y10
G43 H1 Z50
G52 X30 Y0
G0 X10 Y10
G55
G52 X0 Y0
G0 X10 Y10
G52 X30 Y0
G0 X10 Y10
G52 X0 Y0
M30
~~~
`,
  check(cx) {
    // Where G52 belongs to one offset only, a change of the offset leaves it behind.
    if (cx.profile.g52Reach === "none") return;
    const found = offsetChanges(cx).flatMap((at) => {
      const shift = at.move?.modal.localShift;
      if (shift === undefined || at.move === undefined) return [];
      // A component that is not known is not called a shift.
      const left = shift.map((v) => (Number.isNaN(v) || Math.abs(v) < 1e-9 ? Number.NaN : v));
      if (left.every((v) => Number.isNaN(v))) return [];
      const cause = since(cx.run, at.move.step, (a, b) => a.localShift.every((v, k) => Object.is(v, b.localShift[k])));
      // Set at or after the change: it is meant for the new station.
      if (cause >= at.index) return [];
      const args = { offset: cx.offsetName(at.step.after.offset), shift: pointWords(cx, [left[0] ?? 0, left[1] ?? 0, left[2] ?? 0]) };
      const fixes = [{ title: { key: "fix.zero", args: {} }, changes: [blockBefore(cx, at.step, "G52 X0 Y0 Z0")], sameMotion: false }];
      return [{ at, cause, report: { args, fixes, data: { shift } } }];
    });
    reportLeft(cx, found, "related.shift");
  },
});
