/** That the check of the protocol can fail: messages and sessions with one fault each, and the same without it. */
import { createRequire } from "node:module";
import { describe, expect, it } from "vitest";
import { protocol } from "../support/conforming-client.js";
import type { Part } from "../support/protocol-model.js";
import { judge } from "../support/protocol-session.js";
import { type Entry, type Sent, Transcript } from "../support/transcript.js";

const start = { line: 0, character: 0 };
const range = (line: number, from: number, to: number) => ({ start: { line, character: from }, end: { line, character: to } });
const uri = "file:///shop/a.nc";
const textDocument = { uri };

describe("the model", () => {
  it("has every message that the library knows, and only those", () => {
    const library = createRequire(import.meta.url)("vscode-languageserver-protocol/node") as Record<string, unknown>;
    const methods = Object.values(library).flatMap((value) => {
      const { method, type } = (value ?? {}) as { method?: unknown; type?: unknown };
      return typeof method === "string" && /^Protocol/.test(Object(type).constructor.name) ? [method] : [];
    });
    expect(methods.length).toBeGreaterThan(80);
    const base = ["$/cancelRequest", "$/logTrace", "$/progress", "$/setTrace"];
    expect([...protocol.messages.keys()].sort()).toEqual([...methods, ...base].sort());
  });

  it("leaves no number that may be a fraction but that of a colour", () => {
    const bare = /\{"type":(?:"number"|\[[^\]]*"number"[^\]]*\])\}/;
    const loose = Object.entries(protocol.model.definitions).filter(([, schema]) => bare.test(JSON.stringify(schema)));
    expect(loose.map(([name]) => name)).toEqual(["decimal"]);
  });

  it("is closed wherever the protocol is: only what names its own keys may have others", () => {
    // LSP 3.18: documents by their URI in three reports and in an edit; formatting options have "[key: string]: boolean |
    // integer | string", a message's action "[key: string]: string | boolean | integer | object"; an LSPObject is any object.
    const isOpen = (schema: unknown): boolean =>
      typeof schema === "object" &&
      schema !== null &&
      (("type" in schema && schema.type === "object" && (schema as { additionalProperties?: unknown }).additionalProperties !== false) ||
        Object.values(schema).some(isOpen));
    const open = Object.entries(protocol.model.definitions).filter(([, schema]) => isOpen(schema));
    expect(open.map(([name]) => name).sort()).toEqual([
      "DocumentDiagnosticReportPartialResult",
      "FormattingOptions",
      "LSPObject",
      "MessageActionItem",
      "RelatedFullDocumentDiagnosticReport",
      "RelatedUnchangedDocumentDiagnosticReport",
      "WorkspaceEdit",
    ]);
  });
});

