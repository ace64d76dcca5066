/**
 * The shop floor of the bench: fixtures drawn at random, with every position worked out here, from the format page and by
 * this file's own arithmetic. Nothing of the engine is imported, so that what the bench expects does not rest on what it tests.
 * Lengths are millimetres, angles degrees; the sidecar is written in the shop's own units.
 */
import type { Json, JsonObject } from "./json.js";
import type { Random } from "./random.js";

export type Clamp = "+X" | "+Y" | "-X" | "-Y";
export type Xyz = readonly [number, number, number];
export type Dialect = "iso" | "rs274ngc" | "g154";

export interface BaseSpec {
  readonly name: string;
  readonly pitch: readonly [number, number];
  readonly columns: number;
  readonly rows: number;
  readonly zero: Xyz;
  readonly skew: number;
  readonly face: number;
  readonly thickness: number;
  readonly border: number;
}

export interface ToolSpec {
  readonly t: number;
  readonly name: string;
  readonly kind: "face mill" | "end mill" | "spot drill" | "drill" | "slot mill" | "tap";
  readonly DC: number;
  readonly APMX: number;
  readonly LF: number;
  readonly SIG?: number;
  readonly shank: { readonly D: number; readonly L: number };
  readonly holder: readonly { readonly D: number; readonly L: number }[];
}

/** Stations that hold the same part for the same op, clamped the same way. */
export interface Group {
  readonly index: number;
  readonly part: string;
  readonly op: string;
  readonly base: BaseSpec;
  readonly clamp: Clamp;
  readonly stock: Xyz;
  readonly tolerance: number;
  readonly zero: { readonly u: string | number; readonly v: string | number; readonly w: string | number };
  readonly seat: number;
  readonly parallels: readonly (readonly [number, number])[] | undefined;
  readonly fixedJaw: {
    readonly name: string;
    readonly face: number;
    readonly length: number;
    readonly width: number;
    readonly height: number;
  };
  readonly movingJaw: { readonly name: string; readonly length: number; readonly width: number; readonly height: number };
  readonly notch: number;
  readonly stop: { readonly side: "low" | "high"; readonly at: number } | undefined;
  /** Grid position of the first station, how many, and how far apart. */
  readonly at: readonly [number, number];
  readonly columns: number;
  readonly rows: number;
  readonly step: readonly [number, number];
  /** Stock in the part's own axes (machine directions, from the part zero): low and high corner. */
  readonly low: Xyz;
  readonly high: Xyz;
  /** Half of the part that lies between the jaws, along the clamping direction: the open channel for through holes. */
  readonly alongX: boolean;
  /** Height of the higher jaw above (below, when negative) the part zero. */
  readonly jawTop: number;
  readonly jawLow: number;
  /** Height of the seat and of the base's face from the part zero. */
  readonly seatZ: number;
  readonly faceZ: number;
  readonly asRepeat: boolean;
  readonly prefix: string;
}

export interface Stand {
  readonly id: string;
  readonly group: Group;
  readonly at: readonly [number, number];
  /** Running number of the register in the series, from 1. */
  readonly register: number;
  /** Machine position of the part zero with its base presented, without trim. */
  readonly position: Xyz;
  trim: { X?: number; Y?: number; Z?: number };
  /** Entry of `stations` in the sidecar. */
  entry: number;
}

export interface ShopWish {
  readonly kind?: "plate" | "two plates" | "tombstone 2" | "tombstone 4";
  readonly units?: "mm" | "inch";
  readonly dialect?: Dialect;
  readonly most?: number;
  readonly least?: number;
  readonly groups?: number;
  readonly clamp?: Clamp;
  readonly stop?: boolean;
  readonly tools?: boolean;
  readonly travel?: boolean;
  readonly skew?: boolean;
  readonly through?: boolean;
  readonly zFrom?: boolean;
  readonly plain?: boolean;
  readonly axis?: "A" | "B";
  readonly sense?: 1 | -1;
  readonly rowsOnly?: boolean;
  readonly obstacle?: boolean;
  readonly soft?: boolean;
  /** false: every station is an entry of its own. */
  readonly repeat?: boolean;
}

