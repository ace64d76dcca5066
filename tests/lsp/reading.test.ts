import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { buildServer, plate } from "../support/built-server.js";
import { LanguageClient, modern } from "../support/conforming-client.js";

const { program, sidecar, text, files } = plate;
const lines = text.split("\n");
const lineOf = (part: string, from = 0) => lines.findIndex((l, i) => i >= from && l.includes(part));

let built: { readonly server: string; remove(): void };
let client: LanguageClient;
beforeAll(() => {
  built = buildServer();
}, 60_000);
afterAll(() => built.remove());
afterEach(async () => {
  expect(await client.stop()).toBe(0);
});

interface Range {
  readonly start: { readonly line: number; readonly character: number };
  readonly end: { readonly line: number; readonly character: number };
}

async function open(changed = text, options: Parameters<typeof LanguageClient.start>[3] = {}): Promise<void> {
  client = await LanguageClient.start(built.server, files, {}, options);
  await client.open(program, changed);
  await client.until("checked", () => client.statuses.get(client.uri(program))?.state === "checked");
}
const whole: Range = { start: { line: 0, character: 0 }, end: { line: 1000, character: 0 } };

describe("inlay hints", () => {
  type Hint = { position: { line: number; character: number }; label: string };
  const hints = async (name: string = program) =>
    (await client.ask<Hint[]>("textDocument/inlayHint", name, { range: whole })).map((h) => [
      h.position.line,
      h.position.character,
      h.label,
    ]);

  it("tell the station behind an offset, the machine's Z behind a retract and the value of an expression", async () => {
    // A 7 that comes out of an expression: P[6+1] is station B1.
    const changed = text.replace("G54.1 P7\n", "#100=6\nG54.1 P[#100+1]\n");
    await open(changed);
    const found = await hints();
    const at = lineOf("G54.1 P4");
    expect(found).toContainEqual([at, 8, "A4 damper lever op10"]);
    const computed = changed.split("\n").findIndex((l) => l.includes("#100+1"));
    expect(found).toContainEqual([computed, 15, "= 7"]);
    // G28 Z0 ends at home, 0 on the machine's scale; Z50 over op10: -392 + 50 + tool length 95.
    const home = lineOf("G91 G28 Z0. M05");
    expect(found).toContainEqual([home + 1, 11, "machine Z 0"]);
    const retract = lineOf("G00 Z50.", lineOf("O2110")) + 1;
    expect(found).toContainEqual([retract, 8, "machine Z -247"]);
  });

  // The face mill goes to A1 and then counts to A6 (by hand: #1 is 1, and 1 more in each of six rounds).
  const counting = [
    "#1=1",
    "G00 G54.1 P1 X35. Y0.",
    "G43 H1 Z50. M08",
    "WHILE [#1 LE 6] DO1",
    "G54.1 P#1",
    "M98 P2110",
    "#1=#1+1",
    "END1",
    "G54.1 P7",
  ].join("\n");
  const first = text.indexOf("G00 G54.1 P1 X35.");
  const looped = text.slice(0, first) + counting + text.slice(text.indexOf("G54.1 P7") + "G54.1 P7".length);
  const loopLine = (part: string) => looped.split("\n").findIndex((l) => l.includes(part));

  it("name every station that a block in a loop goes to, and what its variables count", async () => {
    await open(looped);
    const found = await hints();
    expect(found).toContainEqual([loopLine("G54.1 P#1"), 9, "A1, A2 … A6 damper lever op10"]);
    expect(found).toContainEqual([loopLine("G54.1 P#1"), 9, "= 1, 2, 3 …"]);
    expect(found).toContainEqual([loopLine("#1=#1+1"), 7, "= 2, 3, 4 …"]);
    const hover = async (part: string, column: number) => {
      const shown = await client.request<{ contents: { value: string } } | null>("textDocument/hover", program, loopLine(part), column);
      return shown?.contents.value ?? "";
    };
    const offset = await hover("G54.1 P#1", 1);
    expect(offset).toContain("runs 6 times and selects 6 work offsets");
    for (const id of [1, 2, 3, 4, 5, 6]) expect(offset).toContain(`**G54.1 P${id}** · A${id} · damper lever · op10`);
    expect(await hover("G54.1 P#1", 8)).toContain("**#1** = 1, 2, 3, 4, 5, 6");
    // Left of the sign what it gets, right of it what it had; the condition is looked at once more than the loop goes round.
    expect(await hover("#1=#1+1", 1)).toContain("**#1** = 2, 3, 4, 5, 6, 7");
    expect(await hover("#1=#1+1", 4)).toContain("**#1** = 1, 2, 3, 4, 5, 6");
    expect(await hover("WHILE", 8)).toContain("**#1** = 1, 2, 3, 4, 5, 6, 7");
    expect(await hover("#1=1", 1)).toContain("**#1** = 1");
  });

  it("fold the loop although a visit begins before it", async () => {
    await open(looped);
    const folds = await client.ask<{ startLine: number; endLine: number }[]>("textDocument/foldingRange", program);
    expect(folds.map((f) => [f.startLine, f.endLine])).toContainEqual([loopLine("WHILE"), loopLine("END1")]);
    for (const a of folds)
      for (const b of folds)
        expect(a.startLine < b.startLine && b.startLine <= a.endLine && a.endLine < b.endLine, JSON.stringify([a, b])).toBe(false);
  });

  it("can each be switched off", async () => {
    await open(text, { settings: { inlayHints: { offsets: false, machineZ: false } } });
    expect(await hints()).toEqual([]);
  });

  it("show the computed position of a station in the sidecar", async () => {
    await open();
    await client.open(sidecar, files[sidecar]);
    const found = await client.until("hints", () => client.published.has(client.uri(sidecar)) && hints(sidecar));
    // A1: X -930 + 50 + 30, Y -470 + 50 + 15 + 20, Z -450 + 25 + 33 (by hand from the sidecar and the elements).
    expect((await found).map((h) => h[2])).toEqual(["X -850 Y -385 Z -392 (A1; 5 more to A6)", "X -852 Y -237 Z -384 (B1; 5 more to B6)"]);
  });

  it("stay beside their blocks while a newer text is still being checked", async () => {
    await open();
    await client.edit(program, 0, 0, 0, "(ONE LINE MORE)\n");
    const found = await hints();
    expect(found).toContainEqual([lineOf("G54.1 P4") + 1, 8, "A4 damper lever op10"]);
  });
});

