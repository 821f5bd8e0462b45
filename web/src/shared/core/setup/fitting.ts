/** Whether an event can mean anything in a setup as it stands. */

import type { BenchEvent, EventKind } from "../events.ts";
import type { StepKind } from "../types.ts";
import { phaseOf } from "./state.ts";
import type { Setup } from "./state.ts";

const ANSWERS: Partial<Record<EventKind, StepKind[]>> = {
  "clamp tightened": ["torque", "ease"],
  "clamp moved on re-check": ["recheck", "touch"],
  "reading taken": ["read"],
  "step done": [
    "clean", "free", "grease", "lock", "unlock", "zero", "load", "snug", "recheck", "lift", "gap", "touch", "machine", "unload",
  ],
};
const AFTER_THE_END: EventKind[] = ["note", "trouble", "correction", "after-signature addition"];

/** False for records before the opening, after the end, or at a step of another kind: they change nothing. */
export function fits(setup: Setup, event: BenchEvent): boolean {
  if (setup.opened === null || setup.plan.length === 0) return false;
  const over = ["finished", "rejected", "abandoned"].includes(phaseOf(setup));
  if (over && !AFTER_THE_END.includes(event.kind)) return false;
  const kinds = ANSWERS[event.kind];
  return kinds === undefined || stepFits(setup, event, kinds);
}

function stepFits(setup: Setup, event: BenchEvent, kinds: StepKind[]): boolean {
  const step = setup.plan.find((one) => one.id === event.step);
  if (step === undefined || !kinds.includes(step.kind)) return false;
  const named = event.data["clamp"] ?? event.data["point"] ?? null;
  return named === null || named === step.subject?.id;
}
