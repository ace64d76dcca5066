import { afterAll, afterEach, beforeAll, expect, it } from "vitest";
import { buildServer, plate } from "../support/built-server.js";
import { LanguageClient } from "../support/conforming-client.js";

let built: { readonly server: string; remove(): void };
let client: LanguageClient;
beforeAll(() => {
  built = buildServer();
}, 60_000);
afterAll(() => built.remove());
afterEach(async () => {
  expect(await client.stop()).toBe(0);
});

it("applies the level that a setting gives to a program that was checked on disk, also when it is changed later", async () => {
  const name = "demo/plate/wrong.nc";
  client = await LanguageClient.start(built.server, { ...plate.files, [name]: plate.text.replace("G54.1 P12\n", "G54.1 P21\n") });
  const level = async (setting: string | undefined) => {
    client.settings = setting === undefined ? {} : { levels: { "offset-unmapped": setting } };
    await client.connection.sendNotification("workspace/didChangeConfiguration", { settings: null });
  };
  const severities = () =>
    (client.diagnostics.get(client.uri(name)) ?? []).flatMap((d) => (d.code === "offset-unmapped" ? [d.severity] : []));
  await level("warning");
  const answer = await client.connection.sendRequest<{ errors: number; warnings: number }>("jawline/checkOnDisk", {
    uri: client.uri(name),
  });
  expect(answer).toMatchObject({ errors: 0, warnings: 1 });
  // 1 is an error, 2 a warning in the protocol.
  await client.until("a warning", () => severities().join() === "2");
  await level(undefined);
  await client.until("an error", () => severities().join() === "1");
  await level("off");
  await client.until("nothing", () => severities().length === 0);
});
