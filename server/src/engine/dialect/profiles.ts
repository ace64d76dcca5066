import { nearest } from "../text/nearest.js";
import { bareCodes, g154Codes, isoCodes, rs274ngcCodes } from "./codes.js";
import type { CodeInfo, CodeUse, OffsetSpelling, OffsetVariables, OrderStep, Profile } from "./profile.js";

const PLAIN_OFFSETS: readonly OffsetSpelling[] = [54, 55, 56, 57, 58, 59].map((n) => ({ code: `G${n}`, p: undefined, key: `G${n}` }));
const PLAIN_KEYS = PLAIN_OFFSETS.map((s) => s.key);

/**
 * Order in which ISO-type controls let the words of a block act (common practice, no source): what switches on goes
 * before the motion of the block, what stops goes behind it.
 */
const ISO_ORDER: readonly OrderStep[] = [
  "comment",
  "feed-mode",
  "feed",
  "speed",
  "tool",
  "change",
  "spindle-on",
  "coolant",
  "override",
  "dwell",
  "plane",
  "units",
  "compensation",
  "length",
  "offset",
  "path-control",
  "distance",
  "return-level",
  "reference-and-registers",
  "motion",
  "spindle-off",
  "call",
  "stop",
];

/** NISTIR 6556, Table 8. */
const NIST_ORDER: readonly OrderStep[] = [
  "comment",
  "feed-mode",
  "feed",
  "speed",
  "tool",
  "change",
  "spindle-on",
  "spindle-off",
  "coolant",
  "override",
  "dwell",
  "plane",
  "units",
  "compensation",
  "length",
  "offset",
  "path-control",
  "distance",
  "return-level",
  "reference-and-registers",
  "motion",
  "stop",
];

/** Argument assignment I of the macro form: common practice, no source. */
const MACRO_ARGUMENTS: Readonly<Record<string, number>> = {
  A: 1,
  B: 2,
  C: 3,
  I: 4,
  J: 5,
  K: 6,
  D: 7,
  E: 8,
  F: 9,
  H: 11,
  M: 13,
  Q: 17,
  R: 18,
  S: 19,
  T: 20,
  U: 21,
  V: 22,
  W: 23,
  X: 24,
  Y: 25,
  Z: 26,
};

/** Variables of the work offsets: 5221… as in NISTIR 6556 §3.2.1; the additional ones are common practice, no source. */
const ISO_OFFSET_VARIABLES: readonly OffsetVariables[] = [
  { first: 5201, stride: 20, keys: ["shift"], count: 1 },
  { first: 5221, stride: 20, keys: PLAIN_KEYS, count: 6 },
  { first: 7001, stride: 20, keys: [], count: 48 },
  { first: 14001, stride: 20, keys: [], count: 300 },
];

/** Rulings 18, 33, 34, 38 and 39 of the project's contract; the rest is common practice (no source). */
const iso: Profile = {
  name: "iso",
  extends: undefined,
  summary: "ISO 6983 as milling machine controls commonly extend it",
  codes: isoCodes,
  letters: "ABCDEFGHIJKLMPQRSTUVWXYZ",
  offsets: [...PLAIN_OFFSETS, { code: "G54.1", p: [1, 300], key: "P1" }, { code: "G54", p: [1, 300], key: "P1" }],
  commonShift: true,
  offsetVariables: ISO_OFFSET_VARIABLES,
  positionVariables: { blockEnd: 5001, machine: 5021, program: 5041 },
  wholeNumber: "unit",
  increment: 0.001,
  incrementLetters: "XYZUVWABCIJKRQ",
  l20: "additional",
  g52Reach: "all",
  g92: "all",
  peckRetract: "R",
  backOff: 1,
  repeatLetters: ["L", "K"],
  repeatZero: "store",
  returnDefault: "initial",
  fullCircle: true,
  resetAtEnd: true,
  initial: ["G0", "G17", "G90", "G94", "G40", "G49", "G80", "G98", "G54"],
  atEnd: ["G0", "G17", "G90", "G94", "G40", "G49", "G80", "G98", "G54"],
  dwellWhole: "ms",
  dwellPoint: "s",
  dwellLetters: "PXU",
  packedRepeat: false,
  calls: { subprogram: true, local: true, macro: true, modalMacro: true },
  macroArguments: MACRO_ARGUMENTS,
  variables: { local: [1, 33], common: [100, 199], persistent: [500, 999] },
  lengthBy: "G43",
  g10Incremental: true,
  rapidPath: "either",
  helixFeed: "helix",
  // End points are written to three or four decimals, so the radii of an honest arc differ by a few of the last.
  arcTolerance: { mm: 0.02, inch: 0.001 },
  comments: { semicolon: true, nested: false, unclosedIsError: true },
  messages: false,
  expressions: "macro",
  loopDepth: 3,
  ignoredStatements: ["POPEN", "PCLOS", "DPRNT", "BPRNT", "SETVN"],
  programWords: true,
  colon: "program",
  numberedSkip: true,
  cornerWords: true,
  strictBlocks: false,
  toolSlots: undefined,
  parameterCount: 99999,
  offsetsDefaultZero: false,
  order: ISO_ORDER,
};

