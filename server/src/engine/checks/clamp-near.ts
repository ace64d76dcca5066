import { RELATED_TEXTS, reportIncidents } from "./lib/speak.js";
import { defineRule } from "./rule.js";

/** A cutting move that passes nearer to the fixture than the cut clearance. */
export const clampNear = defineRule({
  id: "clamp-near",
  level: "warning",
  summary: "A cutting move passes closer to a jaw, stop, parallel, base or obstacle than the cut clearance.",
  messages: {
    default: "{station}: {tool} passes {distance} from the {solid} on the way to {to}; a cut must keep {clearance}",
    ...RELATED_TEXTS,
  },
  docs: `
The path is clear on paper, but nearer than \`clearance.cut\` of the sidecar (0.5 mm unless it says otherwise). A jaw that stands
proud, a burr under the part, a tool that is longer or thicker than its entry; each of them closes the gap.

Lift the path, leave more stock below, or state a smaller clearance if the jaws are known that well.

~~~case
0.3 mm above the fixed jaw.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-20 Y3 S4000 M3
G43 H1 Z50
G0 Z2
G1 Z-9.7 F500
X80
;^^ warning clamp-near: A1: tool 1 (end mill 10) passes 0.3 mm from the fixed jaw
G0 Z50
G28 G91 Z0
M30
~~~

~~~case
0.5 mm above it: equal to the clearance is clear.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
G0 G54 X-20 Y3 S4000 M3
G43 H1 Z50
G0 Z2
G1 Z-9.5 F500
X80
G0 Z50
G28 G91 Z0
M30
~~~
`,
  check: (cx) => reportIncidents(cx, "clamp-near", () => ({})),
});
