import type { Note } from "../findings.js";
import { machineMessages } from "../machine/messages.js";
import { syntaxMessages } from "../syntax/messages.js";
import { defineRule, type RuleContext } from "./rule.js";

/** What the dialect cannot read. */
export const syntax = defineRule({
  id: "syntax",
  level: "error",
  summary: "A block, or a part of one, that the dialect cannot read.",
  needs: "program",
  onSubprograms: true,
  messages: { ...syntaxMessages, ...machineMessages.syntax },
  docs: `
The control will stop at such a block, or read something else into it. The rest of the block and the program are still
checked; what hangs on the part that could not be read is unknown.

~~~case
The letter O for a zero, two points in a number, and codes that exclude each other.
-- part.nc --
G21 G17 G40 G49 G80 G90
GO X10. Y10.
;^ error syntax: “GO” is written with the letter O where a zero is meant: G0
X1.2.5
;^^^^^ error syntax: “X1.2.5” has more than one decimal point
G0 G1 X20. F100
;  ^^ error syntax: G0 and G1 exclude each other in one block
M30
~~~

~~~case
No spaces, lower case, leading zeros and signs are all in order.
-- part.nc --
%
O0001 (PLATE)
g21g17g40g49g80g90
t01m06
s4000m03
g00g54x+10.y-.5
g43h01z50.
/m08
g91g28z0.
m30
%
~~~
`,
  check(cx) {
    const counts = new Map<string, number>();
    const notes = cx.notes.filter((note) => note.rule === "syntax" && isTrueHere(cx, note));
    for (const note of notes) counts.set(keyOf(note), (counts.get(keyOf(note)) ?? 0) + 1);
    for (const note of notes) {
      const key = keyOf(note);
      cx.report({
        at: note.place,
        key: note.message.key,
        args: note.message.args,
        related: note.related,
        step: note.step < 0 ? undefined : note.step,
        // A word of another dialect that stands on every other line is one cause.
        ...((counts.get(key) ?? 0) > MOST_ALIKE ? { cause: key } : {}),
      });
    }
  },
});

/** From so many alike in one file on they are one finding. */
const MOST_ALIKE = 10;

function keyOf(note: Note): string {
  return `${note.place.file} ${note.message.key} ${JSON.stringify(note.message.args)}`;
}

/** What depends on values is not known of a subprogram that is run without its caller. */
function isTrueHere(cx: RuleContext, note: Note): boolean {
  if (cx.entry !== "subprogram") return true;
  if (["divide-zero", "function-range", "power-range"].includes(note.message.key)) return false;
  return cx.run.steps[note.step]?.values === undefined;
}
