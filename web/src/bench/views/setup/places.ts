import { placeSeen } from "../../../shared/core/geometry.ts";
import type { Step } from "../../../shared/core/types.ts";
import { nextAfter } from "../../../shared/core/work.ts";
import type { Work } from "../../../shared/core/work.ts";
import type { Bench } from "../context.ts";

export function nextClampStep(work: Work, step: Step): Step | null {
  const next = nextAfter(work.setup, step.id);
  return next && next.kind === step.kind && next.pass === step.pass && next.subject?.type === "clamp" ? next : null;
}

/** Where a clamp lies, in the words of the plan as it is turned now. */
export function placeWords(b: Bench, work: Work, clampId: string): string {
  const clamp = work.sheet.clamps.find((one) => one.id === clampId);
  if (!clamp) return "";
  const { row, column } = placeSeen(clamp.place, b.state.settings.turn);
  return b.t.place(b.t.row[row]!, b.t.column[column]!);
}
