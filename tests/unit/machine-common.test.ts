import { describe, expect, test } from "vitest";
import { uncalledParts } from "../../server/src/engine/machine/machine.js";
import { ends, fixture, last, movesOf, notes, profile, run, tidy, tool } from "./machine-support.js";

/* Common practice, no source, but where a contract ruling or a publication is named. */

const zero = { G54: [0, 0, 0] };
const plain = fixture({ stored: zero, tools: [tool(1, 100), tool(2, 150)], machine: { home: { X: 0, Y: 0, Z: 0 } } });

describe("work offsets", () => {
  const stations = [
    { offset: "P1", at: [-800, -400, -300] as const },
    { offset: "P2", at: [-600, -400, -300] as const },
  ];
  test("computed positions move the tool where nothing is stored (contract-details 17)", () => {
    const result = run("G0 G90 G54.1 P1 X1 Y2\nG54.1 P2 X1 Y2", { fixture: fixture({ stations }) });
    expect(ends(result)).toEqual(["rapid -799 -398 ?", "rapid -599 -398 ?"]);
    expect(result.moves.map((m) => m.station)).toEqual([0, 1]);
  });
  test("stored values win over computed ones, and G10 over stored ones", () => {
    const used = fixture({ stations, stored: { P1: [-799.5, -400, -300] } });
    expect(last(run("G0 G90 G54.1 P1 X0 Y0", { fixture: used }))).toEqual([-799.5, -400, null]);
    expect(last(run("G10 L20 P1 X-700\nG0 G90 G54 P1 X0 Y0", { fixture: used }))).toEqual([-700, -400, null]);
  });
  test("stored + common shift + (Z only) reference = position; G10 L2 P0 replaces the shift (contract-details 16)", () => {
    const used = fixture({ stored: { G54: [1, 2, 3] }, commonShift: { X: 10, Z: 30 }, zReference: -400 });
    expect(last(run("G0 G54 X0 Y0 Z0", { fixture: used }))).toEqual([11, 2, -367]);
    expect(last(run("G10 L2 P0 X100 Y200 Z0\nG0 G54 X0 Y0 Z0", { fixture: used }))).toEqual([101, 202, -397]);
  });
  test("G10 under G91 adds", () => {
    const result = run("G91 G10 L2 P1 X0.5\nG90 G0 X0 Y0 Z0", { fixture: plain });
    expect(last(result)).toEqual([0.5, 0, 0]);
    expect(result.writes[0]).toMatchObject({ register: "G54", incremental: true });
    expect(result.writes[0]?.axes.get("X")).toMatchObject({ written: 0.5, result: 0.5, wordIndex: 4 });
  });
  test("L20 as “so that the present position reads”, by profile", () => {
    const current = profile("iso", { l20: "current" });
    const used = fixture({ profile: current, stored: { G54: [5, 5, 5] } });
    expect(ends(run("G0 X1 Y1 Z1\nG10 L20 P1 X0 Y0\nG0 X2 Y2", { fixture: used }))).toEqual(["rapid 6 6 6", "rapid 8 8 6"]);
  });
  test("without a sidecar positions are unknown in the machine and known in the part", () => {
    const result = run("G0 G90 G54 X1 Y2\nG43 H1 Z5\nG1 X4 Y6 F100");
    expect(ends(result)).toEqual(["rapid ? ? ?", "rapid ? ? ?", "feed ? ? ?"]);
    expect(ends(result, "part")).toEqual(["rapid 1 2 ?", "rapid 1 2 5", "feed 4 6 5"]);
    expect(result.moves[2]?.seconds).toBeCloseTo(3, 9);
  });
  test("a datum without a stored value leaves positions unknown (contract-details 49)", () => {
    const result = run("G0 G54 X0 Y0 Z0\nG59 X1 Y1", { fixture: plain });
    expect(ends(result)).toEqual(["rapid 0 0 0", "rapid ? ? 0"]);
    expect(ends(result, "part")[1]).toBe("rapid 1 1 ?");
  });
  test("variables of the offsets: G54 X 5221, P2 Z 7023, P48 X 7941 (stride 20)", () => {
    const text = "#5221=7\n#7023=-9\n#7941=3\nG0 G90 G54 X0 Y0\nG54.1 P2 Z0\nG54.1 P48 X0";
    const result = run(text, { fixture: fixture({ stored: { G54: [0, 0, 0], P2: [0, 0, 0], P48: [0, 0, 0] } }) });
    expect(last(result)).toEqual([3, 0, -9]);
    expect(last(run("G10 L2 P1 X12.5\nG0 X[#5221] Y0 Z0", { fixture: plain }))).toEqual([25, 0, 0]);
  });
  test("an offset word that names no register leaves positions unknown until one does", () => {
    const result = run("G0 G54 X0 Y0 Z0\nG54.1 P999\nX1 Y1\nG54 X2 Y2", { fixture: plain });
    expect(ends(result)).toEqual(["rapid 0 0 0", "rapid ? ? 0", "rapid 2 2 0"]);
    expect(result.moves[1]?.station).toBe(-1);
  });
});

describe("shifts", () => {
  test("G52 shifts every work offset until zeroed, axes absent keep theirs (contract-details 40)", () => {
    const used = fixture({ stored: { G54: [0, 0, 0], G55: [100, 0, 0] } });
    const result = run("G52 X10 Y20\nG0 X0 Y0 Z0\nG52 X5\nG55 X0 Y0\nG52 X0 Y0\nX0 Y0", { fixture: used });
    expect(ends(result)).toEqual(["rapid 10 20 0", "rapid 105 20 0", "rapid 100 0 0"]);
    expect(result.moves[1]?.modal.localShift).toEqual([5, 20, 0]);
    // The part frame counts from the offset, without G52.
    expect(ends(result, "part")[1]).toBe("rapid 5 20 0");
  });
  test("G92 S limits the spindle and shifts nothing", () => {
    const result = run("G0 X5 Y5 Z5\nG92 S2000\nX6", { fixture: plain });
    expect(last(result)).toEqual([6, 5, 5]);
    expect(result.moves.at(-1)?.modal.speed).toBeNaN();
  });
});

