import { type Allow, fixtureAllows } from "./checks/allow.js";
import { createContext, type RawReport, type Subject } from "./checks/context.js";
import { rules } from "./checks/registry.generated.js";
import { finish } from "./checks/report.js";
import type { Finding, LevelSetting, NotChecked } from "./findings.js";
import { loadFixture } from "./fixture/load.js";
import type { Fixture } from "./fixture/model.js";
import type { Host } from "./host.js";
import type { Run } from "./machine/run.js";

/** A sidecar looked at by itself, beside no program. */
export interface FixtureAnalysis {
  readonly fixture: Fixture;
  readonly findings: readonly Finding[];
}

/** Rules that can speak of a sidecar alone: the fixture's own, and stored offsets against the computed positions. */
const ALONE = /^(?:fixture-|offset-value$)/;

/** What a run is when there is no program. */
const NO_RUN: Run = {
  sources: [],
  steps: [],
  moves: [],
  visits: [],
  writes: [],
  notes: [],
  seconds: 0,
  assumptions: [],
  complete: true,
};

/** Loads a sidecar (absolute path) and checks what can be checked without a program. Never throws on input. */
export function analyseFixture(
  host: Host,
  file: string,
  options: { readonly dialect?: string; readonly levels?: Readonly<Record<string, LevelSetting>> } = {},
): FixtureAnalysis {
  const fixture = loadFixture(host, file, options.dialect);
  const reports: RawReport[] = [];
  const notChecked: NotChecked[] = [];
  const subject: Subject = {
    run: NO_RUN,
    fixture: fixture.usable ? fixture : undefined,
    profile: fixture.machine.profile,
    clearances: undefined,
    blockSkip: false,
    skippedRun: undefined,
    entry: "main",
    notes: fixture.notes,
  };
  for (const rule of rules) {
    if (!ALONE.test(rule.id)) continue;
    const work = rule.check(createContext(rule, subject, { reports, notChecked }, () => {}));
    if (work !== undefined) for (const _ of work);
  }
  const allows: Allow[] = fixture.dependencies.filter((f) => f.endsWith(".json")).flatMap((f) => fixtureAllows(f, host.read(f) ?? ""));
  return {
    fixture,
    findings: finish(reports, (rule) => fixture.levels.get(rule) ?? options.levels?.[rule], allows, new Set()),
  };
}
