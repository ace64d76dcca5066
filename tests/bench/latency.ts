/**
 * Measures how long the language server lets an editor wait: every request that it offers, at rest, right after a key and
 * while a check runs; and the time from a key to new diagnostics. The server is a process of its own, spoken to over its
 * pipes as by an editor, so that the figures hold the way there and back as well.
 */
import { readdirSync, readFileSync } from "node:fs";
import type { CallHierarchyItem, Diagnostic } from "vscode-languageserver-types";
import { LanguageClient, modern } from "../support/language-client.js";
import { largeProgram, SIDECAR } from "./large.js";

/** A program with what the requests are asked about in it. */
export interface Subject {
  readonly title: string;
  readonly program: string;
  readonly text: string;
  readonly files: Readonly<Record<string, string>>;
  /** Name of its outermost program, for the calls that lead to it and the rename. */
  readonly called: string;
}

/** How often things are done. */
export interface Amount {
  /** Cycles of key, request, check, request for each request. */
  readonly cycles: number;
  /** The same for requests that wait for the check. */
  readonly waitingCycles: number;
  /** Requests at rest in each cycle. */
  readonly atRest: number;
  /** Keys for the time to new diagnostics. */
  readonly keys: number;
}

/**
 * When a request is sent: with nothing else going on; as the first one of its kind after a check, so that nothing of its answer is
 * there yet; with a key, directly behind the edit; while a check runs.
 */
export type State = "rest" | "first" | "key" | "check";

/** One measured thing, in milliseconds. */
export interface Sample {
  readonly wall: number;
  /** Processor time of the server; NaN where the system does not tell. */
  readonly cpu: number;
}

export interface Row {
  readonly request: string;
  readonly method: string;
  /** The answer must be that of the newest text, so it comes after the check. */
  readonly waits: boolean;
  /** Size of the largest answer as JSON, in bytes. */
  bytes: number;
  readonly samples: Readonly<Record<State, Sample[]>>;
}

export interface Measured {
  readonly title: string;
  readonly blocks: number;
  readonly characters: number;
  readonly start: Sample;
  readonly open: Sample;
  /** A request that is answered with nothing: the way there and back. */
  readonly trivial: readonly Sample[];
  readonly keys: readonly Sample[];
  /** Longest wait for a trivial answer while a check runs, one value for each check: the server's longest stretch without looking up. */
  readonly gaps: readonly number[];
  readonly rows: readonly Row[];
  /** What the server said that it offers, by the protocol's names. */
  readonly offered: readonly string[];
  /** Largest resident memory of the server, in megabytes; NaN where the system does not tell. */
  readonly memory: number;
}

/** About as many blocks as asked for at twelve stations, with a subprogram that is called over and over and a block that collides. */
export function largeSubject(blocks: number): Subject {
  const lines = largeProgram(blocks, "M98 P2000").split("\n");
  lines.splice(-1, 0, "O2000 (COUNT)", "#100=#100+1", "M99");
  // In the second half one cut goes into a jaw and out again, so that there is a finding to show.
  const at = lines.findIndex((line, n) => line.startsWith("Z2.") && n > lines.length / 2);
  lines.splice(at + 1, 0, "G1 X-60. Y0. Z-22. F300", "Z2.", "G0 X-10. Y10.");
  const text = lines.join("\n");
  return {
    title: `${grouped(lines.length)} blocks`,
    program: "a.nc",
    text,
    files: { "a.nc": text, "a.fixture.json": SIDECAR },
    called: "2000",
  };
}

/** The demo of the plate with its faults. `read` gives a file of the demo's folder. */
export function demoSubject(read: (name: string) => string): Subject {
  const program = "demo/plate/lever-faulty.nc";
  const names = [
    "elements/grid-50.elements.json",
    "elements/tools.elements.json",
    "demo/plate/plate.fixture.json",
    "demo/plate/plate.offsets.nc",
    program,
  ];
  const files = Object.fromEntries(names.map((name) => [name, read(name)]));
  return { title: "The demo", program, text: files[program] ?? "", files, called: "2120" };
}

const CAPABILITIES = {
  window: { workDoneProgress: true },
  workspace: {
    ...modern.workspace,
    inlayHint: { refreshSupport: true },
    codeLens: { refreshSupport: true },
    semanticTokens: { refreshSupport: true },
    diagnostics: { refreshSupport: true },
  },
};

