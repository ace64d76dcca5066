import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { applyEdits, buildServer, plate } from "../support/built-server.js";
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

interface Item {
  readonly label: string;
  readonly detail: string;
  readonly sortText: string;
  readonly filterText?: string;
  readonly preselect?: boolean;
  readonly documentation?: { value: string };
  readonly textEdit: { range: Parameters<typeof applyEdits>[1][number]["range"]; newText: string };
}

async function open(changed = text, name: string = program, options: Parameters<typeof LanguageClient.start>[3] = {}): Promise<void> {
  client = await LanguageClient.start(built.server, files, {}, options);
  await client.open(name, changed);
  if (name === program) await client.until("checked", () => client.statuses.get(client.uri(name))?.state === "checked");
  else await client.until("looked at", () => client.published.has(client.uri(name)));
}

/** What is offered behind a text that is typed into a new line of the main program: behind the line with a text, or as a line. */
async function typed(what: string, after: string | number): Promise<Item[]> {
  const line = typeof after === "number" ? after : lineOf(after) + 1;
  await client.edit(program, line, 0, 0, `${what}\n`);
  const answer = await client.request<Item[] | { isIncomplete: boolean; items: Item[] }>(
    "textDocument/completion",
    program,
    line,
    what.length,
  );
  const items = Array.isArray(answer) ? answer : answer.items;
  await client.replace(program, { line, character: 0 }, { line: line + 1, character: 0 }, "");
  return [...items].sort((a, b) => (a.sortText < b.sortText ? -1 : 1));
}

describe("completion in a program", () => {
  it("offers offsets with their stations, those that the tool has not been to first", async () => {
    await open(text.replace("G54.1 P6\nM98 P2110\n", ""));
    // Behind the call at A5, where the lines for A6 stood: whether the line is already looked at or not, A5 is gone to.
    const line = lineOf("G54.1 P6");
    const items = await typed("G54", line);
    expect(items[0]).toMatchObject({ label: "G54.1 P6", detail: "A6 damper lever op10" });
    expect(items[0]?.textEdit.range).toEqual({ start: { line, character: 0 }, end: { line, character: 3 } });
    expect(items.find((i) => i.label === "G54.1 P4")?.detail).toContain("this tool goes there already");
    const all = await typed("G", line);
    expect(all.find((i) => i.label === "G59")?.detail).toBe("datum: table forward, for loading");
    expect(all.find((i) => i.label === "G83")?.detail).toContain("deep hole");
    // This program writes G00 with two digits, so that is what is offered.
    expect(all.map((i) => i.label)).toContain("G00");
    expect(all.map((i) => i.label)).not.toContain("G0");
  });

  it("offers what begins with what is typed, and the code that is meant before one that only begins like it", async () => {
    await open();
    // The letters of G43 stand in "G54.1 P3" too, in another order of sense: an editor that compares loosely would offer it.
    expect((await typed("G43", "G54.1 P5")).map((i) => i.label)).toEqual(["G43"]);
    expect((await typed("G0", "G54.1 P5")).map((i) => i.label).filter((l) => l.includes("P"))).toEqual([]);
    const m = await typed("M3", "G54.1 P5");
    expect(m.map((i) => i.label)).toEqual(["M03", "M30"]);
    expect(m[0]?.filterText).toBe("M3");
    expect((await typed("G54.1 P1", "G54.1 P5")).map((i) => i.label)).toEqual(["P1", "P10", "P11", "P12"]);
  });

  it("offers tools with their diameter, and the registers of the tool in the spindle first", async () => {
    await open();
    expect((await typed("T", "G54.1 P5")).map((i) => `${i.label}: ${i.detail}`)).toContain("T4: drill 6.8, diameter 6.8 mm");
    const h = await typed("G43 H", "N300");
    expect(h[0]).toMatchObject({ label: "H3", preselect: true });
    expect(h[0]?.detail).toContain("spot drill 10");
    expect(h.find((i) => i.label === "H1")?.detail).toContain("not the tool in the spindle");
  });

  it("offers programs behind M98, labels behind GOTO, variables behind #", async () => {
    await open(text.replace("G54.1 P5\n", "#101=1\nG54.1 P5\n"));
    const p = await typed("M98 P", "G54.1 P5");
    expect(p.map((i) => `${i.label} ${i.detail}`)).toContain("P2140 OP10 DRILL TWO THROUGH HOLES");
    expect((await typed("GOTO ", "G54.1 P5")).map((i) => i.label)).toEqual(["100", "200", "300", "400", "500"]);
    expect((await typed("#", "G54.1 P5")).map((i) => i.label)).toEqual(["#101"]);
  });

  it("offers words that the state asks for: Q within G83, no centre outside of arcs", async () => {
    await open();
    const cycle = await typed("", "G98 G83");
    expect(cycle.slice(0, 5).map((i) => i.label)).toEqual(["X", "Y", "Z", "R", "Q"]);
    const arc = (await typed("G02 ", "G98 G83")).map((i) => i.label);
    expect(arc).toEqual(expect.arrayContaining(["I", "J", "R", "F"]));
    expect((await typed("G01 ", "G98 G83")).map((i) => i.label)).not.toContain("I");
  });

  it("offers rules in an ALLOW comment and nothing in another", async () => {
    await open();
    const items = await typed("(ALLOW clamp", "G54.1 P5");
    expect(items.map((i) => i.label)).toContain("clamp-near");
    expect(await typed("(G", "G54.1 P5")).toEqual([]);
  });
});

