import { offsetOf } from "../engine/dialect/offsets.js";
import { angleBetween } from "../engine/fixture/angle.js";
import type { Fixture } from "../engine/fixture/model.js";
import { toInner } from "../engine/geometry/frame.js";
import type { Vec3 } from "../engine/geometry/vector.js";
import type { Move } from "../engine/machine/move.js";
import type { Block, Word } from "../engine/syntax/block.js";
import type { Value } from "../engine/syntax/expression.js";
import { codeOf } from "../engine/syntax/parse.js";
import { baseName } from "../engine/text/path.js";
import { dialectDifferences } from "./dialects.js";
import { callOf, nameAt, type Occurrence } from "./names.js";
import { stationCard } from "./station-card.js";
import { decimal, lengthNumber, plain, renderLength, renderSeconds, table } from "./text.js";
import { say, solidName, told } from "./texts.js";
import { movesOf, type Position, type View, valueIn, wordAt } from "./view.js";
import { cycleParameters } from "./words.js";

/** A hover as Markdown with the columns it speaks of. */
export interface HoverText {
  readonly markdown: string;
  readonly line: number;
  readonly start: number;
  readonly end: number;
}

const AXES = "XYZABCIJKRUVW";

/**
 * What is known about the word under a position of a program: the part at an offset's station, positions and the nearest
 * solid for an axis word, the tool for T, H and D, the meaning of G and M codes. Undefined where nothing is known.
 */
export function hoverAt(view: View, file: string, position: Position, images = false): HoverText | undefined {
  const source = view.sourceOf(file);
  if (source === undefined) return undefined;
  const at = wordAt(source, position);
  const variable = variableAt(view, file, position);
  const held = variable === undefined ? undefined : variableText(view, file, variable);
  if (at?.word === undefined) return held;
  const { block, word } = at;
  const markdown = wordText(view, file, block, word, images);
  if (markdown === undefined) return held;
  // A variable within a word is what the pointer is on; what the word does with it follows.
  if (held !== undefined) return { ...held, markdown: `${held.markdown}\n\n---\n\n${markdown}` };
  return { markdown, line: position.line, start: word.start, end: word.end };
}

/** Values of a variable that a hover lists; of a loop the first ones are enough to see how it counts. */
const MOST_VALUES = 8;

/** The variable under a position; undefined where none is named by its number. */
function variableAt(view: View, file: string, position: Position): Occurrence | undefined {
  const { profile, run } = view.analysis;
  // Names of variables do not hang on other files.
  const near = { sources: run.sources, profile, fileOf: () => undefined, byFileName: () => false };
  const at = nameAt(near, file, position);
  return at?.name.kind === "variable" ? at : undefined;
}

/** What a variable held when its block ran: before the block where it is read, after it where it is set. */
function variableText(view: View, file: string, { name, place, write }: Occurrence): HoverText | undefined {
  const { run } = view.analysis;
  if (name.kind !== "variable") return undefined;
  const { line, column, endColumn } = place.range;
  const values: Value[] = [];
  for (const index of view.stepsOf(file, line)) {
    const held = run.variables?.get(index);
    const block = run.steps[index]?.block;
    if (held === undefined || block === undefined) continue;
    const value = write
      ? held.given[block.assignments.findIndex((a) => a.start === column)]
      : held.read.find(([number]) => number === name.number)?.[1];
    if (value !== undefined) values.push(value);
  }
  if (values.length === 0) return undefined;
  const words = values.map((v) => (v === null ? say("hover.empty") : Number.isNaN(v) ? say("not-known") : decimal(v, 4)));
  const one = words.every((w) => w === words[0]);
  const list = one ? (words[0] ?? "") : `${words.slice(0, MOST_VALUES).join(", ")}${words.length > MOST_VALUES ? " …" : ""}`;
  const head = say("hover.variable", { number: name.number, values: list });
  const runs = one ? "" : `\n\n${say("hover.variable-runs", { count: values.length })}`;
  return { markdown: `${head}${runs}`, line, start: column, end: endColumn };
}

