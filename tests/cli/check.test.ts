/** `jawline check` as a process, as a person in a folder of their own meets it. */
import { mkdirSync, readFileSync, symlinkSync } from "node:fs";
import { createRequire } from "node:module";
import { join } from "node:path";
import { Ajv } from "ajv";
import AjvDraft04 from "ajv-draft-04";
import addFormats from "ajv-formats";
import { describe, expect, test } from "vitest";
import { Folder, type Outcome, PROGRAM, SIDECAR } from "../support/command-line.js";
import { checkSchema } from "../support/command-line-schemas.js";

const folder = new Folder("check");
const ajv = new Ajv({ allErrors: true, allowUnionTypes: true, strictRequired: false, strictTypes: false });
const isCheck = ajv.compile(checkSchema);

interface Printed {
  programs: {
    program: string;
    fixture: string | null;
    complete: boolean;
    findings: {
      rule: string;
      level: string;
      file: string;
      line: number;
      column: number;
      endColumn: number;
      message: string;
      related: object[];
    }[];
    visits: { tool: number; offset: string; station: string; line: number; seconds: number; moves: number }[];
    notChecked: { what: string; why: string }[];
  }[];
}

/** The JSON of an answer, which must have the contract's shape. */
function printed(outcome: Outcome): Printed {
  const json: Printed = JSON.parse(outcome.out);
  isCheck(json);
  expect(isCheck.errors ?? []).toEqual([]);
  return json;
}

const faulty = PROGRAM.replace("G55", "G57");

describe("a clean program", () => {
  test("gives status 0, both visits and no error", () => {
    folder.put("part.nc", PROGRAM);
    folder.put("part.fixture.json", SIDECAR);
    const outcome = folder.jawline(["check", "part.nc", "--format", "json"]);
    expect(outcome.err).toBe("");
    const [program] = printed(outcome).programs;
    expect(program).toMatchObject({ program: "part.nc", fixture: "part.fixture.json", complete: true });
    expect(program?.findings.filter((f) => f.level === "error")).toEqual([]);
    expect(program?.visits).toMatchObject([
      { tool: 1, offset: "G54", station: "A1", line: 6 },
      { tool: 1, offset: "G55", station: "A2", line: 12 },
    ]);
    expect(outcome.status).toBe(0);
  });

  test("is named in the text, with what was looked at and the caution", () => {
    folder.put("part.nc", PROGRAM);
    folder.put("part.fixture.json", SIDECAR);
    const { out, status } = folder.jawline(["check", "part.nc"]);
    expect(out).toContain("part.nc with part.fixture.json, dialect iso");
    expect(out).toMatch(/\n1 program, 2 visits, .*; complete\.\n/);
    expect(out).toContain("A review aid, not a proof");
    expect(status).toBe(0);
  });

  test("is explained by a table of clearances", () => {
    folder.put("part.nc", PROGRAM);
    folder.put("part.fixture.json", SIDECAR);
    const { out } = folder.jawline(["check", "part.nc", "--explain"]);
    const rows = out.split("\n").map((line) => line.trim().split(/\s{2,}/));
    // The cut runs at height 25 + 30 - 2 = 53 above the face. The fixed jaw is 45 high, the moving one 42, the parallels 25.
    expect(rows).toContainEqual(["line 6", "T1", "G54", "A1", "stock of A1", "0.000", "cutting", "line 10"]);
    expect(rows).toContainEqual(["fixed jaw of A1", "8.000", "cutting", "line 9"]);
    expect(rows).toContainEqual(["moving jaw of A1", "11.000", "cutting", "line 10"]);
    expect(rows).toContainEqual(["parallels of A2", "28.000", "cutting", "line 15"]);
    expect(rows).toContainEqual(["base", "53.000", "cutting", "line 14"]);
    // It takes 2 of the stock; the tool's cutting part and the grid stand beside it.
    const [, deepest = ""] = out.split("Greatest depth of cut along the tool, mm:\n");
    const cuts = deepest.split("\n").map((line) => line.trim().split(/\s{2,}/));
    expect(cuts.find((row) => row[0] === "line 6")?.slice(1, 5)).toEqual(["T1", "G54", "A1", "2.000"]);
    expect(deepest).toContain("heights on a grid of this step");
  });
});

