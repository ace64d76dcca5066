import { type CodeAction, CodeActionKind, type CodeActionParams, type SnippetTextEdit, type WorkspaceEdit } from "vscode-languageserver";
import type { TextChange } from "../engine/findings.js";
import { type Action, actionsAt, sameMotionChanges } from "../ide/actions.js";
import { say } from "../ide/texts.js";
import { toRange } from "./convert.js";
import { pathOf, type Session, toWorkspaceEdit } from "./session.js";
import { isSidecar } from "./workspace.js";

/** Kinds of code actions that this server gives. */
const FIX_ALL = `${CodeActionKind.SourceFixAll}.jawline`;
export const codeActionKinds: readonly string[] = [CodeActionKind.QuickFix, FIX_ALL];

/** Fixes of findings, allow comments, and all fixes at once that change no motion. */
export async function codeActions(session: Session, params: CodeActionParams): Promise<CodeAction[]> {
  if (!session.abilities().codeActionLiterals) return [];
  const path = pathOf(params.textDocument.uri);
  const { workspace, files } = session;
  // A fix is for the text that it was found in: an older analysis would change the wrong place.
  const analysis = isSidecar(path) ? undefined : await workspace.current(path);
  const { findings, units } = workspace.findingsOf(path);
  const fixture = analysis?.fixture ?? workspace.fixtureOf(path)?.fixture ?? workspace.programsOf(path)[0]?.fixture;
  const wanted = (kind: string): boolean =>
    params.context.only === undefined || params.context.only.some((only) => kind === only || kind.startsWith(`${only}.`));
  const out: CodeAction[] = [];
  if (wanted(CodeActionKind.QuickFix)) {
    const owners = workspace.analyses();
    const input = {
      findings,
      fixture,
      host: files,
      viewOf: (finding: (typeof findings)[number]) => session.view(owners.find((a) => a.findings.includes(finding)) ?? analysis),
    };
    for (const action of actionsAt(input, path, params.range.start.line, params.range.end.line)) {
      out.push({
        title: action.title,
        kind: CodeActionKind.QuickFix,
        ...(action.preferred && session.abilities().preferredActions ? { isPreferred: true } : {}),
        diagnostics: [session.toDiagnostic(action.finding, units)],
        edit: editOf(session, action),
      });
    }
  }
  // Only what a client asks for by name goes through the whole file.
  if (params.context.only?.some((only) => FIX_ALL === only || FIX_ALL.startsWith(`${only}.`)) === true) {
    const changes = sameMotionChanges(findings, path);
    if (changes.length > 0) out.push({ title: say("action.all"), kind: FIX_ALL, edit: toWorkspaceEdit(session, changes) });
  }
  return out;
}

/** The edit of an action; what a person has to write is selected where the client knows snippets, else it is left open. */
function editOf(session: Session, action: Action): WorkspaceEdit {
  const { changes, write } = action;
  const only = changes[0];
  if (write === undefined || only === undefined) return toWorkspaceEdit(session, changes);
  if (session.abilities().snippetEdits && session.abilities().documentChanges) {
    const uri = session.uriOf(only.place.file);
    const value = escapeSnippet(only.text).replace(write, `\${1:${write}}`);
    const edit: SnippetTextEdit = { range: toRange(only.place.range), snippet: { kind: "snippet", value } };
    return { documentChanges: [{ textDocument: { uri, version: session.documents.get(uri)?.version ?? null }, edits: [edit] }] };
  }
  // An allow comment without its reason waives nothing until somebody has written one.
  const open: TextChange = { place: only.place, text: only.text.replace(write, "") };
  return toWorkspaceEdit(session, [open]);
}

function escapeSnippet(text: string): string {
  return text.replace(/[\\$}]/g, (c) => `\\${c}`);
}
