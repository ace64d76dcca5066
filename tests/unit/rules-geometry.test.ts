/**
 * The geometric rules against brute force (`tests/support/sampling.ts`): tool positions are sampled densely along every move, and the
 * verdicts must agree outside a band about each threshold. `checks-geometry-light.test.ts` is the quick form of it.
 */
import { describe, expect, test } from "vitest";
import { swingVerdict } from "../../server/src/engine/checks/lib/index-sweep.js";
import { analyseNow } from "../../server/src/engine/program.js";
import { memoryHost } from "../support/cases.js";
import {
  analyse,
  type Cylinder,
  distance,
  generator,
  incidents,
  points,
  polygons,
  type Upright,
  type World,
  wander,
  world,
} from "../support/sampling.js";

const BAND = 0.02;
const STEP = 0.05;

describe("clamp zone against sampling", () => {
  test("every move of random programs", () => {
    const random = generator(20240611);
    let judged = 0;
    let inside = 0;
    const wrong: string[] = [];
    for (let n = 0; n < 12; n++) {
      const w = world(random);
      const a = analyse(w, wander(random, 22));
      const found = incidents(a);
      a.run.moves.forEach((move, index) => {
        if (move.kind === "dwell" || [...move.from, ...move.to].some((v) => Number.isNaN(v))) return;
        const way = points(move, w, STEP);
        for (const solid of w.solids) {
          if (solid.name === "stock") continue;
          // Per part of the tool: the least distance, whether it is at the very start.
          for (const part of ["cutting", "shank", "holder"] as const) {
            let least = Number.POSITIVE_INFINITY;
            let first = 0;
            way.forEach((p, k) => {
              for (const c of w.tool) {
                if (c.part !== part) continue;
                const d = distance(c, p, solid);
                if (d < least - 1e-9) {
                  least = d;
                  first = k;
                }
              }
            });
            const hit = found.some((i) => i.move === index && i.solid.kind === solid.name && i.solid.station === solid.station);
            const rapid = move.kind === "rapid";
            // A rapid that is nearest where it starts has another threshold; the two verdicts are compared only where both agree.
            const limit = rapid ? 2 : 0.5;
            const atStart = rapid && first <= 2;
            const threshold = atStart ? 0.5 : limit;
            if (Math.abs(least - 2) < BAND || Math.abs(least - 0.5) < BAND || Math.abs(least) < BAND) continue;
            if (atStart && least > 0.5 && least < 2) continue;
            judged++;
            if (least < threshold) {
              inside++;
              // A shank that follows a cutting part into the same trouble is not told twice.
              const told = hit || found.some((i) => i.move === index && i.enters);
              if (!told)
                wrong.push(`${n}/${index} ${move.kind} ${part} ${solid.name} of ${solid.station}: ${least.toFixed(3)} not reported`);
            } else if (hit && part === "cutting") {
              const any = w.tool.some((c) => way.some((p) => distance(c, p, solid) < limit + BAND));
              if (!any) wrong.push(`${n}/${index} ${move.kind} ${solid.name} of ${solid.station}: ${least.toFixed(3)} reported`);
            }
          }
        }
      });
    }
    expect(judged).toBeGreaterThan(3000);
    expect(inside).toBeGreaterThan(100);
    expect(wrong).toEqual([]);
  });

  test("which rule speaks of a cut", () => {
    const random = generator(7);
    const wrong: string[] = [];
    let cuts = 0;
    for (let n = 0; n < 12; n++) {
      const w = world(random);
      const a = analyse(w, wander(random, 22));
      const found = incidents(a);
      a.run.moves.forEach((move, index) => {
        if ((move.kind !== "feed" && move.kind !== "arc") || [...move.from, ...move.to].some((v) => Number.isNaN(v))) return;
        const way = points(move, w, STEP);
        const cutting = w.tool.filter((c) => c.part === "cutting");
        for (const solid of w.solids) {
          if (solid.name === "stock") continue;
          const least = Math.min(...cutting.map((c) => Math.min(...way.map((p) => distance(c, p, solid)))));
          if (Math.abs(least) < BAND || Math.abs(least - 0.5) < BAND) continue;
          cuts++;
          const vertical = move.from[0] === move.to[0] && move.from[1] === move.to[1];
          const drilled =
            vertical && move.to[2] < move.from[2] && (solid.name === "base" || (solid.name === "parallels" && solid.station === 0));
          const entering = drilled ? "base-drilled" : solid.station === 1 ? "neighbour-cut" : "clamp-cut";
          const mine = found.filter((i) => i.move === index && i.solid.kind === solid.name && i.solid.station === solid.station);
          const rules = new Set<string>(mine.map((i) => i.rule));
          if (least < 0) {
            const replaced =
              drilled ||
              !found.some((i) => i.move === index && i.rule === "base-drilled") ||
              (solid.name !== "base" && solid.name !== "parallels");
            if (replaced && !rules.has(entering))
              wrong.push(`${n}/${index} ${solid.name}: ${least.toFixed(3)} wanted ${entering}, got ${[...rules].join()}`);
          } else if (rules.has("clamp-cut") || rules.has("base-drilled") || rules.has("neighbour-cut")) {
            wrong.push(`${n}/${index} ${solid.name}: ${least.toFixed(3)} clear, got ${[...rules].join()}`);
          }
        }
      });
    }
    expect(cuts).toBeGreaterThan(500);
    expect(wrong).toEqual([]);
  });
});

