import type { Fixture, Station } from "./fixture/model.js";
import { type Box, bounds } from "./geometry/box.js";
import { toInner } from "./geometry/frame.js";
import type { ToolPart, ToolStack } from "./geometry/tool.js";
import { isKnownPoint, type Vec3 } from "./geometry/vector.js";
import type { Move } from "./machine/move.js";
import { rapidPolylines } from "./machine/rapid.js";
import type { Run } from "./machine/run.js";

/**
 * What is left of the stock. Each station's stock is a height field: one height on each cell of a grid over its footprint,
 * lowered by the cutting part of every tool that sweeps over it. A cell stands for the vertical line through its centre, and
 * the sweep is exact on that line, so a tool that comes back to where it has cut finds nothing, whatever the grid; only
 * what lies wholly between the lines can be overlooked. What is cut under an overhang counts as cut from above.
 */

/** How deep a tool must go into the material to count, in mm; it covers the chords that arcs are cut into. */
const MATERIAL_TOLERANCE = 0.005;
/** Greatest distance of a chord from its arc, mm. */
const SAG = 0.002;
/** Cells of one station and of all together; they bound the memory to some 8 MB. */
const STATION_CELLS = 1 << 16;
const ALL_CELLS = 1 << 21;
/** Moves between two yields. */
const SLICE = 48;

/** A question: how near does the tool come, on a move, to what is left of a station's stock? */
export interface MaterialQuery {
  readonly move: number;
  /** Index of the station whose stock is asked for. */
  readonly station: number;
  /** Distances at or above this are answered with Infinity, mm; 0: only whether the tool enters it. */
  readonly limit: number;
  /** "all": the whole tool, before the move cuts anything. "upper": shank and holder, after the move's own cut. */
  readonly parts: "all" | "upper";
}

/** The answer to a query. */
export interface MaterialAnswer {
  /** 0 where the tool enters the material; Infinity at or above the limit; NaN where what is left is not known. */
  readonly distance: number;
  /** How deep below the surface, mm; 0 if it does not enter. */
  readonly depth: number;
  readonly part: ToolPart["part"];
  /** The stock was never touched before the move. */
  readonly untouched: boolean;
  /** What stands that deep stands higher than the cutting part reaches, and the tool cuts into it from the side. */
  readonly tooHigh: boolean;
}

/** The greatest depth of cut of a visit along the tool's axis. */
export interface CutDepth {
  /** How high the material stood above the lowest that one move has cut there, mm; NaN where that is not known. */
  readonly depth: number;
  readonly move: number;
  /** Size of a cell of the field, mm. */
  readonly cell: number;
}

interface Field {
  readonly station: Station;
  readonly from: Vec3;
  readonly to: Vec3;
  readonly columns: number;
  readonly rows: number;
  readonly du: number;
  readonly dv: number;
  readonly heights: Float32Array;
  /** Bounds of the stock in the machine frame, X and Y, and its top, with the base presented. */
  readonly bounds: Box;
  touched: boolean;
  /** How deep cuts of unknown width have reached, in the station frame: below it everything is left that the heights say, above it nothing is sure. */
  unsure: number;
}

/** The size of a cell of a station's field in mm, where that many stations hold stock. */
function cellSize(stock: { readonly from: Vec3; readonly to: Vec3 }, smallestRadius: number, stations: number): number {
  const u = stock.to[0] - stock.from[0];
  const v = stock.to[1] - stock.from[1];
  const budget = Math.min(STATION_CELLS, Math.floor(ALL_CELLS / Math.max(1, stations)));
  const fine = Math.min(2, Math.max(0.1, smallestRadius / 6));
  return Math.max(fine, Math.sqrt((u * v) / budget));
}

/**
 * Answers questions about what is left of the stock, in one walk through the moves. `queries` must be sorted by move; the
 * answers come in their order. Only stations that are asked for get a field. What a tool of unknown width cuts cannot be
 * computed, but how deep it went can: below that the material is as known as before, above it the answer is NaN unless something is
 * met all the same. Never throws.
 */
