import type { Connection, Diagnostic, Position, Range, TextDocuments, TextEdit, WorkspaceEdit } from "vscode-languageserver";
import type { TextDocument } from "vscode-languageserver-textdocument";
import { spellOffset } from "../engine/dialect/offsets.js";
import type { Profile } from "../engine/dialect/profile.js";
import { resolveDialect } from "../engine/dialect/profiles.js";
import type { Finding, TextChange } from "../engine/findings.js";
import type { Analysis } from "../engine/program.js";
import { splitLines } from "../engine/syntax/lexer.js";
import { type LineMap, mapLines } from "../ide/edits.js";
import { type Neighbourhood, neighbourhood } from "../ide/names.js";
import { type View, viewOf } from "../ide/view.js";
import { toRange } from "./convert.js";
import { type EditorFiles, pathOf } from "./files.js";
import type { AllSettings } from "./settings.js";
import type { Workspace } from "./workspace.js";

/** What the client said that it can show; everything else is left out of the answers. */
export interface Abilities {
  readonly configuration: boolean;
  readonly workspaceFolders: boolean;
  readonly codeActionLiterals: boolean;
  readonly documentChanges: boolean;
  readonly snippetEdits: boolean;
  readonly hierarchicalSymbols: boolean;
  readonly pullDiagnostics: boolean;
  readonly diagnosticRefresh: boolean;
  readonly relatedDocuments: boolean;
  readonly tags: boolean;
  readonly progress: boolean;
  readonly hintRefresh: boolean;
  readonly lensRefresh: boolean;
  readonly tokenRefresh: boolean;
  readonly markdown: boolean;
  /** Whether proposals and signatures may be described in Markdown; a client says so for each of them. */
  readonly completionMarkdown: boolean;
  readonly signatureMarkdown: boolean;
  readonly images: boolean;
  /** A proposal's row can show more than its label. */
  readonly labelDetails: boolean;
  readonly preselect: boolean;
  /** Kinds of proposals and symbols beyond those of the protocol's first version. */
  readonly completionKinds: boolean;
  readonly symbolKinds: boolean;
  /** Parameters by their places in the label, and none of them as the active one. */
  readonly parameterPlaces: boolean;
  readonly noActiveParameter: boolean;
  readonly preferredActions: boolean;
  readonly linkTooltips: boolean;
  readonly codeDescriptions: boolean;
  readonly dynamicFormatting: boolean;
  readonly relatedInformation: boolean;
  /** Commands of the client that code lenses may name. */
  readonly commands: readonly string[];
}

/** An analysis with the way from its lines to those of the text as it is now. */
export interface Answer {
  readonly path: string;
  readonly view: View;
  /** Lines of the file as they are now. */
  readonly lines: readonly string[];
  readonly map: LineMap;
}

/** How long an answer waits for the analysis of the newest text before it is given from the one before, in milliseconds. */
const PATIENCE = 120;

/** What all request handlers share. */
export interface Session {
  readonly connection: Connection;
  readonly documents: TextDocuments<TextDocument>;
  readonly files: EditorFiles;
  readonly workspace: Workspace;
  abilities(): Abilities;
  settings(path: string): AllSettings;
  uriOf(path: string): string;
  toDiagnostic(finding: Finding, units: "mm" | "inch"): Diagnostic;
  view(analysis: Analysis | undefined): View | undefined;
  /** Lines of a file as they are now, open or on disk. */
  lines(path: string): readonly string[] | undefined;
  /**
   * The best answer that is there in time: the newest analysis if it is done or nearly, else the one before with its lines
   * carried through the edit. With `fresh` it waits for the newest text however long that takes.
   */
  answer(path: string, fresh?: boolean): Promise<Answer | undefined>;
  /**
   * The programs around a file. `deep` reads those of its folder too; `stale` is content with the last analysis
   * of the file instead of waiting for that of its newest text.
   */
  neighbourhood(path: string, deep: boolean, stale?: boolean): Promise<Neighbourhood | undefined>;
  /** The dialect that a program is read in, before any analysis of it is there too. */
  profile(path: string): Profile;
}

