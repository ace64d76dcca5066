// Runs inside the extension host. The contract of @vscode/test-electron: export run(), reject when a test failed.
import * as fs from "node:fs";
import * as path from "node:path";
import Mocha from "mocha";
import * as vscode from "vscode";

export async function run(): Promise<void> {
  const mocha = new Mocha({ ui: "bdd", reporter: "spec", color: false, timeout: 30_000 });
  // The suites are bundled into this file: loading them registers them.
  mocha.suite.emit(Mocha.Suite.constants.EVENT_FILE_PRE_REQUIRE, globalThis, "suite", mocha);
  await import("./demo.test.js");
  await new Promise<void>((resolve, reject) => {
    let passed = 0;
    const runner = mocha.run((failures) => {
      const folder = vscode.workspace.workspaceFolders?.[0]?.uri.fsPath ?? ".";
      fs.writeFileSync(process.env.JAWLINE_VERDICTS ?? path.join(folder, ".verdicts.json"), JSON.stringify({ passed, failed: failures }));
      if (failures > 0) reject(new Error(`${failures} failed`));
      else resolve();
    });
    runner.on(Mocha.Runner.constants.EVENT_TEST_PASS, () => passed++);
  });
}