export function* materialAnswers(run: Run, fixture: Fixture, queries: readonly MaterialQuery[]): Generator<void, MaterialAnswer[]> {
  const answers: MaterialAnswer[] = [];
  if (queries.length === 0) return answers;
  const fields = createFields(
    run,
    fixture,
    queries.map((q) => q.station),
  );
  const last = queries[queries.length - 1]?.move ?? -1;
  let next = 0;
  for (let i = 0; i <= last && i < run.moves.length; i++) {
    if (i % SLICE === SLICE - 1) yield;
    const move = run.moves[i];
    if (move === undefined) continue;
    const stack = fixture.tools.get(move.modal.tool)?.stack;
    const first = next;
    while (next < queries.length && queries[next]?.move === i) next++;
    for (let q = first; q < next; q++) {
      const query = queries[q];
      if (query?.parts === "all") answers[q] = ask(fields.get(query.station), query, move, stack, fixture);
    }
    const tooHigh = new Map<Field, number>();
    for (let q = first; q < next; q++) {
      const field = queries[q]?.parts === "upper" ? fields.get(queries[q]?.station ?? -1) : undefined;
      if (field !== undefined) tooHigh.set(field, 0);
    }
    if (move.kind === "feed" || move.kind === "arc") carve(fields, move, stack, fixture, { tooHigh, cut: NO_CUT });
    for (let q = first; q < next; q++) {
      const query = queries[q];
      if (query?.parts !== "upper") continue;
      const field = fields.get(query.station);
      const answer = ask(field, query, move, stack, fixture);
      const depth = field === undefined ? 0 : (tooHigh.get(field) ?? 0);
      const part = stack?.find((p) => p.part !== "cutting")?.part ?? "shank";
      answers[q] = depth > answer.depth ? { distance: 0, depth, part, untouched: false, tooHigh: true } : answer;
    }
  }
  return answers;
}

/** The greatest depth of cut of each visit that cuts its own station's stock, by the visit's index. Never throws. */
export function cutDepths(run: Run, fixture: Fixture): ReadonlyMap<number, CutDepth> {
  const fields = createFields(run, fixture, fixture.stations.keys());
  const deepest = new Map<number, CutDepth>();
  run.moves.forEach((move, index) => {
    const own = fields.get(move.station);
    if (own === undefined || (move.kind !== "feed" && move.kind !== "arc")) return;
    const cut = new Map<Field, number>([[own, 0]]);
    carve(fields, move, fixture.tools.get(move.modal.tool)?.stack, fixture, { tooHigh: NO_CUT, cut });
    const depth = cut.get(own) ?? 0;
    const held = deepest.get(move.visit);
    const of = { move: index, cell: Math.max(own.du, own.dv) };
    if (held !== undefined && Number.isNaN(held.depth)) return;
    // Above what a tool of no known width has cut, nothing is sure.
    if (own.unsure < own.to[2]) deepest.set(move.visit, { ...of, depth: Number.NaN });
    else if (depth > Math.max(held?.depth ?? 0, MATERIAL_TOLERANCE)) deepest.set(move.visit, { ...of, depth });
  });
  return deepest;
}

/** What is looked at while a move cuts, for the fields that are its keys, in mm. */
interface Watch {
  /** How far material stands above the cutting part where the tool comes upon it from the side. */
  readonly tooHigh: Map<Field, number>;
  /** How far material stood above what is cut. */
  readonly cut: Map<Field, number>;
}

const NO_CUT = new Map<Field, number>();

