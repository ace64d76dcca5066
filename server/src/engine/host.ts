/**
 * How the engine sees files. Paths are absolute and slash-separated. Answers are immediate: an edge that must fetch
 * (a virtual workspace) answers undefined, fetches what `Analysis.dependencies` names, and analyses again.
 */
export interface Host {
  /** The text of a file, open editors first; undefined when it cannot be read. Bytes that are no UTF-8 come as U+FFFD or Latin-1, never as an error. */
  read(path: string): string | undefined;
  /** Names (not paths) in a folder; undefined when it cannot be read. */
  list(folder: string): readonly string[] | undefined;
}
