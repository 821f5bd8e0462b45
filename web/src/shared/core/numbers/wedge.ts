/**
 * Tells a keyboard wedge from fingers: keys under 50 ms apart belong to one burst.
 * A lone key is handed on as typed once the gap has passed; `Enter` at the end of a burst is swallowed.
 */

export const GAP_MS = 50;

export interface Catch { keys: string; lastMs: number }

export const IDLE: Catch = { keys: "", lastMs: -Infinity };

export type Heard = { type: "burst"; raw: string } | { type: "keys"; keys: string[] };

export interface Caught { state: Catch; heard: Heard[]; swallow: boolean }

export function hear(state: Catch, key: string, atMs: number): Caught {
  const together = atMs - state.lastMs < GAP_MS;
  if (key === "Enter") {
    if (together && state.keys.length >= 3) return { state: IDLE, heard: [{ type: "burst", raw: state.keys }], swallow: true };
    return { state: IDLE, heard: [...spoken(state.keys), { type: "keys", keys: ["Enter"] }], swallow: false };
  }
  if (key.length !== 1) return { state, heard: [], swallow: false };
  if (together) return { state: { keys: state.keys + key, lastMs: atMs }, heard: [], swallow: true };
  return { state: { keys: key, lastMs: atMs }, heard: spoken(state.keys), swallow: true };
}

/** Called when nothing came for longer than the gap. */
export const fallSilent = (state: Catch): Caught => ({ state: IDLE, heard: spoken(state.keys), swallow: false });

function spoken(keys: string): Heard[] {
  if (keys === "") return [];
  return keys.length >= 3 ? [{ type: "burst", raw: keys }] : [{ type: "keys", keys: [...keys] }];
}

/** A plate's serial out of what a scanner gives: the serial itself or an address that ends in it. */
export function serialIn(raw: string): string {
  const last = raw.trim().split(/[?#]/)[0]!.replace(/\/+$/, "").split("/").at(-1)!;
  try {
    return decodeURIComponent(last).toUpperCase();
  } catch {
    return last.toUpperCase();
  }
}