/** Fields of the stations with these indices, as far as they hold stock of known size. */
function createFields(run: Run, fixture: Fixture, asked: Iterable<number>): Map<number, Field> {
  let smallest = Number.POSITIVE_INFINITY;
  const tools = new Set(run.visits.map((v) => v.tool));
  for (const number of tools) {
    const radius = widest(fixture.tools.get(number)?.stack);
    if (radius > 0) smallest = Math.min(smallest, radius);
  }
  const fields = new Map<number, Field>();
  // By all that stand there, so that the grid is the same whatever is asked.
  const holding = fixture.stations.filter((s) => s.stock !== undefined).length;
  for (const index of new Set(asked)) {
    const station = fixture.stations[index];
    const stock = station?.stock;
    if (station === undefined || stock === undefined || !isKnownPoint(stock.from) || !isKnownPoint(stock.to)) continue;
    const cell = cellSize(stock, smallest, holding);
    const u = stock.to[0] - stock.from[0];
    const v = stock.to[1] - stock.from[1];
    if (!(u > 0 && v > 0 && Number.isFinite(u) && Number.isFinite(v))) continue;
    const columns = Math.max(1, Math.round(u / cell));
    const rows = Math.max(1, Math.round(v / cell));
    if (columns * rows > 2 * STATION_CELLS) continue;
    const heights = new Float32Array(columns * rows).fill(stock.to[2]);
    const size = { columns, rows, du: u / columns, dv: v / rows };
    const outer = bounds({ frame: station.frame, box: stock });
    fields.set(index, {
      station,
      bounds: outer,
      from: stock.from,
      to: stock.to,
      ...size,
      heights,
      touched: false,
      unsure: Number.POSITIVE_INFINITY,
    });
  }
  return fields;
}

/** Radius of the cutting part; 0 where it is not known. */
function widest(stack: ToolStack | undefined): number {
  let r = 0;
  for (const part of stack ?? []) if (part.part === "cutting") r = Math.max(r, part.topRadius);
  return r;
}

/** Whether a station stands with its clamping face to the tool; a rotary angle that is not known counts as no. */
function presented(fixture: Fixture, station: Station, rotary: number): boolean {
  // Without a described axis nothing is known to turn; what the program turns by itself is then not looked at.
  if (fixture.machine.rotary === undefined && Number.isNaN(rotary)) return true;
  const d = Math.abs(((rotary - station.base.face) % 360) + 0);
  return Math.min(d, 360 - d) <= 0.05;
}

function carve(fields: Map<number, Field>, move: Move, stack: ToolStack | undefined, fixture: Fixture, watch: Watch): void {
  const own = fields.get(move.station);
  const known = isKnownPoint(move.from) && isKnownPoint(move.to);
  if (!known || widest(stack) === 0) {
    if (own !== undefined) own.unsure = Math.min(own.unsure, known ? lowPoint(own, move) : Number.NEGATIVE_INFINITY);
    return;
  }
  const parts = (stack ?? []).filter((p) => p.part === "cutting");
  const path = move.kind === "arc" ? chords(move) : [move.from, move.to];
  const radius = widest(stack);
  for (const field of fields.values()) {
    if (farFrom(field.bounds, path, radius) || !presented(fixture, field.station, move.rotaryTo)) continue;
    const local = path.map((p) => toInner(field.station.frame, p));
    for (let k = 1; k < local.length; k++) {
      const a = local[k - 1] as Vec3;
      const b = local[k] as Vec3;
      const above = watch.tooHigh.get(field);
      if (above !== undefined) watch.tooHigh.set(field, Math.max(above, aboveCutting(field, a, b, stack ?? [])));
      let cut = watch.cut.get(field);
      if (cut !== undefined) cut = Math.max(cut, tipInto(field, a), tipInto(field, b));
      for (const part of parts) {
        if (!Number.isFinite(part.topRadius)) continue;
        // What the bottom of the part does not reach, it cannot lower.
        const floor = Math.min(a[2], b[2]) + part.from;
        if (floor >= field.to[2]) continue;
        eachCell(field, a, b, part.topRadius, (cell, u, v) => {
          // Most of a pocket is swept over again and again at one depth.
          if ((field.heights[cell] as number) <= floor) return;
          const low = lowest(part, part.topRadius, a, b, u, v);
          if (low < (field.heights[cell] as number)) {
            if (cut !== undefined) cut = Math.max(cut, (field.heights[cell] as number) - Math.max(low, field.from[2]));
            // Through the bottom nothing is left.
            field.heights[cell] = low <= field.from[2] + MATERIAL_TOLERANCE ? Number.NEGATIVE_INFINITY : low;
            field.touched = true;
          }
        });
      }
      if (cut !== undefined) watch.cut.set(field, cut);
    }
  }
}

