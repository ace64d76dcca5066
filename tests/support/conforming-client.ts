/**
 * The client of `language-client.ts`, every session of which is held against the protocol when it stops. Tests of the server
 * take it from here; what measures takes the plain one.
 */
import { LanguageClient } from "./language-client.js";
import { Protocol, protocolModel } from "./protocol-model.js";
import { judge, type Verdict } from "./protocol-session.js";
import type { Transcript } from "./transcript.js";

// Read while the tests are loaded: where nothing is cached it takes longer than a hook may.
export const protocol = new Protocol(await protocolModel());

/** One fault of the server breaks many messages; so many are told. */
const MOST = 20;

/** The verdict of a session that breaks nothing. Throws with all that is broken. */
export function conforming(transcript: Transcript): Verdict {
  const verdict = judge(protocol, transcript);
  const { problems } = verdict;
  const more = problems.length > MOST ? [`and ${problems.length - MOST} more`] : [];
  if (problems.length > 0) throw new Error(["the session breaks the protocol:", ...problems.slice(0, MOST), ...more].join("\n  "));
  return verdict;
}

LanguageClient.judge = conforming;

export { modern } from "./language-client.js";
export type { Sent } from "./transcript.js";
export { LanguageClient };