/** Joins what the requests share: documents, files, analyses of open programs, and the maps from analysed to present lines. */
export function createSession(
  base: Pick<Session, "connection" | "documents" | "toDiagnostic" | "files" | "workspace" | "abilities" | "settings">,
): Session {
  const cut = new WeakMap<TextDocument, { version: number; lines: readonly string[] }>();
  const maps = new WeakMap<Analysis, { path: string; lines: readonly string[]; map: LineMap }>();
  const { files, workspace, documents } = base;
  const uriOf = (path: string) => files.uriOf(path);
  const view = (analysis: Analysis | undefined): View | undefined =>
    analysis === undefined ? undefined : viewOf(analysis, (key) => spellOffset(key, analysis.profile));

  const lines = (path: string): readonly string[] | undefined => {
    const document = documents.get(uriOf(path));
    if (document === undefined) {
      const text = files.read(path);
      return text === undefined ? undefined : splitLines(text);
    }
    const known = cut.get(document);
    if (known?.version === document.version) return known.lines;
    const made = splitLines(document.getText());
    cut.set(document, { version: document.version, lines: made });
    return made;
  };

  const nears = new WeakMap<Analysis, Map<boolean, { stamp: number; near: Neighbourhood }>>();

  return {
    ...base,
    uriOf,
    view,
    lines,
    async neighbourhood(path, deep, stale = false) {
      const analysis = (stale ? workspace.latest(path) : undefined) ?? (await workspace.current(path));
      if (analysis === undefined) return undefined;
      const both = nears.get(analysis) ?? new Map<boolean, { stamp: number; near: Neighbourhood }>();
      nears.set(analysis, both);
      const known = both.get(deep);
      if (known !== undefined && (stale || known.stamp === files.stamp)) return known.near;
      // Programs that other open programs have read are neighbours too: one of them may call this file.
      const others = workspace.analyses().filter((a) => a !== analysis && a.run.sources.some((s) => s.file === path));
      const sources = [...analysis.run.sources, ...others.flatMap((a) => a.run.sources.filter((s) => s.file !== path))];
      const folders = analysis.fixture?.machine.programFolders ?? [];
      for (;;) {
        const { result, missed } = files.look((host) => neighbourhood(host, path, sources, analysis.profile, { folders, deep }));
        if (missed) {
          await files.arriving();
          continue;
        }
        both.set(deep, { stamp: files.stamp, near: result });
        return result;
      }
    },
    async answer(path, fresh = false) {
      const analysis = fresh ? await workspace.current(path) : await workspace.soon(path, PATIENCE);
      const current = view(analysis);
      const now = lines(path);
      if (analysis === undefined || current === undefined || now === undefined) return undefined;
      const known = maps.get(analysis);
      if (known?.path === path && known.lines === now) return { path, view: current, lines: now, map: known.map };
      const map = mapLines(current.sourceOf(path)?.lines ?? [], now);
      maps.set(analysis, { path, lines: now, map });
      return { path, view: current, lines: now, map };
    },
    profile: (path) => workspace.latest(path)?.profile ?? resolveDialect(base.settings(path).dialect).profile,
  };
}

/** Changes by file as the protocol wants them; with versions where the client can check them. */
export function toWorkspaceEdit(session: Session, changes: readonly TextChange[]): WorkspaceEdit {
  const byUri = new Map<string, TextEdit[]>();
  for (const { place, text } of changes) {
    const uri = session.uriOf(place.file);
    const list = byUri.get(uri);
    const edit = { range: toRange(place.range), newText: text };
    if (list === undefined) byUri.set(uri, [edit]);
    else list.push(edit);
  }
  if (!session.abilities().documentChanges) return { changes: Object.fromEntries(byUri) };
  return {
    documentChanges: [...byUri].map(([uri, edits]) => ({
      textDocument: { uri, version: session.documents.get(uri)?.version ?? null },
      edits,
    })),
  };
}

/** The protocol's position as the engine has it; both count from 0. */
export function fromPosition(position: Position): { line: number; column: number } {
  return { line: position.line, column: position.character };
}

/** A range of one line. */
export function lineRange(line: number, start: number, end: number): Range {
  return { start: { line, character: start }, end: { line, character: end } };
}

export { pathOf };
