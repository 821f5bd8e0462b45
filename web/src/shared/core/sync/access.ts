/** Whether the server lets this tablet in: a session is asked for when one is wanted, and only then. */

import { later } from "./state.ts";
import type { Effect, SyncState } from "./state.ts";
import type { Failure } from "./wire.ts";
import { NOT_ENROLLED, OTHER_TABLET, REVOKED } from "./wire.ts";

const REFUSED_MS = 30_000;
const BARRED_MS = 30_000;

export const wantsSession = ({ code }: Failure): boolean => code === NOT_ENROLLED || code === OTHER_TABLET;

export const isBarred = ({ code }: Failure): boolean => code === REVOKED;

/** A request met no session. One sent before the session was made says nothing about the session. */
export function withoutSession(s: SyncState, request: number, message: string, effects: Effect[], random: number): SyncState {
  s.reached = true;
  if (s.access !== "open" || request < s.entered) return s;
  s.access = "session";
  s.turnedAway += 1;
  return s.turnedAway > 1 ? later(s, message, effects, random) : s;
}

/** A revoked tablet may hand in what it has, and is told nothing any more. */
export function barred(s: SyncState, effects: Effect[]): SyncState {
  Object.assign(s, { barred: true, reached: true, complaint: null, fails: 0 });
  effects.push({ do: "wait", ms: BARRED_MS });
  return stand(s, "revoked", effects);
}

/** What the server says of this tablet; kept on disk so that a restart says the same. */
export function stand(s: SyncState, standing: SyncState["standing"], effects: Effect[]): SyncState {
  if (s.standing !== standing) effects.push({ do: "stand", standing });
  s.standing = standing;
  if (standing !== "revoked") s.barred = false;
  return s;
}

export function sessionMade(s: SyncState, request: number): SyncState {
  if (s.entering !== request) return s;
  return Object.assign(s, { entering: null, access: "open", entered: request, reached: true, complaint: null, fails: 0 });
}

export function sessionFailed(s: SyncState, request: number, failure: Failure, effects: Effect[], random: number): SyncState {
  if (s.entering !== request) return s;
  Object.assign(s, { entering: null, reached: failure.status !== null });
  if (failure.code !== NOT_ENROLLED) return later(s, failure.message, effects, random);
  Object.assign(s, { access: "refused", held: true, reached: true, complaint: null });
  effects.push({ do: "wait", ms: Math.round(REFUSED_MS * (0.75 + random / 4)) });
  return s;
}

/** Enrolled just now: the server knows the key, so a session comes first and everything else after it. */
export const enrolled = (s: SyncState): SyncState => Object.assign(s, {
  access: "session", entering: null, held: false, barred: false, turnedAway: 0, fails: 0, pullDue: true, shopDue: true,
});