/** A message as it should be, and what is wrong with it. */
const hover = { contents: { kind: "markdown", value: "**G0**" }, range: range(0, 0, 2) };
const diagnostic = { range: range(0, 0, 2), severity: 1, code: "x", source: "jawline", message: "m" };
const open = { textDocument: { uri, languageId: "iso6983", version: 1, text: "" } };
const symbol = { name: "O1", kind: 2, range: range(0, 0, 2), selectionRange: range(0, 0, 2) };
const right: [string, Part, unknown][] = [
  ["textDocument/hover", "params", { textDocument, position: start }],
  ["textDocument/hover", "result", hover],
  ["textDocument/hover", "result", null],
  ["textDocument/didOpen", "params", open],
  ["textDocument/publishDiagnostics", "params", { uri, diagnostics: [diagnostic] }],
  ["textDocument/documentSymbol", "result", [symbol]],
  ["textDocument/diagnostic", "result", { kind: "unchanged", resultId: "1" }],
  ["textDocument/semanticTokens/full", "result", { data: [0, 0, 2, 1, 0] }],
  ["textDocument/formatting", "params", { textDocument, options: { tabSize: 2, insertSpaces: true, own: 3 } }],
  ["textDocument/formatting", "registration", { documentSelector: [{ language: "iso6983" }] }],
  ["initialize", "result", { capabilities: { hoverProvider: true, experimental: { anything: 1 } }, serverInfo: { name: "jawline" } }],
  ["shutdown", "params", undefined],
  ["shutdown", "result", null],
  ["client/registerCapability", "result", null],
  ["textDocument/codeLens", "result", [{ range: range(0, 0, 0), command: { title: "t", command: "c", arguments: [{ any: [] }] } }]],
];
const wrong: [string, string, Part, unknown][] = [
  ["a needed key is missing", "textDocument/hover", "result", { range: hover.range }],
  ["a needed key is missing, deep inside", "textDocument/hover", "params", { textDocument, position: { line: 0 } }],
  ["a needed key is missing", "textDocument/didOpen", "params", { textDocument: { uri, languageId: "iso6983", text: "" } }],
  ["a needed key is missing", "textDocument/publishDiagnostics", "params", { diagnostics: [] }],
  ["a key of a closed type that is not known", "textDocument/hover", "result", { ...hover, title: "G0" }],
  [
    "a key that is not known, deep inside",
    "textDocument/publishDiagnostics",
    "params",
    { uri, diagnostics: [{ ...diagnostic, level: 1 }] },
  ],
  ["a capability that is not known", "initialize", "result", { capabilities: { hoversProvider: true } }],
  ["a word that is none of the values", "textDocument/hover", "result", { contents: { kind: "html", value: "" } }],
  [
    "a number that is none of the values",
    "textDocument/publishDiagnostics",
    "params",
    { uri, diagnostics: [{ ...diagnostic, severity: 5 }] },
  ],
  ["a number that is none of the values", "textDocument/documentSymbol", "result", [{ ...symbol, kind: 27 }]],
  ["a column below zero", "textDocument/hover", "params", { textDocument, position: { line: 0, character: -1 } }],
  ["a column that is no whole number", "textDocument/hover", "params", { textDocument, position: { line: 0, character: 1.5 } }],
  ["a line that is a text", "textDocument/hover", "params", { textDocument, position: { line: "0", character: 0 } }],
  ["a token that is below zero", "textDocument/semanticTokens/full", "result", { data: [0, 0, -2, 1, 0] }],
  ["a URI that is a path", "textDocument/publishDiagnostics", "params", { uri: "shop/a.nc", diagnostics: [] }],
  ["a report of one kind with what the other has", "textDocument/diagnostic", "result", { kind: "unchanged", resultId: "1", items: [] }],
  ["a report that names no kind", "textDocument/diagnostic", "result", { items: [] }],
  ["the answer to another request", "textDocument/hover", "result", [symbol]],
  ["the answer to another request", "textDocument/documentSymbol", "result", hover],
  ["null where something must be", "textDocument/diagnostic", "result", null],
  ["something where null must be", "shutdown", "result", {}],
  ["something where null must be", "client/registerCapability", "result", true],
  ["no answer at all", "textDocument/hover", "result", undefined],
  ["parameters of a request that has none", "shutdown", "params", {}],
  [
    "options that do not belong to what is registered",
    "textDocument/formatting",
    "registration",
    { firstTriggerCharacter: "\n", documentSelector: null },
  ],
  ["a method that is not there", "textDocument/hovers", "params", {}],
];

describe("a message", () => {
  it.each(right)("%s, %s, as it should be is taken", (method, part, value) => {
    expect(protocol.faults(method, part, value)).toEqual([]);
  });
  it.each(wrong)("with a fault is refused: %s (%s, %s)", (_, method, part, value) => {
    expect(protocol.faults(method, part, value)).not.toEqual([]);
  });
});

const client = (message: Sent): Entry => ({ from: "client", message: { jsonrpc: "2.0", ...message } });
const server = (message: Sent): Entry => ({ from: "server", message: { jsonrpc: "2.0", ...message } });

/** A client that can much, and a server that offers what the cases below need. */
const capabilities = {
  workspace: { inlayHint: { refreshSupport: true }, configuration: true, workspaceEdit: { documentChanges: true } },
  window: { workDoneProgress: true },
  textDocument: {
    hover: { contentFormat: ["plaintext"] },
    formatting: { dynamicRegistration: true },
    codeAction: { codeActionLiteralSupport: { codeActionKind: { valueSet: ["quickfix"] } } },
    completion: { completionItem: { documentationFormat: ["plaintext"] } },
    documentSymbol: { hierarchicalDocumentSymbolSupport: true },
    signatureHelp: { signatureInformation: { parameterInformation: { labelOffsetSupport: true }, noActiveParameterSupport: true } },
    diagnostic: {},
    publishDiagnostics: {},
  },
};
const offers = {
  textDocumentSync: 2,
  hoverProvider: true,
  codeActionProvider: { codeActionKinds: ["quickfix"] },
  semanticTokensProvider: { legend: { tokenTypes: ["number", "keyword"], tokenModifiers: ["rapid"] }, full: true },
};
const hello = [
  client({ id: 0, method: "initialize", params: { processId: null, rootUri: null, capabilities } }),
  server({ id: 0, result: { capabilities: offers } }),
  client({ method: "initialized", params: {} }),
];
/** Three lines: eight characters, a sign of two units between brackets, nothing. */
const text = "G0 X1 Y2\n(\u{1f600})\n";
const opened = [
  ...hello,
  client({ method: "textDocument/didOpen", params: { textDocument: { uri, languageId: "iso6983", version: 1, text } } }),
];
const bye = [client({ id: 99, method: "shutdown" }), server({ id: 99, result: null }), client({ method: "exit" })];

