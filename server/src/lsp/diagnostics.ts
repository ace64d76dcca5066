import {
  type Diagnostic,
  type DocumentDiagnosticReport,
  DocumentDiagnosticReportKind,
  type FullDocumentDiagnosticReport,
} from "vscode-languageserver";
import type { Finding } from "../engine/findings.js";
import { guard } from "./features.js";
import { pathOf, type Session } from "./session.js";
import { isSidecar } from "./workspace.js";

/** Editors show at most so many; the gravest come first so that none of them is lost. */
const MOST = 1000;

const WEIGHT = { error: 0, warning: 1, information: 2 } as const;

/** How the findings of files reach the client: told when they change, or asked for; never both. */
export interface Diagnostics {
  changed(path: string, findings: readonly Finding[], units: "mm" | "inch"): void;
}

/**
 * Answers requests for findings, or tells them, as the client can do it. `session` is asked late, since the requests are
 * registered before there is one.
 */
export function serveDiagnostics(session: () => Session): Diagnostics {
  let refresh: ReturnType<typeof setTimeout> | undefined;

  const list = (findings: readonly Finding[], units: "mm" | "inch"): Diagnostic[] =>
    (findings.length <= MOST ? findings : [...findings].sort((a, b) => WEIGHT[a.level] - WEIGHT[b.level]).slice(0, MOST)).map((f) =>
      session().toDiagnostic(f, units),
    );

  return {
    changed(path, findings, units) {
      const { connection, abilities, uriOf } = session();
      if (!abilities().pullDiagnostics) {
        void connection.sendDiagnostics({ uri: uriOf(path), diagnostics: list(findings, units) });
        return;
      }
      if (!abilities().diagnosticRefresh) return;
      // One word for all that changed together.
      clearTimeout(refresh);
      refresh = setTimeout(() => connection.languages.diagnostics.refresh(), 20);
    },
  };
}

/** Answers a client that asks for diagnostics. With a program go those of the files that it calls and of its sidecar. */
export function servePulled(session: Session): void {
  const { connection, workspace, abilities, uriOf, toDiagnostic } = session;
  if (!abilities().pullDiagnostics) return;
  const items = (path: string): Diagnostic[] => {
    const { findings, units } = workspace.findingsOf(path);
    return findings.slice(0, MOST).map((f) => toDiagnostic(f, units));
  };
  const idOf = (list: readonly Diagnostic[]): string => {
    // A short sum of the content: equal lists give equal ids.
    let hash = 0;
    const text = JSON.stringify(list);
    for (let i = 0; i < text.length; i++) hash = (Math.imul(hash, 31) + text.charCodeAt(i)) | 0;
    return `${list.length}.${hash >>> 0}`;
  };
  connection.languages.diagnostics.on((params, token) =>
    guard(
      token,
      (async (): Promise<DocumentDiagnosticReport> => {
        const path = pathOf(params.textDocument.uri);
        const analysis = isSidecar(path) ? undefined : await workspace.current(path);
        const own = items(path);
        const resultId = idOf(own);
        const relatedDocuments: Record<string, FullDocumentDiagnosticReport> = {};
        if (abilities().relatedDocuments) {
          for (const file of new Set(analysis?.findings.map((f) => f.place.file) ?? [])) {
            if (file !== path) relatedDocuments[uriOf(file)] = { kind: DocumentDiagnosticReportKind.Full, items: items(file) };
          }
        }
        const related = Object.keys(relatedDocuments).length === 0 ? {} : { relatedDocuments };
        if (params.previousResultId === resultId) return { kind: DocumentDiagnosticReportKind.Unchanged, resultId, ...related };
        return { kind: DocumentDiagnosticReportKind.Full, resultId, items: own, ...related };
      })(),
    ),
  );
}