/** How far a tool point lies below the top of stock that nothing has cut there: the point of a drill stands between the lines of the grid. */
function tipInto(f: Field, p: Vec3): number {
  const i = Math.floor((p[0] - f.from[0]) / f.du);
  const j = Math.floor((p[1] - f.from[1]) / f.dv);
  const inside = i >= 0 && j >= 0 && i < f.columns && j < f.rows;
  return inside && f.heights[j * f.columns + i] === Math.fround(f.to[2]) ? f.to[2] - Math.max(p[2], f.from[2]) : 0;
}

/**
 * How far the material stands above the cutting part where a tool on its way from a to b comes upon it from the side, and what is
 * above the cutting part comes there too; 0 where it does not. What the tool stands over when it sets out has been cut from above.
 */
function aboveCutting(field: Field, a: Vec3, b: Vec3, stack: ToolStack): number {
  const cutting = stack.filter((p) => p.part === "cutting");
  const next = stack.find((p) => p.part !== "cutting");
  const run = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const top = Math.max(...cutting.map((p) => p.to));
  if (next === undefined || run < 1e-9 || Math.min(a[2], b[2]) + top >= field.to[2]) return 0;
  const outer = widest(stack);
  const inner = next.bottomRadius - MATERIAL_TOLERANCE;
  const [ex, ey, rise] = [(b[0] - a[0]) / run, (b[1] - a[1]) / run, (b[2] - a[2]) / run];
  let deepest = 0;
  eachCell(field, a, b, Math.max(0, Math.min(inner, outer)), (cell, u, v) => {
    const height = Math.min(field.heights[cell] as number, field.unsure);
    if (height - Math.min(a[2], b[2]) - top <= Math.max(deepest, MATERIAL_TOLERANCE)) return;
    const foot = (u - a[0]) * ex + (v - a[1]) * ey;
    const off = Math.abs((u - a[0]) * ey - (v - a[1]) * ex);
    if (off >= Math.min(inner, outer)) return;
    const cuts = foot - Math.sqrt(outer * outer - off * off);
    const comes = Math.max(0, foot - Math.sqrt(inner * inner - off * off));
    if (cuts <= 0 || cuts > run || comes > run) return;
    deepest = Math.max(deepest, height - top - a[2] - Math.max(rise * cuts, rise * comes));
  });
  return deepest > MATERIAL_TOLERANCE ? deepest : 0;
}

/** The lowest height of a cut, in a station's frame. */
function lowPoint(field: Field, move: Move): number {
  const path = move.kind === "arc" ? chords(move) : [move.from, move.to];
  return Math.min(...path.map((p) => toInner(field.station.frame, p)[2]));
}

/** Whether a path stays beside or above a stock by more than the tool's radius. */
function farFrom(box: Box, path: readonly Vec3[], radius: number): boolean {
  let lowX = Number.POSITIVE_INFINITY;
  let highX = Number.NEGATIVE_INFINITY;
  let lowY = Number.POSITIVE_INFINITY;
  let highY = Number.NEGATIVE_INFINITY;
  let lowZ = Number.POSITIVE_INFINITY;
  for (const p of path) {
    if (p[0] < lowX) lowX = p[0];
    if (p[0] > highX) highX = p[0];
    if (p[1] < lowY) lowY = p[1];
    if (p[1] > highY) highY = p[1];
    if (p[2] < lowZ) lowZ = p[2];
  }
  return (
    lowZ >= box.to[2] ||
    lowX - radius > box.to[0] ||
    highX + radius < box.from[0] ||
    lowY - radius > box.to[1] ||
    highY + radius < box.from[1]
  );
}

