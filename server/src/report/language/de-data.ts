/**
 * German for texts that the engine holds as data, by their English: meanings and groups of codes, descriptions of the sidecar's keys,
 * summaries of dialects and rules. Values of keys and words of programs stay as they are written.
 */
type Texts = Readonly<Record<string, string>>;

/** One line for each of some letters or numbers; "{}" is where it stands. */
function each(items: string, texts: Texts): Texts {
  return Object.fromEntries(
    [...items].flatMap((item) =>
      Object.entries(texts).map(([english, german]) => [english.replace("{}", item), german.replace("{}", item)]),
    ),
  );
}

const codes: Texts = {
  "Rapid positioning": "Eilgang",
  "Straight line at feed": "Gerade im Vorschub",
  "Arc clockwise, seen against the third axis of the plane": "Kreisbogen im Uhrzeigersinn, gegen die dritte Achse der Ebene gesehen",
  "Arc counter-clockwise, seen against the third axis of the plane":
    "Kreisbogen gegen den Uhrzeigersinn, gegen die dritte Achse der Ebene gesehen",
  "Dwell: P, X or U": "Verweilzeit: P, X oder U",
  "Exact stop, this block": "Genauhalt in diesem Satz",
  "Write data: work offsets (L2, L20), tool registers (L10 to L13)":
    "Daten schreiben: Nullpunktverschiebungen (L2, L20), Werkzeugregister (L10 bis L13)",
  "End of data input": "Ende der Dateneingabe",
  "Polar coordinates off": "Polarkoordinaten aus",
  "Polar coordinates: radius and angle": "Polarkoordinaten: Radius und Winkel",
  "Plane XY; arcs and compensation there, holes along Z": "Ebene XY; Kreisbögen und Radiuskorrektur darin, Löcher entlang Z",
  "Plane ZX; arcs and compensation there, holes along Y": "Ebene ZX; Kreisbögen und Radiuskorrektur darin, Löcher entlang Y",
  "Plane YZ; arcs and compensation there, holes along X": "Ebene YZ; Kreisbögen und Radiuskorrektur darin, Löcher entlang X",
  Inch: "Zoll",
  Millimetre: "Millimeter",
  "Return to the reference point through an intermediate point": "Zum Referenzpunkt über einen Zwischenpunkt",
  "Return to a further reference point (P2 to P4) through an intermediate point":
    "Zu einem weiteren Referenzpunkt (P2 bis P4) über einen Zwischenpunkt",
  "Feed until a skip signal: where it ends is not known here": "Vorschub bis zu einem Signal: wo er endet, ist hier nicht bekannt",
  "Cutter compensation off": "Fräserradiuskorrektur aus",
  "Cutter compensation, tool to the left of the path": "Fräserradiuskorrektur, Werkzeug links der Bahn",
  "Cutter compensation, tool to the right of the path": "Fräserradiuskorrektur, Werkzeug rechts der Bahn",
  "Tool length compensation H, added": "Werkzeuglängenkorrektur H, addiert",
  "Tool length compensation H, subtracted": "Werkzeuglängenkorrektur H, subtrahiert",
  "Tool length compensation off": "Werkzeuglängenkorrektur aus",
  "Scaling off": "Skalierung aus",
  "Scaling about a centre": "Skalierung um ein Zentrum",
  "Mirror image off": "Spiegelung aus",
  "Mirror image about the given positions": "Spiegelung an den genannten Positionen",
  "Local shift on top of every work offset": "Zusätzliche Verschiebung über jeder Nullpunktverschiebung",
  "Machine coordinates, this block": "Maschinenkoordinaten in diesem Satz",
  ...each("123456789", { "Work offset {}": "Nullpunktverschiebung {}" }),
  "Additional work offset P": "Zusätzliche Nullpunktverschiebung P",
  "Exact stop at the end of every block": "Genauhalt am Ende jedes Satzes",
  "Continuous path": "Bahnsteuerbetrieb",
  "Macro call with arguments": "Makroaufruf mit Argumenten",
  "Macro call after every motion until G67": "Makroaufruf nach jeder Bewegung bis G67",
  "End of the modal macro call": "Ende des modalen Makroaufrufs",
  "Rotate coordinates by R about X, Y": "Koordinaten um R drehen, Drehpunkt X, Y",
  "Rotation off": "Drehung aus",
  "Cycle: deep hole in steps of Q, chip broken in the hole": "Zyklus: Tieflochbohren in Zustellungen Q, Spanbruch im Loch",
  "Cycle: left-hand tap": "Zyklus: Linksgewinde bohren",
  "Cycle: fine bore; oriented stop, shift Q off the wall, rapid out":
    "Zyklus: Feinausdrehen; orientierter Halt, um Q von der Wand abheben, im Eilgang heraus",
  "Cycle off": "Zyklus aus",
  "Cycle: drill; feed to Z, rapid out": "Zyklus: Bohren; im Vorschub bis Z, im Eilgang heraus",
  "Cycle: drill with dwell P at the bottom": "Zyklus: Bohren mit Verweilzeit P am Grund",
  "Cycle: deep hole in steps of Q, out of the hole after each": "Zyklus: Tieflochbohren in Zustellungen Q, nach jeder aus dem Loch",
  "Cycle: tap; feed to Z, reverse, feed out": "Zyklus: Gewindebohren; im Vorschub bis Z, Drehsinn umkehren, im Vorschub heraus",
  "Cycle: bore; feed to Z, feed out": "Zyklus: Ausdrehen; im Vorschub bis Z, im Vorschub heraus",
  "Cycle: bore; feed to Z, stop the spindle, rapid out": "Zyklus: Ausdrehen; im Vorschub bis Z, Spindel halt, im Eilgang heraus",
  "Cycle: back boring from below": "Zyklus: Rückwärtsausdrehen von unten",
  "Cycle: bore; dwell, spindle stop, retract by hand": "Zyklus: Ausdrehen; Verweilzeit, Spindel halt, Rückzug von Hand",
  "Cycle: bore with dwell P at the bottom, feed out": "Zyklus: Ausdrehen mit Verweilzeit P am Grund, im Vorschub heraus",
  "Absolute positions": "Absolute Positionen",
  "Incremental distances": "Wege im Kettenmaß",
  "The present position is given new coordinates; or a limit of spindle speed with S":
    "Die gegenwärtige Position bekommt neue Koordinaten; oder mit S eine Grenze der Drehzahl",
  "Feed as the inverse of time": "Vorschub als Kehrwert der Zeit",
  "Feed per minute": "Vorschub je Minute",
  "Feed per revolution": "Vorschub je Umdrehung",
  "Constant surface speed: revolutions are not known here": "Konstante Schnittgeschwindigkeit: die Drehzahl ist hier nicht bekannt",
  "Constant revolutions": "Konstante Drehzahl",
  "Cycles return to the initial level": "Zyklen kehren auf die Ausgangsebene zurück",
  "Cycles return to the R plane": "Zyklen kehren auf die R-Ebene zurück",
  "Program stop": "Programmhalt",
  "Optional stop": "Wahlweiser Halt",
  "End of program": "Programmende",
  "End of program and rewind": "Programmende mit Rücksprung",
  "Spindle on, clockwise": "Spindel ein, rechts herum",
  "Spindle on, counter-clockwise": "Spindel ein, links herum",
  "Spindle stop": "Spindel halt",
  "Tool change": "Werkzeugwechsel",
  "Coolant on, second kind (mist)": "Kühlmittel ein, zweite Art (Nebel)",
  "Coolant on, first kind (flood)": "Kühlmittel ein, erste Art (Schwall)",
  "Coolant off": "Kühlmittel aus",
  "Clamp a rotary axis": "Rundachse klemmen",
  "Unclamp a rotary axis": "Rundachse lösen",
  "Spindle stop in its oriented position": "Orientierter Spindelhalt",
  "Rigid tapping": "Gewindebohren ohne Ausgleichsfutter",
  "Call of a label in this file": "Aufruf einer Satznummer in dieser Datei",
  "Call of a subprogram P, repeated L times": "Aufruf eines Unterprogramms P, L Mal",
  "Return from a subprogram; in a main program back to its beginning":
    "Rücksprung aus einem Unterprogramm; im Hauptprogramm zurück an seinen Anfang",
  "Straight probe: where it ends is not known here": "Tasten auf einer Geraden: wo es endet, ist hier nicht bekannt",
  "Motion mode off": "Bewegungsart abgewählt",
  "Tool length offset H": "Werkzeuglängenkorrektur H",
  "Tool length offset off": "Werkzeuglängenkorrektur aus",
  "Exact path": "Genaue Bahn",
  "Exact stop": "Genauhalt",
  "Dwell of P seconds": "Verweilzeit von P Sekunden",
  "Set the origin of work offset P (L2)": "Ursprung der Nullpunktverschiebung P setzen (L2)",
  "Through the programmed point to the first home position": "Über den programmierten Punkt zur ersten Grundstellung",
  "Through the programmed point to the second home position": "Über den programmierten Punkt zur zweiten Grundstellung",
  "The present position is given new coordinates": "Die gegenwärtige Position bekommt neue Koordinaten",
  "Axis offsets to zero, their parameters too": "Achsverschiebungen auf null, auch ihre Parameter",
  "Axis offsets to zero, their parameters kept": "Achsverschiebungen auf null, ihre Parameter bleiben",
  "Axis offsets from their parameters": "Achsverschiebungen aus ihren Parametern",
  "Speed and feed overrides enabled": "Korrekturschalter für Drehzahl und Vorschub wirksam",
  "Speed and feed overrides disabled": "Korrekturschalter für Drehzahl und Vorschub unwirksam",
  "Program stop with pallet change": "Programmhalt mit Palettenwechsel",
  Dwell: "Verweilzeit",
  Parabola: "Parabel",
  Accelerate: "Beschleunigen",
  Decelerate: "Verzögern",
  "Thread, constant lead": "Gewinde, gleichbleibende Steigung",
  "Thread, increasing lead": "Gewinde, zunehmende Steigung",
  "Thread, decreasing lead": "Gewinde, abnehmende Steigung",
  "Tool compensation off": "Werkzeugkorrektur aus",
  "Tool compensation, left": "Werkzeugkorrektur, links",
  "Tool compensation, right": "Werkzeugkorrektur, rechts",
  "Tool offset, positive": "Werkzeugverschiebung, positiv",
  "Tool offset, negative": "Werkzeugverschiebung, negativ",
  "Tool offset +/+": "Werkzeugverschiebung +/+",
  "Tool offset +/-": "Werkzeugverschiebung +/-",
  "Tool offset -/-": "Werkzeugverschiebung -/-",
  "Tool offset -/+": "Werkzeugverschiebung -/+",
  "Tool offset 0/+": "Werkzeugverschiebung 0/+",
  "Tool offset 0/-": "Werkzeugverschiebung 0/-",
  "Tool offset +/0": "Werkzeugverschiebung +/0",
  "Tool offset -/0": "Werkzeugverschiebung -/0",
  "Linear shift off": "Lineare Verschiebung aus",
  ...each("XYZ", { "Linear shift of {}": "Lineare Verschiebung von {}" }),
  "Linear shift of X and Y": "Lineare Verschiebung von X und Y",
  "Linear shift of X and Z": "Lineare Verschiebung von X und Z",
  "Linear shift of Y and Z": "Lineare Verschiebung von Y und Z",
  "Positioning, fine": "Positionieren, fein",
  "Positioning, medium": "Positionieren, mittel",
  "Positioning, coarse": "Positionieren, grob",
  Tapping: "Gewindebohren",
  "Fixed cycle off": "Fester Zyklus aus",
  ...each("123456789", { "Fixed cycle {}: its moves are the control's own": "Fester Zyklus {}: seine Bewegungen bestimmt die Steuerung" }),
  "Absolute dimensions": "Absolutmaße",
  "Incremental dimensions": "Kettenmaße",
  "Preload of registers: the present position is given new coordinates":
    "Register setzen: die gegenwärtige Position bekommt neue Koordinaten",
  Clamp: "Klemmen",
  Unclamp: "Lösen",
  "Spindle on clockwise, coolant on": "Spindel ein rechts herum, Kühlmittel ein",
  "Spindle on counter-clockwise, coolant on": "Spindel ein links herum, Kühlmittel ein",
  "Motion in the positive sense": "Bewegung in positiver Richtung",
  "Motion in the negative sense": "Bewegung in negativer Richtung",
  "Overrides enabled": "Korrekturschalter wirksam",
  "Overrides disabled": "Korrekturschalter unwirksam",
  "Workpiece change": "Werkstückwechsel",
};

