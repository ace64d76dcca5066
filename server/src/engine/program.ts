import { type Allow, fixtureAllows, programAllows } from "./checks/allow.js";
import { allowUnused, unusedAllows } from "./checks/allow-unused.js";
import { createContext, type RawReport, type Subject } from "./checks/context.js";
import { paced } from "./checks/lib/paced.js";
import { rules } from "./checks/registry.generated.js";
import { finish, finishing, foldNotChecked, sortFindings } from "./checks/report.js";
import type { Clearances, Rule } from "./checks/rule.js";
import { gapsOf, hangsOnUnknown } from "./checks/unchecked.js";
import { computeClearances } from "./clearances.js";
import type { Profile } from "./dialect/profile.js";
import { resolveDialect } from "./dialect/profiles.js";
import type { Finding, LevelSetting, NotChecked, Note } from "./findings.js";
import { catalogueIds } from "./fixture/catalogue.js";
import { discoverFixture } from "./fixture/discover.js";
import { withEmpty } from "./fixture/load.js";
import type { Fixture } from "./fixture/model.js";
import type { Host } from "./host.js";
import { runProgram } from "./machine/machine.js";
import type { Run } from "./machine/run.js";
import { loadRemembered, type Memory } from "./memory.js";
import type { ProgramPart, Source } from "./syntax/block.js";
import { readSource } from "./syntax/parse.js";

/** What the edge asks for. Paths are absolute. */
export interface AnalyseOptions {
  readonly program: string;
  /** Sidecar by option or setting; undefined: discover it. */
  readonly fixture?: string;
  /** Editor setting: glob of programs → sidecar. */
  readonly mappings?: Readonly<Record<string, string>>;
  /** Folders above which the search for a sidecar does not go. */
  readonly workspaceFolders?: readonly string[];
  /** Built-in dialect where no sidecar names one. Default "iso". */
  readonly dialect?: string;
  readonly blockSkip?: boolean;
  /** Station ids not loaded in this run. */
  readonly empty?: readonly string[];
  /** Levels from the editor; the sidecar's win. */
  readonly levels?: Readonly<Record<string, LevelSetting>>;
}

/** Everything known about one program beside its sidecar. */
export interface Analysis {
  readonly program: string;
  readonly profile: Profile;
  readonly fixture: Fixture | undefined;
  /** Path of the sidecar in force, also when it is broken. */
  readonly fixtureFile: string | undefined;
  readonly run: Run;
  readonly clearances: Clearances | undefined;
  readonly findings: readonly Finding[];
  readonly notChecked: readonly NotChecked[];
  /** False when something that was asked for could not be looked at: an unusable sidecar, a bound hit. */
  readonly complete: boolean;
  /** Files that the answer depends on, read or missing. */
  readonly dependencies: readonly string[];
}

/** What a generator's caller drains: work in slices, the answer at the end. */
type Slices<T> = Generator<void, T, void>;

/** Parts of one file that are run as programs of their own at most; a memory dump of a control holds a few hundred. */
const MOST_PARTS = 400;

const LEVELS: readonly string[] = ["error", "warning", "information", "off"];

/**
 * Analyses one program: finds its sidecar, runs it with block skip off and, where it has `/` blocks, on, runs what
 * nothing calls, and applies every rule. A generator: it yields between slices of work so that an editor can stay
 * responsive and can abandon it; drain it for the answer. Never throws on input. `memory` is what an editor keeps of one program
 * between two analyses: it changes the time and nothing else.
 */
