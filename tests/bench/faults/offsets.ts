/** Faults and near misses of the rules about work offsets. */

import { CALLING, EXPLICIT, type Fault, IN_LINE, type Job, Line, type NearMiss } from "../job.js";
import type { JsonObject } from "../json.js";
import { decimal, length } from "../lines.js";
import { contentOf, inUnits, type Shop, type Stand, spell, TOOLS } from "../shop.js";

/** A block of the offset table written anew. */
function rewrite(line: Line, change: Partial<Record<"X" | "Y" | "Z", string>>): void {
  for (const [axis, value] of Object.entries(change)) line.text = line.text.replace(new RegExp(`${axis}-?[\\d.]+`), `${axis}${value}`);
}

/** A stand's block in the offset table, and what it should hold. */
function tableLine(job: Job, test: (s: Stand) => boolean = () => true) {
  const line = job.rng.maybe(job.find("g10", (l) => l.stand !== undefined && test(l.stand)));
  return line?.stand === undefined ? undefined : { line, stand: line.stand, content: contentOf(job.shop, line.stand) };
}

const mmText = (job: Job, mm: number): string => length(job.numbers, mm);

/** Values that are wrong the way shops get them wrong. Each gives undefined where it would be no fault. */
const WRONG_VALUES: readonly {
  readonly name: string;
  readonly wish?: Fault["wish"];
  change(job: Job, stand: Stand): Partial<Record<"X" | "Y" | "Z", number>> | undefined;
}[] = [
  { name: "one pitch off", change: (job, s) => ({ X: contentOf(job.shop, s).X + s.group.base.pitch[0] }) },
  { name: "two pitches off in Y", change: (job, s) => ({ Y: contentOf(job.shop, s).Y - 2 * s.group.base.pitch[1] }) },
  {
    name: "value of another station",
    wish: { least: 2 },
    change(job, s) {
      const other = job.rng.maybe(
        job.shop.stands.filter((o) => Math.hypot(o.position[0] - s.position[0], o.position[1] - s.position[1]) > 1),
      );
      if (other === undefined) return undefined;
      const c = contentOf(job.shop, other);
      return { X: c.X, Y: c.Y, Z: c.Z };
    },
  },
  {
    name: "axes swapped",
    change(job, s) {
      const c = contentOf(job.shop, s);
      return Math.abs(c.X - c.Y) > 1 ? { X: c.Y, Y: c.X } : undefined;
    },
  },
  { name: "sign lost", change: (job, s) => ({ X: -contentOf(job.shop, s).X }) },
  {
    name: "inch for millimetre",
    change(job, s) {
      const c = contentOf(job.shop, s);
      const f = job.shop.units === "mm" ? 1 / 25.4 : 25.4;
      return { X: c.X * f, Y: c.Y * f, Z: c.Z * f };
    },
  },
  {
    name: "seat for top",
    change: (job, s) => ({
      Z: contentOf(job.shop, s).Z + (s.group.zero.w === "seat" ? s.group.stock[2] : -s.group.high[2] + s.group.low[2]),
    }),
  },
  {
    name: "skew ignored",
    wish: { skew: true, kind: "plate", least: 4 },
    change(job, s) {
      const b = s.group.base;
      if (b.skew === 0) return undefined;
      const c = contentOf(job.shop, s);
      const a = (-b.skew * Math.PI) / 180;
      const dx = s.position[0] - b.zero[0];
      const dy = s.position[1] - b.zero[1];
      const x = dx * Math.cos(a) - dy * Math.sin(a) - dx;
      const y = dx * Math.sin(a) + dy * Math.cos(a) - dy;
      return Math.abs(x) > 0.04 || Math.abs(y) > 0.04 ? { X: c.X + x, Y: c.Y + y } : undefined;
    },
  },
  { name: "a typing slip", change: (job, s) => ({ Y: contentOf(job.shop, s).Y + job.rng.pick([0.1, -0.3, 10, 100]) }) },
  { name: "just past the tolerance in Z", change: (job, s) => ({ Z: contentOf(job.shop, s).Z + 0.06 }) },
];

const G10_STYLES = ["offsets at the head"] as const;

