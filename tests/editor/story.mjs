// What the stories told through the workbench's page share: steps that are counted, and a person's ways to point and type.
import * as path from "node:path";
import { fileURLToPath } from "node:url";

const here = path.dirname(fileURLToPath(import.meta.url));

/** Folder that pictures go to. */
export const shots = process.env.SHOTS ?? path.join(here, "shots");

/** The box over the list of problems in which it is narrowed down: the list is long, and only so much of it is drawn as is seen. */
export function problemsFilter(page) {
  return page.locator("input[placeholder^='Filter (e.g. text']").first();
}

/** A story of steps. The first failure ends it, since the later steps stand on it; a picture of the page is kept then. */
export class Story {
  passed = 0;
  failed = 0;
  page;
  #name;

  constructor(name) {
    this.#name = name;
  }

  async step(name, act) {
    if (this.failed > 0) return;
    try {
      await act();
      this.passed++;
      console.log(`  ✓ ${name}`);
    } catch (error) {
      this.failed++;
      console.error(`  ✗ ${name}\n${error instanceof Error ? error.stack : error}`);
      await this.page?.screenshot({ path: path.join(shots, `failed-${this.#name}.png`) }).catch(() => {});
    }
  }

  shot(name) {
    return this.page.screenshot({ path: path.join(shots, `${name}.png`) });
  }

  /** Says the counts, as the runner reads them, and sets the exit status. */
  end() {
    console.log(`${this.passed} passed, ${this.failed} failed`);
    process.exitCode = this.failed === 0 ? 0 : 1;
  }

  /** Runs a command by its name in the command palette, with the keyboard only. */
  async command(name) {
    await this.page.keyboard.press("F1");
    const box = this.page.locator(".quick-input-widget input[type=text], .quick-input-widget .input").first();
    await box.waitFor();
    await this.page.keyboard.type(name);
    await this.page
      .locator(".quick-input-list .monaco-list-row", { hasText: name.replace(/^[^:]*: /, "") })
      .first()
      .waitFor();
    await this.page.keyboard.press("Enter");
  }

  status(text) {
    return this.page.locator(".statusbar-item", { hasText: text }).first().waitFor();
  }

  /** The text editor on view; of two side by side the one that was used last. */
  get editor() {
    return this.page.locator(".editor-group-container.active .editor-instance .monaco-editor").first();
  }

  /** Opens a file of the workspace by its name, with the keyboard, and puts the keyboard into its text. */
  async openFile(name) {
    const { page } = this;
    await page.keyboard.press("Control+P");
    const box = page.locator(".quick-input-widget input[type=text], .quick-input-widget .input").first();
    await box.waitFor();
    await page.keyboard.type(name);
    // The list is sorted anew with each key: what counts is the row that Enter takes.
    await page.locator(".quick-input-list .monaco-list-row.focused", { hasText: name.replace(/^.*\//, "") }).waitFor();
    await page.keyboard.press("Enter");
    await page.locator(".tab.active", { hasText: name.replace(/^.*\//, "") }).waitFor();
    await page.locator(".editor-group-container.active .monaco-editor.focused").first().waitFor();
  }

  /** Goes to a line and column, both counted from 1 as the status bar counts them, with the keyboard. */
  async goTo(line, column = 1) {
    const { page } = this;
    await page.keyboard.press("Control+G");
    const box = page.locator(".quick-input-widget input[type=text], .quick-input-widget .input").first();
    await box.waitFor();
    await page.keyboard.type(`${line}:${column}`);
    await page.keyboard.press("Enter");
    await this.status(`Ln ${line}, Col ${column}`);
    await page.locator(".editor-group-container.active .monaco-editor.focused").first().waitFor();
  }

  /** The place on the page of the character right of the cursor. */
  async cursor() {
    const cursor = this.page.locator(".editor-group-container.active .monaco-editor.focused .cursors-layer .cursor").first();
    // A line that was just revealed is drawn a moment later; the cursor of one out of sight has no place.
    await cursor.waitFor();
    const box = await cursor.boundingBox();
    return { x: box.x + 4, y: box.y + box.height / 2 };
  }

  /** Rests the mouse on the character right of the cursor and waits for the hover that tells something about it. */
  async hover(text) {
    const { page } = this;
    const hover = page.locator(".monaco-hover:not(.hidden)", { hasText: text }).first();
    // Lines that move while the mouse rests (a lens comes) take a hover away: a person then points again.
    for (let again = 0; again < 5; again++) {
      const { x, y } = await this.cursor();
      await page.mouse.move(x + 80, y + 90);
      await page.mouse.move(x, y, { steps: 5 });
      const shown = await hover.waitFor({ timeout: 20_000 }).then(
        () => true,
        () => false,
      );
      if (shown) return hover;
    }
    throw new Error(`no hover tells ${text}`);
  }

  /** Takes hovers, lists and peeks away. */
  async leave() {
    await this.page.mouse.move(1000, 52);
    await this.page.keyboard.press("Escape");
    await this.page.locator(".monaco-hover:not(.hidden)").first().waitFor({ state: "hidden" });
  }

  /** The lines of the editor on view as they are seen, from top to bottom, with what is shown between the words. */
  lines() {
    return this.editor.evaluate((editor) =>
      [...editor.querySelectorAll(".view-lines .view-line")]
        .map((line) => ({ top: Number.parseFloat(line.style.top), text: (line.textContent ?? "").replace(/[\u00a0\u200a]/g, " ") }))
        .sort((a, b) => a.top - b.top)
        .map(({ text }) => text),
    );
  }

  /** Waits until something that is looked at on the page is so. `look` is called again and again. */
  async until(what, look, milliseconds = 60_000) {
    const end = Date.now() + milliseconds;
    for (;;) {
      const seen = await look();
      if (seen) return seen;
      if (Date.now() > end) throw new Error(`waited in vain for ${what}`);
      await this.page.waitForTimeout(60);
    }
  }
}
