/**
 * `jawline check --format json` as a process: for the rules of rules.md a program that fires and its near miss, with the
 * place that ruling 42 gives, the overlaps of ruling 41 and the exceptions of ruling 23. Every place and number was worked
 * out by hand from those pages. A1's part zero is the machine datum; relative to each part zero the stock is X-60 … 0,
 * Y0 … 41, Z-30 … 0, the fixed jaw Y-40 … 0 and the moving jaw Y41 … 96, both up to Z-20, the base's top at Z-55.
 */
import { describe, expect, test } from "vitest";
import { Folder } from "../support/command-line.js";
import { type Json, plate } from "../support/contract.js";

const folder = new Folder("contract-check");

interface Finding {
  readonly rule: string;
  readonly level: string;
  readonly message: string;
  readonly file: string;
  readonly line: number;
  readonly station?: string;
  readonly waived?: string;
  readonly related: readonly { readonly file: string; readonly line: number }[];
}

interface Checked {
  readonly status: number | null;
  readonly complete: boolean;
  readonly findings: readonly Finding[];
  /** `rule line station`, the file before the line where it is not the program. */
  readonly said: readonly string[];
  readonly notChecked: readonly { readonly what: string; readonly why: string }[];
}

function check(program: string, sidecar: Json = plate(), ...options: string[]): Checked {
  folder.put("p.nc", program);
  folder.put("p.fixture.json", JSON.stringify(sidecar, undefined, 1));
  const { status, out } = folder.jawline(["check", "p.nc", "--format", "json", ...options]);
  const [{ complete, findings, notChecked }] = (JSON.parse(out) as { programs: [Omit<Checked, "status" | "said">] }).programs;
  const said = findings.map(({ rule, file, line, station }) =>
    [rule, `${file === "p.nc" ? "" : `${file}:`}${line}`, ...(station === undefined ? [] : [station])].join(" "),
  );
  return { status, complete, findings, said, notChecked };
}

/** Lines of the first finding's related places in the program. */
const relatedLines = ({ findings }: Checked) => (findings[0]?.related ?? []).filter(({ file }) => file === "p.nc").map(({ line }) => line);

/** Lines 1 to 3, the usual first states. */
const START = "%\nO1000\nG21 G17 G40 G49 G80 G90 G94\n";
const END = "G91 G28 Z0\nG90\nM30\n%\n";
/** The body of a visit, four lines: a pass of 1 mm depth along Y20, and clear again. */
const PASS = "Z5.\nG1 Z-1. F300\nX20. F800\nG0 Z50.\n";

/** Five lines: home, change, state, spindle. */
const head = (t: number) => `G91 G28 Z0\nG90\nT${t} M6\nG90 G17 G40 G80 G49\nS4000 M3\n`;

/** A tool at the stations of the offsets given. The first visit has one line more, for the length. */
function tool(body: string | readonly string[], t = 1, offsets: readonly string[] = ["G54", "G55", "G56"]): string {
  const visits = offsets.map((offset, i) => {
    const own = typeof body === "string" ? body : (body[i] ?? "");
    return `G90 G0 ${offset} X-80. Y20.\n${i === 0 ? `G43 H${t} Z50.\n` : ""}${own}`;
  });
  return head(t) + visits.join("");
}

/** Visits of A2 and A3 as they should be. */
const REST = `G90 G0 G55 X-80. Y20.\n${PASS}G90 G0 G56 X-80. Y20.\n${PASS}`;
/** A1 with a body of its own from line 11 on, then the rest. */
const first = (body: string, rest = REST, before = "", end = END) =>
  `${START}${before}${head(1)}G90 G0 G54 X-80. Y20.\nG43 H1 Z50.\n${body}${rest}${end}`;
/** A called program behind the main one. */
const called = (text: string) => `${END.replace("%\n", "")}${text}%\n`;
const G10 = (x: readonly [number, number, number]) => x.map((value, i) => `G10 L2 P${i + 1} X${value}. Y0. Z0.\n`).join("");
const TRAVEL = { X: [-500, 1000], Y: [-300, 300], Z: [-300, 300] };
const CLAMPS = "Y60. X-30.\n";

interface Case {
  readonly name: string;
  readonly program: string;
  readonly sidecar?: Json;
  readonly options?: readonly string[];
  readonly said: readonly string[];
  /** Lines of the first finding's related places in the program. */
  readonly related?: readonly number[];
}

function run(cases: readonly Case[]): void {
  test.each(cases.map((c) => [c.name, c] as const))("%s", (_, { program, sidecar, options, said, related }) => {
    const checked = check(program, sidecar, ...(options ?? []));
    expect(checked.said).toEqual(said);
    if (related !== undefined) expect(relatedLines(checked)).toEqual(related);
  });
}

describe("a clean program", () => {
  test("is silent, its visits are listed with their times", () => {
    folder.put("p.nc", `${START}${tool(PASS)}${END}`);
    folder.put("p.fixture.json", JSON.stringify(plate({ "machine.travel": TRAVEL })));
    const { status, out } = folder.jawline(["check", "p.nc", "--format", "json"]);
    const [program] = JSON.parse(out).programs;
    expect(status).toBe(0);
    expect(program).toMatchObject({ program: "p.nc", fixture: "p.fixture.json", complete: true, findings: [] });
    expect(program.visits.map(({ tool, offset, station, line }: Json) => [tool, offset, station, line])).toEqual([
      [1, "G54", "A1", 9],
      [1, "G55", "A2", 15],
      [1, "G56", "A3", 20],
    ]);
    // A2: X20 to X-80 four pitches on is 100 mm at 30000/min, 0.2 s; Z50 to Z5 at 24000/min, 0.1125 s; 6 mm at 300/min,
    // 1.2 s; 100 mm at 800/min, 7.5 s; 51 mm up, 0.1275 s.
    expect(program.visits[1].seconds).toBeCloseTo(0.2 + 0.1125 + 1.2 + 7.5 + 0.1275, 9);
  });

  test("exit status by --fail-on", () => {
    const warned = first(`${PASS}G53 G0 Z300.\nZ300.\nX-80.\nZ50.\n`);
    const status = (...options: string[]) => check(warned, plate(), ...options).status;
    expect([status(), status("--fail-on", "warning"), status("--fail-on", "never")]).toEqual([0, 1, 0]);
  });
});