describe("gauge point and tool point (contract-details 1, 2, 18)", () => {
  test("G53 and G28 speak of the gauge point, G43 of the tool point", () => {
    const result = run("T1 M6\nG0 G53 Z0\nG90 G43 H1 Z50\nG91 G28 Z0", { fixture: plain });
    expect(result.moves.map((m) => [tidy(m.gaugeTo), tidy(m.to[2])])).toEqual([
      [0, -100],
      [150, 50],
      [0, -100],
    ]);
    expect(result.moves.map((m) => m.role)).toEqual(["machine", "plain", "reference"]);
  });
  test("a tool change moves no axis: the tool point jumps by the difference in LF", () => {
    const result = run("T1 M6\nG0 G53 Z0\nT2 M6\nG53 Z-1", { fixture: plain });
    expect(result.moves.map((m) => [tidy(m.from[2]), tidy(m.to[2])])).toEqual([
      [null, -100],
      [-150, -151],
    ]);
  });
  test("the wrong H shows the true tool point: Z + LF(H) - LF(tool)", () => {
    expect(last(run("T1 M6\nG0 X0 Y0 G43 H2 Z10", { fixture: plain }))).toEqual([0, 0, 60]);
  });
  test("without LF the tool point is where the program says under G43, and unknown without it", () => {
    const used = fixture({ stored: zero });
    const result = run("T7 M6\nG0 X0 Y0 Z20\nG43 H7 Z10", { fixture: used });
    expect(result.moves.map((m) => [tidy(m.gaugeTo), tidy(m.to[2])])).toEqual([
      [20, null],
      [null, 10],
    ]);
  });
  test("the register of another tool does not make an unlisted tool known", () => {
    expect(last(run("T7 M6\nG0 X0 Y0 G43 H1 Z10", { fixture: plain }))).toEqual([0, 0, null]);
  });
  test("no tool at the start has length 0", () => {
    expect(last(run("G0 X0 Y0 Z20", { fixture: plain }))).toEqual([0, 0, 20]);
  });
  test("G44 subtracts, G10 L10 writes the register, a wear value adds", () => {
    expect(last(run("G10 L10 P5 R-100\nT1 M6\nG0 X0 Y0 G44 H5 Z10", { fixture: plain }))).toEqual([0, 0, 10]);
    expect(last(run("G10 L11 P1 R-0.2\nT1 M6\nG0 X0 Y0 G43 H1 Z10", { fixture: plain }))).toEqual([0, 0, 9.8]);
  });
  test("a touch-off table: the offset's Z is 0 and the register holds the negative of a distance", () => {
    const result = run("G10 L10 P1 R-350\nT1 M6\nG0 X0 Y0 G43 H1 Z10", { fixture: plain });
    expect(result.moves.at(-1)?.gaugeTo).toBe(-340);
    expect(last(result)).toEqual([0, 0, -440]);
  });
  test("a control that applies the length by itself", () => {
    const used = fixture({ profile: profile("iso", { lengthBy: "control" }), stored: zero, tools: [tool(1, 100)] });
    const result = run("T1 M6\nG0 X0 Y0 Z10", { fixture: used });
    expect([result.moves.at(-1)?.gaugeTo, ...last(result)]).toEqual([110, 0, 0, 10]);
  });
});

describe("references", () => {
  test("G90 G28 Z10 passes Z10, G91 G28 Z0 does not; only named axes go home", () => {
    expect(ends(run("G0 X5 Y6 Z7\nG90 G28 Z10", { fixture: plain }))).toEqual(["rapid 5 6 7", "rapid 5 6 10", "rapid 5 6 0"]);
    expect(ends(run("G0 X5 Y6 Z7\nG91 G28 Z0", { fixture: plain }))).toEqual(["rapid 5 6 7", "rapid 5 6 0"]);
  });
  test("a reference position that the sidecar does not give is unknown, but the same one twice is no motion", () => {
    const result = run("G0 X5 Y6 Z7\nG91 G28 Z0\nG28 Z0\nG30 P2 X0", { fixture: fixture({ stored: zero }) });
    expect(ends(result)).toEqual(["rapid 5 6 7", "rapid 5 6 ?", "rapid ? 6 ?"]);
  });
});

describe("rotary axes", () => {
  const rotary = { axis: "B", centre: [0, 0, 0], sense: 1, indexSeconds: 2.5, inOffset: false } as const;
  const turned = fixture({ stored: { G54: [0, 0, 0], G55: [10, 0, 0, 90] }, machine: { rotary } });
  test("a block with a rotary word is one index move, with its linear axes (contract-details 31)", () => {
    const result = run("G0 X0 Y0 Z0\nB90\nG0 B180 X5\nB180", { fixture: turned });
    expect(result.moves.map((m) => [m.kind, tidy(m.rotaryFrom), tidy(m.rotaryTo), tidy(m.to[0])])).toEqual([
      ["rapid", null, null, 0],
      ["index", null, 90, 0],
      ["index", 90, 180, 5],
    ]);
    expect(result.moves[2]?.seconds).toBeNaN();
    expect(result.moves[1]?.seconds).toBe(2.5);
  });
  test("a stored rotary value adds to the programmed angle; incremental angles add up", () => {
    const result = run("G0 B0\nG55 B30\nG91 B15", { fixture: turned });
    expect(result.moves.map((m) => tidy(m.rotaryTo))).toEqual([0, 120, 135]);
    expect(result.moves.map((m) => tidy(m.modal.rotary))).toEqual([0, 30, 45]);
  });
  test("B 90° at F360 takes 15 s; X20 with B at F100 counts X alone (NISTIR 6556, 2.1.2.5; derived)", () => {
    const result = run("G0 X0 Y0 Z0 B0\nG1 B90 F360\nG1 B100 X20 F100", { fixture: turned });
    expect(result.moves[1]?.seconds).toBeCloseTo(15, 9);
    expect(result.moves[2]?.seconds).toBeCloseTo(12, 9);
  });
});

