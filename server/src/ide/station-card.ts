import { renderMessage } from "../engine/checks/wording.js";
import type { Fixture, Station } from "../engine/fixture/model.js";
import { planMarkdown, planOf } from "./plan.js";
import { decimal, lengthNumber, plain, renderLength, renderSeconds, signedNumber, table } from "./text.js";
import { say } from "./texts.js";
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
  const drawing = [station.drawing, station.issue === undefined ? undefined : say("card.issue", { issue: station.issue })]
    .filter((t) => t !== undefined)
    .join(" ");
  const rest = [drawing, station.material ?? ""]
    .filter((t) => t !== "")
    .map(plain)
    .join(", ");
  const empty = station.empty ? ` — **${say("not-loaded")}**` : "";
  return `**${plain(station.id)}** · ${plain(name)} · ${plain(station.op)}${rest === "" ? "" : ` · ${rest}`}${empty}`;
}

/** How the part is held, as short lines: a person reads them once and looks at the numbers above every time. */
function held(fixture: Fixture, station: Station): string {
  const units = fixture.units;
  const n = (mm: number) => lengthNumber(mm, units);
  const lines = [
    `${say("card.stands", { base: plain(station.base.name), column: station.at[0], row: station.at[1], clamp: station.clamp })}${
      station.base.face === 0 && fixture.machine.rotary === undefined ? "" : say("card.faces", { angle: decimal(station.base.face, 3) })
    }`,
  ];
  const fixed = plain(station.fixedJaw);
  lines.push(
    station.movingJaw === undefined
      ? say("card.fixed-jaw", { fixed })
      : say("card.jaws", { fixed, moving: plain(station.movingJaw), notch: notchText(fixture, station) }),
  );
  const stop = station.endStop;
  if (stop !== undefined)
    lines.push(
      say(stop.side === "low" ? "card.stop-low" : "card.stop-high", { stop: plain(stop.element), at: renderLength(stop.at, units) }),
    );
  const stock = station.stock;
  if (stock !== undefined) {
    const size = ([0, 1, 2] as const).map((k) => n(stock.to[k] - stock.from[k]));
    lines.push(say("card.stock", { size: size.join(" × "), units, seat: renderLength(station.seat, units) }));
  } else lines.push(say("card.seat", { seat: renderLength(station.seat, units) }));
  if (!Number.isNaN(station.grip))
    lines.push(say("card.grip", { grip: renderLength(station.grip, units), standing: renderLength(station.standing, units) }));
  return lines.map((l) => `- ${l}`).join("\n");
}

