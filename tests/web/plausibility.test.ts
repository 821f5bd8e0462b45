import assert from "node:assert/strict";
import { test } from "node:test";

import { doubts } from "../../web/src/shared/core/numbers/plausibility.ts";

const METRIC = { unit: "mm", graduation: 0.01, per_turn: 1 } as const;
const INCH = { unit: "in", graduation: 0.0005, per_turn: 0.1 } as const;

test("a value on a mark and near the usual one raises no question", () => {
  assert.deepEqual(doubts(0.03, METRIC, 0.02), []);
  assert.deepEqual(doubts(0.03, METRIC, null), []);
  assert.deepEqual(doubts(0.0010, INCH, 0.02), []);
});

test("a value that is no multiple of half a graduation is asked about", () => {
  assert.equal(doubts(0.033, METRIC, null)[0]?.kind, "off graduation");
  assert.deepEqual(doubts(0.035, METRIC, null), []);
  assert.equal(doubts(0.0003, INCH, null)[0]?.kind, "off graduation");
});

test("a jump of one turn is named with the likely value", () => {
  const [doubt] = doubts(1.03, METRIC, 0.02);
  assert.ok(doubt?.kind === "one turn" && Math.abs(doubt.likely - 0.03) < 1e-9);
  assert.equal(doubts(0.047, INCH, 0.147 * 25.4)[0]?.kind, "one turn");
});

test("factors of 10, 12 and 25.4 either way are named", () => {
  const found = [0.3, 0.36, 0.76].map((value) => doubts(value, METRIC, 0.03)[0]);
  assert.deepEqual(found.map((one) => one?.kind === "factor" && one.factor), [10, 12, 25.4]);
  const down = doubts(0.02, METRIC, 0.2)[0];
  assert.ok(down?.kind === "factor" && Math.abs(down.likely - 0.2) < 1e-9);
});

test("ordinary scatter about a small usual value stays quiet", () => {
  assert.deepEqual(doubts(0.04, METRIC, 0.004), []);
});
