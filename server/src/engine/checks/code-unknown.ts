import { machineMessages } from "../machine/messages.js";
import { reportNotes } from "./notes.js";
import { defineRule } from "./rule.js";

/** A code that the dialect does not know. */
export const codeUnknown = defineRule({
  id: "code-unknown",
  level: "information",
  summary: "A code that the dialect does not know; what depends on it is unknown from there on.",
  needs: "program",
  onSubprograms: true,
  messages: machineMessages["code-unknown"],
  docs: `
The machine's maker, or an option of the control, has given the code a meaning that is not known here. It is not guessed:
what depends on it counts as not checked.

~~~case
G605 is no code of this dialect.
-- part.nc --
G21 G17 G40 G49 G80 G90
G605 X10
;^^^ information code-unknown: G605 is not known in this dialect: what depends on it is not known from here on
M30
~~~

~~~case
Codes with a leading zero are the same codes.
-- part.nc --
G21 G17 G40 G49 G80 G90
G00 G54 X10.
M05
M09
M30
~~~
`,
  check(cx) {
    reportNotes(cx, "code-unknown");
  },
});
