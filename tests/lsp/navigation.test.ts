import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { applyEdits, buildServer, plate } from "../support/built-server.js";
import { LanguageClient } from "../support/conforming-client.js";

let built: { readonly server: string; remove(): void };
let client: LanguageClient;
beforeAll(() => {
  built = buildServer();
}, 60_000);
afterAll(() => built.remove());
afterEach(async () => {
  expect(await client.stop()).toBe(0);
});

interface Place {
  readonly uri: string;
  readonly range: { readonly start: { line: number; character: number }; readonly end: { line: number; character: number } };
}
const short = (p: { uri: string; range: Place["range"] }) => `${p.uri.split("/").at(-1)}:${p.range.start.line + 1}`;

/** A main program with a label, a loop and variables; one subprogram inside, one in a file of its own. */
const main = `%
O100 (VALVE BODY)
G21 G17 G40 G49 G80 G90
#101 = 3
#1 = 2
N10 G65 P2000 A#101 B5.
#101 = #101 - 1
IF [#101 GT 0] GOTO 10
M98 P300
GOTO 20
N20 M30
O300 (SHARED MOVE)
#1 = 7
G0 X#1
M99
%
`;
const two = `O2000 (POCKET)
#102 = #1 + #101
G0 X#102 Y#2
M98 P300
M99
`;
const files = {
  "shop/main.nc": main,
  "shop/O2000.nc": two,
  "shop/O300.nc": "O300 (ANOTHER)\nM99\n",
  "shop/lone.nc": "O9 (ALONE)\n#101 = 4\nM30\n",
};

async function open(name = "shop/main.nc", more: Record<string, string> = {}): Promise<void> {
  client = await LanguageClient.start(built.server, { ...files, ...more });
  await client.open(name, { ...files, ...more }[name] ?? "");
  await client.until("looked at", () => client.statuses.get(client.uri(name))?.state === "not checked");
}
const request = <T>(method: string, line: number, character: number, extra: object = {}) =>
  client.request<T>(`textDocument/${method}`, "shop/main.nc", line, character, extra);
const references = async (line: number, character: number, includeDeclaration = true) =>
  (await request<Place[]>("references", line, character, { context: { includeDeclaration } })).map(short).sort();

