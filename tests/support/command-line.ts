/** Runs the built command line as a process, in a temporary folder of its own. */
import { spawnSync } from "node:child_process";
import { mkdirSync, mkdtempSync, realpathSync, rmSync, writeFileSync } from "node:fs";
import { tmpdir } from "node:os";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath } from "node:url";
import { afterAll, beforeEach } from "vitest";

const root = resolve(dirname(fileURLToPath(import.meta.url)), "../..");
const scratch = realpathSync(mkdtempSync(join(tmpdir(), "jawline-cli-")));
let built: string | undefined;

afterAll(() => rmSync(scratch, { recursive: true, force: true }));

/**
 * Path of the bundle: the one in the checkout where `npm test` has just built it, else one built here, so that a test
 * run by itself never meets an old bundle.
 */
export function cliPath(): string {
  if (process.env.JAWLINE_BUILT === "1") return join(root, "server/dist/cli.js");
  if (built !== undefined) return built;
  const folder = join(scratch, "build");
  const made = spawnSync(process.execPath, [join(root, "server/build.mjs"), "--into", folder, "--only", "cli.js"], { encoding: "utf8" });
  if (made.status !== 0) throw new Error(`the command line cannot be built: ${made.stdout}${made.stderr}`);
  built = join(folder, "server/dist/cli.js");
  return built;
}

/** What a run printed, and its exit status. */
export interface Outcome {
  readonly status: number | null;
  readonly out: string;
  readonly err: string;
}

/** An empty folder, emptied again before each test. */
export class Folder {
  readonly path: string;

  constructor(name: string) {
    this.path = join(scratch, name);
    beforeEach(() => {
      rmSync(this.path, { recursive: true, force: true });
      mkdirSync(this.path, { recursive: true });
    });
  }

  /** Writes a file and gives its absolute path. */
  put(name: string, content: string | Uint8Array): string {
    const path = join(this.path, name);
    mkdirSync(dirname(path), { recursive: true });
    writeFileSync(path, content);
    return path;
  }

  /** Runs `jawline` with this folder, or one within it, as the working directory. */
  jawline(args: readonly string[], options: { readonly env?: Readonly<Record<string, string>>; readonly within?: string } = {}): Outcome {
    const { NO_COLOR: _, FORCE_COLOR: __, ...env } = process.env;
    const ran = spawnSync(process.execPath, [cliPath(), ...args], {
      cwd: join(this.path, options.within ?? "."),
      env: { ...env, ...options.env },
      encoding: "utf8",
      maxBuffer: 1 << 28,
      timeout: 60_000,
    });
    return { status: ran.status, out: ran.stdout, err: ran.stderr };
  }
}

/** A plate with two stations, one part, from the sidecar's format page: A1's part zero stands at X-620 Y-385 Z-345. */
export const SIDECAR = `{
  "format": 1,
  "units": "mm",
  "bases": { "plate": { "pitch": 50, "columns": 18, "rows": 9, "zero": { "X": -700, "Y": -450, "Z": -400 }, "thickness": 40, "border": 25 } },
  "fixedJaws": { "fj": { "face": 15, "length": 40, "width": 60, "height": 45 } },
  "movingJaws": { "mj": { "gap": 20, "increment": 3, "stroke": 8, "notches": 40, "loading": 1, "reserve": 1, "length": 55, "width": 60, "height": 42 } },
  "endStops": { "es": { "thickness": 12, "length": 30, "height": 30 } },
  "parts": { "bracket": { "ops": { "op10": {
    "stock": { "u": 41, "v": 60, "w": 30 }, "stockTolerance": 0.3, "zero": { "u": "fixedJaw", "v": "low", "w": "top" } } } } },
  "stations": [
    { "id": "A", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "movingJaw": "mj", "notch": 8,
      "endStop": { "element": "es", "side": "low", "at": -30 }, "seat": 25, "part": "bracket", "op": "op10",
      "offset": "G54", "repeat": { "columns": 2, "rows": 1, "step": [4, 0] } }
  ],
  "tools": { "1": { "name": "end mill 10", "DC": 10, "APMX": 22, "LF": 120, "shank": { "D": 10, "L": 40 }, "holder": [{ "D": 40, "L": 60 }], "H": 1, "D": 1 } }
}
`;

/** Mills both parts 2 mm deep along their middle. */
export const PROGRAM = `%
O1000 (FACE BOTH)
G21 G17 G40 G49 G80 G90 G94
T1 M6
S4000 M3
G0 G90 G54 X-30. Y-10.
G43 H1 Z50.
Z5.
G1 Z-2. F500
Y50. F800
G0 Z50.
G0 G90 G55 X-30. Y-10.
Z5.
G1 Z-2. F500
Y50. F800
G0 Z50.
G91 G28 Z0
G90
M30
%
`;
