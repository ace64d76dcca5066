/**
 * What is left of the stock, against a simulation in voxels that shares no code with the height fields: it moves the tool in small steps,
 * takes away what the cutting part covers, and looks what the shank comes to. Stock 60 × 60 × 60 with the part zero at its top front
 * left corner; cutter of 10 mm with a cutting part of 20.
 */
import { describe, expect, it } from "vitest";
import { cutDepths } from "../../server/src/engine/material.js";
import { analyseNow } from "../../server/src/engine/program.js";
import { memoryHost } from "../support/cases.js";
import { generator } from "../support/sampling.js";

const APMX = 20;
const RADIUS = 5;

const sidecar = (shank: number): string => `{ "format": 1, "units": "mm",
  "machine": { "dialect": "iso", "home": { "X": 0, "Y": 0, "Z": 0 }, "rapidPath": "straight" },
  "bases": { "plate": { "pitch": 50, "columns": 6, "rows": 4, "zero": { "X": -700, "Y": -450, "Z": -400 } } },
  "fixedJaws": { "fj": { "face": 15 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 60, "v": 60, "w": 60 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" }, "reversible": true } } } },
  "stations": [{ "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+X", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54" }],
  "tools": { "1": { "DC": ${2 * RADIUS}, "APMX": ${APMX}, "LF": 150, "shank": { "D": ${shank}, "L": 100 }, "H": 1 } } }`;

type Point = readonly [number, number, number];

/** One pass: down in the air beside the stock, then a feed to a point. */
interface Pass {
  readonly from: Point;
  readonly to: Point;
}

function look(passes: readonly Pass[], shank: number) {
  const lines = ["G21 G17 G40 G49 G80 G90", "T1 M6", "G0 G54 X30 Y-20 S6000 M3", "G43 H1 Z50"];
  for (const { from, to } of passes) {
    lines.push(`G0 X${from[0]} Y${from[1]}`, `Z${from[2]}`, `G1 X${to[0]} Y${to[1]} Z${to[2]} F300`, "G0 Z50");
  }
  lines.push("G28 G91 Z0", "M30", "");
  const analysis = analyseNow(
    memoryHost(
      new Map([
        ["/s/p.nc", lines.join("\n")],
        ["/s/p.fixture.json", sidecar(shank)],
      ]),
    ),
    { program: "/s/p.nc" },
  );
  const { fixture, run } = analysis;
  if (fixture === undefined) throw new Error("no fixture");
  const found = analysis.findings.find((f) => f.rule === "holder-reach");
  const depth = found?.message.args.depth;
  return {
    /** The pass, from 0, that is told first, and how deep. */
    pass: found === undefined ? undefined : (found.place.range.line - 6) / 4,
    key: found?.message.key,
    depth: typeof depth === "object" && "mm" in depth ? depth.mm : 0,
    cuts: [...cutDepths(run, fixture).values()],
  };
}

/** The stock in voxels of half a millimetre, column by column. */
class Voxels {
  static readonly SIZE = 0.5;
  static readonly N = 60 / Voxels.SIZE;
  private readonly full = new Uint8Array(Voxels.N ** 3).fill(1);
  private readonly tops = new Int16Array(Voxels.N ** 2).fill(Voxels.N);

  /** How high a column stands, as part Z; -60 where nothing is left. */
  private height(column: number): number {
    let top = this.tops[column] as number;
    while (top > 0 && this.full[column * Voxels.N + top - 1] === 0) top--;
    this.tops[column] = top;
    return -60 + top * Voxels.SIZE;
  }

  /** Moves the tool; returns the greatest height by which material stands above the cutting part where the shank comes, and the depth of cut. */
  pass({ from, to }: Pass, shank: number): { shank: number; cut: number } {
    const before = new Map<number, number>();
    const steps = Math.ceil(Math.hypot(to[0] - from[0], to[1] - from[1], to[2] - from[2]) / 0.2);
    let met = 0;
    let cut = 0;
    for (let s = 0; s <= steps; s++) {
      const [x, y, z] = [0, 1, 2].map((k) => (from[k] as number) + (s / steps) * ((to[k] as number) - (from[k] as number))) as [
        number,
        number,
        number,
      ];
      const range = (c: number): [number, number] => [
        Math.max(0, Math.floor((c - RADIUS) / Voxels.SIZE)),
        Math.min(Voxels.N - 1, Math.ceil((c + RADIUS) / Voxels.SIZE)),
      ];
      const [i0, i1] = range(x);
      const [j0, j1] = range(y);
      for (let i = i0; i <= i1; i++)
        for (let j = j0; j <= j1; j++) {
          const r = Math.hypot((i + 0.5) * Voxels.SIZE - x, (j + 0.5) * Voxels.SIZE - y);
          if (r > RADIUS) continue;
          const column = i * Voxels.N + j;
          const h = this.height(column);
          if (!before.has(column)) before.set(column, h);
          const low = Math.max(0, Math.ceil((z + 60) / Voxels.SIZE - 0.5));
          const high = Math.min(Voxels.N - 1, Math.floor((z + APMX + 60) / Voxels.SIZE - 0.5));
          for (let k = low; k <= high; k++) this.full[column * Voxels.N + k] = 0;
          if (low <= high) cut = Math.max(cut, (before.get(column) as number) - Math.max(z, -60));
          if (r > shank / 2 || h <= z + APMX) continue;
          const left = this.height(column) - (z + APMX);
          if (left <= 0) continue;
          met = Math.max(met, left);
          // What the shank has run into counts once.
          this.full.fill(0, column * Voxels.N, (column + 1) * Voxels.N);
        }
    }
    return { shank: met, cut };
  }
}

