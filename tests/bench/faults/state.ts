/** Faults and near misses of state that leaks, of calls and of the text itself. */

import { CALLING, EXPLICIT, type Fault, type Job, Line, type NearMiss, type Spot } from "../job.js";
import type { JsonObject } from "../json.js";
import { feed } from "../paths.js";
import { STYLES } from "../styles.js";
import { TOUCHES } from "./stations.js";

const iso = EXPLICIT.filter((s) => s !== "local calls");
const anyStyle = STYLES.filter((s) => s !== "ngc straight" && s !== "low channel" && s !== "nest shifts" && s !== "stepping subprograms");

/** Puts a block before the cut of a visit that another one of the same tool follows; gives that next visit's offset block. */
function before(
  job: Job,
  text: string,
  tools?: readonly number[],
): { readonly line: Line; readonly next: Line; readonly last: Line } | undefined {
  const found = job.rng.maybe(
    job
      .followers()
      .filter(
        ({ before: b }) =>
          (tools === undefined || tools.includes(b.tool)) && b.lines.some((l) => l.tag === "down" || l.tag === "cycle" || l.tag === "call"),
      ),
  );
  const target = found?.before.lines.find((l) => l.tag === "down" || l.tag === "cycle" || l.tag === "call");
  const last = found?.before.lines.at(-1);
  if (found === undefined || target === undefined || last === undefined) return undefined;
  const line = new Line("plain", text, { tool: found.before.tool, stand: found.before.stand, group: found.before.stand.group });
  job.before(target, line);
  return { line, next: found.visit.offset, last };
}

function nextOffset(found: { readonly next: Line } | undefined) {
  return found === undefined ? undefined : { at: [found.next] };
}

/** A head that has its own state line, of a tool behind the first. */
function stateLine(job: Job): { readonly state: Line; readonly change: Line } | undefined {
  const options = job.find("change").flatMap((change, i) => {
    const state = job.next(change);
    const found = state?.tag === "staged" ? job.next(state) : state;
    return i > 0 && found?.tag === "state" && found.text.includes("G17") ? [{ state: found, change }] : [];
  });
  return job.rng.maybe(options);
}