describe("transforms", () => {
  test("G68 R30 about (10, 5): (20, 5) → (18.660254, 10); R90 → (10, 15) (derived)", () => {
    expect(last(run("G0 X0 Y0 Z0\nG68 X10 Y5 R30\nX20 Y5\nG69", { fixture: plain }))).toEqual([18.660254, 10, 0]);
    expect(last(run("G0 X0 Y0 Z0\nG68 X10 Y5 R90\nX20 Y5", { fixture: plain }))).toEqual([10, 15, 0]);
  });
  test("polar 50@30°, 50@150°, 50@270° (derived)", () => {
    const result = run("G0 X0 Y0 Z0\nG16 X50 Y30\nY150\nY270\nG15", { fixture: plain });
    expect(result.moves.slice(1).map((m) => m.to.slice(0, 2).map(tidy))).toEqual([
      [43.30127, 25],
      [-43.30127, 25],
      [0, -50],
    ]);
  });
  test("holes on a circle by polar coordinates: PCD 100, 6 holes from 0° (derived)", () => {
    const result = run("G0 X0 Y0 Z5\nG16 G81 G99 X50 Y0 Z-5 R2 F100\nG91 Y60 K5\nG90 G15 G80", { fixture: plain });
    const holes = result.moves.filter((m) => m.kind === "feed").map((m) => m.to.slice(0, 2).map(tidy));
    expect(holes).toEqual([
      [50, 0],
      [25, 43.30127],
      [-25, 43.30127],
      [-50, 0],
      [-25, -43.30127],
      [25, -43.30127],
    ]);
  });
  test("a mirrored axis turns arcs round and rotation keeps them", () => {
    const mirrored = run("G0 X0 Y0 Z0\nG51.1 X0\nG2 X10 Y10 I10 J0 F100\nG50.1", { fixture: plain }).moves.at(-1);
    expect([mirrored?.sweep, ...(mirrored?.centre ?? []), ...(mirrored?.to ?? [])].map((n) => tidy(n ?? 0))).toEqual([
      90, -10, 0, 0, -10, 10, 0,
    ]);
    const rotated = run("G0 X0 Y0 Z0\nG68 X0 Y0 R90\nG2 X10 Y10 I10 J0 F100\nG69", { fixture: plain }).moves.at(-1);
    expect([rotated?.sweep, ...(rotated?.centre ?? []), ...(rotated?.to ?? [])].map((n) => tidy(n ?? 0))).toEqual([
      -90, 0, 10, 0, -10, 10, 0,
    ]);
  });
  test("scaling about a point", () => {
    expect(last(run("G0 X0 Y0 Z0\nG51 X10 Y0 Z0 P2\nX20 Y5\nG50", { fixture: plain }))).toEqual([30, 10, 0]);
  });
});

describe("canned cycles, common form", () => {
  test("retained planes stay what they first were when G91 is set within the cycle (contract-details 34)", () => {
    const result = run("G0 X0 Y0 Z50\nG98 G81 X1 Y1 Z-5 R2 F100\nG91 X10 L2\nG80", { fixture: plain });
    expect(ends(result).filter((e) => e.startsWith("feed"))).toEqual(["feed 1 1 -5", "feed 11 1 -5", "feed 21 1 -5"]);
    expect(last(result)).toEqual([21, 1, 50]);
  });
  test("R counts from the initial level and Z from R under G91", () => {
    const result = run("G0 X0 Y0 Z50\nG91 G99 G81 X1 Y1 Z-7 R-48 F100\nX10\nG80 G90", { fixture: plain });
    expect(ends(result).filter((e) => e.startsWith("feed"))).toEqual(["feed 1 1 -5", "feed 11 1 -5"]);
    expect(last(result)).toEqual([11, 1, 2]);
  });
  test("L0 stores and drills nothing; the next hole uses what was stored", () => {
    const result = run("G0 X0 Y0 Z50\nG81 X1 Y1 Z-5 R2 F100 L0\nX3\nG80", { fixture: plain });
    expect(ends(result).filter((e) => e.startsWith("feed"))).toEqual(["feed 3 0 -5"]);
  });
  test("G83 comes back to R between pecks, G73 backs off by the profile's amount (contract-details 33)", () => {
    const g83 = run("G0 X0 Y0 Z50\nG99 G83 X1 Y1 Z-6 R2 Q5 F100", { fixture: plain });
    expect(
      ends(g83)
        .slice(1)
        .map((e) => e.replace(" 1 1", "")),
    ).toEqual(["rapid 50", "rapid 2", "feed -3", "rapid 2", "rapid -2", "feed -6", "rapid 2"]);
    const g73 = run("G0 X0 Y0 Z50\nG99 G73 X1 Y1 Z-6 R2 Q5 F100", { fixture: plain });
    expect(
      ends(g73)
        .slice(1)
        .map((e) => e.replace(" 1 1", "")),
    ).toEqual(["rapid 50", "rapid 2", "feed -3", "rapid -2", "feed -6", "rapid 2"]);
  });
  test("the clear level of the published form between pecks", () => {
    const result = run("g0 x0 y0 z50\ng98 g83 x1 y1 z-6 r2 q5 f100\nm2", { profile: profile("rs274ngc") });
    expect(
      ends(result)
        .slice(1)
        .map((e) => e.replace(" 1 1", "")),
    ).toEqual(["rapid 50", "rapid 2", "feed -3", "rapid 50", "rapid -2.746", "feed -6", "rapid 50"]);
  });
  test("a group-1 code ends the cycle, and G80 brings the one before back", () => {
    const result = run("G0 X0 Y0 Z50\nG81 X1 Y1 Z-5 R2 F100\nG80\nX5\nG81 X6 Z-5 R2\nG1 X7", { fixture: plain });
    expect(movesOf(result, 4).map((m) => m.kind)).toEqual(["rapid"]);
    expect(movesOf(result, 6).map((m) => m.kind)).toEqual(["feed"]);
  });
  test("no R plane given: the height is unknown, and it is said that it was not checked", () => {
    const result = run("G0 X0 Y0 Z50\nG98 G81 X1 Y1 Z-5 F100", { fixture: plain });
    expect(ends(result).slice(1)).toEqual(["rapid 1 1 50", "rapid 1 1 ?", "feed 1 1 -5", "rapid 1 1 ?"].map((e) => e));
    expect(result.notChecked?.map((n) => n.why.key)).toEqual(["why.no-r"]);
  });
  test("the common form keeps the initial level over holes and a change between R and initial level", () => {
    const result = run("G0 X0 Y0 Z50\nG99 G81 X1 Y1 Z-5 R2 F100\nG98 X2\nX3\nG80", { fixture: plain });
    expect(
      ends(result)
        .filter((e) => e.startsWith("rapid"))
        .slice(1),
    ).toEqual(["rapid 1 1 50", "rapid 1 1 2", "rapid 1 1 2", "rapid 2 1 2", "rapid 2 1 50", "rapid 3 1 50", "rapid 3 1 2", "rapid 3 1 50"]);
  });
});

