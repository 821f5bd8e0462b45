/** Which wrench and which indicator may be used for a setup, and what is set on the wrench. */

import { decimalsOf } from "./entry.ts";
import type { Indicator, Sheet, TorqueTool } from "./types.ts";
import { lengthIn, torqueIn } from "./units.ts";

export type Refusal =
  | { code: "withdrawn" } | { code: "overdue"; due: string } | { code: "pulls"; pulls: number; limit: number }
  | { code: "too small"; set: string; least: string; unit: string } | { code: "too large"; set: string; most: string; unit: string }
  | { code: "stylus"; deg: number } | { code: "coarse"; graduation: string; limit: string; unit: string };

export const LEAST_SHARE_OF_RANGE = 0.2;
export const STEEPEST_STYLUS_DEG = 30;
export const COARSEST_RATIO = 4;

/** What is set on this wrench for a torque at the clamp, in the wrench's unit, before rounding. */
export function setOn(tool: TorqueTool, torqueNm: number): number {
  const { adapter } = tool;
  const share = adapter === null ? 1 : adapter.wrench_length_mm / (adapter.wrench_length_mm + adapter.length_mm);
  return torqueIn(torqueNm * share, tool.unit);
}

/** The setting to the nearest graduation, as text with the wrench's decimals. */
export function settingText(tool: TorqueTool, torqueNm: number): string {
  const marks = Math.round(setOn(tool, torqueNm) / tool.graduation + 1e-9);
  return (marks * tool.graduation).toFixed(decimalsOf(tool.graduation));
}

export function toolRefusal(tool: TorqueTool, torquesNm: readonly number[], todayIso: string): Refusal | null {
  if (tool.state !== "in use") return { code: "withdrawn" };
  if (tool.due < todayIso) return { code: "overdue", due: tool.due };
  if (tool.pulls >= tool.pulls_limit) return { code: "pulls", pulls: tool.pulls, limit: tool.pulls_limit };
  return rangeRefusal(tool, torquesNm);
}

function rangeRefusal(tool: TorqueTool, torquesNm: readonly number[]): Refusal | null {
  const decimals = decimalsOf(tool.graduation);
  const least = Math.max(tool.low, LEAST_SHARE_OF_RANGE * tool.high);
  for (const torque of [...torquesNm].sort((a, b) => a - b)) {
    const set = setOn(tool, torque);
    if (set < least - 1e-9) return { code: "too small", set: set.toFixed(decimals), least: least.toFixed(decimals), unit: tool.unit };
    if (set > tool.high + 1e-9) return { code: "too large", set: set.toFixed(decimals), most: tool.high.toFixed(decimals), unit: tool.unit };
  }
  return null;
}

export function indicatorRefusal(indicator: Indicator, sheet: Sheet, todayIso: string): Refusal | null {
  if (indicator.state !== "in use") return { code: "withdrawn" };
  if (indicator.due < todayIso) return { code: "overdue", due: indicator.due };
  if (indicator.stylus_deg > STEEPEST_STYLUS_DEG) return { code: "stylus", deg: indicator.stylus_deg };
  for (const point of sheet.points) {
    const limit = lengthIn(Math.max(Math.abs(point.low_mm), Math.abs(point.high_mm)), indicator.unit);
    if (limit / indicator.graduation < COARSEST_RATIO - 1e-9) {
      const decimals = decimalsOf(indicator.graduation) + 1;
      return { code: "coarse", graduation: String(indicator.graduation), limit: limit.toFixed(decimals), unit: indicator.unit };
    }
  }
  return null;
}

/** Every torque a setup of this sheet will ask the wrench for. */
export const torquesOf = (sheet: Sheet): number[] =>
  [...new Set(sheet.steps.flatMap((step) => (step.item === "tool" && step.target ? [step.target.value] : [])))];
