import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { describe, expect, it } from "vitest";

const root = join(import.meta.dirname, "../..");
const json = (name: string): Record<string, string> => JSON.parse(readFileSync(join(root, name), "utf8"));
const marks = (text: string): string[] => (text.match(/\{\d+\}|\$\{\w+\}|\]\(command:[^)]*\)/g) ?? []).sort();

/** Every text that the client hands to `vscode.l10n.t`, and every other text that stands where a person would see it. */
function textsOfClient(): Set<string> {
  const found = new Set<string>();
  const folder = join(root, "client/src");
  for (const name of readdirSync(folder).filter((n) => n.endsWith(".ts"))) {
    const text = readFileSync(join(folder, name), "utf8");
    for (const [, literal] of text.matchAll(/l10n\.t\(\s*("(?:[^"\\]|\\.)*")/g)) found.add(JSON.parse(literal as string));
    // A text handed over otherwise than as a literal would escape this list.
    expect(text.match(/l10n\.t\((?!\s*")/g) ?? [], name).toEqual([]);
    expect(text.match(/show(?:Information|Warning|Error)Message\(\s*["`]/g) ?? [], name).toEqual([]);
  }
  return found;
}

describe("texts of the client", () => {
  it("are all in the bundle, in German too, with the same arguments", () => {
    const english = json("client/l10n/bundle.l10n.json");
    const german = json("client/l10n/bundle.l10n.de.json");
    const used = [...textsOfClient()].sort();
    expect(used.length).toBeGreaterThan(40);
    expect(Object.keys(english).sort()).toEqual(used);
    expect(Object.keys(german).sort()).toEqual(used);
    for (const [key, text] of Object.entries(german)) expect(marks(text), key).toEqual(marks(key));
  });

  it("of the manifest are all there, in German too, with the same commands", () => {
    const english = json("package.nls.json");
    const german = json("package.nls.de.json");
    const named = [...readFileSync(join(root, "package.json"), "utf8").matchAll(/"%([\w.]+)%"/g)].map((m) => m[1] as string);
    expect([...new Set(named)].sort()).toEqual(Object.keys(english).sort());
    expect(Object.keys(german).sort()).toEqual(Object.keys(english).sort());
    for (const [key, text] of Object.entries(german)) expect(marks(text), key).toEqual(marks(english[key] ?? ""));
  });

  it("of the manifest stand nowhere but there", () => {
    const bare: string[] = [];
    const look = (value: unknown, key: string): void => {
      if (Array.isArray(value)) for (const item of value) look(item, key);
      else if (typeof value === "object" && value !== null) for (const [name, member] of Object.entries(value)) look(member, name);
      else if (
        /^(?:description|markdownDescription|enumDescriptions|title|altText|aliases)$/.test(key) &&
        !/^%[\w.]+%$/.test(String(value))
      )
        bare.push(`${key}: ${value}`);
    };
    look(JSON.parse(readFileSync(join(root, "package.json"), "utf8")).contributes, "");
    // The name of the product is the same in every language.
    expect(bare).toEqual(["title: Jawline"]);
  });

  it("of the walkthrough's pages are there in German too, under the name by which the editor looks for them", () => {
    const pages = [...readFileSync(join(root, "package.json"), "utf8").matchAll(/"markdown": "([^"]+)\.md"/g)].map((m) => m[1] as string);
    expect(pages.length).toBeGreaterThan(2);
    // Codes of the program, keys of the sidecar and numbers are the same in both.
    const codes = (page: string) => (readFileSync(join(root, page), "utf8").match(/\b[GM]\d[\d.]*\b|"[\w-]+"|\d+\.\d+/g) ?? []).sort();
    for (const page of pages) {
      expect(codes(`${page}.nls.de.md`), page).toEqual(codes(`${page}.md`));
      expect(readFileSync(join(root, `${page}.nls.de.md`), "utf8")).not.toMatch(/\b(?:the|and|is|not)\b/);
    }
  });
});
