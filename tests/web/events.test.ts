import assert from "node:assert/strict";
import { createHash } from "node:crypto";
import { test } from "node:test";

import { FIRST_PREV, coverHash, freeze, hashText, parseEvent } from "../../web/src/shared/core/events.ts";
import type { Said, Stamp } from "../../web/src/shared/core/events.ts";
import { draw, uuid7 } from "../../web/src/shared/core/time.ts";

const SAID: Said = { setup: "s", kind: "note", step: null, person: "B-01", data: { text: "Grün, 3 µm – läuft" } };
const STAMP: Stamp = {
  id: "i", tablet: "t", n: 1, prev: FIRST_PREV, atMs: Date.UTC(2026, 10, 24, 23, 31, 15, 123), elapsedMs: 12.6, clockOffsetMs: null, build: "b",
};

const bytes = (fill: number) => (count: number): Uint8Array => new Uint8Array(count).fill(fill);

test("an event's hash is SHA-256 of its UTF-8 bytes", () => {
  const text = freeze(SAID, STAMP);
  assert.equal(hashText(text), createHash("sha256").update(text, "utf8").digest("hex"));
});

test("an event carries the fields of the wire and milliseconds in its time", () => {
  const event = parseEvent(freeze(SAID, STAMP));
  assert.deepEqual(Object.keys(event), [
    "id", "tablet", "n", "prev", "setup", "kind", "step", "person", "data", "at", "elapsed", "clock_offset", "schema", "build",
  ]);
  assert.equal(event.at, "2026-11-24T23:31:15.123Z");
  assert.equal(event.elapsed, 13);
});

test("what a signature covers changes with every event and with their order", () => {
  const [a, b] = [hashText("a"), hashText("b")];
  assert.notEqual(coverHash([a, b]), coverHash([b, a]));
  assert.equal(coverHash([a, b]), createHash("sha256").update(`${a}\n${b}`).digest("hex"));
});

test("ids are version 7, in order of time, of the shape the server takes", () => {
  const early = uuid7(1_700_000_000_000, bytes(255));
  const late = uuid7(1_700_000_000_001, bytes(0));
  assert.match(early, /^[0-9a-f]{8}-[0-9a-f]{4}-7[0-9a-f]{3}-[89ab][0-9a-f]{3}-[0-9a-f]{12}$/);
  assert.ok(early < late);
});

test("clamps for the second touch are different ones of the plate's", () => {
  let seed = 1;
  const random = (count: number): Uint8Array => new Uint8Array(count).map(() => (seed = (seed * 73 + 41) % 251));
  for (let i = 0; i < 50; i += 1) {
    const drawn = draw(["C1", "C2", "C3", "C4", "C5"], 3, random);
    assert.equal(new Set(drawn).size, 3);
  }
  assert.deepEqual(draw(["C1"], 3, random), ["C1"]);
});
