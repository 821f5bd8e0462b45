import { FIRST_PREV } from "../../shared/core/events.ts";
import { ONE, STRICT } from "./db.ts";
import type { Enrolled, Identity } from "./db.ts";
import type { Log } from "./log.ts";
import { NO_SERVER } from "./log.ts";

/** The tablet's key, made on the first start; of two tabs that make one, the first counts. */
export async function loadIdentity(log: Log, make: () => Promise<Identity>): Promise<Identity> {
  const known = await (await log.open()).get("identity", ONE);
  if (known) return known;
  const made = await make();
  const tx = (await log.open()).transaction("identity", "readwrite", STRICT);
  const first = await tx.store.get(ONE);
  if (!first) await tx.store.put(made, ONE);
  await tx.done;
  return first ?? made;
}

export async function keepEnrolment(log: Log, identity: Identity, enrolled: Enrolled): Promise<Identity> {
  const known = { ...identity, enrolled };
  const tx = (await log.open()).transaction("identity", "readwrite", STRICT);
  await tx.store.put(known, ONE);
  await tx.done;
  return known;
}

/**
 * Go on under a new name and key. Only for a tablet whose own records all have an outcome: they move to
 * `earlier`, where nothing sends them any more, and come back as those of another tablet.
 */
export async function beginAnew(log: Log, tablet: string, identity: Identity): Promise<void> {
  const stores = ["own", "earlier", "others", "verdicts", "chain", "server", "identity"] as const;
  const tx = (await log.open()).transaction(stores, "readwrite", STRICT);
  const own = tx.objectStore("own");
  for (const row of await own.getAll()) {
    if (row.outcome === null) {
      tx.abort();
      await tx.done.catch(() => undefined);
      throw new Error("Records that were not sent yet cannot change their tablet.");
    }
    await tx.objectStore("earlier").add(row);
  }
  await Promise.all([own.clear(), tx.objectStore("others").clear(), tx.objectStore("verdicts").clear()]);
  await tx.objectStore("chain").put({ tablet, n: 0, prev: FIRST_PREV }, ONE);
  await tx.objectStore("server").put(NO_SERVER, ONE);
  await tx.objectStore("identity").put(identity, ONE);
  await tx.done;
}
