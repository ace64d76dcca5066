import type { TextChange } from "../engine/findings.js";
import type { Host } from "../engine/host.js";
import { runProgram } from "../engine/machine/machine.js";
import type { Move } from "../engine/machine/move.js";
import type { Run } from "../engine/machine/run.js";
import { parseSource } from "../engine/syntax/parse.js";
import { applyChanges } from "./edits.js";
import { lengthNumber } from "./text.js";
import { say } from "./texts.js";
import type { View } from "./view.js";

/** A program longer than this is not run again for the title of a fix: the answer would come too late. */
const MOST_STEPS = 20_000;

/** Files as they would be after some changes. */
function hostAfter(host: Host, changes: readonly TextChange[]): Host {
  const byFile = new Map<string, TextChange[]>();
  for (const change of changes) {
    const list = byFile.get(change.place.file);
    if (list === undefined) byFile.set(change.place.file, [change]);
    else list.push(change);
  }
  return {
    read(path) {
      const text = host.read(path);
      const own = byFile.get(path);
      return text === undefined || own === undefined ? text : applyChanges(text, own);
    },
    list: (folder) => host.list(folder),
  };
}

/**
 * Runs the program of a view with files as another host has them. Undefined for a program that is too long to run while a
 * person waits. The sidecar stays as it is.
 */
function runAgain(view: View, host: Host, blockSkip = false): Run | undefined {
  const { run, profile, fixture, program } = view.analysis;
  if (run.steps.length > MOST_STEPS) return undefined;
  const text = host.read(program);
  if (text === undefined) return undefined;
  const slices = runProgram({
    main: parseSource(program, text, profile),
    host,
    profile,
    ...(fixture?.usable === true ? { fixture } : {}),
    blockSkip,
    bounds: {},
  });
  for (;;) {
    const step = slices.next();
    if (step.done === true) return step.value;
  }
}

const sameNumber = (a: number, b: number): boolean => Math.abs(a - b) < 1e-6 || (Number.isNaN(a) && Number.isNaN(b));

/** True when two moves are one: kind, way, centre, feed and what they run with. */
function sameMove(a: Move, b: Move): boolean {
  const points: [readonly number[], readonly number[]][] = [
    [a.from, b.from],
    [a.to, b.to],
    [a.partFrom, b.partFrom],
    [a.partTo, b.partTo],
    [a.centre ?? [], b.centre ?? []],
    [
      [a.gaugeFrom, a.gaugeTo, a.rotaryFrom, a.rotaryTo, a.sweep, a.feed, a.seconds],
      [b.gaugeFrom, b.gaugeTo, b.rotaryFrom, b.rotaryTo, b.sweep, b.feed, b.seconds],
    ],
  ];
  return (
    a.kind === b.kind &&
    a.role === b.role &&
    a.station === b.station &&
    a.modal.tool === b.modal.tool &&
    a.modal.offset === b.modal.offset &&
    a.modal.compensation === b.modal.compensation &&
    a.modal.spindle === b.modal.spindle &&
    sameNumber(a.modal.speed, b.modal.speed) &&
    points.every(([p, q]) => p.length === q.length && p.every((v, k) => sameNumber(v, q[k] as number)))
  );
}

/** True when two runs make the same moves in the same order. */
export function sameMotion(a: Run, b: Run): boolean {
  return a.moves.length === b.moves.length && a.moves.every((m, i) => sameMove(m, b.moves[i] as Move));
}

/**
 * What a change does to the motion, in a few words for a title: the first move that ends elsewhere, with the axes that
 * differ before and after (machine frame, the sidecar's units). Undefined where it cannot be told.
 */
export function effectOf(view: View, host: Host, changes: readonly TextChange[]): string | undefined {
  const { run, fixture } = view.analysis;
  const after = runAgain(view, hostAfter(host, changes));
  if (after === undefined) return undefined;
  const units = fixture?.units ?? "mm";
  const most = Math.min(run.moves.length, after.moves.length);
  for (let i = 0; i < most; i++) {
    const a = run.moves[i] as Move;
    const b = after.moves[i] as Move;
    const differ = ([0, 1, 2] as const).filter((k) => !sameNumber(a.to[k], b.to[k]));
    if (differ.length === 0) continue;
    const step = after.steps[b.step];
    const line = step === undefined ? "" : say("line.before", { line: step.block.line + 1 });
    const axes = differ.map((k) => `${"XYZ"[k]} ${lengthNumber(a.to[k], units)} → ${lengthNumber(b.to[k], units)}`);
    return `${line}${axes.join(", ")}`;
  }
  const more = after.moves.length - run.moves.length;
  if (Math.abs(more) === 1) return say(more > 0 ? "effect.one-more" : "effect.one-fewer");
  if (more !== 0) return say(more > 0 ? "effect.more" : "effect.fewer", { count: Math.abs(more) });
  return say(sameMotion(run, after) ? "effect.none" : "effect.same-ends");
}