describe("work offsets", () => {
  const additional = plate({ "stations.0.offset": "G54.1 P1" });
  run([
    {
      name: "offset-unmapped: no station, no datum",
      program: START + tool(PASS, 1, ["G54", "G55", "G57"]) + END,
      said: ["offset-unmapped 20"],
    },
    {
      name: "near miss: a declared datum; one without a stored value is silent (ruling 49)",
      program: START + tool(PASS, 1, ["G54", "G55", "G56", "G57"]) + END,
      sidecar: plate({ datums: { G57: "park" } }),
      said: [],
    },
    { name: "P absent", program: `${START}${tool(PASS)}G90 G54.1 X0\n${END}`, said: ["offset-unmapped 25"] },
    {
      name: "P300 is the last of iso (ruling 12)",
      program: `${START}${tool(PASS)}G90 G54.1 P301 X0\n${END}`,
      said: ["offset-unmapped 25"],
    },
    {
      name: "near miss: another spelling of the same offset",
      program: START + tool(PASS, 1, ["G54 P1", "G54.1 P2", "G54P3"]) + END,
      sidecar: additional,
      said: [],
    },
    { name: "offset-value: one pitch off", program: first(PASS, REST, G10([0, 250, 400])), said: ["offset-value 5 A2"] },
    {
      name: "offset-value: all off alike are one finding",
      program: first(PASS, REST, G10([50, 250, 450])),
      said: ["offset-value 4 A1"],
      related: [5, 6],
    },
    {
      name: "offset-value in the sidecar, beyond 0.02 mm and at it",
      program: first(PASS),
      sidecar: plate({ "offsets.values": { G54: { X: 0.02, Y: 0, Z: 0.05 }, G55: { X: 200.021, Y: 0, Z: 0 } } }),
      said: [expect.stringMatching(/^offset-value p\.fixture\.json:\d+ A2$/) as unknown as string],
    },
    {
      name: "offset-value before offset-value-overwritten (ruling 41)",
      program: first(PASS, REST, "G10 L2 P2 X199.5 Y0. Z0.\n"),
      sidecar: plate({ "offsets.trim": { G55: { X: 0.015 } } }),
      said: ["offset-value 4 A2"],
    },
    {
      name: "offset-value-overwritten",
      program: first(PASS, REST, "G10 L2 P2 X200. Y0. Z0.\n"),
      sidecar: plate({ "offsets.trim": { G55: { X: 0.015 } } }),
      said: ["offset-value-overwritten 4 A2"],
    },
    {
      name: "near miss: the trim is in the value",
      program: first(PASS, REST, "G10 L2 P2 X200.015 Y0. Z0.\n"),
      sidecar: plate({ "offsets.trim": { G55: { X: 0.015 } } }),
      said: [],
    },
    { name: "offset-register: L2 P7", program: first(PASS, REST, "G10 L2 P7 X0 Y0 Z0\n"), said: ["offset-register 4"] },
    { name: "near miss: P0, the common shift", program: first(PASS, REST, "G10 L2 P0 X0 Y0 Z0\n"), said: [] },
    { name: "offset-incremental", program: first(PASS, REST, "G91 G10 L2 P1 X0.01 Y0 Z0\nG90\n"), said: ["offset-incremental 4"] },
    {
      name: "offset-missing-axis",
      program: first(PASS, REST, G10([0, 200, 400]).replace("X200. Y0. Z0.", "X200. Y0.")),
      said: ["offset-missing-axis 5 A2"],
    },
    {
      name: "near miss: setAtMachine (ruling 23)",
      program: first(PASS, REST, G10([0, 200, 400]).replace("X200. Y0. Z0.", "X200. Y0.")),
      sidecar: plate({ "offsets.setAtMachine": ["Z"] }),
      said: [],
    },
    {
      name: "offset-series alone, not offset-unmapped (rulings 41, 42: the first offset block)",
      program: START + tool(PASS, 1, ["G55", "G56", "G57"]) + END,
      said: ["offset-series 9"],
    },
    {
      name: "offset-inherited",
      program: `${START}${tool(PASS)}${head(2)}G0 X-30. Y20.\nG43 H2 Z50.\nG98 G81 Z-5. R2. F100\nG80\n${END}`,
      said: ["offset-inherited 30 A3"],
    },
  ]);
});

describe("stations and visits", () => {
  run([
    {
      name: "station-skipped: the next visit's offset block (ruling 42)",
      program: START + tool(PASS) + tool(PASS, 2, ["G54", "G56"]) + END,
      said: ["station-skipped 36 A2"],
      related: [30],
    },
    {
      name: "station-skipped: after the last, the block that ends the tool's section",
      program: START + tool(PASS) + tool(PASS, 2, ["G54", "G55"]) + END,
      said: ["station-skipped 43 A3"],
    },
    { name: "near miss: --empty", program: START + tool(PASS, 1, ["G54", "G56"]) + END, options: ["--empty", "A2"], said: [] },
    {
      name: "station-repeated alone, not station-skipped (ruling 41)",
      program: START + tool(PASS, 1, ["G54", "G55", "G55"]) + END,
      said: ["station-repeated 20 A2"],
    },
    {
      name: "near miss: twice at every sibling",
      program: START + tool(PASS, 1, ["G54", "G54", "G55", "G55", "G56", "G56"]) + END,
      said: [],
    },
    {
      name: "station-drift: the minority",
      program: START + tool([PASS, PASS.replace("X20.", "X21."), PASS]) + END,
      said: ["station-drift 18 A2"],
    },
    {
      name: "station-count: the loop condition, not station-skipped (rulings 41, 42)",
      program: `${START}${head(1)}#1=0\nWHILE[#1LT2]DO1\nG90 G0 G[54+#1] X-80. Y20.\nG43 H1 Z50.\n${PASS}#1=#1+1\nEND1\n${END}`,
      said: ["station-count 10"],
    },
    {
      name: "near miss: all three",
      program: `${START}${head(1)}#1=0\nWHILE[#1LT3]DO1\nG90 G0 G[54+#1] X-80. Y20.\nG43 H1 Z50.\n${PASS}#1=#1+1\nEND1\n${END}`,
      said: [],
    },
    {
      name: "skip-partial",
      program: first(PASS, `/G90 G0 G55 X-80. Y20.\n${PASS}G90 G0 G56 X-80. Y20.\n${PASS}`),
      said: ["skip-partial 15 A2"],
    },
    {
      name: "near miss: the whole visit skipped",
      program: first(
        PASS,
        REST.split("\n")
          .map((line, i) => (i < 5 ? `/${line}` : line))
          .join("\n"),
      ),
      said: [],
    },
  ]);
});

