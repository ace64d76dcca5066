/** What every tool cuts on a part: paths in part coordinates that clear jaws, seat and base by this file's own arithmetic. */
import { Line, length, type Numbers } from "./lines.js";
import type { Random } from "./random.js";
import type { Group, Shop, ToolSpec } from "./shop.js";

/** A path from the first X/Y position at the clear height and back up to it. */
export interface Path {
  readonly tool: ToolSpec;
  readonly group: Group;
  readonly start: readonly [number, number];
  readonly clear: number;
  /** From the first move down to the last move up; copies are made of it. */
  readonly body: readonly Line[];
  readonly speed: number;
}

/** Everything that is drawn once for a program. */
export interface Writer {
  readonly rng: Random;
  readonly shop: Shop;
  readonly numbers: Numbers;
}

/** A word with a length. */
export function word(w: Writer, letter: string, mm: number): string {
  return `${letter}${length(w.numbers, mm)}`;
}

/** A feed word; feeds are written as lengths per minute. */
export function feed(w: Writer, mm: number): string {
  return w.numbers.units === "mm" ? `F${mm}${w.numbers.trailing === "bare" ? "" : "."}` : `F${(mm / 25.4).toFixed(1)}`;
}

/** Height above the part zero at which everything on the shop floor is cleared. */
export function clearHeight(shop: Shop, group: Group): number {
  const lowest = Math.min(...shop.stands.filter((s) => s.group.part === group.part && s.group.op === group.op).map((s) => s.position[2]));
  return Math.ceil(shop.clear - lowest);
}

/** Positions of the holes of a group, part coordinates. */
export function holesOf(group: Group, many: boolean): [number, number][] {
  const cx = (group.low[0] + group.high[0]) / 2;
  const cy = (group.low[1] + group.high[1]) / 2;
  // Across the clamping direction there is room; along it the holes stay over the open channel of the parallels.
  const place = (u: number, v: number): [number, number] => (group.alongX ? [cx + u, cy + v] : [cx + v, cy + u]);
  return many ? [place(-3, -14), place(3, -14), place(3, 14), place(-3, 14)] : [place(0, -14), place(0, 14)];
}

