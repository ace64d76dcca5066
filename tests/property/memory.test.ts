import fc from "fast-check";
import { describe, expect, it } from "vitest";
import type { Profile } from "../../server/src/engine/dialect/profile.js";
import { builtInProfiles } from "../../server/src/engine/dialect/profiles.js";
import { emptyMemory } from "../../server/src/engine/memory.js";
import { type Analysis, analyse } from "../../server/src/engine/program.js";
import { parseSource, type Reading, readSource } from "../../server/src/engine/syntax/parse.js";
import { largeProgram, SIDECAR } from "../bench/large.js";

/** Lines as programs have them, and some that change what stands around them. */
const line = fc.oneof(
  {
    weight: 4,
    arbitrary: fc.constantFrom("G0 X10. Y20.", "G1 Z-3. F300", "X40.", "G2 X1. Y2. R5.", "(a comment that is long enough)", ""),
  },
  {
    weight: 2,
    arbitrary: fc.constantFrom("%", "O1000 (TITLE)", "O2", "M30", "M99", "N10 G54.1 P2", "/M8", "#100=#100+1", "IF [#100 LT 3] GOTO 10"),
  },
  { weight: 1, arbitrary: fc.string({ maxLength: 12 }) },
);

interface Edit {
  readonly at: number;
  readonly remove: number;
  readonly insert: readonly string[];
  readonly end: string;
}

const edit = fc.record({
  at: fc.nat(60),
  remove: fc.nat(3),
  insert: fc.array(line, { maxLength: 3 }),
  end: fc.constantFrom("\n", "\n", "\n", "\r\n"),
});

function applied(text: string, { at, remove, insert, end }: Edit): string {
  const lines = text.split("\n");
  lines.splice(at % (lines.length + 1), remove, ...insert);
  return lines.join(end === "\n" ? "\n" : "\r\n").replaceAll("\r\r", "\r");
}

function drained<T>(work: Generator<void, T, void>): T {
  for (;;) {
    const step = work.next();
    if (step.done === true) return step.value;
  }
}

describe("what is kept between two analyses changes the time and nothing else", () => {
  it("a reading that keeps the blocks of unchanged lines equals one from scratch", () => {
    const profiles: Profile[] = [...builtInProfiles.values()];
    fc.assert(
      fc.property(fc.array(line, { maxLength: 40 }), fc.array(edit, { minLength: 1, maxLength: 6 }), fc.nat(), (lines, edits, n) => {
        const profile = profiles[n % profiles.length] as Profile;
        let text = lines.join("\n");
        let reading: Reading = drained(readSource("/a.nc", text, profile));
        for (const e of edits) {
          text = applied(text, e);
          reading = drained(readSource("/a.nc", text, profile, reading));
          expect(reading.source).toEqual(parseSource("/a.nc", text, profile));
        }
      }),
      { numRuns: 300 },
    );
  });

  it("a reading keeps the very blocks of the lines before and behind an edit", () => {
    const profile = builtInProfiles.get("iso") as Profile;
    const before = drained(readSource("/a.nc", "G0 X1.\nG0 X2.\nG0 X3.", profile));
    const after = drained(readSource("/a.nc", "G0 X1.\nG0 X9.\nG0 X3.", profile, before));
    expect(after.source.blocks[0]).toBe(before.source.blocks[0]);
    expect(after.source.blocks[1]).not.toBe(before.source.blocks[1]);
    expect(after.source.blocks[2]).toBe(before.source.blocks[2]);
  });

  it("an analysis with a memory equals one without, after any edits of the program and its sidecar", () => {
    const words = fc.oneof(
      line,
      fc.constantFrom(
        "G54.1 P3",
        "G0 Z2.",
        "G1 Z-60.",
        "Z50.",
        "T2 M6",
        "G43 H2 Z50.",
        "G91 G28 Z0",
        "G90",
        "G1 X-10. Y500. F200",
        "T4 M6",
        "G3 X-20. Y35. R0.4",
        "G0 X-20. Y10.",
        "G18",
        "G0 X-300.",
      ),
    );
    const step = fc.oneof(
      {
        weight: 6,
        arbitrary: fc.record({ at: fc.nat(400), remove: fc.nat(2), insert: fc.array(words, { maxLength: 2 }), end: fc.constant("\n") }),
      },
      { weight: 1, arbitrary: fc.constantFrom("clearance", "jaw", "empty", "broken", "back") },
    );
    const sidecars: Readonly<Record<string, string>> = {
      clearance: SIDECAR.replace('"units": "mm",', '"units": "mm", "clearance": { "rapid": 30, "cut": 2 },'),
      jaw: SIDECAR.replace('"height": 45', '"height": 58'),
      empty: SIDECAR.replace('"seat": 25,', '"seat": 25, "empty": true,'),
      broken: SIDECAR.slice(0, 900),
      back: SIDECAR,
    };
    let found = 0;
    fc.assert(
      fc.property(fc.array(step, { minLength: 1, maxLength: 5 }), (steps) => {
        let text = largeProgram(400);
        let sidecar = SIDECAR;
        const host = {
          read: (p: string) => (p === "/f/a.nc" ? text : p === "/f/a.fixture.json" ? sidecar : undefined),
          list: (f: string) => (f === "/f" ? ["a.nc", "a.fixture.json"] : undefined),
        };
        const memory = emptyMemory();
        drained(analyse(host, { program: "/f/a.nc" }, memory));
        for (const s of steps) {
          if (typeof s === "string") sidecar = sidecars[s] ?? SIDECAR;
          else text = applied(text, s);
          // An analysis that a newer edit abandons leaves its memory half made.
          const abandoned = analyse(host, { program: "/f/a.nc" }, memory);
          for (let n = 0; n < (text.length * 7) % 90; n++) abandoned.next();
          const a = drained(analyse(host, { program: "/f/a.nc" }, memory));
          const b = drained(analyse(host, { program: "/f/a.nc" }));
          expect(told(a)).toEqual(told(b));
          found += b.findings.length;
        }
      }),
      { numRuns: 20 },
    );
    expect(found).toBeGreaterThan(10);
  }, 120_000);
});

