import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import {
  type CallHierarchyIncomingCall,
  type CallHierarchyItem,
  CodeAction,
  CodeLens,
  type CompletionItem,
  Diagnostic,
  type DocumentHighlight,
  DocumentLink,
  DocumentSymbol,
  FoldingRange,
  Hover,
  InlayHint,
  Location,
  Range,
  SelectionRange,
  SemanticTokens,
  type SignatureInformation,
  TextEdit,
  WorkspaceEdit,
  type WorkspaceSymbol,
} from "vscode-languageserver-types";
import { buildServer, plate } from "../support/built-server.js";
import { LanguageClient, modern, type Sent } from "../support/conforming-client.js";

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

const checked = () => client.until("checked", () => client.statuses.get(client.uri(program))?.state === "checked");

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
    await client.until("its end", () => client.progress.at(-1)?.kind === "end");
    await checked();
    // A newer text is being checked; what is unchanged is answered from the check before, long before the new one is done.
    await client.edit(program, 0, 0, 1, "(A LINE MORE)\n%");
    const hover = await client.request<{ contents: { value: string } } | null>("textDocument/hover", program, 6, 6);
    expect(hover?.contents.value).toContain("A1");
    expect(client.statuses.get(client.uri(program))?.state).toBe("checking");
    await checked();
  }, 90_000);
});

/** Envelopes of JSON-RPC 2.0 as the protocol's base part has them. */
function envelope(message: Sent): string {
  if (message.jsonrpc !== "2.0") return "no jsonrpc 2.0";
  const isRequest = message.method !== undefined && message.id !== undefined;
  const isNotification = message.method !== undefined && message.id === undefined;
  const isAnswer = message.method === undefined && message.id !== undefined;
  if (isAnswer) {
    if ((message.result === undefined) === (message.error === undefined)) return "an answer has a result or an error, and one of them only";
    return "answer";
  }
  if (isRequest && "result" in message) return "a request with a result";
  return isRequest ? "request" : isNotification ? "notification" : "neither";
}

/** Methods that a server may send by LSP 3.17, and our own. */
const REQUESTS = new Set([
  "workspace/configuration",
  "workspace/workspaceFolders",
  "client/registerCapability",
  "client/unregisterCapability",
  "workspace/inlayHint/refresh",
  "workspace/codeLens/refresh",
  "workspace/semanticTokens/refresh",
  "workspace/diagnostic/refresh",
  "window/workDoneProgress/create",
]);
const NOTIFICATIONS = new Set(["textDocument/publishDiagnostics", "jawline/status", "$/progress", "window/logMessage"]);

describe("a whole session", () => {
  it("keeps to the protocol's shapes in every message", async () => {
    const capabilities = {
      workspace: {
        ...modern.workspace,
        inlayHint: { refreshSupport: true },
        codeLens: { refreshSupport: true },
        semanticTokens: { refreshSupport: true },
      },
      window: { workDoneProgress: true },
    };
    client = await LanguageClient.start(built.server, files, capabilities, { settings: { format: { enable: true } } });
    const changed = text.replace("G54.1 P12", "G54.1 P21");
    await client.open(program, changed);
    await client.open(sidecar, files[sidecar]);
    await checked();
    await client.until("refreshed", () => (client.refreshed.get("inlayHint") ?? 0) > 0);
    const all = { start: { line: 0, character: 0 }, end: { line: 500, character: 0 } };
    const at = lineOf("G54.1 P4");
    const ask = async (method: string, extra: object = {}, name: string = program): Promise<unknown> =>
      client.ask(`textDocument/${method}`, name, extra);
    const position = { line: at, character: 3 };
    const each = (list: unknown, is: (v: unknown) => boolean, least = 1): void => {
      expect(Array.isArray(list)).toBe(true);
      expect((list as unknown[]).length).toBeGreaterThanOrEqual(least);
      expect((list as unknown[]).filter((v) => !is(v))).toEqual([]);
    };
    expect(Hover.is(await ask("hover", { position }))).toBe(true);
    each(await ask("definition", { position }), Location.is);
    each(await ask("references", { position, context: { includeDeclaration: true } }), Location.is);
    each(await ask("documentHighlight", { position }), (v) => Range.is((v as DocumentHighlight).range));
    each(await ask("documentSymbol"), DocumentSymbol.is);
    each(await client.connection.sendRequest("workspace/symbol", { query: "T" }), (v) => Location.is((v as WorkspaceSymbol).location));
    each(await ask("foldingRange"), FoldingRange.is);
    each(await ask("selectionRange", { positions: [position, { line: 0, character: 0 }] }), SelectionRange.is, 2);
    each(await ask("inlayHint", { range: all }), InlayHint.is);
    each(await ask("inlayHint", { range: all }, sidecar), InlayHint.is);
    each(await ask("codeLens"), CodeLens.is);
    each(await ask("documentLink", {}, sidecar), DocumentLink.is);
    each(await ask("codeAction", { range: all, context: { diagnostics: [] } }), (v) => CodeAction.is(v));
    each(
      await ask("completion", { position: { line: at, character: 1 } }),
      (v) => typeof (v as CompletionItem).label === "string" && TextEdit.is((v as CompletionItem).textEdit),
    );
    const tokens = await ask("semanticTokens/full");
    expect(SemanticTokens.is(tokens) && tokens.data.length % 5 === 0).toBe(true);
    const help = await ask("signatureHelp", { position: { line: lineOf("G98 G83"), character: 14 } });
    each((help as { signatures: unknown[] }).signatures, (v) => typeof (v as SignatureInformation).label === "string");
    const items = await ask("prepareCallHierarchy", { position: { line: lineOf("M98 P2110"), character: 6 } });
    each(items, (v) => Range.is((v as CallHierarchyItem).selectionRange) && typeof (v as CallHierarchyItem).uri === "string");
    const item = (items as CallHierarchyItem[])[0];
    each(await client.connection.sendRequest("callHierarchy/incomingCalls", { item }), (v) =>
      Range.is((v as CallHierarchyIncomingCall).fromRanges[0]),
    );
    expect(WorkspaceEdit.is(await ask("rename", { position: { line: lineOf("M98 P2110"), character: 6 }, newName: "2111" }))).toBe(true);
    each(await ask("formatting", { options: { tabSize: 2, insertSpaces: true } }), TextEdit.is, 0);
    // What is asked at places that are not there, of files that are not open, and in ways nobody should, still gets an answer.
    expect(await ask("hover", { position: { line: 99_999, character: 99 } })).toBeNull();
    expect(await ask("completion", { position: { line: 99_999, character: 99 } })).toBeDefined();
    expect(await ask("documentSymbol", {}, "gone.nc")).toEqual([]);
    await expect(client.connection.sendRequest("no/suchMethod", {})).rejects.toMatchObject({ code: -32601 });
    await client.close(program);
    await client.close(sidecar);

    for (const message of client.received) {
      const kind = envelope(message);
      expect(kind, JSON.stringify(message).slice(0, 200)).toMatch(/^(?:answer|request|notification)$/);
      if (kind === "request") expect([...REQUESTS]).toContain(message.method);
      if (kind === "notification") expect([...NOTIFICATIONS]).toContain(message.method);
      if (message.method === "textDocument/publishDiagnostics") {
        const { uri, diagnostics } = message.params as { uri: unknown; diagnostics: unknown[] };
        expect(typeof uri).toBe("string");
        expect(diagnostics.filter((d) => !Diagnostic.is(d))).toEqual([]);
      }
    }
    expect(new Set(client.received.map(envelope))).toEqual(new Set(["answer", "request", "notification"]));
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
