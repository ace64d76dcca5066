import * as vscode from "vscode";
import type { StatusParams } from "./protocol.js";
import { caution, states } from "./texts.js";

/** The item in the status bar: which sidecar is in force for the program on view, and how far its check has come. */
export class StatusItem implements vscode.Disposable {
  readonly #item = vscode.window.createStatusBarItem("jawline.status", vscode.StatusBarAlignment.Left, 10);
  readonly #known = new Map<string, StatusParams>();
  readonly #listener: vscode.Disposable;

  constructor() {
    this.#item.name = "Jawline";
    this.#item.command = "jawline.openFixture";
    this.#listener = vscode.window.onDidChangeActiveTextEditor(() => this.#show());
    this.#show();
  }

  /** Takes a status from the server. */
  update(status: StatusParams): void {
    this.#known.set(vscode.Uri.parse(status.uri).toString(), status);
    this.#show();
  }

  /** Text and state of the document on view, for tests and for screen readers. */
  get text(): string {
    return this.#item.text;
  }

  #show(): void {
    const editor = vscode.window.activeTextEditor;
    if (editor === undefined || editor.document.languageId !== "iso6983") {
      this.#item.hide();
      return;
    }
    const status = this.#known.get(editor.document.uri.toString());
    const sidecar = status?.fixture === undefined ? "no sidecar" : fileName(status.fixture);
    const state = status?.state ?? "checking";
    // The state is told by word and by icon; colour only repeats it.
    const icon = state === "checking" ? "$(sync~spin)" : state === "checked" ? "$(pass)" : "$(circle-slash)";
    const word = state === "checking" ? states.checking : state === "checked" ? states.checked : states.notChecked;
    const counts = status !== undefined && state !== "checking" ? found(status) : "";
    this.#item.text = `${icon} ${sidecar}: ${word}${counts}`;
    this.#item.accessibilityInformation = { label: `Jawline: ${sidecar}, ${word}${counts}`, role: "button" };
    this.#item.backgroundColor = state === "not checked" ? new vscode.ThemeColor("statusBarItem.warningBackground") : undefined;
    this.#item.tooltip = tooltip(status, sidecar, word);
    this.#item.show();
  }

  dispose(): void {
    this.#listener.dispose();
    this.#item.dispose();
  }
}

function fileName(uri: string): string {
  const path = vscode.Uri.parse(uri).path;
  return path.slice(path.lastIndexOf("/") + 1);
}

function found(status: StatusParams): string {
  const parts: string[] = [];
  if (status.errors > 0) parts.push(`${status.errors} ${status.errors === 1 ? "error" : "errors"}`);
  if (status.warnings > 0) parts.push(`${status.warnings} ${status.warnings === 1 ? "warning" : "warnings"}`);
  if (parts.length > 0) return `, ${parts.join(", ")}`;
  // "No findings" is only said when everything that was asked for has been looked at.
  return status.state === "checked" && status.notChecked.length === 0 ? ", no findings" : "";
}

function tooltip(status: StatusParams | undefined, sidecar: string, word: string): vscode.MarkdownString {
  const text = new vscode.MarkdownString("", true);
  text.appendMarkdown("**Jawline** ");
  text.appendText(`${sidecar}: ${word}`);
  if (status?.why !== undefined) {
    text.appendMarkdown("\n\n");
    text.appendText(status.why);
  }
  if (status !== undefined && status.notChecked.length > 0) {
    text.appendMarkdown("\n\nNot checked:\n");
    for (const line of status.notChecked.slice(0, 12)) {
      text.appendMarkdown("\n- ");
      text.appendText(line);
    }
    if (status.notChecked.length > 12) text.appendText(`\n… and ${status.notChecked.length - 12} more`);
  }
  text.appendMarkdown("\n\n");
  text.appendText(caution);
  return text;
}
