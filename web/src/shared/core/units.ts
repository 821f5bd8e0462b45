/** The only place on the web side where units are converted. */

import type { TorqueUnit } from "./types.ts";

export const MM_PER_IN = 25.4;
const N_PER_LBF = 4.4482216152605;

const NM_PER: Record<TorqueUnit, number> = {
  "N*m": 1,
  "lbf*in": N_PER_LBF * 0.0254,
  "lbf*ft": N_PER_LBF * 0.3048,
};

const SCREEN: Record<string, string> = { "N*m": "N·m", "lbf*in": "lbf·in", "lbf*ft": "lbf·ft" };

/** How a unit is written on the screen. */
export const unitWord = (unit: string): string => SCREEN[unit] ?? unit;

export const torqueIn = (torqueNm: number, unit: TorqueUnit): number => torqueNm / NM_PER[unit];

/** A decimal reading in millimetres; the product is cut to what decimals can mean, not to binary noise. */
export function lengthMm(value: number, unit: string): number {
  return unit === "in" ? Number((value * MM_PER_IN).toFixed(9)) : value;
}

/** A length of the design in an indicator's unit. */
export const lengthIn = (lengthMmValue: number, unit: string): number =>
  unit === "in" ? lengthMmValue / MM_PER_IN : lengthMmValue;
