import { expect, it } from "vitest";
import { computeClearances } from "../../server/src/engine/clearances.js";
import { loadFixture } from "../../server/src/engine/fixture/load.js";
import { toOuter } from "../../server/src/engine/geometry/frame.js";
import type { Vec3 } from "../../server/src/engine/geometry/vector.js";
import type { Modal, Move } from "../../server/src/engine/machine/move.js";
import type { Run } from "../../server/src/engine/machine/run.js";
import { random } from "../support/solids.js";

const SIDECAR = `{ "format": 1, "units": "mm",
  "machine": { "rapid": { "X": 30000, "Y": 30000, "Z": 24000 }, "rapidPath": "either" },
  "bases": { "plate": { "pitch": 50, "columns": 18, "rows": 9, "zero": { "X": -930, "Y": -470, "Z": -450 }, "thickness": 40, "border": 25, "skew": 0.05 } },
  "fixedJaws": { "f": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "movingJaws": { "m": { "gap": 20, "increment": 3, "stroke": 8, "notches": 40, "length": 55, "width": 60, "height": 42 } },
  "endStops": { "s": { "thickness": 12, "length": 30, "height": 30 } },
  "parts": { "p": { "ops": { "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" } } } } },
  "tools": { "1": { "DC": 16, "APMX": 32, "LF": 120, "shank": { "D": 16, "L": 50 }, "holder": [ { "D": 40, "L": 40 }, { "D": 63, "L": 30 } ] } },
  "stations": [ { "id": "A", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "f", "movingJaw": "m", "notch": 8,
    "endStop": { "element": "s", "side": "low", "at": -30 }, "seat": 25, "part": "p", "op": "op10", "offset": "G54.1 P1",
    "repeat": { "columns": 6, "rows": 2, "step": [3, 4] } } ] }`;

it("50,000 moves at twelve stations: the time it takes, and how long it keeps the caller waiting", () => {
  const fixture = loadFixture({ read: (p) => (p === "/f/a.fixture.json" ? SIDECAR : undefined), list: () => [] }, "/f/a.fixture.json");
  expect(fixture.stations).toHaveLength(12);
  const modal = { tool: 1, motion: "G1", plane: 17, rotary: 0 } as Modal;
  const r = random(9);
  const u = (a: number, b: number): number => a + (b - a) * r();
  const moves: Move[] = [];
  let at: Vec3 = [0, 0, 0];
  const push = (station: number, kind: Move["kind"], to: Vec3, centre?: Vec3): void => {
    const unknown: Vec3 = [Number.NaN, Number.NaN, Number.NaN];
    const rest = { gaugeFrom: Number.NaN, gaugeTo: Number.NaN, rotaryFrom: 0, rotaryTo: 0, feed: 100, seconds: 1 };
    moves.push({
      step: 0,
      kind,
      role: "plain",
      from: at,
      to,
      partFrom: unknown,
      partTo: unknown,
      centre,
      sweep: 180,
      modal,
      station,
      visit: station,
      ...rest,
    });
    at = to;
  };
  for (const station of fixture.stations) {
    const place = (x: number, y: number, z: number): Vec3 => toOuter(station.frame, [x, y, z]);
    for (let i = 0; i < 4167; i++) {
      // Contouring near the jaws' tops, half circles, hole to hole, in and out.
      if (i % 6 === 0) push(station.index, "rapid", place(u(15, 56), u(-30, 30), 100));
      else if (i % 6 === 1) push(station.index, "feed", [at[0], at[1], at[2] - 53.5]);
      else if (i % 6 === 4) push(station.index, "arc", [at[0], at[1] + 10, at[2]], [at[0], at[1] + 5, at[2]]);
      else push(station.index, "feed", place(u(-20, 80), u(-30, 30), 46.5));
    }
  }
  const run: Run = { sources: [], steps: [], moves, visits: [], writes: [], notes: [], seconds: 0, assumptions: [], complete: true };
  const times: number[] = [];
  let kept = 0;
  const begin = performance.now();
  let last = begin;
  for (const work = computeClearances(run, fixture); ; ) {
    const next = work.next();
    const now = performance.now();
    times.push(now - last);
    last = now;
    if (next.done) {
      kept = next.value.contacts.length;
      break;
    }
  }
  const total = performance.now() - begin;
  const median = [...times].sort((a, b) => a - b)[times.length >> 1] as number;
  console.log(
    `${moves.length} moves: ${total.toFixed(0)} ms, ${kept} contacts, ${times.length} slices, median ${median.toFixed(2)} ms, longest ${Math.max(...times).toFixed(1)} ms`,
  );
  expect(kept).toBeGreaterThan(10_000);
  // About 0.2 s on a quiet machine; the limits leave room for a busy one.
  expect(total).toBeLessThan(5000);
  expect(median).toBeLessThan(50);
});
