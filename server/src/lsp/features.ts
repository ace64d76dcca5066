import {
  type CallHierarchyItem,
  type CancellationToken,
  type CodeLens,
  type CompletionItem,
  CompletionItemKind,
  type CompletionList,
  DocumentHighlightKind,
  type DocumentLink,
  FoldingRangeKind,
  type Hover,
  type InlayHint,
  InlayHintKind,
  InsertTextFormat,
  type Location,
  LSPErrorCodes,
  type MarkupContent,
  MarkupKind,
  type Range,
  ResponseError,
  type SelectionRange,
  type SemanticTokens,
  type SemanticTokensDelta,
  type SemanticTokensEdit,
  type SignatureHelp,
  type SymbolInformation,
  SymbolKind,
  type TextEdit,
} from "vscode-languageserver";
import { folderOf, joinPath } from "../engine/text/path.js";
import { incoming, itemOf, outgoing, type ProgramItem, programItemAt, programLinks } from "../ide/calls.js";
import { completionsAt, type EntryKind } from "../ide/completion.js";
import { definitionAt } from "../ide/definition.js";
import { motionProof, numberChanges, spaceChanges } from "../ide/format.js";
import { type Hint, type HintKind, hintsOf, sidecarHints, stationPlaces } from "../ide/hints.js";
import { hoverAt } from "../ide/hover.js";
import { lensesOf } from "../ide/lenses.js";
import { nameAt, referencesOf, relatives } from "../ide/names.js";
import { prepareRename, rename } from "../ide/rename.js";
import { sidecarDefinition, sidecarHover, sidecarLinks } from "../ide/sidecar.js";
import { sidecarCompletionsAt } from "../ide/sidecar-completion.js";
import { findingsAbout, subjectAt, usesInProgram, usesInSidecar } from "../ide/sidecar-references.js";
import { readSidecarText } from "../ide/sidecar-text.js";
import { signatureAt } from "../ide/signature.js";
import { foldsOf, selectionsAt } from "../ide/structure.js";
import { symbolsOf } from "../ide/symbols.js";
import { say } from "../ide/texts.js";
import { TOKEN_MODIFIERS, TOKEN_TYPES, type Token, tokensOf } from "../ide/tokens.js";
import { findSymbols } from "../ide/workspace-symbols.js";
import { toDocumentSymbol, toLocation, toRange } from "./convert.js";
import { codeActions } from "./fixing.js";
import { type Answer, fromPosition, lineRange, pathOf, type Session, toWorkspaceEdit } from "./session.js";
import { drain } from "./slices.js";
import { isSidecar } from "./workspace.js";

