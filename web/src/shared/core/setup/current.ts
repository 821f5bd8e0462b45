/** Which step comes next, and what has to be judged before a signature. */

import type { Step } from "../types.ts";
import { phaseOf, undoneAt } from "./state.ts";
import type { Setup } from "./state.ts";

/** What a named person must judge, each as a stable word that changes when the fact does. */
export function causes(setup: Setup): string[] {
  const found: string[] = [];
  for (const reading of setup.readings.values()) {
    if (reading.final?.out) found.push(`reading:${reading.step}:${reading.final.event}`);
  }
  for (const [stepId, status] of setup.steps) {
    if (status.state === "moved" && stepId.startsWith("touch/")) found.push(`touch:${stepId}`);
  }
  found.push(...setup.troubles.filter((one) => one.open).map((one) => `trouble:${one.event}`));
  found.push(...setup.flags.filter(([, flag]) => flag === "locked with open clamps").map(([event]) => `flag:${event}`));
  return found;
}

export function unjudged(setup: Setup): string[] {
  const judged = setup.judgement?.causes ?? [];
  return causes(setup).filter((cause) => !judged.includes(cause));
}

/** The steps that count for progress: judging only when there is something to judge. */
export function countedSteps(setup: Setup): Step[] {
  const needed = unjudged(setup).length > 0 || setup.judgement !== null;
  return setup.plan.filter((step) => step.kind !== "judge" || needed);
}

/** The one step to do now; a step in trouble or with two answers only when nothing else can be done. */
export function current(setup: Setup): string | null {
  if (["finished", "rejected", "abandoned"].includes(phaseOf(setup))) return null;
  const offered = available(setup).map((step) => step.id);
  const untouched = offered.filter((id) => ["open", "second entry"].includes(setup.steps.get(id)!.state));
  return untouched[0] ?? offered[0] ?? null;
}

/** Every undone step that no earlier undone step blocks, in plan order. */
export function available(setup: Setup): Step[] {
  const blocked = new Set<string>();
  const found: Step[] = [];
  for (const step of undone(setup)) {
    if (!blocked.has(step.kind)) found.push(step);
    step.blocks.forEach((kind) => blocked.add(kind));
  }
  return found;
}

export function undone(setup: Setup): Step[] {
  const toJudge = unjudged(setup).length > 0;
  return setup.plan.filter((step) => (step.kind === "judge" ? toJudge : undoneAt(setup, step.id)));
}
