import type { Fixture, Station } from "../engine/fixture/model.js";
import { folderOf, joinPath } from "../engine/text/path.js";
import type { Place } from "../engine/text/place.js";
import type { Link } from "./calls.js";
import { sidecarSchemaAt } from "./sidecar-schema.js";
import { readSidecarText, spotAt, stationsOfEntry, valueAt } from "./sidecar-text.js";
import { stationCard } from "./station-card.js";
import { plain, renderLength } from "./text.js";
import { say, told } from "./texts.js";
import type { Position, View } from "./view.js";

/** A hover of a sidecar, with the range it speaks of. */
export interface SidecarHover {
  readonly markdown: string;
  readonly range: Place["range"] | undefined;
}

/**
 * Hover in a sidecar. On a key what the format says of it; on a station's name, offset or place the card of the station; on
 * its notch the notches that will do; on the name of a jaw, stop or part where that is used. Without a fixture (a file of
 * elements that no open program includes) only what the format says.
 */
export function sidecarHover(
  fixture: Fixture | undefined,
  view: View | undefined,
  file: string,
  text: string,
  position: Position,
  images = false,
): SidecarHover | undefined {
  const read = readSidecarText(file, text);
  const spot = spotAt(text, position);
  const range = spot.token === undefined ? undefined : read.rangeAt(spot.token.offset, spot.token.length);
  const parts: string[] = [];
  const [first, index, key] = spot.path;
  const stations = fixture !== undefined && first === "stations" && typeof index === "number" ? stationsOfEntry(fixture, read, index) : [];
  const shown = stations[0];
  if (spot.isKey || (range !== undefined && spot.path.length > 0)) {
    const descriptions = [...new Set(sidecarSchemaAt(spot.path).flatMap((s) => (s.description === undefined ? [] : told(s.description))))];
    const name = spot.path.at(-1);
    if (descriptions.length > 0)
      parts.push(
        typeof name === "string" ? `**${plain(name)}** — ${descriptions.map(plain).join(" ")}` : descriptions.map(plain).join(" "),
      );
  }
  if (fixture !== undefined && shown !== undefined && key === "notch") parts.push(notchText(fixture, shown));
  // The whole card on every value of a station would bury the one that is asked for.
  if (
    fixture !== undefined &&
    shown !== undefined &&
    (range === undefined || key === undefined || key === "id" || key === "offset" || key === "at")
  ) {
    const others = stations.map((s) => `${s.id}${s.offsetName === undefined ? "" : ` ${s.offsetName}`}`).join(", ");
    if (stations.length > 1) parts.push(say("sidecar.stations", { count: stations.length, list: plain(others) }));
    parts.push(stationCard(fixture, shown, view, images));
  }
  const used = fixture === undefined || first === undefined || spot.path.length > 2 ? "" : usedBy(fixture, String(first), index);
  if (used !== "") parts.push(used);
  return parts.length === 0 ? undefined : { markdown: parts.join("\n\n"), range };
}

function notchText(fixture: Fixture, station: Station): string {
  const { notch } = station;
  if (notch === undefined) return "";
  if (notch.valid.length === 0) return say("sidecar.no-notch");
  const own =
    notch.chosen === undefined ? "" : say("sidecar.closes", { notch: notch.chosen, travel: renderLength(notch.travel, fixture.units) });
  return `${say("sidecar.notches", { notches: notch.valid.join(", "), best: String(notch.best) })}${own}`;
}

/** Which stations use an element, a part or a base. */
function usedBy(fixture: Fixture, table: string, name: string | number | undefined): string {
  if (typeof name !== "string") return "";
  const uses = (s: Station): boolean => {
    switch (table) {
      case "fixedJaws":
        return s.fixedJaw === name;
      case "movingJaws":
        return s.movingJaw === name;
      case "endStops":
        return s.endStop?.element === name;
      case "parts":
        return s.part === name;
      case "bases":
        return s.base.name === name;
      default:
        return false;
    }
  };
  const list = fixture.stations.filter(uses).map((s) => s.id);
  return list.length === 0 ? "" : say("sidecar.used", { stations: list.map(plain).join(", ") });
}

/** Where the name under a position is given: a jaw, stop, base, part or operation, in this file or an included one. */
export function sidecarDefinition(fixture: Fixture, text: string, position: Position): Place | undefined {
  const { path, isKey } = spotAt(text, position);
  const value = valueAt(readSidecarText("", text), path)?.content;
  if (isKey || value?.kind !== "scalar" || typeof value.value !== "string") return undefined;
  const [first, second, third, fourth] = path;
  const at = (p: readonly (string | number)[]): Place | undefined => {
    const place = fixture.placeOf(p);
    // A value that is not there is answered by what encloses it, which leads nowhere.
    const outer = fixture.placeOf(p.slice(0, -1));
    return JSON.stringify(place) === JSON.stringify(outer) ? undefined : place;
  };
  const tables: Readonly<Record<string, string>> = { base: "bases", fixedJaw: "fixedJaws", movingJaw: "movingJaws", part: "parts" };
  if (first === "stations" && typeof second === "number") {
    const table = tables[String(third)];
    if (table !== undefined) return at([table, value.value]);
    if (third === "endStop" && fourth === "element") return at(["endStops", value.value]);
    if (third === "op") {
      const part = valueAt(readSidecarText("", text), ["stations", second, "part"])?.content;
      if (part?.kind === "scalar" && typeof part.value === "string") return at(["parts", part.value, "ops", value.value]);
    }
  }
  if (third === "base" && (first === "obstacles" || first === "offsets")) return at(["bases", value.value]);
  return undefined;
}

/** Links of a sidecar: included files and the offset file. */
export function sidecarLinks(file: string, text: string): Link[] {
  const read = readSidecarText(file, text);
  const out: Link[] = [];
  const add = (path: readonly (string | number)[], tooltip: string): void => {
    const value = valueAt(read, path);
    if (value?.content.kind !== "scalar" || typeof value.content.value !== "string" || value.length < 3) return;
    const place = { file, range: read.rangeAt(value.offset + 1, value.length - 2) };
    out.push({ place, file: joinPath(folderOf(file), value.content.value), tooltip });
  };
  const includes = valueAt(read, ["include"])?.content;
  if (includes?.kind === "array")
    includes.items.forEach((_, i) => {
      add(["include", i], say("link.include"));
    });
  add(["offsets", "file"], say("link.offsets"));
  return out;
}