describe("code lenses", () => {
  type Lens = { range: Range; command: { title: string; command: string; arguments?: unknown[] } };
  const lenses = () => client.ask<Lens[]>("textDocument/codeLens", program);

  it("stand above each tool and each visit with part, time, least clearance and findings", async () => {
    await open();
    const found = await lenses();
    const titles = (line: number) => found.filter((l) => l.range.start.line === line).map((l) => l.command.title);
    expect(titles(lineOf("T1 M06"))[0]).toMatch(/^T1 face mill 50 · 12 visits · 1 min/);
    expect(titles(lineOf("G54.1 P4"))[0]).toMatch(/^A4 · damper lever op10 · [\d.]+ s · [\d.]+ mm to fixed jaw · no findings$/);
    expect(found.filter((l) => / op[12]0 /.test(l.command.title))).toHaveLength(48);
    expect(found.every((l) => l.command.command === "")).toBe(true);
  });

  it("lead to the findings they count where the client has a command for it", async () => {
    await open(text.replace("G54.1 P12", "G54.1 P21"), { initializationOptions: { commands: ["jawline.showPlaces"] } });
    const lens = (await lenses()).find((l) => l.range.start.line === lineOf("G54.1 P12"));
    expect(lens?.command.title).toContain("1 finding");
    expect(lens?.command.command).toBe("jawline.showPlaces");
    expect(lens?.command.arguments?.[0]).toBe(client.uri(program));
  });

  it("can be switched off", async () => {
    await open(text, { settings: { codeLens: { visits: false, tools: true } } });
    expect(await lenses()).toHaveLength(5);
  });
});

