import assert from "node:assert/strict";
import { test } from "node:test";

import {
  graduationMm, indicatorAdvice, indicatorRefusals, limitWidthMm, settingText, toolRefusals,
} from "../../web/src/shared/core/choice.ts";
import type { Indicator, TorqueTool, TorqueUnit } from "../../web/src/shared/core/types.ts";
import { lengthIn, torqueIn } from "../../web/src/shared/core/units.ts";
import { vectors } from "./vectors.ts";

interface Units {
  torque: { nm: number; unit: TorqueUnit; value: number }[];
  length: { mm: number; unit: string; value: number }[];
  set_value: { target_nm: number; tool: TorqueTool; shown: string }[];
  suits: { name: string; tool: TorqueTool; targets_nm: number[]; pulls: number | null; today: string; codes: string[] }[];
}

interface Choice {
  name: string; indicator: Indicator; limits: { low_mm: number; high_mm: number }[]; today: string;
  ratio: number | null; refusals: string[]; advice: string[];
}

const units = vectors<Units>("units");
const near = (found: number, wanted: number): boolean => Math.abs(found - wanted) <= 1e-12 * Math.max(1, Math.abs(wanted));

test("torques and lengths come out in every unit as on the server", () => {
  for (const { nm, unit, value } of units.torque) assert.ok(near(torqueIn(nm, unit), value), `${nm} N*m in ${unit}`);
  for (const { mm, unit, value } of units.length) assert.ok(near(lengthIn(mm, unit), value), `${mm} mm in ${unit}`);
});

test("the number to set on the wrench is the server's, digit for digit", () => {
  for (const { target_nm: target, tool, shown } of units.set_value) {
    assert.equal(settingText(tool, target), shown, `${target} N*m on ${JSON.stringify(tool)}`);
  }
});

for (const { name, tool, targets_nm: targets, pulls, today, codes } of units.suits) {
  test(`the tablet judges a wrench as the server does: ${name}`, () => {
    const counted = { ...tool, pulls: pulls ?? tool.pulls_before };
    assert.deepEqual(toolRefusals(counted, targets, today).map((refusal) => refusal.code), codes);
  });
}

for (const { name, indicator, limits, today, ratio, refusals, advice } of vectors<Choice[]>("choice")) {
  test(`the tablet judges an indicator as the server does: ${name}`, () => {
    const widths = limits.map(({ low_mm: low, high_mm: high }) => limitWidthMm(low, high));
    assert.deepEqual(indicatorRefusals(indicator, widths, today).map((refusal) => refusal.code), refusals);
    const said = indicatorAdvice(indicator, widths);
    assert.deepEqual(said ? [said.code] : [], advice);
    if (ratio !== null) assert.ok(near(Math.min(...widths) / graduationMm(indicator), ratio));
  });
}
