import assert from "node:assert/strict";
import { test } from "node:test";

import { MARGIN_MM, clampLabel, placeSeen, planOf } from "../../web/src/shared/core/geometry.ts";
import type { Turn } from "../../web/src/shared/core/geometry.ts";

const PLATE = { length_mm: 400, width_mm: 200, thickness_mm: 20 };

test("seen from the bench, the plate's front-left corner is at the lower left of the plan", () => {
  const plan = planOf(PLATE, 0);
  assert.deepEqual(plan.at(0, 0), [MARGIN_MM, 200 + MARGIN_MM]);
  assert.deepEqual([plan.width, plan.height], [400 + 2 * MARGIN_MM, 200 + 2 * MARGIN_MM]);
});

test("marks and drawing turn together, in every quarter", () => {
  for (const turn of [0, 1, 2, 3] as Turn[]) {
    const plan = planOf(PLATE, turn);
    const [a, b, c, d, e, f] = numbers(plan.transform);
    const [x, y] = [120, 200 - 50];
    assert.deepEqual(plan.at(120, 50), [a! * x + c! * y + e!, b! * x + d! * y + f!], `turn ${turn}`);
  }
});

/** The six numbers of an SVG transform. */
function numbers(transform: string): number[] {
  const found = transform.match(/-?[\d.]+/g)!.map(Number);
  return transform.startsWith("translate") ? [1, 0, 0, 1, ...found] : found;
}

test("the words for a place follow the plan when it is turned", () => {
  const place = { row: "front", column: "left" } as const;
  const seen = ([0, 1, 2, 3] as Turn[]).map((turn) => placeSeen(place, turn));
  assert.deepEqual(seen, [
    { row: "front", column: "left" }, { row: "back", column: "left" }, { row: "back", column: "right" }, { row: "front", column: "right" },
  ]);
  const [x, y] = planOf(PLATE, 1).at(20, 20);
  assert.ok(x < 100 && y < 100, "a quarter clockwise takes the front left to the upper left");
});

test("clamps named C and a number are spoken of by the number", () => {
  assert.deepEqual(["C5", "C12", "left", "CX"].map(clampLabel), ["5", "12", "left", "CX"]);
});
