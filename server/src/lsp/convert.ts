import {
  type Diagnostic,
  DiagnosticSeverity,
  DiagnosticTag,
  type DocumentSymbol,
  type Location,
  type Range,
  SymbolKind,
} from "vscode-languageserver";
import { renderMessage } from "../engine/checks/wording.js";
import type { Finding } from "../engine/findings.js";
import type { Place } from "../engine/text/place.js";
import type { Symbol as OutlineEntry } from "../ide/symbols.js";
import { say } from "../ide/texts.js";

/** Names a file by the URI that the client knows. */
export type UriOf = (path: string) => string;

/** A range of the engine as the protocol has it; both count lines and UTF-16 columns from 0. */
export function toRange(range: Place["range"]): Range {
  return { start: { line: range.line, character: range.column }, end: { line: range.endLine, character: range.endColumn } };
}

/** A place of the engine as the protocol's location. */
export function toLocation(place: Place, uriOf: UriOf): Location {
  return { uri: uriOf(place.file), range: toRange(place.range) };
}

const severity = {
  error: DiagnosticSeverity.Error,
  warning: DiagnosticSeverity.Warning,
  information: DiagnosticSeverity.Information,
} as const;

/** What a client can show of a diagnostic. */
export interface DiagnosticStyle {
  readonly units: "mm" | "inch";
  readonly uriOf: UriOf;
  /** Folder of the rule pages as a URI, if the client has one. */
  readonly docs?: string | undefined;
  readonly tags?: boolean;
  readonly related?: boolean;
}

/** A finding as a diagnostic. */
export function toDiagnostic(finding: Finding, style: DiagnosticStyle): Diagnostic {
  const { units, uriOf, docs } = style;
  const text = renderMessage(finding.rule, finding.message, { units });
  return {
    range: toRange(finding.place.range),
    severity: severity[finding.level],
    source: "jawline",
    code: finding.rule,
    ...(docs === undefined ? {} : { codeDescription: { href: `${docs}/${finding.rule}.md` } }),
    message: finding.waived === undefined ? text : say("server.waived", { text, reason: finding.waived }),
    // A comment that waives nothing is shown as what can go.
    ...(style.tags === true && finding.rule === "allow-unused" ? { tags: [DiagnosticTag.Unnecessary] } : {}),
    ...(finding.related.length === 0 || style.related === false
      ? {}
      : {
          relatedInformation: finding.related.map((r) => ({
            location: toLocation(r.place, uriOf),
            message: renderMessage(finding.rule, r.message, { units }),
          })),
        }),
  };
}

const symbolKind = { program: SymbolKind.Module, tool: SymbolKind.Class, visit: SymbolKind.Method } as const;

/**
 * Outline entries; ends are lifted so that children lie inside their parents, as the protocol wants. `carry` takes lines of
 * the analysis to those of the text as it is now.
 */
export function toDocumentSymbol(
  entry: OutlineEntry,
  lineLength: (line: number) => number,
  carry: (line: number) => number = (line) => line,
): DocumentSymbol {
  const children = entry.children.map((c) => toDocumentSymbol(c, lineLength, carry));
  const line = carry(entry.line);
  const endLine = Math.max(line, carry(entry.endLine), ...children.map((c) => c.range.end.line));
  return {
    name: entry.name,
    detail: entry.detail,
    kind: symbolKind[entry.kind],
    range: { start: { line, character: 0 }, end: { line: endLine, character: lineLength(endLine) } },
    selectionRange: { start: { line, character: 0 }, end: { line, character: lineLength(line) } },
    children,
  };
}
