/** Faults and near misses of the clamp zone and of the ways between stations. */

import { CALLING, EXPLICIT, type Expected, type Fault, type Job, Line, type NearMiss } from "../job.js";
import type { Json, JsonObject } from "../json.js";
import { type Group, inUnits, type Stand, TOOLS, turn, zeroInStation } from "../shop.js";
import { stationsOf } from "./offsets.js";

const styles = [...CALLING, "straight", "while loop", "macro call"] as const;

/** A body (in line or in a subprogram) of a slender tool, by its first block down or its cycle. */
function body(job: Job, tools: readonly number[]): { readonly first: Line; readonly group: Group; readonly tool: number } | undefined {
  const firsts = job.lines.filter((l) => {
    if (!tools.includes(l.tool) || l.group === undefined || (l.tag !== "down" && l.tag !== "cycle")) return false;
    const before = job.previous(l);
    return before === undefined || !["up", "start"].includes(before.tag) || before.tag === "start"
      ? before?.tag !== "up" || l.tag === "cycle"
      : false;
  });
  const first = job.rng.maybe(
    firsts.filter(
      (l) =>
        l.tag === "cycle" ||
        job.previous(l, (x) => x.tag === "plunge" && x.tool === l.tool && x.stand === l.stand && x.group === l.group) === undefined,
    ),
  );
  return first?.group === undefined ? undefined : { first, group: first.group, tool: first.tool };
}

/** Puts a trip over a jaw before a body: across at the clear height, down to a height over the jaw's top, and back. */
function trip(job: Job, over: number, how: "rapid" | "cut"): Line | undefined {
  const found = body(job, [2, 3, 4, 5]);
  if (found === undefined) return undefined;
  const { first, group } = found;
  const [x, y, top] = job.jaw(group, job.rng.pick(["fixed", "moving"]));
  const clear = job.clearOf(first);
  // Back to where the body starts: its cycle or its first way down stands there.
  const start =
    job.lines.find((l) => l.tag === "start" && l.tool === first.tool && l.group?.op === group.op && !Number.isNaN(l.at[0])) ??
    job.lines.find((l) => l.tag === "offset" && l.tool === first.tool && l.group?.op === group.op && !Number.isNaN(l.at[0]));
  if (start === undefined) return undefined;
  const about = { tool: first.tool, group, ...(first.stand === undefined ? {} : { stand: first.stand }) };
  const cut = new Line(
    "plain",
    how === "rapid"
      ? `G0 ${job.word("Z", top + over)}`
      : `G1 ${job.word("Z", top + over)} ${job.numbers.units === "mm" ? "F200." : "F8.0"}`,
    about,
  );
  job.before(
    first,
    new Line("plain", `G0 ${job.word("X", x)} ${job.word("Y", y)}`, about),
    ...(how === "rapid" ? [] : [new Line("plain", `G0 ${job.word("Z", top + 5)}`, about)]),
    cut,
    new Line("plain", `G0 ${job.word("Z", clear)}`, about),
    new Line("plain", `G0 ${job.word("X", start.at[0])} ${job.word("Y", start.at[1])}`, about),
  );
  return cut;
}

/** A strap over the middle of every part, between its two holes. */
function straps(job: Job, height: number): void {
  const { shop } = job;
  const boxes: Json[] = shop.stands.map((s) => {
    const g = s.group;
    const zero = zeroInStation(g);
    const v = zero[1] + middleV(g);
    const a = turn(g.clamp, g.fixedJaw.face, v - 3);
    const b = turn(g.clamp, g.fixedJaw.face + g.stock[0], v + 3);
    const x = s.at[0] * g.base.pitch[0];
    const y = s.at[1] * g.base.pitch[1];
    const top = g.seat + g.stock[2];
    const L = (mm: number): number => inUnits(shop, mm);
    return {
      name: `strap ${s.id}`,
      base: g.base.name,
      box: {
        from: [L(x + Math.min(a[0], b[0])), L(y + Math.min(a[1], b[1])), L(top)],
        to: [L(x + Math.max(a[0], b[0])), L(y + Math.max(a[1], b[1])), L(top + height)],
      },
    };
  });
  job.sidecar.obstacles = [...((job.sidecar.obstacles as Json[] | undefined) ?? []), ...boxes];
}