export const stateFaults: readonly Fault[] = [
  {
    rule: "length-missing",
    name: "no G43",
    styles: [...EXPLICIT, "while loop", "ngc straight"],
    wish: { kind: "plate" },
    make(job) {
      const line = job.rng.maybe(
        job.find("length", (l) =>
          job
            .visits()
            .some(
              (v) =>
                v.first && v.lines.includes(l) && job.previous(v.offset, (x) => x.tag === "home" || x.tag === "change")?.tag === "change",
            ),
        ),
      );
      if (line === undefined) return undefined;
      line.text = line.text.replace(/G43 ?|H\d+ ?/g, "").trim();
      return { at: [line] };
    },
  },
  {
    rule: "length-missing",
    name: "the whole length block is gone",
    styles: ["straight"],
    wish: { kind: "plate", groups: 1 },
    make(job) {
      const line = job.rng.maybe(job.find("length"));
      const first = line === undefined ? undefined : job.next(line, (l) => /Z/.test(l.text));
      if (line === undefined || first === undefined) return undefined;
      job.remove(line);
      return { at: [first] };
    },
  },
  {
    rule: "length-mismatch",
    name: "H of another tool",
    styles: [...EXPLICIT, "while loop", "macro call", "ngc straight"],
    // Without tools only the habit of a whole program says which H is whose.
    wish: { tools: true },
    make(job) {
      const line = job.rng.maybe(job.find("length"));
      if (line === undefined) return undefined;
      const other = job.rng.pick([1, 2, 3, 4, 5, 6].filter((h) => h !== line.tool));
      line.text = line.text.replace(/H\d+/, `H${other}`);
      // With the wrong H the true tool point is shown (contract ruling 2), and so is what it meets.
      return { at: [line], also: [...TOUCHES, "retract-return-level", "travel-limit"] };
    },
  },
  {
    rule: "incremental-left",
    name: "no G90 after the reference return",
    styles: iso.filter((s) => s !== "one subprogram per tool"),
    make(job) {
      const options = job.find("absolute").filter((a) => {
        const change = job.next(a, (l) => l.tag !== "plain" && l.tag !== "staged");
        return change?.tag === "change" && a !== job.find("absolute")[0];
      });
      const line = job.rng.maybe(options);
      const offset = line === undefined ? undefined : job.next(line, (l) => l.tag === "offset");
      if (line === undefined || offset === undefined) return undefined;
      const file = job.fileOf(line);
      const length = file.slice(file.indexOf(offset)).find((l) => l.tag === "length");
      // No other G90 up to the first move.
      const between = file.slice(file.indexOf(line), length === undefined ? undefined : file.indexOf(length) + 1);
      for (const l of between) l.text = l.text.replace(/G90 ?/, "").trim();
      const first = between.find((l) => /X/.test(l.text));
      job.remove(...between.filter((l) => l.text === ""));
      // A turn to a face is the first to go wrong.
      return first === undefined ? undefined : { at: [first, ...between.filter((l) => l.tag === "index")] };
    },
  },
  {
    rule: "return-through-point",
    name: "G28 Z0 under G90",
    styles: iso,
    make(job) {
      const home = job.rng.maybe(
        job.find("home", (l) => job.previous(l, (x) => x.tag === "up") !== undefined && l !== job.find("home")[0]),
      );
      // Z0 has to lie in the stock for the way to it to be a fault.
      if (home === undefined || job.shop.groups.some((g) => g.high[2] < 0.5)) return undefined;
      const next = job.next(home);
      if (next?.tag === "absolute") job.remove(next);
      home.text = `G90 G28 Z0${job.numbers.trailing === "bare" ? "" : "."}`;
      return { at: [home] };
    },
  },
  {
    rule: "machine-move-once",
    name: "the next block repeats its number",
    styles: anyStyle,
    wish: { kind: "plate" },
    make(job) {
      const y = job.word("Y", job.shop.travel.Y[0] + 60);
      job.before(job.end, new Line("plain", "G91 G28 Z0."), new Line("plain", "G90"), new Line("plain", `G53 G0 ${y}`));
      const line = new Line("plain", `G0 ${job.word("X", -20)} ${y}`);
      job.before(job.end, line);
      // Taken for the part it lies somewhere else, or even out of reach.
      return { at: [line], also: ["travel-limit"] };
    },
  },
  {
    rule: "shift-left",
    name: "G52 not cancelled",
    styles: iso,
    wish: { least: 3 },
    make: (job) => nextOffset(before(job, `G52 ${job.word("X", 0.4)} ${job.word("Y", 0)}`, [3, 4, 5])),
  },
  {
    rule: "shift-everywhere",
    name: "G92 with axis words",
    styles: iso,
    make(job) {
      const head = job.rng.maybe(job.visits().filter((v) => v.first));
      const line = head?.lines.find((l) => l.tag === "length");
      if (head === undefined || line === undefined) return undefined;
      // It says where the tool stands already: nothing moves by it, and it is still there for every other station.
      const p = job.program.paths.find((x) => x.tool.t === head.tool && x.group.op === head.stand.group.op);
      if (p === undefined) return undefined;
      const g92 = new Line("plain", `G92 ${job.word("X", p.start[0])} ${job.word("Y", p.start[1])}`);
      job.after(line, g92);
      return { at: [g92] };
    },
  },
  {
    rule: "transform-left",
    name: "a rotation not cancelled",
    styles: iso,
    wish: { least: 3 },
    make: (job) => nextOffset(before(job, `G68 X0 Y0 R${job.numbers.trailing === "bare" ? "0.2" : "0.2"}`, [3, 4, 5])),
  },
  {
    rule: "transform-left",
    name: "a scale not cancelled",
    styles: iso,
    wish: { least: 3 },
    make: (job) => nextOffset(before(job, "G51 X0 Y0 Z0 P1.002", [3, 4, 5])),
  },
  {
    rule: "compensation-left",
    name: "G40 is missing",
    styles: ["straight"],
    wish: { least: 3, groups: 1, kind: "plate" },
    make(job) {
      const found = job.rng.maybe(job.followers().filter(({ before: b }) => b.lines.some((l) => l.text.includes("G41"))));
      const line = found?.before.lines.find((l) => l.text.includes("G40") && l.tag === "compensate");
      if (found === undefined || line === undefined) return undefined;
      line.text = line.text.replace("G40 ", "");
      // Where the tool is on the way to the next part is now a matter of the compensation.
      return { at: [found.visit.offset], also: TOUCHES };
    },
  },
  {
    rule: "compensation-left",
    name: "G40 is missing before a tool change",
    styles: ["straight"],
    wish: { groups: 1, kind: "plate" },
    make(job) {
      const line = job.find("compensate", (l) => l.text.includes("G40")).at(-1);
      const change =
        line === undefined ? undefined : job.next(line, (l) => l.tag === "change" || l.text.startsWith("T") || l.tag === "offset");
      if (line === undefined || change === undefined || change.tag === "offset" || change.text.startsWith("T") === false) return undefined;
      line.text = line.text.replace("G40 ", "");
      const m6 = /M6/.test(change.text) ? change : job.next(change, (l) => l.tag === "change");
      return { at: m6 === undefined ? [change] : [m6, change], also: TOUCHES };
    },
  },
  {
    rule: "cycle-left",
    name: "still on at the next offset",
    styles: iso,
    wish: { least: 3 },
    make(job) {
      const options = job
        .followers()
        .filter(({ visit }) => !/[XG]0|X/.test(visit.offset.text.replace(job.selection(visit.offset) ?? "", "")));
      const found = job.rng.maybe(options);
      if (found === undefined) return undefined;
      const own = (l: Line): boolean =>
        l.tool === found.visit.tool &&
        (l.stand === undefined || l.stand === found.before.stand) &&
        l.group?.op === found.before.stand.group.op;
      const cancel = job.rng.maybe(job.find("cancel", own));
      if (cancel === undefined) return undefined;
      const up = job.next(cancel);
      if (up?.tag !== "up") return undefined;
      const cycle = job.previous(cancel, (l) => l.tag === "cycle");
      const hole = job.previous(cancel);
      if (cycle === undefined || hole?.tag !== "hole") return undefined;
      // The last hole goes back to the initial level, so that nothing else is wrong.
      for (const l of [hole]) l.text = l.text.startsWith("G9") ? l.text.replace(/^G9[89]/, "G98") : `G98 ${l.text}`;
      job.remove(cancel, up);
      const first = job
        .followers()
        .find(
          ({ before: b }) =>
            b.tool === found.visit.tool && b.file === found.visit.file && (cancel.stand === undefined || b.stand === cancel.stand),
        );
      if (first === undefined) return undefined;
      return {
        at:
          cancel.stand === undefined
            ? job
                .followers()
                .filter(({ visit: v }) => v.tool === found.visit.tool)
                .map(({ visit: v }) => v.offset)
            : [first.visit.offset],
      };
    },
  },
  {
    rule: "state-incomplete",
    name: "no state line after a tool change",
    styles: EXPLICIT,
    make(job) {
      const found = stateLine(job);
      if (found === undefined) return undefined;
      found.state.text = "G0";
      const more = job.next(found.state, (l) => l.tag === "length");
      const file = job.fileOf(found.state);
      if (more !== undefined)
        for (const l of file.slice(file.indexOf(found.state), file.indexOf(more))) l.text = l.text.replace(/^G90 (G5|G0)/, "$1");
      return { at: [found.change] };
    },
  },
  {
    rule: "feed-unset",
    name: "no feed yet",
    styles: [...EXPLICIT, "while loop"],
    make(job) {
      const first = job.find("change")[0];
      const tool = job.visits()[0]?.tool ?? first?.tool;
      const own = job.lines.filter(
        (l) => l.tool === tool && (l.tag === "plunge" || l.tag === "cut" || l.tag === "cycle" || l.tag === "compensate"),
      );
      if (own.length === 0 || tool === 6) return undefined;
      for (const l of own) l.text = l.text.replace(/ ?F[\d.]+/, "");
      return { at: own.filter((l) => l.tag === "plunge" || l.tag === "cycle") };
    },
  },
  {
    rule: "feed-unset",
    name: "the spindle stands still",
    styles: [...EXPLICIT.filter((s) => s !== "one subprogram per tool"), "while loop", "ngc straight"],
    make(job) {
      const changes = job.find("change").filter((c) => c.tool !== 6);
      const change = job.rng.maybe(changes);
      const line = change === undefined ? undefined : job.next(change, (l) => / M3\b/.test(l.text));
      if (change === undefined || line === undefined) return undefined;
      const file = job.fileOf(line);
      const other = file.slice(file.indexOf(change) + 1, file.indexOf(line)).some((l) => l.tag === "change");
      if (other) return undefined;
      const mine = change.text.includes("#") ? undefined : change.tool;
      line.text = line.text.replace(/ M3\b/, "");
      return { at: job.lines.filter((l) => l.tool === mine && (l.tag === "plunge" || l.tag === "cycle")) };
    },
  },
  {
    rule: "feed-unset",
    name: "F0",
    styles: [...EXPLICIT, "ngc straight"],
    make(job) {
      const line = job.rng.maybe(job.find("plunge", (l) => /F/.test(l.text)));
      if (line === undefined) return undefined;
      line.text = line.text.replace(/F[\d.]+/, "F0");
      return { at: [line] };
    },
  },
  {
    rule: "sub-leaves-state",
    name: "a subprogram ends in G91",
    styles: CALLING,
    wish: { least: 3, groups: 1, kind: "plate" },
    make(job) {
      const options = job
        .find("return", (l) => l.group !== undefined)
        .filter((r) =>
          job
            .followers()
            .some(
              ({ visit }) =>
                visit.tool === r.tool &&
                visit.stand.group.op === r.group?.op &&
                visit.lines.some((l) => /X/.test(l.text)) &&
                !visit.lines.some((l) => /G90/.test(l.text)),
            ),
        );
      const line = job.rng.maybe(options);
      if (line === undefined) return undefined;
      const g91 = new Line("plain", "G91", { tool: line.tool, ...(line.group === undefined ? {} : { group: line.group }) });
      job.before(line, g91);
      // The caller's coordinate is now a distance, and what that meets follows.
      return { at: [line, g91], also: [...TOUCHES, "travel-limit"] };
    },
  },
  {
    rule: "units-unstated",
    name: "no units",
    styles: [...anyStyle, "ngc straight"],
    make(job) {
      const line = job.find("units")[0];
      if (line === undefined) return undefined;
      line.text = line.text.replace(/G2[01] ?/, "");
      if (line.text === "") job.remove(line);
      const all = job.executed().filter((l) => /[XYZ]-?\.?\d/.test(l.text) && !l.text.startsWith("("));
      // A return to zero harms nothing by itself; it is a coordinate all the same.
      const first = all.find((l) => !/G28|G53/.test(l.text));
      return first === undefined || all[0] === undefined ? undefined : { at: [all[0], first] };
    },
  },
  {
    rule: "point-missing",
    name: "a point lost",
    styles: [...EXPLICIT],
    wish: { units: "mm" },
    make(job) {
      if (job.numbers.trailing === "bare") return undefined;
      (job.sidecar.machine as JsonObject).dialect = { extends: job.shop.dialect, wholeNumber: "increment" };
      const whole = (l: Line): boolean => /[XY]-?\d+\.0?( |$)/.test(l.text);
      const line = job.rng.maybe(job.lines.filter((l) => (l.tag === "hole" || l.tag === "cut") && whole(l)));
      if (line === undefined) return undefined;
      for (const l of job.lines) if (/^G91 G28 Z0$/.test(l.text)) l.text = "G91 G28 Z0.";
      line.text = line.text.replace(/([XY]-?[1-9]\d*)\.0?( |$)/, "$1$2");
      return /[XY]-?[1-9]\d*( |$)/.test(line.text) ? { at: [line], also: [...TOUCHES, "syntax"] } : undefined;
    },
  },
  {
    rule: "call-target",
    name: "a program that is not there",
    styles: [...CALLING, "macro call", "while loop"],
    make(job) {
      const line = job.rng.maybe(job.find("call", (l) => /P\d+/.test(l.text)));
      if (line === undefined) return undefined;
      line.text = line.text.replace(/P\d+/, "P7998");
      return { at: [line] };
    },
  },
  {
    rule: "call-target",
    name: "a label that is not there",
    styles: ["local calls"],
    make(job) {
      const line = job.rng.maybe(job.find("call", (l) => /^M97/.test(l.text)));
      if (line === undefined) return undefined;
      line.text = line.text.replace(/P\d+/, "P7998");
      return { at: [line] };
    },
  },
  {
    rule: "call-target",
    name: "a program that is there twice",
    styles: CALLING.filter((s) => s !== "files of their own"),
    make(job) {
      const heads = job.find("program", (l) => l.group !== undefined);
      const head = job.rng.maybe(heads);
      const end = head === undefined ? undefined : job.next(head, (l) => l.tag === "return");
      if (head === undefined || end === undefined) return undefined;
      const file = job.fileOf(head);
      const copy = file.slice(file.indexOf(head), file.indexOf(end) + 1).map((l) => l.copy());
      file.push(...copy);
      return { at: [copy[0] as Line] };
    },
  },
  {
    rule: "call-target",
    name: "a subprogram that ends in M30",
    styles: [...CALLING, "while loop", "macro call"],
    make(job) {
      const line = job.rng.maybe(job.find("return", (l) => l.group !== undefined));
      if (line === undefined) return undefined;
      line.text = "M30";
      return { at: [line] };
    },
  },
  {
    rule: "call-endless",
    name: "a subprogram calls itself",
    styles: CALLING,
    make(job) {
      const line = job.rng.maybe(job.find("return", (l) => l.group !== undefined));
      const head = line === undefined ? undefined : job.previous(line, (l) => l.tag === "program");
      const number = /O(\d+)/.exec(head?.text ?? "")?.[1];
      if (line === undefined || number === undefined) return undefined;
      const call = new Line("plain", `M98 P${number}`);
      job.before(line, call);
      return { at: [call] };
    },
  },
  {
    rule: "call-endless",
    name: "the counter is never raised",
    styles: ["while loop", "if loop", "computed offset"],
    make(job) {
      const step = job.rng.maybe(job.find("plain", (l) => l.text === "#100=#100+1"));
      if (step === undefined) return undefined;
      const at = [job.previous(step, (l) => l.tag === "loop"), job.next(step, (l) => l.tag === "loop" || l.text.startsWith("END"))].filter(
        (l) => l !== undefined,
      );
      job.remove(step);
      return { at };
    },
  },
  ...(
    [
      ["two points in a number", "G4 X1.0.5"],
      ["a comment that is not closed", "M9 (COOLANT OFF"],
      ["two codes of one group", "G17 G18"],
      ["a letter without a number", "G4 X"],
      ["a stray character", "M9 ?"],
      ["an open bracket", "#101=[1+2"],
    ] as const
  ).map(
    ([name, text]): Fault => ({
      rule: "syntax",
      name,
      styles: anyStyle,
      make(job) {
        const line = new Line("comment", text, { fixed: true });
        const place = job.rng.maybe(
          job.main.filter((l) => l.tag === "change" && job.main.indexOf(l) > 0 && l.text.startsWith("T") && /M6/.test(l.text)),
        );
        if (place === undefined) return undefined;
        job.before(place, line);
        return { at: [line] };
      },
    }),
  ),
  {
    rule: "code-unknown",
    name: "a G code of no standard",
    styles: [...anyStyle],
    make(job) {
      const line = new Line("plain", job.rng.pick(["G271", "G305 P1", "G8 P1", "G187 P3"]));
      job.before(job.end, line);
      return { at: [line], level: "information" };
    },
  },
  {
    rule: "code-unknown",
    name: "an M code of the machine builder",
    styles: [...anyStyle, "ngc straight"],
    make(job) {
      const line = new Line("plain", job.rng.pick(["M88", "M51", "M131"]));
      job.before(job.end, line);
      return { at: [line], level: "information" };
    },
  },
  {
    rule: "allow-unused",
    name: "nothing needs it",
    styles: [...anyStyle, "ngc straight"],
    wish: { tools: true },
    make(job) {
      // A file that other programs may call too is not judged.
      const line = job.rng.maybe(job.find("up", (l) => job.main.includes(l)));
      if (line === undefined) return undefined;
      line.text += " (ALLOW clamp-cut: step in the soft jaw)";
      return { at: [line] };
    },
  },
  {
    rule: "allow-unused",
    name: "no reason",
    styles: [...anyStyle, "ngc straight"],
    make(job) {
      const line = job.rng.maybe(job.find("up"));
      if (line === undefined) return undefined;
      line.text += " (ALLOW clamp-cut)";
      return { at: [line] };
    },
  },
];