export function* analyse(host: Host, options: AnalyseOptions, memory?: Memory): Slices<Analysis> {
  const dependencies = new Set<string>([options.program]);
  const watched: Host = {
    read(path) {
      dependencies.add(path);
      return host.read(path);
    },
    list: (folder) => host.list(folder),
  };
  const notChecked: NotChecked[] = [];
  const read = watched.read(options.program);
  const text = read ?? "";
  if (read === undefined) {
    notChecked.push({ what: message("what.program", { file: options.program }), why: message("why.unreadable") });
  }

  const found = discoverFixture(watched, options.program, text, {
    explicit: options.fixture,
    mappings: options.mappings,
    workspaceFolders: options.workspaceFolders,
  });
  const fixtureFile = found.file;
  const loaded =
    fixtureFile === undefined ? undefined : markEmpty(loadRemembered(watched, fixtureFile, options.dialect, memory), options, notChecked);
  for (const file of loaded?.dependencies ?? []) dependencies.add(file);
  const fixture = loaded?.usable === true ? loaded : undefined;
  if (loaded === undefined) notChecked.push({ what: message("what.fixture"), why: message("why.no-fixture") });
  else if (fixture === undefined) notChecked.push({ what: message("what.fixture"), why: message("why.fixture-unusable") });
  const profile = loaded?.machine.profile ?? resolveDialect(options.dialect ?? "iso").profile;
  const outerNotes: Note[] = [...found.notes, ...(loaded?.notes ?? [])];
  yield;

  const reading = yield* readSource(options.program, text, profile, memory?.reading);
  if (memory !== undefined) memory.reading = reading;
  const main = reading.source;
  yield;
  const raw: RawReport[] = [];
  const out = { reports: raw, notChecked };
  let complete = read !== undefined && (loaded === undefined || (loaded.usable && loaded.complete)) && found.notes.length === 0;
  const runs: Run[] = [];
  const executed = new Set<number>();

  function* look(subject: Subject): Slices<void> {
    runs.push(subject.run);
    yield* addExecutedLines(executed, main.file, subject.run);
    notChecked.push(...(subject.run.notChecked ?? []));
    // A subprogram by itself lacks its arguments, so that its loops may not end; that says nothing about the program.
    if (!subject.run.complete && (subject.entry !== "subprogram" || !hangsOnUnknown(subject.run))) complete = false;
    for (const rule of rules) {
      if (subject.entry === "subprogram" && rule.onSubprograms !== true) continue;
      const failed = yield* runRule(rule, subject, out);
      if (failed !== undefined) {
        notChecked.push(failed);
        complete = false;
      }
      yield;
    }
  }

  const hasSkip = options.blockSkip !== true && main.blocks.some((b) => b.skip !== undefined);
  yield;
  const base = { host: watched, profile, ...(fixture === undefined ? {} : { fixture }), main };
  const run = yield* runProgram({ ...base, blockSkip: options.blockSkip === true });
  const skippedRun = hasSkip ? yield* runProgram({ ...base, blockSkip: true }) : undefined;
  const clearances = fixture === undefined ? undefined : yield* computeClearances(run, fixture, memory?.clearances);
  yield;
  const entry = startsAsSubprogram(main, 0) ? "subprogram" : "main";
  const subject: Subject = {
    run,
    fixture,
    profile,
    clearances,
    blockSkip: options.blockSkip === true,
    skippedRun,
    entry,
    notes: [...outerNotes, ...run.notes],
  };
  yield* look(subject);
  notChecked.push(...gapsOf(run, fixture, clearances));
  if (skippedRun !== undefined) {
    const skippedClearances = fixture === undefined ? undefined : yield* computeClearances(skippedRun, fixture, memory?.skippedClearances);
    yield* look({
      ...subject,
      run: skippedRun,
      clearances: skippedClearances,
      blockSkip: true,
      skippedRun: undefined,
      notes: [...outerNotes, ...skippedRun.notes],
    });
  }
  for (;;) {
    const index = runs.length > MOST_PARTS ? undefined : nextUncalled(main, executed);
    if (index === undefined) break;
    yield;
    const part = main.parts[index] as ProgramPart;
    const partRun = yield* runProgram({ ...base, entryPart: index, blockSkip: options.blockSkip === true });
    const partEntry = startsAsSubprogram(main, index) ? "subprogram" : "part";
    const partClearances = fixture === undefined || partEntry === "subprogram" ? undefined : yield* computeClearances(partRun, fixture);
    yield* look({
      ...subject,
      run: partRun,
      clearances: partClearances,
      skippedRun: undefined,
      entry: partEntry,
      notes: [...outerNotes, ...partRun.notes],
    });
    if (partEntry === "subprogram")
      notChecked.push({ what: message("what.part", { program: part.number }), why: message("why.subprogram") });
    else notChecked.push(...gapsOf(partRun, fixture, partClearances));
  }

  const levelOf = levelsOf(options, loaded, notChecked);
  const sources = new Map<string, Source>(runs.flatMap((r) => r.sources).map((s) => [s.file, s]));
  sources.set(main.file, main);
  const allows: Allow[] = [...sources.values()].flatMap(programAllows);
  for (const file of loaded?.dependencies ?? []) {
    if (file.endsWith(".json")) allows.push(...fixtureAllows(file, watched.read(file) ?? ""));
  }
  const used = new Set<Allow>();
  yield;
  const findings = yield* finishing(raw, levelOf, allows, used, skippedRun);
  const blind = yield* uncheckedLines(main.file, run, clearances);
  const looked = (id: string, allow: Allow): boolean => {
    // A file that this program only calls or includes may be needed by another; and what was not run was not seen.
    if (allow.kind === "fixture")
      return id.startsWith("fixture-") && loaded?.file === allow.place.file && loaded.complete && levelOf(id) !== "off";
    if (allow.place.file !== main.file || entry === "subprogram" || levelOf(id) === "off") return false;
    const rule = rules.find((r) => r.id === id);
    if (rule?.needs !== "program" && (fixture === undefined || !fixture.hasTools)) return false;
    if (rule?.needs !== "program" && allow.lines.some((line) => blind.has(line))) return false;
    return complete && allow.lines.some((line) => executed.has(line));
  };
  const unused = unusedAllows(
    allows,
    used,
    rules.map((r) => r.id),
    looked,
  );
  const more = finish(
    unused.map((report) => ({ rule: allowUnused, report, run })),
    levelOf,
    [],
    new Set(),
  );
  return {
    program: options.program,
    profile,
    fixture: loaded,
    fixtureFile,
    run,
    clearances,
    findings: sortFindings([...findings, ...more]),
    notChecked: foldNotChecked(notChecked),
    complete,
    dependencies: [...dependencies],
  };
}