/** Middle of the stock along v, from the part zero. */
function middleV(g: Group): number {
  const zero = zeroInStation(g);
  const low = g.stop === undefined ? -g.stock[1] / 2 : g.stop.side === "low" ? g.stop.at : g.stop.at - g.stock[1];
  return low + g.stock[1] / 2 - zero[1];
}

/** Leaves only the tools named; visits, changes and calls of all others go. */
function onlyTools(job: Job, keep: readonly number[]): boolean {
  const file = job.main;
  let tool = 0;
  let any = false;
  const out: Line[] = [];
  let ended = false;
  for (const line of file) {
    if (line.tag === "end") ended = true;
    if (!ended && (line.tag === "change" || (line.tag === "staged" && /M6/.test(job.next(line)?.text ?? "")))) tool = line.tool;
    if (ended || tool === 0 || keep.includes(tool)) out.push(line);
    if (!ended && keep.includes(tool)) any = true;
  }
  for (const line of out)
    if (line.tag === "staged") line.text = line.text.replace(/^T\d+$/, (t) => (keep.includes(Number(t.slice(1))) ? t : "(NEXT)"));
  file.splice(0, file.length, ...out);
  // Programs of tools that are gone are called by nobody.
  for (const sub of job.find("program", (l) => l.tool !== 0 && !keep.includes(l.tool))) {
    const lines = job.fileOf(sub);
    const i = lines.indexOf(sub);
    let end = i + 1;
    while (end < lines.length && lines[end]?.tag !== "return") end++;
    lines.splice(i, end - i + 1);
  }
  return any;
}

/** The cut of a visit moved to a neighbour's place. */
function shiftTo(job: Job, lines: readonly Line[], from: Stand, to: Stand, more: number): void {
  const by = { X: to.position[0] - from.position[0] + more, Y: to.position[1] - from.position[1] + more };
  const factor = job.numbers.units === "mm" ? 1 : 25.4;
  for (const line of lines) {
    line.text = line.text.replace(/([XY])(-?\d*\.?\d+\.?)/g, (_, axis: "X" | "Y", value: string) =>
      job.word(axis, Number(value) * factor + by[axis]),
    );
  }
}

/** Farthest distance of anything on the tombstone from its axis: an upper bound by this file's arithmetic, mm. */
function swing(job: Job): number {
  const { shop } = job;
  return Math.max(
    ...shop.bases.map((b) => {
      const across = shop.rotary?.axis === "B" ? (b.columns - 1) * b.pitch[0] : (b.rows - 1) * b.pitch[1];
      const high = Math.max(0, ...shop.groups.filter((g) => g.base === b).map((g) => g.seat + g.stock[2]));
      return Math.hypot(across / 2 + 25 + 1, b.thickness + high + 1);
    }),
  );
}

/** An index clearance within which a tool at the clear height stands whatever turns; at home it is far out of it. */
function wide(job: Job): void {
  job.sidecar.clearance = { index: inUnits(job.shop, 80) };
}

/** Blocks that index from one face to another. */
function turns(job: Job): { readonly line: Line; readonly home: Line[] }[] {
  return job.find("index").flatMap((line) => {
    const a = job.previous(line);
    const b = a === undefined ? undefined : job.previous(a);
    const home = a?.tag === "absolute" && b?.tag === "home" ? [b, a] : a?.tag === "home" ? [a] : [];
    if (home.length === 0) return [];
    const before = job.previous(home[0] as Line);
    return before?.tag === "up" || before?.tag === "call" ? [{ line, home }] : [];
  });
}

