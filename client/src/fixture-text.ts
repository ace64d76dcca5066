/** What the assistant asks for; lengths in `units`. */
export interface Answers {
  readonly units: "mm" | "inch";
  readonly pitch: number;
  readonly columns: number;
  readonly rows: number;
  readonly zero: readonly [number, number, number];
  readonly clamp: "+X" | "+Y" | "-X" | "-Y";
  /** Stations across and up, and the grid steps between them. */
  readonly across: number;
  readonly up: number;
  readonly step: readonly [number, number];
  /** As a program of the dialect writes it: "G54" or "G54.1 P1". */
  readonly firstOffset: string;
}

/**
 * The text of a sidecar from the answers: one base, one kind of jaw, one part with one operation, a block of stations.
 * Sizes of jaws and stock are starting values that the person corrects; the comments say so.
 */
export function fixtureText(a: Answers): string {
  const scale = a.units === "mm" ? 1 : 1 / 25;
  const n = (mm: number) => String(Math.round(mm * scale * 1000) / 1000);
  const repeat =
    a.across * a.up > 1 ? `,\n      "repeat": { "columns": ${a.across}, "rows": ${a.up}, "step": [${a.step[0]}, ${a.step[1]}] } }` : " }";
  return `// What stands on the table beside the program. Lengths in "units", angles in degrees.
// Jawline checks programs against this file. It is a review aid, not a proof: measure what you write here.
{
  "format": 1,
  "units": "${a.units}",
  "bases": {
    // "zero": the machine position of the tool point when it touches intersection [0, 0] on the locating face.
    "plate": { "pitch": ${a.pitch}, "columns": ${a.columns}, "rows": ${a.rows}, "zero": { "X": ${a.zero[0]}, "Y": ${a.zero[1]}, "Z": ${a.zero[2]} } }
  },
  // Starting values: put in the sizes of your own jaws.
  "fixedJaws": {
    "fixed": { "face": ${n(15)}, "length": ${n(40)}, "width": ${n(60)}, "height": ${n(45)} }
  },
  "parts": {
    "part": {
      "ops": {
        // Stock along the clamping direction (u), across it (v) and its height (w); where the part zero lies on it.
        "op10": { "stock": { "u": ${n(40)}, "v": ${n(50)}, "w": ${n(30)} }, "zero": { "u": "centre", "v": "centre", "w": "top" } }
      }
    }
  },
  "stations": [
    // "seat": height of the parallels above the face.
    { "id": "A", "base": "plate", "at": [1, 1], "clamp": "${a.clamp}", "fixedJaw": "fixed", "seat": ${n(25)},
      "part": "part", "op": "op10", "offset": "${a.firstOffset}"${repeat}
  ]
}
`;
}
