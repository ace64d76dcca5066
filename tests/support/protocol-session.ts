/**
 * Holds a whole session against the language server protocol: every message of both sides against the protocol's model, and
 * what the protocol says in words about their order, about what must hold between them and about what a client announced.
 * Sentences are those of LSP 3.17 (3.18 where it is named).
 */
import { TextDocument } from "vscode-languageserver-textdocument";
import type { MessageModel, Protocol, Side } from "./protocol-model.js";
import type { Sent, Transcript } from "./transcript.js";

/** The project's own messages, which no protocol describes, by who sends them. */
export const OWN: ReadonlyMap<string, Side> = new Map([
  ["jawline/status", "server"],
  ["jawline/readFile", "server"],
  ["jawline/listFolder", "server"],
  ["jawline/check", "client"],
  ["jawline/checkOnDisk", "client"],
  ["jawline/fixtureOf", "client"],
]);

export interface Verdict {
  /** What breaks the protocol, in words; empty if nothing does. */
  readonly problems: readonly string[];
  /** How many messages were held against the model: "request textDocument/hover", "result …", "error …", "notification …". */
  readonly counts: ReadonlyMap<string, number>;
  /** Own messages seen, which were not held against anything. */
  readonly own: ReadonlySet<string>;
  /** Methods that were answered with something: neither null nor an empty list. */
  readonly filled: ReadonlySet<string>;
  /** Methods that the server offered, at its start or by a later registration. */
  readonly offered: ReadonlySet<string>;
  /** Requests of the server that the client said it can take. */
  readonly takes: ReadonlySet<string>;
  /** Keys of the server's capabilities that lead to no message of the model. */
  readonly unknownOffers: readonly string[];
}

interface Position {
  readonly line: number;
  readonly character: number;
}
interface Range {
  readonly start: Position;
  readonly end: Position;
}
type Fields = Readonly<Record<string, unknown>>;

const isObject = (value: unknown): value is Fields => typeof value === "object" && value !== null && !Array.isArray(value);
const fields = (value: unknown): Fields => (isObject(value) ? value : {});
const list = (value: unknown): readonly unknown[] => (Array.isArray(value) ? value : []);
const string = (value: unknown): string | undefined => (typeof value === "string" ? value : undefined);

/** A value by its path, "a.b.c". */
function at(value: unknown, path: string): unknown {
  return path.split(".").reduce<unknown>((v, key) => fields(v)[key], value);
}

function isPosition(value: unknown): value is Position {
  return isObject(value) && Object.keys(value).length === 2 && typeof value.line === "number" && typeof value.character === "number";
}
function isRange(value: unknown): value is Range {
  return isObject(value) && Object.keys(value).length === 2 && isPosition(value.start) && isPosition(value.end);
}
const compare = (a: Position, b: Position) => a.line - b.line || a.character - b.character;
const inside = (inner: Range, outer: Range) => compare(outer.start, inner.start) <= 0 && compare(inner.end, outer.end) <= 0;
const contains = (range: Range, position: Position) => compare(range.start, position) <= 0 && compare(position, range.end) <= 0;
const shown = (r: Range) => `${r.start.line}:${r.start.character}-${r.end.line}:${r.end.character}`;

/** The texts that a document had, with the moment from which it had each. */
class Texts {
  readonly #history = new Map<string, { readonly since: number; readonly text: string; lines?: readonly string[] }[]>();
  readonly #open = new Map<string, TextDocument>();

  isOpen(uri: string): boolean {
    return this.#open.has(uri);
  }

  version(uri: string): number | undefined {
    return this.#open.get(uri)?.version;
  }

  open(uri: string, version: number, text: string, now: number): void {
    this.#open.set(uri, TextDocument.create(uri, "", version, text));
    this.#add(uri, text, now);
  }

  change(uri: string, version: number, changes: readonly { range?: Range; text: string }[], now: number): void {
    const document = this.#open.get(uri);
    if (document === undefined) return;
    this.#add(uri, TextDocument.update(document, [...changes], version).getText(), now);
  }

  close(uri: string): void {
    this.#open.delete(uri);
  }

  disk(uri: string, text: string, now: number): void {
    this.#add(uri, text, now);
  }

  #add(uri: string, text: string, since: number): void {
    const known = this.#history.get(uri);
    if (known === undefined) this.#history.set(uri, [{ since, text }]);
    else known.push({ since, text });
  }

  /** Lines of all texts that a document had at any moment of a stretch of time; none if nothing is known of it. */
  during(uri: string, from: number, to: number): (readonly string[])[] {
    const known = this.#history.get(uri) ?? [];
    return known
      .filter((text, i) => text.since <= to && (known[i + 1]?.since ?? Number.POSITIVE_INFINITY) >= from)
      .map((text) => {
        text.lines ??= text.text.split(/\r\n|\r|\n/);
        return text.lines;
      });
  }
}

/** What does not fit a position into a text; undefined if it fits. */
function misfit({ line, character }: Position, lines: readonly string[]): string | undefined {
  const text = lines[line];
  if (text === undefined) return `line ${line} of ${lines.length}`;
  if (character > text.length) return `character ${character} of ${text.length} in line ${line}`;
  const before = text.charCodeAt(character - 1);
  const after = text.charCodeAt(character);
  if (before >= 0xd800 && before < 0xdc00 && after >= 0xdc00 && after < 0xe000)
    return `character ${character} of line ${line} within a character`;
  return undefined;
}