const wrongWritten: Fault[] = WRONG_VALUES.map((w) => ({
  rule: "offset-value",
  name: `written: ${w.name}`,
  styles: G10_STYLES,
  ...(w.wish === undefined ? {} : { wish: w.wish }),
  make(job) {
    const found = tableLine(job, (s) => Object.keys(s.trim).length === 0);
    const change = found === undefined ? undefined : w.change(job, found.stand);
    if (found === undefined || change === undefined) return undefined;
    rewrite(found.line, Object.fromEntries(Object.entries(change).map(([k, x]) => [k, mmText(job, x)])));
    return { at: [found.line] };
  },
}));

/** The same in the sidecar's table of stored values. */
const wrongStored: Fault[] = WRONG_VALUES.slice(0, 6).map((w) => ({
  rule: "offset-value",
  name: `stored: ${w.name}`,
  styles: CALLING.slice(0, 2),
  ...(w.wish === undefined ? {} : { wish: w.wish }),
  make(job) {
    if (job.find("g10").length > 0) return undefined;
    const { shop } = job;
    const stand = job.rng.pick(shop.stands);
    const change = w.change(job, stand);
    if (change === undefined || Object.keys(stand.trim).length > 0) return undefined;
    const offsets = (shop.sidecar.offsets ?? {}) as JsonObject;
    delete offsets.file;
    shop.stored = "values";
    const values: JsonObject = {};
    for (const s of shop.stands) {
      const c = { ...contentOf(shop, s), ...(s === stand ? change : {}) };
      values[spell(shop, s.register)] = Object.fromEntries(Object.entries(c).map(([k, x]) => [k, inUnits(shop, x)]));
    }
    offsets.values = values;
    shop.sidecar.offsets = offsets;
    const key = spell(shop, stand.register);
    const axes = Object.keys(change);
    return { at: [{ sidecar: ["offsets", "values", key] }, ...axes.map((a) => ({ sidecar: ["offsets", "values", key, a] }))] };
  },
}));

/** A register that no station has. */
function free(job: Job): string | undefined {
  const { shop } = job;
  if (!shop.plain)
    return `${job.rng.pick([shop.dialect === "g154" ? "G154 P" : "G54.1 P"])}${shop.stands.length + job.rng.pick([1, 2, 7])}`;
  const last = shop.dialect === "rs274ngc" ? 9 : shop.park ? 5 : 6;
  if (shop.stands.length >= last) return undefined;
  return spell(shop, job.rng.int(shop.stands.length + 1, last));
}

function reselect(job: Job, line: Line, to: string): boolean {
  const from = job.selection(line);
  if (from === undefined) return false;
  line.text = line.text.replace(from, to);
  return true;
}

