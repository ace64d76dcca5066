/**
 * Sessions that ask the server for everything that it offers. Each is held against the protocol when it stops, as every
 * session of these tests is; here it is also seen that nothing which the server offers stayed unasked or without an answer.
 */
import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { pathToFileURL } from "node:url";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import type { CallHierarchyItem, TextEdit } from "vscode-languageserver-types";
import { buildServer, plate } from "../support/built-server.js";
import { conforming, LanguageClient, modern, protocol } from "../support/conforming-client.js";
import type { Verdict } from "../support/protocol-session.js";

const { program, sidecar, files } = plate;

let built: { readonly server: string; remove(): void };
beforeAll(() => {
  built = buildServer();
}, 60_000);
afterAll(() => built.remove());

/** What only a client with all its abilities says; `modern` is what most say. */
const able = {
  workspace: {
    ...modern.workspace,
    inlayHint: { refreshSupport: true },
    codeLens: { refreshSupport: true },
    semanticTokens: { refreshSupport: true },
  },
  textDocument: {
    ...modern.textDocument,
    completion: {
      ...modern.textDocument.completion,
      completionItem: { ...modern.textDocument.completion.completionItem, labelDetailsSupport: true },
    },
  },
};
const pulling = {
  workspace: { ...able.workspace, diagnostics: { refreshSupport: true } },
  textDocument: {
    ...able.textDocument,
    diagnostic: { relatedDocumentSupport: true, tagSupport: { valueSet: [1] } },
    formatting: { dynamicRegistration: true },
    rangeFormatting: { dynamicRegistration: true },
    onTypeFormatting: { dynamicRegistration: true },
  },
};

/**
 * The demo with a wrong offset, so that there are findings and fixes, a needless allowance, so that there is one for all,
 * blanks to take away, and a sign of two UTF-16 units before the words of a line, in the middle of a large and a small part.
 */
const text = plate.text
  .replace("G54.1 P12", "G54.1 P21")
  .replace("G54.1 P4\n", "(\u{1f600}) G54.1 P4 (\u{1f600})\n")
  .replace("G54.1 P2\n", "G54.1   P2  \n")
  .replace("G54.1 P3\n", "G54.1 P3 (ALLOW clamp-near: not needed here any more)\n");
const lines = text.split("\n");
const lineOf = (part: string) => lines.findIndex((l) => l.includes(part));
const place = (part: string, delta = 0) => {
  const line = lineOf(part);
  return { line, character: (lines[line] ?? "").indexOf(part) + delta };
};
const whole = { start: { line: 0, character: 0 }, end: { line: lines.length - 1, character: 0 } };
const options = { tabSize: 2, insertSpaces: true };

