/**
 * The geometric rules against brute force, few programs: `tests/support/sampling.ts` works distances out by elementary geometry and
 * encloses the least one on each move by bisection. Everything is compared outside the enclosure, and the distances that are told too.
 * `rules-geometry.test.ts` looks at many more programs. Asked for by mutation testing.
 */
import { describe, expect, test } from "vitest";
import type { Incident } from "../../server/src/engine/checks/lib/incidents.js";
import { swingVerdict } from "../../server/src/engine/checks/lib/index-sweep.js";
import type { Fixture } from "../../server/src/engine/fixture/model.js";
import type { Vec3 } from "../../server/src/engine/geometry/vector.js";
import type { Move } from "../../server/src/engine/machine/move.js";
import { analyseNow } from "../../server/src/engine/program.js";
import { move as madeMove, modal } from "../support/analysis.js";
import { memoryHost } from "../support/cases.js";
import {
  analyse,
  distance,
  generator,
  incidents,
  leastOf,
  polygons,
  stretches,
  type Upright,
  type World,
  wander,
  world,
} from "../support/sampling.js";

const PARTS = ["cutting", "shank", "holder"] as const;
/** Wide clearances, so that random moves pass within them often, mm. */
const CLEARANCE = { rapid: 12, cut: 8 };
/** Half the width within which two numbers are not told apart, mm. */
const BAND = 0.02;

const known = (m: Move): boolean => m.kind !== "dwell" && [...m.from, ...m.to].every((v) => !Number.isNaN(v));

/** Least signed distance of one part of the tool to a solid on a move; exact within 0.01 below the clearances. */
function least(m: Move, w: World, solid: Upright, part: (typeof PARTS)[number]): number {
  const found = stretches(m, w).flatMap((s) =>
    w.tool
      .filter((c) => c.part === part)
      .map((c) => {
        const { low, high } = leastOf((t) => distance(c, s.at(t), solid), s.length, 0.01, CLEARANCE.rapid + 1);
        return low >= CLEARANCE.rapid + 1 ? low : high;
      }),
  );
  return Math.min(...found);
}

describe("clamp-rapid, clamp-cut, clamp-near, base-drilled, neighbour-cut, holder-reach against sampling", () => {
  test("which rule speaks of each solid on each move, and of what distance", () => {
    const random = generator(20261129);
    const wrong: string[] = [];
    const count = { in: 0, near: 0, clear: 0 };
    for (let n = 0; n < 4; n++) {
      const w = world(random, CLEARANCE);
      const a = analyse(w, wander(random, 12));
      const found = incidents(a);
      a.run.moves.forEach((m, index) => {
        if (!known(m)) return;
        const mine = found.filter((i) => i.move === index);
        const vertical = m.from[0] === m.to[0] && m.from[1] === m.to[1];
        for (const solid of w.solids) {
          if (solid.name === "stock") continue;
          const here = mine.filter((i) => i.solid.kind === solid.name && i.solid.station === solid.station);
          const by = PARTS.map((part) => least(m, w, solid, part));
          const all = Math.min(...by);
          const say = (text: string): number =>
            wrong.push(`${n}/${index} ${m.kind} ${solid.name} of ${solid.station}: ${by.map((v) => v.toFixed(3))} ${text} ${told(here)}`);
          const rapid = m.kind === "rapid";
          const thresholds = rapid ? [0, CLEARANCE.cut, CLEARANCE.rapid] : [0, CLEARANCE.cut];
          if (by.some((v) => thresholds.some((t) => Math.abs(v - t) < BAND))) continue;
          if (rapid) {
            const start = Math.min(...w.tool.map((c) => distance(c, m.from, solid)));
            if (all > CLEARANCE.rapid) {
              count.clear++;
              if (here.length > 0) say("is clear, but");
            } else if (all < 0) {
              count.in++;
              if (here.length !== 1 || here[0]?.enters !== true) say("goes in, but");
            } else if (start > all + BAND) {
              count.near++;
              if (here.length !== 1 || here[0]?.enters !== false || Math.abs((here[0] as Incident).distance - all) > BAND)
                say("is near, but");
            }
            continue;
          }
          const [cutter, shank, holder] = by as [number, number, number];
          const upper = Math.min(shank, holder);
          if (cutter < 0) {
            count.in++;
            const drilled =
              vertical && m.to[2] < m.from[2] && (solid.name === "base" || (solid.name === "parallels" && solid.station === 0));
            const rule = drilled ? "base-drilled" : solid.station === 1 ? "neighbour-cut" : "clamp-cut";
            if (!here.some((i) => i.rule === rule && i.part === "cutting" && i.enters)) say(`wants ${rule}, but`);
            if (drilled && Math.abs((here[0]?.depth ?? 0) - (solid.high - Math.min(m.from[2], m.to[2]))) > 0.01)
              say("is as deep as its tip, but");
            if (here.some((i) => i.rule === "clamp-near")) say("is in and near:");
          } else if (upper < 0) {
            count.in++;
            const elsewhere = mine.some((i) => ["clamp-cut", "base-drilled", "neighbour-cut"].includes(i.rule));
            if (elsewhere ? here.length > 0 : here.length !== 1 || here[0]?.rule !== "holder-reach")
              say("goes in with shank or holder, but");
          } else if (all < CLEARANCE.cut) {
            count.near++;
            const neighbour =
              solid.station === 1 && found.some((i) => i.rule === "neighbour-cut" && a.run.moves[i.move]?.visit === m.visit);
            // A tool with too little stick-out on its way to the same cut is that fault.
            if (vertical && found.some((i) => i.rule === "holder-reach")) continue;
            const [one] = here;
            if (!neighbour && (here.length !== 1 || one?.rule !== "clamp-near" || Math.abs(one.distance - all) > BAND)) say("is near, but");
          } else {
            count.clear++;
            if (here.length > 0) say("is clear, but");
          }
        }
      });
    }
    expect(wrong).toEqual([]);
    expect(count.in).toBeGreaterThan(15);
    expect(count.near).toBeGreaterThan(10);
    expect(count.clear).toBeGreaterThan(200);
  });
});

