/** A small analysis written by hand, so that tests of the reports do not rest on the engine's own answer. */
import type { Clearances, Contact } from "../../server/src/engine/checks/rule.js";
import type { Profile } from "../../server/src/engine/dialect/profile.js";
import { profileOf } from "../../server/src/engine/dialect/profiles.js";
import type { Finding, NotChecked } from "../../server/src/engine/findings.js";
import type { Base, Fixture, Solid, SolidKind, Station } from "../../server/src/engine/fixture/model.js";
import { type Frame, IDENTITY } from "../../server/src/engine/geometry/frame.js";
import { type Vec3, ZERO } from "../../server/src/engine/geometry/vector.js";
import type { Modal, Move } from "../../server/src/engine/machine/move.js";
import type { Call, Run, Step } from "../../server/src/engine/machine/run.js";
import type { Analysis } from "../../server/src/engine/program.js";
import type { Block, Source } from "../../server/src/engine/syntax/block.js";
import type { Place } from "../../server/src/engine/text/place.js";
import type { Visit } from "../../server/src/engine/visits.js";
import type { ProgramReport, ReportContext } from "../../server/src/report/program-report.js";

export const PROGRAM = "/shop/part.nc";
export const SUB = "/shop/O200.nc";
export const SIDECAR = "/shop/part.fixture.json";

/** Texts of the files, by path. Line 3 of the program has a tab, line 5 an escape sequence. */
export const TEXTS: Readonly<Record<string, readonly string[]>> = {
  [PROGRAM]: [
    "%",
    "T1 M6",
    "\tG0 G90 G57 X0 Y0",
    "M98 P200",
    "(\u001b[31mred\u001b[0m) G1 Z-5 F200",
    `G1 ${" ".repeat(200)}X10. F300`,
    "M30",
  ],
  [SUB]: ["O200", "G1 X10 F100", "M99"],
  [SIDECAR]: ["{", '  "format": 1', "}"],
};

/** Reports only ask for its name and for how registers are addressed. */
const iso = profileOf("iso");
if (iso === undefined) throw new Error("there is no dialect iso");
export const profile: Profile = iso;

export function placeAt(file: string, line: number, column: number, endColumn: number, endLine = line): Place {
  return { file, range: { line, column, endLine, endColumn } };
}

export function modal(change: Partial<Modal> = {}): Modal {
  return {
    motion: "G0",
    plane: 17,
    units: "mm",
    absolute: true,
    feedMode: 94,
    compensation: 40,
    d: Number.NaN,
    length: 43,
    h: 1,
    offset: "G54",
    offsetStep: -1,
    returnLevel: 98,
    localShift: ZERO,
    presetShift: ZERO,
    rotation: undefined,
    mirror: undefined,
    scaling: undefined,
    polar: false,
    spindle: "cw",
    speed: 3000,
    feed: 200,
    tool: 1,
    toolStep: 0,
    nextTool: Number.NaN,
    rotary: Number.NaN,
    ...change,
  };
}

const UNKNOWN_POINT: Vec3 = [Number.NaN, Number.NaN, Number.NaN];

export function move(change: Partial<Move> = {}): Move {
  return {
    step: 0,
    kind: "rapid",
    role: "plain",
    from: UNKNOWN_POINT,
    to: ZERO,
    partFrom: UNKNOWN_POINT,
    partTo: ZERO,
    gaugeFrom: Number.NaN,
    gaugeTo: Number.NaN,
    rotaryFrom: Number.NaN,
    rotaryTo: Number.NaN,
    centre: undefined,
    sweep: Number.NaN,
    feed: Number.NaN,
    seconds: Number.NaN,
    modal: modal(),
    station: -1,
    visit: -1,
    ...change,
  };
}

function block(line: number): Block {
  return {
    line,
    skip: undefined,
    label: undefined,
    labelSpan: undefined,
    program: undefined,
    programSpan: undefined,
    percent: false,
    words: [],
    assignments: [],
    control: undefined,
    comments: [],
    problems: [],
    start: 0,
    end: 1,
  };
}