describe("one edit at a time, near jaws and stop, where distances matter", () => {
  const visit = (p: number) => [
    `G0 G54.1 P${p} X-10. Y20.`,
    "Z2.",
    "G1 Z-12. F300",
    "X-50.",
    "G2 X-50. Y10. R5.",
    "G1 Y5.",
    "G0 X-58. Y5.",
    "G0 Z50.",
  ];
  const base = [
    "G21 G17 G40 G49 G80 G90",
    "G28 G91 Z0",
    "G28 X0 Y0",
    "T1 M6",
    "G90 S4000 M3",
    "G0 G54.1 P1 X-10. Y20.",
    "G43 H1 Z50.",
    ...visit(1),
    ...visit(2),
    ...visit(3),
    "G28 G91 Z0",
    "M30",
  ].join("\n");
  const last = (text: string, from: string, to: string) => {
    const at = text.lastIndexOf(from);
    expect(at).toBeGreaterThanOrEqual(0);
    return text.slice(0, at) + to + text.slice(at + from.length);
  };
  const edits: Readonly<Record<string, (text: string) => string>> = {
    "another tool under the same length": (t) => t.replace("T1 M6", "T4 M6"),
    "another tool with its own length": (t) => t.replace("T1 M6", "T4 M6").replace("H1", "H4"),
    "an arc the other way round": (t) => last(t, "G2 X-50.", "G3 X-50."),
    "an arc of another radius": (t) => last(t, "R5.", "R9."),
    "a deeper cut": (t) => last(t, "Z-12.", "Z-14."),
    "a rapid for a feed": (t) => last(t, "G1 Z-12. F300", "G0 Z-12."),
    "a feed for a rapid": (t) => last(t, "G0 X-58.", "G1 X-58."),
    "another end of the last move before the retract": (t) => last(t, "X-58.", "X-70."),
    "another retract": (t) => last(t, "G0 Z50.", "G0 Z-5."),
    "another station": (t) => t.replace("P2 X", "P5 X"),
    "the same station twice": (t) => t.replace("P2 X", "P1 X"),
    "another plane": (t) => t.replace("G17", "G18"),
    "a cycle": (t) => last(t, "G1 Y5.", "G81 Y5. Z-20. R2."),
    "a comment before everything": (t) => `(ONE)\n(TWO)\n${t}`,
    "a visit taken out": (t) => t.replace(`${visit(2).join("\n")}\n`, ""),
    "a visit put in": (t) => t.replace(visit(2).join("\n"), [...visit(4), ...visit(2)].join("\n")),
  };

  it.each(Object.keys(edits))("%s", (name) => {
    let text = base;
    const host = {
      read: (p: string) => (p === "/f/a.nc" ? text : p === "/f/a.fixture.json" ? SIDECAR : undefined),
      list: (f: string) => (f === "/f" ? ["a.nc", "a.fixture.json"] : undefined),
    };
    const memory = emptyMemory();
    const first = drained(analyse(host, { program: "/f/a.nc" }, memory));
    // Without contacts there would be nothing to remember wrongly.
    expect(first.clearances?.contacts.length ?? 0).toBeGreaterThan(20);
    text = edits[name]?.(base) ?? base;
    expect(text).not.toBe(base);
    expect(told(drained(analyse(host, { program: "/f/a.nc" }, memory)))).toEqual(told(drained(analyse(host, { program: "/f/a.nc" }))));
    text = base;
    expect(told(drained(analyse(host, { program: "/f/a.nc" }, memory)))).toEqual(told(first));
  });
});

/** Everything that an analysis says, apart from functions. */
function told(a: Analysis): unknown {
  const { clearances, run } = a;
  return {
    findings: a.findings,
    notChecked: a.notChecked,
    complete: a.complete,
    dependencies: a.dependencies,
    seconds: run.seconds,
    moves: run.moves,
    blocks: run.sources.map((s) => s.blocks),
    contacts: clearances?.contacts.map(({ solid, ...rest }) => ({ ...rest, solid: `${solid.station} ${solid.name}` })),
    ofMoves: run.moves.map((_, i) => clearances?.contactsOf(i).length),
    least: run.visits.map((v) =>
      clearances?.least(v.index).map((c) => [c.solid.name, c.solid.station, c.move, c.distance, c.depth, c.at, c.part]),
    ),
    unchecked: [...(clearances?.unchecked ?? [])],
    withoutWidth: [...(clearances?.withoutWidth ?? [])],
  };
}
