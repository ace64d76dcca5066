import { renderMessage } from "../engine/checks/wording.js";
import { followingOffset, offsetKeys, spellOffset } from "../engine/dialect/offsets.js";
import type { Finding, Fix, TextChange } from "../engine/findings.js";
import type { Fixture, Station } from "../engine/fixture/model.js";
import type { Host } from "../engine/host.js";
import { splitLines } from "../engine/syntax/lexer.js";
import type { Place } from "../engine/text/place.js";
import { collide } from "./edits.js";
import { effectOf } from "./preview.js";
import { say } from "./texts.js";
import type { View } from "./view.js";

/** Something a person may do about a finding. */
export interface Action {
  readonly title: string;
  /** "fix" changes the program or sidecar as the finding asks; "allow" writes an ALLOW comment. */
  readonly kind: "fix" | "allow";
  /** The one step to take: only where the motion provably stays the same, or only the sidecar's spelling is mended. */
  readonly preferred: boolean;
  readonly finding: Finding;
  readonly changes: readonly TextChange[];
  /** Where in the changes a person still has to write: the text to replace, as it stands in the last change. */
  readonly write?: string;
}

/** What actions are computed from: the findings of one file and the files as they are. */
export interface ActionInput {
  readonly findings: readonly Finding[];
  readonly fixture: Fixture | undefined;
  /** The view of the program that a finding comes from, for showing what a fix does to its motion. */
  viewOf(finding: Finding): View | undefined;
  readonly host: Host;
}

/** At most so many fixes are shown with the effect that running the program with them has. */
const MOST_PREVIEWS = 16;

/** Actions for the findings that stand on some lines of a file: fixes first, in the order of the findings. */
export function actionsAt(input: ActionInput, file: string, fromLine: number, toLine: number): Action[] {
  const at = input.findings.filter(
    (f) => f.waived === undefined && f.place.file === file && f.place.range.line <= toLine && f.place.range.endLine >= fromLine,
  );
  const out: Action[] = [];
  let previews = 0;
  for (const finding of at) {
    for (const fix of fixesOf(input, finding)) {
      const title = titleOf(input, finding, fix);
      const view = input.viewOf(finding);
      const inProgram = fix.changes.every((c) => !/\.json$/i.test(c.place.file));
      const effect =
        fix.sameMotion || !inProgram || view === undefined || previews >= MOST_PREVIEWS
          ? undefined
          : effectOf(view, input.host, fix.changes);
      if (effect !== undefined) previews++;
      out.push({
        title: effect === undefined ? title : `${title} (${effect})`,
        kind: "fix",
        preferred: fix.sameMotion,
        finding,
        changes: fix.changes,
      });
    }
  }
  for (const finding of at) {
    const allow = allowOf(input, finding);
    if (allow !== undefined && !out.some((o) => o.title === allow.title)) out.push(allow);
  }
  return out;
}

/** All fixes of a file that change no motion, as far as they do not touch each other. */
export function sameMotionChanges(findings: readonly Finding[], file: string): TextChange[] {
  const out: TextChange[] = [];
  for (const finding of findings) {
    if (finding.waived !== undefined || finding.place.file !== file) continue;
    const fix = finding.fixes.find((f) => f.sameMotion);
    if (fix === undefined || fix.changes.some((c) => c.place.file !== file) || collide(out, fix.changes)) continue;
    out.push(...fix.changes);
  }
  return out;
}

function titleOf(input: ActionInput, finding: Finding, fix: Fix): string {
  return renderMessage(finding.rule, fix.title, { units: input.fixture?.units ?? "mm" });
}

/** The fixes a rule gave; for the sidecar's own rules those that their facts lead to. */
function fixesOf(input: ActionInput, finding: Finding): readonly Fix[] {
  if (finding.fixes.length > 0 || !finding.rule.startsWith("fixture-")) return finding.fixes;
  return sidecarFixes(input, finding);
}