describe("cuts from the side, level and on a ramp, against voxels", () => {
  for (const shank of [10, 9]) {
    it(`a shank of ${shank}`, () => {
      const random = generator(41 + shank);
      const pick = (low: number, high: number): number => Math.round((low + random() * (high - low)) * 10) / 10;
      const wrong: string[] = [];
      const count = { met: 0, silent: 0 };
      for (let n = 0; n < 40; n++) {
        const passes = Array.from({ length: 3 }, (_, k): Pass => {
          const z = -pick(2, 12 + 11 * (k + 1));
          const x = pick(5, 55);
          return {
            from: [x, -12, z],
            to: [pick(Math.max(0, x - 20), Math.min(60, x + 20)), pick(10, 50), random() < 0.5 ? z : z - pick(0, 12)],
          };
        });
        const voxels = new Voxels();
        const real = passes.map((p) => voxels.pass(p, shank));
        const first = real.findIndex((r) => r.shank > 0);
        // Half a voxel cannot tell.
        if (real.some((r, k) => r.shank > 0 && r.shank < 1.2 && (first < 0 || k <= first))) continue;
        const said = look(passes, shank);
        if (first < 0) count.silent++;
        else count.met++;
        const depth = first < 0 ? 0 : (real[first]?.shank ?? 0);
        const right =
          first < 0 ? said.pass === undefined : said.pass === first && said.key === "deep" && Math.abs(said.depth - depth) <= 0.8;
        // The greatest depth of cut, where nothing was left standing over a cut.
        const deepest = Math.max(...real.map((r) => r.cut));
        const cut = said.cuts[0]?.depth ?? 0;
        if (!right || (first < 0 && Math.abs(cut - deepest) > 0.8))
          wrong.push(
            `${n}: pass ${first} by ${depth.toFixed(2)}, cut ${deepest.toFixed(2)}; said ${JSON.stringify(said)} of ${JSON.stringify(passes)}`,
          );
      }
      expect(wrong).toEqual([]);
      expect(count.met).toBeGreaterThan(2);
      expect(count.silent).toBeGreaterThan(3);
    });
  }
});

describe("the depth of cut of a visit", () => {
  const program = (...lines: string[]): string[] => [
    "G21 G17 G40 G49 G80 G90",
    "T1 M6",
    "G0 G54 X30 Y30 S6000 M3",
    "G43 H1 Z50",
    ...lines,
    "G0 Z50",
    "G28 G91 Z0",
    "M30",
    "",
  ];
  function cuts(text: string, lines: readonly string[]) {
    const files = new Map([
      ["/s/p.nc", lines.join("\n")],
      ["/s/p.fixture.json", text],
    ]);
    const { run, fixture } = analyseNow(memoryHost(files), { program: "/s/p.nc" });
    if (fixture === undefined) throw new Error("no fixture");
    return [...cutDepths(run, fixture).values()].map((c) => [c.depth, run.steps[run.moves[c.move]?.step ?? -1]?.block.line]);
  }
  const drill = sidecar(8).replace(`"DC": ${2 * RADIUS}`, '"DC": 8, "SIG": 90');

  it("of a drill counts to its point, at once or peck by peck", () => {
    expect(cuts(drill, program("G98 G81 Z-12.5 R2 F200", "G80"))).toEqual([[12.5, 4]]);
    // Three pecks of 5, of which the first begins 2 above the stock: 3, 5 and 5.
    const [[depth = 0, line] = []] = cuts(drill, program("G98 G83 Z-13 R2 Q5 F200", "G80"));
    expect([depth, line]).toEqual([expect.closeTo(5, 3), 4]);
  });
  it("is that of the deepest block, and no more than what stood there", () => {
    // Down to 3, then a second cut to 8 over the same place takes 5; out through the bottom of 60 there are 52 left.
    expect(cuts(sidecar(8), program("G1 Z-3 F200", "Z-8", "G0 Z2"))).toEqual([[5, 5]]);
    expect(cuts(sidecar(8), program("G1 Z-8 F200", "Z-65", "G0 Z2"))).toEqual([[52, 5]]);
  });
  it("is not said where nothing is cut, and not known behind a tool of no known width", () => {
    expect(cuts(sidecar(8), program("G1 Z2 F200"))).toEqual([]);
    expect(cuts(sidecar(8).replace(`"DC": ${2 * RADIUS}, `, ""), program("G1 Z-3 F200"))).toEqual([[Number.NaN, 4]]);
  });
});
