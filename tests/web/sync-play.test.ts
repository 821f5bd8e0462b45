import assert from "node:assert/strict";
import { test } from "node:test";

import { mayGo } from "../../web/src/shared/core/keeping.ts";
import { Shop, Tablet, deliver, generator, settle } from "./play.ts";
import type { Random } from "./play.ts";

const DAY_MS = 24 * 3_600_000;
const SEEDS = 400;
const MOVES = 140;

const sorted = (ns: Iterable<number>): number[] => [...ns].sort((a, b) => a - b);

/** What the screen says is on the server has had an outcome; what has none is still to be sent. */
function check(tablet: Tablet, shop: Shop, told: string): void {
  const claimed = tablet.shown.filter((n) => !shop.answered.has(n));
  assert.deepEqual(claimed, [], `${told}: said to be on the server without an outcome`);
  const known = sorted(new Set([...tablet.state.outbox, ...tablet.state.acknowledged]));
  assert.deepEqual(known, sorted(tablet.rows.keys()), `${told}: neither acknowledged nor to be sent`);
  assert.equal(new Set(tablet.state.outbox).size, tablet.state.outbox.length, `${told}: twice in the outbox`);
  const under = tablet.wire.filter((one) => one.request === tablet.state.entering);
  assert.ok(under.length <= 1, `${told}: two sessions asked for at once`);
}

function finish(tablet: Tablet, shop: Shop, told: string): void {
  if (!shop.known) enrol(tablet, shop, () => 0.5);
  settle(tablet, shop);
  check(tablet, shop, told);
  const all = sorted(shop.events);
  assert.equal(new Set(all).size, all.length, `${told}: twice on the server`);
  assert.deepEqual(sorted(tablet.rows.keys()).filter((n) => !all.includes(n)), [], `${told}: not on the server`);
  assert.deepEqual(tablet.state.outbox, [], `${told}: the outbox`);
}

function enrol(tablet: Tablet, shop: Shop, random: Random): void {
  Object.assign(shop, { known: true, session: false });
  tablet.feed({ type: "enrolled" }, random);
}

test("lost, doubled, reordered, late, killed, restored, shut out or revoked: every event ends on the server once", () => {
  for (let seed = 1; seed <= SEEDS; seed += 1) {
    const random = generator(seed);
    const [shop, tablet] = [new Shop(), new Tablet()];
    for (let move = 0; move < MOVES; move += 1) {
      const dice = random();
      if (dice < 0.22) tablet.write(0, random);
      else if (dice < 0.78 && tablet.wire.length > 0) deliver(tablet, shop, random);
      else if (dice < 0.81) tablet.restart(random);
      else if (dice < 0.83) shop.restore(random);
      else if (dice < 0.85) shop.session = false;
      else if (dice < 0.86) shop.revoked = true;
      else if (dice < 0.87) Object.assign(shop, { known: false, session: false });
      else if (dice < 0.89) enrol(tablet, shop, random);
      else if (dice < 0.91) tablet.feed({ type: "hint", head: shop.log.length, shop: shop.epoch }, random);
      else tablet.feed({ type: "timer" }, random);
      check(tablet, shop, `seed ${seed}, move ${move}`);
    }
    finish(tablet, shop, `seed ${seed}`);
    assert.deepEqual(sorted(shop.events), sorted(tablet.rows.keys()), `seed ${seed}: nothing else is on the server`);
  }
});

test("however clocks jump, what a tablet has let go of is in the newest backup", () => {
  for (let seed = 1; seed <= SEEDS; seed += 1) {
    const random = generator(seed);
    const [shop, tablet] = [new Shop(), new Tablet()];
    let nowMs = 0;
    for (let move = 0; move < MOVES; move += 1) {
      const dice = random();
      if (dice < 0.25) tablet.write(nowMs, random);
      else if (dice < 0.75 && tablet.wire.length > 0) deliver(tablet, shop, random);
      else if (dice < 0.8) shop.back_up();
      else if (dice < 0.82) shop.restoreTo(shop.backup);
      else if (dice < 0.87) nowMs += (random() - 0.2) * 700 * DAY_MS;
      else if (dice < 0.92) letGo(tablet, nowMs, random);
      else tablet.feed({ type: "timer" }, random);
    }
    finish(tablet, shop, `seed ${seed}`);
    const here = new Set(shop.events);
    for (let n = 1; n <= tablet.last; n += 1) assert.ok(here.has(n), `seed ${seed}: event ${n} is nowhere`);
  }
});

/** As at a start: rows go, and the machine begins with what is left. */
function letGo(tablet: Tablet, nowMs: number, random: Random): void {
  for (const [n, row] of tablet.rows) if (mayGo(row, row.atMs, tablet.memory.watermark, nowMs)) tablet.rows.delete(n);
  tablet.restart(random);
}
