/**
 * Marker cases: a program and its sidecar in one text, with the findings marked under the blocks they stand on. See
 * DEVELOPERS.md, "How to add a rule".
 */

import { samples } from "../../server/src/engine/checks/samples.js";
import { renderMessage, type Style } from "../../server/src/engine/checks/wording.js";
import type { Finding, LevelSetting } from "../../server/src/engine/findings.js";
import type { Host } from "../../server/src/engine/host.js";
import { type Analysis, analyseNow } from "../../server/src/engine/program.js";

export interface Section {
  readonly name: string;
  /** Text with its markers. */
  readonly text: string;
}

export interface Case {
  readonly title: string;
  readonly sections: readonly Section[];
}

interface Marker {
  readonly file: string;
  readonly line: number;
  readonly start: number;
  readonly end: number;
  readonly level: string;
  readonly rule: string;
  readonly message: string;
  /** The caret run stands right behind the comment sign, which hides the columns before it. */
  readonly atMargin: boolean;
}

export interface Outcome {
  readonly analysis: Analysis;
  /** Markers without a finding, one text each. */
  readonly misses: readonly string[];
  /** Findings without a marker. */
  readonly extras: readonly string[];
  /** What differs in "after fix" sections. */
  readonly fixes: readonly string[];
  /** The case with its markers as they should stand. */
  readonly updated: string;
}

const FOLDER = "/case/";

/** Splits a case text at its `-- name --` lines. */
export function parseCase(text: string): Case {
  const sections: Section[] = [];
  let title = "";
  let current: { name: string; lines: string[] } | undefined;
  const close = (): void => {
    if (current !== undefined) sections.push({ name: current.name, text: current.lines.join("\n") });
  };
  for (const line of text.replace(/\r\n/g, "\n").replace(/\n$/, "").split("\n")) {
    const head = /^-- (.+?) --\s*$/.exec(line);
    if (head !== null) {
      close();
      current = { name: head[1] as string, lines: [] };
    } else if (current === undefined) title += `${line}\n`;
    else current.lines.push(line);
  }
  close();
  return { title: title.trim(), sections };
}

const PROGRAM_MARKER = /^;(\s*)(\^+)\s+(error|warning|information)\s+([a-z-]+)(?::\s*(.*))?$/;
const JSON_MARKER = /^\s*\/\/(\s*)(\^+)\s+(error|warning|information)\s+([a-z-]+)(?::\s*(.*))?$/;

function isJson(name: string): boolean {
  return name.endsWith(".json");
}

/** Takes the markers out of a section. */
export function takeMarkers(section: Section): { text: string; markers: Marker[] } {
  const out: string[] = [];
  const markers: Marker[] = [];
  for (const line of section.text.split("\n")) {
    const match = (isJson(section.name) ? JSON_MARKER : PROGRAM_MARKER).exec(line);
    if (match === null) {
      out.push(line);
      continue;
    }
    const start = line.indexOf("^");
    const atMargin = match[1] === "";
    markers.push({
      file: FOLDER + section.name,
      line: out.length - 1,
      start: atMargin ? 0 : start,
      end: start + (match[2] as string).length,
      level: match[3] as string,
      rule: match[4] as string,
      message: (match[5] ?? "").trim(),
      atMargin,
    });
  }
  return { text: out.join("\n"), markers };
}

interface Options {
  readonly ignore: ReadonlySet<string>;
  readonly only: ReadonlySet<string> | undefined;
  readonly dialect: string | undefined;
  readonly blockSkip: boolean | undefined;
  readonly empty: readonly string[];
  readonly levels: Readonly<Record<string, LevelSetting>>;
  readonly main: string;
}

function parseOptions(kase: Case, only: string | undefined): Options {
  const ignore = new Set<string>();
  const onlySet = only === undefined ? undefined : new Set([only]);
  const levels: Record<string, LevelSetting> = {};
  let dialect: string | undefined;
  let blockSkip: boolean | undefined;
  let empty: string[] = [];
  let main = "part.nc";
  for (const line of (kase.sections.find((s) => s.name === "options")?.text ?? "").split("\n")) {
    if (line.trim() === "") continue;
    const [key, ...rest] = line.split(":");
    const value = rest.join(":").trim();
    const words = value.split(/[\s,]+/).filter((w) => w !== "");
    if (key === "ignore") for (const w of words) ignore.add(w);
    else if (key === "dialect") dialect = value;
    else if (key === "skip") blockSkip = value === "on";
    else if (key === "empty") empty = words;
    else if (key === "main") main = value;
    else if (key?.startsWith("level ") === true) levels[key.slice(6).trim()] = value as LevelSetting;
    else throw new Error(`unknown option in case: ${line}`);
  }
  return { ignore, only: onlySet, dialect, blockSkip, empty, levels, main };
}

