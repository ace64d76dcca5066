import { rules } from "../engine/checks/registry.generated.js";
import { offsetKeys, spellOffset } from "../engine/dialect/offsets.js";
import type { Profile } from "../engine/dialect/profile.js";
import type { Fixture, Station, Tool } from "../engine/fixture/model.js";
import type { Modal } from "../engine/machine/move.js";
import { codeOf, parseLine, partOfLine } from "../engine/syntax/parse.js";
import { baseName } from "../engine/text/path.js";
import { dialectDifferences } from "./dialects.js";
import { callOf, type Neighbourhood, occurrencesOf } from "./names.js";
import { stateAt } from "./state.js";
import { lengthNumber, plain, renderLength } from "./text.js";
import { say, told } from "./texts.js";
import type { Position, View } from "./view.js";
import { cycleParameters, LETTERS } from "./words.js";

export type EntryKind = "offset" | "tool" | "code" | "register" | "program" | "label" | "variable" | "word" | "file" | "key" | "value";

/** One thing that may be written at the cursor. */
export interface Entry {
  readonly label: string;
  readonly kind: EntryKind;
  /** Short, beside the label. */
  readonly detail: string;
  /** Markdown. */
  readonly documentation: string;
  /** Text that replaces from `start` to `end`; default the label. */
  readonly insert?: string;
  /** What the typed text is compared with; default the label. */
  readonly filter?: string;
  readonly sort: string;
  readonly preselect?: boolean;
}

export interface Completions {
  /** Columns of what is replaced. */
  readonly start: number;
  readonly end: number;
  readonly entries: readonly Entry[];
  /** Entries were left out because of what is typed already: with the next key there may be others. */
  readonly narrowed?: boolean;
}

/** What completion in a program is computed from. */
export interface CompletionInput {
  readonly profile: Profile;
  readonly fixture: Fixture | undefined;
  readonly near: Neighbourhood | undefined;
  readonly view: View | undefined;
  readonly file: string;
  /** Lines as they are now. */
  readonly lines: readonly string[];
  /** Line of the analysed text at or above the cursor's. */
  readonly old: number;
  /** Names of sidecars in the folder. */
  readonly sidecars: readonly string[];
}

const NONE: readonly Entry[] = [];

