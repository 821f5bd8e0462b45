/** The rescue page's own small script: it shares no state with the bench and needs no worker. */

import { openDB } from "idb";
import { html, nothing, render } from "lit";

import { TEXTS } from "../shared/texts/index.ts";
import type { OwnRow } from "./store/db.ts";
import { DB_NAME } from "./store/db.ts";

const short = navigator.language.slice(0, 2);
const t = TEXTS[short === "de" || short === "es" ? short : "en"];
const root = document.getElementById("recover")!;

async function ownRows(): Promise<OwnRow[]> {
  const known = await indexedDB.databases?.();
  if (known && !known.some((one) => one.name === DB_NAME)) return [];
  const db = await openDB(DB_NAME);
  const rows = db.objectStoreNames.contains("own") ? ((await db.getAll("own")) as OwnRow[]) : [];
  db.close();
  return rows;
}

/** The same shape as a push, so that the file can be handed to the server as it is. */
function save(rows: readonly OwnRow[]): void {
  const tablet = (JSON.parse(rows[0]!.text) as { tablet: string }).tablet;
  const body = JSON.stringify({ tablet, build: "recover", events: rows.map((row) => row.text) });
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([body], { type: "application/json" }));
  link.download = `clampbook-${tablet}.json`;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 10_000);
}

async function repair(rows: readonly OwnRow[]): Promise<void> {
  const registrations = (await navigator.serviceWorker?.getRegistrations()) ?? [];
  await Promise.all(registrations.map((one) => one.unregister()));
  const names = "caches" in window ? await caches.keys() : [];
  await Promise.all(names.map((name) => caches.delete(name)));
  draw(rows, true);
}

function draw(rows: readonly OwnRow[], repaired: boolean): void {
  const kept = rows.filter((row) => row.outcome === null).length;
  document.documentElement.lang = short === "de" || short === "es" ? short : "en";
  if (!repaired) root.replaceChildren();
  render(html`<h1>${t.rescueTitle}</h1><p>${t.rescueHelp}</p>
    <p class="big" data-rescue-count=${rows.length} data-rescue-kept=${kept}>${rows.length === 0 ? t.rescueNone : t.rescueCount(rows.length, kept)}</p>
    ${rows.length > 0 ? html`<button class="main" data-rescue-save @click=${() => save(rows)}>${t.rescueSave}</button>` : nothing}
    <h2>${t.rescueRepair}</h2><p>${repaired ? t.rescueRepaired : t.rescueRepairHelp}</p>
    <p>${repaired ? nothing : html`<button class="low-key" data-rescue-repair @click=${() => void repair(rows)}>${t.rescueRepair}</button>`}
      <a class="low-key" href="/bench">${t.rescueOpen}</a></p>`, root);
}

ownRows().then((rows) => draw(rows, false)).catch((reason: unknown) => {
  root.append(Object.assign(document.createElement("p"), { textContent: String(reason) }));
});
