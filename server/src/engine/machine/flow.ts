import type { Profile } from "../dialect/profile.js";
import type { Block, Source } from "../syntax/block.js";
import { constantOf } from "../syntax/evaluate.js";
import { findLabel, partOfLine } from "../syntax/parse.js";

/** Lines that belong together as the two ends of a loop: WHILE or DO, and END. */
export function loopPartners(source: Source, first: number, end: number): ReadonlyMap<number, number> {
  const partners = new Map<number, number>();
  const open: { readonly loop: number; readonly line: number }[] = [];
  for (let line = first; line < end; line++) {
    const control = source.blocks[line]?.control;
    if (control === undefined) continue;
    if (control.kind === "while" || control.kind === "do") open.push({ loop: control.loop, line });
    else if (control.kind === "end") {
      const at = open.findLastIndex((o) => o.loop === control.loop);
      const start = open[at];
      if (start === undefined) continue;
      open.length = at;
      partners.set(start.line, line);
      partners.set(line, start.line);
    }
  }
  return partners;
}

function leaves(block: Block): boolean {
  for (const word of block.words) {
    if (word.letter === "M" && (word.value === 99 || word.value === 30 || word.value === 2)) return true;
  }
  return block.assignments.some((a) => a.index.kind === "number" && a.index.value === 3000);
}

/**
 * For each line the line that every way from it must pass next: where the branches of a jump meet again. Lines from `first`
 * to `end`; `end` itself stands for leaving the program. Algorithm: immediate dominators of the reversed graph, after Cooper,
 * Harvey and Kennedy, "A simple, fast dominance algorithm" (2001; from memory).
 */
export function meetingLines(
  source: Source,
  first: number,
  end: number,
  partners: ReadonlyMap<number, number>,
  profile: Profile,
): Int32Array {
  const count = end - first + 1;
  const exit = count - 1;
  const followers: number[][] = [];
  const leaders: number[][] = Array.from({ length: count }, () => []);
  const inside = (line: number | undefined): number => (line === undefined || line < first || line >= end ? exit : line - first);
  for (let n = 0; n < exit; n++) {
    const line = first + n;
    const block = source.blocks[line];
    const next = inside(line + 1);
    let to = [next];
    const control = block?.control;
    const target = (expr: Parameters<typeof constantOf>[0]): number => {
      const label = constantOf(expr, profile);
      return Number.isNaN(label) ? exit : inside(findLabel(source, partOfLine(source, line), label, line));
    };
    if (control?.kind === "goto") to = [target(control.target)];
    else if (control?.kind === "if-goto") to = [next, target(control.target)];
    else if (control?.kind === "while") {
      const partner = partners.get(line);
      to = partner === undefined ? [next] : [next, inside(partner + 1)];
    } else if (control?.kind === "end") to = [inside(partners.get(line))];
    else if (block !== undefined && leaves(block)) to = control?.kind === "if-then" ? [next, exit] : [exit];
    followers.push(to);
    for (const t of to) leaders[t]?.push(n);
  }
  followers.push([]);
  // Post-order of the reversed graph from the exit, without recursion.
  const order: number[] = [];
  const rank = new Int32Array(count).fill(-1);
  const seen = new Uint8Array(count);
  const stack: [number, number][] = [[exit, 0]];
  seen[exit] = 1;
  while (stack.length > 0) {
    const top = stack[stack.length - 1] as [number, number];
    const before = leaders[top[0]] as number[];
    const next = before[top[1]];
    if (next === undefined) {
      rank[top[0]] = order.length;
      order.push(top[0]);
      stack.pop();
      continue;
    }
    top[1]++;
    if (seen[next] === 0) {
      seen[next] = 1;
      stack.push([next, 0]);
    }
  }
  const meets = new Int32Array(count).fill(-1);
  meets[exit] = exit;
  for (let changed = true; changed; ) {
    changed = false;
    for (let i = order.length - 1; i >= 0; i--) {
      const node = order[i] as number;
      if (node === exit) continue;
      let best = -1;
      for (const f of followers[node] as number[]) {
        if (meets[f] === -1) continue;
        if (best === -1) best = f;
        else {
          let a = f;
          let b = best;
          while (a !== b) {
            while ((rank[a] as number) < (rank[b] as number)) a = meets[a] as number;
            while ((rank[b] as number) < (rank[a] as number)) b = meets[b] as number;
          }
          best = a;
        }
      }
      if (best !== meets[node]) {
        meets[node] = best;
        changed = true;
      }
    }
  }
  const lines = new Int32Array(count);
  for (let n = 0; n < count; n++) lines[n] = meets[n] === -1 ? end : (meets[n] as number) + first;
  return lines;
}