export const offsetFaults: readonly Fault[] = [
  {
    rule: "offset-unmapped",
    name: "a register of no station",
    styles: [...EXPLICIT, "ngc straight"],
    wish: { least: 2 },
    make(job) {
      const found = job.rng.maybe(job.followers());
      const to = free(job);
      if (found === undefined || to === undefined || !reselect(job, found.visit.offset, to)) return undefined;
      return { at: [found.visit.offset] };
    },
  },
  {
    rule: "offset-unmapped",
    name: "a register of no station, at a tool's head",
    styles: EXPLICIT,
    make(job) {
      const visit = job.rng.maybe(job.visits().filter((v) => v.first));
      const to = free(job);
      if (visit === undefined || to === undefined || !reselect(job, visit.offset, to)) return undefined;
      return { at: [visit.offset] };
    },
  },
  {
    rule: "offset-unmapped",
    name: "P left out",
    styles: EXPLICIT.filter((s) => s !== "local calls"),
    wish: { plain: false, least: 3 },
    make(job) {
      const found = job.rng.maybe(job.followers());
      if (found === undefined || job.shop.plain || !reselect(job, found.visit.offset, "G54.1")) return undefined;
      return { at: [found.visit.offset] };
    },
  },
  {
    rule: "offset-unmapped",
    name: "P out of range",
    styles: EXPLICIT,
    wish: { plain: false, least: 3 },
    make(job) {
      const found = job.rng.maybe(job.followers());
      const to = job.shop.dialect === "g154" ? job.rng.pick(["G154 P0", "G154 P100"]) : job.rng.pick(["G54.1 P0", "G54.1 P301"]);
      if (found === undefined || job.shop.plain || !reselect(job, found.visit.offset, to)) return undefined;
      return { at: [found.visit.offset] };
    },
  },
  ...wrongWritten,
  ...wrongStored,
  {
    rule: "offset-register",
    name: "L2 for an additional offset",
    styles: G10_STYLES,
    wish: { plain: false, least: 3 },
    make(job) {
      const found = tableLine(job, (s) => s.register > 6);
      if (found === undefined) return undefined;
      found.line.text = found.line.text.replace("L20", "L2");
      return { at: [found.line] };
    },
  },
  {
    rule: "offset-register",
    name: "P of the block before",
    styles: G10_STYLES,
    wish: { least: 4 },
    make(job) {
      const found = tableLine(job, (s) => s.register > 1 && s.register < job.shop.stands.length);
      if (found === undefined) return undefined;
      found.line.text = found.line.text.replace(/P\d+/, `P${found.stand.register - 1}`);
      return { at: [found.line] };
    },
  },
  {
    rule: "offset-register",
    name: "P against the comment",
    styles: G10_STYLES,
    wish: { least: 3 },
    make(job) {
      const found = tableLine(job, (s) => s.register > 1);
      if (found === undefined) return undefined;
      const other = job.rng.pick(job.shop.stands.filter((s) => s !== found.stand));
      found.line.text = found.line.text.replace(/P\d+/, `P${other.register}`).replace(/ \(.*\)/, "");
      found.line.text += ` (${found.stand.id})`;
      return { at: [found.line] };
    },
  },
  {
    rule: "offset-incremental",
    name: "G91 left from the reference return",
    styles: G10_STYLES,
    make(job) {
      const first = job.find("g10")[0];
      if (first === undefined) return undefined;
      job.before(first, new Line("plain", "G91 G28 Z0."));
      job.after(job.find("g10").at(-1) ?? first, new Line("plain", "G90"));
      return { at: [first] };
    },
  },
  {
    rule: "offset-incremental",
    name: "G91 in one block",
    styles: G10_STYLES,
    wish: { least: 2 },
    make(job) {
      const line = job.rng.maybe(job.find("g10"));
      if (line === undefined) return undefined;
      line.text = line.text.replace("G10", "G91 G10");
      job.after(line, new Line("plain", "G90"));
      return { at: [line] };
    },
  },
  {
    rule: "offset-missing-axis",
    name: "an axis left out",
    styles: G10_STYLES,
    wish: { least: 3, groups: 1, kind: "plate" },
    make(job) {
      const found = tableLine(job);
      if (found === undefined) return undefined;
      const axis = job.rng.pick(["X", "Y", "Z"]);
      found.line.text = found.line.text.replace(new RegExp(` ${axis}-?[\\d.]+`), "");
      return { at: [found.line] };
    },
  },
  {
    rule: "offset-series",
    name: "counted from the next register",
    styles: EXPLICIT,
    wish: { least: 3 },
    make: (job) => shiftSeries(job, 1),
  },
  {
    rule: "offset-series",
    name: "counted from the register before",
    styles: EXPLICIT,
    wish: { least: 3, plain: false },
    make(job) {
      // The fixture begins at P2, the program at P1.
      if (job.shop.plain || job.find("g10").length > 0 || job.shop.stored !== "none" || hasTrim(job.shop)) return undefined;
      for (const s of stationsOf(job.shop)) s.offset = String(s.offset).replace(/\d+$/, (n) => String(Number(n) + 1));
      const first = job.find("offset")[0];
      return first === undefined ? undefined : { at: [first] };
    },
  },
  {
    rule: "offset-inherited",
    name: "offset not restated after a tool change",
    styles: EXPLICIT,
    wish: { least: 2 },
    make(job) {
      const heads = job.visits().filter((v, i, all) => v.first && i > 0 && v.stand !== all[i - 1]?.stand);
      const head = job.rng.maybe(heads.filter((h) => job.shop.rotary === undefined || lastFace(job, h.offset) === h.stand.group.base));
      const from = head === undefined ? undefined : job.selection(head.offset);
      if (head === undefined || from === undefined) return undefined;
      // A program that states one offset only may mean it for all of its tools.
      const stated = job.find("offset", (l) => l !== head.offset).map((l) => job.selection(l));
      if (new Set(stated).size < 2) return undefined;
      // Where a subprogram holds the visits of the tool, either it or its caller lacks the offset.
      const calls =
        job.program.style === "one subprogram per tool" ? job.find("call", (l) => l.tool === head.tool && l.stand === undefined) : [];
      const rest = head.offset.text.replace(from, "").replace(/ +/g, " ").trim();
      if (rest === "") {
        const next = job.next(head.offset, (l) => /X/.test(l.text));
        job.remove(head.offset);
        return next === undefined ? undefined : { at: [next, ...calls] };
      }
      head.offset.text = rest;
      return { at: [head.offset, ...calls] };
    },
  },
  {
    rule: "offset-value-overwritten",
    name: "the table lacks the trim",
    styles: G10_STYLES,
    make(job) {
      const { shop } = job;
      const found = tableLine(job);
      if (found === undefined || hasTrim(shop)) return undefined;
      const offsets = (shop.sidecar.offsets ?? {}) as JsonObject;
      // Not of a station that Z is counted from: all others would move with it.
      if (typeof shop.zFrom === "object" && "station" in shop.zFrom) return undefined;
      // Less than the tolerance, so that the value itself passes: what is lost is the trim.
      offsets.trim = { [spell(shop, found.stand.register)]: { X: inUnits(shop, 0.016) } };
      delete offsets.values;
      delete offsets.file;
      shop.stored = "none";
      shop.sidecar.offsets = offsets;
      return { at: [found.line] };
    },
  },
  {
    rule: "offset-value",
    name: "written: a trim beyond the tolerance left out",
    styles: G10_STYLES,
    make(job) {
      const { shop } = job;
      const found = tableLine(job);
      if (found === undefined || hasTrim(shop) || (typeof shop.zFrom === "object" && "station" in shop.zFrom)) return undefined;
      const offsets = (shop.sidecar.offsets ?? {}) as JsonObject;
      offsets.trim = { [spell(shop, found.stand.register)]: { X: inUnits(shop, 0.08) } };
      delete offsets.values;
      delete offsets.file;
      shop.stored = "none";
      shop.sidecar.offsets = offsets;
      return { at: [found.line] };
    },
  },
];

