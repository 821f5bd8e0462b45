/** How far the plate should have bowed: an estimate beside the work, from the sheet's guide and the pulls done. */

import { tightenedBy } from "./guide.ts";
import type { Pull } from "./guide.ts";
import { undoneAt } from "./setup/state.ts";
import type { Setup } from "./setup/state.ts";
import type { Sheet, Spot, Step } from "./types.ts";

/** Micrometres since the clamps were snug, positive upward. */
export interface Bow { point: string; nowUm: number; thenUm: number; endUm: number }

export type Shape = "crown" | "dish" | "flat";

/**
 * At each point: by now, after the clamp in hand, and once all are tight; the most bowed point first.
 * Empty where the sheet has no guide that can answer.
 */
export function bows(setup: Setup, sheet: Sheet, step: Step): Bow[] {
  const { guide } = sheet;
  if (!guide) return [];
  const left = setup.plan.filter((one) => one.kind === "torque" && undoneAt(setup, one.id));
  const hand = left.filter((one) => one.id === step.id);
  const found = [[], hand, left].map((steps) => tightenedBy(guide, [...setup.pulls, ...steps.map(pullOf)]));
  const [now, then, end] = found.map((one) => one?.changeUm);
  if (!now || !then || !end) return [];
  return guide.points
    .map((point, p) => ({ point, nowUm: now[p]!, thenUm: then[p]!, endUm: end[p]! }))
    .sort((a, b) => Math.abs(b.nowUm) - Math.abs(a.nowUm));
}

const pullOf = (step: Step): Pull => ({ clamp: step.subject!.id, share: step.share || 1 });

/** What a rise or fall at a point makes of the plate: beyond the receivers a crowned plate falls. */
export function shapeOf(sheet: Sheet, point: string, um: number, leastUm: number): Shape {
  if (Math.abs(um) < leastUm) return "flat";
  const spot = sheet.points.find((one) => one.id === point);
  const between = !spot || sheet.receivers.length === 0 || within(spot, sheet.receivers);
  return um > 0 === between ? "crown" : "dish";
}

function within(spot: Spot, receivers: readonly Spot[]): boolean {
  const inside = (of: (one: Spot) => number): boolean =>
    of(spot) >= Math.min(...receivers.map(of)) && of(spot) <= Math.max(...receivers.map(of));
  return inside((one) => one.x_mm) && inside((one) => one.y_mm);
}
