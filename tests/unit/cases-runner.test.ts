/** The case runner itself: it must tell misses from extras, or no case proves anything. */
import { describe, expect, test } from "vitest";
import { parseCase, runCase, takeMarkers } from "../support/cases.js";

const FAULTY = (marker: string) => `A case.
-- use: two-stations --
-- options --
ignore: syntax
-- part.nc --
G21 G17 G40 G49 G80 G90
G0 G90 G57 X0 Y0
${marker}
M30
`;

describe("markers", () => {
  test("are taken out with the columns they point at", () => {
    const { text, markers } = takeMarkers({ name: "part.nc", text: "G0 X1\n;  ^^ error some-rule: words\nG0 X2\n;^^ warning other-rule" });
    expect(text).toBe("G0 X1\nG0 X2");
    expect(markers.map((m) => [m.line, m.start, m.end, m.level, m.rule, m.message])).toEqual([
      [0, 3, 5, "error", "some-rule", "words"],
      [1, 0, 3, "warning", "other-rule", ""],
    ]);
  });
  test("comments of the program are no markers", () => {
    expect(takeMarkers({ name: "part.nc", text: "G0 X1 ; 2 ^ 3\n; a ^ b" }).markers).toEqual([]);
  });
  test("sections", () => {
    const kase = parseCase("Title\nmore\n-- a.nc --\nX\n-- b.nc --\n");
    expect(kase.title).toBe("Title\nmore");
    expect(kase.sections.map((s) => [s.name, s.text])).toEqual([
      ["a.nc", "X"],
      ["b.nc", ""],
    ]);
  });
});

describe("comparison", () => {
  test("a marker that fits", () => {
    const outcome = runCase(FAULTY(";      ^^^ error offset-unmapped: no station uses G57"), "offset-unmapped");
    expect([outcome.misses, outcome.extras]).toEqual([[], []]);
  });
  test.each([
    ["no marker", "(none)", 0, 1],
    ["other columns", ";     ^^^ error offset-unmapped: no station", 1, 1],
    ["other level", ";      ^^^ warning offset-unmapped: no station", 1, 1],
    ["other words", ";      ^^^ error offset-unmapped: everything is fine", 1, 1],
    ["other rule", ";      ^^^ error offset-value: no station", 1, 1],
  ])("%s", (_, marker, misses, extras) => {
    const outcome = runCase(FAULTY(marker), "offset-unmapped");
    expect([outcome.misses.length, outcome.extras.length]).toEqual([misses, extras]);
  });
  test("what it writes is what it accepts", () => {
    const { updated } = runCase(FAULTY("(none)"));
    const again = runCase(updated);
    expect([again.misses, again.extras, again.updated]).toEqual([[], [], updated]);
  });
});
