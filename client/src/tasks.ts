import * as vscode from "vscode";

/**
 * Tasks of type "jawline": the command line over a program, its findings read back by the problem matcher "$jawline".
 * Serves files that the editor does not send to a language server (very large ones) and checks before a release.
 */
export function taskProvider(context: vscode.ExtensionContext): vscode.TaskProvider {
  const cli = context.asAbsolutePath("server/dist/cli.js");
  const make = (scope: vscode.WorkspaceFolder | vscode.TaskScope, program: string, definition: vscode.TaskDefinition): vscode.Task => {
    // The editor's own Node runs the command line, so nothing has to be installed and nothing of the workspace is executed.
    const run = new vscode.ProcessExecution(process.execPath, [cli, "check", program], {
      env: { ELECTRON_RUN_AS_NODE: "1", NO_COLOR: "1" },
    });
    const task = new vscode.Task(definition, scope, vscode.l10n.t("check {0}", program), "jawline", run, "$jawline");
    task.group = vscode.TaskGroup.Test;
    return task;
  };
  return {
    provideTasks() {
      const folders = vscode.workspace.workspaceFolders ?? [];
      return folders.map((folder) => make(folder, "${file}", { type: "jawline", program: "${file}" }));
    },
    resolveTask(task) {
      const program: unknown = task.definition.program;
      return typeof program === "string" ? make(task.scope ?? vscode.TaskScope.Workspace, program, task.definition) : undefined;
    },
  };
}
