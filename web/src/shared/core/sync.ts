/**
 * What the tablet sends, asks and believes about the server: inputs in, effects out.
 *
 * Nothing here does I/O, reads a clock or draws a number. One push, one pull, one shop request and
 * one request for a session are under way at most; an answer to any other request is dropped, which is
 * safe because an event counts as stored only through an answer that was taken, and the server takes it again.
 */

import { barred, enrolled, isBarred, sessionFailed, sessionMade, stand, wantsSession, withoutSession } from "./sync/access.ts";
import { BATCH, later } from "./sync/state.ts";
import type { Effect, Input, SyncState } from "./sync/state.ts";
import { newerCheckpoint } from "./sync/wire.ts";
import type { Failure, PullAnswer, PushAnswer, ShopNews } from "./sync/wire.ts";

export { begin } from "./sync/state.ts";
export type * from "./sync/state.ts";
export type * from "./sync/wire.ts";

const IDLE_MS = 30_000;

export interface Moved { state: SyncState; effects: Effect[] }

/** One move of the machine. `random` is a number in [0, 1) used to spread retries. */
export function advance(state: SyncState, input: Input, random: number): Moved {
  const effects: Effect[] = [];
  const next = take({ ...state }, input, effects, random);
  ask(next, effects);
  return { state: next, effects };
}

function take(s: SyncState, input: Input, effects: Effect[], random: number): SyncState {
  switch (input.type) {
    case "appended":
      s.outbox = merge(s.outbox, [input.n]);
      return s;
    case "hint":
      return hint(s, input.head, input.shop);
    case "push answered":
      return s.pushing?.request === input.request ? pushAnswered(s, input.answer, effects) : s;
    case "pull answered":
      return s.pulling === input.request ? pullAnswered(s, input.answer, effects) : s;
    case "shop answered":
      return s.shopping === input.request ? shopAnswered(s, input.shop, input.etag, effects) : s;
    case "push failed": case "pull failed": case "shop failed":
      return failed(s, input, effects, random);
    case "session made":
      return sessionMade(s, input.request);
    case "session failed":
      return sessionFailed(s, input.request, input.failure, effects, random);
    case "enrolled":
      return enrolled(s);
    default:
      return Object.assign(s, { held: false, pullDue: true, shopDue: true, lookDue: s.barred });
  }
}

function hint(s: SyncState, head: number, shop: string): SyncState {
  s.held = false;
  if (head !== s.after) s.pullDue = true;
  if (shop !== s.shopVersion) s.shopDue = true;
  return s;
}

function pushAnswered(s: SyncState, answer: PushAnswer, effects: Effect[]): SyncState {
  const sent = s.pushing!.ns;
  s.pushing = null;
  s.batch = BATCH;
  notice(s, answer, effects);
  const marks = answer.results.flatMap(({ index, ...result }) =>
    sent[index] === undefined ? [] : [{ n: sent[index], ...result, upto: answer.head }]);
  const ns = new Set(marks.map((mark) => mark.n));
  s.outbox = s.outbox.filter((n) => !ns.has(n));
  s.acknowledged = merge(s.acknowledged, [...ns]);
  s.contiguous = answer.contiguous;
  s.watermark = answer.watermark;
  s.checkpoint = newerCheckpoint(s.checkpoint, answer.checkpoint);
  const { watermark, contiguous, checkpoint } = s;
  effects.push({ do: "mark", marks, watermark, contiguous, epoch: answer.epoch, checkpoint });
  if (answer.tablet) stand(s, answer.tablet, effects);
  if (answer.head !== s.after) s.pullDue = true;
  return ns.size === 0 && sent.length > 0 ? later(s, "The server gave no outcome.", effects, 0.5) : fine(s, effects);
}

function pullAnswered(s: SyncState, answer: PullAnswer, effects: Effect[]): SyncState {
  s.pulling = null;
  if (restarted(s, answer.epoch, answer.head, effects)) return fine(s, effects);
  const last = answer.events.at(-1)?.seq ?? s.after;
  s.after = answer.more ? Math.max(s.after, last) : Math.max(s.after, answer.head);
  s.pullDue = answer.more;
  effects.push({ do: "keep", events: answer.events, signatures: answer.signatures, after: s.after, epoch: answer.epoch });
  return fine(s, effects);
}

