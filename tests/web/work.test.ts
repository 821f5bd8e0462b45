import assert from "node:assert/strict";
import { test } from "node:test";

import { fold } from "../../web/src/shared/core/fold.ts";
import { clampStates } from "../../web/src/shared/core/work.ts";
import { vectors } from "./vectors.ts";
import type { Stories } from "./vectors.ts";

test("at a second touch the clamps that were not picked keep what their tightening left", () => {
  const { setup: id, steps, stories } = vectors<Stories>("fold");
  const story = stories.find((one) => one.name === "touched_and_moved")!;
  const setup = fold(id, steps, story.events, new Map(Object.entries(story.verdicts)));
  const states = clampStates(setup, setup.plan.find((step) => step.id === "touch/C1")!);
  assert.equal(states.get("C1"), "moved");
  assert.equal(states.get("C2"), "done");
});
