import type { HintKind } from "../ide/hints.js";
import { defaultSettings, type Settings } from "./protocol.js";

/** Settings of the language features, beside those that bear on the checks. */
export interface FeatureSettings {
  readonly inlayHints: Readonly<Record<HintKind, boolean>>;
  readonly codeLens: { readonly visits: boolean; readonly tools: boolean };
  readonly format: {
    readonly enable: boolean;
    readonly spaces: boolean;
    readonly numbers: "keep" | "renumber";
    readonly numberStep: number;
  };
}

export type AllSettings = Settings & FeatureSettings;

export const defaultAll: AllSettings = {
  ...defaultSettings,
  inlayHints: { offsets: true, machineZ: true, values: true, positions: true },
  codeLens: { visits: true, tools: true },
  format: { enable: false, spaces: true, numbers: "keep", numberStep: 10 },
};

/** Settings with everything that is not as described left out. */
export function readSettings(given: unknown): AllSettings {
  const section = record(given);
  const texts = (value: unknown): Record<string, string> =>
    Object.fromEntries(Object.entries(record(value)).filter((e): e is [string, string] => typeof e[1] === "string"));
  const flag = (from: Readonly<Record<string, unknown>>, name: string, otherwise: boolean): boolean => {
    const value = from[name];
    return typeof value === "boolean" ? value : otherwise;
  };
  const hints = record(section.inlayHints);
  const lenses = record(section.codeLens);
  const format = record(section.format);
  const { dialect } = section;
  const step = format.numberStep;
  return {
    fixtures: texts(section.fixtures),
    levels: texts(section.levels),
    dialect: typeof dialect === "string" ? dialect : defaultSettings.dialect,
    inlayHints: {
      offsets: flag(hints, "offsets", true),
      machineZ: flag(hints, "machineZ", true),
      values: flag(hints, "values", true),
      positions: flag(hints, "positions", true),
    },
    codeLens: { visits: flag(lenses, "visits", true), tools: flag(lenses, "tools", true) },
    format: {
      enable: flag(format, "enable", false),
      spaces: flag(format, "spaces", true),
      numbers: format.numbers === "renumber" ? "renumber" : "keep",
      numberStep: typeof step === "number" && Number.isInteger(step) && step >= 1 && step <= 1000 ? step : 10,
    },
  };
}

function record(value: unknown): Readonly<Record<string, unknown>> {
  return typeof value === "object" && value !== null && !Array.isArray(value) ? (value as Record<string, unknown>) : {};
}