function sidecarFixes({ fixture, host }: ActionInput, finding: Finding): Fix[] {
  const words = (text: string) => ({ key: text, args: {} });
  const replace = (place: Place, text: string): TextChange => ({ place, text });
  const data = finding.data ?? {};
  if (finding.rule === "fixture-notch") {
    const best = data.best;
    const other = Array.isArray(data.valid) ? data.valid.filter((n): n is number => typeof n === "number" && n !== best) : [];
    if (typeof best !== "number") return [];
    const places = [finding.place, ...finding.related.filter((r) => r.message.key === "related.other").map((r) => r.place)];
    if (textAt(host, finding.place)?.match(/^-?\d+$/) == null) return [];
    return [best, ...other.slice(0, 4)].map((n) => ({
      title: words(say(n === best ? "action.notch-best" : "action.notch-fits", { notch: n })),
      changes: places.map((p) => replace(p, String(n))),
      sameMotion: false,
    }));
  }
  if (finding.rule === "fixture-format") {
    const nearest = data.nearest;
    if (typeof nearest !== "string" || nearest === "") return [];
    const text = textAt(host, finding.place);
    const quoted = text?.match(/^"(?:[^"\\]|\\.)*"$/) != null;
    if (!quoted) return [];
    return [
      {
        title: words(say("action.nearest", { name: JSON.stringify(nearest) })),
        changes: [replace(finding.place, JSON.stringify(nearest))],
        sameMotion: false,
      },
    ];
  }
  if (finding.rule === "fixture-register-shared" && fixture !== undefined) {
    // The finding stands at one of the stations that it names, which is not always the first of them.
    const station = fixture.stations.find((s) => isSame(fixture.placeOf(["stations", s.source, "offset"]), finding.place));
    const group = fixture.stations.filter((s) => s.source === station?.source);
    const text = textAt(host, finding.place);
    if (station === undefined || text === undefined || !/^"/.test(text)) return [];
    const free = nextFree(fixture, group);
    if (free === undefined) return [];
    const name = spellOffset(free, fixture.machine.profile);
    const marks = { station: station.id, offset: name, count: group.length };
    const title = say(group.length > 1 ? "action.registers" : "action.register", marks);
    return [{ title: words(title), changes: [replace(finding.place, JSON.stringify(name))], sameMotion: false }];
  }
  return [];
}

/** The first register behind which a group of stations finds as many free ones in a row as it has members. */
function nextFree(fixture: Fixture, group: readonly Station[]): string | undefined {
  const { profile } = fixture.machine;
  const taken = new Set<string>([
    ...fixture.stations.filter((s) => !group.includes(s)).flatMap((s) => (s.offset === undefined ? [] : [s.offset])),
    ...fixture.unresolved.flatMap((s) => (s.offset === undefined ? [] : [s.offset])),
    ...fixture.datums.keys(),
  ]);
  const kind = (key: string) => /^P\d/.test(key);
  const like = group[0]?.offset;
  const keys = offsetKeys(profile);
  // Registers of the kind that the station has already come first: a series stays a series.
  const ordered =
    like === undefined ? keys : [...keys.filter((k) => kind(k) === kind(like)), ...keys.filter((k) => kind(k) !== kind(like))];
  return ordered.find((first) =>
    group.every((_, n) => {
      const key = n === 0 ? first : followingOffset(first, n, profile);
      return key !== undefined && !taken.has(key);
    }),
  );
}

function isSame(a: Place, b: Place): boolean {
  return a.file === b.file && a.range.line === b.range.line && a.range.column === b.range.column;
}

/** The text of a place that lies within one line. */
function textAt(host: Host, place: Place): string | undefined {
  const { range, file } = place;
  if (range.line !== range.endLine) return undefined;
  const text = host.read(file);
  return text === undefined ? undefined : splitLines(text)[range.line]?.slice(range.column, range.endColumn);
}

/** Column behind what stands on a line before a comment that runs to its end: behind that one nothing else is read. */
function endOfBlock(line: string): number {
  let depth = 0;
  for (let i = 0; i < line.length; i++) {
    if (line[i] === "(") depth = 1;
    else if (line[i] === ")") depth = 0;
    else if (line[i] === ";" && depth === 0) return line.slice(0, i).trimEnd().length;
  }
  return line.trimEnd().length;
}

/** An ALLOW comment on the finding's block, with the reason still to be written. */
function allowOf({ host }: ActionInput, finding: Finding): Action | undefined {
  const { rule, place } = finding;
  // What makes the text unreadable cannot be waived in that text, and an unused comment not by another one.
  if (rule === "syntax" || rule === "allow-unused" || rule === "fixture-format") return undefined;
  const sidecar = /\.json$/i.test(place.file);
  const text = host.read(place.file);
  if (text === undefined) return undefined;
  const line = splitLines(text)[place.range.line] ?? "";
  const column = sidecar ? 0 : endOfBlock(line);
  const at: Place = {
    file: place.file,
    range: sidecar
      ? { line: place.range.endLine, column: place.range.endColumn, endLine: place.range.endLine, endColumn: place.range.endColumn }
      : { line: place.range.line, column, endLine: place.range.line, endColumn: column },
  };
  const reason = say("action.reason");
  const comment = sidecar ? ` /* ALLOW ${rule}: ${reason} */` : `${line.trim() === "" ? "" : " "}(ALLOW ${rule}: ${reason})`;
  return {
    title: say("action.allow", { rule }),
    kind: "allow",
    preferred: false,
    finding,
    changes: [{ place: at, text: comment }],
    write: reason,
  };
}
