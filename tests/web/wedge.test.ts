import assert from "node:assert/strict";
import { test } from "node:test";

import { IDLE, fallSilent, hear, serialIn } from "../../web/src/shared/core/numbers/wedge.ts";
import type { Heard } from "../../web/src/shared/core/numbers/wedge.ts";

/** Keys with the milliseconds before each, as one hears them; silence at the end. */
function heard(keys: readonly string[], gapMs: number): { heard: Heard[]; swallowed: number } {
  const out: Heard[] = [];
  let state = IDLE;
  let swallowed = 0;
  keys.forEach((key, i) => {
    const caught = hear(state, key, 1000 + i * gapMs);
    state = caught.state;
    out.push(...caught.heard);
    if (key === "Enter" && caught.swallow) swallowed += 1;
  });
  return { heard: [...out, ...fallSilent(state).heard], swallowed };
}

test("a burst under 50 ms a key is one reading and its Enter is swallowed", () => {
  const found = heard([..."-0,03", "Enter"], 8);
  assert.deepEqual(found, { heard: [{ type: "burst", raw: "-0,03" }], swallowed: 1 });
});

test("a burst without Enter counts too", () => {
  assert.deepEqual(heard([..."12.50"], 8).heard, [{ type: "burst", raw: "12.50" }]);
});

test("fingers are handed on key by key and keep their Enter", () => {
  const found = heard(["1", "2", "3", "Enter"], 180);
  assert.deepEqual(found.heard.flatMap((one) => (one.type === "keys" ? one.keys : [])), ["1", "2", "3", "Enter"]);
  assert.equal(found.swallowed, 0);
});

test("a plate's serial is found in what a scanner gives", () => {
  const given = ["SAD-20-003", " sad-20-003 ", "https://bench.local/plates/SAD-20-003?x=1", "http://h/SAD-20-003/", "%E0%A4%A"];
  assert.deepEqual(given.map(serialIn), ["SAD-20-003", "SAD-20-003", "SAD-20-003", "SAD-20-003", "%E0%A4%A"]);
});