/** Registers the handlers of all language features. Each asks `ide/` for plain data and turns it into the protocol's shapes. */
export function serveFeatures(session: Session): void {
  const { connection, workspace, uriOf } = session;
  const tokenStore = keepTokens(session);

  connection.onHover((params, token) => guard(token, hover(session, pathOf(params.textDocument.uri), fromPosition(params.position))));

  connection.onDefinition((params, token) =>
    guard(
      token,
      (async (): Promise<Location[] | null> => {
        const path = pathOf(params.textDocument.uri);
        const at = fromPosition(params.position);
        if (isSidecar(path)) {
          const fixture = fixtureFor(session, path);
          const place = fixture === undefined ? undefined : sidecarDefinition(fixture, textOf(session, path), at);
          return place === undefined ? null : [toLocation(place, uriOf)];
        }
        const answer = await session.answer(path, true);
        const near = await session.neighbourhood(path, true);
        const found = answer === undefined || near === undefined ? undefined : definitionAt(answer.view, near, path, at);
        return found === undefined ? null : found.to.map((place) => toLocation(place, uriOf));
      })(),
    ),
  );

  connection.onReferences((params, token) =>
    guard(
      token,
      (async (): Promise<Location[]> => {
        const path = pathOf(params.textDocument.uri);
        const at = fromPosition(params.position);
        const declaration = params.context.includeDeclaration;
        if (isSidecar(path)) return sidecarReferences(session, path, at, declaration, token);
        const near = await session.neighbourhood(path, true);
        const name = near === undefined ? undefined : nameAt(near, path, at)?.name;
        if (near === undefined || name === undefined) return [];
        // A variable that all programs share is another one in a program that never runs with this one.
        const out = referencesOf(name.kind === "variable" ? relatives(near, path) : near, name)
          .filter((o) => declaration || !o.write || name.kind === "variable" || name.kind === "offset")
          .map((o) => toLocation(o.place, uriOf));
        const fixture = workspace.latest(path)?.fixture;
        if (declaration && fixture !== undefined) {
          const places =
            name.kind === "offset"
              ? fixture.stationsOf(name.key).map((s) => s.place)
              : name.kind === "tool"
                ? [fixture.tools.get(name.number)?.place]
                : [];
          for (const place of places) if (place !== undefined) out.push(toLocation(place, uriOf));
        }
        return out;
      })(),
    ),
  );

  connection.onDocumentHighlight((params, token) =>
    guard(
      token,
      (async () => {
        const path = pathOf(params.textDocument.uri);
        if (isSidecar(path)) return null;
        const near = await session.neighbourhood(path, false);
        const name = near === undefined ? undefined : nameAt(near, path, fromPosition(params.position))?.name;
        if (near === undefined || name === undefined) return null;
        return referencesOf(near, name, path).map((o) => ({
          range: toRange(o.place.range),
          kind: o.write ? DocumentHighlightKind.Write : DocumentHighlightKind.Read,
        }));
      })(),
    ),
  );

  connection.onPrepareRename((params, token) =>
    guard(
      token,
      (async () => {
        const path = pathOf(params.textDocument.uri);
        const near = isSidecar(path) ? undefined : await session.neighbourhood(path, true);
        const prepared = near === undefined ? { refused: say("rename.sidecar") } : prepareRename(near, path, fromPosition(params.position));
        if ("refused" in prepared) throw new ResponseError(LSPErrorCodes.RequestFailed, prepared.refused);
        // The editor offers the digits that stand there.
        return toRange(prepared.at.digits.range);
      })(),
    ),
  );

  connection.onRenameRequest((params, token) =>
    guard(
      token,
      (async () => {
        const path = pathOf(params.textDocument.uri);
        const near = isSidecar(path) ? undefined : await session.neighbourhood(path, true);
        const renaming =
          near === undefined ? { refused: say("rename.sidecar") } : rename(near, path, fromPosition(params.position), params.newName);
        if ("refused" in renaming) throw new ResponseError(LSPErrorCodes.RequestFailed, renaming.refused);
        return toWorkspaceEdit(session, renaming.changes);
      })(),
    ),
  );

  const hierarchyItem = (item: ProgramItem): CallHierarchyItem => ({
    name: item.name,
    detail: item.detail,
    kind: SymbolKind.Function,
    uri: uriOf(item.file),
    range: toRange(item.range.range),
    selectionRange: toRange(item.selection.range),
    data: { number: Number.isNaN(item.number) ? null : item.number },
  });
  const numberOf = (item: CallHierarchyItem): number => {
    const number = (item.data as { number?: unknown } | undefined)?.number;
    return typeof number === "number" ? number : Number.NaN;
  };
  connection.languages.callHierarchy.onPrepare((params, token) =>
    guard(
      token,
      (async () => {
        const path = pathOf(params.textDocument.uri);
        const near = isSidecar(path) ? undefined : await session.neighbourhood(path, true);
        const item = near === undefined ? undefined : programItemAt(near, path, fromPosition(params.position));
        return item === undefined ? null : [hierarchyItem(item)];
      })(),
    ),
  );
  /** The neighbourhood of a program that may not be open itself: that of an open one which has read it. */
  const nearFile = async (path: string) =>
    (await session.neighbourhood(path, true)) ??
    (await (async () => {
      for (const analysis of workspace.analyses()) {
        const near = await session.neighbourhood(analysis.program, true);
        if (near?.sources.some((s) => s.file === path) === true) return near;
      }
      return undefined;
    })());
  connection.languages.callHierarchy.onIncomingCalls((params, token) =>
    guard(
      token,
      (async () => {
        const path = pathOf(params.item.uri);
        const near = await nearFile(path);
        if (near === undefined) return null;
        return incoming(near, path, numberOf(params.item)).map((edge) => ({
          from: hierarchyItem(edge.item),
          fromRanges: edge.places.map((p) => toRange(p.range)),
        }));
      })(),
    ),
  );
  connection.languages.callHierarchy.onOutgoingCalls((params, token) =>
    guard(
      token,
      (async () => {
        const path = pathOf(params.item.uri);
        const near = await nearFile(path);
        if (near === undefined || itemOf(near, path, numberOf(params.item)) === undefined) return null;
        return outgoing(near, path, numberOf(params.item)).map((edge) => ({
          to: hierarchyItem(edge.item),
          fromRanges: edge.places.map((p) => toRange(p.range)),
        }));
      })(),
    ),
  );

  connection.onDocumentLinks((params, token) =>
    guard(
      token,
      (async (): Promise<DocumentLink[]> => {
        const path = pathOf(params.textDocument.uri);
        const near = isSidecar(path) ? undefined : await session.neighbourhood(path, false);
        const links = isSidecar(path)
          ? sidecarLinks(path, textOf(session, path))
          : near === undefined
            ? []
            : programLinks(near, path, (name) => joinPath(folderOf(path), name));
        const tooltips = session.abilities().linkTooltips;
        return links.map((l) => ({ range: toRange(l.place.range), target: uriOf(l.file), ...(tooltips ? { tooltip: l.tooltip } : {}) }));
      })(),
    ),
  );

  connection.onDocumentSymbol((params, token) =>
    guard(
      token,
      (async () => {
        const answer = await session.answer(pathOf(params.textDocument.uri));
        if (answer === undefined) return [];
        const { lines, map, view, path } = answer;
        const symbols = symbolsOf(view, path).map((entry) =>
          toDocumentSymbol(entry, (line) => lines[line]?.length ?? 0, map.same ? undefined : map.newNear),
        );
        if (session.abilities().hierarchicalSymbols) return symbols;
        // A client that knows no trees gets the same entries as a list.
        const flat: SymbolInformation[] = [];
        const walk = (entry: (typeof symbols)[number], container: string): void => {
          flat.push({
            name: entry.name,
            kind: entry.kind,
            containerName: container,
            location: { uri: params.textDocument.uri, range: entry.range },
          });
          for (const child of entry.children ?? []) walk(child, entry.name);
        };
        for (const entry of symbols) walk(entry, "");
        return flat;
      })(),
    ),
  );

  connection.onWorkspaceSymbol((params, token) =>
    guard(
      token,
      (async () => {
        const kinds = { program: SymbolKind.Module, tool: SymbolKind.Class, visit: SymbolKind.Method, station: SymbolKind.Object } as const;
        const kindOf = (kind: keyof typeof kinds) =>
          kind === "station" && !session.abilities().symbolKinds ? SymbolKind.Variable : kinds[kind];
        const views = workspace.analyses().flatMap((a) => session.view(a) ?? []);
        return findSymbols(views, params.query).map((f) => ({
          name: f.name,
          containerName: f.container,
          kind: kindOf(f.kind),
          location: { uri: uriOf(f.file), range: lineRange(f.line, f.start, f.end) },
        }));
      })(),
    ),
  );

  connection.onFoldingRanges((params, token) =>
    guard(
      token,
      (async () => {
        const answer = await session.answer(pathOf(params.textDocument.uri));
        if (answer === undefined) return null;
        const { map, view, path } = answer;
        return foldsOf(view, path).flatMap((f) => {
          const startLine = map.newNear(f.line);
          const endLine = map.newNear(f.endLine);
          if (endLine <= startLine) return [];
          const kind = f.kind === "comment" ? FoldingRangeKind.Comment : f.kind === "program" ? FoldingRangeKind.Region : undefined;
          return [{ startLine, endLine, ...(kind === undefined ? {} : { kind }) }];
        });
      })(),
    ),
  );

  connection.onSelectionRanges((params, token) =>
    guard(
      token,
      (async () => {
        const answer = await session.answer(pathOf(params.textDocument.uri), true);
        if (answer === undefined) return null;
        return params.positions.map((position): SelectionRange => {
          const steps = selectionsAt(answer.view, answer.path, fromPosition(position));
          let out: SelectionRange | undefined;
          for (const s of [...steps].reverse()) {
            const range: Range = { start: { line: s.line, character: s.start }, end: { line: s.endLine, character: s.end } };
            out = out === undefined ? { range } : { range, parent: out };
          }
          return out ?? { range: { start: position, end: position } };
        });
      })(),
    ),
  );

  connection.languages.inlayHint.on((params, token) =>
    guard(
      token,
      (async (): Promise<InlayHint[]> => {
        const path = pathOf(params.textDocument.uri);
        const settings = session.settings(path).inlayHints;
        const kinds = new Set((Object.keys(settings) as HintKind[]).filter((k) => settings[k]));
        const shown = (h: Hint, line: number): InlayHint => ({
          position: { line, character: h.column },
          label: h.label,
          tooltip: h.tooltip,
          paddingLeft: true,
          ...(h.kind === "values" ? { kind: InlayHintKind.Parameter } : { kind: InlayHintKind.Type }),
        });
        const { start, end } = params.range;
        if (isSidecar(path)) {
          const fixture = kinds.has("positions") ? fixtureFor(session, path) : undefined;
          if (fixture === undefined) return [];
          return sidecarHints(fixture, path, start.line, end.line, stationPlaces(fixture, path)).map((h) => shown(h, h.line));
        }
        const answer = await session.answer(path);
        if (answer === undefined) return [];
        const from = answer.map.oldAbove(start.line);
        const to = answer.map.toOld(end.line) ?? answer.map.oldAbove(end.line) + 1;
        const hints = await inChunks(
          from,
          Math.max(from, Math.min(to, answer.view.sourceOf(path)?.blocks.length ?? 0)),
          token,
          (first, last) => hintsOf(answer.view, path, first, last, kinds),
        );
        return hints.flatMap((h) => {
          const line = answer.map.toNew(h.line);
          return line === undefined || line < start.line || line > end.line ? [] : [shown(h, line)];
        });
      })(),
    ),
  );

  connection.onCodeLens((params, token) =>
    guard(
      token,
      (async (): Promise<CodeLens[] | null> => {
        const path = pathOf(params.textDocument.uri);
        if (isSidecar(path)) return null;
        const settings = session.settings(path).codeLens;
        const answer = await session.answer(path);
        if (answer === undefined) return null;
        const canShow = session.abilities().commands.includes("jawline.showPlaces");
        return lensesOf(answer.view, path).flatMap((lens) => {
          const line = answer.map.toNew(lens.line);
          if (line === undefined || !(lens.kind === "visit" ? settings.visits : settings.tools)) return [];
          const range = lineRange(line, 0, 0);
          // A lens that leads nowhere carries no command of the client: its text is all there is to it.
          const command =
            canShow && lens.findings.length > 0
              ? {
                  title: lens.title,
                  command: "jawline.showPlaces",
                  arguments: [params.textDocument.uri, range.start, lens.findings.map((f) => toLocation(f.place, uriOf))],
                }
              : { title: lens.title, command: "" };
          return [{ range, command }];
        });
      })(),
    ),
  );

  connection.languages.semanticTokens.on((params, token) => guard(token, tokenStore.full(pathOf(params.textDocument.uri), token)));
  connection.languages.semanticTokens.onDelta((params, token) =>
    guard(token, tokenStore.delta(pathOf(params.textDocument.uri), params.previousResultId, token)),
  );
  connection.languages.semanticTokens.onRange((params, token) =>
    guard(token, tokens(session, pathOf(params.textDocument.uri), params.range.start.line, params.range.end.line, token)),
  );

  connection.onCodeAction((params, token) => guard(token, codeActions(session, params)));

  connection.onCompletion((params, token) =>
    guard(token, completion(session, pathOf(params.textDocument.uri), fromPosition(params.position))),
  );

  connection.onSignatureHelp((params, token) =>
    guard(
      token,
      (async (): Promise<SignatureHelp | null> => {
        const path = pathOf(params.textDocument.uri);
        if (isSidecar(path)) return null;
        const answer = await session.answer(path);
        if (answer === undefined) return null;
        const { line } = params.position;
        const near = await session.neighbourhood(path, true, true);
        const found = signatureAt(
          answer.view.analysis.profile,
          near,
          answer.view,
          path,
          answer.lines[line] ?? "",
          fromPosition(params.position),
          answer.map.toOld(line) ?? answer.map.oldAbove(line) + 1,
        );
        if (found === undefined) return null;
        const { parameterPlaces, noActiveParameter, signatureMarkdown } = session.abilities();
        // Where a client knows no "none", a number behind the last one marks none in most of them.
        const none = noActiveParameter ? null : found.parameters.length;
        return {
          signatures: [
            {
              label: found.label,
              documentation: inFormat(found.documentation, signatureMarkdown),
              parameters: found.parameters.map((p) => ({
                label: parameterPlaces ? [p.start, p.end] : found.label.slice(p.start, p.end),
                documentation: p.text,
              })),
            },
          ],
          activeSignature: 0,
          activeParameter: found.active < 0 ? none : found.active,
        };
      })(),
    ),
  );

  connection.onDocumentFormatting((params, token) => guard(token, format(session, pathOf(params.textDocument.uri), undefined, token)));
  connection.onDocumentRangeFormatting((params, token) =>
    guard(token, format(session, pathOf(params.textDocument.uri), [params.range.start.line, params.range.end.line], token)),
  );
  connection.onDocumentOnTypeFormatting((params, token) =>
    guard(
      token,
      (async () => {
        const path = pathOf(params.textDocument.uri);
        const { enable, spaces } = session.settings(path).format;
        const lines = session.lines(path);
        if (!enable || !spaces || isSidecar(path) || lines === undefined || params.position.line === 0) return null;
        // The line that was just left; each line is proved to read the same, so it need not be run.
        const line = params.position.line - 1;
        return spaceChanges(session.profile(path), path, lines, line, line).map((c) => ({
          range: toRange(c.place.range),
          newText: c.text,
        }));
      })(),
    ),
  );
}

