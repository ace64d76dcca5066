/** What this server says and answers beyond the standard protocol. The same shapes stand in client/src/protocol.ts. */

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

/** Parameter of the requests "jawline/check" and "jawline/fixtureOf". */
export interface DocumentParams {
  readonly uri: string;
}

/** Answer of "jawline/fixtureOf". */
export interface FixtureAnswer {
  /** URI of the sidecar in force for the program; absent when there is none. */
  readonly fixture?: string;
}

/**
 * Answer of the client to the request "jawline/readFile" (parameter: DocumentParams): the bytes of a file; absent when it
 * cannot be read. A client that answers it says so by `readsFiles: true` in its initialization options.
 */
export interface FileAnswer {
  readonly base64?: string;
}

/** Answer of the client to the request "jawline/listFolder" (parameter: DocumentParams): names in a folder; absent when it cannot be read. */
export interface FolderAnswer {
  readonly names?: readonly string[];
}

/** Answer of "jawline/checkOnDisk" (parameter: DocumentParams): what a program holds that the editor may not have sent. */
export interface OnDiskAnswer {
  /** False: the file cannot be read, and nothing else is said. */
  readonly readable: boolean;
  readonly errors: number;
  readonly warnings: number;
  readonly information: number;
  /** Why nothing was checked, or why the check stopped early. */
  readonly why?: string;
}

/** The section "jawline" of the settings, as far as the server reads it. */
export interface Settings {
  /** Glob of programs → path of a sidecar. */
  readonly fixtures: Readonly<Record<string, string>>;
  readonly levels: Readonly<Record<string, string>>;
  readonly dialect: string;
}

export const defaultSettings: Settings = { fixtures: {}, levels: {}, dialect: "iso" };
