import type { Fixture, Solid, Station } from "../engine/fixture/model.js";
import { bounds, corners } from "../engine/geometry/box.js";
import type { Vec3 } from "../engine/geometry/vector.js";
import { axesJson } from "./offset-block.js";
import { angleText, lengthText, tableText } from "./plain-table.js";
import { jsonNumber } from "./program-report.js";
import { say } from "./texts.js";

/** `stations --format json`: mm whatever the sidecar's units, machine frame with the station's base presented. */
export function stationsJson(fixture: Fixture): object {
  return fixture.stations.map((station) => stationJson(station, fixture));
}

function stationJson(station: Station, fixture: Fixture): object {
  const stored = station.offset === undefined ? undefined : fixture.stored.get(station.offset)?.values;
  return {
    id: station.id,
    base: station.base.name,
    at: station.at,
    offset: station.offsetName ?? null,
    part: station.part,
    op: station.op,
    computed: axesJson(station.computed),
    ...(stored === undefined ? {} : { stored: axesJson(stored) }),
    notch: {
      chosen: station.notch?.chosen ?? null,
      valid: station.notch?.valid ?? [],
      best: station.notch?.best ?? null,
      travel: jsonNumber(station.notch?.travel),
    },
    solids: station.solids.filter((solid) => solid.kind !== "base" && solid.kind !== "obstacle").map(solidJson),
  };
}

function solidJson(solid: Solid): object {
  const box = bounds(solid.placed);
  return { name: solid.name, from: pointJson(box.from), to: pointJson(box.to), corners: corners(solid.placed).map(pointJson) };
}

function pointJson(p: Vec3): readonly (number | null)[] {
  return p.map(jsonNumber);
}

/** `stations` for a person, in the sidecar's units. */
export function stationsTable(fixture: Fixture): string {
  const rotary = fixture.machine.rotary?.axis;
  const head = [
    say("head.station"),
    say("head.base"),
    say("head.at"),
    say("head.offset"),
    say("head.part"),
    say("head.op"),
    "X",
    "Y",
    "Z",
    ...(rotary === undefined ? [] : [rotary]),
    say("head.notch"),
    say("head.valid"),
    say("head.best"),
    say("head.travel"),
  ];
  const rows = fixture.stations.map((s) => [
    s.id,
    s.base.name,
    `[${s.at.join(", ")}]`,
    s.offsetName ?? "-",
    s.part,
    s.op,
    lengthText(s.computed.X, fixture.units),
    lengthText(s.computed.Y, fixture.units),
    lengthText(s.computed.Z, fixture.units),
    ...(rotary === undefined ? [] : [angleText(s.computed.rotary)]),
    s.notch?.chosen?.toString() ?? "-",
    s.notch === undefined ? "-" : rangesText(s.notch.valid),
    s.notch?.best?.toString() ?? "-",
    s.notch === undefined ? "-" : lengthText(s.notch.travel, fixture.units),
  ]);
  return `${tableText(head, rows)}\n${say("stations.foot", { units: fixture.units === "mm" ? "mm" : say("inch") })}\n`;
}

/** "3-5, 8" for 3, 4, 5, 8. */
function rangesText(numbers: readonly number[]): string {
  const parts: string[] = [];
  for (let i = 0; i < numbers.length; ) {
    let j = i;
    while (numbers[j + 1] === (numbers[j] ?? Number.NaN) + 1) j++;
    parts.push(j > i ? `${numbers[i]}-${numbers[j]}` : `${numbers[i]}`);
    i = j + 1;
  }
  return parts.length === 0 ? say("none") : parts.join(", ");
}
