import { decodeText } from "../cli/decode.js";
import type { Host } from "../engine/host.js";
import { baseName, folderOf } from "../engine/text/path.js";
import type { FileAnswer, FolderAnswer } from "./protocol.js";

/** The questions that go to the client. Both may fail: what cannot be had is not there. */
export interface Asked {
  readFile(path: string): Promise<FileAnswer>;
  listFolder(path: string): Promise<FolderAnswer>;
}

/** Questions on the way at once; a folder of a thousand files must not become a thousand messages at a time. */
const AT_ONCE = 16;

/**
 * Files that only the client can read: a virtual workspace, and every file when the server runs in a browser. The engine
 * asks and wants its answer at once, so a file that is not here yet is answered as missing, fetched, and kept; the one
 * who asked looks at `missed`, waits for `arriving` and asks again. What is kept stays until the client says that it changed.
 */
export class ClientFiles implements Host {
  readonly #asked: Asked;
  readonly #texts = new Map<string, string | undefined>();
  readonly #folders = new Map<string, readonly string[] | undefined>();
  readonly #coming = new Map<string, Promise<void>>();
  readonly #queue: (() => void)[] = [];
  #running = 0;
  #missed = 0;

  constructor(asked: Asked) {
    this.#asked = asked;
  }

  read(path: string): string | undefined {
    if (this.#texts.has(path)) return this.#texts.get(path);
    // A folder that is known and does not hold the name spares the question.
    const siblings = this.#folders.get(folderOf(path));
    if (siblings !== undefined && !siblings.includes(baseName(path))) return undefined;
    this.#fetch(`file ${path}`, this.#texts, path, async () => {
      const { base64 } = await this.#asked.readFile(path);
      return base64 === undefined ? undefined : decodeText(fromBase64(base64));
    });
    return undefined;
  }

  list(folder: string): readonly string[] | undefined {
    if (this.#folders.has(folder)) return this.#folders.get(folder);
    this.#fetch(`folder ${folder}`, this.#folders, folder, async () => {
      const { names } = await this.#asked.listFolder(folder);
      return names === undefined ? undefined : [...names].sort();
    });
    return undefined;
  }

  /** How often something was answered as missing only because it is not here yet. */
  get missed(): number {
    return this.#missed;
  }

  /** A file came, changed or went: it and the list of its folder are asked for again. */
  forget(path: string): void {
    this.#texts.delete(path);
    this.#folders.delete(folderOf(path));
    // An answer on the way may be older than the change.
    this.#coming.delete(`file ${path}`);
    this.#coming.delete(`folder ${folderOf(path)}`);
  }

  forgetAll(): void {
    this.#texts.clear();
    this.#folders.clear();
    this.#coming.clear();
  }

  /** Resolves when all that is on the way has come. */
  async arriving(): Promise<void> {
    await Promise.all(this.#coming.values());
  }

  #fetch<T>(key: string, known: Map<string, T | undefined>, path: string, ask: () => Promise<T | undefined>): void {
    this.#missed++;
    if (this.#coming.has(key)) return;
    const coming: Promise<void> = this.#turn(ask)
      .catch(() => undefined)
      .then((answer) => {
        // Forgotten on the way: the next one who needs it asks again.
        if (this.#coming.get(key) !== coming) return;
        known.set(path, answer);
        this.#coming.delete(key);
      });
    this.#coming.set(key, coming);
  }

  async #turn<T>(ask: () => Promise<T>): Promise<T> {
    if (this.#running >= AT_ONCE) await new Promise<void>((resolve) => this.#queue.push(resolve));
    this.#running++;
    try {
      return await ask();
    } finally {
      this.#running--;
      this.#queue.shift()?.();
    }
  }
}

function fromBase64(text: string): Uint8Array {
  const binary = atob(text);
  const bytes = new Uint8Array(binary.length);
  for (let i = 0; i < binary.length; i++) bytes[i] = binary.charCodeAt(i);
  return bytes;
}