export interface Shop {
  readonly units: "mm" | "inch";
  readonly dialect: Dialect;
  readonly kind: string;
  readonly rotary: { readonly axis: "A" | "B"; readonly sense: 1 | -1; readonly centre: readonly [number, number] } | undefined;
  readonly bases: readonly BaseSpec[];
  readonly groups: readonly Group[];
  readonly stands: readonly Stand[];
  readonly tools: readonly ToolSpec[];
  readonly hasTools: boolean;
  readonly hasTravel: boolean;
  readonly travel: { readonly X: readonly [number, number]; readonly Y: readonly [number, number]; readonly Z: readonly [number, number] };
  readonly through: boolean;
  readonly skewed: boolean;
  /** Offsets are G54 … G59 (and G59.1 … in rs274ngc), not the additional ones. */
  readonly plain: boolean;
  /** How the sidecar spells the additional ones. */
  readonly code: string;
  zFrom: "machine" | { base: string } | { station: string };
  commonShift: { X: number; Y: number; Z: number };
  park: boolean;
  soft: boolean;
  stored: "none" | "values" | "file";
  /** Machine height that is clear of everything by 10 mm at least. */
  readonly clear: number;
  /** The sidecar; faults change it before it is printed. */
  readonly sidecar: JsonObject;
}

const round = (value: number, digits: number): number => Number(value.toFixed(digits));

export const TOOLS: readonly ToolSpec[] = [
  { t: 1, name: "face mill 50", kind: "face mill", DC: 50, APMX: 6, LF: 95, shank: { D: 48, L: 45 }, holder: [{ D: 63, L: 40 }] },
  {
    t: 2,
    name: "end mill 16",
    kind: "end mill",
    DC: 16,
    APMX: 32,
    LF: 125,
    shank: { D: 16, L: 50 },
    holder: [
      { D: 40, L: 40 },
      { D: 63, L: 30 },
    ],
  },
  {
    t: 3,
    name: "spot drill 10",
    kind: "spot drill",
    DC: 10,
    APMX: 12,
    LF: 110,
    SIG: 90,
    shank: { D: 10, L: 45 },
    holder: [{ D: 32, L: 40 }],
  },
  { t: 4, name: "drill 6.8", kind: "drill", DC: 6.8, APMX: 50, LF: 140, SIG: 140, shank: { D: 6.8, L: 65 }, holder: [{ D: 32, L: 45 }] },
  { t: 5, name: "end mill 10", kind: "slot mill", DC: 10, APMX: 22, LF: 115, shank: { D: 10, L: 42 }, holder: [{ D: 32, L: 45 }] },
  { t: 6, name: "tap M8", kind: "tap", DC: 8, APMX: 25, LF: 130, shank: { D: 8, L: 55 }, holder: [{ D: 40, L: 45 }] },
];

/** Turns station directions into base directions. */
export function turn(clamp: Clamp, u: number, v: number): readonly [number, number] {
  if (clamp === "+X") return [u, v];
  if (clamp === "+Y") return [-v, u];
  if (clamp === "-X") return [-u, -v];
  return [v, -u];
}

function zeroOf(kind: string | number, low: number, size: number): number {
  if (typeof kind === "number") return low + kind;
  if (kind === "centre") return low + size / 2;
  return kind === "movingJaw" || kind === "high" || kind === "top" ? low + size : low;
}

/** Low edge of the stock along v. */
function lowV(group: Pick<Group, "stop" | "stock">): number {
  if (group.stop === undefined) return -group.stock[1] / 2;
  return group.stop.side === "low" ? group.stop.at : group.stop.at - group.stock[1];
}

/** Part zero in the station frame. */
export function zeroInStation(group: Pick<Group, "stop" | "stock" | "zero" | "fixedJaw" | "seat">): Xyz {
  return [
    zeroOf(group.zero.u, group.fixedJaw.face, group.stock[0]),
    zeroOf(group.zero.v, lowV(group), group.stock[1]),
    zeroOf(group.zero.w, group.seat, group.stock[2]),
  ];
}