function wordText(view: View, file: string, block: Block, word: Word, images: boolean): string | undefined {
  const steps = view.stepsOf(file, block.line);
  const step = view.analysis.run.steps[steps[0] ?? -1];
  const value = valueIn(step, block, word);
  const offsets = offsetsAt(view, file, block, word);
  if (offsets.length > 1) return manyOffsets(view, offsets, steps.length);
  if (offsets[0] !== undefined) return offsetText(view, offsets[0], block, word, images);
  switch (word.letter) {
    case "G":
    case "M":
      return codeText(view, word, value);
    case "T":
      return toolText(view, value);
    case "H":
    case "D":
      return registerText(view, word.letter, value);
    case "P":
    case "Q":
    case "L":
      return callText(view, file, block, word) ?? parameterText(view, block, word, step?.after.motion, value);
    case "F":
    case "S":
      return step === undefined ? undefined : feedText(view, steps, word);
    default:
      return AXES.includes(word.letter) ? motionText(view, steps, word, value) : undefined;
  }
}

/** The work offset that a G or P word of a block selects or, with G10, writes, the first time that the block runs. */
export function offsetAt(view: View, file: string, block: Block, word: Word): string | undefined {
  return offsetOfStep(view, view.stepsOf(file, block.line)[0], block, word);
}

/** The same for every time that the block runs: a computed number selects one after the other. Each is named once, in that order. */
export function offsetsAt(view: View, file: string, block: Block, word: Word): readonly string[] {
  if (word.letter !== "G" && word.letter !== "P") return [];
  const steps = view.stepsOf(file, block.line);
  const computed = block.words.some((w) => (w.letter === "G" || w.letter === "P" || w.letter === "L") && w.expr !== undefined);
  if (!computed || steps.length < 2) {
    const key = offsetOfStep(view, steps[0], block, word);
    return key === undefined ? [] : [key];
  }
  return [...new Set(steps.flatMap((step) => offsetOfStep(view, step, block, word) ?? []))];
}

function offsetOfStep(view: View, index: number | undefined, block: Block, word: Word): string | undefined {
  const { profile, run } = view.analysis;
  const step = run.steps[index ?? -1];
  if (word.letter !== "G" && word.letter !== "P") return undefined;
  const pWord = block.words.find((w) => w.letter === "P");
  const p = pWord === undefined ? undefined : valueIn(step, block, pWord);
  const codes = block.words.filter((w) => w.letter === "G");
  if (codes.some((w) => codeOf(w, valueIn(step, block, w)) === "G10")) {
    if (word.letter !== "P") return undefined;
    const write =
      run.writes.find((x) => x.step === index && index !== undefined) ?? run.writes.find((x) => run.steps[x.step]?.block === block);
    return write?.register;
  }
  for (const code of codes) {
    const key = offsetOf(codeOf(code, valueIn(step, block, code)), p, profile);
    if (key === undefined || (word.letter === "G" && word !== code)) continue;
    return key;
  }
  return undefined;
}

/** The offsets that a block selects one after the other, each with what stands there. */
function manyOffsets(view: View, keys: readonly string[], runs: number): string {
  const { fixture } = view.analysis;
  const lines = keys.slice(0, 24).map((key) => {
    const stations = fixture?.stationsOf(key) ?? [];
    const where = stations.map((s) => `${s.id} · ${s.partName ?? s.part} · ${s.op}`).join(", ");
    const note = where !== "" ? where : (fixture?.datums.get(key) ?? "");
    return `- **${plain(view.offsetName(key))}**${note === "" ? "" : ` · ${plain(note)}`}`;
  });
  const more = keys.length > 24 ? `\n- ${say("more-lines", { count: keys.length - 24 })}` : "";
  return `${say("hover.many-offsets", { runs, count: keys.length })}\n\n${lines.join("\n")}${more}`;
}

