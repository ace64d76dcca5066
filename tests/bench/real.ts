/**
 * Programs of others beside a fixture drawn around them: every work offset that moves becomes a station, with a stock that holds
 * all cuts under it and jaws below the deepest. What is then said must be true of the program or of this fixture.
 */
import { renderMessage } from "../../server/src/engine/checks/wording.js";
import { spellOffset } from "../../server/src/engine/dialect/offsets.js";
import type { Move } from "../../server/src/engine/machine/move.js";
import { type Analysis, analyseNow } from "../../server/src/engine/program.js";

/** Extents in mm, relative to the work offset. */
interface Extents {
  readonly low: [number, number, number];
  readonly high: [number, number, number];
}

export interface Told {
  readonly rule: string;
  readonly level: string;
  /** From 1. */
  readonly line: number;
  readonly text: string;
  readonly source: string;
}

export interface RealAnswer {
  readonly moves: number;
  readonly stations: number;
  readonly seconds: number;
  readonly told: readonly Told[];
  readonly sidecar: string;
}

const FOLDER = "/shop/";

function look(name: string, text: string, dialect: string, sidecar?: string): Analysis {
  const files = new Map([[FOLDER + name, text]]);
  if (sidecar !== undefined) files.set(`${FOLDER}drawn.fixture.json`, sidecar);
  return analyseNow(
    {
      read: (path) => files.get(path),
      list: (folder) => (folder === FOLDER.slice(0, -1) ? [...files.keys()].map((f) => f.slice(FOLDER.length)) : undefined),
    },
    { program: FOLDER + name, dialect, ...(sidecar === undefined ? {} : { fixture: `${FOLDER}drawn.fixture.json` }) },
  );
}

/** Where each offset's cuts lie, and the tools that were in the spindle; moves with an unknown end tell nothing. */
function surveyed(run: Analysis["run"]): { readonly cuts: Map<string, Extents>; readonly tools: Set<number> } {
  const cuts = new Map<string, Extents>();
  const tools = new Set<number>();
  for (const move of run.moves) {
    if (move.modal.tool > 0 && Number.isInteger(move.modal.tool)) tools.add(move.modal.tool);
    if (move.kind !== "feed" && move.kind !== "arc") continue;
    const ends = reached(move);
    if (ends.some((p) => p.some((v) => !Number.isFinite(v)))) continue;
    const held = cuts.get(move.modal.offset) ?? { low: [Infinity, Infinity, Infinity], high: [-Infinity, -Infinity, -Infinity] };
    for (const p of ends)
      p.forEach((v, axis) => {
        held.low[axis] = Math.min(held.low[axis] as number, v);
        held.high[axis] = Math.max(held.high[axis] as number, v);
      });
    cuts.set(move.modal.offset, held);
  }
  return { cuts, tools };
}

/** Both ends, and for an arc the corners of the box about its whole circle. */
function reached(move: Move): (readonly number[])[] {
  const ends: (readonly number[])[] = [move.partFrom, move.partTo];
  if (move.kind !== "arc" || move.centre === undefined) return ends;
  const centre = move.centre;
  const own = move.partFrom.map((v, axis) => v + ((centre[axis] as number) - (move.from[axis] as number)));
  const radius = Math.hypot(...[0, 1, 2].map((axis) => (centre[axis] as number) - (move.from[axis] as number)));
  return [...ends, own.map((v) => v - radius), own.map((v) => v + radius)];
}