function lastFace(job: Job, line: Line): unknown {
  return job.previous(line, (l) => l.stand !== undefined && l.tag !== "index")?.stand?.group.base;
}

function hasTrim(shop: Shop): boolean {
  return shop.stands.some((s) => Object.keys(s.trim).length > 0);
}

export function stationsOf(shop: Shop): JsonObject[] {
  return shop.sidecar.stations as JsonObject[];
}

/** Every offset of the program goes to the register that follows. */
function shiftSeries(job: Job, by: number): { at: Line[] } | undefined {
  const { shop } = job;
  const most = shop.dialect === "rs274ngc" ? 9 : shop.park ? 5 : 6;
  if (job.find("g10").length > 0 || (shop.plain && shop.stands.length + by > most)) return undefined;
  const lines = job.find("offset");
  for (const line of lines) {
    if (line.stand === undefined) return undefined;
    const from = job.selection(line);
    if (from === undefined) return undefined;
    line.text = line.text.replace(
      from,
      shop.plain ? spell(shop, line.stand.register + by) : from.replace(/\d+$/, String(line.stand.register + by)),
    );
  }
  // A tool that visits one station only shows no series.
  if (new Set(lines.map((l) => l.stand)).size < 3) return undefined;
  const first = lines[0];
  return first === undefined ? undefined : { at: [first] };
}

/** The sidecar's registers begin one later, and so does the program. */
function later(job: Job): boolean {
  if (job.shop.plain || job.find("g10").length > 0 || job.shop.stored !== "none" || hasTrim(job.shop)) return false;
  for (const s of stationsOf(job.shop)) s.offset = String(s.offset).replace(/\d+$/, (n) => String(Number(n) + 1));
  return shiftSeries(job, 1) !== undefined;
}