function offsetText(view: View, key: string, block: Block, word: Word, images: boolean): string {
  const { fixture, profile, run } = view.analysis;
  const spelled = block.words
    .filter((w) => w === word || w.letter === "P")
    .map((w) => `${w.letter}${Number.isNaN(w.value) ? "…" : decimal(w.value, 3)}`);
  const marks = { word: plain(spelled.join(" ")), dialect: profile.name };
  if (key === "absent-p") return say("hover.needs-p", marks);
  if (key === "out-of-range") return say("hover.no-register", marks);
  if (key === "shift") return say("hover.shift");
  if (key.includes(":")) return say("hover.tool-register", { register: plain(key.replace(":", " ")) });
  const name = view.offsetName(key);
  if (fixture === undefined) {
    const visits = run.visits.filter((v) => v.offset === key).length;
    return say("hover.no-sidecar", { offset: plain(name), visits });
  }
  const stations = fixture.stationsOf(key);
  if (stations.length > 0) return stations.map((s) => stationCard(fixture, s, view, images)).join("\n\n---\n\n");
  const datum = fixture.datums.get(key);
  if (datum !== undefined) return say("hover.datum", { offset: plain(name), note: plain(datum) });
  const list = fixture.stations.filter((s) => s.offsetName !== undefined).slice(0, 24);
  const stranger = say("hover.stranger", { offset: plain(name) });
  return `${stranger}\n\n${say("hover.stations", { list: list.map((s) => `${plain(s.id)} ${plain(s.offsetName ?? "")}`).join(", ") })}`;
}

function codeText(view: View, word: Word, value: number): string {
  const code = codeOf(word, value);
  const { profile } = view.analysis;
  const info = profile.codes.get(code);
  const notes = dialectDifferences(code);
  const head = info === undefined ? say("hover.no-code", { code, dialect: profile.name }) : `**${code}** · ${plain(told(info.meaning))}`;
  const group =
    info === undefined
      ? ""
      : info.group === "0"
        ? `\n\n${say("hover.own-block")}`
        : `\n\n${say("hover.group", { group: plain(told(info.group)) })}`;
  const use = info?.use === "ignored" ? say("hover.ignored") : info?.use === "opaque" ? say("hover.opaque") : "";
  const differs = notes.length === 0 ? "" : `\n\n${say("dialects.differ")}\n\n${notes.map((n) => `- ${plain(n)}`).join("\n")}`;
  return `${head}${group}${use}${differs}`;
}

function toolText(view: View, number: number): string {
  const { fixture, run } = view.analysis;
  const visits = run.visits.filter((v) => v.tool === number);
  const tool = fixture?.tools.get(number);
  const parts: string[] = [];
  if (tool === undefined) {
    const why = fixture === undefined ? "hover.why-no-sidecar" : fixture.hasTools ? "hover.why-no-tool" : "hover.why-no-tools";
    parts.push(say("hover.tool-unknown", { tool: decimal(number, 0), why: say(why) }));
  } else {
    parts.push(`**T${number}** · ${plain(tool.name ?? tool.kind ?? say("tool"))}`);
    const units = fixture?.units ?? "mm";
    const sizes: [string, number, boolean][] = [
      [say("hover.dc"), tool.DC, true],
      [say("hover.re"), tool.RE, true],
      [say("hover.apmx"), tool.APMX, true],
      [say("hover.lf"), tool.LF, true],
      [say("hover.sig"), tool.SIG, false],
      [say("hover.reach"), tool.reach, true],
    ];
    const rows = sizes
      .filter(([, v]) => !Number.isNaN(v) && v !== 0)
      .map(([name, v, isLength]) => [name, isLength ? renderLength(v, units) : `${decimal(v, 3)}°`]);
    rows.push([say("hover.registers"), `H${tool.H.join(", H")}${tool.D.length > 0 ? ` · D${tool.D.join(", D")}` : ""}`]);
    parts.push(table(["", ""], rows));
  }
  if (visits.length > 0) {
    const stations = [
      ...new Set(
        visits.map((v) => (v.station < 0 ? view.offsetName(v.offset) : (fixture?.stations[v.station]?.id ?? view.offsetName(v.offset)))),
      ),
    ];
    const known = visits.map((v) => v.seconds).filter((s) => !Number.isNaN(s));
    const time = known.length === 0 ? "" : `, ${renderSeconds(known.reduce((a, b) => a + b, 0))}`;
    parts.push(say("hover.visits", { stations: stations.map(plain).join(", "), time }));
  }
  return parts.join("\n\n");
}

