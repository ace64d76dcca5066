import { emptyMemory } from "../engine/memory.js";
import { type AnalyseOptions, type Analysis, runOnly } from "../engine/program.js";
import { joinPath } from "../engine/text/path.js";
import type { EditorFiles } from "./files.js";

/** Folders that are looked into at most, and programs that are run at most, for one question. */
const MOST_FOLDERS = 2000;
const MOST_PROGRAMS = 1000;

/** A program by its name, as the editor's language of programs knows them too. */
const PROGRAM = /(?:\.(?:nc|cnc|tap|eia|iso|ngc|min|ncp)|^o\d{4})$/i;
/** Names that are no folders: a list of names does not tell, and asking for each costs a client a message. */
const NO_FOLDER =
  /^\.|^node_modules$|\.(?:json|txt|md|pdf|png|jpe?g|gif|svg|zip|csv|xlsx?|docx?|step|stp|stl|iges|igs|dxf|html?|log|bak|js|ts|code-workspace)$/i;

/** Programs below some folders, nearest the top first. Undefined when nobody waits for them any more. */
export async function programsBelow(
  files: EditorFiles,
  folders: readonly string[],
  abandoned: () => boolean,
): Promise<string[] | undefined> {
  const out: string[] = [];
  let level = [...new Set(folders)];
  let looked = 0;
  while (level.length > 0 && looked < MOST_FOLDERS) {
    const { result, missed } = files.look((host) => level.map((folder) => host.list(folder)));
    if (missed) {
      await files.arriving();
      if (abandoned()) return undefined;
      continue;
    }
    looked += level.length;
    const next: string[] = [];
    for (const [i, names] of result.entries()) {
      for (const name of names ?? []) {
        const path = joinPath(level[i] ?? "/", name);
        if (PROGRAM.test(name)) out.push(path);
        else if (!NO_FOLDER.test(name)) next.push(path);
      }
    }
    level = next.slice(0, MOST_FOLDERS - looked);
  }
  return out.slice(0, MOST_PROGRAMS);
}

/**
 * The programs of the workspace that are not open and whose sidecar is this file or is made of it, run but not checked.
 * @param abandoned tells that nobody waits for the answer any more
 */
export async function closedPrograms(
  files: EditorFiles,
  sidecar: string,
  folders: readonly string[],
  optionsFor: (path: string) => AnalyseOptions,
  abandoned: () => boolean,
): Promise<Analysis[]> {
  const out: Analysis[] = [];
  // Programs of one folder mostly share a sidecar, which is then loaded once.
  const memory = emptyMemory();
  for (const path of (await programsBelow(files, folders, abandoned)) ?? []) {
    if (files.isOpen(path)) continue;
    const run = await files.drained((host) => runOnly(host, optionsFor(path), (made) => made.includes(sidecar), memory), abandoned);
    if (abandoned()) return [];
    if (run !== undefined) out.push(run);
  }
  return out;
}
