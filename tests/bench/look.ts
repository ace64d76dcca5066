/** Gives a case to the engine, and brings what it says into lines. */
import type { Host } from "../../server/src/engine/host.js";
import { type Analysis, analyseNow } from "../../server/src/engine/program.js";

export interface Said {
  readonly rule: string;
  readonly level: "error" | "warning" | "information";
  readonly file: string;
  /** From 0. */
  readonly line: number;
  readonly key: string;
  readonly station: string | undefined;
  readonly waived: boolean;
}

const FOLDER = "/shop";

function host(files: ReadonlyMap<string, string>): Host {
  return {
    read: (path) => (path.startsWith(`${FOLDER}/`) ? files.get(path.slice(FOLDER.length + 1)) : undefined),
    list: (folder) => (folder === FOLDER ? [...files.keys()] : undefined),
  };
}

export interface LookOptions {
  readonly blockSkip?: boolean;
  readonly empty?: readonly string[];
  readonly dialect?: string;
}

/** What the engine says about `part.nc` among these files. */
export function lookAt(
  files: ReadonlyMap<string, string>,
  options: LookOptions = {},
): { readonly said: Said[]; readonly analysis: Analysis } {
  const analysis = analyseNow(host(files), { program: `${FOLDER}/part.nc`, ...options });
  const said = analysis.findings.map((f): Said => {
    const file = f.place.file.startsWith(`${FOLDER}/`) ? f.place.file.slice(FOLDER.length + 1) : f.place.file;
    return {
      rule: f.rule,
      level: f.level,
      file,
      line: f.place.range.line,
      key: f.message.key,
      station: f.station,
      waived: f.waived !== undefined,
    };
  });
  return { said, analysis };
}
