import assert from "node:assert/strict";
import { test } from "node:test";

import { bowsNow, bowsThen, shapeOf } from "../../web/src/shared/core/bow.ts";
import type { Bow } from "../../web/src/shared/core/bow.ts";
import { fold } from "../../web/src/shared/core/fold.ts";
import { tightenedBy } from "../../web/src/shared/core/guide.ts";
import type { Pull, Tightened } from "../../web/src/shared/core/guide.ts";
import type { Setup } from "../../web/src/shared/core/setup/state.ts";
import type { Guide, Sheet } from "../../web/src/shared/core/types.ts";
import { vectors } from "./vectors.ts";
import type { Stories } from "./vectors.ts";

interface GuideCase { name: string; guide: Guide; pulls: Pull[]; expect: Record<string, number[]> | null }

const { setup: id, steps, stories } = vectors<Stories>("fold");

const GUIDE: Guide = {
  clamps: ["C1", "C2"], stations: ["P1", "P2"], points: ["A", "B"], tightened: "torqued free", target_n: [1000, 1000],
  presses: [[1, 0], [0, 1]], flexibility_um_per_n: [[0.02, 0.01], [0.01, 0.02]],
  bow_um_per_n: [[0.01, 0.02], [-0.08, 0]], start_um: [-3, 0],
};

const AT = { x_mm: 100, y_mm: 100, zero: "snug free", read: "torqued locked", low_mm: -0.05, high_mm: 0.05 };

function sheet(guide: Guide | null | undefined): Sheet {
  const points = [{ ...AT, id: "A" }, { ...AT, id: "B", x_mm: 5 }];
  const receivers = [[50, 50], [150, 150]].map(([x, y], i) => ({ id: `${i + 1}`, x_mm: x!, y_mm: y! }));
  return { points, receivers, steps, guide } as unknown as Sheet;
}

function told(name: string): Setup {
  const story = stories.find((one) => one.name === name)!;
  return fold(id, steps, story.events, new Map(Object.entries(story.verdicts)));
}

function near(found: readonly number[], wanted: readonly number[]): void {
  assert.equal(found.length, wanted.length);
  wanted.forEach((value, i) => assert.ok(Math.abs(found[i]! - value) <= 1e-9 * Math.max(1, Math.abs(value)), `${found[i]} is not ${value}`));
}

const WIRE: Record<string, keyof Tightened> = {
  clamp_n: "clampN", part_n: "partN", spread_um: "spreadUm", height_um: "heightUm", change_um: "changeUm",
};

for (const { name, guide, pulls, expect } of vectors<GuideCase[]>("guide")) {
  test(`the tablet finds the same forces and heights as the server: ${name}`, () => {
    const found = tightenedBy(guide, pulls);
    if (expect === null) assert.equal(found, null);
    else for (const [key, values] of Object.entries(expect)) near(found![WIRE[key]!], values);
  });
}

const at = (bows: readonly Bow[], point: string): number => bows.find((bow) => bow.point === point)!.um;

test("the bow follows the pulls in the order done: by now, after the clamp in hand, and once all are tight", () => {
  const setup = told("half_a_pass");
  assert.deepEqual(setup.pulls.map((one) => [one.clamp, one.share]), [["C2", 0.5], ["C1", 0.5], ["C2", 1]]);
  const step = setup.plan.find((one) => one.id === "torque/2/C1")!;
  // C1 has 500 N less half of what C2 gained from 250 to 1000 N; then C2 less half of what C1 gains.
  near([at(bowsNow(setup, sheet(GUIDE)), "A")], [0.01 * (500 - 0.5 * 750) + 0.02 * 1000]);
  near([at(bowsThen(setup, sheet(GUIDE), step), "A")], [0.01 * 1000 + 0.02 * (1000 - 0.5 * 875)]);
  assert.deepEqual(bowsThen(setup, sheet(GUIDE), null), bowsThen(setup, sheet(GUIDE), step));
});

test("the most bowed point comes first, whichever way it went", () => {
  const [first, second] = bowsNow(told("whole"), sheet(GUIDE));
  assert.deepEqual([first!.point, second!.point], ["B", "A"]);
  assert.ok(first!.um < 0 && Math.abs(first!.um) > second!.um);
});

test("a pass that starts again does not count its first pulls twice, and a tap by mistake not at all", () => {
  const bowOf = (name: string): number => at(bowsNow(told(name), sheet(GUIDE)), "A");
  near([bowOf("a_pass_done_again")], [bowOf("whole")]);
  near([bowOf("a_pull_tapped_by_mistake")], [bowOf("left_in_a_pass")]);
});

test("pull after pull comes to the same as all at once, also after looking ahead", () => {
  const setup = told("whole");
  for (let n = 0; n <= setup.pulls.length; n += 1) {
    const part = { ...setup, pulls: setup.pulls.slice(0, n) };
    const { changeUm } = tightenedBy(GUIDE, part.pulls)!;
    bowsThen(part, sheet(GUIDE), null);
    near([at(bowsNow(part, sheet(GUIDE)), "A"), at(bowsNow(part, sheet(GUIDE)), "B")], changeUm);
  }
});

test("there is no estimate where the sheet has no guide, or one for other clamps", () => {
  const setup = told("half_a_pass");
  for (const guide of [undefined, null, { ...GUIDE, clamps: ["C1", "C9"] }]) {
    assert.deepEqual([bowsNow(setup, sheet(guide)), bowsThen(setup, sheet(guide), null)], [[], []]);
  }
});

test("between the receivers up is a crown and down a dish, beyond them only up and down; less than half a mark is flat", () => {
  const shapes = (um: number): string[] => ["A", "B"].map((point) => shapeOf(sheet(GUIDE), point, um, 5));
  assert.deepEqual([shapes(12), shapes(-12), shapes(4)], [["crown", "up"], ["dish", "down"], ["flat", "flat"]]);
});