/** Values of the protocol that are anybody's own. */
const FREE = new Set(["data", "arguments", "initializationOptions", "settings", "experimental"]);

interface Finds {
  positions(uri: string | undefined, found: readonly Position[]): void;
  problem(text: string): void;
}

/** Goes through a message: every place with the document it is in, and what must hold of ranges wherever they stand. */
function walk(value: unknown, uri: string | undefined, finds: Finds): void {
  if (Array.isArray(value)) {
    const edits = value.filter((v) => isObject(v) && isRange(v.range) && ("newText" in v || "snippet" in v)).map((v) => v.range as Range);
    const sorted = [...edits].sort((a, b) => compare(a.start, b.start) || compare(a.end, b.end));
    for (const [i, edit] of sorted.entries()) {
      const next = sorted[i + 1];
      if (next !== undefined && compare(edit.end, next.start) > 0) finds.problem(`edits overlap: ${shown(edit)} and ${shown(next)}`);
    }
    for (const item of value) walk(item, uri, finds);
    return;
  }
  if (isPosition(value)) {
    finds.positions(uri, [value]);
    return;
  }
  if (isRange(value)) {
    if (compare(value.start, value.end) > 0) finds.problem(`a range ends before it starts: ${shown(value)}`);
    finds.positions(uri, [value.start, value.end]);
    return;
  }
  if (!isObject(value)) return;
  for (const [small, large] of [
    ["selectionRange", "range"],
    ["targetSelectionRange", "targetRange"],
  ] as const) {
    const [inner, outer] = [value[small], value[large]];
    if (isRange(inner) && isRange(outer) && !inside(inner, outer))
      finds.problem(`${small} ${shown(inner)} is not within ${large} ${shown(outer)}`);
  }
  const own = string(value.uri) ?? string(at(value, "textDocument.uri")) ?? uri;
  for (const [key, child] of Object.entries(value)) {
    if (FREE.has(key)) continue;
    if ((key === "changes" || key === "relatedDocuments") && isObject(child))
      for (const [other, content] of Object.entries(child)) walk(content, other, finds);
    else if (key.startsWith("target")) walk(child, string(value.targetUri) ?? own, finds);
    // The places of an incoming call stand in the caller.
    else if (key === "fromRanges") walk(child, string(at(value, "from.uri")) ?? own, finds);
    else walk(child, own, finds);
  }
}

/** Numbers of tokens after the edits of a difference, all of which count from the numbers before. */
function edited(
  before: readonly number[],
  edits: readonly { readonly start: number; readonly deleteCount: number; readonly data?: readonly number[] }[],
  say: (text: string) => void,
): readonly number[] {
  const out = [...before];
  let limit = before.length;
  for (const { start, deleteCount, data } of [...edits].sort((a, b) => b.start - a.start)) {
    if (start + deleteCount > limit) say(`a difference that goes to ${start + deleteCount} of ${limit}`);
    out.splice(start, deleteCount, ...(data ?? []));
    limit = start;
  }
  return out;
}

/** Codes of errors: LSP 3.17, "Response Message", and JSON-RPC 2.0. */
const METHOD_NOT_FOUND = -32601;
const REQUEST_CANCELLED = -32800;

/** What a server may send before it has answered "initialize": LSP 3.17, "Initialize Request". */
const EARLY = new Set(["window/showMessage", "window/logMessage", "telemetry/event", "window/showMessageRequest", "$/progress"]);

interface Request {
  readonly method: string;
  readonly params: unknown;
  readonly when: number;
  cancelled: boolean;
}

interface Token {
  readonly owner: Side;
  /** What partial results of the request must be; undefined for work under way. */
  readonly partial?: string;
  state: "wanted" | "ready" | "begun" | "ended";
  percentage: number;
}

class Session {
  readonly problems: string[] = [];
  readonly counts = new Map<string, number>();
  readonly own = new Set<string>();
  readonly filled = new Set<string>();
  readonly registeredMethods = new Set<string>();
  readonly #protocol: Protocol;
  readonly #texts = new Texts();
  readonly #waiting: Readonly<Record<Side, Map<number | string, Request>>> = { client: new Map(), server: new Map() };
  readonly #registered = new Map<string, string>();
  readonly #tokens = new Map<number | string, Token>();
  readonly #pushed = new Set<string>();
  readonly #pulled = new Set<string>();
  /** Tokens by document and result, for differences from them. */
  readonly #tokenResults = new Map<string, readonly number[]>();
  #phase: "new" | "initializing" | "running" | "down" | "gone" = "new";
  #downSince = Number.POSITIVE_INFINITY;
  #initialized = false;
  #now = 0;
  can: unknown;
  offers: unknown;

  constructor(protocol: Protocol) {
    this.#protocol = protocol;
  }

