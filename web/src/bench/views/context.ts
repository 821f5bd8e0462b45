import type { Acts, BenchState } from "../../shared/core/bench.ts";
import { clampLabel } from "../../shared/core/geometry.ts";
import type { Step, Subject } from "../../shared/core/types.ts";
import type { Texts } from "../../shared/texts/index.ts";
import { decimal, plain, signed } from "../ui/number.ts";

/** All a view may use: what is known, what may be asked for, and the words. */
export interface Bench { state: BenchState; act: Acts; t: Texts }

export const dec = (b: Bench, text: string): string => decimal(text, b.state.settings.language);
export const plus = (b: Bench, text: string): string => signed(text, b.state.settings.language);
export const num = (b: Bench, value: number): string => plain(value, b.state.settings.language);

export function subjectName(b: Bench, subject: Subject | null): string {
  if (!subject) return "";
  return b.t.subjectName[subject.type](subject.type === "clamp" ? clampLabel(subject.id) : subject.id);
}

/** "clamp 5" where a step has something of its own, else what kind of work it is. */
export const stepName = (b: Bench, step: Step): string =>
  step.subject && step.subject.type !== "plate" ? subjectName(b, step.subject) : b.t.stepName[step.kind] ?? step.kind;

export function when(b: Bench, iso: string | null): string {
  if (iso === null) return "";
  const at = new Date(iso);
  const today = new Date(b.state.nowMs).toDateString() === at.toDateString();
  const time: Intl.DateTimeFormatOptions = { hour: "2-digit", minute: "2-digit", hourCycle: "h23" };
  return at.toLocaleString(b.state.settings.language, today ? time : { day: "numeric", month: "short", ...time });
}
