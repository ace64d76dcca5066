import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { LanguageClient } from "../support/conforming-client.js";

const root = resolve(import.meta.dirname, "../..");
const demo = (name: string) => readFileSync(join(root, "fixtures-config", name), "utf8");
const files = {
  "elements/grid-50.elements.json": demo("elements/grid-50.elements.json"),
  "elements/tools.elements.json": demo("elements/tools.elements.json"),
  "demo/plate/plate.fixture.json": demo("demo/plate/plate.fixture.json"),
  "demo/plate/plate.offsets.nc": demo("demo/plate/plate.offsets.nc"),
};
const program = "demo/plate/lever.nc";
const sidecar = "demo/plate/plate.fixture.json";
const text = demo(program);
const lines = text.split("\n");
const lineOf = (part: string, from = 0) => lines.findIndex((l, i) => i >= from && l.includes(part));

let built: string;
let server: string;
let client: LanguageClient;

beforeAll(() => {
  built = mkdtempSync(join(tmpdir(), "jawline-built-"));
  execFileSync(process.execPath, [join(root, "server/build.mjs"), "--into", built], { stdio: "inherit" });
  server = join(built, "server/dist/server.js");
}, 60_000);
afterAll(() => rmSync(built, { recursive: true, force: true }));
afterEach(async () => {
  expect(await client.stop()).toBe(0);
});

const grave = (name: string) => (client.diagnostics.get(client.uri(name)) ?? []).filter((d) => (d.severity ?? 1) <= 2);

async function openProgram(): Promise<void> {
  client = await LanguageClient.start(server, files);
  await client.open(program, text);
  await client.until("checked", () => client.statuses.get(client.uri(program))?.state === "checked");
}