export const clampFaults: readonly Fault[] = [
  {
    rule: "clamp-rapid",
    name: "a rapid into a jaw",
    styles,
    make: (job) => at(trip(job, -3, "rapid")),
  },
  {
    rule: "clamp-rapid",
    name: "a rapid nearer to a jaw than the rapid clearance",
    styles,
    make: (job) => at(trip(job, 1.5, "rapid")),
  },
  {
    rule: "clamp-cut",
    name: "a feed into a jaw",
    styles,
    wish: { soft: false },
    make: (job) => at(trip(job, -2, "cut")),
  },
  {
    rule: "clamp-cut",
    name: "a contour too deep",
    styles,
    wish: { soft: false },
    make(job) {
      const plunge = job.rng.maybe(job.find("plunge", (l) => l.tool === 2));
      const g = plunge?.group;
      if (plunge === undefined || g === undefined) return undefined;
      plunge.text = plunge.text.replace(/Z-?[\d.]+/, job.word("Z", g.jawLow - 4));
      const cuts: Line[] = [plunge];
      for (let l = job.next(plunge); l !== undefined && (l.tag === "cut" || l.tag === "compensate"); l = job.next(l)) cuts.push(l);
      // A stop or the holder may come into it too; it is one contour.
      return { at: cuts, also: ["clamp-near"] };
    },
  },
  {
    rule: "clamp-near",
    name: "a feed that just clears a jaw",
    styles,
    wish: { soft: false },
    make: (job) => at(trip(job, 0.3, "cut")),
  },
  {
    rule: "base-drilled",
    name: "into the parallels",
    styles,
    wish: { through: false },
    make(job) {
      const line = job.rng.maybe(job.find("cycle", (l) => l.tool === 4 && l.group?.parallels === undefined));
      if (line?.group === undefined) return undefined;
      line.text = line.text.replace(/Z-?[\d.]+/, job.word("Z", line.group.seatZ - 2));
      return at(line);
    },
  },
  {
    rule: "base-drilled",
    name: "into the base",
    styles,
    wish: { through: true },
    make(job) {
      const line = job.rng.maybe(job.find("cycle", (l) => l.tool === 4 && l.group !== undefined && l.group.seat + l.group.stock[2] < 60));
      if (line?.group === undefined) return undefined;
      line.text = line.text.replace(/Z-?[\d.]+/, job.word("Z", line.group.faceZ - 1.5));
      return at(line);
    },
  },
  {
    rule: "stock-rapid",
    name: "a rapid down into uncut stock",
    styles,
    // Without tools it is not known what the ones before have cut away.
    wish: { tools: true },
    make(job) {
      const found = body(job, [5]);
      if (found === undefined) return undefined;
      found.first.text = found.first.text.replace(/Z-?[\d.]+/, job.word("Z", found.group.high[2] - 5));
      return at(found.first);
    },
  },
  {
    rule: "neighbour-cut",
    name: "cut under another station's offset",
    styles: ["straight", "ngc straight"],
    wish: { least: 3, kind: "plate", groups: 1, skew: false, tools: true },
    make(job) {
      const found = job.rng.maybe(job.followers().filter(({ visit }) => visit.tool === 4 || visit.tool === 5));
      if (found === undefined) return undefined;
      // What the neighbour has lost already can no longer be cut: a little beside it.
      shiftTo(job, found.visit.lines, found.visit.stand, found.before.stand, 5);
      return { at: found.visit.lines.filter((l) => l.tag === "plunge" || l.tag === "cycle" || l.tag === "hole") };
    },
  },
  {
    rule: "holder-reach",
    name: "too little stick-out",
    styles,
    wish: { tools: true },
    make(job) {
      const cycle = job.find("cycle", (l) => l.tool === 4);
      if (cycle.length === 0) return undefined;
      const tools = job.sidecar.tools as JsonObject;
      const tool = tools["4"] as JsonObject;
      tool.shank = { ...(tool.shank as JsonObject), L: inUnits(job.shop, 14) };
      tool.APMX = inUnits(job.shop, 12);
      return { at: cycle };
    },
  },
  {
    rule: "holder-reach",
    name: "a pocket deeper than the cutting part",
    styles,
    wish: { tools: true },
    make(job) {
      const cuts = job.find("cut", (l) => l.tool === 5 && job.previous(l)?.tag === "plunge");
      if (cuts.length === 0) return undefined;
      cuttingPart(job, 2.5);
      return { at: cuts };
    },
  },
];

