/** What the server tells the client beyond the standard protocol. The same shapes stand in server/src/lsp/protocol.ts. */

/** Notification "jawline/status": how far the check of one document has come. */
export interface StatusParams {
  readonly uri: string;
  readonly state: "checking" | "checked" | "not checked";
  /** URI of the sidecar in force, if any. */
  readonly fixture?: string;
  readonly errors: number;
  readonly warnings: number;
  readonly information: number;
  /** Things that were not checked, in plain words. */
  readonly notChecked: readonly string[];
  /** Why nothing was checked, or why the check stopped early. */
  readonly why?: string;
}

/** Parameter of requests that name one document or file. */
export interface DocumentParams {
  readonly uri: string;
}

/** Answer to the server's request "jawline/readFile": the bytes of a file; absent when it cannot be read. */
export interface FileAnswer {
  readonly base64?: string;
}

/** Answer to the server's request "jawline/listFolder": names in a folder; absent when it cannot be read. */
export interface FolderAnswer {
  readonly names?: readonly string[];
}

/** Answer of the server to "jawline/checkOnDisk": what a program held that the editor may not have sent. */
export interface OnDiskAnswer {
  /** False: the file cannot be read, and nothing else is said. */
  readonly readable: boolean;
  readonly errors: number;
  readonly warnings: number;
  readonly information: number;
  /** Why nothing was checked, or why the check stopped early. */
  readonly why?: string;
}
