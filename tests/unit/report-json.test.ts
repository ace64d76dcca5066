/** The JSON of `check`, `trace` and `stations` from values written by hand, against the contract's shapes. */
import { Ajv } from "ajv";
import { describe, expect, test } from "vitest";
import { checkJson } from "../../server/src/report/check-json.js";
import { jsonNumber } from "../../server/src/report/program-report.js";
import { stationsJson } from "../../server/src/report/stations.js";
import { traceLine } from "../../server/src/report/trace.js";
import {
  analysis,
  context,
  finding,
  fixture,
  modal,
  move,
  NOT_CHECKED,
  PROGRAM,
  placeAt,
  report,
  run,
  SIDECAR,
  SUB,
  solid,
  spellOffset,
  station,
} from "../support/analysis.js";
import { checkSchema, stationsSchema, traceSchema } from "../support/command-line-schemas.js";

const ajv = new Ajv({ allErrors: true, allowUnionTypes: true, strict: true, strictRequired: false, strictTypes: false });
const isCheck = ajv.compile(checkSchema);
const isTrace = ajv.compile(traceSchema);
const isStations = ajv.compile(stationsSchema);

/** What a reader of the printed text gets. */
function printed(value: object): unknown {
  return JSON.parse(JSON.stringify(value));
}

function valid(validate: typeof isCheck, value: unknown): void {
  validate(value);
  expect(validate.errors ?? []).toEqual([]);
}

const plain = { explain: false, spellOffset };

describe("check", () => {
  test("gives the contract's shape, lines and columns from 1, the end exclusive", () => {
    const related = [{ place: placeAt(SIDECAR, 1, 2, 10), message: { key: "station", args: {} } }];
    const one = finding({ place: placeAt(PROGRAM, 2, 8, 11), related, station: "A4", data: { distance: 50 } });
    const json = printed(checkJson([report(analysis({ findings: [one], notChecked: [NOT_CHECKED] }))], context, plain));
    valid(isCheck, json);
    expect(json).toEqual({
      version: 1,
      programs: [
        {
          program: "part.nc",
          fixture: "part.fixture.json",
          complete: true,
          findings: [
            {
              rule: "offset-unmapped",
              level: "error",
              message: "message default of offset-unmapped",
              file: "part.nc",
              line: 3,
              column: 9,
              endLine: 3,
              endColumn: 12,
              station: "A4",
              related: [{ file: "part.fixture.json", line: 2, column: 3, message: "related station" }],
              data: { distance: 50 },
            },
          ],
          visits: [
            { tool: 1, offset: "G54", station: "A1", line: 3, seconds: 12.5, moves: 3 },
            { tool: null, offset: "G54.1 P7", station: null, file: "O200.nc", line: 2, seconds: null, moves: 1 },
          ],
          notChecked: [{ what: "holders", why: "no tools" }],
        },
      ],
    });
  });

  test("says nothing of what is absent, and repeats a waiver's reason", () => {
    const json = checkJson(
      [report(analysis({ findings: [finding({ waived: "soft jaw", level: "information" })], fixtureFile: undefined }))],
      context,
      plain,
    );
    valid(isCheck, printed(json));
    expect(printed(json)).toMatchObject({ programs: [{ fixture: null, findings: [{ level: "information", waived: "soft jaw" }] }] });
    expect(JSON.stringify(json)).not.toMatch(/"station":"undefined"|"data"/);
  });

  test("says a related place once, however often it led there", () => {
    const place = { place: placeAt(PROGRAM, 3, 0, 4), message: { key: "call", args: {} } };
    const other = { place: placeAt(PROGRAM, 3, 0, 4), message: { key: "call", args: { station: "A2" } } };
    const json = printed(checkJson([report(analysis({ findings: [finding({ related: [place, { ...place }, other] })] }))], context, plain));
    expect(json).toMatchObject({ programs: [{ findings: [{ related: [{ line: 4 }, { line: 4 }] }] }] });
  });

  test("keeps the shape for a program that cannot be read", () => {
    const json = printed(checkJson([{ program: "gone.nc", result: { problem: "there is no such file" } }], context, plain));
    valid(isCheck, json);
    expect(json).toMatchObject({ programs: [{ program: "gone.nc", complete: false, notChecked: [{ why: "there is no such file" }] }] });
  });

  test("adds the least clearances on request, smallest first", () => {
    const json = printed(checkJson([report(analysis())], context, { ...plain, explain: true }));
    valid(isCheck, json);
    expect(json).toMatchObject({
      programs: [
        {
          visits: [
            {
              least: [
                { solid: "fixed jaw", station: "A1", distance: 4.5, part: "holder", line: 3, at: [-620, -385, -300] },
                { solid: "plate", station: null, distance: 12.3456, part: "cutting", file: "O200.nc", line: 2 },
              ],
            },
            { least: [] },
          ],
        },
      ],
    });
  });

  test("has programs in the order given", () => {
    const json = printed(
      checkJson(
        ["b.nc", "a.nc"].map((program) => ({ program, result: { problem: "x" } })),
        context,
        plain,
      ),
    );
    expect(json).toMatchObject({ programs: [{ program: "b.nc" }, { program: "a.nc" }] });
  });
});

