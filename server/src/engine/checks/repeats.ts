import type { Finding, Related } from "../findings.js";

/** As many findings of one wording are told one by one: fewer are read and mended each, more are one habit of the program. */
const TOLD = 20;

/** Faults of the text itself: each place has to be typed anew, however many there are. */
const OF_TEXT: ReadonlySet<string> = new Set(["syntax", "fixture-format"]);

/**
 * Folds what is said in the very same words at more than twenty places of one file: the first stands, the others are
 * related to it in their order, with their stations and calling places. A program that enters the stock by the same 0.2 mm
 * a thousand times has one fault, and an editor shows no more than a thousand findings of a file. Order of the rest kept.
 */
export function withoutRepeats(findings: readonly Finding[]): Finding[] {
  const groups = new Map<string, Finding[]>();
  const keyOf = (f: Finding): string => JSON.stringify([f.rule, f.level, f.place.file, f.station, f.message, f.waived]);
  for (const f of findings) {
    if (OF_TEXT.has(f.rule)) continue;
    const key = keyOf(f);
    const group = groups.get(key);
    if (group === undefined) groups.set(key, [f]);
    else group.push(f);
  }
  const folded = new Map<Finding, Finding | undefined>();
  for (const group of groups.values()) {
    if (group.length <= TOLD) continue;
    const [first, ...others] = group;
    if (first === undefined) continue;
    const seen = new Set<string>();
    const related = [
      ...first.related,
      ...others.flatMap((f): Related[] => [{ place: f.place, message: { key: "related.repeat", args: {} } }, ...f.related]),
    ].filter((r) => {
      const text = JSON.stringify(r);
      if (seen.has(text)) return false;
      seen.add(text);
      return true;
    });
    folded.set(first, { ...first, related });
    for (const f of others) folded.set(f, undefined);
  }
  return findings.flatMap((f) => (folded.has(f) ? (folded.get(f) ?? []) : f));
}
