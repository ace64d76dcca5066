import { decimal, renderLength, renderSeconds } from "../engine/checks/wording.js";

export { decimal, renderLength, renderSeconds };

/** A number for people in the sidecar's units, without the unit; "?" where it is not known. */
export function lengthNumber(mm: number, units: "mm" | "inch"): string {
  if (Number.isNaN(mm)) return "?";
  return units === "mm" ? decimal(mm, 3) : decimal(mm / 25.4, 4);
}

/** Signed, for differences. */
export function signedNumber(mm: number, units: "mm" | "inch"): string {
  const text = lengthNumber(mm, units);
  return mm > 0 && text !== "0" ? `+${text}` : text;
}

/** Makes a text harmless inside Markdown: no markup of its own, no table separators. */
export function plain(text: string): string {
  return text.replace(/[\\`*_{}[\]<>|#~]/g, (c) => `\\${c}`).replace(/\s+/g, " ");
}

/** A Markdown table. */
export function table(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const line = (cells: readonly string[]) => `| ${cells.join(" | ")} |`;
  return [line(head), line(head.map(() => "---")), ...rows.map(line)].join("\n");
}
