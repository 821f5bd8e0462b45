import type { Facts, Step } from "./types.ts";

/** The steps that a setup with these facts must go through, in order. */
export const select = (steps: readonly Step[], facts: Facts): Step[] => steps.filter((step) => calledFor(step, facts));

function calledFor(step: Step, facts: Facts): boolean {
  switch (step.when) {
    case "grease due":
      return facts.grease_due;
    case "baseline due":
      return facts.baseline_due;
    case "second touch":
      return (facts.second_touch ?? []).includes(step.subject!.id);
    default:
      return true;
  }
}

/** The pass a step belongs to, which is worked in one go; null for all other steps. */
export function groupOf(step: Step): string | null {
  if (step.kind === "torque") return `torque/${step.pass}`;
  return step.kind === "recheck" ? "recheck" : null;
}
