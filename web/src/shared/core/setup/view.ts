/** The JSON form of a setup's state, as the shared test vectors hold it. */

import { causes, countedSteps, current, unjudged } from "./current.ts";
import { unsignedAdditions } from "./signing.ts";
import { phaseOf, undoneAt } from "./state.ts";
import type { Setup } from "./state.ts";

export function toJson(setup: Setup): Record<string, unknown> {
  const counted = countedSteps(setup);
  const { plate = null, design = null, revision = null } = setup.opened ?? {};
  return {
    setup: setup.id, plate, design, revision, opened_by: setup.opened_by, opened_at: setup.opened_at,
    owner: { tablet: setup.owner_tablet, person: setup.owner_person },
    phase: phaseOf(setup), paused: setup.paused, current: current(setup), ...progress(setup), of: counted.length,
    round: setup.round, attempt: setup.attempt, steps: Object.fromEntries(setup.steps),
    readings: Object.fromEntries(setup.readings), movers: Object.fromEntries(setup.movers),
    pulls: setup.pulls, troubles: setup.troubles, notes: setup.notes, restarts: setup.restarts,
    judgement: setup.judgement, judgements: setup.judgements, causes: causes(setup), unjudged: unjudged(setup),
    signatures: setup.signatures, after_signature: setup.after_signature,
    unsigned_additions: unsignedAdditions(setup),
    flags: setup.flags.map(([event, flag]) => ({ event, flag })), odd: setup.odd,
  };
}

/** How many of the counted steps are done. */
export function progress(setup: Setup): { done: number; of: number } {
  const counted = countedSteps(setup);
  const done = setup.steps.size === 0 ? 0 : counted.filter((step) => !undoneAt(setup, step.id)).length;
  return { done, of: counted.length };
}