function source(file: string): Source {
  const lines = TEXTS[file] ?? [];
  return { file, lines, blocks: lines.map((_, line) => block(line)), parts: [], problems: [] };
}

const mainCall: Call = { source: 0, program: Number.NaN, caller: -1, parent: undefined, depth: 0, kind: "main" };

function step(line: number, sourceIndex = 0): Step {
  return {
    block: block(line),
    source: sourceIndex,
    call: mainCall,
    before: modal(),
    after: modal(),
    firstMove: 0,
    endMove: 0,
    skipped: false,
    values: undefined,
  };
}

function visit(change: Partial<Visit>): Visit {
  return {
    index: 0,
    tool: 1,
    offset: "G54",
    station: 0,
    rotary: Number.NaN,
    openedBy: 1,
    firstStep: 1,
    lastStep: 3,
    firstMove: 0,
    endMove: 3,
    seconds: 12.5,
    moves: 3,
    cuts: true,
    ...change,
  };
}

/** Steps: 0 T1 M6 (line 2), 1 the offset (line 3), 2 in the subprogram's file (line 2), 3 line 5. Two visits. */
export const run: Run = {
  sources: [source(PROGRAM), source(SUB)],
  steps: [step(1), step(2), step(1, 1), step(4)],
  moves: [
    move({ step: 1, station: 0, visit: 0, to: [-620.0000004, -385, -300] }),
    move({
      step: 2,
      kind: "feed",
      station: 0,
      visit: 0,
      from: [-620, -385, -300],
      to: [-610.1234567, -385, -0.0000001],
      feed: 99.9999999999,
    }),
    move({ step: 3, kind: "feed", station: -1, visit: 1, from: [-610, -385, 0], to: [Number.NaN, -385, -5], feed: Number.NaN }),
  ],
  visits: [
    visit({ index: 0, firstMove: 0, endMove: 2 }),
    visit({ index: 1, offset: "P7", station: -1, tool: Number.NaN, firstStep: 2, seconds: Number.NaN, moves: 1, firstMove: 2, endMove: 3 }),
  ],
  writes: [],
  notes: [],
  seconds: 12.5,
  assumptions: [],
  complete: true,
};

/** A box of the station frame as a solid in the machine frame. */
export function solid(kind: SolidKind, name: string, station: number, from: Vec3, to: Vec3, frame: Frame = IDENTITY): Solid {
  return {
    kind,
    name,
    station,
    base: "plate",
    placed: { frame, box: { from, to } },
    local: { from, to },
    machinable: false,
    place: placeAt(SIDECAR, 0, 0, 1),
  };
}

const base: Base = {
  name: "plate",
  pitch: [50, 50],
  columns: 18,
  rows: 9,
  zero: [-700, -450, -400],
  skew: 0,
  face: 0,
  thickness: 40,
  border: 25,
  frame: IDENTITY,
  body: solid("base", "plate", -1, [-25, -25, -40], [875, 425, 0]),
  place: placeAt(SIDECAR, 0, 0, 1),
};

export function station(change: Partial<Station> = {}): Station {
  return {
    index: 0,
    id: "A1",
    base,
    at: [1, 1],
    clamp: "+Y",
    fixedJaw: "fj60",
    movingJaw: "mj60",
    endStop: undefined,
    seat: 25,
    part: "bracket",
    op: "op10",
    partName: undefined,
    drawing: undefined,
    issue: undefined,
    material: undefined,
    offset: "G54",
    offsetName: "G54",
    empty: false,
    sharesOffset: false,
    frame: IDENTITY,
    zero: ZERO,
    partFrame: IDENTITY,
    // The worked example of the sidecar's format page.
    computed: { X: -620, Y: -385, Z: -345, rotary: undefined },
    untrimmed: [-620, -385, -345],
    trim: {},
    stock: undefined,
    stockTolerance: 0,
    finishedTop: undefined,
    notch: { chosen: 8, valid: [8, 9], best: 8, travel: 3, notches: 40 },
    grip: 17,
    standing: 13,
    solids: [],
    unknownSolids: [],
    openJaw: undefined,
    loading: 0,
    zeroAs: { u: "fixedJaw", v: "low", w: "top" },
    reversible: undefined,
    source: 0,
    copy: 0,
    ownZero: "",
    place: placeAt(SIDECAR, 0, 0, 1),
    ...change,
  };
}

