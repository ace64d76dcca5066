import * as assert from "node:assert";
import * as vscode from "vscode";

/** Waits for a value that is not undefined; fails with `what` after ten seconds. */
async function until<T>(what: string, look: () => T | undefined | Promise<T | undefined>, milliseconds = 15_000): Promise<T> {
  const end = Date.now() + milliseconds;
  for (;;) {
    const value = await look();
    if (value !== undefined) return value;
    if (Date.now() > end) throw new Error(`waited in vain for ${what}`);
    await new Promise((resolve) => setTimeout(resolve, 50));
  }
}

function demo(name: string): vscode.Uri {
  const folder = vscode.workspace.workspaceFolders?.[0];
  assert.ok(folder, "a folder is open");
  return vscode.Uri.joinPath(folder.uri, "demo", name);
}

async function open(name: string): Promise<vscode.TextDocument> {
  const document = await vscode.workspace.openTextDocument(demo(name));
  await vscode.window.showTextDocument(document);
  return document;
}

function rules(uri: vscode.Uri): string[] {
  return vscode.languages.getDiagnostics(uri).map((d) => (typeof d.code === "object" ? String(d.code.value) : String(d.code)));
}

async function statusText(): Promise<string> {
  const extension = vscode.extensions.getExtension("jawline.jawline");
  assert.ok(extension);
  const api = (await extension.activate()) as { statusText(): string };
  return api.statusText();
}

async function hoverText(document: vscode.TextDocument, word: string, nth = 0): Promise<string> {
  const text = document.getText();
  let at = text.indexOf(word);
  for (let k = 0; k < nth; k++) at = text.indexOf(word, at + 1);
  assert.ok(at >= 0, `${word} is in the program`);
  const hovers = await vscode.commands.executeCommand<vscode.Hover[]>(
    "vscode.executeHoverProvider",
    document.uri,
    document.positionAt(at + 1),
  );
  return hovers.flatMap((h) => h.contents.map((c) => (typeof c === "string" ? c : c.value))).join("\n");
}