describe("a faulty program", () => {
  test("shows the place underlined and gives status 1", () => {
    folder.put("part.nc", faulty);
    folder.put("part.fixture.json", SIDECAR);
    const { out, status } = folder.jawline(["check", "part.nc"]);
    expect(out).toContain("part.nc:12:8: error: ");
    expect(out).toContain("[offset-unmapped]\n    12 | G0 G90 G57 X-30. Y-10.\n       |        ^^^\n");
    expect(status).toBe(1);
  });

  test("has the place in the JSON, from 1 and end exclusive", () => {
    folder.put("part.nc", faulty);
    folder.put("part.fixture.json", SIDECAR);
    const finding = printed(folder.jawline(["check", "part.nc", "--format=json"])).programs[0]?.findings.find(
      (f) => f.rule === "offset-unmapped",
    );
    expect(finding).toMatchObject({ level: "error", file: "part.nc", line: 12, column: 8, endColumn: 11 });
  });

  test("--fail-on sets the level from which the status is 1", () => {
    folder.put("part.nc", faulty);
    folder.put("part.fixture.json", SIDECAR);
    const status = (failOn: string) => folder.jawline(["check", "part.nc", "--fail-on", failOn]).status;
    expect([status("error"), status("warning"), status("never")]).toEqual([1, 1, 0]);
    folder.put("part.fixture.json", SIDECAR.replace('"tools"', '"levels": { "offset-unmapped": "warning" },\n  "tools"'));
    expect([status("error"), status("warning"), status("never")]).toEqual([0, 1, 0]);
  });

  test("a waived finding does not fail and keeps its reason", () => {
    folder.put("part.nc", faulty.replace("G0 G90 G57", "(ALLOW offset-unmapped: trial piece beside the plate)\nG0 G90 G57"));
    folder.put("part.fixture.json", SIDECAR);
    const { out } = folder.jawline(["check", "part.nc"]);
    expect(out).toMatch(/Waived by ALLOW comments:\n {4}part\.nc:13:8: .*reason: trial piece beside the plate\n/);
    expect(printed(folder.jawline(["check", "part.nc", "--format", "json"])).programs[0]?.findings).toContainEqual(
      expect.objectContaining({ rule: "offset-unmapped", level: "information", waived: "trial piece beside the plate" }),
    );
  });

  test("SARIF validates against the published schema", () => {
    folder.put("part.nc", faulty);
    folder.put("part.fixture.json", SIDECAR);
    const { out, status } = folder.jawline(["check", "part.nc", "--format", "sarif"]);
    const draft04 = new AjvDraft04({ strict: false, unicodeRegExp: false });
    addFormats(draft04);
    const schema = createRequire(import.meta.url).resolve("@microsoft/jest-sarif/lib/schemas/sarif-2.1.0-rtm.5.json");
    const isSarif = draft04.compile(JSON.parse(readFileSync(schema, "utf8")));
    const log = JSON.parse(out);
    isSarif(log);
    expect(isSarif.errors ?? []).toEqual([]);
    expect(log.runs[0].results).toContainEqual(expect.objectContaining({ ruleId: "offset-unmapped", level: "error" }));
    expect(log.runs[0].tool.driver.rules.length).toBeGreaterThan(10);
    expect(status).toBe(1);
  });
});

