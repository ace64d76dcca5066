import * as vscode from "vscode";
import type { StatusParams } from "./protocol.js";
import { caution, countWords, stateWord } from "./texts.js";

/** Not checked things that are listed; the rest is counted. */
const LISTED = 12;

/**
 * Which sidecar is in force for the program on view, and how far its check has come: an item in the status bar, which is
 * always seen, and the language's own status item, which tells more and can be pinned.
 */
export class StatusItems implements vscode.Disposable {
  readonly #bar = vscode.window.createStatusBarItem("jawline.status", vscode.StatusBarAlignment.Left, 10);
  readonly #language = vscode.languages.createLanguageStatusItem("jawline.language", { language: "iso6983" });
  readonly #known = new Map<string, StatusParams>();
  readonly #listeners: readonly vscode.Disposable[];

  constructor() {
    this.#bar.name = "Jawline";
    this.#bar.command = "jawline.openFixture";
    this.#language.name = "Jawline";
    this.#listeners = [
      vscode.window.onDidChangeActiveTextEditor(() => this.#show()),
      vscode.workspace.onDidCloseTextDocument((document) => this.#known.delete(document.uri.toString())),
    ];
    this.#show();
  }

  /** Takes a status from the server. */
  update(status: StatusParams): void {
    const uri = vscode.Uri.parse(status.uri).toString();
    const before = this.#known.get(uri)?.fixture;
    // While a check runs its sidecar is not known yet; until then the one before is shown, so that the text does not jump.
    const keeps = status.state === "checking" && status.fixture === undefined && before !== undefined;
    this.#known.set(uri, keeps ? { ...status, fixture: before } : status);
    this.#show();
  }

  /** Text of the status bar item, for tests and for screen readers. */
  get text(): string {
    return this.#bar.text;
  }

  /** Text of the language status item. */
  get languageText(): string {
    return this.#language.text;
  }

  #show(): void {
    const editor = vscode.window.activeTextEditor;
    if (editor === undefined || editor.document.languageId !== "iso6983") {
      this.#bar.hide();
      return;
    }
    const status = this.#known.get(editor.document.uri.toString());
    const state = status?.state ?? "checking";
    // That there is none is not said before the check is through.
    const unknown = state === "checking" && status?.fixture === undefined;
    const sidecar = status?.fixture === undefined ? vscode.l10n.t("no sidecar") : fileName(status.fixture);
    const word = stateWord(state);
    const counts = status !== undefined && state !== "checking" ? found(status) : "";
    // The state is told by word and by icon; colour only repeats it.
    const icon = state === "checking" ? "$(sync~spin)" : state === "checked" ? "$(pass)" : "$(circle-slash)";
    const text = unknown ? word : `${sidecar}: ${word}${counts}`;
    this.#bar.text = `${icon} ${unknown ? `Jawline: ${text}` : text}`;
    this.#bar.accessibilityInformation = { label: `Jawline: ${text}`, role: "button" };
    this.#bar.backgroundColor = state === "not checked" ? new vscode.ThemeColor("statusBarItem.warningBackground") : undefined;
    this.#bar.tooltip = tooltip(status, text);
    this.#bar.show();
    this.#language.text = text;
    this.#language.busy = state === "checking";
    this.#language.severity = state === "not checked" ? vscode.LanguageStatusSeverity.Warning : vscode.LanguageStatusSeverity.Information;
    this.#language.detail = detail(status);
    this.#language.accessibilityInformation = { label: `Jawline: ${text}` };
    this.#language.command = {
      command: "jawline.openFixture",
      title: status?.fixture === undefined ? vscode.l10n.t("Create sidecar") : vscode.l10n.t("Open sidecar"),
    };
  }

  dispose(): void {
    for (const listener of this.#listeners) listener.dispose();
    this.#bar.dispose();
    this.#language.dispose();
  }
}

function fileName(uri: string): string {
  const path = vscode.Uri.parse(uri).path;
  return path.slice(path.lastIndexOf("/") + 1);
}

function found(status: StatusParams): string {
  const counts = countWords(status.errors, status.warnings);
  if (counts !== "") return `, ${counts}`;
  // "No findings" is only said when everything that was asked for has been looked at.
  return status.state === "checked" && status.notChecked.length === 0 ? `, ${vscode.l10n.t("no findings")}` : "";
}

/** One line below the text of the language status item: why nothing was checked, or how much was not. */
function detail(status: StatusParams | undefined): string {
  if (status?.why !== undefined) return status.why;
  const count = status?.notChecked.length ?? 0;
  if (count === 0) return "";
  return count === 1 ? (status?.notChecked[0] ?? "") : vscode.l10n.t("{0} things were not checked", count);
}

function tooltip(status: StatusParams | undefined, short: string): vscode.MarkdownString {
  const text = new vscode.MarkdownString("", true);
  text.appendMarkdown("**Jawline** ");
  text.appendText(short);
  if (status?.why !== undefined) {
    text.appendMarkdown("\n\n");
    text.appendText(status.why);
  }
  if (status !== undefined && status.notChecked.length > 0) {
    text.appendMarkdown("\n\n");
    text.appendText(vscode.l10n.t("Not checked:"));
    text.appendMarkdown("\n");
    for (const line of status.notChecked.slice(0, LISTED)) {
      text.appendMarkdown("\n- ");
      text.appendText(line);
    }
    if (status.notChecked.length > LISTED) {
      text.appendMarkdown("\n- ");
      text.appendText(vscode.l10n.t("… and {0} more", status.notChecked.length - LISTED));
    }
  }
  text.appendMarkdown("\n\n");
  text.appendText(caution());
  return text;
}