/** An answer, or word that nobody waits for it any more. */
export async function guard<T>(token: CancellationToken, work: Promise<T>): Promise<T> {
  if (token.isCancellationRequested) throw cancelled();
  let dispose: (() => void) | undefined;
  const stopped = new Promise<never>((_, reject) => {
    const listener = token.onCancellationRequested(() => reject(cancelled()));
    dispose = () => listener.dispose();
  });
  // When the work is abandoned its own fault must not go unheard of as an unhandled one.
  work.catch(() => undefined);
  stopped.catch(() => undefined);
  try {
    return await Promise.race([work, stopped]);
  } finally {
    dispose?.();
  }
}

function cancelled(): ResponseError<void> {
  return new ResponseError(LSPErrorCodes.RequestCancelled, "cancelled");
}

function textOf(session: Session, path: string): string {
  return session.documents.get(session.uriOf(path))?.getText() ?? session.files.read(path) ?? "";
}

/** The sidecar as it is understood: on its own, or as a program that includes it sees it. */
function fixtureFor(session: Session, path: string) {
  return session.workspace.fixtureOf(path)?.fixture ?? session.workspace.programsOf(path)[0]?.fixture;
}

async function hover(session: Session, path: string, at: { line: number; column: number }): Promise<Hover | null> {
  const images = session.abilities().images && session.abilities().markdown;
  const contents = (value: string) => inFormat(value, session.abilities().markdown);
  if (isSidecar(path)) {
    const fixture = fixtureFor(session, path);
    const program = session.view(session.workspace.programsOf(path)[0]);
    const found = sidecarHover(fixture, program, path, textOf(session, path), at, images);
    if (found === undefined) return null;
    return { contents: contents(found.markdown), ...(found.range === undefined ? {} : { range: toRange(found.range) }) };
  }
  let answer = await session.answer(path);
  // A block that is being written has no older answer.
  if (answer !== undefined && answer.map.toOld(at.line) === undefined) answer = await session.answer(path, true);
  const line = answer?.map.toOld(at.line);
  if (answer === undefined || line === undefined) return null;
  const found = hoverAt(answer.view, path, { line, column: at.column }, images);
  if (found === undefined) return null;
  return { contents: contents(found.markdown), range: lineRange(at.line, found.start, found.end) };
}