describe("remaining material against sampling", () => {
  /** Columns of the stock of station A1, finer than the engine's and cut by sampled positions. */
  function columnsOf(
    w: World,
    cell: number,
  ): { readonly s: Upright; readonly at: readonly (readonly [number, number])[]; readonly height: Float64Array } {
    const s = w.solids.find((x) => x.name === "stock" && x.station === 0) as Upright;
    const a = (s.angle * Math.PI) / 180;
    const at: [number, number][] = [];
    for (let u = -s.half[0] + cell / 2; u < s.half[0]; u += cell) {
      for (let v = -s.half[1] + cell / 2; v < s.half[1]; v += cell) {
        at.push([s.centre[0] + u * Math.cos(a) - v * Math.sin(a), s.centre[1] + u * Math.sin(a) + v * Math.cos(a)]);
      }
    }
    return { s, at, height: new Float64Array(at.length).fill(s.high) };
  }

  test("rapids into what is left, at random", () => {
    const random = generator(99);
    const wrong: string[] = [];
    let hits = 0;
    let clear = 0;
    for (let n = 0; n < 5; n++) {
      const w = world(random);
      const lines = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3", "G0 G54 X0 Y0", "G43 H1 Z60"];
      const a0 = analyse(w, `${lines.join("\n")}\nM30`);
      const station = a0.fixture?.stations[0];
      const box = station?.stock;
      if (station === undefined || box === undefined) throw new Error("no stock");
      // Cuts and rapids over the middle of the stock, above the holder's reach of the jaws.
      const [cu, cv] = [(box.from[0] + box.to[0]) / 2, 0];
      const place = (): [number, number] => {
        const u = cu + (random() - 0.5) * (box.to[0] - box.from[0]) - station.zero[0];
        const v = cv + (random() - 0.5) * (box.to[1] - box.from[1]) - station.zero[1];
        const f = station.frame;
        return [u * f.x[0] + v * f.y[0], u * f.x[1] + v * f.y[1]];
      };
      let z = 60;
      for (let k = 0; k < 26; k++) {
        const [x, y] = place();
        const depth = 1 + random() * 8;
        if (random() < 0.5) {
          lines.push(`G0 Z5`, `X${x.toFixed(3)} Y${y.toFixed(3)}`, `G1 Z-${depth.toFixed(3)} F300`);
          const [x2, y2] = place();
          lines.push(`X${x2.toFixed(3)} Y${y2.toFixed(3)} Z-${(depth * random() + 0.5).toFixed(3)}`);
        } else {
          lines.push(`G0 Z5`, `X${x.toFixed(3)} Y${y.toFixed(3)}`, `Z-${depth.toFixed(3)}`);
          z = -depth;
        }
      }
      expect(z).toBeLessThanOrEqual(60);
      const a = analyse(w, `${lines.join("\n")}\nG0 Z60\nM30`);
      const found = incidents(a);
      const cutter = w.tool[0] as Cylinder;
      const material = columnsOf(w, 1);
      a.run.moves.forEach((move, index) => {
        if (move.kind === "dwell" || [...move.from, ...move.to].some((v) => Number.isNaN(v))) return;
        const way = points(move, w, 0.2);
        if (move.kind === "rapid") {
          // How much of the material is met, and by how much: a sliver between grid lines is in the band.
          let area = 0;
          let deepest = 0;
          material.at.forEach(([x, y], c) => {
            const height = material.height[c] as number;
            let low = Number.POSITIVE_INFINITY;
            for (const p of way) if (Math.hypot(p[0] - x, p[1] - y) <= cutter.radius - 0.05) low = Math.min(low, p[2]);
            if (height - low > 0.05) {
              area++;
              deepest = Math.max(deepest, height - low);
            }
          });
          const up = move.from[0] === move.to[0] && move.from[1] === move.to[1] && move.to[2] >= move.from[2];
          const told = found.some((i) => i.move === index && i.solid.kind === "stock" && i.solid.station === 0);
          if (!up && area > 4 && deepest > 0.2) {
            hits++;
            if (!told) wrong.push(`${n}/${index} ${deepest.toFixed(3)} deep in ${area} columns, not reported`);
          } else if (area === 0) {
            clear++;
            if (told) {
              // Shank and holder may meet what the cutter does not.
              const upper = found.find((i) => i.move === index && i.solid.kind === "stock");
              if (upper?.part === "cutting" && (upper?.depth ?? 0) > 0.1)
                wrong.push(`${n}/${index} clear, reported ${upper.depth.toFixed(3)}`);
            }
          }
          return;
        }
        material.at.forEach(([x, y], c) => {
          if (Math.min(...[move.from, move.to].map((p) => p[2])) >= (material.height[c] as number)) return;
          for (const p of way) {
            if (p[2] < (material.height[c] as number) && Math.hypot(p[0] - x, p[1] - y) <= cutter.radius) material.height[c] = p[2];
          }
        });
      });
    }
    expect(hits).toBeGreaterThan(15);
    expect(clear).toBeGreaterThan(100);
    expect(wrong).toEqual([]);
  });
});

