import { languages } from "../report/language/languages.js";
import { sayer, type Text } from "../report/language/say.js";
import type { CommandForm, OptionForm } from "./arguments.js";

const help: OptionForm = { name: "help", value: "none" };
const fixture: OptionForm = { name: "fixture", value: "text" };
const skip: OptionForm = { name: "skip", value: ["on", "off"] };
const dialect: OptionForm = { name: "dialect", value: "text" };
const locale: OptionForm = { name: "locale", value: ["en", ...languages] };

/** The commands of the command line. */
export const commands = {
  check: {
    name: "check",
    operand: "operand.programs",
    operands: [1, Number.POSITIVE_INFINITY],
    options: [
      fixture,
      { name: "format", value: ["text", "json", "sarif"] },
      { name: "fail-on", value: ["error", "warning", "never"] },
      skip,
      { name: "empty", value: "text" },
      dialect,
      { name: "explain", value: "none" },
      locale,
      help,
    ],
  },
  trace: { name: "trace", operand: "operand.program", operands: [1, 1], options: [fixture, skip, dialect, locale, help] },
  stations: {
    name: "stations",
    operand: "operand.sidecar",
    operands: [1, 1],
    options: [{ name: "format", value: ["table", "json"] }, locale, help],
  },
  offsets: {
    name: "offsets",
    operand: "operand.sidecar",
    operands: [1, 1],
    options: [{ name: "against", value: "text" }, { name: "format", value: ["table", "g10", "json"] }, locale, help],
  },
} as const satisfies Readonly<Record<string, CommandForm>>;

export type CommandName = keyof typeof commands;

/** True for the name of a command. */
export function isCommand(name: string): name is CommandName {
  return Object.hasOwn(commands, name);
}

const EXITS: Text = [
  `Exit status: 0 clean; 1 findings at or above --fail-on; 2 could not check: an unreadable file,
a broken sidecar, a check that stopped early, or a command line that cannot be understood.`,
  `Rückgabewert: 0 ohne Befund; 1 Befunde ab der Stufe von --fail-on; 2 nicht zu prüfen: eine unlesbare
Datei, eine fehlerhafte Vorrichtungsdatei, eine vorzeitig beendete Prüfung, oder eine Befehlszeile, die
nicht zu verstehen ist.`,
];

