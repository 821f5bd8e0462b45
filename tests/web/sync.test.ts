import assert from "node:assert/strict";
import { test } from "node:test";

import { advance, begin } from "../../web/src/shared/core/sync.ts";
import type { Effect, Failure, PushAnswer, Result, ShopNews, SyncState } from "../../web/src/shared/core/sync.ts";
import { FRESH, refusal } from "./play.ts";

const pushed = (state: SyncState): SyncState =>
  advance(state, { type: "appended", n: 1 }, 0).state;

const stored = (index: number): Result => ({ index, outcome: "stored", seq: 1, flags: [], message: null });

test("an event stays in the outbox until its own outcome came back", () => {
  const state = pushed(begin(FRESH));
  const request = state.pushing!.request;
  const answerWithout: PushAnswer = { epoch: "e", watermark: null, contiguous: 0, head: 0, time: "", results: [] };
  const silent = advance(state, { type: "push answered", request, answer: answerWithout }, 0);
  assert.deepEqual(silent.state.outbox, [1]);
  const told = advance(state, { type: "push answered", request, answer: { ...answerWithout, results: [stored(0)] } }, 0);
  assert.deepEqual(told.state.outbox, []);
});

test("an answer to a request that is no longer under way changes nothing", () => {
  const state = pushed(begin(FRESH));
  const answer: PushAnswer = { epoch: "e", watermark: null, contiguous: 1, head: 1, time: "", results: [stored(0)] };
  const moved = advance(state, { type: "push answered", request: 999, answer }, 0);
  assert.deepEqual(moved.state.outbox, [1]);
});

test("a server that has forgotten events gets them again", () => {
  const known = { ...FRESH, epoch: "e", contiguous: 3, acknowledged: [1, 2, 3], outbox: [4], after: 3 };
  const { state } = advance(begin(known), { type: "timer" }, 0);
  const answer: PushAnswer = { epoch: "e", watermark: null, contiguous: 1, head: 3, time: "", results: [] };
  const moved = advance(state, { type: "push answered", request: state.pushing!.request, answer }, 0);
  assert.deepEqual(moved.state.outbox, [2, 3, 4]);
});

test("a batch that is too large for the server is cut", () => {
  const outbox = Array.from({ length: 100 }, (_, i) => i + 1);
  const { state } = advance(begin({ ...FRESH, outbox }), { type: "start" }, 0);
  const failure = refusal(413);
  const moved = advance(state, { type: "push failed", request: state.pushing!.request, failure }, 0);
  const again = advance(moved.state, { type: "timer" }, 0);
  assert.equal(again.state.pushing!.ns.length, 25);
});

test("retries come at growing distances and never further apart than a quarter minute", () => {
  let state = begin({ ...FRESH, outbox: [1] });
  const waits: number[] = [];
  for (let i = 0; i < 8; i += 1) {
    state = advance(state, { type: "timer" }, 0).state;
    const failure = refusal(null);
    const moved = advance(state, { type: "push failed", request: state.pushing!.request, failure }, 0.999);
    state = moved.state;
    waits.push(...moved.effects.flatMap((effect) => (effect.do === "wait" ? [effect.ms] : [])));
  }
  assert.ok(waits[0]! < waits[1]! && waits[1]! < waits[2]!);
  assert.ok(Math.max(...waits) <= 15_000);
});

test("a tablet new to the shop begins to pull where the shop says, and not before it knows", () => {
  const first = advance(begin(FRESH), { type: "start" }, 0);
  assert.deepEqual(first.effects.map((effect) => effect.do), ["shop"]);
  const request = first.state.shopping!;
  const news: ShopNews = { version: "1", epoch: "e", start: 40 };
  const told = advance(first.state, { type: "shop answered", request, etag: "1", shop: news }, 0);
  assert.deepEqual(told.effects.find((effect) => effect.do === "pull"), { do: "pull", request: request + 1, after: 40 });
});

