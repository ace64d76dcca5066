import { type ChildProcess, spawn } from "node:child_process";
import { readFileSync } from "node:fs";
import { join } from "node:path";
import { afterAll, beforeAll, describe, expect, it } from "vitest";
import { createMessageConnection, type MessageConnection, StreamMessageReader, StreamMessageWriter } from "vscode-jsonrpc/node";
import type { Diagnostic } from "vscode-languageserver-types";
import type { FileAnswer, FolderAnswer } from "../../server/src/lsp/protocol.js";
import { buildServer } from "../support/built-server.js";
import { conforming } from "../support/conforming-client.js";
import { Transcript } from "../support/transcript.js";

const root = join(import.meta.dirname, "../..");
const HOME = "vscode-vfs://shop/jobs";
const read = (name: string): string => readFileSync(join(root, "fixtures-config", name), "utf8");
const names = [
  "elements/grid-50.elements.json",
  "elements/tools.elements.json",
  "demo/plate/plate.fixture.json",
  "demo/plate/plate.offsets.nc",
  "demo/plate/lever.nc",
];

interface Status {
  readonly uri: string;
  readonly state: string;
  readonly fixture?: string;
}

/** A client whose files are no files of this computer: all that the server reads comes through it. */
class VirtualClient {
  readonly files = new Map(names.map((name) => [`${HOME}/${name}`, read(name)]));
  readonly statuses: Status[] = [];
  readonly diagnostics = new Map<string, Diagnostic[]>();
  readonly asked: string[] = [];
  readonly transcript = new Transcript();
  readonly #process: ChildProcess;
  readonly connection: MessageConnection;

  constructor(server: string) {
    this.#process = spawn(process.execPath, [server, "--stdio"], { stdio: ["pipe", "pipe", "inherit"] });
    const { stdin, stdout } = this.#process;
    if (stdin === null || stdout === null) throw new Error("the server has no pipes");
    this.connection = createMessageConnection(
      this.transcript.reading(new StreamMessageReader(stdout)),
      this.transcript.writing(new StreamMessageWriter(stdin)),
    );
    this.connection.onRequest("jawline/readFile", ({ uri }: { uri: string }): FileAnswer => {
      this.asked.push(uri);
      const text = this.files.get(uri);
      return text === undefined ? {} : { base64: Buffer.from(text).toString("base64") };
    });
    this.connection.onRequest("jawline/listFolder", ({ uri }: { uri: string }): FolderAnswer => {
      const inside = [...this.files.keys()]
        .filter((f) => f.startsWith(`${uri}/`))
        .map((f) => f.slice(uri.length + 1).split("/")[0] as string);
      return inside.length === 0 ? {} : { names: [...new Set(inside)] };
    });
    this.connection.onNotification("jawline/status", (status: Status) => void this.statuses.push(status));
    this.connection.onNotification("textDocument/publishDiagnostics", (p: { uri: string; diagnostics: Diagnostic[] }) => {
      this.diagnostics.set(p.uri, p.diagnostics);
    });
    this.connection.listen();
  }

  async start(locale: string): Promise<void> {
    await this.connection.sendRequest("initialize", {
      processId: null,
      rootUri: HOME,
      locale,
      capabilities: {},
      workspaceFolders: [{ uri: HOME, name: "jobs" }],
      initializationOptions: { readsFiles: true },
    });
    await this.connection.sendNotification("initialized", {});
  }

  async open(name: string, text: string): Promise<void> {
    await this.connection.sendNotification("textDocument/didOpen", {
      textDocument: { uri: `${HOME}/${name}`, languageId: "iso6983", version: 1, text },
    });
  }

  async until<T>(what: string, look: () => T | undefined | false): Promise<T> {
    for (let i = 0; i < 400; i++) {
      const found = look();
      if (found !== undefined && found !== false) return found;
      await new Promise((resolve) => setTimeout(resolve, 25));
    }
    throw new Error(`waited in vain for ${what}`);
  }

  async changed(name: string, type: 1 | 2 | 3): Promise<void> {
    await this.connection.sendNotification("workspace/didChangeWatchedFiles", { changes: [{ uri: `${HOME}/${name}`, type }] });
  }

  async stop(): Promise<void> {
    await this.connection.sendRequest("shutdown");
    await this.connection.sendNotification("exit");
    conforming(this.transcript);
  }
}

let built: ReturnType<typeof buildServer>;
beforeAll(() => {
  built = buildServer();
}, 60_000);
afterAll(() => built.remove());

describe("a workspace that is no folder of this computer", () => {
  it("has its sidecar found, its includes read, and its changes followed, and its URIs kept", async () => {
    const client = new VirtualClient(built.server);
    await client.start("en");
    await client.open("demo/plate/lever.nc", read("demo/plate/lever.nc"));
    const last = () => client.statuses.at(-1);
    await client.until("checked", () => last()?.state === "checked");
    expect(last()?.fixture).toBe(`${HOME}/demo/plate/plate.fixture.json`);
    expect(client.asked).toContain(`${HOME}/elements/tools.elements.json`);
    // No state in between is shown: a sidecar on its way is not a missing one.
    expect(client.statuses.map((s) => s.state)).not.toContain("not checked");
    expect((client.diagnostics.get(`${HOME}/demo/plate/lever.nc`) ?? []).filter((d) => (d.severity ?? 1) === 1)).toEqual([]);

    const sidecar = `${HOME}/demo/plate/plate.fixture.json`;
    const before = client.files.get(sidecar) ?? "";
    client.files.set(sidecar, before.replace('"G54.1 P7"', '"G54.1 P8"'));
    await client.changed("demo/plate/plate.fixture.json", 2);
    await client.until("a finding", () => client.diagnostics.get(`${HOME}/demo/plate/lever.nc`)?.some((d) => d.code === "offset-unmapped"));

    client.files.delete(sidecar);
    await client.changed("demo/plate/plate.fixture.json", 3);
    await client.until("not checked", () => last()?.state === "not checked" && last()?.fixture === undefined);
    client.files.set(sidecar, before);
    await client.changed("demo/plate/plate.fixture.json", 1);
    await client.until("checked again", () => last()?.state === "checked");
    await client.stop();
  });

  it("has a program checked that is not open, in the language of the editor", async () => {
    const client = new VirtualClient(built.server);
    await client.start("de-AT");
    const wrong = `${HOME}/demo/plate/wrong.nc`;
    client.files.set(wrong, read("demo/plate/lever.nc").replace("G54.1 P12\n", "G54.1 P44\n"));
    const answer = await client.connection.sendRequest<{ readable: boolean; errors: number }>("jawline/checkOnDisk", { uri: wrong });
    expect(answer.readable).toBe(true);
    expect(answer.errors).toBeGreaterThan(0);
    const found = await client.until("the finding", () => client.diagnostics.get(wrong)?.find((d) => d.code === "offset-unmapped"));
    expect(found.message).toContain("keine Station benutzt G54.1 P44");
    // The findings follow the file, and go with it.
    client.files.delete(wrong);
    await client.changed("demo/plate/wrong.nc", 3);
    await client.until("nothing left", () => client.diagnostics.get(wrong)?.length === 0);
    const gone = await client.connection.sendRequest<{ readable: boolean }>("jawline/checkOnDisk", { uri: wrong });
    expect(gone.readable).toBe(false);
    await client.stop();
  });
});
