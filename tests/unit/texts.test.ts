import { readdirSync, readFileSync } from "node:fs";
import { join } from "node:path";
import { afterEach, describe, expect, it } from "vitest";
import { helpTexts } from "../../server/src/cli/commands.js";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import { builtInProfiles } from "../../server/src/engine/dialect/profiles.js";
import { fixtureJsonSchema } from "../../server/src/engine/fixture/schema.js";
import { ideTexts, say } from "../../server/src/ide/texts.js";
import { cycleParameters, LETTERS } from "../../server/src/ide/words.js";
import { translatedData } from "../../server/src/report/language/de-data.js";
import { speak } from "../../server/src/report/language/languages.js";
import { solidName, type Text, told } from "../../server/src/report/language/say.js";
import { reportTexts } from "../../server/src/report/texts.js";

const marks = (text: string): string[] => [...new Set(text.match(/\{\w+\}/g) ?? [])].sort();
const tables: Readonly<Record<string, Readonly<Record<string, Text>>>> = { ide: ideTexts, report: reportTexts, help: helpTexts };
const rows = Object.entries(tables).flatMap(([table, texts]) =>
  Object.entries(texts).map(([key, text]) => ({ key: `${table} ${key}`, text })),
);

/** What English leaves in a text that should be German: words that German does not have. */
const ENGLISH = /\b(?:the|is|are|and|not|with|which|this|that|from|where|there)\b/i;

afterEach(() => speak(undefined));

describe("texts of the editor and of the command line", () => {
  it("have the same marks in both languages", () => {
    expect(rows.filter(({ text }) => marks(text[0]).join() !== marks(text[1]).join())).toEqual([]);
  });

  it("are German where they say so", () => {
    expect(rows.filter(({ text }) => ENGLISH.test(text[1].replace(/\{\w+\}/g, "")))).toEqual([]);
    const alike = rows.filter(({ text }) => text[0] === text[1] && /[a-z]{4}/.test(text[0].replace(/\{\w+\}/g, "")));
    expect(alike).toEqual([]);
  });

  it("stand nowhere else in what talks to a person", () => {
    const folder = join(import.meta.dirname, "../../server/src");
    const tables = new Set(["texts.ts", "commands.ts", "words.ts"]);
    const found = ["ide", "lsp", "cli", "report"].flatMap((part) =>
      readdirSync(join(folder, part))
        .filter((name) => name.endsWith(".ts") && !tables.has(name))
        .flatMap((name) => {
          const lines = readFileSync(join(folder, part, name), "utf8").split("\n");
          // Three small words in a row within quotes are a sentence; what a fault of ours throws is not for a person.
          const literals = (line: string) =>
            [...line.replace(/\$\{[^}]*\}/g, "0").matchAll(/"([^"]*)"|`([^`]*)`/g)].map((m) => m[1] ?? m[2] ?? "");
          return lines.filter(
            (line) =>
              !/^\s*(?:\/\/|\/?\*)|new Error\(/.test(line) && literals(line).some((text) => /\b[a-z]{2,} [a-z]{2,} [a-z]{2,}/.test(text)),
          );
        }),
    );
    expect(found).toEqual([]);
  });

  it("never say the same thing in two German ways", () => {
    const ways = new Map<string, Set<string>>();
    for (const { text } of rows) {
      const known = ways.get(text[0]) ?? new Set();
      ways.set(text[0], known.add(text[1]));
    }
    expect([...ways].filter(([, german]) => german.size > 1)).toEqual([]);
  });

  it("are worded in the language that is spoken, with what stands for the marks", () => {
    expect(say("lens.findings", { count: 3 })).toBe("3 findings");
    speak("de-AT");
    expect(say("lens.findings", { count: 3 })).toBe("3 Befunde");
    // What stands for a mark is never taken for a mark itself.
    expect(say("entry.datum", { note: "{count} $& rot" })).toBe("Bezugspunkt: {count} $& rot");
    expect(solidName("moving jaw")).toBe("Spannbacke beweglich");
    expect(solidName("a person's own clamp")).toBe("a person's own clamp");
    speak("fr");
    expect(say("lens.findings", { count: 3 })).toBe("3 findings");
  });
});

/** Every description in a schema. */
function descriptionsIn(value: unknown, out = new Set<string>()): Set<string> {
  if (typeof value !== "object" || value === null) return out;
  for (const [key, inner] of Object.entries(value)) {
    if (key === "description" && typeof inner === "string") out.add(inner);
    else descriptionsIn(inner, out);
  }
  return out;
}

describe("texts that the engine holds as data", () => {
  const codes = [...builtInProfiles.values()].flatMap((p) => [
    p.summary,
    ...[...p.codes.values()].flatMap((c) => (c.group === "0" ? [c.meaning] : [c.meaning, c.group])),
  ]);
  const cycles = ["G73", "G74", "G76", ...[1, 2, 3, 4, 5, 6, 7, 8, 9].map((n) => `G8${n}`)];
  const words = [...Object.values(LETTERS), ...cycles.flatMap((c) => (cycleParameters(c, ["L"]) ?? []).map((p) => p.text))];
  const keys = [...descriptionsIn(fixtureJsonSchema())];
  const all = new Set([...codes, ...words, ...keys, ...rules.map((r) => r.summary)]);

  it("are all there", () => {
    expect(codes.length).toBeGreaterThan(150);
    expect(keys.length).toBeGreaterThan(150);
    expect(words.length).toBeGreaterThan(60);
    expect([...all].filter((text) => !translatedData.includes(text))).toEqual([]);
  });

  it("hold none that nothing uses, and no English", () => {
    expect(translatedData.filter((text) => !all.has(text))).toEqual([]);
    speak("de");
    expect(translatedData.map(told).filter((text) => ENGLISH.test(text.replace(/"[^"]*"/g, "")))).toEqual([]);
    expect(translatedData.filter((text) => told(text) === text)).toEqual([]);
  });

  it("come back as they are in English, and where they are a person's own", () => {
    expect(told("Rapid positioning")).toBe("Rapid positioning");
    speak("de");
    expect(told("Rapid positioning")).toBe("Eilgang");
    expect(told("constructor")).toBe("constructor");
    expect(told("Meine eigene Notiz")).toBe("Meine eigene Notiz");
  });
});
