import * as vscode from "vscode";
import { type BaseLanguageClient, type LanguageClientOptions, LSPErrorCodes, ResponseError } from "vscode-languageclient";
import { check, checkOnDisk, createFixture, openFixture } from "./commands.js";
import { listFolder, readFile } from "./files.js";
import type { DocumentParams, StatusParams } from "./protocol.js";
import { StatusItems } from "./status.js";
import { caution } from "./texts.js";
import { TraceChannel } from "./trace.js";

/** What other extensions and the tests may look at. */
export interface JawlineApi {
  /** What the status bar says. */
  statusText(): string;
  /** What the language status item says. */
  languageStatusText(): string;
}

/**
 * Programs called from others, sidecars, their includes and offset files; older controls name programs O1234 without an
 * ending. Flat, since the editor's globs know no braces within braces.
 */
const WATCHED = "**/{*.json,*.nc,*.cnc,*.tap,*.eia,*.iso,*.ngc,*.min,*.ncp,*.txt,[Oo][0-9][0-9][0-9][0-9]}";

/** Joins a language client to the editor: the same on the desktop and in a browser. `make` creates the client. */
export async function start(
  context: vscode.ExtensionContext,
  make: (options: LanguageClientOptions) => BaseLanguageClient,
): Promise<{ api: JawlineApi; client: BaseLanguageClient }> {
  const trace = new TraceChannel();
  context.subscriptions.push(trace);
  const client = make({
    traceOutputChannel: trace,
    documentSelector: [{ language: "iso6983" }, { pattern: "**/*.fixture.json" }, { pattern: "**/*.elements.json" }],
    middleware: {
      handleDiagnostics: (uri, diagnostics, next) => next(uri, diagnostics.map(withRulePage)),
      provideDiagnostics: async (document, previousResultId, token, next) => {
        const report = await next(document, previousResultId, token);
        if (report?.kind === "full") report.items.forEach(withRulePage);
        for (const related of Object.values(report?.relatedDocuments ?? {}))
          if (related.kind === "full") related.items.forEach(withRulePage);
        return report;
      },
    },
    synchronize: {
      configurationSection: "jawline",
      fileEvents: [vscode.workspace.createFileSystemWatcher(WATCHED)],
    },
    initializationOptions: {
      docs: vscode.Uri.joinPath(context.extensionUri, "server/docs/rules").toString(),
      readsFiles: true,
      // Hovers may carry a drawn plan, and lenses may lead to a list of places.
      images: true,
      commands: ["jawline.showPlaces"],
    },
  });
  sayRefusals(client);
  const status = new StatusItems();
  context.subscriptions.push(
    status,
    client.onNotification("jawline/status", (params: StatusParams) => status.update(params)),
    client.onRequest("jawline/readFile", ({ uri }: DocumentParams) => readFile(client.protocol2CodeConverter.asUri(uri))),
    client.onRequest("jawline/listFolder", ({ uri }: DocumentParams) => listFolder(client.protocol2CodeConverter.asUri(uri))),
    vscode.commands.registerCommand("jawline.check", () => check(client)),
    vscode.commands.registerCommand("jawline.checkOnDisk", (uri?: unknown, all?: unknown) => checkOnDisk(client, uri, all)),
    vscode.commands.registerCommand("jawline.openFixture", () => openFixture(client)),
    vscode.commands.registerCommand("jawline.createFixture", () => createFixture()),
    vscode.commands.registerCommand("jawline.openDemo", () => openDemo(context)),
    vscode.commands.registerCommand("jawline.showPlaces", (uri: unknown, position: unknown, places: unknown) =>
      showPlaces(client, uri, position, places),
    ),
    vscode.commands.registerCommand("jawline.openRule", (rule: string) => openRule(context, rule)),
  );
  await client.start();
  await firstStart(context);
  return { api: { statusText: () => status.text, languageStatusText: () => status.languageText }, client };
}

/**
 * What the server refuses, it refuses with a sentence for the person (a program whose jumps are computed is not numbered anew).
 * That sentence is shown alone, without the name of the request and its code around it.
 */
function sayRefusals(client: BaseLanguageClient): void {
  const other = client.handleFailedRequest.bind(client);
  client.handleFailedRequest = (type, token, error, defaultValue, showNotification = true, throwOnCancel = false) => {
    if (!showNotification || !(error instanceof ResponseError) || error.code !== LSPErrorCodes.RequestFailed)
      return other(type, token, error, defaultValue, showNotification, throwOnCancel);
    void vscode.window.showWarningMessage(error.message);
    return defaultValue;
  };
}

/** Opens the demo program that comes with the extension; editing it asks where to save, since the extension's folder is not the person's. */
async function openDemo(context: vscode.ExtensionContext): Promise<void> {
  await vscode.window.showTextDocument(vscode.Uri.joinPath(context.extensionUri, "fixtures-config/demo/plate/lever-faulty.nc"));
}

/** Shows places in a peek at a position, as a lens of the server asks: protocol URI, position and locations. */
async function showPlaces(client: BaseLanguageClient, uri: unknown, position: unknown, places: unknown): Promise<void> {
  if (typeof uri !== "string" || !isPosition(position) || !Array.isArray(places)) return;
  const convert = client.protocol2CodeConverter;
  await vscode.commands.executeCommand(
    "editor.action.showReferences",
    convert.asUri(uri),
    convert.asPosition(position),
    places.filter(isLocation).map((place) => convert.asLocation(place)),
  );
}

function isPosition(value: unknown): value is { line: number; character: number } {
  return typeof value === "object" && value !== null && "line" in value && "character" in value;
}

function isLocation(
  value: unknown,
): value is { uri: string; range: { start: { line: number; character: number }; end: { line: number; character: number } } } {
  return typeof value === "object" && value !== null && "uri" in value && "range" in value;
}

/** Lets the name of a finding's rule lead to the page as it is meant to be read, not to the text that it is made from. */
function withRulePage(diagnostic: vscode.Diagnostic): vscode.Diagnostic {
  const { code } = diagnostic;
  if (typeof code !== "object" || code.target.scheme === "command") return diagnostic;
  const args = encodeURIComponent(JSON.stringify([code.value]));
  diagnostic.code = { value: code.value, target: vscode.Uri.parse(`command:jawline.openRule?${args}`) };
  return diagnostic;
}

/** Shows a rule's page. */
async function openRule(context: vscode.ExtensionContext, rule: string): Promise<void> {
  if (!/^[a-z-]+$/.test(rule)) return;
  await vscode.commands.executeCommand(
    "markdown.showPreview",
    vscode.Uri.joinPath(context.extensionUri, "server/docs/rules", `${rule}.md`),
  );
}

/** The cautions, once for every person. */
async function firstStart(context: vscode.ExtensionContext): Promise<void> {
  const key = "jawline.cautionShown";
  if (context.globalState.get<boolean>(key) === true) return;
  await context.globalState.update(key, true);
  void vscode.window.showInformationMessage(caution(), vscode.l10n.t("Understood"));
}