function told(list: readonly Incident[]): string {
  return list.map((i) => `${i.rule} ${i.part} ${i.distance.toFixed(3)}/${i.depth.toFixed(3)}`).join(" and ") || "nothing";
}

describe("travel-limit against sampling", () => {
  test("arcs, lines and rapids", () => {
    const random = generator(815);
    const wrong: string[] = [];
    const count = { over: 0, inside: 0 };
    for (let n = 0; n < 12; n++) {
      // The tool point stays within about 100 mm of the station's zero in X and Y, and gauge points between Z-330 and Z-180.
      const limits = [
        [-720 - random() * 60, -450 + random() * 60],
        [-460 - random() * 60, -190 + random() * 60],
        [-330 - random() * 20, -190 + random() * 20],
      ] as const;
      const made = world(random);
      const sidecar = JSON.parse(made.sidecar) as { machine: { travel: object } };
      sidecar.machine.travel = { X: limits[0], Y: limits[1], Z: limits[2] };
      const w = { ...made, sidecar: JSON.stringify(sidecar) };
      const a = analyse(w, wander(random, 5));
      let worst = Number.NEGATIVE_INFINITY;
      for (const m of a.run.moves) {
        for (const s of stretches(m, w)) {
          // Steps of a millimetre are 0.0004 mm off the highest point of an arc of 300 mm.
          const steps = Math.max(1, Math.ceil(s.length));
          for (let k = 0; k <= steps; k++) {
            const p = s.at(k / steps);
            // The gauge point stands LF = 100 above the tool point.
            [p[0], p[1], p[2] + 100].forEach((v, axis) => {
              const [low, high] = limits[axis as 0 | 1 | 2];
              if (!Number.isNaN(v)) worst = Math.max(worst, low - v, v - high);
            });
          }
        }
      }
      if (Math.abs(worst) < BAND) continue;
      const said = a.findings.filter((f) => f.rule === "travel-limit");
      if (worst > 0) count.over++;
      else count.inside++;
      if (said.length > 0 !== worst > 0) wrong.push(`program ${n}: ${worst.toFixed(3)} beyond, said ${said.length}`);
    }
    expect(wrong).toEqual([]);
    expect(count.over).toBeGreaterThan(1);
    expect(count.inside).toBeGreaterThan(1);
  });
});

