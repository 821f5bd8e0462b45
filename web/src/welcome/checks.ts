/** What the bench needs of a device, each tried for real. */

import { makeIdentity, signText } from "../bench/net/keys.ts";

export type State = "passed" | "failed" | "note";

/** What one check found, and what is to be done about it; `todo` is empty when nothing is. */
export interface Result { state: State; found: string; todo: string }

export interface Check { name: string; title: string; run: (asked: Asked) => Promise<Result> }

/** How the page was made, and what the server said at the beginning; null when it did not answer. */
export interface Asked { origin: string; welcome: string; server: Begun | null; offsetMs: number }

export interface Begun { nonce: string; time: string; origin: string }

const DB = "clampbook-ready";
const STORE = "tried";
const WORKER = "/ready/worker.js";
const SCOPE = "/ready/";
const PATIENCE_MS = 15_000;
const CLOCK_MS = 60_000;

const passed = (found: string): Result => ({ state: "passed", found, todo: "" });
const failed = (found: string, todo: string): Result => ({ state: "failed", found, todo });
const note = (found: string, todo: string): Result => ({ state: "note", found, todo });
const words = (reason: unknown): string => (reason instanceof Error ? reason.message : String(reason));

const TRUST =
  "The certificate of the shop’s authority is not trusted here, or a warning was clicked away, which does not count. " +
  "Install it as the welcome page says, close all windows of the browser, and check again.";

export const CHECKS: readonly Check[] = [
  { name: "secure", title: "The connection is a secure one", run: secure },
  { name: "origin", title: "The server answers under the shop’s one address", run: origin },
  { name: "worker", title: "The bench can start without the server", run: worker },
  { name: "records", title: "Records are kept on disk", run: records },
  { name: "signing", title: "This device can sign, and the server understands it", run: signing },
  { name: "persistence", title: "The browser does not clear records away", run: persistence },
  { name: "wake", title: "The screen can be kept lit", run: wake },
  { name: "clock", title: "The clock is right", run: clock },
];

async function secure(): Promise<Result> {
  if (isSecureContext) return passed("The browser treats this address as secure.");
  return failed("The browser treats this address as not secure.", "Open it by the address that begins with https://, or on the server itself.");
}

async function origin({ origin: wanted, server }: Asked): Promise<Result> {
  if (server === null) return failed("The server did not answer.", "See that the server runs and that this device is on its network; check again.");
  const right = server.origin || wanted;
  if (right === "" || location.origin === right) return passed(`This is ${location.origin}, and it answers.`);
  if (location.hostname === "localhost") return passed("This is the server’s own machine; other devices use " + right + ".");
  return failed(`This is ${location.origin}.`, `Open ${right} instead: what is kept under another address is not found again there.`);
}

async function worker(): Promise<Result> {
  if (!("serviceWorker" in navigator)) return failed("This browser offers no service worker here, so the bench ends with the connection.", TRUST);
  let registration: ServiceWorkerRegistration | null = null;
  try {
    registration = await navigator.serviceWorker.register(WORKER, { scope: SCOPE, updateViaCache: "none" });
    await echo(await active(registration), crypto.randomUUID());
    return passed("A service worker was registered, answered, and was taken away again.");
  } catch (reason) {
    return failed(`The service worker cannot be registered: ${words(reason)}`, TRUST);
  } finally {
    await registration?.unregister();
  }
}

/** The worker, once it runs. */
function active(registration: ServiceWorkerRegistration): Promise<ServiceWorker> {
  const coming = registration.installing ?? registration.waiting;
  if (!coming) return registration.active ? Promise.resolve(registration.active) : Promise.reject(new Error("it is gone again"));
  return within("it does not start", (found, lost) => {
    const look = (): void => {
      if (coming.state === "activated") found(coming);
      if (coming.state === "redundant") lost(new Error("it was given up by the browser"));
    };
    coming.addEventListener("statechange", look);
    look();
  });
}

function echo(there: ServiceWorker, word: string): Promise<void> {
  const { port1, port2 } = new MessageChannel();
  return within("it does not answer", (found, lost) => {
    port1.onmessage = (event) => (event.data === word ? found() : lost(new Error("it answers something else")));
    there.postMessage(word, [port2]);
  });
}

function within<T>(late: string, begin: (found: (value: T) => void, lost: (reason: Error) => void) => void): Promise<T> {
  return new Promise<T>((found, lost) => {
    setTimeout(() => lost(new Error(late)), PATIENCE_MS);
    begin(found, lost);
  });
}