const g154: Profile = {
  ...iso,
  name: "g154",
  extends: "iso",
  summary: "`iso` with G154 P1 to P99 as the additional work offsets",
  codes: g154Codes,
  offsets: [...PLAIN_OFFSETS, { code: "G154", p: [1, 99], key: "P1" }],
  offsetVariables: [
    { first: 5201, stride: 20, keys: ["shift"], count: 1 },
    { first: 5221, stride: 20, keys: PLAIN_KEYS, count: 6 },
    { first: 7001, stride: 20, keys: [], count: 20 },
    { first: 14001, stride: 20, keys: [], count: 99 },
  ],
  repeatLetters: ["L"],
};

const NGC_OFFSETS: readonly OffsetSpelling[] = [
  ...PLAIN_OFFSETS,
  { code: "G59.1", p: undefined, key: "G59.1" },
  { code: "G59.2", p: undefined, key: "G59.2" },
  { code: "G59.3", p: undefined, key: "G59.3" },
];

/** NISTIR 6556 (Kramer, Proctor, Messina, 2000): the sections are named beside the values. */
const rs274ngc: Profile = {
  ...iso,
  name: "rs274ngc",
  summary: "RS274/NGC as published in NISTIR 6556",
  codes: rs274ngcCodes,
  letters: "ABCDFGHIJKLMPQRSTXYZ", // Table 3, App. E.3
  offsets: NGC_OFFSETS,
  commonShift: false,
  offsetVariables: [{ first: 5221, stride: 20, keys: NGC_OFFSETS.map((s) => s.key), count: 9 }], // Table 2
  positionVariables: undefined,
  l20: "none", // §3.5.5
  g52Reach: "none",
  peckRetract: "initial", // §3.5.16.4: back out to the clear plane, which G98 and G99 choose
  backOff: 0.254, // ruling 33; the report gives no amount
  repeatLetters: ["L"],
  repeatZero: "error", // §3.5.16
  fullCircle: false, // §3.5.3.2
  initial: ["G80", "G17", "G90", "G94", "G40", "G49", "G98", "G54"],
  atEnd: ["G92.2", "G54", "G17", "G90", "G94", "M48", "G40", "M5", "G1", "M9"], // §3.6.1
  dwellWhole: "s", // §3.5.4
  dwellLetters: "P",
  calls: { subprogram: false, local: false, macro: false, modalMacro: false },
  macroArguments: {},
  variables: { local: undefined, common: undefined, persistent: [1, 5399] },
  g10Incremental: false,
  rapidPath: "straight",
  arcTolerance: { mm: 0.002, inch: 0.0002 }, // §3.5.3.2
  comments: { semicolon: false, nested: false, unclosedIsError: true }, // §3.3.4
  messages: true,
  expressions: "rs274ngc",
  loopDepth: 0,
  ignoredStatements: [],
  programWords: false,
  colon: "none",
  numberedSkip: false,
  cornerWords: false,
  strictBlocks: true,
  toolSlots: 68, // §3.5.11
  parameterCount: 5399, // §3.3.2.1
  offsetsDefaultZero: true, // Table 2
  order: NIST_ORDER,
};

