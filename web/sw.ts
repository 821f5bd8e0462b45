/**
 * The service worker: it keeps the bench's shell, all of it or none, and serves nothing else.
 * Requests to the API never pass through it.
 */

declare const self: ServiceWorkerGlobalScope;
declare const __BUILD__: string;
declare const __SHELL__: { path: string; sha256: string }[];

const PREFIX = "clampbook-shell-";
const CACHE = PREFIX + __BUILD__;
const PAGE = "/bench";
const MANIFEST = "/bench.webmanifest";
const PATHS = new Set([MANIFEST, ...__SHELL__.map((file) => file.path)]);

self.addEventListener("install", (event) => event.waitUntil(install()));

self.addEventListener("activate", (event) => event.waitUntil(activate()));

self.addEventListener("message", (event) => {
  if (event.data === "take over") void self.skipWaiting();
});

self.addEventListener("fetch", (event) => {
  const url = new URL(event.request.url);
  if (event.request.method !== "GET" || url.origin !== location.origin) return;
  if (event.request.mode === "navigate" && url.pathname === PAGE) event.respondWith(kept(PAGE, event.request));
  else if (PATHS.has(url.pathname)) event.respondWith(kept(url.pathname, event.request));
});

/** A portal's page, a cut file or another build's page fails its check, and the old shell stays in use. */
async function install(): Promise<void> {
  const files = await Promise.all(__SHELL__.map(async ({ path, sha256 }) => [path, await checked(path, sha256)] as const));
  const page = await fresh(PAGE);
  if (!(await page.clone().text()).includes(`data-build="${__BUILD__}"`)) throw new Error(`${PAGE} is not of build ${__BUILD__}.`);
  const manifest = await fresh(MANIFEST);
  const cache = await caches.open(CACHE);
  await Promise.all([...files, [PAGE, page] as const, [MANIFEST, manifest] as const].map(([path, answer]) => cache.put(path, answer)));
}

async function fresh(path: string): Promise<Response> {
  const answer = await fetch(path, { cache: "no-cache", credentials: "same-origin" });
  if (!answer.ok || answer.redirected) throw new Error(`${path} answered ${answer.status}.`);
  return answer;
}

async function checked(path: string, sha256: string): Promise<Response> {
  const answer = await fresh(path);
  const digest = new Uint8Array(await crypto.subtle.digest("SHA-256", await answer.clone().arrayBuffer()));
  const found = Array.from(digest, (byte) => byte.toString(16).padStart(2, "0")).join("");
  if (found !== sha256) throw new Error(`${path} is not the file of build ${__BUILD__}.`);
  return answer;
}

async function activate(): Promise<void> {
  const names = await caches.keys();
  await Promise.all(names.filter((name) => name.startsWith(PREFIX) && name !== CACHE).map((name) => caches.delete(name)));
  await self.clients.claim();
}

async function kept(path: string, request: Request): Promise<Response> {
  const cache = await caches.open(CACHE);
  return (await cache.match(path)) ?? fetch(request);
}

export {};
