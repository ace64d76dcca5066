import type { Fix, Note } from "../findings.js";
import type { RuleContext } from "./rule.js";

/** Reports every note that a lower layer made under a rule's id. */
export function reportNotes(cx: RuleContext, id: string, fixesOf: (note: Note) => readonly Fix[] = () => []): void {
  for (const note of cx.notes) {
    if (note.rule !== id) continue;
    cx.report({
      at: note.place,
      key: note.message.key,
      args: note.message.args,
      related: note.related,
      fixes: fixesOf(note),
      ...(note.data === undefined ? {} : { data: note.data }),
      ...(note.step < 0 ? {} : { step: note.step }),
      ...(typeof note.data?.station === "string" ? { station: note.data.station } : {}),
    });
  }
}
