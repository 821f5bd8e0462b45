/**
 * Which wrench and which indicator may be used for a setup, and what is set on the wrench.
 * The server computes the same (tests/vectors/units.json, choice.json), in the same order of operations.
 */

import { decimalsOf } from "./numbers/entry.ts";
import type { Indicator, Sheet, TorqueTool } from "./types.ts";
import { MM_PER_IN, torqueIn } from "./units.ts";

export type Refusal =
  | { code: "withdrawn" }
  | { code: "overdue-by-date"; due: string }
  | { code: "overdue-by-pulls"; pulls: number; limit: number }
  | { code: "below-range" | "above-range"; set: number; low: number; high: number; unit: string }
  | { code: "stylus-too-steep"; deg: number }
  | { code: "too-coarse" | "coarse"; graduationMm: number; widthMm: number };

const LEAST_SHARE_OF_RANGE = 0.2;
const ROUNDING_PLAY = 1e-9;
const LEAST_RATIO = 4;
const ADVISED_RATIO = 10;
const STEEPEST_STYLUS_DEG = 30;

/** The setting in the tool's unit, corrected for an adapter in line, before rounding. */
export function exactSetting(targetNm: number, tool: TorqueTool): number {
  const value = torqueIn(targetNm, tool.unit);
  if (tool.adapter === null) return value;
  const { wrench_length_mm: length, length_mm: offset } = tool.adapter;
  return (value * length) / (length + offset);
}

/** The number to set: a multiple of the tool's graduation with just its decimals. */
export function settingText(tool: TorqueTool, targetNm: number): string {
  const steps = Math.floor(exactSetting(targetNm, tool) / tool.graduation + 0.5 + ROUNDING_PLAY);
  return (steps * tool.graduation).toFixed(decimalsOf(tool.graduation));
}

/** The part of the scale that may be used: 20 to 100 % of its top. */
export const usableRange = (tool: TorqueTool): [low: number, high: number] =>
  [Math.max(tool.low, LEAST_SHARE_OF_RANGE * tool.high), tool.high];

/** Every reason against using the tool; none means it may be used. */
export function toolRefusals(tool: TorqueTool, targetsNm: readonly number[], todayIso: string): Refusal[] {
  const found: Refusal[] = [];
  if (tool.state === "withdrawn") found.push({ code: "withdrawn" });
  if (todayIso > tool.due) found.push({ code: "overdue-by-date", due: tool.due });
  const pulls = tool.pulls ?? tool.pulls_before;
  if (pulls >= tool.pulls_limit) found.push({ code: "overdue-by-pulls", pulls, limit: tool.pulls_limit });
  return [...found, ...rangeRefusals(tool, targetsNm)];
}

export function rangeRefusals(tool: TorqueTool, targetsNm: readonly number[]): Refusal[] {
  const settings = targetsNm.map((target) => exactSetting(target, tool));
  const [low, high] = usableRange(tool);
  const reach = { low, high, unit: tool.unit };
  const [least, most] = [Math.min(...settings), Math.max(...settings)];
  const found: Refusal[] = [];
  if (least < low - 1e-6 * high) found.push({ code: "below-range", set: least, ...reach });
  if (most > high + 1e-6 * high) found.push({ code: "above-range", set: most, ...reach });
  return found;
}

export const graduationMm = (indicator: Indicator): number =>
  indicator.unit === "in" ? indicator.graduation * MM_PER_IN : indicator.graduation;

/** L for limits from -L to L, otherwise the distance between the two. */
export const limitWidthMm = (lowMm: number, highMm: number): number => (lowMm === -highMm ? highMm : highMm - lowMm);

/** Every reason against judging limits of these widths with the indicator. */
export function indicatorRefusals(indicator: Indicator, widthsMm: readonly number[], todayIso: string): Refusal[] {
  const found: Refusal[] = [];
  if (indicator.state === "withdrawn") found.push({ code: "withdrawn" });
  if (todayIso > indicator.due) found.push({ code: "overdue-by-date", due: indicator.due });
  if (indicator.stylus_deg > STEEPEST_STYLUS_DEG) found.push({ code: "stylus-too-steep", deg: indicator.stylus_deg });
  const coarse = coarseFor(indicator, widthsMm);
  return coarse?.code === "too-coarse" ? [...found, coarse] : found;
}

/** Said, not refused: a finer graduation is advised. */
export function indicatorAdvice(indicator: Indicator, widthsMm: readonly number[]): Refusal | null {
  const coarse = coarseFor(indicator, widthsMm);
  return coarse?.code === "coarse" ? coarse : null;
}

function coarseFor(indicator: Indicator, widthsMm: readonly number[]): Extract<Refusal, { widthMm: number }> | null {
  if (widthsMm.length === 0) return null;
  const about = { graduationMm: graduationMm(indicator), widthMm: Math.min(...widthsMm) };
  const ratio = about.widthMm / about.graduationMm;
  if (ratio < LEAST_RATIO - ROUNDING_PLAY) return { code: "too-coarse", ...about };
  return ratio < ADVISED_RATIO - ROUNDING_PLAY ? { code: "coarse", ...about } : null;
}

/** Every torque a setup of this sheet will ask the wrench for. */
export const torquesOf = (sheet: Sheet): number[] =>
  [...new Set(sheet.steps.flatMap((step) => (step.item === "tool" && step.target ? [step.target.value] : [])))];

export const widthsOf = (sheet: Sheet): number[] => sheet.points.map((point) => limitWidthMm(point.low_mm, point.high_mm));