/** A sidecar around the cuts: stock a tool's width larger, jaws that end below the deepest cut, stations far from each other. */
function drawn(analysis: Analysis, dialect: string): { readonly text: string; readonly stations: number } | undefined {
  const { cuts, tools } = surveyed(analysis.run);
  const inch = analysis.run.moves.some((m) => m.modal.units === "inch");
  const k = inch ? 1 / 25.4 : 1;
  if (cuts.size === 0) return undefined;
  const pitch = 50;
  const parts: Record<string, unknown> = {};
  const stations: unknown[] = [];
  const movingJaws: Record<string, unknown> = {};
  const fixedJaws: Record<string, unknown> = {};
  const same = new Map<string, string>();
  let row = 1;
  for (const [key, { low, high }] of cuts) {
    const size = [0, 1].map((axis) => Math.max(20, Math.ceil((high[axis] as number) - (low[axis] as number)) + 24));
    const [u, v] = size as [number, number];
    const top = 0;
    const cut = Math.ceil(top - Math.min(low[2], top));
    // Below the deepest cut the stock goes on for the grip, half of what stands above it, and 4 mm between the two.
    const grip = Math.max(10, Math.ceil(cut / 2) + 2);
    const deep = cut + 4 + grip;
    const seat = 20;
    const jaw = seat + grip;
    const zero = { u: (12 - low[0]) * k, v: (12 - low[1]) * k, w: deep * k };
    const shape = JSON.stringify([u, v, deep, zero]);
    const part = same.get(shape) ?? `part${same.size + 1}`;
    same.set(shape, part);
    parts[part] = { ops: { op10: { stock: { u: u * k, v: v * k, w: deep * k }, zero, reversible: true } } };
    fixedJaws[part] = { face: 15 * k, length: 40 * k, width: v * k, height: jaw * k };
    movingJaws[part] = { gap: (u - 4) * k, increment: 3 * k, stroke: 8 * k, notches: 6, length: 50 * k, width: v * k, height: jaw * k };
    row += Math.ceil(v / 2 / pitch) + 1;
    stations.push({
      id: `S${stations.length + 1}`,
      base: "plate",
      at: [2, row],
      clamp: "+X",
      fixedJaw: part,
      movingJaw: part,
      notch: 3,
      seat: seat * k,
      part,
      op: "op10",
      offset: spellOffset(key, analysis.profile),
    });
    row += Math.ceil(v / 2 / pitch) + 2;
  }
  const columns = 4 + Math.ceil(Math.max(...[...cuts.values()].map((e) => e.high[0] - e.low[0] + 150)) / pitch);
  return {
    stations: stations.length,
    text: JSON.stringify(
      {
        format: 1,
        units: inch ? "inch" : "mm",
        machine: { dialect, home: { X: 0, Y: 0, Z: 0 }, rapid: { X: 30000 * k, Y: 30000 * k, Z: 24000 * k } },
        bases: { plate: { pitch: pitch * k, columns, rows: row + 2, zero: { X: -900 * k, Y: -600 * k, Z: -600 * k } } },
        fixedJaws,
        movingJaws,
        parts,
        stations,
        tools: Object.fromEntries(
          [...tools].map((t) => [
            String(t),
            { DC: 8 * k, APMX: 40 * k, LF: 150 * k, shank: { D: 8 * k, L: 90 * k }, holder: [{ D: 40 * k, L: 50 * k }], H: t, D: t },
          ]),
        ),
      },
      null,
      2,
    ),
  };
}

/** Draws a fixture around a program and checks the program beside it. Undefined: nothing in it cuts at a known place. */
export function checkReal(name: string, text: string, dialect: string): RealAnswer | undefined {
  const fixture = drawn(look(name, text, dialect), dialect);
  if (fixture === undefined) return undefined;
  const begun = performance.now();
  const analysis = look(name, text, dialect, fixture.text);
  const lines = text.split(/\r\n|\r|\n/);
  return {
    moves: analysis.run.moves.length,
    stations: fixture.stations,
    seconds: (performance.now() - begun) / 1000,
    sidecar: fixture.text,
    told: analysis.findings.map((f) => ({
      rule: f.rule,
      level: f.level,
      line: f.place.range.line + 1,
      text: renderMessage(f.rule, f.message, { units: analysis.fixture?.units ?? "mm" }),
      source: f.place.file.endsWith(".json") ? "(sidecar)" : (lines[f.place.range.line]?.trim().slice(0, 80) ?? ""),
    })),
  };
}
