/** `jawline trace` as a process: the moves of a small program, worked out by hand, and what happens without a whole run. */
import { Ajv } from "ajv";
import { expect, test } from "vitest";
import { Folder, type Outcome, PROGRAM, SIDECAR } from "../support/command-line.js";
import { traceSchema } from "../support/command-line-schemas.js";

const folder = new Folder("trace");
const isTrace = new Ajv({ allErrors: true, allowUnionTypes: true, strictRequired: false, strictTypes: false }).compile(traceSchema);

type Line = { line: number; kind: string; from: (number | null)[]; to: (number | null)[] } & Record<string, unknown>;

function lines(outcome: Outcome): Line[] {
  return outcome.out
    .split("\n")
    .filter((text) => text !== "")
    .map((text) => {
      const value: Line = JSON.parse(text);
      isTrace(value);
      expect(isTrace.errors ?? [], text).toEqual([]);
      return value;
    });
}

test("every move in the order of execution, tool point, machine frame", () => {
  folder.put("part.nc", PROGRAM);
  folder.put("part.fixture.json", SIDECAR);
  const outcome = folder.jawline(["trace", "part.nc"]);
  expect(outcome).toMatchObject({ status: 0, err: "" });
  const moves = lines(outcome);
  // A1's part zero stands at X-620 Y-385 Z-345 (worked example of the sidecar's format), A2's four pitches of 50 further in X.
  const at = (x: number, y: number, z: number) => [-620 + x, -385 + y, -345 + z];
  const first = { tool: 1, offset: "G54", station: "A1" };
  expect(moves[0]).toMatchObject({ line: 6, kind: "rapid", ...first, from: [null, null, null], to: [-650, -395, null] });
  expect(moves[1]).toMatchObject({ line: 7, kind: "rapid", ...first, from: [-650, -395, null], to: at(-30, -10, 50) });
  expect(moves.slice(2, 6)).toEqual([
    { line: 8, kind: "rapid", ...first, from: at(-30, -10, 50), to: at(-30, -10, 5) },
    { line: 9, kind: "feed", ...first, from: at(-30, -10, 5), to: at(-30, -10, -2), feed: 500 },
    { line: 10, kind: "feed", ...first, from: at(-30, -10, -2), to: at(-30, 50, -2), feed: 800 },
    { line: 11, kind: "rapid", ...first, from: at(-30, 50, -2), to: at(-30, 50, 50) },
  ]);
  expect(moves[6]).toEqual({ line: 12, kind: "rapid", tool: 1, offset: "G55", station: "A2", from: at(-30, 50, 50), to: at(170, -10, 50) });
});

test("inch programs are traced in millimetres, mm/min", () => {
  folder.put("part.nc", "G20 G90 G54 G17 G94\nT1 M6\nG43 H1 Z2.\nG0 X-1. Y0\nG1 X-1.5 F10.\nM30\n");
  folder.put("part.fixture.json", SIDECAR);
  const feed = lines(folder.jawline(["trace", "part.nc"])).find((move) => move.kind === "feed");
  // 1 inch is 25.4 mm (exact since 1959): X-1 → -645.4, X-1.5 → -658.1; 10 inch/min → 254 mm/min.
  expect(feed).toMatchObject({ from: [-645.4, -385, -294.2], to: [-658.1, -385, -294.2], feed: 254 });
});

test("an arc has its plane, centre and sweep, positive counter-clockwise", () => {
  folder.put("part.nc", "G21 G90 G54 G17 G94\nT1 M6\nG43 H1 Z10.\nG0 X0 Y0\nG3 X10. Y10. I0 J10. F100\nG2 X10. Y10. I5. J0\nM30\n");
  folder.put("part.fixture.json", SIDECAR);
  const arcs = lines(folder.jawline(["trace", "part.nc"])).filter((move) => move.kind === "arc");
  expect(arcs).toMatchObject([
    { line: 5, plane: "G17", from: [-620, -385, -335], to: [-610, -375, -335], centre: [-620, -375, -335], sweep: 90 },
    { line: 6, plane: "G17", from: [-610, -375, -335], to: [-610, -375, -335], centre: [-605, -375, -335], sweep: -360 },
  ]);
});

