/** Runs the bench: clean programs, faults, near misses; counts what was found, missed, and said too much. */
import { catalogueIds } from "../../server/src/engine/fixture/catalogue.js";
import { type Written, writeCase } from "./case.js";
import { faults, nearMisses } from "./faults/all.js";
import { drawJob, type Expected, type Fault, Job, type NearMiss, type Silence, type Spot } from "./job.js";
import { Line } from "./lines.js";
import { lookAt, type Said } from "./look.js";
import { Random, seedOf } from "./random.js";
import { STYLES, type StyleName } from "./styles.js";

/** Something that went otherwise than it should. */
export interface Trouble {
  readonly kind: "missed" | "wrong place" | "wrong level" | "extra" | "false alarm" | "near miss fired" | "thrown";
  readonly rule: string;
  /** Fault, near miss or style, with what is needed to make the case again. */
  readonly case: string;
  readonly seed: number;
  readonly what: string;
  readonly files: ReadonlyMap<string, string>;
}

/** One line of the table. */
export interface Row {
  readonly rule: string;
  cases: number;
  detected: number;
  placed: number;
  extra: number;
  nearCases: number;
  nearFired: number;
  /** Injectors that found no room in any fixture drawn for them. */
  readonly idle: string[];
}

export interface Result {
  readonly rows: readonly Row[];
  readonly clean: number;
  readonly falseAlarms: number;
  readonly troubles: readonly Trouble[];
  readonly cases: number;
}

export interface BenchOptions {
  readonly seed: number;
  /** Cases in all; a third of them clean programs, half of them faults, the rest near misses. */
  readonly cases: number;
  readonly rule?: string;
  /** Clean programs only, as many as there are cases. */
  readonly clean?: boolean;
  readonly progress?: (done: number, of: number) => void;
}

/** As many fixtures are drawn until one has room for a fault. */
const DRAWS = 60;

/** Runs the bench. Deterministic for its seed. */
export function runBench(options: BenchOptions): Result {
  const rows = new Map<string, Row>();
  for (const rule of catalogueIds)
    rows.set(rule, { rule, cases: 0, detected: 0, placed: 0, extra: 0, nearCases: 0, nearFired: 0, idle: [] });
  const row = (rule: string): Row => {
    const held = rows.get(rule);
    if (held === undefined) throw new Error(`${rule} is no rule of the catalogue`);
    return held;
  };
  const troubles: Trouble[] = [];
  const only = options.rule;
  const wanted = (f: Fault | NearMiss): boolean => options.clean !== true && (only === undefined || f.rule === only);
  const someFaults = faults.filter(wanted);
  const someNear = nearMisses.filter(wanted);
  const share = options.clean === true ? 1 : 1 / 3;
  const cleanCount = only === undefined ? Math.max(STYLES.length, Math.round(options.cases * share)) : 0;
  const faultCount = Math.max(someFaults.length, Math.round(options.cases / (only === undefined ? 2 : 1.5)));
  const nearCount = Math.max(someNear.length, options.cases - cleanCount - faultCount);
  const total = cleanCount + faultCount + nearCount;
  let done = 0;
  let falseAlarms = 0;

  for (let i = 0; i < cleanCount; i++) {
    const style = STYLES[i % STYLES.length] as StyleName;
    const seed = seedOf(options.seed, "clean", i);
    const rng = new Random(seed);
    const job = drawJob(rng, {}, style);
    const written = writeCase(rng, job.shop, job.program);
    const said = ask(written.files, {}, troubles, { case: `clean: ${style}`, seed, rule: "clean" });
    if (said !== undefined && said.length > 0) falseAlarms++;
    for (const s of said ?? [])
      troubles.push({
        kind: "false alarm",
        rule: s.rule,
        case: `clean: ${style}`,
        seed,
        what: tell(s, written.files),
        files: written.files,
      });
    options.progress?.(++done, total);
  }
  for (let i = 0; i < faultCount && someFaults.length > 0; i++) {
    const fault = someFaults[i % someFaults.length] as Fault;
    const r = row(fault.rule);
    const drawn = draw(fault, seedOf(options.seed, "fault", i), (f, job) => f.make(job));
    options.progress?.(++done, total);
    if (drawn === undefined) {
      if (!r.idle.includes(fault.name)) r.idle.push(fault.name);
      continue;
    }
    score(fault, drawn, r, troubles);
  }
  for (let i = 0; i < nearCount && someNear.length > 0; i++) {
    const near = someNear[i % someNear.length] as NearMiss;
    const r = row(near.rule);
    const drawn = draw(near, seedOf(options.seed, "near", i), (n, job) => n.make(job));
    options.progress?.(++done, total);
    if (drawn === undefined) {
      if (!r.idle.includes(near.name)) r.idle.push(near.name);
      continue;
    }
    scoreNear(near, drawn, r, troubles);
  }
  return { rows: [...rows.values()], clean: cleanCount, falseAlarms, troubles, cases: total };
}

