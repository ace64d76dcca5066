/**
 * Rules that look at the sidecar with the program beside it, and the words in which findings name tools, solids, stations and
 * points: worked out by hand from the sample fixtures. Asked for by mutation testing.
 *
 * Of the samples: A1 computes to X-680 Y-385 Z-345, A2 stands 150 mm on in X. The stock reaches 60 in X, 41 in Y and 30 down from
 * the part zero; the fixed jaw stands at Y-40 to 0 up to Z-10, under the stock are parallels from Z-30 on.
 */
import { describe, expect, it } from "vitest";
import {
  coordinate,
  listArg,
  placeWords,
  pointWords,
  solidWords,
  targetWords,
  toolWords,
} from "../../server/src/engine/checks/lib/words.js";
import type { RuleContext } from "../../server/src/engine/checks/rule.js";
import { fixture, move, solid, station } from "../support/analysis.js";
import { type Setup, tell } from "../support/tell.js";

const two: Setup = { use: "two-stations" };
const HEAD = ["G21 G17 G40 G49 G80 G90", "T1 M6", "S4000 M3"];
const T1 = "tool 1 (end mill 10)";

describe("fixture-travel: the spindle stands LF above the part zero", () => {
  /** LF 120 and 140: at Z-345 the spindle is at -225 and -205. */
  const heights = (Z: readonly [number, number] | undefined, ...lines: string[]) =>
    tell("fixture-travel", { use: "two-stations", change: (s) => void Object.assign((s.machine as { travel: object }).travel, { Z }) }, [
      ...HEAD,
      ...lines,
      "M30",
    ]);
  const AT = ["G0 G54 X1 Y1", "G43 H1 Z50"];
  it("names the stations, the tool, where it is and how far it is out; once for a tool and a base", () => {
    const t = heights([-224, 0], ...AT, "G55 X1", "G54 X1");
    expect(t.texts.map((x) => x.replace(/^\d+ "[^"]*" /, "").replace(/; \d+/, ";"))).toEqual([
      `height(A1+A2, ${T1}, {"mm":-225}, {"mm":1}, {"mm":-224}, {"mm":0}) at A1; related.travel()`,
    ]);
    expect(t.findings[0]?.data).toEqual({ station: "A1", stations: ["A1", "A2"], axis: "Z", tool: 1, distance: 1 });
    expect(t.findings[0]?.place.file).toBe("/case/fixture.json");
    const above = heights([-560, -230], ...AT);
    expect(above.findings.map((f) => [f.message.args.stations, f.message.args.distance])).toEqual([["A1", { mm: 5 }]]);
  });
  it("the station that is farthest out is the one whose numbers are given", () => {
    const deep = tell(
      "fixture-travel",
      {
        use: "two-stations",
        change: (s) => {
          Object.assign((s.machine as { travel: object }).travel, { Z: [-224, 0] });
          s.offsets = { trim: { G55: { Z: -3 } } };
        },
      },
      [...HEAD, ...AT, "G55 X1", "M30"],
    );
    expect(deep.findings.map((f) => [f.message.args.position, f.message.args.distance, f.data?.stations])).toEqual([
      [{ mm: -228 }, { mm: 4 }, ["A1", "A2"]],
    ]);
  });
  it("inside, within a micrometre, no travel, no tool, a tool without its length, a station that nobody visits", () => {
    for (const low of [-225, -225.001, -224.9995]) expect(heights([low, 0], ...AT).texts, String(low)).toEqual([]);
    expect(heights([-224.998, 0], ...AT).texts).toHaveLength(1);
    expect(heights(undefined, ...AT).texts).toEqual([]);
    expect(heights([-224, 0], "G28 G91 Z0").texts).toEqual([]);
    expect(heights([-224, 0], "T9 M6", "G54 G0 X1 Y1", "G43 H9 Z50").texts).toEqual([]);
    expect(heights([-224, 0], "G58 X1 Y1", "G43 H1 Z50").texts).toEqual([]);
    expect(tell("fixture-travel", {}, [...HEAD, ...AT, "M30"]).texts).toEqual([]);
  });
  it("each tool by itself", () => {
    const t = heights([-204, 0], ...AT, "T2 M6", "G54 X1 Y1", "G43 H2 Z5");
    // One place of the sidecar is one finding; the tool that is farther out is told first.
    expect(t.findings.map((f) => [f.data?.tool, f.data?.distance])).toEqual([[1, 21]]);
    expect(heights([-210, 0], ...AT, "T2 M6", "G54 X1 Y1", "G43 H2 Z5").findings.map((f) => f.data?.tool)).toEqual([1]);
  });
});

