import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { applyEdits, buildServer, plate } from "../support/built-server.js";
import { LanguageClient, modern } from "../support/conforming-client.js";

const { program, sidecar, text, files } = plate;
const lines = text.split("\n");
const lineOf = (part: string) => lines.findIndex((l) => l.includes(part));

let built: { readonly server: string; remove(): void };
let client: LanguageClient;
beforeAll(() => {
  built = buildServer();
}, 60_000);
afterAll(() => built.remove());
afterEach(async () => {
  expect(await client.stop()).toBe(0);
});

interface CodeAction {
  readonly title: string;
  readonly kind: string;
  readonly isPreferred?: boolean;
  readonly diagnostics?: { code: string }[];
  readonly edit: {
    documentChanges: {
      textDocument: { uri: string; version: number | null };
      edits: { range: Parameters<typeof applyEdits>[1][number]["range"]; newText?: string; snippet?: { value: string } }[];
    }[];
  };
}

async function actions(name: string, line: number, only?: string[]): Promise<CodeAction[]> {
  const range = { start: { line, character: 0 }, end: { line, character: 0 } };
  return client.ask("textDocument/codeAction", name, { range, context: { diagnostics: [], ...(only === undefined ? {} : { only }) } });
}

const editsOf = (action: CodeAction | undefined) => action?.edit.documentChanges[0]?.edits ?? [];

async function open(changed: string): Promise<void> {
  client = await LanguageClient.start(built.server, files);
  await client.open(program, changed);
  await client.until("checked", () => client.statuses.get(client.uri(program))?.state === "checked");
}

describe("code actions of a program", () => {
  it("offers a station for an offset without one, telling where the tool would go before and after", async () => {
    const line = lineOf("G54.1 P12");
    await open(text.replace("G54.1 P12", "G54.1 P21"));
    const found = await actions(program, line);
    const fix = found.find((a) => a.title.includes("B6"));
    expect(fix?.kind).toBe("quickfix");
    expect(fix?.isPreferred).toBeUndefined();
    expect(fix?.diagnostics?.map((d) => d.code)).toEqual(["offset-unmapped"]);
    // Part zero of B6 at X -102 (the demo's own G10 line); the next block of O2210 goes to X35: -67 on the machine.
    expect(fix?.title).toMatch(/X \? → -67/);
    expect(applyEdits(text.replace("G54.1 P12", "G54.1 P21"), editsOf(fix))).toBe(text);
  });

  it("offers what changes no motion as the preferred step and in fix all, and nothing else there", async () => {
    // The modal tail behind a tool change: without G54.1 P1 the offset of the last station is inherited.
    const comment = "(ALLOW clamp-near: not needed here any more)";
    const at = lineOf("G54.1 P3");
    const changed = text.replace("G54.1 P3\n", `G54.1 P3 ${comment}\n`).replace("G54.1 P12", "G54.1 P21");
    await open(changed);
    const remove = (await actions(program, at)).find((a) => a.isPreferred === true);
    expect(remove?.diagnostics?.map((d) => d.code)).toEqual(["allow-unused"]);
    const all = await actions(program, 0, ["source.fixAll"]);
    expect(all.map((a) => a.kind)).toEqual(["source.fixAll.jawline"]);
    const after = applyEdits(changed, editsOf(all[0]));
    expect(after).not.toContain("ALLOW");
    // The wrong offset is for a person to choose, so it is still there.
    expect(after).toContain("G54.1 P21");
    expect(client.diagnostics.get(client.uri(program))?.find((d) => d.code === "allow-unused")?.tags).toEqual([1]);
  });

  it("allows a finding here with a reason, which waives nothing before it is written", async () => {
    const line = lineOf("G54.1 P12");
    const changed = text.replace("G54.1 P12", "G54.1 P21");
    await open(changed);
    const allow = (await actions(program, line)).find((a) => a.title.startsWith("Allow"));
    expect(allow?.isPreferred).toBeUndefined();
    const open1 = applyEdits(changed, editsOf(allow));
    expect(open1.split("\n")[line]).toBe("G54.1 P21 (ALLOW offset-unmapped: )");
    await client.edit(program, line, 9, 9, " (ALLOW offset-unmapped: )");
    await client.until("told to give a reason", () => client.rules(program).includes("allow-unused"));
    expect(client.rules(program)).toContain("offset-unmapped");
    await client.edit(program, line, 34, 34, "spare nest, proved dry");
    await client.until("waived", () =>
      client.diagnostics.get(client.uri(program))?.some((d) => d.code === "offset-unmapped" && d.severity === 3),
    );
  });

  it("selects the reason where the editor knows snippets", async () => {
    client = await LanguageClient.start(built.server, files, {
      workspace: { ...modern.workspace, workspaceEdit: { documentChanges: true, snippetEditSupport: true } },
    });
    await client.open(program, text.replace("G54.1 P12", "G54.1 P21"));
    await client.until("checked", () => client.rules(program).includes("offset-unmapped"));
    const allow = (await actions(program, lineOf("G54.1 P12"))).find((a) => a.title.startsWith("Allow"));
    expect(editsOf(allow)[0]?.snippet?.value).toBe(" (ALLOW offset-unmapped: ${1:reason})");
  });
});

describe("code actions of a sidecar", () => {
  async function openSidecar(from: string, to: string): Promise<string> {
    const changed = files[sidecar].replace(from, to);
    expect(changed).not.toBe(files[sidecar]);
    client = await LanguageClient.start(built.server, files);
    await client.open(sidecar, changed);
    return changed;
  }

  it("sets the best notch", async () => {
    const changed = await openSidecar('"notch": 8', '"notch": 12');
    await client.until("fixture-notch", () => client.rules(sidecar).includes("fixture-notch"));
    const line = changed.split("\n").findIndex((l) => l.includes('"notch": 12'));
    const fixes = await actions(sidecar, line);
    const best = fixes.find((a) => a.title.includes("the best"));
    expect(applyEdits(changed, editsOf(best))).toBe(files[sidecar]);
    expect(fixes.every((a) => a.isPreferred === undefined)).toBe(true);
  });

  it("gives a station the next free register, with room for its copies", async () => {
    const changed = await openSidecar('"offset": "G54.1 P7"', '"offset": "G54.1 P6"');
    await client.until("fixture-register-shared", () => client.rules(sidecar).includes("fixture-register-shared"));
    const found = client.diagnostics.get(client.uri(sidecar))?.find((d) => d.code === "fixture-register-shared");
    const fixes = await actions(sidecar, found?.range.start.line ?? -1);
    const fix = fixes.find((a) => a.title.includes("free"));
    // The finding stands at the back row; the front row's six are P1 to P6, so that P7 is the first with six free ones.
    expect(fix?.title).toBe("Give B1 G54.1 P7, the first of 6 free registers");
    expect(applyEdits(changed, editsOf(fix))).toBe(files[sidecar]);
  });

  it("writes the nearest key and the nearest name", async () => {
    const changed = await openSidecar('"columns": 18', '"colums": 18');
    await client.until("fixture-format", () => client.rules(sidecar).includes("fixture-format"));
    const line = changed.split("\n").findIndex((l) => l.includes('"colums"'));
    const fix = (await actions(sidecar, line)).find((a) => a.title.includes('"columns"'));
    expect(applyEdits(changed, editsOf(fix))).toBe(files[sidecar]);
  });
});
