/**
 * The language server protocol's own model as JSON Schemas. The protocol's authors keep it as the TypeScript declarations of
 * `vscode-languageserver-protocol` and `-types`, from which they write the meta model that they publish with the protocol;
 * that file is in no package, the declarations are. Every `ProtocolRequestType<…>` and `ProtocolNotificationType<…>` declared
 * there is one message; its type arguments are turned into schemas by `ts-json-schema-generator`. Direction and capabilities
 * of a message stand in the library's values.
 */
import { createHash } from "node:crypto";
import { mkdirSync, readFileSync, renameSync, writeFileSync } from "node:fs";
import { createRequire } from "node:module";
import { dirname, join, resolve } from "node:path";
import { Ajv, type ErrorObject, type ValidateFunction } from "ajv";
import formats from "ajv-formats";
import type { SchemaGenerator } from "ts-json-schema-generator";

export type Schema = Readonly<Record<string, unknown>>;
export type Side = "client" | "server";

/** One message of the protocol. What has no schema must not be there. */
export interface MessageModel {
  readonly method: string;
  readonly kind: "request" | "notification";
  readonly from: readonly Side[];
  readonly params?: Schema;
  readonly result?: Schema;
  readonly partialResult?: Schema;
  readonly errorData?: Schema;
  /** Options with which a server may register for it later. */
  readonly registration?: Schema;
  /** Where a client says that it can take part in it, as a path into its capabilities. */
  readonly ability?: string;
  /** Where a server says that it offers it, as a path into its capabilities. */
  readonly offer?: string;
}

/** All of the protocol that the declarations tell. */
export interface ProtocolModel {
  readonly version: string;
  readonly definitions: Readonly<Record<string, Schema>>;
  readonly messages: readonly MessageModel[];
  /** Options of registrations that stand for several messages at once, by their method. */
  readonly registrations: Readonly<Record<string, Schema>>;
  /** What a progress notification carries for work that is under way. */
  readonly workDoneProgress: Schema;
}

const root = resolve(import.meta.dirname, "../..");
const require = createRequire(import.meta.url);

/** Folder and version of an installed package. */
function installed(name: string, from: NodeJS.Require = require): { readonly folder: string; readonly version: string } {
  for (const modules of from.resolve.paths(name) ?? []) {
    const folder = join(modules, name);
    try {
      const { version } = JSON.parse(readFileSync(join(folder, "package.json"), "utf8")) as { version: string };
      return { folder, version };
    } catch {
      // Looked for further up, as Node does.
    }
  }
  throw new Error(`${name} is not installed`);
}

const library = installed("vscode-languageserver-protocol");

/** What the library says about a message when it runs. */
interface Described {
  readonly method?: string;
  readonly messageDirection?: "clientToServer" | "serverToClient" | "both";
  readonly capabilities?: { readonly client?: string; readonly server?: string };
}

/** Schemas of types that the declarations leave wider than the protocol does, for want of such types in TypeScript. */
const NARROWER: Readonly<Record<string, { readonly was: Schema; readonly is: Schema }>> = {
  // LSP 3.17, "Base Types": integer -2^31 to 2^31 - 1, uinteger 0 to 2^31 - 1.
  integer: { was: { type: "number" }, is: { type: "integer", minimum: -(2 ** 31), maximum: 2 ** 31 - 1 } },
  uinteger: { was: { type: "number" }, is: { type: "integer", minimum: 0, maximum: 2 ** 31 - 1 } },
  ProgressToken: { was: { type: ["number", "string"] }, is: { type: ["integer", "string"] } },
  DocumentUri: { was: { type: "string" }, is: { type: "string", format: "uri" } },
  URI: { was: { type: "string" }, is: { type: "string", format: "uri" } },
};

/** Messages that the library keeps to itself: LSP 3.17, "$ Notifications and Requests", "Cancellation", "Progress", "Trace". */
const BASE: readonly MessageModel[] = [
  { method: "$/cancelRequest", from: ["client", "server"], params: { id: { type: ["integer", "string"] } }, required: ["id"] },
  {
    method: "$/progress",
    from: ["client", "server"],
    params: { token: { $ref: "#/definitions/ProgressToken" }, value: {} },
    required: ["token", "value"],
  },
  { method: "$/setTrace", from: ["client"], params: { value: { enum: ["off", "messages", "verbose"] } }, required: ["value"] },
  {
    method: "$/logTrace",
    from: ["server"],
    params: { message: { type: "string" }, verbose: { type: "string" } },
    required: ["message"],
  },
].map(
  ({ method, from, params, required }): MessageModel => ({
    method,
    kind: "notification",
    from: from as Side[],
    params: { type: "object", properties: params, required, additionalProperties: false },
  }),
);