describe("words", () => {
  const cx = (change: Partial<RuleContext> = {}): RuleContext =>
    ({
      fixture: fixture({
        tools: new Map([
          [2, { name: "drill 6.8" }],
          [3, { name: "" }],
        ]) as never,
      }),
      stationOf: (m: { station: number }) => (m.station < 0 ? undefined : station()),
      offsetName: (key: string) => `the ${key}`,
      ...change,
    }) as never;
  const inch = cx({ fixture: { ...fixture(), units: "inch" } });
  it("tools", () => {
    expect([Number.NaN, 0, 1, 2, 3].map((t) => toolWords(cx(), t))).toEqual([
      "the tool in the spindle",
      "the spindle without a tool",
      "tool 1",
      "tool 2 (drill 6.8)",
      "tool 3",
    ]);
    expect(toolWords(cx({ fixture: undefined }), 2)).toBe("tool 2");
  });
  it("solids and stations", () => {
    const stations = [station(), station({ index: 1, id: "A2" })];
    const of = cx({ fixture: fixture({ stations }) });
    const jaw = (owner: number) => solid("fixed jaw" as never, "fixed jaw", owner, [0, 0, 0], [1, 1, 1]);
    expect([solidWords(of, jaw(0), 0), solidWords(of, jaw(1), 0), solidWords(of, jaw(-1), 0), solidWords(of, jaw(7), 0)]).toEqual([
      "fixed jaw",
      "fixed jaw of A2",
      "fixed jaw",
      "fixed jaw",
    ]);
    expect([placeWords(of, move({ station: 0 })), placeWords(of, move({ station: -1 }))]).toEqual(["A1", "the G54"]);
  });
  it("coordinates and points: three decimals in mm, four in inch, no zeros behind, none that is not known", () => {
    expect([1, 1.5, 1.23456, -0.0001, 120, Number.NaN].map((v) => coordinate(cx(), v))).toEqual(["1", "1.5", "1.235", "0", "120", "?"]);
    // 25.4 mm are one inch exactly.
    expect([25.4, 31.75, -12.7, 2540].map((v) => coordinate(inch, v))).toEqual(["1", "1.25", "-0.5", "100"]);
    expect(coordinate(inch, 1)).toBe("0.0394");
    expect(coordinate(cx({ fixture: undefined }), 1.25)).toBe("1.25");
    expect(pointWords(cx(), [1, Number.NaN, -2.5])).toBe("X1 Z-2.5");
    expect(pointWords(cx(), [Number.NaN, 3, Number.NaN])).toBe("Y3");
    expect(pointWords(cx(), [Number.NaN, Number.NaN, Number.NaN])).toBe("");
  });
  it("where a move ends, by the axes that it moves: of the part where that is known, else of the machine", () => {
    const U = Number.NaN;
    const at = (change: Parameters<typeof move>[0]) => targetWords(cx(), move(change));
    expect(at({ partFrom: [0, 0, 0], partTo: [5, 0, -1] })).toBe("X5 Z-1");
    expect(at({ partFrom: [0, 0, 0], partTo: [5, 0, -1], from: [9, 9, 9], to: [9, 8, 9] })).toBe("X5 Z-1");
    expect(at({ partFrom: [U, 0, 0], partTo: [5, 0, U] })).toBe("X5");
    expect(at({ partFrom: [U, U, U], partTo: [U, U, U], from: [9, 9, 9], to: [9, 8, 9] })).toBe("Y8");
    // A full circle ends where it began.
    expect(at({ partFrom: [1, 2, 3], partTo: [1, 2, 3] })).toBe("X1 Y2 Z3");
    expect(at({ partFrom: [1, 2, 3], partTo: [1 + 1e-12, 2, 4] })).toBe("Z4");
  });
  it("lists", () => {
    expect(listArg(["a"])).toBe("a");
    expect(listArg(["a", "b"])).toEqual({ list: ["a", "b"] });
  });
});

