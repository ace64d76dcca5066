import * as vscode from "vscode";
import { LanguageClient, type ServerOptions, TransportKind } from "vscode-languageclient/node";
import { type JawlineApi, start } from "./start.js";
import { taskProvider } from "./tasks.js";

let client: { stop(): Promise<void> } | undefined;

/** Starts the language server as a Node process over stdio and joins it to the editor. Nothing from the workspace is executed. */
export async function activate(context: vscode.ExtensionContext): Promise<JawlineApi> {
  const module = context.asAbsolutePath("server/dist/server.js");
  const server: ServerOptions = {
    run: { module, transport: TransportKind.stdio },
    debug: { module, transport: TransportKind.stdio, options: { execArgv: ["--nolazy", "--enable-source-maps"] } },
  };
  context.subscriptions.push(vscode.tasks.registerTaskProvider("jawline", taskProvider(context)));
  const started = await start(context, (options) => new LanguageClient("jawline", "Jawline", server, options));
  client = started.client;
  return started.api;
}

/** Stops the server. */
export async function deactivate(): Promise<void> {
  await client?.stop();
}
