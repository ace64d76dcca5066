import { readdirSync, readFileSync, statSync } from "node:fs";
import { resolve, sep } from "node:path";
import type { Host } from "../engine/host.js";
import { say } from "../report/texts.js";
import { decodeText } from "./decode.js";

/** Largest file that is read, in bytes. A string of V8 ends near 500 million characters, and a program of this size is none. */
const LARGEST_FILE = 400_000_000;

/** A file's text, or why there is none, in words that follow the file's name and a colon. */
export type FileText = { readonly text: string } | { readonly problem: string };

/** The absolute path with slashes, as the engine wants it, of a path as a person wrote it. */
export function enginePath(path: string, folder: string = process.cwd()): string {
  const absolute = resolve(folder, path);
  return sep === "\\" ? absolute.replace(/\\/g, "/") : absolute;
}

/** Reads a file; `path` is absolute. Says in words why it cannot be read. Never throws. */
export function readFileText(path: string): FileText {
  try {
    const stat = statSync(path);
    if (stat.isDirectory()) return { problem: say("file.folder") };
    // A pipe or a device could block or never end.
    if (!stat.isFile()) return { problem: say("file.irregular") };
    if (stat.size > LARGEST_FILE) return { problem: say("file.large", { size: LARGEST_FILE / 1e6 }) };
    return { text: decodeText(readFileSync(path)) };
  } catch (error) {
    return { problem: reasonOf(error) };
  }
}

/** What a failed file access means, in words. */
function reasonOf(error: unknown): string {
  const code = error instanceof Error && "code" in error ? String(error.code) : "";
  switch (code) {
    case "ENOENT":
      return say("file.absent");
    case "ENOTDIR":
      return say("file.no-folder");
    case "EACCES":
    case "EPERM":
      return say("file.forbidden");
    case "ENAMETOOLONG":
      return say("file.long-name");
    case "ELOOP":
      return say("file.circle");
    default:
      return say("file.unreadable", { why: code || String(error) });
  }
}

/** The files of this computer as the engine sees them; every question goes to the disk. */
export const nodeHost: Host = {
  read(path) {
    const file = readFileText(path);
    return "text" in file ? file.text : undefined;
  },
  list(folder) {
    try {
      return readdirSync(folder).sort();
    } catch {
      return undefined;
    }
  },
};

/**
 * A host that asks another one only once for each file and folder, so that everything said in one run of the command
 * line rests on one state of the disk.
 */
export function rememberingHost(host: Host): Host {
  const texts = new Map<string, string | undefined>();
  const folders = new Map<string, readonly string[] | undefined>();
  return {
    read(path) {
      if (!texts.has(path)) texts.set(path, host.read(path));
      return texts.get(path);
    },
    list(folder) {
      if (!folders.has(folder)) folders.set(folder, host.list(folder));
      return folders.get(folder);
    },
  };
}
