/** Clock helpers; the clock and the random bytes are always handed in. */

export interface Clock { now(): number; elapsed(): number }

export type RandomBytes = (count: number) => Uint8Array;

const hex = (bytes: Uint8Array): string => Array.from(bytes, (b) => b.toString(16).padStart(2, "0")).join("");

/** RFC 9562 version 7: 48 bits of milliseconds, then random bits. */
export function uuid7(nowMs: number, random: RandomBytes): string {
  const bytes = new Uint8Array(16);
  bytes.set(random(10), 6);
  let rest = Math.floor(nowMs);
  for (let i = 5; i >= 0; i -= 1) {
    bytes[i] = rest % 256;
    rest = Math.floor(rest / 256);
  }
  bytes[6] = (bytes[6]! & 0x0f) | 0x70;
  bytes[8] = (bytes[8]! & 0x3f) | 0x80;
  const text = hex(bytes);
  return `${text.slice(0, 8)}-${text.slice(8, 12)}-${text.slice(12, 16)}-${text.slice(16, 20)}-${text.slice(20)}`;
}

/** Server minus tablet, in ms, or null when the server's text is no time. */
export function offsetFrom(serverTime: string, nowMs: number): number | null {
  const server = Date.parse(serverTime);
  return Number.isNaN(server) ? null : Math.round(server - nowMs);
}

export const today = (nowMs: number): string => new Date(nowMs).toISOString().slice(0, 10);

/** Draw `count` different entries, every subset equally likely. */
export function draw<T>(from: readonly T[], count: number, random: RandomBytes): T[] {
  const pool = [...from];
  const out: T[] = [];
  while (out.length < count && pool.length > 0) {
    out.push(...pool.splice(below(pool.length, random), 1));
  }
  return out;
}

function below(limit: number, random: RandomBytes): number {
  const ceiling = Math.floor(0x1_0000_0000 / limit) * limit;
  for (;;) {
    const bytes = random(4);
    const value = ((bytes[0]! << 24) | (bytes[1]! << 16) | (bytes[2]! << 8) | bytes[3]!) >>> 0;
    if (value < ceiling) return value % limit;
  }
}
