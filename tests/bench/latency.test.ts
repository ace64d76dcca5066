import { readFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { buildServer, root } from "../support/built-server.js";
import { demoSubject, type Measured, measure, median, quantile } from "./latency.js";

/** Which request shows what a capability is worth. */
const METHODS: Readonly<Record<string, string>> = {
  hoverProvider: "textDocument/hover",
  definitionProvider: "textDocument/definition",
  referencesProvider: "textDocument/references",
  documentHighlightProvider: "textDocument/documentHighlight",
  renameProvider: "textDocument/rename",
  callHierarchyProvider: "callHierarchy/incomingCalls",
  documentLinkProvider: "textDocument/documentLink",
  documentSymbolProvider: "textDocument/documentSymbol",
  workspaceSymbolProvider: "workspace/symbol",
  foldingRangeProvider: "textDocument/foldingRange",
  selectionRangeProvider: "textDocument/selectionRange",
  inlayHintProvider: "textDocument/inlayHint",
  codeLensProvider: "textDocument/codeLens",
  codeActionProvider: "textDocument/codeAction",
  completionProvider: "textDocument/completion",
  signatureHelpProvider: "textDocument/signatureHelp",
  semanticTokensProvider: "textDocument/semanticTokens/full",
  documentFormattingProvider: "textDocument/formatting",
  documentRangeFormattingProvider: "textDocument/rangeFormatting",
  documentOnTypeFormattingProvider: "textDocument/onTypeFormatting",
};

/** What a request may take beside forty times the way there and back; a busy computer stops a process for that long now and then. */
const ROOM = 500;
/** The same in processor time, which does not count the time that others have. */
const PROCESSOR_ROOM = 100;

// On a quiet computer no request of the demo takes 10 ms at rest, and a check 40 ms.
describe("the demo in an editor", () => {
  let built: { readonly server: string; remove(): void };
  let measured: Measured;
  beforeAll(async () => {
    built = buildServer();
    const demo = demoSubject((name) => readFileSync(join(root, "fixtures-config", name), "utf8"));
    // Measuring throws where a request fails or has nothing to say about a place that has something.
    measured = await measure(built.server, demo, { cycles: 1, waitingCycles: 1, atRest: 3, keys: 2 }, undefined, () => undefined);
  }, 300_000);
  afterAll(() => built.remove());

  it("is asked everything that the server offers", () => {
    expect(measured.offered.filter((name) => METHODS[name] === undefined)).toEqual([]);
    const asked = new Set(measured.rows.map((row) => row.method));
    expect(measured.offered.filter((name) => !asked.has(METHODS[name] ?? ""))).toEqual([]);
    expect(asked.has("textDocument/diagnostic")).toBe(true);
    expect(measured.offered.length).toBeGreaterThan(15);
  });

  it("answers every request at rest in a small multiple of the way there and back", () => {
    const way = median(measured.trivial);
    const late = measured.rows.filter((row) => median(row.samples.rest) > 40 * way + ROOM);
    expect(late.map((row) => `${row.request}: ${median(row.samples.rest).toFixed(0)} ms`)).toEqual([]);
  });

  it("takes little processor time for it, where the system tells", () => {
    const cpu = (list: Measured["trivial"]): number =>
      quantile(
        list.map((s) => s.cpu),
        0.5,
      );
    const dear = measured.rows.filter((row) => cpu(row.samples.rest) > 40 * cpu(measured.trivial) + PROCESSOR_ROOM);
    expect(dear.map((row) => `${row.request}: ${cpu(row.samples.rest).toFixed(0)} ms`)).toEqual([]);
  });
});