describe("calls", () => {
  const sub = "O100\nG91 G1 X1 F100\nG90 M99\n";
  test("M98 P L to a program of the file, and M99", () => {
    const result = run(`O1\nG0 X0 Y0 Z0\nM98 P100 L3\nG0 X9\nM30\n${sub}`, { fixture: plain });
    expect(ends(result)).toEqual(["rapid 0 0 0", "feed 1 0 0", "feed 2 0 0", "feed 3 0 0", "rapid 9 0 0"]);
    const step = result.steps[result.moves[1]?.step ?? 0];
    expect(step?.call).toMatchObject({ program: 100, depth: 1, kind: "subprogram" });
    expect(result.steps[step?.call.caller ?? 0]?.block.line).toBe(2);
  });
  test.each(["O100", "o0100.nc", "100", "0100.NC", "O100.mpf", "100.tap"])("M98 to the file %s of the folder", (name) => {
    const result = run("G0 X0 Y0 Z0\nM98 P100\nM30", { fixture: plain, files: { [`/p/${name}`]: "G91 G1 X1 F100\nM99" } });
    expect(ends(result)).toEqual(["rapid 0 0 0", "feed 1 0 0"]);
    expect(result.sources.map((s) => s.file)).toEqual(["/p/main.nc", `/p/${name}`]);
  });
  test("M98 to a configured folder", () => {
    const used = fixture({ stored: zero, machine: { programFolders: ["/lib"] } });
    expect(last(run("G0 X0 Y0 Z0\nM98 P100\nM30", { fixture: used, files: { "/lib/O100.nc": "G0 X4\nM99" } }))).toEqual([4, 0, 0]);
  });
  test("a missing program, one that the control holds, and one that stands twice", () => {
    expect(notes(run("M98 P77\nM30"))).toEqual(["call-target missing 1"]);
    const resident = run("G0 X0 Y0 Z0\nM98 P9001\nG1 X1 F9\nM30", { fixture: fixture({ stored: zero, machine: { resident: [9001] } }) });
    expect(notes(resident)).toEqual([]);
    expect(ends(resident)).toEqual(["rapid 0 0 0", "feed 1 ? ?"]);
    expect(notes(run("O1\nM98 P2\nM30\nO2\nM99\nO2\nM99"))).toEqual(["call-target twice 6"]);
  });
  test("M30 in a called program", () => {
    const result = run("O1\nG0 X0 Y0 Z0\nM98 P2\nX5\nM30\nO2\nX1\nM30", { fixture: plain });
    expect(notes(result)).toEqual(["call-target ends 8"]);
    expect(result.notes[0]?.related[0]?.place.range.line).toBe(2);
  });
  test("packed repeats, by profile", () => {
    const packed = fixture({ profile: profile("iso", { packedRepeat: true }), stored: zero });
    expect(last(run(`O1\nG0 X0 Y0 Z0\nM98 P30100\nM30\n${sub}`, { fixture: packed }))).toEqual([3, 0, 0]);
    expect(last(run(`O1\nG0 X0 Y0 Z0\nM98 P100\nM30\n${sub}`, { fixture: packed }))).toEqual([1, 0, 0]);
    expect(notes(run(`O1\nM98 P30100\nM30\n${sub}`))).toEqual(["call-target missing 2"]);
  });
  test("M97 calls a label of the same file", () => {
    const result = run("G0 X0 Y0 Z0\nM97 P50 L2\nG0 Y7\nM30\nN50 G91 X1\nG90\nM99", { fixture: plain });
    expect(ends(result)).toEqual(["rapid 0 0 0", "rapid 1 0 0", "rapid 2 0 0", "rapid 2 7 0"]);
  });
  test("M99 P returns to a block of the caller; labels are searched forward, then from the start", () => {
    expect(last(run("O1\nG0 X0 Y0 Z0\nM98 P2\nX1\nN9 Y5\nM30\nO2\nM99 P9", { fixture: plain }))).toEqual([0, 5, 0]);
  });
  test("M99 in a main program is once round and no finding", () => {
    const result = run("G0 X0 Y0 Z0\nX1\nM99", { fixture: plain });
    expect([notes(result), result.complete, result.moves.length]).toEqual([[], true, 2]);
  });
  test("recursion without end stops with a finding", () => {
    const result = run("O1\nM98 P2\nM30\nO2\nM98 P2\nM99");
    expect([notes(result), result.complete]).toEqual([["call-endless depth 5"], false]);
  });
  test("parts that nothing calls", () => {
    const result = run("O1\nM98 P2\nM30\nO2\nM99\nO3\nG0 X1\nM30\nO4\n");
    expect(uncalledParts(result)).toEqual([2]);
    expect(last(run("O1\nM30\nO3\nG0 X1 Y1 Z1\nM30", { fixture: plain, entryPart: 1 }))).toEqual([1, 1, 1]);
  });
});

