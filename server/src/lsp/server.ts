import { type Connection, type InitializeParams, MarkupKind, TextDocumentSyncKind, TextDocuments } from "vscode-languageserver";
import { TextDocument } from "vscode-languageserver-textdocument";
import { renderMessage } from "../engine/checks/wording.js";
import { spellOffset } from "../engine/dialect/offsets.js";
import type { Host } from "../engine/host.js";
import type { Analysis } from "../engine/program.js";
import { definitionAt } from "../ide/definition.js";
import { hoverAt } from "../ide/hover.js";
import { sidecarHover } from "../ide/sidecar.js";
import { symbolsOf } from "../ide/symbols.js";
import { type View, viewOf } from "../ide/view.js";
import { ClientFiles } from "./client-files.js";
import { toDiagnostic, toDocumentSymbol, toLocation } from "./convert.js";
import { EditorFiles, pathOf } from "./files.js";
import {
  type DocumentParams,
  defaultSettings,
  type FileAnswer,
  type FixtureAnswer,
  type FolderAnswer,
  type OnDiskAnswer,
  type Settings,
  type StatusParams,
} from "./protocol.js";
import { isSidecar, isUnreadable, Workspace } from "./workspace.js";

/**
 * Serves one client over a connection. `disk` answers for files that are not open; what it cannot reach (all files where
 * it is absent, a virtual workspace) is asked of the client. The same server runs over stdio in
 * any editor and in a browser's worker; everything it shows comes from `ide/` as plain data.
 */
export function serve(connection: Connection, disk: Host | undefined): void {
  const documents = new TextDocuments(TextDocument);
  let clientReads = false;
  const files = new EditorFiles(
    disk,
    new ClientFiles({
      readFile: async (path) => (clientReads ? connection.sendRequest<FileAnswer>("jawline/readFile", { uri: uriOf(path) }) : {}),
      listFolder: async (path) => (clientReads ? connection.sendRequest<FolderAnswer>("jawline/listFolder", { uri: uriOf(path) }) : {}),
    }),
  );
  let settings: Settings = defaultSettings;
  let docs: string | undefined;
  let canConfigure = false;
  let canWatchFolders = false;

  const uriOf = (path: string) => files.uriOf(path);
  const workspace = new Workspace(files, () => settings, {
    checking(path) {
      sendStatus({ uri: uriOf(path), state: "checking", errors: 0, warnings: 0, information: 0, notChecked: [] });
    },
    checked(path, analysis) {
      sendStatus(statusOf(uriOf(path), analysis, uriOf));
    },
    findings(path, findings, units) {
      void connection.sendDiagnostics({
        uri: uriOf(path),
        // Editors show at most a thousand; the gravest come first so that none of them is lost.
        diagnostics: findings.slice(0, 1000).map((f) => toDiagnostic(f, units, uriOf, docs)),
      });
    },
  });

  function sendStatus(status: StatusParams): void {
    void connection.sendNotification("jawline/status", status);
  }

  const view = (analysis: Analysis | undefined): View | undefined =>
    analysis === undefined ? undefined : viewOf(analysis, (key) => spellOffset(key, analysis.profile));

  connection.onInitialize((params: InitializeParams) => {
    canConfigure = params.capabilities.workspace?.configuration === true;
    canWatchFolders = params.capabilities.workspace?.workspaceFolders === true;
    const given = params.initializationOptions as { docs?: unknown; settings?: unknown; readsFiles?: unknown } | undefined;
    clientReads = given?.readsFiles === true;
    docs = typeof given?.docs === "string" ? given.docs : undefined;
    settings = readSettings(given?.settings);
    const root = params.rootUri ?? undefined;
    const folders = params.workspaceFolders?.map((f) => f.uri) ?? (root === undefined ? [] : [root]);
    workspace.setFolders(folders.map(pathOf));
    return {
      serverInfo: { name: "jawline" },
      capabilities: {
        textDocumentSync: { openClose: true, change: TextDocumentSyncKind.Incremental },
        hoverProvider: true,
        definitionProvider: true,
        documentSymbolProvider: true,
        workspace: { workspaceFolders: { supported: true, changeNotifications: true } },
      },
    };
  });

  connection.onInitialized(async () => {
    if (canWatchFolders) {
      connection.workspace.onDidChangeWorkspaceFolders(async () => {
        const folders = (await connection.workspace.getWorkspaceFolders()) ?? [];
        workspace.setFolders(folders.map((f) => pathOf(f.uri)));
      });
    }
    await pullSettings();
  });

  async function pullSettings(given?: unknown): Promise<void> {
    settings = readSettings(canConfigure ? await connection.workspace.getConfiguration("jawline") : given);
    workspace.changedAll();
  }

  connection.onDidChangeConfiguration((change) => {
    const section = (change.settings as { jawline?: unknown } | null | undefined)?.jawline;
    void pullSettings(section);
  });

  documents.onDidChangeContent(({ document }) => {
    files.set(document);
    workspace.changed(pathOf(document.uri));
  });
  documents.onDidClose(({ document }) => {
    files.delete(document.uri);
    workspace.closed(pathOf(document.uri));
    workspace.dependencyChanged(pathOf(document.uri));
  });
  connection.onDidChangeWatchedFiles(({ changes }) => {
    for (const change of changes) {
      const path = pathOf(change.uri);
      files.forget(path);
      if (!files.isOpen(path)) workspace.dependencyChanged(path);
    }
  });

  connection.onHover(async ({ textDocument, position }) => {
    const path = pathOf(textDocument.uri);
    const at = { line: position.line, column: position.character };
    if (isSidecar(path)) {
      const known = workspace.fixtureOf(path);
      if (known === undefined) return null;
      const program = workspace.programsOf(path)[0];
      const markdown = sidecarHover(known.fixture, view(program), path, at);
      return markdown === undefined ? null : { contents: { kind: MarkupKind.Markdown, value: markdown } };
    }
    const current = view(await workspace.current(path));
    const hover = current === undefined ? undefined : hoverAt(current, path, at);
    if (hover === undefined) return null;
    return {
      contents: { kind: MarkupKind.Markdown, value: hover.markdown },
      range: { start: { line: hover.line, character: hover.start }, end: { line: hover.line, character: hover.end } },
    };
  });

  connection.onDefinition(async ({ textDocument, position }) => {
    const path = pathOf(textDocument.uri);
    const current = view(await workspace.current(path));
    const found = current === undefined ? undefined : definitionAt(current, path, { line: position.line, column: position.character });
    return found === undefined ? null : found.to.map((place) => toLocation(place, uriOf));
  });

  connection.onDocumentSymbol(async ({ textDocument }) => {
    const path = pathOf(textDocument.uri);
    const current = view(await workspace.current(path));
    if (current === undefined) return [];
    const lines = current.sourceOf(path)?.lines ?? [];
    return symbolsOf(current, path).map((entry) => toDocumentSymbol(entry, (line) => lines[line]?.length ?? 0));
  });

  connection.onRequest("jawline/check", async ({ uri }: DocumentParams) => {
    const path = pathOf(uri);
    // Not every file system of a client tells what changed: asking for a check looks at everything anew.
    files.forgetAll();
    workspace.changed(path);
    await workspace.current(path);
    return null;
  });

  connection.onRequest("jawline/checkOnDisk", async ({ uri }: DocumentParams): Promise<OnDiskAnswer> => {
    const path = pathOf(uri);
    files.forget(path);
    const analysis = await workspace.checkOnDisk(path);
    if (analysis === undefined || isUnreadable(analysis)) return { readable: false, errors: 0, warnings: 0, information: 0 };
    const { errors, warnings, information, why } = statusOf(uri, analysis, uriOf);
    return { readable: true, errors, warnings, information, ...(why === undefined ? {} : { why }) };
  });

  connection.onRequest("jawline/fixtureOf", async ({ uri }: DocumentParams): Promise<FixtureAnswer> => {
    const file = (await workspace.current(pathOf(uri)))?.fixtureFile;
    return file === undefined ? {} : { fixture: uriOf(file) };
  });

  documents.listen(connection);
  connection.listen();
}