describe("the clamp zone", () => {
  const plunge = (z: string) => `${CLAMPS}Z-17.\nG1 Z${z} F100\nZ-17.\nG0 Z50.\n`;
  const traverse = (z: string) => `${CLAMPS}Z${z}\nZ50.\nX-80. Y20.\n${PASS}`;
  run([
    {
      name: "clamp-rapid within 2 mm, at all stations one finding",
      program: START + tool(traverse("-18.01")) + END,
      said: ["clamp-rapid 12 A1"],
      related: [21, 30],
    },
    { name: "near miss: equal to the clearance is clear (ruling 44)", program: START + tool(traverse("-18.")) + END, said: [] },
    { name: "clamp-cut", program: START + tool(plunge("-21.")) + END, said: ["clamp-cut 13 A1"] },
    { name: "clamp-near within 0.5 mm", program: START + tool(plunge("-19.6")) + END, said: ["clamp-near 13 A1"] },
    { name: "near miss: at 0.5 mm", program: START + tool(plunge("-19.5")) + END, said: [] },
    {
      name: "a rapid whose least distance is at its start is judged by the cut clearance (ruling 9)",
      program: START + tool(`${CLAMPS}Z-17.\nG1 Z-19. F100\nG0 Z50.\n`) + END,
      said: [],
    },
    { name: "stock-rapid", program: START + tool("X-30.\nZ-2.\nG1 X20. F100\nG0 Z50.\n") + END, said: ["stock-rapid 12 A1"] },
    {
      name: "base-drilled: depth to the tip (ruling 10)",
      program: START + tool("G98 G81 X-30. Y20. Z-31. R2. F100\nG80\n", 2) + END,
      said: ["base-drilled 11 A1"],
      related: [14, 17],
    },
    {
      name: "near miss: no solid under the hole, parallels beside it (ruling 6); the base is at Z-55",
      program: START + tool("G98 G81 X-30. Y20. Z-54. R2. F100\nG80\n", 2) + END,
      sidecar: plate({
        "parts.bracket.ops.op10.parallels": [
          [2, 8],
          [33, 39],
        ],
      }),
      said: [],
    },
    {
      name: "holder-reach: the first cutting block (ruling 42)",
      program: START + tool("X-30.\nZ5.\nG1 Z-22. F100\nX-10.\nG0 Z50.\n") + END,
      sidecar: plate({ "tools.1.APMX": 20, "tools.1.shank": { D: 10, L: 20 } }),
      said: ["holder-reach 13 A1"],
    },
    {
      name: "travel-limit: the moving block, one finding for one height at three stations",
      program: START + tool(`G0 Z181.\nZ50.\n${PASS}`) + END,
      sidecar: plate({ "machine.travel": TRAVEL }),
      said: ["travel-limit 11 A1"],
      related: [18, 25],
    },
  ]);

  test("machinable turns a cut into information, a rapid stays an error", () => {
    const soft = plate({ "movingJaws.mj.machinable": true });
    expect(check(START + tool(plunge("-21.")) + END, soft).findings).toMatchObject([{ rule: "clamp-cut", level: "information" }]);
    expect(check(START + tool(traverse("-18.01")) + END, soft).findings).toMatchObject([{ rule: "clamp-rapid", level: "error" }]);
  });
});

describe("between stations", () => {
  const bar = { name: "bar", base: null, box: { from: [40, 0, 0], to: [60, 40, 25] } };
  const own = { name: "clamp bar", base: null, box: { from: [-35, 0, 0], to: [-25, 40, 10] } };
  const holes = (level: string) => `${level} G81 X-50. Y20. Z-5. R2. F100\nX-10.\nG80\nZ50.\n`;
  run([
    {
      name: "retract-before-offset at the offset's block, the last block related; clamp-rapid is not said besides (rulings 41, 42)",
      program: first("Z5.\nG1 Z-1. F300\nX20. F800\nG0 Z5.\n"),
      sidecar: plate({ obstacles: [bar] }),
      said: ["retract-before-offset 15 A2"],
      related: [14],
    },
    { name: "near miss: an open channel", program: first("Z5.\nG1 Z-1. F300\nX20. F800\nG0 Z5.\n"), said: [] },
    {
      name: "retract-return-level",
      program: first(holes("G99")),
      sidecar: plate({ obstacles: [own] }),
      said: ["retract-return-level 12 A1"],
    },
    { name: "near miss: G98", program: first(holes("G98")), sidecar: plate({ obstacles: [own] }), said: [] },
    {
      name: "approach-stale-axis at the offset's block",
      program: first(PASS, REST.replace("G55 X-80. Y20.", "G55")),
      said: ["approach-stale-axis 15 A2"],
      related: [17],
    },
    {
      name: "approach-low",
      program: `${START}${head(1)}G0 G43 H1 Z-5.\nG90 G0 G54 X-30. Y20.\nG0 Z50.\nX-80.\n${PASS}${REST}${END}`,
      said: ["approach-low 9 A1"],
    },
    {
      name: "near miss: Z comes first but high (ruling 43)",
      program: `${START}${head(1)}G43 H1 Z50.\nG90 G0 G54 X-80. Y20.\n${PASS}${REST}${END}`,
      said: [],
    },
  ]);

  test("same row, same value: information", () => {
    const { findings, status } = check(first(PASS, REST.replace("G55 X-80. Y20.", "G55 X-80.")));
    expect([status, findings.map(({ rule, level, line }) => [rule, level, line])]).toEqual([
      0,
      [["approach-stale-axis", "information", 15]],
    ]);
  });
});