/** The same, all at once. */
export function analyseNow(host: Host, options: AnalyseOptions): Analysis {
  const slices = analyse(host, options);
  for (;;) {
    const step = slices.next();
    if (step.done === true) return step.value;
  }
}

/**
 * Runs a program beside its sidecar and looks for no faults: enough to say which tool visits which station. Undefined where
 * the program cannot be read, is one that others call, or has a sidecar that `wanted` does not ask for (it gets the sidecar's
 * own path and those of all files that it is made of). The answer has no findings and is never complete.
 */
export function* runOnly(
  host: Host,
  options: AnalyseOptions,
  wanted: (files: readonly string[]) => boolean,
  memory?: Memory,
): Slices<Analysis | undefined> {
  const text = host.read(options.program);
  if (text === undefined) return undefined;
  const fixtureFile = discoverFixture(host, options.program, text, {
    explicit: options.fixture,
    mappings: options.mappings,
    workspaceFolders: options.workspaceFolders,
  }).file;
  if (fixtureFile === undefined) return undefined;
  const fixture = loadRemembered(host, fixtureFile, options.dialect, memory);
  if (!fixture.usable || !wanted([fixtureFile, ...fixture.dependencies])) return undefined;
  yield;
  const { profile } = fixture.machine;
  const { source: main } = yield* readSource(options.program, text, profile);
  if (startsAsSubprogram(main, 0)) return undefined;
  const run = yield* runProgram({ host, profile, fixture, main, blockSkip: options.blockSkip === true });
  return {
    program: options.program,
    profile,
    fixture,
    fixtureFile,
    run,
    clearances: undefined,
    findings: [],
    notChecked: [],
    complete: false,
    dependencies: [options.program, fixtureFile, ...fixture.dependencies],
  };
}

function message(key: string, args: NotChecked["what"]["args"] = {}): NotChecked["what"] {
  return { key, args };
}

