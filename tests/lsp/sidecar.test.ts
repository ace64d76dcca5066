import { afterAll, afterEach, beforeAll, describe, expect, it } from "vitest";
import { buildServer, plate } from "../support/built-server.js";
import { LanguageClient, modern } from "../support/conforming-client.js";

let built: { readonly server: string; remove(): void };
let client: LanguageClient;
beforeAll(() => {
  built = buildServer();
}, 60_000);
afterAll(() => built.remove());
afterEach(async () => {
  expect(await client.stop()).toBe(0);
});

interface Item {
  readonly label: string;
  readonly labelDetails?: { readonly description?: string };
  readonly documentation?: { readonly value: string };
}
const { sidecar, files } = plate;

/** What is proposed in the quotes of a key that is typed into an empty table at the end of the demo's sidecar. */
async function keysOf(table: string): Promise<Item[]> {
  const rows = files[sidecar].split("\n");
  const row = rows.findIndex((l) => l.startsWith('  "offsets": {'));
  await client.edit(sidecar, row, 0, 0, `  "${table}": { "" },\n`);
  return client.request<Item[]>("textDocument/completion", sidecar, row, `  "${table}": { "`.length);
}

async function open(capabilities: object = {}): Promise<void> {
  client = await LanguageClient.start(built.server, files, capabilities);
  await client.open(sidecar, files[sidecar]);
}

describe("proposals in a sidecar", () => {
  it("names the tools of the included files where a sidecar gives some of them anew", async () => {
    await open({
      textDocument: { ...modern.textDocument, completion: { completionItem: { labelDetailsSupport: true } } },
    });
    const items = await keysOf("tools");
    // The six tools of elements/tools.elements.json, with their names beside them.
    expect(items.map((i) => `${i.label} ${i.labelDetails?.description}`)).toEqual([
      "1 face mill 50",
      "2 end mill 16",
      "3 spot drill 10",
      "4 drill 6.8",
      "5 end mill 10",
      "6 tap M8",
    ]);
  });

  it("says beside no row what a client cannot show there", async () => {
    await open();
    const items = await keysOf("endStops");
    expect(items.map((i) => i.label)).toEqual(["es12", "es12-tall"]);
    expect(items.map((i) => i.labelDetails)).toEqual([undefined, undefined]);
  });

  it("says of a rule whose level is set what it finds", async () => {
    await open();
    const items = await keysOf("levels");
    expect(items.find((i) => i.label === "offset-unmapped")?.documentation?.value).toMatch(/station/);
    for (const item of items) expect(item.documentation?.value ?? "", item.label).not.toBe("");
  });
});

it("has its hints asked for again when their setting changes, with no program open", async () => {
  await open({ workspace: { ...modern.workspace, inlayHint: { refreshSupport: true } } });
  const hints = async () =>
    (
      await client.ask<{ label: string }[]>("textDocument/inlayHint", sidecar, {
        range: { start: { line: 0, character: 0 }, end: { line: files[sidecar].split("\n").length, character: 0 } },
      })
    ).map((h) => h.label);
  // By hand: intersection [1, 1] is at X -880, Y -420; zero in the middle of 40 mm behind the face at 15, at the stop at v -30;
  // Z -450 + 25 + 33. For [1, 4] Y -270 + 15 + 18, v -28, Z -450 + 34 + 32.
  expect(await hints()).toEqual(["X -850 Y -385 Z -392 (A1; 5 more to A6)", "X -852 Y -237 Z -384 (B1; 5 more to B6)"]);
  const before = client.refreshed.get("inlayHint") ?? 0;
  client.settings = { inlayHints: { positions: false } };
  await client.connection.sendNotification("workspace/didChangeConfiguration", { settings: null });
  await client.until("a word to ask again", () => (client.refreshed.get("inlayHint") ?? 0) > before);
  expect(await hints()).toEqual([]);
});

describe("a file of elements with no program open", () => {
  it("says what a key means", async () => {
    const name = "elements/grid-50.elements.json";
    client = await LanguageClient.start(built.server, files);
    await client.open(name, files[name]);
    const rows = files[name].split("\n");
    const row = rows.findIndex((l) => l.includes('"increment"'));
    const hover = await client.request<{ contents: { value: string } } | null>(
      "textDocument/hover",
      name,
      row,
      (rows[row] ?? "").indexOf("increment") + 2,
    );
    expect(hover?.contents.value).toMatch(/^\*\*increment\*\* — .+/);
  });
});
