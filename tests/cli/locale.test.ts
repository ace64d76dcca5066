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
