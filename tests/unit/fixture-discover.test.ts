import { describe, expect, it } from "vitest";
import { fixtureAllows } from "../../server/src/engine/fixture/allows.js";
import { discoverFixture, globPattern } from "../../server/src/engine/fixture/discover.js";
import { nearest } from "../../server/src/engine/text/nearest.js";
import { hostOf, textAt } from "../cases/fixtures/samples.js";

const PROGRAM = "/shop/jobs/42/part.nc";
const text = "%\nO0001\nG0 X0\n";
const find = (files: string[], source = text, options = {}) =>
  discoverFixture(hostOf(Object.fromEntries([...files, PROGRAM].map((f) => [f, "{}"]))), PROGRAM, source, options);

describe("how a program finds its sidecar", () => {
  it("an explicit choice goes before everything", () => {
    const all = ["/shop/jobs/42/part.fixture.json", "/shop/jobs/42/other.fixture.json"];
    expect(find(all, "(FIXTURE: other.fixture.json)", { explicit: "/x/y.fixture.json" }).file).toBe("/x/y.fixture.json");
    expect(find(all, text, { fixture: "/x/y.fixture.json" }).file).toBe("/x/y.fixture.json");
  });
  it("the editor's mapping of globs", () => {
    const options = { mappings: { "jobs/**/*.nc": "fixtures/plate.fixture.json" }, workspaceFolders: ["/shop"] };
    expect(find(["/shop/jobs/42/part.fixture.json"], text, options).file).toBe("/shop/fixtures/plate.fixture.json");
    expect(find([], text, { ...options, mappings: { "*.tap": "x.json" } }).file).toBeUndefined();
  });
  it.each([
    "(FIXTURE: ../plates/p.fixture.json)",
    "G21 ( fixture:../plates/p.fixture.json )",
    "; FIXTURE: ../plates/p.fixture.json",
    `${"\r\n".repeat(29)}(FIXTURE: ../plates/p.fixture.json)`,
  ])("a comment in the first 30 lines: %j", (head) => {
    expect(find(["/shop/jobs/plates/p.fixture.json", "/shop/jobs/42/part.fixture.json"], head).file).toBe(
      "/shop/jobs/plates/p.fixture.json",
    );
  });
  it("not in the thirty-first line", () => {
    const late = `${"\n".repeat(30)}(FIXTURE: ../plates/p.fixture.json)`;
    expect(find(["/shop/jobs/plates/p.fixture.json", "/shop/jobs/42/part.fixture.json"], late).file).toBe(
      "/shop/jobs/42/part.fixture.json",
    );
  });
  it("a named sidecar that is not there is told at its name, and nothing else is taken", () => {
    const source = "%\nO1 (FIXTURE: gone.fixture.json)\n";
    const found = find(["/shop/jobs/42/part.fixture.json"], source);
    expect(found.file).toBeUndefined();
    expect(found.ambiguous).toBe(true);
    expect(found.notes.map((n) => [n.rule, n.message.key, n.place.file, textAt(source, n.place.range)])).toEqual([
      ["fixture-format", "discover-missing", PROGRAM, "gone.fixture.json"],
    ]);
  });
  it("the program's own, then the only one of the folder, then of each parent up to the workspace folder", () => {
    expect(find(["/shop/jobs/42/part.fixture.json", "/shop/jobs/42/a.fixture.json"]).file).toBe("/shop/jobs/42/part.fixture.json");
    expect(find(["/shop/jobs/42/a.fixture.json", "/shop/jobs/b.fixture.json"]).file).toBe("/shop/jobs/42/a.fixture.json");
    const parent = ["/shop/b.fixture.json"];
    expect(find(parent, text, { workspaceFolders: ["/shop"] }).file).toBe("/shop/b.fixture.json");
    expect(find(parent, text, { workspaceFolders: ["/shop/jobs"] })).toEqual({ ambiguous: false, notes: [] });
    expect(find(parent, text, { workspaceFolders: ["/elsewhere"] }).file).toBeUndefined();
    expect(find(parent).file).toBeUndefined();
    expect(find(["/shop/jobs/42/a.fixture.json", "/shop/b.fixture.json"], text, { workspaceFolders: ["/shop/"] }).file).toBe(
      "/shop/jobs/42/a.fixture.json",
    );
  });
  it("two at one level: none is taken and the finding lists both, though a parent has only one", () => {
    const found = find(["/shop/jobs/42/b.fixture.json", "/shop/jobs/42/a.fixture.json", "/shop/c.fixture.json"], text, {
      workspaceFolders: ["/shop"],
    });
    expect(found.file).toBeUndefined();
    expect(found.candidates).toEqual(["/shop/jobs/42/a.fixture.json", "/shop/jobs/42/b.fixture.json"]);
    expect(found.notes.map((n) => [n.message.key, n.message.args, n.place])).toEqual([
      [
        "discover-several",
        { files: { list: ["a.fixture.json", "b.fixture.json"] } },
        { file: PROGRAM, range: { line: 0, column: 0, endLine: 0, endColumn: 1 } },
      ],
    ]);
  });
  it("globs", () => {
    const fits = (glob: string, path: string) => globPattern(glob).test(path);
    expect(fits("*.nc", "a/b/c.nc")).toBe(true);
    expect(fits("jobs/*.nc", "jobs/a/b.nc")).toBe(false);
    expect(fits("jobs/**", "jobs/a/b.nc")).toBe(true);
    expect(fits("**/4?/*.{nc,tap}", "jobs/42/b.tap")).toBe(true);
    expect(fits("a(b.nc", "a(b.nc")).toBe(true);
  });
});

describe("allow comments of a sidecar", () => {
  const source = `{
  // ALLOW fixture-overlap: shared spare jaw
  "stations": [
    // ALLOW fixture-grip: rough blanks,
    // light cuts
    { "id": "A",
      "notch": 7, // ALLOW fixture-notch: measured
      "seat": 30 },
    /* ALLOW fixture-reversible */
    { "id": "B" }
  ]
}`;
  it("cover the key or entry below, or the value on their line", () => {
    const allows = fixtureAllows(source);
    expect(allows.map((a) => [a.rule, a.reason, textAt(source, a.target).replace(/\s+/g, " ").slice(0, 14)])).toEqual([
      ["fixture-overlap", "shared spare jaw", '"stations": [ '],
      ["fixture-grip", "rough blanks,", '{ "id": "A", "'],
      ["fixture-notch", "measured", '"notch": 7'],
      ["fixture-reversible", "", '{ "id": "B" }'],
    ]);
    expect(textAt(source, allows[2]?.range ?? { line: 99, column: 0, endLine: 99, endColumn: 0 })).toBe("// ALLOW fixture-notch: measured");
  });
  it("no comment in a string, none in what is no JSON", () => {
    expect(fixtureAllows('{"a": "// ALLOW fixture-grip: no"}')).toEqual([]);
    expect(fixtureAllows("")).toEqual([]);
  });
});

describe("nearest", () => {
  it.each([
    ["seet", "seat"],
    ["nothc", "notch"],
    ["FIXEDJAW", "fixedJaw"],
    ["Stations", "stations"],
    ["colour", "columns"],
  ])("%s → %s", (word, expected) => {
    expect(nearest(word, ["seat", "notch", "fixedJaw", "movingJaw", "stations", "columns", "rows"])).toBe(expected);
  });
  it("nothing among nothing", () => {
    expect(nearest("a", [])).toBeUndefined();
  });
});
