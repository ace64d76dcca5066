import type { Fixture, Solid, Station } from "../engine/fixture/model.js";
import { corners } from "../engine/geometry/box.js";
import { toInner } from "../engine/geometry/frame.js";
import { say } from "./texts.js";

/** A drawn plan of a base, looked at square to its locating face. */
export interface Plan {
  readonly svg: string;
  /** The same in words, for a screen reader. */
  readonly alt: string;
}

/** Size of the drawing in pixels of the hover. */
const WIDTH = 320;
const TALLEST = 220;

/*
 * The colours are middle tones that stand out from a white and from a black ground alike; what is marked is told by a thick
 * outline, a cross and a label too, never by colour alone.
 */
const LINE = "#7f8790";
const MARK = "#c2620a";

/** The base of a station with all its stations, this one marked. */
export function planOf(fixture: Fixture, marked: Station): Plan {
  const { base } = marked;
  const stations = fixture.stations.filter((s) => s.base.name === base.name);
  const width = (base.columns - 1) * base.pitch[0] + 2 * base.border;
  const height = (base.rows - 1) * base.pitch[1] + 2 * base.border;
  const outlines = new Map(stations.map((s) => [s, s.solids.map((solid) => ({ solid, points: outline(solid, s) }))]));
  const all = [...outlines.values()].flat().flatMap((o) => o.points);
  const left = Math.min(-base.border, ...all.map((p) => p[0]));
  const right = Math.max(width - base.border, ...all.map((p) => p[0]));
  const low = Math.min(-base.border, ...all.map((p) => p[1]));
  const high = Math.max(height - base.border, ...all.map((p) => p[1]));
  const scale = Math.min(WIDTH / Math.max(right - left, 1), TALLEST / Math.max(high - low, 1));
  const w = round((right - left) * scale) + 4;
  const h = round((high - low) * scale) + 4;
  // Up in the drawing is +y of the base, as on paper.
  const at = (p: readonly [number, number]): readonly [number, number] => [
    round((p[0] - left) * scale) + 2,
    round((high - p[1]) * scale) + 2,
  ];
  const parts: string[] = [];
  const [x0, y0] = at([-base.border, height - base.border]);
  parts.push(`<rect x="${x0}" y="${y0}" width="${round(width * scale)}" height="${round(height * scale)}" fill="none" stroke="${LINE}"/>`);
  const [gx, gy] = at([0, (base.rows - 1) * base.pitch[1]]);
  const [px, py] = [round(base.pitch[0] * scale), round(base.pitch[1] * scale)];
  // Intersections nearer together than this would be a grey haze.
  if (px >= 4 && py >= 4) {
    parts.push(
      `<defs><pattern id="g" x="${gx}" y="${gy}" width="${px}" height="${py}" patternUnits="userSpaceOnUse"><path d="M0 0h1.2v1.2h-1.2z" fill="${LINE}"/></pattern></defs>`,
      `<rect x="${gx}" y="${gy}" width="${round((base.columns - 1) * base.pitch[0] * scale) + 1.2}" height="${round((base.rows - 1) * base.pitch[1] * scale) + 1.2}" fill="url(#g)"/>`,
    );
  }
  // All that looks alike is one path: a hover of fifty stations stays small.
  const drawn = new Map<string, string>();
  for (const station of [...stations].sort((a, b) => Number(a === marked) - Number(b === marked))) {
    for (const { solid, points } of outlines.get(station) ?? []) {
      if (solid.kind === "parallels" || points.length === 0) continue;
      const d = `${points.map((p, i) => `${i === 0 ? "M" : "L"}${at(p).join(" ")}`).join("")}Z`;
      const look = lookOf(solid.kind === "stock", station === marked, station.empty);
      drawn.set(look, (drawn.get(look) ?? "") + d);
    }
  }
  for (const [look, d] of drawn) parts.push(`<path d="${d}" ${look}/>`);
  for (const station of stations) {
    const own = station === marked;
    const size = own ? 14 : 9;
    if (own || stations.length <= 40) {
      // The marked one's name stands clear of its own outline, where it can be read on any ground.
      const points = (outlines.get(station) ?? []).flatMap((o) => (o.solid.kind === "parallels" ? [] : o.points)).map(at);
      const top = Math.min(...points.map((p) => p[1]));
      const bottom = Math.max(...points.map((p) => p[1]));
      const [x, centre] = at(middle(station));
      const y = !own || points.length === 0 ? centre + size / 3 : top > size + 2 ? top - 4 : Math.min(h - 3, bottom + size);
      parts.push(
        `<text x="${x}" y="${round(y)}" font-size="${size}"${own ? ' font-weight="bold"' : ""} text-anchor="middle" font-family="sans-serif" fill="${own ? MARK : LINE}">${escapeXml(station.id)}</text>`,
      );
    }
    if (own) {
      const [zx, zy] = at(zeroOf(station));
      parts.push(
        `<path d="M${zx - 6} ${zy}h12M${zx} ${round(zy - 6)}v12" stroke="${MARK}" stroke-width="1.5"/><circle cx="${zx}" cy="${zy}" r="3" fill="none" stroke="${MARK}" stroke-width="1.5"/>`,
      );
    }
  }
  const svg = `<svg xmlns="http://www.w3.org/2000/svg" width="${w}" height="${h}" viewBox="0 0 ${w} ${h}">${parts.join("")}</svg>`;
  return { svg, alt: altText(marked, stations) };
}

