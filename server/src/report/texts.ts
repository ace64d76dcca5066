import { sayer, solidName, type Text, told } from "./language/say.js";

/**
 * What the command line says around findings: heads, sums, tables, refusals. Help texts stand beside the commands. The
 * level of a finding (error, warning, information) stays English, since it is what editors and scripts look for.
 */
export const reportTexts = {
  caution: [
    "A review aid, not a proof: prove out with the guards closed; the machine's manuals, local rules and qualified people decide.",
    "Eine Hilfe beim Durchsehen, kein Nachweis: bei geschlossener Schutzverkleidung einfahren; die Handbücher der Maschine, die örtlichen Vorschriften und befähigte Personen entscheiden.",
  ],
  "not-checked": ["not checked", "nicht geprüft"],
  unknown: ["unknown", "unbekannt"],
  none: ["none", "keine"],
  "more-places": ["and {count} more places, which --format json lists", "und {count} weitere Stellen, die --format json auflistet"],
  line: ["line {line}", "Zeile {line}"],
  "of-station": ["{solid} of {station}", "{solid} von {station}"],

  // check
  "with-sidecar": ["with {file}, dialect {dialect}", "mit {file}, Dialekt {dialect}"],
  "without-sidecar": ["without a sidecar, dialect {dialect}", "ohne Vorrichtungsdatei, Dialekt {dialect}"],
  "waived-head": ["Waived by ALLOW comments:", "Freigegeben durch ALLOW-Kommentare:"],
  waived: ["reason: {reason}", "Grund: {reason}"],
  "not-checked-head": ["Not checked:", "Nicht geprüft:"],
  "least-head": ["Least clearances, {units}:", "Kleinste Abstände, {units}:"],
  "no-visit": ["the program makes no visit", "das Programm macht keinen Besuch"],
  "no-sidecar": ["nothing measured: there is no usable sidecar", "nichts gemessen: es gibt keine brauchbare Vorrichtungsdatei"],
  "no-measure": ["nothing measured", "nichts gemessen"],
  "move-unchecked": ["1 move not checked", "1 Bewegung nicht geprüft"],
  "moves-unchecked": ["{count} moves not checked", "{count} Bewegungen nicht geprüft"],
  "from-line": ["from line {line}: {reason}", "ab Zeile {line}: {reason}"],
  "part.cutting": ["cutting", "Schneide"],
  "part.shank": ["shank", "Schaft"],
  "part.holder": ["holder", "Halter"],
  "one.program": ["1 program", "1 Programm"],
  programs: ["{count} programs", "{count} Programme"],
  "one.visit": ["1 visit", "1 Besuch"],
  visits: ["{count} visits", "{count} Besuche"],
  "one.error": ["1 error", "1 Fehler"],
  errors: ["{count} errors", "{count} Fehler"],
  "one.warning": ["1 warning", "1 Warnung"],
  warnings: ["{count} warnings", "{count} Warnungen"],
  "one.information": ["1 information", "1 Hinweis"],
  informations: ["{count} information", "{count} Hinweise"],
  "no-findings": ["no findings", "keine Befunde"],
  "no-findings-so-far": ["nothing found in what was checked", "nichts gefunden in dem, was geprüft wurde"],
  "waived-count": ["{count} waived", "{count} freigegeben"],
  "thing-unchecked": ["1 thing not checked", "1 Sache nicht geprüft"],
  "things-unchecked": ["{count} things not checked", "{count} Dinge nicht geprüft"],
  complete: ["complete", "vollständig"],
  incomplete: ["INCOMPLETE", "UNVOLLSTÄNDIG"],
  "incomplete-of": [
    "INCOMPLETE: {count} of {all} programs not checked to the end",
    "UNVOLLSTÄNDIG: {count} von {all} Programmen nicht zu Ende geprüft",
  ],
  "whole-program": ["the whole program", "das ganze Programm"],
  "sarif.not-checked": ["Not checked: {why}", "Nicht geprüft: {why}"],
  "sarif.no-end": ["The check did not come to its end.", "Die Prüfung kam nicht an ihr Ende."],

  // Heads of tables.
  "head.visit": ["visit", "Besuch"],
  "head.tool": ["tool", "Werkzeug"],
  "head.offset": ["offset", "Verschiebung"],
  "head.station": ["station", "Station"],
  "head.nearest": ["nearest", "am nächsten"],
  "head.least": ["least", "kleinster"],
  "head.part-of-tool": ["tool part", "Werkzeugteil"],
  "head.block": ["block", "Satz"],
  "head.base": ["base", "Grundkörper"],
  "head.at": ["at", "bei"],
  "head.part": ["part", "Werkstück"],
  "head.op": ["op", "Arbeitsgang"],
  "head.notch": ["notch", "Raste"],
  "head.valid": ["valid", "möglich"],
  "head.best": ["best", "beste"],
  "head.travel": ["travel", "Spannhub"],
  "head.differs": ["{axis} differs", "{axis} weicht ab"],
  "head.result": ["result", "Ergebnis"],

  // stations, offsets
  "stations.foot": [
    "Computed positions of the part zeros, machine frame, {units}.",
    "Berechnete Positionen der Werkstücknullpunkte, Maschinenkoordinaten, {units}.",
  ],
  "account.machine": ["Z counts from the machine datum", "Z zählt vom Maschinennullpunkt"],
  "account.base": ["Z counts from base {base} at Z {z}", "Z zählt vom Grundkörper {base} bei Z {z}"],
  "account.station": ["Z counts from station {station} at Z {z}", "Z zählt von der Station {station} bei Z {z}"],
  "account.no-shift": ["no common shift", "keine gemeinsame Verschiebung"],
  "account.shift": ["with a common shift of {axes}", "mit gemeinsamer Verschiebung von {axes}"],
  account: ["Lengths in {units}; {from}; {shift}.", "Längen in {units}; {from}; {shift}."],
  inch: ["inch", "Zoll"],
  "g10.head": ["WORK OFFSETS COMPUTED FROM THE FIXTURE SIDECAR", "NULLPUNKTVERSCHIEBUNGEN AUS DER VORRICHTUNGSDATEI BERECHNET"],
  "g10.caution": [
    "CHECK AGAINST THE MACHINE BEFORE LOADING: A REVIEW AID, NOT A PROOF",
    "VOR DEM LADEN MIT DER MASCHINE VERGLEICHEN: EINE HILFE BEIM DURCHSEHEN, KEIN NACHWEIS",
  ],
  "g10.no-block": [
    "{station}: dialect {dialect} has no G10 block for {offset}",
    "{station}: der Dialekt {dialect} hat keinen G10-Satz für {offset}",
  ],
  "g10.unknown": ["{station}: {axis} of {offset} is not known", "{station}: {axis} von {offset} ist nicht bekannt"],
  "g10.shared": [
    "{station}: shares {offset} with a station that needs other values",
    "{station}: teilt {offset} mit einer Station, die andere Werte braucht",
  ],
  "compare.what": [
    "A difference is {file} less what the offset must hold.",
    "Eine Abweichung ist {file} weniger dem, was die Verschiebung enthalten muss.",
  ],
  "compare.holds": ["{axis} holds {has}, must hold {must}", "{axis} enthält {has}, richtig ist {must}"],
  "compare.left-out": ["{axes} left out", "{axes} ausgelassen"],
  "compare.of": ["{offset} of {station}", "{offset} von {station}"],
  "compare.stranger": [
    "{file} also sets {offset}, which belongs to no station and no datum",
    "{file} setzt auch {offset}, zu dem keine Station und kein Bezugspunkt gehört",
  ],
  "compare.absent": ["not in the file", "nicht in der Datei"],
  "compare.unknown": ["not checked: what {axes} must hold is not known", "nicht geprüft: was {axes} enthalten muss, ist nicht bekannt"],
  "compare.differs": ["DIFFERS in {axes}", "WEICHT AB in {axes}"],
  "compare.within": ["within tolerance", "in der Toleranz"],
  "compare.nothing": ["No station has an offset: nothing was compared.", "Keine Station hat eine Verschiebung: nichts wurde verglichen."],
  "compare.none-set": [
    "INCOMPLETE: {file} sets no offset of any station.",
    "UNVOLLSTÄNDIG: {file} setzt keine Verschiebung irgendeiner Station.",
  ],
  "compare.good-one": ["{good} of 1 offset within the tolerance", "{good} von 1 Verschiebung in der Toleranz"],
  "compare.good": ["{good} of {all} offsets within the tolerance", "{good} von {all} Verschiebungen in der Toleranz"],
  "compare.incomplete": ["INCOMPLETE: {good}, not everything could be compared.", "UNVOLLSTÄNDIG: {good}, nicht alles war zu vergleichen."],
  "compare.some-not": ["{good}, {count} not.", "{good}, {count} nicht."],

  // Arguments that cannot be understood, to follow "jawline: ".
  "arguments.see": ["{problem}. See jawline {command} --help.", "{problem}. Siehe jawline {command} --help."],
  "arguments.twice": ["{option} is given twice", "{option} ist zweimal angegeben"],
  "arguments.needs-operand": ["{command} needs {operand}", "{command} braucht {operand}"],
  "arguments.too-many": [
    '{command} takes {operand} and nothing else; "{extra}" is too much',
    "{command} nimmt {operand} und sonst nichts; „{extra}“ ist zu viel",
  ],
  "arguments.no-value": ["{option} takes no value", "{option} nimmt keinen Wert"],
  "arguments.value": ["{option} needs a value", "{option} braucht einen Wert"],
  "arguments.choice": ["{option} needs {choices}", "{option} braucht {choices}"],
  "arguments.wrong": ['{option} cannot be "{value}": it is {choices}', "{option} kann nicht „{value}“ sein: möglich ist {choices}"],
  "arguments.choices": ["{list} or {last}", "{list} oder {last}"],
  "arguments.no-option": ["{command} has no option {option}", "{command} hat keine Option {option}"],
  "arguments.near-option": [
    "{command} has no option {option}; did you mean --{near}?",
    "{command} hat keine Option {option}; ist --{near} gemeint?",
  ],
  "arguments.near-command": ['there is no command "{name}"; did you mean {near}?', "es gibt keinen Befehl „{name}“; ist {near} gemeint?"],
  "arguments.file": [
    '"{name}" is no command; to check a program: jawline check {name}',
    "„{name}“ ist kein Befehl; ein Programm prüft: jawline check {name}",
  ],
  "arguments.no-command": ['there is no command "{name}"; there are {list}', "es gibt keinen Befehl „{name}“; es gibt {list}"],
  "arguments.against": [
    "--against compares, so its --format is table or json.",
    "--against vergleicht, daher ist --format table oder json.",
  ],
  "operand.programs": ["at least one program", "mindestens ein Programm"],
  "operand.program": ["one program", "ein Programm"],
  "operand.sidecar": ["one sidecar", "eine Vorrichtungsdatei"],
  "empty.no-sidecar": [
    '--empty: there is no station "{id}" since no sidecar is in force',
    "--empty: es gibt keine Station „{id}“, da keine Vorrichtungsdatei gilt",
  ],
  "empty.no-station": ['--empty: there is no station "{id}"; there are {list}', "--empty: es gibt keine Station „{id}“; es gibt {list}"],
  "no-dialect": ['there is no dialect "{name}"; there are {list}', "es gibt keinen Dialekt „{name}“; es gibt {list}"],
  "sidecar-unusable": ["this sidecar cannot be used as it is", "diese Vorrichtungsdatei ist so nicht zu gebrauchen"],
  "trace-stopped": ["the run was stopped at its limit; the trace ends there", "der Lauf hielt an seiner Grenze an; die Ausgabe endet dort"],
  internal: ["internal error, please report it: {error}", "innerer Fehler, bitte melden: {error}"],

  // Why a file cannot be read, to follow its name.
  "file.folder": ["this is a folder, not a file", "das ist ein Ordner, keine Datei"],
  "file.irregular": ["this is not a regular file", "das ist keine gewöhnliche Datei"],
  "file.large": ["the file is larger than {size} MB", "die Datei ist größer als {size} MB"],
  "file.absent": ["there is no such file", "diese Datei gibt es nicht"],
  "file.no-folder": ["part of the path is a file, not a folder", "ein Teil des Pfads ist eine Datei, kein Ordner"],
  "file.forbidden": ["reading it is not permitted", "sie zu lesen ist nicht erlaubt"],
  "file.long-name": ["the name is too long", "der Name ist zu lang"],
  "file.circle": ["its links lead in a circle", "ihre Verweise führen im Kreis"],
  "file.unreadable": ["it cannot be read ({why})", "sie kann nicht gelesen werden ({why})"],
} as const satisfies Readonly<Record<string, Text>>;

/** A text of the command line in the language of this process. */
export const say = sayer(reportTexts);

export { solidName, told };