test("a tablet that has pulled before goes on where it was", () => {
  const first = advance(begin({ ...FRESH, epoch: "e", after: 7 }), { type: "start" }, 0);
  assert.equal(first.effects.find((effect) => effect.do === "pull")?.after, 7);
  const news: ShopNews = { version: "1", epoch: "e", start: 40 };
  const told = advance(first.state, { type: "shop answered", request: first.state.shopping!, etag: "1", shop: news }, 0);
  assert.equal(told.state.after, 7);
});

test("a shop of another epoch makes the tablet send again what the server may lack", () => {
  const known = { ...FRESH, epoch: "e1", after: 7, acknowledged: [1, 2] };
  const first = advance(begin(known), { type: "start" }, 0);
  const news: ShopNews = { version: "2", epoch: "e2", start: 3 };
  const told = advance(first.state, { type: "shop answered", request: first.state.shopping!, etag: "2", shop: news }, 0);
  assert.deepEqual(told.state.outbox, [1, 2]);
  assert.equal(told.state.epoch, "e2");
});

const NOT_ENROLLED = refusal(401, "not-enrolled");
const CHECKPOINT = { seq: 9, count: 9, head: "ab", epoch: "e", at: "", why: "daily", key: "k", signature: "s" };
const EMPTY: PushAnswer = { epoch: "e", watermark: null, contiguous: 0, head: 0, time: "", results: [] };

const did = (effects: readonly Effect[]): string[] => effects.map((effect) => effect.do);

/** A tablet that has worked before, whose first request met no session. */
function turnedAway(failure: Failure = NOT_ENROLLED) {
  const first = advance(begin({ ...FRESH, epoch: "e", after: 7, outbox: [1] }), { type: "start" }, 0);
  return advance(first.state, { type: "push failed", request: first.state.pushing!.request, failure }, 0);
}

test("a request without a session asks for one at once, and only for one", () => {
  const away = turnedAway();
  assert.deepEqual(did(away.effects), ["session"]);
  const { pulling } = away.state;
  const again = advance(away.state, { type: "pull failed", request: pulling!, failure: NOT_ENROLLED }, 0);
  assert.deepEqual(did(again.effects), []);
});

test("a session of another tablet is no session either", () => {
  assert.deepEqual(did(turnedAway(refusal(403, "other-tablet")).effects), ["session"]);
});

test("once the session is made, what was turned away goes out again", () => {
  const { state } = turnedAway();
  const made = advance(state, { type: "session made", request: state.entering! }, 0);
  assert.equal(made.effects.find((effect) => effect.do === "push")?.ns[0], 1);
  assert.deepEqual(made.state.outbox, [1]);
});

test("a refusal of a request that is older than the session asks for no second one", () => {
  const { state } = turnedAway();
  const { pulling } = state;
  const made = advance(state, { type: "session made", request: state.entering! }, 0);
  const late = advance(made.state, { type: "pull failed", request: pulling!, failure: NOT_ENROLLED }, 0);
  assert.deepEqual(did(late.effects), ["pull"]);
});

test("a session that lets nothing in is not asked for in a storm", () => {
  const { state } = turnedAway();
  const made = advance(state, { type: "session made", request: state.entering! }, 0);
  const again = advance(made.state, { type: "push failed", request: made.state.pushing!.request, failure: NOT_ENROLLED }, 0);
  assert.deepEqual(did(again.effects), ["wait"]);
  assert.deepEqual(did(advance(again.state, { type: "timer" }, 0).effects), ["session"]);
});

test("a server that does not know the tablet is left alone for a while, and nothing leaves the outbox", () => {
  const { state } = turnedAway();
  const refused = advance(state, { type: "session failed", request: state.entering!, failure: NOT_ENROLLED }, 0.5);
  assert.equal(refused.state.access, "refused");
  assert.deepEqual(did(refused.effects), ["wait"]);
  const wrote = advance(refused.state, { type: "appended", n: 2 }, 0);
  assert.deepEqual(did(wrote.effects), []);
  assert.deepEqual(wrote.state.outbox, [1, 2]);
  assert.deepEqual(did(advance(wrote.state, { type: "timer" }, 0).effects), ["session"]);
});

