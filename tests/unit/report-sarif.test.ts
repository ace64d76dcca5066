/**
 * SARIF output against the published schema of SARIF 2.1.0, as the npm package @microsoft/jest-sarif ships it
 * (sarif-2.1.0-rtm.5.json, draft-04).
 */
import { createHash } from "node:crypto";
import { readFileSync } from "node:fs";
import { createRequire } from "node:module";
import AjvDraft04 from "ajv-draft-04";
import addFormats from "ajv-formats";
import { describe, expect, test } from "vitest";
import { checkSarif, uriOf } from "../../server/src/report/sarif.js";
import { analysis, context, finding, NOT_CHECKED, PROGRAM, placeAt, report, SIDECAR } from "../support/analysis.js";

const schemaFile = createRequire(import.meta.url).resolve("@microsoft/jest-sarif/lib/schemas/sarif-2.1.0-rtm.5.json");
const schemaBytes = readFileSync(schemaFile);
const ajv = new AjvDraft04({ strict: false, unicodeRegExp: false, allErrors: true });
addFormats(ajv);
const isSarif = ajv.compile(JSON.parse(schemaBytes.toString("utf8")));

const tool = {
  version: "0.1.0",
  rules: [
    { id: "clamp-near", level: "warning", summary: "A cut passes near a jaw." },
    { id: "offset-unmapped", level: "error", summary: "An offset of no station." },
    { id: "fixture-reversible", level: "information", summary: "Fits the wrong way round." },
  ],
} as const;

interface Log {
  runs: {
    tool: { driver: { rules: object[] } };
    invocations: object[];
    results: object[];
  }[];
}

function logOf(reports: Parameters<typeof checkSarif>[0]): Log {
  const log = JSON.parse(JSON.stringify(checkSarif(reports, context, tool)));
  isSarif(log);
  expect(isSarif.errors ?? []).toEqual([]);
  return log;
}

describe("the schema", () => {
  test("is the published one and refuses what is wrong", () => {
    // Recorded when the package was read: shared check values, part 5.2.
    expect(createHash("sha256").update(schemaBytes).digest("hex")).toBe("2d99159ae54a3eea97f81781cff48780548657c35949f4b7f25e99a2ba4de4f8");
    const log = (result: object) => ({ version: "2.1.0", runs: [{ tool: { driver: { name: "x" } }, results: [result] }] });
    const region = (startLine: number) => [{ physicalLocation: { artifactLocation: { uri: "a" }, region: { startLine } } }];
    expect(isSarif(log({ message: { text: "x" }, locations: region(1) }))).toBe(true);
    expect(isSarif(log({ message: { text: "x" }, level: "fatal" }))).toBe(false);
    expect(isSarif(log({ level: "error" }))).toBe(false);
    expect(isSarif(log({ message: { text: "x" }, locations: region(0) }))).toBe(false);
  });
});

describe("a log", () => {
  test("carries rules, results, related places and stations", () => {
    const related = [{ place: placeAt(SIDECAR, 1, 2, 10), message: { key: "station", args: {} } }];
    const { runs } = logOf([report(analysis({ findings: [finding({ related, station: "A4" })] }))]);
    expect(runs[0]?.tool.driver.rules).toMatchObject([
      { id: "clamp-near", shortDescription: { text: "A cut passes near a jaw." }, defaultConfiguration: { level: "warning" } },
      { id: "offset-unmapped", defaultConfiguration: { level: "error" } },
      { id: "fixture-reversible", defaultConfiguration: { level: "note" } },
    ]);
    expect(runs[0]?.invocations).toMatchObject([{ executionSuccessful: true, toolExecutionNotifications: [] }]);
    expect(runs[0]?.results).toEqual([
      {
        ruleId: "offset-unmapped",
        ruleIndex: 1,
        level: "error",
        message: { text: "message default of offset-unmapped" },
        locations: [
          {
            physicalLocation: { artifactLocation: { uri: "part.nc" }, region: { startLine: 3, startColumn: 9, endLine: 3, endColumn: 12 } },
          },
        ],
        relatedLocations: [
          {
            id: 0,
            physicalLocation: {
              artifactLocation: { uri: "part.fixture.json" },
              region: { startLine: 2, startColumn: 3, endLine: 2, endColumn: 11 },
            },
            message: { text: "related station" },
          },
        ],
        properties: { station: "A4" },
      },
    ]);
  });

  test("marks a waived finding as suppressed in source, with its reason", () => {
    const { runs } = logOf([report(analysis({ findings: [finding({ level: "information", waived: "soft jaw" })] }))]);
    expect(runs[0]?.results).toMatchObject([{ level: "note", suppressions: [{ kind: "inSource", justification: "soft jaw" }] }]);
  });

  test("of an incomplete check is not successful and says what was not checked", () => {
    const { runs } = logOf([
      report(analysis({ complete: false, notChecked: [NOT_CHECKED] })),
      { program: "gone.nc", result: { problem: "there is no such file" } },
    ]);
    expect(runs[0]?.invocations).toMatchObject([
      {
        executionSuccessful: false,
        toolExecutionNotifications: [
          { level: "error", message: { text: "The check did not come to its end." } },
          { level: "warning", message: { text: "Not checked: holders: no tools" } },
          { level: "error", message: { text: "Not checked: there is no such file" } },
        ],
      },
    ]);
  });

  test("of nothing is valid, and so is a finding of a rule that is not listed", () => {
    logOf([]);
    const { runs } = logOf([report(analysis({ findings: [finding({ rule: "made-up", place: placeAt(PROGRAM, 0, 0, 0) })] }))]);
    expect(runs[0]?.results[0]).not.toHaveProperty("ruleIndex");
  });
});

test("paths become URI references (RFC 3986)", () => {
  expect(uriOf("sub dir/50%#1.nc")).toBe("sub%20dir/50%25%231.nc");
  expect(uriOf("../a.nc")).toBe("../a.nc");
  expect(uriOf("/shop/a b.nc")).toBe("file:///shop/a%20b.nc");
  expect(uriOf("C:/shop/a.nc")).toBe("file:///C:/shop/a.nc");
  expect(uriOf("shop\\a.nc")).toBe("shop/a.nc");
});