describe("clamp-cut and its like: what is told of a tool in a solid", () => {
  const told = (rule: string, ...lines: string[]) => tell(rule, two, [...HEAD, ...lines, "M30"]);
  /** Into the fixed jaw by 10: it begins at Y-40, the tool has a radius of 5 and stands 10 below its top. */
  const CUT = ["G0 X10 Y-60", "G43 H1 Z50", "Z-20", "G1 Y-30 F300", "G0 Z50"];
  it("who, what, where to, how deep; the numbers beside; where the sidecar describes the solid", () => {
    const t = told("clamp-cut", "G54", ...CUT);
    expect(t.findings.map((f) => f.message.args)).toEqual([
      {
        station: "A1",
        part: "bracket",
        tool: T1,
        solid: "fixed jaw",
        to: "Y-30",
        depth: { mm: 10 },
        distance: { mm: 0 },
        clearance: { mm: 0 },
      },
    ]);
    expect(t.findings[0]?.data).toEqual({
      tool: 1,
      solid: "fixed jaw",
      solidStation: "A1",
      part: "cutting",
      distance: 0,
      depth: 10,
      at: [-670, -430, -365],
      clearance: 0,
    });
    expect(t.findings[0]?.related.map((r) => [r.place.file, r.message])).toEqual([
      ["/case/fixture.json", { key: "related.solid", args: { solid: "fixed jaw" } }],
    ]);
    expect(t.findings[0]?.station).toBe("A1");
  });
  it("of a neighbour by its station; of an obstacle without one; the holder by the tool's name", () => {
    const [stock] = told("neighbour-cut", "G0 G54 X140 Y20", "G43 H1 Z50", "Z-5", "G1 X160 F300").findings;
    expect([stock?.message.args.solid, stock?.data?.solid, stock?.data?.solidStation]).toEqual(["stock of A2", "stock", "A2"]);
    const setup: Setup = {
      use: "two-stations",
      change: (s) => {
        s.obstacles = [{ name: "tool setter", base: null, box: { from: [-700, -480, -400], to: [-650, -460, -300] } }];
      },
    };
    const [setter] = tell("clamp-rapid", setup, [...HEAD, "G0 G54 X10 Y-110", "G43 H1 Z5", "Y-85", "M30"]).findings;
    expect([setter?.message.args.solid, setter?.data?.solidStation, setter?.data?.at]).toEqual(["tool setter", null, [-670, -485, -340]]);
    // Beside the stock, 52 down: the holder, 20 in radius, begins 50 above the tool point and stands 2 in the stock.
    const [holder] = told("holder-reach", "G0 G54 X67 Y20", "G43 H1 Z50", "Z2", "G1 Z-52 F300", "G0 Z50").findings;
    expect(holder?.message.args).toMatchObject({ tool: `the holder of ${T1}`, solid: "stock", to: "Z-52", depth: { mm: 2 } });
    expect(holder?.data).toMatchObject({ tool: 1, part: "holder", distance: 0, depth: 2 });
  });
  it("the same at another station is one finding; again at the same one it says so without a name", () => {
    const words = (...lines: string[]) =>
      told("clamp-cut", ...lines).findings.map((f) => [
        f.place.range.line + 1,
        ...f.related.slice(1).map((r) => `${r.place.range.line + 1} ${r.message.key} ${String(r.message.args.station)}`),
      ]);
    expect(words("G54", ...CUT, "G55", ...CUT)).toEqual([[8, "14 related.also-at A2"]]);
    expect(words("G54", ...CUT, "G55", ...CUT, "G54", ...CUT)).toEqual([[8, "14 related.also-at A2", "20 related.also A1"]]);
    // Deeper into the jaw is another place in the part: another fault.
    expect(words("G54", ...CUT, "G55", ...CUT.map((l) => l.replace("Y-30", "Y-20")))).toEqual([[8], [14]]);
  });
  it("a row of holes too deep is one, through the blocks that move between; another tool or a stop between begins anew", () => {
    const rows = (...lines: string[]) =>
      told("base-drilled", "G0 G54 X5 Y5", "G43 H1 Z50", ...lines).findings.map((f) => [
        f.place.range.line + 1,
        ...f.related.filter((r) => r.message.key === "related.also").map((r) => r.place.range.line + 1),
      ]);
    expect(rows("G83 Z-31 R2 Q5 F99", "X20", "X30 Y10", "G80")).toEqual([[6, 7, 8]]);
    expect(rows("G83 Z-31 R2 Q5 F99", "M8", "X20", "G80")).toEqual([[6, 8]]);
    expect(rows("G83 Z-31 R2 Q5 F99", "X20 Z-29", "X30 Z-31", "G80")).toEqual([[6], [8]]);
  });
  it("several solids met by one block at one station are one finding", () => {
    // Along the jaw and on into the stop, which begins 2 before it.
    const t = told("clamp-rapid", "G0 G54 X80 Y-20", "G43 H1 Z50", "Z-26", "X-40");
    expect(t.findings.map((f) => f.place.range.line + 1)).toEqual([7]);
  });
});