/** Modal groups of codes. */
const groups: Texts = {
  motion: "Bewegung",
  polar: "Polarkoordinaten",
  plane: "Ebene",
  units: "Maßeinheit",
  compensation: "Radiuskorrektur",
  length: "Werkzeuglänge",
  scaling: "Skalierung",
  mirror: "Spiegelung",
  offset: "Nullpunktverschiebung",
  path: "Bahnverhalten",
  "modal-call": "modaler Aufruf",
  rotation: "Drehung",
  cycle: "Zyklus",
  distance: "Maßart",
  feed: "Vorschub",
  speed: "Drehzahl",
  return: "Rückzugsebene",
  stop: "Halt",
  spindle: "Spindel",
  change: "Werkzeugwechsel",
  coolant: "Kühlmittel",
  clamp: "Klemmung",
  tapping: "Gewindebohren",
  call: "Aufruf",
  override: "Korrekturschalter",
  "tool-offset": "Werkzeugverschiebung",
  sense: "Richtungssinn",
};

const dialects: Texts = {
  "ISO 6983 as milling machine controls commonly extend it": "ISO 6983, wie Steuerungen von Fräsmaschinen es gewöhnlich erweitern",
  "`iso` with G154 P1 to P99 as the additional work offsets": "`iso` mit G154 P1 bis P99 als zusätzlichen Nullpunktverschiebungen",
  "RS274/NGC as published in NISTIR 6556": "RS274/NGC, wie in NISTIR 6556 veröffentlicht",
  "only what ISO 6983-1 itself assigns": "nur, was ISO 6983-1 selbst zuordnet",
};

