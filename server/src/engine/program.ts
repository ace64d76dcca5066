import type { Clearances } from "./checks/rule.js";
import type { Profile } from "./dialect/profile.js";
import type { Finding, LevelSetting, NotChecked } from "./findings.js";
import type { Fixture } from "./fixture/model.js";
import type { Host } from "./host.js";
import type { Run } from "./machine/run.js";

/** What the edge asks for. Paths are absolute. */
export interface AnalyseOptions {
  readonly program: string;
  /** Sidecar by option or setting; undefined: discover it. */
  readonly fixture?: string;
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

/**
 * Analyses one program. A generator: it yields between slices of work so that an editor can stay responsive and can
 * abandon it; drain it for the answer.
 */
export type Analyse = (host: Host, options: AnalyseOptions) => Generator<void, Analysis, void>;
