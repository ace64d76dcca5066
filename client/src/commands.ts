import * as vscode from "vscode";
import type { BaseLanguageClient } from "vscode-languageclient";

/** The sidecar that a new file starts from: one base, one station, every required field, with a comment to each. */
const newFixture = `// What stands on the table beside this program. Lengths in "units", angles in degrees.
{
  "format": 1,
  "units": "mm",
  "bases": {
    // "zero" is the machine position of the tool point when it touches intersection [0, 0] on the locating face.
    "plate": { "pitch": 50, "columns": 10, "rows": 8, "zero": { "X": -500, "Y": -400, "Z": -450 } }
  },
  "fixedJaws": {
    "fixed": { "face": 15, "length": 40, "width": 60, "height": 45 }
  },
  "parts": {
    "part": {
      "ops": {
        // Stock along the clamping direction (u), across it (v) and its height (w).
        "op10": { "stock": { "u": 40, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "low", "w": "top" } }
      }
    }
  },
  "stations": [
    { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fixed", "seat": 25,
      "part": "part", "op": "op10", "offset": "G54" }
  ]
}
`;

/** Asks the server to look again at the program on view and shows the Problems view. */
export async function check(client: BaseLanguageClient): Promise<void> {
  const document = vscode.window.activeTextEditor?.document;
  if (document === undefined) {
    void vscode.window.showInformationMessage("Open a program first; Jawline checks the one on view.");
    return;
  }
  await client.sendRequest("jawline/check", { uri: client.code2ProtocolConverter.asUri(document.uri) });
  await vscode.commands.executeCommand("workbench.actions.view.problems");
}

/** Opens the sidecar in force for the program on view; where there is none, offers to write one beside it. */
export async function openFixture(client: BaseLanguageClient): Promise<void> {
  const document = vscode.window.activeTextEditor?.document;
  if (document === undefined) {
    void vscode.window.showInformationMessage("Open a program first; its sidecar is looked for beside it.");
    return;
  }
  const answer = await client.sendRequest<{ fixture?: string }>("jawline/fixtureOf", {
    uri: client.code2ProtocolConverter.asUri(document.uri),
  });
  if (answer.fixture !== undefined) {
    await vscode.window.showTextDocument(client.protocol2CodeConverter.asUri(answer.fixture));
    return;
  }
  const beside = document.uri.with({ path: `${document.uri.path.replace(/\.[^./]*$/, "")}.fixture.json` });
  const name = beside.path.slice(beside.path.lastIndexOf("/") + 1);
  const yes = "Create";
  const picked = await vscode.window.showInformationMessage(`No sidecar is in force for this program. Create ${name} beside it?`, yes);
  if (picked !== yes) return;
  try {
    await vscode.workspace.fs.stat(beside);
  } catch {
    await vscode.workspace.fs.writeFile(beside, new TextEncoder().encode(newFixture));
  }
  await vscode.window.showTextDocument(beside);
}
