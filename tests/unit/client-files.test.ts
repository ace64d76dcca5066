import { describe, expect, it } from "vitest";
import { decodeText } from "../../server/src/cli/decode.js";
import { folderOf, joinPath } from "../../server/src/engine/text/path.js";
import { ClientFiles } from "../../server/src/lsp/client-files.js";
import { EditorFiles, pathOf, uriOf } from "../../server/src/lsp/files.js";

describe("paths of documents", () => {
  // Forms of URIs: RFC 3986 and RFC 8089 (file URIs, E.2 for drive letters, E.3.1 for shares).
  const uris = [
    "file:///home/shop/part.nc",
    "file:///home/shop/a%20b/part%23.nc",
    "file:///foo%3Abar/part.nc",
    "vscode-vfs://github/shop/jobs/part.nc",
    "vscode-remote://wsl%2Bdebian/home/shop/part.nc",
    "vscode-remote://127.0.0.1:8080/home/shop/part.nc",
    "memfs:/jobs/part.nc",
    "file://server/share/part.nc",
  ];

  it("lead back to the URI, with its scheme and its authority", () => {
    for (const uri of uris) expect(uriOf(pathOf(uri)), uri).toBe(uri);
  });

  it("stay in the same file system beside and above", () => {
    const path = pathOf("vscode-vfs://github/shop/jobs/part.nc");
    expect(uriOf(joinPath(folderOf(path), "../elements/grid.json"))).toBe("vscode-vfs://github/shop/elements/grid.json");
  });

  it("are different in different file systems", () => {
    expect(new Set(uris.map((uri) => pathOf(uri))).size).toBe(uris.length);
    expect(pathOf("vscode-vfs://a/x.nc")).not.toBe(pathOf("vscode-vfs://b/x.nc"));
  });

  it("of plain files are plain", () => {
    expect(pathOf("file:///home/shop/part.nc")).toBe("/home/shop/part.nc");
    expect(pathOf("untitled:Untitled-1")).toMatch(/^\//);
  });
});

describe("bytes", () => {
  it("are read as UTF-8, with or without a mark, else as Latin-1 in every byte, else as UTF-16 by its mark", () => {
    expect(decodeText(new TextEncoder().encode("Ø6"))).toBe("Ø6");
    expect(decodeText(Uint8Array.of(0xef, 0xbb, 0xbf, 0x4f))).toBe("O");
    // ISO 8859-1: each byte is the character of its number, 0x80 to 0x9f too, which Windows-1252 reads otherwise.
    expect(decodeText(Uint8Array.of(0xd8, 0x36, 0x80, 0x9f))).toBe("\u00d86\u0080\u009f");
    expect(decodeText(Uint8Array.of(0xff, 0xfe, 0x4f, 0x00))).toBe("O");
    expect(decodeText(new Uint8Array(20_000).fill(0xe4))).toBe("ä".repeat(20_000));
  });
});

/** A client whose files are a table; counts its questions. */
function client(files: Record<string, string>) {
  const asked: string[] = [];
  const host = new ClientFiles({
    async readFile(path) {
      asked.push(path);
      await Promise.resolve();
      const text = files[path];
      return text === undefined ? {} : { base64: Buffer.from(text).toString("base64") };
    },
    async listFolder(path) {
      asked.push(`${path}/`);
      const names = Object.keys(files).filter((f) => folderOf(f) === path);
      if (names.length === 0) throw new Error("no such folder");
      return { names: names.map((n) => n.slice(path.length + 1)) };
    },
  });
  return { host, asked };
}

describe("files that only the client has", () => {
  it("are missing at first, and there when they have arrived; each is asked for once", async () => {
    const { host, asked } = client({ "/a:@/p/x.nc": "M30" });
    expect(host.read("/a:@/p/x.nc")).toBeUndefined();
    expect(host.read("/a:@/p/x.nc")).toBeUndefined();
    expect(host.missed).toBe(2);
    await host.arriving();
    expect(host.read("/a:@/p/x.nc")).toBe("M30");
    expect(host.missed).toBe(2);
    expect(asked).toEqual(["/a:@/p/x.nc"]);
  });

  it("that are not there are asked for once too, and not at all where the folder is known", async () => {
    const { host, asked } = client({ "/a:@/p/x.nc": "M30" });
    host.list("/a:@/p");
    host.list("/a:@/q");
    await host.arriving();
    expect(host.list("/a:@/p")).toEqual(["x.nc"]);
    expect(host.list("/a:@/q")).toBeUndefined();
    expect(host.read("/a:@/p/y.nc")).toBeUndefined();
    expect(asked).toEqual(["/a:@/p/", "/a:@/q/"]);
    expect(host.missed).toBe(2);
  });

  it("are asked for again when they changed, also when the old answer is still on the way", async () => {
    const files: Record<string, string> = { "/a:@/p/x.nc": "M30" };
    const { host } = client(files);
    host.read("/a:@/p/x.nc");
    files["/a:@/p/x.nc"] = "M02";
    host.forget("/a:@/p/x.nc");
    await new Promise((resolve) => setTimeout(resolve, 5));
    expect(host.read("/a:@/p/x.nc")).toBeUndefined();
    await host.arriving();
    expect(host.read("/a:@/p/x.nc")).toBe("M02");
  });

  it("work that met a gap is done again from the start, as often as new gaps show", async () => {
    const { host } = client({ "/a:@/1": "/a:@/2", "/a:@/2": "/a:@/3", "/a:@/3": "end" });
    const files = new EditorFiles(undefined, host);
    let rounds = 0;
    const result = await files.drained(
      function* (see) {
        rounds++;
        let at = "/a:@/1";
        for (;;) {
          const next = see.read(at);
          yield;
          if (next === undefined) return `gap at ${at}`;
          if (next === "end") return "end";
          at = next;
        }
      },
      () => false,
    );
    expect(result).toBe("end");
    expect(rounds).toBe(4);
  });

  it("plain files are asked of the disk where there is one, others of the client", async () => {
    const { host, asked } = client({ "/a:@/x": "far" });
    const files = new EditorFiles({ read: () => "near", list: () => [] }, host);
    expect(files.read("/home/x")).toBe("near");
    expect(files.read("/a:@/x")).toBeUndefined();
    await files.arriving();
    expect(files.read("/a:@/x")).toBe("far");
    expect(asked).toEqual(["/a:@/x"]);
  });
});
