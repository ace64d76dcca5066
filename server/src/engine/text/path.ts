/** Slash-separated path arithmetic for the engine, which has no file system of its own. */

/** The folder of a path, without the last slash ("/" for the root itself). */
export function folderOf(path: string): string {
  const i = path.lastIndexOf("/");
  return i <= 0 ? "/" : path.slice(0, i);
}

/** The last segment. */
export function baseName(path: string): string {
  return path.slice(path.lastIndexOf("/") + 1);
}

/** Joins and removes "." and ".."; an absolute second part wins. Backslashes count as slashes, as people on Windows write them in sidecars. */
export function joinPath(folder: string, relative: string): string {
  const rel = relative.replace(/\\/g, "/");
  const raw = rel.startsWith("/") || /^[A-Za-z]:\//.test(rel) ? rel : `${folder}/${rel}`;
  const out: string[] = [];
  for (const part of raw.split("/")) {
    if (part === "" || part === ".") continue;
    if (part === "..") out.pop();
    else out.push(part);
  }
  const joined = out.join("/");
  return /^[A-Za-z]:\//.test(raw) ? joined : `/${joined}`;
}
