import { openDB } from "idb";
import type { DBSchema, IDBPDatabase } from "idb";

import type { Pad, Settings } from "../../shared/core/bench.ts";
import type { Checkpoint, Outcome, Standing } from "../../shared/core/sync.ts";
import type { ShopData } from "../../shared/core/types.ts";

export interface OwnRow {
  n: number; id: string; setup: string; text: string; hash: string;
  outcome: Outcome | null; seq: number | null; flags: string[]; message: string | null;
  /** Missing in rows written before tablets had keys, and until a push is put together. */
  sig?: string | null;
  /** The server's head when it gave its outcome. */
  upto?: number | null;
}

export interface OtherRow { seq: number; id: string; setup: string; text: string; flags: string[] }

export interface VerdictRow { event: string; verdict: "confirmed" | "refused" | "provisional"; reason: string | null }

export interface Chain { tablet: string; n: number; prev: string }

export interface ServerMemory {
  epoch: string | null; watermark: number | null; contiguous: number; after: number;
  etag: string | null; shopVersion: string | null; offsetMs: number | null;
  checkpoint: Checkpoint | null; standing: Standing;
}

export interface Enrolled { name: string; epoch: string }

/** The private half cannot be read out; `raw` is the public point in base64. */
export interface Identity { keys: CryptoKeyPair; raw: string; enrolled: Enrolled | null }

export interface Here { setup: string; person: string }

export interface BenchSchema extends DBSchema {
  own: { key: number; value: OwnRow };
  others: { key: number; value: OtherRow; indexes: { setup: string } };
  verdicts: { key: string; value: VerdictRow };
  drafts: { key: string; value: Pad };
  chain: { key: string; value: Chain };
  server: { key: string; value: ServerMemory };
  shop: { key: string; value: ShopData };
  here: { key: string; value: Here };
  settings: { key: string; value: Settings };
  identity: { key: string; value: Identity };
  /** Records of this device under a name it no longer has; all of them had an outcome. */
  earlier: { key: number; value: OwnRow };
}

export type BenchDb = IDBPDatabase<BenchSchema>;

export const DB_NAME = "clampbook-bench";
export const DB_VERSION = 2;
export const ONE = "one";
export const STRICT = { durability: "strict" } as const;

/**
 * Open the tablet's own records. `lost` is called when the browser takes the connection away, also when
 * a newer version of the bench in another tab asks for it; `waiting` when an older one does not let go.
 */
export function openBench(lost: () => void, waiting: () => void): Promise<BenchDb> {
  return openDB<BenchSchema>(DB_NAME, DB_VERSION, {
    upgrade(db, from) {
      if (from < 1) firstStores(db);
      db.createObjectStore("identity");
      db.createObjectStore("earlier", { autoIncrement: true });
    },
    blocked: waiting,
    blocking(_current, _blocked, event) {
      (event.target as IDBDatabase).close();
      lost();
    },
    terminated: lost,
  });
}

function firstStores(db: BenchDb): void {
  db.createObjectStore("own", { keyPath: "n" });
  db.createObjectStore("others", { keyPath: "seq" }).createIndex("setup", "setup");
  db.createObjectStore("verdicts", { keyPath: "event" });
  for (const name of ["drafts", "chain", "server", "shop", "here", "settings"] as const) db.createObjectStore(name);
}