interface Drawn<T> {
  readonly seed: number;
  readonly style: StyleName;
  readonly wanted: T;
  readonly written: Written;
  readonly files: ReadonlyMap<string, string>;
}

/** Draws jobs until a recipe finds room in one. */
function draw<R extends Fault | NearMiss, T extends Expected | Silence>(
  recipe: R,
  seed: number,
  make: (recipe: R, job: Job) => T | undefined,
): Drawn<T> | undefined {
  for (let k = 0; k < DRAWS; k++) {
    const rng = new Random(seedOf(seed, k));
    const style = rng.pick(recipe.styles ?? STYLES);
    const job = drawJob(rng, recipe, style);
    const wanted = make(recipe, job);
    if (wanted === undefined) continue;
    const written = writeCase(rng, job.shop, job.program);
    const files = new Map(written.files);
    if ("spoil" in wanted && wanted.spoil !== undefined) {
      const text = files.get("part.fixture.json") ?? "";
      const spoiled = wanted.spoil(text);
      if (spoiled === text) continue;
      files.set("part.fixture.json", spoiled);
    }
    for (const [name, text] of Object.entries(wanted.files ?? {})) files.set(name, text);
    return { seed, style, wanted, written, files };
  }
  return undefined;
}

function ask(
  files: ReadonlyMap<string, string>,
  options: object,
  troubles: Trouble[],
  about: { case: string; seed: number; rule: string },
): Said[] | undefined {
  try {
    const { said, analysis } = lookAt(files, options);
    for (const n of analysis.notChecked) {
      if (n.why.key === "why.internal") troubles.push({ kind: "thrown", ...about, what: JSON.stringify(n), files });
    }
    return said;
  } catch (error) {
    troubles.push({ kind: "thrown", ...about, what: String(error), files });
    return undefined;
  }
}

function tell(s: Said, files: ReadonlyMap<string, string>): string {
  const text = files.get(s.file)?.split(/\r?\n/)[s.line]?.trim() ?? "";
  return `${s.level} ${s.rule}${s.key === "default" ? "" : `/${s.key}`} ${s.file}:${s.line + 1} «${text}»`;
}

function score(fault: Fault, drawn: Drawn<Expected>, r: Row, troubles: Trouble[]): void {
  const { wanted, written, files, seed } = drawn;
  const about = { case: `${fault.name} (${drawn.style})`, seed, rule: fault.rule };
  const said = ask(files, wanted.options ?? {}, troubles, about);
  r.cases++;
  if (said === undefined) return;
  const spots = wanted.at.map((s) => placeOf(written, s));
  const where = spots
    .map((s) => `${s.file}:${s.line + 1} «${files.get(s.file)?.split(/\r?\n/)[s.line]?.trim() ?? ""}»`)
    .slice(0, 4)
    .join(" or ");
  const own = said.filter((s) => s.rule === fault.rule && !s.waived);
  const at = own.filter((s) => spots.some((p) => p.file === s.file && p.line === s.line));
  if (own.length > 0) r.detected++;
  if (at.length > 0) r.placed++;
  // A fault in one of several copies makes this copy differ from the others; both are true of the same block.
  const drift = (s: Said): boolean => s.rule === "station-drift" && spots.some((p) => p.file === s.file && p.line === s.line);
  const others = said.filter((s) => s.rule !== fault.rule && wanted.also?.includes(s.rule) !== true && !drift(s));
  if (own.length === 0)
    troubles.push({
      kind: "missed",
      ...about,
      what: `expected at ${where}${others.length === 0 ? "" : `; said ${others.map((s) => tell(s, files)).join("; ")}`}`,
      files,
    });
  else if (at.length === 0)
    troubles.push({ kind: "wrong place", ...about, what: `expected at ${where}; is ${own.map((s) => tell(s, files)).join("; ")}`, files });
  const level = wanted.level;
  if (level !== undefined && at.length > 0 && !at.some((s) => s.level === level))
    troubles.push({ kind: "wrong level", ...about, what: `${at[0]?.level}, not ${level}`, files });
  // One cause, one finding: a second one of the same rule is too much as well.
  const extra = [
    ...others,
    ...own
      .slice(at.length > 0 ? 0 : 1)
      .filter((s) => s !== at[0] && (at.length === 0 || !wanted.at.some((w) => same(placeOf(written, w), s)))),
  ];
  r.extra += extra.length;
  if (extra.length > 0 && own.length > 0)
    troubles.push({ kind: "extra", ...about, what: `beside ${where}: ${extra.map((s) => tell(s, files)).join("; ")}`, files });
}