/** A client of one server process with clocks. */
class Desk {
  readonly client: LanguageClient;
  readonly subject: Subject;
  readonly #lines: string[];
  readonly #typed: number;
  #flip = false;

  private constructor(client: LanguageClient, subject: Subject) {
    this.client = client;
    this.subject = subject;
    this.#lines = subject.text.split("\n");
    this.#typed = this.line(/^(?:G1 |G0?1 )?X-?\d+\.\d* ?(?:Y|F)/, 0.5);
  }

  /** Starts a server; the sample is the time until it has introduced itself. */
  static async start(server: string, subject: Subject, pulls: boolean): Promise<{ readonly desk: Desk; readonly start: Sample }> {
    const began = performance.now();
    const client = await LanguageClient.start(
      server,
      subject.files,
      pulls ? { ...CAPABILITIES, textDocument: { ...modern.textDocument, diagnostic: { relatedDocumentSupport: true } } } : CAPABILITIES,
      // Formatting is off until it is asked for.
      { settings: { format: { enable: true } }, initializationOptions: { images: true, commands: ["jawline.showPlaces"] } },
    );
    const desk = new Desk(client, subject);
    return { desk, start: { wall: performance.now() - began, cpu: desk.#cpu() } };
  }

  get lines(): readonly string[] {
    return this.#lines;
  }

  /** The line that keys are typed in. */
  get typed(): number {
    return this.#typed;
  }

  /** The first line that matches behind a part of the program; the first of all where there is none behind. */
  line(what: RegExp, part = 0): number {
    const from = Math.floor(this.#lines.length * part);
    const at = this.#lines.findIndex((line, n) => n >= from && what.test(line));
    return at >= 0 ? at : this.#lines.findIndex((line) => what.test(line));
  }

  /** A key in the middle of the program: the last digit of an X becomes another one. The next key puts it back. */
  async key(): Promise<void> {
    const { program } = this.subject;
    const line = this.#lines[this.#typed] ?? "";
    const dot = line.indexOf(".", line.indexOf("X"));
    const digit = line[dot - 1] ?? "0";
    const other = digit === "9" ? "8" : String(Number(digit) + 1);
    this.#flip = !this.#flip;
    await this.client.edit(program, this.#typed, dot - 1, dot, this.#flip ? other : digit);
  }

  async open(): Promise<Sample> {
    // What the settings bring is looked up while the first check runs, as in an editor.
    return this.#timed(async () => {
      await this.client.open(this.subject.program, this.subject.text);
      await this.checked();
    });
  }

  /** Waits until the text as it is now has been checked. Called directly behind an edit. */
  async checked(): Promise<void> {
    const uri = this.client.uri(this.subject.program);
    let before = this.client.statuses.get(uri);
    const end = Date.now() + 300_000;
    // An edit is told by "checking" at once; only a state behind that one counts.
    while (before?.state !== "checking") {
      await pause(1, end);
      before = this.client.statuses.get(uri);
    }
    while (this.client.statuses.get(uri)?.state === "checking") await pause(1, end);
    this.client.received.length = 0;
  }

  /** Waits until nothing has been running for a while: editors ask again after a check. */
  async quiet(): Promise<void> {
    await new Promise((resolve) => setTimeout(resolve, 60));
    await this.trivial();
  }

  async keyToDiagnostics(): Promise<Sample> {
    return this.#timed(async () => {
      const told = this.client.published.get(this.client.uri(this.subject.program));
      await this.key();
      await this.checked();
      if (this.client.published.get(this.client.uri(this.subject.program)) === told) throw new Error("a check without diagnostics");
    });
  }

  /** A question to which there is nothing to say, and for which nothing is looked up. */
  trivial(): Promise<Sample> {
    const textDocument = { uri: this.client.uri("nothing.json") };
    return this.#timed(() => this.client.connection.sendRequest("textDocument/codeLens", { textDocument }));
  }

