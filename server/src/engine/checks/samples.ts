/**
 * Small invented fixtures that the examples of the rules stand on. Each is printed once on the index page of the rule
 * reference; an example names the one it uses.
 */
export interface Sample {
  readonly title: string;
  readonly text: string;
}

const ELEMENTS = `  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "movingJaws": { "mj": { "gap": 20, "increment": 3, "stroke": 8, "notches": 40, "loading": 1, "reserve": 1, "length": 55, "width": 60, "height": 42 } },
  "endStops": { "es": { "thickness": 12, "length": 30, "height": 30 } },`;

const TOOLS = `  "tools": {
    "1": { "name": "end mill 10", "kind": "end mill", "DC": 10, "APMX": 30, "LF": 120, "shank": { "D": 10, "L": 50 }, "holder": [{ "D": 40, "L": 60 }], "H": 1, "D": 1 },
    "2": { "name": "drill 6.8", "kind": "drill", "DC": 6.8, "APMX": 50, "LF": 140, "SIG": 118, "shank": { "D": 6.8, "L": 70 }, "holder": [{ "D": 40, "L": 60 }], "H": 2, "D": 2 },
    "3": { "name": "spot drill 8", "kind": "spot drill", "DC": 8, "APMX": 20, "LF": 110, "SIG": 90, "shank": { "D": 8, "L": 40 }, "holder": [{ "D": 40, "L": 60 }], "H": 3, "D": 3 }
  }`;

const VERTICAL = `  "machine": {
    "name": "vertical 1",
    "dialect": "iso",
    "travel": { "X": [-1020, 0], "Y": [-510, 0], "Z": [-560, 0] },
    "home": { "X": 0, "Y": 0, "Z": 0 },
    "rapid": { "X": 30000, "Y": 30000, "Z": 24000 },
    "rapidPath": "either",
    "toolChange": { "seconds": 4.5 }
  },
  "bases": {
    "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 }, "thickness": 40, "border": 25 }
  },`;

const STATION = `"clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8,
      "endStop": { "element": "es", "side": "high", "at": 30 }, "seat": 25, "part": "bracket"`;

const OP10 = `"op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "stockTolerance": 0.3, "zero": { "u": "fixedJaw", "v": "high", "w": "top" }, "finishedTop": 27, "reversible": true }`;
const OP20 = `"op20": { "stock": { "u": 41, "v": 60, "w": 28 }, "stockTolerance": 0.05, "zero": { "u": "fixedJaw", "v": "high", "w": "top" }, "finishedTop": 26, "reversible": true }`;

function row(title: string, count: number): Sample {
  return {
    title,
    text: `{
  "format": 1,
  "units": "mm",
${VERTICAL}
${ELEMENTS}
  "parts": { "bracket": { "name": "hinge bracket", "ops": { ${OP10} } } },
  "stations": [
    { "id": "A", "base": "plate", "at": [1, 1], ${STATION}, "op": "op10", "offset": "G54",
      "repeat": { "columns": ${count}, "rows": 1, "step": [3, 4] } }
  ],
${TOOLS}
}
`,
  };
}

/**
 * In all samples of one base: station A1 computes to X-680 Y-385 Z-345, each further one of a row 150 mm on in X. The
 * stock reaches from the part zero 60 in X, 41 in Y and 30 down; the fixed jaw stands at Y-40…0 up to Z-10, the moving
 * jaw at Y41…96 up to Z-13, the stop at X-12…0 up to Z-25, and under the stock there are parallels down to Z-55.
 */
export const samples: Readonly<Record<string, Sample>> = {
  "two-stations": row("Two stations, A1 (G54) and A2 (G55), on a vertical machine.", 2),
  "three-stations": row("Three stations, A1 to A3 (G54 to G56), in one row.", 3),
  "four-stations": row("Four stations, A1 to A4 (G54 to G57), in one row.", 4),
  "two-ops": {
    title: "Two stations A1, A2 for the first operation (G54, G55) and two, B1 and B2, for the second (G56, G57), in the row behind.",
    text: `{
  "format": 1,
  "units": "mm",
${VERTICAL}
${ELEMENTS}
  "parts": { "bracket": { "name": "hinge bracket", "ops": { ${OP10}, ${OP20} } } },
  "stations": [
    { "id": "A", "base": "plate", "at": [1, 1], ${STATION}, "op": "op10", "offset": "G54",
      "repeat": { "columns": 2, "rows": 1, "step": [3, 4] } },
    { "id": "B", "base": "plate", "at": [1, 5], ${STATION}, "op": "op20", "offset": "G56",
      "repeat": { "columns": 2, "rows": 1, "step": [3, 4] } }
  ],
${TOOLS}
}
`,
  },
  tombstone: {
    title: "A tombstone on a B axis: station F1 (G54) on the face at B0, R1 (G55) on the face at B180.",
    text: `{
  "format": 1,
  "units": "mm",
  "machine": {
    "name": "horizontal 1",
    "dialect": "iso",
    "travel": { "X": [-1000, 0], "Y": [-700, 0], "Z": [-800, 0] },
    "home": { "X": 0, "Y": 0, "Z": 0 },
    "rapid": { "X": 40000, "Y": 40000, "Z": 40000, "B": 7200 },
    "rapidPath": "either",
    "toolChange": { "seconds": 3 },
    "rotary": { "axis": "B", "centre": { "X": -500, "Z": -650 }, "sense": 1, "indexSeconds": 2.5 }
  },
  "bases": {
    "front": { "pitch": 50, "columns": 5, "rows": 7, "zero": { "X": -600, "Y": -550, "Z": -550 }, "face": 0, "thickness": 100, "border": 25 },
    "rear": { "pitch": 50, "columns": 5, "rows": 7, "zero": { "X": -600, "Y": -550, "Z": -550 }, "face": 180, "thickness": 100, "border": 25 }
  },
${ELEMENTS}
  "parts": { "bracket": { "name": "hinge bracket", "ops": { ${OP10} } } },
  "stations": [
    { "id": "F1", "base": "front", "at": [2, 2], ${STATION}, "op": "op10", "offset": "G54" },
    { "id": "R1", "base": "rear", "at": [2, 2], ${STATION}, "op": "op10", "offset": "G55" }
  ],
${TOOLS}
}
`,
  },
};
