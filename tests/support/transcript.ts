import type { Message, MessageReader, MessageWriter } from "vscode-jsonrpc";

/** One message, whole. */
export interface Sent {
  readonly method?: string;
  readonly id?: number | string | null;
  readonly params?: unknown;
  readonly result?: unknown;
  readonly error?: unknown;
  readonly jsonrpc?: unknown;
}

/** One thing that happened in a session: a message, or a file that was written where the server may read it. */
export type Entry =
  | { readonly from: "client" | "server"; readonly message: Sent }
  | { readonly from: "disk"; readonly uri: string; readonly text: string };

/** Everything that went to and fro between a client and the server, in the order in which the client sent and received it. */
export class Transcript {
  readonly entries: Entry[] = [];

  /** What the client reads, kept. */
  reading(reader: MessageReader): MessageReader {
    return {
      listen: (callback) =>
        reader.listen((message) => {
          this.#keep("server", message);
          callback(message);
        }),
      onError: reader.onError,
      onClose: reader.onClose,
      onPartialMessage: reader.onPartialMessage,
      dispose: () => reader.dispose(),
    };
  }

  /** What the client writes, kept. */
  writing(writer: MessageWriter): MessageWriter {
    return {
      write: (message) => {
        this.#keep("client", message);
        return writer.write(message);
      },
      onError: writer.onError,
      onClose: writer.onClose,
      end: () => writer.end(),
      dispose: () => writer.dispose(),
    };
  }

  /** A file stands on disk from now on. */
  file(uri: string, text: string): void {
    this.entries.push({ from: "disk", uri, text });
  }

  #keep(from: "client" | "server", message: Message): void {
    this.entries.push({ from, message: message as Sent });
  }
}
