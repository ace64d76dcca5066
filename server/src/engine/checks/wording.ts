import type { Arg, Args, Message } from "../findings.js";
import { machineMessages } from "../machine/messages.js";
import { rules } from "./registry.generated.js";

/** How messages are shown: units of lengths and the language of the templates. */
export interface Style {
  readonly units: "mm" | "inch";
  /** A BCP 47 tag; languages without a table fall back to the texts of the rules. */
  readonly locale?: string;
}

/** Texts that several rules use. */
const COMMON: Readonly<Record<string, string>> = {
  "related.called-from": "called from here",
  "related.skip-on": "only with block skip on, which leaves this out",
  "related.also-at": "also at station {station}",
  "related.repeat": "the same here",
  "related.also": "also here",
};

/** Texts of the pseudo rule "not-checked": what was not looked at, and why. */
const NOT_CHECKED: Readonly<Record<string, string>> = {
  "what.fixture": "stations, work offsets and clearances",
  "what.holders": "holders, drill points and the width of the tool",
  "what.travel": "travel limits",
  "what.tool": "clearances and travel of tool T{tool}",
  "what.length-of-tool": "travel in Z and holder of tool T{tool}",
  "what.width-of-tool": "the width of tool T{tool}; it is taken as a line",
  "what.holder-of-tool": "the holder of tool T{tool}",
  "what.solid": "the {solid} of {stations}",
  "what.station-position": "the position of station {station}",
  "what.move": "the motion of line {line}",
  "what.moves": "{count} moves from line {line} on",
  "what.rest": "the rest of the program",
  "what.program": "the program {file}",
  "what.part": "motion of O{program}",
  "what.rule": "rule {rule}",
  "what.level": "the level set for {rule}",
  "what.empty": "the station {station} marked as empty",
  "what.offsets-stored": "what the control holds in its work offsets",
  "what.time": "the time of rapids; the times given are those of the other moves",
  "why.no-rapid": "the sidecar gives no rapid rate for {axes}",
  "why.no-fixture": "no sidecar was found for this program",
  "why.fixture-unusable": "the sidecar has errors that leave no station to check against",
  "why.no-tools": "the sidecar describes no tools",
  "why.no-travel": "the sidecar gives no travel for the machine",
  "why.no-travel-axis": "the sidecar gives no travel for {axis}",
  "why.no-tool": "the sidecar does not describe it",
  "why.no-length": "the sidecar gives no LF for it",
  "why.no-diameter": "the sidecar gives no DC for it",
  "why.no-holder": "the sidecar gives it no shank or no holder",
  "why.no-size": "a size of it is missing in the sidecar",
  "why.no-element": "the sidecar names none",
  "why.no-field": "a field that it needs is missing in the sidecar",
  "why.no-stored": "the sidecar names no stored values, and the program writes none",
  "why.unknown-start": "where the axes stand at the start is not known",
  "why.bound": "the run stopped at its limit",
  "why.unreadable": "the file cannot be read",
  "why.subprogram": "nothing here calls it, so tool, offset and modes at its start are not known",
  "why.internal": "internal error while looking at line {line}: {error}; please report it",
  "why.unknown-rule": "there is no rule of that name",
  "why.unknown-level": "a level is error, warning, information or off",
  "why.unknown-station": "the sidecar has no station of that name",
  "why.position-unknown": "the position of the tool is not known there",
  "why.tool-unknown": "the tool is not known there",
  "why.rotary-undescribed": "the program turns a rotary axis that the sidecar does not describe",
  "why.rotary-unknown": "the angle of the rotary axis is not known there",
  ...machineMessages["not-checked"],
};

let byId: ReadonlyMap<string, Readonly<Record<string, string>>> | undefined;

/** Messages by rule id. Gathered at first use: rules themselves import this file. */
function messagesOf(rule: string): Readonly<Record<string, string>> | undefined {
  byId ??= new Map(rules.map((r) => [r.id, r.messages]));
  return byId.get(rule);
}

/** Rule id (or "not-checked", "common") → key → template. */
export type LanguageTable = Readonly<Record<string, Readonly<Record<string, string>>>>;

/** What a language says between and inside the arguments of a message. */
export interface Vocabulary {
  readonly and: string;
  readonly unknown: string;
  readonly unknownLength: string;
  readonly unknownAngle: string;
  readonly unknownTime: string;
  /** Words that the engine puts into an argument, such as "moving jaw of A2"; others, such as a person's own names, come back as they are. */
  phrase(argument: string, text: string): string;
}

const ENGLISH: Vocabulary = {
  and: "and",
  unknown: "unknown",
  unknownLength: "an unknown length",
  unknownAngle: "an unknown angle",
  unknownTime: "an unknown time",
  phrase: (_argument, text) => text,
};

/** Other languages by their tag. */
const LANGUAGES = new Map<string, { readonly table: LanguageTable; readonly words: Vocabulary }>();

/** Locale of texts whose style names none. */
let usualLocale: string | undefined;

/** Adds a language; templates that it lacks are shown in the rules' own words. */
export function addLanguage(locale: string, table: LanguageTable, words: Vocabulary = ENGLISH): void {
  LANGUAGES.set(locale.toLowerCase(), { table, words });
}

/** Sets the language of this process: one server serves one editor, one run of the command line one person. */
export function setUsualLocale(locale: string | undefined): void {
  usualLocale = locale;
}

/** The language set by `setUsualLocale`; undefined: English. */
export function usualLanguage(): string | undefined {
  return usualLocale;
}

