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
