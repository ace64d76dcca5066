import type { Profile } from "../../server/src/engine/dialect/profile.js";
import { extendProfile, profileOf } from "../../server/src/engine/dialect/profiles.js";
import type { Fixture, Machine, Station, Tool } from "../../server/src/engine/fixture/model.js";
import type { Host } from "../../server/src/engine/host.js";
import { runNow } from "../../server/src/engine/machine/machine.js";
import type { Move } from "../../server/src/engine/machine/move.js";
import type { Run } from "../../server/src/engine/machine/run.js";
import { parseSource } from "../../server/src/engine/syntax/parse.js";

/** A profile that must be there. */
export function profile(name: string, overrides?: Readonly<Record<string, unknown>>): Profile {
  const base = profileOf(name);
  if (base === undefined) throw new Error(`no profile ${name}`);
  if (overrides === undefined) return base;
  const { profile: extended, problems } = extendProfile(base, overrides);
  if (problems.length > 0) throw new Error(JSON.stringify(problems));
  return extended;
}

const nowhere = { file: "/p/test.fixture.json", range: { line: 0, column: 0, endLine: 0, endColumn: 0 } };

export function tool(number: number, LF: number, more: Partial<Tool> = {}): Tool {
  return {
    number,
    name: undefined,
    kind: undefined,
    DC: Number.NaN,
    RE: 0,
    APMX: Number.NaN,
    LF,
    SIG: Number.NaN,
    stack: [],
    reach: Number.NaN,
    hasHolder: false,
    H: [number],
    D: [number],
    place: nowhere,
    ...more,
  };
}

export interface FixtureParts {
  readonly profile?: Profile;
  readonly units?: "mm" | "inch";
  readonly machine?: Partial<Machine>;
  readonly tools?: readonly Tool[];
  /** Offset key → stored X, Y, Z and rotary. */
  readonly stored?: Readonly<Record<string, readonly number[]>>;
  readonly commonShift?: Fixture["commonShift"];
  readonly zReference?: number;
  /** Offset keys of stations, in order, with their computed positions. */
  readonly stations?: readonly { readonly offset: string; readonly at: readonly [number, number, number]; readonly rotary?: number }[];
}

/** A fixture with only what a run looks at; stations have no solids. */
export function fixture(parts: FixtureParts): Fixture {
  const used = parts.profile ?? profile("iso");
  const machine: Machine = {
    name: undefined,
    profile: used,
    travel: {},
    home: {},
    rapid: {},
    acceleration: {},
    rapidPath: "straight",
    toolChangeSeconds: undefined,
    rotary: undefined,
    resident: [],
    programFolders: [],
    ...parts.machine,
  };
  const stations = (parts.stations ?? []).map(
    (s, index) =>
      ({
        index,
        id: `A${index + 1}`,
        offset: s.offset,
        computed: { X: s.at[0], Y: s.at[1], Z: s.at[2], rotary: s.rotary },
      }) as unknown as Station,
  );
  const stored = new Map(
    Object.entries(parts.stored ?? {}).map(([key, v]) => {
      const values = { X: v[0] ?? 0, Y: v[1] ?? 0, Z: v[2] ?? 0, ...(v[3] === undefined ? {} : { rotary: v[3] }) };
      return [key, { values, place: nowhere, source: "values" as const }];
    }),
  );
  const tools = new Map((parts.tools ?? []).map((t) => [t.number, t]));
  const whole: Partial<Fixture> = {
    file: nowhere.file,
    units: parts.units ?? "mm",
    machine,
    stations,
    tools,
    hasTools: tools.size > 0,
    stored,
    commonShift: parts.commonShift ?? {},
    zReference: parts.zReference ?? 0,
    stationsOf: (key) => stations.filter((s) => s.offset === key),
    offsetName: (key) => key,
  };
  return whole as Fixture;
}

export interface RunOptions {
  readonly profile?: Profile;
  readonly fixture?: Fixture;
  readonly blockSkip?: boolean;
  readonly files?: Readonly<Record<string, string>>;
  readonly entryPart?: number;
  readonly bounds?: { readonly steps?: number; readonly rounds?: number; readonly depth?: number };
}

/** Runs a text as the program /p/main.nc; `files` are others by path. */
export function run(text: string, options: RunOptions = {}): Run {
  const used = options.profile ?? options.fixture?.machine.profile ?? profile("iso");
  const files = options.files ?? {};
  const host: Host = {
    read: (path) => files[path],
    list: (folder) => [
      "main.nc",
      ...Object.keys(files)
        .filter((f) => f.startsWith(`${folder}/`))
        .map((f) => f.slice(folder.length + 1)),
    ],
  };
  return runNow({
    main: parseSource("/p/main.nc", text, used),
    host,
    profile: used,
    blockSkip: options.blockSkip ?? false,
    ...(options.fixture === undefined ? {} : { fixture: options.fixture }),
    ...(options.entryPart === undefined ? {} : { entryPart: options.entryPart }),
    ...(options.bounds === undefined ? {} : { bounds: options.bounds }),
  });
}

/** A number without the noise of binary fractions; NaN as null, so that lists compare plainly. */
export function tidy(n: number): number | null {
  if (Number.isNaN(n)) return null;
  const r = Math.round(n * 1e6) / 1e6;
  return r === 0 ? 0 : r;
}

/** Where moves end, as "rapid 1 2 3"; unknown coordinates are "?". */
export function ends(result: Run, frame: "machine" | "part" = "machine"): string[] {
  return result.moves.map((m) => {
    const to = frame === "machine" ? m.to : m.partTo;
    return `${m.kind} ${to.map((n) => tidy(n) ?? "?").join(" ")}`;
  });
}

/** Position after the last move. */
export function last(result: Run): (number | null)[] {
  const move = result.moves.at(-1);
  return move === undefined ? [] : move.to.map(tidy);
}

/** Notes as "rule key line". */
export function notes(result: Run): string[] {
  return result.notes.map((n) => `${n.rule} ${n.message.key} ${n.place.range.line + 1}`);
}

/** Moves of a line (from 1), of the main file. */
export function movesOf(result: Run, line: number): Move[] {
  return result.moves.filter((m) => {
    const step = result.steps[m.step];
    return step !== undefined && step.source === 0 && step.block.line === line - 1;
  });
}
