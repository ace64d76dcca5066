// The language server in other editors: Neovim and Emacs as Debian has them, headless. Installs them by apt where it may.
// Ends with a line "N passed, N failed"; the exit status is 1 when anything failed or an editor could not be had.
import { execFileSync, spawnSync } from "node:child_process";
import { cpSync, mkdtempSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";
import { fileURLToPath } from "node:url";

const root = resolve(fileURLToPath(import.meta.url), "../../..");
const here = join(root, "tests/clients");

const clients = [
  {
    name: "Neovim",
    program: "nvim",
    probe: ["--version"],
    packages: ["neovim"],
    args: ["--headless", "--clean", "-n", "-i", "NONE", "-u", "NONE", "-c", `luafile ${join(here, "neovim.lua")}`],
  },
  {
    name: "Emacs",
    program: "emacs",
    probe: ["--batch", "--eval", "(progn (require 'package) (package-initialize) (require 'eglot))"],
    packages: ["emacs-nox", "elpa-eglot"],
    args: ["--batch", "-l", join(here, "emacs.el")],
  },
];

/** True when an editor is there, with what it needs. */
function isThere({ program, probe }) {
  return spawnSync(program, probe, { stdio: "ignore" }).status === 0;
}

/** Installs Debian packages as root; false where that cannot be done. */
function install(packages) {
  if (process.getuid?.() !== 0) return false;
  const apt = (...args) =>
    spawnSync("apt-get", args, { stdio: ["ignore", "ignore", "inherit"], env: { ...process.env, DEBIAN_FRONTEND: "noninteractive" } });
  if (apt("install", "-y", "--no-install-recommends", ...packages).status === 0) return true;
  // The lists may be older than the archive.
  return apt("update").status === 0 && apt("install", "-y", "--no-install-recommends", ...packages).status === 0;
}

const built = mkdtempSync(join(tmpdir(), "jawline-clients-"));
let passed = 0;
let failed = 0;
try {
  execFileSync(process.execPath, [join(root, "server/build.mjs"), "--into", built], { stdio: "ignore" });
  for (const client of clients) {
    if (!isThere(client) && !(install(client.packages) && isThere(client))) {
      console.log(`${client.name}: not ok: it is not installed and cannot be installed here (${client.packages.join(", ")})`);
      failed++;
      continue;
    }
    const shop = mkdtempSync(join(built, "shop-"));
    cpSync(join(root, "fixtures-config/elements"), join(shop, "elements"), { recursive: true });
    cpSync(join(root, "fixtures-config/demo/plate"), join(shop, "demo/plate"), { recursive: true });
    const run = spawnSync(client.program, client.args, {
      encoding: "utf8",
      timeout: 180_000,
      env: { ...process.env, SERVER: join(built, "server/dist/server.js"), FILE: join(shop, "demo/plate/lever.nc"), HOME: shop },
    });
    const lines = `${run.stdout}\n${run.stderr}`.split("\n");
    for (const line of lines.filter((l) => /^(?:not )?ok /.test(l))) console.log(`${client.name}: ${line}`);
    const counts = /^(\d+) passed, (\d+) failed$/m.exec(run.stdout);
    passed += Number(counts?.[1] ?? 0);
    failed += Number(counts?.[2] ?? 0);
    if (counts === null || (run.status !== 0 && counts[2] === "0")) {
      console.log(`${client.name}: not ok: ended with status ${run.status ?? run.signal}\n${lines.slice(-15).join("\n")}`);
      failed++;
    }
  }
} finally {
  rmSync(built, { recursive: true, force: true });
}
console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed === 0 ? 0 : 1;
