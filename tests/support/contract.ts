/** What the tests of the contract's rulings share: one invented sidecar whose station A1 has its part zero at the machine datum. */

/** Any JSON object. */
export type Json = { [key: string]: unknown };

/**
 * A plate on a vertical machine, three stations A1 … A3 with G54 … G56. Base zero X-130 Y-65 Z-55, A1 at [2, 1], clamp +Y,
 * face 15, stop low at -30, seat 25, stock w 30, part zero fixedJaw/low/top: station frame (15, -30, 55) → base
 * (100 + 30, 50 + 15, 55) → machine (0, 0, 0); A2 and A3 stand four and eight pitches of 50 further in X.
 */
export const PLATE: Json = {
  format: 1,
  units: "mm",
  machine: {
    dialect: "iso",
    home: { X: 0, Y: 0, Z: 300 },
    rapid: { X: 30000, Y: 30000, Z: 24000 },
    rapidPath: "straight",
    toolChange: { seconds: 4 },
  },
  bases: { plate: { pitch: 50, columns: 18, rows: 9, zero: { X: -130, Y: -65, Z: -55 }, thickness: 40, border: 25 } },
  fixedJaws: { fj: { face: 15, length: 40, width: 60, height: 35 } },
  movingJaws: { mj: { gap: 20, increment: 3, stroke: 8, notches: 40, loading: 1, reserve: 1, length: 55, width: 60, height: 35 } },
  endStops: { es: { thickness: 12, length: 30, height: 30 } },
  parts: {
    bracket: {
      ops: { op10: { stock: { u: 41, v: 60, w: 30 }, stockTolerance: 0.3, zero: { u: "fixedJaw", v: "low", w: "top" } } },
    },
  },
  stations: [
    {
      id: "A",
      base: "plate",
      at: [2, 1],
      clamp: "+Y",
      fixedJaw: "fj",
      movingJaw: "mj",
      notch: 8,
      endStop: { element: "es", side: "low", at: -30 },
      seat: 25,
      part: "bracket",
      op: "op10",
      offset: "G54",
      repeat: { columns: 3, rows: 1, step: [4, 0] },
    },
  ],
  tools: {
    "1": {
      name: "end mill 10",
      kind: "end mill",
      DC: 10,
      APMX: 22,
      LF: 120,
      shank: { D: 10, L: 60 },
      holder: [{ D: 40, L: 60 }],
      H: 1,
      D: 1,
    },
    "2": {
      name: "drill 8",
      kind: "drill",
      DC: 8,
      APMX: 60,
      LF: 150,
      SIG: 118,
      shank: { D: 8, L: 80 },
      holder: [{ D: 40, L: 60 }],
      H: 2,
      D: 2,
    },
  },
};

/** The plate with some values set; a path is like `stations.0.seat`, and `undefined` takes the key away. */
export function plate(changes: Json = {}): Json {
  const whole: Json = structuredClone(PLATE);
  for (const [path, value] of Object.entries(changes)) {
    const keys = path.split(".");
    const last = keys.pop() ?? "";
    let at: Json = whole;
    for (const key of keys) {
      at[key] ??= {};
      at = at[key] as Json;
    }
    if (value === undefined) delete at[last];
    else at[last] = value;
  }
  return whole;
}

/** The usual first blocks, lines 1 to 4: tool 1 stands 50 mm over A1's part zero, which is the machine datum. */
export const HEAD = "G21 G17 G40 G49 G80 G90 G94\nT1 M6\nG0 G54 X0 Y0\nG43 H1 Z50.\n";
