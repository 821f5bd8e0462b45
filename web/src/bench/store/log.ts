import { FIRST_PREV, freeze, hashText, parseEvent } from "../../shared/core/events.ts";
import type { BenchEvent, Said } from "../../shared/core/events.ts";
import { mayGo } from "../../shared/core/keeping.ts";
import type { Marked, Pulled, Verdict } from "../../shared/core/sync.ts";
import type { Clock, RandomBytes } from "../../shared/core/time.ts";
import { uuid7 } from "../../shared/core/time.ts";
import type { ShopData } from "../../shared/core/types.ts";
import { ONE, STRICT, openBench } from "./db.ts";
import type { BenchDb, Chain, Here, OtherRow, OwnRow, ServerMemory } from "./db.ts";

export interface Written { event: BenchEvent; hash: string }

export const NO_SERVER: ServerMemory = {
  epoch: null, watermark: null, contiguous: 0, after: 0, etag: null, shopVersion: null, offsetMs: null,
  checkpoint: null, standing: "in use",
};

/** The tablet's records: one event a transaction, strict, with its number and its link to the one before. */
export class Log {
  readonly clock: Clock;
  readonly random: RandomBytes;
  readonly build: string;
  private db: BenchDb | null = null;
  offsetMs: number | null = null;
  /** Called when another tab with an older version of the bench holds the records. */
  waiting: () => void = () => undefined;

  constructor(clock: Clock, random: RandomBytes, build: string) {
    this.clock = clock;
    this.random = random;
    this.build = build;
  }

  /** The time by the server's clock, as far as this tablet knows it: due dates and ages go by it. */
  serverNow(): number {
    return this.clock.now() + (this.offsetMs ?? 0);
  }

  /** The open database; opened again if the browser had taken it away. */
  async open(): Promise<BenchDb> {
    this.db ??= await openBench(() => {
      this.db = null;
    }, () => this.waiting());
    return this.db;
  }

  async tablet(): Promise<string> {
    const db = await this.open();
    const tx = db.transaction("chain", "readwrite", STRICT);
    const known = await tx.store.get(ONE);
    const chain = known ?? { tablet: uuid7(this.clock.now(), this.random), n: 0, prev: FIRST_PREV };
    if (!known) await tx.store.put(chain, ONE);
    await tx.done;
    return chain.tablet;
  }

  /** Write one event. It counts, and may be shown as done, only once this promise has come true. */
  async append(said: Said, draft: string | null): Promise<Written> {
    const tx = await this.begin();
    const writes: Promise<unknown>[] = [];
    try {
      const chain = (await tx.objectStore("chain").get(ONE))!;
      const { row, event } = this.frozen(said, chain);
      writes.push(tx.objectStore("own").add(row));
      writes.push(tx.objectStore("chain").put({ ...chain, n: row.n, prev: row.hash }, ONE));
      if (draft !== null) writes.push(tx.objectStore("drafts").delete(draft));
      await Promise.all([...writes, tx.done]);
      return { event, hash: row.hash };
    } catch (reason) {
      undo(tx, writes);
      throw reason;
    }
  }

  private frozen(said: Said, chain: Chain): { row: OwnRow; event: BenchEvent } {
    const n = chain.n + 1;
    const atMs = this.clock.now();
    const text = freeze(said, {
      id: uuid7(atMs, this.random), tablet: chain.tablet, n, prev: chain.prev, atMs,
      elapsedMs: this.clock.elapsed(), clockOffsetMs: this.offsetMs, build: this.build,
    });
    const event = parseEvent(text);
    const row = { n, id: event.id, setup: event.setup, text, hash: hashText(text), outcome: null, seq: null, flags: [], message: null };
    return { row, event };
  }

  /** A connection that the browser closed behind our back is opened again. */
  private async begin() {
    const start = (db: BenchDb) => db.transaction(["chain", "own", "drafts"], "readwrite", STRICT);
    try {
      return start(await this.open());
    } catch {
      this.db = null;
      return start(await this.open());
    }
  }

  /** Own records of setups that are over need not stay for ever (`mayGo`); their age is told by the server's clock. */
  async purge(over: ReadonlySet<string>): Promise<void> {
    const { watermark } = await this.server();
    if (watermark === null || this.offsetMs === null) return;
    const tx = (await this.open()).transaction(["own", "earlier"], "readwrite");
    const now = this.serverNow();
    const old = (row: OwnRow): boolean => mayGo(row, madeAt(parseEvent(row.text)), watermark, now);
    for (let one = await tx.objectStore("own").openCursor(); one; one = await one.continue()) {
      if (over.has(one.value.setup) && old(one.value)) await one.delete();
    }
    for (let one = await tx.objectStore("earlier").openCursor(); one; one = await one.continue()) {
      if (old(one.value)) await one.delete();
    }
    await tx.done;
  }

  async all(): Promise<{ own: OwnRow[]; others: OtherRow[]; verdicts: Verdict[] }> {
    const db = await this.open();
    const [own, others, verdicts] = await Promise.all([db.getAll("own"), db.getAll("others"), db.getAll("verdicts")]);
    return { own, others, verdicts };
  }