/** What the words of cycles and blocks hold (`ide/words.ts`). */
const words: Texts = {
  ...each("XY", { "{} of the hole": "{} des Lochs" }),
  "bottom of the hole; under G91 counted from R": "Grund des Lochs; unter G91 von R aus gezählt",
  "level to which the tool goes in rapid; under G91 counted from the initial level":
    "Ebene, bis zu der das Werkzeug im Eilgang fährt; unter G91 von der Ausgangsebene aus gezählt",
  "depth of one step": "Tiefe einer Zustellung",
  "dwell at the bottom": "Verweilzeit am Grund",
  "sideways shift at the bottom": "seitliches Abheben am Grund",
  "sideways shift": "seitliches Abheben",
  "number of holes, each a step further under G91": "Anzahl der Löcher, unter G91 jedes einen Schritt weiter",
  ...each("XYZ", { "position along {}": "Position entlang {}", "angle about {}": "Winkel um {}" }),
  ...each("XYZ", { "centre of the arc along {}, from its start": "Mittelpunkt des Kreisbogens entlang {}, von seinem Anfang aus" }),
  "radius of the arc": "Radius des Kreisbogens",
  "spindle speed": "Spindeldrehzahl",
};

const jaw = "von der Spannfläche der festen Spannbacke";

/** Descriptions of the sidecar's keys (`engine/fixture/schema.ts`). */
const keys: Texts = {
  "JSON Schema of this file, for editors.": "JSON-Schema dieser Datei, für Editoren.",
  "Format of this file: 1.": "Format dieser Datei: 1.",
  "Unit of every length in this file.": "Einheit aller Längen dieser Datei.",
  "File, counted from this one.": "Datei, von dieser aus gezählt.",
  "Shared elements, tools and machines: files of the same shape, any part of it. Later ones win over earlier ones, this file over all.":
    "Gemeinsame Elemente, Werkzeuge und Maschinen: Dateien derselben Form, jeder Teil davon. Spätere gelten vor früheren, diese Datei vor allen.",
  "Name of the machine, for lists and the setup sheet.": "Name der Maschine, für Listen und das Einrichteblatt.",
  'Name of a built-in control profile: "iso", "rs274ngc", "g154" or "bare".':
    'Name eines eingebauten Steuerungsprofils: "iso", "rs274ngc", "g154" oder "bare".',
  "Built-in dialect that this one starts from. Default: iso.": "Eingebauter Dialekt, von dem dieser ausgeht. Vorgabe: iso.",
  "What an axis word without a decimal point counts: whole units, or least increments.":
    "Was ein Achswort ohne Dezimalpunkt zählt: ganze Einheiten oder kleinste Schritte.",
  "Least increment, in the program's units (0.001).": "Kleinster Schritt, in der Einheit des Programms (0.001).",
  'A spelling, such as "G54.1 P1-P48".': 'Eine Schreibweise, etwa "G54.1 P1-P48".',
  'Code that selects the offset, such as "G54.1".': 'Code, der die Verschiebung anwählt, etwa "G54.1".',
  "Lowest and highest P. Absent: the code alone is the offset.": "Kleinstes und größtes P. Fehlt es: der Code allein ist die Verschiebung.",
  "Register that the code, or its P1, stands for.": "Register, für das der Code oder sein P1 steht.",
  "Spellings of the work offsets and their ranges of P.": "Schreibweisen der Nullpunktverschiebungen und ihre Bereiche von P.",
  "What G10 L20 does: sets an additional offset, or makes the current point read the value.":
    "Was G10 L20 tut: eine zusätzliche Verschiebung setzen, oder so verschieben, dass der gegenwärtige Punkt den Wert anzeigt.",
  "Which offsets G52 shifts.": "Welche Verschiebungen G52 betrifft.",
  "Where G83 goes between pecks: the R plane or the initial level.":
    "Wohin G83 zwischen den Zustellungen fährt: auf die R-Ebene oder die Ausgangsebene.",
  "Back-off of G73 and G83.": "Abstand, um den G73 und G83 zurücksetzen.",
  "Letters that repeat a canned cycle, such as L and K.": "Buchstaben, die einen Zyklus wiederholen, etwa L und K.",
  "Return level of a canned cycle until G98 or G99 is stated.": "Rückzugsebene eines Zyklus, bis G98 oder G99 genannt wird.",
  "An arc without end words is a full circle.": "Ein Kreisbogen ohne Endpunkt ist ein Vollkreis.",
  "M02 and M30 reset the modal state.": "M02 und M30 setzen die modalen Zustände zurück.",
  "What a whole number after G04 P counts.": "Was eine ganze Zahl nach G04 P zählt.",
  "M98 Pnnnnmmmm carries the repeats in its P word.": "M98 Pnnnnmmmm trägt die Wiederholungen in seinem P-Wort.",
  "Tool length is applied by G43 in the program, or by the control itself.":
    "Die Werkzeuglänge verrechnet G43 im Programm, oder die Steuerung selbst.",
  "G10 under G91 adds to what is stored.": "G10 unter G91 addiert zum gespeicherten Wert.",
  'How G00 travels: "straight" along one line, "independent" each axis at its own rate until it is done, "either" must be clear both ways. Default: either.':
    'Wie G00 fährt: "straight" auf einer Geraden, "independent" jede Achse mit eigener Geschwindigkeit bis an ihr Ziel, "either" muss auf beide Arten frei sein. Vorgabe: either.',
  "A control profile of your own: a built-in one with some of its features changed. The dialect page lists every feature.":
    "Ein eigenes Steuerungsprofil: ein eingebautes mit einigen geänderten Eigenschaften. Die Seite der Dialekte nennt alle Eigenschaften.",
  "Control profile: how programs are written for this machine. Default: iso.":
    "Steuerungsprofil: wie Programme für diese Maschine geschrieben werden. Vorgabe: iso.",
  ...each("XYZABC", {
    "Lower end of the {} travel.": "Unteres Ende des Verfahrwegs von {}.",
    "Upper end of the {} travel.": "Oberes Ende des Verfahrwegs von {}.",
  }),
  ...each("XYZ", {
    "Travel of the spindle gauge point along {}, machine frame: [lower, upper].":
      "Verfahrweg des Spindelbezugspunkts entlang {}, Maschinenkoordinaten: [unten, oben].",
    "Where a reference return (G28) ends, {}.": "Wo das Anfahren des Referenzpunkts (G28) endet, {}.",
    "Rapid rate of {}, units per minute.": "Eilganggeschwindigkeit von {}, Einheiten je Minute.",
    "Acceleration of {}, units per second².": "Beschleunigung von {}, Einheiten je s².",
    "Rotary centre, {}.": "Drehmittelpunkt, {}.",
    "Machine position of the tool point when it touches intersection [0,0] on the locating face, {}.":
      "Maschinenposition der Werkzeugspitze, wenn sie den Rasterpunkt [0,0] auf der Anlagefläche berührt, {}.",
    "Stored value, {}.": "Gespeicherter Wert, {}.",
    "First-article correction, {}.": "Korrektur vom Erstteil, {}.",
    "Common shift, {}.": "Gemeinsame Verschiebung, {}.",
    "Low {}.": "{} unten.",
    "High {}.": "{} oben.",
  }),
  ...each("ABC", {
    "Travel of the rotary axis {}, degrees: [lower, upper]. Absent: unlimited.":
      "Verfahrweg der Rundachse {}, Grad: [unten, oben]. Fehlt er: unbegrenzt.",
    "Rotary axis {}, degrees.": "Rundachse {}, Grad.",
    "Rapid rate of {}, degrees per minute.": "Eilganggeschwindigkeit von {}, Grad je Minute.",
    "Acceleration of {}, degrees per second².": "Beschleunigung von {}, Grad je s².",
  }),
  "Travel of the spindle gauge point, machine frame. Absent: limits are not checked.":
    "Verfahrweg des Spindelbezugspunkts, Maschinenkoordinaten. Fehlt er: die Grenzen werden nicht geprüft.",
  "The machine's rotary axis, degrees: the same as its letter.": "Die Rundachse der Maschine, Grad: dasselbe wie ihr Buchstabe.",
  "Where a reference return (G28) ends, spindle gauge point, machine frame.":
    "Wo das Anfahren des Referenzpunkts (G28) endet, Spindelbezugspunkt, Maschinenkoordinaten.",
  "Rapid rates of the axes, per minute. An axis without a rate has no rapid times.":
    "Eilganggeschwindigkeiten der Achsen, je Minute. Eine Achse ohne Geschwindigkeit hat keine Eilgangzeiten.",
  "Accelerations of the axes, per second². Absent: rapids are timed at their full rate.":
    "Beschleunigungen der Achsen, je s². Fehlen sie: Eilgänge werden mit voller Geschwindigkeit gerechnet.",
  "Time of one tool change, seconds.": "Zeit eines Werkzeugwechsels, Sekunden.",
  "What a tool change costs.": "Was ein Werkzeugwechsel kostet.",
  "Letter of the rotary axis that carries the bases.": "Buchstabe der Rundachse, die die Grundkörper trägt.",
  "A point of the rotary axis, machine frame, tool point: X and Z for B, Y and Z for A, X and Y for C.":
    "Ein Punkt der Drehachse, Maschinenkoordinaten, Werkzeugspitze: X und Z bei B, Y und Z bei A, X und Y bei C.",
  "1: as ISO 841 names it, the work turns against the axis name; -1: the machine turns the other way. Default: 1.":
    "1: wie ISO 841 es benennt, das Werkstück dreht gegen den Achsnamen; -1: die Maschine dreht anders herum. Vorgabe: 1.",
  "Time of one index, seconds.": "Zeit eines Teilschritts, Sekunden.",
  "false: a stored rotary value must be 0 and the program writes the angle; true: the work offset holds the face angle. Default: false.":
    "false: ein gespeicherter Wert der Rundachse muss 0 sein, und das Programm schreibt den Winkel; true: die Nullpunktverschiebung enthält den Flächenwinkel. Vorgabe: false.",
  "The rotary axis that the bases stand on.": "Die Rundachse, auf der die Grundkörper stehen.",
  "O number.": "O-Nummer.",
  "Programs that the control holds and that may be called.": "Programme, die in der Steuerung liegen und aufgerufen werden dürfen.",
  "Folder, counted from this file.": "Ordner, von dieser Datei aus gezählt.",
  "Folders in which called programs are looked for besides the program's own.":
    "Ordner, in denen aufgerufene Programme außer in dem des Programms gesucht werden.",
  "The machine that the fixture stands on.": "Die Maschine, auf der die Vorrichtung steht.",
  ...each("XY", { "Tolerance of {}. Default: 0.02 mm.": "Toleranz von {}. Vorgabe: 0.02 mm." }),
  "Tolerance of Z. Default: 0.05 mm.": "Toleranz von Z. Vorgabe: 0.05 mm.",
  "Tolerance of the rotary axis, degrees. Default: 0.005.": "Toleranz der Rundachse, Grad. Vorgabe: 0.005.",
  "How far a stored offset may stand from the computed one.": "Wie weit eine gespeicherte Verschiebung von der berechneten abweichen darf.",
  "Least distance of a rapid to a solid. Default: 2 mm.": "Kleinster Abstand eines Eilgangs zu einem Körper. Vorgabe: 2 mm.",
  "Least distance of a cutting move to a solid. Default: 0.5 mm.":
    "Kleinster Abstand einer Bewegung im Vorschub zu einem Körper. Vorgabe: 0.5 mm.",
  "Least distance to the swing while the rotary axis turns. Default: 25 mm.":
    "Kleinster Abstand zum Schwenkbereich, während die Rundachse dreht. Vorgabe: 25 mm.",
  "Least distances of a tool to a solid.": "Kleinste Abstände eines Werkzeugs zu einem Körper.",
  "Distance between two grid intersections, both directions.": "Abstand zweier Rasterpunkte, in beiden Richtungen.",
  "Pitch along the columns.": "Teilung entlang der Spalten.",
  "Pitch along the rows.": "Teilung entlang der Reihen.",
  "Grid pitch: one number, or x along the columns and y along the rows.":
    "Rasterteilung: eine Zahl, oder x entlang der Spalten und y entlang der Reihen.",
  "Number of intersections along x.": "Anzahl der Rasterpunkte entlang x.",
  "Number of intersections along y.": "Anzahl der Rasterpunkte entlang y.",
  "Machine position of the tool point when it touches intersection [0,0] on the locating face, rotary axis at the base's face angle.":
    "Maschinenposition der Werkzeugspitze, wenn sie den Rasterpunkt [0,0] auf der Anlagefläche berührt, Rundachse im Flächenwinkel des Grundkörpers.",
  "Angle from machine X to the columns of the grid, degrees counter-clockwise. Default: 0.":
    "Winkel von Maschinen-X zu den Spalten des Rasters, Grad gegen den Uhrzeigersinn. Vorgabe: 0.",
  "Rotary angle at which this base faces the tool, degrees. Default: 0.":
    "Winkel der Rundachse, bei dem dieser Grundkörper zum Werkzeug zeigt, Grad. Vorgabe: 0.",
  "Thickness of the body behind the locating face. Absent: everything below the face is solid.":
    "Dicke des Körpers hinter der Anlagefläche. Fehlt sie: alles unter der Fläche ist fest.",
  "How far the body reaches beyond the outermost intersections. Default: 0.":
    "Wie weit der Körper über die äußersten Rasterpunkte hinausreicht. Vorgabe: 0.",
  "A grid base: plate, pallet or one face of a tombstone.":
    "Ein Grundkörper mit Raster: Platte, Palette oder eine Fläche eines Spannturms.",
  "Grid bases by name.": "Grundkörper nach Namen.",
  "Distance of the gripping face from the tenon centre, along u.": "Abstand der Spannfläche von der Mitte des Zapfens, entlang u.",
  "Size along u, the clamping direction.": "Maß entlang u, der Spannrichtung.",
  "Size along v, centred on the tenon.": "Maß entlang v, mittig zum Zapfen.",
  "Height above the locating face.": "Höhe über der Anlagefläche.",
  "Soft jaw: a cut into it is information; a rapid into it stays an error. Default: false.":
    "Weiche Backe: ein Schnitt hinein ist ein Hinweis; ein Eilgang hinein bleibt ein Fehler. Vorgabe: false.",
  "A fixed jaw.": "Eine feste Spannbacke.",
  "Fixed jaws by name.": "Feste Spannbacken nach Namen.",
  "Gap between the jaw faces at notch 0, fully open.": "Abstand der Spannflächen in Raste 0, ganz geöffnet.",
  "Distance between two notches.": "Abstand zweier Rasten.",
  "Whole closing travel at one notch.": "Ganzer Spannhub in einer Raste.",
  "Number of notches; they count from 0.": "Anzahl der Rasten; sie zählen ab 0.",
  "Least free travel for putting the stock in. Default: 0.": "Kleinster freier Weg zum Einlegen des Rohteils. Vorgabe: 0.",
  "Travel to keep back at the end of the stroke. Default: 0.": "Weg, der am Ende des Spannhubs in Reserve bleibt. Vorgabe: 0.",
  "A moving jaw with its notches.": "Eine bewegliche Spannbacke mit ihren Rasten.",
  "Moving jaws by name.": "Bewegliche Spannbacken nach Namen.",
  "Size along v.": "Maß entlang v.",
  "Size along u, from the fixed jaw's face.": `Maß entlang u, ${jaw}.`,
  "An end stop.": "Ein Anschlag.",
  "End stops by name.": "Anschläge nach Namen.",
  "Name of the part.": "Name des Werkstücks.",
  "Drawing number.": "Zeichnungsnummer.",
  "Issue (revision) of the drawing.": "Stand (Revision) der Zeichnung.",
  "Material.": "Werkstoff.",
  "Gripped size, along u.": "Gespanntes Maß, entlang u.",
  "Height, along w.": "Höhe, entlang w.",
  "Stock as clamped, along the station's axes.": "Rohteil, wie es gespannt ist, entlang der Achsen der Station.",
  "Plus and minus on the gripped size u. Default: 0.": "Plus und minus am gespannten Maß u. Vorgabe: 0.",
  "From, along u from the fixed jaw's face.": `Von, entlang u ${jaw} aus.`,
  "To, along u from the fixed jaw's face.": `Bis, entlang u ${jaw} aus.`,
  "The same for every station of this operation that names none of its own.":
    "Dasselbe für jede Station dieses Arbeitsgangs, die keine eigenen nennt.",
  "Distance from the fixed jaw's face.": `Abstand ${jaw}.`,
  "Part zero along u: at the gripped face of the fixed jaw, at the centre, at the moving jaw, or a number from the fixed jaw's face.": `Werkstücknullpunkt entlang u: an der festen Spannbacke, in der Mitte, an der beweglichen Spannbacke, oder eine Zahl ${jaw} aus.`,
  "Distance from the low edge.": "Abstand von der unteren Kante.",
  "Part zero along v: at the low edge, the centre, the high edge, or a number from the low edge.":
    "Werkstücknullpunkt entlang v: an der unteren Kante, in der Mitte, an der oberen Kante, oder eine Zahl von der unteren Kante aus.",
  "Height above the seat.": "Höhe über der Auflage.",
  "Part zero along w: at the top of the stock, at the seat, or a number from the seat.":
    "Werkstücknullpunkt entlang w: an der Oberkante des Rohteils, an der Auflage, oder eine Zahl von der Auflage aus.",
  "Where the part zero is.": "Wo der Werkstücknullpunkt ist.",
  "Height of the finished part above the seat.": "Höhe des Fertigteils über der Auflage.",
  "true: the stock may go in either way round; false: it matters, and a way that fits wrongly is told.":
    "true: das Rohteil darf so oder verkehrt herum eingelegt werden; false: es kommt darauf an, und was verkehrt herum passt, wird genannt.",
  "One operation of a part: how it is clamped.": "Ein Arbeitsgang eines Werkstücks: wie es gespannt ist.",
  "Operations by name, such as op10.": "Arbeitsgänge nach Namen, etwa op10.",
  "A part and its operations.": "Ein Werkstück und seine Arbeitsgänge.",
  "Parts by name.": "Werkstücke nach Namen.",
  "Name of the station; with repeat, the running number follows it.": "Name der Station; bei repeat folgt ihm die laufende Nummer.",
  "Base it stands on.": "Grundkörper, auf dem sie steht.",
  "Column.": "Spalte.",
  "Row.": "Reihe.",
  "Grid intersection of the fixed jaw's tenon: [column, row], from 0.":
    "Rasterpunkt des Zapfens der festen Spannbacke: [Spalte, Reihe], ab 0.",
  "Clamping direction in the base frame: from the fixed jaw toward the moving jaw.":
    "Spannrichtung im Grundkörper: von der festen zur beweglichen Spannbacke.",
  "Fixed jaw, by its name under fixedJaws.": "Feste Spannbacke, mit ihrem Namen unter fixedJaws.",
  "Moving jaw, by its name under movingJaws.": "Bewegliche Spannbacke, mit ihrem Namen unter movingJaws.",
  "Notch that the moving jaw is set to, from 0.": "Raste, in der die bewegliche Spannbacke sitzt, ab 0.",
  "End stop, by its name under endStops.": "Anschlag, mit seinem Namen unter endStops.",
  "Which edge of the stock it meets: the low or the high one along v.":
    "An welcher Kante des Rohteils er liegt: an der unteren oder der oberen entlang v.",
  "Where the stock's edge is, along v.": "Wo die Kante des Rohteils ist, entlang v.",
  "End stop of this station.": "Anschlag dieser Station.",
  "Height of the parallels above the locating face.": "Höhe der Parallelunterlagen über der Anlagefläche.",
  "Where the parallels are, along u from the fixed jaw's face: [from, to] each. Absent: under the whole stock.": `Wo die Parallelunterlagen sind, entlang u ${jaw} aus: jeweils [von, bis]. Fehlt es: unter dem ganzen Rohteil.`,
  "Part, by its name under parts.": "Werkstück, mit seinem Namen unter parts.",
  "Operation of that part.": "Arbeitsgang dieses Werkstücks.",
  "Part zero of this station, where it differs from the operation's.":
    "Werkstücknullpunkt dieser Station, wo er von dem des Arbeitsgangs abweicht.",
  "Work offset, as it is written in a program of this dialect.":
    "Nullpunktverschiebung, wie sie in einem Programm dieses Dialekts geschrieben wird.",
  "true on every station that shares its register with others on purpose.":
    "true an jeder Station, die ihr Register absichtlich mit anderen teilt.",
  "true: the station is not loaded.": "true: die Station ist nicht bestückt.",
  "Copies along x.": "Anzahl entlang x.",
  "Copies along y.": "Anzahl entlang y.",
  "Intersections to the next column.": "Rasterpunkte bis zur nächsten Spalte.",
  "Intersections to the next row.": "Rasterpunkte bis zur nächsten Reihe.",
  "Distance of the copies, in intersections: [along x, along y].": "Abstand der Wiederholungen, in Rasterpunkten: [entlang x, entlang y].",
  "Repeats the station over the grid: along x first, then y; ids count from 1 and offsets follow consecutively.":
    "Wiederholt die Station über das Raster: erst entlang x, dann y; die Namen zählen ab 1, die Verschiebungen folgen der Reihe nach.",
  "One station: where a part is held.": "Eine Station: wo ein Werkstück gespannt ist.",
  "The stations.": "Die Stationen.",
  "What it is for.": "Wofür sie da ist.",
  "Offsets that belong to no station, on purpose.": "Verschiebungen, die absichtlich zu keiner Station gehören.",
  "What it is.": "Was es ist.",
  "Base that it stands on and turns with, its box in that base's frame; null: the machine frame.":
    "Grundkörper, auf dem es steht und mit dem es dreht, sein Quader in dessen Koordinaten; null: Maschinenkoordinaten.",
  "One corner.": "Eine Ecke.",
  "The opposite corner.": "Die gegenüberliegende Ecke.",
  "Its box.": "Sein Quader.",
  "Something else that a tool can hit.": "Etwas anderes, das ein Werkzeug treffen kann.",
  "Other things that a tool can hit.": "Anderes, das ein Werkzeug treffen kann.",
  "What it is called in the shop.": "Wie es in der Werkstatt heißt.",
  "Kind of tool, such as end mill or drill.": "Art des Werkzeugs, etwa Schaftfräser oder Bohrer.",
  "Cutting diameter (ISO 13399 DC).": "Schneidendurchmesser (ISO 13399 DC).",
  "Corner radius (ISO 13399 RE).": "Eckenradius (ISO 13399 RE).",
  "Greatest depth of cut (ISO 13399 APMX); a point is part of it.": "Größte Schnitttiefe (ISO 13399 APMX); eine Spitze gehört dazu.",
  "Functional length: gauge plane to tool point (ISO 13399 LF).": "Funktionslänge: Bezugsebene bis Werkzeugspitze (ISO 13399 LF).",
  "Point angle, degrees (ISO 13399 SIG); 180 is flat.": "Spitzenwinkel, Grad (ISO 13399 SIG); 180 ist flach.",
  "Diameter of the shank.": "Durchmesser des Schafts.",
  "From the tool point to the holder.": "Von der Werkzeugspitze bis zum Halter.",
  "Shank. Absent: DC goes up to LF and the holder is not checked.":
    "Schaft. Fehlt er: DC reicht bis LF, und der Halter wird nicht geprüft.",
  "Diameter of the step.": "Durchmesser der Stufe.",
  "Height of the step.": "Höhe der Stufe.",
  "Holder as cylinders, upward from the shank.": "Halter aus Zylindern, vom Schaft an aufwärts.",
  "Length register of the tool; a list gives further edges, the tool's own first.":
    "Längenregister des Werkzeugs; eine Liste nennt weitere Schneiden, die eigene zuerst.",
  "Radius register of the tool; a list gives further edges, the tool's own first.":
    "Radiusregister des Werkzeugs; eine Liste nennt weitere Schneiden, die eigene zuerst.",
  "A tool.": "Ein Werkzeug.",
  "Tools by T number.": "Werkzeuge nach T-Nummer.",
  "Stored values, by the offset as a program writes it.": "Gespeicherte Werte, nach der Verschiebung, wie ein Programm sie schreibt.",
  "File of G10 lines, as a control writes its offset table; counted from this file.":
    "Datei mit G10-Zeilen, wie eine Steuerung ihre Verschiebungstabelle schreibt; von dieser Datei aus gezählt.",
  "First-article corrections: part of what the offset must hold; the solids do not move.":
    "Korrekturen vom Erstteil: Teil dessen, was die Verschiebung enthalten muss; die Körper bewegen sich nicht.",
  "Shift that the control adds to every work offset.": "Verschiebung, die die Steuerung zu jeder Nullpunktverschiebung addiert.",
  "Base whose zero a stored Z counts from.": "Grundkörper, von dessen Nullpunkt ein gespeichertes Z zählt.",
  "Station whose computed Z a stored Z counts from.": "Station, von deren berechnetem Z ein gespeichertes Z zählt.",
  'What a stored Z counts from: "machine", a base or a station. Default: machine.':
    'Wovon ein gespeichertes Z zählt: "machine", ein Grundkörper oder eine Station. Vorgabe: machine.',
  "Axes that are set at the machine: a G10 line may leave them out.":
    "Achsen, die an der Maschine gesetzt werden: eine G10-Zeile darf sie auslassen.",
  "What is stored at the control, as far as it is known.": "Was in der Steuerung gespeichert ist, soweit bekannt.",
  "Severity by rule: error, warning, information or off.": "Stufe nach Regel: error, warning, information oder off.",
  "Jawline fixture sidecar, format 1: what stands on the table, where, and which work offset belongs to which station.":
    "Jawline-Vorrichtungsdatei, Format 1: was auf dem Tisch steht, wo, und welche Nullpunktverschiebung zu welcher Station gehört.",
};