/** Runs one rule; what it throws is a fault of ours and comes back as something not checked. */
function* runRule(rule: Rule, subject: Subject, out: { reports: RawReport[]; notChecked: NotChecked[] }): Slices<NotChecked | undefined> {
  let line = 0;
  const cx = createContext(rule, subject, out, (step) => {
    line = step.block.line + 1;
  });
  try {
    const work = rule.check(cx);
    if (work !== undefined) yield* work;
    return undefined;
  } catch (error) {
    const text = error instanceof Error ? error.message : String(error);
    return { what: message("what.rule", { rule: rule.id }), why: message("why.internal", { line, error: text }) };
  }
}

/** Levels in force: the sidecar's, else the editor's. Unknown names and levels are told, not obeyed. */
function levelsOf(
  options: AnalyseOptions,
  fixture: Fixture | undefined,
  notChecked: NotChecked[],
): (rule: string) => LevelSetting | undefined {
  const editor = new Map<string, LevelSetting>();
  for (const [rule, level] of Object.entries(options.levels ?? {})) {
    if (!catalogueIds.includes(rule) && !rules.some((r) => r.id === rule))
      notChecked.push({ what: message("what.level", { rule }), why: message("why.unknown-rule") });
    else if (!LEVELS.includes(level)) notChecked.push({ what: message("what.level", { rule }), why: message("why.unknown-level") });
    else editor.set(rule, level);
  }
  return (rule) => fixture?.levels.get(rule) ?? editor.get(rule);
}

/** Marks the stations that this run is without. */
function markEmpty(fixture: Fixture, options: AnalyseOptions, notChecked: NotChecked[]): Fixture {
  const empty = options.empty ?? [];
  if (empty.length === 0) return fixture;
  for (const station of empty) {
    if (!fixture.stations.some((s) => s.id === station)) {
      notChecked.push({ what: message("what.empty", { station }), why: message("why.unknown-station") });
    }
  }
  return withEmpty(fixture, empty);
}

/**
 * True for a part that reads like a subprogram: it returns by M99, never ends the program, and changes no tool. (A main
 * program may end in M99 to go round, but it changes tools or ends somewhere.)
 */
function startsAsSubprogram(source: Source, index: number): boolean {
  const part = source.parts[index];
  if (part === undefined) return false;
  let returns = false;
  for (let line = part.line; line < part.endLine; line++) {
    for (const word of source.blocks[line]?.words ?? []) {
      if (word.letter !== "M") continue;
      if (word.value === 99) returns = true;
      if (word.value === 2 || word.value === 30 || word.value === 6) return false;
    }
  }
  return returns;
}

/**
 * The next part of the main file that no run so far has entered and that holds anything to run. Whole programs come
 * before subprograms, as they may call these. Undefined when all were entered.
 */
function nextUncalled(main: Source, executed: ReadonlySet<number>): number | undefined {
  const open = main.parts.flatMap((part, index) => {
    let hasWords = false;
    for (let line = part.line; line < part.endLine; line++) {
      if (executed.has(line)) return [];
      const block = main.blocks[line];
      if (block !== undefined && (block.words.length > 0 || block.assignments.length > 0)) hasWords = true;
    }
    return hasWords ? [index] : [];
  });
  return open.find((index) => !startsAsSubprogram(main, index)) ?? open[0];
}

/** Lines of a file with a move whose clearance could not be computed. */
function* uncheckedLines(file: string, run: Run, clearances: Clearances | undefined): Slices<Set<number>> {
  const out = new Set<number>();
  yield* paced([...(clearances?.unchecked.keys() ?? [])], (index) => {
    const step = run.steps[run.moves[index]?.step ?? -1];
    if (step !== undefined && run.sources[step.source]?.file === file) out.add(step.block.line);
  });
  return out;
}

/** Adds the lines of a file that a run executed. */
function* addExecutedLines(to: Set<number>, file: string, run: Run): Slices<void> {
  const own = run.sources.map((source) => source.file === file);
  yield* paced(run.steps, (step) => {
    if (own[step.source] === true) to.add(step.block.line);
  });
}
