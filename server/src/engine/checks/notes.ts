import type { Fix, Note } from "../findings.js";
import type { RuleContext } from "./rule.js";

/**
 * Reports every note that a lower layer made under a rule's id. Notes with the same cause become one finding, the later ones
 * related places of it.
 */
export function reportNotes(
  cx: RuleContext,
  id: string,
  fixesOf: (note: Note) => readonly Fix[] = () => [],
  causeOf: (note: Note) => { readonly cause: string; readonly relatedKey: string } | undefined = () => undefined,
): void {
  for (const note of cx.notes) {
    if (note.rule !== id) continue;
    cx.report({
      at: note.place,
      key: note.message.key,
      args: note.message.args,
      related: note.related,
      fixes: fixesOf(note),
      ...causeOf(note),
      data: note.data,
      step: note.step < 0 ? undefined : note.step,
      station: typeof note.data?.station === "string" ? note.data.station : undefined,
    });
  }
}
