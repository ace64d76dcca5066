import * as vscode from "vscode";
import type { BaseLanguageClient } from "vscode-languageclient";
import { askForFixture } from "./create-fixture.js";
import { fixtureText } from "./fixture-text.js";
import type { OnDiskAnswer } from "./protocol.js";
import { countWords } from "./texts.js";

/** Programs that are offered to pick from at most. */
const MOST_LISTED = 500;

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

/**
 * Has the server check programs from disk that the editor does not send to it (a very large one, one that is not open), and
 * says how many findings there are; they are listed in the Problems view. Takes the explorer's selection, or asks.
 */
export async function checkOnDisk(client: BaseLanguageClient, clicked: unknown, selected: unknown): Promise<void> {
  const programs = await chosenPrograms(clicked, selected);
  if (programs.length === 0) return;
  const answers = await vscode.window.withProgress(
    { location: vscode.ProgressLocation.Window, title: vscode.l10n.t("Jawline: checking on disk") },
    async () => {
      const out: OnDiskAnswer[] = [];
      for (const program of programs)
        out.push(await client.sendRequest<OnDiskAnswer>("jawline/checkOnDisk", { uri: client.code2ProtocolConverter.asUri(program) }));
      return out;
    },
  );
  const lines = answers.map((answer, i) => `${baseName(programs[i] ?? vscode.Uri.file("/"))}: ${result(answer)}`);
  const text = lines.join(" · ");
  const show = vscode.l10n.t("Show Problems");
  const listed = answers.some((a) => a.errors + a.warnings + a.information > 0);
  const picked = await (answers.every((a) => a.readable && a.why === undefined)
    ? vscode.window.showInformationMessage(text, ...(listed ? [show] : []))
    : vscode.window.showWarningMessage(text, ...(listed ? [show] : [])));
  if (picked === show) await vscode.commands.executeCommand("workbench.actions.view.problems");
}

function result(answer: OnDiskAnswer): string {
  if (!answer.readable) return vscode.l10n.t("the file cannot be read");
  const parts = [countWords(answer.errors, answer.warnings)].filter((t) => t !== "");
  if (answer.information > 0)
    parts.push(answer.information === 1 ? vscode.l10n.t("1 hint") : vscode.l10n.t("{0} hints", answer.information));
  if (parts.length === 0) parts.push(answer.why === undefined ? vscode.l10n.t("no findings") : vscode.l10n.t("no findings so far"));
  if (answer.why !== undefined) parts.push(vscode.l10n.t("not checked: {0}", answer.why));
  return parts.join(", ");
}

/** What was selected in the explorer, else what the person picks in the dialog for opening files. */
async function chosenPrograms(clicked: unknown, selected: unknown): Promise<readonly vscode.Uri[]> {
  const uris = Array.isArray(selected) ? selected.filter((uri) => uri instanceof vscode.Uri) : [];
  if (uris.length > 0) return uris;
  if (clicked instanceof vscode.Uri) return [clicked];
  const folder = vscode.workspace.workspaceFolders?.[0]?.uri;
  const picked = await vscode.window.showOpenDialog({
    title: vscode.l10n.t("Program to check on disk"),
    openLabel: vscode.l10n.t("Check"),
    canSelectMany: true,
    ...(folder === undefined ? {} : { defaultUri: folder }),
  });
  return picked ?? [];
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
export async function createFixture(given?: vscode.Uri): Promise<void> {
  const program = given ?? (await programForFixture());
  if (program === undefined) return;
  const file = sidecarBeside(program);
  if (!(await exists(file))) {
    const answers = await askForFixture();
    if (answers === undefined) return;
    await vscode.workspace.fs.writeFile(file, new TextEncoder().encode(fixtureText(answers)));
  }
  await vscode.window.showTextDocument(file);
}

/** The program on view, also beside a page that is no text (the walkthrough); else one of the workspace that the person picks. */
async function programForFixture(): Promise<vscode.Uri | undefined> {
  const active = vscode.window.activeTextEditor?.document;
  if (active !== undefined && (active.languageId === "iso6983" || active.uri.path.endsWith(".fixture.json"))) return active.uri;
  const found = await vscode.workspace.findFiles(
    "**/{*.nc,*.cnc,*.tap,*.eia,*.iso,*.ngc,*.min,*.ncp,[Oo][0-9][0-9][0-9][0-9]}",
    undefined,
    MOST_LISTED,
  );
  // Programs that are open come first: the one that is meant is mostly among them.
  const open = openFiles();
  const programs = [...found].sort(
    (a, b) => Number(open.has(b.toString())) - Number(open.has(a.toString())) || a.path.localeCompare(b.path),
  );
  if (programs.length === 0) {
    void vscode.window.showInformationMessage(vscode.l10n.t("Open a program first; its sidecar is written beside it."));
    return undefined;
  }
  const picked = await vscode.window.showQuickPick(
    programs.map((uri) => ({ label: baseName(uri), description: vscode.workspace.asRelativePath(uri), uri })),
    { title: vscode.l10n.t("Program that the new sidecar stands beside"), matchOnDescription: true, ignoreFocusOut: true },
  );
  return picked?.uri;
}

/** Files that stand in tabs. */
function openFiles(): ReadonlySet<string> {
  const tabs = vscode.window.tabGroups.all.flatMap((group) => group.tabs);
  return new Set(tabs.flatMap(({ input }) => (input instanceof vscode.TabInputText ? [input.uri.toString()] : [])));
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
