/** One case of the bench: files, and what is to be said about them. */
import { type JsonObject, type PrintedJson, printJson } from "./json.js";
import { drawLook, type Line, type Look, length, write } from "./lines.js";
import type { Random } from "./random.js";
import { contentOf, inUnits, type Shop, spell } from "./shop.js";
import type { Program } from "./styles.js";

export interface Written {
  /** Texts by file name. */
  readonly files: ReadonlyMap<string, string>;
  /** File and line (from 0) of a block. */
  placeOf(line: Line): { readonly file: string; readonly line: number };
  readonly sidecar: PrintedJson;
}

/** Writes a shop and its program out. */
export function writeCase(rng: Random, shop: Shop, program: Program, look: Look = drawLook(rng, program.mayNumber)): Written {
  const files = new Map<string, string>();
  const places = new Map<Line, { file: string; line: number }>();
  for (const file of program.files) {
    const written = write(rng, file.lines, look);
    files.set(file.name, written.text);
    for (const [line, number] of written.lineOf) places.set(line, { file: file.name, line: number });
  }
  const sidecar = printJson(shop.sidecar as JsonObject);
  files.set("part.fixture.json", sidecar.text);
  if (shop.stored === "file") files.set("stored.offsets.nc", offsetFile(shop));
  return {
    files,
    sidecar,
    placeOf(line) {
      const place = places.get(line);
      if (place === undefined) throw new Error(`no place for the block ${line.text}`);
      return place;
    },
  };
}

/** The offset table as a control writes it. */
function offsetFile(shop: Shop): string {
  const numbers = { units: shop.units, trailing: "point", leading: true } as const;
  const lines = shop.stands.map((s) => {
    const c = contentOf(shop, s);
    const where = shop.plain ? `L2 P${s.register}` : `L20 P${s.register}`;
    return `G10 ${where} X${length(numbers, c.X)} Y${length(numbers, c.Y)} Z${length(numbers, c.Z)}`;
  });
  return ["%", "G90", ...lines, "M30", "%", ""].join("\n");
}

export { inUnits, spell };
