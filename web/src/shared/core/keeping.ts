/** How long a tablet keeps its own records. */

import type { Outcome } from "./sync.ts";

const KEPT_MS = 30 * 24 * 3_600_000;

export interface Filed { outcome: Outcome | null; seq: number | null; upto?: number | null }

/**
 * True when a backup holds the server's answer to this record and it is older than 30 days. What was set
 * aside has no number of its own: the server's head with that answer stands for it. A restored server
 * takes all numbers back, and with them this leave.
 */
export function mayGo(row: Filed, atMs: number, watermark: number | null, nowMs: number): boolean {
  const number = row.outcome === "set aside" ? row.upto ?? null : row.seq;
  if (row.outcome === null || number === null || watermark === null) return false;
  return number <= watermark && nowMs - atMs > KEPT_MS;
}
