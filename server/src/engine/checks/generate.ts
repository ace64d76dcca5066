import { rules } from "./registry.generated.js";
import type { Rule } from "./rule.js";
import { samples } from "./samples.js";

export { rules, samples };

/**
 * The pages of the rule reference: file name → Markdown. One page a rule, and "README.md" as the index, which also
 * prints the sample fixtures that the examples name.
 */
export function rulePages(): Map<string, string> {
  const pages = new Map<string, string>();
  pages.set("README.md", indexPage());
  for (const rule of rules) pages.set(`${rule.id}.md`, rulePage(rule));
  return pages;
}

function indexPage(): string {
  const rows = rules.map((rule) => `| [${rule.id}](${rule.id}.md) | ${rule.level} | ${rule.summary} |`);
  const blocks = Object.entries(samples).map(
    ([name, sample]) => `### ${name}\n\n${sample.title}\n\n\`\`\`jsonc\n${sample.text.trimEnd()}\n\`\`\`\n`,
  );
  return [
    "# Rules",
    "",
    "Each rule has a page with examples; the examples run as tests. The level is the one a rule has unless the sidecar's `levels` or the editor sets another.",
    "",
    "A comment waives a rule on its block or the next one, with a reason that every report repeats: `(ALLOW rule-id: reason)`; in a sidecar `// ALLOW rule-id: reason` above the key.",
    "",
    "| rule | level | what it says |",
    "|---|---|---|",
    ...rows,
    "",
    "## Fixtures of the examples",
    "",
    "An example that begins with `-- use: NAME --` stands on one of these.",
    "",
    ...blocks,
  ].join("\n");
}

function rulePage(rule: Rule): string {
  const body = rule.docs
    .trim()
    .replace(/^~~~case$/gm, "```case")
    .replace(/^~~~$/gm, "```");
  return `# ${rule.id}\n\n${rule.summary}\n\nLevel: ${rule.level}.\n\n${body}\n`;
}
