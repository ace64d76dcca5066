import * as vscode from "vscode";

/** The editor puts the file of the active editor in the place of this. */
const ON_VIEW = "${file}";

/**
 * Tasks of type "jawline": the command line over a program, its findings read back by the problem matcher "$jawline".
 * Serves files that are not open and checks before a release. Of a file that is open the findings are listed already.
 */
export function taskProvider(context: vscode.ExtensionContext): vscode.TaskProvider {
  const cli = context.asAbsolutePath("server/dist/cli.js");
  const make = (scope: vscode.WorkspaceFolder | vscode.TaskScope, program: string, definition: vscode.TaskDefinition): vscode.Task => {
    // The editor's own Node runs the command line, so nothing has to be installed and nothing of the workspace is executed.
    const run = new vscode.ProcessExecution(process.execPath, [cli, "check", "--locale", locale(), program], {
      env: { ELECTRON_RUN_AS_NODE: "1", NO_COLOR: "1" },
    });
    const name = program === ON_VIEW ? vscode.l10n.t("check the program on view") : vscode.l10n.t("check {0}", program);
    const task = new vscode.Task(definition, scope, name, "jawline", run, "$jawline");
    task.group = vscode.TaskGroup.Test;
    return task;
  };
  return {
    provideTasks() {
      const folders = vscode.workspace.workspaceFolders ?? [];
      return folders.map((folder) => make(folder, ON_VIEW, { type: "jawline", program: ON_VIEW }));
    },
    resolveTask(task) {
      const program: unknown = task.definition.program;
      return typeof program === "string" ? make(task.scope ?? vscode.TaskScope.Workspace, program, task.definition) : undefined;
    },
  };
}

/** The editor's language where the command line speaks it too; it refuses one that it does not know. */
function locale(): string {
  return vscode.env.language.startsWith("de") ? "de" : "en";
}
