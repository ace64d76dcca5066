// A real VS Code workbench for tests: the server build (a real Node extension host) and a headless Chromium that loads it.
import { spawn } from "node:child_process";
import * as fs from "node:fs";
import * as os from "node:os";
import * as path from "node:path";
import { fileURLToPath } from "node:url";
import { format } from "node:util";
import { chromium } from "playwright-core";

const here = path.dirname(fileURLToPath(import.meta.url));
const BUILD = path.join(here, "node_modules/code-server/lib/vscode");
const CHROMIUM = process.env.CHROMIUM_PATH ?? "/usr/bin/chromium";
const CHROMIUM_ARGS = [
  "--no-sandbox",
  "--disable-gpu",
  "--disable-quic",
  "--no-first-run",
  "--disable-background-networking",
  "--disable-component-update",
  "--disable-sync",
  "--disable-dev-shm-usage",
];

/** Settings of a fresh profile: nothing that opens by itself, nothing that reaches for the network. */
const QUIET_SETTINGS = {
  "telemetry.telemetryLevel": "off",
  "workbench.startupEditor": "none",
  "workbench.enableExperiments": false,
  "workbench.tips.enabled": false,
  "extensions.autoUpdate": false,
  "extensions.autoCheckUpdates": false,
  "extensions.ignoreRecommendations": true,
  "update.mode": "none",
  "update.showReleaseNotes": false,
  "editor.accessibilitySupport": "off",
};

function childEnvironment(extra) {
  // An empty gallery switches the marketplace off, so that nothing tries to reach it.
  const env = { ...process.env, EXTENSIONS_GALLERY: "{}", ...extra };
  for (const name of ["CODE_SERVER_PARENT_PID", "NODE_OPTIONS", "ELECTRON_RUN_AS_NODE", "VSCODE_IPC_HOOK_CLI"]) delete env[name];
  return env;
}

/** One action of the build's own command line (`--install-extension x.vsix`, `--list-extensions` …): exit code and output. */
export function serverCli(args) {
  return new Promise((resolve, reject) => {
    const data = fs.mkdtempSync(path.join(os.tmpdir(), "jawline-cli-"));
    const child = spawn(process.execPath, [path.join(BUILD, "out/server-main.js"), "--server-data-dir", data, ...args], {
      stdio: ["ignore", "pipe", "pipe"],
      env: childEnvironment(),
    });
    let out = "";
    const take = (chunk) => {
      out += chunk;
    };
    child.stdout.on("data", take);
    child.stderr.on("data", take);
    child.on("error", reject);
    child.on("close", (code) => {
      fs.rmSync(data, { recursive: true, force: true });
      resolve({ code: code ?? 1, out });
    });
  });
}

/**
 * Starts the workbench server on a free port of 127.0.0.1; the answer has its address and `stop()`. With `trust` a window asks
 * whether its folder is trusted; without, every folder is.
 */
export async function startServer({ userDataDir, extensionsDir, settings, trust = false, env = {} } = {}) {
  const tmp = fs.mkdtempSync(path.join(os.tmpdir(), "jawline-host-"));
  const user = path.resolve(userDataDir ?? path.join(tmp, "user"));
  const extensions = path.resolve(extensionsDir ?? path.join(tmp, "extensions"));
  const settingsFile = path.join(user, "User", "settings.json");
  fs.mkdirSync(path.dirname(settingsFile), { recursive: true });
  fs.mkdirSync(extensions, { recursive: true });
  if (settings || !fs.existsSync(settingsFile)) fs.writeFileSync(settingsFile, JSON.stringify({ ...QUIET_SETTINGS, ...settings }, null, 2));
  const child = spawn(
    process.execPath,
    [
      "-r",
      path.join(here, "end-with-parent.cjs"),
      path.join(BUILD, "out/server-main.js"),
      ...["--host", "127.0.0.1", "--port", "0", "--without-connection-token", "--accept-server-license-terms"],
      ...(trust ? [] : ["--disable-workspace-trust"]),
      "--disable-telemetry",
      ...["--server-data-dir", tmp, "--user-data-dir", user, "--extensions-dir", extensions],
    ],
    // XDG_RUNTIME_DIR keeps sockets out of the shared temporary folder; a group of its own lets stop() end every child.
    {
      env: childEnvironment({ XDG_RUNTIME_DIR: tmp, JAWLINE_PARENT_PIPE: "1", ...env }),
      stdio: ["pipe", "pipe", "pipe"],
      detached: true,
    },
  );
  const endGroup = (signal) => {
    try {
      process.kill(-child.pid, signal);
    } catch {
      // The group is empty.
    }
  };
  let text = "";
  const port = await new Promise((resolve, reject) => {
    const late = setTimeout(() => reject(new Error(`the workbench server did not start in 60 s:\n${text}`)), 60_000);
    const take = (chunk) => {
      text += chunk;
      const found = /Extension host agent listening on (\d+)/.exec(text);
      if (found) {
        clearTimeout(late);
        resolve(Number(found[1]));
      }
    };
    child.stdout.on("data", take);
    child.stderr.on("data", take);
    child.on("exit", (code) => {
      clearTimeout(late);
      reject(new Error(`the workbench server ended with ${code}:\n${text}`));
    });
  }).catch((error) => {
    endGroup("SIGKILL");
    fs.rmSync(tmp, { recursive: true, force: true, maxRetries: 10, retryDelay: 100 });
    throw error;
  });
  return {
    port,
    tmp,
    url: `http://127.0.0.1:${port}/`,
    output: () => text,
    /** The workbench sees a file of this machine as a remote one whose authority is its own address. */
    uri: (file) => `vscode-remote://127.0.0.1:${port}${encodeURI(path.resolve(file))}`,
    async stop() {
      if (child.exitCode === null && child.signalCode === null) {
        const gone = new Promise((resolve) => child.once("exit", resolve));
        endGroup("SIGTERM");
        const late = setTimeout(() => endGroup("SIGKILL"), 5000);
        await gone;
        clearTimeout(late);
      }
      endGroup("SIGKILL");
      fs.rmSync(tmp, { recursive: true, force: true, maxRetries: 10, retryDelay: 100 });
    },
  };
}