/** Machine position of a point given in the frame of a base. */
export function toMachine(base: BaseSpec, x: number, y: number, z: number): Xyz {
  const a = (base.skew * Math.PI) / 180;
  return [base.zero[0] + x * Math.cos(a) - y * Math.sin(a), base.zero[1] + x * Math.sin(a) + y * Math.cos(a), base.zero[2] + z];
}

/** Machine position of a group's part zero at a grid intersection. */
export function positionAt(group: Group, at: readonly [number, number]): Xyz {
  const zero = zeroInStation(group);
  const [x, y] = turn(group.clamp, zero[0], zero[1]);
  return toMachine(group.base, at[0] * group.base.pitch[0] + x, at[1] * group.base.pitch[1] + y, zero[2]);
}

const STROKE = 8;
const GAP = 20;
const INCREMENT = 3;
const LOADING = 1;
const RESERVE = 1;

/** Notches that clamp a size with at least 0.05 mm to spare, by the rule of the format page. */
export function notchesFor(size: number, tolerance: number): number[] {
  const out: number[] = [];
  for (let k = 0; k < 40; k++) {
    const t = GAP + k * INCREMENT - size;
    if (t - tolerance >= LOADING + 0.05 && t + tolerance <= STROKE - RESERVE - 0.05) out.push(k);
  }
  return out;
}

