/** Faults and near misses of the rules about stations and visits. */

import { CALLING, EXPLICIT, type Fault, type Job, Line, type NearMiss, type WrittenVisit } from "../job.js";
import type { JsonObject } from "../json.js";
import type { Stand } from "../shop.js";
import { stationsOf } from "./offsets.js";

/** Visits one of which can be missed: their tool goes to three siblings or more. */
function missable(job: Job): { readonly visit: WrittenVisit; readonly next: WrittenVisit | undefined }[] {
  const followers = job.followers();
  return followers.flatMap(({ visit }) => {
    if (job.siblings(visit).length < 3) return [];
    const all = job.visits();
    const next = all[all.indexOf(all.find((v) => v.offset === visit.offset) ?? visit) + 1];
    return [{ visit, next: next !== undefined && next.tool === visit.tool && next.file === visit.file ? next : undefined }];
  });
}

/** Where a missing visit is told: the next visit's offset block, or what ends the tool's section. */
function gapAfter(job: Job, visit: WrittenVisit, next: WrittenVisit | undefined): Line[] {
  if (next !== undefined) return [next.offset];
  const last = visit.lines.at(-1) ?? visit.offset;
  const out: Line[] = [];
  const file = job.fileOf(last);
  for (let line = job.next(last); line !== undefined; line = job.next(line)) {
    if (["change", "end", "home", "return"].includes(line.tag) || (line.tag === "call" && line.tool !== visit.tool)) out.push(line);
    if (line.tag === "change" || line.tag === "end" || line.tag === "return") break;
  }
  // The last one of a subprogram that holds all visits of a tool: the caller goes on to the next tool.
  if (file.some((l) => l.tag === "end") && out.some((l) => l.tag === "return")) {
    const call = job.main.find((l) => l.tag === "call" && l.tool === visit.tool && l.stand === undefined);
    const after =
      call === undefined
        ? undefined
        : job.next(call, (l) => l.tag === "change" || l.tag === "end" || (l.tag === "call" && l.tool !== visit.tool));
    if (after !== undefined) out.push(after);
  }
  return out;
}

/** The way from one stand to a sibling's, in part coordinates. */
function shifted(lines: readonly Line[], job: Job, from: Stand, to: Stand): void {
  const by = { X: to.position[0] - from.position[0], Y: to.position[1] - from.position[1] };
  const factor = job.numbers.units === "mm" ? 1 : 25.4;
  for (const line of lines) {
    line.text = line.text.replace(/([XY])(-?\d*\.?\d+\.?)/g, (_, axis: "X" | "Y", value: string) =>
      job.word(axis, Number(value) * factor + by[axis]),
    );
  }
}

