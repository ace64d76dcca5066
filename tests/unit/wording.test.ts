/** Wording of messages: units, lists, times and the tables of rules and languages. */
import { describe, expect, test } from "vitest";
import { rules } from "../../server/src/engine/checks/registry.generated.js";
import { addLanguage, allTemplates, fill, renderArg, renderMessage } from "../../server/src/engine/checks/wording.js";

const mm = { units: "mm" } as const;
const inch = { units: "inch" } as const;

describe("arguments", () => {
  test("lengths in the sidecar's units, zeros trimmed", () => {
    expect(renderArg({ mm: 12.5 }, mm)).toBe("12.5 mm");
    expect(renderArg({ mm: -0.00001 }, mm)).toBe("0 mm");
    expect(renderArg({ mm: 1 / 3 }, mm)).toBe("0.333 mm");
    // 25.4 mm are one inch exactly (the international inch, ISO 31-1 and its successors).
    expect(renderArg({ mm: 25.4 }, inch)).toBe("1 inch");
    expect(renderArg({ mm: 2 }, inch)).toBe("0.0787 inch");
    expect(renderArg({ mm: Number.NaN }, mm)).toBe("an unknown length");
  });
  test("angles, times and rates", () => {
    expect(renderArg({ deg: 90 }, mm)).toBe("90°");
    expect(renderArg({ deg: -0.1 }, mm)).toBe("-0.1°");
    expect(renderArg({ seconds: 4.5 }, mm)).toBe("4.5 s");
    expect(renderArg({ seconds: 60 }, mm)).toBe("1 min");
    expect(renderArg({ seconds: 100 }, mm)).toBe("1 min 40 s");
    expect(renderArg({ seconds: 3720 }, mm)).toBe("1 h 2 min");
    expect(renderArg({ rate: 254 }, inch)).toBe("10 inch/min");
  });
  test("lists", () => {
    expect(renderArg({ list: [] }, mm)).toBe("");
    expect(renderArg({ list: ["A1"] }, mm)).toBe("A1");
    expect(renderArg({ list: ["A1", "A2"] }, mm)).toBe("A1 and A2");
    expect(renderArg({ list: ["A1", "A2", { mm: 3 }] }, mm)).toBe("A1, A2 and 3 mm");
  });
  test("marks without an argument stay", () => {
    expect(fill("{a} and {b}", { a: "x" }, mm)).toBe("x and {b}");
  });
});

describe("templates", () => {
  test("every mark of every text is a plain name", () => {
    for (const [rule, table] of Object.entries(allTemplates())) {
      for (const [key, text] of Object.entries(table)) {
        const rest = text.replace(/\{[A-Za-z0-9_-]+\}/g, "");
        expect(`${rule} ${key} ${rest}`).not.toMatch(/[{}]/);
      }
    }
  });
  test("no rule calls anything safe", () => {
    for (const rule of rules) {
      expect(`${Object.values(rule.messages).join(" ")} ${rule.summary}`).not.toMatch(/\b(safe|safely|safety)\b/i);
    }
  });
  test("another language wins where it has the text", () => {
    addLanguage("xx", { "call-endless": { loop: "zzz" } });
    const message = { key: "loop", args: {} };
    expect(renderMessage("call-endless", message, { units: "mm", locale: "xx-YY" })).toBe("zzz");
    expect(renderMessage("call-endless", message, mm)).toContain("goes round for ever");
  });
  test("an unknown key loses nothing", () => {
    expect(renderMessage("no-rule", { key: "k", args: { a: "b" } }, mm)).toBe("k b");
  });
});
