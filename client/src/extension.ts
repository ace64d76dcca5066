import * as vscode from "vscode";
import { LanguageClient, type LanguageClientOptions, type ServerOptions, TransportKind } from "vscode-languageclient/node";
import { check, createFixture, openFixture } from "./commands.js";
import type { StatusParams } from "./protocol.js";
import { StatusItem } from "./status.js";
import { taskProvider } from "./tasks.js";
import { caution } from "./texts.js";

let client: LanguageClient | undefined;

/** What other extensions and the tests may look at. */
export interface JawlineApi {
  statusText(): string;
}

/** Starts the language server as a Node process over IPC and joins it to the editor. Nothing from the workspace is executed. */
export async function activate(context: vscode.ExtensionContext): Promise<JawlineApi> {
  const module = context.asAbsolutePath("server/dist/server.js");
  const server: ServerOptions = {
    run: { module, transport: TransportKind.stdio },
    debug: { module, transport: TransportKind.stdio, options: { execArgv: ["--nolazy", "--enable-source-maps"] } },
  };
  const options: LanguageClientOptions = {
    documentSelector: [{ language: "iso6983" }, { pattern: "**/*.fixture.json" }, { pattern: "**/*.elements.json" }],
    synchronize: {
      configurationSection: "jawline",
      // Programs called from others, sidecars, their includes and offset files.
      fileEvents: [vscode.workspace.createFileSystemWatcher("**/*.{json,nc,cnc,tap,eia,iso,ngc,min,ncp,txt}")],
    },
    initializationOptions: { docs: vscode.Uri.joinPath(context.extensionUri, "server/docs/rules").toString() },
  };
  client = new LanguageClient("jawline", "Jawline", server, options);
  const running = client;
  const status = new StatusItem();
  context.subscriptions.push(
    status,
    running.onNotification("jawline/status", (params: StatusParams) => status.update(params)),
    vscode.commands.registerCommand("jawline.check", () => check(running)),
    vscode.commands.registerCommand("jawline.openFixture", () => openFixture(running)),
    vscode.commands.registerCommand("jawline.createFixture", () => createFixture()),
    vscode.commands.registerCommand("jawline.openDemo", () => openDemo(context)),
    vscode.tasks.registerTaskProvider("jawline", taskProvider(context)),
    vscode.commands.registerCommand("jawline.openRule", (rule: string) => openRule(context, rule)),
  );
  await running.start();
  await firstStart(context);
  return { statusText: () => status.text };
}

/** Opens the demo program that comes with the extension; editing it asks where to save, since the extension's folder is not the person's. */
async function openDemo(context: vscode.ExtensionContext): Promise<void> {
  await vscode.window.showTextDocument(vscode.Uri.joinPath(context.extensionUri, "fixtures-config/demo/plate/lever-faulty.nc"));
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
  void vscode.window.showInformationMessage(caution, "Understood");
}

/** Stops the server. */
export async function deactivate(): Promise<void> {
  await client?.stop();
}
