import type { Place } from "./text/place.js";

export type Level = "error" | "warning" | "information";
export type LevelSetting = Level | "off";

/**
 * An argument of a message. Lengths, angles and times stay numbers until the wording is applied, so that every edge
 * can show them in the sidecar's units and language.
 */
export type Arg =
  | string
  | number
  | { readonly mm: number }
  | { readonly deg: number }
  | { readonly seconds: number }
  | { readonly rate: number }
  | { readonly list: readonly Arg[] };

export type Args = Readonly<Record<string, Arg>>;

/** A message by key: the wording of rule `rule`, variant `key`, stands in the rule's `messages`. */
export interface Message {
  readonly key: string;
  readonly args: Args;
}

export interface Related {
  readonly place: Place;
  readonly message: Message;
}

/** One text change of a fix. */
export interface TextChange {
  readonly place: Place;
  readonly text: string;
}

export interface Fix {
  /** Key of the title in the rule's messages. */
  readonly title: Message;
  readonly changes: readonly TextChange[];
  /** True only where the expanded motion provably stays the same; only these may be applied without looking. */
  readonly sameMotion: boolean;
}

export interface Finding {
  readonly rule: string;
  readonly level: Level;
  readonly message: Message;
  readonly place: Place;
  /** Station id as it is shown. */
  readonly station: string | undefined;
  readonly related: readonly Related[];
  /** Numbers for programs that read the JSON; lengths in mm. */
  readonly data: Readonly<Record<string, unknown>> | undefined;
  readonly fixes: readonly Fix[];
  /** Reason of the ALLOW comment that waives it. A waived finding is reported as information with its reason. */
  readonly waived: string | undefined;
}

/** What a lower layer noticed, before the rule of that id gives it level and wording. */
export interface Note {
  readonly rule: string;
  readonly message: Message;
  readonly place: Place;
  readonly related: readonly Related[];
  readonly data?: Readonly<Record<string, unknown>>;
  /** Step at which it was noticed; -1 when no step was involved. */
  readonly step: number;
}

/** Something that was not checked, and why. Both are messages of the pseudo rule "not-checked". */
export interface NotChecked {
  readonly what: Message;
  readonly why: Message;
}
