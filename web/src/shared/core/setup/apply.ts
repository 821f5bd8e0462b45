/** How each kind of event changes the state of a setup; the server applies the same rules. */

import type { BenchEvent, EventKind } from "../events.ts";
import { groupOf } from "../plan.ts";
import { answer, closeTroubles, reopen } from "./answering.ts";
import { causes, current } from "./current.ts";
import { fits } from "./fitting.ts";
import { addReading, asksSecondEntry, correctReading, keepReading } from "./readings.ts";
import { noteLateness, sign } from "./signing.ts";
import { fresh, stepOf, undoneAt } from "./state.ts";
import type { Setup, VerdictWord } from "./state.ts";

type Rule = (setup: Setup, event: BenchEvent) => void;

/** Take one more event into the state; events that fit nowhere are listed as `odd`. */
export function apply(setup: Setup, event: BenchEvent, verdicts: ReadonlyMap<string, VerdictWord>): void {
  if (event.kind === "setup opened") return opened(setup, event);
  if (!fits(setup, event)) {
    setup.odd.push(event.id);
    return;
  }
  if (event.kind !== "paused") setup.paused = false;
  noteLateness(setup, event);
  if (event.kind === "signed" || event.kind === "countersigned") {
    sign(setup, event, verdicts.get(event.id) ?? "provisional");
  } else RULES[event.kind](setup, event);
}

function opened(setup: Setup, event: BenchEvent): void {
  if (setup.opened !== null) {
    setup.odd.push(event.id);
    return;
  }
  Object.assign(setup, {
    opened: event.data, opened_by: event.person, opened_at: event.at, owner_tablet: event.tablet, owner_person: event.person,
  });
  setup.steps = new Map(setup.plan.map((step) => [step.id, fresh()]));
}

function stepDone(setup: Setup, event: BenchEvent): void {
  if (!answer(setup, event)) return;
  const step = stepOf(setup, event.step!);
  if (step.kind === "recheck") closeRound(setup);
  if (step.kind === "lock" && openClamps(setup, step.id).length > 0) setup.flags.push([event.id, "locked with open clamps"]);
}

/** Clamps whose tightening stands before this lock in the plan and is not done. */
export function openClamps(setup: Setup, lockId: string): string[] {
  const before = setup.plan.slice(0, setup.plan.findIndex((step) => step.id === lockId));
  const tightening = before.filter((step) => step.kind === "torque" || step.kind === "recheck");
  return tightening.filter((step) => undoneAt(setup, step.id)).map((step) => step.id);
}

/** After the last clamp of a re-check: a mover asks for another round over all clamps. */
function closeRound(setup: Setup): void {
  const group = setup.plan.filter((step) => groupOf(step) === "recheck").map((step) => step.id);
  if (group.some((id) => undoneAt(setup, id))) return;
  const moved = group.filter((id) => setup.steps.get(id)!.state === "moved");
  if (moved.length === 0) return;
  setup.movers.set(setup.round, moved.map((id) => stepOf(setup, id).subject!.id));
  setup.round += 1;
  reopen(setup, group);
}

function clampTightened(setup: Setup, event: BenchEvent): void {
  const outOfOrder = skipped(setup, event);
  if (!answer(setup, event)) return;
  pulled(setup, event);
  if (outOfOrder) setup.flags.push([event.id, "out of order"]);
  closeEarlierPasses(setup, event);
}

/** True when another clamp was due: open steps go in order, troubled ones any time. */
function skipped(setup: Setup, event: BenchEvent): boolean {
  const status = setup.steps.get(event.step ?? "");
  const due = current(setup);
  if (status === undefined || status.state !== "open" || due === null || due === event.step) return false;
  return groupOf(stepOf(setup, due)) !== null;
}

/** A clamp that took a later pass needs no earlier, lighter one. */
function closeEarlierPasses(setup: Setup, event: BenchEvent): void {
  const step = stepOf(setup, event.step!);
  for (const other of setup.plan) {
    const same = other.kind === "torque" && other.subject?.id === step.subject?.id;
    if (same && (other.pass ?? 0) < (step.pass ?? 0) && undoneAt(setup, other.id)) {
      const { id, tablet, person, at } = event;
      setup.steps.set(other.id, { state: "done", event: id, tablet, person, at, answers: [id] });
      closeTroubles(setup, other.id);
    }
  }
}

function clampMoved(setup: Setup, event: BenchEvent): void {
  if (!answer(setup, event, true) || stepOf(setup, event.step!).kind !== "recheck") return;
  pulled(setup, event);
  closeRound(setup);
}

/** A pass that starts again has its earlier pulls still: nothing was loosened. */
function pulled(setup: Setup, event: BenchEvent): void {
  const step = stepOf(setup, event.step!);
  if (step.kind !== "ease") setup.pulls.push({ event: event.id, clamp: step.subject!.id, share: step.share || 1 });
}

