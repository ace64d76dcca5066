// Every feature of the program's editor, as a person meets it: the installed .vsix in the real workbench, worked by keyboard and
// mouse, judged by what is seen on the page. One step for each feature; ends with "N passed, N failed".
// SHOTS=folder keeps screenshots.
import assert from "node:assert/strict";
import * as fs from "node:fs";
import * as os from "node:os";
import * as path from "node:path";
import { fileURLToPath } from "node:url";
import { problemsFilter, Story, shots } from "./story.mjs";
import { launchBrowser, serverCli, startServer, workbenchUrl } from "./workbench/host.mjs";

const root = path.resolve(path.dirname(fileURLToPath(import.meta.url)), "../..");
fs.mkdirSync(shots, { recursive: true });
const scratch = fs.mkdtempSync(path.join(os.tmpdir(), "jawline-program-"));
const extensionsDir = path.join(scratch, "extensions");
const folder = path.join(scratch, "shop");
const demo = (name) => path.join(root, "fixtures-config", name);
fs.cpSync(demo("elements"), path.join(folder, "elements"), { recursive: true });

/** Files of the folder by the name that the steps use; each editing step has a program of its own. */
const files = new Map();
function put(name, text) {
  files.set(path.basename(name), text);
  const file = path.join(folder, "jobs", name);
  fs.mkdirSync(path.dirname(file), { recursive: true });
  fs.writeFileSync(file, text);
}
const plate = fs.readFileSync(demo("demo/plate/plate.fixture.json"), "utf8");
put("front/front.fixture.json", plate.replace("plate.offsets.nc", "front.offsets.nc"));
put("front/front.offsets.nc", fs.readFileSync(demo("demo/plate/plate.offsets.nc"), "utf8"));
// Two groups of stations that ask for the same registers.
put(
  "shared/shared.fixture.json",
  plate.replace("plate.offsets.nc", "../front/front.offsets.nc").replace('"offset": "G54.1 P7"', '"offset": "G54.1 P6"'),
);

const spot = `O3130 (SPOT TWO HOLES)
G90 G00 X-12. Y0.
G98 G81 Z[-#101] R3. F380.
X-48.
G80
M99`;
const head = `(FIXTURE: front.fixture.json)
G21 G17 G40 G49 G80 G90
G91 G28 Z0. (SPINDLE UP)
G28 X0. Y0.
G90
#101=3.8 (DEPTH OF THE SPOT)`;
put(
  "front/front.nc",
  `%
O3000 (LEVERS, FRONT ROW)
${head}
N100 T1 M06 (FACE MILL 50)
G90 G17 G40 G80 S4200 M03
#1=1
G00 G54.1 P1 X35. Y0.
G43 H1 Z50. M08
WHILE [#1 LE 6] DO1
G54.1 P#1
M98 P5110
#1=#1+1
END1
M09
G91 G28 Z0. M05
G90
N200 T3 M06 (SPOT DRILL 10)
G90 G17 G40 G80 S3800 M03
G00 G54.1 P1 X-12. Y0.
G43 H3 Z50. M08
M98 P3130
G54.1 P2
M98 P3130
G54.1 P3
M98 P3130
G54.1 P4
M98 P3130
G54.1 P5
M98 P3130
G54.1 P6
M98 P3130
M09
G91 G28 Z0. M05
G90
IF [#101 GT 3.] GOTO 900
G65 P5200 A1. B2.
N900 G53 G00 Y0. (TABLE FORWARD)
M30

${spot}
%
`,
);
put(
  "front/O5110.nc",
  `%
O5110 (FACE)
G90 G00 X35. Y0.
Z3.
G01 Z0. F1200.
X-95. F1800.
G00 Z50.
M99
%
`,
);
put("front/O5200.nc", "%\nO5200 (LOOK UP)\n#102=#1+#2+#101\nM99\n%\n");
const oneVisit = `N200 T3 M06 (SPOT DRILL 10)
G90 G17 G40 G80 S3800 M03
G00 G54.1 P1 X-12. Y0.
G43 H3 Z50. M08
M98 P3130
M09
G91 G28 Z0. M05
G90
G53 G00 Y0.
M30

${spot}
%
`;
put("front/typing.nc", `%\nO3100 (TYPING)\n${head}\n${oneVisit}`);
// Numbers of its own, so that a new name meets no other program of the folder.
put(
  "names/names.nc",
  `%
O4000 (NAMES)
#110=2.
IF [#110 GT 1.] GOTO 50
M98 P4100
N50 G65 P4200 A1.
M30

O4100 (COUNT)
#111=#110+1
M99
%
`,
);
put("names/O4200.nc", "%\nO4200 (ALSO)\nM98 P4100\n#112=#110\nM99\n%\n");
put("front/tidy.nc", `%\nO3200 (TIDY)\n${head}\n${oneVisit.replace("G43 H3 Z50.", "G43H3   Z50.").replace("M09\n", "  M09\n")}`);
put(
  "front/slips.nc",
  `%
O3001 (LEVERS WITH SLIPS)
${head}
N100 T3 M06 (SPOT DRILL 10)
G90 G17 G40 G80 S3800 M03
G00 G54.1 P1 X-12. Y0.
G43 H3 Z50. M08
M98 P3130
G54.1 P2 (ALLOW clamp-near: seen and measured)
M98 P3130
G54.1 P13
M98 P3130
G54.1 P4
M98 P3130
M09
G91 G28 Z0. M05
G90
N200 T4 M06 (DRILL 6.8)
G90 G17 G40 G80 S3600 M03
G00 X-12. Y0.
G43 H5 Z50. M08
M98 P3140
G54.1 P2
M98 P3140
G54.1 P1
M98 P3140
M98 P3141
M09
G91 G28 Z0. M05
G90
G53 G00 Y0.
M30

${spot}

O3140 (DRILL TWO HOLES)
G90 G00 X-12. Y0.
G98 G83 Z-59. R3. Q8. F540.
X-48.
G80
M99
%
`,
);