describe("structure", () => {
  it("folds programs, tools, visits and loops", async () => {
    const loop = "O2300 (LOOP)\nWHILE [#1 LT 3] DO1\n#1 = #1 + 1\nEND1\nM99\n%";
    const at = lines.lastIndexOf("%");
    await open([...lines.slice(0, at), ...loop.split("\n"), ""].join("\n"));
    const folds = (await client.ask<{ startLine: number; endLine: number }[]>("textDocument/foldingRange", program)).map((f) => [
      f.startLine,
      f.endLine,
    ]);
    expect(folds).toContainEqual([lineOf("O2110"), lineOf("M99", lineOf("O2110"))]);
    expect(folds).toContainEqual([lineOf("G54.1 P4"), lineOf("G54.1 P4") + 1]);
    expect(folds.some(([start, end]) => start === lineOf("T1 M06") && (end ?? 0) < lineOf("T2 M06"))).toBe(true);
    expect(folds).toContainEqual([at + 1, at + 3]);
  });

  it("grows a selection from the word to the block, the visit, the tool, the program and the file", async () => {
    await open();
    const line = lineOf("G54.1 P4");
    type Grown = { range: Range; parent?: Grown };
    const [inner] = await client.ask<Grown[]>("textDocument/selectionRange", program, { positions: [{ line, character: 2 }] });
    const steps: Range[] = [];
    for (let s = inner as Grown | undefined; s !== undefined; s = s.parent) steps.push(s.range);
    expect(steps.slice(0, 3)).toEqual([
      { start: { line, character: 0 }, end: { line, character: 5 } },
      { start: { line, character: 0 }, end: { line, character: 8 } },
      { start: { line, character: 0 }, end: { line: line + 1, character: 9 } },
    ]);
    expect(steps[3]?.start.line).toBe(lineOf("T1 M06"));
    expect(steps.at(-1)).toEqual({ start: { line: 0, character: 0 }, end: { line: lines.length - 1, character: 0 } });
  });

  it("finds programs, tools, visits and stations by name", async () => {
    await open();
    const find = async (query: string) =>
      (await client.connection.sendRequest<{ name: string; containerName: string }[]>("workspace/symbol", { query })).map((s) => s.name);
    expect(await find("O2140")).toEqual(["O2140 OP10 DRILL TWO THROUGH HOLES"]);
    expect(await find("spot drill")).toContain("T3 spot drill 10");
    expect((await find("B6"))[0]).toContain("B6 damper lever op20");
    expect(await find("no such thing at all")).toEqual([]);
  });

  it("gives a client that knows no trees a flat outline", async () => {
    client = await LanguageClient.start(built.server, files, { textDocument: { ...modern.textDocument, documentSymbol: {} } });
    await client.open(program, text);
    const found = await client.ask<{ name: string; location?: { uri: string } }[]>("textDocument/documentSymbol", program);
    expect(found.length).toBeGreaterThan(50);
    expect(found.every((s) => s.location?.uri === client.uri(program))).toBe(true);
  });
});

describe("semantic tokens", () => {
  type Legend = { tokenTypes: string[]; tokenModifiers: string[] };
  interface Named {
    readonly text: string;
    readonly type: string;
    readonly modifiers: string[];
  }
  function decode(data: readonly number[], of: readonly string[]): Named[] {
    const { legend } = client.capabilities.semanticTokensProvider as { legend: Legend };
    const out: Named[] = [];
    let line = 0;
    let start = 0;
    for (let i = 0; i < data.length; i += 5) {
      const [dl, ds, length, type, bits] = data.slice(i, i + 5) as [number, number, number, number, number];
      line += dl;
      start = dl === 0 ? start + ds : ds;
      out.push({
        text: (of[line] ?? "").slice(start, start + length),
        type: legend.tokenTypes[type] ?? "",
        modifiers: legend.tokenModifiers.filter((_, k) => (bits & (1 << k)) !== 0),
      });
    }
    return out;
  }

  it("tell rapid from cut, offsets, compensation, cycles and calls; a bare axis word by the state it stands in", async () => {
    await open();
    const all = decode((await client.ask<{ data: number[] }>("textDocument/semanticTokens/full", program)).data, lines);
    const first = (t: string) => all.find((n) => n.text === t);
    expect(first("G54.1")).toMatchObject({ type: "keyword", modifiers: ["offset"] });
    expect(first("H1")).toMatchObject({ type: "property", modifiers: ["compensation"] });
    expect(first("P2110")).toMatchObject({ type: "function", modifiers: ["call"] });
    expect(first("O2110")).toMatchObject({ type: "function", modifiers: ["declaration"] });
    expect(first("G83")).toMatchObject({ type: "keyword", modifiers: ["cycle"] });
    // "Z3." after G00 is a rapid, "X-95." after G01 a cut, "X-48." within G83 belongs to the cycle.
    expect(first("Z3.")?.modifiers).toEqual(["rapid"]);
    expect(first("X-95.")?.modifiers).toEqual(["cut"]);
    expect(first("X-48.")?.modifiers).toEqual(["cycle"]);
  });

  it("answer for a range with the same tokens", async () => {
    await open();
    const line = lineOf("O2140");
    const range = { start: { line, character: 0 }, end: { line: line + 3, character: 0 } };
    const part = decode((await client.ask<{ data: number[] }>("textDocument/semanticTokens/range", program, { range })).data, lines);
    const all = decode((await client.ask<{ data: number[] }>("textDocument/semanticTokens/full", program)).data, lines);
    const from = all.findIndex((t) => t.text === "O2140");
    expect(part).toEqual(all.slice(from, from + part.length));
    expect(part.length).toBeGreaterThan(8);
  });

  it("are told after a key as what is new to a client that has those of before", async () => {
    type Told = { resultId: string; data?: number[]; edits?: { start: number; deleteCount: number; data?: number[] }[] };
    await open();
    const ask = (previousResultId: string) => client.ask<Told>("textDocument/semanticTokens/full/delta", program, { previousResultId });
    const before = await client.ask<Told>("textDocument/semanticTokens/full", program);
    expect((await ask(before.resultId)).edits).toEqual([]);
    // The one that was told last counts; of any other the whole is told.
    expect((await ask(before.resultId)).edits).toBeUndefined();
    const last = await ask("none");
    const line = lineOf("O2140");
    await client.edit(program, line + 1, 0, 0, "M08 ");
    const news = await ask(last.resultId);
    const all = await client.ask<Told>("textDocument/semanticTokens/full", program);
    const merged = [...(last.data ?? [])];
    expect(news.edits?.length).toBe(1);
    for (const { start, deleteCount, data = [] } of news.edits ?? []) merged.splice(start, deleteCount, ...data);
    expect(merged).toEqual(all.data);
    expect(merged.length).toBe((last.data?.length ?? 0) + 5);
    // Five numbers for the new word, and those of the word behind it, which now stands four columns on.
    expect(news.edits?.[0]?.data?.length).toBeLessThan(20);
  });
});