export const stationFaults: readonly Fault[] = [
  {
    rule: "station-skipped",
    name: "a visit left out",
    styles: [...EXPLICIT, "ngc straight"],
    wish: { least: 3 },
    make(job) {
      const found = job.rng.maybe(missable(job));
      if (found === undefined) return undefined;
      const at = gapAfter(job, found.visit, found.next);
      job.remove(...found.visit.lines);
      return { at };
    },
  },
  {
    rule: "station-skipped",
    name: "a macro call left out",
    styles: ["macro call"],
    wish: { least: 4, groups: 1, kind: "plate" },
    make(job) {
      const calls = job.find("call", (l) => l.stand !== undefined);
      const call = job.rng.maybe(calls.filter((c) => calls.filter((o) => o.tool === c.tool).indexOf(c) > 0));
      const next = call === undefined ? undefined : job.next(call);
      if (call === undefined || next === undefined) return undefined;
      const end = job.next(call, (l) => l.tag === "change" || l.tag === "end" || (l.tag === "call" && l.tool !== call.tool));
      job.remove(call);
      const at = next.tag === "call" && next.tool === call.tool ? [next] : [next, ...(end === undefined ? [] : [end])];
      // The offset block that the next call runs is the macro's own.
      const sub = job.find("offset", (l) => l.tool === call.tool && l.text.includes("#1"));
      return { at: [...at, ...sub] };
    },
  },
  {
    rule: "station-repeated",
    name: "the offset was copied and not changed",
    styles: [...EXPLICIT, "ngc straight"],
    wish: { least: 3 },
    make(job) {
      const found = job.rng.maybe(
        job.followers().filter(({ visit, before }) => visit.stand.group === before.stand.group && job.siblings(visit).length > 2),
      );
      const own = found === undefined ? undefined : job.selection(found.visit.offset);
      const other = found === undefined ? undefined : job.selection(found.before.offset);
      if (found === undefined || own === undefined || other === undefined) return undefined;
      found.visit.offset.text = found.visit.offset.text.replace(own, other);
      return { at: [found.visit.offset] };
    },
  },
  {
    rule: "station-repeated",
    name: "the same call twice",
    styles: CALLING,
    wish: { least: 3 },
    make(job) {
      const visit = job.rng.maybe(
        job.visits().filter((v) => job.siblings(v).length > 2 && v.lines.some((l) => l.tag === "call" && l.text.startsWith("M98"))),
      );
      const call = visit?.lines.find((l) => l.tag === "call");
      if (call === undefined) return undefined;
      const again = call.copy();
      job.after(call, again);
      return { at: [again] };
    },
  },
  {
    rule: "station-wrong-op",
    name: "the other op's subprogram",
    styles: CALLING,
    wish: { least: 6, kind: "two plates" },
    make(job) {
      const calls = job.find("call", (l) => l.stand !== undefined && l.text.startsWith("M98"));
      const call = job.rng.maybe(
        calls.filter((c) => {
          const same = calls.filter((o) => o.tool === c.tool && o.group?.op === c.group?.op);
          const other = calls.filter((o) => o.tool === c.tool && o.group?.op !== c.group?.op);
          return same.length > 2 && other.length > 2;
        }),
      );
      const other = calls.find((o) => o.tool === call?.tool && o.group?.op !== call?.group?.op);
      if (call === undefined || other === undefined) return undefined;
      call.text = call.text.replace(/P\d+/, /P\d+/.exec(other.text)?.[0] ?? "");
      return { at: [call], also: [...TOUCHES] };
    },
  },
  {
    rule: "station-outside-part",
    name: "coordinates of the neighbour, in the air beside it",
    styles: ["straight"],
    wish: { least: 3, kind: "plate", groups: 1, skew: false },
    make(job) {
      const found = job.rng.maybe(job.followers().filter(({ visit }) => visit.tool === 1));
      if (found === undefined) return undefined;
      const { visit, before } = found;
      shifted(visit.lines, job, visit.stand, before.stand);
      // Just over the neighbour, so that nothing of it is cut.
      const plunge = visit.lines.find((l) => l.tag === "plunge");
      if (plunge === undefined) return undefined;
      plunge.text = plunge.text.replace(/Z-?[\d.]+/, job.word("Z", visit.stand.group.high[2] + 0.3));
      return { at: visit.lines.filter((l) => l.tag === "plunge" || l.tag === "cut" || l.tag === "offset") };
    },
  },
  {
    rule: "station-drift",
    name: "one word of a copy is another",
    styles: ["straight", "ngc straight"],
    wish: { least: 4, groups: 1, kind: "plate" },
    make(job) {
      const visits = job.visits().filter((v) => job.siblings(v).length > 3);
      const visit = job.rng.maybe(visits);
      const line = job.rng.maybe(
        visit?.lines.filter((l) => (l.tag === "cut" || l.tag === "cycle" || l.tag === "plunge") && /F/.test(l.text)) ?? [],
      );
      if (line === undefined) return undefined;
      line.text = line.text.replace(/F([\d.]+)/, (_, f: string) =>
        `F${Number(f) * 2}${line.text.includes(".") ? "." : ""}`.replace(/(\.\d+)\.$/, "$1"),
      );
      return { at: [line] };
    },
  },
  {
    rule: "station-wrong-face",
    name: "another angle",
    styles: EXPLICIT,
    wish: { kind: "tombstone 4" },
    make(job) {
      const line = job.rng.maybe(job.find("index"));
      const face = line?.stand?.group.base.face;
      if (line === undefined || face === undefined) return undefined;
      const wrong = job.rng.pick([0, 90, 180, 270].filter((a) => a !== face));
      line.text = line.text.replace(/([AB])[\d.]+/, `$1${wrong}.`);
      const head = job.next(line, (l) => l.tag === "offset");
      return { at: [line, ...(head === undefined ? [] : [head]), ...firstMoves(job, line)] };
    },
  },
  {
    rule: "station-wrong-face",
    name: "the index is missing",
    styles: EXPLICIT,
    wish: { kind: "tombstone 2" },
    make(job) {
      const lines = job.find("index").filter((l, i, all) => i > 0 && l.stand?.group.base !== all[i - 1]?.stand?.group.base);
      const line = job.rng.maybe(lines);
      if (line === undefined) return undefined;
      const at = [job.next(line, (l) => l.tag === "offset"), ...firstMoves(job, line)].filter((l) => l !== undefined);
      job.remove(line);
      return { at };
    },
  },
  {
    rule: "station-count",
    name: "the loop ends one short",
    styles: ["while loop", "if loop", "computed offset"],
    wish: { least: 4 },
    make(job) {
      const line = job.rng.maybe(job.find("loop", (l) => (l.group?.columns ?? 0) * (l.group?.rows ?? 0) > 2));
      if (line === undefined) return undefined;
      line.text = line.text.replace(/LE (\d+)/, (_, n: string) => `LE ${Number(n) - 1}`);
      return { at: [line] };
    },
  },
  {
    rule: "station-count",
    name: "the loop goes one too far",
    styles: ["while loop", "if loop"],
    wish: { least: 4, groups: 1, kind: "plate", plain: false },
    make(job) {
      const line = job.rng.maybe(job.find("loop"));
      if (line === undefined) return undefined;
      line.text = line.text.replace(/LE (\d+)/, (_, n: string) => `LE ${Number(n) + 1}`);
      return { at: [line] };
    },
  },
  {
    rule: "skip-partial",
    name: "the offset is skipped, the work is not",
    styles: [...EXPLICIT, "ngc straight"],
    wish: { least: 3 },
    make(job) {
      const found = job.rng.maybe(job.followers());
      if (found === undefined) return undefined;
      found.visit.offset.text = `/${found.visit.offset.text}`;
      return { at: [found.visit.offset] };
    },
  },
  {
    rule: "skip-partial",
    name: "the tool is skipped, the work is not",
    styles: ["subprograms", "straight", "offsets at the head"],
    make(job) {
      const line = job.rng.maybe(job.find("change", (l) => l.text.startsWith("T")).slice(1));
      if (line === undefined) return undefined;
      line.text = `/${line.text}`;
      // With the switch on the length belongs to a tool that is not there: that follows.
      return { at: [line] };
    },
  },
];

