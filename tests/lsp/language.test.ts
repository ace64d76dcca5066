/** A German session: nothing that an editor shows of its own is English. */
import { afterAll, afterEach, beforeAll, expect, it } from "vitest";
import { ideTexts } from "../../server/src/ide/texts.js";
import { translatedData } from "../../server/src/report/language/de-data.js";
import { buildServer, plate } from "../support/built-server.js";
import { LanguageClient, modern } from "../support/conforming-client.js";

const { program, sidecar, text, files } = plate;

let built: { readonly server: string; remove(): void };
let client: LanguageClient;
beforeAll(() => {
  built = buildServer();
}, 60_000);
afterAll(() => built.remove());
afterEach(async () => {
  expect(await client.stop()).toBe(0);
});

/** What stands between the marks of the English texts, where no German text has the same words. */
const german = Object.values(ideTexts).map((t) => t[1]);
const english = [...Object.values(ideTexts).map((t): string => t[0]), ...translatedData]
  .flatMap((t) => t.split(/\{\w+\}/))
  .map((part) => part.replace(/^[^A-Za-z]+|[^A-Za-z]+$/g, ""))
  .filter((part) => part.length > 5 && !german.some((g) => g.includes(part)));

/** English words of a table that a shown text holds as whole words. */
function englishIn(whole: string): string[] {
  // Keys and values of a sidecar stay as they are written.
  const shown = whole.replace(/^\*\*\w+\*\*|"\w+"|(?:Default|Vorgabe): \w+/g, "");
  return english.filter((part) => {
    const at = shown.indexOf(part);
    return at >= 0 && !/\w/.test(shown.charAt(at - 1)) && !/\w/.test(shown.charAt(at + part.length));
  });
}

async function open(locale: string, changed = text): Promise<void> {
  client = await LanguageClient.start(built.server, files, modern, { locale, initializationOptions: { images: true } });
  await client.open(program, changed);
  await client.until("checked", () => client.statuses.get(client.uri(program))?.state === "checked");
}

type Shown = string | { readonly value: string } | undefined;
const wordsOf = (shown: Shown): string => (typeof shown === "object" ? shown.value : (shown ?? ""));

/** The words of a hover; a drawing's bytes are no words. */
async function hovers(name: string, of: string): Promise<string[]> {
  const out: string[] = [];
  const seen = new Set<string>();
  for (const [line, row] of of.split("\n").entries()) {
    for (const word of row.matchAll(name.endsWith(".json") ? /"(?:\w+)"|\d+/g : /[A-Z][-.\d]+/g)) {
      // Each word once: the second G00 tells nothing that the first did not.
      if (seen.has(word[0])) continue;
      seen.add(word[0]);
      const found = await client.request<{ contents: { value: string } } | null>("textDocument/hover", name, line, word.index + 1);
      if (found !== null) out.push(found.contents.value.replace(/\(data:[^)]*\)/g, ""));
    }
  }
  return out;
}

async function completions(name: string, of: string, places: readonly string[]): Promise<string[]> {
  const out: string[] = [];
  for (const place of places) {
    const line = of.split("\n").findIndex((l) => l.includes(place));
    const column = (of.split("\n")[line] ?? "").indexOf(place) + place.length;
    type Item = { detail?: string; documentation?: Shown };
    const answer = await client.request<Item[] | { items: Item[] }>("textDocument/completion", name, line, column);
    const items = Array.isArray(answer) ? answer : answer.items;
    expect(items.length, place).toBeGreaterThan(0);
    for (const { detail, documentation } of items) out.push(wordsOf(detail), wordsOf(documentation));
  }
  return out;
}

// A wrong offset, so that there are findings, fixes and their effects; a cycle, a macro call and every kind of word.
const changed = text.replace("G54.1 P12", "G54.1 P21").replace("G54.1 P4\n", "G54.1 P4\n#100=6.\n(ALLOW )\nG10 L2 \nG65 P2140 A1.\n");

async function everything(): Promise<string[]> {
  const shown = await hovers(program, changed);
  await client.open(sidecar, files[sidecar]);
  await client.until("looked at", () => client.published.has(client.uri(sidecar)));
  shown.push(...(await hovers(sidecar, files[sidecar])));
  shown.push(
    ...(await completions(
      sidecar,
      files[sidecar],
      ['"notch": ', '"plate": {', '"stations": [{'].filter((at) => files[sidecar].includes(at)),
    )),
  );
  shown.push(...(await completions(program, changed, ["G54.1 P4", "T1 M", "T1", "G43 H1", "#100", "(ALLOW ", "M98 P"])));
  const whole = { start: { line: 0, character: 0 }, end: { line: 1000, character: 0 } };
  const hints = await client.ask<{ label: string; tooltip?: Shown }[]>("textDocument/inlayHint", program, { range: whole });
  shown.push(...hints.flatMap((h) => [h.label, wordsOf(h.tooltip)]));
  const lenses = await client.ask<{ command: { title: string } }[]>("textDocument/codeLens", program);
  shown.push(...lenses.map((l) => l.command.title));
  const actions = await client.ask<{ title: string }[]>("textDocument/codeAction", program, { range: whole, context: { diagnostics: [] } });
  expect(actions.length).toBeGreaterThan(1);
  shown.push(...actions.map((a) => a.title));
  const rows = changed.split("\n");
  for (const part of ["G10 L2 ", "G65 P2140 A1.", "G98 G83"]) {
    const line = rows.findIndex((l) => l.includes(part));
    type Signatures = { signatures: { documentation?: Shown; parameters: { documentation?: Shown }[] }[] } | null;
    const found = await client.request<Signatures>("textDocument/signatureHelp", program, line, part.length);
    expect(found, part).not.toBeNull();
    for (const s of found?.signatures ?? []) shown.push(wordsOf(s.documentation), ...s.parameters.map((p) => wordsOf(p.documentation)));
  }
  const refusal = await client.request("textDocument/prepareRename", program, rows.indexOf("G54.1 P4"), 2).catch((e: Error) => e.message);
  expect(refusal).toEqual(expect.any(String));
  shown.push(String(refusal));
  shown.push(...(client.statuses.get(client.uri(program))?.notChecked ?? []));
  shown.push(...(client.diagnostics.get(client.uri(program)) ?? []).map((d) => wordsOf(d.message)));
  return shown;
}

it("shows no English sentence", async () => {
  await open("de", changed);
  const shown = await everything();
  expect(shown.length).toBeGreaterThan(300);
  expect([...new Set(shown.flatMap((s) => englishIn(s).map((part) => `${part} <- ${s.slice(0, 120)}`)))]).toEqual([]);
  const all = shown.join("\n");
  for (const words of [
    "Steht auf",
    "Besuche",
    "Abstand",
    "freigeben, mit Grund",
    "Nullpunktverschiebung",
    "Eilgang",
    "zu „Spannbacke fest“",
  ])
    expect(all).toContain(words);
}, 60_000);

it("shows English in any other, where the same look finds it", async () => {
  await open("fr", changed);
  const found = new Set((await everything()).flatMap(englishIn));
  // The look above would see what it looks for: this many texts of the tables were on view.
  expect(found.size).toBeGreaterThan(100);
}, 60_000);