function same(place: { readonly file: string; readonly line: number }, s: Said): boolean {
  return place.file === s.file && place.line === s.line;
}

function scoreNear(near: NearMiss, drawn: Drawn<Silence>, r: Row, troubles: Trouble[]): void {
  const { wanted, files, seed } = drawn;
  const about = { case: `${near.name} (${drawn.style})`, seed, rule: near.rule };
  const said = ask(files, wanted.options ?? {}, troubles, about);
  r.nearCases++;
  if (said === undefined) return;
  const loud = said.filter(
    (s) =>
      !(s.level === "information" && ((wanted.information === true && s.rule === near.rule) || wanted.also?.includes(s.rule) === true)) &&
      !(wanted.also?.includes(s.rule) === true && s.rule !== near.rule),
  );
  if (loud.length > 0) {
    r.nearFired++;
    troubles.push({ kind: "near miss fired", ...about, what: loud.map((s) => tell(s, files)).join("; "), files });
  }
}

function placeOf(written: Written, spot: Spot): { readonly file: string; readonly line: number } {
  if (spot instanceof Line) return written.placeOf(spot);
  if ("sidecar" in spot) return { file: "part.fixture.json", line: written.sidecar.lineOf(spot.sidecar) };
  return spot;
}

/** The table as text. */
export function table(result: Result): string {
  const head = ["rule", "cases", "detected", "at the block", "extra", "near misses", "fired"];
  const lines = result.rows.map((r) => [r.rule, r.cases, r.detected, r.placed, r.extra, r.nearCases, r.nearFired].map(String));
  const sum = (k: "cases" | "detected" | "placed" | "extra" | "nearCases" | "nearFired"): number =>
    result.rows.reduce((n, r) => n + r[k], 0);
  lines.push(["all", sum("cases"), sum("detected"), sum("placed"), sum("extra"), sum("nearCases"), sum("nearFired")].map(String));
  const widths = head.map((h, i) => Math.max(h.length, ...lines.map((l) => l[i]?.length ?? 0)));
  const text = [head, ...lines].map((l) => l.map((c, i) => (i === 0 ? c.padEnd(widths[i] ?? 0) : c.padStart(widths[i] ?? 0))).join("  "));
  text.splice(1, 0, widths.map((w) => "-".repeat(w)).join("  "));
  text.splice(-1, 0, text[1] ?? "");
  const rate =
    result.clean === 0
      ? ""
      : `clean programs: ${result.clean}, with a finding: ${result.falseAlarms} (${((1000 * result.falseAlarms) / result.clean).toFixed(1)} in 1,000)`;
  const idle = result.rows.flatMap((r) => r.idle.map((name) => `no room found for ${r.rule}: ${name}`));
  return [...text, "", ...(rate === "" ? [] : [rate]), ...idle].join("\n");
}

/** Troubles as text, the same ones folded. */
export function listing(result: Result, most = 3): string {
  const groups = new Map<string, Trouble[]>();
  for (const t of result.troubles) {
    const key = `${t.kind}: ${t.rule}: ${t.case.replace(/ \(.*\)$/, "")}`;
    groups.set(key, [...(groups.get(key) ?? []), t]);
  }
  return [...groups]
    .map(([key, list]) =>
      [`${key} × ${list.length}`, ...list.slice(0, most).map((t) => `    ${t.case} seed ${t.seed}: ${t.what}`)].join("\n"),
    )
    .join("\n");
}

export { Job };
