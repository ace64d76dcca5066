import * as vscode from "vscode";
import type { Answers } from "./fixture-text.js";

interface Question {
  readonly title: string;
  readonly prompt: string;
  readonly value: string;
  /** Undefined: right; otherwise what is wrong with the text. */
  check(text: string): string | undefined;
}

const numbers = (text: string) =>
  text
    .split(/[\s,;]+/)
    .filter((t) => t !== "")
    .map(Number);
const counts = (many: number, low: number) => (text: string) => {
  const list = numbers(text);
  return list.length === many && list.every((x) => Number.isInteger(x) && x >= low)
    ? undefined
    : vscode.l10n.t("{0} whole numbers of at least {1}, with a space between", many, low);
};
const lengths = (many: number) => (text: string) => {
  const list = numbers(text);
  return list.length === many && list.every(Number.isFinite) ? undefined : vscode.l10n.t("{0} numbers, with a space between", many);
};

/** Asks step by step; undefined when the person leaves. Escape at any step writes nothing. */
export async function askForFixture(): Promise<Answers | undefined> {
  const units = await vscode.window.showQuickPick(
    [
      { label: "mm", description: vscode.l10n.t("millimetres") },
      { label: "inch", description: vscode.l10n.t("inches") },
    ],
    { title: vscode.l10n.t("New fixture sidecar (1 of 7): units of the lengths"), ignoreFocusOut: true },
  );
  if (units === undefined) return undefined;
  const metric = units.label === "mm";
  const questions: readonly Question[] = [
    {
      title: vscode.l10n.t("(2 of 7) grid pitch"),
      prompt: vscode.l10n.t("Distance between neighbouring intersections of the grid"),
      value: metric ? "50" : "2",
      check: (text) => (Number(text) > 0 ? undefined : vscode.l10n.t("a length greater than 0")),
    },
    {
      title: vscode.l10n.t("(3 of 7) columns and rows of the grid"),
      prompt: vscode.l10n.t("Number of intersections along x and along y"),
      value: "10 8",
      check: counts(2, 1),
    },
    {
      title: vscode.l10n.t("(4 of 7) machine position of intersection [0, 0]"),
      prompt: vscode.l10n.t("X Y Z of the tool point when it touches the locating face there"),
      value: metric ? "-500 -400 -450" : "-20 -16 -18",
      check: lengths(3),
    },
    {
      title: vscode.l10n.t("(5 of 7) stations across and up, and grid steps between them"),
      prompt: vscode.l10n.t("For example 3 2 3 4: three across and two up, every 3 columns and 4 rows"),
      value: "1 1 3 4",
      check: counts(4, 1),
    },
  ];
  const given: string[] = [];
  for (const question of questions) {
    const text = await vscode.window.showInputBox({
      title: vscode.l10n.t("New fixture sidecar {0}", question.title),
      prompt: question.prompt,
      value: question.value,
      ignoreFocusOut: true,
      validateInput: question.check,
    });
    if (text === undefined) return undefined;
    given.push(text);
  }
  const clamp = await vscode.window.showQuickPick(
    [
      { label: "+Y", description: vscode.l10n.t("from the fixed jaw up along the rows") },
      { label: "-Y", description: vscode.l10n.t("down along the rows") },
      { label: "+X", description: vscode.l10n.t("along the columns") },
      { label: "-X", description: vscode.l10n.t("back along the columns") },
    ] as const,
    { title: vscode.l10n.t("New fixture sidecar (6 of 7): direction from the fixed jaw to the moving jaw"), ignoreFocusOut: true },
  );
  if (clamp === undefined) return undefined;
  const firstOffset = await vscode.window.showInputBox({
    title: vscode.l10n.t("New fixture sidecar {0}", vscode.l10n.t("(7 of 7) work offset of the first station")),
    prompt: vscode.l10n.t("As the program writes it; the other stations follow in order"),
    value: "G54.1 P1",
    ignoreFocusOut: true,
    validateInput: (text) =>
      /^G\s*\d+(\.\d)?(\s*P\s*\d+)?$/i.test(text.trim()) ? undefined : vscode.l10n.t("for example G54 or G54.1 P1"),
  });
  if (firstOffset === undefined) return undefined;
  const [pitch, grid, zero, stations] = given.map(numbers);
  return {
    units: metric ? "mm" : "inch",
    pitch: pitch?.[0] ?? 50,
    columns: grid?.[0] ?? 1,
    rows: grid?.[1] ?? 1,
    zero: [zero?.[0] ?? 0, zero?.[1] ?? 0, zero?.[2] ?? 0],
    clamp: clamp.label,
    across: stations?.[0] ?? 1,
    up: stations?.[1] ?? 1,
    step: [stations?.[2] ?? 1, stations?.[3] ?? 1],
    firstOffset: firstOffset.trim(),
  };
}