/** A comment line before a block. */
function note(text: string): Line {
  return new Line("comment", text, { fixed: true });
}

export const stateNearMisses: readonly NearMiss[] = [
  {
    rule: "length-missing",
    name: "the control applies it by itself",
    styles: EXPLICIT,
    make(job) {
      (job.sidecar.machine as JsonObject).dialect = { extends: job.shop.dialect, lengthBy: "control" };
      for (const l of job.find("length")) l.text = `G0 ${l.text.replace(/G43 ?|H\d+ ?/g, "").trim()}`;
      return {};
    },
  },
  { rule: "length-missing", name: "the called program does it", styles: ["one subprogram per tool"], make: () => ({}) },
  {
    rule: "length-mismatch",
    name: "a second edge of the tool",
    styles: EXPLICIT,
    wish: { tools: true },
    make(job) {
      const tools = job.sidecar.tools as JsonObject;
      const line = job.rng.maybe(job.find("length"));
      if (line === undefined) return undefined;
      (tools[String(line.tool)] as JsonObject).H = [line.tool, line.tool + 20];
      line.text = line.text.replace(/H\d+/, `H${line.tool + 20}`);
      return {};
    },
  },
  {
    rule: "length-mismatch",
    name: "the next tool is staged right after the change",
    styles: [...EXPLICIT, "ngc straight"],
    make(job) {
      const changes = job.find("change", (l) => /^(N\d+ )?T\d+ M6/.test(l.text));
      for (const [i, c] of changes.entries()) {
        const next = changes[i + 1];
        if (next !== undefined && job.next(c)?.tag !== "staged") job.after(c, new Line("staged", `T${next.tool}`));
      }
      return {};
    },
  },
  {
    rule: "incremental-left",
    name: "an incremental pattern, restored",
    styles: iso,
    make(job) {
      const cycle = job.rng.maybe(job.find("cancel"));
      if (cycle === undefined) return undefined;
      const up = job.next(cycle);
      if (up?.tag !== "up") return undefined;
      // A row of notes over the part, at the clear height.
      job.after(
        up,
        ...["G91", `G0 ${job.word("X", 2)}`, `${job.word("X", 2)}`, `${job.word("X", -4)}`, "G90"].map(
          (t) => new Line("plain", t, { tool: up.tool }),
        ),
      );
      return {};
    },
  },
  {
    rule: "return-through-point",
    name: "the point on the way lies above",
    styles: iso,
    make(job) {
      const homes = job.find("home", (l) => job.previous(l, (x) => x.tag === "up") !== undefined && l !== job.find("home")[0]);
      const home = job.rng.maybe(homes);
      if (home === undefined) return undefined;
      const next = job.next(home);
      if (next?.tag === "absolute") job.remove(next);
      const group = job.previous(home, (l) => l.stand !== undefined)?.stand?.group ?? job.shop.groups[0];
      const most = Math.max(
        ...job.shop.groups.map((g) => Math.max(...job.program.paths.filter((p) => p.group.op === g.op).map((p) => p.clear))),
      );
      home.text = `G90 G28 ${job.word("Z", most + 20)}`;
      return group === undefined ? undefined : {};
    },
  },
  {
    rule: "machine-move-once",
    name: "another number, plainly of the part",
    styles: anyStyle,
    wish: { kind: "plate", travel: false },
    make(job) {
      job.before(
        job.end,
        new Line("plain", "G91 G28 Z0."),
        new Line("plain", "G90"),
        new Line("plain", `G53 G0 ${job.word("Y", -20)}`),
        new Line("plain", `G0 ${job.word("X", 15)} ${job.word("Y", 5)}`),
      );
      return {};
    },
  },
  {
    rule: "shift-left",
    name: "zeroed before the next offset",
    styles: iso,
    wish: { least: 3 },
    make(job) {
      const found = before(job, `G52 ${job.word("X", 0.4)} ${job.word("Y", 0)}`, [3, 4, 5]);
      if (found === undefined) return undefined;
      job.after(found.last, new Line("plain", job.rng.pick(["G52 X0 Y0 Z0", "G52 X0 Y0"])));
      return {};
    },
  },
  {
    rule: "shift-everywhere",
    name: "the clamp of the spindle speed",
    styles: iso,
    make(job) {
      const line = job.find("change")[0];
      if (line === undefined) return undefined;
      job.after(line, new Line("plain", "G92 S6000"));
      return {};
    },
  },
  {
    rule: "transform-left",
    name: "cancelled in time",
    styles: iso,
    wish: { least: 3 },
    make(job) {
      const found = before(job, "G68 X0 Y0 R0.2", [3, 4, 5]);
      if (found === undefined) return undefined;
      job.after(found.last, new Line("plain", "G69"));
      return {};
    },
  },
  {
    rule: "transform-left",
    name: "a declared rotation of the whole base",
    styles: iso,
    wish: { least: 3, kind: "plate", groups: 1 },
    make(job) {
      const found = before(job, "G68 X0 Y0 R0.2", [3, 4, 5]);
      if (found === undefined) return undefined;
      job.before(found.next, note("(ALLOW transform-left: the whole plate is turned by this)"));
      for (let l = job.next(found.next); l !== undefined; l = job.next(l)) {
        if (l.tag === "home" || l.tag === "offset" || l.tag === "change" || l.tag === "end") {
          job.before(l, new Line("plain", "G69"));
          break;
        }
      }
      return { information: true };
    },
  },
  {
    rule: "cycle-left",
    name: "a code of group 1 cancels it",
    styles: [...anyStyle],
    make(job) {
      const cancels = job.find("cancel", (l) => job.next(l)?.text.startsWith("G0 ") === true);
      if (cancels.length === 0) return undefined;
      job.remove(...cancels);
      return {};
    },
  },
  {
    rule: "state-incomplete",
    name: "a called program sets it",
    styles: iso,
    make(job) {
      const found = stateLine(job);
      if (found === undefined) return undefined;
      found.state.text = "M98 P9500";
      found.state.tag = "call";
      const sub = [
        new Line("program", "O9500 (START OF A TOOL)", { fixed: true }),
        new Line("plain", "G90 G17 G40 G80"),
        new Line("return", "M99"),
      ];
      job.main.push(...sub);
      return {};
    },
  },
  {
    rule: "feed-unset",
    name: "tapping by itself, and a probe",
    styles: iso,
    wish: { kind: "plate", groups: 1 },
    make(job) {
      const stand = job.shop.stands[0];
      const path = job.program.paths[0];
      if (stand === undefined || path === undefined) return undefined;
      const tap = job.find("cycle", (l) => l.tool === 6).length > 0;
      if (tap) {
        const change = job.find("change", (l) => l.tool === 6)[0];
        const line = change === undefined ? undefined : job.next(change, (l) => / M3\b/.test(l.text));
        if (line !== undefined) line.text = line.text.replace(/S400 M3/, "M29 S400");
      }
      return tap ? {} : undefined;
    },
  },
  {
    rule: "feed-unset",
    name: "a probe does not turn",
    styles: iso,
    wish: { kind: "plate", groups: 1, tools: false },
    make(job) {
      const visit = job.visits()[0];
      const offset = visit === undefined ? undefined : job.selection(visit.offset);
      const path = job.program.paths.find((p) => p.tool.t === visit?.tool);
      if (offset === undefined || path === undefined) return undefined;
      const feed = job.numbers.units === "mm" ? "F100." : "F4.0";
      const xy = `${job.word("X", path.start[0])} ${job.word("Y", path.start[1])}`;
      job.before(
        job.end,
        ...[
          "T9 M6 (PROBE)",
          "G90 G17 G40 G80",
          `G0 ${offset} ${xy}`,
          `G43 H9 ${job.word("Z", path.clear)}`,
          `G31 ${job.word("Z", path.clear - 3)} ${feed}`,
          `G0 ${job.word("Z", path.clear)}`,
          "G91 G28 Z0.",
          "G90",
        ].map((t) => new Line("plain", t)),
      );
      // How often a probe goes to which part is nobody's to compare.
      return {};
    },
  },
  {
    rule: "sub-leaves-state",
    name: "a declared stepping program",
    styles: CALLING,
    wish: { least: 3, groups: 1, kind: "plate" },
    make(job) {
      const line = job.rng.maybe(job.find("return", (l) => l.group !== undefined));
      if (line === undefined) return undefined;
      job.before(line, new Line("plain", "G91", { tool: line.tool }));
      line.text = "M99 (ALLOW sub-leaves-state: steps on, the caller states G90)";
      line.fixed = true;
      // The caller states G90 itself.
      for (const { visit } of job.followers()) {
        if (visit.tool !== line.tool) continue;
        visit.offset.text = visit.offset.text.replace(/^/, "G90 ");
      }
      return { information: true, also: ["allow-unused"] };
    },
  },
  {
    rule: "units-unstated",
    name: "the default is verified",
    styles: anyStyle,
    make(job) {
      const line = job.find("units")[0];
      const first = job.executed().find((l) => /[XYZ]-?\.?\d/.test(l.text) && !l.text.startsWith("("));
      if (line === undefined || first === undefined) return undefined;
      line.text = line.text.replace(/G2[01] ?/, "");
      if (line.text === "") job.remove(line);
      job.before(first, note("(ALLOW units-unstated: the control starts so, parameter verified)"));
      return job.shop.units === "mm" ? { information: true } : undefined;
    },
  },
  {
    rule: "point-missing",
    name: "calculator input",
    styles: anyStyle,
    wish: { units: "mm" },
    make: (job) => (job.numbers.trailing === "bare" ? {} : undefined),
  },
  {
    rule: "point-missing",
    name: "T, S, P, H and N take no point",
    styles: [...EXPLICIT],
    wish: { units: "mm" },
    make(job) {
      if (job.numbers.trailing === "bare") return undefined;
      (job.sidecar.machine as JsonObject).dialect = { extends: job.shop.dialect, wholeNumber: "increment" };
      return {};
    },
  },
  {
    rule: "call-target",
    name: "a resident program",
    styles: [...anyStyle],
    make(job) {
      (job.sidecar.machine as JsonObject).resident = [9876];
      job.before(job.end, new Line("plain", "M98 P9876"));
      return {};
    },
  },
  {
    rule: "call-endless",
    name: "M99 ends the main program",
    styles: [...CALLING],
    make(job) {
      job.end.text = "M99";
      return {};
    },
  },
];

export { feed, type Spot };