/** A request about the document at its start, and its answer. */
const asked = (what: string, result: unknown, params: object = {}): Entry[] => [
  client({ id: 1, method: `textDocument/${what}`, params: { textDocument, ...params } }),
  server({ id: 1, result }),
];
const position = { line: 0, character: 4 };
const push = (d: object, more: object = {}) =>
  server({ method: "textDocument/publishDiagnostics", params: { uri, diagnostics: [{ ...diagnostic, ...d }], ...more } });
const progress = (kind: string, more: object = {}) => server({ method: "$/progress", params: { token: "t", value: { kind, ...more } } });
const token = [server({ id: 7, method: "window/workDoneProgress/create", params: { token: "t" } }), client({ id: 7, result: null })];
const register = (id: string, method: string, registerOptions: unknown) => [
  server({ id: 8, method: "client/registerCapability", params: { registrations: [{ id, method, registerOptions }] } }),
  client({ id: 8, result: null }),
];
const selector = { documentSelector: [{ language: "iso6983" }] };
const unregister = (id: string, method: string) => [
  server({ id: 9, method: "client/unregisterCapability", params: { unregisterations: [{ id, method }] } }),
  client({ id: 9, result: null }),
];
const edit = (line: number, from: number, to: number) => ({ range: range(line, from, to), newText: "" });
const tokens = (...data: number[]) => asked("semanticTokens/full", { data });
const complete = (item: object) => asked("completion", [{ label: "X1", ...item }], { position });
/** Two tokens, and a difference from them. */
const difference = (edits: object[], previousResultId = "1") => [
  ...asked("semanticTokens/full", { resultId: "1", data: [0, 0, 2, 1, 0, 0, 3, 2, 0, 1] }),
  ...asked("semanticTokens/full/delta", { resultId: "2", edits }, { previousResultId }),
];
const options = { tabSize: 2, insertSpaces: true };
const action = (more: object) =>
  asked("codeAction", [{ title: "t", kind: "quickfix", ...more }], { range: range(0, 0, 8), context: { diagnostics: [] } });
const signature = (parameters: object[], more: object = {}) =>
  asked("signatureHelp", { signatures: [{ label: "G83 X Y", parameters }], ...more }, { position });

function problemsOf(entries: readonly Entry[]): readonly string[] {
  const transcript = new Transcript();
  transcript.entries.push(...entries);
  return judge(protocol, transcript).problems;
}

const sound: [string, Entry[]][] = [
  ["a session without anything", [...hello, ...bye]],
  ["a hover", [...opened, ...asked("hover", { contents: { kind: "plaintext", value: "x" }, range: range(0, 3, 5) }, { position }), ...bye]],
  [
    "the end of the text, and both sides of a sign of two units",
    [
      ...opened,
      push({ range: { start: { line: 1, character: 1 }, end: { line: 2, character: 0 } } }),
      push({ range: range(1, 3, 4) }),
      ...bye,
    ],
  ],
  ["progress", [...opened, ...token, progress("begin", { title: "t" }), progress("report", { percentage: 5 }), progress("end"), ...bye]],
  [
    "a registration and its end",
    [...opened, ...register("f", "textDocument/formatting", selector), ...unregister("f", "textDocument/formatting"), ...bye],
  ],
  [
    "a request that is cancelled",
    [
      ...opened,
      client({ id: 1, method: "textDocument/hover", params: { textDocument, position } }),
      client({ method: "$/cancelRequest", params: { id: 1 } }),
      server({ id: 1, error: { code: -32800, message: "cancelled" } }),
      ...bye,
    ],
  ],
  [
    "a question for what is not there",
    [...opened, client({ id: 1, method: "no/suchMethod" }), server({ id: 1, error: { code: -32601, message: "no" } }), ...bye],
  ],
  [
    "an answer for the text before an edit that was on its way",
    [
      ...opened,
      client({ id: 1, method: "textDocument/hover", params: { textDocument, position } }),
      client({ method: "textDocument/didChange", params: { textDocument: { uri, version: 2 }, contentChanges: [{ text: "" }] } }),
      server({ id: 1, result: { contents: "x", range: range(0, 3, 5) } }),
      ...bye,
    ],
  ],
  ["tokens side by side", [...opened, ...tokens(0, 0, 2, 1, 0, 0, 2, 3, 0, 1), ...bye]],
  [
    "a difference of tokens",
    [
      ...opened,
      ...difference([
        { start: 5, deleteCount: 5 },
        { start: 0, deleteCount: 1, data: [0] },
      ]),
      ...bye,
    ],
  ],
  ["edits side by side", [...opened, ...asked("formatting", [edit(0, 0, 2), edit(0, 2, 3)], { options }), ...bye]],
  ["a proposal", [...opened, ...complete({ textEdit: edit(0, 3, 5), kind: 10, documentation: { kind: "plaintext", value: "" } }), ...bye]],
  ["a signature", [...opened, ...signature([{ label: [4, 5] }, { label: "Y" }], { activeParameter: null }), ...bye]],
];

