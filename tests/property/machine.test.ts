import fc from "fast-check";
import { describe, expect, test } from "vitest";
import type { Run } from "../../server/src/engine/machine/run.js";
import { fixture, profile, run, tidy, tool } from "../unit/machine-support.js";

/* What must hold for any program, whatever the right answer is. Sources are not needed: both sides are runs. */

const SEED = { seed: 20240607, numRuns: 150 };

const coordinate = fc.integer({ min: -400, max: 400 }).map((n) => n / 8);
const axis = fc.constantFrom("X", "Y", "Z");

interface Piece {
  readonly words: readonly (readonly [string, number | string])[];
}

/** Blocks of straight motion, arcs and cycles, in programs that set their modes first. */
const piece: fc.Arbitrary<Piece> = fc.oneof(
  fc
    .tuple(fc.constantFrom("0", "1"), fc.uniqueArray(fc.tuple(axis, coordinate), { selector: ([a]) => a, minLength: 1, maxLength: 3 }))
    .map(([g, axes]) => ({
      words: [["G", g], ...axes] as const,
    })),
  fc.tuple(coordinate, coordinate).map(([x, y]) => ({
    words: [
      ["X", x],
      ["Y", y],
    ] as const,
  })),
  fc.tuple(fc.constantFrom("2", "3"), coordinate, coordinate).map(([g, i, j]) => ({
    words: [
      ["G", g],
      ["I", i === 0 && j === 0 ? 5 : i],
      ["J", j],
    ] as const,
  })),
  fc.tuple(coordinate, coordinate).map(([x, y]) => ({
    words: [
      ["G", "98"],
      ["G", "81"],
      ["X", x],
      ["Y", y],
      ["Z", -60],
      ["R", 55],
      ["F", 100],
    ] as const,
  })),
  fc.constant({ words: [["G", "80"]] as const }),
  fc.tuple(fc.constantFrom("54", "55"), coordinate).map(([g, x]) => ({
    words: [
      ["G", g],
      ["G", "0"],
      ["X", x],
      ["Y", 1],
    ] as const,
  })),
  fc.tuple(coordinate, coordinate).map(([x, y]) => ({
    words: [
      ["G", "91"],
      ["G", "1"],
      ["X", x],
      ["Y", y],
      ["F", 200],
    ] as const,
  })),
  fc.constant({ words: [["G", "90"]] as const }),
  fc.constant({
    words: [
      ["G", "28"],
      ["Z", 70],
    ] as const,
  }),
  fc.integer({ min: 1, max: 2 }).map((t) => ({
    words: [
      ["T", t],
      ["M", "6"],
    ] as const,
  })),
  fc.integer({ min: 1, max: 2 }).map((h) => ({
    words: [
      ["G", "43"],
      ["H", h],
      ["Z", 60],
    ] as const,
  })),
);

const program = fc.array(piece, { minLength: 1, maxLength: 25 });

const HEAD = "G21 G90 G17 G94 F100";
const used = fixture({
  stored: { G54: [-500, -300, -200], G55: [-250, -300, -200] },
  tools: [tool(1, 100), tool(2, 140)],
  machine: { home: { X: 0, Y: 0, Z: 0 }, rapid: { X: 30000, Y: 30000, Z: 24000 } },
});

function text(pieces: readonly Piece[]): string[] {
  return [HEAD, ...pieces.map((p) => p.words.map(([l, v]) => `${l}${v}`).join(" "))];
}

/** Everything about the moves but which step they belong to. */
function path(result: Run, frame: "machine" | "part" = "machine"): string[] {
  return result.moves.map((m) => {
    const [from, to] = frame === "machine" ? [m.from, m.to] : [m.partFrom, m.partTo];
    const centre = frame === "machine" ? (m.centre ?? []).map(tidy) : [];
    return JSON.stringify([
      m.kind,
      m.role,
      from.map(tidy),
      to.map(tidy),
      centre,
      tidy(m.sweep),
      tidy(m.feed),
      m.modal.tool,
      m.modal.offset,
      m.visit,
    ]);
  });
}

