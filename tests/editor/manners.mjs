// How the extension behaves in the editor, as a person meets it in the workbench's page: settings for each folder, trace, the
// keyboard alone, high contrast, tasks, files that are too large for the editor, a folder that is not trusted, German.
// Ends with "N passed, N failed".
import assert from "node:assert/strict";
import * as fs from "node:fs";
import * as os from "node:os";
import * as path from "node:path";
import { fileURLToPath } from "node:url";
import { problemsFilter, Story, shots } from "./story.mjs";
import { launchBrowser, serverCli, startServer, workbenchUrl } from "./workbench/host.mjs";

const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), "../..");
fs.mkdirSync(shots, { recursive: true });
const scratch = fs.mkdtempSync(path.join(os.tmpdir(), "jawline-manners-"));
const copy = (name) => {
  const folder = path.join(scratch, name);
  fs.cpSync(path.join(root, "fixtures-config"), folder, { recursive: true });
  return folder;
};
const folder = copy("shop");
const plate = path.join(folder, "demo/plate");
const lever = fs.readFileSync(path.join(plate, "lever.nc"), "utf8");
// One wrong offset, as the first of four tools selects it.
const wrong = lever.replace("G54.1 P12\n", "G54.1 P21\n");
const wrongLine = wrong.split("\n").indexOf("G54.1 P21") + 1;
fs.writeFileSync(path.join(plate, "wrong.nc"), wrong);
fs.writeFileSync(path.join(plate, "disk.nc"), wrong);
fs.writeFileSync(path.join(plate, "wrong-too.nc"), wrong);
fs.mkdirSync(path.join(folder, ".vscode"));
fs.writeFileSync(
  path.join(folder, ".vscode/tasks.json"),
  JSON.stringify({ version: "2.0.0", tasks: [{ type: "jawline", program: "demo/plate/disk.nc", label: "release check" }] }),
);
fs.mkdirSync(path.join(folder, "new"));
fs.writeFileSync(path.join(folder, "new/spacer.nc"), "%\nO1 (SPACER)\nG21 G90\nG54.1 P1 G0 X0. Y0.\nM30\n%\n");
const manifest = JSON.parse(fs.readFileSync(path.join(root, "package.json"), "utf8"));
const english = JSON.parse(fs.readFileSync(path.join(root, "package.nls.json"), "utf8"));
const german = JSON.parse(fs.readFileSync(path.join(root, "package.nls.de.json"), "utf8"));

const story = new Story("manners");
const only = process.env.ONLY?.split(",");
/** Some chapters alone: ONLY=settings,german. */
const chapter = async (name, tell) => {
  if (only === undefined || only.includes(name)) await tell();
};
const step = story.step.bind(story);
const extensionsDir = path.join(scratch, "extensions");
const vsix = process.env.JAWLINE_VSIX ?? path.join(root, "dist/jawline.vsix");
const installed = await serverCli(["--install-extension", vsix, "--extensions-dir", extensionsDir]);
await step("the .vsix installs", () => assert.equal(installed.code, 0, installed.out));
const user = path.join(scratch, "user");
const plain = {
  "workbench.colorTheme": "Default Light Modern",
  "workbench.startupEditor": "none",
  "telemetry.telemetryLevel": "off",
  "files.autoSave": "off",
  "editor.minimap.enabled": false,
  // A terminal that is drawn by the graphics card cannot be read on the page.
  "terminal.integrated.gpuAcceleration": "off",
};
const server = await startServer({ extensionsDir, userDataDir: user, settings: plain });
/** Settings of the person for the next window. */
const setting = (more) => fs.writeFileSync(path.join(user, "User/settings.json"), JSON.stringify({ ...plain, ...more }));
const browser = await launchBrowser();
let restricted;

/** A window of its own. Every notification that appears in it, however shortly, is remembered. */
async function newWindow(script) {
  if (story.page !== undefined) await story.page.context().close();
  const context = await browser.newContext({ viewport: { width: 1360, height: 900 } });
  await context.addInitScript(() => {
    globalThis.toasts = [];
    new MutationObserver((changes) => {
      for (const { addedNodes } of changes)
        for (const node of addedNodes)
          if (node instanceof HTMLElement)
            for (const toast of [node, ...node.querySelectorAll(".notification-toast")])
              if (toast.classList.contains("notification-toast")) globalThis.toasts.push(toast);
    }).observe(document, { childList: true, subtree: true });
  });
  if (script !== undefined) await context.addInitScript(script);
  story.page = await context.newPage();
  story.page.setDefaultTimeout(120_000);
  return story.page;
}

