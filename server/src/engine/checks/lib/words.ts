import type { Arg } from "../../findings.js";
import type { Solid } from "../../fixture/model.js";
import type { Vec3 } from "../../geometry/vector.js";
import type { Move } from "../../machine/move.js";
import type { RuleContext } from "../rule.js";
import { decimal } from "../wording.js";

/** A tool as the shop floor calls it: "tool 2 (drill 6.8)". */
export function toolWords(cx: RuleContext, tool: number): string {
  if (Number.isNaN(tool)) return "the tool in the spindle";
  if (tool === 0) return "the spindle without a tool";
  const name = cx.fixture?.tools.get(tool)?.name;
  return name === undefined || name === "" ? `tool ${tool}` : `tool ${tool} (${name})`;
}

/** A solid as seen from a station: "moving jaw" when it is the station's own, "moving jaw of A2" when it is another's. */
export function solidWords(cx: RuleContext, solid: Solid, station: number): string {
  const owner = cx.fixture?.stations[solid.station];
  return owner === undefined || solid.station === station ? solid.name : `${solid.name} of ${owner.id}`;
}

/** Who moves: the station's id, or the offset as it is spelled where it belongs to no station. */
export function placeWords(cx: RuleContext, move: Move): string {
  return cx.stationOf(move)?.id ?? cx.offsetName(move.modal.offset);
}

/** One coordinate in the units of the sidecar, without a unit, as it would be written in the program. */
export function coordinate(cx: RuleContext, mm: number): string {
  if (Number.isNaN(mm)) return "?";
  return cx.fixture?.units === "inch" ? decimal(mm / 25.4, 4) : decimal(mm, 3);
}

/** A point of the program: "X40 Y10 Z-5". Unknown coordinates are left out. */
export function pointWords(cx: RuleContext, p: Vec3): string {
  const letters = ["X", "Y", "Z"];
  return p
    .map((v, i) => (Number.isNaN(v) ? "" : `${letters[i]}${coordinate(cx, v)}`))
    .filter((t) => t !== "")
    .join(" ");
}

/** Where a move ends, in program coordinates, naming only the axes that it moves. */
export function targetWords(cx: RuleContext, move: Move): string {
  const known = move.partTo.some((v) => !Number.isNaN(v));
  const to = known ? move.partTo : move.to;
  const from = known ? move.partFrom : move.from;
  const moved = to.map((v, i) => (Math.abs(v - (from[i] as number)) < 1e-9 ? Number.NaN : v)) as unknown as Vec3;
  const text = pointWords(cx, moved);
  return text === "" ? pointWords(cx, to) : text;
}

/** A list for a message; a single item stays as it is. */
export function listArg(items: readonly string[]): Arg {
  return items.length === 1 ? (items[0] as string) : { list: items };
}
