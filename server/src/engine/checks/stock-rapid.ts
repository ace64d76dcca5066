import { RELATED_TEXTS, reportIncidents } from "./lib/speak.js";
import { defineRule } from "./rule.js";

/** A rapid into stock that no earlier visit has cut away. */
export const stockRapid = defineRule({
  id: "stock-rapid",
  level: "warning",
  summary: "A rapid goes into stock that no earlier visit has cut away.",
  messages: {
    default: "{station}: {tool} goes {depth} into the stock on the rapid to {to}; nothing has cut there before",
    ...RELATED_TEXTS,
  },
  docs: `
The tool meets solid material at the full rate of the axes. It breaks, or it pushes the part out of the jaws.

What is left of the stock is followed through the whole program: the stock of each station is a grid of heights that every cut
lowers (the grid has up to 65,000 cells a station, as fine as a sixth of the smallest tool's radius needs; what lies wholly between
its lines can be overlooked; \`check --explain\` gives the step of the grid). A rapid back into a hole or pocket that was cut before is not mentioned. What a tool cuts whose width
the sidecar does not give is not known; a rapid that goes deeper than it has been is still reported, anything above is not.

Feed into the material, or start above it.

~~~case
Down into the uncut stock at rapid.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X30 Y20 S4000 M3
G43 H1 Z50
G0 Z2
Z-3
;^^ warning stock-rapid: A1: tool 1 (end mill 10) goes 3 mm into the stock on the rapid to Z-3
G1 X40 F500
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
Back into a slot that was cut before.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X30 Y20 S4000 M3
G43 H1 Z50
G0 Z2
G1 Z-3 F200
X50
G0 Z2
X40
Z-3
G1 Z-6 F200
X50
G0 Z50
G28 G91 Z0
M30
~~~
`,
  check: (cx) => reportIncidents(cx, "stock-rapid", () => ({})),
});
