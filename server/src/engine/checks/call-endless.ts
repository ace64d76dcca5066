import { machineMessages } from "../machine/messages.js";
import { reportNotes } from "./notes.js";
import { defineRule } from "./rule.js";
import { hangsOnUnknown } from "./unchecked.js";

/** Calls or loops that cannot end. */
export const callEndless = defineRule({
  id: "call-endless",
  level: "error",
  summary: "Calls or loops that cannot end.",
  needs: "program",
  messages: machineMessages["call-endless"],
  docs: `
The machine goes round until somebody stops it, or stops with an alarm when the calls are nested too deeply.

A main program that ends in M99 begins again on purpose (a bar puller, a pallet changer); it is run once round.

~~~case
O100 calls itself.
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
M98 P100
M30
O100
G91 G28 Z0
M98 P100
;   ^^^^ error call-endless: calls within calls 32 deep: O100 would be called without end
M99
~~~

~~~case
Nothing changes what the condition looks at.
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
#1=0
WHILE [#1 LT 3] DO1
G91 G28 Z0
END1
;^^^ error call-endless: this jump goes round for ever: nothing has changed since the last time
M30
~~~

~~~case
A file that is only a subprogram, and calls itself whatever its arguments are.
-- part.nc --
O100
G91 G28 Z0
M98 P100
;   ^^^^ error call-endless: calls within calls 32 deep: O100 would be called without end
M99
~~~

~~~case
A subprogram whose loop hangs on its argument.
-- part.nc --
O9100
WHILE [#1 GT 0] DO1
G91 G28 Z0
#1=#1-1
END1
M99
~~~

~~~case
M99 in a main program.
-- part.nc --
O1
G21 G17 G40 G49 G80 G90
G91 G28 Z0
M99
~~~
`,
  onSubprograms: true,
  check(cx) {
    // A subprogram by itself lacks its arguments: where a jump or a condition hung on one, its loop may well end.
    if (cx.entry === "subprogram" && hangsOnUnknown(cx.run)) return;
    reportNotes(cx, "call-endless");
  },
});
