import type { TextDocument } from "vscode-languageserver-textdocument";
import { URI } from "vscode-uri";
import type { Host } from "../engine/host.js";

/** Path of a document as the engine names files: absolute, with slashes. */
export function pathOf(uri: string): string {
  const parsed = URI.parse(uri);
  const path = parsed.scheme === "file" ? parsed.fsPath.replace(/\\/g, "/") : parsed.path;
  return path.startsWith("/") || /^[A-Za-z]:\//.test(path) ? path : `/${path}`;
}

/** URI of a path. */
export function uriOf(path: string): string {
  return URI.file(path).toString();
}

/**
 * Files as the editor sees them: an open document goes before what is on disk. URIs are kept as the client wrote them, so
 * that answers name a document by the same URI.
 */
export class EditorFiles implements Host {
  readonly #open = new Map<string, { readonly uri: string; text(): string }>();
  readonly #disk: Host;
  readonly #uris = new Map<string, string>();

  constructor(disk: Host) {
    this.#disk = disk;
  }

  /** An opened or changed document. */
  set(document: TextDocument): void {
    const path = pathOf(document.uri);
    this.#uris.set(path, document.uri);
    this.#open.set(path, { uri: document.uri, text: () => document.getText() });
  }

  /** A closed document: the disk counts again. */
  delete(uri: string): void {
    this.#open.delete(pathOf(uri));
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
    return open === undefined ? this.#disk.read(path) : open.text();
  }

  list(folder: string): readonly string[] | undefined {
    return this.#disk.list(folder);
  }
}
