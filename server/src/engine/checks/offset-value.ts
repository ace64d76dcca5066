import type { Arg, Args, Message, TextChange } from "../findings.js";
import { angleBetween } from "../fixture/angle.js";
import { diagnoseOffset, diagnosisMessages } from "../fixture/diagnose.js";
import type { AxisValues, Fixture, Station, StoredOffset } from "../fixture/model.js";
import { expectedStored } from "../fixture/offsets.js";
import type { RegisterWrite, Step } from "../machine/run.js";
import type { Word } from "../syntax/block.js";
import type { Place } from "../text/place.js";
import { inHabit, programAngle, programNumber } from "./lib/edits.js";
import { fieldOf, shiftAt, stationsOfRegister, toleranceOf, wantedContent } from "./lib/stored.js";
import { misaddressedSteps } from "./offset-register.js";
import { defineRule, type Report, type RuleContext } from "./rule.js";

/** One axis of a register that does not hold what its station needs. */
interface Deviation {
  readonly letter: string;
  readonly found: number;
  readonly wanted: number;
  readonly off: number;
  /** The word that writes it, if one does. */
  readonly word?: Word | undefined;
}

const WHERE = "{station} ({offset}): ";
const AXES = ["{axis1} is off by {off1}", "{axis2} by {off2}", "{axis3} by {off3}", "{axis4} by {off4}"];

/** The texts: for one to four axes, each with every known reason. */
function texts(): Record<string, string> {
  const out: Record<string, string> = {};
  for (let n = 1; n <= 4; n++) {
    const axes = AXES.slice(0, n);
    const last = axes.pop();
    const list = axes.length === 0 ? last : `${axes.join(", ")} and ${last}`;
    const must = n === 1 ? ", it must hold {wanted1}" : "";
    for (const [key, why] of Object.entries(diagnosisMessages)) {
      // The axes and how far they are off stand in front already; our own station keeps its name.
      const reason = why.replace(/^\{axes\} off by /, "").replace("{station}", "{other}");
      const text = `${WHERE}${list}${must}`;
      out[`${n} ${key}`] = reason === "" ? text : `${text}: ${reason}`;
      if (reason.includes(" pitches")) out[`${n} ${key} single`] = `${text}: ${reason.replace(" pitches", " pitch")}`;
    }
  }
  return out;
}

/** A stored or written work offset that is not where its station is. */
export const offsetValue = defineRule({
  id: "offset-value",
  level: "error",
  summary: "A G10 block or a stored value differs from the computed position of the station.",
  messages: {
    default: "{station} ({offset}) does not hold the computed position",
    ...texts(),
    "related.station": "station {station}",
    "related.same": "{station} ({offset}) is off by the same",
    "related.slip": "{station} ({offset}) is off in the same way",
    "fix.computed": "Write the computed values: {words}",
    "what.offset": "the value written to {offset} in line {line}",
    "why.computed": "it is computed from something that is not known",
    "why.shift": "the common shift is computed from something that is not known",
  },
  docs: `
The register does not hold the machine position of the part zero that follows from base, intersection, jaw, stop and seat.
Every cut at this station goes beside the part by that much. Where a known slip explains the difference exactly, it is
named: whole pitches, another station's value, X and Y swapped, a sign, inch for millimetre, seat for top, a skew or trim
left out, a Z counted from elsewhere.

What is within the tolerance of the sidecar (\`tolerance\`) is in order. A correction that was measured stands under
\`offsets.trim\`.

~~~case
G55 is one pitch short along the columns.
-- use: two-stations --
-- part.nc --
G21 G90
G10 L2 P1 X-680. Y-385. Z-345.
G10 L2 P2 X-580. Y-385. Z-345.
;         ^^^^^^ error offset-value: A2 (G55): X is off by -50 mm, it must hold -530 mm: exactly -1 pitch along the columns
M30
-- part.nc after fix 1 --
G21 G90
G10 L2 P1 X-680. Y-385. Z-345.
G10 L2 P2 X-530. Y-385. Z-345.
M30
~~~

~~~case
X and Y are swapped.
-- use: two-stations --
-- part.nc --
G21 G90
G10 L2 P1 X-385. Y-680. Z-345.
;         ^^^^^^^^^^^^^ error offset-value: A1 (G54): X is off by 295 mm and Y by -295 mm: X and Y are swapped
M30
~~~

~~~case
A stored value counts from the seat.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 } } },
  "fixedJaws": { "fj": { "face": 15 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 40, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": true } } } },
  "stations": [ { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54" } ],
  "offsets": { "values": { "G54": { "X": -650, "Y": -385, "Z": -375 } } }
//                         ^^^^^ error offset-value: A1 (G54): Z is off by -30 mm, it must hold -345 mm: Z is that of the seat; the part zero is top
}
-- part.nc --
G21 G90
M30
-- fixture.json after fix 1 --
{
  "format": 1, "units": "mm",
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 } } },
  "fixedJaws": { "fj": { "face": 15 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 40, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": true } } } },
  "stations": [ { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54" } ],
  "offsets": { "values": { "G54": { "X": -650, "Y": -385, "Z": -345 } } }
}
~~~

~~~case
A recorded trim, Z counted from the base, and a common shift: all in order.
-- fixture.json --
{
  "format": 1, "units": "mm",
  "bases": { "plate": { "pitch": 50, "columns": 12, "rows": 8, "zero": { "X": -700, "Y": -450, "Z": -400 } } },
  "fixedJaws": { "fj": { "face": 15 } },
  "parts": { "block": { "ops": { "op10": { "stock": { "u": 40, "v": 60, "w": 30 }, "zero": { "u": "fixedJaw", "v": "centre", "w": "top" }, "reversible": true } } } },
  "stations": [ { "id": "A1", "base": "plate", "at": [1, 1], "clamp": "+Y", "fixedJaw": "fj", "seat": 25, "part": "block", "op": "op10", "offset": "G54" } ],
  "offsets": { "values": { "G54": { "X": -649.9, "Y": -395, "Z": 55 } }, "trim": { "G54": { "X": 0.1 } }, "commonShift": { "X": 0, "Y": 10, "Z": 0 }, "zFrom": { "base": "plate" } }
}
-- part.nc --
G21 G90
M30
~~~
`,
  onSubprograms: true,
  *check(cx) {
    const { fixture } = cx;
    if (fixture === undefined) return;
    const elsewhere = yield* misaddressedSteps(cx);
    for (const write of cx.run.writes) {
      if ((write.incremental && cx.profile.g10Incremental) || elsewhere.has(write.step)) continue;
      judgeWrite(cx, fixture, write);
    }
    for (const [key, stored] of fixture.stored) judgeStored(cx, fixture, key, stored);
  },
});

