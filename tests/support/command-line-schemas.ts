/**
 * The JSON of the command line as JSON Schema (draft-07), written by hand from the project's contract: page "Design",
 * part "Command line", and rulings 30, 31, 32, 35, 36 and 37. Nothing that is not named here may appear.
 */
const line = { type: "integer", minimum: 1 };
const number = { type: "number" };
const orNull = (type: string) => ({ type: [type, "null"] });
const point = { type: "array", items: orNull("number"), minItems: 3, maxItems: 3 };
const text = { type: "string", minLength: 1 };

function object(properties: object, optional: readonly string[] = []): object {
  const required = Object.keys(properties).filter((key) => !optional.includes(key));
  return { type: "object", properties, required, additionalProperties: false };
}

const related = object({ file: text, line, column: line, message: text });

const finding = object(
  {
    rule: { type: "string", pattern: "^[a-z]+(-[a-z0-9]+)*$" },
    level: { enum: ["error", "warning", "information"] },
    message: text,
    file: text,
    line,
    column: line,
    endLine: line,
    endColumn: line,
    station: text,
    related: { type: "array", items: related },
    data: { type: "object" },
    // An ALLOW comment's reason: every report repeats it.
    waived: text,
  },
  ["station", "data", "waived"],
);

const least = object(
  {
    solid: text,
    station: orNull("string"),
    distance: orNull("number"),
    part: { enum: ["cutting", "shank", "holder"] },
    file: text,
    line,
    at: point,
  },
  ["file"],
);

const deepest = object({ depth: orNull("number"), grid: number, file: text, line }, ["file"]);

const visit = object(
  {
    tool: orNull("number"),
    offset: text,
    station: orNull("string"),
    // Only where the visit begins in another file than the main program.
    file: text,
    line,
    seconds: { type: ["number", "null"], minimum: 0 },
    moves: { type: "integer", minimum: 1 },
    // Only with --explain.
    least: { type: "array", items: least },
    // Only with --explain, and where the visit cuts.
    deepest,
  },
  ["file", "least", "deepest"],
);

const program = object({
  program: text,
  fixture: orNull("string"),
  complete: { type: "boolean" },
  findings: { type: "array", items: finding },
  visits: { type: "array", items: visit },
  notChecked: { type: "array", items: object({ what: text, why: text }) },
});

/** `check --format json` */
export const checkSchema = object({ version: { const: 1 }, programs: { type: "array", items: program } });

/** One line of `trace`. */
export const traceSchema = {
  ...object(
    {
      line,
      file: text,
      kind: { enum: ["rapid", "feed", "arc", "dwell", "index"] },
      tool: orNull("number"),
      offset: text,
      station: orNull("string"),
      from: point,
      to: point,
      rotary: number,
      feed: { type: "number", exclusiveMinimum: 0 },
      plane: { enum: ["G17", "G18", "G19"] },
      centre: point,
      sweep: orNull("number"),
      compensation: { enum: [41, 42] },
    },
    ["file", "rotary", "feed", "plane", "centre", "sweep", "compensation"],
  ),
  // An arc says its plane, centre and sweep; nothing else does.
  oneOf: [
    { properties: { kind: { const: "arc" } }, required: ["plane", "centre", "sweep"] },
    {
      properties: { kind: { not: { const: "arc" } } },
      not: { anyOf: [{ required: ["plane"] }, { required: ["centre"] }, { required: ["sweep"] }] },
    },
  ],
};

const axes = (optional: readonly string[]) =>
  object({ X: orNull("number"), Y: orNull("number"), Z: orNull("number"), rotary: orNull("number") }, optional);

const solid = object({
  name: { enum: ["fixed jaw", "moving jaw", "end stop", "stock", "parallels"] },
  from: point,
  to: point,
  corners: { type: "array", items: point, minItems: 8, maxItems: 8 },
});

/** `stations --format json` */
export const stationsSchema = {
  type: "array",
  items: object(
    {
      id: text,
      base: text,
      at: { type: "array", items: number, minItems: 2, maxItems: 2 },
      offset: orNull("string"),
      part: text,
      op: text,
      computed: axes(["rotary"]),
      stored: axes(["X", "Y", "Z", "rotary"]),
      notch: object({
        chosen: orNull("integer"),
        valid: { type: "array", items: { type: "integer", minimum: 0 } },
        best: orNull("integer"),
        travel: orNull("number"),
      }),
      solids: { type: "array", items: solid },
    },
    ["stored"],
  ),
};