describe("macros", () => {
  test("G65 arguments I: A1 B2 I4 M13 Z26 → #1 #2 #4 #13 #26", () => {
    const result = run("G0 X0 Y0 Z0\nG65 P9 A1 B2 I4 M13 Z26\nM30\nO9\nG0 X[#1*1000+#2*100+#4] Y#13 Z#26\nM99", { fixture: plain });
    expect(last(result)).toEqual([1204, 13, 26]);
  });
  test("G65 arguments II: repeated I, J, K come in groups from #4", () => {
    const result = run("G0 X0 Y0 Z0\nG65 P9 A1 I4 J5 K6 I7 J8 K9\nM30\nO9\nG0 X[#4*100+#5*10+#6] Y[#7*100+#8*10+#9] Z#1\nM99", {
      fixture: plain,
    });
    expect(last(result)).toEqual([456, 789, 1]);
  });
  test("local variables belong to a call level; what was not given is empty", () => {
    const text = "#1=5\n#100=0\nG65 P9 B2\nG0 X#1 Y#100 Z0\nM30\nO9\nIF[#1 EQ #0] THEN #100=8\n#1=77\nM99";
    expect(last(run(text, { fixture: plain }))).toEqual([5, 8, 0]);
  });
  test("a subprogram works with its caller's variables", () => {
    expect(last(run("O1\n#1=5\nM98 P2\nG0 X#1 Y0 Z0\nM30\nO2\n#1=6\nM99", { fixture: plain }))).toEqual([6, 0, 0]);
  });
  test("G66 calls after every motion until G67, and not inside itself", () => {
    const text = "G0 X0 Y0 Z0\nG66 P9 Z-3\nX1\nX2\nG67\nX3\nM30\nO9\nG91 G1 Z#26 F100\nZ[-#26]\nG90 G0\nM99";
    expect(ends(run(text, { fixture: plain }))).toEqual([
      "rapid 0 0 0",
      "rapid 1 0 0",
      "feed 1 0 -3",
      "feed 1 0 0",
      "rapid 2 0 0",
      "feed 2 0 -3",
      "feed 2 0 0",
      "rapid 3 0 0",
    ]);
  });
  test("a word whose value is empty is left out", () => {
    expect(last(run("G0 X1 Y2 Z3\nG0 X#1 Y5", { fixture: plain }))).toEqual([1, 5, 3]);
  });
});

describe("control flow", () => {
  test("IF GOTO, GOTO, WHILE, nested", () => {
    const text = "#1=0\nG0 X0 Y0 Z0\nWHILE[#1 LT 2]DO1\n#2=0\nWHILE[#2 LT 2]DO2\nG91 X1\n#2=#2+1\nEND2\n#1=#1+1\nEND1\nG90 G0 Y1";
    expect(run(text, { fixture: plain }).moves).toHaveLength(6);
    expect(last(run("#1=3\nG0 X0 Y0 Z0\nN10 G91 X1\n#1=#1-1\nIF[#1 GT 0]GOTO10\nGOTO20\nX100\nN20 G90", { fixture: plain }))).toEqual([
      3, 0, 0,
    ]);
  });
  test("a jump to a label that is not there, and one that stands twice", () => {
    expect(notes(run("GOTO 10\nM30"))).toEqual(["call-target label-missing 1"]);
    expect(notes(run("GOTO 10\nN10\nN10\nM30"))).toEqual(["call-target label-twice 3"]);
    // The same N number in another program of the file is another block.
    expect(notes(run("O1\nGOTO 10\nN10\nM30\nO2\nN10\nM99"))).toEqual([]);
  });
  test("loops that cannot end stop with a finding, at once where nothing changes", () => {
    const still = run("N1 G0 X1 Y0 Z0\nGOTO 1", { fixture: plain });
    expect([notes(still), still.complete, still.steps.length]).toEqual([["call-endless loop 2"], false, 4]);
    const counting = run("#1=0\nWHILE[1 EQ 1]DO1\n#1=#1+1\nEND1", { bounds: { rounds: 50 } });
    expect([notes(counting), counting.complete]).toEqual([["call-endless rounds 4"], false]);
    const slow = run("#1=0\nN1 #1=#1+1\nIF[#1 LT 100000]GOTO1", { bounds: { steps: 500 } });
    expect([notes(slow).map((n) => n.split(" ").slice(0, 2).join(" ")), slow.complete]).toEqual([["call-endless steps"], false]);
  });
  test("a loop that the operator leaves by block skip", () => {
    const text = "N1 G0 X1 Y0 Z0\n/GOTO 1\nX2\nM30";
    expect([notes(run(text, { fixture: plain })), last(run(text, { fixture: plain }))]).toEqual([[], [2, 0, 0]]);
    expect(run(text, { fixture: plain, blockSkip: true }).moves).toHaveLength(2);
  });
  test("#3000 stops the program", () => {
    expect(run("G0 X0 Y0 Z0\nIF[1 EQ 1] THEN #3000=1\nX1", { fixture: plain }).moves).toHaveLength(1);
  });
});