/** Only what ISO 6983-1 assigns: see bareCodes. Structure from memory of ISO 6983-1, whose text was not retrieved. */
const bare: Profile = {
  ...iso,
  name: "bare",
  summary: "only what ISO 6983-1 itself assigns",
  codes: bareCodes,
  letters: "ABCDEFGHIJKLMPQRSTUVWXYZ",
  offsets: [],
  commonShift: false,
  offsetVariables: [],
  positionVariables: undefined,
  wholeNumber: "increment",
  l20: "none",
  g52Reach: "none",
  calls: { subprogram: false, local: false, macro: false, modalMacro: false },
  macroArguments: {},
  variables: undefined,
  initial: ["G0", "G17", "G90", "G94", "G40", "G80"],
  atEnd: ["G0", "G17", "G90", "G94", "G40", "G80"],
  g10Incremental: false,
  comments: { semicolon: false, nested: false, unclosedIsError: true },
  expressions: "none",
  loopDepth: 0,
  ignoredStatements: [],
  programWords: false,
  colon: "label",
  numberedSkip: false,
  cornerWords: false,
  parameterCount: 0,
};

/** The dialects that a sidecar can name or extend. */
export const builtInProfiles: ReadonlyMap<string, Profile> = new Map([iso, rs274ngc, g154, bare].map((p) => [p.name, p]));

/** Built-in profile by name; undefined when there is none of that name. */
export function profileOf(name: string): Profile | undefined {
  return builtInProfiles.get(name);
}

/** What is wrong with a user's dialect: the path of keys it stands at, and a sentence that names the nearest right one. */
export interface DialectProblem {
  readonly path: readonly string[];
  readonly text: string;
}

type Check = (value: unknown, at: readonly string[], say: (path: readonly string[], text: string) => void) => unknown;

const REFUSED = Symbol("refused");

function quoted(value: unknown): string {
  const text = JSON.stringify(value) ?? String(value);
  return text.length > 40 ? `${text.slice(0, 40)}…` : text;
}

function oneOf(...choices: readonly string[]): Check {
  return (value, at, say) => {
    if (typeof value === "string" && choices.includes(value)) return value;
    const near = typeof value === "string" ? nearest(value, choices) : undefined;
    const list = choices.map((c) => `"${c}"`).join(" or ");
    say(at, `${quoted(value)} is none of ${list}${near !== undefined && choices.length > 1 ? `; the nearest is "${near}"` : ""}`);
    return REFUSED;
  };
}

const flag: Check = (value, at, say) => {
  if (typeof value === "boolean") return value;
  say(at, `${quoted(value)} is neither true nor false`);
  return REFUSED;
};

function numeric(low: number, allowed: boolean): Check {
  return (value, at, say) => {
    if (typeof value === "number" && Number.isFinite(value) && (allowed ? value >= low : value > low)) return value;
    say(at, `${quoted(value)} is no number ${allowed ? "of at least" : "greater than"} ${low}`);
    return REFUSED;
  };
}

const wholeNumber: Check = (value, at, say) => {
  if (typeof value === "number" && Number.isInteger(value) && value >= 0) return value;
  say(at, `${quoted(value)} is no whole number of at least 0`);
  return REFUSED;
};

/** Letters as one string or as a list. */
function letters(list: boolean): Check {
  return (value, at, say) => {
    const all = typeof value === "string" ? [...value] : Array.isArray(value) ? value : undefined;
    if (all?.every((l) => typeof l === "string" && /^[A-Za-z]$/.test(l))) {
      const upper = all.map((l) => String(l).toUpperCase());
      return list ? upper : upper.join("");
    }
    say(at, `${quoted(value)} is no list of letters`);
    return REFUSED;
  };
}

function isObject(value: unknown): value is Readonly<Record<string, unknown>> {
  return typeof value === "object" && value !== null && !Array.isArray(value);
}

function fields(known: Readonly<Record<string, Check>>, base: (key: string) => unknown): Check {
  return (value, at, say) => {
    if (!isObject(value)) {
      say(at, `${quoted(value)} is no object`);
      return REFUSED;
    }
    const out: Record<string, unknown> = {};
    for (const key of Object.keys(known)) out[key] = base(key);
    for (const [key, v] of Object.entries(value)) {
      const check = known[key];
      if (check === undefined) {
        say([...at, key], `unknown key "${key}"; the nearest is "${nearest(key, Object.keys(known))}"`);
        continue;
      }
      const result = check(v, [...at, key], say);
      if (result !== REFUSED) out[key] = result;
    }
    return out;
  };
}

