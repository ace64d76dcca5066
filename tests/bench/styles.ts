/** Clean programs in the ways that shops write them. */
import { Line, length, type Numbers } from "./lines.js";
import { clearHeight, type Path, pathOf, type Writer, word } from "./paths.js";
import type { Random } from "./random.js";
import { contentOf, type Group, type Shop, type ShopWish, type Stand, spell, type ToolSpec, zeroInStation } from "./shop.js";

export type StyleName =
  | "subprograms"
  | "straight"
  | "part by part"
  | "one subprogram per tool"
  | "stepping subprograms"
  | "while loop"
  | "if loop"
  | "computed offset"
  | "macro call"
  | "offsets at the head"
  | "ngc straight"
  | "home between stations"
  | "low channel"
  | "local calls"
  | "restart heads"
  | "files of their own"
  | "change macro"
  | "nest shifts";

export interface Program {
  readonly style: StyleName;
  /** The main file first; every other is a program in a file of its own. */
  readonly files: readonly { readonly name: string; readonly lines: Line[] }[];
  readonly paths: readonly Path[];
  readonly numbers: Numbers;
  /** Labels or packed layouts forbid numbering. */
  readonly mayNumber: boolean;
}

/** What a style asks of the shop. */
export const STYLE_WISHES: Readonly<Record<StyleName, ShopWish>> = {
  subprograms: {},
  straight: { most: 12 },
  "part by part": { most: 12 },
  "one subprogram per tool": {},
  "stepping subprograms": {},
  "while loop": { plain: false, least: 2 },
  "if loop": { plain: false, least: 2 },
  "computed offset": { plain: true, most: 6, least: 2 },
  "macro call": {},
  "offsets at the head": {},
  "ngc straight": { dialect: "rs274ngc", most: 9, zFrom: false },
  "home between stations": {},
  "low channel": { kind: "plate", groups: 1, least: 3, most: 12, clamp: "+X", stop: false, skew: false },
  "local calls": { dialect: "g154" },
  "restart heads": {},
  "files of their own": {},
  "change macro": {},
  "nest shifts": { kind: "plate", groups: 1, least: 2, most: 6, skew: false, zFrom: false, dialect: "iso", repeat: false },
};

export const STYLES = Object.keys(STYLE_WISHES) as StyleName[];

/** Habits drawn once for a program. */
interface Habits {
  readonly head: 0 | 1 | 2 | 3;
  readonly retract: 0 | 1 | 2 | 3;
  readonly staged: boolean;
  readonly serpentine: boolean;
  readonly coolant: boolean;
  readonly pad: boolean;
  readonly p54: boolean;
  readonly restates: boolean;
}

interface Plan extends Writer {
  readonly style: StyleName;
  readonly habits: Habits;
  readonly main: Line[];
  readonly subs: { readonly number: number; readonly lines: Line[] }[];
  readonly paths: Map<string, Path>;
  next: number;
}

/** Draws a clean program for a shop. */
export function drawProgram(rng: Random, shop: Shop, style: StyleName, units: "mm" | "inch" = shop.units): Program {
  const numbers = {
    units,
    trailing: units === "inch" ? rng.pick(["point", "zero"] as const) : rng.pick(["point", "point", "zero", "bare"] as const),
    leading: rng.chance(0.8),
  };
  const habits: Habits = {
    head: rng.pick([0, 1, 2, 3] as const),
    retract: rng.pick(style === "ngc straight" ? ([2, 3] as const) : ([0, 1, 2, 3] as const)),
    staged: rng.chance(0.35),
    serpentine: rng.chance(0.25),
    coolant: rng.chance(0.6),
    pad: rng.chance(0.25),
    p54: rng.chance(0.2),
    restates: rng.chance(0.5),
  };
  const plan: Plan = { rng, shop, numbers, style, habits, main: [], subs: [], paths: new Map(), next: rng.pick([101, 1100, 2100, 8001]) };
  const tools = chooseTools(plan);
  header(plan);
  if (style === "offsets at the head" || (shop.dialect === "iso" && style !== "nest shifts" && rng.chance(0.15))) offsetBlock(plan);
  if (style === "part by part") partByPart(plan, tools);
  else if (style === "nest shifts") nests(plan, tools);
  else for (const [i, entry] of tools.entries()) section(plan, entry, tools[i + 1]?.tool, i);
  if (shop.park && rng.chance(0.6)) put(plan.main, new Line("park", `G0 G59 ${word(plan, "X", 0)} ${word(plan, "Y", 0)}`));
  put(plan.main, new Line("end", rng.pick(["M30", "M30", "M2"])));
  return finish(plan);
}

