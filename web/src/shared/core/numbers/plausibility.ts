/** Questions asked at once about a typed reading; none of them refuses it. */

import { MM_PER_IN } from "../units.ts";

export type Doubt =
  | { kind: "off graduation"; graduation: number }
  | { kind: "one turn"; likely: number }
  | { kind: "factor"; factor: 10 | 12 | 25.4; likely: number };

export interface Face { unit: "mm" | "in"; graduation: number; per_turn: number }

const FACTORS = [10, 12, 25.4] as const;

/**
 * Doubts about `value` (in the indicator's unit) beside what this plate usually shows.
 * A factor is asked about only when the two differ by more than four graduations,
 * so that ordinary scatter about a small usual value stays quiet.
 */
export function doubts(value: number, face: Face, usualMm: number | null): Doubt[] {
  const out: Doubt[] = [];
  if (!onHalfGraduation(value, face.graduation)) out.push({ kind: "off graduation", graduation: face.graduation });
  if (usualMm === null) return out;
  const usual = face.unit === "mm" ? usualMm : usualMm / MM_PER_IN;
  const turn = turnSlip(value, usual, face);
  if (turn) out.push(turn);
  const factor = turn ? null : factorSlip(value, usual, face);
  if (factor) out.push(factor);
  return out;
}

export function onHalfGraduation(value: number, graduation: number): boolean {
  const halves = value / (graduation / 2);
  return Math.abs(halves - Math.round(halves)) < 1e-6 * Math.max(1, Math.abs(halves));
}

function turnSlip(value: number, usual: number, face: Face): Doubt | null {
  if (face.per_turn <= 0) return null;
  const turns = Math.round((value - usual) / face.per_turn);
  if (Math.abs(turns) !== 1) return null;
  const likely = value - turns * face.per_turn;
  return Math.abs(likely - usual) <= 0.2 * face.per_turn ? { kind: "one turn", likely } : null;
}

function factorSlip(value: number, usual: number, face: Face): Doubt | null {
  if (usual === 0 || value === 0 || Math.abs(value - usual) <= 4 * face.graduation) return null;
  const ratio = Math.abs(value / usual);
  for (const factor of FACTORS) {
    if (near(ratio, factor)) return { kind: "factor", factor, likely: value / factor };
    if (near(ratio, 1 / factor)) return { kind: "factor", factor, likely: value * factor };
  }
  return null;
}

const near = (ratio: number, factor: number): boolean => Math.abs(ratio / factor - 1) <= 0.06;

/** Faster than hands can be: `count` confirmations in `spanMs`; shown to the lead, never blocking. */
export const hurried = (count: number, spanMs: number): boolean => count >= 4 && spanMs / count < 2000;