function ask(field: Field | undefined, query: MaterialQuery, move: Move, stack: ToolStack | undefined, fixture: Fixture): MaterialAnswer {
  const answer = (distance: number, depth = 0, part: ToolPart["part"] = "cutting"): MaterialAnswer => ({
    distance,
    depth,
    part,
    tooHigh: false,
    untouched: field !== undefined && !field.touched && field.unsure === Number.POSITIVE_INFINITY,
  });
  if (field === undefined || !isKnownPoint(move.to)) return answer(Number.NaN);
  // A turned stock has no height field toward the tool; whatever is left of it lies within the whole box.
  if (!presented(fixture, field.station, move.rotaryTo)) return answer(Number.NaN);
  // Of a move from an unknown place the end alone is looked at.
  const paths = !isKnownPoint(move.from)
    ? [[move.to, move.to]]
    : move.kind === "arc"
      ? [chords(move)]
      : move.kind === "rapid"
        ? rapidPolylines(move.from, move.to, fixture.machine.rapid, fixture.machine.rapidPath)
        : [[move.from, move.to]];
  // A tool of which nothing is known is a line; it meets what lies under every point of its way.
  if (stack === undefined || widest(stack) === 0) {
    const into = query.parts === "all" ? lineInto(field, paths) : 0;
    return into > 0 ? answer(0, into) : answer(Number.NaN);
  }
  let distance = Number.POSITIVE_INFINITY;
  let depth = 0;
  let nearest: ToolPart["part"] = "cutting";
  for (const path of paths) {
    const local = path.map((p) => toInner(field.station.frame, p));
    for (let k = 1; k < local.length; k++) {
      const a = local[k - 1] as Vec3;
      const b = local[k] as Vec3;
      for (const part of stack) {
        if (query.parts === "upper" && part.part === "cutting") continue;
        const bottom = Math.min(a[2], b[2]) + part.from;
        if (bottom - query.limit >= field.to[2]) continue;
        const radius = part.topRadius - MATERIAL_TOLERANCE;
        eachCell(field, a, b, Math.max(0, radius), (cell, u, v) => {
          const height = Math.min(field.heights[cell] as number, field.unsure);
          // The tool is nowhere lower than at its bottom, which spares most cells the closer look.
          if (height - bottom <= Math.max(depth, MATERIAL_TOLERANCE)) return;
          const into = height - lowest(part, radius, a, b, u, v);
          if (into > Math.max(depth, MATERIAL_TOLERANCE)) {
            depth = into;
            distance = 0;
            nearest = part.part;
          }
        });
        if (query.limit > 0 && distance > 0) {
          eachCell(field, a, b, part.topRadius + query.limit, (cell, u, v) => {
            const height = Math.min(field.heights[cell] as number, field.unsure);
            if (height === Number.NEGATIVE_INFINITY) return;
            const d = distanceTo(part, a, b, u, v, height, Math.min(distance, query.limit));
            if (d < distance && d < query.limit) {
              distance = d;
              nearest = part.part;
            }
          });
        }
      }
    }
  }
  // Nothing is met for certain; whether something is, cannot be known where a cut of unknown width came by.
  return distance > 0 && field.unsure < field.to[2] ? answer(Number.NaN) : answer(distance, depth, nearest);
}

/** How deep a line goes into what is left for certain; 0 if it does not. A cell counts by the lowest of it and those around it. */
function lineInto(field: Field, paths: readonly (readonly Vec3[])[]): number {
  let deepest = 0;
  const step = Math.min(field.du, field.dv) / 2;
  for (const path of paths) {
    const local = path.map((p) => toInner(field.station.frame, p));
    for (let k = 1; k < local.length; k++) {
      const a = local[k - 1] as Vec3;
      const b = local[k] as Vec3;
      if (Math.min(a[2], b[2]) >= field.to[2]) continue;
      const count = Math.min(4096, Math.max(1, Math.ceil(Math.hypot(b[0] - a[0], b[1] - a[1]) / step)));
      for (let n = 0; n <= count; n++) {
        const t = n / count;
        const i = Math.floor((a[0] + t * (b[0] - a[0]) - field.from[0]) / field.du);
        const j = Math.floor((a[1] + t * (b[1] - a[1]) - field.from[1]) / field.dv);
        if (i < 0 || j < 0 || i >= field.columns || j >= field.rows) continue;
        const z = count === 1 ? Math.min(a[2], b[2]) : a[2] + t * (b[2] - a[2]);
        let height = field.unsure;
        for (let y = Math.max(0, j - 1); y <= Math.min(field.rows - 1, j + 1); y++)
          for (let x = Math.max(0, i - 1); x <= Math.min(field.columns - 1, i + 1); x++)
            height = Math.min(height, field.heights[y * field.columns + x] as number);
        const into = height - z;
        if (into > MATERIAL_TOLERANCE && into > deepest) deepest = into;
      }
    }
  }
  return deepest;
}

