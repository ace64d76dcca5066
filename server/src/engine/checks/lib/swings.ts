import type { Related } from "../../findings.js";
import { foldByCause } from "../report.js";
import type { Report, RuleContext } from "../rule.js";
import { swingVerdict } from "./index-sweep.js";
import { stepOf } from "./speak.js";
import { solidWords, toolWords } from "./words.js";

/** Texts of related places and of what was not checked that both index rules share. */
export const SWING_TEXTS = {
  "related.also-at": "also here",
  "what.index": "the swing of the work at line {line}",
} as const;

/** Reports the turns of the work with the tool inside the swing: those of the rotary axis alone, or those combined with a rapid. */
export function* reportSwings(cx: RuleContext, which: "turn" | "combined"): Generator<void, void, void> {
  const { run, fixture } = cx;
  if (fixture?.machine.rotary === undefined) return;
  const reports: (Report & { cause: string })[] = [];
  for (let n = 0; n < run.moves.length; n++) {
    const move = run.moves[n];
    if (move === undefined || move.kind !== "index") continue;
    const shifts = move.from.some((v, k) => Math.abs(v - (move.to[k] as number)) > 1e-9);
    const combined = shifts && move.modal.motion === "G0";
    if (combined !== (which === "combined")) continue;
    yield;
    const verdict = swingVerdict(fixture, move);
    const step = run.steps[move.step];
    if (step === undefined || verdict.kind === "clear") continue;
    if (verdict.kind === "unknown") {
      cx.notChecked({ key: "what.index", args: { line: step.block.line + 1 } }, { key: verdict.why, args: {} });
      continue;
    }
    const before = stepOf(run, n - 1);
    const related: Related[] =
      before === undefined || before === step ? [] : [{ place: cx.blockPlace(before), message: { key: "related.before", args: {} } }];
    const station = cx.stationOf(move)?.id;
    const from = move.partFrom.map((v) => (Number.isNaN(v) ? "?" : Math.round(v * 100))).join(",");
    reports.push({
      at: cx.blockPlace(step),
      ...(verdict.distance === 0 ? {} : { key: "near" }),
      args: {
        station: station ?? cx.offsetName(move.modal.offset),
        tool: toolWords(cx, move.modal.tool),
        solid: solidWords(cx, verdict.solid, -1),
        angle: { deg: move.rotaryTo },
        distance: { mm: verdict.distance },
        clearance: { mm: fixture.clearance.index },
      },
      ...(station === undefined ? {} : { station }),
      related,
      data: {
        distance: verdict.distance,
        solid: verdict.solid.name,
        angle: verdict.angle,
        swingRadius: verdict.radius,
        tool: move.modal.tool,
      },
      step: move.step,
      cause: `${move.modal.tool}|${from}`,
    });
  }
  for (const report of foldByCause(reports, "related.also-at")) cx.report(report);
}
