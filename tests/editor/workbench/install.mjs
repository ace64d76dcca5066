// Brings the VS Code workbench that the editor tests run in, on first use. It needs only the npm registry and Debian's
// packages: the npm package `code-server` carries VS Code's own "server with web UI" build under lib/vscode; its wrapper is
// not used and its post-install is not run (it wants headers and downloads that a closed network refuses).
import { execFileSync } from "node:child_process";
import * as fs from "node:fs";
import * as path from "node:path";
import { fileURLToPath } from "node:url";

const here = path.dirname(fileURLToPath(import.meta.url));
const build = path.join(here, "node_modules/code-server/lib/vscode");

function run(command, args, cwd) {
  execFileSync(command, args, { cwd, stdio: ["ignore", "ignore", "inherit"] });
}

function which(name) {
  try {
    return execFileSync("sh", ["-c", `command -v ${name}`], { encoding: "utf8" }).trim();
  } catch {
    return undefined;
  }
}

/** Debian packages that are missing are installed where we may (as root, or with sudo); otherwise the person is told what to install. */
function needPrograms(wanted) {
  const missing = wanted.filter(([program]) => which(program) === undefined).map(([, packageName]) => packageName);
  if (missing.length === 0) return;
  const root = process.getuid?.() === 0;
  if (which("apt-get") === undefined || (!root && which("sudo") === undefined)) {
    throw new Error(`The editor tests need these programs: ${missing.join(", ")}. Install them and run again.`);
  }
  const apt = root ? ["apt-get"] : ["sudo", "apt-get"];
  run(apt[0], [...apt.slice(1), "update", "-q"], here);
  run(apt[0], [...apt.slice(1), "install", "-y", "-q", "--no-install-recommends", ...missing], here);
}

/**
 * Installs what is missing and does nothing when all is there (about 40 s from nothing, 310 MB in a git-ignored folder).
 * Throws with the command's own output when a step fails.
 */
export function installWorkbench() {
  const programs = [["rg", "ripgrep"]];
  if (!process.env.CHROMIUM_PATH) programs.push(["chromium", "chromium"]);
  needPrograms(programs);
  if (!fs.existsSync(path.join(build, "out/server-main.js"))) run("npm", ["ci", "--ignore-scripts", "--no-audit", "--no-fund"], here);
  // The build's own dependencies; its shrinkwrap lacks an entry, so `npm ci` refuses and `npm install` does not.
  if (!fs.existsSync(path.join(build, "node_modules/@vscode/spdlog"))) {
    run("npm", ["install", "--omit=dev", "--ignore-scripts", "--no-audit", "--no-fund", "--no-save"], build);
  }
  // Without these two native modules every process prints load errors.
  if (!fs.existsSync(path.join(build, "node_modules/@vscode/spdlog/build/Release/spdlog.node"))) {
    run("npm", ["rebuild", "@vscode/spdlog", "native-watchdog"], build);
  }
  // Tasks run in a terminal. The module's own post-install fails here, so it is built without.
  const pty = path.join(build, "node_modules/node-pty");
  if (!fs.existsSync(path.join(pty, "build/Release/pty.node"))) run("npm", ["exec", "--loglevel=error", "-c", "node-gyp rebuild"], pty);
  const bin = path.join(build, "node_modules/@vscode/ripgrep/bin");
  fs.mkdirSync(bin, { recursive: true });
  const link = path.join(bin, "rg");
  const rg = which("rg");
  if (rg !== undefined && !fs.existsSync(link)) fs.symlinkSync(rg, link);
}

if (process.argv[1] === fileURLToPath(import.meta.url)) installWorkbench();
