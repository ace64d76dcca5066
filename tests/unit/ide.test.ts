import fc from "fast-check";
import { describe, expect, it } from "vitest";
import { TextDocument } from "vscode-languageserver-textdocument";
import { builtInProfiles } from "../../server/src/engine/dialect/profiles.js";
import type { TextChange } from "../../server/src/engine/findings.js";
import type { Host } from "../../server/src/engine/host.js";
import { analyseNow } from "../../server/src/engine/program.js";
import { splitLines } from "../../server/src/engine/syntax/lexer.js";
import { parseSource } from "../../server/src/engine/syntax/parse.js";
import { applyChanges, mapLines } from "../../server/src/ide/edits.js";
import { motionProof, numberChanges, spaceChanges } from "../../server/src/ide/format.js";
import { neighbourhood, occurrencesOf } from "../../server/src/ide/names.js";
import { sidecarSchemaAt } from "../../server/src/ide/sidecar-schema.js";
import { spotAt } from "../../server/src/ide/sidecar-text.js";
import { TOKEN_TYPES, tokensOf } from "../../server/src/ide/tokens.js";
import { type View, viewOf } from "../../server/src/ide/view.js";

const iso = builtInProfiles.get("iso");
if (iso === undefined) throw new Error("there is no dialect iso");

const hostOf = (files: Readonly<Record<string, string>>): Host => ({
  read: (path) => files[path],
  list: (folder) => Object.keys(files).flatMap((f) => (f.startsWith(`${folder}/`) ? [f.slice(folder.length + 1)] : [])),
});
const viewed = (text: string): View => {
  const analysis = analyseNow(hostOf({ "/p.nc": text }), { program: "/p.nc" });
  return viewOf(analysis, (key) => key);
};
const change = (line: number, column: number, endLine: number, endColumn: number, text: string): TextChange => ({
  place: { file: "/p.nc", range: { line, column, endLine, endColumn } },
  text,
});

const shortLine = fc.constantFrom("", "X1", "G0 X2", "(A)", "M30");

describe("lines carried through an edit", () => {
  it("lead from each unchanged line to one with the same text, both ways, in order", () => {
    fc.assert(
      fc.property(fc.array(shortLine, { minLength: 1 }), fc.array(shortLine), fc.nat(), fc.nat(), (older, put, from, count) => {
        const start = from % (older.length + 1);
        const newer = [...older.slice(0, start), ...put, ...older.slice(start + (count % 4))];
        const map = mapLines(older, newer);
        let last = -1;
        older.forEach((text, line) => {
          const to = map.toNew(line);
          if (to === undefined) return;
          expect(newer[to]).toBe(text);
          expect(map.toOld(to)).toBe(line);
          expect(to).toBeGreaterThan(last);
          last = to;
        });
        // All that lies before and behind the edit is carried.
        for (let line = 0; line < start; line++) expect(map.toNew(line)).toBeDefined();
        expect(map.same).toBe(older.length === newer.length && older.every((l, i) => l === newer[i]));
      }),
    );
  });
});

describe("changes of a text", () => {
  it("give what the protocol's own document gives", () => {
    const texts = fc.array(shortLine, { minLength: 1, maxLength: 8 }).map((l) => l.join("\n"));
    fc.assert(
      fc.property(texts, fc.array(fc.tuple(fc.nat(40), fc.nat(3), fc.constantFrom("", "Z", "\n")), { maxLength: 4 }), (text, raw) => {
        const document = TextDocument.create("file:///p.nc", "iso6983", 1, text);
        let end = 0;
        const edits = raw
          .sort((a, b) => a[0] - b[0])
          .flatMap(([at, length, put]) => {
            const from = Math.max(at, end);
            if (from > text.length) return [];
            const to = Math.min(from + length, text.length);
            // Not touching, since for changes at one place the order would be a matter of taste.
            end = to + 1;
            return [{ range: { start: document.positionAt(from), end: document.positionAt(to) }, newText: put }];
          });
        const changes = edits.map(({ range: { start, end: e }, newText }) =>
          change(start.line, start.character, e.line, e.character, newText),
        );
        expect(applyChanges(text, changes)).toBe(TextDocument.applyEdits(document, edits));
      }),
    );
  });
});

