/** What the work screen needs to know of the setup in hand. */

import type { BenchState, Kept } from "./bench.ts";
import { fold } from "./fold.ts";
import { groupOf } from "./plan.ts";
import { available, countedSteps, current, undone } from "./setup/current.ts";
import { isUndone, phaseOf, stepOf, undoneAt } from "./setup/state.ts";
import type { Phase, Setup, StepStatus, VerdictWord } from "./setup/state.ts";
import { progress } from "./setup/view.ts";
import type { Indicator, Sheet, Step, TorqueTool } from "./types.ts";

export interface Blocked { wanted: Step; open: Step[] }

export interface Work {
  setup: Setup; sheet: Sheet; phase: Phase; plate: string;
  step: Step | null; status: StepStatus | null; blocked: Blocked | null; rival: Step | null;
  tool: TorqueTool | null; indicator: Indicator | null;
  mine: boolean; done: number; of: number; secondsLeft: number | null;
}

type Known = Pick<BenchState, "setups" | "verdicts" | "shop" | "tablet" | "goTo">;

const folded = new WeakMap<Kept[], { words: string; setup: Setup }>();

/** The folded setup; folding again only when its events or a verdict have changed. */
export function setupOf(state: Pick<BenchState, "setups" | "verdicts" | "shop">, id: string): Setup | null {
  const kept = state.setups.get(id);
  const opening = kept?.find((one) => one.event.kind === "setup opened");
  if (!kept || !opening) return null;
  const sheet = sheetOf(state, opening.event.data);
  const words = verdictsOf(state, kept);
  const key = `${sheet?.hash}|${[...words].join(";")}`;
  const known = folded.get(kept);
  if (known?.words === key) return known.setup;
  const setup = fold(id, sheet?.steps ?? [], kept.map((one) => one.event), words, sheet?.countersign ?? false);
  folded.set(kept, { words: key, setup });
  return setup;
}

function verdictsOf(state: Pick<BenchState, "verdicts">, kept: readonly Kept[]): Map<string, VerdictWord> {
  const signed = kept.filter(({ event }) => event.kind === "signed" || event.kind === "countersigned");
  return new Map(signed.map(({ event }) => [event.id, state.verdicts.get(event.id)?.verdict ?? "provisional"]));
}

export function sheetOf(state: Pick<BenchState, "shop">, opened: Record<string, unknown>): Sheet | null {
  const sheets = state.shop?.sheets ?? [];
  const exact = sheets.find((sheet) => sheet.hash === opened["revision_hash"]);
  return exact ?? sheets.find((sheet) => sheet.design === opened["design"] && sheet.revision === opened["revision"]) ?? null;
}

export function workOf(state: Known, setupId: string): Work | null {
  const setup = setupOf(state, setupId);
  const sheet = setup?.opened ? sheetOf(state, setup.opened) : null;
  if (!setup?.opened || !sheet) return null;
  const due = current(setup);
  const blocked = state.goTo === null ? blockedBy(setup, due) : null;
  const step = blocked ? null : stepAt(setup, state.goTo ?? due);
  const { tool, indicator } = setup.opened["frozen"] as { tool: TorqueTool | null; indicator: Indicator | null };
  const phase = phaseOf(setup);
  return {
    setup, sheet, phase, plate: setup.opened["plate"] as string, blocked,
    rival: setup.plan.find((one) => setup.steps.get(one.id)?.state === "two answers") ?? null,
    step, status: step ? setup.steps.get(step.id)! : null,
    tool: tool?.serial ? tool : null, indicator: indicator?.serial ? indicator : null,
    mine: phase !== "working" || setup.owner_tablet === state.tablet, ...progress(setup), secondsLeft: secondsLeft(setup, state),
  };
}

const stepAt = (setup: Setup, id: string | null): Step | null => setup.plan.find((step) => step.id === id) ?? null;

/**
 * Only troubled steps are left before the next thing: name them instead of going round in a circle.
 * Of a clamp in trouble in several passes the last one is named, for doing it closes the lighter ones.
 */
function blockedBy(setup: Setup, due: string | null): Blocked | null {
  if (due === null || setup.steps.get(due)!.state !== "trouble") return null;
  const troubled = available(setup).filter((step) => setup.steps.get(step.id)!.state === "trouble");
  const open = [...new Map(troubled.map((step) => [`${step.kind} ${step.subject?.id}`, step])).values()];
  const wanted = undone(setup).find((step) => setup.steps.get(step.id)!.state !== "trouble");
  return wanted ? { wanted, open } : null;
}

function secondsLeft(setup: Setup, state: Known): number | null {
  const pace = state.shop?.pace;
  if (!pace || Object.keys(pace).length === 0) return null;
  return beforeSigning(setup).reduce((sum, step) => sum + (pace[step.kind] ?? 0), 0);
}

const beforeSigning = (setup: Setup): Step[] =>
  countedSteps(setup).filter((step) => undoneAt(setup, step.id) && !["machine", "ease", "unload"].includes(step.kind));

export interface RulerMark { at: number; long: boolean }

/** A tick for each step, a longer one where another pass or another kind of work begins. */
export function rulerOf(setup: Setup): { marks: RulerMark[]; done: number } {
  const counted = countedSteps(setup);
  const marks = counted.map((step, at) => ({ at, long: at === 0 || partOf(step) !== partOf(counted[at - 1]!) }));
  return { marks: [...marks, { at: counted.length, long: true }], done: progress(setup).done };
}

const partOf = (step: Step): string => groupOf(step) ?? (["read", "zero"].includes(step.kind) ? "readings" : step.kind);

/** The step after this one, as the clamp to look at next. */
export function nextAfter(setup: Setup, stepId: string): Step | null {
  const rest = setup.plan.slice(setup.plan.findIndex((step) => step.id === stepId) + 1);
  return rest.find((step) => isUndone(setup.steps.get(step.id)!) && step.kind !== "judge") ?? null;
}

type ClampState = "done" | "moved" | "open" | "trouble";

/**
 * The clamps of the step's pass that are done, moved, open or in trouble. A second touch picks a
 * few clamps; the others stay as their tightening left them.
 */
export function clampStates(setup: Setup, step: Step | null): Map<string, ClampState> {
  const out = step?.kind === "touch" ? clampStates(setup, null) : new Map<string, ClampState>();
  const kind = step && step.subject?.type === "clamp" ? step.kind : null;
  for (const one of setup.plan) {
    if (one.subject?.type !== "clamp") continue;
    const same = kind === null ? one.kind === "torque" || one.kind === "recheck" : one.kind === kind && one.pass === step!.pass;
    if (!same) continue;
    const state = setup.steps.get(one.id)!.state;
    out.set(one.subject.id, state === "done" || state === "moved" || state === "trouble" ? state : "open");
  }
  for (const trouble of setup.troubles) if (trouble.open && trouble.clamp) out.set(trouble.clamp, "trouble");
  return out;
}

export const passOf = (setup: Setup, stepId: string): string | null => groupOf(stepOf(setup, stepId));
