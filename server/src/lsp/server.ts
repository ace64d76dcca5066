import {
  BulkRegistration,
  type Connection,
  type Disposable,
  DocumentFormattingRequest,
  DocumentOnTypeFormattingRequest,
  DocumentRangeFormattingRequest,
  type InitializeParams,
  TextDocumentSyncKind,
  TextDocuments,
} from "vscode-languageserver";
import { TextDocument } from "vscode-languageserver-textdocument";
import { renderMessage } from "../engine/checks/wording.js";
import type { Host } from "../engine/host.js";
import type { Analysis } from "../engine/program.js";
import { say } from "../ide/texts.js";
import { speak } from "../report/language/languages.js";
import { abilitiesOf, featureCapabilities } from "./abilities.js";
import { ClientFiles } from "./client-files.js";
import { toDiagnostic } from "./convert.js";
import { serveDiagnostics, servePulled } from "./diagnostics.js";
import { serveFeatures } from "./features.js";
import { EditorFiles, pathOf } from "./files.js";
import { Progress } from "./progress.js";
import type { DocumentParams, FileAnswer, FixtureAnswer, FolderAnswer, OnDiskAnswer, StatusParams } from "./protocol.js";
import { type Abilities, createSession, type Session } from "./session.js";
import { type AllSettings, defaultAll, readSettings } from "./settings.js";
import { isUnreadable, Workspace } from "./workspace.js";

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
  let settings: AllSettings = defaultAll;
  /** Settings of documents that differ from the common ones: a folder of the workspace may have its own. */
  const own = new Map<string, AllSettings>();
  const settingsOf = (path: string): AllSettings => own.get(path) ?? settings;
  let docs: string | undefined;
  let abilities: Abilities | undefined;
  const can = (): Abilities => {
    if (abilities === undefined) throw new Error("the client has not introduced itself");
    return abilities;
  };

  const uriOf = (path: string) => files.uriOf(path);
  const diagnostics = serveDiagnostics(() => session);
  const progress = new Progress(connection, () => abilities?.progress === true);
  const workspace = new Workspace(files, settingsOf, {
    checking(path) {
      progress.begin(path);
      sendStatus({ uri: uriOf(path), state: "checking", errors: 0, warnings: 0, information: 0, notChecked: [] });
    },
    checked(path, analysis) {
      progress.end(path);
      sendStatus(statusOf(uriOf(path), analysis, uriOf));
      refreshViews();
    },
    findings: (path, findings, units) => diagnostics.changed(path, findings, units),
  });
  const session: Session = createSession({
    connection,
    documents,
    files,
    workspace,
    abilities: can,
    settings: settingsOf,
    toDiagnostic: (finding, units) =>
      toDiagnostic(finding, {
        units,
        uriOf,
        docs: can().codeDescriptions ? docs : undefined,
        tags: can().tags,
        related: can().relatedInformation,
      }),
  });

  let refreshing: ReturnType<typeof setTimeout> | undefined;
  /** Hints, lenses and colours rest on the analysis, which comes after the client asked for them. */
  function refreshViews(): void {
    clearTimeout(refreshing);
    refreshing = setTimeout(() => {
      if (can().hintRefresh) void connection.languages.inlayHint.refresh();
      if (can().lensRefresh) void connection.sendRequest("workspace/codeLens/refresh");
      if (can().tokenRefresh) connection.languages.semanticTokens.refresh();
    }, 30);
  }

  function sendStatus(status: StatusParams): void {
    void connection.sendNotification("jawline/status", status);
  }

  connection.onInitialize((params: InitializeParams) => {
    speak(params.locale);
    abilities = abilitiesOf(params);
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
        ...featureCapabilities(abilities),
        workspace: { workspaceFolders: { supported: true, changeNotifications: true } },
      },
    };
  });

  connection.onInitialized(async () => {
    servePulled(session);
    if (can().workspaceFolders) {
      connection.workspace.onDidChangeWorkspaceFolders(async () => {
        const folders = (await connection.workspace.getWorkspaceFolders()) ?? [];
        workspace.setFolders(folders.map((f) => pathOf(f.uri)));
      });
    }
    await pullSettings();
  });

  async function pullSettings(given?: unknown): Promise<void> {
    settings = readSettings(can().configuration ? await connection.workspace.getConfiguration("jawline") : given);
    own.clear();
    for (const path of [...files.openPaths(), ...workspace.checkedOnDisk()]) await pullOwn(path);
    workspace.changedAll();
    // A setting of hints or lenses changes no analysis, and a sidecar alone has none to wait for.
    refreshViews();
    await registerFormatting();
  }

  /** Settings as they are where a document is. True when they are not what was taken for them so far. */
  async function pullOwn(path: string): Promise<boolean> {
    if (!can().configuration) return false;
    const before = JSON.stringify(settingsOf(path));
    const scoped = readSettings(await connection.workspace.getConfiguration({ scopeUri: uriOf(path), section: "jawline" }));
    if (JSON.stringify(scoped) === JSON.stringify(settings)) own.delete(path);
    else own.set(path, scoped);
    return JSON.stringify(settingsOf(path)) !== before;
  }

  let formatting: Disposable | undefined;
  /** A formatter is offered only while the setting wants one, so that the editor does not ask which of two to use. */
  async function registerFormatting(): Promise<void> {
    if (!can().dynamicFormatting) return;
    const wanted = settings.format.enable || [...own.values()].some((s) => s.format.enable);
    if (!wanted) {
      formatting?.dispose();
      formatting = undefined;
    } else if (formatting === undefined) {
      const documentSelector = [{ language: "iso6983" }];
      const registrations = BulkRegistration.create();
      registrations.add(DocumentFormattingRequest.type, { documentSelector });
      registrations.add(DocumentRangeFormattingRequest.type, { documentSelector });
      registrations.add(DocumentOnTypeFormattingRequest.type, { documentSelector, firstTriggerCharacter: "\n" });
      formatting = await connection.client.register(registrations);
    }
  }

  connection.onDidChangeConfiguration((change) => {
    const section = (change.settings as { jawline?: unknown } | null | undefined)?.jawline;
    void pullSettings(section);
  });

  documents.onDidChangeContent(({ document }) => {
    files.set(document);
    workspace.changed(pathOf(document.uri));
  });
  documents.onDidOpen(({ document }) => {
    const path = pathOf(document.uri);
    if (abilities?.configuration === true)
      void pullOwn(path).then((changed) => {
        if (!files.isOpen(path)) own.delete(path);
        else if (changed) workspace.changed(path);
      });
  });
  documents.onDidClose(({ document }) => {
    own.delete(pathOf(document.uri));
    progress.end(pathOf(document.uri));
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

  serveFeatures(session);

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
    await pullOwn(path);
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

function statusOf(uri: string, analysis: Analysis, uriOf: (path: string) => string): StatusParams {
  const count = (level: string) => analysis.findings.filter((f) => f.level === level).length;
  const units = analysis.fixture?.units ?? "mm";
  const reason = (item: Analysis["notChecked"][number]) =>
    `${renderMessage("not-checked", item.what, { units })}: ${renderMessage("not-checked", item.why, { units })}`;
  const notChecked = analysis.notChecked.map(reason);
  const none = analysis.fixture?.usable !== true;
  return {
    uri,
    state: none || !analysis.complete ? "not checked" : "checked",
    ...(analysis.fixtureFile === undefined ? {} : { fixture: uriOf(analysis.fixtureFile) }),
    errors: count("error"),
    warnings: count("warning"),
    information: count("information"),
    notChecked,
    ...(none || !analysis.complete ? { why: notChecked[0] ?? say("server.stopped") } : {}),
  };
}
