import type { Step } from "../machine/run.js";
import type { Word } from "../syntax/block.js";
import { argumentBehind } from "./lib/arguments.js";
import { inHabit } from "./lib/edits.js";
import { paced } from "./lib/paced.js";
import { defineRule } from "./rule.js";

/** A length register that belongs to another tool than the one in the spindle. */
export const lengthMismatch = defineRule({
  id: "length-mismatch",
  level: "warning",
  summary: "The H of a length compensation is not the tool's.",
  needs: "program",
  messages: {
    default: "H{h} is not a length register of T{tool}, which has {own}",
    other: "H{h} belongs to T{owner}; T{tool} in the spindle has {own}",
    convention: "H{h} with T{tool} in the spindle, where every other tool of this program has the H of its own number",
    "related.more": "H{h} again",
    "related.tool": "the tool",
    "related.taken": "the length is taken here",
    "fix.own": "Write H{own}",
  },
  docs: `
The length of another tool is compensated. A longer one leaves air; a shorter one drives the tool into the part or the
base by the difference. It counts which tool is in the spindle, not which one the last T word staged.

Further edges of a tool are listed in the sidecar as \`"H": [1, 21]\`.

~~~case
H2 with T1.
-- use: two-stations --
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X0 Y0
G43 H2 Z50
;   ^^ warning length-mismatch: H2 belongs to T2
G91 G28 Z0
M30
-- part.nc after fix 1 --
G21 G17 G40 G49 G80 G90
T1 M6
S4000 M3
G0 G54 X0 Y0
G43 H1 Z50
G91 G28 Z0
M30
~~~

~~~case
A second edge, and the next tool staged right after the change.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 } } },
  "fixedJaws": { "fj": { "face": 15 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 40, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": true } } } },
  "stations": [ { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54" } ],
  "tools": { "1": { "DC": 16, "LF": 120, "H": [1, 21] }, "2": { "DC": 10, "LF": 110, "H": 2 } }
}
-- part.nc --
G21 G17 G40 G49 G80 G90
T1 M6
T2
S4000 M3
G0 G54 X0 Y0
G43 H1 Z50
G43 H21 Z50
G91 G28 Z0
M30
~~~
`,
  *check(cx) {
    const { run, fixture } = cx;
    const uses: { index: number; step: Step; word: Word; tool: number; h: number }[] = [];
    yield* paced(run.steps, (step, index) => {
      const word = cx.word(step, "H");
      const { length, tool } = step.after;
      if (word === undefined || length === 49 || step.after.uncertain?.includes("length") === true) return;
      const h = cx.value(step, word);
      if (Number.isNaN(h) || h === 0 || Number.isNaN(tool) || tool === 0 || cx.word(step, "G10") !== undefined) return;
      uses.push({ index, step, word, tool, h });
    });
    const convention = uses.filter((u) => u.h === u.tool).length >= uses.length * 0.75 && new Set(uses.map((u) => u.tool)).size > 2;
    const ownOf = (tool: number): readonly number[] | undefined => {
      const known = fixture?.tools.get(tool);
      return known === undefined || known.H.length === 0 ? undefined : known.H;
    };
    const isRight = ({ tool, h }: { readonly tool: number; readonly h: number }): boolean =>
      ownOf(tool)?.includes(h) ?? (h === tool || !convention);
    for (const use of uses) {
      const { index, step, word, tool, h } = use;
      if (isRight(use)) continue;
      const known = fixture?.tools.get(tool);
      const own = ownOf(tool);
      // A macro that takes the right length for other tools was given the wrong number by its call.
      const by =
        word.expr !== undefined && uses.some((u) => u.step.block === step.block && isRight(u))
          ? argumentBehind(cx, index, word.expr)
          : undefined;
      const [changed, at] = by === undefined ? [step, word] : [run.steps[by.index] as Step, by.word];
      const owner = [...(fixture?.tools.values() ?? [])].find((t) => t.H.includes(h));
      const right = own?.[0] ?? tool;
      const ownText = { list: (own ?? [tool]).map((n) => `H${n}`) };
      cx.report({
        at: cx.place(changed, at),
        key: own === undefined ? "convention" : owner === undefined ? "default" : "other",
        args: { h, tool, own: ownText, owner: owner?.number ?? "" },
        step: by?.index ?? index,
        cause: `${step.after.toolStep} ${h}`,
        relatedKey: "related.more",
        related: [
          ...(known === undefined ? [] : [{ place: known.place, message: { key: "related.tool", args: {} } }]),
          ...(by === undefined ? [] : [{ place: cx.place(step, word), message: { key: "related.taken", args: {} } }]),
        ],
        fixes:
          at.expr === undefined && (by === undefined || at.letter === "H")
            ? [
                {
                  title: { key: "fix.own", args: { own: right } },
                  changes: [{ place: cx.place(changed, at), text: inHabit(cx, changed, `H${right}`) }],
                  sameMotion: false,
                },
              ]
            : [],
        data: { tool, h },
      });
    }
  },
});