function judgeWrite(cx: RuleContext, fixture: Fixture, write: RegisterWrite): void {
  const station = stationsOfRegister(cx, write.register)[0];
  if (station === undefined) return;
  const step = cx.run.steps[write.step] as Step;
  const deviations: Deviation[] = [];
  // What the register holds as the sidecar's common shift would see it, for the diagnosis.
  const held: { X?: number; Y?: number; Z?: number; rotary?: number } = {};
  for (const [letter, { result, wordIndex }] of write.axes) {
    const wanted = wantedContent(cx, station, letter, write.step);
    if (wanted === undefined) continue;
    const shift = shiftAt(cx, write.step, letter);
    if (Number.isNaN(result) || Number.isNaN(shift)) {
      const what = { key: "what.offset", args: { offset: cx.offsetName(write.register), line: step.block.line + 1 } };
      cx.notChecked(what, { key: Number.isNaN(result) ? "why.computed" : "why.shift", args: {} });
      continue;
    }
    const field = fieldOf(letter);
    held[field] = result + shift - (fixture.commonShift[field] ?? 0);
    deviations.push(...deviation(fixture, letter, result, wanted, step.block.words[wordIndex]));
  }
  if (deviations.length === 0) return;
  const words = deviations.flatMap((d) => d.word ?? []);
  const first = words.reduce<number | undefined>((least, w) => Math.min(least ?? w.start, w.start), undefined);
  const at = first === undefined ? cx.blockPlace(step) : cx.place(step, { start: first, end: Math.max(...words.map((w) => w.end)) });
  cx.report({
    ...describe(cx, fixture, write.register, station, deviations, held),
    at,
    step: write.step,
    fixes: writeFix(cx, step, step.after.units ?? fixture.units, deviations),
  });
}

function judgeStored(cx: RuleContext, fixture: Fixture, key: string, stored: StoredOffset): void {
  const station = stationsOfRegister(cx, key)[0];
  if (station === undefined) return;
  const expected = expectedStored(fixture, station);
  const deviations: Deviation[] = [];
  for (const field of ["X", "Y", "Z", "rotary"] as const) {
    // Without a rotary axis nothing is wanted of it.
    const letter = field === "rotary" ? (fixture.machine.rotary?.axis ?? "") : field;
    if (replacedBefore(cx, key, letter)) continue;
    deviations.push(...deviation(fixture, letter, stored.values[field] ?? Number.NaN, expected[field] ?? Number.NaN));
  }
  if (deviations.length === 0) return;
  const places = deviations.map((d) => axisPlace(fixture, key, stored, d.letter));
  const at = stored.place;
  const changes: TextChange[] = [];
  for (const [i, d] of deviations.entries()) {
    const place = places[i];
    if (place === undefined) continue;
    const text = "XYZ".includes(d.letter) ? programNumber(d.wanted, fixture.units) : programAngle(d.wanted);
    // JSON knows no number that ends in a point.
    changes.push({ place, text: text.replace(/\.$/, "") });
  }
  const fixes =
    changes.length === deviations.length
      ? [{ title: { key: "fix.computed", args: { words: words(deviations, fixture.units) } }, changes, sameMotion: false }]
      : [];
  cx.report({ ...describe(cx, fixture, key, station, deviations, stored.values), at, fixes });
}

