import { execFileSync } from "node:child_process";
import { mkdtempSync, readFileSync, rmSync } from "node:fs";
import { tmpdir } from "node:os";
import { join, resolve } from "node:path";

export const root = resolve(import.meta.dirname, "../..");

/** Builds the language server into a folder of its own; answers its path and how to remove it. */
export function buildServer(): { readonly server: string; remove(): void } {
  const built = mkdtempSync(join(tmpdir(), "jawline-built-"));
  execFileSync(process.execPath, [join(root, "server/build.mjs"), "--into", built], { stdio: "ignore" });
  return { server: join(built, "server/dist/server.js"), remove: () => rmSync(built, { recursive: true, force: true }) };
}

const demo = (name: string) => readFileSync(join(root, "fixtures-config", name), "utf8");

/** The demo of the plate as a client's folder holds it; the program itself is opened by the test. */
export const plate = {
  program: "demo/plate/lever.nc",
  sidecar: "demo/plate/plate.fixture.json",
  text: demo("demo/plate/lever.nc"),
  files: {
    "elements/grid-50.elements.json": demo("elements/grid-50.elements.json"),
    "elements/tools.elements.json": demo("elements/tools.elements.json"),
    "demo/plate/plate.fixture.json": demo("demo/plate/plate.fixture.json"),
    "demo/plate/plate.offsets.nc": demo("demo/plate/plate.offsets.nc"),
    "demo/plate/lever.nc": demo("demo/plate/lever.nc"),
  },
} as const;

/** Text after the edits of a workspace edit or a list of text edits, which must all be of this document. */
export function applyEdits(
  text: string,
  edits: readonly {
    readonly range: { start: { line: number; character: number }; end: { line: number; character: number } };
    readonly newText?: string;
  }[],
): string {
  const starts = [0];
  for (let i = 0; i < text.length; i++) if (text[i] === "\n") starts.push(i + 1);
  const offset = (p: { line: number; character: number }) => (starts[p.line] ?? text.length) + p.character;
  let out = text;
  for (const e of [...edits].sort((a, b) => offset(b.range.start) - offset(a.range.start)))
    out = out.slice(0, offset(e.range.start)) + (e.newText ?? "") + out.slice(offset(e.range.end));
  return out;
}