  /** True where the client announced something: a flag that is set, or an object. */
  #able(path: string): boolean {
    const value = at(this.can, path);
    return value === true || isObject(value);
  }

  #count(kind: string, method: string): void {
    this.counts.set(`${kind} ${method}`, (this.counts.get(`${kind} ${method}`) ?? 0) + 1);
  }

  problem(text: string): void {
    if (!this.problems.includes(text)) this.problems.push(text);
  }

  entry(entry: Transcript["entries"][number], now: number): void {
    this.#now = now;
    if (entry.from === "disk") {
      this.#texts.disk(entry.uri, entry.text, now);
      return;
    }
    // As it goes over the wire: what is undefined is not there.
    const message = JSON.parse(JSON.stringify(entry.message)) as Sent;
    this.#envelope(entry.from, message);
    if (message.method !== undefined) this.#said(entry.from, message.method, message);
    else this.#answered(entry.from, message);
  }

  /** JSON-RPC 2.0 as the protocol's base part has it. */
  #envelope(from: Side, message: Sent): void {
    const told = () => `${from}: ${JSON.stringify(message).slice(0, 200)}`;
    if (message.jsonrpc !== "2.0") this.problem(`no jsonrpc 2.0: ${told()}`);
    const allowed =
      message.method !== undefined
        ? ["jsonrpc", "id", "method", "params"]
        : "error" in message
          ? ["jsonrpc", "id", "error"]
          : ["jsonrpc", "id", "result"];
    for (const key of Object.keys(message)) if (!allowed.includes(key)) this.problem(`"${key}" has no place in ${told()}`);
    if (message.method !== undefined && typeof message.method !== "string") this.problem(`the method is no text: ${told()}`);
    const needsId = message.method === undefined;
    const isId = (typeof message.id === "number" && Number.isInteger(message.id)) || typeof message.id === "string";
    if (needsId ? !isId : "id" in message && !isId) this.problem(`no id that may be: ${told()}`);
    if (message.method === undefined && "result" in message === "error" in message)
      this.problem(`an answer has a result or an error: ${told()}`);
  }

  #said(from: Side, method: string, message: Sent): void {
    const { id, params } = message;
    const kind = id === undefined || id === null ? "notification" : "request";
    this.#order(from, method);
    const model = this.#protocol.messages.get(method);
    const ownFrom = OWN.get(method);
    if (kind === "request" && id !== undefined && id !== null) {
      if (this.#waiting[from].has(id)) this.problem(`${from} uses the id ${id} of a request that has no answer yet`);
      this.#waiting[from].set(id, { method, params, when: this.#now, cancelled: false });
    }
    if (ownFrom !== undefined) {
      if (ownFrom !== from) this.problem(`${method} from the ${from}`);
      this.own.add(method);
      return;
    }
    if (model === undefined) {
      // A client may ask for what only another server has; the answer tells it so.
      if (from === "server" || kind === "notification") this.problem(`${from} sends ${method}, which the protocol does not have`);
      return;
    }
    this.#count(kind, method);
    if (!model.from.includes(from)) {
      this.problem(`${method} from the ${from}`);
      return;
    }
    if (model.kind !== kind) this.problem(`${method} as a ${kind}`);
    for (const fault of this.#protocol.faults(method, "params", params)) this.problem(`${from}: ${fault}`);
    if (from === "client") this.#clientSaid(method, fields(params));
    else this.#serverSaid(model, kind, params);
    if (from === "server" || method === "textDocument/didChange" || method === "textDocument/codeAction")
      this.#places(method, params, undefined, from === "server" ? 0 : undefined);
    if (method === "$/cancelRequest") {
      const request = this.#waiting[from].get(at(params, "id") as number | string);
      if (request !== undefined) request.cancelled = true;
    }
    if (method === "$/progress") this.#progress(from, fields(params));
    for (const [key, partial] of [
      ["workDoneToken", undefined],
      ["partialResultToken", method],
    ] as const) {
      const token = at(params, key) as number | string | undefined;
      if (kind === "request" && token !== undefined)
        this.#tokens.set(token, { owner: from, ...(partial === undefined ? {} : { partial }), state: "ready", percentage: 0 });
    }
  }

  /** LSP 3.17, "Server lifecycle". */
  #order(from: Side, method: string): void {
    if (from === "server") {
      if (this.#phase === "new" || (this.#phase === "initializing" && !EARLY.has(method)))
        this.problem(`the server sends ${method} before it has answered "initialize"`);
      return;
    }
    if (method === "initialize") {
      if (this.#phase !== "new") this.problem(`"initialize" for a second time`);
      this.#phase = "initializing";
    } else if (method === "exit") this.#phase = "gone";
    else if (this.#phase === "new" || this.#phase === "initializing")
      this.problem(`the client sends ${method} before "initialize" was answered`);
    else if (this.#phase === "down" || this.#phase === "gone") this.problem(`the client sends ${method} after "shutdown"`);
    else if (method === "shutdown") {
      this.#phase = "down";
      this.#downSince = this.#now;
    } else if (method === "initialized") {
      if (this.#initialized) this.problem(`"initialized" for a second time`);
      this.#initialized = true;
    }
  }

  #clientSaid(method: string, params: Fields): void {
    const document = fields(params.textDocument);
    const uri = string(document.uri) ?? "";
    if (method === "initialize") this.can = params.capabilities;
    else if (method === "textDocument/didOpen") {
      if (this.#texts.isOpen(uri)) this.problem(`${uri} is opened twice`);
      this.#texts.open(uri, Number(document.version), string(document.text) ?? "", this.#now);
    } else if (method === "textDocument/didChange") {
      if (!this.#texts.isOpen(uri)) this.problem(`${uri} is changed but not open`);
      if (Number(document.version) <= (this.#texts.version(uri) ?? 0)) this.problem(`the version of ${uri} does not rise`);
      this.#texts.change(uri, Number(document.version), params.contentChanges as { range?: Range; text: string }[], this.#now);
    } else if (method === "textDocument/didClose") {
      if (!this.#texts.isOpen(uri)) this.problem(`${uri} is closed but not open`);
      this.#texts.close(uri);
    } else if (method === "window/workDoneProgress/cancel") {
      if (this.#tokens.get(params.token as number | string)?.owner !== "server") this.problem("the client cancels work of no token");
    }
  }

  #serverSaid({ method, ability }: MessageModel, kind: string, params: unknown): void {
    if (kind === "request" && ability !== undefined && !method.startsWith("window/show") && !this.#takes(ability))
      this.problem(`the server sends ${method}; the client did not announce ${ability}`);
    if (method === "client/registerCapability") {
      for (const one of list(at(params, "registrations"))) this.#registers(fields(one));
    } else if (method === "client/unregisterCapability") {
      for (const one of list(at(params, "unregisterations"))) {
        const { id, method: what } = fields(one);
        if (this.#registered.get(String(id)) !== what) this.problem(`the server unregisters ${String(what)}, which it has not registered`);
        this.#registered.delete(String(id));
      }
    } else if (method === "window/workDoneProgress/create") {
      const token = at(params, "token") as number | string;
      if (this.#tokens.has(token)) this.problem(`the server makes the token ${token} twice`);
      this.#tokens.set(token, { owner: "server", state: "wanted", percentage: 0 });
    } else if (method === "textDocument/publishDiagnostics") {
      const uri = string(at(params, "uri")) ?? "";
      if (list(at(params, "diagnostics")).length > 0) this.#pushed.add(uri);
      if (at(this.offers, "diagnosticProvider") !== undefined)
        this.problem(`the server pushes diagnostics of ${uri} and offers to be asked`);
      if (this.#pulled.has(uri)) this.problem(`diagnostics of ${uri} are pushed and pulled`);
      const version = at(params, "version");
      if (version !== undefined && Number(version) > (this.#texts.version(uri) ?? 0))
        this.problem(`diagnostics of a version of ${uri} that is not there yet`);
      for (const d of list(at(params, "diagnostics"))) this.#diagnostic(fields(d), ["textDocument.publishDiagnostics"]);
    }
  }

  /** Whether a client takes a request: of those that ask it to ask again, whether it takes that. */
  #takes(ability: string): boolean {
    const value = at(this.can, ability);
    return value === true || at(value, "refreshSupport") === true;
  }

  #registers({ id, method, registerOptions }: Fields): void {
    const name = String(method);
    if (this.#registered.has(String(id))) this.problem(`the id ${String(id)} is registered twice`);
    this.#registered.set(String(id), name);
    this.registeredMethods.add(name);
    const model = this.#protocol.messages.get(name);
    if (model === undefined && this.#protocol.model.registrations[name] === undefined) {
      this.problem(`the server registers ${name}, which the protocol does not have`);
      return;
    }
    for (const fault of this.#protocol.faults(name, "registration", registerOptions)) this.problem(`server: ${fault}`);
    if (model?.ability !== undefined && at(this.can, `${model.ability}.dynamicRegistration`) !== true)
      this.problem(`the server registers ${name}; the client did not announce ${model.ability}.dynamicRegistration`);
    const folders = name === "workspace/didChangeWorkspaceFolders" && at(this.can, "workspace.workspaceFolders") !== true;
    if (folders) this.problem(`the server registers ${name}; the client did not announce workspace.workspaceFolders`);
  }

  /** LSP 3.17, "Work Done Progress" and "Partial Result Progress". */
  #progress(from: Side, params: Fields): void {
    const name = params.token as number | string;
    const token = this.#tokens.get(name);
    if (token === undefined || token.state === "wanted") {
      this.problem(`${from} tells progress of the token ${name}, which there is not`);
      return;
    }
    if (token.partial !== undefined) {
      for (const fault of this.#protocol.faults(token.partial, "partialResult", params.value)) this.problem(`${from}: ${fault}`);
      return;
    }
    for (const fault of this.#protocol.progressFaults(params.value)) this.problem(`${from}: ${fault}`);
    const { kind, percentage } = fields(params.value);
    if (token.state === "ended") this.problem(`progress of the token ${name} after its end`);
    else if ((kind === "begin") !== (token.state === "ready")) this.problem(`progress "${String(kind)}" of the token ${name} out of turn`);
    if (typeof percentage === "number") {
      if (percentage > 100 || percentage < token.percentage) this.problem(`the percentage of the token ${name} goes to ${percentage}`);
      token.percentage = percentage;
    }
    token.state = kind === "end" ? "ended" : "begun";
  }

  #answered(from: Side, message: Sent): void {
    const other: Side = from === "client" ? "server" : "client";
    const id = message.id ?? "none";
    const request = this.#waiting[other].get(id);
    if (request === undefined) {
      this.problem(`${from} answers the request ${id}, which there is not or which has its answer`);
      return;
    }
    this.#waiting[other].delete(id);
    const { method, params } = request;
    const model = this.#protocol.messages.get(method);
    if (message.error !== undefined) {
      this.#refused(from, request, fields(message.error), model);
      return;
    }
    if (model === undefined) {
      if (!OWN.has(method)) this.problem(`${from} answers ${method}, which the protocol does not have`);
      return;
    }
    this.#count("result", method);
    const { result } = message;
    for (const fault of this.#protocol.faults(method, "result", result)) this.problem(`${from}: ${fault}`);
    if (result !== null && result !== undefined && !(Array.isArray(result) && result.length === 0)) this.filled.add(method);
    if (method === "initialize") {
      this.offers = at(result, "capabilities");
      if (this.#phase === "initializing") this.#phase = "running";
    }
    if (method === "window/workDoneProgress/create") {
      const token = this.#tokens.get(at(params, "token") as number | string);
      if (token !== undefined) token.state = "ready";
    }
    if (method === "workspace/configuration" && list(result).length !== list(at(params, "items")).length)
      this.problem("the client answers another number of settings than it was asked for");
    if (from === "server") {
      this.#places(method, result, request, request.when);
      this.#content(method, fields(params), result, request.when);
    }
  }

  #refused(from: Side, request: Request, error: Fields, model: MessageModel | undefined): void {
    const { method } = request;
    if (typeof error.code !== "number" || !Number.isInteger(error.code)) this.problem(`an error of ${method} has no code`);
    if (typeof error.message !== "string") this.problem(`an error of ${method} has no message`);
    for (const key of Object.keys(error))
      if (!["code", "message", "data"].includes(key)) this.problem(`"${key}" has no place in an error of ${method}`);
    if (model === undefined) {
      if (!OWN.has(method) && error.code !== METHOD_NOT_FOUND)
        this.problem(`${method}, which is not there, is refused with ${String(error.code)}`);
      return;
    }
    this.#count("error", method);
    if (error.code === METHOD_NOT_FOUND && model.offer !== undefined && this.#offered(model))
      this.problem(`the ${from} offers ${method} and does not have it`);
    if (error.code === REQUEST_CANCELLED && !request.cancelled) this.problem(`${method} is given back as cancelled, which it is not`);
    if (model.errorData !== undefined && error.data !== undefined)
      for (const fault of this.#protocol.faults(method, "errorData", error.data)) this.problem(`${from}: ${fault}`);
  }

  #offered(model: MessageModel): boolean {
    const value = model.offer === undefined ? undefined : at(this.offers, model.offer);
    return (value !== undefined && value !== false && value !== null) || this.registeredMethods.has(model.method);
  }

  /** All places of a message must be in one of the texts that the document had in that time. */
  #places(method: string, value: unknown, request: Request | undefined, from: number | undefined): void {
    const asked = string(at(request?.params, "textDocument.uri")) ?? string(at(request?.params, "item.uri"));
    const byDocument = new Map<string, Position[]>();
    walk(value, asked, {
      problem: (text) => this.problem(`${method}: ${text}`),
      positions: (uri, found) => {
        if (uri === undefined) this.problem(`${method}: a place in no document`);
        else byDocument.set(uri, [...(byDocument.get(uri) ?? []), ...found]);
      },
    });
    if (from !== undefined) for (const [uri, positions] of byDocument) this.#fits(method, uri, positions, from);
  }

  #fits(method: string, uri: string, positions: readonly Position[], from: number): void {
    // A file that is not open may change under the server, which reads it when it likes.
    const texts = this.#texts.during(uri, this.#texts.isOpen(uri) ? from : 0, this.#now);
    const misfits = texts.map((lines) => positions.map((p) => misfit(p, lines)).find((m) => m !== undefined));
    if (misfits.length > 0 && !misfits.includes(undefined)) this.problem(`${method}: ${misfits.at(-1)} of ${uri}`);
  }

  /** What must hold of a result beyond its shape. */
  #content(method: string, params: Fields, result: unknown, when: number): void {
    const uri = string(at(params, "textDocument.uri")) ?? "";
    const say = (text: string) => this.problem(`${method}: ${text}`);
    const needs = (has: boolean, what: string, ability: string) => {
      if (has && !this.#able(ability)) say(`${what}; the client did not announce ${ability}`);
    };
    /** Kinds of a symbol or a proposal: a client that lists some can take any; one that lists none has the first 18. */
    const kind = (value: unknown, ability: string) => {
      if (typeof value === "number" && value > 18) needs(true, `kind ${value}`, ability);
    };
    const markup = (value: unknown, ability: string) => {
      const known = at(this.can, ability);
      const wanted = Array.isArray(known) ? known : ["plaintext"];
      if (isObject(value) && !wanted.includes(value.kind)) say(`${String(value.kind)}; the client did not announce it in ${ability}`);
    };
    switch (method) {
      case "textDocument/hover":
        // A client that names no format is one of before there were any: its marked strings were Markdown.
        if (at(this.can, "textDocument.hover.contentFormat") !== undefined)
          markup(at(result, "contents"), "textDocument.hover.contentFormat");
        break;
      case "textDocument/selectionRange": {
        const asked = list(params.positions) as Position[];
        if (result !== null && list(result).length !== asked.length) say("another number of answers than positions");
        for (const [i, one] of list(result).entries()) {
          const position = asked[i];
          let inner = at(one, "range") as Range;
          // Of a position behind the end of the text nothing can be selected.
          if (position !== undefined && !contains(inner, position)) say(`${shown(inner)} does not hold the position`);
          for (let parent = at(one, "parent"); parent !== undefined; parent = at(parent, "parent")) {
            const outer = at(parent, "range") as Range;
            if (!inside(inner, outer)) say(`the parent ${shown(outer)} does not hold ${shown(inner)}`);
            inner = outer;
          }
        }
        break;
      }
      case "textDocument/semanticTokens/full":
      case "textDocument/semanticTokens/range":
      case "textDocument/semanticTokens/full/delta": {
        const edits = at(result, "edits");
        let data = list(at(result, "data")) as readonly number[];
        if (edits !== undefined) {
          const before = this.#tokenResults.get(`${uri} ${String(params.previousResultId)}`);
          if (before === undefined) say("a difference from a result that was never given");
          data = before === undefined ? [] : edited(before, list(edits) as Parameters<typeof edited>[1], say);
        }
        const resultId = string(at(result, "resultId"));
        if (resultId !== undefined) this.#tokenResults.set(`${uri} ${resultId}`, data);
        if (result !== null) this.#semanticTokens(method, uri, data, when);
        break;
      }
      case "textDocument/foldingRange":
        for (const one of list(result)) {
          const { startLine, endLine, collapsedText } = fields(one);
          if (Number(startLine) > Number(endLine)) say(`line ${String(startLine)} to ${String(endLine)}`);
          this.#fits(method, uri, [{ line: Number(endLine), character: 0 }], when);
          needs(collapsedText !== undefined, "a collapsed text", "textDocument.foldingRange.foldingRange.collapsedText");
        }
        break;
      case "textDocument/completion":
        for (const item of Array.isArray(result) ? result : list(at(result, "items"))) {
          const base = "textDocument.completion.completionItem";
          const position = this.#within(uri, params.position as Position);
          for (const range of [at(item, "textEdit.range"), at(item, "textEdit.insert"), at(item, "textEdit.replace")]) {
            if (!isRange(range)) continue;
            if (range.start.line !== range.end.line) say(`the edit of "${String(at(item, "label"))}" is not in one line`);
            if (!contains(range, position)) say(`the edit of "${String(at(item, "label"))}", ${shown(range)}, does not hold the position`);
          }
          kind(at(item, "kind"), "textDocument.completion.completionItemKind");
          markup(at(item, "documentation"), `${base}.documentationFormat`);
          needs(at(item, "insertTextFormat") === 2, "a snippet", `${base}.snippetSupport`);
          needs(at(item, "textEdit.insert") !== undefined, "insert and replace", `${base}.insertReplaceSupport`);
          needs(at(item, "preselect") === true, "a preselected item", `${base}.preselectSupport`);
          needs(at(item, "labelDetails") !== undefined, "label details", `${base}.labelDetailsSupport`);
          needs(at(item, "tags") !== undefined, "tags", `${base}.tagSupport`);
          needs(at(item, "deprecated") !== undefined, "deprecated", `${base}.deprecatedSupport`);
        }
        break;
      case "textDocument/prepareRename": {
        const range = isRange(result) ? result : at(result, "range");
        if (isRange(range) && !contains(range, params.position as Position)) say(`${shown(range)} does not hold the position`);
        needs(at(result, "defaultBehavior") !== undefined, "default behaviour", "textDocument.rename.prepareSupportDefaultBehavior");
        break;
      }
      case "textDocument/signatureHelp":
        this.#signatures(result, say, needs, markup);
        break;
      case "textDocument/documentSymbol": {
        const each = (symbols: readonly unknown[]) => {
          for (const symbol of symbols) {
            kind(at(symbol, "kind"), "textDocument.documentSymbol.symbolKind");
            const tree = "textDocument.documentSymbol.hierarchicalDocumentSymbolSupport";
            needs(at(symbol, "location") === undefined, "a tree", tree);
            needs(at(symbol, "tags") !== undefined, "tags", "textDocument.documentSymbol.tagSupport");
            for (const child of list(at(symbol, "children"))) {
              const [inner, outer] = [at(child, "range"), at(symbol, "range")];
              if (isRange(inner) && isRange(outer) && !inside(inner, outer))
                say(`a child, ${shown(inner)}, outside of its parent ${shown(outer)}`);
            }
            each(list(at(symbol, "children")));
          }
        };
        each(list(result));
        break;
      }
      case "workspace/symbol":
        for (const symbol of list(result)) {
          kind(at(symbol, "kind"), "workspace.symbol.symbolKind");
          if (!isRange(at(symbol, "location.range"))) needs(true, "a place without a range", "workspace.symbol.resolveSupport");
        }
        break;
      case "textDocument/definition":
        needs(
          list(result).some((l) => at(l, "targetUri") !== undefined),
          "links",
          "textDocument.definition.linkSupport",
        );
        break;
      case "textDocument/documentLink":
        for (const link of list(result)) {
          needs(at(link, "tooltip") !== undefined, "a tooltip", "textDocument.documentLink.tooltipSupport");
          if (at(link, "target") === undefined && at(this.offers, "documentLinkProvider.resolveProvider") !== true)
            say("a link without a target that cannot be asked for");
        }
        break;
      case "textDocument/codeLens":
        for (const lens of list(result)) {
          if (at(lens, "command") === undefined && at(this.offers, "codeLensProvider.resolveProvider") !== true)
            say("a lens without a command that cannot be asked for");
          const range = at(lens, "range");
          // LSP 3.17, "Code Lens Request": "should only span a single line".
          if (isRange(range) && range.start.line !== range.end.line) say(`${shown(range)} is not in one line`);
        }
        break;
      case "textDocument/codeAction":
        for (const action of list(result)) this.#codeAction(params, action, say, needs);
        break;
      case "textDocument/rename":
        this.#workspaceEdit(result, needs);
        break;
      case "textDocument/diagnostic":
        for (const [of, report] of [[uri, result] as const, ...Object.entries(fields(at(result, "relatedDocuments")))]) {
          this.#pulled.add(of);
          if (this.#pushed.has(of)) say(`diagnostics of ${of} are pulled and pushed`);
          for (const d of list(at(report, "items")))
            this.#diagnostic(fields(d), ["textDocument.diagnostic", "textDocument.publishDiagnostics"]);
          if (at(report, "kind") === "unchanged" && of === uri && at(report, "resultId") !== params.previousResultId)
            say("unchanged since a result that was not named");
        }
        needs(at(result, "relatedDocuments") !== undefined, "related documents", "textDocument.diagnostic.relatedDocumentSupport");
        break;
    }
  }

  /** A position behind the end of its line stands for the end: LSP 3.17, "Position". */
  #within(uri: string, position: Position): Position {
    const text = this.#texts.during(uri, this.#now, this.#now).at(-1)?.[position.line];
    return text === undefined ? position : { line: position.line, character: Math.min(position.character, text.length) };
  }

  #diagnostic(diagnostic: Fields, announced: readonly string[]): void {
    const able = (what: string) => announced.some((where) => this.#able(`${where}.${what}`));
    const needs = (key: string, what: string) => {
      if (diagnostic[key] !== undefined && !able(what))
        this.problem(`diagnostics with "${key}"; the client did not announce ${announced[0]}.${what}`);
    };
    needs("relatedInformation", "relatedInformation");
    needs("codeDescription", "codeDescriptionSupport");
    needs("data", "dataSupport");
    needs("tags", "tagSupport");
    const known = announced.flatMap((where) => list(at(this.can, `${where}.tagSupport.valueSet`)));
    for (const tag of list(diagnostic.tags))
      if (!known.includes(tag)) this.problem(`a diagnostic with the tag ${String(tag)}, which the client does not list`);
    if (typeof diagnostic.message !== "string" && !able("markupMessageSupport"))
      this.problem("a diagnostic with a message that is no text");
  }

  #signatures(
    result: unknown,
    say: (text: string) => void,
    needs: (has: boolean, what: string, ability: string) => void,
    markup: (value: unknown, ability: string) => void,
  ): void {
    if (result === null) return;
    const base = "textDocument.signatureHelp.signatureInformation";
    const signatures = list(at(result, "signatures"));
    const active = at(result, "activeSignature");
    if (typeof active === "number" && active >= signatures.length) say(`signature ${active} of ${signatures.length}`);
    for (const signature of signatures) {
      const label = string(at(signature, "label")) ?? "";
      const parameters = list(at(signature, "parameters"));
      markup(at(signature, "documentation"), `${base}.documentationFormat`);
      for (const parameter of parameters) {
        const place = at(parameter, "label");
        markup(at(parameter, "documentation"), `${base}.documentationFormat`);
        if (Array.isArray(place)) {
          needs(true, "places of parameters", `${base}.parameterInformation.labelOffsetSupport`);
          const [start, end] = place as [number, number];
          if (start > end || end > label.length) say(`a parameter at ${start}-${end} of "${label}"`);
        } else if (!label.includes(String(place))) say(`"${String(place)}" is no part of "${label}"`);
      }
      // LSP 3.18: null is none. A number that lies outside may be taken for the first, so none is better said where it can be.
      const parameter = at(signature, "activeParameter") ?? at(result, "activeParameter");
      const none = `${base}.noActiveParameterSupport`;
      needs(parameter === null, "no active parameter", none);
      if (typeof parameter === "number" && parameter >= parameters.length && parameters.length > 0 && this.#able(none))
        say(`parameter ${parameter} of ${parameters.length}, where none could be said`);
      needs(at(signature, "activeParameter") !== undefined, "an active parameter of a signature", `${base}.activeParameterSupport`);
    }
  }

  #codeAction(
    params: Fields,
    action: unknown,
    say: (text: string) => void,
    needs: (has: boolean, what: string, ability: string) => void,
  ): void {
    const base = "textDocument.codeAction";
    const under = (kind: string, above: unknown) => kind === above || above === "" || kind.startsWith(`${String(above)}.`);
    if (typeof at(action, "command") === "string") return;
    needs(true, "an action that is no command", `${base}.codeActionLiteralSupport`);
    needs(at(action, "isPreferred") !== undefined, "a preferred action", `${base}.isPreferredSupport`);
    needs(at(action, "disabled") !== undefined, "a disabled action", `${base}.disabledSupport`);
    needs(at(action, "data") !== undefined, "data", `${base}.dataSupport`);
    const kind = string(at(action, "kind")) ?? "";
    const kinds = list(at(this.offers, "codeActionProvider.codeActionKinds"));
    if (kinds.length > 0 && !kinds.some((k) => under(kind, k))) say(`an action of the kind "${kind}", which the server did not announce`);
    const only = at(params, "context.only");
    if (Array.isArray(only) && !only.some((k) => under(kind, k))) say(`an action of the kind "${kind}", which was not asked for`);
    for (const d of list(at(action, "diagnostics")))
      this.#diagnostic(fields(d), ["textDocument.publishDiagnostics", "textDocument.diagnostic"]);
    this.#workspaceEdit(at(action, "edit"), needs);
  }

  #workspaceEdit(edit: unknown, needs: (has: boolean, what: string, ability: string) => void): void {
    if (!isObject(edit)) return;
    const base = "workspace.workspaceEdit";
    const changes = list(edit.documentChanges);
    needs(edit.documentChanges !== undefined, "changes of documents", `${base}.documentChanges`);
    needs(edit.changeAnnotations !== undefined, "annotations", `${base}.changeAnnotationSupport`);
    for (const change of changes) {
      needs(
        list(at(change, "edits")).some((e) => at(e, "snippet") !== undefined),
        "a snippet",
        `${base}.snippetEditSupport`,
      );
      const version = at(change, "textDocument.version");
      const uri = string(at(change, "textDocument.uri"));
      if (uri !== undefined && typeof version === "number" && version > (this.#texts.version(uri) ?? 0))
        this.problem(`an edit of a version of ${uri} that is not there yet`);
    }
  }

  /** LSP 3.17, "Semantic Tokens": five numbers each, relative to the one before. */
  #semanticTokens(method: string, uri: string, data: readonly number[], when: number): void {
    const say = (text: string) => this.problem(`${method}: ${text}`);
    if (data.length % 5 !== 0) say(`${data.length} numbers are no multiple of five`);
    const legend = fields(at(this.offers, "semanticTokensProvider.legend"));
    const [types, modifiers] = [list(legend.tokenTypes).length, list(legend.tokenModifiers).length];
    const positions: Position[] = [];
    let line = 0;
    let start = 0;
    let end = 0;
    for (let i = 0; i + 4 < data.length; i += 5) {
      const [lines, characters, length, type, bits] = data.slice(i, i + 5) as [number, number, number, number, number];
      if (lines > 0) end = 0;
      start = lines > 0 ? characters : start + characters;
      line += lines;
      if (length === 0) say(`a token without a length in line ${line}`);
      if (start < end && !this.#able("textDocument.semanticTokens.overlappingTokenSupport"))
        say(`tokens overlap in line ${line} at ${start}`);
      if (type >= types) say(`the type ${type} of ${types}`);
      if (bits >= 2 ** modifiers) say(`the modifiers ${bits} of ${modifiers}`);
      end = start + length;
      positions.push({ line, character: start }, { line, character: end });
    }
    this.#fits(method, uri, positions, when);
  }

  /** What is left open when the session is over. */
  end(): void {
    // What the server asks while it is being shut down may reach a client that is gone.
    for (const side of ["client", "server"] as const)
      for (const [id, { method, when }] of this.#waiting[side])
        if (side === "client" || when < this.#downSince) this.problem(`the request ${id} of the ${side}, ${method}, was never answered`);
    for (const [name, { state, partial }] of this.#tokens)
      if (state === "begun" && partial === undefined) this.problem(`progress of the token ${name} never ends`);
  }

  verdict(): Verdict {
    const messages = this.#protocol.model.messages;
    const offered = messages.filter((m) => m.from.includes("client") && this.#offered(m)).map((m) => m.method);
    const requests = messages.filter((m) => m.kind === "request" && m.from.includes("server"));
    const takes = requests.filter(
      ({ ability, method }) => ability !== undefined && !method.startsWith("window/show") && this.#takes(ability),
    );
    const roots = new Set(messages.map((m) => m.offer?.split(".")[0]));
    return {
      problems: this.problems,
      counts: this.counts,
      own: this.own,
      filled: this.filled,
      offered: new Set(offered),
      takes: new Set(takes.map((m) => m.method)),
      unknownOffers: Object.keys(fields(this.offers)).filter((key) => !roots.has(key)),
    };
  }
}

/** Holds a session against the protocol from its first message to its last. */
export function judge(protocol: Protocol, transcript: Transcript): Verdict {
  const session = new Session(protocol);
  for (const [now, entry] of transcript.entries.entries()) session.entry(entry, now);
  session.end();
  return session.verdict();
}
