import { renderMessage } from "../engine/checks/wording.js";
import type { Finding, LevelSetting } from "../engine/findings.js";
import { emptyMemory, type Memory } from "../engine/memory.js";
import { type AnalyseOptions, type Analysis, analyse } from "../engine/program.js";
import { analyseFixture, type FixtureAnalysis } from "../engine/sidecar.js";
import { joinPath } from "../engine/text/path.js";
import type { EditorFiles } from "./files.js";
import { matchesGlob } from "./globs.js";
import { closedPrograms } from "./programs.js";
import type { Settings } from "./protocol.js";

/** What the workspace tells its owner. */
export interface Events {
  checking(path: string): void;
  /** A program was analysed; `analysis` undefined: it could not be. */
  checked(path: string, analysis: Analysis): void;
  /** The findings of one file changed. */
  findings(path: string, findings: readonly Finding[], units: "mm" | "inch"): void;
}

/** How long after the last keystroke a check begins, in milliseconds: long enough to let a burst of keys pass. */
const QUIET = 60;
/** A check that took longer than this is a long one, in milliseconds. */
const LONG = 500;
/** One that took no longer than this is begun at once when an answer waits for it, in milliseconds. */
const SHORT = 60;

/** Sidecars and the shared files they include are told from programs by their names. */
export function isSidecar(path: string): boolean {
  return /\.json$/i.test(path);
}

/**
 * Keeps every open document analysed. Each document has at most one analysis running; a newer edit of it, or of a file it
 * depends on, abandons that one and begins again.
 */
export class Workspace {
  readonly #files: EditorFiles;
  readonly #events: Events;
  readonly #programs = new Map<
    string,
    {
      version: number;
      analysis: Analysis | undefined;
      timer: ReturnType<typeof setTimeout> | undefined;
      waiting: (() => void)[];
      took: number;
      /** What the analyses of this program leave for the next one. */
      readonly memory: Memory;
    }
  >();
  readonly #fixtures = new Map<string, FixtureAnalysis>();
  /** File → owner → its findings there, so that a sidecar's findings from three programs are shown once. */
  readonly #findings = new Map<string, Map<string, { findings: readonly Finding[]; units: "mm" | "inch" }>>();
  #settings: (path: string) => Settings;
  #folders: readonly string[] = [];

  constructor(files: EditorFiles, settings: (path: string) => Settings, events: Events) {
    this.#files = files;
    this.#settings = settings;
    this.#events = events;
  }

  /** Workspace folders as paths; the search for sidecars does not leave them. */
  setFolders(folders: readonly string[]): void {
    this.#folders = folders;
    this.changedAll();
  }