test("an enrolled tablet makes its session first and then sends all it has kept", () => {
  const { state } = turnedAway();
  const refused = advance(state, { type: "session failed", request: state.entering!, failure: NOT_ENROLLED }, 0).state;
  const enrolled = advance(refused, { type: "enrolled" }, 0);
  assert.deepEqual(did(enrolled.effects), ["session"]);
  const made = advance(enrolled.state, { type: "session made", request: enrolled.state.entering! }, 0);
  assert.ok(did(made.effects).includes("push"));
});

test("a revoked tablet hands in what it has and asks for nothing more", () => {
  const first = advance(begin({ ...FRESH, epoch: "e", after: 7 }), { type: "start" }, 0);
  const revoked = refusal(403, "tablet-revoked");
  const told = advance(first.state, { type: "pull failed", request: first.state.pulling!, failure: revoked }, 0);
  assert.deepEqual(told.effects.filter((effect) => effect.do !== "wait"), [{ do: "stand", standing: "revoked" }]);
  const shop = advance(told.state, { type: "shop failed", request: told.state.shopping!, failure: revoked }, 0);
  assert.deepEqual(did(advance(shop.state, { type: "appended", n: 1 }, 0).effects), ["push"]);
});

test("a revoked tablet with nothing to hand in still finds out that the server was restored", () => {
  const known = { ...FRESH, epoch: "e1", contiguous: 2, acknowledged: [1, 2], after: 2 };
  const first = advance(begin(known), { type: "start" }, 0);
  const told = advance(first.state, { type: "pull failed", request: first.state.pulling!, failure: refusal(403, "tablet-revoked") }, 0);
  const looked = advance(told.state, { type: "timer" }, 0);
  assert.deepEqual(looked.effects.find((effect) => effect.do === "push")?.ns, []);
  const answer: PushAnswer = { ...EMPTY, epoch: "e2", head: 1, tablet: "revoked" };
  const restored = advance(looked.state, { type: "push answered", request: looked.state.pushing!.request, answer }, 0);
  assert.deepEqual(restored.effects.find((effect) => effect.do === "push")?.ns, [1, 2]);
});

test("the standing that comes with an outcome is kept, and an older server leaves it as it was", () => {
  const state = pushed(begin(FRESH));
  const forked = advance(state, { type: "push answered", request: state.pushing!.request, answer: { ...EMPTY, results: [stored(0)], tablet: "forked" } }, 0);
  assert.ok(forked.effects.some((effect) => effect.do === "stand" && effect.standing === "forked"));
  const next = advance(forked.state, { type: "appended", n: 2 }, 0).state;
  const older = advance(next, { type: "push answered", request: next.pushing!.request, answer: { ...EMPTY, results: [stored(0)] } }, 0);
  assert.equal(older.state.standing, "forked");
});

test("the newest checkpoint is kept with the outcomes; none, an older one and an older server change nothing", () => {
  let state = pushed(begin(FRESH));
  for (const [checkpoint, wanted] of [[CHECKPOINT, 9], [null, 9], [{ ...CHECKPOINT, seq: 4 }, 9], [{ ...CHECKPOINT, seq: 12 }, 12], [{ ...CHECKPOINT, seq: 3, epoch: "f" }, 3]] as const) {
    const answer = { ...EMPTY, results: [stored(0)], checkpoint };
    const told = advance(state, { type: "push answered", request: state.pushing!.request, answer }, 0);
    assert.equal(told.effects.find((effect) => effect.do === "mark")?.checkpoint?.seq, wanted);
    state = advance(told.state, { type: "appended", n: 1 }, 0).state;
  }
});
