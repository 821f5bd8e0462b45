/** A server and a tablet's disk in memory, and chance that plays with what passes between them. */

import { advance, begin } from "../../web/src/shared/core/sync.ts";
import type {
  Checkpoint, Effect, Failure, Input, PullAnswer, PushAnswer, Remembered, Result, ShopNews, Standing, SyncState,
} from "../../web/src/shared/core/sync.ts";

export const FRESH: Remembered = {
  epoch: null, watermark: null, contiguous: 0, checkpoint: null, standing: "in use",
  outbox: [], acknowledged: [], after: 0, etag: null, shopVersion: null,
};

export type Asked = Extract<Effect, { request: number }>;
export type Random = () => number;

export function generator(seed: number): Random {
  let a = seed;
  return () => {
    a = (a + 0x6d2b79f5) | 0;
    let t = Math.imul(a ^ (a >>> 15), 1 | a);
    t = (t + Math.imul(t ^ (t >>> 7), 61 | t)) ^ t;
    return ((t ^ (t >>> 14)) >>> 0) / 4294967296;
  };
}

export const refusal = (status: number | null, code: string | null = null): Failure => ({ status, code, message: code ?? "lost" });

/** One line of the server's log; its place is its number. The journal has numbers of its own kind. */
type Line = { n: number; aside: boolean } | null;

interface Past { log: Line[]; known: boolean }

/** Keeps each event once, lets in whom it knows, and can be put back to any earlier moment. */
export class Shop {
  epoch = "e1";
  log: Line[] = [];
  known = true;
  session = true;
  revoked = false;
  watermark: number | null = null;
  backup: Past = { log: [], known: true };
  /** Every event that ever had an outcome, whatever became of the server since. */
  readonly answered = new Set<number>();
  private readonly past: Past[] = [];

  get events(): number[] {
    return this.log.flatMap((line) => (line ? [line.n] : []));
  }

  accept(ns: readonly number[]): PushAnswer {
    const results = ns.map((n, index) => this.one(n, index));
    this.past.push(this.now());
    const tablet: Standing = this.revoked ? "revoked" : "in use";
    return {
      epoch: this.epoch, watermark: this.watermark, contiguous: this.contiguous(), head: this.log.length, time: "", results,
      tablet, checkpoint: this.checkpoint(),
    };
  }

  /** Every seventeenth event is one this server cannot read. */
  private one(n: number, index: number): Result {
    this.answered.add(n);
    const aside = n % 17 === 0;
    const already = this.events.includes(n);
    if (!already) this.log.push({ n, aside });
    if (aside) return { index, outcome: "set aside", seq: null, flags: [], message: "odd" };
    const seq = this.log.findIndex((line) => line?.n === n) + 1;
    return { index, outcome: already ? "already" : "stored", seq, flags: [], message: null };
  }

  pull(after: number): PullAnswer {
    const events = this.log.slice(after).flatMap((line, i) =>
      line && !line.aside ? [{ seq: after + i + 1, text: String(line.n), flags: [] }] : []);
    return { epoch: this.epoch, head: this.log.length, more: false, time: "", events, signatures: [] };
  }

  news(): ShopNews {
    return { version: this.epoch, epoch: this.epoch, start: Math.floor(this.log.length / 2) };
  }

  contiguous(): number {
    const stored = new Set(this.log.flatMap((line) => (line && !line.aside ? [line.n] : [])));
    let n = 0;
    while (stored.has(n + 1)) n += 1;
    return n;
  }

  checkpoint(): Checkpoint {
    const seq = this.log.length;
    return { seq, count: seq, head: `${this.epoch}/${seq}`, epoch: this.epoch, at: "", why: "daily", key: "k", signature: "s" };
  }

  /** What the server says to a tablet before it looks at what is asked; null lets it in. */
  door(asked: Asked): Failure | null {
    if (asked.do === "session") return this.known ? null : refusal(401, "not-enrolled");
    if (!this.session) return refusal(401, "not-enrolled");
    return this.revoked && asked.do !== "push" ? refusal(403, "tablet-revoked") : null;
  }

  back_up(): void {
    this.watermark = this.log.length;
    this.backup = this.now();
  }

  restore(random: Random): void {
    this.restoreTo(this.past[Math.floor(random() * this.past.length)] ?? this.now());
  }

  /** A journal line says that it was restored, and a new epoch begins. */
  restoreTo({ log, known }: Past): void {
    Object.assign(this, { log: [...log, null], known, session: false, watermark: null });
    this.epoch = `e${Number(this.epoch.slice(1)) + 1}`;
  }

