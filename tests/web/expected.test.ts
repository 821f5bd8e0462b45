import assert from "node:assert/strict";
import { test } from "node:test";

import { compare } from "../../web/src/shared/core/expected.ts";
import { fold } from "../../web/src/shared/core/fold.ts";
import { comparedTo } from "../../web/src/shared/core/setup/readings.ts";
import type { Setup } from "../../web/src/shared/core/setup/state.ts";
import type { Expected } from "../../web/src/shared/core/types.ts";
import { vectors } from "./vectors.ts";
import type { Stories } from "./vectors.ts";

const EXPECTED: Expected = { low_mm: 0.0214, usual_mm: 0.027, high_mm: 0.0341 };
const LOCKED = "read/A/torqued locked";

const lies = (value: string, graduation: number): string => compare(EXPECTED, value, "mm", graduation).lies;

test("a reading lies inside, above or below the band that is shown", () => {
  const { low, high, unit } = compare(EXPECTED, "0.030", "mm", 0.001);
  assert.deepEqual([low, high, unit], ["0.021", "0.034", "mm"]);
  assert.deepEqual(["0.021", "0.034", "0.036", "-0.027", "0.020"].map((value) => lies(value, 0.001)), ["inside", "inside", "above", "below", "below"]);
});

test("a reading within half a mark of the band lies at its edge", () => {
  assert.deepEqual(["0.01", "0.02", "0.03", "0.04"].map((value) => lies(value, 0.01)), ["below", "at the lower edge", "inside", "above"]);
  assert.equal(lies("0.035", 0.005), "at the upper edge");
});

test("the band is told in the unit of the reading, fine enough to be compared", () => {
  assert.deepEqual(compare(EXPECTED, "0.0010", "in", 0.0005), { low: "0.0008", high: "0.0013", unit: "in", lies: "inside" });
  const about = compare({ low_mm: -0.0002, usual_mm: 0, high_mm: 0.0002 }, "0", "mm", 0.001);
  assert.deepEqual([about.low, about.high, about.lies], ["0.000", "0.000", "inside"]);
});

function told(name: string, more: { expected?: Expected | null }): Setup {
  const { setup: id, steps, stories } = vectors<Stories>("fold");
  const story = stories.find((one) => one.name === name)!;
  const events = story.events.map((event) =>
    event.kind === "setup opened" ? { ...event, data: { ...event.data, frozen: { indicator: { unit: "mm", graduation: 0.01 } } } } : event);
  return fold(id, steps.map((step) => (step.id === LOCKED ? { ...step, ...more } : step)), events);
}

function ofFinal(setup: Setup): string | undefined {
  const final = setup.readings.get(LOCKED)?.final;
  return final ? comparedTo(setup, final, LOCKED)?.lies : undefined;
}

test("the entry that counts is the one that is compared, and nothing before there is one", () => {
  assert.equal(ofFinal(told("out_once", { expected: EXPECTED })), undefined);
  assert.equal(ofFinal(told("out_twice", { expected: EXPECTED })), "above");
  assert.equal(ofFinal(told("corrected", { expected: EXPECTED })), "above");
  assert.equal(ofFinal(told("two_readings", { expected: EXPECTED })), "inside");
});

test("a step whose reading nobody predicted has nothing to compare with", () => {
  assert.equal(ofFinal(told("two_readings", { expected: null })), undefined);
  assert.equal(ofFinal(told("two_readings", {})), undefined);
});
