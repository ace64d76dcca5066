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
      { numRuns: 12 },
    );
    expect(found).toBeGreaterThan(10);
  }, 120_000);
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