describe("files and folders", () => {
  test("without a sidecar the text is still checked, and what is missing is said", () => {
    folder.put("part.nc", PROGRAM);
    const { out, status } = folder.jawline(["check", "part.nc"]);
    expect(out).toContain("part.nc without a sidecar");
    expect(out).toContain("Not checked:\n");
    expect(out).toContain("no sidecar was found for this program");
    expect(out).not.toContain("no findings");
    expect(status).toBe(0);
    expect(printed(folder.jawline(["check", "part.nc", "--format", "json"])).programs[0]).toMatchObject({ fixture: null, complete: true });
  });

  test("a missing program gives status 2, and the others are checked all the same", () => {
    folder.put("part.nc", faulty);
    folder.put("part.fixture.json", SIDECAR);
    const { out, status } = folder.jawline(["check", "gone.nc", "part.nc"]);
    expect(out).toContain("gone.nc: not checked: there is no such file\n");
    expect(out).toContain("part.nc:12:8: error: ");
    expect(out).toContain("INCOMPLETE: 1 of 2 programs not checked to the end.");
    expect(status).toBe(2);
    const json = printed(folder.jawline(["check", "gone.nc", "part.nc", "--format", "json"]));
    expect(json.programs.map((p) => [p.program, p.complete])).toEqual([
      ["gone.nc", false],
      ["part.nc", true],
    ]);
    expect(json.programs[0]?.notChecked).toEqual([{ what: "the whole program", why: "there is no such file" }]);
  });

  test("a folder is no program", () => {
    mkdirSync(join(folder.path, "parts"));
    const { out, status } = folder.jawline(["check", "parts"]);
    expect(out).toContain("parts: not checked: this is a folder, not a file\n");
    expect(status).toBe(2);
  });

  test("a device, a circle of links and a name that is too long are told", () => {
    symlinkSync("b.nc", join(folder.path, "a.nc"));
    symlinkSync("a.nc", join(folder.path, "b.nc"));
    const { out, status } = folder.jawline(["check", "/dev/null", "a.nc", `${"x".repeat(300)}.nc`]);
    expect(out).toContain("/dev/null: not checked: this is not a regular file");
    expect(out).toContain("a.nc: not checked: its links lead in a circle");
    expect(out).toContain("not checked: the name is too long");
    expect(status).toBe(2);
  });

  test("a broken sidecar gives JSON all the same, the finding at its place, and status 2", () => {
    folder.put("part.nc", PROGRAM);
    folder.put("part.fixture.json", SIDECAR.replace('"units": "mm",', '"units": "mm'));
    const outcome = folder.jawline(["check", "part.nc", "--format", "json"]);
    const [program] = printed(outcome).programs;
    expect(program).toMatchObject({ fixture: "part.fixture.json", complete: false });
    expect(program?.findings).toContainEqual(
      expect.objectContaining({ rule: "fixture-format", level: "error", file: "part.fixture.json", line: 3 }),
    );
    expect(outcome.status).toBe(2);
    const text = folder.jawline(["check", "part.nc"]);
    expect(text.out).toContain("INCOMPLETE");
    expect(text.out).toMatch(/part\.fixture\.json:3:\d+: error: /);
  });

  test("a sidecar that is named and is not there gives status 2", () => {
    folder.put("part.nc", PROGRAM);
    const outcome = folder.jawline(["check", "part.nc", "--fixture", "gone.fixture.json", "--format", "json"]);
    expect(printed(outcome).programs[0]).toMatchObject({ fixture: "gone.fixture.json", complete: false });
    expect(outcome.status).toBe(2);
    expect(folder.jawline(["check", "part.nc", "--fixture", "gone.fixture.json"]).out).toContain("gone.fixture.json");
  });

  test("an empty file, and one of any bytes, are programs that say nothing", () => {
    folder.put("empty.nc", "");
    folder.put(
      "bytes.nc",
      Uint8Array.from({ length: 4096 }, (_, i) => (i * 131) % 256),
    );
    const outcome = folder.jawline(["check", "empty.nc", "bytes.nc", "--format", "json"]);
    const json = printed(outcome);
    expect(json.programs[0]?.visits).toEqual([]);
    expect(json.programs[1]?.findings.some((f) => f.rule === "syntax")).toBe(true);
    expect(outcome.err).toBe("");
    const text = folder.jawline(["check", "bytes.nc"]).out;
    expect([...text].filter((character) => /\p{Cc}/u.test(character) && character !== "\n" && character !== "\t")).toEqual([]);
  });

  test("UTF-8 with a mark, UTF-16 and Latin-1 are read", () => {
    folder.put("part.fixture.json", SIDECAR);
    const text = PROGRAM.replace("FACE BOTH", "FLÄCHE");
    folder.put("utf8.nc", `\ufeff${text}`);
    folder.put("utf16.nc", Buffer.from(`\ufeff${text}`, "utf16le"));
    folder.put("latin1.nc", Buffer.from(text, "latin1"));
    const json = printed(folder.jawline(["check", "utf8.nc", "utf16.nc", "latin1.nc", "--format", "json"]));
    expect(json.programs.map((p) => [p.visits.length, p.findings.filter((f) => f.level === "error").length])).toEqual([
      [2, 0],
      [2, 0],
      [2, 0],
    ]);
  });

  test("an endless program is stopped, found, and gives status 2", () => {
    folder.put("endless.nc", "O1 (A)\nG21 G90\nN10 G0 X1.\nX2.\nGOTO 10\nM30\n");
    const outcome = folder.jawline(["check", "endless.nc", "--format", "json"]);
    const [program] = printed(outcome).programs;
    expect(program?.complete).toBe(false);
    expect(program?.findings).toContainEqual(expect.objectContaining({ rule: "call-endless", level: "error", line: 5 }));
    expect(outcome.status).toBe(2);
    expect(folder.jawline(["check", "endless.nc"]).out).toContain("INCOMPLETE");
  });

  test("paths are shown as given, other files relative to the working directory", () => {
    const program = folder.put("shop/part.nc", PROGRAM);
    folder.put("shop/part.fixture.json", SIDECAR);
    expect(printed(folder.jawline(["check", program, "--format", "json"])).programs[0]).toMatchObject({
      program,
      fixture: "shop/part.fixture.json",
    });
    expect(printed(folder.jawline(["check", "./shop/../shop/part.nc", "--format", "json"])).programs[0]?.program).toBe(
      "./shop/../shop/part.nc",
    );
    mkdirSync(join(folder.path, "elsewhere"));
    const outside = printed(folder.jawline(["check", "../shop/part.nc", "--format", "json"], { within: "elsewhere" })).programs[0];
    expect(outside).toMatchObject({ program: "../shop/part.nc", fixture: join(folder.path, "shop/part.fixture.json") });
  });
});