describe("labels, programs and variables", () => {
  it("leads from a jump to its label, from a call to the file of its program, from a variable to where it was set last", async () => {
    await open();
    expect((await request<Place[]>("definition", 7, 22)).map(short)).toEqual(["main.nc:6"]);
    expect((await request<Place[]>("definition", 5, 10)).map(short)).toEqual(["O2000.nc:1"]);
    // M98 P300 is found in the file itself, before the file of that name.
    expect((await request<Place[]>("definition", 8, 6)).map(short)).toEqual(["main.nc:12"]);
    expect((await request<Place[]>("definition", 5, 17)).map(short)).toEqual(["main.nc:4"]);
  });

  it("finds where a label, a program, a shared and a local variable are written", async () => {
    await open();
    expect(await references(5, 1)).toEqual(["main.nc:6", "main.nc:8"]);
    expect(await references(5, 1, false)).toEqual(["main.nc:8"]);
    // Run from here, the call in O2000.nc leads to this file first.
    expect(await references(11, 2)).toEqual(["O2000.nc:4", "main.nc:12", "main.nc:9"]);
    // lone.nc uses #101 too, but never runs with this program.
    expect(await references(3, 2)).toEqual(["O2000.nc:2", "main.nc:4", "main.nc:6", "main.nc:7", "main.nc:7", "main.nc:8"]);
    // #1 of O100 is not the #1 of O300 or of O2000.
    expect(await references(4, 1)).toEqual(["main.nc:5"]);
    expect(await references(12, 1)).toEqual(["main.nc:13", "main.nc:14"]);
  });

  it("highlights in the file, telling what writes", async () => {
    await open();
    const found = await request<{ range: Place["range"]; kind: number }[]>("documentHighlight", 7, 6);
    expect(found.map((h) => [h.range.start.line, h.kind]).sort()).toEqual([
      [3, 3],
      [5, 2],
      [6, 2],
      [6, 3],
      [7, 2],
    ]);
  });

  it("shows what calls and what is called", async () => {
    await open();
    type Item = { name: string; detail: string; uri: string };
    const [item] = await request<Item[]>("prepareCallHierarchy", 5, 10);
    expect(item).toMatchObject({ name: "O2000", detail: "POCKET" });
    const into = await client.connection.sendRequest<{ from: Item; fromRanges: unknown[] }[]>("callHierarchy/incomingCalls", { item });
    expect(into.map((e) => [e.from.name, e.fromRanges.length])).toEqual([["O100", 1]]);
    const [own] = await request<Item[]>("prepareCallHierarchy", 1, 1);
    const out = await client.connection.sendRequest<{ to: Item }[]>("callHierarchy/outgoingCalls", { item: own });
    expect(out.map((e) => e.to.name)).toEqual(["O2000", "O300"]);
    const within = await client.connection.sendRequest<{ to: Item }[]>("callHierarchy/outgoingCalls", { item });
    // From the file O2000.nc the call of 300 leads to the main file first, as the run has it.
    expect(within.map((e) => e.to.uri)).toEqual([client.uri("shop/main.nc")]);
  });

  it("links calls into other files, and the comment that names the sidecar", async () => {
    await open("shop/main.nc", { "shop/main.nc": main.replace("(VALVE BODY)", "(VALVE BODY)\n(FIXTURE: valve.fixture.json)") });
    const links = await client.ask<{ range: Place["range"]; target: string }[]>("textDocument/documentLink", "shop/main.nc");
    expect(links.map((l) => l.target)).toEqual([client.uri("shop/valve.fixture.json"), client.uri("shop/O2000.nc")]);
  });
});

describe("rename", () => {
  type Edit = { documentChanges: { textDocument: { uri: string }; edits: { range: Place["range"]; newText: string }[] }[] };
  const rename = (line: number, character: number, newName: string) => request<Edit>("rename", line, character, { newName });
  const edited = (edit: Edit, name: string, text: string) =>
    applyEdits(text, edit.documentChanges.find((d) => d.textDocument.uri === client.uri(name))?.edits ?? []);

  it("renames a label with its jumps, and keeps what stands around the number", async () => {
    await open();
    const edit = await rename(7, 22, "N15");
    expect(edited(edit, "shop/main.nc", main)).toBe(main.replace("N10 ", "N15 ").replace("GOTO 10", "GOTO 15"));
  });

  it("renames a variable in all files that run together", async () => {
    await open();
    const edit = await rename(3, 2, "#150");
    expect(edited(edit, "shop/main.nc", main)).toBe(main.replaceAll("#101", "#150"));
    expect(edited(edit, "shop/O2000.nc", two)).toBe(two.replaceAll("#101", "#150"));
    expect(edit.documentChanges).toHaveLength(2);
  });

  it("renames a program of the file with its calls", async () => {
    await open();
    const edit = await rename(8, 6, "310");
    expect(edited(edit, "shop/main.nc", main)).toBe(main.replace("P300", "P310").replace("O300", "O310"));
    expect(edited(edit, "shop/O2000.nc", two)).toBe(two.replace("P300", "P310"));
  });

  it("says what can be renamed, and why something cannot", async () => {
    await open();
    expect(await request("prepareRename", 5, 1)).toEqual({ start: { line: 5, character: 1 }, end: { line: 5, character: 3 } });
    await expect(request("prepareRename", 2, 1)).rejects.toThrow(/Only N labels, O numbers and variables/);
    await expect(rename(5, 1, "20")).rejects.toThrow("N20 stands already in line 11.");
    await expect(rename(5, 1, "here")).rejects.toThrow("whole number");
    await expect(rename(3, 2, "102")).rejects.toThrow("#102 is used already in line 2 of O2000.nc.");
    await expect(rename(3, 2, "1")).rejects.toThrow("#1 is local to one call");
    await expect(rename(8, 6, "2000")).rejects.toThrow("O2000 is in O2000.nc already.");
    await expect(rename(5, 10, "2001")).rejects.toThrow("rename the file together with the number");
    // #1 of the macro is what the call writes after A.
    await client.open("shop/O2000.nc", two);
    await client.until("looked at", () => client.statuses.get(client.uri("shop/O2000.nc"))?.state === "not checked");
    await expect(client.request("textDocument/rename", "shop/O2000.nc", 1, 8, { newName: "5" })).rejects.toThrow(
      "#1 gets its value from A of the call in line 6 of main.nc.",
    );
  });

  it("refuses where numbers are computed", async () => {
    await open("shop/main.nc", { "shop/main.nc": main.replace("GOTO 20", "GOTO [10 + #1]") });
    await expect(rename(5, 1, "15")).rejects.toThrow("The jump in line 10 is computed");
    await client.edit("shop/main.nc", 3, 0, 4, "#[#1 + 99]");
    await expect(rename(6, 2, "150")).rejects.toThrow("Line 4 of main.nc computes the number of a variable");
  });
});