function registerText(view: View, letter: "H" | "D", number: number): string {
  const { fixture } = view.analysis;
  const owners = [...(fixture?.tools.values() ?? [])].filter((t) => t[letter].includes(number));
  const what = say(letter === "H" ? "hover.length-register" : "hover.radius-register");
  if (owners.length === 0) return say("hover.register-free", { register: `${letter}${decimal(number, 0)}`, what });
  const units = fixture?.units ?? "mm";
  const list = owners.map((t) => {
    const size = letter === "H" ? t.LF : t.DC / 2;
    return `T${t.number}${t.name === undefined ? "" : ` ${plain(t.name)}`}${Number.isNaN(size) ? "" : `: ${renderLength(size, units)}`}`;
  });
  return say("hover.register", { register: `${letter}${number}`, what, tools: list.join("; ") });
}

/** The program that a block calls, as it was run. */
function callText(view: View, file: string, block: Block, word: Word): string | undefined {
  const { run, profile } = view.analysis;
  const call = callOf(block, profile);
  if (call?.p !== word || call.code === "M99") return undefined;
  const indices = view.stepsOf(file, block.line);
  const made = indices.filter((index) => run.steps[index + 1]?.call.caller === index);
  const callee = run.steps[(made[0] ?? -2) + 1];
  const target = callee === undefined ? undefined : run.sources[callee.source];
  if (callee === undefined || target === undefined) return undefined;
  const { program, kind } = callee.call;
  const part = kind === "local" ? undefined : target.parts.find((p) => p.number === program);
  const title = part?.title;
  const elsewhere = target.file === file ? "" : say("hover.in-file", { file: plain(baseName(target.file)) });
  const name = kind === "local" ? `N${program}` : `O${program}`;
  const times = made.length > 1 ? say("hover.calls", { count: made.length }) : "";
  const where = `${title === undefined ? "" : ` · ${plain(title)}`}${elsewhere}`;
  return `${say("hover.called", { name, where, line: (part?.line ?? callee.block.line) + 1 })}${times}`;
}

/** What a P, Q or L means in the cycle of its block. */
function parameterText(view: View, block: Block, word: Word, motion: string | undefined, value: number): string | undefined {
  const { profile } = view.analysis;
  const codes = block.words.filter((w) => w.letter === "G").map((w) => codeOf(w, w.value));
  if (codes.some((c) => profile.codes.get(c)?.group === "0" && profile.codes.get(c)?.takesAxes === true)) return undefined;
  const code = codes.find((c) => cycleParameters(c, []) !== undefined) ?? motion;
  const found = code === undefined ? undefined : cycleParameters(code, profile.repeatLetters)?.find((p) => p.letter === word.letter);
  return found === undefined
    ? undefined
    : `**${word.letter} ${Number.isNaN(value) ? say("not-known") : decimal(value, 4)}** · ${code}: ${found.text}`;
}

function feedText(view: View, steps: readonly number[], word: Word): string | undefined {
  const { run } = view.analysis;
  const modal = run.steps[steps[0] ?? -1]?.after;
  if (modal === undefined) return undefined;
  if (word.letter === "S")
    return Number.isNaN(modal.speed)
      ? undefined
      : say("hover.spindle", {
          speed: decimal(modal.speed, 1),
          sense: say(modal.spindle === "stopped" ? "hover.stopped" : modal.spindle === "cw" ? "hover.cw" : "hover.ccw"),
        });
  const move = steps
    .flatMap((s) => movesOf(run, run.steps[s] as NonNullable<(typeof run.steps)[number]>))
    .find((m) => !Number.isNaN(m.feed));
  const mode = say(modal.feedMode === 93 ? "hover.inverse-time" : modal.feedMode === 95 ? "hover.per-revolution" : "hover.per-minute");
  return move === undefined ? say("hover.feed", { mode }) : say("hover.feed-of", { mode, feed: decimal(move.feed, 1) });
}

