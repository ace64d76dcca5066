import type { Vocabulary } from "../../engine/checks/wording.js";

/**
 * German wording. Terms are those of the trade: Nullpunktverschiebung (work offset), Werkstücknullpunkt (part zero),
 * Spannbacke fest and beweglich, Raste (notch), Parallelunterlage, Anschlag, Eilgang, Rundachse, Ausspannlänge. Words of
 * the program stay as they are written. Objects that a message names stand in quotation marks, so that no article has to
 * agree with them.
 */
type Texts = Readonly<Record<string, string>>;

const station = "Station {station}";
const solidHere = "„{solid}“ ist hier beschrieben";
const alsoAt = "ebenso an {station}";
const also = "ebenso hier";
const object: Texts = { "related.solid": solidHere, "related.also-at": alsoAt, "related.also": also };
const other: Texts = { "related.other": "ebenso {station}" };

/** The sentence in front of the reason why a stored offset differs, by the number of axes that are off. */
const off: readonly [string, string][] = [
  ["1", "{station} ({offset}): {axis1} weicht um {off1} ab, richtig ist {wanted1}"],
  ["2", "{station} ({offset}): {axis1} weicht um {off1} ab und {axis2} um {off2}"],
  ["3", "{station} ({offset}): {axis1} weicht um {off1} ab, {axis2} um {off2} und {axis3} um {off3}"],
  ["4", "{station} ({offset}): {axis1} weicht um {off1} ab, {axis2} um {off2}, {axis3} um {off3} und {axis4} um {off4}"],
];

/** Why a stored offset differs, by the key of `diagnoseOffset`, to follow where it differs. */
export const germanReasons: Texts = {
  none: "",
  "pitch-x": ": genau {x} Rasterteilungen entlang der Spalten",
  "pitch-x single": ": genau {x} Rasterteilung entlang der Spalten",
  "pitch-y": ": genau {y} Rasterteilungen entlang der Reihen",
  "pitch-y single": ": genau {y} Rasterteilung entlang der Reihen",
  "pitch-xy": ": genau {x} Rasterteilungen entlang der Spalten und {y} entlang der Reihen",
  "pitch-xy single": ": genau {x} Rasterteilung entlang der Spalten und {y} entlang der Reihen",
  station: ": das ist der Wert der Station {other}",
  "station-pitch-x": ": das ist der Wert der Station {other}, {x} Rasterteilungen entlang der Spalten",
  "station-pitch-x single": ": das ist der Wert der Station {other}, {x} Rasterteilung entlang der Spalten",
  "station-pitch-y": ": das ist der Wert der Station {other}, {y} Rasterteilungen entlang der Reihen",
  "station-pitch-y single": ": das ist der Wert der Station {other}, {y} Rasterteilung entlang der Reihen",
  "station-pitch-xy": ": das ist der Wert der Station {other}, {x} Rasterteilungen entlang der Spalten und {y} entlang der Reihen",
  "station-pitch-xy single": ": das ist der Wert der Station {other}, {x} Rasterteilung entlang der Spalten und {y} entlang der Reihen",
  swapped: ": X und Y sind vertauscht",
  sign: ": das Vorzeichen von {axes} ist falsch",
  "inch-for-mm": ": {axes} in Zoll angegeben, wo Millimeter gelten",
  "mm-for-inch": ": {axes} in Millimetern angegeben, wo Zoll gilt",
  skew: ": die Schräglage des Grundkörpers, {skew}, ist nicht berücksichtigt",
  "skew-reversed": ": die Schräglage des Grundkörpers, {skew}, ist mit falschem Drehsinn berücksichtigt",
  "trim-missing": ": die Feinkorrektur von {axes} fehlt",
  "trim-twice": ": die Feinkorrektur von {axes} ist doppelt gezählt",
  "shift-twice": ": die gemeinsame Verschiebung von {axes} steckt im Wert und wird von der Steuerung noch einmal addiert",
  "z-at-seat": ": Z ist das der Auflage; der Werkstücknullpunkt ist {should}",
  "z-at-top": ": Z ist das der Rohteiloberkante; der Werkstücknullpunkt ist {should}",
  "z-at-finished-top": ": Z ist das der Fertigteiloberkante; der Werkstücknullpunkt ist {should}",
  "z-at-face": ": Z ist das der Anlagefläche; der Werkstücknullpunkt ist {should}",
  "z-from-machine": ": Z ist vom Maschinennullpunkt gezählt, die Vorrichtungsdatei zählt es von {should}",
  "z-from-base": ": Z ist vom Grundkörper {from} gezählt, die Vorrichtungsdatei zählt es von {should}",
  "z-from-station": ": Z ist von der Station {from} gezählt, die Vorrichtungsdatei zählt es von {should}",
  "zero-at": ": in {axes} wäre das für einen Werkstücknullpunkt bei u {u}, v {v} richtig",
  "rotary-face": ": die Verschiebung enthält den Flächenwinkel {angle}, den das Programm selbst schreibt",
  "rotary-zero": ": die Verschiebung enthält keinen Flächenwinkel; richtig ist {angle}",
  "rotary-base": ": die Verschiebung enthält den Flächenwinkel des Grundkörpers {base}",
};

function offsetValues(): Texts {
  const out: Record<string, string> = {
    default: "{station} ({offset}) enthält nicht die berechnete Position",
    "related.station": station,
    "related.same": "{station} ({offset}) weicht um dasselbe ab",
    "fix.computed": "Berechnete Werte schreiben: {words}",
    "what.offset": "der in Zeile {line} nach {offset} geschriebene Wert",
    "why.computed": "er wird aus etwas Unbekanntem berechnet",
  };
  for (const [count, head] of off) for (const [key, reason] of Object.entries(germanReasons)) out[`${count} ${key}`] = head + reason;
  return out;
}