/** The files of a case without their markers, and what analyses them or a changed copy of them. */
function open(
  kase: Case,
  options: Options,
): { readonly files: Map<string, string>; readonly markers: Marker[]; analyse(files: ReadonlyMap<string, string>): Analysis } {
  const files = new Map<string, string>();
  const markers: Marker[] = [];
  let fixture: string | undefined;
  for (const section of kase.sections) {
    if (section.name === "options" || / after fix \d+$/.test(section.name)) continue;
    if (section.name.startsWith("use: ")) {
      const sample = samples[section.name.slice(5).trim()];
      if (sample === undefined) throw new Error(`no sample fixture ${section.name}`);
      files.set(`${FOLDER}sample.fixture.json`, sample.text);
      fixture = `${FOLDER}sample.fixture.json`;
      continue;
    }
    const taken = takeMarkers(section);
    files.set(FOLDER + section.name, taken.text);
    markers.push(...taken.markers);
    if (section.name === "fixture.json") fixture = `${FOLDER}fixture.json`;
  }
  const analyse = (now: ReadonlyMap<string, string>): Analysis =>
    analyseNow(memoryHost(now), {
      program: FOLDER + options.main,
      ...(fixture === undefined ? {} : { fixture }),
      workspaceFolders: [FOLDER.slice(0, -1)],
      ...(options.dialect === undefined ? {} : { dialect: options.dialect }),
      ...(options.blockSkip === undefined ? {} : { blockSkip: options.blockSkip }),
      empty: options.empty,
      levels: options.levels,
    });
  return { files, markers, analyse };
}

/** A fix of a case with the analysis before and after it. */
export interface Tried {
  readonly finding: Finding;
  readonly fix: Finding["fixes"][number];
  readonly before: Analysis;
  readonly after: Analysis;
  /** The files as the fix leaves them. */
  readonly files: ReadonlyMap<string, string>;
}

/** Applies every fix of every finding of a case, each to the case as it stands, and analyses again. */
export function tryFixes(text: string): Tried[] {
  const kase = parseCase(text);
  const { files, analyse } = open(kase, parseOptions(kase, undefined));
  const before = analyse(files);
  return before.findings.flatMap((finding) =>
    (finding.waived === undefined ? finding.fixes : []).map((fix) => {
      const changed = applyFix(fix, files);
      return { finding, fix, before, after: analyse(changed), files: changed };
    }),
  );
}

/**
 * Runs a case. `only` limits what is compared to one rule (and every rule that a marker names): for the short examples
 * of the rule pages.
 */
export function runCase(text: string, only?: string): Outcome {
  const kase = parseCase(text);
  const options = parseOptions(kase, only);
  const { files, markers, analyse } = open(kase, options);
  const analysis = analyse(files);
  const marked = new Set(markers.map((m) => m.rule));
  const findings = analysis.findings.filter(
    (f) => !options.ignore.has(f.rule) && (options.only === undefined || options.only.has(f.rule) || marked.has(f.rule)),
  );
  const style: Style = { units: analysis.fixture?.units ?? "mm" };
  const misses: string[] = [];
  const left = [...findings];
  for (const marker of markers) {
    const index = left.findIndex((f) => matches(marker, f, style, files));
    if (index >= 0) left.splice(index, 1);
    else misses.push(`${describe(marker.file, marker.line, marker.start, marker.end)} ${marker.level} ${marker.rule}: ${marker.message}`);
  }
  const internal = analysis.notChecked.filter((n) => n.why.key === "why.internal").map((n) => `internal: ${JSON.stringify(n)}`);
  return {
    analysis,
    misses,
    extras: [...left.map((f) => describeFinding(f, style, files)), ...internal],
    fixes: checkFixes(kase, findings, files),
    updated: writeMarkers(kase, findings, style, files),
  };
}

/** A host over texts in memory. */
export function memoryHost(files: ReadonlyMap<string, string>): Host {
  return {
    read: (path) => files.get(path),
    list(folder) {
      const prefix = folder.endsWith("/") ? folder : `${folder}/`;
      const names = new Set<string>();
      for (const path of files.keys()) if (path.startsWith(prefix)) names.add(path.slice(prefix.length).split("/")[0] as string);
      return names.size === 0 ? undefined : [...names].sort();
    },
  };
}