function put(lines: Line[], ...more: Line[]): void {
  lines.push(...more);
}

interface Entry {
  readonly tool: ToolSpec;
  readonly groups: readonly Group[];
}

/** Which tools run, each on the groups that need it. */
function chooseTools(plan: Plan): Entry[] {
  const { rng, shop } = plan;
  const wanted = [1, 2, 3, 4, 6, 5].filter(() => rng.chance(0.65));
  if (wanted.length < 2) wanted.splice(0, wanted.length, 1, 4);
  const kinds = [...new Map(shop.groups.map((g) => [`${g.part} ${g.op}`, g])).keys()];
  return wanted.map((t) => {
    const tool = shop.tools.find((x) => x.t === t) as ToolSpec;
    // A tool that only one op needs is usual.
    const only = kinds.length > 1 && rng.chance(0.3) ? rng.pick(kinds) : undefined;
    return { tool, groups: shop.groups.filter((g) => only === undefined || `${g.part} ${g.op}` === only) };
  });
}

function path(plan: Plan, tool: ToolSpec, group: Group): Path {
  const key = `${tool.t} ${group.part} ${group.op}`;
  let p = plan.paths.get(key);
  if (p === undefined) {
    p = pathOf(plan, tool, group);
    if (plan.style === "stepping subprograms" && tool.kind === "slot mill") p = stepping(plan, p);
    if (plan.style === "low channel" && tool.kind === "end mill") p = alongChannel(plan, p);
    plan.paths.set(key, p);
  }
  return p;
}

/** The pocket in steps: a subprogram goes a step down, along and back, in G91, and is called with a count. */
function stepping(plan: Plan, p: Path): Path {
  const { group, tool } = p;
  const about = { tool: tool.t, group };
  const number = 7000 + plan.subs.length;
  const digits = (mm: number): string => written(plan, mm);
  plan.subs.push({
    number,
    lines: [
      new Line("program", `O${number} (ONE STEP)`, { fixed: true }),
      new Line("plain", `G91 G1 Z${digits(-1.5)} ${plan.numbers.units === "mm" ? "F300." : "F12.0"}`),
      new Line("plain", `X${digits(8)} ${plan.numbers.units === "mm" ? "F900." : "F35.0"}`),
      new Line("plain", `X${digits(-8)}`),
      plan.rng.chance(0.5) ? new Line("plain", "G90") : new Line("comment", "(BACK TO G90)", { fixed: true }),
      new Line("return", "G90 M99"),
    ],
  });
  const top = group.high[2];
  const body = [
    new Line("down", `G0 ${word(plan, "Z", top + 3)}`, { ...about, at: [...p.start, top + 3] }),
    new Line("plain", `G1 ${word(plan, "Z", top)} ${plan.numbers.units === "mm" ? "F300." : "F12.0"}`, about),
    new Line("plain", `M98 P${number} L${plan.rng.int(2, 4)}`, about),
    new Line("up", `G0 ${word(plan, "Z", p.clear)}`, { ...about, at: [...p.start, p.clear] }),
  ];
  return { ...p, body };
}

