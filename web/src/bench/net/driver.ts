import type { Log } from "../store/log.ts";
import type { OtherRow } from "../store/db.ts";
import { advance, begin } from "../../shared/core/sync.ts";
import type { Effect, Failure, Input, Marked, Remembered, SyncState, Verdict } from "../../shared/core/sync.ts";
import { offsetFrom } from "../../shared/core/time.ts";
import type { ShopData } from "../../shared/core/types.ts";
import { listen } from "./hints.ts";
import { pull, push, shop } from "./transport.ts";

export interface Watcher {
  marked(marks: readonly Marked[]): void;
  restored(resend: readonly number[], pullAgain: boolean): void;
  pulled(rows: readonly OtherRow[], verdicts: readonly Verdict[]): void;
  shop(shop: ShopData): void;
  merge(shop: ShopData): ShopData;
  moved(state: SyncState): void;
  failed(reason: unknown): void;
}

/** Carries out what the sync machine asks for; disk writes run one after another, in order. */
export class Driver {
  private state: SyncState;
  private timer: ReturnType<typeof setTimeout> | undefined;
  private disk: Promise<void> = Promise.resolve();
  private stuck = false;
  private readonly log: Log;
  private readonly tablet: string;
  private readonly watcher: Watcher;

  constructor(log: Log, tablet: string, known: Remembered, watcher: Watcher) {
    this.log = log;
    this.tablet = tablet;
    this.watcher = watcher;
    this.state = begin(known);
  }

  start(): void {
    listen((head, version) => this.feed({ type: "hint", head, shop: version }), () => this.feed({ type: "nudge" }));
    addEventListener("online", () => this.feed({ type: "nudge" }));
    document.addEventListener("visibilitychange", () => {
      if (!document.hidden) this.feed({ type: "nudge" });
    });
    this.feed({ type: "start" });
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
      default:
        this.write(effect);
    }
  }

  /**
   * What the disk refuses stays as it was there: unmarked events go out again after a restart, and after a
   * refused page of others' records no later page is written, so that the cursor never runs ahead of them.
   */
  private write(effect: Extract<Effect, { do: "mark" | "restored" | "keep" }>): void {
    this.disk = this.disk.then(() => this.put(effect)).catch((reason: unknown) => {
      this.stuck ||= effect.do !== "mark";
      this.watcher.failed(reason);
    });
  }

  private async put(effect: Extract<Effect, { do: "mark" | "restored" | "keep" }>): Promise<void> {
    if (effect.do === "mark") {
      const { marks, watermark, contiguous, epoch } = effect;
      await this.log.mark(marks, { watermark, contiguous, epoch, offsetMs: this.log.offsetMs });
      this.watcher.marked(marks);
    } else if (effect.do === "restored") {
      await this.log.restored(effect.resend, effect.pullAgain, effect.epoch);
      this.watcher.restored(effect.resend, effect.pullAgain);
    } else if (!this.stuck) {
      const rows = await this.log.keep(effect.events, effect.signatures, effect.after, effect.epoch);
      this.watcher.pulled(rows, effect.signatures);
    }
  }

  private async push(request: number, ns: number[]): Promise<void> {
    const texts = await this.log.texts(ns).catch(() => null);
    if (texts === null || texts.length !== ns.length) return this.fail("push failed", request, UNREADABLE);
    const reply = await push(this.tablet, this.log.build, texts);
    if (!reply.ok) return this.fail("push failed", request, reply.failure);
    this.clock(reply.body.time);
    this.feed({ type: "push answered", request, answer: reply.body });
  }

  private async pull(request: number, after: number): Promise<void> {
    const reply = await pull(after);
    if (!reply.ok) return this.fail("pull failed", request, reply.failure);
    this.clock(reply.body.time);
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
  }
}

const UNREADABLE: Failure = { status: null, message: "This tablet's storage did not give the records back." };
