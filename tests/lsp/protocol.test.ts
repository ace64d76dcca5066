import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import type { Diagnostic } from "vscode-languageserver-types";
import { buildServer, plate } from "../support/built-server.js";
import { LanguageClient, modern, protocol } from "../support/conforming-client.js";
import { judge } from "../support/protocol-session.js";

const { program, text, files } = plate;

let built: { readonly server: string; remove(): void };
let client: LanguageClient;
beforeAll(() => {
  built = buildServer();
}, 60_000);
afterAll(() => built.remove());
afterEach(async () => {
  expect(await client.stop()).toBe(0);
});

const checked = () => client.until("checked", () => client.statuses.get(client.uri(program))?.state === "checked", 40_000);

describe("diagnostics", () => {
  type Report = {
    kind: string;
    resultId?: string;
    items?: Diagnostic[];
    relatedDocuments?: Record<string, { items: Diagnostic[] }>;
  };
  const pulling = {
    workspace: { ...modern.workspace, diagnostics: { refreshSupport: true } },
    textDocument: { ...modern.textDocument, diagnostic: { relatedDocumentSupport: true, tagSupport: { valueSet: [1] } } },
  };
  const pull = (name: string, previousResultId?: string) =>
    client.ask<Report>("textDocument/diagnostic", name, previousResultId === undefined ? {} : { previousResultId });

  it("are pulled by a client that asks for them, and then never pushed", async () => {
    client = await LanguageClient.start(built.server, files, pulling);
    expect(client.capabilities.diagnosticProvider).toMatchObject({ interFileDependencies: true });
    await client.open(program, text.replace("G54.1 P12", "G54.1 P21"));
    const first = await pull(program);
    expect(first.items?.map((d) => d.code)).toContain("offset-unmapped");
    expect(await pull(program, first.resultId)).toMatchObject({ kind: "unchanged", resultId: first.resultId });
    await client.until("asked to pull again", () => (client.refreshed.get("diagnostic") ?? 0) > 0);
    expect(client.published.size).toBe(0);
  });

  it("bring the findings of other files along when they are pulled", async () => {
    client = await LanguageClient.start(
      built.server,
      {
        ...files,
        "demo/plate/plate.offsets.nc": files["demo/plate/plate.offsets.nc"].replace("P3 X-5", "P3 X-6"),
      },
      pulling,
    );
    await client.open(program, text.replace(/^M98 P2071.*$/m, ""));
    const report = await pull(program);
    const other = report.relatedDocuments?.[client.uri("demo/plate/plate.offsets.nc")];
    expect(other?.items.map((d) => d.code)).toContain("offset-value");
  });

  it("are pushed to a client that could not take the other files with a pulled answer", async () => {
    client = await LanguageClient.start(built.server, files, { textDocument: { ...modern.textDocument, diagnostic: {} } });
    expect(client.capabilities.diagnosticProvider).toBeUndefined();
    await client.open(program, text.replace("G54.1 P12", "G54.1 P21"));
    await client.until("pushed", () => client.rules(program).includes("offset-unmapped"));
  });

  it("name related places", async () => {
    client = await LanguageClient.start(built.server, files);
    // The tool starts from wherever the last program left it when nothing selects an offset: told at both places.
    await client.open(program, text.replace("G10 L20 P4 X-399.985", "G10 L20 P4 X-390."));
    await client.until("found", () => client.rules(program).length > 0);
    const all = client.diagnostics.get(client.uri(program)) ?? [];
    expect(all.some((d) => (d.relatedInformation?.length ?? 0) > 0)).toBe(true);
  });
});

/** A program so long that its check takes a while on any machine. */
function long(): string {
  const out = [
    "%",
    "O2070",
    "G21 G17 G40 G49 G80 G90",
    "T1 M06",
    "S4200 M03",
    "G00 G54.1 P1 X35. Y0.",
    "G43 H1 Z50. M08",
    "Z3.",
    "G01 Z0. F1200.",
  ];
  for (let k = 0; k < 150_000; k++) out.push(`X${(-20 + 15 * Math.sin(k / 50)).toFixed(3)} Y${(20 * Math.cos(k / 37)).toFixed(3)}`);
  out.push("G00 Z50.", "G91 G28 Z0.", "M30", "%");
  return out.join("\n");
}

describe("a long check", () => {
  it("shows that it is under way, gives cancelled requests back at once, and answers others meanwhile", async () => {
    client = await LanguageClient.start(built.server, files, { ...modern, window: { workDoneProgress: true } });
    await client.open(program, long());
    // Nothing is known yet, so this one would wait for the check.
    const { CancellationTokenSource } = await import("vscode-jsonrpc/node");
    const source = new CancellationTokenSource();
    const waiting = client.connection.sendRequest(
      "textDocument/hover",
      { textDocument: { uri: client.uri(program) }, position: { line: 5, character: 5 } },
      source.token,
    );
    source.cancel();
    await expect(waiting).rejects.toMatchObject({ code: -32800 });
    expect(client.statuses.get(client.uri(program))?.state).toBe("checking");
    await client.until("progress", () => client.progress.some((p) => p.kind === "begin" && p.title === "Checking lever.nc"));
    await client.until("its end", () => client.progress.at(-1)?.kind === "end", 40_000);
    await checked();
    // A newer text is being checked; what is unchanged is answered from the check before, long before the new one is done.
    await client.edit(program, 0, 0, 1, "(A LINE MORE)\n%");
    const hover = await client.request<{ contents: { value: string } } | null>("textDocument/hover", program, 6, 6);
    expect(hover?.contents.value).toContain("A1");
    expect(client.statuses.get(client.uri(program))?.state).toBe("checking");
    await checked();
    const { counts } = judge(protocol, client.transcript);
    for (const what of ["request window/workDoneProgress/create", "notification $/progress", "notification $/cancelRequest"])
      expect([...counts.keys()]).toContain(what);
  }, 90_000);
});

describe("a whole session", () => {
  it("has an answer for places that are not there, files that are not open, and what nobody should ask", async () => {
    client = await LanguageClient.start(built.server, files);
    await client.open(program, text);
    await checked();
    const position = { line: 99_999, character: 99 };
    expect(await client.ask("textDocument/hover", program, { position })).toBeNull();
    expect(await client.ask("textDocument/completion", program, { position })).toBeNull();
    expect(await client.ask("textDocument/documentSymbol", "gone.nc")).toEqual([]);
    await expect(client.connection.sendRequest("no/suchMethod", {})).rejects.toMatchObject({ code: -32601 });
  });

  it("offers what it has and nothing else", async () => {
    client = await LanguageClient.start(built.server, files);
    expect(Object.keys(client.capabilities).sort()).toEqual([
      "callHierarchyProvider",
      "codeActionProvider",
      "codeLensProvider",
      "completionProvider",
      "definitionProvider",
      "documentFormattingProvider",
      "documentHighlightProvider",
      "documentLinkProvider",
      "documentOnTypeFormattingProvider",
      "documentRangeFormattingProvider",
      "documentSymbolProvider",
      "foldingRangeProvider",
      "hoverProvider",
      "inlayHintProvider",
      "referencesProvider",
      "renameProvider",
      "selectionRangeProvider",
      "semanticTokensProvider",
      "signatureHelpProvider",
      "textDocumentSync",
      "workspace",
      "workspaceSymbolProvider",
    ]);
  });
});
