import { loadFixture } from "../../server/src/engine/fixture/load.js";

/** A large program for twelve stations, for measuring: paths written out at every station, as a CAM system posts them. */

export const SIDECAR = `{ "format": 1, "units": "mm",
  "machine": { "rapid": { "X": 30000, "Y": 30000, "Z": 24000 }, "rapidPath": "either", "home": { "X": 0, "Y": 0, "Z": 0 }, "travel": { "X": [-1100, 0], "Y": [-600, 0], "Z": [-500, 0] } },
  "bases": { "plate": { "pitch": 50, "columns": 18, "rows": 9, "zero": { "X": -930, "Y": -470, "Z": -450 }, "thickness": 40, "border": 25, "skew": 0.05 } },
  "fixedJaws": { "f": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "movingJaws": { "m": { "gap": 20, "increment": 3, "stroke": 8, "notches": 40, "length": 55, "width": 60, "height": 42 } },
  "endStops": { "s": { "thickness": 12, "length": 30, "height": 30 } },
  "parts": { "p": { "ops": { "op10": { "stock": { "u": 41, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" } } } } },
  "tools": {
    "1": { "H": 1, "D": 1, "DC": 6, "APMX": 20, "LF": 120, "shank": { "D": 6, "L": 30 }, "holder": [ { "D": 40, "L": 40 }, { "D": 63, "L": 30 } ] },
    "2": { "H": 2, "D": 2, "DC": 5, "APMX": 20, "LF": 115, "shank": { "D": 6, "L": 30 }, "holder": [ { "D": 40, "L": 40 } ] },
    "3": { "H": 3, "D": 3, "DC": 4, "APMX": 16, "LF": 110, "shank": { "D": 6, "L": 30 }, "holder": [ { "D": 40, "L": 40 } ] },
    "4": { "H": 4, "D": 4, "DC": 3, "APMX": 12, "LF": 105, "shank": { "D": 6, "L": 30 }, "holder": [ { "D": 40, "L": 40 } ] } },
  "offsets": { "zFrom": "machine" },
  "stations": [ { "id": "A", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "f", "movingJaw": "m", "notch": 8,
    "endStop": { "element": "s", "side": "low", "at": -30 }, "seat": 25, "part": "p", "op": "op10", "offset": "G54.1 P1",
    "repeat": { "columns": 6, "rows": 2, "step": [3, 4] } } ] }`;

/** Offset of the n-th station from 0. */
export function offsetText(n: number): string {
  return `G54.1 P${n + 1}`;
}

/**
 * About as many blocks as asked for: four tools at each of twelve stations, each with a raster of lines and arcs well inside the stock.
 * The program writes the offsets itself, so that every move has its place in the machine. `between` is a block that is put in now and then.
 */
export function largeProgram(blocks: number, between = ""): string {
  const lines = ["%", "O1000 (TWELVE BRACKETS)", "G21 G17 G40 G49 G80 G90"];
  const fixture = loadFixture({ read: (p) => (p === "/f/a.fixture.json" ? SIDECAR : undefined), list: () => [] }, "/f/a.fixture.json");
  fixture.stations.forEach(({ computed: { X, Y, Z } }, n) => {
    lines.push(`G10 L20 P${n + 1} X${X.toFixed(4)} Y${Y.toFixed(4)} Z${Z.toFixed(4)}`);
  });
  const each = Math.max(8, Math.floor((blocks - 60) / (4 * 12)) - 5);
  for (let tool = 1; tool <= 4; tool++) {
    lines.push("G28 G91 Z0", `T${tool} M6`, "G90 G17 G40 G80", `S${4000 + tool * 500} M3`);
    for (let station = 0; station < 12; station++) {
      lines.push(
        `G0 ${offsetText(station)} X-10. Y10.`,
        station === 0 ? `G43 H${tool} Z50.` : "Z50.",
        "Z2.",
        `G1 Z-${tool}. F${300 + tool}`,
      );
      for (let n = 0; n < each; n++) {
        // Rows of lines in Y with arcs between them, moving on in X by a few hundredths.
        const x = (-10 - (30 * n) / each).toFixed(3);
        const up = n % 4 < 2;
        if (n % 2 === 0) lines.push(`G1 X${x} Y${up ? "35." : "10."}`);
        else lines.push(`${up ? "G3" : "G2"} X${(Number(x) - 0.5).toFixed(3)} Y${up ? "35." : "10."} R0.${3 + (n % 5)}`);
        if (between !== "" && n % 50 === 49) lines.push(between);
      }
      lines.push("G0 Z50.");
    }
  }
  lines.push("G28 G91 Z0", "M30", "%");
  return lines.join("\n");
}
