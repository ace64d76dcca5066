import type { ClearanceMemory } from "./clearances.js";
import { loadFixture } from "./fixture/load.js";
import type { Fixture } from "./fixture/model.js";
import type { Host } from "./host.js";
import type { Reading } from "./syntax/parse.js";

/**
 * What one analysis of a program leaves for the next one of it: its blocks, its sidecar as it was loaded, its
 * distances station by station. Nothing in it is
 * taken on trust: each part is used again only where everything that it was made from is still the same, so that an answer
 * never depends on whether there was a memory.
 */
export interface Memory {
  /** The program as it was read last. */
  reading?: Reading;
  /** The distances of the last run with block skip as it is set, and of the one with it on. */
  readonly clearances?: ClearanceMemory;
  readonly skippedClearances?: ClearanceMemory;
  /** The sidecar as it was loaded last, with everything that its loading asked of the host. */
  loaded?: { readonly path: string; readonly dialect: string | undefined; readonly asked: readonly Asked[]; readonly fixture: Fixture };
}

/** One question to the host with its answer. */
type Asked =
  | { readonly kind: "read"; readonly path: string; readonly answer: string | undefined }
  | { readonly kind: "list"; readonly path: string; readonly answer: readonly string[] | undefined };

/**
 * Loads a sidecar as `loadFixture` does, or gives the one loaded before when the host answers all that it was asked then with the
 * same: loading depends on nothing else, so it would come out the same. The host is asked everything again either way, so that it
 * knows what the answer rests on.
 */
export function loadRemembered(host: Host, path: string, dialect: string | undefined, memory: Memory | undefined): Fixture {
  if (memory === undefined) return loadFixture(host, path, dialect);
  const held = memory.loaded;
  if (held !== undefined && held.path === path && held.dialect === dialect && held.asked.every((a) => isSame(host, a))) return held.fixture;
  const asked: Asked[] = [];
  const noting: Host = {
    read(file) {
      const answer = host.read(file);
      asked.push({ kind: "read", path: file, answer });
      return answer;
    },
    list(folder) {
      const answer = host.list(folder);
      asked.push({ kind: "list", path: folder, answer: answer === undefined ? undefined : [...answer] });
      return answer;
    },
  };
  const fixture = loadFixture(noting, path, dialect);
  memory.loaded = { path, dialect, asked, fixture };
  return fixture;
}

function isSame(host: Host, asked: Asked): boolean {
  if (asked.kind === "read") return host.read(asked.path) === asked.answer;
  const now = host.list(asked.path);
  const { answer } = asked;
  if (now === undefined || answer === undefined) return now === answer;
  return now.length === answer.length && now.every((name, i) => name === answer[i]);
}

/** A memory of a program of which nothing is known yet. */
export function emptyMemory(): Memory {
  return { clearances: {}, skippedClearances: {} };
}