function shopAnswered(s: SyncState, shop: ShopNews | null, etag: string | null, effects: Effect[]): SyncState {
  s.shopping = null;
  if (shop === null) return fine(s, effects);
  Object.assign(s, { shopVersion: shop.version, etag });
  if (restarted(s, shop.epoch, Number.MAX_SAFE_INTEGER, effects)) return fine(s, effects);
  if (s.after === 0 && shop.start > 0) {
    s.after = shop.start;
    effects.push({ do: "keep", events: [], signatures: [], after: shop.start, epoch: shop.epoch });
  }
  return fine(s, effects);
}

/** A server that knows less than it did was restored: everything it may lack goes out again. */
function notice(s: SyncState, answer: PushAnswer, effects: Effect[]): void {
  if (restarted(s, answer.epoch, answer.head, effects)) return;
  const back = answer.watermark !== null && s.watermark !== null && answer.watermark < s.watermark;
  const lost = back ? s.acknowledged : s.acknowledged.filter((n) => n > answer.contiguous && n <= s.contiguous);
  if (lost.length > 0) resend(s, lost, false, effects);
}

function restarted(s: SyncState, epoch: string, head: number, effects: Effect[]): boolean {
  const known = s.epoch;
  s.epoch = epoch;
  if (known === epoch && head >= s.after) return false;
  if (known === null) return false;
  Object.assign(s, { after: 0, pullDue: true, shopDue: true, contiguous: 0, watermark: null, etag: null });
  resend(s, s.acknowledged, true, effects);
  return true;
}

function resend(s: SyncState, ns: number[], pullAgain: boolean, effects: Effect[]): void {
  const again = new Set(ns);
  s.outbox = merge(s.outbox, ns);
  s.acknowledged = s.acknowledged.filter((n) => !again.has(n));
  effects.push({ do: "restored", epoch: s.epoch, resend: ns, pullAgain });
}

function fine(s: SyncState, effects: Effect[]): SyncState {
  Object.assign(s, { fails: 0, turnedAway: 0, reached: true, complaint: null });
  if (!s.held) effects.push({ do: "wait", ms: IDLE_MS });
  return s;
}

type Failed = Extract<Input, { failure: Failure }>;

function failed(s: SyncState, input: Failed, effects: Effect[], random: number): SyncState {
  if (input.type === "push failed" && s.pushing?.request === input.request) {
    s.pushing = null;
    if (input.failure.status === 413) s.batch = Math.max(1, Math.floor(s.batch / 4));
  } else if (input.type === "pull failed" && s.pulling === input.request) {
    Object.assign(s, { pulling: null, pullDue: true });
  } else if (input.type === "shop failed" && s.shopping === input.request) {
    Object.assign(s, { shopping: null, shopDue: true });
  } else return s;
  if (wantsSession(input.failure)) return withoutSession(s, input.request, input.failure.message, effects, random);
  if (isBarred(input.failure)) return barred(s, effects);
  s.reached = input.failure.status !== null;
  return later(s, input.failure.message, effects, random);
}

/** Start whatever is due and not under way. */
function ask(s: SyncState, effects: Effect[]): void {
  if (s.held) return;
  if (s.access !== "open") {
    if (s.entering === null) effects.push({ do: "session", request: (s.entering = s.requests += 1) });
    return;
  }
  if (s.pushing === null && s.outbox.length > 0) {
    s.pushing = { request: (s.requests += 1), ns: s.outbox.slice(0, s.batch) };
    effects.push({ do: "push", ...s.pushing });
  }
  if (s.barred) return lookIn(s, effects);
  if (s.shopping === null && s.shopDue) {
    Object.assign(s, { shopping: (s.requests += 1), shopDue: false });
    effects.push({ do: "shop", request: s.requests, etag: s.etag });
  }
  const startUnknown = s.after === 0 && s.shopping !== null;
  if (s.pulling === null && s.pullDue && !startUnknown) {
    Object.assign(s, { pulling: (s.requests += 1), pullDue: false });
    effects.push({ do: "pull", request: s.requests, after: s.after });
  }
}

/** A tablet that may ask for nothing pushes nothing, to hear whether the server still has what it had. */
function lookIn(s: SyncState, effects: Effect[]): void {
  if (s.pushing !== null || !s.lookDue) return;
  Object.assign(s, { lookDue: false, pushing: { request: (s.requests += 1), ns: [] } });
  effects.push({ do: "push", ...s.pushing! });
}

function merge(into: number[], ns: readonly number[]): number[] {
  return [...new Set([...into, ...ns])].sort((a, b) => a - b);
}