/** Asks for all that a server of this kind may offer, wherever there is something to find. */
async function everything(client: LanguageClient): Promise<void> {
  await client.open(program, text);
  await client.open(sidecar, files[sidecar]);
  await client.until("checked", () => client.statuses.get(client.uri(program))?.state === "checked");
  const ask = <T>(what: string, extra: object = {}, name: string = program) => client.ask<T>(`textDocument/${what}`, name, extra);
  const rows = files[sidecar].split("\n");
  const offset = { line: rows.findIndex((l) => l.includes('"G54.1 P7"')), character: 0 };
  offset.character = (rows[offset.line] ?? "").indexOf("G54.1");

  for (const position of [place("G54.1 P4", 3), place("G54.1 P4", 8), place("X-95.", 1), place("T4 M06", 5), whole.end]) {
    await ask("hover", { position });
    await ask("definition", { position });
    await ask("references", { position, context: { includeDeclaration: true } });
    await ask("documentHighlight", { position });
    await ask("completion", { position });
    await ask("signatureHelp", { position });
    await ask("selectionRange", { positions: [position, whole.start] });
    await ask("prepareRename", { position }).catch(() => undefined);
  }
  for (const what of ["hover", "definition", "completion"]) await ask(what, { position: offset }, sidecar);
  await ask("references", { position: offset, context: { includeDeclaration: false } }, sidecar);
  await ask("signatureHelp", { position: place("G98 G83", 14) });
  await ask("signatureHelp", { position: place("G98 G83", 7) });
  for (const name of [program, sidecar]) {
    for (const what of ["documentSymbol", "foldingRange", "codeLens", "documentLink", "semanticTokens/full"]) await ask(what, {}, name);
    const { resultId } = await ask<{ resultId: string }>("semanticTokens/full", {}, name);
    await ask("semanticTokens/full/delta", { previousResultId: resultId }, name);
    await ask("semanticTokens/full/delta", { previousResultId: "of another day" }, name);
    await ask("inlayHint", { range: whole }, name);
    await ask("semanticTokens/range", { range: { start: place("G54.1 P4"), end: whole.end } }, name);
  }
  await client.connection.sendRequest("workspace/symbol", { query: "A4" });
  await client.connection.sendRequest("workspace/symbol", { query: "" });
  await ask("codeAction", { range: whole, context: { diagnostics: [] } });
  await ask("codeAction", { range: whole, context: { diagnostics: [], only: ["source.fixAll"] } });
  await ask("prepareRename", { position: place("M98 P2110", 6) });
  await ask("rename", { position: place("M98 P2110", 6), newName: "2111" });
  const calls = async (part: string, delta: number) => {
    const items = (await ask<CallHierarchyItem[] | null>("prepareCallHierarchy", { position: place(part, delta) })) ?? [];
    for (const item of items) {
      await client.connection.sendRequest("callHierarchy/incomingCalls", { item });
      await client.connection.sendRequest("callHierarchy/outgoingCalls", { item });
    }
  };
  await calls("M98 P2110", 6);
  await calls("O2070", 1);
  await ask("formatting", { options });
  await ask("rangeFormatting", { range: { start: place("G54.1   P2"), end: place("G54.1   P2", 3) }, options });
  await client.request<TextEdit[] | null>("textDocument/onTypeFormatting", program, lineOf("G54.1   P2") + 1, 0, { ch: "\n", options });

  // An edit, settings, a file on disk, a folder that goes and comes.
  await client.edit(program, lineOf("G54.1 P21"), 7, 9, "12");
  await client.connection.sendNotification("workspace/didChangeConfiguration", { settings: null });
  client.write("demo/plate/plate.offsets.nc", files["demo/plate/plate.offsets.nc"]);
  await client.connection.sendNotification("workspace/didChangeWatchedFiles", {
    changes: [{ uri: client.uri("demo/plate/plate.offsets.nc"), type: 2 }],
  });
  const other = { uri: pathToFileURL(join(client.folder, "other")).toString(), name: "other" };
  client.folders.push(other);
  await client.connection.sendNotification("workspace/didChangeWorkspaceFolders", { event: { added: [other], removed: [] } });
  await client.ask("textDocument/hover", program, { position: place("G54.1 P4", 3) });
  await client.until("checked", () => client.statuses.get(client.uri(program))?.state === "checked");
}

async function ended(client: LanguageClient): Promise<Verdict> {
  await client.close(program);
  await client.close(sidecar);
  expect(await client.stop()).toBe(0);
  return conforming(client.transcript);
}

/** Of all that the server offered in a session: what was not said to it, and what was answered with nothing every time. */
function missed(verdict: Verdict): string[] {
  return [...verdict.offered].flatMap((method) => {
    const kind = protocol.messages.get(method)?.kind ?? "request";
    if (!verdict.counts.has(`${kind} ${method}`)) return [`${method}: never sent`];
    return kind === "request" && !verdict.filled.has(method) ? [`${method}: never answered with anything`] : [];
  });
}

const said = (verdict: Verdict) => [...verdict.counts.keys()];

/** Methods of which a notification, or a request and its result, was held against the model. */
const held = (verdict: Verdict) =>
  said(verdict)
    .flatMap((s) => /^(?:notification|result) (.*)$/.exec(s)?.[1] ?? [])
    .sort();