/** What `--help` prints, in all and for each command. */
export const helpTexts = {
  all: [
    `jawline - reads ISO 6983 programs beside the fixture that holds the parts

  jawline check PROGRAM...      what is wrong, block by block
  jawline trace PROGRAM         every move of the tool, one JSON object a line
  jawline stations FIXTURE      where every station stands, and its notches
  jawline offsets FIXTURE       what every work offset must hold
  jawline COMMAND --help        the options of a command
  jawline --version

FIXTURE is a sidecar, NAME.fixture.json. Without --fixture a program's sidecar is found by itself:
the one that a comment (FIXTURE: name.fixture.json) in its first 30 lines names, PROGRAM.fixture.json
beside PROGRAM.nc, or the only *.fixture.json in its folder or the nearest folder above that has one,
up to the working directory.

A review aid, not a proof: prove out with the guards closed; the machine's manuals, local rules and
qualified people decide.
`,
    `jawline - liest ISO-6983-Programme neben der Vorrichtung, die die Werkstücke hält

  jawline check PROGRAM...      was nicht stimmt, Satz für Satz
  jawline trace PROGRAM         jede Bewegung des Werkzeugs, ein JSON-Objekt je Zeile
  jawline stations FIXTURE      wo jede Station steht, und ihre Rasten
  jawline offsets FIXTURE       was jede Nullpunktverschiebung enthalten muss
  jawline COMMAND --help        die Optionen eines Befehls
  jawline --version

FIXTURE ist eine Vorrichtungsdatei, NAME.fixture.json. Ohne --fixture wird die eines Programms von selbst
gefunden: die, die ein Kommentar (FIXTURE: name.fixture.json) in seinen ersten 30 Zeilen nennt,
PROGRAM.fixture.json neben PROGRAM.nc, oder die einzige *.fixture.json in seinem Ordner oder im nächsten
Ordner darüber, der eine hat, bis zum Arbeitsverzeichnis.

Eine Hilfe beim Durchsehen, kein Nachweis: bei geschlossener Schutzverkleidung einfahren; die Handbücher der
Maschine, die örtlichen Vorschriften und befähigte Personen entscheiden.
`,
  ],
  check: [
    `jawline check PROGRAM... [options]

  --fixture FILE                  the sidecar for all programs named
  --format text|json|sarif        text for people (default), JSON or SARIF 2.1.0 for programs
  --fail-on error|warning|never   least level that makes the exit status 1 (default error)
  --skip on|off                   the state of block skip at the machine (default off: / blocks are run)
  --empty A3,A4                   stations that are not loaded in this run
  --dialect NAME                  the control's dialect where no sidecar names one
  --explain                       the least clearances and the deepest cut, visit by visit
  --locale en|de                  language of the answer (default: that of LC_ALL, LC_MESSAGES or LANG)

${EXITS[0]}
`,
    `jawline check PROGRAM... [Optionen]

  --fixture FILE                  die Vorrichtungsdatei für alle genannten Programme
  --format text|json|sarif        Text für Menschen (Vorgabe), JSON oder SARIF 2.1.0 für Programme
  --fail-on error|warning|never   niedrigste Stufe, die den Rückgabewert 1 ergibt (Vorgabe error)
  --skip on|off                   Stand der Satzausblendung an der Maschine (Vorgabe off: /-Sätze laufen)
  --empty A3,A4                   Stationen, die in diesem Lauf nicht bestückt sind
  --dialect NAME                  Dialekt der Steuerung, wo keine Vorrichtungsdatei einen nennt
  --explain                       die kleinsten Abstände und der tiefste Schnitt, Besuch für Besuch
  --locale en|de                  Sprache der Antwort (Vorgabe: die von LC_ALL, LC_MESSAGES oder LANG)

${EXITS[1]}
`,
  ],
  trace: [
    `jawline trace PROGRAM [options]

One JSON object a line for every move in the order of execution: the tool point in the machine frame,
millimetres, mm/min and degrees whatever the program's units. An unknown coordinate is null.

  --fixture FILE    the sidecar
  --skip on|off     the state of block skip at the machine (default off: / blocks are run)
  --dialect NAME    the control's dialect where no sidecar names one
  --locale en|de    language of what is said on the way (default: that of LC_ALL, LC_MESSAGES or LANG)

Exit status: 0 whole; 2 could not read the program or its sidecar, or the run stopped early.
`,
    `jawline trace PROGRAM [Optionen]

Ein JSON-Objekt je Zeile für jede Bewegung in der Reihenfolge der Ausführung: die Werkzeugspitze in
Maschinenkoordinaten, Millimeter, mm/min und Grad, gleich in welcher Einheit das Programm steht. Eine
unbekannte Koordinate ist null.

  --fixture FILE    die Vorrichtungsdatei
  --skip on|off     Stand der Satzausblendung an der Maschine (Vorgabe off: /-Sätze laufen)
  --dialect NAME    Dialekt der Steuerung, wo keine Vorrichtungsdatei einen nennt
  --locale en|de    Sprache dessen, was dabei gesagt wird (Vorgabe: die von LC_ALL, LC_MESSAGES oder LANG)

Rückgabewert: 0 vollständig; 2 Programm oder Vorrichtungsdatei sind nicht zu lesen, oder der Lauf hielt
vorzeitig an.
`,
  ],
  stations: [
    `jawline stations FIXTURE [options]

  --format table|json    a table in the sidecar's units (default), or JSON in millimetres with all solids
  --locale en|de         language of the answer (default: that of LC_ALL, LC_MESSAGES or LANG)

Exit status: 0 whole; 2 the sidecar cannot be used.
`,
    `jawline stations FIXTURE [Optionen]

  --format table|json    eine Tabelle in der Einheit der Vorrichtungsdatei (Vorgabe), oder JSON in
                         Millimetern mit allen Körpern
  --locale en|de         Sprache der Antwort (Vorgabe: die von LC_ALL, LC_MESSAGES oder LANG)

Rückgabewert: 0 vollständig; 2 die Vorrichtungsdatei ist nicht zu gebrauchen.
`,
  ],
  offsets: [
    `jawline offsets FIXTURE [options]

What every work offset must hold: the station's computed position less the common shift, Z less the
position that stored values count from.

  --format table|g10|json    a table (default) or G10 blocks, both in the sidecar's units; JSON in millimetres
  --locale en|de             language of the answer (default: that of LC_ALL, LC_MESSAGES or LANG)
  --against FILE             compare with a file of G10 blocks, as a control writes its offset table

Exit status: 0 whole, and equal within the tolerance; 1 a difference beyond the tolerance, or an offset
that FILE does not hold; 2 the sidecar or FILE cannot be used.
`,
    `jawline offsets FIXTURE [Optionen]

Was jede Nullpunktverschiebung enthalten muss: die berechnete Position der Station weniger der gemeinsamen
Verschiebung, Z weniger der Position, von der gespeicherte Werte zählen.

  --format table|g10|json    eine Tabelle (Vorgabe) oder G10-Sätze, beide in der Einheit der
                             Vorrichtungsdatei; JSON in Millimetern
  --locale en|de             Sprache der Antwort (Vorgabe: die von LC_ALL, LC_MESSAGES oder LANG)
  --against FILE             mit einer Datei von G10-Sätzen vergleichen, wie eine Steuerung sie schreibt

Rückgabewert: 0 vollständig und in der Toleranz gleich; 1 eine Abweichung über die Toleranz, oder eine
Verschiebung, die FILE nicht enthält; 2 Vorrichtungsdatei oder FILE sind nicht zu gebrauchen.
`,
  ],
} as const satisfies Readonly<Record<CommandName | "all", Text>>;

/** The help of a command, or of all, in the language of this process. */
export const helpText = sayer(helpTexts);