describe("retract-before-index, index-combined: the swing of the work against sampling", () => {
  /** A base with one station on a rotary axis, and what of it turns, as boxes of the machine frame while it is presented. */
  interface Rotor {
    readonly fixture: Fixture;
    readonly axis: "A" | "B" | "C";
    readonly sense: 1 | -1;
    readonly boxes: readonly { readonly name: string; readonly from: Vec3; readonly to: Vec3 }[];
    readonly centre: Vec3;
    readonly clearance: number;
  }

  function rotor(random: () => number, axis: "A" | "B" | "C", thickness: number | undefined): Rotor {
    const sense = random() < 0.5 ? 1 : -1;
    const depth = 60 + random() * 60;
    const centre: Vec3 = [-500, -400, -650];
    // The base lies above the axis; for C the axis passes through its middle.
    const zero: Vec3 = [centre[0] - 60 - random() * 80, centre[1] - 100 - random() * 20, centre[2] + depth];
    const clearance = 5 + random() * 20;
    const centres = { A: { Y: centre[1], Z: centre[2] }, B: { X: centre[0], Z: centre[2] }, C: { X: centre[0], Y: centre[1] } } as const;
    const sidecar = {
      format: 1,
      units: "mm",
      machine: { dialect: "iso", rotary: { axis, centre: centres[axis], sense } },
      clearance: { index: clearance },
      bases: {
        front: {
          pitch: 50,
          columns: 4,
          rows: 5,
          zero: { X: zero[0], Y: zero[1], Z: zero[2] },
          face: 0,
          border: 20,
          ...(thickness === undefined ? {} : { thickness }),
        },
      },
      fixedJaws: { fj: { face: 15 } },
      parts: {
        block: { ops: { op10: { stock: { u: 30, v: 30, w: 30 }, zero: { u: "fixedJaw", v: "centre", w: "top" }, reversible: true } } },
      },
      stations: [{ id: "F1", base: "front", at: [1, 1], clamp: "+Y", fixedJaw: "fj", seat: 20, part: "block", op: "op10", offset: "G54" }],
      tools: { 1: { name: "mill", DC: 10, APMX: 20, LF: 100, shank: { D: 10, L: 40 }, holder: [{ D: 40, L: 60 }], H: 1 } },
    };
    const { fixture } = analyseNow(
      memoryHost(
        new Map([
          ["/g/part.nc", "M30"],
          ["/g/part.fixture.json", JSON.stringify(sidecar)],
        ]),
      ),
      { program: "/g/part.nc", fixture: "/g/part.fixture.json" },
    );
    if (fixture === undefined) throw new Error("no fixture");
    // A body without a thickness counts as deep as the rotary axis; about C as deep as the tool can ever be.
    const bottom = thickness === undefined ? (axis === "C" ? zero[2] - 1000 : centre[2]) : zero[2] - thickness;
    const at = (x0: number, x1: number, y0: number, y1: number, low: number, high: number, name: string) => ({
      name,
      from: [zero[0] + x0, zero[1] + y0, low] as Vec3,
      to: [zero[0] + x1, zero[1] + y1, high] as Vec3,
    });
    const boxes = [
      at(-20, 170, -20, 220, bottom, zero[2], "front"),
      at(35, 65, 65, 95, zero[2], zero[2] + 20, "parallels"),
      at(35, 65, 65, 95, zero[2] + 20, zero[2] + 50, "stock"),
    ];
    return { fixture, axis, sense, boxes, centre, clearance };
  }

  const TOOL = [
    { part: "cutting" as const, radius: 5, from: 0, to: 40 },
    { part: "holder" as const, radius: 20, from: 40, to: 100 },
  ];

  /** Least distance of the tool to what turns; along A and B only for a tool that stands beside the solids in no way. */
  function truth(r: Rotor, m: Move): number {
    const turn = m.rotaryTo - m.rotaryFrom;
    const at = (t: number): Vec3 =>
      [0, 1, 2].map((k) => (m.from[k] as number) + t * ((m.to[k] as number) - (m.from[k] as number))) as unknown as Vec3;
    const linear = Math.hypot(m.to[0] - m.from[0], m.to[1] - m.from[1], m.to[2] - m.from[2]);
    let best = Number.POSITIVE_INFINITY;
    for (const box of r.boxes) {
      // Coordinates across the axis, in right-handed order: A turns Y to Z, B turns Z to X, C turns X to Y.
      const [i, j] = r.axis === "A" ? [1, 2] : r.axis === "B" ? [2, 0] : [0, 1];
      const corner = [0, 1, 2, 3].map((k): [number, number] => [
        ((k & 1) === 0 ? box.from : box.to)[i as 0] - r.centre[i as 0],
        (k >> 1 === 0 ? box.from : box.to)[j as 0] - r.centre[j as 0],
      ]);
      const reach = Math.max(...corner.map((c) => Math.hypot(...c)));
      const speed = linear + (reach * Math.abs(turn) * Math.PI) / 180;
      for (const c of TOOL) {
        const f = (t: number): number => {
          const p = at(t);
          // The work turns by -sense times the reading (contract ruling 3).
          const angle = -r.sense * (m.rotaryFrom + t * turn);
          if (r.axis === "C") {
            const half: [number, number] = [(box.to[0] - box.from[0]) / 2, (box.to[1] - box.from[1]) / 2];
            const x = (box.from[0] + box.to[0]) / 2 - r.centre[0];
            const y = (box.from[1] + box.to[1]) / 2 - r.centre[1];
            const [cos, sin] = [Math.cos((angle * Math.PI) / 180), Math.sin((angle * Math.PI) / 180)];
            const centre: [number, number] = [r.centre[0] + x * cos - y * sin, r.centre[1] + x * sin + y * cos];
            return Math.max(0, distance(c, p, { name: "", station: -1, centre, half, angle, low: box.from[2], high: box.to[2] }));
          }
          const a = (angle * Math.PI) / 180;
          // In the plane across the axis the solid is a rectangle that turns, and the tool one that stands upright.
          const turned = corner.map(([u, v]): [number, number] => {
            const [x, y] = [r.centre[i as 0] + u * Math.cos(a) - v * Math.sin(a), r.centre[j as 0] + u * Math.sin(a) + v * Math.cos(a)];
            return r.axis === "A" ? [x, y] : [y, x];
          });
          const side = p[r.axis === "A" ? 1 : 0];
          const [low, high] = [p[2] + c.from, p[2] + c.to];
          return polygons([turned[0], turned[1], turned[3], turned[2]] as [number, number][], [
            [side - c.radius, low],
            [side + c.radius, low],
            [side + c.radius, high],
            [side - c.radius, high],
          ]);
        };
        best = Math.min(best, leastOf(f, speed, 0.015, r.clearance + 1).high);
      }
    }
    return best;
  }

  for (const [axis, thickness] of [
    ["A", 40],
    ["A", undefined],
    ["B", 40],
    ["B", undefined],
    ["C", 40],
    ["C", undefined],
  ] as const) {
    test(`about ${axis}, a base ${thickness === undefined ? "of no known thickness" : `${thickness} thick`}`, () => {
      const random = generator(7 + axis.charCodeAt(0) + (thickness ?? 0));
      const wrong: string[] = [];
      const count = { inside: 0, clear: 0 };
      for (let n = 0; n < 2; n++) {
        const r = rotor(random, axis, thickness);
        const stock = r.boxes[2] as Rotor["boxes"][number];
        // Along the axis the tool stands over the middle of the stock, where all three solids are.
        const middle = [0, 1].map((k) => ((stock.from[k] as number) + (stock.to[k] as number)) / 2) as [number, number];
        const place = (): Vec3 => {
          const across = (random() - 0.5) * 500;
          const p: [number, number, number] = [middle[0], middle[1], stock.to[2] - 60 + random() * 160];
          if (axis !== "A") p[0] = r.centre[0] + across;
          if (axis !== "B") p[1] = r.centre[1] + (axis === "A" ? across : (random() - 0.5) * 500);
          return p;
        };
        for (let k = 0; k < 8; k++) {
          const from = place();
          const to = random() < 0.6 ? from : place();
          const rotaryFrom = Math.round((random() - 0.5) * 200);
          const rotaryTo = rotaryFrom + Math.round((random() - 0.5) * 300);
          const m = madeMove({ kind: "index", from, to, rotaryFrom, rotaryTo, modal: modal({ tool: 1 }) });
          const verdict = swingVerdict(r.fixture, m);
          const real = rotaryFrom === rotaryTo ? Number.POSITIVE_INFINITY : truth(r, m);
          if (Math.abs(real - r.clearance) < BAND) continue;
          if (real < r.clearance) count.inside++;
          else count.clear++;
          const right =
            real < r.clearance ? verdict.kind === "inside" && Math.abs(verdict.distance - real) < BAND : verdict.kind === "clear";
          if (!right)
            wrong.push(
              `${n}/${k}: ${real.toFixed(3)} of ${r.clearance.toFixed(3)}, said ${JSON.stringify({ ...verdict, solid: undefined })}`,
            );
        }
      }
      expect(wrong).toEqual([]);
      expect(count.inside).toBeGreaterThan(0);
      expect(count.clear).toBeGreaterThan(0);
    });
  }
});
