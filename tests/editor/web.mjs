// The extension in the browser's own extension host, with the language server in a worker: no Node on the extension's
// side, every file comes through the editor. The same story as a person's, shorter. Ends with "N passed, N failed".
import assert from "node:assert/strict";
import * as fs from "node:fs";
import * as os from "node:os";
import * as path from "node:path";
import { fileURLToPath } from "node:url";
import { launchBrowser, startServer, workbenchUrl } from "./workbench/host.mjs";

const here = path.dirname(fileURLToPath(import.meta.url));
const root = path.resolve(here, "../..");
const scratch = fs.mkdtempSync(path.join(os.tmpdir(), "jawline-web-"));
const folder = path.join(scratch, "shop");
fs.cpSync(path.join(root, "fixtures-config"), folder, { recursive: true });

// Only what a browser loads, served by http: the client for Node is not even there.
const extension = path.join(scratch, "extension");
fs.mkdirSync(extension);
for (const name of fs.readdirSync(root).filter((n) => /^package(\.nls.*)?\.json$/.test(n)))
  fs.copyFileSync(path.join(root, name), path.join(extension, name));
for (const name of ["client", "server/dist/jawline.js", "fixtures-config", "server/docs"]) {
  fs.cpSync(path.join(root, name), path.join(extension, name), {
    recursive: true,
    filter: (from) => !/extension\.cjs|\.map$|client\/src|node_modules/.test(path.relative(root, from)),
  });
}

let passed = 0;
let failed = 0;
let page;
const log = [];

/** One step of the story; the first failure ends the story, since the later steps stand on it. */
async function step(name, act) {
  if (failed > 0) return;
  try {
    await act();
    passed++;
    console.log(`  ✓ ${name}`);
  } catch (error) {
    failed++;
    console.error(`  ✗ ${name}\n${error instanceof Error ? error.stack : error}\n${log.slice(-25).join("\n")}`);
    await page?.screenshot({ path: path.join(here, "shots/failed-web.png") }).catch(() => {});
  }
}

const server = await startServer();
const browser = await launchBrowser();
try {
  page = await (await browser.newContext({ viewport: { width: 1360, height: 860 } })).newPage();
  page.setDefaultTimeout(30_000);
  page.on("console", (message) => log.push(`[page ${message.type()}] ${message.text().slice(0, 400)}`));
  // The extension comes by http as from a gallery: a worker cannot be started from an extension of the remote side.
  const types = { ".json": "application/json", ".js": "text/javascript", ".svg": "image/svg+xml", ".png": "image/png" };
  await page.context().route(`${server.url}jawline-extension/**`, (route) => {
    const name = decodeURIComponent(new URL(route.request().url()).pathname).replace("/jawline-extension/", "");
    const file = path.join(extension, name);
    if (!file.startsWith(extension) || !fs.existsSync(file) || !fs.statSync(file).isFile()) return route.fulfill({ status: 404 });
    return route.fulfill({ body: fs.readFileSync(file), contentType: types[path.extname(file)] ?? "text/plain" });
  });
  // The page's own settings name the extension, as a site does that embeds the workbench. They are changed in the page
  // before its script reads them: a page that did not come from the network itself may not open sockets to this machine.
  await page.addInitScript((host) => {
    const change = () => {
      const meta = document.getElementById("vscode-workbench-web-configuration");
      if (meta === null) return;
      observer.disconnect();
      const configuration = JSON.parse(meta.getAttribute("data-settings"));
      configuration.developmentOptions = { extensions: [{ scheme: "http", authority: host, path: "/jawline-extension" }] };
      meta.setAttribute("data-settings", JSON.stringify(configuration));
    };
    const observer = new MutationObserver(change);
    observer.observe(document, { childList: true, subtree: true });
  }, new URL(server.url).host);
  await page.goto(
    workbenchUrl(server, {
      folder,
      payload: [
        ["openFile", server.uri(path.join(folder, "demo/plate/lever.nc"))],
        ["skipWelcome", "true"],
      ],
    }),
  );
  await page.locator(".monaco-workbench").waitFor();
  await step("the sidecar is found and the program checked", async () => {
    await page.locator(".statusbar-item", { hasText: /plate\.fixture\.json: checked/ }).waitFor();
  });

  /** The place of a column in the first rendered line with this text. */
  async function charAt(lineText, column) {
    const line = page.locator(".monaco-editor .view-line", { hasText: lineText }).first();
    await line.waitFor();
    const box = await line.boundingBox();
    const width = await page.evaluate(() => {
      const span = document.querySelector(".monaco-editor .view-line span span");
      return span === null ? 8 : span.getBoundingClientRect().width / Math.max(1, span.textContent.length);
    });
    return { x: box.x + (column + 0.5) * width, y: box.y + box.height / 2 };
  }

  await step("a hover on a work offset shows the part at that station", async () => {
    const at = await charAt("G54.1 P3", 3);
    await page.mouse.move(at.x + 60, at.y + 60);
    await page.mouse.move(at.x, at.y, { steps: 6 });
    const hover = page.locator(".monaco-hover:not(.hidden)", { hasText: "damper lever" }).first();
    await hover.waitFor();
    assert.match(await hover.innerText(), /A3/);
    await page.keyboard.press("Escape");
  });

  await step("a wrong P is underlined and listed, and goes when it is corrected", async () => {
    const at = await charAt("G54.1 P3", 8);
    await page.mouse.click(at.x + 200, at.y);
    await page.keyboard.press("End");
    await page.keyboard.press("Backspace");
    await page.keyboard.type("33");
    await page.locator(".monaco-editor .squiggly-error").first().waitFor({ state: "attached" });
    await page.keyboard.press("Control+Shift+M");
    const row = page.locator(".markers-panel .monaco-list-row", { hasText: "G54.1 P33" }).first();
    await row.waitFor();
    assert.match(await row.innerText(), /offset-unmapped/);
    const again = await charAt("G54.1 P33", 8);
    await page.mouse.click(again.x + 200, again.y);
    await page.keyboard.press("End");
    await page.keyboard.press("Backspace");
    await page.locator(".monaco-editor .squiggly-error").first().waitFor({ state: "detached" });
  });

  await step("a sidecar that is changed outside the editor is read again", async () => {
    const sidecar = path.join(folder, "demo/plate/plate.fixture.json");
    const before = fs.readFileSync(sidecar, "utf8");
    assert.ok(before.includes('"G54.1 P7"'));
    fs.writeFileSync(sidecar, before.replace('"G54.1 P7"', '"G54.1 P8"'));
    await page.locator(".statusbar-item", { hasText: /plate\.fixture\.json: (not )?checked, \d+ error/ }).waitFor();
    fs.writeFileSync(sidecar, before);
    await page.locator(".statusbar-item", { hasText: /plate\.fixture\.json: checked(?!, \d+ error)/ }).waitFor();
  });

  await step("a sidecar that is taken away and put back is noticed", async () => {
    const sidecar = path.join(folder, "demo/plate/plate.fixture.json");
    fs.renameSync(sidecar, `${sidecar}.away`);
    await page.locator(".statusbar-item", { hasText: /no sidecar: not checked/ }).waitFor();
    fs.renameSync(`${sidecar}.away`, sidecar);
    await page.locator(".statusbar-item", { hasText: /plate\.fixture\.json: checked/ }).waitFor();
  });
} finally {
  await browser.close();
  await server.stop();
  fs.rmSync(scratch, { recursive: true, force: true, maxRetries: 5 });
}
console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed === 0 ? 0 : 1;