/** Draws a shop. */
export function drawShop(rng: Random, wish: ShopWish = {}): Shop {
  const units = wish.units ?? (rng.chance(0.25) ? "inch" : "mm");
  const dialect = wish.dialect ?? "iso";
  const kind = wish.kind ?? rng.pick(["plate", "plate", "two plates", "tombstone 2", "tombstone 4"] as const);
  const tombstone = kind === "tombstone 2" || kind === "tombstone 4";
  const faces = kind === "tombstone 2" ? [0, 180] : kind === "tombstone 4" ? [0, 90, 180, 270] : kind === "two plates" ? [0, 0] : [0];
  const axis = wish.axis ?? rng.pick(["A", "B"] as const);
  const groupCount = tombstone || kind === "two plates" ? faces.length : (wish.groups ?? rng.pick([1, 1, 2]));
  const drawn = wish.most ?? rng.pick([1, 4, 6, 12, 24, 48]);
  const least = wish.least ?? 1;
  const most = Math.max(drawn, least);
  const total = Math.max(least, groupCount, rng.int(least, most));
  const through = wish.through ?? rng.chance(0.5);
  const skewed = wish.skew ?? (!tombstone && rng.chance(0.25));
  const soft = wish.soft ?? rng.chance(0.2);

  // Two ops where there are two groups or more; both are of one part, or each face holds its own.
  const twoOps = groupCount > 1 && rng.chance(0.7);
  const wKind = rng.pick(["top", "seat", "less"] as const);
  const drafts = Array.from({ length: groupCount }, (_, i) => drawGroup(rng, wish, i, twoOps, groupCount, wKind, through));
  // Groups of the same part and op are siblings: they are the same but for the place, and clamped the same way.
  const kinds = new Map<string, (typeof drafts)[number]>();
  const groups0 = drafts.map((d) => {
    const key = `${d.part} ${d.op}`;
    const held = kinds.get(key);
    if (held === undefined) {
      kinds.set(key, d);
      return d;
    }
    return { ...held, prefix: d.prefix, index: d.index };
  });

  const perGroup = groups0.map((_, i) => Math.max(1, Math.floor(total / groupCount) + (i < total % groupCount ? 1 : 0)));
  const pitchOf = (): readonly [number, number] =>
    rng.chance(0.2) ? [50, 60] : ([50, 50, 40, 60].map((p) => [p, p] as const)[rng.int(0, 3)] ?? [50, 50]);
  const pitch0 = pitchOf();
  const blocks = groups0.map((g, i) => blockOf(rng, g, perGroup[i] ?? 1, pitch0, wish.rowsOnly === true));

  const bases: BaseSpec[] = [];
  const placed: { base: number; at: readonly [number, number] }[] = [];
  if (tombstone) {
    const columns = Math.max(...blocks.map((b) => b.size[0]));
    const rows = Math.max(...blocks.map((b) => b.size[1]));
    const width = (columns - 1) * pitch0[0] + 50;
    const height = (rows - 1) * pitch0[1] + 50;
    // The block is as thick as it is wide across the axis, so that its faces meet at the edges.
    const half = (axis === "B" ? width : height) / 2;
    const centreAcross = -(half + 250);
    // High enough over the corners of the block that every tool may stand at its reference point while it turns.
    const centreZ = -Math.ceil(1.5 * half + 420);
    faces.forEach((face, i) => {
      const jitter = (): number => round(rng.int(-20, 20) / 1000, 3);
      const across = centreAcross - half + 25;
      const other = -(axis === "B" ? height : width) - 200;
      bases.push({
        name: `face ${face}`,
        pitch: pitch0,
        columns,
        rows,
        zero:
          axis === "B"
            ? [across + jitter(), other + jitter(), centreZ + half + jitter()]
            : [other + jitter(), across + jitter(), centreZ + half + jitter()],
        skew: 0,
        face,
        thickness: half,
        border: 25,
      });
      placed.push({ base: i, at: blocks[i]?.first ?? [0, 0] });
    });
  } else {
    let x = 0;
    const plates = kind === "two plates" ? groups0.map((_, i) => [i]) : [groups0.map((_, i) => i)];
    const sizes = plates.map((members) => ({
      columns: Math.max(...members.map((m) => blocks[m]?.size[0] ?? 1)),
      rows: members.reduce((sum, m) => sum + (blocks[m]?.size[1] ?? 1), 0),
    }));
    const totalWidth = sizes.reduce((sum, s) => sum + (s.columns - 1) * pitch0[0] + 200, 0);
    const z = -450 - rng.int(0, 20);
    plates.forEach((members, p) => {
      const size = sizes[p] ?? { columns: 1, rows: 1 };
      const skew = skewed ? round(rng.int(-9, 9) / 100, 2) : 0;
      bases.push({
        name: plates.length === 1 ? "plate" : `plate ${p + 1}`,
        pitch: pitch0,
        columns: size.columns,
        rows: size.rows,
        zero: [
          -(totalWidth + 200) + x,
          -((Math.max(...sizes.map((s) => s.rows)) - 1) * pitch0[1] + 260),
          z - (p === 0 ? 0 : rng.int(-4, 4)),
        ],
        skew,
        face: 0,
        thickness: 40,
        border: 25,
      });
      x += (size.columns - 1) * pitch0[0] + 200;
      let y = 0;
      for (const m of members) {
        const block = blocks[m];
        if (block === undefined) continue;
        placed[m] = { base: p, at: [block.first[0], block.first[1] + y] };
        y += block.size[1];
      }
    });
  }

  let counted = 0;
  const groups: Group[] = groups0.map((g, i) => {
    const block = blocks[i] ?? { columns: 1, rows: 1, step: [1, 1] as const };
    const place = placed[i] ?? { base: 0, at: [0, 0] as const };
    const base = bases[place.base] as BaseSpec;
    const zero = zeroInStation(g);
    const v0 = lowV(g);
    const a = turn(g.clamp, g.fixedJaw.face - zero[0], v0 - zero[1]);
    const b = turn(g.clamp, g.fixedJaw.face + g.stock[0] - zero[0], v0 + g.stock[1] - zero[1]);
    counted += block.columns * block.rows;
    return {
      ...g,
      // A series does not run on past G59.
      asRepeat: g.asRepeat && (dialect !== "rs274ngc" || counted <= 6),
      base,
      at: place.at,
      columns: block.columns,
      rows: block.rows,
      step: block.step,
      low: [Math.min(a[0], b[0]), Math.min(a[1], b[1]), g.seat - zero[2]],
      high: [Math.max(a[0], b[0]), Math.max(a[1], b[1]), g.seat + g.stock[2] - zero[2]],
      alongX: g.clamp === "+X" || g.clamp === "-X",
      jawTop: Math.max(g.fixedJaw.height, g.movingJaw.height) - zero[2],
      jawLow: Math.min(g.fixedJaw.height, g.movingJaw.height) - zero[2],
      seatZ: g.seat - zero[2],
      faceZ: -zero[2],
    };
  });
  const stands: Stand[] = [];
  let entry = 0;
  for (const group of groups) {
    let n = 0;
    for (let row = 0; row < group.rows; row++) {
      for (let column = 0; column < group.columns; column++) {
        n++;
        const at = [group.at[0] + column * group.step[0], group.at[1] + row * group.step[1]] as const;
        stands.push({
          id: `${group.prefix}${n}`,
          group,
          at,
          register: stands.length + 1,
          position: positionAt(group, at),
          trim: {},
          entry: group.asRepeat ? entry : entry + n - 1,
        });
      }
    }
    entry += group.asRepeat ? 1 : n;
  }
  const plainMost = dialect === "rs274ngc" ? 9 : 6;
  const plain = dialect === "rs274ngc" || (stands.length <= plainMost && (wish.plain ?? rng.chance(0.6)));
  const clear = Math.max(...stands.map((s) => s.position[2] + s.group.high[2])) + 12;
  const low = (k: 0 | 1): number => Math.min(...stands.map((s) => s.position[k] + s.group.low[k])) - 140;
  const travel = {
    X: [Math.floor(low(0) / 10) * 10, 0],
    Y: [Math.floor(low(1) / 10) * 10, 0],
    Z: [Math.min(-560, Math.floor(Math.min(...bases.map((b) => b.zero[2])) / 10) * 10), 0],
  } as const;
  const shop: Shop = {
    units,
    dialect,
    kind,
    rotary: tombstone
      ? {
          axis,
          sense: wish.sense ?? rng.pick([1, -1] as const),
          centre: axis === "B" ? [centreOf(bases, 0), centreZOf(bases)] : [centreOf(bases, 1), centreZOf(bases)],
        }
      : undefined,
    bases,
    groups,
    stands,
    tools: TOOLS,
    hasTools: wish.tools ?? rng.chance(0.85),
    hasTravel: wish.travel ?? rng.chance(0.8),
    travel,
    through,
    skewed,
    plain,
    code: plain ? "" : dialect === "g154" ? "G154 P" : rng.pick(["G54.1 P", "G54.1 P", "G54 P"]),
    zFrom: "machine",
    commonShift: { X: 0, Y: 0, Z: 0 },
    park: rng.chance(0.3) && stands.length < 6 && dialect !== "rs274ngc",
    soft,
    stored: "none",
    clear,
    sidecar: {},
  };
  if (wish.zFrom ?? rng.chance(0.25)) {
    shop.zFrom = rng.chance(0.5) ? { base: bases[0]?.name ?? "" } : { station: stands[0]?.id ?? "" };
    if (rng.chance(0.5)) shop.commonShift = { X: 0, Y: 0, Z: rng.pick([0, 25, -40]) };
  }
  Object.assign(shop.sidecar, writeSidecar(rng, shop, wish));
  return shop;
}

