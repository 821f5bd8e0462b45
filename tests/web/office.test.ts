import assert from "node:assert/strict";
import { test } from "node:test";

import { target } from "../../web/src/office/chart.ts";

test("arrow keys lead from dot to dot and stop at the ends", () => {
  assert.equal(target("ArrowRight", 0, 3), 1);
  assert.equal(target("ArrowRight", 2, 3), 2);
  assert.equal(target("ArrowLeft", 2, 3), 1);
  assert.equal(target("ArrowLeft", 0, 3), 0);
});

test("Home and End lead to the oldest and the newest dot", () => {
  assert.equal(target("Home", 2, 5), 0);
  assert.equal(target("End", 2, 5), 4);
});

test("any other key stays where it is", () => {
  assert.equal(target("Enter", 2, 5), 2);
});
