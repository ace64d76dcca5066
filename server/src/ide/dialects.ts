import type { Profile } from "../engine/dialect/profile.js";
import { builtInProfiles } from "../engine/dialect/profiles.js";

/** What a profile does with a code beyond its one-line meaning, where dialects are known to part. */
function habit(code: string, p: Profile): string | undefined {
  switch (code) {
    case "G2":
    case "G3":
      return p.fullCircle ? "without end words it is a full circle" : "end words are needed, also for a full circle";
    case "G4":
      return `a whole number P is in ${p.dwellWhole === "ms" ? "milliseconds" : "seconds"}`;
    case "G10":
      if (p.l20 === "none") return "L2 alone";
      return p.l20 === "additional" ? "L20 P writes an additional work offset" : "L20 sets the offset from the position now";
    case "G52":
      return p.g52Reach === "all" ? "shifts every work offset until zeroed" : undefined;
    case "G73":
    case "G83": {
      const back = `backs off ${p.backOff} mm before the next step`;
      return code === "G73" ? back : `${p.peckRetract === "R" ? "retracts to R" : "retracts to the clear plane"} between steps, ${back}`;
    }
    case "G98":
      return `cycles return to ${p.returnDefault === "R" ? "R" : "the initial level"} where none is stated`;
    case "M2":
    case "M30":
      return p.resetAtEnd ? `resets to ${p.atEnd.join(" ")}` : "resets nothing";
    default:
      return undefined;
  }
}

/**
 * How the built-in dialects differ about a code (canonical form, "G83"); one line for each way of reading it, naming the
 * dialects that read it so. Empty where all agree.
 */
export function dialectDifferences(code: string): string[] {
  const ways = new Map<string, string[]>();
  for (const profile of builtInProfiles.values()) {
    const info = profile.codes.get(code);
    const more = habit(code, profile);
    const way = info === undefined ? "not a code" : `${info.meaning}${more === undefined ? "" : `; ${more}`}`;
    ways.set(way, [...(ways.get(way) ?? []), profile.name]);
  }
  return ways.size < 2 ? [] : [...ways].map(([way, names]) => `${names.join(", ")}: ${way}`);
}
