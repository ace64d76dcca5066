import type { Modal } from "../machine/move.js";
import { blockBefore } from "./lib/edits.js";
import { offsetChanges, reportLeft, since, unsure } from "./lib/left.js";
import { defineRule } from "./rule.js";

/** A rotation, mirror, scaling or polar mode still in force when the next station is selected. */
export const transformLeft = defineRule({
  id: "transform-left",
  level: "error",
  summary: "Rotation, mirror, scaling or polar coordinates are in force when the work offset changes.",
  needs: "program",
  messages: {
    default: "{offset} is selected while {what} is still in force: the path at the new station is turned or distorted by it",
    "related.set": "{what} was switched on here",
    "related.again": "{offset} too",
    "fix.cancel": "Cancel it first ({code})",
  },
  docs: `
A rotation, mirror, scaling or polar mode stays on until it is cancelled. At the next station the same program text gives another path.
Its centre may even lie at the last station.

Cancel before the offset changes. A rotation that is meant for the whole base (a skewed plate) is allowed where it is
switched on, for all stations, or where the offset changes, with its reason.

~~~case
The rotation is still on.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G68 X0 Y0 R30
G0 X20 Y0
G55 X10 Y10
;^^ error transform-left: G55 is selected while the rotation (G68) is still in force: the path at the new station is turned or distorted by it
G69
M30
~~~

~~~case
A rotation for the whole plate, declared.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G68 X0 Y0 R0.05
G0 X20 Y0
G55 X10 Y10 (ALLOW transform-left: the plate stands skewed, one rotation for all)
;^^ information transform-left: G55 is selected while the rotation (G68) is still in force: the path at the new station is turned or distorted by it [allowed: the plate stands skewed, one rotation for all]
G69
M30
~~~

~~~case
The same, declared where it is switched on.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G68 X0 Y0 R0.05 (ALLOW transform-left: the plate stands skewed, one rotation for all)
G0 X20 Y0
G55 X10 Y10
;^^ information transform-left: G55 is selected while the rotation (G68) is still in force: the path at the new station is turned or distorted by it [allowed: the plate stands skewed, one rotation for all]
G69
M30
~~~
~~~case
Cancelled before the change.
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X10 Y10
G43 H1 Z50
G68 X0 Y0 R30
G0 X20 Y0
G69
G55 X10 Y10
M30
~~~
`,
  check(cx) {
    const found = offsetChanges(cx).flatMap((at) => {
      const modal = at.move?.modal;
      if (modal === undefined || at.move === undefined || unsure(modal, "transform") || unsure(at.step.before, "transform")) return [];
      const left = inForce(modal);
      if (left === undefined || inForce(at.step.before) === undefined) return [];
      const cause = since(cx.run, at.move.step, (a, b) => left.part(a) === left.part(b));
      if (cause >= at.index) return [];
      const args = { offset: cx.offsetName(at.step.after.offset), what: left.words };
      const fixes = [
        { title: { key: "fix.cancel", args: { code: left.cancel } }, changes: [blockBefore(cx, at.step, left.cancel)], sameMotion: false },
      ];
      return [{ at, cause, report: { args, fixes } }];
    });
    reportLeft(cx, found, "related.set");
  },
});

/** The first transform in force, with how it is named, cancelled and told apart. */
function inForce(m: Modal): { readonly words: string; readonly cancel: string; part(m: Modal): unknown } | undefined {
  if (m.rotation !== undefined && m.rotation !== 0) return { words: "the rotation (G68)", cancel: "G69", part: (x) => x.rotation };
  if (m.mirror?.some((on) => on) === true) return { words: "the mirror image", cancel: "G50.1 X0 Y0", part: (x) => x.mirror?.join() };
  if (m.scaling?.some((s) => s !== 1) === true) return { words: "the scaling (G51)", cancel: "G50", part: (x) => x.scaling?.join() };
  if (m.polar) return { words: "the polar mode (G16)", cancel: "G15", part: (x) => x.polar };
  return undefined;
}