function centreOf(bases: readonly BaseSpec[], k: 0 | 1): number {
  const base = bases[0] as BaseSpec;
  const count = k === 0 ? base.columns : base.rows;
  return Math.round((base.zero[k] + ((count - 1) * base.pitch[k]) / 2) * 10) / 10;
}

function centreZOf(bases: readonly BaseSpec[]): number {
  const base = bases[0] as BaseSpec;
  return Math.round((base.zero[2] - base.thickness) * 10) / 10;
}

type Draft = Omit<Group, "base" | "at" | "columns" | "rows" | "step" | "low" | "high" | "alongX" | "jawTop" | "jawLow" | "seatZ" | "faceZ">;

function drawGroup(
  rng: Random,
  wish: ShopWish,
  index: number,
  twoOps: boolean,
  count: number,
  wKind: "top" | "seat" | "less",
  through: boolean,
): Draft {
  const u = rng.pick([34, 36, 40, 41, 44, 48]);
  const v = rng.pick([46, 50, 56, 60]);
  const w = rng.int(26, 40);
  const tolerance = rng.pick([0, 0.1, 0.3]);
  const seat = rng.int(20, 30);
  // Grip of two fifths to a half: more than a third of what stands above.
  const grip = Math.ceil(w * rng.pick([0.36, 0.4, 0.45]));
  const height = seat + grip;
  const higher = height + rng.pick([0, 0, 2, 3]);
  const fixedFirst = rng.chance(0.5);
  const side = (wish.stop ?? rng.chance(0.6)) ? rng.pick(["low", "high"] as const) : undefined;
  const clamp = wish.clamp ?? rng.pick(["+X", "+Y", "-X", "-Y"] as const);
  const op = twoOps ? (index % 2 === 0 ? "op10" : "op20") : "op10";
  const distinct = twoOps && count > 2 ? index % 2 : twoOps ? index : 0;
  return {
    index,
    part: "lever",
    op,
    clamp,
    stock: [u, v, w],
    tolerance,
    zero: {
      u: rng.pick(["fixedJaw", "centre", "movingJaw", 10]),
      v: rng.pick(["low", "centre", "high", 12.5]),
      w: wKind === "less" ? w - 1 : wKind,
    },
    seat,
    parallels: through
      ? [
          [0, 7],
          [u - 7, u],
        ]
      : rng.chance(0.3)
        ? [
            [0, 9],
            [u - 9, u],
          ]
        : undefined,
    fixedJaw: { name: `fixed ${distinct}`, face: rng.pick([12, 15]), length: 40, width: 60, height: fixedFirst ? higher : height },
    movingJaw: { name: `moving ${distinct}`, length: 50, width: 60, height: fixedFirst ? height : higher },
    notch: rng.pick(notchesFor(u, tolerance)),
    stop: side === undefined ? undefined : { side, at: side === "low" ? -v / 2 - rng.pick([0, 2]) : v / 2 + rng.pick([0, 2]) },
    asRepeat: wish.repeat ?? rng.chance(0.6),
    prefix: String.fromCharCode(65 + index),
  };
}