/** One line for each rule, as completion and SARIF show it. */
const summaries: Texts = {
  "An allow comment without a reason, or one that nothing needs.": "Eine Freigabe ohne Grund, oder eine, die nichts braucht.",
  "The first Z under length compensation is lower than what stands there, or comes before X and Y.":
    "Das erste Z unter Werkzeuglängenkorrektur ist tiefer als das, was dort steht, oder kommt vor X und Y.",
  "After an offset change Z goes down before both X and Y are restated.":
    "Nach einem Wechsel der Verschiebung geht Z nach unten, bevor X und Y beide neu genannt sind.",
  "A hole, measured to the tip of the drill, reaches the parallel or the base.":
    "Ein Loch, bis zur Bohrerspitze gemessen, reicht in Parallelunterlage oder Grundkörper.",
  "Calls or loops that cannot end.": "Aufrufe oder Schleifen, die nicht enden können.",
  "The called program or label is absent, there twice, or ends in M30 instead of returning.":
    "Das aufgerufene Programm oder die Satznummer fehlt, ist zweimal da, oder endet mit M30, statt zurückzukehren.",
  "A cutting move goes into a jaw, stop, parallel, base or obstacle.":
    "Eine Bewegung im Vorschub fährt in Backe, Anschlag, Parallelunterlage, Grundkörper oder Hindernis.",
  "A cutting move passes closer to a jaw, stop, parallel, base or obstacle than the cut clearance.":
    "Eine Bewegung im Vorschub kommt Backe, Anschlag, Parallelunterlage, Grundkörper oder Hindernis näher als erlaubt.",
  "A rapid goes into a jaw, stop, parallel, base or obstacle, or closer than the rapid clearance.":
    "Ein Eilgang fährt in Backe, Anschlag, Parallelunterlage, Grundkörper oder Hindernis, oder näher heran als erlaubt.",
  "A code that the dialect does not know; what depends on it is unknown from there on.":
    "Ein Code, den der Dialekt nicht kennt; was davon abhängt, ist von da an unbekannt.",
  "G41 or G42 is in force when the work offset, the tool or the rotary angle changes.":
    "G41 oder G42 wirkt, wenn Nullpunktverschiebung, Werkzeug oder Winkel der Rundachse wechseln.",
  "A canned cycle is still on when the work offset changes, or where plain moves follow.":
    "Ein Zyklus wirkt noch, wenn die Nullpunktverschiebung wechselt oder einfache Bewegungen folgen.",
  "A cutting move with no feed, with feed zero, or with the spindle not turning.":
    "Eine Bewegung im Vorschub ohne F, mit F0, oder bei stehender Spindel.",
  "The sidecar is not JSON, or a key, value or name in it is wrong.":
    "Die Vorrichtungsdatei ist kein JSON, oder ein Schlüssel, Wert oder Name darin stimmt nicht.",
  "The jaws grip less than a third of what stands above them, or do not reach the stock.":
    "Die Backen greifen weniger als ein Drittel dessen, was darüber steht, oder erreichen das Rohteil nicht.",
  "The chosen notch cannot clamp the stock over its whole tolerance.":
    "Die gewählte Raste spannt das Rohteil nicht über seine ganze Toleranz.",
  "A station stands on an intersection that the base does not have, or a jaw beyond its body.":
    "Eine Station steht auf einem Rasterpunkt, den der Grundkörper nicht hat, oder eine Backe über seinen Rand hinaus.",
  "Solids of two stations meet, or there is no room to load.": "Körper zweier Stationen treffen sich, oder zum Einlegen ist kein Platz.",
  "One work offset for two stations.": "Eine Nullpunktverschiebung für zwei Stationen.",
  "A part that fits its nest the wrong way round.": "Ein Werkstück, das verkehrt herum in seine Aufnahme passt.",
  "A station's part zero lies outside the travel of the machine.":
    "Der Werkstücknullpunkt einer Station liegt außerhalb des Verfahrwegs der Maschine.",
  "Sibling stations whose part zeros differ in kind.": "Gleiche Stationen, deren Werkstücknullpunkte verschiedener Art sind.",
  "Shank or holder goes into a solid or into the stock while the cutting part is where it should be.":
    "Schaft oder Halter fährt in einen Körper oder ins Rohteil, während die Schneide dort ist, wo sie sein soll.",
  "A move that looks absolute while G91 is still in force after a reference return.":
    "Eine Bewegung, die absolut gemeint scheint, während nach dem Referenzpunkt noch G91 wirkt.",
  "Rotary and linear axes move in one rapid block inside the swing of the work.":
    "Rundachse und Linearachsen fahren in einem Eilgangsatz innerhalb des Schwenkbereichs.",
  "The H of a length compensation is not the tool's.": "Das H einer Werkzeuglängenkorrektur gehört nicht zum Werkzeug.",
  "A tool works without length compensation after its change.": "Ein Werkzeug arbeitet nach seinem Wechsel ohne Werkzeuglängenkorrektur.",
  "The block after G53 repeats its coordinate as if G53 were modal.": "Der Satz nach G53 wiederholt dessen Koordinate, als wäre G53 modal.",
  "A cutting move goes into the stock, jaws or stop of another station.":
    "Eine Bewegung im Vorschub fährt in Rohteil, Backen oder Anschlag einer anderen Station.",
  "A G10 block under G91, where the control adds to what the register holds.":
    "Ein G10-Satz unter G91, wo die Steuerung zum Inhalt des Registers addiert.",
  "The first motion in X or Y after a tool change runs under the last station's offset, which is not restated.":
    "Die erste Bewegung in X oder Y nach einem Werkzeugwechsel läuft unter der Verschiebung der letzten Station, die nicht neu genannt ist.",
  "A G10 block leaves out an axis that the blocks of the other stations give.":
    "Ein G10-Satz lässt eine Achse aus, die die Sätze der anderen Stationen nennen.",
  "A G10 block writes another register than the one that is meant.": "Ein G10-Satz schreibt ein anderes Register als das gemeinte.",
  "The whole series of work offsets is the fixture's, shifted by one register.":
    "Die ganze Reihe der Nullpunktverschiebungen ist die der Vorrichtung, um ein Register versetzt.",
  "The selected work offset belongs to no station and no declared datum.":
    "Die angewählte Nullpunktverschiebung gehört zu keiner Station und keinem angegebenen Bezugspunkt.",
  "A G10 block overwrites a station that carries a trim with the value without it.":
    "Ein G10-Satz überschreibt eine Station mit Feinkorrektur mit dem Wert ohne sie.",
  "A G10 block or a stored value differs from the computed position of the station.":
    "Ein G10-Satz oder ein gespeicherter Wert weicht von der berechneten Position der Station ab.",
  "A number without a decimal point where the dialect counts it in increments.":
    "Eine Zahl ohne Dezimalpunkt, wo der Dialekt sie in kleinsten Schritten zählt.",
  "The rotary axis turns while the tool is inside the swing of the work.":
    "Die Rundachse dreht, während das Werkzeug im Schwenkbereich ist.",
  "The offset changes and X or Y move while the tool is lower than what stands in the way.":
    "Die Verschiebung wechselt, und X oder Y fahren, während das Werkzeug tiefer ist als das, was im Weg steht.",
  "A canned cycle goes from hole to hole, at the R plane or the initial level, lower than what stands between.":
    "Ein Zyklus fährt auf der R-Ebene oder der Ausgangsebene von Loch zu Loch, tiefer als das, was dazwischen steht.",
  "An absolute reference return passes a point inside a solid or below the tool.":
    "Ein absolut programmiertes Anfahren des Referenzpunkts führt über einen Punkt in einem Körper oder unter dem Werkzeug.",
  "G92 with axis words in a program that uses station offsets.":
    "G92 mit Achsworten in einem Programm, das Nullpunktverschiebungen der Stationen benutzt.",
  "A G52 shift is not zero when the work offset changes.": "Eine G52-Verschiebung ist nicht null, wenn die Nullpunktverschiebung wechselt.",
  "With block skip on, a / block drops an offset or tool that later blocks rely on.":
    "Mit Satzausblendung fällt in einem /-Satz eine Verschiebung oder ein Werkzeug weg, auf das spätere Sätze bauen.",
  "A tool's head does not set what a restart there needs: G90, plane, G40, G80, offset, length, speed.":
    "Der Kopf eines Werkzeugs setzt nicht, was ein Wiedereinstieg dort braucht: G90, Ebene, G40, G80, Verschiebung, Länge, Drehzahl.",
  "The count of a loop or repeat differs from the number of siblings.":
    "Die Anzahl einer Schleife oder Wiederholung ist nicht die der gleichen Stationen.",
  "Copies of the same path differ in a few words; the minority is named.":
    "Kopien derselben Bahn weichen in wenigen Worten ab; genannt wird die Minderheit.",
  "A tool cuts away from the station's stock and within reach of a neighbour's: the wrong offset is active.":
    "Ein Werkzeug schneidet abseits vom Rohteil der Station und in Reichweite eines Nachbarn: die falsche Verschiebung wirkt.",
  "A tool does the same path twice at one station while a sibling goes without.":
    "Ein Werkzeug fährt dieselbe Bahn an einer Station zweimal, während eine gleiche Station leer ausgeht.",
  "A tool visits all siblings (stations with the same part and op) but some.":
    "Ein Werkzeug besucht nicht alle gleichen Stationen (selbes Werkstück, selber Arbeitsgang).",
  "Motion at a station whose face does not look at the tool (modulo 360°).":
    "Bewegung an einer Station, deren Fläche nicht zum Werkzeug zeigt (modulo 360°).",
  "The path or subprogram that the siblings of one op use runs at a station of another op.":
    "Die Bahn oder das Unterprogramm der Stationen eines Arbeitsgangs läuft an einer Station eines anderen.",
  "A rapid goes into stock that no earlier visit has cut away.":
    "Ein Eilgang fährt in Rohteil, das kein früherer Besuch weggeschnitten hat.",
  "A subprogram ends in other modes than it began, and the caller relies on them.":
    "Ein Unterprogramm endet in anderen Zuständen, als es begann, und der Aufrufer baut darauf.",
  "A block, or a part of one, that the dialect cannot read.": "Ein Satz oder ein Teil davon, den der Dialekt nicht lesen kann.",
  "Rotation, mirror, scaling or polar coordinates are in force when the work offset changes.":
    "Drehung, Spiegelung, Skalierung oder Polarkoordinaten wirken, wenn die Nullpunktverschiebung wechselt.",
  "The spindle gauge point leaves the travel of the machine.": "Der Spindelbezugspunkt verlässt den Verfahrweg der Maschine.",
  "The program does not state its units, or states others than the sidecar's.":
    "Das Programm nennt seine Einheit nicht, oder eine andere als die Vorrichtungsdatei.",
};

const all: Texts = { ...codes, ...groups, ...dialects, ...words, ...keys, ...summaries };

/** The German of one of these texts; undefined for any other text, such as a person's own. */
export function germanOf(english: string): string | undefined {
  return Object.hasOwn(all, english) ? all[english] : undefined;
}

/** The English texts that German is there for. */
export const translatedData: readonly string[] = Object.keys(all);
