import * as vscode from "vscode";
import type { BaseLanguageClient } from "vscode-languageclient";
import { askForFixture } from "./create-fixture.js";
import { fixtureText } from "./fixture-text.js";

/** Asks the server to look again at the program on view and shows the Problems view. */
export async function check(client: BaseLanguageClient): Promise<void> {
  const document = vscode.window.activeTextEditor?.document;
  if (document === undefined) {
    void vscode.window.showInformationMessage(vscode.l10n.t("Open a program first; Jawline checks the one on view."));
    return;
  }
  await client.sendRequest("jawline/check", { uri: client.code2ProtocolConverter.asUri(document.uri) });
  await vscode.commands.executeCommand("workbench.actions.view.problems");
}

/** Opens the sidecar in force for the program on view; where there is none, offers to write one beside it. */
export async function openFixture(client: BaseLanguageClient): Promise<void> {
  const document = vscode.window.activeTextEditor?.document;
  if (document === undefined) {
    void vscode.window.showInformationMessage(vscode.l10n.t("Open a program first; its sidecar is looked for beside it."));
    return;
  }
  const answer = await client.sendRequest<{ fixture?: string }>("jawline/fixtureOf", {
    uri: client.code2ProtocolConverter.asUri(document.uri),
  });
  if (answer.fixture !== undefined) {
    await vscode.window.showTextDocument(client.protocol2CodeConverter.asUri(answer.fixture));
    return;
  }
  const yes = vscode.l10n.t("Create");
  const name = baseName(sidecarBeside(document.uri));
  const picked = await vscode.window.showInformationMessage(
    vscode.l10n.t("No sidecar is in force for this program. Create {0} beside it?", name),
    yes,
  );
  if (picked === yes) await createFixture(document.uri);
}

/** Asks for the fixture step by step, writes the sidecar beside the program and opens it; an existing file is opened, never overwritten. */
export async function createFixture(program = vscode.window.activeTextEditor?.document.uri): Promise<void> {
  if (program === undefined) {
    void vscode.window.showInformationMessage(vscode.l10n.t("Open a program first; its sidecar is written beside it."));
    return;
  }
  const file = sidecarBeside(program);
  if (!(await exists(file))) {
    const answers = await askForFixture();
    if (answers === undefined) return;
    await vscode.workspace.fs.writeFile(file, new TextEncoder().encode(fixtureText(answers)));
  }
  await vscode.window.showTextDocument(file);
}

/** `part.nc` → `part.fixture.json`; a sidecar is its own. */
function sidecarBeside(program: vscode.Uri): vscode.Uri {
  if (program.path.endsWith(".fixture.json")) return program;
  return program.with({ path: `${program.path.replace(/\.[^./]*$/, "")}.fixture.json` });
}

function baseName(uri: vscode.Uri): string {
  return uri.path.slice(uri.path.lastIndexOf("/") + 1);
}

async function exists(uri: vscode.Uri): Promise<boolean> {
  try {
    await vscode.workspace.fs.stat(uri);
    return true;
  } catch {
    return false;
  }
}
