/** What the server answers to a push and a pull, as far as the exchange of records is concerned. */

export type Outcome = "stored" | "already" | "set aside";

export interface Result { index: number; outcome: Outcome; seq: number | null; flags: string[]; message: string | null }

/** What the server holds of this tablet itself; `forked` means that another device writes under its name. */
export type Standing = "in use" | "revoked" | "forked";

/** A signed word of the server: so many records, ending in this link, at this time. */
export interface Checkpoint {
  seq: number; count: number; head: string; epoch: string; at: string; why: string; key: string; signature: string;
}

/** Servers from before tablets were enrolled send neither `checkpoint` nor `tablet`. */
export interface PushAnswer {
  epoch: string; watermark: number | null; contiguous: number; head: number; time: string; results: Result[];
  checkpoint?: Checkpoint | null; tablet?: Standing;
}

export interface Pulled { seq: number; text: string; flags: string[] }

export interface Verdict { event: string; verdict: "confirmed" | "refused" | "provisional"; reason: string | null }

export interface PullAnswer {
  epoch: string; head: number; more: boolean; time: string; events: Pulled[]; signatures: Verdict[];
}

/** What of a new shop document matters here: `start` is where a tablet new to the shop begins to pull. */
export interface ShopNews { version: string; epoch: string; start: number }

/** `code` is the server's stable word for a refusal; null when none came. `waitS` is when to come again. */
export interface Failure { status: number | null; code: string | null; message: string; waitS?: number | null }

export const NOT_ENROLLED = "not-enrolled";
export const OTHER_TABLET = "other-tablet";
export const REVOKED = "tablet-revoked";

/** The newer of two checkpoints of one epoch; one of a later epoch takes the place of any other. */
export function newerCheckpoint(known: Checkpoint | null, told: Checkpoint | null | undefined): Checkpoint | null {
  if (!told) return known;
  return known !== null && known.epoch === told.epoch && known.seq > told.seq ? known : told;
}
