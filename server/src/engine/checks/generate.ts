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
    ...blocks,
  ].join("\n");
}

function rulePage(rule: Rule): string {
  const body = rule.docs.trim().replace(/^~~~case\n([\s\S]*?)^~~~$/gm, (_, text: string) => example(text));
  return `# ${rule.id}\n\n${rule.summary}\n\nLevel: ${rule.level}.\n\n${body}\n`;
}

/** A line of an example that marks what is said of the line above it. */
const MARKER = /^(?:;|\/\/)\s*\^+\s+(error|warning|information)\s+([a-z-]+)(?::\s*(.*))?$/;

/** An example as a reader wants it: what it shows, on which fixture, each text as it stands in its file, and what is said of its lines. */
function example(text: string): string {
  const [title = "", ...sections] = text.split(/^(?=-- .+ --$)/m);
  return [`**Example.** ${title.trim().replaceAll("\n", " ")}`, ...sections.map(sectionText)].join("\n\n");
}

function sectionText(section: string): string {
  const [head = "", ...lines] = section.trimEnd().split("\n");
  const name = head.slice(3, -3);
  const use = /^use: (.+)$/.exec(name)?.[1];
  if (use !== undefined) return `Fixture: [${use}](README.md#${use}).`;
  if (name === "options") return lines.map(optionText).join("\n\n");
  const plain: string[] = [];
  const said: string[] = [];
  for (const line of lines) {
    const [, level, rule, message] = MARKER.exec(line) ?? [];
    if (level === undefined) plain.push(line);
    // The marks are under the words that are meant, or behind the margin for a whole block.
    else {
      const of = (plain.at(-1) ?? "").slice(/^;\^/.test(line) ? 0 : line.indexOf("^"), line.lastIndexOf("^") + 1).trim();
      said.push(`- line ${plain.length}, \`${of}\`: ${level} ${rule}${message === undefined ? "" : `: ${message.trim()}`}`);
    }
  }
  const json = name.startsWith("fixture.json");
  const after = name.includes(" after fix ") ? "After a proposed change:\n\n" : "";
  const code = `${after}\`\`\`${json ? "jsonc" : "nc"}\n${plain.join("\n")}\n\`\`\``;
  if (said.length > 0) return `${code}\n\n${said.join("\n")}`;
  return json || after !== "" ? code : `${code}\n\nNothing is said.`;
}

/** What is set for an example, in words. */
function optionText(line: string): string {
  const [key = "", value = ""] = line.split(": ");
  if (key === "empty") return `Station ${value} is marked empty for the run.`;
  return key === "ignore" ? `What ${value} says of it is left out here.` : `${key}: ${value}`;
}
