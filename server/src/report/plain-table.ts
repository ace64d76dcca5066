/** Aligned columns in plain text, and numbers as a shop reads them. */

import { say } from "./texts.js";

/** A table with its head; columns two blanks apart, numbers to the right. Ends with a line end. */
export function tableText(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const widths = head.map((title, i) => Math.max(title.length, ...rows.map((row) => row[i]?.length ?? 0)));
  const right = head.map((_, i) => rows.every((row) => isNumber(row[i] ?? "")));
  const line = (cells: readonly string[]) =>
    cells
      .map((cell, i) => (right[i] ? cell.padStart(widths[i] ?? 0) : cell.padEnd(widths[i] ?? 0)))
      .join("  ")
      .trimEnd();
  return `${[line(head), line(widths.map((w) => "-".repeat(w))), ...rows.map(line)].join("\n")}\n`;
}

/** What stands to the right: a number, or what stands where one would. */
function isNumber(cell: string): boolean {
  return /^([+-]?\d*\.?\d+|-)$/.test(cell) || cell === say("unknown");
}

/** A length given in mm, in the units asked for: three decimals of a millimetre, four of an inch. */
export function lengthText(mm: number, units: "mm" | "inch"): string {
  if (!Number.isFinite(mm)) return say("unknown");
  const text = units === "mm" ? mm.toFixed(3) : (mm / 25.4).toFixed(4);
  return /^-0\.0*$/.test(text) ? text.slice(1) : text;
}

/** An angle in degrees, three decimals at most; "-" where there is none. */
export function angleText(degrees: number | undefined): string {
  if (degrees === undefined) return "-";
  if (!Number.isFinite(degrees)) return say("unknown");
  const rounded = Math.round(degrees * 1000) / 1000;
  return rounded === 0 ? "0" : String(rounded);
}