describe("signature help", () => {
  type Help = {
    signatures: { label: string; parameters: { label: [number, number]; documentation: string }[] }[];
    activeParameter: number;
  };
  const help = async (what: string, after: string) => {
    const line = lineOf(after) + 1;
    await client.edit(program, line, 0, 0, `${what}\n`);
    const found = await client.request<Help | null>("textDocument/signatureHelp", program, line, what.length);
    await client.replace(program, { line, character: 0 }, { line: line + 1, character: 0 }, "");
    const signature = found?.signatures[0];
    const active = signature?.parameters[found?.activeParameter ?? -1];
    return { label: signature?.label, active: active?.documentation };
  };

  it("shows the words of a cycle, of G10 and of a macro call, and which is being written", async () => {
    await open(text.replace("M99\n%", "M99\nO2400 (PITCH)\n#30=#1+#7\nM99\n%"));
    expect(await help("G83 Z-37. Q8", "G54.1 P5")).toEqual({ label: "G83 X Y Z R Q F L K", active: "Q: depth of one step" });
    expect(await help("G10 L20 P4 Y", "G54.1 P5")).toEqual({ label: "G10 L P X Y Z A B C", active: "Y: its Y" });
    // O2400 reads #1 and #7, which are arguments A and D of a macro call (common practice, no source).
    const macro = await help("G65 P2400 D", "G54.1 P5");
    expect(macro).toEqual({ label: "G65 P L A D", active: "D: goes into #7" });
    expect(await help("G00 X", "G54.1 P5")).toEqual({ label: undefined, active: undefined });
  });
});

describe("completion in a sidecar", () => {
  const rows = files[sidecar].split("\n");
  const at = async (row: number, column: number) => client.request<Item[]>("textDocument/completion", sidecar, row, column);

  it("offers the keys that are not there yet, the needed ones first, with what they mean", async () => {
    await open(files[sidecar], sidecar);
    const row = rows.findIndex((l) => l.includes('"seat": 34'));
    const column = (rows[row] ?? "").indexOf('"seat"');
    await client.edit(sidecar, row, column, column, '"", ');
    const items = await at(row, column + 1);
    const labels = items.map((i) => i.label);
    expect(labels).toEqual(expect.arrayContaining(["zero", "empty", "sharesOffset"]));
    expect(labels).not.toContain("notch");
    expect(items.find((i) => i.label === "empty")?.documentation?.value).toContain("not loaded");
    expect(items[0]?.textEdit.range).toEqual({ start: { line: row, character: column }, end: { line: row, character: column + 2 } });
  });

  it("offers the names that the sidecar and its includes give", async () => {
    await open(files[sidecar], sidecar);
    const offer = async (part: string) => {
      const row = rows.findIndex((l) => l.includes(part));
      const column = (rows[row] ?? "").indexOf(part) + part.indexOf(": ") + 3;
      return (await at(row, column)).map((i) => i.label);
    };
    expect(await offer('"fixedJaw": "fj60"')).toEqual(['"fj60"', '"fj60-soft"']);
    expect(await offer('"op": "op10"')).toEqual(['"op10"', '"op20"']);
    expect(await offer('"clamp": "+Y"')).toEqual(['"+X"', '"+Y"', '"-X"', '"-Y"']);
    expect(await offer('"dialect": "iso"')).toEqual(expect.arrayContaining(['"iso"', '"rs274ngc"']));
    expect((await offer('"offset": "G54.1 P7"'))[0]).toBe('"G54"');
    expect(await offer('"file": "plate')).toContain('"plate.offsets.nc"');
  });
});

