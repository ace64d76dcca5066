import type { Profile } from "../dialect/profile.js";
import type { Args, Finding, Fix, Level, Message, Note, Related } from "../findings.js";
import type { Fixture, Solid, Station } from "../fixture/model.js";
import type { Vec3 } from "../geometry/vector.js";
import type { Move } from "../machine/move.js";
import type { Run, Step } from "../machine/run.js";
import type { Word } from "../syntax/block.js";
import type { Place, Span } from "../text/place.js";

/** One tool part near one solid along one move. */
export interface Contact {
  readonly move: number;
  readonly solid: Solid;
  /** Least distance in mm; 0 when they meet. */
  readonly distance: number;
  /** Depth of overlap where it is cheap to know, else 0. Only for messages. */
  readonly depth: number;
  /** Tool point where the least distance occurs, machine frame. */
  readonly at: Vec3;
  readonly part: "cutting" | "shank" | "holder";
  /** The least distance is at the start of the move (a rapid leaving a cut). */
  readonly atStart: boolean;
}

/** What the clearance pass found, shared by all geometric rules. */
export interface Clearances {
  /** Contacts nearer than the largest clearance that any rule asks for, in order of moves. */
  readonly contacts: readonly Contact[];
  contactsOf(move: number): readonly Contact[];
  /** Least clearance of a visit to each kind of solid, whatever its size, with where it occurs. The station's own stock has an entry of its own. */
  least(visit: number): readonly Contact[];
  /** Moves that could not be checked, with the reason as a not-checked message key. */
  readonly unchecked: ReadonlyMap<number, string>;
  /** Tools that were taken as a line with no width, because the fixture does not describe them. */
  readonly withoutWidth?: ReadonlySet<number>;
}

/** What a rule is given. Everything is read-only; `report` is the only output. */
export interface RuleContext {
  readonly run: Run;
  /** Undefined when there is no (usable) sidecar; rules that need one do nothing then. */
  readonly fixture: Fixture | undefined;
  readonly profile: Profile;
  readonly clearances: Clearances | undefined;
  /** True while the run is the one with block skip on: visits that stand behind `/` are missing on purpose. */
  readonly blockSkip: boolean;
  /** The run with block skip on, where the program has `/` blocks and this is the run with it off. */
  readonly skippedRun: Run | undefined;
  /**
   * What was run: the program itself; another main program in the same file; or a subprogram that nothing here calls.
   * Of the last neither tool nor modes at its start are known: only rules with `onSubprograms` see it.
   */
  readonly entry: "main" | "part" | "subprogram";
  /** What lower layers noticed: the machine, the fixture (also a broken one) and the search for the sidecar. */
  readonly notes: readonly Note[];
  report(finding: Report): void;
  /** Names something that could not be looked at, with the reason. Repeats are folded. */
  notChecked(what: Message, why: Message): void;
  place(step: Step, span?: { readonly start: number; readonly end: number }): Place;
  /** The whole block without leading and trailing white space. */
  blockPlace(step: Step): Place;
  /** The word of the step's block with that letter ("G54.1" style codes: give letter "G" and the code), if any. */
  word(step: Step, letter: string): Word | undefined;
  stationOf(move: Move): Station | undefined;
  /** The value that a word had when the step ran; NaN unknown. */
  value(step: Step, word: Word): number;
  /** Spelling of an offset: the sidecar's, else the dialect's. */
  offsetName(key: string): string;
}

export interface Report {
  readonly at: Place;
  /** Key into the rule's messages; default "default". */
  readonly key?: string;
  readonly args: Args;
  /** Its id, where there is one. */
  readonly station?: string | undefined;
  readonly related?: readonly Related[];
  readonly data?: Readonly<Record<string, unknown>> | undefined;
  readonly fixes?: readonly Fix[];
  /** Overrides the rule's level (a cut into a machinable jaw is information). */
  readonly level?: Level;
  /** The step it stands on, for ALLOW comments in called programs. */
  readonly step?: number | undefined;
  /** A block before it that brought the state about: an ALLOW comment there declares the state, for all that follows from it. */
  readonly declared?: Place;
  /** Reports of one rule with the same cause become one finding: the first stands, the others are related places of it. */
  readonly cause?: string;
  /** Wording of this report where it is only a related place of another with the same cause; default "related.also". */
  readonly relatedKey?: string;
}

export interface Rule {
  readonly id: string;
  readonly level: Level;
  /** One line for lists. */
  readonly summary: string;
  /** Markdown: what goes wrong at the machine, why, what to do; with cases in ```case fences that run as tests. */
  readonly docs: string;
  /** Templates: "{station}: … {distance}". Keys are variants; "fix.…" keys title fixes; "related.…" keys are for related places. */
  readonly messages: Readonly<Record<string, string>>;
  /** "program": all it needs is the text, so it has looked even where no sidecar is found. Default "fixture". */
  readonly needs?: "program" | "fixture";
  /** It makes sense also for a subprogram run by itself. Default false. */
  readonly onSubprograms?: boolean;
  /** Rules may be generators, so that a long look can be cut in slices: yield now and then. */
  check(cx: RuleContext): void | Generator<void, void, void>;
}

/** Types a rule; the registry is generated from the files that call this. */
export function defineRule(rule: Rule): Rule {
  return rule;
}

export type { Finding, Note, Span };