/** Calls back for each cell whose centre may lie within `reach` of the way from a to b, seen along w. */
function eachCell(f: Field, a: Vec3, b: Vec3, reach: number, visit: (cell: number, u: number, v: number) => void): void {
  const lowU = Math.max(0, Math.ceil((Math.min(a[0], b[0]) - reach - f.from[0]) / f.du - 0.5));
  const highU = Math.min(f.columns - 1, Math.floor((Math.max(a[0], b[0]) + reach - f.from[0]) / f.du - 0.5));
  const lowV = Math.max(0, Math.ceil((Math.min(a[1], b[1]) - reach - f.from[1]) / f.dv - 0.5));
  const highV = Math.min(f.rows - 1, Math.floor((Math.max(a[1], b[1]) + reach - f.from[1]) / f.dv - 0.5));
  const [du, dv] = [b[0] - a[0], b[1] - a[1]];
  // Along a row, the band about the way reaches so far to both sides of where the way crosses it.
  const level = Math.abs(dv) < 1e-9;
  const beside = level ? Number.POSITIVE_INFINITY : (reach * Math.hypot(du, dv)) / Math.abs(dv);
  for (let j = lowV; j <= highV; j++) {
    const v = f.from[1] + (j + 0.5) * f.dv;
    const crossing = level ? a[0] : a[0] + ((v - a[1]) * du) / dv;
    // One cell more than is needed on both sides, so that rounding leaves none out.
    const first = Math.max(lowU, Math.floor((crossing - beside - f.from[0]) / f.du - 1));
    const last = Math.min(highU, Math.ceil((crossing + beside - f.from[0]) / f.du));
    for (let i = first; i <= last; i++) visit(j * f.columns + i, f.from[0] + (i + 0.5) * f.du, v);
  }
}

/**
 * The lowest height that a part of the tool reaches above the point (u, v) on its way from a to b; Infinity if it never
 * covers the point. `radius` is the part's greater radius, or a little less for a tool that only asks.
 */
function lowest(part: ToolPart, radius: number, a: Vec3, b: Vec3, u: number, v: number): number {
  const dx = b[0] - a[0];
  const dy = b[1] - a[1];
  const run = Math.hypot(dx, dy);
  const inner = Math.min(part.bottomRadius, radius);
  const slope = part.topRadius > part.bottomRadius ? (part.to - part.from) / (part.topRadius - part.bottomRadius) : 0;
  const profile = (r: number): number => part.from + (r > inner ? slope * (r - inner) : 0);
  if (run < 1e-9) {
    const r = Math.hypot(u - a[0], v - a[1]);
    return r <= radius ? Math.min(a[2], b[2]) + profile(r) : Number.POSITIVE_INFINITY;
  }
  const ex = dx / run;
  const ey = dy / run;
  const foot = (u - a[0]) * ex + (v - a[1]) * ey;
  const off = Math.abs((u - a[0]) * ey - (v - a[1]) * ex);
  if (off > radius) return Number.POSITIVE_INFINITY;
  const half = Math.sqrt(radius * radius - off * off);
  const begin = Math.max(0, foot - half);
  const end = Math.min(run, foot + half);
  if (begin > end) return Number.POSITIVE_INFINITY;
  const rise = (b[2] - a[2]) / run;
  const at = (s: number): number => a[2] + rise * s + profile(Math.hypot(off, s - foot));
  // The height is convex along the way, so its least value is at an end, where the flat bottom ends, or where the cone's
  // flank runs level with the way.
  let low = Math.min(at(begin), at(end));
  if (slope > 0) {
    const clamp = (s: number): number => Math.min(end, Math.max(begin, s));
    low = Math.min(low, at(clamp(foot)));
    if (inner > off) {
      const flat = Math.sqrt(inner * inner - off * off);
      low = Math.min(low, at(clamp(foot - flat)), at(clamp(foot + flat)));
    }
    if (Math.abs(rise) < slope) low = Math.min(low, at(clamp(foot - (off * rise) / Math.sqrt(slope * slope - rise * rise))));
  }
  return low;
}

