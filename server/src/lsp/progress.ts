import type { Connection, WorkDoneProgressServerReporter } from "vscode-languageserver";
import { baseName } from "../engine/text/path.js";
import { say } from "../ide/texts.js";

/** A check that is done sooner needs no sign that it is under way, in milliseconds. */
const LONG = 800;

/** Tells a client that a check takes long, once it does. */
export class Progress {
  readonly #connection: Connection;
  readonly #possible: () => boolean;
  readonly #waiting = new Map<string, ReturnType<typeof setTimeout>>();
  readonly #shown = new Map<string, Promise<WorkDoneProgressServerReporter | undefined>>();

  constructor(connection: Connection, possible: () => boolean) {
    this.#connection = connection;
    this.#possible = possible;
  }

  /** A check of a file begins, or begins again. */
  begin(path: string): void {
    if (!this.#possible() || this.#waiting.has(path) || this.#shown.has(path)) return;
    this.#waiting.set(
      path,
      setTimeout(() => {
        this.#waiting.delete(path);
        const name = baseName(path);
        const reporter = this.#connection.window
          .createWorkDoneProgress()
          .then((made) => {
            made.begin(say("server.checking", { file: name }));
            return made;
          })
          .catch(() => undefined);
        this.#shown.set(path, reporter);
      }, LONG),
    );
  }

  /** It is done, or nobody waits for it any more. */
  end(path: string): void {
    clearTimeout(this.#waiting.get(path));
    this.#waiting.delete(path);
    const shown = this.#shown.get(path);
    this.#shown.delete(path);
    void shown?.then((reporter) => reporter?.done());
  }
}