/** Places `count` stations in columns and rows, with room for the open jaw and for lead-ins. */
function blockOf(rng: Random, g: Draft, count: number, pitch: readonly [number, number], rowsOnly: boolean) {
  let rows = 1;
  if (!rowsOnly && count > 3) rows = rng.pick([1, 2, 3, 4].filter((r) => r <= count));
  const columns = Math.max(1, Math.floor(count / rows));
  const alongX = g.clamp === "+X" || g.clamp === "-X";
  const spanU = 190;
  const spanV = 160;
  const stepX = Math.ceil((alongX ? spanU : spanV) / pitch[0]);
  const stepY = Math.ceil((alongX ? spanV : spanU) / pitch[1]);
  // Where the jaws reach from the tenon, downward and upward along x and y.
  const back = g.fixedJaw.length;
  const ahead = g.fixedJaw.face + g.stock[0] + g.movingJaw.length + STROKE + 5;
  const sideways = 50;
  const [xLow, xHigh] = alongX ? (g.clamp === "+X" ? [back, ahead] : [ahead, back]) : [sideways, sideways];
  const [yLow, yHigh] = alongX ? [sideways, sideways] : g.clamp === "+Y" ? [back, ahead] : [ahead, back];
  const first = [Math.ceil(xLow / pitch[0]), Math.ceil(yLow / pitch[1])] as const;
  const size = [
    first[0] + (columns - 1) * stepX + Math.ceil(xHigh / pitch[0]) + 1,
    first[1] + (rows - 1) * stepY + Math.ceil(yHigh / pitch[1]) + 1,
  ] as const;
  return { columns, rows, step: [stepX, stepY] as const, first, size };
}

/** Name of the end stop of a group. */
function stopName(g: Pick<Group, "seat">): string {
  return `stop ${g.seat}`;
}

/** Length in the shop's units, as a number of the sidecar. */
export function inUnits(shop: Pick<Shop, "units">, mm: number): number {
  return shop.units === "mm" ? round(mm, 6) : round(mm / 25.4, 7);
}

/** How a register is spelled by the sidecar; `n` counts from 1. */
export function spell(shop: Pick<Shop, "plain" | "code">, n: number): string {
  if (!shop.plain) return `${shop.code}${n}`;
  return n <= 6 ? `G${53 + n}` : `G59.${n - 6}`;
}