describe("values that are not known", () => {
  test("a branch on an unknown is followed both ways and merged: what they disagree on is unknown", () => {
    const text = "G0 X0 Y0 Z0\nIF[#500 EQ 1]GOTO 10\nX5\nN10 Y7\nX1\nM30";
    const result = run(text, { fixture: plain });
    expect(ends(result)).toEqual(["rapid 0 0 0", "rapid 5 0 0", "rapid ? 7 0", "rapid 1 7 0"]);
    expect(notes(result)).toEqual([]);
    expect(result.complete).toBe(true);
  });
  test("variables that the branches set alike stay known", () => {
    const text = "IF[#500 EQ 1]GOTO 10\n#1=4\n#2=1\nGOTO 20\nN10 #1=4\n#2=2\nN20 G0 X#1 Y#2 Z0\nM30";
    expect(ends(run(text, { fixture: plain }))).toEqual(["rapid 4 ? 0"]);
  });
  test("a modal state on which branches disagree", () => {
    const text = "G0 X0 Y0 Z0\nIF[#500 EQ 1]GOTO 10\nG91\nN10 X5\nG90 X6\nM30";
    const result = run(text, { fixture: plain });
    expect(ends(result)).toEqual(["rapid 0 0 0", "rapid ? 0 0", "rapid 6 0 0"]);
    expect(result.moves[1]?.modal.uncertain).toEqual(["absolute"]);
  });
  test("different offsets: positions are unknown and belong to no station", () => {
    const used = fixture({ stored: { G54: [0, 0, 0], G55: [100, 0, 0] }, stations: [{ offset: "G54", at: [0, 0, 0] }] });
    const result = run("G0 X0 Y0 Z0\nIF[#500 EQ 1]GOTO 10\nG55\nN10 X5\nM30", { fixture: used });
    expect(ends(result)[1]).toBe("rapid ? 0 0");
    expect(result.moves[1]?.station).toBe(-1);
  });
  test("a loop whose end is unknown ends, and its counter is unknown behind it", () => {
    const text = "#1=0\nG0 X0 Y0 Z0\nWHILE[#1 LT #500]DO1\nX#1\n#1=#1+1\nEND1\nY#1\nG0 X1 Y1\nM30";
    const result = run(text, { fixture: plain });
    expect(result.complete).toBe(true);
    expect(notes(result)).toEqual([]);
    expect(last(result)).toEqual([1, 1, 0]);
    expect(movesOf(result, 7)[0]?.to.map(tidy)).toEqual([null, null, 0]);
  });
  test("a backward jump on an unknown", () => {
    const result = run("#1=0\nG0 X0 Y0 Z0\nN10 G91 X1\n#1=#1+1\nIF[#1 LT #500]GOTO 10\nG90 X4\nM30", { fixture: plain });
    expect([last(result), notes(result)]).toEqual([[4, 0, 0], []]);
  });
  test("branches that return from a macro at different places are merged in the caller", () => {
    const text = "O1\nG0 X0 Y0 Z0\nG65 P2\nY3\nM30\nO2\nIF[#500 EQ 1]GOTO 5\nX1\nM99\nN5 X2\nM99";
    expect(ends(run(text, { fixture: plain }))).toEqual(["rapid 0 0 0", "rapid 1 0 0", "rapid 2 0 0", "rapid ? 3 0"]);
  });
  test("an unknown condition on M30", () => {
    const result = run("G0 X0 Y0 Z0\nIF[#500 EQ 1]GOTO 9\nM30\nN9 X5\nM30", { fixture: plain });
    expect(last(result)).toEqual([5, 0, 0]);
  });
  test("a jump to an unknown label ends what can be looked at", () => {
    const result = run("GOTO #500\nM30");
    expect([result.complete, result.notChecked?.map((n) => n.why.key)]).toEqual([false, ["why.jump-value"]]);
  });
  test("an unknown increment loses one axis, not the others", () => {
    expect(ends(run("G0 X0 Y0 Z0\nG91 X#500 Y2\nG90 X1", { fixture: plain }))).toEqual(["rapid 0 0 0", "rapid ? 2 0", "rapid 1 2 0"]);
  });
});

describe("codes that are not known", () => {
  test("once for each code, with the other places related; the axes of the block become unknown", () => {
    const result = run("G0 X0 Y0 Z0\nG29 X5\nG90 G0 X1\nG29 Y5\nM77", { fixture: plain });
    expect(notes(result)).toEqual(["code-unknown code 2", "code-unknown code 5"]);
    expect(result.notes[0]?.related.map((r) => r.place.range.line)).toEqual([3]);
    expect(ends(result)).toEqual(["rapid 0 0 0", "rapid 1 0 0"]);
    expect(result.notes[0]?.message.args).toEqual({ code: "G29" });
  });
  test("what follows under its motion is unknown until a motion code is given", () => {
    const result = run("G1 X0 Y0 Z0 F9\nG12 X5\nX6\nG1 Y1\nX7", { fixture: plain });
    expect(ends(result)).toEqual(["feed 0 0 0", "feed ? 1 0", "feed 7 1 0"]);
  });
  test("an unknown M code changes nothing", () => {
    expect(last(run("G0 X0 Y0 Z0\nM77 X1", { fixture: plain }))).toEqual([1, 0, 0]);
  });
});

describe("units, feed, dwell, time", () => {
  test("inch", () => {
    const result = run("G20 G0 X1 Y0 Z0\nG1 X2 F10", { fixture: plain });
    expect(result.moves.at(-1)).toMatchObject({ feed: 254, to: [50.8, 0, 0] });
  });
  test("units not stated are the sidecar's", () => {
    const used = fixture({ units: "inch", stored: zero });
    const result = run("G0 X1 Y0 Z0", { fixture: used });
    expect(last(result)).toEqual([25.4, 0, 0]);
    expect(result.moves[0]?.modal.units).toBeUndefined();
  });
  test("a whole number counts increments, by profile", () => {
    const used = fixture({ profile: profile("iso", { wholeNumber: "increment" }), stored: zero });
    expect(last(run("G0 X1500 Y1.5 Z-200", { fixture: used }))).toEqual([1.5, 1.5, -0.2]);
  });
  test("G04: P in milliseconds, with a point in seconds, X in seconds; s by profile", () => {
    const seconds = (text: string, overrides = {}): (number | undefined)[] =>
      run(text, { fixture: fixture({ profile: profile("iso", overrides), stored: zero }) }).moves.map((m) => m.seconds);
    expect(seconds("G4 P500\nG4 P1.5\nG4 X0.5")).toEqual([0.5, 1.5, 0.5]);
    expect(seconds("G4 P2", { dwellWhole: "s" })).toEqual([2]);
  });
  test("G95 0.2 at 800 rpm is 160 mm/min; a full circle R25 at F500 takes 18.84956 s (derived)", () => {
    expect(run("G0 X0 Y0 Z0\nM3 S800\nG95 G1 X5 F0.2", { fixture: plain }).moves.at(-1)?.feed).toBeCloseTo(160, 9);
    expect(run("G0 X25 Y0 Z0\nG3 X25 Y0 I-25 F500", { fixture: plain }).moves.at(-1)?.seconds).toBeCloseTo(18.84956, 5);
  });
  test("a helix is timed along itself: R10, one turn, pitch 2, F300 (derived from NISTIR 6556, 2.1.2.5)", () => {
    expect(run("G0 X10 Y0 Z0\nG3 X10 Y0 Z-2 I-10 F300", { fixture: plain }).moves.at(-1)?.seconds).toBeCloseTo(12.572735, 6);
  });
  test("rapids at axis rates: dx 300 dy 400 at 500 mm/s, independent 0.8 s (derived)", () => {
    const rapid = { X: 30000, Y: 30000, Z: 30000 };
    const used = fixture({ stored: zero, machine: { rapid, rapidPath: "independent", toolChangeSeconds: 4.5 } });
    const result = run("T1 M6\nG0 X0 Y0 Z0\nX300 Y400", { fixture: used });
    expect(result.moves.at(-1)?.seconds).toBeCloseTo(0.8, 9);
    expect(result.seconds).toBeCloseTo(5.3, 9);
  });
});