/** The columns a finding covers on its first line. */
function columnsOf(f: Finding, files: ReadonlyMap<string, string>): { start: number; end: number } {
  const { line, column, endLine, endColumn } = f.place.range;
  if (endLine === line) return { start: column, end: Math.max(endColumn, column + 1) };
  const text = files.get(f.place.file)?.split("\n")[line] ?? "";
  return { start: column, end: Math.max(text.trimEnd().length, column + 1) };
}

function matches(m: Marker, f: Finding, style: Style, files: ReadonlyMap<string, string>): boolean {
  if (m.file !== f.place.file || m.line !== f.place.range.line || m.rule !== f.rule || m.level !== f.level) return false;
  const { start, end } = columnsOf(f, files);
  const margin = isJson(m.file) ? 2 : 1;
  const fits = m.atMargin ? start <= margin && (m.end === end || end <= margin + 1) : m.start === start && m.end === end;
  return fits && textOf(f, style).includes(m.message);
}

function textOf(f: Finding, style: Style): string {
  const text = renderMessage(f.rule, f.message, style);
  return f.waived === undefined ? text : `${text} [allowed: ${f.waived}]`;
}

function describe(file: string, line: number, start: number, end: number): string {
  return `${file.slice(FOLDER.length)}:${line + 1}:${start + 1}-${end + 1}`;
}

function describeFinding(f: Finding, style: Style, files: ReadonlyMap<string, string>): string {
  const { start, end } = columnsOf(f, files);
  return `${describe(f.place.file, f.place.range.line, start, end)} ${f.level} ${f.rule}: ${textOf(f, style)}`;
}

/** Applies a fix's changes to the texts. */
export function applyFix(fix: Finding["fixes"][number], files: ReadonlyMap<string, string>): Map<string, string> {
  const out = new Map(files);
  const changes = [...fix.changes].sort((a, b) => b.place.range.line - a.place.range.line || b.place.range.column - a.place.range.column);
  for (const { place, text } of changes) {
    const lines = (out.get(place.file) ?? "").split("\n");
    const { line, column, endLine, endColumn } = place.range;
    const head = (lines[line] ?? "").slice(0, column);
    const tail = (lines[endLine] ?? "").slice(endColumn);
    lines.splice(line, endLine - line + 1, ...(head + text + tail).split("\n"));
    out.set(place.file, lines.join("\n"));
  }
  return out;
}

function checkFixes(kase: Case, findings: readonly Finding[], files: ReadonlyMap<string, string>): string[] {
  const out: string[] = [];
  const fixes = findings.flatMap((f) => f.fixes);
  for (const section of kase.sections) {
    const match = /^(.+) after fix (\d+)$/.exec(section.name);
    if (match === null) continue;
    const fix = fixes[Number(match[2]) - 1];
    if (fix === undefined) {
      out.push(`${section.name}: there are ${fixes.length} fixes`);
      continue;
    }
    const got = applyFix(fix, files).get(FOLDER + (match[1] as string));
    const wanted = takeMarkers({ name: match[1] as string, text: section.text }).text;
    if (got?.trimEnd() !== wanted.trimEnd()) out.push(`${section.name}: got\n${got}\nwanted\n${wanted}`);
  }
  return out;
}

function writeMarkers(kase: Case, findings: readonly Finding[], style: Style, files: ReadonlyMap<string, string>): string {
  let out = kase.title === "" ? "" : `${kase.title}\n`;
  const fixes = findings.flatMap((f) => f.fixes);
  for (const section of kase.sections) {
    out += `-- ${section.name} --\n`;
    const after = /^(.+) after fix (\d+)$/.exec(section.name);
    if (after !== null) {
      const fix = fixes[Number(after[2]) - 1];
      out += `${fix === undefined ? section.text : (applyFix(fix, files).get(FOLDER + (after[1] as string)) ?? section.text)}\n`;
      continue;
    }
    if (section.name === "options" || section.name.startsWith("use: ")) {
      if (section.text !== "") out += `${section.text}\n`;
      continue;
    }
    const file = FOLDER + section.name;
    const sign = isJson(section.name) ? "//" : ";";
    takeMarkers(section)
      .text.split("\n")
      .forEach((line, index) => {
        out += `${line}\n`;
        for (const f of findings) {
          if (f.place.file !== file || f.place.range.line !== index) continue;
          const { start, end } = columnsOf(f, files);
          const from = Math.max(start, sign.length);
          const carets = "^".repeat(Math.max(end - from, 1));
          out += `${sign}${" ".repeat(from - sign.length)}${carets} ${f.level} ${f.rule}: ${textOf(f, style)}\n`;
        }
      });
  }
  return out;
}
