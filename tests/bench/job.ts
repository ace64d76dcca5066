/** A clean case that a fault can still be put into. */
import type { JsonObject } from "./json.js";
import { Line, type Look, type Tag } from "./lines.js";
import type { LookOptions } from "./look.js";
import { type Writer, word } from "./paths.js";
import type { Random } from "./random.js";
import { drawShop, type Group, type Shop, type ShopWish, type Stand, turn, zeroInStation } from "./shop.js";
import { drawProgram, type Program, STYLE_WISHES, type StyleName } from "./styles.js";

/** Where a finding has to stand: one of these. */
export type Spot = Line | { readonly sidecar: readonly (string | number)[] } | { readonly file: string; readonly line: number };

/** What a fault makes the engine say. */
export interface Expected {
  readonly at: readonly Spot[];
  /** Other rules that may speak of what follows from the fault, because no ruling says which of them goes first. */
  readonly also?: readonly string[];
  readonly level?: "error" | "warning" | "information";
  readonly options?: LookOptions;
  /** Files besides those of the program. */
  readonly files?: Readonly<Record<string, string>>;
  /** The sidecar's text is changed after printing. */
  readonly spoil?: (text: string) => string;
}

/** What a near miss must not say, and what it may. */
export interface Silence {
  /** The rule may still say so as information. */
  readonly information?: boolean;
  /** Information of other rules that is right here. */
  readonly also?: readonly string[];
  readonly options?: LookOptions;
  readonly files?: Readonly<Record<string, string>>;
}

interface Recipe {
  readonly rule: string;
  readonly name: string;
  readonly styles?: readonly StyleName[];
  readonly wish?: ShopWish;
  readonly look?: Partial<Look>;
}

export interface Fault extends Recipe {
  /** Changes the job; undefined where this job has no room for the fault. */
  make(job: Job): Expected | undefined;
}

export interface NearMiss extends Recipe {
  make(job: Job): Silence | undefined;
}

/** One tool at one stand, as it is written. */
export interface WrittenVisit {
  readonly tool: number;
  readonly stand: Stand;
  readonly lines: readonly Line[];
  /** The block that selects the offset. */
  readonly offset: Line;
  /** It brings the tool to its length. */
  readonly first: boolean;
  readonly file: Line[];
}

/** Ways to write in which every visit has an offset block of its own. */
export const EXPLICIT: readonly StyleName[] = [
  "subprograms",
  "straight",
  "one subprogram per tool",
  "local calls",
  "restart heads",
  "files of their own",
  "change macro",
  "offsets at the head",
];
/** Ways to write in which every visit holds its own moves. */
export const IN_LINE: readonly StyleName[] = ["straight", "ngc straight"];
export const CALLING: readonly StyleName[] = ["subprograms", "restart heads", "files of their own", "offsets at the head"];

export class Job implements Writer {
  readonly rng: Random;
  readonly shop: Shop;
  readonly program: Program;
  readonly numbers: Writer["numbers"];

  constructor(rng: Random, shop: Shop, program: Program) {
    this.rng = rng;
    this.shop = shop;
    this.program = program;
    this.numbers = program.numbers;
  }

  get files(): readonly Line[][] {
    return this.program.files.map((f) => f.lines);
  }

  get main(): Line[] {
    return this.files[0] ?? [];
  }

  get lines(): Line[] {
    return this.files.flat();
  }

  get sidecar(): JsonObject {
    return this.shop.sidecar;
  }

  /** Blocks with a tag that are so. */
  find(tag: Tag, test: (line: Line) => boolean = () => true): Line[] {
    return this.lines.filter((l) => l.tag === tag && test(l));
  }

  fileOf(line: Line): Line[] {
    const file = this.files.find((f) => f.includes(line));
    if (file === undefined) throw new Error(`a block that is in no file: ${line.text}`);
    return file;
  }

  after(line: Line, ...more: Line[]): void {
    const file = this.fileOf(line);
    file.splice(file.indexOf(line) + 1, 0, ...more);
  }

  before(line: Line, ...more: Line[]): void {
    const file = this.fileOf(line);
    file.splice(file.indexOf(line), 0, ...more);
  }

  remove(...lines: readonly Line[]): void {
    for (const line of lines) {
      const file = this.fileOf(line);
      file.splice(file.indexOf(line), 1);
    }
  }

