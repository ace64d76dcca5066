/**
 * The one bundle. The command line, the server over stdio and the server in a browser's worker share nearly all of their
 * code, so they are built as one script that starts the part it is asked for; nothing of the others is run, and nothing of
 * Node is touched in a browser. Node reaches it through server/dist/cli.js and server/dist/server.js.
 */
async function startCommandLine(): Promise<void> {
  const { runCommandLine } = await import("./cli/main.js");
  await runCommandLine();
}

/** The language server over the transport that the arguments name, `--stdio` for most editors. */
async function startServer(): Promise<void> {
  await import("./lsp/node.js");
}

// A classic script exports nothing, so its starters hang on the global object.
Object.assign(globalThis, { jawline: { startCommandLine, startServer } });

// A worker has nobody to ask it: it starts by itself.
if ("importScripts" in globalThis) void import("./lsp/browser.js");