/** Distance of a part on its way from a to b to the vertical line up to `height` at (u, v); any value at or above `best` may be given instead. */
function distanceTo(part: ToolPart, a: Vec3, b: Vec3, u: number, v: number, height: number, best: number): number {
  // A cone is seen as a few flat discs; the flank between them is missed by less than the limit matters.
  const discs =
    part.topRadius > part.bottomRadius && Number.isFinite(part.to)
      ? [0, 0.25, 0.5, 0.75, 1].map((k) => [
          part.bottomRadius + k * (part.topRadius - part.bottomRadius),
          part.from + k * (part.to - part.from),
        ])
      : [[part.topRadius, part.from]];
  const run = Math.hypot(b[0] - a[0], b[1] - a[1]);
  const off = run < 1e-9 ? 0 : Math.abs(((u - a[0]) * (b[1] - a[1]) - (v - a[1]) * (b[0] - a[0])) / run);
  let least = best;
  for (const [radius = 0, from = 0] of discs) {
    const bound = Math.hypot(Math.max(0, off - radius), Math.max(0, Math.min(a[2], b[2]) + from - height));
    if (bound >= least) continue;
    const at = (t: number): number => {
      const r = Math.hypot(u - a[0] - t * (b[0] - a[0]), v - a[1] - t * (b[1] - a[1]));
      return Math.hypot(Math.max(0, r - radius), Math.max(0, a[2] + t * (b[2] - a[2]) + from - height));
    };
    // The distance is convex in t.
    let low = 0;
    let high = 1;
    for (let n = 0; n < 40; n++) {
      const third = (high - low) / 3;
      if (at(low + third) < at(high - third)) high -= third;
      else low += third;
    }
    least = Math.min(least, at((low + high) / 2), at(0), at(1));
  }
  return least;
}

/** An arc or helix as points whose chords stay within SAG of it. */
export function chords(move: Move): Vec3[] {
  const c = move.centre;
  if (c === undefined) return [move.from, move.to];
  const [i, j, k]: readonly [0 | 1 | 2, 0 | 1 | 2, 0 | 1 | 2] =
    move.modal.plane === 18 ? [2, 0, 1] : move.modal.plane === 19 ? [1, 2, 0] : [0, 1, 2];
  const r0 = Math.hypot(move.from[i] - c[i], move.from[j] - c[j]);
  const r1 = Math.hypot(move.to[i] - c[i], move.to[j] - c[j]);
  const start = Math.atan2(move.from[j] - c[j], move.from[i] - c[i]);
  const sweep = (move.sweep * Math.PI) / 180;
  const radius = Math.max(r0, r1);
  const step = radius > SAG ? 2 * Math.acos(1 - SAG / radius) : Math.PI;
  const count = Math.min(4096, Math.max(1, Math.ceil(Math.abs(sweep) / step)));
  const out: Vec3[] = [move.from];
  for (let n = 1; n < count; n++) {
    const t = n / count;
    const r = r0 + t * (r1 - r0);
    const p: [number, number, number] = [0, 0, 0];
    p[i] = c[i] + r * Math.cos(start + t * sweep);
    p[j] = c[j] + r * Math.sin(start + t * sweep);
    p[k] = move.from[k] + t * (move.to[k] - move.from[k]);
    out.push(p);
  }
  out.push(move.to);
  return out;
}