/** Gives the slot mill, which goes 4 down and then to the side, a cutting part of another length. */
function cuttingPart(job: Job, mm: number): void {
  const tool = (job.sidecar.tools as JsonObject)["5"] as JsonObject;
  tool.APMX = inUnits(job.shop, mm);
}

function at(line: Line | undefined): Expected | undefined {
  return line === undefined ? undefined : { at: [line] };
}

export const betweenFaults: readonly Fault[] = [
  {
    rule: "retract-before-offset",
    name: "the last block up is missing",
    styles: ["straight", "ngc straight"],
    wish: { least: 3, groups: 1, kind: "plate" },
    make(job) {
      const found = job.rng.maybe(job.followers().filter(({ before }) => before.tool === 5));
      const up = found?.before.lines.at(-1);
      if (found === undefined || up?.tag !== "up") return undefined;
      // Out of a pocket, straight through its wall.
      job.remove(up);
      const first = found.visit.offset;
      if (!/G0/.test(first.text) && /X/.test(first.text)) first.text = `G0 ${first.text}`;
      return at(first);
    },
  },
  {
    rule: "retract-before-offset",
    name: "a subprogram that does not go up",
    styles: CALLING,
    wish: { least: 3, groups: 1, kind: "plate" },
    make(job) {
      const sub = job.find("up", (l) => l.tool === 5).at(-1);
      const second = job.followers().find(({ before }) => before.tool === 5);
      if (sub === undefined || second === undefined || job.next(sub)?.tag !== "return") return undefined;
      job.remove(sub);
      return at(second.visit.offset);
    },
  },
  {
    rule: "retract-return-level",
    name: "hole to hole through a strap",
    styles: [...CALLING, "straight"],
    wish: { tools: true, skew: false },
    make(job) {
      if (!onlyTools(job, [3, 4, 6])) return undefined;
      straps(job, 7);
      const lines = job.find("cycle");
      for (const l of lines) l.text = l.text.replace("G98", "G99");
      return { at: job.find("hole", (h) => job.previous(h)?.tag === "cycle" || job.previous(h)?.tag === "hole") };
    },
  },
  {
    rule: "approach-stale-axis",
    name: "X or Y left out after the offset",
    styles: ["straight", "ngc straight"],
    wish: { least: 3, groups: 1, kind: "plate", skew: false },
    make(job) {
      const found = job.rng.maybe(job.followers().filter(({ visit }) => visit.tool === 5));
      if (found === undefined) return undefined;
      const { visit, before } = found;
      const axis = Math.abs(visit.stand.position[0] - before.stand.position[0]) > 1 ? "X" : "Y";
      const line = visit.lines.find((l) => /X.*Y/.test(l.text));
      if (line === undefined || visit.lines.filter((l) => l.text.includes(axis) && l.tag === "start").length > 1) return undefined;
      line.text = line.text.replace(new RegExp(` ${axis}-?[\\d.]+`), "");
      return { at: [visit.offset] };
    },
  },
  {
    rule: "approach-low",
    name: "the first Z goes into the stock",
    styles: [...EXPLICIT, "ngc straight"],
    // Without tools it is not known what the ones before have cut away.
    wish: { tools: true },
    make(job) {
      const line = job.rng.maybe(job.find("length", (l) => l.tool === 5 && job.previous(l)?.tag !== "home"));
      const g = line?.group;
      if (line === undefined || g === undefined) return undefined;
      line.text = line.text.replace(/Z-?[\d.]+/, job.word("Z", g.high[2] - 8));
      return at(line);
    },
  },
  {
    rule: "approach-low",
    name: "down before X and Y",
    styles: ["subprograms", "straight", "offsets at the head"],
    wish: { groups: 1, kind: "plate", least: 2, tools: true },
    make(job) {
      const visits = job.visits();
      const head = job.rng.maybe(
        visits.filter((v, i) => v.first && i > 0 && v.stand.position[0] - (visits[i - 1]?.stand.position[0] ?? 0) !== 0),
      );
      const g = head?.stand.group;
      const line = head?.lines.find((l) => l.tag === "length");
      const from = head === undefined ? undefined : job.selection(head.offset);
      const xy = head?.lines.find((l) => /X.*Y/.test(l.text));
      if (head === undefined || g === undefined || line === undefined || from === undefined || xy === undefined || head.tool === 1)
        return undefined;
      const words = /X-?[\d.]+ Y-?[\d.]+/.exec(xy.text)?.[0] ?? "";
      xy.text = xy.text.replace(words, "").replace(/ +/g, " ").trim();
      line.text = line.text.replace(/Z-?[\d.]+/, job.word("Z", g.high[2] - 4));
      job.after(line, new Line("plain", `G0 ${words}`));
      if (xy.text === "") job.remove(xy);
      return at(line);
    },
  },
  {
    rule: "retract-before-index",
    name: "the retract is missing",
    styles: EXPLICIT,
    // A tool without a width may stand beside the sweep.
    wish: { kind: "tombstone 4", tools: true },
    make(job) {
      const found = job.rng.maybe(turns(job));
      if (found === undefined) return undefined;
      wide(job);
      job.remove(...found.home);
      return at(found.line);
    },
  },
  {
    rule: "index-combined",
    name: "rotary and linear in one rapid",
    styles: EXPLICIT,
    wish: { kind: "tombstone 2", tools: true },
    make(job) {
      const found = job.rng.maybe(turns(job));
      const head = found === undefined ? undefined : job.next(found.line, (l) => l.tag === "offset");
      if (found === undefined || head === undefined) return undefined;
      wide(job);
      job.remove(...found.home);
      found.line.text += ` ${job.word("X", 12)}`;
      return at(found.line);
    },
  },
  {
    rule: "travel-limit",
    name: "a lead-in beyond the end of X",
    styles: ["straight"],
    wish: { travel: true, kind: "plate", skew: false, obstacle: false },
    make(job) {
      const { shop } = job;
      const end = Math.min(...shop.stands.map((s) => s.position[0] + Math.min(0, s.group.low[0]))) - 12;
      const lines = job.lines.filter((l) => l.stand !== undefined && l.stand.position[0] + l.at[0] < end - 0.01);
      const first = lines[0];
      if (first === undefined || shop.stands.some((s) => s.position[0] < end)) return undefined;
      const travel = (job.sidecar.machine as JsonObject).travel as JsonObject;
      travel.X = [inUnits(shop, end), 0];
      return { at: lines };
    },
  },
  {
    rule: "travel-limit",
    name: "Z beyond the upper end",
    styles: CALLING,
    wish: { travel: true, tools: true },
    make(job) {
      const visit = job.rng.maybe(job.visits().filter((v) => v.first));
      const line = visit?.lines.find((l) => l.tag === "length");
      const tool = TOOLS.find((t) => t.t === visit?.tool);
      if (visit === undefined || line === undefined || tool === undefined) return undefined;
      line.text = line.text.replace(/Z-?[\d.]+/, job.word("Z", Math.ceil(-visit.stand.position[2] - tool.LF) + 4));
      return at(line);
    },
  },
];