describe("between program and sidecar", () => {
  it("finds the visits of a station in open programs, from the sidecar and from the offset", async () => {
    client = await LanguageClient.start(built.server, plate.files);
    await client.open(plate.program, plate.text);
    await client.open(plate.sidecar, plate.files[plate.sidecar]);
    await client.until("checked", () => client.statuses.get(client.uri(plate.program))?.state === "checked");
    const lines = plate.text.split("\n");
    const rows = plate.files[plate.sidecar].split("\n");
    const row = rows.findIndex((l) => l.includes('"G54.1 P7"'));
    const column = (rows[row] ?? "").indexOf('"G54.1 P7"') + 2;
    const visits = await client.request<Place[]>("textDocument/references", plate.sidecar, row, column, {
      context: { includeDeclaration: false },
    });
    // The entry is repeated six times; each of P7 to P12 is selected by four tools: 24 blocks of the main program.
    const selecting = lines.flatMap((l, i) => (/^G54\.1 P(?:[789]|1[012])$|^G00 G54\.1 P7 /.test(l) ? [i] : []));
    expect(visits.map((v) => v.range.start.line).sort((a, b) => a - b)).toEqual(selecting);
    const at = lines.indexOf("G54.1 P7");
    const places = await client.request<Place[]>("textDocument/references", plate.program, at, 2, {
      context: { includeDeclaration: true },
    });
    expect(places.map((p) => p.uri)).toContain(client.uri(plate.sidecar));
    expect(places.filter((p) => p.uri === client.uri(plate.program))).toHaveLength(5);
    const definition = await client.request<Place[]>("textDocument/definition", plate.sidecar, row, (rows[row] ?? "").indexOf("op20") + 1);
    expect(definition.map(short)).toEqual([`plate.fixture.json:${rows.findIndex((l) => l.includes('"op20": {')) + 1}`]);
    const links = await client.ask<{ target: string }[]>("textDocument/documentLink", plate.sidecar);
    expect(links.map((l) => l.target)).toEqual([
      client.uri("elements/grid-50.elements.json"),
      client.uri("elements/tools.elements.json"),
      client.uri("demo/plate/plate.offsets.nc"),
    ]);
  });

  it("finds the users of a station, an offset, a tool and a jaw in programs that are not open", async () => {
    const sidecar = plate.files[plate.sidecar];
    const all: Record<string, string> = {
      ...plate.files,
      // Two more programs of the same sidecar, one deeper; one is called by the other and visits nothing by itself.
      "demo/plate/rework.d/rework.nc": "%\nO2080 (REWORK B3)\nG21 G90\nT5 M06\nG54.1 P9 G0 X0 Y0\nM98 P2081\nM30\n%\n",
      "demo/plate/rework.d/O2081": "O2081 (CALLED)\nG0 X1 Y1\nM99\n",
      // These have sidecars of their own, with the same registers.
      "other/other.nc": "%\nO1\nG21 G90\nT5 M06\nG54.1 P9 G0 X0 Y0\nM30\n%\n",
      "other/other.fixture.json": sidecar
        .replaceAll("../../elements", "../elements")
        .replace("plate.offsets.nc", "../demo/plate/plate.offsets.nc"),
    };
    client = await LanguageClient.start(built.server, all);
    const ask = async (name: string, word: string, behind = 1, includeDeclaration = false) => {
      const rows = (all[name] ?? "").split("\n");
      const row = rows.findIndex((l) => l.includes(word));
      const found = await client.request<Place[]>("textDocument/references", name, row, (rows[row] ?? "").indexOf(word) + behind, {
        context: { includeDeclaration },
      });
      return found.map(short).sort();
    };
    await client.open(plate.sidecar, sidecar);
    const lines = plate.text.split("\n");
    const at = (test: RegExp) => lines.flatMap((l, i) => (test.test(l) ? [`lever.nc:${i + 1}`] : []));
    // Station entry B is P7 to P12; the third of them is P9.
    expect(await ask(plate.sidecar, '"id": "B"')).toEqual([...at(/^G54\.1 P(?:[789]|1[012])$|^G00 G54\.1 P7 /), "rework.nc:5"].sort());
    expect(await ask(plate.sidecar, '"G59": "table forward')).toEqual([]);
    // The trim of P4 belongs to that register alone.
    expect(await ask(plate.sidecar, '"trim": { "G54.1 P4"', 12)).toEqual(["plate.fixture.json:37", ...at(/^G54\.1 P4$/)].sort());
    // A jaw: the stations that name it, and with its description the file of elements.
    const row = sidecar.split("\n").findIndex((l) => l.includes('"fixedJaw": "fj60-soft"')) + 1;
    expect(await ask(plate.sidecar, '"fj60-soft"', 1, true)).toEqual(["grid-50.elements.json:7", `plate.fixture.json:${row}`].sort());
    // A tool, asked in the file that both sidecars include: all three programs call it.
    const tools = "elements/tools.elements.json";
    await client.open(tools, all[tools] ?? "");
    expect(await ask(tools, '"5": { "name": "end mill 10"')).toEqual([...at(/^N500 T5 M06/), "other.nc:4", "rework.nc:4"].sort());
  });

  it("leads from a jaw to the block that meets it", async () => {
    // The tool point goes down at machine X -850 - 30, Y -385 - 45, Z -392 - 20. The fixed jaw of A1 is about X -880, from
    // Y -420 + 15 - 40 to -420 + 15, and its top is at Z -450 + 45.
    const program =
      "%\nO2090\nG21 G90 G17 G40 G80\nT2 M06\nG54.1 P1 G0 X-30. Y-45. S1000 M3\nG43 H2 Z50.\nG1 Z-20. F200.\nG0 Z50.\nM30\n%\n";
    const all = { ...plate.files, "demo/plate/jaw.nc": program };
    client = await LanguageClient.start(built.server, all);
    await client.open("demo/plate/jaw.nc", program);
    await client.open(plate.sidecar, plate.files[plate.sidecar]);
    await client.until("clamp-cut", () => client.rules("demo/plate/jaw.nc").includes("clamp-cut"));
    const rows = plate.files[plate.sidecar].split("\n");
    const row = rows.findIndex((l) => l.includes('"fixedJaw": "fj60",'));
    const found = await client.request<Place[]>("textDocument/references", plate.sidecar, row, (rows[row] ?? "").indexOf('"fj60"') + 1, {
      context: { includeDeclaration: false },
    });
    expect(found.map(short)).toEqual([`plate.fixture.json:${row + 1}`, "jaw.nc:7"]);
  });
});