/** The front side of the part, reached from the channel between two rows; the tool stays down until the row is done. */
function alongChannel(plan: Plan, p: Path): Path {
  const { group, tool } = p;
  const about = { tool: tool.t, group };
  const radius = tool.DC / 2;
  const jaw = zeroInStation(group)[1] + group.fixedJaw.width / 2;
  const channel = Math.min(group.low[1], -Math.abs(jaw), group.clamp === "+X" ? -jaw : group.low[1]) - radius - 5;
  const left = group.low[0] + radius + 2;
  const right = group.high[0] - radius - 2;
  const low = group.jawLow - 3;
  const side = group.low[1] - radius + 1.5;
  const rate = plan.numbers.units === "mm" ? "F900." : "F35.0";
  const body = [
    new Line("down", `G0 ${word(plan, "Z", low)}`, { ...about, at: [left, channel, low] }),
    new Line("cut", `G1 ${word(plan, "Y", side)} ${rate}`, { ...about, at: [left, side, low] }),
    new Line("cut", word(plan, "X", right), { ...about, at: [right, side, low] }),
    new Line("cut", word(plan, "Y", channel), { ...about, at: [right, channel, low] }),
    new Line("up", `G0 ${word(plan, "Z", p.clear)}`, { ...about, at: [right, channel, p.clear] }),
  ];
  return { ...p, start: [left, channel], body };
}

function header(plan: Plan): void {
  const { rng, shop, main, numbers, habits } = plan;
  const ngc = shop.dialect === "rs274ngc";
  if (!ngc)
    put(main, new Line("program", `O${rng.pick([1, 12, 1001, 2070, 7704])} (LEVER L-207, ${shop.stands.length} UP)`, { fixed: true }));
  else put(main, new Line("comment", "(LEVER L-207)", { fixed: true }));
  const units = numbers.units === "mm" ? "G21" : "G20";
  if (rng.chance(0.5)) put(main, new Line("units", `${units} G17 G40 G49 G80 G90`));
  else put(main, new Line("units", units), new Line("state", "G17 G40 G49 G80 G90"));
  if (shop.rotary !== undefined || habits.retract !== 3) home(plan, main);
}

/** Up to the reference point, in one of the usual ways. */
function home(plan: Plan, lines: Line[]): void {
  const { habits, numbers } = plan;
  const zero = `Z${numbers.trailing === "bare" ? "0" : "0."}`;
  if (habits.retract === 0) put(lines, new Line("home", `G91 G28 ${zero}`), new Line("absolute", "G90"));
  else if (habits.retract === 1) put(lines, new Line("home", `G28 G91 ${zero}`), new Line("absolute", "G90"));
  else put(lines, new Line("home", habits.retract === 2 ? `G53 G0 ${zero}` : `G0 G53 ${zero}`));
}

/** How a program selects the offset of a stand. */
export function selects(plan: Pick<Plan, "shop" | "habits">, stand: Stand): string {
  const { shop, habits } = plan;
  if (shop.plain) return spell(shop, stand.register);
  const n = habits.pad && stand.register < 100 ? String(stand.register).padStart(2, "0") : String(stand.register);
  if (shop.dialect === "g154") return `G154 P${n}`;
  return `${habits.p54 ? "G54" : "G54.1"} P${n}`;
}

/** The offset table as G10 blocks, as the fixture gives it. */
function offsetBlock(plan: Plan): void {
  const { shop, main, rng } = plan;
  const bare = rng.chance(0.5);
  for (const s of shop.stands) {
    const c = contentOf(shop, s);
    const where = shop.plain ? `L2 P${s.register}` : `L20 P${s.register}`;
    const line = new Line(
      "g10",
      `G10 ${where} X${written(plan, c.X)} Y${written(plan, c.Y)} Z${written(plan, c.Z)}${bare ? "" : ` (${s.id})`}`,
      {
        stand: s,
      },
    );
    put(main, line);
  }
}

function written(plan: Plan, mm: number): string {
  return length(plan.numbers, mm);
}