const faulty: [string, RegExp, Entry[]][] = [
  ["no version of JSON-RPC", /no jsonrpc/, [...opened, client({ jsonrpc: "1.0", method: "$/setTrace", params: { value: "off" } }), ...bye]],
  [
    "a key beside the envelope's own",
    /"token" has no place/,
    [...opened, client({ method: "$/setTrace", params: { value: "off" }, token: 1 } as Sent), ...bye],
  ],
  [
    "a result and an error",
    /has no place|result or an error/,
    [
      ...opened,
      client({ id: 1, method: "textDocument/hover", params: { textDocument, position } }),
      server({ id: 1, result: null, error: { code: 1, message: "" } }),
      ...bye,
    ],
  ],
  ["an answer to nothing", /answers the request 5/, [...opened, server({ id: 5, result: null }), ...bye]],
  ["two answers", /answers the request 1/, [...opened, ...asked("hover", null, { position }), server({ id: 1, result: null }), ...bye]],
  ["no answer", /never answered/, [...opened, client({ id: 1, method: "textDocument/hover", params: { textDocument, position } }), ...bye]],
  [
    "an id twice at once",
    /uses the id 1/,
    [
      ...opened,
      client({ id: 1, method: "textDocument/hover", params: { textDocument, position } }),
      ...asked("hover", null, { position }),
      ...bye,
    ],
  ],
  [
    "a message of the other side",
    /from the server/,
    [
      ...opened,
      server({ id: 3, method: "textDocument/hover", params: { textDocument, position } }),
      client({ id: 3, result: null }),
      ...bye,
    ],
  ],
  [
    "a request as a notification",
    /as a notification/,
    [...opened, client({ method: "textDocument/hover", params: { textDocument, position } }), ...bye],
  ],
  ["a message of nobody's", /does not have/, [...opened, server({ method: "jawline/news", params: {} }), ...bye]],
  [
    "the wrong shape of parameters",
    /params of textDocument\/hover/,
    [...opened, client({ id: 1, method: "textDocument/hover", params: { textDocument } }), server({ id: 1, result: null }), ...bye],
  ],
  [
    "the wrong shape of a result",
    /result of textDocument\/hover/,
    [...opened, ...asked("hover", { range: range(0, 0, 1) }, { position }), ...bye],
  ],
  ["diagnostics before the server is there", /before it has answered/, [...hello.slice(0, 1), push({}), ...hello.slice(1), ...bye]],
  [
    "requests before the server is there",
    /before "initialize" was answered/,
    [...hello.slice(0, 1), client({ method: "$/setTrace", params: { value: "off" } }), ...hello.slice(1), ...bye],
  ],
  [
    "requests after the end",
    /after "shutdown"/,
    [...opened, ...bye.slice(0, 2), client({ method: "$/setTrace", params: { value: "off" } }), ...bye.slice(2)],
  ],
  ["a document opened twice", /opened twice/, [...opened, ...opened.slice(-1), ...bye]],
  [
    "a version that does not rise",
    /does not rise/,
    [
      ...opened,
      client({ method: "textDocument/didChange", params: { textDocument: { uri, version: 1 }, contentChanges: [{ text: "" }] } }),
      ...bye,
    ],
  ],
  [
    "an error without a code",
    /has no code/,
    [
      ...opened,
      client({ id: 1, method: "textDocument/hover", params: { textDocument, position } }),
      server({ id: 1, error: { message: "" } }),
      ...bye,
    ],
  ],
  [
    "given back as cancelled by nobody",
    /cancelled, which it is not/,
    [
      ...opened,
      client({ id: 1, method: "textDocument/hover", params: { textDocument, position } }),
      server({ id: 1, error: { code: -32800, message: "" } }),
      ...bye,
    ],
  ],
  [
    "offered and not there",
    /offers textDocument\/hover/,
    [
      ...opened,
      client({ id: 1, method: "textDocument/hover", params: { textDocument, position } }),
      server({ id: 1, error: { code: -32601, message: "" } }),
      ...bye,
    ],
  ],
  [
    "another number of settings",
    /another number of settings/,
    [
      ...opened,
      server({ id: 3, method: "workspace/configuration", params: { items: [{}, {}] } }),
      client({ id: 3, result: [null] }),
      ...bye,
    ],
  ],
  [
    "a request that the client does not take",
    /did not announce workspace.codeLens/,
    [...opened, server({ id: 3, method: "workspace/codeLens/refresh" }), client({ id: 3, result: null }), ...bye],
  ],
  [
    "a registration that the client does not take",
    /rangeFormatting.dynamicRegistration/,
    [...opened, ...register("f", "textDocument/rangeFormatting", selector), ...bye],
  ],
  ["the end of no registration", /has not registered/, [...opened, ...unregister("f", "textDocument/formatting"), ...bye]],
  [
    "the wrong options of a registration",
    /registration of textDocument\/formatting/,
    [...opened, ...register("f", "textDocument/formatting", { selector: [] }), ...bye],
  ],
  ["progress of no token", /which there is not/, [...opened, progress("begin", { title: "t" }), ...bye]],
  [
    "progress before the client has taken the token",
    /which there is not/,
    [...opened, ...token.slice(0, 1), progress("begin", { title: "t" }), ...token.slice(1), ...bye],
  ],
  ["progress that is told before it begins", /out of turn/, [...opened, ...token, progress("report"), progress("end"), ...bye]],
  ["progress that never ends", /never ends/, [...opened, ...token, progress("begin", { title: "t" }), ...bye]],
  [
    "progress after its end",
    /after its end/,
    [...opened, ...token, progress("begin", { title: "t" }), progress("end"), progress("end"), ...bye],
  ],
  [
    "progress that goes back",
    /goes to 3/,
    [...opened, ...token, progress("begin", { title: "t", percentage: 5 }), progress("report", { percentage: 3 }), progress("end"), ...bye],
  ],
  [
    "diagnostics pushed and pulled",
    /pulled and pushed/,
    [...opened, push({}), ...asked("diagnostic", { kind: "full", items: [] }), ...bye],
  ],
  ["a range that ends before it starts", /ends before it starts/, [...opened, push({ range: range(0, 5, 3) }), ...bye]],
  ["a column behind the end of its line", /character 9 of 8/, [...opened, push({ range: range(0, 0, 9) }), ...bye]],
  ["a line behind the end of the text", /line 3 of 3/, [...opened, push({ range: range(3, 0, 0) }), ...bye]],
  ["a column between two halves of a sign", /within a character/, [...opened, push({ range: range(1, 2, 4) }), ...bye]],
  [
    "a place in a file on disk that is not there",
    /line 7 of 1/,
    [
      ...opened,
      { from: "disk", uri: "file:///shop/b.nc", text: "G0" },
      ...asked("definition", [{ uri: "file:///shop/b.nc", range: range(7, 0, 0) }], { position }),
      ...bye,
    ],
  ],
  [
    "a name outside of what it names",
    /is not within/,
    [...opened, ...asked("documentSymbol", [{ ...symbol, range: range(0, 0, 1) }]), ...bye],
  ],
  [
    "a child outside of its parent",
    /outside of its parent/,
    [...opened, ...asked("documentSymbol", [{ ...symbol, children: [{ ...symbol, range: range(0, 0, 5) }] }]), ...bye],
  ],
  ["tokens that are cut off", /no multiple of five/, [...opened, ...tokens(0, 0, 2, 1), ...bye]],
  ["a difference from nothing", /never given/, [...opened, ...difference([], "7"), ...bye]],
  [
    "a difference that ends behind the tokens",
    /goes to 11 of 10|multiple/,
    [...opened, ...difference([{ start: 9, deleteCount: 2 }]), ...bye],
  ],
  ["a difference that makes tokens overlap", /overlap/, [...opened, ...difference([{ start: 6, deleteCount: 1, data: [1] }]), ...bye]],
  ["tokens that overlap", /overlap/, [...opened, ...tokens(0, 0, 2, 1, 0, 0, 1, 2, 1, 0), ...bye]],
  ["a token of no type", /type 2 of 2/, [...opened, ...tokens(0, 0, 2, 2, 0), ...bye]],
  ["a token with modifiers that are none", /modifiers 2 of 1/, [...opened, ...tokens(0, 0, 2, 1, 2), ...bye]],
  ["a token over the end of its line", /character 9 of 8/, [...opened, ...tokens(0, 3, 6, 1, 0), ...bye]],
  ["a fold over the end of the text", /line 4 of 3/, [...opened, ...asked("foldingRange", [{ startLine: 0, endLine: 4 }]), ...bye]],
  ["a fold that ends before it starts", /line 1 to 0/, [...opened, ...asked("foldingRange", [{ startLine: 1, endLine: 0 }]), ...bye]],
  ["edits that overlap", /edits overlap/, [...opened, ...asked("formatting", [edit(0, 0, 3), edit(0, 2, 4)], { options }), ...bye]],
  [
    "selections that do not enclose each other",
    /does not hold 0:3-0:5/,
    [
      ...opened,
      ...asked("selectionRange", [{ range: range(0, 3, 5), parent: { range: range(0, 4, 8) } }], { positions: [position] }),
      ...bye,
    ],
  ],
  [
    "a selection elsewhere",
    /does not hold the position/,
    [...opened, ...asked("selectionRange", [{ range: range(0, 6, 8) }], { positions: [position] }), ...bye],
  ],
  [
    "fewer selections than positions",
    /another number of answers/,
    [...opened, ...asked("selectionRange", [], { positions: [position] }), ...bye],
  ],
  ["a proposal that writes elsewhere", /does not hold the position/, [...opened, ...complete({ textEdit: edit(0, 6, 8) }), ...bye]],
  [
    "a proposal in a format that the client does not show",
    /markdown; the client did not announce/,
    [...opened, ...complete({ documentation: { kind: "markdown", value: "" } }), ...bye],
  ],
  ["a proposal of a kind that came later", /kind 23; the client did not/, [...opened, ...complete({ kind: 23 }), ...bye]],
  [
    "a hover in a format that the client does not show",
    /markdown; the client did not/,
    [...opened, ...asked("hover", hover, { position }), ...bye],
  ],
  [
    "a parameter that is no part of its signature",
    /no part of/,
    [...opened, ...signature([{ label: "Q" }], { activeParameter: 0 }), ...bye],
  ],
  [
    "a parameter behind the last one",
    /where none could be said/,
    [...opened, ...signature([{ label: "X" }], { activeParameter: 1 }), ...bye],
  ],
  ["an action of a kind that was not announced", /kind "refactor", which the server/, [...opened, ...action({ kind: "refactor" }), ...bye]],
  ["a preferred action for a client that knows none", /isPreferredSupport/, [...opened, ...action({ isPreferred: true }), ...bye]],
  [
    "an action with a snippet for a client that knows none",
    /snippetEditSupport/,
    [
      ...opened,
      ...action({
        edit: {
          documentChanges: [
            { textDocument: { uri, version: 1 }, edits: [{ range: range(0, 0, 0), snippet: { kind: "snippet", value: "" } }] },
          ],
        },
      }),
      ...bye,
    ],
  ],
  ["diagnostics with tags for a client that knows none", /tagSupport|does not list/, [...opened, push({ tags: [1] }), ...bye]],
  [
    "diagnostics with related places for a client that knows none",
    /relatedInformation/,
    [...opened, push({ relatedInformation: [] }), ...bye],
  ],
  ["diagnostics of a version to come", /not there yet/, [...opened, push({}, { version: 2 }), ...bye]],
];

describe("a session", () => {
  it.each(sound)("is taken: %s", (_, entries) => {
    expect(problemsOf(entries)).toEqual([]);
  });
  it.each(faulty)("is refused: %s", (_, told, entries) => {
    const problems = problemsOf(entries);
    expect(problems).not.toEqual([]);
    expect(problems.filter((p) => !told.test(p))).toEqual([]);
  });
});