function reading(setup: Setup, event: BenchEvent): void {
  const status = setup.steps.get(event.step ?? "");
  if (status === undefined) setup.odd.push(event.id);
  else if ((status.state === "open" || status.state === "trouble") && asksSecondEntry(setup, event)) {
    addReading(setup, event, false);
    setup.stepOfEvent.set(event.id, event.step!);
    Object.assign(status, { state: "second entry", tablet: event.tablet, person: event.person, at: event.at });
    status.answers.push(event.id);
  } else {
    const final = answer(setup, event);
    addReading(setup, event, final);
  }
}

function correction(setup: Setup, event: BenchEvent): void {
  const stepId = setup.stepOfEvent.get(event.data["refers"]);
  if (stepId === undefined || stepId === "sign") setup.odd.push(event.id);
  else if (event.data["undo"]) withdraw(setup, stepId);
  else if (setup.readings.has(stepId) && event.data["value"] != null) {
    correctReading(setup, stepId, event);
    setup.stepOfEvent.set(event.id, stepId);
  } else setup.odd.push(event.id);
}

/** A step tapped by mistake opens again, and its pull was none. */
function withdraw(setup: Setup, stepId: string): void {
  const { answers } = setup.steps.get(stepId)!;
  setup.pulls = setup.pulls.filter((one) => !answers.includes(one.event));
  reopen(setup, [stepId]);
}

function note(setup: Setup, event: BenchEvent): void {
  setup.notes.push(event.id);
  for (const trouble of setup.troubles) if (trouble.event === event.data["closes"]) trouble.open = false;
}

function trouble(setup: Setup, event: BenchEvent): void {
  const status = setup.steps.get(event.step ?? "");
  if (status?.state === "open") status.state = "trouble";
  const { what, clamp = null } = event.data;
  setup.troubles.push({ event: event.id, step: event.step, what, clamp, open: true });
}

function takenOver(setup: Setup, event: BenchEvent): void {
  restartPass(setup, event);
  setup.owner_tablet = event.tablet;
  setup.owner_person = event.person;
}

/** A pass that is partly done starts again from its first clamp. */
function restartPass(setup: Setup, event: BenchEvent): void {
  const due = current(setup);
  const group = due === null ? null : groupOf(stepOf(setup, due));
  if (group === null) return;
  const ids = setup.plan.filter((step) => groupOf(step) === group).map((step) => step.id);
  const cleared = ids.filter((id) => !undoneAt(setup, id));
  if (cleared.length === 0) return;
  setup.restarts.push({ event: event.id, group, cleared });
  reopen(setup, cleared);
}

function judged(setup: Setup, event: BenchEvent): void {
  const { judgement, reason } = event.data;
  const made = { event: event.id, person: event.person, judgement, reason, causes: causes(setup) };
  setup.judgement = made;
  setup.judgements.push(made);
  const { id, tablet, person, at } = event;
  setup.steps.set("judge", { state: "done", event: id, tablet, person, at, answers: [id] });
  setup.rejected = judgement === "reject";
  if (judgement === "rework") rework(setup);
}

/** Everything from the first tightening on is done again, after unlocking. */
function rework(setup: Setup): void {
  const first = Math.max(0, setup.plan.findIndex((step) => step.kind === "torque"));
  setup.attempt += 1;
  setup.round = 1;
  setup.movers = new Map();
  setup.flags = setup.flags.filter(([, flag]) => flag !== "locked with open clamps");
  for (const one of setup.troubles) one.open = false;
  setup.judgement = null;
  reopen(setup, setup.plan.slice(first).map((step) => step.id));
}

function conflictResolved(setup: Setup, event: BenchEvent): void {
  const { step, keep } = event.data;
  const status = setup.steps.get(step);
  if (status === undefined || !status.answers.includes(keep)) {
    setup.odd.push(event.id);
    return;
  }
  status.state = "done";
  status.event = keep;
  keepReading(setup, step, keep);
}

function lateReading(setup: Setup, event: BenchEvent): void {
  if (event.step !== null && setup.steps.has(event.step)) {
    setup.stepOfEvent.set(event.id, event.step);
    addReading(setup, event, true);
  } else setup.odd.push(event.id);
}

const ADDITIONS: Record<string, Rule> = { correction, note, reading: lateReading };

const RULES: Record<Exclude<EventKind, "setup opened" | "signed" | "countersigned">, Rule> = {
  "step done": stepDone,
  "clamp tightened": clampTightened,
  "clamp moved on re-check": clampMoved,
  "reading taken": reading,
  correction, note, trouble,
  paused: (setup, event) => {
    setup.paused = true;
    restartPass(setup, event);
  },
  "taken over": takenOver,
  judged,
  abandoned: (setup) => {
    setup.abandoned = true;
  },
  "conflict resolved": conflictResolved,
  "after-signature addition": (setup, event) => ADDITIONS[event.data["adds"]]?.(setup, event),
};
