/** Aligned columns in plain text, and numbers as a shop reads them. */

/** A table with its head; columns two blanks apart, numbers to the right. Ends with a line end. */
export function tableText(head: readonly string[], rows: readonly (readonly string[])[]): string {
  const widths = head.map((title, i) => Math.max(title.length, ...rows.map((row) => row[i]?.length ?? 0)));
  const right = head.map((_, i) => rows.every((row) => /^([+-]?\d*\.?\d+|-|unknown)$/.test(row[i] ?? "")));
  const line = (cells: readonly string[]) =>
    cells
      .map((cell, i) => (right[i] ? cell.padStart(widths[i] ?? 0) : cell.padEnd(widths[i] ?? 0)))
      .join("  ")
      .trimEnd();
  return `${[line(head), line(widths.map((w) => "-".repeat(w))), ...rows.map(line)].join("\n")}\n`;
}

/** A length given in mm, in the units asked for: three decimals of a millimetre, four of an inch. */
export function lengthText(mm: number, units: "mm" | "inch"): string {
  if (!Number.isFinite(mm)) return "unknown";
  const text = units === "mm" ? mm.toFixed(3) : (mm / 25.4).toFixed(4);
  return /^-0\.0*$/.test(text) ? text.slice(1) : text;
}

/** An angle in degrees, three decimals at most; "-" where there is none. */
export function angleText(degrees: number | undefined): string {
  if (degrees === undefined) return "-";
  if (!Number.isFinite(degrees)) return "unknown";
  const rounded = Math.round(degrees * 1000) / 1000;
  return rounded === 0 ? "0" : String(rounded);
}

/** Time in the largest unit that keeps it readable: "48 s", "12 min 05 s", "1 h 02 min". */
export function durationText(seconds: number): string {
  if (!Number.isFinite(seconds)) return "unknown";
  const whole = Math.round(seconds);
  if (whole < 60) return `${seconds < 10 ? seconds.toFixed(1) : whole} s`;
  const pad = (n: number) => String(n).padStart(2, "0");
  if (whole < 3600) return `${Math.floor(whole / 60)} min ${pad(whole % 60)} s`;
  return `${Math.floor(whole / 3600)} h ${pad(Math.floor((whole % 3600) / 60))} min`;
}
