import { type ChildProcess, spawn } from "node:child_process";
import { mkdirSync, mkdtempSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join } from "node:path";
import { pathToFileURL } from "node:url";
import { createMessageConnection, type MessageConnection, StreamMessageReader, StreamMessageWriter } from "vscode-jsonrpc/node";
import type { Diagnostic } from "vscode-languageserver-types";
import { type Sent, Transcript } from "./transcript.js";

/** The numbers from 1 to the last kind that the protocol has. */
const upTo = (last: number): number[] => Array.from({ length: last }, (_, i) => i + 1);

/** What an editor of today says that it can; a test that plays an older one gives its own. */
export const modern = {
  workspace: {
    configuration: true,
    workspaceFolders: true,
    workspaceEdit: { documentChanges: true },
    symbol: { symbolKind: { valueSet: upTo(26) } },
  },
  textDocument: {
    hover: { contentFormat: ["markdown", "plaintext"] },
    codeAction: {
      codeActionLiteralSupport: { codeActionKind: { valueSet: ["quickfix", "source.fixAll"] } },
      isPreferredSupport: true,
    },
    completion: {
      completionItem: {
        documentationFormat: ["markdown", "plaintext"],
        preselectSupport: true,
        snippetSupport: true,
      },
      completionItemKind: { valueSet: upTo(25) },
    },
    signatureHelp: {
      signatureInformation: {
        documentationFormat: ["markdown", "plaintext"],
        parameterInformation: { labelOffsetSupport: true },
        noActiveParameterSupport: true,
      },
    },
    documentLink: { tooltipSupport: true },
    documentSymbol: { hierarchicalDocumentSymbolSupport: true, symbolKind: { valueSet: upTo(26) } },
    publishDiagnostics: { relatedInformation: true, tagSupport: { valueSet: [1, 2] }, codeDescriptionSupport: true },
    rename: { prepareSupport: true },
    semanticTokens: { requests: { full: true, range: true }, tokenTypes: [], tokenModifiers: [], formats: ["relative"] },
  },
} as const;

/** A client of the language server over stdio: the server is a process, as in an editor. */
export class LanguageClient {
  readonly folder: string;
  readonly connection: MessageConnection;
  readonly diagnostics = new Map<string, Diagnostic[]>();
  readonly statuses = new Map<string, { state: string; fixture?: string; notChecked: string[]; errors: number }>();
  /** Everything that was said in the session. */
  readonly transcript = new Transcript();
  /** Registrations of capabilities by method. */
  readonly registered = new Set<string>();
  /** Number of "publishDiagnostics" seen for each URI. */
  readonly published = new Map<string, number>();
  readonly #process: ChildProcess;
  readonly #versions = new Map<string, number>();
  #stderr = "";
  capabilities: Record<string, unknown> = {};
  /** Looks at a session when it is over; what it throws fails the test. */
  static judge: ((transcript: Transcript) => void) | undefined;

  private constructor(server: string, files: Readonly<Record<string, string>>) {
    this.folder = mkdtempSync(join(tmpdir(), "jawline-lsp-"));
    for (const [name, text] of Object.entries(files)) this.write(name, text);
    this.#process = spawn(process.execPath, [server, "--stdio"], { stdio: ["pipe", "pipe", "pipe"] });
    const { stdin, stdout, stderr } = this.#process;
    if (stdin === null || stdout === null || stderr === null) throw new Error("the server has no pipes");
    stderr.on("data", (chunk) => {
      this.#stderr += chunk;
    });
    this.connection = createMessageConnection(
      this.transcript.reading(new StreamMessageReader(stdout)),
      this.transcript.writing(new StreamMessageWriter(stdin)),
    );
    this.connection.onNotification(
      "textDocument/publishDiagnostics",
      ({ uri, diagnostics }: { uri: string; diagnostics: Diagnostic[] }) => {
        this.diagnostics.set(uri, diagnostics);
        this.published.set(uri, (this.published.get(uri) ?? 0) + 1);
      },
    );
    this.connection.onNotification("jawline/status", (status: { uri: string; state: string; notChecked: string[]; errors: number }) => {
      this.statuses.set(status.uri, status);
    });
    this.connection.onRequest("workspace/configuration", ({ items }: { items: unknown[] }) => items.map(() => this.settings));
    this.connection.onRequest("client/registerCapability", ({ registrations }: { registrations: { method: string }[] }) => {
      for (const r of registrations) this.registered.add(r.method);
      return null;
    });
    this.connection.onRequest("client/unregisterCapability", ({ unregisterations }: { unregisterations: { method: string }[] }) => {
      for (const r of unregisterations) this.registered.delete(r.method);
      return null;
    });
    for (const what of ["inlayHint", "codeLens", "semanticTokens", "diagnostic"]) {
      this.connection.onRequest(`workspace/${what}/refresh`, () => {
        this.refreshed.set(what, (this.refreshed.get(what) ?? 0) + 1);
        return null;
      });
    }
    this.connection.onRequest("workspace/workspaceFolders", () => this.folders);
    this.connection.onRequest("window/workDoneProgress/create", () => null);
    this.connection.onNotification("$/progress", (params: { value: { kind: string; title?: string } }) => {
      this.progress.push(params.value);
    });
    this.connection.listen();
  }

