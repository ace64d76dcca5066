import type { CodeInfo } from "../dialect/profile.js";
import { makeUnknown, rotaryTargets, target } from "./axes.js";
import {
  change,
  isPublished,
  isUncertain,
  type Machine,
  note,
  noteNotChecked,
  noteUnknownCode,
  refuseUnderCompensation,
  settle,
  unitScale,
  unsettle,
} from "./core.js";
import { executeCycle } from "./cycle-blocks.js";
import { isCycleCode } from "./cycles.js";
import { arc, closePipe, index as indexMove, isFlipped, PLANE_AXES, stay, straight } from "./motion.js";
import type { Plan } from "./plan.js";
import { losePreset } from "./register-blocks.js";
import { KNOWN } from "./symbols.js";
import { BIT, CENTRE, type Code, dimension, LINEAR, ROTARY, type Words } from "./words.js";

/** True where the block made, or could have made, a motion. */
export function executeMotion(cx: Machine, words: Words, plan: Plan): boolean {
  const { mask } = words;
  if (plan.cycleOff) cancelCycle(cx);
  let code = plan.motion?.code;
  const taken =
    plan.register !== undefined || plan.dwell || plan.transforms.some((t) => t.code !== "G15" && t.code !== "G16" && t.code !== "G69");
  const axes = taken ? 0 : mask & (LINEAR | ROTARY);
  for (const { code: opaque, info, group } of plan.opaque) executeOpaque(cx, words, opaque, info, group, axes);
  if (axes !== 0 && plan.opaque.some(claimsAxes) && (code === undefined || !isCycleCode(code))) {
    // A motion code beside it is in force from here on, though this block's motion is not known.
    if (code !== undefined && !plan.opaque.some((o) => o.group === "motion" || o.group === "cycle")) {
      settle(cx, "motion");
      setMotion(cx, code);
    }
    return true;
  }
  if (words.corner !== undefined) noteUnknownCode(cx, words.corner.letter, words.corner);
  if (code !== undefined) {
    settle(cx, "motion");
    if (isCycleCode(code)) {
      executeCycle(cx, words, code, axes, taken);
      return true;
    }
    setMotion(cx, code);
  } else {
    code = cx.state.modal.motion;
  }
  if (plan.machine) {
    machineMove(cx, words);
    return axes !== 0;
  }
  if (isUncertain(cx.state.modal, "motion") && axes !== 0) {
    stay(cx);
    for (let axis = 0; axis < 3; axis++) if ((axes & (1 << (23 + axis))) !== 0) makeUnknown(cx, axis);
    for (let axis = 0; axis < 3; axis++) if ((axes & (1 << axis)) !== 0) cx.state.rotary[axis] = Number.NaN;
    cx.state.at = [...cx.to];
    cx.state.anchor = [...cx.toAnchor];
    noteNotChecked(cx, { key: "what.motion", args: { line: cx.block.line + 1 } }, { key: "why.motion-code", args: {} });
    return true;
  }
  if (cx.state.cycle !== undefined && isCycleCode(code)) {
    if (axes === 0 && (mask & BIT.R) === 0) return false;
    if (taken) return false;
    executeCycle(cx, words, code, axes, taken);
    return true;
  }
  if (code === "G2" || code === "G3") {
    if (taken || (mask & (LINEAR | ROTARY | CENTRE | BIT.R)) === 0) return false;
    if ((mask & ROTARY) === 0) {
      if (isPublished(cx) && cx.state.modal.feedMode === 93 && (mask & BIT.F) === 0) note(cx, "syntax", "feed-inverse-missing", {});
      executeArc(cx, words, code === "G2", plan.call !== undefined || plan.offset !== undefined);
      return true;
    }
  }
  if (axes === 0) return false;
  if (isPublished(cx) && cx.state.modal.feedMode === 93 && code === "G1" && (mask & BIT.F) === 0)
    note(cx, "syntax", "feed-inverse-missing", {});
  if (code === "G80") {
    note(cx, "syntax", "axes-without-motion", {});
    target(cx, words);
    for (let axis = 0; axis < 3; axis++) if ((axes & (1 << (23 + axis))) !== 0) makeUnknown(cx, axis);
    cx.state.at = [...cx.to];
    cx.state.anchor = [...cx.toAnchor];
    return true;
  }
  const angles = (axes & ROTARY) !== 0 ? rotaryTargets(cx, words) : undefined;
  target(cx, words);
  if (angles !== undefined) indexMove(cx, angles, "plain");
  else straight(cx, code === "G0" ? "rapid" : "feed", "plain");
  if (words.corner !== undefined) {
    // A rounded or broken corner ends the move before the programmed point; by how much is not worked out here.
    for (let axis = 0; axis < 2; axis++) cx.state.anchor[axis] = cx.symbols.fresh();
  }
  return true;
}

function setMotion(cx: Machine, code: string): void {
  const { state } = cx;
  if (code !== "G80") state.group1 = code;
  state.cycle = undefined;
  if (state.modal.motion !== code) change(cx, { motion: code });
}

function cancelCycle(cx: Machine): void {
  const { state } = cx;
  state.cycle = undefined;
  // Where G80 is a motion code of its own, it stands until another is given; elsewhere the one before comes back.
  const published = cx.profile.codes.get("G80")?.group === "motion";
  const motion = published ? "G80" : state.group1;
  if (state.modal.motion !== motion) change(cx, { motion });
}

/** True where the axis words of the block may belong to a code whose effect is not known. */
function claimsAxes(opaque: { readonly info: CodeInfo | undefined; readonly group: string | undefined }): boolean {
  const { info, group } = opaque;
  if (info !== undefined) return info.takesAxes || group === "motion";
  return group === undefined || group === "0" || group === "motion" || group === "cycle";
}