describe("steps", () => {
  test("every step has its moves, also when compensation holds them back", () => {
    const used = fixture({ stored: zero, tools: [tool(1, 0, { DC: 10 })] });
    const result = run("G0 X0 Y0 Z0\nG41 D1\nG1 X20 Y20 F100\n(comment)\nM8\nX50\nY50\nG40 X0 Y0\nM30", { fixture: used });
    let at = 0;
    for (const step of result.steps) {
      expect(step.firstMove).toBe(at);
      expect(step.endMove).toBeGreaterThanOrEqual(at);
      at = step.endMove;
    }
    expect(at).toBe(result.moves.length);
    result.moves.forEach((m, i) => {
      const step = result.steps[m.step];
      expect(step !== undefined && step.firstMove <= i && i < step.endMove).toBe(true);
    });
    // The end of the lead-out is the programmed point, and the path is unbroken.
    expect(last(result)).toEqual([0, 0, 0]);
    for (let i = 1; i < result.moves.length; i++) expect(result.moves[i]?.from.map(tidy)).toEqual(result.moves[i - 1]?.to.map(tidy));
  });
  test("values of computed words, and block skip", () => {
    const result = run("#1=4\nG0 X#1 Y0 Z0\n/X9\nM30", { fixture: plain });
    expect([...(result.steps[1]?.values ?? [])]).toEqual([0, 4, 0, 0]);
    expect(result.steps[2]?.skipped).toBe(true);
    expect(result.steps[0]?.values).toBeUndefined();
  });
  test("no zero-length moves", () => {
    expect(run("G0 X0 Y0 Z0\nX0\nG1 X0 Y0 F9\nG91 X0", { fixture: plain }).moves).toHaveLength(1);
  });
});

describe("visits (contract-details 46)", () => {
  const rotary = { axis: "B", centre: [0, 0, 0], sense: 1, indexSeconds: 1, inOffset: false } as const;
  const used = fixture({
    stored: { G54: [0, 0, 0], G55: [100, 0, 0] },
    tools: [tool(1, 100), tool(2, 90)],
    machine: { rotary, home: { X: 0, Y: 0, Z: 0, rotary: 0 } },
    stations: [
      { offset: "G54", at: [0, 0, 0] },
      { offset: "G55", at: [100, 0, 0] },
    ],
  });
  test("one tool at one station; retracts to the reference belong to the visit they leave", () => {
    const text = [
      "G91 G28 Z0", // 1
      "T1 M6", // 2
      "G90 G0 B0", // 3
      "G54 X0 Y0", // 4
      "G43 H1 Z5", // 5
      "G1 Z-1 F100", // 6
      "G0 Z50", // 7
      "G55 X0 Y0", // 8
      "G1 Z-1", // 9
      "G91 G28 Z0", // 10
      "T2 M6", // 11
      "G0 G53 X5", // 12
      "G90 B90", // 13
      "G55 X1 Y1", // 14
      "M30",
    ].join("\n");
    const result = run(text, { fixture: used });
    expect(result.visits.map((v) => [v.tool, v.offset, v.station, tidy(v.rotary), v.moves, v.cuts])).toEqual([
      [1, "G54", 0, 0, 4, true],
      [1, "G55", 1, 0, 3, true],
      [2, "G55", 1, 90, 1, false],
    ]);
    const lineOf = (step: number): number => (result.steps[step]?.block.line ?? -1) + 1;
    expect(result.visits.map((v) => [lineOf(v.openedBy), lineOf(v.firstStep), lineOf(v.lastStep)])).toEqual([
      [4, 4, 7],
      [8, 8, 10],
      [14, 14, 14],
    ]);
    expect(movesOf(result, 1).map((m) => m.visit)).toEqual([-1]);
    expect(movesOf(result, 3).map((m) => m.visit)).toEqual([-1]);
    expect(movesOf(result, 12).map((m) => m.visit)).toEqual([-1]);
    expect(movesOf(result, 13).map((m) => m.visit)).toEqual([-1]);
  });
  test("motion under an inherited offset is a visit there, opened by the tool change", () => {
    const result = run("T1 M6\nG0 G54 X0 Y0\nT2 M6\nX5 Y5", { fixture: used });
    expect(result.visits.map((v) => [v.tool, v.offset, (result.steps[v.openedBy]?.block.line ?? 0) + 1])).toEqual([
      [1, "G54", 2],
      [2, "G54", 3],
    ]);
  });
});