/** The codes of a range such as "G54-G59", each by itself; anything else as it is. */
function codesOfRange(value: unknown): readonly unknown[] {
  const m = typeof value === "string" ? /^G\s*(\d{1,3})\s*(?:-|–|to|\.\.)\s*G\s*(\d{1,3})$/i.exec(value.trim()) : null;
  if (m === null) return [value];
  const [from, to] = [Number(m[1]), Number(m[2])];
  return from > to ? [value] : Array.from({ length: to - from + 1 }, (_, i) => `G${from + i}`);
}

/** "G54", "G54.1 P1-P48", or { code, p: [from, to], key, remove }. */
function readSpelling(value: unknown): (OffsetSpelling & { remove: boolean }) | string {
  if (typeof value === "string") {
    const m = /^G\s*(\d+(?:\.\d)?)\s*(?:P\s*(\d+)\s*(?:-|–|to|\.\.)\s*P?\s*(\d+))?$/i.exec(value.trim());
    if (m === null) return `${quoted(value)} is no offset spelling such as "G54" or "G54.1 P1-P48"`;
    const code = `G${Number(m[1])}`;
    const p = m[2] === undefined ? undefined : ([Number(m[2]), Number(m[3])] as const);
    if (p !== undefined && p[0] > p[1]) return `${quoted(value)} counts backward`;
    return { code, p, key: p === undefined ? code : `P${p[0]}`, remove: false };
  }
  if (!isObject(value)) return `${quoted(value)} is no offset spelling such as "G54" or {"code": "G54.1", "p": [1, 48]}`;
  for (const key of Object.keys(value)) {
    if (!["code", "p", "key", "remove"].includes(key))
      return `unknown key "${key}"; the nearest is "${nearest(key, ["code", "p", "key", "remove"])}"`;
  }
  const m = typeof value.code === "string" ? /^G\s*(\d+(?:\.\d)?)$/i.exec(value.code.trim()) : null;
  if (m === null) return `${quoted(value.code)} is no code such as "G54.1"`;
  const code = `G${Number(m[1])}`;
  const p: unknown = value.p;
  let range: readonly [number, number] | undefined;
  if (p !== undefined && p !== null) {
    if (!Array.isArray(p) || p.length !== 2 || !p.every((n) => Number.isInteger(n) && n >= 0) || p[0] > p[1]) {
      return `${quoted(p)} is no range of P such as [1, 48]`;
    }
    range = [Number(p[0]), Number(p[1])];
  }
  if (value.key !== undefined && (typeof value.key !== "string" || !/^(?:G\d+(?:\.\d)?|P\d+)$/.test(value.key))) {
    return `${quoted(value.key)} is no register such as "G54" or "P1"`;
  }
  const key = typeof value.key === "string" ? value.key : range === undefined ? code : `P${range[0]}`;
  return { code, p: range, key, remove: value.remove === true };
}

/** Spellings stated by a user replace those of the same code and form; new ones are added; `remove` takes one away. */
function offsetList(base: Profile): Check {
  return (value, at, say) => {
    if (!Array.isArray(value)) {
      say(at, `${quoted(value)} is no list of offset spellings`);
      return REFUSED;
    }
    let list = [...base.offsets];
    value.forEach((entry: unknown, i) => {
      for (const one of codesOfRange(entry)) {
        const read = readSpelling(one);
        if (typeof read === "string") {
          say([...at, String(i)], read);
          return;
        }
        const { remove, ...spelling } = read;
        const same = (s: OffsetSpelling): boolean => s.code === spelling.code && (s.p === undefined) === (spelling.p === undefined);
        if (remove) list = list.filter((s) => !same(s));
        else if (list.some(same)) list = list.map((s) => (same(s) ? spelling : s));
        else list.push(spelling);
      }
    });
    return list;
  };
}

const USES: readonly string[] = ["executed", "ignored", "opaque", "unknown"];

/**
 * Codes of a user: "M71": "ignored", or {"use", "group", "meaning", "axes"}; "unknown" takes a code away. What a code
 * does cannot be stated as data, so "executed" is only for codes that some built-in profile executes.
 */
