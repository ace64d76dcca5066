import { nearest } from "../text/nearest.js";
import type { Allow } from "./allow.js";
import { defineRule, type Report } from "./rule.js";

/** An allow comment that says no reason, names no rule, or that nothing needs any more. */
export const allowUnused = defineRule({
  id: "allow-unused",
  level: "warning",
  summary: "An allow comment without a reason, or one that nothing needs.",
  needs: "program",
  messages: {
    default: "nothing here needs the allow for {rule} any more",
    reason: "the allow for {rule} gives no reason, so it waives nothing: write (ALLOW {rule}: why)",
    near: "there is no rule {rule}; the nearest is {nearest}",
    "fix.remove": "Remove the comment",
  },
  docs: `
An allow comment is a promise to the next reader: this was seen, and it is right for the reason given. One whose fault has
been mended since, or that never says why, hides the next fault that turns up on the same block.

The comment stands on the block or on the block before it.

~~~case
Nothing is wrong with this block any more.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
(ALLOW offset-unmapped: parked there on purpose)
;^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^^ warning allow-unused: nothing here needs the allow for offset-unmapped any more
G0 G54 X0 Y0
G43 H1 Z50
G28 G91 Z0
M30
~~~

~~~case
The reason is missing, so the fault is still reported.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
(ALLOW offset-unmapped)
;^^^^^^^^^^^^^^^^^^^^^^ warning allow-unused: the allow for offset-unmapped gives no reason, so it waives nothing: write (ALLOW offset-unmapped: why)
G0 G58 X0 Y0
M30
~~~

~~~case
An allow that is needed, with its reason.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G58 X0 Y0 (ALLOW offset-unmapped: probing block, set by the operator)
M30
~~~
`,
  // The framework knows which allows were used only after every other rule has run; it calls `unusedAllows` then.
  check() {},
});

/**
 * The reports for allows that are not in order. `looked` tells whether a rule was really able to look at that file and
 * line: an allow is never called unused by a run that could not see.
 */
export function unusedAllows(
  allows: readonly Allow[],
  used: ReadonlySet<Allow>,
  ruleIds: readonly string[],
  looked: (rule: string, allow: Allow) => boolean,
): Report[] {
  const out: Report[] = [];
  for (const allow of allows) {
    const fixes = [{ title: { key: "fix.remove", args: {} }, changes: [{ place: allow.removal, text: "" }], sameMotion: true }];
    const unknown = allow.rules.find((id) => !ruleIds.includes(id));
    if (unknown !== undefined) {
      out.push({ at: allow.place, key: "near", args: { rule: unknown, nearest: nearest(unknown, ruleIds) ?? "" } });
    } else if (allow.reason === undefined) {
      out.push({ at: allow.place, key: "reason", args: { rule: allow.rules[0] as string } });
    } else if (!used.has(allow)) {
      const idle = allow.rules.filter((id) => looked(id, allow));
      if (idle.length === allow.rules.length) out.push({ at: allow.place, args: { rule: idle.join(", ") }, fixes });
    }
  }
  return out;
}