describe("state that leaks", () => {
  const increment = plate({ "machine.dialect": { extends: "iso", wholeNumber: "increment" } });
  const H = (h: number) => first(PASS).replace("G43 H1", `G43 H${h}`);
  run([
    { name: "length-mismatch", program: H(2), said: ["length-mismatch 10"] },
    { name: "near miss: a listed second edge (ruling 23)", program: H(21), sidecar: plate({ "tools.1.H": [1, 21] }), said: [] },
    { name: "return-through-point", program: first(`${PASS}G90 G28 Z0\n`), said: ["return-through-point 15 A1"] },
    { name: "near miss: an intermediate point above", program: first(`${PASS}G90 G28 Z60.\n`), said: [] },
    {
      name: "machine-move-once: the next motion block (ruling 47)",
      program: first(`${PASS}G53 G0 Z300.\n(NOTE)\nM8\nZ300.\nX-80.\nZ50.\n`),
      said: ["machine-move-once 18 A1"],
    },
    { name: "near miss: another value", program: first(`${PASS}G53 G0 Z300.\nZ60.\nX-80.\nZ50.\n`), said: [] },
    {
      name: "shift-left at the offset's block, G52 related (ruling 42)",
      program: first(`G52 X5.\n${PASS}`),
      said: ["shift-left 16 A2"],
      related: [11, 21],
    },
    { name: "near miss: zeroed", program: first(`G52 X5.\nX-80.\n${PASS}G52 X0\n`), said: [] },
    { name: "shift-everywhere", program: first(`G92 X-80.\n${PASS}`), said: ["shift-everywhere 11"] },
    { name: "near miss: a limit of spindle speed", program: first(`G92 S3000\n${PASS}`), said: [] },
    { name: "transform-left", program: first(`G68 X0 Y0 R10.\n${PASS}`), said: ["transform-left 16 A2"], related: [11, 21] },
    {
      name: "compensation-left at the offset's block, G41 related (ruling 42)",
      program: first("Z5.\nG1 Z-1. F300\nG41 D1 X-70. F800\nX20.\nG0 Z50.\n"),
      said: ["compensation-left 16 A2"],
      related: [13, 21],
    },
    {
      name: "cycle-left",
      program: first("G98 G81 X-30. Y20. Z-5. R2. F100\n", "G55 X-30. Y20.\nG56 X-30. Y20.\nG80\n"),
      said: ["cycle-left 12 A2"],
    },
    { name: "near miss: a code of the motion group cancels", program: first("G98 G81 X-30. Y20. Z-5. R2. F100\n"), said: [] },
    {
      name: "feed-unset: no F, the first cutting block (ruling 42)",
      program: first(PASS).replaceAll(/ F\d+/g, ""),
      said: ["feed-unset 12 A1"],
    },
    { name: "feed-unset: the spindle stands", program: first(PASS).replace("S4000 M3\n", ""), said: ["feed-unset 11 A1"] },
    {
      name: "units-unstated: the first block with a coordinate (ruling 42)",
      program: first(PASS).replace("G21 ", ""),
      said: ["units-unstated 4"],
    },
    {
      name: "point-missing",
      program: first(PASS.replace("X20.", "X20")),
      sidecar: increment,
      said: ["point-missing 13"],
    },
    { name: "near miss: T, S, P, N words; units read whole", program: first(PASS.replace("X20.", "X20")), said: [] },
    { name: "call-target: absent", program: first(`${PASS}M98 P777\n`), said: ["call-target 15"] },
    {
      name: "near miss: a resident program (ruling 23)",
      program: first(`${PASS}M98 P9001\n`),
      sidecar: plate({ "machine.resident": [9001] }),
      said: [],
    },
    {
      name: "call-target: the second of two (ruling 42)",
      program: first(`${PASS}M98 P777\n`, REST, "", called("O777\nM99\nO777\nM99\n")),
      said: ["call-target 31"],
    },
    {
      name: "call-target: that M30 (ruling 42)",
      program: first(`${PASS}M98 P777\n`, REST, "", called("O777\nX5.\nM30\n")),
      said: ["call-target 31"],
    },
    { name: "near miss: M99 in a main program", program: first(PASS).replace("M30", "M99"), said: [] },
    {
      name: "sub-leaves-state",
      program: first(`M98 P777\n${PASS}`, REST, "", called("O777\nG91 Z-1.\nM99\n")),
      said: ["sub-leaves-state 31"],
    },
    { name: "syntax and modal conflicts", program: first(`X--5.\nG17 G18\n${PASS}`), said: ["syntax 11", "syntax 12"] },
  ]);

  test("length-missing: the first Z block (ruling 42), the H of the last tool still in force included (ruling 41)", () => {
    expect(check(first(PASS).replace("G43 H1 ", "")).said).toContain("length-missing 10 A1");
    const second = `${START}${tool(PASS)}${head(2).replace(" G49", "")}G0 G54 X-30. Y20.\nZ50.\nG98 G81 Z-5. R2. F100\nG80\n${END}`;
    expect(check(second).said.filter((text) => text.startsWith("length"))).toEqual(["length-missing 31 A1"]);
  });

  test("H0 is no length: length-missing alone", () => {
    expect(check(H(0)).said).toEqual(["length-missing 10 A1"]);
  });

  test("state-incomplete: the tool change (ruling 42)", () => {
    const second = `${START}${tool(PASS)}G91 G28 Z0\nT2 M6\nS1000 M3\nG0 G54 X-80. Y20.\nG43 H2 Z50.\n${PASS}${END}`;
    expect(check(second.replace("G0 G54", "G90 G0 G54")).said).toContain("state-incomplete 26");
  });

  test("call-endless: the call or the jump (ruling 42); the run is not whole", () => {
    const calls = check(first(`${PASS}M98 P777\n`, REST, "", called("O777\nM98 P777\nM99\n")));
    expect(calls).toMatchObject({ status: 2, complete: false, said: ["call-endless 30"] });
    expect(check(first(`N5 X-80.\nGOTO 5\n${PASS}`))).toMatchObject({ status: 2, complete: false, said: ["call-endless 12"] });
  });

  test("incremental-left is the first thing said, and no stale axis besides", () => {
    const { said } = check(first(`${PASS}G91 G28 Z0\n`, REST.replace("G90 G0 G55", "G0 G55").replace("Z5.", "G90 Z50.\nZ5.")));
    expect(said[0]).toBe("incremental-left 16 A2");
    expect(said.join()).not.toContain("approach-stale-axis");
  });
});

