import type { Profile } from "../engine/dialect/profile.js";
import { builtInProfiles } from "../engine/dialect/profiles.js";
import { say, told } from "./texts.js";

/** What a profile does with a code beyond its one-line meaning, where dialects are known to part. */
function habit(code: string, p: Profile): string | undefined {
  switch (code) {
    case "G2":
    case "G3":
      return say(p.fullCircle ? "habit.circle" : "habit.no-circle");
    case "G4":
      return say(p.dwellWhole === "ms" ? "habit.milliseconds" : "habit.seconds");
    case "G10":
      if (p.l20 === "none") return say("habit.l2");
      return say(p.l20 === "additional" ? "habit.l20-additional" : "habit.l20-current");
    case "G52":
      return p.g52Reach === "all" ? say("habit.g52") : undefined;
    case "G73":
    case "G83": {
      const back = say("habit.back-off", { length: p.backOff });
      return code === "G73" ? back : say(p.peckRetract === "R" ? "habit.peck-r" : "habit.peck-initial", { back });
    }
    case "G98":
      return say(p.returnDefault === "R" ? "habit.return-r" : "habit.return-initial");
    case "M2":
    case "M30":
      return p.resetAtEnd ? say("habit.resets", { codes: p.atEnd.join(" ") }) : say("habit.resets-nothing");
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
    const way = info === undefined ? say("habit.no-code") : `${told(info.meaning)}${more === undefined ? "" : `; ${more}`}`;
    ways.set(way, [...(ways.get(way) ?? []), profile.name]);
  }
  return ways.size < 2 ? [] : [...ways].map(([way, names]) => `${names.join(", ")}: ${way}`);
}
