/** What is known of one setup: the result of folding its events. Field names are those of the wire. */

import type { Data } from "../events.ts";
import type { Step } from "../types.ts";

export type StepState = "open" | "second entry" | "trouble" | "two answers" | "done" | "moved";
export type VerdictWord = "provisional" | "confirmed" | "refused";
export type Phase = "working" | "signed" | "in machine" | "finished" | "rejected" | "abandoned";

export interface StepStatus {
  state: StepState; event: string | null; tablet: string | null; person: string | null;
  at: string | null; answers: string[];
}

export interface ReadingEntry {
  event: string; entry: number; value: string; unit: string; value_mm: number; out: boolean; corrects: string | null;
}

export interface Reading { step: string; point: string; state: string; entries: ReadingEntry[]; final: ReadingEntry | null }

export interface TroubleNote { event: string; step: string | null; what: string; clamp: string | null; open: boolean }

/** A clamp turned to a share of its full torque while the plate was being tightened. */
export interface Pulled { event: string; clamp: string; share: number }

export interface Restart { event: string; group: string; cleared: string[] }

export interface Judgement { event: string; person: string | null; judgement: string; reason: string; causes: string[] }

export interface Signature {
  event: string; person: string | null; meaning: string; covers: string[]; verdict: VerdictWord; counter: boolean;
}

export interface Setup {
  id: string; plan: Step[]; opened: Data | null; opened_by: string | null; opened_at: string | null;
  owner_tablet: string | null; owner_person: string | null; paused: boolean; round: number; attempt: number;
  steps: Map<string, StepStatus>; readings: Map<string, Reading>; movers: Map<number, string[]>;
  pulls: Pulled[]; troubles: TroubleNote[]; notes: string[]; restarts: Restart[];
  judgement: Judgement | null; judgements: Judgement[]; signatures: Signature[];
  after_signature: string[]; flags: [event: string, flag: string][]; odd: string[];
  countersign: boolean; rejected: boolean; abandoned: boolean; stepOfEvent: Map<string, string>;
}

export const fresh = (): StepStatus => ({
  state: "open", event: null, tablet: null, person: null, at: null, answers: [],
});

export const emptySetup = (id: string): Setup => ({
  id, plan: [], opened: null, opened_by: null, opened_at: null, owner_tablet: null, owner_person: null,
  paused: false, round: 1, attempt: 1, steps: new Map(), readings: new Map(), movers: new Map(),
  pulls: [], troubles: [], notes: [], restarts: [], judgement: null, judgements: [], signatures: [],
  after_signature: [], flags: [], odd: [], countersign: false, rejected: false, abandoned: false, stepOfEvent: new Map(),
});

export const isUndone = (status: StepStatus): boolean => status.state !== "done" && status.state !== "moved";

export const undoneAt = (setup: Setup, stepId: string): boolean => isUndone(setup.steps.get(stepId)!);

export function stepOf(setup: Setup, stepId: string): Step {
  const step = setup.plan.find((one) => one.id === stepId);
  if (step === undefined) throw new Error(`This setup has no step ${stepId}.`);
  return step;
}

export const validSignatures = (setup: Setup): Signature[] => setup.signatures.filter((one) => one.verdict !== "refused");

/** True once the server has opened and checked a signature that still counts. */
export const isConfirmed = (setup: Setup): boolean => setup.signatures.some((one) => one.verdict === "confirmed" && !one.counter);

/** Signed, but the sheet asks for a second person's signature and there is none that still counts. */
export function secondWanted(setup: Setup): boolean {
  const valid = validSignatures(setup);
  const first = valid.filter((one) => !one.counter).map((one) => one.person);
  return setup.countersign && first.length > 0 && !valid.some((one) => one.counter && !first.includes(one.person));
}

export function phaseOf(setup: Setup): Phase {
  if (setup.abandoned) return "abandoned";
  if (setup.rejected) return "rejected";
  if (isDone(setup, "unload")) return "finished";
  if (isDone(setup, "machine")) return "in machine";
  return validSignatures(setup).length > 0 && !secondWanted(setup) ? "signed" : "working";
}

function isDone(setup: Setup, stepId: string): boolean {
  const status = setup.steps.get(stepId);
  return status !== undefined && !isUndone(status);
}