describe("rapid paths, units, bodies (rulings 7, 19, 27, 28)", () => {
  // From X-80 Y-180 to X20 Y20: with equal rates each axis by itself goes to X20 Y-80 first; the straight line passes X-30 Y-80.
  const program = `${START}${head(1)}G90 G54 G0 X-80. Y-180.\nG43 H1 Z50.\nX20. Y20.\nZ60.\n${END}`;
  const alone = { "stations.0.repeat": undefined };
  const atCorner = [{ name: "post", base: null, box: { from: [16, -90, 0], to: [20, -70, 60] } }];
  const onLine = [{ name: "post", base: null, box: { from: [-32, -82, 0], to: [-28, -78, 60] } }];
  test.each([
    ["straight", false, true],
    ["independent", true, false],
    ["either", true, true],
    [undefined, true, true],
  ])("rapidPath %s", (rapidPath, corner, line) => {
    const fires = (obstacles: Json[]) =>
      check(program, plate({ ...alone, "machine.rapidPath": rapidPath, obstacles })).said.includes("clamp-rapid 11 A");
    expect([fires(atCorner), fires(onLine)]).toEqual([corner, line]);
  });

  test("straight where a moving axis has no rate", () => {
    const sidecar = plate({ ...alone, "machine.rapidPath": "either", "machine.rapid": { X: 30000 }, obstacles: atCorner });
    expect(check(program, sidecar).said).toEqual([]);
  });

  test.each([
    ["2.", []],
    ["1.99", ["clamp-rapid 12 A1"]],
  ])("a rapid at Z%s over another station's stock", (z, said) => {
    // X170 under A1's offset is the middle of A2's stock, whose top is at Z0.
    const over = `${START}${head(1)}G54 G0 X170. Y20.\nG43 H1 Z50.\nX170.\nZ${z}\nZ50.\nX-80.\nG1 Z-1. F100\nX20.\nG0 Z50.\n${END}`;
    expect(check(over).said).toEqual(said);
  });

  test.each([
    ["-137.", []],
    ["-136.", ["clamp-rapid 11 A"]],
  ])("border 0 and no thickness: all below the face is solid from X-130 on; a tool of 10 at X%s", (x, said) => {
    const sidecar = plate({ ...alone, "bases.plate.border": undefined, "bases.plate.thickness": undefined });
    expect(check(`${START}${head(1)}G54 G0 X${x} Y20.\nG43 H1 Z50.\nZ-100.\nZ50.\n${END}`, sidecar).said).toEqual(said);
  });

  describe("defaults in an inch file are converted: 2 mm is 0.0787 inch, 0.02 mm 0.00079 inch", () => {
    // Base zero -5.2, -2.6, -2.2; [2, 1] with pitch 2, face 0.6, stop at -1.2, seat 1, stock w 1.2: the part zero is at
    // (-5.2 + 4 + 1.2, -2.6 + 2 + 0.6, -2.2 + 2.2) = (0, 0, 0); the moving jaw's top is at -2.2 + 1.4 = -0.8.
    const inches: Json = {
      format: 1,
      units: "inch",
      machine: { home: { X: 0, Y: 0, Z: 20 } },
      bases: { plate: { pitch: 2, columns: 18, rows: 9, zero: { X: -5.2, Y: -2.6, Z: -2.2 }, thickness: 2, border: 1 } },
      fixedJaws: { fj: { face: 0.6, length: 1.6, width: 2.4, height: 1.4 } },
      movingJaws: { mj: { gap: 0.8, increment: 0.12, stroke: 0.32, notches: 40, length: 2.2, width: 2.4, height: 1.4 } },
      endStops: { es: { thickness: 0.5, length: 1.2, height: 1.2 } },
      parts: { bracket: { ops: { op10: { stock: { u: 1.64, v: 2.4, w: 1.2 }, zero: { u: "fixedJaw", v: "low", w: "top" } } } } },
      stations: [
        {
          ...((plate().stations as Json[])[0] as Json),
          repeat: undefined,
          seat: 1,
          endStop: { element: "es", side: "low", at: -1.2 },
        },
      ],
      tools: { "1": { DC: 0.4, APMX: 0.9, LF: 5, shank: { D: 0.4, L: 2.4 }, holder: [{ D: 1.6, L: 2.4 }], H: 1 } },
    };
    const down = (z: string) => `G20 G17 G40 G49 G80 G90 G94\nG91 G28 Z0\nG90\nT1 M6\nG54 G0 X-1.2 Y2.5\nG43 H1 Z2.\nZ${z}\nZ2.\nM30\n`;

    test("clearance", () => {
      // -0.8 + 2 / 25.4 = -0.72126
      expect(check(down("-.7212"), inches).said).toEqual([]);
      expect(check(down("-.7213"), inches).said).toEqual(["clamp-rapid 7 A"]);
    });

    test("tolerance", () => {
      const stored = (X: number, Z: number) => check(down("1."), { ...inches, offsets: { values: { G54: { X, Y: 0, Z } } } }).findings;
      expect(stored(0.0007, 0.0019)).toEqual([]);
      expect(stored(0.0008, 0)).toMatchObject([{ rule: "offset-value", station: "A" }]);
      expect(stored(0, 0.002)).toMatchObject([{ rule: "offset-value", station: "A" }]);
    });
  });
});

describe("visits and calls (rulings 45, 46)", () => {
  const CALLED = called(`O100\nG90 G0 X-80. Y20.\n${PASS}M99\n`);
  const visits = (offsets: string[], calls: number[]) =>
    START +
    head(1) +
    offsets.map((o, i) => `${o} G0 X-80. Y20.\n${i === 0 ? "G43 H1 Z50.\n" : ""}${"M98 P100\n".repeat(calls[i] ?? 1)}`).join("") +
    CALLED;
  const all = ["G54", "G55", "G56"];
  run([
    { name: "the same call twice at every sibling is a spring pass", program: visits(all, [2, 2, 2]), said: [] },
    { name: "the second call at one sibling alone", program: visits(all, [1, 2, 1]), said: ["station-repeated 14 A2"] },
    { name: "while a sibling goes without", program: visits(["G54", "G56"], [2, 1]), said: ["station-repeated 12 A1"] },
    {
      name: "a macro loop over the registers, the order turned for a second tool",
      program: `${START}${head(1)}#100=54\nWHILE[#100LE56]DO1\nG#100 G90 G0 X-80. Y20.\nG43 H1 Z50.\n${PASS}#100=#100+1\nEND1\n${tool("G98 G81 X-30. Y20. Z-20. R2. F100\nG80\n", 2, ["G56", "G55", "G54"])}${END}`,
      said: [],
    },
    {
      name: "a rapid into a pocket that was cut before",
      program: START + tool("X-30. Y20.\nZ2.\nG1 Z-5. F200\nX-40.\nX-30.\nG0 Z2.\nX-35.\nZ-4.\nG1 X-30. F300\nG0 Z50.\n") + END,
      said: [],
    },
    {
      name: "a contour with lead-in and lead-out around the stock",
      program: START + tool("X-90. Y-10.\nZ-9.\nG1 G41 D1 X-66. Y-4. F500\nY46.\nX6.\nY-6.\nX-70.\nG40 X-90. Y-10.\nG0 Z50.\n") + END,
      said: [],
    },
    {
      name: "a stepping program that restores its mode",
      program: `${START}${tool("Z2.\nM98 P50 L3\nG90 G0 Z50.\n")}${called("O50\nG91 G1 Z-1. F100\nX40.\nX-40.\nG90\nM99\n")}`,
      said: [],
    },
  ]);

  const listed = (program: string, sidecar: Json) => {
    folder.put("p.nc", program);
    folder.put("p.fixture.json", JSON.stringify(sidecar));
    const [{ visits }] = JSON.parse(folder.jawline(["check", "p.nc", "--format", "json"]).out).programs;
    return visits.map(({ offset, station, file, line }: Json) => [offset, station, file, line]);
  };

  test("an offset without motion starts none, an index under the old offset neither", () => {
    expect(listed(`${START}${head(1)}G54\nG55\nG56 G0 X-80. Y20.\nG43 H1 Z50.\n${PASS}${END}`, plate())).toEqual([
      ["G56", "A3", undefined, 11],
    ]);
    const turning = plate({
      "machine.home": { X: 0, Y: 0, Z: 900 },
      "machine.rotary": { axis: "B", centre: { X: -500, Z: -600 }, sense: 1 },
    });
    const program = `${START}${head(1)}B0\nG54 G0 X-80. Y20.\nG43 H1 Z50.\n${PASS}G91 G28 Z0\nG90\nB360.\nG55 G0 X-80. Y20.\nZ50.\n${PASS}${END}`;
    expect(listed(program, turning)).toEqual([
      ["G54", "A1", undefined, 10],
      ["G55", "A2", undefined, 19],
    ]);
  });

  test("a visit that begins in another file names it", () => {
    folder.put("O100.nc", `O100\nX-80. Y20.\n${PASS}M99\n`);
    expect(listed(`${START}${head(1)}G54 G0 X-80. Y20.\nG43 H1 Z50.\nM98 P100\nG55\nM98 P100\n${END}`, plate())).toEqual([
      ["G54", "A1", undefined, 9],
      ["G55", "A2", "O100.nc", 2],
    ]);
  });
});