describe("codes that another dialect knows", () => {
  test("an offset of another dialect: positions are unknown until an offset of this one is stated", () => {
    const result = run("G0 X0 Y0 Z0\nG59.1 X5 Y5\nG54 X1 Y1", { fixture: plain });
    expect(ends(result)).toEqual(["rapid 0 0 0", "rapid ? ? 0", "rapid 1 1 0"]);
    expect(result.moves[1]?.station).toBe(-1);
  });
  test("units of another dialect", () => {
    expect(ends(run("G0 X0 Y0 Z0\nG70 X5\nG21 X5", { fixture: plain }))).toEqual(["rapid 0 0 0", "rapid ? 0 0", "rapid 5 0 0"]);
  });
  test("absolute arc centres: the centre is unknown, the end is not, and no arc is called wrong", () => {
    const result = run("G0 X0 Y0 Z0\nG90.1\nG2 X10 Y0 I5 J0 F100", { fixture: plain });
    expect(notes(result)).toEqual(["code-unknown code 2"]);
    expect(ends(result)[1]).toBe("arc 10 0 0");
    expect(result.moves[1]?.sweep).toBeNaN();
  });
  test("an unknown code beside a motion code: this motion is unknown, the next is not", () => {
    expect(ends(run("G0 X0 Y0 Z0\nG1 G112 X5 F9\nY5\nX6", { fixture: plain }))).toEqual(["rapid 0 0 0", "feed ? 5 0", "feed 6 5 0"]);
  });
});

describe("details of blocks", () => {
  test("the motion of a block comes before its call", () => {
    expect(ends(run("O1\nG0 X0 Y0 Z0\nX5 M98 P2\nM30\nO2\nY5\nM99", { fixture: plain }))).toEqual([
      "rapid 0 0 0",
      "rapid 5 0 0",
      "rapid 5 5 0",
    ]);
  });
  test("a register that only one branch writes keeps the axes that agree", () => {
    const text = "IF[#500 EQ 1]GOTO 10\nG10 L2 P1 X5\nN10 G0 G54 X0 Y1 Z2\nM30";
    expect(ends(run(text, { fixture: plain }))).toEqual(["rapid ? 1 2"]);
  });
  test("a rotary word that repeats the angle does not end the visit", () => {
    const rotary = { axis: "B", centre: [0, 0, 0], sense: 1, indexSeconds: 1, inOffset: false } as const;
    const result = run("G0 X0 Y0 Z0 B0\nX1 Y1 B0\nX2", { fixture: fixture({ stored: zero, machine: { rotary } }) });
    expect(result.visits.map((v) => [v.rotary, v.moves])).toEqual([[0, 3]]);
  });
  test("block skip inside a block leaves out the words behind it", () => {
    expect(last(run("G0 X0 Y0 Z0\nX1 /Y2", { fixture: plain, blockSkip: true }))).toEqual([1, 0, 0]);
    expect(last(run("G0 X0 Y0 Z0\nX1 /Y2", { fixture: plain }))).toEqual([1, 2, 0]);
  });
});

describe("what could not be read", () => {
  test("its axes are unknown afterwards, and nothing more is said than what the reader says", () => {
    const result = run("G0 X0 Y0 Z0\nG1 X1.2.3 Y5 F9\nG1 Y=R1\nG3 X0 Y=R1 I0\nG1 X2 Y3 Z4", { fixture: plain });
    expect(ends(result)).toEqual(["rapid 0 0 0", "feed ? 5 0", "arc 0 ? 0", "feed 2 3 4"]);
    expect(notes(result).map((n) => n.split(" ")[0])).toEqual(["syntax", "syntax", "syntax"]);
    expect(result.notes.map((n) => n.place.range.line)).toEqual([1, 2, 3]);
  });
});

describe("more about unknowns", () => {
  test("IF THEN on an unknown: words and assignments behind it are done or not", () => {
    const result = run("G0 X0 Y0 Z0\n#1=3\nIF[#500 EQ 1] THEN #1=4\nIF[#500 EQ 1] THEN G91\nX#1 Y5\nG90 X1 Y1", { fixture: plain });
    expect(ends(result)).toEqual(["rapid 0 0 0", "rapid ? ? 0", "rapid 1 1 0"]);
    expect(result.moves[1]?.modal.uncertain).toEqual(["absolute"]);
  });
  test("P in an arc could count turns: end and centre stay, the sweep is unknown", () => {
    const result = run("G0 X10 Y0 Z0\nG3 X10 Y0 Z-6 I-10 P3 F100", { fixture: plain });
    expect(ends(result)[1]).toBe("arc 10 0 -6");
    expect(result.moves[1]?.sweep).toBeNaN();
    expect(result.notChecked?.map((n) => n.why.key)).toEqual(["why.turns"]);
  });
  test("a tool register that is assigned as a variable is unknown", () => {
    expect(last(run("#2001=5\nT1 M6\nG0 X0 Y0 G43 H1 Z10", { fixture: plain }))).toEqual([0, 0, null]);
  });
  test("a rotary word in a cycle block indexes first, at rapid", () => {
    const rotary = { axis: "B", centre: [0, 0, 0], sense: 1, indexSeconds: 2, inOffset: false } as const;
    const result = run("G0 X0 Y0 Z50 B0\nG99 G81 X1 Y1 Z-5 R2 B90 F100", { fixture: fixture({ stored: zero, machine: { rotary } }) });
    expect(result.moves.slice(1).map((m) => [m.kind, m.rotaryTo])).toEqual([
      ["index", 90],
      ["rapid", 90],
      ["rapid", 90],
      ["feed", 90],
      ["rapid", 90],
    ]);
    expect(result.moves[1]?.seconds).toBe(2);
  });
  test("cutting while the axis turns stays in its visit", () => {
    const rotary = { axis: "A", centre: [0, 0, 0], sense: 1, indexSeconds: 2, inOffset: false } as const;
    const result = run("G0 X0 Y0 Z0 A0\nG1 X5 A10 F100\nX9 A20\nG0 Z50", { fixture: fixture({ stored: zero, machine: { rotary } }) });
    expect(result.moves.map((m) => m.visit)).toEqual([0, 0, 0, 1]);
  });
});
