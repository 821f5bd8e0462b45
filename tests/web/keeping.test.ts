import assert from "node:assert/strict";
import { test } from "node:test";

import { mayGo } from "../../web/src/shared/core/keeping.ts";

const DAY_MS = 24 * 3_600_000;
const STORED = { outcome: "stored", seq: 5, upto: 9 } as const;
const ASIDE = { outcome: "set aside", seq: null, upto: 9 } as const;
const old = (row: Parameters<typeof mayGo>[0], watermark: number | null, days = 31): boolean => mayGo(row, 0, watermark, days * DAY_MS);

test("a record stays until a backup holds it and 30 days are over", () => {
  assert.equal(old(STORED, 5), true);
  assert.equal(old(STORED, 4), false);
  assert.equal(old(STORED, null), false);
  assert.equal(old(STORED, 5, 29), false);
});

test("a record without an outcome stays, however old", () => {
  assert.equal(old({ outcome: null, seq: null, upto: null }, 1000, 900), false);
});

test("a record that was set aside goes once a backup holds the server's answer to it", () => {
  assert.equal(old(ASIDE, 9), true);
  assert.equal(old(ASIDE, 8), false);
});

test("a record set aside before answers were numbered stays", () => {
  assert.equal(old({ outcome: "set aside", seq: null }, 1000), false);
});
