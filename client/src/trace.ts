import * as vscode from "vscode";

/**
 * The channel that takes the messages between editor and server. The client library writes them at the level "trace" of a
 * log and asks the log how much it shows; here the setting `jawline.trace.server` says that, so that nobody has to set the
 * level of a log besides. The channel is made when the first message comes.
 */
export class TraceChannel implements vscode.LogOutputChannel {
  readonly name = "Jawline Trace";
  readonly #changed = new vscode.EventEmitter<vscode.LogLevel>();
  readonly onDidChangeLogLevel = this.#changed.event;
  readonly #listener = vscode.workspace.onDidChangeConfiguration((change) => {
    if (change.affectsConfiguration("jawline.trace.server")) this.#changed.fire(this.logLevel);
  });
  #channel: vscode.OutputChannel | undefined;

  get logLevel(): vscode.LogLevel {
    const wanted = vscode.workspace.getConfiguration("jawline").get("trace.server", "off");
    return wanted === "off" ? vscode.LogLevel.Off : vscode.LogLevel.Trace;
  }

  #made(): vscode.OutputChannel {
    this.#channel ??= vscode.window.createOutputChannel(this.name);
    return this.#channel;
  }

  trace(message: string): void {
    this.#made().appendLine(`${new Date().toISOString().slice(11, 23)} ${message}`);
  }

  debug(message: string): void {
    this.trace(message);
  }

  info(message: string): void {
    this.trace(message);
  }

  warn(message: string): void {
    this.trace(message);
  }

  error(error: string | Error): void {
    this.trace(String(error));
  }

  append(value: string): void {
    this.#made().append(value);
  }

  appendLine(value: string): void {
    this.#made().appendLine(value);
  }

  replace(value: string): void {
    this.#made().replace(value);
  }

  clear(): void {
    this.#channel?.clear();
  }

  show(columnOrFocus?: vscode.ViewColumn | boolean, preserveFocus?: boolean): void {
    this.#made().show(typeof columnOrFocus === "boolean" ? columnOrFocus : preserveFocus);
  }

  hide(): void {
    this.#channel?.hide();
  }

  dispose(): void {
    this.#listener.dispose();
    this.#changed.dispose();
    this.#channel?.dispose();
  }
}
