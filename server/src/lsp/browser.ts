import { BrowserMessageReader, BrowserMessageWriter, createConnection } from "vscode-languageserver/browser";
import { serve } from "./server.js";

/** The part of a worker's own scope that a connection needs. */
interface WorkerScope {
  postMessage(message: unknown): void;
  onmessage: ((event: { data: unknown }) => unknown) | null;
}

// Runs in a browser's worker: the page speaks the protocol by messages, and reads files for the server.
const scope = globalThis as unknown as WorkerScope;
serve(createConnection(new BrowserMessageReader(scope), new BrowserMessageWriter(scope)), undefined);
