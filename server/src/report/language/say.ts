import { renderArg, usualLanguage } from "../../engine/checks/wording.js";
import { germanOf } from "./de-data.js";

/** One text in every language, English first. "{name}" is a mark that an argument replaces. */
export type Text = readonly [english: string, german: string];

/** What stands for the marks of a text. A number is shown as it is: what needs rounding or a unit comes as text. */
export type Marks = Readonly<Record<string, string | number>>;

/**
 * Gives the function that words a table's texts in the language of this process (`speak`). A mark without an argument stays
 * as it is. Texts of rules are not worded here but by `engine/checks/wording.ts`.
 */
export function sayer<Key extends string>(table: Readonly<Record<Key, Text>>): (key: Key, marks?: Marks) => string {
  return (key, marks = {}) =>
    table[key][usualLanguage() === "de" ? 1 : 0].replace(/\{(\w+)\}/g, (mark, name: string) => String(marks[name] ?? mark));
}

/**
 * A text that the engine holds as data (meaning of a code, description of a sidecar's key, summary of a dialect or rule) in
 * the language of this process; one that is not known there comes back as it is.
 */
export function told(text: string): string {
  return usualLanguage() === "de" ? (germanOf(text) ?? text) : text;
}

/** The name of a solid, such as "moving jaw", in the language of this process. */
export function solidName(name: string): string {
  return renderArg(name, { units: "mm" }, "solid");
}
