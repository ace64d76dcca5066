// A person's first day with the installed .vsix: the walkthrough and each of its buttons, a sidecar made step by step for a
// program that has none, a program checked on disk, two folders in one workspace. Ends with "N passed, N failed".
import assert from "node:assert/strict";
import * as fs from "node:fs";
import * as os from "node:os";
import * as path from "node:path";
import { fileURLToPath } from "node:url";
import { problemsFilter, Story, shots } from "./story.mjs";
import { launchBrowser, serverCli, startServer, workbenchUrl } from "./workbench/host.mjs";

const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), "../..");
fs.mkdirSync(shots, { recursive: true });
const scratch = fs.mkdtempSync(path.join(os.tmpdir(), "jawline-first-day-"));
const extensionsDir = path.join(scratch, "extensions");
const folder = path.join(scratch, "jobs");
fs.mkdirSync(folder);

// Two stations, one drill, as somebody would try it out.
const program = `%
O1001 (SPACER)
G21 G17 G40 G49 G80 G90
T1 M06
G00 G54.1 P1 X0. Y0. S3000 M03
G43 H1 Z50.
G81 X0. Y0. Z-5. R3. F200.
G80
G54.1 P2 X0. Y0.
G81 X0. Y0. Z-5. R3. F200.
G80
G91 G28 Z0.
G90 M30
%
`;
fs.writeFileSync(path.join(folder, "spacer.nc"), program);
fs.writeFileSync(path.join(folder, "wrong.nc"), program.replace("G54.1 P2", "G54.1 P44"));

const story = new Story("first-day");
const step = story.step.bind(story);
const vsix = path.join(root, "dist/jawline.vsix");
const installed = await serverCli(["--install-extension", vsix, "--extensions-dir", extensionsDir]);
await step("the .vsix installs", () => assert.equal(installed.code, 0, installed.out));
const user = path.join(scratch, "user");
const server = await startServer({ extensionsDir, userDataDir: user, settings: { "workbench.colorTheme": "Default Light Modern" } });
const browser = await launchBrowser();

async function open(query) {
  await story.page.goto(query);
  await story.page.locator(".monaco-workbench").waitFor();
}

async function openWalkthrough() {
  await story.command("Welcome: Open Walkthrough...");
  await story.page.locator(".quick-input-list .monaco-list-row", { hasText: "Check a batch" }).first().waitFor();
  await story.page.keyboard.type("Check a batch");
  await story.page.keyboard.press("Enter");
  await story.page.locator(".gettingStartedContainer", { hasText: "Describe your plate" }).waitFor();
}

/** Opens a step of the walkthrough. */
async function walkthroughStep(title) {
  await story.page.locator(".getting-started-step", { hasText: title }).first().click();
  await story.page.locator(".getting-started-step.expanded", { hasText: title }).waitFor();
}

const button = (name) => story.page.locator(".getting-started-step.expanded .monaco-button", { hasText: name }).first();