/** Positions of the block's moves in the three frames, how long they take, and what they come near. */
function motionText(view: View, steps: readonly number[], word: Word, value: number): string | undefined {
  const { run, fixture, clearances } = view.analysis;
  const units = fixture?.units ?? "mm";
  const first = run.steps[steps[0] ?? -1];
  if (first === undefined) return undefined;
  const moves = movesOf(run, first);
  const last = moves.at(-1);
  const computed =
    word.expr === undefined || word.expr.kind === "number"
      ? ""
      : `${word.letter} = ${Number.isNaN(value) ? say("not-known") : decimal(value, 4)}\n\n`;
  if (last === undefined) return computed === "" ? undefined : computed;
  const rows = [
    [say("hover.from-zero"), ...coordinates(last.partTo, units)],
    [say("hover.machine"), ...coordinates(last.to, units)],
  ];
  // The machine's own display shows the spindle, a tool length above.
  if (!Number.isNaN(last.gaugeTo) && Math.abs(last.gaugeTo - last.to[2]) > 1e-9)
    rows.push([say("hover.machine-spindle"), ...coordinates([last.to[0], last.to[1], last.gaugeTo], units)]);
  const station = last.station < 0 ? undefined : fixture?.stations[last.station];
  // The station's frame is that of its base facing the tool; at another angle its axes point elsewhere.
  const faces = fixture?.machine.rotary === undefined || Math.abs(angleBetween(last.rotaryTo, station?.base.face ?? Number.NaN)) < 1e-6;
  if (station !== undefined && faces)
    rows.push([say("hover.station-frame", { station: plain(station.id) }), ...coordinates(toInner(station.frame, last.to), units)]);
  const where =
    station === undefined
      ? say("hover.under", { offset: plain(view.offsetName(last.modal.offset)) })
      : say("hover.at", { station: plain(station.id) });
  const kinds = [...new Set(moves.map(kindText))].join(", ");
  const seconds = moves.map((m) => m.seconds).filter((s) => !Number.isNaN(s));
  const time = seconds.length === 0 ? "" : `, ${renderSeconds(seconds.reduce((a, b) => a + b, 0))}`;
  const tool = Number.isNaN(last.modal.tool) ? "?" : last.modal.tool;
  const count = moves.length > 1 ? say("hover.moves", { count: moves.length }) : "";
  const head = `${computed}${say("hover.move", { kinds, where, tool, time })}${count}`;
  const parts = [head, table([say("hover.ends-at", { units }), "X", "Y", "Z"], rows)];
  parts.push(nearest(view, steps, fixture));
  if (steps.length > 1) parts.push(say("hover.runs", { count: steps.length }));
  if (clearances === undefined && fixture === undefined) parts.push(say("hover.unchecked"));
  return parts.filter((p) => p !== "").join("\n\n");
}

function kindText(move: Move): string {
  if (move.role === "reference") return say("move.reference");
  if (move.role === "machine") return say("move.machine");
  return say(move.kind === "arc" && Math.abs(move.sweep) >= 360 ? "move.circle" : `move.${move.kind}`);
}

function coordinates(p: Vec3, units: "mm" | "inch"): string[] {
  return [0, 1, 2].map((k) => lengthNumber(p[k as 0 | 1 | 2], units));
}

/** The nearest solid over all times that the block runs. */
function nearest(view: View, steps: readonly number[], fixture: Fixture | undefined): string {
  const { clearances, run } = view.analysis;
  if (clearances === undefined || fixture === undefined) return "";
  let best: { distance: number; text: string } | undefined;
  let unchecked = 0;
  for (const index of steps) {
    const step = run.steps[index];
    if (step === undefined) continue;
    for (let m = step.firstMove; m < step.endMove; m++) {
      if (clearances.unchecked.has(m)) unchecked++;
      for (const contact of clearances.contactsOf(m)) {
        if (contact.solid.kind === "stock" || (best !== undefined && contact.distance >= best.distance)) continue;
        const solid = solidName(contact.solid.name);
        const owner = contact.solid.station < 0 ? undefined : (fixture.stations[contact.solid.station]?.id ?? "?");
        best = { distance: contact.distance, text: owner === undefined ? solid : say("of-station", { solid, station: owner }) };
      }
    }
  }
  const open = unchecked > 0 ? say("nearest.open", { count: unchecked }) : "";
  if (best === undefined) {
    const limit = Math.max(fixture.clearance.rapid, fixture.clearance.cut);
    return unchecked > 0 ? open : say("nearest.none", { limit: renderLength(limit, fixture.units) });
  }
  const distance = best.distance <= 0 ? say("nearest.touched") : renderLength(best.distance, fixture.units);
  return `${say("nearest.solid", { solid: plain(best.text), distance })} ${open}`.trimEnd();
}
