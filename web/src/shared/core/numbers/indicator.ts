/** From what the indicator shows to the surface's own movement: up is plus, and the stylus angle is taken out. */

import { decimalsOf } from "./entry.ts";
import type { Field } from "./entry.ts";
import type { Indicator } from "../types.ts";

/** Keypad field for this indicator: decimals of its graduation, digits of its travel. */
export function readingField(indicator: Indicator): Field {
  const decimals = decimalsOf(indicator.graduation);
  return { decimals, sign: true, maxDigits: Math.floor(indicator.travel).toString().length + decimals };
}

/**
 * The surface's movement for a shown value, both decimal texts in the indicator's unit.
 * A lever's stylus at an angle over-reads by the cosine; an instrument whose plus points down is turned round.
 */
export function surfaceValue(indicator: Indicator, shown: string): string {
  const turned = indicator.plus === "down" ? flip(shown) : shown;
  if (indicator.kind !== "lever" || indicator.stylus_deg === 0) return turned;
  const corrected = Number(turned) * Math.cos((indicator.stylus_deg * Math.PI) / 180);
  const text = corrected.toFixed(Math.min(6, decimalsOf(indicator.graduation) + 1));
  return /^-?[0.]*$/.test(text) ? text.replace("-", "") : text;
}

function flip(value: string): string {
  if (value.startsWith("-")) return value.slice(1);
  return /^[0.]*$/.test(value) ? value : `-${value}`;
}
