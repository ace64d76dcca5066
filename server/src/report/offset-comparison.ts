import { fill, usualLanguage } from "../engine/checks/wording.js";
import { diagnoseOffset, diagnosisMessages } from "../engine/fixture/diagnose.js";
import type { Axis, AxisValues, Fixture } from "../engine/fixture/model.js";
import { offsetDifference } from "../engine/fixture/offsets.js";
import type { OffsetKey } from "../engine/machine/move.js";
import { germanReasons } from "./language/de.js";
import { accountText, axesJson, type RequiredOffset, requiredJson, requiredOffsets } from "./offset-block.js";
import { angleText, lengthText, tableText } from "./plain-table.js";
import { jsonNumber } from "./program-report.js";
import { say } from "./texts.js";

type RegisterAxis = Axis | "rotary";

const AXES: readonly RegisterAxis[] = ["X", "Y", "Z", "rotary"];

/** What a file says of the registers, mm and degrees. */
export interface Registers {
  /** Register → its values and the line, from 0, of the block that gave them last. */
  readonly values: ReadonlyMap<OffsetKey, { readonly values: AxisValues; readonly line: number }>;
  /** What the file sets as common shift; axes that it leaves out are the sidecar's. */
  readonly commonShift: AxisValues;
}

/** One station's register in the file beside what it must hold. */
export interface ComparedOffset {
  readonly required: RequiredOffset;
  /** Undefined: the file has no such register. */
  readonly stored: AxisValues | undefined;
  /** Line from 1. */
  readonly line: number | undefined;
  /** File less required, for the axes of which both are known. */
  readonly difference: AxisValues;
  readonly beyond: readonly RegisterAxis[];
  /** Axes that the file leaves out and that are not declared as set at the machine. */
  readonly absent: readonly RegisterAxis[];
  /** Axes of which the sidecar cannot say what they must be. */
  readonly unknown: readonly RegisterAxis[];
  /** Why it differs, where that can be told. */
  readonly diagnosis: string | undefined;
}

/** A file of registers against a sidecar. */
export interface Comparison {
  readonly fixture: Fixture;
  readonly entries: readonly ComparedOffset[];
  /** Registers of the file that belong to no station and no datum, as they are spelled. */
  readonly strangers: readonly string[];
  /** Nothing beyond the tolerance and nothing absent. */
  readonly equal: boolean;
  /** Everything could be compared. */
  readonly complete: boolean;
}

/** Compares a file's registers with what every station needs. A common shift in the file stands for the sidecar's. */
export function compareOffsets(sidecar: Fixture, file: Registers): Comparison {
  const fixture: Fixture = { ...sidecar, commonShift: { ...sidecar.commonShift, ...file.commonShift } };
  const required = requiredOffsets(fixture);
  const entries = required.map((r) => compareOne(r, fixture, file));
  const known = new Set([...required.map((r) => r.offset), ...fixture.datums.keys()]);
  const strangers = [...file.values.keys()].filter((key) => !known.has(key)).map((key) => fixture.offsetName(key));
  const equal = entries.every((entry) => entry.stored !== undefined && entry.beyond.length === 0 && entry.absent.length === 0);
  const complete = file.values.size > 0 && entries.every((entry) => entry.unknown.length === 0);
  return { fixture, entries, strangers, equal, complete };
}

function compareOne(required: RequiredOffset, fixture: Fixture, file: Registers): ComparedOffset {
  const found = file.values.get(required.offset);
  const stored = found?.values;
  const difference = stored === undefined ? {} : offsetDifference(fixture, required.station, stored);
  const beyond: RegisterAxis[] = [];
  const absent: RegisterAxis[] = [];
  const unknown: RegisterAxis[] = [];
  for (const axis of AXES) {
    const must = required[axis];
    if (must === undefined) continue;
    const has = stored?.[axis];
    if (!Number.isFinite(must)) unknown.push(axis);
    else if (has === undefined) {
      // A file that leaves the rotary value out leaves it at zero, as most control's tables do.
      const silent = axis === "rotary" ? Math.abs(must) <= fixture.tolerance.rotary : fixture.setAtMachine.includes(axis);
      if (!silent && stored !== undefined) absent.push(axis);
      // A nanometre of room: the sums behind both numbers are binary.
    } else if (!(Math.abs(difference[axis] ?? Number.NaN) <= fixture.tolerance[axis] + 1e-6)) beyond.push(axis);
  }
  const diagnosis = stored !== undefined && beyond.length > 0 ? diagnosisText(fixture, required, stored) : undefined;
  return { required, stored, line: found === undefined ? undefined : found.line + 1, difference, beyond, absent, unknown, diagnosis };
}

