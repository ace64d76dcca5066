import * as vscode from "vscode";
import { LanguageClient } from "vscode-languageclient/browser";
import { type JawlineApi, start } from "./start.js";

let client: { stop(): Promise<void> } | undefined;

/** Starts the language server in a worker of the browser and joins it to the editor. All files reach it through the editor. */
export async function activate(context: vscode.ExtensionContext): Promise<JawlineApi> {
  const worker = new Worker(vscode.Uri.joinPath(context.extensionUri, "server/dist/jawline.js").toString(true));
  const started = await start(context, (options) => new LanguageClient("jawline", "Jawline", worker, options));
  client = started.client;
  return started.api;
}

/** Stops the server. */
export async function deactivate(): Promise<void> {
  await client?.stop();
}