describe("options", () => {
  test("--skip on runs without the / blocks", () => {
    folder.put("part.fixture.json", SIDECAR);
    folder.put(
      "part.nc",
      PROGRAM.replace(/G0 G90 G55[\s\S]*?G0 Z50\.\n/, (visit) => visit.replace(/^/gm, "/").replace(/\/$/, "")),
    );
    const visits = (skip: string) =>
      printed(folder.jawline(["check", "part.nc", "--skip", skip, "--format", "json"])).programs[0]?.visits.length;
    expect([visits("off"), visits("on")]).toEqual([2, 1]);
  });

  test("--empty takes stations out, and names those that there are not", () => {
    folder.put("part.fixture.json", SIDECAR.replace('"columns": 2, "rows": 1', '"columns": 3, "rows": 1'));
    folder.put("part.nc", PROGRAM);
    const skipped = (args: string[]) =>
      printed(folder.jawline(["check", "part.nc", "--format", "json", ...args])).programs[0]?.findings.filter(
        (f) => f.rule === "station-skipped",
      ).length;
    expect([skipped([]), skipped(["--empty", "A3"])]).toEqual([1, 0]);
    const { err, status } = folder.jawline(["check", "part.nc", "--empty", "A2,B7"]);
    expect(err).toBe('jawline: --empty: there is no station "B7"; there are A1, A2, A3\n');
    expect(status).toBe(2);
  });

  test("--dialect names the control where no sidecar does", () => {
    folder.put("part.nc", "G90 G154 P3 X0 Y0\n");
    const rules = (dialect: string) =>
      printed(folder.jawline(["check", "part.nc", "--dialect", dialect, "--format", "json"])).programs[0]?.findings.map((f) => f.rule);
    expect(rules("iso")).toContain("code-unknown");
    expect(rules("g154")).not.toContain("code-unknown");
    const { err, status } = folder.jawline(["check", "part.nc", "--dialect", "isoo"]);
    expect(err).toMatch(/^jawline: there is no dialect "isoo"; there are iso, /);
    expect(status).toBe(2);
  });
});