describe("everything that the server offers", () => {
  it("is asked for and keeps to the protocol, for a client that is told diagnostics", async () => {
    const client = await LanguageClient.start(built.server, files, able, { settings: { format: { enable: true } } });
    await everything(client);
    await client.until("refreshed", () => ["inlayHint", "codeLens", "semanticTokens"].every((w) => (client.refreshed.get(w) ?? 0) > 0));
    const verdict = await ended(client);
    expect(missed(verdict)).toEqual([]);
    expect(verdict.unknownOffers).toEqual([]);
    // What the client can be asked for, it was.
    expect([...verdict.takes].filter((m) => !verdict.counts.has(`request ${m}`))).toEqual([]);
    expect([...verdict.own]).toEqual(["jawline/status"]);
    expect(held(verdict)).toEqual([
      "callHierarchy/incomingCalls",
      "callHierarchy/outgoingCalls",
      "exit",
      "initialize",
      "initialized",
      "shutdown",
      "textDocument/codeAction",
      "textDocument/codeLens",
      "textDocument/completion",
      "textDocument/definition",
      "textDocument/didChange",
      "textDocument/didClose",
      "textDocument/didOpen",
      "textDocument/documentHighlight",
      "textDocument/documentLink",
      "textDocument/documentSymbol",
      "textDocument/foldingRange",
      "textDocument/formatting",
      "textDocument/hover",
      "textDocument/inlayHint",
      "textDocument/onTypeFormatting",
      "textDocument/prepareCallHierarchy",
      "textDocument/prepareRename",
      "textDocument/publishDiagnostics",
      "textDocument/rangeFormatting",
      "textDocument/references",
      "textDocument/rename",
      "textDocument/selectionRange",
      "textDocument/semanticTokens/full",
      "textDocument/semanticTokens/full/delta",
      "textDocument/semanticTokens/range",
      "textDocument/signatureHelp",
      "workspace/codeLens/refresh",
      "workspace/configuration",
      "workspace/didChangeConfiguration",
      "workspace/didChangeWatchedFiles",
      "workspace/didChangeWorkspaceFolders",
      "workspace/inlayHint/refresh",
      "workspace/semanticTokens/refresh",
      "workspace/symbol",
      "workspace/workspaceFolders",
    ]);
  }, 60_000);

  it("is asked for and keeps to the protocol, for a client that asks for diagnostics and has formatters registered", async () => {
    const client = await LanguageClient.start(built.server, files, pulling, { settings: { format: { enable: true } } });
    await client.until("registered", () => client.registered.has("textDocument/formatting"));
    await everything(client);
    await client.ask("textDocument/diagnostic", program);
    await client.ask("textDocument/diagnostic", sidecar);
    await client.until("asked to pull again", () => (client.refreshed.get("diagnostic") ?? 0) > 0);
    client.settings = {};
    await client.connection.sendNotification("workspace/didChangeConfiguration", { settings: null });
    await client.until("gone", () => !client.registered.has("textDocument/formatting"));
    const verdict = await ended(client);
    expect(missed(verdict)).toEqual([]);
    expect([...verdict.takes].filter((m) => !verdict.counts.has(`request ${m}`))).toEqual([]);
    expect([...verdict.offered]).toEqual(expect.arrayContaining(["textDocument/diagnostic", "textDocument/rangeFormatting"]));
    for (const what of [
      "result textDocument/diagnostic",
      "request workspace/diagnostic/refresh",
      "request client/registerCapability",
      "request client/unregisterCapability",
    ])
      expect(said(verdict)).toContain(what);
  }, 60_000);

  it("is held back where a client announces nothing", async () => {
    const client = await LanguageClient.start(built.server, files, { workspace: {}, textDocument: {} });
    await everything(client);
    const verdict = await ended(client);
    // No formatter by default, and no fixes for a client that knows no more than commands.
    const nothing = ["codeAction", "formatting", "onTypeFormatting", "rangeFormatting"];
    expect(missed(verdict).sort()).toEqual(nothing.map((m) => `textDocument/${m}: never answered with anything`));
    expect(said(verdict).filter((s) => /^request (?:client|workspace|window)\/(?!symbol)/.test(s))).toEqual([]);
  }, 60_000);
});

it("every test of this folder takes the client whose sessions are looked at", () => {
  const folder = import.meta.dirname;
  const sources = readdirSync(folder).map((name) => ({ name, source: readFileSync(join(folder, name), "utf8") }));
  const plain = sources.filter(({ source }) => /^import .*language-client\.js"/m.test(source));
  const unseen = sources.filter(({ source }) => source.includes("createMessageConnection") && !source.includes("conforming("));
  expect([...plain, ...unseen].map(({ name }) => name)).toEqual([]);
});
