import { renderMessage, type Style } from "../engine/checks/wording.js";
import type { Words } from "../report/program-report.js";

/** The words of the rules, lengths in the given units. */
export function wordsIn(units: "mm" | "inch"): Words {
  const style: Style = { units };
  return {
    finding: (finding) => renderMessage(finding.rule, finding.message, style),
    related: (finding, related) => renderMessage(finding.rule, related.message, style),
    note: (note) => renderMessage(note.rule, note.message, style),
    notChecked: ({ what, why }) => ({ what: renderMessage("not-checked", what, style), why: renderMessage("not-checked", why, style) }),
    reason: (key) => renderMessage("not-checked", { key, args: {} }, style),
  };
}
