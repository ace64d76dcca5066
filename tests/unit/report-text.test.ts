/** `check` for a person, from an analysis written by hand: what stands where, what is counted, and what is never said. */
import { stripVTControlCharacters } from "node:util";
import { expect, test } from "vitest";
import { CAUTION, checkText, printable } from "../../server/src/report/text.js";
import { analysis, context, finding, NOT_CHECKED, PROGRAM, placeAt, report, SIDECAR, spellOffset } from "../support/analysis.js";

const plain = { colour: false, explain: false, spellOffset };

function textOf(change: Parameters<typeof analysis>[0], options = plain): string {
  return checkText([report(analysis(change))], context, options);
}

test("a clean and complete result says so in numbers", () => {
  const text = textOf({});
  expect(text).toContain("part.nc with part.fixture.json, dialect iso\n");
  expect(text).toContain("\n1 program, 2 visits, no findings; complete.\n");
  expect(text.trimEnd().endsWith(CAUTION)).toBe(true);
});

test("a finding shows file, line, column, severity, message, rule, source line and the place underlined", () => {
  const related = [{ place: placeAt(SIDECAR, 1, 2, 10), message: { key: "station", args: {} } }];
  const text = textOf({ findings: [finding({ place: placeAt(PROGRAM, 2, 8, 11), related })] });
  // The tab before the block stands in the underline too, so that both lines begin in the same column.
  expect(text).toContain(
    [
      "part.nc:3:9: error: message default of offset-unmapped [offset-unmapped]",
      "     3 | \tG0 G90 G57 X0 Y0",
      "       | \t       ^^^",
      "    part.fixture.json:2:3: related station",
      "",
    ].join("\n"),
  );
  expect(text).toContain("1 program, 2 visits, 1 error; complete.");
});

test("findings come in the order of the program, other files after it", () => {
  const text = textOf({
    findings: [
      finding({ rule: "c", place: placeAt(SIDECAR, 0, 0, 1) }),
      finding({ rule: "b", place: placeAt(PROGRAM, 4, 3, 5) }),
      finding({ rule: "a", place: placeAt(PROGRAM, 2, 8, 11) }),
    ],
  });
  expect([...text.matchAll(/\[(\w)\]$/gm)].map((m) => m[1])).toEqual(["a", "b", "c"]);
});

test("a place far to the right is shown with what is around it", () => {
  const text = textOf({ findings: [finding({ place: placeAt(PROGRAM, 5, 203, 207) })] });
  const [source = "", under = ""] = text.split("\n").filter((line) => /^\s+\d* \|/.test(line));
  expect(source.length).toBeLessThan(130);
  expect(source.slice(under.indexOf("^"), under.lastIndexOf("^") + 1)).toBe("X10.");
});

test("a place over several lines is underlined to the end of its first line", () => {
  const text = textOf({ findings: [finding({ place: placeAt(SIDECAR, 1, 2, 1, 2) })] });
  expect(text).toContain('     2 |   "format": 1\n       |   ^^^^^^^^^^^\n');
});

test("an empty place has one mark", () => {
  expect(textOf({ findings: [finding({ place: placeAt(PROGRAM, 2, 8, 8) })] })).toContain("| \t       ^\n");
});

test("control characters of a program never reach the terminal", () => {
  const text = textOf({ findings: [finding({ place: placeAt(PROGRAM, 4, 16, 18) })] });
  expect(text).not.toContain("\u001b");
  expect(text).toContain("(\ufffd[31mred\ufffd[0m) G1 Z-5 F200");
  expect(printable("a\u0007b\tc\u202ed\u2028e\u009bf")).toBe("a\ufffdb\tc\ufffdd\ufffde\ufffdf");
});

test("wide characters take two columns of the underline", () => {
  const file = "/shop/wide.nc";
  const cx = { ...context, linesOf: () => ["(工件) G57"] };
  const text = checkText([report(analysis({ findings: [finding({ place: placeAt(file, 0, 5, 8) })] }))], cx, plain);
  expect(text).toContain("     1 | (工件) G57\n       |        ^^^\n");
});

test("colours only when asked for", () => {
  const findings = [finding()];
  expect(textOf({ findings })).not.toContain("\u001b[");
  const coloured = textOf({ findings }, { ...plain, colour: true });
  expect(coloured).toContain("\u001b[31;1merror\u001b[0m");
  expect(stripVTControlCharacters(coloured)).toBe(textOf({ findings }));
});

test("waived findings are listed apart with their reason and are not counted as findings", () => {
  const text = textOf({ findings: [finding({ level: "information", waived: "step in the soft jaw" })] });
  expect(text).toContain(
    "Waived by ALLOW comments:\n    part.nc:3:9: message default of offset-unmapped [offset-unmapped] reason: step in the soft jaw\n",
  );
  expect(text).toContain("1 program, 2 visits, no findings, 1 waived; complete.");
});

test("what was not checked is listed, and then nobody reads that there are no findings", () => {
  const text = textOf({ notChecked: [NOT_CHECKED] });
  expect(text).toContain("Not checked:\n    holders: no tools\n");
  expect(text).toContain("1 program, 2 visits, nothing found in what was checked, 1 thing not checked; complete.");
  expect(text).not.toContain("no findings");
});

test("an incomplete result says so last, and never that there are no findings", () => {
  const text = textOf({ complete: false });
  expect(text).toContain("1 program, 2 visits, nothing found in what was checked; INCOMPLETE.");
  expect(text).not.toContain("no findings");
});

test("a program that cannot be read is told and counted", () => {
  const reports = [report(analysis()), { program: "gone.nc", result: { problem: "there is no such file" } }];
  const text = checkText(reports, context, plain);
  expect(text).toContain("gone.nc: not checked: there is no such file\n");
  expect(text).toContain("2 programs, 2 visits, nothing found in what was checked; INCOMPLETE: 1 of 2 programs not checked to the end.");
});

test("levels are counted apart", () => {
  const text = textOf({
    findings: [finding(), finding({ level: "warning" }), finding({ level: "warning" }), finding({ level: "information" })],
  });
  expect(text).toContain("1 program, 2 visits, 1 error, 2 warnings, 1 information; complete.");
});

test("the explanation gives every visit's least clearances, and what could not be measured", () => {
  const text = textOf({}, { ...plain, explain: true });
  const lines = text.split("\n").map((line) => line.trim().split(/\s{2,}/));
  expect(lines).toContainEqual(["line 3", "T1", "G54", "A1", "fixed jaw of A1", "4.500", "holder", "line 3"]);
  expect(lines).toContainEqual(["plate", "12.346", "cutting", "O200.nc:2"]);
  // A visit is named by the block that leads to it, here step 1 of the main program, though its motion stands elsewhere.
  expect(lines).toContainEqual([
    "line 3",
    "T?",
    "G54.1 P7",
    "-",
    "1 move not checked",
    "-",
    "-",
    "from line 5: reason why.position-unknown",
  ]);
});

test("the explanation without a sidecar says that nothing was measured", () => {
  const text = textOf({ fixture: undefined, fixtureFile: undefined, clearances: undefined }, { ...plain, explain: true });
  expect(text).toContain("part.nc without a sidecar, dialect iso\n");
  expect(text).toContain("nothing measured: there is no usable sidecar");
});
