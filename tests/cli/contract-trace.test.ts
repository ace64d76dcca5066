/**
 * `jawline trace` as a process against the contract: design.md ("Command line"), sidecar.md and the numbered rulings of
 * contract-details.md. Every expected number was worked out by hand from those pages; A1's part zero is the machine datum.
 */
import { describe, expect, test } from "vitest";
import { Folder } from "../support/command-line.js";
import { HEAD, type Json, plate } from "../support/contract.js";

const folder = new Folder("contract-trace");

interface Line extends Json {
  readonly line: number;
  readonly kind: string;
  readonly from: (number | null)[];
  readonly to: (number | null)[];
}

/** The moves of a program, an error message when the run was not whole. */
function trace(program: string, sidecar: Json | undefined = plate(), ...options: string[]): Line[] {
  folder.put("p.nc", program);
  const args = ["trace", "p.nc", ...options];
  if (sidecar !== undefined) {
    folder.put("p.fixture.json", JSON.stringify(sidecar));
    args.push("--fixture", "p.fixture.json");
  }
  const { out } = folder.jawline(args);
  return out.split("\n").flatMap((text) => (text === "" ? [] : [JSON.parse(text) as Line]));
}

/** The moves after the usual head, as line, kind and end. */
function after(program: string, sidecar?: Json, ...options: string[]): [number, string, (number | null)[]][] {
  return trace(`${HEAD}${program}M30\n`, sidecar, ...options)
    .filter(({ line }) => line > 4)
    .map(({ line, kind, to }) => [line, kind, to]);
}

describe("ruling 30: centre is [X, Y, Z], the third from the start, of the tool point like every number", () => {
  test("in G18 and G19 the centre does not stand LF too high", () => {
    // G18: centre at X10, Z50; the third axis is +Y. From Z towards X is right-handed about +Y: start X-10 is at -90°, end
    // Z-10 at -180°, clockwise.
    const [arc] = trace(`${HEAD}G18 G2 X10. Z40. I10. K0 F100\nM30\n`).slice(2);
    expect(arc).toMatchObject({ kind: "arc", plane: "G18", from: [0, 0, 50], to: [10, 0, 40], centre: [10, 0, 50], sweep: -90, feed: 100 });
    // G19: Y towards Z about +X: start Z-10 is at -90°, end Y10 at 0°, counter-clockwise.
    const [other] = trace(`${HEAD}G19 G3 Y10. Z60. J0 K10. F100\nM30\n`).slice(2);
    expect(other).toMatchObject({ kind: "arc", plane: "G19", to: [0, 10, 60], centre: [0, 0, 60], sweep: 90 });
  });
});
