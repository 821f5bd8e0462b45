import { sha256 } from "@noble/hashes/sha2.js";
import { bytesToHex, utf8ToBytes } from "@noble/hashes/utils.js";

export type EventKind =
  | "setup opened" | "step done" | "clamp tightened" | "clamp moved on re-check" | "reading taken" | "correction"
  | "note" | "trouble" | "paused" | "taken over" | "judged" | "signed" | "countersigned" | "abandoned"
  | "conflict resolved" | "after-signature addition";

export const EVENT_KINDS: readonly EventKind[] = [
  "setup opened", "step done", "clamp tightened", "clamp moved on re-check", "reading taken", "correction",
  "note", "trouble", "paused", "taken over", "judged", "signed", "countersigned", "abandoned",
  "conflict resolved", "after-signature addition",
];

// eslint-disable-next-line @typescript-eslint/no-explicit-any -- data is checked by the server per kind
export type Data = Record<string, any>;

export interface BenchEvent {
  id: string; tablet: string; n: number; prev: string; setup: string; kind: EventKind; step: string | null;
  person: string | null; data: Data; at: string; elapsed: number; clock_offset: number | null;
  schema: number; build: string;
}

/** What an action says happened; the store adds the rest inside its transaction. */
export interface Said { setup: string; kind: EventKind; step: string | null; person: string | null; data: Data }

export interface Stamp {
  id: string; tablet: string; n: number; prev: string; atMs: number; elapsedMs: number;
  clockOffsetMs: number | null; build: string;
}

export const FIRST_PREV = "0".repeat(64);
export const SCHEMA = 2;

export const hashText = (text: string): string => bytesToHex(sha256(utf8ToBytes(text)));

/** The text that is queued, hashed and sent; it is never written again. */
export function freeze(said: Said, stamp: Stamp): string {
  const event: BenchEvent = {
    id: stamp.id, tablet: stamp.tablet, n: stamp.n, prev: stamp.prev, setup: said.setup, kind: said.kind,
    step: said.step, person: said.person, data: said.data, at: new Date(stamp.atMs).toISOString(),
    elapsed: Math.round(stamp.elapsedMs), clock_offset: stamp.clockOffsetMs, schema: SCHEMA, build: stamp.build,
  };
  return JSON.stringify(event);
}

export class EventTextError extends Error {}

export function parseEvent(text: string): BenchEvent {
  let raw: unknown;
  try {
    raw = JSON.parse(text);
  } catch {
    throw new EventTextError("The event is not JSON.");
  }
  if (typeof raw !== "object" || raw === null) throw new EventTextError("The event is not a JSON object.");
  const event = raw as BenchEvent;
  if (typeof event.id !== "string" || typeof event.setup !== "string" || typeof event.kind !== "string") {
    throw new EventTextError("The event lacks its id, setup or kind.");
  }
  return event;
}

/** Hash a signature covers: the hashes of the listed event texts, in that order. */
export const coverHash = (eventHashes: readonly string[]): string => hashText(eventHashes.join("\n"));

export interface Signing { setup: string; cover: string; person: string; meaning: string; tablet: string }

/** What a sealed PIN is bound to: it opens for this signature by this person on this tablet, and no other. */
export const signInfo = ({ setup, cover, person, meaning, tablet }: Signing): string =>
  `clampbook-sign/2 ${setup} ${cover} ${person} ${meaning} ${tablet}`;