/** Playwright's own signal handlers would end the process before the server is stopped, so they are off. */
export function launchBrowser(options = {}) {
  return chromium.launch({
    executablePath: CHROMIUM,
    args: CHROMIUM_ARGS,
    headless: true,
    handleSIGINT: false,
    handleSIGTERM: false,
    handleSIGHUP: false,
    ...options,
  });
}

/** The workbench's address for a folder (or an empty window) with payload entries such as ["openFile", uri]. */
export function workbenchUrl(server, { folder, payload = [] } = {}) {
  const query = new URLSearchParams();
  if (folder) query.set("folder", path.resolve(folder));
  else query.set("ew", "true");
  if (payload.length) query.set("payload", JSON.stringify(payload));
  return `${server.url}?${query}`;
}

// run() is called through this wrapper. When the extension host dies, the web workbench still reports exit code 0: the
// wrapper leaves a verdict only when run() came to an end. And the workbench mixes the host's console with its own log:
// the wrapper writes it to a file of its own, synchronously, so that nothing is lost when the host dies.
const wrapper = (suite, out, verdict) => `"use strict";
const fs = require("node:fs"), { format } = require("node:util");
const fd = fs.openSync(${JSON.stringify(out)}, "a");
for (const k of ["log", "info", "debug", "warn", "error"]) {
  Object.defineProperty(console, k, { configurable: true, writable: true, value: (...a) => { fs.writeSync(fd, format(...a) + "\\n"); } });
}
exports.run = async () => {
  let verdict = "failed";
  try {
    await require(${JSON.stringify(suite)}).run();
    verdict = "passed";
  } finally {
    fs.writeFileSync(${JSON.stringify(verdict)}, verdict);
  }
};`;

/** Copies what is appended to a file to a stream; stop() copies the rest. */
function follow(file, stream) {
  fs.writeFileSync(file, "");
  const fd = fs.openSync(file, "r");
  const buffer = Buffer.alloc(1 << 16);
  const pump = () => {
    for (let n = fs.readSync(fd, buffer, 0, buffer.length, null); n > 0; n = fs.readSync(fd, buffer, 0, buffer.length, null)) {
      stream.write(Buffer.from(buffer.subarray(0, n)));
    }
  };
  const timer = setInterval(pump, 50);
  return () => {
    clearInterval(timer);
    pump();
    fs.closeSync(fd);
  };
}

/** Runs the suite's run() inside a real extension host; 0 passed, 1 failed; throws when the host died or never answered. */
export async function runExtensionTests({
  extensionDevelopmentPath,
  extensionTestsPath,
  folder,
  disableExtensions,
  timeout = 600_000,
  signal,
}) {
  const server = await startServer();
  const at = (name) => path.join(server.tmp, name);
  fs.writeFileSync(at("run.cjs"), wrapper(path.resolve(extensionTestsPath), at("run.out"), at("run.verdict")));
  const stopFollowing = follow(at("run.out"), process.stdout);
  const log = [];
  let browser;
  let timer;
  try {
    browser = await launchBrowser();
    const page = await (await browser.newContext({ viewport: { width: 1280, height: 800 } })).newPage();
    const ended = new Promise((resolve, reject) => {
      timer = setTimeout(() => reject(new Error(`no answer from the extension host within ${timeout} ms`)), timeout);
      const fail = (why) => () => reject(new Error(why));
      void page.exposeFunction("codeAutomationLog", (type, args) => log.push(`[workbench ${type}] ${format(...args)}`));
      void page.exposeFunction("codeAutomationExit", resolve);
      page.on("crash", fail("the workbench page crashed"));
      page.on("close", fail("the workbench page was closed"));
      browser.on("disconnected", fail("the browser went away"));
      signal?.addEventListener("abort", fail("interrupted"));
    });
    ended.catch(() => {});
    page.on("dialog", (dialog) => void dialog.accept().catch(() => {}));
    const payload = [
      ["extensionDevelopmentPath", server.uri(extensionDevelopmentPath)],
      ["extensionTestsPath", server.uri(at("run.cjs"))],
      ["skipWelcome", "true"],
      ["skipReleaseNotes", "true"],
    ];
    if (disableExtensions) payload.push(["disableExtensions", "true"]);
    await page.goto(workbenchUrl(server, { folder, payload }));
    try {
      const code = await ended;
      const verdict = fs.existsSync(at("run.verdict")) ? fs.readFileSync(at("run.verdict"), "utf8") : undefined;
      if (verdict === "passed") return code;
      if (verdict === "failed") return code || 1;
      throw new Error(`the extension host ended without a verdict (the workbench reported exit code ${code})`);
    } catch (error) {
      process.stderr.write(
        `--- last of the workbench's log\n${log.slice(-25).join("\n")}\n--- last of the server's log\n${server.output().slice(-2000)}\n`,
      );
      throw error;
    }
  } finally {
    clearTimeout(timer);
    stopFollowing();
    await browser?.close().catch(() => {});
    await server.stop();
  }
}
