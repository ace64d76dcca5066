import { renderMessage } from "../engine/checks/wording.js";
import type { Fixture, Station } from "../engine/fixture/model.js";
import { planMarkdown, planOf } from "./plan.js";
import { decimal, lengthNumber, plain, renderLength, renderSeconds, signedNumber, table } from "./text.js";
import type { View } from "./view.js";

/** Everything about a station in one hover: what is held there, how, and whether its work offset is where it should be. */
export function stationCard(fixture: Fixture, station: Station, view: View | undefined, images = false): string {
  const parts = [title(station), position(fixture, station, view), held(fixture, station)];
  if (images) parts.push(planMarkdown(planOf(fixture, station)));
  if (view !== undefined) parts.push(visits(fixture, station, view), findings(fixture, station, view));
  return parts.filter((p) => p !== "").join("\n\n");
}

function title(station: Station): string {
  const name = station.partName ?? station.part;
  const drawing = [station.drawing, station.issue === undefined ? undefined : `issue ${station.issue}`]
    .filter((t) => t !== undefined)
    .join(" ");
  const rest = [drawing, station.material ?? ""]
    .filter((t) => t !== "")
    .map(plain)
    .join(", ");
  const empty = station.empty ? " — **not loaded**" : "";
  return `**${plain(station.id)}** · ${plain(name)} · ${plain(station.op)}${rest === "" ? "" : ` · ${rest}`}${empty}`;
}

function held(fixture: Fixture, station: Station): string {
  const units = fixture.units;
  const n = (mm: number) => lengthNumber(mm, units);
  const rows: [string, string][] = [
    ["stands at", `${plain(station.base.name)}, intersection [${station.at.join(", ")}], clamped toward ${station.clamp}`],
  ];
  rows.push(["fixed jaw", plain(station.fixedJaw)]);
  if (station.movingJaw !== undefined) rows.push(["moving jaw", `${plain(station.movingJaw)}${notchText(fixture, station)}`]);
  if (station.endStop !== undefined)
    rows.push(["end stop", `${plain(station.endStop.element)}, ${station.endStop.side} side, at ${n(station.endStop.at)}`]);
  rows.push(["seat", renderLength(station.seat, units)]);
  if (station.stock !== undefined) {
    const size = ([0, 1, 2] as const).map((k) => n((station.stock?.to[k] ?? Number.NaN) - (station.stock?.from[k] ?? Number.NaN)));
    rows.push(["stock u × v × w", `${size.join(" × ")} ${units}`]);
  }
  if (!Number.isNaN(station.grip))
    rows.push(["grip", `${renderLength(station.grip, units)}, ${renderLength(station.standing, units)} stand above the jaws`]);
  return table(["", ""], rows);
}

function notchText(fixture: Fixture, station: Station): string {
  const notch = station.notch;
  if (notch === undefined) return "";
  const valid = notch.valid.length === 0 ? "no notch will do" : `will do: ${notch.valid.join(", ")}, best ${notch.best}`;
  if (notch.chosen === undefined) return ` (${valid})`;
  return `, notch ${notch.chosen}, closing travel ${renderLength(notch.travel, fixture.units)} (${valid})`;
}

/** Computed against stored, axis by axis, in what the register holds. */
function position(fixture: Fixture, station: Station, view: View | undefined): string {
  if (station.offset === undefined) return "";
  const key = station.offset;
  const units = fixture.units;
  const stored = fixture.stored.get(key);
  const written = new Map<string, number>();
  for (const write of view?.analysis.run.writes ?? []) {
    if (write.register === key) for (const [axis, value] of write.axes) written.set(axis, value.result);
  }
  const rows: string[][] = [];
  for (const axis of ["X", "Y", "Z"] as const) {
    const reference = axis === "Z" ? fixture.zReference : 0;
    const must = station.computed[axis] - (fixture.commonShift[axis] ?? 0) - reference;
    const has = written.get(axis) ?? stored?.values[axis];
    rows.push([
      axis,
      lengthNumber(must, units),
      has === undefined ? "not known" : lengthNumber(has, units),
      has === undefined ? "" : signedNumber(has - must, units),
    ]);
  }
  if (station.computed.rotary !== undefined && fixture.machine.rotary !== undefined) {
    const axis = fixture.machine.rotary.axis;
    const has = written.get(axis) ?? stored?.values.rotary;
    rows.push([axis, `${decimal(station.computed.rotary, 4)}°`, has === undefined ? "not known" : `${decimal(has, 4)}°`, ""]);
  }
  const trims = Object.entries(station.trim).map(([axis, mm]) => `${axis} ${signedNumber(mm as number, units)}`);
  const trim = trims.length === 0 ? "" : ` Trim in force: ${trims.join(", ")}.`;
  const name = fixture.offsetName(key);
  const source = written.size > 0 ? "written by this program" : stored === undefined ? "" : "stored at the control";
  return `${plain(name)} must hold (${units})${trim}\n\n${table(["", "computed", source === "" ? "stored" : source, "difference"], rows)}`;
}

function visits(fixture: Fixture, station: Station, view: View): string {
  const list = view.visitsOf(station.index);
  if (list.length === 0) return "No tool of this program visits it.";
  const lines = list.slice(0, 16).map((visit) => {
    const tool = fixture.tools.get(visit.tool);
    const name = tool?.name === undefined ? "" : ` ${plain(tool.name)}`;
    const time = Number.isNaN(visit.seconds) ? "" : `, ${renderSeconds(visit.seconds)}`;
    return `- T${Number.isNaN(visit.tool) ? "?" : visit.tool}${name}, line ${view.mainLine(visit.openedBy >= 0 ? visit.openedBy : visit.firstStep) + 1}${time}`;
  });
  const known = list.map((v) => v.seconds).filter((s) => !Number.isNaN(s));
  const total =
    known.length === 0
      ? ""
      : `, ${renderSeconds(known.reduce((a, b) => a + b, 0))} together${known.length < list.length ? " as far as known" : ""}`;
  const more = list.length > 16 ? `\n- … and ${list.length - 16} more` : "";
  return `Visited by ${list.length === 1 ? "one tool" : `${list.length} times`}${total}:\n\n${lines.join("\n")}${more}`;
}

function findings(fixture: Fixture, station: Station, view: View): string {
  const list = view.analysis.findings.filter((f) => f.station === station.id || listed(f.data?.stations, station.id));
  if (list.length === 0) return "";
  const lines = list.slice(0, 8).map((f) => {
    const text = plain(renderMessage(f.rule, f.message, { units: fixture.units }));
    return `- ${f.waived === undefined ? f.level : "allowed"}: ${text} (line ${f.place.range.line + 1})`;
  });
  return `Findings:\n\n${lines.join("\n")}${list.length > 8 ? `\n- … and ${list.length - 8} more` : ""}`;
}

function listed(stations: unknown, id: string): boolean {
  return Array.isArray(stations) && stations.includes(id);
}