/** A code whose effect is not known: what it names is not known afterwards. */
function executeOpaque(cx: Machine, words: Words, code: Code, info: CodeInfo | undefined, group: string | undefined, axes: number): void {
  if (group === "offset" || group === "tool-offset") {
    closePipe(cx);
    unsettle(cx, "offset");
    cx.setting = undefined;
  } else if (group === "length") {
    unsettle(cx, "length");
    cx.setting = undefined;
  } else if (group === "speed") {
    if ((words.mask & BIT.S) === 0) change(cx, { speed: Number.NaN });
    return;
  } else if (group === "rotation" || group === "mirror" || group === "scaling" || group === "polar") {
    closePipe(cx);
    unsettle(cx, "transform");
  } else if (group === "centre" || group === "units") {
    unsettle(cx, group);
  } else if (group === "plane" || group === "feed" || group === "distance" || group === "compensation") {
    unsettle(cx, group === "feed" ? "feedMode" : group === "distance" ? "absolute" : group);
  }
  if (/^G92\.[1-3]$/.test(code.code)) losePreset(cx);
  if (axes === 0 || !claimsAxes({ info, group })) return;
  closePipe(cx);
  stay(cx);
  for (let axis = 0; axis < 3; axis++) if ((axes & (1 << (23 + axis))) !== 0) makeUnknown(cx, axis);
  for (let axis = 0; axis < 3; axis++) if ((axes & (1 << axis)) !== 0) cx.state.rotary[axis] = Number.NaN;
  cx.state.at = [...cx.to];
  cx.state.anchor = [...cx.toAnchor];
  if (info === undefined || group === "motion" || group === "cycle") {
    cx.state.cycle = undefined;
    unsettle(cx, "motion");
  }
  noteNotChecked(
    cx,
    { key: "what.motion-of", args: { line: cx.block.line + 1, code: code.code } },
    { key: "why.opaque", args: { code: code.code } },
  );
}

function machineMove(cx: Machine, words: Words): void {
  const { modal } = cx.state;
  const scale = unitScale(cx);
  refuseUnderCompensation(cx, "compensation-reference", { code: "G53" });
  closePipe(cx);
  if (modal.motion !== "G0" && modal.motion !== "G1" && isPublished(cx)) note(cx, "syntax", "machine-motion", {});
  const kind = modal.motion === "G0" ? "rapid" : "feed";
  stay(cx);
  const angles: (number | undefined)[] = [0, 1, 2].map((a) => ((words.mask & (1 << a)) === 0 ? undefined : dimension(cx, words, 1 << a)));
  for (let axis = 0; axis < 3; axis++) {
    const value = dimension(cx, words, 1 << (23 + axis));
    if (value === undefined) continue;
    if (Number.isNaN(value) || isUncertain(modal, "units")) makeUnknown(cx, axis);
    else {
      cx.to[axis] = value * scale;
      cx.toAnchor[axis] = KNOWN;
    }
  }
  if ((words.mask & ROTARY) !== 0) {
    for (let axis = 0; axis < 3; axis++)
      if (angles[axis] !== undefined) cx.rotaryLetter ??= String.fromCharCode(65 + axis) as "A" | "B" | "C";
    indexMove(cx, angles, "machine");
  } else if ((words.mask & LINEAR) !== 0) straight(cx, kind, "machine");
}

function executeArc(cx: Machine, words: Words, clockwise: boolean, called: boolean): void {
  const { modal } = cx.state;
  const scale = unitScale(cx);
  const axes = PLANE_AXES[modal.plane];
  target(cx, words);
  const mm = (bit: number): number | undefined => {
    const value = dimension(cx, words, bit);
    return value === undefined ? undefined : value * scale;
  };
  let offsets: [number | undefined, number | undefined, number | undefined] = [mm(BIT.I), mm(BIT.J), mm(BIT.K)];
  let radius = mm(BIT.R);
  const flipped = isFlipped(cx);
  if (modal.rotation !== undefined || modal.mirror !== undefined || modal.scaling !== undefined) {
    const [a, b] = axes;
    const factor = modal.scaling ?? [1, 1, 1];
    if (modal.scaling !== undefined && Math.abs(factor[a] as number) !== Math.abs(factor[b] as number)) {
      note(cx, "syntax", "arc-scaled", {});
      offsets = [undefined, undefined, undefined];
      radius = Number.NaN;
    } else {
      const sign = (axis: number): number => (modal.mirror?.[axis] === true ? -1 : 1) * (factor[axis] as number);
      const i = offsets[a] === undefined ? undefined : offsets[a] * sign(a);
      const j = offsets[b] === undefined ? undefined : offsets[b] * sign(b);
      const angle = ((modal.rotation ?? 0) * Math.PI) / 180;
      if (i !== undefined || j !== undefined) {
        offsets[a] = (i ?? 0) * Math.cos(angle) - (j ?? 0) * Math.sin(angle);
        offsets[b] = (i ?? 0) * Math.sin(angle) + (j ?? 0) * Math.cos(angle);
      }
      if (radius !== undefined) radius *= Math.abs(factor[a] as number);
    }
  }
  // Some controls count the turns of a helix by P or L. A profile has no word for it, so the sweep is not known.
  const counted = !isPublished(cx) && !called && (words.mask & (BIT.P | BIT.L)) !== 0;
  if (counted) noteNotChecked(cx, { key: "what.motion", args: { line: cx.block.line + 1 } }, { key: "why.turns", args: {} });
  const turns = counted ? Number.NaN : undefined;
  const planeBits = (1 << (23 + axes[0])) | (1 << (23 + axes[1]));
  arc(cx, { offsets, radius, hasEnd: (words.mask & planeBits) !== 0, clockwise: clockwise !== flipped, turns });
}