/** A text in Markdown, or as plain text for a client that shows nothing else. */
function inFormat(text: string, markdown: boolean): MarkupContent {
  return markdown ? { kind: MarkupKind.Markdown, value: text } : { kind: MarkupKind.PlainText, value: unmarked(text) };
}

/** Markdown as plain text. */
function unmarked(markdown: string): string {
  return markdown
    .replace(/!\[((?:[^\]\\]|\\.)*)\]\([^)]*\)/g, "$1")
    .replace(/\*\*/g, "")
    .replace(/^\|(?: --- \|)+$\n?/gm, "")
    .replace(/\\([\\`*_{}[\]<>|#~])/g, "$1");
}

/**
 * Who uses what a sidecar speaks of: visits of a station or an offset and tool words in all programs of the workspace, open or
 * not; for an element the stations that name it and the blocks of open programs whose findings point at it there.
 */
async function sidecarReferences(
  session: Session,
  path: string,
  at: { line: number; column: number },
  declaration: boolean,
  token: CancellationToken,
): Promise<Location[]> {
  const { workspace } = session;
  // Lines count in the texts as they are now.
  for (const { program } of workspace.programsOf(path)) await workspace.current(program);
  const closed = await workspace.closedProgramsOf(path, () => token.isCancellationRequested);
  const fixture = fixtureFor(session, path) ?? closed[0]?.fixture;
  const subject = fixture === undefined ? undefined : subjectAt(fixture, path, textOf(session, path), at);
  if (fixture === undefined || subject === undefined) return [];
  const open = workspace.programsOf(path).flatMap((a) => session.view(a) ?? []);
  const views = [...open, ...closed.flatMap((a) => session.view(a) ?? [])];
  const named = usesInSidecar(fixture, subject, declaration);
  const about = subject.kind === "element" ? open.flatMap((view) => findingsAbout(view, named)) : [];
  const places = [...named, ...about, ...views.flatMap((view) => usesInProgram(view, subject))];
  // Two programs may call one file.
  const seen = new Map(places.map((place) => [JSON.stringify(place), place]));
  return [...seen.values()].map((place) => toLocation(place, session.uriOf));
}

/** Lines that are gone through before other messages are looked at. */
const CHUNK = 500;

/** Goes through lines a few at a time (both ends included), so that a request about a whole long program stops no other one; cancelled, it ends. */
async function inChunks<T>(
  from: number,
  to: number,
  token: CancellationToken,
  act: (from: number, to: number) => readonly T[],
): Promise<T[]> {
  function* chunks(): Generator<void, T[]> {
    const out: T[] = [];
    for (let line = from; line <= to; line += CHUNK) {
      for (const item of act(line, Math.min(to, line + CHUNK - 1))) out.push(item);
      yield;
    }
    return out;
  }
  const done = await drain(chunks(), () => token.isCancellationRequested);
  if (done === undefined) throw cancelled();
  return done;
}

/**
 * The tokens of whole documents as they were told last, so that a client that has them is told what is new: after a key a long program
 * is not sent again.
 */
function keepTokens(session: Session) {
  const told = new Map<string, { readonly id: string; readonly data: readonly number[] }>();
  let count = 0;
  session.documents.onDidClose(({ document }) => told.delete(pathOf(document.uri)));
  const now = async (path: string, token: CancellationToken) => {
    const { data } = await tokens(session, path, 0, Number.POSITIVE_INFINITY, token);
    const id = String(++count);
    if (session.files.isOpen(path)) told.set(path, { id, data });
    return { id, data };
  };
  return {
    async full(path: string, token: CancellationToken): Promise<SemanticTokens> {
      const { id, data } = await now(path, token);
      return { resultId: id, data };
    },
    async delta(path: string, previous: string, token: CancellationToken): Promise<SemanticTokens | SemanticTokensDelta> {
      const before = told.get(path);
      const { id, data } = await now(path, token);
      return before?.id === previous ? { resultId: id, edits: differenceOf(before.data, data) } : { resultId: id, data };
    },
  };
}

/** One edit from the first number that differs to the last one; none where all are the same. */
function differenceOf(before: readonly number[], after: readonly number[]): SemanticTokensEdit[] {
  const most = Math.min(before.length, after.length);
  let head = 0;
  while (head < most && before[head] === after[head]) head++;
  if (head === before.length && head === after.length) return [];
  let tail = 0;
  while (tail < most - head && before[before.length - 1 - tail] === after[after.length - 1 - tail]) tail++;
  return [{ start: head, deleteCount: before.length - head - tail, data: after.slice(head, after.length - tail) }];
}

async function tokens(session: Session, path: string, from: number, to: number, token: CancellationToken): Promise<{ data: number[] }> {
  if (isSidecar(path)) return { data: [] };
  // Colours must not wait: without an analysis a bare axis word stays plain until there is one.
  const analysis = session.workspace.latest(path);
  const answer: Answer | undefined = analysis === undefined ? undefined : await session.answer(path);
  const lines = answer?.lines ?? session.lines(path) ?? [];
  const profile = session.profile(path);
  const old = (line: number) => answer?.map.toOld(line);
  const encode = encoder();
  const data = await inChunks(from, Math.min(to, lines.length - 1), token, (first, last) =>
    encode(tokensOf(profile, answer?.view, path, lines, first, last, old)),
  );
  return { data };
}

/** The protocol's way of packing tokens: each relative to the one before, which may have come with the call before. */
function encoder(): (list: readonly Token[]) => number[] {
  let line = 0;
  let start = 0;
  return (list) => {
    const data: number[] = [];
    for (const t of list) {
      if (t.line !== line) start = 0;
      const modifiers = t.modifiers.reduce((bits, m) => bits | (1 << TOKEN_MODIFIERS.indexOf(m)), 0);
      data.push(t.line - line, t.start - start, t.length, TOKEN_TYPES.indexOf(t.type), modifiers);
      line = t.line;
      start = t.start;
    }
    return data;
  };
}

const completionKind: Readonly<Record<EntryKind, CompletionItemKind>> = {
  offset: CompletionItemKind.Reference,
  tool: CompletionItemKind.Class,
  code: CompletionItemKind.Keyword,
  register: CompletionItemKind.Field,
  program: CompletionItemKind.Module,
  label: CompletionItemKind.Event,
  variable: CompletionItemKind.Variable,
  word: CompletionItemKind.Property,
  file: CompletionItemKind.File,
  key: CompletionItemKind.Property,
  value: CompletionItemKind.Value,
};

async function completion(
  session: Session,
  path: string,
  at: { line: number; column: number },
): Promise<CompletionItem[] | CompletionList | null> {
  // In a line that is not there nothing can be written.
  if (session.lines(path)?.[at.line] === undefined) return null;
  const found = isSidecar(path) ? sidecarCompletion(session, path, at) : await programCompletion(session, path, at);
  if (found === undefined) return null;
  const range = lineRange(at.line, found.start, Math.max(found.start, found.end));
  const { completionMarkdown, labelDetails, completionKinds, preselect } = session.abilities();
  const items: CompletionItem[] = found.entries.map((e) => ({
    label: e.label,
    // Beside every row, not only the one that is marked: the station is what an offset is chosen by.
    ...(labelDetails && e.detail !== "" ? { labelDetails: { description: e.detail } } : {}),
    ...(completionKinds || completionKind[e.kind] <= CompletionItemKind.Reference ? { kind: completionKind[e.kind] } : {}),
    detail: e.detail,
    ...(e.documentation === "" ? {} : { documentation: inFormat(e.documentation, completionMarkdown) }),
    filterText: e.filter ?? e.label,
    sortText: e.sort,
    insertTextFormat: InsertTextFormat.PlainText,
    textEdit: { range, newText: e.insert ?? e.label },
    ...(e.preselect === true && preselect ? { preselect: true } : {}),
  }));
  return found.narrowed === true ? { isIncomplete: true, items } : items;
}

async function programCompletion(session: Session, path: string, at: { line: number; column: number }) {
  const lines = session.lines(path);
  if (lines === undefined) return undefined;
  // The line is half written; what goes before it is what matters, and that the analysis before this one knows.
  const answer = session.workspace.latest(path) === undefined ? undefined : await session.answer(path);
  const analysis = answer?.view.analysis;
  // Names of a text from before the last keys are as good here, and waiting for the newest would stop the typing.
  const near = await session.neighbourhood(path, true, true);
  const folder = session.files.list(folderOf(path)) ?? [];
  return completionsAt(
    {
      profile: analysis?.profile ?? session.profile(path),
      fixture: analysis?.fixture,
      near,
      view: answer?.view,
      file: path,
      lines,
      old: answer === undefined ? -1 : answer.map.oldAbove(at.line - 1),
      sidecars: folder.filter((n) => /\.fixture\.json$/i.test(n)),
    },
    at,
  );
}

function sidecarCompletion(session: Session, path: string, at: { line: number; column: number }) {
  const fixture = fixtureFor(session, path);
  const included = (fixture?.dependencies ?? [])
    .filter((f) => f !== path && /\.json$/i.test(f))
    .map((f) => readSidecarText(f, session.files.read(f) ?? ""));
  return sidecarCompletionsAt(textOf(session, path), at, { fixture, included, files: () => session.files.list(folderOf(path)) ?? [] });
}

/** Opt-in. White space and N numbers only; what would move the machine otherwise is refused with the reason. */
async function format(
  session: Session,
  path: string,
  range: readonly [number, number] | undefined,
  token: CancellationToken,
): Promise<TextEdit[] | null> {
  const { enable, spaces, numbers, numberStep } = session.settings(path).format;
  if (!enable || isSidecar(path)) return null;
  const answer = await session.answer(path, true);
  if (answer === undefined) return null;
  const { lines, view } = answer;
  const { profile } = view.analysis;
  const document = session.documents.get(session.uriOf(path));
  const version = document?.version;
  const [from, to] = range ?? [0, lines.length - 1];
  // Numbers first, then white space of the text that has them, so that both end up as one change of each line.
  const text = textOf(session, path);
  let target = lines;
  if (range === undefined && numbers === "renumber") {
    const numbered = numberChanges(profile, path, text, numberStep);
    if ("refused" in numbered) throw new ResponseError(LSPErrorCodes.RequestFailed, say("format.refused", { why: numbered.refused }));
    target = applyLines(lines, numbered.changes);
  }
  const after = spaces
    ? applyLines(
        target,
        await inChunks(from, Math.min(to, target.length - 1), token, (first, last) => spaceChanges(profile, path, target, first, last)),
      )
    : target;
  const changes = after.flatMap((now, line) => {
    const before = lines[line] ?? "";
    return now === before
      ? []
      : [{ place: { file: path, range: { line, column: 0, endLine: line, endColumn: before.length } }, text: now }];
  });
  if (changes.length === 0) return [];
  const why = await drain(
    motionProof(view, session.files, path, changes),
    () => token.isCancellationRequested || document?.version !== version,
  );
  if (token.isCancellationRequested || document?.version !== version)
    throw new ResponseError(LSPErrorCodes.ContentModified, say("format.changed"));
  if (why !== undefined) throw new ResponseError(LSPErrorCodes.RequestFailed, say("format.refused", { why: `${why}.` }));
  return changes.map((c) => ({ range: toRange(c.place.range), newText: c.text }));
}

/** Changes within lines, made in the lines. */
function applyLines(
  lines: readonly string[],
  changes: readonly { place: { range: { line: number; column: number; endColumn: number } }; text: string }[],
): string[] {
  const out = [...lines];
  const sorted = [...changes].sort((a, b) => b.place.range.column - a.place.range.column);
  for (const {
    place: { range },
    text,
  } of sorted) {
    const line = out[range.line] ?? "";
    out[range.line] = line.slice(0, range.column) + text + line.slice(range.endColumn);
  }
  return out;
}