  /** Asks something once. */
  async ask(request: Request, row: Row, state: State, before?: () => Promise<void>): Promise<void> {
    const params = await request.params(this);
    if (params === undefined) throw new Error(`nothing to ask: ${request.name}`);
    let answer: unknown;
    const sample = await this.#timed(async () => {
      await before?.();
      answer = await this.client.connection.sendRequest(request.method, params);
    });
    row.samples[state].push(sample);
    row.bytes = Math.max(row.bytes, JSON.stringify(answer ?? null).length);
    // An empty answer would measure nothing.
    if (request.empty !== true && isNothing(answer)) throw new Error(`nothing came back: ${request.name}`);
  }

  async #timed(act: () => Promise<unknown>): Promise<Sample> {
    const cpu = this.#cpu();
    const began = performance.now();
    await act();
    return { wall: performance.now() - began, cpu: this.#cpu() - cpu };
  }

  /** Milliseconds of processor time that the server has had, all its threads together. Linux tells it, others do not. */
  #cpu(): number {
    try {
      const folder = `/proc/${this.client.pid}/task`;
      let sum = 0;
      for (const thread of readdirSync(folder)) sum += Number(readFileSync(`${folder}/${thread}/schedstat`, "utf8").split(" ")[0]);
      return sum / 1e6;
    } catch {
      return Number.NaN;
    }
  }

  /** Largest resident memory so far, in megabytes. */
  memory(): number {
    try {
      return Number(/VmHWM:\s*(\d+) kB/.exec(readFileSync(`/proc/${this.client.pid}/status`, "utf8"))?.[1]) / 1000;
    } catch {
      return Number.NaN;
    }
  }
}

async function pause(milliseconds: number, end: number): Promise<void> {
  if (Date.now() > end) throw new Error("waited in vain for a check");
  await new Promise((resolve) => setTimeout(resolve, milliseconds));
}

function isNothing(answer: unknown): boolean {
  if (answer === null || answer === undefined) return true;
  if (Array.isArray(answer)) return answer.length === 0;
  const { data, items, changes, documentChanges } = answer as Record<string, unknown>;
  return [data, items, changes, documentChanges].some((list) => Array.isArray(list) && list.length === 0);
}

/** One request of the protocol, with how it is asked. */
interface Request {
  readonly name: string;
  readonly method: string;
  /** It waits for the check of the newest text. */
  readonly waits?: true;
  /** Nothing is a full answer. */
  readonly empty?: true;
  /** Undefined: the program has nothing to ask it about. */
  params(desk: Desk): object | undefined | Promise<object | undefined>;
}

const SCREEN = 60;

/** A position in a line that matches, behind the match. */
function behind(desk: Desk, what: RegExp, back = 0): { line: number; character: number } | undefined {
  const line = desk.line(what, 0.5);
  const found = what.exec(desk.lines[line] ?? "");
  return found === null ? undefined : { line, character: found.index + found[0].length - back };
}

function about(desk: Desk, more: object = {}): object {
  return { textDocument: { uri: desk.client.uri(desk.subject.program) }, ...more };
}

function at(desk: Desk, position: { line: number; character: number } | undefined, more: object = {}): object | undefined {
  return position === undefined ? undefined : about(desk, { position, ...more });
}

function range(from: number, to: number): { range: object } {
  return { range: { start: { line: from, character: 0 }, end: { line: to, character: 0 } } };
}

function screen(desk: Desk): { range: object } {
  const first = Math.max(0, desk.typed - SCREEN / 2);
  return range(first, Math.min(desk.lines.length - 1, first + SCREEN));
}

/** The work offset of a block in the middle of the program. */
const OFFSET = /^(?:G0+ )?G54\.1 P\d+/;

const item = async (desk: Desk): Promise<{ item: CallHierarchyItem } | undefined> => {
  const params = at(desk, called(desk));
  const found = await desk.client.connection.sendRequest<CallHierarchyItem[] | null>("textDocument/prepareCallHierarchy", params);
  return found?.[0] === undefined ? undefined : { item: found[0] };
};

function called(desk: Desk): { line: number; character: number } | undefined {
  return behind(desk, new RegExp(`^O${desk.subject.called}`), 1);
}