test("numbers have six decimals at most, no negative zero, and null for what is not known or has no bound", () => {
  expect([1.23456749, -1e-9, Number.NaN, Number.POSITIVE_INFINITY, undefined].map(jsonNumber)).toEqual([1.234567, 0, null, null, null]);
  expect(Object.is(jsonNumber(-1e-9), 0)).toBe(true);
});

describe("trace", () => {
  const cx = {
    program: PROGRAM,
    shownFile: context.shownFile,
    stationId: (i: number) => (i === 0 ? "A1" : undefined),
    spellOffset: (key: string) => fixture().offsetName(key),
    rotary: true,
    radiusKnown: () => false,
  };
  const line = (index: number) => printed(traceLine(run, run.moves[index] ?? move(), cx));

  test("a rapid from an unknown start", () => {
    valid(isTrace, line(0));
    expect(line(0)).toEqual({
      line: 3,
      kind: "rapid",
      tool: 1,
      offset: "G54",
      station: "A1",
      from: [null, null, null],
      to: [-620, -385, -300],
    });
  });

  test("a feed in another file, rounded to six decimals", () => {
    valid(isTrace, line(1));
    expect(line(1)).toEqual({
      line: 2,
      file: context.shownFile(SUB),
      kind: "feed",
      tool: 1,
      offset: "G54",
      station: "A1",
      from: [-620, -385, -300],
      to: [-610.123457, -385, 0],
      feed: 100,
    });
  });

  test("an unknown feed is left out, an unknown coordinate is null", () => {
    valid(isTrace, line(2));
    expect(line(2)).toEqual({ line: 5, kind: "feed", tool: 1, offset: "G54", station: null, from: [-610, -385, 0], to: [null, -385, -5] });
  });

  test("an arc has plane, centre and sweep", () => {
    const arc = move({
      step: 1,
      kind: "arc",
      from: [0, 0, 0],
      to: [0, 0, 5],
      centre: [10, 0, 0],
      sweep: -360,
      feed: 150,
      modal: modal({ plane: 18, offset: "P2" }),
    });
    const json = printed(traceLine(run, arc, cx));
    valid(isTrace, json);
    expect(json).toMatchObject({ kind: "arc", offset: "G54.1 P2", plane: "G18", centre: [10, 0, 0], sweep: -360, feed: 150 });
  });

  test("an index and a dwell", () => {
    const index = printed(
      traceLine(run, move({ step: 1, kind: "index", from: [0, 0, 0], to: [0, 0, 0], rotaryFrom: 0, rotaryTo: 90 }), cx),
    );
    const dwell = printed(traceLine(run, move({ step: 1, kind: "dwell", from: [0, 0, 0], to: [0, 0, 0], feed: 100 }), cx));
    valid(isTrace, index);
    valid(isTrace, dwell);
    expect(index).toMatchObject({ kind: "index", rotary: 90 });
    const without = printed(traceLine(run, move({ step: 1, rotaryTo: 0 }), { ...cx, rotary: false }));
    expect(without).not.toHaveProperty("rotary");
    expect(dwell).not.toHaveProperty("feed");
  });

  test("a programmed path under compensation of unknown radius says so", () => {
    const compensated = move({ step: 1, kind: "feed", modal: modal({ compensation: 42, d: 9 }) });
    expect(printed(traceLine(run, compensated, cx))).toMatchObject({ compensation: 42 });
    expect(printed(traceLine(run, compensated, { ...cx, radiusKnown: () => true }))).not.toHaveProperty("compensation");
  });

  test("the shape refuses an arc without a centre and a line with one", () => {
    const base = { line: 1, tool: 0, offset: "G54", station: null, from: [0, 0, 0], to: [1, 0, 0] };
    expect(isTrace({ ...base, kind: "arc" })).toBe(false);
    expect(isTrace({ ...base, kind: "rapid", centre: [0, 0, 0] })).toBe(false);
    expect(isTrace({ ...base, kind: "rapid" })).toBe(true);
  });
});

