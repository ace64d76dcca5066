import { type Diagnostic, DiagnosticSeverity, type DocumentSymbol, type Location, type Range, SymbolKind } from "vscode-languageserver";
import { renderMessage } from "../engine/checks/wording.js";
import type { Finding } from "../engine/findings.js";
import type { Place } from "../engine/text/place.js";
import type { Symbol as OutlineEntry } from "../ide/symbols.js";

/** Names a file by the URI that the client knows. */
export type UriOf = (path: string) => string;

export function toRange(range: Place["range"]): Range {
  return { start: { line: range.line, character: range.column }, end: { line: range.endLine, character: range.endColumn } };
}

export function toLocation(place: Place, uriOf: UriOf): Location {
  return { uri: uriOf(place.file), range: toRange(place.range) };
}

const severity = {
  error: DiagnosticSeverity.Error,
  warning: DiagnosticSeverity.Warning,
  information: DiagnosticSeverity.Information,
} as const;

/** A finding as a diagnostic; `docs` is the folder of the rule pages as a URI, if the client has one. */
export function toDiagnostic(finding: Finding, units: "mm" | "inch", uriOf: UriOf, docs: string | undefined): Diagnostic {
  const text = renderMessage(finding.rule, finding.message, { units });
  return {
    range: toRange(finding.place.range),
    severity: severity[finding.level],
    source: "jawline",
    code: finding.rule,
    ...(docs === undefined ? {} : { codeDescription: { href: `${docs}/${finding.rule}.md` } }),
    message: finding.waived === undefined ? text : `${text} (allowed: ${finding.waived})`,
    ...(finding.related.length === 0
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

/** Outline entries; ends are lifted so that children lie inside their parents, as the protocol wants. */
export function toDocumentSymbol(entry: OutlineEntry, lineLength: (line: number) => number): DocumentSymbol {
  const children = entry.children.map((c) => toDocumentSymbol(c, lineLength));
  const endLine = Math.max(entry.endLine, ...children.map((c) => c.range.end.line));
  return {
    name: entry.name,
    detail: entry.detail,
    kind: symbolKind[entry.kind],
    range: { start: { line: entry.line, character: 0 }, end: { line: endLine, character: lineLength(endLine) } },
    selectionRange: { start: { line: entry.line, character: 0 }, end: { line: entry.line, character: lineLength(entry.line) } },
    children,
  };
}
