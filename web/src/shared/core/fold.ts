/** One setup, folded from its events; the server folds by the same rules (tests/vectors/fold.json). */

import type { BenchEvent } from "./events.ts";
import { select } from "./plan.ts";
import { apply } from "./setup/apply.ts";
import { emptySetup } from "./setup/state.ts";
import type { Setup, VerdictWord } from "./setup/state.ts";
import type { Facts, Step } from "./types.ts";

/** Server order, with each tablet's own records put in the order it made them. */
export function ordered(events: readonly BenchEvent[]): BenchEvent[] {
  const queues = new Map<string, BenchEvent[]>();
  for (const event of events) queues.set(event.tablet, [...(queues.get(event.tablet) ?? []), event]);
  for (const queue of queues.values()) queue.sort((a, b) => a.n - b.n);
  return events.map((event) => queues.get(event.tablet)!.shift()!);
}

export function fold(
  setupId: string,
  steps: readonly Step[],
  events: readonly BenchEvent[],
  verdicts: ReadonlyMap<string, VerdictWord> = new Map(),
  countersign = false,
): Setup {
  const setup = { ...emptySetup(setupId), countersign };
  const inOrder = ordered(events);
  const opening = inOrder.find((event) => event.kind === "setup opened");
  if (opening) setup.plan = select(steps, opening.data["facts"] as Facts);
  for (const event of inOrder) apply(setup, event, verdicts);
  return setup;
}