describe("formatting", () => {
  type Edit = Parameters<typeof applyEdits>[1][number];
  const format = (extra: object = {}) =>
    client.ask<Edit[] | null>("textDocument/formatting", program, { options: { tabSize: 2, insertSpaces: true }, ...extra });
  const untidy = text.replace("G54.1 P2\n", "G54.1   P2  \n").replace("G00 G54.1 P1 X35. Y0.", "G00G54.1P1X35.Y0.");

  it("is not offered before it is asked for", async () => {
    await open(untidy);
    expect(await format()).toBeNull();
  });

  it("sets one space between words and takes white space at the ends of lines, and nothing else", async () => {
    await open(untidy, program, { settings: { format: { enable: true } } });
    expect(applyEdits(untidy, (await format()) ?? [])).toBe(text);
  });

  it("numbers the blocks anew with their jumps", async () => {
    const jump = text.replace("N100 T1", "GOTO 100\nN100 T1");
    await open(jump, program, { settings: { format: { enable: true, numbers: "renumber", numberStep: 5 } } });
    const wanted = [5, 10, 15, 20, 25].reduce((t, n, i) => t.replace(`N${(i + 1) * 100} T`, `N${n} T`), jump).replace("GOTO 100", "GOTO 5");
    expect(applyEdits(jump, (await format()) ?? [])).toBe(wanted);
  });

  it("refuses to number where a jump is computed", async () => {
    await open(text.replace("N100 T1", "#101=100\nGOTO #101\nN100 T1"), program, {
      settings: { format: { enable: true, numbers: "renumber" } },
    });
    await expect(format()).rejects.toThrow(`The jump in line ${lineOf("N100 T1") + 2} is computed`);
  });

  it("formats a range, and the line that was just left", async () => {
    await open(untidy, program, { settings: { format: { enable: true } } });
    const line = lineOf("G54.1 P2");
    const range = { start: { line, character: 0 }, end: { line, character: 5 } };
    const ranged = await client.ask<Edit[]>("textDocument/rangeFormatting", program, {
      range,
      options: { tabSize: 2, insertSpaces: true },
    });
    expect(ranged).toEqual([{ range: { start: { line, character: 0 }, end: { line, character: 12 } }, newText: "G54.1 P2" }]);
    const typed = await client.request<Edit[]>("textDocument/onTypeFormatting", program, line + 1, 0, {
      ch: "\n",
      options: { tabSize: 2, insertSpaces: true },
    });
    expect(typed).toEqual(ranged);
  });

  it("registers as a formatter only while the setting wants one, where the client can do that", async () => {
    client = await LanguageClient.start(built.server, files, {
      textDocument: {
        ...modern.textDocument,
        formatting: { dynamicRegistration: true },
        rangeFormatting: { dynamicRegistration: true },
        onTypeFormatting: { dynamicRegistration: true },
      },
    });
    await client.open(program, text);
    await client.until("checked", () => client.statuses.get(client.uri(program))?.state === "checked");
    expect(client.capabilities.documentFormattingProvider).toBeUndefined();
    expect([...client.registered].filter((m) => /ormatting/.test(m))).toEqual([]);
    client.settings = { format: { enable: true } };
    await client.connection.sendNotification("workspace/didChangeConfiguration", { settings: null });
    await client.until("registered", () => client.registered.has("textDocument/formatting"));
    client.settings = {};
    await client.connection.sendNotification("workspace/didChangeConfiguration", { settings: null });
    await client.until("gone", () => !client.registered.has("textDocument/formatting"));
  });
});
