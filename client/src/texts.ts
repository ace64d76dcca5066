import * as vscode from "vscode";

/** The cautions, in the words of the README. */
export function caution(): string {
  return vscode.l10n.t(
    "Jawline is a review aid, not a proof. Prove every program out with the guards closed; the machine's manuals, local rules and qualified people decide.",
  );
}

/** How far a check has come, in words. */
export function stateWord(state: "checking" | "checked" | "not checked"): string {
  if (state === "checking") return vscode.l10n.t("checking");
  return state === "checked" ? vscode.l10n.t("checked") : vscode.l10n.t("not checked");
}

/** "2 errors, 1 warning"; empty when there are none of both. */
export function countWords(errors: number, warnings: number): string {
  const parts: string[] = [];
  if (errors > 0) parts.push(errors === 1 ? vscode.l10n.t("1 error") : vscode.l10n.t("{0} errors", errors));
  if (warnings > 0) parts.push(warnings === 1 ? vscode.l10n.t("1 warning") : vscode.l10n.t("{0} warnings", warnings));
  return parts.join(", ");
}
