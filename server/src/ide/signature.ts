import type { Profile } from "../engine/dialect/profile.js";
import type { Block } from "../engine/syntax/block.js";
import { codeOf, parseLine } from "../engine/syntax/parse.js";
import { callOf, type Neighbourhood } from "./names.js";
import { stateBefore } from "./state.js";
import { say, told } from "./texts.js";
import type { Position, View } from "./view.js";
import { cycleParameters, type Parameter } from "./words.js";

/** The words that the block under the cursor takes. */
export interface Signature {
  readonly label: string;
  readonly documentation: string;
  readonly parameters: readonly { readonly start: number; readonly end: number; readonly text: string }[];
  /** Index of the parameter that is being written; -1: none of them. */
  readonly active: number;
}

/**
 * The words of the cycle, the G10 or the macro call in the block that is being written. Undefined where the block is none.
 * @param line the line as it is now
 * @param old the line of the analysis whose state goes before it
 */
export function signatureAt(
  profile: Profile,
  near: Neighbourhood | undefined,
  view: View | undefined,
  file: string,
  line: string,
  position: Position,
  old: number,
): Signature | undefined {
  const block = parseLine(line, position.line, profile);
  if (block.comments.some((c) => position.column > c.start && position.column < c.end)) return undefined;
  const codes = block.words.filter((w) => w.letter === "G").map((w) => codeOf(w, w.value));
  const letter = letterAt(block, line, position.column);
  if (codes.includes("G10")) return make("G10", g10(block, profile), say("signature.g10"), letter);
  const call = callOf(block, profile);
  if (call !== undefined && (call.code === "G65" || call.code === "G66")) return macro(profile, near, file, call.number, call.code, letter);
  const stated = codes.find((c) => cycleParameters(c, []) !== undefined && profile.codes.has(c));
  const modal =
    view === undefined || codes.some((c) => profile.codes.get(c)?.takesAxes === true) ? undefined : stateBefore(view, file, old)?.motion;
  const code = stated ?? (modal !== undefined && block.words.some((w) => "XYZ".includes(w.letter)) ? modal : undefined);
  const parameters = code === undefined ? undefined : cycleParameters(code, profile.repeatLetters);
  if (code === undefined || parameters === undefined) return undefined;
  const meaning = told(profile.codes.get(code)?.meaning ?? "");
  return make(code, parameters, stated === undefined ? say("signature.modal", { meaning }) : meaning, letter);
}

/** The letter of the word that the cursor is in or directly behind. */
function letterAt(block: Block, line: string, column: number): string | undefined {
  const word = block.words.find((w) => column > w.start && column <= w.end);
  return word?.letter ?? /([A-Z])\s*[-+.\d]*$/i.exec(line.slice(0, column))?.[1]?.toUpperCase();
}

function make(code: string, parameters: readonly Parameter[], documentation: string, letter: string | undefined): Signature {
  let label = code;
  const spans = parameters.map((p) => {
    const start = label.length + 1;
    label += ` ${p.letter}`;
    return { start, end: label.length, text: `${p.letter}: ${p.text}` };
  });
  return { label, documentation, parameters: spans, active: parameters.findIndex((p) => p.letter === letter) };
}

function g10(block: Block, profile: Profile): readonly Parameter[] {
  const l = block.words.find((w) => w.letter === "L")?.value ?? Number.NaN;
  const kinds = [say("signature.l2")];
  if (profile.l20 === "additional") kinds.push(say("signature.l20-additional"));
  if (profile.l20 === "current") kinds.push(say("signature.l20-current"));
  const kind: Parameter = {
    letter: "L",
    text: say("signature.l", { kinds: kinds.join("; ") }),
  };
  if (l >= 10 && l <= 13) return [kind, { letter: "P", text: say("signature.tool-register") }, { letter: "R", text: say("signature.r") }];
  return [
    kind,
    {
      letter: "P",
      text:
        l === 20 && profile.l20 === "additional"
          ? say("signature.p-additional")
          : say(profile.commonShift ? "signature.p-shift" : "signature.p"),
    },
    ...[..."XYZ"].map((axis) => ({ letter: axis, text: say("signature.axis", { axis }) })),
    { letter: "A", text: say("signature.angle", { axis: "X" }) },
    { letter: "B", text: say("signature.angle", { axis: "Y" }) },
    { letter: "C", text: say("signature.angle", { axis: "Z" }) },
  ];
}

/** Arguments of a macro: those that the called program reads first, if it is known, else all. */
function macro(
  profile: Profile,
  near: Neighbourhood | undefined,
  file: string,
  number: number,
  code: string,
  letter: string | undefined,
): Signature {
  const at = Number.isNaN(number) ? undefined : near?.fileOf(number, file);
  const source = near?.sources.find((s) => s.file === at);
  const part = source?.parts.find((p) => p.number === number) ?? (at === file ? undefined : source?.parts[0]);
  const text = part === undefined || source === undefined ? "" : source.lines.slice(part.line, part.endLine).join("\n");
  const used = new Set([...text.matchAll(/#\s*(\d{1,2})(?!\d)/g)].map((m) => Number(m[1])));
  const all = Object.entries(profile.macroArguments).map(([l, n]) => ({ letter: l, number: n }));
  const read = all.filter((a) => used.has(a.number));
  const shown = read.length > 0 ? read : all;
  const parameters: Parameter[] = [
    { letter: "P", text: say("signature.program") },
    { letter: "L", text: say("signature.times") },
    ...shown.map((a) => ({ letter: a.letter, text: say("signature.argument", { variable: a.number }) })),
  ];
  const name = Number.isNaN(number) ? say("signature.macro") : `O${number}${part?.title === undefined ? "" : ` ${part.title}`}`;
  return make(code, parameters, say(part === undefined ? "signature.calls" : "signature.calls-reading", { name }), letter);
}
