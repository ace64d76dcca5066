/** The command line itself: what it takes, what it refuses and in which words, colours, and readers that leave. */
import { spawn, spawnSync } from "node:child_process";
import { readFileSync } from "node:fs";
import { describe, expect, test } from "vitest";
import { wantsColour } from "../../server/src/cli/terminal.js";
import { slips } from "../../server/src/engine/text/nearest.js";
import { cliPath, Folder, PROGRAM, SIDECAR } from "../support/command-line.js";

const folder = new Folder("usage");

describe("help and version", () => {
  test("--version prints the package's version", () => {
    const { version } = JSON.parse(readFileSync(new URL("../../package.json", import.meta.url), "utf8"));
    expect(folder.jawline(["--version"])).toEqual({ status: 0, out: `${version}\n`, err: "" });
  });

  test("--help names every command, and each has its own", () => {
    const { out, status } = folder.jawline(["--help"]);
    expect(status).toBe(0);
    for (const command of ["check", "trace", "stations", "offsets"]) {
      expect(out).toContain(`jawline ${command}`);
      const own = folder.jawline([command, "--help"]);
      expect(own).toMatchObject({ status: 0, err: "" });
      expect(own.out).toMatch(new RegExp(`^jawline ${command} `));
      expect(folder.jawline(["help", command]).out).toBe(own.out);
    }
    expect(out).toContain("A review aid, not a proof");
  });

  test("no line of a help text is wider than a terminal of 110 columns", () => {
    for (const args of [["--help"], ["check", "--help"], ["trace", "--help"], ["stations", "--help"], ["offsets", "--help"]]) {
      expect(
        Math.max(
          ...folder
            .jawline(args)
            .out.split("\n")
            .map((line) => line.length),
        ),
      ).toBeLessThanOrEqual(110);
    }
  });

  test("nothing at all prints the help and fails", () => {
    const { out, err, status } = folder.jawline([]);
    expect([out, status]).toEqual(["", 2]);
    expect(err).toContain("jawline check PROGRAM");
  });
});

describe("what cannot be understood gives status 2, one sentence, and nothing on the output", () => {
  const cases: readonly (readonly [readonly string[], string])[] = [
    [["chek", "a.nc"], 'there is no command "chek"; did you mean check?'],
    [["part.nc"], '"part.nc" is no command; to check a program: jawline check part.nc'],
    [["frobnicate"], 'there is no command "frobnicate"; there are check, trace, stations, offsets'],
    [["check"], "check needs at least one program. See jawline check --help."],
    [["check", "a.nc", "--fixtur", "b"], "check has no option --fixtur; did you mean --fixture?"],
    [["check", "a.nc", "--verbose"], "check has no option --verbose."],
    [["check", "a.nc", "-x"], "check has no option -x."],
    [["check", "a.nc", "--format", "xml"], '--format cannot be "xml": it is text, json or sarif.'],
    [["check", "a.nc", "--format"], "--format needs text, json or sarif."],
    [["check", "a.nc", "--format="], "--format needs text, json or sarif."],
    [["check", "a.nc", "--fixture", "--format", "json"], "--fixture needs a value."],
    [["check", "a.nc", "--fail-on", "information"], '--fail-on cannot be "information": it is error, warning or never.'],
    [["check", "a.nc", "--explain=yes"], "--explain takes no value."],
    [["check", "a.nc", "--skip", "on", "--skip", "off"], "--skip is given twice."],
    [["trace"], "trace needs one program."],
    [["trace", "a.nc", "b.nc"], 'trace takes one program and nothing else; "b.nc" is too much.'],
    [["trace", "a.nc", "--format", "json"], "trace has no option --format."],
    [["stations"], "stations needs one sidecar."],
    [["stations", "a.json", "--format", "g10"], '--format cannot be "g10": it is table or json.'],
    [["offsets", "a.json", "--against", "b.nc", "--format", "g10"], "--against compares, so its --format is table or json."],
  ];
  for (const [args, message] of cases) {
    test(args.join(" "), () => {
      const { out, err, status } = folder.jawline(args);
      expect([out, status]).toEqual(["", 2]);
      expect(err).toContain(`jawline: ${message}`);
      expect(err.trimEnd().split("\n").length).toBe(1);
    });
  }
});

test("what stands behind -- is a name, whatever it looks like", () => {
  folder.put("--odd.nc", PROGRAM);
  expect(folder.jawline(["check", "--", "--odd.nc"]).out).toContain("--odd.nc without a sidecar");
});

test("the number of slips between two words (Levenshtein 1966: kitten and sitting are the textbook's pair; Damerau 1964: a swap is one)", () => {
  expect(slips("kitten", "sitting")).toBe(3);
  expect(slips("", "abc")).toBe(3);
  expect(slips("same", "same")).toBe(0);
  expect(slips("fxiture", "fixture")).toBe(1);
});

describe("colours", () => {
  test("only on a terminal, and never with NO_COLOR", () => {
    expect(wantsColour({}, true)).toBe(true);
    expect(wantsColour({}, false)).toBe(false);
    expect(wantsColour({ NO_COLOR: "1" }, true)).toBe(false);
    // no-color.org: the variable counts when it is present and not empty.
    expect(wantsColour({ NO_COLOR: "" }, true)).toBe(true);
    expect(wantsColour({ TERM: "dumb" }, true)).toBe(false);
  });

  test("none into a pipe", () => {
    folder.put("part.nc", PROGRAM.replace("G55", "G57"));
    folder.put("part.fixture.json", SIDECAR);
    expect(folder.jawline(["check", "part.nc"]).out).not.toContain("\u001b");
  });

  test("on a real terminal there are some, with NO_COLOR none", () => {
    folder.put("part.nc", PROGRAM.replace("G55", "G57"));
    folder.put("part.fixture.json", SIDECAR);
    // util-linux's script gives a command a terminal; where it is missing there is nothing to look at.
    const terminal = (env: Readonly<Record<string, string>>) => {
      const { NO_COLOR: _, ...rest } = process.env;
      return spawnSync("script", ["-qec", `'${process.execPath}' '${cliPath()}' check part.nc`, "/dev/null"], {
        cwd: folder.path,
        env: { ...rest, TERM: "xterm-256color", ...env },
        encoding: "utf8",
      });
    };
    const coloured = terminal({});
    if (coloured.error !== undefined) return;
    expect(coloured.stdout).toContain("\u001b[31;1merror");
    expect(coloured.status).toBe(1);
    const plain = terminal({ NO_COLOR: "1" });
    expect(plain.stdout).toContain("[offset-unmapped]");
    expect(plain.stdout).not.toContain("\u001b[");
  });
});

test("a reader that leaves early is met quietly", async () => {
  folder.put(
    "long.nc",
    `G21 G90 G54\nT1 M6\n${Array.from({ length: 60_000 }, (_, i) => `G1 X${i % 100}. Y${i % 7}. F100`).join("\n")}\nM30\n`,
  );
  const child = spawn(process.execPath, [cliPath(), "trace", "long.nc"], { cwd: folder.path, stdio: ["ignore", "pipe", "pipe"] });
  let err = "";
  child.stderr.setEncoding("utf8").on("data", (text: string) => {
    err += text;
  });
  const status = await new Promise<number | null>((done) => {
    child.stdout.once("data", () => child.stdout.destroy());
    child.on("close", done);
  });
  expect(err).toBe("");
  expect(status).toBe(2);
});