/** Line (from 1) of the nth line with a text in a file as it was written. */
function row(name, part, nth = 0) {
  const found = (files.get(name) ?? "").split("\n").flatMap((line, at) => (line.includes(part) ? [at + 1] : []));
  assert.ok(found[nth] !== undefined, `${part} in ${name}`);
  return found[nth];
}

const story = new Story("program");
const step = story.step.bind(story);
const vsix = path.join(root, "dist/jawline.vsix");
const installed = await serverCli(["--install-extension", vsix, "--extensions-dir", extensionsDir]);
await step("the .vsix installs", () => assert.equal(installed.code, 0, installed.out));
const server = await startServer({
  extensionsDir,
  userDataDir: path.join(scratch, "user"),
  settings: { "workbench.colorTheme": "Default Light Modern", "editor.formatOnType": true },
});
const browser = await launchBrowser();

/** Settings of the workspace, as a person keeps them beside the programs; the workbench takes them at once. */
function settings(values) {
  fs.mkdirSync(path.join(folder, ".vscode"), { recursive: true });
  fs.writeFileSync(path.join(folder, ".vscode/settings.json"), JSON.stringify(values));
}

try {
  story.page = await (await browser.newContext({ viewport: { width: 1360, height: 900 } })).newPage();
  story.page.setDefaultTimeout(120_000);
  const { page } = story;
  const name = (file) => path.join(folder, "jobs", file);
  const checked = () => story.status(/\.fixture\.json: checked/);
  /** Opens a program and goes to a place in a line, `inside` characters behind the start of the text. */
  const at = async (file, part, inside = 0, nth = 0) => {
    const line = row(file, part, nth);
    const column = files.get(file).split("\n")[line - 1].indexOf(part) + 1 + inside;
    if ((await page.locator(".tab.active", { hasText: file }).count()) === 0) await story.openFile(file);
    await story.goTo(line, column);
  };
  const lensText = () => page.locator(".codelens-decoration").allInnerTexts();
  const hintText = async () => (await story.lines()).join("\n");
  const position = (text) => story.status(text);
  const tab = (file) => page.locator(".tab.active", { hasText: file }).first().waitFor();

  await page.goto(
    workbenchUrl(server, {
      folder,
      payload: [
        ["openFile", server.uri(name("front/front.nc"))],
        ["skipWelcome", "true"],
      ],
    }),
  );
  await page.locator(".monaco-workbench").waitFor();

  await step("a program with loops, calls into files and a sidecar named in it is checked, with nothing found", async () => {
    await page.locator(".notification-toast", { hasText: "review aid" }).getByRole("button", { name: "Understood" }).click();
    await checked();
    assert.equal(await page.locator(".monaco-editor .squiggly-error, .monaco-editor .squiggly-warning").count(), 0);
  });

  await step("hover of an offset: the card of its station with the plan, drawn, and in words for who cannot see it", async () => {
    await at("front.nc", "G54.1 P2", 2);
    const hover = await story.hover("damper lever");
    const text = await hover.innerText();
    for (const word of ["A2", "op10", "L-207", "notch 8", "computed", "stored", "T3 spot drill 10"])
      assert.ok(text.includes(word), `${word} in: ${text}`);
    const plan = hover.locator("img").first();
    await plan.scrollIntoViewIfNeeded();
    const drawn = await plan.evaluate((img) => ({
      width: img.naturalWidth,
      height: img.naturalHeight,
      done: img.complete,
      seen: img.getBoundingClientRect().width,
      alt: img.alt,
      source: decodeURIComponent(escape(atob(img.src.split(",")[1] ?? ""))),
    }));
    assert.ok(drawn.done && drawn.width > 100 && drawn.height > 50 && drawn.seen > 100, JSON.stringify(drawn));
    assert.match(drawn.alt, /A2 is marked, at column 4, row 1/);
    assert.match(drawn.source, /font-weight="bold"[^>]*>A2</);
    await story.shot("hover-plan-light");
    await story.leave();
  });

  await step("hovers of an axis word, a tool, codes, a register, a call, an offset in a loop and a variable", async () => {
    // Part zero of A1 as stored, X-849.998 Y-385.002; Z50 and the length 110 of T3 below the spindle: -391.996 + 50 + 110.
    for (const [part, inside, words, nth] of [
      ["H3 Z50.", 4, ["rapid at A1 with T3", "-861.998", "-341.996", "-231.996", "Nothing nearer than"]],
      ["T3 M06", 1, ["spot drill 10", "cutting diameter", "Visits A1, A2, A3"]],
      ["M06", 1, ["Tool change"]],
      ["G00 G54.1", 1, ["Rapid positioning"]],
      ["G91 G28", 1, ["Incremental distances", "Dialects differ"]],
      ["H3 Z50.", 1, ["tool length register of T3 spot drill 10", "110 mm"]],
      ["M98 P5110", 5, ["O5110", "FACE", "O5110.nc", "6 times"]],
      ["G54.1 P#1", 2, ["selects 6 work offsets", "A1", "A6"]],
      ["#1=#1+1", 1, ["#1 = 2, 3, 4, 5, 6, 7"]],
      ["Z[-#101]", 4, ["#101 = 3.8"]],
    ]) {
      await at("front.nc", part, inside, nth);
      const hover = await story.hover(words[0]);
      const text = await hover.innerText();
      for (const word of words) assert.ok(text.includes(word), `${word} in the hover of ${part}: ${text}`);
      await story.leave();
    }
  });

  await step("completion: each list with what is chosen by beside every row, its longer text, and one taken with Tab", async () => {
    const list = page.locator(".suggest-widget.visible");
    const rows = async () => (await list.locator(".monaco-list-row").allInnerTexts()).map((r) => r.replace(/\s+/g, " "));
    const offered = async (typed, words) => {
      await at("typing.nc", "G43 H3 Z50.", "G43 H3 Z50. M08".length);
      await page.keyboard.press("Enter");
      // As a person writes: the list of the word before is gone when the next word begins.
      const word = typed.lastIndexOf(" ") + 1;
      await page.keyboard.type(typed.slice(0, word), { delay: 25 });
      await list.waitFor({ state: "hidden" });
      await page.keyboard.type(typed.slice(word), { delay: 25 });
      const offers = (milliseconds) =>
        story.until(
          `proposals behind "${typed}"`,
          async () => {
            const found = await rows();
            return words.every((w) => found.some((r) => r.includes(w))) ? found : undefined;
          },
          milliseconds,
        );
      // Where keys come faster than a busy workbench draws, it may drop the list; a person then asks for it.
      const seen = await offers(15_000).catch(async () => {
        await page.keyboard.press("Escape");
        await page.keyboard.press("Control+Space");
        return offers(60_000);
      });
      return seen;
    };
    const away = async () => {
      await page.keyboard.press("Escape");
      await list.waitFor({ state: "hidden" });
      await page.keyboard.press("Control+Shift+K");
      await page.keyboard.press("ArrowUp");
    };
    const offsets = await offered("G54.1 P", ["P1 A1 damper lever op10", "P8 B2 damper lever op20"]);
    assert.ok(offsets.length >= 10, offsets.join(" | "));
    // The longer text opens beside the list.
    await page.keyboard.press("Control+Space");
    const longer = page.locator(".suggest-details-container .suggest-details");
    await longer.waitFor();
    assert.match(await longer.innerText(), /Part zero at X/);
    await story.shot("completion-light");
    await page.keyboard.press("Control+Space");
    await longer.waitFor({ state: "hidden" });
    await page.keyboard.type("8");
    await story.until("P8 alone", async () => /^(?:G54\.1 )?P8 B2 damper lever op20$/.test((await rows()).join()));
    await page.keyboard.press("Tab");
    await list.waitFor({ state: "hidden" });
    await story.until("the offset with its station", async () => (await hintText()).includes("G54.1 P8"));
    await away();
    await offered("T", ["T2 end mill 16, diameter 16 mm", "T4 drill 6.8, diameter 6.8 mm"]);
    await away();
    assert.ok((await offered("G8", ["G83 Cycle: deep hole"])).every((r) => /^G8/.test(r)));
    await away();
    assert.match((await offered("G43 H", ["H3 T3 spot drill 10, 110 mm"]))[0], /^H3 /);
    await away();
    assert.match((await offered("G41 D", ["D3 T3 spot drill 10"]))[0], /^D3 /);
    await away();
    await offered("M98 P", ["P5110 FACE (O5110.nc)", "P3130 SPOT TWO HOLES"]);
    await away();
    await offered("G01 X[#", ["#101 "]);
    await away();
    await offered("M3", ["M03 ", "M30 "]);
    // Enter ends the block as it stands; it puts no proposal into it.
    await page.keyboard.press("Enter");
    await list.waitFor({ state: "hidden" });
    assert.ok(
      (await story.lines()).some((l) => l.trim() === "M3"),
      (await story.lines()).join("|"),
    );
    await page.keyboard.press("Backspace");
    await away();
    await at("typing.nc", "G43 H3 Z50.", "G43 H3 Z50. M08".length);
    await page.keyboard.press("Enter");
    await page.keyboard.type("G83 ", { delay: 25 });
    await page.keyboard.press("Escape");
    await page.keyboard.press("Control+Space");
    await story.until("the words of the cycle", async () => (await rows()).some((r) => /^Q G83: depth of one step/.test(r)));
    assert.deepEqual(
      (await rows()).slice(0, 5).map((r) => r[0]),
      ["X", "Y", "Z", "R", "Q"],
    );
    await away();
  });

  await step("help while a cycle, a G10 and a macro call are written: the words, and what the one at hand means", async () => {
    const help = page.locator(".parameter-hints-widget.visible");
    for (const [typed, label, active, meaning] of [
      ["G98 G83 Z-3. R2. Q", "G83 X Y Z R Q F", "Q", "depth of one step"],
      ["G10 L20 P4 Y", "G10 L P X Y Z", "Y", "its Y"],
      ["G65 P5200 A", "G65 P L A B", "A", "#1"],
    ]) {
      await at("typing.nc", "G43 H3 Z50.", "G43 H3 Z50. M08".length);
      await page.keyboard.press("Enter");
      await page.keyboard.type(typed, { delay: 25 });
      await help.filter({ hasText: label }).filter({ hasText: meaning }).first().waitFor();
      assert.equal((await help.locator(".parameter.active").innerText()).trim(), active);
      if (active === "Q") await story.shot("signature-light");
      await page.keyboard.press("Escape");
      await page.keyboard.press("Escape");
      await help.waitFor({ state: "hidden" });
      await page.keyboard.press("Control+Shift+K");
    }
  });

  await step("hints: station behind an offset, machine Z behind a retract, value of an expression; each switched off", async () => {
    await at("front.nc", "#101=3.8");
    const offset = "G54.1 P#1 A1, A2 … A6 damper lever op10";
    const z = "G91 G28 Z0. machine Z 0";
    const value = "#1=#1+1 = 2, 3, 4 …";
    const shown = async () => {
      const text = await hintText();
      return { offsets: text.includes(offset), machineZ: text.includes(z), values: text.includes(value) };
    };
    await story.until("all hints", async () => Object.values(await shown()).every(Boolean));
    for (const kind of ["offsets", "machineZ", "values"]) {
      settings({ [`jawline.inlayHints.${kind}`]: false });
      await story.until(`hints without ${kind}`, async () => Object.entries(await shown()).every(([k, on]) => on === (k !== kind)));
    }
    settings({});
    await story.until("all hints again", async () => Object.values(await shown()).every(Boolean));
  });

  await step("lenses above a tool and a visit; the one that counts findings leads to them; switched off", async () => {
    await at("slips.nc", "G54.1 P13");
    const own = () => page.locator(".codelens-decoration", { hasText: "G54.1 P13 · " }).first();
    await own().waitFor();
    const texts = await lensText();
    assert.ok(
      texts.some((t) => /^T3 spot drill 10 · 4 visits · [\d.]+ s$/.test(t)),
      texts.join(" | "),
    );
    assert.ok(
      texts.some((t) => /^A1 · damper lever op10 · [\d.]+ s · [\d.]+ mm to fixed jaw · no findings$/.test(t)),
      texts.join(" | "),
    );
    await story.shot("lenses-light");
    await own().locator("a").click();
    const peek = page.locator(".peekview-widget");
    await peek.locator(".monaco-list-row", { hasText: "G54.1 P13" }).first().waitFor();
    await page.keyboard.press("Escape");
    await peek.waitFor({ state: "hidden" });
    settings({ "jawline.codeLens.visits": false });
    await own().waitFor({ state: "hidden" });
    assert.ok((await lensText()).some((t) => t.startsWith("T3 spot drill 10")));
    settings({ "jawline.codeLens.visits": false, "jawline.codeLens.tools": false });
    await page.locator(".codelens-decoration", { hasText: "T3 spot drill" }).waitFor({ state: "hidden" });
    settings({});
    await own().waitFor();
  });

  await step("symbols of the program as a tree of tools and visits, and of all programs and sidecars by name", async () => {
    await at("front.nc", "#101=3.8");
    const list = page.locator(".quick-input-list .monaco-list-row");
    await page.keyboard.press("Control+Shift+O");
    await list.filter({ hasText: "T3 spot drill 10" }).first().waitFor();
    const names = (await list.allInnerTexts()).map((t) => t.replace(/\s+/g, " ").trim());
    for (const name of ["O3000", "T1 face mill 50", "A3 lever op10", "O3130"])
      assert.ok(
        names.some((n) => n.startsWith(name)),
        `${name} in ${names.join(" | ")}`,
      );
    await page.keyboard.type("A3");
    await page.locator(".quick-input-list .monaco-list-row.focused", { hasText: "A3 lever op10" }).first().waitFor();
    await page.keyboard.press("Enter");
    // In the list the visit in the loop comes first.
    await position(`Ln ${row("front.nc", "G54.1 P#1")}, `);
    for (const [typed, found, file] of [
      ["SPOT TWO", "O3130 SPOT TWO HOLES", "front.nc"],
      ["face mill 50", "T1 face mill 50", "front.nc"],
      ["A2 spot drill", "A2 damper lever op10, T3 spot drill 10", "front.nc"],
      ["B2 damper", "B2 damper lever op20, G54.1 P8", "front.fixture.json"],
    ]) {
      await page.keyboard.press("Control+T");
      await page.locator(".quick-input-widget .input").first().waitFor();
      await page.keyboard.type(typed);
      await list.filter({ hasText: found }).filter({ hasText: file }).first().waitFor();
      if (file.endsWith(".nc")) await page.keyboard.press("Escape");
    }
    // The last of them is gone to.
    await page.locator(".quick-input-list .monaco-list-row.focused", { hasText: "B2 damper lever op20" }).waitFor();
    await page.keyboard.press("Enter");
    await tab("front.fixture.json");
  });

  await step("folding by tool, visit, loop and subprogram", async () => {
    const numbers = async () => new Set((await story.editor.locator(".margin .line-numbers").allInnerTexts()).map(Number));
    for (const [part, hidden, kept] of [
      ["N100 T1", "#1=1", "N200 T3"],
      ["G54.1 P2", "M98 P3130", "G54.1 P3"],
      ["WHILE", "#1=#1+1", "M09"],
      ["O3130 (SPOT", "X-48.", undefined],
    ]) {
      await at("front.nc", part);
      const inner = part === "G54.1 P2" ? row("front.nc", part) + 1 : row("front.nc", hidden);
      await story.until(`line ${inner}`, async () => (await numbers()).has(inner));
      await page.keyboard.press("Control+Shift+BracketLeft");
      await story.until(`line ${inner} folded away below ${part}`, async () => !(await numbers()).has(inner));
      const seen = await numbers();
      assert.ok(seen.has(row("front.nc", part)));
      if (kept !== undefined) assert.ok(seen.has(row("front.nc", kept)), `${kept} stays when ${part} is folded`);
      await page.keyboard.press("Control+Shift+BracketRight");
      await story.until(`line ${inner} back`, async () => (await numbers()).has(inner));
    }
  });

  await step("a selection grows from the word to the block, the visit, the tool, the program and the file", async () => {
    await at("front.nc", "G54.1 P2", 7);
    const lines = files.get("front.nc").split("\n");
    const between = (from, to) => lines.slice(from - 1, to).join("\n").length;
    const visit = row("front.nc", "G54.1 P2");
    // What the status bar has to count, by hand from the text.
    const wanted = [
      2,
      "G54.1 P2".length,
      between(visit, visit + 1),
      between(row("front.nc", "N200"), row("front.nc", "N900")),
      between(2, row("front.nc", "M30")),
      files.get("front.nc").length,
    ];
    const seen = [];
    for (let presses = 0; presses < 10 && seen.at(-1) !== wanted.at(-1); presses++) {
      await page.keyboard.press("Shift+Alt+ArrowRight");
      const before = seen.at(-1) ?? 0;
      const now = await story.until("a larger selection", async () => {
        const text = await page.locator(".statusbar-item", { hasText: /^Ln / }).innerText();
        const count = Number(/\((\d+) selected\)/.exec(text)?.[1] ?? 0);
        return count > before ? count : undefined;
      });
      seen.push(now);
    }
    for (const count of wanted) assert.ok(seen.includes(count), `${count} selected, in ${seen.join(", ")}`);
    await page.keyboard.press("Escape");
  });

  await step("a rapid, a cut, a cycle and an offset have colours of their own, light, dark and in high contrast", async () => {
    await at("front.nc", "#101=3.8");
    for (const [theme, shade] of [
      ["Default Light Modern", "vs"],
      ["Default Dark Modern", "vs-dark"],
      ["Default High Contrast", "hc-black"],
    ]) {
      settings({ "workbench.colorTheme": theme });
      await page.locator(`.monaco-workbench.${shade}`).waitFor();
      const colour = (line, word) =>
        story.editor.evaluate(
          (editor, [text, part]) => {
            const flat = (e) => (e.textContent ?? "").replace(/[\u00a0\u200a]/g, " ");
            const row = [...editor.querySelectorAll(".view-lines .view-line")].find((l) => flat(l).startsWith(text));
            const span = [...(row?.querySelectorAll("span span") ?? [])].find(
              (s) => flat(s).trim() !== "" && part.startsWith(flat(s).trim()),
            );
            return span === undefined ? undefined : getComputedStyle(span).color;
          },
          [line, word],
        );
      // The colours of the theme before and of the grammar come first, those of the motion with the check: both files are
      // looked at again until the four differ.
      let found = [];
      for (let again = 0; again < 12 && new Set(found).size < 4; again++) {
        found = [];
        for (const [file, ...places] of [
          ["O5110.nc", "Z3.", "X-95."],
          ["front.nc", "X-48.", "G54.1 P6"],
        ]) {
          await at(file, places[0]);
          const own = await story.until(`${places.join(" and ")} on view`, async () => {
            const now = [];
            for (const place of places) now.push(await colour(place, place.split(" ")[0]));
            return now.includes(undefined) ? undefined : now;
          });
          found.push(...own);
        }
      }
      // A rapid, a cut, a cycle, an offset.
      assert.equal(new Set(found).size, 4, `${theme}: ${JSON.stringify(found)}`);
      await at("front.nc", "#101=3.8");
      await story.shot(`colours-${shade}`);
      await at("front.nc", "G54.1 P2", 2);
      await (await story.hover("damper lever")).locator("img").first().scrollIntoViewIfNeeded();
      await story.shot(`hover-plan-${shade}`);
      await story.leave();
    }
    settings({});
    await page.locator(".monaco-workbench.vs").waitFor();
  });

  await step("the same offset, tool, register, label, program and variable are marked wherever they stand on view", async () => {
    for (const [part, inside, count, nth] of [
      ["G54.1 P1", 2, 2],
      ["T3 M06", 1, 1],
      ["GOTO 900", 6, 2],
      ["M98 P3130", 6, 6],
      ["#101 GT", 2, 2],
    ]) {
      await at("front.nc", part, inside, nth);
      await story.until(
        `${count} marks of ${part}`,
        async () => (await story.editor.locator(".wordHighlight, .wordHighlightStrong").count()) >= count,
      );
    }
  });

  await step("definitions: from an offset, a tool, a call into this and another file, a jump and a variable", async () => {
    const lines = (file) => fs.readFileSync(path.join(folder, file), "utf8").split("\n");
    const sidecar = lines("jobs/front/front.fixture.json").findIndex((l) => l.includes('"id": "A"')) + 1;
    const tool = lines("elements/tools.elements.json").findIndex((l) => l.includes('"3":')) + 1;
    for (const [part, inside, file, line] of [
      ["G54.1 P2", 2, "front.fixture.json", sidecar],
      ["T3 M06", 1, "tools.elements.json", tool],
      ["M98 P5110", 6, "O5110.nc", 2],
      ["M98 P3130", 6, "front.nc", row("front.nc", "O3130")],
      ["GOTO 900", 6, "front.nc", row("front.nc", "N900")],
      ["Z[-#101]", 5, "front.nc", row("front.nc", "#101=3.8")],
    ]) {
      await at("front.nc", part, inside);
      await page.keyboard.press("F12");
      await tab(file);
      await position(`Ln ${line}, `);
    }
  });

  await step("references of an offset are listed in a peek, over programs, offset file and sidecar", async () => {
    await at("front.nc", "G54.1 P2", 2);
    await page.keyboard.press("Shift+F12");
    const peek = page.locator(".peekview-widget");
    for (const file of ["front.nc", "front.fixture.json", "front.offsets.nc", "slips.nc"])
      await peek.locator(".ref-tree .monaco-list-row", { hasText: file }).first().waitFor();
    await story.shot("references-light");
    await page.keyboard.press("Escape");
    await peek.waitFor({ state: "hidden" });
  });

  await step("a variable, a label and a program get a new name in all files at once; what cannot be is refused with words", async () => {
    // The box is there a moment before it takes the keys.
    const box = page.locator(".rename-box input:focus").first();
    for (const [part, inside, old, fresh, mine, other] of [
      ["#110=2.", 2, "110", "115", ["#115=2.", "IF [#115 GT 1.] GOTO 50", "#111=#115+1"], "#112=#115"],
      ["N50 G65", 1, "50", "60", ["GOTO 60", "N60 G65"], undefined],
      ["O4100 (COUNT)", 2, "4100", "4150", ["M98 P4150", "O4150 (COUNT)"], "M98 P4150"],
    ]) {
      await at("names.nc", part, inside);
      await page.keyboard.press("F2");
      await box.waitFor();
      assert.equal(await box.inputValue(), old);
      await page.keyboard.type(fresh);
      await page.keyboard.press("Enter");
      await story.until(`${fresh} in names.nc`, async () => {
        const text = (await story.lines()).join("\n");
        return mine.every((m) => text.includes(m));
      });
      if (other !== undefined) {
        await story.openFile("O4200.nc");
        await story.until(`${fresh} in O4200.nc`, async () => (await story.lines()).join("\n").includes(other));
        await story.openFile("names.nc");
      }
    }
    await at("front.nc", "M98 P5110", 6);
    await page.keyboard.press("F2");
    await page.locator(".monaco-editor-overlaymessage", { hasText: "rename the file together with the number" }).waitFor();
    await page.keyboard.press("Escape");
  });

  await step("the calls of a program as a hierarchy, both ways", async () => {
    await at("front.nc", "M98 P5110", 6);
    await page.keyboard.press("Shift+Alt+KeyH");
    const tree = page.locator(".call-hierarchy-tree, .composite.viewlet, .sidebar").first();
    await tree.locator(".monaco-list-row", { hasText: "O5110" }).first().waitFor();
    await tree.locator(".monaco-list-row", { hasText: "O3000" }).first().waitFor();
    await story.shot("calls-light");
    await page.keyboard.press("Control+Shift+KeyE");
    await page.locator(".explorer-folders-view").waitFor();
  });

  await step("links: the comment that names the sidecar and a call into another file open them", async () => {
    for (const [part, inside, file] of [
      ["front.fixture.json)", 3, "front.fixture.json"],
      ["M98 P5110", 6, "O5110.nc"],
    ]) {
      await at("front.nc", part, inside);
      const { x, y } = await story.cursor();
      await page.mouse.move(x - 60, y + 90);
      await page.keyboard.down("Control");
      await page.mouse.move(x, y, { steps: 4 });
      await story.editor.locator(".detected-link-active").first().waitFor();
      await page.mouse.click(x, y);
      await page.keyboard.up("Control");
      await tab(file);
    }
  });

  await step(
    "formatting: not offered unless wanted; then the line just left, a selection, the document; refused with the reason",
    async () => {
      const dialog = page.locator(".monaco-dialog-box");
      await at("tidy.nc", "G43H3");
      await story.command("Format Document");
      await dialog.filter({ hasText: "no formatter" }).waitFor();
      await page.keyboard.press("Escape");
      await dialog.waitFor({ state: "hidden" });
      settings({ "jawline.format.enable": true });
      const has = async (...texts) => {
        const lines = await story.lines();
        return texts.every((t) => lines.includes(t));
      };
      // The line that Enter leaves.
      await at("tidy.nc", "G43H3", "G43H3   Z50. M08".length);
      await story.until("the line tidied when it is left", async () => {
        await page.keyboard.press("Enter");
        const done = await story
          .until("tidied", () => has("G43 H3 Z50. M08"), 4000)
          .then(() => true)
          .catch(() => false);
        if (!done) await page.keyboard.press("Backspace");
        return done;
      });
      await page.keyboard.press("Backspace");
      // A selection: the one line with white space before it.
      await page.keyboard.press("Home");
      await page.keyboard.type("  ");
      await page.keyboard.press("Shift+End");
      await story.command("Format Selection");
      await story.until("the selection tidied", () => has("G43 H3 Z50. M08", "  M09"));
      await story.command("Format Document");
      await story.until("the document tidied", () => has("G43 H3 Z50. M08", "M09"));
      // A jump whose target is computed cannot follow new numbers.
      settings({ "jawline.format.enable": true, "jawline.format.numbers": "renumber" });
      await at("tidy.nc", "G53 G00 Y0.");
      await page.keyboard.type("GOTO [100+100]");
      await page.keyboard.press("Escape");
      await page.keyboard.press("Enter");
      const toast = page.locator(".notification-toast", { hasText: "Not formatted: The jump in line" });
      await story.until("the refusal", async () => {
        await story.command("Format Document");
        return toast
          .first()
          .waitFor({ timeout: 8000 })
          .then(
            () => true,
            () => false,
          );
      });
      // A sentence for a person, with no name of a request around it.
      assert.doesNotMatch(await toast.first().innerText(), /textDocument|Code:/);
      await story.shot("format-refused-light");
      await story.command("Notifications: Clear All Notifications");
      settings({});
    },
  );

  await step("findings of a program: where else they are, listed below each and at the place, and what is needless is faded", async () => {
    await at("slips.nc", "G54.1 P13");
    await story.status(/checked, 4 errors/);
    assert.ok((await story.editor.locator(".squiggly-error").count()) > 0);
    assert.ok((await story.editor.locator(".squiggly-unnecessary, .inline-unnecessary, [class*=unnecessary]").count()) > 0);
    await page.keyboard.press("Control+Shift+M");
    const rows = page.locator(".markers-panel .monaco-list-row");
    const found = rows.filter({ hasText: "into the base" }).first();
    await found.waitFor();
    await found.click();
    await page.keyboard.press("ArrowRight");
    const also = rows.filter({ hasText: "also at A1" }).first();
    await also.waitFor();
    await story.shot("problems-related-light");
    await also.dblclick();
    await position(`Ln ${row("slips.nc", "M98 P3140", 2)}, `);
    // The next problem of the file, told in place.
    await at("slips.nc", "G00 X-12. Y0.", 0, 0);
    await page.keyboard.press("F8");
    const told = page.locator(".marker-widget", { hasText: "G54.1 P4 was selected here" });
    await told.waitFor();
    await story.shot("problem-in-place-light");
    await page.keyboard.press("Escape");
  });

  await step("the name of a finding's rule leads to its page", async () => {
    await at("slips.nc", "G54.1 P13", 2);
    const hover = await story.hover("no station uses");
    await hover.locator("a", { hasText: "offset-unmapped" }).click();
    await page.locator(".tab.active", { hasText: "Preview offset-unmapped.md" }).waitFor();
    // As it is meant to be read, not the text that it is made from.
    const shown = page.frameLocator("iframe.webview").frameLocator("#active-frame");
    await shown.locator("h1", { hasText: "offset-unmapped" }).waitFor();
    await story.shot("rule-page-light");
  });

  await step("findings of a sidecar name the other place too", async () => {
    await story.openFile("shared.fixture.json");
    const rows = page.locator(".markers-panel .monaco-list-row");
    if ((await page.locator(".markers-panel").count()) === 0) await page.keyboard.press("Control+Shift+M");
    // The list of the program would hide the row that is looked for.
    await problemsFilter(page).fill("fixture-register-shared");
    const found = rows.filter({ hasText: "fixture-register-shared" }).first();
    await found.waitFor();
    await found.click();
    await page.keyboard.press("ArrowRight");
    const other = rows.filter({ hasText: /^shared\.fixture\.json\[Ln \d+, Col \d+\]/ }).first();
    await other.waitFor();
    const line = /\[Ln (\d+),/.exec(await other.innerText())?.[1];
    await other.dblclick();
    await tab("shared.fixture.json");
    await position(`Ln ${line}, `);
    await story.shot("sidecar-problem-light");
  });

  await step(
    "a fix that moves the machine says where to, and is taken alone; a reason allows a finding; all that moves nothing at once",
    async () => {
      const menu = page.locator(".action-widget");
      /** Opens the list of fixes at a place; `take` chooses one with the keyboard. */
      const fixes = async (part, inside, first) => {
        await at("slips.nc", part, inside);
        await story.until(`the fix "${first}"`, async () => {
          await page.keyboard.press("Control+Period");
          const there = await menu
            .locator(".monaco-list-row", { hasText: first })
            .first()
            .waitFor({ timeout: 8000 })
            .then(
              () => true,
              () => false,
            );
          if (!there) await page.keyboard.press("Escape");
          return there;
        });
        return (await menu.locator(".monaco-list-row").allInnerTexts()).map((t) => t.trim());
      };
      const take = async (title) => {
        const wanted = menu.locator(".monaco-list-row.focused", { hasText: title });
        await story.until(`${title} chosen`, async () => {
          if ((await wanted.count()) > 0) return true;
          await page.keyboard.press("ArrowDown");
          return false;
        });
        await page.keyboard.press("Enter");
        await menu.waitFor({ state: "hidden" });
      };
      // Tool 4 is 140 long, tool 5 115: with H4 the spindle is 25 higher. -391.998 + 50 is the tip under A4 as stored.
      const titles = await fixes("H5 Z50.", 1, "H4");
      assert.ok(
        titles.some((t) => /write H4 \(line \d+: Z -366\.998 → -341\.998\)/.test(t)),
        titles.join(" | "),
      );
      await story.shot("fixes-light");
      await take("write H4");
      await story.until("H4 written", async () => (await story.lines()).includes("G43 H4 Z50. M08"));
      await page.keyboard.press("Control+Z");
      await story.until("taken back", async () => (await story.lines()).includes("G43 H5 Z50. M08"));
      assert.ok(
        (await fixes("G00 X-12. Y0.", 2, "changes no motion")).some((t) => /select G54\.1 P4 again, which changes no motion/.test(t)),
      );
      await page.keyboard.press("Escape");
      await fixes("M98 P3141", 6, "Allow call-target here, with a reason");
      await take("Allow call-target here");
      await position("(6 selected)");
      await page.keyboard.type("kept in the control");
      await story.until("the reason written", async () =>
        (await story.lines()).includes("M98 P3141 (ALLOW call-target: kept in the control)"),
      );
      await story.status(/checked, 3 errors/);
      await story.command("Fix All");
      await story.until("all that changes no motion", async () => {
        const lines = (await story.lines()).map((l) => l.replace(/ A\d damper lever op10 ?/, "").trimEnd());
        return lines.includes("G54.1 P2") && lines.join("\n").includes("G54.1 P4\nG00 X-12. Y0.");
      });
      // What would move the machine stays for the person to decide.
      const after = (await story.lines()).join("\n");
      assert.ok(after.includes("G43 H5 Z50. M08"));
      await story.goTo(row("slips.nc", "G54.1 P13"));
      await story.until("the wrong offset, as it was", async () => (await story.lines()).includes("G54.1 P13"));
    },
  );
} finally {
  await browser.close();
  await server.stop();
  fs.rmSync(scratch, { recursive: true, force: true, maxRetries: 5 });
}
story.end();