  /** Number of the server's process. */
  get pid(): number | undefined {
    return this.#process.pid;
  }

  /** Everything that the server sent, in order. */
  get received(): Sent[] {
    return this.transcript.entries.flatMap((e) => (e.from === "server" ? [e.message] : []));
  }

  settings: Record<string, unknown> = {};
  /** Folders of the workspace. */
  readonly folders: { uri: string; name: string }[] = [];
  /** Requests of the server to ask again, by what for. */
  readonly refreshed = new Map<string, number>();
  readonly progress: { kind: string; title?: string }[] = [];

  /** Starts the server in a new folder with these files and initializes it. */
  static async start(
    server: string,
    files: Readonly<Record<string, string>>,
    capabilities: object = {},
    options: { readonly initializationOptions?: object; readonly settings?: Record<string, unknown>; readonly locale?: string } = {},
  ): Promise<LanguageClient> {
    const client = new LanguageClient(server, files);
    client.settings = options.settings ?? {};
    client.folders.push({ uri: pathToFileURL(client.folder).toString(), name: "shop" });
    const answer = await client.connection.sendRequest<{ capabilities: Record<string, unknown> }>("initialize", {
      processId: process.pid,
      rootUri: pathToFileURL(client.folder).toString(),
      workspaceFolders: client.folders,
      capabilities: { ...modern, ...capabilities },
      ...(options.locale === undefined ? {} : { locale: options.locale }),
      ...(options.initializationOptions === undefined ? {} : { initializationOptions: options.initializationOptions }),
    });
    client.capabilities = answer.capabilities;
    await client.connection.sendNotification("initialized", {});
    return client;
  }

  write(name: string, text: string): void {
    const path = join(this.folder, name);
    mkdirSync(dirname(path), { recursive: true });
    writeFileSync(path, text);
    this.transcript.file(this.uri(name), text);
  }

  uri(name: string): string {
    return pathToFileURL(join(this.folder, name)).toString();
  }

  async open(name: string, text: string, languageId = name.endsWith(".json") ? "jsonc" : "iso6983"): Promise<void> {
    this.#versions.set(name, 1);
    await this.connection.sendNotification("textDocument/didOpen", { textDocument: { uri: this.uri(name), languageId, version: 1, text } });
  }

  /** Replaces a stretch of one line of an open document. */
  async edit(name: string, line: number, start: number, end: number, text: string): Promise<void> {
    await this.replace(name, { line, character: start }, { line, character: end }, text);
  }

  /** Replaces a range of an open document. */
  async replace(
    name: string,
    start: { readonly line: number; readonly character: number },
    end: { readonly line: number; readonly character: number },
    text: string,
  ): Promise<void> {
    const version = (this.#versions.get(name) ?? 0) + 1;
    this.#versions.set(name, version);
    await this.connection.sendNotification("textDocument/didChange", {
      textDocument: { uri: this.uri(name), version },
      contentChanges: [{ range: { start, end }, text }],
    });
  }

  async close(name: string): Promise<void> {
    await this.connection.sendNotification("textDocument/didClose", { textDocument: { uri: this.uri(name) } });
  }

  request<T>(method: string, name: string, line: number, character: number, extra: object = {}): Promise<T> {
    return this.connection.sendRequest<T>(method, { textDocument: { uri: this.uri(name) }, position: { line, character }, ...extra });
  }

  /** A request about a whole document. */
  ask<T>(method: string, name: string, extra: object = {}): Promise<T> {
    return this.connection.sendRequest<T>(method, { textDocument: { uri: this.uri(name) }, ...extra });
  }

  rules(name: string): string[] {
    return (this.diagnostics.get(this.uri(name)) ?? []).map((d) => String(d.code)).sort();
  }

  /** Waits until a question is answered with something other than undefined or false. */
  async until<T>(what: string, look: () => T | undefined | false, patience = 15_000): Promise<T> {
    const end = Date.now() + patience;
    for (;;) {
      const value = look();
      if (value !== undefined && value !== false) return value;
      if (Date.now() > end) throw new Error(`waited in vain for ${what}; stderr: ${this.#stderr}`);
      await new Promise((resolve) => setTimeout(resolve, 10));
    }
  }

  /** Shuts the server down as the protocol wants; answers its exit code. */
  async stop(): Promise<number | null> {
    const ended = new Promise<number | null>((resolve) => this.#process.once("exit", resolve));
    await this.connection.sendRequest("shutdown");
    await this.connection.sendNotification("exit");
    const code = await ended;
    this.connection.dispose();
    rmSync(this.folder, { recursive: true, force: true });
    LanguageClient.judge?.(this.transcript);
    return code;
  }
}
