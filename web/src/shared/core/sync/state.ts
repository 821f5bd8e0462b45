/** What the exchange knows, is told and asks for. */

import type { Checkpoint, Failure, Outcome, PullAnswer, Pulled, PushAnswer, ShopNews, Standing, Verdict } from "./wire.ts";

/**
 * `open`: requests go out. `session`: one has to be made first. `refused`: the server does not know this
 * tablet; work goes on as without a server, and from time to time it is asked again.
 */
export type Access = "open" | "session" | "refused";

export type Input =
  | { type: "start" } | { type: "timer" } | { type: "nudge" }
  | { type: "appended"; n: number }
  | { type: "hint"; head: number; shop: string }
  | { type: "push answered"; request: number; answer: PushAnswer }
  | { type: "pull answered"; request: number; answer: PullAnswer }
  | { type: "shop answered"; request: number; etag: string | null; shop: ShopNews | null }
  | { type: "push failed" | "pull failed" | "shop failed"; request: number; failure: Failure }
  | { type: "session made"; request: number }
  | { type: "session failed"; request: number; failure: Failure }
  | { type: "enrolled" };

/** `upto` is the server's head with that answer: a backup beyond it holds the outcome, whatever it was. */
export interface Marked { n: number; outcome: Outcome; seq: number | null; flags: string[]; message: string | null; upto: number }

type Mark = { do: "mark"; marks: Marked[]; watermark: number | null; contiguous: number; epoch: string; checkpoint: Checkpoint | null };

export type Effect =
  | { do: "push"; request: number; ns: number[] }
  | { do: "pull"; request: number; after: number }
  | { do: "shop"; request: number; etag: string | null }
  | { do: "session"; request: number }
  | Mark
  | { do: "stand"; standing: Standing }
  | { do: "restored"; epoch: string | null; resend: number[]; pullAgain: boolean }
  | { do: "keep"; events: Pulled[]; signatures: Verdict[]; after: number; epoch: string }
  | { do: "wait"; ms: number };

export interface SyncState {
  epoch: string | null; watermark: number | null; contiguous: number; checkpoint: Checkpoint | null; standing: Standing;
  outbox: number[]; acknowledged: number[]; after: number;
  etag: string | null; shopVersion: string | null;
  pushing: { request: number; ns: number[] } | null; pulling: number | null; shopping: number | null;
  access: Access; entering: number | null; entered: number; turnedAway: number; barred: boolean;
  pullDue: boolean; shopDue: boolean; lookDue: boolean; held: boolean;
  requests: number; batch: number; fails: number; reached: boolean | null; complaint: string | null;
}

export const BATCH = 100;
const LONGEST_WAIT_MS = 15_000;

export type Remembered = Pick<
  SyncState,
  "epoch" | "watermark" | "contiguous" | "checkpoint" | "standing" | "outbox" | "acknowledged" | "after" | "etag" | "shopVersion"
>;

export const begin = (known: Remembered): SyncState => ({
  ...known, pushing: null, pulling: null, shopping: null, pullDue: true, shopDue: true, lookDue: false, held: false,
  access: "open", entering: null, entered: 0, turnedAway: 0, barred: false,
  requests: 0, batch: BATCH, fails: 0, reached: null, complaint: null,
});

/** Nothing more goes out before this wait is over; each failure in a row makes it longer. */
export function later(s: SyncState, complaint: string, effects: Effect[], random: number): SyncState {
  const wait = Math.min(LONGEST_WAIT_MS, 1000 * 2 ** s.fails) * (0.5 + random / 2);
  Object.assign(s, { fails: s.fails + 1, held: true, complaint });
  effects.push({ do: "wait", ms: Math.round(wait) });
  return s;
}
