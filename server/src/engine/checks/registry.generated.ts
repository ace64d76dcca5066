// Made by server/generate.mjs from the files of this folder; do not edit.
import { allowUnused } from "./allow-unused.js";
import { approachLow } from "./approach-low.js";
import { approachStaleAxis } from "./approach-stale-axis.js";
import { baseDrilled } from "./base-drilled.js";
import { callEndless } from "./call-endless.js";
import { callTarget } from "./call-target.js";
import { clampCut } from "./clamp-cut.js";
import { clampNear } from "./clamp-near.js";
import { clampRapid } from "./clamp-rapid.js";
import { codeUnknown } from "./code-unknown.js";
import { compensationLeft } from "./compensation-left.js";
import { cycleLeft } from "./cycle-left.js";
import { feedUnset } from "./feed-unset.js";
import { fixtureFormat } from "./fixture-format.js";
import { fixtureGrip } from "./fixture-grip.js";
import { fixtureNotch } from "./fixture-notch.js";
import { fixtureOffGrid } from "./fixture-off-grid.js";
import { fixtureOverlap } from "./fixture-overlap.js";
import { fixtureRegisterShared } from "./fixture-register-shared.js";
import { fixtureReversible } from "./fixture-reversible.js";
import { fixtureTravel } from "./fixture-travel.js";
import { fixtureZeroMixed } from "./fixture-zero-mixed.js";
import { holderReach } from "./holder-reach.js";
import { incrementalLeft } from "./incremental-left.js";
import { indexCombined } from "./index-combined.js";
import { lengthMismatch } from "./length-mismatch.js";
import { lengthMissing } from "./length-missing.js";
import { machineMoveOnce } from "./machine-move-once.js";
import { neighbourCut } from "./neighbour-cut.js";
import { offsetIncremental } from "./offset-incremental.js";
import { offsetInherited } from "./offset-inherited.js";
import { offsetMissingAxis } from "./offset-missing-axis.js";
import { offsetRegister } from "./offset-register.js";
import { offsetSeries } from "./offset-series.js";
import { offsetUnmapped } from "./offset-unmapped.js";
import { offsetValueOverwritten } from "./offset-value-overwritten.js";
import { offsetValue } from "./offset-value.js";
import { pointMissing } from "./point-missing.js";
import { retractBeforeIndex } from "./retract-before-index.js";
import { retractBeforeOffset } from "./retract-before-offset.js";
import { retractReturnLevel } from "./retract-return-level.js";
import { returnThroughPoint } from "./return-through-point.js";
import { shiftEverywhere } from "./shift-everywhere.js";
import { shiftLeft } from "./shift-left.js";
import { skipPartial } from "./skip-partial.js";
import { stateIncomplete } from "./state-incomplete.js";
import { stationCount } from "./station-count.js";
import { stationDrift } from "./station-drift.js";
import { stationOutsidePart } from "./station-outside-part.js";
import { stationRepeated } from "./station-repeated.js";
import { stationSkipped } from "./station-skipped.js";
import { stationWrongFace } from "./station-wrong-face.js";
import { stationWrongOp } from "./station-wrong-op.js";
import { stockRapid } from "./stock-rapid.js";
import { subLeavesState } from "./sub-leaves-state.js";
import { syntax } from "./syntax.js";
import { transformLeft } from "./transform-left.js";
import { travelLimit } from "./travel-limit.js";
import { unitsUnstated } from "./units-unstated.js";
import type { Rule } from "./rule.js";

/** Every rule, by name. */
export const rules: readonly Rule[] = [
  allowUnused,
  approachLow,
  approachStaleAxis,
  baseDrilled,
  callEndless,
  callTarget,
  clampCut,
  clampNear,
  clampRapid,
  codeUnknown,
  compensationLeft,
  cycleLeft,
  feedUnset,
  fixtureFormat,
  fixtureGrip,
  fixtureNotch,
  fixtureOffGrid,
  fixtureOverlap,
  fixtureRegisterShared,
  fixtureReversible,
  fixtureTravel,
  fixtureZeroMixed,
  holderReach,
  incrementalLeft,
  indexCombined,
  lengthMismatch,
  lengthMissing,
  machineMoveOnce,
  neighbourCut,
  offsetIncremental,
  offsetInherited,
  offsetMissingAxis,
  offsetRegister,
  offsetSeries,
  offsetUnmapped,
  offsetValueOverwritten,
  offsetValue,
  pointMissing,
  retractBeforeIndex,
  retractBeforeOffset,
  retractReturnLevel,
  returnThroughPoint,
  shiftEverywhere,
  shiftLeft,
  skipPartial,
  stateIncomplete,
  stationCount,
  stationDrift,
  stationOutsidePart,
  stationRepeated,
  stationSkipped,
  stationWrongFace,
  stationWrongOp,
  stockRapid,
  subLeavesState,
  syntax,
  transformLeft,
  travelLimit,
  unitsUnstated,
];
