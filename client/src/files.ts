import * as vscode from "vscode";
import type { FileAnswer, FolderAnswer } from "./protocol.js";

/** Largest file that is handed to the server, in bytes: it goes as one message. */
const LARGEST = 100_000_000;

/** The bytes of a file of any file system that the editor knows; nothing when it cannot be read. */
export async function readFile(uri: vscode.Uri): Promise<FileAnswer> {
  try {
    const stat = await vscode.workspace.fs.stat(uri);
    if ((stat.type & vscode.FileType.Directory) !== 0 || stat.size > LARGEST) return {};
    return { base64: toBase64(await vscode.workspace.fs.readFile(uri)) };
  } catch {
    return {};
  }
}

/** Names in a folder; nothing when it cannot be read. */
export async function listFolder(uri: vscode.Uri): Promise<FolderAnswer> {
  try {
    return { names: (await vscode.workspace.fs.readDirectory(uri)).map(([name]) => name) };
  } catch {
    return {};
  }
}

/** Works in Node and in a browser. Arguments of a call are limited in number, so the bytes go in pieces. */
function toBase64(bytes: Uint8Array): string {
  let binary = "";
  for (let i = 0; i < bytes.length; i += 8192) binary += String.fromCharCode(...bytes.subarray(i, i + 8192));
  return btoa(binary);
}
