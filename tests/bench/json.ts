/** Plain data, as it stands in a sidecar. */
export type Json = string | number | boolean | null | Json[] | { [key: string]: Json };
export type JsonObject = { [key: string]: Json };

/** A sidecar's text with the line (from 0) on which every key or item stands. */
export interface PrintedJson {
  readonly text: string;
  /** Line of a path such as ["stations", 2, "offset"]. */
  lineOf(path: readonly (string | number)[]): number;
}

/** Prints one key or item a line, and remembers where. */
export function printJson(value: Json): PrintedJson {
  const lines: string[] = [""];
  const at = new Map<string, number>();
  const put = (text: string): void => {
    lines[lines.length - 1] += text;
  };
  const walk = (v: Json, path: string, depth: number): void => {
    at.set(path, lines.length - 1);
    if (v === null || typeof v !== "object") {
      put(JSON.stringify(v));
      return;
    }
    const isList = Array.isArray(v);
    const entries: [string, Json][] = isList ? v.map((x, i) => [String(i), x]) : Object.entries(v);
    const short = isList && v.every((x) => typeof x === "number");
    put(isList ? "[" : "{");
    entries.forEach(([key, item], i) => {
      if (!short) lines.push("  ".repeat(depth + 1));
      if (!isList) put(`${JSON.stringify(key)}: `);
      walk(item, `${path}/${key}`, depth + 1);
      if (i < entries.length - 1) put(short ? ", " : ",");
    });
    if (!short && entries.length > 0) lines.push("  ".repeat(depth));
    put(isList ? "]" : "}");
  };
  walk(value, "", 0);
  return {
    text: `${lines.join("\n")}\n`,
    lineOf(path) {
      const line = at.get(path.map((p) => `/${p}`).join(""));
      if (line === undefined) throw new Error(`the sidecar has no ${path.join(".")}`);
      return line;
    },
  };
}
