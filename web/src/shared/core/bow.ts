/** How far the plate should have bowed: an estimate beside the work, from the sheet's guide and the pulls done. */

import { Plate } from "./guide.ts";
import type { Pull } from "./guide.ts";
import { undoneAt } from "./setup/state.ts";
import type { Pulled, Setup } from "./setup/state.ts";
import type { Guide, Sheet, Spot, Step } from "./types.ts";

/** The change of a point's height since the clamps were snug, positive upward. */
export interface Bow { point: string; um: number }

export type Shape = "crown" | "dish" | "up" | "down" | "flat";

/** By now at each point, the most bowed first; empty where the sheet has no guide that can answer. */
export function bowsNow(setup: Setup, { guide }: Sheet): Bow[] {
  const plate = guide ? plateAfter(guide, setup.pulls) : null;
  return plate ? bowsOf(guide!, plate).sort((a, b) => Math.abs(b.um) - Math.abs(a.um)) : [];
}

/** What will have come of it after one more step, or once all are tight; in the order of the guide's points. */
export function bowsThen(setup: Setup, { guide }: Sheet, step: Step | null): Bow[] {
  const plate = guide ? plateAfter(guide, setup.pulls)?.copy() : null;
  const left = setup.plan.filter((one) => one.kind === "torque" && undoneAt(setup, one.id));
  const pulls = left.filter((one) => step === null || one.id === step.id).map(pullOf);
  return plate?.pullAll(pulls) ? bowsOf(guide!, plate) : [];
}

const bowsOf = (guide: Guide, plate: Plate): Bow[] => {
  const { changeUm } = plate.tightened();
  return guide.points.map((point, p) => ({ point, um: changeUm[p]! }));
};

const latest = new WeakMap<Guide, { pulls: readonly Pulled[]; plate: Plate }>();

/** One more pull is followed from where the last ones ended, so that a touch costs one pull and not all. */
function plateAfter(guide: Guide, pulls: readonly Pulled[]): Plate | null {
  const known = latest.get(guide);
  const goesOn = known !== undefined && known.pulls.every((one, i) => one.event === pulls[i]?.event);
  const plate = goesOn ? known.plate.copy() : new Plate(guide);
  if (!plate.pullAll(pulls.slice(goesOn ? known.pulls.length : 0))) return null;
  latest.set(guide, { pulls, plate });
  return plate;
}

const pullOf = (step: Step): Pull => ({ clamp: step.subject!.id, share: step.share || 1 });

/** What a rise or fall makes of the plate: crown or dish between the receivers; beyond them it tells only itself. */
export function shapeOf(sheet: Sheet, point: string, um: number, leastUm: number): Shape {
  if (Math.abs(um) < leastUm) return "flat";
  const spot = sheet.points.find((one) => one.id === point);
  const between = !spot || sheet.receivers.length === 0 || within(spot, sheet.receivers);
  if (between) return um > 0 ? "crown" : "dish";
  return um > 0 ? "up" : "down";
}

function within(spot: Spot, receivers: readonly Spot[]): boolean {
  const inside = (of: (one: Spot) => number): boolean =>
    of(spot) >= Math.min(...receivers.map(of)) && of(spot) <= Math.max(...receivers.map(of));
  return inside((one) => one.x_mm) && inside((one) => one.y_mm);
}