try {
  story.page = await (await browser.newContext({ viewport: { width: 1360, height: 900 } })).newPage();
  story.page.setDefaultTimeout(30_000);
  const { page } = story;
  await open(
    workbenchUrl(server, {
      folder,
      payload: [
        ["openFile", server.uri(path.join(folder, "spacer.nc"))],
        ["skipWelcome", "true"],
      ],
    }),
  );

  await step("a program without a sidecar says so", async () => {
    await story.status(/no sidecar: not checked/);
    await page.locator(".notification-toast", { hasText: "review aid" }).getByRole("button", { name: "Understood" }).click();
  });

  const strokes = new Set();
  for (const [theme, name] of [
    ["Default Light Modern", "light"],
    ["Default Dark Modern", "dark"],
    ["Default High Contrast", "contrast"],
  ]) {
    await step(`the walkthrough opens, its picture whole (${name})`, async () => {
      fs.writeFileSync(
        path.join(user, "User/settings.json"),
        JSON.stringify({ "workbench.colorTheme": theme, "telemetry.telemetryLevel": "off", "workbench.startupEditor": "none" }),
      );
      if (name !== "light") await page.reload();
      await page.locator(`.monaco-workbench.${name === "light" ? "vs" : name === "dark" ? "vs-dark" : "hc-black"}`).waitFor();
      await openWalkthrough();
      await walkthroughStep("Describe your plate");
      const picture = page.frameLocator("iframe.webview").frameLocator("#active-frame").locator("svg");
      await picture.waitFor();
      // Whole: inside its frame, and drawn in a colour of the theme rather than as one black surface.
      const drawn = await picture.evaluate((svg) => {
        const { top, left, bottom, right } = svg.getBoundingClientRect();
        const { clientWidth, clientHeight } = document.documentElement;
        const style = getComputedStyle(svg.querySelector("rect"));
        return {
          inside: top >= 0 && left >= 0 && right <= clientWidth && bottom <= clientHeight,
          fill: style.fill,
          stroke: style.stroke,
          foreground: getComputedStyle(document.documentElement).getPropertyValue("--vscode-foreground"),
        };
      });
      assert.ok(drawn.inside, "the picture is not cut off");
      assert.equal(drawn.fill, "none");
      assert.match(drawn.stroke, /^rgb/);
      strokes.add(drawn.stroke);
      // What the steps say is not cut off either; the caution above them least of all.
      for (const text of await page
        .locator(".gettingStartedContainer .category-title, .gettingStartedContainer .category-description")
        .all()) {
        assert.ok(await text.evaluate((e) => e.scrollHeight <= e.clientHeight + 2 && e.scrollWidth <= e.clientWidth + 2));
      }
      await page.waitForTimeout(700);
      await story.shot(`walkthrough-${name}`);
    });
  }

  await step("the picture follows the theme", () => assert.equal(strokes.size, 3, [...strokes].join(" ")));

  await step("its buttons: the demo and the list of problems", async () => {
    await walkthroughStep("Look at a faulty program");
    await button("Open the demo").click();
    await page.locator(".tab", { hasText: "lever-faulty.nc" }).waitFor();
    await story.status(/plate\.fixture\.json: checked, \d+ errors/);
    await page.locator(".tab", { hasText: "Walkthrough" }).first().click();
    await walkthroughStep("Look at a faulty program");
    await button("List of problems").click();
    await page.locator(".markers-panel").waitFor();
  });

  await step("its button: settings", async () => {
    await page.locator(".tab", { hasText: "Walkthrough" }).first().click();
    await walkthroughStep("Correct, allow or adjust");
    await button("Settings").click();
    await page.locator(".settings-editor .setting-item-label", { hasText: "Dialect" }).first().waitFor();
  });

  await step("its button: a sidecar step by step, beside a program that is picked", async () => {
    await page.locator(".tab", { hasText: "Walkthrough" }).first().click();
    await walkthroughStep("Describe your plate");
    await button("New fixture sidecar").click();
    const box = page.locator(".quick-input-widget");
    await box.locator(".quick-input-title", { hasText: "Program that the new sidecar stands beside" }).waitFor();
    // The page of the walkthrough takes the keyboard back once while it loads, so answers go to the box itself.
    const input = box.locator("input").first();
    await input.fill("spacer");
    await box.locator(".monaco-list-row", { hasText: "wrong.nc" }).waitFor({ state: "detached" });
    await input.press("Enter");
    for (const [title, answer] of [
      ["(1 of 7)", "mm"],
      ["(2 of 7)", "50"],
      ["(3 of 7)", "10 8"],
      ["(4 of 7)", "-500 -400 -450"],
      ["(5 of 7)", "2 1 3 4"],
      ["(6 of 7)", "+Y"],
      ["(7 of 7)", "G54.1 P1"],
    ]) {
      await box.locator(".quick-input-title", { hasText: title }).waitFor();
      if (title === "(5 of 7)") {
        // An answer that cannot be is refused with words, and nothing is lost.
        await input.fill("two");
        await box.locator(".quick-input-message", { hasText: "4 whole numbers" }).waitFor();
      }
      await input.fill(answer);
      await input.press("Enter");
    }
    await page.locator(".tab", { hasText: "spacer.fixture.json" }).waitFor();
    await page.locator(".monaco-editor .view-line", { hasText: "G54.1" }).first().waitFor();
    await story.shot("sidecar-made");
  });

  await step("the new sidecar has no findings, and the program is checked beside it", async () => {
    await page.locator(".tab", { hasText: "spacer.nc" }).click();
    await story.status(/spacer\.fixture\.json: checked/);
    assert.equal(await page.locator(".markers-panel .monaco-list-row", { hasText: "spacer.fixture.json" }).count(), 0);
    assert.equal(await page.locator(".monaco-editor .squiggly-error").count(), 0);
  });

  await step("every command works from the keyboard, and nothing speaks up unasked", async () => {
    await page.locator(".tab", { hasText: "spacer.nc" }).click();
    await page.locator(".monaco-editor .view-lines").first().click();
    await story.command("Jawline: Open or Create the Fixture Sidecar");
    await page.locator(".tab.active", { hasText: "spacer.fixture.json" }).waitFor();
    await page.locator(".tab", { hasText: "spacer.nc" }).click();
    await story.command("Jawline: Check This Program");
    // The command ends by leading to the list of problems, which takes the keyboard.
    await page.waitForFunction(() => document.activeElement?.closest(".part.panel") !== null);
    await story.status(/spacer\.fixture\.json: checked/);
    await story.command("Jawline: Open the Faulty Demo Program");
    await page.locator(".tab.active", { hasText: "lever-faulty.nc" }).waitFor();
    assert.equal(await page.locator(".notification-toast").count(), 0);
  });

  await step("a program is checked on disk from the explorer, and its findings are listed", async () => {
    fs.copyFileSync(path.join(folder, "spacer.fixture.json"), path.join(folder, "wrong.fixture.json"));
    const row = page.locator(".explorer-folders-view .monaco-list-row", { hasText: "wrong.nc" });
    await row.click({ button: "right" });
    const item = page.locator(".monaco-menu .action-item", { hasText: "Check Programs on Disk" }).first();
    await item.hover();
    // A menu takes no click in the first moments, so that the one that opened it chooses nothing.
    await page.waitForTimeout(400);
    await item.click();
    await page.locator(".notification-toast", { hasText: /wrong\.nc: 1 error/ }).waitFor();
    // The long list of the demo would hide the row that is looked for.
    await problemsFilter(page).fill("P44");
    await page.locator(".markers-panel .monaco-list-row", { hasText: "G54.1 P44" }).first().waitFor();
    // The findings follow the file.
    fs.writeFileSync(path.join(folder, "wrong.nc"), program);
    await page.locator(".markers-panel .monaco-list-row", { hasText: "G54.1 P44" }).first().waitFor({ state: "detached" });
  });

  await step("in two folders of one workspace the nearest sidecar wins", async () => {
    const both = path.join(scratch, "both.code-workspace");
    const second = path.join(scratch, "second");
    fs.mkdirSync(path.join(second, "deep"), { recursive: true });
    fs.writeFileSync(path.join(second, "deep/spacer.nc"), program);
    fs.copyFileSync(path.join(folder, "spacer.fixture.json"), path.join(second, "plate-b.fixture.json"));
    fs.writeFileSync(both, JSON.stringify({ folders: [{ uri: server.uri(folder) }, { uri: server.uri(second) }] }));
    const url = new URL(server.url);
    url.searchParams.set("workspace", both);
    url.searchParams.set(
      "payload",
      JSON.stringify([
        ["openFile", server.uri(path.join(second, "deep/spacer.nc"))],
        ["skipWelcome", "true"],
      ]),
    );
    await open(url.href);
    // The workbench now and then reads the workspace's file before its connection stands, and shows no folders until it is
    // loaded again: that is not what is looked at here.
    const folders = page.locator(".explorer-folders-view .monaco-list-row", { hasText: "second" }).first();
    for (let again = 0; again < 4; again++) {
      const there = await folders.waitFor({ timeout: 6000 }).then(
        () => true,
        () => false,
      );
      if (there) break;
      await page.reload();
    }
    await story.status(/plate-b\.fixture\.json: checked/);
    fs.copyFileSync(path.join(folder, "spacer.fixture.json"), path.join(second, "deep/near.fixture.json"));
    await story.status(/near\.fixture\.json: checked/);
  });

  await step("the language status tells the same, and opens the sidecar", async () => {
    await page.locator(".statusbar-item[id='status.languageStatus'] a").first().click();
    const row = page.locator(".hover-language-status", { hasText: "near.fixture.json: checked" }).first();
    await row.waitFor();
    await row.getByRole("button", { name: "Open sidecar" }).or(row.getByText("Open sidecar")).first().click();
    await page.locator(".tab.active", { hasText: "near.fixture.json" }).waitFor();
  });
} finally {
  await browser.close();
  await server.stop();
  fs.rmSync(scratch, { recursive: true, force: true, maxRetries: 5 });
}
story.end();
