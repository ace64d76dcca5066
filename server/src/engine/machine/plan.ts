import { offsetOf } from "../dialect/offsets.js";
import type { CodeInfo, OrderStep } from "../dialect/profile.js";
import { builtInProfiles } from "../dialect/profiles.js";
import { type Machine, noteNotChecked, noteUnknownCode, unsettle } from "./core.js";
import { isCycleCode } from "./cycles.js";
import type { Code } from "./words.js";

/** What the codes of one block ask for, sorted by what they do. Reused from block to block. */
export interface Plan {
  todo: number;
  feedMode: 93 | 94 | 95 | 0;
  spindle: "cw" | "ccw" | undefined;
  spindleOff: boolean;
  change: boolean;
  plane: 17 | 18 | 19 | 0;
  units: "mm" | "inch" | undefined;
  compensation: 40 | 41 | 42 | 0;
  length: 43 | 44 | 49 | 0;
  offset: Code | undefined;
  absolute: boolean | undefined;
  returnLevel: 98 | 99 | 0;
  /** Non-modal code that is not G4, G53 or a call. */
  register: Code | undefined;
  machine: boolean;
  motion: Code | undefined;
  cycleOff: boolean;
  dwell: boolean;
  call: Code | undefined;
  stop: Code | undefined;
  transforms: Code[];
  /** Codes whose effect is not known. */
  opaque: { readonly code: Code; readonly info: CodeInfo | undefined; readonly group: string | undefined }[];
  modalCall: Code | undefined;
}

export const STEP_BITS: Readonly<Record<OrderStep, number>> = {
  comment: 0,
  "feed-mode": 1 << 0,
  feed: 1 << 1,
  speed: 1 << 2,
  tool: 1 << 3,
  change: 1 << 4,
  "spindle-on": 1 << 5,
  "spindle-off": 1 << 6,
  coolant: 0,
  override: 0,
  dwell: 1 << 7,
  plane: 1 << 8,
  units: 1 << 9,
  compensation: 1 << 10,
  length: 1 << 11,
  offset: 1 << 12,
  "path-control": 0,
  distance: 1 << 13,
  "return-level": 1 << 14,
  "reference-and-registers": 1 << 15,
  motion: 1 << 16,
  call: 1 << 17,
  stop: 1 << 18,
};

/** An empty plan. */
export function createPlan(): Plan {
  return {
    todo: 0,
    feedMode: 0,
    spindle: undefined,
    spindleOff: false,
    change: false,
    plane: 0,
    units: undefined,
    compensation: 0,
    length: 0,
    offset: undefined,
    absolute: undefined,
    returnLevel: 0,
    register: undefined,
    machine: false,
    motion: undefined,
    cycleOff: false,
    dwell: false,
    call: undefined,
    stop: undefined,
    transforms: [],
    opaque: [],
    modalCall: undefined,
  };
}

/** Empties a plan for the next block. */
export function clearPlan(plan: Plan): void {
  plan.todo = 0;
  plan.feedMode = 0;
  plan.spindle = undefined;
  plan.spindleOff = false;
  plan.change = false;
  plan.plane = 0;
  plan.units = undefined;
  plan.compensation = 0;
  plan.length = 0;
  plan.offset = undefined;
  plan.absolute = undefined;
  plan.returnLevel = 0;
  plan.register = undefined;
  plan.machine = false;
  plan.motion = undefined;
  plan.cycleOff = false;
  plan.dwell = false;
  plan.call = undefined;
  plan.stop = undefined;
  plan.transforms.length = 0;
  plan.opaque.length = 0;
  plan.modalCall = undefined;
}

