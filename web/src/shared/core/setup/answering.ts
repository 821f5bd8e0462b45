/** Marking a step as answered, and opening it again. */

import type { BenchEvent } from "../events.ts";
import { fresh } from "./state.ts";
import type { Setup } from "./state.ts";

/** Mark the event's step; false when it is unknown or another tablet had answered it. */
export function answer(setup: Setup, event: BenchEvent, moved = false): boolean {
  const stepId = event.step ?? "";
  const status = setup.steps.get(stepId);
  if (status === undefined) {
    setup.odd.push(event.id);
    return false;
  }
  setup.stepOfEvent.set(event.id, stepId);
  status.answers.push(event.id);
  const answered = status.state === "done" || status.state === "moved" || status.state === "two answers";
  if (answered && (status.tablet !== event.tablet || status.state === "two answers")) {
    status.state = "two answers";
    return false;
  }
  Object.assign(status, {
    state: moved ? "moved" : "done", event: event.id, tablet: event.tablet, person: event.person, at: event.at,
  });
  closeTroubles(setup, stepId);
  return true;
}

/** Doing a step settles the troubles reported at it. */
export function closeTroubles(setup: Setup, stepId: string): void {
  for (const trouble of setup.troubles) if (trouble.step === stepId) trouble.open = false;
}

export function reopen(setup: Setup, stepIds: readonly string[]): void {
  for (const stepId of stepIds) {
    setup.steps.set(stepId, fresh());
    setup.readings.delete(stepId);
  }
}