describe("formatting", () => {
  const word = fc.constantFrom(
    "G0",
    "X1.5",
    "Y-2",
    "Z 3",
    "G54.1",
    "P4",
    "(NOTE  HERE)",
    "M98",
    "F[#1+2]",
    "#1=3",
    "IF[#1GT2]GOTO10",
    "N10",
    "/",
    ";end",
    "$",
  );
  const anyLine = fc.array(fc.tuple(word, fc.constantFrom("", " ", "   ", "\t")), { maxLength: 6 }).map((l) => l.flat().join(""));

  it("never changes what a line says, whatever the line is, and has nothing left to do the second time", () => {
    fc.assert(
      fc.property(anyLine, (line) => {
        const after = applyChanges(line, spaceChanges(iso, "/p.nc", [line], 0, 0));
        expect(after.replace(/\s/g, "")).toBe(line.replace(/\s/g, ""));
        expect(after).toBe(after.trimEnd());
        expect(spaceChanges(iso, "/p.nc", [after], 0, 0)).toEqual([]);
        const strip = (text: string) => parseSource("/p.nc", text, iso).blocks[0]?.words.map((w) => [w.letter, w.value]);
        expect(strip(after)).toEqual(strip(line));
      }),
    );
  });

  it("proves that the motion stays, and sees when it would not", () => {
    const text = "G21 G90 G17\nG0 X1 Y1\nX2\nM30\n";
    const view = viewed(text);
    const host = hostOf({ "/p.nc": text });
    const prove = (changes: readonly TextChange[]): string | undefined => {
      const work = motionProof(view, host, "/p.nc", changes);
      for (;;) {
        const step = work.next();
        if (step.done === true) return step.value;
      }
    };
    expect(prove([change(2, 0, 2, 2, "  X2")])).toBeUndefined();
    expect(prove([change(2, 1, 2, 2, "3")])).toBe("the motion would not be the same");
    expect(prove([change(2, 0, 3, 0, "")])).toBe("the motion would not be the same");
    expect(prove([change(1, 0, 1, 2, "G1 F9")])).toBe("the motion would not be the same");
  });

  it("numbers each program of a file by itself and refuses what it cannot follow", () => {
    const text = "O1\nN5 G0 X1\nGOTO 5\nM30\nO2\nN5 X1\nM99\n";
    const made = numberChanges(iso, "/p.nc", text, 10);
    expect("changes" in made ? applyChanges(text, made.changes) : made).toBe("O1\nN10 G0 X1\nGOTO 10\nM30\nO2\nN10 X1\nM99\n");
    expect(numberChanges(iso, "/p.nc", "N1 G0\nN1 G1\n", 10)).toEqual({ refused: "N1 stands twice (line 2)." });
    expect(numberChanges(iso, "/p.nc", "N1 G0\nM99 P1\n", 10)).toEqual({ refused: "Line 2 returns to a label of its caller." });
  });
});

describe("names", () => {
  it("are found with exact columns in any text", () => {
    fc.assert(
      fc.property(fc.array(fc.string({ maxLength: 20 })), (lines) => {
        const source = parseSource("/p.nc", lines.join("\n"), iso);
        const near = neighbourhood(hostOf({}), "/p.nc", [source], iso);
        for (const o of occurrencesOf(source, near)) {
          const { line, column, endColumn } = o.digits.range;
          const text = source.lines[line]?.slice(column, endColumn) ?? "";
          if ("number" in o.name && o.spell === undefined && /^\d+$/.test(text)) expect(Number(text)).toBe(o.name.number);
          expect(column).toBeLessThanOrEqual(endColumn);
          expect(endColumn).toBeLessThanOrEqual(source.lines[line]?.length ?? 0);
        }
      }),
    );
  });

  it("are not renamed through a call that packs repeats before the number without keeping them", () => {
    const packed = { ...iso, packedRepeat: true };
    const source = parseSource("/p.nc", "M98 P31000\nM30\nO1000\nM99\n", packed);
    const near = neighbourhood(hostOf({}), "/p.nc", [source], packed);
    const call = occurrencesOf(source, near).find((o) => o.name.kind === "program" && !o.write);
    expect(call?.name).toMatchObject({ number: 1000 });
    expect(call?.spell?.(20)).toBe("30020");
  });
});

describe("colours", () => {
  it("do not overlap and stay inside their lines, whatever the text is", () => {
    fc.assert(
      fc.property(
        fc.array(fc.oneof(fc.string({ maxLength: 24 }), fc.constantFrom("G1X[#1+2](A)", "IF[#1GT2]GOTO10", "#[#2]=3 ;x"))),
        (lines) => {
          const rows = splitLines(lines.join("\n"));
          let line = -1;
          let end = 0;
          for (const t of tokensOf(iso, undefined, "/p.nc", rows, 0, Number.POSITIVE_INFINITY, () => undefined)) {
            if (t.line !== line) end = 0;
            expect(t.line).toBeGreaterThanOrEqual(line);
            expect(t.start).toBeGreaterThanOrEqual(end);
            expect(t.length).toBeGreaterThan(0);
            line = t.line;
            end = t.start + t.length;
            expect(end).toBeLessThanOrEqual(rows[line]?.length ?? 0);
            expect(TOKEN_TYPES).toContain(t.type);
          }
        },
      ),
    );
  });
});

describe("sidecar", () => {
  it("is asked for a path in any text without a fault", () => {
    fc.assert(
      fc.property(fc.string(), fc.nat(5), fc.nat(30), (text, line, column) => {
        const spot = spotAt(text, { line, column });
        expect(Array.isArray(spot.path)).toBe(true);
        expect(Array.isArray(sidecarSchemaAt(spot.path))).toBe(true);
      }),
    );
  });

  it("has a description for every key that is offered", () => {
    for (const path of [[], ["machine"], ["bases", "plate"], ["stations", 0], ["parts", "p", "ops", "op10"], ["tools", "1"], ["offsets"]]) {
      const schemas = sidecarSchemaAt(path).flatMap((s) => Object.entries(s.properties ?? {}));
      expect(schemas.length).toBeGreaterThan(1);
      for (const [key, schema] of schemas) expect(schema.description ?? schema.anyOf?.[0]?.description, key).toBeTruthy();
    }
  });
});