/** The stands of some groups in the order in which they are visited: face by face. */
function ordered(plan: Plan, groups: readonly Group[]): Stand[] {
  const { shop, habits } = plan;
  return groups.flatMap((g) => {
    const own = shop.stands.filter((s) => s.group === g);
    if (!habits.serpentine) return own;
    const rows = Array.from({ length: g.rows }, (_, r) => own.slice(r * g.columns, (r + 1) * g.columns));
    return rows.flatMap((row, r) => (r % 2 === 0 ? row : [...row].reverse()));
  });
}

/** One tool with all its visits. */
function section(plan: Plan, entry: Entry, nextTool: ToolSpec | undefined, index: number): void {
  const { style, main, shop, habits, numbers } = plan;
  const { tool } = entry;
  if (style === "one subprogram per tool") {
    const lines: Line[] = [];
    const number = sub(plan, lines);
    put(main, ...change(plan, tool, index));
    if (habits.staged && nextTool !== undefined) put(main, new Line("staged", `T${nextTool.t}`));
    put(main, new Line("call", `M98 P${number}`, { tool: tool.t }));
    visits(plan, lines, entry);
    put(lines, new Line("return", "M99"));
  } else {
    put(main, ...change(plan, tool, index));
    if (habits.staged && nextTool !== undefined) put(main, new Line("staged", `T${nextTool.t}`));
    visits(plan, main, entry);
  }
  if (habits.coolant) put(main, new Line("plain", "M9"));
  home(plan, main);
  if (numbers.units === "mm" && shop.dialect === "iso" && plan.rng.chance(0.3)) put(main, new Line("plain", "M5"));
  if (plan.rng.chance(0.2)) put(main, new Line("plain", "M1"));
}

function change(plan: Plan, tool: ToolSpec, index: number): Line[] {
  const { style, rng } = plan;
  const label = style === "restart heads" ? `N${(index + 1) * 100} ` : "";
  const about = { tool: tool.t, fixed: label !== "" };
  if (style === "change macro") {
    const held = plan.subs.find((s) => s.number === 9000);
    if (held === undefined) {
      plan.subs.push({
        number: 9000,
        lines: [
          new Line("program", "O9000 (TOOL CHANGE)", { fixed: true }),
          new Line("plain", "M9"),
          new Line("plain", "G91 G28 Z0."),
          new Line("plain", "G90 G17 G40 G80"),
          new Line("change", "T#20 M6", { tool: tool.t }),
          new Line("return", "M99"),
        ],
      });
    }
    return [new Line("call", `G65 P9000 T${tool.t} (${tool.name.toUpperCase()})`, about)];
  }
  const name = rng.chance(0.5) ? ` (${tool.name.toUpperCase()})` : "";
  if (rng.chance(0.15)) return [new Line("staged", `${label}T${tool.t}`, about), new Line("change", "M6", { tool: tool.t })];
  return [new Line("change", `${label}T${tool.t} M6${name}`, about)];
}