function codeTable(base: Profile): Check {
  return (value, at, say) => {
    if (!isObject(value)) {
      say(at, `${quoted(value)} is no object of codes`);
      return REFUSED;
    }
    const codes = new Map(base.codes);
    for (const [name, entry] of Object.entries(value)) {
      const path = [...at, name];
      const m = /^([GM])\s*(\d+(?:\.\d+)?)$/i.exec(name.trim());
      if (m === null) {
        say(path, `"${name}" is no code such as "M71"`);
        continue;
      }
      const code = `${(m[1] as string).toUpperCase()}${Number(m[2])}`;
      const known = codes.get(code) ?? [...builtInProfiles.values()].map((p) => p.codes.get(code)).find((c) => c?.use === "executed");
      const detail = isObject(entry) ? entry : { use: entry };
      const wrong = Object.keys(detail).find((k) => !["use", "group", "meaning", "axes"].includes(k));
      if (wrong !== undefined) {
        say([...path, wrong], `unknown key "${wrong}"; the nearest is "${nearest(wrong, ["use", "group", "meaning", "axes"])}"`);
        continue;
      }
      const use = detail.use ?? known?.use;
      if (typeof use !== "string" || !USES.includes(use)) {
        say(path, `${quoted(use)} is none of ${USES.map((u) => `"${u}"`).join(", ")}`);
        continue;
      }
      if (use === "unknown") {
        codes.delete(code);
        continue;
      }
      if (use === "executed" && known?.use !== "executed") {
        say(path, `what ${code} does is not known to any built-in dialect, so it cannot be executed; say "ignored" or "opaque"`);
        continue;
      }
      const info: CodeInfo = {
        code,
        group: typeof detail.group === "string" ? detail.group : (known?.group ?? (code.startsWith("G") ? "0" : "auxiliary")),
        use: use as CodeUse,
        takesAxes: typeof detail.axes === "boolean" ? detail.axes : (known?.takesAxes ?? false),
        meaning: typeof detail.meaning === "string" ? detail.meaning : (known?.meaning ?? "Function of this machine"),
      };
      codes.set(code, info);
    }
    return codes;
  };
}

/** Every key that a user's dialect may state, with its check. */
function checks(base: Profile): Readonly<Record<string, Check>> {
  return {
    wholeNumber: oneOf("unit", "increment"),
    increment: numeric(0, false),
    incrementLetters: letters(false),
    letters: letters(false),
    offsets: offsetList(base),
    codes: codeTable(base),
    l20: oneOf("additional", "current", "none"),
    commonShift: flag,
    g52Reach: oneOf("all", "none"),
    g92: oneOf("all"),
    peckRetract: oneOf("R", "initial"),
    backOff: numeric(0, true),
    repeatLetters: letters(true),
    repeatZero: oneOf("store", "error"),
    returnDefault: oneOf("initial", "R"),
    fullCircle: flag,
    resetAtEnd: flag,
    dwellWhole: oneOf("ms", "s"),
    dwellPoint: oneOf("s", "ms"),
    dwellLetters: letters(false),
    packedRepeat: flag,
    calls: fields({ subprogram: flag, local: flag, macro: flag, modalMacro: flag }, (k) => base.calls[k as keyof Profile["calls"]]),
    lengthBy: oneOf("G43", "control"),
    g10Incremental: flag,
    rapidPath: oneOf("straight", "independent", "either"),
    helixFeed: oneOf("helix", "plane"),
    arcTolerance: fields({ mm: numeric(0, false), inch: numeric(0, false) }, (k) => base.arcTolerance[k as keyof Profile["arcTolerance"]]),
    comments: fields({ semicolon: flag, nested: flag, unclosedIsError: flag }, (k) => base.comments[k as keyof Profile["comments"]]),
    messages: flag,
    expressions: oneOf("macro", "rs274ngc", "none"),
    programWords: flag,
    colon: oneOf("program", "label", "none"),
    numberedSkip: flag,
    cornerWords: flag,
    strictBlocks: flag,
    offsetsDefaultZero: flag,
    parameterCount: wholeNumber,
    loopDepth: wholeNumber,
  };
}

/** Names of the keys that `extendProfile` accepts besides `extends` and `name`, for schemas and completion. */
export const profileKeys: readonly string[] = Object.keys(checks(iso));