describe("the language server as a process", () => {
  it("says which sidecar is in force and finds nothing in the clean demo", async () => {
    await openProgram();
    expect(client.statuses.get(client.uri(program))?.fixture).toBe(client.uri(sidecar));
    expect(grave(program)).toEqual([]);
  });

  it("marks a wrong P while it is typed and unmarks it when it is right again", async () => {
    await openProgram();
    const line = lineOf("G54.1 P12");
    await client.edit(program, line, 7, 9, "21");
    const diagnostic = await client.until("the finding", () =>
      client.diagnostics.get(client.uri(program))?.find((d) => d.code === "offset-unmapped"),
    );
    expect(diagnostic.range.start.line).toBe(line);
    expect(diagnostic.message).toContain("G54.1 P21");
    expect(diagnostic.source).toBe("jawline");
    await client.edit(program, line, 7, 9, "12");
    await client.until("no finding", () => grave(program).length === 0);
  });

  it("checks the open program again when the sidecar is edited, and shows the sidecar's own findings in it", async () => {
    await openProgram();
    const fixture = files[sidecar];
    await client.open(sidecar, fixture);
    const rows = fixture.split("\n");
    const line = rows.findIndex((l) => l.includes('"G54.1 P7"'));
    const column = (rows[line] ?? "").indexOf("P7") + 1;
    await client.edit(sidecar, line, column, column + 1, "8");
    await client.until("P7 is unmapped now", () => client.rules(program).includes("offset-unmapped"));
    await client.edit(sidecar, line, column, column + 1, "7");
    await client.until("mapped again", () => grave(program).length === 0);
    const columns = rows.findIndex((l) => l.includes('"columns": 18'));
    const at = (rows[columns] ?? "").indexOf('"columns"');
    await client.edit(sidecar, columns, at, at + 9, '"colums"');
    const found = await client.until("fixture-format", () =>
      client.diagnostics.get(client.uri(sidecar))?.find((d) => d.code === "fixture-format" && String(d.message).includes("columns")),
    );
    expect(found.range.start).toEqual({ line: columns, character: at });
  });

  it("checks again when a file on disk changes that the program depends on", async () => {
    client = await LanguageClient.start(server, files);
    // Without its own G10 block the program runs on what the control holds, which is the offset file.
    await client.open(program, text.replace(/^M98 P2071.*$/m, ""));
    await client.until("checked", () => client.statuses.get(client.uri(program))?.state === "checked");
    expect(grave(program)).toEqual([]);
    client.write("demo/plate/plate.offsets.nc", files["demo/plate/plate.offsets.nc"].replace("P3 X-5", "P3 X-6"));
    await client.connection.sendNotification("workspace/didChangeWatchedFiles", {
      changes: [{ uri: client.uri("demo/plate/plate.offsets.nc"), type: 2 }],
    });
    await client.until("offset-value at the offset file", () => client.rules("demo/plate/plate.offsets.nc").includes("offset-value"));
  });

  it("hovers: the part at an offset, positions of an axis word, tool, code", async () => {
    await openProgram();
    const hover = async (line: number, column: number) =>
      (await client.request<{ contents: { value: string } } | null>("textDocument/hover", program, line, column))?.contents.value ?? "";
    const offset = await hover(lineOf("G54.1 P4"), 3);
    // Station A4: base zero -930 + 50 + 3·150 + 30 = -400, plus the recorded trim 0.015 (arithmetic by hand from the sidecar).
    for (const part of ["A4", "damper lever", "op10", "L-207", "fj60", "notch 8", "-399.985", "face mill 50"])
      expect(offset).toContain(part);
    const axis = await hover(lineOf("X-95.", lineOf("O2110")), 1);
    // Face of A1: part zero -850, program X-95 → -945; base zero Z -450 + 25 + 33 = -392.
    for (const part of ["-945", "-385", "-392", "station A1"]) expect(axis).toContain(part);
    expect(await hover(lineOf("T4 M06"), 5)).toContain("drill 6.8");
    expect(await hover(lineOf("G83"), 5)).toContain("G83");
  });

  it("goes from an offset to its station, from a call to its program, from a tool to the sidecar", async () => {
    await openProgram();
    const go = async (line: number, column: number) =>
      (await client.request<{ uri: string; range: { start: { line: number } } }[] | null>(
        "textDocument/definition",
        program,
        line,
        column,
      )) ?? [];
    const station = await go(lineOf("G54.1 P8"), 3);
    expect(station.map((l) => l.uri)).toEqual([client.uri(sidecar)]);
    const call = await go(lineOf("M98 P2140"), 6);
    expect(call[0]?.range.start.line).toBe(lineOf("O2140"));
    expect((await go(lineOf("T2 M06"), 5))[0]?.uri).toBe(client.uri("elements/tools.elements.json"));
  });

  it("lists tools and visits in the outline, children inside their parents", async () => {
    await openProgram();
    type Entry = { name: string; range: { start: { line: number }; end: { line: number } }; children?: Entry[] };
    const symbols = await client.connection.sendRequest<Entry[]>("textDocument/documentSymbol", {
      textDocument: { uri: client.uri(program) },
    });
    const main = symbols.find((s) => s.name === "O2070");
    const tools = main?.children ?? [];
    expect(tools.map((t) => t.name)).toEqual(["T1 face mill 50", "T2 end mill 16", "T3 spot drill 10", "T4 drill 6.8", "T5 end mill 10"]);
    expect(tools[3]?.children?.map((c) => c.name.slice(0, 2))).toEqual(["A1", "A2", "A3", "A4", "A5", "A6"]);
    const inside = (parent: Entry): void => {
      for (const child of parent.children ?? []) {
        expect(child.range.start.line).toBeGreaterThanOrEqual(parent.range.start.line);
        expect(child.range.end.line).toBeLessThanOrEqual(parent.range.end.line);
        inside(child);
      }
    };
    symbols.forEach(inside);
  });

  it("stays up with bytes that are no program, a broken sidecar and a folder that is gone", async () => {
    client = await LanguageClient.start(server, { "part.fixture.json": '{ "format": 1, ', "part.nc": "" });
    await client.open("part.nc", "\u0000\ufffd%%%((( G0X--1 #[[[ \r\r\n IF[ O O O\n");
    await client.until("an answer", () => client.statuses.get(client.uri("part.nc"))?.state === "not checked");
    await client.open("part.fixture.json", '{ "format": 1, ');
    await client.until("a finding in the sidecar", () => client.rules("part.fixture.json").includes("fixture-format"));
    expect(await client.request("textDocument/hover", "nowhere.nc", 0, 0)).toBeNull();
  });

  it("forgets a closed document's findings", async () => {
    client = await LanguageClient.start(server, files);
    await client.open(program, text.replace("G54.1 P12", "G54.1 P77"));
    await client.until("the finding", () => client.rules(program).includes("offset-unmapped"));
    await client.close(program);
    await client.until("none", () => client.rules(program).length === 0);
  });
});