describe("travel against sampling", () => {
  test("arcs, lines and rapids", () => {
    const random = generator(4711);
    let over = 0;
    for (let n = 0; n < 40; n++) {
      const w = world(random);
      const a = analyse(w, wander(random, 6));
      const travel = { 0: [-720, -250], 1: [-455, -200], 2: [-340, -200] } as const;
      let outside = false;
      let near = false;
      a.run.moves.forEach((move) => {
        for (const p of points(move, w, 0.05)) {
          [p[0], p[1], p[2] + 100].forEach((v, k) => {
            const [low, high] = travel[k as 0 | 1 | 2];
            if (v < low - BAND || v > high + BAND) outside = true;
            else if (v < low + BAND || v > high - BAND) near = true;
          });
        }
      });
      const told = a.findings.some((f) => f.rule === "travel-limit");
      if (outside) {
        over++;
        expect(told, `program ${n}`).toBe(true);
      } else if (!near) expect(told, `program ${n}`).toBe(false);
    }
    expect(over).toBeGreaterThan(5);
  });
});

describe("the swing of the work against sampling", () => {
  test("a tool beside a turning tombstone", () => {
    const random = generator(31);
    const wrong: string[] = [];
    let inside = 0;
    let clear = 0;
    for (let n = 0; n < 120; n++) {
      const sense = random() < 0.5 ? 1 : -1;
      const centre = { X: -500, Z: -650 };
      const depth = 60 + random() * 60;
      const zero = { X: -560 - random() * 80, Y: -550, Z: -650 + depth };
      const columns = 3 + Math.floor(random() * 3);
      const clearance = 5 + random() * 20;
      const sidecar = JSON.stringify({
        format: 1,
        units: "mm",
        machine: { dialect: "iso", home: { X: 0, Y: 0, Z: 0 }, rotary: { axis: "B", centre, sense } },
        clearance: { index: clearance },
        bases: { front: { pitch: 50, columns, rows: 5, zero, face: 0, thickness: 40, border: 20 } },
        fixedJaws: { fj: { face: 15 } },
        parts: {
          block: { ops: { op10: { stock: { u: 30, v: 30, w: 30 }, zero: { u: "fixedJaw", v: "centre", w: "top" }, reversible: true } } },
        },
        stations: [
          { id: "F1", base: "front", at: [1, 1], clamp: "+Y", fixedJaw: "fj", seat: 20, part: "block", op: "op10", offset: "G54" },
        ],
        tools: { 1: { name: "mill", DC: 10, APMX: 20, LF: 100, shank: { D: 10, L: 40 }, holder: [{ D: 40, L: 60 }], H: 1 } },
      });
      const x = (random() - 0.5) * 300;
      const z = 2 + random() * 70;
      const to = Math.round((random() - 0.5) * 400);
      const program = `G21 G90\nG28 G91 Z0\nG90 B0\nT1 M6\nG0 G54 X${x.toFixed(2)} Y20\nG43 H1 Z${z.toFixed(2)}\nB${to}\nM30`;
      const a = analyseNow(
        memoryHost(
          new Map([
            ["/g/part.nc", program],
            ["/g/part.fixture.json", sidecar],
          ]),
        ),
        { program: "/g/part.nc", fixture: "/g/part.fixture.json" },
      );
      const move = a.run.moves.filter((m) => m.kind === "index").at(-1);
      if (move === undefined || a.fixture === undefined || Number.isNaN(move.from[2]) || move.rotaryFrom === move.rotaryTo) continue;
      // In the plane across the axis everything is a rectangle; the tool is rectangles standing upright. Along the axis all of it
      // overlaps (the base is longer than any tool is wide), but for the stock, whose extent there is told apart.
      const rectangles = [
        { x: [zero.X - 20, zero.X + (columns - 1) * 50 + 20], z: [zero.Z - 40, zero.Z], y: [zero.Y - 20, zero.Y + 4 * 50 + 20] },
        { x: [zero.X + 50 - 15, zero.X + 50 + 15], z: [zero.Z, zero.Z + 20], y: [zero.Y + 50 + 15, zero.Y + 50 + 45] },
        { x: [zero.X + 50 - 15, zero.X + 50 + 15], z: [zero.Z + 20, zero.Z + 50], y: [zero.Y + 50 + 15, zero.Y + 50 + 45] },
      ];
      const tool = [
        { r: 5, from: 0, to: 40 },
        { r: 20, from: 40, to: 100 },
      ];
      let least = Number.POSITIVE_INFINITY;
      const steps = Math.max(1, Math.ceil(Math.abs(move.rotaryTo - move.rotaryFrom) / 0.25));
      for (let k = 0; k <= steps; k++) {
        const reading = move.rotaryFrom + (k / steps) * (move.rotaryTo - move.rotaryFrom);
        // Right-handed about +Y by -sense·θ (contract ruling 3): x' = x cos + z sin, z' = -x sin + z cos.
        const t = (-sense * reading * Math.PI) / 180;
        for (const rect of rectangles) {
          const corner = [0, 1, 2, 3].map((c): [number, number] => {
            const px = (rect.x[c & 1] as number) - centre.X;
            const pz = (rect.z[c >> 1] as number) - centre.Z;
            return [centre.X + px * Math.cos(t) + pz * Math.sin(t), centre.Z - px * Math.sin(t) + pz * Math.cos(t)];
          });
          for (const part of tool) {
            // Across the axis a cylinder is as wide as where the solid cuts it; the axis lies inside the solid's extent along Y here.
            const inner = move.from[1] >= (rect.y[0] as number) && move.from[1] <= (rect.y[1] as number);
            if (!inner) continue;
            const upright: [number, number][] = [
              [move.from[0] - part.r, move.from[2] + part.from],
              [move.from[0] + part.r, move.from[2] + part.from],
              [move.from[0] + part.r, move.from[2] + part.to],
              [move.from[0] - part.r, move.from[2] + part.to],
            ];
            least = Math.min(least, polygons([corner[0], corner[1], corner[3], corner[2]] as [number, number][], upright));
          }
        }
      }
      const verdict = swingVerdict(a.fixture, move);
      if (Math.abs(least - clearance) < 0.6) continue;
      if (least < clearance) {
        inside++;
        if (verdict.kind !== "inside") wrong.push(`${n}: ${least.toFixed(2)} < ${clearance.toFixed(2)}, said ${verdict.kind}`);
      } else {
        clear++;
        if (verdict.kind !== "clear") wrong.push(`${n}: ${least.toFixed(2)} > ${clearance.toFixed(2)}, said ${verdict.kind}`);
      }
    }
    expect(inside).toBeGreaterThan(8);
    expect(clear).toBeGreaterThan(8);
    expect(wrong).toEqual([]);
  });
});