/**
 * A user's dialect: `base` with the stated differences. Unknown keys and values that do not fit are left out of the
 * profile and come back as problems that name the nearest right one; `details` says where each of them stands.
 * The resulting profile is usable in any case.
 */
export function extendProfile(
  base: Profile,
  overrides: object,
): { readonly profile: Profile; readonly problems: string[]; readonly details: readonly DialectProblem[] } {
  const details: DialectProblem[] = [];
  const say = (path: readonly string[], text: string): void => {
    details.push({ path, text });
  };
  const known = checks(base);
  const out: Record<string, unknown> = { ...base, extends: base.name, name: `${base.name}, extended` };
  for (const [key, value] of Object.entries(overrides)) {
    if (key === "extends") continue;
    if (key === "name" && typeof value === "string") {
      out.name = value;
      continue;
    }
    const check = Object.hasOwn(known, key) ? known[key] : undefined;
    if (check === undefined) {
      say([key], `unknown key "${key}"; the nearest is "${nearest(key, ["extends", "name", ...profileKeys])}"`);
      continue;
    }
    const result = check(value, [key], say);
    if (result !== REFUSED) out[key] = result;
  }
  // A spelling of an offset is a code of its own.
  const codes = new Map(out.codes as Profile["codes"]);
  for (const s of out.offsets as Profile["offsets"]) {
    const info = codes.get(s.code);
    if (info?.group === "offset" && info.use === "executed") continue;
    codes.set(s.code, {
      code: s.code,
      group: "offset",
      use: "executed",
      takesAxes: false,
      meaning: s.p === undefined ? "Work offset" : "Work offset P",
    });
  }
  out.codes = codes;
  // The level that is in force until one is stated is also the one that the control starts with, and resets to.
  const level = out.returnDefault === "R" ? "G99" : "G98";
  const restate = (list: readonly string[]): readonly string[] => list.map((code) => (code === "G98" || code === "G99" ? level : code));
  out.initial = restate(base.initial);
  out.atEnd = restate(base.atEnd);
  if (out.expressions !== base.expressions) {
    if (out.expressions === "none") out.variables = undefined;
    else if (base.variables === undefined) {
      out.variables = out.expressions === "macro" ? iso.variables : rs274ngc.variables;
      if (!Object.hasOwn(overrides, "parameterCount"))
        out.parameterCount = out.expressions === "macro" ? iso.parameterCount : rs274ngc.parameterCount;
    }
    if (out.expressions === "macro" && base.loopDepth === 0 && !Object.hasOwn(overrides, "loopDepth")) out.loopDepth = iso.loopDepth;
  }
  const calls = out.calls as Profile["calls"];
  if (calls.macro && Object.keys(base.macroArguments).length === 0) out.macroArguments = MACRO_ARGUMENTS;
  // Every key was checked above against the type that the profile declares for it.
  return {
    profile: Object.assign({ ...base }, out as Partial<Profile>),
    problems: details.map((d) => `${d.path.join(".")}: ${d.text}`),
    details,
  };
}

/**
 * The profile for the value of `machine.dialect` in a sidecar: a name, or an object with `extends` (default `iso`).
 * Problems as in extendProfile, with an empty path for the value itself; the profile is `iso` when nothing else fits.
 */
export function resolveDialect(value: unknown): { readonly profile: Profile; readonly problems: readonly DialectProblem[] } {
  const names = [...builtInProfiles.keys()];
  const byName = (name: unknown, path: readonly string[]): { profile: Profile; problem: DialectProblem | undefined } => {
    const found = typeof name === "string" ? profileOf(name) : undefined;
    if (found !== undefined) return { profile: found, problem: undefined };
    const near = typeof name === "string" ? nearest(name, names) : undefined;
    return {
      profile: iso,
      problem: { path, text: `${quoted(name)} is no built-in dialect (${names.join(", ")})${near ? `; the nearest is "${near}"` : ""}` },
    };
  };
  if (!isObject(value)) {
    const { profile, problem } = byName(value, []);
    return { profile, problems: problem ? [problem] : [] };
  }
  const { profile: base, problem } =
    value.extends === undefined ? { profile: iso, problem: undefined } : byName(value.extends, ["extends"]);
  const { profile, details } = extendProfile(base, value);
  return { profile, problems: problem ? [problem, ...details] : details };
}