/** Rule id → key of the message → wording. */
export const german: Readonly<Record<string, Texts>> = {
  common: {
    "related.called-from": "von hier aufgerufen",
    "related.also-at": "ebenso an Station {station}",
    "related.also": also,
  },
  "not-checked": {
    "what.fixture": "Stationen, Nullpunktverschiebungen und Abstände",
    "what.holders": "Werkzeughalter, Bohrerspitzen und die Breite des Werkzeugs",
    "what.travel": "Verfahrwege",
    "what.tool": "Abstände und Verfahrweg des Werkzeugs T{tool}",
    "what.length-of-tool": "Verfahrweg in Z und Halter des Werkzeugs T{tool}",
    "what.width-of-tool": "die Breite des Werkzeugs T{tool}; es gilt als Linie",
    "what.holder-of-tool": "der Halter des Werkzeugs T{tool}",
    "what.solid": "„{solid}“ von {stations}",
    "why.no-diameter": "die Vorrichtungsdatei nennt dafür kein DC",
    "why.no-holder": "die Vorrichtungsdatei nennt dafür keinen Schaft oder keinen Halter",
    "why.no-size": "ein Maß davon fehlt in der Vorrichtungsdatei",
    "why.no-element": "die Vorrichtungsdatei nennt keine",
    "what.station-position": "die Position der Station {station}",
    "what.move": "die Bewegung der Zeile {line}",
    "what.moves": "{count} Bewegungen ab Zeile {line}",
    "what.rest": "der Rest des Programms",
    "what.program": "das Programm {file}",
    "what.part": "die Bewegungen von O{program}",
    "what.rule": "Regel {rule}",
    "what.level": "die für {rule} gesetzte Stufe",
    "what.empty": "die als leer bezeichnete Station {station}",
    "what.offsets-stored": "was die Steuerung in ihren Nullpunktverschiebungen gespeichert hat",
    "what.time": "die Zeit der Eilgänge; die genannten Zeiten sind die der anderen Bewegungen",
    "why.no-rapid": "die Vorrichtungsdatei nennt keine Eilganggeschwindigkeit für {axes}",
    "why.no-fixture": "zu diesem Programm wurde keine Vorrichtungsdatei gefunden",
    "why.fixture-unusable": "die Vorrichtungsdatei hat Fehler, nach denen keine Station zum Prüfen bleibt",
    "why.no-tools": "die Vorrichtungsdatei beschreibt keine Werkzeuge",
    "why.no-travel": "die Vorrichtungsdatei nennt keine Verfahrwege der Maschine",
    "why.no-travel-axis": "die Vorrichtungsdatei nennt keinen Verfahrweg für {axis}",
    "why.no-tool": "die Vorrichtungsdatei beschreibt es nicht",
    "why.no-length": "die Vorrichtungsdatei nennt dafür kein LF",
    "why.no-field": "eine dafür nötige Angabe fehlt in der Vorrichtungsdatei",
    "why.no-stored": "die Vorrichtungsdatei nennt keine gespeicherten Werte, und das Programm schreibt keine",
    "why.unknown-start": "wo die Achsen am Anfang stehen, ist nicht bekannt",
    "why.bound": "der Lauf hielt an seiner Grenze an",
    "why.unreadable": "die Datei kann nicht gelesen werden",
    "why.subprogram": "nichts hier ruft es auf, daher sind Werkzeug, Verschiebung und Zustände an seinem Anfang nicht bekannt",
    "why.internal": "innerer Fehler beim Ansehen der Zeile {line}: {error}; bitte melden",
    "why.unknown-rule": "es gibt keine Regel dieses Namens",
    "why.unknown-level": "eine Stufe ist error, warning, information oder off",
    "why.unknown-station": "die Vorrichtungsdatei hat keine Station dieses Namens",
    "why.position-unknown": "die Position des Werkzeugs ist dort nicht bekannt",
    "why.tool-unknown": "das Werkzeug ist dort nicht bekannt",
    "why.rotary-undescribed": "das Programm dreht eine Rundachse, die die Vorrichtungsdatei nicht beschreibt",
    "why.rotary-unknown": "der Winkel der Rundachse ist dort nicht bekannt",
    "what.code": "was der berechnete {letter}-Code der Zeile {line} bewirkt",
    "what.motion": "die Bewegung der Zeile {line}",
    "what.motion-of": "die Bewegung von {code} in Zeile {line}",
    "what.register": "was G10 L{l} in Zeile {line} schreibt",
    "what.rest-after": "was nach Zeile {line} kommt",
    "what.block": "Zeile {line}",
    "what.r-plane": "die R-Ebene von {code} in Zeile {line}",
    "what.call": "was der Aufruf in Zeile {line} bewirkt",
    "what.resident": "was das Programm O{program} bewirkt",
    "what.repeats": "die Wiederholungen der Zeile {line}",
    "why.code-value": "seine Nummer ist nicht bekannt",
    "why.motion-code": "welche Bewegungsart wirkt, ist nicht bekannt",
    "why.turns": "P oder L in einem Kreisbogen kann Umdrehungen zählen, und dieser Dialekt sagt es nicht",
    "why.opaque": "was {code} an dieser Steuerung bewirkt, ist hier nicht bekannt",
    "why.register-kind": "L{l} ist kein hier bekanntes Register",
    "why.jump-value": "wohin er führt, hängt von einem unbekannten Wert ab",
    "why.condition": "ob er ausgeführt wird, hängt von einem unbekannten Wert ab",
    "why.no-r": "kein R-Wort gibt sie an",
    "why.call-value": "die Programmnummer hängt von einem unbekannten Wert ab; danach sind Positionen unbekannt",
    "why.call-missing": "das Programm ist nicht da; danach sind Positionen unbekannt",
    "why.resident": "es liegt in der Steuerung; danach sind Positionen unbekannt, Zustände gelten wie zuvor",
    "why.repeats-value": "ihre Anzahl ist nicht bekannt; einmal wurde angesehen",
  },
  "allow-unused": {
    default: "nichts hier braucht die Freigabe für {rule} noch",
    reason: "die Freigabe für {rule} nennt keinen Grund und gibt daher nichts frei: (ALLOW {rule}: Grund) schreiben",
    unknown: "es gibt keine Regel {rule}",
    near: "es gibt keine Regel {rule}; am nächsten kommt {nearest}",
    "fix.remove": "Kommentar entfernen",
  },
  "approach-low": {
    default: "{station}: das erste Z von {tool} geht auf Z{level}, {depth} tief in „{solid}“; zuerst auf eine Höhe über allem anfahren",
    across:
      "{station}: {tool} wird vor X und Y auf Z{level} geschickt und fährt dann auf dem Weg nach {to} {depth} tief in „{solid}“; zuerst X und Y, oder ein höheres Z",
    near: "{station}: {tool} wird vor X und Y auf Z{level} geschickt und fährt dann auf dem Weg nach {to} im Abstand {distance} an „{solid}“ vorbei, wo {clearance} einzuhalten sind; zuerst X und Y, oder ein höheres Z",
    "fix.reorder": "Zuerst nach {across} fahren, dann nach {down}",
    "fix.higher": "Auf {level} quer fahren, dann hinunter auf {down}",
    "related.across": "diese Bewegung fährt quer",
    ...object,
  },
  "approach-stale-axis": {
    default:
      "{tool} geht an {station} ohne {axes} nach unten: es steht noch dort, wo {from} es hatte, {off} neben {axis}{value} von {station}; {axes} wiederholen",
    same: "{tool} geht an {station} ohne {axes} nach unten; {axis}{value} stimmt dort zufällig auch",
    "fix.restate": "{words} an {station} neu schreiben, wie es an {from} war",
    "related.down": "hier geht es nach unten",
    "related.also-at": alsoAt,
  },
  "base-drilled": {
    default: "{station}: {tool} bohrt bei {to} {depth} tief in „{solid}“, an der Spitze gemessen; flacher bohren oder Platz schaffen",
    ...object,
  },
  "call-endless": {
    loop: "Dieser Sprung läuft endlos im Kreis: seit dem letzten Mal hat sich nichts geändert",
    rounds: "Diese Schleife wurde {rounds} Mal durchlaufen und endet nicht; was folgt, wurde nicht angesehen",
    depth: "Aufrufe in Aufrufen, {depth} tief: O{program} würde ohne Ende aufgerufen",
    steps: "Das Programm hat {steps} Sätze ausgeführt und endet nicht; was folgt, wurde nicht angesehen",
  },
  "call-target": {
    missing: "Das Programm O{program} wird aufgerufen und ist nicht da",
    "label-missing": "Einen Satz N{label} gibt es in diesem Programm nicht",
    twice: "Das Programm O{program} steht hier ein zweites Mal: welches aufgerufen wird, hängt von der Steuerung ab",
    "label-twice": "N{label} steht hier ein zweites Mal: welcher Satz gemeint ist, hängt davon ab, wo die Suche beginnt",
    "no-program": "{code} ohne P sagt nicht, was aufzurufen ist",
    ends: "Das Programm endet hier, an der Maschine, obwohl O{program} aufgerufen wurde: M99 kehrt zurück",
    "related.call": "Hier wird es aufgerufen",
    "related.jump": "Hier steht der Sprung",
    "related.first": "Hier steht der erste",
    "fix.return": "M99 schreiben, das zurückkehrt",
  },
  "clamp-cut": {
    default: "{station}: {tool} schneidet auf dem Weg nach {to} {depth} tief in „{solid}“; Bahn oder Tiefe ändern",
    machinable: "{station}: {tool} schneidet auf dem Weg nach {to} {depth} tief in „{solid}“; die Backe ist als bearbeitbar gekennzeichnet",
    ...object,
  },
  "clamp-near": {
    default:
      "{station}: {tool} fährt auf dem Weg nach {to} im Abstand {distance} an „{solid}“ vorbei; im Vorschub sind {clearance} einzuhalten",
    ...object,
  },
  "clamp-rapid": {
    default: "{station}: {tool} fährt im Eilgang nach {to} {depth} tief in „{solid}“; zuerst Z anheben oder außen herum fahren",
    near: "{station}: {tool} fährt im Eilgang nach {to} im Abstand {distance} an „{solid}“ vorbei; im Eilgang sind {clearance} einzuhalten",
    ...object,
  },
  "code-unknown": {
    code: "{code} ist in diesem Dialekt nicht bekannt: was davon abhängt, ist von hier an unbekannt",
    "related.also": "{code} auch hier",
  },
  "compensation-left": {
    default:
      "{code} wirkt noch, wenn sich etwas ändert ({what}): die Steuerung korrigiert den Weg dorthin, als gehörte er zur Kontur; zuerst G40 auf einem Wegfahrsatz",
    "related.on": "{code} wurde hier eingeschaltet",
    "related.again": "auch hier",
  },
  "cycle-left": {
    default: "{cycle} wirkt noch, wenn {offset} angewählt wird: der nächste Satz mit einem Achswort bohrt ein Loch; vorher G80 schreiben",
    plain:
      "{cycle} wirkt noch: dieser Satz ist als einfache Bewegung gemeint, die Steuerung nimmt ihn als weiteres Loch; vorher G80 schreiben",
    tool: "{cycle} des vorigen Werkzeugs wirkt noch: dieser Satz bohrt ein Loch mit dem neuen Werkzeug; vor dem Werkzeugwechsel G80 schreiben",
    "related.cycle": "{cycle} wurde hier eingeschaltet",
    "related.again": "auch hier",
    "fix.cancel": "Zuerst den Zyklus abwählen (G80)",
  },
  "feed-unset": {
    default:
      "{tool} schneidet hier, aber es ist kein F gesetzt: die Steuerung hält an oder nimmt einen Vorschub, der von einem anderen Auftrag übrig ist",
    mode: "{tool} schneidet hier, aber seit {code} ist kein F gesetzt: die Zahl von vorher bedeutet jetzt etwas anderes",
    zero: "{tool} schneidet hier mit F0: die Steuerung hält an und wartet",
    spindle: "{tool} schneidet hier mit stehender Spindel: sie wurde nicht eingeschaltet seit {since}",
    speed: "{tool} schneidet hier mit S0",
  },
  "fixture-format": {
    default: "die Vorrichtungsdatei ist hier nicht zu verstehen",
    "broken-json": "kein JSON: {what}",
    "too-deep": "für eine Vorrichtungsdatei zu tief geschachtelt",
    empty: "die Vorrichtungsdatei ist leer",
    unreadable: "die Vorrichtungsdatei {name} kann nicht gelesen werden",
    "duplicate-key": "{name} steht zweimal in einem Objekt; das letzte gilt",
    "unknown-key": "{name} ist kein Schlüssel von {path}; am nächsten kommt {nearest}",
    "unknown-key-none": "{name} ist kein Schlüssel von {path}",
    "wrong-type": "{path} muss {expected} sein, nicht {found}",
    "wrong-value": "{path} muss eines von {expected} sein, nicht {found}",
    "too-small": "{path} muss {bound} sein, nicht {found}",
    "too-large": "{path} muss {bound} sein, nicht {found}",
    "wrong-count": "{path} muss {expected} Werte haben",
    "wrong-key": "{name} kann kein Schlüssel von {path} sein: {expected}",
    "wrong-text": "{path} ist nicht so geschrieben, wie es sein muss: {found}",
    "missing-key": "{path} braucht {name}",
    "missing-reference": "es gibt hier nichts der Art „{kind}“ mit dem Namen {name}; am nächsten kommt {nearest}",
    "missing-reference-none": "es gibt hier nichts der Art „{kind}“ mit dem Namen {name}",
    "include-missing": "die eingebundene Datei {name} kann nicht gelesen werden",
    "include-cycle": "{name} bindet sich selbst ein: {chain}",
    "offset-unknown": "{name} ist keine Nullpunktverschiebung des Dialekts {dialect}",
    "offset-twice": "{name} und {other} sind dieselbe Nullpunktverschiebung",
    "series-past-end":
      "{name} und die folgenden Verschiebungen enden im Dialekt {dialect} vor der Station {station}, Nummer {count} der Wiederholung",
    "dialect-unknown": "es gibt keinen Dialekt {name}; am nächsten kommt {nearest}",
    dialect: "Dialekt: {what}",
    "duplicate-id": "zwei Stationen heißen {name}",
    "too-many": "{path} ergibt {count} Stationen; höchstens {most} sind möglich",
    "range-reversed": "{path} endet, bevor es beginnt",
    "offset-file-missing": "die Datei der Nullpunktverschiebungen {name} kann nicht gelesen werden",
    "offset-file-syntax": "diese Zeile der Datei der Nullpunktverschiebungen ist nicht zu lesen",
    "offset-file-register": "G10 L{l} P{p} benennt keine Nullpunktverschiebung dieses Dialekts",
    "offset-file-value": "der Wert von {letter} in der Datei der Nullpunktverschiebungen ist keine einfache Zahl",
    "offset-file-incremental": "{letter} wird unter G91 zu einem Wert addiert, den die Datei der Nullpunktverschiebungen nicht nennt",
    "rule-unknown": "{name} ist keine Regel; am nächsten kommt {nearest}",
    "discover-missing": "die Vorrichtungsdatei {name}, die dieser Kommentar nennt, ist nicht da",
    "discover-several":
      "mehrere Vorrichtungsdateien stehen nebeneinander, und keine wird genommen: {files}; eine in einem Kommentar (FIXTURE: …) nennen",
    "related.other": "die andere",
    "related.first": "zuerst hier",
    "related.named": "hier genannt",
  },
  "fixture-grip": {
    default: "{stations}: die niedrigste Backe greift {grip} des Rohteils, {standing} stehen darüber",
    short: "{stations}: das Rohteil beginnt {distance} über der niedrigsten Backe und ist nicht gespannt",
    beside: "{stations}: das Rohteil steht neben den Backen und ist nicht gespannt",
    ...other,
  },
  "fixture-notch": {
    default:
      "{stations}: Raste {notch} öffnet {gap} bei einem Rohteil von {stock} ± {tolerance}, ein Spannhub von {travel}; möglich: {valid}, am besten {best}",
    none: "{stations}: keine Raste von {jaw} spannt ein Rohteil von {stock} ± {tolerance}; Raste {notch} öffnet {gap}",
    "none-unset": "{stations}: keine Raste von {jaw} spannt ein Rohteil von {stock} ± {tolerance}",
    "no-such":
      "{stations}: {jaw} hat keine Raste {notch}, es gibt 0 bis {last}; für ein Rohteil von {stock} ± {tolerance} möglich: {valid}, am besten {best}",
    "no-such-none":
      "{stations}: {jaw} hat keine Raste {notch}, es gibt 0 bis {last}, und keine davon spannt ein Rohteil von {stock} ± {tolerance}",
    "related.jaw": "die bewegliche Spannbacke",
    ...other,
  },
  "fixture-off-grid": {
    default: "{stations}: der Rasterpunkt [{column}, {row}] liegt nicht auf dem Grundkörper {base}, der {columns} × {rows} hat",
    between: "{stations}: [{column}, {row}] liegt zwischen den Rasterpunkten des Grundkörpers {base}",
    jaw: "{stations}: „{jaw}“ steht {distance} über den Rand des Grundkörpers {base} hinaus",
    "related.base": "der Grundkörper",
    "related.jaw": "die Backe",
  },
  "fixture-overlap": {
    default: "{first} und {second} treffen sich: {solids}, {depth} tief",
    open: "die geöffnete bewegliche Spannbacke von {first} reicht in „{solid}“ von {second}, {depth} tief",
    loading:
      "kein Platz zum Einlegen von {first}: das Rohteil kommt an „{solid}“ von {second} auf {distance} heran, weniger als die {loading}, die das Einlegen braucht",
    "loading-meets": "kein Platz zum Einlegen von {first}: das Rohteil, gerade nach oben gehoben, trifft „{solid}“ von {second}",
    "related.other": station,
    "related.more": "dasselbe bei {first} und {second}",
  },
  "fixture-register-shared": {
    default: "{offset} gehört zu den Stationen {stations}: ein Register kann nicht zwei Positionen halten",
    datum: "{offset} gehört zu den Stationen {stations} und ist auch als Bezugspunkt angegeben",
    "related.other": "{station} benutzt sie auch",
    "related.datum": "hier als Bezugspunkt angegeben",
  },
  "fixture-reversible": {
    default: "{stations}: {part} {op} passt verkehrt herum in seine Aufnahme, und nichts verhindert es; auf das Einrichteblatt setzen",
    "stop-alike":
      "{stations}: {part} {op} passt verkehrt herum in seine Aufnahme, und beide Enden treffen den Anschlag gleich; auf das Einrichteblatt setzen",
    "related.op": "hier als nicht umkehrbar angegeben",
    ...other,
  },
  "fixture-travel": {
    default: "{stations}: der Werkstücknullpunkt bei {axis} {position} liegt {distance} außerhalb des Verfahrwegs {low} … {high}",
    height:
      "{stations}: mit {tool} am Werkstücknullpunkt steht die Spindel auf Z {position}, {distance} außerhalb des Verfahrwegs {low} … {high}",
    rotary: "Grundkörper {base}: seine Fläche bei {angle} liegt außerhalb des Verfahrwegs {low} … {high} der Rundachse",
    "related.travel": "der Verfahrweg",
    ...other,
  },
  "fixture-zero-mixed": {
    default: "{stations}: der Werkstücknullpunkt von {part} {op} ist {axis} {kind}, bei {others} ist er {other}",
    ops: "{part}: der Werkstücknullpunkt von {op} ist w {kind}, der von {otherOp} ist {other}",
    "related.other": "{other} hier",
  },
  "holder-reach": {
    default: "{station}: {tool} fährt auf dem Weg nach {to} {depth} tief in „{solid}“; das Werkzeug braucht mehr Ausspannlänge",
    ...object,
  },
  "incremental-left": {
    default:
      "G91 von der Referenzpunktfahrt wirkt noch: {tool} fährt um diese Beträge von dort, wo es steht, nicht auf diese Werte; G90 schreiben",
    "related.set": "G91 wurde für diese Referenzpunktfahrt gesetzt",
    "related.again": "auch hier",
    "fix.absolute": "G90 einfügen",
  },
  "index-combined": {
    default:
      "das Werkstück dreht auf {angle}, während {tool} fährt, und „{solid}“ schwenkt hinein; in einem eigenen Satz nach dem Rückzug drehen",
    near: "das Werkstück dreht auf {angle}, während {tool} fährt, und „{solid}“ schwenkt im Abstand {distance} daran vorbei, wo {clearance} einzuhalten sind; in einem eigenen Satz nach dem Rückzug drehen",
    "related.before": "die letzte Bewegung lässt das Werkzeug hier stehen",
    "related.also-at": also,
    "fix.retract": "Vor dem Drehen auf {level} zurückziehen",
    "fix.turn-after": "In einem eigenen Satz hinter diesem drehen: {word}",
    "fix.turn-before": "In einem eigenen Satz vor diesem drehen: {word}",
    "what.index": "das Schwenken des Werkstücks in Zeile {line}",
  },
  "length-mismatch": {
    default: "H{h} ist kein Längenregister von T{tool}; dieses hat {own}",
    other: "H{h} gehört zu T{owner}; T{tool} in der Spindel hat {own}",
    convention: "H{h} mit T{tool} in der Spindel, während jedes andere Werkzeug dieses Programms das H seiner eigenen Nummer hat",
    "related.more": "noch einmal H{h}",
    "related.tool": "das Werkzeug",
    "fix.own": "H{own} schreiben",
  },
  "length-missing": {
    default:
      "T{tool} arbeitet ohne Werkzeuglängenkorrektur: seit dem Werkzeugwechsel kein G43, also wird die Spindelnase selbst auf diese Höhen geschickt",
    zero: "T{tool} arbeitet unter H0, das keine Länge ist: die Spindelnase selbst wird auf diese Höhen geschickt",
    "fix.own": "H{h} schreiben",
    stale: "T{tool} arbeitet unter H{h} des vorigen Werkzeugs: seit dem Werkzeugwechsel kein G43",
    "what.length": "die Werkzeuglängenkorrektur von T{tool}",
    "why.never": "das Programm benutzt G43 nirgends, und ohne Vorrichtungsdatei ist nicht bekannt, ob die Steuerung von selbst korrigiert",
    "why.called": "nach dem Werkzeugwechsel wird ein Programm aufgerufen, das nicht hier ist und sie setzen kann",
    "related.change": "der Werkzeugwechsel",
    "related.cut": "der erste Schnitt ohne sie",
    "fix.add": "G43 H{h} einfügen",
  },
  "machine-move-once": {
    default: "G53 gilt nur für einen Satz: dieses {axis}{value} ist eine Koordinate der Nullpunktverschiebung, nicht der Maschine",
    "related.machine": "die Maschinenkoordinate des Satzes davor",
    "fix.repeat": "G53 einfügen",
  },
  "neighbour-cut": {
    default: "{station}: {tool} schneidet auf dem Weg nach {to} {depth} tief in „{solid}“; Verschiebung und Bahn prüfen",
    ...object,
  },
  "offset-incremental": {
    default: "G91 wirkt, daher addiert die Steuerung diese Werte zum Inhalt des Registers {register}, statt ihn zu setzen",
    "related.mode": "G91 wird hier gesetzt",
    "related.more": "auch {register}",
    "fix.absolute": "G90 in diesen Satz schreiben",
  },
  "offset-inherited": {
    default:
      "T{tool} beginnt unter {offset} nur, weil das vorige Werkzeug dort aufhörte: seit dem Wechsel wählt kein Satz eine Nullpunktverschiebung an",
    station:
      "T{tool} beginnt an {station} unter {offset} nur, weil das vorige Werkzeug dort aufhörte: seit dem Wechsel wählt kein Satz eine Nullpunktverschiebung an",
    "related.stated": "{offset} wurde hier angewählt",
    "related.motion": "erste Bewegung von T{tool}",
    "fix.restate": "{offset} noch einmal anwählen, was keine Bewegung ändert",
  },
  "offset-missing-axis": {
    default: "{offset} bekommt hier kein {axis}, die anderen Register schon: es behält, was der letzte Auftrag darin ließ",
    "related.given": "{offset} gibt {axis} an",
    "fix.add": "{word} einfügen, den berechneten Wert",
  },
  "offset-register": {
    default: "G10 L{l} P{p} ist kein Register dieses Dialekts",
    "out-of-range": "L{l} P{p} ist keine Nullpunktverschiebung dieses Dialekts: zusätzliche Verschiebungen schreibt L20",
    "other-kind": "L{l} P{p} schreibt {register}, das zu keiner Station gehört; {wanted} schreibt L{right}",
    comment: "der Kommentar sagt {wanted}, aber L{l} P{p} schreibt {register}",
    order: "{register} wird ein zweites Mal geschrieben, wo in der Reihenfolge dieser Sätze {wanted} käme",
    "related.before": "{register} wird hier geschrieben",
    "fix.register": "L{l} P{p} schreiben ({offset})",
  },
  "offset-series": {
    default: "das Programm benutzt {used}, die Stationen haben {wanted}: die ganze Reihe ist um ein Register verschoben",
    "related.more": "{offset}",
    "fix.shift": "Jede Verschiebung der Reihe um ein Register verschieben",
  },
  "offset-unmapped": {
    default:
      "keine Station benutzt {offset}, und es ist kein angegebener Bezugspunkt: was der Satz dort schneidet, weiß die Vorrichtungsdatei nicht",
    initial: "noch ist keine Nullpunktverschiebung angewählt; {offset} wirkt von Anfang an, und keine Station benutzt sie",
    "absent-p": "{code} braucht ein P-Wort, das sagt, welche zusätzliche Nullpunktverschiebung gemeint ist",
    "out-of-range": "{code} P{p}: eine solche Nullpunktverschiebung hat der Dialekt nicht",
    "related.again": "noch einmal {offset}",
    "fix.station": "{offset} anwählen, Station {station}",
  },
  "offset-value-overwritten": {
    default: "{offset} trägt eine Feinkorrektur von {trim} in {axis}; dieser Satz schreibt den Wert ohne sie, also geht sie verloren",
    "related.trim": "die Feinkorrektur",
    "fix.add": "Feinkorrektur hinzufügen: {word}",
  },
  "offset-value": offsetValues(),
  "point-missing": {
    default: "{word} hat keinen Dezimalpunkt, daher liest diese Steuerung {read}",
    "related.more": "{word} wird als {read} gelesen",
    "fix.point": "{text} schreiben",
  },
  "retract-before-index": {
    default: "beim Drehen auf {angle} schwenkt „{solid}“ in {tool}; vor dem Drehen Z zurückziehen",
    near: "beim Drehen auf {angle} schwenkt „{solid}“ im Abstand {distance} an {tool} vorbei, wo {clearance} einzuhalten sind; vor dem Drehen Z zurückziehen",
    "related.before": "die letzte Bewegung lässt das Werkzeug hier stehen",
    "related.also-at": also,
    "fix.retract": "Vor dem Drehen auf {level} zurückziehen",
    "fix.turn-after": "In einem eigenen Satz hinter diesem drehen: {word}",
    "fix.turn-before": "In einem eigenen Satz vor diesem drehen: {word}",
    "what.index": "das Schwenken des Werkstücks in Zeile {line}",
  },
  "retract-before-offset": {
    default:
      "auf dem Weg von {from} nach {station} bleibt {tool} auf Z{level} und fährt {depth} tief in „{solid}“; Z anheben, bevor die Verschiebung wechselt",
    near: "auf dem Weg von {from} nach {station} bleibt {tool} auf Z{level} und fährt im Abstand {distance} an „{solid}“ vorbei; im Eilgang sind {clearance} einzuhalten: Z anheben, bevor die Verschiebung wechselt",
    "related.left": "die letzte Bewegung an {from} lässt das Werkzeug auf Z{level}",
    "related.across": "diese Bewegung fährt quer",
    "fix.raise": "Auf {level} anheben, bevor die Verschiebung wechselt",
    ...object,
  },
  "retract-return-level": {
    default: "{station}: vom letzten Loch nach {to} bleibt {tool} auf Z{level} ({return}) und fährt {depth} tief in „{solid}“; {advice}",
    near: "{station}: vom letzten Loch nach {to} bleibt {tool} auf Z{level} ({return}) und fährt im Abstand {distance} an „{solid}“ vorbei, wo {clearance} einzuhalten sind; {advice}",
    "related.cycle": "der Zyklus kehrt hier auf Z{level} zurück ({return})",
    "fix.higher": "Den Zyklus auf {level} beginnen, wohin er zurückkehrt (G98)",
    "fix.initial": "Auf die Ausgangsebene zurückkehren (G98)",
    ...object,
  },
  "return-through-point": {
    default:
      "im Absolutmaß fährt die Referenzpunktfahrt zuerst zum genannten Punkt: {tool} geht {down} nach unten auf {axis}{level}, bevor es zum Referenzpunkt fährt; G91 {code} {axis}0 und danach G90 schreiben",
    solid:
      "im Absolutmaß fährt die Referenzpunktfahrt zuerst zum genannten Punkt: auf diesem Weg kommt {tool} an „{solid}“ von {station}; G91 {code} und danach G90 schreiben",
    "related.also-at": also,
    "fix.incremental": "Ohne Zwischenpunkt zurückfahren (G91), danach G90",
  },
  "shift-everywhere": {
    default:
      "G92 {axes} verschiebt alle Nullpunktverschiebungen auf einmal, auch die aller Stationen, und bleibt nach dem Programmende: stattdessen die Verschiebung der Station schreiben",
    "fix.remove": "G92 herausnehmen, damit {offset} gilt, wie sie steht",
    "related.offset": "{offset} wird hier angewählt",
    "related.again": "noch einmal G92",
  },
  "shift-left": {
    default: "{offset} wird angewählt, während G52 {shift} noch wirkt: an der neuen Station liegt alles um so viel daneben",
    "related.shift": "G52 wurde hier gesetzt",
    "related.again": "auch {offset}",
    "fix.zero": "Zuerst die Verschiebung auf null setzen (G52 X0 Y0 Z0)",
  },
  "skip-partial": {
    default:
      "mit Satzausblendung wird {offset} hier nicht angewählt, Zeile {line} fährt aber trotzdem, unter {instead}: auch jenen Satz ausblenden oder diesen nie",
    tool: "mit Satzausblendung wird {tool} hier nicht eingewechselt, Zeile {line} fährt aber trotzdem, mit {instead}: auch jenen Satz ausblenden oder diesen nie",
    "fix.skip": "Auch die Zeilen {first} bis {last} mit {slash} ausblenden",
    "fix.skip-one": "Auch Zeile {first} mit {slash} ausblenden",
    "related.relies": "dieser Satz wird nicht ausgeblendet",
  },
  "state-incomplete": {
    default: "einem Wiedereinstieg bei {tool} fehlt {missing}: kein Satz vom Werkzeugwechsel bis zum ersten Schnitt sagt es",
    "related.again": "auch {tool}, es fehlt {missing}",
    "fix.line": "Die Zustandszeile {line} einfügen, die wiederholt, was wirkt",
  },
  "station-count": {
    default: "diese Schleife führt {tool} zu {count} Stationen, für {part} {op} gibt es aber {wanted}: {what}",
    repeat: "diese Wiederholung führt {tool} zu {count} Stationen, für {part} {op} gibt es aber {wanted}: {what}",
    "fix.repeat": "{wanted} Mal wiederholen",
  },
  "station-drift": {
    default:
      "{station}: hier {word} für {tool}, aber {wanted} an derselben Stelle der Bahn an {count} Schwesterstationen: eine Abschrift wurde geändert, die anderen nicht",
    "related.sibling": "derselbe Satz an {sibling}",
    "fix.word": "{wanted} schreiben, wie die anderen es haben",
  },
  "station-outside-part": {
    default:
      "{tool} schneidet unter der Verschiebung von {station}, aber {own} neben deren Rohteil und {distance} neben dem von {neighbour}: {offset} anwählen, wenn {neighbour} gemeint ist",
    "related.offset": "die Verschiebung von {station} wurde hier angewählt",
    "related.also-at": alsoAt,
    "fix.offset": "{offset} anwählen, Station {neighbour}",
  },
  "station-repeated": {
    default: "{station} wird von {tool} mit derselben Bahn ein zweites Mal bearbeitet, und {missing} gar nicht: hier {offset} anwählen",
    again:
      "{tool} fährt dieselbe Bahn an {station} ein zweites Mal, an den Schwesterstationen nicht: das zweite Mal ist zu viel oder gehört zu einer anderen Station",
    "related.first": "das erste Mal",
    "related.also-at": alsoAt,
    "fix.offset": "{offset} anwählen, Station {missing}",
  },
  "station-skipped": {
    default: "{tool} besucht {visited} von {count} Stationen für {part} {op} und lässt {missing} aus: dieser Besuch fehlt hier",
    all: "kein Werkzeug besucht {missing}, obwohl {visited} von {count} Stationen für {part} {op} bearbeitet werden; als leer kennzeichnen, wenn nicht bestückt",
    "related.sibling": "der Besuch von {station}",
    "related.tool": "auch {tool} lässt {missing} aus",
    "fix.visit": "Den Besuch von {station} einfügen, abgeschrieben von {like}",
  },
  "station-wrong-face": {
    default:
      "{station} steht auf der Fläche bei {face}, die Rundachse aber auf {angle}: {tool} arbeitet an einer anderen Seite des Grundkörpers; zuerst auf {face} drehen",
    "fix.angle": "Auf {face} drehen",
    "related.index": "die Rundachse wurde hier gedreht",
    "related.also-at": alsoAt,
    "what.face": "ob {station} dem Werkzeug zugewandt ist",
  },
  "station-wrong-op": {
    default:
      "{station} trägt {part} {op}, aber {tool} fährt dort {what}, das zu den Stationen von {otherPart} {otherOp} gehört; die Schwesterstationen fahren {instead}",
    "related.sibling": "{sibling} fährt hier {what}",
    "related.also-at": alsoAt,
    "fix.call": "{instead} aufrufen",
  },
  "stock-rapid": {
    default: "{station}: {tool} fährt im Eilgang nach {to} {depth} tief in das Rohteil; dort wurde vorher nichts geschnitten",
    ...object,
  },
  "sub-leaves-state": {
    default:
      "{program} beginnt in {before} und endet in {after}, und Zeile {line} des Aufrufers macht darin weiter, ohne {before} zu sagen",
    "related.set": "{after} wird hier gesetzt",
    "related.relies": "dieser Satz verlässt sich auf {before}",
    "fix.restore": "{before} vor dem Rücksprung schreiben",
  },
  syntax: {
    "unknown-text": "„{text}“ ist hier kein Teil eines Satzes: Wörter sind ein Buchstabe und eine Zahl, etwa X12.5",
    "number-alone": "Vor der Zahl {text} steht kein Buchstabe",
    "number-missing": "Hinter {text} steht keine Zahl",
    "number-points": "„{text}“ hat mehr als einen Dezimalpunkt",
    "number-sign": "„{text}“ hat mehr als ein Vorzeichen",
    "letter-o": "„{text}“ ist mit dem Buchstaben O geschrieben, wo eine Null gemeint ist: {meant}",
    "letter-unknown": "Der Buchstabe {text} ist kein Wort dieses Dialekts",
    "operator-outside": "„{text}“ ist Rechnung außerhalb von Klammern: als [ … ] schreiben",
    "assignment-form": "„{text}“ weist etwas zu, das keine Variable dieses Dialekts ist",
    "assignment-expected": "{text} steht allein: ein Wert wird mit #… = … zugewiesen",
    "assignment-value": "Hinter dem = von „{text}“ folgt nichts, das zugewiesen werden kann",
    "variables-none": "„{text}“ ist eine Variable, und dieser Dialekt hat keine",
    "variable-named": "„{text}“ ist eine Variable mit Namen; dieser Dialekt nummeriert seine Variablen",
    "variable-index": "Die Variablennummer in „{text}“ fehlt",
    "variable-range": "Eine Variable #{index} gibt es nicht: ganze Zahlen von {from} bis {to} gibt es",
    "variable-zero": "#0 ist immer leer und kann nicht zugewiesen werden",
    "bracket-open": "Eine [ von „{text}“ ist nicht geschlossen",
    "bracket-close": "Hier steht eine ] ohne ihre [",
    "bracket-needed": "„{text}“ braucht seinen Wert in Klammern, etwa {name}[30]",
    "atan-pair": "ATAN braucht hier zwei Werte: ATAN[…]/[…]",
    "value-expected": "In „{text}“ fehlt ein Wert",
    "paren-in-expression": "Runde Klammern enthalten Kommentare; Rechnungen werden mit [ ] gegliedert",
    "expression-size": "Dieser Ausdruck ist zu lang zum Lesen",
    "comment-nested": "Ein Kommentar im Kommentar: er endet an der ersten )",
    "comment-open": "Der Kommentar ist in seiner Zeile nicht geschlossen",
    "paren-close": "Hier steht eine ) ohne ihre (",
    "percent-inside": "% steht in einem Satz; es gehört in eine eigene Zeile",
    "percent-text": "Text hinter %; hier muss es allein in seiner Zeile stehen",
    "skip-inside": "/ steht im Satz; es gehört an seinen Anfang",
    "label-form": "„{text}“ ist keine Satznummer: N nimmt eine ganze Zahl ohne Vorzeichen und Punkt",
    "label-long": "„{text}“ ist als Satznummer zu lang: höchstens fünf Ziffern",
    "label-late": "Die Satznummer {text} gehört an den Anfang des Satzes",
    "program-form": "„{text}“ ist keine Programmnummer: O nimmt eine ganze Zahl",
    "program-late": "Die Programmnummer {text} gehört an den Anfang des Satzes",
    "flow-by-o": "„{text}“ ist Ablaufsteuerung mit O-Wörtern, die dieser Dialekt nicht hat",
    "flow-none": "„{text}“ ist Ablaufsteuerung, die dieser Dialekt nicht hat",
    "if-incomplete": "IF braucht GOTO oder THEN hinter seiner Bedingung",
    "while-incomplete": "WHILE braucht DO und eine Schleifennummer hinter seiner Bedingung",
    "condition-missing": "{text} braucht eine Bedingung in Klammern",
    "goto-target": "GOTO braucht die Satznummer, zu der es geht",
    "loop-number": "{text} braucht eine Schleifennummer von 1 bis {to}",
    "control-twice": "Eine zweite Anweisung der Ablaufsteuerung in einer Zeile: {text}",
    "line-long": "Die Zeile hat {length} Zeichen; {limit} sind erlaubt",
    "percent-end-missing": "Die Datei beginnt mit % und endet nicht damit",
    "end-missing": "Das Programm endet ohne M02, M30 oder %",
    "group-conflict": "{first} und {second} schließen sich in einem Satz aus",
    "axes-conflict": "{first} und {second} beanspruchen beide die Achswörter des Satzes",
    "letter-repeated": "Das Wort {letter} steht zweimal in einem Satz",
    "m-words": "{count} M-Wörter in einem Satz; {limit} sind erlaubt",
    "axes-with-g80": "G80 nimmt keine Achswörter",
    "axes-missing": "{code} ohne Achswort",
    "arc-mixed": "Ein Kreisbogen nimmt seinen Mittelpunkt oder seinen Radius R, nicht beides",
    "word-whole": "{letter}{value}: eine ganze Zahl wird erwartet",
    "word-range": "{letter}{value} liegt außerhalb des Bereichs: erlaubt ist {from} bis {to}",
    "word-negative": "{letter}{value} darf nicht negativ sein",
    "word-positive": "{letter}{value} muss größer als null sein",
    "word-needed": "{code} ohne sein {letter}-Wort",
    "word-stray": "{letter} ohne einen Code, der es benutzt ({codes})",
    "register-kind": "G10 L{value}: dieser Dialekt hat nur L2",
    "divide-zero": "Division durch null in „{name}“",
    "function-range": "{name} hat für {value} keinen Wert",
    "power-range": "{left} ** {right} hat keinen Wert",
    "operator-none": "Der Dialekt hat keinen Operator {name}",
    "axes-without-motion": "Achswörter, ohne dass ein Bewegungscode wirkt: G80 hat ihn aufgehoben",
    "machine-motion": "G53 braucht ein wirksames G00 oder G01",
    "arc-radii-differ":
      "Das Ende des Kreisbogens liegt nicht auf seinem Kreis: der Radius ist {radius} am Anfang und {endRadius} am Ende, das sind {difference} Unterschied; {tolerance} sind erlaubt",
    "arc-no-centre": "Der Kreisbogen hat weder einen Mittelpunkt (I, J, K seiner Ebene) noch einen Radius R",
    "arc-end-is-start": "Der Kreisbogen endet, wo er beginnt, und diese Form bedeutet hier keinen Vollkreis",
    "arc-radius-too-small":
      "Der Radius {radius} reicht nicht bis zum Ende des Kreisbogens in {chord} Entfernung: er müsste mindestens {least} sein",
    "arc-turns-not-whole": "Ein Kreisbogen von {turns} Umdrehungen: eine ganze Zahl ab 1 wird erwartet",
    "arc-scaled": "Ein Kreisbogen kann in seiner Ebene nicht mit verschiedenen Faktoren skaliert werden",
    "cycle-axes-missing": "{code} ohne Achswort",
    "cycle-not-a-cycle": "{code} ist kein Bohrzyklus",
    "cycle-z-missing": "{code} hat keine Tiefe: das Z-Wort fehlt, und von vorher ist keines gespeichert",
    "cycle-r-missing": "{code} hat keine R-Ebene: das R-Wort fehlt, und von vorher ist keines gespeichert",
    "cycle-r-below-z": "{code}: die R-Ebene {r} liegt unter der Tiefe {z}",
    "cycle-r-above-z": "{code} spindelt rückwärts: R {r} ist der Anfang unten und darf nicht über Z {z} liegen",
    "cycle-dwell-negative": "{code}: eine Verweilzeit P kann nicht negativ sein",
    "cycle-dwell-missing": "{code} braucht seine Verweilzeit P",
    "cycle-peck-missing": "{code} braucht die Zustelltiefe Q",
    "cycle-peck-not-positive": "{code}: mit einer Zustelltiefe Q von {q} wird die Tiefe nie erreicht",
    "cycle-shift-missing": "{code} braucht das Abheben von der Wand: Q, oder I und J",
    "cycle-k-missing": "{code} braucht K, die Höhe, bis zu der es spindelt",
    "cycle-spindle-not-clockwise": "{code}, ohne dass die Spindel rechts herum läuft",
    "cycle-spindle-stopped": "{code} bei stehender Spindel",
    "cycle-inverse-time": "{code}, während G93 wirkt",
    "cycle-compensation-active": "{code}, während die Fräserradiuskorrektur wirkt",
    "cycle-rotary-motion": "{code} mit Bewegung einer Rundachse",
    "cycle-repeats-not-positive": "{code}: {repeats} Wiederholungen; eine ganze Zahl ab 1 wird erwartet",
    "cycle-too-many-moves": "{code} ergäbe {moves} Bewegungen; mehr als {limit} werden nicht ausgerechnet",
    "compensation-concave-corner": "Innenecke unter Fräserradiuskorrektur, wo dieser Dialekt keine erlaubt",
    "compensation-cutter-gouges":
      "Das Werkzeug (Radius {radius}) passt nicht in diese Bahn: die Fräserradiuskorrektur schneidet in die Kontur",
    "compensation-radius-not-less-than-arc":
      "Das Werkzeug (Radius {radius}) passt unter Fräserradiuskorrektur nicht in diesen Kreisbogen vom Radius {arcRadius}",
    "compensation-entry-arc": "Die Fräserradiuskorrektur beginnt auf einem Kreisbogen, den das Werkzeug nicht berührt",
    "compensation-offset": "Die Nullpunktverschiebung oder der Achsnullpunkt wird geändert, während die Fräserradiuskorrektur wirkt",
    "compensation-reference": "{code}, während die Fräserradiuskorrektur wirkt",
    "compensation-plane": "Die Ebene wird gewechselt, während die Fräserradiuskorrektur wirkt",
    "compensation-units": "Die Maßeinheit wird gewechselt, während die Fräserradiuskorrektur wirkt",
    "compensation-again": "Die Fräserradiuskorrektur wirkt schon",
    "compensation-not-xy": "Fräserradiuskorrektur außerhalb der XY-Ebene",
    "feed-inverse-missing": "Unter G93 braucht jeder Satz mit G01, G02 oder G03 sein F-Wort",
    "loop-open": "Die Schleife {loop} beginnt hier und hat kein END{loop}",
    "loop-end": "END{loop} beendet keine Schleife: ihr WHILE oder DO fehlt",
  },
  "transform-left": {
    default: "{offset} wird angewählt, während {what} noch wirkt: die Bahn an der neuen Station wird dadurch gedreht oder verzerrt",
    "related.set": "{what} wurde hier eingeschaltet",
    "related.again": "auch {offset}",
    "fix.cancel": "Zuerst aufheben ({code})",
  },
  "travel-limit": {
    default: "{station}: {axis} der Spindel geht mit {tool} auf {value}, {over} über das Ende „{end}“ des Verfahrwegs hinaus ({limit})",
    rotary: "{station}: die Rundachse geht auf {value}, {over} über das Ende „{end}“ ihres Verfahrwegs hinaus ({limit})",
    ...object,
  },
  "units-unstated": {
    default: "vor der ersten Koordinate kein G20 oder G21: die Steuerung nimmt, was das letzte Programm hinterließ",
    mismatch: "das Programm ist in {stated}, die Vorrichtungsdatei in {wanted}",
    "related.stated": "hier angegeben",
    "fix.state": "{code} angeben",
  },
};