/** What a work offset must hold: position with trim, without common shift, Z from where the shop counts it. */
export function contentOf(shop: Shop, stand: Stand): { X: number; Y: number; Z: number } {
  const from = shop.zFrom;
  let reference = 0;
  if (from !== "machine") {
    if ("base" in from) reference = shop.bases.find((b) => b.name === from.base)?.zero[2] ?? 0;
    else {
      const other = shop.stands.find((s) => s.id === from.station);
      if (other !== undefined) reference = other.position[2] + (other.trim.Z ?? 0);
    }
  }
  return {
    X: stand.position[0] + (stand.trim.X ?? 0) - shop.commonShift.X,
    Y: stand.position[1] + (stand.trim.Y ?? 0) - shop.commonShift.Y,
    Z: stand.position[2] + (stand.trim.Z ?? 0) - shop.commonShift.Z - reference,
  };
}

function writeSidecar(rng: Random, shop: Shop, wish: ShopWish): JsonObject {
  const L = (mm: number): number => inUnits(shop, mm);
  const machine: JsonObject = { name: shop.rotary === undefined ? "vertical 1" : "horizontal 1", dialect: shop.dialect };
  if (shop.hasTravel) {
    machine.travel = Object.fromEntries(Object.entries(shop.travel).map(([k, [a, b]]) => [k, [L(a), L(b)]]));
  }
  machine.home = { X: 0, Y: 0, Z: 0 };
  machine.rapid = { X: L(30000), Y: L(30000), Z: L(24000), ...(shop.rotary === undefined ? {} : { [shop.rotary.axis]: 7200 }) };
  if (rng.chance(0.3)) machine.acceleration = { X: L(3000), Y: L(3000), Z: L(3000) };
  const path = rng.pick(["straight", "independent", "either", ""]);
  if (path !== "") machine.rapidPath = path;
  machine.toolChange = { seconds: 4.5 };
  if (shop.rotary !== undefined) {
    const { axis, sense, centre } = shop.rotary;
    machine.rotary = {
      axis,
      centre: axis === "B" ? { X: L(centre[0]), Z: L(centre[1]) } : { Y: L(centre[0]), Z: L(centre[1]) },
      sense,
      indexSeconds: 2.5,
    };
  }
  const bases: JsonObject = {};
  for (const b of shop.bases) {
    bases[b.name] = {
      pitch: b.pitch[0] === b.pitch[1] ? L(b.pitch[0]) : { x: L(b.pitch[0]), y: L(b.pitch[1]) },
      columns: b.columns,
      rows: b.rows,
      zero: { X: L(b.zero[0]), Y: L(b.zero[1]), Z: L(b.zero[2]) },
      ...(b.skew !== 0 || rng.chance(0.5) ? { skew: b.skew } : {}),
      ...(shop.rotary !== undefined ? { face: b.face } : {}),
      thickness: L(b.thickness),
      border: L(b.border),
    };
  }
  const fixedJaws: JsonObject = {};
  const movingJaws: JsonObject = {};
  const ops: JsonObject = {};
  const number = (x: string | number): Json => (typeof x === "number" ? L(x) : x);
  for (const g of shop.groups) {
    fixedJaws[g.fixedJaw.name] = {
      face: L(g.fixedJaw.face),
      length: L(g.fixedJaw.length),
      width: L(g.fixedJaw.width),
      height: L(g.fixedJaw.height),
      ...(shop.soft ? { machinable: true } : {}),
    };
    movingJaws[g.movingJaw.name] = {
      gap: L(GAP),
      increment: L(INCREMENT),
      stroke: L(STROKE),
      notches: 40,
      loading: L(LOADING),
      reserve: L(RESERVE),
      length: L(g.movingJaw.length),
      width: L(g.movingJaw.width),
      height: L(g.movingJaw.height),
      ...(shop.soft ? { machinable: true } : {}),
    };
    ops[g.op] = {
      stock: { u: L(g.stock[0]), v: L(g.stock[1]), w: L(g.stock[2]) },
      stockTolerance: L(g.tolerance),
      zero: { u: number(g.zero.u), v: number(g.zero.v), w: number(g.zero.w) },
      reversible: true,
    };
  }
  const stations: Json[] = [];
  for (const g of shop.groups) {
    const members = shop.stands.filter((s) => s.group === g);
    const common = (id: string, at: readonly [number, number], register: number): JsonObject => ({
      id,
      base: g.base.name,
      at: [...at],
      clamp: g.clamp,
      fixedJaw: g.fixedJaw.name,
      movingJaw: g.movingJaw.name,
      notch: g.notch,
      ...(g.stop === undefined ? {} : { endStop: { element: stopName(g), side: g.stop.side, at: L(g.stop.at) } }),
      seat: L(g.seat),
      ...(g.parallels === undefined ? {} : { parallels: g.parallels.map((p) => p.map(L)) }),
      part: g.part,
      op: g.op,
      offset: spell(shop, register),
    });
    if (g.asRepeat) {
      const first = members[0] as Stand;
      stations.push({
        ...common(g.prefix, first.at, first.register),
        repeat: { columns: g.columns, rows: g.rows, step: [...g.step] },
      });
    } else for (const s of members) stations.push(common(s.id, s.at, s.register));
  }
  const out: JsonObject = {
    format: 1,
    units: shop.units,
    machine,
    bases,
    fixedJaws,
    movingJaws,
    endStops: Object.fromEntries(shop.groups.map((g) => [stopName(g), { thickness: L(12), length: L(30), height: L(g.seat + 8) }])),
    parts: { lever: { name: "damper lever", drawing: "L-207", issue: "B", ops } },
    stations,
  };
  if (shop.park) out.datums = { G59: "park position" };
  if (wish.obstacle ?? rng.chance(0.3)) {
    const x = shop.travel.X[0];
    const y = shop.travel.Y[0];
    const z = shop.bases[0]?.zero[2] ?? -450;
    out.obstacles = [{ name: "tool setter", base: null, box: { from: [L(x), L(y), L(z)], to: [L(x + 40), L(y + 40), L(z + 60)] } }];
  }
  if (shop.hasTools) {
    const tools: JsonObject = {};
    for (const t of shop.tools) {
      tools[String(t.t)] = {
        name: t.name,
        kind: t.kind,
        DC: L(t.DC),
        APMX: L(t.APMX),
        LF: L(t.LF),
        ...(t.SIG === undefined ? {} : { SIG: t.SIG }),
        shank: { D: L(t.shank.D), L: L(t.shank.L) },
        holder: t.holder.map((h) => ({ D: L(h.D), L: L(h.L) })),
        H: t.t,
        D: t.t,
      };
    }
    out.tools = tools;
  }
  const offsets: JsonObject = {};
  if (shop.zFrom !== "machine") offsets.zFrom = shop.zFrom;
  if (Object.values(shop.commonShift).some((x) => x !== 0))
    offsets.commonShift = Object.fromEntries(Object.entries(shop.commonShift).map(([k, x]) => [k, L(x)]));
  if (rng.chance(0.25)) {
    const s = rng.pick(shop.stands);
    s.trim = rng.pick([{ X: 0.05 }, { Y: -0.08 }, { X: 0.03, Z: -0.06 }]);
    offsets.trim = { [spell(shop, s.register)]: Object.fromEntries(Object.entries(s.trim).map(([k, x]) => [k, L(x)])) };
  }
  shop.stored = shop.dialect === "g154" ? "none" : rng.pick(["none", "values", "none", "file"]);
  if (shop.stored === "values") {
    offsets.values = Object.fromEntries(
      shop.stands.map((s) => {
        const c = contentOf(shop, s);
        // As it was picked up at the machine: a few microns off, well inside the tolerance.
        const noise = (): number => rng.int(-12, 12) / 1000;
        return [spell(shop, s.register), { X: L(c.X + noise()), Y: L(c.Y + noise()), Z: L(c.Z + noise()) }];
      }),
    );
    if (shop.park) (offsets.values as JsonObject).G59 = { X: L((shop.travel.X[0] + shop.travel.X[1]) / 2), Y: 0, Z: 0 };
  }
  if (shop.stored === "file") offsets.file = "stored.offsets.nc";
  if (Object.keys(offsets).length > 0) out.offsets = offsets;
  return out;
}