/** An axis that is off by more than its tolerance; none where one of the two is not known. */
function deviation(fixture: Fixture, letter: string, found: number, wanted: number, word?: Word): Deviation[] {
  const off = "XYZ".includes(letter) ? found - wanted : angleBetween(wanted, found);
  // A nanometre of room, so that a difference of exactly the tolerance is within it.
  return Math.abs(off) > toleranceOf(fixture, letter) + 1e-6 ? [{ letter, found, wanted, off, word }] : [];
}

/** Reasons that concern a whole table of values, in which each is off by an amount of its own. */
const SLIPS: ReadonlySet<string> = new Set(["swapped", "sign", "inch-for-mm", "mm-for-inch", "skew", "skew-reversed"]);

function describe(
  cx: RuleContext,
  fixture: Fixture,
  register: string,
  station: Station,
  deviations: readonly Deviation[],
  held: AxisValues,
): Omit<Report, "at"> {
  const reason: Message = diagnoseOffset(fixture, station, held);
  const args: Record<string, Arg> = { station: station.id, offset: cx.offsetName(register) };
  for (const [i, d] of deviations.entries()) {
    args[`axis${i + 1}`] = d.letter;
    args[`off${i + 1}`] = quantity(d.letter, d.off);
    args[`wanted${i + 1}`] = quantity(d.letter, d.wanted);
  }
  const reasonArgs: Args = reason.args;
  // The reason may name another station; ours keeps its name, so the other gets one of its own.
  const { station: other, ...rest } = reasonArgs;
  const merged = other === undefined ? { ...args, ...rest } : { ...args, ...rest, other };
  const pitches = reason.key.includes("pitch-y") ? reasonArgs.y : reasonArgs.x;
  const slip = SLIPS.has(reason.key);
  const single = reason.key.includes("pitch") && (pitches === 1 || pitches === -1) ? " single" : "";
  return {
    key: `${deviations.length} ${reason.key}${single}`,
    args: merged,
    station: station.id,
    // A base that was moved, or a zero that was taken wrong, puts all of its stations off alike: one slip, one finding. A slip in
    // how the values were worked out puts each off by another amount.
    cause: `${station.base.name} ${deviations.map((d) => (slip ? d.letter : `${d.letter}${d.off.toFixed(1)}`)).join(" ")} ${slip ? reason.key : ""}`,
    relatedKey: slip ? "related.slip" : "related.same",
    related: [{ place: station.place, message: { key: "related.station", args: { station: station.id } } }],
    data: {
      offset: args.offset,
      reason: reason.key,
      axes: Object.fromEntries(deviations.map((d) => [d.letter, { found: d.found, computed: d.wanted, difference: d.off }])),
    },
  };
}

function quantity(letter: string, value: number): Arg {
  return "XYZ".includes(letter) ? { mm: value } : { deg: value };
}

/** True when the program itself writes the axis of the register before anything moves under it. */
function replacedBefore(cx: RuleContext, key: string, letter: string): boolean {
  const first = cx.run.visits.find((v) => v.offset === key)?.firstStep ?? Number.POSITIVE_INFINITY;
  return cx.run.writes.some((w) => w.register === key && w.step < first && w.axes.has(letter) && !w.incremental);
}

/** Where the value of an axis is written in the sidecar; undefined where it stands in an offset file. */
function axisPlace(fixture: Fixture, key: string, stored: StoredOffset, letter: string): Place | undefined {
  if (stored.source !== "values") return undefined;
  for (const name of [fixture.offsetName(key), key]) {
    for (const last of "XYZ".includes(letter) ? [letter] : [letter, "rotary"]) {
      const place = fixture.placeOf(["offsets", "values", name, last]);
      if (apart(place, fixture.placeOf(["offsets", "values", name]))) return place;
    }
  }
  return undefined;
}

/** Whether a place is another one than that of the whole entry, which is the answer where an axis was not found. */
function apart(inner: Place, outer: Place): boolean {
  const a = inner.range;
  const b = outer.range;
  return inner.file !== outer.file || a.line !== b.line || a.column !== b.column;
}

function words(deviations: readonly Deviation[], units: "mm" | "inch"): string {
  return deviations
    .map((d) => `${d.letter}${"XYZ".includes(d.letter) ? programNumber(d.wanted, units) : programAngle(d.wanted)}`)
    .join(" ");
}

function writeFix(cx: RuleContext, step: Step, units: "mm" | "inch", deviations: readonly Deviation[]): NonNullable<Report["fixes"]> {
  const changes: TextChange[] = [];
  for (const d of deviations) {
    if (d.word === undefined || d.word.expr !== undefined) return [];
    changes.push({ place: cx.place(step, d.word), text: inHabit(cx, step, words([d], units)) });
  }
  return [{ title: { key: "fix.computed", args: { words: words(deviations, units) } }, changes, sameMotion: false }];
}
