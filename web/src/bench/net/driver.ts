import type { Log } from "../store/log.ts";
import type { Identity, OtherRow, OwnRow } from "../store/db.ts";
import { advance, begin } from "../../shared/core/sync.ts";
import type { Effect, Failure, Input, Marked, Remembered, SyncState, Verdict } from "../../shared/core/sync.ts";
import { offsetFrom } from "../../shared/core/time.ts";
import type { ShopData } from "../../shared/core/types.ts";
import { eventProof } from "../../shared/core/enrol.ts";
import { Hints } from "./hints.ts";
import { signText } from "./keys.ts";
import { makeSession } from "./session.ts";
import { pull, push, seenOf, shop } from "./transport.ts";

export interface Watcher {
  marked(marks: readonly Marked[]): void;
  restored(resend: readonly number[], pullAgain: boolean): void;
  pulled(rows: readonly OtherRow[], verdicts: readonly Verdict[]): void;
  shop(shop: ShopData): void;
  merge(shop: ShopData): ShopData;
  moved(state: SyncState): void;
  failed(reason: unknown): void;
  /** The server's clock is known for the first time since the start. */
  timed(): void;
}

type DiskEffect = Extract<Effect, { do: "mark" | "stand" | "restored" | "keep" }>;

/** Carries out what the sync machine asks for; disk writes run one after another, in order. */
export class Driver {
  private state: SyncState;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private disk: Promise<void> = Promise.resolve();
  private stuck = false;
  private unrestored = false;
  private started = false;
  private timed = false;
  private readonly log: Log;
  private readonly tablet: string;
  private readonly identity: Identity | null;
  private readonly watcher: Watcher;
  private readonly hints = new Hints(
    (head, version) => this.feed({ type: "hint", head, shop: version }), () => this.feed({ type: "nudge" }),
  );

  constructor(log: Log, tablet: string, identity: Identity | null, known: Remembered, watcher: Watcher) {
    this.log = log;
    this.tablet = tablet;
    this.identity = identity;
    this.watcher = watcher;
    this.state = begin(known);
  }

  start(): void {
    this.started = true;
    addEventListener("online", () => this.feed({ type: "nudge" }));
    document.addEventListener("visibilitychange", () => {
      if (!document.hidden) this.feed({ type: "nudge" });
    });
    this.feed({ type: "start" });
  }

  /** Enrolled just now; the first start may have waited for it. */
  enrolled(): void {
    this.feed({ type: "enrolled" });
    if (!this.started) this.start();
  }

  feed(input: Input): void {
    const { state, effects } = advance(this.state, input, Math.random());
    this.state = state;
    for (const effect of effects) this.execute(effect);
    this.watcher.moved(state);
  }

  private execute(effect: Effect): void {
    switch (effect.do) {
      case "wait":
        clearTimeout(this.timer);
        this.timer = setTimeout(() => this.feed({ type: "timer" }), effect.ms);
        return;
      case "push":
        return void this.push(effect.request, effect.ns);
      case "pull":
        return void this.pull(effect.request, effect.after);
      case "shop":
        return void this.shop(effect.request, effect.etag);
      case "session":
        return void this.session(effect.request);
      default:
        this.write(effect);
    }
  }

  /**
   * What the disk refuses stays as it was there: unmarked events go out again after a restart, and after a
   * refused page of others' records no later page is written, so that the cursor never runs ahead of them.
   * After a restore that could not be noted nothing is: the old epoch on disk makes the next start send all again.
   */
  private write(effect: DiskEffect): void {
    this.disk = this.disk.then(() => this.put(effect)).catch((reason: unknown) => {
      this.unrestored ||= effect.do === "restored";
      this.stuck ||= this.unrestored || effect.do === "keep";
      this.watcher.failed(reason);
    });
  }

  private async put(effect: DiskEffect): Promise<void> {
    if (effect.do === "mark") {
      if (this.unrestored) return;
      const { marks, watermark, contiguous, epoch, checkpoint } = effect;
      await this.log.mark(marks, { watermark, contiguous, epoch, checkpoint, offsetMs: this.log.offsetMs });
      this.watcher.marked(marks);
    } else if (effect.do === "stand") {
      await this.log.remember({ standing: effect.standing });
    } else if (effect.do === "restored") {
      await this.log.restored(effect.resend, effect.pullAgain, effect.epoch);
      this.watcher.restored(effect.resend, effect.pullAgain);
    } else if (!this.stuck) {
      const rows = await this.log.keep(effect.events, effect.signatures, effect.after, effect.epoch);
      this.watcher.pulled(rows, effect.signatures);
    }
  }

  private async push(request: number, ns: number[]): Promise<void> {
    const rows = await this.log.rows(ns).catch(() => null);
    if (rows === null || rows.length !== ns.length) return this.fail("push failed", request, UNREADABLE);
    const sigs = await this.signed(rows);
    const seen = seenOf(this.state.checkpoint);
    const events = rows.map((row) => row.text);
    const reply = await push({ tablet: this.tablet, build: this.log.build, events, sigs, seen });
    if (!reply.ok) return this.fail("push failed", request, reply.failure);
    this.clock(reply.body.time);
    this.feed({ type: "push answered", request, answer: reply.body });
  }

  /** A signature for each row, kept with it; made here and not at the tap, which must not wait for it. */
  private async signed(rows: readonly OwnRow[]): Promise<(string | null)[]> {
    const { identity } = this;
    if (identity === null) return rows.map((row) => row.sig ?? null);
    const made = new Map<number, string>();
    for (const { n, hash, sig } of rows) if (!sig) made.set(n, await signText(identity, eventProof(hash)));
    if (made.size > 0) await this.log.sign(made).catch((reason: unknown) => this.watcher.failed(reason));
    return rows.map((row) => row.sig ?? made.get(row.n)!);
  }

  private async session(request: number): Promise<void> {
    const failure = await makeSession(this.tablet, this.identity).catch((reason: unknown): Failure =>
      ({ status: null, code: null, message: String(reason) }));
    if (failure) this.feed({ type: "session failed", request, failure });
    else this.feed({ type: "session made", request });
  }

  private async pull(request: number, after: number): Promise<void> {
    const reply = await pull(after);
    if (!reply.ok) return this.fail("pull failed", request, reply.failure);
    this.clock(reply.body.time);
    this.hints.listen();
    this.feed({ type: "pull answered", request, answer: reply.body });
  }

  private async shop(request: number, etag: string | null): Promise<void> {
    const reply = await shop(etag);
    if (!reply.ok) return this.fail("shop failed", request, reply.failure);
    if (reply.shop) {
      const merged = this.watcher.merge(reply.shop);
      await this.log.keepShop(merged, reply.etag).catch((reason: unknown) => this.watcher.failed(reason));
      this.watcher.shop(merged);
    }
    this.feed({ type: "shop answered", request, etag: reply.etag, shop: reply.shop ?? null });
  }

  private fail(type: "push failed" | "pull failed" | "shop failed", request: number, failure: Failure): void {
    this.feed({ type, request, failure });
  }

  private clock(serverTime: string): void {
    this.log.offsetMs = offsetFrom(serverTime, this.log.clock.now());
    if (!this.timed) this.watcher.timed();
    this.timed = true;
  }
}

const UNREADABLE: Failure = { status: null, code: null, message: "This tablet's storage did not give the records back." };