/** Rules that speak of what a wrong path meets. */
export const TOUCHES = [
  "clamp-cut",
  "clamp-near",
  "clamp-rapid",
  "stock-rapid",
  "neighbour-cut",
  "base-drilled",
  "holder-reach",
  "retract-before-offset",
  "retract-return-level",
  "approach-low",
  "station-outside-part",
];

/** The next blocks that move at a station. */
function firstMoves(job: Job, line: Line): Line[] {
  const out: Line[] = [];
  for (let l = job.next(line); l !== undefined && out.length < 3; l = job.next(l)) {
    if (["offset", "start", "length", "down", "call"].includes(l.tag)) out.push(l);
  }
  return out;
}

/** The same path again behind every visit of a tool. */
function doubled(job: Job, deeper: boolean): boolean {
  const calls = job.find("call", (l) => l.stand !== undefined && /^M98/.test(l.text));
  const tool = job.rng.maybe([...new Set(calls.map((c) => c.tool))]);
  const own = calls.filter((c) => c.tool === tool);
  if (own.length < 2 || deeper) return false;
  for (const c of own) c.text += job.rng.pick([" L2"]);
  return true;
}

export const stationNearMisses: readonly NearMiss[] = [
  {
    rule: "station-skipped",
    name: "a tool for one op only",
    styles: [...EXPLICIT, "while loop", "macro call"],
    wish: { kind: "two plates", least: 6 },
    make: () => ({}),
  },
  {
    rule: "station-skipped",
    name: "stations declared empty",
    styles: EXPLICIT,
    wish: { least: 4, groups: 1, kind: "plate", zFrom: false },
    make(job) {
      const stand = job.rng.pick(job.shop.stands.slice(1));
      // Not the one at which a tool takes its length.
      if (job.visits().some((v) => v.first && v.stand === stand)) return undefined;
      for (const v of job.visits().filter((x) => x.stand === stand)) job.remove(...v.lines);
      if (stand.group.asRepeat) return { options: { empty: [stand.id] } };
      (stationsOf(job.shop)[stand.entry] as JsonObject).empty = true;
      return {};
    },
  },
  {
    rule: "station-repeated",
    name: "a spring pass at every sibling",
    styles: CALLING,
    wish: { least: 2 },
    make: (job) => (doubled(job, false) ? {} : undefined),
  },
  {
    rule: "station-repeated",
    name: "roughing and finishing",
    styles: ["straight", "ngc straight"],
    wish: { least: 3 },
    make(job) {
      // All visits of the slot mill once more behind the first ones, a little deeper.
      const visits = job.visits().filter((v) => v.tool === 5);
      const last = visits.at(-1)?.lines.at(-1);
      if (visits.length < 2 || last === undefined || job.shop.rotary !== undefined) return undefined;
      const more = visits.flatMap((v) =>
        v.lines
          .filter((l) => l.tag !== "length")
          .map((l) => {
            const c = l.copy();
            if (c.tag === "plunge") c.text = c.text.replace(/Z-?[\d.]+/, job.word("Z", l.at[2] - 0.2));
            if (c.tag === "offset" && /X/.test(c.text)) c.text = c.text.replace(/^(?!G0|.*G0)/, "G0 ");
            return c;
          }),
      );
      job.after(last, ...more);
      return {};
    },
  },
  {
    rule: "station-repeated",
    name: "a repeat with a shift",
    styles: ["stepping subprograms"],
    make: (job) => (job.lines.some((l) => /^M98 P\d+ L[2-9]/.test(l.text)) ? {} : undefined),
  },
  {
    rule: "station-wrong-op",
    name: "a feature that both ops share",
    styles: CALLING,
    wish: { least: 6, kind: "two plates" },
    make(job) {
      const calls = job.find("call", (l) => l.stand !== undefined && l.text.startsWith("M98"));
      const both = [...new Set(calls.map((c) => c.tool))].filter(
        (t) => new Set(calls.filter((c) => c.tool === t).map((c) => c.group?.op)).size > 1,
      );
      const tool = job.rng.maybe(both);
      if (tool === undefined || job.program.files.length > 1) return undefined;
      const clear = Math.max(...job.program.paths.filter((p) => p.tool.t === tool).map((p) => p.clear));
      const feed = job.numbers.units === "mm" ? "F900." : "F35.0";
      // A mark that every part gets, whatever its op; here it is made in the air.
      job.main.push(
        new Line("program", "O7900 (MARK)", { fixed: true }),
        new Line("plain", `G90 G0 ${job.word("X", 0)} ${job.word("Y", 0)}`),
        new Line("plain", `G0 ${job.word("Z", clear + 1)}`),
        new Line("plain", `G1 ${job.word("Z", clear)} ${feed}`),
        new Line("plain", job.word("X", 4)),
        new Line("plain", `G0 ${job.word("Z", clear + 1)}`),
        new Line("return", "M99"),
      );
      for (const c of calls) if (c.tool === tool) job.after(c, new Line("plain", "M98 P7900"));
      return {};
    },
  },
  {
    rule: "station-outside-part",
    name: "lead-in and lead-out around the stock",
    styles: ["straight"],
    wish: { least: 2 },
    make: () => ({}),
  },
  {
    rule: "station-drift",
    name: "a correction with an allow comment",
    styles: ["straight", "ngc straight"],
    wish: { least: 4, groups: 1, kind: "plate" },
    make(job) {
      const visit = job.rng.maybe(job.visits().filter((v) => job.siblings(v).length > 3));
      const line = visit?.lines.find((l) => (l.tag === "cut" || l.tag === "cycle") && /F/.test(l.text));
      if (line === undefined) return undefined;
      line.text = `${line.text.replace(/F([\d.]+)/, (_, f: string) => `F${Number(f) * 2}.`.replace(/(\.\d+)\.$/, "$1"))} (ALLOW station-drift: hard spot at this one)`;
      return { information: true };
    },
  },
  {
    rule: "station-wrong-face",
    name: "-90 is 270, and 360 is 0",
    styles: EXPLICIT,
    wish: { kind: "tombstone 4" },
    make(job) {
      for (const line of job.find("index"))
        line.text = line.text
          .replace(/([AB])270\.?/, "$1-90.")
          .replace(/([AB])0\.?$/, "$1360.")
          .replace(/([AB])180\.?/, "$1-180.");
      return {};
    },
  },
  {
    rule: "station-wrong-face",
    name: "the angle is held in the offset",
    styles: CALLING,
    wish: { kind: "tombstone 4", zFrom: false },
    make(job) {
      const { shop } = job;
      if (shop.rotary === undefined || job.find("g10").length > 0) return undefined;
      const machine = job.sidecar.machine as JsonObject;
      (machine.rotary as JsonObject).inOffset = true;
      delete job.sidecar.offsets;
      for (const s of shop.stands) if (Object.keys(s.trim).length > 0) return undefined;
      shop.stored = "none";
      // The offset is selected first, then the axis goes to the zero of it.
      for (const line of job.find("index")) {
        const head = job.next(line, (l) => l.tag === "offset");
        const selection = head === undefined ? undefined : job.selection(head);
        if (selection === undefined) return undefined;
        line.text = `G0 ${selection} ${shop.rotary.axis}0.`;
      }
      return {};
    },
  },
  {
    rule: "station-count",
    name: "the count is set by the operator",
    styles: ["while loop", "if loop"],
    wish: { least: 3 },
    make(job) {
      for (const line of job.find("loop")) line.text = line.text.replace(/LE \d+/, "LE #500");
      return {};
    },
  },
  {
    rule: "skip-partial",
    name: "the whole visit is skipped",
    styles: [...EXPLICIT, "ngc straight"],
    wish: { least: 3 },
    make(job) {
      const found = job.rng.maybe(job.followers());
      if (found === undefined) return undefined;
      for (const line of found.visit.lines) line.text = `/${line.text}`;
      return {};
    },
  },
];

export { Line };