describe("what an absent field makes impossible is listed as not checked (sidecar.md, rulings 11, 24)", () => {
  const program = START + tool(PASS) + END;
  test.each<[string, Json, string]>([
    ["no tools", { tools: undefined }, "holders, drill points and the width of the tool"],
    ["a tool that is not described", { "tools.1": undefined }, "clearances and travel of tool T1"],
    ["no DC", { "tools.1.DC": undefined }, "the width of tool T1; it is taken as a line"],
    ["no shank", { "tools.1.shank": undefined }, "the holder of tool T1"],
    ["no holder", { "tools.1.holder": undefined }, "the holder of tool T1"],
    ["no LF", { "tools.1.LF": undefined }, "travel in Z and holder of tool T1"],
    ["a jaw without height", { "fixedJaws.fj.height": undefined }, "the fixed jaw of A1, A2 and A3"],
    ["no moving jaw", { "stations.0.movingJaw": undefined, "stations.0.notch": undefined }, "the moving jaw of A1, A2 and A3"],
    ["no travel", {}, "travel limits"],
    ["no rapid rates", { "machine.rapid": undefined }, "the time of rapids; the times given are those of the other moves"],
    ["no stored values", {}, "what the control holds in its work offsets"],
  ])("%s", (_, changes, what) => {
    expect(check(program, plate(changes)).notChecked.map((n) => n.what)).toContain(what);
  });

  test("and what is there is not", () => {
    const whole = plate({
      "machine.travel": TRAVEL,
      "offsets.values": { G54: { X: 0, Y: 0, Z: 0 }, G55: { X: 200, Y: 0, Z: 0 }, G56: { X: 400, Y: 0, Z: 0 } },
    });
    expect(check(program, whole)).toMatchObject({ findings: [], notChecked: [{ what: "the motion of line 4" }] });
  });
});

describe("allow comments (rulings 23, 48) and levels", () => {
  const repeated = (comment: string) => first(`${PASS}G53 G0 Z300.\nZ300.${comment}\nX-80.\nZ50.\n`);

  test("on the block or the block before, with a reason that the report repeats", () => {
    for (const program of [
      repeated(" (ALLOW machine-move-once: meant so)"),
      repeated("").replace("\nZ300.\n", "\n(ALLOW machine-move-once: meant so)\nZ300.\n"),
    ]) {
      const { status, findings } = check(program);
      expect(status).toBe(0);
      expect(findings).toMatchObject([{ rule: "machine-move-once", level: "information", waived: "meant so" }]);
    }
  });

  run([
    {
      name: "without a reason it waives nothing",
      program: repeated(" (ALLOW machine-move-once)"),
      said: ["machine-move-once 16 A1", "allow-unused 16"],
    },
    { name: "one that nothing needs", program: first(`${PASS}Z50. (ALLOW machine-move-once: was needed)\n`), said: ["allow-unused 15"] },
    { name: "off", program: repeated(""), sidecar: plate({ levels: { "machine-move-once": "off" } }), said: [] },
  ]);

  test("a level of the sidecar", () => {
    expect(check(repeated(""), plate({ levels: { "machine-move-once": "error" } }))).toMatchObject({
      status: 1,
      findings: [{ level: "error" }],
    });
  });

  test("a whole-base rotation is declared where it is switched on, for all stations", () => {
    const { status, findings } = check(first(`G68 X0 Y0 R0.1 (ALLOW transform-left: skewed plate)\n${PASS}`));
    expect(status).toBe(0);
    expect(findings).toMatchObject([{ rule: "transform-left", level: "information", line: 16, waived: "skewed plate" }]);
  });

  test("in a called program for every caller, one finding with its callers related", () => {
    const short = `${CLAMPS}Z-18.5 (ALLOW clamp-rapid: short jaw)\nZ50.\nX-80. Y20.\n${PASS}`;
    const program = `${START}${tool("M98 P100\n")}${called(`O100\n${short}M99\n`)}`;
    const checked = check(program);
    expect(checked.said).toEqual(["clamp-rapid 21 A1"]);
    expect(checked.findings[0]).toMatchObject({ level: "information", waived: "short jaw" });
    expect(relatedLines(checked)).toEqual([11, 13, 15]);
  });

  test.each(["// ALLOW fixture-notch: shimmed", "/* ALLOW fixture-notch: shimmed */", "// (ALLOW fixture-notch: shimmed)"])(
    "in a sidecar, above the key: %s",
    (comment) => {
      folder.put("p.nc", START + END);
      folder.put(
        "p.fixture.json",
        JSON.stringify(plate({ "stations.0.notch": 12 }), undefined, 1).replace('"notch"', `${comment}\n"notch"`),
      );
      const { status, out } = folder.jawline(["check", "p.nc", "--format", "json"]);
      expect(status).toBe(0);
      expect(JSON.parse(out).programs[0].findings).toMatchObject([{ rule: "fixture-notch", level: "information", waived: "shimmed" }]);
    },
  );
});