export function fixture(change: Partial<Fixture> = {}): Fixture {
  const stations = change.stations ?? [station()];
  return {
    file: SIDECAR,
    units: "mm",
    machine: {
      name: undefined,
      profile,
      travel: {},
      home: {},
      rapid: {},
      acceleration: {},
      rapidPath: "either",
      toolChangeSeconds: undefined,
      rotary: undefined,
      resident: [],
      programFolders: [],
    },
    tolerance: { X: 0.02, Y: 0.02, Z: 0.05, rotary: 0.005 },
    clearance: { rapid: 2, cut: 0.5, index: 25 },
    bases: [base],
    stations,
    datums: new Map(),
    obstacles: [],
    tools: new Map(),
    hasTools: false,
    stored: new Map(),
    commonShift: {},
    zFrom: { kind: "machine" },
    zReference: 0,
    setAtMachine: [],
    levels: new Map(),
    offsetName: (key) => (key.startsWith("P") ? `G54.1 ${key}` : key),
    stationsOf: (key) => stations.filter((s) => s.offset === key),
    unresolved: [],
    notes: [],
    usable: true,
    complete: true,
    dependencies: [SIDECAR],
    placeOf: () => placeAt(SIDECAR, 0, 0, 1),
    ...change,
  };
}

export function finding(change: Partial<Finding> = {}): Finding {
  return {
    rule: "offset-unmapped",
    level: "error",
    message: { key: "default", args: {} },
    place: placeAt(PROGRAM, 2, 8, 11),
    station: undefined,
    related: [],
    data: undefined,
    fixes: [],
    waived: undefined,
    ...change,
  };
}

const jaw = solid("fixed jaw", "fixed jaw", 0, [0, 0, 0], [10, 10, 10]);
const plate = solid("base", "plate", -1, [0, 0, -40], [10, 10, 0]);

function contact(change: Partial<Contact>): Contact {
  return { move: 0, solid: jaw, distance: 1, depth: 0, at: [-620, -385, -300], part: "cutting", atStart: false, ...change };
}

/** Visit 0 comes near a jaw and the base, visit 1 cannot be measured. */
export const clearances: Clearances = {
  contacts: [],
  contactsOf: () => [],
  least: (index) =>
    index === 0 ? [contact({ move: 1, solid: plate, distance: 12.3456 }), contact({ move: 0, distance: 4.5, part: "holder" })] : [],
  unchecked: new Map([[2, "why.position-unknown"]]),
};

export function analysis(change: Partial<Analysis> = {}): Analysis {
  return {
    program: PROGRAM,
    profile,
    fixture: fixture(),
    fixtureFile: SIDECAR,
    run,
    clearances,
    findings: [],
    notChecked: [],
    complete: true,
    dependencies: [PROGRAM, SIDECAR],
    ...change,
  };
}

export const NOT_CHECKED: NotChecked = { what: { key: "holders", args: {} }, why: { key: "no tools", args: {} } };

/** Words that show what they were made from. */
export const context: ReportContext = {
  shownFile: (file) => file.replace("/shop/", ""),
  linesOf: (file) => TEXTS[file],
  wordsOf: () => ({
    finding: ({ rule, message }) => `message ${message.key} of ${rule}`,
    related: (_, { message }) => `related ${message.key}`,
    note: ({ message }) => `note ${message.key}`,
    notChecked: ({ what, why }) => ({ what: what.key, why: why.key }),
    reason: (key) => `reason ${key}`,
  }),
};

export function report(result: Analysis): ProgramReport {
  return { program: "part.nc", result };
}

export const spellOffset = (_: Analysis, key: string): string => fixture().offsetName(key);
