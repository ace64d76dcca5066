/** Words that the client shows. Kept in one place so that a translation can replace them. */
export const caution =
  "Jawline is a review aid, not a proof. Prove every program out with the guards closed; the machine's manuals, local rules and qualified people decide.";

export const states = {
  checking: "checking",
  checked: "checked",
  notChecked: "not checked",
} as const;