  next(line: Line, test: (line: Line) => boolean = () => true): Line | undefined {
    const file = this.fileOf(line);
    return file.slice(file.indexOf(line) + 1).find(test);
  }

  previous(line: Line, test: (line: Line) => boolean = () => true): Line | undefined {
    const file = this.fileOf(line);
    return file.slice(0, file.indexOf(line)).reverse().find(test);
  }

  /** The line that ends the program. */
  get end(): Line {
    const end = this.main.find((l) => l.tag === "end");
    if (end === undefined) throw new Error("a program without an end");
    return end;
  }

  word(letter: string, mm: number): string {
    return word(this, letter, mm);
  }

  /** All visits as they are written. */
  visits(): WrittenVisit[] {
    const ends: readonly Tag[] = ["offset", "home", "change", "index", "end", "return", "program", "staged", "park"];
    return this.files.flatMap((file) =>
      file.flatMap((line, i): WrittenVisit[] => {
        if (line.tag !== "offset" || line.stand === undefined) return [];
        let end = i + 1;
        while (end < file.length && !ends.includes(file[end]?.tag ?? "end")) end++;
        const lines = file.slice(i, end).filter((l, k) => k === 0 || l.stand === line.stand);
        return [{ tool: line.tool, stand: line.stand, lines, offset: line, first: lines.some((l) => l.tag === "length"), file }];
      }),
    );
  }

  /** Visits that follow another one of the same tool on the same face, so that only the offset changes. */
  followers(): { readonly visit: WrittenVisit; readonly before: WrittenVisit }[] {
    const all = this.visits();
    return all.flatMap((visit, i) => {
      const before = all[i - 1];
      if (before === undefined || visit.first || before.file !== visit.file || before.tool !== visit.tool) return [];
      return before.stand.group.base === visit.stand.group.base ? [{ visit, before }] : [];
    });
  }

  /** Siblings that a tool visits. */
  siblings(visit: WrittenVisit): WrittenVisit[] {
    const g = visit.stand.group;
    return this.visits().filter((v) => v.tool === visit.tool && v.stand.group.part === g.part && v.stand.group.op === g.op);
  }

  /** Middle of a jaw in part coordinates (x, y and the height of its top). */
  jaw(group: Group, which: "fixed" | "moving"): readonly [number, number, number] {
    const zero = zeroInStation(group);
    const u =
      which === "fixed"
        ? group.fixedJaw.face - group.fixedJaw.length / 2
        : group.fixedJaw.face + group.stock[0] + group.movingJaw.length / 2;
    const [x, y] = turn(group.clamp, u - zero[0], -zero[1]);
    const height = which === "fixed" ? group.fixedJaw.height : group.movingJaw.height;
    return [x, y, height - zero[2]];
  }

  /** The text that selects the offset in a block. */
  selection(line: Line): string | undefined {
    return /G54\.1 P\d+|G154 P\d+|G54 P\d+|G59\.\d|G5[4-9]/.exec(line.text)?.[0];
  }

  /** Blocks in the order in which they first run: calls are followed, loops run once. */
  executed(lines: readonly Line[] = this.main, depth = 0): Line[] {
    const out: Line[] = [];
    for (const line of lines) {
      out.push(line);
      if (line.tag === "end" || line.tag === "return") break;
      const call = /^(?:M98|M97|G65) P(\d+)/.exec(line.text)?.[1];
      if (call === undefined || depth > 4) continue;
      const head = this.find("program", (l) => new RegExp(`^[ON]0*${call}(?!\\d)`).test(l.text))[0];
      if (head === undefined) continue;
      const file = this.fileOf(head);
      out.push(...this.executed(file.slice(file.indexOf(head) + 1), depth + 1));
    }
    return out;
  }

  /** The clear height that a body goes back up to. */
  clearOf(body: Line): number {
    const up = this.lines.filter((l) => l.tag === "up" && l.tool === body.tool && l.group?.op === body.group?.op);
    return up.at(-1)?.at[2] ?? 100;
  }
}

/** Draws a clean job for a recipe. */
export function drawJob(rng: Random, recipe: { readonly styles?: readonly StyleName[]; readonly wish?: ShopWish }, style: StyleName): Job {
  const shop = drawShop(rng, { ...STYLE_WISHES[style], ...recipe.wish });
  return new Job(rng, shop, drawProgram(rng, shop, style));
}

export { Line };