async function records(): Promise<Result> {
  const word = `${Date.now()} ${Math.random()}`;
  try {
    let db = await opened();
    const writing = db.transaction(STORE, "readwrite", { durability: "strict" });
    const { durability } = writing;
    writing.objectStore(STORE).put(word, "one");
    await ended(writing);
    db.close();
    db = await opened();
    const read = await answered(db.transaction(STORE).objectStore(STORE).get("one"));
    db.close();
    await answered(indexedDB.deleteDatabase(DB));
    if (read !== word) return failed("What was written could not be read again.", "Free some space on this device; do not use it in a private window.");
    if (durability !== "strict") return failed("Records are kept, but this browser does not wait for the disk.", "Use a newer browser: a battery that falls out could cost a record.");
    return passed("A record was written through to the disk and read again.");
  } catch (reason) {
    return failed(`Nothing can be kept: ${words(reason)}`, "Free some space on this device, allow this address to keep data, and do not use a private window.");
  }
}

async function opened(): Promise<IDBDatabase> {
  const opening = indexedDB.open(DB, 1);
  opening.onupgradeneeded = () => opening.result.createObjectStore(STORE);
  return answered(opening);
}

function answered<T>(request: IDBRequest<T>): Promise<T> {
  return new Promise((found, lost) => {
    request.onsuccess = () => found(request.result);
    request.onerror = () => lost(request.error);
  });
}

function ended(transaction: IDBTransaction): Promise<void> {
  return new Promise((done, lost) => {
    transaction.oncomplete = () => done();
    transaction.onabort = () => lost(transaction.error ?? new Error("the transaction was broken off"));
  });
}

async function signing({ server }: Asked): Promise<Result> {
  if (typeof crypto.subtle !== "object") return failed("This browser offers no cryptography here, so nothing can be signed.", TRUST);
  if (server === null) return failed("The server did not answer, so nothing could be signed for it.", "Check again once it answers.");
  try {
    const identity = await makeIdentity();
    if (identity.keys.privateKey.extractable) return failed("The key could be read out.", "Use a newer browser.");
    const signature = await signText(identity, `clampbook-ready/1 ${server.nonce}`);
    const answer = await posted({ nonce: server.nonce, key: identity.raw, signature });
    if (answer === "") return passed("A key that cannot be read out signed, and the server found the signature right.");
    return failed(`The server refused: ${answer}`, "Check again; if it stays so, use a newer browser.");
  } catch (reason) {
    return failed(`It cannot sign: ${words(reason)}`, "Use a newer browser.");
  }
}

/** Empty when the server agrees, else its sentence. */
async function posted(proof: Record<string, string>): Promise<string> {
  const answer = await fetch("/api/ready", {
    method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(proof),
  });
  const told = (await answer.json()) as { signed?: boolean; detail?: string };
  return answer.ok && told.signed === true ? "" : (told.detail ?? `status ${answer.status}`);
}

async function persistence(): Promise<Result> {
  if (!navigator.storage?.persist) return note("The browser does not say.", "Start the bench from the home screen, so that its records are not cleared away.");
  if (await navigator.storage.persist()) return passed("The browser has promised to keep what is stored.");
  return note("The browser promises nothing yet.", "Add the bench to the home screen or allow this address to keep data; it is asked again there.");
}

async function wake(): Promise<Result> {
  const todo = "Set the device’s own screen time-out to its longest.";
  if (!("wakeLock" in navigator)) return note("This browser cannot keep the screen lit.", todo);
  try {
    await (await navigator.wakeLock.request("screen")).release();
    return passed("The screen was kept lit for a moment.");
  } catch (reason) {
    return note(`The screen may go dark: ${words(reason)}`, todo);
  }
}

async function clock({ server, offsetMs }: Asked): Promise<Result> {
  if (server === null) return note("The server did not answer, so its clock is not known.", "Check again once it answers.");
  const seconds = Math.round(Math.abs(offsetMs) / 1000);
  if (Math.abs(offsetMs) <= CLOCK_MS) return passed(`It differs from the server’s by ${seconds} s.`);
  const side = offsetMs > 0 ? "behind" : "ahead of";
  return note(`It is ${told(seconds)} ${side} the server’s.`, "Set both clocks by the network; records made with a wrong clock are marked.");
}

function told(seconds: number): string {
  if (seconds < 7200) return `${Math.round(seconds / 60)} minutes`;
  return seconds < 172_800 ? `${Math.round(seconds / 3600)} hours` : `${Math.round(seconds / 86_400)} days`;
}
