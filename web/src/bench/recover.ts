/** The rescue page's own small script: it shares no state with the bench and needs no worker. */

import { openDB } from "idb";
import { html, nothing, render } from "lit";

import type { Checkpoint } from "../shared/core/sync.ts";
import { eventProof } from "../shared/core/enrol.ts";
import { TEXTS } from "../shared/texts/index.ts";
import { signText } from "./net/keys.ts";
import { seenOf } from "./net/transport.ts";
import type { Batch } from "./net/transport.ts";
import type { BenchSchema, Identity, OwnRow } from "./store/db.ts";
import { DB_NAME, ONE } from "./store/db.ts";

const short = navigator.language.slice(0, 2);
const t = TEXTS[short === "de" || short === "es" ? short : "en"];
const root = document.getElementById("recover")!;

/** All that the file is made of; the records of an earlier name of this tablet come first. */
interface Found { rows: OwnRow[]; identity: Identity | null; checkpoint: Checkpoint | null }

const NOTHING: Found = { rows: [], identity: null, checkpoint: null };

async function found(): Promise<Found> {
  const known = await indexedDB.databases?.();
  if (known && !known.some((one) => one.name === DB_NAME)) return NOTHING;
  const db = await openDB<BenchSchema>(DB_NAME);
  const has = (name: "own" | "earlier" | "identity" | "server"): boolean => db.objectStoreNames.contains(name);
  try {
    const earlier = has("earlier") ? await db.getAll("earlier") : [];
    const own = has("own") ? await db.getAll("own") : [];
    const identity = has("identity") ? (await db.get("identity", ONE)) ?? null : null;
    const checkpoint = has("server") ? (await db.get("server", ONE))?.checkpoint ?? null : null;
    return { rows: [...earlier, ...own], identity, checkpoint };
  } finally {
    db.close();
  }
}

const tabletOf = (row: OwnRow): string => (JSON.parse(row.text) as { tablet: string }).tablet;

/** A row of this tablet's present name can still be signed here; an earlier name's key is gone. */
async function signatureOf(row: OwnRow, tablet: string, identity: Identity | null): Promise<string | null> {
  if (row.sig) return row.sig;
  return identity && tabletOf(row) === tablet ? signText(identity, eventProof(row.hash)) : null;
}

/** The same shape as a push, so that the file can be handed to the server as it is. */
async function save({ rows, identity, checkpoint }: Found): Promise<void> {
  const tablet = tabletOf(rows.at(-1)!);
  const sigs: (string | null)[] = [];
  for (const row of rows) sigs.push(await signatureOf(row, tablet, identity));
  const batch: Batch = { tablet, build: "recover", events: rows.map((row) => row.text), sigs, seen: seenOf(checkpoint) };
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([JSON.stringify({ ...batch, checkpoint })], { type: "application/json" }));
  link.download = `clampbook-${tablet}.json`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

async function repair(all: Found): Promise<void> {
  const registrations = (await navigator.serviceWorker?.getRegistrations()) ?? [];
  await Promise.all(registrations.map((one) => one.unregister()));
  const names = "caches" in window ? await caches.keys() : [];
  await Promise.all(names.map((name) => caches.delete(name)));
  draw(all, true);
}

function draw(all: Found, repaired: boolean): void {
  const { rows } = all;
  const kept = rows.filter((row) => row.outcome === null).length;
  document.documentElement.lang = short === "de" || short === "es" ? short : "en";
  if (!repaired) root.replaceChildren();
  render(html`<h1>${t.rescueTitle}</h1><p>${t.rescueHelp}</p>
    <p class="big" data-rescue-count=${rows.length} data-rescue-kept=${kept}>${rows.length === 0 ? t.rescueNone : t.rescueCount(rows.length, kept)}</p>
    ${rows.length > 0 ? html`<button class="main" data-rescue-save @click=${() => void save(all)}>${t.rescueSave}</button>` : nothing}
    <h2>${t.rescueRepair}</h2><p>${repaired ? t.rescueRepaired : t.rescueRepairHelp}</p>
    <p>${repaired ? nothing : html`<button class="low-key" data-rescue-repair @click=${() => void repair(all)}>${t.rescueRepair}</button>`}
      <a class="low-key" href="/bench">${t.rescueOpen}</a></p>`, root);
}

found().then((all) => draw(all, false)).catch((reason: unknown) => {
  root.append(Object.assign(document.createElement("p"), { textContent: String(reason) }));
});
