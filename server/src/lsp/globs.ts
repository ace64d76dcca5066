import { baseName } from "../engine/text/path.js";

/**
 * Whether a path matches a glob of the setting `jawline.fixtures`. `*` stays within a folder, `**` crosses folders, `?` is
 * one character, `{a,b}` is either. A glob without a slash is matched against the file's name.
 */
export function matchesGlob(glob: string, path: string, root: string | undefined): boolean {
  const relative = root !== undefined && path.startsWith(`${root}/`) ? path.slice(root.length + 1) : path;
  const subject = glob.includes("/") ? (glob.startsWith("/") ? path : relative) : baseName(path);
  return toExpression(glob).test(subject);
}

function toExpression(glob: string): RegExp {
  let out = "";
  let depth = 0;
  for (let i = 0; i < glob.length; i++) {
    const c = glob[i] as string;
    if (c === "*" && glob[i + 1] === "*") {
      // "**/" also stands for no folder at all.
      if (glob[i + 2] === "/") {
        out += "(?:.*/)?";
        i += 2;
      } else {
        out += ".*";
        i += 1;
      }
    } else if (c === "*") out += "[^/]*";
    else if (c === "?") out += "[^/]";
    else if (c === "{") {
      out += "(?:";
      depth++;
    } else if (c === "}" && depth > 0) {
      out += ")";
      depth--;
    } else if (c === "," && depth > 0) out += "|";
    else out += c.replace(/[\\^$.|+()[\]{}]/g, "\\$&");
  }
  try {
    return new RegExp(`^${out}${")".repeat(depth)}$`);
  } catch {
    return /(?!)/;
  }
}