describe("stations", () => {
  // Turned by 90° about Z and moved: X = 100 - v, Y = 200 + u, Z = w, so the box lies within X 98…100 and Y 210…240.
  const frame = { origin: [100, 200, 0], x: [0, 1, 0], y: [-1, 0, 0], z: [0, 0, 1] } as const;

  test("gives the contract's shape in millimetres, solids with bounds and corners, bases left out", () => {
    const solids = [solid("fixed jaw", "fixed jaw", 0, [10, 0, 0], [40, 2, 5], frame), solid("base", "plate", -1, [0, 0, -40], [1, 1, 0])];
    const one = fixture({
      units: "inch",
      stations: [station({ solids })],
      stored: new Map([["G54", { values: { X: -620.1, Y: -385 }, place: placeAt(SIDECAR, 0, 0, 1), source: "values" as const }]]),
    });
    const json = printed(stationsJson(one));
    valid(isStations, json);
    expect(json).toMatchObject([
      {
        id: "A1",
        base: "plate",
        at: [1, 1],
        offset: "G54",
        part: "bracket",
        op: "op10",
        computed: { X: -620, Y: -385, Z: -345 },
        stored: { X: -620.1, Y: -385 },
        notch: { chosen: 8, valid: [8, 9], best: 8, travel: 3 },
        solids: [{ name: "fixed jaw", from: [98, 210, 0], to: [100, 240, 5] }],
      },
    ]);
    const [first] = json as { solids: { corners: number[][] }[] }[];
    const corners = first?.solids[0]?.corners.map((p) => p.join(" ")).sort();
    expect(corners).toEqual(["98 210 0", "98 210 5", "98 240 0", "98 240 5", "100 210 0", "100 210 5", "100 240 0", "100 240 5"].sort());
  });

  test("what is not known is null", () => {
    const json = printed(
      stationsJson(
        fixture({
          stations: [
            station({
              offset: undefined,
              offsetName: undefined,
              computed: { X: Number.NaN, Y: 1, Z: 2, rotary: 90 },
              notch: { chosen: undefined, valid: [], best: undefined, travel: Number.NaN, notches: 40 },
            }),
            station({ notch: undefined }),
          ],
        }),
      ),
    );
    valid(isStations, json);
    expect(json).toMatchObject([
      { offset: null, computed: { X: null, Y: 1, Z: 2, rotary: 90 }, notch: { chosen: null, valid: [], best: null, travel: null } },
      { notch: { chosen: null, valid: [], best: null, travel: null } },
    ]);
  });
});
