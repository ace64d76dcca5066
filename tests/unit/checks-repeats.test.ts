import { describe, expect, it } from "vitest";
import { analyseNow } from "../../server/src/engine/program.js";
import { memoryHost } from "../support/cases.js";

// One block of stock 400 × 60 × 30, part zero on its top at the corner: by hand, a rapid to Z-0.2 over X 1 … 399 is 0.2 mm in it.
const sidecar = `{ "format": 1, "units": "mm",
  "machine": { "home": { "X": 0, "Y": 0, "Z": 0 }, "rapid": { "X": 30000, "Y": 30000, "Z": 24000 } },
  "bases": { "plate": { "pitch": 50, "columns": 18, "rows": 9, "zero": { "X": -930, "Y": -470, "Z": -450 } } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "parts": { "rail": { "ops": { "op10": { "stock": { "u": 400, "v": 60, "w": 40 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" }, "reversible": true } } } },
  "stations": [{ "id": "A1", "base": "plate", "at": [2, 4], "clamp": "+X", "fixedJaw": "fj", "seat": 25, "part": "rail", "op": "op10", "offset": "G54" }],
  "tools": { "1": { "DC": 4, "APMX": 20, "LF": 120, "H": 1 } } }`;

/** A program that enters the stock by 0.2 mm at rapid at so many places, 10 mm apart, each cut once. */
function program(entries: number): string {
  const cuts = Array.from({ length: entries }, (_, k) => `G0 X${10 + 10 * k} Y30\nZ-0.2\nG1 Z-1 F200\nY31\nY30\nG0 Z5`);
  return ["G21 G17 G40 G49 G80 G90", "T1 M6", "G0 G54 X10 Y30 S4000 M3", "G43 H1 Z50", "Z5", ...cuts, "Z50", "G28 G91 Z0", "M30", ""].join(
    "\n",
  );
}

function look(entries: number) {
  const files = new Map([
    ["/shop/part.nc", program(entries)],
    ["/shop/part.fixture.json", sidecar],
  ]);
  return analyseNow(memoryHost(files), { program: "/shop/part.nc" });
}

describe("findings of the same words", () => {
  it("stand each for itself up to twenty: stock-rapid", () => {
    const findings = look(20).findings;
    expect(findings.map((f) => [f.rule, f.place.range.line])).toEqual(Array.from({ length: 20 }, (_, k) => ["stock-rapid", 6 + 6 * k]));
    expect(findings.flatMap((f) => f.related.map((r) => r.message.key))).toEqual(Array.from({ length: 20 }, () => "related.solid"));
  });

  it("become one with the other places related where there are more: stock-rapid", () => {
    const findings = look(21).findings;
    expect(findings.map((f) => [f.rule, f.place.range.line])).toEqual([["stock-rapid", 6]]);
    expect(findings[0]?.related.map((r) => [r.message.key, r.place.range.line])).toEqual(
      // The stock in the sidecar, once.
      [["related.solid", 5], ...Array.from({ length: 20 }, (_, k) => ["related.repeat", 12 + 6 * k])],
    );
  });
});