export const clampNearMisses: readonly NearMiss[] = [
  { rule: "clamp-rapid", name: "above it", styles, make: (job) => (trip(job, 2.1, "rapid") === undefined ? undefined : {}) },
  {
    rule: "clamp-rapid",
    name: "the other axis order, where the control goes straight",
    styles: ["straight"],
    wish: { kind: "plate", clamp: "+X", stop: false, skew: false, soft: false, tools: true },
    make: (job) => corner(job, "straight"),
  },
  {
    rule: "clamp-cut",
    name: "a soft jaw marked machinable",
    styles,
    wish: { soft: true },
    make: (job) => (trip(job, -2, "cut") === undefined ? undefined : { information: true }),
  },
  {
    rule: "clamp-near",
    name: "outside the cut clearance",
    styles,
    wish: { soft: false },
    make: (job) => (trip(job, 0.6, "cut") === undefined ? undefined : {}),
  },
  {
    rule: "base-drilled",
    name: "no solid under the hole",
    styles,
    wish: { through: true },
    make: (job) => (job.find("cycle", (l) => l.tool === 4).length > 0 ? {} : undefined),
  },
  {
    rule: "stock-rapid",
    name: "re-entry into a pocket",
    styles,
    make: (job) =>
      job.find("down", (l) => l.tool === 5 && job.previous(l)?.tag === "start" && (l.group?.high[2] ?? 0) > l.at[2]).length > 0
        ? {}
        : undefined,
  },
  {
    rule: "neighbour-cut",
    name: "a cut shared by declaration",
    styles: ["straight"],
    wish: { least: 3, kind: "plate", groups: 1, skew: false, tools: true },
    make(job) {
      const found = job.rng.maybe(job.followers().filter(({ visit }) => visit.tool === 4));
      if (found === undefined) return undefined;
      // Both stations are drilled under one offset.
      const more = found.visit.lines.filter((l) => l.tag !== "offset" && l.tag !== "start" && l.tag !== "hole").map((l) => l.copy());
      shiftTo(job, more, found.visit.stand, found.before.stand, 5);
      const cycle = more.find((l) => l.tag === "cycle");
      if (cycle === undefined) return undefined;
      for (const l of more) if (l.tag === "cycle" || l.tag === "hole") l.text += " (ALLOW neighbour-cut: both parts are drilled from here)";
      job.after(found.visit.lines.at(-1) ?? found.visit.offset, ...more);
      return { information: true, also: ["neighbour-cut"] };
    },
  },
  {
    rule: "holder-reach",
    name: "enough stick-out",
    styles,
    wish: { tools: true },
    make: (job) => (job.find("cycle", (l) => l.tool === 4).length > 0 ? {} : undefined),
  },
  {
    rule: "holder-reach",
    name: "a pocket less deep than the cutting part",
    styles,
    wish: { tools: true },
    make(job) {
      if (job.find("cut", (l) => l.tool === 5).length === 0) return undefined;
      cuttingPart(job, 8);
      return {};
    },
  },
  {
    rule: "retract-before-offset",
    name: "a low traverse over an open channel",
    styles: ["low channel"],
    make: (job) => (job.find("cut").length > 0 ? {} : undefined),
  },
  {
    rule: "retract-return-level",
    name: "back to the initial level over the strap",
    styles: [...CALLING, "straight"],
    wish: { tools: true, skew: false },
    make(job) {
      if (!onlyTools(job, [3, 4, 6])) return undefined;
      straps(job, 7);
      for (const l of [...job.find("cycle"), ...job.find("hole")]) l.text = l.text.replace("G99", "G98");
      return {};
    },
  },
  {
    rule: "retract-return-level",
    name: "a flat fixture",
    styles: [...CALLING, "straight"],
    make(job) {
      for (const l of job.find("cycle")) l.text = l.text.replace("G98", "G99");
      return job.find("cycle").length > 0 ? {} : undefined;
    },
  },
  {
    rule: "approach-stale-axis",
    name: "the same row, the same value",
    styles: ["straight", "ngc straight"],
    wish: { least: 3, groups: 1, kind: "plate", skew: false },
    make(job) {
      // Offsets picked up at the machine differ within a row by more than the tolerance of one of them.
      if (job.shop.stored === "values" || job.shop.stands.some((x) => Object.keys(x.trim).length > 0)) return undefined;
      const all = job.followers().filter(({ visit, before }) => {
        const last = before.lines.findLast((l) => !Number.isNaN(l.at[1]));
        return (
          Math.abs(visit.stand.position[1] - before.stand.position[1]) < 1e-9 &&
          last !== undefined &&
          Math.abs(last.at[1] - (visit.lines.find((l) => !Number.isNaN(l.at[1]))?.at[1] ?? 0)) < 1e-9
        );
      });
      const found = job.rng.maybe(all);
      const line = found?.visit.lines.find((l) => /X.*Y/.test(l.text));
      if (
        found === undefined ||
        line === undefined ||
        found.visit.tool !== 5 ||
        found.visit.lines.filter((l) => l.tag === "start").length > 1
      )
        return undefined;
      line.text = line.text.replace(/ Y-?[\d.]+/, "");
      return { information: true };
    },
  },
  {
    rule: "approach-low",
    name: "straight to the R plane, nothing stands higher",
    styles: [...EXPLICIT, "ngc straight"],
    wish: { groups: 1, kind: "plate" },
    make(job) {
      const lines = job.find("length", (l) => l.tool === 3 || l.tool === 4);
      const heads = lines.filter((l) => job.previous(l, (x) => x.tag === "offset")?.stand === l.stand);
      const line = job.rng.maybe(heads);
      if (line?.group === undefined || job.visits().filter((v) => v.tool === line.tool && v.first).length !== 1) return undefined;
      line.text = line.text.replace(/Z-?[\d.]+/, job.word("Z", line.group.high[2] + 3));
      return {};
    },
  },
  {
    rule: "retract-before-index",
    name: "a computed short retract that clears",
    styles: EXPLICIT,
    wish: { kind: "tombstone 4" },
    make(job) {
      const { shop } = job;
      const list = turns(job);
      if (list.length === 0 || shop.rotary === undefined) return undefined;
      for (const { line, home } of list) {
        const before = job.previous(home[0] as Line, (l) => l.stand !== undefined)?.stand;
        if (before === undefined || job.program.numbers.units !== shop.units) return undefined;
        const z = Math.ceil(shop.rotary.centre[1] + swing(job) + 27 - before.position[2]);
        job.before(home[0] as Line, new Line("plain", `G0 ${job.word("Z", z)}`));
        job.remove(...home);
        if (!line.text.includes("G0")) return undefined;
      }
      return {};
    },
  },
  {
    rule: "index-combined",
    name: "declared simultaneous cutting",
    styles: EXPLICIT,
    wish: { kind: "tombstone 2", tools: true },
    make(job) {
      const found = job.rng.maybe(turns(job));
      if (found === undefined) return undefined;
      wide(job);
      job.remove(...found.home);
      found.line.text += ` ${job.word("X", 12)} (ALLOW index-combined: proved out, the tool stands off)`;
      return { information: true };
    },
  },
];

