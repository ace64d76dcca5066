import type { TextDocument } from "vscode-languageserver-textdocument";
import { URI } from "vscode-uri";
import type { Host } from "../engine/host.js";
import type { ClientFiles } from "./client-files.js";
import { drain } from "./slices.js";

/**
 * The engine names files by absolute paths with slashes. A document that is not a plain file keeps its scheme and its
 * authority in the first segment, "/scheme:@authority/…", so that paths beside it stay in the same file system and lead
 * back to its URI. The "@" tells such a segment from a folder that merely has a colon in its name.
 */
const MARKED = /^\/([A-Za-z][A-Za-z0-9+.-]*):@([^/]*)(\/.*)?$/;

/** Path of a document as the engine names files: absolute, with slashes. */
export function pathOf(uri: string): string {
  const parsed = URI.parse(uri);
  if (parsed.scheme === "file" && parsed.authority === "") {
    const path = parsed.fsPath.replace(/\\/g, "/");
    return path.startsWith("/") || /^[A-Za-z]:\//.test(path) ? path : `/${path}`;
  }
  return `/${parsed.scheme}:@${encodeURIComponent(parsed.authority)}${parsed.path.startsWith("/") ? "" : "/"}${parsed.path}`;
}

/** URI of a path. */
export function uriOf(path: string): string {
  return parse(path).toString();
}

/** True for a path that is not one of this computer's own files. */
function isElsewhere(path: string): boolean {
  return MARKED.test(path);
}

function parse(path: string): URI {
  const found = MARKED.exec(path);
  if (found === null) return URI.file(path);
  return URI.from({ scheme: found[1] as string, authority: decode(found[2] ?? ""), path: found[3] ?? "/" });
}

function decode(text: string): string {
  try {
    return decodeURIComponent(text);
  } catch {
    return text;
  }
}

/**
 * Files as the editor sees them: an open document goes before what is on disk. URIs are kept as the client wrote them, so
 * that answers name a document by the same URI. Files that this process cannot read itself are asked of the client.
 */
export class EditorFiles implements Host {
  readonly #open = new Map<string, { readonly uri: string; text(): string }>();
  readonly #disk: Host | undefined;
  readonly #client: ClientFiles | undefined;
  readonly #uris = new Map<string, string>();

  /** `disk`: this computer's files, absent in a browser. `client`: what only the client can read. */
  constructor(disk: Host | undefined, client?: ClientFiles) {
    this.#disk = disk;
    this.#client = client;
  }

  /** Counts changes of documents and files, so that what was read from them can be kept until the next one. */
  stamp = 0;

  /** An opened or changed document. */
  set(document: TextDocument): void {
    this.stamp++;
    const path = pathOf(document.uri);
    this.#uris.set(path, document.uri);
    this.#open.set(path, { uri: document.uri, text: () => document.getText() });
  }

  /** A closed document: the disk counts again. */
  delete(uri: string): void {
    this.stamp++;
    const path = pathOf(uri);
    this.#open.delete(path);
    this.#client?.forget(path);
  }

  isOpen(path: string): boolean {
    return this.#open.has(path);
  }

  openPaths(): string[] {
    return [...this.#open.keys()];
  }

  uriOf(path: string): string {
    return this.#uris.get(path) ?? uriOf(path);
  }

  read(path: string): string | undefined {
    const open = this.#open.get(path);
    if (open !== undefined) return open.text();
    const disk = this.#diskOf(path);
    // A share of a network is a plain file for the system, under the name that the system uses.
    if (disk !== undefined) return disk.read(isElsewhere(path) ? parse(path).fsPath : path);
    return this.#client?.read(path);
  }

  list(folder: string): readonly string[] | undefined {
    const disk = this.#diskOf(folder);
    if (disk !== undefined) return disk.list(isElsewhere(folder) ? parse(folder).fsPath : folder);
    return this.#client?.list(folder);
  }

  #diskOf(path: string): Host | undefined {
    return parse(path).scheme === "file" ? this.#disk : undefined;
  }

  /** A file changed outside the editor. */
  forget(path: string): void {
    this.stamp++;
    this.#client?.forget(path);
  }

  /** Everything that the client was asked for is asked again. */
  forgetAll(): void {
    this.#client?.forgetAll();
  }

  /**
   * Does something with the files. `missed` tells whether it met a file that was still to be fetched: its result then rests
   * on a gap, and `arriving` says when to do it again.
   */
  look<T>(act: (host: Host) => T): { readonly result: T; readonly missed: boolean } {
    const watched = this.#watched();
    return { result: act(watched.host), missed: watched.missed() };
  }

  /** Resolves when all files that were asked for are here. */
  async arriving(): Promise<void> {
    await this.#client?.arriving();
  }

  /** Drains work in slices as `drain` does, again from the start for as long as it met files that were still to be fetched. */
  async drained<T>(work: (host: Host) => Generator<void, T, void>, abandoned: () => boolean): Promise<T | undefined> {
    for (;;) {
      const watched = this.#watched();
      const result = await drain(work(watched.host), () => abandoned() || watched.missed());
      if (!watched.missed() || abandoned()) return result;
      await this.arriving();
      if (abandoned()) return undefined;
    }
  }

  /** These files, and whether one of them was missing only for the moment to whoever asked here. */
  #watched(): { readonly host: Host; missed(): boolean } {
    let missed = false;
    const noting = <T>(ask: () => T): T => {
      const before = this.#client?.missed;
      const answer = ask();
      if (this.#client?.missed !== before) missed = true;
      return answer;
    };
    return {
      host: { read: (path) => noting(() => this.read(path)), list: (folder) => noting(() => this.list(folder)) },
      missed: () => missed,
    };
  }
}