/** What may be written at a position of a program. */
export function completionsAt(input: CompletionInput, position: Position): Completions {
  const { profile, lines } = input;
  const line = lines[position.line] ?? "";
  const before = line.slice(0, position.column);
  const comment = /\(([^()]*)$/.exec(before);
  if (comment !== null) return inComment(input, comment[1] ?? "", before, line);
  if (/^[^(]*;/.test(before.replace(/\([^)]*\)/g, ""))) return { start: position.column, end: position.column, entries: NONE };
  const variable = /#\s*(\d*)$/.exec(before);
  if (variable !== null) return span(before, line, variable[0].length, /^\d*/, variables(input));
  const jump = /GOTO\s*(\d*)$/i.exec(before);
  if (jump !== null) return span(before, line, (jump[1] ?? "").length, /^\d*/, labels(input, position.line, ""));
  const word = /([A-Z])\s*(-?[\d.]*)$/i.exec(before);
  const letter = word?.[1]?.toUpperCase() ?? "";
  const length = word?.[0].length ?? 0;
  const state = input.view === undefined ? undefined : stateAt(input.view, input.file, input.old);
  const block = parseLine(line, position.line, profile);
  const codes = block.words.filter((w) => w.letter === "G" || w.letter === "M").map((w) => codeOf(w, w.value));
  const of = (entries: readonly Entry[]): Completions => {
    const typed = word?.[0] ?? "";
    const fitting = narrowed(entries, typed);
    const found = span(before, line, length, /^[\d.]*(?:\s+P\d*)?/, fitting, letter === "G");
    return typed === "" ? found : { ...found, narrowed: true };
  };
  switch (letter) {
    case "G":
      return of([...offsets(input, state), ...codesOf(input, "G")]);
    case "M":
      return of(codesOf(input, "M"));
    case "T":
      return of(tools(input));
    case "H":
    case "D":
      return of(registers(input, letter, state));
    case "P": {
      const call = callOf(block, profile);
      if (call?.code === "M97") return of(labels(input, position.line, "P"));
      if (call !== undefined && call.code !== "M99") return of(programs(input, "P"));
      if (codes.includes("G10")) return of(writable(input, block.words.find((w) => w.letter === "L")?.value));
      const code = codes.find((c) => profile.offsets.some((s) => s.code === c && s.p !== undefined));
      return of(code === undefined ? NONE : numbered(input, code));
    }
    case "":
      return of(
        /[\d.]$/.test(before)
          ? NONE
          : wordsHere(
              input,
              state,
              codes,
              block.words.map((w) => w.letter),
            ),
      );
    default:
      return of(NONE);
  }
}

/**
 * Entries that begin with what is typed, and those whose number is the same ("G1" is G01), which come first. Editors compare
 * more loosely by themselves: "G43" would go with "G54.1 P3", and the next key would put that into the program.
 */
function narrowed(entries: readonly Entry[], typed: string): readonly Entry[] {
  const short = (text: string) => text.replace(/\s+/g, "").toUpperCase();
  const start = short(typed);
  if (!/\d/.test(start)) return entries;
  const number = Number(start.slice(1));
  return entries.flatMap((e) => {
    const label = short(e.filter ?? e.label);
    const same = label[0] === start[0] && /^[\d.]+$/.test(label.slice(1)) && Number(label.slice(1)) === number;
    // In a program that writes M03, what is meant by "M3" is that and not M30, which begins with it.
    if (same && label !== start) return [{ ...e, filter: typed, sort: `!${e.sort}` }];
    return label.startsWith(start) ? [e] : [];
  });
}

/** The stretch to replace: what is typed before the cursor and what of the same word is behind it. */
function span(before: string, line: string, length: number, behind: RegExp, entries: readonly Entry[], isCode = false): Completions {
  const start = before.length - length;
  const rest = line.slice(before.length);
  // A P that belongs to an offset is replaced with it, but the words of "G54 X1" behind the cursor are not touched.
  const own = (isCode ? behind : /^[\d.]*/).exec(rest)?.[0] ?? "";
  const sameWord = length === 0 ? "" : own;
  return { start, end: before.length + sameWord.length, entries };
}

function offsets(input: CompletionInput, state: Modal | undefined): Entry[] {
  const { fixture, profile } = input;
  if (fixture?.usable !== true) return [];
  const done = new Set(
    input.view?.analysis.run.visits.filter((v) => state !== undefined && v.tool === state.tool).map((v) => v.offset) ?? [],
  );
  const out: Entry[] = [];
  for (const key of offsetKeys(profile)) {
    const stations = fixture.stationsOf(key);
    const name = fixture.offsetName(key);
    if (stations.length > 0) {
      const where = stations.map((s) => `${s.id} ${s.partName ?? s.part} ${s.op}`).join(", ");
      const empty = stations.every((s) => s.empty);
      out.push({
        label: name,
        kind: "offset",
        detail: `${where}${empty ? say("entry.not-loaded") : done.has(key) ? say("entry.there-already") : ""}`,
        documentation: stations.map((s) => stationText(fixture, s)).join("\n\n"),
        sort: `0${empty ? 2 : done.has(key) ? 1 : 0}${String(out.length).padStart(4, "0")}`,
      });
    } else if (fixture.datums.has(key)) {
      const note = fixture.datums.get(key) ?? "";
      out.push({
        label: name,
        kind: "offset",
        detail: say("entry.datum", { note }),
        documentation: say("entry.datum-text", { note: plain(note) }),
        sort: `03${String(out.length).padStart(4, "0")}`,
      });
    }
  }
  return out;
}

function stationText(fixture: Fixture, s: Station): string {
  const n = (mm: number) => lengthNumber(mm, fixture.units);
  const { X, Y, Z } = s.computed;
  const zero = say("entry.zero", { x: n(X), y: n(Y), z: n(Z), units: fixture.units });
  const empty = s.empty ? `\n\n${say("entry.not-loaded-text")}` : "";
  return `**${plain(s.id)}** · ${plain(s.partName ?? s.part)} · ${plain(s.op)}\n\n${zero}${empty}`;
}

/** The P words of numbered offsets, after a code that needs one. */
function numbered(input: CompletionInput, code: string): Entry[] {
  const { fixture, profile } = input;
  const range = profile.offsets.find((s) => s.code === code && s.p !== undefined)?.p;
  if (fixture?.usable !== true || range === undefined) return [];
  return offsets(input, undefined).flatMap((e) => {
    const p = /P(\d+)$/.exec(e.label)?.[1];
    return p === undefined || Number(p) < range[0] || Number(p) > range[1] ? [] : [{ ...e, label: `P${p}` }];
  });
}

/** The P words of G10 by its L. */
function writable(input: CompletionInput, l: number | undefined): Entry[] {
  const { fixture, profile } = input;
  if (fixture?.usable !== true || l === undefined) return [];
  const all = offsets(input, undefined);
  if (l === 20 && profile.l20 === "additional")
    return all.flatMap((e) => {
      const p = /P(\d+)$/.exec(e.label)?.[1];
      return p === undefined ? [] : [{ ...e, label: `P${p}` }];
    });
  const plainKeys = offsetKeys(profile).filter((k) => !/^P\d/.test(k));
  return plainKeys.map((key, i) => {
    const known = all.find((e) => e.label === fixture.offsetName(key));
    const name = spellOffset(key, profile);
    return {
      label: `P${i + 1}`,
      kind: "offset",
      detail: known === undefined ? name : `${name}, ${known.detail}`,
      documentation: known?.documentation ?? name,
      sort: `0${String(i).padStart(3, "0")}`,
    };
  });
}

/** Codes as this file writes them: with two digits if it does so elsewhere. */
function codesOf(input: CompletionInput, letter: "G" | "M"): Entry[] {
  const { profile, lines } = input;
  const two = lines.slice(0, 400).some((l) => new RegExp(`(?:^|[^A-Z])${letter}0\\d(?!\\d)`, "i").test(l));
  const out: Entry[] = [];
  for (const info of profile.codes.values()) {
    if (!info.code.startsWith(letter)) continue;
    const number = info.code.slice(1);
    const spelled = two && number.length === 1 ? `${letter}0${number}` : info.code;
    const numbered =
      profile.offsets.some((s) => s.code === info.code && s.p !== undefined) &&
      !profile.offsets.some((s) => s.code === info.code && s.p === undefined);
    const differ = dialectDifferences(info.code);
    const meaning = told(info.meaning);
    out.push({
      label: spelled,
      kind: "code",
      detail: meaning,
      documentation: `${plain(meaning)}${differ.length === 0 ? "" : `\n\n${say("dialects.differ")}\n\n${differ.map((d) => `- ${plain(d)}`).join("\n")}`}`,
      filter: spelled,
      ...(numbered ? { insert: `${spelled} P` } : {}),
      sort: `2${info.use === "executed" ? 0 : 1}${number.padStart(6, "0")}`,
    });
  }
  return out;
}

function toolText(fixture: Fixture, t: Tool): string {
  const parts = [
    Number.isNaN(t.DC) ? "" : say("entry.diameter", { length: renderLength(t.DC, fixture.units) }),
    Number.isNaN(t.LF) ? "" : say("entry.length", { length: renderLength(t.LF, fixture.units) }),
    t.H.length === 0 ? "" : `H${t.H.join(", H")}`,
    t.D.length === 0 ? "" : `D${t.D.join(", D")}`,
  ];
  return parts.filter((p) => p !== "").join(", ");
}

function tools(input: CompletionInput): Entry[] {
  const { fixture } = input;
  return [...(fixture?.tools.values() ?? [])].map((t) => ({
    label: `T${t.number}`,
    kind: "tool",
    detail: [
      t.name ?? t.kind ?? "",
      Number.isNaN(t.DC) ? "" : say("entry.diameter", { length: renderLength(t.DC, fixture?.units ?? "mm") }),
    ]
      .filter((x) => x !== "")
      .join(", "),
    documentation: fixture === undefined ? "" : `**T${t.number}** ${plain(t.name ?? "")}\n\n${toolText(fixture, t)}`,
    sort: `0${String(t.number).padStart(6, "0")}`,
  }));
}

/** H and D of the tool in the spindle first; those of the others behind. */
function registers(input: CompletionInput, letter: "H" | "D", state: Modal | undefined): Entry[] {
  const { fixture } = input;
  const out: Entry[] = [];
  for (const tool of fixture?.tools.values() ?? []) {
    const own = tool.number === state?.tool;
    tool[letter].forEach((n, i) => {
      const size = letter === "H" ? tool.LF : tool.DC / 2;
      const value = Number.isNaN(size) ? "" : `, ${renderLength(size, fixture?.units ?? "mm")}`;
      const whose = say(own ? "entry.in-spindle" : "entry.not-in-spindle");
      out.push({
        label: `${letter}${n}`,
        kind: "register",
        detail: `T${tool.number} ${tool.name ?? ""}${value}${own ? "" : ` — ${whose}`}`,
        documentation: say(letter === "H" ? "entry.length-register" : "entry.radius-register", {
          tool: `${tool.number}${tool.name === undefined ? "" : ` ${plain(tool.name)}`}`,
          whose,
        }),
        sort: `${own ? 0 : 1}${String(n).padStart(6, "0")}`,
        ...(own && i === 0 ? { preselect: true } : {}),
      });
    });
  }
  return out;
}

function programs(input: CompletionInput, letter: string): Entry[] {
  const { near, file } = input;
  const out = new Map<number, Entry>();
  for (const source of near?.sources ?? []) {
    for (const part of source.parts) {
      if (Number.isNaN(part.number) || near?.fileOf(part.number, file) !== source.file) continue;
      const body = source.lines.slice(part.line, Math.min(part.endLine, part.line + 5));
      const here = source.file === file;
      const name = baseName(source.file);
      out.set(part.number, {
        label: `${letter}${part.number}`,
        kind: "program",
        detail: `${part.title ?? ""}${here ? "" : ` (${name})`}`.trim(),
        documentation: `\`\`\`iso6983\n${body.join("\n")}\n\`\`\``,
        sort: `${here ? 0 : 1}${String(part.number).padStart(8, "0")}`,
      });
    }
  }
  return [...out.values()];
}

function labels(input: CompletionInput, line: number, letter: string): Entry[] {
  const { near, file } = input;
  const source = near?.sources.find((s) => s.file === file);
  if (source === undefined) return [];
  const part = source.parts[partOfLine(source, Math.min(line, source.lines.length - 1))];
  const out: Entry[] = [];
  for (let at = part?.line ?? 0; at < (part?.endLine ?? 0) && out.length < 500; at++) {
    const block = source.blocks[at];
    if (block?.label === undefined) continue;
    out.push({
      label: `${letter}${block.label}`,
      kind: "label",
      detail: (source.lines[at] ?? "").trim(),
      documentation: say("line", { line: at + 1 }),
      sort: String(at).padStart(8, "0"),
    });
  }
  return out;
}

/** Variables that are used around here, with the value they were last given. */
function variables(input: CompletionInput): Entry[] {
  const { near, file } = input;
  const numbers = new Map<number, number>();
  for (const source of near?.sources ?? []) {
    if (near === undefined) break;
    for (const o of occurrencesOf(source, near)) {
      if (o.name.kind !== "variable" || (o.name.part >= 0 && source.file !== file)) continue;
      numbers.set(o.name.number, (numbers.get(o.name.number) ?? 0) + 1);
    }
  }
  return [...numbers].map(([n, uses]) => ({
    label: `#${n}`,
    kind: "variable",
    detail: uses === 1 ? say("entry.once") : say("entry.times", { count: uses }),
    documentation: "",
    sort: String(n).padStart(8, "0"),
  }));
}

/** Words that make sense in the state the machine is in, and that the block does not hold yet. */
function wordsHere(input: CompletionInput, state: Modal | undefined, codes: readonly string[], present: readonly string[]): Entry[] {
  const { profile, fixture } = input;
  const out: Entry[] = [];
  const add = (letter: string, text: string, sort: string) => {
    if (present.includes(letter) || !profile.letters.includes(letter)) return;
    out.push({ label: letter, kind: "word", detail: text, documentation: "", sort });
  };
  const motion = [...codes].reverse().find((c) => /^G(?:0|1|2|3|33|73|74|76|8\d)$/.test(c)) ?? state?.motion;
  const cycle = motion === undefined ? undefined : cycleParameters(motion, profile.repeatLetters);
  if (cycle !== undefined)
    cycle.forEach((p, i) => {
      add(p.letter, `${motion}: ${p.text}`, `1${String(i).padStart(2, "0")}`);
    });
  else {
    for (const axis of "XYZ") add(axis, told(LETTERS[axis] ?? ""), `10${axis}`);
    const rotary = fixture?.machine.rotary?.axis;
    if (rotary !== undefined) add(rotary, told(LETTERS[rotary] ?? ""), "11");
    if (motion === "G2" || motion === "G3") {
      const centre = state?.plane === 18 ? "IK" : state?.plane === 19 ? "JK" : "IJ";
      for (const l of centre) add(l, told(LETTERS[l] ?? ""), `12${l}`);
      add("R", told(LETTERS.R ?? ""), "12R");
    }
    if (motion === "G1" || motion === "G2" || motion === "G3")
      add("F", state === undefined || Number.isNaN(state.feed) ? say("entry.no-feed") : told("feed"), "13");
  }
  const tool = state === undefined ? undefined : fixture?.tools.get(state.tool);
  if (codes.includes("G43") || codes.includes("G44")) for (const e of registers(input, "H", state)) out.push({ ...e, sort: `0${e.sort}` });
  if (codes.includes("G41") || codes.includes("G42")) for (const e of registers(input, "D", state)) out.push({ ...e, sort: `0${e.sort}` });
  if (tool !== undefined && state?.length === 49 && present.length === 0)
    for (const h of tool.H.slice(0, 1))
      out.push({
        label: `G43 H${h}`,
        kind: "register",
        detail: say("entry.length-off", { tool: `${tool.number} ${tool.name ?? ""}` }),
        documentation: "",
        sort: "0",
      });
  if (present.length > 0) return out;
  const behind = (group: string, entries: readonly Entry[]) => entries.map((e) => ({ ...e, sort: `${group}${e.sort}` }));
  out.push(
    ...behind("2", offsets(input, state)),
    ...behind("3", [...codesOf(input, "G"), ...codesOf(input, "M")]),
    ...behind("4", tools(input)),
  );
  return out;
}

/** Inside a comment: rules after ALLOW, sidecars after FIXTURE. */
function inComment(input: CompletionInput, text: string, before: string, line: string): Completions {
  const allow = /^\s*ALLOW\s+(?:[\w-]+\s*,\s*)*([\w-]*)$/i.exec(text);
  if (allow !== null)
    return span(
      before,
      line,
      (allow[1] ?? "").length,
      /^[\w-]*/,
      rules.map((r) => ({ label: r.id, kind: "value", detail: told(r.summary), documentation: "", insert: `${r.id}: `, sort: r.id })),
    );
  const fixture = /^\s*FIXTURE\s*:\s*([^)]*)$/i.exec(text);
  if (fixture !== null)
    return span(
      before,
      line,
      (fixture[1] ?? "").length,
      /^[^)]*/,
      input.sidecars.map((name) => ({ label: name, kind: "file", detail: say("entry.sidecar"), documentation: "", sort: name })),
    );
  const typed = text.trimStart().toUpperCase();
  const words: readonly Entry[] = [
    {
      label: "ALLOW",
      kind: "value",
      detail: say("entry.allow"),
      documentation: say("entry.allow-form"),
      insert: "ALLOW ",
      sort: "0",
    },
    {
      label: "FIXTURE:",
      kind: "value",
      detail: say("entry.fixture"),
      documentation: say("entry.fixture-form"),
      insert: "FIXTURE: ",
      sort: "1",
    },
  ];
  const fitting = words.filter((w) => w.label.startsWith(typed));
  // Any other comment is a person's own words.
  if (fitting.length > 0) return span(before, line, typed.length, /^/, fitting);
  return { start: before.length, end: before.length, entries: NONE };
}