  async rows(ns: readonly number[]): Promise<OwnRow[]> {
    const db = await this.open();
    const rows = await Promise.all(ns.map((n) => db.get("own", n)));
    return rows.flatMap((row) => (row ? [row] : []));
  }

  /** Signatures made for rows that had none. */
  async sign(sigs: ReadonlyMap<number, string>): Promise<void> {
    const tx = (await this.open()).transaction("own", "readwrite");
    for (const [n, sig] of sigs) {
      const row = await tx.store.get(n);
      if (row) await tx.store.put({ ...row, sig });
    }
    await tx.done;
  }

  async server(): Promise<ServerMemory> {
    const db = await this.open();
    return { ...NO_SERVER, ...(await db.get("server", ONE)) };
  }

  async remember(about: Partial<ServerMemory>): Promise<void> {
    const tx = (await this.open()).transaction("server", "readwrite", STRICT);
    await remember(tx.store, about);
    await tx.done;
  }

  /** Outcomes the server gave, and what it said of itself, in one go. */
  async mark(marks: readonly Marked[], about: Partial<ServerMemory>): Promise<void> {
    const db = await this.open();
    const tx = db.transaction(["own", "server"], "readwrite", STRICT);
    const own = tx.objectStore("own");
    for (const { n, ...told } of marks) {
      const row = await own.get(n);
      if (row) await own.put({ ...row, ...told });
    }
    await remember(tx.objectStore("server"), about);
    await tx.done;
  }

  /** The server was put back: these events count as unsent again, and what others did is asked for anew. */
  async restored(resend: readonly number[], pullAgain: boolean, epoch: string | null): Promise<void> {
    const db = await this.open();
    const tx = db.transaction(["own", "others", "verdicts", "server"], "readwrite", STRICT);
    const own = tx.objectStore("own");
    for (const n of resend) {
      const row = await own.get(n);
      if (row) await own.put({ ...row, outcome: null, seq: null, upto: null });
    }
    if (pullAgain) await Promise.all([tx.objectStore("others").clear(), tx.objectStore("verdicts").clear()]);
    const about = pullAgain ? { epoch, after: 0, contiguous: 0, watermark: null, etag: null } : { epoch };
    await remember(tx.objectStore("server"), about);
    await tx.done;
  }

  /** What others did, and the cursor behind it, in one go. */
  async keep(events: readonly Pulled[], verdicts: readonly Verdict[], after: number, epoch: string): Promise<OtherRow[]> {
    const db = await this.open();
    const mine = (await db.get("chain", ONE))?.tablet;
    const rows = events.flatMap((pulled) => otherRow(pulled, mine));
    const tx = db.transaction(["others", "verdicts", "server"], "readwrite", STRICT);
    for (const row of rows) await tx.objectStore("others").put(row);
    for (const { event, verdict, reason } of verdicts) await tx.objectStore("verdicts").put({ event, verdict, reason });
    await remember(tx.objectStore("server"), { after, epoch });
    await tx.done;
    return rows;
  }

  async forget(seqs: readonly number[]): Promise<void> {
    const db = await this.open();
    const tx = db.transaction("others", "readwrite");
    for (const seq of seqs) await tx.store.delete(seq);
    await tx.done;
  }

  async keepShop(shop: ShopData, etag: string | null): Promise<void> {
    const db = await this.open();
    const tx = db.transaction(["shop", "server"], "readwrite", STRICT);
    await tx.objectStore("shop").put(shop, ONE);
    await remember(tx.objectStore("server"), { etag, shopVersion: shop.version });
    await tx.done;
  }

  async shop(): Promise<ShopData | null> {
    return (await (await this.open()).get("shop", ONE)) ?? null;
  }

  async here(): Promise<Here | null> {
    return (await (await this.open()).get("here", ONE)) ?? null;
  }

  async setHere(here: Here | null): Promise<void> {
    const db = await this.open();
    await (here ? db.put("here", here, ONE) : db.delete("here", ONE));
  }
}

/** Undo what a failed write has begun; a transaction that is over already has nothing left to undo. */
function undo(tx: { abort(): void; done: Promise<void> }, writes: readonly Promise<unknown>[]): void {
  for (const one of [tx.done, ...writes]) one.catch(() => undefined);
  try {
    tx.abort();
  } catch {
    return;
  }
}

/** By the server's clock as far as the tablet knew it then. */
const madeAt = ({ at, clock_offset }: BenchEvent): number => Date.parse(at) + (clock_offset ?? 0);

interface ServerStore { get(key: string): Promise<ServerMemory | undefined>; put(value: ServerMemory, key: string): Promise<unknown> }

async function remember(store: ServerStore, about: Partial<ServerMemory>): Promise<void> {
  await store.put({ ...((await store.get(ONE)) ?? NO_SERVER), ...about }, ONE);
}

function otherRow({ seq, text, flags }: Pulled, mine: string | undefined): OtherRow[] {
  const event = parseEvent(text);
  return event.tablet === mine ? [] : [{ seq, id: event.id, setup: event.setup, text, flags }];
}
