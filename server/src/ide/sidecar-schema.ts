import { fixtureJsonSchema } from "../engine/fixture/schema.js";

/** As much of JSON Schema as the sidecar's own schema uses. */
export interface JsonSchema {
  readonly type?: string | readonly string[];
  readonly description?: string;
  readonly properties?: Readonly<Record<string, JsonSchema>>;
  readonly additionalProperties?: JsonSchema | boolean;
  readonly items?: JsonSchema | readonly JsonSchema[];
  readonly prefixItems?: readonly JsonSchema[];
  readonly anyOf?: readonly JsonSchema[];
  readonly oneOf?: readonly JsonSchema[];
  readonly enum?: readonly unknown[];
  readonly const?: unknown;
  readonly required?: readonly string[];
  readonly else?: JsonSchema;
}

let root: JsonSchema | undefined;

/** The schemas that a value at a path of keys may follow: several where the format allows several kinds. */
export function sidecarSchemaAt(path: readonly (string | number)[]): readonly JsonSchema[] {
  root ??= fixtureJsonSchema() as JsonSchema;
  let schemas: readonly JsonSchema[] = kinds(root);
  for (const step of path) schemas = schemas.flatMap((s) => inside(s, step)).flatMap(kinds);
  return schemas;
}

/** True when a key is needed where it stands, for a file that includes nothing. */
export function isRequired(parent: readonly (string | number)[], key: string): boolean {
  root ??= fixtureJsonSchema() as JsonSchema;
  const bare = root.else ?? {};
  let schemas: readonly JsonSchema[] = [root, bare].flatMap(kinds);
  for (const step of parent) schemas = schemas.flatMap((s) => inside(s, step)).flatMap(kinds);
  return schemas.some((s) => s.required?.includes(key) === true);
}

function kinds(schema: JsonSchema): readonly JsonSchema[] {
  const of = schema.anyOf ?? schema.oneOf;
  if (of === undefined) return [schema];
  // What is said of all the kinds together goes for each that says nothing itself.
  return of
    .flatMap(kinds)
    .map((s) => (s.description === undefined && schema.description !== undefined ? { ...s, description: schema.description } : s));
}

function inside(schema: JsonSchema, step: string | number): readonly JsonSchema[] {
  if (typeof step === "number") {
    const { items, prefixItems } = schema;
    const listed = prefixItems?.[step] ?? (Array.isArray(items) ? (items as readonly JsonSchema[])[step] : undefined);
    if (listed !== undefined) return [listed];
    return items === undefined || Array.isArray(items) ? [] : [items as JsonSchema];
  }
  const own = Object.hasOwn(schema.properties ?? {}, step) ? schema.properties?.[step] : undefined;
  if (own !== undefined) return [own];
  return typeof schema.additionalProperties === "object" ? [schema.additionalProperties] : [];
}
