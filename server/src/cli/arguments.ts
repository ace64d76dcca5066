import { parseArgs } from "node:util";
import { slips } from "../engine/text/nearest.js";
import { say } from "../report/texts.js";

/** How an option is given: alone, with any value, or with one of several. */
export interface OptionForm {
  readonly name: string;
  readonly value: "none" | "text" | readonly string[];
}

/** What a command takes. */
export interface CommandForm {
  readonly name: string;
  /** What stands behind the command, in words. */
  readonly operand: "operand.programs" | "operand.program" | "operand.sidecar";
  /** Least and greatest number of operands. */
  readonly operands: readonly [number, number];
  readonly options: readonly OptionForm[];
}

/** What a person wrote, understood. */
export interface Arguments {
  readonly operands: readonly string[];
  /** Option name → value; "" for an option that takes none. */
  readonly options: ReadonlyMap<string, string>;
}

/** Understands the arguments behind a command, or says in one sentence what is wrong with them. */
export function readArguments(form: CommandForm, args: readonly string[]): Arguments | { readonly problem: string } {
  const known = new Map(form.options.map((option) => [option.name, option]));
  const { tokens } = parseArgs({
    args: [...args],
    options: Object.fromEntries(
      form.options.map((o) => [o.name, { type: o.value === "none" ? ("boolean" as const) : ("string" as const) }]),
    ),
    strict: false,
    allowPositionals: true,
    tokens: true,
  });
  const operands: string[] = [];
  const options = new Map<string, string>();
  for (const token of tokens) {
    if (token.kind === "positional") operands.push(token.value);
    if (token.kind !== "option") continue;
    const option = known.get(token.name);
    if (option === undefined) return { problem: unknownOption(form, token.rawName) };
    if (options.has(option.name)) return { problem: say("arguments.twice", { option: token.rawName }) };
    const problem = valueProblem(token.rawName, option, token.value, token.inlineValue === true);
    if (problem !== undefined) return { problem };
    options.set(option.name, token.value ?? "");
  }
  const [least, greatest] = form.operands;
  if (operands.length < least) return { problem: say("arguments.needs-operand", { command: form.name, operand: say(form.operand) }) };
  if (operands.length > greatest)
    return { problem: say("arguments.too-many", { command: form.name, operand: say(form.operand), extra: operands[greatest] ?? "" }) };
  return { operands, options };
}

/** What is wrong with the value of an option, which is named as it was written. */
function valueProblem(name: string, option: OptionForm, value: string | undefined, inline: boolean): string | undefined {
  if (option.value === "none") return value === undefined ? undefined : say("arguments.no-value", { option: name });
  // "--fixture --format json": the next option is not a file name; "--fixture=--x" would be.
  const missing = value === undefined || value === "" || (!inline && value.startsWith("--"));
  if (typeof option.value === "string") return missing ? say("arguments.value", { option: name }) : undefined;
  if (!missing && option.value.includes(value)) return undefined;
  const choices = say("arguments.choices", { list: option.value.slice(0, -1).join(", "), last: option.value.at(-1) ?? "" });
  return missing ? say("arguments.choice", { option: name, choices }) : say("arguments.wrong", { option: name, value, choices });
}

/** Names the option that was probably meant. */
function unknownOption(form: CommandForm, raw: string): string {
  const name = raw.replace(/^-+/, "");
  const best = form.options
    .map((option) => ({ name: option.name, distance: slips(name, option.name) }))
    .sort((a, b) => a.distance - b.distance)[0];
  const marks = { command: form.name, option: raw };
  if (best === undefined || best.distance > 2) return say("arguments.no-option", marks);
  return say("arguments.near-option", { ...marks, near: best.name });
}