function notchText(fixture: Fixture, station: Station): string {
  const notch = station.notch;
  if (notch === undefined) return "";
  const { valid, best, chosen } = notch;
  const others = valid.filter((v) => v !== chosen);
  if (valid.length === 0) return say("card.no-notch", { at: chosen === undefined ? "" : say("card.at-notch", { notch: chosen }) });
  const marks = { notches: valid.join(", "), best: String(best) };
  const offer = say(valid.length > 1 ? "card.offer-best" : "card.offer", marks);
  if (chosen === undefined) return say("card.notch-not-given", { offer });
  if (!valid.includes(chosen)) return say("card.notch-wrong", { notch: chosen, offer });
  const rest = say(best !== chosen ? "card.notch-better" : others.length === 0 ? "card.notch-only" : "card.notch-best", marks);
  return say("card.notch", { notch: chosen, rest, travel: renderLength(notch.travel, fixture.units) });
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
  let compared = false;
  const row = (
    axis: string,
    must: number,
    has: number | undefined,
    tolerance: number,
    show: (v: number) => string,
    signed: (v: number) => string,
  ) => {
    if (has === undefined || Number.isNaN(has)) rows.push([axis, show(must), say("not-known"), ""]);
    else {
      compared = true;
      // What the sign of a difference does not tell at a glance is told in words.
      const off = Math.abs(has - must) > tolerance + 1e-9 ? ` ${say("card.outside", { tolerance: show(tolerance) })}` : "";
      rows.push([axis, show(must), show(has), Number.isNaN(must) ? "" : `${signed(has - must)}${off}`]);
    }
  };
  const length = (v: number) => lengthNumber(v, units);
  for (const axis of ["X", "Y", "Z"] as const) {
    const reference = axis === "Z" ? fixture.zReference : 0;
    const must = station.computed[axis] - (fixture.commonShift[axis] ?? 0) - reference;
    row(axis, must, written.get(axis) ?? stored?.values[axis], fixture.tolerance[axis], length, (v) => signedNumber(v, units));
  }
  if (station.computed.rotary !== undefined && fixture.machine.rotary !== undefined) {
    const { axis } = fixture.machine.rotary;
    const angle = (v: number) => `${decimal(v, 4)}°`;
    row(axis, station.computed.rotary, written.get(axis) ?? stored?.values.rotary, fixture.tolerance.rotary, angle, angle);
  }
  const trims = Object.entries(station.trim).map(([axis, mm]) => `${axis} ${signedNumber(mm as number, units)}`);
  const trim = trims.length === 0 ? "" : say("card.trim", { trims: trims.join(", ") });
  const name = fixture.offsetName(key);
  if (!compared) {
    const values = rows.map((r) => `${r[0]} ${r[1]}`).join(", ");
    return say("card.must-hold", { offset: plain(name), values, units, trim });
  }
  const source = say(written.size > 0 ? "card.written" : "card.stored");
  const head = ["", say("card.computed"), source, say("card.difference")];
  return `${say("card.must-hold-table", { offset: plain(name), units, trim })}\n\n${table(head, rows)}`;
}

function visits(fixture: Fixture, station: Station, view: View): string {
  const list = view.visitsOf(station.index);
  if (list.length === 0) return say("card.no-visit");
  const lines = list.slice(0, 16).map((visit) => {
    const tool = fixture.tools.get(visit.tool);
    const name = tool?.name === undefined ? "" : ` ${plain(tool.name)}`;
    const time = Number.isNaN(visit.seconds) ? "" : `, ${renderSeconds(visit.seconds)}`;
    const line = view.mainLine(visit.openedBy >= 0 ? visit.openedBy : visit.firstStep) + 1;
    return `- ${say("card.visit", { tool: `${Number.isNaN(visit.tool) ? "?" : visit.tool}${name}`, line })}${time}`;
  });
  const known = list.map((v) => v.seconds).filter((s) => !Number.isNaN(s));
  const total =
    known.length === 0
      ? ""
      : say(known.length < list.length ? "card.together-known" : "card.together", {
          time: renderSeconds(known.reduce((a, b) => a + b, 0)),
        });
  const more = list.length > 16 ? `\n- ${say("more-lines", { count: list.length - 16 })}` : "";
  const head = say(list.length === 1 ? "card.one-visit" : "card.visits", { count: list.length, total });
  return `${head}\n\n${lines.join("\n")}${more}`;
}

function findings(fixture: Fixture, station: Station, view: View): string {
  const list = view.analysis.findings.filter((f) => f.station === station.id || listed(f.data?.stations, station.id));
  if (list.length === 0) return "";
  const lines = list.slice(0, 8).map((f) => {
    const text = plain(renderMessage(f.rule, f.message, { units: fixture.units }));
    const level = say(f.waived === undefined ? f.level : "allowed");
    return `- ${say("card.finding", { level, text, line: f.place.range.line + 1 })}`;
  });
  const more = list.length > 8 ? `\n- ${say("more-lines", { count: list.length - 8 })}` : "";
  return `${say("card.findings")}\n\n${lines.join("\n")}${more}`;
}

function listed(stations: unknown, id: string): boolean {
  return Array.isArray(stations) && stations.includes(id);
}
