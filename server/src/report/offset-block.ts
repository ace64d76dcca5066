import type { Profile } from "../engine/dialect/profile.js";
import type { AxisValues, Fixture, Station } from "../engine/fixture/model.js";
import { expectedStored } from "../engine/fixture/offsets.js";
import type { OffsetKey } from "../engine/machine/move.js";
import { angleText, lengthText, tableText } from "./plain-table.js";
import { jsonNumber } from "./program-report.js";
import { say } from "./texts.js";

/** What one work offset must hold for one station. Lengths in mm, the rotary value in degrees; NaN where not known. */
export interface RequiredOffset {
  readonly offset: OffsetKey;
  readonly offsetName: string;
  readonly station: Station;
  readonly X: number;
  readonly Y: number;
  readonly Z: number;
  /** Undefined without a rotary axis. */
  readonly rotary: number | undefined;
}

/**
 * What every station's register must hold: computed position less the common shift, Z less the position that stored
 * values count from. Stations without an offset are left out; stations that share one have one entry each.
 */
export function requiredOffsets(fixture: Fixture): readonly RequiredOffset[] {
  return fixture.stations.flatMap((station) => {
    if (station.offset === undefined) return [];
    const { X, Y, Z, rotary } = expectedStored(fixture, station);
    const offsetName = station.offsetName ?? fixture.offsetName(station.offset);
    return [{ offset: station.offset, offsetName, station, X, Y, Z, rotary }];
  });
}

/** `offsets` for a person, in the sidecar's units. */
export function offsetsTable(fixture: Fixture): string {
  const { units } = fixture;
  const rotary = fixture.machine.rotary?.axis;
  const rows = requiredOffsets(fixture).map((r) => [
    r.offsetName,
    r.station.id,
    lengthText(r.X, units),
    lengthText(r.Y, units),
    lengthText(r.Z, units),
    ...(rotary === undefined ? [] : [angleText(r.rotary)]),
  ]);
  const head = [say("head.offset"), say("head.station"), "X", "Y", "Z", ...(rotary === undefined ? [] : [rotary])];
  return `${tableText(head, rows)}\n${accountText(fixture)}\n`;
}

/** One sentence on what the values count from. */
export function accountText(fixture: Fixture): string {
  const { units, zFrom, commonShift } = fixture;
  const from =
    zFrom.kind === "machine"
      ? say("account.machine")
      : zFrom.kind === "base"
        ? say("account.base", { base: zFrom.base, z: lengthText(fixture.zReference, units) })
        : say("account.station", { station: zFrom.station, z: lengthText(fixture.zReference, units) });
  const shifts = (["X", "Y", "Z"] as const).filter((axis) => (commonShift[axis] ?? 0) !== 0);
  const shift =
    shifts.length === 0
      ? say("account.no-shift")
      : say("account.shift", { axes: shifts.map((axis) => `${axis} ${lengthText(commonShift[axis] ?? 0, units)}`).join(", ") });
  return say("account", { units: units === "mm" ? "mm" : say("inch"), from, shift });
}

/** `offsets --format json`: an entry for each station with an offset, mm and degrees whatever the sidecar's units. */
export function offsetsJson(fixture: Fixture): object {
  return requiredOffsets(fixture).map((r) => {
    const stored = fixture.stored.get(r.offset)?.values;
    return { ...requiredJson(r), ...(stored === undefined ? {} : { stored: axesJson(stored) }) };
  });
}

/** The part of an entry that both forms of the JSON have. */
export function requiredJson(r: RequiredOffset): object {
  return {
    offset: r.offsetName,
    station: r.station.id,
    required: {
      X: jsonNumber(r.X),
      Y: jsonNumber(r.Y),
      Z: jsonNumber(r.Z),
      ...(r.rotary === undefined ? {} : { rotary: jsonNumber(r.rotary) }),
    },
  };
}

/** The axes that are given. */
export function axesJson(values: AxisValues): object {
  const out: Record<string, number | null> = {};
  for (const axis of ["X", "Y", "Z", "rotary"] as const) {
    if (values[axis] !== undefined) out[axis] = jsonNumber(values[axis]);
  }
  return out;
}

/** How a control is told the content of a register: the L and P words of a G10 block. */
export interface RegisterAddress {
  readonly l: number;
  readonly p: number;
}

/** G10 blocks for all offsets of a sidecar, in its units, and what could not be written. */
export interface OffsetBlock {
  readonly text: string;
  /** One sentence for each station that has no line, or an incomplete one. */
  readonly missing: readonly string[];
}

/**
 * G10 blocks that set every station's register; reading them back gives the values to a tenth of the usual increment
 * (four decimals of a millimetre, five of an inch). An axis of unknown value is left out and told in `missing`.
 * `addressOf` gives the L and P words of a register in the sidecar's dialect, undefined where it has none.
 */
export function offsetBlock(fixture: Fixture, addressOf: (key: OffsetKey, profile: Profile) => RegisterAddress | undefined): OffsetBlock {
  const { units, machine } = fixture;
  const lines = [
    `(${comment(say("g10.head"))})`,
    `(${comment(say("g10.caution"))})`,
    `(${comment(accountText(fixture))})`,
    units === "mm" ? "G21" : "G20",
    "G90",
  ];
  const missing: string[] = [];
  const written = new Map<OffsetKey, string>();
  for (const r of requiredOffsets(fixture)) {
    const marks = { station: r.station.id, offset: r.offsetName };
    const address = addressOf(r.offset, machine.profile);
    if (address === undefined) {
      missing.push(say("g10.no-block", { ...marks, dialect: machine.profile.name }));
      continue;
    }
    const axes: [string, number | undefined, (value: number) => string][] = [
      ["X", r.X, (value) => wordText(units === "mm" ? value : value / 25.4, units === "mm" ? 4 : 5)],
      ["Y", r.Y, (value) => wordText(units === "mm" ? value : value / 25.4, units === "mm" ? 4 : 5)],
      ["Z", r.Z, (value) => wordText(units === "mm" ? value : value / 25.4, units === "mm" ? 4 : 5)],
      [machine.rotary?.axis ?? "B", r.rotary, (value) => wordText(value, 4)],
    ];
    const words = [`G10 L${address.l} P${address.p}`];
    for (const [letter, value, text] of axes) {
      if (value === undefined) continue;
      if (Number.isFinite(value)) words.push(`${letter}${text(value)}`);
      else missing.push(say("g10.unknown", { ...marks, axis: letter }));
    }
    const block = words.join(" ");
    const first = written.get(r.offset);
    // Stations may share a register; the same block twice says nothing, two different ones cannot both be right.
    if (first === undefined) lines.push(`${block} (${comment(`${r.station.id} ${r.offsetName}`)})`);
    else if (first !== block) missing.push(say("g10.shared", marks));
    written.set(r.offset, first ?? block);
  }
  return { text: `${lines.join("\n")}\n`, missing };
}

/** A number as a control reads it whatever counts a number without a point: always with the point. */
function wordText(value: number, decimals: number): string {
  const text = value.toFixed(decimals).replace(/0+$/, "");
  return /^-0\.$/.test(text) ? "0." : text;
}

/** Text that may stand in a comment: capitals, digits and what every control reads; umlauts as they are written without. */
function comment(text: string): string {
  return text
    .toUpperCase()
    .replace(/[ÄÖÜ]/g, (letter) => ({ Ä: "AE", Ö: "OE", Ü: "UE" })[letter] ?? " ")
    .replace(/[^A-Z0-9 .,:;+\-/]/g, " ");
}