  private now(): Past {
    return { log: [...this.log], known: this.known };
  }
}

export interface Row { outcome: Result["outcome"] | null; seq: number | null; upto: number | null; atMs: number }

/** What would be on a tablet's disk, written in the order of the effects. */
export class Tablet {
  state: SyncState = begin(FRESH);
  rows = new Map<number, Row>();
  last = 0;
  memory: Omit<Remembered, "outbox" | "acknowledged"> = { ...FRESH };
  wire: Asked[] = [];
  asked: Asked["do"][] = [];

  get shown(): number[] {
    return [...this.rows].filter(([, row]) => row.outcome !== null).map(([n]) => n);
  }

  write(atMs: number, random: Random): void {
    this.last += 1;
    this.rows.set(this.last, { outcome: null, seq: null, upto: null, atMs });
    this.feed({ type: "appended", n: this.last }, random);
  }

  feed(input: Input, random: Random): void {
    const { state, effects } = advance(this.state, input, random());
    this.state = state;
    for (const effect of effects) this.execute(effect);
  }

  private execute(effect: Effect): void {
    switch (effect.do) {
      case "mark":
        for (const { n, outcome, seq, upto } of effect.marks) this.rows.set(n, { ...this.rows.get(n)!, outcome, seq, upto });
        Object.assign(this.memory, {
          epoch: effect.epoch, contiguous: effect.contiguous, watermark: effect.watermark, checkpoint: effect.checkpoint,
        });
        return;
      case "restored":
        for (const n of effect.resend) if (this.rows.has(n)) this.rows.set(n, { ...this.rows.get(n)!, outcome: null, seq: null, upto: null });
        if (effect.pullAgain) Object.assign(this.memory, { after: 0, contiguous: 0, watermark: null, etag: null });
        this.memory.epoch = effect.epoch;
        return;
      case "keep":
        Object.assign(this.memory, { after: effect.after, epoch: effect.epoch });
        return;
      case "stand":
        this.memory.standing = effect.standing;
        return;
      case "wait":
        return;
      default:
        this.wire.push(effect);
        this.asked.push(effect.do);
    }
  }

  /** Killed and started again: what was under way is forgotten, what was on disk is known. */
  restart(random: Random): void {
    this.wire = [];
    const all = [...this.rows];
    const outbox = all.filter(([, row]) => row.outcome === null).map(([n]) => n);
    const acknowledged = all.filter(([, row]) => row.outcome !== null).map(([n]) => n);
    this.state = begin({ ...this.memory, outbox, acknowledged });
    this.feed({ type: "start" }, random);
  }
}

/** One request meets the server: lost on the way, lost on the way back, doubled, or answered. */
export function deliver(tablet: Tablet, shop: Shop, random: Random): void {
  const at = Math.floor(random() * tablet.wire.length);
  const luck = random();
  const asked = luck > 0.15 ? tablet.wire.splice(at, 1)[0]! : tablet.wire[at]!;
  answer(tablet, shop, asked, luck, random);
}

export function answer(tablet: Tablet, shop: Shop, asked: Asked, luck: number, random: Random): void {
  const { request, do: kind } = asked;
  if (luck < 0.22 && luck > 0.18) return fail(tablet, asked, refusal(null), random);
  const closed = shop.door(asked);
  if (closed) return fail(tablet, asked, closed, random);
  if (kind === "session") shop.session = true;
  const pushed = kind === "push" ? shop.accept(asked.ns) : null;
  if (luck < 0.3 && luck > 0.22) return fail(tablet, asked, refusal(null), random);
  if (pushed) tablet.feed({ type: "push answered", request, answer: pushed }, random);
  else if (kind === "shop") tablet.feed({ type: "shop answered", request, etag: shop.epoch, shop: shop.news() }, random);
  else if (kind === "pull") tablet.feed({ type: "pull answered", request, answer: shop.pull(asked.after) }, random);
  else tablet.feed({ type: "session made", request }, random);
}

function fail(tablet: Tablet, { request, do: kind }: Asked, failure: Failure, random: Random): void {
  tablet.feed({ type: `${kind} failed`, request, failure }, random);
}

/** Nothing goes wrong any more: everything is delivered until nobody has anything to say. */
export function settle(tablet: Tablet, shop: Shop): void {
  const calm: Random = () => 0.5;
  for (let round = 0; round < 60; round += 1) {
    tablet.feed({ type: "timer" }, calm);
    for (let left = 200; tablet.wire.length > 0 && left > 0; left -= 1) answer(tablet, shop, tablet.wire.shift()!, 1, calm);
  }
}
