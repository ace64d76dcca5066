// What the stories told through the workbench's page share: steps that are counted, and a person's ways to point and type.
import * as path from "node:path";
import { fileURLToPath } from "node:url";

const here = path.dirname(fileURLToPath(import.meta.url));

/** Folder that pictures go to. */
export const shots = process.env.SHOTS ?? path.join(here, "shots");

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
}
