import { describe, expect, it } from "vitest";
import { Folder, SIDECAR } from "../support/command-line.js";

const folder = new Folder("locale");
const PROGRAM = "%\nO1\nG21 G90 G54.1 P44 G00 X0. Y0.\nM30\n%\n";

function put(): void {
  folder.put("plate.fixture.json", SIDECAR);
  folder.put("a.nc", PROGRAM);
}

const plain = { LC_ALL: "", LC_MESSAGES: "", LANG: "" };

describe("the language of the command line", () => {
  it("is the one of the first variable that is set, as POSIX.1-2017 section 8.2 orders them", () => {
    put();
    expect(folder.jawline(["check", "a.nc"], { env: plain }).out).toContain("no station uses G54.1 P44");
    expect(folder.jawline(["check", "a.nc"], { env: { ...plain, LANG: "de_DE.UTF-8" } }).out).toContain("keine Station benutzt G54.1 P44");
    expect(folder.jawline(["check", "a.nc"], { env: { ...plain, LC_ALL: "C", LANG: "de_DE.UTF-8" } }).out).toContain("no station uses");
    expect(folder.jawline(["check", "a.nc"], { env: { ...plain, LC_MESSAGES: "de_AT", LANG: "C" } }).out).toContain("keine Station");
  });

  it("is the one that --locale names, before any variable", () => {
    put();
    expect(folder.jawline(["check", "a.nc", "--locale", "en"], { env: { ...plain, LANG: "de_DE" } }).out).toContain("no station uses");
    expect(folder.jawline(["check", "a.nc", "--locale", "de"], { env: plain }).out).toContain("keine Station benutzt");
    expect(folder.jawline(["check", "a.nc", "--locale", "xx"], { env: plain }).status).toBe(2);
  });

  it("of what programs read does not change with the person", () => {
    put();
    const env = { ...plain, LANG: "de_DE.UTF-8" };
    for (const format of ["json", "sarif"]) {
      expect(folder.jawline(["check", "a.nc", "--format", format], { env }).out).toContain("no station uses");
      expect(folder.jawline(["check", "a.nc", "--format", format, "--locale", "de"], { env }).out).toContain("keine Station benutzt");
    }
  });
});

/** English words that German does not have: none of them may be left in what is said in German. */
const ENGLISH = /\b(?:the|is|are|and|not|with|which|this|that|from|where|there|no|checked|finding|findings|visit|unknown|station)\b/;

describe("everything that the command line says itself", () => {
  const german = (args: readonly string[]) => folder.jawline([...args, "--locale", "de"], { env: plain });

  it("is German with --locale de: heads, sums, tables and what was not checked", () => {
    put();
    folder.put("b.nc", "%\nO2\nG21 G90 G17 G40 G80\nT1 M06\nG54 G00 X0. Y0. S1000 M03\nG43 H1 Z50.\nG01 Z1. F100.\nG00 Z50.\nM30\n%\n");
    folder.put("file.nc", "G90\nG10 L2 P1 X1. Y2. Z3.\n");
    const check = german(["check", "a.nc", "b.nc", "absent.nc", "--explain"]).out;
    for (const words of [
      "a.nc mit plate.fixture.json, Dialekt iso",
      "Kleinste Abstände, mm:",
      "Nicht geprüft:",
      "absent.nc: nicht geprüft: diese Datei gibt es nicht",
      "3 Programme, ",
      "UNVOLLSTÄNDIG: 1 von 3 Programmen nicht zu Ende geprüft.",
      "Eine Hilfe beim Durchsehen, kein Nachweis",
    ])
      expect(check).toContain(words);
    // The level of a finding is what editors and scripts look for, and the same in every language.
    expect(check).toMatch(/^a\.nc:3:\d+: error: keine Station benutzt .* \[offset-unmapped\]$/m);
    const stations = german(["stations", "plate.fixture.json"]).out;
    expect(stations).toMatch(/^Station +Grundkörper +bei +Verschiebung +Werkstück +Arbeitsgang +X +Y +Z +Raste/);
    expect(stations).toContain("Berechnete Positionen der Werkstücknullpunkte");
    const offsets = german(["offsets", "plate.fixture.json"]).out;
    expect(offsets).toContain("Längen in mm; Z zählt vom Maschinennullpunkt; keine gemeinsame Verschiebung.");
    const against = german(["offsets", "plate.fixture.json", "--against", "file.nc"]).out;
    expect(against).toMatch(/WEICHT AB in X/);
    expect(against).toMatch(/G54 von \S+: X enthält 1\.000, richtig ist/);
    const g10 = german(["offsets", "plate.fixture.json", "--format", "g10"]).out;
    expect(g10).toContain("(NULLPUNKTVERSCHIEBUNGEN AUS DER VORRICHTUNGSDATEI BERECHNET)");
    // A control reads capitals without umlauts.
    expect(g10).toContain("(LAENGEN IN MM; Z ZAEHLT VOM MASCHINENNULLPUNKT; KEINE GEMEINSAME VERSCHIEBUNG.)");
    expect(g10).toMatch(/^[\n -~]*$/);
    const said = [check, stations, offsets, against].join("\n").replace(/^.*\[[a-z-]+\]$|^ +\d+ \|.*$/gm, "");
    expect(said.split("\n").filter((line) => ENGLISH.test(line))).toEqual([]);
  });

  it("is German in the help and where the arguments are not understood, option words as they are", () => {
    for (const command of [[], ["check"], ["trace"], ["stations"], ["offsets"]]) {
      const { out } = folder.jawline([...command, "--help"], { env: { ...plain, LANG: "de_DE.UTF-8" } });
      expect(out).toContain(command.length === 0 ? "kein Nachweis" : "Rückgabewert:");
      expect(out.split("\n").filter((line) => ENGLISH.test(line))).toEqual([]);
      expect(Math.max(...out.split("\n").map((line) => line.length))).toBeLessThanOrEqual(110);
      if (command.length > 0) expect(german([...command, "--help"]).out).toBe(out);
    }
    for (const [args, words] of [
      [["check"], "check braucht mindestens ein Programm. Siehe jawline check --help."],
      [["check", "a.nc", "--format", "xml"], "--format kann nicht „xml“ sein: möglich ist text, json oder sarif."],
      [["check", "a.nc", "--fixtur", "b"], "check hat keine Option --fixtur; ist --fixture gemeint?"],
      [["chek", "a.nc"], "es gibt keinen Befehl „chek“; ist check gemeint?"],
      [["check", "a.nc", "--dialect", "x"], "es gibt keinen Dialekt „x“; es gibt iso"],
    ] as const)
      expect(german(args)).toMatchObject({ status: 2, out: "", err: expect.stringContaining(words) });
  });
});