/** Why a register differs, in words; undefined where no known slip explains it. */
function diagnosisText(fixture: Fixture, required: RequiredOffset, stored: AxisValues): string | undefined {
  const { key, args } = diagnoseOffset(fixture, required.station, stored);
  const template = (usualLanguage() === "de" ? germanReasons[key]?.replace(/^: /, "") : undefined) ?? diagnosisMessages[key] ?? "";
  return template === "" ? undefined : fill(template, args, { units: fixture.units });
}

/** `offsets --against --format json`: an entry for each station with an offset, mm and degrees. */
export function comparisonJson(comparison: Comparison): object {
  return comparison.entries.map((entry) => ({
    ...requiredJson(entry.required),
    stored: entry.stored === undefined ? null : axesJson(entry.stored),
    ...(entry.line === undefined ? {} : { line: entry.line }),
    difference: Object.fromEntries(Object.entries(entry.difference).map(([axis, value]) => [axis, jsonNumber(value)])),
    beyond: entry.beyond,
    absent: entry.stored === undefined ? AXES.filter((axis) => entry.required[axis] !== undefined) : entry.absent,
    ...(entry.diagnosis === undefined ? {} : { diagnosis: entry.diagnosis }),
  }));
}

/** The same for a person, in the sidecar's units; `file` as it was named. */
export function comparisonText(comparison: Comparison, file: string): string {
  const { fixture, entries, strangers } = comparison;
  const rotary = fixture.machine.rotary?.axis;
  const axes = AXES.filter((axis) => axis !== "rotary" || rotary !== undefined);
  const letter = (axis: RegisterAxis) => (axis === "rotary" ? (rotary ?? "") : axis);
  const value = (axis: RegisterAxis, number: number | undefined) =>
    number === undefined ? "-" : axis === "rotary" ? angleText(number) : lengthText(number, fixture.units);
  const rows = entries.map((entry) => [
    entry.required.offsetName,
    entry.required.station.id,
    ...axes.map((axis) => value(axis, entry.required[axis])),
    ...axes.map((axis) => value(axis, entry.difference[axis])),
    verdict(entry, letter),
  ]);
  const head = [
    say("head.offset"),
    say("head.station"),
    ...axes.map(letter),
    ...axes.map((axis) => say("head.differs", { axis: letter(axis) })),
    say("head.result"),
  ];
  let text = `${tableText(head, rows)}\n${accountText(fixture)} ${say("compare.what", { file })}\n`;
  const told = entries.filter((entry) => entry.beyond.length > 0 || entry.absent.length > 0);
  for (const entry of told) {
    const { required, stored, line, beyond, absent, diagnosis } = entry;
    const numbers = beyond.map((axis) =>
      say("compare.holds", { axis: letter(axis), has: value(axis, stored?.[axis]), must: value(axis, required[axis]) }),
    );
    if (absent.length > 0) numbers.push(say("compare.left-out", { axes: absent.map(letter).join(", ") }));
    const why = diagnosis === undefined ? "" : `: ${diagnosis}`;
    const whose = say("compare.of", { offset: required.offsetName, station: required.station.id });
    text += `${file}:${line ?? 1}: ${whose}: ${numbers.join("; ")}${why}\n`;
  }
  for (const name of strangers) text += `${say("compare.stranger", { file, offset: name })}\n`;
  return `${text}${closing(comparison, file)}\n`;
}

function verdict(entry: ComparedOffset, letter: (axis: RegisterAxis) => string): string {
  if (entry.stored === undefined) return say("compare.absent");
  if (entry.unknown.length > 0) return say("compare.unknown", { axes: entry.unknown.map(letter).join(", ") });
  if (entry.beyond.length > 0) return say("compare.differs", { axes: entry.beyond.map(letter).join(", ") });
  return entry.absent.length > 0 ? say("compare.left-out", { axes: entry.absent.map(letter).join(", ") }) : say("compare.within");
}

function closing({ entries, complete, equal }: Comparison, file: string): string {
  if (entries.length === 0) return say("compare.nothing");
  if (entries.every((entry) => entry.stored === undefined)) return say("compare.none-set", { file });
  const good = entries.filter((e) => e.stored !== undefined && e.beyond.length + e.absent.length + e.unknown.length === 0).length;
  const sum = say(entries.length === 1 ? "compare.good-one" : "compare.good", { good, all: entries.length });
  if (!complete) return say("compare.incomplete", { good: sum });
  return equal ? `${sum}.` : say("compare.some-not", { good: sum, count: entries.length - good });
}