/** The path of a tool on the parts of a group. */
export function pathOf(w: Writer, tool: ToolSpec, group: Group): Path {
  const { rng } = w;
  const clear = clearHeight(w.shop, group) + rng.pick([0, 3, 8]);
  const about = { tool: tool.t, group };
  const top = group.high[2];
  const [x0, y0] = group.low;
  const [x1, y1] = group.high;
  const radius = tool.DC / 2;
  const ngc = w.shop.dialect === "rs274ngc";
  const body: Line[] = [];
  let here: [number, number, number] = [0, 0, clear];
  const put = (tag: Line["tag"], text: string, x = here[0], y = here[1], z = here[2]): void => {
    here = [x, y, z];
    body.push(new Line(tag, text, { ...about, at: here }));
  };
  const X = (v: number): string => word(w, "X", v);
  const Y = (v: number): string => word(w, "Y", v);
  const Z = (v: number): string => word(w, "Z", v);
  const up = (): void => put("up", `G0 ${Z(clear)}`, here[0], here[1], clear);
  let start: [number, number];
  let speed = 3000;

  if (tool.kind === "face mill") {
    const passes = Math.ceil((y1 - y0) / 40);
    const left = x0 - radius - 6;
    const right = x1 + radius + 6;
    const row = (i: number): number => y0 + ((i + 0.5) * (y1 - y0)) / passes;
    start = [left, row(0)];
    here = [left, row(0), clear];
    speed = 2200;
    put("down", `G0 ${Z(top + 3)}`, left, row(0), top + 3);
    put("plunge", `G1 ${Z(top - 1)} ${feed(w, 1200)}`, left, row(0), top - 1);
    for (let i = 0; i < passes; i++) {
      if (i > 0) put("cut", `G1 ${Y(row(i))}`, here[0], row(i));
      const to = i % 2 === 0 ? right : left;
      put("cut", `G1 ${X(to)} ${feed(w, 1800)}`, to);
    }
    up();
  } else if (tool.kind === "end mill") {
    const bottom = Math.max(Math.ceil((group.jawTop + 1.2) * 10) / 10, Math.ceil(top - 14));
    speed = 5200;
    if (!ngc && rng.chance(0.35)) {
      // The path is the edge itself, clockwise, the tool on the left of it.
      start = [x0 + 2 - radius - 8, y0 - radius - 4];
      here = [...start, clear];
      put("down", `G0 ${Z(top + 3)}`, ...start, top + 3);
      put("plunge", `G1 ${Z(bottom)} ${feed(w, 600)}`, ...start, bottom);
      put("compensate", `G1 G41 D${tool.t} ${X(x0 + 2)} ${feed(w, 1500)}`, x0 + 2);
      put("cut", Y(y1 - 2), here[0], y1 - 2);
      put("cut", X(x1 - 2), x1 - 2);
      put("cut", Y(y0 + 2), here[0], y0 + 2);
      put("cut", X(x0 + 2 - radius - 6), x0 + 2 - radius - 6);
      put("compensate", `G1 G40 ${Y(y0 - radius - 8)}`, here[0], y0 - radius - 8);
    } else {
      const left = x0 - radius + 2;
      const right = x1 + radius - 2;
      const low = y0 - radius + 2;
      const high = y1 + radius - 2;
      start = [x0 - radius - 8, low];
      here = [...start, clear];
      put("down", `G0 ${Z(top + 3)}`, ...start, top + 3);
      put("plunge", `G1 ${Z(bottom)} ${feed(w, 600)}`, ...start, bottom);
      put("cut", `${X(right)} ${feed(w, 1500)}`, right);
      put("cut", Y(high), here[0], high);
      put("cut", X(left), left);
      put("cut", Y(y0 - radius - 6), here[0], y0 - radius - 6);
    }
    up();
  } else if (tool.kind === "slot mill") {
    const cx = (x0 + x1) / 2;
    const cy = (y0 + y1) / 2;
    start = [cx, cy];
    here = [cx, cy, clear];
    speed = 6400;
    put("down", `G0 ${Z(top + 3)}`, cx, cy, top + 3);
    put("plunge", `G1 ${Z(top - 4)} ${feed(w, 300)}`, cx, cy, top - 4);
    put("cut", `${X(cx + 6)} ${feed(w, 900)}`, cx + 6);
    // RS274/NGC wants an end word on every arc, and none of its arcs by radius goes right round.
    if (ngc) {
      put("cut", `G3 ${X(cx - 6)} ${Y(cy)} ${word(w, "R", 6)}`, cx - 6, cy);
      put("cut", `G3 ${X(cx + 6)} ${Y(cy)} ${word(w, "R", 6)}`, cx + 6, cy);
    } else put("cut", `G3 ${word(w, "I", -6)} ${word(w, "J", 0)}`);
    if (rng.chance(0.5)) {
      // Back into the pocket that this very tool has cut.
      put("up", `G0 ${Z(top + 3)}`, here[0], here[1], top + 3);
      put("start", `${X(cx)} ${Y(cy)}`, cx, cy);
      put("down", Z(top - 3.5), cx, cy, top - 3.5);
      put("plunge", `G1 ${Z(top - 6)} ${feed(w, 300)}`, cx, cy, top - 6);
      put("cut", `${X(cx + 6)} ${feed(w, 900)}`, cx + 6);
      put("cut", `G3 ${X(cx - 6)} ${Y(cy)} ${word(w, "R", 6)}`, cx - 6, cy);
      put("cut", `G3 ${X(cx + 6)} ${Y(cy)} ${word(w, "R", 6)}`, cx + 6, cy);
    } else put("cut", `G1 ${X(cx)}`, cx);
    up();
  } else {
    const holes = holesOf(group, tool.kind !== "tap" && rng.chance(0.4));
    start = holes[0] ?? [0, 0];
    here = [...start, clear];
    const r = word(w, "R", top + 3);
    const deep = w.shop.through ? group.seatZ - 3 : group.seatZ + 6;
    const code =
      tool.kind === "tap"
        ? "G84"
        : tool.kind === "drill"
          ? rng.pick(ngc ? ["G83", "G81"] : ["G83", "G73", "G81"])
          : rng.pick(["G81", "G82"]);
    const depth = tool.kind === "tap" ? top - 12 : tool.kind === "drill" ? deep : top - 3;
    speed = tool.kind === "tap" ? 400 : tool.kind === "drill" ? 3600 : 3800;
    const extra = code === "G83" || code === "G73" ? ` ${word(w, "Q", 5)}` : code === "G82" ? " P200" : "";
    const rate = tool.kind === "tap" ? feed(w, 500) : feed(w, 360);
    const level = rng.pick(["G98", "G99"]);
    put("cycle", `${level} ${code} ${X(start[0])} ${Y(start[1])} ${Z(depth)} ${r}${extra} ${rate}`, ...start, depth);
    holes.slice(1).forEach(([x, y], i) => {
      const last = i === holes.length - 2;
      const back = last && level === "G99" && rng.chance(0.5) ? "G98 " : "";
      put("hole", `${back}${X(x)} ${Y(y)}`, x, y, depth);
    });
    put("cancel", "G80");
    up();
  }
  return { tool, group, start, clear, body, speed };
}