describe("the demo in a real extension host", () => {
  it("opens a program in its language and says which sidecar is in force", async () => {
    const document = await open("plate/lever.nc");
    assert.strictEqual(document.languageId, "iso6983");
    const text = await until("the status", async () => {
      const t = await statusText();
      return t.includes("checked") ? t : undefined;
    });
    assert.match(text, /plate\.fixture\.json/);
    assert.deepStrictEqual(
      vscode.languages.getDiagnostics(document.uri).filter((d) => d.severity <= vscode.DiagnosticSeverity.Warning),
      [],
    );
  });

  it("tells in a hover which part stands at the offset's station", async () => {
    const document = await open("plate/lever.nc");
    const text = await until("the hover", async () => {
      const t = await hoverText(document, "G54.1 P4");
      return t.length > 0 ? t : undefined;
    });
    for (const word of ["A4", "damper lever", "op10", "L-207"]) assert.ok(text.includes(word), `${word} in:\n${text}`);
  });

  it("goes from an offset to its station in the sidecar", async () => {
    const document = await open("plate/lever.nc");
    const at = document.positionAt(document.getText().indexOf("G54.1 P8") + 2);
    const found = await vscode.commands.executeCommand<(vscode.Location | vscode.LocationLink)[]>(
      "vscode.executeDefinitionProvider",
      document.uri,
      at,
    );
    assert.strictEqual(found.length, 1);
    const first = found[0];
    assert.ok(first);
    const uri = "targetUri" in first ? first.targetUri : first.uri;
    assert.match(uri.path, /plate\.fixture\.json$/);
  });

  it("goes from M98 to the subprogram", async () => {
    const document = await open("plate/lever.nc");
    const at = document.positionAt(document.getText().indexOf("M98 P2140") + 6);
    const found = await vscode.commands.executeCommand<(vscode.Location | vscode.LocationLink)[]>(
      "vscode.executeDefinitionProvider",
      document.uri,
      at,
    );
    const first = found[0];
    assert.ok(first);
    const range = "targetUri" in first ? first.targetRange : first.range;
    assert.match(document.lineAt(range.start.line).text, /^O2140/);
  });

  it("lists tools and their visits as symbols", async () => {
    const document = await open("plate/lever.nc");
    const symbols = await until("symbols", async () => {
      const s = await vscode.commands.executeCommand<vscode.DocumentSymbol[]>("vscode.executeDocumentSymbolProvider", document.uri);
      return s.length > 0 ? s : undefined;
    });
    const names: string[] = [];
    const collect = (list: vscode.DocumentSymbol[]): void => {
      for (const symbol of list) {
        names.push(symbol.name);
        collect(symbol.children);
      }
    };
    collect(symbols);
    assert.ok(names.includes("T4 drill 6.8"), names.join(", "));
    assert.ok(names.includes("A5 lever op10"), names.join(", "));
  });

  it("marks a wrong P as it is typed, and the mark goes when it is corrected", async () => {
    const document = await open("plate/lever.nc");
    const at = document.getText().indexOf("G54.1 P12") + "G54.1 P".length;
    const range = new vscode.Range(document.positionAt(at), document.positionAt(at + 2));
    const wrong = new vscode.WorkspaceEdit();
    wrong.replace(document.uri, range, "21");
    assert.ok(await vscode.workspace.applyEdit(wrong));
    await until("offset-unmapped", () => (rules(document.uri).includes("offset-unmapped") ? true : undefined));
    const right = new vscode.WorkspaceEdit();
    right.replace(document.uri, range, "12");
    assert.ok(await vscode.workspace.applyEdit(right));
    await until("no finding", () => (rules(document.uri).includes("offset-unmapped") ? undefined : true));
  });

  it("checks the program again when the sidecar changes", async () => {
    const document = await open("plate/lever.nc");
    const sidecar = await vscode.workspace.openTextDocument(demo("plate/plate.fixture.json"));
    const at = sidecar.getText().indexOf('"G54.1 P7"') + '"G54.1 P'.length;
    const change = new vscode.WorkspaceEdit();
    change.replace(sidecar.uri, new vscode.Range(sidecar.positionAt(at), sidecar.positionAt(at + 1)), "8");
    assert.ok(await vscode.workspace.applyEdit(change));
    await until("a finding in the program", () => (rules(document.uri).includes("offset-unmapped") ? true : undefined));
    await vscode.window.showTextDocument(sidecar);
    await vscode.commands.executeCommand("undo");
    await until("no finding", () => (rules(document.uri).includes("offset-unmapped") ? undefined : true));
  });

  it("finds the faults of the faulty copy", async () => {
    const document = await open("plate/lever-faulty.nc");
    await until("errors", () =>
      vscode.languages.getDiagnostics(document.uri).filter((d) => d.severity === 0).length >= 5 ? true : undefined,
    );
  });

  it("marks a broken sidecar at its place and keeps the program's own findings", async () => {
    const sidecar = await vscode.workspace.openTextDocument(demo("plate/plate.fixture.json"));
    await vscode.window.showTextDocument(sidecar);
    const at = sidecar.getText().indexOf('"columns": 18');
    const change = new vscode.WorkspaceEdit();
    change.replace(sidecar.uri, new vscode.Range(sidecar.positionAt(at), sidecar.positionAt(at + 9)), '"colums"');
    assert.ok(await vscode.workspace.applyEdit(change));
    const marked = await until("fixture-format", () =>
      vscode.languages.getDiagnostics(sidecar.uri).find((d) => d.range.start.line === sidecar.positionAt(at).line),
    );
    assert.match(marked.message, /columns/);
    await vscode.commands.executeCommand("undo");
    await until("no finding", () => (vscode.languages.getDiagnostics(sidecar.uri).length === 0 ? true : undefined)).catch((error) => {
      throw new Error(`${error}: ${vscode.languages.getDiagnostics(sidecar.uri).map((d) => `${d.source} ${d.message}`)}`);
    });
  });
});