/** A diagonal rapid low past the corner of a jaw: clear along the straight line, not with one axis after the other. */
function corner(job: Job, path: "straight" | "either"): { also?: string[] } | undefined {
  const found = body(job, [2]);
  if (found === undefined) return undefined;
  const { first, group } = found;
  (job.sidecar.machine as JsonObject).rapidPath = path;
  const clear = job.clearOf(first);
  const zero = zeroInStation(group);
  // The fixed jaw's corner that is away from the stock and on the high side of v.
  const u = group.fixedJaw.face - group.fixedJaw.length - zero[0];
  const v = group.fixedJaw.width / 2 - zero[1];
  // Both ends stand off the corner along one axis and past it along the other; the way between runs outside the corner.
  const a = turn(group.clamp, u - 24, v - 6);
  const b = turn(group.clamp, u + 6, v + 24);
  const z = group.jawLow - 4;
  const start = job.lines.find(
    (l) => (l.tag === "start" || l.tag === "offset") && l.tool === first.tool && l.group?.op === group.op && !Number.isNaN(l.at[0]),
  );
  if (start === undefined) return undefined;
  const about = { tool: first.tool, group, ...(first.stand === undefined ? {} : { stand: first.stand }) };
  job.before(
    first,
    ...[
      `G0 ${job.word("X", a[0])} ${job.word("Y", a[1])}`,
      `G0 ${job.word("Z", z)}`,
      `G0 ${job.word("X", b[0])} ${job.word("Y", b[1])}`,
      `G0 ${job.word("Z", clear)}`,
      `G0 ${job.word("X", start.at[0])} ${job.word("Y", start.at[1])}`,
    ].map((t) => new Line("plain", t, about)),
  );
  return {};
}

export { stationsOf };
