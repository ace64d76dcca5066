// `npm run try`: builds, then opens the demo in a desktop VS Code where one is found, else in the real workbench in a browser.
import { spawn, spawnSync } from "node:child_process";
import * as fs from "node:fs";
import * as os from "node:os";
import * as path from "node:path";
import { fileURLToPath } from "node:url";

const here = path.dirname(fileURLToPath(import.meta.url));
const root = path.resolve(here, "../..");
// A copy, since a workbench in a browser saves by itself and the demo must stay as it is.
const copy = path.join(fs.mkdtempSync(path.join(os.tmpdir(), "jawline-try-")), "shop");
fs.cpSync(path.join(root, "fixtures-config"), copy, { recursive: true });
const folder = path.join(copy, "demo");
const program = path.join(folder, "plate/lever.nc");

const built = spawnSync("npm", ["run", "--silent", "build"], { cwd: root, stdio: "inherit" });
if (built.status !== 0) process.exit(built.status ?? 1);

const has = (name) => spawnSync(process.platform === "win32" ? "where" : "which", [name], { stdio: "ignore" }).status === 0;
if (has("code")) {
  console.log("Opening the demo in VS Code. Try: change the P of a G54.1 line, rest the pointer on it, correct it.");
  spawnSync("code", ["--new-window", `--extensionDevelopmentPath=${root}`, folder, program], {
    stdio: "inherit",
    shell: process.platform === "win32",
  });
  process.exit(0);
}

const { installWorkbench } = await import("./workbench/install.mjs");
const { startServer, workbenchUrl } = await import("./workbench/host.mjs");
console.log("No desktop VS Code on the path: using the VS Code workbench from npm, in a browser (installed on first use).");
installWorkbench();
const server = await startServer();
const url = workbenchUrl(server, {
  folder,
  payload: [
    ["extensionDevelopmentPath", server.uri(root)],
    ["openFile", server.uri(program)],
    ["skipWelcome", "true"],
  ],
});
console.log(`\nThe demo is open at\n  ${url}\n`);
console.log("Try: change the P of a G54.1 line, rest the pointer on it, correct it. Ctrl+C here ends it.");
const opener = ["xdg-open", "open", "chromium"].find(has);
if (opener !== undefined && (process.platform === "darwin" || process.env.DISPLAY || process.env.WAYLAND_DISPLAY)) {
  spawn(opener, [url], { stdio: "ignore", detached: true }).unref();
}
const end = async () => {
  await server.stop();
  process.exit(0);
};
process.on("SIGINT", end);
process.on("SIGTERM", end);
