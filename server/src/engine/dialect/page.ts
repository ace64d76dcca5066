import { syntaxMessages } from "../syntax/messages.js";
import { spellOffset } from "./offsets.js";
import type { CodeInfo, CodeUse, Profile } from "./profile.js";
import { builtInProfiles, profileKeys } from "./profiles.js";

function yes(value: boolean): string {
  return value ? "yes" : "no";
}

function range(r: readonly [number, number] | undefined): string {
  return r === undefined ? "none" : `#${r[0]} to #${r[1]}`;
}

function list(items: readonly string[]): string {
  return items.length === 0 ? "none" : items.join(", ");
}

/** Spelling with two digits, as codes are usually written: G0 → G00. */
function usual(code: string): string {
  return code.replace(/^([GM])(\d)(?=$|\.)/, "$10$2");
}

function codesOf(profile: Profile, use: CodeUse): CodeInfo[] {
  return [...profile.codes.values()]
    .filter((c) => c.use === use)
    .sort((a, b) => a.code.charCodeAt(0) - b.code.charCodeAt(0) || Number(a.code.slice(1)) - Number(b.code.slice(1)));
}

function codeTable(profile: Profile, use: CodeUse): string {
  const rows = codesOf(profile, use).map((c) => `| ${usual(c.code)} | ${c.group === "0" ? "own block" : c.group} | ${c.meaning} |`);
  return rows.length === 0 ? "None." : ["| code | modal group | meaning |", "|---|---|---|", ...rows].join("\n");
}

function details(p: Profile): (readonly [string, string])[] {
  const offsets = p.offsets.map((s) => (s.p === undefined ? s.code : `${s.code} P${s.p[0]} to P${s.p[1]}`));
  const l20 = { additional: "the additional registers", current: "so that the present position reads as given", none: "not there" }[p.l20];
  const numbers = p.offsetVariables.map((v) => {
    const first = v.keys[0] ?? spellOffset("P1", p);
    return `#${v.first} (${first === "shift" ? "common shift" : first}${v.count > 1 ? `, and ${v.count - 1} more every ${v.stride}` : ""})`;
  });
  const v = p.variables;
  return [
    ["letters of words", [...p.letters].join(" ")],
    [
      "N, O and :",
      `N ${p.strictBlocks ? "of one to five digits, first in the block" : "of any length"}; O ${p.programWords ? "is a program number" : "is not there"}; : ${p.colon === "none" ? "is not there" : `is another spelling of ${p.colon === "program" ? "O" : "N"}`}`,
    ],
    ["block skip", p.numberedSkip ? "/ and /1 to /9, also inside a block" : "/ at the beginning of a block"],
    [
      "comments",
      `( … )${p.comments.semicolon ? " and ; to the end of the line" : ""}; nested: ${yes(p.comments.nested)}${p.messages ? "; (MSG, …) is a message" : ""}`,
    ],
    [
      "line",
      p.strictBlocks ? "256 characters at most; a second % where there is a first" : "any length; text outside the % of a tape is not read",
    ],
    ["number without a point in an axis word", p.wholeNumber === "unit" ? "counts the unit itself" : `counts increments of ${p.increment}`],
    [
      "expressions",
      {
        macro: "macro form: comparisons, bitwise AND OR XOR, FIX toward zero, FUP away from it",
        rs274ngc: "as in NISTIR 6556: ** first, logical AND OR XOR, FIX down, FUP up, no comparisons",
        none: "none",
      }[p.expressions],
    ],
    [
      "variables",
      v === undefined
        ? "none"
        : `local ${range(v.local)}; common ${range(v.common)}; kept ${range(v.persistent)}; highest #${p.parameterCount}`,
    ],
    ["flow control", p.expressions === "macro" ? `IF GOTO, IF THEN, GOTO, WHILE DO END nested ${p.loopDepth} deep` : "none"],
    [
      "calls",
      list([
        ...(p.calls.subprogram
          ? [
              "M98 with L and M99",
              p.packedRepeat ? "packed P (repeats before the last four digits)" : "P is the program number as it stands",
            ]
          : []),
        ...(p.calls.local ? ["M97"] : []),
        ...(p.calls.macro ? ["G65 with arguments"] : []),
        ...(p.calls.modalMacro ? ["G66 until G67"] : []),
      ]),
    ],
    ["work offsets", list(offsets)],
    ["content of a work offset that nothing states", p.offsetsDefaultZero ? "0" : "unknown"],
    [
      "G10 L2",
      `${p.commonShift ? "P0 common shift, " : ""}${p.offsets.length > 0 ? "P1 onward the offsets in their order" : "not there"}; under G91 ${p.g10Incremental ? "adds" : "replaces all the same"}`,
    ],
    ["G10 L20", l20],
    ["variables of work offsets", list(numbers)],
    ["G52", p.g52Reach === "all" ? "shifts every work offset until zeroed" : "is no local shift"],
    ["G92", "shifts every work offset"],
    ["tool length", p.lengthBy === "G43" ? "by G43 with H" : "by the control, with the tool"],
    [
      "G00",
      {
        straight: "goes straight",
        independent: "each axis at its own rate",
        either: "straight or each axis at its own rate: both are checked",
      }[p.rapidPath],
    ],
    [
      "arcs",
      `radii may differ by ${p.arcTolerance.mm} mm or ${p.arcTolerance.inch} inch; full circle without end words: ${yes(p.fullCircle)}`,
    ],
    ["feed of a helix", p.helixFeed === "helix" ? "along the helix" : "along its circle"],
    ["dwell", `${[...p.dwellLetters].join(", ")}; whole P in ${p.dwellWhole}, with a point in ${p.dwellPoint}`],
    ["deep holes", `G83 out to ${p.peckRetract === "R" ? "the R plane" : "the level of G98 and G99"}; back-off ${p.backOff} mm`],
    [
      "repeats of a cycle",
      `${list(p.repeatLetters)}; 0 ${p.repeatZero === "store" ? "stores the cycle and drills nothing" : "is an error"}`,
    ],
    ["return level without G98 or G99", p.returnDefault === "initial" ? "initial level" : "R plane"],
    ["at the start", p.initial.map(usual).join(" ")],
    ["M02 and M30", p.resetAtEnd ? `reset to ${p.atEnd.map(usual).join(" ")}` : "reset nothing"],
    ["order within a block", p.order.join(", ")],
    ["statements passed over", list(p.ignoredStatements)],
    ["corner words", p.cornerWords ? "`,R` and `,C` are read" : "none"],
  ];
}

