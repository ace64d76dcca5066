import { afterEach, describe, expect, it } from "vitest";
import { allTemplates, renderMessage } from "../../server/src/engine/checks/wording.js";
import { german } from "../../server/src/report/language/de.js";
import { speak } from "../../server/src/report/language/languages.js";

const marks = (text: string): string[] => [...new Set(text.match(/\{[A-Za-z0-9_-]+\}/g) ?? [])].sort();

afterEach(() => speak(undefined));

describe("German wording", () => {
  it("has every text", () => {
    const missing = Object.entries(allTemplates()).flatMap(([rule, texts]) =>
      Object.entries(texts)
        .filter(([key]) => german[rule]?.[key] === undefined)
        .map(([key, text]) => `${rule} ${key}: ${text}`),
    );
    expect(missing).toEqual([]);
  });

  it("has no text that nothing uses", () => {
    const all = allTemplates();
    const extra = Object.entries(german).flatMap(([rule, texts]) =>
      Object.keys(texts)
        .filter((key) => all[rule]?.[key] === undefined)
        .map((key) => `${rule} ${key}`),
    );
    expect(extra).toEqual([]);
  });

  it("keeps every argument of the English text and invents none", () => {
    const wrong = Object.entries(allTemplates()).flatMap(([rule, texts]) =>
      Object.entries(texts).flatMap(([key, text]) => {
        const other = german[rule]?.[key];
        if (other === undefined || marks(other).join() === marks(text).join()) return [];
        return [`${rule} ${key}: ${marks(text).join(" ")} / ${marks(other).join(" ")}`];
      }),
    );
    expect(wrong).toEqual([]);
  });

  it("speaks inside arguments too, and leaves a person's own names alone", () => {
    const message = {
      key: "default",
      args: { station: "stock", tool: "tool 2 (moving jaw)", depth: { mm: 1.5 }, solid: "moving jaw of A2", to: "X1" },
    };
    speak("de_DE.UTF-8");
    expect(renderMessage("clamp-rapid", message, { units: "mm" })).toBe(
      "stock: Werkzeug 2 (moving jaw) fährt im Eilgang nach X1 1.5 mm tief in „Spannbacke beweglich von A2“; zuerst Z anheben oder außen herum fahren",
    );
    speak("C.UTF-8");
    expect(renderMessage("clamp-rapid", message, { units: "mm" })).toMatch(
      /^stock: tool 2 \(moving jaw\) goes 1\.5 mm into the moving jaw of A2/,
    );
  });
});