describe("the fixture itself", () => {
  const one = (more: Json = {}): Json => ({ ...((plate().stations as Json[])[0] as Json), repeat: undefined, id: "A1", ...more });
  const two = (more: Json): Json => plate({ stations: [one(), one({ id: "A2", offset: "G55", ...more })] });
  const stands = (...stations: Json[]) => plate({ stations });
  const rule = (sidecar: Json) => check(START + END, sidecar).findings.map((f) => f.rule);

  test.each<[string, Json, string[]]>([
    ["fixture-register-shared", two({ at: [6, 1], offset: "G54" }), ["fixture-register-shared"]],
    ["near miss: by declaration (ruling 23)", stands(one({ sharesOffset: true }), one({ id: "A2", at: [6, 1], sharesOffset: true })), []],
    ["fixture-off-grid: columns count from 0", stands(one({ at: [18, 1] })), ["fixture-off-grid"]],
    ["fixture-off-grid: a jaw beyond the body", stands(one({ at: [2, 7] })), ["fixture-off-grid"]],
    ["fixture-overlap", two({ at: [3, 1] }), ["fixture-overlap"]],
    // The moving jaw stands at Y41 … 108 clamped and 44 … 111 open; A2's fixed jaw begins three pitches on, at Y110.
    ["fixture-overlap: open", { ...two({ at: [2, 4] }), movingJaws: { mj: { ...jaw(), length: 67 } } }, ["fixture-overlap"]],
    ["near miss: open, 0.5 mm short of it", { ...two({ at: [2, 4] }), movingJaws: { mj: { ...jaw(), length: 65.5 } } }, []],
    ["fixture-notch", plate({ "stations.0.notch": 12 }), ["fixture-notch"]],
    // Ruling 20: grip 32 - 25 = 7, above it 55 - 32 = 23, a third of it 7.67; at 32.5 they are 7.5 and 22.5.
    ["fixture-grip", plate({ "fixedJaws.fj.height": 32 }), ["fixture-grip"]],
    ["near miss: a third exactly", plate({ "fixedJaws.fj.height": 32.5 }), []],
    ["fixture-zero-mixed", two({ at: [6, 1], zero: { u: "centre", v: "low", w: "top" } }), ["fixture-zero-mixed"]],
    ["fixture-travel", plate({ "machine.travel": { X: [-100, 350] } }), ["fixture-travel"]],
    ["fixture-reversible (ruling 21)", stands({ ...one(), endStop: undefined }), []],
  ])("%s", (_, sidecar, rules) => {
    expect(rule(sidecar)).toEqual(rules);
  });

  test("fixture-reversible: false and no end stop", () => {
    const sidecar = plate({ "stations.0.endStop": undefined, "parts.bracket.ops.op10.reversible": false });
    expect(check(START + END, sidecar).findings).toMatchObject([{ rule: "fixture-reversible", level: "information" }]);
    expect(rule(plate({ "stations.0.endStop": undefined, "parts.bracket.ops.op10.reversible": true }))).toEqual([]);
  });
});

function jaw(): Json {
  return (plate().movingJaws as { mj: Json }).mj;
}

describe("a rotary base (rulings 3, 4)", () => {
  const faces = [0, 90, 180, 270];
  function tombstone(inOffset: boolean, stored: boolean): Json {
    const base = { pitch: 50, columns: 6, rows: 9, zero: { X: -625, Y: -450, Z: -480 }, thickness: 60, border: 25 };
    const station = { ...((plate().stations as Json[])[0] as Json), repeat: undefined, at: [3, 3] };
    // Base (150 + 30, 150 + 15, 55) → machine (-445, -285, -425).
    const values = Object.fromEntries(faces.map((face, i) => [`G${54 + i}`, { X: -445, Y: -285, Z: -425, B: face }]));
    return plate({
      "machine.home": { X: 0, Y: 0, Z: 0 },
      "machine.rotary": { axis: "B", centre: { X: -500, Z: -600 }, sense: 1, inOffset },
      bases: Object.fromEntries(faces.map((face) => [`f${face}`, { ...base, face }])),
      stations: faces.map((face, i) => ({ ...station, id: `S${i}`, base: `f${face}`, offset: `G${54 + i}` })),
      ...(stored ? { offsets: { values } } : {}),
    });
  }
  const program = (angles: readonly (number | string)[], retract = "G91 G28 Z0\nG90\n") =>
    START +
    head(1) +
    angles.map((angle, i) => `G90 G${54 + i} G0 B${angle}\nX-80. Y20.\nG43 H1 Z80.\n${PASS.replace("Z50.", "Z80.")}${retract}`).join("") +
    END;

  test("the face angle in the program", () => {
    expect(check(program(["0.", "90.", "180.", "270."]), tombstone(false, false)).said).toEqual([]);
    expect(check(program(["0.", "90.", "180.", "-90."]), tombstone(false, false)).said).toEqual([]);
    expect(check(program(["0.", "90.", "90.", "270."]), tombstone(false, false)).said).toEqual(["station-wrong-face 28 S2"]);
  });

  test("the face angle in the offset", () => {
    expect(check(program(["0.", "0.", "0.", "0."]), tombstone(true, true)).said).toEqual([]);
    expect(check(program(["0.", "90.", "180.", "270."]), tombstone(true, true)).said.every((s) => s.startsWith("station-wrong-face"))).toBe(
      true,
    );
    // Held although the program is to write it: three offsets that must hold 0.
    const held = check(program(["0.", "0.", "0.", "0."]), tombstone(false, true));
    expect(held.findings.every(({ rule, file }) => rule === "offset-value" && file === "p.fixture.json")).toBe(true);
    expect(held.findings.map(({ station }) => station)).toContain("S1");
  });

  test("retract-before-index", () => {
    const { said } = check(program(["0.", "90.", "180.", "270."], "G0 Z20.\n"), tombstone(false, false));
    expect(said).toEqual(["retract-before-index 17 S1"]);
  });

  // A base on the face at 90°, seen at B0. [0, 0] is 100 mm beside and 250 mm above the centre: dx = x - 100, dz = z + 250.
  // Sense 1 turns by +90°: X = -500 + dz, Z = -600 - dx, so that the body x -25 … 275, z -40 … 0 stands at X-290 … -250 with
  // its top at Z-475. Sense -1 turns by -90°: X = -500 - dz, Z = -600 + dx: X-750 … -710, top Z-425.
  test.each([
    [1, -270, -473, []],
    [1, -270, -473.01, ["clamp-rapid 7"]],
    [-1, -730, -423, []],
    [-1, -730, -423.01, ["clamp-rapid 7"]],
  ])("a base that is not presented is turned about the centre: sense %s, X%s, Z%s", (sense, x, z, said) => {
    const sidecar = plate({
      "machine.rotary": { axis: "B", centre: { X: -500, Z: -600 }, sense },
      "bases.plate": { pitch: 50, columns: 6, rows: 6, zero: { X: -600, Y: -450, Z: -350 }, face: 90, thickness: 40, border: 25 },
      "stations.0.repeat": undefined,
      datums: { G59: "machine" },
      "offsets.values": { G59: { X: 0, Y: 0, Z: 0 } },
    });
    expect(
      check(`G21 G17 G40 G49 G80 G90 G94\nT1 M6\nS1000 M3\nG90 G59 G0 B0\nX${x} Y-400.\nG43 H1 Z0\nZ${z}\nZ0\nM30\n`, sidecar).said,
    ).toEqual(said);
  });
});