/** Words that the engine puts into arguments, and the arguments that hold them; a person's own names are never touched. */
const phrases: Texts = {
  "fixed jaw": "Spannbacke fest",
  "moving jaw": "Spannbacke beweglich",
  "end stop": "Anschlag",
  stock: "Rohteil",
  parallels: "Parallelunterlagen",
  base: "Grundkörper",
  obstacle: "Hindernis",
  part: "Werkstück",
  tool: "Werkzeug",
  element: "Element",
  "the tool in the spindle": "das Werkzeug in der Spindel",
  "the spindle without a tool": "die Spindel ohne Werkzeug",
  "the work offset": "die Nullpunktverschiebung",
  "the tool": "das Werkzeug",
  "the rotary angle": "der Winkel der Rundachse",
  "the path": "die Bahn",
  "the tool change": "dem Werkzeugwechsel",
  "it was stopped, or at all": "dem Anhalten, oder noch gar nicht",
  "the common shift": "die gemeinsame Verschiebung",
  "some are left out": "einige werden ausgelassen",
  "it goes on past the last": "sie läuft über die letzte hinaus",
  "G98, initial level": "G98, Ausgangsebene",
  "G99, R plane": "G99, R-Ebene",
  "begin the cycle higher": "den Zyklus höher beginnen",
  "return to the initial level with G98": "mit G98 auf die Ausgangsebene zurückkehren",
  "the rotation (G68)": "die Drehung (G68)",
  "the mirror image": "die Spiegelung",
  "the scaling (G51)": "die Skalierung (G51)",
  "the polar mode (G16)": "die Polarkoordinaten (G16)",
  offset: "Nullpunktverschiebung",
  "length (G43 H)": "Werkzeuglänge (G43 H)",
  "speed (S)": "Drehzahl (S)",
  upper: "oben",
  lower: "unten",
  "a number": "eine Zahl",
  "an object": "ein Objekt",
  "a list": "eine Liste",
  "a text": "ein Text",
  "true or false": "true oder false",
  "something else": "etwas anderes",
  "a tool number is expected": "eine Werkzeugnummer wird erwartet",
};