type Node = Parameters<SchemaGenerator["createSchemaFromNodes"]>[0][number];

function childrenOf(node: Node): Node[] {
  const out: Node[] = [];
  node.forEachChild((child) => void out.push(child));
  return out;
}

/** Reads the declarations. Takes some seconds, most of them TypeScript's. */
async function derive(): Promise<ProtocolModel> {
  const { createFormatter, createParser, createProgram, DEFAULT_CONFIG, SchemaGenerator } = await import("ts-json-schema-generator");
  const config = {
    ...DEFAULT_CONFIG,
    path: join(library.folder, "lib/common/api.d.ts"),
    tsconfig: join(root, "tsconfig.json"),
    expose: "all",
    jsDoc: "none",
    topRef: true,
    additionalProperties: false,
    skipTypeCheck: true,
  } as const;
  const program = createProgram(config);
  const generator = new SchemaGenerator(program, createParser(program, config), createFormatter(config), config);
  const described = require("vscode-languageserver-protocol/node") as Readonly<Record<string, Described | undefined>>;

  const definitions: Record<string, Schema> = {};
  /** The schema of a type, or undefined where nothing may stand. */
  const schemaOf = (node: Node | undefined): Schema | undefined => {
    if (node === undefined || node.getText() === "never") return undefined;
    const made = generator.createSchemaFromNodes([node]);
    const name = decodeURIComponent(String(made.$ref).replace("#/definitions/", ""));
    for (const [key, value] of Object.entries(made.definitions ?? {})) {
      // Names that the generator makes for types without one are of no use to anybody.
      if (typeof value !== "object" || key.startsWith("def-")) continue;
      const schema = value as Schema;
      if (JSON.stringify(definitions[key] ?? schema) !== JSON.stringify(schema)) throw new Error(`two types are named ${key}`);
      definitions[key] = schema;
    }
    if (!name.startsWith("def-")) return { $ref: String(made.$ref) };
    const schema = made.definitions?.[name];
    if (typeof schema !== "object") throw new Error(`no schema for ${node.getText()}`);
    return schema as Schema;
  };
  /** `void` is an answer of null, but no parameters, no options and no data at all. */
  const unlessVoid = (node: Node | undefined) => (node?.getText() === "void" ? undefined : schemaOf(node));

  const messages: MessageModel[] = [...BASE];
  const registrations: Record<string, Schema> = {};
  let workDoneProgress: Schema | undefined;
  const checker = program.getTypeChecker();
  for (const file of program.getSourceFiles()) {
    if (!resolve(file.fileName).startsWith(join(library.folder, "lib"))) continue;
    for (const [name, space] of checker.getSymbolAtLocation(file)?.exports ?? []) {
      const declaration = space.exports?.get("type" as typeof name)?.valueDeclaration;
      const reference = declaration === undefined ? undefined : childrenOf(declaration)[1];
      if (reference === undefined) continue;
      const [type, ...given] = childrenOf(reference);
      const generic = type?.getText() ?? "";
      if (generic === "ProgressType") {
        workDoneProgress = schemaOf(given[0]);
        continue;
      }
      const value = described[String(name)];
      const method = value?.method;
      if (method === undefined) throw new Error(`${String(name)} has no method`);
      if (generic === "RegistrationType") {
        const options = schemaOf(given[0]);
        if (options !== undefined) registrations[method] = options;
        continue;
      }
      const shape = /^Protocol(?:(Request)|Notification)Type(0?)$/.exec(generic);
      const from: readonly Side[] | undefined =
        value?.messageDirection === "clientToServer"
          ? ["client"]
          : value?.messageDirection === "serverToClient"
            ? ["server"]
            : value?.messageDirection === "both"
              ? ["client", "server"]
              : undefined;
      if (shape === null || from === undefined) throw new Error(`${String(name)}: ${reference.getText()}`);
      const request = shape[1] !== undefined;
      const [params, ...rest] = shape[2] === "0" ? [undefined, ...given] : given;
      const [result, partial, error, options] = request ? rest : [undefined, undefined, undefined, rest[0]];
      messages.push({
        method,
        kind: request ? "request" : "notification",
        from,
        ...optional("params", unlessVoid(params)),
        ...optional("result", schemaOf(result)),
        ...optional("partialResult", unlessVoid(partial)),
        ...optional("errorData", unlessVoid(error)),
        ...optional("registration", unlessVoid(options)),
        ...optional("ability", value?.capabilities?.client),
        ...optional("offer", value?.capabilities?.server),
      });
    }
  }
  if (workDoneProgress === undefined) throw new Error("the declarations tell nothing of progress");
  // The declarations let anything stand beside the capabilities; LSP 3.17, "InitializeResult", names two keys.
  // What a server adds to them is open in the declarations, so the name goes on behind the bracket.
  const introductions = Object.entries(definitions).filter(([name]) => name.startsWith("InitializeResult<"));
  if (introductions.length === 0) throw new Error("the declarations tell nothing of an initialize result");
  for (const [name, initialized] of introductions) definitions[name] = { ...initialized, additionalProperties: false };
  for (const [name, { was, is }] of Object.entries(NARROWER)) {
    if (JSON.stringify(definitions[name]) !== JSON.stringify(was)) throw new Error(`${name} is no longer ${JSON.stringify(was)}`);
    definitions[name] = is;
  }
  return { version: library.version, definitions, messages, registrations, workDoneProgress };
}

