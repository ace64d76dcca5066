import type { OffsetKey } from "../machine/move.js";
import type { OffsetSpelling, Profile } from "./profile.js";

/** Codes that take the P of their block for themselves (common practice, no source). */
const TAKES_P = new Set(["G4", "G10", "G30", "G65", "G66", "G74", "G76", "G82", "G84", "G86", "G87", "G88", "G89", "M97", "M98", "M99"]);

/**
 * Whether the P of a block is not that of its work offset: the offset's code means a register without any P ("G54"), and
 * another code of the block (canonical forms) takes a P, as in `G54 M98 P100` or `G54 G04 P500`.
 */
export function isPTaken(offsetCode: string, codes: readonly string[], profile: Profile): boolean {
  return profile.offsets.some((o) => o.code === offsetCode && o.p === undefined) && codes.some((c) => TAKES_P.has(c));
}

/**
 * Register that a block's offset code selects. `code` is canonical ("G54", "G54.1"); `p` is the P word of the same
 * block. "absent-p": the code needs a P; "out-of-range": the P is no register of the dialect; undefined: the code is no
 * offset code here, or its P is not known (NaN).
 */
export function offsetOf(code: string, p: number | undefined, profile: Profile): OffsetKey | "absent-p" | "out-of-range" | undefined {
  let plain: OffsetSpelling | undefined;
  let numbered: OffsetSpelling | undefined;
  for (const s of profile.offsets) {
    if (s.code !== code) continue;
    if (s.p === undefined) plain ??= s;
    else numbered ??= s;
  }
  if (numbered !== undefined && p !== undefined) {
    if (Number.isNaN(p)) return undefined;
    const [from, to] = numbered.p as readonly [number, number];
    return Number.isInteger(p) && p >= from && p <= to ? numberedKey(p) : "out-of-range";
  }
  if (plain !== undefined) return plain.key;
  return numbered === undefined ? undefined : "absent-p";
}

/** Reads an offset as people write it in a sidecar: "G54", "G54.1 P1", "g54 p01", "G154P7". Undefined when the dialect has no such register. */
export function parseOffsetName(text: string, profile: Profile): OffsetKey | undefined {
  const m = /^G\s*(\d{1,4}(?:\.\d)?)\s*(?:P\s*(\d{1,6}))?$/i.exec(text.trim());
  if (m === null) return undefined;
  const key = offsetOf(`G${Number(m[1])}`, m[2] === undefined ? undefined : Number(m[2]), profile);
  if (key === "absent-p" || key === "out-of-range") return undefined;
  // A P behind a code that takes none names nothing.
  if (m[2] !== undefined && key !== undefined && !/^P\d+$/.test(key)) return undefined;
  return key;
}

/** The register as the dialect spells it first: "P3" → "G54.1 P3" in `iso`, "G154 P3" in `g154`. A key it has no spelling for is given back. */
export function spellOffset(key: OffsetKey, profile: Profile): string {
  const p = numberOf(key);
  for (const s of profile.offsets) {
    if (s.p === undefined ? s.key === key : p !== undefined && p >= s.p[0] && p <= s.p[1]) {
      return s.p === undefined ? s.code : `${s.code} P${p}`;
    }
  }
  return key;
}

/**
 * The register n places behind another, as a repeated station's offsets follow. Additional registers run on through
 * their range; G54 runs on to G59 and no further, G59.1 to G59.3. Undefined past the end.
 */
export function followingOffset(key: OffsetKey, n: number, profile: Profile): OffsetKey | undefined {
  const p = numberOf(key);
  if (p !== undefined) {
    const range = additionalRange(profile);
    return range !== undefined && p + n >= range[0] && p + n <= range[1] ? numberedKey(p + n) : undefined;
  }
  const m = /^G(\d+)(?:\.(\d+))?$/.exec(key);
  if (m === null) return undefined;
  const next = m[2] === undefined ? `G${Number(m[1]) + n}` : `G${m[1]}.${Number(m[2]) + n}`;
  return profile.offsets.some((s) => s.p === undefined && s.key === next) ? next : undefined;
}

/**
 * Register that `G10 Ll Pp` writes. L2: P0 is the common shift (not in RS274/NGC), then the plain offsets in order.
 * L20: the additional register p, or, where L20 means "so that the present position reads", the register that L2
 * would write. Undefined for an L that writes no work offset here, or where L or P is not known.
 */
export function registerOfG10(l: number, p: number, profile: Profile): OffsetKey | "shift" | "out-of-range" | undefined {
  if (Number.isNaN(l) || Number.isNaN(p)) return undefined;
  if (l === 20 && profile.l20 === "additional") {
    const range = additionalRange(profile);
    return range !== undefined && Number.isInteger(p) && p >= range[0] && p <= range[1] ? numberedKey(p) : "out-of-range";
  }
  if (l !== 2 && !(l === 20 && profile.l20 === "current")) return undefined;
  if (p === 0 && l === 2 && profile.commonShift) return "shift";
  const plain = plainKeys(profile);
  return Number.isInteger(p) && p >= 1 && p <= plain.length ? (plain[p - 1] as OffsetKey) : "out-of-range";
}

/** Register and axis (0 to 5: X Y Z, then rotary) that a variable holds; undefined for other variables. "shift" is the common shift. */
export function offsetOfVariable(
  index: number,
  profile: Profile,
): { readonly register: OffsetKey | "shift"; readonly axis: number } | undefined {
  for (const run of profile.offsetVariables) {
    const n = Math.floor((index - run.first) / run.stride);
    const axis = (index - run.first) % run.stride;
    if (n < 0 || n >= run.count || axis > 5) continue;
    const key = run.keys[n];
    if (key !== undefined) return { register: key, axis };
    return { register: numberedKey(n + 1), axis };
  }
  return undefined;
}

/** All registers of the dialect in order: the plain ones, then the additional ones. */
export function offsetKeys(profile: Profile): OffsetKey[] {
  const keys = [...plainKeys(profile)];
  const range = additionalRange(profile);
  if (range !== undefined) for (let p = range[0]; p <= range[1]; p++) keys.push(numberedKey(p));
  return keys;
}

/** Range of P of the additional registers over all their spellings; undefined where there are none. */
export function additionalRange(profile: Profile): readonly [number, number] | undefined {
  let from = Number.POSITIVE_INFINITY;
  let to = Number.NEGATIVE_INFINITY;
  for (const s of profile.offsets) {
    if (s.p === undefined) continue;
    from = Math.min(from, s.p[0]);
    to = Math.max(to, s.p[1]);
  }
  return from <= to ? [from, to] : undefined;
}

function plainKeys(profile: Profile): readonly OffsetKey[] {
  return profile.offsets.filter((s) => s.p === undefined && numberOf(s.key) === undefined).map((s) => s.key);
}

function numberedKey(p: number): OffsetKey {
  return `P${p}`;
}

function numberOf(key: OffsetKey): number | undefined {
  return /^P\d+$/.test(key) ? Number(key.slice(1)) : undefined;
}
