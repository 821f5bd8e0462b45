import assert from "node:assert/strict";
import { test } from "node:test";

import { fold } from "../../web/src/shared/core/fold.ts";
import { select } from "../../web/src/shared/core/plan.ts";
import { toJson } from "../../web/src/shared/core/setup/view.ts";
import type { Facts, Step } from "../../web/src/shared/core/types.ts";
import { vectors } from "./vectors.ts";
import type { Stories } from "./vectors.ts";

interface PlanCase { name: string; steps: Step[]; facts: Facts; expect: string[] }

for (const { name, steps, facts, expect } of vectors<PlanCase[]>("plan")) {
  test(`the tablet selects the same steps as the server: ${name}`, () => {
    assert.deepEqual(select(steps, facts).map((step) => step.id), expect);
  });
}

const { setup, steps, stories } = vectors<Stories>("fold");

for (const { name, events, verdicts, countersign, expect } of stories) {
  test(`the tablet folds to the same state as the server: ${name}`, () => {
    const folded = fold(setup, steps, events, new Map(Object.entries(verdicts)), countersign);
    assert.deepEqual(JSON.parse(JSON.stringify(toJson(folded))), expect);
  });
}