function optional<K extends string, V>(key: K, value: V | undefined): { [P in K]?: V } {
  return value === undefined ? {} : ({ [key]: value } as { [P in K]: V });
}

/** The model, from the cache in `node_modules` where the same versions and the same code have left it. */
export async function protocolModel(): Promise<ProtocolModel> {
  const own = createHash("sha256").update(readFileSync(join(import.meta.dirname, "protocol-model.ts")));
  const inLibrary = createRequire(join(library.folder, "package.json"));
  const parts = [
    library,
    installed("vscode-languageserver-types", inLibrary),
    installed("vscode-jsonrpc", inLibrary),
    installed("ts-json-schema-generator"),
  ];
  for (const { folder, version } of parts) own.update(`${folder} ${version}\n`);
  const cached = join(root, "node_modules/.cache/jawline", `protocol-${own.digest("hex").slice(0, 16)}.json`);
  try {
    return JSON.parse(readFileSync(cached, "utf8")) as ProtocolModel;
  } catch {
    const model = await derive();
    try {
      mkdirSync(dirname(cached), { recursive: true });
      // Another test file may be doing the same: what is read is always whole.
      const part = `${cached}.${process.pid}`;
      writeFileSync(part, JSON.stringify(model));
      renameSync(part, cached);
    } catch {
      // Without a cache every run derives it anew.
    }
    return model;
  }
}

/** Which part of a message. */
export type Part = "params" | "result" | "partialResult" | "errorData" | "registration";

/** Holds values against the model. */
export class Protocol {
  readonly model: ProtocolModel;
  readonly messages: ReadonlyMap<string, MessageModel>;
  // Every test file compiles its own: quick to compile counts for more here than quick to run.
  readonly #ajv = new Ajv({ allErrors: true, allowUnionTypes: true, inlineRefs: false, code: { optimize: false } });
  readonly #compiled = new Map<string, ValidateFunction>();

  constructor(model: ProtocolModel) {
    this.model = model;
    this.messages = new Map(model.messages.map((m) => [m.method, m]));
    formats.default(this.#ajv);
    this.#ajv.addSchema({ $id: "protocol.json", definitions: model.definitions });
  }

  /** What is wrong with a part of a message; empty if nothing is. `undefined` is a part that is not there. */
  faults(method: string, part: Part, value: unknown): string[] {
    const message = this.messages.get(method);
    const schema = part === "registration" ? (message?.registration ?? this.model.registrations[method]) : message?.[part];
    if (schema === undefined) return value === undefined ? [] : [`${method} has no ${part}`];
    return this.#held(`${part} of ${method}`, schema, value);
  }

  /** What is wrong with the value of a progress notification for work under way. */
  progressFaults(value: unknown): string[] {
    return this.#held("progress", this.model.workDoneProgress, value);
  }

  #held(name: string, schema: Schema, value: unknown): string[] {
    if (value === undefined) return [`${name} is missing`];
    let validate = this.#compiled.get(name);
    if (validate === undefined) {
      validate = this.#ajv.compile(
        JSON.parse(JSON.stringify(schema).replaceAll('"#/definitions/', '"protocol.json#/definitions/')) as Schema,
      );
      this.#compiled.set(name, validate);
    }
    return validate(value) ? [] : told(name, validate.errors ?? []);
  }
}

/** The faults in words, the deepest first: of the branches of a union the one that came furthest says most. */
function told(name: string, errors: readonly ErrorObject[]): string[] {
  const depth = (e: ErrorObject) => e.instancePath.split("/").length;
  const texts = [...errors]
    .sort((a, b) => depth(b) - depth(a))
    .map((e) => `${name}${e.instancePath}: ${e.message ?? e.keyword} ${JSON.stringify(e.params)}`);
  return [...new Set(texts)].slice(0, 6);
}