/** State line, offset, approach with length compensation, for the first stand of a tool or of a face. */
function head(plan: Plan, lines: Line[], p: Path, stand: Stand, again: boolean): void {
  const { habits, rng } = plan;
  // RS274/NGC has G80 and G0 in one modal group.
  const g80 = plan.shop.dialect === "rs274ngc" ? "" : " G80";
  const t = p.tool.t;
  const about = { tool: t, stand, group: stand.group };
  const at = { ...about, at: [p.start[0], p.start[1], Number.NaN] as const };
  const xy = `${word(plan, "X", p.start[0])} ${word(plan, "Y", p.start[1])}`;
  const offset = selects(plan, stand);
  const z = word(plan, "Z", p.clear);
  const speed = `S${p.speed} M3`;
  const length43 = new Line("length", `G43 H${t} ${z}${habits.coolant ? " M8" : ""}`, { ...about, at: [p.start[0], p.start[1], p.clear] });
  const separate = !plan.shop.plain && plan.shop.dialect === "g154";
  if (again) {
    put(lines, new Line("offset", `G90 G0 ${offset} ${xy}`, at), length43);
    return;
  }
  if (separate || habits.head === 0) {
    put(
      lines,
      new Line("state", "G90 G17 G40 G80", { tool: t }),
      new Line("speed", speed, { tool: t }),
      new Line("offset", `G0 ${offset} ${xy}`, at),
      length43,
    );
  } else if (habits.head === 1) {
    put(
      lines,
      ...(g80 === "" ? [new Line("plain", "G80")] : []),
      new Line("offset", `G0 G17 G40${g80} G90 ${offset} ${xy} ${speed}`, at),
      length43,
    );
  } else if (habits.head === 2) {
    put(
      lines,
      ...(g80 === "" ? [new Line("plain", "G80")] : []),
      new Line("state", `${g80 === "" ? "" : "G0 "}G90 G17 G40${g80}`, { tool: t }),
      new Line("offset", offset, about),
      new Line("start", `${g80 === "" ? "G0 " : ""}${xy} ${speed}`, at),
      length43,
    );
  } else {
    put(
      lines,
      new Line("state", "G17 G40 G49 G80", { tool: t }),
      new Line("offset", `G90 ${offset} G0 ${xy}`, at),
      new Line("speed", speed, { tool: t }),
    );
    put(lines, new Line("length", `G43 ${z} H${t}`, { ...about, at: [p.start[0], p.start[1], p.clear] }));
    if (rng.chance(0.3)) put(lines, new Line("plain", "M8"));
  }
}

/** All visits of a tool. */
function visits(plan: Plan, lines: Line[], entry: Entry): void {
  const { style, shop, habits } = plan;
  const { tool } = entry;
  let face: number | undefined;
  const done = new Set<Group>();
  const stands = ordered(plan, entry.groups);
  stands.forEach((stand, i) => {
    const p = path(plan, tool, stand.group);
    const about = { tool: tool.t, stand, group: stand.group };
    const turned = shop.rotary !== undefined && stand.group.base.face !== face;
    const first = i === 0;
    if (turned) {
      if (!first) home(plan, lines);
      put(lines, new Line("index", `G0 ${shop.rotary?.axis}${angle(plan, stand.group.base.face)}`, about));
      face = stand.group.base.face;
    }
    const looped = style === "while loop" || style === "if loop" || style === "computed offset";
    if (looped) {
      if (done.has(stand.group)) return;
      done.add(stand.group);
      const own = stands.filter((s) => s.group === stand.group).sort((a, b) => a.register - b.register);
      const start = own[0] as Stand;
      if (first || turned) head(plan, lines, p, start, !first);
      loop(plan, lines, p, own);
      return;
    }
    if (first || turned) {
      head(plan, lines, p, stand, !first);
      if (style === "macro call") put(lines, macroCall(plan, p, stand));
      else cut(plan, lines, p, stand, stands[i + 1]);
      return;
    }
    if (style === "macro call") {
      put(lines, macroCall(plan, p, stand));
      return;
    }
    if (style === "home between stations") {
      home(plan, lines);
      head(plan, lines, p, stand, true);
      cut(plan, lines, p, stand);
      return;
    }
    const xy = `${word(plan, "X", p.start[0])} ${word(plan, "Y", p.start[1])}`;
    const at = { ...about, at: [p.start[0], p.start[1], p.clear] as const };
    const calls = style !== "straight" && style !== "part by part" && style !== "ngc straight" && style !== "low channel";
    if (calls && habits.restates) put(lines, new Line("offset", selects(plan, stand), about));
    else if (shop.dialect !== "g154" && plan.rng.chance(0.5)) put(lines, new Line("offset", `G0 ${selects(plan, stand)} ${xy}`, at));
    else put(lines, new Line("offset", selects(plan, stand), about), new Line("start", `G0 ${xy}`, at));
    const before = stands[i - 1];
    // Another group has another clear height; the first move of its path goes there.
    if (before !== undefined && before.group !== stand.group && !(calls && habits.restates))
      put(lines, new Line("plain", `G0 ${word(plan, "Z", p.clear)}`, at));
    cut(plan, lines, p, stand, stands[i + 1]);
  });
}