const REQUESTS: readonly Request[] = [
  { name: "hover, offset", method: "textDocument/hover", params: (d) => at(d, behind(d, OFFSET, 1)) },
  { name: "hover, axis word", method: "textDocument/hover", params: (d) => at(d, behind(d, /^Z-?\d/, 1)) },
  { name: "completion, G", method: "textDocument/completion", params: (d) => at(d, behind(d, /^(?:G0+ )?G5/)) },
  { name: "completion, P of an offset", method: "textDocument/completion", params: (d) => at(d, behind(d, /^(?:G0+ )?G54\.1 P/)) },
  { name: "completion, P of a call", method: "textDocument/completion", params: (d) => at(d, behind(d, /^M98 P/)) },
  { name: "completion, T", method: "textDocument/completion", params: (d) => at(d, behind(d, /^(?:N\d+ )?T/)) },
  { name: "completion, new word", method: "textDocument/completion", params: (d) => at(d, { line: d.typed, character: 0 }) },
  { name: "completion, #", method: "textDocument/completion", params: (d) => at(d, behind(d, /#(?=1)/)) },
  { name: "signatureHelp, G10", method: "textDocument/signatureHelp", params: (d) => at(d, behind(d, /^G10 L20 P\d+ X/)) },
  { name: "inlayHint, a screenful", method: "textDocument/inlayHint", params: (d) => about(d, screen(d)), empty: true },
  { name: "semanticTokens/range, a screenful", method: "textDocument/semanticTokens/range", params: (d) => about(d, screen(d)) },
  { name: "foldingRange", method: "textDocument/foldingRange", params: (d) => about(d) },
  { name: "codeLens", method: "textDocument/codeLens", params: (d) => about(d) },
  { name: "documentSymbol", method: "textDocument/documentSymbol", params: (d) => about(d) },
  { name: "workspace/symbol", method: "workspace/symbol", params: () => ({ query: "T" }) },
  { name: "inlayHint, all", method: "textDocument/inlayHint", params: (d) => about(d, range(0, d.lines.length - 1)) },
  { name: "semanticTokens/full", method: "textDocument/semanticTokens/full", params: (d) => about(d) },
  {
    name: "semanticTokens/full/delta",
    method: "textDocument/semanticTokens/full/delta",
    params: async (d) => {
      const full = await d.client.connection.sendRequest<{ resultId?: string }>("textDocument/semanticTokens/full", about(d));
      return full.resultId === undefined ? undefined : about(d, { previousResultId: full.resultId });
    },
  },
  {
    name: "onTypeFormatting",
    method: "textDocument/onTypeFormatting",
    empty: true,
    params: (d) => at(d, { line: d.typed + 1, character: 0 }, { ch: "\n", options: { tabSize: 4, insertSpaces: true } }),
  },
  { name: "documentHighlight, offset", method: "textDocument/documentHighlight", waits: true, params: (d) => at(d, behind(d, OFFSET, 1)) },
  { name: "documentLink", method: "textDocument/documentLink", waits: true, empty: true, params: (d) => about(d) },
  {
    name: "selectionRange",
    method: "textDocument/selectionRange",
    waits: true,
    params: (d) => about(d, { positions: [{ line: d.typed, character: 3 }] }),
  },
  { name: "definition, offset", method: "textDocument/definition", waits: true, params: (d) => at(d, behind(d, OFFSET, 1)) },
  { name: "definition, call", method: "textDocument/definition", waits: true, params: (d) => at(d, behind(d, /^M98 P\d+/, 1)) },
  {
    name: "references, offset",
    method: "textDocument/references",
    waits: true,
    params: (d) => at(d, behind(d, OFFSET, 1), { context: { includeDeclaration: true } }),
  },
  {
    name: "references, program",
    method: "textDocument/references",
    waits: true,
    params: (d) => at(d, called(d), { context: { includeDeclaration: true } }),
  },
  { name: "prepareRename, program", method: "textDocument/prepareRename", waits: true, params: (d) => at(d, called(d)) },
  { name: "rename, program", method: "textDocument/rename", waits: true, params: (d) => at(d, called(d), { newName: "8765" }) },
  { name: "prepareCallHierarchy", method: "textDocument/prepareCallHierarchy", waits: true, params: (d) => at(d, called(d)) },
  { name: "callHierarchy/incomingCalls", method: "callHierarchy/incomingCalls", waits: true, params: item },
  { name: "callHierarchy/outgoingCalls", method: "callHierarchy/outgoingCalls", waits: true, empty: true, params: item },
  {
    name: "codeAction, a finding",
    method: "textDocument/codeAction",
    waits: true,
    params: (d) => {
      const found = d.client.diagnostics.get(d.client.uri(d.subject.program))?.find((x: Diagnostic) => x.code !== "syntax");
      return found === undefined ? undefined : about(d, { range: found.range, context: { diagnostics: [] } });
    },
  },
  {
    name: "codeAction, fix all",
    method: "textDocument/codeAction",
    waits: true,
    empty: true,
    params: (d) => about(d, { ...range(0, d.lines.length - 1), context: { diagnostics: [], only: ["source.fixAll"] } }),
  },
  {
    name: "rangeFormatting, a screenful",
    method: "textDocument/rangeFormatting",
    waits: true,
    empty: true,
    params: (d) => about(d, { ...screen(d), options: { tabSize: 4, insertSpaces: true } }),
  },
  {
    name: "formatting, nothing to change",
    method: "textDocument/formatting",
    waits: true,
    empty: true,
    params: (d) => about(d, { options: { tabSize: 4, insertSpaces: true } }),
  },
];

const PULL: Request = { name: "diagnostic (pulled)", method: "textDocument/diagnostic", waits: true, empty: true, params: (d) => about(d) };

/** Which requests a name chooses; undefined: all. */
export type Only = RegExp | undefined;

/** Measures one program. `log` is told what comes next. */
export async function measure(
  server: string,
  subject: Subject,
  amount: Amount,
  only: Only,
  log: (text: string) => void,
): Promise<Measured> {
  const { desk, start } = await Desk.start(server, subject, false);
  const rows: Row[] = [];
  try {
    log("open");
    const open = await desk.open();
    await desk.quiet();
    const trivial: Sample[] = [];
    for (let n = 0; n < 100; n++) trivial.push(await desk.trivial());
    log("keys");
    const keys: Sample[] = [];
    const gaps: number[] = [];
    for (let n = 0; n < amount.keys; n++) {
      await desk.quiet();
      keys.push(await desk.keyToDiagnostics());
    }
    for (let n = 0; n < Math.max(2, amount.keys / 2); n++) {
      await desk.quiet();
      gaps.push(await longestGap(desk));
    }
    for (const request of REQUESTS.filter((r) => only === undefined || only.test(r.name))) {
      if ((await request.params(desk)) === undefined) continue;
      log(request.name);
      rows.push(await measureOne(desk, request, amount));
    }
    const memory = desk.memory();
    const offered = Object.keys(desk.client.capabilities).filter((name) => name.endsWith("Provider"));
    if (only === undefined || only.test(PULL.name)) {
      log(PULL.name);
      rows.push(await measurePull(server, subject, amount));
    }
    return {
      title: subject.title,
      blocks: desk.lines.length,
      characters: subject.text.length,
      start,
      open,
      trivial,
      keys,
      gaps,
      rows,
      offered,
      memory,
    };
  } finally {
    await desk.client.stop();
  }
}

/** Trivial questions one after the other until a check is done: the longest wait is the longest stretch of work in it. */
async function longestGap(desk: Desk): Promise<number> {
  let longest = 0;
  let done = false;
  await desk.key();
  const end = desk.checked().then(() => {
    done = true;
  });
  while (!done) longest = Math.max(longest, (await desk.trivial()).wall);
  await end;
  return longest;
}

async function measureOne(desk: Desk, request: Request, amount: Amount): Promise<Row> {
  const waits = request.waits === true;
  const row: Row = { request: request.name, method: request.method, waits, bytes: 0, samples: { rest: [], first: [], key: [], check: [] } };
  const cycles = waits ? amount.waitingCycles : amount.cycles;
  for (let n = 0; n < cycles; n++) {
    await desk.quiet();
    if (waits) {
      // What comes back with the check had to wait for it, whatever the request: once is enough.
      if (n === 0) await desk.ask(request, row, "key", () => desk.key());
      await desk.quiet();
      await desk.key();
      await desk.checked();
    } else {
      const end = { promise: Promise.resolve() };
      await desk.ask(request, row, "key", async () => {
        await desk.key();
        end.promise = desk.checked();
      });
      // The check begins a moment after the last key.
      await new Promise((resolve) => setTimeout(resolve, 220));
      if (desk.client.statuses.get(desk.client.uri(desk.subject.program))?.state === "checking") await desk.ask(request, row, "check");
      await end.promise;
    }
    await desk.ask(request, row, "first");
    await desk.quiet();
    for (let k = 0; k < amount.atRest; k++) await desk.ask(request, row, "rest");
  }
  return row;
}

/** A client that pulls its diagnostics has a server of its own. */
async function measurePull(server: string, subject: Subject, amount: Amount): Promise<Row> {
  const { desk } = await Desk.start(server, subject, true);
  try {
    await desk.open();
    return await measureOne(desk, PULL, amount);
  } finally {
    await desk.client.stop();
  }
}

/** A share of the samples lies below: 0.5 the median, 0.95 all but one in twenty, 1 the worst. NaN without samples. */
export function quantile(values: readonly number[], share: number): number {
  const sorted = [...values].sort((a, b) => a - b);
  return sorted[Math.min(sorted.length - 1, Math.ceil(sorted.length * share) - 1)] ?? Number.NaN;
}

/** The median of the wall times of some samples. */
export function median(samples: readonly Sample[]): number {
  return quantile(
    samples.map((s) => s.wall),
    0.5,
  );
}

function grouped(n: number): string {
  return String(Math.round(n)).replace(/\B(?=(\d{3})+$)/g, ",");
}

/** A time in milliseconds with as many digits as it is worth. */
function ms(value: number): string {
  if (Number.isNaN(value)) return "–";
  return value >= 100 ? grouped(value) : value >= 10 ? value.toFixed(0) : value.toFixed(1);
}

function size(bytes: number): string {
  return bytes < 1000 ? "< 1" : grouped(bytes / 1000);
}

function spread(samples: readonly Sample[]): string[] {
  const wall = samples.map((s) => s.wall);
  return [0.5, 0.95, 1].map((q) => ms(quantile(wall, q)));
}

function cpu(samples: readonly Sample[]): string {
  return ms(
    quantile(
      samples.map((s) => s.cpu),
      0.5,
    ),
  );
}

function table(head: readonly string[], lines: readonly (readonly string[])[]): string {
  const rule = head.map((_, n) => (n === 0 ? "---" : "---:"));
  return [head, rule, ...lines].map((cells) => `| ${cells.join(" | ")} |`).join("\n");
}

/** What was measured of one program, as Markdown. */
export function section(measured: Measured): string {
  const { title, characters, start, open, trivial, keys, gaps, rows, memory } = measured;
  const way = median(trivial);
  const times = (samples: readonly Sample[]): string => {
    const ratio = median(samples) / way;
    return Number.isNaN(ratio) ? "–" : ratio >= 10 ? grouped(ratio) : ratio.toFixed(1);
  };
  const whole = (name: string, samples: readonly Sample[]): string[] => [name, ...spread(samples), cpu(samples), times(samples)];
  const quick = rows.filter((r) => !r.waits);
  const waiting = rows.filter((r) => r.waits);
  return [
    `## ${title}`,
    "",
    `${grouped(characters)} characters. The server's largest resident memory was ${Number.isNaN(memory) ? "not told" : `${grouped(memory)} MB`}. Longest wait for a trivial answer while a check ran: ${ms(quantile(gaps, 0.5))} ms (median of ${gaps.length} checks), worst ${ms(quantile(gaps, 1))} ms.`,
    "",
    table(
      ["", "median, ms", "95 %", "worst", "processor, ms", "× trivial"],
      [
        whole("trivial round trip", trivial),
        whole("start of the process to its introduction", [start]),
        whole("didOpen to first diagnostics", [open]),
        whole("a key to new diagnostics", keys),
      ],
    ),
    "",
    "### At rest",
    "",
    table(
      [
        "request",
        "answer, kB",
        "median, ms",
        "95 %",
        "worst",
        "processor, ms",
        "× trivial",
        "first after a check, ms",
        "its processor, ms",
      ],
      rows.map((r) => {
        const { rest, first } = r.samples;
        return [r.request, size(r.bytes), ...spread(rest), cpu(rest), times(rest), ms(median(first)), cpu(first)];
      }),
    ),
    "",
    "### Right after a key, and while the check runs",
    "",
    table(
      ["request", "after a key: median, ms", "95 %", "worst", "processor, ms", "× trivial", "while checking: median, ms", "worst"],
      quick.map((r) => {
        const { key, check } = r.samples;
        const [middle = "–", , worst = "–"] = spread(check);
        return [r.request, ...spread(key), cpu(key), times(key), middle, worst];
      }),
    ),
    "",
    "These answers must be those of the newest text, so that they come when the check is done:",
    "",
    table(
      ["request", "after a key, ms", "processor, ms"],
      waiting.map((r) => [r.request, ms(median(r.samples.key)), cpu(r.samples.key)]),
    ),
  ].join("\n");
}
