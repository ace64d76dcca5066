import type { Writable } from "node:stream";

/** Where a command's answer goes. */
export interface Terminal {
  /** The answer itself. Resolves when the reader has taken it. */
  out(text: string): Promise<void>;
  /** What is said beside the answer. */
  err(text: string): Promise<void>;
  /** The answer may be coloured. */
  readonly colour: boolean;
}

/** Thrown when whoever reads the answer has stopped reading, as `head` does. */
export class ReaderGone extends Error {}

/** This process's output. */
export function processTerminal(): Terminal {
  // Without a listener an error that arrives between two writes would end the process with a stack trace.
  process.stdout.on("error", () => {});
  process.stderr.on("error", () => {});
  return {
    out: (text) => writeAll(process.stdout, text),
    err: (text) => writeAll(process.stderr, text),
    colour: wantsColour(process.env, process.stdout.isTTY === true),
  };
}

/** Colours only on a terminal that has them, and never with NO_COLOR (no-color.org: set and not empty). */
export function wantsColour(env: Readonly<Record<string, string | undefined>>, isTerminal: boolean): boolean {
  return isTerminal && (env.NO_COLOR ?? "") === "" && env.TERM !== "dumb";
}

function writeAll(stream: Writable, text: string): Promise<void> {
  return new Promise((done, fail) => {
    stream.write(text, (error) => {
      if (error === null || error === undefined) done();
      else if ("code" in error && (error.code === "EPIPE" || error.code === "ERR_STREAM_DESTROYED")) fail(new ReaderGone());
      else fail(error);
    });
  });
}