function angle(plan: Plan, degrees: number): string {
  return plan.numbers.trailing === "bare" ? String(degrees) : `${degrees}.`;
}

/** The cut at one stand: in line, or as a call. */
function cut(plan: Plan, lines: Line[], p: Path, stand: Stand, next?: Stand): void {
  const { style } = plan;
  const about = { tool: p.tool.t, stand, group: stand.group };
  if (
    style === "straight" ||
    style === "part by part" ||
    style === "ngc straight" ||
    style === "low channel" ||
    style === "home between stations"
  ) {
    // Along an open channel the tool stays down up to the last part of the row.
    const stays = style === "low channel" && p.tool.kind === "end mill" && next !== undefined && next.at[1] === stand.at[1];
    const body = stays ? p.body.slice(0, -1) : p.body;
    put(lines, ...body.map((l) => Object.assign(l.copy(), { stand })));
    return;
  }
  const number = cutter(plan, p);
  put(lines, new Line("call", plan.shop.dialect === "g154" && style === "local calls" ? `M97 P${number}` : `M98 P${number}`, about));
}

/** Program number (or label) that holds a path. */
function cutter(plan: Plan, p: Path): number {
  const key = (l: { readonly lines: readonly Line[]; readonly number: number }): boolean => l.lines.some((x) => x === p.body[0]);
  const held = plan.subs.find(key);
  if (held !== undefined) return held.number;
  const lines: Line[] = [];
  const number = sub(plan, lines, p);
  const xy = `${word(plan, "X", p.start[0])} ${word(plan, "Y", p.start[1])}`;
  put(lines, new Line("start", `G90 G0 ${xy}`, { tool: p.tool.t, group: p.group, at: [p.start[0], p.start[1], p.clear] }));
  put(lines, ...p.body, new Line("return", "M99", { tool: p.tool.t, group: p.group }));
  return number;
}

/** Opens a subprogram, and gives its number. */
function sub(plan: Plan, lines: Line[], p?: Path): number {
  const number = plan.next;
  plan.next += plan.rng.pick([1, 1, 10]);
  const local = plan.style === "local calls";
  const about = { fixed: true, ...(p === undefined ? {} : { tool: p.tool.t, group: p.group }) };
  const title = p === undefined ? "" : ` (${p.group.op.toUpperCase()} ${p.tool.name.toUpperCase()})`;
  put(lines, new Line("program", local ? `N${number}${title}` : `O${number}${title}`, about));
  plan.subs.push({ number, lines });
  return number;
}

/** A macro that gets the register as its argument. */
function macroCall(plan: Plan, p: Path, stand: Stand): Line {
  const key = p.body[0];
  let held = plan.subs.find((s) => s.lines.some((x) => x === key));
  if (held === undefined) {
    const lines: Line[] = [];
    const number = sub(plan, lines, p);
    const xy = `${word(plan, "X", p.start[0])} ${word(plan, "Y", p.start[1])}`;
    const code = plan.shop.plain ? "G#1" : plan.shop.dialect === "g154" ? "G154 P#1" : "G54.1 P#1";
    put(
      lines,
      new Line("offset", `G90 G0 ${code}`, { tool: p.tool.t, group: p.group }),
      new Line("start", xy, { tool: p.tool.t, group: p.group }),
    );
    put(lines, new Line("plain", word(plan, "Z", p.clear)), ...p.body, new Line("return", "M99", { tool: p.tool.t, group: p.group }));
    held = { number, lines };
  }
  const value = plan.shop.plain ? 53 + stand.register : stand.register;
  const argument = `A${value}${plan.numbers.trailing === "bare" ? "" : "."}`;
  return new Line("call", `G65 P${held.number} ${argument}`, { tool: p.tool.t, stand, group: stand.group });
}

