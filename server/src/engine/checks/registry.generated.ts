// Made by server/generate.mjs from the files of this folder; do not edit.
import { allowUnused } from "./allow-unused.js";
import type { Rule } from "./rule.js";

/** Every rule, by name. */
export const rules: readonly Rule[] = [
  allowUnused,
];
