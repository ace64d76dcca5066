import { DiagnosticTag, type InitializeParams, type ServerCapabilities } from "vscode-languageserver";
import { TOKEN_MODIFIERS, TOKEN_TYPES } from "../ide/tokens.js";
import { codeActionKinds } from "./fixing.js";
import type { Abilities } from "./session.js";

/** What a client told about itself. Its own options stand in `initializationOptions`. */
export function abilitiesOf(params: InitializeParams): Abilities {
  const { workspace, textDocument, window } = params.capabilities;
  const options = (params.initializationOptions ?? {}) as { images?: unknown; diagnostics?: unknown; commands?: unknown };
  const pull = textDocument?.diagnostic;
  const related = pull?.relatedDocumentSupport === true;
  const push = textDocument?.publishDiagnostics;
  const proposals = textDocument?.completion;
  const signatures = textDocument?.signatureHelp?.signatureInformation;
  return {
    configuration: workspace?.configuration === true,
    workspaceFolders: workspace?.workspaceFolders === true,
    codeActionLiterals: textDocument?.codeAction?.codeActionLiteralSupport !== undefined,
    documentChanges: workspace?.workspaceEdit?.documentChanges === true,
    snippetEdits: workspace?.workspaceEdit?.snippetEditSupport === true,
    hierarchicalSymbols: textDocument?.documentSymbol?.hierarchicalDocumentSymbolSupport === true,
    // Findings of a program stand in called files and in the sidecar too. A client that pulls but cannot take those with the
    // answer would lose them, so it is told by notifications, unless it wants otherwise or takes no notifications.
    pullDiagnostics:
      options.diagnostics === "pull" ||
      (options.diagnostics !== "push" && pull !== undefined && (related || textDocument?.publishDiagnostics === undefined)),
    diagnosticRefresh: workspace?.diagnostics?.refreshSupport === true,
    relatedDocuments: related,
    tags: [push, pull].some((d) => d?.tagSupport?.valueSet.includes(DiagnosticTag.Unnecessary) === true),
    relatedInformation: push?.relatedInformation === true || pull?.relatedInformation === true,
    codeDescriptions: push?.codeDescriptionSupport === true || pull?.codeDescriptionSupport === true,
    progress: window?.workDoneProgress === true,
    hintRefresh: workspace?.inlayHint?.refreshSupport === true,
    lensRefresh: workspace?.codeLens?.refreshSupport === true,
    tokenRefresh: workspace?.semanticTokens?.refreshSupport === true,
    markdown: textDocument?.hover?.contentFormat === undefined || textDocument.hover.contentFormat.includes("markdown"),
    completionMarkdown: proposals?.completionItem?.documentationFormat?.includes("markdown") === true,
    signatureMarkdown: signatures?.documentationFormat?.includes("markdown") === true,
    images: options.images === true,
    labelDetails: proposals?.completionItem?.labelDetailsSupport === true,
    preselect: proposals?.completionItem?.preselectSupport === true,
    completionKinds: proposals?.completionItemKind?.valueSet !== undefined,
    symbolKinds: workspace?.symbol?.symbolKind?.valueSet !== undefined,
    parameterPlaces: signatures?.parameterInformation?.labelOffsetSupport === true,
    noActiveParameter: signatures?.noActiveParameterSupport === true,
    preferredActions: textDocument?.codeAction?.isPreferredSupport === true,
    linkTooltips: textDocument?.documentLink?.tooltipSupport === true,
    // The three are registered together, so a client must know that of each.
    dynamicFormatting: [textDocument?.formatting, textDocument?.rangeFormatting, textDocument?.onTypeFormatting].every(
      (f) => f?.dynamicRegistration === true,
    ),
    commands: Array.isArray(options.commands) ? options.commands.filter((c): c is string => typeof c === "string") : [],
  };
}

/** What the language features offer a client. */
export function featureCapabilities(abilities: Abilities): ServerCapabilities {
  return {
    hoverProvider: true,
    definitionProvider: true,
    referencesProvider: true,
    documentHighlightProvider: true,
    renameProvider: { prepareProvider: true },
    callHierarchyProvider: true,
    documentLinkProvider: {},
    documentSymbolProvider: true,
    workspaceSymbolProvider: true,
    foldingRangeProvider: true,
    selectionRangeProvider: true,
    inlayHintProvider: true,
    codeLensProvider: {},
    codeActionProvider: { codeActionKinds: [...codeActionKinds] },
    completionProvider: { triggerCharacters: ["G", "M", "T", "H", "D", "P", "#", "(", '"'] },
    signatureHelpProvider: { triggerCharacters: [" "], retriggerCharacters: [" "] },
    semanticTokensProvider: {
      legend: { tokenTypes: [...TOKEN_TYPES], tokenModifiers: [...TOKEN_MODIFIERS] },
      full: { delta: true },
      range: true,
    },
    ...(abilities.dynamicFormatting
      ? {}
      : {
          documentFormattingProvider: true,
          documentRangeFormattingProvider: true,
          documentOnTypeFormattingProvider: { firstTriggerCharacter: "\n" },
        }),
    ...(abilities.pullDiagnostics
      ? { diagnosticProvider: { identifier: "jawline", interFileDependencies: true, workspaceDiagnostics: false } }
      : {}),
  };
}
