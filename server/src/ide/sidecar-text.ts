import { getLocation } from "jsonc-parser";
import type { Fixture, Station } from "../engine/fixture/model.js";
import { readSidecarText, type SidecarText, type Value } from "../engine/fixture/text.js";
import type { Place } from "../engine/text/place.js";
import type { Position } from "./view.js";

/** Offset of a position in a text; the end of the text beyond it. */
function offsetOfPosition(text: string, position: Position): number {
  let line = 0;
  let i = 0;
  while (line < position.line && i < text.length) {
    const c = text.charCodeAt(i);
    i++;
    if (c === 10 || (c === 13 && text.charCodeAt(i) !== 10)) line++;
  }
  return line < position.line ? text.length : Math.min(text.length, i + position.column);
}

/** Where a position is in a sidecar, also in one that is being typed. */
export interface SidecarSpot {
  readonly path: readonly (string | number)[];
  /** The position is in a key (or where one would be typed). */
  readonly isKey: boolean;
  /** The token under the position, quotes included. */
  readonly token: { readonly offset: number; readonly length: number } | undefined;
  readonly offset: number;
}

/** The path of keys to a position. Never throws; a broken text gives what it still says. */
export function spotAt(text: string, position: Position): SidecarSpot {
  const offset = offsetOfPosition(text, position);
  const location = getLocation(text, offset);
  const { previousNode } = location;
  const inside = previousNode !== undefined && offset >= previousNode.offset && offset <= previousNode.offset + previousNode.length;
  return {
    path: location.path,
    isKey: location.isAtPropertyKey,
    token: inside ? { offset: previousNode.offset, length: previousNode.length } : undefined,
    offset,
  };
}

/** The value at a path of one file, as far as it is there. */
export function valueAt(read: SidecarText, path: readonly (string | number)[]): Value | undefined {
  let value = read.root;
  for (const step of path) {
    if (value === undefined) return undefined;
    value =
      value.content.kind === "object"
        ? value.content.members.get(String(step))
        : value.content.kind === "array" && typeof step === "number"
          ? value.content.items[step]
          : undefined;
  }
  return value;
}

/** The stations that an entry of `stations` in a file gives (several with a repeat), found by where the entry's members stand. */
export function stationsOfEntry(fixture: Fixture, read: SidecarText, index: number): readonly Station[] {
  const entry = valueAt(read, ["stations", index]);
  if (entry === undefined) return [];
  const range = read.rangeAt(entry.offset, entry.length);
  return fixture.stations.filter((s) => s.place.file === read.file && within(s.place.range, range));
}

function within(inner: Place["range"], outer: Place["range"]): boolean {
  const after = inner.line > outer.line || (inner.line === outer.line && inner.column >= outer.column);
  const before = inner.endLine < outer.endLine || (inner.endLine === outer.endLine && inner.endColumn <= outer.endColumn);
  return after && before;
}

export { readSidecarText, type SidecarText };