/** Settings with everything that is not as described left out. */
function readSettings(given: unknown): Settings {
  const record = (value: unknown): Record<string, string> =>
    typeof value === "object" && value !== null
      ? Object.fromEntries(Object.entries(value).filter((e): e is [string, string] => typeof e[1] === "string"))
      : {};
  if (typeof given !== "object" || given === null) return defaultSettings;
  const { fixtures, levels, dialect } = given as { fixtures?: unknown; levels?: unknown; dialect?: unknown };
  return { fixtures: record(fixtures), levels: record(levels), dialect: typeof dialect === "string" ? dialect : defaultSettings.dialect };
}

function statusOf(uri: string, analysis: Analysis, uriOf: (path: string) => string): StatusParams {
  const count = (level: string) => analysis.findings.filter((f) => f.level === level).length;
  const units = analysis.fixture?.units ?? "mm";
  const say = (item: Analysis["notChecked"][number]) =>
    `${renderMessage("not-checked", item.what, { units })}: ${renderMessage("not-checked", item.why, { units })}`;
  const notChecked = analysis.notChecked.map(say);
  const none = analysis.fixture?.usable !== true;
  return {
    uri,
    state: none || !analysis.complete ? "not checked" : "checked",
    ...(analysis.fixtureFile === undefined ? {} : { fixture: uriOf(analysis.fixtureFile) }),
    errors: count("error"),
    warnings: count("warning"),
    information: count("information"),
    notChecked,
    ...(none || !analysis.complete ? { why: notChecked[0] ?? "the check stopped early" } : {}),
  };
}
