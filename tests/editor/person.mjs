// What a person does with the installed .vsix in the real workbench, through the page: opens the demo, reads the status,
// hovers, types a wrong P, sees the underline and the problem, corrects it. Each step is one test; ends with "N passed, N failed".
// SHOTS=folder keeps screenshots (light, dark and high contrast).
import assert from "node:assert/strict";
import * as fs from "node:fs";
import * as os from "node:os";
import * as path from "node:path";
import { fileURLToPath } from "node:url";
import { launchBrowser, serverCli, startServer, workbenchUrl } from "./workbench/host.mjs";

const here = path.dirname(fileURLToPath(import.meta.url));
const root = path.resolve(here, "../..");
const shots = process.env.SHOTS ?? path.join(here, "shots");
fs.mkdirSync(shots, { recursive: true });
const scratch = fs.mkdtempSync(path.join(os.tmpdir(), "jawline-person-"));
const folder = path.join(scratch, "shop");
fs.cpSync(path.join(root, "fixtures-config"), folder, { recursive: true });
const extensionsDir = path.join(scratch, "extensions");

let passed = 0;
let failed = 0;
let page;

/** One step of the story; the first failure ends the story, since the later steps stand on it. */
async function step(name, act) {
  if (failed > 0) return;
  try {
    await act();
    passed++;
    console.log(`  ✓ ${name}`);
  } catch (error) {
    failed++;
    console.error(`  ✗ ${name}\n${error instanceof Error ? error.stack : error}`);
    await page?.screenshot({ path: path.join(shots, "failed.png") }).catch(() => {});
  }
}

const shot = (name) => page.screenshot({ path: path.join(shots, `${name}.png`) });

/** The place of the first rendered line with this text, and of a column in it. */
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

const vsix = path.join(root, "dist/jawline.vsix");
const installed = await serverCli(["--install-extension", vsix, "--extensions-dir", extensionsDir]);
await step("the .vsix installs", () => assert.equal(installed.code, 0, installed.out));

const server = await startServer({
  extensionsDir,
  userDataDir: path.join(scratch, "user"),
  settings: { "workbench.colorTheme": "Default Light Modern" },
});
const browser = await launchBrowser();
try {
  page = await (await browser.newContext({ viewport: { width: 1360, height: 860 } })).newPage();
  page.setDefaultTimeout(30_000);
  const program = path.join(folder, "demo/plate/lever.nc");
  await page.goto(
    workbenchUrl(server, {
      folder,
      payload: [
        ["openFile", server.uri(program)],
        ["skipWelcome", "true"],
      ],
    }),
  );
  await page.locator(".monaco-workbench").waitFor();

  await step("the cautions are shown at the first start", async () => {
    const toast = page.locator(".notification-toast", { hasText: "a review aid, not a proof" });
    await toast.waitFor();
    await shot("first-start");
    await toast.getByRole("button", { name: "Understood" }).click();
  });

  await step("the status names the sidecar and says that the program is checked", async () => {
    await page.locator(".statusbar-item", { hasText: /plate\.fixture\.json: checked/ }).waitFor();
    assert.equal(await page.locator(".monaco-editor .squiggly-error").count(), 0);
  });

  await step("a hover on a work offset shows the part at that station", async () => {
    const at = await charAt("G54.1 P3", 3);
    await page.mouse.move(at.x + 60, at.y + 60);
    await page.mouse.move(at.x, at.y, { steps: 6 });
    const hover = page.locator(".monaco-hover:not(.hidden)", { hasText: "damper lever" }).first();
    await hover.waitFor();
    const text = await hover.innerText();
    for (const word of ["A3", "op10", "L-207", "notch 8"]) assert.ok(text.includes(word), `${word} in: ${text}`);
    // The hover fades in; the picture is taken when it has.
    await page.waitForFunction(() =>
      [...document.querySelectorAll(".monaco-hover:not(.hidden)")].every((h) => getComputedStyle(h).opacity === "1"),
    );
    await page.waitForTimeout(300);
    await shot("hover-light");
    await page.keyboard.press("Escape");
  });

  await step("a wrong P is underlined as it is typed, with the problem in the list", async () => {
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
    await shot("wrong-offset-light");
  });

  await step("a hover on the wrong offset says what it is", async () => {
    const at = await charAt("G54.1 P33", 3);
    await page.mouse.move(at.x + 60, at.y + 60);
    await page.mouse.move(at.x, at.y, { steps: 6 });
    await page.locator(".monaco-hover:not(.hidden)", { hasText: "belongs to no station" }).first().waitFor();
    await shot("wrong-offset-hover");
    await page.keyboard.press("Escape");
  });

  await step("corrected, the underline goes", async () => {
    const at = await charAt("G54.1 P33", 8);
    await page.mouse.click(at.x + 200, at.y);
    await page.keyboard.press("End");
    await page.keyboard.press("Backspace");
    await page.locator(".monaco-editor .squiggly-error").first().waitFor({ state: "detached" });
    await page.locator(".statusbar-item", { hasText: /plate\.fixture\.json: checked/ }).waitFor();
  });

  for (const [theme, name] of [
    ["Default Dark Modern", "dark"],
    ["Default High Contrast", "contrast"],
  ]) {
    await step(`the faulty copy in the theme ${theme}`, async () => {
      fs.writeFileSync(
        path.join(scratch, "user/User/settings.json"),
        JSON.stringify({ "workbench.colorTheme": theme, "telemetry.telemetryLevel": "off", "workbench.startupEditor": "none" }),
      );
      const faulty = path.join(folder, "demo/plate/lever-faulty.nc");
      await page.goto(
        workbenchUrl(server, {
          folder,
          payload: [
            ["openFile", server.uri(faulty)],
            ["skipWelcome", "true"],
          ],
        }),
      );
      await page.locator(".statusbar-item", { hasText: /checked, \d+ errors/ }).waitFor();
      if ((await page.locator(".markers-panel").count()) === 0) await page.keyboard.press("Control+Shift+M");
      await page.locator(".markers-panel .monaco-list-row").nth(3).waitFor();
      // The first fault stands below the fold: go to its line as a person would.
      await page.locator(".monaco-editor .view-lines").first().click();
      await page.keyboard.press("Control+G");
      await page.keyboard.type("44");
      await page.keyboard.press("Enter");
      await page.locator(".monaco-editor .squiggly-error").first().waitFor({ state: "attached" });
      await shot(`faulty-${name}`);
    });
  }
} finally {
  await browser.close();
  await server.stop();
  fs.rmSync(scratch, { recursive: true, force: true, maxRetries: 5 });
}
console.log(`${passed} passed, ${failed} failed`);
process.exitCode = failed === 0 ? 0 : 1;