  /** An open document was opened or edited. */
  changed(path: string): void {
    this.#onDisk.delete(path);
    if (isSidecar(path)) {
      this.#lookAtFixture(path);
    } else if (this.#files.isOpen(path)) this.#schedule(path);
    this.dependencyChanged(path);
  }

  /** Something changed that programs may depend on (a sidecar, an included file, a called program, on disk or open). */
  dependencyChanged(path: string): void {
    for (const [program, entry] of this.#programs) {
      if (program === path) continue;
      // A new sidecar may change which one is found, so every program whose search could meet it begins again.
      if (entry.analysis === undefined || entry.analysis.dependencies.includes(path) || /\.fixture\.json$/i.test(path))
        this.#schedule(program);
    }
    for (const [program, { dependencies }] of this.#onDisk) if (dependencies.includes(path)) this.#checkOnDiskSoon(program);
    for (const [sidecar, known] of this.#fixtures) {
      if (sidecar !== path && known.fixture.dependencies.includes(path)) this.#lookAtFixture(sidecar);
    }
  }

  /** Settings changed: everything whose findings are shown is looked at again. */
  changedAll(): void {
    for (const path of this.#files.openPaths()) {
      if (isSidecar(path)) this.#lookAtFixture(path);
      else this.#schedule(path);
    }
    for (const path of this.#onDisk.keys()) this.#checkOnDiskSoon(path);
  }

  /** Programs whose findings are shown though the editor did not send them. */
  checkedOnDisk(): string[] {
    return [...this.#onDisk.keys()];
  }

  /** A document was closed: its own findings go. */
  closed(path: string): void {
    const entry = this.#programs.get(path);
    if (entry !== undefined) {
      entry.version++;
      clearTimeout(entry.timer);
      for (const done of entry.waiting) done();
      this.#programs.delete(path);
    }
    this.#fixtures.delete(path);
    this.#publish(path, new Map(), "mm");
  }

  /**
   * Analyses a program that the editor does not send, from disk, and shows its findings. They follow the file: when it or
   * something that it depends on changes, it is analysed again; when it is gone, they go. An open program is answered as it
   * stands in the editor.
   */
  async checkOnDisk(path: string): Promise<Analysis | undefined> {
    if (this.#files.isOpen(path)) return this.current(path);
    const analysis = await this.#files.drained(
      (host) => analyse(host, this.#optionsFor(path)),
      () => this.#files.isOpen(path),
    );
    if (analysis === undefined || this.#files.isOpen(path)) return this.current(path);
    if (isUnreadable(analysis)) {
      this.#onDisk.delete(path);
      this.#publish(path, new Map(), "mm");
      return analysis;
    }
    this.#onDisk.set(path, { dependencies: analysis.dependencies, timer: undefined });
    this.#publish(path, byFile(analysis.findings, path), analysis.fixture?.units ?? "mm");
    return analysis;
  }

  /** Programs that were checked on disk → what they depend on. */
  readonly #onDisk = new Map<string, { dependencies: readonly string[]; timer: ReturnType<typeof setTimeout> | undefined }>();

  #checkOnDiskSoon(program: string): void {
    const entry = this.#onDisk.get(program);
    if (entry === undefined || this.#files.isOpen(program)) return;
    clearTimeout(entry.timer);
    entry.timer = setTimeout(() => void this.checkOnDisk(program), QUIET);
  }

  #optionsFor(path: string): AnalyseOptions {
    const settings = this.#settings(path);
    return {
      program: path,
      ...explicitFixture(settings, path, this.#folders),
      workspaceFolders: this.#folders,
      dialect: settings.dialect,
      levels: settings.levels as Readonly<Record<string, LevelSetting>>,
    };
  }

  /** The latest analysis of a program, however old its text. */
  latest(path: string): Analysis | undefined {
    return this.#programs.get(path)?.analysis;
  }

  /** Latest analyses that use a sidecar. */
  programsOf(sidecar: string): Analysis[] {
    const out: Analysis[] = [];
    for (const { analysis } of this.#programs.values()) {
      if (analysis?.fixture?.dependencies.includes(sidecar) === true || analysis?.fixtureFile === sidecar) out.push(analysis);
    }
    return out;
  }

  /** Programs of the workspace that use a sidecar and are not open, run anew for this question but not checked. */
  closedProgramsOf(sidecar: string, abandoned: () => boolean): Promise<Analysis[]> {
    return closedPrograms(this.#files, sidecar, this.#folders, (path) => this.#optionsFor(path), abandoned);
  }

  /** The sidecar as it was last understood on its own. */
  fixtureOf(path: string): FixtureAnalysis | undefined {
    return this.#fixtures.get(path);
  }

  /** The analysis of the text as it is now; waits while one is running. */
  async current(path: string): Promise<Analysis | undefined> {
    const entry = this.#programs.get(path);
    if (entry === undefined) return undefined;
    if (entry.timer === undefined && entry.analysis !== undefined && entry.waiting.length === 0 && !this.#running.has(path))
      return entry.analysis;
    await new Promise<void>((resolve) => entry.waiting.push(resolve));
    return this.#programs.get(path)?.analysis;
  }

  /**
   * The analysis of the text as it is now if it is there within some milliseconds, else the one before; waits for the first
   * one however long that takes.
   */
  async soon(path: string, milliseconds: number): Promise<Analysis | undefined> {
    const entry = this.#programs.get(path);
    if (entry?.analysis === undefined) return this.current(path);
    // A program that took longer the last time will not be done in time now: waiting would only slow the answer.
    if (entry.took > 2 * milliseconds) return entry.analysis;
    // Editors ask something at every key: what comes so soon anyway need not wait until the keys have stopped.
    if (entry.timer !== undefined && entry.took <= SHORT) {
      clearTimeout(entry.timer);
      void this.#run(path);
    }
    let timer: ReturnType<typeof setTimeout> | undefined;
    const late = new Promise<void>((resolve) => {
      timer = setTimeout(resolve, milliseconds);
    });
    await Promise.race([this.current(path), late]);
    clearTimeout(timer);
    return this.#programs.get(path)?.analysis;
  }

  /** The latest analyses of all open programs. */
  analyses(): Analysis[] {
    return [...this.#programs.values()].flatMap((entry) => entry.analysis ?? []);
  }

  /** The findings that are shown in a file, whichever program or sidecar they come from; repeats are folded. */
  findingsOf(file: string): { readonly findings: readonly Finding[]; readonly units: "mm" | "inch" } {
    const seen = new Set<string>();
    const all: Finding[] = [];
    let units: "mm" | "inch" = "mm";
    for (const { findings, units: own } of this.#findings.get(file)?.values() ?? []) {
      units = own;
      for (const finding of findings) {
        const text = `${finding.rule} ${JSON.stringify(finding.place.range)} ${renderMessage(finding.rule, finding.message, { units: own })}`;
        if (seen.has(text)) continue;
        seen.add(text);
        all.push(finding);
      }
    }
    return { findings: all, units };
  }

  readonly #running = new Set<string>();

  #schedule(path: string): void {
    let entry = this.#programs.get(path);
    if (entry === undefined) {
      entry = { version: 0, analysis: undefined, timer: undefined, waiting: [], took: 0, memory: emptyMemory() };
      this.#programs.set(path, entry);
    }
    entry.version++;
    clearTimeout(entry.timer);
    this.#events.checking(path);
    // A long check is begun a little later, so that a burst of keys does not begin it over and over.
    entry.timer = setTimeout(() => void this.#run(path), entry.took > LONG ? 2 * QUIET : QUIET);
  }

  async #run(path: string): Promise<void> {
    const entry = this.#programs.get(path);
    if (entry === undefined) return;
    entry.timer = undefined;
    const version = entry.version;
    this.#running.add(path);
    const began = performance.now();
    const analysis = await this.#files.drained(
      (host) => analyse(host, this.#optionsFor(path), entry.memory),
      () => entry.version !== version,
    );
    // A newer edit has begun its own run, which answers those who wait.
    if (analysis === undefined || entry.version !== version) return;
    this.#running.delete(path);
    entry.took = performance.now() - began;
    entry.analysis = analysis;
    this.#publish(path, byFile(analysis.findings, path), analysis.fixture?.units ?? "mm");
    this.#events.checked(path, analysis);
    for (const done of entry.waiting.splice(0)) done();
  }

  #lookAtFixture(path: string): void {
    if (!this.#files.isOpen(path) || !/\.fixture\.json$/i.test(path)) return;
    const settings = this.#settings(path);
    const { result: looked, missed } = this.#files.look((host) =>
      analyseFixture(host, path, {
        dialect: settings.dialect,
        levels: settings.levels as Readonly<Record<string, LevelSetting>>,
      }),
    );
    if (missed) {
      void this.#files.arriving().then(() => this.#lookAtFixture(path));
      return;
    }
    this.#fixtures.set(path, looked);
    this.#publish(path, byFile(looked.findings, path), looked.fixture.units);
  }

  /** Replaces what one owner found; tells each file whose findings changed. */
  #publish(owner: string, found: ReadonlyMap<string, readonly Finding[]>, units: "mm" | "inch"): void {
    const touched = new Set(found.keys());
    for (const [file, owners] of this.#findings) if (owners.delete(owner)) touched.add(file);
    for (const [file, findings] of found) {
      let owners = this.#findings.get(file);
      if (owners === undefined) {
        owners = new Map();
        this.#findings.set(file, owners);
      }
      owners.set(owner, { findings, units });
    }
    for (const file of touched) this.#tell(file);
  }

  #tell(file: string): void {
    const { findings, units } = this.findingsOf(file);
    this.#events.findings(file, findings, units);
  }
}

/** True when the program itself could not be read. */
export function isUnreadable(analysis: Analysis): boolean {
  return analysis.notChecked.some((item) => item.what.key === "what.program" && item.why.key === "why.unreadable");
}

/** The sidecar that the setting `jawline.fixtures` maps a program to. */
function explicitFixture(settings: Settings, path: string, folders: readonly string[]): { fixture?: string } {
  const root = folders.find((f) => path.startsWith(`${f}/`));
  for (const [glob, fixture] of Object.entries(settings.fixtures)) {
    if (typeof fixture === "string" && matchesGlob(glob, path, root)) return { fixture: joinPath(root ?? "/", fixture) };
  }
  return {};
}

/** Findings by file; the owner's own file is always there, so that it is told of an empty list too. */
function byFile(findings: readonly Finding[], owner: string): Map<string, Finding[]> {
  const out = new Map<string, Finding[]>([[owner, []]]);
  for (const finding of findings) {
    const list = out.get(finding.place.file);
    if (list === undefined) out.set(finding.place.file, [finding]);
    else list.push(finding);
  }
  return out;
}