describe("writing the same program otherwise", () => {
  test("numbering, spacing, case, comments and blank lines change nothing", () => {
    const style = fc.record({
      number: fc.boolean(),
      step: fc.integer({ min: 1, max: 10 }),
      gap: fc.constantFrom("", " ", "  ", "\t"),
      lower: fc.boolean(),
      comment: fc.boolean(),
      blanks: fc.boolean(),
      ending: fc.constantFrom("\n", "\r\n"),
      zeros: fc.boolean(),
    });
    fc.assert(
      fc.property(program, style, (pieces, s) => {
        const lines = text(pieces);
        const other = lines.flatMap((line, i) => {
          let words = line
            .split(" ")
            .map((w) => (s.zeros && /^[GM]\d$/.test(w) ? `${w[0]}0${w.slice(1)}` : w))
            .join(s.gap);
          if (s.lower) words = words.toLowerCase();
          if (s.number) words = `N${(i + 1) * s.step}${s.gap}${words}`;
          if (s.comment) words = `${words} (G0 X999 #1=2)`;
          return s.blanks ? [words, ""] : [words];
        });
        expect(path(run(other.join(s.ending), { fixture: used }))).toEqual(path(run(lines.join("\n"), { fixture: used })));
      }),
      SEED,
    );
  });

  test("the order of words in a block changes nothing (NISTIR 6556, 3.3.6)", () => {
    fc.assert(
      fc.property(program, fc.integer({ min: 0, max: 5 }), (pieces, turn) => {
        const lines = text(pieces);
        const turned = lines.map((line) => {
          const words = line.split(" ");
          const k = turn % words.length;
          return [...words.slice(k), ...words.slice(0, k)].join(" ");
        });
        expect(path(run(turned.join("\n"), { fixture: used }))).toEqual(path(run(lines.join("\n"), { fixture: used })));
      }),
      SEED,
    );
  });
});

describe("units and places", () => {
  test("inch with numbers divided by 25.4 is the same motion", () => {
    fc.assert(
      fc.property(program, (pieces) => {
        const inch = pieces.map((p) => ({
          words: p.words.map(([l, v]) => ["XYZIJRF".includes(l) ? [l, Number(v) / 25.4] : [l, v]][0] as [string, number | string]),
        }));
        const lines = text(inch);
        lines[0] = `G20 G90 G17 G94 F${(100 / 25.4).toFixed(12)}`;
        const round = (r: Run): string[] =>
          r.moves.map((m) => JSON.stringify([m.kind, ...m.to.map((n) => tidy(Math.round(n * 1e4) / 1e4)), tidy(Math.round(m.feed))]));
        // Exponents are no numbers of a program.
        const source = lines.map((l) => l.replace(/-?\d+(\.\d+)?e-\d+/g, (n) => Number(n).toFixed(12))).join("\n");
        expect(round(run(source, { fixture: used }))).toEqual(round(run(text(pieces).join("\n"), { fixture: used })));
      }),
      SEED,
    );
  });

  test("a program moved by its offsets has the same path in the part frame", () => {
    fc.assert(
      fc.property(program, coordinate, coordinate, (pieces, dx, dy) => {
        // References are places of the machine and not of the part.
        const local = pieces.filter((p) => !p.words.some(([l, v]) => l === "G" && v === "28"));
        const moved = fixture({
          stored: { G54: [-500 + dx, -300 + dy, -200], G55: [-250 + dx, -300 + dy, -200] },
          tools: [tool(1, 100), tool(2, 140)],
        });
        const still = fixture({ stored: { G54: [-500, -300, -200], G55: [-250, -300, -200] }, tools: [tool(1, 100), tool(2, 140)] });
        const lines = text(local).join("\n");
        expect(path(run(lines, { fixture: moved }), "part")).toEqual(path(run(lines, { fixture: still }), "part"));
      }),
      SEED,
    );
  });

  test("without a sidecar the path in the part frame of one offset is the same as with one, and machine positions are unknown", () => {
    fc.assert(
      fc.property(fc.array(fc.tuple(coordinate, coordinate), { minLength: 1, maxLength: 10 }), (points) => {
        const lines = ["G21 G90 G54 G0 X0 Y0", "G43 H1 Z5", ...points.map(([x, y]) => `G1 X${x} Y${y} F100`)].join("\n");
        const known = run(lines, { fixture: used });
        const unknown = run(lines);
        expect(unknown.moves.map((m) => m.partTo.map(tidy))).toEqual(known.moves.map((m) => m.partTo.map(tidy)));
        expect(unknown.moves.every((m) => Number.isNaN(m.to[0]))).toBe(true);
        expect(unknown.moves.slice(3).map((m) => tidy(m.seconds))).toEqual(known.moves.slice(3).map((m) => tidy(m.seconds)));
      }),
      SEED,
    );
  });
});