describe("hovers", () => {
  const hover = async (name: string, line: number, column: number) =>
    (await client.request<{ contents: { kind: string; value: string } } | null>("textDocument/hover", name, line, column))?.contents;

  it("draw the base of an offset's station where the client shows pictures, with words for who cannot see them", async () => {
    await open(text, { initializationOptions: { images: true } });
    const value = (await hover(program, lineOf("G54.1 P4"), 3))?.value ?? "";
    const image = /!\[((?:[^\]\\]|\\.)*)\]\(data:image\/svg\+xml;base64,([A-Za-z0-9+/=]+)\)/.exec(value);
    expect(image?.[1]).toContain("Plan of base plate, 18 columns by 9 rows. A4 is marked, at column 10, row 1.");
    const svg = Buffer.from(image?.[2] ?? "", "base64").toString("utf8");
    expect(svg).toMatch(/^<svg xmlns="http:\/\/www\.w3\.org\/2000\/svg"/);
    // Every station has its name in the drawing; the marked one alone is bold.
    expect([...svg.matchAll(/<text[^>]*>([^<]*)</g)].map((m) => m[1])).toEqual(
      [..."123456"].flatMap((n) => [`A${n}`]).concat([..."123456"].map((n) => `B${n}`)),
    );
    expect([...svg.matchAll(/font-weight="bold"[^>]*>([^<]*)</g)].map((m) => m[1])).toEqual(["A4"]);
  });

  it("leave the picture and the marks out for a client that shows plain text only", async () => {
    client = await LanguageClient.start(
      built.server,
      files,
      { textDocument: { ...modern.textDocument, hover: { contentFormat: ["plaintext"] } } },
      { initializationOptions: { images: true } },
    );
    await client.open(program, text);
    const found = await hover(program, lineOf("G54.1 P4"), 3);
    expect(found?.kind).toBe("plaintext");
    expect(found?.value).not.toContain("data:");
    expect(found?.value).not.toContain("**");
  });

  it("tell in a sidecar what a key means, which notches will do, and where an element is used", async () => {
    await open();
    await client.open(sidecar, files[sidecar]);
    const rows = files[sidecar].split("\n");
    const on = async (part: string, delta = 1) => {
      const row = rows.findIndex((l) => l.includes(part));
      return (await hover(sidecar, row, (rows[row] ?? "").indexOf(part) + delta))?.value ?? "";
    };
    await client.until("looked at", () => client.published.has(client.uri(sidecar)));
    expect(await on('"skew"')).toContain("Angle from machine X to the columns");
    // The worked sizes of the demo: gap, increment and stroke of mj60 leave notches 6 and 7 for the 36 mm stock.
    expect(await on('"notch": 7')).toMatch(/will do: 6, 7; best 7/);
    expect(await on('"plate": {')).toContain("Used at A1, A2, A3, A4, A5, A6, B1");
    expect(await on('"G54.1 P7"')).toContain("6 stations: B1 G54.1 P7");
  });

  it("tell what a call leads to and what a word means in its cycle", async () => {
    await open();
    expect((await hover(program, lineOf("M98 P2140"), 6))?.value).toBe(
      `**O2140** · OP10 DRILL TWO THROUGH HOLES, line ${lineOf("O2140") + 1}.`,
    );
    const cycle = lineOf("G98 G83");
    expect((await hover(program, cycle, (lines[cycle] ?? "").indexOf("Q8") + 1))?.value).toBe("**Q 8** · G83: depth of one step");
  });

  it("say where a stored offset is outside its tolerance", async () => {
    await open(text.replace("G10 L20 P4 X-399.985", "G10 L20 P4 X-399.8"));
    // Computed -399.985, written -399.8: 0.185 apart, more than the 0.02 of the format's default.
    expect((await hover(program, lineOf("G54.1 P4"), 3))?.value).toContain("+0.185 **outside ± 0.02**");
  });
});