const spoken = new Set(
  "solid solids jaw tool what instead since register advice return end missing kind other expected bound found".split(" "),
);

/** German between and inside arguments. */
export const germanWords: Vocabulary = {
  and: "und",
  unknown: "unbekannt",
  unknownLength: "einer unbekannten Länge",
  unknownAngle: "einem unbekannten Winkel",
  unknownTime: "einer unbekannten Zeit",
  phrase(argument, text) {
    if (!spoken.has(argument)) return text;
    const whole = phrases[text];
    if (whole !== undefined) return whole;
    const tool = /^tool (\S+)( \(.*\))?$/.exec(text);
    if (tool !== null) return `Werkzeug ${tool[1]}${tool[2] ?? ""}`;
    const owned = /^(.+) of (\S+)$/.exec(text);
    if (owned !== null && phrases[owned[1] as string] !== undefined) return `${phrases[owned[1] as string]} von ${owned[2]}`;
    const bound = /^(more than|at least|less than|at most) (.*)$/.exec(text);
    if (bound !== null) return `${bounds[bound[1] as string]} ${bound[2]}`;
    return text.replace(/^plane \(/, "Ebene (");
  },
};

const bounds: Texts = { "more than": "größer als", "at least": "mindestens", "less than": "kleiner als", "at most": "höchstens" };
