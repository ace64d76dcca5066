import type { Axis, Fixture, Station } from "../../fixture/model.js";
import type { RegisterWrite } from "../../machine/run.js";
import type { RuleContext } from "../rule.js";

export const AXES: readonly Axis[] = ["X", "Y", "Z"];

/** The stations that a register belongs to and that are loaded. */
export function stationsOfRegister(cx: RuleContext, register: string): readonly Station[] {
  return (cx.fixture?.stationsOf(register) ?? []).filter((s) => !s.empty);
}

/** The common shift of an axis as the program has written it up to a step, else the sidecar's; 0 without one. */
export function shiftAt(cx: RuleContext, step: number, letter: string): number {
  const written = cx.run.writes.filter((w) => w.register === "shift" && w.step <= step && w.axes.has(letter)).at(-1);
  return written?.axes.get(letter)?.result ?? cx.fixture?.commonShift[fieldOf(letter)] ?? 0;
}

/** The axis of a sidecar's table that a letter means, where all others are the rotary one. */
export function fieldOf(letter: string): Axis | "rotary" {
  return letter === "X" || letter === "Y" || letter === "Z" ? letter : "rotary";
}

/** What a register must hold for a station, mm or degrees: computed − common shift − (Z) reference; undefined where nothing is asked. */
export function wantedContent(cx: RuleContext, station: Station, letter: string, step: number): number | undefined {
  const { fixture } = cx;
  const field = fieldOf(letter);
  if (fixture === undefined || (field === "rotary" && letter !== fixture.machine.rotary?.axis)) return undefined;
  const computed = station.computed[field];
  return computed === undefined ? undefined : computed - shiftAt(cx, step, letter) - (field === "Z" ? fixture.zReference : 0);
}

/** Tolerance of a stored value, mm or degrees. */
export function toleranceOf(fixture: Fixture, letter: string): number {
  return fixture.tolerance[fieldOf(letter)];
}

/** True for registers that are work offsets. */
export function isOffsetWrite(write: RegisterWrite): boolean {
  return write.register !== "shift" && write.register !== "out-of-range" && !write.register.includes(":");
}