export const offsetNearMisses: readonly NearMiss[] = [
  {
    rule: "offset-unmapped",
    name: "declared datum",
    styles: EXPLICIT,
    wish: { plain: false },
    make(job) {
      if (job.shop.plain) return undefined;
      const name = job.shop.dialect === "g154" ? "G154 P90" : "G54.1 P48";
      job.sidecar.datums = {
        ...(job.sidecar.datums as JsonObject | undefined),
        [job.shop.stands.length >= 48 ? "G59" : name]: "park position",
      };
      job.before(job.end, new Line("plain", `G0 ${job.shop.stands.length >= 48 ? "G59" : name} X0 Y0`));
      return {};
    },
  },
  {
    rule: "offset-unmapped",
    name: "another spelling of the same offset",
    styles: EXPLICIT.filter((s) => s !== "local calls"),
    wish: { plain: false },
    make(job) {
      if (job.shop.plain) return undefined;
      for (const line of job.find("offset")) {
        line.text = line.text.replace(/G54(?:\.1)? P0*(\d+)/, (_, n) =>
          job.rng.pick([`G54.1 P${n}`, `G54 P${n}`, `G54.1 P0${n}`, `G054.1 P${n}.`]),
        );
      }
      return {};
    },
  },
  {
    rule: "offset-value",
    name: "within the tolerance",
    styles: G10_STYLES,
    make(job) {
      for (const line of job.find("g10")) {
        if (line.stand === undefined) continue;
        const c = contentOf(job.shop, line.stand);
        rewrite(line, { X: mmText(job, c.X + 0.015), Z: mmText(job, c.Z - 0.04) });
      }
      return {};
    },
  },
  {
    rule: "offset-value",
    name: "recorded trim, common shift, Z counted from the base",
    styles: G10_STYLES,
    wish: { zFrom: true, least: 2 },
    make: () => ({}),
  },
  {
    rule: "offset-register",
    name: "P0 is the common shift",
    styles: G10_STYLES,
    make(job) {
      const first = job.find("g10")[0];
      const { X, Y, Z } = job.shop.commonShift;
      if (first === undefined) return undefined;
      job.before(first, new Line("plain", `G10 L2 P0 X${mmText(job, X)} Y${mmText(job, Y)} Z${mmText(job, Z)}`));
      return {};
    },
  },
  {
    rule: "offset-incremental",
    name: "a declared increment",
    styles: G10_STYLES,
    make(job) {
      const last = job.find("g10").at(-1);
      if (last?.stand === undefined) return undefined;
      const small = decimal(job.numbers, job.numbers.units === "mm" ? 0.02 : 0.0008, 4);
      const where = /L\d+ P\d+/.exec(last.text)?.[0] ?? "";
      job.after(last, new Line("plain", `G91 G10 ${where} Z${small} (ALLOW offset-incremental: worn parallels)`), new Line("plain", "G90"));
      return { information: true };
    },
  },
  {
    rule: "offset-missing-axis",
    name: "an axis declared set at the machine",
    styles: G10_STYLES,
    wish: { least: 3 },
    make(job) {
      const lines = job.find("g10");
      for (const line of lines) if (job.rng.chance(0.6)) line.text = line.text.replace(/ Z-?[\d.]+/, "");
      job.sidecar.offsets = { ...(job.sidecar.offsets as JsonObject | undefined), setAtMachine: ["Z"] };
      return {};
    },
  },
  {
    rule: "offset-series",
    name: "the first register is reserved",
    styles: EXPLICIT.filter((s) => s !== "offsets at the head"),
    wish: { least: 3, plain: false },
    make(job) {
      if (!later(job)) return undefined;
      job.sidecar.datums = { ...(job.sidecar.datums as JsonObject | undefined), [`${job.shop.code}1`]: "kept for the tool setter" };
      return {};
    },
  },
  {
    rule: "offset-inherited",
    name: "the called program selects it",
    styles: ["one subprogram per tool"],
    wish: { least: 2 },
    make: () => ({}),
  },
  {
    rule: "offset-value-overwritten",
    name: "the trim is in the value",
    styles: G10_STYLES,
    make(job) {
      const { shop } = job;
      const found = tableLine(job);
      if (found === undefined || hasTrim(shop) || (typeof shop.zFrom === "object" && "station" in shop.zFrom)) return undefined;
      found.stand.trim = { X: 0.08, Y: -0.05 };
      const offsets = (shop.sidecar.offsets ?? {}) as JsonObject;
      offsets.trim = { [spell(shop, found.stand.register)]: { X: inUnits(shop, 0.08), Y: inUnits(shop, -0.05) } };
      delete offsets.values;
      shop.sidecar.offsets = offsets;
      const c = contentOf(shop, found.stand);
      rewrite(found.line, { X: mmText(job, c.X), Y: mmText(job, c.Y) });
      return {};
    },
  },
];

export { IN_LINE, TOOLS };