/** The language of a tag such as "de-AT", or of the process where none is given. */
function languageOf(locale: string | undefined): { readonly table: LanguageTable; readonly words: Vocabulary } | undefined {
  const tag = (locale ?? usualLocale)?.toLowerCase();
  return tag === undefined ? undefined : (LANGUAGES.get(tag) ?? LANGUAGES.get(tag.split(/[-_.]/)[0] as string));
}

/**
 * The template of a message. `rule` is a rule id or "not-checked"; keys that a rule's own `messages` hold are found
 * for "not-checked" as "rule-id/key". An unknown key gives undefined.
 */
export function templateOf(rule: string, key: string, locale?: string): string | undefined {
  const slash = rule === "not-checked" ? key.indexOf("/") : -1;
  if (slash > 0) return templateOf(key.slice(0, slash), key.slice(slash + 1), locale);
  const table = languageOf(locale)?.table;
  const text = table?.[rule]?.[key] ?? (rule === "not-checked" ? undefined : table?.common?.[key]);
  if (text !== undefined) return text;
  if (rule === "not-checked") return NOT_CHECKED[key];
  return messagesOf(rule)?.[key] ?? COMMON[key];
}

/** All texts a translation must cover, by rule id. */
export function allTemplates(): Readonly<Record<string, Readonly<Record<string, string>>>> {
  const out: Record<string, Readonly<Record<string, string>>> = { common: COMMON, "not-checked": NOT_CHECKED };
  for (const rule of rules) out[rule.id] = rule.messages;
  return out;
}

/** A message in words. A key without a template shows itself, so that nothing is lost. */
export function renderMessage(rule: string, message: Message, style: Style): string {
  const template = templateOf(rule, message.key, style.locale);
  if (template === undefined)
    return `${message.key} ${Object.values(message.args)
      .map((a) => renderArg(a, style))
      .join(" ")}`.trim();
  return fill(languageOf(style.locale) === undefined ? lowerFirst(template) : template, message.args, style);
}

/** Messages stand behind a rule's name or a place, so they go on in small letters; codes such as G53 keep theirs. */
function lowerFirst(template: string): string {
  return /^[A-Z](?:[a-z]| [a-z])/.test(template) ? template.charAt(0).toLowerCase() + template.slice(1) : template;
}

/** Puts arguments into "{name}" marks; a mark without an argument stays as it is. */
export function fill(template: string, args: Args, style: Style): string {
  return template.replace(/\{([A-Za-z0-9_-]+)\}/g, (mark, name: string) => {
    const arg = args[name];
    return arg === undefined ? mark : renderArg(arg, style, name);
  });
}

/** One argument in words: lengths with their unit, angles with a degree sign, lists with "and". `name` is that of its mark. */
export function renderArg(arg: Arg, style: Style, name = ""): string {
  const words = languageOf(style.locale)?.words ?? ENGLISH;
  if (typeof arg === "string") return words.phrase(name, arg);
  if (typeof arg === "number") return Number.isNaN(arg) ? words.unknown : decimal(arg, 4);
  if ("mm" in arg) return renderLength(arg.mm, style.units, style.locale);
  if ("deg" in arg) return Number.isNaN(arg.deg) ? words.unknownAngle : `${decimal(arg.deg, 4)}°`;
  if ("seconds" in arg) return renderSeconds(arg.seconds, style.locale);
  if ("rate" in arg) return style.units === "mm" ? `${decimal(arg.rate, 1)} mm/min` : `${decimal(arg.rate / 25.4, 2)} inch/min`;
  return joinList(
    arg.list.map((item) => renderArg(item, style, name)),
    style.locale,
  );
}

/** A length in mm as text in the given units: three decimals in mm, four in inch, zeros trimmed. */
export function renderLength(mm: number, units: "mm" | "inch", locale?: string): string {
  if (Number.isNaN(mm)) return (languageOf(locale)?.words ?? ENGLISH).unknownLength;
  return units === "mm" ? `${decimal(mm, 3)} mm` : `${decimal(mm / 25.4, 4)} inch`;
}

/** "12 s", "1 min 40 s", "1 h 2 min". */
export function renderSeconds(seconds: number, locale?: string): string {
  if (Number.isNaN(seconds)) return (languageOf(locale)?.words ?? ENGLISH).unknownTime;
  if (seconds < 60) return `${decimal(seconds, 1)} s`;
  const whole = Math.round(seconds);
  if (whole < 3600) return whole % 60 === 0 ? `${whole / 60} min` : `${Math.floor(whole / 60)} min ${whole % 60} s`;
  const minutes = Math.round(whole / 60);
  return minutes % 60 === 0 ? `${minutes / 60} h` : `${Math.floor(minutes / 60)} h ${minutes % 60} min`;
}

/** A number with at most `places` decimals, without trailing zeros and without a negative zero. */
export function decimal(value: number, places: number): string {
  if (Number.isNaN(value)) return "unknown";
  if (!Number.isFinite(value)) return value > 0 ? "infinite" : "-infinite";
  const text = value.toFixed(places);
  const trimmed = text.includes(".") ? text.replace(/0+$/, "").replace(/\.$/, "") : text;
  return trimmed === "-0" ? "0" : trimmed;
}

/** "A1, A2 and A3". */
function joinList(items: readonly string[], locale?: string): string {
  if (items.length <= 1) return items[0] ?? "";
  const { and } = languageOf(locale)?.words ?? ENGLISH;
  return `${items.slice(0, -1).join(", ")} ${and} ${items[items.length - 1]}`;
}
