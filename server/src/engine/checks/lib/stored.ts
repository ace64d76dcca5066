import type { Axis, Station } from "../../fixture/model.js";
import type { RegisterWrite } from "../../machine/run.js";
import type { RuleContext } from "../rule.js";

export const AXES: readonly Axis[] = ["X", "Y", "Z"];

/** The stations that a register belongs to and that are loaded. */
export function stationsOfRegister(cx: RuleContext, register: string): readonly Station[] {
  return (cx.fixture?.stationsOf(register) ?? []).filter((s) => !s.empty);
}

/** The common shift of an axis as the program has written it up to a step, else the sidecar's. */
export function shiftAt(cx: RuleContext, step: number, letter: string): number {
  let value = shiftOfFixture(cx, letter);
  for (const write of cx.run.writes) {
    if (write.step > step) break;
    if (write.register !== "shift") continue;
    const axis = write.axes.get(letter);
    if (axis !== undefined) value = axis.result;
  }
  return value;
}

function shiftOfFixture(cx: RuleContext, letter: string): number {
  const shift = cx.fixture?.commonShift;
  if (shift === undefined) return 0;
  if (letter === "X" || letter === "Y" || letter === "Z") return shift[letter] ?? 0;
  return shift.rotary ?? 0;
}

/** What a register must hold for a station, mm or degrees: computed − common shift − (Z) reference; undefined where nothing is asked. */
export function wantedContent(cx: RuleContext, station: Station, letter: string, step: number): number | undefined {
  const { fixture } = cx;
  if (fixture === undefined) return undefined;
  const shift = shiftAt(cx, step, letter);
  if (letter === "X" || letter === "Y") return station.computed[letter] - shift;
  if (letter === "Z") return station.computed.Z - shift - fixture.zReference;
  if (letter === fixture.machine.rotary?.axis) return station.computed.rotary === undefined ? undefined : station.computed.rotary - shift;
  return undefined;
}

/** Tolerance of a stored value, mm or degrees. */
export function toleranceOf(cx: RuleContext, letter: string): number {
  const t = cx.fixture?.tolerance;
  if (t === undefined) return 0;
  return letter === "X" || letter === "Y" || letter === "Z" ? t[letter] : t.rotary;
}

/** True for registers that are work offsets. */
export function isOffsetWrite(write: RegisterWrite): boolean {
  return write.register !== "shift" && write.register !== "out-of-range" && !write.register.includes(":");
}