describe("finding the sidecar, and input that cannot be used", () => {
  const PROGRAM = "G21 G90\nT1 M6\nG0 G54 X0 Y0\nM30\n";
  const side = () => JSON.stringify(plate());
  const json = (...args: string[]) => {
    const { status, out } = folder.jawline(["check", ...args, "--format", "json"]);
    return { status, program: (JSON.parse(out) as { programs: Json[] }).programs[0] };
  };

  test.each<[string, Record<string, string>, string | null, number]>([
    ["the same name before others", { "p.nc": PROGRAM, "p.fixture.json": "", "q.fixture.json": "" }, "p.fixture.json", 0],
    ["the only one", { "p.nc": PROGRAM, "q.fixture.json": "" }, "q.fixture.json", 0],
    ["two at one level: none", { "p.nc": PROGRAM, "q.fixture.json": "", "r.fixture.json": "" }, null, 2],
    ["a comment", { "p.nc": `(FIXTURE: r.fixture.json)\n${PROGRAM}`, "p.fixture.json": "", "r.fixture.json": "" }, "r.fixture.json", 0],
    [
      "a comment in line 30",
      { "p.nc": `${"\n".repeat(29)}(FIXTURE: r.fixture.json)\n${PROGRAM}`, "q.fixture.json": "", "r.fixture.json": "" },
      "r.fixture.json",
      0,
    ],
    [
      "a comment in line 31 is none",
      { "p.nc": `${"\n".repeat(30)}(FIXTURE: r.fixture.json)\n${PROGRAM}`, "q.fixture.json": "", "r.fixture.json": "" },
      null,
      2,
    ],
    ["a comment that names nothing", { "p.nc": `(FIXTURE: no.fixture.json)\n${PROGRAM}`, "p.fixture.json": "" }, null, 2],
  ])("%s", (_, files, fixture, status) => {
    for (const [name, content] of Object.entries(files)) folder.put(name, content === "" ? side() : content);
    const checked = json("p.nc");
    expect(checked).toMatchObject({ status, program: { program: "p.nc", fixture } });
    if (status === 2) expect(checked.program?.findings).toMatchObject([{ rule: "fixture-format", file: "p.nc" }]);
  });

  test("the nearest parent that has one; two there are none", () => {
    folder.put("a/b/p.nc", PROGRAM);
    folder.put("z.fixture.json", side());
    expect(json("a/b/p.nc").program).toMatchObject({ fixture: "z.fixture.json" });
    folder.put("a/x.fixture.json", side());
    folder.put("a/y.fixture.json", side());
    const { status, program } = json("a/b/p.nc");
    expect([status, program?.fixture]).toEqual([2, null]);
    expect(JSON.stringify(program?.findings)).toMatch(/x\.fixture\.json.*y\.fixture\.json/);
  });

  test("--fixture before all", () => {
    folder.put("p.nc", `(FIXTURE: no.fixture.json)\n${PROGRAM}`);
    folder.put("p.fixture.json", side());
    folder.put("q.fixture.json", side());
    expect(json("p.nc", "--fixture", "q.fixture.json")).toMatchObject({ status: 0, program: { fixture: "q.fixture.json" } });
  });

  // Ruling 35: JSON is always printed, the finding is in it, complete is false, exit 2.
  test.each<[string, (text: string) => string]>([
    ["cut off", () => '{"format": 1,'],
    ["empty", () => " "],
    ["a list", () => "[]"],
    ["no JSON", () => "hello"],
    ["unknown key", (text) => text.replace('"units"', '"unit"')],
    ["wrong type", (text) => text.replace('"columns":18', '"columns":"x"')],
    ["missing reference", (text) => text.replace('"fixedJaw":"fj"', '"fixedJaw":"fk"')],
    ["another format", (text) => text.replace('"format":1', '"format":2')],
    ["includes itself", (text) => text.replace('"format":1', '"format":1,"include":["p.fixture.json"]')],
    ["includes what is not there", (text) => text.replace('"format":1', '"format":1,"include":["no.json"]')],
    ["unknown rule", (text) => text.replace('"format":1', '"format":1,"levels":{"clamp-cutt":"off"}')],
    [
      "two stations of one name (ruling 13)",
      (text) =>
        text.replace(
          '"stations":[',
          `"stations":[${JSON.stringify({ ...((plate().stations as Json[])[0] as Json), id: "A1", repeat: undefined, at: [2, 5], offset: "G59" })},`,
        ),
    ],
  ])("a broken sidecar: %s", (_, broken) => {
    folder.put("p.nc", PROGRAM);
    folder.put("p.fixture.json", broken(side()));
    const { status, program } = json("p.nc");
    expect([status, program?.complete]).toEqual([2, false]);
    expect(program?.findings).toMatchObject([{ rule: "fixture-format", level: "error", file: "p.fixture.json" }]);
  });

  test("an unknown key names the nearest known one", () => {
    folder.put("p.nc", PROGRAM);
    folder.put("p.fixture.json", side().replace('"fixedJaws"', '"fixedJaw"'));
    expect(JSON.stringify(json("p.nc").program?.findings)).toContain("the nearest is fixedJaws");
  });

  test("comments, trailing commas and a byte order mark are allowed", () => {
    folder.put("p.nc", PROGRAM);
    folder.put("p.fixture.json", `\uFEFF/* plate */ ${side().slice(0, -1)}, // end\n}`);
    expect(json("p.nc")).toMatchObject({ status: 0, program: { findings: [] } });
  });

  test("a program that is not there, among others", () => {
    folder.put("p.nc", PROGRAM);
    const { status, out } = folder.jawline(["check", "p.nc", "gone.nc", "--format", "json"]);
    expect(status).toBe(2);
    expect((JSON.parse(out) as { programs: Json[] }).programs.map(({ program, complete }) => [program, complete])).toEqual([
      ["p.nc", true],
      ["gone.nc", false],
    ]);
  });

  test("any bytes are read", () => {
    folder.put(
      "p.nc",
      Uint8Array.from({ length: 5120 }, (_, i) => i & 255),
    );
    folder.put("p.fixture.json", side());
    expect(json("p.nc").status).toBe(1);
  });
});