function section(p: Profile): string {
  return `## ${p.name}

${p.summary}.

### What it states
| | |
|---|---|
${details(p)
  .map(([what, how]) => `| ${what} | ${how} |`)
  .join("\n")}

### Codes that are carried out
${codeTable(p, "executed")}

### Codes that are read and have no bearing on motion
${codeTable(p, "ignored")}

### Codes that make what depends on them unknown
${codeTable(p, "opaque")}

Every code in none of these tables is reported as \`code-unknown\`, and what depends on it is unknown from there on.
`;
}

/** The page `server/docs/dialects.md`, in Markdown, from the profiles themselves. A test keeps the file equal to it. */
export function dialectsPage(): string {
  const names = [...builtInProfiles.keys()].map((n) => `\`${n}\``).join(", ");
  return `# Dialects

This page is generated from the profiles (\`npm run generate\`); the built-in ones are ${names}. The sidecar names one
under \`machine.dialect\`, or extends one:

\`\`\`jsonc
"dialect": { "extends": "iso", "wholeNumber": "increment", "offsets": ["G54.1 P1-P48"], "codes": { "M71": "ignored" } }
\`\`\`

Keys of an extension: ${["extends", "name", ...profileKeys].map((k) => `\`${k}\``).join(", ")}. \`offsets\` lists spellings
("G54", "G54.1 P1-P48", or \`{"code", "p": [from, to], "key", "remove"}\`); a spelling replaces the one of the same code
and form, others stay. \`codes\` gives a code its use: "ignored" (no bearing on motion), "opaque" (what depends on it
becomes unknown), "executed" (only codes that a built-in dialect executes) or "unknown". Lengths are in millimetres,
\`increment\` is in the program's own units.

Sources: \`rs274ngc\` is NISTIR 6556 (Kramer, Proctor, Messina, 2000). \`bare\` takes its G codes from JB 3208-83, the
published counterpart of ISO 1056, with G70 and G71 from EIA RS-274-D; its M codes and block structure are from memory of
ISO 6983-1. \`iso\` and \`g154\` are common practice, no source, except where they agree with those.

${[...builtInProfiles.values()].map(section).join("\n")}
## What a syntax finding can say
${Object.values(syntaxMessages)
  .map((m) => `- ${m}`)
  .join("\n")}
`;
}