describe("calls and loops", () => {
  test("a loop and its unrolled form give the same moves", () => {
    fc.assert(
      fc.property(program, fc.integer({ min: 1, max: 4 }), (pieces, times) => {
        const [head, ...body] = text(pieces);
        const loop = [head, "#1=0", `WHILE[#1 LT ${times}]DO1`, ...body, "#1=#1+1", "END1", "G90 G80 G0 X7"].join("\n");
        const jump = [head, "#1=0", "N10", ...body, "#1=#1+1", `IF[#1 LT ${times}]GOTO 10`, "G90 G80 G0 X7"].join("\n");
        const flat = [head, ...Array.from({ length: times }, () => body).flat(), "G90 G80 G0 X7"].join("\n");
        const expected = path(run(flat, { fixture: used }));
        expect(path(run(loop, { fixture: used }))).toEqual(expected);
        expect(path(run(jump, { fixture: used }))).toEqual(expected);
      }),
      SEED,
    );
  });

  test("a call and its inlined form give the same moves, by M98, M97, G65 and from another file", () => {
    fc.assert(
      fc.property(program, fc.integer({ min: 1, max: 3 }), (pieces, times) => {
        const [head, ...body] = text(pieces);
        const flat = [head, ...Array.from({ length: times }, () => body).flat(), "G90 G80 G0 X7", "M30"].join("\n");
        const expected = path(run(flat, { fixture: used }));
        const main = (call: string): string => ["O1", head, call, "G90 G80 G0 X7", "M30"].join("\n");
        const sub = ["O50", ...body, "M99"].join("\n");
        expect(path(run(`${main(`M98 P50 L${times}`)}\n${sub}`, { fixture: used }))).toEqual(expected);
        expect(path(run(`${main(`G65 P50 L${times}`)}\n${sub}`, { fixture: used }))).toEqual(expected);
        expect(path(run(`${main(`M97 P77 L${times}`)}\nN77\n${body.join("\n")}\nM99`, { fixture: used }))).toEqual(expected);
        expect(path(run(main(`M98 P50 L${times}`), { fixture: used, files: { "/p/50.nc": sub } }))).toEqual(expected);
      }),
      SEED,
    );
  });
});

describe("any input", () => {
  const word = fc.oneof(
    fc.constantFrom(
      "G0",
      "G1",
      "G2",
      "G3",
      "G41 D1",
      "G42 D2",
      "G40",
      "G43 H1",
      "G49",
      "G54",
      "G55",
      "G54.1 P7",
      "G52 X1",
      "G92 X2",
      "G68 X0 Y0 R30",
      "G69",
    ),
    fc.constantFrom(
      "G16",
      "G15",
      "G51 P2",
      "G50",
      "G51.1 X0",
      "G50.1",
      "G81",
      "G83 Q1",
      "G76 Q1",
      "G87 Q1",
      "G80",
      "G98",
      "G99",
      "G17",
      "G18",
      "G19",
      "G53",
    ),
    fc.constantFrom(
      "G28 Z0",
      "G30 X0",
      "G90",
      "G91",
      "G93",
      "G95",
      "G20",
      "G10 L2 P1",
      "G10 L20 P7",
      "M98 P2",
      "M97 P3",
      "M99",
      "M99 P3",
      "M30",
      "G65 P2",
      "G66 P2",
      "G67",
    ),
    fc.constantFrom(
      "IF[#1 EQ 1]GOTO 3",
      "GOTO 3",
      "WHILE[#500 LT 3]DO1",
      "END1",
      "#1=#1+1",
      "#500=#1",
      "#[#1]=2",
      "#5221=4",
      "X#500",
      "G#500",
      "M#1",
      "N3",
      "O2",
      "/",
      "G12",
      "M77",
      "%",
    ),
    fc
      .tuple(
        fc.constantFrom("X", "Y", "Z", "A", "B", "I", "J", "K", "R", "Q", "P", "L", "F", "S", "T", "D", "H"),
        fc.integer({ min: -20, max: 20 }),
      )
      .map(([l, n]) => `${l}${n}`),
    fc.constantFrom("X", "X[", "X1.2.3", "(", ")", "#", "X[1/0]", "X[SQRT[-1]]"),
  );
  const lines = fc.array(
    fc.array(word, { maxLength: 5 }).map((w) => w.join(" ")),
    { maxLength: 25 },
  );

  test.each(["iso", "rs274ngc", "g154", "bare"])("%s: never throws, always ends, and steps and moves stay in order", (name) => {
    const dialect = profile(name);
    const rotary = { axis: "B", centre: [0, 0, 0], sense: 1, indexSeconds: 1, inOffset: false } as const;
    const fixed = fixture({
      profile: dialect,
      stored: { G54: [0, 0, 0] },
      tools: [tool(1, 100, { DC: 4 }), tool(2, 50)],
      machine: { rotary },
    });
    fc.assert(
      fc.property(lines, fc.boolean(), fc.boolean(), (program, withFixture, blockSkip) => {
        const bounds = { steps: 3000, rounds: 50 };
        const result = run(program.join("\n"), { profile: dialect, blockSkip, bounds, ...(withFixture ? { fixture: fixed } : {}) });
        let at = 0;
        for (const step of result.steps) {
          expect(step.firstMove).toBe(at);
          expect(step.endMove).toBeGreaterThanOrEqual(at);
          at = step.endMove;
        }
        expect(at).toBe(result.moves.length);
        for (const move of result.moves) {
          expect(move.visit).toBeLessThan(result.visits.length);
          if (move.kind !== "dwell") continue;
          expect(move.from).toEqual(move.to);
        }
        for (const note of result.notes) expect(note.message.key.length).toBeGreaterThan(0);
      }),
      { seed: 77, numRuns: 400 },
    );
  });

  test("any text", () => {
    fc.assert(
      fc.property(fc.string({ unit: "binary", maxLength: 300 }), (any) => {
        run(any, { bounds: { steps: 500 } });
      }),
      SEED,
    );
  });
});