function lookOf(stock: boolean, marked: boolean, empty: boolean): string {
  const colour = marked ? MARK : LINE;
  const fill = stock ? `fill="${colour}" fill-opacity="${marked ? ".3" : empty ? ".08" : ".3"}"` : 'fill="none"';
  return `${fill} stroke="${colour}" stroke-width="${marked ? 1.8 : 0.8}"${empty ? ' stroke-dasharray="3 2"' : ""}`;
}

function altText(marked: Station, stations: readonly Station[]): string {
  const { base, at } = marked;
  const others = stations.filter((s) => s !== marked);
  const list =
    others.length === 0
      ? say("plan.only")
      : others.length > 20
        ? say("plan.count", { count: others.length })
        : say("plan.others", { list: others.map((s) => say("plan.other", { station: s.id, at: s.at.join(", ") })).join("; ") });
  const { columns, rows } = base;
  return say("plan", { base: base.name, columns, rows, station: marked.id, column: at[0], row: at[1], others: list });
}

/** Outline of a solid in the base's plane, in its x and y. Empty where it has no finite extent. */
function outline(solid: Solid, station: Station): (readonly [number, number])[] {
  const points = corners(solid.placed).map((c) => toInner(station.base.frame, c));
  // Bits 0 and 1 of the corner pick u and v: this order goes round.
  const order = [0, 1, 3, 2].map((i) => points[i]);
  const out = order.flatMap((p): (readonly [number, number])[] => (p === undefined ? [] : [[p[0], p[1]]]));
  return out.every((p) => Number.isFinite(p[0]) && Number.isFinite(p[1])) ? out : [];
}

function zeroOf(station: Station): readonly [number, number] {
  const p = toInner(station.base.frame, station.partFrame.origin);
  return Number.isFinite(p[0]) && Number.isFinite(p[1]) ? [p[0], p[1]] : tenon(station);
}

function tenon(station: Station): readonly [number, number] {
  return [station.at[0] * station.base.pitch[0], station.at[1] * station.base.pitch[1]];
}

function middle(station: Station): readonly [number, number] {
  const stock = station.solids.find((s) => s.kind === "stock");
  const points = stock === undefined ? [] : outline(stock, station);
  if (points.length === 0) return tenon(station);
  return [points.reduce((a, p) => a + p[0], 0) / points.length, points.reduce((a, p) => a + p[1], 0) / points.length];
}

function round(n: number): number {
  return Math.round(n * 10) / 10;
}

function escapeXml(text: string): string {
  return text.replace(/[<>&"']/g, (c) => `&#${c.charCodeAt(0)};`);
}

/** The plan as an image in Markdown. */
export function planMarkdown(plan: Plan): string {
  const bytes = new TextEncoder().encode(plan.svg);
  let binary = "";
  for (const b of bytes) binary += String.fromCharCode(b);
  return `![${plan.alt.replace(/[[\]\\]/g, "\\$&")}](data:image/svg+xml;base64,${btoa(binary)})`;
}
