import assert from "node:assert/strict";
import { test } from "node:test";

import { advance, begin } from "../../web/src/shared/core/sync.ts";
import type { Effect, Input, PullAnswer, PushAnswer, Result, ShopNews, SyncState } from "../../web/src/shared/core/sync.ts";

const FRESH = {
  epoch: null, watermark: null, contiguous: 0, outbox: [], acknowledged: [], after: 0, etag: null, shopVersion: null,
};

function generator(seed: number): () => number {
  let a = seed;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

/** A server that keeps each event once and can be put back to an earlier day. */
class Shop {
  epoch = "e1";
  kept: number[] = [];
  accept(ns: readonly number[]): PushAnswer {
    const results: Result[] = ns.map((n, index) => {
      const already = this.kept.includes(n);
      if (!already) this.kept.push(n);
      return { index, outcome: already ? "already" : "stored", seq: this.kept.indexOf(n) + 1, flags: [], message: null };
    });
    return { epoch: this.epoch, watermark: null, contiguous: this.contiguous(), head: this.kept.length, time: "", results };
  }
  pull(after: number): PullAnswer {
    const events = this.kept.slice(after).map((n, i) => ({ seq: after + i + 1, text: String(n), flags: [] }));
    return { epoch: this.epoch, head: this.kept.length, more: false, time: "", events, signatures: [] };
  }
  news(): ShopNews {
    return { version: this.epoch, epoch: this.epoch, start: Math.floor(this.kept.length / 2) };
  }
  contiguous(): number {
    let n = 0;
    while (this.kept.includes(n + 1)) n += 1;
    return n;
  }
  restore(random: () => number): void {
    this.kept = this.kept.slice(0, Math.floor(random() * (this.kept.length + 1)));
    this.epoch = `e${Number(this.epoch.slice(1)) + 1}`;
  }
}

/** A tablet's disk: which events it has, and which it shows as being on the server. */
class Tablet {
  state: SyncState = begin(FRESH);
  events: number[] = [];
  marked = new Set<number>();
  memory = { epoch: null as string | null, contiguous: 0, after: 0 };
  wire: Extract<Effect, { request: number }>[] = [];
  feed(input: Input, random: () => number): void {
    const { state, effects } = advance(this.state, input, random());
    this.state = state;
    for (const effect of effects) this.execute(effect);
  }
  execute(effect: Effect): void {
    if (effect.do === "mark") {
      effect.marks.forEach(({ n }) => this.marked.add(n));
      Object.assign(this.memory, { epoch: effect.epoch, contiguous: effect.contiguous });
    } else if (effect.do === "restored") {
      effect.resend.forEach((n) => this.marked.delete(n));
      Object.assign(this.memory, { epoch: effect.epoch, after: effect.pullAgain ? 0 : this.memory.after });
    } else if (effect.do === "keep") Object.assign(this.memory, { after: effect.after, epoch: effect.epoch });
    else if (effect.do !== "wait") this.wire.push(effect);
  }
  restart(): void {
    this.wire = [];
    const outbox = this.events.filter((n) => !this.marked.has(n));
    const acknowledged = this.events.filter((n) => this.marked.has(n));
    this.state = begin({ ...FRESH, ...this.memory, outbox, acknowledged });
  }
}

function deliver(tablet: Tablet, shop: Shop, random: () => number): void {
  const at = Math.floor(random() * tablet.wire.length);
  const asked = tablet.wire[at]!;
  const luck = random();
  if (luck > 0.15) tablet.wire.splice(at, 1);
  answer(tablet, shop, asked, luck, random);
}

function answer(tablet: Tablet, shop: Shop, asked: Extract<Effect, { request: number }>, luck: number, random: () => number) {
  const request = asked.request;
  const kind = asked.do;
  if (kind === "shop") tablet.feed({ type: "shop answered", request, etag: shop.epoch, shop: shop.news() }, random);
  else if (luck < 0.3) {
    if (luck < 0.22 && kind === "push") shop.accept(asked.ns);
    tablet.feed({ type: `${kind} failed`, request, failure: { status: null, message: "lost" } }, random);
  } else if (kind === "push") tablet.feed({ type: "push answered", request, answer: shop.accept(asked.ns) }, random);
  else tablet.feed({ type: "pull answered", request, answer: shop.pull(asked.after) }, random);
}

function settle(tablet: Tablet, shop: Shop): void {
  const calm = () => 0.5;
  for (let round = 0; round < 60; round += 1) {
    tablet.feed({ type: "timer" }, calm);
    while (tablet.wire.length > 0) answer(tablet, shop, tablet.wire.shift()!, 1, calm);
  }
}

test("whatever is lost, doubled, reordered, killed or restored, every event ends on the server once", () => {
  for (let seed = 1; seed <= 400; seed += 1) {
    const random = generator(seed);
    const shop = new Shop();
    const tablet = new Tablet();
    for (let move = 0; move < 120; move += 1) {
      const dice = random();
      if (dice < 0.25) {
        tablet.events.push(tablet.events.length + 1);
        tablet.feed({ type: "appended", n: tablet.events.length }, random);
      } else if (dice < 0.8 && tablet.wire.length > 0) deliver(tablet, shop, random);
      else if (dice < 0.83) tablet.restart();
      else if (dice < 0.85) shop.restore(random);
      else tablet.feed({ type: "timer" }, random);
    }
    settle(tablet, shop);
    const sorted = [...shop.kept].sort((a, b) => a - b);
    assert.deepEqual(sorted, tablet.events, `seed ${seed}: the server's events`);
    assert.equal(tablet.marked.size, tablet.events.length, `seed ${seed}: marked on the tablet`);
    assert.deepEqual(tablet.state.outbox, [], `seed ${seed}: the outbox`);
  }
});

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
  const failure = { status: 413, message: "too large" };
  const moved = advance(state, { type: "push failed", request: state.pushing!.request, failure }, 0);
  const again = advance(moved.state, { type: "timer" }, 0);
  assert.equal(again.state.pushing!.ns.length, 25);
});

test("retries come at growing distances and never further apart than a quarter minute", () => {
  let state = begin({ ...FRESH, outbox: [1] });
  const waits: number[] = [];
  for (let i = 0; i < 8; i += 1) {
    state = advance(state, { type: "timer" }, 0).state;
    const failure = { status: null, message: "no route" };
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
