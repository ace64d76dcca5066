import type { Fixture, Station } from "../engine/fixture/model.js";
import { stationCard } from "./station-card.js";
import type { Position, View } from "./view.js";

/** The station whose entry in the sidecar encloses a position; with a repeat, the first of them. */
export function stationAt(fixture: Fixture, file: string, position: Position): Station[] {
  return fixture.stations.filter((s) => {
    const { file: own, range } = s.place;
    if (own !== file) return false;
    const after = position.line > range.line || (position.line === range.line && position.column >= range.column);
    const before = position.line < range.endLine || (position.line === range.endLine && position.column <= range.endColumn);
    return after && before;
  });
}

/**
 * Hover on a station in the sidecar: the card of the station, and of a repeated one the list of what the repeat gives.
 * Undefined outside of stations.
 */
export function sidecarHover(fixture: Fixture, view: View | undefined, file: string, position: Position): string | undefined {
  const stations = stationAt(fixture, file, position);
  const first = stations[0];
  if (first === undefined) return undefined;
  const card = stationCard(fixture, first, view);
  if (stations.length === 1) return card;
  const others = stations.map((s) => `${s.id}${s.offsetName === undefined ? "" : ` ${s.offsetName}`}`).join(", ");
  return `${stations.length} stations: ${others}\n\n---\n\n${card}`;
}
