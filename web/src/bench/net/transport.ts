import type { Checkpoint, Failure, PullAnswer, PushAnswer } from "../../shared/core/sync.ts";
import type { ShopData } from "../../shared/core/types.ts";

export type Reply<T> = { ok: true; body: T } | { ok: false; failure: Failure };

export type ShopReply = { ok: true; shop: ShopData | null; etag: string | null } | { ok: false; failure: Failure };

const PATIENCE_MS = 20_000;

export interface Batch { tablet: string; build: string; events: string[]; sigs: (string | null)[]; seen: Seen | null }

/** The last word of the server this tablet holds; a server with another past is found out by it. */
export interface Seen { seq: number; chain: string; epoch: string }

export const seenOf = (checkpoint: Checkpoint | null): Seen | null =>
  checkpoint && { seq: checkpoint.seq, chain: checkpoint.head, epoch: checkpoint.epoch };

export const push = (batch: Batch): Promise<Reply<PushAnswer>> => send("/api/sync/push", batch, isPushAnswer);

export const send = <T>(path: string, body: object, fits: (body: unknown) => body is T): Promise<Reply<T>> =>
  json(path, { method: "POST", headers: { "content-type": "application/json" }, body: JSON.stringify(body) }, fits);

export const pull = (after: number): Promise<Reply<PullAnswer>> =>
  json(`/api/sync/pull?after=${after}&limit=500`, {}, isPullAnswer);

export async function shop(etag: string | null): Promise<ShopReply> {
  try {
    const headers: Record<string, string> = etag === null ? {} : { "if-none-match": etag };
    const answer = await ask("/api/sync/shop", { headers });
    if (answer.status === 304) return { ok: true, shop: null, etag };
    if (!answer.ok) return { ok: false, failure: await told(answer) };
    const body: unknown = await answer.json();
    return isShop(body) ? { ok: true, shop: body, etag: answer.headers.get("etag") } : { ok: false, failure: foreign(answer.status) };
  } catch (reason) {
    return { ok: false, failure: lost(reason) };
  }
}

async function json<T>(path: string, init: RequestInit, fits: (body: unknown) => body is T): Promise<Reply<T>> {
  try {
    const answer = await ask(path, init);
    if (!answer.ok) return { ok: false, failure: await told(answer) };
    const body: unknown = answer.status === 204 ? null : await answer.json();
    return fits(body) ? { ok: true, body } : { ok: false, failure: foreign(answer.status) };
  } catch (reason) {
    return { ok: false, failure: lost(reason) };
  }
}

/** A half-open connection must not keep the outbox waiting for ever. */
const ask = (path: string, init: RequestInit): Promise<Response> =>
  fetch(path, { ...init, cache: "no-store", credentials: "same-origin", signal: AbortSignal.timeout(PATIENCE_MS) });

async function told(answer: Response): Promise<Failure> {
  const problem = (await answer.json().catch(() => null)) as { detail?: string; title?: string; code?: string } | null;
  const message = problem?.detail ?? problem?.title ?? `HTTP ${answer.status}`;
  const wait = Number(answer.headers.get("retry-after") ?? Number.NaN);
  return { status: answer.status, code: problem?.code ?? null, message, waitS: Number.isFinite(wait) ? wait : null };
}

const lost = (reason: unknown): Failure => ({ status: null, code: null, message: String(reason) });

/** A captive portal or another program answered in the server's place. */
const foreign = (status: number): Failure =>
  ({ status, code: null, message: "Something else than this shop's server answered." });

const isObject = (body: unknown): body is Record<string, unknown> => typeof body === "object" && body !== null;

const isPushAnswer = (body: unknown): body is PushAnswer =>
  isObject(body) && typeof body["epoch"] === "string" && Array.isArray(body["results"]);

const isPullAnswer = (body: unknown): body is PullAnswer =>
  isObject(body) && typeof body["epoch"] === "string" && Array.isArray(body["events"]) && Array.isArray(body["signatures"]);

const isShop = (body: unknown): body is ShopData =>
  isObject(body) && typeof body["version"] === "string" && Array.isArray(body["sheets"]) && Array.isArray(body["plates"]);