/** A loop over the registers of a group. */
function loop(plan: Plan, lines: Line[], p: Path, own: readonly Stand[]): void {
  const { style } = plan;
  const about = { tool: p.tool.t, group: p.group };
  const offset = plan.shop.plain ? 53 : 0;
  const from = (own[0]?.register ?? 1) + offset;
  const to = (own.at(-1)?.register ?? 1) + offset;
  const code = plan.shop.plain ? "G#100" : plan.shop.dialect === "g154" ? "G154 P#100" : "G54.1 P#100";
  const xy = `${word(plan, "X", p.start[0])} ${word(plan, "Y", p.start[1])}`;
  const number = cutter(plan, p);
  const body = [
    new Line("offset", `G90 G0 ${code} ${xy}`, about),
    new Line("plain", word(plan, "Z", p.clear), about),
    new Line("call", `M98 P${number}`, about),
  ];
  const step = new Line("plain", "#100=#100+1", about);
  put(lines, new Line("plain", `#100=${from}`, about));
  if (style === "if loop") {
    const label = plan.next + 5000 + lines.length;
    const first = body[0] as Line;
    first.text = `N${label} ${first.text}`;
    put(lines, ...body, step, new Line("loop", `IF [#100 LE ${to}] GOTO ${label}`, about));
  } else put(lines, new Line("loop", `WHILE [#100 LE ${to}] DO1`, about), ...body, step, new Line("plain", "END1", about));
}

/** All tools at one station, then the next station. */
function partByPart(plan: Plan, tools: readonly Entry[]): void {
  const { shop, main, habits } = plan;
  let face: number | undefined;
  for (const stand of ordered(plan, shop.groups)) {
    for (const { tool, groups } of tools) {
      if (!groups.includes(stand.group)) continue;
      put(main, ...change(plan, tool, 0));
      if (shop.rotary !== undefined && face !== stand.group.base.face) {
        face = stand.group.base.face;
        put(main, new Line("index", `G0 ${shop.rotary.axis}${angle(plan, face)}`, { tool: tool.t, stand }));
      }
      const p = path(plan, tool, stand.group);
      head(plan, main, p, stand, false);
      cut(plan, main, p, stand);
      if (habits.coolant) put(main, new Line("plain", "M9"));
      home(plan, main);
    }
  }
}

/** One register for all nests; G52 goes from one to the next, and each can be skipped. */
function nests(plan: Plan, tools: readonly Entry[]): void {
  const { shop, main, rng } = plan;
  const slash = rng.chance(0.3) ? "/" : "";
  const first = shop.stands[0] as Stand;
  for (const s of shop.sidecar.stations as { offset: string; sharesOffset: boolean }[]) {
    s.offset = spell(shop, 1);
    s.sharesOffset = true;
  }
  tools.forEach(({ tool }, i) => {
    const p = path(plan, tool, first.group);
    put(main, ...change(plan, tool, i));
    head(plan, main, p, first, false);
    const number = cutter(plan, p);
    shop.stands.forEach((stand, k) => {
      const about = { tool: tool.t, stand, group: stand.group };
      const skip = k > 0 ? slash : "";
      const dx = stand.position[0] - first.position[0];
      const dy = stand.position[1] - first.position[1];
      if (k > 0) put(main, new Line("plain", `${skip}G52 ${word(plan, "X", dx)} ${word(plan, "Y", dy)}`, about));
      put(main, new Line("call", `${skip}M98 P${number}`, about));
    });
    put(main, new Line("plain", "G52 X0 Y0"));
    home(plan, main);
  });
}

function finish(plan: Plan): Program {
  const { style, main, subs } = plan;
  const files: { name: string; lines: Line[] }[] = [{ name: "part.nc", lines: main }];
  if (style === "files of their own") for (const s of subs) files.push({ name: `O${s.number}.nc`, lines: s.lines });
  else for (const s of subs) main.push(...s.lines);
  const mayNumber = style !== "if loop" && style !== "local calls" && style !== "restart heads";
  return { style, files, paths: [...plan.paths.values()], numbers: plan.numbers, mayNumber };
}

/** The clear height is asked for by faults too. */
export { clearHeight };
