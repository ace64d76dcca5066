import { offsetDifference } from "../../fixture/offsets.js";
import { programAllows } from "../allow.js";
import type { RuleContext } from "../rule.js";
import { AXES, isOffsetWrite, stationsOfRegister, toleranceOf, wantedContent } from "./stored.js";

/** Stations by their index. */
export interface Blamed {
  has(station: number): boolean;
}

/** Rules that tell a work offset which does not hold what its station needs. */
const RULES: readonly string[] = ["offset-value", "offset-value-overwritten", "offset-register", "offset-incremental"];

const known = new WeakMap<RuleContext["run"], { readonly fixture: RuleContext["fixture"]; readonly blamed: Blamed }>();

/**
 * The stations whose work offset is told to be wrong, as it is stored or as a G10 block writes it. What the tool meets under such an
 * offset is no second fault; where none is told (a common shift that the program sets on purpose, a rule that the sidecar switches off,
 * a block with an ALLOW comment) it is the only one.
 */
export function blamedStations(cx: RuleContext): Blamed {
  const { fixture, run } = cx;
  const before = known.get(run);
  if (before !== undefined && before.fixture === fixture) return before.blamed;
  const blamed = new Set<number>();
  if (fixture !== undefined && fixture.levels.get("offset-value") !== "off") {
    for (const [key, stored] of fixture.stored) {
      for (const station of stationsOfRegister(cx, key)) {
        const off = offsetDifference(fixture, station, stored.values);
        if (AXES.some((axis) => Math.abs(off[axis] ?? 0) > toleranceOf(fixture, axis) + 1e-6)) blamed.add(station.index);
      }
    }
    const waived = new Map<number, ReadonlySet<number>>();
    for (const write of run.writes) {
      const step = run.steps[write.step];
      if (step === undefined || !isOffsetWrite(write)) continue;
      const lines = waived.get(step.source) ?? waivedLines(cx, step.source);
      waived.set(step.source, lines);
      if (lines.has(step.block.line)) continue;
      for (const station of stationsOfRegister(cx, write.register)) {
        const wrong = AXES.some((axis) => {
          const result = write.axes.get(axis)?.result ?? Number.NaN;
          return Math.abs(result - (wantedContent(cx, station, axis, write.step) ?? Number.NaN)) > toleranceOf(fixture, axis) + 1e-6;
        });
        if (wrong) blamed.add(station.index);
      }
    }
  }
  known.set(run, { fixture, blamed });
  return blamed;
}

/** Lines of a source on which what is said of a written offset is waived, with its reason. */
function waivedLines({ run }: RuleContext, source: number): ReadonlySet<number> {
  const by = run.sources[source];
  const allows = by === undefined ? [] : programAllows(by);
  return new Set(allows.flatMap((a) => (a.reason !== undefined && a.rules.some((id) => RULES.includes(id)) ? a.lines : [])));
}