/** Puts one code where it belongs. */
export function sortCode(cx: Machine, code: Code, plan: Plan): void {
  const info = cx.profile.codes.get(code.code);
  if (info === undefined) {
    const offset = offsetOf(code.code, undefined, cx.profile);
    if (offset !== undefined) {
      plan.offset = code;
      plan.todo |= STEP_BITS.offset;
      return;
    }
    if (!code.code.endsWith("?")) noteUnknownCode(cx, code.code, code.word);
    else
      noteNotChecked(
        cx,
        { key: "what.code", args: { line: cx.block.line + 1, letter: code.word.letter } },
        { key: "why.code-value", args: {} },
      );
    if (code.word.letter === "G") plan.opaque.push({ code, info, group: likelyGroup(code.code) });
    else if (likelyGroup(code.code) === "spindle") unsettle(cx, "spindle");
    return;
  }
  if (info.use === "ignored") return;
  if (info.use === "opaque") {
    plan.opaque.push({ code, info, group: info.group });
    return;
  }
  switch (code.code) {
    case "G0":
    case "G1":
    case "G2":
    case "G3":
      // A cycle that stands in the same block is the motion of the block.
      if (plan.motion === undefined || !isCycleCode(plan.motion.code)) plan.motion = code;
      return;
    case "G80":
      plan.cycleOff = true;
      plan.todo |= STEP_BITS.motion;
      return;
    case "G4":
      plan.dwell = true;
      plan.todo |= STEP_BITS.dwell;
      return;
    case "G10":
    case "G28":
    case "G30":
    case "G52":
    case "G92":
    case "G92.1":
    case "G92.2":
    case "G92.3":
      plan.register = code;
      plan.todo |= STEP_BITS["reference-and-registers"];
      return;
    case "G15":
    case "G16":
    case "G50":
    case "G51":
    case "G50.1":
    case "G51.1":
    case "G68":
    case "G69":
      plan.transforms.push(code);
      plan.todo |= STEP_BITS["reference-and-registers"];
      return;
    case "G17":
    case "G18":
    case "G19":
      plan.plane = Number(code.code.slice(1)) as 17 | 18 | 19;
      plan.todo |= STEP_BITS.plane;
      return;
    case "G20":
    case "G70":
      plan.units = "inch";
      plan.todo |= STEP_BITS.units;
      return;
    case "G21":
    case "G71":
      plan.units = "mm";
      plan.todo |= STEP_BITS.units;
      return;
    case "G40":
    case "G41":
    case "G42":
      plan.compensation = Number(code.code.slice(1)) as 40 | 41 | 42;
      plan.todo |= STEP_BITS.compensation;
      return;
    case "G43":
    case "G44":
    case "G49":
      plan.length = Number(code.code.slice(1)) as 43 | 44 | 49;
      plan.todo |= STEP_BITS.length;
      return;
    case "G53":
      plan.machine = true;
      plan.todo |= STEP_BITS.motion;
      return;
    case "G65":
    case "M97":
    case "M98":
    case "M99":
      plan.call = code;
      return;
    case "G66":
    case "G67":
      plan.modalCall = code;
      return;
    case "G90":
    case "G91":
      plan.absolute = code.code === "G90";
      plan.todo |= STEP_BITS.distance;
      return;
    case "G93":
    case "G94":
    case "G95":
      plan.feedMode = Number(code.code.slice(1)) as 93 | 94 | 95;
      plan.todo |= STEP_BITS["feed-mode"];
      return;
    case "G97":
      return;
    case "G98":
    case "G99":
      plan.returnLevel = Number(code.code.slice(1)) as 98 | 99;
      plan.todo |= STEP_BITS["return-level"];
      return;
    case "M0":
    case "M1":
    case "M60":
      return;
    case "M2":
    case "M30":
      plan.stop = code;
      return;
    case "M3":
    case "M13":
      plan.spindle = "cw";
      plan.todo |= STEP_BITS["spindle-on"];
      return;
    case "M4":
    case "M14":
      plan.spindle = "ccw";
      plan.todo |= STEP_BITS["spindle-on"];
      return;
    case "M5":
    case "M19":
      plan.spindleOff = true;
      plan.todo |= STEP_BITS["spindle-off"];
      return;
    case "M6":
      plan.change = true;
      plan.todo |= STEP_BITS.change;
      return;
    default:
      if (isCycleCode(code.code)) {
        plan.motion = code;
        return;
      }
      if (info.group === "offset") {
        plan.offset = code;
        plan.todo |= STEP_BITS.offset;
        return;
      }
      // A profile of the user's may call a code executed that nothing here executes.
      if (code.word.letter === "G") plan.opaque.push({ code, info, group: info.group });
  }
}

/** Codes that no built-in profile has and that are common enough to say what depends on them (common practice, no source). */
const COMMON_GROUPS: ReadonlyMap<string, string> = new Map([
  ["G90.1", "centre"],
  ["G43.1", "length"],
  ["G43.4", "length"],
  ["G43.5", "length"],
  ["G68.2", "rotation"],
]);

/**
 * What may depend on a code that this dialect does not know: the group it has in another dialect. It is not executed as there;
 * the states of that group are unknown until they are stated.
 */
function likelyGroup(code: string): string | undefined {
  const common = COMMON_GROUPS.get(code);
  if (common !== undefined) return common;
  for (const profile of builtInProfiles.values()) {
    const info = profile.codes.get(code);
    if (info !== undefined && info.use !== "ignored") return info.group;
  }
  return undefined;
}