// A notification is put into the page anew while it moves in.
const toasts = () => story.page.evaluate(() => [...new Set(globalThis.toasts.map((toast) => toast.textContent ?? ""))]);

async function open(file, host = server, at = folder) {
  await story.page.goto(
    workbenchUrl(host, {
      folder: at,
      payload: [
        ["openFile", host.uri(path.join(at, file))],
        ["skipWelcome", "true"],
      ],
    }),
  );
  await story.page.locator(".monaco-workbench").waitFor();
}

/** A row of the list of problems. */
const problem = (text) => story.page.locator(".markers-panel .monaco-list-row", { hasText: text }).first();
async function showProblems() {
  await story.page.keyboard.press("Control+Shift+M");
  await story.page.locator(".markers-panel").waitFor();
}
async function focusText() {
  await story.page.locator(".editor-group-container.active .view-lines").first().click();
  await story.page.locator(".editor-group-container.active .monaco-editor.focused").first().waitFor();
}
const hasLine = (text) => story.until(`a line ${text}`, async () => (await story.lines()).some((line) => line.includes(text)));

try {
  await newWindow();
  await open("demo/plate/wrong.nc");
  await step("the one notification of the first start", async () => {
    await story.status(/plate\.fixture\.json: checked, \d+ error/);
    await story.page.locator(".notification-toast", { hasText: "review aid" }).getByRole("button", { name: "Understood" }).click();
    await story.until("no toast", async () => (await story.page.locator(".notification-toast").count()) === 0);
    assert.equal((await toasts()).length, 1);
  });

  await chapter("keyboard", async () => {
    await step("by the keyboard alone from the program to the corrected offset", async () => {
      const { page } = story;
      await story.openFile("wrong.nc");
      await page.keyboard.press("F8");
      await story.status(`Ln ${wrongLine}, `);
      await page.locator(".marker-widget", { hasText: "no station uses G54.1 P21" }).waitFor();
      await page.keyboard.press("Escape");
      await page.keyboard.press("Control+.");
      await page.locator(".action-widget .monaco-list-row", { hasText: "Select G54.1 P12, station B6" }).first().waitFor();
      await page.keyboard.press("Enter");
      await hasLine("G54.1 P12");
      await story.status(/plate\.fixture\.json: checked(?!, \d+ error)/);
      assert.equal(await page.locator(".editor-group-container.active .squiggly-error").count(), 0);
    });
  });

  await chapter("quiet", async () => {
    await step("typing, hovering, saving, looking up, closing: no notification that is not an answer", async () => {
      const { page } = story;
      const before = (await toasts()).length;
      await story.openFile("lever.nc");
      await story.status(/plate\.fixture\.json: checked/);
      await story.goTo(17, 2);
      await story.hover("A4");
      await story.leave();
      await page.keyboard.press("F12");
      await page.locator(".tab.active", { hasText: "plate.fixture.json" }).waitFor();
      await story.openFile("lever.nc");
      await story.goTo(17, 9);
      await page.keyboard.type("4");
      await story.status(/plate\.fixture\.json: checked, \d+ error/);
      await page.keyboard.press("Control+S");
      await page.keyboard.press("Backspace");
      await story.status(/plate\.fixture\.json: checked(?!, \d+ error)/);
      await page.keyboard.press("Control+S");
      await story.command("Jawline: Check This Program");
      await page.locator(".markers-panel").waitFor();
      await story.openFile("end-cap-faulty.nc");
      await story.status(/tombstone\.fixture\.json: checked, \d+ error/);
      await page.locator(".tab.active", { hasText: "end-cap-faulty.nc" }).locator(".codicon-close").first().click();
      await page.locator(".tab", { hasText: "end-cap-faulty.nc" }).waitFor({ state: "detached" });
      assert.deepEqual((await toasts()).slice(before), []);
    });
  });

  await chapter("assistant", async () => {
    await step(
      "every question of the assistant has help, says what is wrong with an answer, and Escape leaves nothing behind",
      async () => {
        const { page } = story;
        await story.openFile("spacer.nc");
        await story.status(/no sidecar: not checked/);
        await story.command("Jawline: New Fixture Sidecar, Step by Step");
        const box = page.locator(".quick-input-widget");
        const input = box.locator("input").first();
        const said = box.locator(".quick-input-message");
        const pick = async (title, helps) => {
          await box.locator(".quick-input-title", { hasText: title }).waitFor();
          for (const help of helps) await box.locator(".monaco-list-row", { hasText: help }).first().waitFor();
          await page.keyboard.press("Enter");
        };
        await pick("(1 of 7)", ["millimetres", "inches"]);
        for (const [title, help, bad, why] of [
          ["(2 of 7)", "Distance between neighbouring intersections", "0", "a length greater than 0"],
          ["(3 of 7)", "intersections along x and along y", "10", "2 whole numbers of at least 1"],
          ["(4 of 7)", "X Y Z of the tool point", "1 2 z", "3 numbers"],
          ["(5 of 7)", "three across and two up", "1 1 0 4", "4 whole numbers of at least 1"],
        ]) {
          await box.locator(".quick-input-title", { hasText: title }).waitFor();
          await said.filter({ hasText: help }).waitFor();
          const given = await input.inputValue();
          await input.fill(bad);
          await said.filter({ hasText: why }).waitFor();
          // A wrong answer is not taken.
          await page.keyboard.press("Enter");
          await said.filter({ hasText: why }).waitFor();
          assert.ok((await box.locator(".quick-input-title").innerText()).includes(title));
          await input.fill(given);
          await said.filter({ hasText: help }).waitFor();
          await page.keyboard.press("Enter");
        }
        await pick("(6 of 7)", ["up along the rows", "down along the rows", "along the columns", "back along the columns"]);
        await box.locator(".quick-input-title", { hasText: "(7 of 7)" }).waitFor();
        await said.filter({ hasText: "the other stations follow in order" }).waitFor();
        await input.fill("five");
        await said.filter({ hasText: "for example G54 or G54.1 P1" }).waitFor();
        await page.keyboard.press("Escape");
        await box.waitFor({ state: "hidden" });
        assert.deepEqual(fs.readdirSync(path.join(folder, "new")), ["spacer.nc"]);
        assert.equal(await page.locator(".tab", { hasText: "spacer.fixture.json" }).count(), 0);
      },
    );
  });

  await chapter("task", async () => {
    /** Runs a task by its name, as it stands in the list of tasks. */
    const runTask = async (name, kind) => {
      const { page } = story;
      await page.keyboard.press("F1");
      const rows = page.locator(".quick-input-list .monaco-list-row");
      await rows.first().waitFor();
      await page.keyboard.type("Tasks: Run Task");
      await rows
        .filter({ hasText: /^Tasks: Run Task/ })
        .first()
        .click();
      if (kind !== undefined) await rows.filter({ hasText: kind }).first().click();
      await rows.filter({ hasText: name }).first().click();
      await page
        .locator(".part.panel .xterm-rows", { hasText: /1.program,.48.visits,.1.error/ })
        .first()
        .waitFor();
    };

    await step("the task reads the findings of a program that is not open into the list of problems", async () => {
      await runTask("release check");
      await showProblems();
      // Only so much of the list is drawn as is seen.
      const filter = problemsFilter(story.page);
      await filter.fill("disk.nc");
      await problem("disk.nc").waitFor();
      assert.match(await problem("no station uses G54.1 P21").innerText(), /offset-unmapped.*\[Ln 33, Col 1\]/s);
      await filter.fill("");
    });

    await step("of the program on view it says again what is listed, and nothing stands twice", async () => {
      await story.openFile("wrong-too.nc");
      await story.status(/plate\.fixture\.json: checked, 1 error/);
      await runTask("check the program on view", "jawline");
      await showProblems();
      const filter = problemsFilter(story.page);
      await filter.fill("wrong-too.nc");
      await problem("wrong-too.nc").waitFor();
      assert.equal(await problem("wrong-too.nc").locator(".monaco-count-badge").innerText(), "1");
      await filter.fill("");
    });
  });

  await chapter("trace", async () => {
    await step("the traffic with the server can be read in the output", async () => {
      setting({ "jawline.trace.server": "messages" });
      const page = await newWindow();
      await open("demo/plate/lever.nc");
      await story.status(/plate\.fixture\.json: checked/);
      await focusText();
      await story.command("Output: Show Output Channels...");
      await page.locator(".quick-input-list .monaco-list-row", { hasText: "Jawline" }).first().waitFor();
      await page.keyboard.type("Jawline Trace");
      await page.locator(".quick-input-list .monaco-list-row.focused", { hasText: "Jawline Trace" }).waitFor();
      await page.keyboard.press("Enter");
      await page.locator(".part.panel .monaco-editor .view-lines").first().waitFor();
      await focusText();
      await story.goTo(15, 2);
      await story.hover("A3");
      await story.leave();
      await page.locator(".part.panel .view-line", { hasText: "textDocument/" }).first().waitFor();
      setting({});
      await newWindow();
      await open("demo/plate/lever.nc");
      await story.status(/plate\.fixture\.json: checked/);
    });
  });

  await chapter("settings", async () => {
    await step("every setting is found under its name, with what it does", async () => {
      const { page } = story;
      await page.setViewportSize({ width: 1360, height: 3200 });
      await page.keyboard.press("Control+,");
      await page.locator(".settings-editor .search-container .inputarea, .settings-editor .search-container textarea").first().waitFor();
      await page.keyboard.type("jawline");
      const names = Object.keys(manifest.contributes.configuration.properties);
      await story.until(
        "all settings",
        async () => (await page.locator('.settings-editor [data-key^="jawline."]').count()) >= names.length,
      );
      for (const name of names) {
        const item = page.locator(`.settings-editor [data-key="${name}"]`).first();
        const told = (await item.innerText()).replace(/\s+/g, " ");
        const key = manifest.contributes.configuration.properties[name].markdownDescription.slice(1, -1);
        const text = english[key].replaceAll("`", "").replace(/\s+/g, " ");
        assert.ok(told.includes(text), `${name}: ${told}`);
      }
      await story.shot("settings");
      await page.setViewportSize({ width: 1360, height: 900 });
      await page.keyboard.press("Control+F4");
    });
  });

  await chapter("disk", async () => {
    await step("a file that is too large for the editor is checked from the explorer", async () => {
      const { page } = story;
      const big = fs.openSync(path.join(folder, "big.nc"), "w");
      fs.writeSync(big, "%\nO3000 (CONTOUR)\n(FIXTURE: demo/plate/plate.fixture.json)\nG21 G17 G40 G49 G80 G90\nT2 M06\n");
      fs.writeSync(big, "G00 G54.1 P1 X10. Y30. S5200 M03\nG43 H2 Z50.\nG01 Z40. F900.\n");
      const remark = "-".repeat(420);
      for (let i = 0; i < 125; i++) {
        let text = "";
        for (let k = 0; k < 1000; k++) {
          const a = (i * 1000 + k) / 500;
          text += `X${(10 * Math.cos(a)).toFixed(3)} Y${(30 + 10 * Math.sin(a)).toFixed(3)} (${remark})\n`;
        }
        fs.writeSync(big, text);
      }
      fs.writeSync(big, "G00 Z50.\nG54.1 P33 X0. Y0.\nG01 Z40.\nG00 Z50.\nG91 G28 Z0.\nG90 M30\n%\n");
      fs.closeSync(big);
      // The editor sends no file above 50 MB to an extension.
      assert.ok(fs.statSync(path.join(folder, "big.nc")).size > 50 * 1024 * 1024);
      await showProblems();
      const row = page.locator(".explorer-folders-view .monaco-list-row", { hasText: "big.nc" });
      await row.click({ button: "right" });
      const item = page.locator(".monaco-menu .action-item", { hasText: "Check Programs on Disk" }).first();
      await item.hover();
      // A menu takes no click in the first moments, so that the one that opened it chooses nothing.
      await page.waitForTimeout(400);
      const began = Date.now();
      await item.click();
      await page.locator(".notification-toast", { hasText: /big\.nc: 1 error/ }).waitFor({ timeout: 180_000 });
      console.log(`    52 MB checked in ${((Date.now() - began) / 1000).toFixed(1)} s`);
      await problem("no station uses G54.1 P33").waitFor();
      assert.match(await problem("no station uses G54.1 P33").innerText(), /\[Ln 125010, Col 1\]/);
      fs.rmSync(path.join(folder, "big.nc"));
      await problem("no station uses G54.1 P33").waitFor({ state: "detached" });
      await page.locator(".notification-toast").getByRole("button", { name: /Clear/ }).first().click();
    });
  });

  await chapter("folders", async () => {
    await step("each folder of a workspace has its own levels, which apply as soon as they are saved", async () => {
      const { page } = story;
      const first = copy("first");
      const second = copy("second");
      fs.writeFileSync(path.join(first, "demo/plate/wrong-first.nc"), wrong);
      fs.writeFileSync(path.join(second, "demo/plate/wrong-second.nc"), wrong);
      fs.mkdirSync(path.join(first, ".vscode"));
      fs.writeFileSync(path.join(first, ".vscode/settings.json"), '{ "jawline.levels": { "offset-unmapped": "warning" } }\n');
      const both = path.join(scratch, "both.code-workspace");
      fs.writeFileSync(both, JSON.stringify({ folders: [{ uri: server.uri(first) }, { uri: server.uri(second) }] }));
      const url = new URL(server.url);
      url.searchParams.set("workspace", both);
      const payload = [
        ["openFile", server.uri(path.join(first, "demo/plate/wrong-first.nc"))],
        ["skipWelcome", "true"],
      ];
      url.searchParams.set("payload", JSON.stringify(payload));
      await page.goto(url.href);
      await page.locator(".monaco-workbench").waitFor();
      // The workbench now and then shows no folders until it is loaded again: that is not what is looked at here.
      const shown = page.locator(".explorer-folders-view .monaco-list-row", { hasText: "second" }).first();
      for (let again = 0; again < 4; again++) {
        if (
          await shown.waitFor({ timeout: 15_000 }).then(
            () => true,
            () => false,
          )
        )
          break;
        await page.reload();
      }
      await story.status(/plate\.fixture\.json: checked, 1 warning/);
      await story.openFile("wrong-second.nc");
      await story.status(/plate\.fixture\.json: checked, 1 error/);
      await showProblems();
      const marks = (kind) => page.locator(`.markers-panel .monaco-list-row:has(.codicon-${kind})`, { hasText: "offset-unmapped" });
      await marks("warning").first().waitFor();
      await marks("error").first().waitFor();
      const inExplorer = (name) => page.locator(".explorer-folders-view .monaco-list-row", { hasText: name }).first();
      await inExplorer(".vscode").click();
      await inExplorer("settings.json").dblclick();
      await page.locator(".tab.active", { hasText: "settings.json" }).waitFor();
      await focusText();
      await story.goTo(1, '{ "jawline.levels": { "offset-unmapped": "'.length + 1);
      for (let i = 0; i < "warning".length; i++) await page.keyboard.press("Shift+ArrowRight");
      await page.keyboard.type("off");
      await page.keyboard.press("Control+S");
      await marks("warning").first().waitFor({ state: "detached" });
      await marks("error").first().waitFor();
    });
  });

  await chapter("contrast", async () => {
    for (const [theme, kind] of [
      ["Default High Contrast", "hc-black"],
      ["Default High Contrast Light", "hc-light"],
    ]) {
      await step(`everything can be read in ${theme}, and no mark stands without words`, async () => {
        setting({ "workbench.colorTheme": theme });
        await newWindow();
        const { page } = story;
        await open("demo/plate/lever-faulty.nc");
        await page.locator(`.monaco-workbench.${kind}`).waitFor();
        await story.status(/checked, \d+ errors, \d+ warning/);
        await showProblems();
        await problem("G54.1 P19").waitFor();
        await focusText();
        await story.goTo(87, 3);
        await page.locator(".squiggly-error").first().waitFor({ state: "attached" });
        await page.locator(".codelens-decoration:visible").first().waitFor();
        await story.hover("no station uses G54.1 P19");
        await story.shot(`manners-${kind}`);
        // Contrast after WCAG 2.1, 1.4.3: (L1 + 0.05) / (L2 + 0.05) of the relative luminances, 4.5 for text.
        const ratios = await page.evaluate(() => {
          const parse = (color) => (color.match(/[\d.]+/g) ?? []).map(Number);
          const luminance = ([r, g, b]) => {
            const [x, y, z] = [r, g, b].map((v) => (v / 255 <= 0.03928 ? v / 255 / 12.92 : ((v / 255 + 0.055) / 1.055) ** 2.4));
            return 0.2126 * x + 0.7152 * y + 0.0722 * z;
          };
          const over = ([r, g, b, a = 1], [R, G, B]) => [r * a + R * (1 - a), g * a + G * (1 - a), b * a + B * (1 - a)];
          const ground = (element) => {
            for (let e = element; e !== null; e = e.parentElement) {
              const color = parse(getComputedStyle(e).backgroundColor);
              if (color.length === 3 || color[3] > 0.9) return color;
            }
            return parse(getComputedStyle(document.body).backgroundColor);
          };
          const ratio = (element) => {
            const back = ground(element);
            const [a, b] = [luminance(over(parse(getComputedStyle(element).color), back)), luminance(back)];
            return (Math.max(a, b) + 0.05) / (Math.min(a, b) + 0.05);
          };
          const out = {};
          for (const [name, selector] of Object.entries({
            lens: ".codelens-decoration > *",
            hint: ".view-line [class*='dyn-rule-'], .view-line [class*='ced-']",
            word: ".view-line span[class^='mtk']",
            hover: ".monaco-hover:not(.hidden) p, .monaco-hover:not(.hidden) span",
            problem: ".markers-panel .monaco-list-row",
            status: ".statusbar-item a",
          }))
            out[name] = Math.min(...[...document.querySelectorAll(selector)].filter((e) => (e.textContent ?? "").trim() !== "").map(ratio));
          return out;
        });
        for (const [name, value] of Object.entries(ratios)) assert.ok(value >= 4.5, `${name}: ${JSON.stringify(ratios)}`);
        // Each mark has its words: the place in the list says level by icon and name, and the finding in words.
        for (const row of await page
          .locator(".markers-panel .monaco-list-row:has(.codicon-error), .markers-panel .monaco-list-row:has(.codicon-warning)")
          .all())
          assert.match(await row.innerText(), /\w+ \w+.*jawline.*\[Ln \d+/s);
        const bar = page.locator(".statusbar-item", { hasText: "plate.fixture.json" }).first();
        assert.match((await bar.locator("a").first().getAttribute("aria-label")) ?? "", /checked, \d+ errors/);
        await story.leave();
      });
    }
    setting({});
  });

  // The pictures of the README: ONLY=pictures PICTURES=folder. They are made smaller by hand (pngquant) and looked at.
  if (process.env.PICTURES !== undefined) {
    const take = async (name, theme, kind, size, act) =>
      (process.env.PICTURE ?? name) === name &&
      step(`picture ${name}`, async () => {
        setting({ "workbench.colorTheme": theme, "editor.stickyScroll.enabled": false, "breadcrumbs.enabled": false });
        await newWindow();
        await story.page.setViewportSize(size);
        await open("demo/plate/lever-faulty.nc");
        await story.page.locator(`.monaco-workbench.${kind}`).waitFor();
        await story.status(/checked, \d+ errors/);
        // The caution goes by itself after a while.
        await story.page
          .locator(".notification-toast")
          .getByRole("button", { name: "Understood" })
          .click({ timeout: 5000 })
          .catch(() => {});
        await focusText();
        await story.page.keyboard.press("Control+B");
        await story.page.locator(".part.sidebar").waitFor({ state: "hidden" });
        const part = await act(story.page);
        await story.page.waitForTimeout(1500);
        const box = await story.page.locator(part).first().boundingBox();
        const clip = { ...box, height: Math.min(box.height, 720) };
        await story.page.screenshot({ path: path.join(process.env.PICTURES, `${name}.png`), clip });
      });
    await take("program", "Default Light Modern", "vs", { width: 900, height: 520 }, async (page) => {
      await story.goTo(62, 1);
      await page.locator(".codelens-decoration:visible").first().waitFor();
      await story.goTo(47, 9);
      await page.locator(".squiggly-error").first().waitFor({ state: "attached" });
      await hasLine("A3 damper lever");
      return ".part.editor";
    });
    await take("hover", "Default Dark Modern", "vs-dark", { width: 900, height: 2000 }, async (page) => {
      // A hover is at most a quarter as high as the window, so that a tall one shows all of it; only its top is kept.
      await story.openFile("lever.nc");
      await story.status(/checked/);
      await story.goTo(10, 6);
      const hover = await story.hover("A1");
      await hover.locator("img").first().waitFor();
      await page.waitForTimeout(500);
      return ".part.editor";
    });
    await take("problems", "Default High Contrast", "hc-black", { width: 1000, height: 700 }, async () => {
      await showProblems();
      await problem("G54.1 P19").waitFor();
      return ".part.panel";
    });
    await take("sidecar", "Default Light Modern", "vs", { width: 1010, height: 440 }, async () => {
      await story.openFile("plate.fixture.json");
      await story.goTo(40, 3);
      await hasLine("X -850 Y -385 Z -392");
      return ".part.editor";
    });
    setting({});
  }

  await chapter("german", async () => {
    await step("in German: caution, status, lenses, findings, hovers, proposals, commands and settings", async () => {
      // With a language pack the editor's own table of texts names its language. None can be fetched here, so that the
      // table is the English one under the German name: the editor's own texts stay English, the extension's must not.
      setting({});
      const page = await newWindow(() => {
        Object.defineProperty(globalThis, "_VSCODE_NLS_LANGUAGE", { value: "de", writable: false });
      });
      await open("demo/plate/lever-faulty.nc");
      await story.status(/plate\.fixture\.json: geprüft, \d+ Fehler, \d+ Warnung/);
      await hasLine("A3 damper lever op10");
      await page
        .locator(".codelens-decoration", { hasText: /mm zu|mm bis|keine Befunde/ })
        .first()
        .waitFor({ state: "attached" });
      await focusText();
      await story.goTo(87, 3);
      await page.keyboard.press("F8");
      await page.locator(".marker-widget", { hasText: "keine Station benutzt G54.1 P19" }).waitFor();
      await page.keyboard.press("Escape");
      await story.goTo(49, 3);
      await story.hover("gespannt");
      await story.leave();
      await story.shot("german");
      await page.keyboard.press("F1");
      await page.locator(".quick-input-list .monaco-list-row").first().waitFor();
      await page.keyboard.type("Jawline");
      for (const name of ["check", "openFixture", "createFixture", "openDemo"])
        await page
          .locator(".quick-input-list .monaco-list-row", { hasText: german[`command.${name}`] })
          .first()
          .waitFor();
      await page.keyboard.press("Escape");
      await page.keyboard.press("Control+,");
      await page.locator(".settings-editor .search-container .inputarea, .settings-editor .search-container textarea").first().waitFor();
      await page.keyboard.type("jawline.dialect");
      await page.locator('.settings-editor [data-key="jawline.dialect"]', { hasText: german["setting.dialect"] }).waitFor();
    });
  });

  await chapter("restricted", async () => {
    await step("in a folder that is not trusted the check works as in any other", async () => {
      const strange = copy("strange");
      fs.writeFileSync(path.join(strange, "demo/plate/wrong.nc"), wrong);
      restricted = await startServer({ extensionsDir, userDataDir: path.join(scratch, "user2"), settings: plain, trust: true });
      const page = await newWindow();
      await open("demo/plate/wrong.nc", restricted, strange);
      await page.locator(".monaco-dialog-box", { hasText: "trust the authors" }).getByRole("button", { name: /^No/ }).click();
      await page.locator(".statusbar-item", { hasText: "Restricted Mode" }).waitFor();
      await story.status(/plate\.fixture\.json: checked, 1 error/);
      await showProblems();
      await problem("no station uses G54.1 P21").waitFor();
      await story.shot("restricted");
      assert.deepEqual(manifest.capabilities.untrustedWorkspaces, { supported: true });
    });
  });
} finally {
  await browser.close();
  await server.stop();
  await restricted?.stop();
  fs.rmSync(scratch, { recursive: true, force: true, maxRetries: 5 });
}
story.end();