test("without a sidecar machine coordinates are not known, and nothing is guessed", () => {
  folder.put("part.nc", PROGRAM);
  const outcome = folder.jawline(["trace", "part.nc"]);
  const moves = lines(outcome);
  expect(moves.length).toBeGreaterThan(8);
  expect(moves[4]).toMatchObject({
    line: 10,
    kind: "feed",
    offset: "G54",
    station: null,
    from: [null, null, null],
    to: [null, null, null],
    feed: 800,
  });
  expect(outcome.status).toBe(0);
});

test("a called program in another file is named", () => {
  folder.put("part.nc", "O1 (A)\nG21 G90 G54\nT1 M6\nG43 H1 Z50.\nM98 P2\nM30\n");
  folder.put("O0002.nc", "O2 (B)\nG0 X1. Y1.\nM99\n");
  folder.put("part.fixture.json", SIDECAR);
  expect(lines(folder.jawline(["trace", "part.nc"])).find((move) => move.file !== undefined)).toMatchObject({ file: "O0002.nc", line: 2 });
});

test("block skip is off unless it is said to be on", () => {
  folder.put("part.nc", "G21 G90 G54\nT1 M6\nG43 H1 Z50.\n/G0 X1. Y1.\nG0 X2. Y2.\nM30\n");
  const traced = (args: string[]) => lines(folder.jawline(["trace", "part.nc", ...args])).map((move) => move.line);
  expect(traced([])).toContain(4);
  expect(traced(["--skip", "off"])).toContain(4);
  expect(traced(["--skip", "on"])).not.toContain(4);
});

test("a programmed path under compensation of unknown radius says so, a known one gives the centre's path", () => {
  const text = (d: number) => `G21 G90 G54 G17 G94\nT1 M6\nG43 H1 Z10.\nG0 X0 Y0\nG41 D${d} G1 X20. F100\nX40.\nX60.\nG40 X80.\nM30\n`;
  folder.put("part.fixture.json", SIDECAR);
  folder.put("part.nc", text(99));
  const programmed = lines(folder.jawline(["trace", "part.nc"])).filter((move) => move.line === 6);
  expect(programmed).toMatchObject([{ compensation: 41, from: [-600, -385, -335], to: [-580, -385, -335] }]);
  folder.put("part.nc", text(1));
  const centre = lines(folder.jawline(["trace", "part.nc"])).filter((move) => move.line === 6);
  // D1 holds DC/2 = 5 (ruling 2); left of the path along +X is +Y (ISO 6983-1's G41).
  expect(centre[0]).toMatchObject({ to: [-580, -380, -335] });
  expect(centre[0]).not.toHaveProperty("compensation");
});

test("what cannot be read or does not end gives status 2", () => {
  expect(folder.jawline(["trace", "gone.nc"])).toEqual({ status: 2, out: "", err: "jawline: gone.nc: there is no such file\n" });
  folder.put("endless.nc", "G21 G90\nN1 G0 X1.\nX2.\nGOTO 1\nM30\n");
  const endless = folder.jawline(["trace", "endless.nc"]);
  expect(endless.status).toBe(2);
  expect(endless.err).toContain("the run was stopped at its limit");
  expect(lines(endless).length).toBeGreaterThan(1);
  folder.put("part.nc", PROGRAM);
  folder.put("part.fixture.json", "{");
  const broken = folder.jawline(["trace", "part.nc"]);
  expect(broken.status).toBe(2);
  expect(broken.err).toMatch(/part\.fixture\.json:\d+:\d+: .*\[fixture-format\]/);
  expect(lines(broken).length).toBeGreaterThan(8);
});
