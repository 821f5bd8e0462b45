/** A reading beside what was expected of it: advice after the entry, which blocks nothing. */

import { decimalsOf } from "./numbers/entry.ts";
import type { Expected } from "./types.ts";
import { lengthIn } from "./units.ts";

export type Lies = "inside" | "at the upper edge" | "at the lower edge" | "above" | "below";

/** The band as decimal texts in the reading's unit, and where the reading lies by them. */
export interface Compared { low: string; high: string; unit: string; lies: Lies }

/** The band is finer than most marks: a reading within half a mark of it lies at its edge. */
export function compare(expected: Expected, value: string, unit: string, graduation: number): Compared {
  const decimals = Math.max(decimalsOf(graduation), unit === "mm" ? 3 : 4);
  const text = (mm: number): string => lengthIn(mm, unit).toFixed(decimals).replace(/^-(?=[0.]*$)/, "");
  const [low, high] = [text(expected.low_mm), text(expected.high_mm)];
  return { low, high, unit, lies: liesAt(Number(value), Number(low), Number(high), graduation / 2) };
}

function liesAt(value: number, low: number, high: number, play: number): Lies {
  const rounding = play * 1e-6;
  if (value > high + play + rounding) return "above";
  if (value > high + rounding) return "at the upper edge";
  if (value < low - play - rounding) return "below";
  return value < low - rounding ? "at the lower edge" : "inside";
}
